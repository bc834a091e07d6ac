/* Cookies, tokens and codes: session.h says what they promise. */
#include "session.h"

#include <errno.h>
#include <gnutls/crypto.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

enum { SIGNATURE_SIZE = 32, SIGNED_LENGTH = WEB_ID_LENGTH + 1 + 1 + 16 };

static const char DIGITS[] = "0123456789abcdef";

static void hex(const unsigned char *bytes, size_t size, char *text)
{
    for (size_t i = 0; i < size; i++) {
        text[2 * i] = DIGITS[bytes[i] >> 4];
        text[2 * i + 1] = DIGITS[bytes[i] & 15];
    }
    text[2 * size] = '\0';
}

ch_status web_random(void *bytes, size_t length, ch_err *err)
{
    size_t have = 0;
    while (have < length) {
        const ssize_t got = getrandom((char *)bytes + have, length - have, 0);
        if (got < 0 && errno != EINTR)
            return ch_fail(err, CH_E_IO, NULL, "the system gives no random numbers: %s", strerror(errno));
        have += got > 0 ? (size_t)got : 0;
    }
    return CH_OK;
}

ch_status web_code_make(char code[WEB_CODE_LENGTH + 1], ch_err *err)
{
    char made[WEB_CODE_LENGTH + 1] = "";
    for (size_t i = 0; i < WEB_CODE_LENGTH;) {
        unsigned char byte = 0;
        const ch_status rc = web_random(&byte, 1, err);
        if (rc < 0)
            return rc;
        /* 250 is the largest multiple of ten in a byte: the rest would make small digits likelier. */
        if (byte < 250)
            made[i++] = (char)('0' + byte % 10);
    }
    memcpy(code, made, sizeof made);
    return CH_OK;
}

bool web_equal(const char *given, const char *right)
{
    if (given == NULL || right == NULL)
        return false;
    const size_t length = strlen(right), given_length = strlen(given);
    unsigned different = given_length != length;
    for (size_t i = 0; i < length; i++)
        different |=
            (unsigned)(unsigned char)right[i] ^ (unsigned)(unsigned char)given[i < given_length ? i : given_length];
    return different == 0;
}

/* The signature of `purpose` and `text` in hexadecimal digits. */
static ch_status sign(const unsigned char key[WEB_KEY_SIZE], const char *purpose, const char *text,
                      char signature[2 * SIGNATURE_SIZE + 1], ch_err *err)
{
    char message[128];
    unsigned char digest[SIGNATURE_SIZE];
    const int length = snprintf(message, sizeof message, "%s:%s", purpose, text);
    if (length < 0 || (size_t)length >= sizeof message)
        return ch_fail(err, CH_E_LIMIT, NULL, "a text to sign is too long");
    const int rc = gnutls_hmac_fast(GNUTLS_MAC_SHA256, key, WEB_KEY_SIZE, message, (size_t)length, digest);
    if (rc < 0)
        return ch_fail(err, CH_E_IO, NULL, "a cookie could not be signed (GnuTLS %d)", rc);
    hex(digest, SIGNATURE_SIZE, signature);
    return CH_OK;
}

ch_status web_session_make(bool let_in, int64_t now_s, web_session *session, ch_err *err)
{
    unsigned char id[WEB_ID_LENGTH / 2];
    const ch_status rc = web_random(id, sizeof id, err);
    if (rc < 0)
        return rc;
    *session = (web_session){.let_in = let_in, .issued_s = now_s};
    hex(id, sizeof id, session->id);
    return CH_OK;
}

ch_status web_session_write(const web_session *session, const unsigned char key[WEB_KEY_SIZE],
                            char cookie[WEB_COOKIE_LENGTH + 1], ch_err *err)
{
    char signed_part[SIGNED_LENGTH + 1], signature[2 * SIGNATURE_SIZE + 1];
    snprintf(signed_part, sizeof signed_part, "%s.%c%016llx", session->id, session->let_in ? '1' : '0',
             (unsigned long long)session->issued_s);
    const ch_status rc = sign(key, "session", signed_part, signature, err);
    if (rc < 0)
        return rc;
    memcpy(cookie, signed_part, SIGNED_LENGTH);
    memcpy(cookie + SIGNED_LENGTH, signature, sizeof signature);
    return CH_OK;
}

bool web_session_read(const char *cookie, const unsigned char key[WEB_KEY_SIZE], int64_t now_s, web_session *session)
{
    if (cookie == NULL || strlen(cookie) != WEB_COOKIE_LENGTH)
        return false;
    char signed_part[SIGNED_LENGTH + 1], signature[2 * SIGNATURE_SIZE + 1];
    memcpy(signed_part, cookie, SIGNED_LENGTH);
    signed_part[SIGNED_LENGTH] = '\0';
    if (sign(key, "session", signed_part, signature, NULL) < 0 || !web_equal(cookie + SIGNED_LENGTH, signature))
        return false;
    /* Signed by us, so it has our form. */
    web_session read = {.let_in = signed_part[WEB_ID_LENGTH + 1] == '1'};
    memcpy(read.id, signed_part, WEB_ID_LENGTH);
    unsigned long long issued_s = 0;
    if (sscanf(signed_part + WEB_ID_LENGTH + 2, "%16llx", &issued_s) != 1)
        return false;
    read.issued_s = (int64_t)issued_s;
    /* A clock set back by a minute or two is no reason to turn a device away. */
    const int64_t age_s = now_s - read.issued_s;
    if (age_s < -300 || age_s > (int64_t)WEB_SESSION_DAYS * 86400)
        return false;
    *session = read;
    return true;
}

ch_status web_session_token(const web_session *session, const unsigned char key[WEB_KEY_SIZE],
                            char token[WEB_CSRF_LENGTH + 1], ch_err *err)
{
    return sign(key, "form", session->id, token, err);
}

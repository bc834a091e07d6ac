/*
 * Who a request is from. A device's cookie carries its random id, whether it was let in, and when, signed with the program's key, so that
 * the server keeps no list, nobody can fill one, and a device stays let in when the program is started again with the same key.
 *
 *  1. A cookie that we did not make, or that is older than WEB_SESSION_DAYS, is as none.
 *  2. A device gets a new id when it is let in, so that a cookie planted before is worth nothing.
 *  3. A form's token is derived from the id: it cannot be guessed without the key and is of no use to another device.
 * Source: HMAC-SHA-256, RFC 2104 and FIPS 180-4, by GnuTLS.
 */
#ifndef CROSSHATCH_WEB_SESSION_H
#define CROSSHATCH_WEB_SESSION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

enum {
    WEB_KEY_SIZE = 32,
    WEB_CODE_LENGTH = 6,
    WEB_SESSION_DAYS = 180,
    WEB_ID_LENGTH = 32,      /* hexadecimal digits */
    WEB_COOKIE_LENGTH = 114, /* id 32, '.', let in 1, hexadecimal time 16, signature 64 */
    WEB_CSRF_LENGTH = 64     /* hexadecimal digits */
};

typedef struct web_session {
    char id[WEB_ID_LENGTH + 1];
    bool let_in;      /* by the code */
    int64_t issued_s; /* seconds since 1970-01-01 UTC */
} web_session;

/* Random bytes from the system. CH_E_IO where it has none. */
ch_status web_random(void *bytes, size_t length, ch_err *err);

/* A code of decimal digits, each as likely as the others. CH_E_IO. */
ch_status web_code_make(char code[WEB_CODE_LENGTH + 1], ch_err *err);

/* A new session with a random id. CH_E_IO. */
ch_status web_session_make(bool let_in, int64_t now_s, web_session *session, ch_err *err);

/* The cookie's value for a session. CH_E_IO where it cannot be signed. */
ch_status web_session_write(const web_session *session, const unsigned char key[WEB_KEY_SIZE],
                            char cookie[WEB_COOKIE_LENGTH + 1], ch_err *err);

/* Read a cookie's value (may be NULL); false where it is none of ours, too old, or from the future. */
bool web_session_read(const char *cookie, const unsigned char key[WEB_KEY_SIZE], int64_t now_s, web_session *session);

/* The token of this session's forms. CH_E_IO. */
ch_status web_session_token(const web_session *session, const unsigned char key[WEB_KEY_SIZE],
                            char token[WEB_CSRF_LENGTH + 1], ch_err *err);

/* Whether two texts are equal, in a time that depends on the second's length alone. NULL equals nothing. */
bool web_equal(const char *given, const char *right);

/*
 * The key kept in the user's state folder (session.key under $XDG_STATE_HOME/crosshatch or ~/.local/state/crosshatch), made on the first call.
 * Where the folder cannot be used the key lives as long as the program: *kept is then false.
 */
ch_status web_key_load(unsigned char key[WEB_KEY_SIZE], bool *kept, ch_err *err);

#endif

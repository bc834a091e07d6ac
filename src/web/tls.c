/* Certificates, see tls.h. Source: RFC 5280 (profile, name constraints), RFC 6125 (names of servers), by GnuTLS. */
#include "tls.h"

#include <arpa/inet.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <gnutls/x509-ext.h>
#include <gnutls/x509.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "state_file.h"

enum { PEM_MAXIMUM = 16 * 1024, DAY_S = 86400, SERVER_DAYS = 397, RENEW_DAYS = 30, AUTHORITY_DAYS = 3650, NAME = 256 };

static const char AUTHORITY_KEY[] = "authority-key.pem", AUTHORITY[] = "authority.pem", SERVER_KEY[] = "server-key.pem",
                  SERVER[] = "server.pem";

/* A key and the certificate of its public half. */
typedef struct pair {
    gnutls_x509_privkey_t key;
    gnutls_x509_crt_t certificate;
} pair;

static void pair_clear(pair *p)
{
    if (p->key != NULL)
        gnutls_x509_privkey_deinit(p->key);
    if (p->certificate != NULL)
        gnutls_x509_crt_deinit(p->certificate);
    *p = (pair){0};
}

static ch_status failed(int code, ch_err *err)
{
    if (code == GNUTLS_E_MEMORY_ERROR)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a certificate");
    return ch_fail(err, CH_E_IO, "without --tls it goes on unencrypted", "a certificate could not be made: %s",
                   gnutls_strerror(code));
}

/* ---------------------------------------------------------------- files */

static bool read_pem(const char *name, char pem[PEM_MAXIMUM])
{
    size_t length = 0;
    if (!state_file_read(name, pem, PEM_MAXIMUM - 1, &length))
        return false;
    pem[length] = '\0';
    return true;
}

static bool pair_read(const char *key_name, const char *name, pair *p)
{
    char key_pem[PEM_MAXIMUM], pem[PEM_MAXIMUM];
    pair found = {0};
    if (!read_pem(key_name, key_pem) || !read_pem(name, pem))
        return false;
    const gnutls_datum_t key = {.data = (unsigned char *)key_pem, .size = (unsigned)strlen(key_pem)};
    const gnutls_datum_t certificate = {.data = (unsigned char *)pem, .size = (unsigned)strlen(pem)};
    if (gnutls_x509_privkey_init(&found.key) == 0 && gnutls_x509_crt_init(&found.certificate) == 0 &&
        gnutls_x509_privkey_import(found.key, &key, GNUTLS_X509_FMT_PEM) == 0 &&
        gnutls_x509_crt_import(found.certificate, &certificate, GNUTLS_X509_FMT_PEM) == 0) {
        *p = found;
        return true;
    }
    pair_clear(&found);
    return false;
}

static bool pair_write(const char *key_name, const char *name, const pair *p)
{
    gnutls_datum_t key = {0}, certificate = {0};
    const bool made = gnutls_x509_privkey_export2(p->key, GNUTLS_X509_FMT_PEM, &key) == 0 &&
                      gnutls_x509_crt_export2(p->certificate, GNUTLS_X509_FMT_PEM, &certificate) == 0;
    const bool written = made && state_file_write(key_name, key.data, key.size) &&
                         state_file_write(name, certificate.data, certificate.size);
    gnutls_free(key.data);
    gnutls_free(certificate.data);
    return written;
}

/* ---------------------------------------------------------------- making */

/* What both kinds have: a new key, a random serial number, a name, a life. */
static int begin_certificate(pair *p, const char *common_name, int64_t now_s, int days)
{
    unsigned char serial[16] = {0}, id[20];
    size_t id_size = sizeof id;
    int rc = gnutls_x509_privkey_init(&p->key);
    if (rc >= 0)
        rc = gnutls_x509_privkey_generate(p->key, GNUTLS_PK_ECDSA, GNUTLS_CURVE_TO_BITS(GNUTLS_ECC_CURVE_SECP256R1), 0);
    if (rc >= 0)
        rc = gnutls_x509_crt_init(&p->certificate);
    if (rc >= 0)
        rc = gnutls_rnd(GNUTLS_RND_NONCE, serial, sizeof serial);
    serial[0] &= 0x7f; /* positive */
    gnutls_x509_crt_t c = p->certificate;
    if (rc >= 0)
        rc = gnutls_x509_crt_set_version(c, 3);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_serial(c, serial, sizeof serial);
    /* An hour back: a phone's clock may be a little behind. */
    if (rc >= 0)
        rc = gnutls_x509_crt_set_activation_time(c, (time_t)(now_s - 3600));
    if (rc >= 0)
        rc = gnutls_x509_crt_set_expiration_time(c, (time_t)(now_s + (int64_t)days * DAY_S));
    if (rc >= 0)
        rc = gnutls_x509_crt_set_key(c, p->key);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_dn_by_oid(c, GNUTLS_OID_X520_COMMON_NAME, 0, common_name,
                                           (unsigned)strlen(common_name));
    if (rc >= 0)
        rc = gnutls_x509_crt_get_key_id(c, 0, id, &id_size);
    return rc >= 0 ? gnutls_x509_crt_set_subject_key_id(c, id, id_size) : rc;
}

/* Address and mask: the private, link-local and loopback ranges of RFC 1918, 3927, 1122, 4193 and 4291. */
enum { RANGES_V4 = 5, RANGES_V6 = 3 };
static const unsigned char V4[RANGES_V4][8] = {{10, 0, 0, 0, 255, 0, 0, 0},
                                               {172, 16, 0, 0, 255, 240, 0, 0},
                                               {192, 168, 0, 0, 255, 255, 0, 0},
                                               {169, 254, 0, 0, 255, 255, 0, 0},
                                               {127, 0, 0, 0, 255, 0, 0, 0}};
static const unsigned char V6[RANGES_V6][32] = {
    {[0] = 0xfc, [16] = 0xfe},
    {[0] = 0xfe, [1] = 0x80, [16] = 0xff, [17] = 0xc0},
    {[15] = 1, [16] = 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255}};

static bool in_range(const unsigned char *address, const unsigned char *range, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if ((address[i] & range[size + i]) != range[i])
            return false;
    return true;
}

/* Bytes of an address as text, 4 or 16, where the authority may vouch for it; else 0. */
static size_t private_address(const char *address, unsigned char bytes[16])
{
    bool found = false;
    if (inet_pton(AF_INET, address, bytes) == 1) {
        for (size_t i = 0; i < RANGES_V4; i++)
            found = found || in_range(bytes, V4[i], 4);
        return found ? 4 : 0;
    }
    if (inet_pton(AF_INET6, address, bytes) != 1)
        return 0;
    for (size_t i = 0; i < RANGES_V6; i++)
        found = found || in_range(bytes, V6[i], 16);
    return found ? 16 : 0;
}

static int permit(gnutls_x509_name_constraints_t constraints, gnutls_x509_subject_alt_name_t type, void *data,
                  size_t size)
{
    const gnutls_datum_t name = {.data = data, .size = (unsigned)size};
    return gnutls_x509_name_constraints_add_permitted(constraints, type, &name);
}

static int permit_names(gnutls_x509_name_constraints_t constraints, const char *host)
{
    char local[] = "local", localhost[] = "localhost", own[NAME];
    int rc = permit(constraints, GNUTLS_SAN_DNSNAME, local, strlen(local));
    if (rc >= 0)
        rc = permit(constraints, GNUTLS_SAN_DNSNAME, localhost, strlen(localhost));
    snprintf(own, sizeof own, "%s", host);
    if (rc >= 0)
        rc = permit(constraints, GNUTLS_SAN_DNSNAME, own, strlen(own));
    for (size_t i = 0; rc >= 0 && i < RANGES_V4; i++) {
        unsigned char range[sizeof V4[0]];
        memcpy(range, V4[i], sizeof range);
        rc = permit(constraints, GNUTLS_SAN_IPADDRESS, range, sizeof range);
    }
    for (size_t i = 0; rc >= 0 && i < RANGES_V6; i++) {
        unsigned char range[sizeof V6[0]];
        memcpy(range, V6[i], sizeof range);
        rc = permit(constraints, GNUTLS_SAN_IPADDRESS, range, sizeof range);
    }
    return rc;
}

static int make_authority(const char *host, int64_t now_s, pair *p)
{
    char name[NAME];
    gnutls_x509_name_constraints_t constraints = NULL;
    snprintf(name, sizeof name, "crosshatch on %.40s", host);
    int rc = begin_certificate(p, name, now_s, AUTHORITY_DAYS);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_basic_constraints(p->certificate, 1, 0);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_key_usage(p->certificate, GNUTLS_KEY_KEY_CERT_SIGN);
    if (rc >= 0)
        rc = gnutls_x509_name_constraints_init(&constraints);
    if (rc >= 0)
        rc = permit_names(constraints, host);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_name_constraints(p->certificate, constraints, 1);
    if (constraints != NULL)
        gnutls_x509_name_constraints_deinit(constraints);
    return rc >= 0 ? gnutls_x509_crt_sign2(p->certificate, p->certificate, p->key, GNUTLS_DIG_SHA256, 0) : rc;
}

static int name_server(gnutls_x509_crt_t c, const char *host, const char *address)
{
    char local[NAME];
    const char *const addresses[] = {"127.0.0.1", "::1", address};
    snprintf(local, sizeof local, "%.200s.local", host);
    const char *const names[] = {"localhost", host, local};
    int rc = 0;
    for (size_t i = 0; rc >= 0 && i < sizeof names / sizeof names[0]; i++)
        rc = gnutls_x509_crt_set_subject_alt_name(c, GNUTLS_SAN_DNSNAME, names[i], (unsigned)strlen(names[i]),
                                                  i == 0 ? GNUTLS_FSAN_SET : GNUTLS_FSAN_APPEND);
    for (size_t i = 0; rc >= 0 && i < sizeof addresses / sizeof addresses[0]; i++) {
        unsigned char bytes[16];
        const size_t size = private_address(addresses[i], bytes);
        if (size > 0)
            rc = gnutls_x509_crt_set_subject_alt_name(c, GNUTLS_SAN_IPADDRESS, bytes, (unsigned)size,
                                                      GNUTLS_FSAN_APPEND);
    }
    return rc;
}

static int make_server(const pair *authority, const char *host, const char *address, int64_t now_s, pair *p)
{
    unsigned char id[20];
    size_t id_size = sizeof id;
    int rc = begin_certificate(p, host, now_s, SERVER_DAYS);
    if (rc >= 0)
        rc = name_server(p->certificate, host, address);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_basic_constraints(p->certificate, 0, -1);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_key_usage(p->certificate, GNUTLS_KEY_DIGITAL_SIGNATURE);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_key_purpose_oid(p->certificate, GNUTLS_KP_TLS_WWW_SERVER, 0);
    if (rc >= 0)
        rc = gnutls_x509_crt_get_key_id(authority->certificate, 0, id, &id_size);
    if (rc >= 0)
        rc = gnutls_x509_crt_set_authority_key_id(p->certificate, id, id_size);
    return rc >= 0 ? gnutls_x509_crt_sign2(p->certificate, authority->certificate, authority->key, GNUTLS_DIG_SHA256, 0)
                   : rc;
}

/* ---------------------------------------------------------------- is it still good */

static bool lasts(gnutls_x509_crt_t c, int64_t now_s)
{
    return gnutls_x509_crt_get_activation_time(c) <= (time_t)now_s &&
           gnutls_x509_crt_get_expiration_time(c) > (time_t)(now_s + (int64_t)RENEW_DAYS * DAY_S);
}

static bool serves(const pair *server, const pair *authority, const char *host, const char *address, int64_t now_s)
{
    gnutls_x509_crt_t c = server->certificate;
    unsigned char bytes[16];
    return lasts(c, now_s) && gnutls_x509_crt_check_issuer(c, authority->certificate) != 0 &&
           gnutls_x509_crt_check_hostname(c, host) != 0 &&
           (private_address(address, bytes) == 0 || gnutls_x509_crt_check_hostname(c, address) != 0);
}

/* ---------------------------------------------------------------- all together */

static char *text_of(const gnutls_datum_t *first, const gnutls_datum_t *second)
{
    char *text = malloc((size_t)first->size + second->size + 1);
    if (text == NULL)
        return NULL;
    memcpy(text, first->data, first->size);
    if (second->size > 0)
        memcpy(text + first->size, second->data, second->size);
    text[first->size + second->size] = '\0';
    return text;
}

static int export_all(const pair *authority, const pair *server, web_tls *tls)
{
    gnutls_datum_t key = {0}, own = {0}, issuer = {0}, der = {0};
    unsigned char digest[32];
    size_t digest_size = sizeof digest;
    const gnutls_datum_t nothing = {0};
    int rc = gnutls_x509_privkey_export2(server->key, GNUTLS_X509_FMT_PEM, &key);
    if (rc >= 0)
        rc = gnutls_x509_crt_export2(server->certificate, GNUTLS_X509_FMT_PEM, &own);
    if (rc >= 0)
        rc = gnutls_x509_crt_export2(authority->certificate, GNUTLS_X509_FMT_PEM, &issuer);
    if (rc >= 0)
        rc = gnutls_x509_crt_export2(authority->certificate, GNUTLS_X509_FMT_DER, &der);
    if (rc >= 0)
        rc = gnutls_x509_crt_get_fingerprint(authority->certificate, GNUTLS_DIG_SHA256, digest, &digest_size);
    if (rc >= 0) {
        tls->key = text_of(&key, &nothing);
        tls->chain = text_of(&own, &issuer);
        tls->authority = malloc(der.size);
        if (tls->key == NULL || tls->chain == NULL || tls->authority == NULL)
            rc = GNUTLS_E_MEMORY_ERROR;
    }
    if (rc >= 0) {
        memcpy(tls->authority, der.data, der.size);
        tls->authority_length = der.size;
        for (size_t i = 0; i < digest_size; i++)
            snprintf(tls->fingerprint + 3 * i, 4, "%02X%s", digest[i], i + 1 < digest_size ? ":" : "");
    }
    gnutls_free(key.data);
    gnutls_free(own.data);
    gnutls_free(issuer.data);
    gnutls_free(der.data);
    return rc;
}

static ch_status provide(const char *host, const char *address, int64_t now_s, pair *authority, pair *server,
                         ch_err *err)
{
    bool written = true;
    int rc = 0;
    if (!pair_read(AUTHORITY_KEY, AUTHORITY, authority) || !lasts(authority->certificate, now_s)) {
        pair_clear(authority);
        rc = make_authority(host, now_s, authority);
        written = rc >= 0 && pair_write(AUTHORITY_KEY, AUTHORITY, authority);
    }
    if (rc >= 0 && written &&
        (!pair_read(SERVER_KEY, SERVER, server) || !serves(server, authority, host, address, now_s))) {
        pair_clear(server);
        rc = make_server(authority, host, address, now_s, server);
        written = rc >= 0 && pair_write(SERVER_KEY, SERVER, server);
    }
    if (rc < 0)
        return failed(rc, err);
    /* One that is not kept would be another at every start, and every phone would have to be told anew. */
    if (!written)
        return ch_fail(err, CH_E_IO, "a state folder that can be written: $XDG_STATE_HOME or ~/.local/state",
                       "the certificate cannot be kept");
    return CH_OK;
}

ch_status web_tls_load(const char *address, int64_t now_s, web_tls *tls, ch_err *err)
{
    char host[NAME];
    pair authority = {0}, server = {0};
    web_tls made = {0};
    if (gethostname(host, sizeof host) != 0 || host[0] == '\0')
        snprintf(host, sizeof host, "localhost");
    host[sizeof host - 1] = '\0';
    ch_status rc = provide(host, address, now_s, &authority, &server, err);
    if (rc >= 0) {
        const int exported = export_all(&authority, &server, &made);
        rc = exported < 0 ? failed(exported, err) : CH_OK;
    }
    pair_clear(&authority);
    pair_clear(&server);
    if (rc < 0) {
        web_tls_clear(&made);
        return rc;
    }
    *tls = made;
    return CH_OK;
}

void web_tls_clear(web_tls *tls)
{
    if (tls->key != NULL)
        gnutls_memset(tls->key, 0, strlen(tls->key));
    free(tls->key);
    free(tls->chain);
    free(tls->authority);
    *tls = (web_tls){0};
}

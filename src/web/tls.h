/*
 * Certificates for a garage's own network, where no public authority vouches for anybody: an authority of this machine's own, which a phone is
 * told once to trust, and a server certificate signed by it. Both are made here and kept in the state folder.
 *
 *  1. The authority may vouch only for this machine's names, names that end in .local, and private addresses (name constraints, RFC 5280,
 *     4.2.1.10), so that whoever steals its key cannot pass for a bank to the phones that trust it.
 *  2. The server's certificate names this machine and its address now, lives 397 days (longer ones are refused by phones), and is made
 *     anew when a name or the address has changed or it ends within 30 days.
 *  3. Keys are ECDSA on P-256 (FIPS 186-5), readable by this user alone.
 */
#ifndef CROSSHATCH_WEB_TLS_H
#define CROSSHATCH_WEB_TLS_H

#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

/* All PEM (RFC 7468) but the authority's own certificate for phones, which is DER. Owned. */
typedef struct web_tls {
    char *key, *chain; /* the server's key; its certificate and the authority's behind it */
    unsigned char *authority;
    size_t authority_length;
    char fingerprint[96]; /* of the authority's certificate: SHA-256 in hexadecimal, pairs parted by colons */
} web_tls;

/*
 * Load what is there, make what is missing.
 *
 * address: of this machine in its network, as text; "" = none. One that is not private (RFC 1918, 4193) is not named in the certificate:
 *          such a machine is reached by its name.
 * now_s:   seconds since 1970-01-01 UTC.
 * tls (out): web_tls_clear() it; untouched on failure.
 * retval CH_E_IO: GnuTLS failed, or the state folder cannot be written. CH_E_MEMORY.
 */
ch_status web_tls_load(const char *address, int64_t now_s, web_tls *tls, ch_err *err);

/* Fine on zeros and on a cleared one. */
void web_tls_clear(web_tls *tls);

#endif

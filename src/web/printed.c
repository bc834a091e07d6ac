/* The hash is of what stands between <style> and </style>: W3C Content Security Policy Level 3, 6.7.3.3 (hash-source, for inline style). */
#include "printed.h"

#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <stdio.h>
#include <string.h>

enum { DIGEST = 32 };

/* A document has one style, ahead of all text that came from outside. */
static ch_status own_style(web_response *response, ch_err *err)
{
    static const char open[] = "<style>", close[] = "</style>";
    const char *html = ch_text_string(&response->data), *from = strstr(html, open);
    const char *to = from != NULL ? strstr(from, close) : NULL;
    unsigned char digest[DIGEST];
    gnutls_datum_t code = {0};
    int rc = GNUTLS_E_BASE64_ENCODING_ERROR;
    if (to != NULL) {
        from += sizeof open - 1;
        rc = gnutls_hash_fast(GNUTLS_DIG_SHA256, from, (size_t)(to - from), digest);
    }
    if (rc >= 0)
        rc = gnutls_base64_encode2(&(const gnutls_datum_t){.data = digest, .size = DIGEST}, &code);
    if (rc < 0)
        return ch_fail(err, CH_E_IO, NULL, "the style of a document has no hash");
    snprintf(response->own_style, sizeof response->own_style, "sha256-%.*s", (int)code.size, (const char *)code.data);
    gnutls_free(code.data);
    return CH_OK;
}

ch_status printed_paper(web_request *request, ch_paper *paper, ch_err *err)
{
    const char *text = NULL;
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, "paper", &text, err);
    *paper = rc >= 0 && text != NULL && strcmp(text, "letter") == 0 ? CH_PAPER_LETTER : CH_PAPER_A4;
    return rc < 0 ? rc : CH_OK;
}

ch_status printed_answer(web_request *request, web_response *response, const ch_document *document, const char *name,
                         ch_date today, ch_err *err)
{
    ch_paper paper;
    const char *dot = strrchr(name, '.');
    const bool pdf = dot != NULL && strcmp(dot, ".pdf") == 0;
    ch_status rc = printed_paper(request, &paper, err);
    if (rc >= 0)
        rc = pdf ? ch_document_pdf(document, paper, today, &response->data, err)
                 : ch_document_html(document, &response->data, err);
    if (rc >= 0 && !pdf)
        rc = own_style(response, err);
    if (rc < 0)
        return rc;
    response->data_type = pdf ? "application/pdf" : "text/html; charset=utf-8";
    snprintf(response->download, sizeof response->download, "%s", name);
    return CH_OK;
}

/* Documents of show/ as answers: a PDF to save, or an HTML file that stands by itself and is shown. */
#ifndef CROSSHATCH_WEB_PRINTED_H
#define CROSSHATCH_WEB_PRINTED_H

#include "crosshatch/document.h"
#include "route.h"

/* The paper that the settings name; A4 where they name none. retval as ch_store_setting_get. */
ch_status printed_paper(web_request *request, ch_paper *paper, ch_err *err);

/*
 * Answer with a document under this name, .pdf or .html. The HTML file is shown, with a policy of its own (route.h, web_response.own_style): the style that
 * stands in it counts, by its hash, and it may load, run and send nothing.
 *
 * retval as printed_paper, ch_document_pdf, ch_document_html; CH_E_IO: the hash failed.
 */
ch_status printed_answer(web_request *request, web_response *response, const ch_document *document, const char *name,
                         ch_date today, ch_err *err);

#endif

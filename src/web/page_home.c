/* GET /: the start. No parameters. */
#include "html_page.h"
#include "page.h"

ch_status page_home_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    html_writer *w = &response->page;
    html_page_open(w, request, "Garage");
    html_lit(w, "<p>This is crosshatch ");
    html_text(w, CROSSHATCH_VERSION);
    html_lit(w, ": condition testing, tracing and planning for an owner-mechanic.</p>\n");
    html_page_close(w);
    return CH_OK;
}

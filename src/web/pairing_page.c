/* Letting a new device in: pairing.h counts the tries, session.h makes the cookie. */
#include "pairing_page.h"

#include <stdio.h>

#include "html_page.h"
#include "route_gate.h"

static ch_status show(web_request *request, web_response *response, const char *code, const char *wrong)
{
    html_writer *w = &response->page;
    html_page_open(w, request, "Let this device in");
    if (wrong != NULL) {
        html_lit(w, "<p class=\"refusal\" role=\"alert\" id=\"wrong\">");
        html_text(w, wrong);
        html_lit(w, "</p>");
    }
    html_lit(w, "<p>The terminal in which crosshatch was started shows a code of six digits.</p>\n");
    html_form_open(w, request, "/pair", false);
    html_lit(w,
             "<label for=\"code\">Code</label><input id=\"code\" name=\"code\" class=\"numeral\" inputmode=\"numeric\""
             " autocomplete=\"one-time-code\" maxlength=\"8\" required");
    if (wrong != NULL)
        html_lit(w, " aria-invalid=\"true\" aria-describedby=\"wrong\"");
    html_attr(w, "value", code);
    html_lit(w, "><button>Let me in</button>");
    html_form_close(w);
    html_page_close(w);
    return CH_OK;
}

ch_status pairing_page_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    return show(request, response, web_value(&request->query, "code"), NULL);
}

ch_status pairing_page_post(web_request *request, web_response *response, ch_err *err)
{
    web_gate *gate = request->gate;
    int wait_s = 0;
    pthread_mutex_lock(&gate->lock);
    const pairing_answer answer =
        pairing_try(&gate->tries, request->peer, web_value(&request->form, "code"), request->now_s, &wait_s);
    pthread_mutex_unlock(&gate->lock);
    if (answer == PAIRING_RIGHT) {
        web_session session;
        ch_status rc = web_session_make(true, request->now_s, &session, err);
        if (rc >= 0)
            rc = web_gate_cookie(gate, &session, response, err);
        return rc < 0 ? rc : web_redirect(response, "/");
    }
    char wrong[128];
    response->retry_after_s = wait_s;
    response->status = answer == PAIRING_WAIT ? 429 : 403;
    if (answer == PAIRING_WAIT)
        snprintf(wrong, sizeof wrong, "Too many wrong codes. Please wait %d seconds, then try again.", wait_s);
    else if (wait_s > 0)
        snprintf(wrong, sizeof wrong, "That is not the code. Please wait %d seconds before the next try.", wait_s);
    else
        snprintf(wrong, sizeof wrong, "That is not the code.");
    return show(request, response, NULL, wrong);
}

ch_status pairing_token_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    response->data_type = "application/json";
    ch_text_appendf(&response->data, "{\"token\": \"%s\"}\n", request->token);
    return CH_OK;
}

ch_status page_certificate_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    const web_tls *tls = request->gate->config.tls;
    if (tls == NULL)
        return web_not_found(request, response);
    response->data_type = "application/x-x509-ca-cert";
    response->static_bytes = (const char *)tls->authority;
    response->static_length = tls->authority_length;
    snprintf(response->download, sizeof response->download, "crosshatch.crt");
    return CH_OK;
}

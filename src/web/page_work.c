/*
 * GET /task/ID: a job or an access step as it was really done: what is off for it and where it lies, photos, hours and money.
 * POST /task/ID: do = spent (day, hours, money, note, entry) | close (reason; access only: a job closes on its own page) | open (again).
 * POST /task/ID/ledger: enter a thing taken off. Fields: what, origin, lies, torque, note, entry.
 * POST /spent/ID: do = change (day, hours, money, note) | delete; work (the page to go back to).
 */
#include "page_work.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "ledger_cards.h"
#include "page.h"
#include "piece_car.h"
#include "spent.h"
#include "winter_kept.h"
#include "winter_work.h"

bool page_work_find(web_request *request, web_response *response, ch_store_work *work, ch_status *rc, ch_err *err)
{
    ch_err own = {0};
    const int64_t id = web_part_id(request, 0);
    *rc = id > 0 ? ch_store_work_get(request->store, &request->pool, id, work, &own) : CH_E_INPUT;
    if (*rc >= 0)
        return true;
    if (*rc == CH_E_INPUT)
        *rc = web_not_found(request, response);
    else if (err != NULL)
        *err = own;
    return false;
}

/* ---------------------------------------------------------------- parts of the page */

static void head(html_writer *w, const ch_store_work *work, const ch_store_car *car)
{
    html_lit(w,
             "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><link rel=\"stylesheet\" href=\"/asset/winter.css\">"
             "<p class=\"row\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/winter", (long long)work->car_id);
    html_lit(w, ">Winter work");
    if (car != NULL) {
        html_lit(w, ": ");
        html_text(w, car->name);
    }
    html_lit(w, "</a>");
    if (work->kind == CH_PLAN_JOB) {
        html_lit(w, "<a class=\"button second\"");
        html_attrf(w, "href", "/car/%lld/winter/job/%s", (long long)work->car_id, work->name);
        html_lit(w, ">Steps of this job</a>");
    }
    html_lit(w, "</p><p class=\"verdict");
    html_text(w, work->closed_s != 0 && work->ledger_open == 0 ? " sound" : " watch");
    html_lit(w, "\">");
    html_text(w, work->kind == CH_PLAN_ACCESS ? "Access work: " : "Job: ");
    html_text(w, winter_work_state(work));
    if (work->close_reason != NULL) {
        html_lit(w, "<span>Reason: ");
        html_text(w, work->close_reason);
        html_lit(w, "</span>");
    }
    html_lit(w, "</p>\n");
}

/* What closing an access step asks for, each behind its cautions: whoever puts back here does not come by the job's page. */
static void how_it_closes(html_writer *w, const web_know *know, const ch_store_work *work)
{
    const ch_access *access =
        work->kind == CH_PLAN_ACCESS ? ch_access_find(&know->jobs, work->name, strlen(work->name)) : NULL;
    if (access == NULL || work->closed_s != 0)
        return;
    html_lit(w, "<h2>How it is closed</h2><ol class=\"plain\">");
    for (size_t i = 0; i < access->back_steps_count; i++) {
        const ch_work_step *step = &access->back_steps[i];
        html_lit(w, "<li>");
        piece_cautions(w, &know->knowledge, &step->cautions);
        html_lit(w, "<p>");
        html_text(w, step->text);
        html_lit(w, "</p>");
        for (size_t k = 0; k < step->torques_count; k++) {
            html_lit(w, "<p class=\"torque\">Torque from the car's own manual: ");
            html_text(w, step->torques[k].text);
            html_lit(w, "</p>");
        }
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ol>\n");
}

/* Which form of the page was refused, so that why stands above that one. */
typedef enum refusal { REFUSED_NONE, REFUSED_PAGE, REFUSED_THING, REFUSED_NEW, REFUSED_SPENT, REFUSED_CHANGE } refusal;

/* `thing`: the ledger entry whose form it was, 0 for another. */
static refusal refused_form(const web_request *request, int64_t thing, const char *alert)
{
    if (alert == NULL)
        return REFUSED_NONE;
    if (thing != 0)
        return REFUSED_THING;
    if (web_value(&request->form, "what") != NULL)
        return REFUSED_NEW;
    const char *what = piece_typed(request, "do", "");
    return strcmp(what, "spent") == 0 ? REFUSED_SPENT : strcmp(what, "change") == 0 ? REFUSED_CHANGE : REFUSED_PAGE;
}

static ch_status things(html_writer *w, web_request *request, const ch_store_work *work, int64_t refused,
                        const char *alert, ch_err *err)
{
    const ch_store_ledger *all = NULL;
    size_t count = 0, back = 0;
    photos pictures = {0};
    ledger_off ordered = {0};
    char action[64];
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    snprintf(action, sizeof action, "/task/%lld/ledger", (long long)work->id);
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, false, &all, &count, err);
    if (rc >= 0)
        rc = photos_load(request, 0, work->id, &pictures, err);
    if (rc < 0)
        return rc;
    photos_look(w);
    html_lit(w, "<h2>Still off</h2>");
    if (work->ledger_open == 0)
        html_lit(w, "<p>Nothing of this is off the car.</p>");
    html_lit(w, "<ul class=\"cards\">");
    ledger_page_of page = {.know = know, .pictures = &pictures, .closed = work->closed_s != 0};
    rc = ledger_in_order(know, all, count, work->id, &ordered, err);
    for (size_t i = 0; rc >= 0 && i < ordered.off; i++)
        rc = ledger_card_off(w, request, &page, ordered.entry[i], ordered.entry[i]->id == refused ? alert : NULL, err);
    free(ordered.entry);
    for (size_t i = 0; i < count; i++)
        back += all[i].work_id == work->id && all[i].put_back_s != 0;
    html_lit(w, "</ul>\n");
    if (rc >= 0 && work->closed_s == 0)
        rc = ledger_new(w, request, action, refused_form(request, refused, alert) == REFUSED_NEW ? alert : NULL, err);
    if (back > 0)
        html_lit(w, "<h2>Back</h2>");
    html_lit(w, "<ul class=\"cards\">");
    for (size_t i = 0; i < count; i++)
        if (all[i].work_id == work->id && all[i].put_back_s != 0)
            ledger_card_back(w, request, &all[i], work->closed_s != 0, &pictures);
    html_lit(w, "</ul>\n");
    return rc;
}

static ch_status hours_and_money(html_writer *w, web_request *request, const ch_store_work *work, const char *currency,
                                 refusal refused, const char *alert, ch_err *err)
{
    char hours[CH_SHOW_NUMBER], money[CH_SHOW_NUMBER], action[48];
    snprintf(action, sizeof action, "/task/%lld", (long long)work->id);
    html_lit(w, "<h2>Hours and money</h2><p>");
    html_textf(w, "Spent so far: %s h and %s %s.", ch_show_work(work->work_us, hours),
               ch_show_money(work->money, money), currency);
    html_lit(w, "</p>\n");
    const ch_status rc =
        spent_list(w, request, work->id, currency, refused == REFUSED_CHANGE ? web_part_id(request, 0) : 0, alert, err);
    return rc < 0 ? rc : spent_form(w, request, action, currency, refused == REFUSED_SPENT ? alert : NULL, err);
}

/* Access closes here; a job on its own page, where its proof is. */
static void closing(html_writer *w, web_request *request, const ch_store_work *work)
{
    char action[48];
    snprintf(action, sizeof action, "/task/%lld", (long long)work->id);
    html_lit(w, "<h2 id=\"close\">Close</h2>\n");
    html_form_open(w, request, action, false);
    if (work->closed_s != 0) {
        piece_button(w, "do", "open", "second",
                     work->kind == CH_PLAN_ACCESS ? "It is open again" : "Take it in hand again");
    } else if (work->kind == CH_PLAN_ACCESS) {
        piece_field(w, &(piece_input){.label = "Reason, where something stays off",
                                      .name = "reason",
                                      .value = piece_typed(request, "reason", NULL)});
        piece_button(w, "do", "close", "wide", "It is closed again");
    } else {
        html_lit(w, "<p>A job closes on its own page, when it is proven.</p>");
    }
    html_form_close(w);
}

static ch_status work_page(web_request *request, web_response *response, const ch_store_work *work, int64_t refused,
                           const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const web_know *know = know_get(err);
    const ch_store_car *car = NULL;
    const char *currency = NULL;
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = piece_car_find(request, work->car_id, &car, err);
    if (rc >= 0)
        rc = winter_currency(request, know, &currency, err);
    if (rc < 0)
        return rc;
    const refusal which = refused_form(request, refused, alert);
    html_page_open(w, request, work->title);
    head(w, work, car);
    piece_alert(w, which == REFUSED_PAGE ? alert : NULL);
    how_it_closes(w, know, work);
    rc = things(w, request, work, refused, alert, err);
    if (rc >= 0)
        rc = photos_of_work(w, request, work->id, work->title, err);
    if (rc >= 0)
        rc = hours_and_money(w, request, work, currency, which, alert, err);
    closing(w, request, work);
    html_page_close(w);
    return rc;
}

/* ---------------------------------------------------------------- requests */

ch_status page_work_again(web_request *request, web_response *response, int64_t work_id, int64_t ledger_id,
                          const char *alert, ch_err *err)
{
    ch_store_work work;
    const ch_status rc = ch_store_work_get(request->store, &request->pool, work_id, &work, err);
    return rc < 0 ? rc : work_page(request, response, &work, ledger_id, alert, err);
}

ch_status page_work_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_work work;
    ch_status rc;
    return page_work_find(request, response, &work, &rc, err) ? work_page(request, response, &work, 0, NULL, err) : rc;
}

ch_status page_work_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_work work;
    ch_status rc;
    ch_err own = {0};
    char line[PIECE_LINE], client[CH_STORE_CLIENT_MAX + 1];
    const char *what = piece_typed(request, "do", "");
    if (!page_work_find(request, response, &work, &rc, err))
        return rc;
    ch_store_spent spent = {.work_id = work.id};
    if (strcmp(what, "spent") == 0) {
        rc = spent_typed(request, &spent, &own);
        if (rc >= 0)
            rc = ch_store_spent_add(request->store, &spent, piece_client(request, client), request->now_s, NULL, &own);
    } else if (strcmp(what, "close") == 0 && work.kind == CH_PLAN_ACCESS) {
        rc = ch_store_work_close(request->store, work.id, 0, piece_given(&request->form, "reason"), request->now_s,
                                 &own);
    } else if (strcmp(what, "open") == 0) {
        rc = ch_store_work_reopen(request->store, work.id, request->now_s, &own);
    } else {
        return web_not_found(request, response);
    }
    if (piece_refused(rc, &own, response, line, err))
        return page_work_again(request, response, work.id, 0, line, err);
    return rc < 0 ? rc : web_redirect(response, "/task/%lld", (long long)work.id);
}

ch_status page_work_ledger_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_work work;
    ch_status rc;
    ch_err own = {0};
    char line[PIECE_LINE], client[CH_STORE_CLIENT_MAX + 1];
    if (!page_work_find(request, response, &work, &rc, err))
        return rc;
    ch_store_ledger entry = ledger_typed(&request->form);
    entry.work_id = work.id;
    rc = entry.what != NULL
             ? ch_store_ledger_add(request->store, 0, &entry, piece_client(request, client), request->now_s, NULL, &own)
             : ch_fail(&own, CH_E_INPUT, NULL, "Say what came off.");
    if (piece_refused(rc, &own, response, line, err))
        return page_work_again(request, response, work.id, 0, line, err);
    return rc < 0 ? rc : web_redirect(response, "/task/%lld", (long long)work.id);
}

ch_status page_spent_post(web_request *request, web_response *response, ch_err *err)
{
    ch_err own = {0};
    char line[PIECE_LINE];
    const char *what = piece_typed(request, "do", "");
    const int64_t work = piece_id(&request->form, "work");
    ch_store_spent spent = {.id = web_part_id(request, 0)};
    ch_status rc = CH_OK;
    if (spent.id <= 0 || work == 0)
        return web_not_found(request, response);
    if (strcmp(what, "delete") == 0) {
        rc = ch_store_spent_delete(request->store, spent.id, request->now_s, &own);
    } else if (strcmp(what, "change") == 0) {
        rc = spent_typed(request, &spent, &own);
        if (rc >= 0)
            rc = ch_store_spent_change(request->store, &spent, request->now_s, &own);
    } else {
        return web_not_found(request, response);
    }
    if (piece_refused(rc, &own, response, line, err))
        return page_work_again(request, response, work, 0, line, err);
    return rc < 0 ? rc : web_redirect(response, "/task/%lld", (long long)work);
}

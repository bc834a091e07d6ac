/*
 * GET /car/ID/ready: may I load the trailer? What is open, what is due, what the forecast says, and the inspection list to tick.
 * POST /car/ID/ready: keep ticks. Fields: tick and had, one a box, see ready_ticks.h.
 * GET /car/ID/ready/FILE: the check sheet to print, check.pdf or check.html.
 */
#include <math.h>
#include <string.h>

#include "crosshatch/history.h"
#include "ledger_cards.h"
#include "page.h"
#include "printed.h"
#include "ready_ticks.h"
#include "ready_view.h"
#include "seasons.h"

enum { CAUTIONS_MAXIMUM = 512 };

typedef struct ready_page {
    html_writer *w;
    const web_request *request;
    const ch_store_car *car;
    const ready_view *view;
    const ready_ticks *ticks; /* NULL: no event is planned, and nothing can be ticked for it */
    const web_know *know;
    bool said[CAUTIONS_MAXIMUM]; /* cautions that stand on the page already */
} ready_page;

/* ---------------------------------------------------------------- the answer */

/* Where it was entered, and what is known of it. */
static void reason_link(const ready_page *p, ch_show_reason_kind kind)
{
    html_writer *w = p->w;
    const long long car = (long long)p->car->id;
    html_lit(w, " <a class=\"no-print\"");
    switch (kind) {
    case CH_SHOW_REASON_OPEN: html_lit(w, " href=\"#off\">What is off</a>"); return;
    case CH_SHOW_REASON_WORK: html_lit(w, " href=\"#work\">Work in hand</a>"); return;
    case CH_SHOW_REASON_PART: html_attrf(w, "href", "/car/%lld/parts", car); break;
    case CH_SHOW_REASON_ENGINE:
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)p->view->ready->engine.fault.sheet_id);
        break;
    case CH_SHOW_REASON_CLUTCH: html_attrf(w, "href", "/car/%lld/driveline", car); break;
    default: html_attrf(w, "href", "/car/%lld/season", car); break;
    }
    html_lit(w, ">");
    html_text(w, kind == CH_SHOW_REASON_PART     ? "Parts"
                 : kind == CH_SHOW_REASON_ENGINE ? "That sheet"
                 : kind == CH_SHOW_REASON_CLUTCH ? "That run"
                                                 : "Season");
    html_lit(w, "</a>");
}

/* One line each, most dangerous first, with what to do; of one alone the headline has said what it is. */
static void write_reasons(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_show_ready *shown = &p->view->shown;
    const size_t reasons = ch_show_ready_reasons(shown);
    if (reasons == 0)
        return;
    html_lit(w, "<ol class=\"way\">\n");
    for (size_t i = 0; i < reasons; i++) {
        ch_show_reason reason;
        ch_show_ready_reason(shown, i, &reason);
        html_lit(w, "<li>");
        if (reasons > 1) {
            html_lit(w, "<strong>");
            html_text(w, reason.says);
            html_lit(w, ".</strong> ");
        }
        html_text(w, reason.to_do);
        reason_link(p, reason.kind);
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ol>\n");
}

static void write_outcome(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_ready_event *event = p->view->shown.event;
    char day[16], sentence[CH_SHOW_SENTENCE];
    ch_date_format(event->day, day, sizeof day);
    html_lit(w, "<p class=\"quiet\">");
    if (ch_date_given(event->day)) {
        const long left = ch_date_days(event->day) - ch_date_days(p->view->shown.today);
        html_textf(w, "For %s on %s, ", event->name, day);
        if (left == 0)
            html_lit(w, "today");
        else
            html_textf(w, "%ld %s from now", left, left == 1 ? "day" : "days");
        html_lit(w, "</p>\n");
    } else {
        html_lit(w, "No event is planned: <a");
        html_attrf(w, "href", "/car/%lld/events", (long long)p->car->id);
        html_lit(w, ">enter the next one</a>. Until then, what is due today.</p>\n");
    }
    ch_show_ready_outcome(&p->view->shown, sentence);
    html_lit(w, "<p");
    html_attr(w, "class",
              !p->view->ready->ready                         ? "verdict fault"
              : ch_show_ready_knows_nothing(&p->view->shown) ? "verdict unclear"
                                                             : "verdict sound");
    html_lit(w, ">");
    html_text(w, sentence);
    html_lit(w, "</p>\n");
    write_reasons(p);
}

static void write_open(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_store_ready *loaded = &p->view->loaded;
    if (loaded->opens == 0)
        return;
    html_lit(w, "<section class=\"caution\" aria-labelledby=\"off\"><h2 id=\"off\">Still off the car</h2><ul>\n");
    for (size_t i = 0; i < loaded->opens; i++) {
        const ch_store_ledger *entry = loaded->open[i];
        html_lit(w, "<li><strong>");
        html_text(w, entry->what);
        html_lit(w, "</strong>");
        if (entry->lies != NULL)
            html_textf(w, ", now %s", entry->lies);
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul><p class=\"row\">");
    for (size_t i = 0; i < loaded->opens; i++) {
        const ch_store_ledger *entry = loaded->open[i], *before = i > 0 ? loaded->open[i - 1] : NULL;
        if (before != NULL && before->sheet_id == entry->sheet_id && before->work_id == entry->work_id)
            continue; /* one link a sheet or piece of work; with what goes back first */
        ledger_link(w, entry);
    }
    html_lit(w, "</p></section>\n");
}

static void write_work(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_store_ready *loaded = &p->view->loaded;
    if (loaded->works == 0)
        return;
    html_lit(w, "<section class=\"caution\" aria-labelledby=\"work\"><h2 id=\"work\">Work in hand</h2><ul>\n");
    for (size_t i = 0; i < loaded->works; i++) {
        const ch_store_work *work = loaded->work[i];
        html_lit(w, "<li><a class=\"press\"");
        html_attrf(w, "href", "/task/%lld", (long long)work->id);
        html_lit(w, ">");
        html_text(w, work->title);
        html_lit(w, "</a><br>");
        html_text(w, work->kind == CH_PLAN_JOB ? "begun, and not done"
                     : work->done_s != 0       ? "open, and not closed again"
                                               : "begun");
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul></section>\n");
}

static void due_heading(html_writer *w, ch_ready_when when)
{
    switch (when) {
    case CH_READY_OVER: html_lit(w, "<h3>Over its limit</h3>"); break;
    case CH_READY_DURING: html_lit(w, "<h3>Due before the event is over</h3>"); break;
    case CH_READY_SOON: html_lit(w, "<h3>Soon</h3>"); break;
    case CH_READY_UNKNOWN: html_lit(w, "<h3>Not known</h3>"); break;
    }
}

static void write_due(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_ready *ready = p->view->ready;
    html_lit(w, "<h2>Parts</h2>\n");
    if (p->view->shown.parts == 0)
        html_lit(w, "<p>No part is kept yet, so that nothing can be due.</p>\n");
    else if (ready->due_count == 0)
        html_lit(w, "<p>None that is kept is due before the event is over, or soon after.</p>\n");
    for (size_t i = 0; i < ready->due_count; i++) {
        char sentence[CH_SHOW_SENTENCE];
        const bool first = i == 0 || ready->due[i].when != ready->due[i - 1].when;
        if (first && i > 0)
            html_lit(w, "</ul>\n");
        if (first) {
            due_heading(w, ready->due[i].when);
            html_lit(w, "<ul>\n");
        }
        ch_show_ready_due(&ready->due[i], sentence);
        html_lit(w, "<li>");
        html_text(w, sentence);
        html_lit(w, "</li>\n");
    }
    if (ready->due_count > 0)
        html_lit(w, "</ul>\n");
    html_lit(w, "<p class=\"no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/parts", (long long)p->car->id);
    html_lit(w, ">Parts of this car</a></p>\n");
}

static void write_engine(const ready_page *p)
{
    html_writer *w = p->w;
    char chance[CH_SHOW_NUMBER], newest[CH_SHOW_READY_ENGINE];
    html_lit(w, "<h2>The engine</h2><p>");
    ch_show_ready_engine(&p->view->shown, newest);
    if (newest[0] != '\0') {
        html_text(w, newest);
        html_lit(w, "</p><p>");
    }
    if (isnan(p->view->ready->engine.over_fault_1)) {
        html_lit(w, "No forecast: there is no compression sheet of this engine that can be judged.");
    } else {
        html_text(w, ch_date_given(p->view->shown.event->day) ? "By the end of the event" : "Today");
        html_lit(w, " a cylinder is over the fault limit with a chance of <strong>");
        html_text(w, ch_show_chance(p->view->ready->engine.over_fault_1, chance));
        html_lit(w, "</strong>. That speaks of sealing only, and says of no engine that it is safe.");
    }
    html_lit(w, "</p><p class=\"no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/season", (long long)p->car->id);
    html_lit(w, ">Will it last?</a></p>\n");
}

static void write_clutch(const ready_page *p)
{
    html_writer *w = p->w;
    char sentence[CH_SHOW_READY_CLUTCH];
    ch_show_ready_clutch(&p->view->shown, sentence);
    html_lit(w, "<h2>The clutch</h2><p>");
    html_text(w, sentence);
    html_lit(w, "</p><p class=\"no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/driveline", (long long)p->car->id);
    html_lit(w, ">Does the clutch slip?</a></p>\n");
}

/* ---------------------------------------------------------------- the list to tick */

/* Those of one signal word that an item needs and that the page does not have yet. */
static void write_cautions_of(ready_page *p, const ch_inspection_item *item, ch_signal_word word)
{
    for (size_t k = 0; k < item->cautions.count; k++) {
        const size_t at = item->cautions.at[k];
        const ch_places one = {.at = &item->cautions.at[k], .count = 1};
        if (p->know->knowledge.cautions[at].word != word || (at < CAUTIONS_MAXIMUM && p->said[at]))
            continue;
        piece_cautions(p->w, &p->know->knowledge, &one);
        if (at < CAUTIONS_MAXIMUM)
            p->said[at] = true;
    }
}

/* Ahead of an area, gravest first. */
static void write_cautions(ready_page *p, size_t area, int time)
{
    static const ch_signal_word words[] = {CH_SIGNAL_DANGER, CH_SIGNAL_WARNING, CH_SIGNAL_CAUTION, CH_SIGNAL_NOTICE};
    const ch_inspection *list = &p->know->inspection;
    for (size_t k = 0; k < sizeof words / sizeof words[0]; k++)
        for (size_t i = 0; i < list->count; i++)
            if (list->items[i].area == area && ready_ticks_has(&list->items[i], time))
                write_cautions_of(p, &list->items[i], words[k]);
}

static void write_words(html_writer *w, const ch_inspection_item *item)
{
    html_lit(w, "<strong>");
    html_text(w, item->title);
    html_lit(w, "</strong>");
    if (item->stops)
        html_lit(w, " *");
    html_lit(w, "<span class=\"hint\">");
    html_text(w, item->look);
    if (item->limit != NULL)
        html_textf(w, " Right: %s", item->limit);
    html_lit(w, "</span>");
}

static void write_box(const ready_page *p, size_t at, int time)
{
    html_writer *w = p->w;
    const ch_inspection_item *item = &p->know->inspection.items[at];
    const char *when = ch_inspection_when_name((unsigned)ready_times[time]);
    const int64_t ticked_s = ready_ticks_at(p->ticks, at, time);
    html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"tick\"");
    html_attrf(w, "value", "%s.%s", when, item->id);
    html_attr_if(w, "checked", ticked_s != 0);
    html_lit(w, "><span>");
    write_words(w, item);
    if (ticked_s != 0) {
        html_lit(w, "<span class=\"hint\">ticked ");
        piece_time(w, ticked_s, p->request->now_s);
        html_lit(w, "</span>");
    }
    html_lit(w, "</span></label>\n");
    if (ticked_s != 0) {
        html_lit(w, "<input type=\"hidden\" name=\"had\"");
        html_attrf(w, "value", "%s.%s", when, item->id);
        html_lit(w, ">\n");
    }
}

static void count_boxes(const ready_page *p, size_t area, int time, size_t *boxes, size_t *ticked)
{
    const ch_inspection *list = &p->know->inspection;
    *boxes = *ticked = 0;
    for (size_t i = 0; i < list->count; i++)
        if ((area == list->areas_count || list->items[i].area == area) && ready_ticks_has(&list->items[i], time)) {
            ++*boxes;
            *ticked += p->ticks != NULL && ready_ticks_at(p->ticks, i, time) != 0;
        }
}

/* One area at one time, folded; its summary says how far it is. */
static void write_area(ready_page *p, size_t area, int time)
{
    html_writer *w = p->w;
    const ch_inspection *list = &p->know->inspection;
    size_t boxes, ticked;
    count_boxes(p, area, time, &boxes, &ticked);
    if (boxes == 0)
        return;
    html_lit(w, "<details><summary><span>");
    html_textf(w, "%s: ", list->areas[area].title);
    if (p->ticks == NULL)
        html_textf(w, "%zu", boxes);
    else
        html_textf(w, "%zu of %zu", ticked, boxes);
    html_lit(w, "</span></summary>\n");
    write_cautions(p, area, time);
    if (p->ticks == NULL)
        html_lit(w, "<ul>\n");
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].area != area || !ready_ticks_has(&list->items[i], time))
            continue;
        if (p->ticks != NULL) {
            write_box(p, i, time);
            continue;
        }
        html_lit(w, "<li>");
        write_words(w, &list->items[i]);
        html_lit(w, "</li>\n");
    }
    if (p->ticks == NULL)
        html_lit(w, "</ul>\n");
    else
        piece_button(w, NULL, NULL, "second", "Keep the ticks");
    html_lit(w, "</details>\n");
}

/* The heading of a time of looking, as a whole sentence for whoever hears it read out. */
static void write_time_heading(const ready_page *p, int time)
{
    html_writer *w = p->w;
    size_t boxes, ticked;
    count_boxes(p, p->know->inspection.areas_count, time, &boxes, &ticked);
    html_lit(w, "<h3>");
    switch (ready_times[time]) {
    case CH_INSPECT_HOME: html_lit(w, "At home, before loading"); break;
    case CH_INSPECT_EVENT: html_lit(w, "On arrival"); break;
    default: html_lit(w, "After the first session: torque again"); break;
    }
    if (p->ticks != NULL)
        html_textf(w, ": %zu of %zu looked at", ticked, boxes);
    html_lit(w, "</h3>\n");
}

static void write_each_session(const ready_page *p)
{
    html_writer *w = p->w;
    const ch_inspection *list = &p->know->inspection;
    html_lit(w, "<h3>Before and after each session</h3><ul>\n");
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].when & (unsigned)CH_INSPECT_SESSION) {
            html_lit(w, "<li>");
            html_text(w, list->items[i].title);
            html_lit(w, "</li>\n");
        }
    html_lit(w, "</ul>\n");
}

static void write_inspection(ready_page *p)
{
    html_writer *w = p->w;
    html_lit(w, "<h2 id=\"list\">To look over</h2><p>");
    html_text(w, p->know->knowledge.always);
    html_lit(w, "</p><p>* Where this is not right, the car does not go out.</p>\n<p class=\"row no-print\">"
                "<a class=\"button\"");
    html_attrf(w, "href", "/car/%lld/ready/check.pdf", (long long)p->car->id);
    html_lit(w, ">Print the check sheet</a><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/ready/check.html", (long long)p->car->id);
    html_lit(w, ">Check sheet as HTML</a></p>\n");
    if (p->ticks != NULL)
        html_form_open(w, p->request, p->request->path, false);
    for (int time = 0; time < READY_TIMES; time++) {
        write_time_heading(p, time);
        for (size_t area = 0; area < p->know->inspection.areas_count; area++)
            write_area(p, area, time);
    }
    if (p->ticks != NULL) {
        html_lit(w, "<p class=\"hint\">Ticks are kept for this event. For the next one, or when this one is moved, all "
                    "boxes are empty again.</p>\n");
        html_form_close(w);
    }
    write_each_session(p);
    html_lit(w, "<p>Ticked, it says that these things were looked at, not that the car is safe. The service manual, "
                "the event's rules and its scrutineers decide.</p>\n");
}

/* ---------------------------------------------------------------- the pages */

ch_status page_ready_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    ready_view view;
    ready_ticks ticks = {0};
    ch_status rc = CH_E_IO;
    if (know == NULL || !piece_car(request, response, &car, &rc, err))
        return rc;
    rc = ready_view_get(request, know, car, SEASON_SHEETS_AT_ONCE, &view, err);
    if (rc >= 0)
        rc = ready_ticks_load(request, car->id, &know->inspection, &view.loaded.event, &ticks, err);
    if (rc >= 0) {
        ready_page p = {.w = &response->page,
                        .request = request,
                        .car = car,
                        .view = &view,
                        .ticks = ch_date_given(view.loaded.event.day) ? &ticks : NULL,
                        .know = know};
        piece_car_open(request, response, car, "May I load the trailer?", "/ready");
        if (view.waiting > 0)
            season_write_waiting(response, view.judged, view.waiting);
        else
            write_outcome(&p);
        write_open(&p);
        write_work(&p);
        write_due(&p);
        if (view.waiting == 0)
            write_engine(&p);
        write_clutch(&p);
        write_inspection(&p);
        html_page_close(p.w);
    }
    ready_ticks_clear(&ticks);
    ready_view_clear(&view);
    return rc < 0 ? rc : CH_OK;
}

ch_status page_ready_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    ch_store_ready loaded;
    ch_status rc = CH_E_IO;
    if (know == NULL || !piece_car(request, response, &car, &rc, err))
        return rc;
    rc = ch_store_ready_load(request->store, &request->pool, car->id, &know->lives, piece_today(request->now_s),
                             CH_HISTORY_EVENT_S, &loaded, err);
    if (rc < 0)
        return rc;
    if (!ch_date_given(loaded.event.day))
        return web_message(request, response, 409, "No event is planned",
                           "Ticks are kept for an event. Enter the next one first.");
    rc = ready_ticks_keep(request, car->id, &know->inspection, &loaded.event, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/ready#list", (long long)car->id);
}

ch_status page_ready_file_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    const char *name = request->part[1];
    ch_document *document = NULL;
    ready_view view;
    ch_status rc = CH_E_IO;
    if (know == NULL || !piece_car(request, response, &car, &rc, err))
        return rc;
    if (strcmp(name, "check.pdf") != 0 && strcmp(name, "check.html") != 0)
        return web_not_found(request, response);
    rc = ready_view_get(request, know, car, 0, &view, err);
    if (rc >= 0)
        rc = ch_report_check_sheet(&view.shown, &document, err);
    if (rc >= 0)
        rc = printed_answer(request, response, document, name, view.shown.today, err);
    ch_document_free(document);
    ready_view_clear(&view);
    return rc < 0 ? rc : CH_OK;
}

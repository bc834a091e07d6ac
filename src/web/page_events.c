/*
 * GET /car/ID/events: days on which the car ran, and planned ones.
 * POST /car/ID/events: enter one. Fields: day, name, hours, distance, starts, sessions, note, entry. A planned one has no numbers yet.
 * GET /event/ID: one of them. POST /event/ID: do = change (the same fields) or delete.
 * POST /event/ID/log: a logged run (fields of event_log.h); what it adds stands in the form, and is kept when that is saved.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "drive_form.h"
#include "event_log.h"
#include "page.h"
#include "piece_car.h"

/* ---------------------------------------------------------------- the form */

static void number_field(html_writer *w, const web_request *request, const char *label, const char *name,
                         const char *hint, const char *stored)
{
    piece_field(w, &(piece_input){.label = label,
                                  .name = name,
                                  .hint = hint,
                                  .value = piece_typed(request, name, stored),
                                  .mode = "decimal"});
}

/* `event` NULL = a new one. */
static void write_fields(html_writer *w, web_request *request, const ch_store_event *event)
{
    const ch_unit *hour = ch_unit_find("h", 1), *distance = piece_unit(request, "distance");
    char day[16] = "", text[PIECE_FIGURE] = "";
    if (event != NULL)
        ch_date_format(event->day, day, sizeof day);
    piece_field(w, &(piece_input){.label = "Day",
                                  .name = "day",
                                  .value = piece_typed(request, "day", day),
                                  .type = "date",
                                  .required = true});
    piece_field(w, &(piece_input){.label = "Name",
                                  .name = "name",
                                  .value = piece_typed(request, "name", event != NULL ? event->name : NULL),
                                  .hint = "what you call it",
                                  .required = true});
    html_lit(w, "<p class=\"hint\">Of an event to come, leave the rest empty.</p>\n");
    if (event != NULL)
        piece_figure_text(event->running_s, hour, text);
    number_field(w, request, "Engine running, hours", "hours", "on track and in the paddock", text);
    text[0] = '\0';
    if (event != NULL && event->sessions > 0)
        piece_figure_text((double)event->sessions, ch_unit_find("1", 1), text);
    number_field(w, request, "Sessions", "sessions", "times that the car went out", text);
    text[0] = '\0';
    if (event != NULL)
        piece_figure_text(event->distance_m, distance, text);
    number_field(w, request, "Distance", "distance", distance->name, text);
    text[0] = '\0';
    if (event != NULL && event->starts >= 0)
        piece_figure_text((double)event->starts, ch_unit_find("1", 1), text);
    number_field(w, request, "Starts of the engine", "starts", NULL, text);
    piece_field(w, &(piece_input){.label = "Note",
                                  .name = "note",
                                  .value = piece_typed(request, "note", event != NULL ? event->note : NULL),
                                  .area = true});
}

/* What the form says; `old` NULL = of a new one. */
static ch_status read_form(web_request *request, const ch_store_event *old, ch_store_event *event, ch_err *err)
{
    const web_fields *form = &request->form;
    event->name = piece_given(form, "name");
    event->note = piece_given(form, "note");
    event->engine_id = 0; /* that of its day */
    ch_status rc = piece_day(request, "day", "Day", &event->day, err);
    if (rc >= 0 && !ch_date_given(event->day))
        rc = ch_fail(err, CH_E_INPUT, NULL, "The event needs a day.");
    if (rc >= 0 && event->name == NULL)
        rc = ch_fail(err, CH_E_INPUT, NULL, "The event needs a name.");
    if (rc >= 0)
        rc = piece_figure(request, "hours", "Engine running", ch_unit_find("h", 1), old != NULL ? old->running_s : NAN,
                          &event->running_s, err);
    if (rc >= 0)
        rc = piece_figure(request, "distance", "Distance", piece_unit(request, "distance"),
                          old != NULL ? old->distance_m : NAN, &event->distance_m, err);
    if (rc >= 0)
        rc = piece_count(request, "starts", "Starts", -1, &event->starts, err);
    if (rc >= 0)
        rc = piece_count(request, "sessions", "Sessions", 0, &event->sessions, err);
    return rc;
}

/* ---------------------------------------------------------------- the list */

static void write_amounts(html_writer *w, web_request *request, const ch_store_event *event)
{
    const ch_unit *distance = piece_unit(request, "distance");
    char text[PIECE_FIGURE];
    const char *between = "";
    piece_figure_text(event->running_s, ch_unit_find("h", 1), text);
    if (text[0] != '\0') {
        html_textf(w, "%s h", text);
        between = ", ";
    }
    if (event->sessions > 0) {
        html_textf(w, "%s%lld %s", between, (long long)event->sessions, event->sessions == 1 ? "session" : "sessions");
        between = ", ";
    }
    piece_figure_text(event->distance_m, distance, text);
    if (text[0] != '\0') {
        html_textf(w, "%s%s %s", between, text, distance->name);
        between = ", ";
    }
    if (event->starts >= 0)
        html_textf(w, "%s%lld %s", between, (long long)event->starts, event->starts == 1 ? "start" : "starts");
}

static bool has_amounts(const ch_store_event *event)
{
    return isfinite(event->running_s) || isfinite(event->distance_m) || event->starts >= 0 || event->sessions > 0;
}

static void write_event(html_writer *w, web_request *request, const ch_store_event *event, bool past)
{
    char day[16];
    ch_date_format(event->day, day, sizeof day);
    html_lit(w, "<li class=\"card\"><a class=\"cover\"");
    html_attrf(w, "href", "/event/%lld", (long long)event->id);
    html_lit(w, ">");
    html_textf(w, "%s, %s", day, event->name);
    html_lit(w, "</a>");
    if (has_amounts(event)) {
        html_lit(w, "<br>");
        write_amounts(w, request, event);
    } else if (past) {
        html_lit(w,
                 "<br><strong>Not filled in yet</strong>: enter its hours, they count for the engine and every part.");
    }
    if (event->note != NULL) {
        html_lit(w, "<br><span class=\"quiet\">");
        html_text(w, event->note);
        html_lit(w, "</span>");
    }
    html_lit(w, "</li>\n");
}

/* The next one first among those to come, the last one first among those that were. */
static void write_events(html_writer *w, web_request *request, const ch_store_event *events, size_t count)
{
    const long today = ch_date_days(piece_today(request->now_s));
    size_t to_come = 0;
    while (to_come < count && ch_date_days(events[count - 1 - to_come].day) >= today)
        to_come++;
    html_lit(w, "<h2>To come</h2>\n");
    if (to_come == 0)
        html_lit(w, "<p>None is planned. Enter the next one: what is due before it, and whether the engine lasts to "
                    "it, is then told.</p>\n");
    html_lit(w, "<ul class=\"cards\">\n");
    for (size_t i = count - to_come; i < count; i++)
        write_event(w, request, &events[i], false);
    html_lit(w, "</ul>\n");
    if (count == to_come)
        return;
    html_lit(w, "<h2>Past</h2><ul class=\"cards\">\n");
    for (size_t i = count - to_come; i-- > 0;)
        write_event(w, request, &events[i], true);
    html_lit(w, "</ul>\n");
}

static ch_status events_page(web_request *request, web_response *response, const ch_store_car *car, const char *alert,
                             ch_err *err)
{
    html_writer *w = &response->page;
    const ch_store_event *events = NULL;
    size_t count = 0;
    ch_status rc = ch_store_events(request->store, &request->pool, car->id, &events, &count, err);
    if (rc < 0)
        return rc;
    piece_car_open(request, response, car, "Events", "/events");
    write_events(w, request, events, count);
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL || count == 0);
    html_lit(w, "><summary>Enter an event</summary>");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    rc = piece_entry(w, err);
    write_fields(w, request, NULL);
    piece_button(w, NULL, NULL, "wide", "Enter the event");
    html_form_close(w);
    html_lit(w, "</details>\n");
    html_page_close(w);
    return rc;
}

ch_status page_events_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    return piece_car(request, response, &car, &rc, err) ? events_page(request, response, car, NULL, err) : rc;
}

ch_status page_events_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    char client[CH_STORE_CLIENT_MAX + 1], line[PIECE_LINE];
    ch_err own = {0};
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    ch_store_event event = {.car_id = car->id};
    rc = read_form(request, NULL, &event, &own);
    if (rc >= 0)
        rc = ch_store_event_add(request->store, &event, piece_client(request, client), request->now_s, NULL, &own);
    if (piece_refused(rc, &own, response, line, err))
        return events_page(request, response, car, line, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/events", (long long)car->id);
}

/* ---------------------------------------------------------------- one */

/* The event of the path and its car; false where there is none, as piece_car. */
static bool find_event(web_request *request, web_response *response, const ch_store_event **event,
                       const ch_store_car **car, ch_status *rc, ch_err *err)
{
    const ch_store_event *events = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    *rc = ch_store_events(request->store, &request->pool, 0, &events, &count, err);
    for (size_t i = 0; *rc >= 0 && i < count; i++)
        if (events[i].id == id)
            *event = &events[i];
    if (*rc >= 0 && *event != NULL)
        *rc = piece_car_find(request, (*event)->car_id, car, err);
    if (*rc >= 0 && *car == NULL)
        *rc = web_not_found(request, response);
    return *car != NULL;
}

/* What a log adds, to be looked over. */
static void write_log(html_writer *w, const event_log *log)
{
    html_lit(w, "<div class=\"notice\" role=\"status\"><p>");
    html_text(w, log->told);
    html_lit(w, "</p><p><strong>It is added below and not kept yet: look it over, then save.</strong></p>");
    if (log->again)
        html_lit(w, "<p>A log of this name stands in the note already. Was it counted before?</p>");
    html_lit(w, "</div>\n");
}

/* `log` NULL = none was read; `refused`: the log was, and why. */
static ch_status event_page(web_request *request, web_response *response, const ch_store_event *event,
                            const ch_store_car *car, const char *alert, const event_log *log, const char *refused)
{
    html_writer *w = &response->page;
    char action[64];
    snprintf(action, sizeof action, "/event/%lld", (long long)event->id);
    piece_car_open(request, response, car, "An event", "/event");
    piece_alert(w, alert);
    if (log != NULL)
        write_log(w, log);
    html_form_open(w, request, action, false);
    write_fields(w, request, event);
    piece_button(w, "do", "change", "wide", "Save");
    html_form_close(w);
    html_lit(w, "<details");
    html_attr_if(w, "open", refused != NULL);
    html_lit(w, "><summary>Hours from a logged run</summary>\n");
    piece_alert(w, refused);
    event_log_form(w, request, event);
    html_lit(w, "</details>\n");
    html_form_open(w, request, action, false);
    html_lit(w, "<p>Entered by mistake, or called off? Its hours no longer count then.</p>");
    piece_button(w, "do", "delete", "danger", "Take it out");
    html_form_close(w);
    html_page_close(w);
    return CH_OK;
}

ch_status page_event_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_event *event = NULL;
    const ch_store_car *car = NULL;
    ch_status rc;
    return find_event(request, response, &event, &car, &rc, err)
               ? event_page(request, response, event, car, NULL, NULL, NULL)
               : rc;
}

ch_status page_event_log_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_event *old = NULL;
    const ch_store_car *car = NULL;
    event_log log;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc;
    if (!find_event(request, response, &old, &car, &rc, err))
        return rc;
    ch_store_event event = *old;
    rc = event_log_add(request, &event, &log, &own);
    drive_form_say(&own, false);
    if (piece_refused(rc, &own, response, line, err))
        return event_page(request, response, old, car, NULL, NULL, line);
    return rc < 0 ? rc : event_page(request, response, &event, car, NULL, &log, NULL);
}

ch_status page_event_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_event *old = NULL;
    const ch_store_car *car = NULL;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc;
    if (!find_event(request, response, &old, &car, &rc, err))
        return rc;
    if (!piece_does(request, "change delete"))
        return web_not_found(request, response);
    if (piece_does(request, "delete")) {
        rc = ch_store_event_delete(request->store, old->id, request->now_s, &own);
    } else {
        ch_store_event event = {.id = old->id, .car_id = old->car_id};
        rc = read_form(request, old, &event, &own);
        if (rc >= 0)
            rc = ch_store_event_change(request->store, &event, request->now_s, &own);
    }
    if (piece_refused(rc, &own, response, line, err))
        return event_page(request, response, old, car, line, NULL, NULL);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/events", (long long)car->id);
}

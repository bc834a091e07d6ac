/*
 * GET /car/ID/parts: parts on the car that wear or age, with what each has run of its life.
 * POST /car/ID/parts: enter one. Fields: life (id in knowledge/part_lives.yaml), name, fitted, made, until, hours, distance, sessions (what it
 * had run when fitted), left (% of the thickness), depth, under_printed, note, entry.
 * GET /part/ID: one of them. POST /part/ID: do = change (the same fields), removed (day) or delete.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/history.h"
#include "crosshatch/show_ready.h"
#include "crosshatch/store_ready.h"
#include "page.h"
#include "piece_car.h"

static const ch_unit *percent(void)
{
    return ch_unit_find("%", 1);
}

/* ---------------------------------------------------------------- the form */

static void day_field(html_writer *w, const web_request *request, const char *label, const char *name, const char *hint,
                      ch_date stored)
{
    char day[16];
    ch_date_format(stored, day, sizeof day);
    piece_field(
        w, &(piece_input){
               .label = label, .name = name, .hint = hint, .value = piece_typed(request, name, day), .type = "date"});
}

static void figure_field(html_writer *w, const web_request *request, const char *label, const char *name,
                         const ch_unit *unit, double stored)
{
    char text[PIECE_FIGURE];
    piece_figure_text(stored, unit, text);
    piece_field(w, &(piece_input){.label = label,
                                  .name = name,
                                  .hint = unit->name,
                                  .value = piece_typed(request, name, text),
                                  .mode = "decimal"});
}

static void write_choice(html_writer *w, const web_request *request, const web_know *know, const char *chosen)
{
    const char *life = piece_typed(request, "life", chosen != NULL ? chosen : "");
    html_lit(w, "<label for=\"f-life\">What it is</label><select id=\"f-life\" name=\"life\">");
    piece_option(w, "", "something else: name it below", life);
    for (size_t i = 0; i < know->lives.count; i++)
        piece_option(w, know->lives.parts[i].id, know->lives.parts[i].title, life);
    html_lit(w, "</select>\n");
}

/* Above 0, or not known. */
static double given(double figure)
{
    return figure > 0.0 ? figure : NAN;
}

/* `part` NULL = a new one. */
static void write_fields(html_writer *w, web_request *request, const web_know *know, const ch_store_part *part)
{
    const ch_store_part none = {.fitted = piece_today(request->now_s)};
    const ch_store_part *p = part != NULL ? part : &none;
    write_choice(w, request, know, p->life);
    piece_field(w, &(piece_input){.label = "Name",
                                  .name = "name",
                                  .value = piece_typed(request, "name", p->name),
                                  .hint = "as in: front pads, medium; empty takes the name above"});
    day_field(w, request, "Fitted, or filled in, on", "fitted", NULL, p->fitted);
    html_lit(w, "<details");
    html_attr_if(w, "open", part != NULL || request->post);
    html_lit(w, "><summary>Dates on it, measurements, what it ran before</summary>");
    day_field(w, request, "Made on", "made", "date of manufacture, as on tyres and harnesses", p->made);
    day_field(w, request, "Good until", "until", "date printed on it", p->until);
    figure_field(w, request, "Thickness left, of new", "left", percent(), given(p->part_left_1));
    figure_field(w, request, "Tread depth", "depth", piece_unit(request, "length"), given(p->depth_m));
    html_lit(w, "<label class=\"choice\"><input type=\"checkbox\" name=\"under_printed\" value=\"1\"");
    html_attr_if(w, "checked", request->post ? web_value(&request->form, "under_printed") != NULL : p->under_printed);
    html_lit(w, ">Measured under the least thickness printed on it</label>\n");
    figure_field(w, request, "Had run when fitted, hours", "hours", ch_unit_find("h", 1), given(p->carried_running_s));
    figure_field(w, request, "Had run when fitted, distance", "distance", piece_unit(request, "distance"),
                 given(p->carried_distance_m));
    char sessions[PIECE_FIGURE];
    piece_figure_text(given((double)p->carried_sessions), ch_unit_find("1", 1), sessions);
    piece_field(w, &(piece_input){.label = "Had run when fitted, sessions",
                                  .name = "sessions",
                                  .value = piece_typed(request, "sessions", sessions),
                                  .mode = "numeric"});
    piece_field(w, &(piece_input){
                       .label = "Note", .name = "note", .value = piece_typed(request, "note", p->note), .area = true});
    html_lit(w, "</details>\n");
}

static ch_status read_amounts(const web_request *request, const ch_unit *length, const ch_unit *distance,
                              const ch_store_part *old, ch_store_part *part, ch_err *err)
{
    ch_status rc =
        piece_figure(request, "left", "Thickness left", percent(), given(old->part_left_1), &part->part_left_1, err);
    if (rc >= 0)
        rc = piece_figure(request, "depth", "Tread depth", length, given(old->depth_m), &part->depth_m, err);
    if (rc >= 0)
        rc = piece_figure(request, "hours", "Hours", ch_unit_find("h", 1), given(old->carried_running_s),
                          &part->carried_running_s, err);
    if (rc >= 0)
        rc = piece_figure(request, "distance", "Distance", distance, given(old->carried_distance_m),
                          &part->carried_distance_m, err);
    double *const figures[] = {&part->part_left_1, &part->depth_m, &part->carried_running_s, &part->carried_distance_m};
    for (size_t i = 0; rc >= 0 && i < sizeof figures / sizeof figures[0]; i++)
        if (isnan(*figures[i]))
            *figures[i] = 0.0; /* the store's word for "not measured" and "new" */
    return rc < 0 ? rc : piece_count(request, "sessions", "Sessions", 0, &part->carried_sessions, err);
}

/* What the form says, into a part that holds what the form does not show; `old` is what it was. */
static ch_status read_form(web_request *request, const web_know *know, const ch_store_part *old, ch_store_part *part,
                           ch_err *err)
{
    const web_fields *form = &request->form;
    const char *life = piece_given(form, "life");
    const ch_part_life *known = life != NULL ? ch_part_life_find(&know->lives, life, strlen(life)) : NULL;
    if (life != NULL && known == NULL)
        return ch_fail(err, CH_E_INPUT, "one of the list", "What it is: not in the list");
    part->life = known != NULL ? known->id : NULL;
    part->name = piece_given(form, "name");
    part->note = piece_given(form, "note");
    part->under_printed = web_value(form, "under_printed") != NULL;
    if (part->name == NULL && known != NULL)
        part->name = known->title;
    if (part->name == NULL)
        return ch_fail(err, CH_E_INPUT, NULL, "Choose what it is, or name it.");
    ch_status rc = piece_day(request, "fitted", "Fitted", &part->fitted, err);
    if (rc >= 0 && !ch_date_given(part->fitted))
        rc = ch_fail(err, CH_E_INPUT, NULL, "The part needs the day on which it was fitted.");
    if (rc >= 0)
        rc = piece_day(request, "made", "Made on", &part->made, err);
    if (rc >= 0)
        rc = piece_day(request, "until", "Good until", &part->until, err);
    return rc < 0
               ? rc
               : read_amounts(request, piece_unit(request, "length"), piece_unit(request, "distance"), old, part, err);
}

/* ---------------------------------------------------------------- the list */

static const char *when_words(ch_ready_when when)
{
    static const char *const words[] = {[CH_READY_OVER] = "Over its limit",
                                        [CH_READY_DURING] = "Due before the next event is over",
                                        [CH_READY_SOON] = "Soon due",
                                        [CH_READY_UNKNOWN] = "Not known how much is left"};
    return words[when];
}

static void write_part(html_writer *w, int64_t id, const ch_ready_part *part, const ch_ready_due *due)
{
    char sentence[CH_SHOW_SENTENCE];
    html_lit(w, "<li class=\"card\"><a class=\"cover\"");
    html_attrf(w, "href", "/part/%lld", (long long)id);
    html_lit(w, ">");
    html_text(w, part->name);
    html_lit(w, "</a>");
    if (due != NULL) {
        html_lit(w, "<br><strong>");
        html_text(w, when_words(due->when));
        html_lit(w, "</strong>");
    }
    if (part->life == NULL)
        html_lit(w, "<br><span class=\"quiet\">Its life is not known here, so it is never due.</span>");
    else if (part->life->limits_count == 0)
        html_lit(w, "<br><span class=\"quiet\">It has no limit, so it is never due.</span>");
    html_lit(w, "<ul>");
    for (size_t i = 0; part->life != NULL && i < part->life->limits_count; i++) {
        html_lit(w, "<li>");
        ch_show_part_limit(part, &part->life->limits[i], sentence);
        html_text(w, sentence);
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul></li>\n");
}

/* The id of the n-th part of ch_store_ready_load(): those still fitted to this life, in the order entered. */
static int64_t id_of(const ch_store_part *rows, size_t count, int64_t engine_id, size_t n)
{
    for (size_t i = 0; i < count; i++)
        if (rows[i].engine_id == engine_id && !ch_date_given(rows[i].removed) && n-- == 0)
            return rows[i].id;
    return 0;
}

static ch_status write_fitted(html_writer *w, web_request *request, const web_know *know, const ch_store_car *car,
                              const ch_store_part *rows, size_t count, ch_err *err)
{
    ch_store_ready loaded;
    const ch_date today = piece_today(request->now_s);
    ch_status rc = ch_store_ready_load(request->store, &request->pool, car->id, &know->lives, today, CH_HISTORY_EVENT_S,
                                       &loaded, err);
    ch_ready *ready = rc >= 0 ? malloc(sizeof *ready) : NULL;
    if (rc >= 0)
        rc = ready == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is due")
                           : ch_ready_run(loaded.part, loaded.parts, 0, &loaded.event, today, &CH_READY_NO_ENGINE, NAN,
                                          ready, err);
    if (rc >= 0) {
        if (loaded.parts == 0)
            html_lit(w, "<p>None yet. Begin with what hurts most when it is forgotten: engine oil, brake fluid, pads, "
                        "tyres, timing belt, harness.</p>\n");
        html_lit(w, "<ul class=\"cards\">\n");
        for (size_t i = 0; i < loaded.parts; i++) {
            const ch_ready_due *due = NULL;
            for (size_t d = 0; d < ready->due_count; d++)
                if (ready->due[d].part == &loaded.part[i])
                    due = &ready->due[d];
            write_part(w, id_of(rows, count, car->engine_id, i), &loaded.part[i], due);
        }
        html_lit(w, "</ul>\n");
    }
    free(ready);
    return rc;
}

static void write_removed(html_writer *w, const ch_store_part *rows, size_t count, int64_t engine_id)
{
    size_t shown = 0;
    for (size_t i = count; i-- > 0;) {
        char fitted[16], removed[16];
        if (rows[i].engine_id != engine_id || !ch_date_given(rows[i].removed))
            continue;
        if (shown++ == 0)
            html_lit(w, "<details><summary>Parts that were taken off</summary><ul class=\"cards\">");
        ch_date_format(rows[i].fitted, fitted, sizeof fitted);
        ch_date_format(rows[i].removed, removed, sizeof removed);
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/part/%lld", (long long)rows[i].id);
        html_lit(w, ">");
        html_text(w, rows[i].name);
        html_lit(w, "</a><br>");
        html_textf(w, "%s to %s, ", fitted, removed);
        char hours[PIECE_FIGURE];
        piece_figure_text(rows[i].running_s, ch_unit_find("h", 1), hours);
        html_textf(w, "%s h", hours);
        html_lit(w, "</li>\n");
    }
    if (shown > 0)
        html_lit(w, "</ul></details>\n");
}

static ch_status write_new(html_writer *w, web_request *request, const web_know *know, const char *alert, bool open,
                           ch_err *err)
{
    html_lit(w, "<details");
    html_attr_if(w, "open", open);
    html_lit(w, "><summary>Enter a part</summary>");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    const ch_status rc = piece_entry(w, err);
    write_fields(w, request, know, NULL);
    piece_button(w, NULL, NULL, "wide", "Enter the part");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

static ch_status parts_page(web_request *request, web_response *response, const ch_store_car *car, const char *alert,
                            ch_err *err)
{
    html_writer *w = &response->page;
    const web_know *know = know_get(err);
    const ch_store_part *rows = NULL;
    size_t count = 0;
    if (know == NULL)
        return CH_E_IO;
    piece_car_open(request, response, car, "Parts", "/parts");
    if (car->engine_id == 0) {
        html_lit(w, "<p>The car has no engine to count hours by. ");
        html_lit(w, "<a");
        html_attrf(w, "href", "/car/%lld/engine", (long long)car->id);
        html_lit(w, ">Put one in</a> first.</p>\n");
        html_page_close(w);
        return CH_OK;
    }
    ch_status rc = ch_store_parts(request->store, &request->pool, 0, &rows, &count, err);
    if (rc >= 0)
        rc = write_fitted(w, request, know, car, rows, count, err);
    if (rc >= 0)
        rc = write_new(w, request, know, alert, alert != NULL || count == 0, err);
    write_removed(w, rows, count, car->engine_id);
    html_lit(w,
             "<p class=\"hint\">Limits are starting figures of the trade; the vehicle's service manual and the rules "
             "of the event come first.</p>\n");
    html_page_close(w);
    return rc;
}

ch_status page_parts_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    return piece_car(request, response, &car, &rc, err) ? parts_page(request, response, car, NULL, err) : rc;
}

ch_status page_parts_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    char client[CH_STORE_CLIENT_MAX + 1], line[PIECE_LINE];
    ch_err own = {0};
    ch_status rc = CH_E_IO;
    if (know == NULL || !piece_car(request, response, &car, &rc, err))
        return rc;
    const ch_store_part none = {0};
    ch_store_part part = {.engine_id = car->engine_id};
    rc = car->engine_id != 0 ? read_form(request, know, &none, &part, &own)
                             : ch_fail(&own, CH_E_INPUT, NULL, "The car has no engine.");
    if (rc >= 0)
        rc = ch_store_part_add(request->store, &part, piece_client(request, client), request->now_s, NULL, &own);
    if (piece_refused(rc, &own, response, line, err))
        return parts_page(request, response, car, line, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/parts", (long long)car->id);
}

/* ---------------------------------------------------------------- one */

/* The car that an engine life is of; *car stays NULL where there is none. */
static ch_status car_of(web_request *request, int64_t engine_id, const ch_store_car **car, ch_err *err)
{
    const ch_store_engine *lives = NULL;
    size_t count = 0;
    ch_status rc = ch_store_engines(request->store, &request->pool, 0, &lives, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (lives[i].id == engine_id)
            return piece_car_find(request, lives[i].car_id, car, err);
    return rc;
}

static bool find_part(web_request *request, web_response *response, const ch_store_part **part,
                      const ch_store_car **car, ch_status *rc, ch_err *err)
{
    const ch_store_part *rows = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    *rc = ch_store_parts(request->store, &request->pool, 0, &rows, &count, err);
    for (size_t i = 0; *rc >= 0 && i < count; i++)
        if (rows[i].id == id)
            *part = &rows[i];
    if (*rc >= 0 && *part != NULL)
        *rc = car_of(request, (*part)->engine_id, car, err);
    if (*rc >= 0 && *car == NULL)
        *rc = web_not_found(request, response);
    return *car != NULL;
}

static ch_status part_page(web_request *request, web_response *response, const ch_store_part *part,
                           const ch_store_car *car, const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    piece_car_open(request, response, car, "A part", "/part");
    piece_alert(w, alert);
    if (ch_date_given(part->removed)) {
        char day[16];
        ch_date_format(part->removed, day, sizeof day);
        html_lit(w, "<p class=\"notice\">Taken off on ");
        html_text(w, day);
        html_lit(w, ".</p>\n");
    }
    html_form_open(w, request, request->path, false);
    write_fields(w, request, know, part);
    piece_button(w, "do", "change", "wide", "Save");
    html_form_close(w);
    html_lit(w, "<h2>Taken off, or renewed</h2>");
    html_form_open(w, request, request->path, false);
    day_field(w, request, "On this day", "removed", "its count ends there; enter the new one as a part of its own",
              ch_date_given(part->removed) ? part->removed : piece_today(request->now_s));
    piece_button(w, "do", "removed", "second", "It came off");
    html_form_close(w);
    html_form_open(w, request, request->path, false);
    html_lit(w, "<p>Entered by mistake?</p>");
    piece_button(w, "do", "delete", "danger", "Take it out");
    html_form_close(w);
    html_page_close(w);
    return CH_OK;
}

ch_status page_part_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_part *part = NULL;
    const ch_store_car *car = NULL;
    ch_status rc;
    return find_part(request, response, &part, &car, &rc, err) ? part_page(request, response, part, car, NULL, err)
                                                               : rc;
}

static ch_status change_part(web_request *request, const web_know *know, const ch_store_part *old, ch_err *err)
{
    ch_store_part part = *old;
    if (piece_does(request, "delete"))
        return ch_store_part_delete(request->store, old->id, request->now_s, err);
    ch_status rc = piece_does(request, "removed") ? piece_day(request, "removed", "Taken off", &part.removed, err)
                                                  : read_form(request, know, old, &part, err);
    return rc < 0 ? rc : ch_store_part_change(request->store, &part, request->now_s, err);
}

ch_status page_part_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_part *old = NULL;
    const ch_store_car *car = NULL;
    const web_know *know = know_get(err);
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = CH_E_IO;
    if (know == NULL || !find_part(request, response, &old, &car, &rc, err))
        return rc;
    if (!piece_does(request, "change removed delete"))
        return web_not_found(request, response);
    rc = change_part(request, know, old, &own);
    if (piece_refused(rc, &own, response, line, err))
        return part_page(request, response, old, car, line, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/parts", (long long)car->id);
}

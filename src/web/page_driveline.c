/*
 * GET /car/ID/driveline: does the clutch slip: the newest run, or that of ?run=N, the way to send another, and what is known of the car.
 * POST /car/ID/driveline: a log. Fields: log (a file), day.
 * GET, POST /car/ID/driveline/columns: choose columns. Query or fields: log (its digest), day; column_CHANNEL, unit_time, unit_speed.
 * POST /car/ID/driveline/car: what is known of the car's driveline, fields of drive_form.h.
 * POST /run/ID: do = see (sign_NAME = yes, no or empty), change (driven: the day; note), delete.
 */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "crosshatch/show_driveline.h"
#include "drive_form.h"
#include "drive_view.h"
#include "page.h"
#include "piece_car.h"

static void open_page(web_request *request, web_response *response, const ch_store_car *car, const char *title)
{
    piece_car_open(request, response, car, title, NULL);
    html_lit(&response->page, "<link rel=\"stylesheet\" href=\"/asset/findings.css\">\n");
}

static ch_status to_run(web_response *response, int64_t car_id, int64_t run_id)
{
    return web_redirect(response, "/car/%lld/driveline?run=%lld", (long long)car_id, (long long)run_id);
}

/* ---------------------------------------------------------------- one run */

static void weigh(const web_know *know, ch_store_run *run)
{
    ch_driveline_seen seen[CH_CAR_OBSERVED_MAX];
    const size_t n = drive_seen(&know->clutch, run->sign, run->signs, seen);
    ch_driveline_weigh(&know->clutch, seen, n, &run->driveline);
}

static void folded(html_writer *w, bool open, const char *words)
{
    html_lit(w, "<details class=\"no-print\"");
    html_attr_if(w, "open", open);
    html_lit(w, "><summary>");
    html_text(w, words);
    html_lit(w, "</summary>\n");
}

/* `alert`: why a change of it was refused, NULL where it was not. */
static void write_keeping(html_writer *w, const web_request *request, const ch_store_run *run, const char *alert)
{
    char action[32], day[16];
    snprintf(action, sizeof action, "/run/%lld", (long long)run->id);
    ch_date_format(run->day, day, sizeof day);
    folded(w, alert != NULL, "Day and note of this run, or take it away");
    piece_alert(w, alert);
    html_form_open(w, request, action, false);
    piece_field(w, &(piece_input){.label = "Day of driving",
                                  .name = "driven",
                                  .value = piece_typed(request, "driven", day),
                                  .type = "date"});
    piece_field(w,
                &(piece_input){
                    .label = "Note", .name = "note", .value = piece_typed(request, "note", run->note), .area = true});
    piece_button(w, "do", "change", "", "Save");
    html_form_close(w);
    html_form_open(w, request, action, false);
    piece_button(w, "do", "delete", "danger", "Take this run away");
    html_form_close(w);
    html_lit(w, "</details>\n");
    if (kept_log_there(request, run->log_sha256)) {
        html_lit(w, "<p class=\"no-print\"><a class=\"button second\"");
        html_attrf(w, "href", "/car/%lld/driveline/columns?log=%s&day=%s", (long long)run->car_id, run->log_sha256,
                   day);
        html_lit(w, ">Read the log again, with other columns or the car as it is known now</a></p>\n");
    }
}

static ch_status write_run(html_writer *w, web_request *request, const web_know *know, int64_t id, const char *alert,
                           ch_err *err)
{
    ch_store_run run;
    const ch_status rc = ch_store_run_load(request->store, &request->pool, id, &run, err);
    if (rc < 0)
        return rc;
    weigh(know, &run);
    const drive_view view = {.w = w, .request = request, .know = know, .run = &run};
    drive_view_result(&view);
    drive_view_causes(&view);
    drive_view_checks(&view);
    drive_view_limits(&view);
    html_lit(w, "<p>This advises; the car's own service manual and you decide.</p>\n");
    write_keeping(w, request, &run, alert);
    return rc;
}

/* ---------------------------------------------------------------- the page */

static void write_list(html_writer *w, const ch_store_run *runs, size_t count, int64_t shown)
{
    if (count < 2)
        return;
    html_lit(w, "<h2>Runs</h2>\n<ul class=\"cards\">");
    for (size_t i = 0; i < count; i++) {
        char day[16];
        ch_date_format(runs[i].day, day, sizeof day);
        html_lit(w, "<li class=\"card\"><a class=\"cover\"");
        html_attrf(w, "href", "/car/%lld/driveline?run=%lld", (long long)runs[i].car_id, (long long)runs[i].id);
        if (runs[i].id == shown)
            html_lit(w, " aria-current=\"page\"");
        html_lit(w, ">");
        html_text(w, day[0] != '\0' ? day : runs[i].log_name);
        html_lit(w, "</a><br>");
        html_textf(w, "%s, %zu %s", runs[i].log_name, runs[i].driveline.slips_found,
                   runs[i].driveline.slips_found == 1 ? "slip" : "slips");
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul>\n");
}

/* Which form of the page was refused: that of a log, of the car, or of a run that is shown. */
typedef enum refused_form { REFUSED_LOG, REFUSED_CAR, REFUSED_RUN } refused_form;

/* `alert`: why the form `refused` was, NULL where none was. `asked`: the run to show, 0 for the newest. */
static ch_status driveline_page(web_request *request, web_response *response, const ch_store_car *car,
                                const char *alert, refused_form refused, int64_t asked, ch_err *err)
{
    html_writer *w = &response->page;
    const ch_store_run *runs = NULL;
    const char *drivetrain = NULL;
    size_t count = 0;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = ch_store_runs(request->store, &request->pool, car->id, &runs, &count, err);
    if (rc >= 0)
        rc = ch_store_drivetrain_get(request->store, &request->pool, car->id, &drivetrain, err);
    if (rc < 0)
        return rc;
    int64_t shown = count > 0 ? runs[0].id : 0;
    for (size_t i = 0; i < count; i++)
        shown = runs[i].id == asked ? asked : shown;
    open_page(request, response, car, "Does the clutch slip?");
    const bool of_run = alert != NULL && refused == REFUSED_RUN, typed = alert != NULL && refused == REFUSED_CAR;
    piece_alert(w, of_run ? NULL : alert);
    if (count == 0)
        html_lit(w,
                 "<p>Send a logged run of engine speed and road speed. It finds the gears by itself, tells a slipping "
                 "clutch from "
                 "wheelspin, shifts and slow signals, and says how much the clutch holds and why it may slip.</p>\n");
    else if (alert == NULL || of_run)
        rc = write_run(w, request, know, shown, alert, err);
    folded(w, count == 0 || (alert != NULL && refused == REFUSED_LOG),
           count == 0 ? "A logged run" : "Another logged run");
    drive_form_upload(w, request, car);
    html_lit(w, "</details>\n");
    folded(w, typed, "What is known of the car");
    drive_form_car(w, request, car, drivetrain);
    html_lit(w, "</details>\n");
    write_list(w, runs, count, shown);
    html_page_close(w);
    return rc;
}

ch_status page_driveline_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    return driveline_page(request, response, car, NULL, REFUSED_LOG, piece_id(&request->query, "run"), err);
}

/* ---------------------------------------------------------------- a log */

static ch_status columns_page(web_request *request, web_response *response, const ch_store_car *car, const drive_log *d,
                              const char *alert)
{
    open_page(request, response, car, "Which column is which?");
    piece_alert(&response->page, alert);
    drive_form_columns(&response->page, request, car, d);
    html_page_close(&response->page);
    return CH_OK;
}

/* Judge what is in d, and lead to the run, to the choice of columns, or back. */
static ch_status judge(web_request *request, web_response *response, const ch_store_car *car, drive_log *d, ch_err *err)
{
    ch_err own = {0};
    char line[PIECE_LINE];
    int64_t run_id = 0;
    ch_status rc = drive_log_judge(request, d, &run_id, &own);
    if (rc >= 0)
        return to_run(response, car->id, run_id);
    const bool columns = d->reader != NULL && ch_drivelog_report_of(d->reader)->columns_n > 1;
    drive_form_say(&own, columns);
    if (!piece_refused(rc, &own, response, line, err))
        return rc;
    return columns ? columns_page(request, response, car, d, line)
                   : driveline_page(request, response, car, line, REFUSED_LOG, 0, err);
}

ch_status page_driveline_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    drive_log d = {.know = know_get(err), .car_id = car->id};
    if (d.know == NULL)
        return CH_E_IO;
    rc = piece_day(request, "day", "Day of driving", &d.day, &own);
    if (rc >= 0)
        rc = kept_log_sent(request, web_field_find(&request->form, "log"), &d.log, &own);
    if (piece_refused(rc, &own, response, line, err))
        return driveline_page(request, response, car, line, REFUSED_LOG, 0, err);
    if (rc < 0)
        return rc;
    kept_log_keep(&d.log);
    rc = judge(request, response, car, &d, err);
    drive_log_clear(&d);
    return rc;
}

/* A log that is no longer here has to be sent again. */
static ch_status gone(web_request *request, web_response *response, const ch_store_car *car, ch_err *err)
{
    response->status = 404;
    return driveline_page(request, response, car, "The log is no longer here: please send it again.", REFUSED_LOG, 0,
                          err);
}

ch_status page_driveline_columns_get(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    drive_log d = {.know = know_get(err), .car_id = car->id};
    const char *day = web_value(&request->query, "day");
    if (d.know == NULL)
        return CH_E_IO;
    if (day != NULL && ch_date_parse(day, strlen(day), &d.day, NULL) < 0)
        d.day = (ch_date){0};
    if (!kept_log_find(request, web_value(&request->query, "log"), &d.log))
        return gone(request, response, car, err);
    rc = drive_log_look(&d, err);
    if (rc >= 0)
        rc = columns_page(request, response, car, &d, NULL);
    drive_log_clear(&d);
    close(d.log.descriptor);
    return rc;
}

ch_status page_driveline_columns_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_status rc;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    drive_log d = {.know = know_get(err), .car_id = car->id};
    if (d.know == NULL)
        return CH_E_IO;
    if (!kept_log_find(request, web_value(&request->form, "log"), &d.log))
        return gone(request, response, car, err);
    ch_err own = {0};
    char line[PIECE_LINE];
    drive_form_columns_read(request, &d);
    rc = piece_day(request, "day", "Day of driving", &d.day, &own);
    if (piece_refused(rc, &own, response, line, err))
        rc = driveline_page(request, response, car, line, REFUSED_LOG, 0, err);
    else if (rc >= 0)
        rc = judge(request, response, car, &d, err);
    drive_log_clear(&d);
    close(d.log.descriptor);
    return rc;
}

ch_status page_driveline_car_post(web_request *request, web_response *response, ch_err *err)
{
    const ch_store_car *car = NULL;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc;
    ch_text text;
    if (!piece_car(request, response, &car, &rc, err))
        return rc;
    ch_text_init(&text, CH_STORE_DRIVETRAIN_MAX);
    rc = drive_form_car_read(request, &text, &own);
    if (rc >= 0)
        rc = ch_store_drivetrain_set(request->store, car->id, text.length > 0 ? ch_text_string(&text) : NULL,
                                     request->now_s, &own);
    ch_text_clear(&text);
    if (piece_refused(rc, &own, response, line, err))
        return driveline_page(request, response, car, line, REFUSED_CAR, 0, err);
    return rc < 0 ? rc : web_redirect(response, "/car/%lld/driveline", (long long)car->id);
}

/* ---------------------------------------------------------------- what is done with a run */

static ch_status see(web_request *request, const web_know *know, ch_store_run *run, ch_err *err)
{
    ch_store_run_sign sign[CH_CAR_OBSERVED_MAX];
    size_t n = 0;
    for (size_t s = 0; s < know->clutch.signs_n && n < CH_CAR_OBSERVED_MAX; s++) {
        char field[64];
        snprintf(field, sizeof field, "sign_%.50s", know->clutch.signs[s].id);
        const char *value = web_value(&request->form, field);
        if (value != NULL)
            sign[n++] = (ch_store_run_sign){.sign = know->clutch.signs[s].id,
                                            .present = strcmp(value, "yes") == 0  ? 1
                                                       : strcmp(value, "no") == 0 ? 0
                                                                                  : -1};
    }
    ch_store_run_sign all[2 * CH_CAR_OBSERVED_MAX];
    size_t kept = 0;
    for (size_t i = 0; i < run->signs && kept < CH_CAR_OBSERVED_MAX; i++) {
        bool anew = false;
        for (size_t k = 0; k < n; k++)
            anew = anew || strcmp(sign[k].sign, run->sign[i].sign) == 0;
        if (!anew)
            all[kept++] = run->sign[i];
    }
    for (size_t k = 0; k < n; k++)
        if (sign[k].present >= 0)
            all[kept++] = sign[k];
    run->sign = all;
    run->signs = kept;
    weigh(know, run);
    return ch_store_run_see(request->store, run->id, sign, n, run->driveline.cause_1, request->now_s, err);
}

ch_status page_run_post(web_request *request, web_response *response, ch_err *err)
{
    ch_store_run run;
    ch_err own = {0};
    ch_date day;
    const web_know *know = know_get(err);
    const int64_t id = web_part_id(request, 0);
    const char *what = piece_given(&request->form, "do");
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = id > 0 ? ch_store_run_load(request->store, &request->pool, id, &run, &own) : CH_E_INPUT;
    if (rc == CH_E_INPUT || what == NULL)
        return web_not_found(request, response);
    if (rc < 0)
        return ch_fail(err, rc, NULL, "%s", own.what);
    const int64_t car_id = run.car_id;
    if (strcmp(what, "delete") == 0) {
        rc = ch_store_run_delete(request->store, id, request->now_s, err);
        return rc < 0 ? rc : web_redirect(response, "/car/%lld/driveline", (long long)car_id);
    }
    if (strcmp(what, "change") == 0) {
        char line[PIECE_LINE];
        const ch_store_car *car = NULL;
        rc = piece_day(request, "driven", "Day of driving", &day, &own);
        if (rc >= 0)
            rc =
                ch_store_run_change(request->store, id, day, piece_given(&request->form, "note"), request->now_s, &own);
        if (piece_refused(rc, &own, response, line, err)) {
            rc = piece_car_find(request, car_id, &car, err);
            if (rc < 0)
                return rc;
            return car == NULL ? web_not_found(request, response)
                               : driveline_page(request, response, car, line, REFUSED_RUN, id, err);
        }
    } else if (strcmp(what, "see") == 0) {
        rc = see(request, know, &run, err);
    } else {
        return web_not_found(request, response);
    }
    return rc < 0 ? rc : to_run(response, car_id, id);
}

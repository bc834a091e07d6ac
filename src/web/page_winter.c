/*
 * GET /car/ID/winter: the plan of this off-season: what to do, when, and why; the form that it is made from. Query: sheet=N suggests jobs by what that
 * sheet found.
 * POST: do = plan (the form of winter_form.h), done (hours and money spent, what is done) or over (the next winter begins).
 */
#include <limits.h>
#include <string.h>

#include "page.h"
#include "piece.h"
#include "winter_answer.h"
#include "winter_form.h"
#include "winter_work.h"

enum { SEED = 1 }; /* as the terminal's */

static void downloads(html_writer *w, const winter_kept *kept)
{
    static const char *const files[][2] = {{"plan.pdf", "Print (PDF)"},        {"calendar.ics", "Calendar (iCalendar)"},
                                           {"calendar.csv", "Calendar (CSV)"}, {"shopping.csv", "Shopping list (CSV)"},
                                           {"plan.html", "Print (HTML)"},      {"plan.yaml", "The plan itself (YAML)"}};
    html_lit(w, "<h2>To take along</h2><p class=\"row no-print\">\n");
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        html_lit(w, "<a class=\"button second\"");
        html_attrf(w, "href", "/car/%lld/winter/%s", (long long)kept->car->id, files[i][0]);
        html_lit(w, ">");
        html_text(w, files[i][1]);
        html_lit(w, "</a>\n");
    }
    html_lit(w, "</p>\n");
}

/* ---------------------------------------------------------------- what it rests on, and what it leaves out */

static void sheet_link(html_writer *w, const winter_kept *kept, int64_t sheet, const char *words)
{
    html_lit(w, "<a");
    html_attrf(w, "href", "/car/%lld/winter?sheet=%lld", (long long)kept->car->id, (long long)sheet);
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</a>");
}

static ch_status basis(html_writer *w, web_request *request, const winter_kept *kept, ch_err *err)
{
    ch_status rc = CH_OK;
    char name[WINTER_TITLE], day[16];
    ch_store_sheet sheet;
    html_lit(w, "<p class=\"hint\">Suggestions rest on ");
    if (kept->sheet != 0) {
        rc = ch_store_sheet_get(request->store, &request->pool, kept->sheet, &sheet, err);
        if (rc >= 0)
            rc = piece_sheet_name(request, &sheet, name, sizeof name, err);
        if (rc < 0)
            return rc;
        html_lit(w, "the sheet <a");
        html_attrf(w, "href", "/sheet/%lld/findings", (long long)kept->sheet);
        html_lit(w, ">");
        html_text(w, name);
        html_lit(w, "</a>");
    } else {
        html_lit(w, "no test sheet");
    }
    if (kept->run != 0) {
        ch_date_format(kept->run_day, day, sizeof day);
        html_lit(w, " and on the <a");
        html_attrf(w, "href", "/car/%lld/driveline?run=%lld", (long long)kept->car->id, (long long)kept->run);
        html_lit(w, ">");
        html_textf(w, "logged run%s%s", day[0] != '\0' ? " of " : "", day);
        html_lit(w, "</a>.");
    } else {
        html_lit(w, "; no run of the clutch is logged.");
    }
    if (kept->newest != 0 && kept->sheet != kept->newest) {
        html_lit(w, " A newer sheet is not counted: ");
        sheet_link(w, kept, kept->newest, "suggest by that one");
        html_lit(w, ".");
    }
    html_lit(w, "</p>\n");
    return CH_OK;
}

/* The job, or one that is done in its place, stands in the plan. */
static bool is_planned(const winter_kept *kept, size_t job)
{
    const ch_jobs *jobs = &kept->know->jobs;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        if ((i == job || winter_one_way(kept, i, job)) && winter_item(kept, jobs->jobs[i].work.id, CH_PLAN_JOB) != NULL)
            return true;
    }
    return false;
}

/* What was found and is in no job of the plan: it says nothing of that by itself. */
static void left_out(html_writer *w, const winter_kept *kept)
{
    bool any = false;
    for (size_t i = 0; i < kept->suggestions; i++) {
        const ch_suggestion *one = &kept->suggestion[i];
        if (!(one->avoided > 0) || is_planned(kept, one->job))
            continue;
        if (!any)
            html_lit(w,
                     "<section class=\"caution\" aria-labelledby=\"found\"><h2 id=\"found\">Suggested, and not in this "
                     "plan</h2><ul>\n");
        any = true;
        html_lit(w, "<li><strong>");
        html_text(w, kept->know->jobs.jobs[one->job].work.title);
        html_lit(w, "</strong>: ");
        html_text(w, one->reason);
        html_lit(w, "</li>\n");
    }
    if (!any)
        return;
    html_lit(w, "</ul><p>");
    if (kept->sheet != 0)
        sheet_link(w, kept, kept->sheet, "Tick what was found");
    else
        html_lit(w, "Tick it under Change the plan");
    html_lit(w, ", or leave it out knowingly.</p></section>\n");
}

/* Of two ways to do one thing that both stand in the plan, which one counts. */
static void ways_that_count(html_writer *w, const winter_kept *kept, const bool chosen[])
{
    const ch_jobs *jobs = &kept->know->jobs;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        const ch_plan_item *taken = winter_item(kept, jobs->jobs[i].work.id, CH_PLAN_JOB);
        for (size_t k = 0; k < jobs->jobs_count && taken != NULL && chosen[taken - kept->plan.items]; k++) {
            if (!winter_one_way(kept, i, k) || winter_item(kept, jobs->jobs[k].work.id, CH_PLAN_JOB) == NULL)
                continue;
            html_lit(w, "<p class=\"notice\">Both are ticked, and only one of them is done. What counts is <strong>");
            html_text(w, jobs->jobs[i].work.title);
            html_lit(w, "</strong>; left out is ");
            html_text(w, jobs->jobs[k].work.title);
            html_lit(w, ". To have it the other way round, untick the first under Change the plan.</p>\n");
        }
    }
}

/* Parts over their limit, or over it by the event's end, that no job of the plan renews: Ready will say so on the day. */
static void due_left_out(html_writer *w, const winter_kept *kept, const bool chosen[])
{
    const ch_jobs *jobs = &kept->know->jobs;
    bool any = false;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        char due[CH_SHOW_SENTENCE];
        const ch_plan_item *item = winter_item(kept, jobs->jobs[i].work.id, CH_PLAN_JOB);
        if (!jobs->jobs[i].work.drives[kept->drive] || !winter_due(kept, i, due) ||
            (item != NULL && chosen[item - kept->plan.items]))
            continue;
        if (!any)
            html_lit(w, "<section class=\"caution\" aria-labelledby=\"due\"><h2 id=\"due\">Due, and not done by this "
                        "plan</h2><ul>\n");
        any = true;
        html_lit(w, "<li><strong>");
        html_text(w, jobs->jobs[i].work.title);
        html_lit(w, "</strong>: ");
        html_text(w, due);
        html_lit(w, "</li>\n");
    }
    if (any)
        html_lit(w, "</ul><p>The car is not ready with them. Tick them, and that they must be done, under Change the "
                    "plan.</p></section>\n");
}

/* ---------------------------------------------------------------- events while the car stands apart */

/* Days of an item's entries of a kind; false where it has none. */
static bool days_of(const ch_plan *plan, const ch_calendar *calendar, size_t item, ch_entry_kind kind, long *first,
                    long *last)
{
    bool any = false;
    for (size_t i = 0; i < calendar->count; i++) {
        const ch_calendar_entry *entry = &calendar->entries[i];
        if (entry->item != item || entry->kind != kind)
            continue;
        const long day = entry->day != SIZE_MAX ? ch_date_days(plan->days[entry->day].date) : LONG_MAX;
        *first = any ? *first : day;
        *last = day;
        any = true;
    }
    return any;
}

/* Something is open on that day, or a job half done. */
static bool stands_apart(const ch_plan *plan, const ch_winter *winter, long day)
{
    for (size_t i = 0; i < plan->items_count; i++) {
        const ch_plan_item *item = &plan->items[i];
        long from = LONG_MIN, to = LONG_MIN, unused = 0;
        if (!winter->chosen[i])
            continue;
        if (item->kind == CH_PLAN_JOB) {
            if (days_of(plan, &winter->calendar, i, CH_ENTRY_JOB, &from, &to) && from != to && from <= day && day <= to)
                return true;
            continue;
        }
        if (!item->done && item->done_us == 0)
            days_of(plan, &winter->calendar, i, CH_ENTRY_OPEN, &from, &unused);
        if (days_of(plan, &winter->calendar, i, CH_ENTRY_CLOSE, &unused, &to) && from <= day && day <= to)
            return true;
    }
    return false;
}

static ch_status events_apart(html_writer *w, web_request *request, const winter_kept *kept, const ch_winter *winter,
                              ch_err *err)
{
    const ch_store_event *events = NULL;
    size_t count = 0;
    bool any = false;
    const ch_status rc = ch_store_events(request->store, &request->pool, kept->car->id, &events, &count, err);
    for (size_t i = 0; rc >= 0 && kept->plan.has_days && i < count; i++) {
        char day[16];
        const long on = ch_date_days(events[i].day);
        if (on < ch_date_days(piece_today(request->now_s)) || !stands_apart(&kept->plan, winter, on))
            continue;
        if (!any)
            html_lit(w, "<section class=\"caution\" aria-labelledby=\"apart\"><h2 id=\"apart\">The car stands apart "
                        "on the day of an event</h2><ul>\n");
        any = true;
        ch_date_format(events[i].day, day, sizeof day);
        html_lit(w, "<li>");
        html_textf(w, "%s on %s", events[i].name, day);
        html_lit(w, "</li>\n");
    }
    if (any)
        html_lit(w, "</ul><p>To drive there, take the days before it out of the list, or be ready for it: its day "
                    "under Change the plan, Ready for.</p></section>\n");
    return rc;
}

/* `alert`: why the form of what is done was refused. */
static ch_status answer(html_writer *w, web_request *request, const winter_kept *kept, const char *alert, ch_err *err)
{
    ch_winter winter;
    const ch_status rc = ch_winter_answer(&kept->plan, SEED, &winter, err);
    if (rc < 0)
        return rc;
    ch_status done = winter.choice.feasible ? events_apart(w, request, kept, &winter, err) : CH_OK;
    left_out(w, kept);
    due_left_out(w, kept, winter.chosen);
    if (winter.choice.feasible)
        ways_that_count(w, kept, winter.chosen);
    winter_answer_write(w, kept, &winter);
    if (!winter.choice.feasible)
        piece_alert(w, alert);
    winter_spent_write(w, kept, winter.chosen);
    if (done >= 0 && winter.choice.feasible) {
        done = winter_done_write(w, request, kept, winter.chosen, alert, err);
        downloads(w, kept);
    }
    ch_winter_clear(&winter);
    return done;
}

static ch_status winter_page(web_request *request, web_response *response, const winter_kept *kept, const char *alert,
                             ch_err *err)
{
    html_writer *w = &response->page;
    ch_status rc = CH_OK;
    html_page_open(w, request, "Winter work");
    html_lit(w,
             "<link rel=\"stylesheet\" href=\"/asset/garage.css\"><link rel=\"stylesheet\" href=\"/asset/winter.css\">"
             "<p><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld", (long long)kept->car->id);
    html_lit(w, ">");
    html_text(w, kept->car->name);
    html_lit(w, "</a></p>\n");
    const char *what = piece_typed(request, "do", "");
    const bool of_done = kept->any && strcmp(what, "done") == 0, of_over = strcmp(what, "over") == 0;
    const bool of_plan = alert != NULL && !of_done && !of_over;
    piece_alert(w, of_over ? alert : NULL);
    rc = basis(w, request, kept, err);
    if (rc >= 0 && kept->any)
        rc = answer(w, request, kept, of_done ? alert : NULL, err);
    else
        html_lit(w, "<p>What comes apart once should come apart for everything that is due. Say what time and money "
                    "there is and what could be "
                    "done; the plan chooses and puts it on your days.</p>\n");
    if (kept->any) {
        html_lit(w, "<details");
        html_attr_if(w, "open", kept->fresh || of_plan);
        html_lit(w, "><summary>Change the plan</summary>\n");
    }
    winter_form_write(w, request, kept, of_plan ? alert : NULL);
    if (kept->any)
        html_lit(w, "</details>\n");
    winter_over_write(w, request, kept);
    html_page_close(w);
    return rc;
}

ch_status page_winter_get(web_request *request, web_response *response, ch_err *err)
{
    winter_kept kept;
    ch_status rc = winter_load(request, &kept, err);
    if (rc < 0)
        return rc;
    rc = kept.car == NULL ? web_not_found(request, response) : winter_page(request, response, &kept, NULL, err);
    winter_clear(&kept);
    return rc;
}

ch_status page_winter_post(web_request *request, web_response *response, ch_err *err)
{
    winter_kept kept;
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_status rc = winter_load(request, &kept, err);
    if (rc < 0)
        return rc;
    if (kept.car == NULL || !piece_does(request, "plan done over")) {
        rc = web_not_found(request, response);
    } else {
        rc = piece_does(request, "done")   ? winter_done_keep(request, &kept, &own)
             : piece_does(request, "over") ? winter_over_keep(request, &kept, &own)
                                           : winter_form_keep(request, &kept, &own);
        if (piece_refused(rc, &own, response, line, err))
            rc = winter_page(request, response, &kept, line, err);
        else if (rc >= 0)
            rc = web_redirect(response, "/car/%lld/winter", (long long)kept.car->id);
    }
    winter_clear(&kept);
    return rc;
}

/* Writing the form of a winter plan. */
#include "winter_form.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "piece.h"

static const char *const week[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};

void winter_number(int64_t count, int64_t one, char text[WINTER_NUMBER])
{
    char number[CH_SHOW_NUMBER];
    ch_show_number((double)count / (double)one, 3, number);
    size_t length = strlen(number);
    while (length > 1 && number[length - 1] == '0')
        length--;
    if (number[length - 1] == '.')
        length--;
    snprintf(text, WINTER_NUMBER, "%.*s", (int)length, number);
}

void winter_hours(const ch_work_guess *guess, char text[WINTER_HOURS])
{
    char least[WINTER_NUMBER], likely[WINTER_NUMBER], most[WINTER_NUMBER];
    winter_number(guess->least_us, CH_WORK_HOUR, least);
    winter_number(guess->likely_us, CH_WORK_HOUR, likely);
    winter_number(guess->most_us, CH_WORK_HOUR, most);
    if (guess->least_us == guess->most_us)
        snprintf(text, WINTER_HOURS, "%s", likely);
    else
        snprintf(text, WINTER_HOURS, "%s %s %s", least, likely, most);
}

const char *winter_key(const ch_plan_item *item, const char *what, char key[WINTER_KEY])
{
    snprintf(key, WINTER_KEY, "%c.%.64s%s", item->kind == CH_PLAN_ACCESS ? 'a' : 'j', item->name, what);
    return key;
}

/* ---------------------------------------------------------------- the frame */

static void number_field(html_writer *w, const web_request *request, const char *label, const char *name,
                         const char *value, const char *hint)
{
    piece_field(
        w,
        &(piece_input){
            .label = label, .name = name, .value = piece_typed(request, name, value), .hint = hint, .mode = "decimal"});
}

static void date_field(html_writer *w, const web_request *request, const char *label, const char *name, ch_date date,
                       const char *hint)
{
    char day[16];
    ch_date_format(date, day, sizeof day);
    piece_field(
        w, &(piece_input){
               .label = label, .name = name, .value = piece_typed(request, name, day), .hint = hint, .type = "date"});
}

static void write_days(html_writer *w, const web_request *request, const winter_kept *kept)
{
    ch_text days;
    ch_text_init(&days, 64 * 1024);
    for (size_t i = 0; i < kept->plan.days_count; i++) {
        char day[16], hours[WINTER_NUMBER];
        ch_date_format(kept->plan.days[i].date, day, sizeof day);
        winter_number(kept->plan.days[i].work_us, CH_WORK_HOUR, hours);
        ch_text_appendf(&days, "%s %s\n", day, hours);
    }
    if (days.status != CH_OK)
        html_fail(w, days.status);
    html_lit(w, "<fieldset><legend>Your evenings and weekends</legend>"
                "<p class=\"hint\">Hours that you have on each day of the week, from today until the event. They "
                "replace the list "
                "below.</p><div class=\"week\">");
    for (size_t i = 0; i < sizeof week / sizeof week[0]; i++) {
        char name[8];
        snprintf(name, sizeof name, "w%zu", i);
        const char *usual = kept->any ? NULL : i == 5 ? "6" : i == 6 ? "4" : NULL;
        html_lit(w, "<div>");
        number_field(w, request, week[i], name, usual, NULL);
        html_lit(w, "</div>");
    }
    html_lit(w, "</div>");
    piece_field(w, &(piece_input){.label = "Day by day",
                                  .name = "days",
                                  .value = piece_typed(request, "days", ch_text_string(&days)),
                                  .hint = "a line each: 2027-01-09 6",
                                  .area = true});
    html_lit(w, "</fieldset>\n");
    ch_text_clear(&days);
}

/* What the plan can hold of an owner's figure. */
static ch_money money_of(double amount)
{
    static const double most = 1e6; /* an hour's worth in a plan */
    return llround(fmin(amount, most) * (double)CH_MONEY_ONE);
}

static void write_frame(html_writer *w, const web_request *request, const winter_kept *kept)
{
    char number[WINTER_NUMBER] = "";
    const ch_plan *plan = &kept->plan;
    const char *currency = kept->currency;
    char budget[64], hour[64];
    snprintf(budget, sizeof budget, "%.16s; empty = no limit", currency);
    snprintf(hour, sizeof hour, "%.16s", currency);
    date_field(w, request, "Ready for", "until", plan->until, "the day of the event; work may go on until then");
    date_field(w, request, "Parts are ordered on", "today",
               kept->any && plan->own_today ? plan->today : piece_today(request->now_s), NULL);
    if (kept->any && !plan->no_budget)
        winter_number(plan->budget, CH_MONEY_ONE, number);
    number_field(w, request, "Money for parts", "budget", number, budget);
    if (kept->any)
        winter_number(plan->hours_value, CH_MONEY_ONE, number);
    else
        winter_number(money_of(kept->assumptions.of[CH_ASSUME_HOUR_VALUE].usual), CH_MONEY_ONE, number);
    piece_alert_beside_field(w, kept->figures[0] != '\0' ? kept->figures : NULL);
    number_field(w, request, "What an hour is worth to you", "hours_value", number, hour);
    html_lit(w, "<fieldset><legend>Driven wheels</legend>");
    const char *drive = piece_typed(request, "drive", ch_drive_name(kept->drive));
    piece_choice(w, "drive", "rear", "Rear", drive);
    piece_choice(w, "drive", "front", "Front", drive);
    html_lit(w, "</fieldset>\n");
    write_days(w, request, kept);
}

/* ---------------------------------------------------------------- jobs */

/* Whether the box of this name and value is ticked: as typed where a form was refused. */
static bool ticked(const web_request *request, const char *name, const char *value, bool stored)
{
    if (!request->post)
        return stored;
    for (size_t i = 0; i < request->form.count; i++)
        if (strcmp(request->form.list[i].name, name) == 0 && strcmp(request->form.list[i].value, value) == 0)
            return true;
    return false;
}

static void box(html_writer *w, const web_request *request, const char *name, const char *value, bool stored,
                const char *words)
{
    html_lit(w, "<label class=\"choice\"><input type=\"checkbox\"");
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_attr_if(w, "checked", ticked(request, name, value, stored));
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</label>\n");
}

/* Whether the field was sent, and refused with the rest, with something else than the page had in it. */
static bool changed(const web_request *request, const char *name, const char *stored)
{
    return strcmp(piece_typed(request, name, stored), stored) != 0;
}

static bool figures_changed(const web_request *request, const ch_plan_item *item)
{
    char key[WINTER_KEY], number[WINTER_NUMBER], hours[WINTER_HOURS], refit[WINTER_HOURS], parts[WINTER_NUMBER];
    winter_number(item->avoided, CH_MONEY_ONE, number);
    winter_hours(&item->guessed, hours);
    winter_hours(&item->refit, refit);
    winter_number(item->parts, CH_MONEY_ONE, parts);
    return changed(request, winter_key(item, ".avoided", key), number) ||
           changed(request, winter_key(item, ".hours", key), hours) ||
           changed(request, winter_key(item, ".refit", key), refit) ||
           changed(request, winter_key(item, ".parts", key), parts);
}

/* The numbers of an item, each to be changed; open where what was typed in them was refused. */
static void figures(html_writer *w, const web_request *request, const winter_kept *kept, const ch_plan_item *item)
{
    char key[WINTER_KEY], number[WINTER_NUMBER], hours[WINTER_HOURS];
    html_lit(w, "<details class=\"figures\"");
    html_attr_if(w, "open", figures_changed(request, item));
    html_lit(w, "><summary><span class=\"visually-hidden\">");
    html_text(w, ch_show_plan_item(item));
    html_lit(w, ": </span>Numbers</summary>");
    if (item->kind == CH_PLAN_JOB) {
        winter_number(item->avoided, CH_MONEY_ONE, number);
        number_field(w, request, "Having it done saves", winter_key(item, ".avoided", key), number, kept->currency);
    }
    winter_hours(&item->guessed, hours);
    number_field(w, request, item->kind == CH_PLAN_JOB ? "Hours" : "Hours to open", winter_key(item, ".hours", key),
                 hours, "one number, or least, likely, most: 0.5 1 2");
    if (item->kind == CH_PLAN_ACCESS) {
        winter_hours(&item->refit, hours);
        number_field(w, request, "Hours to close", winter_key(item, ".refit", key), hours, NULL);
    }
    winter_number(item->parts, CH_MONEY_ONE, number);
    number_field(w, request, "Parts", winter_key(item, ".parts", key), number, kept->currency);
    if (item->kind == CH_PLAN_JOB)
        box(w, request, "must", item->name, item->must, "Must be done");
    html_lit(w, "</details>\n");
}

/* The job on what a car has in place of what this one is done on; SIZE_MAX = there is none. */
static size_t in_its_place(const winter_kept *kept, size_t place)
{
    const ch_jobs *jobs = &kept->know->jobs;
    for (size_t i = 0; i < jobs->jobs_count; i++)
        if (ch_job_car_has_one(jobs, place, i) && jobs->jobs[i].work.drives[kept->drive])
            return i;
    return SIZE_MAX;
}

/* A job in the plan, or suggested for it. */
static void one_job(html_writer *w, const web_request *request, const winter_kept *kept, size_t place)
{
    const ch_job *job = &kept->know->jobs.jobs[place];
    const ch_plan_item *item = winter_item(kept, job->work.id, CH_PLAN_JOB);
    const ch_suggestion *suggestion = winter_suggested(kept, place);
    const size_t other = in_its_place(kept, place);
    html_lit(w, "<div class=\"card\">");
    box(w, request, "in", job->work.id,
        item != NULL || (kept->fresh && other == SIZE_MAX && suggestion != NULL && suggestion->avoided > 0),
        job->work.title);
    html_lit(w, "<p class=\"hint\">");
    if (other != SIZE_MAX)
        html_textf(w, "No car has both this and \"%s\": tick the one that yours has. ",
                   kept->know->jobs.jobs[other].work.title);
    html_text(w, suggestion != NULL ? suggestion->reason : job->work.why);
    html_lit(w, "</p>");
    ch_plan_item shown = {.name = job->work.id, .title = job->work.title, .kind = CH_PLAN_JOB};
    ch_draft draft = {0};
    const ch_status drafted =
        item == NULL ? ch_draft_plan(&kept->know->jobs, kept->drive, &place, 1, 0, &draft, NULL) : CH_OK;
    if (drafted == CH_E_MEMORY)
        html_fail(w, drafted);
    if (item != NULL) {
        shown = *item;
    } else if (drafted >= 0) {
        for (size_t i = draft.plan.access_count; i < draft.plan.items_count; i++)
            if (strcmp(draft.items[i].name, job->work.id) == 0)
                shown = draft.items[i];
        shown.avoided =
            suggestion != NULL ? (ch_money)(suggestion->avoided + 0.5) * CH_MONEY_ONE : 0; /* a guess in whole ones */
    }
    figures(w, request, kept, &shown);
    ch_draft_clear(&draft);
    html_lit(w, "</div>\n");
}

static void known_jobs(html_writer *w, const web_request *request, const winter_kept *kept)
{
    const ch_jobs *jobs = &kept->know->jobs;
    bool shown[CH_JOBS_MAX] = {false};
    for (size_t i = 0; i < kept->suggestions; i++) {
        if (i == 0)
            html_lit(w, "<h3>Suggested by what was found</h3>\n");
        shown[kept->suggestion[i].job] = true;
        one_job(w, request, kept, kept->suggestion[i].job);
    }
    bool any = false;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        if (shown[i] || winter_item(kept, jobs->jobs[i].work.id, CH_PLAN_JOB) == NULL)
            continue;
        if (!any)
            html_lit(w, "<h3>In the plan</h3>\n");
        any = shown[i] = true;
        one_job(w, request, kept, i);
    }
    html_lit(w, "<details");
    html_attr_if(w, "open", request->post);
    html_lit(w, "><summary>Other jobs of a winter</summary>\n");
    for (size_t i = 0; i < jobs->jobs_count; i++)
        if (!shown[i] && jobs->jobs[i].work.drives[kept->drive])
            box(w, request, "in", jobs->jobs[i].work.id, false, jobs->jobs[i].work.title);
    html_lit(w, "</details>\n");
}

static void own_jobs(html_writer *w, const web_request *request, const winter_kept *kept)
{
    for (size_t i = kept->plan.access_count; i < kept->plan.items_count; i++) {
        const ch_plan_item *item = &kept->plan.items[i];
        if (ch_job_find(&kept->know->jobs, item->name, strlen(item->name)) != NULL)
            continue;
        html_lit(w, "<div class=\"card\">");
        box(w, request, "own", item->name, true, ch_show_plan_item(item));
        figures(w, request, kept, item);
        html_lit(w, "</div>\n");
    }
    html_lit(w, "<details");
    html_attr_if(w, "open",
                 changed(request, "new.title", "") || changed(request, "new.hours", "") ||
                     changed(request, "new.parts", "") || changed(request, "new.avoided", ""));
    html_lit(w, "><summary>A job of your own</summary>");
    piece_field(w,
                &(piece_input){.label = "What", .name = "new.title", .value = piece_typed(request, "new.title", NULL)});
    number_field(w, request, "Hours", "new.hours", NULL, "one number, or least, likely, most");
    number_field(w, request, "Parts", "new.parts", NULL, kept->currency);
    number_field(w, request, "Having it done saves", "new.avoided", NULL, kept->currency);
    html_lit(w, "</details>\n");
}

void winter_form_write(html_writer *w, web_request *request, const winter_kept *kept, const char *alert)
{
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "do", "plan");
    if (kept->sheet > 0)
        piece_hidden_number(w, "sheet", kept->sheet);
    write_frame(w, request, kept);
    html_lit(
        w,
        "<h2>Jobs</h2><p class=\"hint\">Tick what could be done. The plan chooses from these what is worth most within "
        "hours and money. Numbers are first guesses, yours to change.");
    if (strcmp(kept->currency, kept->know->jobs.currency) != 0)
        html_textf(w, " Prices among them are in %s until you change them.", kept->know->jobs.currency);
    html_lit(w, "</p>\n");
    known_jobs(w, request, kept);
    own_jobs(w, request, kept);
    if (kept->plan.access_count > 0) {
        bool open = false;
        for (size_t i = 0; i < kept->plan.access_count; i++)
            open = open || figures_changed(request, &kept->plan.items[i]);
        html_lit(w, "<details");
        html_attr_if(w, "open", open);
        html_lit(w, "><summary>Access work: numbers</summary>");
        for (size_t i = 0; i < kept->plan.access_count; i++) {
            html_lit(w, "<h3>");
            html_text(w, ch_show_plan_item(&kept->plan.items[i]));
            html_lit(w, "</h3>");
            figures(w, request, kept, &kept->plan.items[i]);
        }
        html_lit(w, "</details>\n");
    }
    piece_button(w, NULL, NULL, "wide", "Plan the work");
    html_form_close(w);
}

/* A number field whose label an item's title completes for those who do not see the card. */
static void more_field(html_writer *w, const web_request *request, const char *label, const char *what,
                       const ch_plan_item *item)
{
    char key[WINTER_KEY];
    number_field(w, request, label, winter_key(item, what, key), NULL, NULL);
}

ch_status winter_done_write(html_writer *w, web_request *request, const winter_kept *kept, const bool chosen[],
                            const char *alert, ch_err *err)
{
    char money[64];
    snprintf(money, sizeof money, "%.16s paid since", kept->currency);
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Note what is done so far, all at once</summary>");
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    const ch_status rc = piece_entry(w, err);
    piece_hidden(w, "do", "done");
    for (size_t i = 0; i < kept->plan.items_count; i++) {
        const ch_plan_item *item = &kept->plan.items[i];
        char key[WINTER_KEY], label[WINTER_TITLE];
        if (!chosen[i])
            continue;
        html_lit(w, "<div class=\"card\">");
        snprintf(label, sizeof label, "%s%.120s",
                 item->kind == CH_PLAN_ACCESS ? "It is open: " : "Done: ", ch_show_plan_item(item));
        box(w, request, "done", winter_key(item, "", key), item->done, label);
        more_field(w, request, "Hours spent since", ".spent", item);
        more_field(w, request, money, ".paid", item);
        html_lit(w, "</div>\n");
    }
    piece_button(w, NULL, NULL, "wide", "Plan again from here");
    html_form_close(w);
    html_lit(w, "</details>\n");
    return rc;
}

void winter_over_write(html_writer *w, web_request *request, const winter_kept *kept)
{
    if (!kept->any)
        return;
    html_lit(w,
             "<details><summary>This winter is over</summary><p>The plan is put away and the next one begins with an "
             "empty list. What was done, spent and photographed stays.</p>\n");
    html_form_open(w, request, request->path, false);
    piece_button(w, "do", "over", "danger", "Put this plan away");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

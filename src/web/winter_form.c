/* Writing the form of a winter plan. */
#include "winter_form.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "piece.h"

static const char OWN[] = "own_"; /* with a number: the name of a job of one's own */

enum { BESIDE_MAX = 64 * 1024 };

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

/* The value of the field as it was sent; NULL where the form was another one, or had no such field. */
static const char *sent(const web_request *request, const char *name)
{
    return piece_does(request, "plan") ? web_value(&request->form, name) : NULL;
}

/* Two values of a field; of an area the ends of lines, which a browser sends as two characters, may differ. */
static bool same_value(const char *a, const char *b)
{
    for (;; a++, b++) {
        a += a[0] == '\r' && a[1] == '\n';
        b += b[0] == '\r' && b[1] == '\n';
        if (*a != *b || *a == '\0')
            return *a == *b;
    }
}

/* What stands in another's plan that was saved meanwhile, where something else was typed; else the hint alone. */
static const char *beside(const web_request *request, bool overtaken, const char *name, const char *stored,
                          const char *hint, ch_text *text)
{
    const char *typed = sent(request, name), *saved = stored != NULL ? stored : "";
    ch_text_init(text, BESIDE_MAX);
    if (!overtaken || typed == NULL || stored == NULL || same_value(typed, saved))
        return hint;
    ch_text_appendf(text, "%s%ssaved now: %s", hint != NULL ? hint : "", hint != NULL ? "; " : "",
                    saved[0] != '\0' ? saved : "nothing");
    return ch_text_string(text);
}

static void field(html_writer *w, const web_request *request, bool overtaken, piece_input input)
{
    ch_text text;
    input.hint = beside(request, overtaken, input.name, input.value, input.hint, &text);
    input.value = piece_typed(request, input.name, input.value);
    if (text.status != CH_OK)
        html_fail(w, text.status);
    piece_field(w, &input);
    ch_text_clear(&text);
}

static void number_field(html_writer *w, const web_request *request, bool overtaken, const char *label,
                         const char *name, const char *value, const char *hint)
{
    field(w, request, overtaken,
          (piece_input){.label = label, .name = name, .value = value, .hint = hint, .mode = "decimal"});
}

static void date_field(html_writer *w, const web_request *request, bool overtaken, const char *label, const char *name,
                       ch_date date, const char *hint)
{
    char day[16];
    ch_date_format(date, day, sizeof day);
    field(w, request, overtaken,
          (piece_input){.label = label, .name = name, .value = day, .hint = hint, .type = "date"});
}

static void write_days(html_writer *w, const web_request *request, const winter_kept *kept)
{
    ch_text days;
    ch_text_init(&days, BESIDE_MAX);
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
        number_field(w, request, kept->overtaken, week[i], name, usual, NULL);
        html_lit(w, "</div>");
    }
    html_lit(w, "</div>");
    field(w, request, kept->overtaken,
          (piece_input){.label = "Day by day",
                        .name = "days",
                        .value = ch_text_string(&days),
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

static void saved_now(html_writer *w, const char *what)
{
    html_lit(w, " <span class=\"hint\">saved now: ");
    html_text(w, what);
    html_lit(w, "</span>");
}

static void write_frame(html_writer *w, const web_request *request, const winter_kept *kept)
{
    char number[WINTER_NUMBER] = "";
    const ch_plan *plan = &kept->plan;
    const char *currency = kept->currency;
    char budget[64], hour[64];
    snprintf(budget, sizeof budget, "%.16s; empty = no limit", currency);
    snprintf(hour, sizeof hour, "%.16s", currency);
    date_field(w, request, kept->overtaken, "Ready for", "until", plan->until,
               "the day of the event; work may go on until then");
    date_field(w, request, kept->overtaken, "Parts are ordered on", "today",
               kept->any && plan->own_today ? plan->today : piece_today(request->now_s), NULL);
    if (kept->any && !plan->no_budget)
        winter_number(plan->budget, CH_MONEY_ONE, number);
    number_field(w, request, kept->overtaken, "Money for parts", "budget", number, budget);
    if (kept->any)
        winter_number(plan->hours_value, CH_MONEY_ONE, number);
    else
        winter_number(money_of(kept->assumptions.of[CH_ASSUME_HOUR_VALUE].usual), CH_MONEY_ONE, number);
    piece_alert_beside_field(w, kept->figures[0] != '\0' ? kept->figures : NULL);
    number_field(w, request, kept->overtaken, "What an hour is worth to you", "hours_value", number, hour);
    html_lit(w, "<fieldset><legend>Driven wheels</legend>");
    const char *drive = piece_typed(request, "drive", ch_drive_name(kept->drive));
    if (kept->overtaken && strcmp(drive, ch_drive_name(kept->drive)) != 0)
        saved_now(w, kept->drive == CH_DRIVE_FRONT ? "front" : "rear");
    piece_choice(w, "drive", "rear", "Rear", drive);
    piece_choice(w, "drive", "front", "Front", drive);
    html_lit(w, "</fieldset>\n");
    write_days(w, request, kept);
}

/* ---------------------------------------------------------------- jobs */

/* Whether the box of this name and value is ticked: as typed where this form was refused. */
static bool ticked(const web_request *request, const char *name, const char *value, bool stored)
{
    if (!piece_does(request, strcmp(name, "done") == 0 || strcmp(name, "had") == 0 ? "done" : "plan"))
        return stored;
    for (size_t i = 0; i < request->form.count; i++)
        if (strcmp(request->form.list[i].name, name) == 0 && strcmp(request->form.list[i].value, value) == 0)
            return true;
    return false;
}

static void write_box(html_writer *w, const char *name, const char *value, bool checked, const char *words,
                      const char *saved)
{
    html_lit(w, "<label class=\"choice\"><input type=\"checkbox\"");
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_attr_if(w, "checked", checked);
    html_lit(w, ">");
    html_text(w, words);
    if (saved != NULL)
        saved_now(w, saved);
    html_lit(w, "</label>\n");
}

static void box(html_writer *w, const web_request *request, bool overtaken, const char *name, const char *value,
                bool stored, const char *words)
{
    const bool checked = ticked(request, name, value, stored);
    write_box(w, name, value, checked, words,
              !overtaken || checked == stored ? NULL
              : stored                        ? "ticked"
                                              : "not ticked");
}

/* Whether the form had fields for the item's numbers. */
static bool had_figures(const web_request *request, const ch_plan_item *item)
{
    char key[WINTER_KEY];
    return sent(request, winter_key(item, ".hours", key)) != NULL;
}

/* The box that takes a job into the plan: one that another put into it after the form was made stays in, unless it is unticked now. */
static void job_box(html_writer *w, const web_request *request, const winter_kept *kept, const char *name,
                    const ch_plan_item *item, bool stored, const char *words, const char *value)
{
    if (kept->overtaken && item != NULL && !had_figures(request, item))
        write_box(w, name, value, true, words, "in the plan, since you opened it");
    else
        box(w, request, kept->overtaken, name, value, stored, words);
}

/* Whether the field was sent, and refused with the rest, with something else than the page had in it. */
static bool changed(const web_request *request, const char *name, const char *stored)
{
    const char *typed = sent(request, name);
    return typed != NULL && !same_value(typed, stored);
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
    const bool overtaken = kept->overtaken && winter_item(kept, item->name, item->kind) != NULL;
    char key[WINTER_KEY], number[WINTER_NUMBER], hours[WINTER_HOURS];
    html_lit(w, "<details class=\"figures\"");
    html_attr_if(w, "open", figures_changed(request, item));
    html_lit(w, "><summary><span class=\"visually-hidden\">");
    html_text(w, ch_show_plan_item(item));
    html_lit(w, ": </span>Numbers</summary>");
    if (item->kind == CH_PLAN_JOB) {
        winter_number(item->avoided, CH_MONEY_ONE, number);
        number_field(w, request, overtaken, "Having it done saves", winter_key(item, ".avoided", key), number,
                     kept->currency);
    }
    winter_hours(&item->guessed, hours);
    number_field(w, request, overtaken, item->kind == CH_PLAN_JOB ? "Hours" : "Hours to open",
                 winter_key(item, ".hours", key), hours, "one number, or least, likely, most: 0.5 1 2");
    if (item->kind == CH_PLAN_ACCESS) {
        winter_hours(&item->refit, hours);
        number_field(w, request, overtaken, "Hours to close", winter_key(item, ".refit", key), hours, NULL);
    }
    winter_number(item->parts, CH_MONEY_ONE, number);
    number_field(w, request, overtaken, "Parts", winter_key(item, ".parts", key), number, kept->currency);
    if (item->kind == CH_PLAN_JOB)
        box(w, request, overtaken, "must", item->name, item->must, "Must be done");
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

/*
 * What is not done beside this job. The notice is for scripts, which show it as soon as both are ticked (main.js); the hint, where there is room for one, stands there
 * always.
 */
static void only_one(html_writer *w, const winter_kept *kept, size_t place, bool hint)
{
    const ch_jobs *jobs = &kept->know->jobs;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        const char *title = jobs->jobs[i].work.title;
        if (i == place || !jobs->jobs[i].work.drives[kept->drive] || !winter_one_way(kept, place, i))
            continue;
        const bool which = ch_job_car_has_one(jobs, place, i);
        if (hint && !which) {
            html_lit(w, "<p class=\"hint\">");
            html_textf(w, "Not done beside \"%s\": of the two the plan takes the one that is worth more.", title);
            html_lit(w, "</p>");
        }
        html_lit(w, "<p class=\"notice\" role=\"status\" hidden");
        html_attrf(w, "data-both", "%s %s", jobs->jobs[place].work.id, jobs->jobs[i].work.id);
        html_lit(w, ">");
        if (which)
            html_textf(w, "\"%s\" is ticked too, and no car has both: untick one.", title);
        else
            html_textf(w,
                       "\"%s\" is ticked too, and only one of the two is done: the one that is worth more, and the "
                       "plan says which. Untick one to choose yourself.",
                       title);
        html_lit(w, "</p>\n");
    }
}

/* A job in the plan, or suggested for it. */
static void one_job(html_writer *w, const web_request *request, const winter_kept *kept, size_t place)
{
    const ch_job *job = &kept->know->jobs.jobs[place];
    const ch_plan_item *item = winter_item(kept, job->work.id, CH_PLAN_JOB);
    const ch_suggestion *suggestion = winter_suggested(kept, place);
    const size_t other = in_its_place(kept, place);
    char due[CH_SHOW_SENTENCE];
    const bool is_due = winter_due(kept, place, due), suggested = suggestion != NULL && suggestion->avoided > 0;
    html_lit(w, "<div class=\"card\">");
    job_box(w, request, kept, "in", item, item != NULL || (kept->fresh && other == SIZE_MAX && (suggested || is_due)),
            job->work.title, job->work.id);
    html_lit(w, "<p class=\"hint\">");
    if (other != SIZE_MAX)
        html_textf(w, "No car has both this and \"%s\": tick the one that yours has. ",
                   kept->know->jobs.jobs[other].work.title);
    if (is_due)
        html_textf(w, "%s. ", due);
    html_text(w, suggestion != NULL ? suggestion->reason : job->work.why);
    html_lit(w, "</p>");
    only_one(w, kept, place, true);
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
        shown.must = is_due && kept->fresh && other == SIZE_MAX;
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
        char due[CH_SHOW_SENTENCE];
        if (shown[i] || !jobs->jobs[i].work.drives[kept->drive] || !winter_due(kept, i, due) ||
            winter_item(kept, jobs->jobs[i].work.id, CH_PLAN_JOB) != NULL)
            continue;
        if (!any)
            html_lit(w, "<h3>Due by the car's parts</h3>\n");
        any = shown[i] = true;
        one_job(w, request, kept, i);
    }
    any = false;
    for (size_t i = 0; i < jobs->jobs_count; i++) {
        const ch_plan_item named = {.name = jobs->jobs[i].work.id, .kind = CH_PLAN_JOB};
        if (shown[i] || (winter_item(kept, named.name, CH_PLAN_JOB) == NULL && !had_figures(request, &named)))
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
        if (!shown[i] && jobs->jobs[i].work.drives[kept->drive]) {
            box(w, request, kept->overtaken, "in", jobs->jobs[i].work.id, false, jobs->jobs[i].work.title);
            only_one(w, kept, i, false);
        }
    html_lit(w, "</details>\n");
}

const char *winter_taken_out(const web_request *request, const winter_kept *kept, const char *name)
{
    char key[WINTER_KEY];
    const ch_plan_item item = {.name = name, .kind = CH_PLAN_JOB};
    const size_t head = sizeof OWN - 1, length = strlen(name);
    if (strncmp(name, OWN, head) != 0 || length == head || length > head + 4 ||
        strspn(name + head, "0123456789") != length - head || winter_item(kept, name, CH_PLAN_JOB) != NULL)
        return NULL;
    return piece_given(&request->form, winter_key(&item, ".title", key));
}

/* Its title goes along with the form: where another takes the job out of the plan meanwhile, it is not lost. */
static void own_job(html_writer *w, const web_request *request, const winter_kept *kept, const ch_plan_item *item,
                    bool stored)
{
    char key[WINTER_KEY];
    html_lit(w, "<div class=\"card\">");
    job_box(w, request, kept, "own", stored ? item : NULL, stored, ch_show_plan_item(item), item->name);
    piece_hidden(w, winter_key(item, ".title", key), ch_show_plan_item(item));
    figures(w, request, kept, item);
    html_lit(w, "</div>\n");
}

static void own_jobs(html_writer *w, const web_request *request, const winter_kept *kept)
{
    for (size_t i = kept->plan.access_count; i < kept->plan.items_count; i++) {
        const ch_plan_item *item = &kept->plan.items[i];
        if (ch_job_find(&kept->know->jobs, item->name, strlen(item->name)) != NULL)
            continue;
        own_job(w, request, kept, item, true);
    }
    for (size_t i = 0; i < request->form.count; i++) {
        const char *name = request->form.list[i].value;
        const char *title =
            strcmp(request->form.list[i].name, "own") == 0 ? winter_taken_out(request, kept, name) : NULL;
        if (title != NULL)
            own_job(w, request, kept, &(ch_plan_item){.name = name, .title = title, .kind = CH_PLAN_JOB}, false);
    }
    html_lit(w, "<details");
    html_attr_if(w, "open",
                 changed(request, "new.title", "") || changed(request, "new.hours", "") ||
                     changed(request, "new.parts", "") || changed(request, "new.avoided", ""));
    html_lit(w, "><summary>A job of your own</summary>");
    piece_field(w,
                &(piece_input){.label = "What", .name = "new.title", .value = piece_typed(request, "new.title", NULL)});
    number_field(w, request, kept->overtaken, "Hours", "new.hours", NULL, "one number, or least, likely, most");
    number_field(w, request, kept->overtaken, "Parts", "new.parts", NULL, kept->currency);
    number_field(w, request, kept->overtaken, "Having it done saves", "new.avoided", NULL, kept->currency);
    html_lit(w, "</details>\n");
}

/* Numbers of the steps in the plan, and of those that the form had. */
static void access_figures(html_writer *w, const web_request *request, const winter_kept *kept)
{
    const ch_jobs *jobs = &kept->know->jobs;
    ch_plan_item shown[CH_ACCESS_MAX];
    size_t n = 0;
    bool open = false;
    for (size_t i = 0; i < kept->plan.access_count && n < CH_ACCESS_MAX; i++)
        shown[n++] = kept->plan.items[i];
    for (size_t i = 0; i < jobs->access_count && n < CH_ACCESS_MAX; i++) {
        const ch_plan_item named = {
            .name = jobs->access[i].work.id, .title = jobs->access[i].work.title, .kind = CH_PLAN_ACCESS};
        if (winter_item(kept, named.name, CH_PLAN_ACCESS) == NULL && had_figures(request, &named))
            shown[n++] = named;
    }
    if (n == 0)
        return;
    for (size_t i = 0; i < n; i++)
        open = open || figures_changed(request, &shown[i]);
    html_lit(w, "<details");
    html_attr_if(w, "open", open);
    html_lit(w, "><summary>Access work: numbers</summary>");
    for (size_t i = 0; i < n; i++) {
        html_lit(w, "<h3>");
        html_text(w, ch_show_plan_item(&shown[i]));
        html_lit(w, "</h3>");
        figures(w, request, kept, &shown[i]);
    }
    html_lit(w, "</details>\n");
}

void winter_form_write(html_writer *w, web_request *request, const winter_kept *kept, const char *alert)
{
    piece_alert(w, alert);
    html_form_open(w, request, request->path, false);
    piece_hidden(w, "do", "plan");
    piece_hidden(w, "seen", kept->seen);
    if (kept->sheet > 0)
        piece_hidden_number(w, "sheet", kept->sheet);
    write_frame(w, request, kept);
    html_lit(
        w,
        "<h2>Jobs</h2><p class=\"hint\">Tick what could be done. The plan chooses from these what is worth most within "
        "hours and money. Numbers are first guesses, yours to change.");
    if (strcmp(kept->currency, kept->know->jobs.currency) != 0)
        html_textf(w, " First guesses of money are figures in %s, taken as %s one for one until you change them.",
                   kept->know->jobs.currency, kept->currency);
    html_lit(w, "</p>\n");
    known_jobs(w, request, kept);
    own_jobs(w, request, kept);
    access_figures(w, request, kept);
    piece_button(w, NULL, NULL, "wide", "Plan the work");
    html_form_close(w);
}

/* A number field whose label an item's title completes for those who do not see the card. */
static void more_field(html_writer *w, const web_request *request, const char *label, const char *what,
                       const ch_plan_item *item)
{
    char key[WINTER_KEY];
    number_field(w, request, false, label, winter_key(item, what, key), NULL, NULL);
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
        box(w, request, kept->overtaken, "done", winter_key(item, "", key), item->done, label);
        if (ticked(request, "had", key, item->done))
            piece_hidden(w, "had", key);
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
    piece_hidden(w, "seen", kept->seen);
    piece_button(w, "do", "over", "danger", "Put this plan away");
    html_form_close(w);
    html_lit(w, "</details>\n");
}

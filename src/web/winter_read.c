/* Reading the form of a winter plan. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../base/decimal.h"
#include "crosshatch/show_winter.h"
#include "piece.h"
#include "session.h"
#include "winter_form.h"

enum { OWN_MAX = 40, WORK_DAYS_MAX = CH_PLAN_DAYS_MAX, DIGITS_MAX = 9 };

typedef struct reading {
    web_request *request;
    winter_kept *kept;
    ch_draft draft;
    ch_plan_day *days;
    char own_name[16]; /* of a new job */
    ch_err *err;
} reading;

/* ---------------------------------------------------------------- numbers */

/*
 * A decimal number at `*at`, point or comma, as a whole count of `one`; the rest of the text behind it. False where none stands there, or one that may
 * be a thousand times as much: a comma and three digits, and with money, which has two, a point and three digits.
 */
static bool take_number(const char **at, int64_t one, int64_t *value)
{
    const char *from = *at + strspn(*at, " \t");
    const size_t whole = strspn(from, "0123456789"), length = strspn(from, "0123456789.,");
    size_t used = 0;
    double read = NAN;
    if (whole == 0 || whole > DIGITS_MAX || decimal_read(from, length, &read, &used) != DECIMAL_PLAIN)
        return false;
    if (one == CH_MONEY_ONE && used == whole + 4 && from[0] != '0')
        return false;
    *at = from + used + strspn(from + used, " \t\r");
    *value = llround(read * (double)one);
    return true;
}

static ch_status refuse(ch_err *err, const char *what, const char *typed, const char *right)
{
    char shown[48];
    ch_text_excerpt(typed, strlen(typed), shown, sizeof shown);
    return ch_fail(err, CH_E_INPUT, right, "%.80s: \"%s\"", what, shown);
}

ch_status winter_amount(const web_request *request, const char *field, const char *what, int64_t one, int64_t *value,
                        ch_err *err)
{
    const char *typed = piece_given(&request->form, field), *at = typed;
    if (typed == NULL || (take_number(&at, one, value) && *at == '\0'))
        return CH_OK;
    return refuse(err, what, typed, "a number, as in 12.5, without a mark between thousands");
}

static ch_status number_at(reading *r, const char *field, const char *what, int64_t one, int64_t *value)
{
    return winter_amount(r->request, field, what, one, value, r->err);
}

static ch_status hours_at(reading *r, const char *field, const char *what, ch_work_guess *guess)
{
    const char *typed = piece_given(&r->request->form, field), *at = typed;
    int64_t three[3];
    int n = 0;
    if (typed == NULL)
        return CH_OK;
    while (n < 3 && take_number(&at, CH_WORK_HOUR, &three[n]))
        n++;
    if (*at != '\0' || (n != 1 && n != 3) || (n == 3 && !(three[0] <= three[1] && three[1] <= three[2])))
        return refuse(r->err, what, typed, "hours as in 1.5, or least, likely and most as in 0.5 1 2");
    *guess = n == 1 ? (ch_work_guess){three[0], three[0], three[0]} : (ch_work_guess){three[0], three[1], three[2]};
    return CH_OK;
}

static ch_status date_at(reading *r, const char *field, ch_date *date)
{
    const char *typed = piece_given(&r->request->form, field);
    return typed == NULL ? CH_OK : ch_date_parse(typed, strlen(typed), date, r->err);
}

/* ---------------------------------------------------------------- days */

/* From the days of the week: every day with hours from today until the event. False where none is given. */
static ch_status days_of_week(reading *r, ch_date from, bool *given)
{
    int64_t hours[7] = {0};
    ch_plan *plan = &r->draft.plan;
    *given = false;
    for (int i = 0; i < 7; i++) {
        char name[8];
        snprintf(name, sizeof name, "w%d", i);
        const ch_status rc = number_at(r, name, "hours of a day", CH_WORK_HOUR, &hours[i]);
        if (rc < 0)
            return rc;
        *given = *given || hours[i] > 0;
    }
    if (!*given)
        return CH_OK;
    if (!ch_date_given(plan->until))
        return ch_fail(r->err, CH_E_INPUT, "the day of the event: hours on days of the week count until then",
                       "Ready for: no day is given");
    for (long day = ch_date_days(from); day <= ch_date_days(plan->until); day++) {
        const ch_work work_us = hours[((day + 3) % 7 + 7) % 7]; /* 1970-01-01 was a Thursday, the fourth of its week */
        if (work_us == 0)
            continue;
        if (plan->days_count == WORK_DAYS_MAX)
            return ch_fail(r->err, CH_E_LIMIT, "at most 1000 days", "the event is too far away");
        r->days[plan->days_count++] = (ch_plan_day){.date = ch_date_from_days(day), .work_us = work_us};
    }
    return CH_OK;
}

static ch_status days_of_list(reading *r)
{
    const char *at = piece_given(&r->request->form, "days");
    ch_plan *plan = &r->draft.plan;
    while (at != NULL && *at != '\0') {
        const size_t length = strcspn(at, "\n"), blank = strspn(at, " \t\r\n");
        if (blank >= length) {
            at += blank > 0 ? blank : 1;
            continue;
        }
        char line[64];
        ch_plan_day day = {.work_us = 0};
        snprintf(line, sizeof line, "%.*s", length < 63 ? (int)length : 63, at);
        const size_t date = strcspn(line, " \t\r");
        const char *rest = line + date;
        if (ch_date_parse(line, date, &day.date, NULL) < 0 || !take_number(&rest, CH_WORK_HOUR, &day.work_us) ||
            *rest != '\0')
            return refuse(r->err, "a day", line, "a day and its hours, as in 2027-01-09 6");
        if (plan->days_count == WORK_DAYS_MAX)
            return ch_fail(r->err, CH_E_LIMIT, "at most 1000 days", "too many days");
        r->days[plan->days_count++] = day;
        at += length;
    }
    return CH_OK;
}

/* A first plan gets an id that no other has, in whichever garage. */
static ch_status name_plan(reading *r)
{
    unsigned char bytes[(WINTER_ID - 1) / 2];
    const ch_status rc = web_random(bytes, sizeof bytes, r->err);
    for (size_t i = 0; rc >= 0 && i < sizeof bytes; i++)
        snprintf(r->kept->plan_id + 2 * i, 3, "%02x", bytes[i]);
    r->draft.plan.id = r->kept->plan_id;
    return rc;
}

static ch_status read_frame(reading *r)
{
    ch_plan *plan = &r->draft.plan;
    bool week = false;
    plan->today = piece_today(r->request->now_s);
    const ch_date now = plan->today;
    ch_status rc = date_at(r, "today", &plan->today);
    plan->own_today = true;
    if (rc >= 0)
        rc = date_at(r, "until", &plan->until);
    if (rc >= 0 && ch_date_given(plan->until) && ch_date_days(plan->until) < ch_date_days(now))
        rc = ch_fail(r->err, CH_E_INPUT, "a day from today on", "the event is over");
    if (rc >= 0 && ch_date_days(plan->today) > ch_date_days(now))
        plan->today = now; /* days before would be refused */
    plan->no_budget = piece_given(&r->request->form, "budget") == NULL;
    plan->no_hours_value = piece_given(&r->request->form, "hours_value") == NULL;
    plan->hours_value = 0;
    if (rc >= 0)
        rc = number_at(r, "budget", "money for parts", CH_MONEY_ONE, &plan->budget);
    if (rc >= 0)
        rc = number_at(r, "hours_value", "an hour's worth", CH_MONEY_ONE, &plan->hours_value);
    if (rc >= 0)
        rc = days_of_week(r, now, &week);
    if (rc >= 0 && !week)
        rc = days_of_list(r);
    plan->days = r->days;
    plan->has_days = plan->days_count > 0;
    plan->title = winter_title(r->kept);
    plan->id = r->kept->plan.id;
    return rc >= 0 && plan->id == NULL ? name_plan(r) : rc;
}

/* ---------------------------------------------------------------- items */

/* What the form says of an item, over what was kept, over what is known or suggested. */
static ch_status read_item(reading *r, ch_plan_item *item)
{
    char key[WINTER_KEY];
    const ch_plan_item *kept = winter_item(r->kept, item->name, item->kind);
    const ch_job *job =
        item->kind == CH_PLAN_JOB ? ch_job_find(&r->kept->know->jobs, item->name, strlen(item->name)) : NULL;
    const ch_suggestion *suggestion =
        job != NULL ? winter_suggested(r->kept, (size_t)(job - r->kept->know->jobs.jobs)) : NULL;
    const char *title = ch_show_plan_item(item);
    double alone = 0;
    ch_status rc = CH_OK;
    if (suggestion != NULL)
        item->avoided = (ch_money)(suggestion->avoided + 0.5) * CH_MONEY_ONE;
    else if (job != NULL) /* it will have to be done some time, by itself */
        rc = ch_job_alone(&r->kept->know->jobs, r->kept->drive, (size_t)(job - r->kept->know->jobs.jobs),
                          (double)r->draft.plan.hours_value / (double)CH_MONEY_ONE, &alone, r->err);
    if (alone > 0)
        item->avoided = (ch_money)(alone + 0.5) * CH_MONEY_ONE;
    if (kept != NULL) {
        item->guessed = kept->guessed;
        item->refit = kept->refit;
        item->parts = kept->parts;
        item->avoided = kept->avoided;
        item->must = kept->must;
        item->done = kept->done;
        item->done_us = kept->done_us;
        item->paid = kept->paid;
    }
    if (job == NULL && item->kind == CH_PLAN_JOB) {
        item->title = piece_given(&r->request->form, winter_key(item, ".title", key));
        if (item->title == NULL && kept != NULL)
            item->title = kept->title;
        title = ch_show_plan_item(item);
    }
    if (rc >= 0)
        rc = hours_at(r, winter_key(item, ".hours", key), title, &item->guessed);
    if (rc >= 0)
        rc = hours_at(r, winter_key(item, ".refit", key), title, &item->refit);
    if (rc >= 0)
        rc = number_at(r, winter_key(item, ".parts", key), title, CH_MONEY_ONE, &item->parts);
    if (rc >= 0)
        rc = number_at(r, winter_key(item, ".avoided", key), title, CH_MONEY_ONE, &item->avoided);
    if (web_value(&r->request->form, winter_key(item, ".parts", key)) != NULL && item->kind == CH_PLAN_JOB) {
        item->must = false; /* an empty box is not sent */
        for (size_t i = 0; i < r->request->form.count; i++)
            if (strcmp(r->request->form.list[i].name, "must") == 0 &&
                strcmp(r->request->form.list[i].value, item->name) == 0)
                item->must = true;
    }
    return rc;
}

/* A name that no job of the plan has yet. */
static void name_own(reading *r)
{
    for (int n = 1; n <= CH_PLAN_ITEMS_MAX; n++) {
        snprintf(r->own_name, sizeof r->own_name, "own_%d", n);
        if (winter_item(r->kept, r->own_name, CH_PLAN_JOB) == NULL &&
            winter_taken_out(r->request, r->kept, r->own_name) == NULL)
            return;
    }
}

static ch_status read_new(reading *r, ch_plan_item *item)
{
    name_own(r);
    item->name = r->own_name;
    item->title = piece_given(&r->request->form, "new.title");
    ch_status rc = hours_at(r, "new.hours", item->title, &item->guessed);
    if (rc >= 0)
        rc = number_at(r, "new.parts", item->title, CH_MONEY_ONE, &item->parts);
    return rc < 0 ? rc : number_at(r, "new.avoided", item->title, CH_MONEY_ONE, &item->avoided);
}

static ch_status read_items(reading *r, const char *const own[], size_t own_count, bool one_more)
{
    ch_plan *plan = &r->draft.plan;
    const size_t first_own = plan->items_count - own_count - one_more;
    ch_status rc = CH_OK;
    for (size_t i = 0; i < plan->items_count && rc >= 0; i++) {
        ch_plan_item *item = &r->draft.items[i];
        if (one_more && i + 1 == plan->items_count) {
            rc = read_new(r, item);
        } else {
            if (i >= first_own)
                item->name = own[i - first_own];
            rc = read_item(r, item);
        }
    }
    return rc;
}

/* ---------------------------------------------------------------- the whole */

/* What no car has both of was ticked twice: only the owner knows which. */
static ch_status check_which(reading *r, const size_t picked[], size_t n)
{
    const ch_jobs *jobs = &r->kept->know->jobs;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < i; k++)
            if (ch_job_car_has_one(jobs, picked[i], picked[k]))
                return ch_fail(r->err, CH_E_INPUT, "only the one that this car has",
                               "%.100s and %.100s: no car has both", jobs->jobs[picked[k]].work.title,
                               jobs->jobs[picked[i]].work.title);
    return CH_OK;
}

static ch_status read_form(reading *r)
{
    const ch_jobs *jobs = &r->kept->know->jobs;
    const web_fields *form = &r->request->form;
    size_t picked[CH_JOBS_MAX], n = 0, own_count = 0;
    const char *own[OWN_MAX];
    for (size_t i = 0; i < form->count; i++) {
        const web_field *field = &form->list[i];
        const ch_job *job = strcmp(field->name, "in") == 0 ? ch_job_find(jobs, field->value, field->length) : NULL;
        if (job != NULL && job->work.drives[r->kept->drive] && n < CH_JOBS_MAX)
            picked[n++] = (size_t)(job - jobs->jobs);
        if (strcmp(field->name, "own") == 0 && own_count < OWN_MAX &&
            (winter_item(r->kept, field->value, CH_PLAN_JOB) != NULL ||
             winter_taken_out(r->request, r->kept, field->value) != NULL))
            own[own_count++] = field->value;
    }
    const bool one_more = piece_given(form, "new.title") != NULL;
    if (!one_more && (piece_given(form, "new.hours") != NULL || piece_given(form, "new.parts") != NULL ||
                      piece_given(form, "new.avoided") != NULL))
        return ch_fail(r->err, CH_E_INPUT, "what is to be done", "A job of your own: it has no name");
    ch_status rc = check_which(r, picked, n);
    if (rc >= 0)
        rc = ch_draft_plan(jobs, r->kept->drive, picked, n, own_count + one_more, &r->draft, r->err);
    if (rc >= 0)
        rc = read_frame(r);
    if (rc >= 0)
        rc = read_items(r, own, own_count, one_more);
    return rc;
}

/* What another made of the plan meanwhile is not undone unseen; the same form sent twice has nothing more to say. */
static ch_status keep_read(reading *r, ch_status read)
{
    bool same = false;
    ch_status rc = read;
    if (r->kept->overtaken && rc >= 0)
        rc = winter_same(r->kept, &r->draft.plan, &same, r->err);
    if (r->kept->overtaken && !same && rc != CH_E_MEMORY && rc != CH_E_IO) {
        *r->err = (ch_err){0}; /* what cannot be read in it is told when it is sent again */
        return ch_fail(r->err, CH_E_INPUT,
                       "yours stands below and is not saved; beside what differs from it is what is saved now. "
                       "\"Plan the work\" saves yours in its place",
                       "The plan was %s after you opened it, on another device or in another tab",
                       r->kept->any ? "saved" : "put away");
    }
    return rc < 0 ? rc : winter_save(r->request, r->kept, &r->draft.plan, r->err);
}

ch_status winter_form_keep(web_request *request, winter_kept *kept, ch_err *err)
{
    const char *drive = piece_given(&request->form, "drive");
    reading r = {.request = request, .kept = kept, .err = err};
    const ch_drive saved = kept->drive;
    kept->overtaken = winter_overtaken(request, kept);
    kept->drive = drive != NULL && strcmp(drive, ch_drive_name(CH_DRIVE_FRONT)) == 0 ? CH_DRIVE_FRONT : CH_DRIVE_REAR;
    r.days = calloc(WORK_DAYS_MAX, sizeof *r.days);
    ch_status rc = r.days == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory for the plan") : read_form(&r);
    rc = keep_read(&r, rc);
    if (rc >= 0)
        rc = winter_set(request, kept->car->id, ".drive", ch_drive_name(kept->drive), err);
    else if (kept->overtaken)
        kept->drive = saved;
    ch_draft_clear(&r.draft);
    free(r.days);
    return rc;
}

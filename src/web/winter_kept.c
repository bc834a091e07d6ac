/* The kept plan and its suggestions. */
#include "winter_kept.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/hash.h"
#include "crosshatch/history.h"
#include "crosshatch/show_ready.h"
#include "crosshatch/store_driveline.h"
#include "crosshatch/store_ready.h"
#include "crosshatch/store_season.h"
#include "findings.h"
#include "verdicts.h"
#include "winter_work.h"

enum { SETTING = 64, CAUSES = CH_CAUSE_COUNT + CH_CLUTCH_CAUSES };

typedef struct gathered {
    ch_suggest_cause cause[CAUSES];
    size_t count;
} gathered;

ch_status winter_setting(web_request *request, int64_t car, const char *format_end, const char **text, ch_err *err)
{
    char name[SETTING];
    snprintf(name, sizeof name, "winter.%lld%s", (long long)car, format_end);
    return ch_store_setting_get(request->store, &request->pool, name, text, err);
}

ch_status winter_set(web_request *request, int64_t car, const char *format_end, const char *text, ch_err *err)
{
    char name[SETTING];
    snprintf(name, sizeof name, "winter.%lld%s", (long long)car, format_end);
    return ch_store_setting_set(request->store, name, text, request->now_s, err);
}

ch_status winter_currency(web_request *request, const web_know *know, const char **currency, ch_err *err)
{
    const char *own = NULL;
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, "currency", &own, err);
    if (rc >= 0)
        *currency = own != NULL && own[0] != '\0' ? own : know->jobs.currency;
    return rc;
}

/* ---------------------------------------------------------------- causes */

static void gather(winter_kept *kept, gathered *all, const char *id, double chance_1, const char *title, int cylinder)
{
    char *words = kept->title[all->count];
    if (cylinder > 0)
        snprintf(words, WINTER_TITLE, "%.120s, cylinder %d", title, cylinder);
    else
        snprintf(words, WINTER_TITLE, "%.140s", title);
    all->cause[all->count++] = (ch_suggest_cause){.id = id, .title = words, .chance_1 = fmin(chance_1, 1.0)};
}

/* Of each cause the cylinder where it is likeliest, of those that were tested; of none where the tracing names none. A test that may mislead is repeated: it suggests no work. */
static void from_judgement(winter_kept *kept, const ch_sheet *sheet, const ch_trace *trace, gathered *all)
{
    for (int cause = CH_CAUSE_SOUND + 1; trace->reliable && cause < CH_CAUSE_COUNT; cause++) {
        double most = 0;
        int where = 0;
        if (cause == CH_CAUSE_MEASUREMENT_ERROR)
            continue;
        for (int i = 0; i < trace->cylinders; i++)
            if (ch_show_tested(sheet, trace->cylinder[i].cylinder) && trace->cylinder[i].cause_1[cause] > most) {
                most = trace->cylinder[i].cause_1[cause];
                where = trace->cylinder[i].cylinder;
            }
        if (most >= CH_SUGGEST_LEAST_1)
            gather(kept, all, ch_cause_name((ch_cause)cause), most, kept->know->knowledge.causes[cause].title, where);
    }
}

static double wrong_1(const double cause_1[CH_CAUSE_COUNT])
{
    return 1.0 - cause_1[CH_CAUSE_SOUND] - cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

/* Which cylinder the fault is likeliest in. */
static void find_fault(winter_kept *kept, const ch_sheet *sheet, const ch_judgement *judgement)
{
    const ch_trace *trace = &judgement->trace;
    for (int i = 0; judgement->verdict == CH_VERDICT_FAULT && trace->reliable && i < trace->cylinders; i++) {
        const double *cause_1 = trace->cylinder[i].cause_1;
        if (!ch_show_tested(sheet, trace->cylinder[i].cylinder) ||
            (kept->fault != 0 && wrong_1(cause_1) <= wrong_1(kept->fault_1)))
            continue;
        kept->fault = trace->cylinder[i].cylinder;
        memcpy(kept->fault_1, cause_1, sizeof kept->fault_1);
    }
}

/* A sheet that cannot be judged suggests nothing: its own page says why. */
static ch_status from_sheet(web_request *request, winter_kept *kept, gathered *all, ch_err *err)
{
    ch_store_sheet row;
    ch_sheet sheet;
    ch_judge_options options;
    const verdicts_one *one = NULL;
    ch_err reason = {0};
    ch_status rc =
        kept->sheet == 0 ? CH_E_INPUT : ch_store_sheet_get(request->store, &request->pool, kept->sheet, &row, &reason);
    if (rc < 0 && rc != CH_E_INPUT)
        return ch_fail(err, rc, NULL, "%s", reason.what);
    if (rc < 0 || row.car_id != kept->car->id) {
        kept->sheet = 0;
        return CH_OK;
    }
    rc = ch_store_sheet_load(request->store, kept->sheet, &sheet, err);
    if (rc < 0)
        return rc;
    rc = findings_options(request, &sheet, &options, err);
    const bool asked = rc >= 0 && sheet.engine.cylinders > 0;
    const ch_status judged =
        asked ? verdicts_get(&sheet, &options, &kept->know->knowledge, 0, &one, &reason) : CH_E_INPUT;
    if (judged >= 0) {
        from_judgement(kept, &sheet, &one->judgement->trace, all);
        find_fault(kept, &sheet, one->judgement);
    } else if (judged == CH_E_MEMORY)
        rc = ch_fail(err, judged, NULL, "%s", reason.what);
    verdicts_give_back(one);
    ch_sheet_clear(&sheet);
    return rc;
}

/* A run without gears says nothing of the clutch, unless something was seen by hand: its chances are then those of the hand. */
static ch_status from_driveline(web_request *request, winter_kept *kept, gathered *all, ch_err *err)
{
    const ch_store_run *runs = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_runs(request->store, &request->pool, kept->car->id, &runs, &count, err);
    if (rc >= 0 && count > 0) {
        kept->run = runs[0].id;
        kept->run_day = runs[0].day;
    }
    for (int cause = CH_CLUTCH_SOUND + 1; rc >= 0 && count > 0 && cause < CH_CLUTCH_CAUSES; cause++) {
        const double chance_1 = runs[0].driveline.cause_1[cause];
        if (chance_1 >= CH_SUGGEST_LEAST_1)
            gather(kept, all, ch_clutch_cause_id((ch_clutch_cause)cause), chance_1,
                   kept->know->clutch.cause[cause].title, 0);
    }
    return rc;
}

static ch_status suggest(web_request *request, winter_kept *kept, ch_err *err)
{
    gathered all = {.count = 0};
    const ch_jobs *jobs = &kept->know->jobs;
    kept->title = calloc(CAUSES, sizeof *kept->title);
    kept->suggestion = calloc(jobs->jobs_count + 1, sizeof *kept->suggestion);
    if (kept->title == NULL || kept->suggestion == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for suggestions");
    ch_status rc = from_sheet(request, kept, &all, err);
    if (rc >= 0)
        rc = from_driveline(request, kept, &all, err);
    const double hour_value =
        kept->any && !kept->plan.no_hours_value ? (double)kept->plan.hours_value / (double)CH_MONEY_ONE : NAN;
    return rc < 0 ? rc
                  : ch_suggest(jobs, &kept->assumptions, kept->drive, hour_value, all.cause, all.count,
                               kept->suggestion, &kept->suggestions, err);
}

/* ---------------------------------------------------------------- the plan */

/* Days that are over count no more. */
static void leave_past(ch_plan *plan, ch_date today)
{
    while (plan->days_count > 0 && ch_date_days(plan->days[0].date) < ch_date_days(today)) {
        plan->days++;
        plan->days_count--;
        plan->days_until -= plan->days_until > 0;
    }
}

static ch_status find_car(web_request *request, winter_kept *kept, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    const int64_t id = web_part_id(request, 0);
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (cars[i].id == id)
            kept->car = &cars[i];
    return rc;
}

const char *winter_title(winter_kept *kept)
{
    char car[WINTER_TITLE - 20];
    ch_text_excerpt(kept->car->name, strlen(kept->car->name), car, sizeof car);
    snprintf(kept->plan_title, sizeof kept->plan_title, "Winter work, %s", car);
    return kept->plan_title;
}

static ch_status load_plan(web_request *request, winter_kept *kept, ch_err *err)
{
    const char *text = NULL;
    ch_status rc = winter_setting(request, kept->car->id, "", &text, err);
    if (rc < 0 || text == NULL || text[0] == '\0')
        return rc;
    kept->text = text;
    rc = ch_plan_parse("the plan", text, strlen(text), (ch_date){0}, &kept->plan, err);
    kept->any = rc >= 0;
    if (rc < 0)
        return rc;
    kept->plan.currency = kept->currency;
    leave_past(&kept->plan, piece_today(request->now_s));
    kept->plan.title = winter_title(kept);
    if (kept->plan.id == NULL) { /* kept before plans had one */
        snprintf(kept->plan_id, sizeof kept->plan_id, "car-%lld", (long long)kept->car->id);
        kept->plan.id = kept->plan_id;
    }
    return CH_OK;
}

/* A figure in the settings that cannot be read is told, and does not keep the plan from the owner. */
static ch_status load_figures(web_request *request, winter_kept *kept, ch_err *err)
{
    ch_err own = {0};
    kept->assumptions = kept->know->assumptions;
    ch_status rc = winter_currency(request, kept->know, &kept->currency, err);
    if (rc < 0)
        return rc;
    rc = ch_store_assumptions(request->store, &request->pool, &kept->assumptions, &own);
    if (rc == CH_E_INPUT) {
        ch_err_format(&own, kept->figures, sizeof kept->figures);
        return CH_OK;
    }
    return rc < 0 ? ch_fail(err, rc, own.right, "%s", own.what) : CH_OK;
}

/* The sheet with readings of the engine in the car that was tested last: what was found last. */
static ch_status find_newest(web_request *request, winter_kept *kept, ch_err *err)
{
    const ch_store_sheet *rows = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_sheets(request->store, &request->pool, kept->car->id, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && kept->newest == 0 && i < count; i++)
        if (rows[i].entries > 0 && rows[i].engine_id == kept->car->engine_id)
            kept->newest = rows[i].id;
    return rc;
}

/* Settings one behind the other, each with the NUL that ends it. */
static uint64_t mark_of(uint64_t mark, const char *setting)
{
    return ch_hash(mark, setting, setting != NULL ? strlen(setting) + 1 : 0);
}

static ch_status load_due(web_request *request, winter_kept *kept, ch_err *err)
{
    ch_store_ready loaded;
    const ch_ready_engine engine = CH_READY_NO_ENGINE;
    const ch_date today = piece_today(request->now_s);
    kept->due = calloc(1, sizeof *kept->due);
    if (kept->due == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is due");
    const ch_status rc = ch_store_ready_load(request->store, &request->pool, kept->car->id, &kept->know->lives, today,
                                             CH_HISTORY_EVENT_S, &loaded, err);
    return rc < 0 ? rc
                  : ch_ready_run(loaded.part, loaded.parts, loaded.opens, &loaded.event, today, &engine, NAN, kept->due,
                                 err);
}

bool winter_due(const winter_kept *kept, size_t job, char sentence[CH_SHOW_SENTENCE])
{
    for (size_t i = 0; i < kept->due->due_count; i++) {
        const ch_ready_due *due = &kept->due->due[i];
        const ch_places *by = &due->part->life->jobs;
        for (size_t k = 0; k < by->count && (due->when == CH_READY_OVER || due->when == CH_READY_DURING); k++)
            if (by->at[k] == job) {
                ch_show_ready_due(due, sentence);
                return true;
            }
    }
    return false;
}

bool winter_one_way(const winter_kept *kept, size_t job, size_t other)
{
    const ch_job *jobs = kept->know->jobs.jobs;
    const ch_places *a = &jobs[job].excludes, *b = &jobs[other].excludes;
    bool one = false;
    for (size_t i = 0; i < a->count; i++)
        one = one || a->at[i] == other;
    for (size_t i = 0; i < b->count; i++)
        one = one || b->at[i] == job;
    return one;
}

static ch_status load_drive(web_request *request, winter_kept *kept, const char **drive, ch_err *err)
{
    const ch_status rc = winter_setting(request, kept->car->id, ".drive", drive, err);
    if (rc >= 0)
        kept->drive =
            *drive != NULL && strcmp(*drive, ch_drive_name(CH_DRIVE_FRONT)) == 0 ? CH_DRIVE_FRONT : CH_DRIVE_REAR;
    return rc;
}

static ch_status load_rest(web_request *request, winter_kept *kept, const char *drive, ch_err *err)
{
    const char *sheet = NULL;
    const int64_t asked = piece_id(&request->query, "sheet");
    ch_status rc = winter_setting(request, kept->car->id, ".sheet", &sheet, err);
    if (rc >= 0)
        rc = find_newest(request, kept, err);
    if (rc < 0)
        return rc;
    snprintf(kept->seen, sizeof kept->seen, "%016llx",
             (unsigned long long)mark_of(mark_of(mark_of(CH_HASH_BEGIN, kept->text), drive), sheet));
    kept->sheet = asked > 0 ? asked : sheet != NULL ? strtoll(sheet, NULL, 10) : kept->newest;
    kept->fresh = asked > 0 || !kept->any;
    const int64_t sent = piece_id(&request->form, "sheet");
    if (sent > 0)
        kept->sheet = sent;
    return suggest(request, kept, err);
}

ch_status winter_load(web_request *request, winter_kept *kept, ch_err *err)
{
    *kept = (winter_kept){.know = know_get(err)};
    if (kept->know == NULL)
        return CH_E_IO;
    ch_status rc = find_car(request, kept, err);
    if (rc < 0 || kept->car == NULL)
        return rc;
    rc = load_figures(request, kept, err);
    if (rc >= 0)
        rc = load_plan(request, kept, err);
    const char *drive = NULL;
    if (rc >= 0)
        rc = load_drive(request, kept, &drive, err);
    if (rc >= 0)
        rc = winter_work_load(request, kept, err);
    if (rc >= 0)
        rc = load_due(request, kept, err);
    if (rc >= 0)
        rc = load_rest(request, kept, drive, err);
    if (rc < 0)
        winter_clear(kept);
    return rc;
}

void winter_clear(winter_kept *kept)
{
    ch_plan_clear(&kept->plan);
    free(kept->items);
    free(kept->places);
    free(kept->due);
    free(kept->title);
    free(kept->suggestion);
    *kept = (winter_kept){0};
}

bool winter_overtaken(const web_request *request, const winter_kept *kept)
{
    const char *seen = web_value(&request->form, "seen");
    return seen == NULL || strcmp(seen, kept->seen) != 0;
}

static ch_status write_plan(const winter_kept *kept, const ch_plan *plan, ch_text *text, ch_err *err)
{
    ch_plan written = *plan;
    written.currency = kept->currency;
    ch_text_init(text, CH_STORE_SETTING_MAX);
    return ch_plan_write(&written, text, err);
}

ch_status winter_same(const winter_kept *kept, const ch_plan *plan, bool *same, ch_err *err)
{
    ch_text text;
    const ch_status rc = write_plan(kept, plan, &text, err);
    if (rc >= 0)
        *same = kept->text != NULL && strcmp(kept->text, ch_text_string(&text)) == 0;
    ch_text_clear(&text);
    return rc;
}

ch_status winter_save(web_request *request, const winter_kept *kept, const ch_plan *plan, ch_err *err)
{
    ch_text text;
    ch_plan read = {0};
    char sheet[32];
    ch_status rc = write_plan(kept, plan, &text, err);
    if (rc >= 0)
        rc = ch_plan_parse("the plan", ch_text_string(&text), text.length, (ch_date){0}, &read, err);
    ch_plan_clear(&read);
    snprintf(sheet, sizeof sheet, "%lld", (long long)kept->sheet);
    if (rc >= 0 && kept->sheet > 0)
        rc = winter_set(request, kept->car->id, ".sheet", sheet, err);
    if (rc >= 0)
        rc = winter_set(request, kept->car->id, "", ch_text_string(&text), err);
    ch_text_clear(&text);
    return rc;
}

const ch_suggestion *winter_suggested(const winter_kept *kept, size_t job)
{
    for (size_t i = 0; i < kept->suggestions; i++)
        if (kept->suggestion[i].job == job)
            return &kept->suggestion[i];
    return NULL;
}

const ch_plan_item *winter_item(const winter_kept *kept, const char *name, ch_plan_kind kind)
{
    for (size_t i = 0; i < kept->plan.items_count; i++)
        if (kept->plan.items[i].kind == kind && strcmp(kept->plan.items[i].name, name) == 0)
            return &kept->plan.items[i];
    return NULL;
}

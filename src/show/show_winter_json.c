/* A winter plan's answer as JSON. */
#include <math.h>

#include "crosshatch/show_winter.h"
#include "js.h"

static json_t *money(ch_money amount)
{
    return js_number((double)amount / (double)CH_MONEY_ONE);
}

static json_t *hours(ch_work work_us)
{
    return js_number((double)work_us / (double)CH_WORK_HOUR);
}

static json_t *date(ch_date day)
{
    char text[16];
    ch_date_format(day, text, sizeof text);
    return json_string(text);
}

/* Names of the flagged items of one kind. */
static json_t *names(const ch_plan *plan, const bool in[], ch_plan_kind kind)
{
    json_t *array = json_array();
    for (size_t i = 0; i < plan->items_count; i++)
        if (in[i] && plan->items[i].kind == kind)
            js_add(&array, json_string(plan->items[i].name));
    return array;
}

/* Names of the jobs that are in one set and not in the other. */
static json_t *difference(const ch_plan *plan, const bool in[], const bool but[])
{
    json_t *array = json_array();
    for (size_t i = plan->access_count; i < plan->items_count; i++)
        if (in[i] && !but[i])
            js_add(&array, json_string(plan->items[i].name));
    return array;
}

static json_t *piece(const ch_plan *plan, const ch_calendar_entry *entry)
{
    json_t *object = json_object();
    js_put(&object, "item", json_string(plan->items[entry->item].name));
    js_put(&object, "kind", json_string(ch_show_entry_kind(entry->kind)));
    js_put(&object, "hours", hours(entry->work_us));
    return object;
}

static json_t *calendar(const ch_plan *plan, const ch_calendar *days)
{
    json_t *array = json_array();
    for (size_t i = 0; i < days->count && days->entries[i].day != SIZE_MAX;) {
        const size_t day = days->entries[i].day;
        json_t *work = json_array(), *object = json_object();
        for (; i < days->count && days->entries[i].day == day; i++)
            js_add(&work, piece(plan, &days->entries[i]));
        js_put(&object, "date", date(plan->days[day].date));
        js_put(&object, "work", work);
        js_add(&array, object);
    }
    return array;
}

static json_t *late(const ch_plan *plan, const ch_calendar *days)
{
    json_t *array = json_array();
    for (size_t i = 0; plan->has_days && i < days->count; i++)
        if (days->entries[i].day == SIZE_MAX)
            js_add(&array, piece(plan, &days->entries[i]));
    return array;
}

static json_t *why(const ch_plan *plan, const ch_job_view *view)
{
    static const char *const reasons[] = {
        [CH_JOB_DONE] = "done",           [CH_JOB_MUST] = "must",       [CH_JOB_NEEDED] = "needed",
        [CH_JOB_PAYS] = "pays",           [CH_JOB_RIVAL] = "rival",     [CH_JOB_SHUT_OUT] = "shut_out",
        [CH_JOB_TOO_LARGE] = "too_large", [CH_JOB_NO_GAIN] = "no_gain", [CH_JOB_CROWDED_OUT] = "crowded_out"};
    char sentence[CH_SHOW_SENTENCE];
    json_t *object = json_object();
    ch_show_job_reason(plan, view, sentence);
    js_put(&object, "job", json_string(plan->items[view->item].name));
    js_put(&object, "chosen", json_boolean(view->chosen));
    js_put(&object, "reason", json_string(reasons[view->reason]));
    js_put(&object, "text", json_string(sentence));
    js_put(&object, "difference", money(view->difference));
    js_put(&object, "exact", json_boolean(view->exact));
    js_put(&object, "hours_alone", hours(view->alone_us));
    js_put(&object, "hours_here", hours(view->here_us));
    js_put(&object, "parts_here", money(view->here_parts));
    js_put(&object, "value_here", money(view->here_value));
    return object;
}

static json_t *more(const ch_plan *plan, const ch_winter *winter, const ch_winter_more *buys)
{
    json_t *object = json_object();
    js_put(&object, "money", money(buys->money));
    js_put(&object, "hours", hours(buys->work_us));
    js_put(&object, "gains", money(buys->gains));
    js_put(&object, "exact", json_boolean(buys->exact));
    js_put(&object, "in", difference(plan, buys->chosen, winter->chosen));
    js_put(&object, "out", difference(plan, winter->chosen, buys->chosen));
    return object;
}

static json_t *drop(const ch_plan *plan, const ch_winter_drop *given_up)
{
    json_t *object = json_object();
    js_put(&object, "job", json_string(plan->items[given_up->item].name));
    js_put(&object, "hours", hours(given_up->frees_us));
    js_put(&object, "loses", money(given_up->loses));
    js_put(&object, "chance_in_time", js_number(given_up->chance_1));
    return object;
}

static json_t *not_feasible(const ch_plan *plan, const ch_choice *choice)
{
    char sentence[CH_SHOW_SENTENCE];
    json_t *shortfall = json_object(), *because = json_array(), *root = json_object();
    js_put(&shortfall, "hours", hours(choice->short_us));
    js_put(&shortfall, "parts", money(choice->short_parts));
    for (int i = 0; ch_show_shortfall(plan, choice, i, sentence); i++)
        js_add(&because, json_string(sentence));
    js_put(&root, "feasible", json_false());
    js_put(&root, "shortfall", shortfall);
    js_put(&root, "because", because);
    return root;
}

static json_t *feasible(const ch_plan *plan, const ch_winter *winter)
{
    json_t *root = json_object(), *jobs = json_array(), *buys = json_array(), *drops = json_array();
    js_put(&root, "feasible", json_true());
    js_put(&root, "value", money(winter->choice.value));
    js_put(&root, "jobs", names(plan, winter->chosen, CH_PLAN_JOB));
    js_put(&root, "access", names(plan, winter->chosen, CH_PLAN_ACCESS));
    js_put(&root, "hours", hours(winter->choice.work_us));
    js_put(&root, "parts", money(winter->choice.parts));
    js_put(&root, "paid", money(ch_plan_paid(plan)));
    js_put(&root, "calendar", calendar(plan, &winter->calendar));
    js_put(&root, "finish", date(winter->calendar.finish));
    js_put(&root, "chance_in_time", js_number(winter->chance_1));
    js_put(&root, "proven", json_boolean(winter->choice.proven));
    js_put(&root, "value_at_most", money(winter->choice.value_at_most));
    js_put(&root, "fits", plan->has_days ? json_boolean(winter->calendar.fits) : json_null());
    js_put(&root, "late", late(plan, &winter->calendar));
    js_put(&root, "nights_apart", json_integer(winter->calendar.nights_apart));
    js_put(&root, "hours_shared", hours(winter->shared_us));
    for (size_t i = 0; i < winter->jobs_count; i++)
        js_add(&jobs, why(plan, &winter->jobs[i]));
    js_put(&root, "why", jobs);
    for (int i = 0; i < CH_WINTER_MORE; i++)
        js_add(&buys, more(plan, winter, &winter->more[i]));
    js_put(&root, "more", buys);
    for (size_t i = 0; i < winter->drops_count; i++)
        js_add(&drops, drop(plan, &winter->drops[i]));
    js_put(&root, "drop_first", drops);
    return root;
}

ch_status ch_show_winter_json(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err)
{
    json_t *root = winter->choice.feasible ? feasible(plan, winter) : not_feasible(plan, &winter->choice);
    return js_finish(root, text, err);
}

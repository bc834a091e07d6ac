/* A season as JSON. The names are a promise: crosshatch-season(1). */
#include <math.h>

#include "crosshatch/show_season.h"
#include "js.h"

static const double HOUR_S = 3600.0, PER_100_H_M2_S = 1e-6 / 360000.0;

static json_t *day(ch_date date)
{
    char text[16];
    ch_date_format(date, text, sizeof text);
    return json_string(text);
}

static json_t *name_or_null(const char *name)
{
    return name != NULL ? json_string(name) : json_null();
}

static json_t *trend(const ch_season *s)
{
    json_t *array = json_array();
    for (int c = 0; c < s->forecast.cylinders; c++) {
        const ch_forecast_cylinder *one = &s->forecast.cylinder[c];
        double now_m2[3];
        for (int i = 0; i < 3; i++)
            now_m2[i] = exp(one->log_area_now[i]);
        json_t *row = json_object();
        js_put(&row, "cylinder", json_integer(c + 1));
        js_put(&row, "quantity", json_string("leak_area_mm2"));
        js_put(&row, "now", js_numbers(now_m2, 3, 1e-6));
        js_put(&row, "per_100_h", js_numbers(one->growth_m2_per_s, 3, PER_100_H_M2_S));
        js_put(&row, "growth_of_logarithm_per_100_h", js_numbers(one->slope_per_s, 3, 1.0 / 360000.0));
        js_put(&row, "hours_to_limit", js_numbers(one->fault_s, 3, HOUR_S));
        js_put(&row, "hours_to_watch_limit", js_numbers(one->watch_s, 3, HOUR_S));
        js_put(&row, "chance_over_limit", js_number(one->over_fault_1));
        js_put(&row, "chance_over_watch_limit", js_number(one->over_watch_1));
        js_add(&array, row);
    }
    return array;
}

static json_t *events(const ch_season *s)
{
    json_t *array = json_array();
    for (size_t i = 0; i < s->planned; i++) {
        json_t *row = json_object();
        js_put(&row, "date", day(s->event[i].event->day));
        js_put(&row, "name", name_or_null(s->event[i].event->name));
        js_put(&row, "engine_hours", js_number(s->event[i].end_s / HOUR_S));
        js_put(&row, "chance_over_limit", js_number(s->forecast.event[i].over_fault_1));
        js_put(&row, "chance_over_watch_limit", js_number(s->forecast.event[i].over_watch_1));
        js_add(&array, row);
    }
    return array;
}

static json_t *choices(const ch_decision *d)
{
    json_t *array = json_array();
    for (int k = 0; k < CH_COURSES; k++) {
        json_t *row = json_object();
        js_put(&row, "choice", json_string(ch_course_name((ch_course)k)));
        js_put(&row, "expected_cost", js_number(d->cost[k].expected));
        js_put(&row, "interval", js_numbers(d->cost[k].interval, 2, 1.0));
        js_put(&row, "chance_of_breakdown", js_number(d->cost[k].breaks_1));
        js_add(&array, row);
    }
    return array;
}

static json_t *horizons(const ch_season *s)
{
    json_t *array = json_array();
    for (int h = 0; h < CH_HORIZONS; h++) {
        json_t *row = json_object();
        js_put(&row, "horizon", json_string(ch_horizon_name((ch_horizon)h)));
        js_put(&row, "hours", js_number(s->horizon_s[h] / HOUR_S));
        js_put(&row, "chance_over_limit", js_number(s->over_fault_1[h]));
        js_put(&row, "tests", json_integer((json_int_t)s->decision[h].tests));
        js_put(&row, "best", json_string(ch_course_name(s->decision[h].best)));
        js_put(&row, "choices", choices(&s->decision[h]));
        js_add(&array, row);
    }
    return array;
}

static json_t *sensitivity(const ch_show_season *shown, const ch_decision *d)
{
    json_t *array = json_array();
    for (size_t i = 0; i < CH_ASSUME_COUNT; i++) {
        const ch_swing *s = &d->swing[i];
        const ch_assumption *a = &shown->assumptions->of[s->assumption];
        const double range[3] = {a->low, a->usual, a->high};
        json_t *row = json_object(), *best = json_array();
        js_put(&row, "assumption", json_string(ch_assumption_name(s->assumption)));
        js_put(&row, "title", json_string(a->title));
        js_put(&row, "range", js_numbers(range, 3, 1.0));
        js_add(&best, json_string(ch_course_name(s->best[0])));
        js_add(&best, json_string(ch_course_name(s->best[1])));
        js_put(&row, "best", best);
        js_put(&row, "lead", js_numbers(s->lead, 2, 1.0));
        js_put(&row, "changes_the_answer", json_boolean(s->best[0] != d->best || s->best[1] != d->best));
        js_add(&array, row);
    }
    return array;
}

static json_t *history(const ch_show_season *shown)
{
    const ch_season *s = shown->season;
    json_t *array = json_array();
    for (size_t i = 0; i < s->history.count; i++) {
        const ch_history_point *point = &s->history.point[i];
        const ch_history_result *r = &point->sheet->result;
        json_t *row = json_object(), *cylinders = json_array();
        js_put(&row, "sheet", json_integer(point->sheet->id));
        js_put(&row, "date", point->sheet->day_assumed ? json_null() : day(point->sheet->day));
        js_put(&row, "engine_hours", js_number(point->running_s / HOUR_S));
        js_put(&row, "hours_as_noted", json_boolean(point->noted));
        js_put(&row, "verdict", json_string(ch_verdict_name(r->verdict)));
        js_put(&row, "chance_odd", point->fitted ? js_number(s->forecast.odd_sheet_1[point->at]) : json_null());
        for (int c = 0; c < r->cylinders; c++) {
            const ch_history_cylinder *one = &r->cylinder[c];
            const bool tested = ch_history_tested(one); /* else its area is taken for granted */
            const double area_m2[3] = {tested ? one->ladder_m2[0] : NAN,
                                       tested ? one->ladder_m2[CH_TRACE_LADDER / 2] : NAN,
                                       tested ? one->ladder_m2[CH_TRACE_LADDER - 1] : NAN};
            json_t *cell = json_object();
            js_put(&cell, "cylinder", json_integer(c + 1));
            js_put(&cell, "standard_day_kPa", js_kilopascal(one->standard_day_pa));
            js_put(&cell, "standard_day_uncertainty_kPa", js_kilopascal(one->u_standard_day_pa));
            js_put(&cell, "leak_area_mm2", js_numbers(area_m2, 3, 1e-6));
            js_add(&cylinders, cell);
        }
        js_put(&row, "cylinders", cylinders);
        js_add(&array, row);
    }
    return array;
}

static json_t *steps(const ch_season *s)
{
    json_t *array = json_array();
    for (size_t k = 0; k < s->forecast.found; k++) {
        const ch_wear_found *found = &s->forecast.step[k];
        json_t *row = json_object();
        js_put(&row, "cylinder", json_integer(found->step.cylinder));
        js_put(&row, "engine_hours", js_number(found->step.running_s / HOUR_S));
        js_put(&row, "times", js_number(exp(found->size_log)));
        js_put(&row, "chance_by_wear_alone", js_number(found->chance_1));
        js_put(&row, "confirmed", json_boolean(found->confirmed));
        js_add(&array, row);
    }
    return array;
}

/* What the newest sheet found; null where there is none, or a repair has followed it. */
static json_t *newest(const ch_history_sheet *sheet)
{
    double wrong_1 = NAN;
    if (sheet == NULL)
        return json_null();
    const int cylinder = ch_history_worst(&sheet->result, &wrong_1);
    json_t *object = json_object();
    js_put(&object, "sheet", json_integer(sheet->id));
    js_put(&object, "date", sheet->day_assumed ? json_null() : day(sheet->day));
    js_put(&object, "verdict", json_string(ch_verdict_name(sheet->result.verdict)));
    js_put(&object, "cylinder", cylinder > 0 ? json_integer(cylinder) : json_null());
    js_put(&object, "chance_of_fault", js_number(wrong_1));
    return object;
}

static json_t *questions(const ch_history *h)
{
    json_t *array = json_array();
    for (size_t i = 0; i < h->question_count; i++) {
        const ch_history_question *q = &h->question[i];
        json_t *row = json_object();
        js_put(&row, "question", json_string(ch_history_question_name(q->kind)));
        js_put(&row, "sheet", q->sheet_id != 0 ? json_integer(q->sheet_id) : json_null());
        js_put(&row, "text", json_string(q->text));
        js_add(&array, row);
    }
    return array;
}

ch_status ch_show_season_json(const ch_show_season *shown, ch_text *text, ch_err *err)
{
    const ch_season *s = shown->season;
    const ch_decision *d = &s->decision[s->horizon];
    const double limit_m2[2] = {exp(s->history.log_watch), exp(s->history.log_fault)};
    json_t *root = json_object();
    js_put(&root, "car", name_or_null(shown->car));
    js_put(&root, "engine", name_or_null(shown->engine));
    js_put(&root, "date", day(shown->today));
    js_put(&root, "engine_hours", js_number(s->history.now_s / HOUR_S));
    js_put(&root, "last_test", day(s->last_test));
    js_put(&root, "newest_sheet", newest(shown->newest));
    js_put(&root, "do_not_run", json_boolean(ch_show_season_forbids(shown)));
    js_put(&root, "slope_known", json_boolean(s->forecast.slope_known));
    js_put(&root, "limits_mm2", js_numbers(limit_m2, 2, 1e-6));
    js_put(&root, "trend", trend(s));
    js_put(&root, "first_over_limit_hours", js_numbers(s->forecast.fault_s, 3, HOUR_S));
    js_put(&root, "events", events(s));
    js_put(&root, "currency", json_string(shown->assumptions->currency));
    js_put(&root, "horizon", json_string(ch_horizon_name(s->horizon)));
    js_put(&root, "best", json_string(ch_course_name(d->best)));
    js_put(&root, "choices", choices(d));
    js_put(&root, "horizons", horizons(s));
    js_put(&root, "sensitivity", sensitivity(shown, d));
    js_put(&root, "upgrade", json_string(ch_upgrade_name(s->upgrade)));
    js_put(&root, "steps", steps(s));
    js_put(&root, "history", history(shown));
    js_put(&root, "questions", questions(&s->history));
    js_put(&root, "passed_over", json_integer((json_int_t)shown->passed_over));
    return js_finish(root, text, err);
}

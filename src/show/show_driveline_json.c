/* A judged run as JSON. The names are a promise: crosshatch-driveline(1). */
#include <math.h>

#include "crosshatch/show_driveline.h"
#include "js.h"

#define PI 3.14159265358979323846

static json_t *percent(double value_1)
{
    return js_number(value_1 * 100);
}

static double spin_per_speed(double line_rad_m) /* rpm for each km/h */
{
    return line_rad_m * 60 / (2 * PI) / 3.6;
}

static json_t *gears(const ch_driveline *d)
{
    json_t *array = json_array();
    for (size_t g = 0; g < d->gears; g++) {
        json_t *row = json_object();
        js_put(&row, "gear", json_integer(d->gear[g].number));
        js_put(&row, "rpm_per_kmh", js_number(spin_per_speed(d->gear[g].line_rad_m)));
        js_put(&row, "standard_uncertainty_rpm_per_kmh", js_number(spin_per_speed(d->gear[g].u_line_rad_m)));
        js_put(&row, "seconds", js_number(d->gear[g].seconds));
        js_add(&array, row);
    }
    return array;
}

static json_t *slips(const ch_driveline *d)
{
    json_t *array = json_array();
    for (size_t i = 0; i < d->slips; i++) {
        const ch_slip *s = &d->slip[i];
        json_t *row = json_object();
        js_put(&row, "start_s", js_number(s->start_s));
        js_put(&row, "end_s", js_number(s->end_s));
        js_put(&row, "gear", json_integer(s->gear));
        js_put(&row, "peak_percent", percent(s->peak_1));
        js_put(&row, "mean_percent", percent(s->mean_1));
        js_put(&row, "heat_kJ", js_number(s->heat_j / 1e3));
        js_put(&row, "plate_C", js_number(s->peak_plate_k - 273.15));
        js_put(&row, "torque_Nm", js_number(s->torque_n_m));
        js_put(&row, "standard_uncertainty_torque_Nm", js_number(s->u_torque_n_m));
        js_put(&row, "road_speed_kmh", js_number(s->road_speed_m_s * 3.6));
        js_add(&array, row);
    }
    return array;
}

static json_t *causes(const ch_driveline *d)
{
    json_t *array = json_array();
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
        json_t *row = json_object();
        js_put(&row, "cause", json_string(ch_clutch_cause_id((ch_clutch_cause)c)));
        js_put(&row, "probability", js_number(d->cause_1[c]));
        js_add(&array, row);
    }
    return array;
}

static json_t *cautions(const ch_show_run *run, const ch_places *places)
{
    json_t *array = json_array();
    for (size_t i = 0; i < places->count; i++) {
        const ch_knowledge_caution *caution = &run->knowledge->cautions[places->at[i]];
        json_t *row = json_object();
        js_put(&row, "word", json_string(ch_signal_word_name(caution->word)));
        js_put(&row, "hazard", json_string(caution->hazard));
        js_put(&row, "precaution", json_string(caution->precaution));
        js_add(&array, row);
    }
    return array;
}

static json_t *next_checks(const ch_show_run *run)
{
    const ch_driveline *d = run->driveline;
    json_t *array = json_array();
    for (size_t i = 0; i < d->next_checks; i++) {
        const ch_clutch_check *check = &run->clutch->checks[d->next_check[i].check];
        json_t *row = json_object();
        js_put(&row, "check", json_string(check->id));
        js_put(&row, "minutes", js_number(check->seconds / 60));
        js_put(&row, "bits", js_number(d->next_check[i].bits_1));
        js_put(&row, "says", json_string(check->says));
        js_put(&row, "cautions", cautions(run, &check->cautions));
        js_add(&array, row);
    }
    return array;
}

static json_t *patterns(const ch_show_run *run)
{
    json_t *object = json_object();
    for (int p = 0; p < CH_CLUTCH_PATTERNS; p++)
        if (run->driveline->patterns_known & (1U << p))
            js_put(&object, run->clutch->pattern[p].id, json_boolean((run->driveline->patterns & (1U << p)) != 0));
    return object;
}

static json_t *limits(const ch_driveline *d)
{
    json_t *array = json_array();
    for (unsigned bit = 1; ch_show_driveline_limit(bit) != NULL; bit <<= 1)
        if (d->limits & bit)
            js_add(&array, json_string(ch_show_driveline_limit(bit)));
    return array;
}

static json_t *told(const ch_drivelog_report *report, ch_status *status)
{
    ch_text text;
    ch_text_init(&text, 65536);
    ch_drivelog_tell(report, &text);
    json_t *array = json_array();
    const char *line = ch_text_string(&text);
    *status = text.status;
    while (*line != '\0') {
        size_t length = 0;
        while (line[length] != '\0' && line[length] != '\n')
            length++;
        if (length > 0)
            js_add(&array, json_stringn(line, length));
        line += length + (line[length] == '\n');
    }
    ch_text_clear(&text);
    return array;
}

static json_t *other_than_slip(const ch_driveline *d)
{
    json_t *object = json_object();
    js_put(&object, "wheelspin", json_integer((json_int_t)d->not_slips[CH_NOT_SLIP_WHEELSPIN]));
    js_put(&object, "clutch_or_blip", json_integer((json_int_t)d->not_slips[CH_NOT_SLIP_CLUTCH]));
    js_put(&object, "sensor", json_integer((json_int_t)d->not_slips[CH_NOT_SLIP_SENSOR]));
    js_put(&object, "too_short_or_small", json_integer((json_int_t)d->not_slips[CH_NOT_SLIP_BRIEF]));
    return object;
}

ch_status ch_show_driveline_json(const ch_show_run *run, ch_text *text, ch_err *err)
{
    static const char *const states[] = {[CH_DRIVELINE_GEARS_FOUND] = "gears_found",
                                         [CH_DRIVELINE_TOO_LITTLE] = "too_little_driving",
                                         [CH_DRIVELINE_NO_FIXED_GEARS] = "no_fixed_gears"};
    const ch_driveline *d = run->driveline;
    char verdict[CH_SHOW_RUN_SENTENCE];
    ch_status status = CH_OK;
    json_t *root = json_object();
    ch_show_driveline_verdict(d, verdict);
    js_put(&root, "rows", json_integer((json_int_t)d->rows));
    js_put(&root, "seconds", js_number(run->report->seconds));
    js_put(&root, "state", json_string(states[d->state]));
    js_put(&root, "says", json_string(verdict));
    js_put(&root, "gears", gears(d));
    js_put(&root, "slips", slips(d));
    js_put(&root, "capacity_Nm", isfinite(d->capacity_n_m[1]) ? js_numbers(d->capacity_n_m, 3, 1) : json_null());
    js_put(&root, "design_Nm", isfinite(d->design_n_m[0]) ? js_numbers(d->design_n_m, 2, 1) : json_null());
    js_put(&root, "fade_percent_per_100_C", percent(d->fade_1_k * 100));
    js_put(&root, "causes", causes(d));
    js_put(&root, "next_checks", next_checks(run));
    js_put(&root, "patterns", patterns(run));
    js_put(&root, "not_slip", other_than_slip(d));
    js_put(&root, "lag_s", js_number(d->lag_s));
    js_put(&root, "engine_fresh_s", js_number(d->engine_fresh_s));
    js_put(&root, "road_fresh_s", js_number(d->road_fresh_s));
    js_put(&root, "shortest_slip_s", js_number(d->shortest_slip_s));
    js_put(&root, "loaded_s", js_number(d->loaded_s));
    js_put(&root, "limits", limits(d));
    js_put(&root, "log", told(run->report, &status));
    if (status < 0) {
        json_decref(root);
        return ch_fail(err, status, NULL, "no memory for what is to be said of the log");
    }
    return js_finish(root, text, err);
}

/* A judgement as JSON. The names are a promise: crosshatch-judge(1). */
#include <string.h>

#include "js.h"
#include "judgement_parts.h"

const char *ch_show_question_name(ch_question_kind kind)
{
    static const char *const NAMES[CH_QUESTION_KIND_COUNT] = {
        [CH_QUESTION_ALL_LOW] = "all_low",
        [CH_QUESTION_ALL_HIGH] = "all_high",
        [CH_QUESTION_FALLING] = "falling",
        [CH_QUESTION_FIRST_OVER_FINAL] = "first_over_final",
        [CH_QUESTION_IMPOSSIBLE] = "impossible",
        [CH_QUESTION_UNIT] = "unit",
        [CH_QUESTION_TOO_FEW_STROKES] = "too_few_strokes",
        [CH_QUESTION_MISSING] = "missing",
        [CH_QUESTION_REPEAT] = "repeat",
        [CH_QUESTION_CONTRADICTION] = "contradiction",
        [CH_QUESTION_THROTTLE_SHUT] = "throttle_shut",
        [CH_QUESTION_BAROMETER] = "barometer",
        [CH_QUESTION_BEYOND_SCALE] = "beyond_scale",
        [CH_QUESTION_OIL_DOSE] = "oil_dose",
        [CH_QUESTION_ONE_HIGH] = "one_high",
        [CH_QUESTION_COLD_OR_SLOW] = "cold_or_slow",
        [CH_QUESTION_OUTSIDE] = "outside",
    };
    return NAMES[kind];
}

/* A cylinder's number, or null for the engine as a whole. */
static json_t *cylinder_number(int cylinder)
{
    return cylinder > 0 ? json_integer(cylinder) : json_null();
}

static json_t *because(const ch_judgement *judgement)
{
    json_t *array = json_array();
    for (size_t i = 0; i < judgement->because_count; i++)
        js_add(&array, json_string(judgement->because[i]));
    return array;
}

static json_t *cylinder(const ch_judged_cylinder *judged)
{
    json_t *row = json_object();
    js_put(&row, "cylinder", json_integer(judged->cylinder));
    js_put(&row, "n", json_integer(judged->n));
    js_put(&row, "mean_kPa", js_kilopascal(judged->mean_pa));
    js_put(&row, "median_kPa", js_kilopascal(judged->median_pa));
    js_put(&row, "sd_kPa", js_kilopascal(judged->sd_pa));
    js_put(&row, "standard_uncertainty_kPa", js_kilopascal(judged->u_pa));
    js_put(&row, "standard_uncertainty_with_gauge_kPa", js_kilopascal(judged->u_with_gauge_pa));
    js_put(&row, "degrees_of_freedom", js_number(judged->df));
    js_put(&row, "first_over_final", js_number(judged->first_over_final_1));
    js_put(&row, "expected_kPa", js_numbers(judged->expected_pa, 2, 1e3));
    js_put(&row, "expected_median_kPa", js_kilopascal(judged->expected_median_pa));
    js_put(&row, "standard_day_kPa", js_kilopascal(judged->standard_day_pa));
    js_put(&row, "standard_day_uncertainty_kPa", js_kilopascal(judged->u_standard_day_pa));
    js_put(&row, "leak_area_mm2", js_numbers(judged->leak_area_m2, 3, 1e-6));
    js_put(&row, "below_minimum", json_boolean(judged->below_minimum));
    js_put(&row, "chance_below_minimum", js_number(judged->chance_below_minimum_1));
    js_put(&row, "repeat_gain", js_number(judged->repeat_gain_1));
    return row;
}

static json_t *compression(const ch_judgement *judgement)
{
    json_t *object = json_object(), *cylinders = json_array();
    js_put(&object, "lowest_over_highest", js_number(judgement->ratio_1));
    js_put(&object, "lowest_over_highest_interval", js_numbers(judgement->ratio_interval_1, 2, 1.0));
    js_put(&object, "chance_below_75_percent", js_number(judgement->chance_below_75_1));
    js_put(&object, "lowest_cylinder", cylinder_number(judgement->lowest));
    js_put(&object, "highest_cylinder", cylinder_number(judgement->highest));
    js_put(&object, "manual_minimum_this_day_kPa", js_kilopascal(judgement->minimum_pa));
    js_put(&object, "manual_standard_this_day_kPa", js_kilopascal(judgement->standard_pa));
    js_put(&object, "repeatability_kPa", js_kilopascal(judgement->pooled_sd_pa));
    js_put(&object, "repeatability_degrees_of_freedom", js_number(judgement->pooled_df));
    js_put(&object, "repeatability_assumed", json_boolean(judgement->pooled_assumed));
    js_put(&object, "repeat_cylinder", cylinder_number(judgement->repeat_cylinder));
    for (int c = 0; c < judgement->cylinders; c++)
        js_add(&cylinders, cylinder(&judgement->cylinder[c]));
    js_put(&object, "cylinders", cylinders);
    return object;
}

static json_t *causes(const ch_trace *trace)
{
    json_t *array = json_array();
    for (int c = 0; c < trace->cylinders; c++) {
        for (int cause = 0; cause < CH_CAUSE_COUNT; cause++) {
            json_t *row = json_object();
            js_put(&row, "cylinder", json_integer(trace->cylinder[c].cylinder));
            js_put(&row, "cause", json_string(ch_cause_name((ch_cause)cause)));
            js_put(&row, "probability", js_number(trace->cylinder[c].cause_1[cause]));
            js_put(&row, "before", js_number(trace->cylinder[c].prior_1[cause]));
            js_add(&array, row);
        }
    }
    return array;
}

static json_t *next_checks(const ch_show_judged *judged)
{
    json_t *array = json_array();
    for (size_t i = 0; i < judged->judgement->trace.next_check_count; i++) {
        const ch_trace_check *next = &judged->judgement->trace.next_check[i];
        json_t *row = json_object(), *cautions = json_array();
        js_put(&row, "check", json_string(next->check->id));
        js_put(&row, "cylinder", cylinder_number(next->cylinder));
        js_put(&row, "minutes", js_number(next->minutes));
        js_put(&row, "bits", js_number(next->bits_1));
        js_put(&row, "title", json_string(next->check->title));
        for (size_t k = 0; k < next->check->cautions.count; k++)
            js_add(&cautions, json_string(judged->knowledge->cautions[next->check->cautions.at[k]].id));
        js_put(&row, "cautions", cautions);
        js_add(&array, row);
    }
    return array;
}

static json_t *rules(const ch_judgement *judgement)
{
    json_t *array = json_array();
    for (int i = 0; i < CH_RULE_COUNT; i++) {
        const ch_rule_outcome *rule = &judgement->rule[i];
        json_t *row = json_object();
        js_put(&row, "rule", json_string(rule->id));
        js_put(&row, "says", json_string(rule->says));
        js_put(&row, "source", json_string(rule->source));
        js_put(&row, "chosen", json_boolean(rule->rule == judgement->chosen_rule));
        js_put(&row, "applies", json_boolean(rule->applies));
        js_put(&row, "passes", rule->applies ? json_boolean(rule->passes) : json_null());
        js_put(&row, "chance_broken", rule->applies ? js_number(rule->chance_broken_1) : json_null());
        js_add(&array, row);
    }
    return array;
}

static json_t *questions(const ch_show_judged *judged)
{
    json_t *array = json_array();
    for (size_t i = 0; i < judged->judgement->question_count; i++) {
        const ch_question *question = &judged->judgement->question[i];
        json_t *row = json_object();
        js_put(&row, "question", json_string(ch_show_question_name(question->kind)));
        js_put(&row, "cylinder", cylinder_number(question->cylinder));
        js_put(&row, "line",
               question->row < judged->sheet->compression_count
                   ? json_integer(judged->sheet->compression[question->row].line)
                   : json_null());
        js_put(&row, "weight", js_number(question->weight_1));
        js_put(&row, "text", json_string(question->text));
        js_add(&array, row);
    }
    return array;
}

/* Where the air of each cylinder goes, and how well the model holds the sheet. */
static json_t *trace_of(const ch_trace *trace)
{
    json_t *object = json_object(), *cylinders = json_array();
    js_put(&object, "effective_samples", js_number(trace->effective_samples));
    js_put(&object, "drawing_error", js_number(ch_trace_drawing_error_1(trace)));
    js_put(&object, "reliable", json_boolean(trace->reliable));
    js_put(&object, "chance_of_any_fault", js_number(trace->any_fault_1));
    for (int c = 0; c < trace->cylinders; c++) {
        json_t *row = json_object(), *paths = json_object();
        js_put(&row, "cylinder", json_integer(trace->cylinder[c].cylinder));
        for (int path = 0; path < CH_PATH_COUNT; path++)
            js_put(&paths, ch_path_name((ch_path)path), js_square_millimetre(trace->cylinder[c].path_m2[path]));
        js_put(&row, "paths_mm2", paths);
        js_add(&cylinders, row);
    }
    js_put(&object, "cylinders", cylinders);
    return object;
}

static json_t *why(const ch_show_judged *judged)
{
    json_t *object = json_object(), *array = json_array();
    for (size_t i = 0; i < judged->reason_count; i++) {
        const ch_trace_reason *reason = &judged->reason[i];
        json_t *row = json_object();
        js_put(&row, "without", json_string(reason->what));
        js_put(&row, "cause", json_string(ch_cause_name(reason->cause)));
        js_put(&row, "probability", js_number(reason->with_1));
        js_put(&row, "probability_without", js_number(reason->without_1));
        js_put(&row, "instead", json_string(ch_cause_name(reason->instead)));
        js_put(&row, "probability_instead", js_number(reason->instead_1));
        js_add(&array, row);
    }
    js_put(&object, "cylinder", json_integer(judged->why));
    js_put(&object, "reasons", array);
    return object;
}

static json_t *working(const ch_show_judged *judged)
{
    const ch_trace *trace = &judged->judgement->trace;
    json_t *object = json_object(), *reasons = json_object(), *shifts = json_object();
    for (int input = 0; input < CH_INPUT_COUNT; input++)
        if (judged->judgement->assumed[input] && judgement_takes_part((ch_input)input))
            js_put(&reasons, ch_input_name((ch_input)input), json_string(ch_input_reason((ch_input)input)));
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        js_put(&shifts, ch_doubt_name((ch_doubt)doubt), js_number(trace->shared_shift[doubt]));
    js_put(&object, "seed", json_integer((json_int_t)judged->options->seed));
    js_put(&object, "assumed_because", reasons);
    js_put(&object, "shifts_in_standard_uncertainties", shifts);
    js_put(&object, "methods",
           json_pack("[ssss]", "JCGM 100:2008", "JCGM 101:2008", "docs/method-judging.md", "docs/method.md, Tracing"));
    return object;
}

ch_status ch_show_judgement_json(const ch_show_judged *judged, bool working_wanted, ch_text *text, ch_err *err)
{
    const ch_judgement *judgement = judged->judgement;
    json_t *root = json_object();
    js_put(&root, "verdict", json_string(ch_verdict_name(judgement->verdict)));
    js_put(&root, "because", because(judgement));
    js_put(&root, "compression", compression(judgement));
    js_put(&root, "causes", causes(&judgement->trace));
    js_put(&root, "next_checks", next_checks(judged));
    js_put(&root, "assumed", js_assumed(judgement->assumed, judgement_takes_part));
    js_put(&root, "rules", rules(judgement));
    js_put(&root, "questions", questions(judged));
    js_put(&root, "trace", trace_of(&judgement->trace));
    if (judged->why > 0)
        js_put(&root, "why", why(judged));
    if (working_wanted)
        js_put(&root, "working", working(judged));
    return js_finish(root, text, err);
}

/* Judging a sheet: the parts in their order, and one struct filled by them. */
#include "crosshatch/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "judge_parts.h"

const ch_unit *judge_unit_of_sentences(const ch_sheet *sheet, const ch_judge_options *options)
{
    if (options->pressure_unit != NULL)
        return options->pressure_unit;
    const ch_unit *read = ch_sheet_reading_unit(sheet);
    return read != NULL ? read : ch_unit_find("kPa", 3);
}

ch_status judge_check(const ch_sheet *sheet, const ch_judge_options *options, ch_err *err)
{
    size_t readings = 0;
    for (size_t i = 0; i < sheet->compression_count; i++)
        readings += ch_quantity_given(&sheet->compression[i].reading);
    for (size_t i = 0; i < sheet->wet_count; i++)
        readings += ch_quantity_given(&sheet->wet[i].reading);
    readings += sheet->leakdown_count;
    if (readings == 0)
        return ch_fail(err, CH_E_INPUT, "at least one row under compression, wet or leakdown", "no reading to judge");
    if ((unsigned)options->rule >= CH_RULE_COUNT)
        return ch_fail(err, CH_E_RANGE, "one of the balance rules", "balance rule number %d", (int)options->rule);
    if (sheet->engine.cylinders < 1 || sheet->engine.cylinders > CH_CYLINDERS_MAX)
        return ch_fail(err, CH_E_RANGE, "1 to 32 cylinders", "%d cylinders", sheet->engine.cylinders);
    return CH_OK;
}

static void take_trace(ch_judgement *j)
{
    for (int c = 0; c < j->cylinders; c++) {
        ch_judged_cylinder *one = &j->cylinder[c];
        const ch_trace_cylinder *traced = &j->trace.cylinder[c];
        one->expected_pa[0] = traced->expected_pa[0];
        one->expected_median_pa = traced->expected_pa[1];
        one->expected_pa[1] = traced->expected_pa[2];
        for (int i = 0; i < 3; i++)
            one->leak_area_m2[i] = j->trace.reliable ? traced->area_m2[i] : NAN;
    }
}

/* Uncertainty without the gauge's gain, which is the same on both days where the same gauge is used. */
static void take_day(const judge_day *day, ch_judgement *j)
{
    for (int c = 0; c < j->cylinders; c++) {
        ch_judged_cylinder *one = &j->cylinder[c];
        if (one->n == 0)
            continue;
        one->standard_day_pa = judge_day_factor(day, one->mean_pa) * one->mean_pa;
        one->u_standard_day_pa =
            hypot(judge_day_factor(day, one->mean_pa) * one->u_pa, day->u_factor_1 * one->standard_day_pa);
    }
}

ch_status judge_take_balance(const ch_sheet *sheet, const judge_day *day, const judge_repeatability *scatter,
                             const ch_judge_options *options, ch_judgement *j, ch_err *err)
{
    judge_means means = {
        .scatter = *scatter, .minimum_pa = j->minimum_pa, .spread_pa = sheet->engine.limits.spread.si, .day = day};
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0) {
            means.cylinder[means.n] = c + 1;
            means.mean_pa[means.n] = j->cylinder[c].mean_pa;
            means.repeats[means.n++] = j->cylinder[c].n;
        }
    judge_balance balance;
    ch_status rc = judge_balance_compute(&means, options->rule, options->seed, &balance, err);
    if (rc < 0)
        return rc;
    j->lowest = balance.lowest;
    j->highest = balance.highest;
    j->ratio_1 = balance.ratio_1;
    memcpy(j->ratio_interval_1, balance.ratio_interval_1, sizeof j->ratio_interval_1);
    j->chance_below_75_1 = balance.chance_below_75_1;
    memcpy(j->rule, balance.rule, sizeof j->rule);
    j->chosen_rule = options->rule;
    j->repeat_cylinder = balance.repeat_cylinder;
    for (int i = 0; i < means.n; i++)
        j->cylinder[means.cylinder[i] - 1].repeat_gain_1 = balance.repeat_gain_1[i];
    return CH_OK;
}

/* What was traced from numbers that are no pressures of this engine is as wrong as they are. */
static void name_no_cause(ch_judgement *j)
{
    j->trace.reliable = false;
    if (j->outside)
        j->trace.next_check_count = 0;
    for (int c = 0; c < j->cylinders; c++)
        for (int i = 0; i < 3; i++)
            j->cylinder[c].leak_area_m2[i] = NAN;
}

static ch_status judge_all(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judge_options *options,
                           judge_readings *readings, ch_judgement *j, ch_err *err)
{
    ch_setup setup;
    judge_repeatability scatter;
    judge_bounds bounds;
    judge_day day;
    const ch_unit *unit = judge_unit_of_sentences(sheet, options);
    const int cylinders = sheet->engine.cylinders;
    ch_status rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc >= 0)
        rc = judge_day_build(&setup, cylinders, &day, err);
    if (rc >= 0)
        rc = judge_repeats(sheet, &setup, &day, readings, j, &scatter, err);
    if (rc >= 0)
        rc = judge_bounds_compute(&setup, cylinders, &bounds, err);
    if (rc >= 0)
        rc = judge_bounds_wet(sheet, &setup, &bounds, err);
    const ch_trace_options trace_options = {.seed = options->seed, .crew = options->crew};
    if (rc >= 0 && options->traced != NULL)
        j->trace = *options->traced;
    else if (rc >= 0)
        rc = ch_trace_run(sheet, &setup, knowledge, &trace_options, &j->trace, err);
    if (rc < 0)
        return rc;
    memcpy(j->assumed, setup.assumed, sizeof j->assumed);
    for (size_t i = 0; i < sheet->wet_count; i++)
        j->wet_left_out += !ch_setup_holds_dose(&setup, &sheet->wet[i]);
    take_trace(j);
    take_day(&day, j);
    rc = judge_take_balance(sheet, &day, &scatter, options, j, err);
    const judge_asked asked = {sheet, &setup, readings, &scatter, &bounds, unit, knowledge};
    if (rc >= 0)
        rc = judge_questions(&asked, j, err);
    if (rc >= 0 && j->unreadable)
        name_no_cause(j);
    if (rc >= 0)
        judge_verdict(sheet, knowledge, unit, j);
    if (j->do_not_run)
        j->repeat_cylinder = 0;
    return rc;
}

ch_status ch_judge(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judge_options *options,
                   ch_judgement *judgement, ch_err *err)
{
    ch_status rc = judge_check(sheet, options, err);
    if (rc < 0)
        return rc;
    judge_readings readings;
    rc = judge_readings_collect(sheet, &readings, err);
    if (rc < 0)
        return rc;
    ch_judgement *made = calloc(1, sizeof *made);
    if (made == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge");
    else
        rc = judge_all(sheet, knowledge, options, &readings, made, err);
    if (rc >= 0)
        *judgement = *made;
    free(made);
    judge_readings_clear(&readings);
    return rc;
}

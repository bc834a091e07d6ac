/* Judging a sheet for the history: what is kept of it, the limits of its leak areas, and the form in which a store keeps it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/do_not_run.h"
#include "crosshatch/emulator.h"
#include "crosshatch/history.h"
#include "crosshatch/prior.h"

static const double TOLERANCE = 1e-4; /* of the cranking model; limits are ratios of readings, errors drop out */
enum { NODES = 18 };
static const double NODE_STEP = 1.35; /* areas of the nodes: 1, 1.35 ... 164 times that of a sound cylinder */

/*
 * Leak areas at which the model's reading has fallen to `ratio_1` of a sound cylinder's. All of the leak is at the rings: where it is hardly
 * matters to the reading (docs/method.md).
 */
static ch_status limits(const ch_setup *setup, int cylinders, double sound_m2, const double ratio_1[2],
                        double area_m2[2], ch_err *err)
{
    const double none[CH_DOUBT_COUNT] = {0};
    ch_cranking engine;
    ch_status rc = ch_engine_instance(setup, cylinders, none, NULL, &engine, err);
    double sound_pa = NAN, before_pa = NAN, before_m2 = sound_m2;
    area_m2[0] = area_m2[1] = INFINITY;
    for (int i = 0; rc >= 0 && i < NODES; i++) {
        double gauge_pa[CH_STROKES_MAX];
        const double at_m2 = sound_m2 * pow(NODE_STEP, i);
        engine.leaks = (ch_leak_areas){.rings_m2 = at_m2};
        rc = ch_cranking_run(&engine, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
        if (rc < 0)
            break;
        const double reading_pa = gauge_pa[engine.strokes - 1];
        if (i == 0)
            sound_pa = reading_pa;
        for (int k = 0; i > 0 && k < 2; k++)
            if (isinf(area_m2[k]) && reading_pa <= ratio_1[k] * sound_pa) {
                const double part = (before_pa - ratio_1[k] * sound_pa) / (before_pa - reading_pa);
                area_m2[k] = before_m2 * pow(at_m2 / before_m2, part);
            }
        before_pa = reading_pa;
        before_m2 = at_m2;
        if (isfinite(area_m2[0]) && isfinite(area_m2[1]))
            break;
    }
    return rc;
}

/* The car's own minimum over its standard, where both are given. */
static double manual_ratio(const ch_limits *limits_)
{
    return ch_quantity_given(&limits_->minimum) && ch_quantity_given(&limits_->standard)
               ? limits_->minimum.si / limits_->standard.si
               : NAN;
}

static int leakdowns_of(const ch_sheet *sheet, int cylinder)
{
    int tests = 0;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        tests += sheet->leakdown[i].cylinder == cylinder && ch_quantity_given(&sheet->leakdown[i].loss);
    return tests;
}

static int signs_of(const ch_sheet *sheet, int cylinder)
{
    int signs = 0;
    for (size_t i = 0; i < sheet->observed_count; i++)
        signs += sheet->observed[i].cylinder == cylinder;
    return signs;
}

bool ch_history_tested(const ch_history_cylinder *cylinder)
{
    return cylinder->n > 0 || cylinder->leakdowns > 0;
}

static void take(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judgement *j, ch_history_result *r)
{
    r->cylinders = j->cylinders;
    r->verdict = j->verdict;
    r->reliable = j->trace.reliable;
    r->unreadable = j->unreadable;
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        ch_history_cylinder *to = &r->cylinder[c];
        to->n = one->n;
        to->leakdowns = leakdowns_of(sheet, c + 1);
        to->signs = signs_of(sheet, c + 1);
        to->mean_pa = one->mean_pa;
        to->standard_day_pa = one->n > 0 ? one->standard_day_pa : NAN;
        to->u_standard_day_pa = one->n > 0 ? one->u_standard_day_pa : NAN;
        memcpy(to->ladder_m2, j->trace.cylinder[c].ladder_m2, sizeof to->ladder_m2);
        memcpy(to->cause_1, j->trace.cylinder[c].cause_1, sizeof to->cause_1);
    }
    for (size_t i = 0; i < sheet->observed_count; i++)
        for (int c = 0; c < j->cylinders && ch_do_not_run_row(sheet, knowledge, i) != NULL; c++)
            if (sheet->observed[i].cylinder == 0 || sheet->observed[i].cylinder == c + 1)
                r->cylinder[c].broken = true;
}

ch_status ch_history_judge(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judge_options *options,
                           ch_history_result *result, ch_err *err)
{
    ch_judgement *j = malloc(sizeof *j);
    ch_history_result *made = calloc(1, sizeof *made);
    ch_setup setup;
    ch_status rc = j == NULL || made == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge a sheet") : CH_OK;
    if (rc >= 0)
        rc = ch_judge(sheet, knowledge, options, j, err);
    if (rc >= 0)
        rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc >= 0) {
        take(sheet, knowledge, j, made);
        double sound_m2 = 0.0;
        for (int p = 0; p < CH_PATH_COUNT; p++)
            sound_m2 += knowledge->background_m2[p].median *
                        (p == CH_PATH_RINGS ? setup.cranking.bore.bore_m / knowledge->background_rings_bore_m : 1.0);
        made->sound_m2 = sound_m2;
        made->u_sound_1 = hypot(CH_PRIOR_RING_SD_ENGINE, CH_PRIOR_RING_SD_CYLINDER);
        /* a stricter fault limit moves the other in proportion */
        const double fault_1 = fmin(fmax(CH_HISTORY_FAULT_1, manual_ratio(&sheet->engine.limits)), 0.99),
                     watch_1 = 1.0 - (1.0 - CH_HISTORY_WATCH_1) / (1.0 - CH_HISTORY_FAULT_1) * (1.0 - fault_1),
                     ratio_1[2] = {watch_1, fault_1};
        double area_m2[2];
        rc = limits(&setup, sheet->engine.cylinders, sound_m2, ratio_1, area_m2, err);
        made->watch_m2 = area_m2[0];
        made->fault_m2 = area_m2[1];
    }
    if (rc >= 0)
        *result = *made;
    free(j);
    free(made);
    return rc;
}

/* ---- as numbers ---- */

enum { HEAD = 8, BEFORE = 7, EACH = BEFORE + CH_TRACE_LADDER + CH_CAUSE_COUNT };

size_t ch_history_numbers(int cylinders)
{
    return HEAD + EACH * (size_t)cylinders;
}

void ch_history_write(const ch_history_result *r, double numbers[])
{
    const double head[HEAD] = {r->cylinders, r->verdict,  r->reliable, r->sound_m2,
                               r->u_sound_1, r->watch_m2, r->fault_m2, r->unreadable};
    memcpy(numbers, head, sizeof head);
    double *at = numbers + HEAD;
    for (int c = 0; c < r->cylinders; c++, at += EACH) {
        const ch_history_cylinder *one = &r->cylinder[c];
        at[0] = one->n;
        at[1] = one->mean_pa;
        at[2] = one->standard_day_pa;
        at[3] = one->u_standard_day_pa;
        at[4] = one->leakdowns;
        at[5] = one->signs;
        at[6] = one->broken;
        memcpy(at + BEFORE, one->ladder_m2, sizeof one->ladder_m2);
        memcpy(at + BEFORE + CH_TRACE_LADDER, one->cause_1, sizeof one->cause_1);
    }
}

static bool is_whole(double x, double least, double most)
{
    return x >= least && x <= most && x == floor(x);
}

ch_status ch_history_read(const double numbers[], size_t count, ch_history_result *result, ch_err *err)
{
    const bool counted = count >= HEAD && is_whole(numbers[0], 1.0, CH_CYLINDERS_MAX) &&
                         count == ch_history_numbers((int)numbers[0]) &&
                         is_whole(numbers[1], 0.0, CH_VERDICT_UNCLEAR) && is_whole(numbers[2], 0.0, 1.0);
    bool good = counted && numbers[3] > 0.0 && numbers[4] > 0.0 && numbers[5] > 0.0 && numbers[6] > 0.0 &&
                is_whole(numbers[7], 0.0, 1.0);
    for (size_t i = HEAD; good && i < count; i += EACH)
        good = is_whole(numbers[i], 0.0, 1e6) && is_whole(numbers[i + 4], 0.0, 1e6) &&
               is_whole(numbers[i + 5], 0.0, 1e6) && is_whole(numbers[i + 6], 0.0, 1.0);
    if (!good)
        return ch_fail(err, CH_E_INPUT, "judge the sheet again", "what was kept of a judged sheet is damaged");
    *result = (ch_history_result){.cylinders = (int)numbers[0],
                                  .verdict = (ch_verdict)numbers[1],
                                  .reliable = numbers[2] > 0.5,
                                  .sound_m2 = numbers[3],
                                  .u_sound_1 = numbers[4],
                                  .watch_m2 = numbers[5],
                                  .fault_m2 = numbers[6],
                                  .unreadable = numbers[7] > 0.5};
    const double *at = numbers + HEAD;
    for (int c = 0; c < result->cylinders; c++, at += EACH) {
        ch_history_cylinder *one = &result->cylinder[c];
        one->n = (int)at[0];
        one->mean_pa = at[1];
        one->standard_day_pa = at[2];
        one->u_standard_day_pa = at[3];
        one->leakdowns = (int)at[4];
        one->signs = (int)at[5];
        one->broken = at[6] > 0.5;
        memcpy(one->ladder_m2, at + BEFORE, sizeof one->ladder_m2);
        memcpy(one->cause_1, at + BEFORE + CH_TRACE_LADDER, sizeof one->cause_1);
    }
    return CH_OK;
}

/* ---- evidence without the prior ---- */

void ch_history_evidence(const double ladder_m2[CH_TRACE_LADDER], double fault_1, double log_sound, double u_sound_1,
                         double *centre, double *u)
{
    /* A fault adds an area of its own: about one and a half square millimetres, within a factor of three (knowledge/causes.yaml). */
    const double LOG_FAULT = log(1.5e-6), U_FAULT = 1.1;
    *centre = *u = NAN;
    const double low = ladder_m2[0], middle = ladder_m2[CH_TRACE_LADDER / 2], high = ladder_m2[CH_TRACE_LADDER - 1];
    if (!(low > 0.0 && middle >= low && high > low && isfinite(high)) || !(fault_1 >= 0.0 && fault_1 <= 1.0))
        return;
    const double at = log(middle),
                 u_at = (log(high) - log(low)) / (2.0 * 1.6448536269514722); /* 5 % to 95 % of a normal */
    const double log_prior = (1.0 - fault_1) * log_sound + fault_1 * LOG_FAULT,
                 v_prior = (1.0 - fault_1) * u_sound_1 * u_sound_1 + fault_1 * U_FAULT * U_FAULT;
    /* Of a normal prior and normal evidence, the posterior's distance from the prior is 1 - r of the evidence's. Towards r = 1 nothing can be
     * told any more, so the factor stops at 5; a posterior wider than the prior (two humps, mostly) is taken as it is. */
    const double r = u_at * u_at / v_prior, factor = r <= 0.8 ? 1.0 / (1.0 - r) : fmax(5.0 - 10.0 * (r - 0.8), 1.0);
    *u = u_at * sqrt(factor);
    *centre = log_prior + (at - log_prior) * factor;
}

/* ---------------------------------------------------------------- the newest of several */

bool ch_history_later(const ch_history_sheet *a, const ch_history_sheet *b)
{
    const long left = ch_date_days(a->day), right = ch_date_days(b->day);
    if (left != right)
        return left > right;
    return a->opened_s != b->opened_s ? a->opened_s > b->opened_s : a->id > b->id;
}

bool ch_history_to_come(ch_date day, ch_date today)
{
    return ch_date_days(day) > ch_date_days(today);
}

bool ch_history_repaired(const ch_history_repair repair[], size_t repairs, ch_date since, int cylinder, ch_date today)
{
    for (size_t i = 0; i < repairs; i++)
        if (ch_date_days(repair[i].day) > ch_date_days(since) && !ch_history_to_come(repair[i].day, today) &&
            (repair[i].cylinder == 0 || repair[i].cylinder == cylinder))
            return true;
    return false;
}

int ch_history_worst(const ch_history_result *result, double *wrong_1)
{
    int worst = 0;
    double most_1 = NAN;
    for (int c = 0; c < result->cylinders && result->reliable; c++) {
        const double *cause_1 = result->cylinder[c].cause_1;
        if (!ch_history_tested(&result->cylinder[c]) && result->cylinder[c].signs == 0)
            continue;
        const double wrong = 1.0 - cause_1[CH_CAUSE_SOUND] - cause_1[CH_CAUSE_MEASUREMENT_ERROR];
        if (worst == 0 || wrong > most_1) {
            worst = c + 1;
            most_1 = wrong;
        }
    }
    *wrong_1 = most_1;
    return worst;
}

const ch_history_sheet *ch_history_newest(const ch_history_sheet sheet[], size_t sheets,
                                          const ch_history_repair repair[], size_t repairs, ch_date today)
{
    const ch_history_sheet *newest = NULL;
    double wrong_1;
    for (size_t i = 0; i < sheets; i++) {
        if (ch_history_to_come(sheet[i].day, today))
            continue;
        const bool better_known = newest != NULL && newest->day_assumed != sheet[i].day_assumed;
        if (newest == NULL || (better_known ? newest->day_assumed : ch_history_later(&sheet[i], newest)))
            newest = &sheet[i];
    }
    if (newest == NULL)
        return NULL;
    const int worst = ch_history_worst(&newest->result, &wrong_1);
    return ch_history_repaired(repair, repairs, newest->day, worst, today) ? NULL : newest;
}

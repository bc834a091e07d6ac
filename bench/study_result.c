/* Figures made of the results of virtual engines. */
#include "study_result.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_cdf.h>

const double LADDER_1[LADDER] = {0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50,
                                 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85, 0.90, 0.95};

double result_highest_pa(const engine_result *engine)
{
    double highest_pa = 0.0;
    for (int c = 0; c < engine->cylinders; c++)
        highest_pa = fmax(highest_pa, engine->cylinder[c].reading_pa);
    return highest_pa;
}

share result_coverage(const engine_result results[], size_t n, double p_1)
{
    int low = -1, high = -1;
    for (int q = 0; q < LADDER; q++) {
        low = fabs(LADDER_1[q] - p_1) < 1e-9 ? q : low;
        high = fabs(LADDER_1[q] - (1.0 - p_1)) < 1e-9 ? q : high;
    }
    size_t inside = 0, all = 0;
    for (size_t i = 0; i < n && low >= 0 && high >= 0; i++)
        for (int c = 0; c < results[i].cylinders && results[i].reliable; c++) {
            const int rank = results[i].cylinder[c].rank;
            all++;
            inside += rank > low && rank <= high;
        }
    return (share){.value = all > 0 ? (double)inside / (double)all : NAN, .n = all};
}

double result_ranks(const engine_result results[], size_t n, size_t count[RANKS], double *chi_square)
{
    size_t all = 0;
    memset(count, 0, RANKS * sizeof *count);
    for (size_t i = 0; i < n; i++)
        if (results[i].cylinders > 0 && results[i].reliable) {
            count[results[i].cylinder[results[i].chosen].rank]++;
            all++;
        }
    *chi_square = 0.0;
    for (int r = 0; r < RANKS; r++) {
        const double upto = r < LADDER ? LADDER_1[r] : 1.0, from = r > 0 ? LADDER_1[r - 1] : 0.0;
        const double expected = (upto - from) * (double)all;
        *chi_square += ((double)count[r] - expected) * ((double)count[r] - expected) / expected;
    }
    return gsl_cdf_chisq_Q(*chi_square, RANKS - 1);
}

static void add_said(reliability *r, double said_1, bool is_true)
{
    const int bin = (int)fmin(said_1 * RELIABILITY_BINS, RELIABILITY_BINS - 1);
    r->n[bin]++;
    r->said_1[bin] += said_1;
    r->true_1[bin] += is_true ? 1.0 : 0.0;
    r->total++;
}

void result_reliability(const engine_result results[], size_t n, int cause, bool likeliest, reliability *r)
{
    memset(r, 0, sizeof *r);
    for (size_t i = 0; i < n; i++)
        for (int c = 0; c < results[i].cylinders && results[i].reliable; c++) {
            const cylinder_result *one = &results[i].cylinder[c];
            int best = 0;
            for (int k = 1; k < CH_CAUSE_COUNT; k++)
                best = one->cause_1[k] > one->cause_1[best] ? k : best;
            for (int k = 0; k < CH_CAUSE_COUNT; k++)
                if ((cause == CH_CAUSE_COUNT || cause == k) && (!likeliest || k == best))
                    add_said(r, one->cause_1[k], (int)one->cause == k);
        }
    for (int b = 0; b < RELIABILITY_BINS; b++) {
        r->error_1 += fabs(r->said_1[b] - r->true_1[b]);
        r->said_1[b] /= (double)r->n[b];
        r->true_1[b] /= (double)r->n[b];
    }
    r->error_1 /= (double)r->total;
}

share result_sure_and_wrong(const engine_result results[], size_t n)
{
    size_t sure = 0, wrong = 0;
    for (size_t i = 0; i < n; i++) {
        bool any = false, any_wrong = false;
        for (int c = 0; c < results[i].cylinders && results[i].reliable && results[i].dry_only; c++)
            for (int k = 1; k < CH_CAUSE_COUNT; k++)
                if (results[i].cylinder[c].cause_1[k] > 0.9) {
                    any = true;
                    any_wrong = any_wrong || (int)results[i].cylinder[c].cause != k;
                }
        sure += any;
        wrong += any_wrong;
    }
    return (share){.value = sure > 0 ? (double)wrong / (double)sure : NAN, .n = sure};
}

typedef struct scored {
    double score;
    bool faulty;
} scored;

static int falling(const void *a, const void *b)
{
    const double left = ((const scored *)a)->score, right = ((const scored *)b)->score;
    return (left < right) - (left > right);
}

static double fault_1(const cylinder_result *one)
{
    return 1.0 - one->cause_1[CH_CAUSE_SOUND] - one->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

/* What `found` and `alarms` come to as the threshold falls, to points evenly spaced over the false alarms. */
static void trace_curve(const scored list[], size_t all, const detection *d, double (*curve)[2], size_t points)
{
    size_t found = 0, alarms = 0, point = 0;
    for (size_t i = 0; i < all; i++) {
        found += list[i].faulty;
        alarms += !list[i].faulty;
        for (; point < points && (double)alarms * (double)(points - 1) >= (double)point * (double)d->sound; point++) {
            curve[point][0] = (double)alarms / (double)d->sound;
            curve[point][1] = (double)found / (double)d->faulty;
        }
    }
    for (; point < points; point++)
        curve[point][0] = curve[point][1] = 1.0;
}

static bool is_counted(const cylinder_result *one, faults which)
{
    if (!one->faulty || which == FAULTS_ALL)
        return true;
    return which == FAULTS_THAT_SHOW ? one->lost_1 >= LOST_THAT_SHOWS_1 : one->extra_m2 > 0.0 || one->filling_1 != 1.0;
}

ch_status result_detection(const engine_result results[], size_t n, evidence of, faults which, detection *d,
                           double (*curve)[2], size_t points, ch_err *err)
{
    *d = (detection){.threshold_1 = 1.0};
    size_t rule_found = 0, all = 0;
    scored *list = malloc((n * VIRTUAL_CYLINDERS_MAX + 1) * sizeof *list);
    if (list == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for %zu scores", n);
    for (size_t i = 0; i < n; i++) {
        const engine_result *e = &results[i];
        if (of == EVIDENCE_DRY && !e->dry_only)
            continue;
        const double highest_pa = result_highest_pa(e);
        for (int c = 0; c < e->cylinders; c++) {
            const cylinder_result *one = &e->cylinder[c];
            if ((of == EVIDENCE_LEAKDOWN && !one->leak_tested) || !is_counted(one, which))
                continue;
            const bool rule = one->reading_pa < 0.75 * highest_pa;
            list[all++] = (scored){.score = fault_1(one), .faulty = one->faulty};
            d->faulty += one->faulty;
            d->sound += !one->faulty;
            rule_found += rule && one->faulty;
            d->alarms += rule && !one->faulty;
        }
    }
    qsort(list, all, sizeof *list, falling);
    size_t found = 0, found_at_rule = 0, alarms = 0;
    for (size_t i = 0; i < all; i++) {
        found += list[i].faulty;
        alarms += !list[i].faulty;
        if (alarms > d->alarms)
            break;
        found_at_rule = found;
        d->threshold_1 = list[i].score;
    }
    if (curve != NULL)
        trace_curve(list, all, d, curve, points);
    free(list);
    d->false_alarm_1 = (double)d->alarms / (double)d->sound;
    d->rule_missed_1 = 1.0 - (double)rule_found / (double)d->faulty;
    d->missed_1 = 1.0 - (double)found_at_rule / (double)d->faulty;
    return CH_OK;
}

missed result_missed(const engine_result results[], size_t n, int cause, double from_1, double upto_1,
                     double threshold_1)
{
    missed m = {0};
    for (size_t i = 0; i < n; i++) {
        const double highest_pa = result_highest_pa(&results[i]);
        for (int c = 0; c < results[i].cylinders; c++) {
            const cylinder_result *one = &results[i].cylinder[c];
            if (!one->faulty || (cause != CH_CAUSE_COUNT && (int)one->cause != cause) || !(one->lost_1 >= from_1) ||
                !(one->lost_1 < upto_1))
                continue;
            m.of++;
            m.by_tracing += fault_1(one) < threshold_1;
            m.by_rule += !(one->reading_pa < 0.75 * highest_pa);
        }
    }
    return m;
}

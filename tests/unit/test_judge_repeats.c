/* Promises of judge/repeats.c: means, pooled spread, the step of the dial, uncertainty after the GUM. */
#include <gsl/gsl_cdf.h>

#include "crosshatch/sampling.h"
#include "fail_alloc.h"
#include "judge_sheets.h"

static ch_judgement judgement;

static void repeats_of(const char *text, judge_repeatability *scatter)
{
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    sheet_of(text, &sheet);
    setup_of(&sheet, &setup);
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    memset(&judgement, 0, sizeof judgement);
    assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, scatter, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

/* JCGM 100:2008 (GUM), 4.4.3 and table 1: twenty readings, mean 100.14 (100.145), s = 1.49, u of the mean 0.33. Here in kPa. The dial's step is
 * small enough not to count. */
static void twenty_readings_give_the_gums_mean_and_uncertainty(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of(
        "{sheet: 1, units: {pressure: kPa}, engine: {cylinders: 1}, gauge: {resolution: 0.001 kPa}, compression: ["
        "{cylinder: 1, reading: 96.90}, {cylinder: 1, reading: 98.18}, {cylinder: 1, reading: 98.25},"
        "{cylinder: 1, reading: 98.61}, {cylinder: 1, reading: 99.03}, {cylinder: 1, reading: 99.49},"
        "{cylinder: 1, reading: 99.56}, {cylinder: 1, reading: 99.74}, {cylinder: 1, reading: 99.89},"
        "{cylinder: 1, reading: 100.07}, {cylinder: 1, reading: 100.33}, {cylinder: 1, reading: 100.42},"
        "{cylinder: 1, reading: 100.68}, {cylinder: 1, reading: 100.95}, {cylinder: 1, reading: 101.11},"
        "{cylinder: 1, reading: 101.20}, {cylinder: 1, reading: 101.57}, {cylinder: 1, reading: 101.84},"
        "{cylinder: 1, reading: 102.36}, {cylinder: 1, reading: 102.72}]}",
        &scatter);
    /* half of the last digit printed there */
    expect_close(judgement.cylinder[0].mean_pa, 100.145e3, 5.0);
    expect_close(judgement.cylinder[0].sd_pa, 1.49e3, 5.0);
    expect_close(judgement.cylinder[0].u_pa, 0.333e3, 0.5);
    expect_close(judgement.cylinder[0].df, 19.0, 0.01);
    expect_close(judgement.cylinder[0].median_pa, 100.20e3, 1e-6);
    assert_int_equal(judgement.cylinder[0].n, 20);
}

/* By hand: variances 8 (1 degree of freedom) and 12 (2): (8 + 24)/3 = 10.667, root 3.26599. */
static void spread_is_pooled_over_cylinders(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 3}, gauge: {resolution: 1 psi}, compression: ["
               "{cylinder: 2, reading: 160}, {cylinder: 1, reading: 150}, {cylinder: 2, reading: 166},"
               "{cylinder: 1, reading: 154}, {cylinder: 2, reading: 160}, {cylinder: 3, reading: 158}]}",
               &scatter);
    expect_relative(judgement.pooled_sd_pa, 3.2659863237 * PSI, 1e-9);
    expect_close(judgement.pooled_df, 3.0, 0.0);
    assert_false(judgement.pooled_assumed);
    expect_relative(judgement.cylinder[1].mean_pa, 162.0 * PSI, 1e-12);
    expect_relative(judgement.cylinder[1].sd_pa, 3.4641016151 * PSI, 1e-9);
    assert_true(isnan(judgement.cylinder[2].sd_pa));
    /* u^2 = 10.6667/3 + 1/12 + (0.5^2)/3 = 3.7222; df = 3.7222^2/((10.6667/3)^2/3) = 3.2877 (JCGM 100:2008, G.4.1) */
    expect_relative(judgement.cylinder[1].u_pa, 1.9293 * PSI, 1e-4);
    expect_relative(judgement.cylinder[1].df, 3.2877, 1e-4);
}

/* Common practice: one gauge and a good battery repeat within 2 to 4 psi; 1.5 % of 170 psi is 2.55 psi. */
static void without_a_repeat_the_stated_default_stands_in_and_says_so(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 170},"
               "{cylinder: 2, reading: 161}]}",
               &scatter);
    assert_true(judgement.pooled_assumed);
    expect_relative(judgement.pooled_sd_pa, 2.55 * PSI, 1e-9);
    expect_close(judgement.pooled_df, 3.0, 0.0);
}

/* By hand: variance 8 with one degree of freedom, two from 1.5 % of 162 = 2.43: (8 + 2 * 5.9049)/3 = 6.60327, root 2.56968. */
static void a_single_repeat_is_filled_up_with_the_default(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 160},"
               "{cylinder: 1, reading: 164}, {cylinder: 2, reading: 161}]}",
               &scatter);
    assert_false(judgement.pooled_assumed);
    expect_relative(judgement.pooled_sd_pa, 2.56968 * PSI, 1e-5);
    expect_close(judgement.pooled_df, 3.0, 0.0);
}

static double step_of(const char *readings)
{
    char text[400];
    ch_sheet sheet;
    snprintf(text, sizeof text, "{sheet: 1, engine: {cylinders: 4}, compression: [%s]}", readings);
    sheet_of(text, &sheet);
    const double step_pa = judge_step_pa(sheet.compression, sheet.compression_count);
    ch_sheet_clear(&sheet);
    return step_pa;
}

static void step_of_the_dial_is_seen_in_the_readings(void **state)
{
    (void)state;
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 155 psi}"), 5.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 152.5 psi}"), 2.5 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 153 psi}"), PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 152 psi}, {cylinder: 2, reading: 154 psi}"), 2.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 170 psi}"), 10.0 * PSI, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 12.1 bar}, {cylinder: 2, reading: 12.4 bar}"), 0.1e5, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 1200 kPa}, {cylinder: 2, reading: 1250 kPa}"), 50e3, 1e-9);
    expect_relative(step_of("{cylinder: 1, reading: 1.213 MPa}, {cylinder: 2, reading: 1.25 MPa}"), 1e3, 1e-9);
    /* one row in another unit: the coarser of both counts */
    expect_relative(step_of("{cylinder: 1, reading: 150 psi}, {cylinder: 2, reading: 10.5 bar}"), 10.0 * PSI, 1e-9);
    assert_true(isnan(step_of("{cylinder: 1, reading: 0 psi}, {cylinder: 2, reading: 0 psi}")));
}

/* Source: ASME B40.100 grade B (from memory): 2 % of span in the middle half. 300 psi at 150: +-6 psi, u = 6/sqrt(3) (JCGM 100:2008, 4.3.7). */
static void the_gauges_accuracy_counts_only_where_the_gain_does(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, limits: {minimum: 150}}, gauge: {span: 300, "
               "accuracy: "
               "grade B, resolution: 1}, compression: [{cylinder: 1, reading: 150}, {cylinder: 1, reading: 150},"
               "{cylinder: 1, reading: 150}, {cylinder: 1, reading: 150}]}",
               &scatter);
    const ch_judged_cylinder *one = &judgement.cylinder[0];
    expect_relative(one->u_pa, sqrt(1.0 / 12.0 + 0.25 / 3.0) * PSI, 1e-9);
    expect_relative(one->u_with_gauge_pa, sqrt(1.0 / 12.0 + 0.25 / 3.0 + 12.0) * PSI, 1e-9);
    expect_relative(scatter.gain_limit_1, 0.04, 1e-9);
    /* exactly on the limit: kept, and a coin's chance */
    assert_false(one->below_minimum);
    expect_close(one->chance_below_minimum_1, 0.5, 1e-9);
}

static void order_of_rows_changes_no_bit(void **state)
{
    (void)state;
    judge_repeatability one, other;
    static ch_judgement first;
    repeats_of("{sheet: 1, units: {pressure: bar}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 11.1},"
               "{cylinder: 1, reading: 11.3}, {cylinder: 1, reading: 11.7}, {cylinder: 2, reading: 10.9}]}",
               &one);
    first = judgement;
    repeats_of("{sheet: 1, units: {pressure: bar}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 11.7},"
               "{cylinder: 2, reading: 10.9}, {cylinder: 1, reading: 11.1}, {cylinder: 1, reading: 11.3}]}",
               &other);
    assert_memory_equal(&first.cylinder[0].mean_pa, &judgement.cylinder[0].mean_pa, sizeof(double));
    assert_memory_equal(&first.cylinder[0].u_pa, &judgement.cylinder[0].u_pa, sizeof(double));
    assert_memory_equal(&first.pooled_sd_pa, &judgement.pooled_sd_pa, sizeof(double));
}

static void a_needle_that_does_not_move_is_a_reading(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 2}, compression: [{cylinder: 1, reading: 0, "
               "first_stroke: 0}]}",
               &scatter);
    expect_close(judgement.cylinder[0].mean_pa, 0.0, 0.0);
    assert_true(judgement.cylinder[0].u_pa > 0.0);
    assert_true(isnan(judgement.cylinder[0].first_over_final_1));
    assert_int_equal(judgement.cylinder[1].n, 0);
    assert_true(isnan(judgement.cylinder[1].mean_pa));
}

static void first_stroke_is_set_against_its_own_final_reading(void **state)
{
    (void)state;
    judge_repeatability scatter;
    repeats_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 160, "
               "first_stroke: "
               "80}, {cylinder: 1, reading: 170}, {cylinder: 1, reading: 164, first_stroke: 90}]}",
               &scatter);
    expect_relative(judgement.cylinder[0].first_over_final_1, 170.0 / 324.0, 1e-12);
}

static void sorting_survives_every_failed_allocation(void **state)
{
    (void)state;
    ch_sheet sheet;
    sheet_of("{sheet: 1, engine: {cylinders: 1}, compression: [{cylinder: 1, reading: 12 bar}]}", &sheet);
    long faults = 0;
    for (long n = 1;; n++) {
        judge_readings readings;
        fail_alloc_at(n);
        const ch_status rc = judge_readings_collect(&sheet, &readings, NULL);
        const bool failed = fail_alloc_stop();
        if (!failed) {
            assert_int_equal(rc, CH_OK);
            judge_readings_clear(&readings);
            assert_int_equal(fail_alloc_left(), 0);
            break;
        }
        faults++;
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, CH_E_MEMORY);
    }
    assert_int_equal(faults, 3);
    ch_sheet_clear(&sheet);
}

/* ---- drawn sheets, every figure worked out once more ---- */

/* A gauge: its words on the sheet, its span, resolution (0 = not given: what the dial's marks say, else 2.5 psi), and largest error at a reading (psi). */
static double usual_limit(double reading)
{
    (void)reading;
    return 0.03 * 300.0;
}

static double two_of_span(double reading)
{
    (void)reading;
    return 0.02 * 240.0;
}

static double five_of_reading(double reading)
{
    return 0.05 * reading;
}

/* ASME B40.100 grade B: 3 % of span, 2 % in the middle half (from memory). */
static double grade_b_of_200(double reading)
{
    return reading < 50.0 || reading > 150.0 ? 6.0 : 4.0;
}

static const struct {
    const char *says;
    double resolution, (*limit)(double reading);
} GAUGES[] = {{"{}", 0, usual_limit},
              {"{span: 240 psi, accuracy: 2 % of span}", 0, two_of_span},
              {"{accuracy: 5 % of reading, resolution: 4 psi}", 4, five_of_reading},
              {"{span: 200 psi, accuracy: grade B, resolution: 0.5 psi}", 0.5, grade_b_of_200}};

typedef struct drawn {
    int cylinders, rows, cylinder[12], first[12]; /* a first stroke in psi; 0 = not noted */
    int reading[12];                              /* psi */
    size_t gauge;
    double minimum; /* psi; 0 = not given */
} drawn;

static void draw_sheet(drawn *d, uint64_t index)
{
    static const int STEPS[] = {1, 2, 5, 10};
    ch_stream stream;
    ch_stream_init(&stream, 61, index);
    const int step = STEPS[index % 4], level = index % 7 == 0   ? 0
                                               : index % 5 == 0 ? 10
                                                                : 30 + (int)(170 * ch_stream_uniform(&stream));
    d->cylinders = 1 + (int)(4 * ch_stream_uniform(&stream));
    d->rows = 1 + (int)(11 * ch_stream_uniform(&stream));
    d->gauge = (size_t)(4 * ch_stream_uniform(&stream));
    d->minimum = ch_stream_uniform(&stream) < 0.7 ? level + 4 : 0;
    const double repeats = 8.0 * ch_stream_uniform(&stream);
    for (int i = 0; i < d->rows; i++) {
        d->cylinder[i] = 1 + (int)(d->cylinders * ch_stream_uniform(&stream));
        const double reading =
            level + 5.0 * d->cylinder[i] * (level > 0) + repeats * ch_stream_normal(&stream) * (level > 10);
        d->reading[i] = step * (int)fmax(rint(reading / step), 0.0);
        d->first[i] = ch_stream_uniform(&stream) < 0.4 ? d->reading[i] / 2 : 0;
    }
}

static void write_drawn(const drawn *d, char text[2000])
{
    size_t used = (size_t)sprintf(text, "{sheet: 1, units: {pressure: psi}, engine: {cylinders: %d", d->cylinders);
    if (d->minimum > 0)
        used += (size_t)sprintf(text + used, ", limits: {minimum: %.0f}", d->minimum);
    used += (size_t)sprintf(text + used, "}, gauge: %s, compression: [", GAUGES[d->gauge].says);
    for (int i = 0; i < d->rows; i++) {
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: %d", i > 0 ? ", " : "", d->cylinder[i],
                                d->reading[i]);
        if (d->first[i] > 0)
            used += (size_t)sprintf(text + used, ", first_stroke: %d", d->first[i]);
        text[used++] = '}';
    }
    sprintf(text + used, "]}");
}

/* The readings of a cylinder, sorted by counting. */
static int sorted_of(const drawn *d, int cylinder, int sorted[12], int row[12])
{
    int n = 0;
    for (int psi = 0; psi < 1000; psi++)
        for (int i = 0; i < d->rows; i++)
            if (d->cylinder[i] == cylinder && d->reading[i] == psi) {
                row[n] = i;
                sorted[n++] = psi;
            }
    return n;
}

/* The largest of these steps of which all readings of a sheet are multiples; 0 where all are 0. */
static int step_of_marks(const drawn *d)
{
    static const int MARKS[] = {10, 5, 2, 1}; /* of whole readings, those of 2.5 are those of 5 */
    int all = 0;
    for (int i = 0; i < d->rows; i++)
        all += d->reading[i];
    for (int k = 0; k < 4 && all > 0; k++) {
        int off = 0;
        for (int i = 0; i < d->rows; i++)
            off += d->reading[i] % MARKS[k];
        if (off == 0)
            return MARKS[k];
    }
    return 0;
}

#define SAME(got, want) expect_close((got), (want), 1e-9 * (1.0 + fabs((double)(want))))

/* One cylinder in psi: GUM 4.2.3, 4.3.7, F.2.2.1, G.4.1. */
static void expect_cylinder(const drawn *d, int c, double s, double df, double step)
{
    const ch_judged_cylinder *one = &judgement.cylinder[c];
    int sorted[12], row[12];
    const int n = sorted_of(d, c + 1, sorted, row);
    assert_int_equal(one->cylinder, c + 1);
    assert_int_equal(one->n, n);
    double first = 0.0, final = 0.0, sum = 0.0, squares = 0.0;
    for (int i = 0; i < d->rows; i++)
        if (d->cylinder[i] == c + 1 && d->first[i] > 0) {
            first += d->first[i];
            final += d->reading[i];
        }
    if (final > 0.0)
        SAME(one->first_over_final_1, first / final);
    else
        assert_true(isnan(one->first_over_final_1));
    assert_true(isnan(one->expected_pa[0]) && isnan(one->expected_pa[1]) && isnan(one->expected_median_pa));
    assert_true(isnan(one->standard_day_pa) && isnan(one->u_standard_day_pa));
    assert_true(isnan(one->leak_area_m2[0]) && isnan(one->leak_area_m2[1]) && isnan(one->leak_area_m2[2]));
    if (n == 0) {
        assert_true(isnan(one->mean_pa) && isnan(one->median_pa) && isnan(one->sd_pa) && isnan(one->u_pa));
        assert_true(isnan(one->u_with_gauge_pa) && isnan(one->df) && isnan(one->chance_below_minimum_1));
        assert_false(one->below_minimum);
        return;
    }
    for (int i = 0; i < n; i++)
        sum += sorted[i];
    const double mean = sum / n, limit = GAUGES[d->gauge].limit(mean);
    for (int i = 0; i < n; i++)
        squares += (sorted[i] - mean) * (sorted[i] - mean);
    SAME(one->mean_pa / PSI, mean);
    SAME(one->median_pa / PSI, 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]));
    if (n > 1)
        SAME(one->sd_pa / PSI, sqrt(squares / (n - 1)));
    else
        assert_true(isnan(one->sd_pa));
    const double repeat2 = s * s / n, other2 = step * step / 12.0 + step * step / 4.0 / 3.0, u2 = repeat2 + other2,
                 with2 = u2 + limit * limit / 3.0;
    SAME(one->u_pa / PSI, sqrt(u2));
    SAME(one->u_with_gauge_pa / PSI, sqrt(with2));
    if (s > 0.0)
        SAME(one->df, df * u2 * u2 / (repeat2 * repeat2));
    else
        assert_true(isinf(one->df));
    if (d->minimum == 0) {
        assert_true(!one->below_minimum && isnan(one->chance_below_minimum_1));
        return;
    }
    assert_int_equal(one->below_minimum, mean < d->minimum - 1e-6);
    const double t = (d->minimum - mean) / sqrt(with2);
    SAME(one->chance_below_minimum_1,
         s > 0.0 ? gsl_cdf_tdist_P(t, df * with2 * with2 / (repeat2 * repeat2)) : gsl_cdf_ugaussian_P(t));
}

static void every_figure_is_that_of_the_gum(void **state)
{
    (void)state;
    size_t filled = 0, own = 0, still = 0, marks = 0, half = 0;
    for (uint64_t index = 0; index < 160; index++) {
        drawn d;
        char text[2000];
        judge_repeatability scatter;
        draw_sheet(&d, index);
        write_drawn(&d, text);
        repeats_of(text, &scatter);
        /* pooled: squares about each cylinder's mean over the readings less the cylinders that were measured */
        double highest = 0.0, squares = 0.0, df = 0.0;
        for (int c = 1; c <= d.cylinders; c++) {
            int sorted[12], row[12];
            double sum = 0.0;
            const int n = sorted_of(&d, c, sorted, row);
            for (int i = 0; i < n; i++)
                sum += sorted[i];
            for (int i = 0; i < n; i++)
                squares += (sorted[i] - sum / n) * (sorted[i] - sum / n);
            highest = n > 0 && sum / n > highest ? sum / n : highest;
            df += n > 1 ? n - 1 : 0;
        }
        const double usual = 0.015 * (highest > 700e3 / PSI ? highest : 700e3 / PSI);
        const double all_df = df < 3.0 ? 3.0 : df, s = sqrt((squares + (all_df - df) * usual * usual) / all_df);
        const int marked = step_of_marks(&d);
        const bool detected = GAUGES[d.gauge].resolution == 0 && marked > 0;
        const double step = detected ? marked : GAUGES[d.gauge].resolution > 0 ? GAUGES[d.gauge].resolution : 2.5;
        assert_int_equal(judgement.cylinders, d.cylinders);
        SAME(judgement.pooled_sd_pa / PSI, s);
        SAME(judgement.pooled_df, all_df);
        assert_int_equal(judgement.pooled_assumed, df == 0.0);
        SAME(scatter.sd_pa / PSI, s);
        SAME(scatter.df, all_df);
        assert_int_equal(scatter.assumed, df == 0.0);
        assert_int_equal(scatter.step_detected, detected);
        SAME(scatter.step_pa / PSI, step);
        SAME(scatter.zero_limit_pa / PSI, step / 2.0);
        const double gain = highest > 0.0 ? GAUGES[d.gauge].limit(highest) / highest : 0.0;
        SAME(scatter.gain_limit_1, gain > 0.5 ? 0.5 : gain);
        assert_int_equal(judgement.cylinder[d.cylinders].cylinder, 0); /* there is no such cylinder */
        for (int c = 0; c < d.cylinders; c++)
            expect_cylinder(&d, c, s, all_df, step);
        filled += df > 0.0 && df < 3.0;
        own += df > 3.0;
        still += s == 0.0;
        marks += detected;
        half += gain > 0.5;
    }
    assert_true(filled > 10 && own > 10 && still > 3 && marks > 10 && half > 0);
}

static void readings_are_sorted_by_cylinder_size_and_row(void **state)
{
    (void)state;
    for (uint64_t index = 0; index < 60; index++) {
        drawn d;
        char text[2000];
        ch_sheet sheet;
        judge_readings readings;
        draw_sheet(&d, index);
        write_drawn(&d, text);
        sheet_of(text, &sheet);
        assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
        assert_int_equal(readings.cylinders, d.cylinders);
        assert_int_equal(readings.n, d.rows);
        size_t at = 0;
        for (int c = 0; c < d.cylinders; c++) {
            int sorted[12], row[12];
            const int n = sorted_of(&d, c + 1, sorted, row);
            assert_int_equal(readings.size[c], n);
            assert_int_equal(readings.start[c], at);
            for (int i = 0; i < n; i++, at++) {
                SAME(readings.reading_pa[at] / PSI, sorted[i]);
                assert_int_equal(readings.row[at], row[i]);
            }
        }
        judge_readings_clear(&readings);
        assert_true(readings.n == 0 && readings.reading_pa == NULL && readings.row == NULL);
        ch_sheet_clear(&sheet);
    }
}

/* Steps of all sizes in all units: 13 and 17 of them are multiples of no larger one. 10 psi and its like are the largest, a thousandth of them the smallest. */
static void every_step_is_seen_in_every_unit(void **state)
{
    (void)state;
    static const struct {
        const char *unit;
        double largest;
    } UNITS[] = {{"psi", 10}, {"kPa", 100}, {"bar", 1}, {"MPa", 0.1}, {"kgf/cm2", 1}};
    static const double PARTS[] = {1, 0.5, 0.25, 0.2, 0.1, 0.05, 0.025, 0.02, 0.01, 0.005, 0.0025, 0.002, 0.001};
    for (size_t u = 0; u < sizeof UNITS / sizeof *UNITS; u++) {
        const ch_unit *unit = ch_unit_find(UNITS[u].unit, strlen(UNITS[u].unit));
        ch_reading rows[3] = {{.cylinder = 1}, {.cylinder = 2}, {.cylinder = 3}};
        for (int i = 0; i < 3; i++)
            rows[i].reading.unit = unit;
        for (size_t k = 0; k < sizeof PARTS / sizeof *PARTS; k++) {
            const double step_pa = ch_unit_to_si(PARTS[k] * UNITS[u].largest, unit);
            rows[0].reading.si = 0.0; /* which is a multiple of all */
            rows[1].reading.si = 17.0 * step_pa;
            rows[2].reading.si = 13.0 * step_pa;
            SAME(judge_step_pa(rows, 3) / step_pa, 1.0);
        }
        const double largest_pa = ch_unit_to_si(UNITS[u].largest, unit);
        rows[0].reading.si = 40.0 * largest_pa; /* no step is larger */
        SAME(judge_step_pa(rows, 1) / largest_pa, 1.0);
        rows[0].reading.si = 17.0 * largest_pa * (1.0 + 0.9e-6);
        SAME(judge_step_pa(rows, 1) / largest_pa, 1.0);
        rows[0].reading.si = 17.0 * largest_pa * (1.0 + 1.1e-6);
        assert_true(isnan(judge_step_pa(rows, 1)));
        rows[0].reading.si = 17.0 * largest_pa * (1.0 - 1.1e-6);
        assert_true(isnan(judge_step_pa(rows, 1)));
        rows[0].reading.si = 17.00065 * largest_pa; /* between the smallest marks */
        assert_true(isnan(judge_step_pa(rows, 1)));
    }
    assert_true(isnan(judge_step_pa(NULL, 0)));
}

/* The manual's minimum: a mean on it to nine digits is not below it. */
static void below_the_minimum_is_below_it_by_more_than_rounding(void **state)
{
    (void)state;
    for (int k = 0; k < 4; k++) {
        static const double PARTS[] = {1.0 + 1e-8, 1.0, 1.0 - 0.9e-9, 1.0 - 1.1e-9};
        ch_sheet sheet;
        ch_setup setup;
        judge_readings readings;
        judge_repeatability scatter;
        sheet_of("{sheet: 1, units: {pressure: psi}, engine: {cylinders: 1, limits: {minimum: 130}}, compression: "
                 "[{cylinder: 1, reading: 130}]}",
                 &sheet);
        setup_of(&sheet, &setup);
        sheet.compression[0].reading.si = sheet.engine.limits.minimum.si * PARTS[k];
        assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
        assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, &scatter, NULL), CH_OK);
        assert_int_equal(judgement.cylinder[0].below_minimum, k == 3);
        judge_readings_clear(&readings);
        ch_sheet_clear(&sheet);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(twenty_readings_give_the_gums_mean_and_uncertainty),
        cmocka_unit_test(spread_is_pooled_over_cylinders),
        cmocka_unit_test(without_a_repeat_the_stated_default_stands_in_and_says_so),
        cmocka_unit_test(a_single_repeat_is_filled_up_with_the_default),
        cmocka_unit_test(step_of_the_dial_is_seen_in_the_readings),
        cmocka_unit_test(the_gauges_accuracy_counts_only_where_the_gain_does),
        cmocka_unit_test(order_of_rows_changes_no_bit),
        cmocka_unit_test(a_needle_that_does_not_move_is_a_reading),
        cmocka_unit_test(first_stroke_is_set_against_its_own_final_reading),
        cmocka_unit_test(sorting_survives_every_failed_allocation),
        cmocka_unit_test(every_figure_is_that_of_the_gum),
        cmocka_unit_test(readings_are_sorted_by_cylinder_size_and_row),
        cmocka_unit_test(every_step_is_seen_in_every_unit),
        cmocka_unit_test(below_the_minimum_is_below_it_by_more_than_rounding),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

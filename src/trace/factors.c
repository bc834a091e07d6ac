/* Factors on a cylinder's charge or on its reading: valves that do not open as they should, a test that misleads; on one cylinder alone, or one and
 * the same on all.
 *
 * A dry reading pins such a factor down to a few per cent, so the sums over it go where the readings allow it, at every shared state anew.
 * docs/method.md, "Tracing". */
#include <math.h>

#include "tables.h"

enum { MIDDLE = 1 }; /* ring node */

/* Scatter between cylinders (logarithm) of what washed or dry bores cost. */
static const double WASHED_SCATTER = 0.35;
/* Of what misleads all readings, half misleads them alike (gauge, throttle, battery), a tenth is a battery that runs down, so that they fall in the
 * order taken, the rest is bores washed by fuel or dry from standing (judgment). */
static const double ALIKE_1 = 0.5, DRIFT_1 = 0.1;
/* Valves that do not open as they should draw in no more than the whole displacement, as where the intake closes at bottom dead centre: usual ones push up to a fifth of it back. */
static const double FILLS_MOST_1 = 1.25;
/* By how much the last reading falls short of the first where a battery runs down: median, and spread of the logarithm (judgment). */
static const double DRIFT_MEDIAN_1 = 0.2, DRIFT_SPREAD = 0.5;
/* A reading pins a factor where it stands above its own noise by so much, relative; and so closely that its logarithm is as good as normal. */
static const double PINNED_1 = 0.8, CLOSELY_PINNED_1 = 0.2;

/* Gauss-Hermite, five points for a normal. Source: Abramowitz and Stegun 1972, table 25.10. */
enum { FIVE = 5 };
static const double FIVE_NODE[FIVE] = {-2.8569700138728056, -1.3556261799742659, 0.0, 1.3556261799742659,
                                       2.8569700138728056};
static const double FIVE_WEIGHT[FIVE] = {0.011257411327720689, 0.22207592200561264, 0.53333333333333333,
                                         0.22207592200561264, 0.011257411327720689};

/* Where no reading pins a factor, the gauge shows next to nothing, so that it lies in its mixture's lowest part: cells of the mixture, narrow there. */
static const double PLACE_EDGE_1[FACTOR_LEVELS + 1] = {0.0, 0.01, 0.02, 0.04, 0.07, 0.12, 0.22, 0.40, 0.65, 1.0};

static void factor_prior_set(const ch_mixture *mixture, double most_1, factor_prior *prior)
{
    *prior =
        (factor_prior){.mixture = *mixture, .most_ln = log(most_1), .places = mixture->count > 0 ? FACTOR_LEVELS : 0};
    for (int i = 0; i < prior->places; i++) {
        prior->place_ln[i] = log(mixture_quantile(mixture, 0.5 * (PLACE_EDGE_1[i] + PLACE_EDGE_1[i + 1])));
        prior->place_weight[i] = PLACE_EDGE_1[i + 1] - PLACE_EDGE_1[i];
    }
}

static double mixture_density_ln(const ch_mixture *mixture, double x_ln)
{
    double sum = 0.0;
    for (size_t i = 0; i < mixture->count; i++) {
        const ch_lognormal *part = &mixture->part[i];
        const double off = (x_ln - log(part->median)) / part->spread_1;
        sum += part->weight_1 * exp(-0.5 * off * off) / (part->spread_1 * 2.5066282746310002);
    }
    return sum;
}

/* Nothing above the most; what little of a mixture's parts reaches there is not given to the rest. */
static double prior_density_ln(const factor_prior *prior, double x_ln)
{
    return x_ln <= prior->most_ln ? mixture_density_ln(&prior->mixture, x_ln) : 0.0;
}

/* Levels of washed bores: even steps in the logarithm over all but four thousandths of the mixture. */
static void washed_set(weigh_frame *frame)
{
    const ch_mixture *reading = &frame->misread.mixture;
    const level_range range = frame->levels[CH_CAUSE_MEASUREMENT_ERROR];
    const double low_ln = log(mixture_quantile(reading, 0.002)), high_ln = log(mixture_quantile(reading, 0.998));
    double sum = 0.0;
    for (int j = 0; j < WASHED_LEVELS; j++) {
        frame->washed_ln[j] = low_ln + (high_ln - low_ln) * j / (WASHED_LEVELS - 1);
        sum += mixture_density_ln(reading, frame->washed_ln[j]);
    }
    for (int j = 0; j < WASHED_LEVELS; j++)
        frame->level_weight[range.from + FACTOR_LEVELS + j] =
            (1.0 - ALIKE_1 - DRIFT_1) * mixture_density_ln(reading, frame->washed_ln[j]) / sum;
}

/* Levels of readings that fall: even steps in the logarithm over 2.5 standard deviations to either side. */
static void drift_set(weigh_frame *frame)
{
    double *weight =
        &frame->level_weight[frame->levels[CH_CAUSE_MEASUREMENT_ERROR].from + FACTOR_LEVELS + WASHED_LEVELS];
    double sum = 0.0;
    for (int j = 0; j < DRIFT_LEVELS; j++) {
        const double score = -2.5 + 5.0 * j / (DRIFT_LEVELS - 1);
        frame->drift_1[j] = DRIFT_MEDIAN_1 * exp(DRIFT_SPREAD * score);
        weight[j] = exp(-0.5 * score * score);
        sum += weight[j];
    }
    for (int j = 0; j < DRIFT_LEVELS; j++)
        weight[j] *= DRIFT_1 / sum;
}

void factors_set(weigh_frame *frame)
{
    factor_prior_set(&frame->knowledge->causes[CH_CAUSE_MEASUREMENT_ERROR].reading_1, INFINITY, &frame->misread);
    factor_prior_set(&frame->knowledge->causes[CH_CAUSE_CAM_OR_TIMING].filling_1, FILLS_MOST_1, &frame->underfilled);
    if (frame->misread.places > 0)
        washed_set(frame);
    if (frame->levels[CH_CAUSE_MEASUREMENT_ERROR].count > 0)
        drift_set(frame);
}

/* ---- one cylinder at one factor ---- */

/* Chance of a cylinder's tests at one factor on its charge or on its reading, at ring node k. */
typedef double factor_chance(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, int k,
                             double factor_1, double scale);

static double filled_chance(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, int k,
                            double filling_1, double scale)
{
    const double ambient_pa = frame->setup->cranking.ambient_pa;
    const double final_pa = filling_1 * (dry_alone_pa(t, t->final_pa, k) + ambient_pa) - ambient_pa;
    const double first_pa = filling_1 * (dry_alone_pa(t, t->first_pa, k) + ambient_pa) - ambient_pa;
    double chance = dry_chance(c, fmax(final_pa, 0.0), fmax(first_pa, 0.0)) / scale;
    if (has_wet(frame, c)) {
        const double wet_pa = filling_1 * (wet_alone_pa(t, k) + ambient_pa) - ambient_pa;
        chance *= wet_reading_chance(c, fmax(wet_pa, 0.0));
    }
    return chance;
}

static double misread_chance(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, int k,
                             double factor_1, double scale)
{
    double chance =
        dry_chance(c, factor_1 * dry_alone_pa(t, t->final_pa, k), factor_1 * dry_alone_pa(t, t->first_pa, k)) / scale;
    if (has_wet(frame, c)) {
        /* The same adapter may misread again, or have been seated better; washed or dry bores come back part of the way. */
        const double wet_pa = wet_alone_pa(t, k);
        chance *= (wet_alone(frame, t, c, k) + wet_reading_chance(c, factor_1 * wet_pa) +
                   wet_reading_chance(c, sqrt(factor_1) * wet_pa)) /
                  3.0;
    }
    return chance;
}

/* What a factor acts on: a reading and what is added to it, which the gauge shows and which it should show. */
static double full_pa(const state_tables *t, int k, double offset_pa)
{
    return dry_alone_pa(t, t->final_pa, k) + offset_pa;
}

/* How closely a dry reading pins the factor down; infinite where there is none, or the needle on its stop says only that it is no higher. */
static double width_1(const measured_cylinder *c, double offset_pa)
{
    if (c->dry.n == 0 || c->dry.on_its_stop)
        return INFINITY;
    return sqrt(c->dry.u_pa * c->dry.u_pa + pow(CYLINDER_SCATTER_1 * c->dry.mean_pa, 2.0)) /
           fmax(c->dry.mean_pa + offset_pa, 1.0);
}

/* ---- one cylinder over all factors ---- */

enum { EACH_SIDE = 5 };
static const double STEP_SD = 0.75;

/* Over the stretch of factors that the reading allows (trapezoid), and over the mixture's quantiles only where no reading pins it. Any: as if all
 * factors were as likely, per unit of their logarithm. */
static double over_factors(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, double scale,
                           const factor_prior *factors, bool any, double offset_pa, factor_chance *chance)
{
    const double width = width_1(c, offset_pa);
    double sum = 0.0;
    if (!(width < PINNED_1)) {
        for (int i = 0; i < factors->places; i++)
            sum += factors->place_weight[i] * chance(frame, t, c, MIDDLE, exp(factors->place_ln[i]), scale);
        return sum;
    }
    const double middle_ln = log((c->dry.mean_pa + offset_pa) / full_pa(t, MIDDLE, offset_pa));
    for (int i = -EACH_SIDE; i <= EACH_SIDE; i++) {
        const double factor_ln = middle_ln + i * STEP_SD * width;
        const double density = any ? 1.0 : prior_density_ln(factors, factor_ln);
        if (density > 1e-9)
            sum += STEP_SD * width * density * chance(frame, t, c, MIDDLE, exp(factor_ln), scale);
    }
    return sum;
}

double factors_misread(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                       const weigh_cylinder *out)
{
    return out->leakdown[MIDDLE] * over_factors(frame, t, c, out->scale, &frame->misread, false, 0.0, misread_chance);
}

double factors_underfilled(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                           const weigh_cylinder *out)
{
    return out->leakdown[MIDDLE] * over_factors(frame, t, c, out->scale, &frame->underfilled, false,
                                                frame->setup->cranking.ambient_pa, filled_chance);
}

/* ---- one factor on all cylinders ---- */

/* A trapezoid with steps of 1.1 standard deviations is within 1e-6 of a normal's integral, and nine of them reach as far as 4.4. */
static const double COMMON_STEP_SD = 1.1;

static double median(double value[], int n)
{
    for (int i = 1; i < n; i++)
        for (int at = i; at > 0 && value[at - 1] > value[at]; at--) {
            const double moved = value[at];
            value[at] = value[at - 1];
            value[at - 1] = moved;
        }
    return n % 2 == 1 ? value[n / 2] : 0.5 * (value[n / 2 - 1] + value[n / 2]);
}

/* Factors on all cylinders, or on those of one bank (0 = all), where their readings allow them, with the prior's weight: around the median
 * cylinder's, so that one cylinder with something of its own does not lead them astray. */
static void common_factors(const weigh_frame *frame, const state_tables *t, const factor_prior *factors, int bank,
                           double offset_pa, double factor_1[FACTOR_LEVELS], double weight[FACTOR_LEVELS])
{
    double middle_ln[CH_CYLINDERS_MAX], width = 0.0;
    int n = 0;
    for (int i = 0; i < frame->measured->cylinders; i++) {
        const measured_cylinder *c = &frame->measured->cylinder[i];
        if (!(width_1(c, offset_pa) < PINNED_1) || (bank > 0 && !wrong_in_bank(bank, i, frame->measured->cylinders)))
            continue;
        width += width_1(c, offset_pa);
        middle_ln[n++] = log((c->dry.mean_pa + offset_pa) / full_pa(t, MIDDLE, offset_pa));
    }
    if (n == 0) {
        for (int j = 0; j < FACTOR_LEVELS; j++) {
            factor_1[j] = exp(factors->place_ln[j]);
            weight[j] = factors->place_weight[j];
        }
        return;
    }
    /* Ring areas differ as well: outer nodes stand 2 sqrt(3) standard deviations apart. */
    const double rings = log(full_pa(t, 0, offset_pa) / full_pa(t, RING_NODES - 1, offset_pa)) / 3.4641016151377544;
    const double step = COMMON_STEP_SD * hypot(width / n, rings) / sqrt(n), centre = median(middle_ln, n);
    for (int j = 0; j < FACTOR_LEVELS; j++) {
        const double factor_ln = centre + (j - FACTOR_LEVELS / 2) * step;
        factor_1[j] = exp(factor_ln);
        const double density = prior_density_ln(factors, factor_ln);
        weight[j] = density > 1e-9 ? step * density : 0.0;
    }
}

static double over_rings(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                         const weigh_cylinder *out, double factor_1, factor_chance *chance)
{
    double sum = 0.0;
    for (int k = 0; k < RING_NODES; k++)
        sum += RING_NODE_WEIGHT[k] * out->leakdown[k] * chance(frame, t, c, k, factor_1, out->scale);
    return sum;
}

/* A normal density times a factor at even levels, from the nearest outwards, each from the one before: the ratio of neighbours changes by one factor. */
static void normal_on_levels(const double level_ln[WASHED_LEVELS], double middle_ln, double spread, double factor,
                             double density[WASHED_LEVELS])
{
    const double step = (level_ln[1] - level_ln[0]) / spread, change = exp(-step * step);
    const double place = fmin(fmax((middle_ln - level_ln[0]) / (level_ln[1] - level_ln[0]), 0.0), WASHED_LEVELS - 1.0);
    const int nearest = (int)(place + 0.5);
    const double off = (level_ln[nearest] - middle_ln) / spread;
    density[nearest] = factor * exp(-0.5 * off * off) / (spread * 2.5066282746310002);
    double ratio = exp(-step * (off + 0.5 * step));
    for (int j = nearest + 1; j < WASHED_LEVELS; j++, ratio *= change)
        density[j] = density[j - 1] * ratio;
    ratio = exp(step * (off - 0.5 * step));
    for (int j = nearest - 1; j >= 0; j--, ratio *= change)
        density[j] = density[j + 1] * ratio;
}

/* Washed bores: around each level of the engine, each cylinder its own way. The reading pins the cylinder's factor far closer than they scatter, so
 * what it allows is taken as a normal. */
static void washed(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, weigh_cylinder *out)
{
    double *level = &out->level[frame->levels[CH_CAUSE_MEASUREMENT_ERROR].from + FACTOR_LEVELS];
    const double width = width_1(c, 0.0);
    if (!(width < CLOSELY_PINNED_1)) {
        for (int j = 0; j < WASHED_LEVELS; j++) {
            double sum = 0.0;
            for (int i = 0; i < FIVE; i++)
                sum += FIVE_WEIGHT[i] * misread_chance(frame, t, c, MIDDLE,
                                                       exp(frame->washed_ln[j] + WASHED_SCATTER * FIVE_NODE[i]),
                                                       out->scale);
            level[j] = out->leakdown[MIDDLE] * sum;
        }
        return;
    }
    const double all =
        out->leakdown[MIDDLE] * over_factors(frame, t, c, out->scale, &frame->misread, true, 0.0, misread_chance);
    const double middle_ln = log(c->dry.mean_pa / full_pa(t, MIDDLE, 0.0)), spread = hypot(WASHED_SCATTER, width);
    normal_on_levels(frame->washed_ln, middle_ln, spread, all, level);
}

static level_range drive_levels(const weigh_frame *frame, int bank)
{
    return bank == 0 ? frame->levels[CH_CAUSE_CAM_OR_TIMING] : frame->bank_drive[bank - 1];
}

void factors_together(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], state_tables *t,
                      weigh_state *state, weigh_cylinder cylinder[])
{
    const level_range misled = frame->levels[CH_CAUSE_MEASUREMENT_ERROR];
    double reading_1[FACTOR_LEVELS];
    if (misled.count > 0)
        common_factors(frame, t, &frame->misread, 0, 0.0, reading_1, &state->level_weight[misled.from]);
    for (int j = 0; j < FACTOR_LEVELS && misled.count > 0; j++)
        state->level_weight[misled.from + j] *= ALIKE_1;
    double filling_1[1 + BANKS][FACTOR_LEVELS]; /* of the engine's drive, then of each bank's */
    for (int bank = 0; bank <= BANKS; bank++) {
        const level_range unfilled = drive_levels(frame, bank);
        if (unfilled.count == 0)
            continue;
        double *weight = &state->level_weight[unfilled.from];
        common_factors(frame, t, &frame->underfilled, bank, frame->setup->cranking.ambient_pa, filling_1[bank], weight);
        for (int j = 0; j < FACTOR_LEVELS; j++)
            weight[j] *= together_unbent_1(frame);
    }
    for (int i = 0; i < frame->measured->cylinders; i++) {
        const measured_cylinder *c = &frame->measured->cylinder[i];
        weigh_cylinder *out = &cylinder[i];
        if (has_wet(frame, c))
            wet_table(frame, value, c, t);
        for (int j = 0; j < FACTOR_LEVELS && misled.count > 0; j++)
            out->level[misled.from + j] = state->level_weight[misled.from + j] > 0.0
                                              ? over_rings(frame, t, c, out, reading_1[j], misread_chance)
                                              : 0.0;
        for (int bank = 0; bank <= BANKS; bank++) {
            const level_range unfilled = drive_levels(frame, bank);
            const bool reached = bank == 0 || wrong_in_bank(bank, i, frame->measured->cylinders);
            for (int j = 0; j < FACTOR_LEVELS && unfilled.count > 0; j++)
                out->level[unfilled.from + j] = reached && state->level_weight[unfilled.from + j] > 0.0
                                                    ? over_rings(frame, t, c, out, filling_1[bank][j], filled_chance)
                                                    : 0.0;
        }
        if (misled.count > 0)
            washed(frame, t, c, out);
        for (int j = 0; j < DRIFT_LEVELS && misled.count > 0; j++)
            out->level[misled.from + FACTOR_LEVELS + WASHED_LEVELS + j] =
                out->leakdown[MIDDLE] *
                misread_chance(frame, t, c, MIDDLE, exp(-frame->drift_1[j] * c->turn_1), out->scale);
    }
}

/* How likely a cylinder's readings are at one shared state, for every cause and every size of the leak.
 *
 * Dry readings see the total leak area alone. A wet test tells rings from the rest, a leak-down test sees the same areas at rest, and what was
 * heard tells the paths apart. All of them are read off the same square millimetres. docs/method.md, "Tracing". */
#include <math.h>
#include <string.h>

#include "crosshatch/leakdown.h"
#include "crosshatch/prior.h"

#include "tables.h"

/* Gauss-Hermite, three points for a normal: 0 and +-sqrt(3). Source: Abramowitz and Stegun 1972, table 25.10. */
static const double RING_NODE[RING_NODES] = {-1.7320508075688772, 0.0, 1.7320508075688772};
const double RING_NODE_WEIGHT[RING_NODES] = {1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0};

/* Sound cylinders of one engine differ by what no leak explains: chamber volumes, lobes. Standard deviation, relative. */
const double CYLINDER_SCATTER_1 = 0.02;
/* A first stroke may begin anywhere, and a wet reading depends on where the oil went. */
static const double FIRST_SCATTER_1 = 0.12;
static const double WET_SCATTER_1 = 0.05;
/* Leak-down: repeatability of the loss, and scatter of a ring pack's standing area (logarithm). */
static const double LOSS_REPEAT_1 = 0.03;
static const double STANDING_SCATTER = 0.35;
/* Part of readings that obey no model: keeps any one of them from proving too much. */
static const double STRAY_1 = 0.005;
/* The same of a loss: next to nothing, because a leak-down test that misleads is a cause of its own. */
static const double LOSS_STRAY_1 = 0.0005;

/* Chance that air is noted at a place where the leak-down test itself is wrong: with the piston off dead centre a valve may stand open, and
 * the tester's own leak hisses anywhere near (judgment). */
static const double ASTRAY_VALVE_1 = 0.3, ASTRAY_OIL_FILLER_1 = 0.4, ASTRAY_ELSEWHERE_1 = 0.03;

/* Student's t density with eight degrees of freedom, up to a constant: a normal with honest tails, and with the normal's quartiles, for what is stated of a
 * gauge or a scatter is how most readings come out (judgment). Upper quartiles of the two: 0.67449 and 0.70639 by SciPy (norm.ppf, t.ppf); their ratio squared. */
static const double QUARTILES_1 = 0.9117;

static double near(double off, double variance)
{
    const double scale = QUARTILES_1 * variance, q = 1.0 + off * off / (8.0 * scale), q2 = q * q;
    return 1.0 / (q2 * q2 * sqrt(scale * q)); /* q to the power -(8 + 1)/2 over the standard deviation */
}

double standard_normal(double score)
{
    return 0.5 * erfc(-score * 0.70710678118654752);
}

/* What `near` leaves out: Gamma(9/2)/(Gamma(4) sqrt(8 pi)). */
static const double NEAR_DENSITY = 0.38669902;

/* Chance of a reading, per pascal and up to NEAR_DENSITY, where the dial should show expected_pa. In the lowest part of a dial the doubt is that of the place
 * where the needle should stand: what should be nothing may show 15 psi, though 15 psi are read to within less. A needle that has not left its stop
 * says no more than that it should not stand higher. */
static double reading_chance(const measured_mean *mean, double expected_pa, double scatter_1)
{
    const double scatter_pa = scatter_1 * expected_pa;
    double variance = mean->u_clear_pa * mean->u_clear_pa + scatter_pa * scatter_pa;
    if (expected_pa < mean->low_end_pa) {
        const double low_pa = measured_low_scale_sd_pa(mean->low_end_pa, expected_pa);
        variance += low_pa * low_pa;
    }
    if (mean->on_its_stop) {
        const double half_pa = 0.5 * mean->step_pa;
        return standard_normal((half_pa - expected_pa) / sqrt(variance)) / (mean->step_pa * NEAR_DENSITY);
    }
    return near(mean->mean_pa - expected_pa, variance);
}

double dry_chance(const measured_cylinder *c, double final_pa, double first_pa)
{
    double chance = 1.0;
    if (c->dry.n > 0)
        chance *= reading_chance(&c->dry, final_pa, CYLINDER_SCATTER_1);
    if (c->first.n > 0)
        chance *= reading_chance(&c->first, first_pa, FIRST_SCATTER_1);
    return chance;
}

static void area_weights(const ch_mixture *areas, const ch_emulator *grid, double weight[CH_EMULATOR_GRID])
{
    double before = 0.0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++) {
        double upto = 1.0;
        if (g < CH_EMULATOR_GRID - 1) {
            const double edge = log(grid->area_scale_m2 * expm1((g + 0.5) * grid->u_step));
            upto = 0.0;
            for (size_t i = 0; i < areas->count; i++)
                upto += areas->part[i].weight_1 *
                        standard_normal((edge - log(areas->part[i].median)) / areas->part[i].spread_1);
        }
        weight[g] = upto - before;
        before = upto;
    }
}

/* Add a log-normal area to a sum's mean and variance. */
static void area_add(double median_m2, double spread_1, area_sum *sum)
{
    const double square = spread_1 * spread_1, mean_m2 = median_m2 * exp(0.5 * square);
    sum->mean_m2 += mean_m2;
    sum->variance_m4 += mean_m2 * mean_m2 * expm1(square);
}

/* Quantile of a sum of log-normal areas at a normal score. Source: Fenton, IRE Trans. Communications Systems 8 (1960) 57: the sum taken as
 * log-normal with the sum's mean and variance. */
static double area_sum_m2(const area_sum *sum, double score)
{
    if (!(sum->mean_m2 > 0.0))
        return 0.0;
    const double relative = sum->variance_m4 / (sum->mean_m2 * sum->mean_m2);
    return sum->mean_m2 / sqrt(1.0 + relative) * exp(sqrt(log1p(relative)) * score);
}

/* What a sound cylinder leaks beside the rings. */
static area_sum beside_rings(const ch_knowledge *knowledge)
{
    area_sum sum = {0.0, 0.0};
    for (int p = 0; p < CH_PATH_COUNT; p++)
        if (p != CH_PATH_RINGS)
            area_add(knowledge->background_m2[p].median, knowledge->background_m2[p].spread_1, &sum);
    return sum;
}

/* Chance of what was heard where these paths are open enough to be heard (bits of ch_path). */
static double heard_chance(const ch_knowledge_hearing *hearing, const measured_leakdown *row, unsigned open)
{
    const struct {
        int path;
        bool heard;
        double false_1;
    } ears[] = {
        {CH_PATH_INTAKE_VALVE, (row->heard & CH_HEARD_INTAKE) != 0, hearing->false_intake_1},
        {CH_PATH_EXHAUST_VALVE, (row->heard & CH_HEARD_EXHAUST) != 0, hearing->false_exhaust_1},
        {CH_PATH_RINGS, (row->heard & CH_HEARD_OIL_FILLER) != 0, hearing->false_oil_filler_1},
        {CH_PATH_COOLANT, (row->heard & CH_HEARD_COOLANT) != 0, hearing->false_coolant_1},
        {CH_PATH_NEIGHBOUR, row->heard_cylinders != 0, hearing->false_cylinder_1},
    };
    double chance = 1.0;
    for (size_t e = 0; e < sizeof ears / sizeof ears[0]; e++) {
        const double p = (open >> ears[e].path & 1U) != 0 ? hearing->noted_1 : ears[e].false_1;
        chance *= ears[e].heard ? p : 1.0 - p;
    }
    return chance;
}

/* The loss was read to within LOSS_REPEAT_1; what lies between scatters as the logarithm of the standing area. Beyond the table's ends the chance no
 * longer changes. */
static void loss_table(const weigh_frame *frame, measured_leakdown *row)
{
    const double last = frame->loss_first + frame->loss_step * (double)(sizeof frame->loss / sizeof frame->loss[0] - 1);
    const double reach = NORMAL_END * STANDING_SCATTER;
    const double from = fmin(fmax(row->ratio_ln[0], frame->loss_first), last) - reach;
    const double to = fmin(fmax(row->ratio_ln[1], frame->loss_first), last) + reach;
    row->chance_first_ln = from;
    row->chance_per_ln = (LOSS_NODES - 1) / (to - from);
    for (int i = 0; i < LOSS_NODES; i++) {
        const double area_ln = from + i / row->chance_per_ln;
        const double upto = standard_normal((row->ratio_ln[1] - area_ln) / STANDING_SCATTER);
        const double below = standard_normal((row->ratio_ln[0] - area_ln) / STANDING_SCATTER);
        row->chance_1[i] = (1.0 - LOSS_STRAY_1) * (upto - below) / (2.0 * LOSS_REPEAT_1) + LOSS_STRAY_1;
    }
}

void weigh_frame_set(weigh_frame *frame)
{
    const ch_knowledge *knowledge = frame->knowledge;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const ch_knowledge_cause *cause = &knowledge->causes[c];
        memset(frame->area_weight[c], 0, sizeof frame->area_weight[c]);
        if (cause->areas_m2.count > 0)
            area_weights(&cause->areas_m2, frame->dry, frame->area_weight[c]);
        /* Where it opens no path it adds no area: grid point 0, measured in the chance that it opens one. */
        if (together_seals_1(cause) > 0.0)
            frame->area_weight[c][0] += cause->no_path_chance_1 / (1.0 - cause->no_path_chance_1);
    }
    together_set(frame);
    factors_set(frame);
    frame->ring_median_m2 = knowledge->background_m2[CH_PATH_RINGS].median * frame->setup->cranking.bore.bore_m /
                            knowledge->background_rings_bore_m;
    frame->beside = beside_rings(knowledge);
    frame->beside_m2 = area_sum_m2(&frame->beside, 0.0);

    /* Loss over leak area: the ratio of leak to orifice is all that matters at one supply pressure. */
    double supply_gauge_pa = 80.0 * 6894.757293168361;
    for (int c = frame->measured->cylinders - 1; c >= 0; c--)
        if (frame->measured->cylinder[c].leakdown_count > 0)
            supply_gauge_pa = frame->measured->cylinder[c].leakdown[0].supply_gauge_pa;
    const ch_leakdown_tester tester = {.supply_gauge_pa = supply_gauge_pa,
                                       .orifice_area_m2 = 1e-6,
                                       .ambient_pa = frame->setup->cranking.ambient_pa,
                                       .air_k = frame->setup->cranking.air_k,
                                       .cylinder_k = frame->setup->cranking.wall_k};
    const int n = (int)(sizeof frame->loss / sizeof frame->loss[0]);
    frame->loss_first = log(1e-3);
    frame->loss_step = (log(1e4) - frame->loss_first) / (n - 1);
    for (int i = 0; i < n; i++) {
        frame->loss[i] = 1.0;
        ch_leakdown_loss_1(&tester, 1e-6 * exp(frame->loss_first + i * frame->loss_step), &frame->loss[i], NULL);
    }
    for (int c = 0; c < frame->measured->cylinders; c++)
        for (size_t i = 0; i < frame->measured->cylinder[c].leakdown_count; i++) {
            measured_leakdown *row = &frame->measured->cylinder[c].leakdown[i];
            row->ratio_ln[0] = weigh_ratio_of_loss(frame, row->loss_1 - LOSS_REPEAT_1);
            row->ratio_ln[1] = weigh_ratio_of_loss(frame, row->loss_1 + LOSS_REPEAT_1);
            loss_table(frame, row);
            for (unsigned open = 0; open < 32; open++)
                row->heard_1[open] = row->heard_stated ? heard_chance(&frame->knowledge->hearing, row, open) : 1.0;
        }
}

double weigh_ratio_of_loss(const weigh_frame *frame, double loss_1)
{
    const int n = (int)(sizeof frame->loss / sizeof frame->loss[0]);
    if (loss_1 <= frame->loss[0])
        return -INFINITY;
    if (loss_1 >= frame->loss[n - 1])
        return INFINITY;
    int low = 0, high = n - 1;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        if (frame->loss[middle] < loss_1)
            low = middle;
        else
            high = middle;
    }
    const double rise = frame->loss[high] - frame->loss[low];
    return frame->loss_first + (low + (loss_1 - frame->loss[low]) / rise) * frame->loss_step;
}

static void gauge_table(const state_tables *t, double table[CH_EMULATOR_GRID])
{
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        table[g] = t->gain_1 * table[g] + t->zero_pa;
}

/* The wet table for the oil that stays in one cylinder. More or less oil than the stand-in was built with acts as a change of ratio. */
void wet_table(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], const measured_cylinder *c,
               state_tables *t)
{
    const double usual_m3 = isnan(c->oil_m3) ? frame->wet_base_m3 : 0.65 * c->oil_m3;
    const double kept_m3 = usual_m3 * exp(value[CH_DOUBT_COUNT + SHARED_OIL_KEPT]);
    if (kept_m3 == t->wet_dose_m3)
        return;
    double offset[CH_DOUBT_COUNT];
    memcpy(offset, value, sizeof offset);
    const double clearance_m3 = frame->setup->cranking.clearance_m3;
    const double change_1 = fmin(fmax((kept_m3 - frame->wet_base_m3) / clearance_m3, -0.5), 0.4);
    offset[CH_DOUBT_RATIO] += -log1p(-change_1);
    ch_emulator_table(frame->wet, offset, t->wet_pa, NULL);
    gauge_table(t, t->wet_pa);
    t->wet_dose_m3 = kept_m3;
}

/* Effective areas at rest with a ring area and an extra area in a place; the sum. */
static double standing_areas(const weigh_frame *frame, const state_tables *t, double ring_m2, double extra_m2,
                             int place, double path_m2[CH_PATH_COUNT])
{
    for (int p = 0; p < CH_PATH_COUNT; p++)
        path_m2[p] = frame->knowledge->background_m2[p].median;
    path_m2[CH_PATH_RINGS] = ring_m2;
    path_m2[place == PLACE_RINGS_DRY ? CH_PATH_RINGS : place] += extra_m2;
    path_m2[CH_PATH_RINGS] *= t->standing_1;
    double total_m2 = 0.0;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        total_m2 += path_m2[p];
    return total_m2;
}

/* Which of the standing areas are open enough to be heard; the rings have only to carry their share (filler_chance tells the rest). */
static unsigned char open_enough(const ch_knowledge_hearing *hearing, const double path_m2[CH_PATH_COUNT],
                                 double total_m2)
{
    unsigned open = 0;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        if ((p == CH_PATH_RINGS || path_m2[p] >= hearing->least_m2) && path_m2[p] >= hearing->share_1 * total_m2)
            open |= 1U << p;
    return (unsigned char)open;
}

/* Chance that this listener notes air that comes past so much of the rings, at rest. */
static double filler_chance(const weigh_frame *frame, const state_tables *t, double ring_m2)
{
    const ch_knowledge_hearing *hearing = &frame->knowledge->hearing;
    return standard_normal((log(ring_m2) - t->filler_ln) / hearing->oil_filler_blur_1);
}

/* Chance of the losses with a total area at rest. */
static double loss_chance(const state_tables *t, const measured_cylinder *c, double total_ln)
{
    double chance = 1.0;
    for (size_t i = 0; i < c->leakdown_count; i++) {
        const measured_leakdown *row = &c->leakdown[i];
        if (isnan(row->loss_1))
            continue;
        const double place = (total_ln - t->orifice_ln[i] - row->chance_first_ln) * row->chance_per_ln;
        if (place > 0.0 && place < LOSS_NODES - 1) {
            const int below = (int)place;
            chance *= row->chance_1[below] + (place - below) * (row->chance_1[below + 1] - row->chance_1[below]);
        } else {
            chance *= row->chance_1[place > 0.0 ? LOSS_NODES - 1 : 0];
        }
    }
    return chance;
}

/* Chance of what was heard in one row. filler_1: that air past the rings is noted where they carry their share. */
static double heard_in(const measured_leakdown *row, unsigned open, double filler_1)
{
    const unsigned rings = 1U << CH_PATH_RINGS;
    return (open & rings) == 0 ? row->heard_1[open]
                               : filler_1 * row->heard_1[open] + (1.0 - filler_1) * row->heard_1[open & ~rings];
}

static double heard_chances(const measured_cylinder *c, unsigned char open, double filler_1)
{
    double chance = 1.0;
    for (size_t i = 0; i < c->leakdown_count; i++)
        chance *= heard_in(&c->leakdown[i], open, filler_1);
    return chance;
}

/* A table at a place of a grid. */
static double at_place(const double table[CH_EMULATOR_GRID], const grid_places *places, int k, int g)
{
    const double *at = &table[places->below[k][g]];
    return at[0] + places->part[k][g] * (at[1] - at[0]);
}

/* Readings with the ring area of a node and no extra area, which is what grid point 0 stands for. */
double dry_alone_pa(const state_tables *t, const double table[CH_EMULATOR_GRID], int k)
{
    return at_place(table, &t->state->dry, k, 0);
}

double wet_alone_pa(const state_tables *t, int k)
{
    return at_place(t->wet_pa, &t->state->wet[0], k, 0);
}

/* Chance of the wet reading, relative to a fixed measure, where it should show this much. */
double wet_reading_chance(const measured_cylinder *c, double expected_pa)
{
    return reading_chance(&c->wet, expected_pa, WET_SCATTER_1) * (c->wet.mean_pa + 10e3) + STRAY_1;
}

bool has_wet(const weigh_frame *frame, const measured_cylinder *c)
{
    return c->wet.n > 0 && frame->wet != NULL;
}

/* Chance of the leak-down rows of a cylinder that leaks past its rings alone. */
static double leakdown_alone(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                             double ring_m2)
{
    if (c->leakdown_count == 0)
        return 1.0;
    double path_m2[CH_PATH_COUNT];
    const double total_m2 = standing_areas(frame, t, ring_m2, 0.0, CH_PATH_RINGS, path_m2);
    return loss_chance(t, c, log(total_m2)) * heard_chances(c,
                                                            open_enough(&frame->knowledge->hearing, path_m2, total_m2),
                                                            filler_chance(frame, t, path_m2[CH_PATH_RINGS]));
}

double wet_alone(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, int k)
{
    return has_wet(frame, c) ? wet_reading_chance(c, wet_alone_pa(t, k)) : 1.0;
}

/* Chance of what was heard where the leak-down test itself is wrong: air still goes where it would, but half the time something else is noted.
 * Over all that may be heard it adds up to 1, as heard_chance does. */
static double heard_astray(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, double ring_m2)
{
    static const double CHANCE_1[] = {ASTRAY_VALVE_1, ASTRAY_VALVE_1, ASTRAY_OIL_FILLER_1, ASTRAY_ELSEWHERE_1,
                                      ASTRAY_ELSEWHERE_1};
    double path_m2[CH_PATH_COUNT], chance = 1.0;
    const double total_m2 = standing_areas(frame, t, ring_m2, 0.0, CH_PATH_RINGS, path_m2);
    const unsigned char open = open_enough(&frame->knowledge->hearing, path_m2, total_m2);
    const double filler_1 = filler_chance(frame, t, path_m2[CH_PATH_RINGS]);
    for (size_t i = 0; i < c->leakdown_count; i++) {
        const measured_leakdown *row = &c->leakdown[i];
        if (!row->heard_stated)
            continue;
        const bool heard[] = {(row->heard & CH_HEARD_INTAKE) != 0, (row->heard & CH_HEARD_EXHAUST) != 0,
                              (row->heard & CH_HEARD_OIL_FILLER) != 0, (row->heard & CH_HEARD_COOLANT) != 0,
                              row->heard_cylinders != 0};
        double astray = 1.0;
        for (size_t e = 0; e < sizeof heard / sizeof heard[0]; e++)
            astray *= heard[e] ? CHANCE_1[e] : 1.0 - CHANCE_1[e];
        chance *= 0.5 * heard_in(row, open, filler_1) + 0.5 * astray;
    }
    return chance;
}

static bool any_heard(const measured_cylinder *c)
{
    for (size_t i = 0; i < c->leakdown_count; i++)
        if (c->leakdown[i].heard_stated)
            return true;
    return false;
}

/* Chance of leak-down and wet test in every place at once, at ring node k and grid point g: the loss sees only whether the extra area is the rings',
 * the wet reading only whether oil closes it, and what was heard alone tells the rest apart. */
static void other_tests(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c, bool heard, int k,
                        int g, const bool wanted[PLACES], double chance[PLACES])
{
    const weigh_state *state = t->state;
    double loss[2] = {1.0, 1.0}, wet[2] = {1.0, 1.0}; /* [0] rings, [1] elsewhere */
    if (c->leakdown_count > 0)
        for (int where = 0; where < 2; where++)
            loss[where] = loss_chance(t, c, state->standing_ln[where][k][g]);
    if (has_wet(frame, c))
        for (int where = 0; where < 2; where++)
            wet[where] = at_place(t->wet_chance, &state->wet[where], k, g);
    for (int place = 0; place < PLACES; place++) {
        if (!wanted[place])
            continue;
        const bool rings = place == CH_PATH_RINGS || place == PLACE_RINGS_DRY;
        chance[place] = loss[rings ? 0 : 1] * wet[place == CH_PATH_RINGS ? 0 : 1];
        if (heard)
            chance[place] *= heard_chances(c, state->open[place][k][g], state->filler_1[rings ? 0 : 1][k][g]);
    }
}

/* An earlier place that this cylinder's tests cannot tell from this one, or the place itself. */
static int place_like(const measured_cylinder *c, bool more, int place)
{
    if (place == PLACE_RINGS_DRY)
        return c->wet.n > 0 ? place : CH_PATH_RINGS;
    if (place == CH_PATH_RINGS || any_heard(c))
        return place;
    if (!more)
        return CH_PATH_RINGS;
    return CH_PATH_INTAKE_VALVE; /* at rest and with oil, all that is not rings is alike */
}

/* Of the best: not worth weighing. */
static const double NOTHING = 1e-7;

/* The dry readings alone: their chance at every total area, and between which extra areas there is anything to weigh. */
static void weigh_dry(const state_tables *t, const measured_cylinder *c, weigh_cylinder *out)
{
    double dry[CH_EMULATOR_GRID], most = 0.0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        dry[g] = dry_chance(c, t->final_pa[g], t->first_pa[g]);
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        most = dry[g] > most ? dry[g] : most;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        dry[g] /= most;
    out->scale = most;
    out->log_scale = log(most);
    out->low = CH_EMULATOR_GRID;
    out->high = 0;
    for (int k = 0; k < RING_NODES; k++) {
        out->dry_alone[k] = dry_alone_pa(t, dry, k);
        for (int g = 0; g < CH_EMULATOR_GRID; g++) {
            out->dry[k][g] = at_place(dry, &t->state->dry, k, g);
            if (out->dry[k][g] > NOTHING) {
                out->low = g < out->low ? g : out->low;
                out->high = g >= out->high ? g + 1 : out->high;
            }
        }
    }
}

/* Fill likely[place] and its mean over the ring nodes, once for places that are alike. */
static void weigh_places(const weigh_frame *frame, const state_tables *t, const measured_cylinder *c,
                         weigh_cylinder *out)
{
    const bool more = c->leakdown_count > 0 || has_wet(frame, c), heard = any_heard(c);
    bool wanted[PLACES];
    for (int place = 0; place < PLACES; place++)
        wanted[place] = place_like(c, more, place) == place;
    memset(out->likely, 0, sizeof out->likely);
    memset(out->likely_mean, 0, sizeof out->likely_mean);
    for (int g = out->low; g < out->high; g++)
        for (int k = 0; k < RING_NODES; k++) {
            double others[PLACES];
            const bool counts = more && out->dry[k][g] > NOTHING;
            if (counts)
                other_tests(frame, t, c, heard, k, g, wanted, others);
            for (int place = 0; place < PLACES; place++)
                if (wanted[place])
                    out->likely[place][k][g] = counts ? out->dry[k][g] * others[place] : more ? 0.0 : out->dry[k][g];
        }
    for (int place = 0; place < PLACES; place++) {
        if (!wanted[place]) {
            const int like = place_like(c, more, place);
            memcpy(out->likely[place], out->likely[like], sizeof out->likely[0]);
            memcpy(out->likely_mean[place], out->likely_mean[like], sizeof out->likely_mean[0]);
            continue;
        }
        for (int g = out->low; g < out->high; g++) {
            for (int k = 0; k < RING_NODES; k++)
                out->likely_mean[place][g] += RING_NODE_WEIGHT[k] * out->likely[place][k][g];
        }
    }
}

static double over_areas(const double weight[CH_EMULATOR_GRID], const weigh_cylinder *cylinder, int place)
{
    const double *likely = cylinder->likely_mean[place];
    double sum = 0.0;
    for (int g = cylinder->low; g < cylinder->high; g++)
        sum += weight[g] * likely[g];
    return sum;
}

/* Chance under a cause that opens a leak. */
static double leaking_chance(const weigh_frame *frame, const weigh_cylinder *cylinder, ch_cause cause)
{
    const ch_knowledge_cause *known = &frame->knowledge->causes[cause];
    double sum = 0.0;
    for (int p = 0; p < CH_PATH_COUNT; p++) {
        if (!(known->path_chance_1[p] > 0.0))
            continue;
        double chance = over_areas(frame->area_weight[cause], cylinder, p);
        if (p == CH_PATH_RINGS)
            chance = known->oil_seals_1 * chance +
                     (1.0 - known->oil_seals_1) * over_areas(frame->area_weight[cause], cylinder, PLACE_RINGS_DRY);
        sum += known->path_chance_1[p] * chance;
    }
    return sum;
}

static void weigh_one(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], state_tables *t,
                      const measured_cylinder *c, weigh_cylinder *out)
{
    if (has_wet(frame, c)) {
        wet_table(frame, value, c, t);
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            t->wet_chance[g] = wet_reading_chance(c, t->wet_pa[g]);
    }
    for (size_t i = 0; i < c->leakdown_count; i++)
        t->orifice_ln[i] = log(ch_leakdown_orifice_area_m2(c->leakdown[i].orifice_m, 0.8) * t->orifice_factor_1);
    weigh_places(frame, t, c, out);

    double sound = 0.0, wrong_leakdown = 0.0;
    for (int k = 0; k < RING_NODES; k++) {
        const double w = RING_NODE_WEIGHT[k], dry_alone = out->dry_alone[k], wet = wet_alone(frame, t, c, k);
        out->leakdown[k] = leakdown_alone(frame, t, c, t->state->ring_m2[k]);
        out->alone[k] = dry_alone * wet * out->leakdown[k];
        sound += w * out->alone[k];
        wrong_leakdown += w * dry_alone * wet * heard_astray(frame, t, c, t->state->ring_m2[k]); /* any loss */
    }
    for (int cause = 0; cause < CH_CAUSE_COUNT; cause++)
        out->evidence[cause] = out->leaking[cause] = leaking_chance(frame, out, (ch_cause)cause);
    double wrong_1 = 0.0; /* chance that it is the leak-down test, where the test of one cylinder is what is wrong */
    if (c->leakdown_count > 0)
        wrong_1 = c->dry.n == 0 && c->wet.n == 0
                      ? 1.0
                      : frame->knowledge->causes[CH_CAUSE_MEASUREMENT_ERROR].leakdown_wrong_1;
    out->evidence[CH_CAUSE_SOUND] = sound;
    out->evidence[CH_CAUSE_MEASUREMENT_ERROR] =
        (1.0 - wrong_1) * factors_misread(frame, t, c, out) + wrong_1 * wrong_leakdown;
    const double underfilled = factors_underfilled(frame, t, c, out);
    out->evidence[CH_CAUSE_CAM_OR_TIMING] +=
        frame->knowledge->causes[CH_CAUSE_CAM_OR_TIMING].no_path_chance_1 * underfilled;
    out->evidence_leakdown_wrong = wrong_leakdown;
    if (frame->measured->cylinders > 1)
        together_areas(frame, underfilled, out);
}

static void place_on(const ch_emulator *grid, double area_m2, grid_places *places, int k, int g)
{
    ch_emulator_place(grid, area_m2, &places->below[k][g], &places->part[k][g]);
}

/* Cylinders differ by their rings and by what leaks beside them. Readings see the sum, so the nodes are those of the sum; what it differs from
 * cylinder to cylinder is put down to the rings, which are most of it. */
static void state_set_dry(const weigh_frame *frame, double rings_ln, weigh_state *state)
{
    const double middle_m2 = frame->ring_median_m2 * exp(rings_ln);
    area_sum sum = frame->beside;
    area_add(middle_m2, CH_PRIOR_RING_SD_CYLINDER, &sum);
    for (int k = 0; k < RING_NODES; k++) {
        const double ring_m2 = fmax(area_sum_m2(&sum, RING_NODE[k]) - frame->beside_m2, 0.1 * middle_m2);
        state->ring_m2[k] = ring_m2;
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            place_on(frame->dry, frame->dry->area_m2[g] + ring_m2 + frame->beside_m2, &state->dry, k, g);
    }
}

static void state_set_wet(const weigh_frame *frame, const state_tables *t, weigh_state *state, int k, int g)
{
    const double ring_m2 = state->ring_m2[k], extra_m2 = frame->dry->area_m2[g];
    place_on(frame->wet, t->oil_factor_1 * (ring_m2 + extra_m2) + frame->beside_m2, &state->wet[0], k, g);
    place_on(frame->wet, t->oil_factor_1 * ring_m2 + extra_m2 + frame->beside_m2, &state->wet[1], k, g);
}

static void state_set_standing(const weigh_frame *frame, const state_tables *t, weigh_state *state, int k, int g)
{
    double path_m2[CH_PATH_COUNT];
    for (int place = 0; place < PLACES; place++) {
        const double total_m2 = standing_areas(frame, t, state->ring_m2[k], frame->dry->area_m2[g], place, path_m2);
        state->open[place][k][g] = open_enough(&frame->knowledge->hearing, path_m2, total_m2);
        if (place != CH_PATH_RINGS && place != CH_PATH_INTAKE_VALVE)
            continue;
        const int where = place == CH_PATH_RINGS ? 0 : 1;
        state->standing_ln[where][k][g] = log(total_m2);
        if (frame->measured->any_heard)
            state->filler_1[where][k][g] = filler_chance(frame, t, path_m2[CH_PATH_RINGS]);
    }
}

/* What wet test and leak-down see, at no extra area and at [low, high), where some cylinder's dry readings leave anything to weigh. */
static void state_set_more(const weigh_frame *frame, const state_tables *t, int low, int high, weigh_state *state)
{
    const bool wet = frame->measured->any_wet && frame->wet != NULL;
    for (int k = 0; k < RING_NODES; k++) {
        if (wet && low > 0)
            state_set_wet(frame, t, state, k, 0);
        for (int g = low; g < high; g++) {
            if (wet)
                state_set_wet(frame, t, state, k, g);
            if (frame->measured->any_leakdown)
                state_set_standing(frame, t, state, k, g);
        }
    }
}

void weigh_cylinders(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], weigh_state *state,
                     weigh_cylinder cylinder[])
{
    const double *extra = &value[CH_DOUBT_COUNT];
    state_tables t = {.wet_dose_m3 = NAN,
                      .oil_factor_1 = fmin(0.35 * exp(0.4 * extra[SHARED_OIL_SEAL]), 1.0),
                      .standing_1 = STANDING_MEDIAN_1 * exp(extra[SHARED_STATIC]),
                      .orifice_factor_1 = exp(extra[SHARED_ORIFICE]),
                      .filler_ln = log(frame->knowledge->hearing.least_oil_filler_m2) + extra[SHARED_LISTENER],
                      .gain_1 = 1.0 + extra[SHARED_GAIN],
                      .zero_pa = extra[SHARED_ZERO],
                      .state = state};
    state_set_dry(frame, extra[SHARED_RINGS], state);
    ch_emulator_table(frame->dry, value, t.final_pa, t.first_pa);
    gauge_table(&t, t.final_pa);
    gauge_table(&t, t.first_pa);
    int low = CH_EMULATOR_GRID, high = 0;
    for (int i = 0; i < frame->measured->cylinders; i++) {
        weigh_dry(&t, &frame->measured->cylinder[i], &cylinder[i]);
        low = cylinder[i].low < low ? cylinder[i].low : low;
        high = cylinder[i].high > high ? cylinder[i].high : high;
    }
    state_set_more(frame, &t, low, high, state);
    for (int i = 0; i < frame->measured->cylinders; i++)
        weigh_one(frame, value, &t, &frame->measured->cylinder[i], &cylinder[i]);
    memcpy(state->level_weight, frame->level_weight, sizeof state->level_weight);
    if (frame->measured->cylinders > 1)
        factors_together(frame, value, &t, state, cylinder);
}

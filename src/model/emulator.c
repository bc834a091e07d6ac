/* The stand-in for the cranking model: one base curve over leak area, for the gauge's filling a curve through seven runs, and for each other
 * doubt a parabola through three, both at four areas.
 *
 * Work in y = ln(1 + reading/1 atm), where the doubts act nearly additively, and in u = ln(1 + area/scale), where the curve is smooth from a
 * tight cylinder to a dead one. The gauge fills by a law whose time scale is hose volume over check valve area, so these two, the number
 * of strokes and the speed are strongly coupled; their logarithms are added up before the curve is asked. The adapter's volume is exactly as
 * good as clearance, so it is turned into a compression ratio. Other cross terms are left out; tests/unit/test_emulator.c bounds what that
 * costs. */
#include "crosshatch/emulator.h"

#include <math.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "crosshatch/wet.h"

enum { BASE_NODES = 16, SOUNDED_NODES = 4 };

/* Node numbers among BASE_NODES at which the doubts are sounded. */
static const int SOUNDED[SOUNDED_NODES] = {1, 4, 7, 10};

static const double LARGEST_U = 7.2; /* 1340 scales: 400 mm2 in a cylinder of 0.5 l, which reads nothing */
static const double TOLERANCE = 3e-5;

static const char *const NAMES[CH_DOUBT_COUNT] = {
    [CH_DOUBT_RATIO] = "compression ratio",
    [CH_DOUBT_CLOSES] = "intake closing",
    [CH_DOUBT_ANNAND] = "heat to the walls",
    [CH_DOUBT_SPEED] = "cranking speed",
    [CH_DOUBT_WALL] = "engine temperature",
    [CH_DOUBT_AMBIENT] = "air pressure",
    [CH_DOUBT_HOSE] = "hose volume",
    [CH_DOUBT_DEAD] = "adapter volume",
    [CH_DOUBT_CHECK_AREA] = "check valve area",
    [CH_DOUBT_OPENING] = "check valve spring",
    [CH_DOUBT_CREVICE] = "crevice volume",
    [CH_DOUBT_THROTTLE] = "throttle leakage",
    [CH_DOUBT_STROKES] = "number of strokes",
};

const char *ch_doubt_name(ch_doubt doubt)
{
    return NAMES[doubt];
}

void ch_doubts_from_setup(const ch_setup *setup, ch_doubts *doubts)
{
    const bool *assumed = setup->assumed;
    const bool any_timing_assumed = assumed[CH_INPUT_INTAKE_CLOSES];
    *doubts = (ch_doubts){
        .sd = {
            [CH_DOUBT_RATIO] = assumed[CH_INPUT_COMPRESSION_RATIO] ? CH_PRIOR_RATIO_UNKNOWN_SD : CH_PRIOR_RATIO_SD,
            [CH_DOUBT_CLOSES] = any_timing_assumed          ? CH_PRIOR_UNKNOWN_CLOSES_SD_RAD
                                : assumed[CH_INPUT_AT_LIFT] ? CH_PRIOR_UNSTATED_CLOSES_SD_RAD
                                                            : CH_PRIOR_STATED_CLOSES_SD_RAD,
            [CH_DOUBT_ANNAND] = assumed[CH_INPUT_ANNAND] ? CH_PRIOR_ANNAND_SD : 0.0,
            [CH_DOUBT_SPEED] = assumed[CH_INPUT_CRANKING_SPEED] ? CH_PRIOR_SPEED_UNKNOWN_SD : CH_PRIOR_SPEED_SD,
            [CH_DOUBT_WALL] = assumed[CH_INPUT_ENGINE_TEMPERATURE] ? CH_PRIOR_WALL_UNKNOWN_SD_K : CH_PRIOR_WALL_SD_K,
            [CH_DOUBT_AMBIENT] = setup->barometer_doubt_1,
            [CH_DOUBT_HOSE] = assumed[CH_INPUT_HOSE_VOLUME] ? CH_PRIOR_HOSE_UNKNOWN_SD : CH_PRIOR_HOSE_SD,
            [CH_DOUBT_DEAD] = assumed[CH_INPUT_DEAD_VOLUME] ? CH_PRIOR_DEAD_UNKNOWN_SD : CH_PRIOR_DEAD_SD,
            [CH_DOUBT_CHECK_AREA] =
                assumed[CH_INPUT_VALVE_AREA] ? CH_PRIOR_CHECK_AREA_UNKNOWN_SD : CH_PRIOR_CHECK_AREA_SD,
            [CH_DOUBT_OPENING] = assumed[CH_INPUT_OPENING_PRESSURE] ? CH_PRIOR_OPENING_UNKNOWN_SD : CH_PRIOR_OPENING_SD,
            [CH_DOUBT_CREVICE] = assumed[CH_INPUT_CREVICE_FRACTION] ? CH_PRIOR_CREVICE_UNKNOWN_SD : 0.0,
            [CH_DOUBT_THROTTLE] = setup->throttle_shut ? CH_PRIOR_THROTTLE_SD : 0.0,
            [CH_DOUBT_STROKES] = assumed[CH_INPUT_STROKES] ? CH_PRIOR_STROKES_UNKNOWN_SD : 0.0,
        }};
}

ch_status ch_engine_instance(const ch_setup *setup, int cylinders, const double offset[CH_DOUBT_COUNT],
                             const ch_oil *oil, ch_cranking *out, ch_err *err)
{
    ch_cranking made = setup->cranking;
    const double ratio_factor = exp(offset[CH_DOUBT_RATIO]);
    made.clearance_m3 /= ratio_factor;
    made.crevice_m3 *= exp(offset[CH_DOUBT_CREVICE]) / ratio_factor;
    made.annand_1 *= exp(offset[CH_DOUBT_ANNAND]);
    made.speed_rad_s *= exp(offset[CH_DOUBT_SPEED]);
    made.wall_k += offset[CH_DOUBT_WALL];
    made.ambient_pa *= exp(offset[CH_DOUBT_AMBIENT]);
    made.intake_pa = made.ambient_pa;
    made.hose_m3 *= exp(offset[CH_DOUBT_HOSE]);
    made.dead_m3 *= exp(offset[CH_DOUBT_DEAD]);
    made.check_area_m2 *= exp(offset[CH_DOUBT_CHECK_AREA]);
    made.check_opening_pa *= exp(offset[CH_DOUBT_OPENING]);
    made.intake.duration_rad += offset[CH_DOUBT_CLOSES];
    const double strokes = made.strokes + offset[CH_DOUBT_STROKES];
    made.strokes = (int)fmin(fmax(floor(strokes + 0.5), 1.0), CH_STROKES_MAX);
    if (oil != NULL && oil->retained_m3 > 0.0) {
        const ch_wet_dose dose = {.oil_m3 = oil->retained_m3, .retained_1 = 1.0, .ring_factor_1 = 1.0};
        const ch_wet_cylinder dry = {.clearance_m3 = made.clearance_m3, .ring_area_m2 = 0.0};
        ch_wet_cylinder wet;
        ch_status rc = ch_wet_apply(&dose, &dry, &wet, err);
        if (rc < 0)
            return rc;
        made.clearance_m3 = wet.clearance_m3;
    }
    if (setup->throttle_shut) {
        const double displacement_m3 = cylinders * ch_piston_swept_m3(&made.bore);
        const double area_m2 = ch_shut_throttle_area_m2(displacement_m3) * exp(offset[CH_DOUBT_THROTTLE]);
        ch_status rc = ch_cranking_intake_pa(&made, cylinders, area_m2, &made.intake_pa, err);
        if (rc < 0)
            return rc;
    }
    *out = made;
    return CH_OK;
}

static double reading_log(double reading_pa)
{
    return log1p(fmax(reading_pa, 0.0) / CH_EMULATOR_PA);
}

/* One run: logs of final and first reading. */
static ch_status sound(const ch_cranking *engine, double area_m2, double y[2], ch_err *err)
{
    ch_cranking trial = *engine;
    trial.leaks = (ch_leak_areas){.exhaust_valve_m2 = area_m2};
    trial.reuse_charge = true;
    double gauge_pa[CH_STROKES_MAX];
    ch_status rc = ch_cranking_run(&trial, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc < 0)
        return rc;
    y[0] = reading_log(gauge_pa[engine->strokes - 1]);
    y[1] = reading_log(gauge_pa[0]);
    return CH_OK;
}

/* Natural cubic spline through n values at equal steps, evaluated on the grid. Source: any numerical text; tridiagonal elimination. */
static void spread_spline(const double value[], int n, double grid[CH_EMULATOR_GRID])
{
    double second[BASE_NODES] = {0}, work[BASE_NODES] = {0};
    for (int i = 1; i < n - 1; i++) {
        const double pivot = 4.0 - work[i - 1];
        work[i] = 1.0 / pivot;
        second[i] = (6.0 * (value[i + 1] - 2.0 * value[i] + value[i - 1]) - second[i - 1]) / pivot;
    }
    second[n - 1] = 0.0;
    for (int i = n - 2; i > 0; i--)
        second[i] -= work[i] * second[i + 1];
    for (int g = 0; g < CH_EMULATOR_GRID; g++) {
        const double place = (double)g * (n - 1) / (CH_EMULATOR_GRID - 1);
        int i = (int)place;
        if (i > n - 2)
            i = n - 2;
        const double b = place - i, a = 1.0 - b;
        grid[g] =
            a * value[i] + b * value[i + 1] + ((a * a * a - a) * second[i] + (b * b * b - b) * second[i + 1]) / 6.0;
    }
}

/* Straight lines between the sounded nodes, level before the first; past the last the effect fades as the reading does. */
static void spread_sounded(const double value[SOUNDED_NODES], const double level[CH_EMULATOR_GRID],
                           double grid[CH_EMULATOR_GRID])
{
    const double per_node = (double)(CH_EMULATOR_GRID - 1) / (BASE_NODES - 1);
    const double last_level = level[(int)(SOUNDED[SOUNDED_NODES - 1] * per_node + 0.5)];
    for (int g = 0; g < CH_EMULATOR_GRID; g++) {
        const double node = g / per_node;
        if (node <= SOUNDED[0]) {
            grid[g] = value[0];
        } else if (node >= SOUNDED[SOUNDED_NODES - 1]) {
            const double fade = last_level > 0.0 ? fmin(level[g] / last_level, 1.0) : 0.0;
            grid[g] = value[SOUNDED_NODES - 1] * fmax(fade, 0.0);
        } else {
            int k = 0;
            while (node > SOUNDED[k + 1])
                k++;
            const double part = (node - SOUNDED[k]) / (SOUNDED[k + 1] - SOUNDED[k]);
            grid[g] = (1.0 - part) * value[k] + part * value[k + 1];
        }
    }
}

/* How a doubt is sounded: not at all (it acts through the fill or the ratio), on one side (it is small and its effect straight), or on both. The least
 * offset keeps a doubt that is small here with a slope to be asked for. */
static const struct {
    int sides;
    double least_span;
} SOUNDING[CH_DOUBT_COUNT] = {
    [CH_DOUBT_RATIO] = {2, 0.1},   [CH_DOUBT_CLOSES] = {2, 0.15}, [CH_DOUBT_ANNAND] = {2, 0.2},
    [CH_DOUBT_SPEED] = {2, 0.1},   [CH_DOUBT_WALL] = {1, 10.0},   [CH_DOUBT_AMBIENT] = {1, 0.01},
    [CH_DOUBT_HOSE] = {0, 0.2},    [CH_DOUBT_DEAD] = {0, 0.2},    [CH_DOUBT_CHECK_AREA] = {0, 0.2},
    [CH_DOUBT_OPENING] = {2, 0.2}, [CH_DOUBT_CREVICE] = {1, 0.2}, [CH_DOUBT_THROTTLE] = {2, 0.3},
    [CH_DOUBT_STROKES] = {0, 1.0},
};

/* In a chamber of a few drops the adapter is all there is: no doubt about it makes a chamber of nothing (judgment). */
static const double RATIO_SPAN_MOST = 1.5;

/* The engine with one set of offsets, run at as many areas as doubts are sounded at: a piece of the work, beside others. */
typedef struct sounding {
    double offset[CH_DOUBT_COUNT], area_m2[SOUNDED_NODES];
    double y[2][SOUNDED_NODES]; /* what it comes to: of the final reading and of the first */
    ch_status status;
    ch_err err;
} sounding;

enum {
    BASE_SOUNDINGS = BASE_NODES / SOUNDED_NODES,
    FILL_MIDDLE = CH_EMULATOR_FILLS / 2,
    SOUNDINGS_MAX = BASE_SOUNDINGS + 2 * CH_DOUBT_COUNT + CH_EMULATOR_FILLS - 1
};
_Static_assert(BASE_SOUNDINGS *SOUNDED_NODES == BASE_NODES, "the base curve is sounded by whole pieces");

/* All soundings of one stand-in, and where in the list each doubt's and each fill's begin. */
typedef struct sounder {
    const ch_setup *setup;
    int cylinders;
    const ch_oil *oil;
    double area_m2[SOUNDED_NODES];
    int count, of_doubt[CH_DOUBT_COUNT], of_fill[CH_EMULATOR_FILLS];
    sounding list[SOUNDINGS_MAX];
} sounder;

static void sound_one(void *context, int piece, int worker)
{
    (void)worker; /* needs no room to work in */
    sounder *of = context;
    sounding *one = &of->list[piece];
    ch_cranking engine;
    one->status = ch_engine_instance(of->setup, of->cylinders, one->offset, of->oil, &engine, &one->err);
    for (int n = 0; one->status >= 0 && n < SOUNDED_NODES; n++) {
        double y[2] = {0};
        one->status = sound(&engine, one->area_m2[n], y, &one->err);
        one->y[0][n] = y[0];
        one->y[1][n] = y[1];
    }
}

/* One more in the list: at the sounded nodes, without offsets. */
static sounding *sounding_add(sounder *of)
{
    sounding *one = &of->list[of->count++];
    memcpy(one->area_m2, of->area_m2, sizeof one->area_m2);
    return one;
}

static void list_doubt(sounder *of, ch_doubt doubt, double span)
{
    of->of_doubt[doubt] = of->count;
    for (int side = 0; side < SOUNDING[doubt].sides; side++) {
        double *offset = sounding_add(of)->offset;
        offset[doubt] = side == 0 ? span : -span;
        /* A faster crank leaves the gauge less time and asks more of a shut throttle; these parts belong to the fill and the throttle. */
        if (doubt == CH_DOUBT_SPEED) {
            offset[CH_DOUBT_HOSE] = -offset[doubt];
            offset[CH_DOUBT_THROTTLE] = offset[doubt];
        }
    }
}

static void list_fills(sounder *of, const ch_doubts *doubts, ch_emulator *e)
{
    const double hose = pow(doubts->sd[CH_DOUBT_HOSE], 2), valve = pow(doubts->sd[CH_DOUBT_CHECK_AREA], 2);
    const double time = pow(doubts->sd[CH_DOUBT_SPEED], 2) + pow(doubts->sd[CH_DOUBT_STROKES] / e->strokes, 2);
    e->fill_step = fmax(sqrt(hose + valve + time), 0.2);
    /* Hose and valve do not act quite alike (a wide valve is held back by what the cylinder can give): walk the way on which both are likely. */
    const double hose_part = hose + valve > 0.0 ? hose / (hose + valve) : 1.0;
    for (int node = 0; node < CH_EMULATOR_FILLS; node++) {
        if (node == FILL_MIDDLE)
            continue;
        const double fill = (node - FILL_MIDDLE) * e->fill_step;
        of->of_fill[node] = of->count;
        double *offset = sounding_add(of)->offset;
        offset[CH_DOUBT_HOSE] = -hose_part * fill;
        offset[CH_DOUBT_CHECK_AREA] = (1.0 - hose_part) * fill;
    }
}

/* The base curve; returns its value at the sounded nodes in base. */
static void take_base(const sounder *of, ch_emulator *e, double base[2][SOUNDED_NODES])
{
    for (int k = 0; k < 2; k++) {
        double value[BASE_NODES];
        for (int i = 0; i < BASE_NODES; i++)
            value[i] = of->list[i / SOUNDED_NODES].y[k][i % SOUNDED_NODES];
        spread_spline(value, BASE_NODES, e->level[k]);
        for (int n = 0; n < SOUNDED_NODES; n++)
            base[k][n] = value[SOUNDED[n]];
    }
}

static void take_doubt(const sounder *of, ch_doubt doubt, double base[2][SOUNDED_NODES], ch_emulator *e)
{
    const sounding *side = &of->list[of->of_doubt[doubt]];
    for (int k = 0; k < 2; k++) {
        double slope[SOUNDED_NODES], curvature[SOUNDED_NODES];
        for (int n = 0; n < SOUNDED_NODES; n++) {
            const double up = side[0].y[k][n] - base[k][n];
            const double down = SOUNDING[doubt].sides == 2 ? side[1].y[k][n] - base[k][n] : -up;
            slope[n] = 0.5 * (up - down);
            curvature[n] = 0.5 * (up + down);
        }
        spread_sounded(slope, e->level[k], e->slope[k][doubt]);
        spread_sounded(curvature, e->level[k], e->curvature[k][doubt]);
    }
}

static void take_fill(const sounder *of, int node, double base[2][SOUNDED_NODES], ch_emulator *e)
{
    for (int k = 0; k < 2; k++) {
        double change[SOUNDED_NODES];
        for (int n = 0; n < SOUNDED_NODES; n++)
            change[n] = of->list[of->of_fill[node]].y[k][n] - base[k][n];
        spread_sounded(change, e->level[k], e->fill[k][node]);
    }
}

/* The first of the list that the model refused, as it would be told if they were run one after the other. */
static ch_status first_failure(const sounder *of, ch_err *err)
{
    for (int i = 0; i < of->count; i++) {
        const sounding *one = &of->list[i];
        if (one->status < 0)
            return ch_fail(err, one->status, one->err.right, "%s", one->err.what);
    }
    return CH_OK;
}

ch_status ch_emulator_build(const ch_setup *setup, int cylinders, const ch_doubts *doubts, const ch_oil *oil,
                            const ch_crew *crew, ch_emulator *emulator, ch_err *err)
{
    ch_emulator *e = emulator;
    memset(e, 0, sizeof *e);
    e->strokes = setup->cranking.strokes;
    e->dead_over_clearance_1 = setup->cranking.dead_m3 / setup->cranking.clearance_m3;
    e->area_scale_m2 = 0.3e-6 * ch_piston_swept_m3(&setup->cranking.bore) / 0.5e-3;
    e->u_step = LARGEST_U / (CH_EMULATOR_GRID - 1);
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        e->area_m2[g] = e->area_scale_m2 * expm1(g * e->u_step);

    sounder of = {.setup = setup, .cylinders = cylinders, .oil = oil};
    double node_area_m2[BASE_NODES];
    for (int i = 0; i < BASE_NODES; i++)
        node_area_m2[i] = e->area_scale_m2 * expm1(LARGEST_U * i / (BASE_NODES - 1));
    for (int n = 0; n < SOUNDED_NODES; n++)
        of.area_m2[n] = node_area_m2[SOUNDED[n]];
    for (int b = 0; b < BASE_SOUNDINGS; b++) {
        double *area_m2 = sounding_add(&of)->area_m2;
        memcpy(area_m2, &node_area_m2[b * SOUNDED_NODES], sizeof of.area_m2);
    }
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++) {
        double sd = doubts->sd[doubt];
        if (doubt == CH_DOUBT_RATIO)
            sd = fmin(hypot(sd, e->dead_over_clearance_1 * sinh(doubts->sd[CH_DOUBT_DEAD])), RATIO_SPAN_MOST);
        else if (doubt == CH_DOUBT_THROTTLE)
            sd = hypot(sd, doubts->sd[CH_DOUBT_SPEED]);
        e->span[doubt] = fmax(1.5 * sd, SOUNDING[doubt].least_span);
        if (doubt != CH_DOUBT_THROTTLE || setup->throttle_shut)
            list_doubt(&of, (ch_doubt)doubt, e->span[doubt]);
    }
    list_fills(&of, doubts, e);
    ch_crew_run(crew, of.count, sound_one, &of);
    e->runs = (long)of.count * SOUNDED_NODES;
    const ch_status rc = first_failure(&of, err);
    if (rc < 0)
        return rc;

    double base[2][SOUNDED_NODES];
    take_base(&of, e, base);
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        if (SOUNDING[doubt].sides > 0 && (doubt != CH_DOUBT_THROTTLE || setup->throttle_shut))
            take_doubt(&of, (ch_doubt)doubt, base, e);
    for (int node = 0; node < CH_EMULATOR_FILLS; node++)
        if (node != FILL_MIDDLE)
            take_fill(&of, node, base, e);
    return CH_OK;
}

/* The four nodes around a fill and their weights: the cubic through four points whose slopes at the inner two are those of their neighbours
 * (Catmull and Rom 1974). Below the first node the curve goes on straight, as a gauge that has hardly begun to fill does; above the last, where it is
 * full, it stays. */
typedef struct fill_weights {
    int node[4];
    double weight[4];
} fill_weights;

static fill_weights fill_place(const ch_emulator *e, const double offset[CH_DOUBT_COUNT], int k)
{
    double fill = offset[CH_DOUBT_CHECK_AREA] - offset[CH_DOUBT_HOSE] - offset[CH_DOUBT_SPEED];
    if (k == 0 && offset[CH_DOUBT_STROKES] != 0.0)
        fill += log(fmin(fmax(e->strokes + offset[CH_DOUBT_STROKES], 1.0), CH_STROKES_MAX) / e->strokes);
    const double place = fmin(fill / e->fill_step + FILL_MIDDLE, CH_EMULATOR_FILLS - 1);
    if (place < 0.0)
        return (fill_weights){.node = {0, 1, 1, 1}, .weight = {1.0 - place, place, 0.0, 0.0}};
    const int below = (int)fmin(place, CH_EMULATOR_FILLS - 2);
    const double t = place - below;
    fill_weights at = {
        .node = {below - 1, below, below + 1, below + 2},
        .weight = {0.5 * t * (t * (2.0 - t) - 1.0), 0.5 * (t * t * (3.0 * t - 5.0) + 2.0),
                   0.5 * t * (t * (4.0 - 3.0 * t) + 1.0), 0.5 * t * t * (t - 1.0)},
    };
    if (below == 0) { /* node -1 = 2 node 0 - node 1 */
        at.node[0] = 0;
        at.weight[1] += 2.0 * at.weight[0];
        at.weight[2] -= at.weight[0];
        at.weight[0] = 0.0;
    } else if (below == CH_EMULATOR_FILLS - 2) {
        at.node[3] = below + 1;
        at.weight[2] += 2.0 * at.weight[3];
        at.weight[1] -= at.weight[3];
        at.weight[3] = 0.0;
    }
    return at;
}

/* The ratio's offset that gives the clearance which ratio and adapter give together. An adapter smaller than nothing cannot come out, but a ratio
 * without bound can: five per cent of the clearance are left. */
static double ratio_offset(const ch_emulator *e, const double offset[CH_DOUBT_COUNT])
{
    if (offset[CH_DOUBT_DEAD] == 0.0)
        return offset[CH_DOUBT_RATIO];
    const double clearance_1 = exp(-offset[CH_DOUBT_RATIO]) + e->dead_over_clearance_1 * expm1(offset[CH_DOUBT_DEAD]);
    return -log(fmax(clearance_1, 0.05));
}

/* Readings at `count` grid points from `start` on. */
static void emulate(const ch_emulator *e, const double offset[CH_DOUBT_COUNT], int k, int start, int count, double y[])
{
    memcpy(y, e->level[k] + start, (size_t)count * sizeof y[0]);
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++) {
        double by = offset[doubt];
        if (doubt == CH_DOUBT_RATIO)
            by = ratio_offset(e, offset);
        else if (doubt == CH_DOUBT_THROTTLE)
            by -= offset[CH_DOUBT_SPEED];
        const double t = by / e->span[doubt];
        if (t == 0.0 || SOUNDING[doubt].sides == 0)
            continue;
        const double *slope = e->slope[k][doubt] + start, *curvature = e->curvature[k][doubt] + start;
        for (int g = 0; g < count; g++)
            y[g] += t * (slope[g] + t * curvature[g]);
    }
    const fill_weights at = fill_place(e, offset, k);
    for (int i = 0; i < 4; i++) {
        const double weight = at.weight[i];
        if (weight == 0.0 || at.node[i] == FILL_MIDDLE)
            continue;
        const double *fill = e->fill[k][at.node[i]] + start;
        for (int g = 0; g < count; g++)
            y[g] += weight * fill[g];
    }
    for (int g = 0; g < count; g++)
        y[g] = y[g] > 0.0 ? CH_EMULATOR_PA * expm1(y[g]) : 0.0;
}

void ch_emulator_table(const ch_emulator *emulator, const double offset[CH_DOUBT_COUNT],
                       double final_pa[CH_EMULATOR_GRID], double first_pa[CH_EMULATOR_GRID])
{
    if (final_pa != NULL)
        emulate(emulator, offset, 0, 0, CH_EMULATOR_GRID, final_pa);
    if (first_pa != NULL)
        emulate(emulator, offset, 1, 0, CH_EMULATOR_GRID, first_pa);
}

void ch_emulator_place(const ch_emulator *emulator, double area_m2, int *below, double *part_1)
{
    const double place = log1p(fmax(area_m2, 0.0) / emulator->area_scale_m2) / emulator->u_step;
    if (!(place < CH_EMULATOR_GRID - 1)) {
        *below = CH_EMULATOR_GRID - 2;
        *part_1 = 1.0;
        return;
    }
    *below = (int)place;
    *part_1 = place - *below;
}

double ch_emulator_at(const ch_emulator *emulator, const double table[CH_EMULATOR_GRID], double area_m2)
{
    int below;
    double part_1;
    ch_emulator_place(emulator, area_m2, &below, &part_1);
    return table[below] + part_1 * (table[below + 1] - table[below]);
}

double ch_emulator_reading_pa(const ch_emulator *emulator, const double offset[CH_DOUBT_COUNT], double area_m2)
{
    int below;
    double part_1;
    ch_emulator_place(emulator, area_m2, &below, &part_1);
    double reading_pa[2];
    emulate(emulator, offset, 0, below, 2, reading_pa);
    return reading_pa[0] + part_1 * (reading_pa[1] - reading_pa[0]);
}

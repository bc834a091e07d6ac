/* The stand-in for the cranking model: one base curve over leak area, and for each doubt a parabola through three runs at four areas.
 *
 * Work in y = ln(1 + reading/1 atm), where the doubts act nearly additively, and in u = ln(1 + area/scale), where the curve is smooth from a
 * tight cylinder to a dead one. Cross terms between doubts are left out; tests/unit/test_emulator.c bounds what that costs. */
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
            [CH_DOUBT_SPEED] = assumed[CH_INPUT_CRANKING_SPEED] ? 0.22 : 0.05,
            [CH_DOUBT_WALL] = assumed[CH_INPUT_ENGINE_TEMPERATURE] ? 15.0 : 6.0,
            [CH_DOUBT_AMBIENT] = setup->barometer_doubt_1,
            [CH_DOUBT_HOSE] = assumed[CH_INPUT_HOSE_VOLUME] ? 0.5 : 0.1,
            [CH_DOUBT_DEAD] = assumed[CH_INPUT_DEAD_VOLUME] ? CH_PRIOR_DEAD_SD : 0.15,
            [CH_DOUBT_CHECK_AREA] = assumed[CH_INPUT_VALVE_AREA] ? 0.5 : 0.2,
            [CH_DOUBT_OPENING] = assumed[CH_INPUT_OPENING_PRESSURE] ? 0.6 : 0.2,
            [CH_DOUBT_CREVICE] = assumed[CH_INPUT_CREVICE_FRACTION] ? 0.4 : 0.0,
            [CH_DOUBT_THROTTLE] = setup->throttle_shut ? 0.5 : 0.0,
            [CH_DOUBT_STROKES] = assumed[CH_INPUT_STROKES] ? 1.5 : 0.0,
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

/* One run: logs of final and first reading, and, where wanted, of the readings some strokes before and after. */
static ch_status sound(const ch_cranking *engine, double area_m2, int more_strokes, double y[2], double *y_before,
                       double *y_after, ch_err *err)
{
    ch_cranking trial = *engine;
    trial.leaks = (ch_leak_areas){.exhaust_valve_m2 = area_m2};
    trial.reuse_charge = true;
    trial.strokes = engine->strokes + more_strokes > CH_STROKES_MAX ? CH_STROKES_MAX : engine->strokes + more_strokes;
    double gauge_pa[CH_STROKES_MAX];
    ch_status rc = ch_cranking_run(&trial, TOLERANCE, gauge_pa, NULL, NULL, NULL, err);
    if (rc < 0)
        return rc;
    y[0] = reading_log(gauge_pa[engine->strokes - 1]);
    y[1] = reading_log(gauge_pa[0]);
    if (y_before != NULL) {
        const int before = engine->strokes - 1 - more_strokes;
        *y_before = reading_log(gauge_pa[before > 0 ? before : 0]);
        *y_after = reading_log(gauge_pa[trial.strokes - 1]);
    }
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

/* Least offset at which a doubt is sounded, so that a doubt that is small here still has a slope to be asked for. */
static const double LEAST_SPAN[CH_DOUBT_COUNT] = {
    [CH_DOUBT_RATIO] = 0.05,     [CH_DOUBT_CLOSES] = 0.21,  [CH_DOUBT_ANNAND] = 0.2,  [CH_DOUBT_SPEED] = 0.2,
    [CH_DOUBT_WALL] = 15.0,      [CH_DOUBT_AMBIENT] = 0.01, [CH_DOUBT_HOSE] = 0.2,    [CH_DOUBT_DEAD] = 0.2,
    [CH_DOUBT_CHECK_AREA] = 0.2, [CH_DOUBT_OPENING] = 0.2,  [CH_DOUBT_CREVICE] = 0.2, [CH_DOUBT_THROTTLE] = 0.3,
    [CH_DOUBT_STROKES] = 2.0,
};

ch_status ch_emulator_build(const ch_setup *setup, int cylinders, const ch_doubts *doubts, const ch_oil *oil,
                            ch_emulator *emulator, ch_err *err)
{
    ch_emulator *e = emulator;
    memset(e, 0, sizeof *e);
    e->area_scale_m2 = 0.3e-6 * ch_piston_swept_m3(&setup->cranking.bore) / 0.5e-3;
    e->u_step = LARGEST_U / (CH_EMULATOR_GRID - 1);
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        e->area_m2[g] = e->area_scale_m2 * expm1(g * e->u_step);

    ch_cranking engine;
    const double none[CH_DOUBT_COUNT] = {0};
    ch_status rc = ch_engine_instance(setup, cylinders, none, oil, &engine, err);
    const int more_strokes = 2;
    double base[2][BASE_NODES];
    double before[BASE_NODES] = {0}, after[BASE_NODES] = {0};
    double node_area_m2[BASE_NODES];
    for (int i = 0; rc >= 0 && i < BASE_NODES; i++) {
        node_area_m2[i] = e->area_scale_m2 * expm1(LARGEST_U * i / (BASE_NODES - 1));
        double y[2];
        rc = sound(&engine, node_area_m2[i], more_strokes, y, &before[i], &after[i], err);
        base[0][i] = y[0];
        base[1][i] = y[1];
        e->runs++;
    }
    if (rc < 0)
        return rc;
    for (int k = 0; k < 2; k++)
        spread_spline(base[k], BASE_NODES, e->level[k]);

    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++) {
        e->span[doubt] = fmax(1.5 * doubts->sd[doubt], LEAST_SPAN[doubt]);
        double slope[2][SOUNDED_NODES] = {{0}}, curvature[2][SOUNDED_NODES] = {{0}};
        if (doubt == CH_DOUBT_THROTTLE && !setup->throttle_shut)
            continue;
        if (doubt == CH_DOUBT_STROKES) {
            e->span[doubt] = more_strokes;
            for (int n = 0; n < SOUNDED_NODES; n++) {
                const double low = before[SOUNDED[n]], high = after[SOUNDED[n]], middle = base[0][SOUNDED[n]];
                slope[0][n] = 0.5 * (high - low);
                curvature[0][n] = 0.5 * (high + low) - middle;
            }
        } else {
            double y[2][2][SOUNDED_NODES]; /* side, final or first, node */
            for (int side = 0; side < 2; side++) {
                double offset[CH_DOUBT_COUNT] = {0};
                offset[doubt] = side == 0 ? -e->span[doubt] : e->span[doubt];
                ch_cranking moved;
                rc = ch_engine_instance(setup, cylinders, offset, oil, &moved, err);
                for (int n = 0; rc >= 0 && n < SOUNDED_NODES; n++) {
                    double at[2];
                    rc = sound(&moved, node_area_m2[SOUNDED[n]], 0, at, NULL, NULL, err);
                    y[side][0][n] = at[0];
                    y[side][1][n] = at[1];
                    e->runs++;
                }
                if (rc < 0)
                    return rc;
            }
            for (int k = 0; k < 2; k++)
                for (int n = 0; n < SOUNDED_NODES; n++) {
                    slope[k][n] = 0.5 * (y[1][k][n] - y[0][k][n]);
                    curvature[k][n] = 0.5 * (y[1][k][n] + y[0][k][n]) - base[k][SOUNDED[n]];
                }
        }
        for (int k = 0; k < 2; k++) {
            spread_sounded(slope[k], e->level[k], e->slope[k][doubt]);
            spread_sounded(curvature[k], e->level[k], e->curvature[k][doubt]);
        }
    }
    return CH_OK;
}

void ch_emulator_table(const ch_emulator *emulator, const double offset[CH_DOUBT_COUNT],
                       double final_pa[CH_EMULATOR_GRID], double first_pa[CH_EMULATOR_GRID])
{
    double *const out[2] = {final_pa, first_pa};
    for (int k = 0; k < 2; k++) {
        if (out[k] == NULL)
            continue;
        double y[CH_EMULATOR_GRID];
        memcpy(y, emulator->level[k], sizeof y);
        for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++) {
            const double t = offset[doubt] / emulator->span[doubt];
            if (t == 0.0)
                continue;
            const double *slope = emulator->slope[k][doubt], *curvature = emulator->curvature[k][doubt];
            for (int g = 0; g < CH_EMULATOR_GRID; g++)
                y[g] += t * (slope[g] + t * curvature[g]);
        }
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            out[k][g] = y[g] > 0.0 ? CH_EMULATOR_PA * expm1(y[g]) : 0.0;
    }
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
    double y[2] = {emulator->level[0][below], emulator->level[0][below + 1]};
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++) {
        const double t = offset[doubt] / emulator->span[doubt];
        if (t == 0.0)
            continue;
        const double *slope = &emulator->slope[0][doubt][below], *curvature = &emulator->curvature[0][doubt][below];
        for (int g = 0; g < 2; g++)
            y[g] += t * (slope[g] + t * curvature[g]);
    }
    double reading_pa[2];
    for (int g = 0; g < 2; g++)
        reading_pa[g] = y[g] > 0.0 ? CH_EMULATOR_PA * expm1(y[g]) : 0.0;
    return reading_pa[0] + part_1 * (reading_pa[1] - reading_pa[0]);
}

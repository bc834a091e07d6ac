/**
 * @file emulator.h
 * A quick stand-in for the cranking model of one engine: what the gauge shows as a function of leak area and of all that is in doubt.
 *
 * Built once per engine, gauge and day from some hundred runs of the real model; then a reading costs a microsecond instead of a
 * millisecond. docs/method.md, "The stand-in", gives its error against the real model.
 */
#ifndef CROSSHATCH_EMULATOR_H
#define CROSSHATCH_EMULATOR_H

#include "crosshatch/crew.h"
#include "crosshatch/setup.h"

/** What is in doubt about an engine, a gauge and a day, the same for all cylinders of a sheet. */
typedef enum ch_doubt {
    CH_DOUBT_RATIO,      /**< logarithm of (real - 1)/(nominal - 1) compression ratio */
    CH_DOUBT_CLOSES,     /**< intake closing, rad late */
    CH_DOUBT_ANNAND,     /**< logarithm of the factor on Annand's a */
    CH_DOUBT_SPEED,      /**< logarithm of the factor on cranking speed */
    CH_DOUBT_WALL,       /**< K on the engine's temperature */
    CH_DOUBT_AMBIENT,    /**< logarithm of the factor on ambient pressure */
    CH_DOUBT_HOSE,       /**< logarithm of the factor on the volume behind the check valve */
    CH_DOUBT_DEAD,       /**< logarithm of the factor on the volume ahead of it */
    CH_DOUBT_CHECK_AREA, /**< logarithm of the factor on the check valve's area */
    CH_DOUBT_OPENING,    /**< logarithm of the factor on its opening pressure */
    CH_DOUBT_CREVICE,    /**< logarithm of the factor on the crevice */
    CH_DOUBT_THROTTLE,   /**< logarithm of the factor on what a shut throttle leaves open; idle with an open one */
    CH_DOUBT_STROKES,    /**< strokes more or fewer */
    CH_DOUBT_COUNT
} ch_doubt;

/** Standard uncertainties of the doubts, each in its own measure. */
typedef struct ch_doubts {
    double sd[CH_DOUBT_COUNT];
} ch_doubts;

/** Name of a doubt in plain words. Static storage. */
const char *ch_doubt_name(ch_doubt doubt);

/** What the sheet leaves in doubt: small where it says, wide where a default stands in. */
void ch_doubts_from_setup(const ch_setup *setup, ch_doubts *doubts);

/** Oil poured in for a wet test; NULL stands for a dry one. */
typedef struct ch_oil {
    double retained_m3; /* above the piston while cranking, m3, taken from the clearance */
} ch_oil;

/**
 * One instance of the engine: the setup with every doubt at a value.
 *
 * @param setup     From ch_setup_from_sheet().
 * @param cylinders sharing the intake; matters with the throttle shut.
 * @param offset    CH_DOUBT_COUNT offsets, each in its own measure (not in standard deviations).
 * @param oil       NULL = dry.
 * @param out       (out) Ready for ch_cranking_run(), leaks as in `setup`. Untouched on failure.
 */
ch_status ch_engine_instance(const ch_setup *setup, int cylinders, const double offset[CH_DOUBT_COUNT],
                             const ch_oil *oil, ch_cranking *out, ch_err *err);

enum { CH_EMULATOR_GRID = 96, CH_EMULATOR_FILLS = 7 };

/**
 * The stand-in. Plain data, 55 kB; copy it, keep it, throw it away.
 *
 * How far the gauge has filled hangs on one number: check valve area times time over hose volume. So the doubts about hose volume, check
 * valve area and strokes, and the time that a faster crank leaves, act through their sum, the `fill`. The adapter's volume adds to the
 * clearance, so it acts through the compression ratio. All other doubts act each alone.
 */
typedef struct ch_emulator {
    double area_m2[CH_EMULATOR_GRID]; /**< total leak area at each grid point, rising from 0 */
    double area_scale_m2;             /**< grid point g stands at u = g * u_step, area = scale * (exp(u) - 1) */
    double u_step;
    double span[CH_DOUBT_COUNT]; /**< offset at which each doubt was sounded */
    /* [0] final, [1] first stroke; y = ln(1 + reading/CH_EMULATOR_PA) */
    double level[2][CH_EMULATOR_GRID];                     /**< y with no offset */
    double slope[2][CH_DOUBT_COUNT][CH_EMULATOR_GRID];     /**< of y, per span; zero for what acts through another */
    double curvature[2][CH_DOUBT_COUNT][CH_EMULATOR_GRID]; /**< of y, per span squared */
    double fill_step;                                      /**< node n of the fill stands at (n - 3) steps */
    double fill[2][CH_EMULATOR_FILLS][CH_EMULATOR_GRID];   /**< y at each node less that at the middle one */
    int strokes;                                           /**< of the setup */
    double dead_over_clearance_1;                          /**< of the setup */
    long runs;                                             /**< of the real model */
} ch_emulator;

/** Pressure that makes the logarithm's argument a number: one standard atmosphere, Pa. */
#define CH_EMULATOR_PA 101325.0

/**
 * Build the stand-in.
 *
 * @param setup     From ch_setup_from_sheet().
 * @param cylinders Sharing the intake; matters with the throttle shut.
 * @param doubts    How far each doubt has to be held: normal, each in its own measure.
 * @param oil       NULL = dry test.
 * @param crew      Who runs the model; NULL: the caller. Borrowed during the call.
 * @param emulator  (out) Plain data, the same whoever runs it. Of no use on failure.
 * @retval CH_E_RANGE, CH_E_CONVERGE from the model.
 * Cost: 90 to 110 runs of ch_cranking_run.
 */
ch_status ch_emulator_build(const ch_setup *setup, int cylinders, const ch_doubts *doubts, const ch_oil *oil,
                            const ch_crew *crew, ch_emulator *emulator, ch_err *err);

/**
 * Readings at every area of the grid for one set of offsets.
 *
 * @param emulator From ch_emulator_build().
 * @param offset   CH_DOUBT_COUNT offsets.
 * @param final_pa (out) CH_EMULATOR_GRID gauge pressures after the last stroke, Pa; may be NULL.
 * @param first_pa (out) the same after the first stroke; may be NULL.
 */
void ch_emulator_table(const ch_emulator *emulator, const double offset[CH_DOUBT_COUNT],
                       double final_pa[CH_EMULATOR_GRID], double first_pa[CH_EMULATOR_GRID]);

/** Final reading at one area for one set of offsets, Pa gauge: what ch_emulator_table and ch_emulator_at give, for 2 points of the grid. */
double ch_emulator_reading_pa(const ch_emulator *emulator, const double offset[CH_DOUBT_COUNT], double area_m2);

/** Place of an area on the grid: index below and the part of the way to the next, both clamped to the grid. */
void ch_emulator_place(const ch_emulator *emulator, double area_m2, int *below, double *part_1);

/** Value of a grid table at an area, linear between grid points. */
double ch_emulator_at(const ch_emulator *emulator, const double table[CH_EMULATOR_GRID], double area_m2);

#endif

/**
 * @file whatif.h
 * One cylinder's cranking test twice: as it is, and with some of what goes into the model moved. For seeing what matters how much.
 *
 * What moves is the list below; everything else is the sheet's, or the stated default of setup.h. The leaks are those of cylinder 1.
 */
#ifndef CROSSHATCH_WHATIF_H
#define CROSSHATCH_WHATIF_H

#include "crosshatch/setup.h"

/** What can be moved, and the SI unit of its number. */
typedef enum ch_whatif_input {
    CH_WHATIF_ALTITUDE,           /**< m */
    CH_WHATIF_SEA_LEVEL_PRESSURE, /**< Pa absolute, reduced to sea level (QNH) */
    CH_WHATIF_AIR_TEMPERATURE,    /**< K */
    CH_WHATIF_ENGINE_TEMPERATURE, /**< K, of all walls */
    CH_WHATIF_CRANKING_SPEED,     /**< rad/s */
    CH_WHATIF_STROKES,            /**< 1, a whole number */
    CH_WHATIF_THROTTLE,           /**< 0 = open, 1 = shut */
    CH_WHATIF_COMPRESSION_RATIO,  /**< 1 */
    CH_WHATIF_INTAKE_CLOSES,      /**< rad after bottom dead centre, at the sheet's lift */
    CH_WHATIF_HOSE_VOLUME,        /**< m3 behind the check valve */
    CH_WHATIF_DEAD_VOLUME,        /**< m3 ahead of it */
    CH_WHATIF_RINGS,              /**< m2 effective */
    CH_WHATIF_INTAKE_VALVE,       /**< m2 effective */
    CH_WHATIF_EXHAUST_VALVE,      /**< m2 effective */
    CH_WHATIF_COUNT
} ch_whatif_input;

typedef struct ch_whatif_inputs {
    double si[CH_WHATIF_COUNT];
} ch_whatif_inputs;

/** Name of an input, a-z and _: "altitude". Static storage. */
const char *ch_whatif_name(ch_whatif_input input);

/** What its number measures. */
ch_dimension ch_whatif_dimension(ch_whatif_input input);

/**
 * CH_E_RANGE where the number is outside what the input may be, saying what would be right.
 *
 * @param input Which one.
 * @param si    In SI, as the input's unit says; a whole number where it is strokes. NaN is outside.
 */
ch_status ch_whatif_check(ch_whatif_input input, double si, ch_err *err);

/** What the model did, as the sentences need it. Pressures absolute where not said. */
typedef struct ch_whatif_facts {
    double gauge_pa, first_gauge_pa; /**< reading after the last and the first stroke, over ambient */
    int settled;                     /**< strokes until the reading is within 5 % of the last one */
    double ambient_pa, intake_pa;
    double compression_s;    /**< time from bottom to top dead centre */
    double closing_ratio_1;  /**< volume where the intake valve is on its seat, over that at top dead centre */
    double closing_kg;       /**< air in the cylinder there, last stroke */
    double lost_1;           /**< part of it that is gone at top dead centre: out through leaks, or into the gauge */
    double closing_k, top_k; /**< gas temperature there, and at top dead centre */
    double top_pa;           /**< pressure at top dead centre, last stroke */
} ch_whatif_facts;

enum { CH_WHATIF_POINTS = 800 };

/** One run. */
typedef struct ch_whatif_run {
    ch_whatif_facts facts;
    int strokes;
    double stroke_gauge_pa[CH_STROKES_MAX];
    int points;                           /**< of the last stroke, from bottom to bottom dead centre */
    double angle_rad[CH_WHATIF_POINTS];   /**< from its top dead centre, rising */
    double pressure_pa[CH_WHATIF_POINTS]; /**< over ambient */
    double closing_rad;                   /**< where the intake valve is on its seat */
} ch_whatif_run;

/** Before and now. Plain data, some 30 kB. */
typedef struct ch_whatif {
    ch_whatif_inputs before, now;
    ch_whatif_run before_run, now_run;
    bool changed[CH_WHATIF_COUNT];
    ch_whatif_facts alone[CH_WHATIF_COUNT]; /**< with this input alone moved; where `changed` */
} ch_whatif;

/**
 * What a sheet's engine, gauge and day are, gaps filled as ch_setup_from_sheet() does. A barometer without an altitude to go with it is told as
 * the altitude at which the standard atmosphere has it, where no weather explains it.
 *
 * @param sheet  Borrowed during the call.
 * @param inputs (out) Plain data. Untouched on failure.
 * @retval CH_E_RANGE as ch_setup_from_sheet().
 */
ch_status ch_whatif_from_sheet(const ch_sheet *sheet, ch_whatif_inputs *inputs, ch_err *err);

/**
 * Run both, and each changed input alone.
 *
 * @param sheet  What is not among the inputs comes from it.
 * @param before What is compared with.
 * @param now    What is asked for.
 * @param whatif (out) Untouched on failure.
 * @retval CH_E_RANGE, CH_E_CONVERGE as ch_whatif_check(), ch_valve_set_events(), ch_cranking_run() and ch_cranking_intake_pa().
 * Cost: a millisecond each run, several where the throttle is shut. No allocation.
 */
ch_status ch_whatif_compute(const ch_sheet *sheet, const ch_whatif_inputs *before, const ch_whatif_inputs *now,
                            ch_whatif *whatif, ch_err *err);

#endif

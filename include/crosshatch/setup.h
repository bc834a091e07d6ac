/**
 * @file setup.h
 * From a sheet to a cylinder that can be computed: what the sheet says, and a stated default for what it does not.
 */
#ifndef CROSSHATCH_SETUP_H
#define CROSSHATCH_SETUP_H

#include <stdbool.h>

#include "crosshatch/cranking.h"
#include "crosshatch/sheet.h"

/** Inputs that a default can stand in for; their names are the sheet's keys (ch_input_name). */
typedef enum ch_input {
    CH_INPUT_BORE,
    CH_INPUT_STROKE,
    CH_INPUT_ROD_LENGTH,
    CH_INPUT_COMPRESSION_RATIO,
    CH_INPUT_INTAKE_OPENS,
    CH_INPUT_INTAKE_CLOSES,
    CH_INPUT_EXHAUST_OPENS,
    CH_INPUT_EXHAUST_CLOSES,
    CH_INPUT_AT_LIFT,
    CH_INPUT_INTAKE_VALVES,
    CH_INPUT_EXHAUST_VALVES,
    CH_INPUT_GAUGE_SPAN,
    CH_INPUT_GAUGE_ACCURACY,
    CH_INPUT_GAUGE_RESOLUTION,
    CH_INPUT_HOSE_VOLUME,
    CH_INPUT_DEAD_VOLUME,
    CH_INPUT_VALVE_AREA,
    CH_INPUT_OPENING_PRESSURE,
    CH_INPUT_AMBIENT_PRESSURE,
    CH_INPUT_AIR_TEMPERATURE,
    CH_INPUT_ENGINE_TEMPERATURE,
    CH_INPUT_THROTTLE,
    CH_INPUT_CRANKING_SPEED,
    CH_INPUT_STROKES,
    CH_INPUT_ANNAND,
    CH_INPUT_CREVICE_FRACTION,
    CH_INPUT_VALVE_DISCHARGE,
    CH_INPUT_LEAKS,
    CH_INPUT_COUNT
} ch_input;

/** Name of an input as the sheet writes it, e.g. "rod_length", "intake_closes_abdc". Static storage. */
const char *ch_input_name(ch_input input);

/** Why a default is what it is, one sentence. Static storage. */
const char *ch_input_reason(ch_input input);

/** A sheet's engine, gauge and day with every gap filled. SI. */
typedef struct ch_setup {
    ch_cranking cranking; /**< leaks zero; intake at ambient pressure (a shut throttle is solved by ch_setup_shut) */
    bool assumed[CH_INPUT_COUNT]; /**< true = a default stands in */
    double compression_ratio;
    double gauge_span_pa;
    double gauge_resolution_pa;
    ch_valve_timing timing; /**< as used, every angle given */
    double at_lift_m;
    bool throttle_shut;
    double barometer_doubt_1; /**< relative standard uncertainty of the ambient pressure */
} ch_setup;

/**
 * Fill a setup from a sheet.
 *
 * @param sheet           Borrowed during the call.
 * @param unstated_lift_m The lift at which valve timing is taken to hold where the sheet gives timing but no lift, m.
 * @param setup           (out) Plain data. Untouched on failure.
 * @retval CH_E_RANGE  The pieces do not make an engine (rod shorter than the crank, timing that never closes ...), naming them.
 */
ch_status ch_setup_from_sheet(const ch_sheet *sheet, double unstated_lift_m, ch_setup *setup, ch_err *err);

/**
 * Whether a wet row can be weighed: its dose, if noted, leaves room above the piston. With more oil than CH_WET_FILL_LIMIT_1 of the clearance in it the
 * engine locks, or most of it has left by the plug hole, and nobody knows how much stayed.
 *
 * @param setup From ch_setup_from_sheet().
 * @param wet   A row of the sheet's `wet`.
 */
bool ch_setup_holds_dose(const ch_setup *setup, const ch_reading *wet);

/** The lift that the sheet's own documentation promises where none is given: 0.1 mm, "seat" timing. */
#define CH_SEAT_LIFT_M 1e-4

/** Effective throttle area left open with the throttle shut, m2, for an engine of this displacement: see ch_input_reason(CH_INPUT_THROTTLE). */
double ch_shut_throttle_area_m2(double displacement_m3);

/**
 * Leak areas of one cylinder as the sheet's `leaks` rows give them: later rows add to nothing, they replace what earlier ones said of the same
 * path; `all` counts for every cylinder. Where the sheet has no `leaks` at all, a sound cylinder's ring area.
 */
ch_leak_areas ch_setup_leaks(const ch_sheet *sheet, const ch_setup *setup, int cylinder);

#endif

/**
 * @file units.h
 * Quantities as people type them, and as they are shown: the only place where a value leaves SI.
 *
 * "178psi", "12,3 bar", "0.040 in", "-5 C"; "2 1/2 in" is not accepted (write 2.5 in). A quantity keeps the text of the
 * number as typed and the unit by its name ("178PSI" comes back as "178 psi"), so that what is written back reads as the same
 * quantity to the last bit. Nothing here depends on the locale.
 */
#ifndef CROSSHATCH_UNITS_H
#define CROSSHATCH_UNITS_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** What a quantity measures. The SI unit that the library uses inside stands beside each. */
typedef enum ch_dimension {
    CH_DIM_PRESSURE,    /**< Pa. Gauge or absolute is the business of the field, not of the unit. */
    CH_DIM_LENGTH,      /**< m (also distance: km, mi, ft) */
    CH_DIM_VOLUME,      /**< m3 */
    CH_DIM_AREA,        /**< m2 */
    CH_DIM_TEMPERATURE, /**< K */
    CH_DIM_SPIN,        /**< rad/s; rpm and r/min at the edge */
    CH_DIM_TIME,        /**< s */
    CH_DIM_TORQUE,      /**< N m */
    CH_DIM_POWER,       /**< W */
    CH_DIM_ANGLE,       /**< rad */
    CH_DIM_RATIO,       /**< 1; percent at the edge */
    CH_DIM_MASS,        /**< kg */
    CH_DIM_FORCE,       /**< N */
    CH_DIM_SPEED,       /**< m/s; km/h and mph at the edge */
    CH_DIM_COUNT_
} ch_dimension;

/** A unit of one dimension; table entries with static storage. si = entered * factor + offset. */
typedef struct ch_unit {
    const char *name; /**< as printed: "psi", "kPa", "C" */
    ch_dimension dimension;
    double factor;
    double offset;
    const char *source; /**< where the factor comes from (NIST SP 811 table, exact by definition, ...) */
} ch_unit;

/** A quantity with the memory of how it was entered. `si` is NaN where it was not given. */
typedef struct ch_quantity {
    double si;           /**< value in the dimension's SI unit; NaN = not given */
    const ch_unit *unit; /**< as entered, or NULL where not given */
    bool bare;           /**< entered without a unit; the sheet's `units` block named it */
    char number[32];     /**< the number as typed, e.g. "12,3"; empty where not given */
} ch_quantity;

/** The quantity that was not given. */
ch_quantity ch_quantity_none(void);

/** True where the quantity was given. */
bool ch_quantity_given(const ch_quantity *quantity);

/** Dimension's name for messages: "pressure", "length". */
const char *ch_dimension_name(ch_dimension dimension);

/** Comma-separated list of the unit names of a dimension for messages: "psi, kPa, ...". Static storage. */
const char *ch_dimension_units(ch_dimension dimension);

/**
 * Find a unit by the name a person types: "r/min", "kgf/cm2", "kgf/cm^2", "cu. in", "deg C", "lbf ft", "ft-lb", "N·m". Upper and lower
 * case are equal, as no two units of the table differ by it (there is no mPa beside MPa). NULL where there is none.
 */
const ch_unit *ch_unit_find(const char *name, size_t length);

/**
 * Read a quantity from a person's text.
 *
 * @param text      UTF-8, `length` bytes; spaces around and between number and unit are free. Decimal point or decimal comma, a
 *                  sign (also U+2212), an exponent. No thousands separators: "1,234 psi" may be either, so a comma followed by
 *                  exactly three digits is refused as ambiguous, unless what stands ahead of it cannot be thousands ("0,250 in").
 * @param length    Bytes of `text`; need not end in NUL.
 * @param dimension What it must measure.
 * @param bare_unit Unit of a bare number, or NULL where a bare number is an error.
 * @param out       (out) Untouched on failure.
 *
 * @retval CH_OK
 * @retval CH_E_INPUT Not a number, no unit, unknown unit (the nearest is named), wrong dimension, not finite in SI, not 0 but too
 *                    small for a normal double, below absolute zero, more than 31 bytes of number or 80 of text.
 */
ch_status ch_quantity_parse(const char *text, size_t length, ch_dimension dimension, const ch_unit *bare_unit,
                            ch_quantity *out, ch_err *err);

/**
 * Refuse what a person typed for a height, a distance driven or hours where it may be a thousand times as much: "2.500" of metres is 2500 to some
 * and 2.5 to others. One to three digits, a point and three digits, in m, ft, km, mi or h. Of a comma ch_quantity_parse() refuses the same in any unit.
 * For what is typed anew: what is kept stays as it was understood.
 *
 * @param quantity From ch_quantity_parse(), or not given.
 * @param err      What it may mean. May be NULL.
 * @retval CH_E_INPUT It is ambiguous.
 */
ch_status ch_quantity_check_thousands(const ch_quantity *quantity, ch_err *err);

/** Value of `si` expressed in `unit`. */
double ch_unit_from_si(double si, const ch_unit *unit);

/** Value of `value` (in `unit`) in SI. */
double ch_unit_to_si(double value, const ch_unit *unit);

/**
 * Write the quantity as entered ("178 psi", or "178" where it was bare; "9.6:1" for a ratio that is no percentage). Empty text
 * where not given. 80 bytes hold any.
 */
void ch_quantity_text(const ch_quantity *quantity, char *text, size_t size);

/**
 * Write `si` in `unit` with digits that make sense for its standard uncertainty (two significant digits of `u_si`; JCGM 100:2008
 * (GUM), 7.2.6), or with three significant digits where `u_si` is NaN, infinite or not above 0; "-" where `si` is not finite. Never
 * exponent notation between 1e-4 and 1e7, never "-0". 48 bytes hold any.
 */
void ch_si_format(double si, double u_si, const ch_unit *unit, char *text, size_t size);

#endif

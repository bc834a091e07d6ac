/**
 * @file fastener.h
 * What a metric steel bolt of a strength class bears, and about what torque loads it: a cross-check of a figure that somebody read or
 * typed, never a figure to tighten by. Every estimate carries the caution that says so.
 */
#ifndef CROSSHATCH_FASTENER_H
#define CROSSHATCH_FASTENER_H

#include <stddef.h>

#include "crosshatch/status.h"

/** Part of the proof load that the common tables of fastener suppliers tighten to. */
#define CH_FASTENER_PROOF_PART 0.75

/** How far friction scatters the torque that gives one preload, to either side. Common practice: 25 to 30 % with a hand torque wrench. */
#define CH_FASTENER_SCATTER 0.30

/** An ISO metric thread. */
typedef struct ch_thread {
    double diameter_m; /* nominal */
    double pitch_m;
} ch_thread;

/** Strength classes of ISO 898-1 that hold a car together. */
typedef enum ch_property_class { CH_CLASS_8_8, CH_CLASS_10_9, CH_CLASS_12_9, CH_CLASS_COUNT } ch_property_class;

/** The nut factor K of T = K D F is mostly a matter of the surface. */
typedef enum ch_thread_surface {
    CH_THREAD_DRY,   /* plain, dry: 0.20 */
    CH_THREAD_ZINC,  /* zinc plated, dry: 0.17 */
    CH_THREAD_OILED, /* lubricated: 0.15 */
    CH_THREAD_SURFACES
} ch_thread_surface;

typedef struct ch_fastener_estimate {
    double stress_area_m2, proof_stress_pa, proof_load_n;
    double preload_n;                       /* the part of the proof load asked for */
    double torque_n_m;                      /* short form, K as usual for the surface */
    double torque_low_n_m, torque_high_n_m; /* the same preload with CH_FASTENER_SCATTER less and more friction */
    const char *caution;                    /* to be shown with any of these figures; static storage, never NULL */
} ch_fastener_estimate;

/** How a figure from elsewhere compares with an estimate. */
typedef enum ch_torque_check {
    CH_TORQUE_USUAL, /* between low and high */
    CH_TORQUE_LOW,   /* below: often right, in aluminium, on gaskets, for bolts tightened further by angle */
    CH_TORQUE_HIGH   /* above what such a bolt usually bears: look up again, and look at the unit */
} ch_torque_check;

/**
 * Read a thread as it stands on a bag of bolts: "M10x1.5", "M10 x 1.25", "m8", "M12×1.5". Without a pitch it is the coarse one.
 *
 * @param text   `length` bytes; spaces around the parts are free.
 * @param length Bytes of `text`; need not end in NUL.
 * @param thread (out) Untouched on failure.
 *
 * @retval CH_E_INPUT Not such a designation; outside M3 to M39; a pitch outside 0.35 mm to 4 mm or above a quarter of the diameter; no pitch and
 *                    a size whose coarse pitch is not in the table (M5, M6, M7, M8, M10, M12, M14, M16, M20).
 * Source: ISO 261 and ISO 262, coarse pitches.
 */
ch_status ch_thread_parse(const char *text, size_t length, ch_thread *thread, ch_err *err);

/**
 * Read "8.8", "10.9" or "12.9", spaces around it free. CH_E_INPUT for another class. `to` untouched on failure.
 *
 * @param text   `length` bytes, borrowed during the call.
 * @param length Bytes of `text`; need not end in NUL.
 * @param to     (out) Untouched on failure.
 */
ch_status ch_property_class_parse(const char *text, size_t length, ch_property_class *to, ch_err *err);

/** "8.8", "10.9", "12.9". Static storage; NULL outside the enum. */
const char *ch_property_class_name(ch_property_class property_class);

/** Stress area, m2: pi/4 (d - 0.938194 P)^2. Source: ISO 898-1:2013, 9.1.6.1. NaN in gives NaN out. */
double ch_thread_stress_area_m2(const ch_thread *thread);

/** Stress under proof load, Pa. Source: ISO 898-1:2013, Table 3 (class 8.8: 580 MPa up to M16, 600 MPa above). NaN outside the enum. */
double ch_proof_stress_pa(ch_property_class property_class, double diameter_m);

/** Nut factor K of a surface. Source: fastener suppliers' tables (tests/data/fasteners/SOURCE.md). NaN outside the enum. */
double ch_nut_factor_1(ch_thread_surface surface);

/**
 * Proof load and the torque of the short form T = K D F.
 *
 * @param thread         diameter_m and pitch_m > 0, the pitch at most a quarter of the diameter.
 * @param property_class Of the bolt: sets the proof stress.
 * @param surface        Of the thread: sets the nut factor K.
 * @param proof_part_1   F as a part of the proof load, in (0, 1]; CH_FASTENER_PROOF_PART is usual.
 * @param estimate       (out) Untouched on failure.
 *
 * @retval CH_E_RANGE An argument is outside the ranges above.
 *
 * Valid:  plain steel bolt of full shank in a steel thread of at least one diameter, tightened once by torque. Not for aluminium threads,
 *         waisted bolts, bolts tightened by angle, wheel bolts, spark plugs.
 * Source: ISO 898-1:2013 for area and proof stress; the short form is common practice. The factor scatters by 30 %.
 */
ch_status ch_fastener_estimate_torque(const ch_thread *thread, ch_property_class property_class,
                                      ch_thread_surface surface, double proof_part_1, ch_fastener_estimate *estimate,
                                      ch_err *err);

/** Where a torque lies. NaN is CH_TORQUE_HIGH: it is no figure to trust. */
ch_torque_check ch_fastener_check(const ch_fastener_estimate *estimate, double torque_n_m);

#endif

/**
 * @file gauge_study.h
 * How far repeats, people and the things measured scatter, from a crossed study: every person reads every part several times.
 *
 * In a garage the "parts" are the cylinders of one sound engine and the "people" two who read the same gauge, or two gauges.
 */
#ifndef CROSSHATCH_GAUGE_STUDY_H
#define CROSSHATCH_GAUGE_STUDY_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/status.h"

/** The study's answer as standard deviations, in the readings' unit. */
typedef struct ch_scatter {
    double repeatability;   /**< EV: the same person, the same part */
    double reproducibility; /**< AV: between people; with `interaction` between people and parts apart */
    double interaction;     /**< people reading some parts differently; 0 where it was pooled or has no estimate */
    double gauge;           /**< GRR: all of the above together */
    double part;            /**< PV: between parts */
    double total;           /**< TV: gauge and part together */
    double categories;      /**< 1.41 part/gauge, cut to a whole number: groups of parts the gauge can tell apart */
} ch_scatter;

/** One line of the analysis of variance. */
typedef struct ch_anova_row {
    double ss, df, ms;
} ch_anova_row;

/** A crossed study, by both methods. */
typedef struct ch_gauge_study {
    ch_anova_row person, part, interaction, repeat;
    double interaction_f, interaction_p; /**< interaction over repeat, and the chance of so large an F without any */
    bool pooled;                         /**< interaction joined with repeat, since interaction_p was above the limit */
    ch_scatter anova;                    /**< variance components; a negative estimate counts as 0 */
    ch_scatter range;                    /**< average-and-range method; NaN where its constants are not tabled */
} ch_gauge_study;

/**
 * Evaluate a crossed study.
 *
 * @param y       Readings, [person][part][trial], row after row.
 * @param persons,parts,trials Each 2 or more.
 * @param pool_above_1 The interaction is pooled where its p is above this; 0.05 in MSA-4. 0 always pools, 1 never does.
 * @param out     (out) Untouched on failure.
 * @retval CH_E_RANGE A count below 2, a value not finite, pool_above outside 0..1.
 *
 * The range method needs 2 or 3 trials, 2 or 3 people and 2 to 10 parts.
 * Source: AIAG, Measurement Systems Analysis (MSA), 4th ed. 2010, ch. III, sec. B (average and range; ANOVA) and app. A;
 * expected mean squares of the two-way random model: NIST/SEMATECH e-Handbook 3.2.3.
 */
ch_status ch_gauge_study_evaluate(const double y[], size_t persons, size_t parts, size_t trials, double pool_above_1,
                                  ch_gauge_study *out, ch_err *err);

#endif

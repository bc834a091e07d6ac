/**
 * @file trace.h
 * One generative model of the engine behind every test: from all rows of a sheet to causes with probabilities and leak areas.
 *
 * docs/method.md, "Tracing", gives the model, the sampling and how well both were checked.
 */
#ifndef CROSSHATCH_TRACE_H
#define CROSSHATCH_TRACE_H

#include <stddef.h>
#include <stdint.h>

#include "crosshatch/emulator.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/sheet.h"
#include "crosshatch/text.h"

/** What a run of the tracing needs to know beside the sheet. */
typedef struct ch_trace_options {
    uint64_t seed;       /**< of all random streams: same seed, same bytes */
    size_t samples;      /**< of the engine's shared state; 0 = CH_TRACE_SAMPLES */
    unsigned standing;   /**< bits: places of the knowledge's preparations that stand already; 0 = none */
    const ch_crew *crew; /**< who weighs the draws; NULL: the caller. The bytes do not depend on it. */
} ch_trace_options;

#define CH_TRACE_SAMPLES 800

/** Steps of the ladder of quantiles of the leak area: 5 %, 10 % ... 95 %. */
enum { CH_TRACE_LADDER = 19 };

/** What one cylinder's evidence amounts to. */
typedef struct ch_trace_cylinder {
    int cylinder;
    double cause_1[CH_CAUSE_COUNT];     /**< posterior probabilities; they add up to 1 */
    double drawing_u_1[CH_CAUSE_COUNT]; /**< standard error of each from the drawing: what another seed moves it by */
    double prior_1[CH_CAUSE_COUNT];     /**< before any test counts, history and distance counted in */
    double area_m2[3];                  /**< 5 %, 50 %, 95 % of the posterior total leak area while cranking */
    double ladder_m2[CH_TRACE_LADDER];  /**< 5 %, 10 % ... 95 % of the same */
    double path_m2[CH_PATH_COUNT];      /**< posterior mean effective area of each path */
    double expected_pa[3]; /**< 5 %, 50 %, 95 % of what the gauge would show of a sound cylinder, Pa gauge */
} ch_trace_cylinder;

/** One check worth thinking of. */
typedef struct ch_trace_check {
    const ch_knowledge_check *check; /**< borrowed from the knowledge */
    int cylinder;                    /**< 0 = the engine as a whole */
    double minutes;                  /**< hands-on, with what it takes to get there */
    double bits_1;                   /**< expected reduction of the doubt about the cause, bits */
} ch_trace_check;

enum { CH_TRACE_CHECKS_MAX = 12 };

/** Answer for the engine. */
typedef struct ch_trace {
    int cylinders;
    ch_trace_cylinder cylinder[CH_CYLINDERS_MAX]; /**< in order of number, all cylinders of the engine */
    double any_fault_1;       /**< chance that at least one cylinder has something other than sound or a wrong test */
    double effective_samples; /**< Kish's effective sample size of the shared state */
    bool reliable;            /**< enough of them to answer */
    double shared_shift[CH_DOUBT_COUNT]; /**< posterior mean offset of each doubt, in prior standard deviations */
    ch_trace_check
        next_check[CH_TRACE_CHECKS_MAX]; /**< soonest to being sure first; none where none is worth its time */
    size_t next_check_count;
} ch_trace;

/**
 * Trace a sheet.
 *
 * @param sheet     Borrowed during the call.
 * @param setup     From ch_setup_from_sheet with CH_PRIOR_UNSTATED_LIFT_M.
 * @param knowledge From ch_knowledge_parse(); `trace` refers to it, so it must live as long.
 * @param options   Not NULL.
 * @param trace     (out) untouched on failure.
 * @retval CH_E_INPUT  A row names an observation that knowledge does not have; with the row's line, and the nearest name.
 * @retval CH_E_MEMORY, CH_E_RANGE, CH_E_CONVERGE
 */
ch_status ch_trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                       const ch_trace_options *options, ch_trace *trace, ch_err *err);

/**
 * How well the drawing settles the chances.
 *
 * @param trace From ch_trace_run().
 * @return The largest standard error of a cause's chance, of all cylinders: sqrt(sum of w^2 (p - mean)^2)/sum of w over the weighted draws (Owen, Monte
 *         Carlo theory, methods and examples, 2013, section 9.2, from memory).
 */
double ch_trace_drawing_error_1(const ch_trace *trace);

/** Grows with whatever changes an answer's bytes as ch_trace_write() puts them. */
enum { CH_TRACE_VERSION = 16 };

/**
 * Append an answer as bytes that ch_trace_read() takes, for whoever keeps answers so as not to work them out again. Checks are named by their place
 * in the knowledge, so that the bytes hold for this knowledge alone.
 */
void ch_trace_write(const ch_trace *trace, const ch_knowledge *knowledge, ch_text *bytes);

/**
 * Read it back, equal to the last bit.
 *
 * @param bytes     `length` of them, as ch_trace_write() gave them.
 * @param length    Of `bytes`.
 * @param knowledge The one that the trace was written with.
 * @param trace     (out) untouched on failure.
 * @retval CH_E_INPUT Not written by ch_trace_write() of this version, cut, changed, or of another knowledge.
 */
ch_status ch_trace_read(const char *bytes, size_t length, const ch_knowledge *knowledge, ch_trace *trace, ch_err *err);

/** One kind of evidence, and what the answer would be without it. */
typedef struct ch_trace_reason {
    char what[120];   /**< "the leak-down test of cylinder 3", plain words */
    ch_cause cause;   /**< of which the chances speak: the cylinder's likeliest with everything counted */
    double with_1;    /**< its chance with everything counted */
    double without_1; /**< its chance without this evidence */
    ch_cause instead; /**< what would be likeliest without it */
    double instead_1;
} ch_trace_reason;

enum { CH_TRACE_REASONS_MAX = 24 };

/**
 * Why the tracing says what it says of one cylinder: every kind of evidence taken away in turn, weightiest first.
 *
 * @param sheet     Borrowed during the call.
 * @param setup     As for ch_trace_run().
 * @param knowledge As for ch_trace_run().
 * @param options   As for ch_trace_run().
 * @param cylinder  1-based, of the sheet's engine.
 * @param reason    (out) room for CH_TRACE_REASONS_MAX.
 * @param count     (out) Of `reason`.
 * @retval as ch_trace_run; CH_E_RANGE where there is no such cylinder.
 * Cost: somewhat less than one ch_trace_run for each kind of evidence on the sheet, and one more: stand-ins are built once, and no checks are sought.
 */
ch_status ch_trace_why(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                       const ch_trace_options *options, int cylinder, ch_trace_reason reason[CH_TRACE_REASONS_MAX],
                       size_t *count, ch_err *err);

#endif

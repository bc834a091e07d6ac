/* What is kept of each virtual engine, and the figures made of all of them. */
#ifndef CROSSHATCH_STUDY_RESULT_H
#define CROSSHATCH_STUDY_RESULT_H

#include "crosshatch/trace.h"
#include "study_engine.h"

/* The posterior quantiles of the leak area that a true area is ranked among. */
enum { LADDER = CH_TRACE_LADDER, RANKS = LADDER + 1 };
extern const double LADDER_1[LADDER];

/* One cylinder: what was true, and what was said. */
typedef struct cylinder_result {
    ch_cause cause;
    bool faulty, leak_tested, wet_tested,
        looked_at;            /* looked_at: a sign of this cylinder, or of the engine, on the sheet */
    double reading_pa;        /* mean of the dry readings */
    double area_m2, extra_m2; /* all that leaks; what the fault adds */
    double filling_1;         /* part of its charge that it traps */
    double lost_1;            /* part of its reading that the fault costs */
    int rank;                 /* steps of the ladder below the true area, 0..LADDER */
    double cause_1[CH_CAUSE_COUNT];
} cylinder_result;

typedef struct engine_result {
    int cylinders; /* 0: could not be drawn */
    bool reliable, dry_only, spec_known;
    int chosen; /* the cylinder that stands for the engine where cylinders must be independent, 0-based */
    double effective_samples;
    cylinder_result cylinder[VIRTUAL_CYLINDERS_MAX];
    bool raced;        /* checks were gone through one by one */
    double minutes[2]; /* until the true cause had 90 %: as recommended, in a fixed order; MINUTES_MOST where never */
    bool reached[2];
} engine_result;

#define MINUTES_MOST 300.0

/* The highest mean of the engine's cylinders. */
double result_highest_pa(const engine_result *engine);

/* Share with its count. */
typedef struct share {
    double value;
    size_t n;
} share;

/* Share of true areas between the posterior quantiles p and 1 - p; n = 0 where the ladder has no such steps. */
share result_coverage(const engine_result results[], size_t n, double p_1);

/* Ranks of one cylinder an engine; chi-square over the RANKS bins and its p value (Talts et al. 2018; Pearson 1900). */
double result_ranks(const engine_result results[], size_t n, size_t count[RANKS], double *chi_square);

enum { RELIABILITY_BINS = 10 };

typedef struct reliability {
    size_t n[RELIABILITY_BINS];
    double said_1[RELIABILITY_BINS], true_1[RELIABILITY_BINS]; /* means in each bin */
    size_t total;
    double error_1; /* expected calibration error: mean over all of |said - true| of their bin */
} reliability;

/* cause CH_CAUSE_COUNT: of all causes together. likeliest: only the likeliest cause of each cylinder. */
void result_reliability(const engine_result results[], size_t n, int cause, bool likeliest, reliability *r);

/* Of the engines with dry readings alone on which a cause other than `sound` has more than 0.9 in a cylinder: how many have such a cause that is
 * wrong. */
share result_sure_and_wrong(const engine_result results[], size_t n);

/* Detection of faulty cylinders at the false-alarm rate of the 75 % rule. */
typedef struct detection {
    size_t faulty, sound, alarms; /* alarms: the rule's, on cylinders without a fault */
    double false_alarm_1, rule_missed_1, missed_1;
    double threshold_1; /* chance of a fault from which on the tracing is as free with alarms as the rule */
} detection;

/* Cylinders by what is known of them. */
typedef enum evidence { EVIDENCE_ANY, EVIDENCE_DRY, EVIDENCE_LEAKDOWN, EVIDENCE_COUNT } evidence;

/* A fault that costs the cylinder this part of its reading is one that a compression test can be asked to find: within 10 % of the highest is
 * the strictest rule between cylinders that the trade holds a sound engine to. */
#define LOST_THAT_SHOWS_1 0.10

/* Which faults are counted; cylinders with others are left out: neither found nor missed. Worn oil rings under gas rings that hold are faults that no test
 * of sealing sees: in them a reading has nothing to miss. */
typedef enum faults { FAULTS_THAT_SHOW, FAULTS_THAT_LEAK_OR_DO_NOT_FILL, FAULTS_ALL, FAULTS_COUNT } faults;

/* curve: room for `points` pairs of false-alarm rate and part found, or NULL. */
ch_status result_detection(const engine_result results[], size_t n, evidence of, faults which, detection *d,
                           double (*curve)[2], size_t points, ch_err *err);

/* Faulty cylinders of one cause whose fault costs from `from_1` to below `upto_1` of the reading, and how many of them the tracing misses at
 * the false-alarm rate of the rule, and the rule itself. cause CH_CAUSE_COUNT: all. */
typedef struct missed {
    size_t of, by_tracing, by_rule;
} missed;
missed result_missed(const engine_result results[], size_t n, int cause, double from_1, double upto_1,
                     double threshold_1);

#endif

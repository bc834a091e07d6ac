/* The pieces of the tracing: what is measured, what was seen, what may be wrong, and how the two are weighed. Not installed. */
#ifndef CROSSHATCH_TRACE_PARTS_H
#define CROSSHATCH_TRACE_PARTS_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/trace.h"

/* ---- measured.c: a sheet's rows, cylinder by cylinder, with their noise ---- */

/* Mean of some readings. n = 0: none. */
typedef struct measured_mean {
    size_t n;
    double mean_pa;
    double u_pa;       /* standard uncertainty where it stands: repeats, resolution, the lowest part of the dial */
    double u_clear_pa; /* the same without the last */
    double low_end_pa; /* where the lowest part of the dial ends; 0 where the reading cannot come of it */
    double step_pa;    /* to which it is read */
    bool on_its_stop;  /* the needle has not passed half a step */
} measured_mean;

/* What the lowest tenth of the dial, which ends at low_end_pa, adds to the doubt of a reading where the dial should show so much: standard deviation,
 * nothing above it. */
double measured_low_scale_sd_pa(double low_end_pa, double shown_pa);
/* Where the lowest tenth of this gauge's dial ends. */
double measured_low_end_pa(const ch_setup *setup);

/* Straight lines between so many points of a loss's chance, at most 0.04 standard deviations apart: within 5e-5 of it. */
enum { NORMAL_END = 6, LOSS_NODES = 1537 };

typedef struct measured_leakdown {
    double loss_1;       /* mean of its rows; NaN = not given */
    size_t rows, losses; /* that it is made of, and how many of them have a loss */
    double supply_gauge_pa;
    double orifice_m;
    bool orifice_assumed;
    unsigned heard, heard_cylinders;
    bool heard_stated;
    double ratio_ln
        [2]; /* ln(leak area/orifice area) of the loss less and more what a reading repeats to; set by weigh_frame_set */
    double chance_first_ln, chance_per_ln,
        chance_1[LOSS_NODES]; /* of the loss over ln(leak area/orifice area); likewise */
    double
        heard_1[32]; /* chance of what was heard, by which paths are open enough to be heard; set by weigh_frame_set */
} measured_leakdown;

enum { LEAKDOWN_ROWS_MAX = 4 }; /* of one cylinder; more are the same test again, and join those like them */

typedef struct measured_cylinder {
    measured_mean dry, first, wet;
    double turn_1; /* when its dry readings were taken: 0 = first of all, 1 = last */
    double oil_m3; /* mean dose of the wet readings; NaN = not given */
    measured_leakdown leakdown[LEAKDOWN_ROWS_MAX];
    size_t leakdown_count;
} measured_cylinder;

typedef struct measured {
    int cylinders;
    measured_cylinder cylinder[CH_CYLINDERS_MAX];
    bool any_dry, any_wet, any_leakdown, any_heard;
    double u_gain_1; /* standard uncertainty of the gauge's gain */
    double u_zero_pa;
} measured;

void measured_from_sheet(const ch_sheet *sheet, const ch_setup *setup, measured *m);

/* ---- seen.c: observations as factors on causes ---- */

/* A sign that may come from any cylinder: seen with chance 1 - base * product over the cylinders of clear[cause]. A cause that strikes the engine as a
 * whole, or two neighbours by one hole, counts once. */
typedef struct seen_shared {
    double base_1;
    double clear_1[CH_CAUSE_COUNT];
} seen_shared;

enum { SEEN_SHARED_MAX = 6 };

typedef struct seen {
    double log_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT]; /* logs of factors that hold cylinder by cylinder */
    double log_together
        [CH_CAUSE_COUNT]; /* the part of it, alike in all, that counts once where the cause strikes the engine as a whole */
    seen_shared shared[SEEN_SHARED_MAX];
    int shared_count;
    double odds_1[CH_CAUSE_COUNT];          /* history: factors on prior odds */
    double odds_together_1[CH_CAUSE_COUNT]; /* the same where the cause strikes the engine as a whole */
} seen;

ch_status seen_from_sheet(const ch_sheet *sheet, const ch_knowledge *knowledge, seen *s, ch_err *err);

/* ---- wrong.c: what may be wrong, before any test ---- */

/* One way an engine can be: every cylinder for itself, one cause in all, or one gasket between two. */
typedef struct hypothesis {
    double prior_1;
    ch_cause together; /* CH_CAUSE_SOUND: none */
    double share_1;
    double stays_1
        [CH_CAUSE_COUNT]; /* chance that a cylinder's own cause stays its cause though it is struck: the larger fault shows */
    double beneath_1[CH_CAUSE_COUNT]; /* that it stays, but the readings show only what strikes the engine */
    int pair[2];                      /* 0-based; -1 = none */
    int bank;                         /* 1..BANKS: it strikes that bank alone; 0 = the engine */
    bool
        pair_too; /* struck as a whole, two neighbours may share a burnt gasket all the same, as often as they do alone */
    double
        losses_alike_1; /* of leakdown_wrong: density of the losses together over that of anything from 0 to 1 in each; else 1 */
    bool
        leakdown_wrong; /* with measurement_error: the leak-down tester misleads on every cylinder, the readings do not */
} hypothesis;

/* Banks of a vee or flat engine: makers number either along each bank or across the banks, and the sheet does not say, so four sets count. */
enum { BANKS = 4, HYPOTHESES_MAX = (BANKS + 1) * CH_CAUSE_COUNT + 2 * CH_CYLINDERS_MAX };

typedef struct wrong {
    double prior_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT]; /* of a cylinder for itself; adds up to 1 */
    bool gauged[CH_CYLINDERS_MAX],
        leakdown_tested[CH_CYLINDERS_MAX]; /* with a compression reading; with a leak-down row */
    hypothesis hypothesis[HYPOTHESES_MAX];
    int hypotheses;
    double marginal_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT]; /* prior with all hypotheses; adds up to 1 */
} wrong;

void wrong_from_knowledge(const ch_sheet *sheet, const ch_knowledge *knowledge, const seen *s, wrong *w);

/* Whether a cylinder (0-based) of n belongs to bank 1..BANKS: the first half, the second half, every other one from the first or from the second on. */
bool wrong_in_bank(int bank, int cylinder, int n);

/* Whether what strikes the engine as a whole can reach this cylinder: what misleads a test, only where that test was made. */
bool wrong_strikes(const wrong *w, const hypothesis *one, int cylinder, int n);

/* Chance that two neighbours share a burnt gasket in an engine that nothing strikes as a whole: of the pair of each hypothesis (0 where it has
 * none), and their sum. */
double wrong_pairs_1(const wrong *w, double pair_1[HYPOTHESES_MAX]);

/* Quantile of a mixture of log-normals. */
double mixture_quantile(const ch_mixture *mixture, double p_1);

/* ---- shared.c: what all cylinders have in common ---- */

typedef enum shared_extra {
    SHARED_RINGS,    /* logarithm of the engine's ring area over the usual one */
    SHARED_GAIN,     /* gauge gain less 1 */
    SHARED_ZERO,     /* gauge zero, Pa */
    SHARED_OIL_KEPT, /* logarithm of the factor on the oil that stays */
    SHARED_OIL_SEAL, /* normal score of the factor by which oil closes the rings */
    SHARED_STATIC,   /* logarithm of standing over cranking ring area */
    SHARED_ORIFICE,  /* logarithm of the factor on the tester's orifice */
    SHARED_LISTENER, /* logarithm of the factor on the ring area from which on this listener notes air at the oil filler */
    SHARED_EXTRAS
} shared_extra;

enum { SHARED_DIMENSIONS = CH_DOUBT_COUNT + SHARED_EXTRAS };

enum { DIRECTIONS_MAX = 14 };

typedef struct shared_space {
    double sd[SHARED_DIMENSIONS]; /* in each one's measure; 0 = not in doubt, or not asked for by this sheet */
    int active[SHARED_DIMENSIONS], active_count;
    double direction[DIRECTIONS_MAX][SHARED_DIMENSIONS]; /* orthonormal, in scores: what the evidence can see */
    int directions;
} shared_space;

void shared_space_set(const ch_doubts *doubts, const ch_knowledge *knowledge, const measured *m, shared_space *space);

/* Scores in each dimension's own measure; those that are asked for as scores stay so. */
void shared_values(const shared_space *space, const double score[SHARED_DIMENSIONS], double value[SHARED_DIMENSIONS]);

/* Draws of the active dimensions as normal scores, with the log of prior over proposal density. */
typedef struct shared_draws {
    size_t n;
    double *score; /* n times SHARED_DIMENSIONS; 0 where not active */
    double *log_ratio;
} shared_draws;

ch_status shared_draws_new(size_t n, shared_draws *draws, ch_err *err);
void shared_draws_free(shared_draws *draws);

/* From the prior. */
ch_status shared_draw_prior(const shared_space *space, uint64_t seed, size_t from, size_t n, shared_draws *draws,
                            ch_err *err);

/* A normal in the directions that the evidence sees. */
typedef struct fitted_normal {
    int d;
    double mean[DIRECTIONS_MAX];
    double factor[DIRECTIONS_MAX * DIRECTIONS_MAX]; /* lower Cholesky factor, row by row, d by d */
    double log_determinant;                         /* of the factor */
} fitted_normal;

/* Fit it to weighted draws [from, from + n); false where they do not allow it. centre: the weighted mean of all scores. */
bool shared_fit(const shared_space *space, const shared_draws *draws, size_t from, size_t n, const double weight[],
                fitted_normal *fit);
void shared_centre(const shared_draws *draws, size_t from, size_t n, const double weight[],
                   double centre[SHARED_DIMENSIONS]);

enum { FITS_MAX = 5 };

/* What draws came from: the prior alone (count 0), or a part kept_1 of the prior's own and fitted normals in place of its own along the space's directions. */
typedef struct shared_proposal {
    shared_space space;
    fitted_normal fit[FITS_MAX];
    double share_1[FITS_MAX], kept_1;
    int count;
    size_t n; /* draws */
} shared_proposal;

/* Its density over that of the prior at a vector of scores. */
double shared_over_prior(const shared_proposal *proposal, const double score[SHARED_DIMENSIONS]);

/* From a mixture of the prior (one part in six) and the prior with a fitted normal in place of its own in those directions; several normals, one for each
 * way the engine may be wrong as a whole. proposal (out): what they came from. share_1: of the draws that do not stay the prior's; adds up to 1. */
ch_status shared_draw_mixture(const shared_space *space, const fitted_normal fit[], const double share_1[], int count,
                              uint64_t seed, size_t from, size_t n, shared_draws *draws, shared_proposal *proposal,
                              ch_err *err);

/* ---- weigh.c: one shared state against the readings; causes.c: against what is likely ---- */

enum { RING_NODES = 3 };

/* Ring area at rest over that while cranking: median. Judgment: a used engine that passes 0.25 mm2 while cranking loses some 8 to 10 % on
 * the usual orifice, which is 0.4 mm2. */
#define STANDING_MEDIAN_1 1.5

/* Where the extra area of a cause sits: one of the paths, or the rings of a cylinder that does not answer to oil. */
enum { PLACE_RINGS_DRY = CH_PATH_COUNT, PLACES };

/*
 * What strikes an engine as a whole does so at one level: worn rings of about one size, valves that leak about as much, a gauge that misleads by
 * one factor. The levels are summed over at every shared state. Those of areas are the same for all states, those of factors lie where the
 * readings allow them. Of measurement_error the first FACTOR_LEVELS are of a gauge that misleads all readings alike, then WASHED_LEVELS of washed or
 * dry bores, each cylinder its own way, and DRIFT_LEVELS of readings that fall in the order taken. Of cam_or_timing the first FACTOR_LEVELS are of
 * cylinders that do not fill, then BENT_LEVELS of a drive that let go and bent the valves.
 */
enum {
    AREA_LEVELS = 20,
    FACTOR_LEVELS = 9,
    WASHED_LEVELS = 28,
    DRIFT_LEVELS = 16,
    MISLED_LEVELS = FACTOR_LEVELS + WASHED_LEVELS + DRIFT_LEVELS,
    BENT_LEVELS = 10,
    DRIVE_LEVELS = FACTOR_LEVELS + BENT_LEVELS,
    AREA_LEVELS_MAX = AREA_LEVELS * CH_CAUSE_COUNT,
    LEVELS_MAX = AREA_LEVELS_MAX + (1 + BANKS) * DRIVE_LEVELS + MISLED_LEVELS
};

/* A factor on a charge or on a reading: its prior, and places that stand for it where nothing pins it down. */
typedef struct factor_prior {
    ch_mixture mixture;
    double most_ln; /* no factor is above it */
    int places;
    double place_ln[FACTOR_LEVELS], place_weight[FACTOR_LEVELS];
} factor_prior;
typedef struct level_range {
    int from, count;
} level_range;

/* Mean and variance of a sum of log-normal areas. */
typedef struct area_sum {
    double mean_m2, variance_m4;
} area_sum;

/* What does not change between shared states. */
typedef struct weigh_frame {
    const ch_setup *setup;
    const ch_knowledge *knowledge;
    measured *measured;
    const seen *seen;
    const wrong *wrong;
    const ch_emulator *dry, *wet; /* wet may be NULL */
    double wet_base_m3;           /* oil above the piston that the wet stand-in was built with */
    double ring_median_m2;
    area_sum beside;                                      /* what a sound cylinder leaks beside the rings */
    double beside_m2;                                     /* its median */
    double area_weight[CH_CAUSE_COUNT][CH_EMULATOR_GRID]; /* chance that the cause's area falls to each grid point */
    level_range levels[CH_CAUSE_COUNT];                   /* of what strikes the engine as a whole */
    level_range bank_drive[BANKS];                        /* of the cam drive of one bank; empty where there are none */
    double level_weight[LEVELS_MAX];                      /* of those that are the same at every shared state */
    double level_area[CH_CAUSE_COUNT][CH_EMULATOR_GRID][AREA_LEVELS]; /* chance that an area falls to each grid point */
    double washed_ln[WASHED_LEVELS], drift_1[DRIFT_LEVELS];
    factor_prior misread, underfilled; /* of one cylinder alone */
    double loss_first, loss_step;      /* ln(leak area/orifice area) */
    double loss[128];
} weigh_frame;

/* A place on a grid of areas: between `below` and the next point. */
typedef struct grid_places {
    int below[RING_NODES][CH_EMULATOR_GRID];
    double part[RING_NODES][CH_EMULATOR_GRID];
} grid_places;

/*
 * What one shared state makes of every ring area and every extra area, the same for all cylinders: where on the dry grid they stand together with
 * what leaks beside; where on the wet grid, where the extra area is sealed by oil [0] or not [1]; the logarithm of the total at rest, where the
 * extra area is the rings' [0] or not [1]; which paths are open enough to be heard (bit = enum ch_path), by the place of the extra area; and the
 * chance that air past the rings is noted, likewise. All but the first only where the sheet asks for them.
 */
typedef struct weigh_state {
    double ring_m2[RING_NODES];
    double level_weight[LEVELS_MAX];
    grid_places dry, wet[2];
    double standing_ln[2][RING_NODES][CH_EMULATOR_GRID];
    unsigned char open[PLACES][RING_NODES][CH_EMULATOR_GRID];
    double filler_1[2][RING_NODES][CH_EMULATOR_GRID];
} weigh_state;

typedef struct weigh_cylinder {
    double evidence[CH_CAUSE_COUNT]; /* chance of this cylinder's readings under each cause, over exp(log_scale) */
    double level[LEVELS_MAX];        /* the same at each level of what strikes the engine as a whole */
    double leaking[CH_CAUSE_COUNT];  /* the part of evidence that comes from a leak */
    double bent[BENT_LEVELS];        /* the same part of the levels of a cam drive that bent the valves */
    double evidence_leakdown_wrong;  /* the same where the leak-down tester misleads on every cylinder */
    double log_scale, scale;         /* the same as a factor */
    double likely[PLACES][RING_NODES][CH_EMULATOR_GRID]; /* chance of the readings for each extra area in each place */
    double likely_mean[PLACES][CH_EMULATOR_GRID];        /* over the ring nodes */
    double dry[RING_NODES][CH_EMULATOR_GRID]; /* chance of the dry readings alone for each extra area, over the best */
    double dry_alone[RING_NODES];             /* the same with the ring area alone */
    double leakdown[RING_NODES];              /* chance of the leak-down rows with the ring area alone */
    double alone[RING_NODES];                 /* of all tests with the ring area alone: a sound cylinder */
    int low, high;                            /* grid points [low, high) outside which nothing is likely */
} weigh_cylinder;

extern const double RING_NODE_WEIGHT[RING_NODES];

void weigh_frame_set(weigh_frame *frame);

/* ln(leak area/orifice area) of a loss: the frame's table turned round; infinite beyond its ends. */
double weigh_ratio_of_loss(const weigh_frame *frame, double loss_1);
void weigh_cylinders(const weigh_frame *frame, const double value[SHARED_DIMENSIONS], weigh_state *state,
                     weigh_cylinder cylinder[]);

/* Set the directions of a space by the slopes of what the evidence sees at a vector of scores. */
void directions_set(const weigh_frame *frame, const double at[SHARED_DIMENSIONS], shared_space *space);

/* What one shared state makes of the causes: what stands behind the chances of the hypotheses only where their shares are asked for. */
typedef struct causes_result {
    double log_evidence;
    double cause_1[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];
    double hypothesis_1[HYPOTHESES_MAX];
    double no_fault_1; /* every cylinder is sound, or its test was wrong */
    double bent_1
        [CH_CYLINDERS_MAX]; /* the cam drive of this cylinder is off and has bent valves: a part of its hypotheses */
} causes_result;

void causes_at(const weigh_frame *frame, const double level_weight[LEVELS_MAX], const weigh_cylinder cylinder[],
               bool shares, causes_result *result);

/* ---- sums.c: what the draws add up to ---- */

/* Posterior leak areas of one cylinder by cause. */
typedef struct trace_areas {
    double extra[CH_CAUSE_COUNT][CH_EMULATOR_GRID]; /* weight of each extra area */
    double ring_m2;                                 /* mean ring area where nothing else leaks */
} trace_areas;

/* Areas without a leak lie anywhere between the grid's points, and a sound cylinder's interval is but a few steps of the grid wide: they are counted in
 * steps a quarter as long, so that the counting adds next to nothing to its width. */
enum { FINE = 4, FINE_STEPS = FINE * (CH_EMULATOR_GRID - 1) + 1 };

/* Posterior sums, kept relative to the largest log weight met so far. */
typedef struct sums {
    double log_reference; /* -infinity before the first */
    double weight, weight_squared;
    double cause[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];
    double cause_once[CH_CYLINDERS_MAX][CH_CAUSE_COUNT],
        cause_twice[CH_CYLINDERS_MAX][CH_CAUSE_COUNT];  /* squared weights times the chance, and its square */
    double leaking[CH_CYLINDERS_MAX][CH_EMULATOR_GRID]; /* total areas with a leak, at the grid's points */
    double tight[CH_CYLINDERS_MAX][FINE_STEPS];         /* and without one */
    double path_m2[CH_CYLINDERS_MAX][CH_PATH_COUNT];
    trace_areas by_cause[CH_CYLINDERS_MAX];
    double score[CH_DOUBT_COUNT];
    double no_fault;                 /* in any cylinder */
    double together[CH_CAUSE_COUNT]; /* the cause has struck the engine as a whole */
} sums;

/* Nothing added yet. */
void sums_clear(sums *s);

/* Add one shared state, weighed, with what it makes of the causes. */
void sums_add(sums *s, const weigh_frame *frame, const weigh_state *state, const weigh_cylinder cylinder[],
              const causes_result *at, const double score[], double log_weight);

/* Add the sums of other draws. */
void sums_join(sums *to, const sums *from);

/* All areas of a cylinder in fine steps, with a leak and without one; and the area below which a part p_1 of them lies. */
void sums_areas_together(const double leaking[CH_EMULATOR_GRID], const double tight[FINE_STEPS],
                         double all[FINE_STEPS]);
double sums_area_quantile(const ch_emulator *grid, const double all[FINE_STEPS], double p_1);

/* ---- rounds.c: draws in rounds, weighed and learnt from ---- */

/* Draw shared states until enough of them count, and add up the last round, of `samples` draws or more.
 *
 * crew: who weighs them, NULL for the caller; the sums are the same to the last bit. effective (out): Kish's effective sample size of that round. */
ch_status rounds_run(const weigh_frame *frame, const shared_space *space, uint64_t seed, size_t samples,
                     const ch_crew *crew, sums *summed, double *effective, ch_err *err);

/* ---- outcomes.c: what checks may find under each cause ---- */

enum { OUTCOMES_MAX = 256 };

/* Chance of each outcome under each cause; those of a cause add up to 1. */
typedef struct outcome_table {
    int count;
    double chance[CH_CAUSE_COUNT][OUTCOMES_MAX];
} outcome_table;

/* Of a leak-down test and of a wet test of cylinder i (0-based). */
void outcomes_of_leakdown(const weigh_frame *frame, const trace_areas *areas, outcome_table *t);
void outcomes_of_wet(const weigh_frame *frame, const trace_areas *areas, int i, outcome_table *t);

/* Chance that a sign is found under each cause of cylinder i, the others as they probably are. together_1: chance that a cause has struck the
 * engine as a whole. */
void outcomes_of_sign(const ch_knowledge_observation *known, const ch_trace *trace,
                      const double together_1[CH_CAUSE_COUNT], int i, double yes_1[CH_CAUSE_COUNT]);

/* Nothing found yet: one outcome; and each outcome so far with a sign or without it, false where the table is full. */
void outcomes_start(outcome_table *t);
bool outcomes_split(outcome_table *t, const double yes_1[CH_CAUSE_COUNT]);

/* Mutual information of outcome and cause, bits. */
double outcomes_bits(const outcome_table *t, const double cause_1[CH_CAUSE_COUNT]);

/* ---- order.c: in which order checks get soonest to being sure ---- */

enum {
    ORDER_FINDINGS_MAX = 64,
    ORDER_FINDINGS_EACH = 16,
    ORDER_ROWS_MAX = 768,
    ORDER_CANDIDATES_MAX = 32,
    ORDER_PARTICLES_EACH = 48, /* for each cause */
    ORDER_CAUSES = 12          /* causes, and room to make whole vectors of them */
};

/* One thing that checks may find out: rows [full, full + outcomes) of the room, and [further, ...) where something of its group is found already
 * and it counts for less. */
typedef struct order_finding {
    int outcomes, full, further;
    long group;
    bool group_seen; /* on the sheet */
} order_finding;

typedef struct order_candidate {
    size_t check; /* place in the knowledge */
    double minutes, bits_1;
    bool reads, oils;  /* takes readings that oil spoils; leaves oil behind */
    bool runs;         /* the engine runs for it, so that what stood prepared is put back first */
    unsigned prepares; /* bits: what it begins with, and leaves standing */
    int finding[ORDER_FINDINGS_EACH], count;
    double doubt_per_minute; /* out: what it takes away of it, a minute, with what stands beside it in the order */
} order_candidate;

/* A cylinder that may be this one: its cause, and what each finding would be. */
typedef struct order_particle {
    int cause;
    double weight_1;
    unsigned char outcome[ORDER_FINDINGS_MAX];
} order_particle;

_Static_assert((int)ORDER_CAUSES >= (int)CH_CAUSE_COUNT, "room for every cause");

/* One cylinder's checks and what they may find. */
typedef struct order_room {
    float row[ORDER_ROWS_MAX][ORDER_CAUSES]; /* chance of one outcome under each cause */
    int rows;
    order_finding finding[ORDER_FINDINGS_MAX];
    int findings;
    order_candidate candidate[ORDER_CANDIDATES_MAX];
    int candidates;
    double preparation_minutes[CH_PREPARATIONS_MAX];
    unsigned standing; /* bits: what stands prepared before the first */
    order_particle particle[CH_CAUSE_COUNT * ORDER_PARTICLES_EACH];
    int particles;
} order_room;

/* A finding of `outcomes` outcomes, chance[cause * stride + outcome], of no group yet. Its place, or -1 where the room is full.
 * further_1: power of its chances where something of its group is found already. */
int order_finding_add(order_room *room, const double chance[], int stride, int outcomes, double further_1);

/* Places of candidates, first to be done first; their doubt_per_minute is set. It never rises along the order. */
void order_find(order_room *room, const double cause_1[CH_CAUSE_COUNT], int order[ORDER_CANDIDATES_MAX]);

/* ---- checks.c: what would tell most ---- */

/* What is known when checks are looked for, beside the trace itself. */
typedef struct checks_known {
    const weigh_frame *frame;
    const ch_sheet *sheet;
    const trace_areas *areas; /* one a cylinder */
    const double *together_1; /* [CH_CAUSE_COUNT]: chance that a cause has struck the engine as a whole */
    unsigned standing;        /* bits: preparations that stand already */
    bool do_not_run;          /* something was seen that comes before any cranking: no check that cranks is named */
} checks_known;

void checks_find(const checks_known *known, order_room *room, ch_trace *trace);

/* ---- trace.c: the whole of it ---- */

/* The stand-in of an engine with so much oil above its pistons, once it is built. */
typedef struct trace_stand_in {
    bool built;
    double oil_m3;
    ch_emulator emulator;
} trace_stand_in;

/* Those that several tracings of one engine share; all zero to begin with. */
typedef struct trace_stand_ins {
    trace_stand_in dry, wet;
} trace_stand_ins;

/* ch_trace_run() with stand-ins that may stand already, of the same setup and number of cylinders; checks are sought only where asked for. */
ch_status trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                    const ch_trace_options *options, bool seek_checks, trace_stand_ins *kept, ch_trace *trace,
                    ch_err *err);

#endif

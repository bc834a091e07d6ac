/* The parts of judging, each a function of plain data that can be tested without the tracing. Private to src/judge.
 *
 * Order of work (judge.c): collect -> repeats -> bounds and day (from the model) -> trace -> balance -> questions -> verdict. */
#ifndef CROSSHATCH_JUDGE_PARTS_H
#define CROSSHATCH_JUDGE_PARTS_H

#include "crosshatch/judge.h"
#include "crosshatch/setup.h"

/** Dry readings that are given (ch_quantity_given), by cylinder, rising within each, so that no result but that of order depends on the order of rows. */
typedef struct judge_readings {
    int cylinders;
    size_t n;
    double *reading_pa;                                     /* owned; cylinder after cylinder */
    size_t *row;                                            /* owned; index into sheet->compression of each */
    size_t start[CH_CYLINDERS_MAX], size[CH_CYLINDERS_MAX]; /* place and number of each cylinder's readings */
} judge_readings;

/** Default repeatability, Pa, where the highest mean is this. */
double judge_default_sd_pa(double highest_pa);

/** Sort a sheet's dry readings. @retval CH_E_MEMORY. `readings` needs judge_readings_clear() after success. */
ch_status judge_readings_collect(const ch_sheet *sheet, judge_readings *readings, ch_err *err);
void judge_readings_clear(judge_readings *readings);

/** How well one reading repeats, and what is common to all of them. */
typedef struct judge_repeatability {
    double sd_pa, df;     /* of one reading; df a whole number, at least JUDGE_DEFAULT_DF */
    bool assumed;         /* no repeat at all: sd_pa is the default */
    double step_pa;       /* smallest step read; standard uncertainty step/sqrt(12) */
    bool step_detected;   /* from the readings, not from the sheet */
    double zero_limit_pa; /* the zero that all readings share lies within +-this */
    double gain_limit_1;  /* and so does the gain, relative, at the highest mean; 0 without readings */
} judge_repeatability;

/** Default repeatability of one reading as a part of the highest mean: 2.5 psi at 165 psi (common practice) ... */
#define JUDGE_DEFAULT_SD_1 0.015
/** ... which is not taken lower than this, Pa gauge: a low reading repeats no better than one of some 100 psi. */
#define JUDGE_DEFAULT_LEVEL_PA 700e3
/** Degrees of freedom that a default is worth. */
#define JUDGE_DEFAULT_DF 3.0

/**
 * Step in which the readings come: in the unit of each reading the largest of 10, 5, 2.5, 2, 1 times 1, 0.1 or 0.01 psi (and its like: 10 kPa, 0.1 bar)
 * of which all readings are multiples; of several units the coarsest. NaN where all are 0 or none fits.
 */
double judge_step_pa(const ch_reading rows[], size_t n);

/** What the model says of this engine, gauge and day before any reading counts. */
typedef struct judge_bounds {
    double ideal_pa;    /* reading without heat, leak or check valve, sides of every doubt taken 2 sd high */
    bool ratio_assumed; /* the sheet gives no compression ratio: 14:1 was taken */
    double sound_pa;    /* reading of a sound cylinder, every doubt at its centre */
    double fill_1;      /* reading after the sheet's strokes over that of a full hose, sound cylinder */
    double
        usual_pa; /* sound_pa with a warm engine cranked at the usual speed, where neither is noted otherwise: sound_pa */
    int strokes;         /* the sheet's, or the default */
    int strokes_to_fill; /* strokes after which a sound cylinder shows JUDGE_FULL_1 of it; 0 = never */
    double wet_lift_1
        [CH_CYLINDERS_MAX]; /* reading with all of a cylinder's oil kept and no leak left over sound_pa; 0 = no wet row that counts */
} judge_bounds;

#define JUDGE_FULL_1 0.97

ch_status judge_bounds_compute(const ch_setup *setup, int cylinders, judge_bounds *bounds, ch_err *err);
/** The part of it that the wet rows ask for: bounds->wet_lift_1. `bounds` from judge_bounds_compute(). */
ch_status judge_bounds_wet(const ch_sheet *sheet, const ch_setup *setup, judge_bounds *bounds, ch_err *err);

enum { JUDGE_DAY_NODES = 2 };

/** From this day to the standard day. */
typedef struct judge_day {
    double reading_pa[JUDGE_DAY_NODES]; /* this day, falling */
    double factor_1[JUDGE_DAY_NODES];   /* standard day over this day */
    double u_factor_1;                  /* relative standard uncertainty of the factor */
} judge_day;

/** The setup of a sheet that says nothing: usual engine temperature, cranking speed and strokes. */
ch_status judge_usual_setup(ch_setup *usual, ch_err *err);

ch_status judge_day_build(const ch_setup *setup, int cylinders, judge_day *day, ch_err *err);

/** Factor for a reading: straight lines between the nodes, level beyond them. */
double judge_day_factor(const judge_day *day, double reading_pa);

/**
 * What a limit of the standard day reads on this day, Pa: the reading whose factor brings it to `limit_pa`. Never above `limit_pa`, since a manual's
 * limit is not raised because the engine was warm or cranked fast. NaN gives NaN; `day` NULL, the standard day, the limit itself.
 */
double judge_day_limit(const judge_day *day, double limit_pa);

/** Repeats, resolution, zero and gain -> judgement->cylinder[] (n .. df, first_over_final, minimum), pooled_*, minimum_pa, standard_pa, assumed resolution.
 * `day` NULL: the standard day. */
ch_status judge_repeats(const ch_sheet *sheet, const ch_setup *setup, const judge_day *day,
                        const judge_readings *readings, ch_judgement *judgement, judge_repeatability *repeatability,
                        ch_err *err);

/** What balance needs: the means as measured, and how far each may be off. */
typedef struct judge_means {
    int n;
    int cylinder[CH_CYLINDERS_MAX]; /* numbers, rising */
    double mean_pa[CH_CYLINDERS_MAX];
    int repeats[CH_CYLINDERS_MAX]; /* >= 1 */
    judge_repeatability scatter;
    double minimum_pa, spread_pa; /* the manual's limits, the former as it reads on this day; NaN where not given */
    const judge_day *day; /* which brings the least pressure of a rule to what it reads; NULL: the standard day */
} judge_means;

typedef struct judge_balance {
    int lowest, highest; /* cylinder numbers; 0 with fewer than two */
    double ratio_1, ratio_interval_1[2], chance_below_75_1;
    ch_rule_outcome rule[CH_RULE_COUNT];
    double repeat_gain_1[CH_CYLINDERS_MAX]; /* by place in judge_means */
    int repeat_cylinder;
} judge_balance;

/** A repeat is worth taking where it would move the chance by as much as this, on average. */
#define JUDGE_GAIN_WORTH_1 0.02

/** @retval CH_E_MEMORY. `balance` untouched on failure. */
ch_status judge_balance_compute(const judge_means *means, ch_balance_rule chosen, uint64_t seed, judge_balance *balance,
                                ch_err *err);

/** How far a rule is kept, relative; below 0 it is broken. `lowest_pa`, `highest_pa` of the true means. NaN = does not apply. */
double judge_rule_margin(ch_balance_rule rule, const judge_means *means, double lowest_pa, double highest_pa);

/** All that the questions look at. */
typedef struct judge_asked {
    const ch_sheet *sheet;
    const ch_setup *setup;
    const judge_readings *readings;
    const judge_repeatability *scatter;
    const judge_bounds *bounds;
    const ch_unit *unit;
    const ch_knowledge *knowledge; /* for the words of a caution; NULL = none */
} judge_asked;

/** Question the sheet: fills judgement->question. The part of the tracing (tests that contradict each other) is read from judgement->trace. */
ch_status judge_questions(const judge_asked *asked, ch_judgement *judgement, ch_err *err);
/** The part of it that needs no tracing and no expected band. Judgement->question_count must be set: they are added. */
ch_status judge_questions_of_rows(const judge_asked *asked, ch_judgement *judgement, ch_err *err);
/** The part of it that looks at the air pressure noted. CH_E_RANGE from below. */
ch_status judge_question_air(const judge_asked *asked, ch_judgement *judgement, ch_err *err);
/** The unit in which a number typed in `typed` comes nearest to `likely_pa`, within least..most; NULL where none does. */
const ch_unit *judge_likely_unit(double reading_pa, const ch_unit *typed, double least_pa, double likely_pa,
                                 double most_pa);
/** Whether this is an engine of the kind that can be judged at all (outside.c): sets judgement->outside and, with it, unreadable. */
void judge_question_outside(const judge_asked *asked, ch_judgement *judgement);
/** The part of it that holds tests of a cylinder against each other (question_tests.c). */
void judge_questions_of_tests(const judge_asked *asked, ch_judgement *judgement);
/** The part of it on single rows of leak-down and wet test, and on the gauge's scale. */
void judge_questions_of_other_rows(const judge_asked *asked, ch_judgement *judgement);
/** The part of it that looks at the order taken. */
ch_status judge_question_order(const judge_asked *asked, ch_judgement *judgement, ch_err *err);

/** A cold engine and slow cranking, where the sheet notes them so: under 40 C, under 20 rad/s (191 r/min); common practice. */
bool judge_is_cold(const ch_setup *setup);
bool judge_is_slow(const ch_setup *setup);

/** What a cylinder's leak-down rows come to (leaks.c). */
typedef struct judge_leak {
    double loss_1;            /**< mean of its rows, as the usual orifice would show it; NaN = none given */
    double least_1, most_1;   /**< of its rows, the same way */
    double others_1;          /**< middle of the other cylinders; NaN = none given */
    unsigned heard;           /**< ch_heard bits of valves and coolant: nothing should be heard there */
    unsigned heard_cylinders; /**< at the plug holes of these */
    const ch_leakdown_row
        *converted; /**< the first row whose figure loss_1 does not show as it was read; NULL = none */
    int rows;       /**< with a figure */
    int others;     /**< other cylinders with a figure */
    bool over_limit, over_others,
        by_path; /**< more than the trade accepts: by itself, against the others, by where it is heard */
} judge_leak;

/** Losses of one cylinder that do not agree: 10 points apart and more (judgment; 8 points between cylinders are worth following up). NaN: they do. */
bool judge_losses_apart(double least_1, double most_1);

/** The loss of a row as an orifice of the usual size would show it. The row's loss is given. */
double judge_usual_loss_1(const ch_leakdown_row *row);
void judge_leaks(const ch_sheet *sheet, judge_leak leak[CH_CYLINDERS_MAX]);

enum { JUDGE_NOTED_MAX = 8, JUDGE_NOTED_SIZE = 160 };

/** What was noted that wants following up for one reason (noted.c). */
typedef struct judge_noted {
    const char *follow_up;         /**< the reason; lives as long as the knowledge */
    char titles[JUDGE_NOTED_SIZE]; /**< of the observations, in quotes, with their cylinders */
    int more;                      /**< observations that found no room in titles */
    bool do_not_run;               /**< nobody cranks or runs it before that is put right */
} judge_noted;

/** In the order of the sheet, what forbids to run the engine before the rest, those with the same reason together; a ninth reason is left out. Returns how many. */
size_t judge_noted_of(const ch_sheet *sheet, const ch_knowledge *knowledge, judge_noted noted[JUDGE_NOTED_MAX]);

/** Verdict and reasons from everything else in the judgement. */
void judge_verdict(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_unit *unit, ch_judgement *judgement);

/* Steps that judging at once shares (judge.c). */

/** @retval CH_E_INPUT, CH_E_RANGE What ch_judge() refuses. */
ch_status judge_check(const ch_sheet *sheet, const ch_judge_options *options, ch_err *err);
const ch_unit *judge_unit_of_sentences(const ch_sheet *sheet, const ch_judge_options *options);
/** Lowest over highest, the rules, and what a repeat is worth. */
ch_status judge_take_balance(const ch_sheet *sheet, const judge_day *day, const judge_repeatability *scatter,
                             const ch_judge_options *options, ch_judgement *judgement, ch_err *err);

/* Words (say.c). */

enum { JUDGE_WORDS = 64 };

/** A piece of a sentence, returned by value so that several fit into one format. */
typedef struct judge_words {
    char text[JUDGE_WORDS];
} judge_words;

judge_words judge_say_pressure(double pressure_pa, const ch_unit *unit); /* "176 psi" */
/* "1.1 bar": of two figures at most, for what is known no better than by some */
judge_words judge_say_difference(double pressure_pa, const ch_unit *unit);
judge_words judge_say_part(double part_1);                /* "87 %" */
judge_words judge_say_typed(const ch_quantity *quantity); /* "0.62 %", the number as it was typed */
judge_words judge_say_share(double chance_1);             /* "under 1 %", "40 %", "over 99 %" */
judge_words judge_say_chance(double chance_1);            /* "under 1 %", "about 40 %", "over 99 %" */

/** Add a question. Beyond CH_QUESTIONS_MAX it is left out, and so is one asked in the same words before: a reading entered twice. */
void judge_ask(ch_judgement *judgement, ch_question_kind kind, int cylinder, size_t row, double weight_1,
               const char *format, ...) __attribute__((format(printf, 6, 7)));

#endif

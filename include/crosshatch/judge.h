/**
 * @file judge.h
 * Are these numbers good? Repeats, balance, limits, what a sound engine would read, and the verdict with its reasons.
 *
 * docs/method-judging.md gives every formula and its source, and the rule of the verdict.
 */
#ifndef CROSSHATCH_JUDGE_H
#define CROSSHATCH_JUDGE_H

#include <stddef.h>
#include <stdint.h>

#include "crosshatch/knowledge.h"
#include "crosshatch/sheet.h"
#include "crosshatch/trace.h"

typedef enum ch_verdict { CH_VERDICT_SOUND, CH_VERDICT_WATCH, CH_VERDICT_FAULT, CH_VERDICT_UNCLEAR } ch_verdict;

/** "sound", "watch", "fault", "unclear". */
const char *ch_verdict_name(ch_verdict verdict);

/** The published rules for how far cylinders may differ (trade practice disagrees; the owner chooses). */
typedef enum ch_balance_rule {
    CH_RULE_75_PERCENT,         /**< lowest at least 75 % of highest */
    CH_RULE_70_PERCENT_100_PSI, /**< lowest at least 70 % of highest and none below 100 psi */
    CH_RULE_80_PERCENT,         /**< none below 80 % of highest */
    CH_RULE_98_KPA,             /**< largest difference 98 kPa (1.0 kgf/cm2, 14 psi) */
    CH_RULE_152_KPA,            /**< largest difference 152 kPa (22 psi) */
    CH_RULE_196_KPA,            /**< largest difference 196 kPa (2.0 kgf/cm2, 28 psi) */
    CH_RULE_10_PERCENT,         /**< all within 10 % of the highest */
    CH_RULE_15_PERCENT,
    CH_RULE_20_PERCENT,
    CH_RULE_MANUAL, /**< the sheet's own limits: minimum and spread */
    CH_RULE_COUNT
} ch_balance_rule;

/** "75_percent", ...; NULL outside the enum. Static storage. */
const char *ch_balance_rule_name(ch_balance_rule rule);

/** The rule in words, "lowest at least 75 % of highest"; NULL outside the enum. Static storage. */
const char *ch_balance_rule_says(ch_balance_rule rule);

/** The rule of a name of `length` bytes; CH_RULE_COUNT where there is none. */
ch_balance_rule ch_balance_rule_find(const char *name, size_t length);

/** Outcome of one rule on one sheet. */
typedef struct ch_rule_outcome {
    ch_balance_rule rule;
    bool applies; /**< false: nothing to judge (one cylinder, no limits given) */
    bool passes;  /**< by the means as they stand */
    double
        chance_broken_1; /**< chance that the true readings break it, given repeatability, resolution, zero and gain */
    const char *id;      /**< "75_percent", ...; static */
    const char *says;    /**< the rule in words; static */
    const char *source;  /**< who uses it; static */
} ch_rule_outcome;

/** What is said of the sheet itself: reasons to doubt the numbers rather than the engine. */
typedef enum ch_question_kind {
    CH_QUESTION_ALL_LOW,          /**< every cylinder under what a sound engine would read */
    CH_QUESTION_ALL_HIGH,         /**< every cylinder over it */
    CH_QUESTION_FALLING,          /**< readings fall with the order taken */
    CH_QUESTION_FIRST_OVER_FINAL, /**< first stroke at or above the final reading */
    CH_QUESTION_IMPOSSIBLE,       /**< above what compression without loss could give: unit, oil, carbon */
    CH_QUESTION_UNIT,             /**< reads like another unit's number (bar typed as psi) */
    CH_QUESTION_TOO_FEW_STROKES,  /**< the hose was not full yet */
    CH_QUESTION_MISSING,          /**< cylinders without a reading */
    CH_QUESTION_REPEAT,           /**< one repeat out of line with its fellows: flagged, kept */
    CH_QUESTION_CONTRADICTION,    /**< the tests do not agree with each other */
    CH_QUESTION_THROTTLE_SHUT,    /**< tested with the throttle shut */
    CH_QUESTION_BAROMETER,        /**< an air pressure that no weather brings about at the altitude */
    CH_QUESTION_BEYOND_SCALE,     /**< a reading beyond the end of the gauge's scale */
    CH_QUESTION_OIL_DOSE,         /**< more oil than the chamber holds without locking the engine */
    CH_QUESTION_ONE_HIGH,         /**< one cylinder far above others that agree and read as sound ones may */
    CH_QUESTION_COLD_OR_SLOW,     /**< the answer hangs on a cold engine, or on slow cranking, as noted */
    CH_QUESTION_OUTSIDE,          /**< no engine of the kind that can be judged: a diesel, or one with a decompressor */
    CH_QUESTION_KIND_COUNT
} ch_question_kind;

/** From this chance on that a cylinder's test misleads, it is told beside those of a fault and of a sound cylinder, which it keeps apart. */
#define CH_MISLEADS_TOLD_1 0.01

enum { CH_QUESTION_SIZE = 480 };

typedef struct ch_question {
    ch_question_kind kind;
    int cylinder; /**< 0 = the sheet as a whole */
    size_t row;   /**< index into sheet->compression, or SIZE_MAX */
    double
        weight_1; /**< how strong: chance that it is chance alone is (1 - weight) where that can be computed; else 1 */
    char text[CH_QUESTION_SIZE]; /**< a sentence a mechanic would say, in the owner's unit where a pressure is named */
} ch_question;

/** One cylinder's dry readings. Pressures Pa gauge. Unknown is NaN. */
typedef struct ch_judged_cylinder {
    int cylinder;
    int n; /**< dry readings */
    double mean_pa, median_pa;
    double sd_pa;           /**< of the repeats; NaN for n < 2 */
    double u_pa;            /**< standard uncertainty of the mean without the gauge's common gain (GUM 4.2, 4.3, 5.1) */
    double u_with_gauge_pa; /**< with the gauge's accuracy: for comparison with limits and with other gauges */
    double df;              /**< effective degrees of freedom of u_pa (Welch-Satterthwaite) */
    double first_over_final_1; /**< mean first stroke over mean final; NaN where not noted */
    double expected_pa
        [2]; /**< 5 %, 95 % of what the gauge would show of a sound cylinder of this specification on this day */
    double expected_median_pa;
    double
        standard_day_pa; /**< mean reduced to 101325 Pa, 15 C air, the usual engine temperature, speed and strokes of setup defaults */
    double u_standard_day_pa;
    double leak_area_m2[3];        /**< 5 %, 50 %, 95 % of the posterior total leak area */
    bool below_minimum;            /**< mean below the manual's minimum on this day */
    double chance_below_minimum_1; /**< the same of the true figure; NaN where the manual's minimum is not given */
    double
        repeat_gain_1; /**< how much one more repeat of this cylinder would be expected to change the chance of breaking the chosen rule */
} ch_judged_cylinder;

enum { CH_REASONS_MAX = 24, CH_REASON_SIZE = CH_QUESTION_SIZE, CH_QUESTIONS_MAX = 48 };

typedef struct ch_judgement {
    ch_verdict verdict;
    char because[CH_REASONS_MAX][CH_REASON_SIZE]; /**< plain sentences, weightiest first */
    size_t because_count;
    int cylinders;
    ch_judged_cylinder cylinder[CH_CYLINDERS_MAX];
    double pooled_sd_pa,
        pooled_df; /**< repeatability used: pooled over cylinders, or the stated default with few degrees of freedom */
    bool pooled_assumed;        /**< no repeats at all: a default repeatability stands in */
    int lowest, highest;        /**< cylinder numbers; 0 where there are fewer than two */
    double ratio_1;             /**< lowest over highest, of the means; NaN with fewer than two cylinders */
    double ratio_interval_1[2]; /**< 95 % interval of the true lowest over highest (JCGM 101) */
    double chance_below_75_1;
    double minimum_pa, /**< the manual's minimum, ... */
        standard_pa; /**< ... and its standard, as the day lets them read: never above what the manual says; NaN where not given */
    ch_rule_outcome rule[CH_RULE_COUNT];
    ch_balance_rule chosen_rule;
    ch_question question[CH_QUESTIONS_MAX];
    size_t question_count;
    bool
        unreadable; /**< the readings as a whole are no pressures of this engine: another unit's, or all far above the possible; no cause is named then */
    bool
        do_not_run; /**< something was seen that has to be put right before the engine is cranked or run (do_not_run.h): a fault, whatever it reads */
    bool
        outside; /**< no engine of the kind that can be judged (CH_QUESTION_OUTSIDE): unreadable, and there is no answer but this */
    int repeat_cylinder; /**< where one more repeat matters most; 0 = none would change the answer */
    size_t wet_left_out; /**< wet rows that do not count: more oil than the chamber holds (ch_setup_holds_dose) */
    bool assumed[CH_INPUT_COUNT]; /**< inputs that a default stands in for */
    ch_trace trace;               /**< causes, areas, and the next checks */
} ch_judgement;

typedef struct ch_judge_options {
    uint64_t seed;
    ch_balance_rule rule;         /**< chosen by the owner */
    const ch_unit *pressure_unit; /**< of the sentences; NULL = the unit of most readings, else kPa */
    const ch_trace *traced; /**< what ch_trace_run() gave for this sheet, knowledge and seed; NULL = trace it now */
    const ch_crew *crew;    /**< who does the work of tracing; NULL: the caller. The bytes do not depend on it. */
} ch_judge_options;

/**
 * Judge and trace one sheet.
 *
 * @param sheet     Borrowed during the call.
 * @param knowledge From ch_knowledge_parse().
 * @param options   Not NULL; what its `traced` and `crew` point to is borrowed during the call.
 * @param judgement (out) plain data, some 60 kB; untouched on failure.
 * @retval CH_E_INPUT No dry, wet or leak-down reading; an observation that knowledge does not have.
 * @retval CH_E_RANGE, CH_E_CONVERGE, CH_E_MEMORY from below.
 */
ch_status ch_judge(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judge_options *options,
                   ch_judgement *judgement, ch_err *err);

/**
 * True where a cylinder's test is to be repeated before the engine is blamed: that it misleads is likelier than that anything is wrong with the
 * cylinder; or it is likelier than any one trouble, with a chance of a quarter or more. A rule that the readings break makes no fault then.
 *
 * @param traced A cylinder of judgement->trace.
 */
bool ch_judge_repeat_first(const ch_trace_cylinder *traced);

enum { CH_JUDGE_LIST = 120 /**< the numbers of all cylinders, one by one, fit */ };

/** Cylinders as a list: "1 to 6 and 8". Bit c of `cylinders` is cylinder c + 1. Returns `list`. */
const char *ch_judge_cylinders(uint32_t cylinders, char list[CH_JUDGE_LIST]);

/**
 * The questions as a person is told them: what is asked of three cylinders and more in the same words, numbers apart, is asked once, with the range of what
 * differs ("Cylinders 1 to 8, each: 400 to 410 psi is more than ..."). The first of them keeps its place.
 *
 * @param judgement From ch_judge() or ch_judge_at_once().
 * @param told      (out) Copies; of several cylinders: `cylinder` 0, `row` SIZE_MAX, the largest weight.
 * @return How many of `told` there are.
 */
size_t ch_judge_questions_told(const ch_judgement *judgement, ch_question told[CH_QUESTIONS_MAX]);

/**
 * Why the chosen rule cannot be applied, as the end of a sentence: "no cylinder was read dry". NULL where it applies. Static storage.
 *
 * @param sheet     The one that was judged.
 * @param judgement From ch_judge() or ch_judge_at_once().
 */
const char *ch_judge_rule_silent(const ch_sheet *sheet, const ch_judgement *judgement);

/**
 * What can be said at once, standing at the car: repeats, balance by the rules, whether another repeat matters, and entries that look odd by
 * themselves (another unit, a digit too many or too few, more than the engine could show, first stroke over final, repeats that do not agree,
 * readings that fall with the order taken). Nothing is traced and no verdict is given.
 *
 * Of `judgement` are filled: cylinders; of each cylinder n to first_over_final_1, expected_median_pa (the reading of a sound cylinder, every
 * doubt at its centre), below_minimum, chance_below_minimum_1, repeat_gain_1, the rest NaN; pooled_*, lowest, highest, ratio_*,
 * chance_below_75_1, minimum_pa, standard_pa, rule, chosen_rule, question, repeat_cylinder, assumed. `verdict` is CH_VERDICT_UNCLEAR without a reason, `trace` zero.
 *
 * @param sheet     Borrowed during the call.
 * @param options   Not NULL; `traced` is not looked at.
 * @param judgement (out) Untouched on failure.
 * @retval CH_E_INPUT No dry, wet or leak-down reading.
 * @retval CH_E_RANGE, CH_E_CONVERGE, CH_E_MEMORY from below.
 *
 * Valid: the same readings give the same questions on rows, chosen rule and ratio in ch_judge(), which has the expected band and asks more; of the
 * rules that were not chosen the one with a least pressure is held to the day only where the sheet has a limit.
 * Cost: two cranking runs and 8192 draws, some 10 ms; with a limit nine runs, some 20 ms.
 */
ch_status ch_judge_at_once(const ch_sheet *sheet, const ch_judge_options *options, ch_judgement *judgement,
                           ch_err *err);

#endif

/**
 * @file history.h
 * All sheets of one engine on one line of running time, with what was done between them; and what is odd about their dates and hours.
 *
 * Nothing is dropped: a figure that cannot be right is questioned, and the history says what it used instead. docs/season.md, "History".
 */
#ifndef CROSSHATCH_HISTORY_H
#define CROSSHATCH_HISTORY_H

#include "crosshatch/date.h"
#include "crosshatch/forecast.h"
#include "crosshatch/judge.h"

/**
 * Readings at which a leaking cylinder is to be watched or counts as a fault, over that of a sound one: the verdict's "uneven" figure and the
 * 75 % rule (docs/method-judging.md). The car's own minimum over its standard takes the place of the second where it is stricter.
 */
#define CH_HISTORY_WATCH_1 0.85
#define CH_HISTORY_FAULT_1 0.75

/** What is kept of one judged cylinder. Unknown is NaN. */
typedef struct ch_history_cylinder {
    int n;         /**< dry readings */
    int leakdowns; /**< leak-down tests with a loss */
    int signs;     /**< noted at it: seen, or looked for and not there */
    bool
        broken; /**< something was seen at it, or at the engine as a whole, that forbids to crank or run it (do_not_run.h) */
    double mean_pa, standard_day_pa, u_standard_day_pa;
    double ladder_m2[CH_TRACE_LADDER];
    double cause_1[CH_CAUSE_COUNT];
} ch_history_cylinder;

/** What is kept of one judged sheet: plain data, some 10 kB, so that a sheet is judged once and not at every look. */
typedef struct ch_history_result {
    int cylinders;
    ch_verdict verdict;
    bool reliable;    /**< the tracing's */
    bool unreadable;  /**< its readings as a whole are no pressures of this engine (ch_judgement) */
    double sound_m2;  /**< usual leak area of a sound cylinder of this bore */
    double u_sound_1; /**< standard deviation of its logarithm */
    double watch_m2,
        fault_m2; /**< leak areas at which this engine's reading falls to the limits above; INFINITY = never */
    ch_history_cylinder cylinder[CH_CYLINDERS_MAX];
} ch_history_result;

/**
 * Judge a sheet and keep what the history needs.
 *
 * @param sheet     Borrowed during the call.
 * @param knowledge From ch_knowledge_parse().
 * @param options   As for ch_judge(); not NULL.
 * @param result    (out) Plain data. Untouched on failure.
 * @retval as ch_judge.
 * Cost: that of ch_judge and some twenty runs of the cranking model.
 */
ch_status ch_history_judge(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_judge_options *options,
                           ch_history_result *result, ch_err *err);

/** Whether the cylinder was tested: of one that was not, areas and causes are what the model takes for granted, and no figures of this sheet. */
bool ch_history_tested(const ch_history_cylinder *cylinder);

/** Numbers that a result is written as and read from, for a store: their count for `cylinders`. Version: CH_HISTORY_VERSION. */
size_t ch_history_numbers(int cylinders);
/**
 * A result as plain numbers, to be kept and read back by ch_history_read().
 *
 * @param result  Of 1 to CH_CYLINDERS_MAX cylinders.
 * @param numbers (out) ch_history_numbers(result->cylinders) of them.
 */
void ch_history_write(const ch_history_result *result, double numbers[]);
/**
 * Read a result back.
 *
 * @param numbers `count` of them, as ch_history_write() gave them.
 * @param count   Must be ch_history_numbers() of the cylinders that the first number tells.
 * @param result  (out) Plain data. Untouched on failure.
 * @retval CH_E_INPUT The count or a number cannot be right. `result` is then untouched.
 */
ch_status ch_history_read(const double numbers[], size_t count, ch_history_result *result, ch_err *err);

/** Grows with whatever changes a result: what an older version kept is judged anew. */
enum { CH_HISTORY_VERSION = 7 };

/** A sheet as the store has it. */
typedef struct ch_history_sheet {
    int64_t id;
    ch_date day; /**< of the test; where it was not given, that on which the sheet was opened */
    bool day_assumed;
    int64_t opened_s;  /**< order within a day */
    int64_t gauge_id;  /**< 0 = not said: all of these count as one gauge */
    double hours_s;    /**< engine hours as noted, s; NaN = not noted */
    double odometer_m; /**< NaN = not noted */
    bool air_noted;    /**< height or barometer stands on the sheet */
    bool height_taken; /**< they do not, and it was judged at the height that another sheet notes */
    double height_m;   /**< that height, where it was taken */
    ch_history_result result;
} ch_history_sheet;

/** A day on which the engine ran or is going to run. */
typedef struct ch_history_event {
    int64_t id;
    ch_date day;
    double running_s; /**< NaN = not known, or still to come */
    const char *name; /**< borrowed */
} ch_history_event;

/** Something done to the engine's inside, after which leak areas need not go on from where they were. */
typedef struct ch_history_repair {
    ch_date day;
    int cylinder;     /**< 0 = all */
    const char *what; /**< borrowed */
    bool job;         /**< work that was done, not a part that was fitted */
} ch_history_repair;

typedef enum ch_history_question_kind {
    CH_HISTORY_HOURS_BACKWARD, /**< fewer hours than the sheet before, more on the sheet after: a slip */
    CH_HISTORY_METER_CHANGED,  /**< fewer hours from here on: another meter, or it was set back */
    CH_HISTORY_HOURS_JUMP,     /**< more hours than the days between have */
    CH_HISTORY_ODOMETER_BACKWARD,
    CH_HISTORY_HOURS_FROM_EVENTS,   /**< no hours noted: counted from the events */
    CH_HISTORY_HOURS_FROM_ODOMETER, /**< neither hours nor events: from the distance, at an assumed speed */
    CH_HISTORY_NO_HOURS,            /**< nothing to count running time by */
    CH_HISTORY_NO_DAY,              /**< a sheet without a date */
    CH_HISTORY_OTHER_ENGINE,        /**< a sheet of another number of cylinders: left out of the fit */
    CH_HISTORY_MANY_GAUGES,         /**< more gauges than the model tells apart */
    CH_HISTORY_HEIGHT_TAKEN,        /**< sheets without height and barometer were judged at the height of another */
    CH_HISTORY_HEIGHT_MISSING,      /**< some have neither, others do, and there is no height to take */
    CH_HISTORY_HOURS_BY_DISTANCE,   /**< between two sheets without an event the odometer counts, at an assumed speed */
    CH_HISTORY_EVENT_LONG,          /**< an event of more hours than its days can have */
    CH_HISTORY_DAY_TO_COME,         /**< a sheet of a day after today: left out */
    CH_HISTORY_UNTESTED,            /**< cylinders that no sheet has a test of */
    CH_HISTORY_QUESTION_KINDS
} ch_history_question_kind;

/** "hours_backward", ...; static, NULL outside the enum. */
const char *ch_history_question_name(ch_history_question_kind kind);

typedef struct ch_history_question {
    ch_history_question_kind kind;
    int64_t sheet_id; /**< 0 = the history as a whole */
    char text[200];   /**< a plain sentence */
} ch_history_question;

/** A sheet on the line of running time. */
typedef struct ch_history_point {
    const ch_history_sheet *sheet;
    double running_s; /**< on the history's own line: as noted, corrected, or counted */
    bool noted;       /**< as noted on the sheet */
    bool fitted;      /**< it is in `wear` */
    size_t at;        /**< where; only if fitted */
} ch_history_point;

enum { CH_HISTORY_QUESTIONS_MAX = 40 };

typedef struct ch_history {
    int cylinders;
    size_t count;
    ch_history_point point[CH_FORECAST_SHEETS_MAX]; /**< by day, then in the order opened */
    ch_wear_sheet wear[CH_FORECAST_SHEETS_MAX];     /**< by running time */
    size_t wear_count;
    ch_wear_step step
        [CH_FORECAST_STEPS_MAX]; /**< the repairs that lie between fitted sheets, the latest where they are too many */
    size_t steps;
    double log_prior, u_prior_1; /**< of the sound engine */
    double log_watch, log_fault; /**< limits of the last fitted sheet; NaN where a reading never falls so far */
    double last_s;               /**< running time at the last fitted sheet */
    double now_s;                /**< and today, with the events since */
    double usual_event_s;        /**< running time of a usual event: the median of past ones, or CH_HISTORY_EVENT_S */
    double
        year_s; /**< running time in a year: past events of the last two years or the sheets' hours, whichever is more; else ten usual events */
    size_t question_count;
    ch_history_question question[CH_HISTORY_QUESTIONS_MAX];
} ch_history;

/** Running time of an event where nothing is known: five sessions of 20 to 25 minutes (common practice). */
#define CH_HISTORY_EVENT_S 7200.0
/** Speed that turns distance into running time where hours and events are missing: 50 km/h, judgment. */
#define CH_HISTORY_SPEED_M_S (50.0 / 3.6)

/** Whether sheet `a` comes behind `b`: by day, of one day by when it was opened, of one moment by id. */
bool ch_history_later(const ch_history_sheet *a, const ch_history_sheet *b);

/** Whether a day lies after today: what is of such a day has not happened yet, and is a slip of the pen or of the clock. */
bool ch_history_to_come(ch_date day, ch_date today);

/** Whether a repair of a cylinder (0 = of any) lies behind a day; one of a day still to come does not count. */
bool ch_history_repaired(const ch_history_repair repair[], size_t repairs, ch_date since, int cylinder, ch_date today);

/**
 * The newest sheet, by day and then by when it was opened. Sheets of a day after today are none; those without a day count only where no other has one.
 *
 * @param sheet   `sheets` of them, of one engine, in any order; borrowed.
 * @param sheets  0 = there is none.
 * @param repair  `repairs` of them, in any order.
 * @param repairs One of a day later than the newest sheet's, of all cylinders or of its worst one, makes what it says a matter of the past.
 * @param today   What lies after it has not happened.
 * @return NULL where there is none, or where a repair has followed it.
 */
const ch_history_sheet *ch_history_newest(const ch_history_sheet sheet[], size_t sheets,
                                          const ch_history_repair repair[], size_t repairs, ch_date today);

/**
 * The cylinder that has something wrong with the greatest chance, and that chance, of those that were tested or at which something was noted.
 *
 * @param result  Of ch_history_judge().
 * @param wrong_1 (out) Chance that it is neither sound nor read wrongly; NaN where no cylinder is told.
 * @return Its number, from 1; 0 where the tracing is not reliable, or no cylinder was looked at.
 */
int ch_history_worst(const ch_history_result *result, double *wrong_1);

/**
 * Put the sheets of one engine on a line.
 *
 * @param sheet   `sheets` of them.
 * @param sheets  1..CH_FORECAST_SHEETS_MAX, in any order; borrowed as long as the history lives. Of one engine: stays of the same engine in
 *                the car count together, a rebuild begins anew.
 * @param event   `events` of them.
 * @param events  Of the engine, in any order: past ones count hours, those of `today` too if their running time is known.
 * @param repair  `repairs` of them.
 * @param repairs In any order.
 * @param today   The owner's calendar day.
 * @param history (out) some 300 kB; untouched on failure.
 * @retval CH_E_RANGE  No sheet, or none of them says anything of a leak area.
 * @retval CH_E_LIMIT  More sheets.
 * @retval CH_E_MEMORY
 */
ch_status ch_history_build(const ch_history_sheet sheet[], size_t sheets, const ch_history_event event[], size_t events,
                           const ch_history_repair repair[], size_t repairs, ch_date today, ch_history *history,
                           ch_err *err);

/**
 * What a sheet's evidence alone says of a log area: its posterior, with the prior that the tracing began from taken out.
 *
 * @param ladder_m2 CH_TRACE_LADDER quantiles, > 0.
 * @param fault_1   Chance that the cylinder has a fault: then the prior was wider.
 * @param log_sound Natural logarithm of a sound cylinder's area, m2: the middle of its prior.
 * @param u_sound_1 Standard deviation of that logarithm.
 * @param centre,u  (out) NaN where the ladder is not one.
 */
void ch_history_evidence(const double ladder_m2[CH_TRACE_LADDER], double fault_1, double log_sound, double u_sound_1,
                         double *centre, double *u);

#endif

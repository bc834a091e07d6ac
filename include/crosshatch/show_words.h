/**
 * @file show_words.h
 * What every face says of a result in the same words: numbers as a person writes them, and the standing sentences of a judgement. The
 * terminal's text, the pages and the printed report take them from here. Nothing is computed.
 */
#ifndef CROSSHATCH_SHOW_WORDS_H
#define CROSSHATCH_SHOW_WORDS_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/show.h"

enum {
    CH_SHOW_NUMBER = 48,   /**< room for a number with its unit */
    CH_SHOW_SENTENCE = 512 /**< room for a sentence */
};

/** A cylinder that is sound with less than this chance has its causes shown. */
#define CH_SHOW_SUSPICIOUS_1 0.90

/** From this chance on what a cause means is told as a fact. */
#define CH_SHOW_FLAT_1 0.90

/** From this chance on that any cylinder has something, the engine as a whole is spoken of where no tested cylinder has half of it. */
#define CH_SHOW_SOMEWHERE_1 0.50

/** Causes with less than this chance are left out of the short list. */
#define CH_SHOW_CAUSE_1 0.02

/** Posterior offsets of a shared doubt from this many standard uncertainties on are told. */
#define CH_SHOW_SHIFT_1 0.3

/** `value` with this many decimals (0 to 6), rounded half away from zero, the same in every locale; "-" where not finite. Returns `buffer`. */
const char *ch_show_number(double value, int decimals, char buffer[CH_SHOW_NUMBER]);

/** Degrees of freedom `df` with one decimal; "infinitely many" where they are (JCGM 100:2008, G.4.3). Returns `buffer`, or static storage. */
const char *ch_show_freedom(double df, char buffer[CH_SHOW_NUMBER]);

/** Decimals of a pressure in this unit: as fine as a good dial is read, a step of at most 7 kPa, which is 1 psi. */
int ch_show_pressure_decimals(const ch_unit *pressure);

/** A pressure in Pa as a number of this unit, without and with the unit's name; "-" where not finite. Returns `buffer`. */
const char *ch_show_pressure(double pressure_pa, const ch_unit *pressure, char buffer[CH_SHOW_NUMBER]);
/** The same with the unit's name behind it. Returns `buffer`. */
const char *ch_show_pressure_named(double pressure_pa, const ch_unit *pressure, char buffer[CH_SHOW_NUMBER]);

/** An area in m2 as mm2, two significant digits or more, without its unit. Returns `buffer`. */
const char *ch_show_area(double area_m2, char buffer[CH_SHOW_NUMBER]);

/** A probability as a person says it: "92 %", "under 1 %", "over 99 %". Returns `buffer`. */
const char *ch_show_chance(double chance_1, char buffer[CH_SHOW_NUMBER]);

/** True where a row of any test names the cylinder; of the others only the usual odds are known. */
bool ch_show_tested(const ch_sheet *sheet, int cylinder);

/** True where the cylinder was tested and is not almost surely sound. */
bool ch_show_suspicious(const ch_sheet *sheet, const ch_trace_cylinder *traced);

/** Causes in falling order of chance; equal ones in their own order. */
void ch_show_cause_order(const double cause_1[CH_CAUSE_COUNT], int order[CH_CAUSE_COUNT]);

/** The verdict as a sentence, which forbids to crank or run the engine where something was seen that does. Static storage. */
const char *ch_show_verdict_means(const ch_judgement *judgement);

/**
 * What a cause means, as a sentence under a list of causes that it heads: flat only where it is next to sure (CH_SHOW_FLAT_1), else as what
 * would then be so.
 *
 * @param cause    From the knowledge.
 * @param chance_1 Of it.
 * @param sentence (out)
 */
void ch_show_cause_says(const ch_knowledge_cause *cause, double chance_1, char sentence[CH_SHOW_SENTENCE]);

/** What stands in the place of causes and checks where the tracing of a sheet is not reliable. Static storage. */
const char *ch_show_no_cause(void);

/** The question after cylinders that have no reading where others have one, which comes before any check of theirs; NULL where there is none. */
const ch_question *ch_show_missing(const ch_judgement *judgement);

/** What stands before the checks where something was seen that forbids to crank or run the engine. Static storage. */
const char *ch_show_stopped(void);

/** The check that is left where no cause is named: reading again, with its cautions. NULL where the knowledge has none. */
const ch_knowledge_check *ch_show_repeat_check(const ch_knowledge *knowledge);

/** How sure the verdict is, of the least certain cylinder, or of the engine where none stands out and yet one probably has something; "" where no cylinder was tested. */
void ch_show_how_sure(const ch_show_judged *judged, char sentence[CH_SHOW_SENTENCE]);

/** What stands beside a cylinder's reading: "no reading", "under minimum", "low", "high", or "" where it is as expected. Static storage. */
const char *ch_show_remark(const ch_judged_cylinder *cylinder);

/** Where escaping air was heard, "exhaust, cylinder 2"; "" where not stated. */
void ch_show_heard(const ch_leakdown_row *row, char sentence[CH_SHOW_SENTENCE]);

/** A way out of the cylinder: "past the rings". Static storage. */
const char *ch_show_path(ch_path path);

/** A result whose method is named on demand. */
typedef enum ch_show_result {
    CH_SHOW_MEANS,        /**< means and their uncertainty */
    CH_SHOW_BALANCE,      /**< lowest over highest, chances of breaking a rule */
    CH_SHOW_STANDARD_DAY, /**< readings brought to the standard day */
    CH_SHOW_TRACE         /**< causes, leak areas, what a sound engine would show */
} ch_show_result;

/** An input that a default may stand in for, in words: "opening of the intake, before TDC", where the sheet has the key. Static storage. */
const char *ch_show_input(ch_input input);

/** Formula or method by name, with its published source and the page of our own that has all of it. Static storage. */
const char *ch_show_method(ch_show_result result);

/** Why the words "one bit" stand beside a check. Static storage. */
const char *ch_show_bit_means(void);

#endif

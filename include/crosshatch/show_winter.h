/**
 * @file show_winter.h
 * A winter plan's answer for a terminal, for programs, for calendars and for the shop. Nothing is computed but sums.
 */
#ifndef CROSSHATCH_SHOW_WINTER_H
#define CROSSHATCH_SHOW_WINTER_H

#include "crosshatch/document.h"
#include "crosshatch/jobs.h"
#include "crosshatch/show.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "crosshatch/winter.h"

/** Money as a person writes it, "390" or "12.50", without the currency. Returns `buffer`. */
const char *ch_show_money(ch_money money, char buffer[CH_SHOW_NUMBER]);

/** Working time in hours: "6.0", "1.25". Returns `buffer`. */
const char *ch_show_work(ch_work work_us, char buffer[CH_SHOW_NUMBER]);

/** "open", "job" or "close". Static storage. */
const char *ch_show_entry_kind(ch_entry_kind kind);

/** What an item is called: its title, else its name. */
const char *ch_show_plan_item(const ch_plan_item *item);

/** Why a job is in or out, as a sentence. */
void ch_show_job_reason(const ch_plan *plan, const ch_job_view *view, char sentence[CH_SHOW_SENTENCE]);

/**
 * A limit that all that must be done does not keep, as a sentence with by how much. Returns false where there is no such `which` (0, 1 ...).
 */
bool ch_show_shortfall(const ch_plan *plan, const ch_choice *choice, int which, char sentence[CH_SHOW_SENTENCE]);

/** What would help where what must be done cannot be: neither days nor money do where two musts exclude each other. `choice` is not feasible. Static. */
const char *ch_show_shortfall_help(const ch_choice *choice);

/** What was paid so far, of what, and what is still to be paid; more than the budget where it is. "" where nothing was. */
void ch_show_winter_paid(const ch_plan *plan, char sentence[CH_SHOW_SENTENCE]);

/** Why no job is in the plan: nothing is worth it, or hours or money are too short for what is. Static storage; NULL where one is in. */
const char *ch_show_winter_nothing(const ch_winter *winter);

/** "Mon". Static storage. */
const char *ch_show_weekday(ch_date date);

/** When it is done and how likely in time; where waiting leaves hours over, that. "" where there are no days or no work. */
void ch_show_winter_time(const ch_plan *plan, const ch_winter *winter, char sentence[CH_SHOW_SENTENCE]);

enum { CH_SHOW_NEARLY_FREE_MAX = 6, CH_SHOW_LIST = 1024 };

/** Jobs left out that take much less beside the chosen ones than by themselves, the cheapest in hours first: places in winter->jobs, and how many. */
size_t ch_show_nearly_free(const ch_winter *winter, size_t view[CH_SHOW_NEARLY_FREE_MAX]);

/** One of them as a sentence. */
void ch_show_nearly_free_says(const ch_plan *plan, const ch_job_view *view, char sentence[CH_SHOW_SENTENCE]);

/** What more money (`which` 0) or hours (1) would buy. Returns false where the plan does not limit them. */
bool ch_show_winter_buys(const ch_plan *plan, const ch_winter *winter, int which, char list[CH_SHOW_LIST]);

/** A job to give up, what that frees and loses. */
void ch_show_winter_drop(const ch_plan *plan, const ch_winter_drop *drop, char sentence[CH_SHOW_SENTENCE]);

/**
 * The calendar drawn, a row a week: how full each day is, the nights on which the car stands apart, the day to be ready for (dotted). The first
 * 53 weeks that have days, up to the last work; for a plan with days.
 *
 * @param plan   The one that was answered, with days.
 * @param winter From ch_winter_answer().
 * @param svg    (out) As ch_show_engine_svg().
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_calendar_svg(const ch_plan *plan, const ch_winter *winter, ch_svg *svg, ch_err *err);

/**
 * Write the answer up as a document to be printed and ticked off: what it comes to, the calendar with a box for each piece of work, what to order,
 * why each job is in or out.
 *
 * @param plan     The one that was answered.
 * @param winter   From ch_winter_answer().
 * @param known    Names what an access step or a job takes, by the names of the items; NULL = not known.
 * @param document (out) The caller frees it with ch_document_free(); untouched on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_report_winter(const ch_plan *plan, const ch_winter *winter, const ch_jobs *known, ch_document **document,
                           ch_err *err);

/** Append the answer for a terminal: what is worth doing and why, on which days, the chance, what to give up first. */
void ch_show_winter_text(const ch_plan *plan, const ch_winter *winter, const ch_show_style *style, ch_text *text);

/**
 * Append the answer as JSON (RFC 8259). crosshatch-winter(1) lists the names.
 *
 * @param plan   The one that was answered.
 * @param winter From ch_winter_answer().
 * @param text   (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_winter_json(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err);

/** Append the calendar as a table (RFC 4180): date, item, kind, hours, title. */
void ch_show_winter_csv(const ch_plan *plan, const ch_winter *winter, ch_text *text);

/**
 * Append the shopping list as a table (RFC 4180): what the chosen jobs and access steps take, by the day on which it has to be ordered, what was paid so far (for
 * what is not chosen too), and the sums.
 */
void ch_show_winter_shopping(const ch_plan *plan, const ch_winter *winter, ch_text *text);

/**
 * Append the calendar as iCalendar (RFC 5545): an all-day event for each day of work. Its identifiers follow from the day and the plan's `id`, or its title
 * where it has none: a calendar that reads the plan again, edited or not, changes its events and does not double them, and leaves those of another plan.
 *
 * @param plan   The one that was answered.
 * @param winter From ch_winter_answer().
 * @param text   (out) Appended to, lines end in CR LF; may hold a part of the calendar on failure.
 * @retval CH_E_MEMORY
 */
ch_status ch_show_winter_ics(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err);

#endif

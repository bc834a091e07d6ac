/**
 * @file show_winter.h
 * A winter plan's answer for a terminal, for programs, for calendars and for the shop. Nothing is computed but sums.
 */
#ifndef CROSSHATCH_SHOW_WINTER_H
#define CROSSHATCH_SHOW_WINTER_H

#include "crosshatch/show.h"
#include "crosshatch/show_words.h"
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

/** Append the answer for a terminal: what is worth doing and why, on which days, the chance, what to give up first. */
void ch_show_winter_text(const ch_plan *plan, const ch_winter *winter, const ch_show_style *style, ch_text *text);

/**
 * Append the answer as JSON (RFC 8259). crosshatch-winter(1) lists the names.
 *
 * @retval CH_E_MEMORY
 * @retval CH_E_LIMIT
 */
ch_status ch_show_winter_json(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err);

/** Append the calendar as a table (RFC 4180): date, item, kind, hours, title. */
void ch_show_winter_csv(const ch_plan *plan, const ch_winter *winter, ch_text *text);

/**
 * Append the shopping list as a table (RFC 4180): what the chosen jobs and access steps take, by the day on which it has to be ordered, and the sum.
 */
void ch_show_winter_shopping(const ch_plan *plan, const ch_winter *winter, ch_text *text);

/**
 * Append the calendar as iCalendar (RFC 5545): an all-day event for each day of work. The same plan gives the same identifiers, so that a
 * calendar that reads it again changes its events and does not double them.
 *
 * @retval CH_E_MEMORY
 */
ch_status ch_show_winter_ics(const ch_plan *plan, const ch_winter *winter, ch_text *text, ch_err *err);

#endif

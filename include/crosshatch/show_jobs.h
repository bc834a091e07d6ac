/**
 * @file show_jobs.h
 * A job's sheet and a shopping list as text. Nothing is computed here that the structs do not hold; only units and layout change.
 */
#ifndef CROSSHATCH_SHOW_JOBS_H
#define CROSSHATCH_SHOW_JOBS_H

#include "crosshatch/document.h"
#include "crosshatch/job_sheet.h"
#include "crosshatch/show.h"
#include "crosshatch/show_words.h"

/* What every face says of a job in the same words. */

/** How long it takes: opening, the job, closing. */
void ch_show_job_times(const ch_job_sheet *sheet, char sentence[CH_SHOW_SENTENCE]);

/** What has to be ordered or booked ahead; "" where nothing has. */
void ch_show_job_lead(const ch_job *job, char sentence[CH_SHOW_SENTENCE]);

/** The title of the access step or job that steps belong to, with the part: "Open: Wheels off". */
void ch_show_job_part(const ch_job_sheet_step *step, char sentence[CH_SHOW_SENTENCE]);

/** A torque with the owner's figure, or a line to write it on. */
void ch_show_job_torque(const ch_job_sheet_torque *torque, char sentence[CH_SHOW_SENTENCE]);

/** How the owner's figure compares with what thread and strength class suggest; "" where there is no estimate. Show the estimate's caution with it. */
void ch_show_torque_check(const ch_job_sheet_torque *torque, char sentence[CH_SHOW_SENTENCE]);

/** A way to prove a job: "Compression test". Static storage; NULL outside the enum. */
const char *ch_show_retest(ch_retest_by by);

/** A kind of goods as a heading: "Seals and gaskets, used once". Static storage; NULL outside the enum. */
const char *ch_show_goods_kind(ch_goods_kind kind);

/** "390 (250 to 700)", without the currency. Returns `text`. */
const char *ch_show_price(const ch_price *price, char text[CH_SHOW_SENTENCE]);

/** How many of a thing: "2", "2, perhaps 1 more", "perhaps 1". Returns `text`. */
const char *ch_show_count(const ch_shopping_line *line, char text[CH_SHOW_SENTENCE]);

/**
 * Append the sheet of a job: hours, tools, what to buy, every step behind its cautions (gravest first, written out the first time), torques as
 * the owner's manual has them or a line to write them on, what goes back, and the re-test that closes the job.
 *
 * @param jobs, knowledge What the sheet was made from.
 * @param sheet           From ch_job_sheet_make().
 * @param style           `columns` and `colour` are looked at.
 * @param text            Failures stick to it: ch_text_check().
 */
void ch_show_job_sheet(const ch_jobs *jobs, const ch_knowledge *knowledge, const ch_job_sheet *sheet,
                       const ch_show_style *style, ch_text *text);

/** Append a shopping list by kind, with the sum of each kind and of all. */
void ch_show_shopping(const ch_jobs *jobs, const ch_shopping *shopping, const ch_show_style *style, ch_text *text);

/**
 * Write the sheet of a job up as a document, to be printed and ticked off: the same parts in the same order as the text, cautions written out at the
 * first step that they belong to and named in short at later ones.
 *
 * @param jobs      What the sheet was made from.
 * @param knowledge The one that `jobs` was parsed with: cautions are places in it.
 * @param sheet     From ch_job_sheet_make().
 * @param car       Its name; NULL = of no car.
 * @param document  (out) The caller frees it with ch_document_free(); untouched on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_report_job_sheet(const ch_jobs *jobs, const ch_knowledge *knowledge, const ch_job_sheet *sheet,
                              const char *car, ch_document **document, ch_err *err);

#endif

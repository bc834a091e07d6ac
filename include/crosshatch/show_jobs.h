/**
 * @file show_jobs.h
 * A job's sheet and a shopping list as text. Nothing is computed here that the structs do not hold; only units and layout change.
 */
#ifndef CROSSHATCH_SHOW_JOBS_H
#define CROSSHATCH_SHOW_JOBS_H

#include "crosshatch/job_sheet.h"
#include "crosshatch/show.h"

/**
 * Append the sheet of a job: hours, tools, what to buy, every step behind its cautions (gravest first, written out the first time), torques as
 * the owner's manual has them or a line to write them on, what goes back, and the re-test that closes the job.
 *
 * @param jobs, knowledge What the sheet was made from.
 * @param text            Failures stick to it: ch_text_check().
 */
void ch_show_job_sheet(const ch_jobs *jobs, const ch_knowledge *knowledge, const ch_job_sheet *sheet,
                       const ch_show_style *style, ch_text *text);

/** Append a shopping list by kind, with the sum of each kind and of all. */
void ch_show_shopping(const ch_jobs *jobs, const ch_shopping *shopping, const ch_show_style *style, ch_text *text);

#endif

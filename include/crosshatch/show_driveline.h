/**
 * @file show_driveline.h
 * A judged run as text for a terminal and as JSON for programs. Nothing is computed here but units.
 */
#ifndef CROSSHATCH_SHOW_DRIVELINE_H
#define CROSSHATCH_SHOW_DRIVELINE_H

#include "crosshatch/driveline.h"
#include "crosshatch/show.h"
#include "crosshatch/svg.h"

enum { CH_SHOW_RUN_SENTENCE = 256 };

/** A judged run and all that it came from. Borrowed. */
typedef struct ch_show_run {
    const ch_driveline *driveline;
    const ch_drivelog_report *report;
    const ch_car *car; /**< NULL: none */
    const ch_knowledge *knowledge;
    const ch_clutch_knowledge *clutch;
    const ch_driveline_seen *seen;
    size_t seen_n;
} ch_show_run;

/** Append the run: verdict, gears, slips, capacity, causes, what to check next behind its cautions, and what limits the answer. */
void ch_show_driveline_text(const ch_show_run *run, const ch_show_style *style, ch_text *text);

/**
 * Append the run as JSON (RFC 8259); crosshatch-driveline(1) lists the names.
 *
 * @param run  All of it but `car` not NULL; `seen` may be where `seen_n` is 0.
 * @param text (out) Appended to; may hold a part of the answer on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_driveline_json(const ch_show_run *run, ch_text *text, ch_err *err);

/** The run in a sentence or two: slips found, in how much pulling, and the chance that it is the clutch where causes were weighed; or none, or why neither can be said. */
void ch_show_driveline_verdict(const ch_driveline *driveline, char sentence[CH_SHOW_RUN_SENTENCE]);

/**
 * Engine speed over road speed: the gears' lines, dashed and numbered; the run's points; rings where it slips.
 *
 * @param driveline From ch_driveline_finish().
 * @param point     `points` of them, of ch_driveline_picture().
 * @param points    Of `point`.
 * @param svg       (out) Open and closed by the call; ch_svg_clear() it, also on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_gears_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, ch_svg *svg,
                            ch_err *err);

/**
 * Engine and road speed over time, slips hatched. As above.
 *
 * @param driveline From ch_driveline_finish().
 * @param point     `points` of them, of ch_driveline_picture().
 * @param points    Of `point`; 0 draws the axes.
 * @param svg       (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_run_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, ch_svg *svg,
                          ch_err *err);

/**
 * One slip, by its place in driveline->slip, from near: the engine's speed, and what its gear gives. As above.
 *
 * @param driveline From ch_driveline_finish().
 * @param point     `points` of them, of ch_driveline_picture().
 * @param points    Of `point`.
 * @param slip      Below driveline->slips; not checked.
 * @param svg       (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_slip_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, size_t slip,
                           ch_svg *svg, ch_err *err);

/** How many slips have a torque and a temperature. */
size_t ch_show_capacity_known(const ch_driveline *driveline);

/**
 * Torque held at each slip over the plate's temperature, where ch_show_capacity_known() is not 0. As above.
 *
 * @param driveline From ch_driveline_finish().
 * @param svg       (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_capacity_svg(const ch_driveline *driveline, ch_svg *svg, ch_err *err);

/**
 * That the chances of the causes are those from before the run, but for what else was seen, where it leaves open whether the clutch slips: where the engine ran ahead and the log does not
 * tell why. NULL where it tells, or has no gears. Static storage.
 */
const char *ch_show_driveline_slip_untold(const ch_driveline *driveline);

/** What a limit means to the reader, NULL for no single bit of ch_driveline_limit. Static storage. */
const char *ch_show_driveline_limit(unsigned limit);

#endif

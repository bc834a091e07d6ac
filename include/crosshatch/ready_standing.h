/**
 * @file ready_standing.h
 * Which fault of an engine still stands: one that a sheet found stands until a later test of that cylinder that could have seen it shows none, or a
 * repair. docs/ready.md, "The engine".
 */
#ifndef CROSSHATCH_READY_STANDING_H
#define CROSSHATCH_READY_STANDING_H

#include "crosshatch/history.h"
#include "crosshatch/ready.h"

/**
 * What the sheets of one engine say: the newest, and the fault that still stands.
 *
 * A sheet whose verdict is fault blames each cylinder at which something broken or a liquid was seen (every one alike, where that was seen at the engine as a whole), and each in which something is wrong with a chance of CH_READY_FAULT_1 or more; where there is none such, the one that read lowest
 * (the rule of balance, or the manual's minimum), and where it is the coolant that gave the verdict, or nothing was read, every cylinder alike. A fault of a cylinder that did not
 * read below CH_HISTORY_WATCH_1 of the sheet's highest, and was leak-tested or leaks into the coolant most likely, is one that compression does not show: a leak-down sees it. Any other
 * is seen by a compression test, and by a leak-down unless valve timing is the likeliest cause, which leaks nothing with the piston at the top. A later test clears it where its
 * sheet can be read and traced, and the chance that something is wrong with the cylinder, and that the test misled, are below CH_READY_FAULT_1 each.
 *
 * @param sheet   `sheets` of them, of one engine, in any order.
 * @param sheets  0 = nothing is known. Those without a day, and those of a day after today, clear nothing, but a fault of theirs stands.
 * @param repair  `repairs` of them: one on a later day than the fault's sheet, but not after today, of the whole engine or of the cylinder, clears it.
 * @param repairs In any order.
 * @param today   What lies after it has not happened.
 * @param engine  (in, out) Its forecast, over_fault_1, is left as it is.
 * Source: judgment. Test: tests/unit/test_ready_standing.c.
 */
void ch_ready_standing(const ch_history_sheet sheet[], size_t sheets, const ch_history_repair repair[], size_t repairs,
                       ch_date today, ch_ready_engine *engine);

#endif

/* How long checking takes until the true cause has 90 %: as recommended, and in a fixed order. */
#ifndef CROSSHATCH_STUDY_RACE_H
#define CROSSHATCH_STUDY_RACE_H

#include "study_result.h"

/**
 * Run both races on one engine with a faulty cylinder, from its dry readings on.
 *
 * @param result (in, out) minutes and reached are set; raced where there was something to find.
 */
ch_status race_run(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_sheet *dry, uint64_t seed,
                   uint64_t index, engine_result *result, ch_err *err);

#endif

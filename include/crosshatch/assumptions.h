/**
 * @file assumptions.h
 * What the choices cost and what may come of them: figures with ranges, each with its source, the owner's to change.
 *
 * They stand in knowledge/decision.yaml; this reads its text and checks it. Nothing is opened here.
 */
#ifndef CROSSHATCH_ASSUMPTIONS_H
#define CROSSHATCH_ASSUMPTIONS_H

#include "crosshatch/knowledge.h"

/** In the order of knowledge/decision.yaml. Hours are the owner's, in h as people count them; chances 0..1. */
typedef enum ch_assumption_id {
    CH_ASSUME_EVENT_VALUE,
    CH_ASSUME_TOW_HOME,
    CH_ASSUME_HOUR_VALUE,
    CH_ASSUME_TEST_HOURS,
    CH_ASSUME_REPAIR_MONEY,
    CH_ASSUME_REPAIR_HOURS,
    CH_ASSUME_REBUILD_MONEY,
    CH_ASSUME_REBUILD_HOURS,
    CH_ASSUME_REPLACE_MONEY,
    CH_ASSUME_REPLACE_HOURS,
    CH_ASSUME_RUIN_MONEY,
    CH_ASSUME_LOST_EVENTS,
    CH_ASSUME_REPAIR_CURES,
    CH_ASSUME_REBUILD_EARLY,
    CH_ASSUME_DONOR_BAD,
    CH_ASSUME_BREAK_SOUND,
    CH_ASSUME_BREAK_OVER,
    CH_ASSUME_NEW_FAULT,
    CH_ASSUME_RUIN_SHARE,
    CH_ASSUME_PACE_LOST,
    CH_ASSUME_TEST_FINDS,
    CH_ASSUME_COUNT
} ch_assumption_id;

/** "event_value", ...; static, NULL outside the enum. */
const char *ch_assumption_name(ch_assumption_id id);

typedef enum ch_assumption_unit {
    CH_ASSUMED_MONEY,
    CH_ASSUMED_HOURS,
    CH_ASSUMED_COUNT,
    CH_ASSUMED_CHANCE
} ch_assumption_unit;

typedef struct ch_assumption {
    ch_assumption_unit unit;
    double low, usual, high; /**< low <= usual <= high, >= 0; chances <= 1 */
    const char *title, *source;
} ch_assumption;

typedef struct ch_assumptions {
    ch_assumption of[CH_ASSUME_COUNT];
    const char *currency;
    const char *const *opens_engine; /**< ids of jobs (jobs.yaml) and of kinds of parts (part_lives.yaml) */
    size_t opens_engine_count;
    struct ch_knowledge_piece *pieces; /**< what is to be freed */
} ch_assumptions;

/**
 * Read the text and check it.
 *
 * @param assumptions (out) ch_assumptions_clear() it; untouched on failure. Its texts live until then.
 * @param text        Borrowed during the call; its `name` stands in messages.
 * @retval CH_E_INPUT  With file, line and column: a figure missing, twice, out of its range, of another unit, or out of order low, usual, high.
 * @retval CH_E_LIMIT, CH_E_MEMORY
 */
ch_status ch_assumptions_parse(ch_assumptions *assumptions, const ch_knowledge_text *text, ch_err *err);

/** Fine on zeros. */
void ch_assumptions_clear(ch_assumptions *assumptions);

/** The text of knowledge/decision.yaml when the program was built. Static storage. */
const ch_knowledge_text *ch_assumptions_builtin(void);

/**
 * True where a job that was done, or a part that was fitted, means that the inside of the engine was open.
 *
 * @param assumptions From ch_assumptions_parse().
 * @param id          Of the job or of the kind of part; NULL = no kind is known, and a name says nothing of it.
 */
bool ch_assumptions_opens_engine(const ch_assumptions *assumptions, const char *id);

#endif

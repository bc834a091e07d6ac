/**
 * @file part_lives.h
 * How long parts and fluids last in a car that is driven on track.
 *
 * The figures stand in knowledge/part_lives.yaml (docs/knowledge.md); this reads its text, checks every rule of that page and turns every limit
 * into SI. All pointers of a ch_part_lives live until it is cleared.
 */
#ifndef CROSSHATCH_PART_LIVES_H
#define CROSSHATCH_PART_LIVES_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/jobs.h"

/** What a life is counted in. The unit of ch_life_limit.limit_si stands behind each. */
typedef enum ch_life_by {
    CH_LIFE_HOURS,           /* engine running on track; s */
    CH_LIFE_SESSIONS,        /* 1 */
    CH_LIFE_HEAT_CYCLES,     /* cold, hot, cold; 1 */
    CH_LIFE_DISTANCE,        /* m */
    CH_LIFE_AGE_FITTED,      /* since it was fitted or filled in; calendar months */
    CH_LIFE_AGE_MADE,        /* since the date of manufacture; calendar months */
    CH_LIFE_PRINTED_DATE,    /* until the date on its label; no limit of ours */
    CH_LIFE_PART_LEFT,       /* of the thickness when new; 1; due at the limit or below */
    CH_LIFE_DEPTH,           /* of the tread; m; due at the limit or below */
    CH_LIFE_PRINTED_MINIMUM, /* least thickness printed on it; no limit of ours */
    CH_LIFE_BY_COUNT
} ch_life_by;

/** Due at `limit_si`, soon due from `soon_si` on. Both NaN where the part itself carries its limit. */
typedef struct ch_life_limit {
    ch_life_by by;
    double limit_si, soon_si;
    const char *source;
} ch_life_limit;

typedef struct ch_part_life {
    const char *id, *title, *why, *source;
    bool drives[CH_DRIVES];      /* for which cars it holds */
    const ch_life_limit *limits; /* whichever comes first; at least one, each way of counting once */
    size_t limits_count;
    ch_places jobs; /* that renew it, in ch_jobs.jobs; may be empty */
} ch_part_life;

typedef struct ch_part_lives {
    const char *source;
    const ch_part_life *parts;
    size_t count;
    ch_knowledge_names names;
    struct ch_knowledge_piece *pieces; /* what is to be freed */
} ch_part_lives;

/**
 * Read the text of part_lives.yaml.
 *
 * @param lives (out) Overwritten, not cleared first; untouched on failure. The caller clears it with ch_part_lives_clear().
 * @param jobs  ch_places of jobs refer to it. Needed only during the call.
 * @param text  Borrowed during the call; its `name` stands in messages.
 *
 * @retval CH_E_INPUT  A rule of docs/knowledge.md is broken; with file, line and column.
 * @retval CH_E_LIMIT  Larger than the limits of tree.h.
 * @retval CH_E_MEMORY
 */
ch_status ch_part_lives_parse(ch_part_lives *lives, const ch_jobs *jobs, const ch_knowledge_text *text, ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros and on a cleared one. */
void ch_part_lives_clear(ch_part_lives *lives);

/** The text that was in knowledge/ when the program was built. Static storage. */
const ch_knowledge_text *ch_part_lives_builtin(void);

/** The part of an id; NULL where there is none. `length` bytes. */
const ch_part_life *ch_part_life_find(const ch_part_lives *lives, const char *id, size_t length);

/** "hours", "sessions", ... Static storage; NULL outside the enum. */
const char *ch_life_by_name(ch_life_by by);

/** True where a part is due at its limit or below it, not above. */
bool ch_life_falls(ch_life_by by);

#endif

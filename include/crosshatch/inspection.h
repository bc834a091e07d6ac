/**
 * @file inspection.h
 * What is looked at before a car goes on track, and when: a list to remember by. Done, it says that these things were looked at, never that a
 * car is safe.
 *
 * The list stands in knowledge/inspection.yaml (docs/knowledge.md); this reads its text and checks every rule of that page. All pointers of a
 * ch_inspection live until it is cleared.
 */
#ifndef CROSSHATCH_INSPECTION_H
#define CROSSHATCH_INSPECTION_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/part_lives.h"

/** When an item is looked at. A set. */
typedef enum ch_inspection_when {
    CH_INSPECT_HOME = 1,          /* at home, before each event */
    CH_INSPECT_EVENT = 2,         /* on arrival at the event */
    CH_INSPECT_FIRST_SESSION = 4, /* after the first session */
    CH_INSPECT_SESSION = 8        /* before and after each session */
} ch_inspection_when;

typedef struct ch_inspection_area {
    const char *id, *title;
} ch_inspection_area;

typedef struct ch_inspection_item {
    const char *id, *title;
    const char *look;         /* what to look at */
    const char *limit;        /* what is still right; NULL where looking is all */
    const char *limit_source; /* NULL without a limit */
    const char *source;
    size_t area; /* place in ch_inspection.areas */
    const char *const *tools;
    size_t tools_count;
    unsigned when;      /* ch_inspection_when bits, at least one */
    bool stops;         /* not right: the car does not go out */
    ch_places cautions; /* in ch_knowledge.cautions, gravest first; to be shown before it */
    const char *part;   /* id of the part whose life it belongs to (part_lives.h); NULL = none */
} ch_inspection_item;

typedef struct ch_inspection {
    const char *source;
    const ch_inspection_area *areas;
    size_t areas_count;
    const ch_inspection_item *items; /* in the order of the file */
    size_t count;
    ch_knowledge_names names;
    struct ch_knowledge_piece *pieces; /* what is to be freed */
} ch_inspection;

/**
 * Read the text of inspection.yaml.
 *
 * @param inspection (out) Overwritten, not cleared first; untouched on failure. The caller clears it with ch_inspection_clear().
 * @param knowledge  ch_places of cautions refer to it. Needed only during the call.
 * @param lives      Parts that items may name. Needed only during the call.
 * @param text       Borrowed during the call; its `name` stands in messages.
 *
 * @retval CH_E_INPUT  A rule of docs/knowledge.md is broken; with file, line and column.
 * @retval CH_E_LIMIT  Larger than the limits of tree.h.
 * @retval CH_E_MEMORY
 */
ch_status ch_inspection_parse(ch_inspection *inspection, const ch_knowledge *knowledge, const ch_part_lives *lives,
                              const ch_knowledge_text *text, ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros and on a cleared one. */
void ch_inspection_clear(ch_inspection *inspection);

/** The text that was in knowledge/ when the program was built. Static storage. */
const ch_knowledge_text *ch_inspection_builtin(void);

/** The item of an id; NULL where there is none. `length` bytes. */
const ch_inspection_item *ch_inspection_find(const ch_inspection *inspection, const char *id, size_t length);

/** "home", "event", "first_session", "session" for one bit. Static storage; NULL for anything else. */
const char *ch_inspection_when_name(unsigned when);

#endif

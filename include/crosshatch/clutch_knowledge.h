/**
 * @file clutch_knowledge.h
 * What a mechanic knows of clutches that slip: causes, what a logged run and a look at the car show of them, and checks. From knowledge/driveline.yaml;
 * docs/driveline.md explains its keys.
 */
#ifndef CROSSHATCH_CLUTCH_KNOWLEDGE_H
#define CROSSHATCH_CLUTCH_KNOWLEDGE_H

#include <stddef.h>

#include "crosshatch/knowledge.h"

/** What can be wrong with a clutch that seems to slip. */
typedef enum ch_clutch_cause {
    CH_CLUTCH_SOUND,
    CH_CLUTCH_WORN,
    CH_CLUTCH_GLAZED,
    CH_CLUTCH_OIL_CONTAMINATED,
    CH_CLUTCH_PRESSURE_PLATE,
    CH_CLUTCH_HYDRAULIC_OR_CABLE,
    CH_CLUTCH_FLYWHEEL,
    CH_CLUTCH_NOT_THE_CLUTCH,
    CH_CLUTCH_CAUSES
} ch_clutch_cause;

/** What the log may show, in the order of the file. */
typedef enum ch_clutch_pattern {
    CH_PATTERN_SLIPS,
    CH_PATTERN_SOMETHING_ELSE,
    CH_PATTERN_FIRST_PULL,
    CH_PATTERN_GROWS_WITH_HEAT,
    CH_PATTERN_RECOVERS,
    CH_PATTERN_HIGH_GEARS,
    CH_PATTERN_FAR_BELOW_DESIGN,
    CH_CLUTCH_PATTERNS
} ch_clutch_pattern;

/** One cause. Texts live as long as the knowledge. */
typedef struct ch_clutch_cause_known {
    const char *id, *title, *says, *before, *after, *source;
    double prior_1;
    ch_places cautions; /**< in ch_knowledge.cautions, gravest first */
} ch_clutch_cause_known;

/** Something that is seen or not, and how often each cause shows it. */
typedef struct ch_clutch_sign {
    const char *id, *title, *source;
    double positive_1[CH_CLUTCH_CAUSES]; /**< strictly between 0 and 1 */
} ch_clutch_sign;

typedef struct ch_clutch_check {
    const char *id, *title, *says, *source;
    double seconds;
    ch_places yields;   /**< in ch_clutch_knowledge.signs */
    ch_places cautions; /**< in ch_knowledge.cautions, gravest first */
} ch_clutch_check;

typedef struct ch_clutch_knowledge {
    ch_clutch_cause_known cause[CH_CLUTCH_CAUSES];
    ch_clutch_sign pattern[CH_CLUTCH_PATTERNS];
    const ch_clutch_sign *signs;
    size_t signs_n;
    const ch_clutch_check *checks;
    size_t checks_n;
    ch_knowledge_names sign_names;
    struct ch_knowledge_piece *pieces; /**< what is to be freed */
} ch_clutch_knowledge;

/** "sound", "worn", ... as files and JSON have it. Static storage; NULL outside the enum. */
const char *ch_clutch_cause_id(ch_clutch_cause cause);

/**
 * Read the text.
 *
 * @param to        (out) Overwritten, not cleared first; untouched on failure. To be cleared with ch_clutch_knowledge_clear().
 * @param knowledge Its cautions are referred to; must live as long.
 * @param text      Borrowed during the call; its `name` stands in messages.
 * @retval CH_E_INPUT With file, line and column: a rule of docs/driveline.md is broken.
 * @retval CH_E_LIMIT, CH_E_MEMORY
 */
ch_status ch_clutch_knowledge_parse(ch_clutch_knowledge *to, const ch_knowledge *knowledge,
                                    const ch_knowledge_text *text, ch_err *err);

/** Give the memory back and leave all zero. */
void ch_clutch_knowledge_clear(ch_clutch_knowledge *knowledge);

/** The text that was in knowledge/driveline.yaml when the program was built. */
const ch_knowledge_text *ch_clutch_builtin(void);

/** Place of a sign by its id, or SIZE_MAX. */
size_t ch_clutch_sign_find(const ch_clutch_knowledge *knowledge, const char *id, size_t length);

/** The id that a mistyped one was probably meant to be, or NULL. */
const char *ch_clutch_sign_nearest(const ch_clutch_knowledge *knowledge, const char *id, size_t length);

#endif

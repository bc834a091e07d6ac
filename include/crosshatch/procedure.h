/**
 * @file procedure.h
 * What a person does at the car, step by step: opening up, measuring, closing up; and what goes into the put-back ledger on the way.
 *
 * The procedures stand in YAML, one a file (docs/procedures.md); this reads their text, checks every rule of that page and holds
 * them against the cautions. Nothing is opened here: the texts come from the caller, or from those built into the program
 * (ch_procedures_builtin()). All pointers of a ch_procedures live until it is cleared.
 */
#ifndef CROSSHATCH_PROCEDURE_H
#define CROSSHATCH_PROCEDURE_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/knowledge.h"
#include "crosshatch/text.h"

enum { CH_PROCEDURES_MAX = 64, CH_PROCEDURE_THINGS_MAX = 256 };

/** What a procedure is for; in a garage they follow each other in this order. */
typedef enum ch_procedure_role { CH_PROCEDURE_OPEN, CH_PROCEDURE_MEASURE, CH_PROCEDURE_CLOSE } ch_procedure_role;

typedef enum ch_step_kind {
    CH_STEP_CHECK,   /* look, or make sure; nothing is left changed that has to be put back */
    CH_STEP_REMOVE,  /* take off: takes_off is given */
    CH_STEP_DISABLE, /* put out of its usual state (fuse pulled, throttle propped, charger on): takes_off is given */
    CH_STEP_MEASURE, /* gives rows of the sheet where `rows` is not 0, else something of the sheet's head */
    CH_STEP_REFIT,   /* put back: puts_back is given */
    CH_STEP_NOTE     /* something to know, nothing to do */
} ch_step_kind;

typedef enum ch_step_scope {
    CH_STEP_ONCE,
    CH_STEP_EACH_CYLINDER /* neighbouring steps of this scope are one round: all of them for a cylinder, then the next cylinder */
} ch_step_scope;

/**
 * A thing taken off or disabled: an entry of the put-back ledger, one for each cylinder where its step is. `what` and `from` are
 * templates for ch_procedure_fill(). Each thing is taken off by one step and put back by one step.
 */
typedef struct ch_procedure_thing {
    const char *id;   /* unique among all procedures: "coil" */
    const char *what; /* "coil {cylinder}" */
    const char *from; /* where it belongs, to be corrected by the person: "cylinder {cylinder}" */
    bool ask_which;   /* the person must say which one it is: the slot of a fuse, what props the throttle */
    bool ask_where;   /* the person must say where it now lies */
    const char *
        torque; /* what to look up in the car's own manual for putting it back; never a figure; NULL = nothing to tighten */
    ch_places
        before_cranking; /* cautions before every step that cranks while it is not put back, gravest first; none = it may stay */
    ch_step_scope scope;
    size_t taken_procedure, taken_step; /* places in ch_procedures.procedures and in its steps */
    size_t back_procedure, back_step;   /* later in the order of work */
} ch_procedure_thing;

enum { CH_NO_THING = -1 };

/** Texts are templates for ch_procedure_fill() where the scope is CH_STEP_EACH_CYLINDER. */
typedef struct ch_procedure_step {
    const char *id;      /* unique in its procedure */
    const char *text;    /* what to do */
    const char *why;     /* what for */
    const char *done;    /* what shows that it is done */
    const char *applies; /* to which cars or situations; else it is passed over. NULL = to all */
    const char *source;  /* "common practice" where the file names none */
    ch_step_kind kind;
    ch_step_scope scope;
    ch_places cautions; /* in ch_knowledge.cautions, gravest first; to be shown before the step */
    ch_places
        before_cranking; /* cautions before every step that cranks where this one was left out; none = it may be left out */
    unsigned rows;       /* ch_rows bits; only with CH_STEP_MEASURE */
    double crank_least_s, crank_most_s; /* how long the starter turns the engine; both 0 where it does not */
    bool air;                           /* compressed air is let into a cylinder */
    bool
        all_at_once; /* at a cylinder its order among the other steps does not matter: may be done at all cylinders first */
    long takes_off, puts_back; /* places in ch_procedures.things, or CH_NO_THING */
    long
        ahead_of; /* a thing that this check stands before, also where it is put back without the procedure's page: a place in ch_procedures.things, or CH_NO_THING */
} ch_procedure_step;

typedef struct ch_procedure {
    const char *id, *title, *why, *source;
    ch_procedure_role role;
    const char *const *needs; /* tools, in plain words */
    size_t needs_count;
    double setup_s, each_s; /* hands-on time: setup + n * each for n cylinders */
    ch_places after; /* procedures that come first where they are done at all; places in ch_procedures.procedures */
    const ch_procedure_step *steps;
    size_t steps_count;
} ch_procedure;

typedef struct ch_procedures {
    const ch_procedure *procedures; /* in the order of work: open, measure, close, and within that as `after` says */
    size_t count;
    const ch_procedure_thing *things; /* in the order in which they are taken off */
    size_t things_count;
    struct ch_knowledge_piece *pieces; /* what is to be freed */
} ch_procedures;

/**
 * Read the texts, one procedure each, and check them against each other and against the cautions of `knowledge`.
 *
 * Beside the form of the files, these are held: every caution is one of `knowledge`; every thing taken off is put back later, for
 * the same scope, in its own procedure or in one that closes up, and nothing else is; a step that cranks has the cautions
 * `cranking_spray` and `ignition_voltage`, and one that lets air in has `air_turns_crank`, on it or on a step before it in its
 * procedure; no torque is a figure; what may be done at all cylinders at once is no part of a round that measures, cranks or lets
 * air in, and puts nothing back.
 *
 * @param procedures (out) Overwritten, not cleared first; untouched on failure. The caller clears it with ch_procedures_clear().
 * @param knowledge  ch_places of cautions refer to it. Needed only during the call.
 * @param texts      `count` of them, in any order; needed only during the call.
 * @param count      Of `texts`.
 *
 * @retval CH_E_INPUT  A rule of docs/procedures.md is broken; with file, line and column.
 * @retval CH_E_LIMIT  Larger than the limits of tree.h, or more than CH_PROCEDURES_MAX texts or CH_PROCEDURE_THINGS_MAX things.
 * @retval CH_E_MEMORY
 */
ch_status ch_procedures_parse(ch_procedures *procedures, const ch_knowledge *knowledge, const ch_knowledge_text texts[],
                              size_t count, ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros and on a cleared one. */
void ch_procedures_clear(ch_procedures *procedures);

/** The procedure of an id; NULL where there is none. `length` bytes. */
const ch_procedure *ch_procedure_find(const ch_procedures *procedures, const char *id, size_t length);

/** The step of an id; NULL where there is none. `length` bytes. */
const ch_procedure_step *ch_procedure_step_find(const ch_procedure *procedure, const char *id, size_t length);

/**
 * Append a text of a step or a thing with `{cylinder}` replaced by the number.
 *
 * @param template_text UTF-8 with a NUL at its end; where it has no `{cylinder}` it is appended as it is.
 * @param cylinder      As people count, from 1.
 * @param to            Failures stick to it: ch_text_check().
 */
void ch_procedure_fill(const char *template_text, int cylinder, ch_text *to);

/** How something that stands in the put-back ledger goes back. */
typedef struct ch_put_back {
    const ch_procedure_thing *thing;
    const ch_procedure_step *step; /* that puts it back */
    int cylinder;                  /* of a thing that each cylinder has; else 0 */
    size_t order;                  /* the lower, the earlier it goes back; no two things have the same */
} ch_put_back;

/**
 * Find the thing of a name as the ledger has it: "coil 3", "fuel pump fuse or relay".
 *
 * @param procedures From ch_procedures_parse().
 * @param name       `what` of a thing, filled in by ch_procedure_fill().
 * @param back       (out) Untouched where there is none.
 * @return False where no procedure takes off a thing of this name.
 */
bool ch_procedure_put_back(const ch_procedures *procedures, const char *name, ch_put_back *back);

/** "check", "remove", "disable", "measure", "refit", "note". Static storage; NULL outside the enum. */
const char *ch_step_kind_name(ch_step_kind kind);

/**
 * The texts that were in knowledge/procedures/ when the program was built. Static storage. A copy that does not load is a fault of
 * the build, and a test holds it to that.
 *
 * @param count (out) How many.
 */
const ch_knowledge_text *ch_procedures_builtin(size_t *count);

#endif

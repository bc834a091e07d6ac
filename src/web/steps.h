/*
 * A procedure at one car: its steps laid out cylinder by cylinder, and how far each is. What is done is kept as a setting a step, so that two
 * phones can mark steps at the same time; what was put back is told by the ledger, what was measured by the readings.
 */
#ifndef CROSSHATCH_WEB_STEPS_H
#define CROSSHATCH_WEB_STEPS_H

#include "piece.h"

typedef enum steps_state {
    STEPS_OPEN,
    STEPS_DONE,
    STEPS_PASSED, /* not for this car, or left out */
    STEPS_NOTHING /* nothing was taken off that this step would put back */
} steps_state;

/* One step, at one cylinder or once (0). */
typedef struct steps_place {
    const ch_procedure_step *step;
    int cylinder;
    steps_state state;
    const ch_store_ledger *entry; /* the open ledger entry that a refit step puts back; NULL = none */
} steps_place;

typedef struct steps_walk {
    steps_place *places; /* in the order of work */
    size_t count;
    size_t work;    /* how many there is something to do at: all but STEPS_NOTHING */
    size_t settled; /* how many of those are not open */
    size_t passed;  /* and how many of those were left out */
    const ch_store_ledger *ledger;
    size_t ledger_count;
} steps_walk;

/* Lay out a procedure of a sheet. Free with steps_walk_free (NULL is fine); ledger texts live in the request's pool. */
ch_status steps_walk_new(web_request *request, const web_know *know, const ch_store_sheet *sheet,
                         const ch_procedure *procedure, steps_walk **walk, ch_err *err);
void steps_walk_free(steps_walk *walk);

/* Keep what became of a step; STEPS_OPEN undoes. */
ch_status steps_mark(web_request *request, const ch_store_sheet *sheet, const ch_procedure *procedure,
                     const ch_procedure_step *step, int cylinder, steps_state state, ch_err *err);

/*
 * What must be put back before the starter turns, of this sheet or another of its car, and what must be done before it and was left out: its
 * cautions, and the button to it; first of all what was seen on the engine that forbids to crank or run it. Nothing where there is nothing of the kind. `within`: a procedure in which that may be; NULL = none.
 */
ch_status steps_before_cranking(html_writer *w, web_request *request, const web_know *know, const ch_store_sheet *sheet,
                                const ch_procedure *within, ch_err *err);

/* A check that stands before something in the ledger goes back (`ahead_of`), and is neither done nor left out. */
typedef struct steps_ahead {
    const ch_procedure *procedure;
    const ch_procedure_step *step; /* NULL = there is none */
    const ch_store_ledger *entry;  /* what it stands before */
} steps_ahead;

/* The first such check of the sheet that the first of `count` entries belongs to. `back`: for what is back again, else for what is off. */
ch_status steps_ahead_find(web_request *request, const web_know *know, const ch_store_ledger *const entries[],
                           size_t count, bool back, steps_ahead *ahead, ch_err *err);

/* The button to it, named `words` and the thing. */
void steps_ahead_link(html_writer *w, const steps_ahead *ahead, const char *words);

/* Its words behind its cautions, and the button to it. */
void steps_ahead_write(html_writer *w, const web_know *know, const steps_ahead *ahead);

/* How many things are off the car of a sheet, or were taken off for the sheet. */
ch_status steps_count_off(web_request *request, const ch_store_sheet *sheet, size_t *off, ch_err *err);

/* How the ledger calls a thing, into `name`. */
ch_status steps_thing_name(const ch_procedure_thing *thing, int cylinder, char *name, size_t size, ch_err *err);

#endif

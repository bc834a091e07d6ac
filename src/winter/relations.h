/*
 * Who implies whom, all the way down; who shuts out whom; and who need not be looked at before whom. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_RELATIONS_H
#define CROSSHATCH_WINTER_RELATIONS_H

#include "crosshatch/selection.h"

/* Lists one behind the other: those of item i lie from first[i] to first[i + 1]. */
typedef struct relation_lists {
    size_t *first, *item;
} relation_lists;

typedef struct relations {
    relation_lists needs; /* all that an item implies, itself left out */
    relation_lists users; /* all that imply it */
    relation_lists shuts; /* what it excludes directly, both ways */
    size_t *from, *to;    /* implications without those that follow from others */
    size_t arcs;
} relations;

/*
 * Beside the implications of the task those are added that lose nothing: an item that gains no more than another, takes no less and needs
 * all that the other needs is never chosen without it.
 * False where there is no memory.
 */
bool relations_init(relations *links, const ch_selection *task, const signed char fixed[]);

void relations_clear(relations *links);

#endif

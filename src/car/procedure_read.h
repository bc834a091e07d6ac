/*
 * What the readers of the procedures share. Private to car. The reader's habits are those of knowledge_read.h.
 */
#ifndef CROSSHATCH_CAR_PROCEDURE_READ_H
#define CROSSHATCH_CAR_PROCEDURE_READ_H

#include "crosshatch/procedure.h"
#include "knowledge_read.h"

/* A procedure as read, with the text it stands in. */
typedef struct procedure_entry {
    const char *file;
    const ch_tree_node *root;
    ch_procedure made;        /* what its own file says; not yet `after`, nor the things of its steps */
    ch_procedure_step *steps; /* those of `made`, to be completed */
} procedure_entry;

/* One file by itself. */
void procedure_read_file(knowledge_reader *r, const ch_knowledge_text *text, procedure_entry *entry);

/* Put the entries into the order of work and set `after`. */
void procedure_sort(knowledge_reader *r, procedure_entry *entries, size_t n);

/* Gather what is taken off, and hold it to be put back. The entries stand in the order of work. */
void procedure_read_things(knowledge_reader *r, procedure_entry *entries, size_t n, ch_procedures *to);

/* Hold every step that can hurt to its cautions. */
void procedure_check_cautions(knowledge_reader *r, const procedure_entry *entry);

/* A text of a step, in which {cylinder} may stand where the scope allows it. */
const char *procedure_text(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional,
                           ch_step_scope scope);

#endif

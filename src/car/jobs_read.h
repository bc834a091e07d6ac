/*
 * What the readers of parts.yaml, access.yaml and jobs.yaml share. Private to car. The reader's habits are those of
 * knowledge_read.h.
 */
#ifndef CROSSHATCH_CAR_JOBS_READ_H
#define CROSSHATCH_CAR_JOBS_READ_H

#include "crosshatch/jobs.h"
#include "knowledge_read.h"

/* Names met so far of things taken off, or of torques: each stands once among all access steps and jobs. */
typedef struct jobs_ids {
    knowledge_named *named;
    size_t count;
} jobs_ids;

typedef struct jobs_reader {
    knowledge_reader r; /* `to` is the knowledge, to look cautions up in, and to own what is read */
    ch_jobs *to;
    const ch_tree_node *root[CH_JOBS_FILES];
    const char *file[CH_JOBS_FILES];
} jobs_reader;

/* One file a function, in this order. */
void jobs_read_goods(jobs_reader *jr);
void jobs_read_access(jobs_reader *jr);
void jobs_read_jobs(jobs_reader *jr);

/* What access steps and jobs have in common; not `needs`. */
void jobs_read_work(jobs_reader *jr, const ch_tree_node *map, ch_jobs_work *to);

/* A list of steps, at least one. */
void jobs_read_steps(jobs_reader *jr, const ch_tree_node *map, const char *key, const ch_work_step **steps,
                     size_t *count);

/* A text that sheets and pages print whole, at most this many bytes. */
const char *jobs_read_short(knowledge_reader *r, const ch_tree_node *part, size_t most);

/* The first words of a step or a re-test: `was`, or, where they were never corrected, those that it has, `text`. */
const char *jobs_read_was(knowledge_reader *r, const ch_tree_node *map, const char *text);

/* Refuse first words that stand twice in a list. first: [list->count]. */
void jobs_first_texts(knowledge_reader *r, const ch_tree_node *list, const char *const *first);

/* [least, likely, most] hours as seconds. */
void jobs_read_time(jobs_reader *jr, const ch_tree_node *map, const char *key, ch_work_time *to);

/* Three numbers that do not fall, 0 or more; 0 where the reader has failed. */
void jobs_read_three(knowledge_reader *r, const ch_tree_node *list, double three[3]);

/* `needs`, `needs_rear`, `needs_front`, `within`; access_names and the drives of all access steps are known by now. */
void jobs_read_needs(jobs_reader *jr, const ch_tree_node *map, ch_jobs_work *to);

/* All cautions of some steps, each once, the gravest first. */
void jobs_gather_cautions(jobs_reader *jr, ch_jobs_work *to, const ch_work_step *more, size_t more_count);

/* Hold that no access step needs itself and no job waits for itself. */
void jobs_check_cycles(jobs_reader *jr);

/* Hold things taken off and torques to ids of their own. */
void jobs_check_ids(jobs_reader *jr);

/* Hold the cures that causes.yaml names to be a job or a check. */
void jobs_check_cures(jobs_reader *jr);

#endif

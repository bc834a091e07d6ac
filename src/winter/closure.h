/*
 * Heaviest closed set of a graph: a set that holds with every item all that it implies. Private to winter.
 */
#ifndef CROSSHATCH_WINTER_CLOSURE_H
#define CROSSHATCH_WINTER_CLOSURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* One graph, solved again and again with other weights. All arrays are owned. */
typedef struct closure {
    size_t count;              /* items; the source is node `count`, the sink the one behind it */
    size_t ends;               /* ends of arcs: each arc has one at either node, `twin` is the other */
    size_t *first, *to, *twin; /* those of a node lie from first[node] to first[node + 1] */
    int64_t *room, *left;      /* what can go from this end to the other: at first, and still */
    int *level;
    size_t *queue, *next;
} closure;

/* Arcs from -> to of implications. False where there is no memory. */
bool closure_init(closure *graph, size_t count, const size_t from[], const size_t to[], size_t arcs);

void closure_clear(closure *graph);

/*
 * Heaviest closed set among the items that are free (fixed < 0); fixed items are not in the graph, so that their fixing must already hold
 * what it implies. Of equally heavy sets the smallest.
 *
 * weight: their sizes add up to less than 2^61.
 * in (out): 1 for the chosen free items, 0 for the others; fixed items are left alone.
 * slack (out): for a free item how much weight, at least, is lost by having it the other way round. What is lost by having several items
 * the other way round is at least the sum of theirs.
 * Returns the weight.
 */
int64_t closure_solve(closure *graph, const int64_t weight[], const signed char fixed[], signed char in[],
                      int64_t slack[]);

#endif

/*
 * One search for the best choice: what its parts share. Private to winter; selection.h says what is searched for and how.
 *
 *  1. Every bound is one of whole numbers or rounded upwards, so that no better choice is ever cut off by a rounding.
 *  2. Gains are scaled up and a little is taken off for work, less than one unit of gain in all: so the search sees early which of two
 *     choices of equal gain is the better. The last word has is_better() in select_fix.c, which compares exactly.
 *  3. `fixed` is always closed: what a fixed item implies or excludes is fixed too.
 */
#ifndef CROSSHATCH_WINTER_SELECT_SEARCH_H
#define CROSSHATCH_WINTER_SELECT_SEARCH_H

#include "closure.h"
#include "master.h"
#include "relations.h"
#include "select_fill.h"

/* A branching with a side that is still open. */
typedef struct level {
    size_t trail; /* items fixed before it */
    size_t item;
    signed char other; /* the value still to be tried; -1 = none */
    double bound;      /* of that side */
    double entered;    /* of the side that is being looked at */
    double price[2];
} level;

/* How far the bound fell, on average and a unit of share, when an item was put out or in. */
typedef struct pseudocost {
    double fall[2]; /* out, in */
    int tries[2];
} pseudocost;

/* An item that the mixture leaves open. */
typedef struct candidate {
    size_t item;
    double share, size, score;
    double bound[2]; /* out, in; of the node where not tried */
} candidate;

typedef struct search {
    const ch_selection *task;
    size_t count;
    double limit[2]; /* money, work */
    relations links;
    closure graph;
    int64_t scale; /* of a unit of gain, in scores */
    int64_t *score, *weight, *slack;
    signed char *fixed, *in, *best, *trial;
    size_t *trail, trail_length;
    signed char *column_in[MASTER_COLUMNS_MAX];
    uint64_t *column_bits[MASTER_COLUMNS_MAX]; /* the same, an item a bit */
    uint64_t *known_bits, *fixed_bits;         /* which items are fixed, and which of these are in */
    size_t words;                              /* of each of these */
    master_column column[MASTER_COLUMNS_MAX];
    size_t columns, column_next;
    level *levels;
    size_t depth;
    double price[2];  /* of a whole limit, in scores */
    double *quarrel;  /* price of having both of an excluding pair, in scores; each pair of the task */
    bool *quarrelled; /* excluding pairs that a closure has held together */
    size_t limit_pair[MASTER_LIMITS_MAX];
    master_column mixed[MASTER_COLUMNS_MAX];
    master_result result;
    double *toll;  /* of an item: those of its pairs of which both are free */
    double tolls;  /* of all such pairs, once each */
    double *loss;  /* of a free item: what is lost at least by having it the other way round */
    double *share; /* of an item in the mixture */
    bool has_best;
    select_sums best_sums;
    int64_t nodes, ties;
    pseudocost *cost; /* of each item */
    candidate *candidates;
} search;

typedef enum verdict { OPEN, DONE } verdict;

/* select_fix.c: what is chosen so far, and fixing. */

/* What a set comes to. */
select_sums search_sums(const search *s, const signed char in[]);

/* Take a closed set as the best so far, if it is one. */
void search_offer(search *s, const signed char in[]);

/* True where a set holds an excluding pair; `item` (out) is one of it. */
bool search_quarrel(const search *s, const signed char in[], size_t *item);

/* Fix an item and all that follows; false where that cannot be. */
bool search_fix(search *s, size_t item, signed char value);

/* Take back what was fixed since the trail had this length. */
void search_unfix(search *s, size_t length);

/* select_bound.c: how good a choice can be that agrees with what is fixed. */

/* False where what is fixed is too much already. */
bool search_within_limits(search *s);

/* Prices and mixture from the closures known so far. Returns the mixture's score. */
double search_mix(search *s);

/* Gather what the prices of excluding pairs come to for each item. */
void search_tolls(search *s);

/* A bound at the current prices; leaves the best closed set in `in` and the cost of the other way round in `slack`. */
double search_priced_bound(search *s);

/* Keep a closure for the mixture. */
void search_remember(search *s, const signed char in[], const select_sums *sums);

/* True where a node with this bound may hold a better gain; or an equal one that would be taken instead. */
bool search_gains_more(const search *s, double bound);
bool search_worth_more(const search *s, double bound);

/* Bound a node, `bound` (in, out) being what is known; OPEN where it has to be branched, with the mixture in `share`. */
verdict search_bound(search *s, double *bound);

/* select_branch.c: which item next. */

/* Branch a node; `again` where something could be fixed and the same node has to be bounded once more. False where all is done. */
bool search_branch(search *s, double bound, bool *again);

/* Back to the last branching with an open side, and into it; false where none is left. */
bool search_next_side(search *s);

#endif

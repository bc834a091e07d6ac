/**
 * @file selection.h
 * Which items to choose: most gain within two limits, where some items imply others and some shut others out.
 *
 * An integer program with one yes or no an item: maximise sum gain over the chosen, subject to sum money <= money_limit, sum work <=
 * work_limit, "item implies other" and "item excludes other". All amounts are whole numbers, so that equal means equal; what a unit of
 * money or work is, is the caller's business.
 */
#ifndef CROSSHATCH_SELECTION_H
#define CROSSHATCH_SELECTION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

enum { CH_SELECTION_ITEMS_MAX = 2000 };

/** Two items by their places. */
typedef struct ch_selection_pair {
    size_t item, other;
} ch_selection_pair;

/** The program. Borrowed by ch_select(). */
typedef struct ch_selection {
    size_t count;                     /**< items, at most CH_SELECTION_ITEMS_MAX */
    const int64_t *gain;              /**< of choosing it, either sign; their sizes add up to less than 2^52 */
    const int64_t *money, *work;      /**< >= 0; each adds up to less than 2^62 */
    int64_t money_limit, work_limit;  /**< >= 0; INT64_MAX = none */
    const ch_selection_pair *implies; /**< if `item` is chosen, so is `other`; any graph, cycles too */
    size_t implies_count;
    const ch_selection_pair *excludes; /**< not both */
    size_t excludes_count;
    const signed char *fixed; /**< 1 = must be chosen, 0 = must not, -1 = free; NULL = all free */
    int64_t nodes_max;        /**< branchings before it gives up the proof; 0 = CH_SELECTION_NODES */
} ch_selection;

/** Some ten seconds of one core on plans of 200 jobs and 80 steps, as measured. A count and not a time, so that the same input gives the same answer. */
#define CH_SELECTION_NODES INT64_C(100000)

/** What came of it. */
typedef struct ch_selected {
    bool possible;        /**< a choice within all limits exists; else nothing below is set */
    bool proven;          /**< no choice gains more */
    int64_t gain;         /**< of the choice */
    int64_t gain_at_most; /**< no choice gains more than this; equals `gain` where proven */
    int64_t money, work;  /**< of the choice */
    int64_t nodes;        /**< branchings it took */
} ch_selected;

/**
 * Solve the program.
 *
 * Of choices with equal gain that with the least work is taken, then that with the least money, then that which has the earlier item where
 * two first differ. (With tens of thousands of choices of equal gain the search for the last of these ends early; the gain stays the best.)
 *
 * @param selection Borrowed during the call.
 * @param chosen    (out) `count` flags. Untouched on failure and where nothing is possible.
 * @param selected  (out) Untouched on failure.
 * @retval CH_E_RANGE  A negative amount, an index beyond the items, sums beyond the ranges above.
 * @retval CH_E_LIMIT  More items than CH_SELECTION_ITEMS_MAX.
 * @retval CH_E_MEMORY
 *
 * Method: branch and bound. The two limits are priced (Lagrangian relaxation), what is left is a maximum-weight closure, found by a
 * minimum cut; the best prices come from column generation, whose bound equals that of the linear relaxation.
 * Sources: Picard, Maximal Closure of a Graph and Applications to Combinatorial Problems, Management Science 22 (1976) 1268; Geoffrion,
 * Lagrangean Relaxation for Integer Programming, Mathematical Programming Study 2 (1974) 82; Dinic, Soviet Math. Dokl. 11 (1970) 1277; Achterberg, Koch and
 * Martin, Branching Rules Revisited, Operations Research Letters 33 (2005) 42.
 */
ch_status ch_select(const ch_selection *selection, bool chosen[], ch_selected *selected, ch_err *err);

#endif

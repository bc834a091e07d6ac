/**
 * @file crew.h
 * Work in pieces that several processors may do beside each other.
 *
 * The floors that compute start no threads: whoever calls them may hand a crew down. What comes out is the same, to the last bit, whoever does which piece.
 */
#ifndef CROSSHATCH_CREW_H
#define CROSSHATCH_CREW_H

/**
 * Do one piece of the work.
 *
 * @param context What ch_crew_run() was given.
 * @param piece   0-based; what it writes, no other piece reads or writes.
 * @param worker  0-based, below the crew's workers: no two pieces that are done at the same time have the same. For room to work in.
 */
typedef void ch_piece(void *context, int piece, int worker);

/** Who does the work. */
typedef struct ch_crew ch_crew;
struct ch_crew {
    int workers; /**< at least 1 */
    /** Do all of 0..pieces-1, each once, in any order, and return when the last is done. It cannot fail: who gets no help does it alone. */
    void (*run)(const ch_crew *crew, int pieces, ch_piece *piece, void *context);
};

/** How many workers there may be at a time. crew: NULL for the caller alone. */
int ch_crew_workers(const ch_crew *crew);

/**
 * Do all pieces.
 *
 * @param crew    Borrowed during the call; NULL: the caller does one after the other.
 * @param pieces  How many; 0 does nothing.
 * @param piece   Does one.
 * @param context Handed to `piece` as it is; may be NULL.
 */
void ch_crew_run(const ch_crew *crew, int pieces, ch_piece *piece, void *context);

#endif

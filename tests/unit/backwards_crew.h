/* A crew that does its work in the order least expected: the last piece first, by one of three workers after the other. */
#ifndef BACKWARDS_CREW_H
#define BACKWARDS_CREW_H

#include "crosshatch/crew.h"

static void backwards_run(const ch_crew *crew, int pieces, ch_piece *piece, void *context)
{
    for (int p = pieces - 1; p >= 0; p--)
        piece(context, p, p % crew->workers);
}

static const ch_crew BACKWARDS = {.workers = 3, .run = backwards_run};

#endif

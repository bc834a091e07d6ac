/* Work in pieces, done by a crew or by the caller alone. Refuses to start threads. */
#include "crosshatch/crew.h"

#include <stddef.h>

int ch_crew_workers(const ch_crew *crew)
{
    return crew != NULL ? crew->workers : 1;
}

void ch_crew_run(const ch_crew *crew, int pieces, ch_piece *piece, void *context)
{
    if (crew != NULL) {
        crew->run(crew, pieces, piece, context);
        return;
    }
    for (int p = 0; p < pieces; p++)
        piece(context, p, 0);
}

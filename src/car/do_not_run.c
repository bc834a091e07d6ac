/* What was seen on an engine that forbids to crank or run it. The knowledge says what does. */
#include "crosshatch/do_not_run.h"

#include <string.h>

const ch_knowledge_observation *ch_do_not_run_row(const ch_sheet *sheet, const ch_knowledge *knowledge, size_t row)
{
    const ch_observation *seen = &sheet->observed[row];
    const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, seen->what, strlen(seen->what));
    return known != NULL && known->do_not_run && !seen->absent ? known : NULL;
}

bool ch_do_not_run(const ch_sheet *sheet, const ch_knowledge *knowledge)
{
    for (size_t i = 0; i < sheet->observed_count; i++)
        if (ch_do_not_run_row(sheet, knowledge, i) != NULL)
            return true;
    return false;
}

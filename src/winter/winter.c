/* A plan answered: choose, lay on the days, weigh the chance, explain. */
#include "crosshatch/winter.h"

#include <stdlib.h>

#include "parts.h"

ch_status ch_winter_answer(const ch_plan *plan, uint64_t seed, ch_winter *winter, ch_err *err)
{
    ch_winter made = {0};
    made.chosen = calloc(plan->items_count + 1, sizeof *made.chosen);
    ch_status rc = made.chosen != NULL ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory for the answer");
    if (rc >= 0)
        rc = ch_winter_choose(plan, NULL, 0, 0, 0, made.chosen, &made.choice, err);
    if (rc >= 0 && made.choice.feasible) {
        rc = ch_winter_calendar(plan, made.chosen, &made.calendar, err);
        if (rc >= 0)
            rc = ch_winter_chance(plan, &made.calendar, NULL, seed, &made.chance_1, err);
        if (rc >= 0)
            rc = winter_explain(plan, seed, &made, err);
    }
    if (rc < 0) {
        ch_winter_clear(&made);
        return rc;
    }
    *winter = made;
    return CH_OK;
}

void ch_winter_clear(ch_winter *winter)
{
    ch_calendar_clear(&winter->calendar);
    free(winter->chosen);
    free(winter->jobs);
    for (int i = 0; i < CH_WINTER_MORE; i++)
        free(winter->more[i].chosen);
    *winter = (ch_winter){0};
}

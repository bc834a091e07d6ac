/* What was noted that wants following up whatever the cylinders read: the knowledge says which, and why. A sealing test hears nothing of bearings,
 * oil control rings or metal in the oil, and an engine that shows them is not one with nothing wrong. */
#include <stdio.h>
#include <string.h>

#include "judge_parts.h"

static const ch_knowledge_observation *found(const ch_knowledge *knowledge, const ch_observation *row)
{
    return row->absent ? NULL : ch_knowledge_observation_find(knowledge, row->what, strlen(row->what));
}

/* Add one row's title and cylinder to the list; false where there is no room for it. */
static bool add_title(judge_noted *one, const char *title, int cylinder)
{
    char at[24] = "", title_at[JUDGE_NOTED_SIZE];
    if (cylinder > 0)
        snprintf(at, sizeof at, " (cylinder %d)", cylinder);
    const size_t used = strlen(one->titles);
    const int size = snprintf(title_at, sizeof title_at, "%s\"%s\"%s", used > 0 ? ", " : "", title, at);
    if (size < 0 || used + (size_t)size >= sizeof one->titles)
        return false;
    memcpy(one->titles + used, title_at, (size_t)size + 1);
    return true;
}

static size_t add_row(const ch_observation *row, const ch_knowledge_observation *known,
                      judge_noted noted[JUDGE_NOTED_MAX], size_t n)
{
    size_t at = 0;
    while (at < n && strcmp(noted[at].follow_up, known->follow_up) != 0)
        at++;
    if (at == JUDGE_NOTED_MAX)
        return n;
    if (at == n)
        noted[n++] = (judge_noted){.follow_up = known->follow_up, .do_not_run = known->do_not_run};
    if (!add_title(&noted[at], known->title, known->scope == CH_SCOPE_CYLINDER ? row->cylinder : 0))
        noted[at].more++;
    return n;
}

size_t judge_noted_of(const ch_sheet *sheet, const ch_knowledge *knowledge, judge_noted noted[JUDGE_NOTED_MAX])
{
    size_t n = 0;
    for (int rest = 0; rest < 2; rest++)
        for (size_t i = 0; i < sheet->observed_count; i++) {
            const ch_knowledge_observation *known = found(knowledge, &sheet->observed[i]);
            if (known != NULL && known->follow_up != NULL && known->do_not_run == (rest == 0))
                n = add_row(&sheet->observed[i], known, noted, n);
        }
    return n;
}

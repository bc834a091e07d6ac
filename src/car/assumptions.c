/* Reading knowledge/decision.yaml. The reader's habits are those of knowledge_read.h. */
#include "crosshatch/assumptions.h"

#include <math.h>
#include <string.h>

#include "knowledge_read.h"

static const struct {
    const char *name;
    ch_assumption_unit unit;
} FIGURES[CH_ASSUME_COUNT] = {
    [CH_ASSUME_EVENT_VALUE] = {"event_value", CH_ASSUMED_MONEY},
    [CH_ASSUME_TOW_HOME] = {"tow_home", CH_ASSUMED_MONEY},
    [CH_ASSUME_HOUR_VALUE] = {"hour_value", CH_ASSUMED_MONEY},
    [CH_ASSUME_TEST_HOURS] = {"test_hours", CH_ASSUMED_HOURS},
    [CH_ASSUME_REPAIR_MONEY] = {"repair_money", CH_ASSUMED_MONEY},
    [CH_ASSUME_REPAIR_HOURS] = {"repair_hours", CH_ASSUMED_HOURS},
    [CH_ASSUME_REBUILD_MONEY] = {"rebuild_money", CH_ASSUMED_MONEY},
    [CH_ASSUME_REBUILD_HOURS] = {"rebuild_hours", CH_ASSUMED_HOURS},
    [CH_ASSUME_REPLACE_MONEY] = {"replace_money", CH_ASSUMED_MONEY},
    [CH_ASSUME_REPLACE_HOURS] = {"replace_hours", CH_ASSUMED_HOURS},
    [CH_ASSUME_RUIN_MONEY] = {"ruin_money", CH_ASSUMED_MONEY},
    [CH_ASSUME_LOST_EVENTS] = {"lost_events", CH_ASSUMED_COUNT},
    [CH_ASSUME_REPAIR_CURES] = {"repair_cures", CH_ASSUMED_CHANCE},
    [CH_ASSUME_REBUILD_EARLY] = {"rebuild_early", CH_ASSUMED_CHANCE},
    [CH_ASSUME_DONOR_BAD] = {"donor_bad", CH_ASSUMED_CHANCE},
    [CH_ASSUME_BREAK_SOUND] = {"break_sound", CH_ASSUMED_CHANCE},
    [CH_ASSUME_BREAK_OVER] = {"break_over", CH_ASSUMED_CHANCE},
    [CH_ASSUME_NEW_FAULT] = {"new_fault", CH_ASSUMED_CHANCE},
    [CH_ASSUME_RUIN_SHARE] = {"ruin_share", CH_ASSUMED_CHANCE},
    [CH_ASSUME_PACE_LOST] = {"pace_lost", CH_ASSUMED_CHANCE},
    [CH_ASSUME_TEST_FINDS] = {"test_finds", CH_ASSUMED_CHANCE},
};
static const char *const UNITS[] = {"money", "hours", "count", "chance"};

const char *ch_assumption_name(ch_assumption_id id)
{
    return (unsigned)id < CH_ASSUME_COUNT ? FIGURES[id].name : NULL;
}

static void read_figure(knowledge_reader *r, const ch_tree_node *part, ch_assumptions *to)
{
    const char *names[CH_ASSUME_COUNT];
    for (int i = 0; i < CH_ASSUME_COUNT; i++)
        names[i] = FIGURES[i].name;
    knowledge_keys(r, part, "id", "unit", "low", "usual", "high", "title", "source");
    const int id = knowledge_word(r, part, "id", names, CH_ASSUME_COUNT, -1);
    const int unit = knowledge_word(r, part, "unit", UNITS, sizeof UNITS / sizeof UNITS[0], -1);
    if (r->status < 0)
        return;
    if (to->of[id].title != NULL) {
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(part, "id"), NULL, "\"%s\" stands here twice", names[id]);
        return;
    }
    if ((ch_assumption_unit)unit != FIGURES[id].unit) {
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(part, "unit"), UNITS[FIGURES[id].unit], "\"%s\" is given in %s",
                       names[id], UNITS[unit]);
        return;
    }
    const knowledge_range *range = FIGURES[id].unit == CH_ASSUMED_CHANCE ? &knowledge_chance : &knowledge_not_negative;
    ch_assumption *one = &to->of[id];
    one->unit = (ch_assumption_unit)unit;
    one->low = knowledge_number_at(r, part, "low", range);
    one->usual = knowledge_number_at(r, part, "usual", range);
    one->high = knowledge_number_at(r, part, "high", range);
    one->title = knowledge_text(r, part, "title", false);
    one->source = knowledge_text(r, part, "source", false);
    if (r->status >= 0 && !(one->low <= one->usual && one->usual <= one->high))
        knowledge_fail(r, CH_E_INPUT, part, "low <= usual <= high", "\"%s\" is %g, %g, %g", names[id], one->low,
                       one->usual, one->high);
}

static void read_ids(knowledge_reader *r, const ch_tree_node *root, ch_assumptions *to)
{
    const ch_tree_node *list = knowledge_list(r, root, "opens_engine", false);
    const char **ids = list == NULL ? NULL : knowledge_alloc(r, list->count, sizeof *ids);
    size_t n = 0;
    for (const ch_tree_node *part = ids == NULL ? NULL : list->first; part != NULL && r->status >= 0; part = part->next)
        ids[n++] = knowledge_id(r, part);
    to->opens_engine = ids;
    to->opens_engine_count = n;
    (void)knowledge_text(r, root, "opens_engine_source", false);
}

static void read_root(knowledge_reader *r, const ch_tree_node *root, ch_assumptions *to)
{
    static const char *const KIND[] = {"decision"}, *const VERSION[] = {"1"};
    knowledge_keys(r, root, "knowledge", "version", "currency", "assumptions", "opens_engine", "opens_engine_source");
    (void)knowledge_word(r, root, "knowledge", KIND, 1, -1);
    (void)knowledge_word(r, root, "version", VERSION, 1, -1);
    to->currency = knowledge_text(r, root, "currency", false);
    const ch_tree_node *list = knowledge_list(r, root, "assumptions", false);
    for (const ch_tree_node *part = list == NULL ? NULL : list->first; part != NULL && r->status >= 0;
         part = part->next)
        read_figure(r, part, to);
    for (int i = 0; r->status >= 0 && i < CH_ASSUME_COUNT; i++)
        if (to->of[i].title == NULL)
            knowledge_fail(r, CH_E_INPUT, list, "every figure once", "\"%s\" is missing", FIGURES[i].name);
    read_ids(r, root, to);
}

ch_status ch_assumptions_parse(ch_assumptions *assumptions, const ch_knowledge_text *text, ch_err *err)
{
    ch_knowledge owner = {0}; /* owns what is read */
    knowledge_reader r = {.to = &owner, .file = text->name, .err = err};
    ch_assumptions made = {0};
    ch_tree *tree = NULL;
    r.status = ch_tree_parse(text->name, text->text, text->length, &tree, err);
    if (r.status >= 0) {
        knowledge_keep_tree(&r, tree);
        if (r.status < 0)
            ch_tree_free(tree);
        else
            read_root(&r, ch_tree_root(tree), &made);
    }
    made.pieces = owner.pieces;
    if (r.status < 0) {
        ch_assumptions_clear(&made);
        return r.status;
    }
    *assumptions = made;
    return CH_OK;
}

void ch_assumptions_clear(ch_assumptions *assumptions)
{
    ch_knowledge owner = {.pieces = assumptions->pieces};
    ch_knowledge_clear(&owner);
    *assumptions = (ch_assumptions){0};
}

bool ch_assumptions_opens_engine(const ch_assumptions *assumptions, const char *id)
{
    for (size_t i = 0; id != NULL && i < assumptions->opens_engine_count; i++)
        if (strcmp(assumptions->opens_engine[i], id) == 0)
            return true;
    return false;
}

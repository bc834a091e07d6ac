/*
 * observations.yaml: what is seen, heard, smelt or found by a check, and how often each cause shows it.
 * Rules: docs/knowledge.md.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "knowledge_read.h"

/* The groups; `names` finds them while the file is read. */
static void read_groups(knowledge_reader *r, const ch_tree_node *root, ch_knowledge_names *names)
{
    const ch_tree_node *map = knowledge_map(r, root, "groups", false);
    if (map == NULL || map->count == 0)
        return;
    ch_knowledge_group *groups = knowledge_alloc(r, map->count, sizeof *groups);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_check_key_id(r, part);
        knowledge_keys(r, part, "further", "title");
        groups[n] = (ch_knowledge_group){
            .id = part->key,
            .title = knowledge_text(r, part, "title", false),
            .further_1 = knowledge_number_at(r, part, "further", &knowledge_chance),
        };
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
    r->to->groups = groups;
    r->to->groups_count = n;
}

/* The headings, of which a file may have none. */
static void read_headings(knowledge_reader *r, const ch_tree_node *root, ch_knowledge_names *names)
{
    const ch_tree_node *map = knowledge_map(r, root, "headings", true);
    if (map == NULL || map->count == 0)
        return;
    ch_knowledge_heading *headings = knowledge_alloc(r, map->count, sizeof *headings);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_check_key_id(r, part);
        headings[n] = (ch_knowledge_heading){.id = part->key, .title = knowledge_line(r, part)};
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
    r->to->headings = headings;
    r->to->headings_count = n;
}

static void read_also(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_observation *to)
{
    const ch_tree_node *list = knowledge_list(r, map, "also", true);
    if (list == NULL)
        return;
    const char **also = knowledge_alloc(r, list->count, sizeof *also);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next)
        also[n++] = knowledge_id(r, part);
    to->also = also;
    to->also_count = n;
}

/* `positive` or `odds`, cause: number, into `by_cause`; causes not named stay as they are. */
static void read_by_cause(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range,
                          double by_cause[CH_CAUSE_COUNT])
{
    const ch_tree_node *figures = knowledge_map(r, map, key, false);
    if (figures == NULL)
        return;
    if (figures->count == 0)
        knowledge_fail(r, CH_E_INPUT, figures, "cause: number", "%s is empty", key);
    for (const ch_tree_node *part = figures->first; part != NULL && r->status >= 0; part = part->next) {
        const ch_cause cause = knowledge_cause(r, part->key, part->key_length, part->key_line, part->key_column);
        if (cause != CH_CAUSE_COUNT)
            by_cause[cause] = knowledge_number(r, part, range);
    }
}

static void refuse(knowledge_reader *r, const ch_tree_node *map, const char *key, const char *why, const char *right)
{
    const ch_tree_node *part = ch_tree_get(map, key);
    if (part != NULL && r->status >= 0)
        knowledge_fail(r, CH_E_INPUT, part, right, "\"%s\" has no meaning with kind %s", key, why);
}

static void read_figures(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_observation *to)
{
    const bool history = to->kind == CH_OBSERVATION_HISTORY;
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        to->positive_1[i] = NAN;
        to->odds_1[i] = to->odds_together_1[i] = 1;
    }
    if (history) {
        refuse(r, map, "positive", "history", "odds");
        refuse(r, map, "group", "history", "leave it out");
        read_by_cause(r, map, "odds", &knowledge_positive, to->odds_1);
        memcpy(to->odds_together_1, to->odds_1, sizeof to->odds_together_1);
        if (ch_tree_get(map, "odds_together") != NULL)
            read_by_cause(r, map, "odds_together", &knowledge_positive, to->odds_together_1);
        if (r->status >= 0 && to->scope != CH_SCOPE_ENGINE)
            knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "scope"), "engine", "history is that of the engine");
        return;
    }
    const char *kind = to->kind == CH_OBSERVATION_SIGN ? "sign" : "check";
    refuse(r, map, "odds", kind, "positive");
    refuse(r, map, "odds_together", kind, "positive");
    read_by_cause(r, map, "positive", &knowledge_open_chance, to->positive_1);
    for (int i = 0; i < CH_CAUSE_COUNT && r->status >= 0; i++)
        if (isnan(to->positive_1[i]))
            knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "positive"), "all eleven causes",
                           "positive leaves out \"%s\"", ch_cause_name((ch_cause)i));
}

/* The place among `names` of the `what` that an observation gives under `key`, or `none`. */
static long read_place(knowledge_reader *r, const ch_tree_node *map, const char *key, const char *what,
                       const ch_knowledge_names *names, long none)
{
    const ch_tree_node *part = ch_tree_get(map, key);
    if (r->status < 0 || part == NULL)
        return none;
    const char *name = knowledge_id(r, part);
    if (name == NULL)
        return none;
    const size_t place = knowledge_name_find(names, name, part->length);
    if (place != SIZE_MAX)
        return (long)place;
    knowledge_fail_name(r, part, names, what);
    return none;
}

/* Why it wants following up, or what comes before the engine may turn again: one of the two. */
static void read_follow_up(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_observation *to)
{
    const ch_tree_node *stop = ch_tree_get(map, "do_not_run");
    to->do_not_run = stop != NULL;
    to->follow_up = knowledge_text(r, map, stop != NULL ? "do_not_run" : "follow_up", true);
    if (stop != NULL && to->follow_up != NULL && strchr(to->follow_up, ' ') == NULL)
        knowledge_fail(r, CH_E_INPUT, stop, "why, and what comes first, as a sentence", "do_not_run is \"%.60s\"",
                       to->follow_up);
    if (stop != NULL && to->kind == CH_OBSERVATION_HISTORY)
        refuse(r, map, "do_not_run", "history", "follow_up");
    if (stop != NULL && ch_tree_get(map, "follow_up") != NULL && r->status >= 0)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "follow_up"), "do_not_run alone, which says more",
                       "both follow_up and do_not_run");
    const ch_tree_node *cautions = ch_tree_get(map, "cautions");
    if (cautions == NULL)
        return;
    if (stop == NULL && r->status >= 0)
        knowledge_fail(r, CH_E_INPUT, cautions, "leave it out", "cautions have no meaning without do_not_run");
    knowledge_caution_places(r, map, "cautions", &to->cautions);
}

static void read_observation(knowledge_reader *r, const ch_tree_node *map, const ch_knowledge_names *groups,
                             const ch_knowledge_names *headings, ch_knowledge_observation *to)
{
    static const char *const kinds[] = {
        [CH_OBSERVATION_SIGN] = "sign", [CH_OBSERVATION_CHECK] = "check", [CH_OBSERVATION_HISTORY] = "history"};
    static const char *const scopes[] = {"cylinder", "engine"};
    knowledge_keys(r, map, "id", "also", "kind", "scope", "group", "under", "title", "follow_up", "do_not_run",
                   "cautions", "positive", "odds", "odds_together", "source", "note");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->kind = (ch_observation_kind)knowledge_word(r, map, "kind", kinds, 3, -1);
    to->scope = knowledge_word(r, map, "scope", scopes, 2, -1) == 0 ? CH_SCOPE_CYLINDER : CH_SCOPE_ENGINE;
    to->title = knowledge_text(r, map, "title", false);
    read_follow_up(r, map, to);
    to->source = knowledge_text(r, map, "source", false);
    to->note = knowledge_text(r, map, "note", true);
    read_also(r, map, to);
    read_figures(r, map, to);
    to->group = read_place(r, map, "group", "group", groups, CH_NO_GROUP);
    to->heading = read_place(r, map, "under", "heading", headings, CH_NO_HEADING);
}

void knowledge_read_observations(knowledge_reader *r, const ch_tree_node *root)
{
    knowledge_keys(r, root, "knowledge", "version", "groups", "groups_source", "headings", "observations");
    ch_knowledge_names groups = {0}, headings = {0};
    read_groups(r, root, &groups);
    read_headings(r, root, &headings);
    r->to->groups_source = knowledge_text(r, root, "groups_source", false);
    const ch_tree_node *list = knowledge_list(r, root, "observations", false);
    if (list == NULL)
        return;
    if (list->count == 0)
        knowledge_fail(r, CH_E_INPUT, list, "at least one", "there are no observations");
    ch_knowledge_observation *observations = knowledge_alloc(r, list->count, sizeof *observations);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_observation(r, map, &groups, &headings, &observations[n++]);
    r->to->observations = observations;
    r->to->observations_count = n;
    knowledge_name_entries(r, list, &r->to->observation_names);
}

/*
 * checks.yaml and cautions.yaml: what to do next, how long it takes, what it tells, and what can hurt.
 * Rules: docs/knowledge.md. The file speaks minutes; here they become seconds.
 */
#include "knowledge_read.h"

static const double minute = 60; /* in s */

static void read_caution(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_caution *to)
{
    const char *words[CH_SIGNAL_NOTICE + 1];
    for (int i = 0; i <= CH_SIGNAL_NOTICE; i++)
        words[i] = ch_signal_word_name((ch_signal_word)i);
    knowledge_keys(r, map, "id", "word", "hazard", "consequence", "precaution", "defer_when", "source");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->word = (ch_signal_word)knowledge_word(r, map, "word", words, CH_SIGNAL_NOTICE + 1, -1);
    to->hazard = knowledge_text(r, map, "hazard", false);
    to->consequence = knowledge_text(r, map, "consequence", false);
    to->precaution = knowledge_text(r, map, "precaution", false);
    to->defer_when = knowledge_text(r, map, "defer_when", true);
    to->source = knowledge_text(r, map, "source", false);
}

void knowledge_read_cautions(knowledge_reader *r, const ch_tree_node *root)
{
    knowledge_keys(r, root, "knowledge", "version", "always", "always_source", "cautions");
    r->to->always = knowledge_text(r, root, "always", false);
    r->to->always_source = knowledge_text(r, root, "always_source", false);
    const ch_tree_node *list = knowledge_list(r, root, "cautions", false);
    if (list == NULL)
        return;
    ch_knowledge_caution *cautions = knowledge_alloc(r, list->count, sizeof *cautions);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_caution(r, map, &cautions[n++]);
    r->to->cautions = cautions;
    r->to->cautions_count = n;
    knowledge_name_entries(r, list, &r->to->caution_names);
}

void knowledge_caution_places(knowledge_reader *r, const ch_tree_node *map, const char *key, ch_places *places)
{
    ch_places given = {0};
    knowledge_places(r, map, key, &r->to->caution_names, "caution", &given);
    size_t *at = knowledge_alloc(r, given.count, sizeof *at);
    if (at == NULL)
        return;
    size_t n = 0;
    for (int word = CH_SIGNAL_DANGER; word <= CH_SIGNAL_NOTICE; word++)
        for (size_t i = 0; i < given.count; i++)
            if (r->to->cautions[given.at[i]].word == (ch_signal_word)word)
                at[n++] = given.at[i];
    *places = (ch_places){.at = at, .count = n};
}

static void read_tools(knowledge_reader *r, const ch_tree_node *root, ch_knowledge_names *names)
{
    static const char *const answers[] = {"false", "true"};
    const ch_tree_node *map = knowledge_map(r, root, "tools", false);
    if (map == NULL || map->count == 0)
        return;
    ch_knowledge_tool *tools = knowledge_alloc(r, map->count, sizeof *tools);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_check_key_id(r, part);
        knowledge_keys(r, part, "title", "everyday");
        tools[n] = (ch_knowledge_tool){
            .id = part->key,
            .title = knowledge_text(r, part, "title", false),
            .everyday = knowledge_word(r, part, "everyday", answers, 2, -1) == 1,
        };
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
    r->to->tools = tools;
    r->to->tools_count = n;
}

static void read_preparations(knowledge_reader *r, const ch_tree_node *root, ch_knowledge_names *names)
{
    const ch_tree_node *map = knowledge_map(r, root, "preparations", true);
    if (map == NULL || map->count == 0)
        return;
    knowledge_text(r, root, "preparations_source", false);
    if (map->count > CH_PREPARATIONS_MAX) {
        knowledge_fail(r, CH_E_LIMIT, map, "at most 16", "%zu preparations", map->count);
        return;
    }
    ch_knowledge_preparation *list = knowledge_alloc(r, map->count, sizeof *list);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_check_key_id(r, part);
        knowledge_keys(r, part, "title", "minutes");
        list[n] = (ch_knowledge_preparation){
            .id = part->key,
            .title = knowledge_text(r, part, "title", false),
            .time_s = knowledge_number_at(r, part, "minutes", &knowledge_positive) * minute,
        };
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
    r->to->preparations = list;
    r->to->preparations_count = n;
}

/* What a check begins with, no more than its setup takes in all. */
static void read_prepares(knowledge_reader *r, const ch_tree_node *map, const ch_knowledge_names *preparations,
                          ch_knowledge_check *to)
{
    if (ch_tree_get(map, "prepares") == NULL)
        return;
    knowledge_places(r, map, "prepares", preparations, "preparation", &to->prepares);
    double sum_s = 0.0;
    for (size_t i = 0; r->status >= 0 && i < to->prepares.count; i++)
        sum_s += r->to->preparations[to->prepares.at[i]].time_s;
    if (r->status >= 0 && sum_s > to->setup_s)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "prepares"), "a setup of at least as long",
                       "what it prepares takes longer than its setup");
}

static void read_duration(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_check *to)
{
    const ch_tree_node *minutes = knowledge_map(r, map, "minutes", false);
    if (minutes == NULL)
        return;
    knowledge_keys(r, minutes, "setup", "each");
    to->setup_s = knowledge_number_at(r, minutes, "setup", &knowledge_not_negative) * minute;
    to->each_s = knowledge_number_at(r, minutes, "each", &knowledge_not_negative) * minute;
    if (r->status < 0)
        return;
    if (to->scope == CH_SCOPE_ENGINE && to->each_s > 0)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(minutes, "each"), "0, or scope: cylinder",
                       "minutes for each cylinder of a check that is done once");
    else if (!(to->setup_s + to->each_s > 0))
        knowledge_fail(r, CH_E_INPUT, minutes, "more than 0 in all", "a check that takes no time");
}

unsigned knowledge_rows(knowledge_reader *r, const ch_tree_node *map)
{
    static const char *const name[] = {"compression", "leakdown", "wet"}; /* sorted */
    static const size_t place[] = {0, 1, 2};
    static const unsigned bit[] = {CH_ROWS_COMPRESSION, CH_ROWS_LEAKDOWN, CH_ROWS_WET};
    const ch_knowledge_names blocks = {.name = name, .place = place, .count = 3};
    ch_places rows = {0};
    unsigned bits = 0;
    knowledge_places(r, map, "rows", &blocks, "block of a sheet", &rows);
    for (size_t i = 0; i < rows.count; i++)
        bits |= bit[rows.at[i]];
    return bits;
}

static void read_yields(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_check *to)
{
    knowledge_places(r, map, "yields", &r->to->observation_names, "observation", &to->yields);
    if (r->status < 0)
        return;
    const ch_tree_node *part = ch_tree_get(map, "yields")->first;
    for (size_t i = 0; i < to->yields.count; i++, part = part->next)
        if (r->to->observations[to->yields.at[i]].kind == CH_OBSERVATION_HISTORY)
            knowledge_fail(r, CH_E_INPUT, part, "a sign or a check", "\"%.60s\" is history: no check answers it",
                           part->text);
    if (to->rows == 0 && to->yields.count == 0)
        knowledge_fail(r, CH_E_INPUT, map, "rows, yields or both", "a check that tells nothing");
}

static void read_check(knowledge_reader *r, const ch_tree_node *map, const ch_knowledge_names *tools,
                       const ch_knowledge_names *preparations, ch_knowledge_check *to)
{
    static const char *const answers[] = {"false", "true"};
    static const char *const scopes[] = {"cylinder", "engine"};
    static const char *const orders[] = {"last"};
    knowledge_keys(r, map, "id", "title", "says", "scope", "minutes", "needs", "rows", "yields", "order", "runs",
                   "prepares", "cautions", "source", "note");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->title = knowledge_text(r, map, "title", false);
    to->says = knowledge_text(r, map, "says", false);
    to->source = knowledge_text(r, map, "source", false);
    to->note = knowledge_text(r, map, "note", true);
    to->scope = knowledge_word(r, map, "scope", scopes, 2, -1) == 0 ? CH_SCOPE_CYLINDER : CH_SCOPE_ENGINE;
    read_duration(r, map, to);
    knowledge_places(r, map, "needs", tools, "tool", &to->needs);
    to->rows = knowledge_rows(r, map);
    read_yields(r, map, to);
    to->last = ch_tree_get(map, "order") != NULL && knowledge_word(r, map, "order", orders, 1, -1) == 0;
    to->runs = ch_tree_get(map, "runs") != NULL && knowledge_word(r, map, "runs", answers, 2, -1) == 1;
    read_prepares(r, map, preparations, to);
    knowledge_caution_places(r, map, "cautions", &to->cautions);
}

bool ch_knowledge_check_cranks(const ch_knowledge_check *check)
{
    return check->runs || (check->rows & (CH_ROWS_COMPRESSION | CH_ROWS_WET)) != 0;
}

void knowledge_read_checks(knowledge_reader *r, const ch_tree_node *root)
{
    knowledge_keys(r, root, "knowledge", "version", "tools", "tools_source", "preparations", "preparations_source",
                   "checks");
    ch_knowledge_names tools = {0}, preparations = {0};
    read_tools(r, root, &tools);
    read_preparations(r, root, &preparations);
    r->to->tools_source = knowledge_text(r, root, "tools_source", false);
    const ch_tree_node *list = knowledge_list(r, root, "checks", false);
    if (list == NULL)
        return;
    ch_knowledge_check *checks = knowledge_alloc(r, list->count, sizeof *checks);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_check(r, map, &tools, &preparations, &checks[n++]);
    r->to->checks = checks;
    r->to->checks_count = n;
    knowledge_name_entries(r, list, &r->to->check_names);
}

/*
 * inspection.yaml: what is looked at before a car goes on track. Rules: docs/knowledge.md.
 */
#include "crosshatch/inspection.h"

#include <stdint.h>

#include "knowledge_read.h"

static void read_areas(knowledge_reader *r, const ch_tree_node *root, ch_inspection *to, ch_knowledge_names *names)
{
    const ch_tree_node *map = knowledge_map(r, root, "areas", false);
    if (map == NULL || map->count == 0)
        return;
    ch_inspection_area *areas = knowledge_alloc(r, map->count, sizeof *areas);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_check_key_id(r, part);
        areas[n] = (ch_inspection_area){.id = part->key, .title = knowledge_line(r, part)};
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
    to->areas = areas;
    to->areas_count = n;
}

/* One name that must be among `names`; its place, or SIZE_MAX. */
static size_t read_name(knowledge_reader *r, const ch_tree_node *part, const ch_knowledge_names *names,
                        const char *what)
{
    const char *id = part != NULL ? knowledge_id(r, part) : NULL;
    if (id == NULL)
        return SIZE_MAX;
    const size_t place = knowledge_name_find(names, id, part->length);
    if (place == SIZE_MAX)
        knowledge_fail_name(r, part, names, what);
    return place;
}

static unsigned read_when(knowledge_reader *r, const ch_tree_node *map)
{
    static const char *const name[] = {"event", "first_session", "home", "session"}; /* sorted */
    static const size_t bit[] = {CH_INSPECT_EVENT, CH_INSPECT_FIRST_SESSION, CH_INSPECT_HOME, CH_INSPECT_SESSION};
    const ch_knowledge_names times = {.name = name, .place = bit, .count = 4};
    ch_places given = {0};
    knowledge_places(r, map, "when", &times, "time to look", &given);
    unsigned when = 0;
    for (size_t i = 0; i < given.count; i++)
        when |= (unsigned)given.at[i];
    if (r->status >= 0 && when == 0)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "when"), "home, event, first_session or session",
                       "an item that is never looked at");
    return when;
}

static void read_tools(knowledge_reader *r, const ch_tree_node *map, ch_inspection_item *to)
{
    const ch_tree_node *list = knowledge_list(r, map, "tools", false);
    if (list == NULL)
        return;
    const char **tools = knowledge_alloc(r, list->count, sizeof *tools);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next)
        tools[n++] = knowledge_line(r, part);
    to->tools = tools;
    to->tools_count = n;
}

static void read_limit(knowledge_reader *r, const ch_tree_node *map, ch_inspection_item *to)
{
    to->limit = knowledge_text(r, map, "limit", true);
    to->limit_source = knowledge_text(r, map, "limit_source", true);
    if (r->status >= 0 && (to->limit == NULL) != (to->limit_source == NULL))
        knowledge_fail(r, CH_E_INPUT, map, "both or neither", "%s without %s",
                       to->limit != NULL ? "limit" : "limit_source", to->limit != NULL ? "limit_source" : "limit");
}

static void read_item(knowledge_reader *r, const ch_tree_node *map, const ch_inspection *of,
                      const ch_knowledge_names *areas, const ch_part_lives *lives, ch_inspection_item *to)
{
    static const char *const answers[] = {"false", "true"};
    knowledge_keys(r, map, "id", "area", "title", "look", "limit", "limit_source", "tools", "when", "stops", "cautions",
                   "part", "source");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->area = read_name(r, knowledge_need(r, map, "area"), areas, "area");
    to->title = knowledge_text(r, map, "title", false);
    to->look = knowledge_text(r, map, "look", false);
    to->source = knowledge_text(r, map, "source", true);
    if (to->source == NULL)
        to->source = of->source;
    read_limit(r, map, to);
    read_tools(r, map, to);
    to->when = read_when(r, map);
    to->stops = knowledge_word(r, map, "stops", answers, 2, 0) == 1;
    if (r->status >= 0 && ch_tree_get(map, "cautions") != NULL)
        knowledge_caution_places(r, map, "cautions", &to->cautions);
    const ch_tree_node *part = r->status >= 0 ? ch_tree_get(map, "part") : NULL;
    if (part != NULL && read_name(r, part, &lives->names, "part") != SIZE_MAX)
        to->part = part->text;
}

ch_status ch_inspection_parse(ch_inspection *inspection, const ch_knowledge *knowledge, const ch_part_lives *lives,
                              const ch_knowledge_text *text, ch_err *err)
{
    ch_knowledge owner = *knowledge; /* to look cautions up in, and to own what is read here */
    owner.pieces = NULL;
    knowledge_reader reader = {.to = &owner, .err = err}, *r = &reader;
    ch_inspection made = {0};
    const ch_tree_node *root = knowledge_open(r, text, "inspection");
    if (root != NULL) {
        ch_knowledge_names areas = {0};
        knowledge_keys(r, root, "knowledge", "version", "source", "areas", "items");
        made.source = knowledge_text(r, root, "source", false);
        read_areas(r, root, &made, &areas);
        const ch_tree_node *list = knowledge_list(r, root, "items", false);
        ch_inspection_item *items = list != NULL ? knowledge_alloc(r, list->count, sizeof *items) : NULL;
        for (const ch_tree_node *map = list != NULL ? list->first : NULL; map != NULL && r->status >= 0;
             map = map->next)
            read_item(r, map, &made, &areas, lives, &items[made.count++]);
        made.items = items;
        if (list != NULL)
            knowledge_name_entries(r, list, &made.names);
    }
    made.pieces = owner.pieces;
    if (r->status < 0) {
        ch_inspection_clear(&made);
        return r->status;
    }
    *inspection = made;
    return CH_OK;
}

void ch_inspection_clear(ch_inspection *inspection)
{
    ch_knowledge owner = {.pieces = inspection->pieces};
    ch_knowledge_clear(&owner);
    *inspection = (ch_inspection){0};
}

const ch_inspection_item *ch_inspection_find(const ch_inspection *inspection, const char *id, size_t length)
{
    const size_t place = knowledge_name_find(&inspection->names, id, length);
    return place != SIZE_MAX ? &inspection->items[place] : NULL;
}

const char *ch_inspection_when_name(unsigned when)
{
    switch (when) {
    case CH_INSPECT_HOME: return "home";
    case CH_INSPECT_EVENT: return "event";
    case CH_INSPECT_FIRST_SESSION: return "first_session";
    case CH_INSPECT_SESSION: return "session";
    default: return NULL;
    }
}

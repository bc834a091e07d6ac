/*
 * What ties the items of a plan together: names become places, and what must come first is held to be free of circles. A job that waits for the closing of a
 * step waits for all that needs the step.
 *
 * `needs` looks for an access step first, then for a job; `after` for a job first. So the same name may stand in both, as people do
 * ("coolant" drained, "coolant" renewed).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "plan_read.h"

/* Names of the two maps, sorted. */
typedef struct plan_names {
    ch_knowledge_names access, jobs;
} plan_names;

static void gather_names(knowledge_reader *r, const ch_tree_node *map, size_t first, ch_knowledge_names *names)
{
    if (map == NULL || map->count == 0)
        return;
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && named != NULL; part = part->next, n++)
        named[n] = (knowledge_named){.name = part->key, .place = first + n, .at = part};
    knowledge_sort_names(r, named, n, names);
}

static size_t find(const ch_knowledge_names *first, const ch_knowledge_names *second, const ch_tree_node *name)
{
    const size_t place = knowledge_name_find(first, name->text, name->length);
    return place == SIZE_MAX && second != NULL ? knowledge_name_find(second, name->text, name->length) : place;
}

/* The nearest name of either map. */
static void fail_name(knowledge_reader *r, const ch_tree_node *at, const ch_knowledge_names *first,
                      const ch_knowledge_names *second, const char *key)
{
    const char *nearest = ch_nearest_word(at->text, at->length, first->name, first->count);
    char quoted[48], right[128];
    if (nearest == NULL && second != NULL)
        nearest = ch_nearest_word(at->text, at->length, second->name, second->count);
    ch_text_excerpt(at->text, at->length, quoted, sizeof quoted);
    snprintf(right, sizeof right, nearest != NULL ? "did you mean %.70s?" : "a name of this plan", nearest);
    knowledge_fail(r, CH_E_INPUT, at, right, "%s: there is no \"%s\" in this plan", key, quoted);
}

/* A list of names, or one name alone. */
static ch_places places_at(knowledge_reader *r, const ch_tree_node *map, const char *key,
                           const ch_knowledge_names *first, const ch_knowledge_names *second, size_t self)
{
    const ch_tree_node *part = r->status >= 0 ? ch_tree_get(map, key) : NULL;
    ch_places none = {0};
    if (part == NULL)
        return none;
    const bool alone = part->kind == CH_TREE_TEXT && !ch_tree_is_null(part);
    const ch_tree_node *list = alone ? part : knowledge_list(r, map, key, false);
    const size_t count = list == NULL ? 0 : alone ? 1 : list->count;
    size_t *at = knowledge_alloc(r, count, sizeof *at), n = 0;
    for (const ch_tree_node *name = alone       ? list
                                    : count > 0 ? list->first
                                                : NULL;
         name != NULL && r->status >= 0; name = alone ? NULL : name->next) {
        if (knowledge_line(r, name) == NULL)
            return none;
        const size_t place = find(first, second, name);
        if (place == SIZE_MAX)
            fail_name(r, name, first, second, key);
        else if (place == self)
            knowledge_fail(r, CH_E_INPUT, name, "another one", "%s names the item itself", key);
        else
            at[n++] = place;
    }
    return r->status < 0 ? none : (ch_places){.at = at, .count = n};
}

/* What the search for circles has seen of an item. */
typedef enum colour { NEW, ON_THE_WAY, FINISHED } colour;

typedef struct circle_search {
    knowledge_reader *r;
    const ch_plan_item *items;
    const ch_places *behind; /* of each item: what has to be done before the steps that it wants closed can be */
    colour *seen;
    size_t *way, *next; /* items on the way, and which of its links each is at */
    size_t length;
} circle_search;

static size_t link_at(const circle_search *s, size_t place, size_t n)
{
    const ch_plan_item *item = &s->items[place];
    const ch_places *const links[] = {&item->needs, &item->within, &item->after, &s->behind[place]};
    for (size_t i = 0; i < sizeof links / sizeof links[0]; i++) {
        if (n < links[i]->count)
            return links[i]->at[n];
        n -= links[i]->count;
    }
    return SIZE_MAX;
}

static bool any_in(const ch_places *places, const bool in[])
{
    for (size_t i = 0; i < places->count; i++)
        if (in[places->at[i]])
            return true;
    return false;
}

/* The steps that an item wants closed, and all that stands inside one of them, through other steps too. */
static ch_places all_behind(knowledge_reader *r, const ch_plan_item items[], size_t count, size_t item)
{
    const ch_places *closed = &items[item].once_closed;
    if (closed->count == 0 || r->status < 0)
        return (ch_places){0};
    bool *in = knowledge_alloc(r, count, sizeof *in);
    size_t *at = knowledge_alloc(r, count, sizeof *at), n = 0;
    if (in == NULL || at == NULL)
        return (ch_places){0};
    for (size_t i = 0; i < closed->count; i++)
        in[closed->at[i]] = true;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < count; i++)
            if (!in[i] && (any_in(&items[i].needs, in) || any_in(&items[i].within, in)))
                in[i] = more = true;
    }
    for (size_t i = 0; i < count; i++)
        if (in[i])
            at[n++] = i;
    return (ch_places){.at = at, .count = n};
}

static void fail_circle(circle_search *s, size_t back_to)
{
    size_t from = 0;
    while (s->way[from] != back_to)
        from++;
    char text[160] = "";
    size_t used = 0;
    bool any_closed = false, any_within = false;
    for (size_t i = from; i < s->length; i++) {
        any_closed = any_closed || s->items[s->way[i]].once_closed.count > 0;
        any_within = any_within || s->items[s->way[i]].within.count > 0;
    }
    for (size_t i = from; i < s->length && used + CH_PLAN_NAME_MAX + 8 < sizeof text; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s -> ", s->items[s->way[i]].name);
    const ch_plan_item *item = &s->items[back_to];
    const ch_tree_node at = {.line = item->line, .column = item->column};
    knowledge_fail(s->r, CH_E_INPUT, &at, "an order of work that has a beginning", "%s go round in a circle: %s%s%s",
                   any_closed && any_within ? "needs, within, after and once_closed"
                   : any_within             ? "needs, within and after"
                   : any_closed             ? "needs, after and once_closed"
                                            : "needs and after",
                   text, s->length - from > 2 && used > 80 ? "... -> " : "", item->name);
}

/* Walk all that must come before `start`, without recursion: a plan may be a thousand steps deep. */
static void walk(circle_search *s, size_t start)
{
    s->way[0] = start;
    s->next[0] = 0;
    s->length = 1;
    s->seen[start] = ON_THE_WAY;
    while (s->length > 0 && s->r->status >= 0) {
        const size_t item = s->way[s->length - 1], to = link_at(s, item, s->next[s->length - 1]++);
        if (to == SIZE_MAX) {
            s->seen[item] = FINISHED;
            s->length--;
        } else if (s->seen[to] == ON_THE_WAY) {
            fail_circle(s, to);
        } else if (s->seen[to] == NEW) {
            s->seen[to] = ON_THE_WAY;
            s->way[s->length] = to;
            s->next[s->length++] = 0;
        }
    }
}

static void refuse_circles(knowledge_reader *r, const ch_plan_item items[], size_t count)
{
    ch_places *behind = knowledge_alloc(r, count, sizeof *behind);
    for (size_t i = 0; i < count && r->status >= 0; i++)
        behind[i] = all_behind(r, items, count, i);
    circle_search s = {.r = r, .items = items, .behind = behind};
    s.seen = knowledge_alloc(r, count, sizeof *s.seen);
    s.way = knowledge_alloc(r, count, sizeof *s.way);
    s.next = knowledge_alloc(r, count, sizeof *s.next);
    for (size_t i = 0; i < count && r->status >= 0; i++)
        if (s.seen[i] == NEW)
            walk(&s, i);
}

static void fail_item(knowledge_reader *r, const ch_plan_item *item, const char *right, const char *what,
                      const char *other)
{
    const ch_tree_node at = {.line = item->line, .column = item->column};
    knowledge_fail(r, CH_E_INPUT, &at, right, "%.64s %s %.64s", item->name, what, other);
}

/* A first step is opened before the others and closed after them: it cannot need one of them, and no job can wait until it is closed. */
static void check_first(knowledge_reader *r, const ch_plan_item items[], size_t place)
{
    const ch_plan_item *item = &items[place];
    for (size_t i = 0; item->first && i < item->needs.count; i++)
        if (!items[item->needs.at[i]].first)
            fail_item(r, item, "needs that are first too", "is first and needs", items[item->needs.at[i]].name);
    for (size_t i = 0; item->first && i < item->within.count; i++)
        if (!items[item->within.at[i]].first)
            fail_item(r, item, "a step that is first too", "is first and lies within", items[item->within.at[i]].name);
    for (size_t i = 0; i < item->once_closed.count; i++)
        if (items[item->once_closed.at[i]].first)
            fail_item(r, item, "a step that is not first: those are closed last", "comes once_closed of",
                      items[item->once_closed.at[i]].name);
}

void plan_read_links(knowledge_reader *r, const ch_tree_node *access, const ch_tree_node *jobs, ch_plan_item items[],
                     const ch_plan *plan)
{
    plan_names names = {0};
    gather_names(r, access, 0, &names.access);
    gather_names(r, jobs, plan->access_count, &names.jobs);
    size_t n = 0;
    for (const ch_tree_node *map = access != NULL ? access->first : NULL; map != NULL && r->status >= 0;
         map = map->next, n++) {
        items[n].needs = places_at(r, map, "needs", &names.access, NULL, n);
        items[n].within = places_at(r, map, "within", &names.access, NULL, n);
    }
    for (const ch_tree_node *map = jobs->first; map != NULL && r->status >= 0; map = map->next, n++) {
        items[n].needs = places_at(r, map, "needs", &names.access, &names.jobs, n);
        items[n].within = places_at(r, map, "within", &names.access, NULL, n);
        items[n].requires_ = places_at(r, map, "requires", &names.jobs, NULL, n);
        items[n].excludes = places_at(r, map, "excludes", &names.jobs, NULL, n);
        items[n].after = places_at(r, map, "after", &names.jobs, &names.access, n);
        items[n].once_closed = places_at(r, map, "once_closed", &names.access, NULL, n);
    }
    for (size_t i = 0; i < plan->items_count && r->status >= 0; i++)
        check_first(r, items, i);
    refuse_circles(r, items, plan->items_count);
}

/*
 * What ties the items of a plan together: names become places, and what must come first is held to be free of circles.
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
    colour *seen;
    size_t *way, *next; /* items on the way, and which of its links each is at */
    size_t length;
} circle_search;

static size_t link_at(const ch_plan_item *item, size_t n)
{
    if (n < item->needs.count)
        return item->needs.at[n];
    n -= item->needs.count;
    return n < item->after.count ? item->after.at[n] : SIZE_MAX;
}

static void fail_circle(circle_search *s, size_t back_to)
{
    size_t from = 0;
    while (s->way[from] != back_to)
        from++;
    char text[160] = "";
    size_t used = 0;
    for (size_t i = from; i < s->length && used + CH_PLAN_NAME_MAX + 8 < sizeof text; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%s -> ", s->items[s->way[i]].name);
    const ch_plan_item *item = &s->items[back_to];
    const ch_tree_node at = {.line = item->line, .column = item->column};
    knowledge_fail(s->r, CH_E_INPUT, &at, "an order of work that has a beginning",
                   "needs and after go round in a circle: %s%s%s", text,
                   s->length - from > 2 && used > 80 ? "... -> " : "", item->name);
}

/* Walk all that must come before `start`, without recursion: a plan may be a thousand steps deep. */
static void walk(circle_search *s, size_t start)
{
    s->way[0] = start;
    s->next[0] = 0;
    s->length = 1;
    s->seen[start] = ON_THE_WAY;
    while (s->length > 0 && s->r->status >= 0) {
        const size_t item = s->way[s->length - 1], to = link_at(&s->items[item], s->next[s->length - 1]++);
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
    circle_search s = {.r = r, .items = items};
    s.seen = knowledge_alloc(r, count, sizeof *s.seen);
    s.way = knowledge_alloc(r, count, sizeof *s.way);
    s.next = knowledge_alloc(r, count, sizeof *s.next);
    for (size_t i = 0; i < count && r->status >= 0; i++)
        if (s.seen[i] == NEW)
            walk(&s, i);
}

void plan_read_links(knowledge_reader *r, const ch_tree_node *access, const ch_tree_node *jobs, ch_plan_item items[],
                     const ch_plan *plan)
{
    plan_names names = {0};
    gather_names(r, access, 0, &names.access);
    gather_names(r, jobs, plan->access_count, &names.jobs);
    size_t n = 0;
    for (const ch_tree_node *map = access != NULL ? access->first : NULL; map != NULL && r->status >= 0;
         map = map->next, n++)
        items[n].needs = places_at(r, map, "needs", &names.access, NULL, n);
    for (const ch_tree_node *map = jobs->first; map != NULL && r->status >= 0; map = map->next, n++) {
        items[n].needs = places_at(r, map, "needs", &names.access, &names.jobs, n);
        items[n].requires_ = places_at(r, map, "requires", &names.jobs, NULL, n);
        items[n].excludes = places_at(r, map, "excludes", &names.jobs, NULL, n);
        items[n].after = places_at(r, map, "after", &names.jobs, &names.access, n);
    }
    refuse_circles(r, items, plan->items_count);
}

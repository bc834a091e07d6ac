/*
 * Procedures in the order of work: those that open up, those that measure, those that close up, and within that whatever
 * `after` asks for; where nothing does, in the order in which they were given.
 */
#include <string.h>

#include "procedure_read.h"

static void check_ids(knowledge_reader *r, const procedure_entry *entries, size_t n)
{
    for (size_t i = 1; i < n && r->status >= 0; i++)
        for (size_t k = 0; k < i; k++)
            if (strcmp(entries[i].made.id, entries[k].made.id) == 0) {
                r->file = entries[i].file;
                knowledge_fail(r, CH_E_INPUT, ch_tree_get(entries[i].root, "id"), "each id once",
                               "\"%.60s\" stands in %.120s too", entries[k].made.id, entries[k].file);
                return;
            }
}

/* `after` of each, as places in `entries` as they stand. */
static void read_after(knowledge_reader *r, procedure_entry *entries, size_t n)
{
    knowledge_named named[CH_PROCEDURES_MAX];
    for (size_t i = 0; i < n && r->status >= 0; i++)
        named[i] = (knowledge_named){entries[i].made.id, i, ch_tree_get(entries[i].root, "id")};
    ch_knowledge_names names = {0};
    if (r->status >= 0)
        knowledge_sort_names(r, named, n, &names);
    for (size_t i = 0; i < n && r->status >= 0; i++) {
        ch_procedure *made = &entries[i].made;
        const ch_tree_node *list = ch_tree_get(entries[i].root, "after");
        if (list == NULL)
            continue;
        r->file = entries[i].file;
        knowledge_places(r, entries[i].root, "after", &names, "procedure", &made->after);
        const ch_tree_node *part = list->first;
        for (size_t k = 0; k < made->after.count && r->status >= 0; k++, part = part->next)
            if (entries[made->after.at[k]].made.role > made->role)
                knowledge_fail(r, CH_E_INPUT, part, "one that opens up, or one of the same role",
                               "\"%.60s\" comes later by its role", part->text);
    }
}

static bool all_placed(const ch_places *after, const bool *placed)
{
    for (size_t i = 0; i < after->count; i++)
        if (!placed[after->at[i]])
            return false;
    return true;
}

/* The next to be done; the first of those that wait for each other, with a failure, where none can be. */
static size_t next_entry(knowledge_reader *r, const procedure_entry *entries, size_t n, const bool *placed)
{
    size_t first = n, ready = n;
    for (size_t i = 0; i < n; i++) {
        if (placed[i])
            continue;
        if (first == n || entries[i].made.role < entries[first].made.role) {
            first = i;
            ready = n;
        }
        if (ready == n && entries[i].made.role == entries[first].made.role &&
            all_placed(&entries[i].made.after, placed))
            ready = i;
    }
    if (ready < n)
        return ready;
    r->file = entries[first].file;
    knowledge_fail(r, CH_E_INPUT, ch_tree_get(entries[first].root, "after"), "an order that can be followed",
                   "this waits, through others, for itself");
    return first;
}

/* Sets `after` again, now as places in the new order. */
static void renumber(knowledge_reader *r, procedure_entry *entries, size_t n, const size_t *new_place)
{
    for (size_t i = 0; i < n && r->status >= 0; i++) {
        ch_places *after = &entries[i].made.after;
        size_t *at = knowledge_alloc(r, after->count, sizeof *at);
        for (size_t k = 0; at != NULL && k < after->count; k++)
            at[k] = new_place[after->at[k]];
        after->at = at;
    }
}

void procedure_sort(knowledge_reader *r, procedure_entry *entries, size_t n)
{
    procedure_entry sorted[CH_PROCEDURES_MAX];
    size_t new_place[CH_PROCEDURES_MAX];
    bool placed[CH_PROCEDURES_MAX] = {false};
    check_ids(r, entries, n);
    read_after(r, entries, n);
    for (size_t i = 0; i < n && r->status >= 0; i++) {
        const size_t next = next_entry(r, entries, n, placed);
        placed[next] = true;
        new_place[next] = i;
        sorted[i] = entries[next];
    }
    if (r->status < 0)
        return;
    memcpy(entries, sorted, n * sizeof *entries);
    renumber(r, entries, n, new_place);
}

/*
 * What is taken off must be put back, and what can hurt must have been said: the rules that look across steps.
 */
#include <stdint.h>
#include <string.h>

#include "procedure_read.h"

static void check_torque(knowledge_reader *r, const ch_tree_node *map, const char *torque)
{
    if (torque != NULL && strpbrk(torque, "0123456789") != NULL)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "torque"), "what to look up in the car's own manual",
                       "torque holds a figure");
}

static void read_ask(knowledge_reader *r, const ch_tree_node *map, ch_procedure_thing *to)
{
    static const char *const name[] = {"where", "which"}; /* sorted */
    static const size_t place[] = {0, 1};
    const ch_knowledge_names questions = {.name = name, .place = place, .count = 2};
    ch_places asked = {0};
    if (r->status < 0 || ch_tree_get(map, "ask") == NULL)
        return;
    knowledge_places(r, map, "ask", &questions, "question", &asked);
    for (size_t i = 0; i < asked.count; i++)
        *(asked.at[i] == 0 ? &to->ask_where : &to->ask_which) = true;
}

static void read_thing(knowledge_reader *r, const ch_tree_node *map, ch_procedure_thing *to)
{
    knowledge_keys(r, map, "id", "what", "from", "ask", "torque", "before_cranking");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->what = procedure_text(r, map, "what", false, to->scope);
    to->from = procedure_text(r, map, "from", false, to->scope);
    read_ask(r, map, to);
    to->torque = procedure_text(r, map, "torque", true, to->scope);
    check_torque(r, map, to->torque);
    if (r->status >= 0 && ch_tree_get(map, "before_cranking") != NULL)
        knowledge_caution_places(r, map, "before_cranking", &to->before_cranking);
    if (r->status >= 0 && to->scope == CH_STEP_EACH_CYLINDER && strchr(to->what, '{') == NULL)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "what"), "{cylinder} in it",
                       "what does not tell one cylinder's from the next");
}

/* Place of a thing, or `n`. */
static size_t find_thing(const ch_procedure_thing *things, size_t n, const char *id)
{
    size_t i = 0;
    while (i < n && strcmp(things[i].id, id) != 0)
        i++;
    return i;
}

static void take_off(knowledge_reader *r, const procedure_entry *entries, size_t procedure, size_t step,
                     const ch_tree_node *map, ch_procedure_thing *things, size_t *n)
{
    ch_procedure_step *from = &entries[procedure].steps[step];
    ch_procedure_thing *to = &things[*n];
    to->scope = from->scope;
    to->taken_procedure = procedure;
    to->taken_step = step;
    to->back_procedure = to->back_step = SIZE_MAX;
    read_thing(r, map, to);
    if (r->status < 0)
        return;
    const size_t again = find_thing(things, *n, to->id);
    if (again < *n) {
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "id"), "each thing once",
                       "\"%.60s\" is taken off in %.60s, step %.60s already", to->id,
                       entries[things[again].taken_procedure].made.id,
                       entries[things[again].taken_procedure].steps[things[again].taken_step].id);
        return;
    }
    from->takes_off = (long)*n;
    ++*n;
}

static void put_back(knowledge_reader *r, const procedure_entry *entries, size_t procedure, size_t step,
                     const ch_tree_node *part, ch_procedure_thing *things, size_t n)
{
    ch_procedure_step *at = &entries[procedure].steps[step];
    const char *id = knowledge_id(r, part);
    if (id == NULL)
        return;
    const size_t place = find_thing(things, n, id);
    if (place == n) {
        const char *ids[CH_PROCEDURE_THINGS_MAX];
        char right[256];
        for (size_t i = 0; i < n; i++)
            ids[i] = things[i].id;
        knowledge_suggest(id, part->length, ids, n, right);
        knowledge_fail(r, CH_E_INPUT, part, right, "nothing called \"%.60s\" is taken off", id);
        return;
    }
    ch_procedure_thing *thing = &things[place];
    const bool later = procedure == thing->taken_procedure
                           ? step > thing->taken_step
                           : procedure > thing->taken_procedure && entries[procedure].made.role == CH_PROCEDURE_CLOSE;
    if (!later)
        knowledge_fail(r, CH_E_INPUT, part, "later in the same procedure, or in one that closes up",
                       "\"%.60s\" cannot be put back here", id);
    else if (thing->scope != at->scope)
        knowledge_fail(r, CH_E_INPUT, part, "the scope of the step that takes it off", "\"%.60s\" is taken off %s", id,
                       thing->scope == CH_STEP_ONCE ? "once" : "at each cylinder");
    else if (thing->back_step != SIZE_MAX)
        knowledge_fail(r, CH_E_INPUT, part, "once", "\"%.60s\" is put back already, in step %.60s", id,
                       entries[thing->back_procedure].steps[thing->back_step].id);
    if (r->status < 0)
        return;
    thing->back_procedure = procedure;
    thing->back_step = step;
    at->puts_back = (long)place;
}

/* A check that stands before a thing is put back: in the same procedure, ahead of the step that does it. */
static void stand_ahead(knowledge_reader *r, const procedure_entry *entries, size_t procedure, size_t step,
                        const ch_tree_node *part, const ch_procedure_thing *things, size_t n)
{
    const char *id = knowledge_id(r, part);
    if (id == NULL)
        return;
    const size_t place = find_thing(things, n, id);
    if (place == n || things[place].back_procedure != procedure || things[place].back_step <= step) {
        knowledge_fail(r, CH_E_INPUT, part, "a thing that a later step of this procedure puts back",
                       "\"%.60s\" is not put back after this step", id);
        return;
    }
    entries[procedure].steps[step].ahead_of = (long)place;
}

enum pass { TAKE_OFF, PUT_BACK, AHEAD };

/* All steps in the order of work. */
static void walk(knowledge_reader *r, const procedure_entry *entries, size_t count, enum pass pass,
                 ch_procedure_thing *things, size_t *n)
{
    static const char *const keys[] = {[TAKE_OFF] = "takes_off", [PUT_BACK] = "puts_back", [AHEAD] = "ahead_of"};
    for (size_t procedure = 0; procedure < count; procedure++) {
        r->file = entries[procedure].file;
        size_t step = 0;
        for (const ch_tree_node *map = ch_tree_get(entries[procedure].root, "steps")->first;
             map != NULL && r->status >= 0; map = map->next, step++) {
            const ch_tree_node *part = ch_tree_get(map, keys[pass]);
            if (part == NULL)
                continue;
            if (pass == AHEAD)
                stand_ahead(r, entries, procedure, step, part, things, *n);
            else if (pass == PUT_BACK)
                put_back(r, entries, procedure, step, part, things, *n);
            else if (*n == CH_PROCEDURE_THINGS_MAX)
                knowledge_fail(r, CH_E_LIMIT, part, "at most 256", "too many things taken off");
            else
                take_off(r, entries, procedure, step, part, things, n);
        }
    }
}

/* The value of `takes_off` in the step that takes a thing off. */
static const ch_tree_node *node_of(const procedure_entry *entries, const ch_procedure_thing *thing)
{
    const ch_tree_node *map = ch_tree_get(entries[thing->taken_procedure].root, "steps")->first;
    for (size_t i = 0; i < thing->taken_step; i++)
        map = map->next;
    return ch_tree_get(map, "takes_off");
}

void procedure_read_things(knowledge_reader *r, procedure_entry *entries, size_t n, ch_procedures *to)
{
    ch_procedure_thing *things = knowledge_alloc(r, CH_PROCEDURE_THINGS_MAX, sizeof *things);
    size_t count = 0;
    if (things == NULL)
        return;
    walk(r, entries, n, TAKE_OFF, things, &count);
    walk(r, entries, n, PUT_BACK, things, &count);
    walk(r, entries, n, AHEAD, things, &count);
    for (size_t i = 0; i < count && r->status >= 0; i++)
        if (things[i].back_step == SIZE_MAX) {
            r->file = entries[things[i].taken_procedure].file;
            knowledge_fail(r, CH_E_INPUT, node_of(entries, &things[i]),
                           "a later step, here or in a procedure that closes up, with puts_back",
                           "nothing puts \"%.60s\" back", things[i].id);
        }
    to->things = things;
    to->things_count = count;
}

/* Whether one of the steps up to `last` has this caution. */
static bool has_said(const knowledge_reader *r, const ch_procedure *procedure, size_t last, const char *caution)
{
    for (size_t i = 0; i <= last; i++)
        for (size_t k = 0; k < procedure->steps[i].cautions.count; k++)
            if (strcmp(r->to->cautions[procedure->steps[i].cautions.at[k]].id, caution) == 0)
                return true;
    return false;
}

void procedure_check_cautions(knowledge_reader *r, const procedure_entry *entry)
{
    if (r->status < 0)
        return;
    r->file = entry->file;
    const ch_tree_node *map = ch_tree_get(entry->root, "steps")->first;
    for (size_t i = 0; i < entry->made.steps_count && r->status >= 0; i++, map = map->next) {
        const ch_procedure_step *step = &entry->made.steps[i];
        const bool cranks = step->crank_most_s > 0;
        const struct {
            bool needed;
            const char *does, *caution;
        } rules[] = {
            {cranks, "cranks", "cranking_spray"},
            {cranks, "cranks", "ignition_voltage"},
            {step->air, "lets air into a cylinder", "air_turns_crank"},
        };
        for (size_t k = 0; k < sizeof rules / sizeof rules[0]; k++)
            if (rules[k].needed && !has_said(r, &entry->made, i, rules[k].caution))
                knowledge_fail(r, CH_E_INPUT, map, "that caution on this step or on one before it",
                               "step \"%.60s\" %s without the caution %s", step->id, rules[k].does, rules[k].caution);
    }
}

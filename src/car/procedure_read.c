/*
 * One file of knowledge/procedures/ by itself: its keys, texts, times and steps. Rules: docs/procedures.md.
 * What ties files together (order, things taken off, cautions) is held elsewhere.
 */
#include "procedure_read.h"

#include <string.h>

#include "crosshatch/text.h"

#define MINUTE_S 60.0
#define CRANK_LONGEST_S 10.0 /* a starter's rest comes after ten seconds at the latest: common practice */

static const char placeholder[] = "{cylinder}";

const char *procedure_text(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional,
                           ch_step_scope scope)
{
    const char *text = knowledge_text(r, map, key, optional);
    if (text == NULL)
        return NULL;
    for (const char *at = strpbrk(text, "{}"); at != NULL; at = strpbrk(at, "{}")) {
        if (scope == CH_STEP_EACH_CYLINDER && strncmp(at, placeholder, strlen(placeholder)) == 0) {
            at += strlen(placeholder);
            continue;
        }
        char quoted[48];
        ch_text_excerpt(at, strlen(at), quoted, sizeof quoted);
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, key),
                       scope == CH_STEP_ONCE ? "no { or } in a step that is done once" : "{cylinder}", "\"%s\" in %s",
                       quoted, key);
        return NULL;
    }
    return text;
}

/* The starter's seconds: `crank: {least: 5, most: 6}`. */
static void read_crank(knowledge_reader *r, const ch_tree_node *map, ch_procedure_step *to)
{
    static const knowledge_range burst = {0, CRANK_LONGEST_S, true, false, "more than 0 s and at most 10 s"};
    const ch_tree_node *crank = knowledge_map(r, map, "crank", true);
    if (crank == NULL)
        return;
    knowledge_keys(r, crank, "least", "most");
    to->crank_least_s = knowledge_number_at(r, crank, "least", &burst);
    to->crank_most_s = knowledge_number_at(r, crank, "most", &burst);
    if (r->status >= 0 && to->crank_most_s < to->crank_least_s)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(crank, "most"), "no less than least", "most is less than least");
}

static void read_rows(knowledge_reader *r, const ch_tree_node *map, ch_procedure_step *to)
{
    const ch_tree_node *part = ch_tree_get(map, "rows");
    if (r->status < 0 || part == NULL)
        return;
    if (to->kind != CH_STEP_MEASURE) {
        knowledge_fail(r, CH_E_INPUT, part, "kind: measure", "rows of a step that measures nothing");
        return;
    }
    to->rows = knowledge_rows(r, map);
}

/* A key that goes with some kinds only: there it must stand, elsewhere it must not. */
static void check_belongs(knowledge_reader *r, const ch_tree_node *map, const char *key, bool belongs,
                          const char *right)
{
    const ch_tree_node *part = r->status >= 0 ? ch_tree_get(map, key) : NULL;
    if (r->status < 0 || (part != NULL) == belongs)
        return;
    if (belongs)
        knowledge_need(r, map, key);
    else
        knowledge_fail(r, CH_E_INPUT, part, right, "%s in a step of another kind", key);
}

static void read_step(knowledge_reader *r, const ch_tree_node *map, ch_procedure_step *to)
{
    static const char *const scopes[] = {"once", "each_cylinder"};
    static const char *const answers[] = {"false", "true"};
    const char *kinds[CH_STEP_NOTE + 1];
    for (int i = 0; i <= CH_STEP_NOTE; i++)
        kinds[i] = ch_step_kind_name((ch_step_kind)i);
    knowledge_keys(r, map, "id", "kind", "scope", "all_at_once", "applies", "text", "why", "done", "cautions",
                   "before_cranking", "source", "rows", "crank", "air", "takes_off", "puts_back", "ahead_of");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->kind = (ch_step_kind)knowledge_word(r, map, "kind", kinds, CH_STEP_NOTE + 1, -1);
    to->scope = (ch_step_scope)knowledge_word(r, map, "scope", scopes, 2, -1);
    to->applies = procedure_text(r, map, "applies", true, to->scope);
    to->text = procedure_text(r, map, "text", false, to->scope);
    to->why = procedure_text(r, map, "why", false, to->scope);
    to->done = procedure_text(r, map, "done", false, to->scope);
    knowledge_caution_places(r, map, "cautions", &to->cautions);
    if (r->status >= 0 && ch_tree_get(map, "before_cranking") != NULL) {
        knowledge_caution_places(r, map, "before_cranking", &to->before_cranking);
        if (r->status >= 0 && to->scope != CH_STEP_ONCE)
            knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "before_cranking"), "scope: once",
                           "before_cranking in a step of each cylinder");
    }
    to->source = knowledge_text(r, map, "source", true);
    if (to->source == NULL)
        to->source = "common practice";
    read_rows(r, map, to);
    read_crank(r, map, to);
    to->air = knowledge_word(r, map, "air", answers, 2, 0) == 1;
    to->all_at_once = knowledge_word(r, map, "all_at_once", answers, 2, 0) == 1;
    to->takes_off = to->puts_back = to->ahead_of = CH_NO_THING;
    check_belongs(r, map, "takes_off", to->kind == CH_STEP_REMOVE || to->kind == CH_STEP_DISABLE,
                  "kind: remove or disable");
    check_belongs(r, map, "puts_back", to->kind == CH_STEP_REFIT, "kind: refit");
    if (r->status >= 0 && ch_tree_get(map, "ahead_of") != NULL &&
        (to->kind != CH_STEP_CHECK || to->scope != CH_STEP_ONCE))
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "ahead_of"), "kind: check and scope: once",
                       "ahead_of in a step of another kind");
}

/* Another step of its round of whose work at a cylinder it is a part: one that measures, cranks or lets air in. NULL = none. */
static const ch_procedure_step *chained_to(const ch_procedure_step *steps, size_t count, size_t at)
{
    size_t first = at;
    while (first > 0 && steps[first - 1].scope == CH_STEP_EACH_CYLINDER)
        first--;
    for (size_t i = first; i < count && steps[i].scope == CH_STEP_EACH_CYLINDER; i++)
        if (steps[i].kind == CH_STEP_MEASURE || steps[i].crank_most_s > 0 || steps[i].air)
            return &steps[i];
    return NULL;
}

/* What prepares one cylinder for air or starter, or ends it, is undone by the next cylinder: it is never done at all at once. */
static void check_at_once(knowledge_reader *r, const ch_tree_node *list, const ch_procedure_step *steps, size_t count)
{
    const ch_tree_node *map = list->first;
    for (size_t i = 0; i < count && r->status >= 0; i++, map = map->next) {
        const ch_tree_node *part = ch_tree_get(map, "all_at_once");
        if (!steps[i].all_at_once)
            continue;
        const ch_procedure_step *chained = steps[i].scope == CH_STEP_EACH_CYLINDER ? chained_to(steps, count, i) : NULL;
        if (steps[i].scope != CH_STEP_EACH_CYLINDER)
            knowledge_fail(r, CH_E_INPUT, part, "scope: each_cylinder", "all_at_once in a step that is done once");
        else if (steps[i].kind == CH_STEP_REFIT)
            knowledge_fail(r, CH_E_INPUT, part, "each thing seen to be back, one by one",
                           "all_at_once in a step of kind refit");
        else if (chained != NULL)
            knowledge_fail(r, CH_E_INPUT, part, "one cylinder after the other",
                           "step \"%.60s\" is in one round with \"%.60s\", which measures, cranks or lets air in",
                           steps[i].id, chained->id);
    }
}

static void read_steps(knowledge_reader *r, procedure_entry *entry)
{
    const ch_tree_node *list = knowledge_list(r, entry->root, "steps", false);
    if (list == NULL)
        return;
    if (list->count == 0) {
        knowledge_fail(r, CH_E_INPUT, list, "at least one", "a procedure without steps");
        return;
    }
    entry->steps = knowledge_alloc(r, list->count, sizeof *entry->steps);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_step(r, map, &entry->steps[n++]);
    if (r->status >= 0)
        check_at_once(r, list, entry->steps, n);
    ch_knowledge_names each_once = {0};
    knowledge_name_entries(r, list, &each_once);
    entry->made.steps = entry->steps;
    entry->made.steps_count = n;
}

static void read_needs(knowledge_reader *r, const ch_tree_node *root, ch_procedure *to)
{
    const ch_tree_node *list = knowledge_list(r, root, "needs", false);
    if (list == NULL)
        return;
    const char **needs = knowledge_alloc(r, list->count, sizeof *needs);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next)
        needs[n++] = knowledge_line(r, part);
    to->needs = needs;
    to->needs_count = n;
}

static void read_duration(knowledge_reader *r, const ch_tree_node *root, ch_procedure *to)
{
    const ch_tree_node *minutes = knowledge_map(r, root, "minutes", false);
    if (minutes == NULL)
        return;
    knowledge_keys(r, minutes, "setup", "each");
    to->setup_s = knowledge_number_at(r, minutes, "setup", &knowledge_not_negative) * MINUTE_S;
    to->each_s = knowledge_number_at(r, minutes, "each", &knowledge_not_negative) * MINUTE_S;
    if (r->status >= 0 && !(to->setup_s + to->each_s > 0))
        knowledge_fail(r, CH_E_INPUT, minutes, "more than 0 in all", "a procedure that takes no time");
}

static void read_root(knowledge_reader *r, procedure_entry *entry)
{
    static const char *const headings[] = {"procedure"}, *const versions[] = {"1"};
    static const char *const roles[] = {"open", "measure", "close"};
    const ch_tree_node *root = entry->root;
    ch_procedure *to = &entry->made;
    if (root->kind != CH_TREE_MAP) {
        knowledge_fail(r, CH_E_INPUT, root, "keys and values, as docs/procedures.md has them", "not a procedure");
        return;
    }
    knowledge_word(r, root, "knowledge", headings, 1, -1);
    knowledge_word(r, root, "version", versions, 1, -1);
    knowledge_keys(r, root, "knowledge", "version", "id", "title", "role", "why", "after", "needs", "minutes", "source",
                   "steps");
    to->id = knowledge_id(r, knowledge_need(r, root, "id"));
    to->title = knowledge_text(r, root, "title", false);
    to->role = (ch_procedure_role)knowledge_word(r, root, "role", roles, 3, -1);
    to->why = knowledge_text(r, root, "why", false);
    to->source = knowledge_text(r, root, "source", false);
    read_needs(r, root, to);
    read_duration(r, root, to);
    read_steps(r, entry);
}

void procedure_read_file(knowledge_reader *r, const ch_knowledge_text *text, procedure_entry *entry)
{
    if (r->status < 0)
        return;
    ch_tree *tree = NULL;
    r->file = text->name;
    r->status = ch_tree_parse(text->name, text->text, text->length, &tree, r->err);
    if (r->status < 0)
        return;
    knowledge_keep_tree(r, tree);
    if (r->status < 0) {
        ch_tree_free(tree);
        return;
    }
    entry->root = ch_tree_root(tree);
    entry->file = text->name;
    read_root(r, entry);
}

/* knowledge/driveline.yaml: causes and patterns by their fixed ids and order, signs and checks as many as there are. */
#include "crosshatch/clutch_knowledge.h"

#include <stdint.h>
#include <string.h>

#include "crosshatch/text.h"
#include "knowledge_read.h"

static const char *const cause_ids[CH_CLUTCH_CAUSES] = {
    [CH_CLUTCH_SOUND] = "sound",
    [CH_CLUTCH_WORN] = "worn",
    [CH_CLUTCH_GLAZED] = "glazed",
    [CH_CLUTCH_OIL_CONTAMINATED] = "oil_contaminated",
    [CH_CLUTCH_PRESSURE_PLATE] = "pressure_plate",
    [CH_CLUTCH_HYDRAULIC_OR_CABLE] = "hydraulic_or_cable",
    [CH_CLUTCH_FLYWHEEL] = "flywheel",
    [CH_CLUTCH_NOT_THE_CLUTCH] = "not_the_clutch",
};
static const char *const pattern_ids[CH_CLUTCH_PATTERNS] = {
    [CH_PATTERN_SLIPS] = "slips",
    [CH_PATTERN_SOMETHING_ELSE] = "something_else",
    [CH_PATTERN_FIRST_PULL] = "from_the_first_pull",
    [CH_PATTERN_GROWS_WITH_HEAT] = "grows_with_heat",
    [CH_PATTERN_RECOVERS] = "recovers",
    [CH_PATTERN_HIGH_GEARS] = "high_gears_only",
    [CH_PATTERN_FAR_BELOW_DESIGN] = "far_below_design",
};

static const double MINUTE_S = 60;

const char *ch_clutch_cause_id(ch_clutch_cause cause)
{
    return (unsigned)cause < CH_CLUTCH_CAUSES ? cause_ids[cause] : NULL;
}

static void read_positive(knowledge_reader *r, const ch_tree_node *map, double positive_1[CH_CLUTCH_CAUSES])
{
    const ch_tree_node *positive = knowledge_map(r, map, "positive", false);
    if (positive == NULL)
        return;
    knowledge_keys_of(r, positive, cause_ids, CH_CLUTCH_CAUSES);
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        positive_1[c] = knowledge_number_at(r, positive, cause_ids[c], &knowledge_open_chance);
}

static void read_sign(knowledge_reader *r, const ch_tree_node *map, ch_clutch_sign *to)
{
    knowledge_keys(r, map, "id", "title", "positive", "source");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->title = knowledge_text(r, map, "title", false);
    to->source = knowledge_text(r, map, "source", false);
    read_positive(r, map, to->positive_1);
}

/* Entries whose ids are fixed stand in their order. */
static bool has_place(knowledge_reader *r, const ch_tree_node *map, const char *id, const char *wanted)
{
    if (r->status >= 0 && id != NULL && strcmp(id, wanted) != 0)
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "id"), wanted, "\"%.60s\" stands here", id);
    return r->status >= 0;
}

static const ch_tree_node *list_of(knowledge_reader *r, const ch_tree_node *root, const char *key, size_t count)
{
    const ch_tree_node *list = knowledge_list(r, root, key, false);
    if (list != NULL && count > 0 && list->count != count) {
        knowledge_fail(r, CH_E_INPUT, list, "each once", "%zu %s, the program knows %zu", list->count, key, count);
        return NULL;
    }
    return list;
}

static void read_causes(knowledge_reader *r, const ch_tree_node *root, ch_clutch_knowledge *to)
{
    const ch_tree_node *list = list_of(r, root, "causes", CH_CLUTCH_CAUSES);
    double sum = 0;
    int c = 0;
    for (const ch_tree_node *map = list != NULL ? list->first : NULL; map != NULL && r->status >= 0;
         map = map->next, c++) {
        ch_clutch_cause_known *cause = &to->cause[c];
        knowledge_keys(r, map, "id", "title", "says", "prior", "before", "after", "source", "cautions");
        cause->id = knowledge_id(r, knowledge_need(r, map, "id"));
        if (!has_place(r, map, cause->id, cause_ids[c]))
            return;
        cause->title = knowledge_text(r, map, "title", false);
        cause->says = knowledge_text(r, map, "says", false);
        cause->before = knowledge_text(r, map, "before", false);
        cause->after = knowledge_text(r, map, "after", false);
        cause->source = knowledge_text(r, map, "source", false);
        cause->prior_1 = knowledge_number_at(r, map, "prior", &knowledge_open_chance);
        knowledge_caution_places(r, map, "cautions", &cause->cautions);
        sum += cause->prior_1;
    }
    if (r->status < 0)
        return;
    sum = knowledge_check_sum(r, list, "the priors", sum);
    for (c = 0; c < CH_CLUTCH_CAUSES; c++)
        to->cause[c].prior_1 /= sum;
}

static void read_patterns(knowledge_reader *r, const ch_tree_node *root, ch_clutch_knowledge *to)
{
    const ch_tree_node *list = list_of(r, root, "patterns", CH_CLUTCH_PATTERNS);
    int p = 0;
    for (const ch_tree_node *map = list != NULL ? list->first : NULL; map != NULL && r->status >= 0;
         map = map->next, p++) {
        read_sign(r, map, &to->pattern[p]);
        if (!has_place(r, map, to->pattern[p].id, pattern_ids[p]))
            return;
    }
}

static void read_signs(knowledge_reader *r, const ch_tree_node *root, ch_clutch_knowledge *to)
{
    const ch_tree_node *list = list_of(r, root, "signs", 0);
    if (list == NULL)
        return;
    ch_clutch_sign *signs = knowledge_alloc(r, list->count, sizeof *signs);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_sign(r, map, &signs[n++]);
    to->signs = signs;
    to->signs_n = n;
    knowledge_name_entries(r, list, &to->sign_names);
}

static void read_checks(knowledge_reader *r, const ch_tree_node *root, ch_clutch_knowledge *to)
{
    const ch_tree_node *list = list_of(r, root, "checks", 0);
    if (list == NULL)
        return;
    ch_clutch_check *checks = knowledge_alloc(r, list->count, sizeof *checks);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next, n++) {
        knowledge_keys(r, map, "id", "title", "says", "minutes", "yields", "cautions", "source");
        checks[n].id = knowledge_id(r, knowledge_need(r, map, "id"));
        checks[n].title = knowledge_text(r, map, "title", false);
        checks[n].says = knowledge_text(r, map, "says", false);
        checks[n].source = knowledge_text(r, map, "source", false);
        checks[n].seconds = knowledge_number_at(r, map, "minutes", &knowledge_positive) * MINUTE_S;
        knowledge_places(r, map, "yields", &to->sign_names, "sign", &checks[n].yields);
        knowledge_caution_places(r, map, "cautions", &checks[n].cautions);
    }
    to->checks = checks;
    to->checks_n = n;
}

static void read_all(knowledge_reader *r, const ch_tree_node *root, ch_clutch_knowledge *to)
{
    static const char *const heading[] = {"driveline"}, *const version[] = {"1"};
    if (root->kind != CH_TREE_MAP) {
        knowledge_fail(r, CH_E_INPUT, root, "keys and values, as docs/driveline.md has them", "not a knowledge file");
        return;
    }
    knowledge_word(r, root, "knowledge", heading, 1, -1);
    knowledge_word(r, root, "version", version, 1, -1);
    knowledge_keys(r, root, "knowledge", "version", "causes", "patterns", "signs", "checks");
    read_causes(r, root, to);
    read_patterns(r, root, to);
    read_signs(r, root, to);
    read_checks(r, root, to);
}

ch_status ch_clutch_knowledge_parse(ch_clutch_knowledge *to, const ch_knowledge *knowledge,
                                    const ch_knowledge_text *text, ch_err *err)
{
    ch_knowledge owner = *knowledge;
    owner.pieces = NULL;
    ch_clutch_knowledge made = {0};
    knowledge_reader r = {.to = &owner, .file = text->name, .err = err};
    ch_tree *tree = NULL;
    r.status = ch_tree_parse(text->name, text->text, text->length, &tree, err);
    if (r.status < 0)
        return r.status;
    knowledge_keep_tree(&r, tree);
    if (r.status < 0)
        ch_tree_free(tree);
    else
        read_all(&r, ch_tree_root(tree), &made);
    made.pieces = owner.pieces;
    if (r.status < 0) {
        ch_clutch_knowledge_clear(&made);
        return r.status;
    }
    *to = made;
    return CH_OK;
}

void ch_clutch_knowledge_clear(ch_clutch_knowledge *knowledge)
{
    ch_knowledge owner = {.pieces = knowledge->pieces};
    ch_knowledge_clear(&owner);
    *knowledge = (ch_clutch_knowledge){0};
}

size_t ch_clutch_sign_find(const ch_clutch_knowledge *knowledge, const char *id, size_t length)
{
    return knowledge_name_find(&knowledge->sign_names, id, length);
}

const char *ch_clutch_sign_nearest(const ch_clutch_knowledge *knowledge, const char *id, size_t length)
{
    return ch_nearest_word(id, length, knowledge->sign_names.name, knowledge->sign_names.count);
}

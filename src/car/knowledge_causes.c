/*
 * causes.yaml: how often each cause occurs, and how large a hole it makes. Rules: docs/knowledge.md.
 * The file speaks mm2, mm and km; here it becomes SI.
 */
#include <math.h>
#include <string.h>

#include "crosshatch/text.h"
#include "knowledge_read.h"

static const double mm2 = 1e-6, mm = 1e-3, km = 1e3; /* in m2, m, m */

static void read_background(knowledge_reader *r, const ch_tree_node *root)
{
    const ch_tree_node *map = knowledge_map(r, root, "background", false);
    if (map == NULL)
        return;
    knowledge_keys(r, map, "rings", "intake_valve", "exhaust_valve", "neighbour", "coolant");
    for (int path = 0; path < CH_PATH_COUNT; path++) {
        const ch_tree_node *part = knowledge_map(r, map, ch_path_name((ch_path)path), false);
        if (part == NULL)
            return;
        if (path == CH_PATH_RINGS) {
            knowledge_keys(r, part, "median", "spread", "at_bore_mm");
            r->to->background_rings_bore_m = knowledge_number_at(r, part, "at_bore_mm", &knowledge_positive) * mm;
        } else {
            knowledge_keys(r, part, "median", "spread");
        }
        r->to->background_m2[path] = (ch_lognormal){
            .weight_1 = 1,
            .median = knowledge_number_at(r, part, "median", &knowledge_positive) * mm2,
            .spread_1 = knowledge_number_at(r, part, "spread", &knowledge_positive),
        };
    }
}

static void read_hearing(knowledge_reader *r, const ch_tree_node *root)
{
    const ch_tree_node *map = knowledge_map(r, root, "hearing", false);
    if (map == NULL)
        return;
    knowledge_keys(r, map, "noted", "share", "least", "least_oil_filler", "listeners", "oil_filler_blur",
                   "false_intake", "false_exhaust", "false_coolant", "false_cylinder", "false_oil_filler");
    const double least = knowledge_number_at(r, map, "least", &knowledge_not_negative);
    r->to->hearing = (ch_knowledge_hearing){
        .noted_1 = knowledge_number_at(r, map, "noted", &knowledge_open_chance),
        .share_1 = knowledge_number_at(r, map, "share", &knowledge_part),
        .least_m2 = least * mm2,
        .least_oil_filler_m2 = knowledge_number_or(r, map, "least_oil_filler", &knowledge_not_negative, least) * mm2,
        .listeners_spread_1 = knowledge_number_or(r, map, "listeners", &knowledge_positive, 0.8),
        .oil_filler_blur_1 = knowledge_number_or(r, map, "oil_filler_blur", &knowledge_positive, 0.4),
        .false_intake_1 = knowledge_number_at(r, map, "false_intake", &knowledge_open_chance),
        .false_exhaust_1 = knowledge_number_at(r, map, "false_exhaust", &knowledge_open_chance),
        .false_coolant_1 = knowledge_number_at(r, map, "false_coolant", &knowledge_open_chance),
        .false_cylinder_1 = knowledge_number_at(r, map, "false_cylinder", &knowledge_open_chance),
        .false_oil_filler_1 = knowledge_number_at(r, map, "false_oil_filler", &knowledge_open_chance),
    };
}

static void read_mileage(knowledge_reader *r, const ch_tree_node *root)
{
    const ch_tree_node *map = knowledge_map(r, root, "mileage", false);
    if (map == NULL)
        return;
    knowledge_keys(r, map, "reference_km", "least", "most");
    r->to->mileage = (ch_knowledge_mileage){
        .reference_m = knowledge_number_at(r, map, "reference_km", &knowledge_positive) * km,
        .least_1 = knowledge_number_at(r, map, "least", &knowledge_part),
        .most_1 = knowledge_number_at(r, map, "most", &knowledge_one_or_more),
    };
}

static void read_paths(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_cause *cause)
{
    const ch_tree_node *paths = knowledge_map(r, map, "paths", false);
    if (paths == NULL)
        return;
    knowledge_keys(r, paths, "none", "rings", "intake_valve", "exhaust_valve", "neighbour", "coolant");
    cause->no_path_chance_1 = knowledge_number_or(r, paths, "none", &knowledge_chance, 0);
    double sum = cause->no_path_chance_1;
    for (int path = 0; path < CH_PATH_COUNT; path++) {
        cause->path_chance_1[path] = knowledge_number_or(r, paths, ch_path_name((ch_path)path), &knowledge_chance, 0);
        sum += cause->path_chance_1[path];
    }
    sum = knowledge_check_sum(r, paths, "the chances of the paths", sum);
    cause->no_path_chance_1 /= sum;
    for (int path = 0; path < CH_PATH_COUNT; path++)
        cause->path_chance_1[path] /= sum;
    if (r->status >= 0 && (cause->scope == CH_SCOPE_PAIR) != (cause->path_chance_1[CH_PATH_NEIGHBOUR] > 0))
        knowledge_fail(r, CH_E_INPUT, paths, "scope pair and the path neighbour go together",
                       cause->scope == CH_SCOPE_PAIR ? "a cause of a pair without the path neighbour"
                                                     : "the path neighbour in a cause of one cylinder");
    if (r->status >= 0 && cause->scope == CH_SCOPE_PAIR && cause->path_chance_1[CH_PATH_NEIGHBOUR] < 1)
        knowledge_fail(r, CH_E_INPUT, paths, "{neighbour: 1}", "a cause of a pair with another path");
}

static void read_areas(knowledge_reader *r, const ch_tree_node *map, ch_knowledge_cause *cause)
{
    const ch_tree_node *areas = knowledge_list(r, map, "areas", false);
    knowledge_mixture(r, areas, mm2, &cause->areas_m2);
    if (r->status >= 0 && cause->areas_m2.count == 0 && cause->no_path_chance_1 < 1)
        knowledge_fail(r, CH_E_INPUT, areas, "areas, or paths: {none: 1}", "a cause that opens a path needs areas");
    cause->areas_source = knowledge_text(r, map, "areas_source", false);
}

/* A key that has a meaning with one cause only: needed there, refused elsewhere rather than passed over. True where it is due. */
static bool belongs(knowledge_reader *r, const ch_tree_node *map, const char *key, bool here, const char *where)
{
    const ch_tree_node *part = ch_tree_get(map, key);
    if (!here && part != NULL && r->status >= 0)
        knowledge_fail(r, CH_E_INPUT, part, "leave it out", "\"%s\" has a meaning only %s", key, where);
    return here && r->status >= 0;
}

static void read_factor(knowledge_reader *r, const ch_tree_node *map, const char *key, ch_mixture *factor)
{
    const ch_tree_node *list = knowledge_list(r, map, key, false);
    knowledge_mixture(r, list, 1, factor);
    if (r->status >= 0 && factor->count == 0)
        knowledge_fail(r, CH_E_INPUT, list, "at least one part", "%s is empty", key);
}

static void read_prior(knowledge_reader *r, const ch_tree_node *map, ch_cause id, ch_knowledge_cause *cause)
{
    const bool faulty = id != CH_CAUSE_SOUND;
    cause->prior_1 = NAN;
    if (belongs(r, map, "prior", faulty, "for a fault: sound takes the chance that the others leave"))
        cause->prior_1 = knowledge_number_at(r, map, "prior", &knowledge_prior);
    if (belongs(r, map, "prior_source", faulty, "for a fault"))
        cause->prior_source = knowledge_text(r, map, "prior_source", false);
    if (!belongs(r, map, "together", faulty, "for a fault"))
        return;
    const ch_tree_node *together = knowledge_map(r, map, "together", true);
    if (together == NULL)
        return;
    knowledge_keys(r, together, "chance", "share", "bank");
    cause->together_chance_1 = knowledge_number_at(r, together, "chance", &knowledge_prior);
    cause->together_share_1 = knowledge_number_at(r, together, "share", &knowledge_chance);
    if (ch_tree_get(together, "bank") != NULL)
        cause->together_bank_1 = knowledge_number_at(r, together, "bank", &knowledge_chance);
}

static void read_cause(knowledge_reader *r, const ch_tree_node *map, ch_cause id, ch_knowledge_cause *cause)
{
    static const char *const scopes[] = {[CH_SCOPE_CYLINDER] = "cylinder", [CH_SCOPE_PAIR] = "pair"};
    knowledge_keys(r, map, "id", "title", "says", "scope", "prior", "together", "prior_source", "mileage", "paths",
                   "areas", "areas_source", "filling", "filling_source", "reading", "reading_source", "leakdown_wrong",
                   "leakdown_wrong_source", "oil_seals", "looks_like", "cure", "cautions");
    cause->id = ch_cause_name(id);
    cause->title = knowledge_text(r, map, "title", false);
    cause->says = knowledge_text(r, map, "says", false);
    cause->looks_like = knowledge_text(r, map, "looks_like", false);
    cause->scope = (ch_scope)knowledge_word(r, map, "scope", scopes, 2, CH_SCOPE_CYLINDER);
    read_prior(r, map, id, cause);
    cause->mileage_exponent_1 = knowledge_number_or(r, map, "mileage", &knowledge_any, 0);
    read_paths(r, map, cause);
    read_areas(r, map, cause);
    const bool cam = id == CH_CAUSE_CAM_OR_TIMING, test = id == CH_CAUSE_MEASUREMENT_ERROR;
    if (belongs(r, map, "filling", cam, "with cam_or_timing"))
        read_factor(r, map, "filling", &cause->filling_1);
    if (belongs(r, map, "filling_source", cam, "with cam_or_timing"))
        cause->filling_source = knowledge_text(r, map, "filling_source", false);
    if (belongs(r, map, "reading", test, "with measurement_error"))
        read_factor(r, map, "reading", &cause->reading_1);
    if (belongs(r, map, "reading_source", test, "with measurement_error"))
        cause->reading_source = knowledge_text(r, map, "reading_source", false);
    cause->leakdown_wrong_1 = NAN;
    if (belongs(r, map, "leakdown_wrong", test, "with measurement_error"))
        cause->leakdown_wrong_1 = knowledge_number_at(r, map, "leakdown_wrong", &knowledge_chance);
    if (belongs(r, map, "leakdown_wrong_source", test, "with measurement_error"))
        cause->leakdown_wrong_source = knowledge_text(r, map, "leakdown_wrong_source", false);
    cause->oil_seals_1 = knowledge_number_at(r, map, "oil_seals", &knowledge_chance);
    const char *cure = knowledge_id(r, knowledge_need(r, map, "cure"));
    cause->cure = cure != NULL && strcmp(cure, "none") != 0 ? cure : NULL;
    knowledge_caution_places(r, map, "cautions", &cause->cautions);
}

/* What a cylinder with a neighbour on either side can have must leave something for `sound`. */
static void check_sound_is_left(knowledge_reader *r, const ch_tree_node *list)
{
    double faulty = 0;
    for (int i = CH_CAUSE_SOUND + 1; i < CH_CAUSE_COUNT; i++) {
        const ch_knowledge_cause *cause = &r->to->causes[i];
        faulty += cause->prior_1 * (cause->scope == CH_SCOPE_PAIR ? 2 : 1);
        faulty += cause->together_chance_1 * cause->together_share_1;
    }
    if (r->status >= 0 && !(faulty < 1))
        knowledge_fail(r, CH_E_INPUT, list, "a sum of prior + chance * share below 1, pairs counted twice",
                       "the chances of the faults leave nothing for sound");
}

void knowledge_read_causes(knowledge_reader *r, const ch_tree_node *root)
{
    knowledge_keys(r, root, "knowledge", "version", "background", "background_source", "hearing", "hearing_source",
                   "mileage", "mileage_source", "causes");
    read_background(r, root);
    r->to->background_source = knowledge_text(r, root, "background_source", false);
    read_hearing(r, root);
    r->to->hearing_source = knowledge_text(r, root, "hearing_source", false);
    read_mileage(r, root);
    r->to->mileage_source = knowledge_text(r, root, "mileage_source", false);
    const ch_tree_node *list = knowledge_list(r, root, "causes", false);
    if (list == NULL)
        return;
    const ch_tree_node *seen[CH_CAUSE_COUNT] = {NULL};
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next) {
        const ch_tree_node *name = map->kind == CH_TREE_MAP ? knowledge_need(r, map, "id") : map;
        if (knowledge_id(r, name) == NULL)
            return;
        const ch_cause id = knowledge_cause(r, name->text, name->length, name->line, name->column);
        if (id == CH_CAUSE_COUNT)
            return;
        if (seen[id] != NULL)
            knowledge_fail(r, CH_E_INPUT, name, "each cause once", "\"%s\" stands here again; first on line %ld",
                           name->text, seen[id]->line);
        seen[id] = name;
        read_cause(r, map, id, &r->to->causes[id]);
    }
    for (int i = 0; i < CH_CAUSE_COUNT && r->status >= 0; i++)
        if (seen[i] == NULL)
            knowledge_fail(r, CH_E_INPUT, list, "all eleven causes", "the cause \"%s\" is missing",
                           ch_cause_name((ch_cause)i));
    if (r->status >= 0 && r->to->causes[CH_CAUSE_SOUND].no_path_chance_1 < 1)
        knowledge_fail(r, CH_E_INPUT, seen[CH_CAUSE_SOUND],
                       "paths: {none: 1}; leaks of a sound cylinder are background", "sound opens no path");
    check_sound_is_left(r, list);
}

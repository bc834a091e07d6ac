/*
 * Names of the knowledge: the fixed words of the enums, and the ids that entries of the files go by.
 * Names are kept sorted by their bytes, so that finding one costs a logarithm and a file with a hundred thousand of them
 * is held to "each once" in good time.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "knowledge_read.h"

static const char *const cause_names[CH_CAUSE_COUNT] = {
    [CH_CAUSE_SOUND] = "sound",
    [CH_CAUSE_RINGS_OR_BORE] = "rings_or_bore",
    [CH_CAUSE_PISTON_DAMAGE] = "piston_damage",
    [CH_CAUSE_INTAKE_VALVE] = "intake_valve",
    [CH_CAUSE_EXHAUST_VALVE] = "exhaust_valve",
    [CH_CAUSE_VALVE_LASH_TIGHT] = "valve_lash_tight",
    [CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS] = "head_gasket_between_cylinders",
    [CH_CAUSE_HEAD_GASKET_TO_COOLANT] = "head_gasket_to_coolant",
    [CH_CAUSE_CRACKED_HEAD] = "cracked_head",
    [CH_CAUSE_CAM_OR_TIMING] = "cam_or_timing",
    [CH_CAUSE_MEASUREMENT_ERROR] = "measurement_error",
};

static const char *const path_names[CH_PATH_COUNT] = {
    [CH_PATH_RINGS] = "rings",
    [CH_PATH_INTAKE_VALVE] = "intake_valve",
    [CH_PATH_EXHAUST_VALVE] = "exhaust_valve",
    [CH_PATH_NEIGHBOUR] = "neighbour",
    [CH_PATH_COOLANT] = "coolant",
};

static const char *const signal_words[] = {
    [CH_SIGNAL_DANGER] = "DANGER",
    [CH_SIGNAL_WARNING] = "WARNING",
    [CH_SIGNAL_CAUTION] = "CAUTION",
    [CH_SIGNAL_NOTICE] = "NOTICE",
};

static const char *const file_names[CH_KNOWLEDGE_FILES] = {
    [CH_KNOWLEDGE_CAUSES] = "causes.yaml",
    [CH_KNOWLEDGE_OBSERVATIONS] = "observations.yaml",
    [CH_KNOWLEDGE_CHECKS] = "checks.yaml",
    [CH_KNOWLEDGE_CAUTIONS] = "cautions.yaml",
};

static const char *word_at(const char *const *words, unsigned n, unsigned place)
{
    return place < n ? words[place] : NULL;
}

const char *ch_cause_name(ch_cause cause)
{
    return word_at(cause_names, CH_CAUSE_COUNT, (unsigned)cause);
}

const char *ch_path_name(ch_path path)
{
    return word_at(path_names, CH_PATH_COUNT, (unsigned)path);
}

const char *ch_signal_word_name(ch_signal_word word)
{
    return word_at(signal_words, CH_SIGNAL_NOTICE + 1, (unsigned)word);
}

const char *ch_knowledge_file_name(ch_knowledge_file file)
{
    return word_at(file_names, CH_KNOWLEDGE_FILES, (unsigned)file);
}

ch_cause ch_cause_find(const char *name, size_t length)
{
    for (int i = 0; i < CH_CAUSE_COUNT; i++)
        if (strlen(cause_names[i]) == length && memcmp(cause_names[i], name, length) == 0)
            return (ch_cause)i;
    return CH_CAUSE_COUNT;
}

ch_cause knowledge_cause(knowledge_reader *r, const char *name, size_t length, long line, long column)
{
    if (r->status < 0)
        return CH_CAUSE_COUNT;
    const ch_cause cause = ch_cause_find(name, length);
    if (cause == CH_CAUSE_COUNT) {
        const ch_tree_node at = {.line = line, .column = column};
        char quoted[48], right[256];
        ch_text_excerpt(name, length, quoted, sizeof quoted);
        knowledge_suggest(name, length, cause_names, CH_CAUSE_COUNT, right);
        knowledge_fail(r, CH_E_INPUT, &at, right, "unknown cause \"%s\"", quoted);
    }
    return cause;
}

static int compare_named(const void *left, const void *right)
{
    const knowledge_named *a = left, *b = right;
    const int order = strcmp(a->name, b->name);
    if (order != 0)
        return order;
    if (a->at->line != b->at->line)
        return a->at->line < b->at->line ? -1 : 1;
    return a->at->column < b->at->column ? -1 : a->at->column > b->at->column;
}

void knowledge_sort_names(knowledge_reader *r, knowledge_named *named, size_t n, ch_knowledge_names *names)
{
    const char **name = knowledge_alloc(r, n, sizeof *name);
    size_t *place = knowledge_alloc(r, n, sizeof *place);
    if (r->status < 0 || n == 0)
        return;
    qsort(named, n, sizeof *named, compare_named);
    const knowledge_named *again = NULL;
    for (size_t i = 0; i < n; i++) {
        name[i] = named[i].name;
        place[i] = named[i].place;
        if (i > 0 && strcmp(name[i - 1], name[i]) == 0 && (again == NULL || named[i].at->line < again->at->line))
            again = &named[i];
    }
    if (again != NULL)
        knowledge_fail(r, CH_E_INPUT, again->at, "each name once", "\"%.60s\" stands here again; first on line %ld",
                       again->name, again[-1].at->line);
    *names = (ch_knowledge_names){.name = name, .place = place, .count = n};
}

void knowledge_name_entries(knowledge_reader *r, const ch_tree_node *list, ch_knowledge_names *names)
{
    if (r->status < 0)
        return;
    size_t most = 0;
    for (const ch_tree_node *map = list->first; map != NULL; map = map->next) {
        const ch_tree_node *also = ch_tree_get(map, "also");
        most += 1 + (also != NULL ? also->count : 0);
    }
    knowledge_named *named = knowledge_alloc(r, most, sizeof *named);
    if (named == NULL)
        return;
    size_t n = 0, place = 0;
    for (const ch_tree_node *map = list->first; map != NULL; map = map->next, place++) {
        const ch_tree_node *id = ch_tree_get(map, "id"), *also = ch_tree_get(map, "also");
        named[n++] = (knowledge_named){.name = id->text, .place = place, .at = id};
        for (const ch_tree_node *part = also != NULL ? also->first : NULL; part != NULL; part = part->next)
            named[n++] = (knowledge_named){.name = part->text, .place = place, .at = part};
    }
    knowledge_sort_names(r, named, n, names);
}

size_t knowledge_name_find(const ch_knowledge_names *names, const char *name, size_t length)
{
    if (memchr(name, '\0', length) != NULL)
        return SIZE_MAX;
    size_t low = 0, high = names->count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const char *at = names->name[middle];
        int order = strncmp(at, name, length);
        if (order == 0 && at[length] != '\0')
            order = 1;
        if (order == 0)
            return names->place[middle];
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return SIZE_MAX;
}

void knowledge_fail_name(knowledge_reader *r, const ch_tree_node *at, const ch_knowledge_names *names, const char *what)
{
    char right[256];
    knowledge_suggest(at->text, at->length, names->name, names->count, right);
    knowledge_fail(r, CH_E_INPUT, at, right, "there is no %s \"%.60s\"", what, at->text);
}

void knowledge_places(knowledge_reader *r, const ch_tree_node *map, const char *key, const ch_knowledge_names *names,
                      const char *what, ch_places *places)
{
    const ch_tree_node *list = knowledge_list(r, map, key, false);
    if (list == NULL)
        return;
    size_t *at = knowledge_alloc(r, list->count, sizeof *at);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next) {
        const char *name = knowledge_id(r, part);
        if (name == NULL)
            return;
        const size_t place = knowledge_name_find(names, name, part->length);
        if (place == SIZE_MAX) {
            knowledge_fail_name(r, part, names, what);
            return;
        }
        for (size_t i = 0; i < n; i++)
            if (at[i] == place) {
                knowledge_fail(r, CH_E_INPUT, part, "each once", "%s \"%.60s\" stands here again", what, name);
                return;
            }
        at[n++] = place;
    }
    *places = (ch_places){.at = at, .count = n};
}

const ch_knowledge_observation *ch_knowledge_observation_find(const ch_knowledge *knowledge, const char *name,
                                                              size_t length)
{
    const size_t place = knowledge_name_find(&knowledge->observation_names, name, length);
    return place != SIZE_MAX ? &knowledge->observations[place] : NULL;
}

const ch_knowledge_check *ch_knowledge_check_find(const ch_knowledge *knowledge, const char *name, size_t length)
{
    const size_t place = knowledge_name_find(&knowledge->check_names, name, length);
    return place != SIZE_MAX ? &knowledge->checks[place] : NULL;
}

const ch_knowledge_caution *ch_knowledge_caution_find(const ch_knowledge *knowledge, const char *name, size_t length)
{
    const size_t place = knowledge_name_find(&knowledge->caution_names, name, length);
    return place != SIZE_MAX ? &knowledge->cautions[place] : NULL;
}

const char *ch_knowledge_observation_nearest(const ch_knowledge *knowledge, const char *name, size_t length)
{
    return ch_nearest_word(name, length, knowledge->observation_names.name, knowledge->observation_names.count);
}

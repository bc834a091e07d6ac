/*
 * What an access step and a job have in common: hours, things to buy, steps, the access they need. Rules: docs/knowledge.md.
 */
#include <stdint.h>
#include <string.h>

#include "jobs_read.h"

#define HOUR_S 3600.0

void jobs_read_three(knowledge_reader *r, const ch_tree_node *list, double three[3])
{
    if (r->status < 0 || list == NULL)
        return;
    if (list->count != 3) {
        knowledge_fail(r, CH_E_INPUT, list, "[least, likely, most]", "a list of %zu", list->count);
        return;
    }
    double read[3] = {0};
    int i = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next, i++) {
        read[i] = knowledge_number(r, part, &knowledge_not_negative);
        if (r->status >= 0 && i > 0 && read[i] < read[i - 1])
            knowledge_fail(r, CH_E_INPUT, part, "least, likely, most, none below the one before", "%.60s after %.60s",
                           part->text, i == 1 ? list->first->text : list->first->next->text);
    }
    if (r->status >= 0)
        memcpy(three, read, sizeof read);
}

void jobs_read_time(jobs_reader *jr, const ch_tree_node *map, const char *key, ch_work_time *to)
{
    const ch_tree_node *list = knowledge_list(&jr->r, map, key, false);
    double hours[3] = {0};
    jobs_read_three(&jr->r, list, hours);
    if (jr->r.status >= 0 && !(hours[2] > 0))
        knowledge_fail(&jr->r, CH_E_INPUT, list, "more than 0 at most", "work that takes no time");
    *to = (ch_work_time){hours[0] * HOUR_S, hours[1] * HOUR_S, hours[2] * HOUR_S};
}

/* `buy` or `maybe`: {id: count}. */
static void read_needed_goods(jobs_reader *jr, const ch_tree_node *map, bool maybe, ch_goods_need *to, size_t *n)
{
    knowledge_reader *r = &jr->r;
    for (const ch_tree_node *part = map != NULL ? map->first : NULL; part != NULL && r->status >= 0;
         part = part->next) {
        const size_t place = knowledge_name_find(&jr->to->goods_names, part->key, part->key_length);
        if (place == SIZE_MAX) {
            const ch_tree_node key = {
                .text = part->key, .length = part->key_length, .line = part->key_line, .column = part->key_column};
            knowledge_fail_name(r, &key, &jr->to->goods_names, "part");
            return;
        }
        for (size_t i = 0; i < *n; i++)
            if (to[i].goods == place)
                knowledge_fail(r, CH_E_INPUT, part, "each once, in buy or in maybe", "\"%.60s\" stands in buy already",
                               part->key);
        to[(*n)++] =
            (ch_goods_need){.goods = place, .count = knowledge_number(r, part, &knowledge_positive), .maybe = maybe};
    }
}

static void read_goods(jobs_reader *jr, const ch_tree_node *map, ch_jobs_work *to)
{
    const ch_tree_node *buy = knowledge_map(&jr->r, map, "buy", true);
    const ch_tree_node *maybe = knowledge_map(&jr->r, map, "maybe", true);
    const size_t most = (buy != NULL ? buy->count : 0) + (maybe != NULL ? maybe->count : 0);
    ch_goods_need *goods = knowledge_alloc(&jr->r, most, sizeof *goods);
    if (goods == NULL)
        return;
    size_t n = 0;
    read_needed_goods(jr, buy, false, goods, &n);
    read_needed_goods(jr, maybe, true, goods, &n);
    to->goods = goods;
    to->goods_count = n;
}

const char *jobs_read_short(knowledge_reader *r, const ch_tree_node *part, size_t most)
{
    const char *text = knowledge_line(r, part);
    if (text != NULL && part->length > most)
        knowledge_fail(r, CH_E_INPUT, part, "shorter, or two steps", "%zu bytes, more than %zu", part->length, most);
    return text;
}

const char *jobs_read_was(knowledge_reader *r, const ch_tree_node *map, const char *text)
{
    const ch_tree_node *was = r->status >= 0 ? ch_tree_get(map, "was") : NULL;
    const char *first = was != NULL ? jobs_read_short(r, was, CH_STEP_TEXT_MAX) : text;
    if (was != NULL && first != NULL && text != NULL && strcmp(first, text) == 0)
        knowledge_fail(r, CH_E_INPUT, was, "nothing here: the words are the first ones",
                       "was says what stands here now");
    return first;
}

void jobs_first_texts(knowledge_reader *r, const ch_tree_node *list, const char *const *first)
{
    size_t i = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next, i++)
        for (size_t k = 0; k < i && r->status >= 0; k++)
            if (strcmp(first[i], first[k]) == 0)
                knowledge_fail(r, CH_E_INPUT, part, "words of its own",
                               "it begins as entry %zu of this list did: their ticks would be one", k + 1);
}

/* `takes_off` or `torques`: {id: text}. */
static void read_named(knowledge_reader *r, const ch_tree_node *map, const char *key, size_t most,
                       const ch_work_named **to, size_t *count)
{
    const ch_tree_node *named = knowledge_map(r, map, key, true);
    if (named == NULL || named->count == 0)
        return;
    ch_work_named *made = knowledge_alloc(r, named->count, sizeof *made);
    size_t n = 0;
    for (const ch_tree_node *part = named->first; part != NULL && r->status >= 0; part = part->next) {
        knowledge_check_key_id(r, part);
        made[n++] = (ch_work_named){.id = part->key, .text = jobs_read_short(r, part, most)};
    }
    *to = made;
    *count = n;
}

static void read_step(jobs_reader *jr, const ch_tree_node *map, ch_work_step *to)
{
    knowledge_reader *r = &jr->r;
    knowledge_keys(r, map, "do", "was", "why", "cautions", "takes_off", "torques");
    to->text = jobs_read_short(r, knowledge_need(r, map, "do"), CH_STEP_TEXT_MAX);
    to->first_text = jobs_read_was(r, map, to->text);
    to->why = jobs_read_short(r, knowledge_need(r, map, "why"), CH_STEP_TEXT_MAX);
    if (r->status >= 0 && ch_tree_get(map, "cautions") != NULL)
        knowledge_caution_places(r, map, "cautions", &to->cautions);
    read_named(r, map, "takes_off", CH_STEP_TEXT_MAX, &to->takes_off, &to->takes_off_count);
    read_named(r, map, "torques", CH_TORQUE_TEXT_MAX, &to->torques, &to->torques_count);
    for (size_t i = 0; i < to->torques_count && r->status >= 0; i++)
        if (to->torques[i].text != NULL && strpbrk(to->torques[i].text, "0123456789") != NULL)
            knowledge_fail(r, CH_E_INPUT, ch_tree_get(ch_tree_get(map, "torques"), to->torques[i].id),
                           "what to look up in the car's own manual", "a torque holds a figure");
}

void jobs_read_steps(jobs_reader *jr, const ch_tree_node *map, const char *key, const ch_work_step **steps,
                     size_t *count)
{
    const ch_tree_node *list = knowledge_list(&jr->r, map, key, false);
    if (list == NULL)
        return;
    if (list->count == 0) {
        knowledge_fail(&jr->r, CH_E_INPUT, list, "at least one step", "%s is empty", key);
        return;
    }
    ch_work_step *made = knowledge_alloc(&jr->r, list->count, sizeof *made);
    const char **first = knowledge_alloc(&jr->r, list->count, sizeof *first);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && jr->r.status >= 0; part = part->next, n++) {
        read_step(jr, part, &made[n]);
        if (jr->r.status >= 0)
            first[n] = made[n].first_text;
    }
    jobs_first_texts(&jr->r, list, first);
    *steps = made;
    *count = n;
}

static void mark_cautions(const ch_work_step *steps, size_t count, bool *marked)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < steps[i].cautions.count; k++)
            marked[steps[i].cautions.at[k]] = true;
}

void jobs_gather_cautions(jobs_reader *jr, ch_jobs_work *to, const ch_work_step *more, size_t more_count)
{
    const ch_knowledge *knowledge = jr->r.to;
    bool *marked = knowledge_alloc(&jr->r, knowledge->cautions_count, sizeof *marked);
    size_t *at = knowledge_alloc(&jr->r, knowledge->cautions_count, sizeof *at);
    if (marked == NULL || at == NULL)
        return;
    mark_cautions(to->steps, to->steps_count, marked);
    mark_cautions(more, more_count, marked);
    size_t n = 0;
    for (int word = CH_SIGNAL_DANGER; word <= CH_SIGNAL_NOTICE; word++)
        for (size_t i = 0; i < knowledge->cautions_count; i++)
            if (marked[i] && knowledge->cautions[i].word == (ch_signal_word)word)
                at[n++] = i;
    to->cautions = (ch_places){.at = at, .count = n};
}

void jobs_read_work(jobs_reader *jr, const ch_tree_node *map, ch_jobs_work *to)
{
    static const char *const drives[] = {"rear", "front", "both"};
    knowledge_reader *r = &jr->r;
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->title = knowledge_text(r, map, "title", false);
    to->why = knowledge_text(r, map, "why", false);
    to->source = knowledge_text(r, map, "source", true);
    const int drive = knowledge_word(r, map, "drive", drives, 3, -1);
    to->drives[CH_DRIVE_REAR] = drive != 1;
    to->drives[CH_DRIVE_FRONT] = drive != 0;
    jobs_read_time(jr, map, "hours", &to->time);
    read_goods(jr, map, to);
    jobs_read_steps(jr, map, "steps", &to->steps, &to->steps_count);
}

/* Add the access named by one key to what one drive needs. */
static void add_needs(jobs_reader *jr, const ch_tree_node *map, const char *key, ch_drive drive, size_t *at, size_t *n)
{
    knowledge_reader *r = &jr->r;
    ch_places more = {0};
    knowledge_places(r, map, key, &jr->to->access_names, "access step", &more);
    if (r->status < 0)
        return;
    const ch_tree_node *part = ch_tree_get(map, key)->first;
    for (size_t i = 0; i < more.count && r->status >= 0; i++, part = part->next) {
        if (!jr->to->access[more.at[i]].work.drives[drive])
            knowledge_fail(r, CH_E_INPUT, part, "an access step for this drive", "\"%.60s\" is not for %s-wheel drive",
                           part->text, ch_drive_name(drive));
        for (size_t k = 0; k < *n && r->status >= 0; k++)
            if (at[k] == more.at[i])
                knowledge_fail(r, CH_E_INPUT, part, "each once", "\"%.60s\" stands in needs already", part->text);
        at[(*n)++] = more.at[i];
    }
}

/* The steps of `within` behind the needs; those of the other drive are never open. */
static void add_within(jobs_reader *jr, const ch_tree_node *map, ch_drive drive, size_t *at, size_t *n)
{
    knowledge_reader *r = &jr->r;
    const size_t needs = *n;
    ch_places more = {0};
    if (r->status < 0 || ch_tree_get(map, "within") == NULL)
        return;
    knowledge_places(r, map, "within", &jr->to->access_names, "access step", &more);
    if (r->status < 0)
        return;
    const ch_tree_node *part = ch_tree_get(map, "within")->first;
    for (size_t i = 0; i < more.count && r->status >= 0; i++, part = part->next) {
        for (size_t k = 0; k < needs && r->status >= 0; k++)
            if (at[k] == more.at[i])
                knowledge_fail(r, CH_E_INPUT, part, "in one of them", "\"%.60s\" stands in needs already", part->text);
        if (jr->to->access[more.at[i]].work.drives[drive])
            at[(*n)++] = more.at[i];
    }
}

static size_t list_count(const ch_tree_node *map, const char *key)
{
    const ch_tree_node *list = ch_tree_get(map, key);
    return list != NULL ? list->count : 0;
}

void jobs_read_needs(jobs_reader *jr, const ch_tree_node *map, ch_jobs_work *to)
{
    static const char *const own[CH_DRIVES] = {"needs_rear", "needs_front"};
    knowledge_reader *r = &jr->r;
    for (int drive = 0; drive < CH_DRIVES && r->status >= 0; drive++) {
        const ch_tree_node *list = knowledge_list(r, map, own[drive], true);
        if (!to->drives[drive]) {
            if (list != NULL)
                knowledge_fail(r, CH_E_INPUT, list, "only for a drive that this holds for", "%s of what is not for it",
                               own[drive]);
            continue;
        }
        const size_t most = list_count(map, "needs") + list_count(map, own[drive]) + list_count(map, "within");
        size_t *at = knowledge_alloc(r, most, sizeof *at), n = 0;
        add_needs(jr, map, "needs", (ch_drive)drive, at, &n);
        if (list != NULL)
            add_needs(jr, map, own[drive], (ch_drive)drive, at, &n);
        to->needs[drive] = (ch_places){.at = at, .count = n};
        add_within(jr, map, (ch_drive)drive, at, &n);
        to->within[drive] = (ch_places){.at = at + to->needs[drive].count, .count = n - to->needs[drive].count};
    }
}

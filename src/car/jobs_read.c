/*
 * parts.yaml, access.yaml and jobs.yaml, each by itself; they refer to the ones read before. Rules: docs/knowledge.md.
 */
#include "jobs_read.h"

#include <stdint.h>
#include <string.h>

#include "crosshatch/text.h"

static void read_good(knowledge_reader *r, const ch_tree_node *part, ch_goods *to)
{
    static const char *const answers[] = {"false", "true"};
    const char *kinds[CH_GOODS_CONSUMABLE + 1];
    for (int i = 0; i <= CH_GOODS_CONSUMABLE; i++)
        kinds[i] = ch_goods_kind_name((ch_goods_kind)i);
    knowledge_check_key_id(r, part);
    knowledge_keys(r, part, "title", "kind", "price", "shared", "source");
    to->id = part->key;
    to->title = knowledge_text(r, part, "title", false);
    to->source = knowledge_text(r, part, "source", true);
    to->kind = (ch_goods_kind)knowledge_word(r, part, "kind", kinds, CH_GOODS_CONSUMABLE + 1, -1);
    to->shared = knowledge_word(r, part, "shared", answers, 2, 0) == 1;
    double price[3] = {0};
    jobs_read_three(r, knowledge_list(r, part, "price", false), price);
    to->price = (ch_price){price[0], price[1], price[2]};
}

void jobs_read_goods(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    if (r->status < 0)
        return;
    const ch_tree_node *root = jr->root[CH_JOBS_PARTS];
    r->file = jr->file[CH_JOBS_PARTS];
    knowledge_keys(r, root, "knowledge", "version", "currency", "price_source", "parts");
    jr->to->currency = knowledge_text(r, root, "currency", false);
    jr->to->price_source = jobs_read_short(r, knowledge_need(r, root, "price_source"), CH_STEP_TEXT_MAX);
    const ch_tree_node *map = knowledge_map(r, root, "parts", false);
    if (map == NULL || map->count == 0)
        return;
    ch_goods *goods = knowledge_alloc(r, map->count, sizeof *goods);
    knowledge_named *named = knowledge_alloc(r, map->count, sizeof *named);
    size_t n = 0;
    for (const ch_tree_node *part = map->first; part != NULL && r->status >= 0; part = part->next, n++) {
        read_good(r, part, &goods[n]);
        if (goods[n].source == NULL)
            goods[n].source = jr->to->price_source;
        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
    }
    knowledge_sort_names(r, named, n, &jr->to->goods_names);
    jr->to->goods = goods;
    jr->to->goods_count = n;
}

/* The list of a file, at most `most` entries. */
static const ch_tree_node *read_list(knowledge_reader *r, const ch_tree_node *root, const char *key, size_t most)
{
    const ch_tree_node *list = knowledge_list(r, root, key, false);
    if (list != NULL && list->count > most)
        knowledge_fail(r, CH_E_LIMIT, list, NULL, "%zu entries, more than %zu", list->count, most);
    return r->status >= 0 ? list : NULL;
}

void jobs_read_access(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    if (r->status < 0)
        return;
    const ch_tree_node *root = jr->root[CH_JOBS_ACCESS];
    r->file = jr->file[CH_JOBS_ACCESS];
    knowledge_keys(r, root, "knowledge", "version", "source", "access");
    jr->to->access_source = knowledge_text(r, root, "source", false);
    const ch_tree_node *list = read_list(r, root, "access", CH_ACCESS_MAX);
    if (list == NULL)
        return;
    ch_access *access = knowledge_alloc(r, list->count, sizeof *access);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next, n++) {
        knowledge_keys(r, map, "id", "title", "why", "drive", "needs", "needs_rear", "needs_front", "within", "hours",
                       "refit_hours", "first", "buy", "maybe", "steps", "back", "source");
        jobs_read_work(jr, map, &access[n].work);
        if (access[n].work.source == NULL)
            access[n].work.source = jr->to->access_source;
        static const char *const words[] = {"false", "true"};
        access[n].first = knowledge_word(r, map, "first", words, 2, 0) == 1;
        jobs_read_time(jr, map, "refit_hours", &access[n].back);
        jobs_read_steps(jr, map, "back", &access[n].back_steps, &access[n].back_steps_count);
        jobs_gather_cautions(jr, &access[n].work, access[n].back_steps, access[n].back_steps_count);
    }
    jr->to->access = access;
    jr->to->access_count = n;
    knowledge_name_entries(r, list, &jr->to->access_names);
    size_t i = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        jobs_read_needs(jr, map, &access[i++].work);
}

static void read_lines(knowledge_reader *r, const ch_tree_node *list, const char *const **lines, size_t *count)
{
    if (list == NULL || list->count == 0)
        return;
    const char **made = knowledge_alloc(r, list->count, sizeof *made);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next)
        made[n++] = knowledge_line(r, part);
    *lines = made;
    *count = n;
}

/* Causes of the engine but `sound`, and of the clutch. */
enum { CURABLE_MAX = CH_CAUSE_COUNT + 16 };

static size_t curable(const char *names[CURABLE_MAX])
{
    size_t n = 0;
    for (int cause = CH_CAUSE_SOUND + 1; cause < CH_CAUSE_COUNT; cause++)
        names[n++] = ch_cause_name((ch_cause)cause);
    for (size_t i = 0; n < CURABLE_MAX && ch_clutch_cause_name(i) != NULL; i++)
        names[n++] = ch_clutch_cause_name(i);
    return n;
}

static void read_causes(knowledge_reader *r, const ch_tree_node *list, const char *const **causes, size_t *count)
{
    const char *names[CURABLE_MAX];
    const size_t known = curable(names);
    read_lines(r, list, causes, count);
    if (list == NULL)
        return;
    const ch_tree_node *part = list->first;
    for (size_t i = 0; i < *count && r->status >= 0; i++, part = part->next) {
        const char *cause = (*causes)[i];
        size_t k = 0;
        while (k < known && strcmp(names[k], cause) != 0)
            k++;
        if (k == known) {
            char right[256], quoted[48];
            knowledge_suggest(part->text, part->length, names, known, right);
            ch_text_excerpt(part->text, part->length, quoted, sizeof quoted);
            knowledge_fail(r, CH_E_INPUT, part, right, "unknown cause \"%s\"", quoted);
        }
        for (k = 0; k < i && r->status >= 0; k++)
            if (strcmp((*causes)[k], cause) == 0)
                knowledge_fail(r, CH_E_INPUT, part, "each once", "cause \"%.60s\" stands here again", cause);
    }
}

static void read_retests(knowledge_reader *r, const ch_tree_node *map, ch_job *to)
{
    const char *ways[CH_RETEST_TORQUE + 1];
    for (int i = 0; i <= CH_RETEST_TORQUE; i++)
        ways[i] = ch_retest_name((ch_retest_by)i);
    const ch_tree_node *list = knowledge_list(r, map, "retest", false);
    if (list == NULL)
        return;
    if (list->count == 0) {
        knowledge_fail(r, CH_E_INPUT, list, "at least one", "a job that nothing closes");
        return;
    }
    ch_retest *made = knowledge_alloc(r, list->count, sizeof *made);
    const char **first = knowledge_alloc(r, list->count, sizeof *first);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next, n++) {
        knowledge_keys(r, part, "by", "text", "was");
        made[n].by = (ch_retest_by)knowledge_word(r, part, "by", ways, CH_RETEST_TORQUE + 1, -1);
        made[n].text = jobs_read_short(r, knowledge_need(r, part, "text"), CH_STEP_TEXT_MAX);
        made[n].first_text = jobs_read_was(r, part, made[n].text);
        if (r->status >= 0)
            first[n] = made[n].first_text;
    }
    jobs_first_texts(r, list, first);
    to->retests = made;
    to->retests_count = n;
}

static void read_job(jobs_reader *jr, const ch_tree_node *map, ch_job *to)
{
    knowledge_reader *r = &jr->r;
    knowledge_keys(r, map, "id", "title", "why", "drive", "needs", "needs_rear", "needs_front", "within", "hours",
                   "buy", "maybe", "tools", "cures", "prevents", "lead_days", "shop_days", "after", "once_closed",
                   "excludes", "requires", "car_has_one", "steps", "retest", "source");
    jobs_read_work(jr, map, &to->work);
    if (to->work.source == NULL)
        to->work.source = jr->to->job_source;
    jobs_gather_cautions(jr, &to->work, NULL, 0);
    jobs_read_needs(jr, map, &to->work);
    read_lines(r, knowledge_list(r, map, "tools", true), &to->tools, &to->tools_count);
    read_causes(r, knowledge_list(r, map, "cures", false), &to->cures, &to->cures_count);
    read_causes(r, knowledge_list(r, map, "prevents", true), &to->prevents, &to->prevents_count);
    to->lead_days = knowledge_number_or(r, map, "lead_days", &knowledge_not_negative, 0);
    to->shop_days = knowledge_number_or(r, map, "shop_days", &knowledge_not_negative, 0);
    if (r->status >= 0 && ch_tree_get(map, "once_closed") != NULL)
        knowledge_places(r, map, "once_closed", &jr->to->access_names, "access step", &to->once_closed);
    read_retests(r, map, to);
}

/* `after`, `excludes`, `requires`: other jobs. */
static void read_others(jobs_reader *jr, const ch_tree_node *map, size_t self, const char *key, ch_places *to)
{
    knowledge_reader *r = &jr->r;
    if (r->status < 0 || ch_tree_get(map, key) == NULL)
        return;
    knowledge_places(r, map, key, &jr->to->job_names, "job", to);
    if (r->status < 0)
        return;
    const ch_tree_node *part = ch_tree_get(map, key)->first;
    for (size_t i = 0; i < to->count && r->status >= 0; i++, part = part->next)
        if (to->at[i] == self)
            knowledge_fail(r, CH_E_INPUT, part, "another job", "%s names the job itself", key);
}

void jobs_read_jobs(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    if (r->status < 0)
        return;
    const ch_tree_node *root = jr->root[CH_JOBS_JOBS];
    r->file = jr->file[CH_JOBS_JOBS];
    knowledge_keys(r, root, "knowledge", "version", "source", "jobs");
    jr->to->job_source = knowledge_text(r, root, "source", false);
    const ch_tree_node *list = read_list(r, root, "jobs", CH_JOBS_MAX);
    if (list == NULL)
        return;
    ch_job *jobs = knowledge_alloc(r, list->count, sizeof *jobs);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next)
        read_job(jr, map, &jobs[n++]);
    jr->to->jobs = jobs;
    jr->to->jobs_count = n;
    knowledge_name_entries(r, list, &jr->to->job_names);
    size_t i = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next, i++) {
        read_others(jr, map, i, "after", &jobs[i].after);
        read_others(jr, map, i, "excludes", &jobs[i].excludes);
        read_others(jr, map, i, "requires", &jobs[i].requires);
        read_others(jr, map, i, "car_has_one", &jobs[i].car_has_one);
    }
}

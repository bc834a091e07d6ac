/*
 * A winter plan out of a document's tree. Keys and their meaning: docs/winter.md. The reader's habits are those of knowledge_read.h.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "plan_read.h"

#define HOURS_MOST 10000.0
#define WAGE_MOST 1e6 /* times the hours above, twice, it is still a whole number of 63 bits */
#define MONEY_MOST 1e8

static const knowledge_range hours_range = {0, HOURS_MOST, false, false, "0 to 10000 hours"};
static const knowledge_range money_range = {0, MONEY_MOST, false, false, "0 to 100000000"};
static const knowledge_range wage_range = {0, WAGE_MOST, false, false, "0 to 1000000"};
static const knowledge_range days_range = {0, 3650, false, false, "0 to 3650 days"};

static ch_work work_of(double hours)
{
    return (ch_work)llround(hours * (double)CH_WORK_HOUR);
}

static ch_money money_at(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range,
                         ch_money fallback)
{
    const double value = knowledge_number_or(r, map, key, range, NAN);
    return isfinite(value) ? (ch_money)llround(value * (double)CH_MONEY_ONE) : fallback;
}

static bool flag_at(knowledge_reader *r, const ch_tree_node *map, const char *key)
{
    static const char *const words[] = {"false", "true", "no", "yes"};
    return knowledge_word(r, map, key, words, 4, 0) % 2 == 1;
}

static ch_date date_of(knowledge_reader *r, const ch_tree_node *part)
{
    ch_date date = {0};
    ch_err reason = {0};
    const char *text = knowledge_line(r, part);
    if (text != NULL && ch_date_parse(text, part->length, &date, &reason) < 0)
        knowledge_fail(r, CH_E_INPUT, part, reason.right, "%s", reason.what);
    return date;
}

static ch_date date_at(knowledge_reader *r, const ch_tree_node *map, const char *key)
{
    const ch_tree_node *part = r->status >= 0 ? ch_tree_get(map, key) : NULL;
    return part != NULL ? date_of(r, part) : (ch_date){0};
}

/* One number, or three: least, likely, most. */
static ch_work_guess guess_at(knowledge_reader *r, const ch_tree_node *map, const char *key)
{
    const ch_tree_node *part = r->status >= 0 ? ch_tree_get(map, key) : NULL;
    ch_work_guess guess = {0};
    if (part == NULL)
        return guess;
    if (part->kind != CH_TREE_LIST) {
        const double hours = knowledge_number(r, part, &hours_range);
        if (r->status >= 0)
            guess.least_us = guess.likely_us = guess.most_us = work_of(hours);
        return guess;
    }
    if (part->count != 3) {
        knowledge_fail(r, CH_E_INPUT, part, "one number, or [least, likely, most]", "%s is a list of %zu", key,
                       part->count);
        return guess;
    }
    const double least = knowledge_number(r, part->first, &hours_range),
                 likely = knowledge_number(r, part->first->next, &hours_range),
                 most = knowledge_number(r, part->first->next->next, &hours_range);
    if (r->status >= 0 && !(least <= likely && likely <= most))
        knowledge_fail(r, CH_E_INPUT, part, "[least, likely, most], each no less than the one before",
                       "the three %s are not in order", key);
    if (r->status >= 0)
        guess = (ch_work_guess){work_of(least), work_of(likely), work_of(most)};
    return guess;
}

static void check_name(knowledge_reader *r, const ch_tree_node *part)
{
    const ch_tree_node at = {.kind = CH_TREE_TEXT,
                             .quoted = true,
                             .text = part->key,
                             .length = part->key_length,
                             .line = part->key_line,
                             .column = part->key_column};
    if (r->status < 0)
        return;
    if (part->key_length > CH_PLAN_NAME_MAX || memchr(part->key, '\0', part->key_length) != NULL)
        knowledge_fail(r, CH_E_INPUT, &at, "at most 64 bytes", "a name of %zu bytes", part->key_length);
    else if (knowledge_line(r, &at) == NULL)
        return;
}

/* The hours worked so far come off the guess; nothing is left of what is done. */
void ch_plan_item_so_far(ch_plan_item *item, bool done, ch_work done_us, ch_money paid)
{
    item->done = done;
    item->done_us = done_us;
    item->paid = paid;
    item->hours = item->guessed;
    ch_work *const left[] = {&item->hours.least_us, &item->hours.likely_us, &item->hours.most_us};
    for (int i = 0; i < 3; i++)
        *left[i] = done || *left[i] < done_us ? 0 : *left[i] - done_us;
}

static void read_item(knowledge_reader *r, const ch_tree_node *map, ch_plan_kind kind, ch_plan_item *to)
{
    check_name(r, map);
    if (kind == CH_PLAN_ACCESS)
        knowledge_keys(r, map, "title", "hours", "refit_hours", "parts", "needs", "within", "first", "lead_days",
                       "done", "done_hours", "paid");
    else
        knowledge_keys(r, map, "title", "hours", "parts", "needs", "within", "avoided", "must", "excludes", "requires",
                       "after", "once_closed", "lead_days", "shop_days", "done", "done_hours", "paid");
    if (r->status < 0)
        return;
    *to = (ch_plan_item){.name = map->key, .kind = kind, .line = map->key_line, .column = map->key_column};
    to->title = knowledge_text(r, map, "title", true);
    to->guessed = guess_at(r, map, "hours");
    to->refit = guess_at(r, map, "refit_hours");
    to->parts = money_at(r, map, "parts", &money_range, 0);
    const ch_money paid = money_at(r, map, "paid", &money_range, 0);
    to->avoided = money_at(r, map, "avoided", &money_range, 0);
    to->must = flag_at(r, map, "must");
    to->first = flag_at(r, map, "first");
    const bool is_done = flag_at(r, map, "done");
    const double lead = knowledge_number_or(r, map, "lead_days", &days_range, 0.0);
    const double shop = knowledge_number_or(r, map, "shop_days", &days_range, 0.0);
    const double done = knowledge_number_or(r, map, "done_hours", &hours_range, 0.0);
    if (r->status < 0)
        return;
    to->lead_days = (int)ceil(lead);
    to->shop_days = (int)ceil(shop);
    ch_plan_item_so_far(to, is_done, work_of(done), paid);
}

static void read_items(knowledge_reader *r, const ch_tree_node *root, ch_plan *plan)
{
    const ch_tree_node *access = knowledge_map(r, root, "access", true), *jobs = knowledge_map(r, root, "jobs", false);
    if (r->status < 0)
        return;
    const size_t access_count = access != NULL ? access->count : 0, count = access_count + jobs->count;
    if (count > CH_PLAN_ITEMS_MAX) {
        knowledge_fail(r, CH_E_LIMIT, jobs, "at most 1000", "%zu jobs and access steps", count);
        return;
    }
    ch_plan_item *items = knowledge_alloc(r, count, sizeof *items);
    size_t n = 0;
    for (const ch_tree_node *map = access != NULL ? access->first : NULL; map != NULL && r->status >= 0;
         map = map->next)
        read_item(r, map, CH_PLAN_ACCESS, &items[n++]);
    for (const ch_tree_node *map = jobs->first; map != NULL && r->status >= 0; map = map->next)
        read_item(r, map, CH_PLAN_JOB, &items[n++]);
    plan->items = items;
    plan->items_count = n;
    plan->access_count = access_count;
    plan_read_links(r, access, jobs, items, plan);
}

/* Days go by in order, none twice, none in the past. */
static void check_day(knowledge_reader *r, const ch_tree_node *at, const ch_plan *plan, ch_date date, ch_date before)
{
    char text[16], other[16];
    if (r->status < 0)
        return;
    ch_date_format(date, text, sizeof text);
    if (ch_date_given(plan->today) && ch_date_days(date) < ch_date_days(plan->today)) {
        ch_date_format(plan->today, other, sizeof other);
        knowledge_fail(r, CH_E_INPUT, at, "days from today on: take out those that are over",
                       "%s is in the past: today is %s", text, other);
    } else if (ch_date_given(before) && ch_date_days(date) <= ch_date_days(before)) {
        ch_date_format(before, other, sizeof other);
        knowledge_fail(r, CH_E_INPUT, at, "days in their order, each once", "%s stands behind %s", text, other);
    }
}

static void read_days(knowledge_reader *r, const ch_tree_node *root, ch_plan *plan)
{
    const ch_tree_node *list = knowledge_list(r, root, "days", true);
    if (list == NULL)
        return;
    plan->has_days = true;
    if (list->count > CH_PLAN_DAYS_MAX) {
        knowledge_fail(r, CH_E_LIMIT, list, "at most 1000", "%zu days", list->count);
        return;
    }
    ch_plan_day *days = knowledge_alloc(r, list->count, sizeof *days);
    size_t n = 0;
    for (const ch_tree_node *map = list->first; map != NULL && r->status >= 0; map = map->next) {
        static const knowledge_range a_day = {0, 24, false, false, "0 to 24 hours"};
        knowledge_keys(r, map, "date", "hours");
        const ch_tree_node *date = knowledge_need(r, map, "date");
        days[n].date = date != NULL ? date_of(r, date) : (ch_date){0};
        const double hours = knowledge_number_at(r, map, "hours", &a_day);
        if (r->status < 0)
            return;
        check_day(r, date, plan, days[n].date, n > 0 ? days[n - 1].date : (ch_date){0});
        days[n++].work_us = work_of(hours);
        if (!ch_date_given(plan->until) || ch_date_days(days[n - 1].date) <= ch_date_days(plan->until))
            plan->days_until = n;
    }
    plan->days = days;
    plan->days_count = n;
}

static void read_root(knowledge_reader *r, const ch_tree_node *root, ch_date today, ch_plan *plan)
{
    static const char *const versions[] = {"1"};
    if (root->kind != CH_TREE_MAP) {
        knowledge_fail(r, CH_E_INPUT, root, "keys and values, with plan: 1 and jobs", "not a plan");
        return;
    }
    knowledge_keys(r, root, "plan", "title", "id", "currency", "today", "until", "hours_value", "budget", "days",
                   "access", "jobs");
    knowledge_word(r, root, "plan", versions, 1, -1);
    plan->title = knowledge_text(r, root, "title", true);
    plan->id = knowledge_text(r, root, "id", true);
    const char *currency = knowledge_text(r, root, "currency", true);
    plan->currency = currency != NULL ? currency : "";
    plan->today = date_at(r, root, "today");
    if (!ch_date_given(plan->today))
        plan->today = today;
    plan->own_today = r->status >= 0 && ch_tree_get(root, "today") != NULL;
    plan->until = date_at(r, root, "until");
    if (r->status >= 0 && ch_date_given(plan->until) && ch_date_given(plan->today) &&
        ch_date_days(plan->until) < ch_date_days(plan->today))
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(root, "until"), "the date of the event to be ready for",
                       "until is in the past");
    plan->no_hours_value = r->status >= 0 && ch_tree_get(root, "hours_value") == NULL;
    plan->hours_value = money_at(r, root, "hours_value", &wage_range, 0);
    plan->no_budget = r->status >= 0 && ch_tree_get(root, "budget") == NULL;
    plan->budget = money_at(r, root, "budget", &money_range, CH_MONEY_NO_LIMIT);
    read_days(r, root, plan);
    read_items(r, root, plan);
}

ch_status ch_plan_parse(const char *name, const char *text, size_t length, ch_date today, ch_plan *plan, ch_err *err)
{
    ch_err spare = {0}; /* the reader sizes its messages by an err and may be given none */
    ch_tree *tree = NULL;
    ch_knowledge owner = {0};
    knowledge_reader r = {.to = &owner, .file = name, .err = err != NULL ? err : &spare};
    r.status = ch_tree_parse(name, text, length, &tree, r.err);
    if (r.status < 0)
        return r.status;
    knowledge_keep_tree(&r, tree);
    if (r.status < 0) {
        ch_tree_free(tree);
        return r.status;
    }
    ch_plan made = {0};
    read_root(&r, ch_tree_root(tree), today, &made);
    made.pieces = owner.pieces;
    if (r.status < 0) {
        ch_plan_clear(&made);
        return r.status;
    }
    *plan = made;
    return CH_OK;
}

void ch_plan_clear(ch_plan *plan)
{
    ch_knowledge owner = {.pieces = plan->pieces};
    ch_knowledge_clear(&owner);
    *plan = (ch_plan){0};
}

ch_money ch_plan_parts_left(const ch_plan_item *item)
{
    if (item->paid > 0 && item->kind == CH_PLAN_JOB && item->done)
        return 0;
    return item->parts > item->paid ? item->parts - item->paid : 0;
}

ch_money ch_plan_bill(const ch_plan_item *item)
{
    return item->paid + ch_plan_parts_left(item);
}

ch_money ch_plan_paid(const ch_plan *plan)
{
    ch_money paid = 0;
    for (size_t i = 0; i < plan->items_count; i++)
        paid += plan->items[i].paid;
    return paid;
}

ch_work ch_plan_work_limit(const ch_plan *plan)
{
    ch_work sum = 0;
    if (!plan->has_days)
        return CH_WORK_NO_LIMIT;
    for (size_t i = 0; i < plan->days_until; i++)
        sum += plan->days[i].work_us;
    return sum;
}

ch_date ch_plan_start(const ch_plan *plan)
{
    if (plan->own_today || plan->days_count == 0)
        return plan->own_today ? plan->today : (ch_date){0};
    return plan->days[0].date;
}

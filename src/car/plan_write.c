/* A winter plan as YAML, written so that plan_read.c reads it back equal. Keys that the reader would fill in with the same are left out. */
#include <inttypes.h>
#include <string.h>

#include "crosshatch/plan.h"

enum { PLACES = 10 }; /* digits behind the point: an hour's ten thousand millionths are finer than a microsecond */

/* ------------------------------------------------------------------ scalars */

/* In double quotes, as YAML 1.2.2, 5.7 and 7.3.1 say. */
static void write_quoted(ch_text *text, const char *words)
{
    ch_text_append(text, "\"", 1);
    for (const char *at = words; *at != '\0'; at++) {
        const unsigned char byte = (unsigned char)*at;
        if (byte == '"' || byte == '\\')
            ch_text_appendf(text, "\\%c", byte);
        else if (byte < 0x20 || byte == 0x7f)
            ch_text_appendf(text, "\\x%02x", byte);
        else
            ch_text_append(text, at, 1);
    }
    ch_text_append(text, "\"", 1);
}

/* Names of small letters, digits and _ stand as they are, unless YAML 1.1 or 1.2 would take them for something else. */
static void write_name(ch_text *text, const char *name)
{
    static const char *const taken[] = {"null", "true", "false", "yes", "no", "on", "off", "y", "n"};
    bool plain =
        name[0] >= 'a' && name[0] <= 'z' && strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789_") == strlen(name);
    for (size_t i = 0; i < sizeof taken / sizeof taken[0]; i++)
        plain = plain && strcmp(name, taken[i]) != 0;
    if (plain)
        ch_text_append_string(text, name);
    else
        write_quoted(text, name);
}

/* `count` of what `one` makes a whole one, with as few digits as say it. */
static void write_amount(ch_text *text, int64_t count, int64_t one)
{
    static const int64_t tenfold = INT64_C(10000000000); /* PLACES noughts */
    const int64_t whole = count / one, rest = count % one;
    /* rest * tenfold would not fit: in two halves of five digits */
    const int64_t high = rest * 100000 / one, left = rest * 100000 % one;
    int64_t digits = high * 100000 + (left * 100000 + one / 2) / one;
    /* cppcheck-suppress zerodivcond ; it is `digits` that is held against 0, never what it is divided by */
    const int64_t carry = digits / tenfold;
    digits %= tenfold;
    ch_text_appendf(text, "%" PRId64, whole + carry);
    if (digits == 0)
        return;
    int places = PLACES;
    for (; digits % 10 == 0; digits /= 10)
        places--;
    ch_text_appendf(text, ".%0*" PRId64, places, digits);
}

static void write_date(ch_text *text, ch_date date)
{
    char day[16];
    ch_date_format(date, day, sizeof day);
    ch_text_append_string(text, day);
}

/* ------------------------------------------------------------------ an item */

static void write_guess(ch_text *text, const char *key, const ch_work_guess *guess)
{
    if (guess->most_us == 0)
        return;
    ch_text_appendf(text, ", %s: ", key);
    if (guess->least_us == guess->most_us) {
        write_amount(text, guess->likely_us, CH_WORK_HOUR);
        return;
    }
    ch_text_append(text, "[", 1);
    write_amount(text, guess->least_us, CH_WORK_HOUR);
    ch_text_append(text, ", ", 2);
    write_amount(text, guess->likely_us, CH_WORK_HOUR);
    ch_text_append(text, ", ", 2);
    write_amount(text, guess->most_us, CH_WORK_HOUR);
    ch_text_append(text, "]", 1);
}

static void write_money(ch_text *text, const char *key, ch_money money)
{
    if (money == 0)
        return;
    ch_text_appendf(text, ", %s: ", key);
    write_amount(text, money, CH_MONEY_ONE);
}

/* True where an item of the other kind bears the name, and the reader would find that first. */
static bool taken_away(const ch_plan *plan, const ch_plan_item *item, ch_plan_kind first)
{
    for (size_t i = 0; item->kind != first && i < plan->items_count; i++)
        if (plan->items[i].kind == first && strcmp(plan->items[i].name, item->name) == 0)
            return true;
    return false;
}

static ch_status write_places(const ch_plan *plan, ch_text *text, const char *key, const ch_places *places,
                              ch_plan_kind first, ch_err *err)
{
    if (places->count == 0)
        return CH_OK;
    ch_text_appendf(text, ", %s: [", key);
    for (size_t i = 0; i < places->count; i++) {
        const ch_plan_item *item = &plan->items[places->at[i]];
        if (taken_away(plan, item, first))
            return ch_fail(err, CH_E_INPUT, "another name", "%s: a step and a job are both called \"%s\"", key,
                           item->name);
        ch_text_append_string(text, i > 0 ? ", " : "");
        write_name(text, item->name);
    }
    ch_text_append(text, "]", 1);
    return CH_OK;
}

static ch_status write_item(const ch_plan *plan, const ch_plan_item *item, ch_text *text, ch_err *err)
{
    ch_text_append(text, "  ", 2);
    write_name(text, item->name);
    ch_text_append_string(text, ": {parts: ");
    write_amount(text, item->parts, CH_MONEY_ONE);
    if (item->title != NULL) {
        ch_text_append_string(text, ", title: ");
        write_quoted(text, item->title);
    }
    write_guess(text, "hours", &item->guessed);
    write_guess(text, "refit_hours", &item->refit);
    write_money(text, "avoided", item->avoided);
    write_money(text, "paid", item->paid);
    ch_text_append_string(text, item->must ? ", must: true" : "");
    ch_text_append_string(text, item->done ? ", done: true" : "");
    if (item->done_us > 0) {
        ch_text_append_string(text, ", done_hours: ");
        write_amount(text, item->done_us, CH_WORK_HOUR);
    }
    if (item->lead_days > 0)
        ch_text_appendf(text, ", lead_days: %d", item->lead_days);
    if (item->shop_days > 0)
        ch_text_appendf(text, ", shop_days: %d", item->shop_days);
    ch_text_append_string(text, item->first ? ", first: true" : "");
    ch_status rc = write_places(plan, text, "needs", &item->needs, CH_PLAN_ACCESS, err);
    if (rc >= 0)
        rc = write_places(plan, text, "within", &item->within, CH_PLAN_ACCESS, err);
    if (rc >= 0)
        rc = write_places(plan, text, "requires", &item->requires_, CH_PLAN_JOB, err);
    if (rc >= 0)
        rc = write_places(plan, text, "excludes", &item->excludes, CH_PLAN_JOB, err);
    if (rc >= 0)
        rc = write_places(plan, text, "after", &item->after, CH_PLAN_JOB, err);
    if (rc >= 0)
        rc = write_places(plan, text, "once_closed", &item->once_closed, CH_PLAN_ACCESS, err);
    ch_text_append_string(text, "}\n");
    return rc;
}

/* ------------------------------------------------------------------ the whole */

static void write_head(const ch_plan *plan, ch_text *text)
{
    ch_text_append_string(text, "plan: 1\n");
    if (plan->title != NULL) {
        ch_text_append_string(text, "title: ");
        write_quoted(text, plan->title);
        ch_text_append(text, "\n", 1);
    }
    if (plan->id != NULL) {
        ch_text_append_string(text, "id: ");
        write_quoted(text, plan->id);
        ch_text_append(text, "\n", 1);
    }
    if (plan->currency != NULL && plan->currency[0] != '\0') {
        ch_text_append_string(text, "currency: ");
        write_quoted(text, plan->currency);
        ch_text_append(text, "\n", 1);
    }
    if (plan->own_today) {
        ch_text_append_string(text, "today: ");
        write_date(text, plan->today);
        ch_text_append(text, "\n", 1);
    }
    if (ch_date_given(plan->until)) {
        ch_text_append_string(text, "until: ");
        write_date(text, plan->until);
        ch_text_append(text, "\n", 1);
    }
    if (!plan->no_hours_value) {
        ch_text_append_string(text, "hours_value: ");
        write_amount(text, plan->hours_value, CH_MONEY_ONE);
        ch_text_append(text, "\n", 1);
    }
    if (!plan->no_budget) {
        ch_text_append_string(text, "budget: ");
        write_amount(text, plan->budget, CH_MONEY_ONE);
        ch_text_append(text, "\n", 1);
    }
}

static void write_days(const ch_plan *plan, ch_text *text)
{
    if (!plan->has_days)
        return;
    ch_text_append_string(text, plan->days_count > 0 ? "days:\n" : "days: []\n");
    for (size_t i = 0; i < plan->days_count; i++) {
        ch_text_append_string(text, "  - {date: ");
        write_date(text, plan->days[i].date);
        ch_text_append_string(text, ", hours: ");
        write_amount(text, plan->days[i].work_us, CH_WORK_HOUR);
        ch_text_append_string(text, "}\n");
    }
}

ch_status ch_plan_write(const ch_plan *plan, ch_text *text, ch_err *err)
{
    ch_status rc = CH_OK;
    write_head(plan, text);
    write_days(plan, text);
    if (plan->access_count > 0)
        ch_text_append_string(text, "access:\n");
    for (size_t i = 0; i < plan->items_count && rc >= 0; i++) {
        if (i == plan->access_count)
            ch_text_append_string(text, "jobs:\n");
        rc = write_item(plan, &plan->items[i], text, err);
    }
    if (plan->items_count == plan->access_count)
        ch_text_append_string(text, "jobs: {}\n");
    return rc < 0 ? rc : ch_text_check(text, err);
}

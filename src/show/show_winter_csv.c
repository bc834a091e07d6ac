/* The calendar and the shopping list of a winter plan as tables for a spreadsheet (RFC 4180). */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"

static void put(ch_text *csv, const char *text)
{
    if (text[strcspn(text, ",\"\r\n")] == '\0') {
        ch_text_append_string(csv, text);
        return;
    }
    ch_text_append(csv, "\"", 1);
    for (const char *c = text; *c != '\0'; c++)
        ch_text_append(csv, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
    ch_text_append(csv, "\"", 1);
}

void ch_show_winter_csv(const ch_plan *plan, const ch_winter *winter, ch_text *text)
{
    ch_text_append_string(text, "date,item,kind,hours,title\r\n");
    for (size_t i = 0; i < winter->calendar.count; i++) {
        const ch_calendar_entry *entry = &winter->calendar.entries[i];
        const ch_plan_item *item = &plan->items[entry->item];
        char date[16] = "", hours[CH_SHOW_NUMBER];
        if (entry->day != SIZE_MAX)
            ch_date_format(plan->days[entry->day].date, date, sizeof date);
        ch_text_appendf(text, "%s,", date);
        put(text, item->name);
        ch_text_appendf(text, ",%s,%s,", ch_show_entry_kind(entry->kind),
                        ch_show_number((double)entry->work_us / (double)CH_WORK_HOUR, 4, hours));
        put(text, ch_show_plan_item(item));
        ch_text_append_string(text, "\r\n");
    }
}

/* The day on which an item's parts are wanted: its job, or the closing. LONG_MAX = no day. */
static long wanted(const ch_plan *plan, const ch_winter *winter, size_t item)
{
    for (size_t i = 0; i < winter->calendar.count; i++) {
        const ch_calendar_entry *entry = &winter->calendar.entries[i];
        if (entry->item == item && entry->kind != CH_ENTRY_OPEN && entry->day != SIZE_MAX)
            return ch_date_days(plan->days[entry->day].date);
    }
    return LONG_MAX;
}

static void put_day(ch_text *text, long days)
{
    char date[16] = "";
    if (days != LONG_MAX)
        ch_date_format(ch_date_from_days(days), date, sizeof date);
    ch_text_appendf(text, "%s,", date);
}

static void shopping_row(const ch_plan *plan, const ch_winter *winter, size_t i, ch_text *text)
{
    const ch_plan_item *item = &plan->items[i];
    char money[CH_SHOW_NUMBER];
    const long on = wanted(plan, winter, i);
    put_day(text, on == LONG_MAX ? on : on - item->lead_days - item->shop_days);
    put_day(text, on);
    put(text, item->name);
    ch_text_appendf(text, ",%s", ch_show_number((double)item->parts / (double)CH_MONEY_ONE, 2, money));
    ch_text_appendf(text, ",%s,", ch_show_number((double)item->paid / (double)CH_MONEY_ONE, 2, money));
    put(text, plan->currency);
    ch_text_append_string(text, ",");
    put(text, ch_show_plan_item(item));
    ch_text_append_string(text, "\r\n");
}

void ch_show_winter_shopping(const ch_plan *plan, const ch_winter *winter, ch_text *text)
{
    bool *listed = calloc(plan->items_count + 1, sizeof *listed);
    if (listed == NULL) {
        text->status = text->status < 0 ? text->status : CH_E_MEMORY;
        return;
    }
    char money[CH_SHOW_NUMBER];
    ch_money sum = 0, paid = 0;
    ch_text_append_string(text, "order_by,wanted_on,item,parts,paid,currency,title\r\n");
    for (;;) { /* the next to be ordered; of one day the earlier in the plan */
        size_t found = SIZE_MAX;
        long first = LONG_MAX;
        for (size_t i = 0; i < plan->items_count; i++) {
            const ch_plan_item *item = &plan->items[i];
            const bool open = winter->chosen[i] && item->parts > 0 && !(item->kind == CH_PLAN_JOB && item->done);
            if (listed[i] || !(open || item->paid > 0))
                continue;
            const long on = wanted(plan, winter, i), by = on == LONG_MAX ? on : on - item->lead_days - item->shop_days;
            if (found == SIZE_MAX || by < first) {
                found = i;
                first = by;
            }
        }
        if (found == SIZE_MAX)
            break;
        listed[found] = true;
        sum += plan->items[found].parts;
        paid += plan->items[found].paid;
        shopping_row(plan, winter, found, text);
    }
    ch_text_appendf(text, ",,total,%s", ch_show_number((double)sum / (double)CH_MONEY_ONE, 2, money));
    ch_text_appendf(text, ",%s,", ch_show_number((double)paid / (double)CH_MONEY_ONE, 2, money));
    put(text, plan->currency);
    ch_text_append_string(text, ",\r\n");
    free(listed);
}

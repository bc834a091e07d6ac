/* A winter plan's answer for a terminal. Tables keep to 60 columns: it is read on a phone beside the car too. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "page.h"

enum { NAME = 30, NAME_SIZE = 4 * NAME + 1 };

typedef struct winter_page {
    page p;
    const ch_plan *plan;
    const ch_winter *winter;
    const char *currency, *space; /* behind an amount */
} winter_page;

static const char *name_of(const winter_page *w, size_t item)
{
    return ch_show_plan_item(&w->plan->items[item]);
}

/* A name cut or filled to its column; columns count characters. */
static const char *column(const char *name, char cell[NAME_SIZE + 8])
{
    size_t bytes = 0;
    int width = 0;
    while (name[bytes] != '\0' && width < NAME) {
        const size_t length = ch_utf8_length(name + bytes, strlen(name + bytes));
        bytes += length > 0 ? length : 1;
        width++;
    }
    const bool cut = name[bytes] != '\0';
    snprintf(cell, NAME_SIZE + 8, "%.*s%s%*s", (int)bytes, name, cut ? "~" : "", NAME - width + (cut ? 0 : 1), "");
    return cell;
}

/* ------------------------------------------------------------------ what it comes to */

static void head(winter_page *w)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], until[16], sentence[CH_SHOW_SENTENCE];
    const ch_choice *choice = &w->winter->choice;
    if (w->plan->title != NULL)
        page_paragraph(&w->p, 0, "", w->plan->title);
    ch_date_format(w->plan->until, until, sizeof until);
    if (until[0] != '\0')
        page_paragraphf(&w->p, 0, "", "To be ready for %s.", until);
    if (w->plan->has_days)
        page_paragraphf(&w->p, 0, "", "Hours: %s of %s.", ch_show_work(choice->work_us, a),
                        ch_show_work(ch_plan_work_limit(w->plan), b));
    else
        page_paragraphf(&w->p, 0, "", "Hours: %s; the plan has no days, so they are not limited.",
                        ch_show_work(choice->work_us, a));
    if (w->plan->budget == CH_MONEY_NO_LIMIT)
        page_paragraphf(&w->p, 0, "", "Parts: %s%s%s; the plan has no budget.", ch_show_money(choice->parts, a),
                        w->space, w->currency);
    else
        page_paragraphf(&w->p, 0, "", "Parts: %s of %s%s%s.", ch_show_money(choice->parts, a),
                        ch_show_money(w->plan->budget, b), w->space, w->currency);
    ch_show_winter_paid(w->plan, sentence);
    if (sentence[0] != '\0')
        page_paragraph(&w->p, 0, "", sentence);
    if (choice->proven)
        page_paragraphf(&w->p, 0, "",
                        "Worth %s%s%s: what it saves less parts and hours. No other choice is worth more.",
                        ch_show_money(choice->value, a), w->space, w->currency);
    else
        page_paragraphf(
            &w->p, 0, "",
            "Worth %s%s%s: what it saves less parts and hours. Not proven to be the best: another choice may be "
            "worth up to %s%s%s.",
            ch_show_money(choice->value, a), w->space, w->currency, ch_show_money(choice->value_at_most, b), w->space,
            w->currency);
    if (w->plan->no_hours_value)
        page_paragraph(&w->p, 0, "",
                       "The plan gives hours no value (hours_value): they are limited, but cost nothing.");
}

static void in_time(winter_page *w)
{
    char sentence[CH_SHOW_SENTENCE];
    ch_show_winter_time(w->plan, w->winter, sentence);
    if (sentence[0] == '\0')
        return;
    if (!w->winter->calendar.fits)
        page_tone_text(&w->p, PAGE_BAD, "Not in time: ");
    page_paragraphf(&w->p, 0, "", "%s%s", sentence,
                    w->winter->calendar.fits ? "" : " What found no day stands below the calendar.");
}

static void not_feasible(winter_page *w)
{
    char sentence[CH_SHOW_SENTENCE];
    if (w->plan->title != NULL)
        page_paragraph(&w->p, 0, "", w->plan->title);
    page_tone_text(&w->p, PAGE_BAD, "What must be done cannot be done.");
    ch_text_append_string(w->p.text, "\n");
    for (int i = 0; ch_show_shortfall(w->plan, &w->winter->choice, i, sentence); i++)
        page_paragraph(&w->p, 4, "  - ", sentence);
    page_paragraph(&w->p, 0, "", ch_show_shortfall_help(&w->winter->choice));
}

/* ------------------------------------------------------------------ tables */

static void job_row(winter_page *w, const ch_job_view *view, const char *mark)
{
    char cell[NAME_SIZE + 8], hours[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], sentence[CH_SHOW_SENTENCE];
    const ch_plan_item *item = &w->plan->items[view->item];
    ch_text_appendf(w->p.text, "%s%s%8s %9s\n", mark, column(name_of(w, view->item), cell),
                    ch_show_work(item->hours.likely_us, hours), ch_show_money(ch_plan_bill(item), parts));
    ch_show_job_reason(w->plan, view, sentence);
    page_paragraph(&w->p, 4, "    ", sentence);
}

static void table_head(winter_page *w, const char *what)
{
    char cell[NAME_SIZE + 8], parts[40];
    snprintf(parts, sizeof parts, "%.16s", w->currency[0] != '\0' ? w->currency : "parts");
    page_heading(&w->p, what);
    ch_text_appendf(w->p.text, "  %s%8s %9s\n", column("", cell), "hours", parts);
}

static void jobs(winter_page *w, bool chosen)
{
    bool any = false;
    for (size_t i = 0; i < w->winter->jobs_count; i++) {
        if (w->winter->jobs[i].chosen != chosen)
            continue;
        if (!any)
            table_head(w, chosen ? "Do" : "Leave");
        job_row(w, &w->winter->jobs[i], chosen ? "+ " : "- ");
        any = true;
    }
    if (!any && chosen)
        page_paragraph(&w->p, 0, "", ch_show_winter_nothing(w->winter));
}

static void access_steps(winter_page *w)
{
    char cell[NAME_SIZE + 8], open[CH_SHOW_NUMBER], close[CH_SHOW_NUMBER], both[2 * CH_SHOW_NUMBER],
        parts[CH_SHOW_NUMBER];
    bool any = false;
    for (size_t i = 0; i < w->plan->access_count; i++) {
        const ch_plan_item *item = &w->plan->items[i];
        if (!w->winter->chosen[i])
            continue;
        if (!any)
            table_head(w, "Opened and closed again once, for all of them");
        any = true;
        snprintf(both, sizeof both, "%s+%s", ch_show_work(item->hours.likely_us, open),
                 ch_show_work(item->refit.likely_us, close));
        ch_text_appendf(w->p.text, "  %s%8s %9s\n", column(name_of(w, i), cell), both,
                        ch_show_money(ch_plan_bill(item), parts));
    }
    if (any && w->winter->shared_us > 0)
        page_paragraphf(&w->p, 2, "  ", "Sharing this saves %s h against each job by itself.",
                        ch_show_work(w->winter->shared_us, open));
}

/* ------------------------------------------------------------------ calendar */

static void entry_row(winter_page *w, const ch_calendar_entry *entry)
{
    char cell[NAME_SIZE + 8], hours[CH_SHOW_NUMBER];
    ch_text_appendf(w->p.text, "    %-6s %s%8s\n", ch_show_entry_kind(entry->kind),
                    column(name_of(w, entry->item), cell), ch_show_work(entry->work_us, hours));
}

static void calendar(winter_page *w)
{
    const ch_calendar *days = &w->winter->calendar;
    if (!w->plan->has_days || days->count == 0)
        return;
    page_heading(&w->p, "Calendar");
    for (size_t i = 0; i < days->count;) {
        const size_t day = days->entries[i].day;
        ch_work sum_us = 0;
        char date[16] = "", used[CH_SHOW_NUMBER], has[CH_SHOW_NUMBER];
        for (size_t k = i; k < days->count && days->entries[k].day == day; k++)
            sum_us += days->entries[k].work_us;
        ch_show_work(sum_us, used);
        if (day == SIZE_MAX) {
            ch_text_appendf(w->p.text, "  no day in time: %s h\n", used);
        } else {
            ch_date_format(w->plan->days[day].date, date, sizeof date);
            ch_text_appendf(w->p.text, "  %s %s  %s of %s h\n", ch_show_weekday(w->plan->days[day].date), date, used,
                            ch_show_work(w->plan->days[day].work_us, has));
        }
        for (; i < days->count && days->entries[i].day == day; i++)
            entry_row(w, &days->entries[i]);
    }
}

/* ------------------------------------------------------------------ what else */

static void nearly_free(winter_page *w)
{
    size_t view[CH_SHOW_NEARLY_FREE_MAX];
    char sentence[CH_SHOW_SENTENCE];
    const size_t count = ch_show_nearly_free(w->winter, view);
    for (size_t i = 0; i < count; i++) {
        if (i == 0)
            page_heading(&w->p, "While you are in there");
        ch_show_nearly_free_says(w->plan, &w->winter->jobs[view[i]], sentence);
        page_paragraph(&w->p, 4, "  - ", sentence);
    }
}

static void more(winter_page *w)
{
    char list[CH_SHOW_LIST];
    bool any = false;
    for (int i = 0; i < CH_WINTER_MORE; i++) {
        if (!ch_show_winter_buys(w->plan, w->winter, i, list))
            continue;
        if (!any)
            page_heading(&w->p, "What more would buy");
        any = true;
        page_paragraph(&w->p, 4, "  - ", list);
    }
}

static void drops(winter_page *w)
{
    char sentence[CH_SHOW_SENTENCE];
    if (!w->plan->has_days || w->winter->drops_count == 0)
        return;
    page_heading(&w->p, "If it slips, give up in this order");
    for (size_t i = 0; i < w->winter->drops_count; i++) {
        char first[32];
        snprintf(first, sizeof first, "  %zu. ", i + 1);
        ch_show_winter_drop(w->plan, &w->winter->drops[i], sentence);
        page_paragraph(&w->p, 5, first, sentence);
    }
}

static void working(winter_page *w)
{
    char number[CH_SHOW_NUMBER];
    page_heading(&w->p, "Working");
    page_paragraphf(
        &w->p, 4, "  - ",
        "Choice: most of (avoided - parts of jobs) - parts of access - %s%s%s x hours, within budget and hours; exact, "
        "by branch and bound over minimum cuts (Picard 1976) with priced limits (Geoffrion 1974), %lld "
        "branchings. Three-point hours count with their likely value.",
        ch_show_money(w->plan->hours_value, number), w->space, w->currency, (long long)w->winter->choice.nodes);
    page_paragraph(&w->p, 4, "  - ",
                   "Ties: fewer hours, then less money, then fewer items, then the earlier item of the plan.");
    char start[16];
    ch_date_format(ch_plan_start(w->plan), start, sizeof start);
    page_paragraphf(&w->p, 4, "  - ", "Calendar: lead times count from %s.",
                    start[0] != '\0' ? start : "the first day");
    page_paragraphf(&w->p, 4, "  - ",
                    "Chance: %d draws of every three-point guess, each by itself, from the beta distribution of PERT "
                    "(Malcolm and others 1959). docs/winter.md.",
                    CH_WINTER_DRAWS);
}

void ch_show_winter_text(const ch_plan *plan, const ch_winter *winter, const ch_show_style *style, ch_text *text)
{
    winter_page w = {.p = {.text = text, .columns = style->columns, .colour = style->colour},
                     .plan = plan,
                     .winter = winter,
                     .currency = plan->currency,
                     .space = plan->currency[0] != '\0' ? " " : ""};
    if (!winter->choice.feasible) {
        not_feasible(&w);
        return;
    }
    head(&w);
    in_time(&w);
    jobs(&w, true);
    access_steps(&w);
    jobs(&w, false);
    calendar(&w);
    nearly_free(&w);
    more(&w);
    drops(&w);
    if (style->working)
        working(&w);
}

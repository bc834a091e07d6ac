/* A winter plan as a document, for the wall of the garage. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"

typedef struct reporting {
    ch_document *d;
    const ch_jobs *jobs; /* NULL = not known */
    const ch_plan *plan;
    const ch_winter *winter;
} reporting;

static void outcome(const reporting *r)
{
    const ch_choice *choice = &r->winter->choice;
    char hours[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], words[CH_SHOW_SENTENCE], sentence[CH_SHOW_SENTENCE];
    if (!choice->feasible) {
        ch_document_outcome(r->d, "Cannot be done", "What must be done does not fit.");
        for (int i = 0; ch_show_shortfall(r->plan, choice, i, sentence); i++)
            ch_document_item(r->d, sentence);
        return;
    }
    snprintf(words, sizeof words, "%s h of work, %s %.16s of parts.", ch_show_work(choice->work_us, hours),
             ch_show_money(choice->parts, parts), r->plan->currency);
    ch_show_winter_time(r->plan, r->winter, sentence);
    const char *nothing = ch_show_winter_nothing(r->winter);
    ch_document_outcome(r->d, "The plan", nothing != NULL ? nothing : words);
    if (sentence[0] != '\0')
        ch_document_paragraph(r->d, sentence);
    ch_show_winter_paid(r->plan, sentence);
    if (sentence[0] != '\0')
        ch_document_paragraph(r->d, sentence);
}

static void jobs(const reporting *r, bool chosen)
{
    static const bool numbers[] = {false, true, true, false};
    char parts_head[32];
    snprintf(parts_head, sizeof parts_head, "Parts, %.16s", r->plan->currency);
    const char *const head[] = {"Job", "Hours", parts_head, "Why"};
    bool any = false;
    for (size_t i = 0; i < r->winter->jobs_count; i++) {
        const ch_job_view *view = &r->winter->jobs[i];
        const ch_plan_item *item = &r->plan->items[view->item];
        char hours[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], sentence[CH_SHOW_SENTENCE];
        if (view->chosen != chosen)
            continue;
        if (!any) {
            ch_document_heading(r->d, chosen ? "Do" : "Leave");
            ch_document_table(r->d, chosen ? "Jobs that are worth doing" : "Jobs left out", 4, head, numbers);
        }
        any = true;
        ch_show_job_reason(r->plan, view, sentence);
        const char *const cells[] = {ch_show_plan_item(item), ch_show_work(item->hours.likely_us, hours),
                                     ch_show_money(ch_plan_bill(item), parts), sentence};
        ch_document_row(r->d, cells);
    }
}

static void calendar(const reporting *r)
{
    const ch_calendar *days = &r->winter->calendar;
    size_t day = SIZE_MAX - 1;
    if (!r->plan->has_days)
        return;
    for (size_t i = 0; i < days->count; i++) {
        const ch_calendar_entry *entry = &days->entries[i];
        char words[CH_SHOW_SENTENCE], hours[CH_SHOW_NUMBER], date[16];
        if (entry->day != day && entry->day == SIZE_MAX) {
            ch_document_heading(r->d, "Found no day in time");
        } else if (entry->day != day) {
            const ch_plan_day *on = &r->plan->days[entry->day];
            ch_date_format(on->date, date, sizeof date);
            snprintf(words, sizeof words, "%s %s, %s h", ch_show_weekday(on->date), date,
                     ch_show_work(on->work_us, hours));
            ch_document_heading(r->d, words);
        }
        day = entry->day;
        snprintf(words, sizeof words, "%s%.300s, %s h",
                 entry->kind == CH_ENTRY_OPEN    ? "Open: "
                 : entry->kind == CH_ENTRY_CLOSE ? "Close: "
                                                 : "",
                 ch_show_plan_item(&r->plan->items[entry->item]), ch_show_work(entry->work_us, hours));
        ch_document_tick(r->d, words, NULL);
    }
}

static ch_status picture(const reporting *r, ch_err *err)
{
    ch_svg svg;
    if (!r->plan->has_days || r->winter->calendar.count == 0)
        return CH_OK;
    const ch_status rc = ch_show_calendar_svg(r->plan, r->winter, &svg, err);
    if (rc >= 0) {
        ch_document_heading(r->d, "Calendar");
        ch_document_drawing(r->d, &svg,
                            "Columns: hours of the day, filled as far as they are used. Thick line: the car stands "
                            "apart that night. Dotted: to be ready on this day. Weeks without a day are left out, and "
                            "those behind the last work.");
    }
    ch_svg_clear(&svg);
    return rc;
}

/* ": 5 x Engine oil, 1 l; Oil filter"; nothing where the knowledge does not have the item. */
static void goods_of(const reporting *r, const ch_plan_item *item, char list[CH_SHOW_SENTENCE])
{
    const size_t length = strlen(item->name);
    const ch_access *access =
        r->jobs != NULL && item->kind == CH_PLAN_ACCESS ? ch_access_find(r->jobs, item->name, length) : NULL;
    const ch_job *job = r->jobs != NULL && item->kind == CH_PLAN_JOB ? ch_job_find(r->jobs, item->name, length) : NULL;
    const ch_jobs_work *work = access != NULL ? &access->work : job != NULL ? &job->work : NULL;
    size_t used = 0;
    list[0] = '\0';
    for (size_t i = 0; work != NULL && i < work->goods_count && used + 120 < CH_SHOW_SENTENCE; i++) {
        const ch_goods_need *need = &work->goods[i];
        const char *title = r->jobs->goods[need->goods].title, *between = used == 0 ? ": " : "; ";
        char count[CH_SHOW_NUMBER];
        if (need->maybe)
            continue;
        if (need->count == 1.0)
            used += (size_t)snprintf(list + used, CH_SHOW_SENTENCE - used, "%s%.80s", between, title);
        else
            used +=
                (size_t)snprintf(list + used, CH_SHOW_SENTENCE - used, "%s%s x %.80s", between,
                                 ch_show_number(need->count, need->count == floor(need->count) ? 0 : 1, count), title);
    }
}

static void order(const reporting *r)
{
    bool any = false;
    for (size_t i = 0; i < r->plan->items_count; i++) {
        const ch_plan_item *item = &r->plan->items[i];
        char words[3 * CH_SHOW_SENTENCE], goods[CH_SHOW_SENTENCE], money[CH_SHOW_NUMBER];
        const ch_money left = ch_plan_parts_left(item);
        if (!r->winter->chosen[i] || left == 0 || (item->kind == CH_PLAN_JOB && item->done))
            continue;
        if (!any)
            ch_document_heading(r->d, "Parts to order");
        any = true;
        goods_of(r, item, goods);
        snprintf(words, sizeof words, "%s%.300s, %s %.16s%s", goods[0] == '\0' ? "Parts for " : "For ",
                 ch_show_plan_item(item), ch_show_money(left, money), r->plan->currency, goods);
        if (item->lead_days > 0)
            snprintf(money, sizeof money, "%d days until they are there", item->lead_days);
        ch_document_tick(r->d, words, item->lead_days > 0 ? money : NULL);
    }
}

static void what_else(const reporting *r)
{
    char sentence[CH_SHOW_SENTENCE], list[CH_SHOW_LIST];
    size_t view[CH_SHOW_NEARLY_FREE_MAX];
    const size_t count = ch_show_nearly_free(r->winter, view);
    if (count > 0)
        ch_document_heading(r->d, "While you are in there");
    for (size_t i = 0; i < count; i++) {
        ch_show_nearly_free_says(r->plan, &r->winter->jobs[view[i]], sentence);
        ch_document_item(r->d, sentence);
    }
    bool any = false;
    for (int i = 0; i < CH_WINTER_MORE; i++)
        if (ch_show_winter_buys(r->plan, r->winter, i, list)) {
            if (!any)
                ch_document_heading(r->d, "What more would buy");
            any = true;
            ch_document_item(r->d, list);
        }
    if (r->plan->has_days && r->winter->drops_count > 0)
        ch_document_heading(r->d, "If it slips, give up in this order");
    for (size_t i = 0; r->plan->has_days && i < r->winter->drops_count; i++) {
        ch_show_winter_drop(r->plan, &r->winter->drops[i], sentence);
        ch_document_item(r->d, sentence);
    }
}

ch_status ch_report_winter(const ch_plan *plan, const ch_winter *winter, const ch_jobs *known, ch_document **document,
                           ch_err *err)
{
    char under[64] = "", until[16];
    reporting r = {.plan = plan, .winter = winter, .jobs = known};
    ch_date_format(plan->until, until, sizeof until);
    if (until[0] != '\0')
        snprintf(under, sizeof under, "To be ready for %s", until);
    ch_status rc = ch_document_new(plan->title != NULL ? plan->title : "Winter work", under[0] != '\0' ? under : NULL,
                                   "The car's own service manual goes before this plan.", &r.d, err);
    if (rc < 0)
        return rc;
    outcome(&r);
    if (winter->choice.feasible) {
        jobs(&r, true);
        rc = picture(&r, err);
        calendar(&r);
        order(&r);
        jobs(&r, false);
        what_else(&r);
    }
    if (rc >= 0)
        rc = ch_document_check(r.d, err);
    if (rc < 0) {
        ch_document_free(r.d);
        return rc;
    }
    *document = r.d;
    return CH_OK;
}

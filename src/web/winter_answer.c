/* What the plan comes to, as a page. */
#include "winter_answer.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"

static void p(html_writer *w, const char *words)
{
    html_lit(w, "<p>");
    html_text(w, words);
    html_lit(w, "</p>\n");
}

static void li(html_writer *w, const char *words)
{
    html_lit(w, "<li>");
    html_text(w, words);
    html_lit(w, "</li>\n");
}

static void cannot(html_writer *w, const ch_plan *plan, const ch_winter *winter)
{
    char sentence[CH_SHOW_SENTENCE];
    html_lit(w, "<p class=\"verdict fault\">What must be done cannot be done.</p><ul>\n");
    for (int i = 0; ch_show_shortfall(plan, &winter->choice, i, sentence); i++)
        li(w, sentence);
    html_lit(w, "</ul>");
    p(w, ch_show_shortfall_help(&winter->choice));
}

/* Some job that is done cures the cause. */
static bool is_cured(const winter_kept *kept, const ch_winter *winter, const char *cause)
{
    for (size_t i = kept->plan.access_count; i < kept->plan.items_count; i++) {
        const char *name = kept->plan.items[i].name;
        const ch_job *job = winter->chosen[i] ? ch_job_find(&kept->know->jobs, name, strlen(name)) : NULL;
        for (size_t k = 0; job != NULL && k < job->cures_count; k++)
            if (strcmp(job->cures[k], cause) == 0)
                return true;
    }
    return false;
}

/* The sheet says fault, and it is likelier left in the engine than cured: being in time is then not being ready. */
static bool fault_stays(const winter_kept *kept, const ch_winter *winter, double *found_1, double *left_1)
{
    *found_1 = *left_1 = 0.0;
    for (int cause = CH_CAUSE_SOUND + 1; kept->fault != 0 && cause < CH_CAUSE_COUNT; cause++) {
        if (cause == CH_CAUSE_MEASUREMENT_ERROR)
            continue;
        *found_1 += kept->fault_1[cause];
        *left_1 += is_cured(kept, winter, ch_cause_name((ch_cause)cause)) ? 0.0 : kept->fault_1[cause];
    }
    return *left_1 > 0.5 * *found_1;
}

static void say_fault_stays(html_writer *w, const winter_kept *kept, const ch_winter *winter)
{
    double found_1, left_1;
    char found[CH_SHOW_NUMBER], left[CH_SHOW_NUMBER];
    if (!fault_stays(kept, winter, &found_1, &left_1))
        return;
    html_lit(w, "<section class=\"caution\" aria-labelledby=\"stays\"><h2 id=\"stays\">The fault that was found stays "
                "in the engine</h2><p>");
    html_textf(w,
               "The sheet that this rests on says fault: something is wrong with cylinder %d with a chance of %s, and "
               "after this plan still with %s. However early it is done, the car is not ready with that. The plan "
               "leaves a repair out where it costs more than it is said to save; that it must be done is said under "
               "Change the plan. ",
               kept->fault, ch_show_chance(found_1, found), ch_show_chance(left_1, left));
    html_lit(w, "<a");
    html_attrf(w, "href", "/car/%lld/season", (long long)kept->car->id);
    html_lit(w, ">Season</a> weighs a repair now against driving on.</p></section>\n");
}

static void outcome(html_writer *w, const winter_kept *kept, const ch_winter *winter)
{
    const ch_plan *plan = &kept->plan;
    const ch_choice *choice = &winter->choice;
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], sentence[CH_SHOW_SENTENCE];
    size_t jobs = 0;
    for (size_t i = 0; i < winter->jobs_count; i++)
        jobs += winter->jobs[i].chosen;
    double found_1, left_1;
    const bool stays = fault_stays(kept, winter, &found_1, &left_1);
    html_lit(w, "<p class=\"verdict");
    html_text(w, stays || (plan->has_days && !winter->calendar.fits) ? " watch" : " sound");
    html_lit(w, "\">");
    if (jobs == 0)
        html_textf(w, "%s Say under Change the plan what having a job done saves, that it must be done, or give more.",
                   ch_show_winter_nothing(winter));
    else
        html_textf(w, "%zu job%s, %s h, %s %s of parts.", jobs, jobs == 1 ? "" : "s", ch_show_work(choice->work_us, a),
                   ch_show_money(choice->parts, b), plan->currency);
    ch_show_winter_time(plan, winter, sentence);
    html_lit(w, "<span>");
    html_text(w, !plan->has_days         ? "No days are given: hours are not limited, and there is no calendar."
                 : winter->calendar.fits ? ""
                                         : "Not in time: ");
    html_text(w, plan->has_days ? sentence : NULL);
    html_text(w, stays ? " The fault that was found stays in." : NULL);
    html_lit(w, "</span></p>\n");
    snprintf(sentence, sizeof sentence, "Worth %s %s: what it saves less parts and hours. %s",
             ch_show_money(choice->value, a), plan->currency,
             choice->proven ? "No other choice is worth more." : "Not proven to be the best.");
    p(w, sentence);
    if (plan->has_days) {
        snprintf(sentence, sizeof sentence, "Hours: %s of %s.", ch_show_work(choice->work_us, a),
                 ch_show_work(ch_plan_work_limit(plan), b));
        p(w, sentence);
    }
    ch_show_winter_paid(plan, sentence);
    if (sentence[0] != '\0')
        p(w, sentence);
    if (plan->budget != CH_MONEY_NO_LIMIT) {
        snprintf(sentence, sizeof sentence, "Parts: %s of %s %s.", ch_show_money(choice->parts, a),
                 ch_show_money(plan->budget, b), plan->currency);
        p(w, sentence);
    }
}

/* A job leads to its page. */
static void row(html_writer *w, const winter_kept *kept, const ch_plan_item *item, const char *why, const char *hours,
                const char *parts)
{
    html_lit(w, "<tr><th scope=\"row\">");
    if (item->kind == CH_PLAN_JOB) {
        html_lit(w, "<a class=\"press\"");
        html_attrf(w, "href", "/car/%lld/winter/job/%s", (long long)kept->car->id, item->name);
        html_lit(w, ">");
    }
    html_text(w, ch_show_plan_item(item));
    if (item->kind == CH_PLAN_JOB)
        html_lit(w, "</a>");
    html_lit(w, "<span class=\"hint\">");
    html_text(w, why);
    html_lit(w, "</span></th><td class=\"number\">");
    html_text(w, hours);
    html_lit(w, "</td><td class=\"number\">");
    html_text(w, parts);
    html_lit(w, "</td></tr>\n");
}

static void table_open(html_writer *w, const char *caption, const char *currency)
{
    html_lit(w, "<div class=\"scroll\"><table><caption>");
    html_text(w, caption);
    html_lit(w, "</caption><thead><tr><th scope=\"col\">What</th><th scope=\"col\" class=\"number\">Hours</th>"
                "<th scope=\"col\" class=\"number\">");
    html_text(w, currency);
    html_lit(w, "</th></tr></thead><tbody>\n");
}

static void table_close(html_writer *w)
{
    html_lit(w, "</tbody></table></div>\n");
}

static void jobs(html_writer *w, const winter_kept *kept, const ch_winter *winter, bool chosen)
{
    bool any = false;
    for (size_t i = 0; i < winter->jobs_count; i++) {
        const ch_job_view *view = &winter->jobs[i];
        const ch_plan_item *item = &kept->plan.items[view->item];
        char hours[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], sentence[CH_SHOW_SENTENCE];
        if (view->chosen != chosen)
            continue;
        if (!any)
            table_open(w, chosen ? "Do" : "Leave", kept->plan.currency);
        any = true;
        ch_show_job_reason(&kept->plan, view, sentence);
        row(w, kept, item, sentence, ch_show_work(item->hours.likely_us, hours),
            ch_show_money(ch_plan_bill(item), parts));
    }
    if (any)
        table_close(w);
}

static void access_steps(html_writer *w, const winter_kept *kept, const ch_winter *winter)
{
    bool any = false;
    char open[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], sentence[CH_SHOW_SENTENCE];
    for (size_t i = 0; i < kept->plan.access_count; i++) {
        const ch_plan_item *item = &kept->plan.items[i];
        if (!winter->chosen[i])
            continue;
        if (!any)
            table_open(w, "Opened and closed once for all of them", kept->plan.currency);
        any = true;
        row(w, kept, item, item->done ? "open" : "", ch_show_work(item->hours.likely_us + item->refit.likely_us, open),
            ch_show_money(ch_plan_bill(item), parts));
    }
    if (!any)
        return;
    table_close(w);
    if (winter->shared_us > 0) {
        snprintf(sentence, sizeof sentence, "Sharing this saves %s h against each job by itself.",
                 ch_show_work(winter->shared_us, open));
        p(w, sentence);
    }
}

static void calendar_drawn(html_writer *w, const ch_plan *plan, const ch_winter *winter)
{
    ch_svg svg;
    html_lit(w, "<figure class=\"drawing month\">");
    const ch_status rc = ch_show_calendar_svg(plan, winter, &svg, NULL);
    if (rc >= 0)
        html_svg(w, &svg);
    else
        html_fail(w, rc);
    ch_svg_clear(&svg);
    html_lit(w,
             "<figcaption class=\"quiet\">Columns: hours of the day, filled as far as they are used. Thick line: the "
             "car stands apart that night. Dotted: to be ready on this day. Weeks without a day are left out, and "
             "those behind the last work.</figcaption></figure>\n");
}

static void calendar(html_writer *w, const ch_plan *plan, const ch_winter *winter)
{
    const ch_calendar *days = &winter->calendar;
    if (!plan->has_days || days->count == 0)
        return;
    html_lit(w, "<h2>Calendar</h2>\n");
    calendar_drawn(w, plan, winter);
    html_lit(w, "<dl class=\"calendar\">\n");
    for (size_t i = 0; i < days->count;) {
        const size_t day = days->entries[i].day;
        char date[16] = "", hours[CH_SHOW_NUMBER], used[CH_SHOW_NUMBER];
        ch_work sum_us = 0;
        for (size_t k = i; k < days->count && days->entries[k].day == day; k++)
            sum_us += days->entries[k].work_us;
        html_lit(w, "<dt>");
        if (day == SIZE_MAX) {
            html_text(w, "Found no day in time");
        } else {
            ch_date_format(plan->days[day].date, date, sizeof date);
            html_textf(w, "%s %s, %s of %s h", ch_show_weekday(plan->days[day].date), date, ch_show_work(sum_us, used),
                       ch_show_work(plan->days[day].work_us, hours));
        }
        html_lit(w, "</dt>\n");
        for (; i < days->count && days->entries[i].day == day; i++) {
            const ch_calendar_entry *entry = &days->entries[i];
            html_lit(w, "<dd>");
            html_textf(w, "%s%s, %s h",
                       entry->kind == CH_ENTRY_OPEN    ? "Open: "
                       : entry->kind == CH_ENTRY_CLOSE ? "Close: "
                                                       : "",
                       ch_show_plan_item(&plan->items[entry->item]), ch_show_work(entry->work_us, hours));
            html_lit(w, "</dd>\n");
        }
    }
    html_lit(w, "</dl>\n");
}

static void what_else(html_writer *w, const ch_plan *plan, const ch_winter *winter)
{
    char sentence[CH_SHOW_SENTENCE], list[CH_SHOW_LIST];
    size_t view[CH_SHOW_NEARLY_FREE_MAX];
    const size_t count = ch_show_nearly_free(winter, view);
    if (count > 0)
        html_lit(w, "<h2>While you are in there</h2><ul>\n");
    for (size_t i = 0; i < count; i++) {
        ch_show_nearly_free_says(plan, &winter->jobs[view[i]], sentence);
        li(w, sentence);
    }
    if (count > 0)
        html_lit(w, "</ul>\n");
    bool any = false;
    for (int i = 0; i < CH_WINTER_MORE; i++) {
        if (!ch_show_winter_buys(plan, winter, i, list))
            continue;
        if (!any)
            html_lit(w, "<h2>What more would buy</h2><ul>\n");
        any = true;
        li(w, list);
    }
    if (any)
        html_lit(w, "</ul>\n");
    if (!plan->has_days || winter->drops_count == 0)
        return;
    html_lit(w, "<h2>If it slips, give up in this order</h2><ol>\n");
    for (size_t i = 0; i < winter->drops_count; i++) {
        ch_show_winter_drop(plan, &winter->drops[i], sentence);
        li(w, sentence);
    }
    html_lit(w, "</ol>\n");
}

void winter_answer_write(html_writer *w, const winter_kept *kept, const ch_winter *winter)
{
    if (!winter->choice.feasible) {
        cannot(w, &kept->plan, winter);
        return;
    }
    say_fault_stays(w, kept, winter);
    outcome(w, kept, winter);
    jobs(w, kept, winter, true);
    access_steps(w, kept, winter);
    calendar(w, &kept->plan, winter);
    what_else(w, &kept->plan, winter);
    html_lit(w, "<details><summary>What is left out, and why</summary>\n");
    jobs(w, kept, winter, false);
    html_lit(w, "</details>\n");
}

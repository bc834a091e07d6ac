/* What every face says of a winter plan in the same words. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_winter.h"

const char *ch_show_money(ch_money money, char buffer[CH_SHOW_NUMBER])
{
    const bool whole = llabs(money % CH_MONEY_ONE) < CH_MONEY_ONE / 200;
    return ch_show_number((double)money / (double)CH_MONEY_ONE, whole ? 0 : 2, buffer);
}

const char *ch_show_work(ch_work work_us, char buffer[CH_SHOW_NUMBER])
{
    const ch_work tenth_us = CH_WORK_HOUR / 10;
    const ch_work off_us = work_us % tenth_us;
    const bool tenths = off_us < tenth_us / 20 || off_us > tenth_us - tenth_us / 20;
    return ch_show_number((double)work_us / (double)CH_WORK_HOUR, tenths ? 1 : 2, buffer);
}

const char *ch_show_entry_kind(ch_entry_kind kind)
{
    static const char *const names[] = {[CH_ENTRY_OPEN] = "open", [CH_ENTRY_JOB] = "job", [CH_ENTRY_CLOSE] = "close"};
    return names[kind];
}

const char *ch_show_plan_item(const ch_plan_item *item)
{
    return item->title != NULL ? item->title : item->name;
}

void ch_show_job_reason(const ch_plan *plan, const ch_job_view *view, char sentence[CH_SHOW_SENTENCE])
{
    char money[CH_SHOW_NUMBER], own[CH_SHOW_NUMBER];
    const char *least = view->exact ? "" : "at least ", *currency = plan->currency;
    const char *space = currency[0] != '\0' ? " " : "";
    ch_show_money(view->difference, money);
    switch (view->reason) {
    case CH_JOB_DONE: snprintf(sentence, CH_SHOW_SENTENCE, "done"); break;
    case CH_JOB_MUST: snprintf(sentence, CH_SHOW_SENTENCE, "must be done"); break;
    case CH_JOB_NEEDED: snprintf(sentence, CH_SHOW_SENTENCE, "what must be done cannot be done without it"); break;
    case CH_JOB_PAYS:
        if (view->difference > 0)
            snprintf(sentence, CH_SHOW_SENTENCE, "without it the plan is worth %s%s%s%s less", least, money, space,
                     currency);
        else
            snprintf(sentence, CH_SHOW_SENTENCE, "as good with it as without");
        break;
    case CH_JOB_RIVAL:
        snprintf(sentence, CH_SHOW_SENTENCE, "it excludes a job that is worth %s%s%s%s more to the plan", least, money,
                 space, currency);
        break;
    case CH_JOB_SHUT_OUT:
        snprintf(sentence, CH_SHOW_SENTENCE, "it excludes, or needs what excludes, something that must be done");
        break;
    case CH_JOB_TOO_LARGE:
        snprintf(sentence, CH_SHOW_SENTENCE, "too large: with it what must be done does not fit hours and money");
        break;
    case CH_JOB_NO_GAIN:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "it saves less than its parts and hours cost: the plan would be worth %s%s%s%s less", least, money,
                 space, currency);
        break;
    case CH_JOB_CROWDED_OUT:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "worth %s%s%s by itself, but hours and money bring %s%s%s%s more with other jobs",
                 ch_show_money(view->here_value, own), space, currency, least, money, space, currency);
        break;
    }
}

bool ch_show_shortfall(const ch_plan *plan, const ch_choice *choice, int which, char sentence[CH_SHOW_SENTENCE])
{
    char takes[CH_SHOW_NUMBER], has[CH_SHOW_NUMBER], beyond[CH_SHOW_NUMBER], until[16];
    const char *space = plan->currency[0] != '\0' ? " " : "";
    if (choice->short_us > 0 && which-- == 0) {
        ch_date_format(plan->until, until, sizeof until);
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "hours: what must be done takes %s h, the days%s%s have %s h: %s h too few",
                 ch_show_work(choice->must_us, takes), until[0] != '\0' ? " until " : "", until,
                 ch_show_work(ch_plan_work_limit(plan), has), ch_show_work(choice->short_us, beyond));
        return true;
    }
    if (choice->short_parts > 0 && which-- == 0) {
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "budget: the parts of what must be done cost %s%s%s, the budget is %s%s%s: %s%s%s too little",
                 ch_show_money(choice->must_parts, takes), space, plan->currency, ch_show_money(plan->budget, has),
                 space, plan->currency, ch_show_money(choice->short_parts, beyond), space, plan->currency);
        return true;
    }
    if (choice->quarrel[0] != SIZE_MAX && which == 0) {
        snprintf(sentence, CH_SHOW_SENTENCE, "%s and %s exclude each other, and what must be done takes both",
                 plan->items[choice->quarrel[0]].name, plan->items[choice->quarrel[1]].name);
        return true;
    }
    return false;
}

const char *ch_show_shortfall_help(const ch_choice *choice)
{
    if (choice->quarrel[0] == SIZE_MAX)
        return "More days, more money, or take a must away.";
    return choice->short_us > 0 || choice->short_parts > 0
               ? "Take a must of the two away; days and money do not help with that."
               : "Take a must of the two away: neither days nor money help.";
}

void ch_show_winter_paid(const ch_plan *plan, char sentence[CH_SHOW_SENTENCE])
{
    char spent[CH_SHOW_NUMBER], has[CH_SHOW_NUMBER], beyond[CH_SHOW_NUMBER];
    const char *space = plan->currency[0] != '\0' ? " " : "";
    const ch_money paid = ch_plan_paid(plan);
    sentence[0] = '\0';
    if (paid == 0)
        return;
    ch_show_money(paid, spent);
    if (paid > plan->budget)
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Paid so far: %s%s%s, %s%s%s more than the budget of %s%s%s: nothing more may be bought.", spent,
                 space, plan->currency, ch_show_money(paid - plan->budget, beyond), space, plan->currency,
                 ch_show_money(plan->budget, has), space, plan->currency);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "Paid so far: %s%s%s.", spent, space, plan->currency);
}

const char *ch_show_weekday(ch_date date)
{
    static const char *const names[] = {"Thu", "Fri", "Sat", "Sun",
                                        "Mon", "Tue", "Wed"}; /* 1970-01-01 was a Thursday */
    return names[((ch_date_days(date) % 7) + 7) % 7];
}

void ch_show_winter_time(const ch_plan *plan, const ch_winter *winter, char sentence[CH_SHOW_SENTENCE])
{
    char number[CH_SHOW_NUMBER], date[16];
    const ch_calendar *days = &winter->calendar;
    sentence[0] = '\0';
    ch_date_format(days->finish, date, sizeof date);
    if (!plan->has_days || (days->fits && date[0] == '\0'))
        return;
    if (!days->fits)
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "the hours would do, but waiting for parts or for each other leaves %s h over.",
                 ch_show_work(days->late_us, number));
    else
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Done on %s. Ready in time with a chance of %s. The car stands apart for %ld night%s.", date,
                 ch_show_chance(winter->chance_1, number), days->nights_apart, days->nights_apart == 1 ? "" : "s");
}

size_t ch_show_nearly_free(const ch_winter *winter, size_t view[CH_SHOW_NEARLY_FREE_MAX])
{
    bool shown[CH_PLAN_ITEMS_MAX] = {0};
    size_t count = 0;
    while (count < CH_SHOW_NEARLY_FREE_MAX) {
        size_t found = SIZE_MAX;
        for (size_t i = 0; i < winter->jobs_count; i++) {
            const ch_job_view *one = &winter->jobs[i];
            if (one->chosen || shown[i] || 2 * one->here_us > one->alone_us || one->reason == CH_JOB_SHUT_OUT ||
                one->reason == CH_JOB_RIVAL)
                continue;
            if (found == SIZE_MAX || one->here_us < winter->jobs[found].here_us)
                found = i;
        }
        if (found == SIZE_MAX)
            break;
        shown[found] = true;
        view[count++] = found;
    }
    return count;
}

void ch_show_nearly_free_says(const ch_plan *plan, const ch_job_view *view, char sentence[CH_SHOW_SENTENCE])
{
    char here[CH_SHOW_NUMBER], alone[CH_SHOW_NUMBER], parts[CH_SHOW_NUMBER], value[CH_SHOW_NUMBER];
    const char *space = plan->currency[0] != '\0' ? " " : "";
    snprintf(sentence, CH_SHOW_SENTENCE,
             "%.160s: now %s h and %s%s%s of parts instead of %s h another time; worth %s%s%s.",
             ch_show_plan_item(&plan->items[view->item]), ch_show_work(view->here_us, here),
             ch_show_money(view->here_parts, parts), space, plan->currency, ch_show_work(view->alone_us, alone),
             ch_show_money(view->here_value, value), space, plan->currency);
}

static void list_difference(const ch_plan *plan, const bool in[], const bool but[], const char *intro,
                            char list[CH_SHOW_LIST])
{
    size_t used = strlen(list);
    bool any = false;
    for (size_t i = plan->access_count; i < plan->items_count; i++) {
        if (!in[i] || but[i] || used + CH_PLAN_NAME_MAX + 32 > CH_SHOW_LIST)
            continue;
        used += (size_t)snprintf(list + used, CH_SHOW_LIST - used, "%s%.64s", any ? ", " : intro, plan->items[i].name);
        any = true;
    }
}

bool ch_show_winter_buys(const ch_plan *plan, const ch_winter *winter, int which, char list[CH_SHOW_LIST])
{
    const ch_winter_more *buys = &winter->more[which];
    char amount[CH_SHOW_NUMBER], gains[CH_SHOW_NUMBER], first[2 * CH_SHOW_NUMBER];
    const char *space = plan->currency[0] != '\0' ? " " : "";
    if (buys->money > 0 ? plan->budget == CH_MONEY_NO_LIMIT : !plan->has_days)
        return false;
    if (buys->money > 0)
        snprintf(first, sizeof first, "%.40s%.1s%.16s more", ch_show_money(buys->money, amount), space, plan->currency);
    else
        snprintf(first, sizeof first, "%.40s h more", ch_show_work(buys->work_us, amount));
    if (buys->gains > 0)
        snprintf(list, CH_SHOW_LIST, "%s: %s%s%s%.16s more", first, buys->exact ? "" : "at least ",
                 ch_show_money(buys->gains, gains), space, plan->currency);
    else
        snprintf(list, CH_SHOW_LIST, "%s: nothing%s", first, buys->exact ? "" : " that was found");
    if (buys->gains > 0) {
        list_difference(plan, buys->chosen, winter->chosen, "; in comes ", list);
        list_difference(plan, winter->chosen, buys->chosen, "; out goes ", list);
    }
    const size_t used = strlen(list);
    snprintf(list + used, CH_SHOW_LIST - used, ".");
    return true;
}

void ch_show_winter_drop(const ch_plan *plan, const ch_winter_drop *drop, char sentence[CH_SHOW_SENTENCE])
{
    char hours[CH_SHOW_NUMBER], loses[CH_SHOW_NUMBER], chance[CH_SHOW_NUMBER];
    const char *space = plan->currency[0] != '\0' ? " " : "";
    snprintf(sentence, CH_SHOW_SENTENCE, "%.200s: frees %s h, loses %s%s%s; chance then %s",
             ch_show_plan_item(&plan->items[drop->item]), ch_show_work(drop->frees_us, hours),
             ch_show_money(drop->loses, loses), space, plan->currency, ch_show_chance(drop->chance_1, chance));
}

const char *ch_show_winter_nothing(const ch_winter *winter)
{
    bool crowded = false;
    for (size_t i = 0; i < winter->jobs_count; i++) {
        if (winter->jobs[i].chosen)
            return NULL;
        crowded = crowded || winter->jobs[i].reason == CH_JOB_CROWDED_OUT || winter->jobs[i].reason == CH_JOB_TOO_LARGE;
    }
    return crowded ? "Hours or money are too short for any job that is worth it."
                   : "Nothing on the list is worth its hours and parts.";
}

/* What every face says of a winter plan in the same words. */
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

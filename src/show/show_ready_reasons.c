/* What stands in the way, thing by thing, and what clears it. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_ready.h"

const char *ch_show_reason_name(ch_show_reason_kind kind)
{
    static const char *const NAME[CH_SHOW_REASON_KINDS] = {"open", "work", "part", "engine", "clutch", "forecast"};
    return (unsigned)kind < CH_SHOW_REASON_KINDS ? NAME[kind] : NULL;
}

bool ch_show_ready_knows_nothing(const ch_show_ready *shown)
{
    return shown->parts == 0 && shown->opens == 0 && shown->works == 0 && shown->run == NULL &&
           isnan(shown->ready->engine.over_fault_1) && !ch_date_given(shown->ready->engine.day) &&
           !shown->ready->engine_faulty;
}

/* ---------------------------------------------------------------- the engine */

enum { FEW_WORDS = 96 };

typedef struct words {
    char text[FEW_WORDS];
} words;

/* "cylinder 3, over 99 %, and 1 more"; empty where no cylinder is told. */
static words whom(const ch_ready_fault *fault)
{
    words said = {""};
    char chance[CH_SHOW_NUMBER], more[32] = "";
    if (fault->cylinder == 0)
        return said;
    if (fault->more > 0)
        snprintf(more, sizeof more, "%s and %d more", isnan(fault->wrong_1) ? "" : ",", fault->more);
    if (isnan(fault->wrong_1))
        snprintf(said.text, sizeof said.text, "cylinder %d%s", fault->cylinder, more);
    else
        snprintf(said.text, sizeof said.text, "cylinder %d, %s%s", fault->cylinder,
                 ch_show_chance(fault->wrong_1, chance), more);
    return said;
}

/* "compression or leak-down test of cylinder 3" */
static words retest(const ch_ready_fault *fault)
{
    words said;
    char cylinders[40];
    if (fault->cylinder == 0)
        snprintf(cylinders, sizeof cylinders, "every cylinder");
    else if (fault->more > 0)
        snprintf(cylinders, sizeof cylinders, "each of these cylinders");
    else
        snprintf(cylinders, sizeof cylinders, "cylinder %d", fault->cylinder);
    snprintf(said.text, sizeof said.text, "%s test of %s",
             fault->seen_by == CH_READY_BY_LEAKDOWN      ? "leak-down"
             : fault->seen_by == CH_READY_BY_COMPRESSION ? "compression"
                                                         : "compression or leak-down",
             cylinders);
    return said;
}

/* "of 2026-10-01", "without a day (entered 2026-11-27)": a day of entry is not told as that of a test. */
static words of_day(ch_date date, bool assumed)
{
    words said;
    char day[16];
    ch_date_format(date, day, sizeof day);
    snprintf(said.text, sizeof said.text, assumed ? "without a day (entered %s)" : "of %s", day);
    return said;
}

static bool is_newest(const ch_ready_engine *engine)
{
    return engine->verdict == CH_VERDICT_FAULT && ch_date_given(engine->day) &&
           ch_date_days(engine->day) == ch_date_days(engine->fault.day);
}

/* What nothing can follow, since it is not known when it was. */
static const char *slip(const ch_ready_fault *fault)
{
    return fault->day_to_come   ? " That day is still to come: put it right on the sheet."
           : fault->day_assumed ? " Enter the day of its test."
                                : "";
}

static const char DO_NOT_RUN[] =
    "Something was seen that has to be put right before the engine is cranked or run, whatever it reads.";

void ch_show_ready_engine(const ch_show_ready *shown, char sentence[CH_SHOW_READY_ENGINE])
{
    const ch_ready_engine *engine = &shown->ready->engine;
    const ch_ready_fault *fault = &engine->fault;
    char chance[CH_SHOW_NUMBER];
    size_t used = 0;
    sentence[0] = '\0';
    if (ch_date_given(engine->day)) {
        used += (size_t)snprintf(sentence, CH_SHOW_READY_ENGINE, "By the newest sheet, %s: %s.",
                                 of_day(engine->day, engine->day_assumed).text, ch_verdict_name(engine->verdict));
        if (fault->do_not_run && is_newest(engine))
            used += (size_t)snprintf(sentence + used, CH_SHOW_READY_ENGINE - used, " %s", DO_NOT_RUN);
        else if (engine->cylinder > 0 && engine->verdict != CH_VERDICT_SOUND)
            used += (size_t)snprintf(sentence + used, CH_SHOW_READY_ENGINE - used,
                                     " The chance that something is wrong with cylinder %d is %s%s.", engine->cylinder,
                                     ch_show_chance(engine->wrong_1, chance),
                                     shown->ready->engine_faulty ? "" : ", the most of all");
    }
    if (!shown->ready->engine_faulty)
        return;
    if (!is_newest(engine)) {
        const words who = whom(fault);
        used += (size_t)snprintf(sentence + used, CH_SHOW_READY_ENGINE - used,
                                 "%sThe fault that the sheet %s found%s%s%s still stands: no later test that could "
                                 "have seen it shows none.%s%s%s",
                                 used > 0 ? " " : "", of_day(fault->day, fault->day_assumed).text,
                                 who.text[0] != '\0' ? " (" : "", who.text, who.text[0] != '\0' ? ")" : "",
                                 fault->do_not_run ? " " : "", fault->do_not_run ? DO_NOT_RUN : "", slip(fault));
    }
    snprintf(sentence + used, CH_SHOW_READY_ENGINE - used,
             " A later %s without a fault clears this, and so does a repair of the engine since: a job of the winter "
             "that is done, or a part of a kind that opens the engine.",
             retest(fault).text);
}

void ch_show_ready_fault(const ch_ready_engine *engine, char sentence[CH_SHOW_SENTENCE])
{
    const words who = whom(&engine->fault), of = of_day(engine->fault.day, engine->fault.day_assumed);
    const char *seen = engine->fault.do_not_run ? ": something was seen that forbids to crank or run the engine" : "";
    char in[FEW_WORDS + 4] = "";
    if (who.text[0] != '\0')
        snprintf(in, sizeof in, " (%s)", who.text);
    if (is_newest(engine))
        snprintf(sentence, CH_SHOW_SENTENCE, "The newest sheet of the engine, %s, says fault%s%s", of.text, in, seen);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "The fault that the sheet %s found still stands%s%s", of.text, in, seen);
}

static void reason_engine(const ch_show_ready *shown, ch_show_reason *reason)
{
    const ch_ready_fault *fault = &shown->ready->engine.fault;
    ch_show_ready_fault(&shown->ready->engine, reason->says);
    snprintf(reason->to_do, sizeof reason->to_do, "Mend it%s, then enter a %s.%s",
             fault->do_not_run ? " before the engine is cranked or run" : "", retest(fault).text, slip(fault));
}

/* ---------------------------------------------------------------- the clutch */

static const char *clears_clutch(const ch_show_ready *shown)
{
    return shown->renewed_that_day ? "A later run without slip clears this."
                                   : "A later run without slip clears this, and so does a clutch plate that was "
                                     "fitted since and is entered among the parts.";
}

void ch_show_ready_clutch(const ch_show_ready *shown, char sentence[CH_SHOW_READY_CLUTCH])
{
    char day[16], verdict[CH_SHOW_RUN_SENTENCE];
    if (shown->run == NULL) {
        snprintf(sentence, CH_SHOW_READY_CLUTCH, "No run of this clutch is on record that tells whether it slips.");
        return;
    }
    ch_date_format(shown->run_day, day, sizeof day);
    ch_show_driveline_verdict(shown->run, verdict);
    snprintf(sentence, CH_SHOW_READY_CLUTCH, "By the run of %s: %s%s%s%s", day, verdict,
             shown->renewed_that_day
                 ? " The clutch was renewed on that very day: whether the run was before or after is not known."
                 : "",
             shown->ready->clutch_doubtful ? " " : "", shown->ready->clutch_doubtful ? clears_clutch(shown) : "");
}

static void reason_clutch(const ch_show_ready *shown, ch_show_reason *reason)
{
    char day[16], chance[CH_SHOW_NUMBER];
    ch_date_format(shown->run_day, day, sizeof day);
    snprintf(reason->says, sizeof reason->says, "The clutch slips by the run of %s with a chance of %s%s", day,
             ch_show_chance(shown->ready->clutch_slips_1, chance),
             shown->renewed_that_day ? ", if that was after it was renewed on that day" : "");
    snprintf(reason->to_do, sizeof reason->to_do, "Mend it, then log another run.");
}

/* ---------------------------------------------------------------- what is off, parts, the forecast */

enum { NAMES = 3, NAME_SIZE = 61, NAMES_SIZE = NAMES * (NAME_SIZE + 2) + 40 };

/* The first few by name. */
typedef struct names {
    char text[NAMES_SIZE];
    size_t used, count;
} names;

static void add_name(names *to, const char *what)
{
    char name[NAME_SIZE];
    ch_text_excerpt(what, strlen(what), name, sizeof name);
    if (to->count++ < NAMES)
        to->used +=
            (size_t)snprintf(to->text + to->used, NAMES_SIZE - to->used, "%s%s", to->count > 1 ? ", " : "", name);
}

static void end_names(names *to)
{
    if (to->count > NAMES)
        snprintf(to->text + to->used, NAMES_SIZE - to->used, " and %zu more", to->count - NAMES);
}

static void reason_open(const ch_show_ready *shown, ch_show_reason *reason)
{
    names off = {.text = ""};
    for (size_t i = 0; i < shown->opens; i++)
        add_name(&off, shown->open[i].what);
    end_names(&off);
    snprintf(reason->says, sizeof reason->says, "Still off the car: %s", off.text);
    snprintf(reason->to_do, sizeof reason->to_do, "Put %s back, and say so in the ledger.",
             shown->opens == 1 ? "it" : "them");
}

static void reason_work(const ch_show_ready *shown, ch_show_reason *reason)
{
    names begun = {.text = ""};
    for (size_t i = 0; i < shown->works; i++)
        add_name(&begun, shown->work[i]);
    end_names(&begun);
    snprintf(reason->says, sizeof reason->says, "Work that was begun is not closed: %s", begun.text);
    snprintf(reason->to_do, sizeof reason->to_do,
             "What its steps loosened may be loose still: do those that are open, then close it.");
}

static void reason_part(const ch_ready_due *due, ch_show_reason *reason)
{
    ch_show_ready_due(due, reason->says);
    snprintf(reason->to_do, sizeof reason->to_do, "Renew it, and enter it among the parts.");
}

static void reason_forecast(const ch_show_ready *shown, ch_show_reason *reason)
{
    char chance[CH_SHOW_NUMBER];
    snprintf(reason->says, sizeof reason->says, "A cylinder is over the fault limit %s with a chance of %s",
             ch_date_given(shown->event->day) ? "by the event's end" : "today",
             ch_show_chance(shown->ready->engine.over_fault_1, chance));
    snprintf(reason->to_do, sizeof reason->to_do, "Test it again: a newer sheet tells more.");
}

/* ---------------------------------------------------------------- all of them */

static size_t count_of(const ch_ready *ready, ch_ready_when when)
{
    size_t n = 0;
    for (size_t i = 0; i < ready->due_count; i++)
        n += ready->due[i].when == when;
    return n;
}

size_t ch_show_ready_reasons(const ch_show_ready *shown)
{
    const ch_ready *ready = shown->ready;
    return (size_t)(shown->opens > 0) + (size_t)(shown->works > 0) + count_of(ready, CH_READY_OVER) +
           count_of(ready, CH_READY_DURING) + (size_t)ready->engine_faulty + (size_t)ready->clutch_doubtful +
           (size_t)ready->engine_doubtful;
}

/* True where *at is one of the next `count`; else they are counted off. */
static bool among(size_t *at, size_t count)
{
    if (*at < count)
        return true;
    *at -= count;
    return false;
}

void ch_show_ready_reason(const ch_show_ready *shown, size_t at, ch_show_reason *reason)
{
    const ch_ready *ready = shown->ready;
    const size_t over = count_of(ready, CH_READY_OVER), during = count_of(ready, CH_READY_DURING);
    if (among(&at, shown->opens > 0)) {
        reason->kind = CH_SHOW_REASON_OPEN;
        reason_open(shown, reason);
    } else if (among(&at, shown->works > 0)) {
        reason->kind = CH_SHOW_REASON_WORK;
        reason_work(shown, reason);
    } else if (among(&at, over)) {
        reason->kind = CH_SHOW_REASON_PART;
        reason_part(&ready->due[at], reason); /* they stand first */
    } else if (among(&at, ready->engine_faulty)) {
        reason->kind = CH_SHOW_REASON_ENGINE;
        reason_engine(shown, reason);
    } else if (among(&at, during)) {
        reason->kind = CH_SHOW_REASON_PART;
        reason_part(&ready->due[over + at], reason);
    } else if (among(&at, ready->clutch_doubtful)) {
        reason->kind = CH_SHOW_REASON_CLUTCH;
        reason_clutch(shown, reason);
    } else {
        reason->kind = CH_SHOW_REASON_FORECAST;
        reason_forecast(shown, reason);
    }
}

/* Watch and unclear do not keep the car at home, but they are on record. */
static void outcome_ready(const ch_show_ready *shown, char sentence[CH_SHOW_SENTENCE])
{
    const ch_ready_engine *engine = &shown->ready->engine;
    const char *event = ch_date_given(shown->event->day) ? "the event" : "an event";
    if (ch_date_given(engine->day) && engine->verdict != CH_VERDICT_SOUND) {
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Nothing that is on record stands between the car and %s, but the newest sheet of the engine, %s, "
                 "says %s. That is not the same as safe: look it over.",
                 event, of_day(engine->day, engine->day_assumed).text, ch_verdict_name(engine->verdict));
        return;
    }
    snprintf(sentence, CH_SHOW_SENTENCE,
             "Nothing that is on record stands between the car and %s. That is not the same as safe: look it over.%s",
             event,
             ch_show_ready_knows_nothing(shown) ? " And nothing is on record: no part, no test, no logged run." : "");
}

void ch_show_ready_outcome(const ch_show_ready *shown, char sentence[CH_SHOW_SENTENCE])
{
    const size_t reasons = ch_show_ready_reasons(shown);
    ch_show_reason one;
    if (reasons == 0) {
        outcome_ready(shown, sentence);
        return;
    }
    if (reasons > 1) {
        snprintf(sentence, CH_SHOW_SENTENCE, "Not ready: %zu things stand in the way.", reasons);
        return;
    }
    ch_show_ready_reason(shown, 0, &one);
    if (one.kind == CH_SHOW_REASON_PART) {
        snprintf(sentence, CH_SHOW_SENTENCE, "Not ready: a part is due (%.440s).", one.says);
    } else if (one.kind == CH_SHOW_REASON_OPEN) {
        snprintf(sentence, CH_SHOW_SENTENCE, "Not ready: %zu %s still off the car.", shown->opens,
                 shown->opens == 1 ? "thing is" : "things are");
    } else {
        one.says[0] = (char)tolower((unsigned char)one.says[0]);
        snprintf(sentence, CH_SHOW_SENTENCE, "Not ready: %.490s.", one.says);
    }
}

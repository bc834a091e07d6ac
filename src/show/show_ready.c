/* Ready or not, as sentences, text and JSON. */
#include "crosshatch/show_ready.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_driveline.h"
#include "js.h"
#include "page.h"

/* How a way of counting is told: its unit, how many SI units that is, and decimals. */
typedef struct telling {
    const char *unit;
    double factor;
    int decimals;
} telling;

static telling telling_of(ch_life_by by)
{
    switch (by) {
    case CH_LIFE_HOURS: return (telling){"h", 3600.0, 1};
    case CH_LIFE_SESSIONS: return (telling){"sessions", 1.0, 0};
    case CH_LIFE_HEAT_CYCLES: return (telling){"heat cycles", 1.0, 0};
    case CH_LIFE_DISTANCE: return (telling){"km", 1000.0, 0};
    case CH_LIFE_PART_LEFT: return (telling){"%", 0.01, 0};
    case CH_LIFE_DEPTH: return (telling){"mm", 1e-3, 1};
    default: return (telling){"days", 1.0, 0};
    }
}

static void by_date(const ch_ready_due *due, char sentence[CH_SHOW_SENTENCE])
{
    char day[16];
    const char *name = due->part->name;
    ch_date_format(due->by, day, sizeof day);
    if (due->when == CH_READY_OVER)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: was due on %s", name, day);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: due on %s", name, day);
}

static void by_amount(const ch_ready_due *due, char sentence[CH_SHOW_SENTENCE])
{
    const telling t = telling_of(due->limit->by);
    const char *name = due->part->name;
    char used[CH_SHOW_NUMBER], limit[CH_SHOW_NUMBER], left[CH_SHOW_NUMBER];
    ch_show_number(due->used_si / t.factor, t.decimals, used);
    ch_show_number(due->limit->limit_si / t.factor, t.decimals, limit);
    ch_show_number(fabs(due->left_si) / t.factor, t.decimals, left);
    if (ch_life_falls(due->limit->by))
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: %s %s left, its limit is %s %s", name, used, t.unit, limit, t.unit);
    else if (due->when == CH_READY_OVER)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: %s %s, over its %s by %s", name, used, t.unit, limit, left);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: %s of %s %s, %s left", name, used, limit, t.unit, left);
}

/* What somebody would have to enter. */
static const char *wanted(ch_life_by by)
{
    switch (by) {
    case CH_LIFE_HOURS: return "hours run";
    case CH_LIFE_SESSIONS: return "sessions";
    case CH_LIFE_HEAT_CYCLES: return "heat cycles";
    case CH_LIFE_DISTANCE: return "distance run";
    case CH_LIFE_AGE_FITTED: return "the day it was fitted";
    case CH_LIFE_AGE_MADE: return "the day it was made";
    case CH_LIFE_PRINTED_DATE: return "the date printed on it";
    case CH_LIFE_PART_LEFT: return "how much of its thickness is left";
    case CH_LIFE_DEPTH: return "depth of tread";
    case CH_LIFE_PRINTED_MINIMUM: return "whether it is under the least thickness printed on it";
    case CH_LIFE_BY_COUNT: break;
    }
    return "";
}

void ch_show_ready_due(const ch_ready_due *due, char sentence[CH_SHOW_SENTENCE])
{
    if (due->when == CH_READY_UNKNOWN)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: nobody has entered what its life is counted by: %s", due->part->name,
                 wanted(due->limit->by));
    else if (due->limit->by == CH_LIFE_PRINTED_MINIMUM)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: under the least thickness printed on it", due->part->name);
    else if (ch_date_given(due->by))
        by_date(due, sentence);
    else
        by_amount(due, sentence);
}

/* ---------------------------------------------------------------- a part's limits */

/* "made 2026-05-01, good to 2031-05-01" */
static void limit_by_age(const char *what, ch_date from, double months, char sentence[CH_SHOW_SENTENCE])
{
    char begun[16], last[16];
    ch_date_format(from, begun, sizeof begun);
    if (!ch_date_given(from)) {
        snprintf(sentence, CH_SHOW_SENTENCE, "%s: day not entered; good for %.0f months", what, months);
        return;
    }
    ch_date_format(ch_ready_months_later(from, (int)lround(months)), last, sizeof last);
    snprintf(sentence, CH_SHOW_SENTENCE, "%s %s, good to %s", what, begun, last);
}

static void limit_by_amount(const ch_life_limit *limit, double used_si, char sentence[CH_SHOW_SENTENCE])
{
    const telling t = telling_of(limit->by);
    char used[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER];
    const bool falls = ch_life_falls(limit->by);
    ch_show_number(limit->limit_si / t.factor, t.decimals, most);
    ch_show_number(used_si / t.factor, t.decimals, used);
    if (isnan(used_si))
        snprintf(sentence, CH_SHOW_SENTENCE, "%s; due at %s %s", falls ? "not measured" : "not counted", most, t.unit);
    else if (falls)
        snprintf(sentence, CH_SHOW_SENTENCE, "%s %s left, due at %s", used, t.unit, most);
    else
        snprintf(sentence, CH_SHOW_SENTENCE, "%s of %s %s", used, most, t.unit);
}

static bool counts_distance(const ch_part_life *life)
{
    for (size_t i = 0; i < life->limits_count; i++)
        if (life->limits[i].by == CH_LIFE_DISTANCE)
            return true;
    return false;
}

/* "0.0 of 80.0 h since it was fitted; ..." */
static void limit_since_fitted(const ch_ready_part *part, const ch_life_limit *limit, double used_si,
                               char sentence[CH_SHOW_SENTENCE])
{
    const char *counted = limit->by == CH_LIFE_HOURS ? "hours" : "times that the car went out";
    char since[CH_SHOW_SENTENCE];
    limit_by_amount(limit, used_si, since);
    if (counts_distance(part->life))
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "%.200s since it was fitted here; of the time before, the distance is known and counts by itself, the "
                 "%s are not: enter how many it had",
                 since, counted);
    else
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "%.200s since it was fitted here; the distance that it had run before does not count, as its life is "
                 "counted in %s: enter how many it had",
                 since, counted);
}

void ch_show_part_limit(const ch_ready_part *part, const ch_life_limit *limit, char sentence[CH_SHOW_SENTENCE])
{
    char day[16];
    const bool counted =
        limit->by == CH_LIFE_HOURS || limit->by == CH_LIFE_SESSIONS || limit->by == CH_LIFE_HEAT_CYCLES;
    if (part->distance_alone && counted) {
        limit_since_fitted(part, limit, limit->by == CH_LIFE_HOURS ? part->running_s : part->sessions_1, sentence);
        return;
    }
    switch (limit->by) {
    case CH_LIFE_HOURS: limit_by_amount(limit, part->running_s, sentence); return;
    case CH_LIFE_SESSIONS:
    case CH_LIFE_HEAT_CYCLES: limit_by_amount(limit, part->sessions_1, sentence); return;
    case CH_LIFE_DISTANCE: limit_by_amount(limit, part->distance_m, sentence); return;
    case CH_LIFE_PART_LEFT: limit_by_amount(limit, part->part_left_1, sentence); return;
    case CH_LIFE_DEPTH: limit_by_amount(limit, part->depth_m, sentence); return;
    case CH_LIFE_AGE_FITTED: limit_by_age("fitted", part->fitted, limit->limit_si, sentence); return;
    case CH_LIFE_AGE_MADE: limit_by_age("made", part->made, limit->limit_si, sentence); return;
    case CH_LIFE_PRINTED_DATE:
        ch_date_format(part->until, day, sizeof day);
        snprintf(sentence, CH_SHOW_SENTENCE, "date printed on it: %s", day[0] != '\0' ? day : "not entered");
        return;
    case CH_LIFE_PRINTED_MINIMUM:
        snprintf(sentence, CH_SHOW_SENTENCE, "%s the least thickness printed on it",
                 part->under_printed ? "measured under" : "due at");
        return;
    case CH_LIFE_BY_COUNT: break;
    }
    sentence[0] = '\0';
}

/* ---------------------------------------------------------------- text */

static void head(page *p, const ch_show_ready *shown)
{
    char day[16], today[16], outcome[CH_SHOW_SENTENCE];
    ch_date_format(shown->event->day, day, sizeof day);
    ch_date_format(shown->today, today, sizeof today);
    if (ch_date_given(shown->event->day))
        page_paragraphf(p, 0, "", "%s, for %s on %s", shown->car != NULL ? shown->car : "No car", shown->event->name,
                        day);
    else
        page_paragraphf(p, 0, "", "%s, %s. No event is planned: what is due today.",
                        shown->car != NULL ? shown->car : "No car", today);
    ch_text_append_string(p->text, "\n");
    ch_show_ready_outcome(shown, outcome);
    const bool says_ready = shown->ready->ready && !ch_show_ready_knows_nothing(shown);
    page_tone_text(p, shown->ready->ready ? PAGE_GOOD : PAGE_BAD, says_ready ? "Ready. " : "");
    page_paragraph_on(p, says_ready ? 7 : 0, outcome);
    const size_t reasons = ch_show_ready_reasons(shown);
    for (size_t i = 0; i < reasons; i++) {
        char first[24];
        ch_show_reason reason;
        ch_show_ready_reason(shown, i, &reason);
        snprintf(first, sizeof first, "%3zu.", i + 1);
        if (reasons > 1)
            page_paragraphf(p, 5, first, "%s. %s", reason.says, reason.to_do);
        else
            page_paragraph(p, 0, "", reason.to_do);
    }
}

static void due_lines(page *p, const ch_show_ready *shown)
{
    static const char *const HEADING[] = {[CH_READY_OVER] = "Over",
                                          [CH_READY_DURING] = "Due before the event is over",
                                          [CH_READY_SOON] = "Soon",
                                          [CH_READY_UNKNOWN] = "Not known"};
    const ch_ready *ready = shown->ready;
    for (size_t i = 0; i < ready->due_count; i++) {
        char sentence[CH_SHOW_SENTENCE];
        if (i == 0 || ready->due[i].when != ready->due[i - 1].when)
            page_heading(p, HEADING[ready->due[i].when]);
        ch_show_ready_due(&ready->due[i], sentence);
        page_paragraph(p, 4, "  -", sentence);
    }
}

void ch_show_ready_text(const ch_show_ready *shown, const ch_show_style *style, ch_text *text)
{
    page p = {.text = text, .columns = style->columns, .colour = style->colour};
    char chance[CH_SHOW_NUMBER];
    head(&p, shown);
    if (shown->opens > 0)
        page_heading(&p, "Still off the car");
    for (size_t i = 0; i < shown->opens; i++)
        page_paragraphf(&p, 4, "  -", "%s%s%s", shown->open[i].what, shown->open[i].lies != NULL ? ", now " : "",
                        shown->open[i].lies != NULL ? shown->open[i].lies : "");
    if (shown->works > 0)
        page_heading(&p, "Work in hand");
    for (size_t i = 0; i < shown->works; i++)
        page_paragraph(&p, 4, "  -", shown->work[i]);
    due_lines(&p, shown);
    char engine[CH_SHOW_READY_ENGINE];
    page_heading(&p, "The engine");
    ch_show_ready_engine(shown, engine);
    if (engine[0] != '\0')
        page_paragraph(&p, 2, "  ", engine);
    if (isnan(shown->ready->engine.over_fault_1))
        page_paragraph(&p, 2, "  ", "No forecast: there is no judged compression sheet of this engine.");
    else
        page_paragraphf(&p, 2, "  ", "A cylinder is over the fault limit %s with a chance of %s (crosshatch season).",
                        ch_date_given(shown->event->day) ? "at the event's end" : "today",
                        ch_show_chance(shown->ready->engine.over_fault_1, chance));
    char clutch[CH_SHOW_READY_CLUTCH];
    page_heading(&p, "The clutch");
    ch_show_ready_clutch(shown, clutch);
    page_paragraph(&p, 2, "  ", clutch);
    page_heading(&p, "To look over");
    page_paragraphf(
        &p, 2, "  ",
        "%zu things, by area: crosshatch ready -o check.pdf prints the sheet to tick. Wheel torque again after the "
        "first session.",
        shown->inspection->count);
    if (shown->parts == 0)
        page_paragraph(&p, 2, "  ", "No part is kept yet, so that nothing can be due: enter them on the car's page.");
}

/* ---------------------------------------------------------------- JSON */

static json_t *due_json(const ch_ready_due *due)
{
    const telling t = telling_of(due->limit->by);
    char day[16];
    ch_date_format(due->by, day, sizeof day);
    json_t *one = json_object();
    js_put(&one, "what", json_string(due->part->name));
    js_put(&one, "by", json_string(ch_date_given(due->by) ? day : ch_life_by_name(due->limit->by)));
    js_put(&one, "left", js_number(due->left_si / t.factor));
    js_put(&one, "unit", json_string(t.unit));
    js_put(&one, "when", json_string(ch_ready_when_name(due->when)));
    js_put(&one, "counted", json_string(ch_life_by_name(due->limit->by)));
    js_put(&one, "used", js_number(due->used_si / t.factor));
    return one;
}

static json_t *reasons_json(const ch_show_ready *shown)
{
    json_t *list = json_array();
    for (size_t i = 0; i < ch_show_ready_reasons(shown); i++) {
        ch_show_reason reason;
        ch_show_ready_reason(shown, i, &reason);
        json_t *one = json_object();
        js_put(&one, "what", json_string(ch_show_reason_name(reason.kind)));
        js_put(&one, "says", json_string(reason.says));
        js_put(&one, "to_do", json_string(reason.to_do));
        js_add(&list, one);
    }
    return list;
}

static json_t *fault_json(const ch_ready_fault *fault)
{
    char day[16];
    if (!ch_date_given(fault->day))
        return json_null();
    ch_date_format(fault->day, day, sizeof day);
    json_t *one = json_object(), *by = json_array();
    js_put(&one, "date", fault->day_assumed ? json_null() : json_string(day));
    js_put(&one, "cylinder", fault->cylinder > 0 ? json_integer(fault->cylinder) : json_null());
    js_put(&one, "more", json_integer(fault->more));
    js_put(&one, "chance_wrong", js_number(fault->wrong_1));
    js_put(&one, "do_not_run", json_boolean(fault->do_not_run));
    if (fault->seen_by & CH_READY_BY_COMPRESSION)
        js_add(&by, json_string("compression"));
    if (fault->seen_by & CH_READY_BY_LEAKDOWN)
        js_add(&by, json_string("leakdown"));
    js_put(&one, "seen_by", by);
    return one;
}

ch_status ch_show_ready_json(const ch_show_ready *shown, ch_text *text, ch_err *err)
{
    char day[16];
    json_t *root = json_object(), *open = json_array(), *work = json_array(), *due = json_array(), *event = json_null();
    js_put(&root, "ready", json_boolean(shown->ready->ready));
    for (size_t i = 0; i < shown->opens; i++)
        js_add(&open, json_string(shown->open[i].what));
    js_put(&root, "in_the_way", reasons_json(shown));
    js_put(&root, "open", open);
    for (size_t i = 0; i < shown->works; i++)
        js_add(&work, json_string(shown->work[i]));
    js_put(&root, "work", work);
    for (size_t i = 0; i < shown->ready->due_count; i++)
        js_add(&due, due_json(&shown->ready->due[i]));
    js_put(&root, "due", due);
    if (ch_date_given(shown->event->day)) {
        ch_date_format(shown->event->day, day, sizeof day);
        event = json_object();
        js_put(&event, "date", json_string(day));
        js_put(&event, "name", json_string(shown->event->name));
    }
    js_put(&root, "event", event);
    js_put(&root, "chance_over_limit", js_number(shown->ready->engine.over_fault_1));
    json_t *newest = json_null();
    if (ch_date_given(shown->ready->engine.day)) {
        ch_date_format(shown->ready->engine.day, day, sizeof day);
        newest = json_object();
        js_put(&newest, "date", shown->ready->engine.day_assumed ? json_null() : json_string(day));
        js_put(&newest, "verdict", json_string(ch_verdict_name(shown->ready->engine.verdict)));
        js_put(&newest, "cylinder",
               shown->ready->engine.cylinder > 0 ? json_integer(shown->ready->engine.cylinder) : json_null());
        js_put(&newest, "chance_wrong", js_number(shown->ready->engine.wrong_1));
    }
    js_put(&root, "newest_sheet", newest);
    js_put(&root, "standing_fault", fault_json(&shown->ready->engine.fault));
    json_t *clutch = json_null();
    if (shown->run != NULL) {
        ch_date_format(shown->run_day, day, sizeof day);
        clutch = json_object();
        js_put(&clutch, "date", json_string(day));
        js_put(&clutch, "slips", json_integer((json_int_t)shown->run->slips_found));
        js_put(&clutch, "chance_slips", js_number(shown->ready->clutch_slips_1));
        js_put(&clutch, "renewed_that_day", json_boolean(shown->renewed_that_day));
    }
    js_put(&root, "clutch", clutch);
    return js_finish(root, text, err);
}

/*
 * The check sheet before an event. One sheet of paper: on its front what is open and due, and the list to tick, area by area behind its cautions; on the back
 * what to look at and what is right. Where a lot is due, the front goes on to a second page.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_ready.h"

static void lists(ch_document *document, const ch_show_ready *shown)
{
    char sentence[CH_SHOW_SENTENCE];
    bool engine = false;
    for (size_t i = 0; i < ch_show_ready_reasons(shown); i++) {
        ch_show_reason reason;
        ch_show_ready_reason(shown, i, &reason);
        if (reason.kind != CH_SHOW_REASON_ENGINE && reason.kind != CH_SHOW_REASON_FORECAST)
            continue; /* what is off, due and slipping stands below */
        if (!engine)
            ch_document_heading(document, "The engine");
        ch_document_tick(document, reason.says, NULL);
        engine = true;
    }
    if (shown->opens > 0)
        ch_document_heading(document, "Still off the car");
    for (size_t i = 0; i < shown->opens; i++)
        ch_document_tick(document, shown->open[i].what, shown->open[i].lies);
    if (shown->works > 0)
        ch_document_heading(document, "Work in hand: close it");
    for (size_t i = 0; i < shown->works; i++)
        ch_document_tick(document, shown->work[i], NULL);
    if (shown->ready->clutch_doubtful) {
        char clutch[CH_SHOW_READY_CLUTCH];
        ch_show_ready_clutch(shown, clutch);
        ch_document_heading(document, "The clutch");
        ch_document_tick(document, clutch, NULL);
    }
    if (shown->ready->due_count > 0)
        ch_document_heading(document, "Due, most pressing first");
    for (size_t i = 0; i < shown->ready->due_count; i++) {
        ch_show_ready_due(&shown->ready->due[i], sentence);
        ch_document_tick(document, sentence, NULL);
    }
}

enum { CAUTIONS_MAXIMUM = 512, BOXES = 24, SESSIONS_MOST = 8, SESSIONS_USUAL = 5 /* common practice of track days */ };

/* A box for each time that an item is looked at; one a session. */
static void boxes_of(const ch_show_ready *shown, const ch_inspection_item *one, char boxes[BOXES])
{
    static const struct {
        ch_inspection_when bit;
        char letter;
    } TIMES[] = {{CH_INSPECT_HOME, 'H'}, {CH_INSPECT_EVENT, 'A'}, {CH_INSPECT_FIRST_SESSION, '1'}};
    const double planned = shown->event->sessions_1;
    const size_t sessions = planned >= 1.0 ? (size_t)fmin(planned, SESSIONS_MOST) : SESSIONS_USUAL;
    size_t used = 0;
    for (size_t i = 0; i < sizeof TIMES / sizeof TIMES[0]; i++)
        if (one->when & (unsigned)TIMES[i].bit)
            boxes[used++] = TIMES[i].letter;
    if (one->when & (unsigned)CH_INSPECT_SESSION) {
        if (used > 0)
            boxes[used++] = ' ';
        for (size_t i = 0; i < sessions; i++)
            boxes[used++] = 'S';
    }
    boxes[used] = '\0';
}

/* Those that the sheet does not have yet, gravest first, ahead of an area. */
static void cautions(ch_document *document, const ch_show_ready *shown, size_t area, bool *said)
{
    const ch_inspection *list = shown->inspection;
    for (int word = CH_SIGNAL_DANGER; word <= CH_SIGNAL_NOTICE; word++)
        for (size_t i = 0; i < list->count; i++)
            for (size_t k = 0; list->items[i].area == area && k < list->items[i].cautions.count; k++) {
                const size_t at = list->items[i].cautions.at[k];
                const ch_knowledge_caution *caution = &shown->knowledge->cautions[at];
                if (said[at] || (int)caution->word != word)
                    continue;
                ch_document_caution(document, caution->word, caution->hazard, caution->consequence,
                                    caution->precaution);
                said[at] = true;
            }
}

static void to_tick(ch_document *document, const ch_show_ready *shown, const ch_inspection_item *one)
{
    char words[CH_SHOW_SENTENCE], boxes[BOXES];
    boxes_of(shown, one, boxes);
    snprintf(words, sizeof words, "%s%s", one->title, one->stops ? " *" : "");
    ch_document_boxes(document, boxes, words, NULL);
}

static void to_read(ch_document *document, const ch_inspection_item *one)
{
    char words[2 * CH_SHOW_SENTENCE];
    snprintf(words, sizeof words, "%s: %s%s%s", one->title, one->look, one->limit != NULL ? " Right: " : "",
             one->limit != NULL ? one->limit : "");
    ch_document_paragraph(document, words);
}

/* The list area by area: to tick, behind its cautions, or as what to look at. */
static void inspection(ch_document *document, const ch_show_ready *shown, bool tick)
{
    bool said[CAUTIONS_MAXIMUM] = {false};
    const ch_inspection *list = shown->inspection;
    if (shown->knowledge->cautions_count > CAUTIONS_MAXIMUM)
        return;
    for (size_t a = 0; a < list->areas_count; a++) {
        bool any = false;
        for (size_t i = 0; i < list->count; i++) {
            if (list->items[i].area != a)
                continue;
            if (!any) {
                ch_document_heading(document, list->areas[a].title);
                if (tick)
                    cautions(document, shown, a, said);
            }
            any = true;
            if (tick)
                to_tick(document, shown, &list->items[i]);
            else
                to_read(document, &list->items[i]);
        }
    }
}

ch_status ch_report_check_sheet(const ch_show_ready *shown, ch_document **document, ch_err *err)
{
    char title[CH_SHOW_SENTENCE], under[CH_SHOW_SENTENCE], day[16], today[16], outcome[CH_SHOW_SENTENCE];
    ch_document *made = NULL;
    ch_date_format(shown->event->day, day, sizeof day);
    ch_date_format(shown->today, today, sizeof today);
    snprintf(title, sizeof title, "Check sheet: %s", shown->car != NULL ? shown->car : "no car");
    if (ch_date_given(shown->event->day))
        snprintf(under, sizeof under, "For %s on %s, as of %s", shown->event->name, day, today);
    else
        snprintf(under, sizeof under, "As of %s; no event is planned", today);
    ch_status rc =
        ch_document_new(title, under,
                        "Ticked, it says that these things were looked at, not that the car is safe. The service "
                        "manual, the event's rules and its scrutineers decide.",
                        &made, err);
    if (rc < 0)
        return rc;
    ch_show_ready_outcome(shown, outcome);
    ch_document_outcome(made, shown->ready->ready ? "On record: nothing open" : "On record: not ready", outcome);
    ch_document_columns(made, true);
    ch_document_paragraph(made, shown->knowledge->always);
    ch_document_paragraph(
        made, "H at home, A on arrival, 1 after the first session, S before and after each session. * Where "
              "this is not right, the car does not go out. What to look at and what is right stand on the back.");
    lists(made, shown);
    inspection(made, shown, true);
    ch_document_columns(made, false);
    ch_document_new_page(made);
    ch_document_heading(made, "What to look at, and what is right");
    ch_document_columns(made, true);
    inspection(made, shown, false);
    ch_document_columns(made, false);
    rc = ch_document_check(made, err);
    if (rc < 0) {
        ch_document_free(made);
        return rc;
    }
    *document = made;
    return CH_OK;
}

/* The check sheet before an event: what is open and due first, then what is looked at, area by area. */
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_ready.h"

static void lists(ch_document *document, const ch_show_ready *shown)
{
    char sentence[CH_SHOW_SENTENCE];
    if (shown->opens > 0)
        ch_document_heading(document, "Still off the car");
    for (size_t i = 0; i < shown->opens; i++)
        ch_document_tick(document, shown->open[i].what, shown->open[i].lies);
    if (shown->ready->due_count > 0)
        ch_document_heading(document, "Due, most pressing first");
    for (size_t i = 0; i < shown->ready->due_count; i++) {
        ch_show_ready_due(&shown->ready->due[i], sentence);
        ch_document_tick(document, sentence, NULL);
    }
}

/* "At home, after the first session" */
static void times(unsigned when, char words[CH_SHOW_SENTENCE])
{
    static const struct {
        ch_inspection_when bit;
        const char *words;
    } TIMES[] = {{CH_INSPECT_HOME, "at home"},
                 {CH_INSPECT_EVENT, "on arrival"},
                 {CH_INSPECT_FIRST_SESSION, "after the first session"},
                 {CH_INSPECT_SESSION, "before and after each session"}};
    size_t used = 0;
    words[0] = '\0';
    for (size_t i = 0; i < sizeof TIMES / sizeof TIMES[0]; i++)
        if (when & (unsigned)TIMES[i].bit)
            used +=
                (size_t)snprintf(words + used, CH_SHOW_SENTENCE - used, "%s%s", used > 0 ? ", " : "", TIMES[i].words);
}

static void item(ch_document *document, const ch_show_ready *shown, const ch_inspection_item *one, bool *said)
{
    char words[CH_SHOW_SENTENCE], more[2 * CH_SHOW_SENTENCE], when[CH_SHOW_SENTENCE];
    for (size_t i = 0; i < one->cautions.count; i++) {
        const size_t at = one->cautions.at[i];
        const ch_knowledge_caution *caution = &shown->knowledge->cautions[at];
        if (!said[at])
            ch_document_caution(document, caution->word, caution->hazard, caution->consequence, caution->precaution);
        said[at] = true;
    }
    times(one->when, when);
    snprintf(words, sizeof words, "%s%s", one->title, one->stops ? " *" : "");
    snprintf(more, sizeof more, "%s%s%s  [%s]", one->look, one->limit != NULL ? " Right: " : "",
             one->limit != NULL ? one->limit : "", when);
    ch_document_tick(document, words, more);
}

static void inspection(ch_document *document, const ch_show_ready *shown)
{
    enum { CAUTIONS_MAXIMUM = 512 };
    bool said[CAUTIONS_MAXIMUM] = {false};
    const ch_inspection *list = shown->inspection;
    if (shown->knowledge->cautions_count > CAUTIONS_MAXIMUM)
        return;
    for (size_t a = 0; a < list->areas_count; a++) {
        bool any = false;
        for (size_t i = 0; i < list->count; i++) {
            if (list->items[i].area != a)
                continue;
            if (!any)
                ch_document_heading(document, list->areas[a].title);
            any = true;
            item(document, shown, &list->items[i], said);
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
    ch_document_paragraph(made, shown->knowledge->always);
    ch_document_paragraph(made, "* Where this is not right, the car does not go out.");
    lists(made, shown);
    inspection(made, shown);
    rc = ch_document_check(made, err);
    if (rc < 0) {
        ch_document_free(made);
        return rc;
    }
    *document = made;
    return CH_OK;
}

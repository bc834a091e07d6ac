/* A log for an event: the form, and what it adds. */
#include "event_log.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/drivelog_use.h"
#include "crosshatch/show_words.h"
#include "kept_log.h"
#include "piece_car.h"

typedef enum counted { COUNT_RUNNING, COUNT_ABOVE, COUNT_LOGGED, COUNTS } counted;

static const char *const count_names[COUNTS] = {"running", "above", "logged"};

void event_log_form(html_writer *w, const web_request *request, const ch_store_event *event)
{
    static const char *const words[COUNTS] = {"with the engine running", "above the engine speed below",
                                              "all that was logged"};
    char action[64];
    const char *chosen = piece_typed(request, "log_count", count_names[COUNT_RUNNING]);
    snprintf(action, sizeof action, "/event/%lld/log", (long long)event->id);
    html_form_open(w, request, action, true);
    html_lit(w, "<label>The log<span class=\"hint\">time, engine speed and road speed as text, as loggers export "
                "it</span><input type=\"file\" name=\"log\" required></label>"
                "<fieldset><legend>Time that counts</legend>\n");
    for (int i = 0; i < COUNTS; i++)
        piece_choice(w, "log_count", count_names[i], words[i], chosen);
    html_lit(w, "</fieldset>\n");
    piece_field(w, &(piece_input){.label = "Engine speed",
                                  .name = "log_above",
                                  .hint = "rpm; how long it turned faster is told too",
                                  .value = piece_typed(request, "log_above", NULL),
                                  .mode = "decimal"});
    piece_field(w, &(piece_input){.label = "Sessions in it",
                                  .name = "log_sessions",
                                  .value = piece_typed(request, "log_sessions", "1"),
                                  .mode = "numeric"});
    piece_button(w, NULL, NULL, "second", "Read the log");
    html_form_close(w);
}

/* ---------------------------------------------------------------- reading */

typedef struct asked {
    counted count;
    double above_rad_s; /* NaN = none */
    int64_t sessions;
} asked;

static ch_status read_form(const web_request *request, asked *a, ch_err *err)
{
    const char *count = piece_given(&request->form, "log_count");
    for (int i = 0; i < COUNTS; i++)
        if (count != NULL && strcmp(count, count_names[i]) == 0)
            a->count = (counted)i;
    ch_status rc =
        piece_figure(request, "log_above", "Engine speed", ch_unit_find("rpm", 3), NAN, &a->above_rad_s, err);
    if (rc >= 0)
        rc = piece_count(request, "log_sessions", "Sessions in it", 0, &a->sessions, err);
    if (rc >= 0 && a->count == COUNT_ABOVE && isnan(a->above_rad_s))
        rc = ch_fail(err, CH_E_INPUT, "one to count above", "Engine speed: not given");
    return rc;
}

static ch_status feed(void *context, const char *bytes, size_t length, ch_err *err)
{
    return ch_drivelog_feed(context, bytes, length, err);
}

static ch_status count_use(const kept_log *log, ch_drivelog_use *use, ch_err *err)
{
    ch_drivelog *reader = NULL;
    ch_status rc = ch_drivelog_open(NULL, ch_drivelog_use_take, use, &reader, err);
    if (rc >= 0)
        rc = kept_log_read(log, feed, reader, err);
    if (rc >= 0)
        rc = ch_drivelog_finish(reader, err);
    ch_drivelog_close(reader);
    return rc < 0 ? rc : CH_OK;
}

/* "1 h 5 min", "17 min 5 s". */
static const char *time_words(double s, char words[32])
{
    const long whole = lround(s);
    if (whole >= 3600)
        snprintf(words, 32, "%ld h %ld min", whole / 3600, whole % 3600 / 60);
    else
        snprintf(words, 32, "%ld min %ld s", whole / 60, whole % 60);
    return words;
}

static void tell(const ch_drivelog_use *use, const char *name, char told[EVENT_LOG_TOLD])
{
    char logged[32], running[32], above[32], unknown[32], km[CH_SHOW_NUMBER];
    size_t used = (size_t)snprintf(told, EVENT_LOG_TOLD, "%.150s: %s logged, engine running %s, %s km", name,
                                   time_words(use->logged_s, logged), time_words(use->running_s, running),
                                   ch_show_number(use->distance_m / 1000.0, 1, km));
    if (!isnan(use->above_rad_s))
        used +=
            (size_t)snprintf(told + used, EVENT_LOG_TOLD - used, ", %s above %.0f rpm", time_words(use->above_s, above),
                             ch_unit_from_si(use->above_rad_s, ch_unit_find("rpm", 3)));
    if (use->unknown_s >= 1.0)
        used += (size_t)snprintf(told + used, EVENT_LOG_TOLD - used, "; %s of it without an engine speed, not counted",
                                 time_words(use->unknown_s, unknown));
    snprintf(told + used, EVENT_LOG_TOLD - used, ".");
}

/* Whether a line of the note is what is added of a log of this name. */
static bool is_noted(const char *note, const char *name)
{
    const size_t length = strlen(name);
    for (const char *line = note; *line != '\0'; line += strcspn(line, "\n"), line += *line == '\n')
        if (strncmp(line, name, length) == 0 && strncmp(line + length, ": ", 2) == 0)
            return true;
    return false;
}

/* The name stands in the note, so that the same log is not counted twice unseen. */
static void add_note(ch_store_event *event, const char *name, double added_s, event_log *log)
{
    const char *before = event->note != NULL ? event->note : "";
    char hours[CH_SHOW_NUMBER];
    const int length = snprintf(log->note, sizeof log->note, "%s%s%.150s: %s h", before, before[0] != '\0' ? "\n" : "",
                                name, ch_show_number(added_s / 3600.0, 3, hours));
    log->again = is_noted(before, name);
    if (length < (int)sizeof log->note)
        event->note = log->note;
}

ch_status event_log_add(const web_request *request, ch_store_event *event, event_log *log, ch_err *err)
{
    asked a = {.count = COUNT_RUNNING};
    kept_log sent;
    ch_drivelog_use use;
    ch_status rc = read_form(request, &a, err);
    if (rc >= 0)
        rc = kept_log_sent(request, web_field_find(&request->form, "log"), &sent, err);
    ch_drivelog_use_init(&use, a.above_rad_s);
    if (rc >= 0)
        rc = count_use(&sent, &use, err);
    if (rc < 0)
        return rc;
    const double added_s = a.count == COUNT_RUNNING ? use.running_s
                           : a.count == COUNT_ABOVE ? use.above_s
                                                    : use.logged_s;
    event->running_s = added_s + (isfinite(event->running_s) ? event->running_s : 0.0);
    if (use.distance_m > 0.0)
        event->distance_m = use.distance_m + (isfinite(event->distance_m) ? event->distance_m : 0.0);
    if (use.starts > 0)
        event->starts = (int64_t)use.starts + (event->starts > 0 ? event->starts : 0);
    event->sessions += a.sessions;
    tell(&use, sent.name, log->told);
    add_note(event, sent.name, added_s, log);
    return CH_OK;
}

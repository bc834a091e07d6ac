/* Ticks, from and to a setting. They are written over what they were read from only: two may tick at once, also by two programs at one garage. */
#include "ready_ticks.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SETTING = 64, TEXT_MAXIMUM = 64 * 1024 };

const ch_inspection_when ready_times[READY_TIMES] = {CH_INSPECT_HOME, CH_INSPECT_EVENT, CH_INSPECT_FIRST_SESSION};

bool ready_ticks_has(const ch_inspection_item *item, int time)
{
    return (item->when & (unsigned)ready_times[time]) != 0;
}

int64_t ready_ticks_at(const ready_ticks *ticks, size_t item, int time)
{
    return ticks->at_s[item * READY_TIMES + (size_t)time];
}

void ready_ticks_clear(ready_ticks *ticks)
{
    free(ticks->at_s);
    *ticks = (ready_ticks){0};
}

/* The box named "home.wheel_nuts"; NULL where there is none. */
static int64_t *box(ready_ticks *ticks, const char *name, size_t length)
{
    const char *dot = memchr(name, '.', length);
    if (dot == NULL)
        return NULL;
    const size_t when = (size_t)(dot - name);
    const ch_inspection_item *item = ch_inspection_find(ticks->list, dot + 1, length - when - 1);
    for (int t = 0; item != NULL && t < READY_TIMES; t++) {
        const char *known = ch_inspection_when_name((unsigned)ready_times[t]);
        if (strlen(known) == when && memcmp(known, name, when) == 0 && ready_ticks_has(item, t))
            return &ticks->at_s[(size_t)(item - ticks->list->items) * READY_TIMES + (size_t)t];
    }
    return NULL;
}

/*
 * The lines of the ticks in a text that is of this event's day, else NULL. The day alone counts: an event that is renamed, or joined by another on its day, is
 * looked at no less. Earlier versions wrote its name behind the day.
 */
static const char *lines_of(const char *text, const ch_ready_event *event)
{
    char day[16];
    ch_date_format(event->day, day, sizeof day);
    const size_t length = strlen(day), head = strcspn(text, "\n");
    if (strncmp(text, day, length) != 0 || (text[length] != ' ' && text[length] != '\n'))
        return NULL;
    return text + head + (text[head] == '\n');
}

static void read_lines(ready_ticks *ticks, const char *line)
{
    while (*line != '\0') {
        const size_t length = strcspn(line, "\n"), name = strcspn(line, " \n");
        int64_t *one = box(ticks, line, name);
        if (one != NULL && name < length)
            *one = strtoll(line + name, NULL, 10);
        line += length + (line[length] == '\n');
    }
}

/* *kept: the whole text, of whatever event; NULL = none. */
static ch_status load(web_request *request, int64_t car_id, const ch_inspection *list, const ch_ready_event *event,
                      ready_ticks *ticks, const char **kept, ch_err *err)
{
    char setting[SETTING];
    const char *text = NULL;
    *kept = NULL;
    *ticks = (ready_ticks){.list = list, .at_s = calloc(list->count * READY_TIMES + 1, sizeof *ticks->at_s)};
    if (ticks->at_s == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the ticks");
    if (!ch_date_given(event->day))
        return CH_OK;
    snprintf(setting, sizeof setting, "ready.%lld", (long long)car_id);
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, setting, &text, err);
    const char *lines = rc >= 0 && text != NULL ? lines_of(text, event) : NULL;
    if (lines != NULL)
        read_lines(ticks, lines);
    *kept = text;
    return rc;
}

ch_status ready_ticks_load(web_request *request, int64_t car_id, const ch_inspection *list, const ch_ready_event *event,
                           ready_ticks *ticks, ch_err *err)
{
    const char *kept = NULL;
    return load(request, car_id, list, event, ticks, &kept, err);
}

static bool among(const web_fields *form, const char *field, const char *value)
{
    for (size_t i = 0; i < form->count; i++)
        if (strcmp(form->list[i].name, field) == 0 && strcmp(form->list[i].value, value) == 0)
            return true;
    return false;
}

static void change(const web_request *request, ready_ticks *ticks)
{
    const web_fields *form = &request->form;
    for (size_t i = 0; i < form->count; i++) {
        const web_field *field = &form->list[i];
        const bool tick = strcmp(field->name, "tick") == 0, had = strcmp(field->name, "had") == 0;
        int64_t *one = tick || had ? box(ticks, field->value, field->length) : NULL;
        if (one == NULL || among(form, tick ? "had" : "tick", field->value))
            continue;
        if (had)
            *one = 0;
        else if (*one == 0)
            *one = request->now_s;
    }
}

static ch_status write(web_request *request, int64_t car_id, const ready_ticks *ticks, const ch_ready_event *event,
                       const char *was, bool *done, ch_err *err)
{
    char setting[SETTING], day[16];
    ch_text text;
    ch_text_init(&text, TEXT_MAXIMUM);
    ch_date_format(event->day, day, sizeof day);
    ch_text_appendf(&text, "%s\n", day);
    for (size_t i = 0; i < ticks->list->count; i++)
        for (int t = 0; t < READY_TIMES; t++)
            if (ready_ticks_at(ticks, i, t) != 0)
                ch_text_appendf(&text, "%s.%s %lld\n", ch_inspection_when_name((unsigned)ready_times[t]),
                                ticks->list->items[i].id, (long long)ready_ticks_at(ticks, i, t));
    snprintf(setting, sizeof setting, "ready.%lld", (long long)car_id);
    ch_status rc = ch_text_check(&text, err);
    if (rc >= 0)
        rc = ch_store_setting_swap(request->store, setting, was, ch_text_string(&text), request->now_s, done, err);
    ch_text_clear(&text);
    return rc;
}

ch_status ready_ticks_keep(web_request *request, int64_t car_id, const ch_inspection *list, const ch_ready_event *event,
                           ch_err *err)
{
    ch_status rc = CH_OK;
    for (bool done = false; rc >= 0 && !done;) { /* where it is not done, somebody else's ticks are there now */
        ready_ticks ticks;
        const char *was = NULL;
        rc = load(request, car_id, list, event, &ticks, &was, err);
        if (rc >= 0) {
            change(request, &ticks);
            rc = write(request, car_id, &ticks, event, was, &done, err);
        }
        ready_ticks_clear(&ticks);
    }
    return rc < 0 ? rc : CH_OK;
}

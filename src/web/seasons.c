/*
 *  1. A place is free, being worked on, or ready; only ready ones are lent, and a lent one keeps its place.
 *  2. At most SEASONS_KEPT places: the one that nobody has asked for longest makes room.
 *  3. Work is done without the lock, and on the place's own copy of the input, which a season points into.
 */
#include "seasons.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/judge.h"
#include "piece.h"

enum { CONTENT_MAXIMUM = 16 * 1024 * 1024, SEED = 1 /* as the terminal's */ };

typedef enum place_state { PLACE_FREE, PLACE_WORKING, PLACE_READY } place_state;

typedef struct place {
    seasons_one one; /* first: what is lent */
    place_state state;
    ch_text content; /* all that the answer rests on, as bytes */
    ch_history_sheet *sheet;
    ch_history_event *event;
    size_t events;
    int lent;
    uint64_t asked; /* when last, in askings */
} place;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t changed = PTHREAD_COND_INITIALIZER;
static place places[SEASONS_KEPT];
static uint64_t askings;

static void empty(place *p)
{
    if (p->one.season != NULL)
        ch_season_clear(p->one.season);
    free(p->one.season);
    for (size_t i = 0; i < p->events; i++)
        free(piece_lent(p->event[i].name));
    free(p->event);
    free(p->sheet);
    ch_text_clear(&p->content);
    *p = (place){0};
}

/* ---------------------------------------------------------------- what went in */

static void put_int(ch_text *to, int64_t number)
{
    ch_text_append(to, (const char *)&number, sizeof number);
}

static void put_real(ch_text *to, double number)
{
    ch_text_append(to, (const char *)&number, sizeof number);
}

static void put_day(ch_text *to, ch_date day)
{
    put_int(to, day.year * 10000 + day.month * 100 + day.day);
}

static void put_string(ch_text *to, const char *string)
{
    ch_text_append(to, string != NULL ? string : "", (string != NULL ? strlen(string) : 0) + 1);
}

static ch_status put_sheet(ch_text *to, const ch_history_sheet *sheet, ch_err *err)
{
    const size_t count = ch_history_numbers(sheet->result.cylinders);
    double *numbers = malloc(count * sizeof *numbers);
    if (numbers == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a sheet's result");
    ch_history_write(&sheet->result, numbers);
    put_int(to, sheet->id);
    put_day(to, sheet->day);
    put_int(to, sheet->day_assumed);
    put_int(to, sheet->opened_s);
    put_int(to, sheet->gauge_id);
    put_real(to, sheet->hours_s);
    put_real(to, sheet->odometer_m);
    put_int(to, sheet->air_noted);
    put_int(to, sheet->height_taken);
    put_real(to, sheet->height_m);
    ch_text_append(to, (const char *)numbers, count * sizeof *numbers);
    free(numbers);
    return CH_OK;
}

static ch_status write_content(const ch_season_input *input, ch_text *to, ch_err *err)
{
    ch_status rc = CH_OK;
    ch_text_init(to, CONTENT_MAXIMUM);
    put_day(to, input->today);
    put_int(to, input->horizon);
    put_int(to, (int64_t)input->seed);
    put_int(to, (int64_t)input->sheets);
    for (size_t i = 0; rc >= 0 && i < input->sheets; i++)
        rc = put_sheet(to, &input->sheet[i], err);
    for (size_t i = 0; i < input->events; i++) {
        put_int(to, input->event[i].id);
        put_day(to, input->event[i].day);
        put_real(to, input->event[i].running_s);
        put_string(to, input->event[i].name);
    }
    put_int(to, (int64_t)input->repairs);
    for (size_t i = 0; i < input->repairs; i++) {
        put_day(to, input->repair[i].day);
        put_int(to, input->repair[i].cylinder);
    }
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        put_real(to, input->assumptions->of[i].low);
        put_real(to, input->assumptions->of[i].usual);
        put_real(to, input->assumptions->of[i].high);
    }
    return rc < 0 ? rc : ch_text_check(to, err);
}

static bool holds(const place *p, const ch_text *content)
{
    return p->state != PLACE_FREE && p->content.length == content->length &&
           memcmp(p->content.bytes, content->bytes, content->length) == 0;
}

/* The place that holds it, else the one to be used for it; NULL where every place is in use. */
static place *find(const ch_text *content)
{
    place *oldest = NULL;
    for (size_t i = 0; i < SEASONS_KEPT; i++) {
        place *p = &places[i];
        if (holds(p, content))
            return p;
        const bool usable = p->state == PLACE_FREE || (p->state == PLACE_READY && p->lent == 0);
        if (usable && (oldest == NULL || p->asked < oldest->asked))
            oldest = p;
    }
    return oldest;
}

/* ---------------------------------------------------------------- working it out */

static bool copy_input(place *p, const ch_season_input *input)
{
    p->sheet = malloc((input->sheets + 1) * sizeof *p->sheet);
    p->event = malloc((input->events + 1) * sizeof *p->event);
    if (p->sheet == NULL || p->event == NULL)
        return false;
    if (input->sheets > 0)
        memcpy(p->sheet, input->sheet, input->sheets * sizeof *p->sheet);
    for (; p->events < input->events; p->events++) {
        const ch_history_event *event = &input->event[p->events];
        char *name = event->name != NULL ? strdup(event->name) : NULL;
        if (name == NULL && event->name != NULL)
            return false;
        p->event[p->events] = *event;
        p->event[p->events].name = name;
    }
    return true;
}

static ch_status work(place *p, const ch_season_input *input, ch_err *err)
{
    p->one.season = calloc(1, sizeof *p->one.season);
    if (p->one.season == NULL || !copy_input(p, input))
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the season");
    ch_season_input own = *input;
    own.sheet = p->sheet;
    own.event = p->event;
    return ch_season_run(&own, p->one.season, err);
}

ch_status seasons_get(const ch_season_input *input, const seasons_one **one, ch_err *err)
{
    ch_text content;
    ch_status rc = write_content(input, &content, err);
    if (rc < 0) {
        ch_text_clear(&content);
        return rc;
    }
    pthread_mutex_lock(&lock);
    place *p = find(&content);
    while (p == NULL || p->state == PLACE_WORKING) {
        pthread_cond_wait(&changed, &lock);
        p = find(&content);
    }
    if (!holds(p, &content)) {
        empty(p);
        *p = (place){.state = PLACE_WORKING, .content = content};
        ch_text_init(&content, CONTENT_MAXIMUM);
        pthread_mutex_unlock(&lock);
        rc = work(p, input, err);
        pthread_mutex_lock(&lock);
        if (rc < 0)
            empty(p);
        else
            p->state = PLACE_READY;
        pthread_cond_broadcast(&changed);
    }
    if (rc >= 0) {
        p->lent++;
        p->asked = ++askings;
        *one = &p->one;
    }
    pthread_mutex_unlock(&lock);
    ch_text_clear(&content);
    return rc < 0 ? rc : CH_OK;
}

void seasons_give_back(const seasons_one *one)
{
    if (one == NULL)
        return;
    pthread_mutex_lock(&lock);
    for (size_t i = 0; i < SEASONS_KEPT; i++)
        if (&places[i].one == one)
            places[i].lent--;
    pthread_cond_broadcast(&changed);
    pthread_mutex_unlock(&lock);
}

/* ---------------------------------------------------------------- of a car */

static ch_status load(web_request *request, const web_know *know, const ch_store_car *car, size_t at_most,
                      season_view *view, ch_err *err)
{
    const char *rule = NULL;
    view->assumptions = know->assumptions; /* its texts live as long as the program */
    ch_status rc = ch_store_assumptions(request->store, &request->pool, &view->assumptions, err);
    view->settings = rc == CH_E_INPUT;
    if (rc >= 0)
        rc = ch_store_setting_get(request->store, &request->pool, "rule", &rule, err);
    const ch_balance_rule by = rule != NULL ? ch_balance_rule_find(rule, strlen(rule)) : CH_RULE_COUNT;
    const ch_store_judging judging = {
        .knowledge = &know->knowledge,
        .made_by = know->made_by,
        .options = {.seed = SEED, .rule = by != CH_RULE_COUNT ? by : CH_RULE_75_PERCENT, .crew = request->crew},
        .at_most = at_most};
    return rc < 0 ? rc
                  : ch_store_season_load(request->store, &request->pool, car->id, &judging, &view->assumptions,
                                         &view->loaded, err);
}

void season_write_waiting(web_response *response, size_t judged, size_t waiting)
{
    html_lit(&response->page, "<p class=\"verdict unclear\"><strong>Still working it out.</strong> ");
    html_textf(
        &response->page,
        "%zu of %zu test sheets of this engine are judged so far, once and for good. The page goes on by itself; "
        "or open it again.",
        judged, judged + waiting);
    html_lit(&response->page, "</p>\n");
    response->refresh_s = 1;
}

ch_status season_view_get(web_request *request, const web_know *know, const ch_store_car *car, ch_horizon horizon,
                          size_t at_most, season_view *view, ch_err *err)
{
    *view = (season_view){0};
    ch_err own = {0};
    ch_status rc = load(request, know, car, at_most, view, &own);
    if (rc >= 0 && view->loaded.waiting > 0 && view->loaded.unkept)
        rc = load(request, know, car, 0, view, &own); /* else the browser would ask for the same ones for ever */
    if (rc >= 0 && view->loaded.waiting > 0)
        return CH_OK;
    const ch_season_input input = {.sheet = view->loaded.sheet,
                                   .sheets = view->loaded.sheets,
                                   .event = view->loaded.event,
                                   .events = view->loaded.events,
                                   .repair = view->loaded.repair,
                                   .repairs = view->loaded.repairs,
                                   .today = piece_today(request->now_s),
                                   .assumptions = &view->assumptions,
                                   .horizon = horizon,
                                   .seed = SEED};
    if (rc >= 0)
        rc = input.sheets > 0 ? seasons_get(&input, &view->one, &own)
                              : ch_fail(&own, CH_E_RANGE, "enter a test with dry readings",
                                        "No sheet of this engine can be judged yet");
    if (rc >= 0)
        view->shown = (ch_show_season){.season = view->one->season,
                                       .assumptions = &view->assumptions,
                                       .car = car->name,
                                       .engine = view->loaded.engine,
                                       .today = input.today,
                                       .passed_over = view->loaded.passed_over};
    if (rc == CH_E_INPUT || rc == CH_E_RANGE) {
        ch_err_format(&own, view->why, sizeof view->why);
        return CH_OK;
    }
    if (rc < 0 && err != NULL)
        *err = own;
    return rc;
}

/* crosshatch season: will it last, what is it worth doing, is it worth putting parts on. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_season.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_ready.h"
#include "crosshatch/store_season.h"
#include "crosshatch/store_sheet.h"
#include "garage.h"
#include "input.h"
#include "threads.h"

/* All that is opened for one answer. */
typedef struct work {
    const cli_options *options;
    ch_store *store;
    ch_store_pool pool;
    ch_knowledge knowledge;
    ch_assumptions assumptions;
    int64_t car_id;
} work;

/* Pressures in the unit of the settings, else of the newest sheet's first reading. */
static ch_status usual_unit(work *w, const ch_store_season *loaded, const ch_unit **unit, ch_err *err)
{
    const char *set = NULL;
    ch_sheet sheet;
    ch_status rc = ch_store_setting_get(w->store, &w->pool, "units.pressure", &set, err);
    *unit = rc >= 0 && set != NULL ? ch_unit_find(set, strlen(set)) : NULL;
    if (rc < 0 || *unit != NULL || loaded->sheets == 0)
        return rc;
    const ch_history_sheet *newest = &loaded->sheet[0];
    for (size_t i = 1; i < loaded->sheets; i++)
        if (ch_date_days(loaded->sheet[i].day) >= ch_date_days(newest->day))
            newest = &loaded->sheet[i];
    rc = ch_store_sheet_load(w->store, newest->id, &sheet, err);
    if (rc >= 0) {
        *unit = ch_show_pressure_unit(&sheet);
        ch_sheet_clear(&sheet);
    }
    return rc;
}

static ch_status answer_for(work *w, const ch_store_season *loaded, ch_text *answer, ch_err *err)
{
    const cli_options *options = w->options;
    ch_season *season = calloc(1, sizeof *season);
    if (season == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the season");
    const ch_season_input input = {.sheet = loaded->sheet,
                                   .sheets = loaded->sheets,
                                   .event = loaded->event,
                                   .events = loaded->events,
                                   .repair = loaded->repair,
                                   .repairs = loaded->repairs,
                                   .today = options->given & CLI_TODAY ? options->today : garage_today(),
                                   .assumptions = &w->assumptions,
                                   .horizon = options->horizon,
                                   .seed = options->seed};
    ch_status rc = ch_season_run(&input, season, err);
    ch_ready_engine standing = CH_READY_NO_ENGINE;
    if (rc >= 0) {
        ch_store_ready_engine(loaded, input.today, &standing);
        const ch_show_season shown = {
            .season = season,
            .assumptions = &w->assumptions,
            .car = loaded->car,
            .engine = loaded->engine,
            .today = input.today,
            .passed_over = loaded->passed_over,
            .newest = ch_history_newest(loaded->sheet, loaded->sheets, loaded->repair, loaded->repairs, input.today),
            .standing = &standing};
        ch_show_style style = cli_style(options);
        if (options->given & CLI_JSON)
            rc = ch_show_season_json(&shown, answer, err);
        else if (style.pressure == NULL)
            rc = usual_unit(w, loaded, &style.pressure, err);
        if (rc >= 0 && !(options->given & CLI_JSON)) {
            ch_show_season_text(&shown, &style, answer);
            rc = ch_text_check(answer, err);
        }
        ch_season_clear(season);
    }
    free(season);
    return rc;
}

static ch_status work_on(work *w, ch_text *answer, ch_err *err)
{
    char made_by[32];
    ch_status rc = garage_car(w->options, w->store, &w->pool, "season", &w->car_id, err);
    if (rc >= 0)
        rc = ch_store_assumptions(w->store, &w->pool, &w->assumptions, err);
    if (rc < 0)
        return rc;
    input_made_by(made_by);
    const ch_crew crew = threads_crew();
    /* another folder's knowledge is not told from the next by a name, so its results are not kept */
    const ch_store_judging judging = {.knowledge = &w->knowledge,
                                      .made_by = w->options->knowledge == NULL ? made_by : NULL,
                                      .options = {.seed = w->options->seed, .rule = w->options->rule, .crew = &crew}};
    ch_store_season loaded;
    rc = ch_store_season_load(w->store, &w->pool, w->car_id, &judging, &w->assumptions, &loaded, err);
    return rc < 0 ? rc : answer_for(w, &loaded, answer, err);
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    work w = {.options = options};
    ch_status rc = input_knowledge(options->knowledge, &w.knowledge, err);
    if (rc >= 0)
        rc = input_assumptions(options->knowledge, &w.assumptions, err);
    if (rc >= 0)
        rc = garage_open(options, CH_STORE_OPEN, &w.store, err);
    if (rc >= 0)
        rc = work_on(&w, answer, err);
    ch_store_close(w.store);
    ch_store_pool_clear(&w.pool);
    ch_assumptions_clear(&w.assumptions);
    ch_knowledge_clear(&w.knowledge);
    return rc;
}

const cli_command cli_season = {
    .name = "season",
    .summary = "trend, forecast and decision: will the engine last the season, what is it worth doing",
    .synopsis = "",
    .help = "Puts all sheets of a car's engine on one line of running time, tells a step from wear,\n"
            "forecasts the leak areas of every cylinder to the events to come, and compares running,\n"
            "watching, repairing, rebuilding and replacing by what each is expected to cost.\n",
    .options = CLI_COMMON | CLI_JSON | CLI_UNITS | CLI_COLOUR | CLI_NO_COLOUR | CLI_SEED | CLI_RULE | CLI_KNOWLEDGE |
               CLI_GARAGE | CLI_CAR | CLI_TODAY | CLI_HORIZON,
    .run = run,
};

/* crosshatch ready: may I load the trailer? What is due, what is still off, what the forecast says; and the sheet to tick. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/history.h"
#include "crosshatch/show_ready.h"
#include "crosshatch/store_ready.h"
#include "crosshatch/store_season.h"
#include "garage.h"
#include "input.h"
#include "output.h"
#include "threads.h"

/* All that is opened for one answer. */
typedef struct work {
    const cli_options *options;
    ch_store *store;
    ch_store_pool pool;
    ch_knowledge knowledge;
    ch_assumptions assumptions;
    ch_jobs jobs;
    ch_part_lives lives;
    ch_inspection inspection;
    ch_procedures procedures;
    int64_t car_id;
    ch_date today;
} work;

/* What the sheets say: of today the newest, of the event's end the forecast. */
static ch_status look_at_engine(work *w, ch_date day, ch_ready_engine *engine, ch_err *err)
{
    ch_store_season loaded;
    char made_by[32];
    input_made_by(made_by);
    const ch_crew crew = threads_crew();
    /* another folder's knowledge is not told from the next by a name, so its results are not kept */
    const ch_store_judging judging = {.knowledge = &w->knowledge,
                                      .made_by = w->options->knowledge == NULL ? made_by : NULL,
                                      .options = {.seed = w->options->seed, .rule = w->options->rule, .crew = &crew}};
    *engine = CH_READY_NO_ENGINE;
    ch_err ignored = {0}; /* a car without an engine or sheets has no forecast, and that is no failure */
    ch_status rc = ch_store_season_load(w->store, &w->pool, w->car_id, &judging, &w->assumptions, &loaded, &ignored);
    if (rc == CH_E_INPUT || (rc >= 0 && loaded.sheets == 0))
        return CH_OK;
    if (rc >= 0)
        ch_store_ready_engine(&loaded, w->today, engine);
    ch_season *season = rc >= 0 ? calloc(1, sizeof *season) : NULL;
    if (season == NULL) {
        if (err != NULL)
            *err = ignored;
        return rc < 0 ? rc : ch_fail(err, CH_E_MEMORY, NULL, "no memory for the season");
    }
    const ch_season_input input = {.sheet = loaded.sheet,
                                   .sheets = loaded.sheets,
                                   .event = loaded.event,
                                   .events = loaded.events,
                                   .repair = loaded.repair,
                                   .repairs = loaded.repairs,
                                   .today = w->today,
                                   .assumptions = &w->assumptions,
                                   .horizon = CH_HORIZON_SEASON,
                                   .seed = w->options->seed};
    rc = ch_season_run(&input, season, err);
    if (rc >= 0) {
        engine->over_fault_1 = ch_season_over_fault(season, day);
        ch_season_clear(season);
    } else if (rc == CH_E_RANGE) {
        rc = CH_OK; /* no sheet says anything of a leak area */
    }
    free(season);
    return rc;
}

static ch_status print_sheet(work *w, const ch_show_ready *shown, ch_text *answer, ch_err *err)
{
    const bool pdf = output_form(w->options->output) == CLI_FORM_PDF;
    ch_document *document = NULL;
    ch_status rc = ch_report_check_sheet(shown, &document, err);
    if (rc >= 0)
        rc = pdf ? ch_document_pdf(document, w->options->paper, garage_made_on(), answer, err)
                 : ch_document_html(document, answer, err);
    ch_document_free(document);
    return rc;
}

static ch_status show(work *w, const ch_show_ready *shown, ch_text *answer, ch_err *err)
{
    if (w->options->given & CLI_JSON)
        return ch_show_ready_json(shown, answer, err);
    if (output_form(w->options->output) != CLI_FORM_TEXT)
        return print_sheet(w, shown, answer, err);
    const ch_show_style style = cli_style(w->options);
    ch_show_ready_text(shown, &style, answer);
    return ch_text_check(answer, err);
}

static ch_status answer_for(work *w, ch_text *answer, ch_err *err)
{
    ch_store_ready loaded;
    const ch_store_run *run = NULL;
    ch_date run_day = {0};
    bool renewed_that_day = false;
    ch_ready_engine engine = CH_READY_NO_ENGINE;
    ch_status rc =
        ch_store_ready_load(w->store, &w->pool, w->car_id, &w->lives, w->today, CH_HISTORY_EVENT_S, &loaded, err);
    if (rc >= 0)
        rc = ch_store_put_back_order(&w->procedures, loaded.open, loaded.opens, err);
    if (rc >= 0)
        rc = look_at_engine(w, loaded.event.day, &engine, err);
    if (rc >= 0)
        rc = ch_store_clutch_run(w->store, &w->pool, w->car_id, &run, &run_day, &renewed_that_day, err);
    if (rc < 0)
        return rc;
    ch_ready *ready = malloc(sizeof *ready);
    ch_show_open *open = malloc((loaded.opens + 1) * sizeof *open);
    const char **titles = malloc((loaded.works + 1) * sizeof *titles);
    if (ready == NULL || open == NULL || titles == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for what is due");
    for (size_t i = 0; rc >= 0 && i < loaded.opens; i++)
        open[i] = (ch_show_open){.what = loaded.open[i]->what, .lies = loaded.open[i]->lies};
    for (size_t i = 0; rc >= 0 && i < loaded.works; i++)
        titles[i] = loaded.work[i]->title;
    if (rc >= 0)
        rc = ch_ready_run(loaded.part, loaded.parts, loaded.opens + loaded.works, &loaded.event, w->today, &engine,
                          run != NULL ? ch_driveline_slips_1(&run->driveline) : NAN, ready, err);
    if (rc >= 0) {
        const ch_show_ready shown = {.ready = ready,
                                     .event = &loaded.event,
                                     .open = open,
                                     .opens = loaded.opens,
                                     .work = titles,
                                     .works = loaded.works,
                                     .parts = loaded.parts,
                                     .car = loaded.car,
                                     .today = w->today,
                                     .run = run != NULL ? &run->driveline : NULL,
                                     .run_day = run_day,
                                     .renewed_that_day = renewed_that_day,
                                     .inspection = &w->inspection,
                                     .knowledge = &w->knowledge};
        rc = show(w, &shown, answer, err);
    }
    free(ready);
    free(open);
    free(titles);
    return rc;
}

/* Always those built in: what is off was entered under their names. */
static ch_status load_procedures(work *w, ch_err *err)
{
    ch_knowledge knowledge = {0};
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    ch_status rc = ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), err);
    if (rc >= 0)
        rc = ch_procedures_parse(&w->procedures, &knowledge, texts, count, err);
    ch_knowledge_clear(&knowledge);
    return rc;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    work w = {.options = options, .today = options->given & CLI_TODAY ? options->today : garage_today()};
    ch_status rc = input_knowledge(options->knowledge, &w.knowledge, err);
    if (rc >= 0)
        rc = input_assumptions(options->knowledge, &w.assumptions, err);
    if (rc >= 0)
        rc = input_jobs(options->knowledge, &w.knowledge, &w.jobs, err);
    if (rc >= 0)
        rc = input_upkeep(options->knowledge, &w.knowledge, &w.jobs, &w.lives, &w.inspection, err);
    if (rc >= 0)
        rc = load_procedures(&w, err);
    if (rc >= 0)
        rc = garage_open(options, CH_STORE_OPEN, &w.store, err);
    if (rc >= 0)
        rc = garage_car(options, w.store, &w.pool, "ready", &w.car_id, err);
    if (rc >= 0)
        rc = ch_store_assumptions(w.store, &w.pool, &w.assumptions, err);
    if (rc >= 0)
        rc = answer_for(&w, answer, err);
    ch_store_close(w.store);
    ch_store_pool_clear(&w.pool);
    ch_procedures_clear(&w.procedures);
    ch_inspection_clear(&w.inspection);
    ch_part_lives_clear(&w.lives);
    ch_jobs_clear(&w.jobs);
    ch_assumptions_clear(&w.assumptions);
    ch_knowledge_clear(&w.knowledge);
    return rc;
}

const cli_command cli_ready = {
    .name = "ready",
    .summary = "what stands between the car and its next event",
    .synopsis = "",
    .help = "Says what is still off the car, which parts are due before or during the next planned\n"
            "event, and what the forecast says of the engine. -o FILE.pdf or .html writes the check\n"
            "sheet to print and tick.\n",
    .options = CLI_COMMON | CLI_JSON | CLI_COLOUR | CLI_NO_COLOUR | CLI_SEED | CLI_RULE | CLI_KNOWLEDGE | CLI_GARAGE |
               CLI_CAR | CLI_TODAY | CLI_PAPER,
    .forms = CLI_FORM_TEXT | CLI_FORM_PDF | CLI_FORM_HTML,
    .run = run,
};

/* A procedure at one car, see steps.h. */
#include "steps.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/do_not_run.h"
#include "crosshatch/store_sheet.h"
#include "ledger_cards.h"

ch_status steps_thing_name(const ch_procedure_thing *thing, int cylinder, char *name, size_t size, ch_err *err)
{
    ch_text text;
    ch_text_init(&text, size - 1);
    ch_procedure_fill(thing->what, cylinder, &text);
    snprintf(name, size, "%s", ch_text_string(&text));
    const ch_status rc = ch_text_check(&text, err);
    ch_text_clear(&text);
    return rc;
}

static void setting_name(const ch_store_sheet *sheet, const ch_procedure *procedure, const ch_procedure_step *step,
                         int cylinder, char name[128])
{
    snprintf(name, 128, "sheet.%lld.%s.%s.%d", (long long)sheet->id, procedure->id, step->id, cylinder);
}

/* ---------------------------------------------------------------- how far a step is */

static ch_status read_mark(web_request *request, const ch_store_sheet *sheet, const ch_procedure *procedure,
                           steps_place *place, ch_err *err)
{
    char name[128];
    const char *text = NULL;
    setting_name(sheet, procedure, place->step, place->cylinder, name);
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, name, &text, err);
    place->state = text == NULL ? STEPS_OPEN : strcmp(text, "passed") == 0 ? STEPS_PASSED : STEPS_DONE;
    return rc;
}

/* How many readings of each kind and cylinder the sheet has. */
typedef struct measured {
    int n[CH_STORE_LEAKDOWN + 1][CH_CYLINDERS_MAX + 1];
} measured;

static ch_status read_measured(web_request *request, const ch_store_sheet *sheet, measured *m, ch_err *err)
{
    const ch_store_row *rows = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_rows(request->store, &request->pool, sheet->id, false, &rows, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        const int cylinder = rows[i].kind == CH_STORE_LEAKDOWN ? rows[i].leakdown.cylinder : rows[i].reading.cylinder;
        if (rows[i].kind <= CH_STORE_LEAKDOWN && cylinder >= 1 && cylinder <= CH_CYLINDERS_MAX)
            m->n[rows[i].kind][cylinder]++;
    }
    return rc;
}

/*
 * A reading is its own mark, whatever page it came through: the first of a cylinder does the first step that measures it, the second the
 * repeat. `asked` counts those steps.
 */
static bool is_measured(const measured *m, const steps_place *place, measured *asked)
{
    const unsigned rows = place->step->rows;
    if (rows == 0 || place->cylinder < 1 || place->cylinder > CH_CYLINDERS_MAX)
        return false;
    const ch_store_kind kind = (rows & CH_ROWS_COMPRESSION) != 0 ? CH_STORE_DRY
                               : (rows & CH_ROWS_WET) != 0       ? CH_STORE_WET
                                                                 : CH_STORE_LEAKDOWN;
    return m->n[kind][place->cylinder] >= ++asked->n[kind][place->cylinder];
}

/* A thing that is off makes its refit step open, whatever was marked before; one that was never off leaves nothing to do. */
static ch_status look_into_ledger(const web_know *know, const steps_walk *walk, steps_place *place, ch_err *err)
{
    char name[256];
    bool was_off = false;
    const ch_status rc =
        steps_thing_name(&know->procedures.things[place->step->puts_back], place->cylinder, name, sizeof name, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < walk->ledger_count; i++) {
        if (strcmp(walk->ledger[i].what, name) != 0)
            continue;
        was_off = true;
        if (walk->ledger[i].put_back_s == 0)
            place->entry = &walk->ledger[i];
    }
    place->state = place->entry != NULL ? STEPS_OPEN : was_off ? STEPS_DONE : STEPS_NOTHING;
    return CH_OK;
}

/* ---------------------------------------------------------------- the walk */

static size_t round_length(const ch_procedure *procedure, size_t first)
{
    size_t n = 1;
    if (procedure->steps[first].scope == CH_STEP_EACH_CYLINDER)
        while (first + n < procedure->steps_count && procedure->steps[first + n].scope == CH_STEP_EACH_CYLINDER)
            n++;
    return n;
}

static void lay_out(const ch_procedure *procedure, int cylinders, steps_walk *walk)
{
    for (size_t first = 0; first < procedure->steps_count;) {
        const size_t n = round_length(procedure, first);
        const bool each = procedure->steps[first].scope == CH_STEP_EACH_CYLINDER;
        for (int c = each ? 1 : 0; c <= (each ? cylinders : 0); c++)
            for (size_t i = first; i < first + n; i++)
                walk->places[walk->count++] = (steps_place){.step = &procedure->steps[i], .cylinder = c};
        first += n;
    }
}

ch_status steps_walk_new(web_request *request, const web_know *know, const ch_store_sheet *sheet,
                         const ch_procedure *procedure, steps_walk **walk, ch_err *err)
{
    const size_t most = procedure->steps_count * (size_t)(sheet->cylinders > 0 ? sheet->cylinders : 1);
    steps_walk *made = calloc(1, sizeof *made);
    if (made != NULL)
        made->places = calloc(most, sizeof *made->places);
    if (made == NULL || made->places == NULL) {
        steps_walk_free(made);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the steps of a procedure");
    }
    lay_out(procedure, sheet->cylinders, made);
    ch_status rc =
        ch_store_ledger_list(request->store, &request->pool, sheet->id, false, &made->ledger, &made->ledger_count, err);
    measured rows = {0}, asked = {0};
    if (rc >= 0)
        rc = read_measured(request, sheet, &rows, err);
    for (size_t i = 0; rc >= 0 && i < made->count; i++) {
        steps_place *place = &made->places[i];
        if (place->step->puts_back != CH_NO_THING)
            rc = look_into_ledger(know, made, place, err);
        else
            rc = read_mark(request, sheet, procedure, place, err);
        if (is_measured(&rows, place, &asked) && place->state == STEPS_OPEN)
            place->state = STEPS_DONE;
        made->work += place->state != STEPS_NOTHING;
        made->settled += place->state == STEPS_DONE || place->state == STEPS_PASSED;
        made->passed += place->state == STEPS_PASSED;
    }
    if (rc < 0) {
        steps_walk_free(made);
        return rc;
    }
    *walk = made;
    return CH_OK;
}

void steps_walk_free(steps_walk *walk)
{
    if (walk != NULL)
        free(walk->places);
    free(walk);
}

ch_status steps_mark(web_request *request, const ch_store_sheet *sheet, const ch_procedure *procedure,
                     const ch_procedure_step *step, int cylinder, steps_state state, ch_err *err)
{
    char name[128];
    setting_name(sheet, procedure, step, cylinder, name);
    const char *text = state == STEPS_OPEN ? NULL : state == STEPS_PASSED ? "passed" : "done";
    return ch_store_setting_set(request->store, name, text, request->now_s, err);
}

/* ---------------------------------------------------------------- what stands before the ledger */

/* The first open check before a thing, of one sheet. */
static ch_status find_ahead(web_request *request, const web_know *know, const ch_store_ledger *entry,
                            const ch_procedure_thing *thing, steps_ahead *ahead, ch_err *err)
{
    const ch_procedure *procedure = &know->procedures.procedures[thing->back_procedure];
    const ch_store_sheet sheet = {.id = entry->sheet_id};
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < thing->back_step && ahead->step == NULL; i++) {
        steps_place place = {.step = &procedure->steps[i]};
        if (place.step->ahead_of == CH_NO_THING || &know->procedures.things[place.step->ahead_of] != thing)
            continue;
        rc = read_mark(request, &sheet, procedure, &place, err);
        if (rc >= 0 && place.state == STEPS_OPEN)
            *ahead = (steps_ahead){.procedure = procedure, .step = place.step, .entry = entry};
    }
    return rc;
}

ch_status steps_ahead_find(web_request *request, const web_know *know, const ch_store_ledger *const entries[],
                           size_t count, bool back, steps_ahead *ahead, ch_err *err)
{
    bool seen[CH_PROCEDURE_THINGS_MAX] = {false}; /* the next plug says no more than the first */
    ch_status rc = CH_OK;
    *ahead = (steps_ahead){0};
    for (size_t i = 0; rc >= 0 && i < count && ahead->step == NULL; i++) {
        ch_put_back how;
        if (entries[i]->sheet_id == 0 || entries[i]->sheet_id != entries[0]->sheet_id ||
            (entries[i]->put_back_s != 0) != back ||
            !ch_procedure_put_back(&know->procedures, entries[i]->what, &how) ||
            seen[how.thing - know->procedures.things])
            continue;
        seen[how.thing - know->procedures.things] = true;
        rc = find_ahead(request, know, entries[i], how.thing, ahead, err);
    }
    return rc;
}

void steps_ahead_link(html_writer *w, const steps_ahead *ahead, const char *words)
{
    if (ahead->step == NULL)
        return;
    html_lit(w, "<a class=\"button\"");
    html_attrf(w, "href", "/sheet/%lld/do/%s?step=%s&cylinder=0", (long long)ahead->entry->sheet_id,
               ahead->procedure->id, ahead->step->id);
    html_lit(w, ">");
    html_text(w, words);
    html_text(w, ahead->entry->what);
    html_lit(w, "</a>\n");
}

void steps_ahead_write(html_writer *w, const web_know *know, const steps_ahead *ahead)
{
    piece_cautions(w, &know->knowledge, &ahead->step->cautions);
    html_lit(w, "<p>");
    if (ahead->step->applies != NULL) {
        html_text(w, ahead->step->applies);
        html_lit(w, ": ");
    }
    html_text(w, ahead->step->text);
    html_lit(w, "</p>\n<p class=\"no-print\">");
    steps_ahead_link(w, ahead, "To this step, before it goes back: ");
    html_lit(w, "</p>\n");
}

static bool is_of_car(const ch_store_ledger *entry, const ch_store_sheet *sheet)
{
    return entry->sheet_id == sheet->id || (sheet->car_id != 0 && entry->car_id == sheet->car_id);
}

ch_status steps_count_off(web_request *request, const ch_store_sheet *sheet, size_t *off, ch_err *err)
{
    const ch_store_ledger *all = NULL;
    size_t count = 0, of_car = 0;
    const ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, true, &all, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        of_car += is_of_car(&all[i], sheet);
    if (rc >= 0)
        *off = of_car;
    return rc;
}

/* Steps of one procedure that were left out and must not be. */
static ch_status write_left_out(html_writer *w, web_request *request, const web_know *know, const ch_store_sheet *sheet,
                                const ch_procedure *procedure, ch_err *err)
{
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < procedure->steps_count; i++) {
        steps_place place = {.step = &procedure->steps[i]};
        if (place.step->before_cranking.count == 0)
            continue;
        rc = read_mark(request, sheet, procedure, &place, err);
        if (rc < 0 || place.state != STEPS_PASSED)
            continue;
        piece_cautions(w, &know->knowledge, &place.step->before_cranking);
        html_lit(w, "<p class=\"no-print\"><a class=\"button\"");
        html_attrf(w, "href", "/sheet/%lld/do/%s?step=%s&cylinder=0", (long long)sheet->id, procedure->id,
                   place.step->id);
        html_lit(w, ">To the step that was left out</a></p>\n");
    }
    return rc;
}

/* What was seen that has to be put right first, with its cautions. */
static ch_status write_seen(html_writer *w, web_request *request, const web_know *know, const ch_store_sheet *row,
                            ch_err *err)
{
    ch_sheet sheet;
    const ch_status rc = ch_store_sheet_load(request->store, row->id, &sheet, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < sheet.observed_count; i++) {
        const ch_knowledge_observation *seen = ch_do_not_run_row(&sheet, &know->knowledge, i);
        if (seen == NULL)
            continue;
        html_lit(w, "<p class=\"verdict fault\"><strong>Do not crank or run this engine.</strong> Seen");
        if (sheet.observed[i].cylinder > 0)
            html_textf(w, " in cylinder %d", sheet.observed[i].cylinder);
        html_textf(w, ": \"%s\". ", seen->title);
        html_text(w, seen->follow_up);
        html_lit(w, "</p>\n");
        piece_cautions_short(w, &know->knowledge, &seen->cautions);
    }
    ch_sheet_clear(&sheet);
    return CH_OK;
}

ch_status steps_before_cranking(html_writer *w, web_request *request, const web_know *know, const ch_store_sheet *sheet,
                                const ch_procedure *within, ch_err *err)
{
    const ch_store_ledger *off = NULL;
    size_t count = 0;
    ch_status rc = ch_store_ledger_list(request->store, &request->pool, 0, true, &off, &count, err);
    if (rc >= 0)
        rc = write_seen(w, request, know, sheet, err);
    for (size_t i = 0; rc >= 0 && i < know->procedures.count; i++)
        if (within != &know->procedures.procedures[i])
            rc = write_left_out(w, request, know, sheet, &know->procedures.procedures[i], err);
    for (size_t i = 0; rc >= 0 && i < count; i++) {
        ch_put_back back;
        if (!is_of_car(&off[i], sheet) || !ch_procedure_put_back(&know->procedures, off[i].what, &back) ||
            back.thing->before_cranking.count == 0 ||
            within == &know->procedures.procedures[back.thing->taken_procedure])
            continue;
        piece_cautions(w, &know->knowledge, &back.thing->before_cranking);
        html_lit(w, "<p class=\"no-print\">");
        ledger_link(w, &off[i]);
        html_lit(w, "</p>\n");
    }
    return rc;
}

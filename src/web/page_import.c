/*
 * GET, POST /import: a plain table of old readings.
 * Fields: table (a file) or text (what was looked at before), seen (what was made of it then), use_N and unit_N (of column N, from 0), days, unit (of pressures without one), car (id), do =
 * look | store. Nothing is stored but by do = store, and only where the page had shown just that.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/hash.h"
#include "crosshatch/history.h"
#include "crosshatch/reading_table.h"
#include "page.h"
#include "piece.h"

enum { TEXT_MAX = 200 * 1024, ROWS_SHOWN = 5, SHEETS_SHOWN = 12 };

typedef struct looked {
    const char *text; /* the table; NULL = none yet */
    size_t length;
    ch_table table;
    ch_table_plan plan;
    ch_table_made made;
    char mark[20]; /* of what was made of it: what is stored must be what was shown */
} looked;

static void looked_clear(looked *l)
{
    ch_table_made_clear(&l->made);
    ch_table_clear(&l->table);
}

static const char *field_of(const web_request *request, const char *name, size_t column)
{
    char full[32];
    snprintf(full, sizeof full, "%s_%zu", name, column);
    return web_value(&request->form, full);
}

/* What the person chose for each column, over what was guessed. */
static void take_choices(const web_request *request, looked *l)
{
    const char *days = piece_given(&request->form, "days"), *unit = piece_given(&request->form, "unit");
    for (size_t i = 0; i < l->table.columns; i++) {
        const char *use = field_of(request, "use", i), *own = field_of(request, "unit", i);
        const int chosen = use == NULL ? l->plan.use[i] : use[0] == '\0' ? CH_TABLE_UNUSED : ch_table_use_find(use);
        if (chosen >= 0)
            l->plan.use[i] = chosen;
        if (own != NULL && own[0] != '\0')
            l->plan.unit[i] = ch_unit_find(own, strlen(own));
        else if (l->plan.unit[i] == NULL && unit != NULL && ch_table_use_dimension(l->plan.use[i]) == CH_DIM_PRESSURE)
            l->plan.unit[i] = ch_unit_find(unit, strlen(unit));
        if (l->plan.unit[i] != NULL && l->plan.unit[i]->dimension != ch_table_use_dimension(l->plan.use[i]))
            l->plan.unit[i] = NULL;
    }
    l->plan.days = days == NULL               ? CH_TABLE_DAYS_SEEN
                   : strcmp(days, "dmy") == 0 ? CH_TABLE_DAY_FIRST
                   : strcmp(days, "mdy") == 0 ? CH_TABLE_MONTH_FIRST
                                              : CH_TABLE_DAYS_SEEN;
}

/* Over the sheets' ids. */
static ch_status mark_made(looked *l, ch_err *err)
{
    uint64_t mark = CH_HASH_BEGIN;
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < l->made.count; i++) {
        char id[CH_TABLE_ID_SIZE];
        rc = ch_table_sheet_id(&l->made.sheet[i], id, err);
        if (rc >= 0)
            mark = ch_hash(mark, id, strlen(id));
    }
    snprintf(l->mark, sizeof l->mark, "%016llx", (unsigned long long)mark);
    return rc;
}

static ch_status look(const web_request *request, looked *l, ch_err *err)
{
    const web_field *file = web_field_find(&request->form, "table"), *text = web_field_find(&request->form, "text");
    const char *name = "table";
    if (file != NULL && file->file_name != NULL && file->length > 0) {
        l->text = file->value;
        l->length = file->length;
        name = file->file_name[0] != '\0' ? file->file_name : name;
    } else if (text != NULL && text->file_name == NULL && text->length > 0) {
        l->text = text->value;
        l->length = text->length;
    } else {
        return ch_fail(err, CH_E_INPUT, "a CSV file, as a spreadsheet saves it", "no table was chosen");
    }
    if (l->length > TEXT_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 200 kB here; `crosshatch import` takes 4 MB",
                       "the table is too large");
    ch_status rc = ch_table_read(name, l->text, l->length, &l->table, err);
    if (rc < 0) {
        l->text = NULL; /* it may be no text */
        return rc;
    }
    ch_table_guess(&l->table, &l->plan);
    take_choices(request, l);
    rc = ch_table_sheets(name, &l->table, &l->plan, &l->made, err);
    return rc < 0 ? rc : mark_made(l, err);
}

/* ---- the page ---- */

static void choose_use(html_writer *w, const looked *l, size_t column)
{
    char chosen[32], name[32];
    ch_table_use_name(l->plan.use[column], chosen, sizeof chosen);
    html_lit(w, "<label>holds<select");
    html_attrf(w, "name", "use_%zu", column);
    html_lit(w, ">");
    piece_option(w, "", "not taken", chosen);
    for (int use = 1; use < CH_TABLE_CYLINDER_N + CH_CYLINDERS_MAX; use++) {
        char words[32];
        ch_table_use_name(use, name, sizeof name);
        snprintf(words, sizeof words, "%s", name);
        for (char *c = words; *c != '\0'; c++)
            *c = *c == '_' ? ' ' : *c;
        piece_option(w, name, words, chosen);
    }
    html_lit(w, "</select></label>");
}

static void choose_unit(html_writer *w, const looked *l, size_t column)
{
    static const char *const units[] = {"psi", "bar", "kPa", "kgf/cm2", "km", "mi", "h", "%", "ml", "mm"};
    const ch_unit *unit = l->plan.unit[column];
    const char *chosen = unit != NULL ? unit->name : "";
    bool offered = unit == NULL;
    html_lit(w, "<label>in<select");
    html_attrf(w, "name", "unit_%zu", column);
    html_lit(w, ">");
    piece_option(w, "", "no unit named", chosen);
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        piece_option(w, units[i], units[i], chosen);
        offered = offered || strcmp(units[i], chosen) == 0;
    }
    if (!offered)
        piece_option(w, chosen, chosen, chosen);
    html_lit(w, "</select></label>");
}

/* Each column with its first cells, and what it is taken for. */
static void show_columns(html_writer *w, const looked *l)
{
    char cell[40];
    html_lit(w, "<h2>Columns</h2>\n<ul class=\"cards\">");
    for (size_t i = 0; i < l->table.columns; i++) {
        const char *header = l->table.cell[i].text;
        html_lit(w, "<li class=\"card\"><strong>");
        html_text(w, header[0] != '\0' ? header : "(no header)");
        html_lit(w, "</strong><br><span class=\"hint\">");
        for (size_t row = 0; row < l->table.rows && row < ROWS_SHOWN; row++) {
            const char *text = ch_table_at(&l->table, row, i)->text;
            ch_text_excerpt(text, strlen(text), cell, sizeof cell);
            if (row > 0)
                html_lit(w, " | ");
            html_text(w, cell[0] != '\0' ? cell : "-");
        }
        html_lit(w, "</span>");
        choose_use(w, l, i);
        choose_unit(w, l, i);
        html_lit(w, "</li>\n");
    }
    html_lit(w, "</ul>\n");
}

static void show_made(html_writer *w, const looked *l, ch_date today)
{
    html_lit(w, "<h2>What comes of it</h2>\n<p>");
    html_textf(w, "%zu %s with %zu %s, from %zu %s.", l->made.count, l->made.count == 1 ? "sheet" : "sheets",
               l->made.readings, l->made.readings == 1 ? "reading" : "readings", l->table.rows,
               l->table.rows == 1 ? "row" : "rows");
    html_lit(w, "</p>\n<ul>");
    for (size_t i = 0; i < l->made.count && i < SHEETS_SHOWN; i++) {
        const ch_sheet *s = &l->made.sheet[i];
        char day[16], first[64];
        ch_date_format(s->conditions.date, day, sizeof day);
        html_lit(w, "<li>");
        html_textf(w, "Line %ld: %s%s, %d %s, %zu dry, %zu wet, %zu leak-down", l->made.line[i],
                   day[0] != '\0' ? day : "no date",
                   ch_history_to_come(s->conditions.date, today) ? " (still to come: put it right)" : "",
                   s->engine.cylinders, s->engine.cylinders == 1 ? "cylinder" : "cylinders", s->compression_count,
                   s->wet_count, s->leakdown_count);
        if (s->compression_count > 0) {
            ch_quantity_text(&s->compression[0].reading, first, sizeof first);
            html_textf(w, "; the first reads %s", first);
        }
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul>\n");
    if (l->made.count > SHEETS_SHOWN) {
        html_lit(w, "<p>");
        html_textf(w, "And %zu more.", l->made.count - SHEETS_SHOWN);
        html_lit(w, "</p>\n");
    }
}

static void show_doubts(html_writer *w, const looked *l)
{
    const char *line = ch_text_string(&l->made.doubts);
    if (line[0] == '\0')
        return;
    html_lit(w, "<h2>To be looked at</h2>\n<ul>");
    for (const char *end = strchr(line, '\n'); end != NULL; line = end + 1, end = strchr(line, '\n')) {
        html_lit(w, "<li>");
        html_text_bytes(w, line, (size_t)(end - line));
        html_lit(w, "</li>");
    }
    html_lit(w, "</ul>\n");
}

static ch_status choose_car(web_request *request, html_writer *w, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    char id[24];
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    if (rc < 0 || count == 0)
        return rc;
    html_lit(w, "<label for=\"f-car\">Car <span class=\"hint\">each test goes to the engine that was in it on that "
                "day, and takes what is known of it</span></label>"
                "<select id=\"f-car\" name=\"car\">");
    const char *chosen = piece_typed(request, "car", "");
    piece_option(w, "", "no car", chosen);
    for (size_t i = 0; i < count; i++) {
        snprintf(id, sizeof id, "%lld", (long long)cars[i].id);
        piece_option(w, id, cars[i].name, chosen);
    }
    html_lit(w, "</select>\n");
    return rc;
}

static void choose_rest(const web_request *request, html_writer *w)
{
    static const char *const pressures[] = {"psi", "bar", "kPa", "kgf/cm2"};
    const char *unit = piece_typed(request, "unit", ""), *days = piece_typed(request, "days", "");
    html_lit(w, "<label for=\"f-unit\">Pressures without a unit are in</label><select id=\"f-unit\" name=\"unit\">");
    piece_option(w, "", "there are none", unit);
    for (size_t i = 0; i < sizeof pressures / sizeof pressures[0]; i++)
        piece_option(w, pressures[i], pressures[i], unit);
    html_lit(w, "</select>\n<label for=\"f-days\">3/4/2019 means</label><select id=\"f-days\" name=\"days\">");
    piece_option(w, "", "what other rows show", days);
    piece_option(w, "dmy", "3 April", days);
    piece_option(w, "mdy", "March 4", days);
    html_lit(w, "</select>\n");
}

static ch_status import_page(web_request *request, web_response *response, const looked *l, const char *alert,
                             ch_err *err)
{
    html_writer *w = &response->page;
    const char *stored = web_value(&request->query, "stored");
    html_page_open(w, request, "Bring in old readings");
    piece_alert(w, alert);
    if (stored != NULL && strspn(stored, "0123456789") == strlen(stored) && stored[0] != '\0') {
        html_lit(w, "<p role=\"status\" class=\"notice\">Stored: ");
        html_text(w, stored);
        html_lit(w, " new sheets. <a href=\"/sheets\">All sheets</a></p>\n");
    }
    html_form_open(w, request, "/import", true);
    const bool again = l->text != NULL;
    if (!again)
        html_lit(w, "<p>A table that you kept in a spreadsheet: a row a reading (date, cylinder, reading), or a row a "
                    "round of a test with a "
                    "column for each cylinder. Save it as CSV (UTF-8). Nothing is stored before you have seen what "
                    "comes of it.</p>\n");
    html_lit(w, "<label for=\"f-table\">");
    html_text(w, again ? "Another table" : "The table");
    html_lit(w, "</label><input id=\"f-table\" type=\"file\" name=\"table\" accept=\".csv,.tsv,.txt,text/csv\">\n");
    if (again) {
        html_lit(
            w, "<div hidden><label for=\"f-text\">The table looked at</label><textarea id=\"f-text\" name=\"text\">\n");
        html_text_bytes(w, l->text, l->length);
        html_lit(w, "</textarea></div>\n");
        show_columns(w, l);
    }
    choose_rest(request, w);
    const ch_status rc = choose_car(request, w, err);
    if (again && l->made.count > 0) {
        show_made(w, l, piece_today(request->now_s));
        show_doubts(w, l);
        piece_hidden(w, "seen", l->mark);
        piece_button(w, "do", "look", "second", "Look again");
        piece_button(w, "do", "store", "", "Store these sheets");
    } else {
        piece_button(w, "do", "look", "", "Look at it");
    }
    html_form_close(w);
    html_lit(w, "<p><a class=\"button second\" href=\"/export\">Take out and bring in</a></p>\n");
    html_page_close(w);
    return rc;
}

ch_status page_import_get(web_request *request, web_response *response, ch_err *err)
{
    const looked nothing = {0};
    return import_page(request, response, &nothing, NULL, err);
}

ch_status page_import_post(web_request *request, web_response *response, ch_err *err)
{
    static const piece_words here[] = {
        {"say whether the day or the month comes first (date=COLUMN:dmy or date=COLUMN:mdy)",
         "say below what 3/4/2019 means"},
        {"columns for cylinder and reading (or loss), or one for each cylinder: cylinder_1, cylinder_2 ...",
         "choose below what the columns hold: cylinder and reading (or loss), or cylinder 1, cylinder 2 and so on"},
        {"either a column reading, or columns cylinder_1, cylinder_2 ...",
         "choose below either reading for one column, or cylinder 1, cylinder 2 and so on"},
        {"in brackets in the header, or in the cell, one of ", "choose below what its numbers are in, one of "},
    };
    looked l = {0};
    ch_err own = {0};
    char line[PIECE_LINE];
    ch_store_brought told = {0};
    const char *what = web_value(&request->form, "do"), *seen = web_value(&request->form, "seen");
    ch_status rc = look(request, &l, &own);
    piece_say_here(&own, here, sizeof here / sizeof here[0]);
    const bool wanted = rc >= 0 && what != NULL && strcmp(what, "store") == 0;
    const bool store = wanted && seen != NULL && strcmp(seen, l.mark) == 0;
    if (store)
        rc = ch_store_sheets_bring(request->store, piece_id(&request->form, "car"), l.made.sheet, l.made.count,
                                   request->now_s, &told, &own);
    response->told = store;
    if (store && rc >= 0)
        rc = web_redirect(response, "/import?stored=%zu", l.made.count - told.again);
    else if (piece_refused(rc, &own, response, line, err))
        rc = import_page(request, response, &l, line, err);
    else if (rc >= 0)
        rc = import_page(
            request, response, &l,
            wanted ? "The choices changed since this was shown. This is what comes of them now; nothing is stored yet."
                   : NULL,
            err);
    looked_clear(&l);
    return rc;
}

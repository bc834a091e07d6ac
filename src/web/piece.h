/*
 * What several pages share: fields of forms, the id that makes a re-sent form count once, cautions, the head of a sheet's pages.
 */
#ifndef CROSSHATCH_WEB_PIECE_H
#define CROSSHATCH_WEB_PIECE_H

#include <stdint.h>

#include "crosshatch/sheet.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_sheet.h"
#include "html_page.h"
#include "know.h"
#include "route.h"

/* ---- forms ---- */

/* A field's text without the blanks at its beginning; NULL where it is missing or blank. */
const char *piece_given(const web_fields *fields, const char *name);

/* Whether the form's `do`, the button that was pressed, is one of `known`: words with a blank between. A page does nothing where it is not. */
bool piece_does(const web_request *request, const char *known);

/*
 * A page written in answer to a form shows a refusal: what was typed stands in its fields again. `stored` for any other page, and where the
 * form has no such field.
 */
const char *piece_typed(const web_request *request, const char *name, const char *stored);

/*
 * Whether `rc` is a refusal of what a person gave: then `line` says why, and the response has its status. Any other failure goes to `err`.
 */
enum { PIECE_LINE = 600 };
bool piece_refused(ch_status rc, const ch_err *own, web_response *response, char line[PIECE_LINE], ch_err *err);

/*
 * What would be right, as a page says it: wherever err->right has the words of a command line, those of the page stand in their place. Words that are longer
 * than there is room for are cut.
 */
typedef struct piece_words {
    const char *terminal, *page;
} piece_words;
void piece_say_here(ch_err *err, const piece_words words[], size_t count);

/* A text of the request for a struct that could own one and here does not: it is only read. */
char *piece_lent(const char *text);

/* A whole number 0 .. 999999999 in a field; `missing` where there is none. */
int piece_number(const web_fields *fields, const char *name, int missing);

/* An id, 1 or more, in a field; 0 where there is none. */
int64_t piece_id(const web_fields *fields, const char *name);

/* One field with its label. All texts may be NULL but label and name. */
typedef struct piece_input {
    const char *label, *name, *value, *hint;
    const char *mode; /* inputmode: "decimal", "numeric" */
    const char *type; /* NULL = text */
    const char *list; /* id of a datalist */
    bool numeral;     /* big, for a reading */
    bool required, area, focus, invalid;
} piece_input;

void piece_field(html_writer *w, const piece_input *input);

/* <button> with a name and value (both may be NULL); `look` is a class of look.css, "" for the main one. */
void piece_button(html_writer *w, const char *name, const char *value, const char *look, const char *words);

/* <option>, chosen where `value` equals `chosen`. */
void piece_option(html_writer *w, const char *value, const char *words, const char *chosen);

/* A radio button with its label. */
void piece_choice(html_writer *w, const char *name, const char *value, const char *words, const char *chosen);

/* A hidden field. */
void piece_hidden(html_writer *w, const char *name, const char *value);
void piece_hidden_number(html_writer *w, const char *name, int64_t value);

/*
 * A hidden field `entry` with a random id. Together with what the form says it becomes the sender's id of the store: the same form sent twice
 * is stored once, and a form that was gone back to and filled in anew is a new entry.
 */
enum { PIECE_ENTRY = 33 };
ch_status piece_entry(html_writer *w, ch_err *err);

/* The sender's id of a form's entry into `id`; NULL where the form carries none that could be one. */
const char *piece_client(const web_request *request, char id[CH_STORE_CLIENT_MAX + 1]);

/* ---- settings ---- */

/* The unit chosen for a dimension in the settings, or the usual one: psi, mm, C. Distance: with the name "distance", km. */
const ch_unit *piece_unit(web_request *request, const char *name);

/* Whether all units that were asked for could be read. To be asked before a number is taken that has none of its own; for pages the core asks. */
ch_status piece_units_read(const web_request *request, ch_err *err);

/* ---- cautions ---- */

/* Boxes with signal word, hazard, consequence, precaution; gravest first as they stand. Nothing where there are none. */
void piece_cautions(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions);

/* The same as one line each: signal word and precaution. */
void piece_cautions_short(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions);

/* Their signal words alone, each once, gravest first. */
void piece_signal_words(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions);

/*
 * A line that says what went wrong, above the form that was refused, on a page shown again. It has the focus: however far down the form
 * stands, the page opens there. NULL writes nothing.
 */
void piece_alert(html_writer *w, const char *words);

/* The same where the focus is to stay in the field below. */
void piece_alert_beside_field(html_writer *w, const char *words);

/* ---- sheets ---- */

/*
 * The sheet named by the first part of the path. False where there is none: the answer is then written, and the page returns *rc.
 */
bool piece_sheet(web_request *request, web_response *response, ch_store_sheet *sheet, ch_status *rc, ch_err *err);

/* "Car, 2027-01-16": what a sheet is called. Lives in the request's pool or in `name`. */
ch_status piece_sheet_name(web_request *request, const ch_store_sheet *sheet, char *name, size_t size, ch_err *err);

/* The same for one of many, with the cars at hand. */
void piece_sheet_name_among(const ch_store_car *cars, size_t count, const ch_store_sheet *sheet, char *name,
                            size_t size);

/* Open a page of a sheet, with the links to its other pages; `here` is the last part of this one's path, "" for the sheet itself. */
ch_status piece_sheet_open(web_request *request, web_response *response, const ch_store_sheet *sheet, const char *title,
                           const char *here, ch_err *err);

/* A time as the clock on this machine shows it, "16:05" today, else with its day. */
void piece_time(html_writer *w, int64_t time_s, int64_t now_s);

/* Today on this machine's calendar. */
ch_date piece_today(int64_t now_s);

#endif

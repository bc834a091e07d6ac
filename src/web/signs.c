/* Signs noticed, see signs.h. */
#include "signs.h"

#include <string.h>

/* ---------------------------------------------------------------- the form */

ch_status signs_read(const web_fields *form, const ch_knowledge *knowledge, ch_store_row *row, ch_err *err)
{
    const char *what = piece_given(form, "what"), *found = piece_given(form, "found");
    ch_store_row_init(row, CH_STORE_OBSERVED);
    if (what == NULL || ch_knowledge_observation_find(knowledge, what, strlen(what)) == NULL)
        return ch_fail(err, CH_E_INPUT, "choose one of the list", "no sign is chosen");
    row->observed.what = piece_lent(what);
    row->observed.note = piece_lent(piece_given(form, "note"));
    row->observed.cylinder = piece_number(form, "cylinder", 0);
    row->observed.absent = found != NULL && strcmp(found, "no") == 0;
    return CH_OK;
}

/* The signs to choose from, each heading with its own; what stands under none comes last. */
static void write_choice(html_writer *w, const ch_knowledge *knowledge, const ch_knowledge_check *check,
                         const char *chosen)
{
    piece_option(w, "", "Choose a sign", chosen);
    if (check != NULL) {
        html_lit(w, "<optgroup");
        html_attr(w, "label", check->title);
        html_lit(w, ">");
        for (size_t i = 0; i < check->yields.count; i++) {
            const ch_knowledge_observation *one = &knowledge->observations[check->yields.at[i]];
            piece_option(w, one->id, one->title, "");
        }
        html_lit(w, "</optgroup>");
    }
    for (size_t h = 0; h <= knowledge->headings_count; h++) {
        const bool headed = h < knowledge->headings_count;
        const long heading = headed ? (long)h : CH_NO_HEADING;
        if (headed) {
            html_lit(w, "<optgroup");
            html_attr(w, "label", knowledge->headings[h].title);
            html_lit(w, ">");
        }
        for (size_t i = 0; i < knowledge->observations_count; i++)
            if (knowledge->observations[i].heading == heading)
                piece_option(w, knowledge->observations[i].id, knowledge->observations[i].title, chosen);
        if (headed)
            html_lit(w, "</optgroup>");
    }
}

void signs_fields(html_writer *w, const web_fields *form, const ch_store_row *row, const ch_knowledge_check *check,
                  const ch_knowledge *knowledge, int cylinders)
{
    const ch_observation *seen = row != NULL ? &row->observed : NULL;
    const char *what = form != NULL ? web_value(form, "what") : seen != NULL ? seen->what : NULL;
    const char *note = form != NULL ? web_value(form, "note") : seen != NULL ? seen->note : NULL;
    const char *found = form != NULL ? web_value(form, "found") : seen != NULL && seen->absent ? "no" : "yes";
    const int at = form != NULL ? piece_number(form, "cylinder", 0) : seen != NULL ? seen->cylinder : 0;
    html_lit(w, "<label for=\"f-what\">What</label><select id=\"f-what\" name=\"what\" required>");
    write_choice(w, knowledge, check, what);
    html_lit(w, "</select><label for=\"f-at\">Where</label><select id=\"f-at\" name=\"cylinder\">"
                "<option value=\"0\">The engine as a whole</option>");
    for (int c = 1; c <= cylinders; c++) {
        html_lit(w, "<option");
        html_attrf(w, "value", "%d", c);
        html_attr_if(w, "selected", c == at);
        html_lit(w, ">");
        html_textf(w, "Cylinder %d", c);
        html_lit(w, "</option>");
    }
    html_lit(w, "</select><fieldset><legend>Found</legend>");
    piece_choice(w, "found", "yes", "It is there", found != NULL ? found : "yes");
    piece_choice(w, "found", "no", "Looked for, not there", found != NULL ? found : "yes");
    html_lit(w, "</fieldset>");
    piece_field(w, &(piece_input){.label = "Note", .name = "note", .value = note});
}

/* ---------------------------------------------------------------- the list */

static const char *title_of(const ch_knowledge *knowledge, const ch_observation *seen)
{
    const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, seen->what, strlen(seen->what));
    return known != NULL ? known->title : seen->what;
}

static void write_sign(html_writer *w, const ch_knowledge *knowledge, const ch_observation *seen)
{
    html_text(w, title_of(knowledge, seen));
    if (seen->cylinder > 0)
        html_textf(w, ", cylinder %d", seen->cylinder);
    if (seen->absent)
        html_lit(w, ": looked for, not there");
    if (seen->note != NULL)
        html_textf(w, ". %s", seen->note);
}

void signs_chain(html_writer *w, const web_request *request, const ch_knowledge *knowledge, const ch_store_row rows[],
                 size_t count, const ch_store_row *current)
{
    if (current->deletion) {
        html_lit(w, "Taken out ");
        piece_time(w, current->entered_s, request->now_s);
    } else {
        write_sign(w, knowledge, &current->observed);
    }
    for (size_t i = 0; i < count; i++) {
        if (rows[i].first_id != current->first_id || rows[i].id == current->id)
            continue;
        html_lit(w, "<br><span class=\"quiet\">was <del>");
        write_sign(w, knowledge, &rows[i].observed);
        html_lit(w, "</del>, ");
        piece_time(w, rows[i].entered_s, request->now_s);
        html_lit(w, "</span>");
    }
}

static bool counts(const ch_store_row *row)
{
    return row->kind == CH_STORE_OBSERVED && row->current && !row->deletion;
}

/* One sign at one place cannot be there and not there, and once is enough. */
static void ask_of_pairs(html_writer *w, const ch_knowledge *knowledge, const ch_store_row rows[], size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = i + 1; k < count && counts(&rows[i]); k++) {
            const ch_observation *a = &rows[i].observed, *b = &rows[k].observed;
            if (!counts(&rows[k]) || a->cylinder != b->cylinder || strcmp(a->what, b->what) != 0)
                continue;
            html_lit(w, "<p class=\"notice question\"><span class=\"signal\">Is this right?</span> ");
            html_text(w, title_of(knowledge, a));
            if (a->cylinder > 0)
                html_textf(w, ", cylinder %d", a->cylinder);
            html_text(w, a->absent != b->absent
                             ? ": entered as there and as not there. Both count until one of them is taken out."
                             : ": entered twice. Both count until one of them is taken out.");
            html_lit(w, "</p>\n");
        }
}

void signs_list(html_writer *w, const web_request *request, const ch_knowledge *knowledge, const ch_store_sheet *sheet,
                const ch_store_row rows[], size_t count)
{
    size_t shown = 0;
    html_lit(w, "<h2 id=\"signs\">Signs you noticed</h2>\n");
    ask_of_pairs(w, knowledge, rows, count);
    html_lit(w, "<ul>");
    for (size_t i = 0; i < count; i++) {
        if (rows[i].kind != CH_STORE_OBSERVED || (!rows[i].current && !rows[i].deletion))
            continue;
        html_lit(w, "<li>");
        signs_chain(w, request, knowledge, rows, count, &rows[i]);
        if (!rows[i].deletion && !sheet->closed) {
            html_lit(w, " <a class=\"press\"");
            html_attrf(w, "href", "/row/%lld?sheet=%lld", (long long)rows[i].id, (long long)sheet->id);
            html_lit(w, ">Correct</a>");
        }
        html_lit(w, "</li>");
        shown++;
    }
    html_lit(w, "</ul>\n");
    if (shown == 0)
        html_lit(w, "<p class=\"quiet\">None entered.</p>");
}

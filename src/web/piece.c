/* What several pages share, see piece.h. */
#include "piece.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "crosshatch/hash.h"
#include "crosshatch/store_car.h"
#include "session.h"

/* ---------------------------------------------------------------- forms */

const char *piece_given(const web_fields *fields, const char *name)
{
    const char *value = web_value(fields, name);
    if (value == NULL)
        return NULL;
    value += strspn(value, " \t\r\n");
    return value[0] != '\0' ? value : NULL;
}

bool piece_does(const web_request *request, const char *known)
{
    const char *what = piece_given(&request->form, "do");
    const size_t length = what != NULL ? strlen(what) : 0;
    for (const char *word = known; length > 0 && *word != '\0'; word += strspn(word, " ")) {
        const size_t end = strcspn(word, " ");
        if (end == length && memcmp(word, what, length) == 0)
            return true;
        word += end;
    }
    return false;
}

const char *piece_typed(const web_request *request, const char *name, const char *stored)
{
    const char *typed = request->post ? web_value(&request->form, name) : NULL;
    return typed != NULL ? typed : stored;
}

bool piece_refused(ch_status rc, const ch_err *own, web_response *response, char line[PIECE_LINE], ch_err *err)
{
    if (rc >= 0)
        return false;
    if (rc != CH_E_INPUT && rc != CH_E_RANGE && rc != CH_E_LIMIT) {
        if (err != NULL)
            *err = *own;
        return false;
    }
    ch_err_format(own, line, PIECE_LINE);
    response->status = 422;
    return true;
}

void piece_say_here(ch_err *err, const piece_words words[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const char *at = strstr(err->right, words[i].terminal);
        if (at == NULL)
            continue;
        char said[sizeof err->right];
        snprintf(said, sizeof said, "%.*s%s%s", (int)(at - err->right), err->right, words[i].page,
                 at + strlen(words[i].terminal));
        snprintf(err->right, sizeof err->right, "%s", said);
    }
}

char *piece_lent(const char *text)
{
    char *lent = NULL;
    memcpy(&lent, &text, sizeof lent);
    return lent;
}

int piece_number(const web_fields *fields, const char *name, int missing)
{
    const char *text = piece_given(fields, name);
    if (text == NULL)
        return missing;
    const size_t digits = strspn(text, "0123456789");
    if (digits == 0 || digits > 9 || text[digits + strspn(text + digits, " ")] != '\0')
        return missing;
    return (int)strtol(text, NULL, 10);
}

int64_t piece_id(const web_fields *fields, const char *name)
{
    const char *text = piece_given(fields, name);
    const size_t length = text != NULL ? strlen(text) : 0;
    if (length == 0 || length > 18 || strspn(text, "0123456789") != length)
        return 0;
    return strtoll(text, NULL, 10);
}

void piece_field(html_writer *w, const piece_input *input)
{
    html_lit(w, "<label");
    html_attrf(w, "for", "f-%s", input->name);
    html_lit(w, ">");
    html_text(w, input->label);
    if (input->hint != NULL) {
        html_lit(w, " <span class=\"hint\">");
        html_text(w, input->hint);
        html_lit(w, "</span>");
    }
    html_lit(w, "</label>");
    if (input->area)
        html_lit(w, "<textarea");
    else
        html_lit(w, "<input autocomplete=\"off\"");
    html_attrf(w, "id", "f-%s", input->name);
    html_attr(w, "name", input->name);
    if (!input->area) {
        html_attr(w, "type", input->type != NULL ? input->type : "text");
        html_attr(w, "value", input->value);
    }
    html_attr(w, "inputmode", input->mode);
    html_attr(w, "list", input->list);
    if (input->numeral)
        html_lit(w, " class=\"numeral\"");
    html_attr_if(w, "required", input->required);
    html_attr_if(w, "autofocus", input->focus);
    if (input->invalid)
        html_lit(w, " aria-invalid=\"true\"");
    html_lit(w, " maxlength=\"2000\">");
    if (input->area) {
        html_text(w, input->value);
        html_lit(w, "</textarea>");
    }
    html_lit(w, "\n");
}

void piece_button(html_writer *w, const char *name, const char *value, const char *look, const char *words)
{
    html_lit(w, "<button");
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_attr(w, "class", look[0] != '\0' ? look : NULL);
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</button>\n");
}

void piece_option(html_writer *w, const char *value, const char *words, const char *chosen)
{
    html_lit(w, "<option");
    html_attr(w, "value", value);
    html_attr_if(w, "selected", chosen != NULL && strcmp(chosen, value) == 0);
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</option>");
}

void piece_choice(html_writer *w, const char *name, const char *value, const char *words, const char *chosen)
{
    html_lit(w, "<label class=\"choice\"><input type=\"radio\"");
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_attr_if(w, "checked", chosen != NULL && strcmp(chosen, value) == 0);
    html_lit(w, ">");
    html_text(w, words);
    html_lit(w, "</label>\n");
}

void piece_hidden(html_writer *w, const char *name, const char *value)
{
    html_lit(w, "<input type=\"hidden\"");
    html_attr(w, "name", name);
    html_attr(w, "value", value);
    html_lit(w, ">");
}

void piece_hidden_number(html_writer *w, const char *name, int64_t value)
{
    html_lit(w, "<input type=\"hidden\"");
    html_attr(w, "name", name);
    html_attrf(w, "value", "%lld", (long long)value);
    html_lit(w, ">");
}

ch_status piece_entry(html_writer *w, ch_err *err)
{
    unsigned char bytes[(PIECE_ENTRY - 1) / 2];
    char id[PIECE_ENTRY];
    const ch_status rc = web_random(bytes, sizeof bytes, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(id + 2 * i, 3, "%02x", bytes[i]);
    piece_hidden(w, "entry", id);
    return CH_OK;
}

const char *piece_client(const web_request *request, char id[CH_STORE_CLIENT_MAX + 1])
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._:-";
    const char *entry = web_value(&request->form, "entry");
    if (entry == NULL || strlen(entry) < 8 || strlen(entry) > 40 || strspn(entry, allowed) != strlen(entry))
        return NULL;
    uint64_t hash = CH_HASH_BEGIN;
    for (size_t i = 0; i < request->form.count; i++) {
        const web_field *field = &request->form.list[i];
        if (strcmp(field->name, "token") == 0 || strcmp(field->name, "entry") == 0 ||
            strcmp(field->name, "answer") == 0)
            continue;
        /* with the NUL, so that neighbours do not run into each other */
        hash = ch_hash(hash, field->name, strlen(field->name) + 1);
        hash = ch_hash(hash, field->value, field->length + 1);
    }
    snprintf(id, CH_STORE_CLIENT_MAX + 1, "%s.%016llx", entry, (unsigned long long)hash);
    return id;
}

/* ---------------------------------------------------------------- settings */

ch_status piece_units_read(const web_request *request, ch_err *err)
{
    return request->unread < 0 ? ch_fail(err, request->unread, NULL, "the settings could not be read") : CH_OK;
}

const ch_unit *piece_unit(web_request *request, const char *name)
{
    static const struct {
        const char *name, *setting, *usual;
    } units[] = {
        {"pressure", "units.pressure", "psi"},
        {"length", "units.length", "mm"},
        {"temperature", "units.temperature", "C"},
        {"distance", "units.distance", "km"},
    };
    size_t i = 0;
    while (i + 1 < sizeof units / sizeof units[0] && strcmp(units[i].name, name) != 0)
        i++;
    const char *text = NULL;
    const ch_unit *usual = ch_unit_find(units[i].usual, strlen(units[i].usual));
    const ch_status rc = ch_store_setting_get(request->store, &request->pool, units[i].setting, &text, NULL);
    if (rc < 0)
        request->unread = rc;
    if (rc < 0 || text == NULL)
        return usual;
    const ch_unit *unit = ch_unit_find(text, strlen(text));
    return unit != NULL && unit->dimension == usual->dimension ? unit : usual;
}

/* ---------------------------------------------------------------- cautions */

static void box_open(html_writer *w, ch_signal_word word)
{
    switch (word) {
    case CH_SIGNAL_DANGER: html_lit(w, "<div class=\"danger-box\">"); break;
    case CH_SIGNAL_WARNING: html_lit(w, "<div class=\"warning\">"); break;
    case CH_SIGNAL_CAUTION: html_lit(w, "<div class=\"caution\">"); break;
    case CH_SIGNAL_NOTICE: html_lit(w, "<div class=\"notice\">"); break;
    }
    html_lit(w, "<p><span class=\"signal\">");
    html_text(w, ch_signal_word_name(word));
    html_lit(w, "</span> ");
}

void piece_cautions(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions)
{
    for (size_t i = 0; i < cautions->count; i++) {
        const ch_knowledge_caution *caution = &knowledge->cautions[cautions->at[i]];
        box_open(w, caution->word);
        html_textf(w, "%s %s", caution->hazard, caution->consequence);
        html_lit(w, "</p><p>");
        html_text(w, caution->precaution);
        html_lit(w, "</p>");
        if (caution->defer_when != NULL) {
            html_lit(w, "<p><strong>When to stop:</strong> ");
            html_text(w, caution->defer_when);
            html_lit(w, "</p>");
        }
        html_lit(w, "</div>\n");
    }
}

void piece_cautions_short(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions)
{
    for (size_t i = 0; i < cautions->count; i++) {
        const ch_knowledge_caution *caution = &knowledge->cautions[cautions->at[i]];
        box_open(w, caution->word);
        html_textf(w, "%s %s", caution->hazard, caution->precaution);
        html_lit(w, "</p></div>\n");
    }
}

void piece_signal_words(html_writer *w, const ch_knowledge *knowledge, const ch_places *cautions)
{
    bool any = false;
    for (int word = CH_SIGNAL_DANGER; word <= CH_SIGNAL_NOTICE; word++)
        for (size_t i = 0; i < cautions->count; i++) {
            if (knowledge->cautions[cautions->at[i]].word != (ch_signal_word)word)
                continue;
            if (any)
                html_lit(w, ", ");
            html_lit(w, "<span class=\"signal\">");
            html_text(w, ch_signal_word_name((ch_signal_word)word));
            html_lit(w, "</span>");
            any = true;
            break;
        }
}

static void write_alert(html_writer *w, const char *words, bool focus)
{
    if (words == NULL)
        return;
    html_lit(w, "<div class=\"refusal\" role=\"alert\"");
    if (focus)
        html_lit(w, " tabindex=\"-1\" autofocus");
    html_lit(w, "><p>");
    html_text(w, words);
    html_lit(w, "</p></div>\n");
}

void piece_alert(html_writer *w, const char *words)
{
    write_alert(w, words, true);
}

void piece_alert_beside_field(html_writer *w, const char *words)
{
    write_alert(w, words, false);
}

/* ---------------------------------------------------------------- sheets */

bool piece_sheet(web_request *request, web_response *response, ch_store_sheet *sheet, ch_status *rc, ch_err *err)
{
    ch_err own = {0};
    const int64_t id = web_part_id(request, 0);
    *rc = id == 0 ? CH_E_INPUT : ch_store_sheet_get(request->store, &request->pool, id, sheet, &own);
    if (*rc >= 0)
        return true;
    if (*rc == CH_E_INPUT)
        *rc = web_not_found(request, response);
    else if (err != NULL)
        *err = own;
    return false;
}

void piece_sheet_name_among(const ch_store_car *cars, size_t count, const ch_store_sheet *sheet, char *name,
                            size_t size)
{
    char day[16] = "";
    ch_date_format(sheet->day, day, sizeof day);
    const char *car = "No car";
    for (size_t i = 0; i < count; i++)
        if (cars[i].id == sheet->car_id)
            car = cars[i].name;
    char cut[120];
    ch_text_excerpt(car, strlen(car), cut, sizeof cut);
    snprintf(name, size, "%s%s%s", cut, day[0] != '\0' ? ", " : "", day);
}

ch_status piece_sheet_name(web_request *request, const ch_store_sheet *sheet, char *name, size_t size, ch_err *err)
{
    const ch_store_car *cars = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_cars(request->store, &request->pool, &cars, &count, err);
    if (rc >= 0)
        piece_sheet_name_among(cars, count, sheet, name, size);
    return rc;
}

ch_status piece_sheet_open(web_request *request, web_response *response, const ch_store_sheet *sheet, const char *title,
                           const char *here, ch_err *err)
{
    static const char *const pages[][2] = {
        {"", "Sheet"}, {"/measure", "Measure"}, {"/ledger", "Put back"}, {"/findings", "Findings"}};
    html_writer *w = &response->page;
    char name[200];
    const ch_status rc = piece_sheet_name(request, sheet, name, sizeof name, err);
    if (rc < 0)
        return rc;
    html_page_open(w, request, title);
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">"
                "<script type=\"module\" src=\"/asset/queue.mjs\"></script>"
                "<p class=\"quiet\">");
    html_text(w, name);
    if (sheet->closed)
        html_lit(w, " <strong>closed</strong>");
    html_lit(w, "</p><nav class=\"tabs\" aria-label=\"This sheet\">");
    for (size_t i = 0; i < sizeof pages / sizeof pages[0]; i++) {
        html_lit(w, "<a");
        html_attrf(w, "href", "/sheet/%lld%s", (long long)sheet->id, pages[i][0]);
        if (strcmp(pages[i][0], here) == 0)
            html_lit(w, " aria-current=\"page\"");
        html_lit(w, ">");
        html_text(w, pages[i][1]);
        if (i == 2 && sheet->ledger_open > 0)
            html_textf(w, " (%d)", sheet->ledger_open);
        html_lit(w, "</a>");
    }
    html_lit(w, "</nav>\n");
    return CH_OK;
}

void piece_time(html_writer *w, int64_t time_s, int64_t now_s)
{
    struct tm then, now;
    const time_t a = (time_t)time_s, b = (time_t)now_s;
    if (localtime_r(&a, &then) == NULL || localtime_r(&b, &now) == NULL)
        return;
    if (then.tm_year != now.tm_year || then.tm_yday != now.tm_yday)
        html_textf(w, "%04d-%02d-%02d ", then.tm_year + 1900, then.tm_mon + 1, then.tm_mday);
    html_textf(w, "%02d:%02d", then.tm_hour, then.tm_min);
}

ch_date piece_today(int64_t now_s)
{
    struct tm now;
    const time_t time_s = (time_t)now_s;
    if (localtime_r(&time_s, &now) == NULL)
        return ch_date_from_days((long)(now_s / 86400));
    return (ch_date){now.tm_year + 1900, now.tm_mon + 1, now.tm_mday};
}

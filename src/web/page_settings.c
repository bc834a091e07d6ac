/*
 * GET, POST /settings: units, paper, the rule of balance, what an hour is worth.
 * Fields: pressure, length, distance, temperature (a unit's name each), paper (a4 or letter), rule (its id), currency, hour_value.
 */
#include <stdio.h>
#include <string.h>

#include "crosshatch/judge.h"
#include "page.h"
#include "piece.h"

typedef struct unit_choice {
    const char *name, *setting, *label;
    const char *units[6];
} unit_choice;

static const unit_choice UNITS[] = {
    {"pressure", "units.pressure", "Pressure", {"psi", "bar", "kPa", "kgf/cm2", NULL}},
    {"length", "units.length", "Length", {"mm", "in", NULL}},
    {"distance", "units.distance", "Distance", {"km", "mi", NULL}},
    {"temperature", "units.temperature", "Temperature", {"C", "F", NULL}},
};
enum { UNITS_COUNT = sizeof UNITS / sizeof UNITS[0] };

/* Setting (printed.h) and label; the first where none was chosen. */
static const char *const PAPERS[][2] = {{"a4", "A4"}, {"letter", "Letter"}};
enum { PAPERS_COUNT = sizeof PAPERS / sizeof PAPERS[0] };

static ch_status setting(web_request *request, const char *name, const char **text, ch_err *err)
{
    return ch_store_setting_get(request->store, &request->pool, name, text, err);
}

static ch_status settings_page(web_request *request, web_response *response, const char *alert, ch_err *err)
{
    html_writer *w = &response->page;
    const char *rule = NULL, *currency = NULL, *hour_value = NULL, *paper = NULL;
    ch_status rc = setting(request, "rule", &rule, err);
    if (rc >= 0)
        rc = setting(request, "paper", &paper, err);
    if (rc >= 0)
        rc = setting(request, "currency", &currency, err);
    if (rc >= 0)
        rc = setting(request, "hour_value", &hour_value, err);
    if (rc < 0)
        return rc;
    html_page_open(w, request, "Settings");
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/garage.css\">\n");
    piece_alert(w, alert);
    html_form_open(w, request, "/settings", false);
    for (size_t i = 0; i < UNITS_COUNT; i++) {
        html_lit(w, "<label");
        html_attrf(w, "for", "f-%s", UNITS[i].name);
        html_lit(w, ">");
        html_text(w, UNITS[i].label);
        html_lit(w, "</label><select");
        html_attrf(w, "id", "f-%s", UNITS[i].name);
        html_attr(w, "name", UNITS[i].name);
        html_lit(w, ">");
        for (const char *const *unit = UNITS[i].units; *unit != NULL; unit++)
            piece_option(w, *unit, *unit,
                         piece_typed(request, UNITS[i].name, piece_unit(request, UNITS[i].name)->name));
        html_lit(w, "</select>\n");
    }
    html_lit(w, "<p class=\"hint\">New sheets take these. A number may always be typed with its unit.</p>"
                "<label for=\"f-rule\">How far cylinders may differ "
                "<span class=\"hint\">makers and the trade disagree; the car's own manual comes first</span></label>"
                "<select id=\"f-rule\" name=\"rule\">");
    for (int i = 0; i < CH_RULE_COUNT; i++)
        piece_option(w, ch_balance_rule_name((ch_balance_rule)i), ch_balance_rule_says((ch_balance_rule)i),
                     piece_typed(request, "rule", rule != NULL ? rule : ch_balance_rule_name(CH_RULE_75_PERCENT)));
    html_lit(w, "</select>\n");
    html_lit(w, "<label for=\"f-paper\">Paper that is printed on</label><select id=\"f-paper\" name=\"paper\">");
    paper = piece_typed(request, "paper", paper != NULL ? paper : PAPERS[0][0]);
    for (size_t i = 0; i < PAPERS_COUNT; i++)
        piece_option(w, PAPERS[i][0], PAPERS[i][1], paper);
    html_lit(w, "</select>\n");
    piece_field(w, &(piece_input){.label = "What an hour of your evening is worth to you",
                                  .name = "hour_value",
                                  .value = piece_typed(request, "hour_value", hour_value),
                                  .hint = "in your currency; it weighs work against parts",
                                  .mode = "decimal"});
    piece_field(w, &(piece_input){.label = "Currency",
                                  .name = "currency",
                                  .value = piece_typed(request, "currency", currency),
                                  .hint = "as in EUR"});
    piece_button(w, NULL, NULL, "", "Save");
    html_form_close(w);
    html_page_close(w);
    return CH_OK;
}

enum { AMOUNT = sizeof((ch_quantity){0}.number), CURRENCY_MOST = 16, HOUR_MOST = 1000000 };

/* A plain amount, 0 or more, typed with a point or a comma; kept with a point. Empty where none is given. */
static ch_status read_amount(const char *typed, char amount[AMOUNT], ch_err *err)
{
    ch_quantity read = ch_quantity_none();
    size_t length = typed != NULL ? strlen(typed) : 0;
    while (length > 0 && typed[length - 1] == ' ')
        length--;
    if (length > 1 && (typed[length - 1] == '.' || typed[length - 1] == ',')) /* "15." */
        length--;
    amount[0] = '\0';
    if (length == 0)
        return CH_OK;
    const ch_status rc = ch_quantity_parse(typed, length, CH_DIM_RATIO, ch_unit_find("1", 1), &read, err);
    const char *const comma_typed = memchr(typed, ',', length);
    if (rc < 0 && comma_typed != NULL && strspn(typed, "0123456789,") >= length && strchr(comma_typed + 1, ',') == NULL)
        return rc; /* 1,500 can be read in two ways, which is told */
    if (rc < 0 || !read.bare || !(read.si >= 0.0))
        return ch_fail(err, CH_E_INPUT, "an amount, as in 15", "what an hour is worth is not a number");
    if (!(read.si <= HOUR_MOST))
        return ch_fail(err, CH_E_INPUT, "at most 1000000", "an hour is worth more than a plan can hold");
    memcpy(amount, read.number, AMOUNT);
    char *const comma = strchr(amount, ',');
    if (comma != NULL)
        *comma = '.';
    return CH_OK;
}

/* Whether the unit is in the list of its dimension. */
static bool offered(const unit_choice *choice, const char *unit)
{
    for (const char *const *one = choice->units; *one != NULL; one++)
        if (strcmp(*one, unit) == 0)
            return true;
    return false;
}

static bool is_paper(const char *text)
{
    for (size_t i = 0; i < PAPERS_COUNT; i++)
        if (strcmp(PAPERS[i][0], text) == 0)
            return true;
    return false;
}

/* All is looked at before anything is kept. */
static ch_status check(const web_fields *form, char hour_value[AMOUNT], ch_err *err)
{
    const char *rule = piece_given(form, "rule"), *currency = piece_given(form, "currency");
    const char *paper = piece_given(form, "paper");
    for (size_t i = 0; i < UNITS_COUNT; i++) {
        const char *unit = piece_given(form, UNITS[i].name);
        if (unit != NULL && !offered(&UNITS[i], unit))
            return ch_fail(err, CH_E_INPUT, "one of the list", "%s: a unit that is not in the list", UNITS[i].label);
    }
    if (rule != NULL && ch_balance_rule_find(rule, strlen(rule)) == CH_RULE_COUNT)
        return ch_fail(err, CH_E_INPUT, "one of the list", "a rule that there is not");
    if (paper != NULL && !is_paper(paper))
        return ch_fail(err, CH_E_INPUT, "one of the list", "a paper that is not in the list");
    if (currency != NULL && strlen(currency) > CURRENCY_MOST)
        return ch_fail(err, CH_E_INPUT, "at most 16 bytes, as in EUR", "a long word for the currency");
    return read_amount(piece_given(form, "hour_value"), hour_value, err);
}

static ch_status keep(web_request *request, const char *hour_value, ch_err *err)
{
    const web_fields *form = &request->form;
    const char *rule = piece_given(form, "rule"), *paper = piece_given(form, "paper");
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < UNITS_COUNT; i++) {
        const char *unit = piece_given(form, UNITS[i].name);
        if (unit != NULL)
            rc = ch_store_setting_set(request->store, UNITS[i].setting, unit, request->now_s, err);
    }
    if (rc >= 0 && paper != NULL)
        rc = ch_store_setting_set(request->store, "paper", paper, request->now_s, err);
    if (rc >= 0 && rule != NULL)
        rc = ch_store_setting_set(request->store, "rule", rule, request->now_s, err);
    if (rc >= 0)
        rc = ch_store_setting_set(request->store, "hour_value", hour_value[0] != '\0' ? hour_value : NULL,
                                  request->now_s, err);
    if (rc >= 0)
        rc = ch_store_setting_set(request->store, "currency", piece_given(form, "currency"), request->now_s, err);
    return rc;
}

ch_status page_settings_get(web_request *request, web_response *response, ch_err *err)
{
    return settings_page(request, response, NULL, err);
}

ch_status page_settings_post(web_request *request, web_response *response, ch_err *err)
{
    ch_err own = {0};
    char line[PIECE_LINE], hour_value[AMOUNT];
    ch_status rc = check(&request->form, hour_value, &own);
    if (rc >= 0)
        rc = keep(request, hour_value, &own);
    if (piece_refused(rc, &own, response, line, err))
        return settings_page(request, response, line, err);
    return rc < 0 ? rc : web_redirect(response, "/settings");
}

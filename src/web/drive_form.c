/* Forms of the driveline's pages, see drive_form.h. */
#include "drive_form.h"

#include <stdio.h>
#include <string.h>

#include "piece_car.h"

/* ---------------------------------------------------------------- a log */

void drive_form_upload(html_writer *w, const web_request *request, const ch_store_car *car)
{
    char action[64];
    snprintf(action, sizeof action, "/car/%lld/driveline", (long long)car->id);
    html_form_open(w, request, action, true);
    html_lit(
        w,
        "<label>The log<span class=\"hint\">Text of time, engine speed and road speed, as loggers export it (comma, "
        "semicolon "
        "or tab); up to 256 MB, five hours of 20 columns at 100 Hz. Throttle, oil temperature and clutch switch help. "
        "It stays on this machine and for an hour at most; what it says is kept.</span>"
        "<input type=\"file\" name=\"log\" required></label>");
    piece_field(w, &(piece_input){.label = "Day of driving",
                                  .name = "day",
                                  .value = piece_typed(request, "day", ""),
                                  .hint = "as 2027-01-16; may stay empty",
                                  .type = "date"});
    piece_button(w, NULL, NULL, "", "Read the log");
    html_form_close(w);
}

/* ---------------------------------------------------------------- the car */

/* One line of the text each; those with `part` lie inside the clutch. */
static const struct {
    const char *name, *key, *label, *hint;
    bool part;
} CAR[] = {
    {"tyre", "tyre", "Tyre of the driven wheels", "as 195/50R15", false},
    {"final_drive", "final_drive", "Final drive", "as 4.1", false},
    {"gears", "gears", "Ratios of the gears, first one first", "as 3.54, 1.91, 1.31, 0.97, 0.80", false},
    {"mass", "mass", "Mass as driven", "car, driver and fuel, as 1050 kg; without it no torque, heat or capacity",
     false},
    {"drag_area", "drag_area", "Drag area", "as 0.65 m2", false},
    {"outer", "outer", "Facing, outer diameter", "as 215 mm", true},
    {"inner", "inner", "Facing, inner diameter", "as 145 mm", true},
    {"surfaces", "surfaces", "Rubbing faces", "2 for one plate", true},
    {"clamp_force", "clamp_force", "Clamp force of the cover", "as 5 kN", true},
    {"friction", "friction", "Coefficient of friction", "as 0.35", true},
};
enum { CAR_FIELDS = sizeof CAR / sizeof CAR[0], VALUE = 200 };

/* The value of a key as drive_form_car_read() wrote it, "" where it is not there. */
static void value_of(const char *text, size_t field, char value[VALUE])
{
    char key[32];
    const bool list = strcmp(CAR[field].name, "gears") == 0;
    snprintf(key, sizeof key, "%s%s: %s", CAR[field].part ? "  " : "", CAR[field].key, list ? "[" : "\"");
    value[0] = '\0';
    for (const char *line = text; line != NULL && *line != '\0'; line = strchr(line, '\n'), line += line != NULL) {
        if (strncmp(line, key, strlen(key)) != 0)
            continue;
        size_t n = 0;
        for (const char *c = line + strlen(key); *c != '\0' && *c != '\n' && *c != (list ? ']' : '"'); c++)
            if (n + 1 < VALUE && *c != '"')
                value[n++] = *c;
        value[n] = '\0';
        return;
    }
}

void drive_form_car(html_writer *w, const web_request *request, const ch_store_car *car, const char *text)
{
    char action[64], value[VALUE];
    bool parts = false;
    snprintf(action, sizeof action, "/car/%lld/driveline/car", (long long)car->id);
    html_form_open(w, request, action, false);
    html_lit(w, "<p class=\"hint\">All may stay empty. Ratios, final drive and tyre number the gears for sure; the "
                "mass gives torque, "
                "heat and what the clutch holds; the facing says what it should hold.</p>");
    for (size_t i = 0; i < CAR_FIELDS; i++) {
        value_of(text, i, value);
        if (CAR[i].part && !parts)
            html_lit(w, "<fieldset><legend>Clutch</legend>");
        parts = CAR[i].part;
        piece_field(w, &(piece_input){.label = CAR[i].label,
                                      .name = CAR[i].name,
                                      .value = piece_typed(request, CAR[i].name, value),
                                      .hint = CAR[i].hint});
    }
    html_lit(w, "</fieldset>");
    piece_button(w, NULL, NULL, "", "Save");
    html_form_close(w);
}

/* What a person typed, as a quoted text of YAML: quotes and backslashes cannot be in any of these values. */
static ch_status put_value(ch_text *text, const char *label, const char *value, size_t length, ch_err *err)
{
    for (size_t i = 0; i < length; i++)
        if (value[i] == '"' || value[i] == '\\' || value[i] == '\n' || value[i] == '\r')
            return ch_fail(err, CH_E_INPUT, "a number with its unit", "%s: a character that has no place here", label);
    ch_text_append_string(text, "\"");
    ch_text_append(text, value, length);
    ch_text_append_string(text, "\"");
    return CH_OK;
}

/*
 * Ratios with semicolons, commas or blanks between. A comma is one of a decimal where no point is and blanks part the ratios: "3,54 1,91", "3,54, 1,91".
 */
static ch_status put_ratios(ch_text *text, const char *label, const char *typed, ch_err *err)
{
    typed += strspn(typed, " ");
    const bool blanks = strchr(typed, ' ') != NULL;
    const char *const between = strchr(typed, ';') != NULL   ? ";"
                                : strchr(typed, '.') != NULL ? ", "
                                : blanks                     ? " "
                                                             : ",";
    ch_status rc = CH_OK;
    ch_text_append_string(text, "[");
    for (bool first = true; rc >= 0 && *typed != '\0';) {
        size_t length = strcspn(typed, between);
        const char *const next = typed + length + (typed[length] != '\0');
        for (; length > 0 && strchr(" ,", *typed) != NULL; length--)
            typed++;
        while (length > 0 && strchr(" ,", typed[length - 1]) != NULL)
            length--;
        if (length > 0) {
            ch_text_append_string(text, first ? "" : ", ");
            rc = put_value(text, label, typed, length, err);
            first = false;
        }
        typed = next;
    }
    ch_text_append_string(text, "]");
    return rc;
}

static ch_status put_field(ch_text *text, size_t field, const char *typed, ch_err *err)
{
    ch_text_appendf(text, "%s%s: ", CAR[field].part ? "  " : "", CAR[field].key);
    ch_status rc = CH_OK;
    if (strcmp(CAR[field].name, "gears") != 0) {
        rc = put_value(text, CAR[field].label, typed, strlen(typed), err);
    } else {
        rc = put_ratios(text, CAR[field].label, typed, err);
    }
    ch_text_append_string(text, "\n");
    return rc;
}

/* The stored text names keys; the person knows labels. */
static ch_status refuse_by_label(const ch_err *own, ch_err *err)
{
    for (size_t i = 0; i < CAR_FIELDS; i++) {
        const size_t length = strlen(CAR[i].key);
        if (strncmp(own->what, CAR[i].key, length) == 0 && own->what[length] == ':')
            return ch_fail(err, own->status, own->right, "%s%s", CAR[i].label, own->what + length);
    }
    return ch_fail(err, own->status, own->right, "%s", own->what);
}

ch_status drive_form_car_read(const web_request *request, ch_text *text, ch_err *err)
{
    ch_car car;
    ch_err own = {0};
    bool part = false;
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && i < CAR_FIELDS; i++) {
        const char *typed = piece_given(&request->form, CAR[i].name);
        if (typed == NULL)
            continue;
        if (CAR[i].part && !part)
            ch_text_append_string(text, "clutch:\n");
        part = CAR[i].part;
        rc = put_field(text, i, typed, err);
    }
    if (rc >= 0)
        rc = ch_text_check(text, err);
    if (rc >= 0 && text->length > 0 && ch_car_parse("the car", ch_text_string(text), text->length, &car, &own) < 0)
        rc = refuse_by_label(&own, err);
    return rc;
}

/* ---------------------------------------------------------------- columns */

enum { COLUMNS_SHOWN = 40, FIELD = 32 };

static const struct {
    ch_drivelog_channel channel;
    const char *words;
} CHANNELS[] = {
    {CH_DRIVELOG_TIME, "Time"},
    {CH_DRIVELOG_ENGINE, "Engine speed"},
    {CH_DRIVELOG_ROAD, "Road speed"},
    {CH_DRIVELOG_THROTTLE, "Throttle or pedal"},
    {CH_DRIVELOG_ACCELERATION, "Acceleration along the car"},
    {CH_DRIVELOG_OIL, "Oil temperature"},
    {CH_DRIVELOG_COOLANT, "Coolant temperature"},
    {CH_DRIVELOG_CLUTCH, "Clutch switch or pedal"},
    {CH_DRIVELOG_GPS, "Speed by satellite"},
    {CH_DRIVELOG_DRIVEN, "Speed of the driven wheels"},
};
enum { CHANNELS_SHOWN = sizeof CHANNELS / sizeof CHANNELS[0] };

static void column_choice(html_writer *w, const ch_drivelog_report *report, size_t i)
{
    const ch_drivelog_column *found = &report->columns[CHANNELS[i].channel];
    char field[FIELD], chosen[FIELD] = "";
    snprintf(field, sizeof field, "column_%s", ch_drivelog_channel_name(CHANNELS[i].channel));
    if (found->how != CH_DRIVELOG_NONE && found->how != CH_DRIVELOG_STAND_IN)
        snprintf(chosen, sizeof chosen, "%zu", found->index + 1);
    html_lit(w, "<label>");
    html_text(w, CHANNELS[i].words);
    html_lit(w, "<select");
    html_attr(w, "name", field);
    html_lit(w, ">");
    piece_option(w, "", i < 3 ? "choose" : "none, or find it", chosen);
    for (size_t c = 0; c < report->columns_n; c++) {
        char value[FIELD], words[160];
        snprintf(value, sizeof value, "%zu", c + 1);
        snprintf(words, sizeof words, "%zu: %.120s", c + 1, report->names[c]);
        piece_option(w, value, words, chosen);
    }
    html_lit(w, "</select></label>\n");
}

static void unit_choice(html_writer *w, const char *field, const char *words, const char *const units[], size_t count)
{
    html_lit(w, "<label>");
    html_text(w, words);
    html_lit(w, "<select");
    html_attr(w, "name", field);
    html_lit(w, ">");
    piece_option(w, "", "as the log says", "");
    for (size_t i = 0; i < count; i++)
        piece_option(w, units[i], units[i], "");
    html_lit(w, "</select></label>\n");
}

static void first_rows(html_writer *w, const ch_drivelog_report *report)
{
    const size_t columns = report->columns_n < COLUMNS_SHOWN ? report->columns_n : COLUMNS_SHOWN;
    html_lit(w, "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"First rows of the log\"><table>"
                "<caption>The first rows of the log</caption><thead><tr>");
    for (size_t c = 0; c < columns; c++) {
        html_lit(w, "<th scope=\"col\">");
        html_textf(w, "%zu: %s", c + 1, report->names[c]);
        html_lit(w, "</th>");
    }
    html_lit(w, "</tr></thead><tbody>\n");
    for (size_t r = 0; r < report->preview_n; r++) {
        html_lit(w, "<tr>");
        for (size_t c = 0; c < columns; c++) {
            html_lit(w, "<td>");
            html_text(w, report->preview[r * report->columns_n + c]);
            html_lit(w, "</td>");
        }
        html_lit(w, "</tr>\n");
    }
    html_lit(w, "</tbody></table></div>\n");
    if (columns < report->columns_n) {
        html_lit(w, "<p class=\"quiet\">");
        html_textf(w, "And %zu columns more.", report->columns_n - columns);
        html_lit(w, "</p>\n");
    }
}

void drive_form_columns(html_writer *w, const web_request *request, const ch_store_car *car, const drive_log *d)
{
    static const char *const times[] = {"s", "ms", "us", "min"}, *const speeds[] = {"km/h", "mph", "m/s"};
    const ch_drivelog_report *report = ch_drivelog_report_of(d->reader);
    char action[64], day[16];
    snprintf(action, sizeof action, "/car/%lld/driveline/columns", (long long)car->id);
    ch_date_format(d->day, day, sizeof day);
    first_rows(w, report);
    html_form_open(w, request, action, false);
    piece_hidden(w, "log", d->log.sha256);
    piece_hidden(w, "day", day);
    html_lit(w, "<p>Which column is which? The first three are needed.</p>\n");
    for (size_t i = 0; i < CHANNELS_SHOWN; i++)
        column_choice(w, report, i);
    unit_choice(w, "unit_time", "Time is in", times, sizeof times / sizeof times[0]);
    unit_choice(w, "unit_speed", "Road speed is in", speeds, sizeof speeds / sizeof speeds[0]);
    piece_button(w, NULL, NULL, "", "Read it so");
    html_form_close(w);
}

void drive_form_say(ch_err *err, bool columns)
{
    static const piece_words chosen[] = {
        {"time=COLUMN, one of ", "choose it below under Time, one of "},
        {"rpm=COLUMN, one of ", "choose it below under Engine speed, one of "},
        {"speed=COLUMN, one of ", "choose it below under Road speed, one of "},
        {"rpm=COLUMN and speed=COLUMN the other way round", "Engine speed and Road speed, below, the other way round"},
        {"columns by number: time=1 rpm=2 speed=3", "its columns chosen below"},
    };
    static const piece_words named[] = {
        {"time=COLUMN, one of ", "time, in the first row of the log in place of one of "},
        {"rpm=COLUMN, one of ", "rpm, in the first row of the log in place of one of "},
        {"speed=COLUMN, one of ", "speed, in the first row of the log in place of one of "},
        {"rpm=COLUMN and speed=COLUMN the other way round", "rpm and speed in its first row the other way round"},
        {", or columns by number: time=1 rpm=2 speed=3", ""},
    };
    piece_say_here(err, columns ? chosen : named,
                   columns ? sizeof chosen / sizeof chosen[0] : sizeof named / sizeof named[0]);
}

void drive_form_columns_read(const web_request *request, drive_log *d)
{
    for (size_t i = 0; i < CHANNELS_SHOWN; i++) {
        char field[FIELD];
        snprintf(field, sizeof field, "column_%s", ch_drivelog_channel_name(CHANNELS[i].channel));
        d->options.column[CHANNELS[i].channel] = piece_given(&request->form, field);
    }
    d->options.unit[CH_DRIVELOG_TIME] = piece_given(&request->form, "unit_time");
    d->options.unit[CH_DRIVELOG_ROAD] = piece_given(&request->form, "unit_speed");
}

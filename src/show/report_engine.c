/* The engine report, in the order in which a stranger asks: what is it, is it good, how do you know, what did you not look at. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/report.h"
#include "crosshatch/show_beside.h"
#include "crosshatch/show_words.h"

enum { WORDS = 1024, CHECKS_SHOWN = 3, TABLE_ALWAYS = 7, TABLE_COLUMNS = 9 };

typedef struct report {
    const ch_show_judged *judged;
    const ch_unit *pressure;
    ch_document *document;
} report;

/* Append to a list of words: "bore 80.5 mm, stroke 88 mm". */
static void list(char words[WORDS], const char *label, const char *value)
{
    const size_t used = strlen(words);
    if (value[0] != '\0')
        snprintf(words + used, WORDS - used, "%s%s%s%s", used > 0 ? ", " : "", label, label[0] != '\0' ? " " : "",
                 value);
}

static void list_quantity(char words[WORDS], const char *label, const ch_quantity *quantity)
{
    char value[96];
    ch_quantity_text(quantity, value, sizeof value);
    /* On the sheet its `units` block names the unit of a bare number; the report has no such block. */
    if (quantity->bare && quantity->unit != NULL) {
        const size_t used = strlen(value);
        snprintf(value + used, sizeof value - used, " %s", quantity->unit->name);
    }
    list(words, label, value);
}

static void labelled(const report *r, const char *label, const char *words)
{
    char line[WORDS + 64];
    if (words[0] == '\0')
        return;
    snprintf(line, sizeof line, "%s %s.", label, words);
    ch_document_item(r->document, line);
}

/* ---------------------------------------------------------------- what was measured, and how */

/* `car` may be NULL. */
static void under_title(const ch_sheet *sheet, const char *car, char words[WORDS])
{
    char date[16];
    snprintf(words, WORDS, "%.300s%s%d %s", car != NULL ? car : "", car != NULL ? ", " : "", sheet->engine.cylinders,
             sheet->engine.cylinders == 1 ? "cylinder" : "cylinders");
    ch_date_format(sheet->conditions.date, date, sizeof date);
    list(words, date[0] != '\0' ? "tested" : "", date[0] != '\0' ? date : "day of the test not stated");
    list_quantity(words, "at", &sheet->conditions.odometer);
    list_quantity(words, "engine hours", &sheet->conditions.engine_hours);
}

static void engine_words(const ch_sheet_engine *engine, char words[WORDS])
{
    char number[CH_SHOW_NUMBER];
    list_quantity(words, "bore", &engine->bore);
    list_quantity(words, "stroke", &engine->stroke);
    if (isfinite(engine->compression_ratio))
        list(words, "compression ratio", ch_show_number(engine->compression_ratio, 1, number));
    list_quantity(words, "the manual's standard", &engine->limits.standard);
    list_quantity(words, "minimum", &engine->limits.minimum);
    list_quantity(words, "largest difference", &engine->limits.spread);
}

static void conditions_words(const ch_sheet_conditions *conditions, char words[WORDS])
{
    static const char *const THROTTLE[] = {
        [CH_THROTTLE_UNSTATED] = "", [CH_THROTTLE_OPEN] = "open", [CH_THROTTLE_SHUT] = "shut"};
    char strokes[32] = "";
    list(words, "throttle", THROTTLE[conditions->throttle]);
    list_quantity(words, "cranking at", &conditions->cranking_speed);
    if (conditions->strokes > 0)
        snprintf(strokes, sizeof strokes, "%d", conditions->strokes);
    list(words, "compression strokes", strokes);
    list_quantity(words, "engine at", &conditions->engine_temperature);
    list_quantity(words, "air at", &conditions->air_temperature);
    list_quantity(words, "barometer", &conditions->barometer);
    list_quantity(words, "altitude", &conditions->altitude);
}

static void gauge_words(const ch_sheet_gauge *gauge, char words[WORDS])
{
    list_quantity(words, "span", &gauge->span);
    if (gauge->grade != NULL)
        list(words, "accuracy", gauge->grade->name);
    else if (gauge->accuracy_kind == CH_ACCURACY_OF_SPAN)
        list_quantity(words, "accuracy of span", &gauge->accuracy);
    else if (gauge->accuracy_kind == CH_ACCURACY_OF_READING)
        list_quantity(words, "accuracy of reading", &gauge->accuracy);
    list_quantity(words, "read to", &gauge->resolution);
    list_quantity(words, "hose", &gauge->hose_volume);
}

static void observed_words(const report *r, char words[WORDS])
{
    const ch_sheet *sheet = r->judged->sheet;
    for (size_t i = 0; i < sheet->observed_count; i++) {
        const ch_observation *row = &sheet->observed[i];
        const ch_knowledge_observation *known =
            ch_knowledge_observation_find(r->judged->knowledge, row->what, strlen(row->what));
        char seen[256], where[32] = "";
        if (row->cylinder > 0)
            snprintf(where, sizeof where, " (cylinder %d)", row->cylinder);
        snprintf(seen, sizeof seen, "%s%s%s", known != NULL ? known->title : row->what, where,
                 row->absent ? ": looked for, not there" : "");
        const size_t used = strlen(words);
        snprintf(words + used, WORDS - used, "%s%s", used > 0 ? "; " : "", seen);
    }
}

/* "Oil: 8 ml", or "cylinder 2 8 ml, cylinder 3 10 ml" where doses differ; likewise the supply of a leak-down. `which`: of row i. */
static void given_words(const report *r, size_t count, const ch_quantity *(*which)(const ch_sheet *, size_t, int *),
                        char words[WORDS])
{
    const ch_sheet *sheet = r->judged->sheet;
    char first[WORDS] = "";
    bool alike = true;
    for (size_t i = 0; i < count; i++) {
        char one[WORDS] = "";
        int cylinder = 0;
        list_quantity(one, "", which(sheet, i, &cylinder));
        if (i == 0)
            memcpy(first, one, sizeof first);
        alike = alike && strcmp(first, one) == 0;
    }
    if (alike) {
        list(words, "", first);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        char label[32];
        int cylinder = 0;
        const ch_quantity *quantity = which(sheet, i, &cylinder);
        snprintf(label, sizeof label, "cylinder %d", cylinder);
        list_quantity(words, label, quantity);
    }
}

static const ch_quantity *oil_of(const ch_sheet *sheet, size_t i, int *cylinder)
{
    *cylinder = sheet->wet[i].cylinder;
    return &sheet->wet[i].oil;
}

static const ch_quantity *supply_of(const ch_sheet *sheet, size_t i, int *cylinder)
{
    *cylinder = sheet->leakdown[i].cylinder;
    return &sheet->leakdown[i].supply;
}

static void how_measured(const report *r)
{
    const ch_sheet *sheet = r->judged->sheet;
    char engine[WORDS] = "", conditions[WORDS] = "", gauge[WORDS] = "", observed[WORDS] = "", oil[WORDS] = "";
    char supply[WORDS] = "";
    given_words(r, sheet->wet_count, oil_of, oil);
    given_words(r, sheet->leakdown_count, supply_of, supply);
    engine_words(&sheet->engine, engine);
    conditions_words(&sheet->conditions, conditions);
    gauge_words(&sheet->gauge, gauge);
    observed_words(r, observed);
    if (engine[0] == '\0' && conditions[0] == '\0' && gauge[0] == '\0' && observed[0] == '\0' && oil[0] == '\0' &&
        supply[0] == '\0')
        return;
    ch_document_heading(r->document, "How it was measured, and what else was seen");
    labelled(r, "Engine:", engine);
    labelled(r, "Day and test:", conditions);
    labelled(r, "Gauge:", gauge);
    labelled(r, "Oil for the wet test:", oil);
    labelled(r, "Supply of the leak-down test:", supply);
    labelled(r, "Seen, heard, or known of before:", observed);
}

/* ---------------------------------------------------------------- what it comes to */

static void outcome(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    char word[64], words[WORDS], sure[CH_SHOW_SENTENCE];
    snprintf(word, sizeof word, "Verdict: %s", ch_verdict_name(judgement->verdict));
    ch_show_how_sure(r->judged, sure);
    snprintf(words, sizeof words, "%s %s", ch_show_verdict_means(judgement->verdict), sure);
    ch_document_outcome(r->document, word, words);
}

/* Of more cylinders the table alone tells the leak areas and the wet readings, so that two pages do. */
static bool draws_all(const report *r)
{
    enum { MOST = 12 };
    return r->judged->sheet->engine.cylinders <= MOST;
}

static ch_status pictures(const report *r, ch_err *err)
{
    const ch_limits *limits = &r->judged->sheet->engine.limits;
    char caption[CH_SHOW_SENTENCE];
    snprintf(
        caption, sizeof caption,
        "Readings, with 95 %% intervals. Hatched: where nine of ten sound engines of this kind read on that day.%s%s",
        isfinite(limits->minimum.si) ? " Dashed: the manual's minimum, as it would read on that day." : "",
        isfinite(limits->standard.si) ? " Dotted: its standard, likewise." : "");
    ch_svg svg;
    ch_status rc = ch_show_engine_svg(r->judged, r->pressure, &svg, err);
    if (rc >= 0)
        ch_document_drawing(r->document, &svg, caption);
    ch_svg_clear(&svg);
    if (rc < 0)
        return rc;
    if (!r->judged->judgement->trace.reliable || !draws_all(r))
        return CH_OK;
    rc = ch_show_leaks_svg(r->judged, &svg, err);
    if (rc >= 0)
        ch_document_drawing(r->document, &svg, "Leak area of each cylinder, with the 5 % to 95 % interval.");
    ch_svg_clear(&svg);
    return rc;
}

/* What the sheet has beyond final dry readings. */
static ch_status more_pictures(const report *r, ch_err *err)
{
    const ch_beside *beside = r->judged->beside;
    ch_status rc = CH_OK;
    ch_svg svg;
    if (beside != NULL && ch_show_has_strokes(beside)) {
        rc = ch_show_strokes_svg(beside, r->pressure, &svg, err);
        if (rc >= 0)
            ch_document_drawing(r->document, &svg,
                                "First and last compression stroke as read. Dotted: a sound cylinder, by the model.");
        ch_svg_clear(&svg);
    }
    if (rc >= 0 && beside != NULL && ch_show_has_wet(beside) && draws_all(r)) {
        rc = ch_show_wet_svg(beside, r->pressure, &svg, err);
        if (rc >= 0)
            ch_document_drawing(r->document, &svg,
                                "Filled: dry. Hatched: with oil. Dotted: as far as the oil's room alone would lift a "
                                "sound cylinder.");
        ch_svg_clear(&svg);
    }
    return rc;
}

/* All wet readings of a cylinder: "174", or "174, 178" where it was done again. */
static void wet_words(const report *r, int cylinder, char words[WORDS])
{
    const ch_sheet *sheet = r->judged->sheet;
    char reading[CH_SHOW_NUMBER];
    words[0] = '\0';
    for (size_t i = 0; i < sheet->wet_count; i++)
        if (sheet->wet[i].cylinder == cylinder)
            list(words, "", ch_show_pressure(sheet->wet[i].reading.si, r->pressure, reading));
}

/* All leak-down rows of a cylinder: "18 %, exhaust". */
static void leakdown_words(const report *r, int cylinder, char words[WORDS])
{
    const ch_sheet *sheet = r->judged->sheet;
    char loss[96], heard[CH_SHOW_SENTENCE];
    words[0] = '\0';
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        if (sheet->leakdown[i].cylinder == cylinder) {
            ch_quantity_text(&sheet->leakdown[i].loss, loss, sizeof loss);
            ch_show_heard(&sheet->leakdown[i], heard);
            list(words, "", loss);
            list(words, "", heard);
        }
}

static void table_row(const report *r, const ch_judged_cylinder *cylinder)
{
    const ch_sheet *sheet = r->judged->sheet;
    char number[16], n[16], mean[CH_SHOW_NUMBER], u[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    char day[CH_SHOW_NUMBER], area[3][CH_SHOW_NUMBER], sound[2 * CH_SHOW_NUMBER + 8], leak[3 * CH_SHOW_NUMBER + 16];
    char wet[WORDS], leakdown[WORDS];
    snprintf(number, sizeof number, "%d", cylinder->cylinder);
    snprintf(n, sizeof n, "%d", cylinder->n);
    snprintf(sound, sizeof sound, "%s to %s", ch_show_pressure(cylinder->expected_pa[0], r->pressure, low),
             ch_show_pressure(cylinder->expected_pa[1], r->pressure, high));
    for (int i = 0; i < 3; i++)
        ch_show_area(cylinder->leak_area_m2[i], area[i]);
    if (isfinite(cylinder->leak_area_m2[1]))
        snprintf(leak, sizeof leak, "%s (%s to %s)", area[1], area[0], area[2]);
    else
        snprintf(leak, sizeof leak, "%s", area[1]);
    const char *cells[TABLE_COLUMNS] = {
        number,
        n,
        ch_show_pressure(cylinder->mean_pa, r->pressure, mean),
        ch_show_number(cylinder->u_pa / r->pressure->factor, ch_show_pressure_decimals(r->pressure) + 1, u),
        isfinite(cylinder->expected_pa[0]) ? sound : "-",
        ch_show_pressure(cylinder->standard_day_pa, r->pressure, day),
        leak};
    size_t columns = TABLE_ALWAYS;
    wet_words(r, cylinder->cylinder, wet);
    leakdown_words(r, cylinder->cylinder, leakdown);
    if (sheet->wet_count > 0)
        cells[columns++] = wet;
    if (sheet->leakdown_count > 0)
        cells[columns++] = leakdown;
    ch_document_row(r->document, cells);
}

/* Wet and leak-down tests have their columns only where they were done. */
static void table(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    const ch_sheet *sheet = r->judged->sheet;
    const char *head[TABLE_COLUMNS] = {
        "Cylinder", "Readings", "Mean", "+/-", "A sound one shows", "Standard day", "Leak, mm2 (5 % to 95 %)"};
    bool numbers[TABLE_COLUMNS] = {true, true, true, true, true, true, true};
    size_t columns = TABLE_ALWAYS;
    char caption[96];
    if (sheet->wet_count > 0) {
        head[columns] = "With oil";
        numbers[columns++] = true;
    }
    if (sheet->leakdown_count > 0)
        head[columns++] = "Leak-down, air heard";
    snprintf(caption, sizeof caption, "Cylinder by cylinder, %s", r->pressure->name);
    ch_document_table(r->document, caption, columns, head, numbers);
    for (int c = 0; c < judgement->cylinders; c++)
        table_row(r, &judgement->cylinder[c]);
    ch_document_paragraph(
        r->document,
        "+/-: standard uncertainty of the mean, without the gauge's gain, which all cylinders share. Standard "
        "day: brought to 101.3 kPa, air of 15 C, an engine of 70 C, 220 r/min, 8 strokes and an open throttle. Leak: "
        "one effective area for all ways out, while cranking.");
}

static void because(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    if (judgement->because_count == 0)
        return;
    ch_document_heading(r->document, "Because");
    for (size_t i = 0; i < judgement->because_count; i++)
        ch_document_item(r->document, judgement->because[i]);
}

/* "82 % sound; 17 % the test, not the engine" */
static void cause_words(const report *r, const ch_trace_cylinder *traced, char words[WORDS])
{
    int order[CH_CAUSE_COUNT];
    ch_show_cause_order(traced->cause_1, order);
    words[0] = '\0';
    for (int i = 0; i < CH_CAUSE_COUNT && (i == 0 || traced->cause_1[order[i]] >= CH_SHOW_CAUSE_1); i++) {
        char chance[CH_SHOW_NUMBER];
        const size_t used = strlen(words);
        snprintf(words + used, WORDS - used, "%s%s %s", i > 0 ? "; " : "",
                 ch_show_chance(traced->cause_1[order[i]], chance), r->judged->knowledge->causes[order[i]].title);
    }
}

static void causes(const report *r)
{
    enum { COLUMNS = 2 };
    static const char *const HEAD[COLUMNS] = {"Cylinder", "Causes, likeliest first"};
    static const bool NUMBERS[COLUMNS] = {true, false};
    const ch_trace *trace = &r->judged->judgement->trace;
    bool any = false;
    for (int c = 0; trace->reliable && c < trace->cylinders; c++) {
        const ch_trace_cylinder *traced = &trace->cylinder[c];
        if (!ch_show_suspicious(r->judged->sheet, traced))
            continue;
        if (!any) {
            ch_document_heading(r->document, "What it may be");
            ch_document_table(r->document, "Chances given all that was measured and seen", COLUMNS, HEAD, NUMBERS);
        }
        any = true;
        char number[16], words[WORDS];
        snprintf(number, sizeof number, "%d", traced->cylinder);
        cause_words(r, traced, words);
        const char *const cells[COLUMNS] = {number, words};
        ch_document_row(r->document, cells);
    }
}

/* ---------------------------------------------------------------- what was not looked at, and what to look at next */

static void missing_readings(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    char none[WORDS] = "", once[WORDS] = "", number[16];
    for (int c = 0; c < judgement->cylinders; c++) {
        snprintf(number, sizeof number, "%d", judgement->cylinder[c].cylinder);
        if (judgement->cylinder[c].n == 0)
            list(none, "", number);
        else if (judgement->cylinder[c].n == 1)
            list(once, "", number);
    }
    labelled(r, "No dry compression reading of cylinder", none);
    labelled(r, "Read only once, so that how well it repeats is taken from the others or assumed: cylinder", once);
}

static void not_checked(const report *r)
{
    const ch_sheet *sheet = r->judged->sheet;
    char assumed[WORDS] = "";
    ch_document_heading(r->document, "What was not checked");
    missing_readings(r);
    if (sheet->wet_count == 0)
        ch_document_item(r->document, "No wet test, which tells rings from valves.");
    if (sheet->leakdown_count == 0)
        ch_document_item(r->document, "No leak-down test, which tells where the air goes.");
    for (int input = 0; input < CH_INPUT_COUNT; input++)
        if (r->judged->judgement->assumed[input] && input != CH_INPUT_LEAKS)
            list(assumed, "", ch_show_input((ch_input)input));
    labelled(r, "Assumed, because the sheet does not say:", assumed);
    ch_document_item(
        r->document,
        "These tests tell of sealing on the day of the test and of nothing else: not of bearings, oil pressure, "
        "cooling, or how the engine runs.");
}

static void caution(const report *r, const ch_knowledge_caution *one)
{
    ch_document_caution(r->document, one->word, one->hazard, one->consequence, one->precaution);
}

/* Where no check can be put before another: the readings again, behind their cautions. */
static void repeat_first(const report *r)
{
    const ch_knowledge *knowledge = r->judged->knowledge;
    const ch_knowledge_check *check = ch_show_repeat_check(knowledge);
    if (check == NULL)
        return;
    ch_document_heading(r->document, "What to check next: the readings that stand out, once more");
    ch_document_paragraph(r->document, knowledge->always);
    for (size_t i = 0; i < check->cautions.count; i++)
        caution(r, &knowledge->cautions[check->cautions.at[i]]);
    ch_document_item(r->document, check->says);
}

static void next_checks(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    const ch_knowledge *knowledge = r->judged->knowledge;
    if (!judgement->trace.reliable) {
        repeat_first(r);
        return;
    }
    if (judgement->trace.next_check_count == 0)
        return;
    ch_document_heading(r->document, "What to check next, soonest to being sure first");
    ch_document_paragraph(r->document, knowledge->always);
    for (size_t i = 0; i < judgement->trace.next_check_count && i < CHECKS_SHOWN; i++) {
        const ch_trace_check *next = &judgement->trace.next_check[i];
        char line[WORDS], minutes[CH_SHOW_NUMBER], where[32] = "";
        for (size_t k = 0; k < next->check->cautions.count; k++) {
            /* What was said at an earlier step is not said again: a report has two pages. */
            bool said = false;
            for (size_t before = 0; before < i; before++)
                for (size_t j = 0; j < judgement->trace.next_check[before].check->cautions.count; j++)
                    said = said ||
                           judgement->trace.next_check[before].check->cautions.at[j] == next->check->cautions.at[k];
            if (!said)
                caution(r, &knowledge->cautions[next->check->cautions.at[k]]);
        }
        if (next->cylinder > 0)
            snprintf(where, sizeof where, ", cylinder %d", next->cylinder);
        snprintf(line, sizeof line, "%s%s, about %s minutes. %s", next->check->title, where,
                 ch_show_number(next->minutes, 0, minutes), next->check->says);
        ch_document_item(r->document, line);
    }
}

static void questions(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    if (judgement->question_count == 0)
        return;
    ch_document_heading(r->document, "Questions about the readings themselves");
    for (size_t i = 0; i < judgement->question_count; i++)
        ch_document_item(r->document, judgement->question[i].text);
}

ch_status ch_report_engine(const ch_show_judged *judged, ch_document **document, ch_err *err)
{
    const ch_sheet *sheet = judged->sheet;
    char under[WORDS];
    report r = {.judged = judged,
                .pressure = judged->options->pressure_unit != NULL ? judged->options->pressure_unit
                                                                   : ch_show_pressure_unit(sheet)};
    under_title(sheet, judged->car, under);
    ch_status rc = ch_document_new(sheet->title != NULL ? sheet->title : "Engine report", under,
                                   "It tells of sealing on the day of the test. The vehicle's own service manual and "
                                   "its owner decide.",
                                   &r.document, err);
    if (rc < 0)
        return rc;
    ch_document_pages(r.document, 2);
    outcome(&r);
    rc = pictures(&r, err);
    if (rc >= 0)
        rc = more_pictures(&r, err);
    if (rc >= 0) {
        table(&r);
        because(&r);
        causes(&r);
        questions(&r);
        how_measured(&r);
        not_checked(&r);
        next_checks(&r);
        rc = ch_document_check(r.document, err);
    }
    if (rc < 0) {
        ch_document_free(r.document);
        return rc;
    }
    *document = r.document;
    return CH_OK;
}

/* ---------------------------------------------------------------- as a table for a spreadsheet */

static void csv_number(ch_text *csv, double value, int decimals)
{
    char number[CH_SHOW_NUMBER];
    ch_text_append_string(csv, ",");
    if (isfinite(value))
        ch_text_append_string(csv, ch_show_number(value, decimals, number));
}

void ch_report_engine_csv(const ch_show_judged *judged, ch_text *csv)
{
    const ch_judgement *judgement = judged->judgement;
    const ch_unit *unit =
        judged->options->pressure_unit != NULL ? judged->options->pressure_unit : ch_show_pressure_unit(judged->sheet);
    const ch_unit *area = ch_unit_find("mm2", 3);
    const int decimals = ch_show_pressure_decimals(unit) + 1;
    ch_text_append_string(csv, "cylinder,readings,mean,standard_uncertainty,sound_5_percent,sound_95_percent,"
                               "standard_day,leak_5_percent,leak_median,leak_95_percent,chance_sound\r\n");
    ch_text_appendf(csv, ",,%s,%s,%s,%s,%s,mm2,mm2,mm2,1\r\n", unit->name, unit->name, unit->name, unit->name,
                    unit->name);
    for (int c = 0; c < judgement->cylinders; c++) {
        const ch_judged_cylinder *cylinder = &judgement->cylinder[c];
        ch_text_appendf(csv, "%d,%d", cylinder->cylinder, cylinder->n);
        csv_number(csv, ch_unit_from_si(cylinder->mean_pa, unit), decimals);
        csv_number(csv, cylinder->u_pa / unit->factor, decimals);
        csv_number(csv, ch_unit_from_si(cylinder->expected_pa[0], unit), decimals);
        csv_number(csv, ch_unit_from_si(cylinder->expected_pa[1], unit), decimals);
        csv_number(csv, ch_unit_from_si(cylinder->standard_day_pa, unit), decimals);
        for (int i = 0; i < 3; i++)
            csv_number(csv, ch_unit_from_si(cylinder->leak_area_m2[i], area), 4);
        csv_number(csv, judgement->trace.cylinder[c].cause_1[CH_CAUSE_SOUND], 4);
        ch_text_append_string(csv, "\r\n");
    }
}

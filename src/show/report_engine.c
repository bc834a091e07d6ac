/* The engine report, in the order in which a stranger asks: what is it, is it good, how do you know, what did you not look at. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/do_not_run.h"
#include "crosshatch/show_beside.h"
#include "report_parts.h"

enum { CHECKS_SHOWN = 3, TABLE_ALWAYS = 7, TABLE_COLUMNS = 9 };

/* ---------------------------------------------------------------- what it comes to */

static void outcome(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    char word[64], words[2 * CH_SHOW_SENTENCE], sure[CH_SHOW_SENTENCE];
    snprintf(word, sizeof word, "Verdict: %s", ch_verdict_name(judgement->verdict));
    ch_show_how_sure(r->judged, sure);
    snprintf(words, sizeof words, "%s %s", ch_show_verdict_means(judgement), sure);
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

/* The unit in which all readings were taken; NULL where they were taken in several, or there are none. */
static const ch_unit *read_in(const ch_sheet *sheet)
{
    const ch_unit *unit = NULL;
    for (size_t i = 0; i < sheet->compression_count + sheet->wet_count; i++) {
        const ch_reading *row =
            i < sheet->compression_count ? &sheet->compression[i] : &sheet->wet[i - sheet->compression_count];
        if (unit != NULL && row->reading.unit != unit)
            return NULL;
        unit = row->reading.unit;
    }
    return unit;
}

/* " (12.1 bar)": as read, where some were read in other units than the table's. */
static const char *as_read(const report *r, const ch_reading *row, char words[REPORT_QUANTITY + 4])
{
    char read[REPORT_QUANTITY];
    words[0] = '\0';
    if (row->reading.unit != r->pressure && read_in(r->judged->sheet) == NULL)
        snprintf(words, REPORT_QUANTITY + 4, " (%s)", report_quantity(&row->reading, read));
    return words;
}

/* All wet readings of a cylinder: "174", or "174, 178" where it was done again. */
static void wet_words(const report *r, int cylinder, ch_text *words)
{
    const ch_sheet *sheet = r->judged->sheet;
    char reading[CH_SHOW_NUMBER], read[REPORT_QUANTITY + 4];
    for (size_t i = 0; i < sheet->wet_count; i++)
        if (sheet->wet[i].cylinder == cylinder) {
            report_list(words, "", ch_show_pressure(sheet->wet[i].reading.si, r->pressure, reading));
            ch_text_append_string(words, as_read(r, &sheet->wet[i], read));
        }
}

/* All leak-down rows of a cylinder: "18 %, exhaust"; with the orifice where not all went through the same. */
static void leakdown_words(const report *r, int cylinder, ch_text *words)
{
    const ch_sheet *sheet = r->judged->sheet;
    const bool orifices = report_orifices_differ(sheet);
    char text[REPORT_QUANTITY], heard[CH_SHOW_SENTENCE];
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &sheet->leakdown[i];
        if (row->cylinder != cylinder)
            continue;
        report_list(words, "", report_quantity(&row->loss, text));
        if (orifices && ch_quantity_given(&row->loss) && ch_quantity_given(&row->orifice))
            ch_text_appendf(words, " through %s", report_quantity(&row->orifice, text));
        ch_show_heard(row, heard);
        report_list(words, "", heard);
    }
}

static void table_row(report *r, const ch_judged_cylinder *cylinder)
{
    const ch_sheet *sheet = r->judged->sheet;
    char number[16], n[16], mean[CH_SHOW_NUMBER], u[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    char day[CH_SHOW_NUMBER], area[3][CH_SHOW_NUMBER], sound[2 * CH_SHOW_NUMBER + 8], leak[3 * CH_SHOW_NUMBER + 16];
    ch_text wet, leakdown;
    ch_text_init(&wet, CH_DOCUMENT_BYTES_MAX);
    ch_text_init(&leakdown, CH_DOCUMENT_BYTES_MAX);
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
    wet_words(r, cylinder->cylinder, &wet);
    leakdown_words(r, cylinder->cylinder, &leakdown);
    if (sheet->wet_count > 0)
        cells[columns++] = ch_text_string(&wet);
    if (sheet->leakdown_count > 0)
        cells[columns++] = ch_text_string(&leakdown);
    ch_document_row(r->document, cells);
    if (r->status == CH_OK)
        r->status = wet.status != CH_OK ? wet.status : leakdown.status;
    ch_text_clear(&wet);
    ch_text_clear(&leakdown);
}

/* In which units the dry readings were taken, where that is not the table's: its means are of them all. */
static void read_otherwise(report *r)
{
    const ch_sheet *sheet = r->judged->sheet;
    const ch_unit *all = read_in(sheet);
    ch_text words, list;
    ch_text_init(&words, CH_DOCUMENT_BYTES_MAX);
    ch_text_init(&list, CH_DOCUMENT_BYTES_MAX);
    for (size_t i = 0; all == NULL && i < sheet->compression_count; i++) {
        char label[32], read[REPORT_QUANTITY];
        snprintf(label, sizeof label, "cylinder %d:", sheet->compression[i].cylinder);
        if (sheet->compression[i].reading.unit != r->pressure)
            report_list(&list, label, report_quantity(&sheet->compression[i].reading, read));
    }
    if (all != NULL && all != r->pressure)
        ch_text_appendf(&words, "Read in %s, told in %s.", all->name, r->pressure->name);
    else if (list.length > 0)
        ch_text_appendf(&words, "Told in %s; dry readings that were taken in another unit: %s.", r->pressure->name,
                        ch_text_string(&list));
    if (words.length > 0)
        ch_document_paragraph(r->document, ch_text_string(&words));
    if (r->status == CH_OK)
        r->status = list.status != CH_OK ? list.status : words.status;
    ch_text_clear(&list);
    ch_text_clear(&words);
}

/* Wet and leak-down tests have their columns only where they were done. */
static void table(report *r)
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
    read_otherwise(r);
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
static void cause_words(const report *r, const ch_trace_cylinder *traced, ch_text *words)
{
    int order[CH_CAUSE_COUNT];
    ch_show_cause_order(traced->cause_1, order);
    for (int i = 0; i < CH_CAUSE_COUNT && (i == 0 || traced->cause_1[order[i]] >= CH_SHOW_CAUSE_1); i++) {
        char chance[CH_SHOW_NUMBER];
        ch_text_appendf(words, "%s%s %s", i > 0 ? "; " : "", ch_show_chance(traced->cause_1[order[i]], chance),
                        r->judged->knowledge->causes[order[i]].title);
    }
}

static void causes(report *r)
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
        char number[16];
        ch_text words;
        ch_text_init(&words, CH_DOCUMENT_BYTES_MAX);
        snprintf(number, sizeof number, "%d", traced->cylinder);
        cause_words(r, traced, &words);
        const char *const cells[COLUMNS] = {number, ch_text_string(&words)};
        ch_document_row(r->document, cells);
        if (r->status == CH_OK)
            r->status = words.status;
        ch_text_clear(&words);
    }
}

/* ---------------------------------------------------------------- what was not looked at, and what to look at next */

/* Cylinders with so many dry readings: "cylinder 3", "cylinders 3, 4". */
static void read_so_often(const report *r, int times, ch_text *words)
{
    const ch_judgement *judgement = r->judged->judgement;
    int count = 0;
    for (int c = 0; c < judgement->cylinders; c++)
        count += judgement->cylinder[c].n == times;
    const char *before = count == 1 ? "cylinder " : "cylinders ";
    for (int c = 0; c < judgement->cylinders; c++)
        if (judgement->cylinder[c].n == times) {
            ch_text_appendf(words, "%s%d", before, judgement->cylinder[c].cylinder);
            before = ", ";
        }
}

static void missing_readings(report *r)
{
    ch_text none, once;
    ch_text_init(&none, CH_DOCUMENT_BYTES_MAX);
    ch_text_init(&once, CH_DOCUMENT_BYTES_MAX);
    read_so_often(r, 0, &none);
    read_so_often(r, 1, &once);
    report_item(r, "No dry compression reading of", &none);
    report_item(r, "Read only once, so that how well it repeats is taken from the others or assumed:", &once);
}

static void not_checked(report *r)
{
    const ch_sheet *sheet = r->judged->sheet;
    ch_text assumed;
    ch_text_init(&assumed, CH_DOCUMENT_BYTES_MAX);
    ch_document_heading(r->document, "What was not checked");
    missing_readings(r);
    if (sheet->wet_count == 0)
        ch_document_item(r->document, "No wet test, which tells rings from valves.");
    if (sheet->leakdown_count == 0)
        ch_document_item(r->document, "No leak-down test, which tells where the air goes.");
    for (int input = 0; input < CH_INPUT_COUNT; input++)
        if (r->judged->judgement->assumed[input] && input != CH_INPUT_LEAKS)
            report_list(&assumed, "", ch_show_input((ch_input)input));
    report_item(r, "Assumed, because the sheet does not say:", &assumed);
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

/* "Look in through the plug hole, cylinder 4, about 16 minutes. Borescope through ..." */
static void check_item(report *r, const ch_trace_check *next)
{
    ch_text line;
    char minutes[CH_SHOW_NUMBER], where[32] = "";
    if (next->cylinder > 0)
        snprintf(where, sizeof where, ", cylinder %d", next->cylinder);
    ch_text_init(&line, CH_DOCUMENT_BYTES_MAX);
    ch_text_appendf(&line, "%s%s, about %s minutes. %s", next->check->title, where,
                    ch_show_number(next->minutes, 0, minutes), next->check->says);
    ch_document_item(r->document, ch_text_string(&line));
    if (r->status == CH_OK)
        r->status = line.status;
    ch_text_clear(&line);
}

static void next_checks(report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    const ch_knowledge *knowledge = r->judged->knowledge;
    if (judgement->do_not_run) {
        ch_document_heading(r->document, "Before anything is checked");
        for (size_t i = 0; i < r->judged->sheet->observed_count; i++) {
            const ch_knowledge_observation *seen = ch_do_not_run_row(r->judged->sheet, knowledge, i);
            for (size_t k = 0; seen != NULL && k < seen->cautions.count; k++)
                caution(r, &knowledge->cautions[seen->cautions.at[k]]);
        }
        ch_document_paragraph(r->document, ch_show_stopped());
    }
    if (!judgement->trace.reliable) {
        if (!judgement->do_not_run)
            repeat_first(r);
        return;
    }
    if (judgement->trace.next_check_count == 0)
        return;
    ch_document_heading(r->document, "What to check next, soonest to being sure first");
    ch_document_paragraph(r->document, knowledge->always);
    for (size_t i = 0; i < judgement->trace.next_check_count && i < CHECKS_SHOWN; i++) {
        const ch_trace_check *next = &judgement->trace.next_check[i];
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
        check_item(r, next);
    }
}

static void questions(const report *r)
{
    const ch_judgement *judgement = r->judged->judgement;
    if (judgement->question_count == 0)
        return;
    ch_document_heading(r->document, "Questions about the readings themselves");
    ch_question told[CH_QUESTIONS_MAX];
    const size_t count = ch_judge_questions_told(judgement, told);
    for (size_t i = 0; i < count; i++)
        ch_document_item(r->document, told[i].text);
}

ch_status ch_report_engine(const ch_show_judged *judged, ch_document **document, ch_err *err)
{
    const ch_sheet *sheet = judged->sheet;
    ch_text under;
    report r = {.judged = judged,
                .pressure = judged->options->pressure_unit != NULL ? judged->options->pressure_unit
                                                                   : ch_show_pressure_unit(sheet)};
    ch_text_init(&under, CH_DOCUMENT_BYTES_MAX);
    report_under_title(sheet, judged->car, &under);
    ch_status rc = ch_text_check(&under, err);
    if (rc >= 0)
        rc = ch_document_new(sheet->title != NULL ? sheet->title : "Engine report", ch_text_string(&under),
                             "It tells of sealing on the day of the test. The vehicle's own service manual and "
                             "its owner decide.",
                             &r.document, err);
    ch_text_clear(&under);
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
        report_measured(&r);
        not_checked(&r);
        next_checks(&r);
        rc = r.status < 0 ? ch_fail(err, r.status, NULL, "no memory for a document")
                          : ch_document_check(r.document, err);
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

/*
 * Writes every document that the program prints: write_documents FOLDER. The engine report, the check sheet, the winter plan and a job's sheet, each as
 * NAME-a4.pdf, NAME-letter.pdf and NAME.html; the same again with names of 60 characters, and documents of tables and long texts. All figures are invented.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/report.h"
#include "crosshatch/show_jobs.h"
#include "crosshatch/show_ready.h"
#include "crosshatch/show_winter.h"

static const char *folder;
static const char LONG_NAME[] = "WWW Wide Wheel Works, SECOND YARD behind the Old Mill, Dale W";
static const ch_date DAY = {2027, 1, 16};

static ch_knowledge knowledge;
static ch_jobs jobs;
static ch_part_lives lives;
static ch_inspection inspection;

static void stop(const char *what)
{
    fprintf(stderr, "write_documents: %s\n", what);
    exit(1);
}

static void must(ch_status rc, const ch_err *err)
{
    if (rc < 0)
        stop(err->what);
}

static void write_file(const char *name, const char *ending, const ch_text *text)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s%s", folder, name, ending);
    FILE *file = fopen(path, "wb");
    if (file == NULL || fwrite(ch_text_string(text), 1, text->length, file) != text->length || fclose(file) != 0)
        stop("a file cannot be written");
}

static void keep(const char *name, ch_document *document)
{
    static const struct {
        const char *ending;
        ch_paper paper;
    } PAPERS[] = {{"-a4.pdf", CH_PAPER_A4}, {"-letter.pdf", CH_PAPER_LETTER}};
    ch_err err = {0};
    ch_text text;
    for (int i = 0; i < 2; i++) {
        ch_text_init(&text, CH_DOCUMENT_BYTES_MAX);
        must(ch_document_pdf(document, PAPERS[i].paper, DAY, &text, &err), &err);
        write_file(name, PAPERS[i].ending, &text);
        ch_text_clear(&text);
    }
    ch_text_init(&text, CH_DOCUMENT_BYTES_MAX);
    must(ch_document_html(document, &text, &err), &err);
    write_file(name, ".html", &text);
    ch_text_clear(&text);
    ch_document_free(document);
}

/* ---------------------------------------------------------------- documents in which parts come to stand at every place of a page */

static void fill(ch_document *document, int lines)
{
    for (int i = 0; i < lines; i++)
        ch_document_paragraph(document, "A line of its own.");
}

/* Tables of 5 and of 9 rows, begun ever further down on their page. */
static void tables(void)
{
    static const char *const HEAD[] = {"Row", "Number"};
    static const bool NUMBERS[] = {false, true};
    ch_err err = {0};
    ch_document *document = NULL;
    must(ch_document_new("Tables", "begun ever further down", "at the foot", &document, &err), &err);
    for (int lines = 30; lines < 54; lines++) {
        const int rows = lines % 2 == 0 ? 5 : 9;
        char caption[64], heading[64];
        snprintf(heading, sizeof heading, "Chapter %d", lines);
        snprintf(caption, sizeof caption, "Table %d of %d rows, psi", lines, rows);
        ch_document_new_page(document);
        fill(document, lines);
        if (lines % 3 == 0)
            ch_document_heading(document, heading);
        ch_document_table(document, caption, 2, HEAD, NUMBERS);
        for (int i = 0; i < rows; i++) {
            char row[32];
            snprintf(row, sizeof row, "row %d-%d", lines, i + 1);
            const char *const cells[] = {row, "12 of them, as many as there are"};
            ch_document_row(document, cells);
        }
        ch_document_paragraph(document, "What the table says.");
    }
    keep("tables", document);
}

/* `sentence` again and again, up to `length` characters, and then "at last". */
static const char *long_words(const char *sentence, size_t length)
{
    static char words[32768];
    size_t used = 0;
    while (used + strlen(sentence) < length)
        used += (size_t)snprintf(words + used, sizeof words - used, "%s", sentence);
    snprintf(words + used, sizeof words - used, "at last");
    return words;
}

/* Headings ahead of boxes of some lines, and texts as long as a page and longer. */
static void long_texts(void)
{
    ch_err err = {0};
    ch_document *document = NULL;
    must(ch_document_new(long_words("Garage of the very long name ", 2000), "under it", "at the foot", &document, &err),
         &err);
    ch_document_outcome(document, "Verdict: none", "It stands on the first page.");
    for (int lines = 44; lines < 54; lines++) {
        ch_document_new_page(document);
        fill(document, lines);
        ch_document_heading(document, "A heading ahead of a box");
        ch_document_tick(document, long_words("What is done in this step. ", 800), "and why");
    }
    ch_document_new_page(document);
    ch_document_caution(document, CH_SIGNAL_DANGER, "It is long.", long_words("And grave. ", 4000), "Keep away.");
    ch_document_tick(document, "The step behind it", NULL);
    ch_document_tick(document, long_words("A step that is longer than a page. ", 12000), "and why it is");
    ch_document_item(document, "The item behind it.");
    keep("long-texts", document);
}

/* ---------------------------------------------------------------- the documents */

static void engine(const char *name, const char *text)
{
    static ch_judgement judgement;
    ch_err err = {0};
    ch_sheet sheet;
    ch_beside beside;
    ch_document *document = NULL;
    must(ch_sheet_parse("sheet.yaml", text, strlen(text), &sheet, &err), &err);
    const ch_judge_options options = {.seed = 1, .pressure_unit = ch_show_pressure_unit(&sheet)};
    must(ch_judge(&sheet, &knowledge, &options, &judgement, &err), &err);
    must(ch_beside_sheet(&sheet, &beside, &err), &err);
    const ch_show_judged judged = {
        .sheet = &sheet, .knowledge = &knowledge, .options = &options, .judgement = &judgement, .beside = &beside};
    must(ch_report_engine(&judged, &document, &err), &err);
    keep(name, document);
    ch_sheet_clear(&sheet);
}

static void engines(void)
{
    char text[8192];
    engine("engine",
           "sheet: 1\ntitle: Invented four\n"
           "engine: {cylinders: 4, bore: 80 mm, stroke: 80 mm, compression_ratio: 9.5, limits: {standard: 180 "
           "psi, minimum: 140 psi}}\n"
           "compression:\n"
           "  - {cylinder: 1, reading: 180 psi, first_stroke: 90 psi}\n"
           "  - {cylinder: 2, reading: 176 psi, first_stroke: 88 psi}\n"
           "  - {cylinder: 3, reading: 131 psi, first_stroke: 71 psi}\n"
           "  - {cylinder: 4, reading: 178 psi, first_stroke: 90 psi}\n"
           "wet: [{cylinder: 3, reading: 146 psi, oil: 5 ml}]\n"
           "leakdown: [{cylinder: 3, supply: 100 psi, loss: 70 %, heard: exhaust}]\n");
    int used = snprintf(text, sizeof text,
                        "sheet: 1\ntitle: \"%s\"\nengine: {cylinders: 16, layout: vee}\ncompression:\n", LONG_NAME);
    for (int c = 1; c <= 16; c++)
        used += snprintf(text + used, sizeof text - (size_t)used,
                         "  - {cylinder: %d, reading: %d kPa, first_stroke: 600 kPa}\n", c, c == 7 ? 10000 : 1200);
    snprintf(text + used, sizeof text - (size_t)used, "wet: [{cylinder: 3, reading: 1300 kPa, oil: 5 ml}]\n");
    engine("engine-most", text);
}

/* All kinds of tests on all cylinders, one of them at fault; `mixed`: read in several units, through several orifices. */
static void everything(const char *name, int cylinders, bool mixed)
{
    static const int PSI[] = {178, 174, 176, 139, 177, 172, 175, 176, 173, 174, 177, 175};
    ch_text text;
    ch_text_init(&text, 64 * 1024);
    ch_text_appendf(
        &text,
        "sheet: 1\ntitle: \"%s, with another engine\"\n"
        "engine: {cylinders: %d, layout: vee, bore: 84 mm, stroke: 82 mm, compression_ratio: 10.5, limits: {standard: "
        "185 psi, minimum: 140 psi}}\n"
        "conditions: {date: 2027-01-16, altitude: 450 m, engine_temperature: 70 C, throttle: open, cranking_speed: "
        "220 rpm, strokes: 8}\n"
        "observed: [{what: coolant_loss}, {what: oily_plug, cylinder: 4}, {what: blue_smoke}]\ncompression:\n",
        LONG_NAME, cylinders);
    for (int c = 1; c <= cylinders; c++)
        ch_text_appendf(&text,
                        "  - {cylinder: %d, reading: %d psi, first_stroke: %d psi}\n"
                        "  - {cylinder: %d, reading: %d psi}\n",
                        c, PSI[c - 1], PSI[c - 1] / 2, c, PSI[c - 1] + 2);
    if (mixed)
        ch_text_append_string(&text, "  - {cylinder: 2, reading: 12.1 bar}\n");
    ch_text_append_string(&text, "wet:\n");
    for (int c = 1; c <= cylinders; c++) {
        const int wet = PSI[c - 1] + (PSI[c - 1] < 150 ? 28 : 8);
        if (mixed)
            ch_text_appendf(&text, "  - {cylinder: %d, reading: %d.%d bar, oil: %s}\n", c, wet * 69 / 1000,
                            wet * 69 / 100 % 10, c % 2 == 0 ? "8 ml" : "2 tsp");
        else
            ch_text_appendf(&text, "  - {cylinder: %d, reading: %d psi, oil: 8 ml}\n", c, wet);
    }
    ch_text_append_string(&text, "leakdown:\n");
    for (int c = 1; c <= cylinders; c++)
        ch_text_appendf(&text, "  - {cylinder: %d, supply: %s, loss: %d %%, orifice: %s, heard: %s}\n", c,
                        mixed && c % 2 == 0 ? "6.9 bar" : "100 psi", PSI[c - 1] < 150 ? 31 : 9,
                        mixed && c % 3 == 0 ? "1.5 mm" : "1.016 mm",
                        PSI[c - 1] < 150 ? "[oil_filler, exhaust, coolant]" : "nothing");
    engine(name, ch_text_string(&text));
    ch_text_clear(&text);
}

static void check_sheet(const char *name, const char *car, size_t opens)
{
    static ch_ready ready;
    static ch_show_open open[40];
    ch_err err = {0};
    ch_document *document = NULL;
    const ch_ready_event event = {
        .day = {2027, 4, 3}, .name = car, .running_s = 7200.0, .distance_m = NAN, .sessions_1 = 5.0};
    const ch_life_limit limit = {.by = CH_LIFE_HOURS, .limit_si = 25200.0};
    const ch_part_life life = {.title = car, .limits = &limit, .limits_count = 1};
    const ch_ready_part part = {.name = car, .life = &life, .running_s = 36000.0};
    for (size_t i = 0; i < opens; i++)
        open[i] = (ch_show_open){.what = car, .lies = i % 2 == 0 ? car : NULL};
    must(ch_ready_run(&part, 1, opens, &event, DAY, &CH_READY_NO_ENGINE, NAN, &ready, &err), &err);
    const ch_show_ready shown = {.ready = &ready,
                                 .event = &event,
                                 .open = open,
                                 .opens = opens,
                                 .parts = 1,
                                 .car = car,
                                 .today = DAY,
                                 .inspection = &inspection,
                                 .knowledge = &knowledge};
    must(ch_report_check_sheet(&shown, &document, &err), &err);
    keep(name, document);
}

static void winter(const char *name, const char *title, int count)
{
    ch_text text;
    ch_plan plan;
    ch_winter answer;
    ch_err err = {0};
    ch_document *document = NULL;
    ch_text_init(&text, 64 * 1024);
    ch_text_appendf(&text, "plan: 1\ntitle: \"%s\"\ncurrency: EUR\nuntil: 2027-04-03\nbudget: 10000\ndays:\n", title);
    for (int i = 0; i < 20; i++) {
        char date[16];
        ch_date_format(ch_date_from_days(ch_date_days((ch_date){2026, 11, 28}) + 3 * i), date, sizeof date);
        ch_text_appendf(&text, "  - {date: %s, hours: 4}\n", date);
    }
    ch_text_appendf(&text, "access: {open_it: {title: \"%s\", hours: 3, refit_hours: 4}}\njobs:\n", title);
    for (int i = 0; i < count; i++)
        ch_text_appendf(
            &text,
            "  job_%d: {title: \"%s\", hours: [1, 2, 4], parts: %d, avoided: %d, needs: [open_it], lead_days: 7}\n", i,
            title, i == 0 ? 10000 / count : 0, 10000 - 900 * i);
    must(ch_plan_parse("plan.yaml", ch_text_string(&text), text.length, (ch_date){0}, &plan, &err), &err);
    must(ch_winter_answer(&plan, 1, &answer, &err), &err);
    must(ch_report_winter(&plan, &answer, NULL, &document, &err), &err);
    keep(name, document);
    ch_winter_clear(&answer);
    ch_plan_clear(&plan);
    ch_text_clear(&text);
}

static void job(const char *name, const char *id)
{
    ch_err err = {0};
    ch_job_sheet sheet;
    ch_document *document = NULL;
    const ch_job *found = ch_job_find(&jobs, id, strlen(id));
    if (found == NULL)
        stop("no such job");
    must(ch_job_sheet_make(&jobs, CH_DRIVE_REAR, (size_t)(found - jobs.jobs), true, NULL, 0, &sheet, &err), &err);
    must(ch_report_job_sheet(&jobs, &knowledge, &sheet, NULL, &document, &err), &err);
    keep(name, document);
    ch_job_sheet_clear(&sheet);
}

int main(int argc, char **argv)
{
    ch_err err = {0};
    if (argc != 2)
        stop("which folder?");
    folder = argv[1];
    must(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), &err);
    must(ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), &err), &err);
    must(ch_part_lives_parse(&lives, &jobs, ch_part_lives_builtin(), &err), &err);
    must(ch_inspection_parse(&inspection, &knowledge, &lives, ch_inspection_builtin(), &err), &err);
    tables();
    long_texts();
    engines();
    everything("engine-eight", 8, true);
    everything("engine-twelve", 12, false);
    check_sheet("check", "Invented four", 2);
    check_sheet("check-most", LONG_NAME, 40);
    winter("winter", "An invented job", 2);
    winter("winter-most", LONG_NAME, 9);
    job("job", "clutch_kit");
    job("job-most", "rear_crank_seal");
    ch_inspection_clear(&inspection);
    ch_part_lives_clear(&lives);
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
    return 0;
}

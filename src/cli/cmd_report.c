/* crosshatch report: a judgement as a page that stands by itself. What it is written as follows from the ending of the file's name. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/report.h"
#include "crosshatch/store_sheet.h"
#include "garage.h"
#include "input.h"
#include "judging.h"
#include "output.h"

static ch_status as_document(const cli_options *options, const ch_show_judged *judged, bool pdf, ch_text *answer,
                             ch_err *err)
{
    ch_document *document = NULL;
    ch_beside beside;
    ch_show_judged with = *judged;
    /* Without it the report only has fewer drawings; without the memory for it, there is no report. */
    ch_err reason = {0};
    ch_status rc = ch_beside_sheet(judged->sheet, &beside, &reason);
    if (rc == CH_E_MEMORY)
        return ch_fail(err, rc, NULL, "%s", reason.what);
    if (rc >= 0)
        with.beside = &beside;
    rc = ch_report_engine(&with, &document, err);
    if (rc >= 0)
        rc = pdf ? ch_document_pdf(document, options->paper, garage_made_on(), answer, err)
                 : ch_document_html(document, answer, err);
    ch_document_free(document);
    return rc;
}

static ch_status as_pdf(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err)
{
    return as_document(options, judged, true, answer, err);
}

static ch_status as_html(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err)
{
    return as_document(options, judged, false, answer, err);
}

static ch_status as_svg(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err)
{
    (void)options;
    ch_svg svg;
    ch_status rc = ch_show_engine_svg(judged, judged->options->pressure_unit, &svg, err);
    if (rc >= 0)
        ch_text_append(answer, ch_text_string(&svg.text), svg.text.length);
    ch_svg_clear(&svg);
    return rc >= 0 ? ch_text_check(answer, err) : rc;
}

static ch_status as_csv(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err)
{
    (void)options;
    ch_report_engine_csv(judged, answer);
    return ch_text_check(answer, err);
}

static judging_show *written_as(cli_form form)
{
    switch (form) {
    case CLI_FORM_PDF: return as_pdf;
    case CLI_FORM_SVG: return as_svg;
    case CLI_FORM_CSV: return as_csv;
    default: return as_html;
    }
}

/* The sheet of the garage that was tested last, of those with a reading. */
static ch_status newest_sheet(const cli_options *options, ch_sheet *sheet, char *name, size_t size, ch_err *err)
{
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    const ch_store_sheet *rows = NULL;
    size_t count = 0, at = 0;
    ch_status rc = garage_open(options, CH_STORE_READ_ONLY, &store, err);
    if (rc < 0)
        return rc;
    rc = ch_store_sheets(store, &pool, 0, &rows, &count, err);
    while (rc >= 0 && at < count && (rows[at].entries == 0 || rows[at].cylinders == 0))
        at++;
    if (rc >= 0 && at == count)
        rc = ch_fail(err, CH_E_INPUT, "name a sheet, or enter one on the pages",
                     "the garage holds no sheet with readings");
    if (rc >= 0) {
        snprintf(name, size, "sheet %lld of the garage", (long long)rows[at].id);
        rc = ch_store_sheet_load(store, rows[at].id, sheet, err);
    }
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    return rc;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    if (options->output == NULL)
        return ch_fail(err, CH_E_USAGE, "-o with a name that ends in .pdf, .html, .svg or .csv",
                       "report: no file to write to");
    judging_show *show = written_as(output_form(options->output));
    ch_sheet sheet;
    ch_knowledge knowledge = {0};
    char name[64];
    ch_status rc = options->file != NULL ? input_sheet(options->file, &sheet, err)
                                         : newest_sheet(options, &sheet, name, sizeof name, err);
    if (rc < 0)
        return rc;
    rc = input_knowledge(options->knowledge, &knowledge, err);
    if (rc >= 0) {
        rc =
            judging_shown(options, options->file != NULL ? options->file : name, &sheet, &knowledge, show, answer, err);
        ch_knowledge_clear(&knowledge);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

const cli_command cli_report = {
    .name = "report",
    .summary = "the engine report: one to three pages that stand by themselves",
    .synopsis = "[SHEET] -o FILE",
    .help = "Judges a test sheet, or that of the garage tested last, and writes the report into FILE:\n"
            ".pdf and .html whole, .svg the engine with its readings, .csv the cylinders as a table.\n",
    .options = CLI_COMMON | CLI_GARAGE | CLI_PAPER | CLI_UNITS | CLI_SEED | CLI_RULE | CLI_KNOWLEDGE,
    .takes_file = true,
    .may_lack_file = true,
    .forms = CLI_FORM_PDF | CLI_FORM_HTML | CLI_FORM_SVG | CLI_FORM_CSV,
    .file_is = "one sheet at a time",
    .run = run,
};

/* crosshatch winter: which jobs within hours and money, on which days. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "crosshatch/show_winter.h"
#include "file.h"
#include "garage.h"
#include "output.h"

enum { COLUMNS = 60 }; /* a phone's terminal */

static ch_status read_plan(const cli_options *options, ch_plan *plan, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = file_read(options->file, CH_PLAN_BYTES_MAX, &bytes, &length, err);
    if (rc < 0)
        return rc;
    const char *shown = strcmp(options->file, "-") == 0 ? "standard input" : options->file;
    rc = ch_plan_parse(shown, bytes, length, options->given & CLI_TODAY ? options->today : garage_today(), plan, err);
    if (rc < 0)
        ch_err_locate(err, shown, 0, 0);
    free(bytes);
    return rc;
}

/* The plan to be printed: .pdf or .html; its calendar alone: .svg. */
static ch_status drawn(const cli_options *options, const ch_plan *plan, const ch_winter *winter, ch_text *answer,
                       ch_err *err)
{
    const cli_form form = output_form(options->output);
    if (form == CLI_FORM_SVG) {
        ch_svg svg;
        if (!winter->choice.feasible || !plan->has_days)
            return ch_fail(err, CH_E_INPUT, "a plan with days that can be done", "there is no calendar to draw");
        const ch_status rc = ch_show_calendar_svg(plan, winter, &svg, err);
        if (rc >= 0)
            ch_text_append(answer, ch_text_string(&svg.text), svg.text.length);
        ch_svg_clear(&svg);
        return rc >= 0 ? ch_text_check(answer, err) : rc;
    }
    ch_document *document = NULL;
    ch_status rc = ch_report_winter(plan, winter, NULL, &document, err);
    if (rc >= 0)
        rc = form == CLI_FORM_PDF ? ch_document_pdf(document, options->paper, garage_made_on(), answer, err)
                                  : ch_document_html(document, answer, err);
    ch_document_free(document);
    return rc;
}

/* What to write follows from the option, else from the ending of the file's name. */
static ch_status show(const cli_options *options, const ch_plan *plan, const ch_winter *winter, ch_text *answer,
                      ch_err *err)
{
    const unsigned table = options->given & (CLI_ICS | CLI_CSV | CLI_SHOPPING | CLI_JSON);
    const cli_form form = output_form(options->output);
    const bool ics = table == CLI_ICS || (table == 0 && form == CLI_FORM_ICS),
               csv = table == CLI_CSV || (table == 0 && form == CLI_FORM_CSV);
    if (table == 0 && (form & (CLI_FORM_PDF | CLI_FORM_HTML | CLI_FORM_SVG)))
        return drawn(options, plan, winter, answer, err);
    if (table == CLI_JSON)
        return ch_show_winter_json(plan, winter, answer, err);
    if ((ics || csv || table == CLI_SHOPPING) && !winter->choice.feasible)
        return ch_fail(err, CH_E_INPUT, "crosshatch winter without an option says by how much",
                       "what must be done cannot be done");
    if (ics)
        return ch_show_winter_ics(plan, winter, answer, err);
    if (csv) {
        ch_show_winter_csv(plan, winter, answer);
    } else if (table == CLI_SHOPPING) {
        ch_show_winter_shopping(plan, winter, answer);
    } else {
        ch_show_style style = cli_style(options);
        style.columns = COLUMNS;
        ch_show_winter_text(plan, winter, &style, answer);
    }
    return ch_text_check(answer, err);
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    const unsigned table = options->given & (CLI_ICS | CLI_CSV | CLI_SHOPPING | CLI_JSON);
    if ((table & (table - 1)) != 0)
        return ch_fail(err, CH_E_USAGE, "one of them", "winter: more than one of --json, --ics, --csv and --shopping");
    ch_plan plan;
    ch_status rc = read_plan(options, &plan, err);
    if (rc < 0)
        return rc;
    ch_winter winter;
    rc = ch_winter_answer(&plan, options->given & CLI_SEED ? options->seed : 1, &winter, err);
    if (rc >= 0) {
        rc = show(options, &plan, &winter, answer, err);
        ch_winter_clear(&winter);
    }
    if (rc < 0)
        ch_err_locate(err, options->file, 0, 0);
    ch_plan_clear(&plan);
    return rc;
}

const cli_command cli_winter = {
    .name = "winter",
    .summary = "which jobs to do this winter, within the hours and the money, and when",
    .synopsis = "PLAN",
    .help = "Chooses from a plan's jobs those that are worth most together, each access opened once\n"
            "for all; lays them on its days; says why each is in or out, how likely it is to be\n"
            "ready in time, and what to give up first. -o with a name that ends in .ics, .csv or\n"
            ".svg writes the calendar, in .pdf or .html the plan to be printed.\n",
    .options = CLI_COMMON | CLI_JSON | CLI_WORKING | CLI_COLOUR | CLI_NO_COLOUR | CLI_SEED | CLI_TODAY | CLI_ICS |
               CLI_CSV | CLI_SHOPPING | CLI_PAPER,
    .takes_file = true,
    .file_is = "a winter plan",
    .forms = CLI_FORM_TEXT | CLI_FORM_PDF | CLI_FORM_HTML | CLI_FORM_SVG | CLI_FORM_CSV | CLI_FORM_ICS,
    .run = run,
};

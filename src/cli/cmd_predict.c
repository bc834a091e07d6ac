/* crosshatch predict: what the gauge should show, stroke by stroke. */
#include "cli.h"
#include "input.h"

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_sheet sheet;
    ch_status rc = input_sheet(options->file, &sheet, err);
    if (rc < 0)
        return rc;
    ch_prediction prediction;
    rc = ch_predict(&sheet, &prediction, err);
    if (rc < 0) {
        ch_err_locate(err, options->file, 0, 0);
    } else if (options->given & CLI_JSON) {
        rc = ch_show_prediction_json(&prediction, (options->given & CLI_WORKING) != 0, answer, err);
    } else {
        const ch_show_style style = cli_style(options);
        ch_show_prediction_text(&sheet, &prediction, &style, answer);
        rc = ch_text_check(answer, err);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

const cli_command cli_predict = {
    .name = "predict",
    .summary = "what the gauge should show, stroke by stroke, for this engine on this day",
    .synopsis = "SHEET",
    .help = "Computes the cranking compression test of every cylinder from the sheet's engine,\n"
            "gauge and day, with the leaks that its `leaks` rows assume (without them: those\n"
            "of a sound cylinder). Readings on the sheet are not looked at.\n",
    .options = CLI_COMMON | CLI_TEXTUAL,
    .takes_file = true,
    .run = run,
};

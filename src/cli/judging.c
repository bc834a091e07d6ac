/* One sheet judged and shown, as `judge` and `demo` do it. */
#include "judging.h"

#include <stdlib.h>

ch_status judging_answer(const cli_options *options, const char *name, const ch_sheet *sheet,
                         const ch_knowledge *knowledge, ch_text *answer, ch_err *err)
{
    if (options->why > sheet->engine.cylinders)
        return ch_fail(err, CH_E_USAGE, "a cylinder that the engine has", "--why: no cylinder %d in an engine of %d",
                       options->why, sheet->engine.cylinders);
    ch_judgement *judgement = malloc(sizeof *judgement);
    if (judgement == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge a sheet");
    const ch_show_style style = cli_style(options);
    const ch_judge_options judge = {.seed = options->seed,
                                    .rule = options->rule,
                                    .pressure_unit =
                                        style.pressure != NULL ? style.pressure : ch_show_pressure_unit(sheet)};
    ch_status rc = ch_judge(sheet, knowledge, &judge, judgement, err);
    if (rc < 0) {
        ch_err_locate(err, name, 0, 0);
    } else {
        const ch_show_judged judged = {
            .sheet = sheet, .knowledge = knowledge, .options = &judge, .judgement = judgement};
        if (options->given & CLI_JSON) {
            rc = ch_show_judgement_json(&judged, style.working, answer, err);
        } else {
            ch_show_judgement_text(&judged, &style, answer);
            rc = ch_text_check(answer, err);
        }
    }
    free(judgement);
    return rc;
}

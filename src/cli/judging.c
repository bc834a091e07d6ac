/* One sheet judged and shown, as `judge` and `demo` do it. */
#include "judging.h"

#include <stdlib.h>

#include "crosshatch/prior.h"
#include "input.h"
#include "kept.h"
#include "threads.h"

/* What the causes of the cylinder asked about rest on: a run of the tracing for each kind of evidence. */
static ch_status reasons(const cli_options *options, const ch_sheet *sheet, const ch_knowledge *knowledge,
                         const ch_crew *crew, ch_trace_reason reason[CH_TRACE_REASONS_MAX], size_t *count, ch_err *err)
{
    if (options->why == 0)
        return CH_OK;
    ch_setup setup;
    ch_status rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc >= 0) {
        const ch_trace_options trace = {.seed = options->seed, .crew = crew};
        rc = ch_trace_why(sheet, &setup, knowledge, &trace, options->why, reason, count, err);
    }
    return rc;
}

static ch_status show(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err)
{
    const ch_show_style style = cli_style(options);
    if (options->given & CLI_JSON)
        return ch_show_judgement_json(judged, style.working, answer, err);
    ch_show_judgement_text(judged, &style, answer);
    return ch_text_check(answer, err);
}

ch_status judging_answer(const cli_options *options, const char *name, const ch_sheet *sheet,
                         const ch_knowledge *knowledge, ch_text *answer, ch_err *err)
{
    return judging_shown(options, name, sheet, knowledge, show, answer, err);
}

ch_status judging_shown(const cli_options *options, const char *name, const ch_sheet *sheet,
                        const ch_knowledge *knowledge, judging_show *shown, ch_text *answer, ch_err *err)
{
    if (options->why > sheet->engine.cylinders)
        return ch_fail(err, CH_E_USAGE, "a cylinder that the engine has", "--why: no cylinder %d in an engine of %d",
                       options->why, sheet->engine.cylinders);
    ch_judgement *judgement = malloc(sizeof *judgement);
    if (judgement == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge a sheet");
    const ch_crew crew = threads_crew();
    ch_judge_options judge = {.seed = options->seed,
                              .rule = options->rule,
                              .pressure_unit =
                                  options->pressure != NULL ? options->pressure : ch_show_pressure_unit(sheet),
                              .crew = &crew};
    ch_trace_reason reason[CH_TRACE_REASONS_MAX];
    ch_show_judged judged = {.sheet = sheet,
                             .knowledge = knowledge,
                             .options = &judge,
                             .judgement = judgement,
                             .why = options->why,
                             .reason = reason};
    char name_kept[KEPT_NAME] = "";
    ch_trace *traced = malloc(sizeof *traced);
    if (options->knowledge == NULL && traced != NULL)
        kept_name(sheet, input_knowledge_mark(), options->seed, name_kept);
    if (name_kept[0] != '\0' && kept_read(name_kept, knowledge, traced))
        judge.traced = traced;
    ch_status rc = ch_judge(sheet, knowledge, &judge, judgement, err);
    if (rc >= 0 && name_kept[0] != '\0' && judge.traced == NULL)
        kept_write(name_kept, knowledge, &judgement->trace);
    judge.traced = NULL;
    free(traced);
    if (rc >= 0)
        rc = reasons(options, sheet, knowledge, &crew, reason, &judged.reason_count, err);
    if (rc < 0)
        ch_err_locate(err, name, 0, 0);
    else
        rc = shown(options, &judged, answer, err);
    free(judgement);
    return rc;
}

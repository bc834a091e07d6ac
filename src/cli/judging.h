/* One sheet judged and shown, as `judge`, `demo` and `report` do it. */
#ifndef CROSSHATCH_CLI_JUDGING_H
#define CROSSHATCH_CLI_JUDGING_H

#include "cli.h"

/* Judge a parsed sheet after the options and append the answer. `name` is shown in messages. */
ch_status judging_answer(const cli_options *options, const char *name, const ch_sheet *sheet,
                         const ch_knowledge *knowledge, ch_text *answer, ch_err *err);

/* Shows a judgement that is there in whole. */
typedef ch_status judging_show(const cli_options *options, const ch_show_judged *judged, ch_text *answer, ch_err *err);

/* The same, shown in another way. */
ch_status judging_shown(const cli_options *options, const char *name, const ch_sheet *sheet,
                        const ch_knowledge *knowledge, judging_show *shown, ch_text *answer, ch_err *err);

#endif

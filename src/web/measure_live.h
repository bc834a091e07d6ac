/* What can be said of the readings so far, under the form they are entered in. */
#ifndef CROSSHATCH_WEB_MEASURE_LIVE_H
#define CROSSHATCH_WEB_MEASURE_LIVE_H

#include "crosshatch/judge.h"
#include "measure.h"

/*
 * Judge at once by the owner's rule, with words in the sheet's unit; *judged is false where nothing is there to judge yet. Free *judgement with free(). Also where the judging
 * itself fails (a head that no engine can have): the page must not fail at the car, so that is `judged` false too.
 */
ch_status measure_judge(web_request *request, const ch_sheet *sheet, const ch_unit *unit, ch_judgement **judgement,
                        bool *judged, ch_err *err);

/* Spread so far, lowest over highest, the rule, whether another repeat matters, and questions. */
void measure_live(html_writer *w, const ch_sheet *sheet, const ch_judgement *judgement, const ch_unit *unit);

/*
 * What is asked of the reading entered last, with the way to correct it: to stand where the page opens after an entry. Of earlier readings only that something is
 * asked. True where something is asked of the last one.
 */
bool measure_questions_now(html_writer *w, const measuring *m, const ch_judgement *judgement);

/* The cylinders where they sit, each a link; `chosen` is marked. `readings_pa`: NaN, or the mean to show. */
void measure_engine(html_writer *w, const ch_sheet *sheet, int64_t sheet_id, const char *kind, int chosen,
                    const int count[CH_CYLINDERS_MAX], const double mean_pa[CH_CYLINDERS_MAX], const ch_unit *unit);

#endif

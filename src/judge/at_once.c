/* What can be said of a reading the moment it is entered, without the tracing: the cheap parts of judging, and questions to single entries.
 *
 * An entry is questioned, never refused: a dead cylinder reads like a mistyped one. Thresholds are judgment: under a quarter of what a sound
 * engine shows is what a wrong unit or a lost digit makes of a usual reading; above the most that the engine could show, one of the three is
 * sure. */
#include <stdlib.h>

#include "crosshatch/prior.h"
#include "judge_parts.h"

static const double FEW_1 = 0.25;   /* of a sound reading: below, an entry is asked about */
static const double USUAL_1 = 0.6;  /* of a sound reading: what a mistyped entry was probably meant to be, at least */
static const double DIGIT_1 = 10.0; /* a decimal digit more or less */

static void question_much(const judge_asked *asked, ch_judgement *j, size_t row)
{
    const ch_reading *one = &asked->sheet->compression[row];
    const judge_bounds *bounds = asked->bounds;
    const judge_words said = judge_say_typed(&one->reading),
                      most = judge_say_pressure(bounds->ideal_pa, one->reading.unit);
    const double less_pa = one->reading.si / DIGIT_1;
    const ch_unit *likely = judge_likely_unit(one->reading.si, one->reading.unit, USUAL_1 * bounds->sound_pa,
                                              bounds->sound_pa, bounds->ideal_pa);
    if (likely != NULL)
        judge_ask(j, CH_QUESTION_UNIT, one->cylinder, row, 0.9,
                  "Cylinder %d: is %s in %s? This engine could not show more than %s.", one->cylinder, said.text,
                  likely->name, most.text);
    else if (less_pa >= USUAL_1 * bounds->sound_pa && less_pa <= bounds->ideal_pa)
        judge_ask(j, CH_QUESTION_IMPOSSIBLE, one->cylinder, row, 0.98,
                  "Cylinder %d: is %s one digit too many? This engine could not show more than %s.", one->cylinder,
                  said.text, most.text);
    else
        judge_ask(j, CH_QUESTION_IMPOSSIBLE, one->cylinder, row, 0.98,
                  "Cylinder %d: %s is more than %s, the most that this engine could show. Look at number, unit and "
                  "gauge; oil or carbon in the chamber can do it too.",
                  one->cylinder, said.text, most.text);
}

static void question_little(const judge_asked *asked, ch_judgement *j, size_t row)
{
    const ch_reading *one = &asked->sheet->compression[row];
    const judge_bounds *bounds = asked->bounds;
    const judge_words said = judge_say_typed(&one->reading),
                      usual = judge_say_pressure(bounds->sound_pa, one->reading.unit);
    const double more_pa = one->reading.si * DIGIT_1;
    const bool digit = more_pa >= USUAL_1 * bounds->sound_pa && more_pa <= bounds->ideal_pa;
    const ch_unit *likely = judge_likely_unit(one->reading.si, one->reading.unit, USUAL_1 * bounds->sound_pa,
                                              bounds->sound_pa, bounds->ideal_pa);
    if (likely != NULL)
        judge_ask(j, CH_QUESTION_UNIT, one->cylinder, row, 0.5,
                  "Cylinder %d: is %s in %s%s? A sound engine of this kind shows about %s. Or the cylinder does not "
                  "seal at all.",
                  one->cylinder, said.text, likely->name, digit ? ", or is a digit missing" : "", usual.text);
    else if (digit)
        judge_ask(j, CH_QUESTION_UNIT, one->cylinder, row, 0.5,
                  "Cylinder %d: is a digit missing in %s? A sound engine of this kind shows about %s. Or the cylinder "
                  "does not seal at all.",
                  one->cylinder, said.text, usual.text);
}

static void question_entries(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->readings->n; i++) {
        const size_t row = asked->readings->row[i];
        const ch_quantity *reading = &asked->sheet->compression[row].reading;
        if (reading->si > asked->bounds->ideal_pa)
            question_much(asked, j, row);
        else if (reading->si > 0.0 && reading->si < FEW_1 * asked->bounds->sound_pa)
            question_little(asked, j, row);
    }
}

/* A limit of the manual or of the chosen rule is held to the day, which takes as long as all the rest. */
static bool needs_day(const ch_sheet *sheet, ch_balance_rule rule)
{
    const ch_limits *limits = &sheet->engine.limits;
    return ch_quantity_given(&limits->minimum) || ch_quantity_given(&limits->standard) ||
           rule == CH_RULE_70_PERCENT_100_PSI;
}

static ch_status all_at_once(const ch_sheet *sheet, const ch_judge_options *options, const judge_readings *readings,
                             ch_judgement *j, ch_err *err)
{
    ch_setup setup;
    judge_repeatability scatter;
    judge_bounds bounds;
    judge_day built;
    const judge_day *day = needs_day(sheet, options->rule) ? &built : NULL;
    ch_status rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &setup, err);
    if (rc >= 0 && day != NULL)
        rc = judge_day_build(&setup, sheet->engine.cylinders, &built, err);
    if (rc >= 0)
        rc = judge_repeats(sheet, &setup, day, readings, j, &scatter, err);
    if (rc >= 0)
        rc = judge_bounds_compute(&setup, sheet->engine.cylinders, &bounds, err);
    if (rc >= 0)
        rc = judge_take_balance(sheet, day, &scatter, options, j, err);
    if (rc < 0)
        return rc;
    for (int c = 0; c < j->cylinders; c++)
        j->cylinder[c].expected_median_pa = bounds.sound_pa;
    for (int i = 0; i < CH_INPUT_COUNT; i++)
        j->assumed[i] = setup.assumed[i];
    j->verdict = CH_VERDICT_UNCLEAR;
    const judge_asked asked = {sheet, &setup, readings, &scatter, &bounds, judge_unit_of_sentences(sheet, options),
                               NULL};
    rc = judge_question_air(&asked, j, err);
    if (rc < 0)
        return rc;
    question_entries(&asked, j);
    return judge_questions_of_rows(&asked, j, err);
}

ch_status ch_judge_at_once(const ch_sheet *sheet, const ch_judge_options *options, ch_judgement *judgement, ch_err *err)
{
    ch_status rc = judge_check(sheet, options, err);
    if (rc < 0)
        return rc;
    judge_readings readings;
    rc = judge_readings_collect(sheet, &readings, err);
    if (rc < 0)
        return rc;
    ch_judgement *made = calloc(1, sizeof *made);
    if (made == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge");
    else
        rc = all_at_once(sheet, options, &readings, made, err);
    if (rc >= 0)
        *judgement = *made;
    free(made);
    judge_readings_clear(&readings);
    return rc;
}

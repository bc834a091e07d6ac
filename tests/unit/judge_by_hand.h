/* Judgements made by hand and what the verdict says of them, for the tests of judge/verdict.c. Included once a program. */
#ifndef CROSSHATCH_TESTS_JUDGE_BY_HAND_H
#define CROSSHATCH_TESTS_JUDGE_BY_HAND_H

#include "judge_sheets.h"

static ch_knowledge knowledge;
static ch_judgement judgement;

static inline int load(void **state)
{
    (void)state;
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) < 0 ? -1 : 0;
}

static inline int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    return 0;
}

/* A judgement in which nothing is wrong: readings inside the band, `step_psi` apart, even, all causes sound. */
static inline void all_well_of(int cylinders, double step_psi)
{
    ch_judgement *j = &judgement;
    memset(j, 0, sizeof *j);
    j->cylinders = cylinders;
    j->trace.reliable = true;
    j->lowest = cylinders;
    j->highest = 1;
    j->ratio_1 = 0.94;
    j->ratio_interval_1[0] = 0.91;
    j->ratio_interval_1[1] = 0.99;
    j->chosen_rule = CH_RULE_75_PERCENT;
    j->rule[CH_RULE_75_PERCENT] = (ch_rule_outcome){.rule = CH_RULE_75_PERCENT,
                                                    .applies = true,
                                                    .passes = true,
                                                    .chance_broken_1 = 0.001,
                                                    .id = "75_percent",
                                                    .says = "lowest at least 75 % of highest",
                                                    .source = ""};
    for (int c = 0; c < cylinders; c++) {
        j->cylinder[c] = (ch_judged_cylinder){.cylinder = c + 1,
                                              .n = 1,
                                              .mean_pa = (170.0 - step_psi * c) * PSI,
                                              .expected_pa = {150.0 * PSI, 200.0 * PSI},
                                              .expected_median_pa = 175.0 * PSI,
                                              .chance_below_minimum_1 = NAN};
        j->trace.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
    }
    j->pooled_sd_pa = 2.5 * PSI;
}

/* Take a cylinder's chances from sound and give them to a cause. */
static inline void blame(int cylinder, ch_cause cause, double chance_1)
{
    double *cause_1 = judgement.trace.cylinder[cylinder - 1].cause_1;
    cause_1[cause] += chance_1;
    cause_1[CH_CAUSE_SOUND] -= chance_1;
}

/* A cylinder and a question more than are counted, which nobody may look at: dead, surely at fault, and impossible. */
static inline void spoil_judgement_beyond(void)
{
    ch_judgement *j = &judgement;
    if (j->cylinders < CH_CYLINDERS_MAX) {
        j->cylinder[j->cylinders] = (ch_judged_cylinder){
            .n = 9, .mean_pa = 1e5, .expected_pa = {9e6, 9e6}, .chance_below_minimum_1 = 1.0, .repeat_gain_1 = 1.0};
        j->trace.cylinder[j->cylinders] = (ch_trace_cylinder){0};
        j->trace.cylinder[j->cylinders].cause_1[CH_CAUSE_CRACKED_HEAD] = 0.4;
        j->trace.cylinder[j->cylinders].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.6;
    }
    if (j->question_count < CH_QUESTIONS_MAX)
        j->question[j->question_count] =
            (ch_question){.kind = CH_QUESTION_IMPOSSIBLE, .text = "A question that nobody asked."};
}

static inline ch_verdict verdict_of(const char *text)
{
    ch_sheet sheet;
    sheet_of(text, &sheet);
    spoil_judgement_beyond();
    judge_verdict(&sheet, &knowledge, ch_unit_find("psi", 3), &judgement);
    ch_sheet_clear(&sheet);
    assert_true(judgement.because_count > 0);
    return judgement.verdict;
}

static inline bool reasons_say(const char *words)
{
    for (size_t i = 0; i < judgement.because_count; i++)
        if (strstr(judgement.because[i], words) != NULL)
            return true;
    return false;
}

#endif

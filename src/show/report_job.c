/* A job's sheet as a document, to be printed and ticked off in the garage. */
#include <stdio.h>

#include "crosshatch/show_jobs.h"

enum { COLUMNS = 4, CAUTIONS_MAXIMUM = 512 };
_Static_assert(CH_STEP_TEXT_MAX + 32 <= CH_SHOW_SENTENCE, "a step's words with their number have room");

static void head(ch_document *d, const ch_knowledge *knowledge, const ch_job_sheet *sheet)
{
    char sentence[CH_SHOW_SENTENCE];
    ch_document_paragraph(d, sheet->job->work.why);
    ch_show_job_times(sheet, sentence);
    ch_document_paragraph(d, sentence);
    ch_show_job_lead(sheet->job, sentence);
    if (sentence[0] != '\0')
        ch_document_paragraph(d, sentence);
    ch_document_paragraph(d, knowledge->always);
    if (sheet->job->tools_count > 0)
        ch_document_heading(d, "Tools beside the usual");
    for (size_t i = 0; i < sheet->job->tools_count; i++)
        ch_document_item(d, sheet->job->tools[i]);
}

static void shopping(ch_document *d, const ch_jobs *jobs, const ch_shopping *list)
{
    static const char *const HEAD[COLUMNS] = {"Kind", "What", "How many", "Likely (least to most)"};
    static const bool NUMBERS[COLUMNS] = {false, false, false, true};
    char caption[64], count[CH_SHOW_SENTENCE], price[CH_SHOW_SENTENCE], source[CH_SHOW_SENTENCE];
    if (list->count == 0)
        return;
    ch_document_heading(d, "To buy");
    snprintf(caption, sizeof caption, "Parts and what is used up, %.16s", jobs->currency);
    ch_document_table(d, caption, COLUMNS, HEAD, NUMBERS);
    for (size_t i = 0; i < list->count; i++) {
        const ch_goods *goods = &jobs->goods[list->lines[i].goods];
        const char *const cells[COLUMNS] = {ch_show_goods_kind(goods->kind), goods->title,
                                            ch_show_count(&list->lines[i], count),
                                            ch_show_price(&list->lines[i].sum, price)};
        ch_document_row(d, cells);
    }
    const char *const all[COLUMNS] = {"In all", "", "", ch_show_price(&list->sum, price)};
    ch_document_row(d, all);
    snprintf(source, sizeof source, "Prices: %s. They are yours to change.", jobs->price_source);
    ch_document_paragraph(d, source);
}

/* Consequence and precaution are written out where a caution stands first. */
static void cautions(ch_document *d, const ch_knowledge *knowledge, const ch_places *places, bool *shown)
{
    for (size_t i = 0; i < places->count; i++) {
        const ch_knowledge_caution *caution = &knowledge->cautions[places->at[i]];
        const bool again = shown[places->at[i]];
        ch_document_caution(d, caution->word, caution->hazard, again ? NULL : caution->consequence,
                            again ? NULL : caution->precaution);
        shown[places->at[i]] = true;
    }
}

/* Why, what comes off and the torques of one step, in smaller letters. */
static void step_more(const ch_job_sheet *sheet, size_t step, ch_text *more)
{
    const ch_work_step *at = sheet->steps[step].step;
    ch_text_append_string(more, at->why);
    for (size_t k = 0; k < at->takes_off_count; k++)
        ch_text_appendf(more, " Comes off: %s.", at->takes_off[k].text);
    for (size_t i = 0; i < sheet->torques_count; i++) {
        char sentence[CH_SHOW_SENTENCE];
        if (sheet->torques[i].step != step)
            continue;
        ch_show_job_torque(&sheet->torques[i], sentence);
        ch_text_appendf(more, " %s", sentence);
    }
}

/* What a step needs beside its words cannot be left out: a failure here is one of the whole sheet. */
static ch_status steps(ch_document *d, const ch_knowledge *knowledge, const ch_job_sheet *sheet, ch_err *err)
{
    ch_status rc = CH_OK;
    bool shown[CAUTIONS_MAXIMUM] = {false};
    for (size_t i = 0; rc >= 0 && i < sheet->steps_count; i++) {
        const ch_job_sheet_step *step = &sheet->steps[i];
        char words[CH_SHOW_SENTENCE];
        ch_text more;
        ch_text_init(&more, CH_DOCUMENT_BYTES_MAX);
        if (i == 0 || step->of != step[-1].of || step->part != step[-1].part) {
            ch_show_job_part(step, words);
            ch_document_heading(d, words);
        }
        cautions(d, knowledge, &step->step->cautions, shown);
        snprintf(words, sizeof words, "%zu. %s", i + 1, step->step->text);
        step_more(sheet, i, &more);
        ch_document_tick(d, words, ch_text_string(&more));
        rc = ch_text_check(&more, err);
        ch_text_clear(&more);
    }
    return rc;
}

static void cross_checks(ch_document *d, const ch_job_sheet *sheet)
{
    bool begun = false;
    for (size_t i = 0; i < sheet->torques_count; i++) {
        char sentence[CH_SHOW_SENTENCE];
        if (!sheet->torques[i].estimated)
            continue;
        if (!begun) {
            ch_document_heading(d, "Torques held against thread and strength class");
            ch_document_paragraph(d, sheet->torques[i].estimate.caution);
        }
        begun = true;
        ch_show_torque_check(&sheet->torques[i], sentence);
        ch_document_item(d, sentence);
    }
}

static void closing(ch_document *d, const ch_job_sheet *sheet)
{
    char words[CH_SHOW_SENTENCE];
    if (sheet->put_back_count > 0)
        ch_document_heading(d, "Put back, last off first; nothing may be left over");
    for (size_t i = 0; i < sheet->put_back_count; i++)
        ch_document_tick(d, sheet->put_back[i].what->text, NULL);
    ch_document_heading(d, "What closes the job");
    for (size_t i = 0; i < sheet->job->retests_count; i++) {
        const ch_retest *retest = &sheet->job->retests[i];
        snprintf(words, sizeof words, "%s: %s", ch_show_retest(retest->by), retest->text);
        ch_document_tick(d, words, NULL);
    }
    ch_document_heading(d, "Where this comes from");
    ch_document_paragraph(d, sheet->job->work.source);
}

ch_status ch_report_job_sheet(const ch_jobs *jobs, const ch_knowledge *knowledge, const ch_job_sheet *sheet,
                              const char *car, ch_document **document, ch_err *err)
{
    if (knowledge->cautions_count > CAUTIONS_MAXIMUM)
        return ch_fail(err, CH_E_LIMIT, "at most 512", "%zu cautions", knowledge->cautions_count);
    char under[CH_SHOW_SENTENCE];
    snprintf(under, sizeof under, "Job sheet%s%.200s", car != NULL ? ", " : "", car != NULL ? car : "");
    ch_document *d = NULL;
    ch_status rc =
        ch_document_new(sheet->job->work.title, under, "The car's own service manual goes before this sheet.", &d, err);
    if (rc < 0)
        return rc;
    head(d, knowledge, sheet);
    shopping(d, jobs, &sheet->shopping);
    rc = steps(d, knowledge, sheet, err);
    cross_checks(d, sheet);
    closing(d, sheet);
    if (rc >= 0)
        rc = ch_document_check(d, err);
    if (rc < 0) {
        ch_document_free(d);
        return rc;
    }
    *document = d;
    return CH_OK;
}

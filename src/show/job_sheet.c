/* A job's sheet as a page of text, to be taken to the car. */
#include <stdio.h>

#include "crosshatch/show_jobs.h"
#include "page.h"
#include "shopping.h"

enum { STEP = 9, FIRST = 32 };

static void head(page *p, const ch_knowledge *knowledge, const ch_job_sheet *sheet)
{
    char sentence[CH_SHOW_SENTENCE];
    page_tone_text(p, PAGE_STRONG, sheet->job->work.title);
    ch_text_append_string(p->text, "\n");
    page_paragraph(p, 0, "", sheet->job->work.why);
    ch_show_job_times(sheet, sentence);
    page_paragraph(p, 0, "", sentence);
    ch_show_job_lead(sheet->job, sentence);
    if (sentence[0] != '\0')
        page_paragraph(p, 0, "", sentence);
    ch_text_append_string(p->text, "\n");
    page_paragraph(p, 0, "", knowledge->always);
}

static void tools(page *p, const ch_job *job)
{
    if (job->tools_count == 0)
        return;
    page_heading(p, "Tools beside the usual");
    for (size_t i = 0; i < job->tools_count; i++)
        page_paragraph(p, 4, "  -", job->tools[i]);
}

static void step_torques(page *p, const ch_job_sheet *sheet, size_t step)
{
    char sentence[CH_SHOW_SENTENCE];
    for (size_t i = 0; i < sheet->torques_count; i++)
        if (sheet->torques[i].step == step) {
            ch_show_job_torque(&sheet->torques[i], sentence);
            page_paragraph(p, STEP, "", sentence);
        }
}

static void steps(page *p, const ch_knowledge *knowledge, const ch_job_sheet *sheet)
{
    bool shown[PAGE_CAUTIONS_MAXIMUM] = {false};
    for (size_t i = 0; i < sheet->steps_count; i++) {
        const ch_job_sheet_step *step = &sheet->steps[i];
        /* An empty line between steps: a caution must not seem to belong to the step above it. */
        if (i == 0 || step->of != step[-1].of || step->part != step[-1].part) {
            char heading[CH_SHOW_SENTENCE];
            ch_show_job_part(step, heading);
            page_heading(p, heading);
        } else {
            ch_text_append_string(p->text, "\n");
        }
        page_cautions(p, STEP, knowledge, &step->step->cautions, shown);
        char first[FIRST];
        snprintf(first, sizeof first, "%3zu. [ ]", i + 1);
        page_paragraph(p, STEP, first, step->step->text);
        page_paragraphf(p, STEP, "", "Why: %s", step->step->why);
        for (size_t k = 0; k < step->step->takes_off_count; k++)
            page_paragraphf(p, STEP, "", "Comes off: %s", step->step->takes_off[k].text);
        step_torques(p, sheet, i);
    }
}

static void cross_checks(page *p, const ch_job_sheet *sheet)
{
    bool begun = false;
    for (size_t i = 0; i < sheet->torques_count; i++) {
        const ch_job_sheet_torque *torque = &sheet->torques[i];
        char sentence[CH_SHOW_SENTENCE];
        if (!torque->estimated)
            continue;
        if (!begun) {
            page_heading(p, "Torques held against thread and strength class");
            page_paragraph(p, 2, "  ", torque->estimate.caution);
        }
        begun = true;
        ch_show_torque_check(torque, sentence);
        page_paragraph(p, 4, "  -", sentence);
    }
}

static void put_back(page *p, const ch_job_sheet *sheet)
{
    if (sheet->put_back_count == 0)
        return;
    page_heading(p, "Put back, last off first; nothing may be left over");
    for (size_t i = 0; i < sheet->put_back_count; i++)
        page_paragraph(p, 6, "  [ ]", sheet->put_back[i].what->text);
}

static void retest(page *p, const ch_job *job)
{
    page_heading(p, "What closes the job");
    for (size_t i = 0; i < job->retests_count; i++)
        page_paragraphf(p, 6, "  [ ]", "%s: %s", ch_show_retest(job->retests[i].by), job->retests[i].text);
}

void ch_show_job_sheet(const ch_jobs *jobs, const ch_knowledge *knowledge, const ch_job_sheet *sheet,
                       const ch_show_style *style, ch_text *text)
{
    if (knowledge->cautions_count > PAGE_CAUTIONS_MAXIMUM) {
        /* A sheet without its cautions must not reach the car. */
        text->status = text->status < 0 ? text->status : CH_E_LIMIT;
        return;
    }
    page p = {.text = text, .columns = style->columns, .colour = style->colour};
    head(&p, knowledge, sheet);
    tools(&p, sheet->job);
    if (sheet->shopping.count > 0) {
        page_heading(&p, "To buy");
        shopping_lines(&p, jobs, &sheet->shopping);
    }
    steps(&p, knowledge, sheet);
    cross_checks(&p, sheet);
    put_back(&p, sheet);
    retest(&p, sheet->job);
    page_heading(&p, "Where this comes from");
    page_paragraph(&p, 2, "  ", sheet->job->work.source);
}

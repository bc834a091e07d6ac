/* A job's sheet as a page of text, to be taken to the car. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_jobs.h"
#include "crosshatch/show_words.h"
#include "page.h"
#include "shopping.h"

enum { STEP = 9, FIRST = 32, SENTENCE = 1024 };

static const char write_here[] = "____________";

static const char *hours(double s, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(ch_unit_from_si(s, ch_unit_find("h", 1)), 1, buffer);
}

static void times(page *p, const ch_job_sheet *sheet)
{
    char likely[CH_SHOW_NUMBER], least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER], open[CH_SHOW_NUMBER],
        close[CH_SHOW_NUMBER];
    const ch_work_time *t = &sheet->work;
    if (!sheet->with_access) {
        page_paragraphf(p, 0, "", "Hands-on: %s h likely, %s to %s h; the access is open already.",
                        hours(t->likely_s, likely), hours(t->least_s, least), hours(t->most_s, most));
        return;
    }
    page_paragraphf(p, 0, "", "Hands-on, likely: opening %s h, the job %s h, closing %s h; %s to %s h in all.",
                    hours(sheet->open.likely_s, open), hours(t->likely_s, likely), hours(sheet->close.likely_s, close),
                    hours(t->least_s + sheet->open.least_s + sheet->close.least_s, least),
                    hours(t->most_s + sheet->open.most_s + sheet->close.most_s, most));
}

static void lead(page *p, const ch_job *job)
{
    char parts[CH_SHOW_NUMBER], shop[CH_SHOW_NUMBER];
    if (job->lead_days > 0)
        page_paragraphf(p, 0, "", "Order the parts ahead: %s days typically.",
                        ch_show_number(job->lead_days, 0, parts));
    if (job->shop_days > 0)
        page_paragraphf(p, 0, "", "Book the shop ahead: %s days there typically.",
                        ch_show_number(job->shop_days, 0, shop));
}

static void tools(page *p, const ch_job *job)
{
    if (job->tools_count == 0)
        return;
    page_heading(p, "Tools beside the usual");
    for (size_t i = 0; i < job->tools_count; i++)
        page_paragraph(p, 4, "  -", job->tools[i]);
}

/* "88 N m, in rounds", as the owner typed it; "" where nothing but what to look up is known. */
static void owner_text(const ch_owner_torque *owner, char text[SENTENCE])
{
    char torque[96] = "";
    text[0] = '\0';
    if (owner == NULL)
        return;
    if (ch_quantity_given(&owner->torque))
        ch_quantity_text(&owner->torque, torque, sizeof torque);
    snprintf(text, SENTENCE, "%s%s%s", torque, torque[0] != '\0' && owner->note != NULL ? ", " : "",
             owner->note != NULL ? owner->note : "");
}

static void step_torques(page *p, const ch_job_sheet *sheet, size_t step)
{
    for (size_t i = 0; i < sheet->torques_count; i++) {
        const ch_job_sheet_torque *torque = &sheet->torques[i];
        if (torque->step != step)
            continue;
        char text[SENTENCE];
        owner_text(torque->owner, text);
        page_paragraphf(p, STEP, "", "Torque from the car's own manual, %s: %s", torque->what->text,
                        text[0] != '\0' ? text : write_here);
    }
}

static void step_heading(page *p, const ch_job_sheet_step *step)
{
    static const char *const part[] = {
        [CH_JOB_SHEET_OPEN] = "Open", [CH_JOB_SHEET_WORK] = "The job", [CH_JOB_SHEET_CLOSE] = "Close"};
    char heading[256];
    snprintf(heading, sizeof heading, "%s: %s", part[step->part], step->of->title);
    page_heading(p, heading);
}

static void steps(page *p, const ch_knowledge *knowledge, const ch_job_sheet *sheet)
{
    bool shown[PAGE_CAUTIONS_MAXIMUM] = {false};
    const ch_work *of = NULL;
    ch_job_sheet_part part = CH_JOB_SHEET_OPEN;
    for (size_t i = 0; i < sheet->steps_count; i++) {
        const ch_job_sheet_step *step = &sheet->steps[i];
        /* An empty line between steps: a caution must not seem to belong to the step above it. */
        if (step->of != of || step->part != part)
            step_heading(p, step);
        else
            ch_text_append_string(p->text, "\n");
        of = step->of;
        part = step->part;
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
    static const char *const says[] = {
        [CH_TORQUE_USUAL] = "your figure is of the usual size",
        [CH_TORQUE_LOW] = "your figure is lower, which is right in aluminium, on gaskets, or with an angle after it",
        [CH_TORQUE_HIGH] = "LOOK AGAIN: your figure is more than such a bolt usually bears, look at its unit too",
    };
    const char *caution = NULL;
    for (size_t i = 0; i < sheet->torques_count; i++) {
        const ch_job_sheet_torque *torque = &sheet->torques[i];
        if (!torque->estimated)
            continue;
        if (caution == NULL) {
            caution = torque->estimate.caution;
            page_heading(p, "Torques held against thread and strength class");
            page_paragraph(p, 2, "  ", caution);
        }
        const ch_unit *unit = torque->owner->torque.unit != NULL ? torque->owner->torque.unit : ch_unit_find("N m", 3);
        char low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER], text[SENTENCE];
        owner_text(torque->owner, text);
        page_paragraphf(p, 4, "  -", "%s: %s. %s, class %s: about %s to %s %s; %s.", torque->what->text, text,
                        torque->owner->thread, torque->owner->property_class,
                        ch_show_number(ch_unit_from_si(torque->estimate.torque_low_n_m, unit), 0, low),
                        ch_show_number(ch_unit_from_si(torque->estimate.torque_high_n_m, unit), 0, high), unit->name,
                        says[torque->check]);
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
    static const char *const by[] = {
        [CH_RETEST_COMPRESSION] = "Compression test",
        [CH_RETEST_LEAK_DOWN] = "Leak-down test",
        [CH_RETEST_SLIP_LOG] = "Slip log",
        [CH_RETEST_LEAK_CHECK] = "Leak check",
        [CH_RETEST_PRESSURE] = "Pressure",
        [CH_RETEST_PEDAL] = "Pedal",
        [CH_RETEST_ROAD] = "First drive",
        [CH_RETEST_LOOK] = "Look",
        [CH_RETEST_TORQUE] = "Tighten again",
    };
    page_heading(p, "What closes the job");
    for (size_t i = 0; i < job->retests_count; i++)
        page_paragraphf(p, 6, "  [ ]", "%s: %s", by[job->retests[i].by], job->retests[i].text);
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
    page_tone_text(&p, PAGE_STRONG, sheet->job->work.title);
    ch_text_append_string(text, "\n");
    page_paragraph(&p, 0, "", sheet->job->work.why);
    times(&p, sheet);
    lead(&p, sheet->job);
    ch_text_append_string(text, "\n");
    page_paragraph(&p, 0, "", knowledge->always);
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

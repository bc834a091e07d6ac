/*
 * The sheet of one job, gathered from the knowledge and the owner's torques.
 */
#include "crosshatch/job_sheet.h"

#include <stdlib.h>
#include <string.h>

typedef struct maker {
    const ch_jobs *jobs;
    const ch_owner_torque *owner;
    size_t owner_count;
    ch_job_sheet *to;
    ch_err *err;
} maker;

static const ch_owner_torque *owner_of(const maker *m, const char *id)
{
    for (size_t i = m->owner_count; i-- > 0;)
        if (strcmp(m->owner[i].id, id) == 0)
            return &m->owner[i];
    return NULL;
}

static ch_status cross_check(const maker *m, ch_job_sheet_torque *to)
{
    const ch_owner_torque *owner = to->owner;
    const bool given = ch_quantity_given(&owner->torque);
    if (given && !(owner->torque.si > 0))
        return ch_fail(m->err, CH_E_INPUT, "above 0", "torque of %s is %s", owner->id, owner->torque.number);
    if (owner->note != NULL && strlen(owner->note) > CH_TORQUE_NOTE_MAX)
        return ch_fail(m->err, CH_E_INPUT, "at most 160 bytes", "note of %s is %zu bytes long", owner->id,
                       strlen(owner->note));
    if (owner->thread == NULL || owner->property_class == NULL)
        return CH_OK;
    ch_thread thread;
    ch_property_class property_class;
    ch_err why = {0};
    ch_status rc = ch_thread_parse(owner->thread, strlen(owner->thread), &thread, &why);
    if (rc >= 0)
        rc = ch_property_class_parse(owner->property_class, strlen(owner->property_class), &property_class, &why);
    if (rc >= 0)
        rc = ch_fastener_estimate_torque(&thread, property_class, owner->surface, CH_FASTENER_PROOF_PART, &to->estimate,
                                         &why);
    if (rc < 0)
        return ch_fail(m->err, CH_E_INPUT, why.right, "%s: %.180s", owner->id, why.what);
    to->estimated = given;
    if (given)
        to->check = ch_fastener_check(&to->estimate, owner->torque.si);
    return CH_OK;
}

static ch_status add_steps(maker *m, ch_job_sheet_part part, const ch_jobs_work *of, const ch_work_step *steps,
                           size_t count)
{
    ch_job_sheet *to = m->to;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < steps[i].torques_count; k++) {
            const ch_work_named *what = &steps[i].torques[k];
            ch_job_sheet_torque *torque = &to->torques[to->torques_count];
            *torque = (ch_job_sheet_torque){.step = to->steps_count, .what = what, .owner = owner_of(m, what->id)};
            if (torque->owner != NULL) {
                const ch_status rc = cross_check(m, torque);
                if (rc < 0)
                    return rc;
            }
            to->torques_count++;
        }
        for (size_t k = 0; k < steps[i].takes_off_count; k++)
            to->put_back[to->put_back_count++] = (ch_job_sheet_thing){of, &steps[i].takes_off[k]};
        to->steps[to->steps_count++] = (ch_job_sheet_step){part, of, &steps[i]};
    }
    return CH_OK;
}

static void add_time(ch_work_time *to, const ch_work_time *more)
{
    to->least_s += more->least_s;
    to->likely_s += more->likely_s;
    to->most_s += more->most_s;
}

static void reverse(ch_job_sheet_thing *things, size_t n)
{
    for (size_t i = 0; i < n / 2; i++) {
        const ch_job_sheet_thing last = things[n - 1 - i];
        things[n - 1 - i] = things[i];
        things[i] = last;
    }
}

/* How many steps, torques and things a list of steps adds. */
static void count_steps(const ch_work_step *steps, size_t count, size_t n[3])
{
    n[0] += count;
    for (size_t i = 0; i < count; i++) {
        n[1] += steps[i].torques_count;
        n[2] += steps[i].takes_off_count;
    }
}

static ch_status make_room(maker *m)
{
    size_t n[3] = {1, 1, 1}; /* an array of none is still asked for */
    for (size_t i = 0; i < m->to->access_count; i++) {
        const ch_access *access = &m->jobs->access[m->to->access[i]];
        count_steps(access->work.steps, access->work.steps_count, n);
        count_steps(access->back_steps, access->back_steps_count, n);
    }
    count_steps(m->to->job->work.steps, m->to->job->work.steps_count, n);
    m->to->steps = calloc(n[0], sizeof *m->to->steps);
    m->to->torques = calloc(n[1], sizeof *m->to->torques);
    m->to->put_back = calloc(n[2], sizeof *m->to->put_back);
    if (m->to->steps == NULL || m->to->torques == NULL || m->to->put_back == NULL)
        return ch_fail(m->err, CH_E_MEMORY, NULL, "no memory for the job sheet");
    return CH_OK;
}

static ch_status fill(maker *m)
{
    ch_job_sheet *to = m->to;
    ch_status rc = make_room(m);
    for (size_t i = 0; rc >= 0 && i < to->access_count; i++) {
        const ch_access *access = &m->jobs->access[to->access[i]];
        rc = add_steps(m, CH_JOB_SHEET_OPEN, &access->work, access->work.steps, access->work.steps_count);
        add_time(&to->open, &access->work.time);
        add_time(&to->close, &access->back);
    }
    if (rc >= 0)
        rc = add_steps(m, CH_JOB_SHEET_WORK, &to->job->work, to->job->work.steps, to->job->work.steps_count);
    to->work = to->job->work.time;
    for (size_t i = to->access_count; rc >= 0 && i-- > 0;) {
        const ch_access *access = &m->jobs->access[to->access[i]];
        rc = add_steps(m, CH_JOB_SHEET_CLOSE, &access->work, access->back_steps, access->back_steps_count);
    }
    if (rc >= 0)
        reverse(to->put_back, to->put_back_count);
    return rc;
}

ch_status ch_job_sheet_make(const ch_jobs *jobs, ch_drive drive, size_t place, bool with_access,
                            const ch_owner_torque torques[], size_t n, ch_job_sheet *sheet, ch_err *err)
{
    size_t access[CH_ACCESS_MAX], access_count = 0;
    ch_status rc = ch_jobs_closure(jobs, drive, &place, 1, access, &access_count, err);
    if (rc < 0)
        return rc;
    ch_job_sheet made = {.job = &jobs->jobs[place], .with_access = with_access};
    maker m = {jobs, torques, n, &made, err};
    if (with_access) {
        made.access_count = access_count;
        made.access = calloc(access_count + 1, sizeof *made.access);
        if (made.access == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the job sheet");
        memcpy(made.access, access, access_count * sizeof *access);
    }
    rc = fill(&m);
    if (rc >= 0)
        rc = ch_jobs_shopping(jobs, drive, &place, 1, with_access, &made.shopping, err);
    if (rc < 0) {
        ch_job_sheet_clear(&made);
        return rc;
    }
    *sheet = made;
    return CH_OK;
}

void ch_job_sheet_clear(ch_job_sheet *sheet)
{
    free(sheet->access);
    free(sheet->steps);
    free(sheet->torques);
    free(sheet->put_back);
    ch_shopping_clear(&sheet->shopping);
    *sheet = (ch_job_sheet){0};
}

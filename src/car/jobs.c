/*
 * Parts, access steps and jobs as one: each file is read by itself, in the order in which they refer to each other, then they are held
 * against each other.
 * 1. The output is touched only after everything has been read and found right.
 * 2. Texts are not copied: the trees of the files are kept, and all `const char *` point into them.
 */
#include "crosshatch/jobs.h"

#include <stdint.h>
#include <string.h>

#include "crosshatch/text.h"
#include "jobs_read.h"

static const char *const file_names[CH_JOBS_FILES] = {"parts.yaml", "access.yaml", "jobs.yaml"};

static void read_root(jobs_reader *jr, const ch_knowledge_text *text, ch_jobs_file file)
{
    static const char *const headings[CH_JOBS_FILES] = {"parts", "access", "jobs"};
    jr->file[file] = text->name;
    jr->root[file] = knowledge_open(&jr->r, text, headings[file]);
}

ch_status ch_jobs_parse(ch_jobs *jobs, const ch_knowledge *knowledge, const ch_knowledge_text texts[CH_JOBS_FILES],
                        ch_err *err)
{
    ch_knowledge owner = *knowledge;
    owner.pieces = NULL;
    ch_jobs made = {0};
    jobs_reader jr = {.r = {.to = &owner, .err = err}, .to = &made};
    for (int i = 0; i < CH_JOBS_FILES; i++)
        read_root(&jr, &texts[i], (ch_jobs_file)i);
    jobs_read_goods(&jr);
    jobs_read_access(&jr);
    jobs_read_jobs(&jr);
    jobs_check_ids(&jr);
    jobs_check_cycles(&jr);
    jobs_check_cures(&jr);
    made.pieces = owner.pieces;
    if (jr.r.status < 0) {
        ch_jobs_clear(&made);
        return jr.r.status;
    }
    *jobs = made;
    return CH_OK;
}

void ch_jobs_clear(ch_jobs *jobs)
{
    ch_knowledge owner = {.pieces = jobs->pieces};
    ch_knowledge_clear(&owner);
    *jobs = (ch_jobs){0};
}

const char *ch_jobs_file_name(ch_jobs_file file)
{
    return (unsigned)file < CH_JOBS_FILES ? file_names[file] : NULL;
}

const ch_job *ch_job_find(const ch_jobs *jobs, const char *id, size_t length)
{
    const size_t place = knowledge_name_find(&jobs->job_names, id, length);
    return place != SIZE_MAX ? &jobs->jobs[place] : NULL;
}

const ch_access *ch_access_find(const ch_jobs *jobs, const char *id, size_t length)
{
    const size_t place = knowledge_name_find(&jobs->access_names, id, length);
    return place != SIZE_MAX ? &jobs->access[place] : NULL;
}

const ch_goods *ch_goods_find(const ch_jobs *jobs, const char *id, size_t length)
{
    const size_t place = knowledge_name_find(&jobs->goods_names, id, length);
    return place != SIZE_MAX ? &jobs->goods[place] : NULL;
}

const char *ch_job_nearest(const ch_jobs *jobs, const char *id, size_t length)
{
    return ch_nearest_word(id, length, jobs->job_names.name, jobs->job_names.count);
}

bool ch_job_cures(const ch_job *job, const char *cause)
{
    for (size_t i = 0; i < job->cures_count; i++)
        if (strcmp(job->cures[i], cause) == 0)
            return true;
    return false;
}

static bool has_place(const ch_places *places, size_t place)
{
    for (size_t i = 0; i < places->count; i++)
        if (places->at[i] == place)
            return true;
    return false;
}

bool ch_job_car_has_one(const ch_jobs *jobs, size_t job, size_t other)
{
    return has_place(&jobs->jobs[job].car_has_one, other) || has_place(&jobs->jobs[other].car_has_one, job);
}

const char *ch_clutch_cause_name(size_t i)
{
    static const char *const names[] = {"worn",    "glazed", "oil_contaminated", "pressure_plate", "hydraulic_or_cable",
                                        "flywheel"};
    return i < sizeof names / sizeof names[0] ? names[i] : NULL;
}

const char *ch_drive_name(ch_drive drive)
{
    static const char *const names[CH_DRIVES] = {"rear", "front"};
    return (unsigned)drive < CH_DRIVES ? names[drive] : NULL;
}

const char *ch_goods_kind_name(ch_goods_kind kind)
{
    static const char *const names[] = {"part", "seal", "fastener", "fluid", "consumable"};
    return (unsigned)kind <= CH_GOODS_CONSUMABLE ? names[kind] : NULL;
}

const char *ch_retest_name(ch_retest_by by)
{
    static const char *const names[] = {"compression", "leak_down", "slip_log", "leak_check", "pressure",
                                        "pedal",       "road",      "look",     "torque"};
    return (unsigned)by <= CH_RETEST_TORQUE ? names[by] : NULL;
}

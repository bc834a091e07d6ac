/*
 * Any bytes as one of the files of winter work and upkeep: the first byte says which (parts, access, jobs, part lives, inspection), the rest is the
 * text; the others are the built-in ones. What is accepted must give a way to open every job, and a sheet and a shopping list for it; what is refused
 * must say why and where, and hold nothing.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/inspection.h"
#include "crosshatch/job_sheet.h"
#include "fuzz.h"

enum { LIVES = CH_JOBS_FILES, INSPECTION, KINDS };

static void must(bool held)
{
    if (!held)
        abort();
}

static bool accepted(ch_status status, const ch_err *err)
{
    must(status == err->status);
    if (status >= 0)
        return true;
    must(status == CH_E_INPUT || status == CH_E_LIMIT);
    must(err->what[0] != '\0' && err->file[0] != '\0');
    return false;
}

static void use_jobs(const ch_jobs *jobs)
{
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t i = 0; i < jobs->jobs_count; i++) {
            ch_job_sheet sheet = {0};
            const ch_status status = ch_job_sheet_make(jobs, (ch_drive)drive, i, true, NULL, 0, &sheet, NULL);
            must(status == (jobs->jobs[i].work.drives[drive] ? CH_OK : CH_E_INPUT));
            if (status < 0)
                continue;
            must(sheet.access_count <= jobs->access_count && sheet.steps_count >= 2 * sheet.access_count + 1);
            must(sheet.shopping.sum.least <= sheet.shopping.sum.likely &&
                 sheet.shopping.sum.likely <= sheet.shopping.sum.most);
            must(sheet.open.least_s <= sheet.open.likely_s && sheet.open.likely_s <= sheet.open.most_s);
            ch_job_sheet_clear(&sheet);
        }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ch_knowledge knowledge; /* read once: the built-in files do not change between inputs */
    static ch_jobs builtin;
    static ch_part_lives builtin_lives;
    if (knowledge.pieces == NULL) {
        must(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) == CH_OK);
        must(ch_jobs_parse(&builtin, &knowledge, ch_jobs_builtin(), NULL) == CH_OK);
        must(ch_part_lives_parse(&builtin_lives, &builtin, ch_part_lives_builtin(), NULL) == CH_OK);
    }
    if (size == 0)
        return 0;
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const bytes = malloc(size);
    if (bytes == NULL)
        return 0;
    memcpy(bytes, data + 1, size - 1);
    const ch_knowledge_text text = {"f.yaml", bytes, size - 1};
    const int kind = data[0] % KINDS;
    ch_err err = {0};
    if (kind == LIVES) {
        ch_part_lives lives = {0};
        if (accepted(ch_part_lives_parse(&lives, &builtin, &text, &err), &err))
            for (size_t i = 0; i < lives.count; i++)
                must(lives.parts[i].limits_count > 0);
        ch_part_lives_clear(&lives);
    } else if (kind == INSPECTION) {
        ch_inspection inspection = {0};
        if (accepted(ch_inspection_parse(&inspection, &knowledge, &builtin_lives, &text, &err), &err))
            for (size_t i = 0; i < inspection.count; i++)
                must(inspection.items[i].when != 0 && inspection.items[i].area < inspection.areas_count);
        ch_inspection_clear(&inspection);
    } else {
        ch_knowledge_text texts[CH_JOBS_FILES];
        memcpy(texts, ch_jobs_builtin(), sizeof texts);
        texts[kind] = text;
        ch_jobs jobs = {0};
        if (accepted(ch_jobs_parse(&jobs, &knowledge, texts, &err), &err))
            use_jobs(&jobs);
        ch_jobs_clear(&jobs);
    }
    free(bytes);
    return 0;
}

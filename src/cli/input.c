/* What a person named on the command line, read and checked. */
#include "input.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/tree.h"
#include "file.h"

ch_status input_sheet(const char *name, ch_sheet *sheet, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = file_read(name, CH_SHEET_BYTES_MAX, &bytes, &length, err);
    if (rc < 0)
        return rc;
    const char *shown = strcmp(name, "-") == 0 ? "standard input" : name;
    rc = ch_sheet_parse_typed(shown, bytes, length, sheet, err);
    if (rc < 0)
        ch_err_locate(err, shown, 0, 0);
    free(bytes);
    return rc;
}

enum { FILES_MAXIMUM = 8 };

/* Files of a folder of knowledge, to be parsed and given back. */
typedef struct folder_texts {
    ch_knowledge_text text[FILES_MAXIMUM];
    char *bytes[FILES_MAXIMUM];
    char name[FILES_MAXIMUM][PATH_MAX];
    int count;
} folder_texts;

static ch_status folder_read(folder_texts *texts, const char *folder, const char *file, ch_err *err)
{
    const int i = texts->count;
    const int size = snprintf(texts->name[i], sizeof texts->name[i], "%s/%s", folder, file);
    if (size < 0 || (size_t)size >= sizeof texts->name[i])
        return ch_fail(err, CH_E_USAGE, "a shorter name", "--knowledge: the folder's name is too long");
    const ch_status rc = file_read(texts->name[i], CH_TREE_BYTES_MAX, &texts->bytes[i], &texts->text[i].length, err);
    texts->text[i].name = texts->name[i];
    texts->text[i].text = texts->bytes[i];
    texts->count++;
    return rc;
}

static void folder_clear(folder_texts *texts)
{
    for (int i = 0; i < texts->count; i++)
        free(texts->bytes[i]);
}

ch_status input_knowledge(const char *folder, ch_knowledge *knowledge, ch_err *err)
{
    if (folder == NULL)
        return ch_knowledge_parse(knowledge, ch_knowledge_builtin(), err);
    folder_texts texts = {.count = 0};
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < CH_KNOWLEDGE_FILES; i++)
        rc = folder_read(&texts, folder, ch_knowledge_file_name((ch_knowledge_file)i), err);
    if (rc >= 0)
        rc = ch_knowledge_parse(knowledge, texts.text, err);
    folder_clear(&texts);
    return rc;
}

ch_status input_jobs(const char *folder, const ch_knowledge *knowledge, ch_jobs *jobs, ch_err *err)
{
    if (folder == NULL)
        return ch_jobs_parse(jobs, knowledge, ch_jobs_builtin(), err);
    folder_texts texts = {.count = 0};
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < CH_JOBS_FILES; i++)
        rc = folder_read(&texts, folder, ch_jobs_file_name((ch_jobs_file)i), err);
    if (rc >= 0)
        rc = ch_jobs_parse(jobs, knowledge, texts.text, err);
    folder_clear(&texts);
    return rc;
}

ch_status input_assumptions(const char *folder, ch_assumptions *assumptions, ch_err *err)
{
    if (folder == NULL)
        return ch_assumptions_parse(assumptions, ch_assumptions_builtin(), err);
    char name[PATH_MAX], *bytes = NULL;
    const int size = snprintf(name, sizeof name, "%s/decision.yaml", folder);
    if (size < 0 || (size_t)size >= sizeof name)
        return ch_fail(err, CH_E_USAGE, "a shorter name", "--knowledge: the folder's name is too long");
    ch_knowledge_text text = {.name = name};
    ch_status rc = file_read(name, CH_TREE_BYTES_MAX, &bytes, &text.length, err);
    text.text = bytes;
    if (rc >= 0)
        rc = ch_assumptions_parse(assumptions, &text, err);
    free(bytes);
    return rc;
}

uint64_t input_knowledge_mark(void)
{
    return ch_knowledge_mark(ch_knowledge_builtin());
}

static ch_status one_file(const char *folder, const char *file, char name[PATH_MAX], char **bytes,
                          ch_knowledge_text *text, ch_err *err)
{
    const int size = snprintf(name, PATH_MAX, "%s/%s", folder, file);
    if (size < 0 || size >= PATH_MAX)
        return ch_fail(err, CH_E_USAGE, "a shorter name", "--knowledge: the folder's name is too long");
    *text = (ch_knowledge_text){.name = name};
    const ch_status rc = file_read(name, CH_TREE_BYTES_MAX, bytes, &text->length, err);
    text->text = *bytes;
    return rc;
}

ch_status input_upkeep(const char *folder, const ch_knowledge *knowledge, const ch_jobs *jobs, ch_part_lives *lives,
                       ch_inspection *inspection, ch_err *err)
{
    char name[2][PATH_MAX], *bytes[2] = {NULL, NULL};
    ch_knowledge_text own[2];
    const ch_knowledge_text *text[2] = {ch_part_lives_builtin(), ch_inspection_builtin()};
    ch_part_lives made = {0};
    ch_status rc = CH_OK;
    for (int i = 0; folder != NULL && rc >= 0 && i < 2; i++) {
        rc = one_file(folder, i == 0 ? "part_lives.yaml" : "inspection.yaml", name[i], &bytes[i], &own[i], err);
        text[i] = &own[i];
    }
    if (rc >= 0)
        rc = ch_part_lives_parse(&made, jobs, text[0], err);
    if (rc >= 0)
        rc = ch_inspection_parse(inspection, knowledge, &made, text[1], err);
    if (rc >= 0)
        *lives = made;
    else
        ch_part_lives_clear(&made);
    free(bytes[0]);
    free(bytes[1]);
    return rc;
}

void input_made_by(char made_by[32])
{
    snprintf(made_by, 32, "%016llx", (unsigned long long)input_knowledge_mark());
}
ch_status input_clutch_knowledge(const char *folder, const ch_knowledge *knowledge, ch_clutch_knowledge *clutch,
                                 ch_err *err)
{
    if (folder == NULL)
        return ch_clutch_knowledge_parse(clutch, knowledge, ch_clutch_builtin(), err);
    char name[PATH_MAX], *bytes = NULL;
    size_t length = 0;
    const int size = snprintf(name, sizeof name, "%s/driveline.yaml", folder);
    if (size < 0 || (size_t)size >= sizeof name)
        return ch_fail(err, CH_E_USAGE, "a shorter name", "--knowledge: the folder's name is too long");
    ch_status rc = file_read(name, CH_TREE_BYTES_MAX, &bytes, &length, err);
    if (rc >= 0) {
        const ch_knowledge_text text = {.name = name, .text = bytes, .length = length};
        rc = ch_clutch_knowledge_parse(clutch, knowledge, &text, err);
    }
    free(bytes);
    return rc;
}

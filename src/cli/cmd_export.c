/* crosshatch export: the whole garage as one archive; or every sheet as a file of its own, and tables for a spreadsheet. */
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "crosshatch/store_driveline.h"
#include "crosshatch/store_sheet.h"
#include "file.h"
#include "file_stream.h"
#include "garage.h"

static ch_status name_in(const char *folder, const char *name, char path[static PATH_MAX], ch_err *err)
{
    const int size = snprintf(path, PATH_MAX, "%s/%s", folder, name);
    return size < 0 || size >= PATH_MAX ? ch_fail(err, CH_E_USAGE, "a shorter name", "the folder's name is too long")
                                        : CH_OK;
}

/* What is being written, and where. */
typedef struct target {
    const char *folder;
    ch_text written; /* each file's path with its NUL, to be taken away again: a path may hold anything else */
    ch_text *answer;
} target;

static ch_status write_one(target *to, const char *name, const char *bytes, size_t length, ch_err *err)
{
    char path[PATH_MAX];
    ch_status rc = name_in(to->folder, name, path, err);
    if (rc >= 0)
        rc = file_create(path, bytes, length, err);
    if (rc < 0)
        return rc;
    ch_text_append(&to->written, path, strlen(path) + 1);
    rc = ch_text_check(&to->written, err);
    if (rc < 0) /* what is not in the list would not be taken away */
        unlink(path);
    ch_text_appendf(to->answer, "%s\n", path);
    return rc < 0 ? rc : ch_text_check(to->answer, err);
}

/* A sheet that has no row yet is no sheet that a file could hold. */
static bool has_rows(const ch_sheet *sheet)
{
    return sheet->engine.cylinders > 0 &&
           sheet->compression_count + sheet->wet_count + sheet->leakdown_count + sheet->leaks_count > 0;
}

static ch_status write_sheet(ch_store *store, int64_t id, target *to, ch_err *err)
{
    ch_sheet sheet;
    char *bytes = NULL, name[48];
    size_t length = 0;
    ch_status rc = ch_store_sheet_load(store, id, &sheet, err);
    if (rc < 0)
        return rc;
    snprintf(name, sizeof name, "sheet-%04lld.yaml", (long long)id);
    if (has_rows(&sheet)) {
        rc = ch_sheet_write(&sheet, false, &bytes, &length, err);
        if (rc >= 0)
            rc = write_one(to, name, bytes, length, err);
        free(bytes);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

static ch_status write_table(ch_store *store, target *to, const char *name,
                             ch_status (*table)(ch_store *, ch_text *, ch_err *), ch_err *err)
{
    ch_text csv;
    ch_text_init(&csv, CLI_ANSWER_MAXIMUM);
    ch_status rc = table(store, &csv, err);
    if (rc >= 0 && csv.length > 0) /* a table of what the garage does not have is not written */
        rc = write_one(to, name, ch_text_string(&csv), csv.length, err);
    ch_text_clear(&csv);
    return rc;
}

static ch_status write_all(ch_store *store, target *to, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_sheet *sheets = NULL;
    size_t count = 0;
    ch_status rc = ch_store_sheets(store, &pool, 0, &sheets, &count, err);
    for (size_t i = count; rc >= 0 && i-- > 0;)
        rc = write_sheet(store, sheets[i].id, to, err);
    if (rc >= 0)
        rc = write_table(store, to, "readings.csv", ch_store_readings_csv, err);
    if (rc >= 0)
        rc = write_table(store, to, "history.csv", ch_store_history_csv, err);
    if (rc >= 0)
        rc = write_table(store, to, "runs.csv", ch_store_runs_csv, err);
    ch_store_pool_clear(&pool);
    return rc;
}

/* All or nothing. */
static void take_away(const ch_text *written)
{
    const char *path = ch_text_string(written);
    for (const char *end = path + written->length; path < end; path += strlen(path) + 1)
        unlink(path);
}

static ch_status export_folder(const cli_options *options, ch_store *store, ch_text *answer, ch_err *err)
{
    target to = {.folder = options->file, .answer = answer};
    ch_status rc = CH_OK;
    ch_text_init(&to.written, CLI_ANSWER_MAXIMUM);
    const bool made = mkdir(to.folder, 0777) == 0;
    if (!made && errno != EEXIST) {
        rc = ch_fail(err, CH_E_IO, NULL, "the folder cannot be made: %s", strerror(errno));
        ch_err_locate(err, to.folder, 0, 0);
    }
    if (rc >= 0)
        rc = write_all(store, &to, err);
    if (rc < 0) {
        take_away(&to.written);
        if (made)
            rmdir(to.folder);
    }
    ch_text_clear(&to.written);
    return rc;
}

static ch_status export_archive(const cli_options *options, ch_store *store, ch_text *answer, ch_err *err)
{
    file_new *file = NULL;
    ch_store_archive_told told = {0};
    ch_status rc = file_new_open(options->file, &file, err);
    if (rc < 0)
        return rc;
    rc = ch_store_archive_write(store, file_new_write, file, &told, err);
    if (rc >= 0) {
        /* The answer first: with no memory left for it, an archive that is there would be called a failure. */
        ch_text_appendf(answer, "%s: the whole garage, %lld sheets and %lld photos\n", options->file,
                        (long long)told.sheets, (long long)told.photos);
        rc = ch_text_check(answer, err);
    }
    if (rc >= 0)
        rc = file_new_keep(file, err);
    else
        file_new_drop(file);
    return rc;
}

static bool names_archive(const char *name)
{
    const char *ending = strrchr(name, '.');
    return ending != NULL && strcasecmp(ending, ".zip") == 0;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_store *store = NULL;
    ch_status rc = garage_open(options, CH_STORE_READ_ONLY, &store, err);
    if (rc < 0)
        return rc;
    rc = names_archive(options->file) ? export_archive(options, store, answer, err)
                                      : export_folder(options, store, answer, err);
    ch_store_close(store);
    return rc < 0 ? rc : ch_text_check(answer, err);
}

const cli_command cli_export = {
    .name = "export",
    .summary = "the whole garage as one archive, or its sheets as files",
    .synopsis = "FILE.zip|DIR",
    .help = "To a name that ends in .zip: the whole garage as one archive, photos, ledger, corrections\n"
            "and all, which `import` reads into an empty garage, the same to the last byte. Inside are\n"
            "plain files: tables as CSV, sheets as YAML, photos, and the digest of each.\n\n"
            "To a folder DIR, which is made where it is missing: sheet-0001.yaml and so on, one a\n"
            "sheet, readings.csv and history.csv for a spreadsheet, and runs.csv, every slip of the\n"
            "logged runs, where the garage has any. The sheets import into any garage.\n\n"
            "Nothing that is there already is written over.\n",
    .options = CLI_COMMON | CLI_GARAGE,
    .takes_file = true,
    .makes_file = true,
    .file_is = "an archive's name or a folder",
    .run = run,
};

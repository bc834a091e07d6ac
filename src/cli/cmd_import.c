/* crosshatch import: sheets from files into the garage, each once; a table of old readings; or a whole garage out of its archive. */
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "crosshatch/history.h"
#include "crosshatch/store_sheet.h"
#include "file_stream.h"
#include "garage.h"
#include "import_table.h"
#include "input.h"

enum { FILES_MAX = 10000 };

typedef struct names {
    char **list;
    size_t count;
} names;

static void names_clear(names *n)
{
    for (size_t i = 0; i < n->count; i++)
        free(n->list[i]);
    free(n->list);
    *n = (names){0};
}

static ch_status names_add(names *n, const char *name, ch_err *err)
{
    if (n->count == FILES_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 10000 files at once", "the folder holds too many sheets");
    char **grown = realloc(n->list, (n->count + 1) * sizeof *grown);
    if (grown != NULL)
        n->list = grown;
    char *copy = grown == NULL ? NULL : strdup(name);
    if (copy == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the files' names");
    n->list[n->count++] = copy;
    return CH_OK;
}

static int by_name(const void *a, const void *b)
{
    const char *x = *(char *const *)a, *y = *(char *const *)b;
    return strcmp(x, y);
}

static bool ends_in(const char *name, const char *tail)
{
    const size_t length = strlen(name), n = strlen(tail);
    return length > n && strcmp(name + length - n, tail) == 0;
}

/* The sheets of a folder, by name, or the one file. */
static ch_status list_files(const char *name, names *n, ch_err *err)
{
    struct stat there;
    if (strcmp(name, "-") == 0 || stat(name, &there) != 0 || !S_ISDIR(there.st_mode))
        return names_add(n, name, err);
    DIR *folder = opendir(name);
    if (folder == NULL) {
        ch_fail(err, CH_E_INPUT, "a folder that may be read", "cannot be opened: %s", strerror(errno));
        ch_err_locate(err, name, 0, 0);
        return CH_E_INPUT;
    }
    ch_status rc = CH_OK;
    char path[PATH_MAX];
    for (const struct dirent *e = readdir(folder); rc >= 0 && e != NULL; e = readdir(folder)) {
        if (!ends_in(e->d_name, ".yaml") && !ends_in(e->d_name, ".yml") && !ends_in(e->d_name, ".json"))
            continue;
        const int size = snprintf(path, sizeof path, "%s/%s", name, e->d_name);
        rc = size < 0 || (size_t)size >= sizeof path
                 ? ch_fail(err, CH_E_USAGE, "a shorter name", "the folder's name is too long")
                 : names_add(n, path, err);
    }
    closedir(folder);
    if (rc >= 0 && n->count == 0) {
        rc = ch_fail(err, CH_E_INPUT, "files named .yaml, .yml or .json", "the folder holds no sheet");
        ch_err_locate(err, name, 0, 0);
    }
    if (rc >= 0)
        qsort(n->list, n->count, sizeof *n->list, by_name);
    return rc;
}

static ch_status import_one(ch_store *store, int64_t car_id, const char *name, ch_text *answer, ch_err *err)
{
    ch_sheet sheet;
    ch_store_brought told = {0};
    ch_status rc = input_sheet(name, &sheet, err);
    if (rc < 0)
        return rc;
    rc = ch_store_sheets_bring(store, car_id, &sheet, 1, garage_now_s(), &told, err);
    /* Kept all the same: it may be the clock that is wrong. */
    const bool to_come = ch_history_to_come(sheet.conditions.date, garage_today());
    ch_sheet_clear(&sheet);
    if (rc == CH_E_INPUT)
        ch_err_locate(err, name, 0, 0);
    if (rc >= 0)
        ch_text_appendf(
            answer, "%s: %s sheet %lld%s%s\n", name, told.last.again ? "was here already as" : "is now",
            (long long)told.last.id, told.without_engine > 0 ? ", of none of the car's engines: it has no day" : "",
            to_come ? ". Its day is still to come: put it right on the sheet, which counts for nothing until then"
                    : "");
    return rc;
}

/* Every file must be a sheet before the first one is stored, or a garage file made for it. What comes through a pipe can be read only once. */
static ch_status check_all(const names *n, ch_err *err)
{
    ch_status rc = CH_OK;
    for (size_t i = 0; rc >= 0 && strcmp(n->list[0], "-") != 0 && i < n->count; i++) {
        ch_sheet sheet;
        rc = input_sheet(n->list[i], &sheet, err);
        if (rc >= 0)
            ch_sheet_clear(&sheet);
    }
    return rc;
}

/* Does the file begin as a ZIP file does (PK 3 4, or PK 5 6 of one without files)? */
static ch_status look_whether_archive(const char *name, bool *is, ch_err *err)
{
    struct stat there;
    ch_store_source source = {0};
    char first[4] = "";
    size_t got = 0;
    *is = false;
    if (stat(name, &there) != 0 || !S_ISREG(there.st_mode))
        return CH_OK;
    ch_status rc = file_source_open(name, &source, err);
    if (rc >= 0)
        rc = source.read(source.context, 0, first, sizeof first, &got, err);
    file_source_close(&source);
    *is = rc >= 0 && got == sizeof first && (memcmp(first, "PK\3\4", 4) == 0 || memcmp(first, "PK\5\6", 4) == 0);
    return rc;
}

/* Room for so much more text before what cannot be undone is done. */
static ch_status make_room(ch_text *answer, size_t length, ch_err *err)
{
    const size_t was = answer->length;
    ch_text_appendf(answer, "%*s", (int)length, "");
    const ch_status rc = ch_text_check(answer, err);
    if (rc >= 0) {
        answer->length = was;
        answer->bytes[was] = '\0';
    }
    return rc;
}

static ch_status import_archive(const cli_options *options, ch_text *answer, ch_err *err)
{
    char path[PATH_MAX];
    ch_store_source source = {0};
    ch_store_archive_told told = {0};
    ch_status rc = file_source_open(options->file, &source, err);
    if (rc >= 0)
        rc = garage_path(options, true, path, sizeof path, err);
    if (rc >= 0)
        rc = make_room(answer, strlen(options->file) + strlen(path) + 100, err);
    if (rc >= 0)
        rc = ch_store_archive_read(&source, path, &told, err);
    file_source_close(&source);
    if (rc < 0)
        return rc;
    ch_text_appendf(answer, "%s: a whole garage, %lld sheets and %lld photos, is now %s\n", options->file,
                    (long long)told.sheets, (long long)told.photos, path);
    return ch_text_check(answer, err);
}

static ch_status import_sheets(const cli_options *options, ch_text *answer, ch_err *err)
{
    names n = {0};
    ch_store *store = NULL;
    ch_store_pool pool = {0};
    int64_t car_id = 0;
    ch_status rc = list_files(options->file, &n, err);
    if (rc >= 0)
        rc = check_all(&n, err);
    if (rc >= 0)
        rc = garage_open(options, CH_STORE_CREATE, &store, err);
    if (rc >= 0 && options->car != NULL)
        rc = garage_car(options, store, &pool, "import", &car_id, err);
    for (size_t i = 0; rc >= 0 && i < n.count; i++)
        rc = import_one(store, car_id, n.list[i], answer, err);
    ch_store_pool_clear(&pool);
    ch_store_close(store);
    names_clear(&n);
    return rc < 0 ? rc : ch_text_check(answer, err);
}

/* Most of them are ZIP files inside, and would be called a damaged archive. */
static bool names_workbook(const char *name)
{
    static const char *const endings[] = {".xlsx", ".xlsm", ".xls", ".ods", ".numbers"};
    const char *ending = strrchr(name, '.');
    for (size_t i = 0; ending != NULL && i < sizeof endings / sizeof endings[0]; i++)
        if (strcasecmp(ending, endings[i]) == 0)
            return true;
    return false;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    if (import_names_table(options->file))
        return import_table(options, answer, err);
    if (options->given & (CLI_COLUMN | CLI_DRY_RUN | CLI_UNITS))
        return ch_fail(err, CH_E_USAGE, "a table: a name that ends in .csv, .tsv or .txt",
                       "import: --column, --units and --dry-run are for tables");
    if (names_workbook(options->file)) {
        ch_fail(err, CH_E_INPUT, "its table, saved there as \"CSV UTF-8\"", "is a workbook of a spreadsheet");
        ch_err_locate(err, options->file, 0, 0);
        return CH_E_INPUT;
    }
    bool archive = false;
    const ch_status rc = look_whether_archive(options->file, &archive, err);
    if (rc >= 0 && archive && (options->given & CLI_CAR))
        return ch_fail(err, CH_E_USAGE, "without --car: its cars are in it", "import: an archive is a whole garage");
    return rc < 0 ? rc : archive ? import_archive(options, answer, err) : import_sheets(options, answer, err);
}

const cli_command cli_import = {
    .name = "import",
    .summary = "sheets, old readings from a table, or a whole garage",
    .synopsis = "FILE|DIR",
    .help = "Stores a test sheet, YAML or JSON, or every .yaml, .yml and .json of a folder, in the\n"
            "garage file, which is made where it is missing. A sheet that was imported before is\n"
            "not stored again, so an import that was broken off can be repeated.\n\n"
            "An archive that `export` wrote is read into an empty garage, photos and all: whole and\n"
            "unchanged, or nothing of it.\n\n"
            "A table of old readings (.csv, .tsv, .txt) becomes sheets: a row a reading, or a row a\n"
            "test with a column for each cylinder. Columns are found by their headers and units;\n"
            "--column reading=COLUMN:psi and so on overrides, COLUMN being a header or a number.\n"
            "--dry-run shows first what would come of it.\n\n"
            "With --car the tests, of a table or of sheets, go to the engine that was in that car on\n"
            "their day, and take from there what they do not say of it themselves.\n",
    .options = CLI_COMMON | CLI_GARAGE | CLI_COLUMN | CLI_UNITS | CLI_CAR | CLI_DRY_RUN,
    .takes_file = true,
    .file_is = "a test sheet, a folder of them, an archive or a table",
    .run = run,
};

#include "output.h"

#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "garage.h"

/* ---- the ending ---- */

/* The first ending of each form is the one that is advised. */
static const struct {
    const char *ending;
    cli_form form;
} ENDINGS[] = {{".pdf", CLI_FORM_PDF},   {".html", CLI_FORM_HTML}, {".htm", CLI_FORM_HTML},  {".svg", CLI_FORM_SVG},
               {".csv", CLI_FORM_CSV},   {".ics", CLI_FORM_ICS},   {".json", CLI_FORM_JSON}, {".txt", CLI_FORM_TEXT},
               {".zip", CLI_FORM_NONE},  {".db", CLI_FORM_NONE},   {".yaml", CLI_FORM_NONE}, {".yml", CLI_FORM_NONE},
               {".png", CLI_FORM_NONE},  {".jpg", CLI_FORM_NONE},  {".xlsx", CLI_FORM_NONE}, {".ods", CLI_FORM_NONE},
               {".docx", CLI_FORM_NONE}, {".odt", CLI_FORM_NONE}};
enum { ENDING_COUNT = sizeof ENDINGS / sizeof ENDINGS[0] };

static const char *ending_of(const char *name)
{
    const char *slash = strrchr(name, '/'), *dot = strrchr(name, '.');
    return dot != NULL && (slash == NULL || dot > slash) ? dot : "";
}

cli_form output_form(const char *name)
{
    const char *ending = name != NULL ? ending_of(name) : "";
    for (size_t i = 0; i < ENDING_COUNT; i++)
        if (strcasecmp(ending, ENDINGS[i].ending) == 0)
            return ENDINGS[i].form;
    return CLI_FORM_TEXT;
}

/* "a name that ends in .pdf, .html or .txt" */
static void name_endings(unsigned forms, char *text, size_t size)
{
    const char *named[ENDING_COUNT];
    size_t count = 0, used = (size_t)snprintf(text, size, "a name that ends in ");
    unsigned done = 0;
    for (size_t i = 0; i < ENDING_COUNT; i++)
        if ((forms & (unsigned)ENDINGS[i].form) && !(done & (unsigned)ENDINGS[i].form)) {
            done |= (unsigned)ENDINGS[i].form;
            named[count++] = ENDINGS[i].ending;
        }
    for (size_t i = 0; i < count && used < size; i++)
        used += (size_t)snprintf(text + used, size - used, "%s%s",
                                 i == 0          ? ""
                                 : i + 1 < count ? ", "
                                                 : " or ",
                                 named[i]);
}

/* The form that an option asks for, whatever the name; 0 = none does. */
static unsigned form_by_option(const cli_options *options)
{
    if (options->given & CLI_JSON)
        return CLI_FORM_JSON;
    if (options->given & CLI_ICS)
        return CLI_FORM_ICS;
    return options->given & (CLI_CSV | CLI_SHOPPING) ? CLI_FORM_CSV : 0;
}

ch_status output_check_form(const cli_command *command, const cli_options *options, ch_err *err)
{
    if (options->output == NULL)
        return CH_OK;
    const cli_form form = output_form(options->output);
    const unsigned asked = form_by_option(options),
                   own = command->forms != 0 ? command->forms : (unsigned)CLI_FORM_TEXT;
    /* A name whose ending says nothing suits whatever an option asks for. */
    const unsigned fitting = asked != 0 ? asked | CLI_FORM_TEXT : own;
    if (fitting & (unsigned)form)
        return CH_OK;
    char right[128], shown[64];
    ch_text_excerpt(options->output, strlen(options->output), shown, sizeof shown);
    name_endings(asked != 0 ? asked : own, right, sizeof right);
    if (asked == 0 && form == CLI_FORM_JSON && (command->options & CLI_JSON))
        snprintf(right, sizeof right, "--json beside it");
    return ch_fail(err, CH_E_USAGE, right, "%s: -o \"%s\": %s", command->name, shown,
                   form == CLI_FORM_TEXT ? "unknown ending of the file's name"
                                         : "the answer is not what the ending of the file's name says");
}

/* ---- the place ---- */

/* The folder that the name lies in, and its name there, without slashes at the end. False where it is too long. */
static bool split(const char *name, char folder[static PATH_MAX], const char **last, size_t *length)
{
    size_t end = strlen(name);
    while (end > 1 && name[end - 1] == '/')
        end--;
    size_t start = end;
    while (start > 0 && name[start - 1] != '/')
        start--;
    if (start >= PATH_MAX)
        return false;
    snprintf(folder, PATH_MAX, "%.*s", (int)(start > 0 ? start : 1), start > 0 ? name : ".");
    *last = name + start;
    *length = end - start;
    return true;
}

static bool same_thing(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

/* Do both names lead to one file or folder, or will they when it is made? Devices may well be read from and written to. */
static bool same_place(const char *a, const char *b)
{
    struct stat here, there;
    const bool a_is = stat(a, &here) == 0, b_is = stat(b, &there) == 0;
    if (a_is && b_is)
        return (S_ISREG(here.st_mode) || S_ISDIR(here.st_mode)) && same_thing(&here, &there);
    char folder_a[PATH_MAX], folder_b[PATH_MAX];
    const char *last_a, *last_b;
    size_t length_a, length_b;
    if (a_is || b_is || !split(a, folder_a, &last_a, &length_a) || !split(b, folder_b, &last_b, &length_b))
        return false;
    if (length_a != length_b || strncmp(last_a, last_b, length_a) != 0)
        return false;
    return stat(folder_a, &here) == 0 && stat(folder_b, &there) == 0 ? same_thing(&here, &there)
                                                                     : strcmp(folder_a, folder_b) == 0;
}

static ch_status is_the(const char *what, ch_err *err)
{
    return ch_fail(err, CH_E_USAGE, "another file", "--output names %s", what);
}

static ch_status check_garage(const cli_options *options, ch_err *err)
{
    /* SQLite keeps what was written last beside the file: https://sqlite.org/fileformat2.html, 1.5 and 4. */
    static const char *const beside[] = {"", "-wal", "-shm", "-journal"};
    char garage[PATH_MAX - 16], name[PATH_MAX];
    ch_err ignored = {0}; /* without a garage there is none to destroy, and the verb says so itself */
    if (garage_path(options, false, garage, sizeof garage, &ignored) < 0)
        return CH_OK;
    for (size_t i = 0; i < sizeof beside / sizeof beside[0]; i++) {
        snprintf(name, sizeof name, "%s%s", garage, beside[i]);
        if (same_place(name, options->output))
            return is_the(i == 0 ? "the garage file itself" : "a part of the garage file", err);
    }
    return CH_OK;
}

ch_status output_check_place(const cli_command *command, const cli_options *options, ch_err *err)
{
    const char *output = options->output;
    if (output == NULL)
        return CH_OK;
    if (options->file != NULL && same_place(options->file, output))
        return is_the(command->file_is != NULL ? "the file itself" : "the sheet itself", err);
    if (command->car_is_file && options->car != NULL && same_place(options->car, output))
        return is_the("the car's file", err);
    return command->options & CLI_GARAGE ? check_garage(options, err) : CH_OK;
}

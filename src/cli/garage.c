/* Where the garage file lies, and what time it is. */
#include "garage.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "crosshatch/store_car.h"

/* Make the folder and those above it, for the owner alone, as the specification asks. */
static ch_status make_folders(char *path, ch_err *err)
{
    for (char *slash = path + 1; *slash != '\0'; slash++) {
        if (*slash != '/')
            continue;
        *slash = '\0';
        const int failed = mkdir(path, 0700) != 0 && errno != EEXIST ? errno : 0;
        if (failed != 0) {
            ch_fail(err, CH_E_IO, NULL, "the folder cannot be made: %s", strerror(failed));
            ch_err_locate(err, path, 0, 0);
            return CH_E_IO;
        }
        *slash = '/';
    }
    return CH_OK;
}

ch_status garage_path(const cli_options *options, bool make_folder, char *path, size_t size, ch_err *err)
{
    int length = 0;
    /* A relative path in XDG_DATA_HOME is invalid and to be ignored: XDG Base Directory Specification 0.8, section 2. */
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (options->garage != NULL)
        length = snprintf(path, size, "%s", options->garage);
    else if (data != NULL && data[0] == '/')
        length = snprintf(path, size, "%s/crosshatch/garage.db", data);
    else if (home != NULL && home[0] == '/')
        length = snprintf(path, size, "%s/.local/share/crosshatch/garage.db", home);
    else
        return ch_fail(err, CH_E_USAGE, "--garage FILE", "there is no home folder to keep the garage file in");
    if (length < 0 || (size_t)length >= size)
        return ch_fail(err, CH_E_LIMIT, "a shorter name", "the garage file's name is too long");
    return make_folder && options->garage == NULL ? make_folders(path, err) : CH_OK;
}

void garage_say_read_only(const char *path)
{
    fprintf(stderr, "crosshatch: %s: may only be read: it is shown as it is, and nothing can be entered\n", path);
}

/* What is there to enter something fails before it begins. */
static ch_status open_and_say(const char *path, ch_store_mode mode, ch_store **store, ch_err *err)
{
    ch_store *opened = NULL;
    const ch_status rc = ch_store_open(path, mode, &opened, err);
    if (rc < 0)
        return rc;
    const bool read_only = ch_store_read_only(opened);
    if (read_only && mode == CH_STORE_CREATE) {
        ch_store_close(opened);
        ch_fail(err, CH_E_IO, "copy it into a folder that may be written, and name the copy with --garage",
                "the garage file may only be read");
        ch_err_locate(err, path, 0, 0);
        return CH_E_IO;
    }
    if (read_only && mode == CH_STORE_OPEN)
        garage_say_read_only(path);
    *store = opened;
    return CH_OK;
}

ch_status garage_open(const cli_options *options, ch_store_mode mode, ch_store **store, ch_err *err)
{
    char path[PATH_MAX];
    struct stat there;
    const ch_status rc = garage_path(options, mode == CH_STORE_CREATE, path, sizeof path, err);
    if (rc >= 0 && mode != CH_STORE_CREATE && stat(path, &there) != 0 && errno == ENOENT) {
        ch_fail(err, CH_E_INPUT, "crosshatch import SHEET or crosshatch serve makes one, --garage FILE names another",
                "there is no garage file yet");
        ch_err_locate(err, path, 0, 0);
        return CH_E_INPUT;
    }
    return rc < 0 ? rc : open_and_say(path, mode, store, err);
}

int64_t garage_now_s(void)
{
    return (int64_t)time(NULL);
}

ch_date garage_today(void)
{
    const time_t now = time(NULL);
    struct tm local;
    if (localtime_r(&now, &local) == NULL)
        return ch_date_from_days((long)(now / 86400));
    return (ch_date){local.tm_year + 1900, local.tm_mon + 1, local.tm_mday};
}

ch_date garage_made_on(void)
{
    const char *epoch = getenv("SOURCE_DATE_EPOCH");
    long long seconds = 0;
    char *end = NULL;
    errno = 0;
    if (epoch != NULL)
        seconds = strtoll(epoch, &end, 10);
    if (epoch == NULL || end == epoch || *end != '\0' || errno != 0 || seconds < 0)
        return garage_today();
    return ch_date_from_days((long)(seconds / 86400));
}

/* The names of the cars, for a person who has to choose. */
static void list_cars(const ch_store_car cars[], size_t count, char *names, size_t size)
{
    char shown[44];
    size_t used = (size_t)snprintf(names, size, "--car ");
    for (size_t i = 0; i < count && used < size; i++) {
        ch_text_excerpt(cars[i].name, strlen(cars[i].name), shown, sizeof shown);
        if (used + strlen(shown) + 10 > size) {
            snprintf(names + used, size - used, " ...");
            return;
        }
        used += (size_t)snprintf(names + used, size - used, "%s\"%s\"", i > 0 ? ", " : "", shown);
    }
}

ch_status garage_car(const cli_options *options, ch_store *store, ch_store_pool *pool, const char *verb,
                     int64_t *car_id, ch_err *err)
{
    const ch_store_car *cars = NULL;
    const char *in_hand = NULL;
    size_t count = 0;
    char names[256];
    ch_status rc = ch_store_cars(store, pool, &cars, &count, err);
    if (rc >= 0)
        rc = ch_store_setting_get(store, pool, "car", &in_hand, err);
    if (rc < 0)
        return rc;
    list_cars(cars, count, names, sizeof names);
    const long long id = in_hand != NULL ? strtoll(in_hand, NULL, 10) : 0;
    for (size_t i = 0; i < count; i++)
        if (options->car != NULL ? strcmp(cars[i].name, options->car) == 0 : cars[i].id == id || count == 1) {
            *car_id = cars[i].id;
            return CH_OK;
        }
    if (options->car != NULL) {
        char shown[64];
        ch_text_excerpt(options->car, strlen(options->car), shown, sizeof shown);
        return ch_fail(err, CH_E_INPUT, count > 0 ? names : "crosshatch serve, and enter it there",
                       "the garage has no car \"%s\"", shown);
    }
    if (count > 1)
        return ch_fail(err, CH_E_USAGE, names, "%s: the garage has %zu cars", verb, count);
    *car_id = 0;
    return CH_OK;
}

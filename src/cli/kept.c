/* Answers of the tracing in the cache folder, see kept.h. */
#include "kept.h"

#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "crosshatch/hash.h"
#include "file.h"

enum { BYTES_MAXIMUM = 256 * 1024 };

/* ---------------------------------------------------------------- where */

static bool folder_of(char folder[PATH_MAX])
{
    const char *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    int length = -1;
    if (cache != NULL && cache[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/crosshatch", cache);
    else if (home != NULL && home[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/.cache/crosshatch", home);
    return length > 0 && length < PATH_MAX - KEPT_NAME - 1;
}

static bool path_of(const char name[KEPT_NAME], char path[PATH_MAX])
{
    char folder[PATH_MAX];
    if (name[0] == '\0' || !folder_of(folder))
        return false;
    const int length = snprintf(path, PATH_MAX, "%s/%s", folder, name);
    return length > 0 && length < PATH_MAX;
}

/* The folder and the one above it, for this user alone. */
static void make_folder(const char *path)
{
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s", path);
    char *last = strrchr(folder, '/');
    if (last == NULL)
        return;
    *last = '\0';
    char *above = strrchr(folder, '/');
    if (above != NULL && above != folder) {
        *above = '\0';
        (void)mkdir(folder, 0700);
        *above = '/';
    }
    (void)mkdir(folder, 0700);
}

/* ---------------------------------------------------------------- under which name */

/* Which program this is: another build may weigh otherwise without bearing another version. */
static bool program_mark(uint64_t mark[4])
{
    struct stat about;
    if (stat("/proc/self/exe", &about) != 0)
        return false;
    mark[0] = (uint64_t)about.st_size;
    mark[1] = (uint64_t)about.st_mtim.tv_sec;
    mark[2] = (uint64_t)about.st_mtim.tv_nsec;
    mark[3] = (uint64_t)about.st_ino;
    return true;
}

void kept_name(const ch_sheet *sheet, uint64_t mark, uint64_t seed, char name[KEPT_NAME])
{
    char *text = NULL;
    size_t length = 0;
    uint64_t program[4];
    ch_err ignored = {0};
    name[0] = '\0';
    if (!program_mark(program) || ch_sheet_write(sheet, false, &text, &length, &ignored) < 0)
        return;
    /* Two sums from different beginnings: 128 bits. */
    uint64_t sum[2] = {CH_HASH_BEGIN, CH_HASH_BEGIN_OTHER};
    for (int i = 0; i < 2; i++) {
        sum[i] = ch_hash(sum[i], program, sizeof program);
        sum[i] = ch_hash(sum[i], &mark, sizeof mark);
        sum[i] = ch_hash(sum[i], &seed, sizeof seed);
        sum[i] = ch_hash(sum[i], text, length);
    }
    free(text);
    snprintf(name, KEPT_NAME, "trace-%016llx%016llx", (unsigned long long)sum[0], (unsigned long long)sum[1]);
}

/* ---------------------------------------------------------------- reading and writing */

bool kept_read(const char name[KEPT_NAME], const ch_knowledge *knowledge, ch_trace *trace)
{
    char path[PATH_MAX], *bytes = NULL;
    size_t length = 0;
    ch_err ignored = {0};
    if (!path_of(name, path) || access(path, R_OK) != 0 ||
        file_read(path, BYTES_MAXIMUM, &bytes, &length, &ignored) < 0)
        return false;
    const bool good = ch_trace_read(bytes, length, knowledge, trace, &ignored) >= 0;
    free(bytes);
    return good;
}

/* Of more than KEPT_MAXIMUM answers the oldest goes. One a run is enough: one a run is added. */
static void make_room(const char *path)
{
    char folder[PATH_MAX], oldest[PATH_MAX] = "";
    snprintf(folder, sizeof folder, "%s", path);
    *strrchr(folder, '/') = '\0';
    DIR *all = opendir(folder);
    struct stat about;
    int count = 0;
    struct timespec least = {0};
    for (struct dirent *e = all != NULL ? readdir(all) : NULL; e != NULL; e = readdir(all)) {
        char each[PATH_MAX + 256];
        if (strncmp(e->d_name, "trace-", 6) != 0)
            continue;
        snprintf(each, sizeof each, "%s/%s", folder, e->d_name);
        if (stat(each, &about) != 0 || strlen(each) >= sizeof oldest)
            continue;
        if (count++ == 0 || about.st_mtim.tv_sec < least.tv_sec ||
            (about.st_mtim.tv_sec == least.tv_sec && about.st_mtim.tv_nsec < least.tv_nsec)) {
            least = about.st_mtim;
            memcpy(oldest, each, strlen(each) + 1);
        }
    }
    if (all != NULL)
        closedir(all);
    if (count > KEPT_MAXIMUM)
        unlink(oldest);
}

void kept_write(const char name[KEPT_NAME], const ch_knowledge *knowledge, const ch_trace *trace)
{
    char path[PATH_MAX];
    ch_text bytes;
    ch_err ignored = {0};
    if (!path_of(name, path))
        return;
    ch_text_init(&bytes, BYTES_MAXIMUM);
    ch_trace_write(trace, knowledge, &bytes);
    if (bytes.status == CH_OK) {
        make_folder(path);
        if (file_write(path, bytes.bytes, bytes.length, &ignored) >= 0)
            make_room(path);
    }
    ch_text_clear(&bytes);
}

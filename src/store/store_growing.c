/*
 * A new garage file, filled under another name beside its own and given the name when it is whole: whatever fails before, nothing of the name is there, and nothing that was
 * there is touched.
 *
 *  1. The name is taken by link(), which replaces nothing: a garage file that another program made meanwhile stays. Where the file system knows no links, rename() has to do,
 *     after a look.
 *  2. What a lost garage file left beside its name (its log) is never joined to a new one: SQLite would play it into it.
 */
#define _XOPEN_SOURCE 700
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store_parts.h"

enum { USUAL_MODE = 0644, TRIES = 100, ROOM = 64 }; /* the mode is SQLite's of a new file, before the umask */

static const char to_write[] = "a file and a folder that may be read and written";

static ch_status fail_at(const char *path, ch_status status, const char *right, const char *what, int error,
                         ch_err *err)
{
    ch_fail(err, status, right, "%s%s%s", what, error != 0 ? ": " : "", error != 0 ? strerror(error) : "");
    ch_err_locate(err, path, 0, 0);
    return status;
}

/* The first name beside it that is free, as an empty file. */
static ch_status make_beside(store_growing *g, size_t length, mode_t mode, ch_err *err)
{
    int descriptor = -1, error = EEXIST;
    for (int i = 0; descriptor < 0 && error == EEXIST && i < TRIES; i++) {
        snprintf(g->name + length, ROOM - 16, ".new-%ld-%d", (long)getpid(), i);
        descriptor = open(g->name, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, USUAL_MODE);
        error = descriptor < 0 ? errno : 0;
    }
    if (descriptor < 0)
        return fail_at(g->path, CH_E_IO, to_write, "the garage file cannot be made", error, err);
    if (g->over)
        error = fchmod(descriptor, mode) != 0 ? errno : 0;
    close(descriptor);
    if (error == 0)
        return CH_OK;
    unlink(g->name);
    return fail_at(g->path, CH_E_IO, to_write, "the garage file cannot be made", error, err);
}

ch_status store_growing_begin(store_growing *g, const char *path, bool *make, ch_err *err)
{
    struct stat there, behind;
    const size_t length = strlen(path);
    const bool is = lstat(path, &there) == 0;
    *g = (store_growing){.path = path, .over = is};
    if (is && S_ISLNK(there.st_mode) && stat(path, &behind) != 0)
        return fail_at(path, CH_E_INPUT, "the name of a garage file", "is a link that leads nowhere", 0, err);
    g->name = malloc(length + ROOM);
    if (g->name == NULL)
        return fail_at(path, CH_E_MEMORY, NULL, "no memory to make it", 0, err);
    memcpy(g->name, path, length + 1);
    ch_status rc = CH_OK;
    const bool beside = store_has_beside(g->name);
    const bool makes = is ? S_ISREG(there.st_mode) && there.st_size == 0 && !beside : true;
    if (!is && beside)
        rc = fail_at(path, CH_E_INPUT, "another name, or move them away",
                     "is missing, but its log or journal (-wal, -journal) lies there", 0, err);
    else if (makes)
        rc = make_beside(g, length, is ? there.st_mode & 0777 : 0, err);
    if (rc < 0 || !makes) {
        free(g->name);
        g->name = NULL;
    }
    if (rc >= 0)
        *make = makes;
    return rc;
}

void store_growing_drop(store_growing *g)
{
    if (g->name == NULL)
        return;
    store_unlink_beside(g->name);
    unlink(g->name);
    free(g->name);
    g->name = NULL;
}

ch_status store_growing_keep(store_growing *g, ch_err *err)
{
    struct stat there;
    int error = 0;
    bool taken = false;
    if (g->over) {
        taken = lstat(g->path, &there) == 0 && there.st_size > 0;
        if (!taken && rename(g->name, g->path) != 0)
            error = errno;
    } else if (link(g->name, g->path) != 0) {
        taken = errno == EEXIST || lstat(g->path, &there) == 0;
        if (!taken && rename(g->name, g->path) != 0)
            error = errno;
    }
    ch_status rc = CH_OK;
    if (taken)
        rc = fail_at(g->path, CH_E_INPUT, "try again, or give another name", "another program made it meanwhile", 0,
                     err);
    else if (error != 0)
        rc = fail_at(g->path, CH_E_IO, to_write, "the garage file cannot be made", error, err);
    unlink(g->name); /* its other name, where it has one */
    store_unlink_beside(g->name);
    if (rc >= 0)
        store_flush_folder(g->name);
    free(g->name);
    g->name = NULL;
    return rc;
}

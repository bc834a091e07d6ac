/*
 * Files by name: whole in, whole out.
 * Every descriptor is closed on every path; every write is checked, and so are fsync and close, where late errors come to light.
 */
#define _XOPEN_SOURCE 700 /* realpath, which POSIX has in its base since 2008, but glibc shows only so */
#include "file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { READ_STEP = 64 * 1024, STREAM_STEP = 1024 * 1024 };

ch_status file_fail(const char *name, ch_status status, const char *right, const char *what, int error, ch_err *err)
{
    ch_fail(err, status, right, "%s%s%s", what, error != 0 ? ": " : "", error != 0 ? strerror(error) : "");
    ch_err_locate(err, name, 0, 0);
    return status;
}

static ch_status read_all(int descriptor, const char *name, size_t maximum, char **bytes, size_t *length, ch_err *err)
{
    char *buffer = NULL;
    size_t used = 0, capacity = 0;
    for (;;) {
        if (used == capacity) {
            /* One byte beyond the maximum tells a file that is too long from one that just fits. */
            capacity = capacity == 0 ? READ_STEP : 2 * capacity;
            if (capacity > maximum + 1)
                capacity = maximum + 1;
            char *grown = realloc(buffer, capacity + 1);
            if (grown == NULL) {
                free(buffer);
                return file_fail(name, CH_E_MEMORY, NULL, "no memory to read it", 0, err);
            }
            buffer = grown;
        }
        const ssize_t got = read(descriptor, buffer + used, capacity - used);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            const int error = errno;
            free(buffer);
            if (error == EISDIR)
                return file_fail(name, CH_E_INPUT, "the name of a file", "is a folder", 0, err);
            return file_fail(name, CH_E_IO, NULL, "cannot be read", error, err);
        }
        if (got == 0)
            break;
        used += (size_t)got;
        if (used > maximum) {
            char right[64];
            snprintf(right, sizeof right, "at most %zu bytes", maximum);
            free(buffer);
            return file_fail(name, CH_E_LIMIT, right, "the file is too large", 0, err);
        }
    }
    buffer[used] = '\0';
    *bytes = buffer;
    *length = used;
    return CH_OK;
}

ch_status file_read(const char *name, size_t maximum, char **bytes, size_t *length, ch_err *err)
{
    if (strcmp(name, "-") == 0)
        return read_all(STDIN_FILENO, "standard input", maximum, bytes, length, err);
    const int descriptor = open(name, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (descriptor < 0)
        return file_fail(name, CH_E_INPUT, "a file that is there and may be read", "cannot be opened", errno, err);
    const ch_status rc = read_all(descriptor, name, maximum, bytes, length, err);
    close(descriptor);
    return rc;
}

static ch_status stream_all(int descriptor, const char *name, file_take *take, void *context, ch_err *err)
{
    char *piece = malloc(STREAM_STEP);
    ch_status rc = piece != NULL ? CH_OK : file_fail(name, CH_E_MEMORY, NULL, "no memory to read it", 0, err);
    while (rc >= 0) {
        const ssize_t got = read(descriptor, piece, STREAM_STEP);
        if (got == 0)
            break;
        if (got > 0)
            rc = take(piece, (size_t)got, context, err);
        else if (errno == EISDIR)
            rc = file_fail(name, CH_E_INPUT, "the name of a file", "is a folder", 0, err);
        else if (errno != EINTR)
            rc = file_fail(name, CH_E_IO, NULL, "cannot be read", errno, err);
    }
    free(piece);
    return rc;
}

ch_status file_stream(const char *name, file_take *take, void *context, ch_err *err)
{
    if (strcmp(name, "-") == 0)
        return stream_all(STDIN_FILENO, "standard input", take, context, err);
    const int descriptor = open(name, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    if (descriptor < 0)
        return file_fail(name, CH_E_INPUT, "a file that is there and may be read", "cannot be opened", errno, err);
    const ch_status rc = stream_all(descriptor, name, take, context, err);
    close(descriptor);
    return rc;
}

/* 0, or the error's number. */
static int write_all(int descriptor, const char *bytes, size_t length)
{
    while (length > 0) {
        const ssize_t written = write(descriptor, bytes, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return errno;
        bytes += written;
        length -= (size_t)written;
    }
    return 0;
}

/* Write, flush to the disk where the descriptor leads to one, close. 0, or the first error's number. */
static int write_and_close(int descriptor, const char *bytes, size_t length)
{
    int error = write_all(descriptor, bytes, length);
    /* Pipes, terminals and some devices cannot be flushed, and say so. */
    if (error == 0 && fsync(descriptor) != 0 && errno != EINVAL && errno != ENOTSUP && errno != EROFS)
        error = errno;
    if (close(descriptor) != 0 && error == 0)
        error = errno;
    return error;
}

ch_status file_write_output(const char *bytes, size_t length, ch_err *err)
{
    int error = write_all(STDOUT_FILENO, bytes, length);
    if (close(STDOUT_FILENO) != 0 && error == 0)
        error = errno;
    if (error != 0)
        return file_fail("standard output", CH_E_IO, NULL, "cannot be written", error, err);
    return CH_OK;
}

void file_flush_folder(const char *name)
{
    char folder[PATH_MAX];
    const char *slash = strrchr(name, '/');
    if (slash == NULL)
        snprintf(folder, sizeof folder, ".");
    else
        snprintf(folder, sizeof folder, "%.*s", (int)(slash - name > 0 ? slash - name : 1), name);
    const int descriptor = open(folder, O_RDONLY | O_CLOEXEC);
    if (descriptor >= 0) {
        fsync(descriptor);
        close(descriptor);
    }
}

/* Put a whole new file in the place of `name`, which is a regular file or nothing. */
static ch_status replace(const char *shown, const char *name, mode_t mode, const char *bytes, size_t length,
                         ch_err *err)
{
    char fresh[PATH_MAX];
    const int size = snprintf(fresh, sizeof fresh, "%s.XXXXXX", name);
    if (size < 0 || (size_t)size >= sizeof fresh)
        return file_fail(shown, CH_E_IO, NULL, "cannot be written", ENAMETOOLONG, err);
    const int descriptor = mkstemp(fresh);
    if (descriptor < 0)
        return file_fail(shown, CH_E_IO, NULL, "cannot be written", errno, err);
    int error = fchmod(descriptor, mode) != 0 ? errno : 0;
    if (error != 0)
        close(descriptor);
    else
        error = write_and_close(descriptor, bytes, length);
    if (error == 0 && rename(fresh, name) != 0)
        error = errno;
    if (error != 0) {
        unlink(fresh);
        return file_fail(shown, CH_E_IO, NULL, "cannot be written", error, err);
    }
    file_flush_folder(name);
    return CH_OK;
}

mode_t file_usual_mode(void)
{
    const mode_t mask = umask(0);
    umask(mask);
    return (mode_t)(0666 & ~mask);
}

ch_status file_write(const char *name, const char *bytes, size_t length, ch_err *err)
{
    struct stat there;
    if (stat(name, &there) != 0)
        return replace(name, name, file_usual_mode(), bytes, length, err);
    if (S_ISDIR(there.st_mode))
        return file_fail(name, CH_E_INPUT, "the name of a file", "is a folder", 0, err);
    if (!S_ISREG(there.st_mode)) {
        const int descriptor = open(name, O_WRONLY | O_CLOEXEC | O_NOCTTY);
        const int error = descriptor < 0 ? errno : write_and_close(descriptor, bytes, length);
        return error == 0 ? CH_OK : file_fail(name, CH_E_IO, NULL, "cannot be written", error, err);
    }
    char real[PATH_MAX];
    if (realpath(name, real) == NULL)
        return file_fail(name, CH_E_IO, NULL, "cannot be written", errno, err);
    return replace(name, real, there.st_mode & 07777, bytes, length, err);
}

ch_status file_create(const char *name, const char *bytes, size_t length, ch_err *err)
{
    const int descriptor = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOCTTY, 0666);
    if (descriptor < 0 && errno == EEXIST)
        return file_fail(name, CH_E_INPUT, "another folder, or move it away first", "is there already", 0, err);
    if (descriptor < 0)
        return file_fail(name, CH_E_IO, NULL, "cannot be written", errno, err);
    const int error = write_and_close(descriptor, bytes, length);
    if (error != 0) {
        unlink(name);
        return file_fail(name, CH_E_IO, NULL, "cannot be written", error, err);
    }
    file_flush_folder(name);
    return CH_OK;
}

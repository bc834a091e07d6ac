/* Files too large for the memory. Beside file.c the only room of the program that opens any. */
#include "file_stream.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "file.h"

struct file_new {
    int descriptor;
    char name[PATH_MAX], growing[PATH_MAX];
};

static ch_status is_there(const char *name, ch_err *err)
{
    return file_fail(name, CH_E_INPUT, "another name, or move it away first", "is there already", 0, err);
}

ch_status file_new_open(const char *name, file_new **file, ch_err *err)
{
    struct stat there;
    if (lstat(name, &there) == 0)
        return is_there(name, err);
    file_new *made = calloc(1, sizeof *made);
    if (made == NULL)
        return file_fail(name, CH_E_MEMORY, NULL, "no memory to write it", 0, err);
    const int length = snprintf(made->growing, sizeof made->growing, "%s.XXXXXX", name);
    snprintf(made->name, sizeof made->name, "%s", name);
    made->descriptor = length < 0 || (size_t)length >= sizeof made->growing ? -1 : mkstemp(made->growing);
    if (made->descriptor < 0) {
        const int error = length >= (int)sizeof made->growing ? ENAMETOOLONG : errno;
        free(made);
        return file_fail(name, CH_E_IO, NULL, "cannot be written", error, err);
    }
    *file = made;
    return CH_OK;
}

ch_status file_new_write(const void *bytes, size_t length, void *context, ch_err *err)
{
    const file_new *file = context;
    const char *next = bytes;
    while (length > 0) {
        const ssize_t written = write(file->descriptor, next, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written < 0)
            return file_fail(file->name, CH_E_IO, NULL, "cannot be written", errno, err);
        next += written;
        length -= (size_t)written;
    }
    return CH_OK;
}

void file_new_drop(file_new *file)
{
    if (file == NULL)
        return;
    if (file->descriptor >= 0)
        close(file->descriptor);
    unlink(file->growing);
    free(file);
}

ch_status file_new_keep(file_new *file, ch_err *err)
{
    ch_status rc = CH_OK;
    int error = fchmod(file->descriptor, file_usual_mode()) != 0 ? errno : 0;
    if (error == 0 && fsync(file->descriptor) != 0)
        error = errno;
    if (close(file->descriptor) != 0 && error == 0)
        error = errno;
    file->descriptor = -1;
    /* link() takes no name that is there; where the file system knows no links, rename() has to do. */
    if (error == 0 && link(file->growing, file->name) != 0) {
        if (errno == EEXIST)
            rc = is_there(file->name, err);
        else if (rename(file->growing, file->name) != 0)
            error = errno;
    }
    if (error == 0 && rc >= 0)
        file_flush_folder(file->name);
    else if (error != 0)
        rc = file_fail(file->name, CH_E_IO, NULL, "cannot be written", error, err);
    file_new_drop(file);
    return rc;
}

/* ---- reading ---- */

static ch_status read_at(void *context, int64_t offset, void *bytes, size_t size, size_t *got, ch_err *err)
{
    const int *descriptor = context;
    size_t done = 0;
    while (done < size) {
        const ssize_t n = pread(*descriptor, (char *)bytes + done, size - done, (off_t)offset + (off_t)done);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return ch_fail(err, CH_E_IO, NULL, "the archive cannot be read: %s", strerror(errno));
        if (n == 0)
            break;
        done += (size_t)n;
    }
    *got = done;
    return CH_OK;
}

ch_status file_source_open(const char *name, ch_store_source *source, ch_err *err)
{
    struct stat there;
    int *descriptor = malloc(sizeof *descriptor);
    if (descriptor == NULL)
        return file_fail(name, CH_E_MEMORY, NULL, "no memory to read it", 0, err);
    *descriptor = open(name, O_RDONLY | O_CLOEXEC | O_NOCTTY);
    const int error = *descriptor < 0 || fstat(*descriptor, &there) != 0 ? errno : 0;
    if (error != 0 || !S_ISREG(there.st_mode)) {
        if (*descriptor >= 0)
            close(*descriptor);
        free(descriptor);
        return file_fail(name, CH_E_INPUT, "a file that is there and may be read",
                         error != 0 ? "cannot be opened" : "is no file", error, err);
    }
    *source = (ch_store_source){.name = name, .length = there.st_size, .read = read_at, .context = descriptor};
    return CH_OK;
}

void file_source_close(ch_store_source *source)
{
    int *descriptor = source->context;
    if (descriptor == NULL)
        return;
    close(*descriptor);
    free(descriptor);
    *source = (ch_store_source){0};
}

/* A body in a file, see spool.h. */
#define _GNU_SOURCE /* O_TMPFILE */
#include "spool.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* Not every file system makes files without a name: then one that loses it at once. */
static int nameless(const char *folder)
{
    char name[512];
    int descriptor = open(folder, O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
    if (descriptor >= 0 || snprintf(name, sizeof name, "%s/crosshatch-XXXXXX", folder) >= (int)sizeof name)
        return descriptor;
    descriptor = mkostemp(name, O_CLOEXEC);
    if (descriptor >= 0)
        unlink(name);
    return descriptor;
}

ch_status spool_open(size_t size, int *descriptor, ch_err *err)
{
    const char *folder = getenv("TMPDIR");
    if (folder == NULL || folder[0] == '\0')
        folder = "/var/tmp";
    const int made = nameless(folder);
    if (made < 0)
        return ch_fail(err, CH_E_IO, "a folder named by TMPDIR that may be written", "no file for the upload: %s",
                       strerror(errno));
    const int failed = posix_fallocate(made, 0, (off_t)size + 1);
    if (failed != 0) {
        close(made);
        return ch_fail(err, CH_E_IO, "room on the disk of TMPDIR, or of /var/tmp", "no room for the upload: %s",
                       strerror(failed));
    }
    *descriptor = made;
    return CH_OK;
}

ch_status spool_write(int descriptor, const char *bytes, size_t length)
{
    while (length > 0) {
        const ssize_t written = write(descriptor, bytes, length);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return CH_E_IO;
        bytes += written;
        length -= (size_t)written;
    }
    return CH_OK;
}

char *spool_map(int descriptor, size_t size)
{
    void *bytes = mmap(NULL, size + 1, PROT_READ | PROT_WRITE, MAP_PRIVATE, descriptor, 0);
    return bytes != MAP_FAILED ? bytes : NULL;
}

void spool_unmap(char *bytes, size_t size)
{
    if (bytes != NULL)
        munmap(bytes, size + 1);
}

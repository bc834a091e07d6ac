/* Files of the state folder, see state_file.h. */
#include "state_file.h"

#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool folder_of(char folder[PATH_MAX])
{
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    int length = -1;
    if (state != NULL && state[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/crosshatch", state);
    else if (home != NULL && home[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/.local/state/crosshatch", home);
    return length > 0 && length < PATH_MAX - 64;
}

/* Make the folder and those above it, for the user alone. */
static void make_folders(char *folder)
{
    for (char *slash = strchr(folder + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        (void)mkdir(folder, 0700);
        *slash = '/';
    }
    (void)mkdir(folder, 0700);
}

static bool read_whole(int descriptor, char *bytes, size_t length)
{
    size_t at = 0;
    while (at < length) {
        const ssize_t got = read(descriptor, bytes + at, length - at);
        if (got <= 0)
            return false;
        at += (size_t)got;
    }
    return true;
}

bool state_file_read(const char *name, void *bytes, size_t maximum, size_t *length)
{
    char folder[PATH_MAX], path[PATH_MAX + 64];
    struct stat about;
    if (!folder_of(folder))
        return false;
    snprintf(path, sizeof path, "%s/%.48s", folder, name);
    const int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor < 0)
        return false;
    const bool good = fstat(descriptor, &about) == 0 && S_ISREG(about.st_mode) && about.st_uid == geteuid() &&
                      (about.st_mode & 077) == 0 && about.st_size >= 0 && (size_t)about.st_size <= maximum &&
                      read_whole(descriptor, bytes, (size_t)about.st_size);
    if (good)
        *length = (size_t)about.st_size;
    close(descriptor);
    return good;
}

static bool write_whole(int descriptor, const char *bytes, size_t length)
{
    size_t at = 0;
    while (at < length) {
        const ssize_t put = write(descriptor, bytes + at, length - at);
        if (put <= 0)
            return false;
        at += (size_t)put;
    }
    return fsync(descriptor) == 0;
}

bool state_file_write(const char *name, const void *bytes, size_t length)
{
    char folder[PATH_MAX], path[PATH_MAX + 64], beside[PATH_MAX + 128];
    if (!folder_of(folder))
        return false;
    make_folders(folder);
    snprintf(path, sizeof path, "%s/%.48s", folder, name);
    snprintf(beside, sizeof beside, "%s.%ld", path, (long)getpid());
    const int descriptor = open(beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (descriptor < 0)
        return false;
    const bool written = write_whole(descriptor, bytes, length);
    const bool closed = close(descriptor) == 0;
    if (written && closed && rename(beside, path) == 0)
        return true;
    unlink(beside);
    return false;
}

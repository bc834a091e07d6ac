/* The signing key in the user's state folder: XDG Base Directory Specification 0.8, $XDG_STATE_HOME. */
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "session.h"

static bool folder_of(char folder[PATH_MAX])
{
    const char *state = getenv("XDG_STATE_HOME"), *home = getenv("HOME");
    int length = -1;
    if (state != NULL && state[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/crosshatch", state);
    else if (home != NULL && home[0] == '/')
        length = snprintf(folder, PATH_MAX, "%s/.local/state/crosshatch", home);
    return length > 0 && length < PATH_MAX - 32;
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

/* A key that others could read, or that is not whole, is none. */
static bool key_read(const char *name, unsigned char key[WEB_KEY_SIZE])
{
    struct stat about;
    unsigned char read_key[WEB_KEY_SIZE];
    const int descriptor = open(name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor < 0)
        return false;
    const bool good = fstat(descriptor, &about) == 0 && S_ISREG(about.st_mode) && about.st_uid == geteuid() &&
                      (about.st_mode & 077) == 0 && about.st_size == WEB_KEY_SIZE &&
                      read(descriptor, read_key, WEB_KEY_SIZE) == WEB_KEY_SIZE;
    close(descriptor);
    if (good)
        memcpy(key, read_key, WEB_KEY_SIZE);
    return good;
}

/* Written beside its place and then renamed, so that a key is there whole or not at all. */
static bool key_write(const char *name, const unsigned char key[WEB_KEY_SIZE])
{
    char beside[PATH_MAX + 64];
    const int length = snprintf(beside, sizeof beside, "%s.%ld", name, (long)getpid());
    if (length < 0 || (size_t)length >= sizeof beside)
        return false;
    const int descriptor = open(beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (descriptor < 0)
        return false;
    const bool written = write(descriptor, key, WEB_KEY_SIZE) == WEB_KEY_SIZE && fsync(descriptor) == 0;
    const bool closed = close(descriptor) == 0;
    if (written && closed && rename(beside, name) == 0)
        return true;
    unlink(beside);
    return false;
}

ch_status web_key_load(unsigned char key[WEB_KEY_SIZE], bool *kept, ch_err *err)
{
    char folder[PATH_MAX], name[PATH_MAX + 16];
    const bool known = folder_of(folder);
    if (known) {
        snprintf(name, sizeof name, "%s/session.key", folder);
        if (key_read(name, key)) {
            *kept = true;
            return CH_OK;
        }
    }
    unsigned char made[WEB_KEY_SIZE];
    const ch_status rc = web_random(made, sizeof made, err);
    if (rc < 0)
        return rc;
    if (known)
        make_folders(folder);
    *kept = known && key_write(name, made);
    memcpy(key, made, WEB_KEY_SIZE);
    return CH_OK;
}

/* Small secrets and certificates in the user's state folder (XDG Base Directory Specification 0.8, $XDG_STATE_HOME), for the user alone. */
#ifndef CROSSHATCH_WEB_STATE_FILE_H
#define CROSSHATCH_WEB_STATE_FILE_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Read the file `name` of the folder, at most `maximum` bytes. False where there is none, or it is longer, or is not the user's own, or
 * others could read it: such a secret is none.
 */
bool state_file_read(const char *name, void *bytes, size_t maximum, size_t *length);

/* Write it, with its folder: beside its place and then renamed, so that it is there whole or not at all. False where that did not work. */
bool state_file_write(const char *name, const void *bytes, size_t length);

#endif

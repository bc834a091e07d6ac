/* Whether a garage file may be written, and how it can be read where not. */
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "store_parts.h"

/* Something of this name lies there, and is not empty. */
static bool holds_something(char *name, const char *path, const char *end)
{
    struct stat there;
    sprintf(name, "%s%s", path, end);
    return stat(name, &there) == 0 && there.st_size > 0;
}

ch_status store_leave_find(const char *path, store_leave *leave, ch_err *err)
{
    struct stat there;
    *leave = (store_leave){.writes = true};
    if (stat(path, &there) != 0 || !S_ISREG(there.st_mode)) /* to be made, or to be refused by who looks at it */
        return CH_OK;
    char *name = malloc(strlen(path) + 16);
    if (name == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to open the garage file");
    const bool file = faccessat(AT_FDCWD, path, W_OK, AT_EACCESS) == 0;
    leave->log = holds_something(name, path, "-wal") || holds_something(name, path, "-journal");
    memcpy(name, path, strlen(path) + 1);
    char *slash = strrchr(name, '/');
    if (slash == NULL)
        memcpy(name, ".", sizeof ".");
    else
        slash[slash == name ? 1 : 0] = '\0';
    const bool folder = faccessat(AT_FDCWD, name, W_OK, AT_EACCESS) == 0;
    free(name);
    leave->writes = file && folder;
    leave->as_it_lies = !folder && !leave->log;
    return CH_OK;
}

/* Source: SQLite, "Uniform Resource Identifiers" (URI filenames in SQLite): an empty authority before an absolute path, all but these letters as %HH. */
char *store_leave_uri(const char *path)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789/._-~";
    static const char head[] = "file:", absolute[] = "//", end[] = "?immutable=1";
    char *uri = malloc(sizeof head + sizeof absolute + sizeof end + 3 * strlen(path));
    if (uri == NULL)
        return NULL;
    char *at = uri + sprintf(uri, "%s%s", head, path[0] == '/' ? absolute : "");
    for (const char *p = path; *p != '\0'; p++)
        at += strchr(plain, *p) != NULL ? sprintf(at, "%c", *p) : sprintf(at, "%%%02X", (unsigned)(unsigned char)*p);
    memcpy(at, end, sizeof end);
    return uri;
}

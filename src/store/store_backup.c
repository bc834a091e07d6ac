/*
 * A safe copy of the garage file, made while others may be writing to it.
 *
 *  1. The copy is made beside its target, closed, opened again, read whole, flushed, and only then takes the name.
 *  2. It is not made over a garage that is in use or whose last change was cut short: what lies in its log would be played into the copy.
 *  3. The garage file is never opened but through SQLite: closing any other descriptor of it would drop this process's locks.
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

static ch_status fail_at(const char *target, ch_status status, const char *what, int error, ch_err *err)
{
    ch_fail(err, status, NULL, "%s%s%s", what, error != 0 ? ": " : "", error != 0 ? strerror(error) : "");
    ch_err_locate(err, target, 0, 0);
    return status;
}

static ch_status refuse_target(const ch_store *st, const char *target, mode_t *mode, ch_err *err)
{
    struct stat here, there;
    *mode = 0600;
    if (stat(st->path, &here) == 0)
        *mode = here.st_mode & 0777;
    else
        here.st_ino = 0;
    if (stat(target, &there) != 0)
        return CH_OK;
    if (!S_ISREG(there.st_mode))
        return fail_at(target, CH_E_INPUT, "is no file: a name for the copy is wanted", 0, err);
    if (here.st_ino == there.st_ino && here.st_dev == there.st_dev)
        return fail_at(target, CH_E_INPUT, "is the garage file itself: another name is wanted", 0, err);
    return CH_OK;
}

/* `room`: for the target's name and an ending of SQLite's. */
static ch_status refuse_log(const char *target, char *room, ch_err *err)
{
    memcpy(room, target, strlen(target) + 1);
    if (!store_has_beside(room))
        return CH_OK;
    ch_fail(err, CH_E_INPUT, "another name, or that garage closed or opened once",
            "is a garage in use, or its last change was cut short: its log or journal (-wal, -journal) lies beside it");
    ch_err_locate(err, target, 0, 0);
    return CH_E_INPUT;
}

/* Copy all pages. One read transaction of the source, so the copy is of one moment. */
static ch_status copy_pages(ch_store *st, const char *name, const char *target, ch_err *err)
{
    sqlite3 *copy = NULL;
    int code = sqlite3_open_v2(name, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    sqlite3_backup *backup = code == SQLITE_OK ? sqlite3_backup_init(copy, "main", st->db, "main") : NULL;
    if (code == SQLITE_OK && backup == NULL)
        code = sqlite3_errcode(copy);
    for (int waited_ms = 0; backup != NULL; waited_ms += 20) {
        code = sqlite3_backup_step(backup, -1);
        if ((code != SQLITE_BUSY && code != SQLITE_LOCKED) || waited_ms >= STORE_BUSY_MS)
            break;
        sqlite3_sleep(20);
    }
    if (backup != NULL) {
        sqlite3_backup_finish(backup);
        code = code == SQLITE_DONE ? SQLITE_OK : code;
    }
    /* A copy stands alone: without a log beside it, and on a disk that cannot be written. */
    if (code == SQLITE_OK)
        code = sqlite3_exec(copy, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    const int closed = sqlite3_close(copy);
    if (code == SQLITE_OK)
        code = closed;
    if (code == SQLITE_OK)
        return CH_OK;
    if ((code & 0xff) == SQLITE_NOMEM)
        return fail_at(target, CH_E_MEMORY, "no memory for the copy", 0, err);
    ch_fail(err, CH_E_IO, NULL, "the copy cannot be made: %s",
            store_is_full(code) ? "the disk is full" : sqlite3_errstr(code));
    ch_err_locate(err, target, 0, 0);
    return CH_E_IO;
}

/* SQLITE_OK, or what is wrong: with the copy, or with what kept it from being read. */
static int take_said(void *code, int columns, char **values, char **names)
{
    (void)names;
    const char *said = columns == 1 && values[0] != NULL ? values[0] : "";
    const int kept = store_kept_from_reading(said);
    *(int *)code = strcmp(said, "ok") == 0 ? SQLITE_OK : kept != SQLITE_OK ? kept : SQLITE_CORRUPT;
    return *(int *)code == SQLITE_OK ? 0 : 1;
}

static ch_status read_whole(const char *name, const char *target, ch_err *err)
{
    sqlite3 *copy = NULL;
    int said = SQLITE_CORRUPT;
    int code = sqlite3_open_v2(name, &copy, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_exec(copy, "PRAGMA integrity_check(1)", take_said, &said, NULL);
    if (code == SQLITE_OK || code == SQLITE_ABORT)
        code = said;
    sqlite3_close(copy);
    if (code == SQLITE_OK)
        return CH_OK;
    if ((code & 0xff) == SQLITE_NOMEM)
        return fail_at(target, CH_E_MEMORY, "no memory to check the copy", 0, err);
    return fail_at(
        target, CH_E_IO,
        "the copy does not read back whole, so it was not kept: check the garage file by `crosshatch verify`", 0, err);
}

void store_flush_folder(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash != NULL)
        slash[slash == path ? 1 : 0] = '\0';
    const int folder = open(slash != NULL ? path : ".", O_RDONLY | O_CLOEXEC);
    if (folder >= 0) {
        fsync(folder);
        close(folder);
    }
}

static int flush(int descriptor)
{
    int error = fsync(descriptor) != 0 ? errno : 0;
    if (close(descriptor) != 0 && error == 0)
        error = errno;
    return error;
}

bool store_has_beside(char *name)
{
    static const char *const endings[] = {"-journal", "-wal"};
    const size_t length = strlen(name);
    bool has = false;
    struct stat there;
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        memcpy(name + length, endings[i], strlen(endings[i]) + 1);
        has = has || lstat(name, &there) == 0;
    }
    name[length] = '\0';
    return has;
}

void store_unlink_beside(char *name)
{
    static const char *const endings[] = {"-journal", "-wal", "-shm"};
    const size_t length = strlen(name);
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        memcpy(name + length, endings[i], strlen(endings[i]) + 1);
        unlink(name);
    }
    name[length] = '\0';
}

ch_status ch_store_backup(ch_store *store, const char *target, ch_err *err)
{
    mode_t mode = 0;
    ch_status rc = refuse_target(store, target, &mode, err);
    if (rc < 0)
        return rc;
    const size_t size = strlen(target) + 20;
    char *name = malloc(2 * size);
    if (name == NULL)
        return fail_at(target, CH_E_MEMORY, "no memory for the copy", 0, err);
    char *room = name + size;
    rc = refuse_log(target, room, err);
    if (rc < 0) {
        free(name);
        return rc;
    }
    snprintf(name, size, "%s.XXXXXX", target);
    int descriptor = mkstemp(name);
    if (descriptor < 0) {
        const int error = errno;
        free(name);
        return fail_at(target, CH_E_IO, "cannot be written", error, err);
    }
    close(descriptor);
    rc = copy_pages(store, name, target, err);
    store_unlink_beside(name);
    if (rc >= 0)
        rc = read_whole(name, target, err);
    if (rc >= 0) {
        descriptor = open(name, O_RDWR | O_CLOEXEC);
        int error = descriptor < 0 ? errno : 0;
        if (error == 0 && fchmod(descriptor, mode) != 0)
            error = errno;
        if (descriptor >= 0) {
            const int flushed = flush(descriptor);
            error = error != 0 ? error : flushed;
        }
        rc = error == 0 ? refuse_log(target, room, err) : CH_OK; /* it may have been opened meanwhile */
        if (error == 0 && rc >= 0 && rename(name, target) != 0)
            error = errno;
        if (error != 0)
            rc = fail_at(target, CH_E_IO, "cannot be written", error, err);
    }
    if (rc < 0)
        unlink(name);
    else
        store_flush_folder(name);
    free(name);
    return rc;
}

/* The linker's --wrap=open turns calls of it into __wrap_open and leaves the real one as __real_open. */
#include "fail_system.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <fcntl.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <sqlite3.h>
#include <stdarg.h>
#include <stddef.h>
#include <sys/types.h>
#include <time.h>

const char *const fail_system_names[FAIL_SYSTEM_KINDS] = {"open",         "mkstemp",
                                                          "fchmod",       "fsync",
                                                          "close",        "link",
                                                          "rename",       "sqlite3_open_v2",
                                                          "sqlite3_exec", "bytes",
                                                          "digest",       "new",
                                                          "archive",      "archive that says why"};

static struct {
    long left; /* 0 = not armed */
    int error;
    bool on;
} armed[FAIL_SYSTEM_KINDS];
static bool met;
static void (*waiting)(void);

void fail_system_at(fail_system_kind kind, long n, int error, bool on)
{
    met = false;
    armed[kind].left = n;
    armed[kind].error = error;
    armed[kind].on = on;
}

bool fail_system_stop(void)
{
    for (int kind = 0; kind < FAIL_SYSTEM_KINDS; kind++)
        armed[kind].left = 0;
    return met;
}

void fail_system_when_waiting(void (*instead)(void))
{
    waiting = instead;
}

static long clock_ahead_s;

void fail_system_clock_ahead(long s)
{
    clock_ahead_s = s;
}

int __real_clock_gettime(clockid_t clock, struct timespec *now);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now);
int __wrap_clock_gettime(clockid_t clock, struct timespec *now)
{
    const int code = __real_clock_gettime(clock, now);
    if (code == 0 && clock == CLOCK_REALTIME)
        now->tv_sec += clock_ahead_s;
    return code;
}

static bool fails(fail_system_kind kind)
{
    if (armed[kind].left == 0 || --armed[kind].left > 0)
        return false;
    armed[kind].left = armed[kind].on ? 1 : 0;
    met = true;
    errno = armed[kind].error;
    return true;
}

#define WRAP(kind, type, failed, name, parameters, arguments)                                                          \
    type __real_##name parameters;                                                                                     \
    type __wrap_##name parameters;                                                                                     \
    type __wrap_##name parameters                                                                                      \
    {                                                                                                                  \
        return fails(FAIL_SYSTEM_##kind) ? (failed) : __real_##name arguments;                                         \
    }

/* ---- the system ---- */

static mode_t mode_of(int flags, va_list arguments)
{
    return (flags & O_CREAT) != 0 ? va_arg(arguments, mode_t) : 0;
}

/* open64 and mkstemp64: what they are called where offsets of 64 bits are asked for */
#define WRAP_OPEN(name)                                                                                                \
    int __real_##name(const char *path, int flags, ...);                                                               \
    int __wrap_##name(const char *path, int flags, ...);                                                               \
    int __wrap_##name(const char *path, int flags, ...)                                                                \
    {                                                                                                                  \
        va_list arguments;                                                                                             \
        va_start(arguments, flags);                                                                                    \
        const mode_t mode = mode_of(flags, arguments);                                                                 \
        va_end(arguments);                                                                                             \
        return fails(FAIL_SYSTEM_OPEN) ? -1 : __real_##name(path, flags, mode);                                        \
    }
WRAP_OPEN(open)
WRAP_OPEN(open64)
WRAP(MKSTEMP, int, -1, mkstemp, (char *name), (name))
WRAP(MKSTEMP, int, -1, mkstemp64, (char *name), (name))
WRAP(FCHMOD, int, -1, fchmod, (int descriptor, mode_t mode), (descriptor, mode))
WRAP(FSYNC, int, -1, fsync, (int descriptor), (descriptor))
WRAP(LINK, int, -1, link, (const char *from, const char *to), (from, to))
WRAP(RENAME, int, -1, rename, (const char *from, const char *to), (from, to))

int __real_close(int descriptor);
int __wrap_close(int descriptor);
int __wrap_close(int descriptor)
{
    const int code = __real_close(descriptor);
    return fails(FAIL_SYSTEM_CLOSE) ? -1 : code;
}

/* ---- SQLite ---- */

int __real_sqlite3_sleep(int ms);
int __wrap_sqlite3_sleep(int ms);
int __wrap_sqlite3_sleep(int ms)
{
    if (waiting == NULL)
        return __real_sqlite3_sleep(ms);
    waiting();
    return ms;
}

int __real_sqlite3_open_v2(const char *name, sqlite3 **db, int flags, const char *vfs);
int __wrap_sqlite3_open_v2(const char *name, sqlite3 **db, int flags, const char *vfs);
int __wrap_sqlite3_open_v2(const char *name, sqlite3 **db, int flags, const char *vfs)
{
    if (!fails(FAIL_SYSTEM_CONNECT))
        return __real_sqlite3_open_v2(name, db, flags, vfs);
    *db = NULL;
    return armed[FAIL_SYSTEM_CONNECT].error;
}

WRAP(EXEC, int, armed[FAIL_SYSTEM_EXEC].error, sqlite3_exec,
     (sqlite3 * db, const char *sql, int (*take)(void *, int, char **, char **), void *context, char **message),
     (db, sql, take, context, message))
WRAP(BLOB, int, armed[FAIL_SYSTEM_BLOB].error, sqlite3_blob_open,
     (sqlite3 * db, const char *name, const char *table, const char *column, sqlite3_int64 row, int flags,
      sqlite3_blob **blob),
     (db, name, table, column, row, flags, blob))
WRAP(BLOB, int, armed[FAIL_SYSTEM_BLOB].error, sqlite3_blob_read, (sqlite3_blob * blob, void *bytes, int n, int at),
     (blob, bytes, n, at))
WRAP(BLOB, int, armed[FAIL_SYSTEM_BLOB].error, sqlite3_blob_write,
     (sqlite3_blob * blob, const void *bytes, int n, int at), (blob, bytes, n, at))

/* ---- GnuTLS ---- */

WRAP(DIGEST, int, armed[FAIL_SYSTEM_DIGEST].error, gnutls_hash_init,
     (gnutls_hash_hd_t * digest, gnutls_digest_algorithm_t algorithm), (digest, algorithm))
WRAP(DIGEST, int, armed[FAIL_SYSTEM_DIGEST].error, gnutls_hash,
     (gnutls_hash_hd_t digest, const void *bytes, size_t length), (digest, bytes, length))

/* ---- libarchive ---- */

WRAP(NEW, struct archive *, NULL, archive_write_new, (void), ())
WRAP(NEW, struct archive *, NULL, archive_read_new, (void), ())
WRAP(NEW, struct archive_entry *, NULL, archive_entry_new, (void), ())

static bool archive_fails(struct archive *zip)
{
    if (fails(FAIL_SYSTEM_ARCHIVE))
        return true;
    if (!fails(FAIL_SYSTEM_ARCHIVE_SAYS))
        return false;
    errno = 0;
    archive_set_error(zip, armed[FAIL_SYSTEM_ARCHIVE_SAYS].error, "%s", "the archive says why");
    return true;
}

#define WRAP_ZIP(type, name, parameters, arguments)                                                                    \
    type __real_archive_##name parameters;                                                                             \
    type __wrap_archive_##name parameters;                                                                             \
    type __wrap_archive_##name parameters                                                                              \
    {                                                                                                                  \
        return archive_fails(zip) ? ARCHIVE_FATAL : __real_archive_##name arguments;                                   \
    }
#define WRAP_ARCHIVE(name) WRAP_ZIP(int, name, (struct archive * zip), (zip))
WRAP_ARCHIVE(write_set_format_zip)
WRAP_ARCHIVE(write_zip_set_compression_store)
WRAP_ARCHIVE(write_zip_set_compression_deflate)
WRAP_ARCHIVE(write_finish_entry)
WRAP_ARCHIVE(write_close)
WRAP_ARCHIVE(read_support_format_zip_seekable)
WRAP_ARCHIVE(read_open1)
WRAP_ZIP(int, write_set_bytes_per_block, (struct archive * zip, int bytes), (zip, bytes))
WRAP_ZIP(int, write_open2,
         (struct archive * zip, void *context, archive_open_callback *begin, archive_write_callback *put,
          archive_close_callback *end, archive_free_callback *drop),
         (zip, context, begin, put, end, drop))
WRAP_ZIP(int, write_header, (struct archive * zip, struct archive_entry *entry), (zip, entry))
WRAP_ZIP(la_ssize_t, write_data, (struct archive * zip, const void *bytes, size_t length), (zip, bytes, length))
WRAP_ZIP(int, read_set_read_callback, (struct archive * zip, archive_read_callback *take), (zip, take))
WRAP_ZIP(int, read_set_seek_callback, (struct archive * zip, archive_seek_callback *seek), (zip, seek))
WRAP_ZIP(int, read_set_callback_data, (struct archive * zip, void *context), (zip, context))
WRAP_ZIP(int, read_next_header, (struct archive * zip, struct archive_entry **entry), (zip, entry))
WRAP_ZIP(la_ssize_t, read_data, (struct archive * zip, void *bytes, size_t room), (zip, bytes, room))

/* The linker's --wrap=sqlite3_step turns calls of it into __wrap_sqlite3_step and leaves the real one as __real_sqlite3_step. */
#include "fail_call.h"

#include <sqlite3.h>
#include <stddef.h>
#include <string.h>

static struct {
    bool armed, failed;
    fail_call_kind kind;
    long wanted, seen[FAIL_CALL_KINDS];
} fault;

void fail_call_at(fail_call_kind kind, long n)
{
    fault.armed = true;
    fault.failed = false;
    fault.kind = kind;
    fault.wanted = n;
    memset(fault.seen, 0, sizeof fault.seen);
}

bool fail_call_stop(void)
{
    fault.armed = false;
    return fault.failed;
}

long fail_call_seen(fail_call_kind kind)
{
    return fault.seen[kind];
}

static bool fails_now(fail_call_kind kind)
{
    if (!fault.armed || ++fault.seen[kind] != fault.wanted || fault.kind != kind)
        return false;
    fault.failed = true;
    return true;
}

int __real_sqlite3_prepare_v3(sqlite3 *db, const char *sql, int length, unsigned flags, sqlite3_stmt **q,
                              const char **tail);
int __wrap_sqlite3_prepare_v3(sqlite3 *db, const char *sql, int length, unsigned flags, sqlite3_stmt **q,
                              const char **tail);
int __wrap_sqlite3_prepare_v3(sqlite3 *db, const char *sql, int length, unsigned flags, sqlite3_stmt **q,
                              const char **tail)
{
    if (!fails_now(FAIL_PREPARE))
        return __real_sqlite3_prepare_v3(db, sql, length, flags, q, tail);
    *q = NULL;
    return SQLITE_NOMEM;
}

int __real_sqlite3_step(sqlite3_stmt *q);
int __wrap_sqlite3_step(sqlite3_stmt *q);
int __wrap_sqlite3_step(sqlite3_stmt *q)
{
    const bool begins = !sqlite3_stmt_busy(q);
    return begins && fails_now(FAIL_STEP) ? SQLITE_NOMEM : __real_sqlite3_step(q);
}

#define BIND(name, parameters, arguments)                                                                              \
    int __real_sqlite3_bind_##name parameters;                                                                         \
    int __wrap_sqlite3_bind_##name parameters;                                                                         \
    int __wrap_sqlite3_bind_##name parameters                                                                          \
    {                                                                                                                  \
        return fails_now(FAIL_BIND) ? SQLITE_NOMEM : __real_sqlite3_bind_##name arguments;                             \
    }
BIND(null, (sqlite3_stmt * q, int at), (q, at))
BIND(int, (sqlite3_stmt * q, int at, int value), (q, at, value))
BIND(int64, (sqlite3_stmt * q, int at, sqlite3_int64 value), (q, at, value))
BIND(double, (sqlite3_stmt * q, int at, double value), (q, at, value))
BIND(text, (sqlite3_stmt * q, int at, const char *text, int length, void (*drop)(void *)), (q, at, text, length, drop))
BIND(blob, (sqlite3_stmt * q, int at, const void *bytes, int length, void (*drop)(void *)),
     (q, at, bytes, length, drop))
BIND(blob64, (sqlite3_stmt * q, int at, const void *bytes, sqlite3_uint64 length, void (*drop)(void *)),
     (q, at, bytes, length, drop))

const unsigned char *__real_sqlite3_column_text(sqlite3_stmt *q, int column);
const unsigned char *__wrap_sqlite3_column_text(sqlite3_stmt *q, int column);
const unsigned char *__wrap_sqlite3_column_text(sqlite3_stmt *q, int column)
{
    const unsigned char *text = __real_sqlite3_column_text(q, column);
    return text != NULL && fails_now(FAIL_COLUMN) ? NULL : text;
}

const void *__real_sqlite3_column_blob(sqlite3_stmt *q, int column);
const void *__wrap_sqlite3_column_blob(sqlite3_stmt *q, int column);
const void *__wrap_sqlite3_column_blob(sqlite3_stmt *q, int column)
{
    const void *bytes = __real_sqlite3_column_blob(q, column);
    return bytes != NULL && fails_now(FAIL_COLUMN) ? NULL : bytes;
}

#include "fail_disk.h"

#include <string.h>

#include "disk_layer.h"

static struct {
    bool armed, on, failed;
    fail_kind kind;
    long wanted, seen[FAIL_KINDS];
} fault;

void fail_disk_at(fail_kind kind, long n, bool on)
{
    fault.armed = true;
    fault.kind = kind;
    fault.wanted = n;
    memset(fault.seen, 0, sizeof fault.seen);
    fault.on = on;
    fault.failed = false;
}

bool fail_disk_stop(void)
{
    fault.armed = false;
    return fault.failed;
}

long fail_disk_seen(fail_kind kind)
{
    return fault.seen[kind];
}

static bool fails_now(fail_kind kind)
{
    if (!fault.armed)
        return false;
    const long seen = ++fault.seen[kind];
    if (kind != fault.kind)
        return false;
    const bool now = seen == fault.wanted || (fault.on && fault.failed);
    fault.failed = fault.failed || now;
    return now;
}

static int refuse(disk_call *call)
{
    switch (call->kind) {
    case DISK_OPEN: return fails_now(FAIL_OPEN) ? SQLITE_CANTOPEN : SQLITE_OK;
    case DISK_READ: return fails_now(FAIL_READ) ? SQLITE_IOERR_READ : SQLITE_OK;
    case DISK_WRITE:
        if (fails_now(FAIL_FULL))
            return SQLITE_FULL;
        if (!fails_now(FAIL_WRITE))
            return SQLITE_OK;
        call->arrives = call->amount / 2;
        return SQLITE_IOERR_WRITE;
    case DISK_TRUNCATE: return fails_now(FAIL_WRITE) ? SQLITE_IOERR_TRUNCATE : SQLITE_OK;
    case DISK_DELETE: return fails_now(FAIL_WRITE) ? SQLITE_IOERR_DELETE : SQLITE_OK;
    case DISK_FLUSH: return fails_now(FAIL_FLUSH) ? SQLITE_IOERR_FSYNC : SQLITE_OK;
    case DISK_SIZE: return fails_now(FAIL_READ) ? SQLITE_IOERR_FSTAT : SQLITE_OK;
    case DISK_SHARED: return fails_now(FAIL_SHARED) ? SQLITE_IOERR_SHMMAP : SQLITE_OK;
    }
    return SQLITE_OK;
}

void fail_disk_begin(void)
{
    disk_layer_begin((disk_hooks){.before = refuse});
}

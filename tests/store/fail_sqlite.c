#include "fail_sqlite.h"

#include <sqlite3.h>
#include <stddef.h>

static sqlite3_mem_methods real;
static bool armed, failed;
static long seen, wanted;

static bool fails_now(void)
{
    if (!armed || ++seen != wanted)
        return false;
    failed = true;
    return true;
}

static void *take(int size)
{
    return fails_now() ? NULL : real.xMalloc(size);
}

static void *take_more(void *memory, int size)
{
    return fails_now() ? NULL : real.xRealloc(memory, size);
}

void fail_sqlite_begin(void)
{
    sqlite3_config(SQLITE_CONFIG_GETMALLOC, &real);
    sqlite3_mem_methods ours = real;
    ours.xMalloc = take;
    ours.xRealloc = take_more;
    sqlite3_config(SQLITE_CONFIG_MALLOC, &ours);
    /* without it, most small pieces come out of a store set aside when the file was opened, and could not fail */
    sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0);
}

void fail_sqlite_at(long n)
{
    armed = true;
    failed = false;
    seen = 0;
    wanted = n;
}

bool fail_sqlite_stop(void)
{
    armed = false;
    return failed;
}

long fail_sqlite_seen(void)
{
    return seen;
}

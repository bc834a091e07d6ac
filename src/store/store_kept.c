/*
 * Statements that stay prepared while the garage file is open: to read an entry's SQL anew took two thirds of the computing of an entry.
 *
 *  1. Here lie only those that nobody uses. Whoever takes one owns it, until it is given here or finalized; of one text there may be several.
 *  2. They hold no lock, no page and no value: each is reset and its parameters are cleared before it is put here.
 *  3. One that failed is not kept: what comes next starts with a new one.
 *  4. A PRAGMA is not kept: "some pragmas run during the SQL compilation stage, not the execution stage". Source: SQLite, PRAGMA Statements.
 *  5. At most STORE_KEPT_MAX, which is some 0.4 MB; the one that was not asked for the longest gives way.
 *
 * Another schema (the file was brought up to date) is SQLite's affair: it prepares such a statement anew by itself.
 */
#include <string.h>

#include "store_parts.h"

static sqlite3_stmt *take_out(store_kept *kept, size_t i)
{
    sqlite3_stmt *q = kept->idle[i];
    kept->count--;
    memmove(&kept->idle[i], &kept->idle[i + 1], (kept->count - i) * sizeof kept->idle[0]);
    return q;
}

sqlite3_stmt *store_kept_take(store_kept *kept, const char *sql)
{
    for (size_t i = kept->count; i-- > 0;)
        if (strcmp(sqlite3_sql(kept->idle[i]), sql) == 0)
            return take_out(kept, i);
    return NULL;
}

void store_kept_give(store_kept *kept, sqlite3_stmt *q)
{
    const bool failed = sqlite3_reset(q) != SQLITE_OK; /* says what its last step said */
    if (failed || sqlite3_strnicmp(sqlite3_sql(q), "PRAGMA", 6) == 0) {
        sqlite3_finalize(q);
        return;
    }
    (void)sqlite3_clear_bindings(q); /* there is nothing in it that could fail */
    if (kept->count == STORE_KEPT_MAX)
        sqlite3_finalize(take_out(kept, 0));
    kept->idle[kept->count++] = q;
}

void store_kept_clear(store_kept *kept)
{
    while (kept->count > 0)
        sqlite3_finalize(kept->idle[--kept->count]);
}

/* Settings, by name. */
#include <string.h>

#include "store_parts.h"

static ch_status check_name(const char *name, ch_err *err)
{
    const size_t length = strlen(name);
    if (length == 0 || length > 64 || strspn(name, "abcdefghijklmnopqrstuvwxyz0123456789._-") != length)
        return ch_fail(err, CH_E_INPUT, "1 to 64 characters a-z 0-9 . _ -", "a setting with another kind of name");
    return CH_OK;
}

ch_status ch_store_setting_get(ch_store *store, ch_store_pool *pool, const char *name, const char **text, ch_err *err)
{
    sqlite3_stmt *q = NULL;
    bool more = false;
    const char *found = NULL;
    ch_status rc = check_name(name, err);
    if (rc >= 0)
        rc = store_prepare(store, &q, err, "SELECT text FROM setting WHERE name = ?1", "t", name);
    if (rc >= 0)
        rc = store_step(store, q, &more, err);
    if (rc >= 0 && more)
        rc = store_text(pool, q, 0, &found, err);
    store_release(store, q);
    if (rc >= 0)
        *text = found;
    return rc;
}

static ch_status check(const char *name, const char *text, ch_err *err)
{
    const ch_status rc = check_name(name, err);
    return rc < 0 ? rc : store_text_check_to(name, text, false, CH_STORE_SETTING_MAX, err);
}

static ch_status put(ch_store *st, const char *name, const char *text, int64_t now_s, ch_err *err)
{
    return store_run(st, err,
                     "INSERT INTO setting (name, text, changed_s) VALUES (?1, ?2, ?3)"
                     " ON CONFLICT (name) DO UPDATE SET text = excluded.text, changed_s = excluded.changed_s"
                     " WHERE text IS NOT excluded.text",
                     "tti", name, text, now_s);
}

ch_status ch_store_setting_set(ch_store *store, const char *name, const char *text, int64_t now_s, ch_err *err)
{
    ch_status rc = check(name, text, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    return rc < 0 ? rc : store_end(store, put(store, name, text, now_s, err), err);
}

ch_status ch_store_setting_swap(ch_store *store, const char *name, const char *was, const char *text, int64_t now_s,
                                bool *done, ch_err *err)
{
    int64_t same = 0;
    ch_status rc = check(name, text, err);
    if (rc >= 0)
        rc = store_begin(store, err);
    if (rc < 0)
        return rc;
    rc = store_number(store, &same, 0, err, "SELECT (SELECT text FROM setting WHERE name = ?1) IS ?2", "tt", name, was);
    if (rc >= 0 && same != 0)
        rc = put(store, name, text, now_s, err);
    rc = store_end(store, rc, err);
    if (rc >= 0)
        *done = same != 0;
    return rc;
}

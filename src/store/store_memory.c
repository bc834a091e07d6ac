/* Memory of what a call gives back, and texts on their way in and out. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store_parts.h"

struct ch_store_block {
    struct ch_store_block *next;
    max_align_t bytes[];
};

void ch_store_pool_clear(ch_store_pool *pool)
{
    while (pool->blocks != NULL) {
        struct ch_store_block *next = pool->blocks->next;
        free(pool->blocks);
        pool->blocks = next;
    }
}

void *store_take(ch_store_pool *pool, size_t size)
{
    if (size > SIZE_MAX - sizeof(struct ch_store_block))
        return NULL;
    struct ch_store_block *block = calloc(1, sizeof *block + size);
    if (block == NULL)
        return NULL;
    block->next = pool->blocks;
    pool->blocks = block;
    return block->bytes;
}

void *store_list_more(store_list *list, ch_err *err)
{
    if (list->count == list->capacity) {
        const size_t capacity = list->capacity == 0 ? 16 : 2 * list->capacity;
        char *grown = capacity > SIZE_MAX / list->size ? NULL : store_take(list->pool, capacity * list->size);
        if (grown == NULL) {
            ch_fail(err, CH_E_MEMORY, NULL, "no memory for a list of %zu", capacity);
            return NULL;
        }
        if (list->count > 0)
            memcpy(grown, list->rows, list->count * list->size);
        list->rows = grown;
        list->capacity = capacity;
    }
    return list->rows + list->size * list->count++;
}

ch_status store_text(ch_store_pool *pool, sqlite3_stmt *q, int column, const char **text, ch_err *err)
{
    if (sqlite3_column_type(q, column) == SQLITE_NULL) {
        *text = NULL;
        return CH_OK;
    }
    const unsigned char *bytes = sqlite3_column_text(q, column);
    const size_t length = (size_t)sqlite3_column_bytes(q, column);
    char *copy = bytes == NULL ? NULL : store_take(pool, length + 1);
    if (copy == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a text");
    memcpy(copy, bytes, length);
    *text = copy;
    return CH_OK;
}

ch_status store_date(sqlite3_stmt *q, int column, ch_date *day, ch_err *err)
{
    const char *text = NULL;
    ch_err ignored = {0};
    const ch_status rc = store_text_there(q, column, &text, err);
    *day = (ch_date){0};
    if (text != NULL)
        (void)ch_date_parse(text, strlen(text), day, &ignored);
    return rc;
}

double store_real(sqlite3_stmt *q, int column)
{
    return sqlite3_column_type(q, column) == SQLITE_NULL ? NAN : sqlite3_column_double(q, column);
}

/* Bytes of the UTF-8 character at `c`, 0 where there is none or a control character. */
static size_t character(const unsigned char *c)
{
    if (c[0] < 0x80)
        return c[0] == 0x7f || (c[0] < 0x20 && c[0] != '\n' && c[0] != '\t') ? 0 : 1;
    const bool control = c[0] == 0xc2 && c[1] < 0xa0; /* U+0080 to U+009F */
    return control ? 0 : ch_utf8_length((const char *)c, strnlen((const char *)c, 4));
}

ch_status store_text_check(const char *label, const char *text, bool needed, ch_err *err)
{
    return store_text_check_to(label, text, needed, CH_STORE_TEXT_MAX, err);
}

ch_status store_text_check_to(const char *label, const char *text, bool needed, size_t most, ch_err *err)
{
    if (needed && (text == NULL || text[strspn(text, " \t\n")] == '\0'))
        return ch_fail(err, CH_E_INPUT, "a text", "%s: nothing given", label);
    if (text == NULL)
        return CH_OK;
    const size_t length = strlen(text);
    if (length > most) {
        char right[48];
        snprintf(right, sizeof right, "at most %zu bytes", most);
        return ch_fail(err, CH_E_LIMIT, right, "%s: %zu bytes", label, length);
    }
    for (const unsigned char *c = (const unsigned char *)text; *c != '\0';) {
        const size_t n = character(c);
        if (n == 0)
            return ch_fail(err, CH_E_INPUT, "text in UTF-8", "%s: a byte that is no text", label);
        c += n;
    }
    return CH_OK;
}

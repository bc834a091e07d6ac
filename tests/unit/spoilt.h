/* Files of tests/data read whole, and spoilt by one change of their text. */
#ifndef CROSSHATCH_TESTS_SPOILT_H
#define CROSSHATCH_TESTS_SPOILT_H

#include <stdlib.h>
#include <string.h>

#include "crosshatch/knowledge.h"
#include "expect.h"

enum { SPOILT_BYTES_MAX = 256 * 1024 };

/* Reads a file below the source tree into `text`, SPOILT_BYTES_MAX bytes with its NUL. Gives its length. */
static inline size_t spoilt_read(const char *path, char *text)
{
    char whole[4096];
    snprintf(whole, sizeof whole, "%s/%s", getenv("CROSSHATCH_SOURCE"), path);
    FILE *file = fopen(whole, "rb");
    if (file == NULL)
        print_error("cannot open %s\n", whole);
    assert_non_null(file);
    const size_t length = fread(text, 1, SPOILT_BYTES_MAX - 1, file);
    fclose(file);
    assert_true(length < SPOILT_BYTES_MAX - 1);
    text[length] = '\0';
    return length;
}

/* `text` with `from`, which must stand there once, changed to `to`. */
static inline void spoilt_change(const char *text, const char *from, const char *to, char *changed)
{
    const char *at = strstr(text, from);
    if (at == NULL || strstr(at + 1, from) != NULL)
        fail_msg("\"%s\" stands not once in the text", from);
    else
        snprintf(changed, SPOILT_BYTES_MAX, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
}

/* A built-in text is called NAME (built in) and is what stands in knowledge/NAME. */
static inline void spoilt_expect_builtin(const ch_knowledge_text *builtin, const char *name, char *buffer)
{
    char path[256], shown[256];
    snprintf(shown, sizeof shown, "%s (built in)", name);
    assert_string_equal(builtin->name, shown);
    snprintf(path, sizeof path, "knowledge/%s", name);
    const size_t length = spoilt_read(path, buffer);
    assert_int_equal(length, builtin->length);
    assert_memory_equal(buffer, builtin->text, length);
}

#endif

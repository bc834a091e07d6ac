/*
 * Text that grows up to a maximum, safe excerpts, and nearest words.
 * 1. bytes[length] is NUL whenever bytes is not NULL. 2. length <= maximum always. 3. After a failure nothing changes.
 */
#include "crosshatch/text.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void ch_text_init(ch_text *text, size_t maximum)
{
    /* One byte is kept for the NUL, so that length + 1 never wraps. */
    *text = (ch_text){.maximum = maximum < SIZE_MAX ? maximum : SIZE_MAX - 1};
}

void ch_text_clear(ch_text *text)
{
    free(text->bytes);
    ch_text_init(text, text->maximum);
}

/* Make room for `length` more bytes and a NUL. */
static bool text_reserve(ch_text *text, size_t length)
{
    if (text->status != CH_OK)
        return false;
    if (length > text->maximum - text->length) {
        text->status = CH_E_LIMIT;
        return false;
    }
    const size_t needed = text->length + length + 1;
    if (needed <= text->capacity)
        return true;
    /* Doubling keeps the cost of many small appends linear; the maximum bounds it. */
    size_t capacity = text->capacity < 64 ? 64 : text->capacity;
    while (capacity < needed)
        capacity = capacity > SIZE_MAX / 2 ? SIZE_MAX : capacity * 2;
    if (capacity > text->maximum + 1)
        capacity = text->maximum + 1;
    char *bytes = realloc(text->bytes, capacity);
    if (bytes == NULL) {
        text->status = CH_E_MEMORY;
        return false;
    }
    bytes[text->length] = '\0';
    text->bytes = bytes;
    text->capacity = capacity;
    return true;
}

void ch_text_append(ch_text *text, const char *bytes, size_t length)
{
    if (length == 0 || !text_reserve(text, length))
        return;
    memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void ch_text_append_string(ch_text *text, const char *string)
{
    ch_text_append(text, string, strlen(string));
}

void ch_text_appendf(ch_text *text, const char *format, ...)
{
    if (text->status != CH_OK)
        return;
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    if (length < 0) {
        text->status = CH_E_RANGE;
    } else if (length > 0 && text_reserve(text, (size_t)length)) {
        vsnprintf(text->bytes + text->length, (size_t)length + 1, format, again);
        text->length += (size_t)length;
    }
    va_end(again);
}

const char *ch_text_string(const ch_text *text)
{
    return text->bytes != NULL ? text->bytes : "";
}

ch_status ch_text_check(const ch_text *text, ch_err *err)
{
    switch (text->status) {
    case CH_OK: return CH_OK;
    case CH_E_LIMIT: return ch_fail(err, CH_E_LIMIT, NULL, "the text would be longer than %zu bytes", text->maximum);
    case CH_E_MEMORY: return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a text of %zu bytes", text->length);
    default: return ch_fail(err, text->status, NULL, "a number or name could not be written");
    }
}

size_t ch_utf8_length(const char *text, size_t length)
{
    const unsigned char *bytes = (const unsigned char *)text;
    size_t n = 0;
    if (length == 0)
        return 0;
    unsigned lowest = 0x80,
             highest = 0xbf; /* bounds of the second byte: no overlong forms, no surrogates, no more than U+10FFFF */
    if (bytes[0] < 0x80)
        return 1;
    if (bytes[0] >= 0xc2 && bytes[0] <= 0xdf)
        n = 2;
    else if (bytes[0] >= 0xe0 && bytes[0] <= 0xef)
        n = 3;
    else if (bytes[0] >= 0xf0 && bytes[0] <= 0xf4)
        n = 4;
    else
        return 0;
    if (n > length)
        return 0;
    if (bytes[0] == 0xe0)
        lowest = 0xa0;
    if (bytes[0] == 0xf0)
        lowest = 0x90;
    if (bytes[0] == 0xed)
        highest = 0x9f;
    if (bytes[0] == 0xf4)
        highest = 0x8f;
    if (bytes[1] < lowest || bytes[1] > highest)
        return 0;
    for (size_t i = 2; i < n; i++)
        if (bytes[i] < 0x80 || bytes[i] > 0xbf)
            return 0;
    return n;
}

void ch_text_excerpt(const char *bytes, size_t length, char *excerpt, size_t size)
{
    if (size == 0)
        return;
    size_t used = 0, cut = 0; /* cut: the last place where "..." and the NUL would still fit */
    for (size_t i = 0; i < length;) {
        size_t n = ch_utf8_length(bytes + i, length - i);
        const unsigned char first = (unsigned char)bytes[i];
        /* C0 and C1 controls (U+0080..U+009F) can drive a terminal. */
        const bool shown =
            n > 0 && first >= 0x20 && first != 0x7f && !(n == 2 && first == 0xc2 && (unsigned char)bytes[i + 1] < 0xa0);
        const size_t written = shown ? n : 1;
        if (used + written + 1 > size) {
            used = cut;
            for (int dots = 0; dots < 3 && used + 1 < size; dots++)
                excerpt[used++] = '.';
            break;
        }
        if (shown)
            memcpy(excerpt + used, bytes + i, n);
        else
            excerpt[used] = '?';
        used += written;
        if (used + 4 <= size)
            cut = used;
        i += n > 0 ? n : 1;
    }
    excerpt[used] = '\0';
}

enum { WORD_MAXIMUM = 64 };

static unsigned char folded(char c)
{
    return (unsigned char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
}

/* Damerau-Levenshtein distance with swaps that may have edits between them (Lowrance and Wagner 1975, algorithm S, all costs 1). */
static size_t word_distance(const char *a, size_t a_length, const char *b, size_t b_length)
{
    unsigned char distance[WORD_MAXIMUM + 2]
                          [WORD_MAXIMUM + 2]; /* row and column 0 hold a cost that is never the least */
    size_t last_row[256] = {0};               /* for each byte, the last row in which a had it */
    const unsigned char never = (unsigned char)(a_length + b_length); /* at most 128 */
    for (size_t i = 0; i <= a_length; i++) {
        distance[i + 1][0] = never;
        distance[i + 1][1] = (unsigned char)i;
    }
    for (size_t j = 0; j <= b_length; j++) {
        distance[0][j + 1] = never;
        distance[1][j + 1] = (unsigned char)j;
    }
    distance[0][0] = never;
    for (size_t i = 1; i <= a_length; i++) {
        size_t last_column = 0; /* the last column in which b had a's byte i */
        for (size_t j = 1; j <= b_length; j++) {
            const size_t row = last_row[folded(b[j - 1])], column = last_column;
            size_t least = distance[i][j] + 1U;
            if (folded(a[i - 1]) == folded(b[j - 1])) {
                least = distance[i][j];
                last_column = j;
            }
            const size_t inserted = distance[i + 1][j] + 1U, deleted = distance[i][j + 1] + 1U;
            const size_t swapped = distance[row][column] + (i - row - 1) + 1 + (j - column - 1);
            if (inserted < least)
                least = inserted;
            if (deleted < least)
                least = deleted;
            if (row > 0 && column > 0 && swapped < least)
                least = swapped;
            distance[i + 1][j + 1] = (unsigned char)least;
        }
        last_row[folded(a[i - 1])] = i;
    }
    return distance[a_length + 1][b_length + 1];
}

static bool word_begins(const char *word, size_t length, const char *candidate)
{
    for (size_t i = 0; i < length; i++)
        if (folded(word[i]) != folded(candidate[i]))
            return false;
    return true;
}

const char *ch_nearest_word(const char *word, size_t length, const char *const *words, size_t n)
{
    const char *nearest = NULL;
    size_t least = SIZE_MAX;
    if (length == 0 || length > WORD_MAXIMUM)
        return NULL;
    for (size_t i = 0; i < n; i++) {
        const size_t candidate_length = strlen(words[i]);
        if (candidate_length > WORD_MAXIMUM)
            continue;
        const size_t longer = length > candidate_length ? length : candidate_length;
        const size_t shorter = length > candidate_length ? candidate_length : length;
        size_t distance = word_distance(word, length, words[i], candidate_length);
        const bool beginning = length >= 3 && length <= candidate_length && word_begins(word, length, words[i]);
        if (!beginning && (distance > (longer + 2) / 4 || distance >= shorter))
            continue;
        if (beginning && distance > 1)
            distance = 1;
        if (distance < least) {
            least = distance;
            nearest = words[i];
        }
    }
    return nearest;
}

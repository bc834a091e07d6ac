/**
 * @file text.h
 * Text that grows up to a maximum, pieces of a stranger's text made safe to quote, and the nearest word to a mistyped one.
 */
#ifndef CROSSHATCH_TEXT_H
#define CROSSHATCH_TEXT_H

#include <stddef.h>

#include "crosshatch/status.h"

/**
 * A growing text. The first failure sticks: later appends do nothing, so that a writer appends freely and asks once, at the
 * end. Read the fields through the functions below.
 */
typedef struct ch_text {
    char *bytes;      /**< NULL until the first append; then always closed by a NUL byte */
    size_t length;    /**< bytes without the NUL */
    size_t capacity;  /**< bytes allocated, with the NUL */
    size_t maximum;   /**< most bytes without the NUL */
    ch_status status; /**< CH_OK, CH_E_MEMORY, CH_E_LIMIT, or CH_E_RANGE for a format that cannot be written */
} ch_text;

/** Make an empty text of at most `maximum` bytes. Allocates nothing, cannot fail. */
void ch_text_init(ch_text *text, size_t maximum);

/** Give the memory back and leave an empty text with the same maximum and status CH_OK. Fine on an empty text. */
void ch_text_clear(ch_text *text);

/**
 * Append `length` bytes, which must not lie inside `text` itself. On failure the text stays as it was and the failure sticks:
 * CH_E_LIMIT where it would grow beyond its maximum, CH_E_MEMORY where there is no memory.
 */
void ch_text_append(ch_text *text, const char *bytes, size_t length);

/** Append a NUL-terminated string; otherwise as ch_text_append. */
void ch_text_append_string(ch_text *text, const char *string);

/**
 * Append as printf would; otherwise as ch_text_append. Numbers with a fraction follow the process's locale, as printf's do:
 * use ch_si_format for those.
 */
void ch_text_appendf(ch_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/** The text so far, NUL-terminated, "" where empty. Lives until the next append or clear. Never NULL. */
const char *ch_text_string(const ch_text *text);

/**
 * The status that stuck; a failure is also reported through `err` (may be NULL).
 *
 * @param text Asked; nothing is changed.
 */
ch_status ch_text_check(const ch_text *text, ch_err *err);

/**
 * Length in bytes, 1 to 4, of the well-formed UTF-8 character at the start of `length` bytes, or 0 where none stands there: no overlong
 * forms, no surrogates, nothing beyond U+10FFFF. Source: RFC 3629, section 4.
 */
size_t ch_utf8_length(const char *text, size_t length);

/**
 * Copy a piece of somebody's text for use inside a message: cut (with "..." at its end) to fit `size` bytes with the NUL, control
 * characters and bytes that are not UTF-8 shown as "?".
 */
void ch_text_excerpt(const char *bytes, size_t length, char *excerpt, size_t size);

/**
 * The word that a mistyped one was probably meant to be.
 *
 * Near means a Damerau-Levenshtein distance (insertions, deletions, substitutions, swaps of neighbours; ASCII upper and lower
 * case equal) of at most a quarter of the longer word's length, rounded, and less than the shorter word's length, or a beginning of
 * three letters or more ("temp" for "temperature"). Of equally near words the first in the list wins.
 * Source: Lowrance and Wagner, An Extension of the String-to-String Correction Problem, Journal of the ACM 22 (1975), 177-183.
 *
 * @param word   `length` bytes; more than 64 are near nothing.
 * @param length Bytes of `word`; need not end in NUL.
 * @param words  `n` NUL-terminated words, of which those beyond 64 bytes are passed over.
 * @param n      Of `words`.
 * @return An element of `words`, or NULL where none is near.
 */
const char *ch_nearest_word(const char *word, size_t length, const char *const *words, size_t n);

#endif

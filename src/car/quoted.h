/* The text inside quotes, as YAML 1.2.2 and RFC 8259 say. */
#ifndef CROSSHATCH_QUOTED_H
#define CROSSHATCH_QUOTED_H

#include <stdbool.h>
#include <stddef.h>

/* Bytes between the quotes, of which `text` begins behind the first. `quote` is ' or ". */
size_t quoted_length(const char *text, size_t length, char quote);

/* Most bytes that `length` bytes between quotes can stand for. */
size_t quoted_room(size_t length);

/*
 * Write what `length` bytes between quotes stand for to `out`, which has quoted_room(length) bytes, and how many they are. The grammar has been
 * checked before. False where an escape is no character: half a surrogate pair, or beyond U+10FFFF.
 */
bool quoted_read(const char *text, size_t length, char quote, char *out, size_t *used);

#endif

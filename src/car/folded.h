/* A folded block of text (`>`), as YAML 1.2.2 says. */
#ifndef CROSSHATCH_FOLDED_H
#define CROSSHATCH_FOLDED_H

#include <stdbool.h>
#include <stddef.h>

/*
 * Read the block whose header is the first `>` at or behind `offset`, outside of remarks.
 *
 * `text` has `length` bytes up to the end of the block or beyond it. `out` has room for `length` - `offset` + 1 bytes and one more; the
 * block gets a NUL behind its `used` bytes. False where there is no header, or where the header says how
 * far the text is indented (`>2`), which this reader does not take.
 */
bool folded_read(const char *text, size_t length, size_t offset, char *out, size_t *used);

#endif

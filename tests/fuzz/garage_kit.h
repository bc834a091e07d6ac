/* What the targets that need a garage file share: an invented garage, the same bytes on every run, in a folder of this process's own. */
#ifndef CROSSHATCH_TESTS_FUZZ_GARAGE_KIT_H
#define CROSSHATCH_TESTS_FUZZ_GARAGE_KIT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { GARAGE_NOW = 1800000000 }; /* a moment in January 2027 */

/* Abort unless it holds. */
void must(bool held);

/* The folder's garage file. Made, and removed when the process ends, by the first call. */
const char *garage_path(void);

/* Its bytes as made: two cars, an engine, a gauge, a closed sheet with rows of every kind, an open one, the ledger, events, parts, settings. */
const uint8_t *garage_bytes(size_t *size);

/* Put these bytes there as the garage file, and nothing beside it. */
void garage_put(const uint8_t *bytes, size_t size);

/* What the garage file holds now; the caller frees. */
uint8_t *garage_read(size_t *size);

/* Whether the garage file is these bytes. */
bool garage_is(const uint8_t *bytes, size_t size);

#endif

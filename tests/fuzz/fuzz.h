/* What every fuzz target defines: one call with any bytes must return 0, and abort where a promise is broken. */
#ifndef CROSSHATCH_TESTS_FUZZ_H
#define CROSSHATCH_TESTS_FUZZ_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif

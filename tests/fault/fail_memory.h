/*
 * Makes the nth allocation fail of those that are called for from some part of the program: from our own code, or from within the libraries that promise to report it.
 * Our own code is reached by the linker's --wrap (tests/unit/fail_alloc.h), under sanitizers too; libraries by taking malloc's place in the program, which
 * sanitizers do themselves, so that there only our own code is tried.
 *
 * Libraries tried: Jansson, GSL, SQLite, libqrencode, libpng, libjpeg, GnuTLS and Nettle; apart from them libarchive and zlib, because libarchive ends the program where it has
 * no memory for a name (archive_string.c, __archive_errx), follows a null pointer in a few places, and else reports it. What was growing under a name of its own then lies there.
 * Not tried, because they end the program when there is no memory, by their own design: GLib and GObject (g_malloc), Pango, Cairo's and librsvg's use of it, librsvg (Rust's
 * allocator), GMP; because they follow a null pointer then: libfyaml (0.7.12, fy_parse_input_append), libical (3.0); nor what only those call: fontconfig, FreeType, HarfBuzz, libxml2. Nor the C library's own (a stream's buffer), and the loader's.
 */
#ifndef CROSSHATCH_TESTS_FAULT_FAIL_MEMORY_H
#define CROSSHATCH_TESTS_FAULT_FAIL_MEMORY_H

#include <stdbool.h>

typedef enum memory_of { MEMORY_OURS, MEMORY_LIBRARIES, MEMORY_OF_ARCHIVES, MEMORY_PARTS } memory_of;
extern const char *const memory_names[MEMORY_PARTS];

/* Whether this part can be made to fail in this build. */
bool fail_memory_can(memory_of part);

/* From now on the nth allocation of the part fails, and no other. */
void fail_memory_at(memory_of part, long n);

/* Let all through again. True where one has failed. *seen: how many there were, also where none failed (n = LONG_MAX). */
bool fail_memory_stop(long *seen);

/* Blocks in use in the whole program; 0 where that is not known. */
long fail_memory_blocks(void);

/* From now on, in a process that was made for it: where code of one of the libraries follows a null pointer, the process ends with this status. */
void fail_memory_ends_with_library(int status);

/* The library whose allocation failed last, or "". */
const char *fail_memory_where(void);

#endif

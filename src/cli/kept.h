/*
 * Answers of the tracing, kept between runs in the cache folder (XDG Base Directory Specification 0.8, $XDG_CACHE_HOME): the same sheet, knowledge, seed
 * and program give the same answer, so that it need not be worked out twice. The folder may be deleted at any time; what is in it is looked
 * through before it is believed, and that it cannot be written is no failure. Knowledge from a folder is not kept: nothing tells its versions apart.
 */
#ifndef CROSSHATCH_CLI_KEPT_H
#define CROSSHATCH_CLI_KEPT_H

#include "crosshatch/trace.h"

enum { KEPT_NAME = 48, KEPT_MAXIMUM = 256 /* answers; the oldest go first */ };

/* The name under which a sheet's answer is kept; "" where none can be made. `mark`: of the knowledge, input_knowledge_mark(). */
void kept_name(const ch_sheet *sheet, uint64_t mark, uint64_t seed, char name[KEPT_NAME]);

/* True and the answer where it is there and good. */
bool kept_read(const char name[KEPT_NAME], const ch_knowledge *knowledge, ch_trace *trace);

/* Keep it, if that can be done. */
void kept_write(const char name[KEPT_NAME], const ch_knowledge *knowledge, const ch_trace *trace);

#endif

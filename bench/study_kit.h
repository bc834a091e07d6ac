/* What the studies share: reading their files, the knowledge built into the program, and plots. */
#ifndef CROSSHATCH_STUDY_KIT_H
#define CROSSHATCH_STUDY_KIT_H

#include <stddef.h>

#include "crosshatch/knowledge.h"
#include "crosshatch/status.h"

/* A whole file as text that ends in a NUL, to be freed; NULL where it cannot be read, after a line on stderr. */
char *study_read(const char *path, size_t *length);

/* A line on stderr for a failed call. */
void study_complain(const char *where, const ch_err *err);

/* One figure against what is wanted of it. Unlimited on a side: -INFINITY, INFINITY. */
typedef struct study_figure {
    const char *what;
    double value, least, most;
    size_t n; /* what it was counted over */
} study_figure;

/* Print a figure with its verdict; returns whether it is met. */
int study_figure_print(const study_figure *figure);

#endif

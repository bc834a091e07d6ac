/* A crew of threads, one for each processor. */
#ifndef CROSSHATCH_CLI_THREADS_H
#define CROSSHATCH_CLI_THREADS_H

#include "crosshatch/crew.h"

/* As many workers as this machine has processors for us, at most THREADS_MOST. */
enum { THREADS_MOST = 8 };
ch_crew threads_crew(void);

#endif

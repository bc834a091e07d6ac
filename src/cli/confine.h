/* What the server may write once it runs: so that a fault in it, or in a library that reads what others sent, cannot reach other files. */
#ifndef CROSSHATCH_CLI_CONFINE_H
#define CROSSHATCH_CLI_CONFINE_H

#include <stdbool.h>
#include <stddef.h>

/*
 * From now on this thread, and those that it starts, write, make, remove and cut files in these folders and below them alone; what is open already
 * stays so, and reading is not restricted. For good: there is no way back. Names that cannot be opened are left out.
 *
 * False where the system cannot do it (no Linux, a kernel before 5.13 or without Landlock): then nothing has changed, and the caller says so.
 * Source: Linux kernel documentation, userspace-api/landlock; cutting is only restricted from its third version on (Linux 6.2).
 */
bool confine_writing(const char *const folders[], size_t count);

#endif

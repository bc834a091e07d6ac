/*
 * A body too large for memory: it goes into a file without a name as it comes, and is then looked at through a map, so that it takes no memory which
 * the system could not take back. The file lies in $TMPDIR, else in /var/tmp, and is gone with its last user.
 */
#ifndef CROSSHATCH_WEB_SPOOL_H
#define CROSSHATCH_WEB_SPOOL_H

#include <stddef.h>

#include "crosshatch/status.h"

/* Room for `size` bytes and a NUL is set aside at once, so that a full disk is known before the body comes. descriptor (out): to be closed. CH_E_IO. */
ch_status spool_open(size_t size, int *descriptor, ch_err *err);

/* Write on. CH_E_IO. */
ch_status spool_write(int descriptor, const char *bytes, size_t length);

/* All `size` bytes and the NUL behind them; changes stay in memory and do not reach the file. NULL where that fails. spool_unmap() it. */
char *spool_map(int descriptor, size_t size);
void spool_unmap(char *bytes, size_t size);

#endif

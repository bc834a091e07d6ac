/* Files too large for the memory: written a piece at a time and whole or not at all, and read from anywhere inside. */
#ifndef CROSSHATCH_CLI_FILE_STREAM_H
#define CROSSHATCH_CLI_FILE_STREAM_H

#include "crosshatch/store_archive.h"

typedef struct file_new file_new;

/*
 * Begin a new file: it grows beside `name` under another name.
 *
 * retval CH_E_INPUT: a file or folder of this name is there already. CH_E_IO. CH_E_MEMORY.
 */
ch_status file_new_open(const char *name, file_new **file, ch_err *err);

/* The next bytes; a ch_store_sink whose context is the file_new. */
ch_status file_new_write(const void *bytes, size_t length, void *context, ch_err *err);

/* Flush to the disk and give it its name, unless another file has taken that meanwhile (CH_E_INPUT). The file is closed in any case. */
ch_status file_new_keep(file_new *file, ch_err *err);

/* Close it and leave nothing behind. NULL is fine. */
void file_new_drop(file_new *file);

/* Open a file to be read from anywhere; file_source_close() it. CH_E_INPUT, also where it is no plain file; CH_E_IO. */
ch_status file_source_open(const char *name, ch_store_source *source, ch_err *err);
void file_source_close(ch_store_source *source);

#endif

/* Files by name: whole in, whole out. With file_stream.c the only room of the program that opens any. */
#ifndef CROSSHATCH_CLI_FILE_H
#define CROSSHATCH_CLI_FILE_H

#include <stddef.h>
#include <sys/types.h>

#include "crosshatch/status.h"

/*
 * Read a whole file, or the standard input where `name` is "-".
 *
 * bytes (out): newly allocated, NUL behind its `length` bytes; the caller frees it.
 * retval CH_E_INPUT: there is no such file, it may not be read, or it is a folder. CH_E_LIMIT: longer than `maximum`.
 * CH_E_IO: the machine failed while reading. CH_E_MEMORY.
 */
ch_status file_read(const char *name, size_t maximum, char **bytes, size_t *length, ch_err *err);

/* Takes a piece of a file; a negative status ends the reading. */
typedef ch_status file_take(const char *bytes, size_t length, void *context, ch_err *err);

/* Read a file of any length, or the standard input where `name` is "-", in pieces that are let go again. Otherwise as file_read(). */
ch_status file_stream(const char *name, file_take *take, void *context, ch_err *err);

/* Write all to the standard output and close it, so that a full disk or a reader that has gone is noticed. CH_E_IO. */
ch_status file_write_output(const char *bytes, size_t length, ch_err *err);

/*
 * Write a whole file: into a new file beside it, flushed to the disk, which then takes its name. On failure the old file, or none, is as
 * it was and nothing is left behind. What is no regular file (a device, a pipe) is written to directly. Symbolic links are followed.
 *
 * retval CH_E_INPUT: a folder has this name. CH_E_IO.
 */
ch_status file_write(const char *name, const char *bytes, size_t length, ch_err *err);

/* Create a new file with this content; CH_E_INPUT where one of this name is there already, CH_E_IO. Nothing is left behind on failure. */
ch_status file_create(const char *name, const char *bytes, size_t length, ch_err *err);

/* What both file.c and file_stream.c are made of. */

/* A failure at a file: what is wrong with it and, unless it is 0, the system's word for the error. Returns `status`. */
ch_status file_fail(const char *name, ch_status status, const char *right, const char *what, int error, ch_err *err);

/* Mode of a new file: what the person's umask leaves of read and write for all. */
mode_t file_usual_mode(void);

/* Make a new name last through a power cut: flush its folder. Not every file system can, so its failure is none of ours. */
void file_flush_folder(const char *name);

#endif

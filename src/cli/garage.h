/* Where the garage file lies, and what time it is: the two things that the store asks of the faces. */
#ifndef CROSSHATCH_CLI_GARAGE_H
#define CROSSHATCH_CLI_GARAGE_H

#include <stddef.h>

#include "cli.h"
#include "crosshatch/store.h"

/*
 * The garage file's name: --garage where given, else garage.db in $XDG_DATA_HOME/crosshatch, else in ~/.local/share/crosshatch
 * (XDG Base Directory Specification 0.8). `make_folder`: see to it that the default's folder is there.
 *
 * retval CH_E_USAGE: neither --garage nor XDG_DATA_HOME nor HOME. CH_E_LIMIT: longer than `size`. CH_E_IO: the folder cannot be made.
 */
ch_status garage_path(const cli_options *options, bool make_folder, char *path, size_t size, ch_err *err);

/*
 * Open the file of that name; with CH_STORE_CREATE its default folder is made too. One that may only be read is opened all the same, which is said in a line, but with CH_STORE_CREATE:
 * what is to be entered fails with CH_E_IO before it begins.
 */
ch_status garage_open(const cli_options *options, ch_store_mode mode, ch_store **store, ch_err *err);

/* Say on the standard error, in a line, that this garage file may only be read. */
void garage_say_read_only(const char *path);

/* The owner's calendar day, not that of Greenwich: by the local time zone, as days are written on sheets and events. */
ch_date garage_today(void);

/*
 * The day that a printed file names as the one on which it was made: that of SOURCE_DATE_EPOCH (reproducible-builds.org), so that a file can be
 * made again to the byte, else today.
 */
ch_date garage_made_on(void);

/*
 * The car asked for (--car); else the one in hand; else the only one; without cars, the sheets of none (0). A garage whose sheets all came in as
 * files has no car. `verb` begins the message.
 *
 * retval CH_E_INPUT: no such car. CH_E_USAGE: several, and none asked for.
 */
ch_status garage_car(const cli_options *options, ch_store *store, ch_store_pool *pool, const char *verb,
                     int64_t *car_id, ch_err *err);

/* Seconds since 1970-01-01 UTC. */
int64_t garage_now_s(void);

#endif

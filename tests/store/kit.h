/* What the tests of the store share: a folder of their own, a garage file in it, rows and sheets to put into it. */
#ifndef CROSSHATCH_TESTS_STORE_KIT_H
#define CROSSHATCH_TESTS_STORE_KIT_H

#include "../unit/expect.h"
#include "crosshatch/store.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_driveline.h"
#include "crosshatch/store_sheet.h"

enum { KIT_NOW = 1800000000 }; /* a moment in January 2027 */

/* Make an empty folder, in memory where the system has such a place (a flush costs milliseconds elsewhere). */
int kit_begin(void **state);
int kit_end(void **state);

/* A name inside the folder. Static storage, good for eight calls. */
const char *kit_path(const char *name);

/* Open garage.db in the folder, made where it is missing; a failure ends the test with its message. */
ch_store *kit_open(void);

/* Forget the statements that are kept prepared, as if it had been opened just now. */
void kit_forget_statements(ch_store *store);

/* A sheet with an engine of four cylinders and no rows: its id. */
int64_t kit_sheet(ch_store *store);

ch_quantity kit_quantity(const char *text, ch_dimension dimension);
ch_store_row kit_row(int cylinder, const char *reading);

/* A run of two gears and two slips, invented. Static storage for its lists. */
ch_store_run kit_run(int64_t car_id);

/* All bytes of a file; the caller frees. NULL where there is none. */
char *kit_bytes(const char *path, size_t *length);

/* CH_OK, or the test ends with the message. */
void kit_good(ch_status rc, const ch_err *err);

/* No finding, or the test ends with the first. */
void kit_verify(ch_store *store);

/* Current rows of the sheet. */
size_t kit_count(ch_store *store, int64_t sheet_id);

/* One number by SQL from the file, through a connection of its own. */
long long kit_ask(const char *path, const char *sql);

/* Make of a garage file one with the journal of a change that was cut short beside it, as a program that was killed leaves them. */
void kit_cut_short(const char *path);

/* Read a sheet's file of the tree ("demo/hill-climb-sound.yaml"). */
void kit_read_sheet(const char *name, ch_sheet *sheet);

#endif

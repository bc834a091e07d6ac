/*
 * What people do to a garage file, one change each, so that tests of faults and of power cuts do all of it. No test library in here: the studies use it too.
 */
#ifndef CROSSHATCH_TESTS_STORE_DEEDS_H
#define CROSSHATCH_TESTS_STORE_DEEDS_H

#include "crosshatch/store.h"
#include "crosshatch/store_archive.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_sheet.h"

/* What there is to do something with; 0 = none. A deed that succeeded says here what it made. */
typedef struct deed_place {
    const ch_sheet *demo; /* a whole sheet with engine and gauge */
    int64_t car, engine, gauge, event, part, sheet, entry, ledger, photo, work, spent, run, withdrawn;
    int n;        /* of the deed: texts and ids of senders are made of it, so that each is another */
    size_t bytes; /* of a photo */
    uint64_t
        archive; /* what the archive adds up to, where that is known; an archive that adds up to something else is a failure */
} deed_place;

enum { DEED_NOW = 1800000000 }; /* a moment in January 2027 */

typedef struct deed {
    const char *name;
    ch_status (*act)(ch_store *store, deed_place *place, ch_err *err);
    bool (*fits)(const deed_place *place); /* NULL = always */
    bool reads;                            /* changes nothing */
} deed;

extern const deed deeds[];
extern const size_t deeds_count;

/* small_deeds.c: more of them, for a place as deeds_base() leaves it; with those, all that the library's calls do to a garage file but copies and archives read. */
extern const deed small_deeds[];
extern const size_t small_deeds_count;

/* A file with one of each thing in it, and where they are. */
ch_status deeds_base(ch_store *store, const ch_sheet *demo, deed_place *place, ch_err *err);

/* The demonstration's sheet out of the tree; ch_sheet_clear() it. */
ch_status deeds_demo(ch_sheet *demo, ch_err *err);

/* A growing archive in memory, which the caller frees; and its sum, as deed_place has it. */
typedef struct deed_archive {
    char *bytes;
    size_t length, room;
    uint64_t sum;
} deed_archive;
ch_status deeds_archive_take(const void *bytes, size_t length, void *context, ch_err *err); /* a ch_store_sink */
ch_status deeds_archive_give(void *context, int64_t offset, void *bytes, size_t size, size_t *got, ch_err *err);

/*
 * A number for all that the file at `path` holds, its version too, read through a connection of its own: two files with the same number hold the same.
 * 0 where it cannot be read.
 */
uint64_t deeds_digest(const char *path);

#endif

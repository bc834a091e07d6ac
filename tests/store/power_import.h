/*
 * Power cuts while a whole garage is brought in: an archive read into a garage file, or a copy made over another garage. At many moments the disk is looked at as a cut would
 * have left it. After each, there is what there was before, or all that was brought in: the file opens and verifies, and is neither half nor a mixture. Once the
 * call has come back, and through a change and a closing after it, there is all of it.
 */
#ifndef CROSSHATCH_TESTS_STORE_POWER_IMPORT_H
#define CROSSHATCH_TESTS_STORE_POWER_IMPORT_H

#include "power_run.h"

typedef enum power_import_way {
    IMPORT_NEW,   /* an archive, where there is no file yet */
    IMPORT_BLANK, /* ... into a file without a byte */
    IMPORT_EMPTY, /* ... into an empty garage */
    IMPORT_OLDER, /* ... into an empty garage of an older version, which is brought up to date first */
    IMPORT_OVER,  /* a garage file, by a copy over another garage */
    IMPORT_WAYS
} power_import_way;
enum { IMPORT_STEPS = 2 }; /* of a run: brought in, and what follows */
extern const char *const power_import_names[IMPORT_WAYS];

/* As power_run(); `seed` also chooses how much is brought in, and the older version. */
bool power_run_import(const char *folder, power_import_way way, long points, uint64_t seed, bool lie,
                      power_result *result);

#endif

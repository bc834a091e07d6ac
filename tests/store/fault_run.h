/*
 * Every call to the disk and every allocation fails in turn, while each thing that people do to a garage file is done.
 * After each fault the file holds what it held before or what it holds after the change, and verifies; what was acknowledged is there; what was refused came with a
 * status and a line that say what failed, and works when it is done again; no half-made file is left in the folder.
 */
#ifndef CROSSHATCH_TESTS_STORE_FAULT_RUN_H
#define CROSSHATCH_TESTS_STORE_FAULT_RUN_H

#include <stdbool.h>

typedef enum fault_kind {
    FAULT_WRITE,
    FAULT_FULL,
    FAULT_FLUSH,
    FAULT_READ,
    FAULT_OPEN,
    FAULT_SHARED,
    FAULT_WRITE_ON, /* from then on every call of this kind */
    FAULT_FULL_ON,
    FAULT_FLUSH_ON,
    FAULT_MEMORY,        /* the store's allocations */
    FAULT_SQLITE_MEMORY, /* SQLite's */
    FAULT_KINDS
} fault_kind;
extern const char *const fault_kind_names[FAULT_KINDS];

typedef struct fault_result {
    long operations;
    long points[FAULT_KINDS]; /* calls that can fail, over all operations */
    long faults[FAULT_KINDS]; /* of those: made to fail */
    long refused;             /* faults after which the operation said that it failed; after the others it was done */
    long failed;
    char first[900]; /* what was wrong at the first that failed */
} fault_result;

/* Once a program, before anything else of SQLite. */
void fault_run_begin(void);

/*
 * Do it all in an empty folder. `dumps` are the SQL of files of the older versions 1, 2 ...; `most` faults of a kind for each operation, spread evenly; 0 = all.
 * False where it cannot be done at all; then `first` says why.
 */
bool fault_run(const char *folder, const char *const dumps[], long most, fault_result *result);

#endif

/*
 * Power cuts in the middle of a garage's life: a season of entries is made, and at many moments the disk is looked at as the cut would have left it.
 * After each, the garage file opens, verifies, and holds what it held before the change in hand or after it: all that was acknowledged, nothing half.
 */
#ifndef CROSSHATCH_TESTS_STORE_POWER_RUN_H
#define CROSSHATCH_TESTS_STORE_POWER_RUN_H

#include "crosshatch/store.h"
#include "lose_power.h"

typedef struct power_result {
    long steps;   /* changes, copies, closings and openings */
    long refused; /* of those */
    long moments; /* at which the power can go: between any two calls to the disk */
    long points;  /* cuts looked at */
    long in_vain; /* of those: the change in hand was lost whole, as it may be; it was not acknowledged */
    long failed;
    power_toll toll;
    char first[640]; /* what was wrong at the first that failed */
} power_result;

/*
 * `steps` steps chosen by `seed`, cut at `points` moments spread evenly over them. `folder` is an empty one; two folders are made in it. False where the run itself
 * could not be made; then `first` says why.
 */
bool power_run(const char *folder, int steps, long points, uint64_t seed, bool lie, power_result *result);

/* The same while a file of this older version of the schema (`dump` is its SQL) is opened and brought up to date. */
bool power_run_migration(const char *folder, const char *dump, int version, long points, uint64_t seed,
                         power_result *result);

/*
 * The folder's own name: SQLite names its files without links and doubled strokes, and what is watched has to be named so too. For free(); NULL where there is none,
 * or the name has more than `most` bytes: then `first` says so.
 */
char *power_real_folder(const char *folder, size_t most, power_result *result);

/* What has to hold of a file after a cut: it opens, and nothing is found wrong in it. */
ch_status power_verified(const char *path, ch_store_mode mode, ch_err *err);

/* The version of the schema, -1 where it cannot be read. */
int power_version(const char *path);

/* The nth throw of the dice with this seed. */
uint64_t power_dice(uint64_t seed, uint64_t n);

#endif

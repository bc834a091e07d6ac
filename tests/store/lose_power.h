/*
 * A disk that loses its power. Over a folder that holds a garage file it keeps, beside what the running program sees, what the disk is sure to hold: for each file
 * the bytes as of its last flush and every write and cut since; for the folder the names as of its last flush and every name made, changed or removed since. At any
 * moment power_cut() writes into another folder one of the states that a disk may be found in afterwards.
 *
 * What may happen to that which was not flushed: each sector of 512 bytes of each write arrives, does not arrive, or arrives up to somewhere in its middle,
 * independent of the others and of the order; a sector that never was flushed may hold anything; a name is there or not. What was flushed stays. Not
 * assumed to happen: a disk that says flushed and has not (but see power_lie), bytes that change outside of what was being written.
 *
 * SQLite's own calls come through disk_layer.h; those of the store (copies, new garage files) by the linker's --wrap of open, mkstemp, link, rename, unlink and fsync. A folder is flushed
 * where SQLite does that on Unix: with the first flush of a log or a journal made anew, and with a deletion that asks for it.
 */
#ifndef CROSSHATCH_TESTS_STORE_LOSE_POWER_H
#define CROSSHATCH_TESTS_STORE_LOSE_POWER_H

#include <stdbool.h>
#include <stdint.h>

/* Watch this folder; what it holds now counts as flushed. False without memory. `call` is called before each flush and after each other step. */
bool power_watch(const char *folder, void (*call)(void *context), void *context);

/* Forget all, and let everything pass. */
void power_stop(void);

/* Flushes do nothing: a disk that lies. To see that losses are seen. */
void power_lie(bool lie);

typedef struct power_toll {
    long sectors;             /* not flushed */
    long lost, torn, strange; /* of those: not there, there in part, other bytes in a place that never was flushed */
    long names, names_lost;
} power_toll;

/* Write into the folder `into`, emptied first, what the disk may hold if the power goes now. False where that cannot be written. */
bool power_cut(uint64_t seed, const char *into, power_toll *toll);

/* Remove all files of a folder. */
bool power_empty(const char *path);

#endif

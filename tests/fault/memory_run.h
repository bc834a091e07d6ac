/*
 * Every allocation fails in turn, for everything that the program does: each verb of the terminal from its arguments to its answer (reading sheets, cars, plans, logs and
 * knowledge, judging, tracing, forecasting, planning, the garage file, all forms of output), and each kind of request to the server.
 *
 * After each fault: no crash; a failure with a status, a line that says what, and nothing half done; or the whole right answer, byte for byte. Nothing is lost of
 * memory; and the same again, with memory, gives the right answer.
 */
#ifndef CROSSHATCH_TESTS_FAULT_MEMORY_RUN_H
#define CROSSHATCH_TESTS_FAULT_MEMORY_RUN_H

#include "fail_memory.h"

typedef struct memory_result {
    long operations;
    long points[MEMORY_PARTS]; /* allocations, over all operations */
    long faults[MEMORY_PARTS]; /* of those: made to fail */
    long ended;   /* faults after which a library ended the program: then nothing is half done all the same */
    long refused; /* faults after which the operation said that it failed; after the others it gave its whole answer */
    long other;   /* of those refused: with another status than that there is no memory */
    long failed;
    char first[900]; /* what was wrong at the first that failed */
} memory_result;

/*
 * All operations in an empty folder; without `all`, but the slowest. At most `most` faults of a part for each operation, spread evenly; a twentieth of that for those that take long. `tell`: a line for each on
 * the standard output. `only`: the operation of this name alone; NULL = all. False where it cannot be done at all; then `first` says why.
 */
bool memory_run(const char *folder, long most, bool all, bool tell, const char *only, memory_result *result);

#endif

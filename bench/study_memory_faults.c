/*
 * Every allocation fails in turn, for everything that the program does: study_memory_faults [MOST [NAME]]. At most so many faults for each operation and part, spread
 * evenly (2,000 unless given, 0 = all; a twentieth of that for operations that take long); NAME: that operation alone. What has to hold after each stands in
 * tests/fault/memory_run.h. Exits 1 where it did not.
 */
#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#include "memory_run.h"

int main(int count, char **arguments)
{
    const long most = count > 1 ? strtol(arguments[1], NULL, 10) : 2000;
    char folder[] = "/dev/shm/crosshatch-memory-XXXXXX", elsewhere[] = "/tmp/crosshatch-memory-XXXXXX";
    const char *made = mkdtemp(folder);
    if (made == NULL)
        made = mkdtemp(elsewhere);
    memory_result r = {0};
    const clock_t begun = clock();
    gsl_set_error_handler_off(); /* as the program does */
    setvbuf(stdout, NULL, _IOLBF, 0);
    if (made == NULL || !memory_run(made, most, true, true, count > 2 ? arguments[2] : NULL, &r)) {
        printf("no run: %s\n", r.first);
        return 1;
    }
    rmdir(made);
    if (r.failed > 0)
        printf("first: %s\n", r.first);
    long faults = 0;
    for (int part = 0; part < MEMORY_PARTS; part++) {
        printf("%s: %ld allocations, %ld made to fail\n", memory_names[part], r.points[part], r.faults[part]);
        faults += r.faults[part];
    }
    printf("%ld operations, %ld faults: %ld refused with a message, %ld ended by libarchive, %ld answered in full, "
           "wrong: %ld (wanted 0), %.0f s\n",
           r.operations, faults, r.refused - r.ended, r.ended, faults - r.refused, r.failed,
           (double)(clock() - begun) / CLOCKS_PER_SEC);
    return r.failed == 0 ? 0 : 1;
}

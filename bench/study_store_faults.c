/*
 * Every call to the disk and every allocation fails in turn while each thing that people do to a garage file is done: study_store_faults [MOST]. At most so many
 * faults of a kind for each operation, spread evenly; all unless given. What has to hold after each stands in tests/store/fault_run.h. Exits 1 where it did not.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "crosshatch/store.h"
#include "fault_run.h"

enum { DUMP = 256 * 1024 };

static bool read_dump(int version, char **dump)
{
    char path[512];
    const char *tree = getenv("CROSSHATCH_SOURCE");
    snprintf(path, sizeof path, "%s/tests/store/garage-v%d.sql", tree != NULL ? tree : ".", version);
    FILE *file = fopen(path, "rb");
    *dump = calloc(1, DUMP);
    const size_t length = file != NULL && *dump != NULL ? fread(*dump, 1, DUMP, file) : 0;
    if (file != NULL)
        fclose(file);
    return length > 0 && length < DUMP;
}

int main(int count, char **arguments)
{
    const long most = count > 1 ? strtol(arguments[1], NULL, 10) : 0;
    char folder[] = "/dev/shm/crosshatch-faults-XXXXXX", elsewhere[] = "/tmp/crosshatch-faults-XXXXXX";
    const char *made = mkdtemp(folder);
    if (made == NULL)
        made = mkdtemp(elsewhere);
    char *dumps[CH_STORE_VERSION] = {0};
    bool good = made != NULL;
    for (int version = 1; version < CH_STORE_VERSION && good; version++)
        good = read_dump(version, &dumps[version - 1]);
    fault_run_begin();
    const clock_t begun = clock();
    fault_result r = {0};
    good = good && fault_run(made, (const char *const *)dumps, most, &r);
    for (int version = 1; version < CH_STORE_VERSION; version++)
        free(dumps[version - 1]);
    if (made != NULL)
        rmdir(made);
    if (!good) {
        printf("no run: %s\n", r.first);
        return 1;
    }
    long faults = 0;
    printf("%-20s %10s %10s\n", "what fails", "calls", "failed");
    for (int kind = 0; kind < FAULT_KINDS; kind++) {
        printf("%-20s %10ld %10ld\n", fault_kind_names[kind], r.points[kind], r.faults[kind]);
        faults += r.faults[kind];
    }
    if (r.failed > 0)
        printf("first: %s\n", r.first);
    printf("%ld operations, %ld faults: %ld refused with a message, %ld done in spite of it, wrong: %ld (wanted 0), "
           "%.0f s\n",
           r.operations, faults, r.refused, faults - r.refused, r.failed, (double)(clock() - begun) / CLOCKS_PER_SEC);
    return r.failed == 0 ? 0 : 1;
}

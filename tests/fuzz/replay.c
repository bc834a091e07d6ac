/*
 * Replays kept inputs through a fuzz target as an ordinary test: `fuzz_NAME_replay FOLDER...` runs every file of the folders in
 * the order of their names and prints one TAP line each. An empty folder fails: a replay that replays nothing shows nothing.
 */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"

enum { INPUT_MAXIMUM = 16 * 1024 * 1024, PATH_SIZE = 4096 };

static int is_kept_input(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

/* 0 where the file was read and run. */
static int replay_file(const char *path)
{
    FILE *const file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        return -1;
    }
    int result = -1;
    uint8_t *bytes = NULL;
    long size = -1;
    if (fseek(file, 0, SEEK_END) == 0)
        size = ftell(file);
    if (size >= 0 && size <= INPUT_MAXIMUM && fseek(file, 0, SEEK_SET) == 0)
        bytes = malloc((size_t)size + 1); /* never of size 0, which may give NULL */
    if (bytes != NULL && fread(bytes, 1, (size_t)size, file) == (size_t)size)
        result = LLVMFuzzerTestOneInput(bytes, (size_t)size);
    free(bytes);
    fclose(file);
    return result;
}

int main(int argc, char **argv)
{
    int tests = 0, failed = 0;
    setvbuf(stdout, NULL, _IOLBF, 0); /* the last line names the input that aborts */
    for (int folder = 1; folder < argc; folder++) {
        struct dirent **entries = NULL;
        const int n = scandir(argv[folder], &entries, is_kept_input, alphasort);
        if (n <= 0) {
            fprintf(stderr, "no inputs in %s\n", argv[folder]);
            failed++;
        }
        for (int i = 0; i < n; i++) {
            char path[PATH_SIZE];
            snprintf(path, sizeof path, "%s/%s", argv[folder], entries[i]->d_name);
            printf("# %s\n", path);
            const int result = replay_file(path);
            failed += result != 0;
            printf("%s %d - %s\n", result == 0 ? "ok" : "not ok", ++tests, entries[i]->d_name);
            free(entries[i]);
        }
        free(entries);
    }
    printf("1..%d\n", tests);
    return failed == 0 && tests > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

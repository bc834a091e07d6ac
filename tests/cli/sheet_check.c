/*
 * Reads one test sheet and says what comes of it: `ok` (exit 0), or the line of the error (exit 3). With --yaml or --json it prints the
 * sheet written back. A part of the tests, not of the program.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sheet.h"

static int check(const char *path, const char *form)
{
    FILE *file = fopen(path, "rb");
    char *text = malloc(CH_SHEET_BYTES_MAX + 1);
    if (file == NULL || text == NULL) {
        perror(path);
        if (file != NULL)
            fclose(file);
        free(text);
        return 4;
    }
    size_t length = fread(text, 1, CH_SHEET_BYTES_MAX + 1, file);
    fclose(file);
    ch_sheet sheet;
    ch_err err = {0};
    ch_status rc = ch_sheet_parse(path, text, length, &sheet, &err);
    free(text);
    if (rc >= 0 && form != NULL) {
        char *written = NULL;
        rc = ch_sheet_write(&sheet, strcmp(form, "--json") == 0, &written, &length, &err);
        if (rc >= 0)
            fwrite(written, 1, length, stdout);
        free(written);
    }
    if (rc >= 0)
        ch_sheet_clear(&sheet);
    char line[1024];
    ch_err_format(&err, line, sizeof line);
    if (rc < 0)
        printf("%s\n", line);
    else if (form == NULL)
        printf("ok\n");
    return rc < 0 ? 3 : 0;
}

int main(int argc, char **argv)
{
    const char *form = argc > 2 && strncmp(argv[1], "--", 2) == 0 ? argv[1] : NULL;
    int worst = 0;
    for (int i = form != NULL ? 2 : 1; i < argc; i++) {
        const int exit_status = check(argv[i], form);
        worst = exit_status > worst ? exit_status : worst;
    }
    return worst;
}

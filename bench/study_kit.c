/* What the studies share: reading their files and printing figures beside what is wanted of them. */
#include "study_kit.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

char *study_read(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        return NULL;
    }
    size_t room = 1 << 16, used = 0;
    char *text = malloc(room);
    while (text != NULL) {
        used += fread(text + used, 1, room - used - 1, file);
        if (used + 1 < room)
            break;
        char *more = realloc(text, room *= 2);
        if (more == NULL) {
            free(text);
            text = NULL;
            break;
        }
        text = more;
    }
    if (text == NULL || ferror(file)) {
        fprintf(stderr, "%s: could not be read\n", path);
        free(text);
        text = NULL;
    } else {
        text[used] = '\0';
        *length = used;
    }
    fclose(file);
    return text;
}

void study_complain(const char *where, const ch_err *err)
{
    fprintf(stderr, "%s: %s%s%s\n", where, err->what, err->right[0] != '\0' ? ": " : "", err->right);
}

int study_figure_print(const study_figure *figure)
{
    char wanted[64];
    if (isinf(figure->least) && isinf(figure->most))
        snprintf(wanted, sizeof wanted, "-");
    else if (isinf(figure->least))
        snprintf(wanted, sizeof wanted, "<= %.3g", figure->most);
    else if (isinf(figure->most))
        snprintf(wanted, sizeof wanted, ">= %.3g", figure->least);
    else
        snprintf(wanted, sizeof wanted, "%.3g..%.3g", figure->least, figure->most);
    const int met = figure->n > 0 && figure->value >= figure->least && figure->value <= figure->most;
    const char *verdict = figure->n == 0 ? "nothing to count" : wanted[0] == '-' ? "" : met ? "met" : "MISSED";
    printf("%-68s %8.3f  (%zu)  wanted %-12s %s\n", figure->what, figure->value, figure->n, wanted, verdict);
    return met || wanted[0] == '-';
}

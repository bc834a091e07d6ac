/*
 * Lays all jobs of the plans that it is given on their days and prints as JSON what came of it, piece by piece: so that recorded.py sees when a calendar is another.
 * A part of the tests, not of the program.
 */
#include <stdio.h>
#include <stdlib.h>

#include "crosshatch/winter.h"

static int complain(const char *path, const ch_err *err)
{
    fprintf(stderr, "%s:%ld: %s\n", path, err->line, err->what);
    return 1;
}

/* Day, what (opened, job, closed), item and seconds of each piece, without a blank between them. */
static void print_calendar(const char *path, const ch_calendar *calendar, double chance_1)
{
    char finish[16];
    ch_date_format(calendar->finish, finish, sizeof finish);
    printf(" \"%s\": {\"fits\": %s, \"nights_apart\": %ld, \"finish\": \"%s\", \"late_s\": %.6f, \"chance_1\": %.4f, "
           "\"pieces\": \"",
           path, calendar->fits ? "true" : "false", calendar->nights_apart, finish, (double)calendar->late_us / 1e6,
           chance_1);
    for (size_t i = 0; i < calendar->count; i++) {
        const ch_calendar_entry *entry = &calendar->entries[i];
        if (entry->day == SIZE_MAX)
            printf("late");
        else
            printf("%zu", entry->day);
        printf("%c%zu:%.6f;", "ojc"[entry->kind], entry -> item, (double)entry -> work_us / 1e6);
    }
    printf("\"}");
}

static int lay(const char *path)
{
    static char text[CH_PLAN_BYTES_MAX];
    static bool chosen[CH_PLAN_ITEMS_MAX];
    ch_err err = {0};
    ch_plan plan;
    ch_calendar calendar = {0};
    double chance_1 = 0.0;
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        perror(path);
        return 1;
    }
    const size_t length = fread(text, 1, sizeof text, file);
    fclose(file);
    if (ch_plan_parse(path, text, length, (ch_date){0}, &plan, &err) < 0)
        return complain(path, &err);
    for (size_t i = 0; i < plan.items_count; i++)
        chosen[i] = true;
    ch_status rc = ch_winter_calendar(&plan, chosen, &calendar, &err);
    if (rc >= 0)
        rc = ch_winter_chance(&plan, &calendar, NULL, 1, &chance_1, &err);
    if (rc >= 0)
        print_calendar(path, &calendar, chance_1);
    ch_calendar_clear(&calendar);
    ch_plan_clear(&plan);
    return rc < 0 ? complain(path, &err) : 0;
}

int main(int argc, char *argv[])
{
    int failed = 0;
    printf("{\n");
    for (int i = 1; !failed && i < argc; i++) {
        if (i > 1)
            printf(",\n");
        failed = lay(argv[i]);
    }
    printf("\n}\n");
    return failed;
}

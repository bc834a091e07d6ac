/*
 * Promises of the log reader about broken and odd logs: tests/data/logs-broken/NAME.csv gives exactly what NAME.expect says, a refusal with its line
 * or rows with what was repaired and said, and that in pieces of any size.
 */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_read.h"
#include "expect.h"

/* What came of it: the refusal, or rows, seconds, the sums of the needed channels in the log's usual units, and what is told. */
static void outcome(read_log *log, const char *name, char *text, size_t size)
{
    if (log->status < 0) {
        ch_err_locate(&log->err, name, 0, 0);
        ch_err_format(&log->err, text, size - 1);
        strcat(text, "\n");
        return;
    }
    double engine = 0, road = 0;
    size_t engines = 0, roads = 0;
    for (size_t i = 0; i < log->n; i++) {
        const double e = log->value[CH_DRIVELOG_ENGINE][i], v = log->value[CH_DRIVELOG_ROAD][i];
        engine += isnan(e) ? 0 : e;
        engines += isnan(e) ? 0 : 1;
        road += isnan(v) ? 0 : v;
        roads += isnan(v) ? 0 : 1;
    }
    snprintf(text, size, "%zu rows to %.2f s; engine %zu, mean %.1f r/min; road %zu, mean %.2f km/h; decimal %c\n%s",
             log->n, log->value[CH_DRIVELOG_TIME][log->n - 1], engines,
             engine / (double)engines * 30 / 3.14159265358979, roads, road / (double)roads * 3.6, log->report.decimal,
             log->told);
}

static void check_file(const char *name)
{
    char path[512], got[10000];
    size_t length, expected_length;
    snprintf(path, sizeof path, "tests/data/logs-broken/%s.csv", name);
    char *const bytes = read_log_file(path, &length);
    snprintf(path, sizeof path, "tests/data/logs-broken/%s.expect", name);
    char *const expected = read_log_file(path, &expected_length);
    static const size_t pieces[] = {0, 1, 7, 64, 1000};
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        read_log log;
        read_log_text(&log, bytes, length, pieces[i], NULL);
        outcome(&log, name, got, sizeof got);
        if (strcmp(got, expected) != 0) {
            print_error("%s in pieces of %zu gives\n%snot\n%s", name, pieces[i], got, expected);
            fail();
        }
        read_log_clear(&log);
    }
    free(bytes);
    free(expected);
}

static void every_broken_log_gives_its_line_or_its_repair(void **state)
{
    (void)state;
    char path[512];
    size_t files = 0;
    snprintf(path, sizeof path, "%s/tests/data/logs-broken", getenv("CROSSHATCH_SOURCE"));
    DIR *const folder = opendir(path);
    assert_non_null(folder);
    for (const struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        char name[256];
        const size_t length = strlen(entry->d_name);
        if (length < 5 || strcmp(entry->d_name + length - 4, ".csv") != 0)
            continue;
        snprintf(name, sizeof name, "%.*s", (int)(length - 4), entry->d_name);
        check_file(name);
        files++;
    }
    closedir(folder);
    assert_true(files >= 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_broken_log_gives_its_line_or_its_repair),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

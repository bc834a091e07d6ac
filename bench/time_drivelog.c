/*
 * Reads one driveline log from a mapped file and prints, as JSON, what it took: rows, a sum over the five channels so that nothing can be left undone,
 * the least processor time of REPEATS readings, and the most memory of the process without the mapped file. Run by bench_drivelog.py.
 */
#include <fcntl.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "crosshatch/drivelog.h"

static ch_status add_up(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    double *const sum = context;
    (void)err;
    for (size_t i = 0; i < rows->n; i++)
        *sum += rows->time_s[i] + rows->engine_speed_rad_s[i] + rows->road_speed_m_s[i] + rows->throttle_1[i] +
                rows->coolant_k[i];
    return CH_OK;
}

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
}

/* Anonymous memory of this process, kB: what the mapped file takes is the kernel's cache, not ours. */
static long own_memory(void)
{
    FILE *const status = fopen("/proc/self/status", "r");
    char line[256];
    long kilobytes = -1;
    while (status != NULL && fgets(line, sizeof line, status) != NULL)
        if (strncmp(line, "RssAnon:", 8) == 0)
            kilobytes = strtol(line + 8, NULL, 10);
    if (status != NULL)
        fclose(status);
    return kilobytes;
}

int main(int argc, char **argv)
{
    const int repeats = argc > 2 ? atoi(argv[2]) : 5;
    const int file = argc > 1 ? open(argv[1], O_RDONLY) : -1;
    struct stat about;
    if (file < 0 || fstat(file, &about) != 0) {
        fprintf(stderr, "usage: time_drivelog LOG [REPEATS]\n");
        return 2;
    }
    const size_t size = (size_t)about.st_size;
    const void *const bytes = mmap(NULL, size, PROT_READ, MAP_PRIVATE, file, 0);
    if (bytes == MAP_FAILED) {
        perror(argv[1]);
        return 4;
    }
    double least_s = INFINITY, sum = 0;
    long most_kilobytes = 0;
    uint64_t rows = 0;
    for (int i = 0; i < repeats; i++) {
        ch_drivelog *log = NULL;
        ch_err err = {0};
        sum = 0;
        const double began_s = now_s();
        ch_status rc = ch_drivelog_open(NULL, add_up, &sum, &log, &err);
        if (rc >= 0)
            rc = ch_drivelog_feed(log, bytes, size, &err);
        if (rc >= 0)
            rc = ch_drivelog_finish(log, &err);
        const double took_s = now_s() - began_s;
        if (rc < 0) {
            char text[1024];
            ch_err_locate(&err, argv[1], 0, 0);
            ch_err_format(&err, text, sizeof text);
            fprintf(stderr, "%s\n", text);
            ch_drivelog_close(log);
            return 3;
        }
        least_s = took_s < least_s ? took_s : least_s;
        rows = ch_drivelog_report_of(log)->rows;
        most_kilobytes = own_memory() > most_kilobytes ? own_memory() : most_kilobytes;
        if (i == 0) {
            ch_text told;
            ch_text_init(&told, 100000);
            ch_drivelog_tell(ch_drivelog_report_of(log), &told);
            fputs(ch_text_string(&told), stderr);
            ch_text_clear(&told);
        }
        ch_drivelog_close(log);
    }
    printf("{\"rows\": %" PRIu64 ", \"sum\": %.17g, \"seconds\": %.6f, \"bytes\": %zu, \"kilobytes\": %ld}\n", rows,
           sum, least_s, size, most_kilobytes);
    return 0;
}

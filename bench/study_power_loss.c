/*
 * What is left of a garage file when the power goes: study_power_loss [CUTS [SEED]]. A season of entries is made over and over, each time another, and the disk is
 * looked at as a cut would have left it: in all 10,000 cuts unless another number is given. After every one the file opens, verifies, and holds all that was
 * acknowledged and nothing half. What is assumed of a disk stands in tests/store/lose_power.h. Exits 1 where anything was lost.
 */
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "power_run.h"

enum { STEPS = 120, CUTS_A_RUN = 500 };

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void add(power_result *sum, const power_result *r)
{
    sum->steps += r->steps;
    sum->refused += r->refused;
    sum->moments += r->moments;
    sum->points += r->points;
    sum->in_vain += r->in_vain;
    sum->toll.sectors += r->toll.sectors;
    sum->toll.lost += r->toll.lost;
    sum->toll.torn += r->toll.torn;
    sum->toll.strange += r->toll.strange;
    sum->toll.names += r->toll.names;
    sum->toll.names_lost += r->toll.names_lost;
    if (r->failed > 0 && sum->failed == 0)
        printf("first: %s\n", r->first);
    sum->failed += r->failed;
}

int main(int count, char **arguments)
{
    const long cuts = count > 1 ? strtol(arguments[1], NULL, 10) : 10000;
    const uint64_t seed = count > 2 ? strtoull(arguments[2], NULL, 10) : 1;
    char folder[] = "/dev/shm/crosshatch-power-XXXXXX", elsewhere[] = "/tmp/crosshatch-power-XXXXXX";
    const char *made = mkdtemp(folder);
    if (made == NULL)
        made = mkdtemp(elsewhere);
    if (cuts <= 0 || made == NULL) {
        fputs("usage: study_power_loss [CUTS [SEED]]\n", stderr);
        return 2;
    }
    const double begun = seconds();
    power_result sum = {0};
    bool good = true;
    for (uint64_t run = 0; sum.points < cuts && good; run++) {
        power_result r;
        const long left = cuts - sum.points;
        good = power_run(made, STEPS, left < CUTS_A_RUN ? left : CUTS_A_RUN, seed + run, false, &r);
        if (!good)
            printf("no run: %s\n", r.first);
        add(&sum, &r);
    }
    rmdir(made);
    printf("%ld changes, copies and openings in all, %ld of them refused; %ld moments at which the power can go\n",
           sum.steps, sum.refused, sum.moments);
    printf("%ld cuts: %ld found the change in hand gone (it was not acknowledged), %ld found it there\n", sum.points,
           sum.in_vain, sum.points - sum.in_vain - sum.failed);
    printf("%ld sectors were not flushed: %ld lost, %ld torn, %ld with strange bytes; %ld of %ld new names lost\n",
           sum.toll.sectors, sum.toll.lost, sum.toll.torn, sum.toll.strange, sum.toll.names_lost, sum.toll.names);
    printf("files that did not open, verify, or hold what was acknowledged: %ld (wanted 0), %.0f s\n", sum.failed,
           seconds() - begun);
    return good && sum.failed == 0 ? 0 : 1;
}

/*
 * What is left of a garage file when the power goes: study_power_loss [CUTS [SEED]]. A season of entries is made over and over, each time another, and the disk is
 * looked at as a cut would have left it: in all 10,000 cuts unless another number is given. After every one the file opens, verifies, and holds all that was
 * acknowledged and nothing half. Then as many cuts while a whole garage is brought in: there is what was there before, or all of it. What is assumed of a disk stands in
 * tests/store/lose_power.h. Exits 1 where anything was lost.
 */
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "power_import.h"

enum { STEPS = 120, CUTS_A_RUN = 500, CUTS_AN_IMPORT = 100 };

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

/* A season after the other, or an import after the other. */
static bool cut(const char *folder, bool imports, long cuts, uint64_t seed, power_result *sum)
{
    const long most = imports ? CUTS_AN_IMPORT : CUTS_A_RUN;
    bool good = true;
    for (uint64_t run = 0; sum->points < cuts && good; run++) {
        power_result r;
        const long left = cuts - sum->points, points = left < most ? left : most;
        good = imports ? power_run_import(folder, (power_import_way)(run % IMPORT_WAYS), points,
                                          seed + run / IMPORT_WAYS, false, &r)
                       : power_run(folder, STEPS, points, seed + run, false, &r);
        if (!good)
            printf("no run: %s\n", r.first);
        add(sum, &r);
    }
    return good;
}

static void print(const power_result *sum, double took_s)
{
    printf("%ld cuts: %ld found the change in hand gone (it was not acknowledged), %ld found it there\n", sum->points,
           sum->in_vain, sum->points - sum->in_vain - sum->failed);
    printf("%ld sectors were not flushed: %ld lost, %ld torn, %ld with strange bytes; %ld of %ld new names lost\n",
           sum->toll.sectors, sum->toll.lost, sum->toll.torn, sum->toll.strange, sum->toll.names_lost, sum->toll.names);
    printf("files that did not open, verify, or hold what was acknowledged: %ld (wanted 0), %.0f s\n", sum->failed,
           took_s);
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
    power_result lives = {0}, imports = {0};
    bool good = cut(made, false, cuts, seed, &lives);
    printf("%ld changes, copies and openings in all, %ld of them refused; %ld moments at which the power can go\n",
           lives.steps, lives.refused, lives.moments);
    print(&lives, seconds() - begun);
    const double then = seconds();
    good = cut(made, true, cuts, seed, &imports) && good;
    printf("%ld whole garages brought in, %ld moments at which the power can go\n", imports.steps / IMPORT_STEPS,
           imports.moments);
    print(&imports, seconds() - then);
    rmdir(made);
    return good && lives.failed == 0 && imports.failed == 0 ? 0 : 1;
}

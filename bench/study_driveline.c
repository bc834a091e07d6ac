/*
 * How well runs are judged: hundreds of simulated runs (tests/unit/drive_run.c) of four cars and many loggers, sound and slipping, against their truth.
 *
 * usage: study_driveline [RUNS [SEED [VERBOSE [second | every]]]]
 * second: runs of the second generator (tests/unit/second_run.c), whose assumptions are others.
 * every: in one gear, of ratios that are not stated, the clutch slips by the same share at every hard pull.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/driveline.h"
#include "drive_judge.h"
#include "second_run.h"
#include "study_kit.h"

typedef struct score {
    size_t runs, gears, gears_found, gears_right, gears_inside, gears_numbered, gears_extra, unjudged;
    size_t gears_sure, gears_sure_right; /* said to be known to 0.5 % by their own interval of 90 % */
    size_t sound_runs, false_runs, corner_runs,
        corner_false_runs; /* of sound cars; corner: that spin their wheels in third gear */
    size_t slips, slips_found, starts_right, ends_right, peaks_right, both_right, extra_slips, extra_high;
    size_t automatic, automatic_told;
    size_t every, every_cleared; /* runs that slip at every pull in one gear; those said to be free of slip */
    size_t fixed, alone; /* runs of fixed gears, ratios not stated; those with a gear that was only ever pulled */
    size_t stepped, step_untold, step_wrong; /* in whole km/h; those left open; those told wrongly */
    double worst_gear_1;
} score;

static drive_options options_of(uint64_t seed)
{
    static const double rates[] = {5, 10, 20, 25, 50, 100}, lags[] = {0, 0.05, 0.1, 0.2, 0.3, 0.5};
    uint64_t r = seed * 7919 + 13;
    drive_options o = {.seed = seed, .car = &drive_cars[seed % DRIVE_CARS], .seconds = 420};
    drive_logger *l = &o.logger;
    l->rate_hz = rates[(int)(6 * drive_uniform(&r))];
    l->road_gain = 0.97 + 0.06 * drive_uniform(&r);
    l->road_lag_s = lags[(int)(6 * drive_uniform(&r))];
    l->engine_lag_s = drive_uniform(&r) < 0.2 ? 0.1 : 0;
    l->engine_noise_rad_s = drive_uniform(&r) < 0.5 ? 0.5 : 1.5;
    l->engine_step_rad_s = drive_uniform(&r) < 0.2 ? 1.047 : 0.105;
    l->road_filter_s = drive_uniform(&r) < 0.3 ? 0.3 * drive_uniform(&r) : 0;
    const double kind = drive_uniform(&r);
    if (kind < 0.4)
        l->road_noise_m_s = drive_uniform(&r) < 0.7 ? 0.05 : 0.12; /* by satellite */
    else if (kind < 0.7) {
        l->road_step_m_s = 1 / 3.6;
        l->road_cut = drive_uniform(&r) < 0.5;
    } else
        l->road_step_m_s = 0.1 / 3.6;
    if (drive_uniform(&r) < 0.3)
        l->road_fresh_hz = drive_uniform(&r) < 0.5 ? 10 : 5;
    l->throttle = drive_uniform(&r) < 0.8;
    l->acceleration = drive_uniform(&r) < 0.5;
    l->temperature = drive_uniform(&r) < 0.6;
    l->clutch = drive_uniform(&r) < 0.3;
    l->driven = kind < 0.4 && drive_uniform(&r) < 0.3;
    o.slipping = seed % 2 == 1;
    o.capacity_1 = o.slipping && drive_uniform(&r) < 0.4 ? 0.72 + 0.2 * drive_uniform(&r) : 0;
    o.wheelspin = drive_uniform(&r) < 0.7;
    o.corner_spin = o.wheelspin && drive_uniform(&r) < 0.3;
    o.low_gear = drive_uniform(&r) < 0.7;
    o.automatic = seed % 25 == 24;
    o.slips_from = seed / 2 % 2 == 1 ? 2 : 3;
    return o;
}

/* For a look at what the error depends on: seed, gear, error and what is said of it, seconds, the logger, what was found of it. */
static void gear_row(const drive_options *o, const drive_run *run, const ch_driveline *d, int gear, double error_1,
                     double known_1)
{
    const drive_logger *l = &o->logger;
    printf("G,%llu,%d,%.6f,%.6f,%.2f,%g,%g,%.3f,%.3f,%.3f,%.2f,%d,%.3f,%.2f,%d,%u\n", (unsigned long long)o->seed, gear,
           error_1, known_1, run->gear_s[gear], l->rate_hz, l->road_fresh_hz, d->lag_s,
           l->road_lag_s + l->road_filter_s - l->engine_lag_s, l->road_filter_s, l->road_step_m_s * 3.6, l->road_cut,
           d->road_offset_m_s * 3.6, l->road_noise_m_s, o->seed % 3 == 0, d->limits);
}

/* What is said of a speed in whole km/h: cut or rounded, or that the log does not tell. */
static void score_steps(const drive_options *o, const ch_driveline *d, score *s, int verbose)
{
    if (!(d->road_step_m_s > 0))
        return;
    const bool untold = (d->limits & CH_LIMIT_CUT_OR_ROUNDED) != 0, cut = d->road_offset_m_s > d->road_step_m_s / 4;
    s->stepped++;
    s->step_untold += untold;
    s->step_wrong += !untold && cut != o->logger.road_cut;
    if (verbose && (untold || cut != o->logger.road_cut))
        printf("  seed %llu %s whether cut (it was%s)\n", (unsigned long long)o->seed, untold ? "leaves open" : "WRONG",
               o->logger.road_cut ? "" : " not");
}

static void score_gears(const drive_options *o, const drive_run *run, const ch_driveline *d, score *s, int verbose)
{
    bool used[CH_DRIVELINE_GEARS_MAX] = {false};
    for (int g = 1; g <= o->car->gears; g++) {
        int best = -1;
        double apart = 0.06;
        for (size_t k = 0; k < d->gears; k++) {
            const double e = fabs(log(d->gear[k].line_rad_m / run->line_rad_m[g]));
            if (e < apart) {
                apart = e;
                best = (int)k;
            }
        }
        if (best >= 0)
            used[best] = true;
        if (run->gear_s[g] < 3)
            continue;
        const double error_1 = best >= 0 ? log(d->gear[best].line_rad_m / run->line_rad_m[g]) : NAN;
        const double known_1 = best >= 0 ? ch_driveline_gear_known_1(&d->gear[best]) : NAN;
        if (verbose > 2)
            gear_row(o, run, d, g, error_1, known_1);
        s->gears++;
        s->gears_found += best >= 0;
        s->gears_sure += best >= 0 && known_1 <= 0.005;
        s->gears_sure_right += best >= 0 && known_1 <= 0.005 && apart <= 0.005;
        s->gears_right += best >= 0 && apart <= 0.005;
        s->gears_inside += best >= 0 && apart <= known_1;
        s->gears_numbered += best >= 0 && d->gear[best].number == g;
        if (verbose && best >= 0 && d->gear[best].number != g)
            printf("  seed %llu gear %d is called %d\n", (unsigned long long)o->seed, g, d->gear[best].number);
        if (best >= 0)
            s->worst_gear_1 = fmax(s->worst_gear_1, apart);
        if (verbose && (best < 0 || apart > 0.005))
            printf(
                "  seed %llu gear %d %s %+.2f %% off (known to %.2f %%), %.1f s, %g Hz fresh %g lag %.2f (%.2f) filter "
                "%.2f step "
                "%.2f cut %d offset %.2f noise %.2f car %s\n",
                (unsigned long long)o->seed, g, best < 0 ? "MISSING" : "is", 100 * error_1, 100 * known_1,
                run->gear_s[g], o->logger.rate_hz, o->logger.road_fresh_hz, d->lag_s,
                o->logger.road_lag_s + o->logger.road_filter_s - o->logger.engine_lag_s, o->logger.road_filter_s,
                o->logger.road_step_m_s * 3.6, o->logger.road_cut, d->road_offset_m_s * 3.6, o->logger.road_noise_m_s,
                o->seed % 3 == 0 ? "known" : "unknown");
    }
    for (size_t k = 0; k < d->gears; k++)
        if (!used[k]) {
            s->gears_extra++;
            if (verbose)
                printf("  seed %llu gear that is none: %.2f rad/m, %.1f s\n", (unsigned long long)o->seed,
                       d->gear[k].line_rad_m, d->gear[k].seconds);
        }
}

static void score_slips(const drive_options *o, const drive_run *run, const ch_driveline *d, score *s, int verbose)
{
    bool used[CH_DRIVELINE_SLIPS_MAX] = {false};
    const unsigned long long seed = o->seed;
    for (size_t i = 0; i < run->slips; i++) {
        const drive_slip *t = &run->slip[i];
        int best = -1;
        double overlap = 0;
        for (size_t k = 0; k < d->slips; k++) {
            const double o_s = fmin(d->slip[k].end_s, t->end_s) - fmax(d->slip[k].start_s, t->start_s);
            if (o_s > overlap) {
                overlap = o_s;
                best = (int)k;
            }
        }
        if (best >= 0)
            used[best] = true;
        if (t->began_off || t->end_s - t->start_s < 0.4 || t->peak_1 < 0.05 || t->end_s > o->seconds - 1)
            continue;
        s->slips++;
        if (best < 0) {
            if (verbose)
                printf("  seed %llu MISSED slip %.2f..%.2f gear %d peak %.1f %%\n", seed, t->start_s, t->end_s, t->gear,
                       t->peak_1 * 100);
            continue;
        }
        const ch_slip *f = &d->slip[best];
        const bool start = fabs(f->start_s - t->start_s) <= 0.2, end = fabs(f->end_s - t->end_s) <= 0.2,
                   peak = fabs(f->peak_1 / t->peak_1 - 1) <= 0.15;
        s->slips_found++;
        s->starts_right += start;
        s->ends_right += end;
        s->peaks_right += peak;
        s->both_right += start && end && peak;
        if (verbose && !(start && end && peak))
            printf("  seed %llu slip %.2f..%.2f peak %.1f found as %.2f..%.2f (%+.2f %+.2f) peak %.1f%s lag %.2f/%.2f "
                   "%g Hz fresh %g step %.1f noise %.2f filter %.2f throttle %d\n",
                   seed, t->start_s, t->end_s, t->peak_1 * 100, f->start_s, f->end_s, f->start_s - t->start_s,
                   f->end_s - t->end_s, f->peak_1 * 100, o->capacity_1 > 0 ? " torque" : "", d->lag_s,
                   o->logger.road_lag_s + o->logger.road_filter_s - o->logger.engine_lag_s, o->logger.rate_hz,
                   o->logger.road_fresh_hz, o->logger.road_step_m_s * 3.6, o->logger.road_noise_m_s,
                   o->logger.road_filter_s, o->logger.throttle);
    }
    for (size_t k = 0; k < d->slips; k++)
        if (!used[k]) {
            s->extra_slips += o->slipping && !o->corner_spin;
            s->extra_high += o->slipping && !o->corner_spin && d->slip[k].gear > 2;
            if (verbose)
                printf("  seed %llu FALSE slip %.2f..%.2f gear %d peak %.1f %s, %g Hz, lag found %.2f of %.2f\n", seed,
                       d->slip[k].start_s, d->slip[k].end_s, d->slip[k].gear, d->slip[k].peak_1 * 100,
                       o->slipping ? "(slipping car)" : "(SOUND)", o->logger.rate_hz, d->lag_s,
                       o->logger.road_lag_s + o->logger.road_filter_s - o->logger.engine_lag_s);
        }
    if (!o->slipping && o->corner_spin) {
        s->corner_runs++;
        s->corner_false_runs += d->slips > 0;
    } else if (!o->slipping) {
        s->sound_runs++;
        s->false_runs += d->slips > 0;
    }
}

/* A run of the second generator: every second clutch slips, one driver in eight leaves a gear out. */
static bool second_of(uint64_t seed, drive_options *o, drive_run *run, int verbose)
{
    uint64_t r = seed * 6007 + 5;
    second_wish wish = {.seed = seed, .seconds = 420, .slipping = (seed / DRIVE_CARS) % 2 == 1};
    wish.wheelspin = drive_uniform(&r) < 0.6;
    wish.without = drive_uniform(&r) < 0.125 ? 1 + (int)(4 * drive_uniform(&r)) : 0;
    wish.creep = drive_uniform(&r) < 0.4;
    wish.slips_from = seed / (2 * DRIVE_CARS) % 2 == 1 ? 2 : 3;
    second_told told;
    const bool made = second_drive(&wish, o, &told, run);
    if (made && verbose > 1)
        printf("seed %llu: source %d creep %.3f growth %.4f rpm step %g polled %d wet %d without %d\n",
               (unsigned long long)seed, (int)told.source, told.creep_1, told.growth_1, told.engine_step_rpm,
               told.polled, told.wet, wish.without);
    return made;
}

/* What else there is to a run than options_of(). */
typedef enum world { FIRST_WORLD, SECOND_WORLD, EVERY_PULL } world;

/* Third gear or above, by 5 to 30 %. */
static drive_options slips_at_every_pull(drive_options o)
{
    uint64_t r = o.seed * 3571 + 11;
    o.slipping = o.automatic = o.corner_spin = false;
    o.steady_gear = 3 + (int)((o.car->gears - 2) * drive_uniform(&r));
    o.steady_1 = 0.05 + 0.25 * drive_uniform(&r);
    return o;
}

static void score_every(const drive_options *o, const ch_driveline *d, score *s, int verbose)
{
    const bool cleared = d->slips == 0 && !isnan(ch_driveline_slips_1(d));
    s->every++;
    s->every_cleared += cleared;
    if (verbose && cleared)
        printf(
            "  seed %llu slips by %.3f at every pull in gear %d and is CLEARED: %g Hz fresh %g step %.2f noise %.2f\n",
            (unsigned long long)o->seed, o->steady_1, o->steady_gear, o->logger.rate_hz, o->logger.road_fresh_hz,
            o->logger.road_step_m_s * 3.6, o->logger.road_noise_m_s);
}

static int one(uint64_t seed, const ch_clutch_knowledge *clutch, score *s, int verbose, world in)
{
    const bool second = in == SECOND_WORLD;
    drive_options o = in == EVERY_PULL ? slips_at_every_pull(options_of(seed)) : options_of(seed);
    drive_run run;
    ch_driveline d = {0};
    ch_err err = {0};
    ch_car car = ch_car_none();
    if (second ? !second_of(seed, &o, &run, verbose) : !drive(&o, &run))
        return 1;
    if (seed % 3 == 0 && in != EVERY_PULL) {
        (void)ch_tyre_parse(o.car->tyre, strlen(o.car->tyre), &car.tyre, NULL);
        car.final_drive_1 = o.car->final_drive;
        car.gears = (size_t)o.car->gears;
        memcpy(car.gear_1, o.car->gear, sizeof o.car->gear);
        car.mass_kg = o.car->mass_kg;
    }
    const ch_status rc = drive_judge(&run, &car, clutch, NULL, 0, &d, &err);
    if (rc < 0) {
        study_complain("driveline", &err);
        drive_run_free(&run);
        return 1;
    }
    s->runs++;
    if (in == EVERY_PULL)
        score_every(&o, &d, s, verbose);
    else if (o.automatic) {
        s->automatic++;
        s->automatic_told += d.state != CH_DRIVELINE_GEARS_FOUND;
        if (verbose && d.state == CH_DRIVELINE_GEARS_FOUND)
            printf("  seed %llu automatic taken for %zu gears, on lines %.2f\n", (unsigned long long)seed, d.gears,
                   d.on_lines_1);
    } else {
        if (d.state != CH_DRIVELINE_GEARS_FOUND) {
            s->unjudged++;
            if (verbose)
                printf("  seed %llu no gears: on lines %.2f\n", (unsigned long long)seed, d.on_lines_1);
        }
        if (verbose > 1)
            printf("seed %llu %s: %g Hz lag %.2f (%.2f) fresh %.2f %.2f on lines %.2f slips %zu of %zu, not slip %zu "
                   "%zu %zu %zu; truth wheelspins %zu blips %zu\n",
                   (unsigned long long)seed, o.car->name, o.logger.rate_hz, d.lag_s,
                   o.logger.road_lag_s + o.logger.road_filter_s - o.logger.engine_lag_s, d.engine_fresh_s,
                   d.road_fresh_s, d.on_lines_1, d.slips, run.slips, d.not_slips[0], d.not_slips[1], d.not_slips[2],
                   d.not_slips[3], run.wheelspins, run.blips);
        const bool alone = (d.limits & CH_LIMIT_PULLED_ALONE) != 0;
        s->fixed += seed % 3 != 0;
        s->alone += alone;
        if (verbose && alone)
            printf("  seed %llu a gear was only ever pulled\n", (unsigned long long)seed);
        score_steps(&o, &d, s, verbose);
        score_gears(&o, &run, &d, s, verbose);
        score_slips(&o, &run, &d, s, verbose);
    }
    ch_driveline_clear(&d);
    drive_run_free(&run);
    return 0;
}

static double share(size_t part, size_t whole)
{
    return whole > 0 ? (double)part / (double)whole : NAN;
}

int main(int count, char **arguments)
{
    const int runs = count > 1 ? atoi(arguments[1]) : 400, verbose = count > 3 ? atoi(arguments[3]) : 0;
    const char *const word = count > 4 ? arguments[4] : "";
    const bool second = strcmp(word, "second") == 0;
    const world in = second ? SECOND_WORLD : strcmp(word, "every") == 0 ? EVERY_PULL : FIRST_WORLD;
    const uint64_t seed = count > 2 ? strtoull(arguments[2], NULL, 10) : 1;
    ch_knowledge knowledge = {0};
    ch_clutch_knowledge clutch = {0};
    ch_err err = {0};
    score s = {0};
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err) < 0 ||
        ch_clutch_knowledge_parse(&clutch, &knowledge, ch_clutch_builtin(), &err) < 0) {
        study_complain("knowledge", &err);
        return 1;
    }
    int failed = 0;
    for (int i = 0; i < runs; i++)
        failed |= one(seed + (uint64_t)i, &clutch, &s, verbose, in);
    const study_figure figures[] = {
        {"gears found", share(s.gears_found, s.gears), 0.99, INFINITY, s.gears},
        {"gears within 0.5 %", share(s.gears_right, s.gears), 0.99, INFINITY, s.gears},
        /* above 0.9: the intervals allow for slopes and tyres that grow, which this world has not */
        {"gears inside their own 90 % interval", share(s.gears_inside, s.gears), 0.88, 0.98, s.gears},
        {"gears said to be known to 0.5 %", share(s.gears_sure, s.gears), -INFINITY, INFINITY, s.gears},
        {"of these within 0.5 %", share(s.gears_sure_right, s.gears_sure), 0.995, INFINITY, s.gears_sure},
        {"whole km/h: cut or rounded told wrongly", share(s.step_wrong, s.stepped), -INFINITY, 0.01, s.stepped},
        {"whole km/h: left open", share(s.step_untold, s.stepped), -INFINITY, 0.1, s.stepped},
        {"gears numbered right", share(s.gears_numbered, s.gears_found), 0.95, INFINITY, s.gears_found},
        {"gears that are none, a run", share(s.gears_extra, s.runs), -INFINITY, 0.01, s.runs},
        {"ratios not stated: a gear only ever pulled leaves slip open", share(s.alone, s.fixed), -INFINITY, 0.01,
         s.fixed},
        {"runs with fixed gears not judged", share(s.unjudged, s.runs), -INFINITY, 0.01, s.runs},
        {"sound runs with a false slip", share(s.false_runs, s.sound_runs), -INFINITY, 0.0, s.sound_runs},
        {"the same, wheels spinning in third gear", share(s.corner_false_runs, s.corner_runs), -INFINITY, 0.05,
         s.corner_runs},
        {"slips found", share(s.slips_found, s.slips), 0.95, INFINITY, s.slips},
        {"starts within 0.2 s", share(s.starts_right, s.slips_found), 0.95, INFINITY, s.slips_found},
        {"ends within 0.2 s", share(s.ends_right, s.slips_found), 0.95, INFINITY, s.slips_found},
        {"peaks within 15 %", share(s.peaks_right, s.slips_found), 0.95, INFINITY, s.slips_found},
        /* nearly all of them wheels that spin in second gear of a car whose clutch slips too, at what it holds */
        {"false slips on slipping cars (not in corners), a slip", share(s.extra_slips, s.slips), -INFINITY, 0.06,
         s.slips},
        {"the same, in third gear and above", share(s.extra_high, s.slips), -INFINITY, 0.005, s.slips},
        {"slips at every pull in one gear: cleared", share(s.every_cleared, s.every), -INFINITY, INFINITY, s.every},
        {"stepless gearboxes told", share(s.automatic_told, s.automatic), 0.99, INFINITY, s.automatic},
    };
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        study_figure figure = figures[i];
        if (second) { /* nothing is promised of worlds that the program does not expect */
            figure.least = -INFINITY;
            figure.most = INFINITY;
        }
        if (isfinite(figure.value))
            failed |= !study_figure_print(&figure);
    }
    ch_clutch_knowledge_clear(&clutch);
    ch_knowledge_clear(&knowledge);
    return failed;
}

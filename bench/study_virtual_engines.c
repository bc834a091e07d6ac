/* How honest the answers are: virtual engines with known faults, measured with the whole cranking model, traced, and counted.
 *
 * usage: study_virtual_engines [ENGINES [RACES [SEED [PROCESSES [MINUTES]]]]]
 * (default: 5000 engines, 250 races, seed 1, 2 processes, until done; after MINUTES no further engine is begun)
 *
 * Prints each figure beside what is wanted of it and writes a plot of each to build/study/ of the source tree. Exits 0 where all are met,
 * else 1; with fewer than 1000 engines the figures are too rough to miss anything, and it exits 0 where everything could be computed. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "crosshatch/trace.h"
#include "study_kit.h"
#include "study_plot.h"
#include "study_race.h"
#include "study_result.h"

enum { PROCESSES_MAX = 16, ENOUGH = 1000 };

typedef struct plan {
    size_t engines, races;
    uint64_t seed;
    size_t processes, minutes; /* minutes 0: as long as it takes */
    char folder[1024];
} plan;

/* ---- one engine ---- */

static ch_status keep(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_sheet *sheet,
                      const ch_trace *trace, engine_result *result, ch_err *err)
{
    ch_status rc = CH_OK;
    result->cylinders = engine->cylinders;
    result->reliable = trace->reliable;
    result->effective_samples = trace->effective_samples;
    result->dry_only = sheet->wet_count + sheet->leakdown_count == 0;
    for (size_t i = 0; i < sheet->observed_count; i++)
        result->dry_only =
            result->dry_only &&
            ch_knowledge_observation_find(knowledge, sheet->observed[i].what, strlen(sheet->observed[i].what))->kind ==
                CH_OBSERVATION_HISTORY;
    result->spec_known = !engine->setup.assumed[CH_INPUT_BORE];
    for (int i = 0; i < engine->cylinders && rc >= 0; i++) {
        cylinder_result *c = &result->cylinder[i];
        const ch_trace_cylinder *said = &trace->cylinder[i];
        *c = (cylinder_result){.cause = engine->cylinder[i].cause,
                               .faulty = virtual_is_faulty(&engine->cylinder[i]),
                               .leak_tested = (engine->leakdown_plan >> i & 1u) != 0,
                               .area_m2 = virtual_area_m2(&engine->cylinder[i]),
                               .extra_m2 = engine->cylinder[i].extra_m2,
                               .filling_1 = engine->cylinder[i].filling_1};
        for (size_t k = 0; k < sheet->wet_count; k++)
            c->wet_tested = c->wet_tested || sheet->wet[k].cylinder == i + 1;
        for (size_t k = 0; k < sheet->observed_count; k++)
            c->looked_at = c->looked_at || sheet->observed[k].cylinder == 0 || sheet->observed[k].cylinder == i + 1;
        if (c->faulty)
            rc = virtual_lost_1(engine, i, &c->lost_1, err);
        memcpy(c->cause_1, said->cause_1, sizeof c->cause_1);
        while (c->rank < LADDER && said->ladder_m2[c->rank] < c->area_m2)
            c->rank++;
        double sum_pa = 0.0, n = 0.0;
        for (size_t k = 0; k < sheet->compression_count; k++)
            if (sheet->compression[k].cylinder == i + 1) {
                sum_pa += sheet->compression[k].reading.si;
                n += 1.0;
            }
        c->reading_pa = sum_pa / n;
    }
    return rc;
}

static ch_status run_engine(const plan *p, const ch_knowledge *knowledge, size_t index, ch_trace *trace,
                            engine_result *result, ch_err *err)
{
    *result = (engine_result){.cylinders = 0};
    ch_stream stream;
    ch_stream_init(&stream, p->seed, index);
    virtual_engine engine;
    ch_sheet sheet;
    const bool race = index < p->races, more = !race && index % 4 != 0;
    ch_status rc = virtual_engine_draw(knowledge, more, &stream, &engine, &sheet, err);
    if (rc < 0)
        return rc;
    rc = virtual_measure(&engine, knowledge, more, &stream, &sheet, err);
    const ch_trace_options options = {.seed = p->seed + index};
    if (rc >= 0)
        rc = ch_trace_run(&sheet, &engine.setup, knowledge, &options, trace, err);
    if (rc >= 0) {
        rc = keep(&engine, knowledge, &sheet, trace, result, err);
        result->chosen = (int)(ch_stream_uniform(&stream) * engine.cylinders);
    }
    if (rc >= 0 && race)
        rc = race_run(&engine, knowledge, &sheet, p->seed, index, result, err);
    ch_sheet_clear(&sheet);
    return rc;
}

/* ---- all of them, in a few processes ---- */

/* Every processes-th engine from `first`, its results to a file. */
static int work(const plan *p, const ch_knowledge *knowledge, size_t first, FILE *file)
{
    ch_trace *trace = calloc(1, sizeof *trace);
    if (trace == NULL)
        return 1;
    const time_t begun = time(NULL);
    for (size_t i = first; i < p->engines; i += p->processes) {
        if (p->minutes > 0 && difftime(time(NULL), begun) > 60.0 * (double)p->minutes)
            break;
        engine_result result;
        ch_err err = {0};
        if (run_engine(p, knowledge, i, trace, &result, &err) < 0) {
            char where[32];
            snprintf(where, sizeof where, "engine %zu", i);
            study_complain(where, &err);
            result.cylinders = 0;
        }
        if (fwrite(&result, sizeof result, 1, file) != 1)
            break;
    }
    free(trace);
    return fflush(file) != 0 || ferror(file) ? 1 : 0;
}

static bool run_all(const plan *p, const ch_knowledge *knowledge, engine_result results[])
{
    FILE *file[PROCESSES_MAX];
    pid_t child[PROCESSES_MAX];
    bool good = true;
    for (size_t k = 0; k < p->processes; k++) {
        file[k] = tmpfile();
        child[k] = file[k] != NULL ? fork() : -1;
        if (child[k] == 0)
            _exit(work(p, knowledge, k, file[k]));
        good = good && child[k] > 0;
    }
    for (size_t k = 0; k < p->processes; k++) {
        int status = 1;
        while (child[k] > 0 && waitpid(child[k], &status, 0) < 0 && errno == EINTR)
            ;
        good = good && status == 0;
        if (file[k] == NULL)
            continue;
        rewind(file[k]);
        for (size_t i = k; i < p->engines && good; i += p->processes)
            if (fread(&results[i], sizeof results[i], 1, file[k]) != 1) {
                results[i].cylinders = 0; /* not begun */
                good = p->minutes > 0 && !ferror(file[k]);
            }
        fclose(file[k]);
    }
    return good;
}

/* ---- figures and plots ---- */

/* Part of true areas within the middle p of their posterior, for every p that the ladder has; one cylinder an engine. */
static void plot_coverage(const plan *p, const size_t count[RANKS], size_t total)
{
    study_plot plot;
    if (!study_plot_open(&plot, p->folder, "coverage", "True leak areas inside intervals of every width; bars: 2 sd",
                         "chance said", "inside", (double[2]){0.0, 1.0}, (double[2]){0.0, 1.0}))
        return;
    study_plot_line(&plot, (const double[2][2]){{0.0, 0.0}, {1.0, 1.0}}, 2, "stroke=\"#888\"");
    size_t inside = 0;
    for (int low = RANKS / 2 - 1; low > 0; low--) { /* ranks low..RANKS-1-low lie between two steps of the ladder */
        inside += count[low] + count[RANKS - 1 - low];
        const double said = LADDER_1[RANKS - 1 - low] - LADDER_1[low - 1], t = (double)inside / (double)total;
        const double two_sd = 2.0 * sqrt(t * (1.0 - t) / (double)total);
        study_plot_line(&plot, (const double[2][2]){{said, fmax(t - two_sd, 0.0)}, {said, fmin(t + two_sd, 1.0)}}, 2,
                        "stroke=\"#5b7fa6\" stroke-width=\"2\"");
        study_plot_point(&plot, said, t, 4.0, "fill=\"#1f3c5c\"");
    }
    study_plot_close(&plot, p->folder, "coverage");
}

static bool print_areas(const plan *p, const engine_result results[])
{
    bool met = true;
    const struct {
        const char *what;
        double p_1, least, most;
    } intervals[] = {{"true leak area inside the 50 % interval", 0.25, 0.48, 0.52},
                     {"true leak area inside the 90 % interval", 0.05, 0.88, 0.92}};
    for (size_t i = 0; i < 2; i++) {
        const share s = result_coverage(results, p->engines, intervals[i].p_1);
        met &= study_figure_print(
                   &(study_figure){intervals[i].what, s.value, intervals[i].least, intervals[i].most, s.n}) != 0;
    }
    size_t count[RANKS], total = 0;
    double chi_square;
    const double p_value = result_ranks(results, p->engines, count, &chi_square);
    double from[RANKS + 1] = {0.0};
    from[RANKS] = 1.0;
    for (int r = 0; r < RANKS; r++) {
        total += count[r];
        from[r] = r > 0 ? LADDER_1[r - 1] : 0.0;
    }
    met &= study_figure_print(&(study_figure){"p value of uniform ranks of the leak area (chi-square)", p_value, 0.01,
                                              INFINITY, total}) != 0;
    printf("  chi-square %.1f with %d degrees of freedom; ranks:", chi_square, RANKS - 1);
    for (int r = 0; r < RANKS; r++)
        printf(" %zu", count[r]);
    printf("\n");
    plot_coverage(p, count, total);
    study_plot plot;
    if (study_plot_open(&plot, p->folder, "ranks", "Where true leak areas stand in their posteriors; dashed: 2 sd",
                        "posterior quantile", "engines over expected", (double[2]){0.0, 1.0}, (double[2]){0.0, 2.0})) {
        for (int r = 0; r < RANKS; r++) {
            const double expected = (from[r + 1] - from[r]) * (double)total;
            const double two_sd = 2.0 * sqrt((1.0 - (from[r + 1] - from[r])) / expected);
            study_plot_bar(&plot, from[r] + 0.002, from[r + 1] - 0.002, fmin((double)count[r] / expected, 2.0),
                           "fill=\"#5b7fa6\"");
            for (int side = -1; side <= 1; side++) {
                const double y = fmin(fmax(1.0 + side * two_sd, 0.0), 2.0);
                study_plot_line(&plot, (const double[2][2]){{from[r], y}, {from[r + 1], y}}, 2,
                                side == 0 ? "stroke=\"#000\"" : "stroke=\"#000\" stroke-dasharray=\"4 3\"");
            }
        }
        study_plot_close(&plot, p->folder, "ranks");
    }
    return met;
}

static void plot_reliability(const plan *p, const reliability *r, const char *name, const char *title)
{
    study_plot plot;
    if (!study_plot_open(&plot, p->folder, name, title, "said", "true", (double[2]){0.0, 1.0}, (double[2]){0.0, 1.0}))
        return;
    study_plot_line(&plot, (const double[2][2]){{0.0, 0.0}, {1.0, 1.0}}, 2, "stroke=\"#888\"");
    for (int b = 0; b < RELIABILITY_BINS; b++) {
        if (r->n[b] == 0)
            continue;
        const double t = r->true_1[b], sd = sqrt(fmax(t * (1.0 - t), 1e-4) / (double)r->n[b]);
        const double x = r->said_1[b];
        study_plot_line(&plot, (const double[2][2]){{x, fmax(t - 2.0 * sd, 0.0)}, {x, fmin(t + 2.0 * sd, 1.0)}}, 2,
                        "stroke=\"#5b7fa6\" stroke-width=\"2\"");
        study_plot_point(&plot, x, t, 4.0, "fill=\"#1f3c5c\"");
    }
    study_plot_close(&plot, p->folder, name);
}

static bool print_causes(const plan *p, const engine_result results[])
{
    reliability r;
    bool met = true;
    result_reliability(results, p->engines, CH_CAUSE_COUNT, true, &r);
    met &= study_figure_print(
               &(study_figure){"calibration error of the likeliest cause", r.error_1, -INFINITY, 0.03, r.total}) != 0;
    for (int b = 0; b < RELIABILITY_BINS; b++)
        if (r.n[b] > 0)
            printf("  said %.3f true %.3f (%zu)\n", r.said_1[b], r.true_1[b], r.n[b]);
    plot_reliability(p, &r, "likeliest", "Chance said of the likeliest cause, and how often it was true");
    result_reliability(results, p->engines, CH_CAUSE_COUNT, false, &r);
    met &= study_figure_print(
               &(study_figure){"calibration error of all causes together", r.error_1, -INFINITY, 0.03, r.total}) != 0;
    for (int b = 0; b < RELIABILITY_BINS; b++)
        if (r.n[b] > 0)
            printf("  said %.3f true %.3f (%zu)\n", r.said_1[b], r.true_1[b], r.n[b]);
    plot_reliability(p, &r, "causes", "Chance said of every cause, and how often it was true");
    const share sure = result_sure_and_wrong(results, p->engines);
    if (sure.n > 0)
        met &= study_figure_print(&(study_figure){"dry readings alone: engines with a cause above 0.9 that is wrong",
                                                  sure.value, -INFINITY, 0.1, sure.n}) != 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        char what[80];
        result_reliability(results, p->engines, c, false, &r);
        snprintf(what, sizeof what, "  %s", ch_cause_name((ch_cause)c));
        met &= study_figure_print(&(study_figure){what, r.error_1, -INFINITY, 0.03, r.total}) != 0;
        double said = 0.0, really = 0.0;
        for (int b = 0; b < RELIABILITY_BINS; b++)
            if (r.n[b] > 0) {
                said += r.said_1[b] * (double)r.n[b];
                really += r.true_1[b] * (double)r.n[b];
            }
        printf("    %.1f said, %.0f there;", said, really);
        for (int b = 0; b < RELIABILITY_BINS; b++)
            if (r.n[b] > 0)
                printf(" %.2f:%.2f(%zu)", r.said_1[b], r.true_1[b], r.n[b]);
        printf("\n");
    }
    return met;
}

/* What is missed, by cause and by what the fault costs the reading. */
static void print_missed(const plan *p, const engine_result results[], double threshold_1)
{
    enum { BANDS = 4 };
    static const double EDGE_1[BANDS + 1] = {-INFINITY, 0.05, LOST_THAT_SHOWS_1, 0.25, INFINITY};
    printf("missed by the tracing/by the rule/of, by what the fault costs the reading:\n  %-30s %15s %15s %15s %15s\n",
           "", "below 5 %", "5 to 10 %", "10 to 25 %", "25 % and more");
    for (int c = 1; c <= CH_CAUSE_COUNT; c++) {
        if (c == CH_CAUSE_MEASUREMENT_ERROR)
            continue;
        printf("  %-30s", c == CH_CAUSE_COUNT ? "all" : ch_cause_name((ch_cause)c));
        for (int b = 0; b < BANDS; b++) {
            const missed m = result_missed(results, p->engines, c, EDGE_1[b], EDGE_1[b + 1], threshold_1);
            char text[48];
            snprintf(text, sizeof text, "%zu/%zu/%zu", m.by_tracing, m.by_rule, m.of);
            printf(" %15s", text);
        }
        printf("\n");
    }
}

static bool print_detection(const plan *p, const engine_result results[], ch_err *err)
{
    enum { POINTS = 101 };
    bool met = true;
    double curve[FAULTS_COUNT][POINTS][2] = {{{0.0}}};
    detection all[EVIDENCE_COUNT][FAULTS_COUNT];
    static const char *const name[EVIDENCE_COUNT] = {"all evidence", "dry readings alone", "leak-tested cylinders"};
    static const char *const faults_named[FAULTS_COUNT] = {"faults that show", "faults that leak or do not fill",
                                                           "all faults"};
    for (int of = 0; of < EVIDENCE_COUNT; of++)
        for (int which = 0; which < FAULTS_COUNT; which++) {
            detection *d = &all[of][which];
            if (result_detection(results, p->engines, (evidence)of, (faults)which, d,
                                 of == EVIDENCE_ANY ? curve[which] : NULL, POINTS, err) < 0)
                return false;
            printf("%s, %s: 75 %% rule: false alarms %.4f (%zu of %zu), missed %.3f; tracing at as many: missed %.3f\n",
                   name[of], faults_named[which], d->false_alarm_1, d->alarms, d->sound, d->rule_missed_1, d->missed_1);
            char what[96];
            snprintf(what, sizeof what, "misses of the rule that remain, %s, %s", faults_named[which], name[of]);
            met &= study_figure_print(&(study_figure){what, d->missed_1 / d->rule_missed_1, -INFINITY,
                                                      of == EVIDENCE_ANY && which != FAULTS_ALL ? 0.5 : INFINITY,
                                                      d->faulty}) != 0;
            if (of == EVIDENCE_ANY && which == FAULTS_ALL)
                print_missed(p, results, d->threshold_1);
        }
    const detection *d = all[EVIDENCE_ANY];
    study_plot plot;
    if (!study_plot_open(&plot, p->folder, "detection",
                         "Faults found against false alarms; dashed: with faults that do not show", "false alarms",
                         "found", (double[2]){0.0, 0.2}, (double[2]){0.0, 1.0}))
        return met;
    for (int which = 0; which < FAULTS_ALL; which++) {
        size_t points = 0;
        while (points < POINTS && curve[which][points][0] <= 0.2)
            points++;
        study_plot_line(&plot, (const double(*)[2])curve[which], points,
                        which == FAULTS_THAT_SHOW ? "stroke=\"#5b7fa6\" stroke-width=\"2\""
                                                  : "stroke=\"#5b7fa6\" stroke-width=\"2\" stroke-dasharray=\"5 3\"");
        study_plot_point(&plot, d[which].false_alarm_1, 1.0 - d[which].rule_missed_1, 5.0, "fill=\"#a33\"");
    }
    study_plot_text(&plot, d[0].false_alarm_1 + 0.005, 1.0 - d[0].rule_missed_1 - 0.02, "below 75 % of the highest");
    study_plot_close(&plot, p->folder, "detection");
    return met;
}

static bool print_races(const plan *p, const engine_result results[])
{
    enum { STEPS = 61 };
    double minutes[2] = {0.0}, curve[2][STEPS][2];
    size_t n = 0, neither = 0, reached[2] = {0};
    memset(curve, 0, sizeof curve);
    for (size_t i = 0; i < p->engines; i++) {
        if (!results[i].raced)
            continue;
        if (!results[i].reached[0] && !results[i].reached[1]) {
            neither++;
            continue;
        }
        n++;
        for (int k = 0; k < 2; k++) {
            minutes[k] += results[i].minutes[k];
            reached[k] += results[i].reached[k];
            for (int s = 0; s < STEPS; s++)
                curve[k][s][1] += results[i].reached[k] && results[i].minutes[k] <= MINUTES_MOST * s / (STEPS - 1);
        }
    }
    if (n == 0)
        return true;
    printf("checking until the true cause has 90 %%, at most %.0f minutes, where either order gets there: as "
           "recommended %.1f minutes (reached %zu of "
           "%zu), "
           "in a fixed order %.1f (reached %zu)\n",
           MINUTES_MOST, minutes[0] / (double)n, reached[0], n, minutes[1] / (double)n, reached[1]);
    /* Two standard errors of a ratio of sums (Cochran, Sampling Techniques, 3rd ed. 1977, 2.11). */
    double squares = 0.0;
    const double part_1 = minutes[0] / minutes[1];
    for (size_t i = 0; i < p->engines; i++)
        if (results[i].raced && (results[i].reached[0] || results[i].reached[1]))
            squares += pow(results[i].minutes[0] - part_1 * results[i].minutes[1], 2.0);
    printf("  saved %.2f +- %.2f (two standard errors); neither order gets there on %zu further engines\n",
           1.0 - part_1, 2.0 * sqrt(squares) / minutes[1], neither);
    const study_figure figure = {"minutes saved against a fixed order", 1.0 - minutes[0] / minutes[1], 0.3, INFINITY,
                                 n};
    for (int k = 0; k < 2; k++)
        for (int s = 0; s < STEPS; s++) {
            curve[k][s][0] = MINUTES_MOST * s / (STEPS - 1);
            curve[k][s][1] /= (double)n;
        }
    study_plot plot;
    if (study_plot_open(&plot, p->folder, "minutes",
                        "True cause at 90 %: as recommended, and in a fixed order (dashed)", "minutes of checking",
                        "engines", (double[2]){0.0, MINUTES_MOST}, (double[2]){0.0, 1.0})) {
        for (int k = 0; k < 2; k++) {
            study_plot_line(&plot, (const double(*)[2])curve[k], STEPS,
                            k == 0 ? "stroke=\"#1f3c5c\" stroke-width=\"2\""
                                   : "stroke=\"#a33\" stroke-width=\"2\" stroke-dasharray=\"5 3\"");
        }
        char said[2][80];
        snprintf(said[0], sizeof said[0], "as recommended: %.0f minutes on average", minutes[0] / (double)n);
        snprintf(said[1], sizeof said[1], "in a fixed order: %.0f (dashed)", minutes[1] / (double)n);
        for (int k = 0; k < 2; k++)
            study_plot_text(&plot, 0.5 * MINUTES_MOST, 0.2 - 0.06 * k, said[k]);
        study_plot_close(&plot, p->folder, "minutes");
    }
    for (int s = 10; s < STEPS; s += s < 20 ? 5 : 20)
        printf("  sure within %3.0f minutes: %.2f as recommended, %.2f in a fixed order\n",
               MINUTES_MOST * s / (STEPS - 1), curve[0][s][1], curve[1][s][1]);
    return study_figure_print(&figure) != 0;
}

/* Every cylinder with what was true and what was said, for whoever wants to look closer. */
static bool write_cylinders(const plan *p, const engine_result results[])
{
    char path[1200];
    snprintf(path, sizeof path, "%.1000s/cylinders.csv", p->folder);
    mkdir(p->folder, 0777); /* it may be there already; if it cannot be made, opening the file tells */
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        perror(path);
        return false;
    }
    fprintf(file, "engine,cylinder,cause,extra_mm2,filling,reading_lost,reading_kpa,of_highest,leak_tested,wet_tested,"
                  "looked_at,reliable,area_mm2,area_rank");
    for (int k = 0; k < CH_CAUSE_COUNT; k++)
        fprintf(file, ",%s", ch_cause_name((ch_cause)k));
    fprintf(file, "\n");
    for (size_t i = 0; i < p->engines; i++) {
        const double highest_pa = result_highest_pa(&results[i]);
        for (int c = 0; c < results[i].cylinders; c++) {
            const cylinder_result *one = &results[i].cylinder[c];
            fprintf(file, "%zu,%d,%s,%.4g,%.4g,%.4f,%.1f,%.4f,%d,%d,%d,%d,%.4g,%d", i, c + 1, ch_cause_name(one->cause),
                    1e6 * one->extra_m2, one->filling_1, one->lost_1, 1e-3 * one->reading_pa,
                    one->reading_pa / highest_pa, one->leak_tested, one->wet_tested, one->looked_at,
                    results[i].reliable, 1e6 * one->area_m2, one->rank);
            for (int k = 0; k < CH_CAUSE_COUNT; k++)
                fprintf(file, ",%.5f", one->cause_1[k]);
            fprintf(file, "\n");
        }
    }
    const bool written = ferror(file) == 0;
    if (fclose(file) != 0 || !written) {
        perror(path);
        return false;
    }
    printf("every cylinder: %s\n", path);
    return true;
}

static bool print_all(const plan *p, const engine_result results[])
{
    size_t drawn = 0, refused = 0, cylinders = 0, faulty = 0;
    for (size_t i = 0; i < p->engines; i++) {
        drawn += results[i].cylinders > 0;
        refused += results[i].cylinders > 0 && !results[i].reliable;
        for (int c = 0; c < results[i].cylinders; c++) {
            cylinders++;
            faulty += results[i].cylinder[c].faulty;
        }
    }
    printf("%zu engines of %zu, %zu cylinders, %zu of them faulty; no answer given on %zu engines\n", drawn, p->engines,
           cylinders, faulty, refused);
    if (drawn == refused)
        return false;
    bool met = print_areas(p, results);
    met &= print_causes(p, results);
    ch_err err = {0};
    met &= print_detection(p, results, &err);
    met &= print_races(p, results);
    met &= write_cylinders(p, results);
    return (met || drawn < ENOUGH) && (drawn == p->engines || p->minutes > 0);
}

static size_t number(const char *text, size_t fallback)
{
    char *end;
    const unsigned long value = text != NULL ? strtoul(text, &end, 10) : 0;
    return text != NULL && *text != '\0' && *end == '\0' ? value : fallback;
}

int main(int argc, char **argv)
{
    const char *source = getenv("CROSSHATCH_SOURCE");
    plan p = {.engines = number(argc > 1 ? argv[1] : NULL, 5000),
              .races = number(argc > 2 ? argv[2] : NULL, 250),
              .seed = number(argc > 3 ? argv[3] : NULL, 1),
              .processes = number(argc > 4 ? argv[4] : NULL, 2),
              .minutes = number(argc > 5 ? argv[5] : NULL, 0)};
    if (p.engines < 1 || p.engines > 1000000 || p.processes < 1 || p.processes > PROCESSES_MAX) {
        fprintf(stderr, "usage: study_virtual_engines [ENGINES [RACES [SEED [PROCESSES [MINUTES]]]]]\n");
        return 2;
    }
    snprintf(p.folder, sizeof p.folder, "%.900s/build", source != NULL ? source : ".");
    mkdir(p.folder, 0777); /* it may be there already; the plots tell where it cannot be made */
    strcat(p.folder, "/study");
    ch_knowledge knowledge;
    ch_err err = {0};
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err) < 0) {
        study_complain("knowledge", &err);
        return 1;
    }
    study_knowledge_raise(&knowledge);
    engine_result *results = calloc(p.engines, sizeof *results);
    bool met = results != NULL && run_all(&p, &knowledge, results) && print_all(&p, results);
    free(results);
    ch_knowledge_clear(&knowledge);
    return met ? 0 : 1;
}

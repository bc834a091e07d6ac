/*
 * What the driveline answers to short runs drawn by seeds (drive_course.h), figure by figure, as it stands in tests/data/recorded/driveline-runs.txt.
 *
 * A recorded figure is no promise that it is right: that is what the other tests hold. It shows that a change moved an answer that nobody meant to move. Where one
 * is meant, build/tests/unit/test_driveline_recorded --record (with CROSSHATCH_SOURCE, the tree) writes the figures anew, and the commit says what moved and why.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "drive_course.h"
#include "drive_knowledge.h"
#include "expect.h"

enum { LAPS = 48, COURSES = 100, CHAINS = 44, DIFFERENCES_SHOWN = 20 };

/* Written to eight digits. Compilers and libraries differ in the last bits of a float, which a time or a ratio carries on to its sixth digit or so. */
static const double RELATIVE = 1e-5, ABSOLUTE = 1e-7;

typedef struct figure {
    const char *name;
    double value;
} figure;

/* Where figures go, or what they are held against. */
typedef struct recorded {
    FILE *to;         /* NULL: compare */
    char *all;        /* the file */
    const char *text; /* its next line */
    bool lost;        /* of this run a line was not as expected: those behind it say nothing */
    char run[40];
    size_t differences;
} recorded;

static recorded bank;

static void differs(const char *kind, const char *name, const char *got, const char *want)
{
    if (bank.differences++ < DIFFERENCES_SHOWN)
        print_error("%s, %s %s: %s for %s\n", bank.run, kind, name, got, want);
}

/* The next line of the file; NULL at its end. */
static const char *next_line(void)
{
    static char line[1024];
    const char *end = strchr(bank.text, '\n');
    if (end == NULL || end - bank.text >= (ptrdiff_t)sizeof line)
        return NULL;
    memcpy(line, bank.text, (size_t)(end - bank.text));
    line[end - bank.text] = '\0';
    bank.text = end + 1;
    return line;
}

static void begin_run(const char *name, uint64_t seed)
{
    char head[sizeof bank.run + 2];
    bank.lost = false;
    snprintf(bank.run, sizeof bank.run, "%s %u", name, (unsigned)seed);
    if (bank.to != NULL) {
        fprintf(bank.to, "%s\n", bank.run);
        return;
    }
    snprintf(head, sizeof head, "%s\n", bank.run);
    const char *found = bank.text;
    while (found != NULL && strncmp(found, head, strlen(head)) != 0) {
        found = strchr(found, '\n');
        found = found != NULL ? found + 1 : NULL;
    }
    if (found == NULL) {
        differs("the run", "", "none", "one in the file");
        bank.lost = true;
        return;
    }
    bank.text = found + strlen(head);
}

static bool same(double got, double want)
{
    return (isnan(got) && isnan(want)) || got == want || fabs(got - want) <= RELATIVE * fabs(want) + ABSOLUTE;
}

static void tell(const char *kind, const figure *figures, size_t n)
{
    if (bank.to != NULL) {
        fprintf(bank.to, "%s", kind);
        for (size_t i = 0; i < n; i++)
            fprintf(bank.to, isnan(figures[i].value) ? " nan" : " %.8g", figures[i].value);
        fprintf(bank.to, "\n");
        return;
    }
    const char *line = bank.lost ? NULL : next_line();
    const size_t length = strlen(kind);
    if (line == NULL || strncmp(line, kind, length) != 0 || line[length] != ' ') {
        if (!bank.lost)
            differs(kind, "", "this", line != NULL ? line : "the end of the file");
        bank.lost = true;
        return;
    }
    const char *at = line + length;
    for (size_t i = 0; i < n; i++) {
        char *end = NULL, told[32], recorded_as[32];
        const double want = strtod(at, &end);
        snprintf(told, sizeof told, "%.8g", figures[i].value);
        snprintf(recorded_as, sizeof recorded_as, "%.8g", want);
        if (end == at || !same(figures[i].value, want))
            differs(kind, figures[i].name, told, end == at ? "nothing" : recorded_as);
        at = end;
    }
    if (*at != '\0')
        differs(kind, "", "no more", at);
}

#define TELL(kind, ...)                                                                                                \
    do {                                                                                                               \
        const figure figures_[] = {__VA_ARGS__};                                                                       \
        tell((kind), figures_, sizeof figures_ / sizeof figures_[0]);                                                  \
    } while (0)

static void tell_slip(const ch_slip *s)
{
    TELL("slip", {"start_s", s->start_s}, {"end_s", s->end_s}, {"gear", s->gear}, {"peak_1", s->peak_1},
         {"mean_1", s->mean_1}, {"ahead_rad_s", s->ahead_rad_s}, {"road_speed_m_s", s->road_speed_m_s},
         {"engine_speed_rad_s", s->engine_speed_rad_s}, {"throttle_1", s->throttle_1},
         {"acceleration_m_s2", s->acceleration_m_s2}, {"oil_or_coolant_k", s->oil_or_coolant_k},
         {"torque_n_m", s->torque_n_m}, {"u_torque_n_m", s->u_torque_n_m}, {"heat_j", s->heat_j},
         {"plate_k", s->plate_k}, {"peak_plate_k", s->peak_plate_k}, {"driven_before_s", s->driven_before_s});
}

static void tell_gears(const ch_driveline *d)
{
    for (size_t g = 0; g < d->gears; g++) {
        const ch_driveline_gear *gear = &d->gear[g];
        TELL("gear", {"number", gear->number}, {"line_rad_m", gear->line_rad_m}, {"u_line_rad_m", gear->u_line_rad_m},
             {"spread_1", gear->spread_1}, {"seconds", gear->seconds}, {"car_line_rad_m", gear->car_line_rad_m});
    }
}

static void tell_causes(const ch_driveline *d)
{
    figure cause[CH_CLUTCH_CAUSES], check[3 * CH_DRIVELINE_CHECKS_MAX];
    for (int k = 0; k < CH_CLUTCH_CAUSES; k++)
        cause[k] = (figure){ch_clutch_cause_id((ch_clutch_cause)k), d->cause_1[k]};
    for (size_t k = 0; k < d->next_checks; k++) {
        check[3 * k] = (figure){"check", (double)d->next_check[k].check};
        check[3 * k + 1] = (figure){"bits_1", d->next_check[k].bits_1};
        check[3 * k + 2] = (figure){"seconds", d->next_check[k].seconds};
    }
    TELL("patterns", {"patterns", d->patterns}, {"patterns_known", d->patterns_known});
    tell("causes", cause, CH_CLUTCH_CAUSES);
    tell("checks", check, 3 * d->next_checks);
}

static void tell_answer(const ch_driveline *d)
{
    TELL("found", {"rows", (double)d->rows}, {"state", (double)d->state}, {"limits", d->limits},
         {"gears", (double)d->gears}, {"slips", (double)d->slips}, {"slips_found", (double)d->slips_found});
    tell_gears(d);
    TELL("road", {"on_lines_1", d->on_lines_1}, {"car_factor_1", d->car_factor_1}, {"lag_s", d->lag_s},
         {"u_lag_s", d->u_lag_s}, {"engine_fresh_s", d->engine_fresh_s}, {"road_fresh_s", d->road_fresh_s},
         {"road_step_m_s", d->road_step_m_s}, {"road_offset_m_s", d->road_offset_m_s},
         {"shortest_slip_s", d->shortest_slip_s}, {"loaded_s", d->loaded_s}, {"loaded_low_s", d->loaded_low_s});
    TELL("not_slips", {"wheelspin", (double)d->not_slips[CH_NOT_SLIP_WHEELSPIN]},
         {"clutch", (double)d->not_slips[CH_NOT_SLIP_CLUTCH]}, {"sensor", (double)d->not_slips[CH_NOT_SLIP_SENSOR]},
         {"brief", (double)d->not_slips[CH_NOT_SLIP_BRIEF]});
    for (size_t i = 0; i < d->slips; i++)
        tell_slip(&d->slip[i]);
    TELL("clutch", {"capacity 5 %", d->capacity_n_m[0]}, {"capacity 50 %", d->capacity_n_m[1]},
         {"capacity 95 %", d->capacity_n_m[2]}, {"fade_1_k", d->fade_1_k}, {"u_fade_1_k", d->u_fade_1_k},
         {"design, wear", d->design_n_m[0]}, {"design, pressure", d->design_n_m[1]});
    tell_causes(d);
}

/* What a number of row tells apart: rows that change places or move by one are seen. */
static double weight_of(size_t i)
{
    return (double)(i * 7 % 11 + 1) / 12;
}

static void tell_picture(const ch_driveline_run *run)
{
    size_t n = 0;
    const ch_drive_point *point = ch_driveline_picture(run, &n);
    double time_s = 0, engine_rad_s = 0, road_m_s = 0, gear = 0, known = 0;
    for (size_t i = 0; i < n; i++) {
        time_s += weight_of(i) * (double)point[i].time_s / (double)n;
        engine_rad_s += weight_of(i) * (double)point[i].engine_speed_rad_s / (double)n;
        known += !isnan(point[i].road_speed_m_s);
        road_m_s += isnan(point[i].road_speed_m_s) ? 0 : weight_of(i) * (double)point[i].road_speed_m_s / (double)n;
        gear += weight_of(i) * (double)point[i].gear / (double)n;
    }
    TELL("picture", {"points", (double)n}, {"time_s", time_s}, {"engine_rad_s", engine_rad_s}, {"known", known},
         {"road_m_s", road_m_s}, {"gear", gear});
}

static ch_status feed(const drive_rows *rows, ch_driveline_run *run, ch_err *err)
{
    static const uint64_t lines[CH_DRIVELOG_BATCH];
    ch_status rc = CH_OK;
    for (size_t i = 0, n = 0; i < rows->n && rc >= 0; i += n) {
        const size_t until = i < rows->segment_from ? rows->segment_from : rows->n;
        n = until - i < CH_DRIVELOG_BATCH ? until - i : CH_DRIVELOG_BATCH;
        const ch_drivelog_rows batch = {.n = n,
                                        .first = i,
                                        .segment = i >= rows->segment_from,
                                        .time_s = rows->channel[CH_DRIVELOG_TIME] + i,
                                        .engine_speed_rad_s = rows->channel[CH_DRIVELOG_ENGINE] + i,
                                        .road_speed_m_s = rows->channel[CH_DRIVELOG_ROAD] + i,
                                        .throttle_1 = rows->channel[CH_DRIVELOG_THROTTLE] + i,
                                        .acceleration_m_s2 = rows->channel[CH_DRIVELOG_ACCELERATION] + i,
                                        .coolant_k = rows->channel[CH_DRIVELOG_COOLANT] + i,
                                        .oil_k = rows->channel[CH_DRIVELOG_OIL] + i,
                                        .clutch_1 = rows->channel[CH_DRIVELOG_CLUTCH] + i,
                                        .gps_speed_m_s = rows->channel[CH_DRIVELOG_GPS] + i,
                                        .driven_speed_m_s = rows->channel[CH_DRIVELOG_DRIVEN] + i,
                                        .line = lines};
        rc = ch_driveline_take(&batch, run, err);
    }
    return rc;
}

static void judge_and_tell(const drive_rows *rows, const ch_car *car, uint64_t seed)
{
    ch_driveline_run *run = NULL;
    ch_driveline d;
    ch_err err = {0};
    const ch_driveline_seen seen[] = {{.sign = seed % clutch.signs_n, .present = seed % 2 == 0},
                                      {.sign = (seed + 3) % clutch.signs_n, .present = seed % 5 == 0}};
    ch_status rc = ch_driveline_open(car, &run, &err);
    if (rc >= 0)
        rc = feed(rows, run, &err);
    if (rc >= 0)
        rc = ch_driveline_finish(run, &clutch, seen, seed % 3, &d, &err);
    if (rc < 0)
        fail_msg("%s: %s", bank.run, err.what);
    tell_answer(&d);
    tell_picture(run);
    ch_driveline_clear(&d);
    ch_driveline_close(run);
}

/* A clutch and weight, by turns: all of it, no plate, no weight. */
static void state_weight(ch_car *car, uint64_t seed)
{
    if (seed % 4 != 1) {
        car->mass_kg = 900 + 70 * (double)(seed % 9);
        car->drag_area_m2 = seed % 5 == 0 ? NAN : 0.55 + 0.02 * (double)(seed % 7);
    }
    if (seed % 3 != 2)
        car->clutch = (ch_clutch_disc){
            .outer_m = 0.215, .inner_m = 0.145, .surfaces_1 = 2, .clamp_force_n = 5000, .friction_1 = 0.35};
}

/* The car of a lap, its ratios as they are or another's. */
static ch_car car_of(const drive_car *truth, uint64_t seed)
{
    ch_car car = ch_car_none();
    assert_int_equal(ch_tyre_parse(truth->tyre, strlen(truth->tyre), &car.tyre, NULL), CH_OK);
    car.final_drive_1 = truth->final_drive * (seed % 9 == 8 ? 1.11 : 1);
    car.gears = (size_t)truth->gears;
    memcpy(car.gear_1, truth->gear, sizeof truth->gear);
    state_weight(&car, seed);
    return car;
}

/* A car whose lines are those of a box, times a tyre's factor of some percent. */
static ch_car car_of_box(const drive_box *box, uint64_t seed)
{
    ch_car car = ch_car_none();
    assert_int_equal(ch_tyre_parse("195/50R15", strlen("195/50R15"), &car.tyre, NULL), CH_OK);
    car.final_drive_1 = 4.1;
    car.gears = (size_t)box->gears;
    car.gear_1[0] = 1;
    const double factor = 1 + 0.006 * ((double)(seed % 33) - 16), one = ch_car_line_rad_m(&car, 1);
    const double digits = seed % 2 == 0 ? 100 : 1000;
    for (int g = 0; g < box->gears; g++)
        car.gear_1[g] = rint(box->line_rad_m[g] * factor / one * digits) / digits;
    state_weight(&car, seed);
    return car;
}

static void tell_laps(void)
{
    static drive_rows rows;
    for (uint64_t seed = 0; seed < LAPS; seed++) {
        const drive_car *truth = NULL;
        assert_true(drive_lap(seed, &rows, &truth));
        const ch_car car = car_of(truth, seed);
        begin_run("lap", seed);
        judge_and_tell(&rows, seed % 4 < 2 ? NULL : &car, seed);
    }
}

static void tell_courses(void)
{
    static drive_rows rows;
    for (uint64_t seed = 0; seed < COURSES; seed++) {
        drive_box box;
        drive_course(seed, &rows, &box);
        const ch_car car = car_of_box(&box, seed);
        begin_run("course", seed);
        judge_and_tell(&rows, seed % 3 == 0 ? &car : NULL, seed);
    }
}

/* The signals themselves, and what the search for gears leaves of them. */
static void tell_signal(const char *name, const float *x, size_t n)
{
    double known = 0, mean = 0, size = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i])) {
            known++;
            mean += weight_of(i) * (double)x[i];
            size += weight_of(i + 5) * fabs((double)x[i]);
        }
    TELL(name, {"known", known}, {"mean", mean / (double)n}, {"size", size / (double)n});
}

static void tell_signals(const signals *s)
{
    TELL("signals", {"n", (double)s->n}, {"interval_s", s->interval_s}, {"engine_fresh_s", s->engine_fresh_s},
         {"road_fresh_s", s->road_fresh_s}, {"lag_s", s->lag_s}, {"u_lag_s", s->u_lag_s}, {"lag_known", s->lag_known},
         {"step_m_s", s->step_m_s}, {"window_s", s->window_s}, {"slowing_only", s->slowing_only},
         {"creep_1", s->creep_1});
    tell_signal("drawn", s->drawn, s->n);
    tell_signal("engine", s->engine, s->n);
    tell_signal("road", s->road, s->n);
    tell_signal("climb", s->climb, s->n);
    tell_signal("ratio", s->ratio, s->n);
    tell_signal("drift", s->drift, s->n);
    tell_signal("smooth", s->smooth, s->n);
}

/* Rows to a trail, as driveline.c does it, with the step of road speed known from the start. */
static void make_trail(const drive_rows *rows, double step_m_s, trail *t)
{
    static const ch_drivelog_channel from[TRAIL_CHANNELS] = {
        [TRAIL_ENGINE] = CH_DRIVELOG_ENGINE,     [TRAIL_ROAD] = CH_DRIVELOG_ROAD,
        [TRAIL_THROTTLE] = CH_DRIVELOG_THROTTLE, [TRAIL_TEMPERATURE] = CH_DRIVELOG_OIL,
        [TRAIL_CLUTCH] = CH_DRIVELOG_CLUTCH,     [TRAIL_GPS] = CH_DRIVELOG_GPS,
        [TRAIL_DRIVEN] = CH_DRIVELOG_DRIVEN};
    static trail_bin bin;
    memset(&bin, 0, sizeof bin);
    for (size_t i = 0; i < rows->n; i++) {
        double value[TRAIL_CHANNELS];
        for (int k = 0; k < TRAIL_CHANNELS; k++)
            value[k] = rows->channel[from[k]][i];
        const double time_s = rows->channel[CH_DRIVELOG_TIME][i];
        if (trail_bin_full(&bin, time_s))
            assert_int_equal(trail_close_bin(t, &bin, step_m_s, NULL), CH_OK);
        trail_add(&bin, value, time_s);
    }
    assert_int_equal(trail_close_bin(t, &bin, step_m_s, NULL), CH_OK);
}

static void tell_chains(void)
{
    static drive_rows rows;
    static fresh_count engine, road;
    for (uint64_t seed = 0; seed < CHAINS; seed++) {
        trail t = {0};
        signals s;
        step_count steps = {0};
        ch_driveline to = {.car_factor_1 = NAN};
        drive_course(1000 + seed, &rows, NULL);
        memset(&engine, 0, sizeof engine);
        memset(&road, 0, sizeof road);
        fresh_look(&engine, rows.channel[CH_DRIVELOG_TIME], rows.channel[CH_DRIVELOG_ENGINE], rows.n);
        fresh_look(&road, rows.channel[CH_DRIVELOG_TIME], rows.channel[CH_DRIVELOG_ROAD], rows.n);
        step_look(&steps, rows.channel[CH_DRIVELOG_ROAD], rows.n);
        const double step_m_s = step_found(&steps);
        make_trail(&rows, step_m_s, &t);
        begin_run("chain", seed);
        assert_int_equal(
            signals_make(&t, step_m_s, fresh_interval(&engine), fresh_interval(&road), fresh_news(&road), &s, NULL),
            CH_OK);
        signals_ratio(&s, 0.25 * (double)(seed % 2));
        tell_signals(&s);
        assert_int_equal(gears_find(&s, &t, NULL, step_m_s, &to, NULL), CH_OK);
        tell_gears(&to);
        tell_signals(&s);
        signals_free(&s);
        trail_free(&t);
    }
}

static void hold_to_the_file(void (*told)(void))
{
    bank.differences = 0;
    bank.text = bank.all;
    told();
    if (bank.differences > 0)
        fail_msg("%zu differences. If they are meant: test_driveline_recorded --record, and say in the commit what "
                 "moved and why.",
                 bank.differences);
}

static void laps_are_answered_as_recorded(void **state)
{
    (void)state;
    hold_to_the_file(tell_laps);
}

static void courses_are_answered_as_recorded(void **state)
{
    (void)state;
    hold_to_the_file(tell_courses);
}

static void signals_are_as_recorded(void **state)
{
    (void)state;
    hold_to_the_file(tell_chains);
}

static FILE *open_file(const char *mode)
{
    char path[4096];
    const char *source = getenv("CROSSHATCH_SOURCE");
    snprintf(path, sizeof path, "%s/tests/data/recorded/driveline-runs.txt", source != NULL ? source : ".");
    return fopen(path, mode);
}

static int read_file(void **state)
{
    enum { ROOM = 1 << 20 };
    FILE *file = open_file("r");
    bank.all = calloc(1, ROOM);
    if (file == NULL || bank.all == NULL || open_knowledge(state) != 0)
        return -1;
    const size_t length = fread(bank.all, 1, ROOM - 1, file);
    fclose(file);
    return length < ROOM - 1 ? 0 : -1;
}

static int let_go(void **state)
{
    free(bank.all);
    return close_knowledge(state);
}

static int record_anew(void)
{
    bank.to = open_file("w");
    if (bank.to == NULL || open_knowledge(NULL) != 0)
        return EXIT_FAILURE;
    tell_laps();
    tell_courses();
    tell_chains();
    close_knowledge(NULL);
    return fclose(bank.to) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

int main(int argc, char **argv)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(laps_are_answered_as_recorded),
        cmocka_unit_test(courses_are_answered_as_recorded),
        cmocka_unit_test(signals_are_as_recorded),
    };
    if (argc == 2 && strcmp(argv[1], "--record") == 0)
        return record_anew();
    return cmocka_run_group_tests(tests, read_file, let_go);
}

/* Simulated runs: a car, a driver, a clutch that may let go, and a logger. */
#include "drive_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define RPM (PI / 30)

const drive_car drive_cars[DRIVE_CARS] = {
    {"small hatch", "185/60R14", 1.768, 4.06, 5, {3.45, 1.94, 1.29, 0.97, 0.81}, 980, 0.66, 118, 6500 * RPM, 0.16},
    {"roadster", "195/50R15", 1.771, 4.10, 5, {3.14, 1.89, 1.33, 1.00, 0.81}, 1070, 0.63, 165, 7200 * RPM, 0.18},
    {"hot hatch", "225/40R18", 1.959, 3.68, 6, {3.36, 2.09, 1.47, 1.10, 0.87, 0.73}, 1290, 0.70, 310, 6500 * RPM, 0.25},
    {"old saloon", "195/65R15", 1.921, 3.64, 5, {3.72, 2.04, 1.34, 1.00, 0.80}, 1380, 0.72, 240, 6200 * RPM, 0.28},
};

static const double STEP_S = 0.005;

double drive_uniform(uint64_t *state)
{
    uint64_t z = (*state += 0x9E3779B97F4A7C15U);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBU;
    return (double)((z ^ (z >> 31)) >> 11) * 0x1.0p-53;
}

double drive_normal(uint64_t *state)
{
    const double u = 1 - drive_uniform(state), v = drive_uniform(state);
    return sqrt(-2 * log(u)) * cos(2 * PI * v);
}

static double between(uint64_t *state, double low, double high)
{
    return low + (high - low) * drive_uniform(state);
}

/* What happens at each step of truth. */
typedef struct moment {
    float engine_rad_s, road_m_s, driven_m_s, throttle_1, acceleration_m_s2, clutch_1, coolant_k;
} moment;

typedef struct driver {
    const drive_options *options;
    const drive_car *car;
    uint64_t random;
    drive_run *run;
    moment *moments;
    size_t n, room;
    double road_m_s, engine_rad_s, throttle_1, coolant_k, acceleration_m_s2;
    double ratio; /* of a stepless gearbox */
    double off_1; /* by which a clutch that slips at every pull does now */
    int gear;     /* 0 = none */
} driver;

static double line(const driver *d, int gear)
{
    return 2 * PI * d->car->gear[gear - 1] * d->car->final_drive / d->car->circumference_m;
}

static double engine_torque(const driver *d, double throttle_1)
{
    const double x = d->engine_rad_s / d->car->limit_rad_s;
    const double full = d->car->torque_n_m * (1 - 1.1 * (x - 0.62) * (x - 0.62));
    return throttle_1 * full - (1 - throttle_1) * 0.12 * d->car->torque_n_m * (0.4 + x);
}

static double resistance(const driver *d)
{
    return 0.6 * d->car->drag_area_m2 * d->road_m_s * d->road_m_s + 0.013 * d->car->mass_kg * 9.81;
}

/* One step: the road moves by `force_n` at the wheels, the engine turns as told. */
static void record(driver *d, double force_n, double clutch_1, double wheel_1)
{
    d->acceleration_m_s2 = (force_n - resistance(d)) / (1.04 * d->car->mass_kg);
    d->road_m_s = fmax(d->road_m_s + d->acceleration_m_s2 * STEP_S, 0);
    d->coolant_k += (363 - d->coolant_k) * STEP_S / 240;
    if (d->n < d->room)
        d->moments[d->n++] = (moment){.engine_rad_s = (float)d->engine_rad_s,
                                      .road_m_s = (float)d->road_m_s,
                                      .driven_m_s = (float)(d->road_m_s * (1 + wheel_1)),
                                      .throttle_1 = (float)d->throttle_1,
                                      .acceleration_m_s2 = (float)d->acceleration_m_s2,
                                      .clutch_1 = (float)clutch_1,
                                      .coolant_k = (float)d->coolant_k};
}

static bool over(const driver *d)
{
    return d->n >= d->room;
}

static void move_throttle(driver *d, double to_1, double full_stroke_s)
{
    const double most = STEP_S / full_stroke_s;
    d->throttle_1 += fmin(fmax(to_1 - d->throttle_1, -most), most);
}

/* Towards its share while the throttle is open, and home again, as fast as a pedal moves. */
static void slip_steadily(driver *d)
{
    static const double open_1 = 0.6, within_s = 0.25;
    const bool slips = d->options->steady_gear > 0 && d->gear == d->options->steady_gear;
    const double most = d->options->steady_1 * STEP_S / within_s;
    const double want = slips && d->throttle_1 > open_1 ? d->options->steady_1 : 0;
    d->off_1 = slips ? d->off_1 + fmin(fmax(want - d->off_1, -most), most) : 0;
}

/* A step in gear, clutch home; `wheel_1`: the driven wheels ahead of the road. */
static void locked(driver *d, double throttle_1, double brake_m_s2, double wheel_1)
{
    move_throttle(d, throttle_1, 0.25);
    slip_steadily(d);
    const double torque = engine_torque(d, d->throttle_1);
    const double grip_n = 0.55 * 9.81 * d->car->mass_kg;
    const double force = fmin(torque * line(d, d->gear) * 0.94, grip_n) - brake_m_s2 * d->car->mass_kg;
    record(d, force, 0, wheel_1);
    d->engine_rad_s = line(d, d->gear) * d->road_m_s * (1 + wheel_1) * (1 + d->off_1);
    if (wheel_1 == 0)
        d->run->gear_s[d->gear] += STEP_S;
    /* the moment written holds the engine speed of the step before: keep both at one instant */
    if (d->n > 0)
        d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
}

/* Engine free of the gearbox, drawn to a speed. */
static void open_clutch(driver *d, double target_rad_s, double within_s, double brake_m_s2)
{
    d->engine_rad_s += (target_rad_s - d->engine_rad_s) * STEP_S / within_s;
    record(d, -brake_m_s2 * d->car->mass_kg, 1, 0);
}

static void shift(driver *d, int to, double brake_m_s2)
{
    const bool down = to < d->gear;
    const double lift_s = between(&d->random, 0.05, 0.2), open_s = between(&d->random, 0.2, 0.55),
                 close_s = between(&d->random, 0.08, 0.35);
    const double before = d->throttle_1;
    for (double t = 0; t < lift_s && !over(d); t += STEP_S)
        locked(d, down ? 0.1 : 0, brake_m_s2, 0);
    const bool blip = down && drive_uniform(&d->random) < 0.75;
    d->run->blips += blip;
    for (double t = 0; t < open_s && !over(d); t += STEP_S) {
        const double target =
            blip ? line(d, to) * d->road_m_s * between(&d->random, 0.95, 1.12) : fmax(d->engine_rad_s - 60, 85);
        move_throttle(d, blip ? 0.7 : 0, 0.1);
        open_clutch(d, target, blip ? 0.12 : 0.2, brake_m_s2);
    }
    /* the clutch comes home: the engine is drawn to the new line while the throttle comes back */
    d->gear = to;
    const double off = d->engine_rad_s / (line(d, to) * fmax(d->road_m_s, 0.1)) - 1;
    for (double t = 0; t < close_s && !over(d); t += STEP_S) {
        move_throttle(d, down ? 0.1 : before * 0.5, 0.3);
        record(d, engine_torque(d, d->throttle_1) * line(d, to) * 0.5 - brake_m_s2 * d->car->mass_kg, 0.5, 0);
        d->engine_rad_s = line(d, to) * d->road_m_s * (1 + off * (1 - t / close_s));
        if (d->n > 0)
            d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
    }
    d->engine_rad_s = line(d, to) * d->road_m_s;
    d->run->shifts++;
}

static void launch(driver *d)
{
    const double rev = between(&d->random, 1500, 4000) * RPM, slip_s = between(&d->random, 0.7, 2.2);
    d->gear = 1;
    for (double t = 0; t < slip_s && !over(d); t += STEP_S) {
        move_throttle(d, 0.6, 0.4);
        record(d, 0.5 * d->car->torque_n_m * line(d, 1), 0.5, 0);
        const double on_line = line(d, 1) * d->road_m_s, share = t / slip_s;
        d->engine_rad_s = fmax(on_line, rev + (fmax(on_line, rev * 0.8) - rev) * share);
        if (d->engine_rad_s <= on_line * 1.001)
            break;
    }
    const double off = fmax(d->engine_rad_s / (line(d, 1) * d->road_m_s) - 1, 0);
    for (double t = 0; t < 0.3 && !over(d); t += STEP_S) {
        record(d, 0.6 * d->car->torque_n_m * line(d, 1), 0.2, 0);
        d->engine_rad_s = line(d, 1) * d->road_m_s * (1 + off * (1 - t / 0.3));
        if (d->n > 0)
            d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
    }
    d->run->launches++;
}

/* A course of slip from 0 to a peak and back, for a share 0 to 1 of its time. */
static double course(int shape, double share)
{
    switch (shape) {
    case 0: return sin(PI * share);
    case 1: return fmin(fmin(share / 0.2, 1), (1 - share) / 0.15);
    case 2: return share < 0.8 ? share / 0.8 : (1 - share) / 0.2;
    default: return share < 0.25 ? share / 0.25 : 1 - (share - 0.25) / 0.75;
    }
}

static void prescribed_slip(driver *d)
{
    const double seconds = between(&d->random, 0.45, 3.5), peak = between(&d->random, 0.055, 0.30);
    const int shape = (int)(4 * drive_uniform(&d->random));
    const double holds = 0.92 * engine_torque(d, d->throttle_1);
    drive_slip slip = {.start_s = (double)d->n * STEP_S, .gear = d->gear, .torque_n_m = holds};
    for (double t = 0; t < seconds && !over(d); t += STEP_S) {
        const double s = peak * course(shape, t / seconds);
        if (d->engine_rad_s > d->car->limit_rad_s * 1.05)
            break;
        record(d, holds * line(d, d->gear) * 0.94, 0, 0);
        d->engine_rad_s = line(d, d->gear) * d->road_m_s * (1 + s);
        d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
        slip.heat_j += holds * line(d, d->gear) * d->road_m_s * s * STEP_S;
        slip.peak_1 = fmax(slip.peak_1, s);
    }
    /* hooking up takes no time less than a tenth of a second */
    const double off = d->engine_rad_s / (line(d, d->gear) * d->road_m_s) - 1;
    for (double t = 0; t < 0.1 && off > 0.002 && !over(d); t += STEP_S) {
        record(d, holds * line(d, d->gear) * 0.94, 0, 0);
        d->engine_rad_s = line(d, d->gear) * d->road_m_s * (1 + off * (1 - t / 0.1));
        d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
    }
    slip.end_s = (double)d->n * STEP_S;
    if (d->run->slips < DRIVE_SLIPS_MAX)
        d->run->slip[d->run->slips++] = slip;
}

/* The clutch holds so much and no more: engine and road each follow their own torque until they meet again. */
static void torque_slip(driver *d, double lift_after_s)
{
    const double holds = d->options->capacity_1 * d->car->torque_n_m;
    drive_slip slip = {.start_s = NAN, .gear = d->gear, .torque_n_m = holds};
    for (double t = 0; t < 8 && !over(d); t += STEP_S) {
        const double on_line = line(d, d->gear) * d->road_m_s;
        const bool lift = t > lift_after_s || d->engine_rad_s > 0.97 * d->car->limit_rad_s;
        move_throttle(d, lift ? 0 : 1, 0.2);
        const double torque = engine_torque(d, d->throttle_1);
        if (d->engine_rad_s <= on_line && torque <= holds) {
            if (!isnan(slip.start_s) || t > 3)
                break;
            locked(d, lift ? 0 : 1, 0, 0);
            continue;
        }
        record(d, holds * line(d, d->gear) * 0.94, 0, 0);
        d->engine_rad_s += (torque - holds) / d->car->inertia_kg_m2 * STEP_S;
        const double s = d->engine_rad_s / (line(d, d->gear) * d->road_m_s) - 1;
        if (s <= 0)
            d->engine_rad_s = line(d, d->gear) * d->road_m_s;
        d->moments[d->n - 1].engine_rad_s = (float)d->engine_rad_s;
        if (s > 0.004 && isnan(slip.start_s))
            slip.start_s = (double)d->n * STEP_S;
        if (s > 0.004)
            slip.end_s = (double)d->n * STEP_S;
        slip.heat_j += fmax(s, 0) * holds * line(d, d->gear) * d->road_m_s * STEP_S;
        slip.peak_1 = fmax(slip.peak_1, s);
        if (t > 7.5)
            d->throttle_1 = 0;
    }
    d->engine_rad_s = line(d, d->gear) * d->road_m_s;
    if (!isnan(slip.start_s) && d->run->slips < DRIVE_SLIPS_MAX)
        d->run->slip[d->run->slips++] = slip;
}

static void spin_wheels(driver *d)
{
    const double seconds = between(&d->random, 0.3, 1.2), peak = between(&d->random, 0.05, 0.25);
    for (double t = 0; t < seconds && !over(d); t += STEP_S)
        locked(d, 1, 0, peak * sin(PI * t / seconds));
    d->run->wheelspins++;
}

/* Pull in gear until a road speed, changing up at the limit; with slip or wheelspin on the way. */
static void pull(driver *d, double to_m_s, double throttle_1)
{
    const int slips_from = d->options->slips_from > 0 ? d->options->slips_from : 3;
    double in_gear_s = 0;
    bool done = false, shifted = d->throttle_1 > 0.5; /* on the throttle already: no corner */
    for (double t = 0; t < 40 && d->road_m_s < to_m_s && !over(d); t += STEP_S, in_gear_s += STEP_S) {
        if (d->engine_rad_s > between(&d->random, 0.88, 0.97) * d->car->limit_rad_s) {
            if (d->gear == d->car->gears)
                break;
            shift(d, d->gear + 1, 0);
            in_gear_s = 0;
            done = false;
            shifted = true;
            continue;
        }
        locked(d, throttle_1, 0, 0);
        const bool strong = d->throttle_1 > 0.95;
        const double x = d->engine_rad_s / d->car->limit_rad_s;
        const bool corner = d->options->corner_spin && d->gear == 3 && !shifted && in_gear_s < 1;
        const bool low = d->options->wheelspin && d->gear <= 2 && in_gear_s > 0.5;
        if ((corner || low) && !done && strong && drive_uniform(&d->random) < 0.01) {
            spin_wheels(d);
            done = true;
        }
        if (d->options->slipping && !done && strong && d->gear >= slips_from && in_gear_s > 0.7 && x > 0.4 &&
            x < 0.75) {
            if (d->options->capacity_1 > 0)
                torque_slip(d, between(&d->random, 0.8, 3.5));
            else if (drive_uniform(&d->random) < 0.01)
                prescribed_slip(d);
            else
                continue;
            done = true;
        }
    }
}

static void hold_speed(driver *d, double seconds)
{
    const double want = d->road_m_s;
    for (double t = 0; t < seconds && !over(d); t += STEP_S)
        locked(d, fmin(fmax(0.25 + 0.8 * (want - d->road_m_s), 0.05), 0.7), 0, 0);
}

static void slow_to(driver *d, double to_m_s, double brake_m_s2)
{
    for (double t = 0; t < 30 && d->road_m_s > to_m_s && !over(d); t += STEP_S) {
        locked(d, 0, brake_m_s2, 0);
        const int least = d->options->low_gear ? 1 : 2;
        if (d->gear > least && d->engine_rad_s < between(&d->random, 0.3, 0.45) * d->car->limit_rad_s &&
            line(d, d->gear - 1) * d->road_m_s < 0.9 * d->car->limit_rad_s &&
            d->gear > least + (d->road_m_s > 6 ? 1 : 0))
            shift(d, d->gear - 1, brake_m_s2);
    }
}

/* Clutch down or neutral: the engine idles or is blipped for no reason while the car rolls. */
static void coast(driver *d, double seconds)
{
    const double blip_at_s = between(&d->random, 0.5, fmax(seconds, 0.6));
    const bool blips = drive_uniform(&d->random) < 0.5;
    for (double t = 0; t < seconds && !over(d); t += STEP_S) {
        const bool blip = blips && t > blip_at_s && t < blip_at_s + 0.35;
        move_throttle(d, blip ? 0.8 : 0, 0.1);
        open_clutch(d, blip ? 0.75 * d->car->limit_rad_s : 90, blip ? 0.25 : 0.35, 0);
    }
    d->run->blips += blips;
    for (double t = 0; t < 0.3 && !over(d); t += STEP_S)
        open_clutch(d, line(d, d->gear) * d->road_m_s, 0.08, 0);
    d->engine_rad_s = line(d, d->gear) * d->road_m_s;
}

static void stop(driver *d)
{
    for (double t = 0; t < 20 && d->road_m_s > 0 && !over(d); t += STEP_S)
        open_clutch(d, 90, 0.3, 3);
    const double seconds = between(&d->random, 1, 6);
    d->road_m_s = 0;
    for (double t = 0; t < seconds && !over(d); t += STEP_S) {
        d->engine_rad_s += (90 - d->engine_rad_s) * 0.02;
        record(d, 0, 1, 0);
    }
}

/* An automatic or stepless gearbox: the ratio goes where it likes. */
static void stepless(driver *d)
{
    while (!over(d)) {
        const double want = between(&d->random, 8, 38), seconds = between(&d->random, 4, 15);
        for (double t = 0; t < seconds && !over(d); t += STEP_S) {
            const double a = fmin(fmax(0.6 * (want - d->road_m_s), -3), 3);
            d->throttle_1 = a > 0 ? 0.2 + a / 5 : 0;
            record(d, a * d->car->mass_kg + resistance(d), NAN, 0);
            const double target =
                fmin(fmax(130 + 90 * fmax(a, 0) + 2 * d->road_m_s, line(d, d->car->gears) * 0.8 * d->road_m_s),
                     line(d, 1) * d->road_m_s + 100);
            d->engine_rad_s += (target - d->engine_rad_s) * STEP_S / 0.5;
        }
    }
}

static void lap(driver *d)
{
    const double top = line(d, d->car->gears);
    while (!over(d)) {
        if (d->options->low_gear && drive_uniform(&d->random) < 0.25) {
            stop(d);
            launch(d);
        }
        if (d->gear < 3)
            pull(d, between(&d->random, 18, 26), 1);
        if (drive_uniform(&d->random) < 0.25) {
            if (d->gear < d->car->gears && line(d, d->gear + 1) * d->road_m_s > 180)
                shift(d, d->gear + 1, 0);
            hold_speed(d, between(&d->random, 3, 12));
            pull(d, d->road_m_s + 6, between(&d->random, 0.5, 0.8));
        }
        pull(d, fmin(between(&d->random, 30, 62), 0.93 * d->car->limit_rad_s / top), 1);
        if (drive_uniform(&d->random) < 0.3)
            coast(d, between(&d->random, 1, 4));
        const double brake_m_s2 = between(&d->random, 2, 8); /* first, whatever order a compiler has for arguments */
        slow_to(d, between(&d->random, 9, 22), brake_m_s2);
        hold_speed(d, between(&d->random, 0.5, 2.5));
    }
}

static void write_row(drive_run *run, const drive_options *o, const driver *d, double at_s, uint64_t *random,
                      size_t row, double *road_held, double *road_next_s, double *engine_held, double *engine_next_s)
{
    const drive_logger *l = &o->logger;
    const size_t last = d->n - 1;
    const size_t now = (size_t)fmin(at_s / STEP_S, (double)last);
    const size_t then_road = (size_t)fmin(fmax(at_s - l->road_lag_s, 0) / STEP_S, (double)last);
    const size_t then_engine = (size_t)fmin(fmax(at_s - l->engine_lag_s, 0) / STEP_S, (double)last);
    if (at_s >= *road_next_s - 1e-9) {
        double v = fmax(d->moments[then_road].road_m_s * l->road_gain + l->road_noise_m_s * drive_normal(random), 0);
        if (l->road_step_m_s > 0)
            v = l->road_step_m_s * (l->road_cut ? floor(v / l->road_step_m_s + 1e-9) : rint(v / l->road_step_m_s));
        *road_held = v;
        *road_next_s += l->road_fresh_hz > 0 ? 1 / l->road_fresh_hz : 0;
    }
    if (at_s >= *engine_next_s - 1e-9) {
        double e = d->moments[then_engine].engine_rad_s + l->engine_noise_rad_s * drive_normal(random);
        if (l->engine_step_rad_s > 0)
            e = l->engine_step_rad_s * rint(e / l->engine_step_rad_s);
        *engine_held = e;
        *engine_next_s += l->engine_fresh_hz > 0 ? 1 / l->engine_fresh_hz : 0;
    }
    const moment *m = &d->moments[now];
    run->time_s[row] = at_s;
    run->engine_rad_s[row] = *engine_held;
    run->road_m_s[row] = *road_held;
    run->throttle_1[row] = l->throttle ? fmin(fmax(0.14 + 0.84 * m->throttle_1, 0), 1) : NAN;
    run->acceleration_m_s2[row] = l->acceleration ? m->acceleration_m_s2 + 0.4 * drive_normal(random) : NAN;
    run->coolant_k[row] = l->temperature ? rint(m->coolant_k) : NAN;
    run->clutch_1[row] = l->clutch ? (m->clutch_1 > 0.4F ? 1 : 0) : NAN;
    run->driven_m_s[row] = l->driven ? m->driven_m_s * (1 + 0.002 * drive_normal(random)) : NAN;
}

static void smooth_road(const driver *d, double filter_s)
{
    const double part = filter_s > 0 ? STEP_S / (filter_s + STEP_S) : 1;
    double road = d->moments[0].road_m_s;
    for (size_t i = 0; i < d->n; i++) {
        road += part * (d->moments[i].road_m_s - road);
        d->moments[i].road_m_s = (float)road;
    }
}

static bool write_log(drive_run *run, const drive_options *o, const driver *d)
{
    const size_t rows = (size_t)((double)d->n * STEP_S * o->logger.rate_hz);
    double **const columns[] = {&run->time_s,     &run->engine_rad_s,      &run->road_m_s,
                                &run->throttle_1, &run->acceleration_m_s2, &run->coolant_k,
                                &run->clutch_1,   &run->driven_m_s};
    uint64_t random = o->seed ^ 0xA5A5A5A5U;
    smooth_road(d, o->logger.road_filter_s);
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        *columns[c] = malloc((rows + 1) * sizeof **columns[c]);
        if (*columns[c] == NULL)
            return false;
    }
    double road = 0, road_next = drive_uniform(&random) * 0.2, engine = 0, engine_next = drive_uniform(&random) * 0.2;
    road = d->moments[0].road_m_s;
    engine = d->moments[0].engine_rad_s;
    for (size_t i = 0; i < rows; i++) {
        const double at_s = (double)i / o->logger.rate_hz;
        if (o->logger.road_fresh_hz == 0)
            road_next = at_s;
        if (o->logger.engine_fresh_hz == 0)
            engine_next = at_s;
        write_row(run, o, d, at_s, &random, i, &road, &road_next, &engine, &engine_next);
    }
    run->n = rows;
    return true;
}

bool drive(const drive_options *options, drive_run *run)
{
    *run = (drive_run){0};
    driver d = {.options = options, .car = options->car, .random = options->seed, .run = run, .coolant_k = 330};
    d.room = (size_t)(options->seconds / STEP_S);
    d.moments = malloc((d.room + 1) * sizeof *d.moments);
    if (d.moments == NULL)
        return false;
    for (int g = 1; g <= d.car->gears; g++)
        run->line_rad_m[g] = line(&d, g) / options->logger.road_gain;
    d.gear = options->low_gear ? 1 : 3;
    d.road_m_s = options->low_gear ? 0 : 20;
    d.engine_rad_s = options->low_gear ? 90 : line(&d, 3) * 20;
    if (options->automatic) {
        d.road_m_s = 10;
        stepless(&d);
    } else {
        if (options->low_gear) {
            stop(&d);
            launch(&d);
        }
        lap(&d);
    }
    const bool written = write_log(run, options, &d);
    free(d.moments);
    if (!written)
        drive_run_free(run);
    return written;
}

void drive_run_free(drive_run *run)
{
    free(run->time_s);
    free(run->engine_rad_s);
    free(run->road_m_s);
    free(run->throttle_1);
    free(run->acceleration_m_s2);
    free(run->coolant_k);
    free(run->clutch_1);
    free(run->driven_m_s);
    *run = (drive_run){0};
}

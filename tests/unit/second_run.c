/* A second simulation of logged runs: see second_run.h. */
#include "second_run.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846
#define RPM (PI / 30)

static const drive_car cars[DRIVE_CARS] = {
    {"light coupe", "185/60R14", 1.775, 4.31, 5, {3.17, 1.84, 1.31, 1.03, 0.82}, 940, 0.60, 138, 7000 * RPM, 0.14},
    {"turbo saloon",
     "225/45R17",
     1.985,
     3.15,
     6,
     {3.82, 2.36, 1.69, 1.31, 1.00, 0.79},
     1520,
     0.68,
     380,
     6700 * RPM,
     0.30},
    {"diesel estate",
     "205/60R16",
     1.990,
     3.65,
     6,
     {3.77, 1.96, 1.24, 0.87, 0.69, 0.58},
     1460,
     0.70,
     320,
     4600 * RPM,
     0.34},
    {"old four-speed", "165/80R15", 1.955, 4.11, 4, {3.65, 2.19, 1.44, 1.00}, 1010, 0.74, 140, 5800 * RPM, 0.20},
};

static const double STEP_S = 0.001, IDLE_RAD_S = 850 * RPM;
enum { KEEP = 5 }; /* of these steps one is kept */

typedef struct moment {
    float engine, wheel, road, throttle, pedal, acceleration, coolant;
} moment;

/* An event of the clutch: it lets go, holds a level of slip, and grips again. */
typedef enum let_go { GRIPS, RISES, HOLDS, RECOVERS } let_go;

typedef struct driver {
    const second_wish *wish;
    const drive_car *car;
    drive_run *run;
    uint64_t random;
    moment *moments;
    size_t n, room, tick;
    double engine, wheel, road, throttle, brake, pedal, coolant,
        plate;                                       /* pedal: 1 = pressed; plate: K above the rest */
    int gear;                                        /* 0 = neutral */
    double creep, grip_m_s2, slick_until_s, slick_1; /* tyres */
    double slope_1[2], metres;
    double capacity, fade_1_k;
    bool by_events; /* the clutch lets go by events, not for want of capacity */
    let_go phase;
    double short_1, level_1, phase_until_s;
    double gear_s, home_s; /* since the change; since the clutch was home */
    bool locked, locked_once;
    drive_slip slip;
    bool slipping;
    /* how this driver changes gear */
    double lift_s, press_s, dwell_s, release_s, early_1;
    bool flat, heel, twice;
} driver;

static double between(uint64_t *random, double low, double high)
{
    return low + (high - low) * drive_uniform(random);
}

static bool chance(uint64_t *random, double part)
{
    return drive_uniform(random) < part;
}

static double now(const driver *d)
{
    return (double)d->tick * STEP_S;
}

static bool over(const driver *d)
{
    return d->n >= d->room;
}

static double line(const driver *d, int gear)
{
    return 2 * PI * d->car->gear[gear - 1] * d->car->final_drive / d->car->circumference_m;
}

static double engine_torque(const driver *d)
{
    const double x = d->engine / d->car->limit_rad_s;
    const double full =
        d->car->torque_n_m * fmax(fmin(0.55 + 1.3 * x, 1) - 2.2 * fmax(x - 0.72, 0) * fmax(x - 0.72, 0) * 4, 0.1);
    const double drag = d->car->torque_n_m * (0.05 + 0.13 * x);
    const double open = d->engine > d->car->limit_rad_s * 1.02 ? 0 : d->throttle;
    double torque = open * (full + drag) - drag;
    if (d->engine < IDLE_RAD_S)
        torque += (IDLE_RAD_S - d->engine) * 3;
    return torque;
}

static void close_slip(driver *d)
{
    if (d->slipping && d->run->slips < DRIVE_SLIPS_MAX)
        d->run->slip[d->run->slips++] = d->slip;
    d->slipping = false;
}

/* Truth of slip: pedal up, on the line once since it was, and off it by half a percent. */
static void watch(driver *d, double torque)
{
    static const double off_1 = 0.004;
    const double on = d->gear > 0 ? line(d, d->gear) * d->wheel : 0;
    const double s = on > 20 ? d->engine / on - 1 : 0;
    if (d->gear == 0 || d->pedal > 0.02) {
        close_slip(d);
        d->locked_once = false;
        d->home_s = 0;
        return;
    }
    d->home_s += STEP_S;
    if (fabs(s) < 0.002)
        d->locked_once = true;
    if (s > off_1 && (d->slipping || d->throttle > 0.2)) {
        if (!d->slipping)
            d->slip =
                (drive_slip){.start_s = now(d), .gear = d->gear, .torque_n_m = torque, .began_off = !d->locked_once};
        d->slipping = true;
        d->slip.end_s = now(d);
        d->slip.peak_1 = fmax(d->slip.peak_1, s);
        d->slip.heat_j += torque * (d->engine - on) * STEP_S;
    } else if (s < off_1)
        close_slip(d);
    if (fabs(s) < 0.002)
        d->run->gear_s[d->gear] += STEP_S;
}

/* What the clutch holds, by pedal, heat and event. */
static double capacity_now(driver *d)
{
    const double bite = fmin(fmax((0.75 - d->pedal) / 0.5, 0), 1);
    double holds = d->capacity * fmax(1 - d->fade_1_k * d->plate, 0.85);
    const double torque = engine_torque(d),
                 s = d->gear > 0 && d->wheel > 2 ? d->engine / (line(d, d->gear) * d->wheel) - 1 : 0;
    if (d->phase == RISES) {
        holds = fmin(holds, torque * (1 - d->short_1));
        if (s > d->level_1 || now(d) > d->phase_until_s) {
            d->phase = HOLDS;
            d->phase_until_s = now(d) + (chance(&d->random, 0.5) ? between(&d->random, 0.05, 1.6) : 0.02);
        }
    } else if (d->phase == HOLDS) {
        holds = fmin(holds, torque * (1 + 2 * (s - d->level_1)) -
                                d->car->inertia_kg_m2 * line(d, d->gear > 0 ? d->gear : 1) * 1.0);
        if (now(d) > d->phase_until_s)
            d->phase = RECOVERS;
    } else if (d->phase == RECOVERS) {
        holds = fmin(holds, torque * (1 + d->short_1) + 10);
        if (s < 0.002)
            d->phase = GRIPS;
    }
    if (d->throttle < 0.3)
        d->phase = GRIPS;
    return bite * fmax(holds, 5);
}

static void keep(driver *d, double acceleration)
{
    if (d->tick++ % KEEP != 0 || d->n >= d->room)
        return;
    d->moments[d->n++] = (moment){.engine = (float)d->engine,
                                  .wheel = (float)d->wheel,
                                  .road = (float)d->road,
                                  .throttle = (float)d->throttle,
                                  .pedal = (float)d->pedal,
                                  .acceleration = (float)acceleration,
                                  .coolant = (float)d->coolant};
}

/* What the tyres pass when wheels and all that turns with them weigh so much at the road, and are driven so: creep in proportion to force, then spin. */
static double tyre_force(const driver *d, double turning_kg, double drive_n)
{
    const double slick = now(d) < d->slick_until_s ? d->slick_1 : 1, grip_n = d->grip_m_s2 * slick * d->car->mass_kg;
    const double stiff = d->grip_m_s2 * d->car->mass_kg / (d->creep * fmax(d->road, 8)), part = STEP_S / turning_kg;
    /* of the speed at the end of the step: stiff tyres would swing otherwise */
    const double force = stiff * (d->wheel + part * drive_n - d->road) / (1 + stiff * part);
    return fmin(fmax(force, -grip_n), grip_n);
}

/* One step of all masses. */
static void move(driver *d)
{
    static const double wheels_kg = 22, sticks_rad_s = 0.5, stiction_1 = 1.03, efficiency_1 = 0.95;
    const double mass = d->car->mass_kg, torque = engine_torque(d), lines = d->gear > 0 ? line(d, d->gear) : 0;
    const double inertia = d->car->inertia_kg_m2, holds = d->gear > 0 ? capacity_now(d) : 0;
    const double slope = d->slope_1[0] * sin(d->metres / 97) + d->slope_1[1] * sin(d->metres / 53 + 1);
    const double against =
        0.6 * d->car->drag_area_m2 * d->road * d->road + ((d->road > 0.1 ? 0.013 : 0) + slope) * mass * 9.81;
    const double off = d->engine - lines * d->wheel, heavy_kg = wheels_kg + inertia * lines * lines;
    double passed = off > 0 ? holds : -holds, tyre_n = tyre_force(d, heavy_kg, torque * lines * efficiency_1);
    double wheel_m_s2 = (torque * lines * efficiency_1 - tyre_n) / heavy_kg;
    const double stick = torque - inertia * lines * wheel_m_s2 / efficiency_1;
    d->locked = d->gear > 0 && fabs(off) < sticks_rad_s && fabs(stick) <= holds * stiction_1;
    if (d->locked)
        passed = stick;
    else {
        tyre_n = tyre_force(d, wheels_kg, passed * lines * efficiency_1);
        wheel_m_s2 = (passed * lines * efficiency_1 - tyre_n) / wheels_kg;
        d->engine = fmax(d->engine + (torque - passed) / inertia * STEP_S, 30);
    }
    const double before = d->road;
    d->wheel = fmax(d->wheel + wheel_m_s2 * STEP_S, 0);
    d->road = fmax(d->road + ((tyre_n - against) / mass - d->brake) * STEP_S, 0);
    const double left = d->engine - lines * d->wheel;
    if (d->locked || (d->gear > 0 && left * off < 0 && holds > fabs(torque)))
        d->engine = lines * d->wheel;
    const double heat_w = d->locked ? 0 : fabs(passed * off);
    d->plate += (heat_w / 3500 - d->plate / 150) * STEP_S;
    d->coolant += (363 - d->coolant) * STEP_S / 200;
    d->metres += d->road * STEP_S;
    watch(d, passed);
    keep(d, (d->road - before) / STEP_S);
}

/* Pedals towards where the driver wants them, within these times, and a step. */
static void work(driver *d, double throttle, double throttle_s, double brake, double pedal, double pedal_s)
{
    d->throttle += fmin(fmax(throttle - d->throttle, -STEP_S / throttle_s), STEP_S / throttle_s);
    d->brake += fmin(fmax(brake - d->brake, -30 * STEP_S), 30 * STEP_S);
    d->pedal += fmin(fmax(pedal - d->pedal, -STEP_S / pedal_s), STEP_S / pedal_s);
    d->gear_s += STEP_S;
    move(d);
}

static void change(driver *d, int to, double brake, double throttle_after)
{
    const bool down = to < d->gear;
    const double k = between(&d->random, 0.7, 1.5), floor_throttle = d->flat && !down ? d->throttle : 0;
    const double target_speed = line(d, to);
    d->run->shifts++;
    for (double t = 0; t < d->lift_s * k && !over(d); t += STEP_S)
        work(d, floor_throttle, 0.12, brake, 0, 0.1);
    for (double t = 0; t < d->press_s * k && !over(d); t += STEP_S)
        work(d, floor_throttle, 0.12, brake, 1, d->press_s * k);
    d->gear = 0;
    if (down && d->twice)
        for (double t = 0; t < 0.25 && !over(d); t += STEP_S)
            work(d, d->engine < target_speed * d->road ? 0.7 : 0, 0.08, brake, 0, 0.1);
    for (double t = 0; t < d->dwell_s * k && !over(d); t += STEP_S) {
        const bool blip = down && (d->heel || d->twice) && d->engine < target_speed * d->road * 1.02;
        work(d, blip ? 0.8 : floor_throttle, 0.07, brake, 1, 0.1);
    }
    if (down && (d->heel || d->twice))
        d->run->blips++;
    d->gear = to;
    d->gear_s = 0;
    const double release_s = d->release_s * k;
    for (double t = 0; t < release_s && !over(d); t += STEP_S)
        work(d, t > d->early_1 * release_s ? throttle_after * 0.7 : floor_throttle, 0.3, brake, 0, release_s);
    for (double t = 0; t < 0.02 && !over(d); t += STEP_S)
        work(d, throttle_after, 0.3, brake, 0, 0.05);
}

static int next_gear(const driver *d, int step)
{
    int gear = d->gear + step;
    if (gear == d->wish->without)
        gear += step;
    return gear;
}

/* What the road and the clutch do to a pull. */
static void meet(driver *d, bool corner)
{
    if (d->wish->wheelspin && d->gear <= (d->car->torque_n_m > 300 ? 3 : 2) && (corner || d->gear < 3) &&
        d->throttle > 0.8 && now(d) > d->slick_until_s + 2 && chance(&d->random, 0.0012)) {
        d->slick_until_s = now(d) + between(&d->random, 0.2, 0.8);
        d->slick_1 = between(&d->random, 0.35, 0.7);
        d->run->wheelspins++;
    }
    if (d->by_events && d->wish->slipping && d->phase == GRIPS && d->locked &&
        d->gear >= (d->wish->slips_from > 0 ? d->wish->slips_from : 3) && d->throttle > 0.6 && d->gear_s > 0.35 &&
        d->road > 8 && d->engine < 0.85 * d->car->limit_rad_s && chance(&d->random, 0.0006)) {
        d->phase = RISES;
        d->short_1 = 0.03 * pow(12, drive_uniform(&d->random));
        d->level_1 = between(&d->random, 0.05, 0.28);
        d->phase_until_s = now(d) + between(&d->random, 0.25, 2.5);
    }
}

static void pull(driver *d, double to_m_s, double throttle, double stroke_s, double up_1)
{
    const double began_s = now(d);
    bool lifting = false;
    while (d->road < to_m_s && now(d) - began_s < 40 && !over(d)) {
        const int up = next_gear(d, 1);
        const bool slips = d->gear > 0 && d->engine > 1.08 * line(d, d->gear) * d->wheel;
        const bool spins = d->wheel > 1.12 * d->road + 0.5;
        lifting = lifting || spins ||
                  (slips && chance(&d->random, d->engine > 1.3 * line(d, d->gear) * d->wheel ? 0.01 : 0.0004));
        if (lifting && !slips && d->wheel < 1.05 * d->road + 0.3)
            lifting = false;
        if (d->engine > up_1 * d->car->limit_rad_s && d->gear > 0) {
            if (up > d->car->gears || d->gear == d->car->gears) {
                if (d->gear >= d->car->gears && d->engine > 0.97 * d->car->limit_rad_s)
                    break;
            } else {
                change(d, up, 0, throttle);
                continue;
            }
        }
        work(d, lifting ? 0.15 : throttle, lifting ? 0.2 : stroke_s, 0, 0, 0.1);
        meet(d, now(d) - began_s < 2);
    }
}

static void cruise(driver *d, double seconds)
{
    const double want = d->road;
    const double until_s = now(d) + seconds;
    while (now(d) < until_s && !over(d)) {
        const int up = next_gear(d, 1);
        if (up <= d->car->gears && d->gear > 0 && d->engine > 0.55 * d->car->limit_rad_s && chance(&d->random, 0.001))
            change(d, up, 0, 0.25);
        work(d, fmin(fmax(0.22 + 0.4 * (want - d->road), 0.02), 0.6), 0.5, 0, 0, 0.1);
    }
}

static void slow(driver *d, double to_m_s, double brake, int least)
{
    double began_s = now(d);
    while (d->road > to_m_s && now(d) - began_s < 40 && !over(d)) {
        const int lower = next_gear(d, -1);
        /* trailing off the brake into the corner */
        const double trail = fmin(1, 0.35 + (d->road - to_m_s) / 6);
        const bool wanted = lower >= least && line(d, lower) * d->road < 0.72 * d->car->limit_rad_s &&
                            d->engine < 0.5 * d->car->limit_rad_s && d->gear_s > 0.4;
        const bool stalls = d->engine < 1.2 * IDLE_RAD_S && lower >= 1 && d->gear > 1;
        if (wanted || stalls)
            change(d, lower, brake * trail, 0.05);
        else
            work(d, 0, 0.15, brake * trail, d->gear == 1 && d->engine < 1.1 * IDLE_RAD_S ? 1 : 0, 0.2);
    }
    d->brake = 0;
}

/* Left foot on the brake, right foot on the throttle. */
static void both_feet(driver *d)
{
    const double until_s = now(d) + between(&d->random, 0.4, 1.5), brake = between(&d->random, 0.5, 2),
                 throttle = between(&d->random, 0.3, 0.8);
    while (now(d) < until_s && !over(d) && d->road > 8)
        work(d, throttle, 0.3, brake, 0, 0.1);
    while (d->brake > 0.05 && !over(d))
        work(d, throttle, 0.3, 0, 0, 0.1);
}

static void neutral(driver *d, double seconds)
{
    const int gear = d->gear;
    const double blip_s = now(d) + between(&d->random, 0.5, seconds), until_s = now(d) + seconds;
    for (double t = 0; t < 0.15 && !over(d); t += STEP_S)
        work(d, 0, 0.1, 0, 1, 0.12);
    d->gear = 0;
    while (now(d) < until_s && !over(d))
        work(d, now(d) > blip_s && now(d) < blip_s + 0.3 ? 0.7 : 0, 0.1, 0, 0, 0.2);
    for (double t = 0; t < 0.4 && !over(d); t += STEP_S)
        work(d, d->engine < line(d, gear) * d->road ? 0.6 : 0, 0.1, 0, 1, 0.1);
    d->gear = gear;
    d->gear_s = 0;
    for (double t = 0; t < 0.4 && !over(d); t += STEP_S)
        work(d, 0.1, 0.3, 0, 0, 0.4);
}

static void stop_and_launch(driver *d)
{
    double began_s = now(d);
    while (d->road > 0.05 && now(d) - began_s < 20 && !over(d))
        work(d, 0, 0.1, 4, 1, 0.2);
    began_s = now(d);
    const double wait_s = between(&d->random, 1, 8);
    d->gear = d->wish->without == 1 ? 2 : 1;
    while (now(d) - began_s < wait_s && !over(d))
        work(d, 0, 0.1, 4, 1, 0.2);
    const double rev = between(&d->random, 0.25, 0.6) * d->car->limit_rad_s, release_s = between(&d->random, 0.5, 2.2);
    for (double t = 0; t < 0.6 && !over(d); t += STEP_S)
        work(d, d->engine < rev ? 0.5 : 0.08, 0.2, 0, 1, 0.1);
    d->run->launches++;
    for (double t = 0; t < release_s && !over(d); t += STEP_S)
        work(d, 0.6, 0.6, 0, 0, release_s);
    began_s = now(d);
    while (!d->locked && now(d) - began_s < 3 && !over(d))
        work(d, 0.5, 0.6, 0, 0, 0.1);
    d->gear_s = 0;
}

static void lap(driver *d)
{
    const int least = d->wish->without == 1 ? 2 : 1;
    const double top = 0.9 * d->car->limit_rad_s / line(d, d->car->gears);
    while (!over(d)) {
        const double kind = drive_uniform(&d->random);
        if (kind < 0.12) {
            slow(d, 4, between(&d->random, 2, 5), least);
            stop_and_launch(d);
        }
        const double throttle = kind < 0.75 ? 1 : between(&d->random, 0.4, 0.9);
        const double up_1 = throttle == 1 ? between(&d->random, 0.84, 0.97) : between(&d->random, 0.5, 0.75);
        pull(d, fmin(between(&d->random, 28, 58), top), throttle, between(&d->random, 0.25, 1.3), up_1);
        if (chance(&d->random, 0.25))
            cruise(d, between(&d->random, 2, 12));
        if (chance(&d->random, 0.1))
            neutral(d, between(&d->random, 1.2, 4));
        if (chance(&d->random, 0.15))
            both_feet(d);
        slow(d, between(&d->random, 10, 24), between(&d->random, 2.5, 8.5), least + (chance(&d->random, 0.6) ? 1 : 0));
        cruise(d, between(&d->random, 0.6, 3.5));
    }
}

/* ---------------------------------------------------------------- the logger */

typedef struct sensor {
    double fresh_s, next_s, held; /* news every so often */
    double late_s, filter_s, coloured, coloured_s, white, step;
    bool cut;
    double drift;        /* the coloured noise now */
    double gone_until_s; /* a dropout: the value is held */
} sensor;

static double read_sensor(sensor *r, double value, double at_s, double since_s, uint64_t *random)
{
    if (r->coloured > 0) {
        const double part = exp(-since_s / r->coloured_s);
        r->drift = part * r->drift + sqrt(1 - part * part) * r->coloured * drive_normal(random);
    }
    if (at_s < r->next_s - 1e-9 || at_s < r->gone_until_s)
        return r->held;
    if (r->fresh_s > 0)
        r->next_s = fmax(r->next_s + r->fresh_s, at_s - r->fresh_s);
    double v = value + r->drift + r->white * drive_normal(random);
    if (r->step > 0)
        v = r->step * (r->cut ? floor(v / r->step + 1e-9) : rint(v / r->step));
    r->held = v;
    return v;
}

static double past(const driver *d, double at_s, double late_s, bool driven)
{
    const double place = fmax(at_s - late_s, 0) / (STEP_S * KEEP);
    const size_t i = (size_t)fmin(place, (double)d->n - 1);
    return driven ? d->moments[i].wheel : d->moments[i].road;
}

static void choose_logger(driver *d, drive_options *o, second_told *told, sensor *road, sensor *engine)
{
    static const double rates[] = {10, 20, 25, 50, 100}, steps_rpm[] = {0, 1, 1, 10, 25, 50};
    uint64_t *r = &d->random;
    drive_logger *l = &o->logger;
    l->rate_hz = d->wish->rate_hz > 0 ? d->wish->rate_hz : rates[(int)(5 * drive_uniform(r))];
    l->road_gain = between(r, 0.97, 1.04);
    const double source = drive_uniform(r);
    told->source = source < 0.4 ? SECOND_SATELLITE : source < 0.75 ? SECOND_FREE_WHEEL : SECOND_DRIVEN_WHEEL;
    if (d->wish->source != SECOND_BY_SEED)
        told->source = d->wish->source;
    told->engine_step_rpm = steps_rpm[(int)(6 * drive_uniform(r))];
    *engine = (sensor){.white = between(r, 0, 10) * RPM,
                       .step = told->engine_step_rpm * RPM,
                       .late_s = chance(r, 0.3) ? between(r, 0, 0.12) : 0};
    if (told->source == SECOND_SATELLITE) {
        l->road_gain = 1;
        *road = (sensor){.fresh_s = chance(r, 0.7) ? 0.1 : 0.05,
                         .late_s = between(r, 0.2, 0.7),
                         .coloured = between(r, 0.01, 0.08),
                         .coloured_s = between(r, 0.5, 3),
                         .white = between(r, 0.01, 0.06)};
    } else {
        told->polled = l->rate_hz <= 20 && chance(r, 0.3);
        const double kind = drive_uniform(r);
        *road = (sensor){.late_s = between(r, 0, 0.25),
                         .white = between(r, 0, 0.05),
                         .filter_s = chance(r, 0.3) ? between(r, 0.05, 0.25) : 0};
        road->step = kind < 0.35 ? 1 / 3.6 : kind < 0.7 ? 0.1 / 3.6 : kind < 0.85 ? 0.1 * 0.44704 : 0;
        road->cut = chance(r, 0.5);
        if (kind < 0.35)
            road->white = 0;
        if (told->polled) {
            road->fresh_s = between(r, 0.15, 0.3);
            engine->fresh_s = between(r, 0.15, 0.3);
        }
    }
    l->throttle = chance(r, 0.7);
    l->clutch = chance(r, 0.3);
    l->temperature = chance(r, 0.5);
    l->road_fresh_hz = road->fresh_s > 0 ? 1 / road->fresh_s : 0;
    l->road_lag_s = road->late_s;
    l->road_filter_s = road->filter_s;
    l->engine_lag_s = engine->late_s;
    l->road_noise_m_s = hypot(road->white, road->coloured);
    l->road_step_m_s = road->step > 0.1 ? road->step : 0;
    l->road_cut = road->cut;
}

static bool write_log(driver *d, drive_options *o, second_told *told, drive_run *run)
{
    sensor road, engine;
    choose_logger(d, o, told, &road, &engine);
    const drive_logger *l = &o->logger;
    const size_t rows = (size_t)((double)d->n * STEP_S * KEEP * l->rate_hz);
    double **const columns[] = {&run->time_s,     &run->engine_rad_s,      &run->road_m_s,
                                &run->throttle_1, &run->acceleration_m_s2, &run->coolant_k,
                                &run->clutch_1,   &run->driven_m_s};
    for (size_t c = 0; c < sizeof columns / sizeof columns[0]; c++) {
        *columns[c] = malloc((rows + 1) * sizeof **columns[c]);
        if (*columns[c] == NULL)
            return false;
    }
    uint64_t r = d->wish->seed ^ 0x5EC0D;
    const bool driven = told->source == SECOND_DRIVEN_WHEEL;
    const double least = between(&r, 0, 0.17), most = between(&r, 0.8, 1), switch_at = between(&r, 0.1, 0.4),
                 since_s = 1 / l->rate_hz;
    double slow = d->moments[0].road;
    size_t filtered = 0;
    for (size_t i = 0; i < rows; i++) {
        const double at_s = (double)i / l->rate_hz;
        const size_t k = (size_t)fmin(at_s / (STEP_S * KEEP), (double)d->n - 1);
        double speed = past(d, at_s, road.late_s, driven);
        if (road.filter_s > 0) {
            for (; (double)filtered * STEP_S * KEEP <= at_s && filtered < d->n; filtered++)
                slow += (past(d, (double)filtered * STEP_S * KEEP, road.late_s, driven) - slow) * STEP_S * KEEP /
                        (road.filter_s + STEP_S * KEEP);
            speed = slow;
        }
        const size_t e = (size_t)(fmax(at_s - engine.late_s, 0) / (STEP_S * KEEP));
        if (told->source == SECOND_SATELLITE && chance(&r, 0.008 / l->rate_hz))
            road.gone_until_s = at_s + between(&r, 0.4, 2.0);
        /* tyres grow with the square of speed */
        const double grown = told->source == SECOND_SATELLITE ? 1 : 1 - told->growth_1 * speed * speed / 3600;
        run->time_s[i] = at_s;
        run->engine_rad_s[i] =
            fmax(read_sensor(&engine, d->moments[e < d->n ? e : d->n - 1].engine, at_s, since_s, &r), 0);
        run->road_m_s[i] = fmax(read_sensor(&road, speed * grown * l->road_gain, at_s, since_s, &r), 0);
        run->throttle_1[i] = l->throttle ? least + (most - least) * d->moments[k].throttle : NAN;
        run->acceleration_m_s2[i] = NAN;
        run->coolant_k[i] = l->temperature ? rint(d->moments[k].coolant) : NAN;
        run->clutch_1[i] = l->clutch ? d->moments[k].pedal > switch_at : NAN;
        run->driven_m_s[i] = NAN;
    }
    run->n = rows;
    return true;
}

/* ---------------------------------------------------------------- the whole */

static void choose(driver *d, drive_options *o, second_told *told)
{
    uint64_t *r = &d->random;
    told->wet = chance(r, 0.15);
    d->creep = d->wish->creep ? between(r, 0.015, 0.04) : 0.0015;
    d->grip_m_s2 = (told->wet ? 3.4 : 5.6) * between(r, 0.9, 1.1);
    told->creep_1 = d->creep;
    told->growth_1 = chance(r, 0.3) ? between(r, 0, 0.003) : 0;
    d->slope_1[0] = chance(r, 0.5) ? between(r, 0, 0.035) : 0;
    d->slope_1[1] = d->slope_1[0] * 0.4;
    d->capacity = d->car->torque_n_m * between(r, 1.35, 1.8);
    d->by_events = chance(r, 0.6);
    if (d->wish->slipping && !d->by_events) {
        d->capacity = d->car->torque_n_m * between(r, 0.78, 0.96);
        d->fade_1_k = chance(r, 0.5) ? between(r, 0, 0.0012) : 0;
    }
    d->lift_s = between(r, 0.03, 0.15);
    d->press_s = between(r, 0.05, 0.15);
    d->dwell_s = between(r, 0.05, 0.4);
    d->release_s = between(r, 0.08, 0.4);
    d->early_1 = between(r, 0, 0.9);
    d->flat = chance(r, 0.1) || d->wish->flat;
    d->heel = chance(r, 0.6);
    d->twice = chance(r, 0.15);
    *o = (drive_options){.seed = d->wish->seed,
                         .car = d->car,
                         .seconds = d->wish->seconds,
                         .slipping = d->wish->slipping,
                         .wheelspin = d->wish->wheelspin,
                         .capacity_1 = d->wish->slipping && !d->by_events ? d->capacity / d->car->torque_n_m : 0};
}

bool second_drive(const second_wish *wish, drive_options *options, second_told *told, drive_run *run)
{
    *run = (drive_run){0};
    *told = (second_told){0};
    driver d = {.wish = wish,
                .car = &cars[wish->seed % DRIVE_CARS],
                .run = run,
                .random = wish->seed * 0x9E3779B97F4A7C15U + 1,
                .coolant = 335};
    d.room = (size_t)(wish->seconds / (STEP_S * KEEP));
    d.moments = malloc((d.room + 1) * sizeof *d.moments);
    if (d.moments == NULL)
        return false;
    choose(&d, options, told);
    d.engine = IDLE_RAD_S;
    d.gear = 1;
    stop_and_launch(&d);
    lap(&d);
    close_slip(&d);
    const bool written = write_log(&d, options, told, run);
    for (int g = 1; g <= d.car->gears; g++)
        run->line_rad_m[g] = line(&d, g) / options->logger.road_gain;
    free(d.moments);
    if (!written)
        drive_run_free(run);
    return written;
}

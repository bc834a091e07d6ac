/* Short runs put together from pieces, and what a logger makes of them. */
#include "drive_course.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

static const double STEP_S = 0.01;
enum { STEPS_MAX = 20000 };

/* Each moment as it was, before a logger saw it. */
typedef struct truth {
    float engine_rad_s, road_m_s, sensor_m_s, driven_m_s, throttle_1, clutch_1, acceleration_m_s2;
} truth;

typedef enum course_style {
    STYLE_MIXED,  /* whatever there is */
    STYLE_PLAIN,  /* pulls and shifts alone */
    STYLE_LOST,   /* a clutch that slips at every pull */
    STYLE_DRIFTS, /* some pulls on no line at all */
    STYLE_CRUISE, /* hardly a pull */
    STYLES
} course_style;

typedef struct course {
    uint64_t random;
    course_style style;
    drive_box box;
    truth moment[STEPS_MAX];
    size_t n, room;
    double road_m_s, engine_rad_s, limit_rad_s, strength_m_s2;
    int gear; /* from 0 */
} course;

static double between(uint64_t *state, double low, double high)
{
    return low + (high - low) * drive_uniform(state);
}

static bool chance(uint64_t *state, double share)
{
    return drive_uniform(state) < share;
}

static bool over(const course *c)
{
    return c->n >= c->room;
}

static double line(const course *c)
{
    return c->box.line_rad_m[c->gear];
}

/* One step: the road by its acceleration, the engine as told; `wheels_1` and `sensor_1`: the driven wheels and the speed sensor off the road, relative. */
static void step(course *c, double acceleration_m_s2, double engine_rad_s, double throttle_1, double clutch_1,
                 double wheels_1, double sensor_1)
{
    if (over(c))
        return;
    c->road_m_s = fmax(c->road_m_s + acceleration_m_s2 * STEP_S, 0);
    c->engine_rad_s = engine_rad_s;
    c->moment[c->n++] = (truth){.engine_rad_s = (float)engine_rad_s,
                                .road_m_s = (float)c->road_m_s,
                                .sensor_m_s = (float)(c->road_m_s * (1 + sensor_1)),
                                .driven_m_s = (float)(c->road_m_s * (1 + wheels_1)),
                                .throttle_1 = (float)throttle_1,
                                .clutch_1 = (float)clutch_1,
                                .acceleration_m_s2 = (float)acceleration_m_s2};
}

/* What full throttle gives in the gear of the moment. */
static double pull_m_s2(const course *c, double throttle_1)
{
    return throttle_1 * c->strength_m_s2 * line(c) / c->box.line_rad_m[0] - 0.0004 * c->road_m_s * c->road_m_s - 0.13;
}

/* From 0 to 1 and back over a share 0 to 1 of the time. */
static double shape_at(int shape, double share)
{
    switch (shape) {
    case 0: return sin(PI * share);
    case 1: return fmin(fmin(share / 0.15, 1), (1 - share) / 0.1);
    case 2: return share < 0.85 ? share / 0.85 : (1 - share) / 0.15;
    default: return share < 0.1 ? share / 0.1 : (1 - share) / 0.9;
    }
}

typedef enum event {
    EVENT_NONE,
    EVENT_SLIP,      /* the clutch lets go, the car pulls on */
    EVENT_LIFTED,    /* and the foot lifts before it is over */
    EVENT_CHANGE,    /* and a change of gear ends it */
    EVENT_WHEELS,    /* the driven wheels run ahead */
    EVENT_SENSOR,    /* road speed drops by itself */
    EVENT_KICK,      /* the clutch pressed with the throttle open */
    EVENT_BLIP,      /* the throttle opens with the engine running ahead, not before */
    EVENT_SWITCHLESS /* as the kick, with a switch that does not say so */
} event;

/* An event in the gear of the moment, the car pulling before and after it. */
static void happen(course *c, event kind, double throttle_1)
{
    uint64_t *r = &c->random;
    const bool near = chance(r, 0.6); /* the limits of size and time */
    const double peak_1 = near ? between(r, 0.02, 0.07) : between(r, 0.05, 0.35),
                 seconds = near ? between(r, 0.15, 0.9) : between(r, 0.4, 3), kept_1 = between(r, 0.2, 1),
                 lifts = between(r, 0.3, 1);
    const int shape = (int)(4 * drive_uniform(r));
    const bool rolls = kind == EVENT_KICK || kind == EVENT_SWITCHLESS;
    for (double t = 0; t < seconds && !over(c); t += STEP_S) {
        const double share = t / seconds, ahead_1 = peak_1 * shape_at(shape, share);
        if (line(c) * c->road_m_s * (1 + ahead_1) > 1.08 * c->limit_rad_s)
            break;
        const bool lifted = (kind == EVENT_LIFTED && share > lifts) || (kind == EVENT_BLIP && share < 0.1);
        const double foot_1 = lifted ? 0 : throttle_1, pulled = pull_m_s2(c, lifted ? 0.3 : throttle_1);
        const double a = rolls ? -0.4 + 0.3 * kept_1 : kind == EVENT_SLIP ? pulled * kept_1 : pulled;
        const double engine = line(c) * c->road_m_s * (kind == EVENT_SENSOR ? 1 : 1 + ahead_1);
        step(c, a, engine, foot_1, kind == EVENT_KICK ? 1 : 0, kind == EVENT_WHEELS ? ahead_1 : 0,
             kind == EVENT_SENSOR ? -ahead_1 : 0);
        if (kind == EVENT_CHANGE && share > 0.7)
            break;
    }
}

static void locked(course *c, double acceleration_m_s2, double throttle_1)
{
    step(c, acceleration_m_s2, line(c) * c->road_m_s, throttle_1, 0, 0, 0);
}

/* To another gear; flat: with the foot on the throttle. */
static void change(course *c, int to, bool flat)
{
    uint64_t *r = &c->random;
    const double open_s = between(r, 0.15, 0.5), close_s = between(r, 0.06, 0.3);
    const double flare_1 = flat ? between(r, 0.02, 0.15) : -0.1, from_rad_s = c->engine_rad_s;
    for (double t = 0; t < open_s && !over(c); t += STEP_S)
        step(c, -0.4, from_rad_s * (1 + flare_1 * t / open_s), flat ? 0.95 : 0.05, 1, 0, 0);
    c->gear = to;
    const double off_1 = c->engine_rad_s / (line(c) * fmax(c->road_m_s, 0.5)) - 1;
    for (double t = 0; t < close_s && !over(c); t += STEP_S)
        step(c, 0.4, line(c) * c->road_m_s * (1 + off_1 * (1 - t / close_s)), flat ? 0.95 : 0.3, 0.4, 0, 0);
}

static event drawn_event(course *c)
{
    if (c->style == STYLE_PLAIN || c->style == STYLE_CRUISE || !chance(&c->random, 0.7))
        return EVENT_NONE;
    return chance(&c->random, 0.5) ? EVENT_SLIP : (event)(1 + (int)(8 * drive_uniform(&c->random)));
}

/* A ratio that wanders while the car pulls. */
static void wander(course *c, double seconds)
{
    const double by_1 = between(&c->random, -0.3, 0.5);
    for (double t = 0; t < seconds && !over(c); t += STEP_S)
        step(c, pull_m_s2(c, 0.7), line(c) * c->road_m_s * (1 + by_1 * t / seconds), 0.7, 0, 0, 0);
}

/* A clutch that slips all the while it is pulled. */
static void pull_slipping(course *c, double seconds)
{
    const double ahead_1 = between(&c->random, 0.08, 0.4), wave_s = between(&c->random, 1, 4);
    for (double t = 0; t < seconds && !over(c) && c->engine_rad_s < c->limit_rad_s; t += STEP_S)
        step(c, pull_m_s2(c, 0.6),
             line(c) * c->road_m_s * (1 + ahead_1 * fmin(t / 0.2, 1) * (0.75 + 0.25 * sin(2 * PI * t / wave_s))), 0.9,
             0, 0, 0);
}

static void pull(course *c)
{
    uint64_t *r = &c->random;
    const double seconds = between(r, 0.6, 4.5), throttle_1 = chance(r, 0.8) ? 0.95 : between(r, 0.25, 0.7);
    const double at_s = between(r, 0.1, 0.8) * seconds;
    const event kind = drawn_event(c);
    if (c->style == STYLE_LOST && chance(r, 0.9)) {
        pull_slipping(c, seconds);
        return;
    }
    if (c->style == STYLE_DRIFTS && chance(r, 0.45)) {
        wander(c, seconds);
        return;
    }
    bool done = kind == EVENT_NONE;
    for (double t = 0; t < seconds && !over(c) && c->engine_rad_s < c->limit_rad_s; t += STEP_S) {
        locked(c, pull_m_s2(c, throttle_1), throttle_1);
        if (!done && t >= at_s) {
            happen(c, kind, throttle_1);
            done = true;
        }
    }
    if (kind == EVENT_CHANGE && c->gear + 1 < c->box.gears)
        change(c, c->gear + 1, chance(r, 0.5));
}

static void cruise(course *c, double seconds)
{
    for (double t = 0; t < seconds && !over(c); t += STEP_S)
        locked(c, 0.25 * sin(1.3 * t), 0.25);
}

/* By the engine alone, or by the brakes. */
static void slow(course *c, double to_rad_s)
{
    const double a = chance(&c->random, 0.5) ? between(&c->random, -1, -0.45) : between(&c->random, -7, -2);
    while (line(c) * c->road_m_s > to_rad_s && !over(c))
        locked(c, a, 0);
}

static void stand(course *c)
{
    while (c->road_m_s > 0 && !over(c))
        step(c, -3.5, 90, 0, 1, 0, 0);
    for (double t = between(&c->random, 0.3, 3); t > 0; t -= STEP_S)
        step(c, 0, 90, 0, 1, 0, 0);
    c->gear = 0;
    const double slips_s = between(&c->random, 0.8, 2);
    for (double t = 0; t < slips_s && !over(c); t += STEP_S)
        step(c, 3.5, fmax(300 - 60 * t / slips_s, line(c) * c->road_m_s), 0.6, 0.5, 0, 0);
    while (line(c) * c->road_m_s < 220 && !over(c))
        locked(c, 3.5, 0.8);
}

static void drive_on(course *c)
{
    uint64_t *r = &c->random;
    const double top_m_s = 0.9 * c->limit_rad_s / c->box.line_rad_m[c->box.gears - 1];
    while (!over(c)) {
        pull(c);
        if (c->style == STYLE_CRUISE || chance(r, 0.15))
            cruise(c, between(r, 1, c->style == STYLE_CRUISE ? 12 : 5));
        if (c->engine_rad_s > 0.75 * c->limit_rad_s && c->gear + 1 < c->box.gears)
            change(c, c->gear + 1, chance(r, 0.15));
        else if (c->road_m_s > top_m_s || chance(r, 0.3)) {
            slow(c, between(r, 0.3, 0.5) * c->limit_rad_s);
            if (c->gear > 1 && line(c) * c->road_m_s < 0.55 * c->limit_rad_s)
                change(c, c->gear - 1, false);
        }
        if (chance(r, 0.06))
            stand(c);
    }
}

/* What the logger makes of the truth. */
typedef struct logger {
    double rate_hz, road_fresh_hz, engine_fresh_hz, lag_s, road_step_m_s, engine_step_rad_s, road_noise_m_s,
        engine_noise_rad_s;
    bool cut, throttle, clutch, driven, gps, temperature, oil, breaks, second_segment;
} logger;

static const double RATES_HZ[] = {20, 10, 25, 5, 50, 12.5, 100, 20, 8, 30, 4, 10, 2, 20, 1};
static const double STEPS_M_S[] = {0, 1 / 3.6, 0, 0.44704, 0, 0.5 / 3.6, 0, 0.22352, 0, 0};

/* Drawn one after the other: in what order the values of a list are computed is the compiler's affair. */
static logger drawn_logger(uint64_t seed, uint64_t *r)
{
    logger l = {.rate_hz = RATES_HZ[seed % (sizeof RATES_HZ / sizeof RATES_HZ[0])],
                .road_step_m_s = STEPS_M_S[seed % (sizeof STEPS_M_S / sizeof STEPS_M_S[0])]};
    l.lag_s = chance(r, 0.7) ? between(r, -0.3, 0.8) : 0;
    l.cut = chance(r, 0.5);
    l.throttle = chance(r, 0.75);
    l.clutch = chance(r, 0.35);
    l.driven = chance(r, 0.2);
    l.gps = chance(r, 0.2);
    l.temperature = chance(r, 0.6);
    l.oil = chance(r, 0.3);
    l.breaks = chance(r, 0.35);
    l.second_segment = chance(r, 0.1);
    l.road_fresh_hz = chance(r, 0.35) ? l.rate_hz / between(r, 1.3, 5) : 0;
    l.engine_fresh_hz = chance(r, 0.2) ? l.rate_hz / between(r, 1.3, 4) : 0;
    l.engine_step_rad_s = chance(r, 0.25) ? 50 * PI / 30 : 0;
    l.road_noise_m_s = l.road_step_m_s == 0 && chance(r, 0.6) ? between(r, 0.01, 0.15) : 0;
    l.engine_noise_rad_s = chance(r, 0.6) ? between(r, 0.1, 1.5) : 0;
    return l;
}

static double in_steps(double x, double step_size, bool cut)
{
    if (!(step_size > 0))
        return x;
    return step_size * (cut ? floor(x / step_size + 1e-9) : rint(x / step_size));
}

static const truth *moment_at(const course *c, double at_s)
{
    return &c->moment[(size_t)fmin(fmax(at_s, 0) / STEP_S, (double)c->n - 1)];
}

/* A value that is held until there is news of it. */
typedef struct held {
    double value, next_s, every_s;
} held;

static bool has_news(held *h, double at_s)
{
    if (at_s < h->next_s - 1e-9)
        return false;
    h->next_s = h->every_s > 0 ? h->next_s + h->every_s : at_s;
    return true;
}

static void write_rows(const course *c, const logger *l, uint64_t *r, drive_rows *rows)
{
    held road = {.every_s = l->road_fresh_hz > 0 ? 1 / l->road_fresh_hz : 0},
         engine = {.every_s = l->engine_fresh_hz > 0 ? 1 / l->engine_fresh_hz : 0};
    const double all_s = (double)c->n * STEP_S;
    rows->n = 0;
    for (size_t i = 0; (double)i / l->rate_hz < all_s && rows->n < DRIVE_COURSE_ROWS; i++) {
        const double at_s = (double)i / l->rate_hz;
        const size_t row = rows->n++;
        const truth *m = moment_at(c, at_s), *late = moment_at(c, at_s - l->lag_s);
        if (has_news(&road, at_s))
            road.value =
                in_steps(fmax(late->sensor_m_s + l->road_noise_m_s * drive_normal(r), 0), l->road_step_m_s, l->cut);
        if (has_news(&engine, at_s))
            engine.value = in_steps(m->engine_rad_s + l->engine_noise_rad_s * drive_normal(r), l->engine_step_rad_s, 0);
        const double gps_off_m_s = 0.03 * drive_normal(r), driven_off_1 = 0.002 * drive_normal(r);
        const double value[CH_DRIVELOG_CHANNELS_] = {
            [CH_DRIVELOG_TIME] = at_s,
            [CH_DRIVELOG_ENGINE] = engine.value,
            [CH_DRIVELOG_ROAD] = road.value,
            [CH_DRIVELOG_THROTTLE] = l->throttle ? 0.14 + 0.84 * (double)m->throttle_1 : NAN,
            [CH_DRIVELOG_ACCELERATION] = l->throttle ? NAN : m->acceleration_m_s2,
            [CH_DRIVELOG_COOLANT] = l->temperature ? 340 + 0.2 * at_s : NAN,
            [CH_DRIVELOG_OIL] = l->oil ? 330 + 0.3 * at_s : NAN,
            [CH_DRIVELOG_CLUTCH] = l->clutch ? m->clutch_1 : NAN,
            [CH_DRIVELOG_GPS] = l->gps ? late->road_m_s + gps_off_m_s : NAN,
            [CH_DRIVELOG_DRIVEN] = l->driven ? m->driven_m_s * (1 + driven_off_1) : NAN,
        };
        for (int k = 0; k < CH_DRIVELOG_CHANNELS_; k++)
            rows->channel[k][row] = value[k];
    }
    rows->segment_from = rows->n;
}

/* Stretches of `n` rows: road speed repeated, or values that cannot be read, or rows that are none. */
static void spoil(drive_rows *rows, double rate_hz, uint64_t *r)
{
    for (int times = 0; times < 3; times++) {
        const size_t most = (size_t)fmax(2, between(r, 0.2, 3.5) * rate_hz),
                     from = 1 + (size_t)(drive_uniform(r) * (double)rows->n * 0.8),
                     kind = (size_t)(4 * drive_uniform(r));
        const size_t to = from + most < rows->n ? from + most : rows->n;
        if (kind == 3) {
            for (int k = 0; k < CH_DRIVELOG_CHANNELS_; k++)
                memmove(rows->channel[k] + from, rows->channel[k] + to, (rows->n - to) * sizeof(double));
            rows->n -= to - from;
            continue;
        }
        static const ch_drivelog_channel unread[] = {CH_DRIVELOG_ROAD, CH_DRIVELOG_ENGINE, CH_DRIVELOG_THROTTLE};
        for (size_t i = from; i < to; i++)
            if (kind == 0)
                rows->channel[CH_DRIVELOG_ROAD][i] = rows->channel[CH_DRIVELOG_ROAD][from - 1];
            else if ((i - from) % 3 == 0 || times == 2)
                rows->channel[unread[kind]][i] = NAN;
    }
    rows->segment_from = rows->n;
}

/* Lines as boxes have them, the steps between gears falling from some 1.7 to some 1.2. */
static drive_box drawn_box(uint64_t seed, uint64_t *r)
{
    drive_box box = {.gears = 1 + (int)(seed * 5 % 7)};
    box.gears += box.gears < 3 && chance(r, 0.7) ? 3 : 0;
    box.line_rad_m[0] = between(r, 32, 55);
    double ratio = between(r, 1.5, 1.9);
    for (int g = 1; g < box.gears; g++) {
        box.line_rad_m[g] = box.line_rad_m[g - 1] / ratio;
        ratio = 1 + (ratio - 1) * between(r, 0.6, 0.9);
    }
    return box;
}

/* Some seven hundred rows, and no less than fifteen seconds. */
static double drawn_seconds(double rate_hz, uint64_t *r)
{
    const double rows = between(r, 400, 900), least_s = between(r, 15, 30);
    return fmin(fmax(rows / rate_hz, least_s), 150);
}

void drive_course(uint64_t seed, drive_rows *rows, drive_box *box)
{
    static course c;
    uint64_t random = seed * 7919 + 17;
    const logger l = drawn_logger(seed, &random);
    c.random = seed;
    c.style = chance(&random, 0.6) ? STYLE_MIXED : (course_style)(seed % STYLES);
    c.box = drawn_box(seed, &random);
    c.n = 0;
    c.room = (size_t)(drawn_seconds(l.rate_hz, &random) / STEP_S);
    c.limit_rad_s = between(&random, 560, 760);
    c.strength_m_s2 = between(&random, 3.5, 7.5);
    c.gear = c.box.gears > 2 ? 2 : 0;
    c.road_m_s = between(&random, 0.35, 0.6) * c.limit_rad_s / c.box.line_rad_m[c.gear];
    c.engine_rad_s = c.box.line_rad_m[c.gear] * c.road_m_s;
    drive_on(&c);
    write_rows(&c, &l, &random, rows);
    if (l.breaks)
        spoil(rows, l.rate_hz, &random);
    if (l.second_segment)
        rows->segment_from = rows->n / 2;
    if (box != NULL)
        *box = c.box;
}

bool drive_lap(uint64_t seed, drive_rows *rows, const drive_car **car)
{
    uint64_t random = seed * 104729 + 5;
    const logger l = drawn_logger(seed, &random);
    drive_options o = {.seed = seed,
                       .car = &drive_cars[seed % DRIVE_CARS],
                       .logger = {.rate_hz = fmax(l.rate_hz, 4),
                                  .road_fresh_hz = l.road_fresh_hz,
                                  .engine_fresh_hz = l.engine_fresh_hz,
                                  .road_lag_s = fmax(l.lag_s, 0),
                                  .engine_lag_s = fmax(-l.lag_s, 0),
                                  .road_step_m_s = l.road_step_m_s,
                                  .road_cut = l.cut,
                                  .engine_step_rad_s = l.engine_step_rad_s,
                                  .road_noise_m_s = l.road_noise_m_s,
                                  .engine_noise_rad_s = l.engine_noise_rad_s,
                                  .throttle = l.throttle,
                                  .acceleration = !l.throttle,
                                  .temperature = l.temperature,
                                  .clutch = l.clutch,
                                  .driven = l.driven},
                       .automatic = seed % 13 == 12};
    o.logger.road_filter_s = seed % 4 == 1 ? between(&random, 0.05, 0.4) : 0;
    o.logger.road_gain = seed % 3 == 0 ? between(&random, 0.94, 1.06) : 1;
    o.seconds = drawn_seconds(o.logger.rate_hz, &random) + 15;
    o.slipping = chance(&random, 0.7);
    o.capacity_1 = chance(&random, 0.5) ? between(&random, 0.6, 0.95) : 0;
    o.slips_from = chance(&random, 0.4) ? 1 + (int)(3 * drive_uniform(&random)) : 0;
    o.wheelspin = chance(&random, 0.5);
    o.corner_spin = chance(&random, 0.3);
    o.low_gear = chance(&random, 0.5);
    drive_run run;
    if (!drive(&o, &run))
        return false;
    const double *const told[CH_DRIVELOG_CHANNELS_] = {
        [CH_DRIVELOG_TIME] = run.time_s,       [CH_DRIVELOG_ENGINE] = run.engine_rad_s,
        [CH_DRIVELOG_ROAD] = run.road_m_s,     [CH_DRIVELOG_THROTTLE] = run.throttle_1,
        [CH_DRIVELOG_COOLANT] = run.coolant_k, [CH_DRIVELOG_ACCELERATION] = run.acceleration_m_s2,
        [CH_DRIVELOG_CLUTCH] = run.clutch_1,   [CH_DRIVELOG_DRIVEN] = run.driven_m_s};
    rows->n = run.n < DRIVE_COURSE_ROWS ? run.n : DRIVE_COURSE_ROWS;
    for (int k = 0; k < CH_DRIVELOG_CHANNELS_; k++)
        for (size_t i = 0; i < rows->n; i++)
            rows->channel[k][i] = told[k] != NULL ? told[k][i] : NAN;
    rows->segment_from = rows->n;
    drive_run_free(&run);
    if (l.breaks)
        spoil(rows, o.logger.rate_hz, &random);
    *car = o.car;
    return true;
}

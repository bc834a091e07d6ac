/*
 * Promises of driveline/gears.c on signals made by hand, in which the seconds that lie on each ratio can be counted: what is a gear and what is none, its line, and what of lag and
 * creep is found with it, each limit from both sides.
 */
#include "fail_alloc.h"
#include "gear_pieces.h"

/* Whether a line is found beside the three. */
static bool is_found(const piece *more, size_t n, double at)
{
    begin_with_three();
    for (size_t k = 0; k < n; k++)
        add(&more[k]);
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
    for (size_t g = 0; g < found.gears; g++)
        if (fabs(log(found.gear[g].line_rad_m) - at) < 0.004)
            return true;
    return false;
}

static bool is_found_alone(double seconds, double at)
{
    const double from_m_s = fmax(12, 70 / exp(at));
    const piece more = {seconds, at, from_m_s, 1.6 * from_m_s, 1.5, 0};
    return is_found(&more, 1, at);
}

static void a_gear_is_driven_for_a_second_the_lowest_for_less(void **state)
{
    (void)state;
    assert_true(is_found_alone(1.05, 2.1));
    assert_false(is_found_alone(0.95, 2.1));
    /* first is left soon: 0.8 s where it lies 0.22 above all others */
    assert_true(is_found_alone(0.85, 3.9));
    assert_false(is_found_alone(0.75, 3.9));
    assert_true(is_found_alone(0.9, 3.735));
    assert_false(is_found_alone(0.9, 3.705));
    /* between 8 and 345 rpm for each km/h, 3 and 130 rad/m */
    assert_true(is_found_alone(5, log(3.1)));
    assert_false(is_found_alone(5, log(2.9)));
    assert_true(is_found_alone(5, log(127)));
    assert_false(is_found_alone(5, log(133)));
    /* in the first and the last cell of 0.002 that is counted */
    assert_true(is_found_alone(5, log(3.003)));
    assert_true(is_found_alone(5, log(130.8)));
    /* 0.1 apart from the others */
    assert_true(is_found_alone(5, 2.55 - 0.105));
    assert_false(is_found_alone(5, 2.55 - 0.095));
    assert_false(is_found_alone(5, 2.55 - 0.085));
}

static void a_gear_stands_out_from_what_is_around_it(void **state)
{
    (void)state;
    /* within 0.02 of it is most of what is within 0.1: 55 % */
    piece two[] = {{2, 2.1, 12, 20, 1.5, 0}, {1.55, 2.04, 12, 20, 1.5, 0}};
    assert_true(is_found(two, 2, 2.1)); /* 56.3 % */
    two[1].steady_s = 1.75;
    assert_false(is_found(two, 2, 2.1)); /* 53.3 % */
    two[1].ratio = 2.16;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.095;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.105;
    assert_true(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 + 0.095;
    assert_false(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 + 0.105;
    assert_true(is_found(two, 2, 2.1));
    two[1].ratio = 2.1 - 0.023; /* no part of it any more */
    assert_false(is_found(two, 2, 2.1));
    /* above all others half, and within 0.035 */
    piece top[] = {{2, 4.0, 12, 20, 1.5, 0}, {1.9, 3.94, 12, 20, 1.5, 0}};
    assert_true(is_found(top, 2, 4.0)); /* 51.3 % */
    top[1].steady_s = 2.1;
    assert_false(
        is_found(top, 2, 4.0)); /* 48.8 %; and the other is the denser of the two, with no more of what is around it */
    piece around[] = {{2, 4.0, 12, 20, 1.5, 0},
                      {1.1, 4.033, 12, 20, 1.5, 0},
                      {1.1, 3.967, 12, 20, 1.5, 0},
                      {1.1, 3.92, 12, 20, 1.5, 0}};
    assert_true(is_found(around, 4, 4.0)); /* 4.2 s of 5.3 */
    around[1].ratio = 4.038;
    around[2].ratio = 3.962;
    assert_false(is_found(around, 4, 4.0)); /* 2 s of 5.3 */
}

/* Where news comes seldom, or a log is long, it takes more: 8 s; two thousandths of it. */
static void a_long_or_slow_log_asks_for_more(void **state)
{
    (void)state;
    for (int seldom = 0; seldom < 4; seldom++) {
        const bool enough = seldom % 2 == 0;
        begin();
        s.window_s = seldom < 2 ? 0.62 : 0.58; /* slow, and not quite */
        for (int k = 0; k < 3; k++)
            add(&THREE[k]);
        const piece more = {enough ? 8.2 : 7.7, 2.1, 12, 20, 1.5, 0};
        add(&more);
        find(NULL);
        assert_int_equal(found.gears, enough || seldom >= 2 ? 4 : 3);
    }
    for (int enough = 0; enough < 2; enough++) {
        begin();
        s.window_s = 0.14; /* three rows */
        /* rows a quarter of a second apart: 810 s in all, 1.62 s of them two thousandths */
        for (int k = 0; k < 3; k++) {
            piece p = THREE[k];
            p.steady_s = 54;
            add(&p);
        }
        const piece more = {enough ? 0.35 : 0.3, 2.1, 12, 20, 1.5, 0};
        add(&more);
        for (size_t i = 0; i < s.n; i++)
            times[i] *= 5;
        s.interval_s = 0.25;
        s.window_s = 0.55; /* not slow; within three rows still */
        find(NULL);
        assert_int_equal(found.gears, 3 + enough);
    }
}

static void idling_at_one_speed_is_no_gear(void **state)
{
    (void)state;
    /* 1100 rpm are 115 rad/s; a twenty-fifth of scatter in road speed: evenly from 1 - x to 1 + x it is x/sqrt(3) */
    const double at = 2.1, slow_m_s = 114.996 / exp(2.1), fast_m_s = 115.004 / exp(2.1);
    const piece idle = {5, at, slow_m_s, slow_m_s, 0, 0}, drives = {5, at, fast_m_s, fast_m_s, 0, 0},
                wavers = {5, at, slow_m_s * (1 - 0.0675), slow_m_s * (1 + 0.0675), 0, 0},
                changes = {5, at, slow_m_s * (1 - 0.08), slow_m_s * (1 + 0.08), 0, 0};
    assert_false(is_found(&idle, 1, at));
    assert_true(is_found(&drives, 1, at));
    assert_false(is_found(&wavers, 1, at)); /* 0.039 */
    assert_true(is_found(&changes, 1, at)); /* 0.046 */
}

/* A line of little time, all of it pulled, in the middle of a step that is none too wide: a slip that held. */
static void a_light_line_in_a_step_is_a_slip(void **state)
{
    (void)state;
    const double at = 2.77; /* between 3.0 and 2.55 */
    piece slip = {1.08, at, 12, 20, 1.5, 0};
    assert_false(is_found(&slip, 1, at)); /* of 37.1 s: 2.9 % */
    slip.steady_s = 1.17;                 /* of 37.2 s: 3.1 % */
    assert_true(is_found(&slip, 1, at));
    /* slowed in it: a gear */
    const piece coasts = {1.08, at, 20, 12, -1.5, 0};
    assert_true(is_found(&coasts, 1, at));
    /* pulled in nine rows of ten and a little less: of two coasts the rows are those that fall */
    const piece mostly[] = {{1.0, at, 12, 20, 1.5, 0}, {0.1, at, 20, 19, -1.5, 0}},
                nearly[] = {{1.0, at, 12, 20, 1.5, 0}, {0.15, at, 20, 19, -1.5, 0}};
    assert_false(is_found(mostly, 2, at)); /* 20 of 22 */
    assert_true(is_found(nearly, 2, at));  /* 20 of 23: and 1.15 of 37.15 s are 3.1 % */
    /* in a wider step a gear may lie: 0.6 */
    for (int wide = 0; wide < 2; wide++) {
        begin();
        add(&THREE[0]);
        add(&THREE[1]);
        piece lowest = THREE[2];
        lowest.ratio = 3.0 - (wide ? 0.61 : 0.59);
        add(&lowest);
        slip.steady_s = 1.05;
        slip.ratio = 3.0 - 0.3;
        add(&slip);
        find(NULL);
        assert_int_equal(found.gears, wide ? 4 : 3);
    }
    /* below the lowest and above the highest there is no step to lie in */
    slip.ratio = 2.2;
    assert_true(is_found(&slip, 1, 2.2));
    slip.ratio = 3.8;
    assert_true(is_found(&slip, 1, 3.8));
}

static void lines_are_medians_and_their_scatter(void **state)
{
    (void)state;
    begin();
    for (int k = 0; k < 3; k++) {
        piece p = THREE[k];
        p.scatter = 0.001 * (k + 1);
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, 3);
    for (int k = 0; k < 3; k++) {
        /* half the rows on either side: from the 16th to the 84th of a hundred is from one to the other; cells of 0.06/1024 */
        expect_close(found.gear[k].spread_1, 0.001 * (k + 1), 8e-5);
        expect_close(log(found.gear[k].line_rad_m), THREE[k].ratio,
                     0.0008); /* the median of as many above as below may be either */
        assert_true(isnan(found.gear[k].car_line_rad_m) != 0);
    }
    expect_close(found.on_lines_1, 1, 1e-9);
    assert_int_equal(found.limits, CH_LIMIT_NUMBERS);
}

/* A ratio that rises evenly, by more than what is steady for it. */
typedef struct ramp {
    double seconds, middle, slope_1_s, road_m_s;
} ramp;

static void add_ramp(const ramp *r)
{
    const size_t reach = 5, rows = (size_t)rint(r->seconds / EVERY_S) + 2 * reach;
    for (size_t i = 0; i < rows + reach; i++, s.n++) {
        const double at = r->middle + r->slope_1_s * EVERY_S * ((double)i - 0.5 * (double)(rows - 1));
        times[s.n] = EVERY_S * (double)s.n;
        drawn[s.n] = road[s.n] = (float)r->road_m_s;
        engine[s.n] = i >= rows ? 10 : (float)(r->road_m_s * exp(at));
        climb[s.n] = 0;
        pressed[s.n] = 0;
    }
    t.n = s.n;
}

/* Lines under noise, m/s, and ramps above them. */
static size_t lines_under_noise(size_t lines, double noise_m_s, const ramp *ramps, size_t n)
{
    begin();
    for (size_t k = 0; k < lines; k++) {
        /* as a ratio it changes sign with each row at 20 m/s: its second difference is four times itself */
        const piece p = {12, 3.4 - (lines > 3 ? 0.2 : 0.28) * (double)k, 20, 20.5,
                         0,  noise_m_s / 20.25 * 2.449 * 0.6745 / 4};
        add(&p);
    }
    for (size_t k = 0; k < n; k++)
        add_ramp(&ramps[k]);
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
    return found.gears;
}

/*
 * First gear at 4 m/s, where noise of 0.06 m/s lets a ratio drift by 3*0.06/4 = 0.045 in half a second: one that drifts by 0.058 a second, 0.028 in 0.48 s, is not steady, but
 * as steady as can be.
 */
static void first_gear_under_noise_lies_above_the_others(void **state)
{
    (void)state;
    const ramp first = {1.1, 3.4 + 0.5, 0.058, 4};
    assert_int_equal(lines_under_noise(3, 0.06, &first, 1), 4);
    expect_close(log(found.gear[0].line_rad_m), 3.9, 0.02);
    expect_close(found.gear[0].spread_1, 0.02, 1e-12);
    expect_close(found.on_lines_1, 1, 1e-12); /* of what is steady */
    assert_int_equal(found.gear[0].number, 1);
    /* a second of it */
    ramp r = first;
    r.seconds = 0.9;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* in noise of 0.05 m/s and more */
    r = first;
    assert_int_equal(lines_under_noise(3, 0.052, &r, 1), 4);
    assert_int_equal(lines_under_noise(3, 0.048, &r, 1), 3);
    /* three times of which it may drift */
    r.slope_1_s = 0.091; /* 0.0437 */
    r.seconds = 1.05;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3); /* in 0.08 of it there is less than a second */
    r.road_m_s = 7;                                         /* 0.0257 */
    r.slope_1_s = 0.052;                                    /* 0.025 */
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.slope_1_s = 0.055; /* 0.0264 */
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* from 0.3 to 0.85 above them */
    r = first;
    r.middle = 3.4 + 0.33;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.middle = 3.4 + 0.25;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    r.middle = 3.4 + 0.83;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 4);
    r.middle = 3.4 + 0.93;
    assert_int_equal(lines_under_noise(3, 0.06, &r, 1), 3);
    /* half and more of what is within 0.15 of it */
    ramp two[] = {first, first};
    two[1].middle += 0.11;
    two[1].seconds = 0.9;
    assert_int_equal(lines_under_noise(3, 0.06, two, 2), 4);
    two[1].seconds = 0.75;
    ramp three[] = {first, two[1], two[1]};
    three[2].middle = first.middle - 0.11;
    assert_int_equal(lines_under_noise(3, 0.06, three, 3), 3);
    three[1].middle = first.middle + 0.19;
    three[2].middle = first.middle - 0.19;
    assert_int_equal(lines_under_noise(3, 0.06, three, 3), 4);
    /* above one line alone there is nothing to compare it with, above ten no room, and where news comes seldom noise is unknown */
    assert_int_equal(lines_under_noise(2, 0.06, &first, 1), 3);
    assert_int_equal(lines_under_noise(1, 0.06, &first, 1), 1);
    assert_int_equal(lines_under_noise(10, 0.06, &first, 1), 10);
    /* nor is the lowest line that is counted a first gear */
    begin();
    for (int k = 0; k < 2; k++) {
        const piece p = {12, k == 0 ? 1.38 : 1.103, 40, 41, 0, 0.06 / 40.5 * 2.449 * 0.6745 / 4};
        add(&p);
    }
    find(NULL);
    assert_int_equal(found.gears, 2);
    assert_int_equal(lines_under_noise(9, 0.06, &first, 1), 10);
}

/*
 * Pulls and coasts in three gears, 32 s each, road speed late, the driven tyres ahead of the road by their creep. `light_s` more are steady in a fourth, as with this lag.
 */
static void find_with_lag(double late_s, double creep_1, double step_m_s, double light_s, double light_lag_s)
{
    static const double lines[] = {3.2, 2.8, 2.5};
    begin();
    s.lag_known = true;
    s.step_m_s = step_m_s;
    double v = 14;
    double at_engine_time[ROOM];
    for (int lap = 0; lap < 3; lap++)
        for (int part = 0; part < 4; part++) {
            const double a = part == 0 ? 2.5 - 0.5 * lap : part == 2 ? -1 - 0.4 * lap : 0;
            for (int i = 0; i < 160; i++, s.n++) {
                const double ease = fmin(fmin(i, 159 - i) / 20.0, 1); /* acceleration comes and goes */
                v += a * ease * EVERY_S;
                at_engine_time[s.n] = v;
                times[s.n] = EVERY_S * (double)s.n;
                climb[s.n] = (float)(a * ease);
                pressed[s.n] = 0;
                const double traction = a * ease + 0.00035 * v * v + 0.12,
                             force = traction > -0.6 ? traction / 9.80665 : 0;
                engine[s.n] = (float)(v * exp(lines[lap] + creep_1 * force));
            }
        }
    const size_t light = light_s > 0 ? (size_t)rint(light_s / EVERY_S) + 10 : 0;
    for (size_t i = 0; i < 10 + light; i++, s.n++) {
        const double a = i >= 10 ? 0.3 + 2.2 * (double)(i - 10) / (double)light : 0;
        v += a * EVERY_S;
        at_engine_time[s.n] = v;
        times[s.n] = EVERY_S * (double)s.n;
        climb[s.n] = (float)a;
        pressed[s.n] = 0;
        engine[s.n] = i < 10 ? 10 : (float)(v * exp(2.1 + light_lag_s * a / v));
    }
    t.n = s.n;
    for (size_t i = 0; i < s.n; i++) {
        const double at = fmax((double)i - late_s / EVERY_S, 0);
        const size_t k = (size_t)at < s.n - 1 ? (size_t)at : s.n - 2;
        drawn[i] = (float)(at_engine_time[k] + (at - (double)k) * (at_engine_time[k + 1] - at_engine_time[k]));
        road[i] = drawn[i];
    }
    find(NULL);
}

/* What is left of the lag is found to a millisecond or so, by a tenth of a second at a time, twice. */
static void a_lag_that_is_left_is_found_with_the_lines(void **state)
{
    (void)state;
    static const double late_s[] = {0, 0.02, 0.06, -0.06, 0.095, 0.15, 0.3, -0.3};
    for (size_t k = 0; k < sizeof late_s / sizeof late_s[0]; k++) {
        find_with_lag(late_s[k], 0, 0, 0, 0);
        assert_int_equal(found.gears, 3);
        expect_close(s.lag_s, fmin(fmax(late_s[k], -0.2), 0.2), fabs(late_s[k]) > 0.2 ? 1e-9 : 0.004);
        if (fabs(late_s[k]) < 0.2)
            expect_close(log(found.gear[0].line_rad_m), 3.2, 0.0005);
    }
}

/* A line that holds less than three hundredths of the time may come from slips: it has no say in the lag. */
static void a_light_line_has_no_say_in_the_lag(void **state)
{
    (void)state;
    find_with_lag(0, 0, 0, 0, 0);
    const double without_s = s.lag_s;
    for (int heavy = 0; heavy < 2; heavy++) {
        find_with_lag(0, 0, 0, heavy ? 3.3 : 2.6, 0.1);
        assert_int_equal(found.gears, 4);
        assert_true((fabs(s.lag_s - without_s) > 0.0002) == heavy);
    }
}

/* Five times pulled and coasted in each of three gears, 8 s each; the engine runs ahead by these shares of the drive force, in weights of the car. */
static void find_running_ahead(const double ahead_1[3])
{
    static const double lines[] = {3.2, 2.8, 2.4}, from_m_s[] = {12, 20, 32}, climb_m_s2[] = {2.5, 2.2, 1.8};
    begin();
    s.lag_known = true;
    for (int part = 0; part < 30; part++) {
        const int gear = part / 2 % 3, sign = part % 2 == 0 ? 1 : -1;
        double v = sign > 0 ? from_m_s[gear] : from_m_s[gear] + 6.3 * climb_m_s2[gear];
        for (int i = 0; i < 160; i++, s.n++) {
            const double a = sign * climb_m_s2[gear] * fmin(fmin(i, 159 - i) / 20.0, 1);
            v += a * EVERY_S;
            times[s.n] = EVERY_S * (double)s.n;
            climb[s.n] = (float)a;
            pressed[s.n] = 0;
            drawn[s.n] = road[s.n] = (float)v;
            const double traction = a + 0.00035 * v * v + 0.12, force = traction > -0.6 ? traction / 9.80665 : 0;
            engine[s.n] = i < 10 ? 10 : (float)(v * exp(lines[gear] + ahead_1[gear] * force));
        }
    }
    t.n = s.n;
    find(NULL);
}

/* Tyres creep in every gear: where one line alone shows it, its clutch slips, and nothing of that gets into the others. */
static void a_line_that_alone_creeps_has_no_say(void **state)
{
    (void)state;
    static const struct {
        double ahead_1[3], wanted_1;
    } cases[] = {
        {{0.06, 0.06, 0.06}, 0.06}, {{0, 0, 0.1}, 0}, {{0.03, 0.03, 0.12}, 0.03}, {{0.058, 0.06, 0.062}, 0.06}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        find_running_ahead(cases[k].ahead_1);
        assert_true(found.gears >= 2);
        expect_close(s.creep_1, cases[k].wanted_1, 0.006);
        expect_close(s.lag_s, 0, 0.01);
        expect_close(log(found.gear[0].line_rad_m), 3.2, 0.002);
        expect_close(log(found.gear[1].line_rad_m), 2.8, 0.002);
    }
}

static void creep_is_found_with_the_lines(void **state)
{
    (void)state;
    static const struct {
        double creep_1, step_m_s, wanted_1, within_1;
    } cases[] = {{0, 0, 0, 0},           {0.009, 0, 0, 0},           {0.0112, 0, 0.0112, 0.001},
                 {0.05, 0, 0.05, 0.002}, {0.11, 0, 0.11, 0.004},     {0.14, 0, 0.12, 1e-12},
                 {0.028, 0.05, 0, 0},    {0.034, 0.05, 0.034, 0.003}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        find_with_lag(0, cases[k].creep_1, cases[k].step_m_s, 0, 0);
        expect_close(s.creep_1, cases[k].wanted_1, cases[k].within_1);
        assert_int_equal(found.gears, 3);
    }
}

/* Of three lines the middle one: seconds pulled and not; then, on a ratio below, foot off and pulled. Whether it is told, and whether the one below is the gear. */
typedef struct pulled_alone {
    double pulled_s, off_s, below_1, off_below_s, pulled_below_s;
    bool told, moved;
} pulled_alone;

static void find_pulled_alone(const pulled_alone *c)
{
    const piece off = {c->off_s, 3.0, 20, 16, -0.7, 0}, below = {c->off_below_s, 3.0 - c->below_1, 20, 12, -0.7, 0},
                pulled_below = {c->pulled_below_s, 3.0 - c->below_1, 12, 20, 1.5, 0};
    begin();
    add(&THREE[0]);
    add(&(piece){c->pulled_s, 3.0, 12, 24, 1.5, 0});
    if (c->off_s > 0)
        add(&off);
    add(&below);
    if (c->pulled_below_s > 0)
        add(&pulled_below);
    add(&(piece){12, 2.4, 20, 36, 1.5, 0});
    find(NULL);
    assert_int_equal(found.state, CH_DRIVELINE_GEARS_FOUND);
}

/* Where the car was pulled on a line alone and lay on one a little below with the foot off, that is the gear; further below it may be another gear. */
static void a_line_that_was_only_ever_pulled_is_doubtful(void **state)
{
    (void)state;
    static const pulled_alone
        cases[] =
            {
                {12, 0, 0.07, 4, 0, true, true},
                {12, 0, 0.09, 4, 0, true, true},
                {12, 0, 0.045, 4, 0, true, true},
                {12, 0, 0.07, 4, 3, true, true},     /* pulled there less hard */
                {12, 0, 0.03, 4, 0, false, false},   /* tyres creep by as much */
                {12, 0, 0.07, 1.5, 0, false, false}, /* hardly with the foot off */
                {7, 0, 0.07, 4, 0, false, false},    /* hardly pulled */
                {12, 1, 0.07, 4, 0, false, false},   /* foot off on the line too */
                {12, 0, 0.2, 4, 0, true, false},     /* a gear, perhaps */
                {12, 0, 0.28, 4, 0, true, false},
                {12, 0, 0.33, 4, 0, false, false}, /* nobody goes on with that */
                {20, 0, 0.2, 4, 0.8, true, false},
                {20, 0, 0.2, 4, 1.4, false, false}, /* pulled there for more than a quarter of the foot off */
                {12, 0, 0.2, 8, 1, true, false},
                {12, 0, 0.2, 8, 1.5, false, false}, /* and for more than a tenth of what is pulled */
            };
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const pulled_alone *c = &cases[k];
        find_pulled_alone(c);
        bool at_pulled = false, at_other = false;
        for (size_t g = 0; g < found.gears; g++) {
            at_pulled = at_pulled || fabs(log(found.gear[g].line_rad_m) - 3.0) < 0.004;
            at_other = at_other || fabs(log(found.gear[g].line_rad_m) - (3.0 - c->below_1)) < 0.004;
        }
        if (((found.limits & CH_LIMIT_PULLED_ALONE) != 0) != c->told || at_pulled == c->moved ||
            (c->moved && !at_other))
            fail_msg("case %zu: %x, %d %d", k, found.limits, at_pulled, at_other);
    }
}

/* Whichever allocation fails: of a fine speed and of one in steps, which is looked at cut and rounded. */
static void memory_that_runs_out_is_said(void **state)
{
    (void)state;
    for (int steps = 0; steps < 2; steps++) {
        long nth = 1;
        for (;; nth++) {
            ch_err err = {0};
            begin_with_three();
            s.step_m_s = steps ? 1 / 3.6 : 0;
            fail_alloc_at(nth);
            const ch_status rc = gears_find(&s, &t, NULL, s.step_m_s, &found, &err);
            const bool failed = fail_alloc_stop();
            assert_int_equal(fail_alloc_left(), 0);
            if (!failed) {
                assert_int_equal(rc, CH_OK);
                break;
            }
            assert_int_equal(rc, CH_E_MEMORY);
            assert_string_equal(err.what, "no memory for the gears");
        }
        assert_int_equal(found.gears, 3);
        assert_true(nth > (steps ? 5 : 3)); /* the spectrum, and two arrays for each weighing */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gear_is_driven_for_a_second_the_lowest_for_less),
        cmocka_unit_test(a_gear_stands_out_from_what_is_around_it),
        cmocka_unit_test(a_long_or_slow_log_asks_for_more),
        cmocka_unit_test(idling_at_one_speed_is_no_gear),
        cmocka_unit_test(a_light_line_in_a_step_is_a_slip),
        cmocka_unit_test(lines_are_medians_and_their_scatter),
        cmocka_unit_test(first_gear_under_noise_lies_above_the_others),
        cmocka_unit_test(a_lag_that_is_left_is_found_with_the_lines),
        cmocka_unit_test(a_light_line_has_no_say_in_the_lag),
        cmocka_unit_test(a_line_that_alone_creeps_has_no_say),
        cmocka_unit_test(creep_is_found_with_the_lines),
        cmocka_unit_test(a_line_that_was_only_ever_pulled_is_doubtful),
        cmocka_unit_test(memory_that_runs_out_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

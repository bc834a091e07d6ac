/*
 * Promises of driveline/gears_weigh.c on signals made by hand: which rows have a say, how far the lines are known where that can be worked out on paper, and what is found of
 * noise and of what road speed lacks.
 */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/gears_parts.h"
#include "expect.h"

enum { ROOM = 1200 };
static const double EVERY_S = 0.05, LINE = 2.5; /* of the logarithm */

static double times[ROOM];
static float drawn[ROOM], engine[ROOM], road[ROOM], climb[ROOM], ratio[ROOM], drift[ROOM], pressed[ROOM];
static signals s;
static trail t;

/* `n` rows on the line at a steady speed and acceleration. */
static void flat(size_t n, double road_m_s, double climb_m_s2)
{
    assert_true(n <= ROOM);
    s = (signals){.n = n,
                  .time_s = times,
                  .interval_s = EVERY_S,
                  .engine_fresh_s = EVERY_S,
                  .road_fresh_s = EVERY_S,
                  .window_s = 0.25,
                  .drawn = drawn,
                  .engine = engine,
                  .road = road,
                  .climb = climb,
                  .ratio = ratio,
                  .drift = drift,
                  .smooth = ratio};
    t = (trail){.n = n, .room = n, .time_s = times};
    t.channel[TRAIL_CLUTCH] = pressed;
    for (size_t i = 0; i < n; i++) {
        times[i] = EVERY_S * (double)i;
        drawn[i] = road[i] = (float)road_m_s;
        engine[i] = (float)(road_m_s * exp(LINE));
        climb[i] = (float)climb_m_s2;
        ratio[i] = (float)LINE;
        drift[i] = 0;
        pressed[i] = 0;
    }
}

static line_fit weighed(double offset_m_s)
{
    line_fit line = {.at = LINE};
    assert_int_equal(gears_weigh(&s, &t, offset_m_s, NULL, &line, 1, NULL), CH_OK);
    return line;
}

static double square(double x)
{
    return x * x;
}

static double force(double road_m_s, double climb_m_s2)
{
    return (climb_m_s2 + 0.00035 * road_m_s * road_m_s + 0.12) / 9.80665;
}

/*
 * Rows that all say the same tell of the line and what is wrong with road speed only one sum. So the line's variance is that of the sum, and what is known beforehand of its parts:
 * 0.02 s of lag, 0.003 m/s, and of the tyres' creep 0.01 and again what no stretch shows. One stretch alone tells nothing of how rows err alike: its rows count as 5/3 of
 * a variance, those of Student's t with four and one stretches less two.
 */
static void a_line_is_known_as_its_rows_and_what_is_known_beforehand_say(void **state)
{
    (void)state;
    static const struct {
        double road_m_s, climb_m_s2, creep_1, step_m_s;
    } cases[] = {{5, 0, 0, 0},   {20, 0, 0, 0},    {60, 0, 0, 0},       {20, 4, 0, 0},      {12, -0.3, 0, 0},
                 {20, -2, 0, 0}, {20, 3, 0.08, 0}, {15, 2, 0, 1 / 3.6}, {15, 2, 0.05, 0.1}, {8, 0.5, 0, 1 / 3.6}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const size_t rows = 140; /* 7 s: one stretch */
        const double v = cases[k].road_m_s, a = cases[k].climb_m_s2;
        const bool stepped = cases[k].step_m_s > 0;
        flat(rows, v, a);
        s.creep_1 = cases[k].creep_1;
        s.step_m_s = cases[k].step_m_s;
        const line_fit line = weighed(0);
        expect_close(line.at, LINE, 1e-7);
        const double f = a + 0.00035 * v * v + 0.12 > -0.6 ? force(v, a) : 0;
        /* 0.02 m/s of noise at least, 0.1 where drawn through steps; four rows at either end have no change of acceleration */
        double weight = 132 / (square((stepped ? 0.1 : 0.02) / v) + square(0.002));
        if (stepped) /* nine rows at either end, or all that cross no steps, are known to a quarter of a metre a second */
            weight = (a > 0.6 ? 122 : 0) / (square(0.1 / v) + square(0.002)) +
                     (a > 0.6 ? 10 : 132) / (square(0.25 / v) + square(0.002));
        const double before = square(0.02 * a / v) + square(0.003 / v) + square(0.01 * f),
                     alike = square(f) * (square(0.0015) + square(0.12 * cases[k].creep_1)) +
                             square(0.001 * v * v / 3600) + square(stepped ? 0.003 / v : 0) + square(0.00003);
        expect_relative(line.u, sqrt(5.0 / 3 / weight + before + alike), 1e-5);
    }
}

/* Stretches of `rows` rows `gap_s` apart, off the line by `off` up and down in turn. */
static line_fit in_stretches(size_t stretches, size_t rows, double gap_s, double off)
{
    flat(stretches * rows, 20, 0);
    for (size_t i = 0; i < s.n; i++) {
        const size_t stretch = i / rows;
        times[i] += (double)stretch * (gap_s - EVERY_S);
        ratio[i] = (float)(LINE + (stretch % 2 == 0 ? off : -off));
    }
    return weighed(0);
}

/* With as many rows of one weight in each of S stretches, off by d in turn: the score of one squared over its weight is m w d^2, the sandwich's factor that times S/(S-1). */
static double u_of_stretches(double stretches, double weight, double first_weight, double off)
{
    const double all = stretches * weight - 2 * (weight - first_weight);
    const double squares = square(off) * ((stretches - 2) * square(weight) + 2 * square(first_weight)),
                 parts = (stretches - 2) * square(weight) + 2 * square(first_weight);
    const double alone = squares / (all - parts / all);
    const double inflation = fmax(alone * (4 + stretches) / (2 + stretches), 0.001);
    return sqrt(inflation / all + square(0.003 / 20) + square(force(20, 0)) * (square(0.01) + square(0.0015)) +
                square(0.001 * 400 / 3600) + square(0.00003));
}

static void what_stretches_are_off_widens_the_line(void **state)
{
    (void)state;
    for (size_t stretches = 2; stretches <= 8; stretches += 2)
        for (int k = 0; k < 3; k++) {
            const double off = 0.003 * k;
            const line_fit line = in_stretches(stretches, 40, 0.6, off);
            /* Tukey's weight, of rows that may be 0.02 off */
            const double one = square(1 - square(off / 0.02)) / (square(0.001) + square(0.002));
            expect_close(line.at, LINE, 1e-6);
            /* of the first and the last stretch four rows have no change of acceleration */
            expect_relative(line.u, u_of_stretches((double)stretches, 40 * one, 36 * one, off), 2e-4);
        }
}

/* What is unknown of road speed goes right through two stretches: that is no reason to know it all the better, and the run is answered. */
static void two_stretches_that_are_met_exactly_are_no_certainty(void **state)
{
    (void)state;
    static const double off[] = {0.001, 0.004, 0.008, 0.012};
    for (size_t k = 0; k < sizeof off / sizeof off[0]; k++) {
        flat(160, 8, 0);
        for (size_t i = 0; i < 160; i++) {
            const bool second = i >= 80;
            times[i] += second ? 1 : 0;
            road[i] = second ? 40 : 8;
            climb[i] = second ? 0 : 4;
            ratio[i] += (float)(second ? -off[k] : off[k]);
        }
        const line_fit line = weighed(0);
        /* the rows alone, thirty times as good as they look */
        const double weight = 72 / (square(0.02 / 8) + square(0.002)) + 72 / (square(0.02 / 40) + square(0.002));
        assert_true(line.u > sqrt(0.001 / weight));
        expect_close(line.at, LINE, 0.03); /* no further than rows of a line are looked for */
    }
}

/* Half a second apart, or longer than eight: another stretch. One and the same is not told from another line, and its rows count by themselves. */
static void stretches_part_after_half_a_second_or_eight(void **state)
{
    (void)state;
    const double off = 0.004, one = square(1 - square(0.2)) / (square(0.001) + square(0.002));
    const double apart = u_of_stretches(2, 60 * one, 56 * one, off);
    expect_relative(in_stretches(2, 60, 0.52, off).u, apart, 2e-4);
    assert_true(in_stretches(2, 60, 0.48, off).u < 0.9 * apart);
    /* one long stretch and what is behind its eighth second */
    const size_t rows[] = {164, 167, 176};
    for (size_t k = 0; k < 3; k++) {
        flat(rows[k] + 4, 20, 0); /* the last four rows have no say, nor the first four */
        const double all = (double)rows[k] - 4, second = fmax(all - 161, 0); /* 8 s are 161 rows */
        const line_fit line = weighed(0);
        const double weight = all / (square(0.001) + square(0.002));
        const double inflation = second > 0 ? 0.001 : 5.0 / 3;
        expect_relative(line.u,
                        sqrt(inflation / weight + square(0.003 / 20) +
                             square(force(20, 0)) * (square(0.01) + square(0.0015)) + square(0.001 * 400 / 3600) +
                             square(0.00003)),
                        1e-5);
    }
}

/* How far a block of rows moves the line, against the same rows with the clutch pressed. */
typedef struct block {
    double off, drift, pressed, climb_m_s2, jerk_m_s3;
    int every;    /* of the rows, one is off */
    size_t inset; /* rows at either end that are not: the change of acceleration is less there */
} block;

typedef struct ground {
    double window_s, noise_1, fresh_s, step_m_s, climb_m_s2;
    bool slowing_only;
} ground;

enum { BASE = 600, AROUND = 30, BLOCK = 30 };

static double line_of_block(const ground *g, const block *b, bool without)
{
    static const double road_m_s = 20;
    const size_t hold = (size_t)fmax(rint(g->fresh_s / EVERY_S), 1);
    flat(BASE + BLOCK + 2 * AROUND, road_m_s, g->climb_m_s2);
    s.window_s = g->window_s;
    s.road_fresh_s = g->fresh_s;
    s.step_m_s = g->step_m_s;
    s.slowing_only = g->slowing_only;
    for (size_t i = 0; i < s.n; i++) {
        /* noise that changes sign with each news: its second difference is four times itself */
        ratio[i] += (float)(i / hold % 2 == 0 ? g->noise_1 : -g->noise_1) * 2.449F * 0.6745F / 4;
        if (i >= BASE) { /* apart in time, so that the mean over half a second knows nothing of the others */
            times[i] += 2;
            climb[i] = (float)(b->climb_m_s2 + b->jerk_m_s3 * EVERY_S * ((double)(i - BASE) - AROUND - 0.5 * BLOCK));
        }
        const bool in = i >= BASE + AROUND && i < BASE + AROUND + BLOCK,
                   inner = i >= BASE + AROUND + b->inset && i + b->inset < BASE + AROUND + BLOCK;
        if (i >= BASE + AROUND)
            times[i] += 2;
        if (i >= BASE + AROUND + BLOCK)
            times[i] += 2;
        if (i >= BASE && !in)
            pressed[i] = 1;
        if (in) {
            ratio[i] = (float)(LINE + (inner && (i - BASE) % (size_t)b->every == 0 ? b->off : 0));
            drift[i] = (float)b->drift;
            pressed[i] = without ? 1 : (float)b->pressed;
        }
    }
    return weighed(0).at;
}

static void expect_say(const ground *g, const block *b, bool has)
{
    const double moves = fabs(line_of_block(g, b, false) - line_of_block(g, b, true));
    if (has ? !(moves > 1e-6) : !(moves < 8e-7)) /* noise that is not quite even leaves some of the latter */
        fail_msg("off %g drift %g pressed %g climb %g jerk %g every %d: moves by %g", b->off, b->drift, b->pressed,
                 b->climb_m_s2, b->jerk_m_s3, b->every, moves);
}

/* Each limit of a row, from within and from without. */
static void a_row_has_a_say_up_to_its_limits(void **state)
{
    (void)state;
    const ground fine = {.window_s = 0.25, .fresh_s = EVERY_S}, slow = {.window_s = 0.61, .fresh_s = EVERY_S},
                 nearly_slow = {.window_s = 0.59, .fresh_s = EVERY_S},
                 lost = {.window_s = 0.25, .fresh_s = EVERY_S, .slowing_only = true, .climb_m_s2 = -1},
                 steps = {.window_s = 0.25, .fresh_s = EVERY_S, .step_m_s = 0.1},
                 loud = {.window_s = 0.25, .fresh_s = 0.5, .noise_1 = 0.0095},
                 louder = {.window_s = 0.25, .fresh_s = 0.5, .noise_1 = 0.015};
    const struct {
        const ground *on;
        block in, out;
    } pairs[] = {
        {&fine, {.off = 0.0195, .every = 1}, {.off = 0.0205, .every = 1}},
        {&fine, {.off = -0.0195, .every = 1}, {.off = -0.0205, .every = 1}},
        {&steps, {.off = 0.0195, .every = 1}, {.off = 0.0205, .every = 1}},
        {&fine, {.off = 0.0295, .every = 2}, {.off = 0.0305, .every = 2}},
        {&steps, {.off = 0.0295, .every = 2}, {.off = 0.0305, .every = 2}},
        {&fine, {.off = 0.01, .every = 1, .drift = 0.0195}, {.off = 0.01, .every = 1, .drift = 0.0205}},
        {&fine, {.off = 0.01, .every = 1, .drift = -0.0195}, {.off = 0.01, .every = 1, .drift = -0.0205}},
        {&nearly_slow, {.off = 0.01, .every = 1, .drift = 0.0195}, {.off = 0.01, .every = 1, .drift = 0.0205}},
        {&slow, {.off = 0.01, .every = 1, .drift = 0.0295}, {.off = 0.01, .every = 1, .drift = 0.0305}},
        {&fine, {.off = 0.01, .every = 1, .pressed = 0.29}, {.off = 0.01, .every = 1, .pressed = 0.31}},
        /* 0.00035*400 + 0.12 = 0.26 m/s2 of drag and rolling */
        {&lost, {.off = 0.01, .every = 1, .climb_m_s2 = 0.33}, {.off = 0.01, .every = 1, .climb_m_s2 = 0.35}},
        {&fine,
         {.off = 0.003, .every = 1, .jerk_m_s3 = 19.5, .inset = 4},
         {.off = 0.003, .every = 1, .jerk_m_s3 = 20.5, .inset = 4}},
        {&fine,
         {.off = 0.003, .every = 1, .jerk_m_s3 = -19.5, .inset = 4},
         {.off = 0.003, .every = 1, .jerk_m_s3 = -20.5, .inset = 4}},
        /* noise of 0.19 m/s at 20 m/s, news every half a second: about one of them in the half second of the mean, 4*0.0095/sqrt(1.04) = 0.0373; rows 4*0.0095 = 0.038 */
        {&loud, {.off = 0.0365, .every = 1}, {.off = 0.0385, .every = 1}},
        {&loud, {.off = 0.0375, .every = 2}, {.off = 0.0385, .every = 2}},
        {&loud, {.off = 0.01, .every = 1, .drift = 0.028}, {.off = 0.01, .every = 1, .drift = 0.029}},
        /* 0.04 is the furthest of a mean, 0.08 would be of a row by 4*0.015 = 0.06, drift 3*0.015 = 0.045 */
        {&louder, {.off = 0.0395, .every = 1}, {.off = 0.0405, .every = 1}},
        {&louder, {.off = 0.059, .every = 3}, {.off = 0.061, .every = 3}},
        {&louder, {.off = 0.01, .every = 1, .drift = 0.0445}, {.off = 0.01, .every = 1, .drift = 0.0455}},
    };
    for (size_t k = 0; k < sizeof pairs / sizeof pairs[0]; k++) {
        expect_say(pairs[k].on, &pairs[k].in, true);
        expect_say(pairs[k].on, &pairs[k].out, false);
    }
}

/* A ratio of noise that changes sign with every news: its second difference is four times itself. */
static void noise_is_what_second_differences_over_news_show(void **state)
{
    (void)state;
    const line_fit lines[] = {{.at = LINE + 0.5}, {.at = LINE}};
    static const struct {
        double noise_m_s, fresh_s, road_m_s, wanted_m_s;
    } cases[] = {{0.1, 0.05, 20, 0.1},    {0.1, 0.05, 8.1, 0.1}, {0.1, 0.05, 7.9, 0.02}, {0.03, 0.05, 30, 0.03},
                 {0.015, 0.05, 20, 0.02}, {0.3, 0.05, 20, 0.3},  {0.39, 0.05, 20, 0.39}, {0.1, 0.1, 20, 0.1},
                 {0.1, 0.25, 20, 0.1},    {0.1, 0.02, 20, 0.1},  {0.1, 0.12, 20, 0.1}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const size_t hold = (size_t)fmax(rint(cases[k].fresh_s / EVERY_S), 1);
        const float off = (float)(cases[k].noise_m_s / cases[k].road_m_s * 2.449 * 0.6745 / 4);
        flat(400, cases[k].road_m_s, 0);
        s.road_fresh_s = cases[k].fresh_s;
        for (size_t i = 0; i < s.n; i++)
            ratio[i] += i / hold % 2 == 0 ? off : -off;
        /* counted in cells of 0.6/1024 m/s before the median of a normal scatter is divided by 0.6745 */
        expect_close(gears_road_noise(&s, &t, lines, 2), cases[k].wanted_m_s, 0.001);
        expect_close(gears_road_noise(&s, &t, lines, 1), 0.02, 1e-12); /* on no line */
        expect_close(gears_road_noise(&s, &t, lines, 0), 0.02, 1e-12);
        /* two rows in three are quiet, and would make the median: those are off the line, or have the clutch pressed */
        for (int kind = 0; kind < 2; kind++) {
            for (size_t i = 0; i < s.n; i++) {
                if (i < 250)
                    ratio[i] = (float)(LINE + (kind == 0 ? 0.031 : 0));
                pressed[i] = kind == 1 && i < 250 + hold;
            }
            expect_close(gears_road_noise(&s, &t, lines, 2), cases[k].wanted_m_s, 0.001);
        }
    }
}

/* Pulls and coasts over a range of speeds, in two gears, road speed late by `late_s` and low by `low_m_s`. */
static void two_gears(double late_s, double low_m_s, double line_2)
{
    flat(ROOM, 0, 0);
    for (size_t i = 0; i < s.n; i++) {
        const double at_s = times[i], phase_s = fmod(at_s, 20);
        const bool second = at_s >= 30;
        const double a = phase_s < 8 ? 2.0 + 0.5 * second : phase_s < 16 ? -2.0 - 0.5 * second : 0;
        const double v = 12 + (phase_s < 8 ? a * phase_s : phase_s < 16 ? -a * 8 + a * (phase_s - 8) : 0);
        climb[i] = (float)a;
        road[i] = (float)v;
        ratio[i] = (float)((second ? line_2 : LINE) + late_s * a / v + low_m_s / v);
    }
}

static void lag_and_want_of_road_speed_are_told_from_the_lines(void **state)
{
    (void)state;
    static const double late_s[] = {0, 0.02, -0.015}, low_m_s[] = {0, 0.003, -0.002};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            line_fit lines[] = {{.at = LINE + 0.003}, {.at = 1.9 - 0.002}};
            two_gears(late_s[i], low_m_s[k], 1.9);
            assert_int_equal(gears_weigh(&s, &t, 0, NULL, lines, 2, NULL), CH_OK);
            /* what the rows say weighs far more than what is known beforehand; a tenth of the 0.003 m/s is left of it at most, some 12 m/s fast */
            expect_close(lines[0].at, LINE, 5e-5);
            expect_close(lines[1].at, 1.9, 5e-5);
            assert_true(lines[0].u < 3e-4 && lines[1].u < 3e-4);
        }
}

/* Beyond what was added already; half a step as it may be, in a run that crosses its steps. */
static void what_road_speed_in_steps_lacks_is_found(void **state)
{
    (void)state;
    static const double low_m_s[] = {0, 0.139, 0.25, -0.1};
    for (int k = 0; k < 4; k++) {
        const line_fit lines[] = {{.at = LINE}, {.at = 1.9}};
        line_fit as_they_were[2];
        double lacks_m_s = NAN, u_m_s = NAN;
        memcpy(as_they_were, lines, sizeof lines);
        two_gears(0.01, low_m_s[k], 1.9);
        s.step_m_s = 1 / 3.6;
        assert_int_equal(gears_lack(&s, &t, 0, NULL, lines, 2, &lacks_m_s, &u_m_s, NULL), CH_OK);
        expect_close(lacks_m_s, low_m_s[k], 0.005);
        assert_true(u_m_s > 0 && u_m_s < 0.02);
        assert_memory_equal(lines, as_they_were, sizeof lines);
    }
}

/*
 * Lines as the car states them pull at what the rows say through one factor common to all: a line without rows comes to stand where the ratios put it beside the other, as well known
 * as that one and both their digits.
 */
static void a_line_without_rows_stands_where_the_cars_ratios_put_it(void **state)
{
    (void)state;
    const gears_stated stated = {.at = {LINE - 0.02, 1.88}, .u = {0.0008, 0.0015}};
    line_fit lines[] = {{.at = LINE}, {.at = 1.91}}, alone = {.at = LINE};
    flat(140, 20, 0);
    assert_int_equal(gears_weigh(&s, &t, 0, NULL, &alone, 1, NULL), CH_OK);
    assert_int_equal(gears_weigh(&s, &t, 0, &stated, lines, 2, NULL), CH_OK);
    expect_close(lines[0].at, LINE, 1e-6);
    expect_close(lines[1].at, LINE + (1.88 - (LINE - 0.02)), 1e-6);
    expect_relative(lines[0].u, alone.u, 1e-5);
    /* the creep that no stretch shows and the tyre's growth are those of rows, of which it has none */
    const double alike = square(force(20, 0)) * square(0.0015) + square(0.001 * 400 / 3600);
    expect_relative(lines[1].u, sqrt(square(alone.u) - alike + square(0.0008) + square(0.0015)), 1e-5);
    /*
     * With rows of its own half of a percent elsewhere, both lines go towards each other by the rows' part of the doubt. 70 rows each, four of them without a change of acceleration,
     * five with a mean that knows of the other line.
     */
    for (size_t i = 70; i < 140; i++)
        ratio[i] = 1.905F;
    lines[0].at = LINE;
    lines[1].at = 1.905;
    assert_int_equal(gears_weigh(&s, &t, 0, &stated, lines, 2, NULL), CH_OK);
    const double of_rows = 2 * 5.0 / 3 / (61 / (square(0.001) + square(0.002)));
    const double way = 0.005 * of_rows / (of_rows + square(0.0008) + square(0.0015));
    expect_close(lines[0].at, LINE + way / 2, 2e-7);
    expect_close(lines[1].at, 1.905 - way / 2, 2e-7);
}

/* A line without a row may be anywhere: a thousandth of one row's weight holds it where it is. */
static void a_line_without_rows_is_not_known(void **state)
{
    (void)state;
    line_fit lines[] = {{.at = LINE}, {.at = 1.7}};
    flat(140, 20, 0);
    assert_int_equal(gears_weigh(&s, &t, 0, NULL, lines, 2, NULL), CH_OK);
    expect_close(lines[0].at, LINE, 1e-6);
    expect_close(lines[1].at, 1.7, 1e-12);
    expect_relative(lines[1].u, sqrt(1000), 1e-9);
}

/* A ratio stated to sixteen digits leaves the factor and the lines no difference in doubles. */
static void what_cannot_be_solved_for_is_an_error(void **state)
{
    (void)state;
    const gears_stated stated = {.at = {LINE, 1.9}, .u = {1e-8, 7e-16}};
    line_fit lines[] = {{.at = LINE}, {.at = 1.9}};
    double lacks_m_s = 7, u_m_s = 8;
    ch_err err = {0};
    two_gears(0, 0, 1.9);
    assert_int_equal(gears_weigh(&s, &t, 0, &stated, lines, 2, &err), CH_E_CONVERGE);
    assert_string_equal(err.what, "the lines of the gears cannot be weighed");
    assert_int_equal(gears_lack(&s, &t, 0, &stated, lines, 2, &lacks_m_s, &u_m_s, &err), CH_E_CONVERGE);
    expect_close(lacks_m_s, 7, 0);
    expect_close(u_m_s, 8, 0);
}

/* A ratio without news for a moment is no mean of half a second; those a quarter of a second off have theirs. */
static void rows_about_an_unknown_one_have_no_say(void **state)
{
    (void)state;
    const double weight_of_row = 1 / (square(0.001) + square(0.002));
    flat(140, 20, 0);
    ratio[6] = ratio[130] = NAN;
    /* they and five rows to either side, up to 0.25 s off; the others of the four rows at either end have no say anyway */
    expect_relative(weighed(0).u,
                    sqrt(5.0 / 3 / (weight_of_row * (124 - 12 + 1)) + square(0.003 / 20) +
                         square(force(20, 0)) * (square(0.01) + square(0.0015)) + square(0.001 * 400 / 3600) +
                         square(0.00003)),
                    1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_is_known_as_its_rows_and_what_is_known_beforehand_say),
        cmocka_unit_test(what_stretches_are_off_widens_the_line),
        cmocka_unit_test(two_stretches_that_are_met_exactly_are_no_certainty),
        cmocka_unit_test(stretches_part_after_half_a_second_or_eight),
        cmocka_unit_test(a_row_has_a_say_up_to_its_limits),
        cmocka_unit_test(noise_is_what_second_differences_over_news_show),
        cmocka_unit_test(lag_and_want_of_road_speed_are_told_from_the_lines),
        cmocka_unit_test(what_road_speed_in_steps_lacks_is_found),
        cmocka_unit_test(a_line_without_rows_stands_where_the_cars_ratios_put_it),
        cmocka_unit_test(a_line_without_rows_is_not_known),
        cmocka_unit_test(what_cannot_be_solved_for_is_an_error),
        cmocka_unit_test(rows_about_an_unknown_one_have_no_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Promises of driveline/picture.c: which rows of a chapter become points, counted by hand, and what a point says. */
#include <stdlib.h>
#include <string.h>

#include "../../src/driveline/parts.h"
#include "expect.h"

enum { ROWS = 20000, MOST = CH_DRIVELINE_POINTS_MAX / 2 };
static const double EVERY_S = 0.25;

static double at_s[ROWS];
static float engine[ROWS], road[ROWS], ratio[ROWS];
static picture shown;
static ch_driveline to;
static ch_slip slips[4];

static int begin(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++) {
        at_s[i] = EVERY_S * i;
        engine[i] = (float)(100 + i);
        road[i] = (float)i;
        ratio[i] = NAN;
    }
    to = (ch_driveline){
        .gears = 2, .gear = {{.number = 2, .line_rad_m = 20.0}, {.number = 3, .line_rad_m = 13.0}}, .slip = slips};
    shown = (picture){0};
    return 0;
}

static int end(void **state)
{
    (void)state;
    picture_free(&shown);
    assert_null(shown.point);
    assert_null(shown.kind);
    assert_int_equal(shown.n, 0);
    return 0;
}

/* Rows from a first one on, as a chapter whose slips begin with that one. */
static void add(size_t first, size_t n, size_t first_slip)
{
    const signals s = {
        .n = n, .time_s = at_s + first, .engine = engine + first, .road = road + first, .ratio = ratio + first};
    assert_int_equal(picture_add(&shown, &s, &to, first_slip, NULL), CH_OK);
}

/* Of n rows of one kind those are left of which it is every second, fourth, ... so that fewer than MOST are. */
static size_t stride_of(size_t n)
{
    size_t stride = 1;
    while ((n + stride - 1) / stride >= MOST)
        stride *= 2;
    return stride;
}

static void rows_become_points_evenly(void **state)
{
    (void)state;
    static const size_t rows[] = {
        0, 1, 2, MOST - 1, MOST, MOST + 1, 2 * MOST - 2, 2 * MOST - 1, 2 * MOST, 4 * MOST - 3, 17000, ROWS};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++)
        for (int chapters = 1; chapters <= 2; chapters++) {
            const size_t first = chapters == 1 ? rows[k] : rows[k] / 3, stride = stride_of(rows[k]);
            begin(NULL);
            add(0, first, 0);
            add(first, rows[k] - first, 0);
            assert_int_equal(shown.n, (rows[k] + stride - 1) / stride);
            for (size_t i = 0; i < shown.n; i++) {
                expect_close((double)shown.point[i].time_s, at_s[i * stride], 0.0);
                expect_close((double)shown.point[i].engine_speed_rad_s, (double)engine[i * stride], 0.0);
                expect_close((double)shown.point[i].road_speed_m_s, (double)road[i * stride], 0.0);
                expect_close((double)shown.point[i].gear, 0.0, 0.0);
            }
            end(NULL);
        }
}

/* From two seconds before a slip to two seconds after it rows are of another kind, which is thinned by itself. */
static void about_a_slip_all_rows_are_points(void **state)
{
    (void)state;
    slips[0] = (ch_slip){.start_s = 1.0, .end_s = 2.0}; /* of the chapter before */
    slips[1] = (ch_slip){.start_s = 2000.0, .end_s = 2010.0};
    slips[2] = (ch_slip){.start_s = 2013.0, .end_s = 2014.0};
    slips[3] = (ch_slip){.start_s = 4000.0, .end_s = 4000.0};
    for (size_t first = 0; first < 2; first++) {
        size_t of[2] = {0}, seen[2] = {0};
        to.slips = 4;
        add(0, ROWS, first);
        for (size_t i = 0; i < ROWS; i++) {
            bool about = false;
            for (size_t k = first; k < 4; k++)
                about = about || (at_s[i] >= slips[k].start_s - 2.0 && at_s[i] <= slips[k].end_s + 2.0);
            of[about]++;
        }
        assert_int_equal(of[1],
                         57 + 16 + 17 + (first == 0 ? 17 : 0)); /* 1998 to 2012, on to 2016, 3998 to 4002, 0 to 4 s */
        size_t at = 0;
        for (size_t i = 0; i < ROWS; i++) {
            bool about = false;
            for (size_t k = first; k < 4; k++)
                about = about || (at_s[i] >= slips[k].start_s - 2.0 && at_s[i] <= slips[k].end_s + 2.0);
            if (seen[about]++ % stride_of(of[about]) != 0)
                continue;
            expect_close((double)shown.point[at].time_s, at_s[i], 0.0);
            assert_int_equal(shown.kind[at], about);
            at++;
        }
        assert_int_equal(shown.n, at);
        end(NULL);
    }
    /* slips too long to be shown row by row are thinned, and what lies between them is not */
    slips[0] = (ch_slip){.start_s = 1000.0, .end_s = 3500.0};
    to.slips = 1;
    add(0, ROWS, 0);
    const size_t about = (2504 * 4) + 1;
    assert_int_equal(shown.of[1], (about + stride_of(about) - 1) / stride_of(about));
    assert_int_equal(shown.of[0], (ROWS - about + stride_of(ROWS - about) - 1) / stride_of(ROWS - about));
    assert_int_equal(shown.n, shown.of[0] + shown.of[1]);
}

/* Never more than there is room for, however the two kinds fall. */
static void both_kinds_together_have_room(void **state)
{
    (void)state;
    slips[0] = (ch_slip){.start_s = 2.0 + EVERY_S * (MOST - 1), .end_s = EVERY_S * ROWS};
    to.slips = 1;
    for (size_t n = 2 * MOST - 4; n < 2 * MOST + 2; n++) {
        add(0, n, 0);
        assert_true(shown.n < CH_DRIVELINE_POINTS_MAX);
        const size_t about = n - (MOST - 1);
        assert_int_equal(shown.n, MOST - 1 + (about + stride_of(about) - 1) / stride_of(about));
        end(NULL);
    }
}

/* A point is on a gear's line within 2.5 %; speed has what it lacks added and is none below nought; rows of which either signal is unknown are left out. */
static void a_point_says_where_it_is(void **state)
{
    (void)state;
    static const struct {
        double engine, road, ratio, gear; /* `ratio` over the line of third */
        bool shown;
    } one[] = {{200.0, 15.0, 0.0, 3.0, true},     {200.0, 15.0, 0.0249, 3.0, true},  {200.0, 15.0, 0.0251, 0.0, true},
               {200.0, 15.0, -0.0249, 3.0, true}, {200.0, 15.0, -0.0251, 0.0, true}, {200.0, -0.2, 0.4308, 2.0, true},
               {200.0, -0.1, NAN, 0.0, true},     {NAN, 15.0, 0.0, 0.0, false},      {200.0, NAN, 0.0, 0.0, false},
               {200.0, 0.0, 0.0, 3.0, true}};
    enum { N = sizeof one / sizeof one[0] };
    for (size_t k = 0; k < N; k++) {
        engine[k] = (float)one[k].engine;
        road[k] = (float)one[k].road;
        ratio[k] = (float)(log(13.0) + one[k].ratio);
    }
    to.road_offset_m_s = 0.125;
    add(0, N, 0);
    size_t at = 0;
    for (size_t k = 0; k < N; k++) {
        if (!one[k].shown)
            continue;
        expect_close((double)shown.point[at].time_s, at_s[k], 0.0);
        expect_close((double)shown.point[at].engine_speed_rad_s, one[k].engine, 0.0);
        expect_close((double)shown.point[at].road_speed_m_s, fmax(one[k].road + 0.125, 0.0), 1e-6);
        expect_close((double)shown.point[at].gear, one[k].gear, 0.0);
        at++;
    }
    assert_int_equal(shown.n, at);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(rows_become_points_evenly, begin, end),
        cmocka_unit_test_setup_teardown(about_a_slip_all_rows_are_points, begin, end),
        cmocka_unit_test_setup_teardown(both_kinds_together_have_room, begin, end),
        cmocka_unit_test_setup_teardown(a_point_says_where_it_is, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

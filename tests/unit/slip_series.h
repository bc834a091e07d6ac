/* A slip in fourth gear, written row by row (drive_series.h), what must come of it, and how to bend it: for the tests of the search for slips. Included once a program. */
#ifndef CROSSHATCH_TESTS_SLIP_SERIES_H
#define CROSSHATCH_TESTS_SLIP_SERIES_H

#include "drive_series.h"

enum { FOURTH = 3, FIFTH = 4 };

/* Fourth gear for twenty seconds; from row 160 on ten rows up to 0.2 ahead, ten down. Ahead by more than the tolerance of 0.012 + 2.5*0.002: rows 161 to 179. */
enum { ROWS = 320, FROM = 160, FIRST = 161, PEAK = 170, LAST = 179, BACK = 180 };

static inline void begin(void)
{
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 10, 0, 10, 0.2);
}

static inline bool slipped(void)
{
    ch_driveline to = series_judged();
    const size_t n = to.slips;
    ch_driveline_clear(&to);
    assert_true(n <= 1);
    return n == 1;
}

static inline ch_slip only_slip(void)
{
    ch_driveline to = series_judged();
    assert_int_equal(to.slips, 1);
    assert_int_equal(to.slips_found, 1);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        assert_int_equal(to.not_slips[k], 0);
    const ch_slip slip = to.slip[0];
    ch_driveline_clear(&to);
    return slip;
}

/* The one thing beside slips that was noted, or CH_NOT_SLIP_KINDS. */
static inline ch_not_slip other(void)
{
    ch_driveline to = series_judged();
    ch_not_slip found = CH_NOT_SLIP_KINDS;
    assert_int_equal(to.slips, 0);
    assert_int_equal(to.slips_found, 0);
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        if (to.not_slips[k] > 0) {
            assert_true(found == CH_NOT_SLIP_KINDS && to.not_slips[k] == 1);
            found = (ch_not_slip)k;
        }
    ch_driveline_clear(&to);
    return found;
}

/* A slip, or what it was told to be instead. */
static inline void expect_slip_or(bool slips, ch_not_slip instead)
{
    if (slips)
        assert_true(slipped());
    else
        assert_int_equal(other(), instead);
}

static inline void set_traction(size_t from, size_t to, double m_s2)
{
    for (size_t i = from; i <= to; i++)
        run.row[i].traction_m_s2 = m_s2;
}

static inline void set_throttle(size_t from, size_t to, double throttle)
{
    for (size_t i = from; i <= to; i++)
        run.row[i].throttle = throttle;
}

static inline void set_line(size_t from, size_t to, int gear, double ahead)
{
    for (size_t i = from; i <= to; i++) {
        run.row[i].gear = gear;
        run.row[i].ahead = ahead;
    }
}

/* As much more on one row as less on the next: the mean stays, and a window without the one of them has another. */
static inline void lean(size_t more, size_t less, double by)
{
    run.row[more].traction_m_s2 += by;
    run.row[less].traction_m_s2 -= by;
}

/* A slip that ends with the foot lifting at a row, and then another gear. */
static inline void begin_change(size_t lifts)
{
    series_begin(ROWS, FOURTH);
    series_ahead(FROM, 10, lifts - FROM - 10, 1, 0.2);
    set_throttle(lifts, ROWS - 1, 0.1);
    set_line(lifts + 1, ROWS - 1, FIFTH, 0.0);
}

/* One end of the slip in `run`, from the rows alone: `sign` -1 is its beginning. Rows of the slip's own line are told from `base`. */
typedef struct end_by_hand {
    int sign;
    size_t row; /* the outermost that is ahead */
    double base, low, peak;
} end_by_hand;

static inline double over(const end_by_hand *e, size_t row)
{
    return (double)(float)(log(SERIES_LINE_RAD_M[FOURTH]) + run.row[row].ahead) - log(SERIES_LINE_RAD_M[FOURTH]) -
           e->base;
}

static inline size_t outward(const end_by_hand *e, size_t row, size_t rows)
{
    return e->sign < 0 ? row - rows : row + rows;
}

static inline double end_s(const end_by_hand *e)
{
    const double steep_at = over(e, e->row) - e->low, from_s = run.row[e->row].time_s;
    if (steep_at <= 0.0)
        return from_s;
    size_t row = e->row;
    while (over(e, row) > e->low)
        row = outward(e, row, 1);
    const size_t inner = outward(e, row, (size_t)-1);
    const double here = over(e, row), next = over(e, inner), apart_s = run.row[inner].time_s - run.row[row].time_s;
    if (fabs(apart_s) > 0.08) {
        const double second = over(e, outward(e, row, (size_t)-2)), rows = next / (second - next);
        return second > next && rows >= 0.0 && rows <= 1.0 ? run.row[inner].time_s - rows * apart_s
                                                           : run.row[row].time_s + 0.5 * apart_s;
    }
    double at_s = run.row[row].time_s + apart_s * (e->low - here) / (next - here);
    if (steep_at > 0.25 * e->low)
        at_s += e->sign * fmin(e->low / steep_at * fabs(from_s - at_s), 0.35);
    return at_s;
}

#endif

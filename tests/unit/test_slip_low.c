/*
 * Promises of driveline/slip_low.c: slip or wheelspin in a low gear, weighed a second time from docs/driveline.md, "Slip or wheelspin in a low gear", for events drawn at random about where
 * the verdict turns; and each rule beside that from either side of its limit.
 */
#include "drive_series.h"

#include "../../src/driveline/slip_parts.h"
#include "crosshatch/sampling.h"

enum { FIRST = 0, SECOND = 1, THIRD = 2, FOURTH = 3, FIFTH = 4, RUNS_MAX = 8, PARTS = 40 };

static slip_view view;
static ch_driveline to;
static slip_run in_gear[RUNS_MAX];
static size_t runs;
static series_arrays arrays;
static signals made;
static trail thinned;

/* Nothing in it yet: five gears, rows at even pull. */
static void begin_view(size_t rows)
{
    series_begin(rows, FOURTH);
    for (size_t i = 0; i < rows; i++)
        run.row[i].road_m_s = 20.0;
    runs = 0;
    to = run.to;
    view = (slip_view){.middle = 3};
}

/* Rows in gear; the next begin where they end. */
static void add_run(int gear, size_t rows, double climb_m_s2)
{
    const size_t from = runs == 0 ? 0 : in_gear[runs - 1].to + 1;
    in_gear[runs++] = (slip_run){.gear = gear, .from = from, .to = from + rows - 1};
    for (size_t i = from; i < from + rows; i++)
        run.row[i].traction_m_s2 = climb_m_s2 + 0.12 + 3.5e-4 * run.row[i].road_m_s * run.row[i].road_m_s;
}

static void lay_out(void)
{
    series_lay_out(&arrays, 0, 0.0);
    made = series_signals(&arrays);
    thinned = series_trail(&arrays);
    view.s = &made;
    view.t = &thinned;
    view.to = &to;
    for (int g = 0; g < SERIES_GEARS; g++)
        view.line[g] = log(SERIES_LINE_RAD_M[g]);
}

static void judge_low(size_t slips_before)
{
    assert_int_equal(slip_judge_low(&view, in_gear, runs, slips_before, &to, NULL), CH_OK);
}

static void end_view(void)
{
    series_free(&arrays);
    ch_driveline_clear(&to);
}

/* An ordinary car of 1100 kg, 0.65 m2 and 0.013 of rolling, without losses: torque but for a factor. */
static double torque(int gear, double climb_m_s2, double road_m_s)
{
    return (1.04 * 1100.0 * climb_m_s2 + 0.5 * 1.20 * 0.65 * road_m_s * road_m_s + 0.013 * 1100.0 * 9.80665) /
           SERIES_LINE_RAD_M[gear];
}

/* The climb at which a gear passes this torque at 20 m/s. */
static double climb_for(int gear, double torque_n_m)
{
    return (torque_n_m - torque(gear, 0.0, 20.0)) / (torque(gear, 1.0, 20.0) - torque(gear, 0.0, 20.0));
}

static slip_event event(int gear, size_t row, double pull_m_s2, double seconds)
{
    return (slip_event){.gear = gear,
                        .first = row,
                        .last = row,
                        .peak_at = row,
                        .start_s = 100.0,
                        .end_s = 100.0 + seconds,
                        .peak_1 = 0.1,
                        .pull_m_s2 = pull_m_s2};
}

static void add_low(int gear, double pull_m_s2, double seconds)
{
    slip_event e = event(gear, 0, pull_m_s2, seconds);
    e.start_s += 10.0 * (double)view.low_n;
    e.end_s += 10.0 * (double)view.low_n;
    view.low[view.low_n++] = e;
}

/* A slip that cannot be the wheels, as slip.c keeps it. */
static void add_high(int gear, double pull_m_s2, double seconds)
{
    const slip_event e = event(gear, 0, pull_m_s2, seconds);
    slip_note_high(&view, &e);
    view.plain_n++;
    assert_int_equal(slip_append(&view, &e, &to, NULL), CH_OK);
    to.slip[to.slips - 1].acceleration_m_s2 = pull_m_s2;
}

static void what_the_clutch_held_is_noted(void **state)
{
    (void)state;
    begin_view(4);
    run.row[1].road_m_s = 31.0;
    lay_out();
    for (int k = 0; k < SLIP_HIGH_MAX + 2; k++) {
        const slip_event e = event(k % SERIES_GEARS, (size_t)(k % 2), 0.01 * k, 0.5 + 0.001 * k);
        slip_note_high(&view, &e);
        const size_t n = (size_t)(k < SLIP_HIGH_MAX ? k + 1 : SLIP_HIGH_MAX);
        assert_int_equal(view.high_n, n);
        if (k < SLIP_HIGH_MAX) {
            expect_relative(view.high[k].torque, torque(k % SERIES_GEARS, 0.01 * k, k % 2 == 1 ? 31.0 : 20.0), 1e-6);
            expect_close(view.high[k].seconds, 0.5 + 0.001 * k, 1e-12);
        }
    }
    expect_close(view.high[SLIP_HIGH_MAX - 1].seconds, 0.5 + 0.001 * (SLIP_HIGH_MAX - 1), 1e-12);
    assert_int_equal(view.low_n + view.plain_n, 0);
    end_view();
}

/*
 * Before an event the tyres gripped in the rows of the same pull that gave 0.8 of its thrust: up to 0.3 s before it (here five rows) and for twelve seconds at most, 188 of them; back to where the car was driven a quarter as hard, the
 * engine was below the line, or on that of a lower gear, or the log has a gap.
 */
static void the_tyres_gripped_as_long_as_the_pull_was_as_hard(void **state)
{
    (void)state;
    enum { AT = 260, NEAREST = AT - 5, LESS = AT - 20, BREAKS = AT - 40 };
    const double drag = 0.12 + 3.5e-4 * 400.0, thrust = 2.0 + drag, every = 0.0625;
    static const struct {
        double less_1;   /* of the thrust, in one row in between */
        double breaks_1; /* in another, further back */
        double ahead;    /* of the engine in that row */
        double gap_s;
        double steps; /* of a sixteenth of a second that count */
    } one[] = {{1.0, 1.0, 0.0, 0.0, 188},   {0.81, 1.0, 0.0, 0.0, 188},      {0.79, 1.0, 0.0, 0.0, 187},
               {1.0, 0.26, 0.0, 0.0, 187},  {1.0, 0.24, 0.0, 0.0, 35},       {1.0, 1.0, -0.059, 0.0, 188},
               {1.0, 1.0, -0.061, 0.0, 35}, {1.0, 1.0, 0.202, 0.0, 188},     {1.0, 1.0, 0.204, 0.0, 35},
               {1.0, 1.0, 0.0, 1.0, 35},    {1.0, 1.0, (double)NAN, 0.0, 35}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin_view(300);
        for (size_t i = 0; i < 300; i++)
            run.row[i].traction_m_s2 = thrust;
        for (size_t i = BREAKS + 1; i < 300; i++)
            run.row[i].time_s += one[k].gap_s;
        run.row[LESS].traction_m_s2 = one[k].less_1 * thrust;
        run.row[BREAKS].traction_m_s2 = one[k].breaks_1 * thrust;
        run.row[BREAKS].ahead = one[k].ahead;
        lay_out();
        const slip_event e = event(FOURTH, AT, 2.0, 0.6);
        expect_close(slip_gripped_before(&view, &e), one[k].steps * every, 1e-9);
        end_view();
    }
    /* first gear has no lower one: 0.35 ahead of its line a clutch may slip; and acceleration over a slow speed knows of more */
    for (int side = -1; side <= 1; side += 2) {
        begin_view(300);
        for (size_t i = 0; i < 300; i++) {
            run.row[i].gear = FIRST;
            run.row[i].traction_m_s2 = thrust;
        }
        run.row[BREAKS].ahead = 0.35 + 0.001 * side;
        lay_out();
        made.road_fresh_s = 0.5;
        const slip_event e = event(FIRST, AT, 2.0, 0.6);
        expect_close(slip_gripped_before(&view, &e), (side < 0 ? 185 : 32) * every, 1e-9);
        end_view();
    }
}

/* Without a slip of a higher gear: where higher gears held 0.95 of the torque for 3 s it was the wheels; else it is left open. */
static void alone_it_is_the_wheels_or_left_open(void **state)
{
    (void)state;
    static const struct {
        int held_in;
        size_t rows; /* 48 steps of a sixteenth of a second */
        double of_torque_1;
        bool wheels;
    } one[] = {{THIRD, 49, 0.953, true}, {THIRD, 48, 0.953, false}, {FIFTH, 49, 0.953, true}, {THIRD, 49, 0.947, false},
               {SECOND, 49, 2.0, false}, {FIRST, 49, 2.0, false},   {THIRD, 50, 0.947, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin_view(120);
        add_run(one[k].held_in, one[k].rows, climb_for(one[k].held_in, one[k].of_torque_1 * torque(SECOND, 3.0, 20.0)));
        add_run(FIRST, 20, 9.0);
        lay_out();
        add_low(SECOND, 3.0, 0.6);
        judge_low(0);
        assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], one[k].wheels);
        assert_int_equal(to.limits, one[k].wheels ? 0 : CH_LIMIT_LOW_GEARS);
        assert_int_equal(to.slips + to.slips_found, 0);
        end_view();
    }
    /* each event for itself */
    begin_view(200);
    add_run(THIRD, 60, climb_for(THIRD, torque(FIRST, 2.0, 20.0)));
    add_run(SECOND, 60, climb_for(SECOND, torque(FIRST, 3.0, 20.0)));
    lay_out();
    add_low(FIRST, 2.0, 0.6);
    add_low(FIRST, 3.0, 0.6);
    add_low(SECOND, climb_for(SECOND, torque(FIRST, 3.0, 20.0)), 0.6);
    add_low(FIRST, 1.0, 0.6);
    judge_low(0);
    assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], 3);
    assert_int_equal(to.limits, CH_LIMIT_LOW_GEARS);
    end_view();
}

/* A gap of more than a second between two rows was not pulled through, nor what comes after the last row of a run. */
static void only_time_on_the_line_counts_as_held(void **state)
{
    (void)state;
    for (int how = 0; how < 4; how++) {
        begin_view(120);
        add_run(THIRD, 34, climb_for(THIRD, torque(SECOND, 3.0, 20.0))); /* 33 steps: 2.0625 s */
        add_run(THIRD, 16,
                how == 3 ? 0.0 : climb_for(THIRD, torque(SECOND, 3.0, 20.0))); /* 15: 0.9375 s; three seconds in all */
        for (size_t i = 20; i < 120; i++)
            run.row[i].time_s += how == 1 ? 1.0 : how == 2 ? -0.03125 : 0.0;
        for (size_t i = 0; i < 5 && how == 1; i++) /* a gap brings nothing; a twentieth of it would be enough */
            run.row[i].time_s = 0.0625 * (double)i;
        lay_out();
        add_low(SECOND, 3.0, 0.6);
        judge_low(0);
        /* with the gap 0.0625 s are lacking */
        assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], how == 0);
        end_view();
    }
}

/* Events of higher gears that all look like a change of gear are changes, those of the chapters before stay. */
static void changes_without_lifting_are_no_slips(void **state)
{
    (void)state;
    for (int plain = 0; plain < 2; plain++) {
        begin_view(20);
        add_run(FOURTH, 20, 0.5);
        lay_out();
        add_high(FOURTH, 2.0, 0.6);
        view.high_n = 0;
        add_high(FOURTH, 2.0, 0.6);
        add_high(FIFTH, 2.0, 0.6);
        view.plain_n = (size_t)plain;
        add_low(SECOND, 3.0, 0.6);
        judge_low(1);
        if (plain) {
            assert_int_equal(to.not_slips[CH_NOT_SLIP_CLUTCH], 0);
            assert_true(to.slips >= 3 && to.slips_found == to.slips);
        } else {
            assert_int_equal(to.not_slips[CH_NOT_SLIP_CLUTCH], 2);
            assert_int_equal(to.slips, 1);
            assert_int_equal(to.slips_found, 1);
            assert_int_equal(to.limits, CH_LIMIT_LOW_GEARS); /* and nothing is known of second gear */
        }
        end_view();
    }
    begin_view(20); /* of none nothing is taken away */
    lay_out();
    judge_low(0);
    assert_int_equal(to.slips + to.limits + to.not_slips[CH_NOT_SLIP_CLUTCH], 0);
    end_view();
}

/* Third gear: twice as many out of corners as others, and none in a higher gear: all were the wheels. */
static void slips_of_third_gear_mostly_out_of_corners_are_none(void **state)
{
    (void)state;
    static const struct {
        size_t corners, others, higher, second; /* of third but the last two */
        bool wheels;
    } one[] = {{2, 1, 0, 0, true}, {1, 1, 0, 0, false}, {1, 0, 0, 0, true},
               {4, 2, 0, 3, true}, {3, 2, 0, 3, false}, {4, 1, 1, 0, false}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++) {
        begin_view(20);
        add_run(FIRST, 20, 0.5);
        lay_out();
        add_high(FOURTH, 1.0, 0.6); /* in the chapter before */
        view.high_n = 0;
        for (size_t i = 0; i < one[k].others; i++)
            add_high(THIRD, 2.0, 0.6);
        for (size_t i = 0; i < one[k].higher; i++)
            add_high(FOURTH, climb_for(FOURTH, torque(THIRD, 2.0, 20.0)), 0.6);
        for (size_t i = 0; i < one[k].second; i++)
            add_low(SECOND, climb_for(SECOND, torque(THIRD, 2.0, 20.0)), 0.6);
        for (size_t i = 0; i < one[k].corners; i++)
            add_low(THIRD, 2.0, 0.6);
        judge_low(1);
        if (one[k].wheels) {
            assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], one[k].corners + one[k].others + one[k].second);
            assert_int_equal(to.slips, 1);
            assert_int_equal(to.slips_found, 1);
            assert_int_equal(to.limits, 0);
        } else {
            assert_int_equal(to.slips, 1 + one[k].others + one[k].higher + one[k].corners + one[k].second);
            assert_int_equal(to.slips_found, to.slips);
        }
        end_view();
    }
}

/* Or where higher gears held as much for more than 3 s, or 0.95 of it for more than 15 s, unless a third of the slips last 1.6 s below 2.4 m/s2. */
static void what_higher_gears_hold_third_gear_holds(void **state)
{
    (void)state;
    static const struct {
        size_t rows;
        double of_torque_1;
        int held_in;
        bool wheels;
    } held[] = {{50, 1.003, FOURTH, true},  {49, 1.003, FOURTH, false}, {50, 0.997, FOURTH, false},
                {242, 0.953, FOURTH, true}, {241, 0.953, FIFTH, false}, {242, 0.947, FOURTH, false},
                {250, 1.1, THIRD, false},   {242, 0.953, FIFTH, true}};
    for (size_t k = 0; k < sizeof held / sizeof held[0]; k++) {
        begin_view(300);
        add_run(held[k].held_in, held[k].rows,
                climb_for(held[k].held_in, held[k].of_torque_1 * torque(THIRD, 2.0, 20.0)));
        lay_out();
        add_high(THIRD, 2.0, 0.6);
        judge_low(0);
        assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], held[k].wheels);
        assert_int_equal(to.slips, !held[k].wheels);
        assert_int_equal(to.slips_found, !held[k].wheels);
        end_view();
    }
    static const struct {
        size_t slips, lasting;
        double seconds, pull_m_s2;
        bool wheels;
    } one[] = {{3, 1, 1.61, 2.0, false},  {4, 1, 1.61, 2.0, true}, {3, 1, 1.59, 2.0, true},  {3, 1, 1.61, 2.41, true},
               {3, 1, 1.61, 2.39, false}, {3, 0, 1.61, 2.0, true}, {6, 2, 1.61, 2.0, false}, {7, 2, 1.61, 2.0, true}};
    for (size_t k = 0; k < sizeof one / sizeof one[0]; k++)
        for (int before = 0; before < 2; before++) {
            begin_view(300);
            add_run(FIFTH, 60, 9.0);
            lay_out();
            if (before) { /* slips of an earlier chapter are judged already */
                add_high(FOURTH, 2.0, 3.0);
                view.high_n = 0;
            }
            for (size_t i = 0; i < one[k].slips; i++)
                add_high(THIRD, i < one[k].lasting ? one[k].pull_m_s2 : 2.0, i < one[k].lasting ? one[k].seconds : 0.6);
            judge_low((size_t)before);
            assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], one[k].wheels ? one[k].slips : 0);
            assert_int_equal(to.slips, (size_t)before + (one[k].wheels ? 0 : one[k].slips));
            end_view();
        }
}

/*
 * Where second gear puts down 1.1 times as much thrust for 10 s, and for longer than it spins, neither the clutch nor the wheels explain third gear: nothing tells. Thrust of the
 * slip: 2.0 m/s2 and the 0.26 of 20 m/s; rows are a sixteenth of a second apart.
 */
static void what_lower_gears_put_down_third_gear_puts_down(void **state)
{
    (void)state;
    static const struct {
        size_t rows;
        double thrust_m_s2;
        int held_in;
        double spins_s;
        size_t corners; /* third gear out of corners: four of two and four are nearly all */
        bool told;
    } held[] = {{161, 2.487, SECOND, 0.0, 0, false}, {160, 2.487, SECOND, 0.0, 0, true},
                {161, 2.485, SECOND, 0.0, 0, true},  {161, 2.487, FIRST, 0.0, 0, false},
                {161, 2.487, THIRD, 0.0, 0, true},   {161, 2.487, SECOND, 9.9, 0, false},
                {161, 2.487, SECOND, 10.1, 0, true}, {177, 2.487, SECOND, 10.1, 0, false},
                {161, 2.487, SECOND, 0.0, 4, true},  {161, 2.487, SECOND, 9.9, 3, false}};
    for (size_t k = 0; k < sizeof held / sizeof held[0]; k++) {
        begin_view(300);
        add_run(FOURTH, 60, climb_for(FOURTH, 1.05 * torque(THIRD, 2.0, 20.0)));
        add_run(held[k].held_in, held[k].rows, held[k].thrust_m_s2 - 0.26);
        lay_out();
        add_high(THIRD, 1.5, 0.6);
        add_high(THIRD, 2.0, 0.6); /* the harder of two; at the torque of both, fourth gear held */
        if (held[k].spins_s > 0.0)
            add_low(SECOND, 2.0, held[k].spins_s);
        for (size_t i = 0; i < held[k].corners; i++)
            add_low(THIRD, 2.0, 0.6);
        const size_t low = view.low_n;
        judge_low(0);
        assert_int_equal(to.limits, held[k].told ? 0 : CH_LIMIT_LOW_GEARS);
        assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], low + (held[k].told ? 2 : 0));
        assert_int_equal(to.slips, 0);
        assert_int_equal(to.slips_found, 0);
        end_view();
    }
}

/* Density of how long the tyres gripped before: a part at once, within 0.15 s or so, the others late. */
static double comes(double gripped_s, double at_once_1, double late_s)
{
    return at_once_1 * exp(-gripped_s / 0.15) / 0.15 + (1.0 - at_once_1) * exp(-gripped_s / late_s) / late_s;
}

/*
 * Third gear alone, which fourth holds, and second put down more thrust: the clutch, where tyres had gripped in the same pulls; from which number of such slips on, all alike, is
 * worked out here. As slips they come late with a mean of (5 + 1 n)/(5 + n) = 1 s, one in 5 + n at once, and last 0.5 s longer than 0.4 s; wheels that spin come late with 1 s, six in ten
 * at once, and last 0.35 s longer. The part of slips is 0.05, 0.15, ..., 0.95, any as likely; the odds must be above 30.
 */
static void third_gear_alone_is_the_clutch_where_the_tyres_had_gripped(void **state)
{
    (void)state;
    static const double seconds[] = {0.4, 1.4};
    size_t told[2] = {0};
    for (size_t how = 0; how < 2; how++)
        for (size_t n = 1; n <= 24; n++)
            for (int corner = 0; corner < 2; corner++) {
                begin_view(300);
                add_run(FOURTH, 60, climb_for(FOURTH, 1.05 * torque(THIRD, 2.0, 20.0)));
                add_run(SECOND, 161, 2.487 - 0.26);
                lay_out();
                for (size_t k = 0; k < n; k++) {
                    add_high(THIRD, 2.0, seconds[how]);
                    view.high[k].gripped_s = 1.0;
                }
                const double longer_s = seconds[how] - 0.4, lasts_s = fmax(longer_s, 0.5),
                             at_once_1 = 1.0 / (5.0 + (double)n);
                const double slip = comes(1.0, at_once_1, 1.0) * exp(-longer_s / lasts_s) / lasts_s,
                             spin = comes(1.0, 0.6, 1.0) * exp(-longer_s / 0.35) / 0.35;
                if (corner) /* one out of a corner, at once and short, counts as well, against the clutch */
                    add_low(THIRD, 2.0, 0.4);
                double odds = 0.0;
                for (int p = 0; p < 10; p++) {
                    const double part = 0.05 + 0.1 * p;
                    double one = pow(1.0 - part + part * slip / spin, (double)n);
                    if (corner)
                        one *= 1.0 - part + part * comes(0.0, at_once_1, 1.0) / lasts_s / (comes(0.0, 0.6, 1.0) / 0.35);
                    odds += one / 10.0;
                }
                judge_low(0);
                const bool clutch = odds > 30.0;
                told[clutch]++;
                assert_true(clutch ? to.slips >= n : to.slips == 0);
                assert_int_equal(to.slips, to.slips_found);
                if (!clutch)
                    assert_int_equal(to.limits, CH_LIMIT_LOW_GEARS);
                end_view();
            }
    assert_true(told[0] > 10 && told[1] > 10); /* that both are met */
}

/* What is known beforehand of one run, by the same words as in docs/driveline.md. */
typedef struct beforehand {
    double middle_log, u_1, longer_s, at_once_1, late_s; /* of the slips of higher gears */
    bool ahead_in_first;
} beforehand;

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static beforehand told_beforehand(void)
{
    double logs[PARTS], apart[PARTS], longer = 0.0, late_s = 5.0;
    size_t n = 0, late = 0;
    for (size_t k = 0; k < view.high_n; k++)
        if (view.high[k].torque > 0.0) {
            logs[n++] = log(view.high[k].torque);
            longer += fmax(view.high[k].seconds - 0.4, 0.0);
            late += view.high[k].gripped_s >= 0.15;
            late_s += view.high[k].gripped_s >= 0.15 ? view.high[k].gripped_s : 0.0;
        }
    qsort(logs, n, sizeof *logs, rising);
    for (size_t k = 0; k < n; k++)
        apart[k] = fabs(logs[k] - logs[n / 2]);
    qsort(apart, n, sizeof *apart, rising);
    beforehand b = {.middle_log = logs[n / 2],
                    .u_1 = sqrt(pow(fmax(1.4826 * apart[n / 2], 0.1), 2.0) + 0.01 / (double)n),
                    .longer_s = fmax(longer / (double)n, 0.5),
                    .at_once_1 = (1.0 + (double)(n - late)) / (5.0 + (double)n),
                    .late_s = late_s / (5.0 + (double)late)};
    for (size_t k = 0; k < view.low_n; k++)
        b.ahead_in_first = b.ahead_in_first || view.low[k].gear == FIRST;
    return b;
}

/* Seconds on the lines of gears `least` to `most`, as indices, at this torque or, of NaN, this thrust. */
static double held_by_hand(int least, int most, double torque_n_m, double thrust_m_s2)
{
    double seconds = 0.0;
    for (size_t k = 0; k < runs; k++)
        for (size_t i = in_gear[k].from; i < in_gear[k].to; i++) {
            const double road = made.road[i], climb = made.climb[i], next_s = made.time_s[i + 1] - made.time_s[i];
            const bool much = isnan(torque_n_m) ? climb + 0.12 + 3.5e-4 * road * road >= thrust_m_s2
                                                : torque(in_gear[k].gear, climb, road) >= torque_n_m;
            if (in_gear[k].gear >= least && in_gear[k].gear <= most && much && next_s <= 1.0)
                seconds += next_s;
        }
    return seconds;
}

/* Of one gear's events, what part are slips beforehand. */
static double expected_by_hand(const beforehand *b, int gear)
{
    double n = 0.0, ahead_s = 0.0, slipping_s = 0.0;
    for (size_t k = 0; k < view.low_n; k++)
        if (view.low[k].gear == gear) {
            n++;
            ahead_s += view.low[k].end_s - view.low[k].start_s;
        }
    for (size_t k = 0; k < view.high_n; k++)
        slipping_s += view.high[k].seconds;
    const double as_hard = 0.9 * exp(b->middle_log),
                 expected = (double)view.high_n / (slipping_s + held_by_hand(THIRD, FIFTH, as_hard, NAN)) *
                            (ahead_s + held_by_hand(gear, gear, as_hard, NAN));
    return fmin(fmax(expected / n, 0.1), 0.8);
}

/* Chance of each event that it is a slip: expectation and maximisation, thirty times, of each gear's part of slips and of when wheels spin. */
static void chances_by_hand(double chance[PARTS])
{
    const beforehand b = told_beforehand();
    const double pi = 3.14159265358979323846;
    double slip[PARTS] = {0.0}, spin[PARTS] = {0.0}, part[SERIES_GEARS], first[SERIES_GEARS], at_once = 0.6,
           late_s = 1.0;
    for (size_t k = 0; k < view.low_n; k++) {
        const slip_event *e = &view.low[k];
        const double road = made.road[e->first], passed = torque(e->gear, e->pull_m_s2, road),
                     thrust = e->pull_m_s2 + 0.12 + 3.5e-4 * road * road,
                     longer_s = fmax(e->end_s - e->start_s - 0.4, 0.0);
        first[e->gear] = part[e->gear] = expected_by_hand(&b, e->gear);
        if (!(passed > 0.0 && thrust > 0.0))
            continue;
        /* Student's t of four degrees of freedom; a normal distribution */
        const double u = sqrt(b.u_1 * b.u_1 + pow(0.15 / thrust, 2.0)), t = (log(passed) - b.middle_log) / u,
                     z = log(thrust / 3.8) / 0.4;
        slip[k] = tgamma(2.5) / (sqrt(4.0 * pi) * tgamma(2.0) * u) * pow(1.0 + t * t / 4.0, -2.5) *
                  exp(-longer_s / b.longer_s) / b.longer_s * comes(e->gripped_s, b.at_once_1, b.late_s);
        spin[k] = exp(-z * z / 2.0) / (0.4 * sqrt(2.0 * pi)) * exp(-longer_s / 0.35) / 0.35;
        if (!b.ahead_in_first)
            spin[k] *= fmax(exp(-held_by_hand(FIRST, FIRST, NAN, 1.1 * thrust) / 3.0), 0.15);
    }
    for (int round = 0; round < 30; round++) {
        double found[SERIES_GEARS] = {0.0}, n[SERIES_GEARS] = {0.0}, spins = 5.0, lates = 2.0, lates_s = 2.0;
        for (size_t k = 0; k < view.low_n; k++) {
            const slip_event *e = &view.low[k];
            const double a = part[e->gear] * slip[k],
                         w = (1.0 - part[e->gear]) * spin[k] * comes(e->gripped_s, at_once, late_s);
            chance[k] = a + w > 0.0 ? a / (a + w) : 0.0;
            found[e->gear] += chance[k];
            n[e->gear]++;
            spins += 1.0 - chance[k];
            if (e->gripped_s >= 0.15) {
                lates += 1.0 - chance[k];
                lates_s += (1.0 - chance[k]) * e->gripped_s;
            }
        }
        for (int g = FIRST; g < SERIES_GEARS; g++)
            if (n[g] > 0.0) {
                const double weight = 2.0 + 0.5 * n[g];
                part[g] = (found[g] + weight * first[g]) / (n[g] + weight);
            }
        at_once = 1.0 - lates / spins;
        late_s = lates_s / lates;
    }
}

static double between(ch_stream *stream, double least, double most)
{
    return least + (most - least) * ch_stream_uniform(stream);
}

/* A run: some slips of higher gears about one torque, some pulling in every gear, some events of low gears about what a clutch or tyres hold. */
static void draw_run(ch_stream *stream)
{
    begin_view(220);
    const double held = torque(FOURTH, between(stream, 0.8, 2.0), 20.0);
    for (size_t i = 0; i < 220; i++) {
        run.row[i].road_m_s = between(stream, 12.0, 30.0);
        run.row[i].time_s = 0.0625 * (double)i + (i > 90 ? 2.0 : 0.0); /* a gap in the middle of a run */
    }
    for (int g = FIRST; g <= FIFTH; g++)
        add_run(g, g == FIRST ? (size_t)between(stream, 2.0, 60.0) : (size_t)between(stream, 5.0, 38.0), 0.5);
    for (size_t k = 0; k < runs; k++)
        for (size_t i = in_gear[k].from; i <= in_gear[k].to; i++) {
            const double drag = 0.12 + 3.5e-4 * run.row[i].road_m_s * run.row[i].road_m_s,
                         passed = held * between(stream, 0.75, 1.1);
            run.row[i].traction_m_s2 = drag + (k == FIRST ? between(stream, 1.0, 6.0)
                                                          : (passed - torque((int)k, 0.0, run.row[i].road_m_s)) /
                                                                (1.04 * 1100.0 / SERIES_LINE_RAD_M[k]));
        }
    lay_out();
    const size_t highs = 1 + (size_t)between(stream, 0.0, 7.0), lows = 1 + (size_t)between(stream, 0.0, 7.0);
    const double scatter = between(stream, 0.0, 0.15), lasts_s = between(stream, 0.3, 2.0);
    for (size_t k = 0; k < highs; k++)
        add_high(k % 2 == 0 ? FOURTH : FIFTH,
                 climb_for(k % 2 == 0 ? FOURTH : FIFTH, held * exp(between(stream, -scatter, scatter))),
                 between(stream, 0.25, 2.0 * lasts_s));
    for (size_t k = 0; k < view.high_n; k++)
        view.high[k].gripped_s = fmax(between(stream, -0.5, 3.0), 0.0);
    if (highs > 1 && ch_stream_uniform(stream) < 0.1)
        view.high[0].torque = -5.0; /* an engine that held back says nothing of what the clutch holds */
    const bool first_too = ch_stream_uniform(stream) < 0.4;
    for (size_t k = 0; k < lows; k++) {
        const int gear = first_too && k % 3 == 2 ? FIRST : k % 4 == 3 ? THIRD : SECOND;
        const double pull = ch_stream_uniform(stream) < 0.5 ? climb_for(gear, held * exp(between(stream, -0.3, 0.3)))
                                                            : between(stream, 1.5, 6.0);
        add_low(gear, ch_stream_uniform(stream) < 0.03 ? -3.0 : pull, between(stream, 0.25, 1.6));
        view.low[k].first = (size_t)between(stream, 0.0, 100.0);
        view.low[k].gripped_s = fmax(between(stream, -0.5, 2.0), 0.0);
    }
}

/* Above 0.55 it is a slip, below 0.3 the wheels', in between left open: each of some thousand events as worked out by hand. */
static void events_are_weighed_as_by_hand(void **state)
{
    (void)state;
    size_t slips = 0, wheels = 0, open = 0;
    ch_stream stream;
    ch_stream_init(&stream, 73, 0);
    for (int round = 0; round < 900; round++) {
        draw_run(&stream);
        const size_t before = to.slips, before_found = to.slips_found;
        size_t wanted[3] = {0};
        bool near = false;
        double at_s[PARTS], chance[PARTS];
        chances_by_hand(chance);
        for (size_t k = 0; k < view.low_n; k++) {
            near = near || fabs(chance[k] - 0.55) < 1e-6 || fabs(chance[k] - 0.3) < 1e-6; /* floats */
            if (chance[k] > 0.55)
                at_s[wanted[0]] = view.low[k].start_s;
            wanted[chance[k] > 0.55 ? 0 : chance[k] > 0.3 ? 1 : 2]++;
        }
        judge_low(0);
        if (!near) {
            assert_int_equal(to.slips, before + wanted[0]);
            assert_int_equal(to.slips_found, before_found + wanted[0]);
            for (size_t k = 0; k < wanted[0]; k++)
                expect_close(to.slip[before + k].start_s, at_s[k], 0.0);
            assert_int_equal(to.limits, wanted[1] > 0 ? CH_LIMIT_LOW_GEARS : 0);
            assert_int_equal(to.not_slips[CH_NOT_SLIP_WHEELSPIN], wanted[2]);
        }
        slips += wanted[0];
        open += wanted[1];
        wheels += wanted[2];
        end_view();
    }
    assert_true(slips > 300 && open > 200 && wheels > 300); /* that all of it is met */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_the_clutch_held_is_noted),
        cmocka_unit_test(the_tyres_gripped_as_long_as_the_pull_was_as_hard),
        cmocka_unit_test(alone_it_is_the_wheels_or_left_open),
        cmocka_unit_test(only_time_on_the_line_counts_as_held),
        cmocka_unit_test(changes_without_lifting_are_no_slips),
        cmocka_unit_test(slips_of_third_gear_mostly_out_of_corners_are_none),
        cmocka_unit_test(what_higher_gears_hold_third_gear_holds),
        cmocka_unit_test(what_lower_gears_put_down_third_gear_puts_down),
        cmocka_unit_test(third_gear_alone_is_the_clutch_where_the_tyres_had_gripped),
        cmocka_unit_test(events_are_weighed_as_by_hand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

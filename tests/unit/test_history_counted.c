/*
 * Promises of decide/history.c and history_result.c, held against invented lives of engines of which everything is known: running time from whatever
 * figures are there, what is usual, what the fit is given, and what is kept of a sheet.
 */
#include "crosshatch/history.h"
#include "crosshatch/sampling.h"
#include "expect.h"

#include <stdlib.h>
#include <string.h>

#define HOUR_S 3600.0
enum { SHEETS_MAX = 12, EVENTS_MAX = 60, TWO = 2 };

static ch_history history; /* too large for some stacks */
static ch_history_sheet sheet[SHEETS_MAX];
static ch_history_event event[EVENTS_MAX];
static double true_s[SHEETS_MAX]; /* running time of each sheet, by its id - 1 */
static size_t sheets, events;
static ch_date today;

static ch_history_sheet sheet_on(int64_t id, ch_date day, double hours_s)
{
    ch_history_sheet s = {.id = id, .day = day, .opened_s = id, .hours_s = hours_s, .odometer_m = NAN};
    s.result = (ch_history_result){.cylinders = TWO,
                                   .reliable = true,
                                   .sound_m2 = 0.3e-6,
                                   .u_sound_1 = 0.45,
                                   .watch_m2 = 0.8e-6,
                                   .fault_m2 = 1.5e-6};
    for (int c = 0; c < TWO; c++) {
        s.result.cylinder[c].cause_1[CH_CAUSE_SOUND] = 1.0;
        for (int k = 0; k < CH_TRACE_LADDER; k++)
            s.result.cylinder[c].ladder_m2[k] = 0.3e-6 * exp(0.3 * (k - 9) / 9.0);
    }
    return s;
}

static void build(const ch_history_repair repair[], size_t repairs)
{
    ch_err err = {0};
    if (ch_history_build(sheet, sheets, event, events, repair, repairs, today, &history, &err) < 0)
        fail_msg("%s", err.what);
}

/* A life: events on days of their own, each of known running time; sheets on days between, in no order of entry. */
static void draw_life(ch_stream *stream)
{
    const long first = ch_date_days((ch_date){2024, 2, 20});
    long day = first;
    double ran_s = 1000.0 * ch_stream_uniform(stream) * HOUR_S;
    sheets = events = 0;
    while (events < EVENTS_MAX - 1 && sheets < SHEETS_MAX) {
        day += 1 + (long)(40.0 * ch_stream_uniform(stream));
        if (ch_stream_uniform(stream) < 0.3) {
            true_s[sheets] = ran_s;
            sheet[sheets] = sheet_on((int64_t)sheets + 1, ch_date_from_days(day), ran_s);
            sheets++;
        } else {
            const double hours = 1.0 + floor(12.0 * ch_stream_uniform(stream)) / 2.0;
            event[events] = (ch_history_event){(int64_t)events + 1, ch_date_from_days(day), hours * HOUR_S, "invented"};
            events++;
            ran_s += hours * HOUR_S;
        }
    }
    today = ch_date_from_days(day + 30);
    for (size_t i = sheets; i > 1; i--) {
        const size_t j = (size_t)(ch_stream_uniform(stream) * (double)i);
        const ch_history_sheet kept = sheet[i - 1];
        sheet[i - 1] = sheet[j];
        sheet[j] = kept;
    }
}

static double ran_since(ch_date day)
{
    double sum = 0.0;
    for (size_t e = 0; e < events; e++)
        if (ch_date_days(event[e].day) > ch_date_days(day) && ch_date_days(event[e].day) <= ch_date_days(today))
            sum += event[e].running_s;
    return sum;
}

/* Hours noted on some sheets only: all stand where they ran, by the events between. On none: the line begins at 0. */
static void running_time_is_found_from_whatever_was_noted(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 91, 0);
    for (int round = 0; round < 60; round++) {
        draw_life(&stream);
        const double noted_1 = round % 3 == 0 ? 1.0 : round % 3 == 1 ? 0.4 : 0.0;
        double offset_s = NAN, before_first_s = 0.0;
        bool any = false;
        for (size_t i = 0; i < sheets; i++) {
            if (!(ch_stream_uniform(&stream) < noted_1))
                sheet[i].hours_s = NAN;
            any = any || !isnan(sheet[i].hours_s);
        }
        build(NULL, 0);
        assert_int_equal(history.count, sheets);
        if (!any)
            for (size_t e = 0; e < events; e++) /* counted from the first event on */
                before_first_s +=
                    ch_date_days(event[e].day) <= ch_date_days(history.point[0].sheet->day) ? event[e].running_s : 0.0;
        offset_s = any ? 0.0 : before_first_s - true_s[history.point[0].sheet->id - 1];
        for (size_t i = 0; i < sheets; i++) {
            const ch_history_point *p = &history.point[i];
            assert_int_equal(p->sheet->id, i + 1); /* invented in the order of their days */
            expect_close(p->running_s, true_s[i] + offset_s, 1e-6);
            assert_int_equal(p->noted, !isnan(p->sheet->hours_s));
            assert_true(p->fitted && p->at == i);
            expect_close(history.wear[i].running_s, p->running_s, 0.0);
        }
        expect_close(history.last_s, true_s[sheets - 1] + offset_s, 1e-6);
        expect_close(history.now_s, history.last_s + ran_since(history.point[sheets - 1].sheet->day), 1e-6);
        assert_int_equal(history.question_count, any ? 0 : 1);
        if (!any)
            assert_int_equal(history.question[0].kind, CH_HISTORY_HOURS_FROM_EVENTS);
    }
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The median of the events that have run; running time in a year by the events of the last two, or by the sheets, whichever is more. */
static void what_is_usual_is_counted_from_what_has_run(void **state)
{
    (void)state;
    ch_stream stream;
    ch_stream_init(&stream, 92, 0);
    for (int round = 0; round < 40; round++) {
        draw_life(&stream);
        double known_s[EVENTS_MAX], recent_s = 0.0;
        event[events] = (ch_history_event){99, ch_date_from_days(ch_date_days(today) + 1), 90.0 * HOUR_S, "to come"};
        for (size_t e = 0; e < events; e++) {
            known_s[e] = event[e].running_s;
            recent_s += (double)(ch_date_days(today) - ch_date_days(event[e].day)) < 2.0 * 365.25 ? known_s[e] : 0.0;
        }
        qsort(known_s, events, sizeof *known_s, rising);
        const double median_s = 0.5 * (known_s[(events - 1) / 2] + known_s[events / 2]);
        events++;
        build(NULL, 0);
        if (events > 1)
            expect_close(history.usual_event_s, median_s, 1e-6);
        const ch_history_point *first = &history.point[0], *last = &history.point[sheets - 1];
        const double years = (double)(ch_date_days(last->sheet->day) - ch_date_days(first->sheet->day)) / 365.25,
                     by_sheets_s = years > 0.5 ? (last->running_s - first->running_s) / years : 0.0;
        expect_close(history.year_s, fmax(0.5 * recent_s, by_sheets_s), 1e-6);
        events = 0; /* nothing known: a usual event is two hours, a year ten of them */
        sheets = 1;
        build(NULL, 0);
        expect_close(history.usual_event_s, CH_HISTORY_EVENT_S, 0.0);
        expect_close(history.year_s, 10.0 * CH_HISTORY_EVENT_S, 1e-9);
    }
}

/* Distance alone: 50 km are an hour. */
static void distance_counts_where_nothing_else_does(void **state)
{
    (void)state;
    sheets = 3;
    events = 0;
    today = (ch_date){2028, 6, 1};
    for (int i = 0; i < 3; i++) {
        sheet[i] = sheet_on(i + 1, (ch_date){2025 + i, 3, 1}, NAN);
        sheet[i].odometer_m = 100e6 + 2.5e6 * i * i;
    }
    build(NULL, 0);
    assert_int_equal(history.question_count, 1);
    assert_int_equal(history.question[0].kind, CH_HISTORY_HOURS_FROM_ODOMETER);
    for (int i = 0; i < 3; i++) {
        expect_close(history.point[i].running_s / HOUR_S, 2000.0 + 50.0 * i * i, 1e-6);
        assert_false(history.point[i].noted);
    }
    sheet[1].hours_s = 123.0 * HOUR_S; /* one hours figure, and distance is no longer asked */
    build(NULL, 0);
    expect_close(history.point[1].running_s / HOUR_S, 123.0, 1e-9);
    expect_close(history.point[0].running_s / HOUR_S, 123.0, 1e-9);
    expect_close(history.point[2].running_s / HOUR_S, 123.0, 1e-9);
    assert_int_equal(history.question_count, 0);
}

/* What stands on the edge of a question: hours may fall by the rounding of a minute; a day's hours are 24 a day, both days included; a kilometre is no
 * fall of the odometer. */
static void questions_begin_where_they_are_said_to(void **state)
{
    (void)state;
    sheets = 3;
    events = 0;
    today = (ch_date){2028, 6, 1};
    for (int past = 0; past < 2; past++) {
        for (int i = 0; i < 3; i++)
            sheet[i] = sheet_on(i + 1, (ch_date){2026, 3, 1 + i}, (100.0 + i) * HOUR_S);
        sheet[1].hours_s = sheet[0].hours_s - 60.0 - past;
        build(NULL, 0);
        assert_int_equal(history.question_count, past);
        sheet[1].hours_s = 101.0 * HOUR_S;
        sheet[2].hours_s = 101.0 * HOUR_S + 48.0 * HOUR_S + past;
        build(NULL, 0);
        assert_int_equal(history.question_count, past);
        sheet[2].hours_s = 102.0 * HOUR_S;
        sheet[0].odometer_m = 150e6;
        sheet[1].odometer_m = 150e6 - 1000.0 - past;
        sheet[2].odometer_m = 150e6;
        build(NULL, 0);
        assert_int_equal(history.question_count, past);
    }
}

/* The last fitted sheet's engine and limits; figures of a tracing that was not reliable count a quarter; no limit is none. */
static void the_fit_is_given_what_the_last_sheets_say(void **state)
{
    (void)state;
    sheets = 3;
    events = 0;
    today = (ch_date){2028, 6, 1};
    for (int i = 0; i < 3; i++) {
        sheet[i] = sheet_on(i + 1, (ch_date){2025 + i, 3, 1}, (100.0 + 10.0 * i) * HOUR_S);
        sheet[i].result.sound_m2 *= 1.0 + 0.1 * i;
        sheet[i].result.u_sound_1 += 0.01 * i;
        sheet[i].result.watch_m2 *= 1.0 + 0.1 * i;
        sheet[i].gauge_id = 7 * (i == 1);
    }
    sheet[2].result.fault_m2 = INFINITY;
    sheet[1].result.reliable = false;
    sheet[0].result.cylinder[1].cause_1[CH_CAUSE_SOUND] = 0.35;
    sheet[0].result.cylinder[1].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 0.05;
    build(NULL, 0);
    expect_close(history.log_prior, log(0.36e-6), 1e-12);
    expect_close(history.u_prior_1, 0.47, 1e-12);
    expect_close(history.log_watch, log(0.96e-6), 1e-12);
    assert_true(isnan(history.log_fault));
    assert_int_equal(history.wear[0].gauge, history.wear[2].gauge);
    assert_int_not_equal(history.wear[0].gauge, history.wear[1].gauge);
    for (int i = 0; i < 3; i++)
        for (int c = 0; c < TWO; c++) {
            double centre = NAN, u = NAN;
            const ch_history_result *r = &sheet[i].result;
            ch_history_evidence(r->cylinder[c].ladder_m2, i == 0 && c == 1 ? 0.6 : 0.0, log(r->sound_m2), r->u_sound_1,
                                &centre, &u);
            expect_close(history.wear[i].log_area[c], centre, 1e-12);
            expect_close(history.wear[i].u_1[c], i == 1 ? 2.0 * u : u, 1e-12);
        }
    /* a sheet that says nothing is kept, and left out of the fit */
    for (int c = 0; c < TWO; c++)
        sheet[2].result.cylinder[c].ladder_m2[0] = NAN;
    build(NULL, 0);
    assert_int_equal(history.wear_count, 2);
    assert_false(history.point[2].fitted);
    expect_close(history.log_watch, log(0.88e-6), 1e-12);
    expect_close(history.log_fault, log(1.5e-6), 1e-12);
    expect_close(history.last_s / HOUR_S, 110.0, 1e-9);
    expect_close(history.now_s / HOUR_S, 120.0, 1e-9);
}

/* Each repair stands before the first sheet of its day or later; of the same place and cylinder one is kept, of the whole engine it takes the cylinders in. */
static void repairs_are_steps_before_the_sheet_that_follows(void **state)
{
    (void)state;
    static const struct {
        ch_date day;
        int cylinder;
        size_t sheet; /* 0 = none */
    } cases[] = {{{2025, 3, 1}, 1, 0},  {{2025, 3, 2}, 1, 1}, {{2026, 3, 1}, 1, 1}, {{2026, 3, 2}, 2, 2},
                 {{2026, 12, 1}, 0, 2}, {{2027, 3, 1}, 0, 2}, {{2027, 3, 2}, 0, 0}, {{2026, 1, 1}, 3, 0}};
    sheets = 3;
    events = 0;
    today = (ch_date){2028, 6, 1};
    for (int i = 0; i < 3; i++)
        sheet[i] = sheet_on(i + 1, (ch_date){2025 + i, 3, 1}, (100.0 + 10.0 * i) * HOUR_S);
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        const ch_history_repair repair = {cases[k].day, cases[k].cylinder, "invented"};
        build(&repair, 1);
        assert_int_equal(history.steps, cases[k].sheet > 0);
        if (history.steps == 0)
            continue;
        assert_int_equal(history.step[0].sheet, cases[k].sheet);
        assert_int_equal(history.step[0].cylinder, cases[k].cylinder);
        expect_close(history.step[0].running_s, (100.0 + 10.0 * (double)cases[k].sheet) * HOUR_S, 1e-9);
    }
    const ch_history_repair many[] = {{{2026, 6, 1}, 1, "a"}, {{2026, 7, 1}, 1, "again"}, {{2026, 8, 1}, 0, "all"},
                                      {{2025, 6, 1}, 2, "b"}, {{2025, 7, 1}, 1, "c"},     {{2026, 5, 1}, 2, "d"}};
    build(many, 6);
    /* the latest first: all at the third sheet, which takes in what was done to single cylinders before it; then two at the second */
    assert_int_equal(history.steps, 3);
    assert_true(history.step[0].sheet == 2 && history.step[0].cylinder == 0);
    assert_true(history.step[1].sheet == 1 && history.step[1].cylinder == 1);
    assert_true(history.step[2].sheet == 1 && history.step[2].cylinder == 2);
}

/* The same for lists at random: from the latest day back, a step unless one of the same sheet has it already, for its cylinder or for the whole engine. */
static void repairs_at_random_are_kept_once_a_sheet_and_cylinder(void **state)
{
    (void)state;
    enum { REPAIRS = 7 };
    ch_stream stream;
    ch_stream_init(&stream, 909, 0);
    sheets = 4;
    events = 0;
    today = (ch_date){2030, 6, 1};
    for (int i = 0; i < 4; i++)
        sheet[i] = sheet_on(i + 1, (ch_date){2025 + i, 3, 1}, (100.0 + 10.0 * i) * HOUR_S);
    for (int round = 0; round < 200; round++) {
        ch_history_repair repair[REPAIRS];
        long days[REPAIRS];
        for (int k = 0; k < REPAIRS; k++) {
            days[k] = ch_date_days((ch_date){2024, 9, 1}) + REPAIRS * (long)(250.0 * ch_stream_uniform(&stream)) +
                      k; /* no two alike */
            repair[k] =
                (ch_history_repair){ch_date_from_days(days[k]), (int)(4.0 * ch_stream_uniform(&stream)), "invented"};
        }
        size_t at[REPAIRS], n = 0;
        int cylinder[REPAIRS];
        bool taken[REPAIRS] = {false};
        for (int turn = 0; turn < REPAIRS; turn++) {
            int latest = -1;
            for (int k = 0; k < REPAIRS; k++)
                latest = !taken[k] && (latest < 0 || days[k] > days[latest]) ? k : latest;
            taken[latest] = true;
            size_t behind = 0; /* the first sheet of that day or later */
            while (behind < 4 && ch_date_days(sheet[behind].day) < days[latest])
                behind++;
            bool known = behind == 0 || behind == 4 || repair[latest].cylinder > TWO;
            for (size_t k = 0; k < n; k++)
                known = known || (at[k] == behind && (cylinder[k] == 0 || cylinder[k] == repair[latest].cylinder));
            if (known)
                continue;
            at[n] = behind;
            cylinder[n++] = repair[latest].cylinder;
        }
        build(repair, REPAIRS);
        assert_int_equal(history.steps, n);
        for (size_t k = 0; k < n; k++) {
            assert_int_equal(history.step[k].sheet, at[k]);
            assert_int_equal(history.step[k].cylinder, cylinder[k]);
        }
    }
}

/* Of a normal prior and normal evidence the evidence comes back, however much wider it is, up to four times the prior's variance; beyond, less and less. */
static void evidence_comes_back_up_to_four_times_the_priors_variance(void **state)
{
    (void)state;
    const double log_sound = log(0.3e-6), u_sound = 0.45, log_fault = log(1.5e-6), u_fault = 1.1;
    for (int i = 0; i < 24; i++)
        for (int f = 0; f <= 4; f++) {
            const double fault_1 = 0.25 * f, prior = (1.0 - fault_1) * log_sound + fault_1 * log_fault,
                         v_prior = (1.0 - fault_1) * u_sound * u_sound + fault_1 * u_fault * u_fault,
                         v = v_prior * (0.05 + 0.25 * i), evidence = prior + 0.7;
            const double precision = 1.0 / v_prior + 1.0 / v, middle = (prior / v_prior + evidence / v) / precision;
            double ladder[CH_TRACE_LADDER], centre = NAN, u = NAN;
            for (int k = 0; k < CH_TRACE_LADDER; k++)
                ladder[k] = exp(middle + ch_normal_quantile(0.05 * (k + 1)) / sqrt(precision));
            ch_history_evidence(ladder, fault_1, log_sound, u_sound, &centre, &u);
            const double r = v / (v + v_prior); /* of the posterior's variance, over the prior's */
            if (r <= 0.8) {
                expect_close(centre, evidence, 1e-9);
                expect_close(u * u, v, 1e-9);
            } else { /* falls from 5 at 0.8 to 3 at 1 */
                const double factor = 5.0 - 10.0 * (r - 0.8);
                expect_close(centre, prior + (middle - prior) * factor, 1e-9);
                expect_close(u * u, factor / precision, 1e-9);
            }
        }
    double ladder[CH_TRACE_LADDER], centre = 1.0, u = 1.0;
    for (int k = 0; k < CH_TRACE_LADDER; k++) /* half of it on one step is a ladder yet */
        ladder[k] = k > CH_TRACE_LADDER / 2 ? 2e-7 : 1e-7;
    ch_history_evidence(ladder, 0.0, log_sound, u_sound, &centre, &u);
    assert_true(isfinite(centre) && u > 0.0);
    /* what is no ladder, or no chance, says nothing */
    for (int spoilt = 0; spoilt < 7; spoilt++) {
        for (int k = 0; k < CH_TRACE_LADDER; k++)
            ladder[k] = 1e-7 * (k + 1);
        static const double wrong[] = {0.0, -1e-7, NAN};
        if (spoilt < 3)
            ladder[0] = wrong[spoilt];
        else if (spoilt == 3)
            ladder[CH_TRACE_LADDER - 1] = INFINITY;
        else if (spoilt == 4)
            ladder[CH_TRACE_LADDER / 2] = 0.5e-7;
        ch_history_evidence(ladder, spoilt == 5 ? -0.01 : spoilt == 6 ? 1.01 : 0.5, log_sound, u_sound, &centre, &u);
        assert_true(isnan(centre) && isnan(u));
    }
}

/* Every number of what is kept, spoilt: what cannot be is refused, and no other number takes its place when read back. */
static void what_is_kept_comes_back_number_by_number(void **state)
{
    (void)state;
    const ch_history_sheet s = sheet_on(1, (ch_date){2026, 3, 1}, 0.0);
    ch_history_result r = s.result, back;
    r.verdict = CH_VERDICT_UNCLEAR;
    for (int c = 0; c < TWO; c++) {
        r.cylinder[c].n = 3 + c;
        r.cylinder[c].mean_pa = 1.1e6 + c;
        r.cylinder[c].standard_day_pa = 1.2e6 + c;
        r.cylinder[c].u_standard_day_pa = 1.3e4 + c;
        for (int k = 0; k < CH_CAUSE_COUNT; k++)
            r.cylinder[c].cause_1[k] = 0.01 * (k + 1) + 0.1 * c;
    }
    const size_t count = ch_history_numbers(TWO);
    assert_int_equal(count, 7 + TWO * (4 + CH_TRACE_LADDER + CH_CAUSE_COUNT));
    double numbers[7 + TWO * (4 + CH_TRACE_LADDER + CH_CAUSE_COUNT)];
    ch_history_write(&r, numbers);
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_OK);
    assert_true(back.cylinders == TWO && back.verdict == CH_VERDICT_UNCLEAR && back.reliable);
    for (int c = 0; c < TWO; c++) {
        assert_int_equal(back.cylinder[c].n, 3 + c);
        assert_true(back.cylinder[c].mean_pa == r.cylinder[c].mean_pa &&
                    back.cylinder[c].standard_day_pa == r.cylinder[c].standard_day_pa &&
                    back.cylinder[c].u_standard_day_pa == r.cylinder[c].u_standard_day_pa);
        assert_memory_equal(back.cylinder[c].ladder_m2, r.cylinder[c].ladder_m2, sizeof r.cylinder[c].ladder_m2);
        assert_memory_equal(back.cylinder[c].cause_1, r.cylinder[c].cause_1, sizeof r.cylinder[c].cause_1);
    }
    const size_t second = 7 + 4 + CH_TRACE_LADDER + CH_CAUSE_COUNT;
    static const double never[] = {-1.0, NAN, 0.5};
    const struct {
        size_t at;
        double also;
    } whole[] = {{0, 0.0}, {1, CH_VERDICT_UNCLEAR + 1}, {2, 2.0}, {7, -2.0}, {second, -2.0}};
    for (size_t i = 0; i < sizeof whole / sizeof whole[0]; i++)
        for (int k = 0; k < 4; k++) {
            const double kept = numbers[whole[i].at];
            numbers[whole[i].at] = k < 3 ? never[k] : whole[i].also;
            assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_E_INPUT);
            numbers[whole[i].at] = kept;
        }
    for (size_t at = 3; at < 7; at++)
        for (int k = 0; k < 3; k++) {
            static const double none[] = {0.0, -1.0, NAN};
            const double kept = numbers[at];
            numbers[at] = none[k];
            assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_E_INPUT);
            numbers[at] = kept;
        }
    numbers[2] = 0.0;
    numbers[7] = 0.0; /* no reading at all */
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_OK);
    assert_true(!back.reliable && back.cylinder[0].n == 0);
    numbers[0] = 1.0;
    assert_int_equal(ch_history_read(numbers, second, &back, NULL), CH_OK);
    assert_int_equal(ch_history_read(numbers, second + 1, &back, NULL), CH_E_INPUT);
    static double most[7 + CH_CYLINDERS_MAX * (4 + CH_TRACE_LADDER + CH_CAUSE_COUNT)];
    for (int i = 0; i < 7; i++)
        most[i] = 1.0;
    most[0] = CH_CYLINDERS_MAX;
    assert_int_equal(ch_history_read(most, ch_history_numbers(CH_CYLINDERS_MAX), &back, NULL), CH_OK);
    assert_int_equal(back.cylinders, CH_CYLINDERS_MAX);
}

/* Of one day as they were opened, of one moment as they were entered: whatever order they come in. */
static void sheets_of_one_day_stand_as_they_were_opened_and_entered(void **state)
{
    (void)state;
    static const struct {
        int64_t id, opened_s;
    } rows[][4] = {{{1, 5}, {2, 5}, {3, 5}, {4, 5}},
                   {{4, 5}, {3, 5}, {2, 5}, {1, 5}},
                   {{2, 9}, {1, 5}, {4, 9}, {3, 5}},
                   {{4, 1}, {3, 2}, {2, 3}, {1, 4}}};
    static const int64_t wanted[][4] = {{1, 2, 3, 4}, {1, 2, 3, 4}, {1, 3, 2, 4}, {4, 3, 2, 1}};
    sheets = 4;
    events = 0;
    today = (ch_date){2028, 6, 1};
    for (int k = 0; k < 4; k++) {
        for (int i = 0; i < 4; i++) {
            sheet[i] = sheet_on(rows[k][i].id, (ch_date){2026, 3, 1}, 100.0 * HOUR_S);
            sheet[i].opened_s = rows[k][i].opened_s;
        }
        build(NULL, 0);
        for (int i = 0; i < 4; i++)
            assert_int_equal(history.point[i].sheet->id, wanted[k][i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(running_time_is_found_from_whatever_was_noted),
        cmocka_unit_test(what_is_usual_is_counted_from_what_has_run),
        cmocka_unit_test(distance_counts_where_nothing_else_does),
        cmocka_unit_test(questions_begin_where_they_are_said_to),
        cmocka_unit_test(the_fit_is_given_what_the_last_sheets_say),
        cmocka_unit_test(repairs_are_steps_before_the_sheet_that_follows),
        cmocka_unit_test(repairs_at_random_are_kept_once_a_sheet_and_cylinder),
        cmocka_unit_test(evidence_comes_back_up_to_four_times_the_priors_variance),
        cmocka_unit_test(what_is_kept_comes_back_number_by_number),
        cmocka_unit_test(sheets_of_one_day_stand_as_they_were_opened_and_entered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

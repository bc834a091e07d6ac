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
        s.result.cylinder[c].n = 1;
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

static void expect_question(size_t at, ch_history_question_kind kind, int64_t sheet_id, const char *text)
{
    assert_true(at < history.question_count);
    assert_int_equal(history.question[at].kind, kind);
    assert_int_equal(history.question[at].sheet_id, sheet_id);
    assert_string_equal(history.question[at].text, text);
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
    /* from one hours figure on, the distance to the neighbours counts both ways: 2500 and 7500 km at 50 km/h */
    sheet[1].hours_s = 123.0 * HOUR_S;
    build(NULL, 0);
    expect_close(history.point[1].running_s / HOUR_S, 123.0, 1e-9);
    expect_close(history.point[0].running_s / HOUR_S, 73.0, 1e-9);
    expect_close(history.point[2].running_s / HOUR_S, 273.0, 1e-9);
    assert_int_equal(history.question_count, 1);
    expect_question(
        0, CH_HISTORY_HOURS_BY_DISTANCE, 0,
        "Between sheets without hours and without an event running time is taken from the odometer at 50 km/h.");
    /* where an event is entered between two sheets, that counts alone */
    events = 1;
    event[0] = (ch_history_event){1, {2026, 6, 1}, 8.0 * HOUR_S, "invented"};
    build(NULL, 0);
    expect_close(history.point[0].running_s / HOUR_S, 73.0, 1e-9);
    expect_close(history.point[2].running_s / HOUR_S, 131.0, 1e-9);
    event[0].day = (ch_date){2025, 6, 1};
    build(NULL, 0);
    expect_close(history.point[0].running_s / HOUR_S, 115.0, 1e-9);
    expect_close(history.point[2].running_s / HOUR_S, 273.0, 1e-9);
    events = 0;
}

static void sheets_that_say_nothing_of_the_air_are_told_beside_those_that_do(void **state)
{
    (void)state;
    static const char missing_one[] =
        "1 sheet notes neither height nor barometer, and others do: taken at sea level, it is not "
        "comparable with them. Note the height.";
    sheets = 3;
    events = 1;
    today = (ch_date){2028, 6, 1};
    event[0] = (ch_history_event){1, {2026, 6, 1}, 900.0 * HOUR_S, "invented"};
    for (int i = 0; i < 3; i++)
        sheet[i] = sheet_on(i + 1, (ch_date){2025 + i, 3, 1}, 100.0 * (i + 1) * HOUR_S);
    build(NULL, 0); /* none of them does: nothing to compare with */
    assert_int_equal(history.question_count, 1);
    expect_question(0, CH_HISTORY_EVENT_LONG, 0,
                    "The event of 2026-06-01 has 900 h, more than three days and nights: a slip? Counted as noted.");
    event[0].running_s = 72.0 * HOUR_S;
    sheet[0].air_noted = sheet[2].air_noted = true;
    build(NULL, 0);
    assert_int_equal(history.question_count, 1);
    expect_question(0, CH_HISTORY_HEIGHT_MISSING, 0, missing_one);
    sheet[1].height_taken = true;
    sheet[1].height_m = 2500.0;
    build(NULL, 0);
    assert_int_equal(history.question_count, 1);
    expect_question(
        0, CH_HISTORY_HEIGHT_TAKEN, 2,
        "1 sheet notes neither height nor barometer: taken at the height of the nearest sheet that notes it, the "
        "last at 2500 m. Note it there if it was another place.");
    events = 0;
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
        const ch_history_repair repair = {cases[k].day, cases[k].cylinder, "invented", false};
        build(&repair, 1);
        assert_int_equal(history.steps, cases[k].sheet > 0);
        if (history.steps == 0)
            continue;
        assert_int_equal(history.step[0].sheet, cases[k].sheet);
        assert_int_equal(history.step[0].cylinder, cases[k].cylinder);
        expect_close(history.step[0].running_s, (100.0 + 10.0 * (double)cases[k].sheet) * HOUR_S, 1e-9);
    }
    const ch_history_repair many[] = {{{2026, 6, 1}, 1, "a", false},   {{2026, 7, 1}, 1, "again", false},
                                      {{2026, 8, 1}, 0, "all", false}, {{2025, 6, 1}, 2, "b", false},
                                      {{2025, 7, 1}, 1, "c", false},   {{2026, 5, 1}, 2, "d", false}};
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
            repair[k] = (ch_history_repair){ch_date_from_days(days[k]), (int)(4.0 * ch_stream_uniform(&stream)),
                                            "invented", false};
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
        r.cylinder[c].leakdowns = 6 + c;
        r.cylinder[c].signs = 9 + c;
        r.cylinder[c].broken = c == 1;
        r.cylinder[c].mean_pa = 1.1e6 + c;
        r.cylinder[c].standard_day_pa = 1.2e6 + c;
        r.cylinder[c].u_standard_day_pa = 1.3e4 + c;
        for (int k = 0; k < CH_CAUSE_COUNT; k++)
            r.cylinder[c].cause_1[k] = 0.01 * (k + 1) + 0.1 * c;
    }
    const size_t count = ch_history_numbers(TWO);
    assert_int_equal(count, 8 + TWO * (7 + CH_TRACE_LADDER + CH_CAUSE_COUNT));
    double numbers[8 + TWO * (7 + CH_TRACE_LADDER + CH_CAUSE_COUNT)];
    ch_history_write(&r, numbers);
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_OK);
    assert_true(back.cylinders == TWO && back.verdict == CH_VERDICT_UNCLEAR && back.reliable && !back.unreadable);
    for (int c = 0; c < TWO; c++) {
        assert_int_equal(back.cylinder[c].n, 3 + c);
        assert_int_equal(back.cylinder[c].leakdowns, 6 + c);
        assert_int_equal(back.cylinder[c].signs, 9 + c);
        assert_int_equal(back.cylinder[c].broken, c == 1);
        assert_true(back.cylinder[c].mean_pa == r.cylinder[c].mean_pa &&
                    back.cylinder[c].standard_day_pa == r.cylinder[c].standard_day_pa &&
                    back.cylinder[c].u_standard_day_pa == r.cylinder[c].u_standard_day_pa);
        assert_memory_equal(back.cylinder[c].ladder_m2, r.cylinder[c].ladder_m2, sizeof r.cylinder[c].ladder_m2);
        assert_memory_equal(back.cylinder[c].cause_1, r.cylinder[c].cause_1, sizeof r.cylinder[c].cause_1);
    }
    const size_t second = 8 + 7 + CH_TRACE_LADDER + CH_CAUSE_COUNT;
    static const double never[] = {-1.0, NAN, 0.5};
    const struct {
        size_t at;
        double also;
    } whole[] = {
        {0, 0.0},      {1, CH_VERDICT_UNCLEAR + 1}, {2, 2.0}, {7, 2.0}, {8, -2.0}, {12, -2.0}, {13, -2.0}, {14, 2.0},
        {second, -2.0}};
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
    numbers[7] = 1.0;
    numbers[8] = 0.0; /* no reading at all */
    assert_int_equal(ch_history_read(numbers, count, &back, NULL), CH_OK);
    assert_true(!back.reliable && back.unreadable && back.cylinder[0].n == 0);
    numbers[0] = 1.0;
    assert_int_equal(ch_history_read(numbers, second, &back, NULL), CH_OK);
    assert_int_equal(ch_history_read(numbers, second + 1, &back, NULL), CH_E_INPUT);
    static double most[8 + CH_CYLINDERS_MAX * (7 + CH_TRACE_LADDER + CH_CAUSE_COUNT)];
    for (int i = 0; i < 8; i++)
        most[i] = 1.0;
    most[0] = CH_CYLINDERS_MAX;
    assert_int_equal(ch_history_read(most, ch_history_numbers(CH_CYLINDERS_MAX), &back, NULL), CH_OK);
    assert_int_equal(back.cylinders, CH_CYLINDERS_MAX);
    static double more[8 + (CH_CYLINDERS_MAX + 1) * (7 + CH_TRACE_LADDER + CH_CAUSE_COUNT)];
    memcpy(more, most, 8 * sizeof *more);
    more[0] = CH_CYLINDERS_MAX + 1;
    assert_int_equal(ch_history_read(more, ch_history_numbers(CH_CYLINDERS_MAX + 1), &back, NULL), CH_E_INPUT);
    more[0] = 0.0;
    assert_int_equal(ch_history_read(more, ch_history_numbers(0), &back, NULL), CH_E_INPUT);
    for (size_t few = 0; few < 8; few++)
        assert_int_equal(ch_history_read(most, few, &back, NULL), CH_E_INPUT);
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

/* ---- the words and figures of every question ---- */

/* Sheets of 1 March of years from 2021 on. */
static void sheets_at(size_t n, const double hours[])
{
    sheets = n;
    events = 0;
    today = (ch_date){2034, 6, 1};
    for (size_t i = 0; i < n; i++)
        sheet[i] = sheet_on((int64_t)i + 1, (ch_date){2021 + (int)i, 3, 1}, hours[i] * HOUR_S);
}

static void expect_hours(const double hours[])
{
    for (size_t i = 0; i < sheets; i++)
        expect_close(history.point[i].running_s / HOUR_S, hours[i], 1e-9);
}

static void questions_say_what_is_odd_with_its_figures(void **state)
{
    (void)state;
    /* a slip, another meter from 400 h on, a slip on that meter, and more hours than there were */
    const double noted[] = {100.0, 42.25, 400.0, 3.0, 33.0, 5.0, 63.0, 9063.0, 70.0},
                 wanted[] = {100.0, 100.0, 400.0, 400.0, 430.0, 430.0, 460.0, 9460.0, 9460.0};
    sheets_at(9, noted);
    sheet[7].day = (ch_date){2027, 3, 11};
    sheet[8].hours_s = NAN;
    build(NULL, 0);
    assert_int_equal(history.question_count, 4);
    expect_question(0, CH_HISTORY_HOURS_BACKWARD, 2,
                    "2022-03-01: 42.2 h are fewer than the sheet before had, and the next goes on from there: a slip? "
                    "Counted from its neighbours instead.");
    expect_question(1, CH_HISTORY_METER_CHANGED, 4,
                    "2024-03-01: 3.0 h are fewer than before, and stay so: another meter, or set back? Counted on from "
                    "400.0 h.");
    expect_question(2, CH_HISTORY_HOURS_BACKWARD, 6,
                    "2026-03-01: 5.0 h are fewer than the sheet before had, and the next goes on from there: a slip? "
                    "Counted from its neighbours instead.");
    expect_question(3, CH_HISTORY_HOURS_JUMP, 8,
                    "2027-03-11: 9063.0 h are more than the days since the sheet before have: a slip?");
    expect_hours(wanted);
    for (size_t i = 0; i < 9; i++) /* as noted: until the meter was another */
        assert_int_equal(history.point[i].noted, i == 0 || i == 2);

    /* the jump is a slip where the next sheet goes on from before it, by the other meter too */
    const double back[] = {400.0, 3.0, 13.0, 9013.0, 53.0}, counted[] = {400.0, 400.0, 410.0, 410.0, 450.0};
    sheets_at(5, back);
    sheet[3].day = (ch_date){2023, 3, 2};
    build(NULL, 0);
    assert_int_equal(history.question_count, 2);
    expect_question(1, CH_HISTORY_HOURS_JUMP, 4,
                    "2023-03-02: 9013.0 h are more than the days since the sheet before have: a slip?");
    expect_hours(counted);

    const double none[] = {NAN, NAN, NAN};
    sheets_at(3, none);
    sheet[1].day_assumed = true;
    build(NULL, 0);
    assert_int_equal(history.question_count, 2);
    expect_question(0, CH_HISTORY_NO_DAY, 2, "A sheet has no date: that of its entry, 2022-03-01, stands in.");
    expect_question(1, CH_HISTORY_NO_HOURS, 0,
                    "Neither engine hours nor events are noted: wear over time cannot be told.");
    sheet[1].day_assumed = false;
    sheet[0].odometer_m = 187000400.0;
    sheet[2].odometer_m = 3e6;
    build(NULL, 0);
    assert_int_equal(history.question_count, 2);
    expect_question(0, CH_HISTORY_HOURS_FROM_ODOMETER, 0,
                    "No engine hours and no events: running time is taken from the odometer at 50 km/h.");
    expect_question(1, CH_HISTORY_METER_CHANGED, 3, /* told once, in what was noted */
                    "2023-03-01: 3000 km are fewer than before, and stay so: another instrument, or set back? Counted "
                    "on from 187000 km.");
    events = 1;
    event[0] = (ch_history_event){1, {2021, 1, 1}, 2.0 * HOUR_S, "invented"};
    sheet[1].result.cylinders = 6;
    build(NULL, 0);
    assert_int_equal(history.question_count, 3);
    expect_question(0, CH_HISTORY_HOURS_FROM_EVENTS, 0,
                    "No sheet notes engine hours: they are counted from the events.");
    expect_question(
        1, CH_HISTORY_ODOMETER_BACKWARD, 3,
        "2023-03-01: the odometer shows 3000 km, less than the 187000 km before: another instrument? Kept as "
        "noted.");
    expect_question(2, CH_HISTORY_OTHER_ENGINE, 2,
                    "2022-03-01: the sheet is of 6 cylinders, the engine has 2: left out of the fit.");
    static const char *const names[] = {"hours_backward",    "meter_changed",       "hours_jump",   "odometer_backward",
                                        "hours_from_events", "hours_from_odometer", "no_hours",     "no_day",
                                        "other_engine",      "many_gauges",         "height_taken", "height_missing",
                                        "hours_by_distance", "event_long",          "day_to_come",  "untested"};
    for (int k = 0; k < CH_HISTORY_QUESTION_KINDS; k++)
        assert_string_equal(ch_history_question_name((ch_history_question_kind)k), names[k]);
    assert_null(ch_history_question_name((ch_history_question_kind)-1));
}

/* A minute on either side: of what goes on behind a slip, and of what a jump falls back to. */
static void what_goes_on_does_so_to_a_minute(void **state)
{
    (void)state;
    for (int past = 0; past < 2; past++) {
        const double minute = 1.0 / 60.0, second = past / 3600.0;
        /* fewer hours once, and the next is a minute below the sheet before; a second more, and it is another meter */
        const double slip[] = {100.0, 50.0, 100.0 - minute - second};
        sheets_at(3, slip);
        build(NULL, 0);
        assert_int_equal(history.question_count, 1);
        assert_int_equal(history.question[0].kind, past ? CH_HISTORY_METER_CHANGED : CH_HISTORY_HOURS_BACKWARD);
        /* more than the days have, and the next is a minute below that; a second more, and it was a slip */
        const double jump[] = {100.0, 300.0, 300.0 - minute - second};
        sheets_at(3, jump);
        sheet[1].day = (ch_date){2021, 3, 2};
        build(NULL, 0);
        assert_int_equal(history.question_count, 1);
        assert_int_equal(history.question[0].kind, CH_HISTORY_HOURS_JUMP);
        expect_close(history.point[1].running_s / HOUR_S, past ? 100.0 : 300.0, 1e-9);
        /* behind a slip the figures are held to the last good one: a minute below it */
        const double behind[] = {100.0, 300.0, 100.0 - minute - second};
        sheets_at(3, behind);
        sheet[1].day = (ch_date){2021, 3, 2};
        build(NULL, 0);
        assert_int_equal(history.question_count, 1 + past);
        expect_close(history.point[1].running_s / HOUR_S, past ? 300.0 : 100.0, 1e-9);
    }
}

/* By hand: what has no hours stands by the events, no farther than the next figure and not behind the last; the first by the next figure, not before 0. */
static void sheets_without_hours_stand_between_their_neighbours(void **state)
{
    (void)state;
    static const struct {
        double noted[4], event_h[4]; /* an event between each two sheets, the first before them, the last today */
        double wanted[4], now;
    } cases[] = {{{100.0, NAN, 105.0, NAN}, {9.0, 3.0, 1.0, 4.0}, {100.0, 103.0, 105.0, 105.0 + 4.0}, 109.0},
                 {{100.0, NAN, 105.0, 106.0}, {9.0, 8.0, 1.0, 0.0}, {100.0, 105.0, 105.0, 106.0}, 106.0},
                 {{NAN, 3.0, NAN, 20.0}, {9.0, 2.0, 4.0, 5.0}, {1.0, 3.0, 7.0, 20.0}, 20.0},
                 {{NAN, 3.0, NAN, NAN}, {9.0, 5.0, 4.0, 5.0}, {0.0, 3.0, 7.0, 12.0}, 12.0},
                 {{NAN, NAN, 30.0, NAN}, {9.0, 5.0, 4.0, 5.0}, {21.0, 26.0, 30.0, 35.0}, 35.0},
                 {{NAN, NAN, NAN, NAN}, {9.0, 5.0, 4.0, 5.0}, {9.0, 14.0, 18.0, 23.0}, 23.0},
                 {{100.0, NAN, 100.0 - 0.5 / 60.0, NAN},
                  {9.0, 2.0, 0.0, 0.0},
                  {100.0, 100.0, 100.0 - 0.5 / 60.0, 100.0 - 0.5 / 60.0},
                  100.0}};
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        sheets_at(4, cases[k].noted);
        events = 6;
        for (int e = 0; e < 4; e++)
            event[e] = (ch_history_event){e + 1, {2020 + e, 6, 1}, cases[k].event_h[e] * HOUR_S, "invented"};
        event[4] = (ch_history_event){5, {2034, 6, 2}, 50.0 * HOUR_S, "tomorrow"};
        event[5] = (ch_history_event){6, {2030, 6, 2}, -3.0 * HOUR_S, "no running time"};
        build(NULL, 0);
        expect_hours(cases[k].wanted);
        expect_close(history.now_s / HOUR_S, cases[k].now, 1e-9);
    }
    const double noted[] = {10.0, 20.0}; /* since the last sheet, today's with it */
    sheets_at(2, noted);
    events = 3;
    event[0] = (ch_history_event){1, {2022, 3, 1}, 7.0 * HOUR_S, "on the day of the sheet"};
    event[1] = (ch_history_event){2, {2022, 3, 2}, 1.5 * HOUR_S, "since"};
    event[2] = (ch_history_event){3, {2034, 6, 1}, 2.0 * HOUR_S, "today"};
    build(NULL, 0);
    expect_close(history.now_s / HOUR_S, 23.5, 1e-9);
}

/* Two years back, half a year between sheets, today: on their edges. */
static void what_is_usual_begins_and_ends_where_it_is_said_to(void **state)
{
    (void)state;
    const double hours[] = {100.0, 110.0};
    for (int past = 0; past < 2; past++) {
        sheets_at(1, hours);
        events = 3;
        event[0] = (ch_history_event){1, ch_date_from_days(ch_date_days(today) - 730 - past), 4.0 * HOUR_S, "old"};
        event[1] = (ch_history_event){2, {2030, 1, 1}, 0.0, "did not run"};
        event[2] = (ch_history_event){3, ch_date_from_days(ch_date_days(today) + 1), 9.0 * HOUR_S, "to come"};
        build(NULL, 0);
        expect_close(history.usual_event_s / HOUR_S, 4.0, 1e-9);
        expect_close(history.year_s / HOUR_S, past ? 40.0 : 2.0, 1e-9); /* of two years; else ten usual events */
        event[2].day = today;
        build(NULL, 0);
        expect_close(history.usual_event_s / HOUR_S, 6.5, 1e-9);
        expect_close(history.year_s / HOUR_S, past ? 4.5 : 6.5, 1e-9);
        sheets_at(2, hours);
        sheet[1].day = ch_date_from_days(ch_date_days(sheet[0].day) + 183 - past);
        build(NULL, 0);
        expect_close(history.year_s / HOUR_S, past ? 20.0 : 10.0 / (183.0 / 365.25), 1e-9);
    }
}

/* Forty questions have room. */
static void more_questions_than_have_room_are_left_unasked(void **state)
{
    (void)state;
    static ch_history_sheet many[CH_HISTORY_QUESTIONS_MAX + 2];
    for (int n = CH_HISTORY_QUESTIONS_MAX - 1; n <= CH_HISTORY_QUESTIONS_MAX + 2; n++) {
        for (int i = 0; i < n; i++) {
            many[i] = sheet_on(i + 1, (ch_date){1980 + i, 3, 1}, 10.0 * i * HOUR_S);
            many[i].day_assumed = true;
        }
        assert_int_equal(ch_history_build(many, (size_t)n, NULL, 0, NULL, 0, (ch_date){2030, 1, 1}, &history, NULL),
                         CH_OK);
        assert_int_equal(history.question_count, n < CH_HISTORY_QUESTIONS_MAX ? n : CH_HISTORY_QUESTIONS_MAX);
        assert_int_equal(history.question[history.question_count - 1].sheet_id, history.question_count);
        assert_int_equal(history.point[n - 1].sheet->id, n);
    }
}

/* The latest gauge is number 0, then backwards; the eighth takes in all that are older. */
static void gauges_are_numbered_from_the_latest(void **state)
{
    (void)state;
    for (size_t n = CH_FORECAST_GAUGES_MAX; n <= CH_FORECAST_GAUGES_MAX + 2; n++) {
        double hours[SHEETS_MAX];
        for (size_t i = 0; i < n; i++)
            hours[i] = 10.0 * (double)i;
        sheets_at(n, hours);
        for (size_t i = 0; i < n; i++)
            sheet[i].gauge_id = (int64_t)(70 - i);
        build(NULL, 0);
        for (size_t i = 0; i < n; i++)
            assert_int_equal(history.wear[i].gauge, n - 1 - i < 8 ? n - 1 - i : 7);
        assert_int_equal(history.question_count, n > 8);
        if (n > 8)
            expect_question(0, CH_HISTORY_MANY_GAUGES, 0, "More than 8 gauges: the oldest count as one.");
        sheet[0].gauge_id = sheet[n - 1].gauge_id; /* the same again */
        build(NULL, 0);
        assert_int_equal(history.wear[0].gauge, 0);
        assert_int_equal(history.question_count, n > 9);
    }
}

/* More than there is room for: the latest are kept. What lies before a sheet that the fit does not take moves the next that it does. */
static void of_many_repairs_the_latest_are_kept(void **state)
{
    (void)state;
    double hours[SHEETS_MAX];
    ch_history_repair repair[SHEETS_MAX - 1];
    for (int i = 0; i < SHEETS_MAX; i++)
        hours[i] = 10.0 * i;
    for (size_t n = 8; n <= 11; n++) {
        sheets_at(SHEETS_MAX, hours);
        for (size_t k = 0; k < n; k++)
            repair[k] = (ch_history_repair){{2021 + (int)k, 6, 1}, 1 + (int)k % TWO, "invented", false};
        build(repair, n);
        assert_int_equal(history.steps, 8);
        for (size_t k = 0; k < 8; k++) {
            assert_int_equal(history.step[k].sheet, n - k);
            assert_int_equal(history.step[k].cylinder, 1 + (int)(n - 1 - k) % TWO);
            expect_close(history.step[k].running_s / HOUR_S, hours[n - k], 1e-9);
        }
    }
    sheets_at(4, hours);
    sheet[1].result.cylinders = 6;
    build(repair, 1);
    assert_int_equal(history.wear_count, 3);
    assert_int_equal(history.steps, 1);
    assert_int_equal(history.step[0].sheet, 1); /* of those fitted: that of 2023 */
    expect_close(history.step[0].running_s / HOUR_S, 20.0, 1e-9);
    for (int i = 0; i < 4; i++) {
        assert_int_equal(history.point[i].fitted, i != 1);
        if (i != 1)
            assert_int_equal(history.point[i].at, i == 0 ? 0 : i - 1);
    }
}

/* By running time; of the same running time by day. What is a minute back is no other meter, and stands before. */
static void the_fit_goes_by_running_time(void **state)
{
    (void)state;
    const double hours[] = {100.0, 100.0, 100.0, 100.0 - 0.5 / 60.0};
    static const size_t at[] = {1, 2, 3, 0};
    sheets_at(4, hours);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < CH_TRACE_LADDER; k++)
            sheet[i].result.cylinder[0].ladder_m2[k] *= 1.0 + 0.01 * i;
    sheet[2].result.u_sound_1 = 0.46;
    build(NULL, 0);
    assert_int_equal(history.question_count, 0);
    for (int i = 0; i < 4; i++) {
        double centre = NAN, u = NAN;
        const ch_history_result *r = &history.point[i].sheet->result;
        assert_int_equal(history.point[i].sheet->id, i + 1);
        assert_int_equal(history.point[i].at, at[i]);
        ch_history_evidence(r->cylinder[0].ladder_m2, 0.0, log(r->sound_m2), r->u_sound_1, &centre, &u);
        expect_close(history.wear[at[i]].log_area[0], centre, 1e-12);
    }
    expect_close(history.u_prior_1, 0.46, 0.0); /* of the last in that order */
    expect_close(history.last_s / HOUR_S, 100.0, 1e-12);
    expect_close(history.now_s / HOUR_S, 100.0, 1e-12);
}

/* Chances that add up to a little more than one, or less than none, count as one and none; one cylinder with a reading is a sheet for the fit. */
static void chances_are_held_within_their_range(void **state)
{
    (void)state;
    static const double sound[] = {1.2, -0.3, 0.4};
    for (int k = 0; k < 3; k++) {
        const double hours[] = {100.0};
        sheets_at(1, hours);
        sheet[0].result.cylinder[1].cause_1[CH_CAUSE_SOUND] = sound[k];
        sheet[0].result.cylinder[0].ladder_m2[0] = NAN;
        build(NULL, 0);
        double centre = NAN, u = NAN;
        const ch_history_result *r = &sheet[0].result;
        ch_history_evidence(r->cylinder[1].ladder_m2,
                            k == 0   ? 0.0
                            : k == 1 ? 1.0
                                     : 0.6,
                            log(r->sound_m2), r->u_sound_1, &centre, &u);
        assert_int_equal(history.wear_count, 1);
        assert_true(isnan(history.wear[0].log_area[0]));
        expect_close(history.wear[0].log_area[1], centre, 1e-12);
        expect_close(history.wear[0].u_1[1], u, 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(running_time_is_found_from_whatever_was_noted),
        cmocka_unit_test(what_is_usual_is_counted_from_what_has_run),
        cmocka_unit_test(distance_counts_where_nothing_else_does),
        cmocka_unit_test(sheets_that_say_nothing_of_the_air_are_told_beside_those_that_do),
        cmocka_unit_test(questions_begin_where_they_are_said_to),
        cmocka_unit_test(the_fit_is_given_what_the_last_sheets_say),
        cmocka_unit_test(repairs_are_steps_before_the_sheet_that_follows),
        cmocka_unit_test(repairs_at_random_are_kept_once_a_sheet_and_cylinder),
        cmocka_unit_test(evidence_comes_back_up_to_four_times_the_priors_variance),
        cmocka_unit_test(what_is_kept_comes_back_number_by_number),
        cmocka_unit_test(sheets_of_one_day_stand_as_they_were_opened_and_entered),
        cmocka_unit_test(questions_say_what_is_odd_with_its_figures),
        cmocka_unit_test(what_goes_on_does_so_to_a_minute),
        cmocka_unit_test(sheets_without_hours_stand_between_their_neighbours),
        cmocka_unit_test(what_is_usual_begins_and_ends_where_it_is_said_to),
        cmocka_unit_test(more_questions_than_have_room_are_left_unasked),
        cmocka_unit_test(gauges_are_numbered_from_the_latest),
        cmocka_unit_test(of_many_repairs_the_latest_are_kept),
        cmocka_unit_test(the_fit_goes_by_running_time),
        cmocka_unit_test(chances_are_held_within_their_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

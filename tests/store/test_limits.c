/* Just inside each limit it is taken, just outside it is refused, by a line that says what is wrong; and nothing of it is stored. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/store/store_parts.h"
#include "crosshatch/store_driveline.h"
#include "crosshatch/store_work.h"
#include "kit.h"

static ch_store *store;
static int64_t car_id, work_id;
static ch_err err;

static int begin(void **state)
{
    if (kit_begin(state) != 0)
        return -1;
    ch_stored made = {0};
    store = kit_open();
    err = (ch_err){0};
    kit_good(ch_store_car_add(store, &(ch_store_car){.name = "invented"}, NULL, KIT_NOW, &made, &err), &err);
    car_id = made.id;
    const ch_store_work work = {.car_id = car_id, .kind = CH_PLAN_JOB, .name = "clutch_kit", .title = "Clutch kit"};
    kit_good(ch_store_work_begin(store, &work, KIT_NOW, &made, &err), &err);
    work_id = made.id;
    return 0;
}

static int end(void **state)
{
    kit_verify(store);
    ch_store_close(store);
    return kit_end(state);
}

static void told(ch_status rc, ch_status wanted, const char *words)
{
    if (rc != wanted || err.status != wanted || strstr(err.what, words) == NULL)
        fail_msg("\"%s\" wanted, status %d: %s", words, (int)rc, err.what);
    err = (ch_err){0};
}

/* n characters and the end, the caller's to free. */
static char *long_text(size_t n)
{
    char *text = malloc(n + 1);
    assert_non_null(text);
    memset(text, 'a', n);
    text[n] = '\0';
    return text;
}

/* ---- logged runs ---- */

static ch_store_run good;
static ch_slip slip;

static ch_store_run *fresh(void)
{
    static ch_store_run run;
    good = kit_run(car_id);
    slip = good.driveline.slip[0];
    run = good;
    run.driveline.slip = &slip;
    run.driveline.slips = run.driveline.slips_found = 1;
    return &run;
}

#define RUN_WITH(change, wanted, words)                                                                                \
    do {                                                                                                               \
        ch_store_run *run = fresh();                                                                                   \
        change;                                                                                                        \
        told(ch_store_run_add(store, run, NULL, KIT_NOW, NULL, &err), wanted, words);                                  \
    } while (0)
#define RUN_TAKEN(change)                                                                                              \
    do {                                                                                                               \
        ch_store_run *run = fresh();                                                                                   \
        change;                                                                                                        \
        kit_good(ch_store_run_add(store, run, NULL, KIT_NOW, NULL, &err), &err);                                       \
    } while (0)
#define NOT_A_DIGEST "012345678 abcdef0123456789abcdef0123456789abcdef0123456789abcdef"

static void a_run_outside_a_limit_is_refused(void **state)
{
    (void)state;
    char *told_text = long_text(CH_STORE_TOLD_MAX + 1), *car_text = long_text(CH_STORE_DRIVETRAIN_MAX + 1);
    ch_drive_point *points = calloc(CH_STORE_POINTS_MAX + 1, sizeof *points);
    ch_slip *slips = calloc(CH_DRIVELINE_SLIPS_MAX + 1, sizeof *slips);
    assert_non_null(points);
    assert_non_null(slips);
    for (size_t i = 0; i <= CH_DRIVELINE_SLIPS_MAX; i++)
        slips[i] = (ch_slip){.gear = 1, .end_s = 1.0};
    RUN_WITH(run->log_name = NULL, CH_E_INPUT, "the log's name");
    RUN_WITH(run->note = "\x01", CH_E_INPUT, "note");
    RUN_WITH(run->told = "\xff", CH_E_INPUT, "what was said of the log");
    RUN_WITH(run->told = told_text, CH_E_LIMIT, "what was said of the log: 65537 bytes");
    RUN_WITH(run->told = NULL, CH_E_INPUT, "what was said of the log: nothing given");
    RUN_WITH(run->drivetrain = car_text, CH_E_LIMIT, "what is known of the car: 65537 bytes");
    RUN_WITH(run->made_by = "", CH_E_INPUT, "made_by");
    RUN_WITH(run->log_sha256 = NULL, CH_E_INPUT, "digest");
    RUN_WITH(run->log_sha256 = good.log_sha256 + 1, CH_E_INPUT, "digest");
    RUN_WITH(run->log_sha256 = NOT_A_DIGEST, CH_E_INPUT, "digest");
    RUN_WITH(run->log_bytes = -1, CH_E_INPUT, "the log's size cannot be");
    RUN_WITH(run->seconds = -0.5, CH_E_INPUT, "the log's length cannot be");
    RUN_WITH(run->seconds = NAN, CH_E_INPUT, "the log's length cannot be");
    RUN_WITH(run->seconds = INFINITY, CH_E_INPUT, "the log's length cannot be");
    RUN_WITH((run->point = points, run->points = CH_STORE_POINTS_MAX + 1), CH_E_LIMIT, "a picture of 32769 points");
    RUN_WITH(run->driveline.gears = CH_DRIVELINE_GEARS_MAX + 1, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(
        (run->driveline.slip = slips, run->driveline.slips = run->driveline.slips_found = CH_DRIVELINE_SLIPS_MAX + 1),
        CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.slips_found = 0, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.slips = 0, CH_E_INPUT, "a run that cannot be"); /* found, and none kept */
    RUN_WITH(run->driveline.gears = 0, CH_E_INPUT, "a run that cannot be"); /* the same */
    RUN_WITH(run->driveline.rows = UINT64_C(1) << 63, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.state = (ch_driveline_state)(CH_DRIVELINE_NO_FIXED_GEARS + 1), CH_E_INPUT,
             "a run that cannot be");
    RUN_WITH(run->driveline.gear[1].number = 0, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.gear[1].line_rad_m = 0.0, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.gear[1].line_rad_m = NAN, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(run->driveline.gear[1].line_rad_m = INFINITY, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(slip.gear = 0, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(slip.end_s = slip.start_s - 1e-9, CH_E_INPUT, "a run that cannot be");
    RUN_WITH(slip.start_s = NAN, CH_E_INPUT, "a run that cannot be");
    RUN_WITH((run->driveline.cause_1[0] -= 0.1, run->driveline.cause_1[2] += 0.1), CH_E_INPUT, "chances of causes");
    RUN_WITH(for (int c = 0; c < CH_CLUTCH_CAUSES; c++) run->driveline.cause_1[c] = c == 1   ? 1.1
                                                                                    : c == 2 ? -0.1
                                                                                             : 0.0,
             CH_E_INPUT, "chances of causes");
    RUN_WITH(run->driveline.cause_1[0] += 2e-6, CH_E_INPUT, "chances of causes");
    RUN_WITH(run->driveline.cause_1[0] = NAN, CH_E_INPUT, "chances of causes");
    RUN_WITH(run->car_id = 99, CH_E_INPUT, "there is no car with the id 99");
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM run"), 0);
    told_text[CH_STORE_TOLD_MAX] = car_text[CH_STORE_DRIVETRAIN_MAX] = '\0';
    RUN_TAKEN((run->told = told_text, run->drivetrain = car_text));
    RUN_TAKEN((run->log_bytes = 0, run->seconds = 0.0, run->points = 0, run->driveline.gears = 0,
               run->driveline.state = CH_DRIVELINE_TOO_LITTLE));
    RUN_TAKEN((run->point = points, run->points = CH_STORE_POINTS_MAX));
    RUN_TAKEN(
        (run->driveline.slip = slips, run->driveline.slips = run->driveline.slips_found = CH_DRIVELINE_SLIPS_MAX));
    RUN_TAKEN((slip.end_s = slip.start_s, run->driveline.rows = INT64_MAX, run->driveline.cause_1[0] += 5e-7));
    free(told_text);
    free(car_text);
    free(points);
    free(slips);
}

static void what_is_said_of_a_run_later_has_limits_too(void **state)
{
    (void)state;
    ch_stored made = {0};
    ch_store_run *run = fresh();
    kit_good(ch_store_run_add(store, run, NULL, KIT_NOW, &made, &err), &err);
    const double *sure = run->driveline.cause_1;
    const ch_store_run_sign sign = {.sign = "clutch_smell", .present = 1}, blank = {.sign = " "};
    told(ch_store_run_change(store, made.id, run->day, "\x7f", KIT_NOW, &err), CH_E_INPUT, "note");
    told(ch_store_run_see(store, made.id, &blank, 1, sure, KIT_NOW, &err), CH_E_INPUT, "sign");
    told(ch_store_run_see(store, 99, &sign, 1, sure, KIT_NOW, &err), CH_E_INPUT, "there is no run with the id 99");
    told(ch_store_run_delete(store, 99, KIT_NOW, &err), CH_E_INPUT, "there is no run with the id 99");
    ch_store_pool pool = {0};
    told(ch_store_run_load(store, &pool, 99, run, &err), CH_E_INPUT, "there is no run with the id 99");
    ch_store_pool_clear(&pool);
    char *text = long_text(CH_STORE_DRIVETRAIN_MAX + 1);
    told(ch_store_drivetrain_set(store, car_id, text, KIT_NOW, &err), CH_E_LIMIT, "what is known of the car");
    text[CH_STORE_DRIVETRAIN_MAX] = '\0';
    kit_good(ch_store_drivetrain_set(store, car_id, text, KIT_NOW, &err), &err);
    free(text);
}

/* A run without slips still has a line in the table; what is not known stays empty. */
static void a_run_without_slips_has_a_line_in_the_table(void **state)
{
    (void)state;
    ch_store_run *run = fresh();
    run->driveline.slips = run->driveline.slips_found = 0;
    run->driveline.capacity_n_m[0] = run->driveline.capacity_n_m[2] = NAN;
    run->day = (ch_date){0};
    kit_good(ch_store_run_add(store, run, NULL, KIT_NOW, NULL, &err), &err);
    ch_text csv;
    ch_text_init(&csv, 65536);
    kit_good(ch_store_runs_csv(store, &csv, &err), &err);
    assert_non_null(strstr(ch_text_string(&csv), "\r\n1,1,,\"invented, \"\"run\"\" 1.csv\",0123"));
    assert_non_null(strstr(ch_text_string(&csv), "cdef,0,,181,,,,,,,,,,,0.05,0.65,"));
    ch_text_clear(&csv);
    ch_text_init(&csv, 100); /* no room for it */
    told(ch_store_runs_csv(store, &csv, &err), CH_E_LIMIT, "");
    ch_text_clear(&csv);
}

/* ---- hours, money and torques ---- */

static void hours_and_money_outside_a_limit_are_refused(void **state)
{
    (void)state;
    const ch_work most_us = CH_STORE_SPENT_HOURS_MAX * CH_WORK_HOUR;
    const ch_money most = CH_STORE_SPENT_MONEY_MAX * CH_MONEY_ONE;
    const ch_store_spent right = {
        .work_id = work_id, .day = {2027, 1, 16}, .work_us = most_us, .money = most, .note = "all of it"};
    ch_stored made = {0};
    kit_good(ch_store_spent_add(store, &right, NULL, KIT_NOW, &made, &err), &err);
    kit_good(ch_store_spent_add(store, &right, NULL, KIT_NOW, NULL, &err), &err);
    struct {
        ch_store_spent spent;
        const char *words;
    } cases[] = {
        {right, "note"},
        {right, "day: nothing given"},
        {right, "hours that cannot be"},
        {right, "hours that cannot be"},
        {right, "money that cannot be"},
        {right, "money that cannot be"},
        {right, "nothing was spent"},
    };
    cases[0].spent.note = "\x1b[0m";
    cases[1].spent.day.year = 0;
    cases[2].spent.work_us = -1;
    cases[3].spent.work_us = most_us + 1;
    cases[4].spent.money = -1;
    cases[5].spent.money = most + 1;
    cases[6].spent.work_us = cases[6].spent.money = 0;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        told(ch_store_spent_add(store, &cases[i].spent, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, cases[i].words);
        cases[i].spent.id = made.id;
        told(ch_store_spent_change(store, &cases[i].spent, KIT_NOW, &err), CH_E_INPUT, cases[i].words);
    }
    ch_store_spent other = right;
    other.id = other.work_id = 99;
    told(ch_store_spent_add(store, &other, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "there is no work with the id 99");
    told(ch_store_spent_change(store, &other, KIT_NOW, &err), CH_E_INPUT, "with the id 99");
    told(ch_store_spent_delete(store, 99, KIT_NOW, &err), CH_E_INPUT, "with the id 99");
    assert_int_equal(kit_ask(kit_path("garage.db"), "SELECT count(*) FROM spent"), 2);
}

static void a_torque_outside_a_limit_is_refused(void **state)
{
    (void)state;
    char *note = long_text(CH_TORQUE_NOTE_MAX + 1);
    ch_owner_torque right = {.id = "flywheel_torque", .torque = kit_quantity("60 Nm", CH_DIM_TORQUE), .note = note};
    ch_owner_torque cases[8];
    for (int i = 0; i < 8; i++)
        cases[i] = (ch_owner_torque){.id = right.id, .torque = right.torque};
    static const char *const words[8] = {"torque: nothing given",
                                         "note",
                                         "a note of 161 bytes",
                                         "torque: 0",
                                         "without the other",
                                         "without the other",
                                         "thread",
                                         "class"};
    cases[0].id = " ";
    cases[1].note = "\x02";
    cases[2].note = note;
    cases[3].torque = kit_quantity("0 Nm", CH_DIM_TORQUE);
    cases[4].thread = "M10";
    cases[5].property_class = "8.8";
    cases[6].thread = "half inch";
    cases[6].property_class = "8.8";
    cases[7].thread = "M10";
    cases[7].property_class = "5.6";
    for (int i = 0; i < 8; i++)
        told(ch_store_torque_set(store, car_id, &cases[i], KIT_NOW, &err), CH_E_INPUT, words[i]);
    cases[7].property_class = "10.9";
    cases[7].surface = (ch_thread_surface)CH_THREAD_SURFACES;
    told(ch_store_torque_set(store, car_id, &cases[7], KIT_NOW, &err), CH_E_INPUT, "surface");
    cases[7].surface = CH_THREAD_DRY;
    told(ch_store_torque_set(store, 99, &cases[7], KIT_NOW, &err), CH_E_INPUT, "there is no car with the id 99");
    note[CH_TORQUE_NOTE_MAX] = '\0';
    kit_good(ch_store_torque_set(store, car_id, &right, KIT_NOW, &err), &err);
    /* only a note: the figure is still to be looked up */
    right.torque = ch_quantity_none();
    right.id = "damper_torque";
    kit_good(ch_store_torque_set(store, car_id, &right, KIT_NOW, &err), &err);
    ch_store_pool pool = {0};
    const ch_owner_torque *rows = NULL;
    size_t count = 0;
    kit_good(ch_store_torques(store, &pool, car_id, &rows, &count, &err), &err);
    assert_int_equal(count, 2);
    assert_string_equal(rows[0].torque.number, "60");
    assert_false(ch_quantity_given(&rows[1].torque));
    assert_string_equal(rows[1].note, note);
    ch_store_pool_clear(&pool);
    free(note);
}

static void a_closed_or_unknown_thing_is_named(void **state)
{
    (void)state;
    ch_store_pool pool = {0};
    ch_store_sheet head;
    ch_store_work work;
    int64_t revision = 0;
    told(ch_store_sheet_get(store, &pool, 99, &head, &err), CH_E_INPUT, "there is no sheet with the id 99");
    told(ch_store_sheet_revision(store, 99, &revision, &err), CH_E_INPUT, "there is no sheet with the id 99");
    told(ch_store_sheet_begin(store, 99, 0, (ch_date){0}, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "engine");
    told(ch_store_sheet_begin(store, 0, 99, (ch_date){0}, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "gauge");
    told(ch_store_sheet_close(store, 99, NULL, KIT_NOW, &err), CH_E_INPUT, "there is no sheet with the id 99");
    told(ch_store_sheet_close(store, 1, "\x03", KIT_NOW, &err), CH_E_INPUT, "reason");
    told(ch_store_sheet_reopen(store, 99, KIT_NOW, &err), CH_E_INPUT, "there is no sheet with the id 99");
    told(ch_store_sheet_withdraw(store, 99, NULL, KIT_NOW, &err), CH_E_INPUT, "there is no sheet with the id 99");
    told(ch_store_work_get(store, &pool, 99, &work, &err), CH_E_INPUT, "there is no work with the id 99");
    told(ch_store_work_close(store, work_id, 0, "\x03", KIT_NOW, &err), CH_E_INPUT, "reason");
    const ch_store_work other = {
        .car_id = car_id, .kind = CH_PLAN_ACCESS, .name = "gearbox_out", .title = "Gearbox out"};
    kit_good(ch_store_work_begin(store, &other, KIT_NOW, NULL, &err), &err);
    kit_good(ch_store_work_done(store, work_id, true, KIT_NOW, &err), &err);
    told(ch_store_work_close(store, work_id, CH_STORE_PROVE_LEAK_DOWN, NULL, KIT_NOW, &err), CH_E_INPUT,
         "no leak-down test since the job was done");
    const ch_store_car nameless = {.id = car_id, .name = ""};
    told(ch_store_car_change(store, &nameless, KIT_NOW, &err), CH_E_INPUT, "name");
    const ch_store_engine engine = {.id = 1, .car_id = car_id, .name = " ", .begun = {2026, 1, 1}};
    told(ch_store_engine_begin(store, &engine, NULL, 0, NULL, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "name");
    told(ch_store_engine_change(store, &engine, KIT_NOW, &err), CH_E_INPUT, "name");
    const ch_store_gauge gauge = {.id = 1, .name = NULL};
    told(ch_store_gauge_change(store, &gauge, NULL, KIT_NOW, &err), CH_E_INPUT, "name");
    const ch_store_ledger blank = {.what = "\t"}, nowhere = {.what = "coil"};
    told(ch_store_ledger_change(store, 1, &blank, KIT_NOW, &err), CH_E_INPUT, "what");
    told(ch_store_ledger_add(store, 0, &nowhere, NULL, KIT_NOW, NULL, &err), CH_E_INPUT,
         "there is no sheet with the id 0");
    ch_store_row row = kit_row(1, "178 psi");
    row.kind = CH_STORE_KINDS;
    told(ch_store_row_add(store, kit_sheet(store), &row, NULL, KIT_NOW, NULL, &err), CH_E_INPUT,
         "a row of an unknown kind");
    ch_stored dry = {0};
    row = kit_row(1, "178 psi");
    kit_good(ch_store_row_add(store, kit_sheet(store), &row, NULL, KIT_NOW, &dry, &err), &err);
    row.kind = CH_STORE_WET;
    told(ch_store_row_correct(store, dry.id, &row, NULL, KIT_NOW, NULL, &err), CH_E_INPUT,
         "a correction cannot be a row of another kind");
    const ch_store_ledger thing = {.work_id = 99, .what = "coil"};
    told(ch_store_ledger_add(store, 0, &thing, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "there is no work");
    static const unsigned char picture[] = {0xff, 0xd8};
    const ch_store_photo photo = {.work_id = 99, .mime = "image/png", .bytes = picture, .length = sizeof picture};
    told(ch_store_photo_add(store, &photo, NULL, KIT_NOW, NULL, &err), CH_E_INPUT, "there is no work");
    const char *text = NULL;
    told(ch_store_setting_get(store, &pool, "Currency", &text, &err), CH_E_INPUT,
         "a setting with another kind of name");
    char *setting = long_text(CH_STORE_SETTING_MAX + 1);
    told(ch_store_setting_set(store, "currency", setting, KIT_NOW, &err), CH_E_LIMIT, "currency: ");
    setting[CH_STORE_SETTING_MAX] = '\0';
    kit_good(ch_store_setting_set(store, "currency", setting, KIT_NOW, &err), &err);
    free(setting);
    ch_store_pool_clear(&pool);
}

static void what_is_off_is_named_with_where_it_came_from_if_that_is_known(void **state)
{
    (void)state;
    const int64_t sheet = kit_sheet(store);
    const ch_store_ledger coil = {.what = "coil"}, plug = {.what = "plug", .origin = "cylinder 2"};
    kit_good(ch_store_ledger_add(store, sheet, &coil, NULL, KIT_NOW, NULL, &err), &err);
    assert_int_equal(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), CH_E_INPUT);
    assert_string_equal(err.what, "1 not put back, first: coil");
    err = (ch_err){0};
    kit_good(ch_store_ledger_put_back(store, 1, true, KIT_NOW, &err), &err);
    kit_good(ch_store_ledger_add(store, sheet, &plug, NULL, KIT_NOW, NULL, &err), &err);
    told(ch_store_sheet_close(store, sheet, NULL, KIT_NOW, &err), CH_E_INPUT,
         "1 not put back, first: plug, cylinder 2");
}

/* ---- what was typed ---- */

static void a_reading_keeps_the_step_of_its_last_digit(void **state)
{
    (void)state;
    static const struct {
        const char *typed;
        double step_pa;
    } cases[] = {{"178 psi", 6894.757293168}, {"12,30 bar", 1e3}, {"1.5e2 psi", 68947.57293168}, {"2E1 bar", 1e6}};
    const int64_t sheet = kit_sheet(store);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char sql[160];
        const ch_store_row row = kit_row(1, cases[i].typed);
        ch_stored made = {0};
        kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, &made, &err), &err);
        snprintf(sql, sizeof sql, "SELECT abs(resolution / %.10g - 1) < 1e-9 FROM entry_quantity WHERE entry_id = %lld",
                 cases[i].step_pa, (long long)made.id);
        assert_int_equal(kit_ask(kit_path("garage.db"), sql), 1);
    }
}

static void each_way_of_saying_an_accuracy_comes_back(void **state)
{
    (void)state;
    static const char *const ways[] = {"class 1.6", "grade 2A", "1.5 % of span", "2 % of reading"};
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        char text[300];
        ch_sheet sheet, loaded;
        ch_stored made = {0};
        snprintf(text, sizeof text,
                 "sheet: 1\ntitle: \"\"\nengine: {cylinders: 1}\ngauge: {accuracy: %s}\n"
                 "compression: [{cylinder: 1, reading: 170 psi}]\n",
                 ways[i]);
        kit_good(ch_sheet_parse("typed", text, strlen(text), &sheet, &err), &err);
        kit_good(ch_store_sheet_save(store, &sheet, 0, NULL, KIT_NOW, &made, &err), &err);
        kit_good(ch_store_sheet_load(store, made.id, &loaded, &err), &err);
        assert_int_equal(loaded.gauge.accuracy_kind, sheet.gauge.accuracy_kind);
        assert_true(loaded.gauge.accuracy.si == sheet.gauge.accuracy.si);
        assert_ptr_equal(loaded.gauge.grade, sheet.gauge.grade);
        assert_string_equal(loaded.title, ""); /* given, and empty */
        ch_sheet_clear(&sheet);
        ch_sheet_clear(&loaded);
    }
}

static void a_head_may_leave_the_cylinders_open_but_not_their_order(void **state)
{
    (void)state;
    const int64_t sheet = kit_sheet(store);
    const ch_store_row row = kit_row(3, "178 psi");
    ch_sheet head;
    ch_sheet_init(&head);
    kit_good(ch_store_row_add(store, sheet, &row, NULL, KIT_NOW, NULL, &err), &err);
    kit_good(ch_store_sheet_head(store, sheet, &head, KIT_NOW, &err), &err);
    head.engine.firing_order[0] = 1;
    told(ch_store_sheet_head(store, sheet, &head, KIT_NOW, &err), CH_E_INPUT, "cylinders");
    head.engine.firing_order[0] = 0;
    head.engine.cylinders = 2;
    told(ch_store_sheet_head(store, sheet, &head, KIT_NOW, &err), CH_E_INPUT, "a row is of cylinder 3");
    ch_sheet_clear(&head);
}

/* ---- what SQLite says, in our words ---- */

static void a_check_that_was_kept_from_reading_is_no_damage(void **state)
{
    (void)state;
    static const struct {
        const char *said;
        int code;
    } cases[] = {
        {"Tree 5 page 7: btreeInitPage() returns error code 11", SQLITE_OK},
        {"Tree 5 page 7: btreeInitPage() returns error code 10", SQLITE_OK},
        {"Tree 5 page 7: unable to get the page. error code=266", SQLITE_IOERR_READ},
        {"Tree 5 page 7: unable to get the page. error code=7", SQLITE_NOMEM},
        {"Tree 5 page 7: unable to get the page. error code=11", SQLITE_OK}, /* damaged itself */
        {"Tree 5 page 7 cell 3: failed to get page 9", SQLITE_IOERR_READ},
        {"row 3 missing from index event_of_car", SQLITE_OK},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        assert_int_equal(store_kept_from_reading(cases[i].said), cases[i].code);
}

static void what_fails_is_called_by_its_name_and_says_what_to_do(void **state)
{
    (void)state;
    static const struct {
        int code;
        ch_status status;
        const char *what, *right;
    } cases[] = {
        {SQLITE_NOMEM, CH_E_MEMORY, "no memory (reading)", ""},
        {SQLITE_IOERR_NOMEM, CH_E_MEMORY, "no memory (reading)", ""},
        {SQLITE_TOOBIG, CH_E_LIMIT, "too large (reading)", ""},
        {SQLITE_CONSTRAINT_CHECK, CH_E_INPUT, "reading: ", ""},
        {SQLITE_FULL, CH_E_IO, "the disk is full (reading)", "room on the disk"},
        {SQLITE_IOERR_SHMSIZE, CH_E_IO, "the disk is full (reading)", "room on the disk"},
        {SQLITE_READONLY_ROLLBACK, CH_E_IO, "a change of it was cut short (reading)", "open it for writing once"},
        {SQLITE_READONLY_DIRECTORY, CH_E_IO, "may not be written (reading)", "a file and a folder that may be written"},
        {SQLITE_BUSY_SNAPSHOT, CH_E_IO, "another program holds the garage file", "close that program, or try again"},
        {SQLITE_LOCKED, CH_E_IO, "another program holds the garage file", "close that program, or try again"},
        {SQLITE_CANTOPEN_ISDIR, CH_E_IO, "cannot be opened (reading)", "a file and a folder that may be read"},
        {SQLITE_ERROR, CH_E_IO, "reading: ", ""},
        {SQLITE_IOERR_FSYNC, CH_E_IO, "reading: disk I/O error", ""},
        {SQLITE_MISUSE, CH_E_IO, "reading: ", ""},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ch_status rc = store_fail(store, cases[i].code, "reading", &err);
        if (cases[i].right[0] != '\0')
            assert_non_null(strstr(err.right, cases[i].right));
        assert_non_null(strstr(err.file, "garage.db"));
        told(rc, cases[i].status, cases[i].what);
        assert_false(store->damaged);
    }
    store->read_only = true; /* reading needs room beside the file as well: a copy has it */
    const ch_status only = store_fail(store, SQLITE_READONLY_DIRECTORY, "reading", &err);
    assert_non_null(strstr(err.right, "copy it into a folder that may be written"));
    told(only, CH_E_IO, "may not be written (reading)");
    store->read_only = false;
    static const int damaging[] = {SQLITE_NOTADB, SQLITE_CORRUPT_INDEX};
    for (int i = 0; i < 2; i++) {
        const ch_status rc = store_fail(store, damaging[i], "reading", &err);
        assert_non_null(strstr(err.right, "go on with the latest backup"));
        told(rc, CH_E_INPUT, i == 0 ? "is no garage file" : "the garage file is damaged (reading)");
        assert_true(store->damaged);
        told(ch_store_setting_set(store, "currency", "EUR", KIT_NOW, &err), CH_E_INPUT, "damaged (found earlier)");
        store->damaged = false;
    }
}

#define PROMISE(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(a_run_outside_a_limit_is_refused),
        PROMISE(what_is_said_of_a_run_later_has_limits_too),
        PROMISE(a_run_without_slips_has_a_line_in_the_table),
        PROMISE(hours_and_money_outside_a_limit_are_refused),
        PROMISE(a_torque_outside_a_limit_is_refused),
        PROMISE(a_closed_or_unknown_thing_is_named),
        PROMISE(what_is_off_is_named_with_where_it_came_from_if_that_is_known),
        PROMISE(a_reading_keeps_the_step_of_its_last_digit),
        PROMISE(each_way_of_saying_an_accuracy_comes_back),
        PROMISE(a_head_may_leave_the_cylinders_open_but_not_their_order),
        PROMISE(a_check_that_was_kept_from_reading_is_no_damage),
        PROMISE(what_fails_is_called_by_its_name_and_says_what_to_do),
    };
    return cmocka_run_group_tests_name("store_limits", tests, NULL, NULL);
}

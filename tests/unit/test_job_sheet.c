/*
 * Promises of car/job_sheet.c, show/job_sheet.c and show/shopping.c: the order of a sheet, torques as the owner has them, and the text that goes
 * to the car.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_jobs.h"
#include "expect.h"
#include "fail_alloc.h"

static ch_knowledge knowledge;
static ch_jobs jobs;

static int load(void **state)
{
    (void)state;
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) != CH_OK)
        return -1;
    return ch_jobs_parse(&jobs, &knowledge, ch_jobs_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_jobs_clear(&jobs);
    ch_knowledge_clear(&knowledge);
    return 0;
}

static size_t job_place(const char *id)
{
    const ch_job *job = ch_job_find(&jobs, id, strlen(id));
    assert_non_null(job);
    return (size_t)(job - jobs.jobs);
}

static void make(const char *id, bool with_access, const ch_owner_torque *torques, size_t n, ch_job_sheet *sheet)
{
    ch_err err = {0};
    if (ch_job_sheet_make(&jobs, CH_DRIVE_REAR, job_place(id), with_access, torques, n, sheet, &err) != CH_OK)
        fail_msg("%s: %s", id, err.what);
}

static ch_owner_torque torque_of(const char *id, const char *typed)
{
    ch_owner_torque owner = {.id = id, .torque = ch_quantity_none()};
    if (typed != NULL)
        assert_int_equal(ch_quantity_parse(typed, strlen(typed), CH_DIM_TORQUE, NULL, &owner.torque, NULL), CH_OK);
    return owner;
}

static ch_job_sheet_torque no_torque;

static const ch_job_sheet_torque *torque_in(const ch_job_sheet *sheet, const char *id)
{
    for (size_t i = 0; i < sheet->torques_count; i++)
        if (strcmp(sheet->torques[i].what->id, id) == 0)
            return &sheet->torques[i];
    fail_msg("no torque %s", id);
    return &no_torque;
}

/* ---- the struct ---- */

static void a_sheet_opens_works_and_closes_in_reverse(void **state)
{
    (void)state;
    ch_job_sheet s;
    make("rear_crank_seal", true, NULL, 0, &s);
    assert_true(s.access_count > 5);
    assert_string_equal(s.steps[0].of->id, "car_on_stands");
    assert_string_equal(s.steps[s.steps_count - 1].of->id, "car_on_stands");
    size_t opened = 0, closing = s.access_count;
    ch_job_sheet_part part = CH_JOB_SHEET_OPEN;
    const ch_jobs_work *of = NULL;
    for (size_t i = 0; i < s.steps_count; i++) {
        assert_true(s.steps[i].part >= part); /* open, work, close */
        part = s.steps[i].part;
        if (part == CH_JOB_SHEET_WORK)
            assert_ptr_equal(s.steps[i].of, &s.job->work);
        else if (s.steps[i].of != of || (i > 0 && s.steps[i - 1].part != part))
            assert_ptr_equal(s.steps[i].of, part == CH_JOB_SHEET_OPEN ? &jobs.access[s.access[opened++]].work
                                                                      : &jobs.access[s.access[--closing]].work);
        of = s.steps[i].of;
    }
    assert_int_equal(opened, s.access_count);
    assert_int_equal(closing, 0);
    ch_job_sheet_clear(&s);
    assert_null(s.steps);
    ch_job_sheet_clear(&s);
}

static void hours_of_a_sheet_are_the_sums_of_its_access(void **state)
{
    (void)state;
    ch_job_sheet s;
    make("brake_hoses", true, NULL, 0, &s);
    assert_int_equal(s.access_count, 3); /* stands, wheels, circuit */
    double likely_s = 0, back_s = 0;
    for (size_t i = 0; i < 3; i++) {
        likely_s += jobs.access[s.access[i]].work.time.likely_s;
        back_s += jobs.access[s.access[i]].back.likely_s;
    }
    expect_close(s.open.likely_s, likely_s, 1e-6); /* sums of a few thousand seconds */
    expect_close(s.close.likely_s, back_s, 1e-6);
    expect_close(s.work.likely_s, s.job->work.time.likely_s, 0);
    ch_job_sheet_clear(&s);
}

static void without_access_the_job_stands_alone(void **state)
{
    (void)state;
    ch_job_sheet s;
    make("clutch_kit", false, NULL, 0, &s);
    assert_int_equal(s.access_count, 0);
    assert_int_equal(s.steps_count, s.job->work.steps_count);
    expect_close(s.open.most_s, 0, 0);
    assert_int_equal(s.shopping.count, 1);
    assert_string_equal(jobs.goods[s.shopping.lines[0].goods].id, "clutch_kit");
    ch_job_sheet_clear(&s);
}

static void what_came_off_last_goes_back_first(void **state)
{
    (void)state;
    ch_job_sheet s;
    make("rear_crank_seal", true, NULL, 0, &s);
    size_t taken = 0;
    for (size_t i = 0; i < s.steps_count; i++)
        taken += s.steps[i].step->takes_off_count;
    assert_int_equal(s.put_back_count, taken);
    assert_string_equal(s.put_back[0].what->id, "flywheel");
    assert_string_equal(s.put_back[1].what->id, "clutch_cover");
    assert_string_equal(s.put_back[taken - 1].what->id, "wheel_nuts_cracked");
    ch_job_sheet_clear(&s);
}

static void the_owner_s_torque_stands_where_it_was_asked_for(void **state)
{
    (void)state;
    const ch_owner_torque torques[] = {torque_of("flywheel_torque", "70 N m"), torque_of("wheel_nuts", "110 N m"),
                                       torque_of("flywheel_torque", "88 N m")};
    ch_job_sheet s;
    make("rear_crank_seal", true, torques, 3, &s);
    const ch_job_sheet_torque *flywheel = torque_in(&s, "flywheel_torque");
    assert_ptr_equal(flywheel->owner, &torques[2]); /* the last one counts */
    assert_false(flywheel->estimated);
    assert_string_equal(s.steps[flywheel->step].of->id, "flywheel_off");
    assert_int_equal(s.steps[flywheel->step].part, CH_JOB_SHEET_CLOSE);
    assert_null(torque_in(&s, "bellhousing_torque")->owner);
    ch_job_sheet_clear(&s);
}

static void a_torque_is_held_against_thread_and_class(void **state)
{
    (void)state;
    ch_owner_torque owner = torque_of("flywheel_torque", "60 N m");
    owner.thread = "M10x1.25";
    owner.property_class = "10.9";
    owner.surface = CH_THREAD_OILED;
    ch_job_sheet s;
    make("rear_crank_seal", true, &owner, 1, &s);
    const ch_job_sheet_torque *flywheel = torque_in(&s, "flywheel_torque");
    assert_true(flywheel->estimated);
    /* 0.15 * 10 mm * 0.75 * 830 MPa * 61.2 mm2, by hand */
    expect_close(flywheel->estimate.torque_n_m, 57.1, 0.1);
    assert_int_equal(flywheel->check, CH_TORQUE_USUAL);
    ch_job_sheet_clear(&s);
    owner.torque = torque_of("flywheel_torque", "88 lbf ft").torque; /* 119 N m */
    make("rear_crank_seal", true, &owner, 1, &s);
    assert_int_equal(torque_in(&s, "flywheel_torque")->check, CH_TORQUE_HIGH);
    ch_job_sheet_clear(&s);
    owner.torque = ch_quantity_none();
    make("rear_crank_seal", true, &owner, 1, &s);
    assert_false(torque_in(&s, "flywheel_torque")->estimated); /* no figure of our own to tighten by */
    ch_job_sheet_clear(&s);
}

static void refuse(const ch_owner_torque *owner, const char *what, const char *right)
{
    ch_job_sheet s = {.steps_count = 77};
    ch_err err = {0};
    assert_int_equal(ch_job_sheet_make(&jobs, CH_DRIVE_REAR, job_place("rear_crank_seal"), true, owner, 1, &s, &err),
                     CH_E_INPUT);
    assert_string_equal(err.what, what);
    assert_string_equal(err.right, right);
    assert_int_equal(s.steps_count, 77);
}

static void what_cannot_be_read_is_refused_by_its_torque(void **state)
{
    (void)state;
    ch_owner_torque owner = torque_of("flywheel_torque", "60 N m");
    owner.thread = "10 mm";
    owner.property_class = "10.9";
    refuse(&owner, "flywheel_torque: \"10 mm\" is not a thread", "a metric thread such as M10x1.5");
    owner.thread = "M10";
    owner.property_class = "10";
    refuse(&owner, "flywheel_torque: strength class \"10\"", "8.8, 10.9 or 12.9");
    owner = torque_of("flywheel_torque", "-60 N m");
    refuse(&owner, "torque of flywheel_torque is -60", "above 0");
    char note[CH_TORQUE_NOTE_MAX + 2];
    memset(note, 'x', sizeof note);
    note[sizeof note - 1] = '\0';
    owner = torque_of("flywheel_torque", "60 N m");
    owner.note = note;
    refuse(&owner, "note of flywheel_torque is 161 bytes long", "at most 160 bytes");
    ch_job_sheet s = {.steps_count = 77};
    assert_int_equal(ch_job_sheet_make(&jobs, CH_DRIVE_FRONT, job_place("propshaft_joints"), true, NULL, 0, &s, NULL),
                     CH_E_INPUT);
    assert_int_equal(ch_job_sheet_make(&jobs, CH_DRIVE_REAR, jobs.jobs_count, true, NULL, 0, &s, NULL), CH_E_RANGE);
    assert_int_equal(s.steps_count, 77);
}

static void no_memory_leaves_the_sheet_as_it_was(void **state)
{
    (void)state;
    const size_t place = job_place("clutch_kit");
    long n = 1;
    for (;; n++) {
        ch_job_sheet s = {.steps_count = 77};
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_job_sheet_make(&jobs, CH_DRIVE_REAR, place, true, NULL, 0, &s, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_job_sheet_clear(&s);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_int_equal(s.steps_count, 77);
    }
    assert_int_equal(n, 8); /* access, steps, torques, things, three of the shopping list */
}

/* ---- the text ---- */

static void shown(const char *id, bool with_access, const ch_owner_torque *torques, size_t n, ch_text *text)
{
    static const ch_show_style style = {.columns = 100};
    ch_job_sheet s;
    make(id, with_access, torques, n, &s);
    ch_text_init(text, 1024 * 1024);
    ch_show_job_sheet(&jobs, &knowledge, &s, &style, text);
    assert_int_equal(ch_text_check(text, NULL), CH_OK);
    ch_job_sheet_clear(&s);
}

/* Where `part` stands behind `from`; fails where it does not. */
static const char *find(const char *from, const char *part)
{
    const char *at = strstr(from, part);
    if (at != NULL)
        return at;
    fail_msg("\"%s\" does not follow", part);
    return from;
}

static void a_sheet_s_text_has_its_parts_in_order(void **state)
{
    (void)state;
    ch_text text;
    shown("brake_pads", true, NULL, 0, &text);
    const char *at = ch_text_string(&text);
    static const char *const parts[] = {
        "Brake pads\n",
        "Hands-on, likely: opening 1.0 h, the job 1.2 h, closing 0.9 h; 1.8 to 4.8 h in all.",
        "Order the parts ahead: 3 days typically.",
        "The service manual of this car comes first",
        "\nTo buy\n",
        "Front brake pads for track use, axle set: 1; 150 (60 to 300)",
        "Rear brake pads for track use, axle set: perhaps 1; 0 (0 to 220)",
        "In all: ",
        "\nOpen: Car on four stands\n",
        "\nOpen: Wheels off\n",
        "\nThe job: Brake pads\n",
        "Comes off: pads, pins and springs by place",
        "Torque from the car's own manual, pins or guide bolts of the calipers: ____________",
        "\nClose: Wheels off\n",
        "\nPut back, last off first; nothing may be left over\n",
        "  [ ] pads, pins and springs by place",
        "  [ ] four wheels with their nuts or bolts",
        "\nWhat closes the job\n",
        "  [ ] Pedal: Hard pedal with the engine running.",
        "common practice: hours at home",
    };
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        at = find(at, parts[i]);
    ch_text_clear(&text);
}

static void cautions_stand_before_their_step_gravest_first(void **state)
{
    (void)state;
    ch_text text;
    shown("rear_crank_seal", true, NULL, 0, &text);
    const char *heading = find(ch_text_string(&text), "\nOpen: Gearbox out (rear drive)\n");
    const char *danger = find(heading, "DANGER   A car held only by a jack");
    const char *warning = find(heading, "WARNING  A gearbox or engine slips");
    const char *step = find(heading, "[ ] Cradle and strap under the gearbox");
    assert_true(heading < danger && danger < warning && warning < step);
    ch_text_clear(&text);
}

/* Every sheet, opened and not, for both drives: no step without each of its cautions ahead of it, and no line too long
 * but for headings, which stay in one piece. */
static void every_built_in_sheet_can_be_shown(void **state)
{
    (void)state;
    static const ch_show_style style = {.columns = 72};
    int made = 0;
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t i = 0; i < jobs.jobs_count; i++) {
            if (!jobs.jobs[i].work.drives[drive])
                continue;
            ch_job_sheet s;
            assert_int_equal(ch_job_sheet_make(&jobs, (ch_drive)drive, i, true, NULL, 0, &s, NULL), CH_OK);
            ch_text text;
            ch_text_init(&text, 1024 * 1024);
            ch_show_job_sheet(&jobs, &knowledge, &s, &style, &text);
            assert_int_equal(ch_text_check(&text, NULL), CH_OK);
            const char *at = ch_text_string(&text);
            for (size_t k = 0; k < s.steps_count; k++) {
                char number[32];
                snprintf(number, sizeof number, "\n%3zu. [ ]", k + 1);
                const char *step = find(at, number);
                for (size_t c = 0; c < s.steps[k].step->cautions.count; c++) {
                    const ch_knowledge_caution *caution = &knowledge.cautions[s.steps[k].step->cautions.at[c]];
                    char word[64];
                    snprintf(word, sizeof word, "         %-8s %.12s", ch_signal_word_name(caution->word),
                             caution->hazard);
                    assert_true(find(at, word) < step);
                }
                at = step;
            }
            for (const char *line = ch_text_string(&text); *line != '\0';) {
                const size_t length = strcspn(line, "\n");
                const bool heading = strncmp(line, "Open: ", 6) == 0 || strncmp(line, "The job: ", 9) == 0 ||
                                     strncmp(line, "Close: ", 7) == 0;
                assert_true(heading || length <= 72);
                line += length + (line[length] == '\n');
            }
            ch_text_clear(&text);
            ch_job_sheet_clear(&s);
            made++;
        }
    assert_true(made >= 80);
}

static void the_cross_check_comes_with_its_caution(void **state)
{
    (void)state;
    ch_owner_torque owner = torque_of("flywheel_torque", "88 lbf ft");
    owner.note = "then 90 degrees";
    owner.thread = "M10x1.25";
    owner.property_class = "10.9";
    owner.surface = CH_THREAD_OILED;
    ch_text text;
    shown("rear_crank_seal", true, &owner, 1, &text);
    const char *at = find(ch_text_string(&text), "88 lbf");
    at = find(at, "\nTorques held against thread and strength class\n");
    at = find(at, "WARNING: the torque of this vehicle's own manual goes before.");
    at = find(at, "M10x1.25, class 10.9: about"); /* the line breaks here */
    at = find(at, "30 to 55 lbf ft;");
    find(at, "LOOK AGAIN");
    ch_text_clear(&text);
    shown("rear_crank_seal", true, NULL, 0, &text);
    assert_null(strstr(ch_text_string(&text), "strength class")); /* no figure, no check */
    ch_text_clear(&text);
}

static void a_sheet_alone_says_that_the_access_is_open(void **state)
{
    (void)state;
    ch_text text;
    shown("flywheel_faced", false, NULL, 0, &text);
    const char *at = find(ch_text_string(&text), "Hands-on: 0.4 h likely, 0.2 to 0.8 h; the access is open already.");
    find(at, "Book the shop ahead: 5 days there typically.");
    assert_null(strstr(at, "\nOpen: "));
    ch_text_clear(&text);
}

static void a_shopping_list_s_text_sums_by_kind(void **state)
{
    (void)state;
    static const ch_show_style style = {.columns = 100};
    const size_t chosen[] = {job_place("clutch_kit"), job_place("spark_plugs")};
    ch_shopping s;
    assert_int_equal(ch_jobs_shopping(&jobs, CH_DRIVE_REAR, chosen, 2, false, &s, NULL), CH_OK);
    ch_text text;
    ch_text_init(&text, 64 * 1024);
    ch_show_shopping(&jobs, &s, &style, &text);
    static const char start[] = "Shopping list\n"
                                "  Parts: 275 (135 to 680)\n"
                                "    [ ] Clutch kit: plate, cover, release bearing: 1; 240 (120 to 600)\n"
                                "    [ ] Set of four spark plugs: 1; 35 (15 to 80)\n"
                                "  In all: 275 (135 to 680) EUR\n";
    assert_int_equal(strncmp(ch_text_string(&text), start, strlen(start)), 0);
    ch_text_clear(&text);
    ch_shopping_clear(&s);
}

/* ---- the document ---- */

static void a_sheet_becomes_a_document_in_the_same_order(void **state)
{
    (void)state;
    ch_owner_torque owner = torque_of("flywheel_torque", "60 N m");
    owner.note = "then <90> degrees";
    owner.thread = "M10x1.25";
    owner.property_class = "10.9";
    ch_job_sheet s;
    make("rear_crank_seal", true, &owner, 1, &s);
    ch_document *document = NULL;
    assert_int_equal(ch_report_job_sheet(&jobs, &knowledge, &s, "Hill climber", &document, NULL), CH_OK);
    ch_text html;
    ch_text_init(&html, 1024 * 1024);
    assert_int_equal(ch_document_html(document, &html, NULL), CH_OK);
    static const char *const parts[] = {
        "Rear crank seal",
        "Hands-on, likely: opening 6.4 h",
        "Driver for the seal",
        "To buy",
        "Set of flywheel bolts",
        "Open: Car on four stands",
        "DANGER",
        "Rated stands at the maker", /* written out */
        "1. Level hard floor",
        "DANGER",
        "2. Push the car",
        "Open: Gearbox out (rear drive)",
        "A gearbox or engine slips off its support",
        "Comes off: gearbox cross member.",
        "The job: Rear crank seal",
        "Close: Flywheel off",
        "60 N m, then &lt;90&gt; degrees",
        "Torques held against thread and strength class",
        "WARNING: the torque of this vehicle",
        "M10x1.25, class 10.9: about",
        "Put back, last off first",
        "flywheel, marked to the crank",
        "What closes the job",
        "Leak check: Dry at the weep hole",
    };
    const char *at = ch_text_string(&html);
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        at = find(at, parts[i]);
    ch_text_clear(&html);
    ch_document_free(document);
    ch_job_sheet_clear(&s);
}

static void a_document_without_memory_is_none(void **state)
{
    (void)state;
    ch_job_sheet s;
    make("oil_change", false, NULL, 0, &s);
    long n = 1;
    for (;; n++) {
        ch_document *document = NULL;
        fail_alloc_at(n);
        const ch_status rc = ch_report_job_sheet(&jobs, &knowledge, &s, "Hill climber", &document, NULL);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_document_free(document);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_null(document);
    }
    assert_true(n > 10); /* one and more for each part */
    ch_job_sheet_clear(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sheet_opens_works_and_closes_in_reverse),
        cmocka_unit_test(hours_of_a_sheet_are_the_sums_of_its_access),
        cmocka_unit_test(without_access_the_job_stands_alone),
        cmocka_unit_test(what_came_off_last_goes_back_first),
        cmocka_unit_test(the_owner_s_torque_stands_where_it_was_asked_for),
        cmocka_unit_test(a_torque_is_held_against_thread_and_class),
        cmocka_unit_test(what_cannot_be_read_is_refused_by_its_torque),
        cmocka_unit_test(no_memory_leaves_the_sheet_as_it_was),
        cmocka_unit_test(a_sheet_s_text_has_its_parts_in_order),
        cmocka_unit_test(cautions_stand_before_their_step_gravest_first),
        cmocka_unit_test(every_built_in_sheet_can_be_shown),
        cmocka_unit_test(the_cross_check_comes_with_its_caution),
        cmocka_unit_test(a_sheet_alone_says_that_the_access_is_open),
        cmocka_unit_test(a_shopping_list_s_text_sums_by_kind),
        cmocka_unit_test(a_sheet_becomes_a_document_in_the_same_order),
        cmocka_unit_test(a_document_without_memory_is_none),
    };
    return cmocka_run_group_tests(tests, load, unload);
}

/* Promises of the jobs, access steps and parts that are built into the program: that they load, and what a mechanic may rely on in them. */
#include "crosshatch/jobs.h"

#include "spoilt.h"

static const char *const names[CH_JOBS_FILES] = {"parts.yaml", "access.yaml", "jobs.yaml"};
static char changed[SPOILT_BYTES_MAX];
static ch_knowledge builtin_knowledge;

static int load(void **state)
{
    (void)state;
    return ch_knowledge_parse(&builtin_knowledge, ch_knowledge_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&builtin_knowledge);
    return 0;
}

static const ch_job *job(const ch_jobs *jobs, const char *id)
{
    const ch_job *found = ch_job_find(jobs, id, strlen(id));
    if (found == NULL)
        fail_msg("no job %s", id);
    return found;
}

static size_t job_place(const ch_jobs *jobs, const char *id)
{
    return (size_t)(job(jobs, id) - jobs->jobs);
}

static void parse(ch_jobs *jobs, const ch_knowledge *with, const ch_knowledge_text *texts)
{
    ch_err err = {0};
    if (ch_jobs_parse(jobs, with, texts, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void the_built_in_files_are_those_of_the_source(void **state)
{
    (void)state;
    for (int i = 0; i < CH_JOBS_FILES; i++)
        spoilt_expect_builtin(&ch_jobs_builtin()[i], names[i], changed);
}

static void the_built_in_files_load_and_are_as_many_as_promised(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        size_t jobs = 0, access = 0;
        for (size_t i = 0; i < j.jobs_count; i++)
            jobs += j.jobs[i].work.drives[drive];
        for (size_t i = 0; i < j.access_count; i++)
            access += j.access[i].work.drives[drive];
        assert_true(jobs >= 40);
        assert_true(access >= 25);
    }
    ch_jobs_clear(&j);
}

/* Whatever the engine or the clutch suffers from, some job cures it; only for a wrong test the cure is mostly a check. */
static void every_cause_has_a_built_in_job_that_cures_it(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        for (int cause = CH_CAUSE_SOUND + 1; cause < CH_CAUSE_COUNT; cause++) {
            size_t cures = 0;
            for (size_t i = 0; i < j.jobs_count; i++)
                cures += j.jobs[i].work.drives[drive] && ch_job_cures(&j.jobs[i], ch_cause_name((ch_cause)cause));
            assert_true(cures > 0);
        }
        for (size_t c = 0; ch_clutch_cause_name(c) != NULL; c++) {
            size_t cures = 0;
            for (size_t i = 0; i < j.jobs_count; i++)
                cures += j.jobs[i].work.drives[drive] && ch_job_cures(&j.jobs[i], ch_clutch_cause_name(c));
            assert_true(cures > 0);
        }
    }
    ch_jobs_clear(&j);
}

/* The cure that causes.yaml names does cure that cause. */
static void the_cure_named_for_a_cause_is_a_job_that_cures_it(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    int jobs = 0;
    for (int cause = 0; cause < CH_CAUSE_COUNT; cause++) {
        const char *cure = builtin_knowledge.causes[cause].cure;
        const ch_job *found = cure != NULL ? ch_job_find(&j, cure, strlen(cure)) : NULL;
        if (found == NULL)
            continue;
        assert_true(ch_job_cures(found, ch_cause_name((ch_cause)cause)));
        jobs++;
    }
    assert_int_equal(jobs, 9); /* all but sound and measurement_error */
    ch_jobs_clear(&j);
}

static bool opens(const ch_jobs *j, ch_drive drive, const char *id, const char *caution)
{
    const size_t place = job_place(j, id);
    size_t access[CH_ACCESS_MAX], count = 0;
    assert_int_equal(ch_jobs_closure(j, drive, &place, 1, access, &count, NULL), CH_OK);
    for (size_t i = 0; i < count; i++) {
        const ch_places *cautions = &j->access[access[i]].work.cautions;
        for (size_t k = 0; k < cautions->count; k++)
            if (strcmp(builtin_knowledge.cautions[cautions->at[k]].id, caution) == 0)
                return true;
    }
    const ch_places *own = &j->jobs[place].work.cautions;
    for (size_t k = 0; k < own->count; k++)
        if (strcmp(builtin_knowledge.cautions[own->at[k]].id, caution) == 0)
            return true;
    return false;
}

/* What can hurt on the way to a job and in it: common practice. */
static void what_can_hurt_is_said_on_the_way(void **state)
{
    (void)state;
    static const struct {
        const char *job, *caution;
    } expected[] = {
        {"clutch_kit", "gearbox_drop"},      {"clutch_kit", "clutch_dust"},
        {"clutch_kit", "car_on_jack"},       {"clutch_kit", "engine_on_hoist"},
        {"brake_pads", "clutch_dust"},       {"brake_fluid", "air_in_brakes"},
        {"brake_hoses", "fluid_spill"},      {"head_gasket", "hot_coolant"},
        {"head_gasket", "fuel_vapour"},      {"timing_drive", "engine_not_turned"},
        {"dampers", "spring_released"},      {"harness", "airbag_fires"},
        {"battery", "battery_gas"},          {"fuel_pump", "fuel_vapour"},
        {"wheel_studs", "wheel_comes_off"},  {"pistons_and_rings", "first_start"},
        {"radiator", "refrigerant"},         {"coolant_change", "coolant_poison"},
        {"ball_joints", "brakes_loose"},     {"oil_change", "first_start"},
        {"head_rebuild", "spring_released"},
    };
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
            if (!opens(&j, (ch_drive)drive, expected[i].job, expected[i].caution))
                fail_msg("%s does not say %s", expected[i].job, expected[i].caution);
    ch_jobs_clear(&j);
}

static bool step_says(const ch_work_step *step, const char *caution)
{
    for (size_t k = 0; k < step->cautions.count; k++)
        if (strcmp(builtin_knowledge.cautions[step->cautions.at[k]].id, caution) == 0)
            return true;
    return false;
}

/* Each step is read by itself, days apart, so that one said where the car went up is not enough. Done lying underneath: common practice. */
static void every_step_under_the_car_says_that_it_can_come_down(void **state)
{
    (void)state;
    static const char *const under[] = {"undertray_off", "oil_drained",      "gearbox_oil_drained", "axle_oil_drained",
                                        "exhaust_off",   "heat_shields_off", "half_shafts_out",     "starter_off",
                                        "transaxle_out", "sump_off"};
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (size_t i = 0; i < sizeof under / sizeof under[0]; i++) {
        const ch_access *access = ch_access_find(&j, under[i], strlen(under[i]));
        assert_non_null(access);
        for (size_t s = 0; s < access->work.steps_count; s++)
            if (!step_says(&access->work.steps[s], "car_on_jack"))
                fail_msg("%s, step %zu", under[i], s + 1);
        for (size_t s = 0; s < access->back_steps_count; s++)
            if (!step_says(&access->back_steps[s], "car_on_jack"))
                fail_msg("%s, step %zu of closing", under[i], s + 1);
    }
    ch_jobs_clear(&j);
}

/* A finding that the re-test must answer with the same measurement: common practice. */
static void the_retest_measures_what_the_job_changes(void **state)
{
    (void)state;
    static const struct {
        const char *job;
        ch_retest_by by;
    } expected[] = {
        {"head_gasket", CH_RETEST_COMPRESSION},    {"head_rebuild", CH_RETEST_COMPRESSION},
        {"head_rebuild", CH_RETEST_LEAK_DOWN},     {"pistons_and_rings", CH_RETEST_COMPRESSION},
        {"timing_drive", CH_RETEST_COMPRESSION},   {"valve_lash", CH_RETEST_COMPRESSION},
        {"clutch_kit", CH_RETEST_SLIP_LOG},        {"flywheel_faced", CH_RETEST_SLIP_LOG},
        {"rear_crank_seal", CH_RETEST_LEAK_CHECK}, {"brake_hoses", CH_RETEST_PEDAL},
        {"wheel_studs", CH_RETEST_TORQUE},
    };
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        const ch_job *at = job(&j, expected[i].job);
        size_t k = 0;
        while (k < at->retests_count && at->retests[k].by != expected[i].by)
            k++;
        assert_true(k < at->retests_count);
    }
    ch_jobs_clear(&j);
}

/* The gearbox comes out once: what is behind it costs little beside the way there. Common practice. */
static void the_clutch_and_its_neighbours_share_their_access(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    const size_t shared[] = {job_place(&j, "clutch_kit"), job_place(&j, "rear_crank_seal"),
                             job_place(&j, "release_fork"), job_place(&j, "gearbox_input_seal")};
    size_t one[CH_ACCESS_MAX], all[CH_ACCESS_MAX], one_count = 0, all_count = 0;
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        assert_int_equal(ch_jobs_closure(&j, (ch_drive)drive, shared, 1, one, &one_count, NULL), CH_OK);
        assert_int_equal(ch_jobs_closure(&j, (ch_drive)drive, shared, 4, all, &all_count, NULL), CH_OK);
        assert_int_equal(all_count, one_count + 1); /* the flywheel */
    }
    ch_jobs_clear(&j);
}

/*
 * An engine is started again when all else is closed: with oil and coolant in, fuel and battery on, and not before. What opens fluids or the engine
 * knows that. Common practice.
 */
static void the_first_start_comes_last(void **state)
{
    (void)state;
    static const char *const fluids[] = {"oil_drained", "coolant_drained", "fuel_pressure_off", "head_off",
                                         "timing_open", "engine_out",      "sump_off"};
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    int held = 0;
    for (int drive = 0; drive < CH_DRIVES; drive++)
        for (size_t i = 0; i < j.jobs_count; i++) {
            size_t access[CH_ACCESS_MAX], count = 0;
            if (ch_jobs_closure(&j, (ch_drive)drive, &i, 1, access, &count, NULL) < 0)
                continue;
            bool opens_fluids = false;
            for (size_t k = 0; k < count; k++)
                for (size_t f = 0; f < sizeof fluids / sizeof fluids[0]; f++)
                    opens_fluids = opens_fluids || strcmp(j.access[access[k]].work.id, fluids[f]) == 0;
            if (!opens_fluids)
                continue;
            assert_string_equal(j.access[access[0]].work.id, "engine_stopped"); /* opened first, so closed last */
            held++;
        }
    assert_true(held > 20);
    ch_jobs_clear(&j);
}

/* Fuel pressure goes with the engine idling, axle nuts with the wheels on the ground: both before the battery is off and the car up. Common practice. */
static void what_takes_a_running_engine_or_the_ground_is_opened_first(void **state)
{
    (void)state;
    static const char *const first[] = {"engine_stopped", "fuel_pressure_off", "geometry_open", "axle_nuts_loose"};
    static const char *const then[] = {"battery_off", "car_on_stands"};
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    const size_t chosen[] = {job_place(&j, "fuel_pump"), job_place(&j, "wheel_bearings"), job_place(&j, "dampers")};
    for (int drive = 0; drive < CH_DRIVES; drive++) {
        size_t access[CH_ACCESS_MAX], count = 0;
        assert_int_equal(ch_jobs_closure(&j, (ch_drive)drive, chosen, 3, access, &count, NULL), CH_OK);
        assert_true(count > 4);
        for (size_t i = 0; i < 4; i++)
            assert_string_equal(j.access[access[i]].work.id, first[i]);
        for (size_t i = 0; i < 2; i++) {
            size_t k = 4;
            while (k < count && strcmp(j.access[access[k]].work.id, then[i]) != 0)
                k++;
            assert_true(k < count);
        }
    }
    ch_jobs_clear(&j);
}

/* Is it opened on the way to a job? */
static bool has_access(const ch_jobs *j, ch_drive drive, size_t job_at, const char *access_id)
{
    size_t access[CH_ACCESS_MAX], count = 0;
    if (ch_jobs_closure(j, drive, &job_at, 1, access, &count, NULL) < 0)
        return false;
    size_t k = 0;
    while (k < count && strcmp(j->access[access[k]].work.id, access_id) != 0)
        k++;
    return k < count;
}

/* New fluid draws water in an open circuit, and what is bled before the circuit is closed is bled twice: the fluid comes last. Common practice. */
static void brake_fluid_is_changed_when_the_circuit_is_closed_and_the_brakes_are_done(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    const size_t fluid = job_place(&j, "brake_fluid");
    assert_true(j.jobs[fluid].once_closed.count > 0);
    assert_string_equal(j.access[j.jobs[fluid].once_closed.at[0]].work.id, "brake_circuit_open");
    size_t earlier = 0;
    for (size_t i = 0; i < j.jobs_count; i++) {
        if (strcmp(j.jobs[i].work.id, "brake_pads") != 0 && strcmp(j.jobs[i].work.id, "brake_discs") != 0 &&
            !has_access(&j, CH_DRIVE_REAR, i, "brake_circuit_open") &&
            !has_access(&j, CH_DRIVE_FRONT, i, "brake_circuit_open"))
            continue;
        const ch_places *after = &j.jobs[fluid].after;
        size_t k = 0;
        while (k < after->count && after->at[k] != i)
            k++;
        if (k == after->count)
            fail_msg("brake_fluid is not after %s", j.jobs[i].work.id);
        earlier++;
    }
    assert_true(earlier >= 4);
    ch_jobs_clear(&j);
}

/* Coils sit on the valve cover, the undertray under exhaust and gearbox drain: what is in the way is off first. Common practice. */
static void what_is_in_the_way_is_off_first(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"valve_cover_off", "plugs_out"}, {"exhaust_off", "undertray_off"}, {"gearbox_oil_drained", "undertray_off"}};
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (size_t p = 0; p < sizeof pairs / sizeof pairs[0]; p++) {
        size_t held = 0;
        for (int drive = 0; drive < CH_DRIVES; drive++)
            for (size_t i = 0; i < j.jobs_count; i++)
                if (has_access(&j, (ch_drive)drive, i, pairs[p][0])) {
                    assert_true(has_access(&j, (ch_drive)drive, i, pairs[p][1]));
                    held++;
                }
        assert_true(held > 0);
    }
    ch_jobs_clear(&j);
}

/* Wheel nuts cracked loose for the stands are tightened again when the car is down, whatever job put it up, and stay in the ledger until then: common practice. */
static void nuts_cracked_for_the_stands_are_tightened_with_the_car_down(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    size_t cracked = 0;
    for (size_t i = 0; i < j.access_count; i++) {
        const ch_access *access = &j.access[i];
        for (size_t s = 0; s < access->work.steps_count; s++) {
            if (strstr(access->work.steps[s].text, "Crack the wheel nuts") == NULL)
                continue;
            const ch_work_step *last = &access->back_steps[access->back_steps_count - 1];
            assert_true(access->back_steps_count >= 2); /* after the one that lowers the car */
            assert_non_null(strstr(access->back_steps[0].text, "lower"));
            assert_non_null(strstr(last->text, "every nut of every wheel"));
            assert_non_null(strstr(last->text, "stayed on too"));
            assert_true(step_says(last, "wheel_comes_off"));
            assert_int_equal(last->torques_count, 1);
            assert_string_equal(last->torques[0].id, "wheel_nuts");
            assert_int_equal(access->work.steps[s].takes_off_count, 1);
            assert_non_null(strstr(access->work.steps[s].takes_off[0].text, "wheel nuts"));
            cracked++;
        }
    }
    assert_int_equal(cracked, 1);
    /* Whatever comes off a hub goes back before that, and who needs the stands closes them. */
    for (size_t i = 0; i < j.jobs_count; i++)
        for (int drive = 0; drive < CH_DRIVES; drive++)
            assert_true(!has_access(&j, (ch_drive)drive, i, "wheels_off") ||
                        has_access(&j, (ch_drive)drive, i, "car_on_stands"));
    ch_jobs_clear(&j);
}

/* Lifting eyes mostly sit on the head: common practice. Whatever hangs an engine says so, and so does what takes the head off. */
static void an_engine_hangs_from_its_head_only_while_that_is_on(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    size_t hung = 0;
    for (size_t i = 0; i < j.access_count; i++)
        for (size_t s = 0; s < j.access[i].work.steps_count; s++) {
            const ch_work_step *step = &j.access[i].work.steps[s];
            if (strstr(step->text, "lifting eyes") == NULL)
                continue;
            assert_true(step_says(step, "engine_hung_by_head"));
            assert_non_null(strstr(step->text, "Head on"));
            assert_non_null(strstr(step->text, "Head off"));
            assert_non_null(strstr(step->text, "that the manual names"));
            hung++;
        }
    assert_int_equal(hung, 2); /* held from above, and hoisted out */
    const ch_access *head = ch_access_find(&j, "head_off", strlen("head_off"));
    assert_non_null(head);
    assert_true(step_says(&head->work.steps[0], "engine_hung_by_head"));
    /* Where both come off, the engine is out before its head, and goes in with it on. */
    size_t both = 0;
    for (size_t i = 0; i < j.jobs_count; i++)
        for (int drive = 0; drive < CH_DRIVES; drive++) {
            size_t access[CH_ACCESS_MAX], count = 0, out = SIZE_MAX, off = SIZE_MAX;
            if (ch_jobs_closure(&j, (ch_drive)drive, &i, 1, access, &count, NULL) < 0)
                continue;
            for (size_t k = 0; k < count; k++) {
                out = strcmp(j.access[access[k]].work.id, "engine_out") == 0 ? k : out;
                off = strcmp(j.access[access[k]].work.id, "head_off") == 0 ? k : off;
            }
            if (out == SIZE_MAX || off == SIZE_MAX)
                continue;
            assert_true(out < off);
            both++;
        }
    assert_true(both > 0);
    ch_jobs_clear(&j);
}

/* Some job looks at something with the engine running or the starter turning: fans and belts are said there. */
static void a_step_that_runs_or_cranks_the_engine_warns_of_fans(void **state)
{
    (void)state;
    static const char *const words[] = {", run with", "Run it", "volts at the starter", "crank until", "idling"};
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    size_t running = 0;
    for (size_t i = 0; i < j.jobs_count; i++)
        for (size_t s = 0; s < j.jobs[i].work.steps_count; s++)
            for (size_t k = 0; k < sizeof words / sizeof words[0]; k++)
                if (strstr(j.jobs[i].work.steps[s].text, words[k]) != NULL) {
                    if (!step_says(&j.jobs[i].work.steps[s], "moving_fan"))
                        fail_msg("%s, step %zu", j.jobs[i].work.id, s + 1);
                    running++;
                }
    assert_true(running >= 2);
    const ch_work_step *proved = &job(&j, "rear_crank_seal")->work.steps[0];
    assert_true(step_says(proved, "car_on_jack") && step_says(proved, "exhaust_gas"));
    ch_jobs_clear(&j);
}

/* A job that must be done along with another can be: same drive, and neither excludes the other. */
static void what_a_job_requires_does_not_exclude_it(void **state)
{
    (void)state;
    ch_jobs j;
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (size_t i = 0; i < j.jobs_count; i++)
        for (size_t k = 0; k < j.jobs[i].requires.count; k++) {
            const ch_job *other = &j.jobs[j.jobs[i].requires.at[k]];
            for (int drive = 0; drive < CH_DRIVES; drive++)
                assert_true(!j.jobs[i].work.drives[drive] || other->work.drives[drive]);
            for (size_t e = 0; e < other->excludes.count; e++)
                assert_true(other->excludes.at[e] != i);
            for (size_t e = 0; e < j.jobs[i].excludes.count; e++)
                assert_true(j.jobs[i].excludes.at[e] != j.jobs[i].requires.at[k]);
        }
    ch_jobs_clear(&j);
}

/* FNV-1a of 32 bits (Fowler, Noll, Vo): its offset basis and prime are published, http://www.isthe.com/chongo/tech/comp/fnv/, from memory. */
static unsigned long fnv(const char *words)
{
    unsigned long h = 2166136261UL;
    for (; *words != '\0'; words++)
        h = ((h ^ (unsigned char)*words) * 16777619UL) & 0xffffffffUL;
    return h;
}

static void expect_mark(FILE *file, const char *id, char part, const char *first_text)
{
    char line[128], want[128];
    snprintf(want, sizeof want, "%.64s %c %08lx\n", id, part, fnv(first_text));
    if (fgets(line, sizeof line, file) == NULL)
        line[0] = '\0';
    if (strcmp(line, want) != 0)
        fail_msg("marks.txt has %s here, the knowledge %s: %s\nAn owner's ticks would be lost: a step whose words are "
                 "corrected keeps the old ones "
                 "in `was`; see tests/data/step-marks/SOURCE.md",
                 line, want, first_text);
}

static void steps_keep_what_their_ticks_are_known_by(void **state)
{
    (void)state;
    ch_jobs j;
    char path[512], line[128];
    snprintf(path, sizeof path, "%s/tests/data/step-marks/marks.txt", getenv("CROSSHATCH_SOURCE"));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    parse(&j, &builtin_knowledge, ch_jobs_builtin());
    for (size_t i = 0; i < j.access_count; i++) {
        const ch_access *access = &j.access[i];
        for (size_t k = 0; k < access->work.steps_count; k++)
            expect_mark(file, access->work.id, 'o', access->work.steps[k].first_text);
        for (size_t k = 0; k < access->back_steps_count; k++)
            expect_mark(file, access->work.id, 'c', access->back_steps[k].first_text);
    }
    for (size_t i = 0; i < j.jobs_count; i++) {
        const ch_job *one = &j.jobs[i];
        for (size_t k = 0; k < one->work.steps_count; k++)
            expect_mark(file, one->work.id, 'w', one->work.steps[k].first_text);
        for (size_t k = 0; k < one->retests_count; k++)
            expect_mark(file, one->work.id, 't', one->retests[k].first_text);
    }
    assert_null(fgets(line, sizeof line, file));
    fclose(file);
    ch_jobs_clear(&j);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_built_in_files_are_those_of_the_source),
        cmocka_unit_test(the_built_in_files_load_and_are_as_many_as_promised),
        cmocka_unit_test(every_cause_has_a_built_in_job_that_cures_it),
        cmocka_unit_test(the_cure_named_for_a_cause_is_a_job_that_cures_it),
        cmocka_unit_test(what_can_hurt_is_said_on_the_way),
        cmocka_unit_test(every_step_under_the_car_says_that_it_can_come_down),
        cmocka_unit_test(the_retest_measures_what_the_job_changes),
        cmocka_unit_test(the_clutch_and_its_neighbours_share_their_access),
        cmocka_unit_test(the_first_start_comes_last),
        cmocka_unit_test(what_takes_a_running_engine_or_the_ground_is_opened_first),
        cmocka_unit_test(brake_fluid_is_changed_when_the_circuit_is_closed_and_the_brakes_are_done),
        cmocka_unit_test(what_is_in_the_way_is_off_first),
        cmocka_unit_test(nuts_cracked_for_the_stands_are_tightened_with_the_car_down),
        cmocka_unit_test(an_engine_hangs_from_its_head_only_while_that_is_on),
        cmocka_unit_test(a_step_that_runs_or_cranks_the_engine_warns_of_fans),
        cmocka_unit_test(what_a_job_requires_does_not_exclude_it),
        cmocka_unit_test(steps_keep_what_their_ticks_are_known_by),
    };
    return cmocka_run_group_tests(tests, load, unload);
}

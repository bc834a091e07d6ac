/* Promises of judge/noted.c: what was noted that wants following up makes the verdict `watch` at least, what was seen that forbids to run the
 * engine makes it `fault`, and both say why. */
#include "judge_by_hand.h"

#define EVEN                                                                                                           \
    "{sheet: 1, units: {pressure: psi}, engine: {cylinders: 4}, compression: [{cylinder: 1, reading: 170}, "           \
    "{cylinder: 2, reading: 168}, {cylinder: 3, reading: 169}, {cylinder: 4, reading: 165}], observed: ["

static ch_verdict of(const char *text)
{
    all_well_of(4, 1.0);
    return verdict_of(text);
}

/* Of everything that a sheet may name: noted alone, and looked for and not found. */
static void each_observation_is_followed_up_where_the_knowledge_says_so(void **state)
{
    (void)state;
    size_t followed_up = 0;
    for (size_t i = 0; i < knowledge.observations_count; i++) {
        const ch_knowledge_observation *one = &knowledge.observations[i];
        char text[600];
        snprintf(text, sizeof text, EVEN "{what: %s}]}", one->id);
        const ch_verdict found = of(text);
        if (one->follow_up == NULL) {
            assert_int_equal(found, CH_VERDICT_SOUND);
            assert_false(reasons_say("Noted:"));
            continue;
        }
        followed_up++;
        assert_int_equal(found, one->do_not_run ? CH_VERDICT_FAULT : CH_VERDICT_WATCH);
        assert_int_equal(judgement.do_not_run, one->do_not_run);
        char reason[CH_REASON_SIZE];
        snprintf(reason, sizeof reason, "%s: \"%s\". %s%s", one->do_not_run ? "Seen" : "Noted", one->title,
                 one->do_not_run ? "Do not crank or run it. " : "", one->follow_up);
        assert_true(strlen(reason) + 1 < sizeof reason);
        assert_string_equal(judgement.because[0], reason);

        snprintf(text, sizeof text, EVEN "{what: %s, found: no}]}", one->id);
        assert_int_equal(of(text), CH_VERDICT_SOUND);
        assert_false(judgement.do_not_run);
        assert_false(reasons_say("Noted:") || reasons_say("Seen:"));
    }
    assert_true(followed_up > 20 && followed_up < knowledge.observations_count);
}

static void other_names_and_cylinders_are_told(void **state)
{
    (void)state;
    assert_int_equal(of(EVEN "{what: burns_oil}]}"), CH_VERDICT_WATCH);
    assert_true(reasons_say("Noted: \"Uses much oil"));
    assert_int_equal(of(EVEN "{what: borescope_scoring, cylinder: 3}]}"), CH_VERDICT_WATCH);
    assert_true(reasons_say("Noted: \"Borescope: vertical scores in the bore\" (cylinder 3). What an eye"));
    assert_int_equal(of(EVEN "{what: metal_in_oil, cylinder: 3}]}"), CH_VERDICT_WATCH);
    assert_false(reasons_say("(cylinder 3)")); /* a sign of the engine: no cylinder is to blame */
}

static void signs_with_one_reason_stand_together(void **state)
{
    (void)state;
    assert_int_equal(of(EVEN "{what: oil_use_high}, {what: metal_in_oil}, {what: blue_smoke_load}]}"),
                     CH_VERDICT_WATCH);
    assert_non_null(
        strstr(judgement.because[0], "clearly more than before\", \"Blue smoke under load\". Oil control rings"));
    assert_non_null(strstr(judgement.because[1], "many flakes that a magnet takes\". Metal comes off"));
    assert_null(strstr(judgement.because[2], "Noted"));
}

/* Room for the titles of one reason is 160 bytes: 53 for each of these, with what stands between them. */
static void titles_without_room_are_counted(void **state)
{
    (void)state;
    char text[1200] = EVEN;
    for (int i = 0; i < 6; i++)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s{what: borescope_scoring, cylinder: %d}",
                 i > 0 ? ", " : "", i % 4 + 1);
    strcat(text, "]}");
    assert_int_equal(of(text), CH_VERDICT_WATCH);
    assert_true(reasons_say("scores in the bore\" (cylinder 1), \"Borescope: vertical scores in the bore\" (cylinder "
                            "2) and 4 more. What "));
}

/* Eight reasons, and a ninth that is left out. */
static void a_ninth_reason_is_left_out(void **state)
{
    (void)state;
    const char *told[JUDGE_NOTED_MAX + 1];
    size_t n = 0;
    char text[1200] = EVEN;
    for (size_t i = 0; i < knowledge.observations_count && n < JUDGE_NOTED_MAX + 1; i++) {
        const char *reason = knowledge.observations[i].follow_up;
        bool old = reason == NULL || knowledge.observations[i].do_not_run;
        for (size_t k = 0; k < n && !old; k++)
            old = strcmp(told[k], reason) == 0;
        if (old)
            continue;
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s{what: %s}", n > 0 ? ", " : "",
                 knowledge.observations[i].id);
        told[n++] = reason;
    }
    strcat(text, "]}");
    assert_int_equal(n, JUDGE_NOTED_MAX + 1);
    assert_int_equal(of(text), CH_VERDICT_WATCH);
    for (size_t k = 0; k < JUDGE_NOTED_MAX; k++)
        assert_true(reasons_say(told[k]));
    assert_false(reasons_say(told[JUDGE_NOTED_MAX]));
    /* what forbids to run the engine is never the one that is left out */
    text[strlen(text) - 2] = '\0';
    strcat(text, ", {what: rocker_off, cylinder: 2}]}");
    assert_int_equal(of(text), CH_VERDICT_FAULT);
    assert_non_null(strstr(judgement.because[0], "out of place\" (cylinder 2). Do not crank or run it. A valve"));
    assert_false(reasons_say(told[JUDGE_NOTED_MAX - 1]));
}

/* Seen is seen: no reading, and no doubt in readings, makes it less. */
static void what_forbids_to_run_it_outweighs_every_reading(void **state)
{
    (void)state;
    static const char BROKEN[] = EVEN "{what: valve_gear_broken, cylinder: 3}]}";
    all_well_of(4, 1.0);
    blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
    assert_int_equal(verdict_of(BROKEN), CH_VERDICT_FAULT);
    all_well_of(4, 1.0);
    judgement.trace.reliable = false;
    assert_int_equal(verdict_of(BROKEN), CH_VERDICT_FAULT);
    for (int kind = 0; kind < CH_QUESTION_KIND_COUNT; kind++) {
        all_well_of(4, 1.0);
        judge_ask(&judgement, (ch_question_kind)kind, 0, SIZE_MAX, 0.99, "doubt");
        assert_int_equal(verdict_of(BROKEN), CH_VERDICT_FAULT);
        assert_true(reasons_say("What would change this: that it is put right"));
    }
}

static const char *const SEEN[] = {"valve_gear_broken",       "rocker_off",          "valve_stays_open",
                                   "borescope_piston_damage", "coolant_in_cylinder", "sea_water_in_cylinder",
                                   "oil_in_cylinder"};

/* From the sheet to the next checks: readings of a sound engine, one thing seen. */
static void nothing_is_cranked_while_it_stands(void **state)
{
    (void)state;
    const ch_judge_options options = {.seed = 1};
    int cranked = 0;
    for (size_t i = 0; i < sizeof SEEN / sizeof SEEN[0]; i++)
        for (int absent = 0; absent < 2; absent++) {
            char text[600];
            snprintf(text, sizeof text, EVEN "{what: %s, cylinder: 3%s}, {what: borescope_washed_crown, cylinder: 3}]}",
                     SEEN[i], absent ? ", found: no" : "");
            ch_sheet sheet;
            sheet_of(text, &sheet);
            assert_int_equal(ch_judge(&sheet, &knowledge, &options, &judgement, NULL), CH_OK);
            bool cranks = false;
            for (size_t k = 0; k < judgement.trace.next_check_count; k++)
                cranks = cranks || ch_knowledge_check_cranks(judgement.trace.next_check[k].check);
            assert_int_equal(judgement.verdict == CH_VERDICT_FAULT, !absent);
            assert_int_equal(judgement.do_not_run, !absent);
            assert_true(absent || !cranks);
            cranked += cranks;
            assert_true(absent || judgement.repeat_cylinder == 0);
            ch_sheet_clear(&sheet);
        }
    assert_true(cranked > 0); /* where it was looked for and not there */
}

/* Where liquid stands, the caution says how it comes out; every mark is of something that a person can see or feel. */
static void liquid_comes_with_its_caution(void **state)
{
    (void)state;
    size_t marked = 0;
    for (size_t i = 0; i < knowledge.observations_count; i++) {
        const ch_knowledge_observation *one = &knowledge.observations[i];
        const bool liquid = strstr(one->follow_up != NULL ? one->follow_up : "", "Liquid above a piston") != NULL;
        marked += one->do_not_run;
        assert_int_equal(one->cautions.count, liquid ? 1 : 0);
        if (liquid)
            assert_string_equal(knowledge.cautions[one->cautions.at[0]].id, "hydraulic_lock");
    }
    assert_true(marked > 6 && marked < 20);
}

/* What an eye has seen does not rest on the readings: it outweighs that they may be wrong, and not that something is proven. */
static void it_stands_between_fault_and_readings_that_mislead(void **state)
{
    (void)state;
    static const char METAL[] = EVEN "{what: metal_in_oil}]}", QUIET[] = EVEN "{what: runs_well}]}";
    for (int noted = 0; noted < 2; noted++) {
        all_well_of(4, 1.0);
        blame(2, CH_CAUSE_MEASUREMENT_ERROR, 0.7);
        assert_int_equal(verdict_of(noted ? METAL : QUIET), noted ? CH_VERDICT_WATCH : CH_VERDICT_UNCLEAR);
        all_well_of(4, 1.0);
        judgement.trace.reliable = false;
        assert_int_equal(verdict_of(noted ? METAL : QUIET), noted ? CH_VERDICT_WATCH : CH_VERDICT_UNCLEAR);
        all_well_of(4, 1.0);
        blame(2, CH_CAUSE_EXHAUST_VALVE, 0.85);
        assert_int_equal(verdict_of(noted ? METAL : QUIET), CH_VERDICT_FAULT);
        all_well_of(4, 1.0);
        judge_ask(&judgement, CH_QUESTION_UNIT, 0, SIZE_MAX, 0.99, "bar typed as psi");
        assert_int_equal(verdict_of(noted ? METAL : QUIET), CH_VERDICT_UNCLEAR);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_observation_is_followed_up_where_the_knowledge_says_so),
        cmocka_unit_test(other_names_and_cylinders_are_told),
        cmocka_unit_test(signs_with_one_reason_stand_together),
        cmocka_unit_test(titles_without_room_are_counted),
        cmocka_unit_test(a_ninth_reason_is_left_out),
        cmocka_unit_test(what_forbids_to_run_it_outweighs_every_reading),
        cmocka_unit_test(nothing_is_cranked_while_it_stands),
        cmocka_unit_test(liquid_comes_with_its_caution),
        cmocka_unit_test(it_stands_between_fault_and_readings_that_mislead),
    };
    return cmocka_run_group_tests(tests, load, unload);
}

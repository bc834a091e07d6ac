/*
 * Promises of car/knowledge*.c: what is read of the four knowledge files, and every refusal with its place.
 * The small files of tests/data/knowledge-bad/ are right; each refusal comes from one change of their text.
 */
#include "crosshatch/knowledge.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

#define RELATIVE 1e-14 /* a typed number times a power of ten: a few roundings of 1.1e-16 */

enum { BYTES_MAX = 128 * 1024 };

static char small[CH_KNOWLEDGE_FILES][BYTES_MAX];
static char changed[BYTES_MAX];

static int load_small(void **state)
{
    (void)state;
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++) {
        char path[4096];
        snprintf(path, sizeof path, "%s/tests/data/knowledge-bad/%s", getenv("CROSSHATCH_SOURCE"),
                 ch_knowledge_file_name((ch_knowledge_file)i));
        FILE *file = fopen(path, "rb");
        assert_non_null(file);
        small[i][fread(small[i], 1, BYTES_MAX - 1, file)] = '\0';
        fclose(file);
    }
    return 0;
}

static void small_texts(ch_knowledge_text texts[CH_KNOWLEDGE_FILES])
{
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++)
        texts[i] = (ch_knowledge_text){ch_knowledge_file_name((ch_knowledge_file)i), small[i], strlen(small[i])};
}

/* The small files with one piece of text, which must stand there once, changed. */
static void changed_texts(ch_knowledge_text texts[CH_KNOWLEDGE_FILES], ch_knowledge_file file, const char *from,
                          const char *to)
{
    small_texts(texts);
    const char *at = strstr(small[file], from);
    if (at == NULL || strstr(at + 1, from) != NULL)
        fail_msg("\"%s\" stands not once in %s", from, texts[file].name);
    snprintf(changed, sizeof changed, "%.*s%s%s", (int)(at - small[file]), small[file], to, at + strlen(from));
    texts[file].text = changed;
    texts[file].length = strlen(changed);
}

static void parse(ch_knowledge *knowledge, const ch_knowledge_text *texts)
{
    ch_err err = {0};
    if (ch_knowledge_parse(knowledge, texts, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void parse_small(ch_knowledge *knowledge)
{
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    small_texts(texts);
    parse(knowledge, texts);
}

static void refuse_as(ch_status status, ch_knowledge_file file, const char *from, const char *to, const char *line)
{
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    changed_texts(texts, file, from, to);
    ch_knowledge knowledge;
    memset(&knowledge, 0x5A, sizeof knowledge);
    const ch_knowledge before = knowledge;
    ch_err err = {0};
    const ch_status rc = ch_knowledge_parse(&knowledge, texts, &err);
    char got[800];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_int_equal(rc, status);
    assert_memory_equal(&knowledge, &before, sizeof knowledge);
    assert_int_equal(ch_knowledge_parse(&knowledge, texts, NULL), status);
}

static void refuse(ch_knowledge_file file, const char *from, const char *to, const char *line)
{
    refuse_as(CH_E_INPUT, file, from, to, line);
}

static void refuse_cause(const char *from, const char *to, const char *line)
{
    refuse(CH_KNOWLEDGE_CAUSES, from, to, line);
}

static void refuse_observation(const char *from, const char *to, const char *line)
{
    refuse(CH_KNOWLEDGE_OBSERVATIONS, from, to, line);
}

static void refuse_check(const char *from, const char *to, const char *line)
{
    refuse(CH_KNOWLEDGE_CHECKS, from, to, line);
}

static void the_built_in_files_load(void **state)
{
    (void)state;
    ch_knowledge knowledge;
    parse(&knowledge, ch_knowledge_builtin());
    for (int i = 0; i < CH_CAUSE_COUNT; i++)
        assert_string_equal(knowledge.causes[i].id, ch_cause_name((ch_cause)i));
    assert_true(knowledge.observations_count > 0 && knowledge.checks_count > 0 && knowledge.cautions_count > 0);
    ch_knowledge_clear(&knowledge);
    assert_null(knowledge.pieces);
    ch_knowledge_clear(&knowledge);
}

static void the_built_in_files_are_those_of_the_source(void **state)
{
    (void)state;
    const ch_knowledge_text *builtin = ch_knowledge_builtin();
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++) {
        const char *name = ch_knowledge_file_name((ch_knowledge_file)i);
        char path[4096];
        snprintf(path, sizeof path, "%s/knowledge/%s", getenv("CROSSHATCH_SOURCE"), name);
        FILE *file = fopen(path, "rb");
        assert_non_null(file);
        const size_t length = fread(changed, 1, sizeof changed, file);
        fclose(file);
        assert_int_equal(length, builtin[i].length);
        assert_memory_equal(changed, builtin[i].text, length);
        assert_memory_equal(builtin[i].name, name, strlen(name));
    }
}

static void causes_are_read_in_si(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    const ch_knowledge_cause *rings = &k.causes[CH_CAUSE_RINGS_OR_BORE];
    assert_string_equal(rings->title, "Rings");
    assert_string_equal(rings->says, "They are worn.");
    assert_string_equal(rings->looks_like, "Up with oil.");
    assert_string_equal(rings->cure, "new_rings");
    assert_string_equal(rings->prior_source, "judgment");
    assert_string_equal(rings->areas_source, "judgment of areas");
    assert_int_equal(rings->scope, CH_SCOPE_CYLINDER);
    expect_relative(rings->prior_1, 0.0061, RELATIVE);
    expect_relative(rings->together_chance_1, 0.11, RELATIVE);
    expect_relative(rings->together_share_1, 0.76, RELATIVE);
    expect_close(rings->together_bank_1, 0.0, 0.0);
    expect_relative(k.causes[CH_CAUSE_CAM_OR_TIMING].together_bank_1, 0.4, RELATIVE);
    expect_relative(rings->mileage_exponent_1, 1.1, RELATIVE);
    expect_relative(rings->oil_seals_1, 0.86, RELATIVE);
    expect_close(rings->path_chance_1[CH_PATH_RINGS], 1, 0);
    expect_close(rings->no_path_chance_1, 0, 0);
    assert_int_equal(rings->areas_m2.count, 2);
    expect_relative(rings->areas_m2.part[1].weight_1, 0.4, RELATIVE);
    expect_relative(rings->areas_m2.part[1].median, 4.6e-6, RELATIVE);
    expect_relative(rings->areas_m2.part[1].spread_1, 0.71, RELATIVE);
    assert_true(isnan(rings->leakdown_wrong_1));
    assert_int_equal(rings->filling_1.count, 0);

    const ch_knowledge_cause *sound = &k.causes[CH_CAUSE_SOUND];
    assert_true(isnan(sound->prior_1));
    assert_null(sound->cure);
    assert_null(sound->prior_source);
    expect_close(sound->together_chance_1, 0, 0);
    expect_close(sound->mileage_exponent_1, 0, 0);
    expect_close(sound->no_path_chance_1, 1, 0);

    assert_int_equal(k.causes[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS].scope, CH_SCOPE_PAIR);
    const ch_knowledge_cause *lash = &k.causes[CH_CAUSE_VALVE_LASH_TIGHT];
    expect_relative(lash->path_chance_1[CH_PATH_EXHAUST_VALVE], 0.75, RELATIVE);
    expect_relative(lash->path_chance_1[CH_PATH_INTAKE_VALVE], 0.25, RELATIVE);

    const ch_knowledge_cause *cam = &k.causes[CH_CAUSE_CAM_OR_TIMING];
    assert_int_equal(cam->filling_1.count, 2);
    expect_relative(cam->filling_1.part[0].median, 0.87, RELATIVE);
    assert_string_equal(cam->filling_source, "judgment of filling");
    const ch_knowledge_cause *test = &k.causes[CH_CAUSE_MEASUREMENT_ERROR];
    assert_int_equal(test->reading_1.count, 1);
    expect_relative(test->reading_1.part[0].spread_1, 0.15, RELATIVE);
    expect_relative(test->leakdown_wrong_1, 0.27, RELATIVE);
    assert_string_equal(test->reading_source, "judgment of reading");
    assert_string_equal(test->leakdown_wrong_source, "judgment of the tester");
    ch_knowledge_clear(&k);
}

static void what_all_causes_share_is_read_in_si(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    expect_relative(k.background_m2[CH_PATH_RINGS].median, 0.37e-6, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_RINGS].spread_1, 0.51, RELATIVE);
    expect_relative(k.background_rings_bore_m, 0.083, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_INTAKE_VALVE].median, 0.021e-6, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_EXHAUST_VALVE].median, 0.022e-6, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_NEIGHBOUR].median, 0.0031e-6, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_COOLANT].median, 0.0012e-6, RELATIVE);
    expect_relative(k.background_m2[CH_PATH_COOLANT].spread_1, 1.05, RELATIVE);
    expect_close(k.background_m2[CH_PATH_COOLANT].weight_1, 1, 0);
    expect_relative(k.hearing.noted_1, 0.91, RELATIVE);
    expect_relative(k.hearing.share_1, 0.26, RELATIVE);
    expect_relative(k.hearing.least_m2, 0.13e-6, RELATIVE);
    expect_relative(k.hearing.least_oil_filler_m2, 0.13e-6, RELATIVE); /* not given there */
    expect_close(k.hearing.listeners_spread_1, 0.8, 0);                /* nor these */
    expect_close(k.hearing.oil_filler_blur_1, 0.4, 0);
    expect_relative(k.hearing.false_intake_1, 0.061, RELATIVE);
    expect_relative(k.hearing.false_exhaust_1, 0.062, RELATIVE);
    expect_relative(k.hearing.false_coolant_1, 0.011, RELATIVE);
    expect_relative(k.hearing.false_cylinder_1, 0.012, RELATIVE);
    expect_relative(k.hearing.false_oil_filler_1, 0.31, RELATIVE);
    expect_relative(k.mileage.reference_m, 161e6, RELATIVE);
    expect_relative(k.mileage.least_1, 0.31, RELATIVE);
    expect_relative(k.mileage.most_1, 3.2, RELATIVE);
    assert_string_equal(k.background_source, "judgment");
    assert_string_equal(k.hearing_source, "judgment");
    assert_string_equal(k.mileage_source, "judgment");
    ch_knowledge_clear(&k);
}

static void observations_are_read(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    assert_int_equal(k.groups_count, 1);
    assert_string_equal(k.groups[0].id, "smoke");
    assert_string_equal(k.groups[0].title, "Smoke");
    expect_relative(k.groups[0].further_1, 0.35, RELATIVE);
    assert_int_equal(k.headings_count, 2);
    assert_string_equal(k.headings[0].id, "driving");
    assert_string_equal(k.headings[1].title, "What happened before");
    assert_int_equal(k.observations_count, 3);
    const ch_knowledge_observation *smoke = &k.observations[0];
    assert_string_equal(smoke->id, "blue_smoke");
    assert_string_equal(smoke->title, "Blue smoke");
    assert_string_equal(smoke->note, "Not on a cold start.");
    assert_null(smoke->follow_up);
    assert_false(smoke->do_not_run);
    assert_true(k.observations[1].do_not_run);
    assert_string_equal(k.observations[1].follow_up, "It holds the valve open.");
    assert_int_equal(k.observations[1].cautions.count, 1);
    assert_string_equal(k.cautions[k.observations[1].cautions.at[0]].id, "stands");
    assert_int_equal(smoke->kind, CH_OBSERVATION_SIGN);
    assert_int_equal(smoke->scope, CH_SCOPE_ENGINE);
    assert_int_equal(smoke->group, 0);
    assert_int_equal(smoke->heading, CH_NO_HEADING);
    assert_int_equal(smoke->also_count, 2);
    assert_string_equal(smoke->also[1], "blue_cloud");
    expect_relative(smoke->positive_1[CH_CAUSE_SOUND], 0.03, RELATIVE);
    expect_relative(smoke->positive_1[CH_CAUSE_MEASUREMENT_ERROR], 0.13, RELATIVE);
    expect_close(smoke->odds_1[CH_CAUSE_PISTON_DAMAGE], 1, 0);
    assert_int_equal(k.observations[1].kind, CH_OBSERVATION_CHECK);
    assert_int_equal(k.observations[1].scope, CH_SCOPE_CYLINDER);
    assert_int_equal(k.observations[1].group, CH_NO_GROUP);
    assert_null(k.observations[1].note);
    const ch_knowledge_observation *hot = &k.observations[2];
    assert_int_equal(hot->kind, CH_OBSERVATION_HISTORY);
    assert_string_equal(hot->follow_up, "A head that was too hot may have warped.");
    assert_int_equal(hot->heading, 1);
    expect_relative(hot->odds_1[CH_CAUSE_CRACKED_HEAD], 4.5, RELATIVE);
    expect_close(hot->odds_1[CH_CAUSE_RINGS_OR_BORE], 1, 0);
    assert_true(isnan(hot->positive_1[CH_CAUSE_CRACKED_HEAD]));
    ch_knowledge_clear(&k);
}

static void checks_and_cautions_are_read_in_si(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    assert_int_equal(k.tools_count, 2);
    assert_true(k.tools[0].everyday);
    assert_false(k.tools[1].everyday);
    assert_int_equal(k.checks_count, 2);
    const ch_knowledge_check *again = &k.checks[0], *look = &k.checks[1];
    assert_int_equal(again->scope, CH_SCOPE_CYLINDER);
    expect_close(again->setup_s, 600, 0);
    expect_close(again->each_s, 150, 0);
    assert_int_equal(again->needs.count, 1);
    assert_string_equal(k.tools[again->needs.at[0]].title, "Gauge");
    assert_int_equal(again->rows, CH_ROWS_COMPRESSION | CH_ROWS_WET);
    assert_true(again->last);
    assert_string_equal(again->note, "Same strokes.");
    assert_false(look->last);
    assert_int_equal(look->rows, 0);
    assert_int_equal(look->yields.count, 2);
    assert_string_equal(k.observations[look->yields.at[1]].id, "lash_small");
    assert_int_equal(k.cautions_count, 3);
    assert_string_equal(k.always, "Manual first.");
    assert_string_equal(k.cautions[1].defer_when, "The floor slopes.");
    assert_null(k.cautions[0].defer_when);
    assert_string_equal(k.cautions[2].precaution, "Wait, or wear gloves.");
    ch_knowledge_clear(&k);
}

static void the_gravest_caution_stands_first(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    const ch_places *cautions = &k.checks[0].cautions;
    assert_int_equal(cautions->count, 3);
    assert_int_equal(k.cautions[cautions->at[0]].word, CH_SIGNAL_DANGER);
    assert_int_equal(k.cautions[cautions->at[1]].word, CH_SIGNAL_CAUTION);
    assert_int_equal(k.cautions[cautions->at[2]].word, CH_SIGNAL_NOTICE);
    assert_string_equal(k.cautions[k.causes[CH_CAUSE_RINGS_OR_BORE].cautions.at[0]].id, "stands");
    ch_knowledge_clear(&k);
}

static void a_name_finds_what_it_stands_for(void **state)
{
    (void)state;
    ch_knowledge k;
    parse_small(&k);
    assert_ptr_equal(ch_knowledge_observation_find(&k, "blue_smoke", 10), &k.observations[0]);
    assert_ptr_equal(ch_knowledge_observation_find(&k, "oil_smoke", 9), &k.observations[0]);
    assert_ptr_equal(ch_knowledge_observation_find(&k, "boiled over", 6), &k.observations[2]);
    assert_null(ch_knowledge_observation_find(&k, "boile", 5));
    assert_null(ch_knowledge_observation_find(&k, "boiled\0x", 8));
    assert_null(ch_knowledge_observation_find(&k, "", 0));
    assert_string_equal(ch_knowledge_observation_nearest(&k, "blue_smok", 9), "blue_smoke");
    assert_null(ch_knowledge_observation_nearest(&k, "xyzzy", 5));
    assert_ptr_equal(ch_knowledge_check_find(&k, "look", 4), &k.checks[1]);
    assert_null(ch_knowledge_check_find(&k, "blue_smoke", 10));
    assert_ptr_equal(ch_knowledge_caution_find(&k, "stands", 6), &k.cautions[1]);
    ch_knowledge_clear(&k);
}

static void every_name_of_the_built_in_files_is_found(void **state)
{
    (void)state;
    ch_knowledge k;
    parse(&k, ch_knowledge_builtin());
    for (size_t i = 0; i < k.observations_count; i++) {
        const ch_knowledge_observation *it = &k.observations[i];
        assert_ptr_equal(ch_knowledge_observation_find(&k, it->id, strlen(it->id)), it);
        for (size_t j = 0; j < it->also_count; j++)
            assert_ptr_equal(ch_knowledge_observation_find(&k, it->also[j], strlen(it->also[j])), it);
    }
    for (size_t i = 0; i < k.checks_count; i++)
        assert_ptr_equal(ch_knowledge_check_find(&k, k.checks[i].id, strlen(k.checks[i].id)), &k.checks[i]);
    for (size_t i = 0; i < k.cautions_count; i++)
        assert_ptr_equal(ch_knowledge_caution_find(&k, k.cautions[i].id, strlen(k.cautions[i].id)), &k.cautions[i]);
    ch_knowledge_clear(&k);
}

static void fixed_names_go_both_ways(void **state)
{
    (void)state;
    for (int i = 0; i < CH_CAUSE_COUNT; i++) {
        const char *name = ch_cause_name((ch_cause)i);
        assert_int_equal(ch_cause_find(name, strlen(name)), i);
        assert_int_equal(ch_cause_find(name, strlen(name) - 1), CH_CAUSE_COUNT);
    }
    assert_null(ch_cause_name(CH_CAUSE_COUNT));
    assert_null(ch_path_name(CH_PATH_COUNT));
    assert_string_equal(ch_path_name(CH_PATH_NEIGHBOUR), "neighbour");
    assert_string_equal(ch_signal_word_name(CH_SIGNAL_DANGER), "DANGER");
}

static void a_mechanics_correction_is_seen(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    ch_knowledge k;
    changed_texts(texts, CH_KNOWLEDGE_CAUSES, "median: 4.6,", "median: 5.9,");
    parse(&k, texts);
    expect_relative(k.causes[CH_CAUSE_RINGS_OR_BORE].areas_m2.part[1].median, 5.9e-6, RELATIVE);
    ch_knowledge_clear(&k);
    changed_texts(texts, CH_KNOWLEDGE_OBSERVATIONS, "rings_or_bore: 0.45", "rings_or_bore: 0.72");
    parse(&k, texts);
    expect_relative(k.observations[0].positive_1[CH_CAUSE_RINGS_OR_BORE], 0.72, RELATIVE);
    ch_knowledge_clear(&k);
    changed_texts(texts, CH_KNOWLEDGE_OBSERVATIONS, "[boiled]", "[boiled, ran_hot]");
    parse(&k, texts);
    assert_ptr_equal(ch_knowledge_observation_find(&k, "ran_hot", 7), &k.observations[2]);
    ch_knowledge_clear(&k);
}

static void the_order_of_causes_is_free(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    ch_knowledge k;
    const char *moved = strstr(small[CH_KNOWLEDGE_CAUSES], "  - {id: piston_damage");
    const char *behind = strstr(moved, "  - {id: intake_valve");
    char cut[1000];
    snprintf(cut, sizeof cut, "%.*s", (int)(behind - moved), moved);
    changed_texts(texts, CH_KNOWLEDGE_CAUSES, cut, "");
    strcat(changed, cut);
    texts[CH_KNOWLEDGE_CAUSES].length = strlen(changed);
    parse(&k, texts);
    assert_string_equal(k.causes[CH_CAUSE_PISTON_DAMAGE].title, "Piston");
    ch_knowledge_clear(&k);
}

static void a_heading_that_is_not_the_files_is_refused(void **state)
{
    (void)state;
    refuse_cause("knowledge: causes", "knowledge: checks", "causes.yaml:1:12: knowledge is \"checks\": causes");
    refuse_cause("version: 1", "version: 2", "causes.yaml:2:10: version is \"2\": 1");
    refuse_check("knowledge: checks\n", "", "checks.yaml:1:1: \"knowledge\" is missing here");
    refuse(CH_KNOWLEDGE_CAUTIONS, small[CH_KNOWLEDGE_CAUTIONS], "- a\n",
           "cautions.yaml:1:1: not a knowledge file: keys and values, as docs/knowledge.md has them");
    refuse(CH_KNOWLEDGE_CAUTIONS, small[CH_KNOWLEDGE_CAUTIONS], "", "cautions.yaml:1:1: the file is empty");
    refuse(CH_KNOWLEDGE_CAUTIONS, "always_source:", "always:",
           "cautions.yaml:4:1: key \"always\" stands here again; first on line 3: each key once");
}

static void keys_that_do_not_belong_are_refused(void **state)
{
    (void)state;
    refuse_cause("    oil_seals: 0.86\n", "    oil_seal: 0.86\n",
                 "causes.yaml:37:5: unknown key \"oil_seal\": oil_seals");
    refuse_cause("    oil_seals: 0.86\n", "", "causes.yaml:25:5: \"oil_seals\" is missing here");
    refuse_cause("least: 0.31", "minimum: 0.31",
                 "causes.yaml:20:33: unknown key \"minimum\": one of reference_km, least, most");
    refuse_cause("\nhearing:\n", "\nhearings:\n", "causes.yaml:10:1: unknown key \"hearings\": hearing");
    refuse_cause("areas: [], areas_source: \"none\"", "prior: 0.5, areas: [], areas_source: \"none\"",
                 "causes.yaml:23:77: \"prior\" has a meaning only for a fault: sound takes the chance that the others "
                 "leave: leave it out");
    refuse_cause("    cure: new_rings\n", "    filling: [{weight: 1, median: 1, spread: 1}]\n    cure: new_rings\n",
                 "causes.yaml:39:14: \"filling\" has a meaning only with cam_or_timing: leave it out");
    refuse_cause("cure: lash,", "cure: lash, leakdown_wrong: 0.1,",
                 "causes.yaml:52:87: \"leakdown_wrong\" has a meaning only with measurement_error: leave it out");
    refuse_observation("kind: sign\n", "kind: sign\n    odds: {sound: 2}\n",
                       "observations.yaml:11:11: \"odds\" has no meaning with kind sign: positive");
    refuse_observation(
        "    odds:", "    positive:", "observations.yaml:34:15: \"positive\" has no meaning with kind history: odds");
    refuse_observation("kind: history\n", "kind: history\n    group: smoke\n",
                       "observations.yaml:32:12: \"group\" has no meaning with kind history: leave it out");
    refuse_observation("    do_not_run: \"It holds the valve open.\"\n", "",
                       "observations.yaml:27:15: cautions have no meaning without do_not_run: leave it out");
    refuse_observation("    do_not_run: \"It", "    follow_up: \"Look.\"\n    do_not_run: \"It",
                       "observations.yaml:27:16: both follow_up and do_not_run: do_not_run alone, which says more");
    refuse_observation("    follow_up: \"A head", "    do_not_run: \"A head",
                       "observations.yaml:36:17: \"do_not_run\" has no meaning with kind history: follow_up");
    refuse_observation("    do_not_run: \"It holds the valve open.\"", "    do_not_run: true",
                       "observations.yaml:27:17: do_not_run is \"true\": why, and what comes first, as a sentence");
    refuse_observation("cautions: [stands]", "cautions: [stand]",
                       "observations.yaml:28:16: there is no caution \"stand\": stands");
    refuse_check("minutes: {setup: 7, each: 0}", "minutes: {setup: 7, every: 0}",
                 "checks.yaml:24:25: unknown key \"every\": one of setup, each");
    refuse_check("minutes: {setup: 7, each: 0}", "minutes: 7",
                 "checks.yaml:24:14: minutes is a text: a map of keys and values");
    refuse_check("tools:\n  gauge: {title: \"Gauge\", everyday: true}\n", "tools:\n  gauge: 1\n",
                 "checks.yaml:4:10: gauge is a text: a map of keys and values");
}

static void figures_out_of_range_are_refused(void **state)
{
    (void)state;
    refuse_cause("prior: 0.0061", "prior: 1.2", "causes.yaml:28:12: prior is 1.2: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: -0.1", "causes.yaml:28:12: prior is -0.1: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: six",
                 "causes.yaml:28:12: prior is \"six\", not a plain number: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior:", "causes.yaml:28:5: prior is empty: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: 0.6 %",
                 "causes.yaml:28:12: prior is \"0.6 %\", not a plain number: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: .nan",
                 "causes.yaml:28:12: prior is \".nan\", not a plain number: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: [0.1]", "causes.yaml:28:12: prior is a list: from 0, less than 1");
    refuse_cause("prior: 0.0061", "prior: 0.95",
                 "causes.yaml:23:3: the chances of the faults leave nothing for sound: a sum of prior + chance * share "
                 "below 1, pairs counted twice");
    refuse_cause("bank: 0.4", "bank: 1.4", "causes.yaml:62:111: bank is 1.4: a number from 0 to 1");
    refuse_cause("share: 0.76", "share: 1.01", "causes.yaml:29:37: share is 1.01: a number from 0 to 1");
    refuse_cause("at_bore_mm: 83", "at_bore_mm: 83 mm",
                 "causes.yaml:4:51: at_bore_mm is \"83 mm\", not a plain number: a number above 0");
    refuse_cause("median: 0.0031, spread: 1.04", "median: 0, spread: 1.04",
                 "causes.yaml:7:23: median is 0: a number above 0");
    refuse_cause("median: 0.0031, spread: 1.04", "median: 0.0031, spread: 0",
                 "causes.yaml:7:39: spread is 0: a number above 0");
    refuse_cause("noted: 0.91", "noted: 1",
                 "causes.yaml:11:10: noted is 1: more than 0 and less than 1: nothing is ever proof");
    refuse_cause("false_cylinder: 0.012", "false_cylinder: 0",
                 "causes.yaml:17:19: false_cylinder is 0: more than 0 and less than 1: nothing is ever proof");
    refuse_cause("most: 3.2", "most: 0.9", "causes.yaml:20:52: most is 0.9: 1 or more");
    refuse_cause("mileage: 1.1", "mileage: 1,100",
                 "causes.yaml:31:14: mileage is \"1,100\", not a plain number: a number");
    refuse_cause("oil_seals: 0.86", "oil_seals: 1.5", "causes.yaml:37:16: oil_seals is 1.5: a number from 0 to 1");
    refuse_cause("leakdown_wrong: 0.27", "leakdown_wrong: 2",
                 "causes.yaml:70:22: leakdown_wrong is 2: a number from 0 to 1");
    refuse_observation("further: 0.35", "further: 1.35",
                       "observations.yaml:4:20: further is 1.35: a number from 0 to 1");
    refuse_observation(
        "measurement_error: 0.13", "measurement_error: 0",
        "observations.yaml:16:69: measurement_error is 0: more than 0 and less than 1: nothing is ever proof");
    refuse_observation(
        "valve_lash_tight: 0.9,", "valve_lash_tight: 1,",
        "observations.yaml:24:27: valve_lash_tight is 1: more than 0 and less than 1: nothing is ever proof");
    refuse_observation("cracked_head: 4.5", "cracked_head: 0",
                       "observations.yaml:34:26: cracked_head is 0: a number above 0");
    refuse_check("setup: 10, each: 2.5", "setup: -1, each: 2.5", "checks.yaml:12:22: setup is -1: 0 or more");
    refuse_check("    order: last\n", "    prepares: [plugs]\n",
                 "checks.yaml:16:16: there is no preparation \"plugs\"");
    refuse_check("checks:\n",
                 "preparations: {plugs: {title: \"Plugs\", minutes: 0}}\npreparations_source: \"judgment\"\nchecks:\n",
                 "checks.yaml:7:49: minutes is 0: a number above 0");
    refuse_check("checks:\n", "preparations: {plugs: {title: \"Plugs\", minutes: 4}}\nchecks:\n",
                 "checks.yaml:1:1: \"preparations_source\" is missing here");
    refuse_check("    order: last\n", "    runs: maybe\n", "checks.yaml:16:11: runs is \"maybe\": one of false, true");
    refuse_check("setup: 10, each: 2.5", "setup: 0, each: 0",
                 "checks.yaml:12:14: a check that takes no time: more than 0 in all");
    refuse_check("setup: 7, each: 0", "setup: 7, each: 1",
                 "checks.yaml:24:31: minutes for each cylinder of a check that is done once: 0, or scope: cylinder");
}

static void sums_are_held_to_one(void **state)
{
    (void)state;
    refuse_cause("weight: 0.4, median: 4.6", "weight: 0.3, median: 4.6",
                 "causes.yaml:34:7: the weights add up to 0.9000: a sum of 1");
    refuse_cause("{exhaust_valve: 0.75, intake_valve: 0.25}", "{exhaust_valve: 0.75, intake_valve: 0.35}",
                 "causes.yaml:51:13: the chances of the paths add up to 1.1000: a sum of 1");
    refuse_cause("{exhaust_valve: 0.75, intake_valve: 0.25}", "{}",
                 "causes.yaml:51:13: the chances of the paths add up to 0.0000: a sum of 1");
}

static void digits_left_off_are_made_up(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    ch_knowledge k;
    changed_texts(texts, CH_KNOWLEDGE_CAUSES, "areas: [{weight: 1, median: 25, spread: 1.2}]",
                  "areas: [{weight: 0.333, median: 25, spread: 1.2}, {weight: 0.333, median: 2, spread: 1}, "
                  "{weight: 0.333, median: 1, spread: 1}]");
    parse(&k, texts);
    expect_relative(k.causes[CH_CAUSE_PISTON_DAMAGE].areas_m2.part[2].weight_1, 1.0 / 3, RELATIVE);
    ch_knowledge_clear(&k);
    changed_texts(texts, CH_KNOWLEDGE_CAUSES, "{exhaust_valve: 0.75, intake_valve: 0.25}",
                  "{exhaust_valve: 0.667, rings: 0.167, intake_valve: 0.167}");
    parse(&k, texts);
    expect_relative(k.causes[CH_CAUSE_VALVE_LASH_TIGHT].path_chance_1[CH_PATH_RINGS], 0.167 / 1.001, RELATIVE);
    ch_knowledge_clear(&k);
}

static void causes_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    refuse_cause("id: cracked_head", "id: craked_head",
                 "causes.yaml:59:10: unknown cause \"craked_head\": cracked_head");
    refuse_cause("id: cracked_head", "id: exhaust_valve",
                 "causes.yaml:59:10: \"exhaust_valve\" stands here again; first on line 47: each cause once");
    refuse_cause("{id: cracked_head, ", "{", "causes.yaml:59:5: \"id\" is missing here");
    refuse_cause("areas: [{weight: 1, median: 7, spread: 0.9}]", "areas: []",
                 "causes.yaml:48:13: a cause that opens a path needs areas: areas, or paths: {none: 1}");
    refuse_cause("reading: [{weight: 1, median: 0.85, spread: 0.15}]", "reading: []",
                 "causes.yaml:69:15: reading is empty: at least one part");
    refuse_cause("scope: pair, ", "",
                 "causes.yaml:54:32: the path neighbour in a cause of one cylinder: scope pair and the path neighbour "
                 "go together");
    refuse_cause("scope: pair, ", "scope: both, ", "causes.yaml:53:80: scope is \"both\": one of cylinder, pair");
    refuse_cause("paths: {neighbour: 1}", "paths: {coolant: 1}",
                 "causes.yaml:54:32: a cause of a pair without the path neighbour: scope pair and the path neighbour "
                 "go together");
    refuse_cause("paths: {neighbour: 1}", "paths: {coolant: 0.5, neighbour: 0.5}",
                 "causes.yaml:54:32: a cause of a pair with another path: {neighbour: 1}");
    refuse_cause("says: \"It seals.\", paths: {none: 1}, areas: []",
                 "says: \"It seals.\", paths: {rings: 1}, areas: [{weight: 1, median: 1, spread: 1}]",
                 "causes.yaml:23:10: sound opens no path: paths: {none: 1}; leaks of a sound cylinder are background");
    refuse_cause("paths: {rings: 1}\n", "paths: {ring: 1}\n", "causes.yaml:32:13: unknown key \"ring\": rings");
    refuse_cause("cautions: [paint, stands]", "cautions: [paint, stand]",
                 "causes.yaml:40:23: there is no caution \"stand\": stands");
    refuse_cause("cautions: [paint, stands]", "cautions: [paint, paint]",
                 "causes.yaml:40:23: caution \"paint\" stands here again: each once");
    refuse_cause("cautions: [paint, stands]", "cautions: paint",
                 "causes.yaml:40:15: cautions is a text: a list; [] where there is nothing");
    refuse_cause("cure: new_rings\n", "cure: New rings\n",
                 "causes.yaml:39:11: \"New rings\" is not an id: small letters, digits and _, a letter first");
    const char *error = strstr(small[CH_KNOWLEDGE_CAUSES], "  - {id: measurement_error");
    refuse_cause(error, "", "causes.yaml:23:3: the cause \"measurement_error\" is missing: all eleven causes");
    refuse_as(CH_E_LIMIT, CH_KNOWLEDGE_CAUSES, "areas: [{weight: 1, median: 7, spread: 0.9}]",
              "areas: [1, 2, 3, 4, 5, 6, 7, 8, 9]", "causes.yaml:48:13: a mixture of 9 parts: at most 8");
}

static void observations_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    refuse_observation("rings_or_bore: 0.45", "rings: 0.45",
                       "observations.yaml:14:29: unknown cause \"rings\": rings_or_bore");
    refuse_observation("cracked_head: 0.11, ", "",
                       "observations.yaml:14:15: positive leaves out \"cracked_head\": all eleven causes");
    refuse_observation("kind: sign", "kind: smell",
                       "observations.yaml:10:11: kind is \"smell\": one of sign, check, history");
    refuse_observation("    kind: sign\n", "", "observations.yaml:8:5: \"kind\" is missing here");
    refuse_observation("group: smoke", "group: smokes", "observations.yaml:12:12: there is no group \"smokes\": smoke");
    refuse_observation("under: before", "under: befor",
                       "observations.yaml:37:12: there is no heading \"befor\": before");
    refuse_observation("{driving:", "{Driving:",
                       "observations.yaml:6:12: \"Driving\" is not an id: small letters, digits and _, a letter first");
    refuse_observation("before: \"What happened before\"", "before: [What]",
                       "observations.yaml:6:56: before is a list: a text");
    refuse_observation("[boiled]", "[blue_cloud]",
                       "observations.yaml:30:12: \"blue_cloud\" stands here again; first on line 9: each name once");
    refuse_observation("id: lash_small", "id: blue_smoke",
                       "observations.yaml:19:9: \"blue_smoke\" stands here again; first on line 8: each name once");
    refuse_observation(
        "id: lash_small", "id: Lash-small",
        "observations.yaml:19:9: \"Lash-small\" is not an id: small letters, digits and _, a letter first");
    refuse_observation("[boiled]", "[[boiled]]", "observations.yaml:30:12: this is a list: an id");
    refuse_observation("  smoke: {", "  Smoke: {",
                       "observations.yaml:4:3: \"Smoke\" is not an id: small letters, digits and _, a letter first");
    refuse_observation("odds: {cracked_head: 4.5, head_gasket_to_coolant: 3}", "odds: {}",
                       "observations.yaml:34:11: odds is empty: cause: number");
    refuse_observation("kind: history\n    scope: engine", "kind: history\n    scope: cylinder",
                       "observations.yaml:32:12: history is that of the engine: engine");
    refuse_observation("title: \"Blue smoke\"", "title: \"\"",
                       "observations.yaml:13:12: title is empty: a text, or leave the key out where it is not needed");
    refuse_observation(
        "title: \"Blue smoke\"", "title: \"Blue\\nsmoke\"",
        "observations.yaml:13:12: title holds a line end or a control character: one line, or several folded with >-");
    refuse_observation(
        "title: \"Blue smoke\"", "title: \"Blue\\x9bsmoke\"",
        "observations.yaml:13:12: title holds a line end or a control character: one line, or several folded with >-");
    refuse_observation("title: \"Blue smoke\"", "title: [Blue]", "observations.yaml:13:12: title is a list: a text");
    const char *list = strstr(small[CH_KNOWLEDGE_OBSERVATIONS], "observations:\n");
    refuse_observation(list, "observations: []\n", "observations.yaml:7:15: there are no observations: at least one");
}

static void checks_and_cautions_that_make_no_sense_are_refused(void **state)
{
    (void)state;
    refuse_check("needs: [gauge]", "needs: [gage]", "checks.yaml:13:13: there is no tool \"gage\": gauge");
    refuse_check("rows: [wet, compression]", "rows: [wet, dry]",
                 "checks.yaml:14:17: there is no block of a sheet \"dry\": one of compression, leakdown, wet");
    refuse_check("[blue_smoke, lash_small]", "[blue_smoke, lash_smal]",
                 "checks.yaml:27:26: there is no observation \"lash_smal\": lash_small");
    refuse_check("[blue_smoke, lash_small]", "[blue_smoke, oil_smoke]",
                 "checks.yaml:27:26: observation \"oil_smoke\" stands here again: each once");
    refuse_check("[blue_smoke, lash_small]", "[blue_smoke, overheated]",
                 "checks.yaml:27:26: \"overheated\" is history: no check answers it: a sign or a check");
    refuse_check("[blue_smoke, lash_small]", "[]",
                 "checks.yaml:20:5: a check that tells nothing: rows, yields or both");
    refuse_check("order: last", "order: first", "checks.yaml:16:12: order is \"first\": last");
    refuse_check("cautions: [paint, hot, stands]", "cautions: [paint, boiling]",
                 "checks.yaml:17:23: there is no caution \"boiling\": one of hot, paint, stands");
    refuse_check("id: look", "id: again",
                 "checks.yaml:20:9: \"again\" stands here again; first on line 8: each name once");
    refuse_check("everyday: false", "everyday: maybe", "checks.yaml:5:40: everyday is \"maybe\": one of false, true");
    refuse_check("scope: engine", "scope: pair", "checks.yaml:23:12: scope is \"pair\": one of cylinder, engine");
    refuse(CH_KNOWLEDGE_CAUTIONS, "word: DANGER", "word: danger", "cautions.yaml:13:11: word is \"danger\": DANGER");
    refuse(CH_KNOWLEDGE_CAUTIONS, "word: DANGER", "word: BEWARE",
           "cautions.yaml:13:11: word is \"BEWARE\": one of DANGER, WARNING, CAUTION, NOTICE");
    refuse(CH_KNOWLEDGE_CAUTIONS, "id: hot", "id: paint",
           "cautions.yaml:19:9: \"paint\" stands here again; first on line 6: each name once");
    refuse(CH_KNOWLEDGE_CAUTIONS, "    consequence: \"Burns.\"\n", "",
           "cautions.yaml:19:5: \"consequence\" is missing here");
}

static void no_memory_anywhere_is_survived(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    small_texts(texts);
    long n = 1;
    for (;; n++) {
        ch_knowledge knowledge = {0};
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_knowledge_parse(&knowledge, texts, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_knowledge_clear(&knowledge);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_null(knowledge.pieces);
    }
    assert_true(n > 30); /* the sweep has met the allocations that are there */
}

/* One observation more costs a few microseconds, also where there are thousands: sorted names, no comparing of all with all. */
static void ten_thousand_observations_are_read_in_good_time(void **state)
{
    (void)state;
    static const char more[] =
        "  - {id: s%d, also: [t%d], kind: history, scope: engine, title: x, odds: {sound: 2}, source: j}\n";
    const int many = 10000;
    const size_t base = strlen(small[CH_KNOWLEDGE_OBSERVATIONS]);
    char *text = malloc(base + (size_t)many * 120);
    assert_non_null(text);
    memcpy(text, small[CH_KNOWLEDGE_OBSERVATIONS], base);
    size_t used = base;
    for (int i = 0; i < many; i++)
        used += (size_t)snprintf(text + used, 120, more, i, i);
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
    small_texts(texts);
    texts[CH_KNOWLEDGE_OBSERVATIONS].text = text;
    texts[CH_KNOWLEDGE_OBSERVATIONS].length = used;
    ch_knowledge k;
    parse(&k, texts);
    assert_string_equal(ch_knowledge_observation_find(&k, "t7777", 5)->id, "s7777");
    ch_knowledge_clear(&k);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_built_in_files_load),
        cmocka_unit_test(the_built_in_files_are_those_of_the_source),
        cmocka_unit_test(causes_are_read_in_si),
        cmocka_unit_test(what_all_causes_share_is_read_in_si),
        cmocka_unit_test(observations_are_read),
        cmocka_unit_test(checks_and_cautions_are_read_in_si),
        cmocka_unit_test(the_gravest_caution_stands_first),
        cmocka_unit_test(a_name_finds_what_it_stands_for),
        cmocka_unit_test(every_name_of_the_built_in_files_is_found),
        cmocka_unit_test(fixed_names_go_both_ways),
        cmocka_unit_test(a_mechanics_correction_is_seen),
        cmocka_unit_test(the_order_of_causes_is_free),
        cmocka_unit_test(a_heading_that_is_not_the_files_is_refused),
        cmocka_unit_test(keys_that_do_not_belong_are_refused),
        cmocka_unit_test(figures_out_of_range_are_refused),
        cmocka_unit_test(sums_are_held_to_one),
        cmocka_unit_test(digits_left_off_are_made_up),
        cmocka_unit_test(causes_that_make_no_sense_are_refused),
        cmocka_unit_test(observations_that_make_no_sense_are_refused),
        cmocka_unit_test(checks_and_cautions_that_make_no_sense_are_refused),
        cmocka_unit_test(no_memory_anywhere_is_survived),
        cmocka_unit_test(ten_thousand_observations_are_read_in_good_time),
    };
    return cmocka_run_group_tests(tests, load_small, NULL);
}

/* Promises of car/clutch_knowledge.c, and of knowledge/driveline.yaml as it is built in. */
#include "crosshatch/clutch_knowledge.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

static ch_knowledge knowledge;

static int open_knowledge(void **state)
{
    (void)state;
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int close_knowledge(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    return 0;
}

static void the_built_in_file_loads_and_its_priors_add_up(void **state)
{
    (void)state;
    ch_clutch_knowledge clutch;
    ch_err err = {0};
    if (ch_clutch_knowledge_parse(&clutch, &knowledge, ch_clutch_builtin(), &err) != CH_OK)
        fail_msg("%ld:%ld %s: %s", err.line, err.column, err.what, err.right);
    double sum = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++) {
        assert_string_equal(clutch.cause[c].id, ch_clutch_cause_id((ch_clutch_cause)c));
        sum += clutch.cause[c].prior_1;
    }
    expect_close(sum, 1, 1e-12); /* rounding */
    assert_null(ch_clutch_cause_id(CH_CLUTCH_CAUSES));
    ch_clutch_knowledge_clear(&clutch);
}

static void every_sign_can_be_found_and_told_by_a_check_or_the_owner(void **state)
{
    (void)state;
    ch_clutch_knowledge clutch;
    assert_int_equal(ch_clutch_knowledge_parse(&clutch, &knowledge, ch_clutch_builtin(), NULL), CH_OK);
    for (size_t i = 0; i < clutch.signs_n; i++) {
        const char *id = clutch.signs[i].id;
        assert_int_equal(ch_clutch_sign_find(&clutch, id, strlen(id)), i);
        /* not_NAME means its absence, so no sign may begin like that */
        assert_true(strncmp(id, "not_", 4) != 0);
    }
    assert_true(ch_clutch_sign_find(&clutch, "xyzzy", 5) == SIZE_MAX);
    assert_string_equal(ch_clutch_sign_nearest(&clutch, "no_fre_play", 11), "no_free_play");
    for (size_t i = 0; i < clutch.checks_n; i++) {
        assert_true(clutch.checks[i].yields.count > 0);
        assert_true(clutch.checks[i].seconds > 0);
    }
    ch_clutch_knowledge_clear(&clutch);
}

/* The built-in text with the first `from` replaced. */
static char *spoilt(const char *from, const char *to, size_t *length)
{
    const ch_knowledge_text *text = ch_clutch_builtin();
    const char *at = strstr(text->text, from);
    assert_non_null(at);
    const size_t before = (size_t)(at - text->text), rest = text->length - before - strlen(from);
    char *made = malloc(text->length + strlen(to) + 1);
    assert_non_null(made);
    memcpy(made, text->text, before);
    memcpy(made + before, to, strlen(to));
    memcpy(made + before + strlen(to), at + strlen(from), rest + 1);
    *length = before + strlen(to) + rest;
    return made;
}

static void broken_rules_are_refused_with_their_place(void **state)
{
    (void)state;
    static const char *const cases[][3] = {
        {"knowledge: driveline", "knowledge: causes", "knowledge is \"causes\""},
        {"version: 1", "version: 2", "version is \"2\""},
        {"- id: worn", "- id: torn", "\"torn\" stands here"},
        {"prior: 0.80", "prior: 0.70", "the priors add up to 0.900"},
        {"prior: 0.80", "prior: 1.5", "prior is 1.5"},
        {"{sound: 0.01, worn", "{soud: 0.01, worn", "unknown key \"soud\""},
        {"{sound: 0.01, worn: 0.85", "{sound: 0, worn: 0.85", "sound is 0"},
        {"yields: [no_free_play]", "yields: [free_play]", "there is no sign \"free_play\""},
        {"minutes: 5", "minutes: 0", "minutes is 0"},
        {"- id: something_else", "- id: slips", "\"slips\" stands here"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t length = 0;
        char *text = spoilt(cases[i][0], cases[i][1], &length);
        const ch_knowledge_text given = {.name = "driveline.yaml", .text = text, .length = length};
        ch_clutch_knowledge clutch = {.signs_n = 77};
        ch_err err = {0};
        assert_int_equal(ch_clutch_knowledge_parse(&clutch, &knowledge, &given, &err), CH_E_INPUT);
        assert_int_equal(clutch.signs_n, 77); /* untouched */
        assert_true(err.line > 0);
        if (strstr(err.what, cases[i][2]) != err.what)
            fail_msg("\"%s\" instead of \"%s\"", err.what, cases[i][2]);
        free(text);
    }
}

static void running_out_of_memory_leaves_nothing_behind(void **state)
{
    (void)state;
    const ch_knowledge_text *text = ch_clutch_builtin();
    for (long n = 1;; n += 7) { /* every seventh of some thousand: which one fails does not matter */
        ch_clutch_knowledge clutch = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_clutch_knowledge_parse(&clutch, &knowledge, text, NULL);
        const bool failed = fail_alloc_stop();
        if (rc == CH_OK)
            ch_clutch_knowledge_clear(&clutch);
        else
            assert_int_equal(rc, CH_E_MEMORY);
        if (!failed)
            break;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_built_in_file_loads_and_its_priors_add_up),
        cmocka_unit_test(every_sign_can_be_found_and_told_by_a_check_or_the_owner),
        cmocka_unit_test(broken_rules_are_refused_with_their_place),
        cmocka_unit_test(running_out_of_memory_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, open_knowledge, close_knowledge);
}

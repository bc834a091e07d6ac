/* Promises of base/status.c. */
#include <string.h>

#include "crosshatch/status.h"
#include "expect.h"

static void the_first_failure_is_kept(void **state)
{
    (void)state;
    ch_err err = {0};
    assert_int_equal(ch_fail(&err, CH_E_RANGE, "1 to 32", "%d cylinders", 33), CH_E_RANGE);
    assert_int_equal(ch_fail(&err, CH_E_IO, NULL, "later"), CH_E_IO);
    assert_int_equal(err.status, CH_E_RANGE);
    assert_string_equal(err.what, "33 cylinders");
    assert_string_equal(err.right, "1 to 32");
}

static void a_failure_reads_as_one_line(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_fail(&err, CH_E_INPUT, "bore", "unknown key \"boer\"\x1b[31m");
    ch_err_locate(&err, "sheet.yaml", 4, 3);
    ch_err_locate(&err, "other.yaml", 9, 9);
    char text[600];
    ch_err_format(&err, text, sizeof text);
    assert_string_equal(text, "sheet.yaml:4:3: unknown key \"boer\"?[31m: bore");
}

static void a_short_buffer_cuts_the_line(void **state)
{
    (void)state;
    ch_err err = {0};
    ch_fail(&err, CH_E_INPUT, NULL, "abcdef");
    char text[4];
    ch_err_format(&err, text, sizeof text);
    assert_string_equal(text, "abc");
    ch_err_format(&err, text, 0);
}

static void every_status_has_a_text(void **state)
{
    (void)state;
    for (int status = CH_E_USAGE; status <= CH_CHOKED; status++)
        assert_string_not_equal(ch_status_text((ch_status)status), "unknown status");
    assert_string_equal(ch_status_text((ch_status)99), "unknown status");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_first_failure_is_kept),
        cmocka_unit_test(a_failure_reads_as_one_line),
        cmocka_unit_test(a_short_buffer_cuts_the_line),
        cmocka_unit_test(every_status_has_a_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/* Promises of predict.h. The numbers themselves are held to an outside calculation by tests/oracle/check_predict.py. */
#include <math.h>
#include <string.h>

#include "crosshatch/predict.h"
#include "expect.h"

static const char TEXT[] = "sheet: 1\n"
                           "engine: {cylinders: 4, bore: 80.5 mm, stroke: 88 mm, compression_ratio: 9.6}\n"
                           "compression: [{cylinder: 1, reading: 170 psi}]\n"
                           "leaks:\n"
                           "  - {cylinder: all, rings: 0.5 mm2}\n"
                           "  - {cylinder: 3, exhaust_valve: 2 mm2}\n";

static void predict_text(const char *text, ch_prediction *prediction)
{
    ch_sheet sheet;
    ch_err err = {0};
    assert_true(ch_sheet_parse("sheet.yaml", text, strlen(text), &sheet, &err) >= 0);
    assert_int_equal(ch_predict(&sheet, prediction, &err), CH_OK);
    ch_sheet_clear(&sheet);
}

static void each_cylinder_is_run_with_its_own_leaks(void **state)
{
    (void)state;
    ch_prediction prediction;
    predict_text(TEXT, &prediction);
    assert_int_equal(prediction.cylinders, 4);
    assert_int_equal(prediction.strokes, 8); /* the stated default */
    ch_cranking cranking = prediction.setup.cranking;
    cranking.leaks = (ch_leak_areas){.rings_m2 = 0.5e-6, .exhaust_valve_m2 = 2e-6};
    double gauge_pa[CH_STROKES_MAX];
    assert_int_equal(ch_cranking_run(&cranking, CH_CRANKING_TOLERANCE, gauge_pa, NULL, NULL, NULL, NULL), CH_OK);
    for (int s = 0; s < 8; s++)
        expect_close(prediction.gauge_pa[2][s], gauge_pa[s], 0.0); /* the same run: equal to the last bit */
    assert_true(prediction.gauge_pa[2][7] < 0.9 * prediction.gauge_pa[0][7]);
}

static void equal_cylinders_share_one_answer(void **state)
{
    (void)state;
    ch_prediction prediction;
    predict_text(TEXT, &prediction);
    const int like[] = {1, 1, 3, 1};
    for (int c = 0; c < 4; c++)
        assert_int_equal(prediction.like[c], like[c]);
    assert_memory_equal(prediction.gauge_pa[0], prediction.gauge_pa[3], sizeof prediction.gauge_pa[0]);
}

static void a_shut_throttle_lowers_the_intake_and_the_readings(void **state)
{
    (void)state;
    char text[1024];
    snprintf(text, sizeof text, "%sconditions: {throttle: shut}\n", TEXT);
    ch_prediction open, shut;
    predict_text(TEXT, &open);
    predict_text(text, &shut);
    expect_close(open.intake_pa, open.setup.cranking.ambient_pa, 0.0);
    assert_true(shut.intake_pa < 0.9 * open.intake_pa);
    assert_true(shut.gauge_pa[0][7] < 0.9 * open.gauge_pa[0][7]);
}

static void a_failure_leaves_the_answer_alone_and_says_why(void **state)
{
    (void)state;
    const char *text = "sheet: 1\nengine: {cylinders: 1, stroke: 90 mm, rod_length: 47 mm}\n"
                       "compression: [{cylinder: 1, reading: 170 psi}]\n";
    ch_sheet sheet;
    ch_err err = {0};
    assert_true(ch_sheet_parse("sheet.yaml", text, strlen(text), &sheet, &err) >= 0);
    ch_prediction prediction, before;
    memset(&prediction, 0x5a, sizeof prediction);
    memcpy(&before, &prediction, sizeof before);
    assert_int_equal(ch_predict(&sheet, &prediction, &err), CH_E_RANGE);
    assert_memory_equal(&prediction, &before, sizeof before);
    assert_non_null(strstr(err.what, "rod length"));
    ch_sheet_clear(&sheet);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_cylinder_is_run_with_its_own_leaks),
        cmocka_unit_test(equal_cylinders_share_one_answer),
        cmocka_unit_test(a_shut_throttle_lowers_the_intake_and_the_readings),
        cmocka_unit_test(a_failure_leaves_the_answer_alone_and_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

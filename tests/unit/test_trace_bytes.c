/* Answers of the tracing as bytes: back to the last bit, or not at all. */
#include "crosshatch/trace.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fail_alloc.h"

static ch_knowledge knowledge;

static int load(void **state)
{
    (void)state;
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) >= 0 ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    return 0;
}

/* Every number another one, NaN and infinities among them. */
static void fill(ch_trace *trace)
{
    memset(trace, 0, sizeof *trace);
    double next = 0.1;
    trace->cylinders = 3;
    for (int c = 0; c < trace->cylinders; c++) {
        ch_trace_cylinder *one = &trace->cylinder[c];
        one->cylinder = c + 1;
        double *all[] = {one->cause_1,   one->drawing_u_1, one->prior_1,    one->area_m2,
                         one->ladder_m2, one->path_m2,     one->expected_pa};
        const size_t count[] = {CH_CAUSE_COUNT, CH_CAUSE_COUNT, CH_CAUSE_COUNT, 3, CH_TRACE_LADDER, CH_PATH_COUNT, 3};
        for (size_t a = 0; a < sizeof all / sizeof *all; a++)
            for (size_t i = 0; i < count[a]; i++)
                all[a][i] = next *= -1.37;
    }
    trace->cylinder[1].expected_pa[0] = NAN;
    trace->cylinder[1].expected_pa[1] = -INFINITY;
    trace->any_fault_1 = 0.4375;
    trace->effective_samples = 123.456;
    trace->reliable = true;
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        trace->shared_shift[d] = next *= 0.77;
    trace->next_check_count = 2;
    trace->next_check[0] = (ch_trace_check){
        .check = &knowledge.checks[knowledge.checks_count - 1], .cylinder = 2, .minutes = 12.5, .bits_1 = 0.7};
    trace->next_check[1] =
        (ch_trace_check){.check = &knowledge.checks[0], .cylinder = 0, .minutes = 3.0, .bits_1 = 0.1};
}

static void written(ch_trace *trace, ch_text *bytes)
{
    fill(trace);
    ch_text_init(bytes, 1 << 20);
    ch_trace_write(trace, &knowledge, bytes);
    assert_int_equal(bytes->status, CH_OK);
}

static void what_was_written_comes_back_to_the_last_bit(void **state)
{
    (void)state;
    static ch_trace trace, back;
    ch_text bytes, again;
    written(&trace, &bytes);
    assert_int_equal(ch_trace_read(bytes.bytes, bytes.length, &knowledge, &back, NULL), CH_OK);
    assert_ptr_equal(back.next_check[0].check, &knowledge.checks[knowledge.checks_count - 1]);
    ch_text_init(&again, 1 << 20);
    ch_trace_write(&back, &knowledge, &again);
    assert_int_equal(again.length, bytes.length);
    assert_memory_equal(again.bytes, bytes.bytes, bytes.length);
    assert_memory_equal(&back.cylinder[1], &trace.cylinder[1], sizeof back.cylinder[1]);
    ch_text_clear(&again);
    ch_text_clear(&bytes);
}

static void what_is_cut_longer_or_changed_is_refused(void **state)
{
    (void)state;
    static ch_trace trace, back;
    ch_text bytes;
    written(&trace, &bytes);
    back.cylinders = 77;
    for (size_t length = 0; length < bytes.length; length++)
        assert_int_equal(ch_trace_read(bytes.bytes, length, &knowledge, &back, NULL), CH_E_INPUT);
    for (size_t i = 0; i < bytes.length; i++) {
        bytes.bytes[i] = (char)(bytes.bytes[i] ^ 1);
        assert_int_equal(ch_trace_read(bytes.bytes, bytes.length, &knowledge, &back, NULL), CH_E_INPUT);
        bytes.bytes[i] = (char)(bytes.bytes[i] ^ 1);
    }
    ch_text_append(&bytes, "x", 1);
    assert_int_equal(ch_trace_read(bytes.bytes, bytes.length, &knowledge, &back, NULL), CH_E_INPUT);
    assert_int_equal(back.cylinders, 77);
    ch_text_clear(&bytes);
}

/* A sum that is right does not make a check that is not there. */
static void checks_that_the_knowledge_does_not_have_are_refused(void **state)
{
    (void)state;
    static ch_trace trace, back;
    ch_text bytes;
    written(&trace, &bytes);
    ch_knowledge smaller = knowledge;
    smaller.checks_count--;
    assert_int_equal(ch_trace_read(bytes.bytes, bytes.length, &smaller, &back, NULL), CH_E_INPUT);
    smaller.checks_count = 0;
    assert_int_equal(ch_trace_read(bytes.bytes, bytes.length, &smaller, &back, NULL), CH_E_INPUT);
    ch_text_clear(&bytes);
}

static void no_memory_sticks_to_the_text(void **state)
{
    (void)state;
    static ch_trace trace;
    ch_text bytes;
    fill(&trace);
    for (long nth = 1;; nth++) {
        ch_text_init(&bytes, 1 << 20);
        fail_alloc_at(nth);
        ch_trace_write(&trace, &knowledge, &bytes);
        const bool failed = fail_alloc_stop();
        assert_int_equal(bytes.status, failed ? CH_E_MEMORY : CH_OK);
        ch_text_clear(&bytes);
        assert_int_equal(fail_alloc_left(), 0);
        if (!failed)
            break;
    }
}

/* The bytes may follow others in a text: what comes behind is the same as alone. */
static void what_is_written_does_not_depend_on_what_stands_before_it(void **state)
{
    (void)state;
    static ch_trace trace;
    ch_text alone, behind;
    fill(&trace);
    ch_text_init(&alone, 1 << 20);
    ch_text_init(&behind, 1 << 20);
    ch_text_append_string(&behind, "something else");
    const size_t from = behind.length;
    ch_trace_write(&trace, &knowledge, &alone);
    ch_trace_write(&trace, &knowledge, &behind);
    assert_int_equal(behind.length, from + alone.length);
    assert_memory_equal(behind.bytes + from, alone.bytes, alone.length);
    ch_text_clear(&alone);
    ch_text_clear(&behind);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_written_comes_back_to_the_last_bit),
        cmocka_unit_test(what_is_cut_longer_or_changed_is_refused),
        cmocka_unit_test(checks_that_the_knowledge_does_not_have_are_refused),
        cmocka_unit_test(no_memory_sticks_to_the_text),
        cmocka_unit_test(what_is_written_does_not_depend_on_what_stands_before_it),
    };
    return cmocka_run_group_tests(tests, load, unload);
}

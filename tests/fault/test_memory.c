/*
 * Whatever allocation fails: no crash, nothing half done, a line that says what, no memory lost, and afterwards it works. What is done and what
 * fails stands in memory_run.h and fail_memory.h; here a few faults of each operation, in bench/study_memory_faults.c thousands.
 */
#include <stdlib.h>

#include "../store/kit.h"
#include "../unit/fail_alloc.h"
#include "memory_run.h"

enum { MOST = 5 };

static void without_memory_nothing_breaks_and_nothing_is_half_done(void **state)
{
    (void)state;
    memory_result r;
    char folder[300];
    snprintf(folder, sizeof folder, "%s", kit_path("."));
    if (!memory_run(folder, fail_alloc_most(MOST), false, false, NULL, &r))
        fail_msg("no run: %s", r.first);
    if (r.failed > 0)
        fail_msg("%ld faults, first: %s", r.failed, r.first);
    assert_true(r.operations > 40);
    assert_true(r.faults[MEMORY_OURS] > 100);
    assert_true(!fail_memory_can(MEMORY_LIBRARIES) || r.faults[MEMORY_LIBRARIES] > 100);
    assert_true(!fail_memory_can(MEMORY_OF_ARCHIVES) || r.faults[MEMORY_OF_ARCHIVES] - r.ended > 2);
    assert_true(r.refused > 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(without_memory_nothing_breaks_and_nothing_is_half_done, kit_begin, kit_end),
    };
    return cmocka_run_group_tests_name("fault_memory", tests, NULL, NULL);
}

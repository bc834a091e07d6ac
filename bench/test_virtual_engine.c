/* Virtual engines of the study mean the same prior as the tracing: docs/method.md, "Tracing", and knowledge/causes.yaml. Else its coverage, ranks and
 * calibration measure the difference between two priors, and not the tracing. */
#include <math.h>
#include <stdlib.h>

#include "crosshatch/knowledge.h"
#include "expect.h"
#include "study_engine.h"

/* What is counted over many engines that rings or bores strike as a whole. */
typedef struct worn_engines {
    int engines, sealed, mixed, stuck;
    double scatter_sum; /* of the variance of ln area between an engine's worn cylinders */
    int scattered;
} worn_engines;

enum { ENGINES = 4000 };

/* Between general wear (median 1.6 mm2, spread 0.45) and stuck rings (median 4.5 mm2, spread 0.7): three spreads above the first. */
static const double STUCK_ABOVE_M2 = 1.6e-6 * 3.857425530696974; /* exp(3 * 0.45) */

static void count_worn(const virtual_engine *engine, worn_engines *counted)
{
    int struck = 0, leaking = 0;
    double sum = 0.0, squares = 0.0;
    for (int i = 0; i < engine->cylinders; i++) {
        const virtual_cylinder *c = &engine->cylinder[i];
        if (c->cause != CH_CAUSE_RINGS_OR_BORE || !c->with_others)
            continue;
        struck++;
        if (c->path == NO_PATH)
            continue;
        const double ln = log(c->extra_m2);
        leaking++;
        sum += ln;
        squares += ln * ln;
    }
    if (struck == 0)
        return;
    counted->engines++;
    counted->sealed += leaking == 0 ? 1 : 0;
    counted->mixed += leaking > 0 && leaking < struck ? 1 : 0;
    if (leaking == 0)
        return;
    counted->stuck += exp(sum / leaking) > STUCK_ABOVE_M2 ? 1 : 0;
    if (leaking > 1) {
        counted->scatter_sum += (squares - sum * sum / leaking) / (leaking - 1);
        counted->scattered++;
    }
}

static void what_leaks_has_a_way_and_what_seals_has_none(void **state)
{
    (void)state;
    ch_err err;
    ch_knowledge knowledge;
    assert_int_equal(ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err), CH_OK);
    study_knowledge_raise(&knowledge);
    knowledge.causes[CH_CAUSE_RINGS_OR_BORE].together_chance_1 = 0.8; /* so that most engines count below */
    ch_stream stream;
    ch_stream_init(&stream, 4711, 0);
    worn_engines counted = {0};
    int leaks = 0;
    for (int k = 0; k < ENGINES; k++) {
        virtual_engine engine;
        ch_sheet sheet;
        assert_int_equal(virtual_engine_draw(&knowledge, true, &stream, &engine, &sheet, &err), CH_OK);
        for (int i = 0; i < engine.cylinders; i++) {
            const virtual_cylinder *c = &engine.cylinder[i];
            assert_true((c->path == NO_PATH) == (c->extra_m2 == 0.0));
            leaks += c->path != NO_PATH ? 1 : 0;
        }
        count_worn(&engine, &counted);
        ch_sheet_clear(&sheet);
    }
    ch_knowledge_clear(&knowledge);
    assert_true(leaks > ENGINES / 10);
    assert_true(counted.engines > ENGINES / 2);
    /* Oil rings worn under gas rings that hold are the engine's: of all its cylinders or of none (0.16 of the engines). */
    const double n = counted.engines, leaking = n - counted.sealed;
    assert_int_equal(counted.mixed, 0);
    expect_close(counted.sealed / n, 0.16, 4.0 * sqrt(0.16 * 0.84 / n));
    /* Rings stuck in all cylinders are one engine in ten. Above the line lie 0.326 of these (4.5 mm2, spread 0.7), and of the worn ones, with what is
     * left of the scatter in the mean of four, 0.003. */
    const double above_1 = 0.10 * 0.326 + 0.90 * 0.003;
    expect_close(counted.stuck / leaking, above_1, 2.5 * sqrt(above_1 / leaking));
    expect_close(sqrt(counted.scatter_sum / counted.scattered), 0.35, 0.02);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(what_leaks_has_a_way_and_what_seals_has_none)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}

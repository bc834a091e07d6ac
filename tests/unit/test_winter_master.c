/* Promises of winter/master.c: the best mixture of choices, against GLPK on the same linear program, and its prices against duality. */
#include <glpk.h>
#include <math.h>

#include "../../src/winter/master.h"
#include "crosshatch/sampling.h"
#include "expect.h"

enum { PROGRAMS = 60 };

static master_column column[MASTER_COLUMNS_MAX];

static void random_columns(ch_stream *s, size_t count, size_t limits)
{
    for (size_t i = 0; i < count; i++) {
        column[i].score = i == 0 ? 0.0 : floor(1000.0 * ch_stream_uniform(s));
        for (size_t k = 0; k < limits; k++) {
            const double takes = ch_stream_uniform(s);
            column[i].takes[k] = i == 0 ? 0.5 * takes : ch_stream_uniform(s) < 0.3 ? 0.0 : 2.5 * takes;
        }
    }
}

static double by_glpk(size_t count, size_t limits)
{
    glp_prob *lp = glp_create_prob();
    glp_set_obj_dir(lp, GLP_MAX);
    glp_add_rows(lp, (int)limits + 1);
    glp_add_cols(lp, (int)count);
    glp_set_row_bnds(lp, 1, GLP_FX, 1.0, 1.0);
    for (size_t k = 0; k < limits; k++)
        glp_set_row_bnds(lp, (int)k + 2, GLP_UP, 0.0, 1.0);
    for (size_t i = 0; i < count; i++) {
        int row[MASTER_LIMITS_MAX + 2];
        double value[MASTER_LIMITS_MAX + 2];
        row[1] = 1;
        value[1] = 1.0;
        for (size_t k = 0; k < limits; k++) {
            row[k + 2] = (int)k + 2;
            value[k + 2] = column[i].takes[k];
        }
        glp_set_col_bnds(lp, (int)i + 1, GLP_LO, 0.0, 0.0);
        glp_set_obj_coef(lp, (int)i + 1, column[i].score);
        glp_set_mat_col(lp, (int)i + 1, (int)limits + 1, row, value);
    }
    glp_smcp options;
    glp_init_smcp(&options);
    options.msg_lev = GLP_MSG_OFF;
    assert_int_equal(glp_simplex(lp, &options), 0);
    assert_int_equal(glp_get_status(lp), GLP_OPT);
    const double best = glp_get_obj_val(lp);
    glp_delete_prob(lp);
    return best;
}

static void the_mixture_is_the_best_and_its_prices_prove_it(void **state)
{
    (void)state;
    int mixed = 0;
    for (uint64_t number = 0; number < PROGRAMS; number++) {
        ch_stream s;
        ch_stream_init(&s, 5, number);
        const size_t limits = 1 + (size_t)(ch_stream_uniform(&s) * 12.0),
                     count = 1 + (size_t)(ch_stream_uniform(&s) * 40.0);
        random_columns(&s, count, limits);
        static master_result result;
        master_solve(column, count, limits, &result);
        expect_close(result.value, by_glpk(count, limits),
                     1e-6); /* scores of up to a thousand: rounding over some dozen exchanges */
        double sum = 0.0, value = 0.0, most = -INFINITY, prices = 0.0;
        size_t used = 0;
        for (size_t i = 0; i < count; i++) {
            assert_true(result.share[i] >= 0.0);
            sum += result.share[i];
            value += result.share[i] * column[i].score;
            used += result.share[i] > 1e-9;
            double net = column[i].score;
            for (size_t k = 0; k < limits; k++)
                net -= result.price[k] * column[i].takes[k];
            most = fmax(most, net);
        }
        mixed += used > 1;
        expect_close(sum, 1.0, 1e-9);
        expect_close(value, result.value, 1e-6);
        for (size_t k = 0; k < limits; k++) {
            double takes = 0.0;
            for (size_t i = 0; i < count; i++)
                takes += result.share[i] * column[i].takes[k];
            assert_true(takes <= 1.0 + 1e-9 && result.price[k] >= 0.0);
            if (takes < 1.0 - 1e-6)
                expect_close(result.price[k], 0.0, 1e-6); /* what is not used up costs nothing */
            prices += result.price[k];
        }
        /* Duality: the best column at these prices, and the limits at theirs, are worth as much as the mixture. */
        expect_close(most + prices, result.value, 1e-6);
    }
    assert_true(mixed > PROGRAMS / 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_mixture_is_the_best_and_its_prices_prove_it)};
    const int status = cmocka_run_group_tests(tests, NULL, NULL);
    glp_free_env();
    return status;
}

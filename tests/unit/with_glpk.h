/* The same program solved by GLPK's branch and cut, as an outside check and for comparison. */
#ifndef CROSSHATCH_TESTS_WITH_GLPK_H
#define CROSSHATCH_TESTS_WITH_GLPK_H

#include <glpk.h>
#include <math.h>

#include "random_program.h"

static inline void glpk_row(glp_prob *model, int row, int a, double x, int b, double y, double most)
{
    const int place[3] = {0, a + 1, b + 1};
    const double value[3] = {0.0, x, y};
    glp_set_mat_row(model, row, 2, place, value);
    glp_set_row_bnds(model, row, GLP_UP, 0.0, most);
}

/* The greatest gain; NaN where it was not proven in time. Call glp_free_env() when all is done. */
static inline double glpk_optimum(const ch_selection *task, int seconds)
{
    glp_prob *model = glp_create_prob();
    const int n = (int)task->count;
    int place[ITEMS_MAX + 1], row = 0;
    double value[ITEMS_MAX + 1];
    glp_set_obj_dir(model, GLP_MAX);
    glp_add_cols(model, n);
    glp_add_rows(model, (int)(2 + task->implies_count + task->excludes_count));
    for (int i = 0; i < n; i++) {
        glp_set_col_kind(model, i + 1, GLP_BV);
        glp_set_obj_coef(model, i + 1, (double)task->gain[i]);
        place[i + 1] = i + 1;
    }
    const int64_t *const amount[] = {task->money, task->work};
    const int64_t limit[] = {task->money_limit, task->work_limit};
    for (int k = 0; k < 2; k++) {
        for (int i = 0; i < n; i++)
            value[i + 1] = (double)amount[k][i];
        glp_set_mat_row(model, ++row, n, place, value);
        if (limit[k] == INT64_MAX)
            glp_set_row_bnds(model, row, GLP_FR, 0.0, 0.0);
        else
            glp_set_row_bnds(model, row, GLP_UP, 0.0, (double)limit[k]);
    }
    for (size_t k = 0; k < task->implies_count; k++)
        if (task->implies[k].item != task->implies[k].other)
            glpk_row(model, ++row, (int)task->implies[k].item, 1.0, (int)task->implies[k].other, -1.0, 0.0);
    for (size_t k = 0; k < task->excludes_count; k++)
        glpk_row(model, ++row, (int)task->excludes[k].item, 1.0, (int)task->excludes[k].other, 1.0, 1.0);
    glp_iocp control;
    glp_init_iocp(&control);
    control.msg_lev = GLP_MSG_OFF;
    control.presolve = GLP_ON;
    glp_term_out(GLP_OFF);
    control.tm_lim = 1000 * seconds;
    const bool solved = glp_intopt(model, &control) == 0 && glp_mip_status(model) == GLP_OPT;
    const double optimum = solved ? glp_mip_obj_val(model) : NAN;
    glp_delete_prob(model);
    return optimum;
}

#endif

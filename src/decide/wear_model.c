/* The model of wear as linear columns: docs/season.md, "The model". */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wear.h"

void wear_model_clear(wear_model *model)
{
    free(model->cell);
    free(model->first);
    *model = (wear_model){0};
}

static bool is_behind(const ch_wear_step *step, size_t sheet)
{
    return sheet >= step->sheet;
}

static void add(wear_cell *cell, int column, double x)
{
    cell->column[cell->count] = column;
    cell->x[cell->count++] = x;
}

static double mean_u(const ch_wear_sheet *s, int cylinders)
{
    double sum = 0.0;
    int n = 0;
    for (int c = 0; c < cylinders; c++)
        if (!isnan(s->log_area[c])) {
            sum += s->u_1[c];
            n++;
        }
    return n > 0 ? sum / n : 0.0;
}

static void fill_cell(const wear_model *m, size_t sheet, int c, wear_cell *cell)
{
    const ch_wear_sheet *s = &m->in->sheet[sheet];
    *cell = (wear_cell){.sheet = sheet,
                        .cylinder = c,
                        .y = s->log_area[c],
                        .t = s->running_s / WEAR_UNIT_S - m->t_middle,
                        .u = s->u_1[c],
                        .day = mean_u(s, m->cylinders)};
    add(cell, c, 1.0);
    for (size_t k = 0; k < m->steps; k++)
        if (is_behind(&m->step[k], sheet) && (m->step[k].cylinder == 0 || m->step[k].cylinder == c + 1))
            add(cell, m->at_step[k] + (m->step[k].cylinder == 0 ? c : 0), 1.0);
    add(cell, m->at_engine, sqrt(CH_WEAR_PART_ENGINE) * m->u_typical);
    add(cell, m->at_cylinder + c, sqrt(CH_WEAR_PART_CYLINDER) * m->u_typical);
    add(cell, m->at_gauge + s->gauge, sqrt(CH_WEAR_PART_GAUGE) * m->u_typical);
    add(cell, m->linear + c, cell->t);
}

ch_status wear_model_build(const ch_wear_input *in, const ch_wear_step step[], size_t steps, wear_model *model,
                           ch_err *err)
{
    wear_model m = {.in = in, .cylinders = in->cylinders, .steps = steps};
    size_t cells = 0;
    double t_sum = 0.0, u_sum = 0.0;
    for (size_t i = 0; i < in->sheets; i++) {
        m.gauges = in->sheet[i].gauge + 1 > m.gauges ? in->sheet[i].gauge + 1 : m.gauges;
        for (int c = 0; c < in->cylinders; c++)
            if (!isnan(in->sheet[i].log_area[c])) {
                cells++;
                t_sum += in->sheet[i].running_s / WEAR_UNIT_S;
                u_sum += in->sheet[i].u_1[c];
            }
    }
    m.t_middle = t_sum / (double)cells;
    m.u_typical = u_sum / (double)cells;
    m.at_common = in->cylinders;
    int column = m.at_common + 1;
    for (size_t k = 0; k < steps; k++) {
        m.step[k] = step[k];
        m.at_step[k] = column;
        column += step[k].cylinder == 0 ? in->cylinders : 1;
    }
    m.at_engine = column++;
    m.at_cylinder = column;
    m.at_gauge = column + in->cylinders;
    m.linear = m.at_gauge + m.gauges;
    m.columns = m.linear + in->cylinders;
    m.cell = malloc((cells + 1) * sizeof *m.cell);
    m.first = malloc((in->sheets + 1) * sizeof *m.first);
    if (m.cell == NULL || m.first == NULL) {
        wear_model_clear(&m);
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the model of wear");
    }
    for (size_t i = 0; i < in->sheets; i++) {
        m.first[i] = m.cells;
        for (int c = 0; c < in->cylinders; c++)
            if (!isnan(in->sheet[i].log_area[c]))
                fill_cell(&m, i, c, &m.cell[m.cells++]);
    }
    m.first[in->sheets] = m.cells;
    *model = m;
    return CH_OK;
}

void wear_model_products(const wear_model *model, const wear_state *state, double gram[], double by_y[])
{
    enum { TOUCHED_MAX = CH_CYLINDERS_MAX * WEAR_ROW_MAX };
    const size_t n = (size_t)model->columns;
    int touched[TOUCHED_MAX];
    memset(gram, 0, n * n * sizeof *gram);
    memset(by_y, 0, n * sizeof *by_y);
    /* `mark` is by_day of the columns that the sheet touches; by_day is kept zero between sheets. */
    double by_day[CH_CYLINDERS_MAX * (3 + CH_FORECAST_STEPS_MAX) + 2 + CH_FORECAST_GAUGES_MAX] = {0};
    for (size_t i = 0; i < model->in->sheets; i++) {
        int count = 0;
        double day_day = 0.0, day_y = 0.0;
        for (size_t a = model->first[i]; a < model->first[i + 1]; a++) {
            const wear_cell *cell = &model->cell[a];
            const double precision = state->cell_weight[a] / (state->reading2 * cell->u * cell->u);
            for (int p = 0; p < cell->count; p++) {
                const double x = cell->x[p] * precision;
                double *row = gram + (size_t)cell->column[p] * n;
                for (int q = 0; q < cell->count; q++)
                    row[cell->column[q]] += x * cell->x[q];
                by_y[cell->column[p]] += x * cell->y;
                if (by_day[cell->column[p]] == 0.0)
                    touched[count++] = cell->column[p];
                by_day[cell->column[p]] += x * cell->day;
            }
            day_day += precision * cell->day * cell->day;
            day_y += precision * cell->day * cell->y;
        }
        const double day2 = state->day2 / state->sheet_weight[i], share = day2 / (1.0 + day2 * day_day);
        for (int p = 0; p < count; p++) {
            double *row = gram + (size_t)touched[p] * n;
            const double x = share * by_day[touched[p]];
            for (int q = 0; q < count; q++)
                row[touched[q]] -= x * by_day[touched[q]];
            by_y[touched[p]] -= x * day_y;
        }
        for (int p = 0; p < count; p++)
            by_day[touched[p]] = 0.0;
    }
}

void wear_model_prior(const wear_model *model, const double level_weight[], double precision[], size_t stride,
                      double rhs[])
{
    const ch_wear_input *in = model->in;
    const size_t common = (size_t)model->at_common;
    const double level = 1.0 / (CH_WEAR_LEVEL_SD_LOG * CH_WEAR_LEVEL_SD_LOG),
                 step = 1.0 / (CH_WEAR_STEP_SD_LOG * CH_WEAR_STEP_SD_LOG),
                 engine = 1.0 / (in->u_prior_1 * in->u_prior_1);
    precision[common * stride + common] += engine;
    rhs[common] += engine * in->log_area_prior;
    for (size_t c = 0; c < common; c++) {
        const double p = level * level_weight[c];
        precision[c * stride + c] += p;
        precision[common * stride + common] += p;
        precision[c * stride + common] -= p;
        precision[common * stride + c] -= p;
    }
    for (size_t k = common + 1; k < (size_t)model->at_engine; k++)
        precision[k * stride + k] += step;
    for (size_t k = (size_t)model->at_engine; k < (size_t)model->linear; k++)
        precision[k * stride + k] += 1.0;
}

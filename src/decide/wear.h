/* The model of wear as linear columns, and its sampling; shared by the forecast and the search for steps. */
#ifndef CROSSHATCH_DECIDE_WEAR_H
#define CROSSHATCH_DECIDE_WEAR_H

#include "crosshatch/forecast.h"
#include "crosshatch/sampling.h"

#define WEAR_UNIT_S 360000.0 /* running time inside the model is counted in 100 h, so that slopes are near 1 */

/* One figure of one sheet: a sparse row of the design. */
enum { WEAR_ROW_MAX = 5 + CH_FORECAST_STEPS_MAX };
typedef struct wear_cell {
    size_t sheet;
    int cylinder;        /* 0-based */
    double y, t, u, day; /* `day`: the typical u of its sheet, which the day's error is counted in */
    int count;
    int column[WEAR_ROW_MAX]; /* the last is the slope's */
    double x[WEAR_ROW_MAX];
} wear_cell;

typedef struct wear_model {
    const ch_wear_input *in;
    int cylinders, gauges;
    ch_wear_step step[CH_FORECAST_STEPS_MAX];
    size_t steps;
    double t_middle;  /* levels are those at this time */
    double u_typical; /* the standing errors are counted in it: they move all figures alike, however certain each is */
    /* columns: levels, the engine's level, steps (one column, or one a cylinder), errors of the engine, the cylinders, the gauges; then slopes */
    int at_common, at_step[CH_FORECAST_STEPS_MAX], at_engine, at_cylinder, at_gauge, linear, columns;
    wear_cell *cell;
    size_t cells, *first; /* first[i]: cells of sheet i begin here; first[sheets] = cells */
} wear_model;

/* Where the chain stands. */
typedef struct wear_state {
    double *b;         /* linear columns */
    double *log_slope; /* cylinders */
    double common_log_slope;
    double day2, reading2; /* variances, as parts of u^2 */
    double *day;           /* sheets */
    double *sheet_weight;  /* 1, or 1/times^2 where odd */
    double *cell_weight;   /* cells */
    double *level_weight;  /* cylinders */
} wear_state;

/* What is kept of one sweep. */
typedef struct wear_draw {
    double day2, reading2;
    const double *b, *log_slope;
    const double *sheet_weight;
} wear_draw;
typedef void (*wear_keep)(void *to, size_t number, const wear_draw *draw);

/* `steps` of the input's and further ones. CH_E_MEMORY. */
ch_status wear_model_build(const ch_wear_input *in, const ch_wear_step step[], size_t steps, wear_model *model,
                           ch_err *err);
void wear_model_clear(wear_model *model);

/*
 * Inner products of all columns (columns x columns, upper triangle filled and mirrored) and with y, weighted by the inverse of the noise of
 * day and reading; the day's error is integrated out.
 */
void wear_model_products(const wear_model *model, const wear_state *state, double gram[], double by_y[]);

/* Add the prior of the linear columns to their part of a precision matrix (row length `stride`) and right-hand side. */
void wear_model_prior(const wear_model *model, const double level_weight[], double precision[], size_t stride,
                      double rhs[]);

/* Run the chain: `burn` sweeps, then `draws` kept ones. */
ch_status wear_sample(const wear_model *model, uint64_t seed, size_t burn, size_t draws, wear_keep keep, void *to,
                      ch_err *err);

/* The clearest step that is not in the model yet; found->chance_1 is NaN where there is none to look for. */
ch_status wear_step_find(const wear_model *model, uint64_t seed, ch_wear_found *found, ch_err *err);

#endif

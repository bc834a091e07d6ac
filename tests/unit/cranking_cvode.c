#include "cranking_cvode.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include "cranking_model.h"

#define PI 3.14159265358979323846

/* The states are handed over as multiples of their first values. */
typedef struct cvode_run {
    cranking_constants constants;
    cranking_open open;
    double scale[CRANKING_STATES];
    long evaluations;
} cvode_run;

static void state_of(const cvode_run *r, N_Vector y, double state[CRANKING_STATES])
{
    for (int i = 0; i < CRANKING_STATES; i++)
        state[i] = NV_Ith_S(y, i) * r->scale[i];
}

static int right_hand_side(realtype angle_rad, N_Vector y, N_Vector rate, void *context)
{
    cvode_run *r = context;
    double state[CRANKING_STATES];
    cranking_rates rates;
    state_of(r, y, state);
    r->evaluations++;
    if (!cranking_free(&r->constants, r->open, angle_rad, state, &rates))
        return 1; /* recoverable: a shorter step may do */
    for (int i = 0; i < CRANKING_STATES; i++)
        NV_Ith_S(rate, i) = rates.state[i] / (r->scale[i] * r->constants.given->speed_rad_s);
    return 0;
}

/* Zero where the check valve opens or closes. */
static int check_valve_lead(realtype angle_rad, N_Vector y, realtype *lead, void *context)
{
    const cvode_run *r = context;
    double state[CRANKING_STATES];
    state_of(r, y, state);
    *lead = (cranking_pressure_pa(&r->constants, angle_rad, state) - r->constants.given->check_opening_pa -
             state[CRANKING_GAUGE]) /
            r->constants.given->ambient_pa;
    return 0;
}

/* From one known kink to the next. */
static int stretch(cvode_run *r, void *cvode, N_Vector y, double from_rad, double to_rad)
{
    const double middle = 0.5 * (from_rad + to_rad);
    r->open.intake = ch_valve_area_m2(&r->constants.given->intake, middle) > 0.0;
    r->open.exhaust = ch_valve_area_m2(&r->constants.given->exhaust, middle) > 0.0;
    realtype at = from_rad;
    int rc = CVodeReInit(cvode, at, y);
    if (rc >= 0)
        rc = CVodeSetStopTime(cvode, to_rad);
    while (rc >= 0 && rc != CV_TSTOP_RETURN) {
        rc = CVode(cvode, to_rad + 1.0, y, &at, CV_NORMAL); /* ends at the stop, which is nearer */
        if (rc == CV_ROOT_RETURN) {
            if (to_rad - at < 1e-9)
                break;
            const int again = CVodeReInit(cvode, at, y);
            rc = again < 0 ? again : CVodeSetStopTime(cvode, to_rad);
        }
    }
    return rc;
}

static int all_strokes(cvode_run *r, void *cvode, N_Vector y, double *gauge_pa)
{
    const ch_cranking *given = r->constants.given;
    double breaks_rad[CRANKING_BREAKS_MAX];
    const int count = cranking_breaks(given, breaks_rad);
    double x = -PI;
    for (int cycle = -1; cycle < given->strokes; cycle++)
        for (int i = 0; i < count; i++) {
            const double next = 4.0 * PI * cycle + breaks_rad[i];
            if (next <= x + 1e-9)
                continue;
            const int rc = stretch(r, cvode, y, x, next);
            if (rc < 0)
                return rc;
            x = next;
            /* Bottom dead centre after a compression: the stroke's reading stands. */
            const double strokes_done = (x - PI) / (4.0 * PI);
            if (fabs(strokes_done - cycle) < 1e-9)
                gauge_pa[cycle] = NV_Ith_S(y, CRANKING_GAUGE) * r->scale[CRANKING_GAUGE] - given->ambient_pa;
        }
    return 0;
}

int cranking_cvode_run(const ch_cranking *cranking, double tolerance_1, double slope_1, double *gauge_pa,
                       long *evaluations)
{
    cvode_run r = {.evaluations = 0};
    cranking_constants_set(cranking, slope_1, &r.constants);
    r.scale[CRANKING_TEMP] = cranking->air_k;
    r.scale[CRANKING_GAUGE] = cranking->ambient_pa;
    r.scale[CRANKING_MASS] = cranking_mass_kg(&r.constants, -PI, cranking->ambient_pa, cranking->air_k);

    SUNContext sun = NULL;
    if (SUNContext_Create(NULL, &sun) != 0)
        return CV_MEM_FAIL;
    N_Vector y = N_VNew_Serial(CRANKING_STATES, sun);
    SUNMatrix jacobian = SUNDenseMatrix(CRANKING_STATES, CRANKING_STATES, sun);
    SUNLinearSolver solver = y != NULL && jacobian != NULL ? SUNLinSol_Dense(y, jacobian, sun) : NULL;
    void *cvode = CVodeCreate(CV_BDF, sun);
    int rc = solver != NULL && cvode != NULL ? 0 : CV_MEM_FAIL;
    if (rc >= 0) {
        for (int i = 0; i < CRANKING_STATES; i++)
            NV_Ith_S(y, i) = 1.0;
        rc = CVodeInit(cvode, right_hand_side, -PI, y);
    }
    if (rc >= 0)
        rc = CVodeSStolerances(cvode, tolerance_1, 0.01 * tolerance_1);
    if (rc >= 0)
        rc = CVodeSetUserData(cvode, &r);
    if (rc >= 0)
        rc = CVodeSetLinearSolver(cvode, solver, jacobian);
    if (rc >= 0)
        rc = CVodeSetMaxNumSteps(cvode, 200000);
    if (rc >= 0)
        rc = CVodeRootInit(cvode, 1, check_valve_lead);
    if (rc >= 0)
        rc = CVodeSetNoInactiveRootWarn(cvode);
    if (rc >= 0)
        rc = all_strokes(&r, cvode, y, gauge_pa);
    *evaluations = r.evaluations;
    CVodeFree(&cvode);
    if (solver != NULL)
        SUNLinSolFree(solver);
    if (jacobian != NULL)
        SUNMatDestroy(jacobian);
    if (y != NULL)
        N_VDestroy(y);
    SUNContext_Free(&sun);
    return rc;
}

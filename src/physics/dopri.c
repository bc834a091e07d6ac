/* Source: Dormand and Prince, A family of embedded Runge-Kutta formulae, J. Comp. Appl. Math. 6 (1980) 19, Table 2, RK5(4)7M. */
#include "dopri.h"

#include <math.h>
#include <string.h>

enum { STAGES = 7 };

static const double C[STAGES] = {0.0, 1.0 / 5.0, 3.0 / 10.0, 4.0 / 5.0, 8.0 / 9.0, 1.0, 1.0};

static const double A[STAGES][STAGES - 1] = {
    {0.0},
    {1.0 / 5.0},
    {3.0 / 40.0, 9.0 / 40.0},
    {44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0},
    {19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0},
    {9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0},
    {35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0},
};

/* Fifth-order weights (the last row above) less the fourth-order ones. */
static const double E[STAGES] = {35.0 / 384.0 - 5179.0 / 57600.0,
                                 0.0,
                                 500.0 / 1113.0 - 7571.0 / 16695.0,
                                 125.0 / 192.0 - 393.0 / 640.0,
                                 -2187.0 / 6784.0 + 92097.0 / 339200.0,
                                 11.0 / 84.0 - 187.0 / 2100.0,
                                 -1.0 / 40.0};

bool dopri_step(dopri_rates *rates, void *context, double x, const double y[], const double first[], double h,
                double y_new[], double last[], double error[], double *stiff)
{
    double k[STAGES][DOPRI_N], y_before[DOPRI_N];
    for (int i = 0; i < DOPRI_N; i++)
        k[0][i] = first[i];
    for (int s = 1; s < STAGES; s++) {
        if (s == STAGES - 1)
            memcpy(y_before, y_new, sizeof y_before);
        for (int i = 0; i < DOPRI_N; i++) {
            double sum = 0.0;
            for (int j = 0; j < s; j++)
                sum += A[s][j] * k[j][i];
            y_new[i] = y[i] + h * sum;
        }
        if (!rates(context, x + C[s] * h, y_new, k[s]))
            return false;
    }
    for (int i = 0; i < DOPRI_N; i++) {
        double sum = 0.0;
        for (int s = 0; s < STAGES; s++)
            sum += E[s] * k[s][i];
        error[i] = h * sum;
        last[i] = k[STAGES - 1][i];
    }
    double rates_apart = 0.0, states_apart = 0.0;
    for (int i = 0; i < DOPRI_STATES; i++) {
        const double rate = (k[STAGES - 1][i] - k[STAGES - 2][i]) / y[i], state = (y_new[i] - y_before[i]) / y[i];
        rates_apart += rate * rate;
        states_apart += state * state;
    }
    *stiff = states_apart > 0.0 ? h * sqrt(rates_apart / states_apart) : 0.0;
    return true;
}

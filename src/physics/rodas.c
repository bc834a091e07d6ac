/* Source: Hairer and Wanner, Solving Ordinary Differential Equations II, 2nd ed., 1996, section IV.7 (method) and IV.10 (RODAS, the
 * coefficients in the transformed variables that need no product with the Jacobian). */
#include "rodas.h"

#include <math.h>
#include <string.h>

enum { STAGES = 6 };

static const double GAMMA = 0.25;
static const double ALPHA[STAGES] = {0.0, 0.386, 0.21, 0.63, 1.0, 1.0};
static const double D[STAGES] = {0.25, -0.1043, 0.1035, -0.0362, 0.0, 0.0};
static const double A[STAGES][STAGES - 1] = {
    {0.0},
    {1.544},
    {0.9466785280815826, 0.2557011698983284},
    {3.314825187068521, 2.896124015972201, 0.9986419139977817},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950},
    {1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950, 1.0},
};
static const double C[STAGES][STAGES - 1] = {
    {0.0},
    {-5.6688},
    {-2.430093356833875, -0.2063599157091915},
    {-0.1073529058151375, -9.594562251023355, -20.47028614809616},
    {7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160},
    {8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054},
};

bool rodas_slopes_set(dopri_rates *rates, void *context, double x, const double y[], const double first[], bool frozen,
                      rodas_slopes *slopes)
{
    const double part = 1e-7, dx = 1e-6;
    double beside[DOPRI_N], rate[DOPRI_N];
    memset(slopes, 0, sizeof *slopes);
    memcpy(beside, y, sizeof beside);
    for (int j = 0; j < (frozen ? DOPRI_STATES - 1 : DOPRI_STATES); j++) {
        beside[j] = y[j] * (1.0 + part);
        if (!rates(context, x, beside, rate))
            return false;
        for (int i = 0; i < DOPRI_N; i++)
            slopes->state[i][j] = (rate[i] - first[i]) / part;
        beside[j] = y[j];
    }
    if (!rates(context, x + dx, y, rate))
        return false;
    for (int i = 0; i < DOPRI_N; i++)
        slopes->x[i] = (rate[i] - first[i]) / dx;
    for (int i = 0; i < DOPRI_STATES; i++) {
        double row = 0.0;
        for (int j = 0; j < DOPRI_STATES; j++)
            row += fabs(slopes->state[i][j] / y[i]);
        slopes->norm = fmax(slopes->norm, row);
    }
    return true;
}

/* Elimination with row interchange, once a step; the factors stay in m. */
static bool factor(double m[DOPRI_STATES][DOPRI_STATES], int row[DOPRI_STATES])
{
    for (int k = 0; k < DOPRI_STATES; k++) {
        row[k] = k;
        for (int i = k + 1; i < DOPRI_STATES; i++)
            if (fabs(m[i][k]) > fabs(m[row[k]][k]))
                row[k] = i;
        for (int j = 0; j < DOPRI_STATES; j++) {
            const double kept = m[k][j];
            m[k][j] = m[row[k]][j];
            m[row[k]][j] = kept;
        }
        if (!(fabs(m[k][k]) > 0.0))
            return false;
        for (int i = k + 1; i < DOPRI_STATES; i++) {
            m[i][k] /= m[k][k];
            for (int j = k + 1; j < DOPRI_STATES; j++)
                m[i][j] -= m[i][k] * m[k][j];
        }
    }
    return true;
}

static void solve(double m[DOPRI_STATES][DOPRI_STATES], const int row[DOPRI_STATES], double b[DOPRI_STATES])
{
    for (int k = 0; k < DOPRI_STATES; k++) {
        const double kept = b[k];
        b[k] = b[row[k]];
        b[row[k]] = kept;
    }
    for (int i = 1; i < DOPRI_STATES; i++)
        for (int k = 0; k < i; k++)
            b[i] -= m[i][k] * b[k];
    for (int i = DOPRI_STATES - 1; i >= 0; i--) {
        for (int j = i + 1; j < DOPRI_STATES; j++)
            b[i] -= m[i][j] * b[j];
        b[i] /= m[i][i];
    }
}

bool rodas_step(dopri_rates *rates, void *context, double x, const double y[], const double first[],
                const rodas_slopes *slopes, double h, double y_new[], double error[])
{
    /* 1/(h gamma) - Jacobian for the states, each counted in its own size. */
    const double diagonal = 1.0 / (h * GAMMA);
    double m[DOPRI_STATES][DOPRI_STATES];
    int row[DOPRI_STATES];
    for (int i = 0; i < DOPRI_STATES; i++)
        for (int j = 0; j < DOPRI_STATES; j++)
            m[i][j] = (i == j ? diagonal : 0.0) - slopes->state[i][j] / y[i];
    if (!factor(m, row))
        return false;

    double u[STAGES][DOPRI_N];
    for (int s = 0; s < STAGES; s++) {
        double rate[DOPRI_N];
        if (s == 0) {
            memcpy(rate, first, sizeof rate);
        } else {
            for (int i = 0; i < DOPRI_N; i++) {
                y_new[i] = y[i];
                for (int j = 0; j < s; j++)
                    y_new[i] += A[s][j] * u[j][i];
            }
            if (!rates(context, x + ALPHA[s] * h, y_new, rate))
                return false;
        }
        for (int i = 0; i < DOPRI_N; i++) {
            double sum = 0.0;
            for (int j = 0; j < s; j++)
                sum += C[s][j] * u[j][i];
            rate[i] += sum / h + h * D[s] * slopes->x[i];
        }
        double part[DOPRI_STATES];
        for (int i = 0; i < DOPRI_STATES; i++)
            part[i] = rate[i] / y[i];
        solve(m, row, part);
        for (int i = 0; i < DOPRI_N; i++) {
            if (i < DOPRI_STATES) {
                u[s][i] = part[i] * y[i];
                continue;
            }
            double sum = rate[i];
            for (int j = 0; j < DOPRI_STATES; j++)
                sum += slopes->state[i][j] * part[j];
            u[s][i] = sum / diagonal;
        }
    }
    for (int i = 0; i < DOPRI_N; i++) {
        error[i] = u[STAGES - 1][i];
        y_new[i] += error[i];
    }
    return true;
}

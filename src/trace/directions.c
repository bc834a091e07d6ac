/* The few directions of the shared state that the evidence can see.
 *
 * A sheet's readings depend on some twenty doubts, but only through a handful of numbers: the level that sound cylinders read, the first
 * stroke, the level of a leaking one, the wet level, the standing ring area. Across everything else the posterior is the prior. So the
 * proposal is fitted in those directions alone, where a few hundred draws are enough to fit it well. */
#include <math.h>
#include <string.h>

#include "parts.h"

enum { FUNCTIONALS_MAX = DIRECTIONS_MAX };

/* The numbers that the evidence sees, at a vector of scores. */
static int functionals(const weigh_frame *frame, const shared_space *space, const double score[SHARED_DIMENSIONS],
                       double f[FUNCTIONALS_MAX])
{
    double value[SHARED_DIMENSIONS];
    shared_values(space, score, value);
    const double *extra = &value[CH_DOUBT_COUNT];
    const double tight_m2 = frame->ring_median_m2 * exp(extra[SHARED_RINGS]) + frame->beside_m2;
    const double leaking_m2 = tight_m2 + 12.0 * frame->dry->area_scale_m2;
    double final_pa[CH_EMULATOR_GRID], first_pa[CH_EMULATOR_GRID];
    ch_emulator_table(frame->dry, value, final_pa, first_pa);
    const double gain_1 = 1.0 + extra[SHARED_GAIN], zero_pa = extra[SHARED_ZERO];
    int n = 0;
    f[n++] = log(gain_1 * ch_emulator_at(frame->dry, final_pa, tight_m2) + zero_pa + 1e3);
    f[n++] = log(gain_1 * ch_emulator_at(frame->dry, first_pa, tight_m2) + zero_pa + 1e3);
    f[n++] = log(gain_1 * ch_emulator_at(frame->dry, final_pa, leaking_m2) + zero_pa + 1e3);
    f[n++] = extra[SHARED_RINGS];
    if (frame->wet != NULL) {
        double offset[CH_DOUBT_COUNT], wet_pa[CH_EMULATOR_GRID];
        memcpy(offset, value, sizeof offset);
        const double kept_1 = frame->wet_base_m3 * expm1(extra[SHARED_OIL_KEPT]) / frame->setup->cranking.clearance_m3;
        offset[CH_DOUBT_RATIO] += -log1p(-fmin(fmax(kept_1, -0.5), 0.4));
        ch_emulator_table(frame->wet, offset, wet_pa, NULL);
        f[n++] = log(gain_1 * ch_emulator_at(frame->wet, wet_pa, tight_m2) + zero_pa + 1e3);
        f[n++] = log(gain_1 * ch_emulator_at(frame->wet, wet_pa, leaking_m2) + zero_pa + 1e3);
        f[n++] = score[CH_DOUBT_COUNT + SHARED_OIL_SEAL];
    }
    if (frame->measured->any_leakdown)
        f[n++] = extra[SHARED_ORIFICE];
    if (frame->measured->any_leakdown)
        f[n++] = extra[SHARED_RINGS] + extra[SHARED_STATIC] - extra[SHARED_ORIFICE];
    if (frame->measured->any_heard)
        f[n++] = extra[SHARED_RINGS] + extra[SHARED_STATIC] - extra[SHARED_LISTENER];
    return n;
}

void directions_set(const weigh_frame *frame, const double at[SHARED_DIMENSIONS], shared_space *space)
{
    const double step = 0.25;
    double gradient[FUNCTIONALS_MAX][SHARED_DIMENSIONS] = {{0}};
    int n = 0;
    for (int a = 0; a < space->active_count; a++) {
        const int d = space->active[a];
        double up[SHARED_DIMENSIONS], down[SHARED_DIMENSIONS], f_up[FUNCTIONALS_MAX], f_down[FUNCTIONALS_MAX];
        memcpy(up, at, sizeof up);
        memcpy(down, at, sizeof down);
        up[d] += step;
        down[d] -= step;
        n = functionals(frame, space, up, f_up);
        functionals(frame, space, down, f_down);
        for (int k = 0; k < n; k++)
            gradient[k][d] = (f_up[k] - f_down[k]) / (2.0 * step);
    }
    /* Orthonormal directions: Gram-Schmidt, twice for the sake of rounding; what adds nothing new is left out. */
    space->directions = 0;
    for (int k = 0; k < n; k++) {
        double *v = gradient[k];
        double before = 0.0, after = 0.0;
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            before += v[d] * v[d];
        for (int pass = 0; pass < 2; pass++)
            for (int j = 0; j < space->directions; j++) {
                double along = 0.0;
                for (int d = 0; d < SHARED_DIMENSIONS; d++)
                    along += v[d] * space->direction[j][d];
                for (int d = 0; d < SHARED_DIMENSIONS; d++)
                    v[d] -= along * space->direction[j][d];
            }
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            after += v[d] * v[d];
        if (!(after > 1e-6 * before) || !(after > 0.0))
            continue;
        for (int d = 0; d < SHARED_DIMENSIONS; d++)
            space->direction[space->directions][d] = v[d] / sqrt(after);
        space->directions++;
    }
}

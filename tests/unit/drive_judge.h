/* A simulated run put through the driveline without a log between. Shared by its test and its study. */
#ifndef CROSSHATCH_TESTS_DRIVE_JUDGE_H
#define CROSSHATCH_TESTS_DRIVE_JUDGE_H

#include <math.h>

#include "crosshatch/driveline.h"
#include "drive_run.h"

static inline ch_status drive_feed(const drive_run *run, ch_driveline_run *judged, ch_err *err)
{
    double nothing[CH_DRIVELOG_BATCH];
    const uint64_t lines[CH_DRIVELOG_BATCH] = {0};
    ch_status rc = CH_OK;
    for (size_t i = 0; i < CH_DRIVELOG_BATCH; i++)
        nothing[i] = NAN;
    for (size_t i = 0; i < run->n && rc >= 0; i += CH_DRIVELOG_BATCH) {
        const ch_drivelog_rows rows = {.n = run->n - i < CH_DRIVELOG_BATCH ? run->n - i : CH_DRIVELOG_BATCH,
                                       .first = i,
                                       .time_s = run->time_s + i,
                                       .engine_speed_rad_s = run->engine_rad_s + i,
                                       .road_speed_m_s = run->road_m_s + i,
                                       .throttle_1 = run->throttle_1 + i,
                                       .acceleration_m_s2 = run->acceleration_m_s2 + i,
                                       .coolant_k = run->coolant_k + i,
                                       .oil_k = nothing,
                                       .clutch_1 = run->clutch_1 + i,
                                       .gps_speed_m_s = nothing,
                                       .driven_speed_m_s = run->driven_m_s + i,
                                       .line = lines};
        rc = ch_driveline_take(&rows, judged, err);
    }
    return rc;
}

/* The whole of it; `car` may be NULL. The caller clears the result. */
static inline ch_status drive_judge(const drive_run *run, const ch_car *car, const ch_clutch_knowledge *clutch,
                                    const ch_driveline_seen *seen, size_t seen_n, ch_driveline *result, ch_err *err)
{
    ch_driveline_run *judged = NULL;
    ch_status rc = ch_driveline_open(car, &judged, err);
    if (rc >= 0)
        rc = drive_feed(run, judged, err);
    if (rc >= 0)
        rc = ch_driveline_finish(judged, clutch, seen, seen_n, result, err);
    ch_driveline_close(judged);
    return rc;
}

#endif

/* Time and distance out of rows, see drivelog_use.h. */
#include "crosshatch/drivelog_use.h"

#include <math.h>

void ch_drivelog_use_init(ch_drivelog_use *use, double above_rad_s)
{
    *use = (ch_drivelog_use){.above_rad_s = above_rad_s, .last_engine_rad_s = NAN, .last_road_m_s = NAN};
}

/* The share of a stretch, along which a speed goes evenly from `a` to `b`, that lies at `least` or more. */
static double share(double a, double b, double least)
{
    const double low = fmin(a, b), high = fmax(a, b);
    if (low >= least)
        return 1.0;
    return high > least ? (high - least) / (high - low) : 0.0;
}

static void count(ch_drivelog_use *use, double step_s, double engine_rad_s, double road_m_s)
{
    use->logged_s += step_s;
    if (isnan(use->last_engine_rad_s) || isnan(engine_rad_s)) {
        use->unknown_s += step_s;
    } else {
        use->running_s += step_s * share(use->last_engine_rad_s, engine_rad_s, CH_DRIVELOG_RUNS_RAD_S);
        if (!isnan(use->above_rad_s))
            use->above_s += step_s * share(use->last_engine_rad_s, engine_rad_s, use->above_rad_s);
    }
    if (isfinite(use->last_road_m_s) && isfinite(road_m_s))
        use->distance_m += step_s * 0.5 * (use->last_road_m_s + road_m_s);
}

ch_status ch_drivelog_use_take(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    ch_drivelog_use *use = context;
    (void)err;
    for (size_t i = 0; i < rows->n; i++) {
        const double step_s = rows->time_s[i] - use->last_time_s, engine_rad_s = rows->engine_speed_rad_s[i];
        if (use->any && rows->segment == use->segment && step_s <= CH_DRIVELOG_GAP_S)
            count(use, step_s, engine_rad_s, rows->road_speed_m_s[i]);
        if (engine_rad_s >= CH_DRIVELOG_RUNS_RAD_S) {
            use->starts += use->stood;
            use->stood = false;
        } else if (!isnan(engine_rad_s)) {
            use->stood = true;
        }
        use->any = true;
        use->segment = rows->segment;
        use->last_time_s = rows->time_s[i];
        use->last_engine_rad_s = engine_rad_s;
        use->last_road_m_s = rows->road_speed_m_s[i];
    }
    return CH_OK;
}

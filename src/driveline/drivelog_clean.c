/*
 * Rows with their time: values that cannot be are taken out, what is handed out is counted, and at the end the whole is judged.
 */
#include <math.h>
#include <string.h>

#include "drivelog_parts.h"

/* What a car can show, SI; common practice, wide on purpose: 25000 r/min, 540 km/h, 5 g, -50..200 C. */
static const struct {
    double least, most;
} physical[LOG_CHANNELS] = {
    [CH_DRIVELOG_TIME] = {-INFINITY, INFINITY},
    [CH_DRIVELOG_ENGINE] = {0, 2618},
    [CH_DRIVELOG_ROAD] = {0, 150},
    [CH_DRIVELOG_THROTTLE] = {-0.2, 1.5},
    [CH_DRIVELOG_ACCELERATION] = {-50, 50},
    [CH_DRIVELOG_COOLANT] = {223, 473},
    [CH_DRIVELOG_OIL] = {223, 500},
    [CH_DRIVELOG_CLUTCH] = {-0.2, 1.5},
    [CH_DRIVELOG_GPS] = {0, 150},
    [CH_DRIVELOG_DRIVEN] = {0, 150},
};

/* A single row that leaps away from both neighbours, further than an engine or a car can within a row. */
static const struct {
    double leap, leap_per_s;
} spikes[LOG_CHANNELS] = {
    [CH_DRIVELOG_ENGINE] = {60, 2000},
    [CH_DRIVELOG_ROAD] = {3, 50},
    [CH_DRIVELOG_GPS] = {3, 50},
    [CH_DRIVELOG_DRIVEN] = {3, 50},
};

/* All ones in the two bytes, a quarter r/min each, in which control units send engine speed (SAE J1979): no value. */
static const double engine_without_value = 65535 / 4.0 * 0.1047197551196597746;

static void take_out_of_range(ch_drivelog *r, unsigned c, size_t n)
{
    double *const v = r->work.value[c];
    const double least = physical[c].least, most = physical[c].most;
    const double none = c == CH_DRIVELOG_ENGINE ? engine_without_value : INFINITY;
    size_t wrong = 0;
    for (size_t i = 0; i < n; i++)
        wrong += (v[i] < least) | (v[i] > most) | (fabs(v[i] - none) < 1e-6);
    for (size_t i = 0; i < n && wrong > 0; i++)
        if (v[i] < least || v[i] > most || fabs(v[i] - none) < 1e-6) {
            v[i] = NAN;
            log_count(&r->report.columns[c].glitches, 1, r->work.line[i]);
        }
}

static void take_out_spikes(ch_drivelog *r, unsigned c, size_t n, bool more)
{
    double *const v = r->work.value[c];
    const double *const t = r->work.value[CH_DRIVELOG_TIME];
    const double leap = spikes[c].leap;
    const size_t end = n + more;
    double before = r->last[c], before_s = r->clock.last_time_s;
    for (size_t i = 0; i < n; i++) {
        const double a = v[i] - before;
        if (fabs(a) > leap) {
            size_t behind = i + 1; /* neighbours are the nearest rows with a value */
            while (behind < end && isnan(v[behind]))
                behind++;
            if (behind == end)
                return;
            const double b = v[i] - v[behind], smaller = fmin(fabs(a), fabs(b));
            const double wide_s = fmax(t[i] - before_s, t[behind] - t[i]);
            if (a * b > 0 && wide_s <= 0.25 && smaller > leap + spikes[c].leap_per_s * wide_s &&
                fabs(before - v[behind]) < smaller / 3) {
                v[i] = NAN;
                log_count(&r->report.columns[c].glitches, 1, r->work.line[i]);
            }
        }
        if (!isnan(v[i])) {
            before = v[i];
            before_s = t[i];
        }
    }
}

static void count_channel(ch_drivelog *r, unsigned c, size_t n, const bool moving[static LOG_WORK],
                          const uint16_t filled[static LOG_WORK])
{
    ch_drivelog_column *const column = &r->report.columns[c];
    const double *const v = r->work.value[c];
    double last = r->last[c];
    double least = isnan(column->least_si) ? INFINITY : column->least_si;
    double most = isnan(column->most_si) ? -INFINITY : column->most_si;
    uint64_t values = 0, changes = 0, stale = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(v[i]))
            continue;
        values++;
        if (filled[i] >> c & 1) {
            column->filled++;
            continue;
        }
        if (moving[i]) {
            changes += v[i] != last;
            stale += v[i] == last;
        }
        last = v[i];
        r->last_value_s[c] = r->work.value[CH_DRIVELOG_TIME][i];
        least = v[i] < least ? v[i] : least;
        most = v[i] > most ? v[i] : most;
    }
    if (values > 0) {
        column->least_si = least;
        column->most_si = most;
    }
    column->values += values;
    column->changes += changes;
    column->stale += stale;
    r->last[c] = last;
}

static void count_intervals(ch_drivelog *r, size_t n)
{
    const double *const t = r->work.value[CH_DRIVELOG_TIME];
    log_clock *const clock = &r->clock;
    const bool first = clock->fresh; /* the first of a segment follows nothing */
    double before_s = clock->last_time_s;
    for (size_t i = first ? 1 : 0; i < n; i++)
        log_intervals_add(&clock->steps, t[i] - (i > 0 ? t[i - 1] : before_s));
    const double wide_s = 3 * log_intervals_median(&clock->steps);
    for (size_t i = first ? 1 : 0; i < n; i++) {
        const double step_s = t[i] - (i > 0 ? t[i - 1] : before_s);
        if (step_s > wide_s) {
            log_count(&r->report.gaps, 1, r->work.line[i]);
            r->report.longest_gap_s = fmax(r->report.longest_gap_s, step_s);
        } else {
            r->report.seconds += step_s;
        }
    }
    r->report.median_interval_s = wide_s / 3;
    clock->fresh = false;
}

static ch_status hand_over(ch_drivelog *r, size_t from, size_t n, ch_err *err)
{
    const log_work *const w = &r->work;
    const ch_drivelog_rows rows = {
        .n = n,
        .first = r->report.rows,
        .segment = (uint32_t)(r->report.segments_n - 1),
        .time_s = w->value[CH_DRIVELOG_TIME] + from,
        .engine_speed_rad_s = w->value[CH_DRIVELOG_ENGINE] + from,
        .road_speed_m_s = w->value[CH_DRIVELOG_ROAD] + from,
        .throttle_1 = w->value[CH_DRIVELOG_THROTTLE] + from,
        .acceleration_m_s2 = w->value[CH_DRIVELOG_ACCELERATION] + from,
        .coolant_k = w->value[CH_DRIVELOG_COOLANT] + from,
        .oil_k = w->value[CH_DRIVELOG_OIL] + from,
        .clutch_1 = w->value[CH_DRIVELOG_CLUTCH] + from,
        .gps_speed_m_s = w->value[CH_DRIVELOG_GPS] + from,
        .driven_speed_m_s = w->value[CH_DRIVELOG_DRIVEN] + from,
        .line = w->line + from,
    };
    r->report.rows += n;
    return r->take != NULL ? r->take(&rows, r->context, err) : CH_OK;
}

/* What the acceleration says against how road speed changes: off by a factor where its unit is wrong. */
static void compare_acceleration(ch_drivelog *r, size_t n)
{
    const double *const t = r->work.value[CH_DRIVELOG_TIME], *const road = r->work.value[CH_DRIVELOG_ROAD];
    const double *const a = r->work.value[CH_DRIVELOG_ACCELERATION];
    for (size_t i = 1; i < n && r->map.found[CH_DRIVELOG_ACCELERATION]; i++) {
        const double step_s = t[i] - t[i - 1], product = (road[i] - road[i - 1]) * a[i];
        if (isnan(product) || step_s > 0.5)
            continue;
        r->rate_acceleration += product;
        r->acceleration_acceleration += a[i] * a[i] * step_s;
    }
}

ch_status log_clean_emit(ch_drivelog *r, size_t n, size_t kept, bool more, ch_err *err)
{
    bool moving[LOG_WORK];
    uint16_t filled[LOG_WORK];
    const double *const t = r->work.value[CH_DRIVELOG_TIME];
    const double *const engine = r->work.value[CH_DRIVELOG_ENGINE], *const road = r->work.value[CH_DRIVELOG_ROAD];
    const double *const gps = r->work.value[CH_DRIVELOG_GPS];
    for (size_t k = 0; k < r->active_n; k++) {
        take_out_of_range(r, r->active[k], n);
        if (spikes[r->active[k]].leap > 0)
            take_out_spikes(r, r->active[k], n, more);
    }
    log_fill(r, n, kept, filled);
    count_intervals(r, n);
    const double usual_s = r->report.median_interval_s;
    for (size_t i = 0; i < n; i++) {
        const double step_s = t[i] - (i > 0 ? t[i - 1] : r->clock.last_time_s);
        moving[i] = engine[i] > 10 && road[i] > 0.5; /* 100 r/min and a slow walk: both turn */
        if (moving[i] && step_s <= 3 * usual_s)
            r->moving_s += step_s;
    }
    if (r->map.how[CH_DRIVELOG_ROAD] != CH_DRIVELOG_STAND_IN && r->map.found[CH_DRIVELOG_GPS])
        for (size_t i = 0; i < n; i++)
            if (gps[i] > 5 && road[i] > 0) {
                r->road_gps += road[i] * gps[i];
                r->gps_gps += gps[i] * gps[i];
            }
    compare_acceleration(r, n);
    for (size_t k = 0; k < r->active_n; k++)
        count_channel(r, r->active[k], n, moving, filled);
    r->clock.last_time_s = t[n - 1];
    for (size_t from = 0; from < n; from += CH_DRIVELOG_BATCH) {
        const ch_status rc = hand_over(r, from, n - from < CH_DRIVELOG_BATCH ? n - from : CH_DRIVELOG_BATCH, err);
        if (rc < 0)
            return rc;
    }
    return CH_OK;
}

static ch_status judge_speeds(ch_drivelog *r, ch_err *err)
{
    static const struct {
        int channel;
        const char *plain;
    } needed[] = {{CH_DRIVELOG_ENGINE, "engine speed"}, {CH_DRIVELOG_ROAD, "road speed"}};
    const ch_drivelog_report *const report = &r->report;
    for (size_t i = 0; i < 2; i++) {
        const ch_drivelog_column *const column = &report->columns[needed[i].channel];
        const uint64_t line = column->glitches.n > 0 ? column->glitches.line : report->header_line;
        if (column->glitches.n > column->values)
            return log_fail_at(r, err, CH_E_INPUT, line, column->index, "the right column and the right unit",
                               "most of %s (\"%.40s\", taken as %s) is more than any car does", needed[i].plain,
                               column->name, column->unit);
        if (column->values == 0)
            return log_fail_at(r, err, CH_E_INPUT,
                               column->not_numbers.n > 0 ? column->not_numbers.line : report->header_line,
                               column->index, "numbers with one decimal mark and no thousands separators",
                               "%s (\"%.40s\") has no number", needed[i].plain, column->name);
    }
    const ch_drivelog_column *const engine = &report->columns[CH_DRIVELOG_ENGINE];
    const ch_drivelog_column *const road = &report->columns[CH_DRIVELOG_ROAD];
    if (engine->most_si < 40 && (engine->most_si > 0 || road->most_si > 3))
        return log_fail_at(r, err, CH_E_INPUT, report->header_line, engine->index,
                           "the right column and unit; perhaps rpm=COLUMN and speed=COLUMN the other way round",
                           "engine speed (\"%.40s\") peaks at %.0f r/min, where no engine runs", engine->name,
                           engine->most_si * 9.549296585513721);
    return CH_OK;
}

ch_status log_clean_judge(ch_drivelog *r, ch_err *err)
{
    ch_drivelog_report *const report = &r->report;
    for (int c = 0; c < LOG_CHANNELS; c++)
        if (report->columns[c].changes > 0)
            report->columns[c].fresh_interval_s = r->moving_s / (double)report->columns[c].changes;
    if (r->gps_gps > 0)
        report->road_over_gps = r->road_gps / r->gps_gps;
    if (r->acceleration_acceleration > 0)
        report->rate_over_acceleration = r->rate_acceleration / r->acceleration_acceleration;
    if (report->ragged.n > report->rows)
        return log_fail_at(r, err, CH_E_INPUT, report->ragged.line, CH_DRIVELOG_COLUMNS_MAX, "as many cells as names",
                           "%llu rows have too few or too many cells, only %llu the right number",
                           (unsigned long long)report->ragged.n, (unsigned long long)report->rows);
    if (report->rows == 0 && report->no_stamp.n == 0)
        return log_fail_at(r, err, CH_E_INPUT, report->header_line, CH_DRIVELOG_COLUMNS_MAX,
                           "rows of numbers below the header", "no row of numbers follows the header");
    if (report->rows > 1 && r->clock.stamps.n == 0)
        return log_fail_at(r, err, CH_E_INPUT, report->header_line, report->columns[CH_DRIVELOG_TIME].index,
                           "a time column that moves", "the clock (\"%.40s\") stands still throughout",
                           report->columns[CH_DRIVELOG_TIME].name);
    if (report->rows == 0)
        return log_fail_at(r, err, CH_E_INPUT, report->no_stamp.n > 0 ? report->no_stamp.line : r->line,
                           report->no_stamp.n > 0 ? report->columns[CH_DRIVELOG_TIME].index : CH_DRIVELOG_COLUMNS_MAX,
                           "seconds, milliseconds, hh:mm:ss or date and time", "no row has a time that can be read");
    return judge_speeds(r, err);
}

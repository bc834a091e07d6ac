/*
 * From stamps as the log writes them to one time that strictly increases.
 *
 * Invariants of the rows at work: the first `decided` have a stamp that was accepted and wait for the stamp after theirs; behind them stand rows as
 * read. A row is judged once the row after it is there, as one stray stamp cannot be told from a restarted clock without it.
 */
#include <math.h>
#include <string.h>

#include "drivelog_parts.h"

static const double day_s = 86400;

void log_intervals_add(log_intervals *intervals, double interval_s)
{
    /* The exponent and five bits of the mantissa, from 2^-40 s on. */
    uint64_t bits;
    memcpy(&bits, &interval_s, sizeof bits);
    const int64_t bin = (int64_t)(bits >> 47) - ((1023 - 40) * 32);
    const size_t kept = bin < 0 ? 0 : bin >= LOG_BINS ? LOG_BINS - 1 : (size_t)bin;
    intervals->n++;
    intervals->bin[kept]++;
    intervals->sum_s[kept] += interval_s;
}

double log_intervals_median(const log_intervals *intervals)
{
    uint64_t below = 0;
    for (size_t i = 0; i < LOG_BINS && intervals->n > 0; i++) {
        below += intervals->bin[i];
        if (below * 2 >= intervals->n)
            return intervals->sum_s[i] / intervals->bin[i];
    }
    return NAN;
}

static void move_row(log_work *work, size_t to, size_t from)
{
    if (to == from)
        return;
    for (int c = 0; c < LOG_CHANNELS; c++)
        work->value[c][to] = work->value[c][from];
    work->line[to] = work->line[from];
}

/* Forgets the first `rows` rows. */
static void shift(log_work *work, size_t rows)
{
    if (rows == 0)
        return;
    const size_t left = work->n - rows;
    for (int c = 0; c < LOG_CHANNELS; c++)
        memmove(work->value[c], work->value[c] + rows, left * sizeof work->value[c][0]);
    memmove(work->line, work->line + rows, left * sizeof work->line[0]);
    work->n = left;
}

/* The usual step between different stamps; from the rows at work where none was handed out yet; 0 where there is none. */
static double usual_step(const ch_drivelog *r)
{
    double median = log_intervals_median(&r->clock.stamps);
    if (isnan(median)) {
        log_intervals first = {0};
        const double *const stamp = r->work.value[CH_DRIVELOG_TIME];
        for (size_t i = 1; i < r->work.n; i++)
            if (stamp[i] > stamp[i - 1])
                log_intervals_add(&first, stamp[i] - stamp[i - 1]);
        median = log_intervals_median(&first);
    }
    return isnan(median) ? 0 : median;
}

/* Gives the first `n` rows their time and hands them out; row n, where there is one, is the next of this segment. */
static ch_status hand_out(ch_drivelog *r, size_t n, size_t kept, bool final, double step_s, ch_err *err)
{
    log_clock *const clock = &r->clock;
    double *const stamp = r->work.value[CH_DRIVELOG_TIME];
    for (size_t i = 0; i < n;) {
        size_t behind = i + 1;
        while (behind < n && stamp[behind] == stamp[i])
            behind++;
        const bool next = behind < n || !final;
        const double ahead_s = next ? stamp[behind] - stamp[i] : step_s;
        if (next)
            log_intervals_add(&clock->stamps, ahead_s);
        const double room_s = step_s > 0 && ahead_s > 3 * step_s ? step_s : ahead_s;
        for (size_t k = i + 1; k < behind; k++) {
            log_count(&r->report.repeated, 1, r->work.line[k]);
            stamp[k] = stamp[i] + room_s * (double)(k - i) / (double)(behind - i);
        }
        i = behind;
    }
    const double waiting_s = n > 0 && !final ? stamp[n] : NAN;
    double before_s = r->report.rows > 0 ? clock->last_time_s : -INFINITY;
    for (size_t i = 0; i < n + (n > 0 && !final); i++) {
        const double time_s = clock->origin_time_s + (stamp[i] - clock->origin_stamp_s);
        before_s = stamp[i] = time_s > before_s ? time_s : nextafter(before_s, INFINITY);
    }
    const ch_status rc = n > 0 ? log_clean_emit(r, n, kept, !final, err) : CH_OK;
    if (n > 0 && !final)
        stamp[n] = waiting_s;
    return rc;
}

void log_time_break(ch_drivelog *r, ch_drivelog_break why, uint64_t line, double stamp_s)
{
    log_clock *const clock = &r->clock;
    const double step_s = log_intervals_median(&clock->steps);
    const double time_s = r->report.segments_n == 0 ? 0 : clock->last_time_s + (isnan(step_s) ? 1 : step_s);
    clock->begun = clock->fresh = true;
    for (int c = 0; c < LOG_CHANNELS; c++)
        r->last[c] = NAN;
    clock->wrapped_s = 0;
    clock->still = 0;
    clock->last_stamp_s = stamp_s;
    clock->origin_stamp_s = stamp_s;
    clock->origin_time_s = time_s;
    if (r->report.segments_n < CH_DRIVELOG_SEGMENTS_MAX)
        r->report.segments[r->report.segments_n] = (ch_drivelog_segment){why, line, r->report.rows, time_s, stamp_s};
    r->report.segments_n++;
}

/* What to do with a row. */
typedef enum verdict { KEEP, BACKWARD, STRAY, STILL, RESTART, JUMP } verdict;

/* `next_s` is the stamp of the row behind it, NaN where there is none. */
static verdict judge_stamp(ch_drivelog *r, double *stamp_s, double next_s, double step_s)
{
    log_clock *const clock = &r->clock;
    const double ahead_s = *stamp_s - clock->last_stamp_s;
    const double near_s = fmax(3, 10 * step_s), last_s = clock->last_stamp_s;
    const bool next_fits = next_s >= last_s && next_s <= last_s + near_s;
    clock->still = ahead_s == 0 ? clock->still + 1 : 0;
    if (clock->still > LOG_STILL)
        return STILL;
    if (ahead_s >= 0) {
        if (ahead_s > fmax(10, 20 * step_s) && (next_fits || (isnan(next_s) && ahead_s > day_s)))
            return STRAY;
        return ahead_s > day_s ? JUMP : KEEP;
    }
    const double overflow_s[] = {
        r->stamp_form == LOG_STAMP_CLOCK && !r->stamp_dated ? day_s : 0,
        r->wrap_unit_s * 65536,
        r->wrap_unit_s * 4294967296.0,
    };
    for (size_t i = 0; i < sizeof overflow_s / sizeof overflow_s[0]; i++) {
        const double again_s = *stamp_s + overflow_s[i] - last_s;
        if (overflow_s[i] > 0 && again_s >= 0 && again_s <= (i == 0 ? 3600 : near_s) && !next_fits) {
            clock->wrapped_s += overflow_s[i];
            *stamp_s += overflow_s[i];
            return KEEP;
        }
    }
    if (-ahead_s < fmax(1, 10 * step_s))
        return BACKWARD;
    return next_fits || isnan(next_s) ? STRAY : RESTART;
}

/* Takes rows without a stamp out from `from` on. */
static void drop_unstamped(ch_drivelog *r, size_t from)
{
    log_work *const work = &r->work;
    size_t kept = from;
    for (size_t i = from; i < work->n; i++) {
        if (isfinite(work->value[CH_DRIVELOG_TIME][i]))
            move_row(work, kept++, i);
        else
            log_count(&r->report.no_stamp, 1, work->line[i]);
    }
    work->n = kept;
}

ch_status log_time_settle(ch_drivelog *r, bool final, ch_err *err)
{
    log_work *const work = &r->work;
    log_clock *const clock = &r->clock;
    double *const stamp = work->value[CH_DRIVELOG_TIME];
    drop_unstamped(r, r->decided);
    const double step_s = usual_step(r);
    size_t kept = r->decided;
    for (size_t i = r->decided; i < work->n; i++) {
        const bool last = i + 1 == work->n;
        if (last && !final) {
            move_row(work, kept, i);
            work->n = kept + 1;
            break;
        }
        stamp[i] += clock->wrapped_s;
        if (!clock->begun)
            log_time_break(r, r->report.segments_n == 0 ? CH_DRIVELOG_START : CH_DRIVELOG_HEADER, work->line[i],
                           stamp[i]);
        const double wrapped_s = clock->wrapped_s;
        const verdict v = judge_stamp(r, &stamp[i], last ? NAN : stamp[i + 1] + clock->wrapped_s, step_s);
        if (clock->wrapped_s != wrapped_s)
            log_count(&r->report.wraps, 1, work->line[i]);
        if (v == BACKWARD || v == STRAY || v == STILL) {
            log_count(v == STRAY   ? &r->report.strays
                      : v == STILL ? &r->report.no_stamp
                                   : &r->report.backward,
                      1, work->line[i]);
            if (last)
                work->n = kept;
            continue;
        }
        if (v != KEEP) {
            stamp[i] -= clock->wrapped_s;
            const ch_status rc = hand_out(r, kept, kept, true, step_s, err);
            if (rc < 0)
                return rc;
            shift(work, i);
            kept = i = 0;
            log_time_break(r, v == JUMP ? CH_DRIVELOG_JUMP : CH_DRIVELOG_RESTART, work->line[0], stamp[0]);
        }
        clock->last_stamp_s = stamp[i];
        move_row(work, kept++, i);
        if (i + 1 == work->n)
            work->n = kept;
    }
    size_t ready = kept;
    if (!final && kept > 0)
        for (ready = kept - 1; ready > 0 && stamp[ready - 1] == stamp[kept - 1];)
            ready--;
    if (!final)
        ready = log_fill_ready(r, ready, kept);
    const ch_status rc = hand_out(r, ready, kept, final, step_s, err);
    if (rc < 0)
        return rc;
    shift(work, ready);
    r->decided = kept - ready;
    return CH_OK;
}

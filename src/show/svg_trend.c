/*
 * Leak area of one cylinder over running time, with the forecast. Areas of sound and broken cylinders lie decades apart: the scale is
 * logarithmic, so that even wear is a straight line and a step a jump.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_season.h"

enum { LEFT = 58, WIDE = 254, RIGHT = 12, ABOVE = 30, HIGH = 150, BELOW = 44, FAN = CH_SEASON_FAN, HATCHES = 32 };

static const double HOUR_S = 3600.0, MM2 = 1e-6;
/* A hole of 1000 mm2 is half a bore: beyond it, as below a thousandth of one, nothing is left to tell apart. */
static const double LOG_LEAST = -3.0, LOG_MOST = 3.0;

/* What is drawn, and the frame that it is drawn in: seconds, and logarithms to the base 10 of mm2. */
typedef struct plot {
    const ch_season *season;
    int c; /* cylinder, 0-based */
    double from_s, to_s, low, high;
    double fan[FAN + 1][3]; /* of the forecast, from now to the end of the horizon, evenly in time */
    double fan_to_s;
    bool fan_known;
} plot;

static double log_mm2(double log_m2)
{
    return log_m2 / log(10.0) - log10(MM2);
}

/* The sheet's interval of this cylinder; false where it says nothing of it. */
static bool interval(const plot *p, const ch_history_point *point, double area[3])
{
    const ch_history_result *r = &point->sheet->result;
    if (p->c >= r->cylinders || !isfinite(point->running_s) || !ch_history_tested(&r->cylinder[p->c]))
        return false;
    const double *ladder_m2 = r->cylinder[p->c].ladder_m2;
    const double m2[3] = {ladder_m2[0], ladder_m2[CH_TRACE_LADDER / 2], ladder_m2[CH_TRACE_LADDER - 1]};
    for (int i = 0; i < 3; i++) {
        if (!(m2[i] > 0.0) || isinf(m2[i]))
            return false;
        area[i] = log10(m2[i] / MM2);
    }
    return true;
}

/* ---------------------------------------------------------------- the frame */

static void take(double value, double *low, double *high)
{
    if (!isfinite(value))
        return;
    *low = fmin(*low, value);
    *high = fmax(*high, value);
}

static void find_fan(plot *p)
{
    const ch_season *s = p->season;
    p->fan_to_s = s->history.now_s + s->horizon_s[s->horizon];
    p->fan_known = isfinite(p->fan_to_s) && p->fan_to_s > s->history.now_s && p->c < s->forecast.cylinders;
    for (int k = 0; k <= FAN && p->fan_known; k++)
        for (int i = 0; i < 3; i++)
            p->fan[k][i] = log_mm2(s->fan_log[p->c][k][i]);
}

/* Medians, forecast and limits are all seen; of a sheet's interval as much as lies in the frame. */
static void find_frame(plot *p)
{
    const ch_history *h = &p->season->history;
    double low = INFINITY, high = -INFINITY, area[3];
    p->from_s = INFINITY;
    p->to_s = -INFINITY;
    for (size_t i = 0; i < h->count; i++)
        take(h->point[i].running_s, &p->from_s, &p->to_s);
    take(h->now_s, &p->from_s, &p->to_s);
    take(h->now_s + p->season->horizon_s[p->season->horizon], &p->from_s, &p->to_s);
    if (!(p->to_s > p->from_s)) {
        p->from_s = isfinite(p->from_s) ? p->from_s - HOUR_S : 0.0;
        p->to_s = p->from_s + 2.0 * HOUR_S;
    }
    find_fan(p);
    for (size_t i = 0; i < h->count; i++)
        if (interval(p, &h->point[i], area))
            take(area[1], &low, &high);
    for (int k = 0; k <= FAN && p->fan_known; k++)
        for (int i = 0; i < 3; i++)
            take(p->fan[k][i], &low, &high);
    take(log_mm2(h->log_watch), &low, &high);
    take(log_mm2(h->log_fault), &low, &high);
    if (!(low <= high)) {
        low = -1.0;
        high = 1.0;
    }
    p->low = fmax(low - 0.15, LOG_LEAST);
    p->high = fmin(high + 0.15, LOG_MOST + 0.15);
    if (p->high < p->low + 0.5)
        p->high = p->low + 0.5;
}

static double across(const plot *p, double running_s)
{
    return LEFT + WIDE * fmin(fmax((running_s - p->from_s) / (p->to_s - p->from_s), 0.0), 1.0);
}

static double up(const plot *p, double log_area)
{
    return ABOVE + HIGH * (1.0 - fmin(fmax((log_area - p->low) / (p->high - p->low), 0.0), 1.0));
}

static void draw_areas(const plot *p, ch_svg *svg)
{
    static const double STEPS[] = {1.0, 2.0, 5.0};
    const bool coarse = p->high - p->low > 1.5;
    char number[CH_SHOW_NUMBER];
    for (int power = (int)floor(p->low); power <= (int)ceil(p->high); power++)
        for (int k = 0; k < (coarse ? 1 : 3); k++) {
            const double at = power + log10(STEPS[k]);
            if (at < p->low || at > p->high)
                continue;
            ch_svg_line(svg, CH_SVG_AXIS, LEFT - 4.0, up(p, at), LEFT, up(p, at));
            ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_END, LEFT - 7.0, up(p, at) + 4.5,
                         ch_show_number(STEPS[k] * pow(10.0, power), power < 0 ? -power : 0, number));
        }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, ABOVE - 14.0, "mm2");
}

static void draw_hours(const plot *p, ch_svg *svg)
{
    const double span_h = (p->to_s - p->from_s) / HOUR_S, rough = span_h / 4.0;
    const double ten = pow(10.0, floor(log10(rough)));
    const double step = ten * (rough / ten > 5.0 ? 10.0 : rough / ten > 2.0 ? 5.0 : rough / ten > 1.0 ? 2.0 : 1.0);
    char number[CH_SHOW_NUMBER];
    for (double at = ceil(p->from_s / HOUR_S / step) * step; at <= p->to_s / HOUR_S; at += step) {
        const double x = across(p, at * HOUR_S);
        ch_svg_line(svg, CH_SVG_AXIS, x, ABOVE + HIGH, x, ABOVE + HIGH + 4.0);
        ch_show_number(at, step < 1.0 ? 1 : 0, number);
        const double half = 3.6 * (double)strlen(number); /* of its width */
        const bool beyond = x + half > LEFT + WIDE + RIGHT;
        ch_svg_words(svg, CH_SVG_SMALL, beyond ? CH_SVG_END : CH_SVG_MIDDLE, beyond ? LEFT + WIDE + RIGHT - 1.0 : x,
                     ABOVE + HIGH + 18.0, number);
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, LEFT + WIDE / 2.0, ABOVE + HIGH + 36.0, "hours of the engine");
}

/* ---------------------------------------------------------------- what is in it */

static void draw_limit(const plot *p, ch_svg *svg, ch_svg_look look, double log_m2, const char *words, double below)
{
    const double at = log_mm2(log_m2);
    if (!isfinite(at) || at < p->low || at > p->high)
        return;
    ch_svg_line(svg, look, LEFT, up(p, at), LEFT + WIDE, up(p, at));
    /* Under the line is no room near the foot; above it, and beside what else stands there, is. */
    const bool foot = below > 0.0 && up(p, at) + below > ABOVE + HIGH - 2.0;
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT + (foot ? 52.0 : 4.0), up(p, at) + (foot ? -5.0 : below), words);
}

static double along(const plot *p, double share, int which)
{
    const double at = share * FAN;
    const int k = (int)fmin(floor(at), FAN - 1.0);
    return p->fan[k][which] + (at - k) * (p->fan[k + 1][which] - p->fan[k][which]);
}

/* Upright lines between the outer curves, a thick curve in the middle. */
static void draw_fan(const plot *p, ch_svg *svg)
{
    const double now_s = p->season->history.now_s, x0 = across(p, now_s), x1 = across(p, p->fan_to_s);
    const int lines = (int)fmin(fmax((x1 - x0) / 6.0, 1.0), HATCHES);
    for (int k = 0; k <= lines; k++) {
        const double share = (double)k / lines, x = x0 + share * (x1 - x0);
        ch_svg_line(svg, CH_SVG_HATCH, x, up(p, along(p, share, 0)), x, up(p, along(p, share, 2)));
    }
    for (int k = 0; k < FAN; k++)
        for (int i = 0; i < 3; i++)
            ch_svg_line(svg, i == 1 ? CH_SVG_MARK : CH_SVG_BAND, x0 + (x1 - x0) * k / FAN, up(p, p->fan[k][i]),
                        x0 + (x1 - x0) * (k + 1) / FAN, up(p, p->fan[k + 1][i]));
}

/* The words only where there is room for them: beside those before, the unit, and the edge. Returns where the next ones may begin. */
static double draw_upright(const plot *p, ch_svg *svg, double running_s, const char *words, double free)
{
    const double x = across(p, running_s), half = 27.0;
    ch_svg_line(svg, CH_SVG_STANDARD, x, ABOVE - 2.0, x, ABOVE + HIGH);
    const double middle = fmin(x, LEFT + WIDE + RIGHT - half);
    if (middle - half < free)
        return free;
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, middle, ABOVE - 6.0, words);
    return middle + half;
}

static void draw_happenings(const plot *p, ch_svg *svg)
{
    const ch_season *s = p->season;
    double free = 34.0; /* behind the unit */
    for (size_t i = 0; i < s->history.steps; i++)
        if (s->history.step[i].cylinder == 0 || s->history.step[i].cylinder == p->c + 1)
            free = draw_upright(p, svg, s->history.step[i].running_s, "opened", free);
    for (size_t i = 0; i < s->forecast.found; i++)
        if (s->forecast.step[i].step.cylinder == p->c + 1)
            free = draw_upright(p, svg, s->forecast.step[i].step.running_s, "step", free);
}

static size_t draw_sheets(const plot *p, ch_svg *svg)
{
    const ch_history *h = &p->season->history;
    size_t drawn = 0;
    for (size_t i = 0; i < h->count; i++) {
        double area[3];
        if (!interval(p, &h->point[i], area))
            continue;
        const double x = across(p, h->point[i].running_s);
        ch_svg_line(svg, CH_SVG_FRAME, x, up(p, area[0]), x, up(p, area[2]));
        ch_svg_circle(svg, CH_SVG_READING, x, up(p, area[1]), 4.0);
        drawn++;
    }
    return drawn;
}

/* ---------------------------------------------------------------- the same in words */

static void describe(const plot *p, char words[2 * CH_SHOW_SENTENCE])
{
    const ch_season *s = p->season;
    const ch_forecast_cylinder *f = &s->forecast.cylinder[p->c];
    char now[3][CH_SHOW_NUMBER], left[3][CH_SHOW_NUMBER], watch[CH_SHOW_NUMBER], fault[CH_SHOW_NUMBER];
    for (int i = 0; i < 3; i++) {
        ch_show_area(exp(f->log_area_now[i]), now[i]);
        ch_show_hours_left(f->fault_s[i], left[i]);
    }
    int used = snprintf(words, 2 * CH_SHOW_SENTENCE, "Cylinder %d leaks %s mm2 now, between %s and %s.", p->c + 1,
                        now[1], now[0], now[2]);
    if (isfinite(s->history.log_watch) && isfinite(s->history.log_fault))
        used +=
            snprintf(words + used, (size_t)(2 * CH_SHOW_SENTENCE - used), " Limits: %s mm2 to watch, %s mm2 a fault.",
                     ch_show_area(exp(s->history.log_watch), watch), ch_show_area(exp(s->history.log_fault), fault));
    if (!isnan(f->fault_s[1]))
        snprintf(words + used, (size_t)(2 * CH_SHOW_SENTENCE - used),
                 " To the fault limit %s hours are left, between %s and %s.", left[1], left[0], left[2]);
}

ch_status ch_show_trend_svg(const ch_show_season *shown, int cylinder, ch_svg *svg, ch_err *err)
{
    plot p = {.season = shown->season, .c = cylinder - 1};
    char name[32], title[64], words[2 * CH_SHOW_SENTENCE];
    find_frame(&p);
    describe(&p, words);
    snprintf(name, sizeof name, "trend-%c%c", 'a' + (cylinder - 1) / 26, 'a' + (cylinder - 1) % 26);
    snprintf(title, sizeof title, "Cylinder %d: leak area over hours", cylinder);
    ch_svg_open(svg, name, LEFT + WIDE + RIGHT, ABOVE + HIGH + BELOW, title, words);
    ch_svg_line(svg, CH_SVG_AXIS, LEFT, ABOVE, LEFT, ABOVE + HIGH);
    ch_svg_line(svg, CH_SVG_AXIS, LEFT, ABOVE + HIGH, LEFT + WIDE, ABOVE + HIGH);
    draw_areas(&p, svg);
    draw_hours(&p, svg);
    if (p.fan_known)
        draw_fan(&p, svg);
    draw_limit(&p, svg, CH_SVG_STANDARD, shown->season->history.log_watch, "watch", 14.0);
    draw_limit(&p, svg, CH_SVG_MINIMUM, shown->season->history.log_fault, "fault", -5.0);
    draw_happenings(&p, svg);
    if (draw_sheets(&p, svg) == 0)
        ch_svg_words(svg, CH_SVG_LABEL, CH_SVG_MIDDLE, LEFT + WIDE / 2.0, ABOVE + 20.0, "no sheet tells of it");
    return ch_svg_close(svg, err);
}

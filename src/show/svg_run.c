/* A run over time: all of it, engine and road one above the other with its slips hatched, and one slip from near, the engine against what its gear gives. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "svg_scale.h"

enum {
    WIDTH = 360,
    LEFT = 48,
    RIGHT = 12,
    ABOVE = 26,
    PANEL = 110,
    BETWEEN = 30,
    BELOW = 42,
    COLUMNS = 150,
    NEAR_HIGH = 220
};

static const double RPM = 60 / (2 * 3.14159265358979323846), KMH = 3.6, MINUTE_S = 60, NEAR_S = 2;

typedef struct chart {
    const ch_drive_point *point;
    size_t points;
    svg_scale x;
} chart;

static double engine_rpm(const ch_drive_point *p)
{
    return (double)p->engine_speed_rad_s * RPM;
}

static double road_kmh(const ch_drive_point *p)
{
    return (double)p->road_speed_m_s * KMH;
}

/* Lowest and highest of each column, so that no peak is lost. */
static void draw_course(const chart *c, const svg_scale *y, double (*value)(const ch_drive_point *p), ch_svg *svg)
{
    double x[2 * COLUMNS], up[2 * COLUMNS], low = INFINITY, high = -INFINITY;
    size_t n = 0;
    int column = -1;
    for (size_t i = 0; i <= c->points; i++) {
        const double across = i < c->points ? svg_scale_at(&c->x, (double)c->point[i].time_s) : c->x.to;
        const int here = i < c->points ? (int)((across - LEFT) / (c->x.to - LEFT) * (COLUMNS - 1)) : COLUMNS;
        if (here != column && column >= 0 && high >= low) {
            const double middle = LEFT + (column + 0.5) * (c->x.to - LEFT) / COLUMNS;
            const bool falling = column % 2 != 0;
            x[n] = x[n + 1] = middle;
            up[n] = svg_scale_at(y, falling ? high : low);
            up[n + 1] = svg_scale_at(y, falling ? low : high);
            n += 2;
            low = INFINITY;
            high = -INFINITY;
        }
        column = here;
        if (i < c->points) {
            low = fmin(low, value(&c->point[i]));
            high = fmax(high, value(&c->point[i]));
        }
    }
    ch_svg_curve(svg, CH_SVG_FRAME, x, up, n);
}

/* Slips as thick bars above a panel, hatched below where they are wide enough; those that lie closer than they can be drawn apart are one. */
static void draw_slips(const ch_driveline *d, const svg_scale *x, double unit_s, double above, ch_svg *svg)
{
    static const double APART = 2, LEAST = 3, HATCHED = 8;
    double from = NAN, to = NAN;
    for (size_t i = 0; i <= d->slips; i++) {
        const double a = i < d->slips ? svg_scale_at(x, d->slip[i].start_s / unit_s) : INFINITY;
        const double b = i < d->slips ? svg_scale_at(x, d->slip[i].end_s / unit_s) : INFINITY;
        if (a <= to + APART) {
            to = fmax(to, b);
            continue;
        }
        const double wide = fmax(to - from, LEAST);
        if (!isnan(from)) {
            ch_svg_line(svg, CH_SVG_MARK, from, above - 4.0, from + wide, above - 4.0);
            ch_svg_rect(svg, CH_SVG_BAND, from, above, wide, PANEL);
        }
        if (!isnan(from) && wide >= HATCHED)
            ch_svg_hatch(svg, from, above, wide, PANEL, HATCHED);
        from = a;
        to = b;
    }
}

static double most_of(const chart *c, double (*value)(const ch_drive_point *p), double least)
{
    for (size_t i = 0; i < c->points; i++)
        least = fmax(least, value(&c->point[i]));
    return least;
}

ch_status ch_show_run_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, ch_svg *svg,
                          ch_err *err)
{
    char words[CH_SHOW_RUN_SENTENCE];
    const double end_s = points > 0 ? (double)point[points - 1].time_s : 0;
    const bool long_run = end_s > 10 * MINUTE_S;
    const double unit_s = long_run ? MINUTE_S : 1;
    chart c = {.point = point, .points = points};
    const svg_scale below = svg_scale_for(0.0, fmax(end_s / unit_s, 1.0), 6, LEFT, WIDTH - RIGHT);
    c.x = below;
    c.x.most *= unit_s; /* of the points, which are in seconds; the numbers are those of `below` */
    const svg_scale up = svg_scale_for(0.0, most_of(&c, engine_rpm, 1000.0), 4, ABOVE + PANEL, ABOVE);
    const svg_scale down =
        svg_scale_for(0.0, most_of(&c, road_kmh, 20.0), 4, ABOVE + 2 * PANEL + BETWEEN, ABOVE + PANEL + BETWEEN);
    ch_show_driveline_verdict(driveline, words);
    ch_svg_open(svg, "run", WIDTH, ABOVE + 2 * PANEL + BETWEEN + BELOW, "Engine and road speed over time", words);
    svg_scale_left(svg, &below, &up, "rpm");
    svg_scale_left(svg, &below, &down, "");
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, ABOVE + PANEL + BETWEEN - 10.0, "km/h");
    svg_scale_below(svg, &below, &down, long_run ? "minutes" : "seconds");
    draw_slips(driveline, &below, unit_s, ABOVE, svg);
    draw_slips(driveline, &below, unit_s, ABOVE + PANEL + BETWEEN, svg);
    draw_course(&c, &up, engine_rpm, svg);
    draw_course(&c, &down, road_kmh, svg);
    return ch_svg_close(svg, err);
}

/* ---------------------------------------------------------------- one slip from near */

static double line_of(const ch_driveline *d, int gear)
{
    for (size_t g = 0; g < d->gears; g++)
        if (d->gear[g].number == gear)
            return d->gear[g].line_rad_m;
    return NAN;
}

ch_status ch_show_slip_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, size_t slip,
                           ch_svg *svg, ch_err *err)
{
    enum { NEAR_POINTS = 400 };
    const ch_slip *s = &driveline->slip[slip];
    const double line_rad_m = line_of(driveline, s->gear), from_s = s->start_s - NEAR_S, to_s = s->end_s + NEAR_S;
    double x[NEAR_POINTS], engine[NEAR_POINTS], gear[NEAR_POINTS], least = INFINITY, most = -INFINITY;
    char name[32], title[96], words[CH_SHOW_SENTENCE], a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], p[CH_SHOW_NUMBER];
    size_t n = 0, inside = 0;
    for (size_t i = 0; i < points; i++)
        inside += (double)point[i].time_s >= from_s && (double)point[i].time_s <= to_s;
    const size_t every = inside / NEAR_POINTS + 1;
    inside = 0;
    for (size_t i = 0; i < points; i++) {
        if ((double)point[i].time_s < from_s || (double)point[i].time_s > to_s || inside++ % every != 0)
            continue;
        x[n] = (double)point[i].time_s;
        engine[n] = engine_rpm(&point[i]);
        gear[n] = (double)point[i].road_speed_m_s * line_rad_m * RPM;
        least = fmin(least, fmin(engine[n], gear[n]));
        most = fmax(most, fmax(engine[n], gear[n]));
        n++;
    }
    const svg_scale across = svg_scale_for(from_s, to_s, 5, LEFT, WIDTH - RIGHT);
    const svg_scale up = svg_scale_for(least, most, 5, NEAR_HIGH - BELOW, ABOVE);
    for (size_t i = 0; i < n; i++) {
        x[i] = svg_scale_at(&across, x[i]);
        engine[i] = svg_scale_at(&up, engine[i]);
        gear[i] = svg_scale_at(&up, gear[i]);
    }
    snprintf(name, sizeof name, "slip-%c%c", 'a' + (char)(slip / 26 % 26), 'a' + (char)(slip % 26));
    snprintf(title, sizeof title, "Slip %zu from near", slip + 1);
    snprintf(words, sizeof words, "From %s to %s s in gear %d the engine runs up to %s %% ahead of its gear.",
             ch_show_number(s->start_s, 1, a), ch_show_number(s->end_s, 1, b), s->gear,
             ch_show_number(s->peak_1 * 100, 1, p));
    ch_svg_open(svg, name, WIDTH, NEAR_HIGH, title, words);
    svg_scale_left(svg, &across, &up, "rpm");
    svg_scale_below(svg, &across, &up, "seconds");
    const double begins = svg_scale_at(&across, s->start_s), wide = svg_scale_at(&across, s->end_s) - begins;
    ch_svg_rect(svg, CH_SVG_BAND, begins, ABOVE, wide, NEAR_HIGH - ABOVE - BELOW);
    ch_svg_hatch(svg, begins, ABOVE, wide, NEAR_HIGH - ABOVE - BELOW, 9.0);
    ch_svg_curve(svg, CH_SVG_MARK, x, engine, n);
    ch_svg_curve(svg, CH_SVG_STANDARD, x, gear, n);
    ch_svg_line(svg, CH_SVG_MARK, WIDTH - 232.0, 9.0, WIDTH - 206.0, 9.0);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, WIDTH - 201.0, 13.0, "engine");
    ch_svg_line(svg, CH_SVG_STANDARD, WIDTH - 142.0, 9.0, WIDTH - 116.0, 9.0);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, WIDTH - 111.0, 13.0, "as its gear gives");
    return ch_svg_close(svg, err);
}

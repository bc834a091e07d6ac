/* The gauge's reading stroke by stroke, before and now. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_whatif.h"
#include "svg_scale.h"

enum { WIDTH = 340, HEIGHT = 200, LEFT = 48, RIGHT = 16, ABOVE = 26, BELOW = 42, DOTS = 20 };

static double stroke_step(int strokes)
{
    return strokes <= 10 ? 1.0 : strokes <= 20 ? 2.0 : strokes <= 50 ? 5.0 : 10.0;
}

static void describe(const ch_whatif_run *run, const ch_unit *pressure, const char *when, char *words, size_t size)
{
    char first[CH_SHOW_NUMBER], last[CH_SHOW_NUMBER];
    snprintf(words, size, "%s: %s after the first stroke, %s after %d.", when,
             ch_show_pressure_named(run->stroke_gauge_pa[0], pressure, first),
             ch_show_pressure_named(run->stroke_gauge_pa[run->strokes - 1], pressure, last), run->strokes);
}

ch_status ch_show_pumpup_svg(const ch_whatif *whatif, const ch_unit *pressure, ch_svg *svg, ch_err *err)
{
    const ch_whatif_run *before = &whatif->before_run, *now = &whatif->now_run;
    bool both = false;
    for (int i = 0; i < CH_WHATIF_COUNT; i++)
        both = both || whatif->changed[i];
    const int strokes = before->strokes > now->strokes ? before->strokes : now->strokes;
    char words[2 * CH_SHOW_SENTENCE], was[CH_SHOW_SENTENCE], is[CH_SHOW_SENTENCE];
    describe(before, pressure, "Before", was, sizeof was);
    describe(now, pressure, "Now", is, sizeof is);
    snprintf(words, sizeof words, "%s%s%s", both ? was : "", both ? " " : "", is);
    const double most_pa = fmax(before->stroke_gauge_pa[before->strokes - 1], now->stroke_gauge_pa[now->strokes - 1]);
    const svg_scale y = svg_scale_for(0.0, ch_unit_from_si(most_pa, pressure), 5, HEIGHT - BELOW, ABOVE);
    const double step = stroke_step(strokes);
    const svg_scale x = {
        .least = 0.0, .most = step * ceil(strokes / step), .step = step, .from = LEFT, .to = WIDTH - RIGHT};
    ch_svg_open(svg, "pumpup", WIDTH, HEIGHT, "Gauge reading by compression stroke", words);
    svg_scale_left(svg, &x, &y, pressure->name);
    svg_scale_below(svg, &x, &y, "compression stroke");
    svg_scale_strokes(svg, CH_SVG_MARK, now->stroke_gauge_pa, now->strokes, pressure, &x, &y);
    for (int i = 0; i < now->strokes && now->strokes <= DOTS; i++)
        ch_svg_circle(svg, CH_SVG_READING, svg_scale_at(&x, i + 1.0),
                      svg_scale_at(&y, ch_unit_from_si(now->stroke_gauge_pa[i], pressure)), 4.0);
    if (both)
        svg_scale_strokes(svg, CH_SVG_STANDARD, before->stroke_gauge_pa, before->strokes, pressure, &x, &y);
    svg_scale_legend(svg, WIDTH - RIGHT, both);
    return ch_svg_close(svg, err);
}

/* Pressure in the cylinder over the crank angle of the last stroke, before and now. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_whatif.h"
#include "svg_scale.h"

enum { WIDTH = 340, HEIGHT = 220, LEFT = 48, RIGHT = 14, ABOVE = 26, BELOW = 42 };

static double degrees(double angle_rad)
{
    return ch_unit_from_si(angle_rad, ch_unit_find("deg", 3));
}

static void line(ch_svg *svg, ch_svg_look look, const ch_whatif_run *run, const ch_unit *pressure, const svg_scale *x,
                 const svg_scale *y)
{
    double across[CH_WHATIF_POINTS], up[CH_WHATIF_POINTS];
    for (int i = 0; i < run->points; i++) {
        across[i] = svg_scale_at(x, degrees(run->angle_rad[i]));
        up[i] = svg_scale_at(y, ch_unit_from_si(run->pressure_pa[i], pressure));
    }
    ch_svg_curve(svg, look, across, up, (size_t)run->points);
}

static void reach(const ch_whatif_run *run, double *least_pa, double *most_pa)
{
    for (int i = 0; i < run->points; i++) {
        *least_pa = fmin(*least_pa, run->pressure_pa[i]);
        *most_pa = fmax(*most_pa, run->pressure_pa[i]);
    }
}

static void describe(const ch_whatif_run *run, const ch_unit *pressure, const char *when, char *words, size_t size)
{
    double least_pa = INFINITY, most_pa = -INFINITY;
    char most[CH_SHOW_NUMBER], closing[CH_SHOW_NUMBER];
    reach(run, &least_pa, &most_pa);
    snprintf(words, size,
             "%s: highest pressure %s over the air outside; intake valve on its seat %s degrees before top "
             "dead centre.",
             when, ch_show_pressure_named(most_pa, pressure, most),
             ch_show_number(-degrees(run->closing_rad), 0, closing));
}

static void closing_dot(ch_svg *svg, const ch_whatif_run *run, const ch_unit *pressure, const svg_scale *x,
                        const svg_scale *y)
{
    int i = 0;
    while (i < run->points && run->angle_rad[i] < run->closing_rad - 1e-6)
        i++;
    if (i < run->points)
        ch_svg_circle(svg, CH_SVG_READING, svg_scale_at(x, degrees(run->angle_rad[i])),
                      svg_scale_at(y, ch_unit_from_si(run->pressure_pa[i], pressure)), 5.0);
}

ch_status ch_show_cycle_svg(const ch_whatif *whatif, const ch_unit *pressure, ch_svg *svg, ch_err *err)
{
    const ch_whatif_run *before = &whatif->before_run, *now = &whatif->now_run;
    bool both = false;
    for (int i = 0; i < CH_WHATIF_COUNT; i++)
        both = both || whatif->changed[i];
    char words[2 * CH_SHOW_SENTENCE], was[CH_SHOW_SENTENCE], is[CH_SHOW_SENTENCE];
    describe(before, pressure, "Before", was, sizeof was);
    describe(now, pressure, "Now", is, sizeof is);
    snprintf(words, sizeof words, "%s%s%s", both ? was : "", both ? " " : "", is);
    double least_pa = 0.0, most_pa = 0.0;
    reach(before, &least_pa, &most_pa);
    reach(now, &least_pa, &most_pa);
    const svg_scale y = svg_scale_for(ch_unit_from_si(least_pa, pressure), ch_unit_from_si(most_pa, pressure), 5,
                                      HEIGHT - BELOW, ABOVE);
    const svg_scale x = {.least = -180.0, .most = 180.0, .step = 90.0, .from = LEFT, .to = WIDTH - RIGHT};
    ch_svg_open(svg, "cycle", WIDTH, HEIGHT, "Pressure in the cylinder, last compression stroke", words);
    svg_scale_left(svg, &x, &y, pressure->name);
    svg_scale_below(svg, &x, &y, "degrees of crank from top dead centre");
    line(svg, CH_SVG_MARK, now, pressure, &x, &y);
    closing_dot(svg, now, pressure, &x, &y);
    if (both)
        line(svg, CH_SVG_STANDARD, before, pressure, &x, &y);
    svg_scale_legend(svg, WIDTH - RIGHT, both);
    return ch_svg_close(svg, err);
}

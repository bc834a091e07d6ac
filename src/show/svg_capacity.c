/* What the clutch held at each slip over the temperature of its plate: level where it is worn, falling where heat takes its grip. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "svg_scale.h"

enum { WIDTH = 360, HEIGHT = 230, LEFT = 48, RIGHT = 14, ABOVE = 26, BELOW = 42, DRAWN = 300 };

static const double ZERO_C_K = 273.15, NINETY_PERCENT = 1.645;

static bool known(const ch_slip *s)
{
    return isfinite(s->torque_n_m) && isfinite(s->plate_k);
}

size_t ch_show_capacity_known(const ch_driveline *driveline)
{
    size_t n = 0;
    for (size_t i = 0; i < driveline->slips; i++)
        n += known(&driveline->slip[i]);
    return n;
}

/* The slope of the logarithm, through the middle of the slips. */
static void draw_fade(const ch_driveline *d, const svg_scale *x, const svg_scale *y, ch_svg *svg)
{
    enum { PIECES = 12 };
    double across[PIECES + 1], up[PIECES + 1], mean_k = 0, mean_log = 0;
    const double n = (double)ch_show_capacity_known(d);
    for (size_t i = 0; i < d->slips; i++)
        if (known(&d->slip[i])) {
            mean_k += d->slip[i].plate_k / n;
            mean_log += log(d->slip[i].torque_n_m) / n;
        }
    for (int k = 0; k <= PIECES; k++) {
        const double at_c = x->least + (x->most - x->least) * k / PIECES;
        across[k] = svg_scale_at(x, at_c);
        up[k] = svg_scale_at(y, exp(mean_log + d->fade_1_k * (at_c + ZERO_C_K - mean_k)));
    }
    ch_svg_curve(svg, CH_SVG_STANDARD, across, up, PIECES + 1);
}

static void draw_slip(const ch_slip *s, const svg_scale *x, const svg_scale *y, ch_svg *svg)
{
    const double across = svg_scale_at(x, s->plate_k - ZERO_C_K), reach = NINETY_PERCENT * s->u_torque_n_m;
    if (isfinite(reach))
        ch_svg_line(svg, CH_SVG_AXIS, across, svg_scale_at(y, s->torque_n_m - reach), across,
                    svg_scale_at(y, s->torque_n_m + reach));
    ch_svg_circle(svg, CH_SVG_READING, across, svg_scale_at(y, s->torque_n_m), 3.5);
}

static void describe(const ch_driveline *d, char words[CH_SHOW_SENTENCE])
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER];
    int used = snprintf(words, CH_SHOW_SENTENCE, "%zu slips; the clutch lets go at %s N m in the middle.",
                        ch_show_capacity_known(d), ch_show_number(d->capacity_n_m[1], 0, a));
    if (isfinite(d->fade_1_k))
        used += snprintf(words + used, CH_SHOW_SENTENCE - (size_t)used, " For each 100 C it changes by %s %%.",
                         ch_show_number(d->fade_1_k * 1e4, 0, a));
    if (isfinite(d->design_n_m[0]))
        snprintf(words + used, CH_SHOW_SENTENCE - (size_t)used, " As designed it should hold %s N m.",
                 ch_show_number(d->design_n_m[0], 0, b));
}

ch_status ch_show_capacity_svg(const ch_driveline *driveline, ch_svg *svg, ch_err *err)
{
    double coolest = INFINITY, hottest = -INFINITY, most = 0;
    char words[CH_SHOW_SENTENCE];
    for (size_t i = 0; i < driveline->slips; i++) {
        const ch_slip *s = &driveline->slip[i];
        if (!known(s))
            continue;
        coolest = fmin(coolest, s->plate_k - ZERO_C_K);
        hottest = fmax(hottest, s->plate_k - ZERO_C_K);
        most = fmax(most, s->torque_n_m + (isfinite(s->u_torque_n_m) ? NINETY_PERCENT * s->u_torque_n_m : 0.0));
    }
    if (isfinite(driveline->design_n_m[0]))
        most = fmax(most, driveline->design_n_m[0]);
    if (hottest - coolest < 10.0) { /* one slip, or all alike: a scale needs some width */
        hottest += 5.0;
        coolest -= 5.0;
    }
    const svg_scale x = svg_scale_for(coolest, hottest, 5, LEFT, WIDTH - RIGHT);
    const svg_scale y = svg_scale_for(0.0, most, 5, HEIGHT - BELOW, ABOVE);
    describe(driveline, words);
    ch_svg_open(svg, "capacity", WIDTH, HEIGHT, "Torque held over plate temperature", words);
    svg_scale_left(svg, &x, &y, "N m");
    svg_scale_below(svg, &x, &y, "plate at the beginning of the slip, C (estimated)");
    if (isfinite(driveline->design_n_m[0])) {
        const double at = svg_scale_at(&y, driveline->design_n_m[0]);
        ch_svg_line(svg, CH_SVG_MINIMUM, x.from, at, x.to, at);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_END, x.to - 4.0, at - 5.0, "as designed, worn in");
    }
    if (isfinite(driveline->fade_1_k) && ch_show_capacity_known(driveline) > 1)
        draw_fade(driveline, &x, &y, svg);
    const size_t every = driveline->slips / DRAWN + 1;
    for (size_t i = 0; i < driveline->slips; i += every)
        if (known(&driveline->slip[i]))
            draw_slip(&driveline->slip[i], &x, &y, svg);
    return ch_svg_close(svg, err);
}

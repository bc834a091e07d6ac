/* Scales of drawings, see svg_scale.h. */
#include "svg_scale.h"

#include <math.h>

#include "crosshatch/cranking.h"
#include "crosshatch/show_words.h"

static double round_step(double at_least)
{
    const double power = pow(10.0, floor(log10(at_least)));
    const double digit = at_least / power;
    return power * (digit <= 1.0 ? 1.0 : digit <= 2.0 ? 2.0 : digit <= 5.0 ? 5.0 : 10.0);
}

svg_scale svg_scale_for(double least, double most, int parts, double from, double to)
{
    if (!(isfinite(least) && isfinite(most) && most > least))
        return (svg_scale){.least = 0.0, .most = 1.0, .step = 1.0, .from = from, .to = to};
    const double step = round_step((most - least) / parts), near = 1e-9;
    return (svg_scale){.least = step * floor(least / step + near),
                       .most = step * ceil(most / step - near),
                       .step = step,
                       .from = from,
                       .to = to};
}

double svg_scale_at(const svg_scale *scale, double value)
{
    const double part = (value - scale->least) / (scale->most - scale->least);
    return scale->from + (scale->to - scale->from) * fmin(fmax(part, 0.0), 1.0);
}

int svg_scale_steps(const svg_scale *scale)
{
    return (int)lround((scale->most - scale->least) / scale->step);
}

int svg_scale_decimals(const svg_scale *scale)
{
    int decimals = 0;
    for (double step = scale->step; fabs(step - round(step)) > 1e-6 && decimals < 6; step *= 10.0)
        decimals++;
    return decimals;
}

void svg_scale_left(ch_svg *svg, const svg_scale *x, const svg_scale *y, const char *unit)
{
    char number[CH_SHOW_NUMBER];
    for (int i = 0; i <= svg_scale_steps(y); i++) {
        const double value = y->least + i * y->step, at = svg_scale_at(y, value);
        ch_svg_line(svg, CH_SVG_AXIS, x->from, at, x->to, at);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_END, x->from - 6.0, at + 4.5,
                     ch_show_number(value, svg_scale_decimals(y), number));
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, 13.0, unit);
}

void svg_scale_below(ch_svg *svg, const svg_scale *x, const svg_scale *y, const char *words)
{
    char number[CH_SHOW_NUMBER];
    for (int i = 0; i <= svg_scale_steps(x); i++) {
        const double value = x->least + i * x->step, at = svg_scale_at(x, value);
        ch_svg_line(svg, CH_SVG_AXIS, at, y->from, at, y->from + 5.0);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, at, y->from + 18.0,
                     ch_show_number(value, svg_scale_decimals(x), number));
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, 0.5 * (x->from + x->to), y->from + 35.0, words);
}

void svg_scale_strokes(ch_svg *svg, ch_svg_look look, const double gauge_pa[], int strokes, const ch_unit *pressure,
                       const svg_scale *x, const svg_scale *y)
{
    double across[CH_STROKES_MAX + 1], up[CH_STROKES_MAX + 1];
    across[0] = svg_scale_at(x, 0.0);
    up[0] = svg_scale_at(y, 0.0);
    for (int i = 0; i < strokes; i++) {
        across[i + 1] = svg_scale_at(x, i + 1.0);
        up[i + 1] = svg_scale_at(y, ch_unit_from_si(gauge_pa[i], pressure));
    }
    ch_svg_curve(svg, look, across, up, (size_t)strokes + 1);
}

void svg_scale_legend(ch_svg *svg, double right, bool both)
{
    const double now = right - 62.0, before = now - 94.0, middle = 9.0, base = 13.0, length = 26.0;
    if (both) {
        ch_svg_line(svg, CH_SVG_STANDARD, before, middle, before + length, middle);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, before + length + 5.0, base, "before");
    }
    ch_svg_line(svg, CH_SVG_MARK, now, middle, now + length, middle);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, now + length + 5.0, base, "now");
}

/* Pump-up by stroke as it was read, over that of a sound cylinder: a small frame a cylinder, all on one scale. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_beside.h"
#include "svg_scale.h"

enum { LEFT = 50, FRAME = 58, GAP = 10, HIGH = 84, ABOVE = 24, BELOW = 26, IN_A_ROW = 4, WORDS = 6144 };

static bool both(const ch_beside_cylinder *cylinder)
{
    return isfinite(cylinder->dry_pa) && isfinite(cylinder->first_pa);
}

bool ch_show_has_strokes(const ch_beside *beside)
{
    for (int c = 0; beside->strokes > 1 && c < beside->cylinders; c++)
        if (both(&beside->cylinder[c]))
            return true;
    return false;
}

static void describe(const ch_beside *beside, const ch_unit *pressure, char words[WORDS])
{
    char first[CH_SHOW_NUMBER], last[CH_SHOW_NUMBER], share[CH_SHOW_NUMBER];
    size_t used = (size_t)snprintf(words, WORDS, "A sound cylinder: %s after the first stroke, %s after %d.",
                                   ch_show_pressure_named(beside->sound_pa[0], pressure, first),
                                   ch_show_pressure_named(beside->sound_pa[beside->strokes - 1], pressure, last),
                                   beside->strokes);
    for (int c = 0; c < beside->cylinders && used + 200 < WORDS; c++) {
        const ch_beside_cylinder *cylinder = &beside->cylinder[c];
        if (both(cylinder))
            used += (size_t)snprintf(words + used, WORDS - used,
                                     " Cylinder %d: %s after the first stroke, %s at the end, first over last %s.",
                                     c + 1, ch_show_pressure_named(cylinder->first_pa, pressure, first),
                                     ch_show_pressure_named(cylinder->dry_pa, pressure, last),
                                     ch_show_number(cylinder->first_pa / cylinder->dry_pa, 2, share));
    }
}

static void frame(const ch_beside *beside, int c, const ch_unit *pressure, const svg_scale *x, const svg_scale *y,
                  ch_svg *svg)
{
    const ch_beside_cylinder *cylinder = &beside->cylinder[c];
    const double across[2] = {svg_scale_at(x, 1.0), svg_scale_at(x, beside->strokes)};
    const double up[2] = {svg_scale_at(y, ch_unit_from_si(cylinder->first_pa, pressure)),
                          svg_scale_at(y, ch_unit_from_si(cylinder->dry_pa, pressure))};
    char number[CH_SHOW_NUMBER];
    snprintf(number, sizeof number, "%d", c + 1);
    ch_svg_words(svg, CH_SVG_STRONG, CH_SVG_MIDDLE, x->from + FRAME / 2.0, y->to - 7.0, number);
    ch_svg_rect(svg, CH_SVG_FRAME, x->from, y->to, FRAME, HIGH);
    svg_scale_strokes(svg, CH_SVG_STANDARD, beside->sound_pa, beside->strokes, pressure, x, y);
    ch_svg_curve(svg, CH_SVG_MARK, across, up, 2);
    for (int i = 0; i < 2; i++)
        ch_svg_circle(svg, CH_SVG_READING, across[i], up[i], 4.0);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, across[0], y->from + 16.0, "1");
    snprintf(number, sizeof number, "%d", beside->strokes);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, across[1], y->from + 16.0, number);
}

static void left_scale(const svg_scale *y, double x, const ch_unit *pressure, ch_svg *svg)
{
    char number[CH_SHOW_NUMBER];
    for (int i = 0; i <= svg_scale_steps(y); i++) {
        const double value = y->least + i * y->step, at = svg_scale_at(y, value);
        ch_svg_line(svg, CH_SVG_AXIS, x - 4.0, at, x, at);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_END, x - 7.0, at + 4.5,
                     ch_show_number(value, svg_scale_decimals(y), number));
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, y->to - 10.0, pressure->name);
}

ch_status ch_show_strokes_svg(const ch_beside *beside, const ch_unit *pressure, ch_svg *svg, ch_err *err)
{
    char words[WORDS];
    double most_pa = beside->sound_pa[beside->strokes - 1];
    int frames = 0;
    for (int c = 0; c < beside->cylinders; c++)
        if (both(&beside->cylinder[c])) {
            most_pa = fmax(most_pa, fmax(beside->cylinder[c].first_pa, beside->cylinder[c].dry_pa));
            frames++;
        }
    const int rows = (frames + IN_A_ROW - 1) / IN_A_ROW;
    describe(beside, pressure, words);
    ch_svg_open(svg, "strokes", LEFT + IN_A_ROW * (FRAME + GAP), rows * (ABOVE + HIGH + BELOW) + 18.0,
                "Pump-up by stroke, as read over what a sound cylinder shows", words);
    for (int c = 0, at = 0; c < beside->cylinders; c++) {
        if (!both(&beside->cylinder[c]))
            continue;
        const double left = LEFT + at % IN_A_ROW * (FRAME + GAP);
        const double base = (double)(at / IN_A_ROW) * (ABOVE + HIGH + BELOW) + ABOVE + HIGH;
        const svg_scale x = {
            .least = 0.0, .most = beside->strokes, .step = 1.0, .from = left, .to = left + FRAME - 6.0};
        const svg_scale y = svg_scale_for(0.0, ch_unit_from_si(most_pa, pressure), 4, base, base - HIGH);
        if (at % IN_A_ROW == 0)
            left_scale(&y, left, pressure, svg);
        frame(beside, c, pressure, &x, &y, svg);
        at++;
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT, rows * (ABOVE + HIGH + BELOW) + 11.0, "compression stroke");
    return ch_svg_close(svg, err);
}

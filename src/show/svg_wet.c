/* Dry against wet, a pair of bars a cylinder. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_beside.h"
#include "svg_scale.h"

enum { WIDTH = 310, LEFT = 30, RIGHT = 72, ABOVE = 42, ROW = 36, BAR = 11, BELOW = 6, WORDS = 4096 };

static bool both(const ch_beside_cylinder *cylinder)
{
    return isfinite(cylinder->dry_pa) && isfinite(cylinder->wet_pa);
}

bool ch_show_has_wet(const ch_beside *beside)
{
    for (int c = 0; c < beside->cylinders; c++)
        if (both(&beside->cylinder[c]))
            return true;
    return false;
}

const char *ch_show_wet_rise(const ch_beside_cylinder *cylinder, char buffer[CH_SHOW_NUMBER])
{
    if (!both(cylinder) || !(cylinder->dry_pa > 0.0))
        return ch_show_number(NAN, 0, buffer);
    const double percent = 100.0 * (cylinder->wet_pa / cylinder->dry_pa - 1.0);
    char number[CH_SHOW_NUMBER];
    snprintf(buffer, CH_SHOW_NUMBER, "%s%.40s %%", percent >= 0.5 ? "+" : "", ch_show_number(percent, 0, number));
    return buffer;
}

/* As far as the oil's room alone lifts this cylinder; NaN where that is not known. */
static double by_volume_pa(const ch_beside_cylinder *cylinder)
{
    return cylinder->dry_pa * (1.0 + cylinder->volume_rise_1);
}

static void describe(const ch_beside *beside, const ch_unit *pressure, char words[WORDS])
{
    size_t used = 0;
    words[0] = '\0';
    for (int c = 0; c < beside->cylinders && used + 200 < WORDS; c++) {
        const ch_beside_cylinder *cylinder = &beside->cylinder[c];
        char dry[CH_SHOW_NUMBER], wet[CH_SHOW_NUMBER], rise[CH_SHOW_NUMBER], volume[CH_SHOW_NUMBER];
        if (!both(cylinder))
            continue;
        used +=
            (size_t)snprintf(words + used, WORDS - used, "%sCylinder %d: dry %s, wet %s, %s", used > 0 ? " " : "",
                             c + 1, ch_show_pressure_named(cylinder->dry_pa, pressure, dry),
                             ch_show_pressure_named(cylinder->wet_pa, pressure, wet), ch_show_wet_rise(cylinder, rise));
        if (isfinite(by_volume_pa(cylinder)))
            used += (size_t)snprintf(words + used, WORDS - used, "; by the oil's room alone up to %s",
                                     ch_show_pressure_named(by_volume_pa(cylinder), pressure, volume));
        used += (size_t)snprintf(words + used, WORDS - used, ".");
    }
}

static void row(const ch_beside_cylinder *cylinder, int number, const ch_unit *pressure, const svg_scale *x, double y,
                ch_svg *svg)
{
    char words[CH_SHOW_NUMBER];
    const double volume_pa = by_volume_pa(cylinder), wet = y + BAR + 2.0;
    const double dry_to = svg_scale_at(x, ch_unit_from_si(cylinder->dry_pa, pressure));
    const double wet_to = svg_scale_at(x, ch_unit_from_si(cylinder->wet_pa, pressure));
    snprintf(words, sizeof words, "%d", number);
    ch_svg_words(svg, CH_SVG_STRONG, CH_SVG_MIDDLE, LEFT / 2.0, y + BAR + 7.0, words);
    ch_svg_rect(svg, CH_SVG_READING, x->from, y, dry_to - x->from, BAR);
    ch_svg_rect(svg, CH_SVG_BAND, x->from, wet, wet_to - x->from, BAR);
    ch_svg_hatch(svg, x->from, wet, wet_to - x->from, BAR, 5.0);
    if (isfinite(volume_pa)) {
        const double at = svg_scale_at(x, ch_unit_from_si(volume_pa, pressure));
        ch_svg_line(svg, CH_SVG_STANDARD, at, y - 2.0, at, wet + BAR + 3.0);
    }
    ch_svg_words(svg, CH_SVG_LABEL, CH_SVG_END, WIDTH - 4.0, y + BAR + 6.0, ch_show_wet_rise(cylinder, words));
}

ch_status ch_show_wet_svg(const ch_beside *beside, const ch_unit *pressure, ch_svg *svg, ch_err *err)
{
    char words[WORDS], number[CH_SHOW_NUMBER];
    double most_pa = 0.0;
    int rows = 0;
    for (int c = 0; c < beside->cylinders; c++)
        if (both(&beside->cylinder[c])) {
            most_pa = fmax(most_pa, fmax(beside->cylinder[c].dry_pa, beside->cylinder[c].wet_pa));
            most_pa = fmax(most_pa, by_volume_pa(&beside->cylinder[c]));
            rows++;
        }
    const svg_scale x = svg_scale_for(0.0, ch_unit_from_si(most_pa, pressure), 4, LEFT, WIDTH - RIGHT);
    const double bottom = ABOVE + (double)rows * ROW;
    describe(beside, pressure, words);
    ch_svg_open(svg, "wet", WIDTH, bottom + BELOW, "Dry against wet", words);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, 2.0, 13.0, pressure->name);
    for (int i = 0; i <= svg_scale_steps(&x); i++) {
        const double value = x.least + i * x.step, at = svg_scale_at(&x, value);
        ch_svg_line(svg, CH_SVG_AXIS, at, ABOVE - 8.0, at, bottom);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, at, ABOVE - 12.0,
                     ch_show_number(value, svg_scale_decimals(&x), number));
    }
    for (int c = 0, at = 0; c < beside->cylinders; c++)
        if (both(&beside->cylinder[c]))
            row(&beside->cylinder[c], c + 1, pressure, &x, ABOVE + (double)at++ * ROW + 5.0, svg);
    return ch_svg_close(svg, err);
}

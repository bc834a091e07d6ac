/* Leak areas as intervals. Areas of sound and broken cylinders lie decades apart: the scale is logarithmic. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"

enum { LEFT = 30, SCALE = 250, RIGHT = 60, ROW = 30, ABOVE = 34, BELOW = 8, WORDS = 4096 };

typedef struct decades {
    int first, count; /* powers of ten of a square millimetre; count of steps of a decade */
} decades;

static double exponent(double area_m2)
{
    return log10(ch_unit_from_si(area_m2, ch_unit_find("mm2", 3)));
}

static decades decades_of(const ch_judgement *judgement)
{
    double least = INFINITY, most = -INFINITY;
    for (int c = 0; c < judgement->cylinders; c++) {
        const double *area_m2 = judgement->cylinder[c].leak_area_m2;
        if (!(area_m2[0] > 0.0) || !isfinite(area_m2[2]))
            continue;
        least = fmin(least, exponent(area_m2[0]));
        most = fmax(most, exponent(area_m2[2]));
    }
    if (!(least <= most))
        return (decades){.first = -1, .count = 2};
    const int first = (int)floor(fmax(least, -4.0)), last = (int)ceil(fmin(most, 5.0));
    return (decades){.first = first, .count = last > first ? last - first : 1};
}

static double place(decades scale, double area_m2)
{
    const double at = (exponent(area_m2) - scale.first) / scale.count;
    return LEFT + SCALE * fmin(fmax(at, 0.0), 1.0);
}

ch_status ch_show_leaks_svg(const ch_show_judged *judged, ch_svg *svg, ch_err *err)
{
    const ch_judgement *judgement = judged->judgement;
    const decades scale = decades_of(judgement);
    char words[WORDS] = "", number[3][CH_SHOW_NUMBER];
    size_t used = 0;
    for (int c = 0; c < judgement->cylinders && used + 160 < sizeof words; c++) {
        for (int i = 0; i < 3; i++)
            ch_show_area(judgement->cylinder[c].leak_area_m2[i], number[i]);
        used += (size_t)snprintf(words + used, sizeof words - used, "%sCylinder %d: %s mm2, between %s and %s.",
                                 used > 0 ? " " : "", judgement->cylinder[c].cylinder, number[1], number[0], number[2]);
    }
    const double height = (double)judgement->cylinders * ROW;
    ch_svg_open(svg, "leaks", LEFT + SCALE + RIGHT, ABOVE + height + BELOW, "Leak area of each cylinder", words);
    for (int i = 0; i <= scale.count; i++) {
        const double x = LEFT + (double)SCALE * i / scale.count;
        const int power = scale.first + i;
        ch_svg_line(svg, CH_SVG_AXIS, x, ABOVE - 6.0, x, ABOVE + height);
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_MIDDLE, x, ABOVE - 12.0,
                     ch_show_number(pow(10.0, power), power < 0 ? -power : 0, number[0]));
    }
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_END, LEFT + SCALE + RIGHT - 2.0, ABOVE - 12.0, "mm2");
    for (int c = 0; c < judgement->cylinders; c++) {
        const ch_judged_cylinder *cylinder = &judgement->cylinder[c];
        const double *area_m2 = cylinder->leak_area_m2, y = ABOVE + (c + 0.5) * ROW;
        snprintf(number[0], sizeof number[0], "%d", cylinder->cylinder);
        ch_svg_words(svg, CH_SVG_STRONG, CH_SVG_MIDDLE, LEFT / 2.0, y + 5.5, number[0]);
        if (!(area_m2[0] > 0.0) || !isfinite(area_m2[2])) {
            ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT + 8.0, y + 5.0, "not known");
            continue;
        }
        const double left = place(scale, area_m2[0]), middle = place(scale, area_m2[1]),
                     right = place(scale, area_m2[2]);
        ch_svg_rect(svg, CH_SVG_READING, left, y - 5.0, fmax(right - left, 1.0), 10.0);
        ch_svg_line(svg, CH_SVG_MARK, middle, y - 10.0, middle, y + 10.0);
        ch_svg_words(svg, CH_SVG_LABEL, CH_SVG_END, LEFT + SCALE + RIGHT - 2.0, y + 5.0,
                     ch_show_area(area_m2[1], number[1]));
    }
    return ch_svg_close(svg, err);
}

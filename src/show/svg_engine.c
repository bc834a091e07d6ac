/* The engine with its cylinders where they sit: each a column like the bore cut open, filled to its reading. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/svg.h"
#include "page.h"

enum {
    AXIS = 52,    /* room for the scale's numbers */
    COLUMN = 56,  /* from one cylinder to the next */
    BORE = 34,    /* width of one */
    FILLED = 12,  /* width of the reading in it */
    HEIGHT = 150, /* of a bore */
    ABOVE = 26,   /* room for the cylinder's number */
    BELOW = 58,   /* room for reading and remark */
    IN_A_ROW = 6, /* more than this many stand in further rows: a phone has no room for them */
    WORDS = 4096
};

typedef struct drawing {
    ch_svg *svg;
    const ch_show_judged *judged;
    const ch_unit *pressure;
    page_scale scale;
} drawing;

/* Cylinders in each row, for one engine: a bank, or equal parts of it. */
static int row_length(const ch_sheet_engine *engine)
{
    const bool two_banks =
        (engine->layout == CH_LAYOUT_VEE || engine->layout == CH_LAYOUT_FLAT) && engine->cylinders > 1;
    const int bank = two_banks ? (engine->cylinders + 1) / 2 : engine->cylinders;
    const int rows = (bank + IN_A_ROW - 1) / IN_A_ROW;
    return (bank + rows - 1) / rows;
}

static double level(const drawing *d, double base, double pressure_pa)
{
    return base - HEIGHT * fmin(fmax(pressure_pa / d->scale.top_pa, 0.0), 1.0);
}

/* The same facts in words. */
static void describe(const ch_show_judged *judged, const ch_unit *pressure, char words[WORDS])
{
    size_t used = 0;
    for (int c = 0; c < judged->judgement->cylinders && used + 160 < WORDS; c++) {
        const ch_judged_cylinder *cylinder = &judged->judgement->cylinder[c];
        const char *remark = ch_show_remark(cylinder);
        char mean[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
        used +=
            (size_t)snprintf(words + used, WORDS - used, "%sCylinder %d: %s%s", used > 0 ? " " : "", cylinder->cylinder,
                             cylinder->n > 0 ? ch_show_pressure_named(cylinder->mean_pa, pressure, mean) : remark,
                             cylinder->n == 0    ? ""
                             : remark[0] != '\0' ? ", "
                                                 : ", as a sound engine reads");
        if (cylinder->n > 0)
            used += (size_t)snprintf(words + used, WORDS - used, "%s", remark);
        if (isfinite(cylinder->expected_pa[0]))
            used += (size_t)snprintf(words + used, WORDS - used, "; sound ones %s to %s",
                                     ch_show_pressure(cylinder->expected_pa[0], pressure, low),
                                     ch_show_pressure(cylinder->expected_pa[1], pressure, high));
        used += (size_t)snprintf(words + used, WORDS - used, ".");
    }
}

/* The scale beside a row. */
static void axis(const drawing *d, double base)
{
    ch_svg_line(d->svg, CH_SVG_AXIS, AXIS, base - HEIGHT, AXIS, base);
    for (int i = 0; i <= d->scale.parts; i++) {
        char number[CH_SHOW_NUMBER];
        const double value = i * d->scale.step, y = base - HEIGHT * (double)i / d->scale.parts;
        int decimals = 0;
        for (double step = d->scale.step; fabs(step - round(step)) > 1e-6 && decimals < 6; step *= 10.0)
            decimals++;
        ch_svg_line(d->svg, CH_SVG_AXIS, AXIS - 4.0, y, AXIS, y);
        ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_END, AXIS - 7.0, y + 4.5, ch_show_number(value, decimals, number));
    }
    ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_START, 2.0, base - HEIGHT - 12.0, d->pressure->name);
}

/* "under minimum" stands in two lines. */
static void remark(const drawing *d, double middle, double y, const char *words)
{
    const char *space = strchr(words, ' ');
    char first[32];
    if (space == NULL) {
        ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_MIDDLE, middle, y, words);
        return;
    }
    snprintf(first, sizeof first, "%.*s", (int)(space - words), words);
    ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_MIDDLE, middle, y, first);
    ch_svg_words(d->svg, CH_SVG_SMALL, CH_SVG_MIDDLE, middle, y + 14.0, space + 1);
}

/* What the mean may truly be, 95 in 100, the gauge counted in: an upright line with its ends, beside the filled column. */
static void interval(const drawing *d, const ch_judged_cylinder *cylinder, double x, double base)
{
    if (cylinder->n == 0 || !(cylinder->u_with_gauge_pa > 0.0))
        return;
    const double top = level(d, base, cylinder->mean_pa + 1.96 * cylinder->u_with_gauge_pa);
    const double bottom = level(d, base, cylinder->mean_pa - 1.96 * cylinder->u_with_gauge_pa);
    ch_svg_line(d->svg, CH_SVG_FRAME, x, top, x, bottom);
    for (int end = 0; end < 2; end++)
        ch_svg_line(d->svg, CH_SVG_FRAME, x - 3.0, end == 0 ? top : bottom, x + 3.0, end == 0 ? top : bottom);
}

static void bore(const drawing *d, const ch_judged_cylinder *cylinder, double middle, double base)
{
    const double left = middle - BORE / 2.0;
    const ch_judgement *judgement = d->judged->judgement;
    char number[CH_SHOW_NUMBER];
    snprintf(number, sizeof number, "%d", cylinder->cylinder);
    ch_svg_words(d->svg, CH_SVG_STRONG, CH_SVG_MIDDLE, middle, base - HEIGHT - 9.0, number);
    if (isfinite(cylinder->expected_pa[0]) && isfinite(cylinder->expected_pa[1])) {
        const double top = level(d, base, cylinder->expected_pa[1]), bottom = level(d, base, cylinder->expected_pa[0]);
        ch_svg_rect(d->svg, CH_SVG_BAND, left, top, BORE, bottom - top);
        ch_svg_hatch(d->svg, left, top, BORE, bottom - top, 6.0);
    }
    if (cylinder->n > 0) {
        const double y = level(d, base, cylinder->mean_pa);
        ch_svg_rect(d->svg, CH_SVG_READING, middle - FILLED / 2.0, y, FILLED, base - y);
        ch_svg_line(d->svg, CH_SVG_MARK, middle - FILLED / 2.0 - 3.0, y, middle + FILLED / 2.0 + 3.0, y);
    }
    interval(d, cylinder, middle + FILLED / 2.0 + 7.0, base);
    ch_svg_rect(d->svg, CH_SVG_FRAME, left, base - HEIGHT, BORE, HEIGHT);
    if (isfinite(judgement->minimum_pa))
        ch_svg_line(d->svg, CH_SVG_MINIMUM, left - 5.0, level(d, base, judgement->minimum_pa), left + BORE + 5.0,
                    level(d, base, judgement->minimum_pa));
    if (isfinite(judgement->standard_pa))
        ch_svg_line(d->svg, CH_SVG_STANDARD, left - 5.0, level(d, base, judgement->standard_pa), left + BORE + 5.0,
                    level(d, base, judgement->standard_pa));
    if (cylinder->n > 0) {
        ch_show_pressure(cylinder->mean_pa, d->pressure, number);
        /* A long number has no room in large letters. */
        ch_svg_words(d->svg, strlen(number) > 5 ? CH_SVG_LABEL : CH_SVG_STRONG, CH_SVG_MIDDLE, middle, base + 19.0,
                     number);
    }
    remark(d, middle, base + 35.0, ch_show_remark(cylinder));
}

ch_status ch_show_engine_svg(const ch_show_judged *judged, const ch_unit *pressure, ch_svg *svg, ch_err *err)
{
    const ch_judgement *judgement = judged->judgement;
    double most_pa = fmax(judgement->standard_pa, judgement->minimum_pa);
    for (int c = 0; c < judgement->cylinders; c++)
        most_pa = fmax(most_pa, fmax(judgement->cylinder[c].mean_pa, judgement->cylinder[c].expected_pa[1]));
    const page units = {.pressure = pressure};
    const drawing d = {.svg = svg,
                       .judged = judged,
                       .pressure = pressure,
                       .scale = page_scale_for(&units, isfinite(most_pa) ? most_pa : 0.0, HEIGHT)};
    const int in_a_row = row_length(&judged->sheet->engine);
    const int rows = (judgement->cylinders + in_a_row - 1) / in_a_row;
    char words[WORDS];
    describe(judged, pressure, words);
    ch_svg_open(svg, "engine", AXIS + in_a_row * COLUMN + 8.0, rows * (ABOVE + HEIGHT + BELOW),
                "Reading of each cylinder beside what a sound engine would show", words);
    for (int c = 0; c < judgement->cylinders; c++) {
        const double base = (double)(c / in_a_row) * (ABOVE + HEIGHT + BELOW) + ABOVE + HEIGHT;
        if (c % in_a_row == 0)
            axis(&d, base);
        bore(&d, &judgement->cylinder[c], AXIS + (c % in_a_row + 0.5) * COLUMN + 4.0, base);
    }
    return ch_svg_close(svg, err);
}

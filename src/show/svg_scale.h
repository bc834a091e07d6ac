/* The frame of a drawing over two scales: round steps, thin lines, numbers beside them, and what "before" and "now" look like. */
#ifndef CROSSHATCH_SHOW_SVG_SCALE_H
#define CROSSHATCH_SHOW_SVG_SCALE_H

#include "crosshatch/svg.h"
#include "crosshatch/units.h"

/* One scale: its ends are whole steps. */
typedef struct svg_scale {
    double least, most, step;
    double from, to; /* where its ends lie in the drawing; y of the least may be the larger */
} svg_scale;

/* A scale of about `parts` round steps (1, 2 or 5 times a power of ten) that holds both; one that holds nothing finite goes from 0 to 1. */
svg_scale svg_scale_for(double least, double most, int parts, double from, double to);

/* Where a value lies, kept within the scale. */
double svg_scale_at(const svg_scale *scale, double value);

/* Steps from its least to its most, and how many decimals their numbers take. */
int svg_scale_steps(const svg_scale *scale);
int svg_scale_decimals(const svg_scale *scale);

/* Lines across and numbers at the left of `y`; the unit above. */
void svg_scale_left(ch_svg *svg, const svg_scale *x, const svg_scale *y, const char *unit);

/* Numbers below `x`, and what they are. */
void svg_scale_below(ch_svg *svg, const svg_scale *x, const svg_scale *y, const char *words);

/* The gauge's pressure after each of `strokes` strokes (1 to CH_STROKES_MAX), from 0 before the first; `y` is in `pressure`. */
void svg_scale_strokes(ch_svg *svg, ch_svg_look look, const double gauge_pa[], int strokes, const ch_unit *pressure,
                       const svg_scale *x, const svg_scale *y);

/* At the top right: what is dotted and what is solid; the first only where `both`. */
void svg_scale_legend(ch_svg *svg, double right, bool both);

#endif

/**
 * @file svg.h
 * Drawings as SVG 1.1 that stand alone and can be put into a page: text stays text, every drawing has a title and a description for those
 * who do not see it, and each look has a class for a style sheet beside the colours that hold without one.
 *
 * What must hold of a drawing: nothing is told by colour alone (hatching, dashes and words say it too), and text is escaped by the writer.
 * Source: W3C, Scalable Vector Graphics (SVG) 1.1, second edition; WAI-ARIA Graphics Module for role="img".
 */
#ifndef CROSSHATCH_SVG_H
#define CROSSHATCH_SVG_H

#include "crosshatch/show.h"
#include "crosshatch/text.h"

/** How something is drawn. */
typedef enum ch_svg_look {
    CH_SVG_FRAME,    /**< outline of a thing */
    CH_SVG_AXIS,     /**< thin line */
    CH_SVG_READING,  /**< filled: what was measured */
    CH_SVG_MARK,     /**< thick line: where exactly */
    CH_SVG_BAND,     /**< outline of what was to be expected, with ch_svg_hatch */
    CH_SVG_HATCH,    /**< its lines */
    CH_SVG_MINIMUM,  /**< dashed */
    CH_SVG_STANDARD, /**< dotted */
    CH_SVG_LABEL,    /**< text */
    CH_SVG_STRONG,   /**< bold text */
    CH_SVG_SMALL,    /**< small text */
    CH_SVG_LOOKS
} ch_svg_look;

typedef enum ch_svg_anchor { CH_SVG_START, CH_SVG_MIDDLE, CH_SVG_END } ch_svg_anchor;

enum { CH_SVG_MAXIMUM = 256 * 1024 };

/** A drawing being written. Only svg.c writes into it, so that what is in it is well-formed and escaped. */
typedef struct ch_svg {
    ch_text text;
} ch_svg;

/**
 * Begin a drawing. Lengths everywhere are in its own user units, x to the right and y down; ch_svg_clear() it.
 *
 * @param svg         (out) Overwritten, not cleared first.
 * @param name        a-z and -, unique among the drawings of a page: names the ids.
 * @param width       User units, > 0.
 * @param height      User units, > 0.
 * @param title       What it shows, short; escaped.
 * @param description The same facts in words; escaped.
 */
void ch_svg_open(ch_svg *svg, const char *name, double width, double height, const char *title,
                 const char *description);

/**
 * End it.
 *
 * @param svg As opened; nothing is drawn on it afterwards.
 * @retval CH_E_MEMORY, CH_E_LIMIT (longer than CH_SVG_MAXIMUM): whatever failed first since ch_svg_open().
 */
ch_status ch_svg_close(ch_svg *svg, ch_err *err);

/** Give the memory back; fine on a cleared one. */
void ch_svg_clear(ch_svg *svg);

/** A rectangle from its upper left corner. */
void ch_svg_rect(ch_svg *svg, ch_svg_look look, double x, double y, double width, double height);
/** A straight line between two points. */
void ch_svg_line(ch_svg *svg, ch_svg_look look, double x1, double y1, double x2, double y2);
/** Straight pieces from point to point, as one line; nothing where there are fewer than two. */
void ch_svg_curve(ch_svg *svg, ch_svg_look look, const double *x, const double *y, size_t count);
/** A circle around a point. */
void ch_svg_circle(ch_svg *svg, ch_svg_look look, double x, double y, double radius);
/** Slanting lines, `gap` apart, inside a rectangle. */
void ch_svg_hatch(ch_svg *svg, double x, double y, double width, double height, double gap);
/** One line of text; `y` is its base line. */
void ch_svg_words(ch_svg *svg, ch_svg_look look, ch_svg_anchor anchor, double x, double y, const char *words);

/**
 * The engine with its cylinders where they sit, each with its reading, the band in which nine of ten sound engines read, and the manual's
 * limits. Where the sheet says vee or flat, the first half of the cylinders stands in one bank and the second in the other (DIN 73021
 * numbers a bank through before the next); in-line and unstated ones stand in a row.
 *
 * @param judged   Its sheet and judgement are looked at.
 * @param pressure Unit of the scale and of the words; not NULL.
 * @param svg      (out) Open and closed by the call; ch_svg_clear() it, also on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_engine_svg(const ch_show_judged *judged, const ch_unit *pressure, ch_svg *svg, ch_err *err);

/**
 * Leak area of each cylinder: the interval from 5 % to 95 % and the median, on a logarithmic scale in mm2.
 *
 * @param judged Its judgement is looked at.
 * @param svg    (out) As above.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_show_leaks_svg(const ch_show_judged *judged, ch_svg *svg, ch_err *err);

/**
 * What a look stands for, as a small drawing for a legend; hidden from those who do not see it, since the words stand beside it.
 *
 * @param look Any of the enum.
 * @param svg  (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_sample_svg(ch_svg_look look, ch_svg *svg, ch_err *err);

/**
 * A chance from 0 to 1 as a bar, for beside its number; hidden likewise.
 *
 * @param chance_1 Below 0, or NaN, is drawn as 0, above 1 as 1.
 * @param svg      (out) Opened and closed by the call; ch_svg_clear() it, also on failure.
 */
ch_status ch_show_bar_svg(double chance_1, ch_svg *svg, ch_err *err);

#endif

/* How far each assumption moves the lead of the cheapest choice: a bar to either end of its range, widest first. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_season.h"

enum {
    LEFT = 8,
    WIDE = 304,
    RIGHT = 12,
    ABOVE = 44,
    ROW = 46,
    LINE = 16,
    BELOW = 8,
    BAR = 9,
    TITLE = 40,
    WORDS = 4096
};

typedef struct scale {
    double low, high;
} scale;

static double across(scale s, double lead)
{
    return LEFT + WIDE * fmin(fmax((lead - s.low) / (s.high - s.low), 0.0), 1.0);
}

static bool known(const ch_swing *swing)
{
    return isfinite(swing->lead[0]) && isfinite(swing->lead[1]);
}

static scale scale_of(const ch_decision *d)
{
    scale s = {0.0, 0.0}; /* where the lead is gone is always seen */
    const double lead = isfinite(d->lead) ? d->lead : 0.0;
    s.high = fmax(lead, 0.0);
    for (size_t i = 0; i < CH_SHOW_SWINGS; i++)
        for (int end = 0; end < 2 && known(&d->swing[i]); end++) {
            s.low = fmin(s.low, d->swing[i].lead[end]);
            s.high = fmax(s.high, d->swing[i].lead[end]);
        }
    const double room = fmax(0.04 * (s.high - s.low), 0.5); /* of the owner's money */
    return (scale){s.low - room, s.high + room};
}

static void describe(const ch_show_season *shown, const ch_decision *d, char words[WORDS])
{
    char lead[CH_SHOW_NUMBER], low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER];
    size_t used =
        (size_t)snprintf(words, WORDS, "\"%s\" is cheaper by %s %.8s than the next choice. ",
                         ch_show_course_title(d->best), ch_show_guessed(d->lead, lead), shown->assumptions->currency);
    for (size_t i = 0; i < CH_SHOW_SWINGS && used + CH_SHOW_SENTENCE < WORDS; i++)
        used += (size_t)snprintf(words + used, WORDS - used, "%.160s: by %s at its low end, %s at its high end. ",
                                 shown->assumptions->of[d->swing[i].assumption].title,
                                 ch_show_guessed(d->swing[i].lead[0], low), ch_show_guessed(d->swing[i].lead[1], high));
}

/* How much of a title stands in its first line: up to the last space that leaves a full one; all of it where it is short. */
static size_t first_line(const char *title)
{
    const size_t length = strlen(title);
    if (length < TITLE)
        return length;
    for (size_t i = TITLE - 1; i > TITLE / 2; i--)
        if (title[i] == ' ')
            return i;
    return length;
}

static const char *title_of(const ch_show_season *shown, const ch_decision *d, size_t row)
{
    return shown->assumptions->of[d->swing[row].assumption].title;
}

static double row_height(const ch_show_season *shown, const ch_decision *d, size_t row)
{
    const char *title = title_of(shown, d, row);
    return ROW + (title[first_line(title)] != '\0' ? LINE : 0.0);
}

/* One or two lines. Returns the height of the second. */
static double draw_title(const char *words, double y, ch_svg *svg)
{
    const size_t first = first_line(words);
    char line[TITLE];
    ch_text_excerpt(words, first, line, sizeof line);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT, y + 12.0, line);
    if (words[first] == '\0')
        return 0.0;
    ch_text_excerpt(words + first + 1, strlen(words + first + 1), line, sizeof line);
    ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT, y + 12.0 + LINE, line);
    return LINE;
}

static void draw_row(const ch_show_season *shown, const ch_decision *d, scale s, size_t row, double above, ch_svg *svg)
{
    const ch_swing *swing = &d->swing[row];
    const double y = above + draw_title(title_of(shown, d, row), above, svg), middle = across(s, d->lead);
    /* The two lines stand beside the bars only, so that they cross no words. */
    ch_svg_line(svg, CH_SVG_FRAME, middle, y + 15.0, middle, y + 19.0 + 2.0 * BAR + 2.0);
    ch_svg_line(svg, CH_SVG_MINIMUM, across(s, 0.0), y + 15.0, across(s, 0.0), y + 19.0 + 2.0 * BAR + 2.0);
    if (!known(swing)) {
        ch_svg_words(svg, CH_SVG_SMALL, CH_SVG_START, LEFT, y + 30.0, "not known");
        return;
    }
    for (int end = 0; end < 2; end++) {
        const double to = across(s, swing->lead[end]), x = fmin(to, middle), wide = fabs(to - middle);
        const double top = y + 17.0 + end * (BAR + 2.0);
        if (end == 1) {
            ch_svg_rect(svg, CH_SVG_READING, x, top, wide, BAR);
            continue;
        }
        ch_svg_rect(svg, CH_SVG_BAND, x, top, wide, BAR);
        ch_svg_hatch(svg, x, top, wide, BAR, 5.0);
    }
}

ch_status ch_show_sensitivity_svg(const ch_show_season *shown, ch_svg *svg, ch_err *err)
{
    const ch_decision *d = &shown->season->decision[shown->season->horizon];
    const scale s = scale_of(d);
    double bottom = ABOVE;
    for (size_t i = 0; i < CH_SHOW_SWINGS; i++)
        bottom += row_height(shown, d, i);
    const double zero = across(s, 0.0), lead = across(s, d->lead);
    char words[WORDS], number[CH_SHOW_NUMBER], today[CH_SHOW_NUMBER + 32];
    describe(shown, d, words);
    ch_svg_open(svg, "sensitivity", LEFT + WIDE + RIGHT, bottom + BELOW, "What moves the lead of the cheapest choice",
                words);
    /* The two words stand on two lines, each on the side of its line where there is room. */
    snprintf(today, sizeof today, "lead now %s %.8s", ch_show_guessed(d->lead, number), shown->assumptions->currency);
    ch_svg_words(svg, CH_SVG_SMALL, lead < LEFT + WIDE / 2.0 ? CH_SVG_START : CH_SVG_END,
                 lead + (lead < LEFT + WIDE / 2.0 ? -6.0 : 6.0), 14.0, today);
    ch_svg_words(svg, CH_SVG_SMALL, zero < LEFT + WIDE / 2.0 ? CH_SVG_START : CH_SVG_END,
                 zero + (zero < LEFT + WIDE / 2.0 ? -6.0 : 6.0), 31.0, "no lead");
    ch_svg_line(svg, CH_SVG_FRAME, lead, 18.0, lead, ABOVE - 2.0);
    ch_svg_line(svg, CH_SVG_MINIMUM, zero, 34.0, zero, ABOVE - 2.0);
    double y = ABOVE;
    for (size_t i = 0; i < CH_SHOW_SWINGS; i++) {
        draw_row(shown, d, s, i, y, svg);
        y += row_height(shown, d, i);
    }
    return ch_svg_close(svg, err);
}

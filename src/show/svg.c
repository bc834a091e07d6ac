/*
 * Writes SVG.
 *  1. What came in as text leaves as text: the five characters of markup become references, what XML 1.0 (2.2) does not allow becomes U+FFFD.
 *  2. No style attribute and no script, so that a page whose policy forbids both shows the drawing all the same.
 */
#include "crosshatch/svg.h"

#include <math.h>
#include <string.h>

#include "crosshatch/show_words.h"

/* Presentation attributes give way to a style sheet's rules for the class (SVG 1.1, 6.4). */
static const struct {
    const char *class_name, *attributes;
} LOOK[CH_SVG_LOOKS] = {
    [CH_SVG_FRAME] = {"svg-frame", "fill=\"none\" stroke=\"#17212b\" stroke-width=\"1.5\""},
    [CH_SVG_AXIS] = {"svg-axis", "fill=\"none\" stroke=\"#66717d\" stroke-width=\"1\""},
    [CH_SVG_READING] = {"svg-reading", "fill=\"#0b4f6c\" stroke=\"none\""},
    [CH_SVG_MARK] = {"svg-mark", "fill=\"none\" stroke=\"#17212b\" stroke-width=\"3\""},
    [CH_SVG_BAND] = {"svg-band", "fill=\"none\" stroke=\"#66717d\" stroke-width=\"1\""},
    [CH_SVG_HATCH] = {"svg-hatch", "fill=\"none\" stroke=\"#66717d\" stroke-width=\"1\""},
    [CH_SVG_MINIMUM] = {"svg-minimum", "fill=\"none\" stroke=\"#9c1c1c\" stroke-width=\"2\" stroke-dasharray=\"6 3\""},
    [CH_SVG_STANDARD] = {"svg-standard",
                         "fill=\"none\" stroke=\"#17212b\" stroke-width=\"2\" stroke-dasharray=\"2 3\""},
    [CH_SVG_LABEL] = {"svg-label", "fill=\"#17212b\" font-family=\"sans-serif\" font-size=\"14\""},
    [CH_SVG_STRONG] = {"svg-label", "fill=\"#17212b\" font-family=\"sans-serif\" font-size=\"16\" font-weight=\"700\""},
    [CH_SVG_SMALL] = {"svg-label", "fill=\"#17212b\" font-family=\"sans-serif\" font-size=\"13\""},
};

static void put(ch_svg *svg, const char *markup)
{
    ch_text_append_string(&svg->text, markup);
}

/* XML 1.0 (fifth edition), 2.2: no controls but tab, line feed and carriage return; U+007F..U+009F are discouraged. */
static bool xml_allows(const char *character, size_t length)
{
    const unsigned char first = (unsigned char)character[0], second = length > 1 ? (unsigned char)character[1] : 0;
    if (length == 1)
        return (first >= 0x20 && first != 0x7f) || first == '\t' || first == '\n' || first == '\r';
    if (length == 3 && first == 0xef && second == 0xbf)
        return (unsigned char)character[2] < 0xbe; /* U+FFFE and U+FFFF */
    return !(first == 0xc2 && second < 0xa0);
}

static void put_text(ch_svg *svg, const char *words)
{
    const size_t length = strlen(words);
    for (size_t i = 0; i < length;) {
        const size_t n = ch_utf8_length(words + i, length - i);
        if (n == 0 || !xml_allows(words + i, n))
            put(svg, "\xef\xbf\xbd");
        else if (words[i] == '&')
            put(svg, "&amp;");
        else if (words[i] == '<')
            put(svg, "&lt;");
        else if (words[i] == '>')
            put(svg, "&gt;");
        else if (words[i] == '"')
            put(svg, "&quot;");
        else if (words[i] == '\'')
            put(svg, "&#39;");
        else
            ch_text_append(&svg->text, words + i, n);
        i += n > 0 ? n : 1;
    }
}

/* A hundredth of a user unit is finer than any screen or printer. What is not finite is drawn at 0. */
static void put_length(ch_svg *svg, const char *name, double value)
{
    char number[CH_SHOW_NUMBER];
    ch_text_appendf(&svg->text, " %s=\"%s\"", name, ch_show_number(isfinite(value) ? value : 0.0, 2, number));
}

static void put_look(ch_svg *svg, ch_svg_look look)
{
    ch_text_appendf(&svg->text, " class=\"%s\" %s", LOOK[look].class_name, LOOK[look].attributes);
}

static void begin(ch_svg *svg, double width, double height)
{
    char w[CH_SHOW_NUMBER], h[CH_SHOW_NUMBER];
    ch_text_init(&svg->text, CH_SVG_MAXIMUM);
    put(svg, "<svg xmlns=\"http://www.w3.org/2000/svg\"");
    put_length(svg, "width", width);
    put_length(svg, "height", height);
    ch_text_appendf(&svg->text, " viewBox=\"0 0 %s %s\"", ch_show_number(width, 2, w), ch_show_number(height, 2, h));
}

void ch_svg_open(ch_svg *svg, const char *name, double width, double height, const char *title, const char *description)
{
    begin(svg, width, height);
    ch_text_appendf(&svg->text,
                    " role=\"img\" aria-labelledby=\"%s-title\" aria-describedby=\"%s-desc\"><title id=\"%s-title\">",
                    name, name, name);
    put_text(svg, title);
    ch_text_appendf(&svg->text, "</title><desc id=\"%s-desc\">", name);
    put_text(svg, description);
    put(svg, "</desc>\n");
}

ch_status ch_svg_close(ch_svg *svg, ch_err *err)
{
    put(svg, "</svg>\n");
    return ch_text_check(&svg->text, err);
}

void ch_svg_clear(ch_svg *svg)
{
    ch_text_clear(&svg->text);
}

void ch_svg_rect(ch_svg *svg, ch_svg_look look, double x, double y, double width, double height)
{
    put(svg, "<rect");
    put_length(svg, "x", x);
    put_length(svg, "y", y);
    put_length(svg, "width", fmax(width, 0.0));
    put_length(svg, "height", fmax(height, 0.0));
    put_look(svg, look);
    put(svg, "/>\n");
}

void ch_svg_line(ch_svg *svg, ch_svg_look look, double x1, double y1, double x2, double y2)
{
    put(svg, "<line");
    put_length(svg, "x1", x1);
    put_length(svg, "y1", y1);
    put_length(svg, "x2", x2);
    put_length(svg, "y2", y2);
    put_look(svg, look);
    put(svg, "/>\n");
}

void ch_svg_curve(ch_svg *svg, ch_svg_look look, const double *x, const double *y, size_t count)
{
    if (count < 2)
        return;
    put(svg, "<path d=\"");
    for (size_t i = 0; i < count; i++) {
        char across[CH_SHOW_NUMBER], down[CH_SHOW_NUMBER];
        ch_text_appendf(&svg->text, "%s%s %s", i == 0 ? "M" : " L",
                        ch_show_number(isfinite(x[i]) ? x[i] : 0.0, 1, across),
                        ch_show_number(isfinite(y[i]) ? y[i] : 0.0, 1, down));
    }
    put(svg, "\"");
    put_look(svg, look);
    put(svg, "/>\n");
}

void ch_svg_circle(ch_svg *svg, ch_svg_look look, double x, double y, double radius)
{
    put(svg, "<circle");
    put_length(svg, "cx", x);
    put_length(svg, "cy", y);
    put_length(svg, "r", fmax(radius, 0.0));
    put_look(svg, look);
    put(svg, "/>\n");
}

void ch_svg_hatch(ch_svg *svg, double x, double y, double width, double height, double gap)
{
    if (!(width > 0.0) || !(height > 0.0) || !(gap > 0.0))
        return;
    /* Lines x + y = constant, cut at the rectangle's edges. */
    for (double sum = gap; sum < width + height; sum += gap) {
        const double left = fmax(0.0, sum - height), right = fmin(width, sum);
        ch_svg_line(svg, CH_SVG_HATCH, x + left, y + sum - left, x + right, y + sum - right);
    }
}

void ch_svg_words(ch_svg *svg, ch_svg_look look, ch_svg_anchor anchor, double x, double y, const char *words)
{
    static const char *const ANCHOR[] = {[CH_SVG_START] = "start", [CH_SVG_MIDDLE] = "middle", [CH_SVG_END] = "end"};
    put(svg, "<text");
    put_length(svg, "x", x);
    put_length(svg, "y", y);
    ch_text_appendf(&svg->text, " text-anchor=\"%s\"", ANCHOR[anchor]);
    put_look(svg, look);
    put(svg, ">");
    put_text(svg, words);
    put(svg, "</text>\n");
}

ch_status ch_show_sample_svg(ch_svg_look look, ch_svg *svg, ch_err *err)
{
    enum { WIDTH = 28, HEIGHT = 18 };
    begin(svg, WIDTH, HEIGHT);
    put(svg, " aria-hidden=\"true\">");
    if (look == CH_SVG_BAND) {
        ch_svg_rect(svg, CH_SVG_BAND, 1.0, 1.0, WIDTH - 2.0, HEIGHT - 2.0);
        ch_svg_hatch(svg, 1.0, 1.0, WIDTH - 2.0, HEIGHT - 2.0, 5.0);
    } else if (look == CH_SVG_READING) {
        ch_svg_rect(svg, CH_SVG_READING, WIDTH / 2.0 - 5.0, 2.0, 10.0, HEIGHT - 2.0);
        ch_svg_line(svg, CH_SVG_MARK, 3.0, 2.0, WIDTH - 3.0, 2.0);
    } else {
        ch_svg_line(svg, look, 0.0, HEIGHT / 2.0, WIDTH, HEIGHT / 2.0);
    }
    return ch_svg_close(svg, err);
}

ch_status ch_show_bar_svg(double chance_1, ch_svg *svg, ch_err *err)
{
    enum { WIDTH = 200, HEIGHT = 12 };
    begin(svg, WIDTH, HEIGHT);
    put(svg, " aria-hidden=\"true\">");
    ch_svg_rect(svg, CH_SVG_READING, 1.0, 1.0, (WIDTH - 2.0) * fmin(fmax(chance_1, 0.0), 1.0), HEIGHT - 2.0);
    ch_svg_rect(svg, CH_SVG_FRAME, 1.0, 1.0, WIDTH - 2.0, HEIGHT - 2.0);
    return ch_svg_close(svg, err);
}

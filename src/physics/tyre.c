/* A tyre from its size designation. Sources: tyre.h. */
#include "crosshatch/tyre.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static const double INCH_M = 0.0254;
static const double MILLIMETRE_M = 1e-3;
static const double ROLLING_OVER_DIAMETER_1 = 3.05;

typedef struct scan {
    const char *at, *end;
} scan;

static void skip_spaces(scan *s)
{
    while (s->at < s->end && *s->at == ' ')
        s->at++;
}

/* A whole number of at most three digits; -1 where none stands here. */
static int whole(scan *s)
{
    int value = 0, digits = 0;
    skip_spaces(s);
    for (; s->at < s->end && *s->at >= '0' && *s->at <= '9' && digits < 4; s->at++, digits++)
        value = value * 10 + (*s->at - '0');
    return digits > 0 && digits < 4 ? value : -1;
}

static bool letter(scan *s, char capital)
{
    skip_spaces(s);
    if (s->at >= s->end || (*s->at != capital && *s->at != capital + ('a' - 'A')))
        return false;
    s->at++;
    return true;
}

static bool scan_size(scan *s, ch_tyre *tyre)
{
    static const int WITHOUT_ASPECT = 82;
    (void)letter(s, 'P');
    const int section = whole(s);
    int aspect = WITHOUT_ASPECT;
    skip_spaces(s);
    if (s->at < s->end && *s->at == '/') {
        s->at++;
        aspect = whole(s);
    }
    static const char speeds[] =
        "ZSTHV"; /* before the R, as sizes were marked until about 1990; today only Z stands there */
    bool speed = false;
    for (const char *symbol = speeds; *symbol != '\0' && !speed; symbol++)
        speed = letter(s, *symbol);
    if (!letter(s, 'R'))
        return false;
    const int rim = whole(s);
    (void)(s->at < s->end && *s->at != ' ' && letter(s, 'C')); /* of a van */
    if (s->at < s->end && *s->at != ' ')
        return false;
    if (section < 105 || section > 455 || aspect < 20 || aspect > 100 || rim < 8 || rim > 28)
        return false;
    *tyre = (ch_tyre){.section_m = section * MILLIMETRE_M, .aspect_1 = aspect / 100.0, .rim_m = rim * INCH_M};
    return true;
}

ch_status ch_tyre_parse(const char *text, size_t length, ch_tyre *tyre, ch_err *err)
{
    scan s = {.at = text, .end = text + length};
    ch_tyre made;
    if (memchr(text, '\0', length) != NULL || !scan_size(&s, &made))
        return ch_fail(err, CH_E_INPUT, "a size such as 195/50R15", "not a tyre's size designation");
    *tyre = made;
    return CH_OK;
}

/* Half a millimetre counts upwards, also where a double has it a hair below: 165 mm times 0.70 is 115.5 mm, and 116. */
static double round_to_millimetre(double length_m)
{
    static const double hair_1 = 1e-6; /* of a millimetre */
    return floor(length_m / MILLIMETRE_M + 0.5 + hair_1) * MILLIMETRE_M;
}

double ch_tyre_diameter(const ch_tyre *tyre)
{
    return round_to_millimetre(tyre->rim_m) + 2 * round_to_millimetre(tyre->section_m * tyre->aspect_1);
}

double ch_tyre_rolling_circumference(const ch_tyre *tyre)
{
    return ROLLING_OVER_DIAMETER_1 * ch_tyre_diameter(tyre);
}

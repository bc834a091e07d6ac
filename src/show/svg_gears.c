/*
 * Engine speed against road speed of a whole run: each gear is a straight line through nothing, and what runs ahead of its line is slip. Thousands of points
 * are drawn as the cells of a grid that they lie in, so that the drawing stays small.
 */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_words.h"
#include "crosshatch/svg.h"
#include "svg_scale.h"

enum {
    WIDTH = 360,
    HEIGHT = 300,
    LEFT = 48,
    RIGHT = 26,
    ABOVE = 26,
    BELOW = 42,
    CELL = 3,
    ACROSS = (WIDTH - LEFT - RIGHT) / CELL,
    UP = (HEIGHT - ABOVE - BELOW) / CELL,
    RING_CELL = 9,
    RINGS_ACROSS = (WIDTH - LEFT - RIGHT) / RING_CELL + 1,
    RINGS_UP = (HEIGHT - ABOVE - BELOW) / RING_CELL + 1
};

static const double RPM = 60 / (2 * 3.14159265358979323846), KMH = 3.6;

typedef struct chart {
    const ch_driveline *driveline;
    const ch_drive_point *point;
    size_t points;
    svg_scale x, y;
} chart;

static double point_x(const chart *c, size_t i)
{
    return svg_scale_at(&c->x, (double)c->point[i].road_speed_m_s * KMH);
}

static double point_y(const chart *c, size_t i)
{
    return svg_scale_at(&c->y, (double)c->point[i].engine_speed_rad_s * RPM);
}

/* Cells in which something lies, neighbours in a row as one. */
static void draw_points(const chart *c, ch_svg *svg)
{
    static const unsigned char EMPTY = 0;
    unsigned char cell[UP][ACROSS + 1];
    for (int j = 0; j < UP; j++)
        for (int i = 0; i <= ACROSS; i++)
            cell[j][i] = EMPTY;
    for (size_t i = 0; i < c->points; i++) {
        const int across = (int)((point_x(c, i) - LEFT) / CELL), up = (int)((point_y(c, i) - ABOVE) / CELL);
        if (across >= 0 && across < ACROSS && up >= 0 && up < UP)
            cell[up][across] = 1;
    }
    for (int j = 0; j < UP; j++)
        for (int i = 0, begun = -1; i <= ACROSS; i++) {
            if (cell[j][i] != EMPTY && begun < 0)
                begun = i;
            if (cell[j][i] == EMPTY && begun >= 0) {
                ch_svg_rect(svg, CH_SVG_READING, LEFT + begun * CELL + 0.5, ABOVE + j * CELL + 0.5,
                            (i - begun) * CELL - 1.0, CELL - 1.0);
                begun = -1;
            }
        }
}

static bool slips_at(const ch_driveline *d, double time_s, size_t *slip)
{
    while (*slip < d->slips && d->slip[*slip].end_s < time_s)
        ++*slip;
    return *slip < d->slips && time_s >= d->slip[*slip].start_s;
}

/* Rings about points that slip, one for each place on a coarser grid. */
static void draw_slips(const chart *c, ch_svg *svg)
{
    bool ringed[RINGS_UP][RINGS_ACROSS] = {{false}};
    size_t slip = 0;
    for (size_t i = 0; i < c->points; i++) {
        if (!slips_at(c->driveline, (double)c->point[i].time_s, &slip))
            continue;
        const int across = (int)((point_x(c, i) - LEFT) / RING_CELL), up = (int)((point_y(c, i) - ABOVE) / RING_CELL);
        if (across < 0 || across >= RINGS_ACROSS || up < 0 || up >= RINGS_UP || ringed[up][across])
            continue;
        ringed[up][across] = true;
        ch_svg_circle(svg, CH_SVG_FRAME, point_x(c, i), point_y(c, i), 4.5);
    }
}

/* Each gear's line as far as the scales go, with its number at the end. */
static void draw_gears(const chart *c, ch_svg *svg)
{
    for (size_t g = 0; g < c->driveline->gears; g++) {
        const double rpm_per_kmh = c->driveline->gear[g].line_rad_m * RPM / KMH;
        const bool leaves_above = rpm_per_kmh * c->x.most > c->y.most;
        const double kmh = leaves_above ? c->y.most / rpm_per_kmh : c->x.most;
        const double x = svg_scale_at(&c->x, kmh), y = svg_scale_at(&c->y, kmh * rpm_per_kmh);
        char number[16];
        snprintf(number, sizeof number, "%d", c->driveline->gear[g].number);
        ch_svg_line(svg, CH_SVG_MINIMUM, svg_scale_at(&c->x, 0.0), svg_scale_at(&c->y, 0.0), x, y);
        if (leaves_above)
            ch_svg_words(svg, CH_SVG_LABEL, CH_SVG_MIDDLE, x, y - 5.0, number);
        else
            ch_svg_words(svg, CH_SVG_LABEL, CH_SVG_START, x + 5.0, y + 5.0, number);
    }
}

static void describe(const ch_driveline *d, char words[CH_SHOW_SENTENCE])
{
    size_t used = 0;
    char number[CH_SHOW_NUMBER];
    words[0] = '\0';
    for (size_t g = 0; g < d->gears && used < CH_SHOW_SENTENCE; g++)
        used += (size_t)snprintf(words + used, CH_SHOW_SENTENCE - used, "Gear %d: %s rpm for each km/h. ",
                                 d->gear[g].number, ch_show_number(d->gear[g].line_rad_m * RPM / KMH, 1, number));
    if (used < CH_SHOW_SENTENCE)
        snprintf(words + used, CH_SHOW_SENTENCE - used, "%zu slips marked by rings.", d->slips);
}

ch_status ch_show_gears_svg(const ch_driveline *driveline, const ch_drive_point point[], size_t points, ch_svg *svg,
                            ch_err *err)
{
    char words[CH_SHOW_SENTENCE];
    double kmh = 20, rpm = 1000;
    chart c = {.driveline = driveline, .point = point, .points = points};
    for (size_t i = 0; i < points; i++) {
        kmh = fmax(kmh, (double)point[i].road_speed_m_s * KMH);
        rpm = fmax(rpm, (double)point[i].engine_speed_rad_s * RPM);
    }
    c.x = svg_scale_for(0.0, kmh, 6, LEFT, WIDTH - RIGHT);
    c.y = svg_scale_for(0.0, rpm, 6, HEIGHT - BELOW, ABOVE);
    describe(driveline, words);
    ch_svg_open(svg, "gears", WIDTH, HEIGHT, "Engine speed over road speed", words);
    svg_scale_left(svg, &c.x, &c.y, "rpm");
    svg_scale_below(svg, &c.x, &c.y, "km/h");
    draw_gears(&c, svg);
    draw_points(&c, svg);
    draw_slips(&c, svg);
    return ch_svg_close(svg, err);
}

/* A judged run: verdict, gears, course, slips and what the clutch holds. Each drawing has its numbers beneath, folded. */
#include "drive_view.h"

#include <math.h>
#include <stdio.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_words.h"

enum { SLIPS_NEAR = 3, SLIPS_SHOWN = 200 };

static const double RPM_PER_KMH = 60 / (2 * 3.14159265358979323846) / 3.6, ZERO_C_K = 273.15;

/* ---------------------------------------------------------------- pieces */

static void drawing(html_writer *w, ch_svg *svg, ch_status rc)
{
    html_lit(w, "<div class=\"drawing\">");
    if (rc >= 0)
        html_svg(w, svg);
    else
        html_fail(w, rc);
    html_lit(w, "</div>\n");
    ch_svg_clear(svg);
}

static void numbers_open(html_writer *w, const char *caption, const char *const head[], size_t columns)
{
    html_lit(w, "<details><summary>The numbers</summary><div class=\"scroll\" role=\"region\" tabindex=\"0\"");
    html_attr(w, "aria-label", caption);
    html_lit(w, "><table><caption>");
    html_text(w, caption);
    html_lit(w, "</caption><thead><tr>");
    for (size_t i = 0; i < columns; i++) {
        html_lit(w, "<th scope=\"col\" class=\"number\">");
        html_text(w, head[i]);
        html_lit(w, "</th>");
    }
    html_lit(w, "</tr></thead><tbody>\n");
}

static void numbers_close(html_writer *w)
{
    html_lit(w, "</tbody></table></div></details>\n");
}

static void cell(html_writer *w, double value, int decimals)
{
    char number[CH_SHOW_NUMBER];
    html_lit(w, "<td class=\"number\">");
    html_text(w, ch_show_number(value, decimals, number));
    html_lit(w, "</td>");
}

/* ---------------------------------------------------------------- verdict and gears */

static void verdict(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    char sentence[CH_SHOW_RUN_SENTENCE], seconds[CH_SHOW_NUMBER], day[16];
    ch_date_format(v->run->day, day, sizeof day);
    html_lit(v->w, "<p class=\"quiet\">");
    html_textf(v->w, "%s%s%s, %s minutes, %llu rows", v->run->log_name, day[0] != '\0' ? ", " : "", day,
               ch_show_number(v->run->seconds / 60, 1, seconds), (unsigned long long)d->rows);
    html_lit(v->w, "</p><p");
    html_attr(v->w, "class",
              d->state != CH_DRIVELINE_GEARS_FOUND ? "verdict unclear"
              : d->slips > 0                       ? "verdict fault"
              : (d->limits & (CH_LIMIT_LITTLE_LOAD | CH_LIMIT_STALE | CH_LIMIT_PERHAPS_STEPLESS | CH_LIMIT_LOW_GEARS |
                              CH_LIMIT_NEAR_GEARS | CH_LIMIT_PULLED_ALONE)) != 0
                  ? "verdict unclear"
                  : "verdict sound");
    html_lit(v->w, ">");
    ch_show_driveline_verdict(d, sentence);
    html_text(v->w, sentence);
    html_lit(v->w, "</p>\n");
    if (v->run->note != NULL) {
        html_lit(v->w, "<p class=\"note\">");
        html_text(v->w, v->run->note);
        html_lit(v->w, "</p>\n");
    }
}

static void gears(const drive_view *v)
{
    static const char *const head[] = {"Gear",       "rpm per km/h", "Known to, % (9 in 10)",
                                       "Scatter, %", "In gear, s",   "By the car, rpm per km/h"};
    const ch_driveline *d = &v->run->driveline;
    ch_svg svg;
    char a[CH_SHOW_NUMBER];
    html_lit(v->w, "<h2>Gears</h2>\n");
    drawing(v->w, &svg, ch_show_gears_svg(d, v->run->point, v->run->points, &svg, NULL));
    if (d->gears == 0)
        return;
    html_lit(v->w, "<p class=\"quiet\">Dashed: the gears. Filled: where the run was. ");
    html_text(v->w, d->slips > 0 ? "Rings: the engine ahead of its gear, so the clutch slips."
                    : d->limits & CH_LIMIT_LOW_GEARS
                        ? "Not marked: where the engine ran ahead and the log does not tell why."
                    : d->limits & (CH_LIMIT_NEAR_GEARS | CH_LIMIT_PULLED_ALONE | CH_LIMIT_PERHAPS_STEPLESS)
                        ? "Not marked: what the log does not tell from gears."
                        : "No slip is marked.");
    html_lit(v->w, "</p>\n");
    numbers_open(v->w, "Gears", head, sizeof head / sizeof head[0]);
    for (size_t g = 0; g < d->gears; g++) {
        html_lit(v->w, "<tr>");
        cell(v->w, d->gear[g].number, 0);
        cell(v->w, d->gear[g].line_rad_m * RPM_PER_KMH, 2);
        cell(v->w, ch_driveline_gear_known_1(&d->gear[g]) * 100, 2);
        cell(v->w, d->gear[g].spread_1 * 100, 1);
        cell(v->w, d->gear[g].seconds, 0);
        cell(v->w, d->gear[g].car_line_rad_m * RPM_PER_KMH, 2);
        html_lit(v->w, "</tr>\n");
    }
    numbers_close(v->w);
    html_lit(v->w, "<p class=\"quiet\">");
    html_textf(v->w, "Road speed comes %s s behind engine speed; that is taken out.", ch_show_number(d->lag_s, 2, a));
    if (isfinite(d->car_factor_1))
        html_textf(v->w, " The car's ratios and tyre fit with a factor of %s.", ch_show_number(d->car_factor_1, 3, a));
    html_lit(v->w, "</p>\n");
}

/* ---------------------------------------------------------------- the course and the slips */

/* Places of the slips that went furthest. */
static size_t worst_slips(const ch_driveline *d, size_t place[SLIPS_NEAR])
{
    size_t n = 0;
    for (size_t i = 0; i < d->slips; i++) {
        size_t at = n < SLIPS_NEAR ? n++ : SLIPS_NEAR;
        while (at > 0 && d->slip[place[at - 1]].peak_1 < d->slip[i].peak_1) {
            if (at < SLIPS_NEAR)
                place[at] = place[at - 1];
            at--;
        }
        if (at < SLIPS_NEAR)
            place[at] = i;
    }
    return n;
}

static void others(const drive_view *v)
{
    static const char *const words[CH_NOT_SLIP_KINDS] = {[CH_NOT_SLIP_WHEELSPIN] = "wheelspin",
                                                         [CH_NOT_SLIP_CLUTCH] =
                                                             "the driver's clutch or a blip of the throttle",
                                                         [CH_NOT_SLIP_SENSOR] = "road speed that dropped by itself",
                                                         [CH_NOT_SLIP_BRIEF] = "too short or too small to tell"};
    const ch_driveline *d = &v->run->driveline;
    bool any = false;
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++) {
        if (d->not_slips[k] == 0 || d->gears == 0)
            continue;
        if (!any)
            html_lit(v->w, "<p>What looked like slip and was not:</p><ul>");
        any = true;
        html_lit(v->w, "<li>");
        html_textf(v->w, "%s, %zu %s", words[k], d->not_slips[k], d->not_slips[k] == 1 ? "time" : "times");
        html_lit(v->w, "</li>");
    }
    if (any)
        html_lit(v->w, "</ul>\n");
}

static void slip_table(const drive_view *v)
{
    static const char *const head[] = {"Slip",        "From, s",  "To, s",           "Gear",    "Peak, %", "Mean, %",
                                       "Torque, N m", "Heat, kJ", "Plate before, C", "After, C"};
    const ch_driveline *d = &v->run->driveline;
    numbers_open(v->w, "Slips", head, sizeof head / sizeof head[0]);
    for (size_t i = 0; i < d->slips && i < SLIPS_SHOWN; i++) {
        const ch_slip *s = &d->slip[i];
        html_lit(v->w, "<tr>");
        cell(v->w, (double)i + 1, 0);
        cell(v->w, s->start_s, 2);
        cell(v->w, s->end_s, 2);
        cell(v->w, s->gear, 0);
        cell(v->w, s->peak_1 * 100, 1);
        cell(v->w, s->mean_1 * 100, 1);
        cell(v->w, s->torque_n_m, 0);
        cell(v->w, s->heat_j / 1e3, 1);
        cell(v->w, s->plate_k - ZERO_C_K, 0);
        cell(v->w, s->peak_plate_k - ZERO_C_K, 0);
        html_lit(v->w, "</tr>\n");
    }
    numbers_close(v->w);
    if (d->slips_found > SLIPS_SHOWN) {
        html_lit(v->w, "<p class=\"quiet\">");
        html_textf(v->w, "%zu slips in all; `crosshatch export` writes every one that is kept.", d->slips_found);
        html_lit(v->w, "</p>\n");
    }
}

static void course(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    size_t place[SLIPS_NEAR];
    ch_svg svg;
    html_lit(v->w, "<h2>The run</h2>\n");
    drawing(v->w, &svg, ch_show_run_svg(d, v->run->point, v->run->points, &svg, NULL));
    if (d->slips > 0)
        html_lit(v->w, "<p class=\"quiet\">Bars above, hatched below: the clutch slips.</p>\n");
    const size_t near = worst_slips(d, place);
    if (near > 0)
        html_lit(v->w, "<h3>Where it slips most</h3>\n<div class=\"drawings\">");
    for (size_t i = 0; i < near; i++)
        drawing(v->w, &svg, ch_show_slip_svg(d, v->run->point, v->run->points, place[i], &svg, NULL));
    if (near > 0)
        html_lit(v->w, "</div>\n");
    if (d->slips > 0)
        slip_table(v);
    others(v);
}

/* ---------------------------------------------------------------- capacity */

static void capacity(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER];
    ch_svg svg;
    if (!isfinite(d->capacity_n_m[1]) && !isfinite(d->design_n_m[0]))
        return;
    html_lit(v->w, "<h2>What the clutch holds</h2>\n");
    if (isfinite(d->capacity_n_m[1])) {
        html_lit(v->w, "<p>");
        html_textf(v->w, "It lets go at %s N m, nine times in ten between %s and %s, from the car's pull at each slip.",
                   ch_show_number(d->capacity_n_m[1], 0, a), ch_show_number(d->capacity_n_m[0], 0, b),
                   ch_show_number(d->capacity_n_m[2], 0, c));
        html_lit(v->w, "</p>\n");
    }
    if (isfinite(d->design_n_m[0])) {
        html_lit(v->w, "<p>");
        html_textf(v->w, "Facing, clamp force and friction as stated should hold %s N m worn in, %s N m new.",
                   ch_show_number(d->design_n_m[0], 0, a), ch_show_number(d->design_n_m[1], 0, b));
        html_lit(v->w, "</p>\n");
    }
    if (isfinite(d->fade_1_k)) {
        html_lit(v->w, "<p>");
        html_textf(v->w, "For each 100 C of the plate it changes by %s %% (standard uncertainty %s %%).",
                   ch_show_number(d->fade_1_k * 1e4, 0, a), ch_show_number(d->u_fade_1_k * 1e4, 0, b));
        html_lit(v->w, "</p>\n");
    }
    if (ch_show_capacity_known(d) > 0) {
        drawing(v->w, &svg, ch_show_capacity_svg(d, &svg, NULL));
        html_lit(v->w,
                 "<p class=\"quiet\">Each dot is a slip, its line nine times in ten; dotted: the change with heat. "
                 "The numbers stand under the slips.</p>\n");
    }
}

void drive_view_result(const drive_view *v)
{
    verdict(v);
    gears(v);
    course(v);
    capacity(v);
}

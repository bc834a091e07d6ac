/*
 * Writes every chart of inputs at the ends of what there is: draw_charts FOLDER. One cylinder and sixteen, nothing and 10,000 of the unit,
 * names of 60 characters; `usual` ones beside them. Of each NAME.svg also NAME.png, as librsvg draws it. All figures are invented.
 */
#include <cairo.h>
#include <librsvg/rsvg.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_beside.h"
#include "crosshatch/show_driveline.h"
#include "crosshatch/show_season.h"
#include "crosshatch/show_whatif.h"
#include "crosshatch/show_winter.h"
#include "crosshatch/svg.h"

static const char *folder;
static int written;
static const double PSI_PA = 6894.757293168361, MM2 = 1e-6, HOUR_S = 3600.0;

static void stop(const char *what)
{
    fprintf(stderr, "draw_charts: %s\n", what);
    exit(1);
}

static void must(ch_status rc, const ch_err *err)
{
    if (rc < 0)
        stop(err->what);
}

static void paint(const char *name, const ch_svg *svg)
{
    char path[1024];
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)ch_text_string(&svg->text), svg->text.length, NULL);
    gdouble width = 0.0, height = 0.0;
    if (handle == NULL || !rsvg_handle_get_intrinsic_size_in_pixels(handle, &width, &height))
        stop("librsvg does not read it");
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_ARGB32, (int)ceil(width), (int)ceil(height));
    cairo_t *cr = cairo_create(surface);
    cairo_set_source_rgb(cr, 1.0, 1.0, 1.0);
    cairo_paint(cr);
    const RsvgRectangle all = {.width = width, .height = height};
    if (!rsvg_handle_render_document(handle, cr, &all, NULL))
        stop("librsvg does not draw it");
    snprintf(path, sizeof path, "%s/%s.png", folder, name);
    if (cairo_surface_write_to_png(surface, path) != CAIRO_STATUS_SUCCESS)
        stop("a picture cannot be written");
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    g_object_unref(handle);
}

static void keep(const char *chart, const char *of, ch_status rc, ch_svg *svg)
{
    char name[128], path[1024];
    if (rc < 0)
        stop("a chart cannot be drawn");
    snprintf(name, sizeof name, "%s-%s", chart, of);
    snprintf(path, sizeof path, "%s/%s.svg", folder, name);
    FILE *file = fopen(path, "wb");
    if (file == NULL || fwrite(ch_text_string(&svg->text), 1, svg->text.length, file) != svg->text.length ||
        fclose(file) != 0)
        stop("a file cannot be written");
    paint(name, svg);
    ch_svg_clear(svg);
    written++;
}

/* ---------------------------------------------------------------- one sheet */

/* How a case is called, and its two figures: cylinders, and the reading in its unit. */
typedef struct extreme {
    const char *name;
    int cylinders;
    double value, area_mm2;
    ch_layout layout;
    const char *unit;
} extreme;

static const extreme CASES[] = {
    {"usual", 4, 180.0, 0.3, CH_LAYOUT_INLINE, "psi"},
    {"one", 1, 180.0, 0.3, CH_LAYOUT_UNSTATED, "psi"},
    {"one-zero", 1, 0.0, 0.0, CH_LAYOUT_UNSTATED, "psi"},
    {"one-most", 1, 10000.0, 10000.0, CH_LAYOUT_UNSTATED, "psi"},
    {"sixteen", 16, 12.4, 0.3, CH_LAYOUT_VEE, "bar"},
    {"sixteen-zero", 16, 0.0, 0.0, CH_LAYOUT_INLINE, "kPa"},
    {"sixteen-most", 16, 10000.0, 10000.0, CH_LAYOUT_FLAT, "kPa"},
    {"sixteen-coarse", 16, 1.24, 5.0, CH_LAYOUT_VEE, "MPa"},
    {"sixteen-fine", 16, 100.0, 0.001, CH_LAYOUT_VEE, "kgf/cm2"},
};
enum { CASES_COUNT = sizeof CASES / sizeof CASES[0] };

static double factor_of(const extreme *e)
{
    const ch_unit *unit = ch_unit_find(e->unit, strlen(e->unit));
    return unit != NULL ? unit->factor : PSI_PA;
}

static void draw_sheet(const extreme *e)
{
    static ch_judgement judgement;
    static ch_sheet sheet;
    const double value_pa = fmin(e->value * factor_of(e), 1e10);
    judgement = (ch_judgement){.cylinders = e->cylinders};
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = e->cylinders;
    sheet.engine.layout = e->layout;
    sheet.engine.limits.minimum.si = 0.75 * value_pa;
    sheet.engine.limits.standard.si = value_pa;
    for (int c = 0; c < e->cylinders; c++) {
        ch_judged_cylinder *one = &judgement.cylinder[c];
        *one = (ch_judged_cylinder){.cylinder = c + 1, .n = c % 5 == 4 ? 0 : 2, .mean_pa = value_pa};
        one->mean_pa = one->n == 0 ? NAN : c % 4 == 2 ? 0.7 * value_pa : c % 4 == 3 ? 1.2 * value_pa : value_pa;
        one->u_with_gauge_pa = 0.01 * value_pa;
        one->below_minimum = c % 4 == 2 && value_pa > 0.0;
        one->expected_pa[0] = 0.9 * value_pa;
        one->expected_pa[1] = 1.1 * value_pa;
        for (int i = 0; i < 3; i++)
            one->leak_area_m2[i] = c % 5 == 4 ? NAN : e->area_mm2 * MM2 * pow(2.0, i - 1 + c % 4);
    }
    const ch_judge_options options = {.seed = 1};
    const ch_show_judged judged = {.sheet = &sheet, .options = &options, .judgement = &judgement};
    const ch_unit *unit = ch_unit_find(e->unit, strlen(e->unit));
    ch_svg svg;
    keep("engine", e->name, ch_show_engine_svg(&judged, unit, &svg, NULL), &svg);
    keep("leaks", e->name, ch_show_leaks_svg(&judged, &svg, NULL), &svg);
    ch_sheet_clear(&sheet);
}

static void draw_beside(const extreme *e)
{
    static ch_beside beside;
    const double value_pa = fmin(e->value * factor_of(e), 1e10);
    beside = (ch_beside){.cylinders = e->cylinders, .strokes = e->cylinders == 1 ? CH_STROKES_MAX : 8};
    for (int s = 0; s < beside.strokes; s++)
        beside.sound_pa[s] = value_pa * (1.0 - exp(-0.7 * (s + 1.0)));
    for (int c = 0; c < e->cylinders; c++)
        beside.cylinder[c] = (ch_beside_cylinder){.first_pa = 0.5 * value_pa,
                                                  .dry_pa = c % 4 == 2 ? 0.7 * value_pa : value_pa,
                                                  .wet_pa = c % 4 == 2 ? 10.0 * value_pa : 1.1 * value_pa,
                                                  .oil_m3 = 5e-6,
                                                  .volume_rise_1 = c % 2 == 0 ? 0.15 : NAN};
    const ch_unit *unit = ch_unit_find(e->unit, strlen(e->unit));
    ch_svg svg;
    keep("wet", e->name, ch_show_wet_svg(&beside, unit, &svg, NULL), &svg);
    keep("strokes", e->name, ch_show_strokes_svg(&beside, unit, &svg, NULL), &svg);
}

static ch_whatif_run a_run(double value_pa, int strokes)
{
    ch_whatif_run run = {.strokes = strokes, .points = 73, .closing_rad = -2.4};
    for (int s = 0; s < strokes; s++)
        run.stroke_gauge_pa[s] = value_pa * (1.0 - exp(-0.7 * (s + 1.0)));
    for (int i = 0; i < run.points; i++) {
        run.angle_rad[i] = (5.0 * i - 180.0) * 3.14159265358979323846 / 180.0;
        run.pressure_pa[i] = value_pa * exp(-4.0 * run.angle_rad[i] * run.angle_rad[i]) - 0.02 * value_pa;
    }
    return run;
}

static void draw_whatif(const extreme *e)
{
    static ch_whatif whatif;
    const double value_pa = fmin(e->value * factor_of(e), 1e10);
    whatif = (ch_whatif){.before_run = a_run(value_pa, 8),
                         .now_run = a_run(0.8 * value_pa, e->cylinders == 1 ? CH_STROKES_MAX : 1)};
    whatif.changed[0] = e->cylinders > 1;
    const ch_unit *unit = ch_unit_find(e->unit, strlen(e->unit));
    ch_svg svg;
    keep("pumpup", e->name, ch_show_pumpup_svg(&whatif, unit, &svg, NULL), &svg);
    keep("cycle", e->name, ch_show_cycle_svg(&whatif, unit, &svg, NULL), &svg);
}

/* ---------------------------------------------------------------- a season */

static const char LONG_NAME[] = "WWW Wide Wheel Works, SECOND YARD behind the Old Mill, Dale W";

static void draw_season(const extreme *e)
{
    enum { SHEETS = 4 };
    static ch_history_sheet sheet[SHEETS];
    static ch_season season;
    ch_assumptions assumptions;
    ch_err err = {0};
    const double area_m2 = fmax(e->area_mm2, 1e-3) * MM2;
    must(ch_assumptions_parse(&assumptions, ch_assumptions_builtin(), &err), &err);
    for (int i = 0; i < SHEETS; i++) {
        const double hours = e->value >= 10000.0 ? 9900.0 + 30.0 * i : 100.0 + 40.0 * i;
        sheet[i] =
            (ch_history_sheet){.id = i + 1, .day = {2024 + i, 1, 16}, .hours_s = hours * HOUR_S, .odometer_m = NAN};
        sheet[i].result = (ch_history_result){.cylinders = e->cylinders,
                                              .verdict = CH_VERDICT_WATCH,
                                              .reliable = true,
                                              .sound_m2 = 0.3 * MM2,
                                              .u_sound_1 = 0.45,
                                              .watch_m2 = 0.9 * MM2,
                                              .fault_m2 = 1.0 * MM2};
        for (int c = 0; c < e->cylinders; c++) {
            sheet[i].result.cylinder[c].n = 1;
            for (int k = 0; k < CH_TRACE_LADDER; k++)
                sheet[i].result.cylinder[c].ladder_m2[k] = area_m2 * pow(1.5, i) * exp(0.25 * (k - 9) / 9.0);
        }
    }
    const ch_history_repair repair[] = {{{2025, 6, 1}, 0, LONG_NAME, false}, {{2025, 6, 2}, 1, "head off", true}};
    const ch_season_input input = {.sheet = sheet,
                                   .sheets = SHEETS,
                                   .repair = repair,
                                   .repairs = 2,
                                   .today = {2027, 3, 1},
                                   .assumptions = &assumptions,
                                   .horizon = CH_HORIZON_THREE_YEARS,
                                   .seed = 2};
    must(ch_season_run(&input, &season, &err), &err);
    ch_decision *d = &season.decision[season.horizon];
    for (int i = 0; i < CH_ASSUME_COUNT; i++) {
        if (e->cylinders > 1)
            assumptions.of[i].title = LONG_NAME;
        if (e->value > 0.0 && e->value < 10000.0)
            continue;
        d->swing[i].lead[0] = -e->value;
        d->swing[i].lead[1] = 2.0 * e->value;
        d->lead = e->value;
    }
    const ch_show_season shown = {
        .season = &season, .assumptions = &assumptions, .car = LONG_NAME, .engine = LONG_NAME, .today = {2027, 3, 1}};
    ch_svg svg;
    keep("trend", e->name, ch_show_trend_svg(&shown, e->cylinders, &svg, NULL), &svg);
    keep("sensitivity", e->name, ch_show_sensitivity_svg(&shown, &svg, NULL), &svg);
    ch_season_clear(&season);
    ch_assumptions_clear(&assumptions);
}

/* ---------------------------------------------------------------- a winter */

static void draw_calendar(const char *name, int days, double hours, double each)
{
    ch_text text;
    ch_plan plan;
    ch_winter winter;
    ch_err err = {0};
    ch_svg svg;
    ch_text_init(&text, 256 * 1024);
    ch_text_appendf(&text, "plan: 1\nuntil: 2027-04-03\nhours_value: 1\ndays:\n");
    for (int i = 0; i < days; i++) {
        char date[16];
        ch_date_format(ch_date_from_days(ch_date_days((ch_date){2026, 11, 28}) + i), date, sizeof date);
        ch_text_appendf(&text, "  - {date: %s, hours: %g}\n", date, hours);
    }
    ch_text_appendf(&text, "access: {open_it: {title: \"%s\", hours: %g, refit_hours: %g}}\n", LONG_NAME, each, each);
    ch_text_appendf(&text, "jobs: {job: {title: \"%s\", hours: %g, needs: [open_it], avoided: 10000}}\n", LONG_NAME,
                    each);
    must(ch_plan_parse("plan.yaml", ch_text_string(&text), text.length, (ch_date){0}, &plan, &err), &err);
    must(ch_winter_answer(&plan, 1, &winter, &err), &err);
    keep("calendar", name, ch_show_calendar_svg(&plan, &winter, &svg, NULL), &svg);
    ch_winter_clear(&winter);
    ch_plan_clear(&plan);
    ch_text_clear(&text);
}

/* ---------------------------------------------------------------- a run */

/* Up through all gears, the last third of each pull slipping. */
static void draw_run(const char *name, size_t gears, double most_rpm, size_t slips, double torque_n_m)
{
    enum { POINTS = 1000, SLIPS = 400 };
    static ch_drive_point point[POINTS];
    static ch_slip slip[SLIPS];
    static ch_driveline run;
    ch_svg svg;
    run = (ch_driveline){.gears = gears, .slip = slip, .slips = slips, .slips_found = slips, .fade_1_k = -1e-3};
    for (int i = 0; i < 3; i++)
        run.capacity_n_m[i] = run.design_n_m[i % 2] = torque_n_m * (0.9 + 0.1 * i);
    for (size_t g = 0; g < gears; g++)
        run.gear[g] = (ch_driveline_gear){.number = (int)g + 1, .line_rad_m = 40.0 * pow(0.8, (double)g)};
    for (size_t i = 0; i < POINTS && gears > 0; i++) {
        const size_t g = i * gears / POINTS;
        const double engine = most_rpm * 0.1047 * (0.3 + 0.7 * (double)(i * gears % POINTS) / POINTS);
        point[i] = (ch_drive_point){.time_s = (float)(0.6 * (double)i),
                                    .engine_speed_rad_s = (float)engine,
                                    .road_speed_m_s = (float)(engine / run.gear[g].line_rad_m),
                                    .gear = (float)(g + 1)};
    }
    for (size_t i = 0; i < slips; i++)
        slip[i] = (ch_slip){.start_s = 1.4 * (double)i,
                            .end_s = 1.4 * (double)i + 0.7,
                            .gear = 1 + (int)(i % (gears + 1)),
                            .peak_1 = 0.1,
                            .mean_1 = 0.05,
                            .torque_n_m = torque_n_m * (1.0 - 0.001 * (double)i),
                            .u_torque_n_m = 0.1 * torque_n_m,
                            .plate_k = 350.0 + (double)i,
                            .peak_plate_k = 400.0 + (double)i};
    const size_t points = gears > 0 ? POINTS : 0;
    keep("gears", name, ch_show_gears_svg(&run, point, points, &svg, NULL), &svg);
    keep("run", name, ch_show_run_svg(&run, point, points, &svg, NULL), &svg);
    if (slips > 0) {
        keep("slip", name, ch_show_slip_svg(&run, point, points, slips / 2, &svg, NULL), &svg);
        keep("capacity", name, ch_show_capacity_svg(&run, &svg, NULL), &svg);
    }
}

int main(int argc, char **argv)
{
    if (argc != 2)
        stop("which folder?");
    folder = argv[1];
    for (int i = 0; i < CASES_COUNT; i++) {
        draw_sheet(&CASES[i]);
        draw_beside(&CASES[i]);
        draw_whatif(&CASES[i]);
        draw_season(&CASES[i]);
    }
    draw_calendar("usual", 9, 4.0, 6.0);
    draw_calendar("one-day", 1, 24.0, 8.0);
    draw_calendar("every-day", 120, 24.0, 900.0);
    draw_run("usual", 5, 7000.0, 6, 250.0);
    draw_run("none", 0, 0.0, 0, 0.0);
    draw_run("one-zero", 1, 0.0, 1, 0.0);
    draw_run("most", CH_DRIVELINE_GEARS_MAX, 10000.0, 400, 10000.0);
    printf("%d charts\n", written);
    return 0;
}

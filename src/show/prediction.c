/* What the gauge should show, as text and as JSON. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "js.h"
#include "page.h"

enum { STROKES_A_ROW = 10, LABEL = 13, MARKS = 9 };

/* A gauge's dial takes no part in what a cylinder does to it. */
static bool takes_part(ch_input input)
{
    return input != CH_INPUT_GAUGE_SPAN && input != CH_INPUT_GAUGE_ACCURACY && input != CH_INPUT_GAUGE_RESOLUTION;
}

/* "1, 3, 4" for all cylinders that are like this one; false where this one is like an earlier one. */
static bool alike(const ch_prediction *prediction, int cylinder, char *names, size_t size)
{
    if (prediction->like[cylinder - 1] != cylinder)
        return false;
    size_t used = 0;
    names[0] = '\0';
    for (int c = 1; c <= prediction->cylinders && used < size; c++)
        if (prediction->like[c - 1] == cylinder)
            used += (size_t)snprintf(names + used, size - used, "%s%d", used > 0 ? ", " : "", c);
    return true;
}

/* A label at the left of a row; one too long for its column gets a line of its own. */
static void row_label(page *p, const char *label)
{
    if (page_width(label) + 3 <= LABEL)
        ch_text_appendf(p->text, "  %-*s", LABEL - 2, label);
    else {
        page_paragraph(p, 2, "  ", label);
        ch_text_appendf(p->text, "%*s", LABEL, "");
    }
}

static void table(page *p, const ch_prediction *prediction)
{
    char heading[96], number[PAGE_NUMBER], names[160];
    snprintf(heading, sizeof heading, "Gauge after each stroke, %s", p->pressure->name);
    page_heading(p, heading);
    for (int from = 0; from < prediction->strokes; from += STROKES_A_ROW) {
        const int to = from + STROKES_A_ROW < prediction->strokes ? from + STROKES_A_ROW : prediction->strokes;
        row_label(p, "stroke");
        for (int s = from; s < to; s++)
            ch_text_appendf(p->text, "%6d", s + 1);
        ch_text_append_string(p->text, "\n");
        for (int c = 1; c <= prediction->cylinders; c++) {
            char label[192];
            if (!alike(prediction, c, names, sizeof names))
                continue;
            snprintf(label, sizeof label, "cyl %s", names);
            row_label(p, label);
            for (int s = from; s < to; s++)
                ch_text_appendf(p->text, "%6s", page_pressure(p, prediction->gauge_pa[c - 1][s], number));
            ch_text_append_string(p->text, "\n");
        }
    }
}

/* One line a cylinder: how far the needle has come after each stroke. */
static void picture(page *p, const ch_prediction *prediction)
{
    double most_pa = 0.0;
    for (int c = 0; c < prediction->cylinders; c++)
        most_pa = fmax(most_pa, prediction->gauge_pa[c][prediction->strokes - 1]);
    const int width = p->columns - LABEL - 8;
    const page_scale scale = page_scale_for(p, most_pa, width < PAGE_BAR_MAXIMUM ? width : PAGE_BAR_MAXIMUM);
    page_heading(p, "Pumping up: each figure stands where the needle is after that stroke");
    page_scale_line(p, &scale, LABEL + 1);
    for (int c = 1; c <= prediction->cylinders; c++) {
        char names[160], label[192], bar[PAGE_BAR_MAXIMUM + 1];
        if (!alike(prediction, c, names, sizeof names))
            continue;
        const double *gauge_pa = prediction->gauge_pa[c - 1];
        const int end = page_cell(&scale, gauge_pa[prediction->strokes - 1]);
        memset(bar, ' ', sizeof bar);
        memset(bar, '-', (size_t)end + 1);
        /* Where strokes share a cell, the earlier one is shown: the later ones add little. */
        for (int s = prediction->strokes < MARKS ? prediction->strokes : MARKS; s >= 1; s--)
            bar[page_cell(&scale, gauge_pa[s - 1])] = (char)('0' + s);
        bar[scale.width] = '\0';
        snprintf(label, sizeof label, "cyl %s", names);
        row_label(p, label);
        ch_text_appendf(p->text, "|%s|\n", bar);
    }
}

static void working(page *p, const ch_prediction *prediction)
{
    const ch_setup *setup = &prediction->setup;
    const ch_cranking *run = &setup->cranking;
    char a[PAGE_NUMBER], b[PAGE_NUMBER], c[PAGE_NUMBER];
    page_heading(p, "Working");
    page_paragraphf(p, 4, "  - ",
                    "Cylinder: bore %s mm, stroke %s mm, rod %s mm; compression ratio %.4g. Volume by slider-crank "
                    "(Heywood 1988, 2.2).",
                    ch_show_number(run->bore.bore_m * 1e3, 2, a), ch_show_number(run->bore.stroke_m * 1e3, 2, b),
                    ch_show_number(run->bore.rod_m * 1e3, 2, c), setup->compression_ratio);
    page_paragraphf(p, 4, "  - ",
                    "Day: ambient %s kPa absolute, air %s C, metal %s C (ISO 2533 where the sheet gives no barometer).",
                    ch_show_number(run->ambient_pa * 1e-3, 2, a), ch_show_number(run->air_k - 273.15, 1, b),
                    ch_show_number(run->wall_k - 273.15, 1, c));
    page_paragraphf(p, 4, "  - ", "Intake at %s kPa absolute: the throttle is %s.",
                    ch_show_number(prediction->intake_pa * 1e-3, 2, a),
                    setup->throttle_shut ? "shut, and stands where its leakage, through an assumed 4 mm2 for each "
                                           "litre of the engine, equals what the cylinders draw"
                                         : "open");
    page_paragraphf(p, 4, "  - ", "Crank at %s rpm for %d compression strokes, from bottom dead centre.",
                    ch_show_number(ch_unit_from_si(run->speed_rad_s, ch_unit_find("rpm", 3)), 0, a), run->strokes);
    page_paragraphf(p, 4, "  - ",
                    "Gauge: %s ml behind its check valve and %s ml ahead of it, the valve opening at %s kPa.",
                    ch_show_number(run->hose_m3 * 1e6, 1, a), ch_show_number(run->dead_m3 * 1e6, 1, b),
                    ch_show_number(run->check_opening_pa * 1e-3, 1, c));
    for (int i = 1; i <= prediction->cylinders; i++) {
        char names[160], d[PAGE_NUMBER], e[PAGE_NUMBER];
        if (!alike(prediction, i, names, sizeof names))
            continue;
        const ch_leak_areas *leaks = &prediction->leaks[i - 1];
        page_paragraphf(p, 4, "  - ",
                        "Leaks of cylinder %s, mm2 effective: rings %s, intake valve %s, exhaust valve %s, neighbour "
                        "%s, coolant %s.",
                        names, ch_show_area(leaks->rings_m2, a), ch_show_area(leaks->intake_valve_m2, b),
                        ch_show_area(leaks->exhaust_valve_m2, c), ch_show_area(leaks->neighbour_m2, d),
                        ch_show_area(leaks->coolant_m2, e));
    }
    page_paragraph(p, 4, "  - ",
                   "Method: mass and energy balance over the crank angle; every opening an isentropic nozzle (Heywood "
                   "1988, App. C), heat "
                   "after Annand (Proc. IMechE 177, 1963), integrated by Dormand and Prince (1980) so that the last "
                   "reading is good to "
                   "0.05 %. docs/method.md, \"Cranking\".");
}

void ch_show_prediction_text(const ch_sheet *sheet, const ch_prediction *prediction, const ch_show_style *style,
                             ch_text *text)
{
    page p;
    page_open(&p, sheet, style, text);
    char number[PAGE_NUMBER];
    if (sheet->title != NULL)
        page_paragraph(&p, 0, "", sheet->title);
    page_paragraphf(&p, 0, "", "What the gauge should show on this day, with the leaks that %s.",
                    prediction->setup.assumed[CH_INPUT_LEAKS] ? "any sound cylinder has" : "the sheet assumes");
    if (prediction->setup.throttle_shut)
        page_paragraphf(&p, 0, "", "The throttle is shut, so the intake stands at only %s absolute.",
                        page_pressure_named(&p, prediction->intake_pa, number));
    table(&p, prediction);
    picture(&p, prediction);
    if (style->working) {
        page_assumed(&p, prediction->setup.assumed, takes_part);
        working(&p, prediction);
    } else {
        page_assumed_names(&p, prediction->setup.assumed, takes_part);
    }
}

/* What took part, in the units of the names. */
static json_t *inputs(const ch_prediction *prediction)
{
    const ch_cranking *run = &prediction->setup.cranking;
    json_t *object = json_object();
    js_put(&object, "bore_mm", js_number(run->bore.bore_m * 1e3));
    js_put(&object, "stroke_mm", js_number(run->bore.stroke_m * 1e3));
    js_put(&object, "rod_length_mm", js_number(run->bore.rod_m * 1e3));
    js_put(&object, "compression_ratio", js_number(prediction->setup.compression_ratio));
    js_put(&object, "ambient_kPa", js_kilopascal(run->ambient_pa));
    js_put(&object, "intake_kPa", js_kilopascal(prediction->intake_pa));
    js_put(&object, "air_temperature_K", js_number(run->air_k));
    js_put(&object, "engine_temperature_K", js_number(run->wall_k));
    js_put(&object, "cranking_speed_rad_s", js_number(run->speed_rad_s));
    js_put(&object, "strokes", json_integer(run->strokes));
    js_put(&object, "hose_volume_ml", js_number(run->hose_m3 * 1e6));
    js_put(&object, "dead_volume_ml", js_number(run->dead_m3 * 1e6));
    js_put(&object, "valve_area_mm2", js_square_millimetre(run->check_area_m2));
    js_put(&object, "opening_pressure_kPa", js_kilopascal(run->check_opening_pa));
    js_put(&object, "annand", js_number(run->annand_1));
    js_put(&object, "method", json_string("docs/method.md, Cranking"));
    return object;
}

static json_t *cylinder(const ch_prediction *prediction, int number, bool working_wanted)
{
    json_t *row = json_object();
    js_put(&row, "cylinder", json_integer(number));
    js_put(&row, "gauge_kPa", js_numbers(prediction->gauge_pa[number - 1], (size_t)prediction->strokes, 1e3));
    if (working_wanted) {
        const ch_leak_areas *leaks = &prediction->leaks[number - 1];
        json_t *areas = json_object();
        js_put(&areas, "rings", js_square_millimetre(leaks->rings_m2));
        js_put(&areas, "intake_valve", js_square_millimetre(leaks->intake_valve_m2));
        js_put(&areas, "exhaust_valve", js_square_millimetre(leaks->exhaust_valve_m2));
        js_put(&areas, "neighbour", js_square_millimetre(leaks->neighbour_m2));
        js_put(&areas, "coolant", js_square_millimetre(leaks->coolant_m2));
        js_put(&row, "leaks_mm2", areas);
    }
    return row;
}

ch_status ch_show_prediction_json(const ch_prediction *prediction, bool working_wanted, ch_text *text, ch_err *err)
{
    json_t *root = json_object(), *cylinders = json_array();
    for (int c = 1; c <= prediction->cylinders; c++)
        js_add(&cylinders, cylinder(prediction, c, working_wanted));
    js_put(&root, "cylinders", cylinders);
    js_put(&root, "assumed", js_assumed(prediction->setup.assumed, takes_part));
    if (working_wanted)
        js_put(&root, "working", inputs(prediction));
    return js_finish(root, text, err);
}

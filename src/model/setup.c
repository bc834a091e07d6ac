/* Fills a sheet's gaps with stated defaults. Every default is a line of the table below; nothing is assumed anywhere else.
 *
 * Sources: docs/method.md, "Defaults". Standard atmosphere: ISO 2533. Gauge and leak defaults: section "Cranking" there. The rest is common
 * practice of engine design and marked so. */
#include "crosshatch/setup.h"

#include <math.h>
#include <stddef.h>

#include "crosshatch/atmosphere.h"
#include "crosshatch/prior.h"
#include "crosshatch/wet.h"

#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)

static const struct {
    const char *name;
    const char *reason;
} INPUTS[CH_INPUT_COUNT] = {
    [CH_INPUT_BORE] = {"bore", "86 mm, or the stroke where that is given: a two-litre four (common practice)"},
    [CH_INPUT_STROKE] = {"stroke", "equal to the bore (common practice)"},
    [CH_INPUT_ROD_LENGTH] = {"rod_length",
                             "1.65 strokes, the middle of small engines (Heywood 1988, 2.2: 3 to 4 crank radii)"},
    [CH_INPUT_COMPRESSION_RATIO] = {"compression_ratio",
                                    "9.5, the middle of the published engines of tests/data/engines"},
    [CH_INPUT_INTAKE_OPENS] = {"intake_opens_btdc", "10 degrees before top dead centre (common practice)"},
    [CH_INPUT_INTAKE_CLOSES] = {"intake_closes_abdc", "50 degrees after bottom dead centre (common practice)"},
    [CH_INPUT_EXHAUST_OPENS] = {"exhaust_opens_bbdc", "50 degrees before bottom dead centre (common practice)"},
    [CH_INPUT_EXHAUST_CLOSES] = {"exhaust_closes_atdc", "10 degrees after top dead centre (common practice)"},
    [CH_INPUT_AT_LIFT] = {"at_lift", "timing taken to hold at the seat, 0.1 mm of lift"},
    [CH_INPUT_INTAKE_VALVES] =
        {"intake_valves",
         "two of 0.37 bore with a lift of 0.27 of their diameter, or one of 0.45 bore (common practice)"},
    [CH_INPUT_EXHAUST_VALVES] =
        {"exhaust_valves",
         "two of 0.32 bore with a lift of 0.30 of their diameter, or one of 0.38 bore (common practice)"},
    [CH_INPUT_GAUGE_SPAN] = {"span", "300 psi, the usual dial (common practice)"},
    [CH_INPUT_GAUGE_ACCURACY] = {"accuracy", "3 % of span: no grade stated, so one worse than ASME B40.100 grade B"},
    [CH_INPUT_GAUGE_RESOLUTION] = {"resolution", "half of a 5 psi division, or the step in which the readings come"},
    [CH_INPUT_HOSE_VOLUME] = {"hose_volume", "12 ml behind the check valve, a 40 cm hose and a dial"},
    [CH_INPUT_DEAD_VOLUME] = {"dead_volume", "2 ml ahead of the check valve, which then sits at the plug end"},
    [CH_INPUT_VALVE_AREA] = {"valve_area", "1 mm2 effective"},
    [CH_INPUT_OPENING_PRESSURE] = {"opening_pressure", "7 kPa"},
    [CH_INPUT_AMBIENT_PRESSURE] = {"barometer", "standard atmosphere at the altitude, or at sea level (ISO 2533)"},
    [CH_INPUT_AIR_TEMPERATURE] = {"air_temperature", "standard atmosphere at the altitude, or at sea level (ISO 2533)"},
    [CH_INPUT_ENGINE_TEMPERATURE] = {"engine_temperature",
                                     "70 C: tested warm, plugs out after it has stood (common practice)"},
    [CH_INPUT_THROTTLE] =
        {"throttle",
         "open, as every manual asks; shut: 4 mm2 effective is left for each litre, about what an idle needs"},
    [CH_INPUT_CRANKING_SPEED] = {"cranking_speed", "220 rpm (makers print 150 to 500)"},
    [CH_INPUT_STROKES] = {"strokes", "8: five seconds at some 200 rpm (common practice)"},
    [CH_INPUT_ANNAND] = {"annand", "0.8 (Annand 1963)"},
    [CH_INPUT_CREVICE_FRACTION] = {"crevice_fraction", "0.015 of the clearance volume"},
    [CH_INPUT_VALVE_DISCHARGE] = {"valve_discharge", "0.6 (Heywood 1988, 6.3.2)"},
    [CH_INPUT_LEAKS] = {"leaks",
                        "a sound cylinder's rings, 0.25 mm2 effective at 84 mm bore, in proportion to the bore"},
};

const char *ch_input_name(ch_input input)
{
    return INPUTS[input].name;
}

const char *ch_input_reason(ch_input input)
{
    return INPUTS[input].reason;
}

static double take(const ch_quantity *quantity, double fallback, ch_setup *setup, ch_input input)
{
    const bool given = ch_quantity_given(quantity);
    setup->assumed[input] = !given;
    return given ? quantity->si : fallback;
}

static double take_number(double number, double fallback, ch_setup *setup, ch_input input)
{
    setup->assumed[input] = isnan(number);
    return isnan(number) ? fallback : number;
}

/* Valves of one kind: what is missing goes by the bore. */
static void take_valves(const ch_valve_set *set, double bore_m, double two_bore_1, double one_bore_1, double lift_1,
                        ch_setup *setup, ch_input input, ch_valve *valve)
{
    setup->assumed[input] = set->count == 0 || !ch_quantity_given(&set->diameter) || !ch_quantity_given(&set->lift);
    valve->count = set->count > 0 ? set->count : 2;
    const double part = valve->count == 1 ? one_bore_1 : two_bore_1 * sqrt(2.0 / valve->count);
    valve->diameter_m = ch_quantity_given(&set->diameter) ? set->diameter.si : part * bore_m;
    valve->lift_m = ch_quantity_given(&set->lift) ? set->lift.si : lift_1 * valve->diameter_m;
}

static ch_status take_day(const ch_sheet_conditions *day, ch_setup *setup, ch_err *err)
{
    const bool has_altitude = ch_quantity_given(&day->altitude);
    setup->assumed[CH_INPUT_AMBIENT_PRESSURE] =
        !ch_quantity_given(&day->barometer) && !ch_quantity_given(&day->sea_level_pressure);
    double ambient_pa = 0.0;
    ch_status rc = CH_OK;
    if (ch_quantity_given(&day->barometer)) {
        ambient_pa = day->barometer.si;
        setup->barometer_doubt_1 = 0.003;
    } else if (ch_quantity_given(&day->sea_level_pressure)) {
        rc = ch_atmosphere_station_pressure(day->sea_level_pressure.si, has_altitude ? day->altitude.si : 0.0,
                                            &ambient_pa, err);
        setup->barometer_doubt_1 = has_altitude ? 0.004 : 0.02;
    } else {
        rc = ch_atmosphere_pressure(has_altitude ? day->altitude.si : 0.0, &ambient_pa, err);
        /* Weather moves the barometer by about 1 % (common practice); an unknown place adds a few hundred metres. */
        setup->barometer_doubt_1 = has_altitude ? 0.010 : 0.022;
    }
    setup->cranking.ambient_pa = ambient_pa;
    setup->cranking.intake_pa = ambient_pa;
    double standard_k = 288.15;
    if (rc >= 0 && has_altitude)
        rc = ch_atmosphere_temperature(day->altitude.si, &standard_k, err);
    setup->cranking.air_k = take(&day->air_temperature, standard_k, setup, CH_INPUT_AIR_TEMPERATURE);
    setup->cranking.wall_k = take(&day->engine_temperature, 343.15, setup, CH_INPUT_ENGINE_TEMPERATURE);
    setup->cranking.speed_rad_s = take(&day->cranking_speed, 220.0 * 2.0 * PI / 60.0, setup, CH_INPUT_CRANKING_SPEED);
    setup->assumed[CH_INPUT_STROKES] = day->strokes == 0;
    setup->cranking.strokes = day->strokes > 0 ? day->strokes : 8;
    setup->assumed[CH_INPUT_THROTTLE] = day->throttle == CH_THROTTLE_UNSTATED;
    setup->throttle_shut = day->throttle == CH_THROTTLE_SHUT;
    return rc;
}

/* Even a gauge screwed onto its check valve holds some air; with less the model does not go. */
static const double LEAST_HOSE_M3 = 0.1e-6;

static void take_gauge(const ch_sheet_gauge *gauge, ch_setup *setup)
{
    const double psi = 6894.757293168361;
    setup->gauge_span_pa = take(&gauge->span, 300.0 * psi, setup, CH_INPUT_GAUGE_SPAN);
    setup->gauge_resolution_pa = take(&gauge->resolution, 2.5 * psi, setup, CH_INPUT_GAUGE_RESOLUTION);
    setup->assumed[CH_INPUT_GAUGE_ACCURACY] = gauge->accuracy_kind == CH_ACCURACY_UNSTATED;
    setup->cranking.hose_m3 = fmax(take(&gauge->hose_volume, 12e-6, setup, CH_INPUT_HOSE_VOLUME), LEAST_HOSE_M3);
    setup->cranking.dead_m3 = take(&gauge->dead_volume, 2e-6, setup, CH_INPUT_DEAD_VOLUME);
    setup->cranking.check_area_m2 = take(&gauge->valve_area, 1e-6, setup, CH_INPUT_VALVE_AREA);
    setup->cranking.check_opening_pa = take(&gauge->opening_pressure, 7e3, setup, CH_INPUT_OPENING_PRESSURE);
}

static ch_status take_timing(const ch_sheet_engine *engine, double unstated_lift_m, ch_setup *setup, ch_err *err)
{
    const ch_valve_timing *given = &engine->timing;
    ch_valve_timing *used = &setup->timing;
    *used = *given;
    used->intake_opens_btdc.si = take(&given->intake_opens_btdc, 10.0 * DEGREE, setup, CH_INPUT_INTAKE_OPENS);
    used->intake_closes_abdc.si = take(&given->intake_closes_abdc, 50.0 * DEGREE, setup, CH_INPUT_INTAKE_CLOSES);
    used->exhaust_opens_bbdc.si = take(&given->exhaust_opens_bbdc, 50.0 * DEGREE, setup, CH_INPUT_EXHAUST_OPENS);
    used->exhaust_closes_atdc.si = take(&given->exhaust_closes_atdc, 10.0 * DEGREE, setup, CH_INPUT_EXHAUST_CLOSES);
    setup->at_lift_m = take(&given->at_lift, unstated_lift_m, setup, CH_INPUT_AT_LIFT);
    /* 0 is the firing top dead centre: exhaust opens before the bottom after it and closes after the next top; the intake opens before
     * that top and closes after the next bottom. */
    ch_status rc = ch_valve_set_events(&setup->cranking.exhaust, PI - used->exhaust_opens_bbdc.si,
                                       2.0 * PI + used->exhaust_closes_atdc.si, setup->at_lift_m, err);
    if (rc >= 0)
        rc = ch_valve_set_events(&setup->cranking.intake, 2.0 * PI - used->intake_opens_btdc.si,
                                 3.0 * PI + used->intake_closes_abdc.si, setup->at_lift_m, err);
    return rc;
}

ch_status ch_setup_from_sheet(const ch_sheet *sheet, double unstated_lift_m, ch_setup *setup, ch_err *err)
{
    const ch_sheet_engine *engine = &sheet->engine;
    ch_setup made = {0};
    ch_cranking *cranking = &made.cranking;
    const double usual_bore_m = ch_quantity_given(&engine->stroke) ? engine->stroke.si : 0.086;
    cranking->bore.bore_m = take(&engine->bore, usual_bore_m, &made, CH_INPUT_BORE);
    cranking->bore.stroke_m = take(&engine->stroke, cranking->bore.bore_m, &made, CH_INPUT_STROKE);
    cranking->bore.rod_m = take(&engine->rod_length, 1.65 * cranking->bore.stroke_m, &made, CH_INPUT_ROD_LENGTH);
    if (!(cranking->bore.rod_m > 0.55 * cranking->bore.stroke_m))
        return ch_fail(err, CH_E_RANGE, "a rod longer than half the stroke, usually 1.5 to 2 strokes",
                       "rod length %.1f mm with a stroke of %.1f mm", cranking->bore.rod_m * 1e3,
                       cranking->bore.stroke_m * 1e3);
    made.compression_ratio = take_number(engine->compression_ratio, 9.5, &made, CH_INPUT_COMPRESSION_RATIO);
    cranking->clearance_m3 = ch_piston_clearance_m3(&cranking->bore, made.compression_ratio);
    cranking->crevice_m3 =
        take_number(sheet->model.crevice_fraction, 0.015, &made, CH_INPUT_CREVICE_FRACTION) * cranking->clearance_m3;
    cranking->annand_1 = take_number(sheet->model.annand, CH_PRIOR_ANNAND, &made, CH_INPUT_ANNAND);
    take_valves(&engine->intake_valves, cranking->bore.bore_m, 0.37, 0.45, 0.27, &made, CH_INPUT_INTAKE_VALVES,
                &cranking->intake);
    take_valves(&engine->exhaust_valves, cranking->bore.bore_m, 0.32, 0.38, 0.30, &made, CH_INPUT_EXHAUST_VALVES,
                &cranking->exhaust);
    const double discharge_1 = take_number(sheet->model.valve_discharge, 0.6, &made, CH_INPUT_VALVE_DISCHARGE);
    cranking->intake.discharge_1 = discharge_1;
    cranking->exhaust.discharge_1 = discharge_1;
    ch_status rc = take_timing(engine, unstated_lift_m, &made, err);
    if (rc < 0)
        return rc;
    take_gauge(&sheet->gauge, &made);
    rc = take_day(&sheet->conditions, &made, err);
    if (rc < 0)
        return rc;
    made.assumed[CH_INPUT_LEAKS] = sheet->leaks_count == 0;
    *setup = made;
    return CH_OK;
}

bool ch_setup_holds_dose(const ch_setup *setup, const ch_reading *wet)
{
    return !ch_quantity_given(&wet->oil) || wet->oil.si <= ch_wet_largest_dose_m3(setup->cranking.clearance_m3);
}

double ch_shut_throttle_area_m2(double displacement_m3)
{
    return 4e-6 * displacement_m3 / 1e-3;
}

ch_leak_areas ch_setup_leaks(const ch_sheet *sheet, const ch_setup *setup, int cylinder)
{
    ch_leak_areas areas = {0};
    if (sheet->leaks_count == 0) {
        areas.rings_m2 = CH_PRIOR_RING_M2_PER_M * setup->cranking.bore.bore_m;
        return areas;
    }
    for (size_t i = 0; i < sheet->leaks_count; i++) {
        const ch_leaks_row *row = &sheet->leaks[i];
        if (row->cylinder != 0 && row->cylinder != cylinder)
            continue;
        const struct {
            const ch_quantity *given;
            double *area;
        } paths[] = {
            {&row->rings, &areas.rings_m2},
            {&row->intake_valve, &areas.intake_valve_m2},
            {&row->exhaust_valve, &areas.exhaust_valve_m2},
            {&row->neighbour, &areas.neighbour_m2},
            {&row->coolant, &areas.coolant_m2},
        };
        for (size_t p = 0; p < sizeof paths / sizeof paths[0]; p++)
            if (ch_quantity_given(paths[p].given))
                *paths[p].area = paths[p].given->si;
    }
    return areas;
}

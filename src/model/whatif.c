/* The cranking model with its inputs moved. What moves is set into the setup that a sheet gives; the run is the model's own. */
#include "crosshatch/whatif.h"

#include <math.h>
#include <stddef.h>

#include "crosshatch/air.h"
#include "crosshatch/atmosphere.h"

#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)
#define RPM (2.0 * PI / 60.0)
#define ICE_K 273.15

/* As the sheet's own ranges, narrowed to what ch_cranking_run() takes. */
static const struct {
    const char *name;
    ch_dimension dimension;
    double least, most; /* both allowed */
    const char *right;
} INPUTS[CH_WHATIF_COUNT] = {
    [CH_WHATIF_ALTITUDE] = {"altitude", CH_DIM_LENGTH, -500.0, 6000.0, "-500 to 6000 m"},
    [CH_WHATIF_SEA_LEVEL_PRESSURE] = {"sea_level_pressure", CH_DIM_PRESSURE, 850e2, 1100e2,
                                      "850 to 1100 hPa, as a forecast gives it"},
    [CH_WHATIF_AIR_TEMPERATURE] = {"air_temperature", CH_DIM_TEMPERATURE, ICE_K - 60.0, ICE_K + 70.0, "-60 to 70 C"},
    [CH_WHATIF_ENGINE_TEMPERATURE] = {"engine_temperature", CH_DIM_TEMPERATURE, ICE_K - 60.0, ICE_K + 150.0,
                                      "-60 to 150 C"},
    [CH_WHATIF_CRANKING_SPEED] = {"cranking_speed", CH_DIM_SPIN, 30.0 * RPM, 1000.0 * RPM, "30 to 1000 rpm"},
    [CH_WHATIF_STROKES] = {"strokes", CH_DIM_RATIO, 1.0, 100.0, "1 to 100"},
    [CH_WHATIF_THROTTLE] = {"throttle", CH_DIM_RATIO, 0.0, 1.0, "open or shut"},
    [CH_WHATIF_COMPRESSION_RATIO] = {"compression_ratio", CH_DIM_RATIO, 2.0, 30.0, "2 to 30"},
    [CH_WHATIF_INTAKE_CLOSES] = {"intake_closes", CH_DIM_ANGLE, -60.0 * DEGREE, 120.0 * DEGREE,
                                 "-60 to 120 degrees after bottom dead centre"},
    [CH_WHATIF_HOSE_VOLUME] = {"hose_volume", CH_DIM_VOLUME, 0.1e-6, 1e-3, "0.1 to 1000 ml"},
    [CH_WHATIF_DEAD_VOLUME] = {"dead_volume", CH_DIM_VOLUME, 0.0, 1e-3, "0 to 1000 ml"},
    [CH_WHATIF_RINGS] = {"rings", CH_DIM_AREA, 0.0, 1e-4, "0 to 100 mm2"},
    [CH_WHATIF_INTAKE_VALVE] = {"intake_valve", CH_DIM_AREA, 0.0, 1e-4, "0 to 100 mm2"},
    [CH_WHATIF_EXHAUST_VALVE] = {"exhaust_valve", CH_DIM_AREA, 0.0, 1e-4, "0 to 100 mm2"},
};

const char *ch_whatif_name(ch_whatif_input input)
{
    return INPUTS[input].name;
}

ch_dimension ch_whatif_dimension(ch_whatif_input input)
{
    return INPUTS[input].dimension;
}

ch_status ch_whatif_check(ch_whatif_input input, double si, ch_err *err)
{
    const double slack = 1e-9 * fabs(INPUTS[input].most); /* a limit typed in another unit comes back rounded */
    if (!(si >= INPUTS[input].least - slack && si <= INPUTS[input].most + slack))
        return ch_fail(err, CH_E_RANGE, INPUTS[input].right, "outside what the model holds for");
    if (input == CH_WHATIF_STROKES && si != floor(si))
        return ch_fail(err, CH_E_RANGE, "a whole number, 1 to 100", "not a number of strokes");
    return CH_OK;
}

/* ---------------------------------------------------------------- from a sheet */

/* Where a pressure that falls or rises steadily from `least` to `most` stands at `wanted_pa`; NAN where it does not. */
typedef double pressure_at(double at, double fixed);

static double station_of_sea_level(double sea_level_pa, double altitude_m)
{
    double station_pa = NAN;
    return ch_atmosphere_station_pressure(sea_level_pa, altitude_m, &station_pa, NULL) >= 0 ? station_pa : NAN;
}

static double station_of_altitude(double altitude_m, double sea_level_pa)
{
    return station_of_sea_level(sea_level_pa, altitude_m);
}

static double solve(pressure_at *pressure, double fixed, double least, double most, double wanted_pa)
{
    const double rises = pressure(most, fixed) > pressure(least, fixed) ? 1.0 : -1.0;
    if (!(rises * (wanted_pa - pressure(least, fixed)) >= 0.0 && rises * (pressure(most, fixed) - wanted_pa) >= 0.0))
        return NAN;
    for (int turn = 0; turn < 60; turn++) { /* to the last bit of a double */
        const double middle = 0.5 * (least + most);
        if (rises * (pressure(middle, fixed) - wanted_pa) < 0.0)
            least = middle;
        else
            most = middle;
    }
    return 0.5 * (least + most);
}

static void take_barometer(const ch_sheet_conditions *day, double ambient_pa, ch_whatif_inputs *inputs)
{
    double altitude_m = ch_quantity_given(&day->altitude) ? day->altitude.si : 0.0;
    double sea_level_pa = solve(station_of_sea_level, altitude_m, INPUTS[CH_WHATIF_SEA_LEVEL_PRESSURE].least,
                                INPUTS[CH_WHATIF_SEA_LEVEL_PRESSURE].most, ambient_pa);
    if (isnan(sea_level_pa)) {
        sea_level_pa = 101325.0;
        altitude_m = solve(station_of_altitude, sea_level_pa, -700.0, 10000.0, ambient_pa);
    }
    inputs->si[CH_WHATIF_ALTITUDE] = altitude_m;
    inputs->si[CH_WHATIF_SEA_LEVEL_PRESSURE] = sea_level_pa;
}

ch_status ch_whatif_from_sheet(const ch_sheet *sheet, ch_whatif_inputs *inputs, ch_err *err)
{
    ch_setup setup;
    const ch_status rc = ch_setup_from_sheet(sheet, CH_SEAT_LIFT_M, &setup, err);
    if (rc < 0)
        return rc;
    const ch_cranking *cranking = &setup.cranking;
    const ch_leak_areas leaks = ch_setup_leaks(sheet, &setup, 1);
    ch_whatif_inputs made = {{
        [CH_WHATIF_AIR_TEMPERATURE] = cranking->air_k,
        [CH_WHATIF_ENGINE_TEMPERATURE] = cranking->wall_k,
        [CH_WHATIF_CRANKING_SPEED] = cranking->speed_rad_s,
        [CH_WHATIF_STROKES] = cranking->strokes,
        [CH_WHATIF_THROTTLE] = setup.throttle_shut ? 1.0 : 0.0,
        [CH_WHATIF_COMPRESSION_RATIO] = setup.compression_ratio,
        [CH_WHATIF_INTAKE_CLOSES] = setup.timing.intake_closes_abdc.si,
        [CH_WHATIF_HOSE_VOLUME] = cranking->hose_m3,
        [CH_WHATIF_DEAD_VOLUME] = cranking->dead_m3,
        [CH_WHATIF_RINGS] = leaks.rings_m2,
        [CH_WHATIF_INTAKE_VALVE] = leaks.intake_valve_m2,
        [CH_WHATIF_EXHAUST_VALVE] = leaks.exhaust_valve_m2,
    }};
    take_barometer(&sheet->conditions, cranking->ambient_pa, &made);
    *inputs = made;
    return CH_OK;
}

/* ---------------------------------------------------------------- one run */

static ch_status set(const ch_whatif_inputs *inputs, ch_setup *setup, ch_err *err)
{
    ch_cranking *cranking = &setup->cranking;
    const double *si = inputs->si;
    for (int i = 0; i < CH_WHATIF_COUNT; i++) {
        const ch_status rc = ch_whatif_check((ch_whatif_input)i, si[i], err);
        if (rc < 0)
            return rc;
    }
    ch_status rc = ch_atmosphere_station_pressure(si[CH_WHATIF_SEA_LEVEL_PRESSURE], si[CH_WHATIF_ALTITUDE],
                                                  &cranking->ambient_pa, err);
    if (rc < 0)
        return rc;
    cranking->intake_pa = cranking->ambient_pa;
    cranking->air_k = si[CH_WHATIF_AIR_TEMPERATURE];
    cranking->wall_k = si[CH_WHATIF_ENGINE_TEMPERATURE];
    cranking->speed_rad_s = si[CH_WHATIF_CRANKING_SPEED];
    cranking->strokes = (int)si[CH_WHATIF_STROKES];
    setup->throttle_shut = si[CH_WHATIF_THROTTLE] > 0.5;
    const double clearance_m3 = ch_piston_clearance_m3(&cranking->bore, si[CH_WHATIF_COMPRESSION_RATIO]);
    cranking->crevice_m3 *= clearance_m3 / cranking->clearance_m3;
    cranking->clearance_m3 = clearance_m3;
    cranking->hose_m3 = si[CH_WHATIF_HOSE_VOLUME];
    cranking->dead_m3 = si[CH_WHATIF_DEAD_VOLUME];
    cranking->leaks.rings_m2 = si[CH_WHATIF_RINGS];
    cranking->leaks.intake_valve_m2 = si[CH_WHATIF_INTAKE_VALVE];
    cranking->leaks.exhaust_valve_m2 = si[CH_WHATIF_EXHAUST_VALVE];
    return ch_valve_set_events(&cranking->intake, 2.0 * PI - setup->timing.intake_opens_btdc.si,
                               3.0 * PI + si[CH_WHATIF_INTAKE_CLOSES], setup->at_lift_m, err);
}

/* What the model tells of its last stroke, as it goes. */
typedef struct watcher {
    const ch_cranking *cranking;
    ch_whatif_run *run;
    double top_rad;                           /* of the last stroke */
    double angle_rad, pressure_pa, volume_m3; /* of the step before */
    bool closed, topped;
} watcher;

static double volume_m3(const ch_cranking *cranking, double angle_rad)
{
    return cranking->clearance_m3 + cranking->dead_m3 +
           0.25 * PI * cranking->bore.bore_m * cranking->bore.bore_m * ch_piston_travel_m(&cranking->bore, angle_rad);
}

static double mass_kg(const ch_cranking *cranking, double angle_rad, double pressure_pa, double temp_k)
{
    return pressure_pa / CH_AIR_R * (volume_m3(cranking, angle_rad) / temp_k + cranking->crevice_m3 / cranking->wall_k);
}

static void put(watcher *w, double angle_rad, double pressure_pa)
{
    ch_whatif_run *run = w->run;
    if (run->points == CH_WHATIF_POINTS)
        return;
    run->angle_rad[run->points] = angle_rad;
    run->pressure_pa[run->points++] = pressure_pa - w->cranking->ambient_pa;
}

/* Steps are up to 20 degrees long. Between their ends the gas follows p V^n, with the n that joins them; the dead centres are ends of steps, so
 * the volume goes one way within each. */
static void fill(watcher *w, double angle_rad, double pressure_pa)
{
    const double apart = 3.0 * DEGREE;
    const double volume = volume_m3(w->cranking, angle_rad), turn = log(w->volume_m3 / volume);
    const int parts = (int)ceil((angle_rad - w->angle_rad) / apart);
    for (int i = 1; i < parts && fabs(turn) > 1e-6; i++) {
        const double at = w->angle_rad + (angle_rad - w->angle_rad) * i / parts;
        const double part = log(w->volume_m3 / volume_m3(w->cranking, at)) / turn;
        put(w, at, w->pressure_pa * pow(pressure_pa / w->pressure_pa, part));
    }
}

static void look(void *context, double angle_rad, double pressure_pa, double temp_k, double gauge_pa)
{
    (void)gauge_pa;
    watcher *w = context;
    ch_whatif_facts *facts = &w->run->facts;
    const double at = angle_rad - w->top_rad, near = 1e-6;
    if (at < -PI - near || at > PI + near)
        return;
    if (w->run->points > 0)
        fill(w, at, pressure_pa);
    put(w, at, pressure_pa);
    if (!w->closed && at >= w->run->closing_rad - near) {
        w->closed = true;
        facts->closing_kg = mass_kg(w->cranking, at, pressure_pa, temp_k);
        facts->closing_k = temp_k;
    }
    if (!w->topped && at >= -near) {
        w->topped = true;
        facts->lost_1 = 1.0 - mass_kg(w->cranking, at, pressure_pa, temp_k) / facts->closing_kg;
        facts->top_k = temp_k;
        facts->top_pa = pressure_pa;
    }
    w->angle_rad = at;
    w->pressure_pa = pressure_pa;
    w->volume_m3 = volume_m3(w->cranking, at);
}

static ch_status run_one(const ch_sheet *sheet, const ch_whatif_inputs *inputs, ch_whatif_run *run, ch_err *err)
{
    ch_setup setup;
    ch_status rc = ch_setup_from_sheet(sheet, CH_SEAT_LIFT_M, &setup, err);
    if (rc < 0)
        return rc;
    setup.cranking.leaks = ch_setup_leaks(sheet, &setup, 1);
    rc = set(inputs, &setup, err);
    if (rc < 0)
        return rc;
    ch_cranking *cranking = &setup.cranking;
    const int cylinders = sheet->engine.cylinders > 0 ? sheet->engine.cylinders : 4;
    if (setup.throttle_shut)
        rc = ch_cranking_intake_pa(cranking, cylinders,
                                   ch_shut_throttle_area_m2(cylinders * ch_piston_swept_m3(&cranking->bore)),
                                   &cranking->intake_pa, err);
    if (rc < 0)
        return rc;
    *run = (ch_whatif_run){.strokes = cranking->strokes};
    /* The intake opens ahead of the bottom dead centre from which the last stroke is counted. */
    run->closing_rad = cranking->intake.opens_rad + cranking->intake.duration_rad - 4.0 * PI;
    watcher w = {.cranking = cranking, .run = run, .top_rad = 4.0 * PI * (cranking->strokes - 1)};
    rc = ch_cranking_run(cranking, CH_CRANKING_TOLERANCE, run->stroke_gauge_pa, NULL, look, &w, err);
    if (rc < 0)
        return rc;
    ch_whatif_facts *facts = &run->facts;
    facts->gauge_pa = run->stroke_gauge_pa[run->strokes - 1];
    facts->first_gauge_pa = run->stroke_gauge_pa[0];
    while (run->stroke_gauge_pa[facts->settled++] < 0.95 * facts->gauge_pa) {
    }
    facts->ambient_pa = cranking->ambient_pa;
    facts->intake_pa = cranking->intake_pa;
    facts->compression_s = PI / cranking->speed_rad_s;
    facts->closing_ratio_1 = volume_m3(cranking, run->closing_rad) / volume_m3(cranking, 0.0);
    return CH_OK;
}

ch_status ch_whatif_compute(const ch_sheet *sheet, const ch_whatif_inputs *before, const ch_whatif_inputs *now,
                            ch_whatif *whatif, ch_err *err)
{
    ch_whatif made = {.before = *before, .now = *now};
    int moved = 0;
    for (int i = 0; i < CH_WHATIF_COUNT; i++) {
        made.changed[i] = before->si[i] != now->si[i];
        moved += made.changed[i];
    }
    ch_status rc = run_one(sheet, before, &made.before_run, err);
    if (rc >= 0 && moved > 0)
        rc = run_one(sheet, now, &made.now_run, err);
    else
        made.now_run = made.before_run;
    for (int i = 0; rc >= 0 && i < CH_WHATIF_COUNT; i++) {
        if (!made.changed[i])
            continue;
        if (moved == 1) {
            made.alone[i] = made.now_run.facts;
            continue;
        }
        ch_whatif_inputs one = *before;
        ch_whatif_run run;
        one.si[i] = now->si[i];
        rc = run_one(sheet, &one, &run, err);
        made.alone[i] = run.facts;
    }
    if (rc < 0)
        return rc;
    *whatif = made;
    return CH_OK;
}

/* Promises of car/sheet_read.c: what is read of a sheet, and every refusal with its place. */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sheet.h"
#include "expect.h"
#include "fail_alloc.h"

#define HEAD "sheet: 1\nengine: {cylinders: 4}\n"
#define ROW "compression: [{cylinder: 1, reading: 176 psi}]\n"

static char full[20000];
static size_t full_length;

static int load_full(void **state)
{
    (void)state;
    char path[4096];
    snprintf(path, sizeof path, "%s/tests/data/sheets/full.yaml", getenv("CROSSHATCH_SOURCE"));
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    full_length = fread(full, 1, sizeof full - 1, file);
    full[full_length] = '\0';
    fclose(file);
    return 0;
}

static void refuse_as(const char *name, const char *text, size_t length, ch_status status, const char *line)
{
    ch_sheet sheet;
    ch_err err = {0};
    const ch_status rc = ch_sheet_parse(name, text, length, &sheet, &err);
    char got[700];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_int_equal(rc, status);
    assert_null(sheet.compression); /* nothing to clear */
    assert_int_equal(ch_sheet_parse(name, text, length, &sheet, NULL), status);
}

static void refuse(const char *text, const char *line)
{
    refuse_as("s.yaml", text, strlen(text), CH_E_INPUT, line);
}

static void accept(const char *text, ch_sheet *sheet)
{
    ch_err err = {0};
    if (ch_sheet_parse("s.yaml", text, strlen(text), sheet, &err) != CH_OK) {
        char line[700];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void accepted(const char *text)
{
    ch_sheet sheet;
    accept(text, &sheet);
    ch_sheet_clear(&sheet);
    assert_null(sheet.compression);
}

/* Values of full.yaml in SI. psi: NIST SP 811 (2008), Appendix B.8; the rest by definition. 1e-12: a few roundings of a double. */
static void every_field_arrives_in_si(void **state)
{
    (void)state;
    ch_sheet s;
    accept(full, &s);
    const double psi = 6894.757293168361;
    assert_string_equal(s.title, "Hill climb car, first test of the winter");
    assert_string_equal(s.note, "Battery on the charger throughout.\nPlugs 3 and 4 looked oily.");
    assert_string_equal(s.bare_unit[CH_DIM_PRESSURE]->name, "psi");
    assert_string_equal(s.bare_unit[CH_DIM_LENGTH]->name, "mm");
    assert_null(s.bare_unit[CH_DIM_VOLUME]);
    assert_null(s.bare_distance);
    const ch_sheet_engine *e = &s.engine;
    assert_int_equal(e->cylinders, 4);
    assert_int_equal(e->layout, CH_LAYOUT_INLINE);
    assert_int_equal(e->firing_order[1], 3);
    assert_int_equal(e->firing_order[4], 0);
    expect_relative(e->bore.si, 0.0805, 1e-12);
    expect_relative(e->stroke.si, 0.088, 1e-12);
    expect_relative(e->rod_length.si, 0.140, 1e-12);
    expect_relative(e->compression_ratio, 9.6, 1e-12);
    const double degree = 3.14159265358979324 / 180;
    expect_relative(e->timing.intake_opens_btdc.si, 5 * degree, 1e-12);
    expect_relative(e->timing.intake_closes_abdc.si, 48 * degree, 1e-12);
    expect_relative(e->timing.exhaust_opens_bbdc.si, 53 * degree, 1e-12);
    expect_relative(e->timing.exhaust_closes_atdc.si, 3 * degree, 1e-12);
    expect_relative(e->timing.at_lift.si, 1e-4, 1e-12);
    assert_int_equal(e->intake_valves.count, 2);
    expect_relative(e->intake_valves.diameter.si, 0.031, 1e-12);
    expect_relative(e->exhaust_valves.diameter.si, 0.027, 1e-12);
    expect_relative(e->exhaust_valves.lift.si, 0.0085, 1e-12);
    expect_relative(e->limits.standard.si, 185 * psi, 1e-12);
    expect_relative(e->limits.minimum.si, 140 * psi, 1e-12);
    expect_relative(e->limits.spread.si, 25 * psi, 1e-12);
    expect_relative(s.gauge.span.si, 300 * psi, 1e-12);
    assert_int_equal(s.gauge.accuracy_kind, CH_ACCURACY_OF_SPAN);
    expect_relative(s.gauge.accuracy.si, 0.02, 1e-12);
    assert_null(s.gauge.grade);
    expect_relative(s.gauge.resolution.si, 2 * psi, 1e-12);
    expect_relative(s.gauge.hose_volume.si, 12e-6, 1e-12);
    expect_relative(s.gauge.dead_volume.si, 2e-6, 1e-12);
    expect_relative(s.gauge.valve_area.si, 1e-6, 1e-12);
    expect_relative(s.gauge.opening_pressure.si, 7000.0, 1e-12);
    const ch_sheet_conditions *c = &s.conditions;
    assert_int_equal(c->date.year * 10000 + c->date.month * 100 + c->date.day, 20270116);
    expect_relative(c->altitude.si, 450.0, 1e-12);
    expect_relative(c->barometer.si, 96200.0, 1e-12);
    expect_relative(c->sea_level_pressure.si, 101600.0, 1e-12);
    expect_relative(c->air_temperature.si, 282.15, 1e-12);
    expect_relative(c->engine_temperature.si, 343.15, 1e-12);
    assert_int_equal(c->throttle, CH_THROTTLE_OPEN);
    expect_relative(c->cranking_speed.si, 220 * 3.14159265358979324 / 30, 1e-12);
    assert_int_equal(c->strokes, 8);
    expect_relative(c->odometer.si, 187200e3, 1e-12);
    expect_relative(c->engine_hours.si, 412 * 3600.0, 1e-12);
    assert_int_equal(s.compression_count, 4);
    assert_int_equal(s.compression[1].cylinder, 2);
    expect_relative(s.compression[0].reading.si, 176 * psi, 1e-12);
    assert_true(s.compression[0].reading.bare);
    expect_relative(s.compression[0].first_stroke.si, 82 * psi, 1e-12);
    assert_true(isnan(s.compression[0].oil.si) && isnan(s.compression[1].first_stroke.si)); /* not given */
    expect_relative(s.compression[2].reading.si, 12.1e5, 1e-12);
    assert_string_equal(s.compression[2].note, "read twice");
    assert_int_equal(s.compression[2].line, 24);
    assert_int_equal(s.compression[2].column, 5);
    assert_int_equal(s.wet_count, 1);
    expect_relative(s.wet[0].oil.si, 10e-6, 1e-12);
    assert_int_equal(s.leakdown_count, 2);
    expect_relative(s.leakdown[0].supply.si, 100 * psi, 1e-12);
    expect_relative(s.leakdown[0].loss.si, 0.18, 1e-12);
    expect_relative(s.leakdown[0].orifice.si, 1.016e-3, 1e-12);
    assert_int_equal(s.leakdown[0].heard, CH_HEARD_EXHAUST);
    assert_int_equal(s.leakdown[0].heard_cylinders, 1);
    expect_relative(s.leakdown[1].loss.si, 0.065, 1e-12);
    assert_int_equal(s.leakdown[1].heard, CH_HEARD_NOTHING);
    assert_int_equal(s.observed_count, 3);
    assert_string_equal(s.observed[1].what, "oily_plug");
    assert_int_equal(s.observed[0].cylinder, 0);
    assert_int_equal(s.observed[1].cylinder, 2);
    assert_false(s.observed[1].absent);
    assert_true(s.observed[2].absent);
    expect_relative(s.model.annand, 0.8, 1e-12);
    expect_relative(s.model.crevice_fraction, 0.015, 1e-12);
    expect_relative(s.model.valve_discharge, 0.6, 1e-12);
    assert_int_equal(s.leaks_count, 2);
    assert_int_equal(s.leaks[0].cylinder, 0);
    expect_relative(s.leaks[0].rings.si, 0.6e-6, 1e-12);
    expect_relative(s.leaks[1].coolant.si, 0.2e-6, 1e-12);
    assert_true(isnan(s.leaks[0].neighbour.si));
    ch_sheet_clear(&s);
    assert_null(s.title);
    assert_true(isnan(s.engine.bore.si));
}

static void what_is_not_given_is_not_a_number(void **state)
{
    (void)state;
    ch_sheet s;
    accept(HEAD ROW, &s);
    assert_int_equal(s.engine.layout, CH_LAYOUT_UNSTATED);
    assert_int_equal(s.engine.firing_order[0], 0);
    assert_true(isnan(s.engine.bore.si) && isnan(s.engine.compression_ratio) && isnan(s.engine.timing.at_lift.si));
    assert_true(isnan(s.gauge.accuracy.si) && s.gauge.accuracy_kind == CH_ACCURACY_UNSTATED);
    assert_true(isnan(s.model.annand) && isnan(s.conditions.altitude.si));
    assert_int_equal(s.conditions.throttle, CH_THROTTLE_UNSTATED);
    assert_int_equal(s.conditions.strokes, 0);
    assert_false(ch_date_given(s.conditions.date));
    assert_null(s.title);
    ch_sheet_clear(&s);
}

static void quotes_and_json_change_nothing(void **state)
{
    (void)state;
    static const char json[] =
        "{\"sheet\": 1, \"engine\": {\"cylinders\": \"4\", \"bore\": \"84 mm\", \"compression_ratio\": 9.5},\r\n"
        " \"compression\": [{\"cylinder\": 2.0, \"reading\": \"178 psi\"}]}";
    ch_sheet a, b;
    accept("\xEF\xBB\xBFsheet: '1'\r\nengine: {cylinders: 4, bore: '84 mm', compression_ratio: "
           "9.5}\r\ncompression:\r\n- cylinder: 2\r\n"
           "  reading: 178psi\r\n",
           &a);
    ch_err err = {0};
    assert_int_equal(ch_sheet_parse("s.json", json, sizeof json - 1, &b, &err), CH_OK);
    assert_int_equal(a.compression[0].cylinder, b.compression[0].cylinder);
    assert_true(a.compression[0].reading.si == b.compression[0].reading.si && a.engine.bore.si == b.engine.bore.si);
    assert_int_equal(a.compression[0].line, 4);
    assert_int_equal(b.compression[0].line, 2);
    ch_sheet_clear(&a);
    ch_sheet_clear(&b);
}

static void what_people_write_is_taken(void **state)
{
    (void)state;
    ch_sheet s;
    accept(
        "sheet: 1\nunits: {distance: km, ratio: '%', angle: rad, speed: rpm, time: h, temperature: C, area: mm2, "
        "volume: ml}\n"
        "engine: {cylinders: 2, compression_ratio: '9,6:1', valve_timing: {intake_opens_btdc: -0.1}}\n"
        "conditions: {altitude: 0.45, odometer: 187200, throttle: closed, cranking_speed: 200, air_temperature: -5}\n"
        "leakdown: [{cylinder: 1, loss: 12, heard: cylinder_2}, {cylinder: 2, heard: [intake, oil_filler]}]\n",
        &s);
    expect_relative(s.engine.compression_ratio, 9.6, 1e-12);
    expect_relative(s.engine.timing.intake_opens_btdc.si, -0.1, 1e-12);
    expect_relative(s.conditions.altitude.si, 450.0, 1e-12);
    expect_relative(s.conditions.odometer.si, 187200e3, 1e-12);
    expect_relative(s.conditions.air_temperature.si, 268.15, 1e-12);
    assert_int_equal(s.conditions.throttle, CH_THROTTLE_SHUT);
    expect_relative(s.leakdown[0].loss.si, 0.12, 1e-12);
    assert_int_equal(s.leakdown[0].heard_cylinders, 2);
    assert_int_equal(s.leakdown[1].heard, CH_HEARD_INTAKE | CH_HEARD_OIL_FILLER);
    assert_true(isnan(s.leakdown[1].loss.si));
    ch_sheet_clear(&s);
    accepted(HEAD "leaks: [{cylinder: all}]\n");                     /* for predict */
    accepted(HEAD "compression: [{cylinder: 1, reading: 0 psi}]\n"); /* a dead cylinder */
    accepted("sheet: 1\nengine: {cylinders: 32}\ncompression: [{cylinder: 32, reading: 1 MPa}]\n");
    accepted(
        "sheet: 1\nengine: {cylinders: 1, bore: 10 mm, stroke: 300 mm}\n" ROW); /* the ends of a range belong to it */
}

static void refuse_typed(const char *name, const char *text, const char *line)
{
    ch_sheet sheet;
    ch_err err = {0};
    char got[700];
    assert_int_equal(ch_sheet_parse_typed(name, text, strlen(text), &sheet, &err), CH_E_INPUT);
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_null(sheet.compression);
    assert_int_equal(ch_sheet_parse_typed(name, text, strlen(text), &sheet, NULL), CH_E_INPUT);
    assert_int_equal(ch_sheet_parse(name, text, strlen(text), &sheet, &err),
                     CH_OK); /* as it was understood when it was kept */
    ch_sheet_clear(&sheet);
}

static void accept_typed(const char *name, const char *text)
{
    ch_sheet sheet;
    ch_err err = {0};
    if (ch_sheet_parse_typed(name, text, strlen(text), &sheet, &err) != CH_OK)
        fail_msg("%s: %s", text, err.what);
    ch_sheet_clear(&sheet);
}

/* Where thousands are usual, and nowhere else. */
static void what_may_be_thousands_is_refused_of_what_a_person_typed(void **state)
{
    (void)state;
#define AMBIGUOUS(n, right) "\"" n "\" is ambiguous: a point and three digits may mean thousands: " right
    refuse_typed("s.yaml", HEAD "conditions: {odometer: 298.400 km}\n" ROW,
                 "s.yaml:3:24: odometer: " AMBIGUOUS("298.400", "298.4000 for a decimal point, 298400 for thousands"));
    refuse_typed("s.yaml", HEAD "units: {distance: mi}\nconditions:\n  odometer: 98.400\n" ROW,
                 "s.yaml:5:13: odometer: " AMBIGUOUS("98.400", "98.4000 for a decimal point, 98400 for thousands"));
    refuse_typed("s.yaml", HEAD "conditions: {altitude: 1.250 m}\n" ROW,
                 "s.yaml:3:24: altitude: " AMBIGUOUS("1.250", "1.2500 for a decimal point, 1250 for thousands"));
    refuse_typed("s.yaml", HEAD "conditions: {engine_hours: 1.412 h}\n" ROW,
                 "s.yaml:3:28: engine_hours: " AMBIGUOUS("1.412", "1.4120 for a decimal point, 1412 for thousands"));
    refuse_typed("s.json",
                 "{\"sheet\": 1, \"engine\": {\"cylinders\": 4}, \"conditions\": {\"odometer\": \"298.400 km\"},\n"
                 "\"compression\": [{\"cylinder\": 1, \"reading\": \"176 psi\"}]}",
                 "s.json:1:69: odometer: " AMBIGUOUS("298.400", "298.4000 for a decimal point, 298400 for thousands"));
    accept_typed("s.json", "{\"sheet\": 1, \"units\": {\"distance\": \"km\"}, \"engine\": {\"cylinders\": 4}, "
                           "\"conditions\": {\"odometer\": 298.412},\n"
                           "\"compression\": [{\"cylinder\": 1, \"reading\": \"176 psi\"}]}");
    accept_typed(
        "s.yaml",
        "sheet: 1\nengine: {cylinders: 4, bore: 86.000 mm, stroke: 3.500 in, rod_length: 0.141 m, "
        "compression_ratio: 10.000}\n"
        "gauge: {span: 20.000 bar}\nconditions: {odometer: 298.4 km, altitude: 0.250 km, engine_hours: 412.5 h, "
        "cranking_speed: 220.000 rpm, engine_temperature: 70.000 C}\n"
        "compression: [{cylinder: 1, reading: 12.125 bar}]\n");
}

static void an_unknown_key_names_the_nearest(void **state)
{
    (void)state;
    refuse("sheet: 1\nengine:\n  cylinders: 4\n  boer: 84 mm\n" ROW,
           "s.yaml:4:3: unknown key \"boer\": did you mean \"bore\"?");
    refuse("plan: 1\nbudget: 1500\n",
           "s.yaml:1:1: \"plan\" is the key of a winter plan: a test sheet, which says `sheet: 1`");
    refuse(HEAD ROW "gauges: {}\n", "s.yaml:4:1: unknown key \"gauges\": did you mean \"gauge\"?");
    refuse(HEAD "compression: [{cylinder: 1, reading: 1 MPa, oil: 3 ml}]\n",
           "s.yaml:3:45: unknown key \"oil\": one of cylinder, reading, first_stroke, note");
    refuse("sheet: 1\nunits: {presure: psi}\nengine: {cylinders: 4}\n" ROW,
           "s.yaml:2:9: unknown key \"presure\": did you mean \"pressure\"?");
    refuse(HEAD ROW "<<: {a: 1}\n",
           "s.yaml:4:1: unknown key \"<<\": one of sheet, title, note, units, engine, gauge, conditions, "
           "compression, wet, leakdown, observed, model, leaks");
    refuse(HEAD ROW "\"a\\e[31m\": 1\n",
           "s.yaml:4:1: unknown key \"a?[31m\": one of sheet, title, note, units, engine, gauge, conditions, "
           "compression, wet, leakdown, observed, model, leaks");
}

static void a_missing_unit_is_explained(void **state)
{
    (void)state;
    refuse("sheet: 1\nengine: {cylinders: 4, bore: 84}\n" ROW,
           "s.yaml:2:30: bore: \"84\" has no unit: the number with its unit, as in \"84 mm\", or once for the whole "
           "sheet units: {length: mm}");
    refuse(HEAD "compression:\n  - {cylinder: 1, reading: 176}\n",
           "s.yaml:4:28: reading: \"176\" has no unit: the number with its unit, as in \"176 psi\", or once for the "
           "whole sheet units: "
           "{pressure: psi}");
    refuse(
        "sheet: 1\nunits: {length: m}\nengine: {cylinders: 4}\nconditions: {altitude: 450}\n" ROW, /* length is not distance */
        "s.yaml:4:24: altitude: \"450\" has no unit: the number with its unit, as in \"450 m\", or once for the whole "
        "sheet units: "
        "{distance: km}");
    refuse(HEAD "leakdown: [{cylinder: 1, loss: 18}]\n",
           "s.yaml:3:32: loss: \"18\" has no unit: the number with its unit, as in \"18 %\", or once for the whole "
           "sheet units: {ratio: %}");
}

static void a_wrong_dimension_is_refused(void **state)
{
    (void)state;
    refuse("sheet: 1\nengine: {cylinders: 4, bore: 84 psi}\n" ROW,
           "s.yaml:2:30: bore: pressure given where a length is wanted: mm, cm, in, m, ft, km, mi");
    refuse("sheet: 1\nunits: {pressure: mm}\nengine: {cylinders: 4}\n" ROW,
           "s.yaml:2:19: units: pressure: \"mm\" is not a unit of pressure: psi, kPa, Pa, MPa, hPa, mbar, bar, "
           "kgf/cm2, at, inHg, mmHg, Torr, atm");
    refuse("sheet: 1\nunits: {length: furlong}\nengine: {cylinders: 4}\n" ROW,
           "s.yaml:2:17: units: length: \"furlong\" is not a unit of length: mm, cm, in, m, ft, km, mi");
    refuse(HEAD "compression: [{cylinder: 1, reading: 176 pis}]\n",
           "s.yaml:3:38: reading: unknown unit \"pis\" where a pressure is wanted: psi is the nearest of psi, kPa, Pa, "
           "MPa, hPa, mbar, bar, "
           "kgf/cm2, at, inHg, mmHg, Torr, atm");
}

static void what_no_engine_can_have_is_refused(void **state)
{
    (void)state;
    refuse(HEAD "compression: [{cylinder: 1, reading: -1 psi}]\n",
           "s.yaml:3:38: reading: -1 psi is out of range: 0 to 100 MPa above the air's pressure");
    refuse(HEAD "compression: [{cylinder: 1, reading: 100001 kPa}]\n",
           "s.yaml:3:38: reading: 100001 kPa is out of range: 0 to 100 MPa above the air's pressure");
    refuse(HEAD "gauge: {span: 0 psi}\n" ROW, "s.yaml:3:15: span: 0 psi is out of range: above 0, at most 10 MPa");
    refuse(HEAD "leakdown: [{cylinder: 1, supply: 0 bar, loss: 3 %}]\n",
           "s.yaml:3:34: supply: 0 bar is out of range: above 0, at most 10 MPa");
    refuse(HEAD "leakdown: [{cylinder: 1, loss: 100.1 %}]\n", "s.yaml:3:32: loss: 100.1 % is out of range: 0 to 100 %");
    refuse("sheet: 1\nengine: {cylinders: 0}\n" ROW, "s.yaml:2:21: cylinders: 0 is out of range: 1 to 32");
    refuse("sheet: 1\nengine: {cylinders: 33}\n" ROW, "s.yaml:2:21: cylinders: 33 is out of range: 1 to 32");
    refuse("sheet: 1\nengine: {cylinders: 3.5}\n" ROW, "s.yaml:2:21: cylinders: 3.5 is not a whole number: 1 to 32");
    refuse("sheet: 1\nengine: {cylinders: four}\n" ROW,
           "s.yaml:2:21: cylinders: \"four\" is not a plain number: 1 to 32");
    refuse("sheet: 1\nengine: {cylinders: 4, bore: 9.9 mm}\n" ROW,
           "s.yaml:2:30: bore: 9.9 mm is out of range: 10 to 300 mm");
    refuse("sheet: 1\nengine: {cylinders: 4, stroke: 1e308 m}\n" ROW,
           "s.yaml:2:32: stroke: 1e308 m is out of range: 10 to 300 mm");
    refuse("sheet: 1\nengine: {cylinders: 4, compression_ratio: 1}\n" ROW,
           "s.yaml:2:43: compression_ratio: 1 is out of range: above 1, at most 30");
    refuse("sheet: 1\nengine: {cylinders: 4, compression_ratio: 96}\n" ROW,
           "s.yaml:2:43: compression_ratio: 96 is out of range: above 1, at most 30");
    refuse("sheet: 1\nengine: {cylinders: 4, compression_ratio: 960 %}\n" ROW,
           "s.yaml:2:43: compression_ratio: \"960 %\" is not a plain number: above 1, at most 30");
    refuse(HEAD "conditions: {altitude: 6001 m}\n" ROW,
           "s.yaml:3:24: altitude: 6001 m is out of range: -500 to 6000 m");
    refuse(HEAD "conditions: {air_temperature: 71 C}\n" ROW,
           "s.yaml:3:31: air_temperature: 71 C is out of range: -60 to 70 C");
    refuse(HEAD "conditions: {cranking_speed: 9 rpm}\n" ROW,
           "s.yaml:3:30: cranking_speed: 9 rpm is out of range: 10 to 2000 rpm");
    refuse(HEAD "conditions: {strokes: 101}\n" ROW, "s.yaml:3:23: strokes: 101 is out of range: 1 to 100");
    refuse(HEAD "conditions: {barometer: 96200}\n" ROW,
           "s.yaml:3:25: barometer: \"96200\" has no unit: the number with its unit, as in \"962 hPa\", or once for "
           "the whole sheet units: "
           "{pressure: psi}");
    refuse(HEAD "model: {valve_discharge: 0}\n" ROW,
           "s.yaml:3:26: valve_discharge: 0 is out of range: above 0, at most 1");
}

static void what_is_not_finite_is_refused(void **state)
{
    (void)state;
    refuse("sheet: 1\nunits: {pressure: MPa}\nengine: {cylinders: 4}\ncompression: [{cylinder: 1, reading: 1e308}]\n",
           "s.yaml:4:38: reading: \"1e308\" is too large to compute with");
    refuse("sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 4}\ncompression: [{cylinder: 1, reading: 1e999}]\n",
           "s.yaml:4:38: reading: \"1e999\" is too large to compute with");
    refuse("sheet: 1\nengine: {cylinders: 4, compression_ratio: .nan}\n" ROW,
           "s.yaml:2:43: compression_ratio: \".nan\" is not a plain number: above 1, at most 30");
    refuse("sheet: 1\nengine: {cylinders: 4, compression_ratio: inf}\n" ROW,
           "s.yaml:2:43: compression_ratio: \"inf\" is not a plain number: above 1, at most 30");
    refuse("sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 4}\ncompression: [{cylinder: 1, reading: NaN}]\n",
           "s.yaml:4:38: reading: \"NaN\" is not one plain number with a unit: digits with at most one decimal point "
           "or comma, no thousands "
           "separators, then the unit, as in 12.5 psi");
}

static void cylinders_must_be_the_engines(void **state)
{
    (void)state;
    refuse(HEAD "compression: [{cylinder: 5, reading: 1 MPa}]\n",
           "s.yaml:3:26: cylinder: the engine has no cylinder 5: 1 to 4, the engine's cylinders");
    refuse(HEAD "wet: [{cylinder: 0, reading: 1 MPa}]\n",
           "s.yaml:3:18: cylinder: the engine has no cylinder 0: 1 to 4, the engine's cylinders");
    refuse(HEAD "compression: [{cylinder: all, reading: 1 MPa}]\n",
           "s.yaml:3:26: cylinder: \"all\" is not a plain number: 1 to 4, the engine's cylinders");
    refuse(
        "compression: [{cylinder: 5, reading: 1 MPa}]\nsheet: 1\nengine: {cylinders: 4}\n", /* whatever the order of the keys */
        "s.yaml:1:26: cylinder: the engine has no cylinder 5: 1 to 4, the engine's cylinders");
    refuse("sheet: 1\nengine: {cylinders: 4, firing_order: [1, 3, 4]}\n" ROW,
           "s.yaml:2:38: firing_order names 3 cylinders, the engine has 4: each cylinder from 1 to 4 once, in the "
           "order of firing");
    refuse("sheet: 1\nengine: {firing_order: [1, 3, 4, 3], cylinders: 4}\n" ROW,
           "s.yaml:2:34: firing_order names cylinder 3 twice: each cylinder from 1 to 4 once, in the order of firing");
    refuse("sheet: 1\nengine: {cylinders: 4, firing_order: [1, 3, 4, 5]}\n" ROW,
           "s.yaml:2:48: firing_order: the engine has no cylinder 5: 1 to 4, the engine's cylinders");
    refuse("sheet: 1\nengine: {cylinders: 4, firing_order: 1342}\n" ROW,
           "s.yaml:2:38: firing_order is not a list: each cylinder from 1 to 4 once, in the order of firing");
}

static void what_was_heard_must_make_sense(void **state)
{
    (void)state;
    refuse(HEAD "leakdown: [{cylinder: 1, heard: exaust}]\n",
           "s.yaml:3:33: heard: unknown word \"exaust\": did you mean \"exhaust\"?");
    refuse(HEAD "leakdown: [{cylinder: 1, heard: [intake, nothing]}]\n",
           "s.yaml:3:33: heard: \"nothing\" beside a place: nothing alone, or the places without it");
    refuse(HEAD "leakdown: [{cylinder: 1, heard: [cylinder_1]}]\n",
           "s.yaml:3:33: heard: cylinder_1 is the cylinder under test: another cylinder's number");
    refuse(HEAD "leakdown: [{heard: [cylinder_1], cylinder: 1}]\n",
           "s.yaml:3:20: heard: cylinder_1 is the cylinder under test: another cylinder's number");
    refuse(HEAD "leakdown: [{cylinder: 1, heard: [cylinder_5]}]\n",
           "s.yaml:3:34: heard: the engine has no cylinder 5: 1 to 4, the engine's cylinders");
    refuse(HEAD "leakdown: [{cylinder: 1, heard: []}]\n",
           "s.yaml:3:33: heard: an empty list: heard: nothing, if you listened and heard nothing");
    refuse(HEAD "leakdown: [{cylinder: 1}]\n",
           "s.yaml:3:12: a leakdown row with neither loss nor heard: loss: 18 %, or heard: [exhaust], or both");
}

static void words_texts_and_dates_are_checked(void **state)
{
    (void)state;
    refuse("sheet: 1\nengine: {cylinders: 4, layout: inlin}\n" ROW,
           "s.yaml:2:32: layout: unknown word \"inlin\": did you mean \"inline\"?");
    refuse(HEAD "conditions: {throttle: half}\n" ROW,
           "s.yaml:3:24: throttle: unknown word \"half\": one of open, shut, closed");
    refuse(HEAD ROW "observed: [{what: Coolant Loss}]\n",
           "s.yaml:4:19: what: \"Coolant Loss\" is not a word: small letters, digits and _, such as coolant_loss");
    refuse(HEAD ROW "observed: [{what: oily_plug, found: maybe}]\n",
           "s.yaml:4:37: found: \"maybe\" is neither yes nor no: yes or no");
    refuse(HEAD ROW "title: \"a\\e[2Jb\"\n",
           "s.yaml:4:8: title: a control character in the text: letters, digits, signs and line ends");
    refuse(HEAD ROW "note: \"a\\0b\"\n",
           "s.yaml:4:7: note: a control character in the text: letters, digits, signs and line ends");
    refuse(HEAD ROW "note: \xC2\x9Bx\n",
           "s.yaml:4:7: note: a control character in the text: letters, digits, signs and line ends");
    refuse(HEAD ROW "title: [a]\n", "s.yaml:4:8: title: a list where one value is wanted: title: a text");
    ch_err err = {0};
    ch_sheet sheet;
    const char *text = HEAD ROW "conditions: {date: 2027-02-29}\n";
    assert_int_equal(ch_sheet_parse("s.yaml", text, strlen(text), &sheet, &err), CH_E_INPUT);
    assert_int_equal(err.line, 4);
    assert_int_equal(err.column, 20);
    assert_non_null(strstr(err.what, "date: "));
}

static void what_is_needed_must_be_there(void **state)
{
    (void)state;
    refuse("engine: {cylinders: 4}\n" ROW, "s.yaml:1:1: the sheet lacks the key \"sheet\": sheet: 1");
    refuse("sheet: 2\nengine: {cylinders: 4}\n" ROW,
           "s.yaml:1:8: the sheet is of version 2: this program reads version 1");
    refuse("sheet: 1\n" ROW, "s.yaml:1:1: the sheet lacks the key \"engine\": engine: {cylinders: 4}");
    refuse("sheet: 1\nengine: {bore: 84 mm}\n" ROW, "s.yaml:2:9: engine lacks the key \"cylinders\": cylinders: 4");
    refuse(HEAD, "s.yaml:1:1: the sheet has no reading: at least one row of compression, wet or leakdown (or, to "
                 "predict, of leaks)");
    refuse(HEAD "compression: []\n", "s.yaml:1:1: the sheet has no reading: at least one row of compression, wet or "
                                     "leakdown (or, to predict, of leaks)");
    refuse(HEAD "compression:\n  - {reading: 1 MPa}\n",
           "s.yaml:4:5: a compression row lacks the key \"cylinder\": cylinder: 1");
    refuse(HEAD "compression:\n  - {cylinder: 1}\n",
           "s.yaml:4:5: a compression row lacks the key \"reading\": reading: 176 psi");
    refuse(HEAD "compression:\n  - {cylinder: 1, reading: }\n",
           "s.yaml:4:19: reading: no value: reading: 176 psi, or leave the key out");
    refuse(HEAD "compression: {cylinder: 1, reading: 1 MPa}\n",
           "s.yaml:3:14: compression is not a list: a list of rows, each beginning with \"- \" in YAML");
    refuse("sheet: 1\nengine: 4\n" ROW, "s.yaml:2:9: engine is not a map: a map with the keys cylinders, layout, "
                                        "firing_order, bore, stroke, rod_length, "
                                        "compression_ratio, valve_timing, intake_valves, exhaust_valves, limits");
    refuse("- a\n", "s.yaml:1:1: the sheet is not a map: a map with the keys sheet, title, note, units, engine, gauge, "
                    "conditions, compression, "
                    "wet, leakdown, observed, model, leaks");
}

static void parts_must_fit_together(void **state)
{
    (void)state;
    refuse("sheet: 1\nengine: {cylinders: 4, rod_length: 40 mm, stroke: 80 mm}\n" ROW,
           "s.yaml:2:36: rod_length: the crank could not turn with so short a rod: longer than half the stroke");
    refuse("sheet: 1\nengine: {cylinders: 4, limits: {minimum: 150 psi, standard: 140 psi}}\n" ROW,
           "s.yaml:2:42: minimum: above the standard: at most the standard");
    refuse("sheet: 1\nengine: {cylinders: 4, valve_timing: {at_lift: 9 mm}, intake_valves: {lift: 8.5 mm}}\n" ROW,
           "s.yaml:2:48: at_lift: the valve never opens that far: less than the intake valves' lift of 8.5 mm");
    accepted("sheet: 1\nengine: {cylinders: 4, valve_timing: {at_lift: 1 mm}, intake_valves: {lift: 8.5 mm}}\n" ROW);
}

static void files_that_are_no_sheets_are_refused(void **state)
{
    (void)state;
    refuse("", "s.yaml:1:1: the file is empty");
    refuse_as("s.yaml", "sheet: 1\n\0\1\2", 12, CH_E_INPUT,
              "s.yaml:2:1: control character 0x00: a text file, saved as UTF-8");
    refuse(HEAD ROW "title: caf\xE9\n", "s.yaml:4:11: byte 0xE9 is not UTF-8: a text file, saved as UTF-8");
    refuse(HEAD "engine: {cylinders: 4}\n" ROW,
           "s.yaml:3:1: key \"engine\" stands here again; first on line 2: each key once");
    refuse_as("s.yaml", "a: [[[[[[[[[[[[[[[[[[", 21, CH_E_LIMIT,
              "s.yaml:1:19: lists and maps nested too deep: at most 16 levels");
    refuse_as("s.json", "sheet: 1", 8, CH_E_INPUT, "s.json:1:1: not valid JSON: Invalid JSON plain scalar");
    const size_t huge = (size_t)100 * 1000 * 1000;
    char *line = malloc(huge);
    assert_non_null(line);
    memset(line, 'x', huge);
    refuse_as("s.yaml", line, huge, CH_E_LIMIT, "s.yaml: the file has 100000000 bytes: at most 4 MiB");
    free(line);
}

static void an_earlier_reason_is_kept(void **state)
{
    (void)state;
    ch_sheet sheet;
    ch_err err = {0};
    ch_fail(&err, CH_E_IO, NULL, "earlier");
    assert_int_equal(ch_sheet_parse("s.yaml", "sheet: 2", 8, &sheet, &err), CH_E_INPUT);
    assert_string_equal(err.what, "earlier");
}

static void without_memory_nothing_is_lost(void **state)
{
    (void)state;
    long faults = 0;
    for (long n = 1;; n++) {
        ch_sheet sheet;
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_sheet_parse("s.yaml", full, full_length, &sheet, &err);
        const bool failed = fail_alloc_stop();
        if (!failed) {
            assert_int_equal(rc, CH_OK);
            ch_sheet_clear(&sheet);
            break;
        }
        faults++;
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_null(sheet.compression);
    }
    assert_true(faults > 15); /* tree, blocks, sorting of each map, rows, texts */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_field_arrives_in_si),
        cmocka_unit_test(what_is_not_given_is_not_a_number),
        cmocka_unit_test(quotes_and_json_change_nothing),
        cmocka_unit_test(what_people_write_is_taken),
        cmocka_unit_test(what_may_be_thousands_is_refused_of_what_a_person_typed),
        cmocka_unit_test(an_unknown_key_names_the_nearest),
        cmocka_unit_test(a_missing_unit_is_explained),
        cmocka_unit_test(a_wrong_dimension_is_refused),
        cmocka_unit_test(what_no_engine_can_have_is_refused),
        cmocka_unit_test(what_is_not_finite_is_refused),
        cmocka_unit_test(cylinders_must_be_the_engines),
        cmocka_unit_test(what_was_heard_must_make_sense),
        cmocka_unit_test(words_texts_and_dates_are_checked),
        cmocka_unit_test(what_is_needed_must_be_there),
        cmocka_unit_test(parts_must_fit_together),
        cmocka_unit_test(files_that_are_no_sheets_are_refused),
        cmocka_unit_test(an_earlier_reason_is_kept),
        cmocka_unit_test(without_memory_nothing_is_lost),
    };
    return cmocka_run_group_tests(tests, load_full, NULL);
}

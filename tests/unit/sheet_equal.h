/* Are two sheets equal? Written out member by member, so that it shares nothing with the table that reads and writes them. */
#ifndef CROSSHATCH_TESTS_SHEET_EQUAL_H
#define CROSSHATCH_TESTS_SHEET_EQUAL_H

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "crosshatch/sheet.h"

static inline bool same_double(double a, double b)
{
    return (isnan(a) && isnan(b)) || a == b;
}

static inline bool same_text(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

static inline bool same_quantity(const ch_quantity *a, const ch_quantity *b)
{
    return same_double(a->si, b->si) && a->unit == b->unit && a->bare == b->bare && strcmp(a->number, b->number) == 0;
}

static inline bool same_valves(const ch_valve_set *a, const ch_valve_set *b)
{
    return a->count == b->count && same_quantity(&a->diameter, &b->diameter) && same_quantity(&a->lift, &b->lift);
}

static inline bool same_engine(const ch_sheet_engine *a, const ch_sheet_engine *b)
{
    const ch_valve_timing *t = &a->timing, *u = &b->timing;
    return a->cylinders == b->cylinders && a->layout == b->layout &&
           memcmp(a->firing_order, b->firing_order, sizeof a->firing_order) == 0 && same_quantity(&a->bore, &b->bore) &&
           same_quantity(&a->stroke, &b->stroke) && same_quantity(&a->rod_length, &b->rod_length) &&
           same_double(a->compression_ratio, b->compression_ratio) &&
           same_quantity(&t->intake_opens_btdc, &u->intake_opens_btdc) &&
           same_quantity(&t->intake_closes_abdc, &u->intake_closes_abdc) &&
           same_quantity(&t->exhaust_opens_bbdc, &u->exhaust_opens_bbdc) &&
           same_quantity(&t->exhaust_closes_atdc, &u->exhaust_closes_atdc) && same_quantity(&t->at_lift, &u->at_lift) &&
           same_valves(&a->intake_valves, &b->intake_valves) && same_valves(&a->exhaust_valves, &b->exhaust_valves) &&
           same_quantity(&a->limits.standard, &b->limits.standard) &&
           same_quantity(&a->limits.minimum, &b->limits.minimum) && same_quantity(&a->limits.spread, &b->limits.spread);
}

static inline bool same_gauge(const ch_sheet_gauge *a, const ch_sheet_gauge *b)
{
    return same_quantity(&a->span, &b->span) && a->accuracy_kind == b->accuracy_kind &&
           same_quantity(&a->accuracy, &b->accuracy) && a->grade == b->grade &&
           same_quantity(&a->resolution, &b->resolution) && same_quantity(&a->hose_volume, &b->hose_volume) &&
           same_quantity(&a->dead_volume, &b->dead_volume) && same_quantity(&a->valve_area, &b->valve_area) &&
           same_quantity(&a->opening_pressure, &b->opening_pressure);
}

static inline bool same_conditions(const ch_sheet_conditions *a, const ch_sheet_conditions *b)
{
    return a->date.year == b->date.year && a->date.month == b->date.month && a->date.day == b->date.day &&
           same_quantity(&a->altitude, &b->altitude) && same_quantity(&a->barometer, &b->barometer) &&
           same_quantity(&a->sea_level_pressure, &b->sea_level_pressure) &&
           same_quantity(&a->air_temperature, &b->air_temperature) &&
           same_quantity(&a->engine_temperature, &b->engine_temperature) && a->throttle == b->throttle &&
           same_quantity(&a->cranking_speed, &b->cranking_speed) && a->strokes == b->strokes &&
           same_quantity(&a->odometer, &b->odometer) && same_quantity(&a->engine_hours, &b->engine_hours);
}

static inline bool same_readings(const ch_reading *a, const ch_reading *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (a[i].cylinder != b[i].cylinder || !same_quantity(&a[i].reading, &b[i].reading) ||
            !same_quantity(&a[i].first_stroke, &b[i].first_stroke) || !same_quantity(&a[i].oil, &b[i].oil) ||
            !same_text(a[i].note, b[i].note))
            return false;
    return true;
}

static inline bool same_leakdown(const ch_leakdown_row *a, const ch_leakdown_row *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (a[i].cylinder != b[i].cylinder || !same_quantity(&a[i].supply, &b[i].supply) ||
            !same_quantity(&a[i].loss, &b[i].loss) || !same_quantity(&a[i].orifice, &b[i].orifice) ||
            a[i].heard != b[i].heard || a[i].heard_cylinders != b[i].heard_cylinders ||
            !same_text(a[i].note, b[i].note))
            return false;
    return true;
}

static inline bool same_observed(const ch_observation *a, const ch_observation *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!same_text(a[i].what, b[i].what) || a[i].cylinder != b[i].cylinder || a[i].absent != b[i].absent ||
            !same_text(a[i].note, b[i].note))
            return false;
    return true;
}

static inline bool same_leaks(const ch_leaks_row *a, const ch_leaks_row *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (a[i].cylinder != b[i].cylinder || !same_quantity(&a[i].rings, &b[i].rings) ||
            !same_quantity(&a[i].intake_valve, &b[i].intake_valve) ||
            !same_quantity(&a[i].exhaust_valve, &b[i].exhaust_valve) ||
            !same_quantity(&a[i].neighbour, &b[i].neighbour) || !same_quantity(&a[i].coolant, &b[i].coolant) ||
            !same_text(a[i].note, b[i].note))
            return false;
    return true;
}

/* Everything but the places of the rows in their files. */
static inline bool same_sheet(const ch_sheet *a, const ch_sheet *b)
{
    return memcmp(a->bare_unit, b->bare_unit, sizeof a->bare_unit) == 0 && a->bare_distance == b->bare_distance &&
           strcmp(a->typed.compression_ratio, b->typed.compression_ratio) == 0 &&
           strcmp(a->typed.annand, b->typed.annand) == 0 &&
           strcmp(a->typed.crevice_fraction, b->typed.crevice_fraction) == 0 &&
           strcmp(a->typed.valve_discharge, b->typed.valve_discharge) == 0 && same_text(a->title, b->title) &&
           same_text(a->note, b->note) && same_engine(&a->engine, &b->engine) && same_gauge(&a->gauge, &b->gauge) &&
           same_conditions(&a->conditions, &b->conditions) && a->compression_count == b->compression_count &&
           same_readings(a->compression, b->compression, a->compression_count) && a->wet_count == b->wet_count &&
           same_readings(a->wet, b->wet, a->wet_count) && a->leakdown_count == b->leakdown_count &&
           same_leakdown(a->leakdown, b->leakdown, a->leakdown_count) && a->observed_count == b->observed_count &&
           same_observed(a->observed, b->observed, a->observed_count) &&
           same_double(a->model.annand, b->model.annand) &&
           same_double(a->model.crevice_fraction, b->model.crevice_fraction) &&
           same_double(a->model.valve_discharge, b->model.valve_discharge) && a->leaks_count == b->leaks_count &&
           same_leaks(a->leaks, b->leaks, a->leaks_count);
}

#endif

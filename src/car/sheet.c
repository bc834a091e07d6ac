/*
 * A test sheet's life: from nothing given to everything freed, and what it is given of an engine that is known. Reading is in sheet_read.c, writing in sheet_write.c, the keys in
 * sheet_fields.c.
 */
#include "crosshatch/sheet.h"

#include <math.h>
#include <string.h>

#include "sheet_fields.h"

void ch_sheet_init(ch_sheet *sheet)
{
    memset(sheet, 0, sizeof *sheet);
    section_init(&sheet_root, sheet);
}

/* Each row's unit is counted, until one has more than half of the rows: of a usual sheet once. */
static const ch_unit *commonest(const ch_reading rows[], size_t n)
{
    const ch_unit *best = NULL;
    size_t most = 0;
    for (size_t i = 0; i < n && 2 * most <= n; i++) {
        size_t alike = 0;
        for (size_t k = 0; k < n; k++)
            alike += ch_quantity_given(&rows[k].reading) && rows[k].reading.unit == rows[i].reading.unit;
        if (ch_quantity_given(&rows[i].reading) && alike > most) {
            best = rows[i].reading.unit;
            most = alike;
        }
    }
    return best;
}

const ch_unit *ch_sheet_reading_unit(const ch_sheet *sheet)
{
    const ch_unit *dry = commonest(sheet->compression, sheet->compression_count);
    return dry != NULL ? dry : commonest(sheet->wet, sheet->wet_count);
}

void ch_sheet_clear(ch_sheet *sheet)
{
    section_clear(&sheet_root, sheet);
    ch_sheet_init(sheet);
}

static void fill_quantity(ch_quantity *said, const ch_quantity *known)
{
    if (ch_quantity_given(said) || !ch_quantity_given(known))
        return;
    *said = *known;
    said->bare = false; /* the sheet's own `units` need not be those that the engine was described in */
}

static void fill_valves(ch_valve_set *said, const ch_valve_set *known)
{
    said->count = said->count != 0 ? said->count : known->count;
    fill_quantity(&said->diameter, &known->diameter);
    fill_quantity(&said->lift, &known->lift);
}

static void fill_timing(ch_valve_timing *said, const ch_valve_timing *known)
{
    if (ch_quantity_given(&said->intake_opens_btdc) || ch_quantity_given(&said->intake_closes_abdc) ||
        ch_quantity_given(&said->exhaust_opens_bbdc) || ch_quantity_given(&said->exhaust_closes_atdc) ||
        ch_quantity_given(&said->at_lift))
        return;
    fill_quantity(&said->intake_opens_btdc, &known->intake_opens_btdc);
    fill_quantity(&said->intake_closes_abdc, &known->intake_closes_abdc);
    fill_quantity(&said->exhaust_opens_bbdc, &known->exhaust_opens_bbdc);
    fill_quantity(&said->exhaust_closes_atdc, &known->exhaust_closes_atdc);
    fill_quantity(&said->at_lift, &known->at_lift);
}

ch_status ch_sheet_engine_fill(ch_sheet *sheet, const ch_sheet *described, ch_err *err)
{
    ch_sheet_engine *said = &sheet->engine;
    const ch_sheet_engine *known = &described->engine;
    const bool ordered = said->firing_order[0] != 0;
    const bool may_have_more = said->cylinders_at_least && !ordered;
    if (known->cylinders != 0 && said->cylinders != 0 &&
        (said->cylinders > known->cylinders || (!may_have_more && said->cylinders != known->cylinders)))
        return ch_fail(err, CH_E_INPUT, "another car, or the right number of cylinders there",
                       "cylinders: the test is of %d, the engine that was in the car on its day has %d",
                       said->cylinders, known->cylinders);
    said->cylinders = known->cylinders != 0 ? known->cylinders : said->cylinders;
    said->cylinders_at_least = said->cylinders_at_least && known->cylinders == 0;
    if (!ordered && said->cylinders == known->cylinders)
        memcpy(said->firing_order, known->firing_order, sizeof said->firing_order);
    said->layout = said->layout != CH_LAYOUT_UNSTATED ? said->layout : known->layout;
    fill_quantity(&said->bore, &known->bore);
    fill_quantity(&said->stroke, &known->stroke);
    fill_quantity(&said->rod_length, &known->rod_length);
    if (isnan(said->compression_ratio)) {
        said->compression_ratio = known->compression_ratio;
        memcpy(sheet->typed.compression_ratio, described->typed.compression_ratio,
               sizeof sheet->typed.compression_ratio);
    }
    fill_timing(&said->timing, &known->timing);
    fill_valves(&said->intake_valves, &known->intake_valves);
    fill_valves(&said->exhaust_valves, &known->exhaust_valves);
    fill_quantity(&said->limits.standard, &known->limits.standard);
    fill_quantity(&said->limits.minimum, &known->limits.minimum);
    fill_quantity(&said->limits.spread, &known->limits.spread);
    return CH_OK;
}

void ch_sheet_gauge_fill(ch_sheet *sheet, const ch_sheet *described)
{
    ch_sheet_gauge *said = &sheet->gauge;
    const ch_sheet_gauge *known = &described->gauge;
    fill_quantity(&said->span, &known->span);
    if (said->accuracy_kind == CH_ACCURACY_UNSTATED) {
        said->accuracy_kind = known->accuracy_kind;
        said->accuracy = known->accuracy;
        said->grade = known->grade;
    }
    fill_quantity(&said->resolution, &known->resolution);
    fill_quantity(&said->hose_volume, &known->hose_volume);
    fill_quantity(&said->dead_volume, &known->dead_volume);
    fill_quantity(&said->valve_area, &known->valve_area);
    fill_quantity(&said->opening_pressure, &known->opening_pressure);
}

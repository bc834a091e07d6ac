/* The sheet being measured, see measure.h. */
#include "measure.h"

#include <string.h>

#include "measure_order.h"

const struct measure_kind measure_kinds[MEASURE_KINDS] = {
    {"dry", "Compression, dry", "Dry", "compression_dry", "crank", "bleed", CH_STORE_DRY},
    {"wet", "Compression, wet", "Wet, with oil", "compression_wet", "crank", "bleed", CH_STORE_WET},
    {"leakdown", "Leak-down", "Leak-down", "leak_down", "read", NULL, CH_STORE_LEAKDOWN},
};

const struct measure_heard measure_heard[MEASURE_HEARD] = {{"intake", "at the intake", CH_HEARD_INTAKE},
                                                           {"exhaust", "at the exhaust", CH_HEARD_EXHAUST},
                                                           {"oil_filler", "at the oil filler", CH_HEARD_OIL_FILLER},
                                                           {"coolant", "bubbles in the coolant", CH_HEARD_COOLANT},
                                                           {"nothing", "nothing", CH_HEARD_NOTHING}};

size_t measure_kind_named(const char *name)
{
    for (size_t i = 0; name != NULL && i < MEASURE_KINDS; i++)
        if (strcmp(measure_kinds[i].name, name) == 0)
            return i;
    return MEASURE_KINDS;
}

const char *measure_kind_name(ch_store_kind kind)
{
    for (size_t i = 0; i < MEASURE_KINDS; i++)
        if (measure_kinds[i].kind == kind)
            return measure_kinds[i].name;
    return measure_kinds[0].name;
}

void measure_count(const measuring *m, int count[CH_CYLINDERS_MAX])
{
    for (size_t i = 0; i < m->rows_count; i++) {
        const int c = measure_cylinder(&m->rows[i]);
        if (m->rows[i].current && !m->rows[i].deletion && m->rows[i].kind == measure_kinds[m->kind].kind && c >= 1 &&
            c <= CH_CYLINDERS_MAX)
            count[c - 1]++;
    }
}

ch_status measure_load(web_request *request, const web_fields *asked, measuring *m, ch_err *err)
{
    ch_status rc = ch_store_sheet_load(request->store, m->row.id, &m->sheet, err);
    if (rc < 0)
        return rc;
    rc = ch_store_rows(request->store, &request->pool, m->row.id, true, &m->rows, &m->rows_count, err);
    m->kind = measure_kind_named(piece_given(asked, "kind")) % MEASURE_KINDS;
    m->cylinder = piece_number(asked, "cylinder", 0);
    m->unit = m->sheet.bare_unit[CH_DIM_PRESSURE] != NULL ? m->sheet.bare_unit[CH_DIM_PRESSURE]
                                                          : piece_unit(request, "pressure");
    if (rc >= 0)
        rc = piece_units_read(request, err);
    int count[CH_CYLINDERS_MAX] = {0};
    measure_count(m, count);
    if (rc >= 0 && (m->cylinder < 1 || m->cylinder > m->sheet.engine.cylinders))
        rc = measure_order_next(request, m->row.id, &m->sheet, count, &m->cylinder, err);
    if (rc < 0)
        ch_sheet_clear(&m->sheet);
    return rc;
}

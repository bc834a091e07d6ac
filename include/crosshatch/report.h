/**
 * @file report.h
 * The engine report: one or two pages that stand by themselves, for a buyer, a machine shop, or the drawer.
 */
#ifndef CROSSHATCH_REPORT_H
#define CROSSHATCH_REPORT_H

#include "crosshatch/document.h"
#include "crosshatch/show.h"

/**
 * Write a judgement up as a document: what was measured and how, the verdict, how sure it is, what it rests on, causes, what was not
 * checked, what to check next behind its cautions.
 *
 * @param judged   `options->pressure_unit` is the unit of all pressures; NULL = ch_show_pressure_unit().
 * @param document (out) The caller frees it with ch_document_free(); untouched on failure.
 * @retval CH_E_MEMORY, CH_E_LIMIT
 */
ch_status ch_report_engine(const ch_show_judged *judged, ch_document **document, ch_err *err);

/**
 * Append the cylinders of a judgement as CSV (RFC 4180): a row of names, a row of units, a row a cylinder. Unknown numbers are empty.
 */
void ch_report_engine_csv(const ch_show_judged *judged, ch_text *csv);

#endif

/* GET /sheet/ID/report.pdf and report.html: the engine report of a sheet, judged as on its findings page. */
#include <string.h>

#include "crosshatch/report.h"
#include "crosshatch/store_sheet.h"
#include "findings.h"
#include "page.h"
#include "piece_car.h"
#include "printed.h"
#include "verdicts.h"

static ch_status report(web_request *request, web_response *response, const ch_sheet *sheet, const char *car,
                        const char *name, ch_err *err)
{
    const web_know *know = know_get(err);
    ch_judge_options options;
    const verdicts_one *one = NULL;
    ch_document *document = NULL;
    if (know == NULL)
        return CH_E_IO;
    ch_status rc = findings_options(request, sheet, &options, err);
    if (rc >= 0)
        rc = verdicts_get(sheet, &options, &know->knowledge, 0, &one, err);
    if (rc >= 0) {
        ch_beside beside;
        /* Without it the report only has fewer drawings. */
        const bool drawn = ch_beside_sheet(sheet, &beside, NULL) >= 0;
        const ch_show_judged judged = {.sheet = sheet,
                                       .knowledge = &know->knowledge,
                                       .options = &options,
                                       .judgement = one->judgement,
                                       .car = car,
                                       .beside = drawn ? &beside : NULL};
        rc = ch_report_engine(&judged, &document, err);
    }
    if (rc >= 0)
        rc = printed_answer(request, response, document, name, piece_today(request->now_s), err);
    ch_document_free(document);
    verdicts_give_back(one);
    return rc;
}

ch_status page_report_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet row;
    ch_sheet sheet;
    const ch_store_car *car = NULL;
    ch_status rc;
    const char *name = strrchr(request->path, '/') + 1;
    if (!piece_sheet(request, response, &row, &rc, err))
        return rc;
    rc = piece_car_find(request, row.car_id, &car, err);
    if (rc >= 0)
        rc = ch_store_sheet_load(request->store, row.id, &sheet, err);
    if (rc < 0)
        return rc;
    if (sheet.engine.cylinders == 0)
        rc = web_message(request, response, 422, "Nothing to report yet",
                         "The sheet does not say how many cylinders the engine has.");
    else
        rc = report(request, response, &sheet, car != NULL ? car->name : NULL, name, err);
    ch_sheet_clear(&sheet);
    return rc;
}

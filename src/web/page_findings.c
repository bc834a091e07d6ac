/*
 * GET /sheet/ID/findings: what a sheet comes to. Query: why=N adds what the causes of cylinder N rest on.
 *
 * Settings looked at: `units.pressure` (else the unit of the readings; a sheet that was begun in a unit speaks that), `rule` (else the lowest at least 75 % of the highest).
 */
#include <stdio.h>
#include <string.h>

#include "crosshatch/store_sheet.h"
#include "findings.h"
#include "page.h"
#include "piece.h"
#include "sheet_parts.h"
#include "steps.h"
#include "verdicts.h"

/* As the terminal's: the same sheet gives the same bytes from every face. */
enum { SEED = 1 };

ch_status findings_options(web_request *request, const ch_sheet *sheet, ch_judge_options *options, ch_err *err)
{
    const char *unit = NULL, *rule = NULL;
    ch_status rc = ch_store_setting_get(request->store, &request->pool, "units.pressure", &unit, err);
    if (rc >= 0)
        rc = ch_store_setting_get(request->store, &request->pool, "rule", &rule, err);
    if (rc < 0)
        return rc;
    /* A sheet that was begun in a unit speaks it to the end, as its fields do: it is that of the dial. */
    const ch_unit *own = sheet->bare_unit[CH_DIM_PRESSURE], *chosen = own != NULL    ? own
                                                                      : unit != NULL ? ch_unit_find(unit, strlen(unit))
                                                                                     : NULL;
    const ch_balance_rule by = rule != NULL ? ch_balance_rule_find(rule, strlen(rule)) : CH_RULE_COUNT;
    *options = (ch_judge_options){
        .seed = SEED,
        .rule = by != CH_RULE_COUNT ? by : CH_RULE_75_PERCENT,
        .pressure_unit = chosen != NULL && chosen->dimension == CH_DIM_PRESSURE ? chosen : ch_show_pressure_unit(sheet),
        .crew = request->crew};
    return CH_OK;
}

/* The cylinder asked about, or 0. */
static int asked_cylinder(const web_request *request, const ch_sheet *sheet)
{
    const char *text = web_value(&request->query, "why");
    for (int n = 1; text != NULL && n <= sheet->engine.cylinders; n++) {
        char number[12];
        snprintf(number, sizeof number, "%d", n);
        if (strcmp(number, text) == 0)
            return n;
    }
    return 0;
}

static void show(html_writer *w, const ch_show_judged *judged, const char *path, const ch_store_sheet *row, size_t off)
{
    const findings f = {.w = w,
                        .judged = judged,
                        .pressure = judged->options->pressure_unit,
                        .path = path,
                        .off = off,
                        .sheet = row->id,
                        .closed = row->closed};
    findings_verdict(&f);
    findings_readings(&f);
    findings_questions(&f);
    findings_causes(&f);
    findings_checks(&f);
    findings_leaks(&f);
    findings_beside(&f);
    findings_rules(&f);
    findings_other_tests(&f);
    findings_assumed(&f);
    html_lit(w, "<p>This advises; the car's own service manual and you decide.</p>\n");
}

static void write_reports(html_writer *w, int64_t sheet)
{
    html_lit(
        w,
        "<h2 class=\"no-print\">Report to print or hand on</h2><p class=\"row no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "/sheet/%lld/report.pdf", (long long)sheet);
    html_lit(w, ">Engine report (PDF)</a><a class=\"button second\"");
    html_attrf(w, "href", "/sheet/%lld/report.html", (long long)sheet);
    html_lit(w, ">Engine report (HTML)</a></p>\n");
}

/* From what is probably wrong to the work of the off-season. */
static void lead_on(html_writer *w, const ch_store_sheet *row)
{
    if (row->car_id == 0)
        return;
    html_lit(w, "<p class=\"no-print\"><a class=\"button second\"");
    html_attrf(w, "href", "/car/%lld/winter?sheet=%lld", (long long)row->car_id, (long long)row->id);
    html_lit(w, ">Plan the work</a></p>\n");
}

/* Judge, and write the page. What the sheet lacks is said on the page; what fails in the machine is a failure of the request. */
static ch_status judge(web_request *request, html_writer *w, const ch_store_sheet *row, const ch_sheet *sheet,
                       const web_know *know, ch_err *err)
{
    ch_judge_options options;
    ch_err reason = {0};
    const verdicts_one *one = NULL, *why = NULL;
    size_t off = 0;
    ch_status rc = findings_options(request, sheet, &options, err);
    if (rc >= 0)
        rc = steps_count_off(request, row, &off, err);
    if (rc < 0)
        return rc;
    const int asked = asked_cylinder(request, sheet);
    rc = verdicts_get(sheet, &options, &know->knowledge, 0, &one, &reason);
    if (rc >= 0 && asked > 0)
        rc = verdicts_get(sheet, &options, &know->knowledge, asked, &why, &reason);
    if (rc >= 0) {
        ch_beside beside;
        /* Without it the page only has fewer drawings; without the memory for it, no page. */
        const ch_status drawn = ch_beside_sheet(sheet, &beside, NULL);
        if (drawn == CH_E_MEMORY)
            html_fail(w, drawn);
        const ch_show_judged judged = {.sheet = sheet,
                                       .knowledge = &know->knowledge,
                                       .options = &options,
                                       .judgement = one->judgement,
                                       .why = asked,
                                       .reason = why != NULL ? why->reason : NULL,
                                       .reason_count = why != NULL ? why->reason_count : 0,
                                       .beside = drawn >= 0 ? &beside : NULL};
        show(w, &judged, request->path, row, off);
        write_reports(w, web_part_id(request, 0));
        html_lit(w, "<p class=\"no-print\"><a class=\"button second\"");
        html_attrf(w, "href", "/whatif?sheet=%lld", (long long)web_part_id(request, 0));
        html_lit(w, ">What if: play with this engine's test</a></p>\n");
    } else if (rc == CH_E_INPUT || rc == CH_E_RANGE) {
        html_lit(w, "<p class=\"verdict unclear\"><strong>Nothing can be said yet.</strong> ");
        char line[512];
        ch_err_format(&reason, line, sizeof line);
        html_text(w, line);
        html_lit(w, "</p>\n");
        rc = CH_OK;
    } else if (err != NULL) {
        *err = reason;
    }
    verdicts_give_back(why);
    verdicts_give_back(one);
    return rc;
}

ch_status page_findings_get(web_request *request, web_response *response, ch_err *err)
{
    ch_store_sheet row;
    ch_sheet sheet;
    ch_status rc;
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_IO;
    if (!piece_sheet(request, response, &row, &rc, err))
        return rc;
    rc = ch_store_sheet_load(request->store, row.id, &sheet, err);
    if (rc < 0)
        return rc;
    html_writer *w = &response->page;
    rc = piece_sheet_open(request, response, &row, "Findings", "/findings", err);
    html_lit(w, "<link rel=\"stylesheet\" href=\"/asset/findings.css\">\n");
    if (rc >= 0 && sheet.engine.cylinders == 0)
        html_lit(
            w, "<p class=\"verdict unclear\"><strong>Nothing can be said yet.</strong> The sheet does not say how many "
               "cylinders the engine has.</p>\n");
    else if (rc >= 0 && sheet.compression_count + sheet.wet_count + sheet.leakdown_count == 0) {
        html_lit(w, "<p class=\"verdict unclear\"><strong>Nothing can be said yet.</strong> No reading has been "
                    "entered.</p><p class=\"no-print\"><a class=\"button wide\"");
        html_attrf(w, "href", "/sheet/%lld/measure", (long long)row.id);
        html_lit(w, ">Enter readings</a></p>\n");
    } else if (rc >= 0) {
        rc = sheet_data_offer(w, request, &row, err);
        if (rc >= 0)
            rc = judge(request, w, &row, &sheet, know, err);
    }
    lead_on(w, &row);
    html_page_close(w);
    ch_sheet_clear(&sheet);
    return rc < 0 ? rc : CH_OK;
}

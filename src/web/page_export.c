/*
 * GET /export: what can be taken out of the garage.
 * GET /export/FILE: garage.zip (all of it, streamed through a file), readings.csv, history.csv.
 */
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "crosshatch/store_archive.h"
#include "page.h"
#include "piece.h"
#include "spool.h"

ch_status page_export_get(web_request *request, web_response *response, ch_err *err)
{
    (void)err;
    html_writer *w = &response->page;
    html_page_open(w, request, "Take out and bring in");
    html_lit(
        w,
        "<h2>Take out</h2>\n"
        "<p>Everything is yours, in forms that other programs read.</p>\n"
        "<p><a class=\"button\" href=\"/export/garage.zip\">The whole garage, with photos</a></p>\n"
        "<p class=\"hint\">One ZIP file: every table as CSV, every sheet as YAML, every photo, and a digest of each. "
        "<code>crosshatch import garage.zip</code> reads it into an empty garage, the same to the last byte.</p>\n"
        "<p class=\"row\"><a class=\"button second\" href=\"/export/readings.csv\">All readings (CSV)</a> "
        "<a class=\"button second\" href=\"/export/history.csv\">History (CSV)</a></p>\n"
        "<p class=\"hint\">Tables with a row of units, for a spreadsheet: each reading as typed and in SI units; "
        "events, engines, parts and tests by day.</p>\n"
        "<h2>Bring in</h2>\n"
        "<p><a class=\"button\" href=\"/import\">A table of old readings</a></p>\n"
        "<p class=\"hint\">From a spreadsheet. You see first what would come of it. Sheets as YAML or JSON, and a "
        "whole "
        "garage, come in by <code>crosshatch import</code>.</p>\n");
    html_page_close(w);
    return CH_OK;
}

typedef struct growing {
    int descriptor;
    size_t length;
} growing;

static ch_status grow(const void *bytes, size_t length, void *context, ch_err *err)
{
    growing *g = context;
    if (spool_write(g->descriptor, bytes, length) < 0)
        return ch_fail(err, CH_E_IO, "room on the disk of TMPDIR, or of /var/tmp", "the archive cannot be written");
    g->length += length;
    return CH_OK;
}

static ch_status send_archive(web_request *request, web_response *response, ch_err *err)
{
    growing g = {.descriptor = -1};
    ch_status rc = spool_open(0, &g.descriptor, err);
    if (rc < 0)
        return rc;
    rc = ch_store_archive_write(request->store, grow, &g, NULL, err);
    if (rc < 0) {
        close(g.descriptor);
        return rc;
    }
    response->data_type = "application/zip";
    response->file = g.descriptor;
    response->file_length = g.length;
    return CH_OK;
}

ch_status page_export_file_get(web_request *request, web_response *response, ch_err *err)
{
    const char *name = request->part[0];
    ch_status rc = CH_OK;
    if (strcmp(name, "garage.zip") == 0)
        rc = send_archive(request, response, err);
    else if (strcmp(name, "readings.csv") == 0)
        rc = ch_store_readings_csv(request->store, &response->data, err);
    else if (strcmp(name, "history.csv") == 0)
        rc = ch_store_history_csv(request->store, &response->data, err);
    else
        return web_not_found(request, response);
    if (rc < 0)
        return rc;
    if (response->data_type == NULL)
        response->data_type = "text/csv; charset=utf-8";
    snprintf(response->download, sizeof response->download, "%s", name);
    return CH_OK;
}

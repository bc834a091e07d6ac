/* From a log that was sent to a run that is stored, see drive_log.h. */
#include "drive_log.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/driveline.h"

enum { CALCULATION = 9 }; /* counts up when src/driveline answers otherwise than before */

ch_status drive_car(web_request *request, int64_t car_id, const char **text, ch_car *car, ch_err *err)
{
    *car = ch_car_none();
    const ch_status rc = ch_store_drivetrain_get(request->store, &request->pool, car_id, text, err);
    return rc < 0 || *text == NULL ? rc : ch_car_parse("the car", *text, strlen(*text), car, err);
}

size_t drive_seen(const ch_clutch_knowledge *clutch, const ch_store_run_sign sign[], size_t signs,
                  ch_driveline_seen seen[CH_CAR_OBSERVED_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < signs && n < CH_CAR_OBSERVED_MAX; i++) {
        const size_t found = ch_clutch_sign_find(clutch, sign[i].sign, strlen(sign[i].sign));
        if (found != SIZE_MAX)
            seen[n++] = (ch_driveline_seen){.sign = found, .present = sign[i].present != 0};
    }
    return n;
}

/* ---------------------------------------------------------------- reading */

static ch_status feed(void *context, const char *bytes, size_t length, ch_err *err)
{
    return ch_drivelog_feed(context, bytes, length, err);
}

static ch_status read_into(drive_log *d, ch_drivelog_take *take, void *context, ch_err *err)
{
    ch_status rc = ch_drivelog_open(&d->options, take, context, &d->reader, err);
    if (rc >= 0)
        rc = kept_log_read(&d->log, feed, d->reader, err);
    return rc < 0 ? rc : ch_drivelog_finish(d->reader, err);
}

ch_status drive_log_look(drive_log *d, ch_err *err)
{
    ch_err own = {0};
    const ch_status rc = read_into(d, NULL, NULL, &own);
    if (rc == CH_OK || rc == CH_E_INPUT || rc == CH_E_RANGE || rc == CH_E_LIMIT)
        return CH_OK;
    return ch_fail(err, rc, NULL, "%s", own.what);
}

void drive_log_clear(drive_log *d)
{
    ch_drivelog_close(d->reader);
    d->reader = NULL;
}

/* ---------------------------------------------------------------- judging */

/* What was seen by hand with an earlier judging of the same log. */
static ch_status seen_before(web_request *request, const drive_log *d, ch_driveline_seen seen[CH_CAR_OBSERVED_MAX],
                             size_t *n, ch_err *err)
{
    const ch_store_run *runs = NULL;
    size_t count = 0;
    ch_store_run run;
    ch_status rc = ch_store_runs(request->store, &request->pool, d->car_id, &runs, &count, err);
    for (size_t i = 0; rc >= 0 && i < count; i++)
        if (strcmp(runs[i].log_sha256, d->log.sha256) == 0) {
            rc = ch_store_run_load(request->store, &request->pool, runs[i].id, &run, err);
            if (rc >= 0)
                *n = drive_seen(&d->know->clutch, run.sign, run.signs, seen);
            break;
        }
    return rc;
}

static ch_status store(web_request *request, const drive_log *d, const ch_driveline_run *judged,
                       const ch_driveline *result, const char *drivetrain, int64_t *run_id, ch_err *err)
{
    ch_text told;
    char made_by[64];
    ch_stored stored = {0};
    ch_text_init(&told, CH_STORE_TOLD_MAX);
    ch_drivelog_tell(ch_drivelog_report_of(d->reader), &told);
    snprintf(made_by, sizeof made_by, "driveline %d %s", CALCULATION, d->know->made_by);
    ch_store_run run = {.car_id = d->car_id,
                        .day = d->day,
                        .log_name = d->log.name,
                        .log_sha256 = d->log.sha256,
                        .log_bytes = (int64_t)d->log.length,
                        .drivetrain = drivetrain,
                        .told = ch_text_string(&told),
                        .made_by = made_by,
                        .seconds = ch_drivelog_report_of(d->reader)->seconds,
                        .driveline = *result};
    run.point = ch_driveline_picture(judged, &run.points);
    ch_status rc = ch_text_check(&told, err);
    if (rc >= 0)
        rc = ch_store_run_add(request->store, &run, NULL, request->now_s, &stored, err);
    ch_text_clear(&told);
    if (rc >= 0)
        *run_id = stored.id;
    return rc;
}

ch_status drive_log_judge(web_request *request, drive_log *d, int64_t *run_id, ch_err *err)
{
    ch_car car;
    ch_driveline_run *run = NULL;
    ch_driveline result = {0};
    ch_driveline_seen seen[CH_CAR_OBSERVED_MAX];
    size_t seen_n = 0;
    const char *drivetrain = NULL;
    ch_status rc = drive_car(request, d->car_id, &drivetrain, &car, err);
    if (rc >= 0)
        rc = seen_before(request, d, seen, &seen_n, err);
    if (rc >= 0)
        rc = ch_driveline_open(&car, &run, err);
    if (rc >= 0)
        rc = read_into(d, ch_driveline_take, run, err);
    if (rc < 0)
        ch_err_locate(err, d->log.name, 0, 0);
    if (rc >= 0)
        rc = ch_driveline_finish(run, &d->know->clutch, seen, seen_n, &result, err);
    if (rc >= 0)
        rc = store(request, d, run, &result, drivetrain, run_id, err);
    ch_driveline_clear(&result);
    ch_driveline_close(run);
    return rc;
}

/* Every slip of every current run as one table (RFC 4180), for a spreadsheet, or for a program that knows nothing of this one. */
#include <math.h>
#include <string.h>

#include "crosshatch/store_driveline.h"
#include "store_parts.h"

enum { SLIP_COLUMNS = 9 };

static void put_real(ch_text *csv, double value)
{
    char text[32] = "";
    if (isfinite(value))
        sqlite3_snprintf((int)sizeof text, text, "%.9g", value); /* a point in every locale */
    ch_text_appendf(csv, ",%s", text);
}

static void put_line(ch_text *csv, const ch_store_run *run, const ch_slip *slip)
{
    char day[16];
    ch_date_format(run->day, day, sizeof day);
    ch_text_appendf(csv, "%lld,%lld,%s,", (long long)run->id, (long long)run->car_id, day);
    store_csv_words(csv, run->log_name);
    ch_text_appendf(csv, ",%s,%zu", run->log_sha256, run->driveline.slips_found);
    for (int k = 0; k < 3; k++)
        put_real(csv, run->driveline.capacity_n_m[k]);
    if (slip != NULL) {
        const double value[SLIP_COLUMNS - 1] = {slip->start_s,    slip->end_s,  slip->peak_1,  slip->mean_1,
                                                slip->torque_n_m, slip->heat_j, slip->plate_k, slip->peak_plate_k};
        ch_text_appendf(csv, ",%d", slip->gear);
        for (int k = 0; k < SLIP_COLUMNS - 1; k++)
            put_real(csv, value[k]);
    } else {
        ch_text_append_string(csv, ",,,,,,,,,");
    }
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        put_real(csv, run->driveline.cause_1[c]);
    ch_text_append_string(csv, "\r\n");
}

static void put_header(ch_text *csv)
{
    ch_text_append_string(csv, "run,car,date,log,log_sha256,slips_found,capacity_5_percent,capacity_median,"
                               "capacity_95_percent,gear,start,end,peak,mean,torque,heat,plate_before,plate_after");
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        ch_text_appendf(csv, ",%s", ch_clutch_cause_id((ch_clutch_cause)c));
    ch_text_append_string(csv, "\r\n,,,,,,N m,N m,N m,,s,s,1,1,N m,J,K,K");
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        ch_text_append_string(csv, ",1");
    ch_text_append_string(csv, "\r\n");
}

ch_status ch_store_runs_csv(ch_store *store, ch_text *csv, ch_err *err)
{
    ch_store_pool pool = {0};
    const ch_store_run *runs = NULL;
    size_t count = 0;
    ch_status rc = ch_store_runs(store, &pool, 0, &runs, &count, err);
    if (rc >= 0 && count > 0)
        put_header(csv);
    for (size_t i = count; rc >= 0 && i-- > 0;) {
        ch_store_pool one = {0};
        ch_store_run run = {0};
        rc = ch_store_run_load(store, &one, runs[i].id, &run, err);
        for (size_t k = 0; rc >= 0 && k < run.driveline.slips; k++)
            put_line(csv, &run, &run.driveline.slip[k]);
        if (rc >= 0 && run.driveline.slips == 0)
            put_line(csv, &run, NULL);
        ch_store_pool_clear(&one);
    }
    ch_store_pool_clear(&pool);
    return rc < 0 ? rc : ch_text_check(csv, err);
}

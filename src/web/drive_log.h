/* From a log that was sent to a run that is stored. */
#ifndef CROSSHATCH_WEB_DRIVE_LOG_H
#define CROSSHATCH_WEB_DRIVE_LOG_H

#include "crosshatch/car.h"
#include "crosshatch/drivelog.h"
#include "kept_log.h"
#include "know.h"

typedef struct drive_log {
    const web_know *know;
    int64_t car_id;
    ch_date day; /* of driving; year 0 = not given */
    kept_log log;
    ch_drivelog_options options; /* columns and units chosen by hand */
    ch_drivelog *reader;         /* once read: its report stays until drive_log_clear */
} drive_log;

/* What is known of the car's driveline, as typed (NULL: nothing) and read. */
ch_status drive_car(web_request *request, int64_t car_id, const char **text, ch_car *car, ch_err *err);

/* Read and judge the log and store the run. After CH_E_INPUT the reader's report says what columns there are. */
ch_status drive_log_judge(web_request *request, drive_log *d, int64_t *run_id, ch_err *err);

/* Only look at the log for its columns; what is wrong with it is left for the judging. */
ch_status drive_log_look(drive_log *d, ch_err *err);

void drive_log_clear(drive_log *d);

/* What was seen by hand, as the library wants it; signs that knowledge no longer has are left out. At most CH_CAR_OBSERVED_MAX. */
size_t drive_seen(const ch_clutch_knowledge *clutch, const ch_store_run_sign sign[], size_t signs,
                  ch_driveline_seen seen[CH_CAR_OBSERVED_MAX]);

#endif

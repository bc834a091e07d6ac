/* crosshatch driveline: gears, slip, what the clutch holds and what may be wrong with it, from a logged run. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "crosshatch/driveline.h"
#include "crosshatch/show_driveline.h"
#include "file.h"
#include "input.h"

enum { CAR_BYTES_MAX = 256 * 1024 };

static ch_status read_car(const char *name, ch_car *car, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = file_read(name, CAR_BYTES_MAX, &bytes, &length, err);
    if (rc < 0)
        return rc;
    rc = ch_car_parse(strcmp(name, "-") == 0 ? "standard input" : name, bytes, length, car, err);
    free(bytes);
    return rc;
}

/* One result of a hand check by its name; `not_NAME`: looked for, and not there. */
static ch_status see(const ch_clutch_knowledge *clutch, const char *name, size_t length, ch_driveline_seen *seen,
                     size_t *n, ch_err *err)
{
    static const char prefix[] = "not_";
    const size_t skip = sizeof prefix - 1;
    const bool absent = length > skip && memcmp(name, prefix, skip) == 0;
    const char *id = absent ? name + skip : name;
    const size_t id_length = absent ? length - skip : length;
    const size_t sign = ch_clutch_sign_find(clutch, id, id_length);
    char shown[64], right[128] = "a name that crosshatch-driveline(1) lists";
    ch_text_excerpt(name, length, shown, sizeof shown);
    if (sign == SIZE_MAX) {
        const char *nearest = ch_clutch_sign_nearest(clutch, id, id_length);
        if (nearest != NULL)
            snprintf(right, sizeof right, "did you mean \"%s%s\"?", absent ? prefix : "", nearest);
        return ch_fail(err, CH_E_INPUT, right, "observed: unknown name \"%s\"", shown);
    }
    for (size_t i = 0; i < *n; i++)
        if (seen[i].sign == sign)
            return ch_fail(err, CH_E_INPUT, "each once", "observed: \"%s\" stands here again", shown);
    if (*n == CH_CAR_OBSERVED_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 32", "observed: too many names");
    seen[(*n)++] = (ch_driveline_seen){.sign = sign, .present = !absent};
    return CH_OK;
}

/* From the car's file, and from --observed a,b. */
static ch_status gather_seen(const cli_options *options, const ch_car *car, const ch_clutch_knowledge *clutch,
                             ch_driveline_seen seen[CH_CAR_OBSERVED_MAX], size_t *n, ch_err *err)
{
    ch_status rc = CH_OK;
    for (size_t i = 0; i < car->observed_n && rc >= 0; i++) {
        rc = see(clutch, car->observed[i].id, strlen(car->observed[i].id), seen, n, err);
        if (rc < 0)
            ch_err_locate(err, options->car, car->observed[i].line, car->observed[i].column);
    }
    const char *at = options->observed;
    while (at != NULL && *at != '\0' && rc >= 0) {
        const size_t length = strcspn(at, ",");
        if (length > 0)
            rc = see(clutch, at, length, seen, n, err);
        at += length + (at[length] == ',');
    }
    return rc;
}

/* NAME=COLUMN for each --column. */
static ch_status gather_columns(const cli_options *options, ch_drivelog_options *log, ch_err *err)
{
    for (size_t i = 0; i < options->columns; i++) {
        const char *equals = strchr(options->column[i], '=');
        const size_t length = equals != NULL ? (size_t)(equals - options->column[i]) : 0;
        const ch_drivelog_channel channel =
            equals != NULL ? ch_drivelog_channel_find(options->column[i], length) : CH_DRIVELOG_CHANNELS_;
        if (channel == CH_DRIVELOG_CHANNELS_ || equals[1] == '\0') {
            char shown[64];
            ch_text_excerpt(options->column[i], strlen(options->column[i]), shown, sizeof shown);
            return ch_fail(err, CH_E_USAGE,
                           "time, rpm, speed, throttle, acceleration, coolant, oil, clutch, gps or driven, then = and "
                           "the column's name or number",
                           "driveline: --column: \"%s\"", shown);
        }
        log->column[channel] = equals + 1;
    }
    return CH_OK;
}

typedef struct feeding {
    ch_drivelog *log;
} feeding;

static ch_status feed(const char *bytes, size_t length, void *context, ch_err *err)
{
    const feeding *f = context;
    return ch_drivelog_feed(f->log, bytes, length, err);
}

/* The whole log through the reader into the run. */
static ch_status read_log(const cli_options *options, ch_driveline_run *run, ch_drivelog **log, ch_err *err)
{
    ch_drivelog_options wanted = {{0}, {0}, {0}};
    ch_status rc = gather_columns(options, &wanted, err);
    if (rc < 0)
        return rc;
    rc = ch_drivelog_open(&wanted, ch_driveline_take, run, log, err);
    if (rc < 0)
        return rc;
    feeding f = {.log = *log};
    rc = file_stream(options->file, feed, &f, err);
    if (rc >= 0)
        rc = ch_drivelog_finish(*log, err);
    if (rc < 0)
        ch_err_locate(err, strcmp(options->file, "-") == 0 ? "standard input" : options->file, 0, 0);
    return rc;
}

static ch_status judge(const cli_options *options, const ch_car *car, const ch_knowledge *knowledge,
                       const ch_clutch_knowledge *clutch, ch_text *answer, ch_err *err)
{
    ch_driveline_run *run = NULL;
    ch_drivelog *log = NULL;
    ch_driveline result = {0};
    ch_driveline_seen seen[CH_CAR_OBSERVED_MAX];
    size_t seen_n = 0;
    ch_status rc = gather_seen(options, car, clutch, seen, &seen_n, err);
    if (rc >= 0)
        rc = ch_driveline_open(car, &run, err);
    if (rc >= 0)
        rc = read_log(options, run, &log, err);
    if (rc >= 0)
        rc = ch_driveline_finish(run, clutch, seen, seen_n, &result, err);
    if (rc >= 0) {
        const ch_show_run shown = {.driveline = &result,
                                   .report = ch_drivelog_report_of(log),
                                   .car = car,
                                   .knowledge = knowledge,
                                   .clutch = clutch,
                                   .seen = seen,
                                   .seen_n = seen_n};
        const ch_show_style style = cli_style(options);
        if (options->given & CLI_JSON) {
            rc = ch_show_driveline_json(&shown, answer, err);
        } else {
            ch_show_driveline_text(&shown, &style, answer);
            rc = ch_text_check(answer, err);
        }
    }
    ch_driveline_clear(&result);
    ch_driveline_close(run);
    ch_drivelog_close(log);
    return rc;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    ch_car car = ch_car_none();
    ch_knowledge knowledge = {0};
    ch_clutch_knowledge clutch = {0};
    ch_status rc = options->car != NULL ? read_car(options->car, &car, err) : CH_OK;
    if (rc >= 0)
        rc = input_knowledge(options->knowledge, &knowledge, err);
    if (rc < 0)
        return rc;
    rc = input_clutch_knowledge(options->knowledge, &knowledge, &clutch, err);
    if (rc >= 0) {
        rc = judge(options, &car, &knowledge, &clutch, answer, err);
        ch_clutch_knowledge_clear(&clutch);
    }
    ch_knowledge_clear(&knowledge);
    return rc;
}

const cli_command cli_driveline = {
    .name = "driveline",
    .summary = "gears, slip, what the clutch holds and why, from a logged run",
    .synopsis = "LOG",
    .help = "Reads a log of time, engine speed and road speed (any delimited text with a header),\n"
            "finds the gears, and tells a slipping clutch from wheelspin, shifts, blips and\n"
            "lagging signals. With the car's mass also the torque that the clutch holds.\n",
    .options = CLI_COMMON | CLI_JSON | CLI_WORKING | CLI_COLOUR | CLI_NO_COLOUR | CLI_CAR | CLI_COLUMN | CLI_OBSERVED |
               CLI_KNOWLEDGE,
    .takes_file = true,
    .file_is = "one log, or - for the standard input",
    .car_is_file = true,
    .run = run,
};

#include "doings.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "../../src/cli/cli.h"
#include "../store/deeds.h"

/* Requests are to what deeds_base() made: car 1, engine 1, sheet 2 open with a row, a ledger entry and a photo. */
const doing doings[] = {
    {"a request that is the first", true, SLOW, {"GET", "/sheet/2/do/open_up", NULL}},
    {"judge", false, SLOW, {"judge", "@B", NULL}},
    {"judge, JSON in and out, working", false, SLOW, {"judge", "--json", "--working", "@J", NULL}},
    {"judge --why", false, SLOWEST, {"judge", "--why", "3", "@B", NULL}},
    {"judge by the knowledge files", false, SLOWEST, {"judge", "--knowledge", "@F", "@S", NULL}},
    {"predict", false, QUICK, {"predict", "@S", NULL}},
    {"predict --json", false, QUICK, {"predict", "--json", "@S", NULL}},
    {"driveline", false, SLOW, {"driveline", "--working", "@L", NULL}},
    {"driveline --json of a car",
     false,
     true,
     {"driveline", "--json", "--car", "@C", "--observed", "oil_at_drain_hole", "@L", NULL}},
    {"winter", false, QUICK, {"winter", "--working", "@P", NULL}},
    {"winter --json", false, QUICK, {"winter", "--json", "@P", NULL}},
    {"winter --ics", false, QUICK, {"winter", "--ics", "@P", NULL}},
    {"winter --csv", false, QUICK, {"winter", "--csv", "@P", NULL}},
    {"winter --shopping", false, QUICK, {"winter", "--shopping", "@P", NULL}},
    {"season", false, SLOWEST, {"season", "--today", "2027-01-20", "--garage", "@G", NULL}},
    {"season --json", false, SLOWEST, {"season", "--json", "--today", "2027-01-20", "--garage", "@G", NULL}},
    {"ready", false, SLOW, {"ready", "--today", "2027-01-20", "--garage", "@G", NULL}},
    {"ready --json", false, SLOWEST, {"ready", "--json", "--today", "2027-01-20", "--garage", "@G", NULL}},
    {"report, HTML", false, SLOW, {"report", "-o", "r.html", "@B", NULL}},
    {"report, PDF", false, SLOW, {"report", "-o", "r.pdf", "@S", NULL}},
    {"report, SVG", false, SLOWEST, {"report", "-o", "r.svg", "@S", NULL}},
    {"report, CSV", false, SLOWEST, {"report", "-o", "r.csv", "@S", NULL}},
    {"import", false, QUICK, {"import", "--garage", "@G", "@B", NULL}},
    {"import of a whole garage", false, QUICK, {"import", "--garage", "@N", "@A", NULL}},
    {"export", false, QUICK, {"export", "--garage", "@G", "@O", NULL}},
    {"export of the whole garage", false, QUICK, {"export", "--garage", "@G", "@Z", NULL}},
    {"backup", false, QUICK, {"backup", "--garage", "@G", "@K", NULL}},
    {"verify", false, QUICK, {"verify", "--garage", "@G", NULL}},
    {"the start page", true, QUICK, {"GET", "/", NULL}},
    {"cars", true, QUICK, {"GET", "/cars", NULL}},
    {"a car", true, QUICK, {"GET", "/car/1", NULL}},
    {"an engine", true, QUICK, {"GET", "/car/1/engine", NULL}},
    {"events", true, QUICK, {"GET", "/car/1/events", NULL}},
    {"parts", true, QUICK, {"GET", "/car/1/parts", NULL}},
    {"the winter", true, SLOW, {"GET", "/car/1/winter", NULL}},
    {"the season", true, SLOW, {"GET", "/car/1/season", NULL}},
    {"ready for the trailer", true, SLOWEST, {"GET", "/car/1/ready", NULL}},
    {"the driveline's page", true, QUICK, {"GET", "/car/1/driveline", NULL}},
    {"a job in hand", true, QUICK, {"GET", "/task/2", NULL}},
    {"a sheet's report", true, SLOWEST, {"GET", "/sheet/1/report.html", NULL}},
    {"what if, moved", true, QUICK, {"GET", "/whatif/result?bore=82", NULL}},
    {"sheets", true, QUICK, {"GET", "/sheets", NULL}},
    {"a sheet", true, QUICK, {"GET", "/sheet/2", NULL}},
    {"a step", true, QUICK, {"GET", "/sheet/2/do/open_up", NULL}},
    {"measuring", true, QUICK, {"GET", "/sheet/2/measure?cylinder=2", NULL}},
    {"the ledger", true, QUICK, {"GET", "/sheet/2/ledger", NULL}},
    {"findings", true, SLOW, {"GET", "/sheet/1/findings", NULL}},
    {"a photo", true, QUICK, {"GET", "/photo/1", NULL}},
    {"settings", true, QUICK, {"GET", "/settings", NULL}},
    {"help", true, QUICK, {"GET", "/help", NULL}},
    {"what if", true, QUICK, {"GET", "/whatif", NULL}},
    {"a thing that never changes", true, QUICK, {"GET", "/asset/look.css", NULL}},
    {"a new car",
     true,
     false,
     {"POST", "/cars/new", "name=invented+two&bore=80.5+mm&stroke=88+mm&cylinders=4&entry=e1", NULL}},
    {"a new event", true, QUICK, {"POST", "/car/1/events", "day=2027-03-20&name=hill+climb&hours=1&entry=e2", NULL}},
    {"a reading",
     true,
     false,
     {"POST", "/sheet/2/measure?cylinder=2", "cylinder=2&reading=171&unit=psi&kind=dry&entry=e3", NULL}},
    {"a step done", true, QUICK, {"POST", "/sheet/2/do/open_up", "step=plugs&cylinder=1&do=done&entry=e5", NULL}},
    {"a thing taken off", true, QUICK, {"POST", "/sheet/2/ledger", "what=coil&origin=cylinder+2&entry=e4", NULL}},
    {"hours and money",
     true,
     QUICK,
     {"POST", "/task/2", "do=spent&day=2027-01-14&hours=1.5&money=12&note=gasket&entry=e6", NULL}},
    {"a preference", true, QUICK, {"POST", "/settings", "pressure=bar&currency=EUR&hour_value=15", NULL}},
};
const size_t doings_count = sizeof doings / sizeof doings[0];

/* The program's clock and its dice stand still, so that the same is answered each time. */
ch_status __wrap_web_random(void *bytes, size_t length, ch_err *err);
ch_status __wrap_web_random(void *bytes, size_t length, ch_err *err)
{
    (void)err;
    memset(bytes, 7, length);
    return CH_OK;
}

time_t __wrap_time(time_t *where);
time_t __wrap_time(time_t *where)
{
    if (where != NULL)
        *where = DEED_NOW;
    return DEED_NOW;
}

uint64_t doing_sum(uint64_t sum, const void *bytes, size_t length)
{
    const unsigned char *at = bytes;
    for (size_t i = 0; i < length; i++)
        sum = (sum ^ at[i]) * 0x100000001b3U; /* FNV-1a: draft-eastlake-fnv */
    return sum;
}

/* ---------------------------------------------------------------- the folder */

static const char *tree(void)
{
    const char *named = getenv("CROSSHATCH_SOURCE");
    return named != NULL ? named : ".";
}

static char *read_bytes(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL || fseek(file, 0, SEEK_END) != 0)
        return NULL;
    *length = (size_t)ftell(file);
    rewind(file);
    char *bytes = malloc(*length + 1);
    if (bytes != NULL && fread(bytes, 1, *length, file) != *length) {
        free(bytes);
        bytes = NULL;
    }
    fclose(file);
    return bytes;
}

static bool write_bytes(const char *path, const char *bytes, size_t length)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL)
        return false;
    const bool good = fwrite(bytes, 1, length, file) == length;
    return fclose(file) == 0 && good;
}

/* Remove all files in a folder whose name begins so ("" = all), and count the others. */
static int sweep(const char *folder, const char *begins, uint64_t *sum)
{
    int others = 0;
    DIR *d = opendir(folder);
    for (struct dirent *e = d != NULL ? readdir(d) : NULL; e != NULL; e = readdir(d)) {
        char path[DOING_PATH + 300];
        snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        if (e->d_name[0] == '.')
            continue;
        if (strncmp(e->d_name, begins, strlen(begins)) != 0) {
            others++;
            continue;
        }
        size_t length = 0;
        char *bytes = sum != NULL ? read_bytes(path, &length) : NULL;
        if (bytes != NULL) /* in whatever order the folder gives them */
            *sum += doing_sum(doing_sum(1, e->d_name, strlen(e->d_name)), bytes, length);
        free(bytes);
        unlink(path);
    }
    if (d != NULL)
        closedir(d);
    return others;
}

bool doing_prepare(doing_place *place, const char *folder, ch_err *err)
{
    static const char car[] = "tyre: 195/50R15\nfinal_drive: 4.1\ngears: [3.6, 2.0, 1.4, 1.0, 0.8]\nmass: 1100 kg\n";
    ch_store *store = NULL;
    deed_place made = {0};
    deed_archive archive = {0};
    ch_sheet demo;
    char *json = NULL, path[DOING_PATH + 16];
    size_t length = 0;
    *place = (doing_place){0};
    snprintf(place->folder, sizeof place->folder, "%s", folder);
    snprintf(place->garage, sizeof place->garage, "%s/garage.db", folder);
    snprintf(place->taken_out, sizeof place->taken_out, "%s/out", folder);
    snprintf(place->copy, sizeof place->copy, "%s/copy.db", folder);
    snprintf(place->json, sizeof place->json, "%s/sheet.json", folder);
    snprintf(place->archive, sizeof place->archive, "%s/sheet.zip", folder);
    snprintf(place->taken_in, sizeof place->taken_in, "%s/copy-in.db", folder);
    snprintf(place->packed, sizeof place->packed, "%s/copy.zip", folder);
    snprintf(path, sizeof path, "%s/sheet.car.yaml", folder);
    ch_status rc = deeds_demo(&demo, err);
    if (rc < 0)
        return false;
    rc = ch_sheet_write(&demo, true, &json, &length, err);
    bool good = rc >= 0 && write_bytes(place->json, json, length) && write_bytes(path, car, sizeof car - 1);
    free(json);
    if (good)
        rc = ch_store_open(place->garage, CH_STORE_CREATE, &store, err);
    if (good && rc >= 0)
        rc = deeds_base(store, &demo, &made, err);
    if (good && rc >= 0)
        rc = ch_store_archive_write(store, deeds_archive_take, &archive, NULL, err);
    good = good && rc >= 0 && write_bytes(place->archive, archive.bytes, archive.length);
    free(archive.bytes);
    ch_store_close(store);
    ch_sheet_clear(&demo);
    place->base = good && rc >= 0 ? read_bytes(place->garage, &place->base_length) : NULL;
    place->base_holds = deeds_digest(place->garage);
    unsetenv("HOME");
    unsetenv("XDG_CACHE_HOME"); /* else answers of the tracing would be kept */
    setenv("SOURCE_DATE_EPOCH", "1800000000", 1);
    return place->base != NULL;
}

void doing_end(doing_place *place)
{
    (void)sweep(place->taken_out, "", NULL);
    (void)rmdir(place->taken_out);
    (void)sweep(place->folder, "", NULL);
    free(place->base);
}

/* ---------------------------------------------------------------- doing */

/* What an argument that begins with @ stands for, in memory that the arguments keep. */
static const char *meant(const doing_place *place, const char *argument, char text[DOING_PATH + 64])
{
    static const struct {
        char letter;
        const char *path;
    } in_tree[] = {{'S', "demo/hill-climb-sound.yaml"},
                   {'B', "demo/hill-climb-burnt-valve.yaml"},
                   {'P', "demo/winter/hill-climb.yaml"},
                   {'F', "knowledge"},
                   {'L', "tests/data/vehicle-logs/vehicle_a_slow_1.csv"}};
    if (argument[0] != '@')
        return argument;
    for (size_t i = 0; i < sizeof in_tree / sizeof in_tree[0]; i++)
        if (in_tree[i].letter == argument[1]) {
            snprintf(text, DOING_PATH + 64, "%s/%s", tree(), in_tree[i].path);
            return text;
        }
    switch (argument[1]) {
    case 'J': return place->json;
    case 'G': return place->garage;
    case 'O': return place->taken_out;
    case 'K': return place->copy;
    case 'A': return place->archive;
    case 'N': return place->taken_in;
    case 'Z': return place->packed;
    default: snprintf(text, DOING_PATH + 64, "%s/sheet.car.yaml", place->folder); return text;
    }
}

static const cli_command *command_of(const char *name)
{
    static const cli_command *const commands[] = {&cli_judge,  &cli_predict, &cli_driveline, &cli_import,
                                                  &cli_export, &cli_backup,  &cli_verify,    &cli_report,
                                                  &cli_ready,  &cli_season,  &cli_winter};
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
        if (strcmp(commands[i]->name, name) == 0)
            return commands[i];
    return NULL;
}

static void do_verb(const doing_place *place, const doing *d, void (*begin)(void *), void (*end)(void *), void *context,
                    doing_outcome *outcome)
{
    char text[DOING_ARGUMENTS][DOING_PATH + 64], *arguments[DOING_ARGUMENTS];
    const cli_command *command = command_of(d->argument[0]);
    int count = 0;
    for (int i = 1; i < DOING_ARGUMENTS && d->argument[i] != NULL; i++) {
        const char *means = meant(place, d->argument[i], text[count]);
        if (means != text[count])
            snprintf(text[count], sizeof text[count], "%s", means);
        arguments[count] = text[count];
        count++;
    }
    cli_options options = {0};
    ch_text answer;
    begin(context);
    ch_text_init(&answer, CLI_ANSWER_MAXIMUM);
    outcome->status = cli_options_parse(command, count, arguments, &options, &outcome->err);
    if (outcome->status >= 0)
        outcome->status = command->run(&options, &answer, &outcome->err);
    end(context);
    outcome->answer = outcome->status >= 0 ? doing_sum(1, ch_text_string(&answer), answer.length) : 0;
    ch_text_clear(&answer);
}

static void do_request(const doing_place *place, const doing *d, void (*begin)(void *), void (*end)(void *),
                       void *context, doing_outcome *outcome)
{
    doing_answer answer = {0};
    doing_request(place->garage, d->argument[0], d->argument[1], d->argument[2] != NULL ? d->argument[2] : "", begin,
                  end, context, &answer);
    outcome->answer = answer.bytes;
    outcome->status = answer.status == 200 || answer.status == 303 ? CH_OK
                      : answer.status >= 500                       ? CH_E_MEMORY
                                                                   : CH_E_INPUT;
    if (outcome->status < 0)
        ch_fail(&outcome->err, outcome->status, NULL, "%s", answer.what);
}

bool doing_changes(const doing *d)
{
    return strcmp(d->argument[0], "POST") == 0 ||
           (strcmp(d->argument[0], "import") == 0 && strcmp(d->argument[2], "@G") == 0);
}

bool doing_packs(const doing *d)
{
    for (int i = 0; i < DOING_ARGUMENTS && d->argument[i] != NULL; i++)
        if (strcmp(d->argument[i], "@A") == 0 || strcmp(d->argument[i], "@Z") == 0)
            return true;
    return false;
}

bool doing_start_again(const doing_place *place, doing_outcome *outcome)
{
    *outcome = (doing_outcome){0};
    (void)sweep(place->folder, "garage.db", NULL);
    if (write_bytes(place->garage, place->base, place->base_length))
        return true;
    outcome->status = ch_fail(&outcome->err, CH_E_IO, NULL, "the garage file cannot be written");
    return false;
}

void doing_act(const doing_place *place, const doing *d, void (*begin)(void *), void (*end)(void *), void *context,
               doing_outcome *outcome)
{
    if (d->web)
        do_request(place, d, begin, end, context, outcome);
    else
        do_verb(place, d, begin, end, context, outcome);
}

/* What a file holds that may have been made: added to *sum; whether it was. */
static bool take_away(const char *path, bool garage, uint64_t *sum)
{
    size_t length = 0;
    if (access(path, F_OK) != 0)
        return false;
    char *bytes = garage ? NULL : read_bytes(path, &length);
    *sum += garage ? deeds_digest(path) : doing_sum(1, bytes, length);
    free(bytes);
    unlink(path);
    return true;
}

void doing_look(const doing_place *place, doing_outcome *outcome)
{
    uint64_t written = 0;
    outcome->garage = deeds_digest(place->garage);
    bool made = take_away(place->copy, true, &written);
    made = take_away(place->taken_in, true, &written) || made;
    made = take_away(place->packed, false, &written) || made;
    if (access(place->taken_out, F_OK) == 0) {
        made = true;
        (void)sweep(place->taken_out, "", &written);
        (void)rmdir(place->taken_out);
    }
    outcome->left = outcome->status < 0 && made;
    outcome->answer += written;
    (void)sweep(place->folder, "garage.db", NULL);
    /* sheet.json, the car and the archive are what is always there */
    const int others = sweep(place->folder, "sheet.none", NULL);
    if (others != 3 && !outcome->ended) /* else what was growing under a name of its own lies there */
        outcome->left = true;
    if (others > 3)
        (void)sweep(place->folder, "copy", NULL);
}

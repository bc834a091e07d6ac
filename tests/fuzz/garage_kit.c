#include "garage_kit.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "crosshatch/store_car.h"
#include "crosshatch/store_sheet.h"

static char folder[128], file_path[160];
static uint8_t *made;
static size_t made_size;

void must(bool held)
{
    if (!held)
        abort();
}

static void empty_folder(void)
{
    DIR *const d = opendir(folder);
    for (struct dirent *e = d != NULL ? readdir(d) : NULL; e != NULL; e = readdir(d)) {
        char path[sizeof folder + sizeof e->d_name + 1];
        snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        if (e->d_name[0] != '.')
            (void)unlink(path);
    }
    if (d != NULL)
        closedir(d);
}

static void remove_folder(void)
{
    empty_folder();
    (void)rmdir(folder);
    free(made);
    made = NULL;
}

uint8_t *garage_read(size_t *size)
{
    FILE *const file = fopen(file_path, "rb");
    must(file != NULL && fseek(file, 0, SEEK_END) == 0);
    *size = (size_t)ftell(file);
    rewind(file);
    uint8_t *const bytes = malloc(*size + 1);
    must(bytes != NULL && fread(bytes, 1, *size, file) == *size);
    fclose(file);
    return bytes;
}

static ch_quantity quantity(const char *text, ch_dimension dimension)
{
    ch_quantity q = ch_quantity_none();
    must(ch_quantity_parse(text, strlen(text), dimension, NULL, &q, NULL) == CH_OK);
    return q;
}

static void add_readings(ch_store *store, int64_t sheet)
{
    static const char *const readings[] = {"176 psi", "171 psi", "12.1 bar", "140 psi"};
    ch_stored row, dry = {0};
    char client[32];
    for (int cylinder = 1; cylinder <= 4; cylinder++) {
        ch_store_row one;
        ch_store_row_init(&one, CH_STORE_DRY);
        one.reading.cylinder = cylinder;
        one.reading.reading = quantity(readings[cylinder - 1], CH_DIM_PRESSURE);
        must(ch_store_row_add(store, sheet, &one, NULL, GARAGE_NOW, &dry, NULL) == CH_OK);
        ch_store_row_init(&one, CH_STORE_WET);
        snprintf(client, sizeof client, "phone:%d.%d", (int)sheet, cylinder);
        one.reading.cylinder = cylinder;
        one.reading.reading = quantity("190 psi", CH_DIM_PRESSURE);
        must(ch_store_row_add(store, sheet, &one, client, GARAGE_NOW + cylinder, &row, NULL) >= CH_OK);
    }
    must(ch_store_row_delete(store, row.id, NULL, GARAGE_NOW, NULL, NULL) == CH_OK);
    ch_store_row seen;
    ch_store_row_init(&seen, CH_STORE_DRY);
    seen.reading.cylinder = 4;
    seen.reading.reading = quantity("180 psi", CH_DIM_PRESSURE);
    must(ch_store_row_correct(store, dry.id, &seen, NULL, GARAGE_NOW, &row, NULL) == CH_OK);
    const ch_store_ledger coil = {.what = "coil", .origin = "cylinder 1", .lies = "left tray", .torque = "10 N m"};
    must(ch_store_ledger_add(store, sheet, &coil, NULL, GARAGE_NOW, &row, NULL) == CH_OK);
}

static void fill(ch_store *store)
{
    static const unsigned char picture[] = {0xff, 0xd8, 0xff, 0xd9};
    ch_stored car, engine, gauge, sheet, other;
    const ch_store_car first = {.name = "Hill climber", .note = "invented"}, second = {.name = "Tow car"};
    must(ch_store_car_add(store, &first, NULL, GARAGE_NOW, &car, NULL) == CH_OK);
    must(ch_store_car_add(store, &second, NULL, GARAGE_NOW, &other, NULL) == CH_OK);
    ch_sheet described;
    ch_sheet_init(&described);
    described.engine.cylinders = 4;
    described.engine.bore = quantity("80.5 mm", CH_DIM_LENGTH);
    described.engine.stroke = quantity("88 mm", CH_DIM_LENGTH);
    described.gauge.span = quantity("300 psi", CH_DIM_PRESSURE);
    const ch_store_engine life = {.car_id = car.id, .name = "first", .why = CH_STORE_FIRST, .begun = {2024, 3, 1}};
    must(ch_store_engine_begin(store, &life, NULL, 0, &described, NULL, GARAGE_NOW, &engine, NULL) == CH_OK);
    const ch_store_gauge tool = {.name = "screw-in gauge"};
    must(ch_store_gauge_add(store, &tool, &described, NULL, GARAGE_NOW, &gauge, NULL) == CH_OK);
    ch_sheet_clear(&described);
    for (int i = 0; i < 2; i++) {
        must(ch_store_sheet_begin(store, engine.id, gauge.id, (ch_date){2027, 1, 16 + i}, NULL, GARAGE_NOW, &sheet,
                                  NULL) == CH_OK);
        add_readings(store, sheet.id);
        if (i == 0)
            must(ch_store_sheet_close(store, sheet.id, "coil 1 is broken", GARAGE_NOW, NULL) == CH_OK);
    }
    const ch_store_photo photo = {
        .sheet_id = sheet.id, .mime = "image/jpeg", .bytes = picture, .length = sizeof picture, .taken_s = GARAGE_NOW};
    must(ch_store_photo_add(store, &photo, NULL, GARAGE_NOW, &other, NULL) == CH_OK);
    const ch_store_event event = {.car_id = car.id,
                                  .day = {2026, 9, 5},
                                  .name = "Hill day",
                                  .running_s = 3600,
                                  .distance_m = 42000,
                                  .starts = 6,
                                  .sessions = 5};
    must(ch_store_event_add(store, &event, NULL, GARAGE_NOW, &other, NULL) == CH_OK);
    const ch_store_event coming = {.car_id = car.id,
                                   .day = {2027, 4, 3},
                                   .name = "Opening day",
                                   .running_s = NAN,
                                   .distance_m = NAN,
                                   .starts = -1};
    must(ch_store_event_add(store, &coming, NULL, GARAGE_NOW, &other, NULL) == CH_OK);
    const ch_store_part belt = {.engine_id = engine.id, .name = "timing belt", .fitted = {2025, 2, 1}};
    must(ch_store_part_add(store, &belt, NULL, GARAGE_NOW, &other, NULL) == CH_OK);
    must(ch_store_setting_set(store, "units.pressure", "psi", GARAGE_NOW, NULL) == CH_OK);
    must(ch_store_setting_set(store, "car", "1", GARAGE_NOW, NULL) == CH_OK);
}

static void make(void)
{
    struct stat there;
    snprintf(folder, sizeof folder, "%s/crosshatch-fuzz-XXXXXX", stat("/dev/shm", &there) == 0 ? "/dev/shm" : "/tmp");
    must(mkdtemp(folder) != NULL);
    snprintf(file_path, sizeof file_path, "%s/garage.db", folder);
    ch_store *store = NULL;
    must(ch_store_open(file_path, CH_STORE_CREATE, &store, NULL) == CH_OK);
    fill(store);
    ch_store_close(store);
    made = garage_read(&made_size);
    atexit(remove_folder);
}

const char *garage_path(void)
{
    if (made == NULL)
        make();
    return file_path;
}

const uint8_t *garage_bytes(size_t *size)
{
    (void)garage_path();
    *size = made_size;
    return made;
}

void garage_put(const uint8_t *bytes, size_t size)
{
    (void)garage_path();
    empty_folder();
    FILE *const file = fopen(file_path, "wb");
    must(file != NULL && fwrite(bytes, 1, size, file) == size && fclose(file) == 0);
}

bool garage_is(const uint8_t *bytes, size_t size)
{
    size_t there;
    uint8_t *const found = garage_read(&there);
    const bool same = there == size && memcmp(found, bytes, size) == 0;
    free(found);
    return same;
}

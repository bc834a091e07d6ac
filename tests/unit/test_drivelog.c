/* Promises of the log reader about logs that are in order: dialects, headers, units, clocks, and the shape of what comes back. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drivelog_parts.h"
#include "drivelog_read.h"
#include "expect.h"
#include "fail_alloc.h"

static const double rad_s_per_rpm = 0.10471975511965977; /* pi/30 */

static void read_string(read_log *log, const char *text)
{
    read_log_text(log, text, strlen(text), 0, NULL);
    if (log->status < 0)
        print_error("%s: %s\n", log->err.what, log->err.right);
    assert_int_equal(log->status, CH_OK);
}

/* Row `row` in the units that people use. */
static void expect_row(const read_log *log, size_t row, double s, double rpm, double kmh)
{
    assert_true(row < log->n);
    expect_close(log->value[CH_DRIVELOG_TIME][row], s, 1e-6); /* unix stamps keep a quarter of a microsecond */
    expect_close(log->value[CH_DRIVELOG_ENGINE][row] / rad_s_per_rpm, rpm, 1e-9);
    expect_close(log->value[CH_DRIVELOG_ROAD][row] * 3.6, kmh, 1e-9);
}

static void dialects_are_found(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        char separator, decimal;
    } logs[] = {
        {"time,rpm,speed\n0.5,2500,60.5\n0.6,2600,61.5\n", ',', '.'},
        {"time;rpm;speed\n0,5;2500;60,5\n0,6;2600;61,5\n", ';', ','},
        {"time;rpm;speed\n0.5;2500;60.5\n0.6;2600;61.5\n", ';', '.'},
        {"time\trpm\tspeed\r\n0,5\t2500\t60,5\r\n0,6\t2600\t61,5\r\n", '\t', ','},
        {"time|rpm|speed\n0.5|2500|60.5\n0.6|2600|61.5", '|', '.'},
        {"time,rpm,speed,\n0.5,2500,60.5,\n0.6,2600,61.5,\n", ',', '.'},
        {"\"time\",\"rpm\",\"speed\"\n\"0,5\",\"2500\",\"60,5\"\n\"0,6\",\"2600\",\"61,5\"\n", ',', ','},
        {"# a logger\n// another\n% third\n\ntime, rpm, speed\n  0.5,  2500, 60.5\n  0.6,  2600, 61.5\n", ',', '.'},
        {"sep=;\nModel, if any;\ntime;rpm;speed\ns;1/min;km/h\n0,5;2500;60,5\n0,6;2600;61,5\n", ';', ','},
        {"#time,rpm,speed\n0.5,2500,60.5\n# pause\n0.6,2600,61.5\n", ',', '.'},
        {"time,rpm,speed\n[s],[rpm],[km/h]\n5e-1,2.5e3,60.5\n+0.6,2600.000,6.15E1\n", ',', '.'},
    };
    for (size_t i = 0; i < sizeof logs / sizeof logs[0]; i++) {
        read_log log;
        read_string(&log, logs[i].text);
        assert_int_equal(log.n, 2);
        expect_row(&log, 0, 0, 2500, 60.5);
        expect_row(&log, 1, 0.1, 2600, 61.5);
        assert_int_equal(log.report.separator, logs[i].separator);
        assert_int_equal(log.report.decimal, logs[i].decimal);
        read_log_clear(&log);
    }
}

static void headers_are_known_by_their_words_and_units(void **state)
{
    (void)state;
    /* time, engine speed and road speed stand in this order; what one unit of speed is in km/h */
    static const struct {
        const char *header;
        double kmh;
    } logs[] = {
        {"Time (s),Engine RPM [1/min],Vehicle speed (km/h)", 1},
        {"t [s],n [1/min],v [km/h]", 1},
        {"run_time_s,engine_rpm,vehicle_speed_kmh", 1},
        {"Timestamp,EngineSpeed,VehicleSpeed", 1},
        {"elapsed time,Engine Revs,Road Speed (mph)", 1.609344},
        {"Time,RPM,Speed_mps", 3.6},
        {"LogTime,engineRPM,GPS Speed (mph)", 1.609344},
        {"Zeit;Motordrehzahl;Geschwindigkeit", 1},
        {"Zeit [s];Drehzahl U/min;Fahrgeschwindigkeit [m/s]", 3.6},
        {"Zeit;nmot;vfzg", 1}, /* as engines' control units name them */
        {"Temps;R\xc3\xa9gime moteur (tr/min);Vitesse (km/h)", 1},
        {"Tiempo;Revoluciones motor;Velocidad veh\xc3\xad"
         "culo",
         1},
        {"Tempo;Giri motore;Velocit\xc3\xa0 veicolo", 1},
        {"Tempo;Giri;Velocit\xe0", 1}, /* Latin-1 */
        {"time,rpm,speed kn", 1.852},
        {"Time,Engine Speed (OBD)(rpm),Speed (OBD)(km/h)", 1},
    };
    for (size_t i = 0; i < sizeof logs / sizeof logs[0]; i++) {
        char text[512];
        const char s = strchr(logs[i].header, ';') != NULL ? ';' : ',';
        snprintf(text, sizeof text, "%s\n1%c3000%c50\n2%c3000%c50\n", logs[i].header, s, s, s, s);
        read_log log;
        read_string(&log, text);
        expect_row(&log, 1, 1, 3000, 50 * logs[i].kmh);
        read_log_clear(&log);
    }
}

static void the_right_column_wins_among_likely_ones(void **state)
{
    (void)state;
    read_log log;
    read_string(
        &log,
        "Lap time,Oil pressure (bar),Fan speed (rpm),Engine speed limit (rpm),Wheel speed FL (km/h),GPS speed (km/h),"
        "Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle (%),G Lat (g),G Long (g),Coolant (C),Oil temp (F),"
        "Clutch switch,Driven wheel speed (km/h)\n"
        "9,4,1,7000,11,53,1,3000,50,40,0.9,0.5,90,212,1,54\n"
        "9,4,1,7000,11,53,2,3000,50,40,0.9,0.5,90,212,0,54\n");
    expect_row(&log, 1, 1, 3000, 50);
    expect_close(log.value[CH_DRIVELOG_THROTTLE][0], 0.4, 1e-12);
    expect_close(log.value[CH_DRIVELOG_ACCELERATION][0], 4.903325, 1e-12); /* half of g_n, exact by definition */
    expect_close(log.value[CH_DRIVELOG_COOLANT][0], 363.15, 1e-9);
    expect_close(log.value[CH_DRIVELOG_OIL][0], 373.15, 1e-9); /* 212 F is 100 C */
    expect_close(log.value[CH_DRIVELOG_CLUTCH][0], 1, 0);
    expect_close(log.value[CH_DRIVELOG_CLUTCH][1], 0, 0);
    expect_close(log.value[CH_DRIVELOG_GPS][0], 53 / 3.6, 1e-12);
    expect_close(log.value[CH_DRIVELOG_DRIVEN][0], 54 / 3.6, 1e-12);
    read_log_clear(&log);
}

static void columns_can_be_chosen_by_hand(void **state)
{
    (void)state;
    static const char text[] = "a,b,c,d\n1,3000,50,7\n2,3000,50,7\n";
    ch_drivelog_options options = {
        .column = {[CH_DRIVELOG_TIME] = "A", [CH_DRIVELOG_ENGINE] = "2", [CH_DRIVELOG_ROAD] = " c "},
        .unit = {[CH_DRIVELOG_ROAD] = "mph"}};
    read_log log;
    read_log_text(&log, text, strlen(text), 0, &options);
    assert_int_equal(log.status, CH_OK);
    expect_row(&log, 1, 1, 3000, 50 * 1.609344);
    assert_int_equal(log.report.columns[CH_DRIVELOG_ROAD].how, CH_DRIVELOG_BY_HAND);
    read_log_clear(&log);

    /* without a header, by number */
    read_log_text(&log, text + 8, strlen(text + 8), 0, &options);
    assert_int_equal(log.status, CH_E_INPUT);
    read_log_clear(&log);
    options.column[CH_DRIVELOG_TIME] = "1";
    options.column[CH_DRIVELOG_ROAD] = "3";
    read_log_text(&log, text + 8, strlen(text + 8), 0, &options);
    assert_int_equal(log.status, CH_OK);
    expect_row(&log, 1, 1, 3000, 50 * 1.609344);
    assert_int_equal(log.report.header_line, 0);
    read_log_clear(&log);

    options.column[CH_DRIVELOG_ROAD] = "vitesse";
    read_log_text(&log, text, strlen(text), 0, &options);
    assert_int_equal(log.status, CH_E_INPUT);
    assert_non_null(strstr(log.err.what, "vitesse"));
    /* what a page needs to let a person choose is there all the same */
    assert_string_equal(log.names[1], "b");
    assert_string_equal(log.preview, "1");
    read_log_clear(&log);

    options.unit[CH_DRIVELOG_ROAD] = "psi";
    read_log_text(&log, text, strlen(text), 0, &options);
    assert_int_equal(log.status, CH_E_INPUT);
    read_log_clear(&log);
}

static void clocks_of_all_kinds_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *header, *first, *second;
        double seconds;
    } clocks[] = {
        {"time", "0.10", "0.15", 0.05},
        {"time (ms)", "100", "150", 0.05},
        {"time", "100", "150", 0.05}, /* steps of 50: milliseconds */
        {"time (us)", "100000", "150000", 0.05},
        {"time", "1700000000.25", "1700000000.5", 0.25},
        {"timestamp", "1700000000250", "1700000000500", 0.25},
        {"time (min)", "1", "1.5", 30},
        {"time", "12:03:04.5", "12:03:04.75", 0.25},
        {"time", "03:04.5", "03:04.75", 0.25},
        {"time", "12:03:04:500", "12:03:04:750", 0.25},
        {"time", "11:59:59.5 AM", "12:00:00 PM", 0.5},
        {"time", "2027-01-16T12:03:04.500Z", "2027-01-16T12:03:04.750Z", 0.25},
        {"time", "2027-02-28 23:59:59", "2027-03-01 00:00:01", 2},
        {"time", "31.12.2027 23:59:59", "01.01.2028 00:00:00", 1},
        {"time", "12/31/2027 23:59:59", "01/01/2028 00:00:00", 1},
        {"time", "01/12/2027 23:59:59", "01/13/2027 00:00:00", 1}, /* the second tells of both: month first */
        {"time", "12/01/2027 23:59:59", "13/01/2027 00:00:00", 1}, /* day first */
        {"time", "01/31/2027 23:59:59", "02/01/2027 00:00:00", 1}, /* so does the first */
        {"time", "31-01-2027 23:59:59", "01-02-2027 00:00:00", 1},
        {"time", "01/05/2027 23:59:59", "01/06/2027 00:00:00", 1}, /* a day further, and not a month */
        {"time", "05/16/2027 23:59:59", "17/05/2027 00:00:00", 1}, /* one of them is wrong, and neither is lost */
        {"time", "23:59:59.5", "00:00:00.25", 0.75},               /* midnight */
    };
    for (size_t i = 0; i < sizeof clocks / sizeof clocks[0]; i++) {
        char text[256];
        snprintf(text, sizeof text, "%s,rpm,speed\n%s,3000,50\n%s,3000,50\n", clocks[i].header, clocks[i].first,
                 clocks[i].second);
        read_log log;
        read_string(&log, text);
        assert_int_equal(log.n, 2);
        assert_int_equal(log.report.segments_n, 1);
        expect_close(log.value[CH_DRIVELOG_TIME][0], 0, 0);
        expect_close(log.value[CH_DRIVELOG_TIME][1], clocks[i].seconds, 1e-6);
        read_log_clear(&log);
    }
}

static void rows_that_share_a_stamp_are_spread_and_time_always_rises(void **state)
{
    (void)state;
    read_log log;
    read_string(
        &log, "time (s),rpm,speed\n0,1000,0\n0,1000,1\n1,1000,2\n1,1000,3\n2,1000,4\n9,1000,5\n9,1000,6\n10,1000,7\n");
    static const double seconds[] = {0, 0.5, 1, 1.5, 2, 9, 9.5, 10};
    assert_int_equal(log.n, 8);
    for (size_t i = 0; i < 8; i++)
        expect_close(log.value[CH_DRIVELOG_TIME][i], seconds[i], 1e-12);
    assert_int_equal(log.report.repeated.n, 3);
    assert_int_equal(log.report.repeated.line, 3);
    assert_int_equal(log.report.gaps.n, 1);
    assert_int_equal(log.report.gaps.line, 7);
    expect_close(log.report.longest_gap_s, 7, 1e-12);
    expect_close(log.report.seconds, 3, 1e-12); /* the gap is not counted */
    read_log_clear(&log);
}

/* A log of `rows` rows with a bit of everything. To be freed. */
static char *long_log(size_t rows, size_t *length)
{
    char *const text = malloc(rows * 96 + 512);
    assert_non_null(text);
    if (text == NULL)
        return NULL; /* never: the line above stops; some compilers do not know */
    size_t used = (size_t)sprintf(
        text, "# made for a test\nTime (s),Note,Engine speed (rpm),Speed (km/h),Throttle (%%),Coolant (C)\n");
    for (size_t i = 0; i < rows; i++) {
        const double s = (double)i * 0.01;
        if (i % 997 == 500)
            used += (size_t)sprintf(text + used, "%.2f,\"a \"\"note\"\",\nin two lines\",%zu,%.2f,%zu,\n", s,
                                    2000 + i % 3000, 60 + (double)(i % 100) * 0.1, i % 100);
        else if (i % 501 == 7)
            used += (size_t)sprintf(text + used, "%.2f,short\r\n", s);
        else if (i % 303 == 9)
            used += (size_t)sprintf(text + used, "%.2f,,n/a,%.2f,x,90\n# remark\n", s, 60 + (double)(i % 100) * 0.1);
        else
            used += (size_t)sprintf(text + used, "%.2f,,%zu,%.2f,%zu,%d\r\n", s, 2000 + i % 3000,
                                    60 + (double)(i % 100) * 0.1, i % 100, 90);
    }
    *length = used;
    return text;
}

static void pieces_change_nothing(void **state)
{
    (void)state;
    size_t length;
    char *const text = long_log(5000, &length);
    read_log whole;
    read_log_text(&whole, text, length, 0, NULL);
    assert_int_equal(whole.status, CH_OK);
    assert_true(whole.n > 4500 && whole.batches > 4 && whole.longest == CH_DRIVELOG_BATCH);
    static const size_t pieces[] = {1, 3, 63, 4096, 65537, 262144};
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        read_log cut;
        read_log_text(&cut, text, length, pieces[i], NULL);
        assert_int_equal(cut.status, CH_OK);
        assert_int_equal(cut.n, whole.n);
        for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
            assert_memory_equal(cut.value[c], whole.value[c], whole.n * sizeof(double));
        assert_memory_equal(cut.line, whole.line, whole.n * sizeof(uint64_t));
        assert_string_equal(cut.told, whole.told);
        assert_int_equal(cut.batches, whole.batches);
        read_log_clear(&cut);
    }
    read_log_clear(&whole);
    free(text);
}

static void every_row_keeps_its_line(void **state)
{
    (void)state;
    size_t length, at = 0;
    uint64_t line = 1;
    char *const text = long_log(3000, &length);
    read_log log;
    read_log_text(&log, text, length, 0, NULL);
    for (size_t row = 0; row < log.n; row++) {
        while (line < log.line[row]) {
            at = (size_t)(strchr(text + at, '\n') - text) + 1;
            line++;
        }
        expect_close(log.value[CH_DRIVELOG_TIME][row], atof(text + at), 1e-9);
    }
    assert_int_equal(log.report.ragged.n, 6);
    assert_int_equal(log.report.ragged.line, 10);
    read_log_clear(&log);
    free(text);
}

static void stale_samples_are_counted(void **state)
{
    (void)state;
    char text[16384];
    size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h)\n");
    for (int i = 0; i < 400; i++) /* news of speed each second, of engine speed each row */
        used += (size_t)sprintf(text + used, "%.1f,%d,%d\n", i * 0.1, 2000 + i, 60 + i / 10);
    read_log log;
    read_string(&log, text);
    expect_close(log.report.columns[CH_DRIVELOG_ROAD].fresh_interval_s, 1, 0.03); /* 40 changes in 39.9 s */
    expect_close(log.report.columns[CH_DRIVELOG_ENGINE].fresh_interval_s, 0.1, 1e-3);
    assert_int_equal(log.report.columns[CH_DRIVELOG_ROAD].stale, 360);
    assert_int_equal(log.report.columns[CH_DRIVELOG_ENGINE].stale, 0);
    expect_close(log.report.median_interval_s, 0.1, 1e-9);
    read_log_clear(&log);
}

static void channels_slower_than_the_rows_are_put_on_the_line_between_their_values(void **state)
{
    (void)state;
    /* engine speed in even rows, road speed in each fifth, coolant once a second; all of them straight lines in time */
    const size_t rows = 5000;
    char *const text = malloc(rows * 48 + 100);
    assert_non_null(text);
    if (text == NULL)
        return;
    size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h),coolant (C)\n");
    for (size_t i = 0; i < rows; i++) {
        used += (size_t)sprintf(text + used, "%.2f,", (double)i * 0.01);
        used += i % 2 == 0 ? (size_t)sprintf(text + used, "%.1f,", 2000 + (double)i * 0.5)
                           : (size_t)sprintf(text + used, ",");
        used += i % 5 == 3 ? (size_t)sprintf(text + used, "%.3f,", 40 + (double)i * 0.01)
                           : (size_t)sprintf(text + used, ",");
        used += i % 100 == 50 ? (size_t)sprintf(text + used, "90\n") : (size_t)sprintf(text + used, "\n");
    }
    static const size_t pieces[] = {0, 1000};
    for (size_t p = 0; p < 2; p++) {
        read_log log;
        read_log_text(&log, text, used, pieces[p], NULL);
        assert_int_equal(log.status, CH_OK);
        assert_int_equal(log.n, rows);
        for (size_t i = 3; i + 2 < rows - 1; i++)
            expect_row(&log, i, (double)i * 0.01, 2000 + (double)i * 0.5, 40 + (double)i * 0.01);
        assert_true(isnan(log.value[CH_DRIVELOG_ROAD][2])); /* nothing ahead of the first value */
        assert_true(isnan(log.value[CH_DRIVELOG_ROAD][rows - 1]));
        expect_close(log.value[CH_DRIVELOG_COOLANT][2500], 363.15, 1e-9);
        expect_close(log.report.columns[CH_DRIVELOG_ROAD].fresh_interval_s, 0.05, 1e-3);
        assert_int_equal(log.report.columns[CH_DRIVELOG_ROAD].values, rows - 3 - 1);
        read_log_clear(&log);
    }
    free(text);
}

static void logs_joined_end_to_end_are_segments_with_their_own_units(void **state)
{
    (void)state;
    read_log log;
    read_string(&log, "time (s),rpm,speed (km/h)\n0,3000,100\n1,3000,100\n2,3000,100\n"
                      "speed,time,rpm\nmph,s,rpm\n62.1371192,0,3000\n62.1371192,1,3000\n");
    assert_int_equal(log.n, 5);
    for (size_t i = 0; i < 5; i++) {
        expect_close(log.value[CH_DRIVELOG_TIME][i], (double)i, 1e-9);
        expect_close(log.value[CH_DRIVELOG_ROAD][i] * 3.6, 100, 1e-6); /* nine digits of miles */
    }
    assert_int_equal(log.segment[2], 0);
    assert_int_equal(log.segment[3], 1);
    assert_int_equal(log.report.segments_n, 2);
    assert_int_equal(log.report.segments[1].why, CH_DRIVELOG_HEADER);
    assert_int_equal(log.report.segments[1].line, 7);
    assert_int_equal(log.report.headers_again.line, 5);
    read_log_clear(&log);
}

static void units_that_nobody_names_are_taken_by_size(void **state)
{
    (void)state;
    static const struct {
        const char *header, *cells[2];
        ch_drivelog_channel channel;
        double second_si;
    } logs[] = {
        {"TPS", {"0", "80"}, CH_DRIVELOG_THROTTLE, 0.8},
        {"TPS", {"0.1", "0.8"}, CH_DRIVELOG_THROTTLE, 0.8},
        {"clutch", {"0", "1"}, CH_DRIVELOG_CLUTCH, 1},
        {"clutch", {"off", "on"}, CH_DRIVELOG_CLUTCH, 1},
        {"accel", {"0.1", "0.5"}, CH_DRIVELOG_ACCELERATION, 4.903325},
        {"accel", {"0.1", "5"}, CH_DRIVELOG_ACCELERATION, 5},
        {"water temp", {"80", "90"}, CH_DRIVELOG_COOLANT, 363.15},
        {"water temp", {"180", "194"}, CH_DRIVELOG_COOLANT, 363.15},
        {"water temp", {"353.15", "363.15"}, CH_DRIVELOG_COOLANT, 363.15},
    };
    for (size_t i = 0; i < sizeof logs / sizeof logs[0]; i++) {
        char text[256];
        snprintf(text, sizeof text, "time (s),rpm,speed (km/h),%s\n0,3000,50,%s\n1,3000,50,%s\n", logs[i].header,
                 logs[i].cells[0], logs[i].cells[1]);
        read_log log;
        read_string(&log, text);
        expect_close(log.value[logs[i].channel][1], logs[i].second_si, 1e-9);
        assert_true(log.report.columns[logs[i].channel].unit_assumed);
        assert_non_null(strstr(log.told, "the log names no unit"));
        read_log_clear(&log);
    }
}

static void a_doubtful_unit_is_said(void **state)
{
    (void)state;
    char text[32768];
    size_t used = (size_t)sprintf(text, "time (s),rpm,speed (km/h),gps speed (km/h),acceleration\n");
    for (int i = 0; i < 300;
         i++) { /* road speed in miles an hour; acceleration in m/s2, and so little that it passes for g */
        const double s = i * 0.05, kmh = 80 + 3.6 * 2 * s;
        used += (size_t)sprintf(text + used, "%.2f,3000,%.3f,%.3f,2.0\n", s, kmh / 1.609344, kmh);
    }
    read_log log;
    read_string(&log, text);
    expect_close(log.report.road_over_gps, 1 / 1.609344, 1e-4);
    assert_non_null(strstr(log.told, "road speed is 62 % of the GPS speed"));
    assert_non_null(strstr(log.told, "perhaps its unit is wrong"));
    assert_non_null(strstr(log.told, "acceleration (\"acceleration\"): the log names no unit; taken as g"));
    read_log_clear(&log);
}

static void a_log_of_vehicle_a_is_read_with_its_stale_samples(void **state)
{
    (void)state;
    /* tests/data/vehicle-logs/SOURCE.md: rows about twice a second, a block of new values about every 1.8 s */
    size_t length;
    char *const text = read_log_file("tests/data/vehicle-logs/vehicle_a_highway_1.csv", &length);
    read_log log;
    read_log_text(&log, text, length, 0, NULL);
    assert_int_equal(log.status, CH_OK);
    assert_int_equal(log.n, 5035);
    expect_close(log.report.median_interval_s, 0.5, 0.2);
    expect_close(log.report.columns[CH_DRIVELOG_ENGINE].fresh_interval_s, 1.8, 0.5);
    assert_int_equal(log.report.columns[CH_DRIVELOG_ENGINE].not_numbers.n, 0);
    read_log_clear(&log);
    free(text);
}

static ch_status refuse(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    (void)rows;
    (*(int *)context)++;
    return ch_fail(err, CH_E_RANGE, NULL, "enough");
}

static void a_failure_sticks(void **state)
{
    (void)state;
    size_t length;
    char *const text = long_log(3000, &length);
    ch_drivelog *log = NULL;
    int calls = 0;
    ch_err err = {0}, again = {0};
    assert_int_equal(ch_drivelog_open(NULL, refuse, &calls, &log, &err), CH_OK);
    ch_status rc = ch_drivelog_feed(log, text, length, &err);
    if (rc >= 0)
        rc = ch_drivelog_finish(log, &err);
    assert_int_equal(rc, CH_E_RANGE);
    assert_string_equal(err.what, "enough");
    assert_int_equal(ch_drivelog_feed(log, text, length, &again), CH_E_RANGE);
    assert_int_equal(ch_drivelog_finish(log, &again), CH_E_RANGE);
    assert_string_equal(again.what, "enough");
    assert_int_equal(calls, 1);
    ch_drivelog_close(log);
    ch_drivelog_close(NULL);
    free(text);
}

static void no_memory_is_reported_and_nothing_leaks(void **state)
{
    (void)state;
    static const char text[] =
        "time,rpm,speed\n0,1000,10\n1,1000,10\ntime,rpm,speed\ns,rpm,mph\n0,1000,10\n1,1000,10\n";
    const ch_drivelog_options options = {.column = {"time", "rpm", "speed"},
                                         .assumed_unit = {[CH_DRIVELOG_ROAD] = "mph"}};
    long n = 1;
    for (;; n++) {
        ch_drivelog *log = NULL;
        fail_alloc_at(n);
        ch_status rc = ch_drivelog_open(&options, NULL, NULL, &log, NULL);
        if (rc >= 0)
            rc = ch_drivelog_feed(log, text, sizeof text - 1, NULL);
        if (rc >= 0)
            rc = ch_drivelog_finish(log, NULL);
        const bool failed = fail_alloc_stop();
        ch_drivelog_close(log);
        assert_int_equal(fail_alloc_left(), 0);
        assert_int_equal(rc, failed ? CH_E_MEMORY : CH_OK);
        if (!failed)
            break;
    }
    assert_true(n > 15);
}

static void rows_have_a_longest_length_and_columns_a_largest_number(void **state)
{
    (void)state;
    static const char head[] = "time,rpm,speed,note\n0,1000,10,a\n1,1000,10,";
    const size_t size = 400000;
    char *const text = malloc(size);
    assert_non_null(text);
    memset(text, 'x', size);
    memcpy(text, head, sizeof head - 1);
    static const size_t pieces[] = {0, 1000};
    for (size_t i = 0; i < 2; i++) {
        read_log log;
        read_log_text(&log, text, size, pieces[i], NULL);
        assert_int_equal(log.status, CH_E_LIMIT);
        assert_int_equal(log.err.line, 3);
        read_log_clear(&log);
    }
    size_t used = (size_t)sprintf(text, "time,rpm,speed");
    for (int c = 3; c <= CH_DRIVELOG_COLUMNS_MAX; c++)
        used += (size_t)sprintf(text + used, ",c%d", c);
    used += (size_t)sprintf(text + used, "\n1,2,3\n");
    read_log log;
    read_log_text(&log, text, used, 0, NULL);
    assert_int_equal(log.status, CH_E_LIMIT);
    read_log_clear(&log);
    free(text);
}

static void channels_have_words(void **state)
{
    (void)state;
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++) {
        const char *const name = ch_drivelog_channel_name((ch_drivelog_channel)c);
        assert_int_equal(ch_drivelog_channel_find(name, strlen(name)), c);
    }
    assert_int_equal(ch_drivelog_channel_find("boost", 5), CH_DRIVELOG_CHANNELS_);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dialects_are_found),
        cmocka_unit_test(headers_are_known_by_their_words_and_units),
        cmocka_unit_test(the_right_column_wins_among_likely_ones),
        cmocka_unit_test(columns_can_be_chosen_by_hand),
        cmocka_unit_test(clocks_of_all_kinds_are_read),
        cmocka_unit_test(rows_that_share_a_stamp_are_spread_and_time_always_rises),
        cmocka_unit_test(pieces_change_nothing),
        cmocka_unit_test(every_row_keeps_its_line),
        cmocka_unit_test(stale_samples_are_counted),
        cmocka_unit_test(channels_slower_than_the_rows_are_put_on_the_line_between_their_values),
        cmocka_unit_test(logs_joined_end_to_end_are_segments_with_their_own_units),
        cmocka_unit_test(units_that_nobody_names_are_taken_by_size),
        cmocka_unit_test(a_doubtful_unit_is_said),
        cmocka_unit_test(a_log_of_vehicle_a_is_read_with_its_stale_samples),
        cmocka_unit_test(a_failure_sticks),
        cmocka_unit_test(no_memory_is_reported_and_nothing_leaks),
        cmocka_unit_test(rows_have_a_longest_length_and_columns_a_largest_number),
        cmocka_unit_test(channels_have_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

/*
 * Writes a simulated run (tests/unit/drive_run.c) as a log in one of the dialects that loggers write, and its truth as JSON.
 *
 * usage: drive_log DIALECT SEED SECONDS sound|slipping LOG TRUTH
 * DIALECT: comma (25 Hz), semicolon (decimal commas, a units row, whole km/h, 20 Hz), tab (100 Hz, 20 columns, time of day, mph, satellite speed 0.3 s late)
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drive_run.h"

static const double MPH_M_S = 0.44704;

static void decimal_comma(char *text)
{
    for (; *text != '\0'; text++)
        if (*text == '.')
            *text = ',';
}

static double spin(double rad_s)
{
    return rad_s * 9.549296585513721;
}

static void write_comma(FILE *f, const drive_run *run)
{
    fputs("Time (s),Engine Speed (rpm),Vehicle Speed (km/h),Throttle Position (%),Longitudinal Acceleration "
          "(g),Coolant Temperature (C)\n",
          f);
    for (size_t i = 0; i < run->n; i++)
        fprintf(f, "%.2f,%.0f,%.2f,%.1f,%.3f,%.0f\n", run->time_s[i], spin(run->engine_rad_s[i]),
                run->road_m_s[i] * 3.6, run->throttle_1[i] * 100, run->acceleration_m_s2[i] / 9.80665,
                run->coolant_k[i] - 273.15);
}

static void write_semicolon(FILE *f, const drive_run *run)
{
    fputs("# invented run\n# logger: none\nTime;RPM;Speed;Throttle\ns;rpm;km/h;%\n", f);
    for (size_t i = 0; i < run->n; i++) {
        char row[128];
        snprintf(row, sizeof row, "%.2f;%.0f;%.0f;%.1f\n", run->time_s[i], spin(run->engine_rad_s[i]),
                 run->road_m_s[i] * 3.6, run->throttle_1[i] * 100);
        decimal_comma(row);
        fputs(row, f);
    }
}

static void write_tab(FILE *f, const drive_run *run)
{
    fputs("Time\tGPS Speed (mph)\tEngine RPM", f);
    for (int k = 1; k <= 17; k++)
        fprintf(f, "\tSensor %d (V)", k);
    fputs("\n", f);
    for (size_t i = 0; i < run->n; i++) {
        const double clock_s = 10 * 3600 + run->time_s[i];
        fprintf(f, "%02d:%02d:%06.3f\t%.2f\t%.0f", (int)(clock_s / 3600), (int)fmod(clock_s / 60, 60),
                fmod(clock_s, 60), run->road_m_s[i] / MPH_M_S, spin(run->engine_rad_s[i]));
        for (int k = 1; k <= 17; k++)
            fprintf(f, "\t%.3f", 1.5 + 0.1 * k + 0.001 * (double)((i * (size_t)(k + 3)) % 100));
        fputs("\n", f);
    }
}

static void write_truth(FILE *f, const drive_run *run, const drive_car *car)
{
    const char *comma = "";
    fprintf(f, "{\"gears\": [");
    for (int g = 1; g <= car->gears; g++)
        if (run->gear_s[g] > 3) {
            fprintf(f, "%s{\"gear\": %d, \"rpm_per_kmh\": %.6f}", comma, g, spin(run->line_rad_m[g]) / 3.6);
            comma = ", ";
        }
    comma = "";
    fprintf(f, "], \"slips\": [");
    for (size_t i = 0; i < run->slips; i++) {
        fprintf(f,
                "%s{\"start_s\": %.3f, \"end_s\": %.3f, \"gear\": %d, \"peak_percent\": %.3f, \"torque_Nm\": %.2f, "
                "\"heat_kJ\": %.3f}",
                comma, run->slip[i].start_s, run->slip[i].end_s, run->slip[i].gear, run->slip[i].peak_1 * 100,
                run->slip[i].torque_n_m, run->slip[i].heat_j / 1e3);
        comma = ", ";
    }
    fprintf(f, "]}\n");
}

static drive_options options_of(const char *dialect, char **arguments)
{
    drive_options o = {
        .seed = strtoull(arguments[2], NULL, 10), .seconds = atof(arguments[3]), .low_gear = true, .wheelspin = true};
    drive_logger *l = &o.logger;
    o.car = &drive_cars[o.seed % DRIVE_CARS];
    o.slipping = strcmp(arguments[4], "slipping") == 0;
    *l = (drive_logger){
        .rate_hz = 25, .road_gain = 1, .engine_noise_rad_s = 0.6, .road_noise_m_s = 0.05, .throttle = true};
    if (strcmp(dialect, "comma") == 0) {
        l->acceleration = l->temperature = true;
        l->road_lag_s = 0.15;
    } else if (strcmp(dialect, "semicolon") == 0) {
        l->rate_hz = 20;
        l->road_noise_m_s = 0;
        l->road_step_m_s = 1 / 3.6;
    } else {
        l->rate_hz = 100;
        l->road_lag_s = 0.3;
        l->throttle = false;
    }
    return o;
}

int main(int count, char **arguments)
{
    if (count != 7) {
        fputs("usage: drive_log DIALECT SEED SECONDS sound|slipping LOG TRUTH\n", stderr);
        return 2;
    }
    const drive_options o = options_of(arguments[1], arguments);
    drive_run run;
    if (!drive(&o, &run))
        return 4;
    FILE *log = fopen(arguments[5], "w"), *truth = fopen(arguments[6], "w");
    if (log != NULL && truth != NULL) {
        if (strcmp(arguments[1], "comma") == 0)
            write_comma(log, &run);
        else if (strcmp(arguments[1], "semicolon") == 0)
            write_semicolon(log, &run);
        else
            write_tab(log, &run);
        write_truth(truth, &run, o.car);
    }
    drive_run_free(&run);
    const int failed = log == NULL || truth == NULL || fclose(log) != 0 || fclose(truth) != 0;
    return failed ? 4 : 0;
}

/*
 * Short runs put together from pieces, and the rows that a logger makes of them, spoilt in many ways: for figures that are recorded (test_driveline_recorded.c). Where drive_run.h
 * drives laps as a driver does, here a minute holds a dozen things that are hard to tell apart, with sizes drawn about the limits of the detector on purpose. Shares
 * no code with src/driveline. All of it is invented.
 */
#ifndef CROSSHATCH_TESTS_DRIVE_COURSE_H
#define CROSSHATCH_TESTS_DRIVE_COURSE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/drivelog.h"
#include "drive_run.h"

enum { DRIVE_COURSE_ROWS = 4096 };

/* A log in memory: one array a channel, NaN where nothing is known. */
typedef struct drive_rows {
    size_t n;
    size_t segment_from; /* first row of the second segment; `n` where there is none */
    double channel[CH_DRIVELOG_CHANNELS_][DRIVE_COURSE_ROWS];
} drive_rows;

/* The gearbox that a course is driven in. */
typedef struct drive_box {
    int gears;
    double line_rad_m[8]; /* from the lowest gear on */
} drive_box;

/* Number of a kind of run: what its logger does, from 1 to 100 rows a second, and how long it is. The box of a course is told as well; `box` may be NULL. */
void drive_course(uint64_t seed, drive_rows *rows, drive_box *box);

/* A lap by drive_run.h, with a car, driver and logger drawn by the seed. False without memory. */
bool drive_lap(uint64_t seed, drive_rows *rows, const drive_car **car);

#endif

/* The two ways to find bytes in a block of 64, apart so that a test can compare them. Private to driveline. */
#ifndef CROSSHATCH_DRIVELINE_DRIVELOG_SCAN_H
#define CROSSHATCH_DRIVELINE_DRIVELOG_SCAN_H

#include <stdint.h>

/* Bit i stands for byte i. */
typedef struct log_scan_mask {
    uint64_t separators, ends, quotes;
} log_scan_mask;

/* By the widest registers the compiler may count on. */
void log_scan_masks(const char block[static 64], char separator, char newline, log_scan_mask *mask);

/* In plain C. The same answer. */
void log_scan_masks_plain(const char block[static 64], char separator, char newline, log_scan_mask *mask);

#endif

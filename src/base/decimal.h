/*
 * Decimal numbers in and out of text, correctly rounded and the same in every locale. Private to base, and to the store's tables.
 * Neither direction ever lets the C library see or write a decimal mark, which is the one thing that a locale changes.
 */
#ifndef CROSSHATCH_BASE_DECIMAL_H
#define CROSSHATCH_BASE_DECIMAL_H

#include <stddef.h>

enum { DECIMAL_MAXIMUM = 31 }; /* longest number, bytes: what ch_quantity.number holds */

/* How a person's number began. */
typedef enum decimal_form {
    DECIMAL_PLAIN,    /* understood */
    DECIMAL_NONE,     /* the text does not begin with a number */
    DECIMAL_DOUBTFUL, /* one comma and three digits behind it: a decimal comma or a thousands separator */
    DECIMAL_LONG,     /* more than DECIMAL_MAXIMUM bytes */
    DECIMAL_HUGE,     /* beyond the largest double */
    DECIMAL_TINY      /* not zero, but nearer to it than the smallest normal double */
} decimal_form;

/*
 * Read the number at the start of `text`: sign (+, -, U+2212), digits with at most one decimal point or comma that has a
 * digit behind it, and an exponent (e or E, sign, digits). `used` is how many bytes the number takes (also where it
 * is not plain, except DECIMAL_NONE: 0). `value` is set for DECIMAL_PLAIN only.
 */
decimal_form decimal_read(const char *text, size_t length, double *value, size_t *used);

/* Exponent of ten of the first significant digit of a finite `value` other than 0 once rounded to `digits` (1..17) digits. */
int decimal_exponent(double value, int digits);

/* Write a finite value with `decimals` (0..20) digits behind a point; negative decimals round to tens, hundreds, ... Never "-0". */
void decimal_write_fixed(double value, int decimals, char *text, size_t size);

/* Write a finite value other than 0 as d.ddde-7, with `digits` (1..17) significant digits. */
void decimal_write_exponent(double value, int digits, char *text, size_t size);

#endif

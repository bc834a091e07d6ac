/*
 * Decimal numbers in and out of text. strtod and snprintf do the rounding; they are handed and asked for digits and
 * exponents only, because the decimal mark is what a locale changes (C17 7.11.1.1, 7.22.1.3).
 */
#include "decimal.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool is_digit(const char *text, size_t length, size_t at)
{
    return at < length && text[at] >= '0' && text[at] <= '9';
}

/* Bytes of the sign at `at`: '+', '-' or U+2212; `negative` says which. */
static size_t sign_length(const char *text, size_t length, size_t at, bool *negative)
{
    *negative = false;
    if (at < length && (text[at] == '+' || text[at] == '-')) {
        *negative = text[at] == '-';
        return 1;
    }
    if (at + 3 <= length && memcmp(text + at, "\xe2\x88\x92", 3) == 0) {
        *negative = true;
        return 3;
    }
    return 0;
}

decimal_form decimal_read(const char *text, size_t length, double *value, size_t *used)
{
    bool negative = false;
    size_t at = sign_length(text, length, 0, &negative);
    const size_t whole = at;
    while (is_digit(text, length, at))
        at++;
    const size_t whole_end = at;
    size_t fraction = at, fraction_end = at;
    if (at < length && (text[at] == '.' || text[at] == ',') && is_digit(text, length, at + 1)) {
        fraction = at + 1;
        fraction_end = fraction;
        while (is_digit(text, length, fraction_end))
            fraction_end++;
        at = fraction_end;
    }
    *used = 0;
    if (whole_end == whole && fraction_end == fraction)
        return DECIMAL_NONE;
    long exponent = 0;
    if (at < length && (text[at] == 'e' || text[at] == 'E')) {
        bool below = false;
        size_t digit = at + 1;
        digit += digit <= length ? sign_length(text, length, digit, &below) : 0;
        if (is_digit(text, length, digit)) {
            for (at = digit; is_digit(text, length, at); at++)
                if (exponent < 100000) /* far beyond any double; keeps the sum below from overflowing */
                    exponent = exponent * 10 + (text[at] - '0');
            if (below)
                exponent = -exponent;
        }
    }
    *used = at;
    if (at > DECIMAL_MAXIMUM)
        return DECIMAL_LONG;
    /* 1,234 is either; 0,250 and ,250 and 1234,567 cannot be grouped by thousands. */
    const size_t whole_digits = whole_end - whole;
    if (fraction > whole_end && text[whole_end] == ',' && fraction_end - fraction == 3 && whole_digits >= 1 &&
        whole_digits <= 3 && text[whole] != '0')
        return DECIMAL_DOUBTFUL;

    char digits[DECIMAL_MAXIMUM + 32];
    snprintf(digits, sizeof digits, "%s%.*s%.*se%ld", negative ? "-" : "", (int)whole_digits, text + whole,
             (int)(fraction_end - fraction), text + fraction, exponent - (long)(fraction_end - fraction));
    const double read = strtod(digits, NULL);
    if (!isfinite(read))
        return DECIMAL_HUGE;
    const bool zero = strspn(digits, "-0") == strcspn(digits, "e");
    if (fabs(read) < DBL_MIN && !zero)
        return DECIMAL_TINY;
    *value = read;
    return DECIMAL_PLAIN;
}

/* The digits of `value` to `n` significant ones, and the exponent of the first. */
static int decimal_digits(double value, int n, char digits[static 18])
{
    char written[48];
    snprintf(written, sizeof written, "%.*e", n - 1, fabs(value));
    const char *const exponent = strchr(written, 'e');
    int kept = 0;
    for (const char *c = written; c < exponent && kept < 17; c++)
        if (*c >= '0' && *c <= '9') /* passes over whatever mark the locale put in */
            digits[kept++] = *c;
    digits[kept] = '\0';
    return atoi(exponent + 1);
}

int decimal_exponent(double value, int digits)
{
    char ignored[18] = "";
    return decimal_digits(value, digits, ignored);
}

void decimal_write_fixed(double value, int decimals, char *text, size_t size)
{
    char written[400]; /* the largest double has 309 digits ahead of its point */
    char digits[400] = "";
    size_t n = 0;
    const double scaled = decimals < 0 ? fabs(value) / pow(10, -decimals) : fabs(value);
    snprintf(written, sizeof written, "%.*f", decimals > 0 ? decimals : 0, scaled);
    bool zero = true;
    for (const char *c = written; *c != '\0'; c++)
        if (*c >= '0' && *c <= '9') {
            digits[n++] = *c;
            zero = zero && *c == '0';
        }
    for (int tens = decimals; tens < 0 && !zero && n < sizeof digits; tens++)
        digits[n++] = '0';
    const int fraction = decimals > 0 ? decimals : 0, whole = (int)n - fraction;
    snprintf(text, size, "%s%.*s%s%.*s", value < 0 && !zero ? "-" : "", whole, digits, fraction > 0 ? "." : "",
             fraction, digits + whole);
}

void decimal_write_exponent(double value, int digits, char *text, size_t size)
{
    char kept[18] = "";
    const int exponent = decimal_digits(value, digits, kept);
    snprintf(text, size, "%s%c%s%se%d", value < 0 ? "-" : "", kept[0], kept[1] != '\0' ? "." : "", kept + 1, exponent);
}

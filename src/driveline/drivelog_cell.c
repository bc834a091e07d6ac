/*
 * One cell as a number, correctly rounded and the same in every locale.
 */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "drivelog_parts.h"

/* Powers of ten that a double holds exactly: a whole number below 2^53 divided by one is rounded once (Clinger, PLDI 1990). */
static const double exact_tens[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

static bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}

/* Numbers with an exponent or too many digits: strtod sees digits and an exponent only, as the decimal mark is what a locale changes. */
static bool long_number(const char *at, const char *end, char decimal, double *value)
{
    char digits[128];
    size_t used = 0;
    long fraction = 0;
    bool any = false, behind = false;
    if (at < end && (*at == '-' || *at == '+'))
        digits[used++] = *at++;
    digits[used++] = '0';
    const size_t leading = used;
    for (; at < end && (is_digit(*at) || (*at == decimal && !behind)); at++) {
        if (*at == decimal) {
            behind = true;
            continue;
        }
        any = true;
        if (*at == '0' && used == leading) { /* ahead of the first that counts, however many */
            fraction += behind;
        } else if (used < 100) { /* no double needs more to be within half of its last place, and a bit */
            digits[used++] = *at;
            fraction += behind;
        } else {
            fraction -= !behind;
        }
    }
    if (!any)
        return false;
    long exponent = 0;
    if (at < end && (*at == 'e' || *at == 'E')) {
        at++;
        const bool below = at < end && *at == '-';
        at += at < end && (*at == '-' || *at == '+');
        if (at == end)
            return false;
        for (; at < end && is_digit(*at); at++)
            exponent = exponent < 100000 ? exponent * 10 + (*at - '0') : exponent;
        exponent = below ? -exponent : exponent;
    }
    if (at != end)
        return false;
    snprintf(digits + used, sizeof digits - used, "e%ld", exponent - fraction);
    const double read = strtod(digits, NULL);
    if (!isfinite(read))
        return false;
    *value = read;
    return true;
}

bool log_number(const char *at, const char *end, char decimal, double *value)
{
    const char *p = at;
    while (p < end && *p == ' ')
        p++;
    const char *const number = p;
    const bool negative = p < end && *p == '-';
    p += negative;
    uint64_t digits = 0;
    const char *const whole = p;
    while (p < end && is_digit(*p))
        digits = digits * 10 + (uint64_t)(*p++ - '0');
    ptrdiff_t n = p - whole, fraction = 0;
    if (p < end && *p == decimal) {
        const char *const first = ++p;
        while (p < end && is_digit(*p))
            digits = digits * 10 + (uint64_t)(*p++ - '0');
        fraction = p - first;
        n += fraction;
    }
    if (p == end && n > 0 && n <= 18 && digits <= (uint64_t)1 << 53) {
        const double read = (double)digits / exact_tens[fraction];
        *value = negative ? -read : read;
        return true;
    }
    return long_number(number, end, decimal, value);
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

static bool is_word(const char *at, size_t length, const char *const *words)
{
    for (; *words != NULL; words++)
        if (strlen(*words) == length && strncasecmp(*words, at, length) == 0)
            return true;
    return false;
}

log_cell_kind log_cell_read(log_slice cell, char decimal, double *value, log_slice *unit)
{
    static const char *const nothing[] = {"nan",  "null", "none",     "na", "n/a",     "#n/a",   "inf",
                                          "+inf", "-inf", "infinity", "-",  "--",      "---",    "-nan",
                                          "?",    "nil",  ".",        "*",  "1.#qnan", "1.#inf", NULL};
    static const char *const yes[] = {"on", "true", "yes", "ja", "oui", "si", "pressed", "closed", NULL};
    static const char *const no[] = {"off", "false", "no", "nein", "non", "released", "open", NULL};
    const char *at = cell.at, *end = cell.at + cell.length;
    *unit = (log_slice){end, 0};
    while (at < end && is_space(*at))
        at++;
    while (end > at && is_space(end[-1]))
        end--;
    if (end - at >= 2 && *at == '"' && end[-1] == '"') {
        at++;
        end--;
        while (at < end && is_space(*at))
            at++;
        while (end > at && is_space(end[-1]))
            end--;
    }
    const size_t length = (size_t)(end - at);
    if (length == 0 || is_word(at, length, nothing))
        return LOG_CELL_MISSING;
    if (log_number(at, end, decimal, value))
        return LOG_CELL_NUMBER;
    if (is_word(at, length, yes) || is_word(at, length, no)) {
        *value = is_word(at, length, yes) ? 1 : 0;
        return LOG_CELL_NUMBER;
    }
    /* A number with its unit behind it, or with U+2212 for a minus. */
    char plain[48];
    size_t used = 0;
    if (length >= 3 && memcmp(at, "\xe2\x88\x92", 3) == 0) {
        plain[used++] = '-';
        at += 3;
    }
    while (at < end && used < sizeof plain && (is_digit(*at) || *at == decimal || *at == '-' || *at == '+'))
        plain[used++] = *at++;
    if (used == 0 || used == sizeof plain || !log_number(plain, plain + used, decimal, value))
        return LOG_CELL_TEXT;
    while (at < end && is_space(*at))
        at++;
    *unit = (log_slice){at, (size_t)(end - at)};
    return LOG_CELL_NUMBER;
}

/*
 * Quantities as people type them and as they are shown. Holds no units of its own (unit_table.c) and no digits (decimal.c).
 * 1. A parsed quantity's `si` is finite and follows from `number` and `unit` alone. 2. Outputs are untouched on failure.
 */
#include "crosshatch/units.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/text.h"
#include "decimal.h"
#include "unit_table.h"

enum {
    TEXT_MAXIMUM = 80,     /* longest text of a quantity: a number and a unit, with room for spaces */
    QUOTE_SIZE = 48,       /* how much of a person's text a message repeats */
    FIGURES_UNCERTAIN = 2, /* significant digits of an uncertainty: JCGM 100 (GUM) 7.2.6 */
    FIGURES_DEFAULT = 3,   /* significant digits where the uncertainty is not known */
    FIGURES_MAXIMUM = 15   /* digits that a double carries for certain (DBL_DIG) */
};

ch_quantity ch_quantity_none(void)
{
    return (ch_quantity){.si = NAN};
}

bool ch_quantity_given(const ch_quantity *quantity)
{
    return quantity->unit != NULL && !isnan(quantity->si);
}

double ch_unit_from_si(double si, const ch_unit *unit)
{
    return (si - unit->offset) / unit->factor;
}

double ch_unit_to_si(double value, const ch_unit *unit)
{
    return value * unit->factor + unit->offset;
}

static const char *article(const char *word)
{
    return strchr("aeiou", word[0]) != NULL ? "an" : "a";
}

/* Reports a text that is no number with a unit, with an example of the dimension at hand; where pure numbers are usual, of such a one. */
static ch_status fail_not_a_number(const char *quoted, ch_dimension dimension, const ch_unit *bare_unit, ch_err *err)
{
    const char *const list = bare_unit != NULL ? bare_unit->name : ch_dimension_units(dimension);
    char right[sizeof err->right];
    if (bare_unit != NULL && strcmp(bare_unit->name, "1") == 0)
        return ch_fail(err, CH_E_INPUT,
                       "digits with at most one decimal point or comma, no thousands separators, as in 12.5",
                       "\"%s\" is not one plain number", quoted);
    snprintf(right, sizeof right,
             "digits with at most one decimal point or comma, no thousands separators, then the unit, as in 12.5 %.*s",
             (int)strcspn(list, ","), list);
    return ch_fail(err, CH_E_INPUT, right, "\"%s\" is not one plain number with a unit", quoted);
}

static ch_status fail_number(decimal_form form, const char *number, size_t used, const char *quoted,
                             ch_dimension dimension, const ch_unit *bare_unit, ch_err *err)
{
    char right[sizeof err->right];
    switch (form) {
    case DECIMAL_DOUBTFUL: {
        const size_t comma = (size_t)((const char *)memchr(number, ',', used) - number);
        const int whole = (int)comma, rest = (int)(used - comma - 1);
        snprintf(right, sizeof right, "%.*s.%.*s for a decimal comma, %.*s%.*s for thousands", whole, number, rest,
                 number + comma + 1, whole, number, rest, number + comma + 1);
        return ch_fail(err, CH_E_INPUT, right, "\"%s\" is ambiguous: a comma and three digits may mean thousands",
                       quoted);
    }
    case DECIMAL_LONG:
        snprintf(right, sizeof right, "at most %d characters", DECIMAL_MAXIMUM);
        return ch_fail(err, CH_E_INPUT, right, "the number in \"%s\" is too long", quoted);
    case DECIMAL_HUGE: return ch_fail(err, CH_E_INPUT, NULL, "\"%s\" is too large to compute with", quoted);
    case DECIMAL_TINY:
        return ch_fail(err, CH_E_INPUT, "write 0 if it is nothing", "\"%s\" is too small to compute with", quoted);
    case DECIMAL_NONE:
    case DECIMAL_PLAIN: break;
    }
    return fail_not_a_number(quoted, dimension, bare_unit, err);
}

static ch_status fail_unit(const char *name, size_t length, const char *quoted, ch_dimension dimension,
                           const ch_unit *bare_unit, ch_err *err)
{
    /* What cannot begin a unit belongs to a second number: 1 016 mm, 2 1/2 in, 170-175 psi, 1.2.3 psi. */
    if (strchr("0123456789.,+-/'", name[0]) != NULL)
        return fail_not_a_number(quoted, dimension, bare_unit, err);
    if (dimension == CH_DIM_TIME && name[0] == ':')
        return ch_fail(err, CH_E_INPUT, "hours with a decimal point or comma: half an hour is 0.5 h",
                       "\"%s\" is hours and minutes", quoted);
    char unknown[QUOTE_SIZE], right[sizeof err->right];
    ch_text_excerpt(name, length, unknown, sizeof unknown);
    const ch_unit *const absolute = dimension == CH_DIM_PRESSURE ? unit_absolute(name, length) : NULL;
    if (absolute != NULL) {
        snprintf(right, sizeof right,
                 "what a gauge shows, the absolute pressure less the air's, in %s; of the air itself %s alone",
                 absolute->name, absolute->name);
        return ch_fail(err, CH_E_INPUT, right, "\"%s\" is an absolute pressure", quoted);
    }
    const ch_unit *const nearest = unit_nearest(name, length, dimension);
    if (nearest != NULL)
        snprintf(right, sizeof right, "%s is the nearest of %s", nearest->name, ch_dimension_units(dimension));
    else
        snprintf(right, sizeof right, "%s", ch_dimension_units(dimension));
    return ch_fail(err, CH_E_INPUT, right, "unknown unit \"%s\" where %s %s is wanted", unknown,
                   article(ch_dimension_name(dimension)), ch_dimension_name(dimension));
}

ch_status ch_quantity_parse(const char *text, size_t length, ch_dimension dimension, const ch_unit *bare_unit,
                            ch_quantity *out, ch_err *err)
{
    const char *const wanted = ch_dimension_name(dimension);
    for (size_t n; (n = unit_space_length(text, length)) > 0; text += n)
        length -= n;
    for (size_t n = 1; n <= 3 && n <= length;) { /* a space of n bytes at the end */
        if (unit_space_length(text + length - n, n) == n) {
            length -= n;
            n = 1;
        } else {
            n++;
        }
    }
    char quoted[QUOTE_SIZE];
    ch_text_excerpt(text, length, quoted, sizeof quoted);
    if (length == 0)
        return ch_fail(err, CH_E_INPUT, ch_dimension_units(dimension), "nothing where %s %s is wanted", article(wanted),
                       wanted);
    if (length > TEXT_MAXIMUM)
        return ch_fail(err, CH_E_INPUT, "a number and its unit", "\"%s\" is too long for %s %s", quoted,
                       article(wanted), wanted);

    double value = NAN;
    size_t used = 0;
    const decimal_form form = decimal_read(text, length, &value, &used);
    if (form == DECIMAL_NONE && ch_unit_find(text, length) != NULL)
        return ch_fail(err, CH_E_INPUT, "a number ahead of the unit", "the unit \"%s\" without a number", quoted);
    if (form != DECIMAL_PLAIN)
        return fail_number(form, text, used, quoted, dimension, bare_unit, err);

    const char *name = text + used;
    size_t name_length = length - used;
    for (size_t n; (n = unit_space_length(name, name_length)) > 0; name += n)
        name_length -= n;
    const ch_unit *unit = bare_unit;
    if (name_length > 0) {
        unit = ch_unit_find(name, name_length);
        if (unit == NULL)
            return fail_unit(name, name_length, quoted, dimension, bare_unit, err);
    }
    if (unit == NULL)
        return ch_fail(err, CH_E_INPUT, ch_dimension_units(dimension), "\"%s\" has no unit", quoted);
    if (unit->dimension != dimension) {
        if (unit->dimension == CH_DIM_RATIO && name_length > 0 && name[0] == '1')
            return fail_not_a_number(quoted, dimension, bare_unit, err); /* "2 1" */
        return ch_fail(err, CH_E_INPUT, ch_dimension_units(dimension), "%s given where %s %s is wanted",
                       ch_dimension_name(unit->dimension), article(wanted), wanted);
    }

    ch_quantity read = {.si = ch_unit_to_si(value, unit), .unit = unit, .bare = name_length == 0};
    if (!isfinite(read.si))
        return fail_number(DECIMAL_HUGE, text, used, quoted, dimension, bare_unit, err);
    if (value != 0 && fabs(read.si) < DBL_MIN && unit->offset == 0)
        return fail_number(DECIMAL_TINY, text, used, quoted, dimension, bare_unit, err);
    if (dimension == CH_DIM_TEMPERATURE && read.si < 0) {
        if (read.si < -1e-9) /* more than the rounding of -459.67 F */
            return ch_fail(err, CH_E_INPUT, "at least -273.15 C, which is -459.67 F", "\"%s\" is below absolute zero",
                           quoted);
        read.si = 0;
    }
    memcpy(read.number, text, used);
    *out = read;
    return CH_OK;
}

ch_status ch_quantity_check_thousands(const ch_quantity *quantity, ch_err *err)
{
    static const char *const counted[] = {"m", "ft", "km", "mi", "h"};
    const char *number = quantity->number;
    const size_t whole = strspn(number, "0123456789");
    bool large = false;
    for (size_t i = 0; quantity->unit != NULL && i < sizeof counted / sizeof counted[0]; i++)
        large = large || strcmp(quantity->unit->name, counted[i]) == 0;
    if (!large || number[0] == '0' || whole < 1 || whole > 3 || number[whole] != '.' ||
        strspn(number + whole + 1, "0123456789") != 3 || number[whole + 4] != '\0')
        return CH_OK;
    char right[sizeof err->right];
    snprintf(right, sizeof right, "%s0 for a decimal point, %.*s%s for thousands", number, (int)whole, number,
             number + whole + 1);
    return ch_fail(err, CH_E_INPUT, right, "\"%s\" is ambiguous: a point and three digits may mean thousands", number);
}

void ch_quantity_text(const ch_quantity *quantity, char *text, size_t size)
{
    if (size == 0)
        return;
    text[0] = '\0';
    if (!ch_quantity_given(quantity))
        return;
    if (quantity->bare)
        snprintf(text, size, "%s", quantity->number);
    else if (strcmp(quantity->unit->name, "1") == 0)
        snprintf(text, size, "%s:1", quantity->number); /* "9.6 1" would look like two numbers */
    else
        snprintf(text, size, "%s %s", quantity->number, quantity->unit->name);
}

void ch_si_format(double si, double u_si, const ch_unit *unit, char *text, size_t size)
{
    if (size == 0)
        return;
    const double value = ch_unit_from_si(si, unit), u_value = fabs(u_si / unit->factor);
    if (!isfinite(value)) {
        snprintf(text, size, "-");
        return;
    }
    const bool uncertain = isfinite(u_value) && u_value > 0;
    int decimals = 0, exponent = 0;
    if (uncertain)
        decimals = FIGURES_UNCERTAIN - 1 - decimal_exponent(u_value, FIGURES_UNCERTAIN);
    if (value != 0) {
        exponent = decimal_exponent(value, FIGURES_MAXIMUM);
        if (!uncertain)
            decimals = FIGURES_DEFAULT - 1 - decimal_exponent(value, FIGURES_DEFAULT);
        else if (exponent + 1 + decimals > FIGURES_MAXIMUM)
            decimals = FIGURES_MAXIMUM - 1 - exponent;
    }
    char number[400];
    int figures = exponent + 1 + decimals;
    if (figures < 1 && fabs(value) >= 1e7)
        figures = 1; /* less than its uncertainty, but hundreds of zeros would not say so better */
    if (value != 0 && figures >= 1 && (fabs(value) < 1e-4 || fabs(value) >= 1e7))
        decimal_write_exponent(value, figures, number, sizeof number);
    else
        decimal_write_fixed(value, decimals > 20 ? 20 : decimals, number, sizeof number);
    const bool named = strcmp(unit->name, "1") != 0;
    snprintf(text, size, "%s%s%s", number, named ? " " : "", named ? unit->name : "");
}

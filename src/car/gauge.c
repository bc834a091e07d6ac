/*
 * How far a pressure gauge may be wrong, from the words on its dial.
 *
 * Sources: ASME B40.100 (2005, 2013, 2022), table of accuracy grades (one percentage, or lowest quarter, middle half, highest quarter
 * of the scale), and EN 837-1:1996, accuracy classes in percent of span. Both tables are from memory; the form of the first
 * (A = 2-1-2) is confirmed by two public overviews.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "crosshatch/sheet.h"
#include "crosshatch/text.h"

static const ch_gauge_grade grades[] = {
    {"grade 4A", 0.001, 0.001, 0.001},      {"grade 3A", 0.0025, 0.0025, 0.0025}, {"grade 2A", 0.005, 0.005, 0.005},
    {"grade 1A", 0.01, 0.01, 0.01},         {"grade A", 0.02, 0.01, 0.02},        {"grade B", 0.03, 0.02, 0.03},
    {"grade C", 0.04, 0.03, 0.04},          {"grade D", 0.05, 0.05, 0.05},        {"class 0.1", 0.001, 0.001, 0.001},
    {"class 0.25", 0.0025, 0.0025, 0.0025}, {"class 0.6", 0.006, 0.006, 0.006},   {"class 1", 0.01, 0.01, 0.01},
    {"class 1.0", 0.01, 0.01, 0.01},        {"class 1.6", 0.016, 0.016, 0.016},   {"class 2.5", 0.025, 0.025, 0.025},
    {"class 4", 0.04, 0.04, 0.04},          {"class 4.0", 0.04, 0.04, 0.04},
};
enum { GRADES = sizeof grades / sizeof grades[0] };

#define RIGHT                                                                                                          \
    "such as \"2 % of span\", \"1 % of reading\", \"grade B\" (ASME B40.100: 4A, 3A, 2A, 1A, A, B, C, D) or \"class "  \
    "1.6\" (EN 837-1)"

/* Largest stated accuracy that a gauge can have and still be one. */
static const double accuracy_max_1 = 0.25;

double ch_gauge_limit_pa(const ch_sheet_gauge *gauge, double reading_gauge_pa)
{
    const double span_pa = gauge->span.si;
    const double reading_pa = fmax(reading_gauge_pa, 0); /* NaN becomes 0, and is caught below */
    if (isnan(reading_gauge_pa) || gauge->accuracy_kind == CH_ACCURACY_UNSTATED)
        return NAN;
    if (gauge->accuracy_kind == CH_ACCURACY_OF_READING)
        return gauge->accuracy.si * (reading_pa > span_pa ? span_pa : reading_pa);
    if (gauge->grade == NULL)
        return gauge->accuracy.si * span_pa;
    const double part_1 = reading_pa / span_pa;
    const double limit_1 = part_1 < 0.25    ? gauge->grade->lower_1
                           : part_1 <= 0.75 ? gauge->grade->middle_1
                                            : gauge->grade->upper_1;
    return limit_1 * span_pa;
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t';
}

/* True where the text ends in `tail` (any case), which then is cut off with the space ahead of it. */
static bool cut_tail(const char *text, size_t *length, const char *tail)
{
    const size_t n = strlen(tail);
    if (*length <= n || strncasecmp(text + *length - n, tail, n) != 0)
        return false;
    *length -= n;
    while (*length > 0 && is_space(text[*length - 1]))
        (*length)--;
    return true;
}

/* By its name in any case; a decimal comma, as dials print it, is a point. */
static const ch_gauge_grade *grade_find(const char *text, size_t length)
{
    char name[16] = "";
    if (length >= sizeof name)
        return NULL;
    for (size_t i = 0; i < length; i++)
        name[i] = (char)(text[i] == ',' ? '.' : text[i]);
    for (size_t i = 0; i < GRADES; i++)
        if (strcasecmp(grades[i].name, name) == 0)
            return &grades[i];
    return NULL;
}

ch_status ch_gauge_accuracy_parse(const char *text, size_t length, ch_sheet_gauge *gauge, ch_err *err)
{
    while (length > 0 && is_space(text[0])) {
        text++;
        length--;
    }
    while (length > 0 && is_space(text[length - 1]))
        length--;
    char shown[48], percent[16];
    ch_text_excerpt(text, length, shown, sizeof shown);
    const ch_gauge_grade *grade = grade_find(text, length);
    ch_accuracy_kind kind = CH_ACCURACY_OF_SPAN;
    size_t number = length;
    if (grade != NULL) {
        number = (size_t)snprintf(percent, sizeof percent, "%d.%02d %%", (int)lround(grade->middle_1 * 1e4) / 100,
                                  (int)lround(grade->middle_1 * 1e4) % 100);
        text = percent;
    } else if (cut_tail(text, &number, "of reading")) {
        kind = CH_ACCURACY_OF_READING;
    } else if (!cut_tail(text, &number, "of span")) {
        cut_tail(text, &number, "of full scale");
    }
    ch_quantity accuracy = ch_quantity_none();
    ch_err reason = {0};
    if (ch_quantity_parse(text, number, CH_DIM_PRESSURE, NULL, &accuracy, &reason) >= 0)
        return ch_fail(err, CH_E_INPUT,
                       "its share of the span: 2 psi of a gauge that ends at 300 psi is \"0.67 % of span\"",
                       "\"%s\" is a pressure", shown);
    if (ch_quantity_parse(text, number, CH_DIM_RATIO, NULL, &accuracy, &reason) < 0)
        return ch_fail(err, CH_E_INPUT, RIGHT, "\"%s\" is not an accuracy", shown);
    if (!(accuracy.si > 0 && accuracy.si <= accuracy_max_1))
        return ch_fail(err, CH_E_INPUT, "above 0, at most 25 %", "%s is out of range", shown);
    gauge->accuracy_kind = kind;
    gauge->accuracy = accuracy;
    gauge->grade = grade;
    return CH_OK;
}

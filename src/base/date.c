/*
 * Calendar dates, proleptic Gregorian (ISO 8601-1:2019, 4.2.1). Knows no clock and no time zone: today is the caller's business.
 */
#include "crosshatch/date.h"

#include <stdio.h>

#include "crosshatch/text.h"

enum { YEAR_FIRST = 1900, YEAR_LAST = 2199, DAYS_IN_400_YEARS = 146097, DAYS_TO_1970 = 719162 };

static const char *const month_names[] = {"January", "February", "March",     "April",   "May",      "June",
                                          "July",    "August",   "September", "October", "November", "December"};

static bool leap_year(long year)
{
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int days_in_month(long year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && leap_year(year) ? 1 : 0);
}

/* Days from 0001-01-01 to the first day of `year`, year >= 1. */
static long days_before_year(long year)
{
    const long past = year - 1;
    return past * 365 + past / 4 - past / 100 + past / 400;
}

bool ch_date_given(ch_date date)
{
    return date.year != 0;
}

static bool is_iso_date(const char *text, size_t length)
{
    static const char pattern[] = "dddd-dd-dd";
    if (length != sizeof pattern - 1)
        return false;
    for (size_t i = 0; i < length; i++)
        if (pattern[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != pattern[i])
            return false;
    return true;
}

static int digits(const char *text, size_t n)
{
    int value = 0;
    for (size_t i = 0; i < n; i++)
        value = value * 10 + (text[i] - '0');
    return value;
}

ch_status ch_date_parse(const char *text, size_t length, ch_date *out, ch_err *err)
{
    for (; length > 0 && text[0] == ' '; text++)
        length--;
    while (length > 0 && text[length - 1] == ' ')
        length--;
    char quoted[32], right[80];
    ch_text_excerpt(text, length, quoted, sizeof quoted);
    if (!is_iso_date(text, length))
        return ch_fail(err, CH_E_INPUT, "year-month-day in digits, as in 2027-01-16", "\"%s\" is not a date", quoted);
    const ch_date read = {digits(text, 4), digits(text + 5, 2), digits(text + 8, 2)};
    if (read.year < YEAR_FIRST || read.year > YEAR_LAST) {
        snprintf(right, sizeof right, "a year from %d to %d", YEAR_FIRST, YEAR_LAST);
        return ch_fail(err, CH_E_INPUT, right, "the year of \"%s\" is out of range", quoted);
    }
    if (read.month < 1 || read.month > 12)
        return ch_fail(err, CH_E_INPUT, "year-month-day with a month from 01 to 12", "\"%s\" has no such month",
                       quoted);
    const int last = days_in_month(read.year, read.month);
    if (read.day < 1 || read.day > last) {
        snprintf(right, sizeof right, "%s %d has the days 01 to %d", month_names[read.month - 1], read.year, last);
        return ch_fail(err, CH_E_INPUT, right, "\"%s\" does not exist", quoted);
    }
    *out = read;
    return CH_OK;
}

void ch_date_format(ch_date date, char *text, size_t size)
{
    if (ch_date_given(date))
        snprintf(text, size, "%04d-%02d-%02d", date.year, date.month, date.day);
    else if (size > 0)
        text[0] = '\0';
}

long ch_date_days(ch_date date)
{
    long days = days_before_year(date.year) - DAYS_TO_1970 + date.day - 1;
    for (int month = 1; month < date.month; month++)
        days += days_in_month(date.year, month);
    return days;
}

ch_date ch_date_from_days(long days)
{
    const ch_date none = {0, 0, 0};
    if (days < -DAYS_TO_1970 || days >= days_before_year(10000) - DAYS_TO_1970)
        return none;
    const long since = days + DAYS_TO_1970; /* since 0001-01-01 */
    /* Years begin up to 0.72 days behind the mean calendar (in year 97), less than a whole day: this is never a year too late. */
    long year = since * 400 / DAYS_IN_400_YEARS + 1;
    if (days_before_year(year + 1) <= since)
        year++;
    int month = 1;
    long day = since - days_before_year(year);
    for (; day >= days_in_month(year, month); month++)
        day -= days_in_month(year, month);
    return (ch_date){(int)year, month, (int)day + 1};
}

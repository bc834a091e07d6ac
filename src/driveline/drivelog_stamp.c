/*
 * Time stamps with colons, and dates ahead of them: "3:04.5", "12:03:04,500", "12:03:04:500", "1:02:03 PM", "2027-01-16T12:03:04.5Z",
 * "16.01.2027 12:03:04", "16/01/2027 12:03:04". Time zones are read over: a log stays in one.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/date.h"
#include "drivelog_parts.h"

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Up to nine digits; -1 where there is none. */
static long whole(const char **at, const char *end)
{
    long value = 0;
    int n = 0;
    for (; *at < end && is_digit(**at) && n < 9; (*at)++, n++)
        value = value * 10 + (**at - '0');
    return n > 0 ? value : -1;
}

/* The three numbers of a date at the start; false where there is none. */
static bool date_read(const char **at, const char *end, long part[static 3])
{
    const char *p = *at;
    char mark = '\0';
    for (int i = 0; i < 3; i++) {
        part[i] = whole(&p, end);
        if (part[i] < 0)
            return false;
        if (i < 2) {
            if (p == end || (*p != '-' && *p != '.' && *p != '/') || (i == 1 && *p != mark))
                return false;
            mark = *p++;
        }
    }
    if (p < end && (*p == 'T' || *p == 't' || *p == ','))
        p++;
    while (p < end && *p == ' ')
        p++;
    *at = p;
    return true;
}

/* Days since 1970 of the numbers of a date, year first where the first is no day; -1 where there is no such day. */
static long days_of(const long part[static 3], bool month_first)
{
    ch_date date;
    if (part[0] > 31)
        date = (ch_date){(int)part[0], (int)part[1], (int)part[2]};
    else if (month_first)
        date = (ch_date){(int)part[2], (int)part[0], (int)part[1]};
    else
        date = (ch_date){(int)part[2], (int)part[1], (int)part[0]};
    if (date.year >= 0 && date.year < 100)
        date.year += 2000;
    if (date.year < 1970 || date.year > 2199 || date.month < 1 || date.month > 12 || date.day < 1 || date.day > 31)
        return -1;
    const long days = ch_date_days(date);
    const ch_date again = ch_date_from_days(days); /* another one where the month has not so many days */
    return again.month == date.month ? days : -1;
}

/* Of a date alone: day first, unless that is no day. */
static long days_alone(const long part[static 3])
{
    return days_of(part, part[0] <= 31 && part[1] > 12);
}

/*
 * Of a date behind others of its log, which is a day in one order at least. The first date that is a day in one order alone tells the order of all; else the second date does, by
 * which the log moves on by fewer days.
 */
static long days_behind(log_dates *dates, const long part[static 3])
{
    if (part[0] > 31)
        return days_of(part, false);
    if (dates->any && memcmp(dates->part, part, sizeof dates->part) == 0)
        return dates->days;
    const long by[2] = {days_of(part, false), days_of(part, true)};
    const bool told = by[0] < 0 || by[1] < 0;
    if (told && (!dates->settled || by[dates->month_first] < 0)) {
        dates->settled = true;
        dates->month_first = by[0] < 0;
        dates->shift = 0;
        if (dates->any && days_of(dates->part, dates->month_first) >= 0)
            dates->shift = dates->days - days_of(dates->part, dates->month_first);
    } else if (!told && !dates->settled && dates->any) {
        const long day_first = by[0] - days_of(dates->part, false), month_first = by[1] - days_of(dates->part, true);
        dates->settled = labs(day_first) != labs(month_first);
        dates->month_first = labs(month_first) < labs(day_first);
        dates->shift = dates->month_first ? dates->days - days_of(dates->part, true) : 0;
    }
    memcpy(dates->part, part, sizeof dates->part);
    dates->any = true;
    dates->days = by[dates->month_first] + dates->shift;
    return dates->days;
}

static bool stamp_read(log_slice cell, log_dates *dates, double *seconds, bool *dated)
{
    const char *at = cell.at, *end = cell.at + cell.length;
    while (at < end && (*at == ' ' || *at == '"'))
        at++;
    while (end > at && (end[-1] == ' ' || end[-1] == '"'))
        end--;
    long date[3];
    *dated = date_read(&at, end, date);
    if (*dated && days_alone(date) < 0)
        return false;
    long part[4];
    int n = 0;
    double fraction = 0;
    for (bool another = true; another && n < 4; n++) {
        const char *const first = at;
        part[n] = whole(&at, end);
        if (part[n] < 0)
            return false;
        if (n == 3) { /* a fourth group is a fraction by its digits: 04:500 */
            fraction = (double)part[n];
            for (const char *c = first; c < at; c++)
                fraction /= 10;
        }
        another = at + 1 < end && *at == ':';
        at += another && n < 3;
    }
    if (n < 2)
        return false;
    if (n < 4 && at < end && (*at == '.' || *at == ',')) {
        double place = 0.1;
        for (at++; at < end && is_digit(*at); at++, place /= 10)
            fraction += (*at - '0') * place;
    }
    const long hours = n >= 3 ? part[0] : 0, minutes = part[n >= 3 ? 1 : 0], second = part[n >= 3 ? 2 : 1];
    if ((n >= 3 && minutes > 59) || second > 60 || hours > 100000)
        return false;
    long half = 0;
    while (at < end && *at == ' ')
        at++;
    if (end - at >= 2 && (at[1] == 'M' || at[1] == 'm') && (*at == 'P' || *at == 'p'))
        half = hours < 12 ? 43200 : 0;
    else if (end - at >= 2 && (at[1] == 'M' || at[1] == 'm') && (*at == 'A' || *at == 'a'))
        half = hours == 12 ? -43200 : 0;
    else if (at < end && *at != 'Z' && *at != 'z' && *at != '+' && *at != '-')
        return false;
    const long days = !*dated ? 0 : dates != NULL ? days_behind(dates, date) : days_alone(date);
    *seconds = (double)days * 86400 + (double)(hours * 3600 + minutes * 60 + second + half) + fraction;
    return true;
}

bool log_stamp_read(log_slice cell, double *seconds, bool *dated)
{
    return stamp_read(cell, NULL, seconds, dated);
}

bool log_stamp_follow(log_dates *dates, log_slice cell, double *seconds)
{
    bool dated;
    return stamp_read(cell, dates, seconds, &dated);
}

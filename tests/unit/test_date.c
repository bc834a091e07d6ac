/* Promises of base/date.c. */
#include <limits.h>
#include <string.h>

#include "crosshatch/date.h"
#include "expect.h"

static ch_status parse(const char *text, ch_date *date, ch_err *err)
{
    return ch_date_parse(text, strlen(text), date, err);
}

static void dates_that_exist_are_read_and_written_back(void **state)
{
    (void)state;
    static const char *const texts[] = {"1900-01-01", "2000-02-29", "2024-02-29", "2027-01-16", "2199-12-31"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        ch_date date = {0};
        char text[11];
        assert_int_equal(parse(texts[i], &date, NULL), CH_OK);
        assert_true(ch_date_given(date));
        ch_date_format(date, text, sizeof text);
        assert_string_equal(text, texts[i]);
    }
    ch_date date = {0};
    assert_int_equal(parse("  2027-01-16 ", &date, NULL), CH_OK);
    assert_int_equal(date.day, 16);
}

static void other_dates_are_refused_and_leave_the_output_alone(void **state)
{
    (void)state;
    static const struct {
        const char *text, *what, *right;
    } refused[] = {
        {"", "\"\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"16.01.2027", "\"16.01.2027\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"2027/01/16", "\"2027/01/16\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"2027-1-16", "\"2027-1-16\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"2027-01-16T08:00", "\"2027-01-16T08:00\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"2027-01-1\xff", "\"2027-01-1?\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"+027-01-16", "\"+027-01-16\" is not a date", "year-month-day in digits, as in 2027-01-16"},
        {"1899-12-31", "the year of \"1899-12-31\" is out of range", "a year from 1900 to 2199"},
        {"2200-01-01", "the year of \"2200-01-01\" is out of range", "a year from 1900 to 2199"},
        {"2027-00-10", "\"2027-00-10\" has no such month", "year-month-day with a month from 01 to 12"},
        {"2027-13-10", "\"2027-13-10\" has no such month", "year-month-day with a month from 01 to 12"},
        {"2027-04-31", "\"2027-04-31\" does not exist", "April 2027 has the days 01 to 30"},
        {"2027-01-00", "\"2027-01-00\" does not exist", "January 2027 has the days 01 to 31"},
        {"2027-02-29", "\"2027-02-29\" does not exist", "February 2027 has the days 01 to 28"},
        {"2100-02-29", "\"2100-02-29\" does not exist", "February 2100 has the days 01 to 28"},
    };
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        ch_date date = {7, 7, 7};
        ch_err err = {0};
        assert_int_equal(parse(refused[i].text, &date, &err), CH_E_INPUT);
        assert_string_equal(err.what, refused[i].what);
        assert_string_equal(err.right, refused[i].right);
        assert_int_equal(date.year, 7);
        assert_int_equal(parse(refused[i].text, &date, NULL), CH_E_INPUT);
    }
}

static void a_date_is_read_up_to_its_length_only(void **state)
{
    (void)state;
    ch_date date = {0};
    assert_int_equal(ch_date_parse("2027-01-169", 10, &date, NULL), CH_OK);
    assert_int_equal(ch_date_parse("2027-01-16", 9, &date, NULL), CH_E_INPUT);
    assert_int_equal(ch_date_parse("2027-01-\0001", 10, &date, NULL), CH_E_INPUT);
}

/*
 * Fliegel and Van Flandern, "A machine algorithm for processing calendar dates", Communications of the ACM 11 (1968), 657: Julian
 * day number of a Gregorian date, in integers that truncate towards zero.
 */
static long julian_day(long year, long month, long day)
{
    return day - 32075 + 1461 * (year + 4800 + (month - 14) / 12) / 4 +
           367 * (month - 2 - (month - 14) / 12 * 12) / 12 - 3 * ((year + 4900 + (month - 14) / 12) / 100) / 4;
}

static void day_numbers_agree_with_fliegel_and_van_flandern(void **state)
{
    (void)state;
    assert_int_equal(ch_date_days((ch_date){1970, 1, 1}), 0);
    assert_int_equal(julian_day(1970, 1, 1), 2440588); /* the letter's own example is 1970-01-01 */
    long expected = julian_day(1890, 1, 1) - 2440588;
    for (; expected < julian_day(2210, 1, 1) - 2440588;
         expected++) { /* every day of the range that can be typed, and around it */
        const ch_date date = ch_date_from_days(expected);
        assert_int_equal(julian_day(date.year, date.month, date.day) - 2440588, expected);
        assert_int_equal(ch_date_days(date), expected);
        assert_in_range(date.month, 1, 12);
        assert_in_range(date.day, 1, 31);
    }
}

static void days_beyond_the_calendar_are_not_given(void **state)
{
    (void)state;
    const long first = ch_date_days((ch_date){1, 1, 1}), last = ch_date_days((ch_date){9999, 12, 31});
    assert_int_equal(ch_date_from_days(first).year, 1);
    assert_int_equal(ch_date_from_days(last).day, 31);
    assert_false(ch_date_given(ch_date_from_days(first - 1)));
    assert_false(ch_date_given(ch_date_from_days(last + 1)));
    assert_false(ch_date_given(ch_date_from_days(LONG_MIN)));
    assert_false(ch_date_given(ch_date_from_days(LONG_MAX)));
}

static void a_date_not_given_is_written_as_nothing(void **state)
{
    (void)state;
    char text[11] = "x";
    ch_date_format((ch_date){0}, text, sizeof text);
    assert_string_equal(text, "");
    char short_text[5];
    ch_date_format((ch_date){2027, 1, 16}, short_text, sizeof short_text);
    assert_string_equal(short_text, "2027");
    ch_date_format((ch_date){0}, NULL, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dates_that_exist_are_read_and_written_back),
        cmocka_unit_test(other_dates_are_refused_and_leave_the_output_alone),
        cmocka_unit_test(a_date_is_read_up_to_its_length_only),
        cmocka_unit_test(day_numbers_agree_with_fliegel_and_van_flandern),
        cmocka_unit_test(days_beyond_the_calendar_are_not_given),
        cmocka_unit_test(a_date_not_given_is_written_as_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

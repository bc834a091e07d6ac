/*
 * What was assumed, repaired and left out, as sentences.
 */
#include <math.h>
#include <string.h>

#include "crosshatch/drivelog.h"

static void tell_count(ch_text *text, const ch_drivelog_count *count, const char *one, const char *many)
{
    if (count->n == 0)
        return;
    ch_text_appendf(text, "line %llu: ", (unsigned long long)count->line);
    if (count->n == 1)
        ch_text_appendf(text, "%s\n", one);
    else
        ch_text_appendf(text, "the first of %llu %s\n", (unsigned long long)count->n, many);
}

static void tell_cells(ch_text *text, const ch_drivelog_count *count, const char *channel, const char *said)
{
    if (count->n > 0)
        ch_text_appendf(text, "line %llu: %s: %llu %s %s\n", (unsigned long long)count->line, channel,
                        (unsigned long long)count->n, count->n == 1 ? "cell" : "cells", said);
}

static void tell_column(ch_text *text, const ch_drivelog_report *report, ch_drivelog_channel c)
{
    const ch_drivelog_column *const column = &report->columns[c];
    const char *const channel = ch_drivelog_channel_name(c);
    if (column->how == CH_DRIVELOG_NONE)
        return;
    if (column->how == CH_DRIVELOG_SWAPPED)
        ch_text_appendf(text, "%s and %s hold each other's numbers: \"%s\" is taken as %s\n",
                        c == CH_DRIVELOG_ENGINE ? "rpm" : "speed", c == CH_DRIVELOG_ENGINE ? "speed" : "rpm",
                        column->name, channel);
    if (column->how == CH_DRIVELOG_STAND_IN)
        ch_text_appendf(text, "no road speed of the car itself: \"%s\" stands in for it\n", column->name);
    if (column->unit_assumed)
        ch_text_appendf(text, "%s (\"%s\"): the log names no unit; taken as %s\n", channel, column->name, column->unit);
    if (column->rivals > 0)
        ch_text_appendf(text, "%s: \"%s\" is taken, the first of %zu columns that fit alike\n", channel, column->name,
                        column->rivals + 1);
    tell_cells(text, &column->not_numbers, channel, "with text instead of a number: left empty");
    tell_cells(text, &column->other_units, channel, "with a unit of their own: converted");
    tell_cells(text, &column->glitches, channel, "that cannot be (out of range, or a leap of one row): left empty");
    tell_cells(text, &column->missing, channel, "without a value");
    if (column->filled > 0)
        ch_text_appendf(text, "%s: a value every few rows; %llu cells between them filled in\n", channel,
                        (unsigned long long)column->filled);
}

static void tell_segments(ch_text *text, const ch_drivelog_report *report)
{
    static const char *const why[] = {
        [CH_DRIVELOG_START] = "begins",
        [CH_DRIVELOG_RESTART] = "the clock starts again",
        [CH_DRIVELOG_JUMP] = "the clock jumps ahead by more than a day",
        [CH_DRIVELOG_HEADER] = "another log follows, with its own header",
    };
    for (uint64_t i = 1; i < report->segments_n && i < CH_DRIVELOG_SEGMENTS_MAX; i++)
        ch_text_appendf(text, "line %llu: %s; a new segment, at %.0f s\n", (unsigned long long)report->segments[i].line,
                        why[report->segments[i].why], report->segments[i].time_s);
    if (report->segments_n > CH_DRIVELOG_SEGMENTS_MAX)
        ch_text_appendf(text, "%llu segments in all\n", (unsigned long long)report->segments_n);
}

void ch_drivelog_tell(const ch_drivelog_report *report, ch_text *text)
{
    if (report->encoding == CH_DRIVELOG_UTF16LE || report->encoding == CH_DRIVELOG_UTF16BE)
        ch_text_append_string(text, "the log is in UTF-16\n");
    if (report->decimal == ',')
        ch_text_append_string(text, "numbers have a decimal comma\n");
    if (report->units_line > 0)
        ch_text_appendf(text, "line %llu: units row\n", (unsigned long long)report->units_line);
    for (int c = 0; c < CH_DRIVELOG_CHANNELS_; c++)
        tell_column(text, report, (ch_drivelog_channel)c);
    tell_segments(text, report);
    tell_count(text, &report->gaps, "a gap of more than three intervals", "gaps of more than three intervals");
    tell_count(text, &report->backward, "the clock goes back: the row is left out",
               "rows whose clock goes back: left out");
    tell_count(text, &report->strays, "a stamp that fits neither neighbour: the row is left out",
               "rows with a stamp that fits neither neighbour: left out");
    tell_count(text, &report->no_stamp, "a row without a time that can be read: left out",
               "rows without a time that can be read, or under a clock that stands still: left out");
    tell_count(text, &report->repeated, "a row has the stamp of the row before: moved towards the next stamp",
               "rows with the stamp of the row before: spread up to the next stamp");
    tell_count(text, &report->wraps, "the clock passes midnight or its counter's end: carried on",
               "times the clock passes midnight or its counter's end: carried on");
    tell_count(text, &report->ragged, "a row with too few or too many cells: left out",
               "rows with too few or too many cells: left out");
    tell_count(text, &report->comments, "a comment or empty line: passed over", "comment or empty lines: passed over");
    tell_count(text, &report->truncated, "the last row ends in the middle: its end is left out",
               "pieces of a last row that ends in the middle: left out");
    tell_count(text, &report->bad_characters, "a broken or NUL character", "broken or NUL characters");
    if (report->rate_over_acceleration > 4 ||
        (report->rate_over_acceleration > 0.02 && report->rate_over_acceleration < 0.25))
        ch_text_appendf(text, "road speed changes %d %% as fast as the acceleration says: perhaps its unit is wrong\n",
                        (int)lrint(fmin(report->rate_over_acceleration, 1e6) * 100));
    if (report->road_over_gps > 0 && fabs(report->road_over_gps - 1) > 0.2)
        ch_text_appendf(text, "road speed is %d %% of the GPS speed: perhaps one of their units is wrong\n",
                        (int)lrint(fmin(report->road_over_gps, 1e6) * 100));
}

/* Why a moved input moves the reading. Each sentence names what the model did differently, with its numbers. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_whatif.h"

enum { NUMBER = CH_SHOW_NUMBER };

static const struct {
    const char *label, *unit; /* NULL: none, or the reader's own */
    int decimals;
} INPUTS[CH_WHATIF_COUNT] = {
    [CH_WHATIF_ALTITUDE] = {"Altitude", "m", 0},
    [CH_WHATIF_SEA_LEVEL_PRESSURE] = {"Barometer, reduced to sea level", "hPa", 2},
    [CH_WHATIF_AIR_TEMPERATURE] = {"Air temperature", NULL, 1},
    [CH_WHATIF_ENGINE_TEMPERATURE] = {"Engine temperature", NULL, 1},
    [CH_WHATIF_CRANKING_SPEED] = {"Cranking speed", "rpm", 0},
    [CH_WHATIF_STROKES] = {"Compression strokes", NULL, 0},
    [CH_WHATIF_THROTTLE] = {"Throttle", NULL, 0},
    [CH_WHATIF_COMPRESSION_RATIO] = {"Compression ratio", NULL, 2},
    [CH_WHATIF_INTAKE_CLOSES] = {"Intake closes after BDC", "deg", 1},
    [CH_WHATIF_HOSE_VOLUME] = {"Hose and dial, behind the check valve", "ml", 1},
    [CH_WHATIF_DEAD_VOLUME] = {"Adapter, ahead of the check valve", "ml", 1},
    [CH_WHATIF_RINGS] = {"Leak past the rings", "mm2", 2},
    [CH_WHATIF_INTAKE_VALVE] = {"Leak past the intake valve", "mm2", 2},
    [CH_WHATIF_EXHAUST_VALVE] = {"Leak past the exhaust valve", "mm2", 2},
};

const char *ch_show_whatif_label(ch_whatif_input input)
{
    return INPUTS[input].label;
}

const ch_unit *ch_show_whatif_unit(ch_whatif_input input, const ch_show_whatif_units *units)
{
    if (ch_whatif_dimension(input) == CH_DIM_TEMPERATURE)
        return units->temperature;
    return INPUTS[input].unit != NULL ? ch_unit_find(INPUTS[input].unit, strlen(INPUTS[input].unit)) : NULL;
}

const char *ch_show_whatif_number(ch_whatif_input input, double si, const ch_show_whatif_units *units,
                                  char buffer[CH_SHOW_NUMBER])
{
    if (input == CH_WHATIF_THROTTLE) {
        snprintf(buffer, CH_SHOW_NUMBER, "%s", si > 0.5 ? "shut" : "open");
        return buffer;
    }
    const ch_unit *unit = ch_show_whatif_unit(input, units);
    ch_show_number(unit != NULL ? ch_unit_from_si(si, unit) : si, INPUTS[input].decimals, buffer);
    if (strchr(buffer, '.') != NULL) { /* 9.50 is 9.5 */
        size_t length = strlen(buffer);
        while (buffer[length - 1] == '0')
            buffer[--length] = '\0';
        if (buffer[length - 1] == '.')
            buffer[length - 1] = '\0';
    }
    return buffer;
}

const char *ch_show_whatif_value(ch_whatif_input input, double si, const ch_show_whatif_units *units,
                                 char buffer[CH_SHOW_NUMBER])
{
    const ch_unit *unit = ch_show_whatif_unit(input, units);
    ch_show_whatif_number(input, si, units, buffer);
    if (unit != NULL) {
        const size_t length = strlen(buffer);
        snprintf(buffer + length, CH_SHOW_NUMBER - length, " %s", unit->name);
    }
    return buffer;
}

const char *ch_show_whatif_change(double before_pa, double now_pa, char buffer[CH_SHOW_NUMBER])
{
    const double percent = 100.0 * (now_pa / before_pa - 1.0);
    char number[NUMBER];
    if (!isfinite(percent))
        snprintf(buffer, CH_SHOW_NUMBER, "-");
    else if (fabs(percent) < 0.05)
        snprintf(buffer, CH_SHOW_NUMBER, "no change");
    else
        snprintf(buffer, CH_SHOW_NUMBER, "%s%s %%", percent > 0.0 ? "+" : "", ch_show_number(percent, 1, number));
    return buffer;
}

/* ---------------------------------------------------------------- reasons */

static const char *percent(double part_1, char buffer[NUMBER])
{
    /* Nearly all of it is not all of it. */
    const bool nearly = fabs(part_1 - 1.0) < 0.015;
    char number[NUMBER];
    snprintf(buffer, NUMBER, "%s %%", ch_show_number(100.0 * part_1, nearly ? 1 : 0, number));
    return buffer;
}

static void pressure_outside(const ch_whatif_facts *was, const ch_whatif_facts *is, ch_text *text)
{
    const ch_unit *hpa = ch_unit_find("hPa", 3);
    char a[NUMBER], b[NUMBER], c[NUMBER];
    ch_text_appendf(text, "the air outside stands at %s hPa instead of %s, and each stroke begins with %s of the air",
                    ch_show_number(ch_unit_from_si(is->ambient_pa, hpa), 0, a),
                    ch_show_number(ch_unit_from_si(was->ambient_pa, hpa), 0, b),
                    percent(is->closing_kg / was->closing_kg, c));
}

static const char *temperature(double temp_k, const ch_unit *unit, char buffer[NUMBER])
{
    char number[NUMBER];
    snprintf(buffer, NUMBER, "%s %s", ch_show_number(ch_unit_from_si(temp_k, unit), 0, number), unit->name);
    return buffer;
}

/* `link` leads from how much air there is to how hot it gets. */
static void heat(const ch_whatif_facts *was, const ch_whatif_facts *is, const char *link,
                 const ch_show_whatif_units *units, ch_text *text)
{
    const ch_unit *unit = units->temperature;
    char a[NUMBER], b[NUMBER], c[NUMBER], d[NUMBER], e[NUMBER];
    ch_text_appendf(
        text,
        "the trapped air is at %s instead of %s when the intake closes, so there is %s of it, %s peaks at %s instead "
        "of %s",
        temperature(is->closing_k, unit, a), temperature(was->closing_k, unit, b),
        percent(is->closing_kg / was->closing_kg, c), link, temperature(is->top_k, unit, d),
        temperature(was->top_k, unit, e));
}

static void lost(const ch_whatif_facts *was, const ch_whatif_facts *is, ch_text *text)
{
    char a[NUMBER], b[NUMBER];
    ch_text_appendf(text, "%s of the trapped air is gone by the top of the last stroke, instead of %s",
                    percent(is->lost_1, a), percent(was->lost_1, b));
}

static void squeezed(const ch_whatif_facts *was, const ch_whatif_facts *is, const char *lead, ch_text *text)
{
    char a[NUMBER], b[NUMBER], c[NUMBER];
    ch_text_appendf(text,
                    "%sfrom the closed intake valve on the air is squeezed %s:1 instead of %s:1, and %s of it is "
                    "trapped",
                    lead, ch_show_number(is->closing_ratio_1, 1, a), ch_show_number(was->closing_ratio_1, 1, b),
                    percent(is->closing_kg / was->closing_kg, c));
}

static void filling(const ch_whatif_facts *was, const ch_whatif_facts *is, bool more, ch_text *text)
{
    char a[NUMBER], b[NUMBER];
    ch_text_appendf(text,
                    "there is %s hose to pump up: the first stroke brings %s of the last reading instead of %s, "
                    "and it comes within 5 %% at stroke %d instead of %d",
                    more ? "more" : "less", percent(is->first_gauge_pa / is->gauge_pa, a),
                    percent(was->first_gauge_pa / was->gauge_pa, b), is->settled, was->settled);
}

static void speed(const ch_whatif_facts *was, const ch_whatif_facts *is, ch_text *text)
{
    char a[NUMBER], b[NUMBER];
    ch_text_appendf(text, "a compression takes %s s instead of %s: %s time to leak and to cool, and ",
                    ch_show_number(is->compression_s, 2, a), ch_show_number(was->compression_s, 2, b),
                    is->compression_s > was->compression_s ? "more" : "less");
    lost(was, is, text);
}

static void strokes(const ch_whatif_facts *was, const ch_whatif_facts *is, const ch_whatif *whatif, ch_text *text)
{
    char a[NUMBER];
    const int now = (int)whatif->now.si[CH_WHATIF_STROKES], before = (int)whatif->before.si[CH_WHATIF_STROKES];
    ch_text_appendf(text,
                    "each stroke pumps the hose up by less than the one before: after %d the gauge shows %s of "
                    "what it shows after %d",
                    now < before ? now : before,
                    percent(now < before ? is->gauge_pa / was->gauge_pa : was->gauge_pa / is->gauge_pa, a),
                    now < before ? before : now);
}

static void reason_of(const ch_whatif *whatif, ch_whatif_input input, const ch_show_whatif_units *units, ch_text *text)
{
    const ch_whatif_facts *was = &whatif->before_run.facts, *is = &whatif->alone[input];
    char a[NUMBER], b[NUMBER], c[NUMBER];
    switch (input) {
    case CH_WHATIF_ALTITUDE:
    case CH_WHATIF_SEA_LEVEL_PRESSURE: pressure_outside(was, is, text); break;
    case CH_WHATIF_AIR_TEMPERATURE: heat(was, is, "and it", units, text); break;
    case CH_WHATIF_ENGINE_TEMPERATURE:
        heat(was, is,
             whatif->now.si[input] < whatif->before.si[input] ? "but it gives more heat to the walls and"
                                                              : "but it gives less heat to the walls and",
             units, text);
        break;
    case CH_WHATIF_CRANKING_SPEED: speed(was, is, text); break;
    case CH_WHATIF_STROKES: strokes(was, is, whatif, text); break;
    case CH_WHATIF_THROTTLE:
        ch_text_appendf(text, "the intake stands at %s hPa instead of %s, and %s of the air is trapped",
                        ch_show_number(ch_unit_from_si(is->intake_pa, ch_unit_find("hPa", 3)), 0, a),
                        ch_show_number(ch_unit_from_si(was->intake_pa, ch_unit_find("hPa", 3)), 0, b),
                        percent(is->closing_kg / was->closing_kg, c));
        break;
    case CH_WHATIF_COMPRESSION_RATIO: squeezed(was, is, "", text); break;
    case CH_WHATIF_INTAKE_CLOSES:
        squeezed(was, is,
                 is->closing_ratio_1 < was->closing_ratio_1 ? "the piston pushes air back out until the valve closes: "
                                                            : "",
                 text);
        break;
    case CH_WHATIF_HOSE_VOLUME: filling(was, is, whatif->now.si[input] > whatif->before.si[input], text); break;
    case CH_WHATIF_DEAD_VOLUME: squeezed(was, is, "its room is part of the chamber: ", text); break;
    case CH_WHATIF_RINGS:
    case CH_WHATIF_INTAKE_VALVE:
    case CH_WHATIF_EXHAUST_VALVE: lost(was, is, text); break;
    case CH_WHATIF_COUNT: break;
    }
}

void ch_show_whatif_why(const ch_whatif *whatif, ch_whatif_input input, const ch_show_whatif_units *units,
                        ch_text *text)
{
    char now[NUMBER], before[NUMBER], change[NUMBER];
    ch_text_appendf(text, "%s %s instead of %s: ", ch_show_whatif_label(input),
                    ch_show_whatif_value(input, whatif->now.si[input], units, now),
                    ch_show_whatif_value(input, whatif->before.si[input], units, before));
    reason_of(whatif, input, units, text);
    ch_text_appendf(text, ". By itself: %s.",
                    ch_show_whatif_change(whatif->before_run.facts.gauge_pa, whatif->alone[input].gauge_pa, change));
}

/*
 * The units that people type, their factors with sources, and the spellings that are taken for each.
 *
 * Where NIST SP 811 (Guide for the Use of the International System of Units, 2008 edition, Appendix B.8) prints a rounded
 * factor, the exact value behind it is used, so that units that belong together (psi and lbf and in) agree to the last digit:
 *     lb = 0.45359237 kg, in = 0.0254 m, g_n = 9.80665 m/s2: exact by definition (SP 811, B.8 in bold type)
 *     conventional mercury 13595.1 kg/m3 under g_n: mmHg = 133.322387415 Pa, inHg = 25.4 mmHg (SP 811 prints 133.3224, 3386.389)
 */
#include "unit_table.h"

#include <stdint.h>
#include <string.h>

#include "crosshatch/text.h"

#define EXACT "exact by definition (SI, BIPM SI Brochure, 9th edition)"
#define SP811 "NIST SP 811 (2008), Appendix B.8, "

static const ch_unit units[] = {
    {"psi", CH_DIM_PRESSURE, 6894.757293168361337, 0, SP811 "pound-force per square inch; lb g_n / in2"},
    {"kPa", CH_DIM_PRESSURE, 1e3, 0, EXACT},
    {"Pa", CH_DIM_PRESSURE, 1, 0, EXACT},
    {"MPa", CH_DIM_PRESSURE, 1e6, 0, EXACT},
    {"hPa", CH_DIM_PRESSURE, 1e2, 0, EXACT},
    {"mbar", CH_DIM_PRESSURE, 1e2, 0, SP811 "millibar, exact"},
    {"bar", CH_DIM_PRESSURE, 1e5, 0, SP811 "bar, exact"},
    {"kgf/cm2", CH_DIM_PRESSURE, 98066.5, 0, SP811 "kilogram-force per square centimeter, exact"},
    {"kg/cm2", CH_DIM_PRESSURE, 98066.5, 0, SP811 "kilogram-force per square centimeter, exact"},
    {"at", CH_DIM_PRESSURE, 98066.5, 0, SP811 "atmosphere, technical; kgf/cm2, exact"},
    {"inHg", CH_DIM_PRESSURE, 3386.388640341, 0, SP811 "inch of mercury, conventional"},
    {"mmHg", CH_DIM_PRESSURE, 133.322387415, 0, SP811 "millimeter of mercury, conventional"},
    {"Torr", CH_DIM_PRESSURE, 101325.0 / 760, 0, SP811 "torr; atm/760, exact"},
    {"atm", CH_DIM_PRESSURE, 101325, 0, SP811 "atmosphere, standard, exact"},

    {"mm", CH_DIM_LENGTH, 1e-3, 0, EXACT},
    {"cm", CH_DIM_LENGTH, 1e-2, 0, EXACT},
    {"in", CH_DIM_LENGTH, 0.0254, 0, SP811 "inch, exact"},
    {"m", CH_DIM_LENGTH, 1, 0, EXACT},
    {"ft", CH_DIM_LENGTH, 0.3048, 0, SP811 "foot, exact"},
    {"km", CH_DIM_LENGTH, 1e3, 0, EXACT},
    {"mi", CH_DIM_LENGTH, 1609.344, 0, SP811 "mile, exact"},

    {"ml", CH_DIM_VOLUME, 1e-6, 0, SP811 "liter, exact"},
    {"cc", CH_DIM_VOLUME, 1e-6, 0, EXACT},
    {"cm3", CH_DIM_VOLUME, 1e-6, 0, EXACT},
    {"l", CH_DIM_VOLUME, 1e-3, 0, SP811 "liter, exact"},
    {"cu in", CH_DIM_VOLUME, 1.6387064e-5, 0, SP811 "cubic inch; in3, exact"},
    {"in3", CH_DIM_VOLUME, 1.6387064e-5, 0, SP811 "cubic inch; in3, exact"},
    {"fl oz", CH_DIM_VOLUME, 2.95735295625e-5, 0, SP811 "ounce [U.S. fluid], exact: 231/128 in3"},
    {"tsp", CH_DIM_VOLUME, 4.92892159375e-6, 0, SP811 "teaspoon, exact: a sixth of a fluid ounce"},
    {"tbsp", CH_DIM_VOLUME, 1.478676478125e-5, 0, SP811 "tablespoon, exact: half a fluid ounce"},
    {"m3", CH_DIM_VOLUME, 1, 0, EXACT},
    {"mm3", CH_DIM_VOLUME, 1e-9, 0, EXACT},

    {"mm2", CH_DIM_AREA, 1e-6, 0, EXACT},
    {"cm2", CH_DIM_AREA, 1e-4, 0, EXACT},
    {"m2", CH_DIM_AREA, 1, 0, EXACT},
    {"in2", CH_DIM_AREA, 6.4516e-4, 0, SP811 "square inch, exact"},

    {"C", CH_DIM_TEMPERATURE, 1, 273.15, SP811 "degree Celsius, exact"},
    {"F", CH_DIM_TEMPERATURE, 5.0 / 9.0, 459.67 * 5.0 / 9.0, SP811 "degree Fahrenheit; (t + 459.67)/1.8, exact"},
    {"K", CH_DIM_TEMPERATURE, 1, 0, EXACT},

    {"rpm", CH_DIM_SPIN, 0.1047197551196597746, 0, SP811 "revolution per minute; pi/30"},
    {"r/min", CH_DIM_SPIN, 0.1047197551196597746, 0, SP811 "revolution per minute; pi/30"},
    {"1/min", CH_DIM_SPIN, 0.1047197551196597746, 0, SP811 "revolution per minute; pi/30"},
    {"rad/s", CH_DIM_SPIN, 1, 0, EXACT},

    {"h", CH_DIM_TIME, 3600, 0, SP811 "hour, exact"},
    {"min", CH_DIM_TIME, 60, 0, SP811 "minute, exact"},
    {"s", CH_DIM_TIME, 1, 0, EXACT},
    {"ms", CH_DIM_TIME, 1e-3, 0, EXACT},

    {"N m", CH_DIM_TORQUE, 1, 0, EXACT},
    {"lbf ft", CH_DIM_TORQUE, 1.3558179483314004, 0, SP811 "pound-force foot; lb g_n ft, exact"},
    {"lb ft", CH_DIM_TORQUE, 1.3558179483314004, 0, SP811 "pound-force foot; lb g_n ft, exact"},
    {"ft lb", CH_DIM_TORQUE, 1.3558179483314004, 0, SP811 "pound-force foot; lb g_n ft, exact"},
    {"kgf m", CH_DIM_TORQUE, 9.80665, 0, SP811 "kilogram-force meter, exact"},
    {"lbf in", CH_DIM_TORQUE, 0.1129848290276167, 0, SP811 "pound-force inch; lb g_n in, exact"},

    {"kW", CH_DIM_POWER, 1e3, 0, EXACT},
    {"hp", CH_DIM_POWER, 745.69987158227022, 0, SP811 "horsepower (550 ft lbf/s), exact"},
    {"PS", CH_DIM_POWER, 735.49875, 0, SP811 "horsepower (metric); 75 kgf m/s, exact"},
    {"W", CH_DIM_POWER, 1, 0, EXACT},

    {"deg", CH_DIM_ANGLE, 0.01745329251994329577, 0, SP811 "degree (angle); pi/180"},
    {"rad", CH_DIM_ANGLE, 1, 0, EXACT},

    {"%", CH_DIM_RATIO, 0.01, 0, "NIST SP 811 (2008), 7.10.2: the symbol % stands for 0.01"},
    {"1", CH_DIM_RATIO, 1, 0, EXACT},

    {"kg", CH_DIM_MASS, 1, 0, EXACT},
    {"g", CH_DIM_MASS, 1e-3, 0, EXACT},
    {"lb", CH_DIM_MASS, 0.45359237, 0, SP811 "pound (avoirdupois), exact"},
    {"t", CH_DIM_MASS, 1e3, 0, SP811 "ton, metric (t), exact"},

    {"N", CH_DIM_FORCE, 1, 0, EXACT},
    {"kN", CH_DIM_FORCE, 1e3, 0, EXACT},
    {"lbf", CH_DIM_FORCE, 4.4482216152605, 0, SP811 "pound-force; lb g_n, exact"},
    {"kgf", CH_DIM_FORCE, 9.80665, 0, SP811 "kilogram-force, exact"},

    {"km/h", CH_DIM_SPEED, 1.0 / 3.6, 0, SP811 "kilometer per hour; km/h, exact"},
    {"mph", CH_DIM_SPEED, 0.44704, 0, SP811 "mile per hour, exact"},
    {"m/s", CH_DIM_SPEED, 1, 0, EXACT},
};
enum { UNITS = sizeof units / sizeof units[0] };

/*
 * Further spellings, after unit_spelling_normalise: lower case, "deg" for the degree sign, 2 and 3 for raised ones, one space for
 * any of space . - * and the multiplication dot. No spelling here and no name above may equal another one but for case.
 */
static const struct {
    const char *spelling, *name;
} spellings[] = {
    {"ksc", "kg/cm2"},
    {"kp/cm2", "kgf/cm2"},
    {"kgs/cm2", "kg/cm2"},
    {"kg/sq cm", "kg/cm2"},
    {"at\xc3\xbc", "at"},
    {"atu", "at"},
    {"lbf/in2", "psi"},
    {"lb/in2", "psi"},
    {"millibar", "mbar"},
    {"in hg", "inHg"},
    {"mm hg", "mmHg"},

    {"inch", "in"},
    {"inches", "in"},
    {"\"", "in"},
    {"\xe2\x80\xb3", "in"},
    {"\xe2\x80\x9d", "in"},
    {"metre", "m"},
    {"metres", "m"},
    {"meter", "m"},
    {"meters", "m"},
    {"foot", "ft"},
    {"feet", "ft"},
    {"mile", "mi"},
    {"miles", "mi"},
    {"kms", "km"},
    {"kilometre", "km"},
    {"kilometres", "km"},
    {"kilometer", "km"},
    {"kilometers", "km"},

    {"ccm", "cc"},
    {"litre", "l"},
    {"litres", "l"},
    {"liter", "l"},
    {"liters", "l"},
    {"cuin", "cu in"},
    {"cu inch", "cu in"},
    {"cubic inch", "cu in"},
    {"cubic inches", "cu in"},
    {"cid", "cu in"},
    {"sq in", "in2"},

    {"degc", "C"},
    {"deg c", "C"},
    {"celsius", "C"},
    {"\xe2\x84\x83", "C"},
    {"degf", "F"},
    {"deg f", "F"},
    {"fahrenheit", "F"},
    {"\xe2\x84\x89", "F"},
    {"kelvin", "K"},

    {"rev/min", "r/min"},
    {"min 1", "1/min"},
    {"u/min", "r/min"},
    {"upm", "rpm"},

    {"hour", "h"},
    {"hours", "h"},
    {"hr", "h"},
    {"hrs", "h"},
    {"minute", "min"},
    {"minutes", "min"},
    {"mins", "min"},
    {"sec", "s"},
    {"second", "s"},
    {"seconds", "s"},

    {"nm", "N m"},
    {"lbfft", "lbf ft"},
    {"lbft", "lb ft"},
    {"ft lbf", "lbf ft"},
    {"ftlb", "ft lb"},
    {"ft lbs", "ft lb"},
    {"lbs ft", "lb ft"},
    {"kgfm", "kgf m"},
    {"kg m", "kgf m"},
    {"kgm", "kgf m"},
    {"m kgf", "kgf m"},
    {"in lb", "lbf in"},
    {"in lbf", "lbf in"},
    {"lb in", "lbf in"},
    {"lbfin", "lbf in"},
    {"in lbs", "lbf in"},
    {"kpm", "kgf m"},
    {"mkp", "kgf m"},
    {"foot pound", "ft lb"},
    {"foot pounds", "ft lb"},
    {"pound feet", "lb ft"},

    {"bhp", "hp"},

    {"degree", "deg"},
    {"degrees", "deg"},

    {"floz", "fl oz"},
    {"fluid ounce", "fl oz"},
    {"fluid ounces", "fl oz"},
    {"teaspoon", "tsp"},
    {"teaspoons", "tsp"},
    {"tablespoon", "tbsp"},
    {"tablespoons", "tbsp"},

    {"percent", "%"},
    {"per cent", "%"},
    {":1", "1"},
    {": 1", "1"},

    {"lbs", "lb"},
    {"pound", "lb"},
    {"pounds", "lb"},
    {"kilogram", "kg"},
    {"kilograms", "kg"},
    {"kgs", "kg"},
    {"gram", "g"},
    {"grams", "g"},
    {"tonnes", "t"},
    {"tonne", "t"},
    {"newton", "N"},

    {"kmh", "km/h"},
    {"kph", "km/h"},
    {"km/hr", "km/h"},
    {"mi/h", "mph"},
};
enum { SPELLINGS = sizeof spellings / sizeof spellings[0] };

static const struct {
    const char *name, *units;
} dimensions[CH_DIM_COUNT_] = {
    [CH_DIM_PRESSURE] = {"pressure", "psi, kPa, Pa, MPa, hPa, mbar, bar, kgf/cm2, at, inHg, mmHg, Torr, atm"},
    [CH_DIM_LENGTH] = {"length", "mm, cm, in, m, ft, km, mi"},
    [CH_DIM_VOLUME] = {"volume", "ml, cc, cm3, l, cu in, fl oz, tsp, tbsp, m3, mm3"},
    [CH_DIM_AREA] = {"area", "mm2, cm2, m2, in2"},
    [CH_DIM_TEMPERATURE] = {"temperature", "C, F, K"},
    [CH_DIM_SPIN] = {"speed of rotation", "rpm, r/min, 1/min, rad/s"},
    [CH_DIM_TIME] = {"time", "h, min, s, ms"},
    [CH_DIM_TORQUE] = {"torque", "N m, lbf ft, kgf m, lbf in"},
    [CH_DIM_POWER] = {"power", "kW, hp, PS, W"},
    [CH_DIM_ANGLE] = {"angle", "deg, rad"},
    [CH_DIM_RATIO] = {"ratio", "%, 1"},
    [CH_DIM_MASS] = {"mass", "kg, g, lb, t"},
    [CH_DIM_FORCE] = {"force", "N, kN, lbf, kgf"},
    [CH_DIM_SPEED] = {"speed", "km/h, mph, m/s"},
};

const char *ch_dimension_name(ch_dimension dimension)
{
    return (unsigned)dimension < CH_DIM_COUNT_ ? dimensions[dimension].name : "unknown dimension";
}

const char *ch_dimension_units(ch_dimension dimension)
{
    return (unsigned)dimension < CH_DIM_COUNT_ ? dimensions[dimension].units : "";
}

const ch_unit *unit_table(size_t *n)
{
    *n = UNITS;
    return units;
}

/* What people and their keyboards put for the same thing. */
static const struct {
    const char *typed, *taken;
} replacements[] = {
    {"\xc2\xb2", "2"}, /* superscript two */
    {"\xc2\xb3", "3"}, /* superscript three */
    {"^2", "2"},
    {"^3", "3"},
    {"\xc2\xb0", "deg"},   /* degree sign */
    {"\xc2\xba", "deg"},   /* masculine ordinal, beside the degree sign on Spanish keyboards */
    {"\xc2\xb7", " "},     /* middle dot */
    {"\xe2\x8b\x85", " "}, /* dot operator */
    {"*", " "},
    {".", " "},
    {"-", " "},
};

size_t unit_space_length(const char *text, size_t length)
{
    static const char *const spaces[] = {" ", "\t", "\xc2\xa0", "\xe2\x80\x87", "\xe2\x80\x89", "\xe2\x80\xaf"};
    for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++) {
        const size_t n = strlen(spaces[i]);
        if (n <= length && memcmp(text, spaces[i], n) == 0)
            return n;
    }
    return 0;
}

/*
 * The spelling of a typed unit in the one form that is compared, NUL-terminated; false where it is too long, holds a NUL, or
 * begins or ends with a mark that joins two units (a "." at the end, as in "in.", is fine).
 */
static bool unit_spelling_normalise(const char *name, size_t length, char spelling[static UNIT_SPELLING_MAXIMUM + 1])
{
    size_t used = 0;
    bool joined = false; /* a separator has been seen since the last letter */
    bool abbreviated = true;
    for (size_t i = 0; i < length;) {
        const char *taken = NULL;
        size_t n = unit_space_length(name + i, length - i);
        if (n > 0)
            taken = " ";
        for (size_t r = 0; taken == NULL && r < sizeof replacements / sizeof replacements[0]; r++) {
            const size_t typed = strlen(replacements[r].typed);
            if (typed <= length - i && memcmp(name + i, replacements[r].typed, typed) == 0) {
                taken = replacements[r].taken;
                n = typed;
            }
        }
        const bool space = unit_space_length(name + i, length - i) > 0;
        if (taken != NULL && taken[0] == ' ') {
            if (used == 0 && !space)
                return false;
            joined = true;
            abbreviated = abbreviated && (space || name[i] == '.');
            i += n;
            continue;
        }
        char lower[2] = {name[i], '\0'};
        if (lower[0] >= 'A' && lower[0] <= 'Z')
            lower[0] = (char)(lower[0] - 'A' + 'a');
        if (taken == NULL) {
            if (name[i] == '\0')
                return false;
            taken = lower;
            n = 1;
        }
        const size_t more = strlen(taken);
        const bool space_first = joined && used > 0;
        if (used + more + (space_first ? 1 : 0) > UNIT_SPELLING_MAXIMUM)
            return false;
        if (space_first)
            spelling[used++] = ' ';
        memcpy(spelling + used, taken, more);
        used += more;
        joined = false;
        abbreviated = true;
        i += n;
    }
    spelling[used] = '\0';
    return used > 0 && (!joined || abbreviated);
}

/* True where `name` in lower case is `spelling`. */
static bool name_matches(const char *name, const char *spelling)
{
    for (; *name != '\0' && *spelling != '\0'; name++, spelling++) {
        const char lower = (char)(*name >= 'A' && *name <= 'Z' ? *name - 'A' + 'a' : *name);
        if (lower != *spelling)
            return false;
    }
    return *name == *spelling;
}

static const ch_unit *unit_spelt(const char *spelling)
{
    for (size_t i = 0; i < UNITS; i++)
        if (name_matches(units[i].name, spelling))
            return &units[i];
    for (size_t i = 0; i < SPELLINGS; i++)
        if (strcmp(spellings[i].spelling, spelling) == 0)
            for (size_t u = 0; u < UNITS; u++)
                if (strcmp(units[u].name, spellings[i].name) == 0)
                    return &units[u];
    return NULL;
}

/* The unit of pressure ahead of one of these endings, or NULL. */
static const ch_unit *pressure_ahead_of(const char *spelling, const char *const endings[], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const size_t length = strlen(spelling), ending = strlen(endings[i]);
        char unit[UNIT_SPELLING_MAXIMUM + 1] = "";
        if (length <= ending || strcmp(spelling + length - ending, endings[i]) != 0)
            continue;
        memcpy(unit, spelling, length - ending);
        const ch_unit *const found = unit_spelt(unit);
        if (found != NULL && found->dimension == CH_DIM_PRESSURE)
            return found;
    }
    return NULL;
}

const ch_unit *ch_unit_find(const char *name, size_t length)
{
    /* "psig", "bar (g)": what a gauge shows, which is what is meant without them too. */
    static const char *const gauge[] = {"g", " g", "(g)", " (g)", " gauge"};
    char spelling[UNIT_SPELLING_MAXIMUM + 1];
    if (!unit_spelling_normalise(name, length, spelling))
        return NULL;
    const ch_unit *const found = unit_spelt(spelling);
    return found != NULL ? found : pressure_ahead_of(spelling, gauge, sizeof gauge / sizeof gauge[0]);
}

const ch_unit *unit_absolute(const char *name, size_t length)
{
    static const char *const absolute[] = {"a", " a", "(a)", " (a)", " abs", " absolute"};
    char spelling[UNIT_SPELLING_MAXIMUM + 1];
    if (!unit_spelling_normalise(name, length, spelling) || unit_spelt(spelling) != NULL)
        return NULL;
    return pressure_ahead_of(spelling, absolute, sizeof absolute / sizeof absolute[0]);
}

const ch_unit *unit_nearest(const char *name, size_t length, ch_dimension dimension)
{
    const char *words[UNITS];
    size_t n = 0;
    for (size_t i = 0; i < UNITS; i++)
        if (units[i].dimension == dimension)
            words[n++] = units[i].name;
    const char *const word = ch_nearest_word(name, length, words, n);
    return word != NULL ? ch_unit_find(word, strlen(word)) : NULL;
}

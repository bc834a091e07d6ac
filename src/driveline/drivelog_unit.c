/*
 * The units of a log's columns: those of base/units, and what else loggers write for these channels.
 */
#include <string.h>
#include <strings.h>

#include "crosshatch/units.h"
#include "drivelog_parts.h"

enum { KIND_TIME, KIND_SPIN, KIND_SPEED, KIND_RATIO, KIND_ACCELERATION, KIND_TEMPERATURE };

static const int kinds[LOG_CHANNELS] = {
    [CH_DRIVELOG_TIME] = KIND_TIME,
    [CH_DRIVELOG_ENGINE] = KIND_SPIN,
    [CH_DRIVELOG_ROAD] = KIND_SPEED,
    [CH_DRIVELOG_THROTTLE] = KIND_RATIO,
    [CH_DRIVELOG_ACCELERATION] = KIND_ACCELERATION,
    [CH_DRIVELOG_COOLANT] = KIND_TEMPERATURE,
    [CH_DRIVELOG_OIL] = KIND_TEMPERATURE,
    [CH_DRIVELOG_CLUTCH] = KIND_RATIO,
    [CH_DRIVELOG_GPS] = KIND_SPEED,
    [CH_DRIVELOG_DRIVEN] = KIND_SPEED,
};

/* Standard gravity and the knot: exact by definition (NIST SP 811 (2008), Appendix B.8). */
static const struct {
    int kind;
    const char *spelling;
    log_unit unit;
} further[] = {
    {KIND_TIME, "us", {"us", 1e-6, 0}},
    {KIND_TIME, "\xc2\xb5s", {"us", 1e-6, 0}},
    {KIND_TIME, "\xce\xbcs", {"us", 1e-6, 0}},
    {KIND_TIME, "usec", {"us", 1e-6, 0}},
    {KIND_TIME, "micros", {"us", 1e-6, 0}},
    {KIND_TIME, "ns", {"ns", 1e-9, 0}},
    {KIND_TIME, "msec", {"ms", 1e-3, 0}},
    {KIND_TIME, "millis", {"ms", 1e-3, 0}},
    {KIND_TIME, "milliseconds", {"ms", 1e-3, 0}},
    {KIND_TIME, "sek", {"s", 1, 0}},
    {KIND_TIME, "seg", {"s", 1, 0}},
    {KIND_TIME, "days", {"days", 86400, 0}},
    {KIND_SPIN, "u/min", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "tr/min", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "giri/min", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "g/min", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "revs/min", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "min\xe2\x81\xbb\xc2\xb9", {"rpm", 0.1047197551196597746, 0}},
    {KIND_SPIN, "rev/s", {"rev/s", 6.283185307179586477, 0}},
    {KIND_SPIN, "rps", {"rev/s", 6.283185307179586477, 0}},
    {KIND_SPIN, "krpm", {"1000 rpm", 104.7197551196597746, 0}},
    {KIND_SPIN, "rpm x1000", {"1000 rpm", 104.7197551196597746, 0}},
    {KIND_SPIN, "x1000", {"1000 rpm", 104.7197551196597746, 0}},
    {KIND_SPIN, "1000 rpm", {"1000 rpm", 104.7197551196597746, 0}},
    {KIND_SPEED, "mps", {"m/s", 1, 0}},
    {KIND_SPEED, "ms", {"m/s", 1, 0}},
    {KIND_SPEED, "km h", {"km/h", 1 / 3.6, 0}},
    {KIND_SPEED, "miles/h", {"mph", 0.44704, 0}},
    {KIND_SPEED, "kn", {"kn", 1852.0 / 3600, 0}},
    {KIND_SPEED, "kt", {"kn", 1852.0 / 3600, 0}},
    {KIND_SPEED, "kts", {"kn", 1852.0 / 3600, 0}},
    {KIND_SPEED, "knots", {"kn", 1852.0 / 3600, 0}},
    {KIND_SPEED, "ft/s", {"ft/s", 0.3048, 0}},
    {KIND_ACCELERATION, "g", {"g", 9.80665, 0}},
    {KIND_ACCELERATION, "gs", {"g", 9.80665, 0}},
    {KIND_ACCELERATION, "mg", {"mg", 9.80665e-3, 0}},
    {KIND_ACCELERATION, "m/s2", {"m/s2", 1, 0}},
    {KIND_ACCELERATION, "m/s^2", {"m/s2", 1, 0}},
    {KIND_ACCELERATION, "m/s\xc2\xb2", {"m/s2", 1, 0}},
    {KIND_ACCELERATION, "m/s/s", {"m/s2", 1, 0}},
    {KIND_ACCELERATION, "ms2", {"m/s2", 1, 0}},
    {KIND_RATIO, "pct", {"%", 0.01, 0}},
    {KIND_RATIO, "0/1", {"1", 1, 0}},
    {KIND_RATIO, "on/off", {"1", 1, 0}},
    {KIND_RATIO, "bool", {"1", 1, 0}},
};

static bool spelt(const char *name, size_t length, const char *spelling)
{
    return strlen(spelling) == length && strncasecmp(name, spelling, length) == 0;
}

bool log_unit_find(ch_drivelog_channel channel, const char *name, size_t length, log_unit *unit)
{
    static const ch_dimension dimensions[] = {CH_DIM_TIME,  CH_DIM_SPIN,   CH_DIM_SPEED,
                                              CH_DIM_RATIO, CH_DIM_COUNT_, CH_DIM_TEMPERATURE};
    const int kind = kinds[channel];
    for (size_t i = 0; i < sizeof further / sizeof further[0]; i++)
        if (further[i].kind == kind && spelt(name, length, further[i].spelling)) {
            *unit = further[i].unit;
            return true;
        }
    const ch_unit *const found = ch_unit_find(name, length);
    if (found == NULL || found->dimension != dimensions[kind])
        return false;
    *unit = (log_unit){found->name, found->factor, found->offset};
    return true;
}

log_unit log_unit_default(ch_drivelog_channel channel)
{
    static const char *const names[] = {"s", "rpm", "km/h", "%", "g", "C"};
    log_unit unit = {"1", 1, 0};
    log_unit_find(channel, names[kinds[channel]], strlen(names[kinds[channel]]), &unit);
    return unit;
}

bool log_unit_known(const char *name, size_t length)
{
    log_unit ignored;
    for (int channel = 0; channel < LOG_CHANNELS; channel++)
        if (log_unit_find((ch_drivelog_channel)channel, name, length, &ignored))
            return true;
    return ch_unit_find(name, length) != NULL;
}

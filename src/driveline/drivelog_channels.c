/*
 * The words for the channels of a log, as the command line, the pages and JSON use them.
 */
#include <string.h>

#include "crosshatch/drivelog.h"

static const char *const names[CH_DRIVELOG_CHANNELS_] = {
    [CH_DRIVELOG_TIME] = "time",
    [CH_DRIVELOG_ENGINE] = "rpm",
    [CH_DRIVELOG_ROAD] = "speed",
    [CH_DRIVELOG_THROTTLE] = "throttle",
    [CH_DRIVELOG_ACCELERATION] = "acceleration",
    [CH_DRIVELOG_COOLANT] = "coolant",
    [CH_DRIVELOG_OIL] = "oil",
    [CH_DRIVELOG_CLUTCH] = "clutch",
    [CH_DRIVELOG_GPS] = "gps",
    [CH_DRIVELOG_DRIVEN] = "driven",
};

const char *ch_drivelog_channel_name(ch_drivelog_channel channel)
{
    return (unsigned)channel < CH_DRIVELOG_CHANNELS_ ? names[channel] : "unknown channel";
}

ch_drivelog_channel ch_drivelog_channel_find(const char *name, size_t length)
{
    for (int channel = 0; channel < CH_DRIVELOG_CHANNELS_; channel++)
        if (strlen(names[channel]) == length && memcmp(names[channel], name, length) == 0)
            return (ch_drivelog_channel)channel;
    return CH_DRIVELOG_CHANNELS_;
}

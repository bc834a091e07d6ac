/*
 * A few thousand points of a run of any length, for charts: evenly thinned, but whole about the slips, where the eye looks. When there are too many, every
 * second of the even ones goes.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

static const double ABOUT_S = 3;             /* before and after a slip that is kept whole */
static const double ON_LINE_1 = 0.025;       /* as wide as a line's runs scatter in slow logs */
enum { EVEN = CH_DRIVELINE_POINTS_MAX / 2 }; /* at most; the rest is for slips */

static ch_status make_room(picture *p, ch_err *err)
{
    if (p->point != NULL)
        return CH_OK;
    p->point = calloc(CH_DRIVELINE_POINTS_MAX, sizeof *p->point);
    p->whole = calloc(CH_DRIVELINE_POINTS_MAX, sizeof *p->whole);
    p->stride = 1;
    return p->point != NULL && p->whole != NULL ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
}

static void thin(picture *p)
{
    size_t kept = 0, even = 0;
    for (size_t i = 0; i < p->n; i++) {
        if (!p->whole[i] && even++ % 2 != 0)
            continue;
        p->point[kept] = p->point[i];
        p->whole[kept++] = p->whole[i];
    }
    p->n = kept;
    p->even = (even + 1) / 2;
    p->stride *= 2;
}

static void add(picture *p, const ch_drive_point *point, bool whole)
{
    p->point[p->n] = *point;
    p->whole[p->n++] = whole;
    p->even += !whole;
    if (p->even == EVEN)
        thin(p);
}

ch_status picture_add(picture *p, const signals *s, const ch_driveline *to, size_t first_slip, ch_err *err)
{
    const ch_status rc = make_room(p, err);
    size_t slip = first_slip;
    for (size_t i = 0; rc >= 0 && i < s->n; i++) {
        while (slip < to->slips && to->slip[slip].end_s + ABOUT_S < s->time_s[i])
            slip++;
        const bool about = slip < to->slips && s->time_s[i] >= to->slip[slip].start_s - ABOUT_S;
        const bool whole = about && p->n - p->even < CH_DRIVELINE_POINTS_MAX - EVEN;
        const double road_m_s = s->road[i] + to->road_offset_m_s;
        if ((!whole && p->seen++ % p->stride != 0) || !isfinite(road_m_s) || !isfinite(s->engine[i]))
            continue;
        const int gear = isfinite(s->ratio[i]) ? gears_nearest(to, s->ratio[i], ON_LINE_1) : -1;
        const ch_drive_point point = {.time_s = (float)s->time_s[i],
                                      .engine_speed_rad_s = s->engine[i],
                                      .road_speed_m_s = (float)fmax(road_m_s, 0),
                                      .gear = gear < 0 ? 0.0F : (float)to->gear[gear].number};
        add(p, &point, whole);
    }
    return rc;
}

void picture_free(picture *p)
{
    free(p->point);
    free(p->whole);
    *p = (picture){0};
}

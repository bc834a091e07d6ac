/*
 * A few thousand points of a run of any length, for charts: some evenly over all of it, some about the slips, where the eye looks. When one kind has too many,
 * every second of it goes.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

static const double ABOUT_S = 2;                          /* before and after a slip */
static const double ON_LINE_1 = 0.025;                    /* as wide as a line's runs scatter in slow logs */
enum { EVEN, ABOUT, MOST = CH_DRIVELINE_POINTS_MAX / 2 }; /* kinds of points, and how many of each at most */

static ch_status make_room(picture *p, ch_err *err)
{
    if (p->point != NULL)
        return CH_OK;
    p->point = calloc(CH_DRIVELINE_POINTS_MAX, sizeof *p->point);
    p->kind = calloc(CH_DRIVELINE_POINTS_MAX, sizeof *p->kind);
    p->stride[EVEN] = p->stride[ABOUT] = 1;
    return p->point != NULL && p->kind != NULL ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory for the picture");
}

static void thin(picture *p, unsigned char kind)
{
    size_t kept = 0, seen = 0, left = 0;
    for (size_t i = 0; i < p->n; i++) {
        if (p->kind[i] == kind && seen++ % 2 != 0)
            continue;
        left += p->kind[i] == kind;
        p->point[kept] = p->point[i];
        p->kind[kept++] = p->kind[i];
    }
    p->n = kept;
    p->of[kind] = left;
    p->stride[kind] *= 2;
}

static void add(picture *p, const ch_drive_point *point, unsigned char kind)
{
    if (p->seen[kind]++ % p->stride[kind] != 0)
        return;
    p->point[p->n] = *point;
    p->kind[p->n++] = kind;
    if (++p->of[kind] == MOST)
        thin(p, kind);
}

ch_status picture_add(picture *p, const signals *s, const ch_driveline *to, size_t first_slip, ch_err *err)
{
    const ch_status rc = make_room(p, err);
    size_t slip = first_slip;
    for (size_t i = 0; rc >= 0 && i < s->n; i++) {
        while (slip < to->slips && to->slip[slip].end_s + ABOUT_S < s->time_s[i])
            slip++;
        const bool about = slip < to->slips && s->time_s[i] >= to->slip[slip].start_s - ABOUT_S;
        const double road_m_s = s->road[i] + to->road_offset_m_s;
        if (!isfinite(road_m_s) || !isfinite(s->engine[i]))
            continue;
        const int gear = isfinite(s->ratio[i]) ? gears_nearest(to, s->ratio[i], ON_LINE_1) : -1;
        const ch_drive_point point = {.time_s = (float)s->time_s[i],
                                      .engine_speed_rad_s = s->engine[i],
                                      .road_speed_m_s = (float)fmax(road_m_s, 0),
                                      .gear = gear < 0 ? 0.0F : (float)to->gear[gear].number};
        add(p, &point, about ? ABOUT : EVEN);
    }
    return rc;
}

void picture_free(picture *p)
{
    free(p->point);
    free(p->kind);
    *p = (picture){0};
}

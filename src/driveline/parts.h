/*
 * What the rooms of the driveline share. Private to driveline.
 *
 *   trail.c    rows thinned to at most 29 a second
 *   quantile.c medians of many values without sorting them
 *   signal.c   stale and stepped signals made whole, the lag between them taken out
 *   gears.c    lines of constant engine over road speed
 *   slip.c     where the engine runs ahead of its line; whether the clutch is to blame: slip_event.c, and slip_low.c in low gears
 *   capacity.c torque passed and held
 *   heat.c     heat and the plate's temperature
 *   cause.c    from patterns and signs to causes
 *   picture.c  points for charts
 */
#ifndef CROSSHATCH_DRIVELINE_PARTS_H
#define CROSSHATCH_DRIVELINE_PARTS_H

#include <math.h>

#include "crosshatch/driveline.h"

typedef enum trail_channel {
    TRAIL_ENGINE,      /* rad/s */
    TRAIL_ROAD,        /* m/s */
    TRAIL_THROTTLE,    /* 1 */
    TRAIL_TEMPERATURE, /* K: oil, else coolant */
    TRAIL_CLUTCH,      /* 0 to 1 */
    TRAIL_GPS,         /* m/s */
    TRAIL_DRIVEN,      /* m/s */
    TRAIL_CHANNELS
} trail_channel;

/* Thinned rows. NaN: unknown. */
typedef struct trail {
    size_t n, room;
    double *time_s;
    float *channel[TRAIL_CHANNELS];
} trail;

/* What a channel last brought, and before that; kept from bin to bin. A value is news when it changes. */
typedef struct trail_news {
    bool known;
    double value, at_s; /* at_s NaN: there before the first row */
    double before, before_s;
    double shown; /* what the bin of the news gave, and the bins behind it until there are others */
} trail_news;

/* Rows close together on their way to becoming one. */
typedef struct trail_bin {
    double first_s, time_s; /* of the first row; sum */
    double sum[TRAIL_CHANNELS];
    unsigned count[TRAIL_CHANNELS], changes[TRAIL_CHANNELS]; /* readable values; how many of them were news */
    unsigned n;
    trail_news news[TRAIL_CHANNELS];
} trail_bin;

/* Rows less than this behind the first of a bin join it: rows 0.04 s apart stay as they are, and none of the usual rates (10 to 100 Hz) beats with the bins. */
#define TRAIL_STEP_S 0.035

/* Of a pedal's way, or of a bin of a switch: from here on it counts as pressed. Judgment. */
#define TRAIL_PRESSED_1 0.3F

/* Whether a row at this time begins a new bin. */
bool trail_bin_full(const trail_bin *bin, double time_s);

/* CH_E_MEMORY, or CH_OK. The bin is empty then, but for its news. */
ch_status trail_close_bin(trail *t, trail_bin *bin, double road_step_m_s, ch_err *err);
/*
 * Add a row. A value that is held between news is taken where the straight line through its last two news stands at the bin's time, unless it moved by one
 * `step`; the others are averaged.
 */
void trail_add(trail_bin *bin, const double value[TRAIL_CHANNELS], double time_s);
bool trail_full(const trail *t);

/* Forget a clutch switch that says pressed most of the driving: it is adjusted wrongly, or the other way round. */
void trail_doubt_clutch(trail *t);
void trail_empty(trail *t);
void trail_free(trail *t);

/* Values counted in narrow cells, for quantiles of many of them; what lies outside is left out. */
enum { QUANTILE_CELLS = 1024 };
typedef struct quantile {
    double low, high;
    size_t n;
    unsigned cell[QUANTILE_CELLS];
} quantile;

void quantile_start(quantile *q, double low, double high);
void quantile_add(quantile *q, double value);

/* Value below which `share_1` of them lie, to a small part of a cell; NaN where there are none. */
double quantile_at(const quantile *q, double share_1);

/* How often a channel brings news, from all rows: a value is news when it changes. */
enum { FRESH_PLACES = 400 };
typedef struct fresh_count {
    double value, changed_s;
    unsigned places[FRESH_PLACES];
} fresh_count;

void fresh_look(fresh_count *fresh, const double *time_s, const double *value, size_t n);

/* The usual interval, s; NaN where nothing changed. */
double fresh_interval(const fresh_count *fresh);

/* About the shortest: of a value in whole steps, which may well stay as it is while news comes. NaN where nothing changed. */
double fresh_news(const fresh_count *fresh);

/* The value below which `share_1` of the intervals counted in `places` lies. */
#define FRESH_STEP_S 0.025
void fresh_add(unsigned places[FRESH_PLACES], double interval_s);
double fresh_share(const unsigned places[FRESH_PLACES], double share_1);

/* In what steps a speed is written. */
typedef struct step_count {
    unsigned on_step[4];
    unsigned seen;
    double last_m_s;
} step_count;

void step_look(step_count *steps, const double *road_speed_m_s, size_t n);
double step_found(const step_count *steps); /* m/s; 0 = fine */

/* What was found of the signals of a chapter, and the aligned signals themselves. */
typedef struct signals {
    size_t n;
    const double *time_s;
    double interval_s; /* median */
    double engine_fresh_s, road_fresh_s;
    double lag_s, u_lag_s;
    bool lag_known;
    double step_m_s;   /* in which road speed is written; 0 = fine */
    double window_s;   /* over which a steady ratio is asked for */
    bool slowing_only; /* a clutch slips at every pull: gears are those of the rest */
    double creep_1;    /* by which the driven tyres run ahead of the road for a drive force of the car's weight */
    float *drawn;      /* road speed, m/s, whole */
    float *engine;     /* rad/s, whole */
    float *road;       /* the same moved to engine time */
    float *climb;      /* rate of that, m/s2 */
    float *ratio;      /* natural logarithm of engine over road, rad/m; NaN at rest */
    float *drift;      /* change of that over the window */
    float *smooth;     /* ratio over three rows where rows are close */
} signals;

/* Make the signals of a trail of one row at least. `step_m_s` of the road speed, intervals between news as fresh_interval() and fresh_news() have them. CH_E_MEMORY. */
ch_status signals_make(const trail *t, double step_m_s, double engine_fresh_s, double road_fresh_s, double road_news_s,
                       signals *s, ch_err *err);

/* Move road speed to engine time by another lag. */
void signals_move(signals *s, double lag_s);

/* Ratio, drift and smooth, with `offset_m_s` added to road speed and the tyres' creep taken off. */
void signals_ratio(signals *s, double offset_m_s);

/* Acceleration that the wheels give an ordinary car: what it shows, and what drag and rolling take. */
static inline double signals_traction(const signals *s, size_t i)
{
    return s->climb[i] + 3.5e-4 * (double)s->road[i] * (double)s->road[i] + 0.12;
}

/*
 * The force at the driven wheels over the car's weight, for their creep. The engine alone holds back by so much at most; harder than that the brakes act, and what of it
 * the driven wheels pass is unknown: the brakes' share slows them, the engine's inertia drives them on. Taken to be nothing.
 */
static inline double signals_drive_force(const signals *s, size_t i)
{
    static const double gravity_m_s2 = 9.80665, engine_brakes_m_s2 = -0.6;
    const double traction = signals_traction(s, i);
    return (traction > engine_brakes_m_s2 ? traction : 0) / gravity_m_s2;
}
void signals_free(signals *s);

/* No gap lies between a row, not the first, and the one before it. */
bool signals_follow(const signals *s, size_t i);

/* The last row at least so long before another, or the first. */
size_t signals_row_before(const signals *s, size_t i, double seconds);

/* The first row at least so long after another, or the last. */
size_t signals_row_after(const signals *s, size_t i, double seconds);

/* Acceleration, and that with drag and rolling, m/s2: mean of the rows from one to another, both included, of which it is known; NaN where there are none. */
double signals_mean_climb(const signals *s, size_t from, size_t to);
double signals_mean_traction(const signals *s, size_t from, size_t to);

/* Value of x at a time, linear between rows at most `reach_s` apart; NaN elsewhere. *hint is kept between calls. */
double signals_at(const double *time_s, const float *x, size_t n, double at_s, double reach_s, size_t *hint);

/* Find the gears. Fills state, gear, gears, on_lines_1, car_factor_1, road_offset_m_s and limits of `to`, and leaves ratio, drift and smooth with that offset. */
ch_status gears_find(signals *s, const trail *t, const ch_car *car, double step_m_s, ch_driveline *to, ch_err *err);

/* Take gears away that the runs do not know, where they came from the data alone; true where there were any. */
bool gears_drop_unused(ch_driveline *to);

/* Index of the gear whose line is within `tolerance_1` of a logarithmic ratio, or -1. */
int gears_nearest(const ch_driveline *to, double ratio, double tolerance_1);

/* A chapter's slips, appended to `to`; seconds in gear and under load are added up. */
ch_status slips_find(const signals *s, const trail *t, ch_driveline *to, ch_err *err);

/* Points for charts, kept over the chapters. */
typedef struct picture {
    ch_drive_point *point; /* CH_DRIVELINE_POINTS_MAX, or NULL */
    unsigned char *kind;   /* 0 evenly over the run, 1 about a slip */
    size_t n, of[2];       /* in all, of each kind */
    size_t stride[2], seen[2];
} picture;

/* Add a judged chapter whose slips begin with `first_slip`. CH_E_MEMORY. */
ch_status picture_add(picture *p, const signals *s, const ch_driveline *to, size_t first_slip, ch_err *err);
void picture_free(picture *p);

/* Torque, heat and temperature of all slips; capacity; fade; design. */
void capacity_judge(const ch_car *car, ch_driveline *to);
void heat_judge(const ch_car *car, ch_driveline *to);

/* Patterns, causes and next checks. */
void cause_judge(const ch_clutch_knowledge *knowledge, const ch_driveline_seen *seen, size_t seen_n, ch_driveline *to);

#endif

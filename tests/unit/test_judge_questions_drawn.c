/*
 * Promises of judge/question.c: every question to drawn sheets, with its kind, cylinder, row, weight and words, against the table of docs/method-judging.md, "Questions to the
 * sheet", worked through once more. What the model says (the band, the most, how far the hose fills) is given by hand. Pressures are whole kPa, so that what
 * stands on a limit stands on it exactly. Whether readings fall in their order is the matter of test_judge_order_counted.c.
 */
#include "crosshatch/sampling.h"
#include "crosshatch/summary.h"
#include "judge_sheets.h"

enum { ROWS_MAX = 16, LEAKS_MAX = 4 };

static ch_stream stream;

static bool chance(double p)
{
    return ch_stream_uniform(&stream) < p;
}

static int whole(int from, int to)
{
    return from + (int)((to - from + 1) * ch_stream_uniform(&stream));
}

static int pick(const int list[], int n)
{
    return list[whole(0, n - 1)];
}

#define PICK(...) pick((const int[]){__VA_ARGS__}, (int)(sizeof((const int[]){__VA_ARGS__}) / sizeof(int)))

/* ---- the drawing ---- */

typedef struct row {
    int cylinder, number, first; /* first: kPa, -1 = not noted */
    const char *unit;
} row;

static struct {
    int cylinders, rows, leaks, wets;
    row row[ROWS_MAX];
    int leak_cylinder[LEAKS_MAX], leak_percent[LEAKS_MAX]; /* percent: -1 = no figure */
    bool heard_leaking[LEAKS_MAX];                         /* at the exhaust; else only where every engine hisses */
    int wet_cylinder[2], wet_number[2], oil[2];            /* kPa; ml, 0 = not noted */
    int lift;     /* percent of a sound reading that all of the oil comes to, 0 = not known */
    int span;     /* kPa, 0 = not noted */
    int throttle; /* 0 unstated, 1 open, 2 shut */
    int speed, temperature, altitude, barometer, ratio,
        strokes; /* whether noted; speed in hundredths of rad/s, temperature in C, barometer in hPa */
    int usual;   /* percent of a sound reading that a warm engine and a quick starter make of it */
    int fill, strokes_to_fill, most; /* percent of a full hose, strokes, kPa */
    int tilt;                        /* the band of a cylinder lies so many kPa above that of the one before */
    const char *unit;                /* of the sentences */
    int misread[CH_CYLINDERS_MAX];   /* percent */
} d;

/* What is usual here of cylinder c: 1000 to 1400 kPa, 1200 in the middle. */
static int low_kpa(int c)
{
    return 1000 + d.tilt * c;
}

static void draw_rows(void)
{
    /* how the sheet is as a whole: usual, low, high, in psi, in bar (as tenths of MPa), dead, all beyond what is possible, anything; a diesel's */
    const int mood = whole(0, 10);
    d.rows = 0;
    for (int c = 0; c < d.cylinders; c++) {
        const int repeats = PICK(0, 1, 1, 1, 1, 2, 3);
        for (int k = 0; k < repeats && d.rows < ROWS_MAX - 1; k++) {
            row *one = &d.row[d.rows++];
            const int usual =
                mood < 3   ? PICK(1000, 1100, 1180, 1190, 1200, 1210, 1220, 1250, 1270, 1400)
                : mood < 5 ? PICK(999, 900, 600, 599, 300, 301, 299, 380)
                : mood < 6 ? PICK(1401, 1450, 1500, 1401 + d.tilt * c)
                : mood < 7 ? PICK(174, 170, 175, 160, 240, 280, 87)
                : mood < 8 ? PICK(0, 0, 12, 11, 1, 10, 40)
                : mood > 9 ? PICK(2068, 2069, 2070, 2071, 2500, 4000, 4998, 5000)
                : mood < 9 ? PICK(8000, 8100, 8274, 11000, 12000, 1200)
                           : PICK(1200, 1200, 1190, 1180, 1360, 1400, 1100, 300, 4800, 175, 12, 5000, 1900, 1901, 0);
            *one = (row){.cylinder = c + 1, .number = usual, .first = -1, .unit = "kPa"};
            if (chance(0.2))
                one->first = usual + PICK(-600, -1, 0, 1);
            one->first = one->first < 0 ? -1 : one->first;
        }
    }
    if (d.rows > 0 && chance(0.15)) { /* one of them in another unit */
        row *one = &d.row[whole(0, d.rows - 1)];
        static const struct {
            const char *unit;
            int number;
        } OTHERS[] = {{"psi", 174}, {"psi", 12}, {"bar", 12}, {"bar", 175}, {"MPa", 1}, {"kgf/cm2", 12}, {"psi", 1200}};
        const int k = whole(0, 6);
        one->unit = OTHERS[k].unit;
        one->number = OTHERS[k].number;
    }
    for (int i = d.rows - 1; i > 0; i--) { /* in any order */
        const int k = whole(0, i);
        const row kept = d.row[i];
        d.row[i] = d.row[k];
        d.row[k] = kept;
    }
}

static void draw_sheet(void)
{
    memset(&d, 0, sizeof d);
    d.cylinders = chance(0.1) ? 1 : whole(2, 5);
    d.tilt = PICK(0, 0, 10, -10);
    d.unit = chance(0.5) ? "kPa" : "kgf/cm2";
    draw_rows();
    d.leaks = whole(0, LEAKS_MAX);
    for (int i = 0; i < d.leaks; i++) {
        d.leak_cylinder[i] = whole(1, d.cylinders);
        d.leak_percent[i] = PICK(-1, 0, 1, 4, 9, 10, 11, 40, 49, 50, 51, 60);
        d.heard_leaking[i] = chance(0.3);
    }
    d.wets = d.rows == 0 && d.leaks == 0 ? 1 : whole(0, 2);
    for (int i = 0; i < d.wets; i++) {
        d.wet_cylinder[i] = whole(1, d.cylinders);
        d.wet_number[i] = PICK(0, 300, 600, 1000, 1100, 1150, 1200, 1250, 1300, 1600, 1700, 2500, 9000);
        d.oil[i] = PICK(0, 5, 5, 47, 48, 150);
    }
    d.lift = PICK(0, 110, 130);
    d.span = PICK(0, 0, 0, 1250, 1400, 2000);
    d.throttle = whole(0, 2);
    d.speed = PICK(0, 1990, 2000, 2200, 2400);
    d.temperature = PICK(0, 30, 39, 40, 41, 75);
    d.altitude = whole(0, 1);
    d.barometer = PICK(0, 0, 1000, 920, 898, 897, 995, 996, 500, 443, 442);
    d.ratio = whole(0, 1);
    d.strokes = whole(0, 1);
    if (chance(0.2)) /* nothing was noted at all: the longest sentences */
        d.throttle = d.speed = d.temperature = d.altitude = d.barometer = d.ratio = d.strokes = 0;
    d.usual = PICK(100, 110, 130);
    d.fill = PICK(99, 99, 98, 97, 96, 91, 90, 89, 40);
    d.strokes_to_fill = PICK(0, 1, 14);
    d.most = PICK(1900, 1900, 1900, 1450);
    for (int c = 0; c < d.cylinders; c++)
        d.misread[c] = PICK(0, 0, 0, 49, 50, 51, 100);
}

static void write_sheet(char text[4000])
{
    size_t used = (size_t)sprintf(text, "{sheet: 1, engine: {cylinders: %d%s}, conditions: {altitude: %s", d.cylinders,
                                  d.ratio ? ", compression_ratio: 9.5" : "", d.altitude ? "450 m" : "~");
    if (!d.altitude)
        used = (size_t)(strstr(text, "altitude") - text);
    const char *comma = d.altitude ? ", " : "";
    static const char *const THROTTLES[] = {"", "throttle: open", "throttle: shut"};
    if (d.throttle > 0) {
        used += (size_t)sprintf(text + used, "%s%s", comma, THROTTLES[d.throttle]);
        comma = ", ";
    }
    if (d.speed > 0) {
        used += (size_t)sprintf(text + used, "%scranking_speed: 200 rpm", comma);
        comma = ", ";
    }
    if (d.temperature > 0) {
        used += (size_t)sprintf(text + used, "%sengine_temperature: %d C", comma, d.temperature);
        comma = ", ";
    }
    if (d.barometer > 0) {
        used += (size_t)sprintf(text + used, "%sbarometer: %d hPa", comma, d.barometer);
        comma = ", ";
    }
    if (d.strokes > 0)
        used += (size_t)sprintf(text + used, "%sstrokes: 7", comma);
    used += (size_t)sprintf(text + used, "}, compression: [");
    for (int i = 0; i < d.rows; i++) {
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: %d %s", i > 0 ? ", " : "", d.row[i].cylinder,
                                d.row[i].number, d.row[i].unit);
        if (d.row[i].first >= 0)
            used += (size_t)sprintf(text + used, ", first_stroke: %d kPa", d.row[i].first);
        used += (size_t)sprintf(text + used, "}");
    }
    used += (size_t)sprintf(text + used, "], wet: [");
    for (int i = 0; i < d.wets; i++) {
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, reading: %d kPa", i > 0 ? ", " : "", d.wet_cylinder[i],
                                d.wet_number[i]);
        used += (size_t)(d.oil[i] > 0 ? sprintf(text + used, ", oil: %d ml}", d.oil[i]) : sprintf(text + used, "}"));
    }
    used += (size_t)sprintf(text + used, "], leakdown: [");
    for (int i = 0; i < d.leaks; i++) {
        used += (size_t)sprintf(text + used, "%s{cylinder: %d, heard: [%s]", i > 0 ? ", " : "", d.leak_cylinder[i],
                                d.heard_leaking[i] ? "exhaust" : "oil_filler");
        if (d.leak_percent[i] >= 0)
            used += (size_t)sprintf(text + used, ", loss: %d %%", d.leak_percent[i]);
        used += (size_t)sprintf(text + used, "}");
    }
    used += (size_t)sprintf(text + used, "]");
    if (d.span > 0)
        used += (size_t)sprintf(text + used, ", gauge: {span: %d kPa}", d.span);
    sprintf(text + used, "}");
}

/* ---- the table worked through ---- */

static ch_judgement judgement;
static ch_question wanted[64];
static size_t wanted_count;

__attribute__((format(printf, 5, 6))) static void want(ch_question_kind kind, int cylinder, size_t at, double weight_1,
                                                       const char *format, ...)
{
    ch_question *q = &wanted[wanted_count];
    *q = (ch_question){.kind = kind, .cylinder = cylinder, .row = at, .weight_1 = weight_1};
    va_list arguments;
    va_start(arguments, format);
    const int length = vsnprintf(q->text, sizeof q->text, format, arguments);
    va_end(arguments);
    assert_true(length < (int)sizeof q->text); /* no sentence is cut */
    for (size_t i = 0; i < wanted_count; i++)  /* asked once */
        if (wanted[i].kind == kind && strcmp(wanted[i].text, q->text) == 0)
            return;
    wanted_count++;
    assert_true(wanted_count < sizeof wanted / sizeof *wanted);
}

static const ch_unit *unit_of(const char *name)
{
    return ch_unit_find(name, strlen(name));
}

static double pa_of(const row *one)
{
    return ch_unit_to_si(one->number, unit_of(one->unit));
}

/* Rows of a cylinder, the lowest first; of equals the one that was written first. */
static int rows_of(int cylinder, int at[ROWS_MAX])
{
    int n = 0;
    for (int i = 0; i < d.rows; i++)
        if (d.row[i].cylinder == cylinder)
            at[n++] = i;
    for (int k = 1; k < n; k++)
        for (int i = k; i > 0 && pa_of(&d.row[at[i]]) < pa_of(&d.row[at[i - 1]]); i--) {
            const int kept = at[i];
            at[i] = at[i - 1];
            at[i - 1] = kept;
        }
    return n;
}

static int count_of(int cylinder)
{
    int at[ROWS_MAX];
    return rows_of(cylinder, at);
}

static double mean_of(int cylinder)
{
    int at[ROWS_MAX];
    double sum = 0.0;
    const int n = rows_of(cylinder, at);
    for (int i = 0; i < n; i++)
        sum += pa_of(&d.row[at[i]]);
    return sum / n;
}

static judge_words said(double pa, const char *unit)
{
    return judge_say_pressure(pa, unit_of(unit));
}

static judge_words said_both(double pa, const char *unit)
{
    judge_words both = said(pa, d.unit);
    if (strcmp(unit, d.unit) != 0) {
        const size_t used = strlen(both.text);
        snprintf(both.text + used, sizeof both.text - used, " (%.30s)", said(pa, unit).text);
    }
    return both;
}

/* The unit in which a number comes nearest to what is likely, and within bounds; of bar and kgf/cm2, which lie 2 % apart, bar where both do. */
static const char *likely_unit(double number, const char *typed, double least, double likely, double most)
{
    static const char *const NAMES[] = {"psi", "bar", "kPa", "MPa", "kgf/cm2"};
    const char *found = NULL;
    double nearest = INFINITY;
    for (int u = 0; u < 5; u++) {
        const double pa = ch_unit_to_si(number, unit_of(NAMES[u])),
                     off = pa > likely ? log(pa) - log(likely) : log(likely) - log(pa);
        if (strcmp(NAMES[u], typed) != 0 && pa >= least && pa <= most && (found == NULL || off + 0.05 < nearest)) {
            found = NAMES[u];
            nearest = off;
        }
    }
    return found;
}

/* All rows together in another unit. */
static bool want_unit_of_all(void)
{
    double highest = 0.0, low = INFINITY, high = 0.0;
    int measured = 0, above = 0;
    for (int i = 1; i < d.rows; i++)
        if (strcmp(d.row[i].unit, d.row[0].unit) != 0)
            return false;
    for (int c = 0; c < d.cylinders; c++) {
        if (count_of(c + 1) == 0)
            continue;
        measured++;
        above += mean_of(c + 1) > d.most * 1e3;
        highest = fmax(highest, mean_of(c + 1));
        low = fmin(low, low_kpa(c) * 1e3);
        high = fmax(high, (low_kpa(c) + 400) * 1e3);
    }
    if (measured == 0 || (measured == 1 && d.cylinders > 1) || highest <= 0.0)
        return false;
    if (!(highest <= 0.3 * low) && above <= measured - above) /* within reason, most of them */
        return false;
    const char *unit = likely_unit(ch_unit_from_si(highest, unit_of(d.row[0].unit)), d.row[0].unit, 0.6 * low,
                                   high - 200e3, 1.2 * high);
    if (unit == NULL)
        return false;
    want(CH_QUESTION_UNIT, 0, SIZE_MAX, 0.99,
         "The readings look like %s typed as %s: the highest is %s, and a sound engine of this kind shows about %s. "
         "Check the unit on the dial.",
         unit, d.row[0].unit, said(highest, d.row[0].unit).text, said_both(high - 200e3, unit).text);
    return true;
}

/* Middle of the other cylinders' means; 0 where there is none. */
static double others_of(int cylinder)
{
    double mean[CH_CYLINDERS_MAX];
    int n = 0;
    for (int c = 1; c <= d.cylinders; c++)
        if (c != cylinder && count_of(c) > 0) {
            int i = n++;
            for (; i > 0 && mean[i - 1] > mean_of(c); i--)
                mean[i] = mean[i - 1];
            mean[i] = mean_of(c);
        }
    return n == 0 ? 0.0 : (mean[(n - 1) / 2] + mean[n / 2]) / 2.0;
}

/* Every cylinder over 20.7 bar and over its band, and none at 50: a diesel. */
static bool want_outside(void)
{
    double least = INFINITY, highest = 0.0;
    bool above = true;
    int measured = 0;
    for (int c = 1; c <= d.cylinders; c++)
        if (count_of(c) > 0) {
            measured++;
            least = fmin(least, mean_of(c));
            highest = fmax(highest, mean_of(c));
            above = above && mean_of(c) > (low_kpa(c - 1) + 400) * 1e3;
        }
    if (!above || measured == 0 || (measured == 1 && d.cylinders > 1) || least <= 2070e3 || highest >= 5000e3)
        return false;
    want(CH_QUESTION_OUTSIDE, 0, SIZE_MAX, 0.95,
         "Every reading is %s or more, and no starter takes a petrol engine over some %s: these are a diesel's "
         "figures, which are outside what can be judged here. If it is a four-stroke petrol engine, note its "
         "compression ratio, look at unit "
         "and gauge, and for oil in the cylinders.",
         said(least, d.unit).text, said(2070e3, d.unit).text);
    return true;
}

/* Returns whether there is no more to ask. */
static bool want_impossible(void)
{
    const double most = d.most * 1e3;
    if (want_unit_of_all())
        return false;
    if (want_outside())
        return true;
    for (int c = 1; c <= d.cylinders; c++) {
        int at[ROWS_MAX];
        const int n = rows_of(c, at);
        const double others = others_of(c);
        for (int k = 0; k < n; k++) {
            const row *one = &d.row[at[k]];
            const double pa = pa_of(one);
            const char *unit = pa > 0.0 && others > 0.0 && (pa <= 0.25 * others || pa >= 4.0 * others)
                                   ? likely_unit(one->number, one->unit, 0.87 * others, others, 1.15 * others)
                                   : NULL;
            if (unit != NULL) {
                const size_t before = wanted_count;
                int in_that_unit = 0; /* of the other rows */
                for (int i = 0; i < d.rows; i++)
                    in_that_unit += i != at[k] && strcmp(d.row[i].unit, unit) == 0;
                const bool alone = d.rows > 2 && in_that_unit == d.rows - 1, sure = pa > most || alone;
                want(sure ? CH_QUESTION_IMPOSSIBLE : CH_QUESTION_UNIT, c, (size_t)at[k], sure ? 0.98 : 0.5,
                     "Cylinder %d: %d %s may be %s typed as %s, since the others show about %s; %s.", c, one->number,
                     one->unit, unit, one->unit, said_both(others, unit).text,
                     pa > most ? "it is more than this engine could show"
                     : alone   ? "it is the only one in that unit"
                               : "or the cylinder does not seal at all");
                if (wanted_count > before)
                    continue;
            } else if (pa > 0.0 && others > 0.0 && (pa <= 0.25 * others || pa >= 4.0 * others)) {
                /* a digit more or less; all are typed without a fraction */
                const size_t before = wanted_count;
                const double meant = pa < others ? 10.0 * pa : pa / 10.0;
                if (meant >= 0.87 * others && meant <= 1.15 * others)
                    want(pa > most ? CH_QUESTION_IMPOSSIBLE : CH_QUESTION_UNIT, c, (size_t)at[k],
                         pa > most ? 0.98 : 0.5,
                         "Cylinder %d: is %d %s meant to be %s, its decimal point one place off? The others show about "
                         "%s; %s.",
                         c, one->number, one->unit, said(meant, d.unit).text, said(others, d.unit).text,
                         pa > most ? "as typed it is more than this engine could show"
                                   : "or the cylinder does not seal at all");
                if (wanted_count > before)
                    continue;
            }
            if (pa > most)
                want(CH_QUESTION_IMPOSSIBLE, c, (size_t)at[k], 0.98,
                     "Cylinder %d: %s is more than %s, the most that %s could show without any loss. Wrong unit or "
                     "gauge, oil or carbon in the chamber%s.",
                     c, said(pa, d.unit).text, said(most, d.unit).text,
                     d.ratio ? "this compression ratio" : "a compression ratio of 14:1",
                     d.ratio ? ", or a higher ratio than given" : "");
        }
    }
    return false;
}

/*
 * Weather keeps the air at sea level within 948 and 1050 hPa. By ISO 2533, worked out apart, 450 m are then 897.9 to 995.5 hPa (and 960.3 on a standard day), and
 * at 5900 m, above the highest road, the least is 442.9.
 */
static bool want_air(void)
{
    const int hpa = d.barometer;
    const bool much = d.altitude && hpa > 995, little = hpa > 0 && hpa < (d.altitude ? 898 : 443);
    if (much || little)
        want(CH_QUESTION_BAROMETER, 0, SIZE_MAX, 0.95,
             "Barometer: %d hPa is %s than weather brings at %s on a standard day). %s Until then, what a sound engine "
             "would show is as far off.",
             hpa, much ? "more" : "less",
             d.altitude ? "450 m (960 hPa" : "any place with a road (at sea level 1013 hPa",
             much ? "It looks like a pressure reduced to sea level, as forecasts give it: note it as that "
                    "(sea_level_pressure), or leave it out, since the altitude tells nearly as much."
                  : "Look at number, unit and altitude.");
    return much || little;
}

static void want_level(bool odd_air)
{
    double least = INFINITY, best = 0.0, low = INFINITY, high = 0.0;
    int measured = 0, below = 0, above = 0;
    for (int c = 0; c < d.cylinders; c++) {
        if (count_of(c + 1) == 0)
            continue;
        const double mean = mean_of(c + 1);
        measured++;
        below += mean < low_kpa(c) * 1e3;
        above += mean > (low_kpa(c) + 400) * 1e3;
        least = fmin(least, mean);
        best = fmax(best, mean);
        low = fmin(low, low_kpa(c) * 1e3);
        high = fmax(high, (low_kpa(c) + 400) * 1e3);
    }
    if (measured == 0 || (measured == 1 && d.cylinders > 1))
        return;
    if (below == measured) {
        char look[300];
        snprintf(look, sizeof look, "%s%s%s%s%s%s", odd_air ? "the air pressure noted, " : "",
                 d.throttle == 2   ? "the shut throttle, "
                 : d.throttle == 0 ? "the throttle (not noted as held open), "
                                   : "",
                 d.speed == 0     ? "cranking speed (not noted), "
                 : d.speed < 2000 ? "slow cranking, "
                                  : "",
                 d.temperature == 0   ? "a cold engine (not noted), "
                 : d.temperature < 40 ? "the cold engine, "
                                      : "",
                 d.altitude || d.barometer ? "" : "altitude (not noted), ",
                 d.ratio ? "" : "the compression ratio (not given), ");
        want(CH_QUESTION_ALL_LOW, 0, SIZE_MAX, 0.95,
             "%s %s where a sound engine would show %s to %s. Look first at %scam timing, the gauge.",
             d.cylinders == 1 ? "The cylinder is low: it shows" : "All cylinders are low together: the best shows",
             said(best, d.unit).text, said(low, d.unit).text, said(high, d.unit).text, look);
    }
    if (above == measured)
        want(CH_QUESTION_ALL_HIGH, 0, SIZE_MAX, 0.95,
             "All cylinders are high together: the lowest shows %s where a sound engine would show %s to %s. Carbon or "
             "oil in the chambers, a skimmed head, a gauge that reads high, %s.",
             said(least, d.unit).text, said(low, d.unit).text, said(high, d.unit).text,
             d.ratio ? "or fast cranking" : "or a ratio above the one assumed");
}

/* As a whole: all above one and a half times the most, or another unit's. */
static bool is_unreadable(void)
{
    double lowest = INFINITY;
    for (int c = 1; c <= d.cylinders; c++)
        if (count_of(c) > 0)
            lowest = fmin(lowest, mean_of(c));
    for (size_t i = 0; i < wanted_count; i++)
        if (wanted[i].kind == CH_QUESTION_UNIT && wanted[i].cylinder == 0)
            return true;
    return lowest < INFINITY && lowest > 1.5 * d.most * 1e3;
}

/* Low without the cold or the slow starter that were noted. */
static void want_cold_or_slow(void)
{
    const bool cold = d.temperature > 0 && d.temperature<40, slow = d.speed> 0 && d.speed < 2000;
    double low = INFINITY, high = 0.0;
    int lowest = 0;
    for (int c = 1; c <= d.cylinders; c++)
        if (count_of(c) > 0) {
            lowest = lowest == 0 || mean_of(c) < mean_of(lowest) ? c : lowest;
            low = fmin(low, low_kpa(c - 1) * 1e3);
            high = fmax(high, (low_kpa(c - 1) + 400) * 1e3);
        }
    for (size_t i = 0; i < wanted_count; i++)
        if (wanted[i].kind == CH_QUESTION_ALL_LOW)
            return;
    if ((!cold && !slow) || lowest == 0 || is_unreadable() || !(mean_of(lowest) < d.usual / 100.0 * low))
        return;
    char noted[100];
    snprintf(noted, sizeof noted,
             cold && slow ? "an engine of %d C and cranking at 200 rpm"
             : cold       ? "an engine of %d C"
                          : "cranking at 200 rpm",
             d.temperature);
    want(CH_QUESTION_COLD_OR_SLOW, 0, SIZE_MAX, 0.8,
         "The answer hangs on %s as noted, which %s every reading: so a sound engine would show %s to %s, %s %s to %s. "
         "Cylinder %d shows %s. Is that noted right? %s, and read again before you trust this.",
         noted, cold && slow ? "lower" : "lowers", said(low, d.unit).text, said(high, d.unit).text,
         cold && slow ? "warm and at the usual speed"
         : cold       ? "warm"
                      : "at the usual speed",
         said(d.usual / 100.0 * low, d.unit).text, said(d.usual / 100.0 * high, d.unit).text, lowest,
         said(mean_of(lowest), d.unit).text,
         cold && slow ? "Warm it up, charge the battery"
         : cold       ? "Warm it up"
                      : "Charge the battery");
}

/* One above the rest by more than twelve in a hundred, where the rest lie within five and none below its band. */
static void want_one_high(void)
{
    double mean[CH_CYLINDERS_MAX];
    int number[CH_CYLINDERS_MAX], n = 0;
    for (int c = 1; c <= d.cylinders; c++)
        if (count_of(c) > 0) {
            int i = n++;
            for (; i > 0 && mean[i - 1] < mean_of(c); i--) {
                mean[i] = mean[i - 1];
                number[i] = number[i - 1];
            }
            mean[i] = mean_of(c);
            number[i] = c;
        }
    if (n < 3 || is_unreadable() || mean[0] > d.most * 1e3 || mean[0] <= 1.12 * mean[1] || mean[n - 1] < 0.95 * mean[1])
        return;
    for (int i = 1; i < n; i++)
        if (mean[i] < low_kpa(number[i] - 1) * 1e3)
            return;
    want(CH_QUESTION_ONE_HIGH, number[0], SIZE_MAX, 0.8,
         "Cylinder %d stands alone with %s above the others, which agree (%s to %s) and read as sound ones may. Oil or "
         "carbon in its chamber makes one high as easily as wear makes the others low: look in through its plug hole, "
         "and measure it again.",
         number[0], said(mean[0], d.unit).text, said(mean[n - 1], d.unit).text, said(mean[1], d.unit).text);
}

static void want_procedure(void)
{
    if (d.rows == 0)
        return;
    if (d.throttle == 2)
        want(CH_QUESTION_THROTTLE_SHUT, 0, SIZE_MAX, 1.0,
             "Tested with the throttle shut: readings are low and depend on how much air gets past it, here "
             "assumed to be what 4 mm2 let through for each litre of the engine. Hold it wide open and measure again.");
    if (d.fill < (d.strokes ? 97 : 90)) {
        char need[40] = "far more";
        if (d.strokes_to_fill > 0)
            snprintf(need, sizeof need, "%d strokes", d.strokes_to_fill);
        want(CH_QUESTION_TOO_FEW_STROKES, 0, SIZE_MAX, d.strokes ? 0.95 : 0.6,
             "9 strokes%s fill this hose to about %d %% only; a sound cylinder needs %s. Crank longer, the same for "
             "every cylinder.",
             d.strokes ? "" : " (assumed)", d.fill, need);
    }
    char missing[200] = "";
    int many = 0, last = 0;
    for (int c = 1; c <= d.cylinders; c++)
        if (count_of(c) == 0) {
            sprintf(missing + strlen(missing), "%s%d", many++ > 0 ? ", " : "", c);
            last = c;
        }
    if (many == 1)
        want(CH_QUESTION_MISSING, last, SIZE_MAX, 1.0,
             "No reading of cylinder %d: measure it too, since a number means most beside its neighbours'.", last);
    else if (many > 1)
        want(CH_QUESTION_MISSING, 0, SIZE_MAX, 1.0,
             "No reading of cylinders %s: measure them too, since a number means most beside its neighbours'.",
             missing);
}

static void want_tests(void)
{
    for (int i = 0; i < d.leaks; i++) {
        const int c = d.leak_cylinder[i], loss = d.leak_percent[i];
        if (loss < 0 || count_of(c) == 0)
            continue;
        const double part = mean_of(c) / ((low_kpa(c - 1) + 200) * 1e3);
        if (part >= 0.93 && loss >= 50)
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: a loss of %d %% does not go with %s while cranking. Piston off dead centre, grit on a "
                 "seat or a leaking tester: turn the engine over and repeat the leak-down.",
                 c, loss, said(mean_of(c), d.unit).text);
        else if (loss < 1 && !d.heard_leaking[i] && mean_of(c) < low_kpa(c - 1) * 1e3)
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: a loss of %d %% is next to nothing, yet it pumps only %s where a sound one shows %s or "
                 "more. If it does hold so well, look at valve motion and cam timing, throttle, adapter and gauge "
                 "rather than at the seal.",
                 c, loss, said(mean_of(c), d.unit).text, said(low_kpa(c - 1) * 1e3, d.unit).text);
        else if (part < 0.5 && loss < 10 && !(loss < 1 && d.heard_leaking[i]))
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: it holds air (loss %d %%) yet pumps only %s. Look at valve motion and cam timing, "
                 "throttle, adapter and gauge rather than at the seal.",
                 c, loss, said(mean_of(c), d.unit).text);
    }
    for (int c = 1; c <= d.cylinders; c++) {
        bool leak = false, wet = false;
        for (int i = 0; i < d.leaks; i++)
            leak = leak || d.leak_cylinder[i] == c;
        for (int i = 0; i < d.wets; i++)
            wet = wet || d.wet_cylinder[i] == c;
        const int kinds = (count_of(c) > 0) + leak + wet, misread = d.misread[c - 1];
        if (misread >= 50 && kinds >= 2)
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, misread / 100.0,
                 "Cylinder %d: its tests do not fit together; with %s%d %% one of them is wrong rather than the "
                 "engine. Repeat them.",
                 c, misread > 99 ? "over " : "about ", misread > 99 ? 99 : misread);
    }
}

static void want_repeats(double step_pa, double sd_pa, double df)
{
    for (int c = 1; c <= d.cylinders; c++) {
        int at[ROWS_MAX];
        double pa[ROWS_MAX];
        const int n = rows_of(c, at);
        if (n < 2)
            continue;
        for (int i = 0; i < n; i++)
            pa[i] = pa_of(&d.row[at[i]]);
        ch_outlier grubbs;
        assert_int_equal(ch_outlier_find(pa, (size_t)n, sd_pa, df, 0.05, &grubbs, NULL), CH_OK);
        const double median = (pa[(n - 1) / 2] + pa[n / 2]) / 2.0, up = pa[n - 1] - median, down = median - pa[0];
        const int suspect = up > down ? n - 1 : 0;
        const bool wide = pa[n - 1] - pa[0] > 0.05 * mean_of(c) && pa[n - 1] - pa[0] > 1.5 * step_pa;
        const bool odd =
            n > 2 && grubbs.flagged && fmax(up, down) > 1.5 * step_pa && fmax(up, down) > 0.03 * mean_of(c);
        if (n == 2 && wide)
            want(CH_QUESTION_REPEAT, c, SIZE_MAX, grubbs.flagged ? 0.95 : 0.8,
                 "Cylinder %d: its two readings, %s and %s, do not agree. Re-seat the adapter and take a third.", c,
                 said(pa[0], d.unit).text, said(pa[1], d.unit).text);
        else if (n > 2 && (wide || odd))
            want(CH_QUESTION_REPEAT, c, (size_t)at[suspect], odd ? 0.95 : 0.8,
                 "Cylinder %d: the reading of %s is out of line with its other repeats (median %s). It still counts; "
                 "re-seat the adapter and repeat.",
                 c, said(pa[suspect], d.unit).text, said(median, d.unit).text);
    }
}

static void want_first_strokes(void)
{
    for (int i = 0; i < d.rows; i++)
        if (d.row[i].first >= 0 && d.row[i].number > 0 && d.row[i].first * 1e3 >= pa_of(&d.row[i]))
            want(CH_QUESTION_FIRST_OVER_FINAL, d.row[i].cylinder, (size_t)i, 0.9,
                 "Cylinder %d: the first stroke (%s) stands at or above the final reading (%s). A gauge that holds its "
                 "peak cannot fall back: its check valve leaks, or the two were swapped.",
                 d.row[i].cylinder, said(d.row[i].first * 1e3, d.unit).text, said(pa_of(&d.row[i]), d.unit).text);
}

static void want_small_first_strokes(void)
{
    for (int i = 0; i < d.rows; i++)
        if (d.row[i].first > 0 && d.row[i].first * 1e3 < 0.15 * pa_of(&d.row[i]))
            want(CH_QUESTION_UNIT, d.row[i].cylinder, (size_t)i, 0.8,
                 "Cylinder %d: a first stroke of %d kPa is next to nothing beside the final %d %s. Look at number and "
                 "unit; or cranking began in the middle of a stroke.",
                 d.row[i].cylinder, d.row[i].first, d.row[i].number, d.row[i].unit);
}

static void want_on_the_scale(int cylinder, const char *with, double pa, int number, const char *unit, size_t at)
{
    if (d.span > 0 && pa > d.span * 1e3 + 0.01)
        want(CH_QUESTION_BEYOND_SCALE, cylinder, at, 0.95,
             "Cylinder %d%s: %d %s lies beyond the gauge's scale, which ends at %d kPa. Look at the number, its unit "
             "and the span noted.",
             cylinder, with, number, unit, d.span);
}

/* The engine's chamber where nothing but the ratio may be noted: 86 mm square and 9.5:1 hold pi/4 8.6^3/8.5 = 58.8 ml; four fifths are 47.02. */
static bool counts(int wet)
{
    return d.oil[wet] <= 47;
}

static void want_other_rows(const judge_repeatability *scatter)
{
    const bool unreadable = is_unreadable();
    for (int i = 0; i < d.rows; i++)
        want_on_the_scale(d.row[i].cylinder, "", pa_of(&d.row[i]), d.row[i].number, d.row[i].unit, (size_t)i);
    for (int i = 0; i < d.wets; i++)
        want_on_the_scale(d.wet_cylinder[i], ", with oil", d.wet_number[i] * 1e3, d.wet_number[i], "kPa", SIZE_MAX);
    for (int i = 0; i < d.wets; i++)
        if (!counts(i))
            want(CH_QUESTION_OIL_DOSE, d.wet_cylinder[i], SIZE_MAX, 0.95,
                 "Cylinder %d: %d ml of oil fill over 80 %% of the chamber (59 ml as assumed), which would lock the "
                 "engine, so this wet reading does not count. Is the dose right?",
                 d.wet_cylinder[i], d.oil[i]);
    for (int i = 0; i < d.wets && !unreadable; i++) {
        const int c = d.wet_cylinder[i], n = count_of(c);
        const double wet = d.wet_number[i] * 1e3, repeat = scatter->sd_pa, step = scatter->step_pa,
                     rounding = step > 0.0 ? step * step / 6.0 : 0.0; /* of two readings */
        if (!counts(i))
            continue;
        if (n > 0 && mean_of(c) - wet >
                         2.0 * sqrt(repeat * repeat / n + repeat * repeat + rounding + pow(0.03 * mean_of(c), 2.0)))
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: %d kPa with oil is less than %s without. Oil takes up room and seals, so it can only "
                 "lift a reading: look at number and unit, battery and adapter, and repeat the wet test.",
                 c, d.wet_number[i], said(mean_of(c), d.unit).text);
        double sound = (low_kpa(c - 1) + 400) * 1e3;
        for (int k = 1; k <= d.cylinders; k++)
            if (count_of(k) > 0 && mean_of(k) > sound)
                sound = mean_of(k);
        if (d.lift > 0 &&
            wet - d.lift / 100.0 * sound > 2.0 * sqrt(2.0 * repeat * repeat + rounding + pow(0.03 * sound, 2.0))) {
            char dose[40] = "a usual dose of oil";
            if (d.oil[i] > 0)
                sprintf(dose, "%d ml", d.oil[i]);
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: %d kPa with oil is more than %s, the most that %s can lift a sound cylinder of this "
                 "engine to. Look at number, unit and dose; far more oil than noted can lock the engine.",
                 c, d.wet_number[i], said(d.lift / 100.0 * sound, d.unit).text, dose);
        }
    }
    for (int i = 0; i < d.leaks; i++)
        if (d.leak_percent[i] == 0 && d.heard_leaking[i])
            want(CH_QUESTION_CONTRADICTION, d.leak_cylinder[i], SIZE_MAX, 0.9,
                 "Cylinder %d: a loss of 0 %% is less than any ear hears, yet air was heard. Read it again while you "
                 "listen.",
                 d.leak_cylinder[i]);
    for (int c = 1; c <= d.cylinders; c++) {
        int least = 100, most = 0;
        for (int i = 0; i < d.leaks; i++) {
            const bool own = d.leak_cylinder[i] == c && d.leak_percent[i] >= 0;
            least = own && d.leak_percent[i] < least ? d.leak_percent[i] : least;
            most = own && d.leak_percent[i] > most ? d.leak_percent[i] : most;
        }
        if (most - least >= 10)
            want(CH_QUESTION_CONTRADICTION, c, SIZE_MAX, 0.9,
                 "Cylinder %d: its leak-down tests do not agree: %d %% and %d %%. All count until one is put right: "
                 "look "
                 "at the figures, find the dead centre anew and repeat.",
                 c, least, most);
    }
    for (int i = 0; i < d.wets; i++) {
        const int k = 1 - i; /* two rows at most */
        if (d.wets == 2 && d.wet_cylinder[i] != d.wet_cylinder[k] && d.oil[k] > 0 && counts(i) &&
            d.oil[i] >= 3 * d.oil[k])
            want(CH_QUESTION_CONTRADICTION, d.wet_cylinder[i], SIZE_MAX, 0.9,
                 "Cylinder %d: %d ml of oil, where cylinder %d had %d ml: is the number right? Wet readings compare "
                 "only with the same dose in every cylinder, and too much oil locks the engine.",
                 d.wet_cylinder[i], d.oil[i], d.wet_cylinder[k], d.oil[k]);
    }
}

static void ask(judge_repeatability *scatter)
{
    static char text[4000];
    ch_sheet sheet;
    ch_setup setup;
    judge_readings readings;
    write_sheet(text);
    sheet_of(text, &sheet);
    sheet.conditions.cranking_speed.si = d.speed > 0 ? d.speed / 100.0 : NAN;
    setup_of(&sheet, &setup);
    memset(&judgement, 0, sizeof judgement);
    judgement.question_count = CH_QUESTIONS_MAX; /* of another sheet */
    assert_int_equal(judge_readings_collect(&sheet, &readings, NULL), CH_OK);
    assert_int_equal(judge_repeats(&sheet, &setup, NULL, &readings, &judgement, scatter, NULL), CH_OK);
    for (int c = 0; c < d.cylinders; c++) {
        judgement.cylinder[c].expected_pa[0] = low_kpa(c) * 1e3;
        judgement.cylinder[c].expected_median_pa = (low_kpa(c) + 200) * 1e3;
        judgement.cylinder[c].expected_pa[1] = (low_kpa(c) + 400) * 1e3;
        judgement.trace.cylinder[c].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = d.misread[c] / 100.0;
    }
    /* one more, which nobody may look at: measured low or high, or missing */
    judgement.cylinder[d.cylinders] = (ch_judged_cylinder){
        .n = PICK(0, 1), .mean_pa = PICK(1, 5000) * 1e3, .expected_pa = {2e3, 9e6}, .expected_median_pa = 8e6};
    judgement.trace.cylinder[d.cylinders].cause_1[CH_CAUSE_MEASUREMENT_ERROR] = 1.0;
    readings.size[d.cylinders] = readings.n;
    judge_bounds bounds = {.ideal_pa = d.most * 1e3,
                           .ratio_assumed = !d.ratio,
                           .sound_pa = 1e6,
                           .usual_pa = d.usual * 1e4,
                           .fill_1 = d.fill / 100.0,
                           .strokes = 9,
                           .strokes_to_fill = d.strokes_to_fill};
    for (int c = 0; c < CH_CYLINDERS_MAX; c++)
        bounds.wet_lift_1[c] = d.lift / 100.0;
    const judge_asked asked = {&sheet, &setup, &readings, scatter, &bounds, unit_of(d.unit), NULL};
    assert_int_equal(judge_questions(&asked, &judgement, NULL), CH_OK);
    judge_readings_clear(&readings);
    ch_sheet_clear(&sheet);
}

static void every_question_is_asked_in_its_words(void **state)
{
    (void)state;
    size_t met[CH_QUESTION_KIND_COUNT] = {0}, of_all = 0;
    ch_stream_init(&stream, 91, 0);
    for (int n = 0; n < 600; n++) {
        judge_repeatability scatter;
        draw_sheet();
        ask(&scatter);
        wanted_count = 0;
        const bool odd_air = want_air();
        if (!want_impossible()) {
            want_level(odd_air);
            want_cold_or_slow();
            want_one_high();
            want_procedure();
            want_tests();
            want_repeats(scatter.step_pa, scatter.sd_pa, scatter.df);
            want_first_strokes();
            want_small_first_strokes();
            want_other_rows(&scatter);
        }
        size_t at = 0;
        for (size_t i = 0; i < judgement.question_count; i++) {
            const ch_question *got = &judgement.question[i], *want_one = &wanted[at];
            if (got->kind == CH_QUESTION_FALLING)
                continue;
            if (at >= wanted_count)
                if (strcmp(got->text, want_one->text) != 0)
                    if (strcmp(got->text, want_one->text) != 0)
                        fail_msg("sheet %d: \"%s\" is asked, not \"%s\"", n, got->text, want_one->text);
            assert_int_equal(got->kind, want_one->kind);
            assert_int_equal(got->cylinder, want_one->cylinder);
            assert_true(got->row == want_one->row);
            expect_close(got->weight_1, want_one->weight_1, 1e-12);
            met[got->kind]++;
            of_all += got->kind == CH_QUESTION_UNIT && got->cylinder == 0;
            at++;
        }
        if (at != wanted_count)
            fail_msg("sheet %d: \"%s\" is not asked", n, wanted[at].text);
    }
    for (int k = 0; k < CH_QUESTION_KIND_COUNT; k++)
        assert_true(k == CH_QUESTION_FALLING || met[k] > 5);
    assert_true(of_all > 10 && met[CH_QUESTION_UNIT] > of_all + 10);
}

/* Units directly: bounds belong to what is likely; a second unit has to be clearly nearer, by 0.05 of a logarithm. */
static void the_likely_unit_is_within_bounds_and_clearly_nearest(void **state)
{
    (void)state;
    const ch_unit *kpa = unit_of("kPa"), *bar = unit_of("bar"), *psi = unit_of("psi");
    /* 16 typed as kPa: 1600 kPa as bar, 1569 as kgf/cm2 */
    assert_ptr_equal(judge_likely_unit(16e3, kpa, 1600e3, 1700e3, 1700e3), bar);
    assert_ptr_equal(judge_likely_unit(16e3, kpa, 1500e3, 1569e3, 1600e3), bar);
    assert_ptr_equal(judge_likely_unit(16e3, kpa, 1500e3, 1569e3, 1599e3), unit_of("kgf/cm2"));
    assert_null(judge_likely_unit(16e3, kpa, 1601e3, 1700e3, 1700e3));
    assert_ptr_equal(judge_likely_unit(16e3, kpa, 110e3, 111e3, 112e3), psi);
    assert_null(judge_likely_unit(16e3, kpa, 10e3, 16e3, 17e3)); /* what was typed is no other unit */
    assert_ptr_equal(judge_likely_unit(1600e5, bar, 1600e3, 1600e3, 1600e3), kpa);
    assert_ptr_equal(judge_likely_unit(1.6e3, kpa, 1500e3, 1600e3, 1700e3), unit_of("MPa"));
    /* between psi and kgf/cm2, 2.655 of a logarithm apart: the latter from 1.352 above psi on */
    for (int k = 0; k < 4; k++) {
        static const double ABOVE[] = {1.30, 1.350, 1.355, 1.40};
        const double likely_pa = 16.0 * PSI * exp(ABOVE[k]);
        assert_ptr_equal(judge_likely_unit(16e3, kpa, 100e3, likely_pa, 1590e3), k < 2 ? psi : unit_of("kgf/cm2"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_question_is_asked_in_its_words),
        cmocka_unit_test(the_likely_unit_is_within_bounds_and_clearly_nearest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

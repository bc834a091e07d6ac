/* Questions to the sheet itself: reasons to doubt the numbers rather than the engine. Each is one sentence that a mechanic would say.
 *
 * Thresholds stand beside their tests; those without a source are judgment and stand in docs/method-judging.md. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/atmosphere.h"
#include "crosshatch/do_not_run.h"
#include "crosshatch/summary.h"
#include "judge_parts.h"

/* A list within a sentence: all that is ever looked at, or the numbers of 32 cylinders, fit. */
typedef char piece_list[220];

static void add_piece(piece_list list, const char *piece)
{
    const size_t used = strlen(list);
    snprintf(list + used, sizeof(piece_list) - used, "%s%s", used > 0 ? ", " : "", piece);
}

static double median_of_means(const ch_judgement *j, int without)
{
    double mean_pa[CH_CYLINDERS_MAX];
    size_t n = 0;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0 && c + 1 != without)
            mean_pa[n++] = j->cylinder[c].mean_pa;
    ch_sort(mean_pa, n);
    return ch_quantile_sorted(mean_pa, n, 0.5);
}

/* ---- the day's air ---- */

/* Pressure at sea level: beyond 28.00 and 31.00 inHg it is so rare that altimeters cannot be set to it (FAA AIM, 7-2-2). */
static const double LEAST_WEATHER_PA = 94800.0, MOST_WEATHER_PA = 105000.0;
/* Where no altitude is noted, the test was made somewhere between the lowest and the highest road (from memory). */
static const double LOWEST_ROAD_M = -430.0, HIGHEST_ROAD_M = 5900.0;
static const double AIR_SAID_U_PA = 1000.0; /* hPa come whole */

static void ask_sea_level(const judge_asked *asked, ch_judgement *j)
{
    const ch_quantity *given = &asked->sheet->conditions.sea_level_pressure;
    judge_words said;
    if (!ch_quantity_given(given) || (given->si >= LEAST_WEATHER_PA && given->si <= MOST_WEATHER_PA))
        return;
    ch_quantity_text(given, said.text, sizeof said.text);
    judge_ask(j, CH_QUESTION_BAROMETER, 0, SIZE_MAX, 0.95,
              "Sea-level pressure: %s is not what weather brings (948 to 1050 hPa). Look at number and unit; what a "
              "barometer shows at the place is noted as the barometer.",
              said.text);
}

ch_status judge_question_air(const judge_asked *asked, ch_judgement *j, ch_err *err)
{
    const ch_sheet_conditions *day = &asked->sheet->conditions;
    if (!ch_quantity_given(&day->barometer)) {
        ask_sea_level(asked, j);
        return CH_OK;
    }
    const bool known = ch_quantity_given(&day->altitude);
    double low_pa = NAN, high_pa = NAN,
           standard_pa = NAN; /* reduced to sea level from the lowest and the highest place */
    ch_status rc =
        ch_atmosphere_sea_level_pressure(day->barometer.si, known ? day->altitude.si : LOWEST_ROAD_M, &low_pa, err);
    if (rc >= 0)
        rc = ch_atmosphere_sea_level_pressure(day->barometer.si, known ? day->altitude.si : HIGHEST_ROAD_M, &high_pa,
                                              err);
    if (rc >= 0)
        rc = ch_atmosphere_pressure(known ? day->altitude.si : 0.0, &standard_pa, err);
    if (rc < 0 || (low_pa <= MOST_WEATHER_PA && high_pa >= LEAST_WEATHER_PA))
        return rc;
    const bool reduced = low_pa > MOST_WEATHER_PA && day->barometer.si <= MOST_WEATHER_PA;
    judge_words place = {"any place with a road"}, said, standard;
    if (known)
        ch_quantity_text(&day->altitude, place.text, sizeof place.text);
    ch_quantity_text(&day->barometer, said.text, sizeof said.text);
    ch_si_format(standard_pa, AIR_SAID_U_PA, day->barometer.unit, standard.text, sizeof standard.text);
    judge_ask(j, CH_QUESTION_BAROMETER, 0, SIZE_MAX, 0.95,
              "Barometer: %s is %s than weather brings at %s (%s%s on a standard day). %s Until then, what a sound "
              "engine would show is as far off.",
              said.text, low_pa > MOST_WEATHER_PA ? "more" : "less", place.text, known ? "" : "at sea level ",
              standard.text,
              reduced ? "It looks like a pressure reduced to sea level, as forecasts give it: note it as that "
                        "(sea_level_pressure), or leave it out, since the altitude tells nearly as much."
                      : "Look at number, unit and altitude.");
    return CH_OK;
}

/* ---- level ---- */

static bool is_asked(const ch_judgement *j, ch_question_kind kind)
{
    for (size_t i = 0; i < j->question_count; i++)
        if (j->question[i].kind == kind)
            return true;
    return false;
}

static void ask_low(const judge_asked *asked, ch_judgement *j, double highest_pa, const double expected_pa[2])
{
    const ch_sheet_conditions *day = &asked->sheet->conditions;
    const bool *assumed = asked->setup->assumed;
    piece_list look = "";
    if (is_asked(j, CH_QUESTION_BAROMETER))
        add_piece(look, "the air pressure noted");
    if (day->throttle == CH_THROTTLE_SHUT)
        add_piece(look, "the shut throttle");
    else if (day->throttle == CH_THROTTLE_UNSTATED)
        add_piece(look, "the throttle (not noted as held open)");
    if (assumed[CH_INPUT_CRANKING_SPEED])
        add_piece(look, "cranking speed (not noted)");
    else if (judge_is_slow(asked->setup))
        add_piece(look, "slow cranking");
    if (assumed[CH_INPUT_ENGINE_TEMPERATURE])
        add_piece(look, "a cold engine (not noted)");
    else if (judge_is_cold(asked->setup))
        add_piece(look, "the cold engine");
    if (assumed[CH_INPUT_AMBIENT_PRESSURE] && !ch_quantity_given(&day->altitude))
        add_piece(look, "altitude (not noted)");
    if (assumed[CH_INPUT_COMPRESSION_RATIO])
        add_piece(look, "the compression ratio (not given)");
    add_piece(look, "cam timing");
    add_piece(look, "the gauge");
    const judge_words top = judge_say_pressure(highest_pa, asked->unit),
                      low = judge_say_pressure(expected_pa[0], asked->unit),
                      high = judge_say_pressure(expected_pa[1], asked->unit);
    judge_ask(j, CH_QUESTION_ALL_LOW, 0, SIZE_MAX, 0.95,
              "%s %s where a sound engine would show %s to %s. Look first at %s.",
              asked->sheet->engine.cylinders == 1 ? "The cylinder is low: it shows"
                                                  : "All cylinders are low together: the best shows",
              top.text, low.text, high.text, look);
}

static void ask_high(const judge_asked *asked, ch_judgement *j, double lowest_pa, const double expected_pa[2])
{
    const judge_words least = judge_say_pressure(lowest_pa, asked->unit),
                      low = judge_say_pressure(expected_pa[0], asked->unit),
                      high = judge_say_pressure(expected_pa[1], asked->unit);
    judge_ask(j, CH_QUESTION_ALL_HIGH, 0, SIZE_MAX, 0.95,
              "All cylinders are high together: the lowest shows %s where a sound engine would show %s to %s. Carbon "
              "or oil in "
              "the chambers, a skimmed head, a gauge that reads high, %s.",
              least.text, low.text, high.text,
              asked->setup->assumed[CH_INPUT_COMPRESSION_RATIO] ? "or a ratio above the one assumed"
                                                                : "or fast cranking");
}

static void question_level(const judge_asked *asked, ch_judgement *j)
{
    double lowest_pa = INFINITY, highest_pa = -INFINITY, expected_pa[2] = {INFINITY, -INFINITY};
    int measured = 0;
    bool all_low = true, all_high = true;
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        if (one->n == 0)
            continue;
        measured++;
        lowest_pa = fmin(lowest_pa, one->mean_pa);
        highest_pa = fmax(highest_pa, one->mean_pa);
        expected_pa[0] = fmin(expected_pa[0], one->expected_pa[0]);
        expected_pa[1] = fmax(expected_pa[1], one->expected_pa[1]);
        all_low = all_low && one->mean_pa < one->expected_pa[0];
        all_high = all_high && one->mean_pa > one->expected_pa[1];
    }
    if (measured == 0 || (measured < 2 && j->cylinders > 1))
        return;
    if (all_low)
        ask_low(asked, j, highest_pa, expected_pa);
    if (all_high)
        ask_high(asked, j, lowest_pa, expected_pa);
}

/* A cold engine and slow cranking are counted in, as they are noted; asked where a reading that may be right so would be low without them, or is low
 * even so. All low together is asked by ask_low(), which names them. */
static void question_cold_or_slow(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet_conditions *day = &asked->sheet->conditions;
    const bool cold = judge_is_cold(asked->setup), slow = judge_is_slow(asked->setup);
    const double more_1 = asked->bounds->usual_pa / asked->bounds->sound_pa;
    const ch_judged_cylinder *lowest = NULL;
    double low_pa[2] = {INFINITY, -INFINITY};
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        if (one->n == 0)
            continue;
        lowest = lowest == NULL || one->mean_pa < lowest->mean_pa ? one : lowest;
        low_pa[0] = fmin(low_pa[0], one->expected_pa[0]);
        low_pa[1] = fmax(low_pa[1], one->expected_pa[1]);
    }
    /* Nobody is asked to crank what must not be cranked. */
    const bool stopped = asked->knowledge != NULL && ch_do_not_run(asked->sheet, asked->knowledge);
    if (stopped || (!cold && !slow) || lowest == NULL || j->unreadable || is_asked(j, CH_QUESTION_ALL_LOW) ||
        !(lowest->mean_pa < more_1 * low_pa[0]))
        return;
    judge_words at[2] = {{""}, {""}};
    if (cold)
        ch_quantity_text(&day->engine_temperature, at[0].text, sizeof at[0].text);
    if (slow)
        ch_quantity_text(&day->cranking_speed, at[1].text, sizeof at[1].text);
    const judge_words reading = judge_say_pressure(lowest->mean_pa, asked->unit),
                      here[2] = {judge_say_pressure(low_pa[0], asked->unit),
                                 judge_say_pressure(low_pa[1], asked->unit)},
                      usual[2] = {judge_say_pressure(more_1 * low_pa[0], asked->unit),
                                  judge_say_pressure(more_1 * low_pa[1], asked->unit)};
    judge_ask(j, CH_QUESTION_COLD_OR_SLOW, 0, SIZE_MAX, 0.8,
              "The answer hangs on %s%s%s%s%s as noted, which %s every reading: so a sound engine would show %s to %s, "
              "%s %s to %s. Cylinder %d shows %s. Is that noted right? %s%s%s, and read again before you trust this.",
              cold ? "an engine of " : "", at[0].text, cold && slow ? " and " : "", slow ? "cranking at " : "",
              at[1].text, cold && slow ? "lower" : "lowers", here[0].text, here[1].text,
              !slow   ? "warm"
              : !cold ? "at the usual speed"
                      : "warm and at the usual speed",
              usual[0].text, usual[1].text, lowest->cylinder, reading.text, cold ? "Warm it up" : "",
              cold && slow ? ", c"
              : slow       ? "C"
                           : "",
              slow ? "harge the battery" : "");
}

/* Far above the next, where the others agree: wear that takes a tenth from a reading does not take the same from each (judgment). */
static const double ALONE_1 = 1.12, AGREE_1 = 0.95;

static void question_one_high(const judge_asked *asked, ch_judgement *j)
{
    int high = -1, measured = 0;
    double lowest_pa = INFINITY, next_pa = 0.0;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0 && (measured++ == 0 || j->cylinder[c].mean_pa > j->cylinder[high].mean_pa))
            high = c;
    for (int c = 0; c < j->cylinders; c++) {
        const ch_judged_cylinder *one = &j->cylinder[c];
        if (one->n == 0 || c == high)
            continue;
        if (!(one->mean_pa >= one->expected_pa[0]))
            return; /* the others are low, whatever the one is */
        lowest_pa = fmin(lowest_pa, one->mean_pa);
        next_pa = fmax(next_pa, one->mean_pa);
    }
    if (measured < 3 || j->unreadable || j->cylinder[high].mean_pa > asked->bounds->ideal_pa ||
        !(j->cylinder[high].mean_pa > ALONE_1 * next_pa) || !(lowest_pa >= AGREE_1 * next_pa))
        return;
    const judge_words said = judge_say_pressure(j->cylinder[high].mean_pa, asked->unit),
                      low = judge_say_pressure(lowest_pa, asked->unit), next = judge_say_pressure(next_pa, asked->unit);
    judge_ask(
        j, CH_QUESTION_ONE_HIGH, high + 1, SIZE_MAX, 0.8,
        "Cylinder %d stands alone with %s above the others, which agree (%s to %s) and read as sound ones may. Oil "
        "or carbon in its chamber makes one high as easily as wear makes the others low: look in through its plug "
        "hole, and measure it again.",
        high + 1, said.text, low.text, next.text);
}

/* ---- impossible numbers and units ---- */

static const char *const UNITS[] = {"psi", "bar", "kPa", "MPa", "kgf/cm2"};
enum { UNITS_COUNT = sizeof UNITS / sizeof UNITS[0] };

const ch_unit *judge_likely_unit(double reading_pa, const ch_unit *typed, double least_pa, double likely_pa,
                                 double most_pa)
{
    const ch_unit *best = NULL;
    double best_off = INFINITY;
    const double number = ch_unit_from_si(reading_pa, typed);
    for (int u = 0; u < UNITS_COUNT; u++) {
        const ch_unit *unit = ch_unit_find(UNITS[u], strlen(UNITS[u]));
        const double pa = ch_unit_to_si(number, unit);
        const double off = fabs(log(pa / likely_pa));
        if (unit == typed || !(pa >= least_pa && pa <= most_pa))
            continue;
        /* bar and kgf/cm2 are 2 % apart: the first of them, the commoner, stands unless the other is clearly nearer */
        if (off < best_off - 0.05) {
            best = unit;
            best_off = off;
        }
    }
    return best;
}

static const ch_unit *unit_of_all(const judge_asked *asked)
{
    const judge_readings *readings = asked->readings;
    const ch_unit *unit = NULL;
    for (size_t i = 0; i < readings->n; i++) {
        const ch_unit *own = asked->sheet->compression[readings->row[i]].reading.unit;
        if (unit != NULL && own != unit)
            return NULL;
        unit = own;
    }
    return unit;
}

/* A pressure in the unit of all sentences, and what it is in the one that was perhaps meant. */
static judge_words in_both(double pressure_pa, const ch_unit *unit, const ch_unit *likely)
{
    judge_words both = judge_say_pressure(pressure_pa, unit);
    if (likely != unit) {
        const judge_words other = judge_say_pressure(pressure_pa, likely);
        const size_t used = strlen(both.text);
        snprintf(both.text + used, sizeof both.text - used, " (%.30s)", other.text);
    }
    return both;
}

/* The unit of all rows but this one, of which there are two at least; NULL where they differ, or share this one's. */
static const ch_unit *unit_of_others(const judge_asked *asked, size_t row)
{
    const judge_readings *readings = asked->readings;
    const ch_unit *unit = NULL;
    for (size_t i = 0; i < readings->n; i++) {
        const ch_unit *own = asked->sheet->compression[readings->row[i]].reading.unit;
        if (readings->row[i] == row)
            continue;
        if (unit != NULL && own != unit)
            return NULL;
        unit = own;
    }
    return readings->n > 2 && unit != asked->sheet->compression[row].reading.unit ? unit : NULL;
}

/* All readings together: far from what the engine could show in the unit typed, and likely in another. Where most are possible, those that are not are asked about one by one. */
static bool question_unit_of_all(const judge_asked *asked, ch_judgement *j)
{
    const ch_unit *typed = unit_of_all(asked);
    double highest_pa = 0.0, expected_pa = NAN, low_pa = NAN, high_pa = NAN;
    const double ideal_pa = asked->bounds->ideal_pa;
    int measured = 0, above = 0;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0) {
            measured++;
            above += j->cylinder[c].mean_pa > ideal_pa;
            high_pa = fmax(high_pa, j->cylinder[c].expected_pa[1]);
            highest_pa = fmax(highest_pa, j->cylinder[c].mean_pa);
            expected_pa = fmax(expected_pa, j->cylinder[c].expected_median_pa);
            low_pa = fmin(low_pa, j->cylinder[c].expected_pa[0]);
        }
    /* One number of many cylinders may as well be that of a dead one. */
    if (measured < 2 && j->cylinders > 1)
        return false;
    if (typed == NULL || !(highest_pa > 0.0) || !(expected_pa > 0.0))
        return false;
    if (highest_pa > 0.3 * low_pa && 2 * above <= measured)
        return false;
    const ch_unit *likely = judge_likely_unit(highest_pa, typed, 0.6 * low_pa, expected_pa, 1.2 * high_pa);
    if (likely == NULL)
        return false;
    const judge_words as_typed = judge_say_pressure(highest_pa, typed),
                      expected = in_both(expected_pa, asked->unit, likely);
    judge_ask(
        j, CH_QUESTION_UNIT, 0, SIZE_MAX, 0.99,
        "The readings look like %s typed as %s: the highest is %s, and a sound engine of this kind shows about %s. "
        "Check the unit on the dial.",
        likely->name, typed->name, as_typed.text, expected.text);
    return true;
}

/* A part of the others, or as many times them, from which on a row is asked about; and what lies among them (judgment). */
static const double FAR_1 = 0.25, AMONG_1[2] = {0.87, 1.15};

static bool has_fraction(const ch_quantity *typed)
{
    return strpbrk(typed->number, ".,") != NULL;
}

/* Typed with a fraction where no other reading of its unit has one, or without where all have: not as its neighbours were. */
static bool typed_unlike_others(const judge_asked *asked, size_t row)
{
    const ch_reading *one = &asked->sheet->compression[row];
    size_t others = 0;
    for (size_t i = 0; i < asked->readings->n; i++) {
        const ch_reading *other = &asked->sheet->compression[asked->readings->row[i]];
        if (asked->readings->row[i] == row || other->reading.unit != one->reading.unit)
            continue;
        if (has_fraction(&other->reading) == has_fraction(&one->reading))
            return false;
        others++;
    }
    return others > 1;
}

/* Is this reading all that is known of its cylinder? What another test or a sign bears out is no slip of the pen. */
static bool stands_alone(const ch_sheet *sheet, size_t row)
{
    const int cylinder = sheet->compression[row].cylinder;
    for (size_t i = 0; i < sheet->compression_count; i++)
        if (i != row && sheet->compression[i].cylinder == cylinder)
            return false;
    for (size_t i = 0; i < sheet->wet_count; i++)
        if (sheet->wet[i].cylinder == cylinder)
            return false;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        if (sheet->leakdown[i].cylinder == cylinder)
            return false;
    for (size_t i = 0; i < sheet->observed_count; i++)
        if (sheet->observed[i].cylinder == cylinder && !sheet->observed[i].absent)
            return false;
    return true;
}

/* A decimal point one place off: among the others with a digit more or less. */
static void question_point_of_one(const judge_asked *asked, ch_judgement *j, size_t row, double others_pa)
{
    const ch_reading *one = &asked->sheet->compression[row];
    const double pa = one->reading.si, meant_pa = pa < others_pa ? 10.0 * pa : 0.1 * pa;
    if (!(meant_pa >= AMONG_1[0] * others_pa && meant_pa <= AMONG_1[1] * others_pa))
        return;
    const bool much = pa > asked->bounds->ideal_pa,
               slip = stands_alone(asked->sheet, row) && typed_unlike_others(asked, row);
    const judge_words said = judge_say_typed(&one->reading), meant = judge_say_pressure(meant_pa, asked->unit),
                      among = judge_say_pressure(others_pa, asked->unit);
    judge_ask(j, much || slip ? CH_QUESTION_IMPOSSIBLE : CH_QUESTION_UNIT, one->cylinder, row,
              much || slip ? 0.98 : 0.5,
              "Cylinder %d: is %s meant to be %s, its decimal point one place off? The others show about %s; %s.",
              one->cylinder, said.text, meant.text, among.text,
              much   ? "as typed it is more than this engine could show"
              : slip ? "it is typed unlike the others. If the dial did show it, read the cylinder again"
                     : "or the cylinder does not seal at all");
}

/* One row against the other cylinders: a quarter of them or four times them, and among them in another unit. A dead cylinder reads low too. */
static void question_unit_of_one(const judge_asked *asked, ch_judgement *j, size_t row)
{
    const ch_reading *one = &asked->sheet->compression[row];
    const double others_pa = median_of_means(j, one->cylinder), pa = one->reading.si;
    if (!(pa > 0.0) || !(others_pa > 0.0) || (pa > FAR_1 * others_pa && pa < others_pa / FAR_1))
        return;
    const ch_unit *likely =
        judge_likely_unit(pa, one->reading.unit, AMONG_1[0] * others_pa, others_pa, AMONG_1[1] * others_pa);
    if (likely == NULL) {
        question_point_of_one(asked, j, row, others_pa);
        return;
    }
    const judge_words said = judge_say_typed(&one->reading), among = in_both(others_pa, asked->unit, likely);
    const bool much = pa > asked->bounds->ideal_pa, alone = unit_of_others(asked, row) == likely;
    const bool slip = stands_alone(asked->sheet, row) && typed_unlike_others(asked, row);
    const bool impossible = much || alone || slip;
    judge_ask(j, impossible ? CH_QUESTION_IMPOSSIBLE : CH_QUESTION_UNIT, one->cylinder, row, impossible ? 0.98 : 0.5,
              "Cylinder %d: %s may be %s typed as %s, since the others show about %s; %s.", one->cylinder, said.text,
              likely->name, one->reading.unit->name, among.text,
              much    ? "it is more than this engine could show"
              : alone ? "it is the only one in that unit"
              : slip  ? "it is typed unlike the others. If the dial did show it, read the cylinder again"
                      : "or the cylinder does not seal at all");
}

/* Every reading further above the possible than oil or carbon in the chambers and a wrong compression ratio take it. */
static bool all_far_above(const judge_asked *asked, const ch_judgement *j)
{
    static const double far_1 = 1.5; /* judgment */
    double lowest_pa = INFINITY;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0)
            lowest_pa = fmin(lowest_pa, j->cylinder[c].mean_pa);
    return isfinite(lowest_pa) && lowest_pa > far_1 * asked->bounds->ideal_pa;
}

static void question_impossible(const judge_asked *asked, ch_judgement *j)
{
    const judge_readings *readings = asked->readings;
    const bool all = question_unit_of_all(asked, j);
    if (!all)
        judge_question_outside(asked, j);
    if (j->outside)
        return;
    j->unreadable = all || all_far_above(asked, j);
    const judge_words most = judge_say_pressure(asked->bounds->ideal_pa, asked->unit);
    for (size_t i = 0; i < readings->n && !all; i++) {
        const size_t row = readings->row[i];
        const ch_reading *one = &asked->sheet->compression[row];
        const size_t before = j->question_count;
        question_unit_of_one(asked, j, row);
        if (j->question_count > before || !(one->reading.si > asked->bounds->ideal_pa))
            continue;
        const judge_words said = judge_say_pressure(one->reading.si, asked->unit);
        judge_ask(
            j, CH_QUESTION_IMPOSSIBLE, one->cylinder, row, 0.98,
            "Cylinder %d: %s is more than %s, the most that %s could show without any loss. Wrong unit or gauge, oil "
            "or carbon in the chamber%s.",
            one->cylinder, said.text, most.text,
            asked->bounds->ratio_assumed ? "a compression ratio of 14:1" : "this compression ratio",
            asked->bounds->ratio_assumed ? "" : ", or a higher ratio than given");
    }
}

/* ---- rows one by one ---- */

static void question_first_stroke(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->compression_count; i++) {
        const ch_reading *one = &asked->sheet->compression[i];
        if (!ch_quantity_given(&one->first_stroke) || !(one->reading.si > 0.0) ||
            !(one->first_stroke.si >= one->reading.si))
            continue;
        const judge_words first = judge_say_pressure(one->first_stroke.si, asked->unit),
                          final = judge_say_pressure(one->reading.si, asked->unit);
        judge_ask(
            j, CH_QUESTION_FIRST_OVER_FINAL, one->cylinder, i, 0.9,
            "Cylinder %d: the first stroke (%s) stands at or above the final reading (%s). A gauge that holds its peak "
            "cannot fall back: its check valve leaks, or the two were swapped.",
            one->cylinder, first.text, final.text);
    }
}

/* Less than any hose leaves of a first stroke: 100 ml of it leave 30 % (docs/method-judging.md); a needle that was read before it moved, or another unit. */
static const double SMALL_FIRST_1 = 0.15;

static void question_small_first_stroke(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->compression_count; i++) {
        const ch_reading *one = &asked->sheet->compression[i];
        if (!ch_quantity_given(&one->first_stroke) || !(one->first_stroke.si > 0.0) ||
            !(one->first_stroke.si < SMALL_FIRST_1 * one->reading.si))
            continue;
        const judge_words first = judge_say_typed(&one->first_stroke), final = judge_say_typed(&one->reading);
        judge_ask(j, CH_QUESTION_UNIT, one->cylinder, i, 0.8,
                  "Cylinder %d: a first stroke of %s is next to nothing beside the final %s. Look at number and unit; "
                  "or cranking began in the middle of a stroke.",
                  one->cylinder, first.text, final.text);
    }
}

/* Repeats that differ: spread over 5 % of their mean (trade practice: 5 % or 8 psi, re-seat and repeat), or one that the scatter of its
 * fellows does not explain; always more than one and a half steps of the dial, since rounding alone does as much. */
static ch_status question_repeats(const judge_asked *asked, ch_judgement *j, ch_err *err)
{
    const judge_readings *readings = asked->readings;
    const double rounding_pa = 1.5 * asked->scatter->step_pa;
    for (int c = 0; c < readings->cylinders; c++) {
        const size_t n = readings->size[c];
        const double *own = readings->reading_pa + readings->start[c];
        if (n < 2)
            continue;
        ch_outlier outlier; /* with a repeat, the scatter is the sheet's own (judge_repeats) */
        ch_status rc = ch_outlier_find(own, n, asked->scatter->sd_pa, asked->scatter->df, 0.05, &outlier, err);
        if (rc < 0)
            return rc;
        const double spread_pa = own[n - 1] - own[0], mean_pa = j->cylinder[c].mean_pa;
        const double median_pa = j->cylinder[c].median_pa;
        const size_t suspect = own[n - 1] - median_pa > median_pa - own[0] ? n - 1 : 0;
        const double off_pa = fabs(own[suspect] - median_pa);
        const bool wide = spread_pa > 0.05 * mean_pa && spread_pa > rounding_pa;
        const bool odd = n >= 3 && outlier.flagged && off_pa > fmax(rounding_pa, 2.0 * JUDGE_DEFAULT_SD_1 * mean_pa);
        if (!wide && !odd)
            continue;
        const judge_words low = judge_say_pressure(own[0], asked->unit),
                          high = judge_say_pressure(own[n - 1], asked->unit),
                          suspected = judge_say_pressure(own[suspect], asked->unit),
                          others = judge_say_pressure(median_pa, asked->unit);
        if (n == 2)
            judge_ask(j, CH_QUESTION_REPEAT, c + 1, SIZE_MAX, outlier.flagged ? 0.95 : 0.8,
                      "Cylinder %d: its two readings, %s and %s, do not agree. Re-seat the adapter and take a third.",
                      c + 1, low.text, high.text);
        else
            judge_ask(
                j, CH_QUESTION_REPEAT, c + 1, readings->row[readings->start[c] + suspect], odd ? 0.95 : 0.8,
                "Cylinder %d: the reading of %s is out of line with its other repeats (median %s). It still counts; "
                "re-seat the adapter and repeat.",
                c + 1, suspected.text, others.text);
    }
    return CH_OK;
}

/* ---- the procedure ---- */

static void question_procedure(const judge_asked *asked, ch_judgement *j)
{
    const judge_bounds *bounds = asked->bounds;
    if (asked->sheet->conditions.throttle == CH_THROTTLE_SHUT && asked->readings->n > 0)
        judge_ask(j, CH_QUESTION_THROTTLE_SHUT, 0, SIZE_MAX, 1.0,
                  "Tested with the throttle shut: readings are low and depend on how much air gets past it, here "
                  "assumed to be what 4 mm2 let through for each litre of the engine. Hold it wide open and measure "
                  "again.");
    const bool stated = !asked->setup->assumed[CH_INPUT_STROKES];
    if (asked->readings->n > 0 && bounds->fill_1 < (stated ? JUDGE_FULL_1 : 0.90)) {
        const judge_words full = judge_say_part(bounds->fill_1);
        char need[48] = "far more";
        if (bounds->strokes_to_fill > 0)
            snprintf(need, sizeof need, "%d strokes", bounds->strokes_to_fill);
        judge_ask(
            j, CH_QUESTION_TOO_FEW_STROKES, 0, SIZE_MAX, stated ? 0.95 : 0.6,
            "%d strokes%s fill this hose to about %s only; a sound cylinder needs %s. Crank longer, the same for every "
            "cylinder.",
            bounds->strokes, stated ? "" : " (assumed)", full.text, need);
    }
    piece_list missing = "";
    int one = 0;
    size_t count = 0;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n == 0) {
            char number[16];
            snprintf(number, sizeof number, "%d", c + 1);
            add_piece(missing, number);
            one = c + 1;
            count++;
        }
    /* Nobody is asked to crank what must not be cranked. */
    const bool stopped = asked->knowledge != NULL && ch_do_not_run(asked->sheet, asked->knowledge);
    if (asked->readings->n > 0 && count > 0 && !stopped)
        judge_ask(j, CH_QUESTION_MISSING, count == 1 ? one : 0, SIZE_MAX, 1.0,
                  "No reading of cylinder%s %s: measure %s too, since a number means most beside its neighbours'.",
                  count == 1 ? "" : "s", missing, count == 1 ? "it" : "them");
}

ch_status judge_questions(const judge_asked *asked, ch_judgement *judgement, ch_err *err)
{
    judgement->question_count = 0;
    const ch_status rc = judge_question_air(asked, judgement, err);
    if (rc < 0)
        return rc;
    question_impossible(asked, judgement);
    if (judgement->outside)
        return CH_OK; /* nothing else that is asked would be of use */
    question_level(asked, judgement);
    question_cold_or_slow(asked, judgement);
    question_one_high(asked, judgement);
    question_procedure(asked, judgement);
    judge_questions_of_tests(asked, judgement);
    return judge_questions_of_rows(asked, judgement, err);
}

ch_status judge_questions_of_rows(const judge_asked *asked, ch_judgement *judgement, ch_err *err)
{
    ch_status rc = judge_question_order(asked, judgement, err);
    if (rc >= 0)
        rc = question_repeats(asked, judgement, err);
    question_first_stroke(asked, judgement);
    question_small_first_stroke(asked, judgement);
    judge_questions_of_other_rows(asked, judgement);
    return rc;
}

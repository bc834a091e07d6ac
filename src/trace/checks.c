/* Which check tells most per minute: expected information about each cylinder's cause, given all that is known already.
 *
 * The information of a check is the mutual information of its outcome and the cause, in bits: Shannon 1948; Lindley, Ann. Math. Stat. 27
 * (1956) 986. Signs are read off the knowledge; the outcomes of a leak-down and a wet test off the posterior leak areas of each cause. */
#include <math.h>
#include <string.h>

#include "crosshatch/leakdown.h"

#include "parts.h"

/* Below these a check is not worth naming: it would hardly move the answer, or take an evening to do so. */
static const double LEAST_BITS = 0.10;
static const double LEAST_BITS_PER_MINUTE = 0.0015;

enum { OUTCOMES_MAX = 256 };

/* Chance of each outcome under each cause, built up by independent parts. */
typedef struct outcome_table {
    int count;
    double chance[CH_CAUSE_COUNT][OUTCOMES_MAX];
} outcome_table;

static void table_start(outcome_table *t)
{
    t->count = 1;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        t->chance[c][0] = 1.0;
}

/* Each outcome so far may go with a yes or a no; false where the table is full. */
static bool table_split(outcome_table *t, const double yes_1[CH_CAUSE_COUNT])
{
    if (2 * t->count > OUTCOMES_MAX)
        return false;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        for (int o = 0; o < t->count; o++) {
            t->chance[c][o + t->count] = t->chance[c][o] * yes_1[c];
            t->chance[c][o] *= 1.0 - yes_1[c];
        }
    t->count *= 2;
    return true;
}

static double mutual_bits(const outcome_table *t, const double cause_1[CH_CAUSE_COUNT])
{
    double bits = 0.0;
    for (int o = 0; o < t->count; o++) {
        double total = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            total += cause_1[c] * t->chance[c][o];
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            const double joint = cause_1[c] * t->chance[c][o];
            if (joint > 0.0)
                bits += joint * log2(t->chance[c][o] / total);
        }
    }
    return fmax(bits, 0.0);
}

static double standard_normal(double score)
{
    return 0.5 * erfc(-score * 0.70710678118654752);
}

/* Mean over a cause's posterior areas of the chance of each outcome. visit: adds the outcomes of one area with one weight. */
typedef void area_outcomes(const weigh_frame *frame, double ring_m2, double extra_m2, int path, double weight,
                           double chance[]);

/* Loss in six bands times what is heard, five ears: 192 outcomes. */
enum { LOSS_BANDS = 6, EARS = 5 };

static void leakdown_outcomes(const weigh_frame *frame, double ring_m2, double extra_m2, int path, double weight,
                              double chance[])
{
    static const double EDGE[LOSS_BANDS - 1] = {0.06, 0.12, 0.20, 0.35, 0.60};
    double path_m2[CH_PATH_COUNT];
    for (int p = 0; p < CH_PATH_COUNT; p++)
        path_m2[p] = frame->knowledge->background_m2[p].median;
    path_m2[CH_PATH_RINGS] = ring_m2;
    if (path >= 0)
        path_m2[path] += extra_m2;
    path_m2[CH_PATH_RINGS] *= STANDING_MEDIAN_1;
    double total_m2 = 0.0;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        total_m2 += path_m2[p];
    const double orifice_m2 =
        ch_leakdown_orifice_area_m2(ch_leakdown_orifice_m(frame->setup->cranking.bore.bore_m), 0.8);
    const double middle = log(total_m2 / orifice_m2);
    const double spread = 0.5; /* standing against cranking, and the tester */
    double band[LOSS_BANDS], before = 0.0;
    for (int b = 0; b < LOSS_BANDS; b++) {
        const double upto =
            b < LOSS_BANDS - 1 ? standard_normal((weigh_ratio_of_loss(frame, EDGE[b]) - middle) / spread) : 1.0;
        band[b] = upto - before;
        before = upto;
    }
    const ch_knowledge_hearing *h = &frame->knowledge->hearing;
    const struct {
        int path;
        double false_1;
    } ear[EARS] = {{CH_PATH_INTAKE_VALVE, h->false_intake_1},
                   {CH_PATH_EXHAUST_VALVE, h->false_exhaust_1},
                   {CH_PATH_RINGS, h->false_oil_filler_1},
                   {CH_PATH_COOLANT, h->false_coolant_1},
                   {CH_PATH_NEIGHBOUR, h->false_cylinder_1}};
    double yes[EARS];
    for (int e = 0; e < EARS; e++) {
        const double area_m2 = path_m2[ear[e].path];
        yes[e] = area_m2 >= h->least_m2 && area_m2 >= h->share_1 * total_m2 ? h->noted_1 : ear[e].false_1;
    }
    for (int pattern = 0; pattern < 1 << EARS; pattern++) {
        double heard = weight;
        for (int e = 0; e < EARS; e++)
            heard *= (pattern >> e & 1) != 0 ? yes[e] : 1.0 - yes[e];
        for (int b = 0; b < LOSS_BANDS; b++)
            chance[pattern * LOSS_BANDS + b] += heard * band[b];
    }
}

/* Rise of the wet reading over what the oil's volume alone would give, in five bands. */
enum { RISE_BANDS = 5 };

static void wet_outcomes(const weigh_frame *frame, double ring_m2, double extra_m2, int path, double weight,
                         double chance[])
{
    static const double EDGE[RISE_BANDS - 1] = {1.04, 1.12, 1.25, 1.60};
    const double oil_factor_1 = 0.35, scatter = 0.07;
    const double table_level = frame->beside_m2;
    const double dry_m2 = ring_m2 + extra_m2 + table_level;
    const double wet_m2 =
        oil_factor_1 * ring_m2 + (path == CH_PATH_RINGS ? oil_factor_1 : 1.0) * extra_m2 + table_level;
    const double sound_m2 = frame->ring_median_m2;
    const double *level = frame->dry->level[0];
    const double floor_pa = 10e3; /* a reading of nothing rises to nothing */
    const double dry_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, dry_m2)) + floor_pa;
    const double wet_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, wet_m2)) + floor_pa;
    const double good_dry_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, sound_m2)) + floor_pa;
    const double good_wet_pa =
        CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, oil_factor_1 * sound_m2)) + floor_pa;
    const double middle = log(wet_pa / dry_pa * good_dry_pa / good_wet_pa);
    double before = 0.0;
    for (int b = 0; b < RISE_BANDS; b++) {
        const double upto = b < RISE_BANDS - 1 ? standard_normal((log(EDGE[b]) - middle) / scatter) : 1.0;
        chance[b] += weight * (upto - before);
        before = upto;
    }
}

/* Outcomes of a test that reads leak areas, under each cause of one cylinder. */
static void area_table(const weigh_frame *frame, const trace_areas *areas, int outcomes, area_outcomes *visit,
                       outcome_table *t)
{
    t->count = outcomes;
    memset(t->chance, 0, sizeof t->chance);
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const ch_knowledge_cause *known = &frame->knowledge->causes[c];
        double total = 0.0;
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            total += areas->extra[c][g];
        const bool leaks = total > 0.0 && known->areas_m2.count > 0;
        for (int g = 0; g < CH_EMULATOR_GRID; g++) {
            const double part = leaks ? areas->extra[c][g] / total : (g == 0 ? 1.0 : 0.0);
            if (!(part > 1e-4))
                continue;
            bool any = false;
            for (int p = 0; p < CH_PATH_COUNT; p++)
                if (leaks && known->path_chance_1[p] > 0.0) {
                    visit(frame, areas->ring_m2, frame->dry->area_m2[g], p, part * known->path_chance_1[p],
                          t->chance[c]);
                    any = true;
                }
            if (!any)
                visit(frame, areas->ring_m2, 0.0, -1, part, t->chance[c]);
        }
        double sum = 0.0;
        for (int o = 0; o < outcomes; o++)
            sum += t->chance[c][o];
        for (int o = 0; o < outcomes && sum > 0.0; o++)
            t->chance[c][o] =
                (1.0 - 0.02) * t->chance[c][o] / sum + 0.02 / outcomes; /* two tests in a hundred go astray */
    }
}

static bool already_seen(const ch_sheet *sheet, const ch_knowledge *knowledge, size_t observation, int cylinder)
{
    for (size_t i = 0; i < sheet->observed_count; i++) {
        const ch_observation *row = &sheet->observed[i];
        const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, row->what, strlen(row->what));
        if (known == &knowledge->observations[observation] &&
            (known->scope == CH_SCOPE_ENGINE || row->cylinder == 0 || row->cylinder == cylinder))
            return true;
    }
    return false;
}

/* Chance of an engine sign under each cause of cylinder i, the other cylinders as they probably are. */
static void engine_sign(const ch_knowledge_observation *known, const ch_trace *trace, int i,
                        double yes_1[CH_CAUSE_COUNT])
{
    const double p0 = known->positive_1[CH_CAUSE_SOUND];
    double others = 1.0;
    for (int j = 0; j < trace->cylinders; j++) {
        double clear = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            clear += trace->cylinder[j].cause_1[c] * (1.0 - known->positive_1[c]) / (1.0 - p0);
        others *= j == i ? 1.0 : fmin(clear, 1.0);
    }
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        yes_1[c] = fmin(fmax(1.0 - (1.0 - p0) * fmin((1.0 - known->positive_1[c]) / (1.0 - p0), 1.0) * others, 1e-4),
                        1.0 - 1e-4);
}

/* Information of one check about one cylinder. */
static double check_bits(const weigh_frame *frame, const ch_sheet *sheet, const ch_trace *trace,
                         const trace_areas *areas, const ch_knowledge_check *check, int i)
{
    const ch_knowledge *knowledge = frame->knowledge;
    const measured_cylinder *tested = &frame->measured->cylinder[i];
    const double *cause_1 = trace->cylinder[i].cause_1;
    outcome_table t;
    double bits = 0.0;
    if ((check->rows & CH_ROWS_LEAKDOWN) != 0 && tested->leakdown_count == 0) {
        area_table(frame, &areas[i], LOSS_BANDS << EARS, leakdown_outcomes, &t);
        bits = fmax(bits, mutual_bits(&t, cause_1));
    }
    if ((check->rows & CH_ROWS_WET) != 0 && tested->wet.n == 0) {
        area_table(frame, &areas[i], RISE_BANDS, wet_outcomes, &t);
        bits = fmax(bits, mutual_bits(&t, cause_1));
    }
    table_start(&t);
    long group_counted = CH_NO_GROUP;
    for (size_t y = 0; y < check->yields.count; y++) {
        const size_t at = check->yields.at[y];
        const ch_knowledge_observation *known = &knowledge->observations[at];
        if (already_seen(sheet, knowledge, at, i + 1))
            continue;
        if (known->group != CH_NO_GROUP && known->group == group_counted &&
            knowledge->groups[known->group].further_1 < 0.35)
            continue; /* says much the same as the one before it */
        double yes_1[CH_CAUSE_COUNT];
        if (known->scope == CH_SCOPE_ENGINE)
            engine_sign(known, trace, i, yes_1);
        else
            memcpy(yes_1, known->positive_1, sizeof yes_1);
        if (!table_split(&t, yes_1))
            break;
        group_counted = known->group;
    }
    return fmax(bits, mutual_bits(&t, cause_1));
}

/* What a check is worth: bits a minute. */
static double worth(const ch_trace_check *check)
{
    return check->bits_1 / check->minutes;
}

/* Better first, but what spoils later readings after everything that reads. */
static bool comes_before(const ch_trace_check *a, const ch_trace_check *b)
{
    if (a->check->last != b->check->last && a->check->rows != 0 && b->check->rows != 0)
        return b->check->last;
    return worth(a) > worth(b);
}

static void insert(ch_trace *trace, const ch_trace_check *found)
{
    /* A check on a second cylinder of the same engine is the same idea: keep the two best places of each. */
    size_t same = 0;
    for (size_t k = 0; k < trace->next_check_count; k++)
        same += trace->next_check[k].check == found->check ? 1 : 0;
    if (same >= 2)
        return;
    size_t at = trace->next_check_count < CH_TRACE_CHECKS_MAX ? trace->next_check_count++ : CH_TRACE_CHECKS_MAX;
    while (at > 0 && comes_before(found, &trace->next_check[at - 1])) {
        if (at < CH_TRACE_CHECKS_MAX)
            trace->next_check[at] = trace->next_check[at - 1];
        at--;
    }
    if (at < CH_TRACE_CHECKS_MAX)
        trace->next_check[at] = *found;
}

void checks_find(const weigh_frame *frame, const ch_sheet *sheet, const trace_areas areas[], ch_trace *trace)
{
    const ch_knowledge *knowledge = frame->knowledge;
    trace->next_check_count = 0;
    for (size_t k = 0; k < knowledge->checks_count; k++) {
        const ch_knowledge_check *check = &knowledge->checks[k];
        const double minutes = (check->setup_s + check->each_s) / 60.0;
        ch_trace_check best[2] = {{.bits_1 = 0.0}, {.bits_1 = 0.0}};
        double engine_bits = 0.0;
        for (int i = 0; i < trace->cylinders; i++) {
            const double bits = check_bits(frame, sheet, trace, areas, check, i);
            engine_bits = fmax(engine_bits, bits); /* what it says of the cylinder it says most about */
            const ch_trace_check one = {.check = check, .cylinder = i + 1, .minutes = minutes, .bits_1 = bits};
            if (bits > best[0].bits_1) {
                best[1] = best[0];
                best[0] = one;
            } else if (bits > best[1].bits_1) {
                best[1] = one;
            }
        }
        if (check->scope == CH_SCOPE_ENGINE) {
            best[0] = (ch_trace_check){.check = check, .cylinder = 0, .minutes = minutes, .bits_1 = engine_bits};
            best[1].bits_1 = 0.0;
        }
        for (int b = 0; b < 2; b++)
            if (best[b].bits_1 >= LEAST_BITS && best[b].bits_1 >= LEAST_BITS_PER_MINUTE * best[b].minutes)
                insert(trace, &best[b]);
    }
}

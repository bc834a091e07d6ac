/* What a check may find under each cause of a cylinder: a leak-down and a wet test from its posterior leak areas, signs from the knowledge. */
#include <math.h>
#include <string.h>

#include "crosshatch/leakdown.h"

#include "parts.h"

void outcomes_start(outcome_table *t)
{
    t->count = 1;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        t->chance[c][0] = 1.0;
}

bool outcomes_split(outcome_table *t, const double yes_1[CH_CAUSE_COUNT])
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

double outcomes_bits(const outcome_table *t, const double cause_1[CH_CAUSE_COUNT])
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

/* Adds the outcomes of one extra area in one place (-1: none), with one weight. */
typedef void area_outcomes(const weigh_frame *frame, double ring_m2, double extra_m2, int place, double weight,
                           double chance[]);

/* Loss in six bands times what is heard, five ears: 192 outcomes. */
enum { LOSS_BANDS = 6, EARS = 5 };

static void leakdown_of_area(const weigh_frame *frame, double ring_m2, double extra_m2, int place, double weight,
                             double chance[])
{
    static const double EDGE[LOSS_BANDS - 1] = {0.06, 0.12, 0.20, 0.35, 0.60};
    double path_m2[CH_PATH_COUNT];
    for (int p = 0; p < CH_PATH_COUNT; p++)
        path_m2[p] = frame->knowledge->background_m2[p].median;
    path_m2[CH_PATH_RINGS] = ring_m2;
    if (place >= 0)
        path_m2[place == PLACE_RINGS_DRY ? CH_PATH_RINGS : place] += extra_m2;
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
        double there_1 = area_m2 >= h->share_1 * total_m2 ? 1.0 : 0.0;
        if (ear[e].path == CH_PATH_RINGS) /* of any listener */
            there_1 *= standard_normal(log(area_m2 / h->least_oil_filler_m2) /
                                       hypot(h->listeners_spread_1, h->oil_filler_blur_1));
        else if (area_m2 < h->least_m2)
            there_1 = 0.0;
        yes[e] = there_1 * h->noted_1 + (1.0 - there_1) * ear[e].false_1;
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

static void add_rise(double middle_ln, double weight, double chance[])
{
    static const double EDGE[RISE_BANDS - 1] = {1.04, 1.12, 1.25, 1.60};
    const double scatter = 0.07;
    double before = 0.0;
    for (int b = 0; b < RISE_BANDS; b++) {
        const double upto = b < RISE_BANDS - 1 ? standard_normal((log(EDGE[b]) - middle_ln) / scatter) : 1.0;
        chance[b] += weight * (upto - before);
        before = upto;
    }
}

static void wet_of_area(const weigh_frame *frame, double ring_m2, double extra_m2, int place, double weight,
                        double chance[])
{
    const double oil_factor_1 = 0.35;
    const double dry_m2 = ring_m2 + extra_m2 + frame->beside_m2;
    const double wet_m2 =
        oil_factor_1 * ring_m2 + (place == CH_PATH_RINGS ? oil_factor_1 : 1.0) * extra_m2 + frame->beside_m2;
    const double sound_m2 = frame->ring_median_m2;
    const double *level = frame->dry->level[0];
    const double floor_pa = 10e3; /* a reading of nothing rises to nothing */
    const double dry_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, dry_m2)) + floor_pa;
    const double wet_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, wet_m2)) + floor_pa;
    const double good_dry_pa = CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, sound_m2)) + floor_pa;
    const double good_wet_pa =
        CH_EMULATOR_PA * expm1(ch_emulator_at(frame->dry, level, oil_factor_1 * sound_m2)) + floor_pa;
    add_rise(log(wet_pa / dry_pa * good_dry_pa / good_wet_pa), weight, chance);
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
            for (int p = 0; p < CH_PATH_COUNT; p++) {
                if (!leaks || !(known->path_chance_1[p] > 0.0))
                    continue;
                const double share = part * known->path_chance_1[p], area_m2 = frame->dry->area_m2[g];
                const double sealed_1 = p == CH_PATH_RINGS ? known->oil_seals_1 : 1.0;
                visit(frame, areas->ring_m2, area_m2, p, sealed_1 * share, t->chance[c]);
                if (sealed_1 < 1.0)
                    visit(frame, areas->ring_m2, area_m2, PLACE_RINGS_DRY, (1.0 - sealed_1) * share, t->chance[c]);
                any = true;
            }
            if (!any)
                visit(frame, areas->ring_m2, 0.0, -1, part, t->chance[c]);
        }
    }
}

/* Bring the chances of each cause to 1; two tests in a hundred go astray. */
static void area_table_level(outcome_table *t)
{
    const double astray_1 = 0.02;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        double sum = 0.0;
        for (int o = 0; o < t->count; o++)
            sum += t->chance[c][o];
        for (int o = 0; o < t->count && sum > 0.0; o++)
            t->chance[c][o] = (1.0 - astray_1) * t->chance[c][o] / sum + astray_1 / t->count;
    }
}

void outcomes_of_leakdown(const weigh_frame *frame, const trace_areas *areas, outcome_table *t)
{
    area_table(frame, areas, LOSS_BANDS << EARS, leakdown_of_area, t);
    area_table_level(t);
}

void outcomes_of_wet(const weigh_frame *frame, const trace_areas *areas, int i, outcome_table *t)
{
    area_table(frame, areas, RISE_BANDS, wet_of_area, t);
    /* A reading that was wrong is right the second time as often as not, and then it shows what the best cylinder shows. */
    const measured *m = frame->measured;
    double best_pa = m->cylinder[i].dry.mean_pa;
    for (int j = 0; j < m->cylinders && m->cylinder[i].dry.n > 0; j++)
        if (m->cylinder[j].dry.n > 0)
            best_pa = fmax(best_pa, m->cylinder[j].dry.mean_pa);
    const double floor_pa = 10e3;
    if (m->cylinder[i].dry.n > 0)
        add_rise(log((best_pa + floor_pa) / (m->cylinder[i].dry.mean_pa + floor_pa)), 1.0,
                 t->chance[CH_CAUSE_MEASUREMENT_ERROR]);
    area_table_level(t);
}

/* Chance of cylinder i's cause that comes from the engine as a whole, or from a hole between two, and so is no cylinder's own. */
static double shared_1(const ch_trace *trace, const double together_1[CH_CAUSE_COUNT], int i, int c)
{
    const double chance = trace->cylinder[i].cause_1[c];
    return c == CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS ? chance : fmin(chance, together_1[c]);
}

/* Chance that cause h has struck the engine as a whole, or two neighbours, but not cylinder i, where that has another cause. */
static double elsewhere_1(const ch_trace *trace, const double together_1[CH_CAUSE_COUNT], int i, int h)
{
    double event_1 = together_1[h];
    if (h == CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS) {
        event_1 = 0.0;
        for (int j = 0; j < trace->cylinders; j++)
            event_1 += 0.5 * trace->cylinder[j].cause_1[h]; /* each hole shows in two */
    }
    const double left_1 = event_1 - shared_1(trace, together_1, i, h);
    return left_1 > 0.0 ? fmin(left_1 / fmax(1.0 - trace->cylinder[i].cause_1[h], 1e-6), 1.0) : 0.0;
}

void outcomes_of_sign(const ch_knowledge_observation *known, const ch_trace *trace,
                      const double together_1[CH_CAUSE_COUNT], int i, double yes_1[CH_CAUSE_COUNT])
{
    if (known->scope == CH_SCOPE_CYLINDER) {
        memcpy(yes_1, known->positive_1, CH_CAUSE_COUNT * sizeof *yes_1);
        return;
    }
    /* Independent ways to the sign, or, for one that faults take away, to its absence: docs/knowledge.md, "The engine". */
    const double p0 = known->positive_1[CH_CAUSE_SOUND];
    bool falls = false;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        falls = falls || known->positive_1[c] < p0 - 1e-9;
    double ratio[CH_CAUSE_COUNT], others = 1.0, events = 1.0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        ratio[c] = falls ? known->positive_1[c] / p0 : (1.0 - known->positive_1[c]) / (1.0 - p0);
    for (int j = 0; j < trace->cylinders; j++) {
        double own = 1.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            own += (trace->cylinder[j].cause_1[c] - shared_1(trace, together_1, j, c)) * (ratio[c] - 1.0);
        others *= j == i ? 1.0 : own;
    }
    double event[CH_CAUSE_COUNT];
    for (int h = 0; h < CH_CAUSE_COUNT; h++) {
        event[h] = elsewhere_1(trace, together_1, i, h) * (ratio[h] - 1.0);
        events += event[h];
    }
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double product = ratio[c] * others * (events - event[c]); /* what strikes several at once counts once */
        const double chance = falls ? p0 * product : 1.0 - (1.0 - p0) * product;
        yes_1[c] = fmin(fmax(chance, 1e-4), 1.0 - 1e-4);
    }
}

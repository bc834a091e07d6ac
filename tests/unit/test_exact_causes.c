/* The sums over causes against plain enumeration: every way an engine can be, every combination of causes over its cylinders, each with the
 * chance that docs/knowledge.md gives to what was seen. Shares no formula with src/trace/causes.c, which never looks at a combination. */
#include "../../src/trace/parts.h"
#include "builtin_knowledge.h"
#include "crosshatch/sampling.h"
#include "expect.h"

#include <stdlib.h>
#include <string.h>

enum { CYLINDERS = 4, SIGNS = 8, GASKET = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS };

/* A sign as a sheet has it; cylinder 0 = not named. */
typedef struct sign {
    const ch_knowledge_observation *known;
    int cylinder;
    bool absent;
} sign;

/* An engine with its evidence. */
typedef struct engine {
    measured measured;
    seen seen;
    wrong wrong;
    weigh_frame frame;
    weigh_cylinder cylinder[CYLINDERS];
    double level_weight[LEVELS_MAX];
    sign sign[SIGNS];
    size_t signs;
} engine;

static int below(ch_stream *stream, int n)
{
    return (int)(ch_stream_uniform(stream) * n);
}

/* ---- By enumeration ---- */

/* One combination: the cause of each cylinder, whether that cause is the one that struck the engine as a whole, or the shared gasket, or its own
 * beneath what struck; and at which level that struck. */
typedef struct combination {
    int cause[CYLINDERS];
    bool common[CYLINDERS], beneath[CYLINDERS];
    int level;
    int struck; /* the cause that struck the engine as a whole, felt by some cylinders or none; CH_CAUSE_SOUND = none */
    bool gasket;
} combination;

/* How often each cause counts for a sign of the engine: every cylinder that has it for itself, and what is common once. */
static double over_engine_causes(const combination *at, int cylinders, const double factor[CH_CAUSE_COUNT])
{
    double product = 1.0;
    for (int i = 0; i < cylinders; i++)
        if (!at->common[i])
            product *= factor[at->cause[i]];
    if (at->struck != CH_CAUSE_SOUND)
        product *= factor[at->struck];
    if (at->gasket)
        product *= factor[GASKET];
    return product;
}

static double chance_of_sign(const sign *s, const combination *at, int cylinders)
{
    const double *p = s->known->positive_1, usual = p[CH_CAUSE_SOUND];
    double seen_1;
    if (s->known->scope == CH_SCOPE_CYLINDER) {
        double none = 1.0, clear[CH_CAUSE_COUNT];
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            clear[c] = 1.0 - p[c];
        /* Seen somewhere, nobody knows at which cylinder: what is common to all has one chance to show. */
        if (s->cylinder == 0 && !s->absent)
            return 1.0 - over_engine_causes(at, cylinders, clear);
        for (int i = 0; i < cylinders; i++)
            none *= s->cylinder == 0 || s->cylinder == i + 1 ? 1.0 - p[at->cause[i]] : 1.0;
        seen_1 = 1.0 - none;
    } else {
        bool falls = false;
        double factor[CH_CAUSE_COUNT];
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            falls = falls || p[c] < usual;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            factor[c] = falls ? p[c] / usual : (1.0 - p[c]) / (1.0 - usual);
        const double product = over_engine_causes(at, cylinders, factor);
        seen_1 = falls ? usual * product : 1.0 - (1.0 - usual) * product;
    }
    return s->absent ? 1.0 - seen_1 : seen_1;
}

/* Chance of all readings and signs in one combination, but for the priors of the cylinders' own causes. */
static double chance_of_evidence(const engine *e, const hypothesis *h, const combination *at)
{
    double chance = 1.0;
    for (int i = 0; i < e->measured.cylinders; i++)
        if (i != h->pair[0] && i != h->pair[1])
            chance *= at->common[i] || at->beneath[i] ? e->cylinder[i].level[at->level]
                                                      : e->cylinder[i].evidence[at->cause[i]];
    if (at->gasket) {
        double sum = 0.0; /* the two share one hole of one size */
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            sum += e->frame.area_weight[GASKET][g] * e->cylinder[h->pair[0]].likely_mean[CH_PATH_NEIGHBOUR][g] *
                   e->cylinder[h->pair[1]].likely_mean[CH_PATH_NEIGHBOUR][g];
        chance *= sum;
    }
    for (size_t s = 0; s < e->signs; s++)
        chance *= chance_of_sign(&e->sign[s], at, e->measured.cylinders);
    return chance;
}

/* Chance of one cylinder's part of a combination before any evidence, and that part itself. Ways: a cylinder's own cause that is not struck or shows all
 * the same; what is common; its own cause beneath that. */
static double set_way(const engine *e, const hypothesis *h, int i, int way, combination *at)
{
    const bool together = h->together != CH_CAUSE_SOUND, paired = i == h->pair[0] || i == h->pair[1];
    const double *prior_1 = e->wrong.prior_1[i];
    /* A gauge misleads only where it was, a bank's cam drive strikes only that bank. */
    const int n = e->measured.cylinders;
    const bool in_bank[] = {true, i < n / 2.0, i >= n / 2.0, i % 2 == 0, i % 2 == 1};
    const bool out_of_reach = !in_bank[h->bank] || (h->together == CH_CAUSE_MEASUREMENT_ERROR && !e->wrong.gauged[i]);
    const double share_1 = out_of_reach ? 0.0 : h->share_1;
    at->common[i] = way == CH_CAUSE_COUNT;
    at->beneath[i] = way > CH_CAUSE_COUNT;
    at->cause[i] = at->beneath[i]   ? way - CH_CAUSE_COUNT - 1
                   : !at->common[i] ? way
                   : paired         ? GASKET
                                    : (int)h->together;
    if (paired || !together)
        return paired ? (at->common[i] ? 1.0 : 0.0) : way < CH_CAUSE_COUNT ? prior_1[way] : 0.0;
    if (at->beneath[i])
        return share_1 * h->beneath_1[at->cause[i]] * prior_1[at->cause[i]];
    if (!at->common[i])
        return prior_1[way] * (1.0 - share_1 + share_1 * h->stays_1[way]);
    double covered_1 = 0.0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        covered_1 += prior_1[c] * (1.0 - h->stays_1[c] - h->beneath_1[c]);
    return share_1 * covered_1;
}

enum { WAYS = 2 * CH_CAUSE_COUNT + 1 };

/* All that cylinders i and above may have, below them as `at` says. */
static double enumerate_from(const engine *e, const hypothesis *h, int i, double chance, combination *at,
                             causes_result *exact)
{
    if (i == e->measured.cylinders) {
        chance *= chance_of_evidence(e, h, at);
        bool faulty = false;
        for (int k = 0; k < i; k++) {
            exact->cause_1[k][at->cause[k]] += chance;
            faulty = faulty || (at->cause[k] != CH_CAUSE_SOUND && at->cause[k] != CH_CAUSE_MEASUREMENT_ERROR);
        }
        exact->no_fault_1 += faulty ? 0.0 : chance;
        return chance;
    }
    double sum = 0.0;
    for (int way = 0; way < WAYS; way++) {
        const double part = set_way(e, h, i, way, at);
        if (part > 0.0)
            sum += enumerate_from(e, h, i + 1, chance * part, at, exact);
    }
    return sum;
}

/* One hypothesis at all its levels, with or without a gasket shared by two. */
static double enumerate_levels(const engine *e, const hypothesis *h, double prior_1, causes_result *exact)
{
    const bool together = h->together != CH_CAUSE_SOUND;
    const bool bank_drive = h->together == CH_CAUSE_CAM_OR_TIMING && h->bank > 0;
    const level_range range = bank_drive ? e->frame.bank_drive[h->bank - 1]
                              : together ? e->frame.levels[h->together]
                                         : (level_range){0, 1};
    double sum = 0.0;
    for (int j = range.from; j < range.from + range.count; j++) {
        combination at = {.struck = (int)h->together, .gasket = h->pair[0] >= 0, .level = j};
        const double chance = together ? prior_1 * h->losses_alike_1 * e->level_weight[j] : prior_1;
        sum += enumerate_from(e, h, 0, chance, &at, exact);
    }
    return sum;
}

static void enumerate(const engine *e, causes_result *exact)
{
    const int n = e->measured.cylinders;
    double sum = 0.0, unstruck = e->wrong.hypothesis[0].prior_1;
    memset(exact, 0, sizeof *exact);
    for (int k = 0; k < e->wrong.hypotheses; k++)
        unstruck += e->wrong.hypothesis[k].pair[0] >= 0 ? e->wrong.hypothesis[k].prior_1 : 0.0;
    for (int k = 0; k < e->wrong.hypotheses; k++) {
        const hypothesis *h = &e->wrong.hypothesis[k];
        double without_1 = 1.0; /* struck as a whole, a gasket between two goes as often as in an engine that is not */
        for (int p = 0; h->pair_too && p < e->wrong.hypotheses; p++) {
            const hypothesis *pair = &e->wrong.hypothesis[p];
            if (pair->pair[0] < 0)
                continue;
            hypothesis both = *h;
            memcpy(both.pair, pair->pair, sizeof both.pair);
            const double pair_1 = pair->prior_1 / unstruck;
            exact->hypothesis_1[k] += enumerate_levels(e, &both, h->prior_1 * pair_1, exact);
            without_1 -= pair_1;
        }
        exact->hypothesis_1[k] += enumerate_levels(e, h, h->prior_1 * without_1, exact);
        sum += exact->hypothesis_1[k];
    }
    exact->log_evidence = log(sum);
    for (int i = 0; i < n; i++)
        exact->log_evidence += e->cylinder[i].log_scale;
    for (int k = 0; k < e->wrong.hypotheses; k++)
        exact->hypothesis_1[k] /= sum;
    exact->no_fault_1 /= sum;
    for (int i = 0; i < n; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            exact->cause_1[i][c] /= sum;
}

/* What the sums leave out of the evidence because no cause can change it: the sound engine's part of a sign of the engine that was taken as
 * a plain product. */
static double left_out_ln(const engine *e)
{
    double sum = 0.0;
    for (size_t s = 0; s < e->signs; s++) {
        const double *p = e->sign[s].known->positive_1, usual = p[CH_CAUSE_SOUND];
        bool falls = false;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            falls = falls || p[c] < usual;
        if (e->sign[s].known->scope == CH_SCOPE_ENGINE && e->sign[s].absent != falls)
            sum += log(e->sign[s].absent ? 1.0 - usual : usual);
    }
    return sum;
}

static void expect_enumerated(engine *e, double tolerance)
{
    e->frame.measured = &e->measured;
    e->frame.seen = &e->seen;
    e->frame.wrong = &e->wrong;
    e->frame.knowledge = &knowledge;
    causes_result got, exact;
    causes_at(&e->frame, e->level_weight, e->cylinder, true, &got);
    enumerate(e, &exact);
    expect_close(got.log_evidence + left_out_ln(e), exact.log_evidence, tolerance);
    for (int k = 0; k < e->wrong.hypotheses; k++)
        expect_close(got.hypothesis_1[k], exact.hypothesis_1[k], tolerance);
    /* Where shares are not asked for, the same sums. */
    causes_result without_shares;
    causes_at(&e->frame, e->level_weight, e->cylinder, false, &without_shares);
    assert_true(without_shares.log_evidence == got.log_evidence);
    assert_memory_equal(without_shares.hypothesis_1, got.hypothesis_1,
                        (size_t)e->wrong.hypotheses * sizeof got.hypothesis_1[0]);
    expect_close(got.no_fault_1, exact.no_fault_1, tolerance);
    for (int i = 0; i < e->measured.cylinders; i++) {
        double total = 0.0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            expect_close(got.cause_1[i][c], exact.cause_1[i][c], tolerance);
            total += got.cause_1[i][c];
        }
        expect_close(total, 1.0, 1e-12);
    }
}

/* ---- Random engines ---- */

static void random_evidence(ch_stream *stream, int cylinders, engine *e)
{
    e->measured.cylinders = cylinders;
    double total = 0.0;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        total += e->frame.area_weight[GASKET][g] = ch_stream_uniform(stream);
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        e->frame.area_weight[GASKET][g] /= total;
    /* One to three levels each. */
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        e->frame.levels[c] = (level_range){.from = 3 * c, .count = 1 + below(stream, 3)};
        for (int j = 0; j < 3; j++)
            e->level_weight[3 * c + j] = ch_stream_uniform(stream);
    }
    for (int bank = 0; bank < BANKS; bank++) {
        const int from = 3 * (CH_CAUSE_COUNT + bank);
        e->frame.bank_drive[bank] = (level_range){.from = from, .count = 1 + below(stream, 3)};
        for (int j = from; j < from + 3; j++)
            e->level_weight[j] = ch_stream_uniform(stream);
    }
    for (int i = 0; i < cylinders; i++) {
        weigh_cylinder *c = &e->cylinder[i];
        c->log_scale = -30.0 * ch_stream_uniform(stream);
        for (int k = 0; k < CH_CAUSE_COUNT; k++)
            c->evidence[k] = exp(-12.0 * ch_stream_uniform(stream));
        for (int j = 0; j < 3 * (CH_CAUSE_COUNT + BANKS); j++)
            c->level[j] = exp(-12.0 * ch_stream_uniform(stream));
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            c->likely_mean[CH_PATH_NEIGHBOUR][g] = exp(-8.0 * ch_stream_uniform(stream));
    }
}

/* Any priors: a cylinder's own, one to four causes that strike together, the pairs in line. */
static void random_wrong(ch_stream *stream, int cylinders, wrong *w)
{
    memset(w, 0, sizeof *w);
    for (int i = 0; i < cylinders; i++) {
        double total = 0.0;
        w->gauged[i] = below(stream, 3) > 0;
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            total += w->prior_1[i][c] = c == GASKET ? 0.0 : pow(ch_stream_uniform(stream), 3.0);
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            w->prior_1[i][c] /= total;
    }
    w->hypothesis[w->hypotheses++] = (hypothesis){.together = CH_CAUSE_SOUND, .pair = {-1, -1}};
    for (int t = 1 + below(stream, 4); cylinders > 1 && t > 0; t--) {
        hypothesis *one = &w->hypothesis[w->hypotheses++];
        *one = (hypothesis){.together = (ch_cause)(1 + below(stream, CH_CAUSE_COUNT - 1)),
                            .losses_alike_1 = 0.5 + ch_stream_uniform(stream),
                            .share_1 = ch_stream_uniform(stream),
                            .pair_too = below(stream, 2) == 0,
                            .bank = below(stream, 2) == 0 ? below(stream, 1 + BANKS) : 0,
                            .pair = {-1, -1}};
        for (int c = 1; c < CH_CAUSE_COUNT; c++) {
            one->stays_1[c] = below(stream, 2) == 0 ? 0.0 : 0.5 * ch_stream_uniform(stream);
            one->beneath_1[c] = below(stream, 4) == 0 ? 0.5 * ch_stream_uniform(stream) : 0.0;
        }
    }
    for (int i = 0; i + 1 < cylinders; i++)
        w->hypothesis[w->hypotheses++] = (hypothesis){.together = CH_CAUSE_SOUND, .pair = {i, i + 1}};
    double total = 0.0;
    for (int h = 0; h < w->hypotheses; h++)
        total += w->hypothesis[h].prior_1 = ch_stream_uniform(stream);
    for (int h = 0; h < w->hypotheses; h++)
        w->hypothesis[h].prior_1 /= total;
}

/* Signs of the built-in list, no two of a group (so that each counts in full), at most `anywhere` that are seen and not tied to a cylinder. */
static void random_signs(ch_stream *stream, int cylinders, size_t signs, int anywhere, engine *e)
{
    ch_observation row[SIGNS] = {{0}};
    char name[SIGNS][64];
    e->signs = 0;
    while (e->signs < signs) {
        const int at = below(stream, (int)knowledge.observations_count);
        sign s = {.known = &knowledge.observations[at], .absent = ch_stream_uniform(stream) < 0.4};
        bool fits = s.known->kind != CH_OBSERVATION_HISTORY;
        for (size_t k = 0; k < e->signs; k++)
            fits = fits && e->sign[k].known != s.known &&
                   (s.known->group == CH_NO_GROUP || e->sign[k].known->group != s.known->group);
        if (fits && s.known->scope == CH_SCOPE_CYLINDER)
            s.cylinder = below(stream, cylinders + 1);
        if (fits && s.cylinder == 0 && !s.absent)
            fits = anywhere-- > 0;
        if (!fits)
            continue;
        snprintf(name[e->signs], sizeof name[0], "%s", s.known->id);
        row[e->signs] = (ch_observation){.what = name[e->signs], .cylinder = s.cylinder, .absent = s.absent};
        e->sign[e->signs++] = s;
    }
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = cylinders;
    sheet.observed = row;
    sheet.observed_count = e->signs;
    assert_int_equal(seen_from_sheet(&sheet, &knowledge, &e->seen, NULL), CH_OK);
}

/* Random evidence, random priors, random signs, over one to four cylinders. Rounding alone parts the two: 1e-9. */
static void sums_over_causes_are_those_of_enumeration(void **state)
{
    (void)state;
    engine *e = calloc(1, sizeof *e);
    assert_non_null(e);
    for (int cylinders = 1; cylinders <= CYLINDERS; cylinders++)
        for (int trial = 0; trial < (cylinders < CYLINDERS ? 24 : 4); trial++) {
            ch_stream stream;
            ch_stream_init(&stream, (uint64_t)trial, (uint64_t)cylinders);
            random_evidence(&stream, cylinders, e);
            random_wrong(&stream, cylinders, &e->wrong);
            random_signs(&stream, cylinders, (size_t)(trial % 6), 3, e);
            expect_enumerated(e, 1e-9);
        }
    free(e);
}

/* Signs by the hundred against a cause that may strike the engine as a whole: it drops out, and nothing else goes with it. */
static void a_cause_that_all_speaks_against_drops_out_alone(void **state)
{
    (void)state;
    static const ch_cause AGAINST[] = {CH_CAUSE_RINGS_OR_BORE, CH_CAUSE_MEASUREMENT_ERROR};
    for (size_t a = 0; a < sizeof AGAINST / sizeof AGAINST[0]; a++) {
        const ch_cause against = AGAINST[a];
        engine *e = calloc(1, sizeof *e);
        assert_non_null(e);
        ch_stream stream;
        ch_stream_init(&stream, 11, 0);
        random_evidence(&stream, 3, e);
        random_wrong(&stream, 3, &e->wrong);
        random_signs(&stream, 3, 0, 0, e);
        e->wrong.hypothesis[0] = (hypothesis){.prior_1 = 0.6, .together = CH_CAUSE_SOUND, .pair = {-1, -1}};
        e->wrong.hypothesis[1] =
            (hypothesis){.prior_1 = 0.4, .together = against, .losses_alike_1 = 1.0, .share_1 = 0.9, .pair = {-1, -1}};
        e->frame.measured = &e->measured;
        e->frame.seen = &e->seen;
        e->frame.wrong = &e->wrong;
        e->frame.knowledge = &knowledge;
        for (int i = 0; i < 3; i++) {
            e->wrong.gauged[i] = true;
            e->seen.log_1[i][against] = -800.0; /* e^-800 is below the smallest double */
        }
        e->seen.log_together[against] = -800.0;
        causes_result without, got;
        e->wrong.hypotheses = 1;
        causes_at(&e->frame, e->level_weight, e->cylinder, true, &without);
        e->wrong.hypotheses = 2;
        causes_at(&e->frame, e->level_weight, e->cylinder, true, &got);
        expect_close(got.log_evidence, without.log_evidence, 1e-12);
        expect_close(got.hypothesis_1[1], 0.0, 0.0);
        assert_true(without.no_fault_1 > 0.0);
        expect_relative(got.no_fault_1, without.no_fault_1, 1e-12);
        for (int i = 0; i < 3; i++)
            for (int c = 0; c < CH_CAUSE_COUNT; c++)
                expect_close(got.cause_1[i][c], c == (int)against ? 0.0 : without.cause_1[i][c], 1e-12);
        free(e);
    }
}

/* The last levels of a cam drive are those of bent valves: their part of the whole, at the cylinders that the drive reaches. */
static void bent_valves_are_told_of_the_cylinders_that_the_drive_reaches(void **state)
{
    (void)state;
    enum { FROM = 3 * (CH_CAUSE_COUNT + BANKS), BENT = 2 };
    engine *e = calloc(1, sizeof *e);
    assert_non_null(e);
    for (int bank = 0; bank <= BANKS; bank++) {
        ch_stream stream;
        ch_stream_init(&stream, 7, (uint64_t)bank);
        random_evidence(&stream, 3, e);
        random_wrong(&stream, 3, &e->wrong);
        random_signs(&stream, 3, 0, 0, e);
        e->wrong.hypotheses = 2;
        e->wrong.hypothesis[0] = (hypothesis){.prior_1 = 0.6, .together = CH_CAUSE_SOUND, .pair = {-1, -1}};
        e->wrong.hypothesis[1] = (hypothesis){.prior_1 = 0.4,
                                              .together = CH_CAUSE_CAM_OR_TIMING,
                                              .losses_alike_1 = 1.0,
                                              .share_1 = 0.9,
                                              .bank = bank,
                                              .pair = {-1, -1}};
        level_range *range = bank == 0 ? &e->frame.levels[CH_CAUSE_CAM_OR_TIMING] : &e->frame.bank_drive[bank - 1];
        const level_range whole = {.from = FROM, .count = FACTOR_LEVELS + BENT};
        for (int j = FROM; j < FROM + whole.count; j++) {
            e->level_weight[j] = ch_stream_uniform(&stream);
            for (int i = 0; i < 3; i++)
                e->cylinder[i].level[j] = ch_stream_uniform(&stream);
        }
        *range = whole;
        expect_enumerated(e, 1e-9);
        causes_result got, unused = {0};
        causes_at(&e->frame, e->level_weight, e->cylinder, true, &got);
        const double all = enumerate_levels(e, &e->wrong.hypothesis[0], 0.6, &unused) +
                           enumerate_levels(e, &e->wrong.hypothesis[1], 0.4, &unused);
        *range = (level_range){.from = FROM + FACTOR_LEVELS, .count = BENT};
        const double bent = enumerate_levels(e, &e->wrong.hypothesis[1], 0.4, &unused);
        assert_true(bent > 0.01 * all && bent < 0.5 * all);
        static const char *const REACHED[] = {"111", "110", "001", "101", "010"};
        for (int i = 0; i < 3; i++)
            expect_close(got.bent_1[i], REACHED[bank][i] == '1' ? bent / all : 0.0, 1e-12);
    }
    free(e);
}

/* The priors that the program uses, with the layouts that pair cylinders differently. */
static void sums_over_causes_hold_with_the_built_in_priors(void **state)
{
    (void)state;
    static const ch_layout LAYOUTS[] = {CH_LAYOUT_UNSTATED, CH_LAYOUT_INLINE, CH_LAYOUT_VEE, CH_LAYOUT_FLAT};
    engine *e = calloc(1, sizeof *e);
    assert_non_null(e);
    for (int trial = 0; trial < 16; trial++) {
        const int cylinders = trial == 0 ? 4 : 2 + trial % 2;
        ch_stream stream;
        ch_stream_init(&stream, 99, (uint64_t)trial);
        random_evidence(&stream, cylinders, e);
        random_signs(&stream, cylinders, 5, 4, e);
        ch_sheet sheet;
        ch_sheet_init(&sheet);
        sheet.engine.cylinders = cylinders;
        sheet.engine.layout = LAYOUTS[trial % 4];
        ch_reading reading[CYLINDERS] = {{.cylinder = 1}, {.cylinder = 2}, {.cylinder = 3}, {.cylinder = 4}};
        sheet.compression = reading;
        sheet.compression_count = (size_t)below(&stream, cylinders + 1);
        wrong_from_knowledge(&sheet, &knowledge, &e->seen, &e->wrong);
        expect_enumerated(e, 1e-9);
    }
    free(e);
}

/* Six rare signs from nobody knows which cylinder, on an engine that reads sound: terms of order one that nearly cancel. The chance of the
 * signs comes down to some 1e-10, so that 1e-16 of rounding in 64 terms costs about the sixth digit (measured: 1.2e-6). */
static void six_rare_signs_on_a_sound_engine_keep_their_digits(void **state)
{
    (void)state;
    static const char *const RARE[] = {"coolant_in_cylinder", "plug_damaged",      "valve_gear_broken",
                                       "lash_tight",          "borescope_scoring", "valve_stays_open"};
    engine *e = calloc(1, sizeof *e);
    assert_non_null(e);
    ch_stream stream;
    ch_stream_init(&stream, 5, 0);
    random_evidence(&stream, 3, e);
    for (int i = 0; i < 3; i++)
        for (int c = 1; c < CH_CAUSE_COUNT; c++) {
            e->cylinder[i].evidence[c] *= 1e-6;
            for (int j = 3 * c; j < 3 * c + 3; j++)
                e->cylinder[i].level[j] *= 1e-6;
        }
    ch_observation row[6] = {{0}};
    char name[6][64];
    for (size_t k = 0; k < 6; k++) {
        e->sign[k].known = ch_knowledge_observation_find(&knowledge, RARE[k], strlen(RARE[k]));
        assert_non_null(e->sign[k].known);
        snprintf(name[k], sizeof name[k], "%s", RARE[k]);
        row[k].what = name[k];
    }
    e->signs = 6;
    ch_sheet sheet;
    ch_sheet_init(&sheet);
    sheet.engine.cylinders = 3;
    sheet.observed = row;
    sheet.observed_count = 6;
    assert_int_equal(seen_from_sheet(&sheet, &knowledge, &e->seen, NULL), CH_OK);
    wrong_from_knowledge(&sheet, &knowledge, &e->seen, &e->wrong);
    /* 64 terms of inclusion and exclusion leave a chance of some 1e-31: their rounding is 3e-5 of it, which no answer shows. */
    expect_enumerated(e, 1e-4);
    free(e);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sums_over_causes_are_those_of_enumeration),
        cmocka_unit_test(bent_valves_are_told_of_the_cylinders_that_the_drive_reaches),
        cmocka_unit_test(a_cause_that_all_speaks_against_drops_out_alone),
        cmocka_unit_test(sums_over_causes_hold_with_the_built_in_priors),
        cmocka_unit_test(six_rare_signs_on_a_sound_engine_keep_their_digits),
    };
    return cmocka_run_group_tests(tests, load, unload);
}

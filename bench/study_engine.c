/* Drawing virtual engines: what the owner knows of one, and what nobody sees.
 *
 * The distributions are those of docs/method.md, "Tracing", and of knowledge/; nothing here goes through the stand-in. Only the chances of
 * the ways an engine can be wrong are taken from the tracing itself (wrong.c), so that both mean the same prior. */
#include "study_engine.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../src/trace/parts.h"
#include "crosshatch/prior.h"

#define PI 3.14159265358979323846

static double between(ch_stream *stream, double low, double high)
{
    return low + (high - low) * ch_stream_uniform(stream);
}

static bool happens(ch_stream *stream, double chance_1)
{
    return ch_stream_uniform(stream) < chance_1;
}

static ch_quantity given(double si)
{
    ch_quantity quantity = ch_quantity_none();
    quantity.si = si;
    quantity.unit = ch_unit_find("Pa", 2); /* any unit: a quantity without one was not given */
    return quantity;
}

void study_knowledge_raise(ch_knowledge *knowledge)
{
    for (int c = 1; c < CH_CAUSE_COUNT; c++) {
        ch_knowledge_cause *cause = &knowledge->causes[c];
        cause->prior_1 = fmin(cause->prior_1 * (cause->scope == CH_SCOPE_PAIR ? 6.0 : 3.0), 0.2);
        cause->together_chance_1 = fmin(cause->together_chance_1 * (cause->together_chance_1 < 0.03 ? 3.0 : 1.0), 0.2);
    }
}

/* ---- what the owner knows ---- */

static void draw_engine(ch_stream *stream, ch_sheet_engine *engine)
{
    static const int CYLINDERS[] = {4, 4, 4, 4, 4, 4, 6, 6, 8, 2, 3, 5};
    engine->cylinders =
        CYLINDERS[(size_t)(ch_stream_uniform(stream) * (double)(sizeof CYLINDERS / sizeof CYLINDERS[0]))];
    if (happens(stream, 0.7))
        engine->layout = engine->cylinders == 8                               ? CH_LAYOUT_VEE
                         : engine->cylinders % 2 == 0 && happens(stream, 0.2) ? CH_LAYOUT_FLAT
                                                                              : CH_LAYOUT_INLINE;
    if (happens(stream, 0.3))
        return; /* nothing but the number of cylinders */
    engine->compression_ratio = between(stream, 8.0, 11.5);
    if (happens(stream, 0.3))
        return;
    const double bore_m = between(stream, 0.070, 0.100), stroke_m = bore_m * between(stream, 0.80, 1.15);
    engine->bore = given(bore_m);
    engine->stroke = given(stroke_m);
    engine->rod_length = given(stroke_m * between(stream, 1.5, 1.8));
    if (happens(stream, 0.4))
        return;
    const double degree = PI / 180.0;
    engine->timing.intake_opens_btdc = given(between(stream, 0.0, 25.0) * degree);
    engine->timing.intake_closes_abdc = given(between(stream, 35.0, 70.0) * degree);
    engine->timing.exhaust_opens_bbdc = given(between(stream, 35.0, 70.0) * degree);
    engine->timing.exhaust_closes_atdc = given(between(stream, 0.0, 25.0) * degree);
    if (happens(stream, 0.6))
        engine->timing.at_lift = given(between(stream, 0.1e-3, 0.3e-3));
}

static void draw_gauge(ch_stream *stream, ch_sheet_gauge *gauge)
{
    if (happens(stream, 0.5))
        return;
    const double psi = 6894.757293168361;
    static const double STEP[] = {1.0, 2.0, 2.5, 5.0};
    gauge->span = given(300.0 * psi);
    gauge->accuracy_kind = CH_ACCURACY_OF_SPAN;
    gauge->accuracy = given(between(stream, 0.01, 0.03));
    gauge->resolution = given(STEP[(size_t)(ch_stream_uniform(stream) * 4.0)] * psi);
    if (happens(stream, 0.4))
        return;
    gauge->hose_volume = given(between(stream, 5e-6, 25e-6));
    gauge->dead_volume = given(between(stream, 0.5e-6, 6e-6));
    gauge->valve_area = given(between(stream, 0.5e-6, 2e-6));
    gauge->opening_pressure = given(between(stream, 2e3, 15e3));
}

static void draw_day(ch_stream *stream, ch_sheet_conditions *day)
{
    if (happens(stream, 0.5))
        day->odometer = given(ch_stream_lognormal(stream, 150e6, 0.4));
    if (happens(stream, 0.4))
        return;
    day->throttle = CH_THROTTLE_OPEN;
    day->altitude = given(between(stream, 0.0, 1500.0));
    day->air_temperature = given(between(stream, 273.0, 305.0));
    day->engine_temperature = given(happens(stream, 0.3) ? day->air_temperature.si : between(stream, 325.0, 365.0));
    if (happens(stream, 0.4))
        return;
    day->cranking_speed = given(between(stream, 150.0, 320.0) * 2.0 * PI / 60.0);
    day->strokes = 5 + (int)(ch_stream_uniform(stream) * 6.0);
}

static ch_status draw_history(const ch_knowledge *knowledge, ch_stream *stream, ch_sheet *sheet, ch_err *err)
{
    if (!happens(stream, 0.25))
        return CH_OK;
    const size_t start = (size_t)(ch_stream_uniform(stream) * (double)knowledge->observations_count);
    for (size_t i = 0; i < knowledge->observations_count; i++) {
        const ch_knowledge_observation *one = &knowledge->observations[(start + i) % knowledge->observations_count];
        if (one->kind != CH_OBSERVATION_HISTORY)
            continue;
        sheet->observed = calloc(1, sizeof *sheet->observed);
        char *what = malloc(strlen(one->id) + 1);
        if (sheet->observed == NULL || what == NULL) {
            free(what);
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for an observation");
        }
        sheet->observed[0].what = strcpy(what, one->id);
        sheet->observed_count = 1;
        return CH_OK;
    }
    return CH_OK;
}

/* ---- what nobody sees ---- */

static double draw_mixture(ch_stream *stream, const ch_mixture *mixture)
{
    double left = ch_stream_uniform(stream);
    size_t part = 0;
    while (part + 1 < mixture->count && left >= mixture->part[part].weight_1)
        left -= mixture->part[part++].weight_1;
    return ch_stream_lognormal(stream, mixture->part[part].median, mixture->part[part].spread_1);
}

/* General wear: the part of the smallest areas, one time in ten those between (docs/method.md, "Tracing"). */
static double draw_wear(ch_stream *stream, const ch_mixture *areas)
{
    ch_mixture usual = {.count = 1}, stuck = {.count = 0};
    size_t largest = 0, smallest = 0;
    double between_1 = 0.0;
    for (size_t i = 1; i < areas->count; i++) {
        largest = areas->part[i].median > areas->part[largest].median ? i : largest;
        smallest = areas->part[i].median < areas->part[smallest].median ? i : smallest;
    }
    usual.part[0] = areas->part[smallest];
    usual.part[0].weight_1 = 1.0;
    for (size_t i = 0; i < areas->count; i++)
        between_1 += i != largest && i != smallest ? areas->part[i].weight_1 : 0.0;
    for (size_t i = 0; i < areas->count; i++)
        if (i != largest && i != smallest) {
            stuck.part[stuck.count] = areas->part[i];
            stuck.part[stuck.count++].weight_1 /= between_1;
        }
    return draw_mixture(stream, stuck.count > 0 && happens(stream, 0.10) ? &stuck : &usual);
}

static int draw_path(ch_stream *stream, const ch_knowledge_cause *cause)
{
    double left = ch_stream_uniform(stream);
    for (int p = 0; p < CH_PATH_COUNT; p++) {
        if (left < cause->path_chance_1[p])
            return p;
        left -= cause->path_chance_1[p];
    }
    return NO_PATH;
}

static ch_cause draw_cause(ch_stream *stream, const double chance_1[CH_CAUSE_COUNT])
{
    double left = ch_stream_uniform(stream);
    int c = 0;
    while (c + 1 < CH_CAUSE_COUNT && left >= chance_1[c])
        left -= chance_1[c++];
    return (ch_cause)c;
}

/* What a cause of one cylinder alone does to it. */
static void strike(ch_stream *stream, const ch_knowledge *knowledge, ch_cause cause, virtual_cylinder *cylinder)
{
    const ch_knowledge_cause *known = &knowledge->causes[cause];
    cylinder->cause = cause;
    cylinder->oil_seals = happens(stream, known->oil_seals_1);
    cylinder->path = draw_path(stream, known);
    if (cylinder->path != NO_PATH && known->areas_m2.count > 0)
        cylinder->extra_m2 = draw_mixture(stream, &known->areas_m2);
    else if (known->filling_1.count > 0)
        cylinder->filling_1 = draw_mixture(stream, &known->filling_1);
    if (known->reading_1.count > 0) {
        cylinder->leakdown_wrong = happens(stream, known->leakdown_wrong_1);
        cylinder->reading_1 = draw_mixture(stream, &known->reading_1);
    }
}

/* Wear differs between the cylinders of a worn engine: standard deviation of its logarithm (docs/method.md, "Tracing"). */
static const double WEAR_SCATTER = 0.35;
/* The same where valves, pistons or gaskets are struck together (likewise). */
static const double OTHER_SCATTER = 0.70;
/* Part of the engines with the cam drive off in which valves are bent, and of these the cylinders that are struck (likewise). */
static const double BENT_1 = 0.3, BENT_EACH_1 = 0.75;
/* The same of what washed or dry bores cost. */
static const double WASHED_SCATTER = 0.35;

static void strike_together(ch_stream *stream, const ch_knowledge *knowledge, const hypothesis *how,
                            virtual_engine *engine)
{
    const ch_cause cause = how->together;
    const ch_knowledge_cause *known = &knowledge->causes[cause];
    engine->together = cause;
    /* One level in all of them, or in all of them no leak: oil rings worn under gas rings that hold. */
    const bool leaks = known->areas_m2.count > 0 && known->no_path_chance_1 < 0.5;
    const bool seals = leaks && known->filling_1.count == 0 && happens(stream, known->no_path_chance_1);
    const double level_m2 = cause == CH_CAUSE_RINGS_OR_BORE ? draw_wear(stream, &known->areas_m2)
                            : leaks                         ? draw_mixture(stream, &known->areas_m2)
                                                            : 0.0;
    const double filling_1 = known->filling_1.count > 0 ? draw_mixture(stream, &known->filling_1) : 1.0;
    /* A cam drive that let go has bent valves to one level; it passes some cylinders by, which only do not fill, each its own way. */
    const bool bent = cause == CH_CAUSE_CAM_OR_TIMING && known->no_path_chance_1 < 1.0 && happens(stream, BENT_1);
    const double bent_m2 = bent ? draw_mixture(stream, &known->areas_m2) : 0.0;
    const double reading_1 = known->reading_1.count > 0 ? draw_mixture(stream, &known->reading_1) : 1.0;
    /* Either the leak-down tester misleads wherever it is put, or the gauge; half of what spoils the gauge's readings spoils all alike, a tenth
     * lets them fall in the order taken, and the rest (bores washed or dry) each its own way. */
    const bool several = (engine->leakdown_plan & (engine->leakdown_plan - 1u)) != 0;
    const bool tester = known->reading_1.count > 0 && several && happens(stream, known->leakdown_wrong_1);
    if (tester && happens(stream, 0.5))
        engine->tester_loss_1 = ch_stream_uniform(stream);
    const double which = ch_stream_uniform(stream), own_way = which < 0.4 ? WASHED_SCATTER : 0.0;
    const double drift =
        which > 0.9 ? ch_stream_lognormal(stream, 0.2, 0.5) : 0.0; /* readings fall in the order taken */
    for (int i = 0; i < engine->cylinders; i++) {
        virtual_cylinder *c = &engine->cylinder[i];
        const bool out_of_reach = how->bank > 0 && !wrong_in_bank(how->bank, i, engine->cylinders);
        if (!happens(stream, how->share_1) || out_of_reach || (tester && (engine->leakdown_plan >> i & 1u) == 0))
            continue;
        const virtual_cylinder before = *c;
        if (happens(stream, how->stays_1[before.cause]))
            continue;
        /* A small hole into the coolant stays, beneath what misleads the readings. */
        const bool beneath =
            how->beneath_1[before.cause] > 0.0 && before.path == CH_PATH_COOLANT && before.extra_m2 < 0.3e-6;
        *c = (virtual_cylinder){.ring_m2 = before.ring_m2,
                                .filling_1 = 1.0,
                                .reading_1 = 1.0,
                                .path = NO_PATH,
                                .partner = NO_PARTNER,
                                .chamber_1 = before.chamber_1};
        memcpy(c->beside_m2, before.beside_m2, sizeof c->beside_m2);
        strike(stream, knowledge, cause, c);
        c->with_others = true;
        if (leaks) {
            const double scatter = cause == CH_CAUSE_RINGS_OR_BORE ? WEAR_SCATTER : OTHER_SCATTER;
            while (!seals && c->path == NO_PATH)
                c->path = draw_path(stream, known);
            c->path = seals ? NO_PATH : c->path;
            c->extra_m2 = seals ? 0.0 : level_m2 * exp(scatter * ch_stream_normal(stream));
        }
        if (known->filling_1.count > 0) {
            c->path = NO_PATH;
            c->extra_m2 = 0.0;
            c->filling_1 = bent ? draw_mixture(stream, &known->filling_1) : filling_1;
        }
        if (bent && happens(stream, BENT_EACH_1)) {
            while (c->path == NO_PATH)
                c->path = draw_path(stream, known);
            c->extra_m2 = bent_m2 * exp(OTHER_SCATTER * ch_stream_normal(stream));
            c->filling_1 = 1.0;
        }
        c->reading_1 = known->reading_1.count == 0 ? 1.0
                       : drift > 0.0               ? exp(-drift * i / (engine->cylinders - 1))
                                                   : reading_1 * exp(own_way * ch_stream_normal(stream));
        c->leakdown_wrong = tester;
        if (beneath) {
            c->cause = before.cause;
            c->with_others = false;
            c->path = before.path;
            c->extra_m2 = before.extra_m2;
        }
    }
}

static void strike_pair(ch_stream *stream, const ch_knowledge *knowledge, const int pair[2], virtual_engine *engine)
{
    const ch_knowledge_cause *known = &knowledge->causes[CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS];
    const double area_m2 = draw_mixture(stream, &known->areas_m2);
    for (int k = 0; k < 2; k++) {
        virtual_cylinder *c = &engine->cylinder[pair[k]];
        c->cause = CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS;
        c->with_others = true;
        c->path = CH_PATH_NEIGHBOUR;
        c->extra_m2 = area_m2;
        c->partner = pair[1 - k];
        c->filling_1 = c->reading_1 = 1.0;
        c->leakdown_wrong = false;
    }
}

static void draw_faults(const ch_knowledge *knowledge, const wrong *w, ch_stream *stream, virtual_engine *engine)
{
    double left = ch_stream_uniform(stream);
    int h = 0;
    while (h + 1 < w->hypotheses && left >= w->hypothesis[h].prior_1)
        left -= w->hypothesis[h++].prior_1;
    for (int i = 0; i < engine->cylinders; i++)
        strike(stream, knowledge, draw_cause(stream, w->prior_1[i]), &engine->cylinder[i]);
    if (w->hypothesis[h].together != CH_CAUSE_SOUND)
        strike_together(stream, knowledge, &w->hypothesis[h], engine);
    const hypothesis *burnt = &w->hypothesis[h];
    if (burnt->pair_too) { /* worn, and a gasket gone as well */
        double pair_1[HYPOTHESES_MAX];
        wrong_pairs_1(w, pair_1);
        left = ch_stream_uniform(stream);
        int p = 0;
        while (p < w->hypotheses && left >= pair_1[p])
            left -= pair_1[p++];
        burnt = p < w->hypotheses ? &w->hypothesis[p] : &w->hypothesis[0];
    }
    if (burnt->pair[0] >= 0)
        strike_pair(stream, knowledge, burnt->pair, engine);
}

static void draw_shared(const ch_knowledge *knowledge, const ch_sheet *sheet, ch_stream *stream, virtual_engine *engine)
{
    const ch_setup *setup = &engine->setup;
    ch_doubts doubts;
    ch_doubts_from_setup(setup, &doubts);
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        engine->offset[d] = doubts.sd[d] * ch_stream_normal(stream);
    measured gauge;
    measured_from_sheet(sheet, setup, &gauge);
    engine->gain_1 = 1.0 + gauge.u_gain_1 * ch_stream_normal(stream);
    engine->zero_pa = gauge.u_zero_pa * ch_stream_normal(stream);
    /* 2.5 psi (trade practice: repeats within 2 to 4), itself in doubt: with eight degrees of freedom Student's t results. */
    double squares = 0.0;
    for (int i = 0; i < 8; i++) {
        const double z = ch_stream_normal(stream);
        squares += z * z;
    }
    engine->repeat_pa = 17.2e3 * sqrt(8.0 / squares);
    engine->oil_factor_1 = fmin(0.35 * exp(0.4 * ch_stream_normal(stream)), 1.0);
    engine->oil_kept_1 = exp(ch_stream_normal(stream));
    engine->standing_1 = STANDING_MEDIAN_1 * exp(0.5 * ch_stream_normal(stream));
    engine->orifice_1 = exp(ch_stream_normal(stream));
    engine->listener_score = ch_stream_normal(stream);

    const ch_lognormal *rings = &knowledge->background_m2[CH_PATH_RINGS];
    const double cylinder_sd = CH_PRIOR_RING_SD_CYLINDER;
    const double engine_sd = sqrt(fmax(rings->spread_1 * rings->spread_1 - cylinder_sd * cylinder_sd, 0.01));
    const double engine_m2 = rings->median * setup->cranking.bore.bore_m / knowledge->background_rings_bore_m *
                             exp(engine_sd * ch_stream_normal(stream));
    for (int i = 0; i < engine->cylinders; i++) {
        virtual_cylinder *c = &engine->cylinder[i];
        *c = (virtual_cylinder){.filling_1 = 1.0, .reading_1 = 1.0, .path = NO_PATH, .partner = NO_PARTNER};
        c->ring_m2 = engine_m2 * exp(cylinder_sd * ch_stream_normal(stream));
        for (int p = 0; p < CH_PATH_COUNT; p++)
            if (p != CH_PATH_RINGS)
                c->beside_m2[p] = ch_stream_lognormal(stream, knowledge->background_m2[p].median,
                                                      knowledge->background_m2[p].spread_1);
        c->chamber_1 = 1.0 + 0.02 * ch_stream_normal(stream);
    }
}

ch_status virtual_engine_draw(const ch_knowledge *knowledge, bool more, ch_stream *stream, virtual_engine *engine,
                              ch_sheet *sheet, ch_err *err)
{
    ch_sheet_init(sheet);
    draw_engine(stream, &sheet->engine);
    draw_gauge(stream, &sheet->gauge);
    draw_day(stream, &sheet->conditions);
    ch_status rc = draw_history(knowledge, stream, sheet, err);
    *engine = (virtual_engine){.cylinders = sheet->engine.cylinders, .together = CH_CAUSE_SOUND, .tester_loss_1 = NAN};
    if (rc >= 0)
        rc = ch_setup_from_sheet(sheet, CH_PRIOR_UNSTATED_LIFT_M, &engine->setup, err);
    seen history;
    if (rc >= 0)
        rc = seen_from_sheet(sheet, knowledge, &history, err);
    if (rc < 0) {
        ch_sheet_clear(sheet);
        return rc;
    }
    draw_shared(knowledge, sheet, stream, engine);
    /* On all cylinders, or on one of them: the plan comes before the faults, as only a test that is done can be what is wrong. */
    if (more && happens(stream, 0.45))
        engine->leakdown_plan = happens(stream, 0.6) ? (1u << engine->cylinders) - 1u
                                                     : 1u << (int)(ch_stream_uniform(stream) * engine->cylinders);
    wrong w;
    ch_reading planned[CH_CYLINDERS_MAX]; /* every cylinder's compression is going to be measured */
    ch_sheet measured_sheet = *sheet;
    for (int i = 0; i < engine->cylinders; i++)
        planned[i] = (ch_reading){.cylinder = i + 1};
    measured_sheet.compression = planned;
    measured_sheet.compression_count = (size_t)engine->cylinders;
    wrong_from_knowledge(&measured_sheet, knowledge, &history, &w);
    draw_faults(knowledge, &w, stream, engine);
    for (int i = 0; i < engine->cylinders; i++)
        if ((engine->leakdown_plan >> i & 1u) == 0)
            engine->cylinder[i].leakdown_wrong = false;
    return CH_OK;
}

double virtual_area_m2(const virtual_cylinder *cylinder)
{
    double sum = cylinder->ring_m2 + cylinder->extra_m2;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        sum += cylinder->beside_m2[p];
    return sum;
}

bool virtual_is_faulty(const virtual_cylinder *cylinder)
{
    return cylinder->cause != CH_CAUSE_SOUND && cylinder->cause != CH_CAUSE_MEASUREMENT_ERROR;
}

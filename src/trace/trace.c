/* Tracing a sheet: what is measured and seen put together, the draws' sums turned into causes, areas and checks.
 *
 * Only the shared state is drawn (rounds.c); everything else is summed exactly at each of its states. */
#include "crosshatch/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/do_not_run.h"
#include "crosshatch/expected.h"

#include "parts.h"

/* Fewer effective draws than this and no answer is given. */
static const double LEAST_EFFECTIVE = 40.0;

/* Everything on the heap of one run. */
typedef struct workspace {
    measured measured;
    seen seen;
    wrong wrong;
    weigh_frame frame;
    sums sums;
    order_room room;
} workspace;

/* The stand-in for dry cranking, or for cranking with some oil above the piston, where it does not stand yet. */
static ch_status stand_in(const ch_setup *setup, int cylinders, const ch_doubts *doubts, const ch_oil *oil,
                          const ch_crew *crew, trace_stand_in *kept, ch_err *err)
{
    const double oil_m3 = oil != NULL ? oil->retained_m3 : 0.0;
    if (kept->built && kept->oil_m3 == oil_m3)
        return CH_OK;
    kept->built = false;
    const ch_status rc = ch_emulator_build(setup, cylinders, doubts, oil, crew, &kept->emulator, err);
    kept->built = rc >= 0;
    kept->oil_m3 = oil_m3;
    return rc;
}

static ch_status build_frame(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                             const ch_doubts *doubts, const ch_crew *crew, trace_stand_ins *kept, workspace *ws,
                             ch_err *err)
{
    measured_from_sheet(sheet, setup, &ws->measured);
    ch_status rc = seen_from_sheet(sheet, knowledge, &ws->seen, err);
    if (rc < 0)
        return rc;
    wrong_from_knowledge(sheet, knowledge, &ws->seen, &ws->wrong);
    rc = stand_in(setup, sheet->engine.cylinders, doubts, NULL, crew, &kept->dry, err);
    if (rc < 0)
        return rc;
    ws->frame = (weigh_frame){.setup = setup,
                              .knowledge = knowledge,
                              .measured = &ws->measured,
                              .seen = &ws->seen,
                              .wrong = &ws->wrong,
                              .dry = &kept->dry.emulator};
    if (ws->measured.any_wet) {
        double dose_m3 = 0.0;
        int doses = 0;
        for (int c = 0; c < ws->measured.cylinders; c++)
            if (ws->measured.cylinder[c].wet.n > 0 && !isnan(ws->measured.cylinder[c].oil_m3)) {
                dose_m3 += ws->measured.cylinder[c].oil_m3;
                doses++;
            }
        dose_m3 = doses > 0 ? dose_m3 / doses : 8e-6; /* a good squirt: between the makers' teaspoon and tablespoon */
        const ch_oil oil = {.retained_m3 = fmin(0.65 * dose_m3, 0.5 * setup->cranking.clearance_m3)};
        ch_doubts wet_doubts = *doubts;
        wet_doubts.sd[CH_DOUBT_RATIO] = fmax(wet_doubts.sd[CH_DOUBT_RATIO], 0.08);
        rc = stand_in(setup, sheet->engine.cylinders, &wet_doubts, &oil, crew, &kept->wet, err);
        if (rc < 0)
            return rc;
        ws->frame.wet = &kept->wet.emulator;
        ws->frame.wet_base_m3 = oil.retained_m3;
    }
    weigh_frame_set(&ws->frame);
    return CH_OK;
}

static void sum_up(workspace *ws, const ch_sheet *sheet, const ch_trace_options *options, bool seek_checks,
                   const double expected_pa[3], double effective, ch_trace *trace)
{
    sums *s = &ws->sums;
    *trace = (ch_trace){
        .cylinders = ws->measured.cylinders, .effective_samples = effective, .reliable = effective >= LEAST_EFFECTIVE};
    trace->any_fault_1 = 1.0 - s->no_fault / s->weight;
    for (int i = 0; i < trace->cylinders; i++) {
        ch_trace_cylinder *c = &trace->cylinder[i];
        c->cylinder = i + 1;
        for (int cause = 0; cause < CH_CAUSE_COUNT; cause++) {
            c->cause_1[cause] = s->cause[i][cause] / s->weight;
            c->drawing_u_1[cause] =
                sqrt(fmax(s->cause_twice[i][cause] - 2.0 * c->cause_1[cause] * s->cause_once[i][cause] +
                              c->cause_1[cause] * c->cause_1[cause] * s->weight_squared,
                          0.0)) /
                s->weight;
            c->prior_1[cause] = ws->wrong.marginal_1[i][cause];
        }
        double all[FINE_STEPS], share = 0.0;
        sums_areas_together(s->leaking[i], s->tight[i], all);
        c->area_m2[0] = sums_area_quantile(ws->frame.dry, all, 0.05);
        c->area_m2[1] = sums_area_quantile(ws->frame.dry, all, 0.50);
        c->area_m2[2] = sums_area_quantile(ws->frame.dry, all, 0.95);
        for (int q = 0; q < CH_TRACE_LADDER; q++)
            c->ladder_m2[q] = sums_area_quantile(ws->frame.dry, all, (q + 1.0) / (CH_TRACE_LADDER + 1.0));
        for (int f = 0; f < FINE_STEPS; f++)
            share += all[f];
        for (int p = 0; p < CH_PATH_COUNT; p++)
            c->path_m2[p] = s->path_m2[i][p] / share;
        memcpy(c->expected_pa, expected_pa, sizeof c->expected_pa);
    }
    for (int d = 0; d < CH_DOUBT_COUNT; d++)
        trace->shared_shift[d] = s->score[d] / s->weight;
    if (!seek_checks)
        return;
    for (int i = 0; i < trace->cylinders; i++)
        s->by_cause[i].ring_m2 = ws->frame.ring_median_m2;
    double together_1[CH_CAUSE_COUNT];
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        together_1[c] = s->together[c] / s->weight;
    const checks_known known = {.frame = &ws->frame,
                                .sheet = sheet,
                                .areas = s->by_cause,
                                .together_1 = together_1,
                                .standing = options->standing,
                                .do_not_run = ch_do_not_run(sheet, ws->frame.knowledge)};
    checks_find(&known, &ws->room, trace);
}

ch_status trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                    const ch_trace_options *options, bool seek_checks, trace_stand_ins *kept, ch_trace *trace,
                    ch_err *err)
{
    const size_t samples = options->samples > 0 ? options->samples : CH_TRACE_SAMPLES;
    ch_doubts doubts;
    ch_doubts_from_setup(setup, &doubts);
    workspace *ws = calloc(1, sizeof *ws);
    if (ws == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to trace");
    double expected_pa[3], effective = 0.0;
    ch_status rc = build_frame(sheet, setup, knowledge, &doubts, options->crew, kept, ws, err);
    if (rc >= 0)
        rc = ch_expected_sound(ws->frame.dry, &doubts, setup, ws->measured.u_gain_1, options->seed, 1000, expected_pa,
                               err);
    if (rc >= 0) {
        shared_space space;
        shared_space_set(&doubts, knowledge, &ws->measured, &space);
        rc = rounds_run(&ws->frame, &space, options->seed, samples, options->crew, &ws->sums, &effective, err);
    }
    if (rc >= 0)
        sum_up(ws, sheet, options, seek_checks, expected_pa, effective, trace);
    free(ws);
    return rc;
}

ch_status ch_trace_run(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                       const ch_trace_options *options, ch_trace *trace, ch_err *err)
{
    trace_stand_ins *stand_ins = calloc(1, sizeof *stand_ins);
    if (stand_ins == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to trace");
    const ch_status rc = trace_run(sheet, setup, knowledge, options, true, stand_ins, trace, err);
    free(stand_ins);
    return rc;
}

double ch_trace_drawing_error_1(const ch_trace *trace)
{
    double most = 0.0;
    for (int i = 0; i < trace->cylinders; i++)
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            most = fmax(most, trace->cylinder[i].drawing_u_1[c]);
    return most;
}

/* Checks gone through one after the other on a virtual engine, each with an outcome drawn from its hidden state.
 *
 * Both orders have the same luck: what a test of an engine shows does not depend on what was done before it. The fixed order is common
 * practice: repeat, oil, air, valve clearance, vacuum gauge, borescope, then the cooling system, the cam drive and
 * the crankcase, all on the cylinder that reads lowest. */
#include "study_race.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/prior.h"
#include "crosshatch/trace.h"

static const char *const FIXED[] = {
    "repeat_reading",   "wet_test",     "leak_down", "lash_check", "vacuum_gauge",  "borescope",         "gas_test",
    "coolant_pressure", "timing_marks", "cam_lift",  "plugs",      "power_balance", "crankcase_pressure"};
enum { FIXED_COUNT = sizeof FIXED / sizeof FIXED[0], STEPS_MAX = 24 };

static const double SURE_1 = 0.9;

typedef struct race_luck {
    uint64_t seed, index;
} race_luck;

/* A deep copy of what the checks add to: rows and observations. */
static ch_status sheet_copy(const ch_sheet *from, ch_sheet *to, ch_err *err)
{
    *to = *from;
    to->compression = malloc((from->compression_count + 1) * sizeof *to->compression);
    to->observed = calloc(from->observed_count + 1, sizeof *to->observed);
    to->wet = NULL;
    to->leakdown = NULL;
    to->wet_count = to->leakdown_count = to->observed_count = to->compression_count = 0;
    if (to->compression == NULL || to->observed == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a sheet");
    memcpy(to->compression, from->compression, from->compression_count * sizeof *to->compression);
    to->compression_count = from->compression_count;
    for (size_t i = 0; i < from->observed_count; i++) {
        to->observed[i] = from->observed[i];
        to->observed[i].what = malloc(strlen(from->observed[i].what) + 1);
        if (to->observed[i].what == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a sheet");
        strcpy(to->observed[i].what, from->observed[i].what);
        to->observed_count++;
    }
    return CH_OK;
}

/* Has this sign been looked for on this cylinder already? Looking again finds the same. */
static bool looked_for(const ch_sheet *sheet, const ch_knowledge_observation *sign, int cylinder)
{
    for (size_t k = 0; k < sheet->observed_count; k++)
        if (strcmp(sheet->observed[k].what, sign->id) == 0 &&
            (sheet->observed[k].cylinder == 0 || sheet->observed[k].cylinder == cylinder + 1))
            return true;
    return false;
}

/* Luck of one draw: the same test of the same engine turns out the same whatever was done before it, in either order. */
static ch_stream luck_of(const race_luck *luck, size_t kind, size_t which)
{
    ch_stream stream;
    ch_stream_init(&stream, luck->seed ^ 0x5eedul, (luck->index * 8 + kind) * 1024 + which);
    return stream;
}

/* Do a check on one cylinder; its signs are found or not by the true cause. */
static ch_status check_do(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_knowledge_check *check,
                          int cylinder, const race_luck *luck, ch_sheet *sheet, ch_err *err)
{
    enum { READINGS, SIGNS };
    ch_stream stream = luck_of(luck, READINGS, (size_t)(check - knowledge->checks));
    ch_status rc = CH_OK;
    if ((check->rows & CH_ROWS_COMPRESSION) != 0)
        rc = virtual_dry(engine, cylinder, false, &stream, sheet, err);
    if (rc >= 0 && (check->rows & CH_ROWS_WET) != 0)
        rc = virtual_wet(engine, cylinder, true, &stream, sheet, err);
    if (rc >= 0 && (check->rows & CH_ROWS_LEAKDOWN) != 0)
        rc = virtual_leakdown(engine, knowledge, cylinder, true, &stream, sheet, err);
    for (size_t y = 0; y < check->yields.count && rc >= 0; y++) {
        const ch_knowledge_observation *sign = &knowledge->observations[check->yields.at[y]];
        stream = luck_of(luck, SIGNS, check->yields.at[y]);
        if (!looked_for(sheet, sign, cylinder))
            rc = virtual_look(engine, sign, cylinder, &stream, sheet, err);
    }
    return rc;
}

static ch_status trace_quick(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_sheet *sheet,
                             uint64_t seed, unsigned standing, ch_trace *trace, ch_err *err)
{
    const ch_trace_options options = {.seed = seed, .samples = 400, .standing = standing};
    return ch_trace_run(sheet, &engine->setup, knowledge, &options, trace, err);
}

/* The next check of the lowest cylinder or of the engine: as recommended, and, where nothing is or that is not wanted, the next of the fixed
 * order. False where there is none. */
static bool next_check(const ch_knowledge *knowledge, const ch_trace *trace, bool recommended, int low, bool done[],
                       const ch_knowledge_check **check)
{
    for (size_t k = 0; recommended && k < trace->next_check_count; k++) {
        const ch_trace_check *one = &trace->next_check[k];
        const size_t at = (size_t)(one->check - knowledge->checks);
        if (done[at] || (one->cylinder != 0 && one->cylinder != low + 1))
            continue;
        done[at] = true;
        *check = one->check;
        return true;
    }
    for (size_t k = 0; k < FIXED_COUNT; k++) {
        const ch_knowledge_check *one = ch_knowledge_check_find(knowledge, FIXED[k], strlen(FIXED[k]));
        if (one == NULL || done[one - knowledge->checks])
            continue;
        done[one - knowledge->checks] = true;
        *check = one;
        return true;
    }
    return false;
}

/* Minutes of a check behind what stands prepared, and what stands after it. The same for both orders. */
static double minutes_behind(const ch_knowledge *knowledge, const ch_knowledge_check *check, unsigned *standing)
{
    double time_s = check->setup_s + check->each_s;
    if (check->runs)
        *standing = 0;
    for (size_t p = 0; p < check->prepares.count; p++) {
        const size_t at = check->prepares.at[p];
        if ((*standing >> at & 1U) != 0)
            time_s -= knowledge->preparations[at].time_s;
        *standing |= 1U << at;
    }
    return time_s / 60.0;
}

static ch_status race_one(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_sheet *dry,
                          bool recommended, int target, const race_luck *luck, double *minutes, bool *reached,
                          ch_err *err)
{
    enum { CHECKS_MAX = 64 };
    bool done[CHECKS_MAX] = {false};
    unsigned standing = 0;
    ch_sheet sheet;
    ch_trace *trace = calloc(1, sizeof *trace);
    ch_status rc = trace != NULL ? sheet_copy(dry, &sheet, err) : ch_fail(err, CH_E_MEMORY, NULL, "no memory to trace");
    if (trace == NULL)
        return rc;
    *minutes = 0.0;
    *reached = false;
    const int low = virtual_lowest(dry);
    for (int step = 0; step < STEPS_MAX && rc >= 0; step++) {
        rc = trace_quick(engine, knowledge, &sheet, luck->seed, standing, trace, err);
        if (rc < 0)
            break;
        *reached = trace->cylinder[target].cause_1[engine->cylinder[target].cause] >= SURE_1;
        const ch_knowledge_check *check = NULL;
        if (*reached || *minutes >= MINUTES_MOST || !next_check(knowledge, trace, recommended, low, done, &check))
            break;
        *minutes += minutes_behind(knowledge, check, &standing);
        rc = check_do(engine, knowledge, check, low, luck, &sheet, err);
    }
    if (!*reached || *minutes > MINUTES_MOST)
        *minutes = MINUTES_MOST;
    sheet.title = sheet.note = NULL; /* the original's */
    ch_sheet_clear(&sheet);
    free(trace);
    return rc;
}

ch_status race_run(const virtual_engine *engine, const ch_knowledge *knowledge, const ch_sheet *dry, uint64_t seed,
                   uint64_t index, engine_result *result, ch_err *err)
{
    int target = virtual_lowest(dry);
    if (engine->cylinder[target].cause == CH_CAUSE_SOUND)
        return CH_OK;
    const race_luck luck = {.seed = seed, .index = index};
    ch_status rc = CH_OK;
    for (int fixed = 0; fixed < 2 && rc >= 0; fixed++)
        rc = race_one(engine, knowledge, dry, fixed == 0, target, &luck, &result->minutes[fixed],
                      &result->reached[fixed], err);
    result->raced = rc >= 0;
    return rc;
}

/* Which fault still stands, see ready_standing.h. */
#include "crosshatch/ready_standing.h"

#include <math.h>

static double wrong_of(const ch_history_cylinder *one)
{
    return 1.0 - one->cause_1[CH_CAUSE_SOUND] - one->cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

static double highest_pa(const ch_history_result *r)
{
    double most_pa = 0.0;
    for (int c = 0; c < r->cylinders; c++)
        if (r->cylinder[c].n > 0 && r->cylinder[c].mean_pa > most_pa)
            most_pa = r->cylinder[c].mean_pa;
    return most_pa;
}

/* ---------------------------------------------------------------- whom a sheet blames */

/* Place of the cylinder that read lowest; -1 where none was measured dry. */
static int lowest(const ch_history_result *r)
{
    int low = -1;
    for (int c = 0; c < r->cylinders; c++)
        if (r->cylinder[c].n > 0 && (low < 0 || r->cylinder[c].mean_pa < r->cylinder[low].mean_pa))
            low = c;
    return low;
}

/* Leaks into the coolant are weighed over all cylinders together: no one of them needs to be likely. */
static double coolant_1(const ch_history_result *r)
{
    double sum = 0.0;
    for (int c = 0; c < r->cylinders; c++)
        sum += r->cylinder[c].cause_1[CH_CAUSE_HEAD_GASKET_TO_COOLANT] + r->cylinder[c].cause_1[CH_CAUSE_CRACKED_HEAD];
    return sum;
}

/* Of a sheet that says fault. *all where no cylinder stands out. */
static void blame(const ch_history_result *r, bool blamed[CH_CYLINDERS_MAX], bool *all)
{
    int any = 0, broken = 0;
    for (int c = 0; c < r->cylinders; c++) {
        blamed[c] = r->cylinder[c].broken || (r->reliable && wrong_of(&r->cylinder[c]) >= CH_READY_FAULT_1);
        any += blamed[c];
        broken += r->cylinder[c].broken;
    }
    const int low = lowest(r);
    *all = (broken > 1 && broken == r->cylinders) ||
           (any == 0 && (low < 0 || (r->reliable && coolant_1(r) >= CH_READY_FAULT_1)));
    if (any == 0 && !*all)
        blamed[low] = true;
    for (int c = 0; *all && c < r->cylinders; c++)
        blamed[c] = true;
}

/* ---------------------------------------------------------------- what could have seen it */

static int likeliest_fault(const ch_history_cylinder *one)
{
    int first = CH_CAUSE_SOUND + 1;
    for (int k = first + 1; k < CH_CAUSE_MEASUREMENT_ERROR; k++)
        if (one->cause_1[k] > one->cause_1[first])
            first = k;
    return first;
}

static unsigned seen_by(const ch_history_result *r, int c)
{
    const ch_history_cylinder *one = &r->cylinder[c];
    const int cause = r->reliable ? likeliest_fault(one) : CH_CAUSE_COUNT;
    const bool low = one->n > 0 && one->mean_pa < CH_HISTORY_WATCH_1 * highest_pa(r),
               to_coolant = cause == CH_CAUSE_HEAD_GASKET_TO_COOLANT || cause == CH_CAUSE_CRACKED_HEAD;
    if (!low && (one->leakdowns > 0 || to_coolant))
        return CH_READY_BY_LEAKDOWN;
    return cause == CH_CAUSE_CAM_OR_TIMING ? CH_READY_BY_COMPRESSION : CH_READY_BY_COMPRESSION | CH_READY_BY_LEAKDOWN;
}

static bool shows_none(const ch_history_result *r, int c, unsigned by)
{
    if (c >= r->cylinders || !r->reliable || r->unreadable)
        return false;
    const ch_history_cylinder *one = &r->cylinder[c];
    const bool tested =
        ((by & CH_READY_BY_COMPRESSION) != 0 && one->n > 0) || ((by & CH_READY_BY_LEAKDOWN) != 0 && one->leakdowns > 0);
    return tested && wrong_of(one) < CH_READY_FAULT_1 && one->cause_1[CH_CAUSE_MEASUREMENT_ERROR] < CH_READY_FAULT_1;
}

/* What a sheet that says fault on its own account blames is not cleared by it, even where its tracing does not. */
static bool clears(const ch_history_sheet *sheet, int c, unsigned by)
{
    bool blamed[CH_CYLINDERS_MAX] = {false}, all = false;
    if (sheet->result.verdict == CH_VERDICT_FAULT)
        blame(&sheet->result, blamed, &all);
    return !blamed[c] && shows_none(&sheet->result, c, by);
}

/* All that is on record of an engine. */
typedef struct record {
    const ch_history_sheet *sheet;
    size_t sheets;
    const ch_history_repair *repair;
    size_t repairs;
    ch_date today;
} record;

/* Of a day that is not known, or that cannot be, nobody can say that it was later. */
static bool has_a_day(const ch_history_sheet *sheet, ch_date today)
{
    return !sheet->day_assumed && !ch_history_to_come(sheet->day, today);
}

static bool stands(const ch_history_sheet *of, int c, unsigned by, const record *all)
{
    if (ch_history_repaired(all->repair, all->repairs, of->day, c + 1, all->today))
        return false;
    for (size_t i = 0; i < all->sheets; i++)
        if (ch_history_later(&all->sheet[i], of) && has_a_day(&all->sheet[i], all->today) &&
            clears(&all->sheet[i], c, by))
            return false;
    return true;
}

/* ---------------------------------------------------------------- all of them */

/* What of one sheet still stands, with the worst of its cylinders. False where nothing does. */
static bool standing_of(const ch_history_sheet *of, const record *on, ch_ready_fault *fault)
{
    bool blamed[CH_CYLINDERS_MAX] = {false}, all = false;
    int count = 0;
    ch_ready_fault found = {.sheet_id = of->id,
                            .day = of->day,
                            .day_assumed = of->day_assumed,
                            .day_to_come = ch_history_to_come(of->day, on->today),
                            .wrong_1 = NAN};
    blame(&of->result, blamed, &all);
    for (int c = 0; c < of->result.cylinders; c++) {
        const unsigned by = seen_by(&of->result, c);
        if (!blamed[c] || !stands(of, c, by, on))
            continue;
        found.do_not_run = found.do_not_run || of->result.cylinder[c].broken;
        const double likely_1 = of->result.reliable ? wrong_of(&of->result.cylinder[c]) : NAN,
                     wrong_1 = likely_1 >= CH_READY_FAULT_1 ? likely_1 : NAN; /* else it is a limit that was broken */
        if (count++ == 0 || wrong_1 > found.wrong_1) {
            found.cylinder = c + 1;
            found.wrong_1 = wrong_1;
            found.seen_by = by;
        }
    }
    found.more = count - 1;
    if (all) { /* which of them, nobody knows */
        found.cylinder = 0;
        found.wrong_1 = NAN;
        found.more = 0;
    }
    if (count > 0)
        *fault = found;
    return count > 0;
}

void ch_ready_standing(const ch_history_sheet sheet[], size_t sheets, const ch_history_repair repair[], size_t repairs,
                       ch_date today, ch_ready_engine *engine)
{
    const record all = {sheet, sheets, repair, repairs, today};
    const ch_history_sheet *newest = ch_history_newest(sheet, sheets, repair, repairs, today), *last = NULL;
    engine->day = newest != NULL ? newest->day : (ch_date){0};
    engine->day_assumed = newest != NULL && newest->day_assumed;
    engine->cylinder = 0;
    engine->wrong_1 = NAN;
    if (newest != NULL) {
        engine->verdict = newest->result.verdict;
        engine->cylinder = ch_history_worst(&newest->result, &engine->wrong_1);
    }
    engine->fault = (ch_ready_fault){.wrong_1 = NAN};
    for (size_t i = 0; i < sheets; i++)
        if (sheet[i].result.verdict == CH_VERDICT_FAULT && (last == NULL || ch_history_later(&sheet[i], last)) &&
            standing_of(&sheet[i], &all, &engine->fault))
            last = &sheet[i];
}

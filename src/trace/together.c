/* Leaks that strike an engine as a whole do so at one level: worn rings of about one size in all cylinders, valves that water, heat or a missed
 * gear has got at about as badly. The levels are the same at every shared state; a cylinder's own area scatters around them. docs/method.md,
 * "Tracing". */
#include <math.h>
#include <string.h>

#include "tables.h"

/* Part of the engines with general wear whose rings are stuck in all cylinders (judgment). */
static const double STUCK_OF_WORN_1 = 0.10;
/* Part of the engines with the cam drive off in which valves have met pistons, and of these the cylinders that were struck (judgment: most engines
 * with a belt leave no room between the two; a tooth off after belt work bends nothing, and a drive that lets go strikes the valves that happen to
 * stand open). The other cylinders only do not fill. */
static const double BENT_1 = 0.3, BENT_EACH_1 = 0.75;
/* Scatter between the cylinders of one engine (logarithm of the area): wear, and whatever else strikes it as a whole (judgment: what bends or burns
 * several valves at once does so less evenly than wear). */
static const double WEAR_SCATTER = 0.35, OTHER_SCATTER = 0.70;

/* General wear is the part of the mixture with the smallest areas, and in one worn engine of ten, rings that stuck in all cylinders (stood for
 * years, or overheated), the parts between; never the broken pack, the part with the largest. */
static ch_mixture general_wear(const ch_mixture *areas)
{
    size_t largest = 0, smallest = 0;
    double between_1 = 0.0;
    for (size_t i = 1; i < areas->count; i++) {
        largest = areas->part[i].median > areas->part[largest].median ? i : largest;
        smallest = areas->part[i].median < areas->part[smallest].median ? i : smallest;
    }
    for (size_t i = 0; i < areas->count; i++)
        between_1 += i != largest && i != smallest ? areas->part[i].weight_1 : 0.0;
    ch_mixture wear = {.count = 1, .part = {areas->part[smallest]}};
    wear.part[0].weight_1 = between_1 > 0.0 ? 1.0 - STUCK_OF_WORN_1 : 1.0;
    for (size_t i = 0; i < areas->count; i++)
        if (i != largest && i != smallest) {
            wear.part[wear.count] = areas->part[i];
            wear.part[wear.count++].weight_1 *= STUCK_OF_WORN_1 / between_1;
        }
    return wear;
}

static bool strikes_as_leak(const ch_knowledge_cause *cause)
{
    return cause->together_chance_1 > 0.0 && cause->areas_m2.count > 0 && cause->no_path_chance_1 < 0.5;
}

double together_seals_1(const ch_knowledge_cause *cause)
{
    return cause->areas_m2.count > 0 && cause->filling_1.count == 0 && cause->no_path_chance_1 < 1.0
               ? cause->no_path_chance_1
               : 0.0;
}

/* Chance that a cylinder's area falls to each grid point, around a level. */
static void around(const ch_emulator *grid, double level_ln, double scatter, double weight[CH_EMULATOR_GRID])
{
    double sum = 0.0;
    weight[0] = 0.0; /* an area of nothing */
    for (int g = 1; g < CH_EMULATOR_GRID; g++) {
        const double off = (log(grid->area_m2[g]) - level_ln) / scatter;
        /* Density over ln area, times the grid's step in it. */
        weight[g] = exp(-0.5 * off * off) * (grid->area_m2[g] + grid->area_scale_m2) / grid->area_m2[g];
        sum += weight[g];
    }
    for (int g = 1; g < CH_EMULATOR_GRID; g++)
        weight[g] /= sum;
}

/* Even steps in the logarithm over all but four thousandths of the mixture. */
static void levels_set(const ch_mixture *areas, double scatter, int from, int count, double area[][AREA_LEVELS],
                       weigh_frame *frame)
{
    const double low_ln = log(mixture_quantile(areas, 0.002)), high_ln = log(mixture_quantile(areas, 0.998));
    double sum = 0.0;
    for (int j = 0; j < count; j++) {
        const double level_ln = low_ln + (high_ln - low_ln) * j / (count - 1);
        double density = 0.0;
        for (size_t i = 0; i < areas->count; i++) {
            const double off = (level_ln - log(areas->part[i].median)) / areas->part[i].spread_1;
            density += areas->part[i].weight_1 / areas->part[i].spread_1 * exp(-0.5 * off * off);
        }
        frame->level_weight[from + j] = density;
        sum += density;
        double weight[CH_EMULATOR_GRID];
        around(frame->dry, level_ln, scatter, weight);
        for (int g = 0; g < CH_EMULATOR_GRID; g++)
            area[g][j] = weight[g];
    }
    for (int j = 0; j < count; j++)
        frame->level_weight[from + j] /= sum;
}

/* The last level: struck, and no area added. */
static void level_without_leak(int from, int last, double seals_1, double area[][AREA_LEVELS], weigh_frame *frame)
{
    for (int j = 0; j < last; j++)
        frame->level_weight[from + j] *= 1.0 - seals_1;
    frame->level_weight[from + last] = seals_1;
    for (int g = 0; g < CH_EMULATOR_GRID; g++)
        area[g][last] = g == 0 ? 1.0 : 0.0;
}

static bool bends_valves(const ch_knowledge_cause *cause)
{
    return cause->areas_m2.count > 0 && cause->no_path_chance_1 < 1.0;
}

double together_unbent_1(const weigh_frame *frame)
{
    return bends_valves(&frame->knowledge->causes[CH_CAUSE_CAM_OR_TIMING]) ? 1.0 - BENT_1 : 1.0;
}

/* The cam drive: factors on the charge of all cylinders, then bent valves. */
static void drive_set(weigh_frame *frame, int from)
{
    const ch_knowledge_cause *drive = &frame->knowledge->causes[CH_CAUSE_CAM_OR_TIMING];
    if (!(drive->together_chance_1 > 0.0))
        return;
    frame->levels[CH_CAUSE_CAM_OR_TIMING] = (level_range){.from = from, .count = FACTOR_LEVELS};
    if (!bends_valves(drive))
        return;
    frame->levels[CH_CAUSE_CAM_OR_TIMING].count = DRIVE_LEVELS;
    levels_set(&drive->areas_m2, OTHER_SCATTER, from + FACTOR_LEVELS, BENT_LEVELS,
               frame->level_area[CH_CAUSE_CAM_OR_TIMING], frame);
    for (int j = 0; j < BENT_LEVELS; j++)
        frame->level_weight[from + FACTOR_LEVELS + j] *= BENT_1;
}

/* The same of one bank's drive: bent valves on the same levels. */
static void bank_drives_set(weigh_frame *frame, int from)
{
    const level_range drive = frame->levels[CH_CAUSE_CAM_OR_TIMING];
    for (int bank = 1; bank <= BANKS; bank++)
        frame->bank_drive[bank - 1] = (level_range){0};
    for (int h = 0; h < frame->wrong->hypotheses; h++) {
        const hypothesis *one = &frame->wrong->hypothesis[h];
        if (one->together != CH_CAUSE_CAM_OR_TIMING || one->bank == 0)
            continue;
        level_range *range = &frame->bank_drive[one->bank - 1];
        *range = (level_range){.from = from, .count = drive.count};
        for (int j = FACTOR_LEVELS; j < drive.count; j++)
            frame->level_weight[range->from + j] = frame->level_weight[drive.from + j];
        from += DRIVE_LEVELS;
    }
}

void together_set(weigh_frame *frame)
{
    int from = 0;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const ch_knowledge_cause *cause = &frame->knowledge->causes[c];
        frame->levels[c] = (level_range){.from = from, .count = strikes_as_leak(cause) ? AREA_LEVELS : 0};
        if (frame->levels[c].count == 0)
            continue;
        const ch_mixture areas = c == CH_CAUSE_RINGS_OR_BORE ? general_wear(&cause->areas_m2) : cause->areas_m2;
        const double seals_1 = together_seals_1(cause);
        const int leaking = seals_1 > 0.0 ? AREA_LEVELS - 1 : AREA_LEVELS;
        levels_set(&areas, c == CH_CAUSE_RINGS_OR_BORE ? WEAR_SCATTER : OTHER_SCATTER, from, leaking,
                   frame->level_area[c], frame);
        if (seals_1 > 0.0)
            level_without_leak(from, leaking, seals_1, frame->level_area[c], frame);
        from += AREA_LEVELS;
    }
    drive_set(frame, from);
    from += DRIVE_LEVELS;
    bank_drives_set(frame, from);
    from += BANKS * DRIVE_LEVELS;
    if (frame->knowledge->causes[CH_CAUSE_MEASUREMENT_ERROR].together_chance_1 > 0.0)
        frame->levels[CH_CAUSE_MEASUREMENT_ERROR] = (level_range){.from = from, .count = MISLED_LEVELS};
}

/* Chance of a cylinder's tests at each level of the leak that a cause opens, over its paths and whether oil seals. */
static void leak_at_levels(const weigh_frame *frame, const weigh_cylinder *out, int c, int count, double at[])
{
    const ch_knowledge_cause *cause = &frame->knowledge->causes[c];
    double likely[CH_EMULATOR_GRID] = {0.0}, sum[AREA_LEVELS] = {0.0};
    for (int place = 0; place < PLACES; place++) {
        const int path = place == PLACE_RINGS_DRY ? CH_PATH_RINGS : place;
        double chance = cause->path_chance_1[path] / (1.0 - cause->no_path_chance_1);
        if (path == CH_PATH_RINGS)
            chance *= place == PLACE_RINGS_DRY ? 1.0 - cause->oil_seals_1 : cause->oil_seals_1;
        for (int g = out->low; g < out->high && chance > 0.0; g++)
            likely[g] += chance * out->likely_mean[place][g];
    }
    for (int g = out->low; g < out->high; g++)
        for (int j = 0; j < count; j++)
            sum[j] += frame->level_area[c][g][j] * likely[g];
    memcpy(at, sum, (size_t)count * sizeof *at);
}

void together_areas(const weigh_frame *frame, double underfilled, weigh_cylinder *out)
{
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        if (strikes_as_leak(&frame->knowledge->causes[c]))
            leak_at_levels(frame, out, c, AREA_LEVELS, &out->level[frame->levels[c].from]);
    const level_range drive = frame->levels[CH_CAUSE_CAM_OR_TIMING];
    if (drive.count < DRIVE_LEVELS)
        return;
    leak_at_levels(frame, out, CH_CAUSE_CAM_OR_TIMING, BENT_LEVELS, out->bent);
    for (int j = 0; j < BENT_LEVELS; j++) {
        out->bent[j] *= BENT_EACH_1;
        out->level[drive.from + FACTOR_LEVELS + j] = out->bent[j] + (1.0 - BENT_EACH_1) * underfilled;
        for (int bank = 0; bank < BANKS; bank++)
            if (frame->bank_drive[bank].count > 0)
                out->level[frame->bank_drive[bank].from + FACTOR_LEVELS + j] =
                    out->level[drive.from + FACTOR_LEVELS + j];
    }
}

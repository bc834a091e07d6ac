/* Observations as factors on causes: what was seen in one cylinder, what may come from any, and what happened before.
 *
 * docs/knowledge.md, "observations.yaml", gives the rules: independent ways to the same sign, groups that say much the same thing, history
 * as factors on prior odds. */
#include <math.h>
#include <string.h>

#include "parts.h"

/* A row that counts: how strong it is, and by what power its likelihood counts within its group. */
typedef struct counted {
    const ch_observation *row;
    const ch_knowledge_observation *known;
    double strength;
    double power;
} counted;

static double strength_of(const ch_knowledge_observation *known, bool absent)
{
    double least = INFINITY, most = -INFINITY;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double p = absent ? 1.0 - known->positive_1[c] : known->positive_1[c];
        least = fmin(least, log(p));
        most = fmax(most, log(p));
    }
    return most - least;
}

/* Two rows speak of the same: of one cylinder, or one of them of the engine. */
static bool same_place(const counted *a, const counted *b)
{
    const int first = a->known->scope == CH_SCOPE_ENGINE ? 0 : a->row->cylinder;
    const int second = b->known->scope == CH_SCOPE_ENGINE ? 0 : b->row->cylinder;
    return first == 0 || second == 0 || first == second;
}

static void order_by_strength(counted list[], size_t n)
{
    for (size_t i = 1; i < n; i++) {
        const counted moved = list[i];
        size_t at = i;
        while (at > 0 && list[at - 1].strength < moved.strength) {
            list[at] = list[at - 1];
            at--;
        }
        list[at] = moved;
    }
}

/* The strongest of a group counts in full, each further one of the same place by the group's share. */
static void set_powers(const ch_knowledge *knowledge, counted list[], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        list[i].power = 1.0;
        if (list[i].known->group == CH_NO_GROUP)
            continue;
        for (size_t j = 0; j < i; j++)
            if (list[j].known->group == list[i].known->group && same_place(&list[i], &list[j])) {
                list[i].power = knowledge->groups[list[i].known->group].further_1;
                break;
            }
    }
}

static void add_cylinder_sign(const counted *sign, seen *s)
{
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double p = sign->known->positive_1[c];
        s->log_1[sign->row->cylinder - 1][c] += sign->power * log(sign->row->absent ? 1.0 - p : p);
    }
}

/* A sign that a sound engine shows at least as often as a faulty one: `runs_well`, `vacuum_normal`. */
static bool never_above_sound(const ch_knowledge_observation *known)
{
    bool below = false, above = false;
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        below = below || known->positive_1[c] < known->positive_1[CH_CAUSE_SOUND] - 1e-9;
        above = above || known->positive_1[c] > known->positive_1[CH_CAUSE_SOUND];
    }
    return below && !above;
}

/* A sign that may come from anywhere and was looked for in vain: no cylinder has shown it. A product, so it stays with the cylinders;
 * but where faults take the sign away, any one of several does, and it missing is what they have in common. */
static void add_absent_anywhere(const counted *sign, int cylinders, seen *s)
{
    const bool engine = sign->known->scope == CH_SCOPE_ENGINE;
    const double none = engine ? 1.0 - sign->known->positive_1[CH_CAUSE_SOUND] : 1.0;
    if (engine && never_above_sound(sign->known) && s->shared_count < SEEN_SHARED_MAX) {
        seen_shared *shared = &s->shared[s->shared_count++];
        const double usual = 1.0 - pow(none, sign->power);
        *shared = (seen_shared){.base_1 = usual};
        for (int c = 0; c < CH_CAUSE_COUNT; c++)
            shared->clear_1[c] = (1.0 - pow(1.0 - sign->known->positive_1[c], sign->power)) / usual;
        return;
    }
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double factor = sign->power * log((1.0 - sign->known->positive_1[c]) / none);
        for (int i = 0; i < cylinders; i++)
            s->log_1[i][c] += factor;
        if (engine)
            s->log_together[c] += factor;
    }
}

/* As a product even where it was seen: exact for one faulty cylinder, and for figures that fall below the sound engine's. */
static void add_present_as_product(const counted *sign, int cylinders, seen *s)
{
    const double usual = sign->known->positive_1[CH_CAUSE_SOUND];
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double factor = sign->power * log(sign->known->positive_1[c] / usual);
        for (int i = 0; i < cylinders; i++)
            s->log_1[i][c] += factor;
        s->log_together[c] += factor;
    }
}

static void add_present_anywhere(const counted *sign, int cylinders, seen *s)
{
    const bool engine = sign->known->scope == CH_SCOPE_ENGINE;
    /* Within a group the likelihood counts by a power: so do the chances it is made of. */
    const double usual = pow(sign->known->positive_1[CH_CAUSE_SOUND], sign->power);
    bool falls = false;
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        falls = falls || sign->known->positive_1[c] < sign->known->positive_1[CH_CAUSE_SOUND] - 1e-9;
    if (s->shared_count == SEEN_SHARED_MAX || (engine && falls)) {
        add_present_as_product(sign, cylinders, s);
        return;
    }
    seen_shared *shared = &s->shared[s->shared_count++];
    *shared = (seen_shared){.base_1 = engine ? 1.0 - usual : 1.0};
    for (int c = 0; c < CH_CAUSE_COUNT; c++) {
        const double p = pow(sign->known->positive_1[c], sign->power);
        shared->clear_1[c] = engine ? (1.0 - p) / (1.0 - usual) : 1.0 - p;
    }
}

ch_status seen_from_sheet(const ch_sheet *sheet, const ch_knowledge *knowledge, seen *s, ch_err *err)
{
    enum { MOST = 256 };
    memset(s, 0, sizeof *s);
    for (int c = 0; c < CH_CAUSE_COUNT; c++)
        s->odds_1[c] = s->odds_together_1[c] = 1.0;
    if (sheet->observed_count > MOST)
        return ch_fail(err, CH_E_LIMIT, "at most 256", "%zu observations", sheet->observed_count);
    counted list[MOST];
    size_t n = 0;
    for (size_t i = 0; i < sheet->observed_count; i++) {
        const ch_observation *row = &sheet->observed[i];
        const size_t length = strlen(row->what);
        const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, row->what, length);
        if (known == NULL) {
            const char *near = ch_knowledge_observation_nearest(knowledge, row->what, length);
            ch_status rc = near != NULL ? ch_fail(err, CH_E_INPUT, near, "unknown observation \"%.60s\"", row->what)
                                        : ch_fail(err, CH_E_INPUT, "a name of knowledge/observations.yaml",
                                                  "unknown observation \"%.60s\"", row->what);
            ch_err_locate(err, NULL, row->line, row->column);
            return rc;
        }
        if (known->kind == CH_OBSERVATION_HISTORY) {
            const bool counts = !row->absent && !(strcmp(known->id, "high_mileage") == 0 &&
                                                  ch_quantity_given(&sheet->conditions.odometer));
            for (int c = 0; counts && c < CH_CAUSE_COUNT; c++) {
                s->odds_1[c] *= known->odds_1[c];
                s->odds_together_1[c] *= known->odds_together_1[c];
            }
            continue;
        }
        list[n++] = (counted){.row = row, .known = known, .strength = strength_of(known, row->absent)};
    }
    order_by_strength(list, n);
    set_powers(knowledge, list, n);
    for (size_t i = 0; i < n; i++) {
        const bool one_cylinder = list[i].known->scope == CH_SCOPE_CYLINDER && list[i].row->cylinder != 0;
        if (one_cylinder)
            add_cylinder_sign(&list[i], s);
        else if (list[i].row->absent)
            add_absent_anywhere(&list[i], sheet->engine.cylinders, s);
        else
            add_present_anywhere(&list[i], sheet->engine.cylinders, s);
    }
    return CH_OK;
}

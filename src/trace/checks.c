/* Which checks to do next: those that get soonest to being sure of a cylinder's cause stand first, given all that is known already.
 *
 * What a check is worth by itself is the mutual information of its outcome and the cause, in bits: Shannon 1948; Lindley, Ann. Math. Stat. 27
 * (1956) 986. It decides whether a check is worth naming, order.c where it stands. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "parts.h"

/* Below these a check is not worth naming: it would hardly move the answer, or take an evening to do so. */
static const double LEAST_BITS = 0.10;
static const double LEAST_BITS_PER_MINUTE = 0.0015;
/* Below this it does not count beside others either. */
static const double LEAST_BITS_BESIDE = 0.01;
/* A further sign of a group with less than this of its weight left says much the same as the one before it. */
static const double LEAST_FURTHER_1 = 0.35;

enum {
    CHECKS_MAX = 128,
    CYLINDERS_ORDERED = 3,
    PLACES_OF_A_CHECK = 2,
    LIST_MAX = CYLINDERS_ORDERED * ORDER_CANDIDATES_MAX
};

static double minutes_of(const ch_knowledge_check *check)
{
    return (check->setup_s + check->each_s) / 60.0;
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

/* Does a sign of the same group stand on the sheet, of this cylinder or of the engine? */
static bool group_seen(const ch_sheet *sheet, const ch_knowledge *knowledge, const ch_knowledge_observation *sign,
                       int cylinder)
{
    for (size_t i = 0; i < sheet->observed_count && sign->group != CH_NO_GROUP; i++) {
        const ch_observation *row = &sheet->observed[i];
        const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, row->what, strlen(row->what));
        if (known->group == sign->group && (known->scope == CH_SCOPE_ENGINE || sign->scope == CH_SCOPE_ENGINE ||
                                            row->cylinder == 0 || row->cylinder == cylinder))
            return true;
    }
    return false;
}

static bool leakdown_is_new(const weigh_frame *frame, const ch_knowledge_check *check, int i)
{
    return (check->rows & CH_ROWS_LEAKDOWN) != 0 && frame->measured->cylinder[i].leakdown_count == 0;
}

static bool wet_is_new(const weigh_frame *frame, const ch_knowledge_check *check, int i)
{
    return (check->rows & CH_ROWS_WET) != 0 && frame->measured->cylinder[i].wet.n == 0;
}

/* Information of one check about one cylinder (0-based). */
static double check_bits(const weigh_frame *frame, const ch_sheet *sheet, const ch_trace *trace,
                         const trace_areas *areas, const ch_knowledge_check *check, int i)
{
    const ch_knowledge *knowledge = frame->knowledge;
    const double *cause_1 = trace->cylinder[i].cause_1;
    outcome_table t;
    double bits = 0.0;
    if (leakdown_is_new(frame, check, i)) {
        outcomes_of_leakdown(frame, areas, &t);
        bits = fmax(bits, outcomes_bits(&t, cause_1));
    }
    if (wet_is_new(frame, check, i)) {
        outcomes_of_wet(frame, areas, i, &t);
        bits = fmax(bits, outcomes_bits(&t, cause_1));
    }
    outcomes_start(&t);
    long group_counted = CH_NO_GROUP;
    for (size_t y = 0; y < check->yields.count; y++) {
        const size_t at = check->yields.at[y];
        const ch_knowledge_observation *known = &knowledge->observations[at];
        if (already_seen(sheet, knowledge, at, i + 1))
            continue;
        if (known->group != CH_NO_GROUP && known->group == group_counted &&
            knowledge->groups[known->group].further_1 < LEAST_FURTHER_1)
            continue;
        double yes_1[CH_CAUSE_COUNT];
        outcomes_of_sign(known, trace, i, yes_1);
        if (!outcomes_split(&t, yes_1))
            break;
        group_counted = known->group;
    }
    return fmax(bits, outcomes_bits(&t, cause_1));
}

/* ---- what the checks of one cylinder may find ---- */

/* Where each finding comes from: the place of an observation, or the readings of one check. */
typedef struct sources {
    size_t observation[ORDER_FINDINGS_MAX];
} sources;

static void add_readings(const outcome_table *t, order_room *room, order_candidate *one, sources *from)
{
    const int at = order_finding_add(room, t->chance[0], OUTCOMES_MAX, t->count, 1.0);
    if (at < 0)
        return;
    from->observation[at] = SIZE_MAX;
    one->finding[one->count++] = at;
}

/* A sign that several checks may find is one finding. */
static void add_sign(const weigh_frame *frame, const ch_sheet *sheet, const ch_trace *trace, size_t observation, int i,
                     order_room *room, order_candidate *one, sources *from)
{
    const ch_knowledge *knowledge = frame->knowledge;
    const ch_knowledge_observation *known = &knowledge->observations[observation];
    int at = 0;
    while (at < room->findings && from->observation[at] != observation)
        at++;
    if (at == room->findings) {
        double yes_1[CH_CAUSE_COUNT], chance[CH_CAUSE_COUNT][2];
        outcomes_of_sign(known, trace, i, yes_1);
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            chance[c][0] = yes_1[c];
            chance[c][1] = 1.0 - yes_1[c];
        }
        const double further_1 = known->group != CH_NO_GROUP ? knowledge->groups[known->group].further_1 : 1.0;
        at = order_finding_add(room, chance[0], 2, 2, further_1);
        if (at < 0)
            return;
        from->observation[at] = observation;
        room->finding[at].group = known->group;
        room->finding[at].group_seen = group_seen(sheet, knowledge, known, i + 1);
    }
    one->finding[one->count++] = at;
}

static void room_fill(const weigh_frame *frame, const ch_sheet *sheet, const ch_trace *trace, const trace_areas *areas,
                      const double bits_1[], int i, order_room *room)
{
    const ch_knowledge *knowledge = frame->knowledge;
    sources from;
    outcome_table t;
    room->rows = room->findings = room->candidates = 0;
    for (size_t k = 0; k < knowledge->checks_count && k < CHECKS_MAX; k++) {
        const ch_knowledge_check *check = &knowledge->checks[k];
        if (!(bits_1[k] >= LEAST_BITS_BESIDE) || room->candidates == ORDER_CANDIDATES_MAX)
            continue;
        order_candidate *one = &room->candidate[room->candidates++];
        *one = (order_candidate){.check = k,
                                 .minutes = minutes_of(check),
                                 .bits_1 = bits_1[k],
                                 .reads = check->rows != 0 && !check->last,
                                 .oils = check->last};
        if (leakdown_is_new(frame, check, i)) {
            outcomes_of_leakdown(frame, areas, &t);
            add_readings(&t, room, one, &from);
        }
        if (wet_is_new(frame, check, i)) {
            outcomes_of_wet(frame, areas, i, &t);
            add_readings(&t, room, one, &from);
        }
        for (size_t y = 0; y < check->yields.count && one->count < ORDER_FINDINGS_EACH; y++)
            if (!already_seen(sheet, knowledge, check->yields.at[y], i + 1))
                add_sign(frame, sheet, trace, check->yields.at[y], i, room, one, &from);
    }
}

/* ---- the list ---- */

/* A check in the order of its cylinder. */
typedef struct listed {
    ch_trace_check shown;
    double doubt_per_minute;
    int place;
} listed;

/* First what takes most doubt away a minute, in the order of its cylinder. */
static bool comes_before(const listed *a, const listed *b)
{
    if (a->doubt_per_minute != b->doubt_per_minute)
        return a->doubt_per_minute > b->doubt_per_minute;
    if (a->place != b->place)
        return a->place < b->place;
    return a->shown.bits_1 / a->shown.minutes > b->shown.bits_1 / b->shown.minutes;
}

static void insert(listed list[], size_t *count, const listed *found)
{
    size_t at = (*count)++;
    while (at > 0 && comes_before(found, &list[at - 1])) {
        list[at] = list[at - 1];
        at--;
    }
    list[at] = *found;
}

/* The best places of each check: on a second cylinder it is the same idea, on the engine it is the same work. */
static void list_show(const listed list[], size_t count, ch_trace *trace)
{
    trace->next_check_count = 0;
    for (size_t k = 0; k < count && trace->next_check_count < CH_TRACE_CHECKS_MAX; k++) {
        const ch_trace_check *one = &list[k].shown;
        size_t same = 0;
        for (size_t m = 0; m < trace->next_check_count; m++)
            same += trace->next_check[m].check == one->check ? 1 : 0;
        if (same < (one->cylinder == 0 ? 1 : PLACES_OF_A_CHECK))
            trace->next_check[trace->next_check_count++] = *one;
    }
}

void checks_find(const weigh_frame *frame, const ch_sheet *sheet, const trace_areas areas[], order_room *room,
                 ch_trace *trace)
{
    const ch_knowledge *knowledge = frame->knowledge;
    double bits_1[CH_CYLINDERS_MAX][CHECKS_MAX], most[CH_CYLINDERS_MAX];
    for (int i = 0; i < trace->cylinders; i++) {
        most[i] = 0.0;
        for (size_t k = 0; k < knowledge->checks_count && k < CHECKS_MAX; k++) {
            const ch_knowledge_check *check = &knowledge->checks[k];
            bits_1[i][k] = check_bits(frame, sheet, trace, &areas[i], check, i);
            if (bits_1[i][k] >= LEAST_BITS)
                most[i] = fmax(most[i], bits_1[i][k] / minutes_of(check));
        }
    }
    listed list[LIST_MAX];
    size_t count = 0;
    for (int turn = 0; turn < CYLINDERS_ORDERED; turn++) {
        int i = 0; /* of which checks tell most */
        for (int j = 1; j < trace->cylinders; j++)
            i = most[j] > most[i] ? j : i;
        if (!(most[i] > 0.0))
            break;
        most[i] = 0.0;
        room_fill(frame, sheet, trace, &areas[i], bits_1[i], i, room);
        int order[ORDER_CANDIDATES_MAX];
        order_find(room, trace->cylinder[i].cause_1, order);
        for (int k = 0; k < room->candidates; k++) {
            const order_candidate *one = &room->candidate[order[k]];
            const ch_knowledge_check *check = &knowledge->checks[one->check];
            const listed found = {.shown = {.check = check,
                                            .cylinder = check->scope == CH_SCOPE_ENGINE ? 0 : i + 1,
                                            .minutes = one->minutes,
                                            .bits_1 = one->bits_1},
                                  .doubt_per_minute = one->doubt_per_minute,
                                  .place = k};
            if (one->bits_1 >= LEAST_BITS && one->bits_1 >= LEAST_BITS_PER_MINUTE * one->minutes)
                insert(list, &count, &found);
        }
    }
    list_show(list, count, trace);
}

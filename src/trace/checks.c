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

/* Was nothing of this cylinder measured, where another was read dry? The gauge is in the hand: it comes before any other look at that cylinder. */
static bool waits_for_its_reading(const weigh_frame *frame, int i)
{
    const measured *m = frame->measured;
    bool other = false;
    for (int c = 0; c < m->cylinders; c++)
        other = other || m->cylinder[c].dry.n > 0;
    return other && m->cylinder[i].dry.n == 0 && m->cylinder[i].wet.n == 0 && m->cylinder[i].leakdown_count == 0;
}

/* Information of one check about one cylinder (0-based). */
static double check_bits(const checks_known *known, const ch_trace *trace, const ch_knowledge_check *check, int i)
{
    const weigh_frame *frame = known->frame;
    const ch_knowledge *knowledge = frame->knowledge;
    const double *cause_1 = trace->cylinder[i].cause_1;
    outcome_table t;
    double bits = 0.0;
    if (known->do_not_run && ch_knowledge_check_cranks(check))
        return 0.0; /* whatever it would tell */
    if (!known->do_not_run && check->scope == CH_SCOPE_CYLINDER && waits_for_its_reading(frame, i))
        return 0.0;
    if (check->rows == CH_ROWS_COMPRESSION && frame->measured->cylinder[i].dry.n == 0)
        return 0.0; /* there is no reading to take again */
    if (leakdown_is_new(frame, check, i)) {
        outcomes_of_leakdown(frame, &known->areas[i], &t);
        bits = fmax(bits, outcomes_bits(&t, cause_1));
    }
    if (wet_is_new(frame, check, i)) {
        outcomes_of_wet(frame, &known->areas[i], i, &t);
        bits = fmax(bits, outcomes_bits(&t, cause_1));
    }
    outcomes_start(&t);
    long group_counted = CH_NO_GROUP;
    for (size_t y = 0; y < check->yields.count; y++) {
        const size_t at = check->yields.at[y];
        const ch_knowledge_observation *sign = &knowledge->observations[at];
        if (already_seen(known->sheet, knowledge, at, i + 1))
            continue;
        if (sign->group != CH_NO_GROUP && sign->group == group_counted &&
            knowledge->groups[sign->group].further_1 < LEAST_FURTHER_1)
            continue;
        double yes_1[CH_CAUSE_COUNT];
        outcomes_of_sign(sign, trace, known->together_1, i, yes_1);
        if (!outcomes_split(&t, yes_1))
            break;
        group_counted = sign->group;
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
static void add_sign(const checks_known *known, const ch_trace *trace, size_t observation, int i, order_room *room,
                     order_candidate *one, sources *from)
{
    const ch_knowledge *knowledge = known->frame->knowledge;
    const ch_knowledge_observation *sign = &knowledge->observations[observation];
    int at = 0;
    while (at < room->findings && from->observation[at] != observation)
        at++;
    if (at == room->findings) {
        double yes_1[CH_CAUSE_COUNT], chance[CH_CAUSE_COUNT][2];
        outcomes_of_sign(sign, trace, known->together_1, i, yes_1);
        for (int c = 0; c < CH_CAUSE_COUNT; c++) {
            chance[c][0] = yes_1[c];
            chance[c][1] = 1.0 - yes_1[c];
        }
        const double further_1 = sign->group != CH_NO_GROUP ? knowledge->groups[sign->group].further_1 : 1.0;
        at = order_finding_add(room, chance[0], 2, 2, further_1);
        if (at < 0)
            return;
        from->observation[at] = observation;
        room->finding[at].group = sign->group;
        room->finding[at].group_seen = group_seen(known->sheet, knowledge, sign, i + 1);
    }
    one->finding[one->count++] = at;
}

static void room_fill(const checks_known *known, const ch_trace *trace, const double bits_1[], int i, order_room *room)
{
    const weigh_frame *frame = known->frame;
    const ch_knowledge *knowledge = frame->knowledge;
    sources from;
    outcome_table t;
    room->rows = room->findings = room->candidates = 0;
    room->standing = known->standing;
    for (size_t p = 0; p < knowledge->preparations_count; p++)
        room->preparation_minutes[p] = knowledge->preparations[p].time_s / 60.0;
    for (size_t k = 0; k < knowledge->checks_count && k < CHECKS_MAX; k++) {
        const ch_knowledge_check *check = &knowledge->checks[k];
        if (!(bits_1[k] >= LEAST_BITS_BESIDE) || room->candidates == ORDER_CANDIDATES_MAX)
            continue;
        order_candidate *one = &room->candidate[room->candidates++];
        *one = (order_candidate){.check = k,
                                 .minutes = minutes_of(check),
                                 .bits_1 = bits_1[k],
                                 .reads = check->rows != 0 && !check->last,
                                 .oils = check->last,
                                 .runs = check->runs};
        for (size_t p = 0; p < check->prepares.count; p++)
            one->prepares |= 1U << check->prepares.at[p];
        if (leakdown_is_new(frame, check, i)) {
            outcomes_of_leakdown(frame, &known->areas[i], &t);
            add_readings(&t, room, one, &from);
        }
        if (wet_is_new(frame, check, i)) {
            outcomes_of_wet(frame, &known->areas[i], i, &t);
            add_readings(&t, room, one, &from);
        }
        for (size_t y = 0; y < check->yields.count && one->count < ORDER_FINDINGS_EACH; y++)
            if (!already_seen(known->sheet, knowledge, check->yields.at[y], i + 1))
                add_sign(known, trace, check->yields.at[y], i, room, one, &from);
    }
}

/* ---- the list ---- */

/* A check in the order of its cylinder. */
typedef struct listed {
    ch_trace_check shown;
    double doubt_per_minute;
    int turn, place; /* of its cylinder, 0 the one least likely to be sound; of the check in that cylinder's order */
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

/* Each check on the cylinder that is least likely to be sound, whatever stands before it, and on one other; on the engine once. */
static void list_show(const listed list[], size_t count, ch_trace *trace)
{
    trace->next_check_count = 0;
    for (size_t k = 0; k < count && trace->next_check_count < CH_TRACE_CHECKS_MAX; k++) {
        const listed *one = &list[k];
        const bool engine = one->shown.cylinder == 0;
        bool shown = false;
        for (size_t m = 0; m < k; m++)
            shown = shown || (list[m].shown.check == one->shown.check && (engine || list[m].turn > 0));
        if (!shown || (one->turn == 0 && !engine))
            trace->next_check[trace->next_check_count++] = one->shown;
    }
}

/* The cylinder of which some check is worth naming and that is least likely to be sound; -1: none. most: bits a minute. */
static int least_sound(const ch_trace *trace, const double most[])
{
    int least = -1;
    for (int i = 0; i < trace->cylinders; i++)
        if (most[i] > 0.0 &&
            (least < 0 || trace->cylinder[i].cause_1[CH_CAUSE_SOUND] < trace->cylinder[least].cause_1[CH_CAUSE_SOUND]))
            least = i;
    return least;
}

/* That of which checks tell most a minute; -1: none. */
static int most_told(const ch_trace *trace, const double most[])
{
    int best = -1;
    for (int i = 0; i < trace->cylinders; i++)
        if (most[i] > 0.0 && (best < 0 || most[i] > most[best]))
            best = i;
    return best;
}

void checks_find(const checks_known *known, order_room *room, ch_trace *trace)
{
    const ch_knowledge *knowledge = known->frame->knowledge;
    double bits_1[CH_CYLINDERS_MAX][CHECKS_MAX], most[CH_CYLINDERS_MAX];
    for (int i = 0; i < trace->cylinders; i++) {
        most[i] = 0.0;
        for (size_t k = 0; k < knowledge->checks_count && k < CHECKS_MAX; k++) {
            const ch_knowledge_check *check = &knowledge->checks[k];
            bits_1[i][k] = check_bits(known, trace, check, i);
            if (bits_1[i][k] >= LEAST_BITS)
                most[i] = fmax(most[i], bits_1[i][k] / minutes_of(check));
        }
    }
    listed list[LIST_MAX];
    size_t count = 0;
    for (int turn = 0; turn < CYLINDERS_ORDERED; turn++) {
        const int i = turn == 0 ? least_sound(trace, most) : most_told(trace, most);
        if (i < 0)
            break;
        most[i] = 0.0;
        room_fill(known, trace, bits_1[i], i, room);
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
                                  .turn = turn,
                                  .place = k};
            if (one->bits_1 >= LEAST_BITS && one->bits_1 >= LEAST_BITS_PER_MINUTE * one->minutes)
                insert(list, &count, &found);
        }
    }
    list_show(list, count, trace);
}

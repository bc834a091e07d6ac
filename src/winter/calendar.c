/*
 * Work on days. Blocks (tasks.h) are placed one after the other into what the days still have free, each on the days on which it leaves the car
 * apart for the fewest nights; many orders of placing are tried, from a fixed seed, and the best is kept.
 *
 *  1. No day ever holds more than its hours.
 *  2. A block's tasks follow each other without anything of another block in between on the days it uses, unless it has to wait for parts.
 *  3. While a first step is opened or closed, no step of another block stands open that is not first too.
 *  4. Where no order of placing fits, all tasks are laid as one block, in the order in which they become possible. With one pair of hands that
 *     ends as early as anything can: no day goes unused while something could be done.
 */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/sampling.h"
#include "tasks.h"

enum { ORDERS_MAX = 300, EFFORT_MAX = 10000000 };

/* One way to lay everything. */
typedef struct layout {
    ch_calendar_entry *entries;
    size_t count;
    ch_work *free_us;             /* of each day */
    size_t *first_day, *last_day; /* of each task; last SIZE_MAX = not laid */
    bool fits;
    long nights;
    size_t finish; /* day */
} layout;

typedef struct board {
    const ch_plan *plan;
    const tasks *all;
    size_t days;
    long *date; /* of each day, since 1970-01-01 */
    layout best, now;
    ch_work *left;   /* of each task while a block is laid */
    size_t *order;   /* of blocks */
    size_t *by_rank; /* tasks, lowest rank first */
    size_t *grouped; /* the same, block by block: those of block k lie from group[k] to group[k + 1] */
    size_t *group;
} board;

static bool layout_init(layout *l, size_t entries, size_t days, size_t tasks_count)
{
    l->entries = calloc(entries + 1, sizeof *l->entries);
    l->free_us = calloc(days + 1, sizeof *l->free_us);
    l->first_day = calloc(tasks_count + 1, sizeof *l->first_day);
    l->last_day = calloc(tasks_count + 1, sizeof *l->last_day);
    return l->entries != NULL && l->free_us != NULL && l->first_day != NULL && l->last_day != NULL;
}

static void layout_clear(layout *l)
{
    free(l->entries);
    free(l->free_us);
    free(l->first_day);
    free(l->last_day);
}

static void layout_begin(const board *b, layout *l)
{
    l->count = 0;
    l->fits = true;
    for (size_t d = 0; d < b->days; d++)
        l->free_us[d] = b->plan->days[d].work_us;
    for (size_t t = 0; t < b->all->count; t++)
        l->last_day[t] = SIZE_MAX;
}

/* All of a list is finished by this day. */
static bool finished(const layout *l, const size_t list[], size_t from, size_t to, size_t day)
{
    for (size_t a = from; a < to; a++)
        if (l->last_day[list[a]] == SIZE_MAX || l->last_day[list[a]] > day)
            return false;
    return true;
}

static bool needs_item(const ch_plan_item *item, size_t other)
{
    for (size_t k = 0; k < item->needs.count; k++)
        if (item->needs.at[k] == other)
            return true;
    return false;
}

/* The date on which all that a job needs was open or done: from then on its part is off the car. */
static long off_date(const board *b, const layout *l, size_t t)
{
    const ch_plan_item *item = &b->plan->items[b->all->task[t].item];
    long off = LONG_MIN;
    for (size_t a = b->all->before_first[t]; a < b->all->before_first[t + 1]; a++) {
        const size_t before = b->all->before[a];
        if (b->all->task[before].kind == CH_ENTRY_CLOSE || !needs_item(item, b->all->task[before].item))
            continue;
        const long date = b->date[l->last_day[before]];
        off = date > off ? date : off;
    }
    return off;
}

/* A task can be worked on on this day: its parts are there, and back from the machine shop, and what comes before it is finished. */
static bool possible(const board *b, const layout *l, size_t block, size_t t, size_t day)
{
    const tasks *all = b->all;
    const work_task *task = &all->task[t];
    if (task->ready_day > b->date[day] ||
        !finished(l, all->before, all->before_first[t], all->before_first[t + 1], day) ||
        (block == SIZE_MAX && !finished(l, all->across, all->across_first[t], all->across_first[t + 1], day)))
        return false;
    if (task->shop_days == 0)
        return true;
    const long off = off_date(b, l, t), sent = off > task->ready_day ? off : task->ready_day;
    return sent + task->shop_days <= b->date[day];
}

/* Tasks of a block, or of all blocks, lowest rank first. */
static const size_t *members(const board *b, size_t block, size_t *count)
{
    *count = block == SIZE_MAX ? b->all->count : b->group[block + 1] - b->group[block];
    return block == SIZE_MAX ? b->by_rank : b->grouped + b->group[block];
}

/* The next task of a block on a day, or SIZE_MAX. */
static size_t next_task(const board *b, const layout *l, size_t block, size_t day)
{
    size_t count = 0;
    const size_t *member = members(b, block, &count);
    for (size_t i = 0; i < count; i++)
        if (l->last_day[member[i]] == SIZE_MAX && possible(b, l, block, member[i], day))
            return member[i];
    return SIZE_MAX;
}

static void lay(const board *b, layout *l, size_t t, size_t day, ch_work work_us)
{
    l->entries[l->count++] =
        (ch_calendar_entry){.day = day, .item = b->all->task[t].item, .kind = b->all->task[t].kind, .work_us = work_us};
    l->free_us[day] -= work_us;
    if (b->left[t] == b->all->task[t].work_us)
        l->first_day[t] = day;
    b->left[t] -= work_us;
    if (b->left[t] == 0)
        l->last_day[t] = day;
}

/*
 * Lay a block from a day on; first and last (out) are the days that it uses. False where the days run out: what was laid stays.
 */
static bool lay_block(const board *b, layout *l, size_t block, size_t from, size_t *first, size_t *last)
{
    size_t open = 0;
    ch_work left_us = 0;
    const size_t *member = members(b, block, &open);
    *first = SIZE_MAX;
    *last = from;
    for (size_t i = 0; i < open; i++) {
        b->left[member[i]] = b->all->task[member[i]].work_us;
        left_us += b->left[member[i]];
    }
    for (size_t day = from; day < b->days && open > 0; day++) {
        if (l->free_us[day] == 0 && left_us > 0)
            continue;
        for (size_t t = next_task(b, l, block, day); t != SIZE_MAX; t = next_task(b, l, block, day)) {
            const ch_work now_us = b->left[t] < l->free_us[day] ? b->left[t] : l->free_us[day];
            if (now_us == 0 && b->left[t] > 0)
                break;
            lay(b, l, t, day, now_us);
            left_us -= now_us;
            open -= b->left[t] == 0;
            *first = *first == SIZE_MAX ? day : *first;
            *last = day;
        }
    }
    return open == 0;
}

/* Take back what lay_block() laid. */
static void lift(const board *b, layout *l, size_t block, size_t count)
{
    while (l->count > count) {
        const ch_calendar_entry *entry = &l->entries[--l->count];
        l->free_us[entry->day] += entry->work_us;
    }
    size_t members_count = 0;
    const size_t *member = members(b, block, &members_count);
    for (size_t i = 0; i < members_count; i++)
        l->last_day[member[i]] = SIZE_MAX;
}

static long start_date(const board *b)
{
    const ch_date start = ch_plan_start(b->plan);
    return ch_date_given(start) ? ch_date_days(start) : b->date[0];
}

/* Nights between the first and the last day of a block; one that is open from the start begins there. */
static long nights_of(const board *b, size_t block, size_t first, size_t last)
{
    const long from = block != SIZE_MAX && b->all->apart[block] ? start_date(b) : b->date[first];
    return b->date[last] - from;
}

/* The opening or the closing of an item; SIZE_MAX = there is none. */
static size_t task_of(const tasks *all, size_t item, ch_entry_kind kind)
{
    for (size_t t = 0; t < all->count; t++)
        if (all->task[t].item == item && all->task[t].kind == kind)
            return t;
    return SIZE_MAX;
}

/*
 * A task of a first step is worked on while a step of another block stands open. Of the two blocks one was laid after the other: on a day that both
 * use, its work comes later. What is open from the start does not keep a first step from being opened, as it could not be undone; it has to be closed before it.
 */
static bool falls_into(const board *b, const layout *l, size_t first, size_t close, bool first_later)
{
    const tasks *all = b->all;
    const size_t open = task_of(all, all->task[close].item, CH_ENTRY_OPEN);
    if (open == SIZE_MAX && all->task[first].kind == CH_ENTRY_OPEN)
        return false;
    const size_t begins = l->first_day[first], ends = l->last_day[first], closed = l->last_day[close];
    const bool behind = first_later ? closed <= begins : closed < begins;
    const bool ahead = open != SIZE_MAX && (first_later ? l->first_day[open] > ends : l->first_day[open] >= ends);
    return !behind && !ahead;
}

/* Rule 3 is broken between a block just laid and those laid before it. */
static bool clashes(const board *b, const layout *l, size_t block)
{
    const tasks *all = b->all;
    for (size_t f = 0; all->firsts && f < all->count; f++)
        for (size_t c = 0; all->task[f].first && c < all->count; c++) {
            const bool first_later = all->task[f].block == block;
            if (all->task[c].kind == CH_ENTRY_CLOSE && !all->task[c].first &&
                all->task[c].block != all->task[f].block && (first_later || all->task[c].block == block) &&
                l->last_day[f] != SIZE_MAX && l->last_day[c] != SIZE_MAX && falls_into(b, l, f, c, first_later))
                return true;
        }
    return false;
}

/* Lay a block where it leaves the car apart for the fewest nights, of these the earliest to end. */
static bool place_block(const board *b, layout *l, size_t block)
{
    const size_t count = l->count;
    size_t found = SIZE_MAX, end = 0;
    long least = LONG_MAX;
    for (size_t from = 0; from < b->days; from++) {
        size_t first = 0, last = 0;
        const bool fits = lay_block(b, l, block, from, &first, &last), stands = fits && !clashes(b, l, block);
        const long nights = stands ? nights_of(b, block, first, last) : LONG_MAX;
        lift(b, l, block, count);
        if (!fits)
            break; /* a later start fits no better */
        if (stands && (nights < least || (nights == least && last < end))) {
            least = nights;
            end = last;
            found = from;
        }
    }
    size_t first = 0, last = 0;
    return found != SIZE_MAX && lay_block(b, l, block, found, &first, &last);
}

static int compare_long(const void *left, const void *right)
{
    const long a = *(const long *)left, b = *(const long *)right;
    return a < b ? -1 : a > b;
}

/* Nights on which any block stands apart, each counted once. False where there is no memory. */
static bool count_nights(const board *b, layout *l)
{
    const size_t blocks = b->all->blocks;
    long *span = calloc(blocks + 1, 2 * sizeof *span); /* first and last date of each block */
    size_t *block_of = calloc(b->plan->items_count + 1, sizeof *block_of);
    if (span == NULL || block_of == NULL) {
        free(span);
        free(block_of);
        return false;
    }
    for (size_t t = 0; t < b->all->count; t++)
        block_of[b->all->task[t].item] = b->all->task[t].block;
    for (size_t k = 0; k < blocks; k++) {
        span[2 * k] = b->all->apart[k] ? start_date(b) : LONG_MAX;
        span[2 * k + 1] = LONG_MIN;
    }
    l->finish = 0;
    for (size_t i = 0; i < l->count; i++) {
        const size_t k = block_of[l->entries[i].item];
        const long date = b->date[l->entries[i].day];
        span[2 * k] = date < span[2 * k] ? date : span[2 * k];
        span[2 * k + 1] = date > span[2 * k + 1] ? date : span[2 * k + 1];
        l->finish = l->entries[i].day > l->finish ? l->entries[i].day : l->finish;
    }
    qsort(span, blocks, 2 * sizeof *span, compare_long);
    long reached = LONG_MIN;
    l->nights = 0;
    for (size_t k = 0; k < blocks; k++) {
        const long from = span[2 * k] > reached ? span[2 * k] : reached;
        if (span[2 * k + 1] > from) {
            l->nights += span[2 * k + 1] - from;
            reached = span[2 * k + 1];
        }
    }
    free(span);
    free(block_of);
    return true;
}

static bool is_better(const layout *now, const layout *best)
{
    if (now->fits != best->fits)
        return now->fits;
    if (now->nights != best->nights)
        return now->nights < best->nights;
    return now->finish < best->finish;
}

static void keep(board *b)
{
    const layout spare = b->best;
    b->best = b->now;
    b->now = spare;
}

/* Another block has to come before this one and is not laid yet. */
static bool waits(const board *b, const layout *l, size_t block)
{
    size_t count = 0;
    const size_t *member = members(b, block, &count);
    for (size_t i = 0; i < count; i++)
        for (size_t a = b->all->before_first[member[i]]; a < b->all->before_first[member[i] + 1]; a++) {
            const size_t before = b->all->before[a];
            if (b->all->task[before].block != block && l->last_day[before] == SIZE_MAX)
                return true;
        }
    return false;
}

/* Place the blocks in the board's order; one that has to wait for another takes its turn in a later round. */
static bool place_in_order(board *b)
{
    layout *l = &b->now;
    layout_begin(b, l);
    size_t laid = 0;
    for (bool more = true; more && laid < b->all->blocks;) {
        more = false;
        for (size_t i = 0; i < b->all->blocks; i++) {
            const size_t block = b->order[i];
            if (l->last_day[b->grouped[b->group[block]]] != SIZE_MAX || waits(b, l, block))
                continue;
            if (!place_block(b, l, block))
                return false;
            laid++;
            more = true;
        }
    }
    l->fits = laid == b->all->blocks;
    return l->fits;
}

/* All tasks as one block. */
static void place_at_once(board *b)
{
    size_t first = 0, last = 0;
    layout_begin(b, &b->now);
    b->now.fits = lay_block(b, &b->now, SIZE_MAX, 0, &first, &last);
}

static ch_work block_work(const tasks *all, size_t block)
{
    ch_work sum = 0;
    for (size_t t = 0; t < all->count; t++)
        sum += all->task[t].block == block ? all->task[t].work_us : 0;
    return sum;
}

/* Longest first: the short ones fill what is left of a day. */
static bool order_by_length(board *b)
{
    ch_work *length = calloc(b->all->blocks + 1, sizeof *length);
    if (length == NULL)
        return false;
    for (size_t k = 0; k < b->all->blocks; k++) {
        length[k] = block_work(b->all, k);
        size_t place = k;
        for (; place > 0 && length[b->order[place - 1]] < length[k]; place--)
            b->order[place] = b->order[place - 1];
        b->order[place] = k;
    }
    free(length);
    return true;
}

static void shuffle(board *b, ch_stream *stream)
{
    for (size_t i = b->all->blocks; i > 1; i--) {
        const size_t j = (size_t)(ch_stream_uniform(stream) * (double)i), keep_ = b->order[i - 1];
        b->order[i - 1] = b->order[j];
        b->order[j] = keep_;
    }
}

/* The search. False where there is no memory. */
static bool search(board *b)
{
    ch_stream stream;
    ch_stream_init(&stream, 1, 0);
    place_at_once(b);
    if (!count_nights(b, &b->now) || !order_by_length(b))
        return false;
    keep(b);
    const size_t blocks = b->all->blocks;
    double effort = 1.0; /* of one order */
    for (size_t k = 0; k < blocks; k++) {
        const double members_count = (double)(b->group[k + 1] - b->group[k]);
        effort += (double)b->days * members_count * (members_count + (double)b->days);
    }
    size_t orders = (size_t)((double)EFFORT_MAX / effort);
    orders = orders > ORDERS_MAX ? ORDERS_MAX : orders;
    /* As one block, first steps enclose all others: apart it may fit all the same. */
    for (size_t i = 0; (b->best.fits || b->all->firsts) && i < orders && blocks > 0; i++) {
        if (place_in_order(b)) {
            if (!count_nights(b, &b->now))
                return false;
            if (is_better(&b->now, &b->best))
                keep(b);
        }
        if (blocks < 2)
            break;
        shuffle(b, &stream);
    }
    return true;
}

static int compare_entry(const void *left, const void *right)
{
    const ch_calendar_entry *a = *(const ch_calendar_entry *const *)left, *b = *(const ch_calendar_entry *const *)right;
    if (a->day != b->day)
        return a->day < b->day ? -1 : 1;
    return a < b ? -1 : a > b;
}

/* What found no day, in an order in which it could be done. */
static void append_late(const board *b, ch_calendar *calendar)
{
    const size_t laid = calendar->count;
    for (size_t i = 0; i < b->all->count; i++) {
        const size_t t = b->by_rank[i];
        bool waits_for_late = false;
        for (size_t a = b->all->before_first[t]; a < b->all->before_first[t + 1]; a++)
            waits_for_late = waits_for_late || b->best.last_day[b->all->before[a]] == SIZE_MAX;
        for (size_t a = b->all->across_first[t]; a < b->all->across_first[t + 1]; a++)
            waits_for_late = waits_for_late || b->best.last_day[b->all->across[a]] == SIZE_MAX;
        if (b->best.last_day[t] != SIZE_MAX || waits_for_late)
            continue;
        ch_work left_us = b->all->task[t].work_us;
        for (size_t k = 0; k < laid; k++)
            if (calendar->entries[k].item == b->all->task[t].item && calendar->entries[k].kind == b->all->task[t].kind)
                left_us -= calendar->entries[k].work_us;
        calendar->entries[calendar->count++] = (ch_calendar_entry){
            .day = SIZE_MAX, .item = b->all->task[t].item, .kind = b->all->task[t].kind, .work_us = left_us};
        calendar->late_us += left_us;
        b->best.last_day[t] = b->days; /* listed */
        i = SIZE_MAX;                  /* and look again: it may be what others waited for */
    }
}

/* The best layout in the order of the days, pieces of one task that lie side by side joined; behind it what found no day. */
static bool write_out(const board *b, ch_calendar *calendar)
{
    const layout *l = &b->best;
    const ch_calendar_entry **sorted = calloc(l->count + 1, sizeof *sorted);
    calendar->entries = calloc(l->count + b->all->count + 1, sizeof *calendar->entries);
    if (sorted == NULL || calendar->entries == NULL) {
        free(sorted);
        free(calendar->entries);
        return false;
    }
    for (size_t i = 0; i < l->count; i++)
        sorted[i] = &l->entries[i];
    qsort(sorted, l->count, sizeof *sorted, compare_entry);
    for (size_t i = 0; i < l->count; i++)
        calendar->entries[i] = *sorted[i];
    free(sorted);
    calendar->count = l->count;
    calendar->fits = l->fits;
    calendar->nights_apart = l->nights;
    if (l->fits && l->count > 0)
        calendar->finish = b->plan->days[l->finish].date;
    append_late(b, calendar);
    return true;
}

/* The choice may fill its hours to within the rounding of the numbers (choose.c); the days must not be overfilled by even that. */
static void shave(tasks *all, const ch_plan *plan)
{
    ch_work over_us = -ch_plan_work_limit(plan);
    size_t longest = 0;
    for (size_t t = 0; t < all->count; t++) {
        over_us += all->task[t].work_us;
        if (all->task[t].work_us > all->task[longest].work_us)
            longest = t;
    }
    if (over_us > 0 && over_us <= (ch_work)(plan->items_count + plan->days_count) &&
        all->task[longest].work_us > over_us)
        all->task[longest].work_us -= over_us;
}

static void board_clear(board *b)
{
    layout_clear(&b->best);
    layout_clear(&b->now);
    free(b->date);
    free(b->left);
    free(b->order);
    free(b->by_rank);
    free(b->grouped);
    free(b->group);
}

static bool board_init(board *b, const ch_plan *plan, const tasks *all)
{
    *b = (board){.plan = plan, .all = all, .days = plan->days_until};
    const size_t entries = all->count + b->days; /* a task's end or a day's end ends each piece */
    const bool now = layout_init(&b->now, entries, b->days, all->count),
               best = layout_init(&b->best, entries, b->days, all->count);
    b->date = calloc(b->days + 1, sizeof *b->date);
    b->left = calloc(all->count + 1, sizeof *b->left);
    b->order = calloc(all->blocks + 1, sizeof *b->order);
    b->by_rank = calloc(all->count + 1, sizeof *b->by_rank);
    b->grouped = calloc(all->count + 1, sizeof *b->grouped);
    b->group = calloc(all->blocks + 2, sizeof *b->group);
    if (!now || !best || b->date == NULL || b->left == NULL || b->order == NULL || b->by_rank == NULL ||
        b->grouped == NULL || b->group == NULL)
        return false;
    for (size_t d = 0; d < b->days; d++)
        b->date[d] = ch_date_days(plan->days[d].date);
    for (size_t t = 0; t < all->count; t++) {
        size_t place = t;
        for (; place > 0 && all->task[b->by_rank[place - 1]].rank > all->task[t].rank; place--)
            b->by_rank[place] = b->by_rank[place - 1];
        b->by_rank[place] = t;
    }
    size_t n = 0;
    for (size_t k = 0; k < all->blocks; k++) {
        for (size_t i = 0; i < all->count; i++)
            if (all->task[b->by_rank[i]].block == k)
                b->grouped[n++] = b->by_rank[i];
        b->group[k + 1] = n;
    }
    return true;
}

ch_status ch_winter_calendar(const ch_plan *plan, const bool chosen[], ch_calendar *calendar, ch_err *err)
{
    tasks all;
    board b = {0};
    ch_calendar made = {0};
    if (!tasks_init(&all, plan, chosen))
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the calendar");
    if (plan->has_days)
        shave(&all, plan);
    const bool good = board_init(&b, plan, &all) && search(&b) && write_out(&b, &made);
    board_clear(&b);
    tasks_clear(&all);
    if (!good)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the calendar");
    *calendar = made;
    return CH_OK;
}

void ch_calendar_clear(ch_calendar *calendar)
{
    free(calendar->entries);
    *calendar = (ch_calendar){0};
}

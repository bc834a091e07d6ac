/*
 * Implications and exclusions as lists. The implications are closed by Warshall's algorithm (Journal of the ACM 9 (1962) 11) on rows of bits.
 */
#include "relations.h"

#include <stdlib.h>
#include <string.h>

typedef struct bits {
    size_t count, words;
    uint64_t *row; /* `words` for each item */
} bits;

static bool bits_init(bits *b, size_t count)
{
    *b = (bits){.count = count, .words = count / 64 + 1};
    b->row = calloc(count * b->words + 1, sizeof *b->row);
    return b->row != NULL;
}

static bool bit(const bits *b, size_t i, size_t j)
{
    return (b->row[i * b->words + j / 64] >> (j % 64) & 1) != 0;
}

static void bit_set(bits *b, size_t i, size_t j)
{
    b->row[i * b->words + j / 64] |= UINT64_C(1) << (j % 64);
}

/* Everything that is reached over several arcs becomes an arc. */
static void bits_close(bits *b)
{
    for (size_t k = 0; k < b->count; k++)
        for (size_t i = 0; i < b->count; i++)
            if (bit(b, i, k))
                for (size_t w = 0; w < b->words; w++)
                    b->row[i * b->words + w] |= b->row[k * b->words + w];
}

/* All of row i but the item `but` stands in row j too. */
static bool row_within(const bits *b, size_t i, size_t j, size_t but)
{
    for (size_t w = 0; w < b->words; w++) {
        uint64_t beyond = b->row[i * b->words + w] & ~b->row[j * b->words + w];
        if (w == but / 64)
            beyond &= ~(UINT64_C(1) << (but % 64));
        if (beyond != 0)
            return false;
    }
    return true;
}

/* Whoever has `worse` without `better` may swap them and loses nothing. */
static bool dominates(const ch_selection *task, const bits *needs, const bits *shuts, size_t better, size_t worse)
{
    const int64_t gain = task->gain[better] - task->gain[worse], work = task->work[worse] - task->work[better],
                  money = task->money[worse] - task->money[better];
    if (gain < 0 || work < 0 || money < 0 || (gain == 0 && work == 0 && money == 0 && better > worse))
        return false;
    return row_within(needs, better, worse, better) && row_within(shuts, better, worse, worse);
}

static void add_dominance(const ch_selection *task, const signed char fixed[], bits *needs, const bits *shuts)
{
    const size_t n = task->count;
    bool *used = calloc(n + 1, sizeof *used);
    bits added;
    const bool memory = bits_init(&added, n);
    if (used == NULL || !memory) { /* it only saves time */
        free(used);
        free(added.row);
        return;
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            if (i != j && bit(needs, i, j))
                used[j] = true;
    for (size_t better = 0; better < n; better++)
        for (size_t worse = 0; worse < n && fixed[better] != 0; worse++)
            if (worse != better && fixed[worse] < 0 && !used[worse] && dominates(task, needs, shuts, better, worse))
                bit_set(&added, worse, better);
    for (size_t w = 0; w < n * needs->words; w++)
        needs->row[w] |= added.row[w];
    free(used);
    free(added.row);
}

/* The bits as lists; `across`: of the columns instead of the rows. */
static bool make_lists(const bits *b, bool across, relation_lists *lists)
{
    size_t total = 0;
    lists->first = calloc(b->count + 1, sizeof *lists->first);
    if (lists->first == NULL)
        return false;
    for (int pass = 0; pass < 2; pass++) {
        total = 0;
        for (size_t i = 0; i < b->count; i++) {
            lists->first[i] = total;
            for (size_t j = 0; j < b->count; j++)
                if (i != j && (across ? bit(b, j, i) : bit(b, i, j))) {
                    if (pass == 1)
                        lists->item[total] = j;
                    total++;
                }
        }
        lists->first[b->count] = total;
        if (pass == 0 && (lists->item = calloc(total + 1, sizeof *lists->item)) == NULL)
            return false;
    }
    return true;
}

/* True where i -> j follows from i -> k -> j, the three not being of one cycle. */
static bool follows(const bits *b, size_t i, size_t j)
{
    for (size_t k = 0; k < b->count; k++)
        if (k != i && k != j && bit(b, i, k) && bit(b, k, j) && !bit(b, k, i) && !bit(b, j, k))
            return true;
    return false;
}

static bool make_arcs(const bits *b, relations *links)
{
    const size_t most = links->needs.first[b->count];
    links->from = calloc(most + 1, sizeof *links->from);
    links->to = calloc(most + 1, sizeof *links->to);
    if (links->from == NULL || links->to == NULL)
        return false;
    for (size_t i = 0; i < b->count; i++)
        for (size_t a = links->needs.first[i]; a < links->needs.first[i + 1]; a++)
            if (!follows(b, i, links->needs.item[a])) {
                links->from[links->arcs] = i;
                links->to[links->arcs++] = links->needs.item[a];
            }
    return true;
}

bool relations_init(relations *links, const ch_selection *task, const signed char fixed[])
{
    *links = (relations){0};
    bits needs, shuts;
    const bool memory = bits_init(&needs, task->count), more = bits_init(&shuts, task->count);
    bool good = memory && more;
    if (good) {
        for (size_t i = 0; i < task->implies_count; i++)
            bit_set(&needs, task->implies[i].item, task->implies[i].other);
        for (size_t i = 0; i < task->excludes_count; i++) {
            bit_set(&shuts, task->excludes[i].item, task->excludes[i].other);
            bit_set(&shuts, task->excludes[i].other, task->excludes[i].item);
        }
        bits_close(&needs);
        add_dominance(task, fixed, &needs, &shuts);
        bits_close(&needs);
        good = make_lists(&needs, false, &links->needs) && make_lists(&needs, true, &links->users) &&
               make_lists(&shuts, false, &links->shuts) && make_arcs(&needs, links);
    }
    free(needs.row);
    free(shuts.row);
    if (!good)
        relations_clear(links);
    return good;
}

void relations_clear(relations *links)
{
    free(links->needs.first);
    free(links->needs.item);
    free(links->users.first);
    free(links->users.item);
    free(links->shuts.first);
    free(links->shuts.item);
    free(links->from);
    free(links->to);
    *links = (relations){0};
}

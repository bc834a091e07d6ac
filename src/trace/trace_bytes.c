/*
 * An answer as bytes and back: a mark, then every number in the order of the struct, integers and checks as 64 bits, doubles as IEEE 754 binary64,
 * little end first; last the FNV-1a sum of all before it (hash.h).
 */
#include <string.h>

#include "crosshatch/hash.h"
#include "crosshatch/trace.h"

static const char MARK[8] = {'c', 'h', 't', 'r', 'a', 'c', 'e', (char)('0' + CH_TRACE_VERSION)};

/* One walk over the struct for both ways: `out` is written to, or bytes are read from `at` on. */
typedef struct walk {
    ch_text *out;
    const unsigned char *at, *end;
    bool good;
} walk;

static void bits(walk *w, uint64_t *value)
{
    unsigned char bytes[8];
    if (w->out != NULL) {
        for (int i = 0; i < 8; i++)
            bytes[i] = (unsigned char)(*value >> 8 * i);
        ch_text_append(w->out, (const char *)bytes, sizeof bytes);
        return;
    }
    if (!w->good || w->end - w->at < 8) {
        w->good = false;
        return;
    }
    *value = 0;
    for (int i = 0; i < 8; i++)
        *value |= (uint64_t)w->at[i] << 8 * i;
    w->at += 8;
}

static void numbers(walk *w, double values[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        uint64_t value = 0;
        memcpy(&value, &values[i], sizeof value);
        bits(w, &value);
        memcpy(&values[i], &value, sizeof value);
    }
}

static void count_of(walk *w, size_t *count, size_t most)
{
    uint64_t value = *count;
    bits(w, &value);
    if (value > most)
        w->good = false;
    else
        *count = (size_t)value;
}

static void whole(walk *w, int *number, int most)
{
    size_t value = (size_t)*number;
    count_of(w, &value, (size_t)most);
    if (w->good)
        *number = (int)value;
}

static void one_cylinder(walk *w, ch_trace_cylinder *c)
{
    whole(w, &c->cylinder, CH_CYLINDERS_MAX);
    numbers(w, c->cause_1, CH_CAUSE_COUNT);
    numbers(w, c->drawing_u_1, CH_CAUSE_COUNT);
    numbers(w, c->prior_1, CH_CAUSE_COUNT);
    numbers(w, c->area_m2, 3);
    numbers(w, c->ladder_m2, CH_TRACE_LADDER);
    numbers(w, c->path_m2, CH_PATH_COUNT);
    numbers(w, c->expected_pa, 3);
}

static void one_check(walk *w, const ch_knowledge *knowledge, ch_trace_check *check)
{
    size_t place = w->out != NULL ? (size_t)(check->check - knowledge->checks) : 0;
    count_of(w, &place, knowledge->checks_count);
    w->good = w->good && place < knowledge->checks_count;
    check->check = w->good ? &knowledge->checks[place] : NULL;
    whole(w, &check->cylinder, CH_CYLINDERS_MAX);
    numbers(w, &check->minutes, 1);
    numbers(w, &check->bits_1, 1);
}

static void over(walk *w, const ch_knowledge *knowledge, ch_trace *trace)
{
    int reliable = trace->reliable;
    whole(w, &trace->cylinders, CH_CYLINDERS_MAX);
    for (int c = 0; w->good && c < trace->cylinders; c++)
        one_cylinder(w, &trace->cylinder[c]);
    numbers(w, &trace->any_fault_1, 1);
    numbers(w, &trace->effective_samples, 1);
    whole(w, &reliable, 1);
    trace->reliable = reliable != 0;
    numbers(w, trace->shared_shift, CH_DOUBT_COUNT);
    count_of(w, &trace->next_check_count, CH_TRACE_CHECKS_MAX);
    for (size_t i = 0; w->good && i < trace->next_check_count; i++)
        one_check(w, knowledge, &trace->next_check[i]);
}

static uint64_t sum_of(const char *bytes, size_t length)
{
    return ch_hash(CH_HASH_BEGIN, bytes, length);
}

void ch_trace_write(const ch_trace *trace, const ch_knowledge *knowledge, ch_text *bytes)
{
    const size_t from = bytes->length;
    ch_trace copy = *trace; /* the walk takes what it may also write to */
    walk w = {.out = bytes, .good = true};
    ch_text_append(bytes, MARK, sizeof MARK);
    over(&w, knowledge, &copy);
    if (bytes->status != CH_OK)
        return;
    uint64_t sum = sum_of(bytes->bytes + from, bytes->length - from);
    bits(&w, &sum);
}

ch_status ch_trace_read(const char *bytes, size_t length, const ch_knowledge *knowledge, ch_trace *trace, ch_err *err)
{
    ch_trace made = {0};
    uint64_t sum = 0;
    walk w = {.at = (const unsigned char *)bytes, .end = (const unsigned char *)bytes, .good = false};
    if (length >= sizeof MARK + 8 && memcmp(bytes, MARK, sizeof MARK) == 0) {
        w = (walk){.at = w.at + length - 8, .end = w.at + length, .good = true};
        bits(&w, &sum);
        w = (walk){.at = (const unsigned char *)bytes + sizeof MARK,
                   .end = (const unsigned char *)bytes + length - 8,
                   .good = sum == sum_of(bytes, length - 8)};
        if (w.good)
            over(&w, knowledge, &made);
    }
    if (!w.good || w.at != w.end)
        return ch_fail(err, CH_E_INPUT, "to be worked out anew", "no answer of the tracing is kept there");
    *trace = made;
    return CH_OK;
}

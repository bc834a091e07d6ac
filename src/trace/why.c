/* Why the tracing says what it says: the same sheet with one kind of evidence taken away, for each kind in turn. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

/* A sheet that borrows another's rows, some left out. */
typedef struct lean_sheet {
    ch_sheet sheet;
    ch_reading *compression, *wet;
    ch_leakdown_row *leakdown;
    ch_observation *observed;
} lean_sheet;

static void lean_free(lean_sheet *lean)
{
    free(lean->compression);
    free(lean->wet);
    free(lean->leakdown);
    free(lean->observed);
}

static void *copy_rows(const void *rows, size_t count, size_t size, bool *failed)
{
    if (count == 0)
        return NULL;
    void *copy = malloc(count * size);
    if (copy == NULL)
        *failed = true;
    else
        memcpy(copy, rows, count * size);
    return copy;
}

static ch_status lean_make(const ch_sheet *from, lean_sheet *lean, ch_err *err)
{
    bool failed = false;
    lean->sheet = *from;
    lean->compression = copy_rows(from->compression, from->compression_count, sizeof *from->compression, &failed);
    lean->wet = copy_rows(from->wet, from->wet_count, sizeof *from->wet, &failed);
    lean->leakdown = copy_rows(from->leakdown, from->leakdown_count, sizeof *from->leakdown, &failed);
    lean->observed = copy_rows(from->observed, from->observed_count, sizeof *from->observed, &failed);
    lean->sheet.compression = lean->compression;
    lean->sheet.wet = lean->wet;
    lean->sheet.leakdown = lean->leakdown;
    lean->sheet.observed = lean->observed;
    if (!failed)
        return CH_OK;
    lean_free(lean);
    return ch_fail(err, CH_E_MEMORY, NULL, "no memory to ask why");
}

/* Kinds of evidence that can be taken away. */
typedef enum evidence_kind {
    OWN_DRY,
    OTHERS_DRY,
    FIRST_STROKES,
    OWN_WET,
    OTHERS_WET,
    OWN_LEAKDOWN,
    OTHERS_LEAKDOWN,
    HEARD,
    OBSERVED
} evidence_kind;

static size_t drop_readings(ch_reading rows[], size_t count, int cylinder, bool own)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if ((rows[i].cylinder == cylinder) != own)
            rows[kept++] = rows[i];
    return kept;
}

/* Take one kind away; false where the sheet has none of it. `which` is the observation for OBSERVED. */
static bool take_away(lean_sheet *lean, evidence_kind kind, int cylinder, size_t which)
{
    ch_sheet *s = &lean->sheet;
    const size_t dry = s->compression_count, wet = s->wet_count, leakdown = s->leakdown_count;
    bool any = false;
    switch (kind) {
    case OWN_DRY:
    case OTHERS_DRY:
        s->compression_count = drop_readings(lean->compression, dry, cylinder, kind == OWN_DRY);
        return s->compression_count < dry;
    case FIRST_STROKES:
        for (size_t i = 0; i < dry; i++) {
            any = any || ch_quantity_given(&lean->compression[i].first_stroke);
            lean->compression[i].first_stroke = ch_quantity_none();
        }
        return any;
    case OWN_WET:
    case OTHERS_WET: s->wet_count = drop_readings(lean->wet, wet, cylinder, kind == OWN_WET); return s->wet_count < wet;
    case OWN_LEAKDOWN:
    case OTHERS_LEAKDOWN:
        s->leakdown_count = 0;
        for (size_t i = 0; i < leakdown; i++)
            if ((lean->leakdown[i].cylinder == cylinder) != (kind == OWN_LEAKDOWN))
                lean->leakdown[s->leakdown_count++] = lean->leakdown[i];
        return s->leakdown_count < leakdown;
    case HEARD:
        for (size_t i = 0; i < leakdown; i++)
            if (lean->leakdown[i].cylinder == cylinder) {
                any = any || lean->leakdown[i].heard != 0 || lean->leakdown[i].heard_cylinders != 0;
                lean->leakdown[i].heard = lean->leakdown[i].heard_cylinders = 0;
            }
        return any;
    case OBSERVED:
        if (which >= s->observed_count)
            return false;
        memmove(&lean->observed[which], &lean->observed[which + 1],
                (s->observed_count - which - 1) * sizeof *lean->observed);
        s->observed_count--;
        return true;
    }
    return false;
}

static void name_evidence(const ch_sheet *sheet, const ch_knowledge *knowledge, evidence_kind kind, int cylinder,
                          size_t which, char *what, size_t size)
{
    static const char *const WORDS[] = {
        [OWN_DRY] = "the dry readings of cylinder %d",
        [OTHERS_DRY] = "the dry readings of the cylinders beside %d",
        [FIRST_STROKES] = "the first-stroke readings",
        [OWN_WET] = "the wet reading of cylinder %d",
        [OTHERS_WET] = "the wet readings of the cylinders beside %d",
        [OWN_LEAKDOWN] = "the leak-down test of cylinder %d",
        [OTHERS_LEAKDOWN] = "the leak-down tests of the cylinders beside %d",
        [HEARD] = "where air was heard on cylinder %d",
    };
    if (kind == FIRST_STROKES) {
        snprintf(what, size, "%s", WORDS[kind]);
    } else if (kind == OBSERVED) {
        const ch_observation *row = &sheet->observed[which];
        const ch_knowledge_observation *known = ch_knowledge_observation_find(knowledge, row->what, strlen(row->what));
        const char *title = known != NULL ? known->title : row->what;
        if (row->cylinder > 0)
            snprintf(what, size, "\"%.80s\"%s (cylinder %d)", title, row->absent ? " not found" : "", row->cylinder);
        else
            snprintf(what, size, "\"%.80s\"%s", title, row->absent ? " not found" : "");
    } else {
        const char *word = WORDS[kind];
        const char *place = strstr(word, "%d");
        snprintf(what, size, "%.*s%d%s", (int)(place - word), word, cylinder, place + 2);
    }
}

static ch_cause likeliest(const double cause_1[CH_CAUSE_COUNT])
{
    int best = 0;
    for (int c = 1; c < CH_CAUSE_COUNT; c++)
        if (cause_1[c] > cause_1[best])
            best = c;
    return (ch_cause)best;
}

static void insert_reason(ch_trace_reason reason[], size_t *count, const ch_trace_reason *found)
{
    size_t at = *count < CH_TRACE_REASONS_MAX ? (*count)++ : CH_TRACE_REASONS_MAX;
    const double weight = fabs(found->with_1 - found->without_1);
    while (at > 0 && fabs(reason[at - 1].with_1 - reason[at - 1].without_1) < weight) {
        if (at < CH_TRACE_REASONS_MAX)
            reason[at] = reason[at - 1];
        at--;
    }
    if (at < CH_TRACE_REASONS_MAX)
        reason[at] = *found;
}

ch_status ch_trace_why(const ch_sheet *sheet, const ch_setup *setup, const ch_knowledge *knowledge,
                       const ch_trace_options *options, int cylinder, ch_trace_reason reason[CH_TRACE_REASONS_MAX],
                       size_t *count, ch_err *err)
{
    if (cylinder < 1 || cylinder > sheet->engine.cylinders)
        return ch_fail(err, CH_E_RANGE, "a cylinder of the sheet's engine", "cylinder %d of %d", cylinder,
                       sheet->engine.cylinders);
    /* The engine stays what it is, whatever is taken away: all runs share its stand-ins. */
    trace_stand_ins *stand_ins = calloc(1, sizeof *stand_ins);
    ch_trace *trace = malloc(sizeof *trace);
    ch_status rc = stand_ins == NULL || trace == NULL ? ch_fail(err, CH_E_MEMORY, NULL, "no memory to ask why") : CH_OK;
    if (rc >= 0)
        rc = trace_run(sheet, setup, knowledge, options, false, stand_ins, trace, err);
    if (rc < 0) {
        free(stand_ins);
        free(trace);
        return rc;
    }
    const ch_cause cause = likeliest(trace->cylinder[cylinder - 1].cause_1);
    const double with_1 = trace->cylinder[cylinder - 1].cause_1[cause];
    size_t found = 0;
    ch_trace_reason kept[CH_TRACE_REASONS_MAX];
    for (int kind = OWN_DRY; kind <= OBSERVED && rc >= 0; kind++)
        for (size_t which = 0; which < (kind == OBSERVED ? sheet->observed_count : 1) && rc >= 0; which++) {
            lean_sheet lean;
            rc = lean_make(sheet, &lean, err);
            if (rc < 0)
                break;
            if (take_away(&lean, (evidence_kind)kind, cylinder, which)) {
                rc = trace_run(&lean.sheet, setup, knowledge, options, false, stand_ins, trace, err);
                if (rc >= 0) {
                    const double *without = trace->cylinder[cylinder - 1].cause_1;
                    ch_trace_reason one = {
                        .cause = cause, .with_1 = with_1, .without_1 = without[cause], .instead = likeliest(without)};
                    one.instead_1 = without[one.instead];
                    name_evidence(sheet, knowledge, (evidence_kind)kind, cylinder, which, one.what, sizeof one.what);
                    insert_reason(kept, &found, &one);
                }
            }
            lean_free(&lean);
        }
    if (rc >= 0) {
        memcpy(reason, kept, found * sizeof *kept);
        *count = found;
    }
    free(stand_ins);
    free(trace);
    return rc;
}

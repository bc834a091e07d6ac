/* How good the answers are on real engines: owners' own readings, and what was found when the engine was opened.
 *
 * usage: study_field_cases [FOLDER]    (default: tests/data/field-cases of the source tree)
 *
 * FOLDER holds index.csv and the sheets it names (tests/data/field-cases/README.md). A case counts where the cause was confirmed with
 * confidence 2 or 3. A faulty engine is one whose main cause is neither `sound` nor `measurement_error`. Prints a line a case, then every
 * figure beside what is wanted of it, and the same figure of the plain rule "below 75 % of the highest". Exits 0 where all are met, else 1. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/judge.h"
#include "study_kit.h"

enum { CASES_MAX = 512, COLUMNS = 8, CONFIRMED = 2 };

/* Causes as a set: an account may leave the side of a valve open, or name two causes. Empty = unknown. */
typedef unsigned cause_set;

static cause_set only(ch_cause cause)
{
    return 1u << cause;
}

typedef struct field_case {
    char id[32];
    char main_text[80];
    cause_set main, cylinder[CH_CYLINDERS_MAX];
    int confidence;
    bool more_than_dry;
    ch_sheet sheet;
    ch_judgement judged;
} field_case;

static cause_set causes_of(const char *text)
{
    cause_set set = 0;
    while (*text != '\0') {
        const size_t length = strcspn(text, "|+");
        const ch_cause cause = ch_cause_find(text, length);
        if (cause != CH_CAUSE_COUNT)
            set |= only(cause);
        text += length + (text[length] != '\0');
    }
    return set;
}

/* Split a line of the index in place; its fields hold no quotes. */
static size_t split(char *line, char separator, char *field[], size_t most)
{
    size_t n = 0;
    while (n < most) {
        field[n++] = line;
        char *end = strchr(line, separator);
        if (end == NULL)
            break;
        *end = '\0';
        line = end + 1;
    }
    return n;
}

static bool case_read(const char *folder, char *field[COLUMNS], field_case *c)
{
    snprintf(c->id, sizeof c->id, "%s", field[0]);
    snprintf(c->main_text, sizeof c->main_text, "%s", field[4]);
    c->main = causes_of(field[4]);
    c->confidence = atoi(field[6]);
    c->more_than_dry = strcmp(field[7], "yes") == 0;
    char *each[CH_CYLINDERS_MAX];
    const size_t cylinders = split(field[5], ';', each, CH_CYLINDERS_MAX);
    for (size_t i = 0; i < cylinders; i++)
        c->cylinder[i] = causes_of(each[i]);
    char path[1024];
    snprintf(path, sizeof path, "%.900s/%.100s", folder, field[1]);
    size_t length = 0;
    char *text = study_read(path, &length);
    if (text == NULL)
        return false;
    ch_err err = {0};
    const ch_status rc = ch_sheet_parse(field[1], text, length, &c->sheet, &err);
    free(text);
    if (rc < 0)
        study_complain(path, &err);
    return rc >= 0;
}

static bool counts(const field_case *c)
{
    return c->confidence >= CONFIRMED && c->main != 0;
}

static bool faulty_set(cause_set set)
{
    return set != 0 && (set & (only(CH_CAUSE_SOUND) | only(CH_CAUSE_MEASUREMENT_ERROR))) == 0;
}

/* ---- the plain rule ---- */

static bool rule_says(const field_case *c, int cylinder)
{
    double highest_pa = 0.0;
    for (int i = 0; i < c->judged.cylinders; i++)
        highest_pa = fmax(highest_pa, c->judged.cylinder[i].n > 0 ? c->judged.cylinder[i].mean_pa : 0.0);
    return c->judged.cylinder[cylinder].n > 0 && c->judged.cylinder[cylinder].mean_pa < 0.75 * highest_pa;
}

static bool rule_says_engine(const field_case *c)
{
    bool any = false;
    for (int i = 0; i < c->judged.cylinders; i++)
        any = any || rule_says(c, i);
    return any;
}

/* ---- what the tracing put first ---- */

static double fault_1(const field_case *c, int cylinder)
{
    const double *cause_1 = c->judged.trace.cylinder[cylinder].cause_1;
    return 1.0 - cause_1[CH_CAUSE_SOUND] - cause_1[CH_CAUSE_MEASUREMENT_ERROR];
}

/* Causes' shares of what is wrong: over the cylinders with a confirmed fault, or over all. */
static void shares(const field_case *c, bool confirmed_only, double share_1[CH_CAUSE_COUNT])
{
    double total = 0.0;
    memset(share_1, 0, CH_CAUSE_COUNT * sizeof *share_1);
    for (int i = 0; i < c->judged.cylinders; i++) {
        const bool wanted = c->cylinder[i] != 0 && (c->cylinder[i] & only(CH_CAUSE_SOUND)) == 0;
        for (int k = 1; k < CH_CAUSE_COUNT && (wanted || !confirmed_only); k++) {
            share_1[k] += c->judged.trace.cylinder[i].cause_1[k];
            total += c->judged.trace.cylinder[i].cause_1[k];
        }
    }
    for (int k = 1; k < CH_CAUSE_COUNT && total > 0.0; k++)
        share_1[k] /= total;
}

/* Place of the best of a set, 1 = first; 0 where nothing has a share. */
static int place_of(const double share_1[CH_CAUSE_COUNT], cause_set set)
{
    double best = 0.0;
    for (int k = 1; k < CH_CAUSE_COUNT; k++)
        if ((set & only((ch_cause)k)) != 0)
            best = fmax(best, share_1[k]);
    if (!(best > 0.0))
        return 0;
    int place = 1;
    for (int k = 1; k < CH_CAUSE_COUNT; k++)
        place += share_1[k] > best;
    return place;
}

static void print_first(const double share_1[CH_CAUSE_COUNT], int how_many)
{
    bool told[CH_CAUSE_COUNT] = {false};
    for (int n = 0; n < how_many; n++) {
        int best = 1;
        for (int k = 1; k < CH_CAUSE_COUNT; k++)
            if (!told[k] && (told[best] || share_1[k] > share_1[best]))
                best = k;
        told[best] = true;
        printf("%s%s %.2f", n > 0 ? ", " : "", ch_cause_name((ch_cause)best), share_1[best]);
    }
}

/* ---- the table ---- */

static void print_case(const field_case *c)
{
    double own[CH_CAUSE_COUNT], all[CH_CAUSE_COUNT];
    shares(c, true, own);
    shares(c, false, all);
    const bool sound = c->main == only(CH_CAUSE_SOUND);
    printf("%-7s %d %-4s %-7s %-5s %3.0f ", c->id, c->confidence, c->more_than_dry ? "more" : "dry",
           ch_verdict_name(c->judged.verdict), rule_says_engine(c) ? "below" : "-", c->judged.trace.effective_samples);
    printf("| %-28s ", c->main_text);
    if (c->main != 0 && !sound)
        printf("%d/%d ", place_of(own, c->main), place_of(all, c->main));
    else
        printf("    ");
    printf("| ");
    if (c->main != 0 && !sound) {
        print_first(own, 3);
        printf(" | ");
    }
    print_first(all, 3);
    printf(" | fault");
    for (int i = 0; i < c->judged.cylinders; i++)
        printf("%s%.2f%s", i > 0 ? "; " : " ", fault_1(c, i), faulty_set(c->cylinder[i]) ? "*" : "");
    printf("\n");
}

/* ---- the figures ---- */

typedef struct tally {
    size_t hits, of;
} tally;

static void tally_add(tally *t, bool hit)
{
    t->of++;
    t->hits += hit;
}

static bool tally_print(const char *what, tally t, double least, double most)
{
    const study_figure figure = {
        .what = what, .value = t.of > 0 ? (double)t.hits / (double)t.of : NAN, .least = least, .most = most, .n = t.of};
    return study_figure_print(&figure) != 0;
}

static bool print_verdicts(const field_case cases[], size_t n)
{
    tally named = {0}, named_fault = {0}, rule = {0}, alarm = {0}, rule_alarm = {0};
    tally cylinder = {0}, rule_cylinder = {0}, cylinder_alarm = {0}, rule_cylinder_alarm = {0};
    for (size_t i = 0; i < n; i++) {
        const field_case *c = &cases[i];
        if (!counts(c))
            continue;
        const ch_verdict verdict = c->judged.verdict;
        if (faulty_set(c->main)) {
            tally_add(&named, verdict == CH_VERDICT_FAULT || verdict == CH_VERDICT_WATCH);
            tally_add(&named_fault, verdict == CH_VERDICT_FAULT);
            tally_add(&rule, rule_says_engine(c));
        } else if (c->main == only(CH_CAUSE_SOUND)) {
            tally_add(&alarm, verdict == CH_VERDICT_FAULT);
            tally_add(&rule_alarm, rule_says_engine(c));
        }
        for (int k = 0; k < c->judged.cylinders; k++) {
            if (faulty_set(c->cylinder[k])) {
                tally_add(&cylinder, fault_1(c, k) > 0.5);
                tally_add(&rule_cylinder, rule_says(c, k));
            } else if (c->cylinder[k] == only(CH_CAUSE_SOUND)) {
                tally_add(&cylinder_alarm, fault_1(c, k) > 0.5);
                tally_add(&rule_cylinder_alarm, rule_says(c, k));
            }
        }
    }
    bool met = tally_print("confirmed faulty engines with verdict fault or watch", named, 0.8, INFINITY);
    tally_print("  with verdict fault", named_fault, -INFINITY, INFINITY);
    tally_print("  below 75 % of the highest", rule, -INFINITY, INFINITY);
    met &= tally_print("sound engines with verdict fault", alarm, -INFINITY, 0.1);
    tally_print("  below 75 % of the highest", rule_alarm, -INFINITY, INFINITY);
    tally_print("confirmed faulty cylinders with a fault likelier than not", cylinder, -INFINITY, INFINITY);
    tally_print("  below 75 % of the highest", rule_cylinder, -INFINITY, INFINITY);
    tally_print("sound cylinders with a fault likelier than not", cylinder_alarm, -INFINITY, INFINITY);
    tally_print("  below 75 % of the highest", rule_cylinder_alarm, -INFINITY, INFINITY);
    return met;
}

static bool print_places(const field_case cases[], size_t n)
{
    tally first[2] = {{0}}, second[2] = {{0}}, dry_first = {0};
    for (size_t i = 0; i < n; i++) {
        const field_case *c = &cases[i];
        if (!counts(c) || c->main == only(CH_CAUSE_SOUND))
            continue;
        for (int all = 0; all < 2; all++) {
            double share_1[CH_CAUSE_COUNT];
            shares(c, all == 0, share_1);
            const int place = place_of(share_1, c->main);
            if (c->more_than_dry) {
                tally_add(&first[all], place == 1);
                tally_add(&second[all], place == 1 || place == 2);
            } else if (all == 0) {
                tally_add(&dry_first, place == 1);
            }
        }
    }
    bool met =
        tally_print("more than dry readings: confirmed main cause first, in its cylinders", first[0], 0.6, INFINITY);
    met &= tally_print("  among the first two", second[0], 0.8, INFINITY);
    tally_print("  first, in the engine as a whole", first[1], -INFINITY, INFINITY);
    tally_print("  among the first two, in the engine as a whole", second[1], -INFINITY, INFINITY);
    tally_print("dry readings alone: confirmed main cause first, in its cylinders", dry_first, -INFINITY, INFINITY);
    return met;
}

/* Causes above 0.9 in cylinders whose truth is known: a case counts where there is one, and is wrong where one of them is. A cylinder whose
 * test was what was wrong counts only while that test is there. */
static void count_overconfident(const field_case *c, bool stripped, tally *fault, tally *sound)
{
    bool said[2] = {false, false}, wrong[2] = {false, false};
    for (int k = 0; k < c->judged.cylinders; k++)
        for (int cause = 0; cause < CH_CAUSE_COUNT; cause++) {
            const bool known = c->cylinder[k] != 0 && !(stripped && c->cylinder[k] == only(CH_CAUSE_MEASUREMENT_ERROR));
            if (!known || !(c->judged.trace.cylinder[k].cause_1[cause] > 0.9))
                continue;
            said[cause == CH_CAUSE_SOUND] = true;
            wrong[cause == CH_CAUSE_SOUND] |= (c->cylinder[k] & only((ch_cause)cause)) == 0;
        }
    if (said[0])
        tally_add(fault, wrong[0]);
    if (said[1])
        tally_add(sound, wrong[1]);
}

/* The sheet with its dry readings alone. The rest stays owned by the sheet it was borrowed from. */
static ch_sheet dry_of(const ch_sheet *sheet)
{
    ch_sheet dry = *sheet;
    dry.wet_count = dry.leakdown_count = dry.observed_count = 0;
    return dry;
}

static bool print_honesty(const field_case cases[], size_t n, const ch_knowledge *knowledge,
                          const ch_judge_options *options)
{
    tally fault = {0}, sound = {0}, stripped_fault = {0}, stripped_sound = {0};
    for (size_t i = 0; i < n; i++) {
        if (!counts(&cases[i]))
            continue;
        if (!cases[i].more_than_dry) {
            count_overconfident(&cases[i], false, &fault, &sound);
            count_overconfident(&cases[i], true, &stripped_fault, &stripped_sound);
            continue;
        }
        field_case stripped = cases[i];
        stripped.sheet = dry_of(&cases[i].sheet);
        if (stripped.sheet.compression_count > 0 &&
            ch_judge(&stripped.sheet, knowledge, options, &stripped.judged, NULL) >= 0)
            count_overconfident(&stripped, true, &stripped_fault, &stripped_sound);
    }
    tally_print("dry readings alone: engines with a cause above 0.9 that is wrong", fault, -INFINITY, 0.1);
    tally_print("  with `sound` above 0.9 that is wrong", sound, -INFINITY, INFINITY);
    bool met = tally_print("the same, every sheet stripped to its dry readings", stripped_fault, -INFINITY, 0.1);
    tally_print("  with `sound` above 0.9 that is wrong", stripped_sound, -INFINITY, INFINITY);
    return met || stripped_fault.of == 0; /* never sure is never wrong */
}

/* ---- all of it ---- */

/* Read and judge all usable cases; returns how many. */
static size_t judge_all(const char *folder, char *index, const ch_knowledge *knowledge, const ch_judge_options *options,
                        field_case cases[], size_t *failed)
{
    size_t n = 0;
    char *line = strchr(index, '\n'); /* behind the header */
    while (line != NULL && line[1] != '\0' && n < CASES_MAX) {
        char *next = strchr(++line, '\n');
        if (next != NULL)
            *next = '\0';
        char *field[COLUMNS];
        if (split(line, ',', field, COLUMNS) == COLUMNS && strcmp(field[2], "yes") == 0) {
            field_case *c = &cases[n];
            ch_err err = {0};
            if (!case_read(folder, field, c)) {
                (*failed)++;
            } else if (ch_judge(&c->sheet, knowledge, options, &c->judged, &err) < 0) {
                study_complain(c->id, &err);
                ch_sheet_clear(&c->sheet);
                (*failed)++;
            } else {
                n++;
            }
        }
        line = next;
    }
    return n;
}

static bool study(const char *folder, const ch_knowledge *knowledge)
{
    const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
    char path[1024];
    snprintf(path, sizeof path, "%.900s/index.csv", folder);
    size_t length = 0, failed = 0;
    char *index = study_read(path, &length);
    field_case *cases = calloc(CASES_MAX, sizeof *cases);
    if (index == NULL || cases == NULL) {
        free(index);
        free(cases);
        return false;
    }
    const size_t n = judge_all(folder, index, knowledge, &options, cases, &failed);
    free(index);
    printf(
        "case, confidence, evidence, verdict, 75 %% rule, effective samples | confirmed main cause, its place in its "
        "cylinders/in the engine | likeliest in its cylinders | in the engine | chance of a fault, * = confirmed\n");
    for (size_t i = 0; i < n; i++)
        print_case(&cases[i]);
    printf("\n%zu cases judged, %zu could not be\n", n, failed);
    bool met = failed == 0;
    met &= print_verdicts(cases, n);
    met &= print_places(cases, n);
    met &= print_honesty(cases, n, knowledge, &options);
    for (size_t i = 0; i < n; i++)
        ch_sheet_clear(&cases[i].sheet);
    free(cases);
    return met;
}

int main(int argc, char **argv)
{
    char folder[1024];
    const char *source = getenv("CROSSHATCH_SOURCE");
    snprintf(folder, sizeof folder, "%.900s/tests/data/field-cases", source != NULL ? source : ".");
    ch_knowledge knowledge;
    ch_err err = {0};
    if (ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), &err) < 0) {
        study_complain("knowledge", &err);
        return 1;
    }
    const bool met = study(argc > 1 ? argv[1] : folder, &knowledge);
    ch_knowledge_clear(&knowledge);
    return met ? 0 : 1;
}

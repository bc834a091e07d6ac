/* What is asked of one cylinder after another in the same words, made one sentence with the range of what differs.
 *
 * Sentences are laid side by side, character by character; where both have a number they may differ, unless it is a cylinder's. A chance in
 * words ("about 60 %", "over 99 %") is a number. */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "judge_parts.h"

enum { FEWEST = 3 }; /* two sentences are as soon read as one of two */

static const char BEGINS[] = "Cylinder ";

/* A number at `at` within `text`, with the word of a chance before it. */
typedef struct figure {
    size_t length; /* 0 = none stands here */
    double value;
} figure;

static double plain_value(const char *digits, size_t length)
{
    double value = 0.0, place = 1.0;
    bool behind = false;
    for (size_t i = 0; i < length; i++) {
        if (!isdigit((unsigned char)digits[i])) {
            behind = true;
            continue;
        }
        value = 10.0 * value + (digits[i] - '0');
        place *= behind ? 10.0 : 1.0;
    }
    return value / place;
}

static figure figure_at(const char *text, size_t at)
{
    static const struct {
        const char *word;
        double more;
    } CHANCES[] = {{"about ", 0.0}, {"over ", 0.5}, {"under ", -0.5}};
    const figure none = {0, 0.0};
    size_t word = 0;
    double more = 0.0;
    if (at > 0 && isalnum((unsigned char)text[at - 1]))
        return none;
    for (size_t i = 0; i < sizeof CHANCES / sizeof CHANCES[0]; i++)
        if (strncmp(text + at, CHANCES[i].word, strlen(CHANCES[i].word)) == 0) {
            word = strlen(CHANCES[i].word);
            more = CHANCES[i].more;
        }
    const char *digits = text + at + word;
    size_t length = strspn(digits, "0123456789");
    if (length == 0)
        return none;
    if ((digits[length] == '.' || digits[length] == ',') && isdigit((unsigned char)digits[length + 1]))
        length += 1 + strspn(digits + length + 1, "0123456789");
    return (figure){word + length, plain_value(digits, length) + more};
}

static bool is_behind_cylinder(const char *text, size_t at)
{
    static const char word[] = "ylinder ";
    return at >= sizeof word - 1 && memcmp(text + at - (sizeof word - 1), word, sizeof word - 1) == 0;
}

/* Where the sentence goes on behind the cylinder that it begins with; 0 where it begins otherwise. */
static size_t behind_cylinder(const ch_question *q)
{
    if (q->cylinder < 1 || strncmp(q->text, BEGINS, sizeof BEGINS - 1) != 0)
        return 0;
    const size_t at = sizeof BEGINS - 1 + strspn(q->text + sizeof BEGINS - 1, "0123456789");
    return q->text[at] == ':' || q->text[at] == ',' ? at : 0;
}

/* One step on from `at`: over a number, or a character. */
static size_t step(const char *text, size_t at)
{
    const figure here = figure_at(text, at);
    return at + (here.length > 0 && !is_behind_cylinder(text, at) ? here.length : 1);
}

static bool alike(const ch_question *a, const ch_question *b)
{
    size_t at_a = behind_cylinder(a), at_b = behind_cylinder(b);
    if (a->kind != b->kind || at_a == 0 || at_b == 0)
        return false;
    while (a->text[at_a] != '\0' && b->text[at_b] != '\0') {
        const size_t next_a = step(a->text, at_a), next_b = step(b->text, at_b);
        const bool numbers = figure_at(a->text, at_a).length > 0 && figure_at(b->text, at_b).length > 0 &&
                             !is_behind_cylinder(a->text, at_a) && !is_behind_cylinder(b->text, at_b);
        if (!numbers && (next_a != at_a + 1 || next_b != at_b + 1 || a->text[at_a] != b->text[at_b]))
            return false;
        at_a = next_a;
        at_b = next_b;
    }
    return a->text[at_a] == b->text[at_b];
}

const char *ch_judge_cylinders(uint32_t cylinders, char list[CH_JUDGE_LIST])
{
    list[0] = '\0';
    char piece[CH_CYLINDERS_MAX][16];
    size_t pieces = 0;
    for (int c = 0; c < CH_CYLINDERS_MAX; c++) {
        if ((cylinders >> c & 1U) == 0)
            continue;
        int last = c;
        while (last + 1 < CH_CYLINDERS_MAX && (cylinders >> (last + 1) & 1U) != 0)
            last++;
        if (last - c >= 2)
            snprintf(piece[pieces++], sizeof piece[0], "%d to %d", c + 1, last + 1);
        else
            for (int k = c; k <= last; k++)
                snprintf(piece[pieces++], sizeof piece[0], "%d", k + 1);
        c = last;
    }
    size_t used = 0;
    for (size_t i = 0; i < pieces && used < CH_JUDGE_LIST; i++)
        used += (size_t)snprintf(list + used, CH_JUDGE_LIST - used, "%s%s",
                                 i == 0            ? ""
                                 : i + 1 == pieces ? " and "
                                                   : ", ",
                                 piece[i]);
    return list;
}

/* The first sentence, with every number as the range over all of them; false where that is too long for a sentence. */
static bool merge(const ch_question *const member[], size_t members, ch_question *made)
{
    size_t at[CH_QUESTIONS_MAX];
    uint32_t cylinders = 0;
    char which[CH_JUDGE_LIST];
    ch_question one = *member[0];
    for (size_t i = 0; i < members; i++) {
        cylinders |= 1U << (member[i]->cylinder - 1);
        at[i] = behind_cylinder(member[i]);
        one.weight_1 = member[i]->weight_1 > one.weight_1 ? member[i]->weight_1 : one.weight_1;
    }
    one.cylinder = 0;
    one.row = SIZE_MAX;
    const char *first = member[0]->text;
    size_t used = (size_t)snprintf(one.text, sizeof one.text, "Cylinders %s%s", ch_judge_cylinders(cylinders, which),
                                   first[at[0]] == ':' ? ", each" : "");
    while (first[at[0]] != '\0') {
        if (used + 1 >= sizeof one.text)
            return false;
        if (step(first, at[0]) == at[0] + 1 && figure_at(first, at[0]).length == 0) {
            one.text[used++] = first[at[0]];
            one.text[used] = '\0';
        } else {
            size_t least = 0, most = 0;
            for (size_t i = 1; i < members; i++) {
                const double value = figure_at(member[i]->text, at[i]).value;
                least = value < figure_at(member[least]->text, at[least]).value ? i : least;
                most = value > figure_at(member[most]->text, at[most]).value ? i : most;
            }
            const char *low = member[least]->text + at[least], *high = member[most]->text + at[most];
            const int low_length = (int)(step(member[least]->text, at[least]) - at[least]),
                      high_length = (int)(step(member[most]->text, at[most]) - at[most]);
            const int printed = least == most
                                    ? snprintf(one.text + used, sizeof one.text - used, "%.*s", low_length, low)
                                    : snprintf(one.text + used, sizeof one.text - used, "%.*s to %.*s", low_length, low,
                                               high_length, high);
            used += (size_t)printed;
        }
        for (size_t i = 0; i < members; i++)
            at[i] = step(member[i]->text, at[i]);
    }
    if (used >= sizeof one.text)
        return false;
    *made = one;
    return true;
}

size_t ch_judge_questions_told(const ch_judgement *judgement, ch_question told[CH_QUESTIONS_MAX])
{
    bool taken[CH_QUESTIONS_MAX] = {false};
    size_t count = 0;
    for (size_t i = 0; i < judgement->question_count; i++) {
        const ch_question *member[CH_QUESTIONS_MAX] = {&judgement->question[i]};
        size_t members = 1;
        uint32_t cylinders = 0;
        if (taken[i])
            continue;
        for (size_t k = i + 1; k < judgement->question_count; k++)
            if (!taken[k] && alike(member[0], &judgement->question[k]))
                member[members++] = &judgement->question[k];
        for (size_t k = 0; k < members && member[k]->cylinder > 0; k++)
            cylinders |= 1U << (member[k]->cylinder - 1);
        int n = 0;
        for (; cylinders != 0; cylinders &= cylinders - 1)
            n++;
        if (n < FEWEST || !merge(member, members, &told[count])) {
            told[count++] = *member[0];
            continue;
        }
        for (size_t k = 0; k < members; k++)
            taken[member[k] - judgement->question] = true;
        count++;
    }
    return count;
}

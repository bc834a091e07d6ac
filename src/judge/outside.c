/* Is this an engine of the kind that can be judged: four strokes, petrol, pistons, nothing that lets air out while it is cranked?
 *
 * A sheet has no key for a fuel. What tells of another kind: its title or a note of it, a compression ratio that a spark could not stand, or readings
 * that petrol engines do not reach. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "judge_parts.h"

/* Pa gauge. A petrol engine's starter reaches some 14 bar, 200 psi, at most where it is not built for racing (common practice); the model's sound cylinder of
 * 14:1, with ordinary valve timing, 21. A diesel's reaches 20 to 40 bar (common practice). More than that is a number gone wrong. */
static const double DIESEL_LEAST_PA = 20.7e5, DIESEL_MOST_PA = 50e5;
/* Diesels have 16:1 to 23:1, petrol engines up to 14:1 (common practice). */
static const double DIESEL_RATIO_1 = 15.5;

static bool is_letter(char c)
{
    return isalnum((unsigned char)c) || c == '-';
}

/* True where `text` ends, before `end`, with "no", "not" or "not a". */
static bool is_denied(const char *text, const char *end)
{
    static const char *const DENIALS[] = {"no", "not", "not a", "non"};
    while (end > text && (end[-1] == ' ' || end[-1] == '-'))
        end--;
    for (size_t i = 0; i < sizeof DENIALS / sizeof DENIALS[0]; i++) {
        const size_t n = strlen(DENIALS[i]);
        if ((size_t)(end - text) >= n && strncasecmp(end - n, DENIALS[i], n) == 0 &&
            ((size_t)(end - text) == n || !is_letter(end[-(ptrdiff_t)n - 1])))
            return true;
    }
    return false;
}

/* The word by itself, not within another ("dieseling", "diesel-like"), and not denied. */
static bool says(const char *text, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = text; text != NULL && *at != '\0'; at++)
        if (strncasecmp(at, word, n) == 0 && (at == text || !is_letter(at[-1])) && !is_letter(at[n]) &&
            !is_denied(text, at))
            return true;
    return false;
}

static const char *kind_by_words(const char *text)
{
    static const char *const DECOMPRESSORS[] = {"decompressor", "decompressors", "decompression lever",
                                                "decompression valve"};
    if (says(text, "diesel"))
        return "a diesel";
    for (size_t i = 0; i < sizeof DECOMPRESSORS / sizeof DECOMPRESSORS[0]; i++)
        if (says(text, DECOMPRESSORS[i]))
            return "an engine with a decompressor";
    return NULL;
}

static void ask_by_words(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet *sheet = asked->sheet;
    const char *kind = kind_by_words(sheet->title);
    if (kind == NULL)
        kind = kind_by_words(sheet->note);
    for (size_t i = 0; i < sheet->compression_count && kind == NULL; i++)
        kind = kind_by_words(sheet->compression[i].note);
    if (kind != NULL)
        judge_ask(j, CH_QUESTION_OUTSIDE, 0, SIZE_MAX, 1.0,
                  "The sheet's own words tell of %s, which is outside what can be judged here: four-stroke petrol "
                  "engines, with nothing that lets air out while they are cranked. Where it is none, take the word off "
                  "the sheet.",
                  kind);
}

void judge_question_outside(const judge_asked *asked, ch_judgement *j)
{
    const double ratio_1 = asked->sheet->engine.compression_ratio;
    double lowest_pa = INFINITY, highest_pa = 0.0;
    bool above = true; /* what a sound engine of this description shows */
    int measured = 0;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0) {
            measured++;
            lowest_pa = fmin(lowest_pa, j->cylinder[c].mean_pa);
            highest_pa = fmax(highest_pa, j->cylinder[c].mean_pa);
            above = above && j->cylinder[c].mean_pa > j->cylinder[c].expected_pa[1];
        }
    ask_by_words(asked, j);
    j->outside = j->question_count > 0 && j->question[j->question_count - 1].kind == CH_QUESTION_OUTSIDE;
    if (!j->outside && ratio_1 > DIESEL_RATIO_1) {
        judge_words number;
        snprintf(number.text, sizeof number.text, "%.4g", ratio_1);
        judge_ask(j, CH_QUESTION_OUTSIDE, 0, SIZE_MAX, 0.95,
                  "A compression ratio of %s:1 is a diesel's, which is outside what can be judged here: four-stroke "
                  "petrol engines, which have 14:1 at most. Is the number right?",
                  number.text);
        j->outside = true;
    } else if (!j->outside && above && measured > 0 && (measured > 1 || j->cylinders == 1) &&
               lowest_pa > DIESEL_LEAST_PA && highest_pa < DIESEL_MOST_PA) {
        const judge_words low = judge_say_pressure(lowest_pa, asked->unit),
                          limit = judge_say_pressure(DIESEL_LEAST_PA, asked->unit);
        judge_ask(
            j, CH_QUESTION_OUTSIDE, 0, SIZE_MAX, 0.95,
            "Every reading is %s or more, and no starter takes a petrol engine over some %s: these are a "
            "diesel's figures, which are outside what can be judged here. If it is a four-stroke petrol engine, note "
            "its compression ratio, look at unit and gauge, and for oil in the cylinders.",
            low.text, limit.text);
        j->outside = true;
    }
    j->unreadable = j->unreadable || j->outside;
}

/* Numbers as words of a sentence: the owner's unit, whole percents, nothing that depends on the locale. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "judge_parts.h"

/* Digits of a pressure in a sentence: those that a standard uncertainty of 10 psi leaves, so psi and kPa come whole, bar with two. */
static const double SAID_U_PA = 69e3;

judge_words judge_say_pressure(double pressure_pa, const ch_unit *unit)
{
    judge_words words;
    ch_si_format(pressure_pa, SAID_U_PA, unit, words.text, sizeof words.text);
    return words;
}

judge_words judge_say_difference(double pressure_pa, const ch_unit *unit)
{
    judge_words words;
    ch_si_format(pressure_pa, fmax(SAID_U_PA, fabs(pressure_pa)), unit, words.text, sizeof words.text);
    return words;
}

judge_words judge_say_typed(const ch_quantity *quantity)
{
    judge_words words;
    if (quantity->unit != NULL && strcmp(quantity->unit->name, "1") == 0)
        snprintf(words.text, sizeof words.text, "%.4g %%", 100.0 * quantity->si); /* a part, 0.12 for 12 % */
    else if (quantity->bare && quantity->unit != NULL)
        snprintf(words.text, sizeof words.text, "%.32s %s", quantity->number, quantity->unit->name);
    else
        ch_quantity_text(quantity, words.text, sizeof words.text);
    return words;
}

judge_words judge_say_part(double part_1)
{
    judge_words words;
    if (isfinite(part_1))
        snprintf(words.text, sizeof words.text, "%ld %%", lround(100.0 * fmin(fmax(part_1, -1e4), 1e4)));
    else
        strcpy(words.text, "-");
    return words;
}

judge_words judge_say_share(double chance_1)
{
    return chance_1 > 0.99 || chance_1 < 0.01 ? judge_say_chance(chance_1) : judge_say_part(chance_1);
}

judge_words judge_say_chance(double chance_1)
{
    judge_words words;
    if (!isfinite(chance_1))
        strcpy(words.text, "unknown");
    else if (chance_1 < 0.01)
        strcpy(words.text, "under 1 %");
    else if (chance_1 > 0.99)
        strcpy(words.text, "over 99 %");
    else
        snprintf(words.text, sizeof words.text, "about %ld %%", lround(100.0 * chance_1));
    return words;
}

void judge_ask(ch_judgement *judgement, ch_question_kind kind, int cylinder, size_t row, double weight_1,
               const char *format, ...)
{
    if (judgement->question_count >= CH_QUESTIONS_MAX)
        return;
    ch_question *question = &judgement->question[judgement->question_count++];
    question->kind = kind;
    question->cylinder = cylinder;
    question->row = row;
    question->weight_1 = weight_1;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(question->text, sizeof question->text, format, arguments);
    va_end(arguments);
    for (const ch_question *earlier = judgement->question; earlier < question; earlier++)
        if (earlier->kind == kind && strcmp(earlier->text, question->text) == 0) {
            judgement->question_count--;
            return;
        }
}

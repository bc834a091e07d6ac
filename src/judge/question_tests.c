/* Questions that one test of a cylinder puts to another, and doses and dials that cannot be: wet test, leak-down, the gauge's scale.
 *
 * Thresholds stand beside their tests; those without a source are judgment and stand in docs/method-judging.md. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/wet.h"
#include "judge_parts.h"

/* ---- the gauge's scale ---- */

static const double ROUNDING_1 = 1e-9; /* 150 psi are not beyond 150 psi, also in binary */

static void ask_scale(const judge_asked *asked, ch_judgement *j, const ch_reading *one, size_t row, const char *with)
{
    const ch_quantity *span = &asked->sheet->gauge.span;
    if (!ch_quantity_given(span) || !ch_quantity_given(&one->reading) ||
        !(one->reading.si > span->si * (1.0 + ROUNDING_1)))
        return;
    const judge_words said = judge_say_typed(&one->reading), end = judge_say_typed(span);
    judge_ask(j, CH_QUESTION_BEYOND_SCALE, one->cylinder, row, 0.95,
              "Cylinder %d%s: %s lies beyond the gauge's scale, which ends at %s. Look at the number, its unit and the "
              "span noted.",
              one->cylinder, with, said.text, end.text);
}

static void question_scale(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet *sheet = asked->sheet;
    for (size_t i = 0; i < sheet->compression_count; i++)
        ask_scale(asked, j, &sheet->compression[i], i, "");
    for (size_t i = 0; i < sheet->wet_count; i++)
        ask_scale(asked, j, &sheet->wet[i], SIZE_MAX, ", with oil");
}

/* ---- wet test ---- */

/* The words of the knowledge on liquid above a piston, or nothing where it has none. */
static void say_hydraulic_lock(const ch_knowledge *knowledge, char words[CH_QUESTION_SIZE])
{
    static const char id[] = "hydraulic_lock";
    const ch_knowledge_caution *caution =
        knowledge != NULL ? ch_knowledge_caution_find(knowledge, id, sizeof id - 1) : NULL;
    words[0] = '\0';
    if (caution != NULL)
        snprintf(words, CH_QUESTION_SIZE, " %s: %s %s %s", ch_signal_word_name(caution->word), caution->hazard,
                 caution->consequence, caution->precaution);
}

static void question_dose(const judge_asked *asked, ch_judgement *j)
{
    char danger[CH_QUESTION_SIZE];
    say_hydraulic_lock(asked->knowledge, danger);
    for (size_t i = 0; i < asked->sheet->wet_count; i++) {
        const ch_reading *row = &asked->sheet->wet[i];
        if (ch_setup_holds_dose(asked->setup, row))
            continue;
        const bool *assumed = asked->setup->assumed;
        const bool guessed = assumed[CH_INPUT_BORE] || assumed[CH_INPUT_STROKE] || assumed[CH_INPUT_COMPRESSION_RATIO];
        const judge_words dose = judge_say_typed(&row->oil);
        judge_ask(
            j, CH_QUESTION_OIL_DOSE, row->cylinder, SIZE_MAX, 0.95,
            "Cylinder %d: %s of oil fill over %.0f %% of the chamber (%.0f ml%s), which would lock the engine, so "
            "this wet reading does not count. Is the dose right?%s",
            row->cylinder, dose.text, 100.0 * CH_WET_FILL_LIMIT_1, 1e6 * asked->setup->cranking.clearance_m3,
            guessed ? " as assumed" : "", danger);
    }
}

/* Part of a reading by which a wet one may differ for nothing: where the oil went, a battery by then more tired (judgment); and how many standard
 * uncertainties are too many. */
static const double WET_DOUBT_1 = 0.03, TOO_MANY = 2.0;

static double wet_doubt_pa(const judge_asked *asked, double dry_pa, int repeats)
{
    const double repeat_pa = asked->scatter->sd_pa, step_pa = asked->scatter->step_pa;
    const double rounding = isnan(step_pa) ? 0.0 : step_pa * step_pa / 12.0;
    return TOO_MANY * sqrt(repeat_pa * repeat_pa * (1.0 + 1.0 / repeats) + 2.0 * rounding +
                           WET_DOUBT_1 * dry_pa * WET_DOUBT_1 * dry_pa);
}

static void ask_wet_low(const judge_asked *asked, ch_judgement *j, const ch_reading *row)
{
    const ch_judged_cylinder *dry = &j->cylinder[row->cylinder - 1];
    if (dry->n == 0 || !(row->reading.si < dry->mean_pa - wet_doubt_pa(asked, dry->mean_pa, dry->n)))
        return;
    const judge_words said = judge_say_typed(&row->reading), without = judge_say_pressure(dry->mean_pa, asked->unit);
    judge_ask(j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
              "Cylinder %d: %s with oil is less than %s without. Oil takes up room and seals, so it can only lift a "
              "reading: look at number and unit, battery and adapter, and repeat the wet test.",
              row->cylinder, said.text, without.text);
}

/* At most what a sound engine of this kind would show nine times in ten, or the best of this one, lifted by all of the oil with no leak left. */
static void ask_wet_high(const judge_asked *asked, ch_judgement *j, const ch_reading *row)
{
    const double lift_1 = asked->bounds->wet_lift_1[row->cylinder - 1];
    double dry_pa = j->cylinder[row->cylinder - 1].expected_pa[1];
    if (!(dry_pa > 0.0)) /* at the car nothing is expected yet */
        return;
    for (int c = 0; c < j->cylinders; c++)
        if (j->cylinder[c].n > 0)
            dry_pa = fmax(dry_pa, j->cylinder[c].mean_pa);
    if (!(lift_1 > 0.0) || !(row->reading.si > lift_1 * dry_pa + wet_doubt_pa(asked, dry_pa, 1)))
        return;
    const judge_words said = judge_say_typed(&row->reading), most = judge_say_pressure(lift_1 * dry_pa, asked->unit),
                      dose = judge_say_typed(&row->oil);
    judge_ask(j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
              "Cylinder %d: %s with oil is more than %s, the most that %s can lift a sound cylinder of this engine to. "
              "Look at number, unit and dose; far more oil than noted can lock the engine.",
              row->cylinder, said.text, most.text, ch_quantity_given(&row->oil) ? dose.text : "a usual dose of oil");
}

static bool has_cylinder(const ch_judgement *j, int cylinder)
{
    return cylinder >= 1 && cylinder <= j->cylinders;
}

static void question_wet(const judge_asked *asked, ch_judgement *j)
{
    if (j->unreadable)
        return; /* dry readings that are none say nothing of wet ones */
    for (size_t i = 0; i < asked->sheet->wet_count; i++) {
        const ch_reading *row = &asked->sheet->wet[i];
        if (!has_cylinder(j, row->cylinder) || !ch_quantity_given(&row->reading) ||
            !ch_setup_holds_dose(asked->setup, row))
            continue;
        ask_wet_low(asked, j, row);
        ask_wet_high(asked, j, row);
    }
}

/* Doses so far apart are no two of one syringe (judgment): 50 typed for 5.0. */
static const double UNLIKE_DOSES = 3.0;

static void question_doses(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet *sheet = asked->sheet;
    for (size_t i = 0; i < sheet->wet_count; i++) {
        const ch_reading *row = &sheet->wet[i], *least = NULL;
        for (size_t k = 0; k < sheet->wet_count; k++)
            if (sheet->wet[k].cylinder != row->cylinder && sheet->wet[k].oil.si > 0.0 &&
                (least == NULL || sheet->wet[k].oil.si < least->oil.si))
                least = &sheet->wet[k];
        if (least == NULL || !has_cylinder(j, row->cylinder) || !ch_setup_holds_dose(asked->setup, row) ||
            !(row->oil.si >= UNLIKE_DOSES * least->oil.si))
            continue;
        const judge_words dose = judge_say_typed(&row->oil), other = judge_say_typed(&least->oil);
        judge_ask(j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
                  "Cylinder %d: %s of oil, where cylinder %d had %s: is the number right? Wet readings compare only "
                  "with the same dose in every cylinder, and too much oil locks the engine.",
                  row->cylinder, dose.text, least->cylinder, other.text);
    }
}

/* ---- leak-down ---- */

/* Under so much of the usual orifice a hole is smaller than any that is heard (0.12 mm2; knowledge/causes.yaml, hearing), and no engine holds so well:
 * 0.62 typed for 62 (judgment). */
static const double NEXT_TO_NOTHING_1 = 0.01;
static const unsigned TELLING = CH_HEARD_INTAKE | CH_HEARD_EXHAUST | CH_HEARD_COOLANT;

static bool next_to_nothing(const ch_leakdown_row *row)
{
    return judge_usual_loss_1(row) < NEXT_TO_NOTHING_1;
}

static bool heard_to_leak(const ch_leakdown_row *row)
{
    return (row->heard & TELLING) != 0 || row->heard_cylinders != 0;
}

/* "Is it 62 %? ", or nothing where nothing is lost. */
static judge_words say_a_hundred_times(const ch_quantity *loss)
{
    judge_words words = {""};
    if (loss->si > 0.0 && loss->si <= NEXT_TO_NOTHING_1)
        snprintf(words.text, sizeof words.text, "Is it %.3g %%? ", 1e4 * loss->si);
    return words;
}

static void question_loss_heard(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &asked->sheet->leakdown[i];
        if (!ch_quantity_given(&row->loss) || !has_cylinder(j, row->cylinder) || !heard_to_leak(row) ||
            !next_to_nothing(row))
            continue;
        const judge_words loss = judge_say_typed(&row->loss), more = say_a_hundred_times(&row->loss);
        judge_ask(j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
                  "Cylinder %d: a loss of %s is less than any ear hears, yet air was heard. %sRead it again while you "
                  "listen.",
                  row->cylinder, loss.text, more.text);
    }
}

/* Under so much of the usual orifice a loss is no open pair of valves (judgment). */
static const double BOTH_VALVES_1 = 0.5;
static const unsigned BOTH = CH_HEARD_INTAKE | CH_HEARD_EXHAUST;

/* Half a cycle off: at the dead centre of overlap both valves stand open. */
static bool at_overlap(const ch_leakdown_row *row)
{
    return (row->heard & BOTH) == BOTH && ch_quantity_given(&row->loss) && judge_usual_loss_1(row) >= BOTH_VALVES_1;
}

static void question_overlap(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &asked->sheet->leakdown[i];
        if (!has_cylinder(j, row->cylinder) || !at_overlap(row))
            continue;
        const judge_words loss = judge_say_typed(&row->loss);
        judge_ask(
            j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
            "Cylinder %d: %s lost, with air at intake and exhaust, is what the dead centre of overlap gives, where "
            "both valves are open. Let the air out, turn the crank one full turn on to the dead centre of "
            "compression, hold it as before, and repeat the leak-down.",
            row->cylinder, loss.text);
    }
}

/* A tester's supply, Pa gauge: below, nothing is heard and no percent is told; above, no shop has the air (judgment); and how often another's is another unit's. */
static const double LEAST_SUPPLY_PA = 70e3, MOST_SUPPLY_PA = 1.4e6, OTHER_SUPPLY_1 = 4.0;

static void question_supply(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet *sheet = asked->sheet;
    for (size_t i = 0; i < sheet->leakdown_count; i++) {
        const ch_quantity *supply = &sheet->leakdown[i].supply, *other = NULL;
        if (!ch_quantity_given(supply) || !has_cylinder(j, sheet->leakdown[i].cylinder))
            continue;
        for (size_t k = 0; k < sheet->leakdown_count && other == NULL; k++)
            if (ch_quantity_given(&sheet->leakdown[k].supply) && sheet->leakdown[k].supply.si >= LEAST_SUPPLY_PA &&
                sheet->leakdown[k].supply.si <= MOST_SUPPLY_PA)
                other = &sheet->leakdown[k].supply;
        const bool odd = supply->si < LEAST_SUPPLY_PA || supply->si > MOST_SUPPLY_PA;
        const bool unlike =
            other != NULL && (supply->si * OTHER_SUPPLY_1 < other->si || supply->si > OTHER_SUPPLY_1 * other->si);
        if (!odd && !unlike)
            continue;
        const judge_words said = judge_say_typed(supply), beside = other != NULL ? judge_say_typed(other) : said;
        judge_ask(j, CH_QUESTION_UNIT, sheet->leakdown[i].cylinder, SIZE_MAX, 0.9,
                  "Cylinder %d: was the leak-down tester supplied with %s%s%s? Look at number and unit.",
                  sheet->leakdown[i].cylinder, said.text, other != NULL ? ", where another cylinder had " : "",
                  other != NULL ? beside.text : "");
    }
}

/* Plug holes that cannot lie side by side in any way of numbering: in line those not next in number; of two banks, which are numbered one after the other or across, those more than two apart,
 * and the last of one bank and the first of the other. Nothing is known where the layout is not noted. */
static bool never_side_by_side(const ch_sheet_engine *engine, int a, int b)
{
    const int apart = abs(a - b), bank = (engine->cylinders + 1) / 2;
    switch (engine->layout) {
    case CH_LAYOUT_INLINE: return apart != 1;
    case CH_LAYOUT_VEE:
    case CH_LAYOUT_FLAT: return apart > 2 || (apart == 1 && a + b == 2 * bank + 1);
    case CH_LAYOUT_UNSTATED: break;
    }
    return false;
}

static void question_neighbours(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &asked->sheet->leakdown[i];
        for (int other = 1; other <= j->cylinders && has_cylinder(j, row->cylinder); other++)
            if ((row->heard_cylinders >> (other - 1) & 1U) != 0 &&
                never_side_by_side(&asked->sheet->engine, row->cylinder, other))
                judge_ask(j, CH_QUESTION_CONTRADICTION, row->cylinder, SIZE_MAX, 0.9,
                          "Cylinder %d: air was heard at the plug hole of cylinder %d, which does not lie beside it. "
                          "Which hole was it?",
                          row->cylinder, other);
    }
}

/* What a row shows, and beside it what the usual orifice would, where that is another percent. */
static judge_words say_loss(const ch_leakdown_row *row)
{
    const judge_words as_read = judge_say_part(row->loss.si), usual = judge_say_part(judge_usual_loss_1(row));
    judge_words words;
    if (strcmp(as_read.text, usual.text) == 0)
        return judge_say_typed(&row->loss);
    snprintf(words.text, sizeof words.text, "%.12s (%.12s on the usual orifice)", as_read.text, usual.text);
    return words;
}

/* A cylinder that pumps what a sound one does cannot lose half its air at rest, and one that pumps half of it cannot hold nearly all, unless
 * something else is the matter (trade practice; the areas of both tests say the same: docs/method.md, "Leak-down"). A percent of another orifice
 * is another hole, so the hole is what is compared. */
static void question_loss(const judge_asked *asked, ch_judgement *j)
{
    for (size_t i = 0; i < asked->sheet->leakdown_count; i++) {
        const ch_leakdown_row *row = &asked->sheet->leakdown[i];
        if (!ch_quantity_given(&row->loss) || !has_cylinder(j, row->cylinder))
            continue;
        const ch_judged_cylinder *one = &j->cylinder[row->cylinder - 1];
        if (one->n == 0)
            continue;
        const double part_1 = one->mean_pa / one->expected_median_pa, loss_1 = judge_usual_loss_1(row);
        const bool slips = next_to_nothing(row) && heard_to_leak(row); /* question_loss_heard asks */
        const judge_words loss = say_loss(row), as_typed = judge_say_typed(&row->loss),
                          more = say_a_hundred_times(&row->loss),
                          reading = judge_say_pressure(one->mean_pa, asked->unit),
                          sound = judge_say_pressure(one->expected_pa[0], asked->unit);
        if (at_overlap(row))
            continue; /* question_overlap asks */
        if (part_1 >= 0.93 && loss_1 >= 0.5)
            judge_ask(j, CH_QUESTION_CONTRADICTION, one->cylinder, SIZE_MAX, 0.9,
                      "Cylinder %d: a loss of %s does not go with %s while cranking. Piston off dead centre, grit on a "
                      "seat or a leaking tester: turn the engine over and repeat the leak-down.",
                      one->cylinder, loss.text, reading.text);
        else if (next_to_nothing(row) && !slips && one->mean_pa < one->expected_pa[0])
            judge_ask(
                j, CH_QUESTION_CONTRADICTION, one->cylinder, SIZE_MAX, 0.9,
                "Cylinder %d: a loss of %s is next to nothing, yet it pumps only %s where a sound one shows %s or "
                "more. %sIf it does hold so well, look at valve motion and cam timing, throttle, adapter and "
                "gauge rather than at the seal.",
                one->cylinder, as_typed.text, reading.text, sound.text, more.text);
        else if (part_1 < 0.5 && loss_1 < 0.10 && !slips)
            judge_ask(
                j, CH_QUESTION_CONTRADICTION, one->cylinder, SIZE_MAX, 0.9,
                "Cylinder %d: it holds air (loss %s) yet pumps only %s. Look at valve motion and cam timing, throttle, "
                "adapter and gauge rather than at the seal.",
                one->cylinder, loss.text, reading.text);
    }
}

/* Two tests of one cylinder that are tests of two cylinders, or of two places of its piston. */
static void question_losses_apart(const judge_asked *asked, ch_judgement *j)
{
    const ch_sheet *sheet = asked->sheet;
    for (int c = 0; c < j->cylinders; c++) {
        size_t least = SIZE_MAX, most = SIZE_MAX;
        int rows = 0;
        for (size_t i = 0; i < sheet->leakdown_count; i++) {
            const ch_leakdown_row *row = &sheet->leakdown[i];
            if (row->cylinder != c + 1 || !ch_quantity_given(&row->loss))
                continue;
            const double loss_1 = judge_usual_loss_1(row);
            least = rows == 0 || loss_1 < judge_usual_loss_1(&sheet->leakdown[least]) ? i : least;
            most = rows == 0 || loss_1 > judge_usual_loss_1(&sheet->leakdown[most]) ? i : most;
            rows++;
        }
        if (rows < 2 || !judge_losses_apart(judge_usual_loss_1(&sheet->leakdown[least]),
                                            judge_usual_loss_1(&sheet->leakdown[most])))
            continue;
        const judge_words low = say_loss(&sheet->leakdown[least]), high = say_loss(&sheet->leakdown[most]);
        judge_ask(j, CH_QUESTION_CONTRADICTION, c + 1, SIZE_MAX, 0.9,
                  "Cylinder %d: its leak-down tests do not agree: %s and %s. All count until one is put right: look at "
                  "the figures, find the dead centre anew and repeat.",
                  c + 1, low.text, high.text);
    }
}

/* ---- all that was traced ---- */

static bool more_than_one_test(const ch_sheet *sheet, int cylinder)
{
    bool dry = false, wet = false, leakdown = false;
    for (size_t i = 0; i < sheet->compression_count; i++)
        dry = dry || sheet->compression[i].cylinder == cylinder;
    for (size_t i = 0; i < sheet->wet_count; i++)
        wet = wet || sheet->wet[i].cylinder == cylinder;
    for (size_t i = 0; i < sheet->leakdown_count; i++)
        leakdown = leakdown || sheet->leakdown[i].cylinder == cylinder;
    return (dry ? 1 : 0) + (wet ? 1 : 0) + (leakdown ? 1 : 0) > 1;
}

void judge_questions_of_tests(const judge_asked *asked, ch_judgement *j)
{
    question_loss(asked, j);
    for (int c = 0; c < j->cylinders; c++) {
        const double misread_1 = j->trace.cylinder[c].cause_1[CH_CAUSE_MEASUREMENT_ERROR];
        if (misread_1 < 0.5 || !more_than_one_test(asked->sheet, c + 1))
            continue;
        const judge_words chance = judge_say_chance(misread_1);
        judge_ask(j, CH_QUESTION_CONTRADICTION, c + 1, SIZE_MAX, misread_1,
                  "Cylinder %d: its tests do not fit together; with %s one of them is wrong rather than the engine. "
                  "Repeat them.",
                  c + 1, chance.text);
    }
}

void judge_questions_of_other_rows(const judge_asked *asked, ch_judgement *j)
{
    question_scale(asked, j);
    question_dose(asked, j);
    question_wet(asked, j);
    question_loss_heard(asked, j);
    question_losses_apart(asked, j);
    question_overlap(asked, j);
    question_supply(asked, j);
    question_neighbours(asked, j);
    question_doses(asked, j);
}

/* A judged run in words. */
#include "crosshatch/show_driveline.h"

#include <math.h>
#include <stdio.h>

#include "page.h"

#define PI 3.14159265358979323846

enum { SLIPS_SHOWN = 20, CHECKS_SHOWN = 5 };
static const double SHOWN_CAUSE_1 = 0.02;

static double spin_per_speed(double line_rad_m) /* rpm for each km/h */
{
    return line_rad_m * 60 / (2 * PI) / 3.6;
}

static const char *number(double value, int decimals, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(value, decimals, buffer);
}

/* How sure it is that the clutch slips: " That it is the clutch: 97 %." Nothing where no causes were weighed. */
static void how_sure(const ch_driveline *d, char words[64])
{
    char chance[CH_SHOW_NUMBER];
    double all_1 = 0;
    for (int c = 0; c < CH_CLUTCH_CAUSES; c++)
        all_1 += d->cause_1[c];
    words[0] = '\0';
    if (all_1 > 0.5)
        snprintf(words, 64, " That it is the clutch: %s.",
                 ch_show_chance(1 - d->cause_1[CH_CLUTCH_NOT_THE_CLUTCH] / all_1, chance));
}

void ch_show_driveline_verdict(const ch_driveline *d, char sentence[CH_SHOW_RUN_SENTENCE])
{
    char most[CH_SHOW_NUMBER], seconds[CH_SHOW_NUMBER], sure[64];
    double peak_1 = 0;
    how_sure(d, sure);
    for (size_t i = 0; i < d->slips; i++)
        peak_1 = fmax(peak_1, d->slip[i].peak_1);
    if (d->state == CH_DRIVELINE_TOO_LITTLE)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE, "Too little driving in gear to say anything.");
    else if (d->state == CH_DRIVELINE_NO_FIXED_GEARS)
        snprintf(
            sentence, CH_SHOW_RUN_SENTENCE,
            "No fixed gears: an automatic or stepless gearbox, or not the right columns. Nothing is said of slip.");
    else if (d->slips > 0)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "The clutch slips: %zu time%s in %s s of pulling, the engine up to %s %% ahead of its gear.%s%s",
                 d->slips_found, d->slips_found == 1 ? "" : "s", number(d->loaded_s, 0, seconds),
                 number(peak_1 * 100, 1, most), sure,
                 d->limits & CH_LIMIT_PERHAPS_STEPLESS
                     ? " That holds if the gearbox has fixed gears: much of the pulling lies on no gear's line."
                     : "");
    else if (d->limits & CH_LIMIT_LOW_GEARS)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "Wheelspin or slip: in a low gear the engine ran ahead, and nothing else in this log tells which.");
    else if (d->limits & CH_LIMIT_PERHAPS_STEPLESS)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "Slip or not, this log does not tell: much of the pulling lies on no gear's line.");
    else if (d->limits & CH_LIMIT_NEAR_GEARS)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "Slip or not, this log does not tell: two of its gears may be one that slips by a steady share.");
    else if (d->limits & CH_LIMIT_PULLED_ALONE)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "Slip or not, this log does not tell: one of its gears may be another that slips at every pull.");
    else if (d->limits & CH_LIMIT_LITTLE_LOAD)
        snprintf(sentence, CH_SHOW_RUN_SENTENCE,
                 "No slip found, but hardly a pull in the higher gears (%s s): a weak clutch would not show.",
                 number(d->loaded_s, 0, seconds));
    else
        snprintf(sentence, CH_SHOW_RUN_SENTENCE, "No slip found in %s s of pulling in third gear and up.",
                 number(d->loaded_s, 0, seconds));
}

const char *ch_show_driveline_slip_untold(const ch_driveline *driveline)
{
    if (driveline->state != CH_DRIVELINE_GEARS_FOUND || (driveline->patterns_known & (1U << CH_PATTERN_SLIPS)))
        return NULL;
    return "Whether the clutch slips this log does not tell: these are the chances before it, and by what else was "
           "seen.";
}

const char *ch_show_driveline_limit(unsigned limit)
{
    switch (limit) {
    case CH_LIMIT_STALE: return "Fresh values come so seldom that short slips cannot be seen.";
    case CH_LIMIT_STEPS:
        return "Road speed is written in whole steps; gear lines are that much less certain at low speed.";
    case CH_LIMIT_NO_THROTTLE:
        return "The log has no throttle; whether the engine pulled is taken from the car's acceleration.";
    case CH_LIMIT_NO_MASS: return "The car's mass is not stated, so there is no torque, heat or capacity.";
    case CH_LIMIT_LITTLE_LOAD:
        return "There is little full pulling in third gear and up, where a weak clutch shows first.";
    case CH_LIMIT_NUMBERS:
        return "Gears are taken from the log alone and numbered by their usual size; one in which the clutch always "
               "slips by the same share passes for a gear. State the car's ratios, final drive and tyre to be sure.";
    case CH_LIMIT_LAG: return "The lag between engine and road speed could not be found; it is taken to be none.";
    case CH_LIMIT_MANY_SLIPS: return "More slips than are kept; the first of them stand here.";
    case CH_LIMIT_CAR_DIFFERS:
        return "The car's ratios, final drive and tyre do not fit the log; its own lines were used instead.";
    case CH_LIMIT_CUT_OR_ROUNDED:
        return "The log does not tell whether road speed was cut or rounded to whole steps; the gears' intervals allow "
               "for both.";
    case CH_LIMIT_WIDE_GEARS:
        return "Not every gear is known to 0.5 % from this log: see how far each is known. More driving in it tells "
               "more.";
    case CH_LIMIT_PERHAPS_STEPLESS:
        return "Much of the pulling lies on no gear's line: if this gearbox has no fixed gears, or a torque converter, "
               "nothing said of slip here holds. If it has, a gear in which the clutch slips at every pull may be "
               "missing above, and the slip is worse than told.";
    case CH_LIMIT_LOW_GEARS:
        return "In a low gear the engine ran ahead of the road, and the log does not tell wheels that spin from a "
               "clutch that slips. The driven wheels' speed tells, and mostly a pull as hard in a higher gear.";
    case CH_LIMIT_NEAR_GEARS:
        return "Two gears lie less than 14 % apart, closer than in most gearboxes: one may be the other, slipping by a "
               "steady share. State the car's ratios, final drive and tyre; then slip is told from gears.";
    case CH_LIMIT_PULLED_ALONE:
        return "On one ratio of engine to road speed the car was only ever pulled, on one below it hardly ever: two "
               "gears, or one in which the clutch slips at every pull. State the car's ratios, final drive and tyre; "
               "then slip is told from gears.";
    default: return NULL;
    }
}

static void show_gears(page *p, const ch_driveline *d)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER], k[CH_SHOW_NUMBER];
    if (d->gears == 0)
        return;
    page_heading(p, "Gears");
    ch_text_append_string(p->text, "  gear   rpm per km/h   known to   scatter   time in gear\n");
    for (size_t g = 0; g < d->gears; g++)
        ch_text_appendf(p->text, "  %4d   %12s   %6s %%   %5s %%   %10s s\n", d->gear[g].number,
                        number(spin_per_speed(d->gear[g].line_rad_m), 2, a),
                        number(ch_driveline_gear_known_1(&d->gear[g]) * 100, 2, k),
                        number(d->gear[g].spread_1 * 100, 1, b), number(d->gear[g].seconds, 0, c));
    page_paragraph(p, 2, "  ", "Known to: the true value lies that far away, or less, nine times in ten.");
    if (isfinite(d->car_factor_1))
        page_paragraphf(p, 2, "  ", "The car's ratios and tyre fit with a factor of %s.",
                        number(d->car_factor_1, 3, a));
    page_paragraphf(p, 2, "  ", "Road speed comes %s s behind engine speed; that is taken out.",
                    number(d->lag_s, 2, a));
}

static void show_slips(page *p, const ch_driveline *d)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER], e[CH_SHOW_NUMBER], f[CH_SHOW_NUMBER],
        g[CH_SHOW_NUMBER];
    static const char *const others[CH_NOT_SLIP_KINDS] = {[CH_NOT_SLIP_WHEELSPIN] = "wheelspin",
                                                          [CH_NOT_SLIP_CLUTCH] =
                                                              "the driver's clutch or a blip of the throttle",
                                                          [CH_NOT_SLIP_SENSOR] = "road speed that dropped by itself",
                                                          [CH_NOT_SLIP_BRIEF] = "too short or too small to tell"};
    if (d->slips > 0) {
        page_heading(p, "Slips");
        ch_text_append_string(p->text, "     from s      to s  gear   peak %   mean %   torque N m   heat kJ\n");
        for (size_t i = 0; i < d->slips && i < SLIPS_SHOWN; i++) {
            const ch_slip *s = &d->slip[i];
            ch_text_appendf(p->text, "  %9s %9s  %4d   %6s   %6s   %10s   %7s\n", number(s->start_s, 2, a),
                            number(s->end_s, 2, b), s->gear, number(s->peak_1 * 100, 1, c),
                            number(s->mean_1 * 100, 1, e), number(s->torque_n_m, 0, f), number(s->heat_j / 1e3, 1, g));
        }
        if (d->slips_found > SLIPS_SHOWN)
            page_paragraphf(p, 2, "  ", "... and %zu more (--json has them).", d->slips_found - SLIPS_SHOWN);
    }
    for (int k = 0; k < CH_NOT_SLIP_KINDS; k++)
        if (d->not_slips[k] > 0 && d->gears > 0)
            page_paragraphf(p, 4, "  - ", "Looked like slip and was not, %zu time%s: %s.", d->not_slips[k],
                            d->not_slips[k] == 1 ? "" : "s", others[k]);
}

static void show_capacity(page *p, const ch_driveline *d)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER];
    if (!isfinite(d->capacity_n_m[1]) && !isfinite(d->design_n_m[0]))
        return;
    page_heading(p, "What the clutch holds");
    if (isfinite(d->capacity_n_m[1]))
        page_paragraphf(p, 2, "  ", "It lets go at %s N m (5 to 95 %%: %s to %s), from the car's pull at each slip.",
                        number(d->capacity_n_m[1], 0, a), number(d->capacity_n_m[0], 0, b),
                        number(d->capacity_n_m[2], 0, c));
    if (isfinite(d->design_n_m[0]))
        page_paragraphf(p, 2, "  ",
                        "Facing, clamp force and friction as stated should hold %s N m worn in, %s N m new.",
                        number(d->design_n_m[0], 0, a), number(d->design_n_m[1], 0, b));
    if (isfinite(d->fade_1_k))
        page_paragraphf(p, 2, "  ", "For each 100 C of the plate it changes by %s %% (standard uncertainty %s %%).",
                        number(d->fade_1_k * 1e4, 0, a), number(d->u_fade_1_k * 1e4, 0, b));
}

static void cause_order(const ch_driveline *d, int order[CH_CLUTCH_CAUSES])
{
    for (int i = 0; i < CH_CLUTCH_CAUSES; i++) {
        int at = i;
        while (at > 0 && d->cause_1[order[at - 1]] < d->cause_1[i]) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = i;
    }
}

static void show_causes(page *p, const ch_show_run *run)
{
    const ch_driveline *d = run->driveline;
    int order[CH_CLUTCH_CAUSES];
    cause_order(d, order);
    page_heading(p, "Causes");
    if (ch_show_driveline_slip_untold(d) != NULL)
        page_paragraphf(p, 2, "  ", "%s", ch_show_driveline_slip_untold(d));
    for (int i = 0; i < CH_CLUTCH_CAUSES; i++) {
        char chance[CH_SHOW_NUMBER], label[CH_SHOW_NUMBER + 8];
        const ch_clutch_cause_known *cause = &run->clutch->cause[order[i]];
        if (d->cause_1[order[i]] < SHOWN_CAUSE_1)
            continue;
        snprintf(label, sizeof label, "%11s  ", ch_show_chance(d->cause_1[order[i]], chance));
        page_paragraphf(p, 13, label, "%s. %s", cause->title, cause->says);
        if (order[i] != CH_CLUTCH_SOUND && d->cause_1[order[i]] > 0.15) {
            page_paragraphf(p, 13, "", "Before taking the gearbox out: %s", cause->before);
            if (cause->after[0] != '-')
                page_paragraphf(p, 13, "", "With it out: %s", cause->after);
        }
    }
}

static void show_checks(page *p, const ch_show_run *run)
{
    const ch_driveline *d = run->driveline;
    bool shown[PAGE_CAUTIONS_MAXIMUM] = {false};
    char bits[CH_SHOW_NUMBER];
    if (d->next_checks == 0)
        return;
    page_heading(p, "What to check next, most told for each minute first");
    for (size_t i = 0; i < d->next_checks && i < CHECKS_SHOWN; i++) {
        const ch_clutch_check *check = &run->clutch->checks[d->next_check[i].check];
        page_cautions(p, 4, run->knowledge, &check->cautions, shown);
        page_paragraphf(p, 4, "  - ", "%s (%.0f min, %s bits). %s", check->title, check->seconds / 60,
                        number(d->next_check[i].bits_1, 2, bits), check->says);
    }
    page_paragraphf(p, 2, "  ", "%s", run->knowledge->always);
}

static void show_limits(page *p, const ch_show_run *run)
{
    const ch_driveline *d = run->driveline;
    char a[CH_SHOW_NUMBER];
    page_heading(p, "What limits this answer");
    for (unsigned bit = 1; ch_show_driveline_limit(bit) != NULL; bit <<= 1)
        if (d->limits & bit)
            page_paragraph(p, 4, "  - ", ch_show_driveline_limit(bit));
    if (d->gears > 0)
        page_paragraphf(p, 4, "  - ", "Slips shorter than %s s or under 3 %% are not told.",
                        number(d->shortest_slip_s, 1, a));
    ch_text told;
    ch_text_init(&told, 16384);
    ch_drivelog_tell(run->report, &told);
    if (told.status != CH_OK && p->text->status == CH_OK)
        p->text->status = told.status;
    const char *line = ch_text_string(&told);
    while (*line != '\0') {
        char sentence[512];
        size_t n = 0;
        for (; *line != '\0' && *line != '\n'; line++)
            if (n + 1 < sizeof sentence)
                sentence[n++] = *line;
        sentence[n] = '\0';
        if (n > 0)
            page_paragraph(p, 4, "  - ", sentence);
        line += *line == '\n';
    }
    ch_text_clear(&told);
}

static void show_working(page *p, const ch_driveline *d)
{
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER], c[CH_SHOW_NUMBER];
    page_heading(p, "Working");
    page_paragraphf(p, 4, "  - ", "Fresh engine speed every %s s, road speed every %s s; lag %s s.",
                    number(d->engine_fresh_s, 2, a), number(d->road_fresh_s, 2, b), number(d->lag_s, 2, c));
    page_paragraphf(p, 4, "  - ",
                    "%s %% of the steady driving lies on a gear's line (kernel density of the logarithm of engine over "
                    "road speed).",
                    number(d->on_lines_1 * 100, 0, a));
    page_paragraph(
        p, 4, "  - ",
        "Torque: (1.04 m a + rho/2 CdA v^2 + f m g)/(line efficiency); capacity of a facing: Bhandari, Design of "
        "Machine Elements, chapter 11; heat: torque times slip speed into one lump of iron.");
    page_paragraph(p, 4, "  - ", "docs/driveline.md has the method, its sources and where it fails.");
}

void ch_show_driveline_text(const ch_show_run *run, const ch_show_style *style, ch_text *text)
{
    page p = {.text = text, .columns = style->columns, .colour = style->colour};
    char sentence[CH_SHOW_RUN_SENTENCE], a[CH_SHOW_NUMBER];
    const ch_driveline *d = run->driveline;
    if (run->car != NULL && run->car->title[0] != '\0')
        page_paragraph(&p, 0, "", run->car->title);
    page_paragraphf(&p, 0, "", "%llu rows, %s s.", (unsigned long long)d->rows, number(run->report->seconds, 0, a));
    ch_show_driveline_verdict(d, sentence);
    page_paragraph(&p, 0, "", sentence);
    show_gears(&p, d);
    show_slips(&p, d);
    show_capacity(&p, d);
    if (d->state == CH_DRIVELINE_GEARS_FOUND || run->seen_n > 0)
        show_causes(&p, run);
    show_checks(&p, run);
    show_limits(&p, run);
    if (style->working)
        show_working(&p, d);
}

/* A season's sentences. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_ready.h"
#include "crosshatch/show_season.h"

const char *ch_show_course_title(ch_course choice)
{
    static const char *const TITLE[CH_COURSES] = {
        [CH_COURSE_RUN] = "Run it, no tests",
        [CH_COURSE_WATCH] = "Test each season, mend what shows",
        [CH_COURSE_REPAIR] = "Repair the head now",
        [CH_COURSE_REBUILD] = "Rebuild the engine now",
        [CH_COURSE_REPLACE] = "Put another engine in now",
    };
    return (unsigned)choice < CH_COURSES ? TITLE[choice] : NULL;
}

const char *ch_show_course_row(const ch_decision *decision, ch_course choice)
{
    return choice == CH_COURSE_WATCH && decision->tests == 0 ? "Test each season: none falls due"
                                                             : ch_show_course_title(choice);
}

const char *ch_show_guessed(double money, char buffer[CH_SHOW_NUMBER])
{
    double unit = 1.0;
    while (fabs(money) / unit >= 99.5 && unit < 1e12)
        unit *= 10.0;
    return ch_show_number(unit * round(money / unit), 0, buffer);
}

bool ch_show_season_forbids(const ch_show_season *shown)
{
    return shown->standing != NULL && ch_date_given(shown->standing->fault.day) && shown->standing->fault.do_not_run;
}

/* An older sheet's fault that the newest sheet does not clear. */
static void add_standing(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    const ch_ready_engine *engine = shown->standing;
    char stands[CH_SHOW_SENTENCE];
    const size_t used = strlen(sentence);
    if (engine == NULL || !ch_date_given(engine->fault.day) ||
        (shown->newest != NULL && shown->newest->id == engine->fault.sheet_id))
        return;
    ch_show_ready_fault(engine, stands);
    snprintf(sentence + used, CH_SHOW_SENTENCE - used, "%s%s.", used > 0 ? " " : "", stands);
}

void ch_show_season_newest(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    const ch_history_sheet *newest = shown->newest;
    char day[16], chance[CH_SHOW_NUMBER], worst[96] = "";
    double wrong_1 = NAN;
    sentence[0] = '\0';
    if (ch_show_season_forbids(shown)) {
        ch_show_ready_fault(shown->standing, sentence);
        const size_t used = strlen(sentence);
        snprintf(sentence + used, CH_SHOW_SENTENCE - used,
                 ". What follows counts leaks alone, and holds once that is put right.");
        return;
    }
    if (newest == NULL) {
        add_standing(shown, sentence);
        return;
    }
    const int cylinder = ch_history_worst(&newest->result, &wrong_1);
    ch_date_format(newest->day, day, sizeof day);
    if (cylinder > 0 && newest->result.verdict != CH_VERDICT_SOUND)
        snprintf(worst, sizeof worst, ": the chance that something is wrong with cylinder %d is %s", cylinder,
                 ch_show_chance(wrong_1, chance));
    snprintf(sentence, CH_SHOW_SENTENCE,
             "The newest sheet, %s %s%s, says %s%s. What follows is how leaks may go on from there.",
             newest->day_assumed ? "without a day (entered" : "of", day, newest->day_assumed ? ")" : "",
             ch_verdict_name(newest->result.verdict), worst);
    add_standing(shown, sentence);
}

static const char *horizon_words(ch_horizon horizon)
{
    static const char *const WORDS[CH_HORIZONS] = {"to the end of the season", "over the next year",
                                                   "over three years"};
    return WORDS[horizon];
}

static const ch_decision *decision_of(const ch_show_season *shown)
{
    return &shown->season->decision[shown->season->horizon];
}

/* What the costs do not say of tests: that none falls due, or that the last is of long ago. */
static void add_of_tests(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    static const double old_years = 1.5, year_days = 365.25; /* a season without one: judgment */
    const double years = (double)(ch_date_days(shown->today) - ch_date_days(shown->season->last_test)) / year_days;
    const size_t used = strlen(sentence);
    if (years > old_years) {
        char day[16], number[CH_SHOW_NUMBER];
        ch_date_format(shown->season->last_test, day, sizeof day);
        snprintf(sentence + used, CH_SHOW_SENTENCE - used,
                 " The last test is of %s, %s years ago, and standing does seats and rings no good: test before the "
                 "first event, whatever this says.",
                 day, ch_show_number(years, 1, number));
    } else if (decision_of(shown)->tests == 0) {
        snprintf(sentence + used, CH_SHOW_SENTENCE - used,
                 " No test falls due until then, since nothing has run after the last one; the next is before the "
                 "season after.");
    }
}

static void advice(const ch_show_season *shown, char *sentence, size_t room)
{
    const ch_decision *d = decision_of(shown);
    int second = d->best == CH_COURSE_RUN ? CH_COURSE_REPAIR : CH_COURSE_RUN;
    for (int k = 0; k < CH_COURSES; k++)
        if (k != (int)d->best && (k != CH_COURSE_WATCH || d->tests > 0) &&
            d->cost[k].expected < d->cost[second].expected)
            second = k;
    char best[CH_SHOW_NUMBER], lead[CH_SHOW_NUMBER], other[CH_SHOW_NUMBER];
    ch_show_guessed(d->cost[d->best].expected, best);
    ch_show_guessed(d->cost[second].expected, other);
    ch_show_guessed(d->lead, lead);
    if (strcmp(best, other) == 0) { /* what the eye cannot tell apart is not put in an order */
        snprintf(sentence, room,
                 "Cheapest %s by what is expected, and alike: \"%s\" and \"%s\", about %s %s each. You decide.",
                 horizon_words(shown->season->horizon), ch_show_course_title(d->best),
                 ch_show_course_title((ch_course)second), best, shown->assumptions->currency);
        return;
    }
    snprintf(sentence, room,
             "Cheapest %s by what is expected: \"%s\", about %s %s; \"%s\" would cost about %s more. You decide.",
             horizon_words(shown->season->horizon), ch_show_course_title(d->best), best, shown->assumptions->currency,
             ch_show_course_title((ch_course)second), lead);
}

void ch_show_season_advice(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    size_t used = 0;
    sentence[0] = '\0';
    if (ch_show_season_forbids(shown))
        used =
            (size_t)snprintf(sentence, CH_SHOW_SENTENCE,
                             "First put right what was seen: nobody cranks or runs this engine before. From then on: ");
    advice(shown, sentence + used, CH_SHOW_SENTENCE - used);
    add_of_tests(shown, sentence);
}

const char *ch_show_season_no_slope(void)
{
    return "No slope yet: the tests are too few, or lie too close by hours, to tell how this engine wears. What "
           "follows "
           "is how engines usually wear.";
}

const char *ch_show_season_wider(void)
{
    return "Wider than in the findings of one test, which stand for its day and its gauge: what another day, gauge or "
           "reading would say is counted here, too.";
}

void ch_show_season_upgrade(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    const ch_season *s = shown->season;
    char chance[CH_SHOW_NUMBER];
    if (ch_show_season_forbids(shown)) {
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Upgrade money: put right first what was seen. Brakes, seat, belts and tyres do not care.");
        return;
    }
    switch (s->upgrade) {
    case CH_UPGRADE_REPAIR_FIRST:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Upgrade money: put it right first. Cylinder %d leaks more than it should (%s likely over the watch "
                 "limit), and "
                 "power parts on top of a leak only hurry it. Brakes, seat, belts and tyres do not care.",
                 s->worst, ch_show_chance(s->forecast.cylinder[s->worst - 1].over_watch_1, chance));
        return;
    case CH_UPGRADE_NOT_HERE:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Upgrade money: only on what moves to the next engine. The chance that a cylinder is over the fault "
                 "limit %s is "
                 "%s.",
                 horizon_words(s->horizon), ch_show_chance(s->over_fault_1[s->horizon], chance));
        return;
    case CH_UPGRADE_TEST_FIRST:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Upgrade money: wait for another test. Too little is known of how fast this engine wears, or of "
                 "cylinder %d.",
                 s->worst);
        return;
    case CH_UPGRADE_SOUND:
        snprintf(sentence, CH_SHOW_SENTENCE,
                 "Upgrade money: nothing in the sealing speaks against it. Hot oil pressure, bearing metal in the "
                 "filter, coolant "
                 "and oil control are to be right first, and clutch, brakes and cooling to stand it.");
        return;
    case CH_UPGRADES: break;
    }
    sentence[0] = '\0';
}

void ch_show_season_step(const ch_show_season *shown, size_t step, char sentence[CH_SHOW_SENTENCE])
{
    const ch_season *s = shown->season;
    const ch_wear_found *found = &s->forecast.step[step];
    char times[CH_SHOW_NUMBER], chance[CH_SHOW_NUMBER], hours[CH_SHOW_NUMBER], day[16] = "an earlier day";
    for (size_t i = 0; i < s->history.count; i++)
        if (s->history.point[i].fitted && s->history.point[i].at == found->step.sheet)
            ch_date_format(s->history.point[i].sheet->day, day, sizeof day);
    snprintf(sentence, CH_SHOW_SENTENCE,
             "A step, not wear: by the sheet of %s (%s h) cylinder %d leaks %s times what it did before. Wear and "
             "scatter alone "
             "show as much in %s of such histories. %s",
             day, ch_show_number(found->step.running_s / 3600.0, 0, hours), found->step.cylinder,
             ch_show_number(exp(found->size_log), 1, times), ch_show_chance(found->chance_1, chance),
             found->confirmed ? "Something happened there; the sheets after it agree."
                              : "It rests on one sheet: repeat the test before anything is taken apart.");
}

const char *ch_show_hours_left(double left_s, char buffer[CH_SHOW_NUMBER])
{
    static const double FAR_H = 2000.0;
    const double hours = left_s / 3600.0;
    if (hours > FAR_H)
        snprintf(buffer, CH_SHOW_NUMBER, ">%.0f", FAR_H);
    else
        ch_show_number(hours, 0, buffer);
    return buffer;
}

void ch_show_season_left(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    const double *left_s = shown->season->forecast.fault_s;
    char left[3][CH_SHOW_NUMBER];
    if (isnan(left_s[1])) {
        snprintf(sentence, CH_SHOW_SENTENCE, "No limit: this engine's reading never falls so far.");
        return;
    }
    for (int i = 0; i < 3; i++)
        ch_show_hours_left(left_s[i], left[i]);
    snprintf(sentence, CH_SHOW_SENTENCE,
             "Until the first cylinder is over the fault limit: %s hours of running, nine times in ten between %s and "
             "%s.",
             left[1], left[0], left[2]);
}

bool ch_show_season_hours_taken(const ch_show_season *shown, size_t event)
{
    for (size_t i = 0; i <= event && i < shown->season->planned; i++)
        if (!(shown->season->event[i].event->running_s > 0.0))
            return true;
    return false;
}

void ch_show_season_rests(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    const ch_season *s = shown->season;
    char usual[CH_SHOW_NUMBER], taken[CH_SHOW_SENTENCE / 2] = "";
    if (s->planned > 0 && ch_show_season_hours_taken(shown, s->planned - 1))
        snprintf(taken, sizeof taken,
                 " * No hours are entered for it, or for one before it: those of a usual event are taken, %s h.",
                 ch_show_number(s->history.usual_event_s / 3600.0, 1, usual));
    snprintf(sentence, CH_SHOW_SENTENCE,
             "The chances count what is not known of the wear; the hours to run they take as told here.%s%s", taken,
             s->forecast.slope_known ? "" : " How fast it wears is that of engines in general, at so many hours.");
}

const char *ch_show_assumed(const ch_show_season *shown, const ch_assumption *a, double figure,
                            char buffer[CH_SHOW_NUMBER + 16])
{
    char number[CH_SHOW_NUMBER];
    const char *unit = "";
    switch (a->unit) {
    case CH_ASSUMED_MONEY:
        ch_show_number(figure, 0, number); /* as it stands in the assumptions */
        unit = shown->assumptions->currency;
        break;
    case CH_ASSUMED_HOURS:
        ch_show_number(figure, 1, number);
        unit = "h";
        break;
    case CH_ASSUMED_COUNT: ch_show_number(figure, 0, number); break;
    case CH_ASSUMED_CHANCE: ch_show_chance(figure, number); break;
    }
    snprintf(buffer, CH_SHOW_NUMBER + 16, "%s%s%.8s", number, unit[0] != '\0' ? " " : "", unit);
    return buffer;
}

void ch_show_season_breaks(const ch_show_season *shown, char sentence[CH_SHOW_SENTENCE])
{
    static const ch_assumption_id FIGURES[] = {CH_ASSUME_BREAK_SOUND, CH_ASSUME_BREAK_OVER};
    char figure[2][3][CH_SHOW_NUMBER + 16];
    for (int i = 0; i < 2; i++) {
        const ch_assumption *a = &shown->assumptions->of[FIGURES[i]];
        ch_show_assumed(shown, a, a->usual, figure[i][0]);
        ch_show_assumed(shown, a, a->low, figure[i][1]);
        ch_show_assumed(shown, a, a->high, figure[i][2]);
    }
    snprintf(
        sentence, CH_SHOW_SENTENCE,
        "A chance of a breakdown has no interval of its own: it rests on the hours, on the chance to be over the "
        "fault limit, and on two assumed figures. In 100 track hours %.16s of sound engines break (assumed between "
        "%.16s and %.16s), and %.16s of those over the fault limit (%.16s to %.16s).",
        figure[0][0], figure[0][1], figure[0][2], figure[1][0], figure[1][1], figure[1][2]);
}

void ch_show_season_swing(const ch_show_season *shown, size_t swing, char sentence[CH_SHOW_SENTENCE])
{
    const ch_decision *d = decision_of(shown);
    const ch_swing *s = &d->swing[swing];
    const ch_assumption *a = &shown->assumptions->of[s->assumption];
    sentence[0] = '\0';
    size_t used = 0;
    for (int end = 0; end < 2; end++) {
        char figure[CH_SHOW_NUMBER + 16];
        if (s->best[end] == d->best)
            continue;
        ch_show_assumed(shown, a, end == 0 ? a->low : a->high, figure);
        if (used == 0)
            used = (size_t)snprintf(sentence, CH_SHOW_SENTENCE, "%.160s: ", a->title);
        used +=
            (size_t)snprintf(sentence + used, CH_SHOW_SENTENCE - used, "%sat %s, \"%s\" is cheaper",
                             end == 1 && s->best[0] != d->best ? "; " : "", figure, ch_show_course_title(s->best[end]));
    }
    if (used > 0 && used + 2 < CH_SHOW_SENTENCE)
        snprintf(sentence + used, CH_SHOW_SENTENCE - used, ".");
}

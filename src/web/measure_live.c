/* What can be said of the readings so far, and the engine as a picture of buttons. */
#include "measure_live.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/show_words.h"

/* The random draws begin alike on every call, so that the same readings say the same. */
static const uint64_t SEED = 1;

ch_status measure_judge(web_request *request, const ch_sheet *sheet, const ch_unit *unit, ch_judgement **judgement,
                        bool *judged, ch_err *err)
{
    const char *rule = NULL;
    ch_status rc = ch_store_setting_get(request->store, &request->pool, "rule", &rule, err);
    if (rc < 0)
        return rc;
    ch_judge_options options = {.seed = SEED, .rule = CH_RULE_75_PERCENT, .pressure_unit = unit};
    if (rule != NULL && ch_balance_rule_find(rule, strlen(rule)) != CH_RULE_COUNT)
        options.rule = ch_balance_rule_find(rule, strlen(rule));
    ch_judgement *made = malloc(sizeof *made);
    if (made == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to judge");
    ch_err reason = {0};
    rc = ch_judge_at_once(sheet, &options, made, &reason);
    if (rc == CH_E_MEMORY) { /* any other failure says that there is nothing to judge yet */
        free(made);
        return ch_fail(err, rc, NULL, "%s", reason.what);
    }
    *judged = rc >= 0;
    *judgement = made;
    return CH_OK;
}

/* ---------------------------------------------------------------- words */

static void pressure(html_writer *w, double pressure_pa, const ch_unit *unit)
{
    char text[CH_SHOW_NUMBER];
    html_text(w, ch_show_pressure_named(pressure_pa, unit, text));
}

static void part(html_writer *w, double part_1)
{
    char text[CH_SHOW_NUMBER];
    html_textf(w, "%s %%", ch_show_number(100.0 * part_1, 0, text));
}

static void write_spread(html_writer *w, const ch_judgement *j, const ch_unit *unit)
{
    if (j->lowest == 0)
        return;
    const ch_judged_cylinder *low = &j->cylinder[j->lowest - 1], *high = &j->cylinder[j->highest - 1];
    html_lit(w, "<dt>Lowest over highest</dt><dd><span class=\"big\">");
    part(w, j->ratio_1);
    html_lit(w, "</span><br>likely between ");
    part(w, j->ratio_interval_1[0]);
    html_lit(w, " and ");
    part(w, j->ratio_interval_1[1]);
    html_lit(w, "</dd><dt>Spread so far</dt><dd>from ");
    pressure(w, low->mean_pa, unit);
    html_textf(w, " (cylinder %d) to ", j->lowest);
    pressure(w, high->mean_pa, unit);
    html_textf(w, " (cylinder %d)", j->highest);
    html_lit(w, "</dd>");
}

static void write_rule(html_writer *w, const ch_sheet *sheet, const ch_judgement *j)
{
    const ch_rule_outcome *rule = &j->rule[j->chosen_rule];
    const char *silent = ch_judge_rule_silent(sheet, j);
    html_lit(w, "<dt>Your rule</dt><dd>");
    html_text(w, rule->says);
    html_text(w, silent != NULL ? ": says nothing here, for " : rule->passes ? ": kept so far" : ": broken so far");
    html_text(w, silent != NULL ? silent : "");
    html_lit(w, "</dd>");
}

static void write_repeat(html_writer *w, const ch_judgement *j, const ch_unit *unit)
{
    int missing = 0;
    for (int c = 0; c < j->cylinders; c++)
        missing += j->cylinder[c].n == 0;
    int disagreeing = 0;
    for (size_t i = 0; i < j->question_count && disagreeing == 0; i++)
        disagreeing = j->question[i].kind == CH_QUESTION_REPEAT ? j->question[i].cylinder : 0;
    html_lit(w, "<dt>Another reading?</dt><dd>");
    if (disagreeing > 0)
        html_textf(w, "Yes: cylinder %d, whose readings do not agree.", disagreeing);
    else if (missing > 0)
        html_textf(w, "%d %s still without a reading.", missing, missing == 1 ? "cylinder" : "cylinders");
    else if (j->repeat_cylinder > 0)
        html_textf(w, "Worth it: cylinder %d. It could change what your rule says.", j->repeat_cylinder);
    else if (j->rule[j->chosen_rule].applies)
        html_lit(w, "Another repeat would hardly change what your rule says.");
    if (!j->pooled_assumed) {
        char text[CH_SHOW_NUMBER];
        ch_si_format(j->pooled_sd_pa, j->pooled_sd_pa, unit, text, sizeof text);
        html_textf(w, " Repeats differ by %s (standard deviation).", text);
    } else if (missing == 0) {
        html_lit(w, " One second reading of any cylinder would show how well this gauge repeats.");
    }
    html_lit(w, "</dd>");
}

static void write_question(html_writer *w, const ch_question *question)
{
    html_lit(w, "<p class=\"notice question\"><span class=\"signal\">Is this right?</span> ");
    html_text(w, question->text);
}

static void write_questions(html_writer *w, const ch_judgement *j)
{
    for (size_t i = 0; i < j->question_count; i++) {
        write_question(w, &j->question[i]);
        html_lit(w, "</p>\n");
    }
}

/* The row entered last of those that count; *place is where it stands among those of its kind. NULL where there is none. */
static const ch_store_row *entered_last(const measuring *m, size_t *place)
{
    const ch_store_row *last = NULL;
    size_t of_kind[CH_STORE_KINDS] = {0};
    for (size_t i = 0; i < m->rows_count; i++) {
        const ch_store_row *row = &m->rows[i];
        if (!row->current || row->deletion || row->kind > CH_STORE_LEAKDOWN)
            continue;
        const size_t at = of_kind[row->kind]++;
        if (last != NULL && row->id < last->id)
            continue;
        last = row;
        *place = at;
    }
    return last;
}

bool measure_questions_now(html_writer *w, const measuring *m, const ch_judgement *judgement)
{
    size_t place = 0, now = 0, earlier = 0;
    const ch_store_row *last = entered_last(m, &place);
    if (last == NULL || m->row.closed)
        return false;
    for (size_t i = 0; i < judgement->question_count; i++) {
        const ch_question *question = &judgement->question[i];
        const bool of_row = question->row != SIZE_MAX;
        if (of_row ? last->kind != CH_STORE_DRY || question->row != place
                   : question->cylinder == 0 || question->cylinder != measure_cylinder(last)) {
            earlier += of_row;
            continue;
        }
        write_question(w, question);
        if (now++ == 0) {
            html_lit(w, " <a class=\"press\"");
            html_attrf(w, "href", "/row/%lld?sheet=%lld", (long long)last->id, (long long)m->row.id);
            html_lit(w, ">Correct</a>");
        }
        html_lit(w, "</p>\n");
    }
    if (earlier > 0) {
        html_lit(w, "<p class=\"notice question\"><a href=\"#live\">");
        html_textf(w, "%zu %s of an earlier reading", earlier, earlier == 1 ? "question" : "questions");
        html_lit(w, "</a></p>\n");
    }
    return now > 0;
}

void measure_live(html_writer *w, const ch_sheet *sheet, const ch_judgement *judgement, const ch_unit *unit)
{
    write_questions(w, judgement);
    if (sheet->compression_count == 0)
        return;
    html_lit(w, "<dl class=\"facts\">");
    write_spread(w, judgement, unit);
    write_rule(w, sheet, judgement);
    write_repeat(w, judgement, unit);
    html_lit(w, "</dl>\n");
}

/* ---------------------------------------------------------------- picture */

static void write_cylinder(html_writer *w, int64_t sheet_id, const char *kind, int cylinder, bool chosen, int count,
                           double mean_pa, const ch_unit *unit)
{
    char text[CH_SHOW_NUMBER];
    html_lit(w, "<li><a");
    html_attrf(w, "href", "/sheet/%lld/measure?kind=%s&cylinder=%d#enter", (long long)sheet_id, kind, cylinder);
    html_attr(w, "class", count > 0 ? "bore read" : "bore");
    if (chosen)
        html_lit(w, " aria-current=\"true\"");
    html_lit(w, "><span class=\"visually-hidden\">Cylinder </span><strong>");
    html_textf(w, "%d", cylinder);
    html_lit(w, "</strong><span class=\"mean\">");
    if (isfinite(mean_pa)) {
        html_text(w, ch_show_pressure(mean_pa, unit, text));
    } else {
        html_text(w, count > 0 ? "read" : "-");
    }
    html_lit(w, "</span>");
    if (count > 1)
        html_textf(w, " x%d", count);
    html_lit(w, "</a></li>");
}

void measure_engine(html_writer *w, const ch_sheet *sheet, int64_t sheet_id, const char *kind, int chosen,
                    const int count[CH_CYLINDERS_MAX], const double mean_pa[CH_CYLINDERS_MAX], const ch_unit *unit)
{
    const int n = sheet->engine.cylinders;
    const bool banks = n > 1 && (sheet->engine.layout == CH_LAYOUT_VEE || sheet->engine.layout == CH_LAYOUT_FLAT);
    const int first_bank = banks ? (n + 1) / 2 : n;
    html_lit(w, "<nav aria-label=\"Cylinders\"");
    html_attr(w, "class",
              !banks                                  ? "engine inline"
              : sheet->engine.layout == CH_LAYOUT_VEE ? "engine vee"
                                                      : "engine flat");
    html_lit(w, "><p class=\"quiet\">Front of the engine left</p><ul class=\"bank\">");
    for (int c = 1; c <= n; c++) {
        if (c == first_bank + 1)
            html_lit(w, "</ul><div class=\"crank\"></div><ul class=\"bank\">");
        write_cylinder(w, sheet_id, kind, c, c == chosen, count[c - 1], mean_pa[c - 1], unit);
    }
    html_lit(w, "</ul>");
    if (banks)
        html_lit(w, "<p class=\"hint\">Drawn bank by bank; makers number banks in more than one way, so go by the "
                    "numbers in the car's own manual.</p>");
    html_lit(w, "</nav>\n");
}

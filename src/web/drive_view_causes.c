/* What it may be, what to look at next, and what limits the answer. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_driveline.h"
#include "crosshatch/show_words.h"
#include "drive_view.h"
#include "piece.h"

enum { CHECKS_SHOWN = 3, SIGN_FIELD = 64 };
static const double TOLD_1 = 0.15; /* causes likelier than this say how to tell them */

/* ---------------------------------------------------------------- causes */

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

static void paragraph(html_writer *w, const char *label, const char *words)
{
    html_lit(w, "<p><strong>");
    html_text(w, label);
    html_lit(w, "</strong> ");
    html_text(w, words);
    html_lit(w, "</p>\n");
}

static void cause_row(const drive_view *v, int cause)
{
    const ch_clutch_cause_known *known = &v->know->clutch.cause[cause];
    const double chance_1 = v->run->driveline.cause_1[cause];
    char chance[CH_SHOW_NUMBER];
    ch_svg svg;
    html_lit(v->w, "<li><span class=\"chance\">");
    html_text(v->w, ch_show_chance(chance_1, chance));
    html_lit(v->w, "</span> <span>");
    html_text(v->w, known->title);
    html_lit(v->w, "</span>");
    const ch_status rc = ch_show_bar_svg(chance_1, &svg, NULL);
    if (rc >= 0)
        html_svg(v->w, &svg);
    else
        html_fail(v->w, rc);
    ch_svg_clear(&svg);
    html_lit(v->w, "</li>\n");
}

/* Cautions first: they are met before what they are about. Only the likeliest stands open. */
static void how_to_tell(const drive_view *v, int cause, bool open)
{
    const ch_clutch_cause_known *known = &v->know->clutch.cause[cause];
    html_lit(v->w, "<details");
    html_attr_if(v->w, "open", open);
    html_lit(v->w, "><summary>How to tell: ");
    html_text(v->w, known->title);
    html_lit(v->w, "</summary><p>");
    html_text(v->w, known->says);
    html_lit(v->w, "</p>\n");
    paragraph(v->w, "Before the gearbox comes out:", known->before);
    if (known->after[0] != '-') {
        piece_cautions_short(v->w, &v->know->knowledge, &known->cautions);
        paragraph(v->w, "With it out:", known->after);
    }
    html_lit(v->w, "</details>\n");
}

void drive_view_causes(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    int order[CH_CLUTCH_CAUSES];
    if (d->state != CH_DRIVELINE_GEARS_FOUND && v->run->signs == 0)
        return;
    cause_order(d, order);
    html_lit(v->w, "<h2>What it may be</h2>\n");
    if (ch_show_driveline_slip_untold(d) != NULL) {
        html_lit(v->w, "<p>");
        html_text(v->w, ch_show_driveline_slip_untold(d));
        html_lit(v->w, "</p>\n");
    }
    html_lit(v->w, "<ul class=\"causes\">\n");
    for (int i = 0; i < CH_CLUTCH_CAUSES; i++)
        if (i == 0 || d->cause_1[order[i]] >= CH_SHOW_CAUSE_1)
            cause_row(v, order[i]);
    html_lit(v->w, "</ul>\n");
    for (int i = 0; i < CH_CLUTCH_CAUSES; i++)
        if (order[i] != CH_CLUTCH_SOUND && d->cause_1[order[i]] > TOLD_1)
            how_to_tell(v, order[i], i == 0);
    html_lit(v->w, "<p class=\"no-print\"><a class=\"button second\"");
    html_attrf(v->w, "href", "/car/%lld/winter", (long long)v->run->car_id);
    html_lit(v->w, ">Plan the work</a></p>\n");
}

/* ---------------------------------------------------------------- hand checks */

static const char *seen_of(const drive_view *v, const char *sign)
{
    for (size_t i = 0; i < v->run->signs; i++)
        if (strcmp(v->run->sign[i].sign, sign) == 0)
            return v->run->sign[i].present != 0 ? "yes" : "no";
    return "";
}

static void sign_choice(const drive_view *v, const ch_clutch_sign *sign)
{
    char field[SIGN_FIELD];
    const char *seen = seen_of(v, sign->id);
    snprintf(field, sizeof field, "sign_%.50s", sign->id);
    html_lit(v->w, "<fieldset><legend>");
    html_text(v->w, sign->title);
    html_lit(v->w, "</legend>\n");
    piece_choice(v->w, field, "yes", "Yes", seen);
    piece_choice(v->w, field, "no", "No", seen);
    piece_choice(v->w, field, "", "Not looked at", seen);
    html_lit(v->w, "</fieldset>\n");
}

static void check(const drive_view *v, size_t at, const ch_driveline_check *next)
{
    const ch_clutch_check *check = &v->know->clutch.checks[at];
    char bits[CH_SHOW_NUMBER];
    html_lit(v->w, "<section class=\"card\"><h3>");
    html_textf(v->w, "%s, %.0f min", check->title, check->seconds / 60);
    html_lit(v->w, "</h3>\n");
    piece_cautions_short(v->w, &v->know->knowledge, &check->cautions);
    html_lit(v->w, "<p>");
    html_text(v->w, check->says);
    html_lit(v->w, "</p>\n");
    if (next != NULL) {
        html_lit(v->w, "<p class=\"quiet\">");
        html_textf(v->w, "Worth %s bits. %s", ch_show_number(next->bits_1, 2, bits), ch_show_bit_means());
        html_lit(v->w, "</p>\n");
    }
    for (size_t i = 0; i < check->yields.count; i++)
        sign_choice(v, &v->know->clutch.signs[check->yields.at[i]]);
    html_lit(v->w, "</section>\n");
}

static bool yielded(const ch_clutch_knowledge *clutch, size_t sign)
{
    for (size_t k = 0; k < clutch->checks_n; k++)
        for (size_t i = 0; i < clutch->checks[k].yields.count; i++)
            if (clutch->checks[k].yields.at[i] == sign)
                return true;
    return false;
}

/* Those that tell most for each minute, then the others folded, then what no check looks for. */
void drive_view_checks(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    const ch_clutch_knowledge *clutch = &v->know->clutch;
    char action[32];
    html_lit(v->w, "<h2>What to look at by hand</h2>\n<p>");
    html_text(v->w, v->know->knowledge.always);
    html_lit(v->w, "</p>\n");
    snprintf(action, sizeof action, "/run/%lld", (long long)v->run->id);
    html_form_open(v->w, v->request, action, false);
    const size_t shown = d->next_checks < CHECKS_SHOWN ? d->next_checks : CHECKS_SHOWN;
    if (shown > 0)
        html_lit(v->w, "<p>What tells most for each minute stands first.</p>\n");
    for (size_t i = 0; i < shown; i++)
        check(v, d->next_check[i].check, &d->next_check[i]);
    html_lit(v->w, "<details");
    html_attr_if(v->w, "open", shown == 0);
    html_lit(v->w, "><summary>All other checks, and what else was noticed</summary>\n");
    for (size_t k = 0; k < clutch->checks_n; k++) {
        bool before = false;
        for (size_t i = 0; i < shown; i++)
            before = before || d->next_check[i].check == k;
        if (!before)
            check(v, k, NULL);
    }
    html_lit(v->w, "<section class=\"card\"><h3>What else was noticed</h3>\n");
    for (size_t s = 0; s < clutch->signs_n; s++)
        if (!yielded(clutch, s))
            sign_choice(v, &clutch->signs[s]);
    html_lit(v->w, "</section></details>\n");
    piece_button(v->w, "do", "see", "", "Weigh it with this");
    html_form_close(v->w);
}

/* ---------------------------------------------------------------- limits */

static void told_lines(html_writer *w, const char *told)
{
    while (*told != '\0') {
        const size_t length = strcspn(told, "\n");
        if (length > 0) {
            html_lit(w, "<li>");
            html_text_bytes(w, told, length);
            html_lit(w, "</li>\n");
        }
        told += length + (told[length] == '\n');
    }
}

void drive_view_limits(const drive_view *v)
{
    const ch_driveline *d = &v->run->driveline;
    char a[CH_SHOW_NUMBER], b[CH_SHOW_NUMBER];
    html_lit(v->w, "<h2>What limits this answer</h2>\n<ul>\n");
    for (unsigned bit = 1; ch_show_driveline_limit(bit) != NULL; bit <<= 1)
        if (d->limits & bit) {
            html_lit(v->w, "<li>");
            html_text(v->w, bit == CH_LIMIT_NO_MASS
                                ? "The car's mass is not stated, so there is no torque, heat or capacity."
                                : ch_show_driveline_limit(bit));
            html_lit(v->w, "</li>\n");
        }
    if (d->gears > 0) {
        html_lit(v->w, "<li>");
        html_textf(v->w, "Slips shorter than %s s or under 3 %% are not told.",
                   ch_show_number(d->shortest_slip_s, 1, a));
        html_lit(v->w, "</li>\n");
    }
    told_lines(v->w, v->run->told);
    html_lit(v->w, "</ul>\n<details><summary>Working</summary><ul><li>");
    html_textf(v->w, "Fresh engine speed every %s s, road speed every %s s.", ch_show_number(d->engine_fresh_s, 2, a),
               ch_show_number(d->road_fresh_s, 2, b));
    html_lit(v->w, "</li><li>");
    html_textf(v->w,
               "%s %% of the steady driving lies on a gear's line (kernel density of the logarithm of engine over road "
               "speed).",
               ch_show_number(d->on_lines_1 * 100, 0, a));
    html_lit(v->w, "</li><li>Torque: (1.04 m a + rho/2 CdA v2 + f m g)/(line efficiency). Capacity of a facing: "
                   "Bhandari, Design of "
                   "Machine Elements, chapter 11. Heat: torque times slip speed into one lump of iron.</li>"
                   "<li>Causes: chances multiply (Bayes), numbers in knowledge/driveline.yaml; docs/driveline.md has "
                   "the method, its "
                   "sources and where it fails.</li><li>");
    html_textf(v->w, "SHA-256 of the log: %s; judged by: %s.", v->run->log_sha256, v->run->made_by);
    html_lit(v->w, "</li></ul></details>\n");
}

/* Readings beside the model's: dry against wet, and the pump-up by stroke, each with its numbers. */
#include <math.h>
#include <stdio.h>

#include "crosshatch/show_beside.h"
#include "findings.h"

static void head(const findings *f, const char *caption, const char *const columns[], size_t count)
{
    html_lit(f->w, "<div class=\"scroll\" role=\"region\" tabindex=\"0\"");
    html_attr(f->w, "aria-label", caption);
    html_lit(f->w, "><table><caption>");
    html_textf(f->w, "%s, %s", caption, f->pressure->name);
    html_lit(f->w, "</caption><thead><tr><th scope=\"col\">Cylinder</th>");
    for (size_t i = 0; i < count; i++) {
        html_lit(f->w, "<th scope=\"col\" class=\"number\">");
        html_text(f->w, columns[i]);
        html_lit(f->w, "</th>");
    }
    html_lit(f->w, "</tr></thead><tbody>\n");
}

static void row(const findings *f, const char *name, const char *const cells[], size_t count)
{
    html_lit(f->w, "<tr><th scope=\"row\">");
    html_text(f->w, name);
    html_lit(f->w, "</th>");
    for (size_t i = 0; i < count; i++) {
        html_lit(f->w, "<td class=\"number\">");
        html_text(f->w, cells[i]);
        html_lit(f->w, "</td>");
    }
    html_lit(f->w, "</tr>\n");
}

static void foot(const findings *f)
{
    html_lit(f->w, "</tbody></table></div>\n");
    findings_close(f);
}

/* ---------------------------------------------------------------- stroke by stroke */

static void strokes_table(const findings *f, const ch_beside *beside)
{
    static const char *const COLUMNS[] = {"First stroke", "Final", "First / final"};
    char name[16], first[CH_SHOW_NUMBER], last[CH_SHOW_NUMBER], share[CH_SHOW_NUMBER];
    const double sound_pa[2] = {beside->sound_pa[0], beside->sound_pa[beside->strokes - 1]};
    findings_open(f, "Pump-up as a table");
    head(f, "Pump-up by stroke", COLUMNS, 3);
    for (int c = -1; c < beside->cylinders; c++) {
        const double first_pa = c < 0 ? sound_pa[0] : beside->cylinder[c].first_pa;
        const double last_pa = c < 0 ? sound_pa[1] : beside->cylinder[c].dry_pa;
        const char *const cells[] = {ch_show_pressure(first_pa, f->pressure, first),
                                     ch_show_pressure(last_pa, f->pressure, last),
                                     ch_show_number(first_pa / last_pa, 2, share)};
        snprintf(name, sizeof name, "%d", c + 1);
        if (c < 0 || isfinite(last_pa))
            row(f, c < 0 ? "a sound one" : name, cells, 3);
    }
    foot(f);
}

static void strokes(const findings *f, const ch_beside *beside)
{
    ch_svg svg;
    html_lit(f->w, "<h2>Pump-up by stroke</h2>\n<p>");
    html_textf(f->w,
               "The first stroke and the last of %d as read, joined by a line; dotted: what the model shows of a "
               "sound cylinder on this day. ",
               beside->strokes);
    html_lit(f->w,
             "Under the dots all along: it loses air or takes too little in. By the trade's practice worn rings "
             "come up from stroke to stroke without reaching the others, and a leaking valve hardly comes up; the "
             "model's share of the first stroke moves little with either, so it is a hint, no proof.</p>\n"
             "<figure class=\"drawing\">");
    findings_drawing(f, &svg, ch_show_strokes_svg(beside, f->pressure, &svg, NULL));
    html_lit(f->w, "</figure>\n");
    strokes_table(f, beside);
}

/* ---------------------------------------------------------------- with oil */

static void wet_table(const findings *f, const ch_beside *beside)
{
    static const char *const COLUMNS[] = {"Dry", "Wet", "Rise", "Oil, ml", "Rise by its room alone"};
    char name[16], dry[CH_SHOW_NUMBER], wet[CH_SHOW_NUMBER], rise[CH_SHOW_NUMBER], oil[CH_SHOW_NUMBER];
    char room[CH_SHOW_NUMBER], percent[CH_SHOW_NUMBER + 16];
    findings_open(f, "Dry against wet as a table");
    head(f, "Dry against wet", COLUMNS, 5);
    for (int c = 0; c < beside->cylinders; c++) {
        const ch_beside_cylinder *cylinder = &beside->cylinder[c];
        if (!isfinite(cylinder->wet_pa))
            continue;
        snprintf(name, sizeof name, "%d", c + 1);
        ch_show_number(100.0 * cylinder->volume_rise_1, 0, room);
        snprintf(percent, sizeof percent, isfinite(cylinder->volume_rise_1) ? "up to %s %%" : "%s", room);
        const char *const cells[] = {
            ch_show_pressure(cylinder->dry_pa, f->pressure, dry), ch_show_pressure(cylinder->wet_pa, f->pressure, wet),
            ch_show_wet_rise(cylinder, rise),
            ch_show_number(ch_unit_from_si(cylinder->oil_m3, ch_unit_find("ml", 2)), 0, oil), percent};
        row(f, name, cells, 5);
    }
    foot(f);
}

static void wet(const findings *f, const ch_beside *beside)
{
    ch_svg svg;
    html_lit(f->w, "<h2>Dry against wet</h2>\n"
                   "<p>Filled: dry. Hatched: with oil. Dots, where the dose is known: as far as the room that the oil "
                   "takes would lift a sound cylinder by itself. A rise well beyond the dots is the rings sealing; "
                   "hardly any rise points to valves or gasket.</p>\n<figure class=\"drawing\">");
    findings_drawing(f, &svg, ch_show_wet_svg(beside, f->pressure, &svg, NULL));
    html_lit(f->w, "</figure>\n");
    wet_table(f, beside);
}

void findings_beside(const findings *f)
{
    const ch_beside *beside = f->judged->beside;
    if (beside == NULL)
        return;
    if (ch_show_has_strokes(beside))
        strokes(f, beside);
    if (ch_show_has_wet(beside))
        wet(f, beside);
}

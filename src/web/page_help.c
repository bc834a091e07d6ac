/* GET /help: how to read the findings, and what stands behind the words. No parameters. */
#include "html_page.h"
#include "know.h"
#include "page.h"

static void term(html_writer *w, const char *word, const char *meaning)
{
    html_lit(w, "<dt>");
    html_text(w, word);
    html_lit(w, "</dt><dd>");
    html_text(w, meaning);
    html_lit(w, "</dd>\n");
}

static void verdicts(html_writer *w)
{
    html_lit(w, "<h2>The four verdicts</h2>\n<dl>\n");
    term(w, "Sound",
         "The readings are those of a sound engine, as far as such tests can tell. They speak of sealing only.");
    term(w, "Watch",
         "Nothing is proven. Test again after the hours that the findings name, under the same conditions.");
    term(w, "Fault", "Something is wrong with the engine. The causes say what, the checks how to make sure.");
    term(w, "Unclear", "The readings do not settle it. The questions and the next checks say what would.");
    html_lit(w, "</dl>\n");
}

static void words(html_writer *w)
{
    html_lit(w, "<h2>Words</h2>\n<dl>\n");
    term(w, "Reading",
         "What the gauge shows after the strokes, above the pressure of the air around (gauge pressure).");
    term(w, "First stroke",
         "What the needle reaches on the first compression. Worn rings start low and climb; a leaking valve starts low "
         "and stays low.");
    term(w, "Sound engine's band",
         "What nine of ten sound engines of this bore, stroke and compression ratio would show at this height, air, "
         "temperature and cranking speed, with this gauge.");
    term(
        w, "Standard day",
        "The reading brought to 101.325 kPa and air of 15 C (ISO 2533), an engine of 70 C, 220 r/min, 8 strokes and an "
        "open throttle, so that tests of different days compare. A manual's limits are held to the day of the test in "
        "the "
        "same way.");
    term(w, "Leak area",
         "One opening that would let out as much as all ways out together. Compression, wet and leak-down test share "
         "it.");
    term(w, "Wet test",
         "The same with a little oil in the cylinder: it seals rings for a while, not valves. The oil itself lifts the "
         "reading, "
         "which is taken out.");
    term(w, "Leak-down",
         "Air fed through an orifice with the piston at top dead centre: how much is lost, and where it is heard.");
    term(w, "Chance",
         "How likely something is once everything on the sheet is counted together. 80 % means: of ten such engines, "
         "eight.");
    term(w, "Bit", "One bit halves the doubt about the cause.");
    html_lit(w, "</dl>\n");
}

ch_status page_help_get(web_request *request, web_response *response, ch_err *err)
{
    const web_know *know = know_get(err);
    if (know == NULL)
        return CH_E_INPUT;
    html_writer *w = &response->page;
    html_page_open(w, request, "How to read the findings");
    html_lit(w, "<p>Each number on the findings page has its working behind a line that opens: what went in, the "
                "method by name, and "
                "the published source. docs/method.md has all of it.</p>\n");
    verdicts(w);
    words(w);
    html_lit(w, "<h2>Before any work</h2>\n<p>");
    html_text(w, know->knowledge.always);
    html_lit(w, "</p>\n<p>Cautions stand before the step that they belong to, with the signal words of ANSI Z535.4: "
                "DANGER, WARNING, CAUTION "
                "and NOTICE.</p>\n<p><a class=\"button second\" href=\"/sheets\">All sheets</a></p>\n<p><a "
                "class=\"button second\" href=\"/export\">Take out and bring in</a></p>\n");
    html_page_close(w);
    return CH_OK;
}

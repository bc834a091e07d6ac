/* A shopping list as a page of text. */
#include "shopping.h"

#include <math.h>
#include <stdio.h>

#include "crosshatch/show_jobs.h"
#include "crosshatch/show_words.h"

enum { FIRST = 128, RANGE = 3 * CH_SHOW_NUMBER + 16 };

static const char *const kind_titles[] = {
    [CH_GOODS_PART] = "Parts",
    [CH_GOODS_SEAL] = "Seals and gaskets, used once",
    [CH_GOODS_FASTENER] = "Fasteners, used once",
    [CH_GOODS_FLUID] = "Fluids",
    [CH_GOODS_CONSUMABLE] = "Used up",
};

/* A whole price without decimals, a broken one with two. */
static const char *price(double value, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(value, fabs(value - round(value)) < 0.005 ? 0 : 2, buffer);
}

static const char *count(double value, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(value, value == round(value) ? 0 : 1, buffer);
}

/* "390 (250 to 700)" */
static void range(const ch_price *sum, char text[RANGE])
{
    char likely[CH_SHOW_NUMBER], least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER];
    snprintf(text, RANGE, "%s (%s to %s)", price(sum->likely, likely), price(sum->least, least),
             price(sum->most, most));
}

static void goods_line(page *p, const ch_jobs *jobs, const ch_shopping_line *at)
{
    char certain[CH_SHOW_NUMBER], maybe[CH_SHOW_NUMBER], first[FIRST], sum[RANGE], more[FIRST] = "";
    const ch_goods *goods = &jobs->goods[at->goods];
    range(&at->sum, sum);
    snprintf(first, sizeof first, "  [ ] %4s x ", at->count > 0 ? count(at->count, certain) : "-");
    if (at->maybe_count > 0)
        snprintf(more, sizeof more, "; perhaps %s%s", count(at->maybe_count, maybe), at->count > 0 ? " more" : "");
    page_paragraphf(p, page_width(first), first, "%s: %s%s", goods->title, sum, more);
}

void shopping_lines(page *p, const ch_jobs *jobs, const ch_shopping *shopping)
{
    char sum[RANGE];
    int kind = -1;
    for (size_t i = 0; i < shopping->count; i++) {
        const ch_goods_kind of = jobs->goods[shopping->lines[i].goods].kind;
        if ((int)of != kind) {
            kind = (int)of;
            range(&shopping->kinds[kind], sum);
            page_paragraphf(p, 2, "  ", "%s: %s", kind_titles[kind], sum);
        }
        goods_line(p, jobs, &shopping->lines[i]);
    }
    range(&shopping->sum, sum);
    page_paragraphf(p, 2, "  ", "In all: %s %s", sum, jobs->currency);
    page_paragraphf(p, 2, "  ", "Likely price first, then least to most. Prices: %s. They are yours to change.",
                    jobs->price_source);
}

void ch_show_shopping(const ch_jobs *jobs, const ch_shopping *shopping, const ch_show_style *style, ch_text *text)
{
    page p = {.text = text, .columns = style->columns, .colour = style->colour};
    page_tone_text(&p, PAGE_STRONG, "Shopping list");
    ch_text_append_string(text, "\n");
    shopping_lines(&p, jobs, shopping);
}

/* A shopping list as a page of text. */
#include "shopping.h"

#include "crosshatch/show_jobs.h"

void shopping_lines(page *p, const ch_jobs *jobs, const ch_shopping *shopping)
{
    char sum[CH_SHOW_SENTENCE], count[CH_SHOW_SENTENCE];
    int kind = -1;
    for (size_t i = 0; i < shopping->count; i++) {
        const ch_shopping_line *line = &shopping->lines[i];
        const ch_goods *goods = &jobs->goods[line->goods];
        if ((int)goods->kind != kind) {
            kind = (int)goods->kind;
            page_paragraphf(p, 2, "  ", "%s: %s", ch_show_goods_kind(goods->kind),
                            ch_show_price(&shopping->kinds[kind], sum));
        }
        page_paragraphf(p, 8, "    [ ]", "%s: %s; %s", goods->title, ch_show_count(line, count),
                        ch_show_price(&line->sum, sum));
    }
    page_paragraphf(p, 2, "  ", "In all: %s %s", ch_show_price(&shopping->sum, sum), jobs->currency);
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

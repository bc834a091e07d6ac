/* A document as one HTML file. Everything that came in as text leaves escaped; drawings come from the SVG writer, which escapes too. */
#include <string.h>

#include "document_parts.h"

static const char HEAD[] =
    "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n";

static const char STYLE[] =
    "<style>\n"
    ":root{color-scheme:light}\n"
    "body{max-width:48rem;margin:0 auto;padding:1rem;background:#fff;color:#17212b;font:1rem/1.45 "
    "sans-serif;overflow-wrap:break-word}\n"
    "h1{font-size:1.6rem;line-height:1.2;margin:.5rem 0}\nh2{font-size:1.15rem;margin:1.4rem 0 "
    ".4rem;break-after:avoid}\n"
    "p{margin:.4rem 0}\nul{margin:.4rem 0;padding-left:1.3rem}\n"
    ".outcome{border:3px solid #17212b;padding:.6rem .8rem;margin:.8rem 0;break-inside:avoid}\n"
    ".outcome strong{display:block;font-size:1.3rem}\n"
    ".caution{border:2px solid #17212b;border-left-width:.6rem;padding:.4rem .7rem;margin:.5rem 0;break-inside:avoid}\n"
    ".tick{display:flex;gap:.6rem;margin:.5rem 0;break-inside:avoid}\n"
    ".tick>span:first-child{flex:none;width:1.1rem;height:1.1rem;border:2px solid #17212b;margin-top:.1rem}\n"
    ".tick small{display:block}\n"
    ".ticks{display:flex;gap:.6rem;margin:.3rem 0;break-inside:avoid}\n"
    ".ticks>span:first-child{flex:1}\n.ticks small{display:block}\n"
    ".boxes{flex:none;display:flex;gap:.15rem;align-items:flex-start}\n"
    ".boxes span{width:1.25rem;height:1.25rem;border:1px solid "
    "#17212b;text-align:center;font:.8rem/1.2rem sans-serif;color:#4b5866}\n.boxes i{width:.2rem}\n"
    ".columns{columns:2 19rem;column-gap:1.5rem}\n.columns h2{margin-top:.6rem}\n"
    ".drawings{display:flex;flex-wrap:wrap;gap:1rem;align-items:flex-end}\nfigure{margin:.5rem "
    "0;max-width:min(100%,22.5rem);break-inside:avoid}\n"
    "svg{max-width:100%;height:auto}\nfigcaption{font-size:.9rem}\n"
    ".wide{overflow-x:auto}\ntable{border-collapse:collapse;margin:.5rem "
    "0}\ncaption{text-align:left;font-weight:bold;padding:.2rem 0}\n"
    "th,td{border-bottom:1px solid #66717d;padding:.25rem .6rem .25rem 0;text-align:left;vertical-align:top}\n"
    "th.number,td.number{text-align:right;font-variant-numeric:tabular-nums}\ntd.number{white-space:nowrap}\ntr{break-"
    "inside:avoid}\n"
    "footer{border-top:1px solid #66717d;margin-top:1.5rem;padding-top:.4rem;font-size:.9rem}\n"
    "@media "
    "print{body{max-width:none;padding:0;font-size:10pt}figure{max-width:48%}.wide{overflow:visible}.new-page{break-"
    "before:page}"
    ".columns{columns:2;font-size:8pt;line-height:1.25}.columns h2{font-size:10pt;margin:.3rem 0 .1rem}"
    ".columns p,.columns .tick,.columns .ticks{margin:.1rem 0}.columns .caution{border-width:1px;border-left-width:3pt;"
    "padding:.1rem .3rem;margin:.15rem 0}.boxes span{width:9pt;height:9pt;font-size:6pt;line-height:8.5pt}}\n"
    "</style>\n";

static void escaped(ch_text *html, const char *words)
{
    for (const char *rest = words; *rest != '\0';) {
        const size_t plain = strcspn(rest, "&<>\"'");
        ch_text_append(html, rest, plain);
        rest += plain;
        switch (*rest) {
        case '&': ch_text_append_string(html, "&amp;"); break;
        case '<': ch_text_append_string(html, "&lt;"); break;
        case '>': ch_text_append_string(html, "&gt;"); break;
        case '"': ch_text_append_string(html, "&quot;"); break;
        case '\'': ch_text_append_string(html, "&#39;"); break;
        default: continue; /* the end */
        }
        rest++;
    }
}

static void element(ch_text *html, const char *open, const char *words, const char *close)
{
    ch_text_append_string(html, open);
    escaped(html, words);
    ch_text_append_string(html, close);
}

static void row(ch_text *html, const document_part *part, bool head)
{
    ch_text_append_string(html, head ? "<thead><tr>" : "<tr>");
    for (size_t c = 0; c < part->columns; c++) {
        const char *number = part->numbers[c] ? " class=\"number\"" : "";
        if (head)
            ch_text_appendf(html, "<th scope=\"col\"%s>", number);
        else if (c == 0)
            ch_text_appendf(html, "<th scope=\"row\"%s>", number);
        else
            ch_text_appendf(html, "<td%s>", number);
        element(html, "", part->cells[c], head || c == 0 ? "</th>" : "</td>");
    }
    ch_text_append_string(html, head ? "</tr></thead>\n<tbody>\n" : "</tr>\n");
}

/* What has to be open around a part of this kind: parts of a list, a table, a row of drawings follow each other. */
typedef enum around { AROUND_NOTHING, AROUND_LIST, AROUND_TABLE, AROUND_DRAWINGS } around;

static around around_of(const document_part *part)
{
    switch (part->kind) {
    case DOCUMENT_ITEM: return AROUND_LIST;
    case DOCUMENT_ROW: return AROUND_TABLE;
    case DOCUMENT_DRAWING: return AROUND_DRAWINGS;
    default: return AROUND_NOTHING;
    }
}

static void change(ch_text *html, around from, around to)
{
    static const char *const OPEN[] = {"", "<ul>\n", "", "<div class=\"drawings\">\n"};
    static const char *const CLOSE[] = {"", "</ul>\n", "</tbody></table></div>\n", "</div>\n"};
    if (from == to)
        return;
    ch_text_append_string(html, CLOSE[from]);
    ch_text_append_string(html, OPEN[to]);
}

static void boxes(ch_text *html, const document_part *part)
{
    element(html, "<div class=\"ticks\"><span>", part->words, "");
    if (part->more[0] != '\0')
        element(html, " <small>", part->more, "</small>");
    ch_text_append_string(html, "</span><span class=\"boxes\">");
    for (const char *at = part->boxes; *at != '\0'; at++) {
        const char letter[2] = {*at, '\0'};
        if (*at == ' ')
            ch_text_append_string(html, "<i></i>");
        else
            element(html, "<span>", letter, "</span>");
    }
    ch_text_append_string(html, "</span></div>\n");
}

static void one(ch_text *html, const document_part *part)
{
    switch (part->kind) {
    case DOCUMENT_HEADING: element(html, "<h2>", part->words, "</h2>\n"); break;
    case DOCUMENT_PARAGRAPH: element(html, "<p>", part->words, "</p>\n"); break;
    case DOCUMENT_ITEM: element(html, "<li>", part->words, "</li>\n"); break;
    case DOCUMENT_TICK:
        element(html, "<div class=\"tick\"><span></span><span>", part->words, "");
        if (part->more[0] != '\0')
            element(html, " <small>", part->more, "</small>");
        ch_text_append_string(html, "</span></div>\n");
        break;
    case DOCUMENT_BOXES: boxes(html, part); break;
    case DOCUMENT_COLUMNS: ch_text_append_string(html, part->two ? "<div class=\"columns\">\n" : "</div>\n"); break;
    case DOCUMENT_OUTCOME:
        element(html, "<p class=\"outcome\"><strong>", part->more, "</strong> ");
        element(html, "", part->words, "</p>\n");
        break;
    case DOCUMENT_CAUTION:
        element(html, "<p class=\"caution\"><strong>", ch_signal_word_name(part->signal), "</strong> ");
        element(html, "", part->words, part->more[0] != '\0' ? " " : "");
        element(html, "", part->more, "</p>\n");
        break;
    case DOCUMENT_DRAWING:
        ch_text_append_string(html, "<figure>");
        ch_text_append(html, part->more, part->length);
        if (part->words[0] != '\0')
            element(html, "<figcaption>", part->words, "</figcaption>");
        ch_text_append_string(html, "</figure>\n");
        break;
    case DOCUMENT_NEW_PAGE: ch_text_append_string(html, "<div class=\"new-page\"></div>\n"); break;
    case DOCUMENT_TABLE:
        ch_text_append_string(html, "<div class=\"wide\" tabindex=\"0\"><table>");
        if (part->words[0] != '\0')
            element(html, "<caption>", part->words, "</caption>");
        row(html, part, true);
        break;
    case DOCUMENT_ROW: row(html, part, false); break;
    }
}

ch_status ch_document_html(const ch_document *document, ch_text *html, ch_err *err)
{
    const ch_status rc = ch_document_check(document, err);
    if (rc < 0)
        return rc;
    ch_text_append_string(html, HEAD);
    element(html, "<title>", document->title, "</title>\n");
    ch_text_append_string(html, STYLE);
    element(html, "</head>\n<body>\n<main>\n<h1>", document->title, "</h1>\n");
    if (document->under[0] != '\0')
        element(html, "<p>", document->under, "</p>\n");
    around open = AROUND_NOTHING;
    for (size_t i = 0; i < document->count; i++) {
        const document_part *part = &document->part[i];
        change(html, open, around_of(part));
        one(html, part);
        /* The rows of a table find it open. */
        open = part->kind == DOCUMENT_TABLE ? AROUND_TABLE : around_of(part);
    }
    change(html, open, AROUND_NOTHING);
    ch_text_append_string(html, "</main>\n");
    if (document->foot[0] != '\0')
        element(html, "<footer>", document->foot, "</footer>\n");
    ch_text_append_string(html, "</body>\n</html>\n");
    return ch_text_check(html, err);
}

/*
 * Layout of a page of text.
 */
#include "page.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PARAGRAPH_MAXIMUM = 4096, WORD_MAXIMUM = 128 };

const ch_unit *ch_show_pressure_unit(const ch_sheet *sheet)
{
    const ch_unit *read = ch_sheet_reading_unit(sheet);
    if (read != NULL)
        return read;
    if (sheet->bare_unit[CH_DIM_PRESSURE] != NULL)
        return sheet->bare_unit[CH_DIM_PRESSURE];
    const ch_limits *limits = &sheet->engine.limits;
    const ch_quantity *said[] = {&limits->standard, &limits->minimum, &limits->spread, &sheet->gauge.span};
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
        if (ch_quantity_given(said[i]))
            return said[i]->unit;
    return ch_unit_find("kPa", 3);
}

void page_open(page *p, const ch_sheet *sheet, const ch_show_style *style, ch_text *text)
{
    *p = (page){.text = text,
                .columns = style->columns,
                .colour = style->colour,
                .pressure = style->pressure != NULL ? style->pressure : ch_show_pressure_unit(sheet)};
    p->decimals = ch_show_pressure_decimals(p->pressure);
}

void page_tone_text(page *p, page_tone tone, const char *string)
{
    static const char *const START[] = {
        [PAGE_PLAIN] = "",         [PAGE_STRONG] = "\033[1m", [PAGE_GOOD] = "\033[32m",
        [PAGE_DOUBT] = "\033[33m", [PAGE_BAD] = "\033[1;31m", [PAGE_FAINT] = "\033[2m",
    };
    const bool coloured = p->colour && tone != PAGE_PLAIN;
    if (coloured)
        ch_text_append_string(p->text, START[tone]);
    ch_text_append_string(p->text, string);
    if (coloured)
        ch_text_append_string(p->text, "\033[0m");
}

void page_heading(page *p, const char *heading)
{
    ch_text_append_string(p->text, "\n");
    page_tone_text(p, PAGE_STRONG, heading);
    ch_text_append_string(p->text, "\n");
}

int page_width(const char *string)
{
    int width = 0;
    for (const char *c = string; *c != '\0'; c++)
        if (((unsigned char)*c & 0xc0) != 0x80)
            width++;
    return width;
}

void page_paragraph_on(page *p, int indent, const char *words)
{
    int column = indent;
    bool begun = false;
    for (const char *c = words; *c != '\0';) {
        c += strspn(c, " \n");
        size_t length = strcspn(c, " \n");
        if (c[length] == ' ' && c[length + 1] == '%') /* a number keeps its % */
            length += 1 + strcspn(c + length + 1, " \n");
        char word[WORD_MAXIMUM];
        const size_t kept = length < sizeof word ? length : sizeof word - 1;
        memcpy(word, c, kept);
        word[kept] = '\0';
        c += kept;
        if (kept == 0)
            break;
        const int width = page_width(word);
        if (begun && column + 1 + width > p->columns) {
            ch_text_appendf(p->text, "\n%*s", indent, "");
            column = indent;
            begun = false;
        }
        ch_text_appendf(p->text, "%s%s", begun ? " " : "", word);
        column += width + (begun ? 1 : 0);
        begun = true;
    }
    ch_text_append_string(p->text, "\n");
}

void page_paragraph(page *p, int indent, const char *first, const char *words)
{
    const int width = page_width(first);
    ch_text_appendf(p->text, "%s%*s", first, indent > width ? indent - width : 0, "");
    page_paragraph_on(p, indent, words);
}

void page_paragraphf(page *p, int indent, const char *first, const char *format, ...)
{
    char words[PARAGRAPH_MAXIMUM];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words, sizeof words, format, arguments);
    va_end(arguments);
    page_paragraph(p, indent, first, words);
}

void page_paragraph_onf(page *p, int indent, const char *format, ...)
{
    char words[PARAGRAPH_MAXIMUM];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words, sizeof words, format, arguments);
    va_end(arguments);
    page_paragraph_on(p, indent, words);
}

const char *page_pressure(const page *p, double pressure_pa, char buffer[PAGE_NUMBER])
{
    return ch_show_pressure(pressure_pa, p->pressure, buffer);
}

const char *page_pressure_named(const page *p, double pressure_pa, char buffer[PAGE_NUMBER])
{
    return ch_show_pressure_named(pressure_pa, p->pressure, buffer);
}

/* The step between a scale's numbers: 1, 2, 2.5 or 5 times a power of ten. */
static double round_step(double least)
{
    const double power = pow(10.0, floor(log10(least)));
    static const double STEPS[] = {1.0, 2.0, 2.5, 5.0};
    for (size_t i = 0; i < sizeof STEPS / sizeof STEPS[0]; i++)
        if (STEPS[i] * power >= least * (1.0 - 1e-12))
            return STEPS[i] * power;
    return 10.0 * power;
}

page_scale page_scale_for(const page *p, double most_pa, int width)
{
    const double most = fmax(ch_unit_from_si(most_pa, p->pressure), ch_unit_from_si(1e3, p->pressure));
    const double step = round_step(most / 5.0);
    const int parts = (int)ceil(most / step - 1e-9);
    return (page_scale){
        .top_pa = ch_unit_to_si(step * parts, p->pressure), .step = step, .parts = parts, .width = width};
}

int page_cell(const page_scale *scale, double pressure_pa)
{
    if (!(pressure_pa > 0.0))
        return 0;
    const double cell = floor(pressure_pa / scale->top_pa * scale->width);
    return cell < scale->width ? (int)cell : scale->width - 1;
}

void page_scale_line(page *p, const page_scale *scale, int indent)
{
    char line[PAGE_BAR_MAXIMUM + PAGE_NUMBER];
    memset(line, ' ', sizeof line);
    int decimals = 0;
    for (double step = scale->step; fabs(step - round(step)) > 1e-6 && decimals < 6; step *= 10.0)
        decimals++;
    int end = 0;
    for (int i = 0; i <= scale->parts; i++) {
        char number[PAGE_NUMBER];
        const int length = (int)strlen(ch_show_number(i * scale->step, decimals, number));
        int at = i * scale->width / scale->parts - length / 2;
        at = at < 0 ? 0 : at;
        if (at + length > (int)sizeof line)
            break;
        memcpy(line + at, number, (size_t)length);
        end = at + length;
    }
    ch_text_appendf(p->text, "%*s%.*s %s\n", indent, "", end, line, p->pressure->name);
}

void page_cautions(page *p, int indent, const ch_knowledge *knowledge, const ch_places *cautions, bool *shown)
{
    static const page_tone TONE[] = {
        [CH_SIGNAL_DANGER] = PAGE_BAD,
        [CH_SIGNAL_WARNING] = PAGE_BAD,
        [CH_SIGNAL_CAUTION] = PAGE_DOUBT,
        [CH_SIGNAL_NOTICE] = PAGE_STRONG,
    };
    for (size_t i = 0; i < cautions->count; i++) {
        const size_t at = cautions->at[i];
        const ch_knowledge_caution *caution = &knowledge->cautions[at];
        char word[32];
        snprintf(word, sizeof word, "%*s%-8s ", indent, "", ch_signal_word_name(caution->word));
        page_tone_text(p, TONE[caution->word], word);
        /* The word stands in the first column of the paragraph already. */
        if (shown[at])
            page_paragraph_on(p, page_width(word), caution->hazard);
        else
            page_paragraph_onf(p, page_width(word), "%s %s %s", caution->hazard, caution->consequence,
                               caution->precaution);
        shown[at] = true;
    }
}

void page_assumed(page *p, const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input))
{
    page_heading(p, "Assumed, because the sheet does not say");
    bool any = false;
    for (int input = 0; input < CH_INPUT_COUNT; input++) {
        if (!assumed[input] || !takes_part((ch_input)input))
            continue;
        char first[64];
        snprintf(first, sizeof first, "  %s", ch_input_name((ch_input)input));
        page_paragraph(p, 24, first, ch_input_reason((ch_input)input));
        any = true;
    }
    if (!any)
        page_paragraph(p, 2, "  ", "Nothing: the sheet gives it all.");
}

void page_assumed_names(page *p, const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input))
{
    char names[1024] = "";
    size_t used = 0;
    for (int input = 0; input < CH_INPUT_COUNT && used + 64 < sizeof names; input++)
        if (assumed[input] && takes_part((ch_input)input))
            used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", used > 0 ? ", " : "",
                                     ch_input_name((ch_input)input));
    if (used == 0)
        return;
    page_heading(p, "Assumed, because the sheet does not say (--working gives the reasons)");
    page_paragraph(p, 2, "  ", names);
}

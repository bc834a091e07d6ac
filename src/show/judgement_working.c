/* Where every number of a judgement comes from: what went in, the method, the published source. The formulas stand in docs/method.md. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "judgement_parts.h"

/* The dry readings of a cylinder as they were written, with their lines. */
static void readings(page *p, const ch_sheet *sheet, const ch_judged_cylinder *cylinder)
{
    char list[1024] = "", typed[96];
    size_t used = 0;
    for (size_t i = 0; i < sheet->compression_count && used + 128 < sizeof list; i++) {
        if (sheet->compression[i].cylinder != cylinder->cylinder)
            continue;
        ch_quantity_text(&sheet->compression[i].reading, typed, sizeof typed);
        used += (size_t)snprintf(list + used, sizeof list - used, "%s%s (line %ld)", used > 0 ? ", " : "", typed,
                                 sheet->compression[i].line);
    }
    char mean[PAGE_NUMBER], sd[PAGE_NUMBER], u[PAGE_NUMBER], gauge[PAGE_NUMBER], df[PAGE_NUMBER];
    const int finer = p->decimals + 1;
    if (cylinder->n > 0)
        page_paragraphf(
            p, 6, "    -",
            "Cylinder %d: read %s; mean %s, spread of repeats %s, u %s with %s degrees of freedom, %s with the gauge.",
            cylinder->cylinder, list, ch_show_number(ch_unit_from_si(cylinder->mean_pa, p->pressure), finer, mean),
            ch_show_number(cylinder->sd_pa / p->pressure->factor, finer, sd),
            ch_show_number(cylinder->u_pa / p->pressure->factor, finer, u), ch_show_freedom(cylinder->df, df),
            ch_show_number(cylinder->u_with_gauge_pa / p->pressure->factor, finer, gauge));
}

static void means(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    char sd[PAGE_NUMBER], df[PAGE_NUMBER];
    page_paragraph(p, 4, "  -", ch_show_method(CH_SHOW_MEANS));
    page_paragraphf(p, 4, "  -", "Repeatability: %s %s, %s degrees of freedom, %s.",
                    ch_show_number(judgement->pooled_sd_pa / p->pressure->factor, p->decimals + 1, sd),
                    p->pressure->name, ch_show_freedom(judgement->pooled_df, df),
                    judgement->pooled_assumed ? "assumed, because nothing was read twice"
                                              : "pooled over the cylinders");
    for (int c = 0; c < judgement->cylinders; c++)
        readings(p, judged->sheet, &judgement->cylinder[c]);
}

static void trace_lines(page *p, const ch_show_judged *judged)
{
    const ch_trace *trace = &judged->judgement->trace;
    char effective[PAGE_NUMBER], error[PAGE_NUMBER], shift[PAGE_NUMBER];
    page_paragraphf(p, 4, "  -",
                    "%s Effective samples: %s. Standard error of the chances from the drawing: %s at most.",
                    ch_show_method(CH_SHOW_TRACE), ch_show_number(trace->effective_samples, 0, effective),
                    ch_show_number(ch_trace_drawing_error_1(trace), 3, error));
    for (int doubt = 0; doubt < CH_DOUBT_COUNT; doubt++)
        if (fabs(trace->shared_shift[doubt]) >= CH_SHOW_SHIFT_1)
            page_paragraphf(p, 6, "    -", "The tests move the %s by %s of its standard uncertainties.",
                            ch_doubt_name((ch_doubt)doubt), ch_show_number(trace->shared_shift[doubt], 1, shift));
}

void judgement_working(page *p, const ch_show_judged *judged)
{
    const ch_judgement *judgement = judged->judgement;
    page_heading(p, "Working");
    means(p, judged);
    page_paragraphf(p, 4, "  -", "%s Random streams from seed %llu.", ch_show_method(CH_SHOW_BALANCE),
                    (unsigned long long)judged->options->seed);
    for (int i = 0; i < CH_RULE_COUNT; i++)
        if (judgement->rule[i].applies)
            page_paragraphf(p, 6, "    -", "%s: %s", judgement->rule[i].id, judgement->rule[i].source);
    page_paragraph(p, 4, "  -", ch_show_method(CH_SHOW_STANDARD_DAY));
    trace_lines(p, judged);
    for (size_t i = 0; i < judgement->trace.next_check_count; i++)
        page_paragraphf(p, 6, "    -", "%s: %s", judgement->trace.next_check[i].check->id,
                        judgement->trace.next_check[i].check->source);
}

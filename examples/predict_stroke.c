/*
 * What a gauge shows stroke by stroke, with and without a leak: the cranking model by itself, every input in sight.
 *
 *     cc predict_stroke.c $(pkg-config --cflags --libs crosshatch) -o predict_stroke
 */
#include <crosshatch/predict.h>
#include <crosshatch/sheet.h>
#include <stdio.h>
#include <string.h>

/* A sheet is the shortest way to an engine: what it does not say gets its stated default. */
static const char SHEET[] = "sheet: 1\n"
                            "engine: {cylinders: 2, bore: 80.5 mm, stroke: 88 mm, compression_ratio: 9.6}\n"
                            "conditions: {cranking_speed: 220 rpm, strokes: 8}\n"
                            "leaks:\n"
                            "  - {cylinder: 2, exhaust_valve: 1 mm2}\n";

int main(void)
{
    ch_err err = {0};
    ch_sheet sheet;
    ch_prediction prediction;
    char line[1024];
    ch_status rc = ch_sheet_parse("example", SHEET, strlen(SHEET), &sheet, &err);
    if (rc >= 0) {
        rc = ch_predict(&sheet, &prediction, &err);
        ch_sheet_clear(&sheet);
    }
    if (rc < 0) {
        ch_err_format(&err, line, sizeof line);
        fprintf(stderr, "%s\n", line);
        return 1;
    }
    for (int c = 0; c < prediction.cylinders; c++) {
        printf("cylinder %d, kPa:", c + 1);
        for (int stroke = 0; stroke < prediction.strokes; stroke++)
            printf(" %.0f", prediction.gauge_pa[c][stroke] / 1e3);
        printf("\n");
    }
    return 0;
}

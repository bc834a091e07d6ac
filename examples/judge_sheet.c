/*
 * Judges a test sheet and prints one line a cylinder.
 *
 *     cc judge_sheet.c $(pkg-config --cflags --libs crosshatch) -o judge_sheet
 *     ./judge_sheet SHEET
 */
#include <crosshatch/judge.h>
#include <crosshatch/knowledge.h>
#include <crosshatch/sheet.h>
#include <stdio.h>
#include <stdlib.h>

static char *read_whole(const char *name, size_t *length)
{
    FILE *file = fopen(name, "rb");
    char *text = malloc(CH_SHEET_BYTES_MAX);
    if (file != NULL && text != NULL)
        *length = fread(text, 1, CH_SHEET_BYTES_MAX, file);
    if (file == NULL || text == NULL || ferror(file)) {
        free(text);
        text = NULL;
    }
    if (file != NULL)
        fclose(file);
    return text;
}

static ch_status judge(const char *name, const char *text, size_t length, ch_judgement *judgement, ch_err *err)
{
    ch_sheet sheet;
    ch_knowledge knowledge = {0};
    ch_status rc = ch_sheet_parse(name, text, length, &sheet, err);
    if (rc < 0)
        return rc;
    rc = ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), err);
    if (rc >= 0) {
        const ch_judge_options options = {.seed = 1, .rule = CH_RULE_75_PERCENT};
        rc = ch_judge(&sheet, &knowledge, &options, judgement, err);
        ch_knowledge_clear(&knowledge);
    }
    ch_sheet_clear(&sheet);
    return rc;
}

int main(int count, char **arguments)
{
    ch_err err = {0};
    char line[1024];
    size_t length = 0;
    char *text = count == 2 ? read_whole(arguments[1], &length) : NULL;
    ch_judgement *judgement = malloc(sizeof *judgement);
    if (text == NULL || judgement == NULL) {
        fprintf(stderr, "usage: judge_sheet SHEET\n");
        free(text);
        free(judgement);
        return 2;
    }
    const ch_status rc = judge(arguments[1], text, length, judgement, &err);
    if (rc < 0) {
        ch_err_format(&err, line, sizeof line);
        fprintf(stderr, "%s\n", line);
    } else {
        printf("%s\n", ch_verdict_name(judgement->verdict));
        for (int c = 0; c < judgement->cylinders; c++)
            printf("cylinder %d: %.0f kPa, leak area %.2f mm2, sound with a chance of %.0f %%\n",
                   judgement->cylinder[c].cylinder, judgement->cylinder[c].mean_pa / 1e3,
                   judgement->cylinder[c].leak_area_m2[1] * 1e6,
                   100.0 * judgement->trace.cylinder[c].cause_1[CH_CAUSE_SOUND]);
    }
    free(judgement);
    free(text);
    return rc < 0 ? 3 : 0;
}

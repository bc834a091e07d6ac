/*
 * Chooses from invented programs in the shape of a winter plan, cut short after one branching, four, sixteen and more, and prints as JSON how far the search had
 * come: so that recorded.py sees when it goes another way. A part of the tests, not of the program.
 */
#include <stdio.h>
#include <stdlib.h>

#include "random_program.h"

static const struct {
    const char *name;
    size_t jobs, steps;
    program_kind kind;
    int count;
} FAMILIES[] = {
    {"mixed", 30, 20, PROGRAM_MIXED, 8},
    {"round", 30, 14, PROGRAM_ROUND, 6},
    {"alike", 40, 24, PROGRAM_ALIKE, 8},
    {"tight", 24, 12, PROGRAM_TIGHT, 8},
    {"tight, more than a word of bits", 60, 12, PROGRAM_TIGHT, 2},
    {"jobs alone", 40, 0, PROGRAM_ALIKE, 4},
};
static const int64_t BRANCHINGS[] = {1, 4, 16, 400};

static int search(program *p, const char *name, int number, const char *comma)
{
    bool chosen[ITEMS_MAX];
    ch_selected selected;
    ch_err err = {0};
    printf("%s\n \"%s %d\": [", comma, name, number);
    for (size_t k = 0; k < sizeof BRANCHINGS / sizeof BRANCHINGS[0]; k++) {
        p->task.nodes_max = BRANCHINGS[k];
        if (ch_select(&p->task, chosen, &selected, &err) < 0) {
            fprintf(stderr, "%s\n", err.what);
            return 1;
        }
        printf("%s{\"gain\": %lld, \"gain_at_most\": %lld, \"money\": %lld, \"work\": %lld, \"branchings\": %lld}",
               k > 0 ? ", " : "", (long long)selected.gain, (long long)selected.gain_at_most, (long long)selected.money,
               (long long)selected.work, (long long)selected.nodes);
    }
    printf("]");
    return 0;
}

int main(void)
{
    program *p = malloc(sizeof *p);
    int failed = p == NULL;
    printf("{");
    for (size_t f = 0; !failed && f < sizeof FAMILIES / sizeof FAMILIES[0]; f++)
        for (int n = 0; !failed && n < FAMILIES[f].count; n++) {
            ch_stream stream;
            ch_stream_init(&stream, 300 + f, (uint64_t)n);
            make_program(p, &stream, FAMILIES[f].jobs, FAMILIES[f].steps, FAMILIES[f].kind, n % 4 == 3);
            failed = search(p, FAMILIES[f].name, n, f + (size_t)n > 0 ? "," : "");
        }
    printf("\n}\n");
    free(p);
    return failed;
}

/*
 * Reader of discrete Bayesian networks in the BIF text format (as much of it as the networks in tests/data/bayes-nets use), and the chance
 * of one assignment. A row of a table is found by its label, never by its place. A file that breaks a rule fails the test, so that no check
 * can pass by not running.
 */
#ifndef CROSSHATCH_TESTS_BIF_H
#define CROSSHATCH_TESTS_BIF_H

#include <ctype.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "expect.h"

enum { BIF_NODES = 40, BIF_STATES = 4, BIF_PARENTS = 4, BIF_ROWS = 256, BIF_NAME = 32 };

typedef struct bif_node {
    char name[BIF_NAME];
    char state[BIF_STATES][BIF_NAME];
    int states;
    int parent[BIF_PARENTS], parents;
    int rows; /* combinations of the parents' states, the first parent slowest; 0 = no table met yet */
    double table[BIF_ROWS][BIF_STATES];
} bif_node;

typedef struct bif {
    int nodes;
    bif_node node[BIF_NODES];
    int order[BIF_NODES]; /* parents before children */
} bif;

/* Next token: a word, or one of { } ( ) [ ] , ; | alone. Empty at the end. */
static inline void bif_token(const char **at, char token[BIF_NAME])
{
    size_t length = 0;
    while (isspace((unsigned char)**at))
        (*at)++;
    if (**at != '\0' && strchr("{}()[],;|", **at) != NULL) {
        token[length++] = *(*at)++;
    } else {
        while (**at != '\0' && !isspace((unsigned char)**at) && strchr("{}()[],;|", **at) == NULL) {
            assert_true(length + 1 < BIF_NAME);
            token[length++] = *(*at)++;
        }
    }
    token[length] = '\0';
}

static inline void bif_want(const char **at, const char *want)
{
    char token[BIF_NAME];
    bif_token(at, token);
    if (strcmp(token, want) != 0)
        print_error("\"%s\" where \"%s\" belongs\n", token, want);
    assert_string_equal(token, want);
}

static inline int bif_find(const bif *net, const char *name)
{
    for (int i = 0; i < net->nodes; i++)
        if (strcmp(net->node[i].name, name) == 0)
            return i;
    print_error("no variable %s\n", name);
    _fail(__FILE__, __LINE__);
    return 0;
}

static inline int bif_state(const bif_node *node, const char *name)
{
    for (int i = 0; i < node->states; i++)
        if (strcmp(node->state[i], name) == 0)
            return i;
    print_error("%s has no state %s\n", node->name, name);
    _fail(__FILE__, __LINE__);
    return 0;
}

/* variable NAME { type discrete [ N ] { a, b }; } */
static inline void bif_variable(bif *net, const char **at)
{
    char token[BIF_NAME];
    assert_true(net->nodes < BIF_NODES);
    bif_node *node = &net->node[net->nodes++];
    bif_token(at, node->name);
    bif_want(at, "{");
    bif_want(at, "type");
    bif_want(at, "discrete");
    bif_want(at, "[");
    bif_token(at, token);
    const long states = strtol(token, NULL, 10);
    assert_true(states >= 2 && states <= BIF_STATES);
    bif_want(at, "]");
    for (node->states = 0; node->states < states; node->states++) {
        bif_want(at, node->states == 0 ? "{" : ",");
        bif_token(at, node->state[node->states]);
    }
    bif_want(at, "}");
    bif_want(at, ";");
    bif_want(at, "}");
}

/* "p, q, r;" of one row; they add up to 1 as far as the digits of the file go (thirds are printed with seven). */
static inline void bif_row(const bif_node *node, const char **at, double row[BIF_STATES])
{
    double sum = 0.0;
    for (int s = 0; s < node->states; s++) {
        char token[BIF_NAME], *end = NULL;
        bif_token(at, token);
        row[s] = strtod(token, &end);
        assert_true(end != token && *end == '\0' && row[s] >= 0.0 && row[s] <= 1.0);
        sum += row[s];
        bif_want(at, s + 1 < node->states ? "," : ";");
    }
    expect_close(sum, 1.0, 2e-7);
}

/* probability ( NAME | P, Q ) { table ...; } or { (p, q) ...; } */
static inline void bif_probability(bif *net, const char **at)
{
    char token[BIF_NAME];
    bif_want(at, "(");
    bif_token(at, token);
    bif_node *node = &net->node[bif_find(net, token)];
    assert_int_equal(node->rows, 0); /* one table a variable */
    node->rows = 1;
    bif_token(at, token);
    while (strcmp(token, ")") != 0) {
        assert_string_equal(token, node->parents == 0 ? "|" : ",");
        assert_true(node->parents < BIF_PARENTS);
        bif_token(at, token);
        const int parent = bif_find(net, token);
        node->parent[node->parents++] = parent;
        node->rows *= net->node[parent].states;
        bif_token(at, token);
    }
    assert_true(node->rows <= BIF_ROWS);
    bif_want(at, "{");
    bool met[BIF_ROWS] = {false};
    for (int r = 0; r < node->rows; r++) {
        int row = 0;
        if (node->parents == 0)
            bif_want(at, "table");
        for (int p = 0; p < node->parents; p++) {
            bif_want(at, p == 0 ? "(" : ",");
            bif_token(at, token);
            const bif_node *parent = &net->node[node->parent[p]];
            row = row * parent->states + bif_state(parent, token);
        }
        if (node->parents > 0)
            bif_want(at, ")");
        assert_false(met[row]); /* so that as many rows as there are combinations are all of them */
        met[row] = true;
        bif_row(node, at, node->table[row]);
    }
    bif_want(at, "}");
}

/* Parents before children; a loop leaves nodes that never become ready. */
static inline void bif_sort(bif *net)
{
    bool placed[BIF_NODES] = {false};
    for (int count = 0; count < net->nodes;) {
        const int before = count;
        for (int i = 0; i < net->nodes; i++) {
            bool ready = !placed[i];
            for (int p = 0; p < net->node[i].parents; p++)
                ready = ready && placed[net->node[i].parent[p]];
            if (ready) {
                net->order[count++] = i;
                placed[i] = true;
            }
        }
        assert_true(count > before);
    }
}

/* The caller frees the network. */
static inline bif *bif_parse(const char *text)
{
    bif *net = calloc(1, sizeof *net);
    assert_non_null(net);
    char token[BIF_NAME];
    bif_want(&text, "network");
    bif_token(&text, token);
    bif_want(&text, "{");
    bif_want(&text, "}");
    for (bif_token(&text, token); token[0] != '\0'; bif_token(&text, token)) {
        if (strcmp(token, "variable") == 0) {
            bif_variable(net, &text);
        } else {
            assert_string_equal(token, "probability");
            bif_probability(net, &text);
        }
    }
    for (int i = 0; i < net->nodes; i++)
        assert_true(net->node[i].rows > 0);
    bif_sort(net);
    return net;
}

/* Reads tests/data/bayes-nets/NAME.bif. */
static inline bif *bif_read(const char *name)
{
    enum { MOST = 64 * 1024 };
    const char *root = getenv("CROSSHATCH_SOURCE");
    assert_non_null(root);
    char path[1024];
    snprintf(path, sizeof path, "%s/tests/data/bayes-nets/%s.bif", root, name);
    FILE *file = fopen(path, "r");
    if (file == NULL)
        print_error("cannot open %s\n", path);
    assert_non_null(file);
    char *text = calloc(1, MOST + 1);
    assert_non_null(text);
    const size_t length = fread(text, 1, MOST, file);
    fclose(file);
    assert_true(length > 0 && length < MOST);
    bif *net = bif_parse(text);
    free(text);
    return net;
}

/* Chances of a node's states, given its parents' states in an assignment. */
static inline const double *bif_chances(const bif *net, int node, const int state[])
{
    const bif_node *n = &net->node[node];
    int row = 0;
    for (int p = 0; p < n->parents; p++)
        row = row * net->node[n->parent[p]].states + state[n->parent[p]];
    return n->table[row];
}

#endif

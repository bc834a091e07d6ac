/*
 * Heaviest closed set by a minimum cut (Picard, Management Science 22 (1976) 1268): the source feeds what has positive weight, what has
 * negative weight drains to the sink, implications carry any amount. What the source still reaches when the flow is greatest is the set.
 * Greatest flow after Dinic (Soviet Math. Dokl. 11 (1970) 1277).
 */
#include "closure.h"

#include <stdlib.h>
#include <string.h>

#define ANY_AMOUNT (INT64_MAX / 4)

static void add_arc(closure *graph, size_t from, size_t to, int64_t room)
{
    const size_t a = graph->next[from]++, b = graph->next[to]++;
    graph->to[a] = to;
    graph->to[b] = from;
    graph->twin[a] = b;
    graph->twin[b] = a;
    graph->room[a] = room;
}

bool closure_init(closure *graph, size_t count, const size_t from[], const size_t to[], size_t arcs)
{
    const size_t nodes = count + 2, ends = 2 * (arcs + 2 * count), source = count, sink = count + 1;
    *graph = (closure){.count = count, .ends = ends};
    graph->first = calloc(nodes + 1, sizeof *graph->first);
    graph->to = calloc(ends + 1, sizeof *graph->to);
    graph->twin = calloc(ends + 1, sizeof *graph->twin);
    graph->room = calloc(ends + 1, sizeof *graph->room);
    graph->left = calloc(ends + 1, sizeof *graph->left);
    graph->level = calloc(nodes, sizeof *graph->level);
    graph->queue = calloc(nodes, sizeof *graph->queue);
    graph->next = calloc(nodes, sizeof *graph->next);
    if (graph->first == NULL || graph->to == NULL || graph->twin == NULL || graph->room == NULL ||
        graph->left == NULL || graph->level == NULL || graph->queue == NULL || graph->next == NULL) {
        closure_clear(graph);
        return false;
    }
    for (size_t i = 0; i < count; i++)
        graph->first[i + 1] = 2;
    graph->first[source + 1] = graph->first[sink + 1] = count;
    for (size_t a = 0; a < arcs; a++) {
        graph->first[from[a] + 1]++;
        graph->first[to[a] + 1]++;
    }
    for (size_t node = 0; node < nodes; node++)
        graph->first[node + 1] += graph->first[node];
    memcpy(graph->next, graph->first, nodes * sizeof *graph->next);
    for (size_t i = 0; i < count; i++) { /* so that the first two arcs of an item are those of source and sink */
        add_arc(graph, source, i, 0);
        add_arc(graph, i, sink, 0);
    }
    for (size_t a = 0; a < arcs; a++)
        add_arc(graph, from[a], to[a], ANY_AMOUNT);
    return true;
}

void closure_clear(closure *graph)
{
    free(graph->first);
    free(graph->to);
    free(graph->twin);
    free(graph->room);
    free(graph->left);
    free(graph->level);
    free(graph->queue);
    free(graph->next);
    *graph = (closure){0};
}

static size_t source_arc(const closure *graph, size_t item)
{
    return graph->twin[graph->first[item]];
}

static size_t sink_arc(const closure *graph, size_t item)
{
    return graph->first[item] + 1;
}

/*
 * Distance from the source of all that it still reaches; true where the sink is among them, and then only of what is no farther: a shortest path
 * goes through nothing else.
 */
static bool measure_levels(closure *graph)
{
    const size_t source = graph->count, sink = graph->count + 1;
    for (size_t node = 0; node < graph->count + 2; node++)
        graph->level[node] = -1;
    size_t head = 0, tail = 0;
    graph->queue[tail++] = source;
    graph->level[source] = 0;
    while (head < tail) {
        const size_t node = graph->queue[head++];
        for (size_t a = graph->first[node]; a < graph->first[node + 1]; a++) {
            const size_t to = graph->to[a];
            if (graph->left[a] <= 0 || graph->level[to] >= 0)
                continue;
            graph->level[to] = graph->level[node] + 1;
            if (to == sink)
                return true;
            graph->queue[tail++] = to;
        }
    }
    return false;
}

/* Fill one path to the sink that goes up a level with every arc. No recursion: a path may be as long as the graph. */
static int64_t send_one_path(closure *graph)
{
    const size_t source = graph->count, sink = graph->count + 1;
    size_t *path = graph->queue; /* arcs */
    size_t length = 0, node = source;
    while (node != sink) {
        size_t *a = &graph->next[node];
        while (*a < graph->first[node + 1] &&
               (graph->left[*a] <= 0 || graph->level[graph->to[*a]] != graph->level[node] + 1))
            (*a)++;
        if (*a < graph->first[node + 1]) {
            path[length++] = *a;
            node = graph->to[*a];
        } else if (length == 0) {
            return 0;
        } else {
            node = graph->to[graph->twin[path[--length]]];
            graph->next[node]++;
        }
    }
    int64_t amount = ANY_AMOUNT;
    for (size_t i = 0; i < length; i++)
        if (graph->left[path[i]] < amount)
            amount = graph->left[path[i]];
    for (size_t i = 0; i < length; i++) {
        graph->left[path[i]] -= amount;
        graph->left[graph->twin[path[i]]] += amount;
    }
    return amount;
}

int64_t closure_solve(closure *graph, const int64_t weight[], const signed char fixed[], signed char in[],
                      int64_t slack[])
{
    int64_t positive = 0, flow = 0;
    memcpy(graph->left, graph->room, graph->ends * sizeof *graph->left);
    for (size_t i = 0; i < graph->count; i++) {
        if (fixed[i] >= 0)
            continue;
        if (weight[i] > 0) {
            graph->left[source_arc(graph, i)] = weight[i];
            positive += weight[i];
        } else {
            graph->left[sink_arc(graph, i)] = -weight[i];
        }
    }
    while (measure_levels(graph)) {
        memcpy(graph->next, graph->first, (graph->count + 2) * sizeof *graph->next);
        for (int64_t sent = send_one_path(graph); sent > 0; sent = send_one_path(graph))
            flow += sent;
    }
    for (size_t i = 0; i < graph->count; i++) {
        if (fixed[i] >= 0)
            continue;
        in[i] = graph->level[i] >= 0;
        slack[i] = graph->left[in[i] ? source_arc(graph, i) : sink_arc(graph, i)];
    }
    return positive - flow;
}

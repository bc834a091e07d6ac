/* The sampling machinery against discrete networks whose posteriors are known: what weighs and resamples the draws of an engine here weighs
 * and resamples those of published networks, and both the posterior and the chance of the evidence must come out within the Monte Carlo
 * error. Sources of the networks and of the stored posteriors: tests/data/bayes-nets/SOURCE.md. All seeds are fixed.
 *
 * Likelihood weighting: Fung and Chang, Shachter and Peot, both Proc. Uncertainty in AI 5 (1989); Russell and Norvig, Artificial
 * Intelligence, chapter on probabilistic reasoning. Its errors: Owen, Monte Carlo theory, methods and examples, 2013, section 9.2. */
#include "bif.h"
#include "crosshatch/sampling.h"
#include "table.h"

static const char *const ALL[] = {"asia", "earthquake", "aima_burglary", "alarm"};
static const char *const SMALL[] = {"asia", "earthquake", "aima_burglary"};

/* State of every node that is known; -1 = not. From "node=state node=state". */
static void evidence_from_text(const bif *net, const char *text, int evidence[])
{
    for (int i = 0; i < net->nodes; i++)
        evidence[i] = -1;
    char word[2 * BIF_NAME];
    int used = 0;
    while (sscanf(text, " %63[^ ]%n", word, &used) == 1) {
        text += used;
        char *equals = strchr(word, '=');
        assert_non_null(equals);
        *equals = '\0';
        const int node = bif_find(net, word);
        evidence[node] = bif_state(&net->node[node], equals + 1);
    }
}

/* ---- By enumeration ---- */

enum { ENUMERATED_MAX = 256 };

/* Log chances of all assignments that agree with what is known, through the log-sum-exp. -infinity where none can be. */
static double log_chance_of(const bif *net, const int evidence[])
{
    double log_joint[ENUMERATED_MAX];
    size_t n = 0;
    int combinations = 1;
    for (int i = 0; i < net->nodes; i++)
        combinations *= net->node[i].states;
    assert_true(combinations <= ENUMERATED_MAX);
    for (int c = 0; c < combinations; c++) {
        int state[BIF_NODES];
        int left = c;
        bool agrees = true;
        for (int i = 0; i < net->nodes; i++) {
            state[i] = left % net->node[i].states;
            left /= net->node[i].states;
            agrees = agrees && (evidence[i] < 0 || evidence[i] == state[i]);
        }
        if (!agrees)
            continue;
        log_joint[n] = 0.0;
        for (int i = 0; i < net->nodes; i++)
            log_joint[n] += log(bif_chances(net, i, state)[state[i]]);
        n++;
    }
    return ch_log_sum_exp(log_joint, n);
}

static double enumerated(const bif *net, const char *query, const char *state, const char *known)
{
    int evidence[BIF_NODES];
    evidence_from_text(net, known, evidence);
    const double without = log_chance_of(net, evidence);
    const int node = bif_find(net, query);
    evidence[node] = bif_state(&net->node[node], state);
    return exp(log_chance_of(net, evidence) - without);
}

static void enumeration_through_log_sum_exp_gives_the_stored_posteriors(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof SMALL / sizeof SMALL[0]; k++) {
        bif *net = bif_read(SMALL[k]);
        char name[96];
        snprintf(name, sizeof name, "bayes-nets/%s_posteriors.csv", SMALL[k]);
        table *t = table_read(name);
        for (int row = 1; row < t->rows; row++) {
            const char *known = table_text(t, row, "evidence");
            int evidence[BIF_NODES];
            evidence_from_text(net, known, evidence);
            /* Stored with twelve digits. */
            expect_relative(exp(log_chance_of(net, evidence)), table_number(t, row, "evidence_probability"), 1e-11);
            expect_relative(enumerated(net, table_text(t, row, "query"), table_text(t, row, "state"), known),
                            table_number(t, row, "probability"), 1e-11);
        }
        free(t);
        free(net);
    }
}

/* Lauritzen and Spiegelhalter, J. Royal Statistical Society B 50 (1988) 157, their "Asia" example: marginal chances before any evidence, to
 * the digits printed there. With asia and dyspnoea known: the worked example in the documentation of the R package gRain, all digits as
 * printed. Both from memory. */
static void asia_has_the_published_numbers(void **state)
{
    (void)state;
    bif *net = bif_read("asia");
    expect_close(enumerated(net, "tub", "yes", ""), 0.0104, 0.5e-4);
    expect_close(enumerated(net, "lung", "yes", ""), 0.055, 0.5e-3);
    expect_close(enumerated(net, "bronc", "yes", ""), 0.45, 0.5e-2);
    expect_close(enumerated(net, "either", "yes", ""), 0.064828, 0.5e-6);
    expect_close(enumerated(net, "xray", "yes", ""), 0.1103, 0.5e-4);
    expect_close(enumerated(net, "dysp", "yes", ""), 0.4360, 0.5e-4);
    expect_close(enumerated(net, "lung", "yes", "asia=yes dysp=yes"), 0.0995251, 0.5e-7);
    expect_close(enumerated(net, "tub", "yes", "asia=yes dysp=yes"), 0.0877510, 0.5e-7);
    expect_close(enumerated(net, "bronc", "yes", "asia=yes dysp=yes"), 0.8114021, 0.5e-7);
    free(net);
}

/* Russell and Norvig, Artificial Intelligence: A Modern Approach, chapter on probabilistic reasoning:
 * P(Burglary | JohnCalls, MaryCalls) = <0.284, 0.716>. Network and numbers from memory. */
static void both_calls_give_the_published_burglary(void **state)
{
    (void)state;
    bif *net = bif_read("aima_burglary");
    expect_close(enumerated(net, "Burglary", "true", "JohnCalls=true MaryCalls=true"), 0.284, 0.5e-3);
    expect_close(enumerated(net, "Burglary", "false", "JohnCalls=true MaryCalls=true"), 0.716, 0.5e-3);
    free(net);
}

/* Pearl, Probabilistic Reasoning in Intelligent Systems, 1988, section 2.3: what causes the alarm one way takes the blame off the other. */
static void an_earthquake_explains_the_alarm_away(void **state)
{
    (void)state;
    bif *net = bif_read("earthquake");
    const double before = enumerated(net, "Burglary", "True", "");
    const double alarm = enumerated(net, "Burglary", "True", "Alarm=True");
    const double both = enumerated(net, "Burglary", "True", "Alarm=True Earthquake=True");
    assert_true(alarm > 10.0 * before);
    assert_true(both < 0.1 * alarm);
    assert_true(both > before);
    free(net);
}

static void rows_of_a_table_are_read_by_their_labels(void **state)
{
    (void)state;
    const char *head = "network n { } variable a { type discrete [ 2 ] { x, y }; } variable b { type discrete [ 3 ] "
                       "{ p, q, r }; } variable c { type discrete [ 2 ] { u, v }; } probability ( b ) { table 0.2, "
                       "0.3, 0.5; } probability ( a ) { table 0.4, 0.6; } probability ( c | a, b ) { ";
    const char *rows[] = {"(x, p) 0.11, 0.89; ", "(x, q) 0.12, 0.88; ", "(x, r) 0.13, 0.87; ",
                          "(y, p) 0.21, 0.79; ", "(y, q) 0.22, 0.78; ", "(y, r) 0.23, 0.77; "};
    const int shuffled[][6] = {{0, 1, 2, 3, 4, 5}, {3, 0, 4, 1, 5, 2}, {5, 4, 3, 2, 1, 0}};
    for (size_t k = 0; k < sizeof shuffled / sizeof shuffled[0]; k++) {
        char text[1024];
        strcpy(text, head);
        for (int r = 0; r < 6; r++)
            strcat(text, rows[shuffled[k][r]]);
        strcat(text, "}");
        bif *net = bif_parse(text);
        expect_close(enumerated(net, "c", "u", "a=y b=q"), 0.22, 1e-15);
        expect_close(enumerated(net, "c", "v", "a=x b=r"), 0.87, 1e-15);
        free(net);
    }
}

/* ---- By likelihood weighting ---- */

typedef struct weighted {
    size_t n;
    signed char *state; /* n rows of BIF_NODES */
    double *log_weight, *weight;
    double log_evidence; /* log of the mean weight */
    double effective;
} weighted;

static void weighted_free(weighted *w)
{
    free(w->state);
    free(w->log_weight);
    free(w->weight);
}

/* n draws: a node that is known keeps its state and gives its chance to the weight, any other is drawn given its parents. */
static void weighted_draw(const bif *net, const int evidence[], size_t n, uint64_t seed, weighted *w)
{
    *w = (weighted){.n = n,
                    .state = calloc(n, BIF_NODES),
                    .log_weight = calloc(n, sizeof *w->log_weight),
                    .weight = calloc(n, sizeof *w->weight)};
    assert_true(w->state != NULL && w->log_weight != NULL && w->weight != NULL);
    ch_stream stream;
    ch_stream_init(&stream, seed, 0);
    for (size_t i = 0; i < n; i++) {
        int drawn[BIF_NODES];
        for (int k = 0; k < net->nodes; k++) {
            const int node = net->order[k];
            const double *chance = bif_chances(net, node, drawn);
            if (evidence[node] >= 0) {
                drawn[node] = evidence[node];
                w->log_weight[i] += log(chance[evidence[node]]);
                continue;
            }
            double left = ch_stream_uniform(&stream);
            int s = 0;
            while (s + 1 < net->node[node].states && left >= chance[s])
                left -= chance[s++];
            drawn[node] = s;
        }
        for (int k = 0; k < net->nodes; k++)
            w->state[i * BIF_NODES + (size_t)k] = (signed char)drawn[k];
    }
    w->log_evidence = ch_log_sum_exp(w->log_weight, n) - log((double)n);
    assert_int_equal(ch_weights_from_logs(w->log_weight, n, w->weight, NULL), CH_OK);
    w->effective = ch_effective_sample_size(w->weight, n);
}

static double weighted_posterior(const weighted *w, int node, int state)
{
    double sum = 0.0;
    for (size_t i = 0; i < w->n; i++)
        sum += w->state[i * BIF_NODES + (size_t)node] == state ? w->weight[i] : 0.0;
    return sum;
}

/* Standard error of a self-normalised estimate of a chance p: sqrt(sum w^2 (f - p)^2), Owen 2013, eq. 9.9; where the weights have nothing to
 * do with the state this is sqrt(p (1 - p)/effective sample size). */
static double standard_error(const weighted *w, int node, int state, double p)
{
    double sum = 0.0;
    for (size_t i = 0; i < w->n; i++) {
        const double off = (w->state[i * BIF_NODES + (size_t)node] == state ? 1.0 : 0.0) - p;
        sum += w->weight[i] * w->weight[i] * off * off;
    }
    return sqrt(sum);
}

/* One part in 1.7 million of fair draws lies beyond five standard errors: a miss is a fault, not bad luck. */
static const double ERRORS = 5.0;

/* `check` for every row of every network's table, with weighted draws for the row's evidence (drawn once for rows that share it). */
static void for_every_row(size_t n, void (*check)(const bif *net, const weighted *w, const table *t, int row))
{
    for (size_t k = 0; k < sizeof ALL / sizeof ALL[0]; k++) {
        bif *net = bif_read(ALL[k]);
        char name[96];
        snprintf(name, sizeof name, "bayes-nets/%s_posteriors.csv", ALL[k]);
        table *t = table_read(name);
        weighted w = {0};
        for (int row = 1; row < t->rows; row++) {
            const char *known = table_text(t, row, "evidence");
            if (row == 1 || strcmp(known, table_text(t, row - 1, "evidence")) != 0) {
                int evidence[BIF_NODES];
                evidence_from_text(net, known, evidence);
                weighted_free(&w);
                weighted_draw(net, evidence, n, 1000u * k + (unsigned)row, &w);
            }
            check(net, &w, t, row);
        }
        weighted_free(&w);
        free(t);
        free(net);
    }
}

static void check_posterior(const bif *net, const weighted *w, const table *t, int row)
{
    const int node = bif_find(net, table_text(t, row, "query"));
    const int state = bif_state(&net->node[node], table_text(t, row, "state"));
    const double p = table_number(t, row, "probability");
    const double error = standard_error(w, node, state, p);
    assert_true(ERRORS * error < 0.12); /* a check that can fail: the widest row has 0.10 */
    /* 1e-7: the thirds of "alarm" are printed with seven digits, and its stored posteriors do not bring them to 1. */
    expect_close(weighted_posterior(w, node, state), p, ERRORS * error + 1e-7);
}

static void likelihood_weighting_gives_the_stored_posteriors(void **state)
{
    (void)state;
    for_every_row(150000, check_posterior);
}

/* The mean weight estimates the chance of the evidence; its relative standard error is sqrt((n/ESS - 1)/n), for n/ESS is 1 + the squared
 * coefficient of variation of the weights (Kish 1965, 11.7). */
static void check_evidence(const bif *net, const weighted *w, const table *t, int row)
{
    (void)net;
    const double n = (double)w->n;
    const double error = sqrt((n / w->effective - 1.0) / n);
    assert_true(ERRORS * error < 0.25);
    expect_relative(exp(w->log_evidence), table_number(t, row, "evidence_probability"), ERRORS * error + 1e-8);
}

static void mean_weight_is_the_chance_of_the_evidence(void **state)
{
    (void)state;
    for_every_row(150000, check_evidence);
}

/* Resampled draws carry the posterior without weights. Systematic resampling adds no more than independent draws would (Douc, Cappe and
 * Moulines 2005 bound it only loosely, so the multinomial error stands in). */
static void check_resampled(const bif *net, const weighted *w, const table *t, int row)
{
    enum { M = 20000 };
    const int node = bif_find(net, table_text(t, row, "query"));
    const int state = bif_state(&net->node[node], table_text(t, row, "state"));
    size_t *index = calloc(M, sizeof *index);
    assert_non_null(index);
    assert_int_equal(ch_resample_systematic(w->weight, w->n, 0.37, M, index, NULL), CH_OK);
    size_t count = 0;
    for (size_t i = 0; i < M; i++)
        count += w->state[index[i] * BIF_NODES + (size_t)node] == state;
    free(index);
    const double p = weighted_posterior(w, node, state);
    expect_close((double)count / M, p, ERRORS * sqrt(p * (1.0 - p) / M) + 1.0 / M);
}

static void resampled_draws_keep_the_posterior(void **state)
{
    (void)state;
    for_every_row(40000, check_resampled);
}

/* The error that the effective sample size states is the error made: over independent runs, estimates less the exact posterior, in units of
 * sqrt(p (1 - p)/ESS), have a mean square of 1. The weights go with some states and not with others, which that formula leaves out; 64 runs
 * of four queries place the mean square within a tenth or so. */
static void effective_sample_size_states_the_error_made(void **state)
{
    (void)state;
    enum { RUNS = 64 };
    static const char *const QUERIES[] = {"tub", "lung", "bronc", "smoke"};
    bif *net = bif_read("asia");
    int evidence[BIF_NODES];
    evidence_from_text(net, "dysp=yes asia=yes", evidence);
    double square = 0.0;
    for (uint64_t run = 0; run < RUNS; run++) {
        weighted w;
        weighted_draw(net, evidence, 4000, 77 + run, &w);
        for (size_t q = 0; q < 4; q++) {
            const double p = enumerated(net, QUERIES[q], "yes", "dysp=yes asia=yes");
            const double off = weighted_posterior(&w, bif_find(net, QUERIES[q]), 0) - p;
            square += off * off / (p * (1.0 - p) / w.effective) / (4.0 * RUNS);
        }
        weighted_free(&w);
    }
    free(net);
    assert_true(square > 0.8 && square < 1.25);
}

/* Evidence that no draw can explain is told, not divided by. */
static void evidence_that_cannot_be_is_refused(void **state)
{
    (void)state;
    bif *net = bif_read("asia");
    int evidence[BIF_NODES];
    evidence_from_text(net, "tub=yes either=no", evidence);
    assert_true(isinf(log_chance_of(net, evidence)) && log_chance_of(net, evidence) < 0.0);
    const double log_weight[] = {log_chance_of(net, evidence), -INFINITY};
    double weight[2] = {3.0, 4.0};
    assert_int_equal(ch_weights_from_logs(log_weight, 2, weight, NULL), CH_E_RANGE);
    assert_true(weight[0] == 3.0 && weight[1] == 4.0);
    free(net);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_of_a_table_are_read_by_their_labels),
        cmocka_unit_test(enumeration_through_log_sum_exp_gives_the_stored_posteriors),
        cmocka_unit_test(asia_has_the_published_numbers),
        cmocka_unit_test(both_calls_give_the_published_burglary),
        cmocka_unit_test(an_earthquake_explains_the_alarm_away),
        cmocka_unit_test(evidence_that_cannot_be_is_refused),
        cmocka_unit_test(likelihood_weighting_gives_the_stored_posteriors),
        cmocka_unit_test(mean_weight_is_the_chance_of_the_evidence),
        cmocka_unit_test(resampled_draws_keep_the_posterior),
        cmocka_unit_test(effective_sample_size_states_the_error_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

#include "memory_run.h"

#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "doings.h"

/* When and what to let fail. */
typedef struct fault {
    memory_of part;
    long n, seen;
    bool failed;
    long grown; /* blocks in use */
} fault;

static void begin(void *context)
{
    fault *f = context;
    fail_memory_at(f->part, f->n);
}

static void end(void *context)
{
    fault *f = context;
    f->failed = fail_memory_stop(&f->seen);
}

enum { ENDED = 1 };

/* In a process of its own, for a library that may end it: then its status is 1, and it could not say anything. */
static void act_apart(const doing_place *place, const doing *d, fault *f, doing_outcome *outcome)
{
    struct {
        fault f;
        doing_outcome outcome;
    } said = {.f = *f};
    int ends[2], status = 0;
    fflush(NULL);
    const bool piped = pipe(ends) == 0;
    const pid_t child = piped ? fork() : -1;
    if (child == 0) {
        const int nowhere = open("/dev/null", O_WRONLY);
        (void)dup2(nowhere, STDERR_FILENO);
        fail_memory_ends_with_library(ENDED);
        const long blocks = fail_memory_blocks();
        doing_act(place, d, begin, end, &said.f, &said.outcome);
        said.f.grown = fail_memory_blocks() - blocks;
        exit(write(ends[1], &said, sizeof said) == (ssize_t)sizeof said ? 0 : 2);
    }
    if (piped)
        close(ends[1]);
    const bool whole = child > 0 && read(ends[0], &said, sizeof said) == (ssize_t)sizeof said;
    if (piped)
        close(ends[0]);
    outcome->ended =
        child > 0 && waitpid(child, &status, 0) == child && !whole && WIFEXITED(status) && WEXITSTATUS(status) == ENDED;
    if (whole) {
        *f = said.f;
        *outcome = said.outcome;
    } else {
        f->failed = true;
        outcome->status =
            ch_fail(&outcome->err, outcome->ended ? CH_E_MEMORY : CH_E_IO, NULL,
                    outcome->ended ? "ended by a library" : "the process did not end as it should (%d)", status);
    }
}

static void once(const doing_place *place, const doing *d, fault *f, doing_outcome *outcome)
{
    const long blocks = fail_memory_blocks();
    if (!doing_start_again(place, outcome))
        return;
    if (f->part == MEMORY_OF_ARCHIVES)
        act_apart(place, d, f, outcome);
    else
        doing_act(place, d, begin, end, f, outcome);
    doing_look(place, outcome);
    if (f->part != MEMORY_OF_ARCHIVES)
        f->grown = fail_memory_blocks() - blocks;
}

static void wrong(memory_result *r, const doing *d, const fault *f, const char *what, const char *more)
{
    if (r->failed++ == 0)
        snprintf(r->first, sizeof r->first, "%s, %s %ld (%s): %s%s%.500s", d->name, memory_names[f->part], f->n,
                 fail_memory_where(), what, more[0] != '\0' ? ": " : "", more);
}

/* Whether the same fault costs memory each time: what a library keeps for the next time grows once. GnuTLS 3.7 loses the handle of a digest for which it has no memory (gnutls_hash_init). */
static bool leaks(const doing_place *place, const doing *d, fault f)
{
    const bool kept = strncmp(fail_memory_where(), "libgnutls", strlen("libgnutls")) == 0;
    doing_outcome outcome;
    for (int i = 0; i < 3; i++) {
        once(place, d, &f, &outcome);
        if (f.grown <= (kept ? 1 : 0))
            return false;
    }
    return true;
}

static void try_fault(const doing_place *place, const doing *d, fault f, const doing_outcome *right, bool again,
                      memory_result *r)
{
    doing_outcome outcome;
    once(place, d, &f, &outcome);
    r->faults[f.part]++;
    if (outcome.status < 0) {
        r->refused++;
        r->ended += outcome.ended;
        if (outcome.err.what[0] == '\0')
            wrong(r, d, &f, "no message", "");
        if (outcome.status != CH_E_MEMORY) {
            r->other++;
            wrong(r, d, &f, "another status than what failed", outcome.err.what);
        }
        if (outcome.left)
            wrong(r, d, &f, "something is left half done", outcome.err.what);
    } else if (outcome.answer != right->answer || outcome.garage != right->garage) {
        wrong(r, d, &f, "a wrong or half answer", "");
    }
    if (f.grown > 0 && leaks(place, d, f))
        wrong(r, d, &f, "memory is lost", outcome.err.what);
    if (!again)
        return;
    f.n = LONG_MAX;
    once(place, d, &f, &outcome);
    if (outcome.status < 0 || outcome.answer != right->answer || outcome.garage != right->garage)
        wrong(r, d, &f, "afterwards it does not work", outcome.err.what);
}

/* What has to be set up once is tried while it is not, with more and more memory: the first operation of all. */
static void try_first(const doing_place *place, const doing *d, bool coarse, memory_result *r)
{
    doing_outcome outcome = {.status = CH_E_MEMORY};
    fault f = {.part = MEMORY_OURS};
    for (f.n = 1; outcome.status < 0; f.n += 1 + f.n * (coarse ? 4 : 1) / 8) {
        once(place, d, &f, &outcome);
        r->faults[MEMORY_OURS] += f.failed;
        r->refused += outcome.status < 0;
        if (f.failed && outcome.status >= 0)
            wrong(r, d, &f, "the first time, an answer without the memory for it", "");
        if (!f.failed && outcome.status < 0) {
            wrong(r, d, &f, "after failures it does not work", outcome.err.what);
            return;
        }
    }
}

static void try_doing(const doing_place *place, const doing *d, long most, bool tell, memory_result *r)
{
    doing_outcome right[MEMORY_PARTS];
    long seen[MEMORY_PARTS];
    fault f = {.n = LONG_MAX};
    if (r->operations++ == 0)
        try_first(place, d, most > 0 && most < 100, r);
    const int parts = doing_packs(d) ? MEMORY_PARTS : MEMORY_OF_ARCHIVES;
    for (int part = 0; part < parts; part++) {
        f.part = (memory_of)part;
        once(place, d, &f, &right[part]);
        seen[part] = f.seen;
        r->points[part] += f.seen;
    }
    if (right[0].status < 0 || right[0].answer != right[1].answer || right[0].garage != right[1].garage) {
        wrong(r, d, &f, "without any fault it does not do what it should, or not twice the same", right[0].err.what);
        return;
    }
    if (doing_changes(d) && right[0].garage == place->base_holds)
        wrong(r, d, &f, "it changes nothing", "");
    const long limit = d->takes != QUICK && most > 0 ? (most + 19) / 20 : most;
    for (int part = 0; part < parts; part++) {
        const long failed = r->failed, tries = limit > 0 && limit < seen[part] ? limit : seen[part];
        f = (fault){.part = (memory_of)part};
        for (long i = 0; i < tries && fail_memory_can(f.part); i++) {
            /* the last of each stretch, so that the very last allocation is among them */
            f.n = (i + 1) * seen[part] / tries;
            const bool last = i == tries - 1 && part == 0 && d->takes == QUICK;
            try_fault(place, d, f, &right[0], i % 10 == 9 || last, r);
        }
        if (tell)
            printf("%-32s %-18s %8ld allocations, %6ld failed, %ld wrong\n", d->name, memory_names[part], seen[part],
                   tries, r->failed - failed);
    }
}

bool memory_run(const char *folder, long most, bool all, bool tell, const char *only, memory_result *result)
{
    doing_place place;
    ch_err err = {0};
    *result = (memory_result){0};
    if (!doing_prepare(&place, folder, &err)) {
        ch_err_format(&err, result->first, sizeof result->first);
        return false;
    }
    for (size_t i = 0; i < doings_count; i++)
        if (only != NULL ? strcmp(only, doings[i].name) == 0 : all || doings[i].takes != SLOWEST)
            try_doing(&place, &doings[i], most, tell, result);
    doing_end(&place);
    return true;
}

/*
 * What looks across access steps and jobs: no way round that comes back to itself, ids that stand once, cures that exist, and the access
 * that a set of jobs needs.
 */
#include <stdio.h>
#include <string.h>

#include "jobs_read.h"

/* A graph of entries: what access stands inside on one drive, or `after` of jobs. */
typedef ch_places (*edges_of)(const ch_jobs *jobs, size_t entry, int which);

/* The steps that are opened before it and closed after it: those that it needs, and those that it lies within. */
static ch_places inside_of(const ch_jobs_work *work, int drive)
{
    return (ch_places){.at = work->needs[drive].at, .count = work->needs[drive].count + work->within[drive].count};
}

static ch_places access_inside(const ch_jobs *jobs, size_t entry, int which)
{
    return inside_of(&jobs->access[entry].work, which);
}

static ch_places job_after(const ch_jobs *jobs, size_t entry, int which)
{
    (void)which;
    return jobs->jobs[entry].after;
}

/* The way from an entry that is left over to the next one: what it waits for and what is not taken either. */
static size_t next_left(ch_places to, const bool *taken)
{
    size_t k = 0;
    while (taken[to.at[k]])
        k++;
    return to.at[k];
}

/*
 * An entry that waits for itself by some way round, or `count`. Entries are taken one after the other, whatever they wait for taken before; those
 * left over wait for each other in a ring, or hang on one. Quadratic in a few hundred entries, and no recursion that a long file could drive
 * deep. Gives the first of the ring in the order of the file.
 */
static size_t first_in_ring(const ch_jobs *jobs, size_t count, edges_of edges, int which, bool *taken)
{
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < count; i++) {
            bool ready = !taken[i];
            const ch_places to = edges(jobs, i, which);
            for (size_t k = 0; k < to.count && ready; k++)
                ready = taken[to.at[k]];
            taken[i] = taken[i] || ready;
            more = more || ready;
        }
    }
    size_t at = 0;
    while (at < count && taken[at])
        at++;
    if (at == count)
        return count;
    for (size_t steps = 0; steps < count; steps++) /* by then it is inside a ring */
        at = next_left(edges(jobs, at, which), taken);
    size_t first = at;
    for (size_t i = next_left(edges(jobs, at, which), taken); i != at; i = next_left(edges(jobs, i, which), taken))
        first = i < first ? i : first;
    return first;
}

/* `, by way of "b", "c"`, cut to the buffer; nothing where the entry names itself. */
static void name_ring(const ch_jobs *jobs, size_t ring, edges_of edges, int which, const bool *taken,
                      const ch_jobs_work *(*work_of)(const ch_jobs *, size_t), char text[160])
{
    enum { SIZE = 160 };
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = next_left(edges(jobs, ring, which), taken); i != ring && used < SIZE;
         i = next_left(edges(jobs, i, which), taken))
        used += (size_t)snprintf(text + used, SIZE - used, "%s\"%.40s\"", used == 0 ? ", by way of " : ", ",
                                 work_of(jobs, i)->id);
}

static const ch_jobs_work *access_work(const ch_jobs *jobs, size_t entry)
{
    return &jobs->access[entry].work;
}

static const ch_jobs_work *job_work(const ch_jobs *jobs, size_t entry)
{
    return &jobs->jobs[entry].work;
}

static const ch_tree_node *entry_at(const ch_tree_node *root, const char *list, size_t place)
{
    const ch_tree_node *map = ch_tree_get(root, list)->first;
    while (place-- > 0)
        map = map->next;
    return map;
}

/* Everything that the needs reach. `open` holds places still to be followed. */
static void mark_needed(const ch_jobs *jobs, ch_drive drive, const ch_places *needs, bool *needed)
{
    size_t open[CH_ACCESS_MAX], n = 0;
    for (size_t i = 0; i < needs->count; i++)
        if (!needed[needs->at[i]]) {
            needed[needs->at[i]] = true;
            open[n++] = needs->at[i];
        }
    while (n > 0) {
        const ch_places *further = &jobs->access[open[--n]].work.needs[drive];
        for (size_t i = 0; i < further->count; i++)
            if (!needed[further->at[i]]) {
                needed[further->at[i]] = true;
                open[n++] = further->at[i];
            }
    }
}

static bool all_placed(const ch_places *needs, const bool *placed)
{
    for (size_t i = 0; i < needs->count; i++)
        if (!placed[needs->at[i]])
            return false;
    return true;
}

/* All that an access step needs is placed, and what it lies within where that is needed too. */
static bool opens_next(const ch_jobs_work *work, ch_drive drive, const bool *needed, const bool *placed)
{
    const ch_places *within = &work->within[drive];
    for (size_t i = 0; i < within->count; i++)
        if (needed[within->at[i]] && !placed[within->at[i]])
            return false;
    return all_placed(&work->needs[drive], placed);
}

/* What is first needs nothing that is not, and nothing waits until it is closed. */
static void check_first(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    const ch_jobs *jobs = jr->to;
    r->file = jr->file[CH_JOBS_ACCESS];
    for (size_t i = 0; i < jobs->access_count; i++)
        for (int drive = 0; jobs->access[i].first && drive < CH_DRIVES; drive++) {
            const ch_places inside = access_inside(jobs, i, drive);
            for (size_t k = 0; k < inside.count && r->status >= 0; k++)
                if (!jobs->access[inside.at[k]].first)
                    knowledge_fail(r, CH_E_INPUT, entry_at(jr->root[CH_JOBS_ACCESS], "access", i),
                                   "needs that are first too", "\"%.40s\" is first and needs \"%.40s\"",
                                   jobs->access[i].work.id, jobs->access[inside.at[k]].work.id);
        }
    r->file = jr->file[CH_JOBS_JOBS];
    for (size_t i = 0; i < jobs->jobs_count; i++)
        for (size_t k = 0; k < jobs->jobs[i].once_closed.count && r->status >= 0; k++)
            if (jobs->access[jobs->jobs[i].once_closed.at[k]].first)
                knowledge_fail(r, CH_E_INPUT, entry_at(jr->root[CH_JOBS_JOBS], "jobs", i),
                               "a step that is not first: those are closed last",
                               "\"%.40s\" comes once_closed of \"%.40s\"", jobs->jobs[i].work.id,
                               jobs->access[jobs->jobs[i].once_closed.at[k]].work.id);
}

/* Everything that a job may stand inside: what it needs or lies within, and so on from there. */
static void mark_inside(const ch_jobs *jobs, int drive, const ch_jobs_work *work, bool *inside)
{
    size_t open[CH_ACCESS_MAX], n = 0;
    ch_places further = inside_of(work, drive);
    for (bool more = true; more;) {
        for (size_t i = 0; i < further.count; i++)
            if (!inside[further.at[i]]) {
                inside[further.at[i]] = true;
                open[n++] = further.at[i];
            }
        more = n > 0;
        if (more)
            further = access_inside(jobs, open[--n], drive);
    }
}

/* All that a job comes after is taken, and all jobs that stand inside a step which it wants closed. */
static bool all_taken_before(const ch_jobs *jobs, ch_drive drive, size_t job, const bool *taken)
{
    const ch_places *after = &jobs->jobs[job].after, *closed = &jobs->jobs[job].once_closed;
    if (!all_placed(after, taken))
        return false;
    for (size_t i = 0; closed->count > 0 && i < jobs->jobs_count; i++) {
        bool inside[CH_ACCESS_MAX] = {false};
        if (taken[i] || !jobs->jobs[i].work.drives[drive])
            continue;
        mark_inside(jobs, (int)drive, &jobs->jobs[i].work, inside);
        for (size_t k = 0; k < closed->count; k++)
            if (inside[closed->at[k]])
                return false;
    }
    return true;
}

/* A job that waits until a step is closed waits for all jobs that stand inside the step: none of them may wait for it. */
static void check_once_closed(jobs_reader *jr)
{
    const ch_jobs *jobs = jr->to;
    for (int drive = 0; drive < CH_DRIVES && jr->r.status >= 0; drive++) {
        bool taken[CH_JOBS_MAX] = {false};
        for (bool more = true; more;) {
            more = false;
            for (size_t i = 0; i < jobs->jobs_count; i++)
                if (!taken[i] && all_taken_before(jobs, (ch_drive)drive, i, taken))
                    taken[i] = more = true;
        }
        size_t left = 0;
        while (left < jobs->jobs_count && (taken[left] || jobs->jobs[left].once_closed.count == 0))
            left++;
        if (left == jobs->jobs_count)
            continue;
        jr->r.file = jr->file[CH_JOBS_JOBS];
        knowledge_fail(&jr->r, CH_E_INPUT, entry_at(jr->root[CH_JOBS_JOBS], "jobs", left),
                       "an order that begins somewhere",
                       "\"%.40s\" waits until a step is closed that it needs itself, or a job that comes after it",
                       jobs->jobs[left].work.id);
    }
}

void jobs_check_cycles(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    ch_jobs *jobs = jr->to;
    char way[160];
    for (int drive = 0; drive < CH_DRIVES && r->status >= 0; drive++) {
        bool taken[CH_ACCESS_MAX] = {false};
        const size_t ring = first_in_ring(jobs, jobs->access_count, access_inside, drive, taken);
        if (ring == jobs->access_count)
            continue;
        name_ring(jobs, ring, access_inside, drive, taken, access_work, way);
        r->file = jr->file[CH_JOBS_ACCESS];
        knowledge_fail(r, CH_E_INPUT, entry_at(jr->root[CH_JOBS_ACCESS], "access", ring), "access that ends somewhere",
                       "\"%.40s\" needs itself%s", jobs->access[ring].work.id, way);
    }
    if (r->status < 0)
        return;
    bool taken[CH_JOBS_MAX] = {false};
    const size_t ring = first_in_ring(jobs, jobs->jobs_count, job_after, 0, taken);
    if (ring == jobs->jobs_count) {
        check_first(jr);
        check_once_closed(jr);
        return;
    }
    name_ring(jobs, ring, job_after, 0, taken, job_work, way);
    r->file = jr->file[CH_JOBS_JOBS];
    knowledge_fail(r, CH_E_INPUT, entry_at(jr->root[CH_JOBS_JOBS], "jobs", ring), "an order that begins somewhere",
                   "\"%.40s\" comes after itself%s", jobs->jobs[ring].work.id, way);
}

/* Ids of `key` in all lists of steps of one file, gathered into `named` where it is not NULL. */
static size_t gather_ids(const ch_tree_node *root, const char *list, const char *key, knowledge_named *named, size_t n)
{
    static const char *const step_lists[] = {"steps", "back"};
    for (const ch_tree_node *map = ch_tree_get(root, list)->first; map != NULL; map = map->next)
        for (size_t s = 0; s < 2; s++) {
            const ch_tree_node *steps = ch_tree_get(map, step_lists[s]);
            for (const ch_tree_node *step = steps != NULL ? steps->first : NULL; step != NULL; step = step->next) {
                const ch_tree_node *ids = ch_tree_get(step, key);
                for (const ch_tree_node *part = ids != NULL ? ids->first : NULL; part != NULL; part = part->next) {
                    if (named != NULL)
                        named[n] = (knowledge_named){.name = part->key, .place = n, .at = part};
                    n++;
                }
            }
        }
    return n;
}

void jobs_check_ids(jobs_reader *jr)
{
    static const char *const keys[] = {"takes_off", "torques"};
    knowledge_reader *r = &jr->r;
    for (size_t k = 0; k < 2 && r->status >= 0; k++) {
        const ch_tree_node *access = jr->root[CH_JOBS_ACCESS], *jobs = jr->root[CH_JOBS_JOBS];
        const size_t of_access = gather_ids(access, "access", keys[k], NULL, 0);
        const size_t all = gather_ids(jobs, "jobs", keys[k], NULL, of_access);
        knowledge_named *named = knowledge_alloc(r, all, sizeof *named);
        if (named == NULL)
            continue;
        gather_ids(access, "access", keys[k], named, 0);
        gather_ids(jobs, "jobs", keys[k], named, of_access);
        for (size_t i = 0; i < all && r->status >= 0; i++)
            for (size_t j = 0; j < i && r->status >= 0; j++)
                if (strcmp(named[i].name, named[j].name) == 0) {
                    r->file = jr->file[i < of_access ? CH_JOBS_ACCESS : CH_JOBS_JOBS];
                    knowledge_fail(r, CH_E_INPUT, named[i].at, "an id of its own",
                                   "\"%.60s\" of %s stands on line %ld of %.100s too", named[i].name, keys[k],
                                   named[j].at->line, jr->file[j < of_access ? CH_JOBS_ACCESS : CH_JOBS_JOBS]);
                }
    }
}

void jobs_check_cures(jobs_reader *jr)
{
    knowledge_reader *r = &jr->r;
    if (r->status < 0)
        return;
    r->file = jr->file[CH_JOBS_JOBS];
    for (int i = 0; i < CH_CAUSE_COUNT && r->status >= 0; i++) {
        const char *cure = r->to->causes[i].cure;
        if (cure == NULL || ch_knowledge_check_find(r->to, cure, strlen(cure)) != NULL ||
            ch_job_find(jr->to, cure, strlen(cure)) != NULL)
            continue;
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(jr->root[CH_JOBS_JOBS], "jobs"), "a job or a check of that id",
                       "there is no \"%.60s\", which causes.yaml names as the cure of %s", cure,
                       ch_cause_name((ch_cause)i));
    }
}

ch_status ch_jobs_closure(const ch_jobs *jobs, ch_drive drive, const size_t chosen[], size_t n, size_t access[],
                          size_t *count, ch_err *err)
{
    if ((unsigned)drive >= CH_DRIVES)
        return ch_fail(err, CH_E_RANGE, "rear or front", "drive %d", (int)drive);
    bool needed[CH_ACCESS_MAX] = {false}, placed[CH_ACCESS_MAX] = {false};
    for (size_t i = 0; i < n; i++) {
        if (chosen[i] >= jobs->jobs_count)
            return ch_fail(err, CH_E_RANGE, NULL, "job %zu of %zu", chosen[i], jobs->jobs_count);
        const ch_jobs_work *work = &jobs->jobs[chosen[i]].work;
        if (!work->drives[drive])
            return ch_fail(err, CH_E_INPUT, "a job for this drive", "%s is not for %s-wheel drive", work->id,
                           ch_drive_name(drive));
        mark_needed(jobs, drive, &work->needs[drive], needed);
    }
    /* The first of the file whose needs are placed, again and again: ends, as no access step stands inside itself. */
    size_t placed_count = 0;
    for (size_t i = 0; i < jobs->access_count; i++) {
        if (!needed[i] || placed[i] || !opens_next(&jobs->access[i].work, drive, needed, placed))
            continue;
        placed[i] = true;
        access[placed_count++] = i;
        i = (size_t)-1;
    }
    *count = placed_count;
    return CH_OK;
}

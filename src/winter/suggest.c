/*
 * Jobs suggested by what is probably wrong. What leaving a cause costs is taken from the decision's stated figures where they speak of it, else from
 * what the job itself takes.
 */
#include "crosshatch/suggest.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/draft.h"

/* What of the decision's figures a cause that is left costs, beside a breakdown. */
typedef enum leaving { LEAVE_REPAIR, LEAVE_REBUILD, LEAVE_OWN_AND_BREAK, LEAVE_OWN, LEAVE_CLUTCH } leaving;

typedef struct suggesting {
    const ch_jobs *jobs;
    const ch_assumptions *assumptions;
    ch_drive drive;
    double hour_value;
    double
        *alone; /* of each job by itself: parts and hours with its access; NaN where it does not hold for the drive */
    ch_suggestion *made;
} suggesting;

static double usual(const suggesting *s, ch_assumption_id id)
{
    return s->assumptions->of[id].usual;
}

static leaving leaving_of(const char *id)
{
    switch (ch_cause_find(id, strlen(id))) {
    case CH_CAUSE_INTAKE_VALVE:
    case CH_CAUSE_EXHAUST_VALVE:
    case CH_CAUSE_VALVE_LASH_TIGHT:
    case CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS:
    case CH_CAUSE_HEAD_GASKET_TO_COOLANT:
    case CH_CAUSE_CRACKED_HEAD: return LEAVE_REPAIR;
    case CH_CAUSE_RINGS_OR_BORE:
    case CH_CAUSE_PISTON_DAMAGE: return LEAVE_REBUILD;
    case CH_CAUSE_CAM_OR_TIMING: return LEAVE_OWN_AND_BREAK;
    case CH_CAUSE_SOUND:
    case CH_CAUSE_MEASUREMENT_ERROR: return LEAVE_OWN;
    case CH_CAUSE_COUNT: break;
    }
    return LEAVE_CLUTCH;
}

/* Expected cost of breaking down with a cylinder over the limit. */
static double breaking(const suggesting *s)
{
    return usual(s, CH_ASSUME_BREAK_OVER) *
           (usual(s, CH_ASSUME_TOW_HOME) + usual(s, CH_ASSUME_LOST_EVENTS) * usual(s, CH_ASSUME_EVENT_VALUE) +
            usual(s, CH_ASSUME_RUIN_SHARE) * usual(s, CH_ASSUME_RUIN_MONEY));
}

/* What leaving the cause costs, where this job would have cured it. */
static double cost_of_leaving(const suggesting *s, const char *id, size_t job, const char **what)
{
    switch (leaving_of(id)) {
    case LEAVE_REPAIR:
        *what = "a repair of the head later and the risk of a breakdown";
        return usual(s, CH_ASSUME_REPAIR_MONEY) + usual(s, CH_ASSUME_REPAIR_HOURS) * s->hour_value + breaking(s);
    case LEAVE_REBUILD:
        *what = "a rebuild later and the risk of a breakdown";
        return usual(s, CH_ASSUME_REBUILD_MONEY) + usual(s, CH_ASSUME_REBUILD_HOURS) * s->hour_value + breaking(s);
    case LEAVE_OWN_AND_BREAK:
        *what = "the same work later and the risk of a breakdown";
        return s->alone[job] + breaking(s);
    case LEAVE_OWN: *what = "the same work later"; return s->alone[job];
    case LEAVE_CLUTCH: break;
    }
    *what = "the same work later, a lost day and the way home";
    return s->alone[job] + usual(s, CH_ASSUME_EVENT_VALUE) + usual(s, CH_ASSUME_TOW_HOME);
}

ch_status ch_job_alone(const ch_jobs *jobs, ch_drive drive, size_t job, double hour_value, double *alone, ch_err *err)
{
    bool flags[CH_JOBS_MAX] = {false};
    size_t set[CH_JOBS_MAX], n = 0, access[CH_ACCESS_MAX], access_count = 0;
    ch_shopping shopping = {0};
    double time_s = 0;
    flags[job] = true;
    ch_jobs_required(jobs, flags);
    for (size_t i = 0; i < jobs->jobs_count; i++)
        if (flags[i])
            set[n++] = i;
    for (size_t i = 0; i < n; i++) {
        if (!jobs->jobs[set[i]].work.drives[drive]) {
            *alone = NAN;
            return CH_OK;
        }
        time_s += jobs->jobs[set[i]].work.time.likely_s;
    }
    ch_status rc = ch_jobs_closure(jobs, drive, set, n, access, &access_count, err);
    if (rc >= 0)
        rc = ch_jobs_shopping(jobs, drive, set, n, true, &shopping, err);
    if (rc < 0)
        return rc;
    for (size_t i = 0; i < access_count; i++)
        time_s += jobs->access[access[i]].work.time.likely_s + jobs->access[access[i]].back.likely_s;
    *alone = shopping.sum.likely + time_s / 3600 * hour_value;
    ch_shopping_clear(&shopping);
    return CH_OK;
}

static bool names(const char *const *list, size_t count, const char *id)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i], id) == 0)
            return true;
    return false;
}

static bool has_place(const ch_places *places, size_t place)
{
    for (size_t i = 0; i < places->count; i++)
        if (places->at[i] == place)
            return true;
    return false;
}

static bool exclude_each_other(const suggesting *s, size_t a, size_t b)
{
    return has_place(&s->jobs->jobs[a].excludes, b) || has_place(&s->jobs->jobs[b].excludes, a);
}

/* The job that cures the cause for the least, or SIZE_MAX. */
static size_t cheapest_cure(const suggesting *s, const char *id)
{
    size_t found = SIZE_MAX;
    for (size_t i = 0; i < s->jobs->jobs_count; i++)
        if (!isnan(s->alone[i]) && ch_job_cures(&s->jobs->jobs[i], id) &&
            (found == SIZE_MAX || s->alone[i] < s->alone[found]))
            found = i;
    return found;
}

/* One more sentence, as long as there is room for all of it. */
static void say(ch_suggestion *to, const char *sentence)
{
    const size_t used = strlen(to->reason), length = strlen(sentence);
    if (used + length + 2 <= sizeof to->reason)
        snprintf(to->reason + used, sizeof to->reason - used, "%s%s", used > 0 ? " " : "", sentence);
}

/* One cause, for all jobs that cure or prevent it. */
static void take_cause(suggesting *s, const ch_suggest_cause *cause)
{
    const size_t cheapest = cheapest_cure(s, cause->id);
    const long percent = lround(100 * cause->chance_1);
    for (size_t i = 0; i < s->jobs->jobs_count; i++) {
        const ch_job *job = &s->jobs->jobs[i];
        ch_suggestion *to = &s->made[i];
        char sentence[CH_SUGGEST_REASON];
        const char *what = NULL;
        if (isnan(s->alone[i]))
            continue;
        if (ch_job_cures(job, cause->id) && i != cheapest && !exclude_each_other(s, i, cheapest)) {
            snprintf(sentence, sizeof sentence, "%.120s (%ld %%): also cured by, and counted for, \"%.120s\".",
                     cause->title, percent, s->jobs->jobs[cheapest].work.title);
        } else if (ch_job_cures(job, cause->id)) {
            const double cost = cost_of_leaving(s, cause->id, i, &what);
            to->avoided += cause->chance_1 * cost;
            snprintf(sentence, sizeof sentence, "%.120s (%ld %%): left alone it costs about %ld %.16s: %s.",
                     cause->title, percent, lround(cost), s->assumptions->currency, what);
        } else if (names(job->prevents, job->prevents_count, cause->id) && cheapest != SIZE_MAX) {
            to->avoided += cause->chance_1 * s->alone[cheapest];
            snprintf(sentence, sizeof sentence,
                     "%.120s (%ld %%): without this it comes back, and the cure costs about %ld %.16s again.",
                     cause->title, percent, lround(s->alone[cheapest]), s->assumptions->currency);
        } else {
            continue;
        }
        say(to, sentence);
    }
}

static int by_worth(const void *left, const void *right)
{
    const ch_suggestion *a = left, *b = right;
    if (a->avoided > b->avoided || a->avoided < b->avoided)
        return a->avoided > b->avoided ? -1 : 1;
    return a->job < b->job ? -1 : a->job > b->job;
}

static bool met_before(const ch_suggest_cause cause[], size_t n, const ch_suggest_cause *one)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(cause[i].id, one->id) == 0)
            return true;
    return false;
}

static void take_causes(suggesting *s, const ch_suggest_cause cause[], size_t n)
{
    for (size_t i = 0; i < n; i++) {
        ch_suggest_cause most = cause[i];
        if (met_before(cause, i, &most))
            continue;
        for (size_t k = i + 1; k < n; k++)
            if (strcmp(cause[k].id, most.id) == 0 && cause[k].chance_1 > most.chance_1)
                most = cause[k];
        if (most.chance_1 >= CH_SUGGEST_LEAST_1)
            take_cause(s, &most);
    }
}

static ch_status check(ch_drive drive, const ch_suggest_cause cause[], size_t n, ch_err *err)
{
    if ((int)drive < 0 || drive >= CH_DRIVES)
        return ch_fail(err, CH_E_RANGE, "rear or front", "a drive of another kind");
    if (n > CH_SUGGEST_CAUSES_MAX)
        return ch_fail(err, CH_E_RANGE, "at most 64", "%zu causes", n);
    for (size_t i = 0; i < n; i++)
        if (!(cause[i].chance_1 >= 0 && cause[i].chance_1 <= 1 + 1e-9))
            return ch_fail(err, CH_E_RANGE, "0 to 1", "%s: a chance that is none", cause[i].id);
    return CH_OK;
}

ch_status ch_suggest(const ch_jobs *jobs, const ch_assumptions *assumptions, ch_drive drive, double hour_value,
                     const ch_suggest_cause cause[], size_t n, ch_suggestion suggestion[], size_t *count, ch_err *err)
{
    ch_status rc = check(drive, cause, n, err);
    if (rc < 0)
        return rc;
    suggesting s = {.jobs = jobs, .assumptions = assumptions, .drive = drive};
    s.hour_value = isfinite(hour_value) ? hour_value : usual(&s, CH_ASSUME_HOUR_VALUE);
    s.alone = calloc(jobs->jobs_count + 1, sizeof *s.alone);
    s.made = calloc(jobs->jobs_count + 1, sizeof *s.made);
    if (s.alone == NULL || s.made == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for suggestions");
    for (size_t i = 0; rc >= 0 && i < jobs->jobs_count; i++) {
        s.made[i].job = i;
        rc = ch_job_alone(jobs, drive, i, s.hour_value, &s.alone[i], err);
    }
    if (rc >= 0) {
        take_causes(&s, cause, n);
        size_t used = 0;
        for (size_t i = 0; i < jobs->jobs_count; i++)
            if (s.made[i].reason[0] != '\0')
                suggestion[used++] = s.made[i];
        qsort(suggestion, used, sizeof *suggestion, by_worth);
        *count = used;
    }
    free(s.alone);
    free(s.made);
    return rc;
}

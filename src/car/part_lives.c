/*
 * part_lives.yaml: how long parts last. Rules: docs/knowledge.md. The file speaks hours, km, years and mm; here they become SI, years calendar
 * months.
 */
#include "crosshatch/part_lives.h"

#include <math.h>
#include <stdint.h>

#include "knowledge_read.h"

/* How a limit is counted in the file: name, what its unit is here, and whether it falls. */
static const struct {
    const char *name;
    double unit;
    bool falls;
    bool printed; /* the part itself carries the limit */
} ways[CH_LIFE_BY_COUNT] = {
    [CH_LIFE_HOURS] = {"hours", 3600, false, false},
    [CH_LIFE_SESSIONS] = {"sessions", 1, false, false},
    [CH_LIFE_HEAT_CYCLES] = {"heat_cycles", 1, false, false},
    [CH_LIFE_DISTANCE] = {"distance", 1e3, false, false},
    [CH_LIFE_AGE_FITTED] = {"age_fitted", 12, false, false},
    [CH_LIFE_AGE_MADE] = {"age_made", 12, false, false},
    [CH_LIFE_PRINTED_DATE] = {"printed_date", NAN, false, true},
    [CH_LIFE_PART_LEFT] = {"part_left", 1, true, false},
    [CH_LIFE_DEPTH] = {"depth", 1e-3, true, false},
    [CH_LIFE_PRINTED_MINIMUM] = {"printed_minimum", NAN, true, true},
};

/* Where the file does not say, "soon" begins when four fifths of a life are over. */
#define SOON_PART 0.8

static void read_limit(knowledge_reader *r, const ch_tree_node *map, const char *source, ch_life_limit *to)
{
    const char *names[CH_LIFE_BY_COUNT];
    for (int i = 0; i < CH_LIFE_BY_COUNT; i++)
        names[i] = ways[i].name;
    knowledge_keys(r, map, "by", "limit", "soon", "source");
    to->by = (ch_life_by)knowledge_word(r, map, "by", names, CH_LIFE_BY_COUNT, -1);
    to->source = knowledge_text(r, map, "source", true);
    if (to->source == NULL)
        to->source = source;
    to->limit_si = to->soon_si = NAN;
    if (r->status < 0)
        return;
    if (ways[to->by].printed) {
        const ch_tree_node *limit = ch_tree_get(map, "limit"), *soon = ch_tree_get(map, "soon");
        if (limit != NULL || soon != NULL)
            knowledge_fail(r, CH_E_INPUT, limit != NULL ? limit : soon, "no limit: the part carries it",
                           "a limit of %s", ways[to->by].name);
        return;
    }
    const knowledge_range *range = to->by == CH_LIFE_PART_LEFT ? &knowledge_part : &knowledge_positive;
    const double limit = knowledge_number_at(r, map, "limit", range);
    const double usual = ways[to->by].falls ? limit / SOON_PART : limit * SOON_PART;
    const double soon = knowledge_number_or(r, map, "soon", range, usual);
    if (r->status >= 0 && (ways[to->by].falls ? soon < limit : soon > limit))
        knowledge_fail(r, CH_E_INPUT, ch_tree_get(map, "soon"), "before the limit is reached",
                       "soon is after the limit");
    to->limit_si = limit * ways[to->by].unit;
    to->soon_si = soon * ways[to->by].unit;
}

static void read_limits(knowledge_reader *r, const ch_tree_node *map, ch_part_life *to)
{
    const ch_tree_node *list = knowledge_list(r, map, "limits", false);
    if (list == NULL)
        return;
    if (list->count == 0) /* kept for the record of what was done, and never due */
        return;
    ch_life_limit *limits = knowledge_alloc(r, list->count, sizeof *limits);
    size_t n = 0;
    for (const ch_tree_node *part = list->first; part != NULL && r->status >= 0; part = part->next) {
        read_limit(r, part, to->source, &limits[n]);
        for (size_t i = 0; i < n && r->status >= 0; i++)
            if (limits[i].by == limits[n].by)
                knowledge_fail(r, CH_E_INPUT, part, "each way of counting once", "%s stands here again",
                               ways[limits[n].by].name);
        n++;
    }
    to->limits = limits;
    to->limits_count = n;
}

static void read_part(knowledge_reader *r, const ch_tree_node *map, const char *source, const ch_jobs *jobs,
                      ch_part_life *to)
{
    static const char *const drives[] = {"rear", "front", "both"};
    knowledge_keys(r, map, "id", "title", "why", "drive", "limits", "jobs", "source");
    to->id = knowledge_id(r, knowledge_need(r, map, "id"));
    to->title = knowledge_text(r, map, "title", false);
    to->why = knowledge_text(r, map, "why", false);
    to->source = knowledge_text(r, map, "source", true);
    if (to->source == NULL)
        to->source = source;
    const int drive = knowledge_word(r, map, "drive", drives, 3, 2);
    to->drives[CH_DRIVE_REAR] = drive != 1;
    to->drives[CH_DRIVE_FRONT] = drive != 0;
    read_limits(r, map, to);
    knowledge_places(r, map, "jobs", &jobs->job_names, "job", &to->jobs);
}

ch_status ch_part_lives_parse(ch_part_lives *lives, const ch_jobs *jobs, const ch_knowledge_text *text, ch_err *err)
{
    ch_knowledge owner = {0};
    knowledge_reader reader = {.to = &owner, .err = err}, *r = &reader;
    ch_part_lives made = {0};
    const ch_tree_node *root = knowledge_open(r, text, "part_lives");
    if (root != NULL) {
        knowledge_keys(r, root, "knowledge", "version", "source", "parts");
        made.source = knowledge_text(r, root, "source", false);
        const ch_tree_node *list = knowledge_list(r, root, "parts", false);
        ch_part_life *parts = list != NULL ? knowledge_alloc(r, list->count, sizeof *parts) : NULL;
        for (const ch_tree_node *map = list != NULL ? list->first : NULL; map != NULL && r->status >= 0;
             map = map->next)
            read_part(r, map, made.source, jobs, &parts[made.count++]);
        made.parts = parts;
        if (list != NULL)
            knowledge_name_entries(r, list, &made.names);
    }
    made.pieces = owner.pieces;
    if (r->status < 0) {
        ch_part_lives_clear(&made);
        return r->status;
    }
    *lives = made;
    return CH_OK;
}

void ch_part_lives_clear(ch_part_lives *lives)
{
    ch_knowledge owner = {.pieces = lives->pieces};
    ch_knowledge_clear(&owner);
    *lives = (ch_part_lives){0};
}

const ch_part_life *ch_part_life_find(const ch_part_lives *lives, const char *id, size_t length)
{
    const size_t place = knowledge_name_find(&lives->names, id, length);
    return place != SIZE_MAX ? &lives->parts[place] : NULL;
}

const char *ch_life_by_name(ch_life_by by)
{
    return (unsigned)by < CH_LIFE_BY_COUNT ? ways[by].name : NULL;
}

bool ch_life_falls(ch_life_by by)
{
    return (unsigned)by < CH_LIFE_BY_COUNT && ways[by].falls;
}

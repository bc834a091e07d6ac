/*
 * The winter plan of a car as the garage file keeps it, and the jobs that the car's findings suggest.
 *
 * Settings: winter.ID = the plan (YAML), winter.ID.sheet = the sheet whose causes suggest, where none is named the newest of the engine in the car, winter.ID.drive = rear | front, winter.ID.begun = when this winter
 * began, in seconds since 1970: work that was closed before belongs to an earlier one. Of the driveline the causes of the newest logged run suggest.
 */
#ifndef CROSSHATCH_WEB_WINTER_KEPT_H
#define CROSSHATCH_WEB_WINTER_KEPT_H

#include "crosshatch/plan.h"
#include "crosshatch/ready.h"
#include "crosshatch/show_words.h"
#include "crosshatch/store_car.h"
#include "crosshatch/store_work.h"
#include "crosshatch/suggest.h"
#include "know.h"
#include "piece.h"
#include "route.h"

enum { WINTER_TITLE = 160, WINTER_ID = 33 };

typedef struct winter_kept {
    const web_know *know;
    ch_assumptions assumptions; /* with the owner's own figures, where they can be read */
    char figures[PIECE_LINE];   /* why the owner's figures cannot be read, else empty */
    const char *currency;       /* the owner's; prices that nobody has changed are in that of the knowledge of jobs */
    const ch_store_car *car;
    ch_drive drive;
    int64_t sheet;   /* whose causes suggest; 0 = none */
    int64_t newest;  /* tested last: sheet with readings of the engine in the car; 0 = none */
    int64_t run;     /* whose causes suggest; 0 = none */
    ch_date run_day; /* driven; year 0 = not given */
    int fault; /* cylinder of which something is wrong, the likeliest, where that sheet says fault; 0 = it does not */
    double fault_1[CH_CAUSE_COUNT]; /* its chances */
    bool fresh;                     /* suggestions are new: they are ticked without having been chosen */
    bool any;                       /* a plan is kept */
    const char *text;               /* the plan as it is kept; from the request's pool; NULL where none is */
    char seen[20];                  /* the mark of what is kept: a form carries that of what it was made from */
    bool overtaken;                 /* the form was made from what is no longer kept */
    ch_plan plan;                   /* zero where none is; days that are over are left out */
    char plan_title[WINTER_TITLE], plan_id[WINTER_ID];
    char (*title)[WINTER_TITLE]; /* of the causes */
    ch_ready *due;               /* what parts are due: before the next event, or today where none is planned */
    ch_suggestion *suggestion;   /* the one that saves most first */
    size_t suggestions;
    int64_t begun_s;            /* of this winter; 0 = the first */
    const ch_store_work *works; /* of the car, newest first, all winters; from the request's pool */
    size_t works_count;
    ch_plan_item
        *items; /* those of the plan, in the order that the knowledge has them in, with what is done and spent so far */
    size_t *places; /* what the items' links point into, where they are as the knowledge has them */
} winter_kept;

/*
 * Load it for the car in the path; the caller clears it. `kept->car` is NULL where there is no such car. A query `sheet=N` names the sheet whose causes
 * suggest, from now on.
 */
ch_status winter_load(web_request *request, winter_kept *kept, ch_err *err);
void winter_clear(winter_kept *kept);

/* What the plan of this car is called, the one that is kept or one to come. */
const char *winter_title(winter_kept *kept);

/* Check the plan by reading what is written of it, and keep it. */
ch_status winter_save(web_request *request, const winter_kept *kept, const ch_plan *plan, ch_err *err);

/* Whether the form was made from what is no longer kept. */
bool winter_overtaken(const web_request *request, const winter_kept *kept);

/* Whether just this plan is kept already: CH_OK and *same; as winter_save. */
ch_status winter_same(const winter_kept *kept, const ch_plan *plan, bool *same, ch_err *err);

/* What is suggested of a job, or NULL. */
const ch_suggestion *winter_suggested(const winter_kept *kept, size_t job);

/* "Brake fluid: over its 10 sessions by 4": the part that is over its limit, or reaches it before the event is over, and that this job renews. False where there is none. */
bool winter_due(const winter_kept *kept, size_t job, char sentence[CH_SHOW_SENTENCE]);

/* Whether at most one of two jobs of the knowledge is done, whichever of them excludes the other: two ways to do one thing. */
bool winter_one_way(const winter_kept *kept, size_t job, size_t other);

/* The item of the kept plan with this name, or NULL. */
const ch_plan_item *winter_item(const winter_kept *kept, const char *name, ch_plan_kind kind);

/* What the owner's money is called: the setting, else as in the knowledge of jobs. */
ch_status winter_currency(web_request *request, const web_know *know, const char **currency, ch_err *err);

/* Read and write one of the car's settings. */
ch_status winter_setting(web_request *request, int64_t car, const char *format_end, const char **text, ch_err *err);
ch_status winter_set(web_request *request, int64_t car, const char *format_end, const char *text, ch_err *err);

#endif

/**
 * @file jobs.h
 * Winter work as a mechanic knows it: the jobs, the access work that several of them share, and what has to be bought for either.
 *
 * The figures stand in three YAML files (docs/knowledge.md); this reads their text, checks every rule of that page and turns hours into
 * seconds. Nothing is opened here: the texts come from the caller, or from those built into the program (ch_jobs_builtin()). All pointers of a
 * ch_jobs live until it is cleared. Prices are in the currency that parts.yaml names, days are calendar days.
 */
#ifndef CROSSHATCH_JOBS_H
#define CROSSHATCH_JOBS_H

#include <stdbool.h>
#include <stddef.h>

#include "crosshatch/knowledge.h"

enum {
    CH_ACCESS_MAX = 256,
    CH_JOBS_MAX = 1024,
    CH_STEP_TEXT_MAX = 400,  /**< bytes of what to do, of why, of a thing taken off */
    CH_TORQUE_TEXT_MAX = 160 /**< bytes of what to look up */
};

/** Which wheels a front engine drives. */
typedef enum ch_drive { CH_DRIVE_REAR, CH_DRIVE_FRONT, CH_DRIVES } ch_drive;

/** A home mechanic's time in three points; 0 <= least <= likely <= most. */
typedef struct ch_work_time {
    double least_s, likely_s, most_s;
} ch_work_time;

/** A price in three points; 0 <= least <= likely <= most. */
typedef struct ch_price {
    double least, likely, most;
} ch_price;

/** What is bought. All but parts and consumables are used once: never refitted. */
typedef enum ch_goods_kind {
    CH_GOODS_PART,
    CH_GOODS_SEAL,      /* gasket, seal, O-ring, washer */
    CH_GOODS_FASTENER,  /* bolt, nut, pin, clip of one use */
    CH_GOODS_FLUID,     /* oil, coolant, brake fluid */
    CH_GOODS_CONSUMABLE /* cleaner, grease, rags */
} ch_goods_kind;

typedef struct ch_goods {
    const char *id, *title, *source;
    ch_goods_kind kind;
    ch_price price; /* of one */
    bool shared;    /* one can or tube serves several jobs: the largest count counts, not the sum */
} ch_goods;

typedef struct ch_goods_need {
    size_t goods; /* place in ch_jobs.goods */
    double count; /* > 0 */
    bool maybe;   /* only where what is found asks for it */
} ch_goods_need;

/** A thing taken off, or a torque to look up; ids are unique among all access steps and jobs. */
typedef struct ch_work_named {
    const char *id, *text; /* text of a torque never holds a figure */
} ch_work_named;

typedef struct ch_work_step {
    const char *text, *why;
    const char
        *first_text;    /* its first words; what is kept of a step is kept under them, however they were corrected */
    ch_places cautions; /* in ch_knowledge.cautions, gravest first; to be shown before the step */
    const ch_work_named *takes_off; /* entries of the put-back ledger */
    size_t takes_off_count;
    const ch_work_named *torques; /* to be looked up in the car's own manual */
    size_t torques_count;
} ch_work_step;

/** What access steps and jobs have in common. */
typedef struct ch_jobs_work {
    const char *id, *title, *why, *source;
    bool drives[CH_DRIVES]; /* for which cars it holds; at least one */
    ch_places needs
        [CH_DRIVES]; /* access opened first, in ch_jobs.access; not yet transitive. Empty for a drive that it does not hold for */
    ch_places within
        [CH_DRIVES]; /* access that, where it is opened too, is opened before it and closed after it; it asks for none of them. Lies behind `needs` in one array */
    ch_work_time time;
    const ch_goods_need *goods;
    size_t goods_count;
    const ch_work_step *steps; /* at least one */
    size_t steps_count;
    ch_places cautions; /* of all its steps, gravest first, each once */
} ch_jobs_work;

/** Work done to get there and back. */
typedef struct ch_access {
    ch_jobs_work work; /* its time and steps are those of opening */
    ch_work_time back; /* closing again */
    const ch_work_step *back_steps;
    size_t back_steps_count; /* at least one */
    bool first; /* wants the engine running or the wheels on the ground: opened before all others, closed after them */
} ch_access;

/** How a job proves itself. */
typedef enum ch_retest_by {
    CH_RETEST_COMPRESSION,
    CH_RETEST_LEAK_DOWN,
    CH_RETEST_SLIP_LOG,   /* engine speed and road speed logged under load */
    CH_RETEST_LEAK_CHECK, /* dry after a run */
    CH_RETEST_PRESSURE,   /* a pressure read or held: oil, coolant, fuel */
    CH_RETEST_PEDAL,      /* firm brake or clutch pedal */
    CH_RETEST_ROAD,       /* first drive */
    CH_RETEST_LOOK,       /* looked at, turned or measured by hand */
    CH_RETEST_TORQUE      /* fasteners tightened again after a run */
} ch_retest_by;

typedef struct ch_retest {
    ch_retest_by by;
    const char *text, *first_text; /* as those of a step */
} ch_retest;

typedef struct ch_job {
    ch_jobs_work work;
    const char *const *tools; /* special tools, in plain words */
    size_t tools_count;
    const char *const
        *cures; /* ids of causes, of the engine (ch_cause_name()) or of the clutch (ch_clutch_cause_name()) */
    size_t cures_count;
    const char *const *prevents; /* ids of causes that would come back without this job, though it does not cure them */
    size_t prevents_count;
    double lead_days;      /* >= 0, typical, from ordering the parts to having them */
    double shop_days;      /* >= 0, typical, at the machine shop; 0 = none */
    ch_places after;       /* jobs that come first where both are done; in ch_jobs.jobs */
    ch_places once_closed; /* access that, where it is opened too, is closed again before this job; in ch_jobs.access */
    ch_places
        excludes; /* jobs that are part of this one, or make no sense beside it; each way round, whichever names the other */
    ch_places requires;       /* jobs that must be done along with it */
    ch_places car_has_one;    /* jobs on what a car has in place of what this one is done on: no car has both */
    const ch_retest *retests; /* at least one: what closes the job */
    size_t retests_count;
} ch_job;

typedef struct ch_jobs {
    const char *currency; /* "EUR" */
    const char *price_source, *access_source, *job_source;
    const ch_goods *goods;
    size_t goods_count;
    const ch_access *access; /* in the order of the file */
    size_t access_count;
    const ch_job *jobs;
    size_t jobs_count;
    ch_knowledge_names goods_names, access_names, job_names;
    struct ch_knowledge_piece *pieces; /* what is to be freed */
} ch_jobs;

/** The three files, in the order in which their texts are given. */
typedef enum ch_jobs_file { CH_JOBS_PARTS, CH_JOBS_ACCESS, CH_JOBS_JOBS, CH_JOBS_FILES } ch_jobs_file;

/** File name of each text inside a folder of knowledge: "parts.yaml", "access.yaml", "jobs.yaml". Static storage; NULL outside the enum. */
const char *ch_jobs_file_name(ch_jobs_file file);

/**
 * Read the three texts and check them against each other, and against the causes and cautions of `knowledge`.
 *
 * Beside the form of the files, these are held: every part, access step, job, caution and cause named is there; what needs access on a
 * car of one drive finds it there for that drive; no access step needs itself and no job waits for itself, by any way round; things
 * taken off and torques have ids of their own; no torque is a figure; every cure that causes.yaml names is a job or a check; every job has
 * a re-test that closes it.
 *
 * @param jobs      (out) Overwritten, not cleared first; untouched on failure. The caller clears it with ch_jobs_clear().
 * @param knowledge ch_places of cautions refer to it. Needed only during the call.
 * @param texts     In the order of ch_jobs_file; needed only during the call.
 *
 * @retval CH_E_INPUT  A rule of docs/knowledge.md is broken; with file, line and column.
 * @retval CH_E_LIMIT  Larger than the limits of tree.h, or more than CH_ACCESS_MAX access steps or CH_JOBS_MAX jobs.
 * @retval CH_E_MEMORY
 */
ch_status ch_jobs_parse(ch_jobs *jobs, const ch_knowledge *knowledge, const ch_knowledge_text texts[CH_JOBS_FILES],
                        ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros and on a cleared one. */
void ch_jobs_clear(ch_jobs *jobs);

/**
 * The three texts that were in knowledge/ when the program was built, CH_JOBS_FILES of them. Static storage. A copy that does not load is
 * a fault of the build, and a test holds it to that.
 */
const ch_knowledge_text *ch_jobs_builtin(void);

/** What an id stands for; NULL where there is none. `length` bytes. The place is the difference to the array's start. */
const ch_job *ch_job_find(const ch_jobs *jobs, const char *id, size_t length);
/** The same for a step of access work. */
const ch_access *ch_access_find(const ch_jobs *jobs, const char *id, size_t length);
/** The same for a part or a material. */
const ch_goods *ch_goods_find(const ch_jobs *jobs, const char *id, size_t length);

/** The id of a job that a mistyped one was probably meant to be (ch_nearest_word()), or NULL. */
const char *ch_job_nearest(const ch_jobs *jobs, const char *id, size_t length);

/** True where no car has both what the one and what the other job is done on, whichever of them names the other. */
bool ch_job_car_has_one(const ch_jobs *jobs, size_t job, size_t other);

/** True where the job cures the cause with this id: "exhaust_valve", "oil_contaminated". */
bool ch_job_cures(const ch_job *job, const char *cause);

/** Id of the `i`th cause in a clutch that a job can cure: "worn", "glazed", "oil_contaminated", "pressure_plate", "hydraulic_or_cable", "flywheel". NULL beyond the last. */
const char *ch_clutch_cause_name(size_t i);

/** "rear", "front". Static storage; NULL outside the enum. */
const char *ch_drive_name(ch_drive drive);

/** "part", "seal", "fastener", "fluid", "consumable". Static storage; NULL outside the enum. */
const char *ch_goods_kind_name(ch_goods_kind kind);

/** "compression", "leak_down", "slip_log", ... Static storage; NULL outside the enum. */
const char *ch_retest_name(ch_retest_by by);

/**
 * All access that a set of jobs needs, transitively, each step once and after the steps that it needs itself: the order of opening. Closing is
 * the reverse. The order does not depend on that of the jobs.
 *
 * @param jobs   From ch_jobs_parse().
 * @param drive  CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param chosen `n` places in ch_jobs.jobs; the same one twice counts once.
 * @param n      Of `chosen`; 0 = none.
 * @param access (out) Room for ch_jobs.access_count places in ch_jobs.access. Untouched on failure.
 * @param count  (out) How many. Untouched on failure.
 *
 * @retval CH_E_RANGE A place or the drive is outside.
 * @retval CH_E_INPUT A job does not hold for this drive.
 */
ch_status ch_jobs_closure(const ch_jobs *jobs, ch_drive drive, const size_t chosen[], size_t n, size_t access[],
                          size_t *count, ch_err *err);

/** One line of a shopping list. */
typedef struct ch_shopping_line {
    size_t goods;       /* place in ch_jobs.goods */
    double count;       /* to be bought in any case; 0 = only perhaps */
    double maybe_count; /* more, where what is found asks for it */
    ch_price sum;       /* least and likely of `count`, most of `count` and `maybe_count` together */
} ch_shopping_line;

typedef struct ch_shopping {
    ch_shopping_line *lines; /* by kind, and within a kind in the order of parts.yaml */
    size_t count;
    ch_price kinds[CH_GOODS_CONSUMABLE + 1]; /* sum of each kind */
    ch_price sum;
} ch_shopping;

/**
 * What a set of jobs and the access that it needs take to buy, with sums. What is `maybe` raises only the most.
 *
 * @param jobs        From ch_jobs_parse().
 * @param drive       CH_DRIVE_REAR or CH_DRIVE_FRONT: which jobs and access hold for the car.
 * @param chosen      `n` places in ch_jobs.jobs; the same one twice counts once.
 * @param n           Of `chosen`; 0 = none.
 * @param with_access False where the access is open already and what it takes is bought: the jobs alone.
 * @param shopping    (out) Overwritten; untouched on failure. The caller clears it with ch_shopping_clear().
 *
 * @retval CH_E_RANGE, CH_E_INPUT As ch_jobs_closure().
 * @retval CH_E_MEMORY
 */
ch_status ch_jobs_shopping(const ch_jobs *jobs, ch_drive drive, const size_t chosen[], size_t n, bool with_access,
                           ch_shopping *shopping, ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros. */
void ch_shopping_clear(ch_shopping *shopping);

#endif

/**
 * @file knowledge.h
 * What a mechanic knows and physics does not give: causes, observations, checks and cautions, as plain structs.
 *
 * The figures stand in four YAML files (docs/knowledge.md); this reads their text, checks every rule of that page and
 * turns every number into SI. Nothing is opened here: the texts come from the caller, or from those built into the
 * program (ch_knowledge_builtin()). All pointers of a ch_knowledge live until it is cleared.
 */
#ifndef CROSSHATCH_KNOWLEDGE_H
#define CROSSHATCH_KNOWLEDGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

/** What a cylinder can suffer from; the order of causes.yaml. */
typedef enum ch_cause {
    CH_CAUSE_SOUND,
    CH_CAUSE_RINGS_OR_BORE,
    CH_CAUSE_PISTON_DAMAGE,
    CH_CAUSE_INTAKE_VALVE,
    CH_CAUSE_EXHAUST_VALVE,
    CH_CAUSE_VALVE_LASH_TIGHT,
    CH_CAUSE_HEAD_GASKET_BETWEEN_CYLINDERS,
    CH_CAUSE_HEAD_GASKET_TO_COOLANT,
    CH_CAUSE_CRACKED_HEAD,
    CH_CAUSE_CAM_OR_TIMING,
    CH_CAUSE_MEASUREMENT_ERROR,
    CH_CAUSE_COUNT
} ch_cause;

/** The ways out of a cylinder. */
typedef enum ch_path {
    CH_PATH_RINGS,
    CH_PATH_INTAKE_VALVE,
    CH_PATH_EXHAUST_VALVE,
    CH_PATH_NEIGHBOUR,
    CH_PATH_COOLANT,
    CH_PATH_COUNT
} ch_path;

typedef enum ch_scope { CH_SCOPE_CYLINDER, CH_SCOPE_PAIR, CH_SCOPE_ENGINE } ch_scope;

/** Signal words of ANSI Z535.4, gravest first. */
typedef enum ch_signal_word { CH_SIGNAL_DANGER, CH_SIGNAL_WARNING, CH_SIGNAL_CAUTION, CH_SIGNAL_NOTICE } ch_signal_word;

typedef enum ch_observation_kind {
    CH_OBSERVATION_SIGN,   /* noticed */
    CH_OBSERVATION_CHECK,  /* result of a check */
    CH_OBSERVATION_HISTORY /* happened before */
} ch_observation_kind;

/** Blocks of a sheet that a check adds readings to. A set. */
typedef enum ch_rows { CH_ROWS_COMPRESSION = 1, CH_ROWS_WET = 2, CH_ROWS_LEAKDOWN = 4 } ch_rows;

enum { CH_MIXTURE_MAX = 8 };

/** One part of a mixture of log-normal distributions. The unit of the median stands in the name of the field that holds it. */
typedef struct ch_lognormal {
    double weight_1; /* in (0, 1]; 1 where the distribution stands alone */
    double median;   /* > 0 */
    double spread_1; /* > 0, standard deviation of the natural logarithm */
} ch_lognormal;

/** Weights add up to 1; count 0 = not given. */
typedef struct ch_mixture {
    size_t count;
    ch_lognormal part[CH_MIXTURE_MAX];
} ch_mixture;

/** Places in one of the arrays of ch_knowledge. */
typedef struct ch_places {
    const size_t *at;
    size_t count;
} ch_places;

typedef struct ch_knowledge_cause {
    const char *id, *title, *says, *looks_like;
    ch_scope scope;           /* CYLINDER or PAIR */
    double prior_1;           /* [0, 1), one cylinder or one pair alone; NaN for `sound`, which takes the rest */
    double together_chance_1; /* [0, 1], strikes the engine as a whole; 0 where not given */
    double together_share_1;  /* [0, 1], and then each cylinder with this chance, independently */
    double
        together_bank_1; /* [0, 1], part of that chance that strikes one bank alone where there are two; 0 where not given */
    double mileage_exponent_1;           /* 0 where not given */
    double path_chance_1[CH_PATH_COUNT]; /* with no_path_chance_1 they add up to 1 */
    double no_path_chance_1;             /* opens no leak path at all */
    ch_mixture areas_m2;      /* effective area added to the path; count 0 only where no_path_chance_1 is 1 */
    ch_mixture filling_1;     /* factor on the trapped charge; cam_or_timing only */
    ch_mixture reading_1;     /* factor on the gauge reading; measurement_error only */
    double leakdown_wrong_1;  /* [0, 1]; measurement_error only, else NaN */
    double oil_seals_1;       /* [0, 1] */
    const char *cure;         /* id of a job or check; NULL = none */
    ch_places cautions;       /* gravest first */
    const char *prior_source; /* NULL for `sound` */
    const char *areas_source;
    const char *filling_source, *reading_source, *leakdown_wrong_source; /* NULL where there is no figure */
} ch_knowledge_cause;

/** What a person notes of escaping air; chances strictly between 0 and 1. */
typedef struct ch_knowledge_hearing {
    double noted_1;
    double share_1;  /* (0, 1]: part of the escaping air */
    double least_m2; /* >= 0 */
    /* At the oil filler every engine hisses a little: the area from which on half of all listeners note it (least_m2 where not given), how far
     * listeners are apart in that (standard deviation of its logarithm; the same listener goes round the whole engine), and how much of a
     * chance it is for one of them. */
    double least_oil_filler_m2, listeners_spread_1, oil_filler_blur_1;
    double false_intake_1, false_exhaust_1, false_coolant_1, false_cylinder_1, false_oil_filler_1;
} ch_knowledge_hearing;

/** Odds of a cause times (odometer/reference)^exponent, that factor kept in [least, most]. */
typedef struct ch_knowledge_mileage {
    double reference_m;     /* > 0 */
    double least_1, most_1; /* 0 < least <= 1 <= most */
} ch_knowledge_mileage;

typedef struct ch_knowledge_group {
    const char *id, *title;
    double further_1; /* [0, 1]: what each further observation of the group counts */
} ch_knowledge_group;

enum { CH_NO_GROUP = -1 };

/** What observations stand under where somebody chooses among all of them; it counts for nothing. */
typedef struct ch_knowledge_heading {
    const char *id, *title;
} ch_knowledge_heading;

enum { CH_NO_HEADING = -1 };

typedef struct ch_knowledge_observation {
    const char *id, *title, *source;
    const char *follow_up; /* why it wants following up whatever the readings say; NULL where it does not */
    bool do_not_run;  /* seen broken or full: follow_up says what comes before the engine is cranked or run again */
    const char *note; /* NULL where not given */
    const char *const *also; /* other names */
    size_t also_count;
    ch_observation_kind kind;
    ch_scope scope;                         /* CYLINDER or ENGINE; history is always ENGINE */
    long group;                             /* place in ch_knowledge.groups, or CH_NO_GROUP */
    long heading;                           /* place in ch_knowledge.headings, or CH_NO_HEADING */
    double positive_1[CH_CAUSE_COUNT];      /* P(seen, cause), strictly between 0 and 1; NaN for history */
    double odds_1[CH_CAUSE_COUNT];          /* factor on the prior odds, > 0; 1 for signs and checks */
    double odds_together_1[CH_CAUSE_COUNT]; /* the same where the cause strikes the engine as a whole */
    ch_places cautions;                     /* gravest first; those that go with do_not_run */
} ch_knowledge_observation;

typedef struct ch_knowledge_tool {
    const char *id, *title;
    bool everyday; /* nearly every home garage has it */
} ch_knowledge_tool;

/** Work that several checks begin with, done once for those that follow each other. */
typedef struct ch_knowledge_preparation {
    const char *id, *title;
    double time_s; /* > 0; a part of the setup of each check that needs it */
} ch_knowledge_preparation;

enum { CH_PREPARATIONS_MAX = 16 };

typedef struct ch_knowledge_check {
    const char *id, *title, *says, *source;
    const char *note;       /* NULL where not given */
    ch_scope scope;         /* CYLINDER or ENGINE */
    double setup_s, each_s; /* hands-on time: setup + n * each for n cylinders; each_s is 0 for scope ENGINE */
    ch_places needs;        /* in ch_knowledge.tools */
    unsigned rows;          /* ch_rows bits */
    ch_places yields;       /* in ch_knowledge.observations; never history */
    bool last;              /* spoils the readings of every check that has rows */
    bool runs;              /* the engine runs for it: what was prepared before has to be put back */
    ch_places prepares;     /* in ch_knowledge.preparations; what stands after it */
    ch_places cautions;     /* gravest first */
} ch_knowledge_check;

typedef struct ch_knowledge_caution {
    const char *id;
    ch_signal_word word;
    const char *hazard, *consequence, *precaution, *source;
    const char *defer_when; /* NULL where not given */
} ch_knowledge_caution;

/** Sorted names and the place of what each of them means. Use the functions below. */
typedef struct ch_knowledge_names {
    const char *const *name;
    const size_t *place;
    size_t count;
} ch_knowledge_names;

typedef struct ch_knowledge {
    ch_knowledge_cause causes[CH_CAUSE_COUNT]; /* place = ch_cause */
    ch_lognormal background_m2[CH_PATH_COUNT]; /* leak area that every cylinder has; neighbour: one per pair */
    double background_rings_bore_m;            /* bore for which the ring figure holds */
    ch_knowledge_hearing hearing;
    ch_knowledge_mileage mileage;
    const char *background_source, *hearing_source, *mileage_source;

    const ch_knowledge_group *groups;
    size_t groups_count;
    const char *groups_source;
    const ch_knowledge_heading *headings; /* in the order in which they are to be shown */
    size_t headings_count;
    const ch_knowledge_observation *observations;
    size_t observations_count;

    const ch_knowledge_tool *tools;
    size_t tools_count;
    const char *tools_source;
    const ch_knowledge_preparation *preparations;
    size_t preparations_count; /* at most CH_PREPARATIONS_MAX */
    const ch_knowledge_check *checks;
    size_t checks_count;

    const char *always, *always_source; /* shown with every list of cautions */
    const ch_knowledge_caution *cautions;
    size_t cautions_count;

    ch_knowledge_names observation_names, check_names, caution_names; /* of observations: ids and other names */
    struct ch_knowledge_piece *pieces;                                /* what is to be freed */
} ch_knowledge;

/** The four files, in the order in which their texts are given. */
typedef enum ch_knowledge_file {
    CH_KNOWLEDGE_CAUSES,
    CH_KNOWLEDGE_OBSERVATIONS,
    CH_KNOWLEDGE_CHECKS,
    CH_KNOWLEDGE_CAUTIONS,
    CH_KNOWLEDGE_FILES
} ch_knowledge_file;

/** The text of one file, borrowed. */
typedef struct ch_knowledge_text {
    const char *name; /* shown in messages */
    const char *text;
    size_t length; /* bytes */
} ch_knowledge_text;

/** File name of each text inside a folder of knowledge: "causes.yaml", ... Static storage, never NULL. */
const char *ch_knowledge_file_name(ch_knowledge_file file);

/**
 * Read the four texts and check them against each other.
 *
 * @param knowledge (out) Overwritten, not cleared first; untouched on failure. The caller clears it with ch_knowledge_clear().
 * @param texts     In the order of ch_knowledge_file; needed only during the call.
 *
 * @retval CH_E_INPUT  A rule of docs/knowledge.md is broken; with file, line and column.
 * @retval CH_E_LIMIT  Larger than the limits of tree.h, or more than CH_MIXTURE_MAX parts in a mixture.
 * @retval CH_E_MEMORY
 */
ch_status ch_knowledge_parse(ch_knowledge *knowledge, const ch_knowledge_text texts[CH_KNOWLEDGE_FILES], ch_err *err);

/** Give the memory back and leave all zero. Fine on a struct of zeros and on a cleared one. */
void ch_knowledge_clear(ch_knowledge *knowledge);

/**
 * The four texts that were in knowledge/ when the program was built, CH_KNOWLEDGE_FILES of them. Static storage.
 * A copy that does not load is a fault of the build, and a test holds it to that.
 */
const ch_knowledge_text *ch_knowledge_builtin(void);

/**
 * A number that tells CH_KNOWLEDGE_FILES texts from other ones, for what is kept of results that rest on them. It guards nothing.
 * Source: Fowler, Noll and Vo, FNV-1a, 64 bits (parameters of RFC 9923).
 */
uint64_t ch_knowledge_mark(const ch_knowledge_text texts[]);

/** Name of a cause as files and `judge --json` have it: "rings_or_bore". Static storage; NULL outside the enum. */
const char *ch_cause_name(ch_cause cause);

/** The cause of a name; CH_CAUSE_COUNT where there is none. `length` bytes. */
ch_cause ch_cause_find(const char *name, size_t length);

/** Name of a path as files have it: "intake_valve". Static storage; NULL outside the enum. */
const char *ch_path_name(ch_path path);

/** "DANGER", "WARNING", "CAUTION" or "NOTICE". Static storage; NULL outside the enum. */
const char *ch_signal_word_name(ch_signal_word word);

/** What an id, or for observations one of the other names, stands for; NULL where there is none. `length` bytes. */
const ch_knowledge_observation *ch_knowledge_observation_find(const ch_knowledge *knowledge, const char *name,
                                                              size_t length);
/** The same for a check. */
const ch_knowledge_check *ch_knowledge_check_find(const ch_knowledge *knowledge, const char *name, size_t length);
/** The same for a caution. */
const ch_knowledge_caution *ch_knowledge_caution_find(const ch_knowledge *knowledge, const char *name, size_t length);

/** Does the starter turn the engine for this check, or does it run? Every dry and every wet reading is cranked. */
bool ch_knowledge_check_cranks(const ch_knowledge_check *check);

/** The name of an observation that a mistyped one was probably meant to be (ch_nearest_word()), or NULL. */
const char *ch_knowledge_observation_nearest(const ch_knowledge *knowledge, const char *name, size_t length);

#endif

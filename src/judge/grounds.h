/* What the rule of the verdict looks at, and the reasons told of it. Private to verdict.c, which decides, and reasons.c, which tells. */
#ifndef CROSSHATCH_JUDGE_GROUNDS_H
#define CROSSHATCH_JUDGE_GROUNDS_H

#include "judge_parts.h"

/* Chances from which on a cylinder is suspected, somewhere is something wrong, a rule is broken or may be; and the part of the highest under which readings are uneven. */
#define SUSPECT_1 0.25
#define SOMEWHERE_1 0.5
#define BROKEN_1 0.9
#define MAY_BE_BROKEN_1 0.1
#define UNEVEN_1 0.85

/* What the rule looks at. */
typedef struct grounds {
    const ch_sheet *sheet;
    const ch_knowledge *knowledge;
    const ch_unit *unit;
    ch_judgement *j;
    double fault_1[CH_CYLINDERS_MAX], error_1[CH_CYLINDERS_MAX];
    double weight[CH_REASONS_MAX]; /* of the reasons so far */
    bool other_unit, impossible;   /* another unit's numbers, or more than is possible */
    bool contradicted;             /* two tests of a cylinder cannot both be right, or a reading cannot */
    bool one_high;                 /* one may be high rather than the others low, and dry readings alone do not tell */
    bool is_tested[CH_CYLINDERS_MAX]; /* measured dry or leak-tested */
    int tested;                       /* how many of them */
    judge_leak leak[CH_CYLINDERS_MAX];
    judge_noted noted[JUDGE_NOTED_MAX]; /* signs that want following up by themselves */
    size_t noted_count;
} grounds;

/* P(measurement error) of a cylinder is larger than P(fault). */
bool grounds_measuring_explains(const grounds *g, int c);
/* ch_judge_repeat_first() of a cylinder. */
bool grounds_measuring_first(const grounds *g, int c);
const ch_rule_outcome *grounds_chosen(const grounds *g);
/* Chance that some cylinder leaks into the coolant. */
double grounds_coolant_1(const grounds *g);

/* Fill judgement->because from what was weighed and decided. */
void grounds_tell(grounds *g);

#endif

/* Virtual engines: drawn with faults from the prior, measured with the whole cranking model and noisy gauges. docs/study.md tells how. */
#ifndef CROSSHATCH_STUDY_ENGINE_H
#define CROSSHATCH_STUDY_ENGINE_H

#include "crosshatch/emulator.h"
#include "crosshatch/knowledge.h"
#include "crosshatch/sampling.h"
#include "crosshatch/sheet.h"

enum { VIRTUAL_CYLINDERS_MAX = 8, NO_PATH = -1, NO_PARTNER = -1 };

/* What nobody sees of one cylinder. */
typedef struct virtual_cylinder {
    ch_cause cause;
    bool with_others;                         /* the cause strikes the engine as a whole, or two neighbours at once */
    double ring_m2, beside_m2[CH_PATH_COUNT]; /* what it leaks without a fault */
    double extra_m2;                          /* what the fault adds */
    int path;                                 /* where; NO_PATH */
    int partner;                              /* of a gasket gone between two, 0-based; NO_PARTNER */
    bool oil_seals;                           /* its rings answer to oil */
    double filling_1, reading_1;              /* factors on the charge and on what the gauge shows */
    bool leakdown_wrong;                      /* the leak-down test is what is wrong */
    double chamber_1;                         /* what sets it apart without a leak, factor on readings */
} virtual_cylinder;

/* What nobody sees of the engine, the gauge and the day. */
typedef struct virtual_engine {
    int cylinders;
    virtual_cylinder cylinder[VIRTUAL_CYLINDERS_MAX];
    ch_setup setup; /* what the sheet says, defaults for the rest */
    double offset[CH_DOUBT_COUNT];
    double gain_1, zero_pa, repeat_pa;
    double oil_kept_1, oil_factor_1, standing_1, orifice_1;
    double listener_score;  /* of the ring area from which on this listener notes air at the oil filler */
    ch_cause together;      /* CH_CAUSE_SOUND: none */
    double tester_loss_1;   /* what a tester that misleads on all cylinders shows on all; NaN: anything on each */
    unsigned leakdown_plan; /* bit i: cylinder i + 1 is going to be leak-tested when it is first measured */
} virtual_engine;

/* Knowledge with faults made common, the same for drawing and for tracing. */
void study_knowledge_raise(ch_knowledge *knowledge);

/* Draw what the owner knows and what nobody sees. The sheet holds no reading yet. more: tests beside dry readings may follow at once. */
ch_status virtual_engine_draw(const ch_knowledge *knowledge, bool more, ch_stream *stream, virtual_engine *engine,
                              ch_sheet *sheet, ch_err *err);

double virtual_area_m2(const virtual_cylinder *cylinder);
bool virtual_is_faulty(const virtual_cylinder *cylinder);

/* Part of the cylinder's own reading over ambient pressure that its fault costs it, gauge and noise left out: 0 without a fault. */
ch_status virtual_lost_1(const virtual_engine *engine, int cylinder, double *lost_1, ch_err *err);

/* Tests, each a row on the sheet. Cylinders are 0-based here. */
ch_status virtual_dry(const virtual_engine *engine, int cylinder, bool first_stroke, ch_stream *stream, ch_sheet *sheet,
                      ch_err *err);
ch_status virtual_wet(const virtual_engine *engine, int cylinder, bool dose_stated, ch_stream *stream, ch_sheet *sheet,
                      ch_err *err);
ch_status virtual_leakdown(const virtual_engine *engine, const ch_knowledge *knowledge, int cylinder,
                           bool orifice_stated, ch_stream *stream, ch_sheet *sheet, ch_err *err);
/* Look for a sign; cylinder < 0: not said where. */
ch_status virtual_look(const virtual_engine *engine, const ch_knowledge_observation *sign, int cylinder,
                       ch_stream *stream, ch_sheet *sheet, ch_err *err);

/* Dry readings of all cylinders, and a random part of everything else. */
ch_status virtual_measure(const virtual_engine *engine, const ch_knowledge *knowledge, bool more, ch_stream *stream,
                          ch_sheet *sheet, ch_err *err);

/* The cylinder with the lowest mean dry reading. */
int virtual_lowest(const ch_sheet *sheet);

#endif

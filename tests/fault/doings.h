/* What memory_run.c does over and over: one verb with its arguments, or one request. */
#ifndef CROSSHATCH_TESTS_FAULT_DOINGS_H
#define CROSSHATCH_TESTS_FAULT_DOINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "crosshatch/status.h"

enum { DOING_ARGUMENTS = 8, DOING_PATH = 400 };

/* Where it is done, and what lies there. */
typedef struct doing_place {
    char folder[DOING_PATH];
    char garage[DOING_PATH + 16], taken_out[DOING_PATH + 16], copy[DOING_PATH + 16], json[DOING_PATH + 16];
    char archive[DOING_PATH + 16], taken_in[DOING_PATH + 16], packed[DOING_PATH + 16];
    char *base; /* the garage file to begin with, byte for byte */
    size_t base_length;
    uint64_t base_holds; /* deeds_digest() of it */
} doing_place;

typedef struct doing {
    const char *name;
    bool web;                            /* else a verb */
    enum { QUICK, SLOW, SLOWEST } takes; /* below a tenth of a second, more, so much more that only the study does it */
    /* Of a verb: its arguments; of a request: method, address, form. @S the sheet, @J the same in JSON, @B the other one, @P the plan, @L a log, @C its car, @G the garage, @A its archive, @O a folder
       to be made, @K a file to be made, @Z an archive to be made, @N a garage to be made; NULL behind the last. */
    const char *argument[DOING_ARGUMENTS];
} doing;

extern const doing doings[];
extern const size_t doings_count;

/* What came of it. */
typedef struct doing_outcome {
    ch_status
        status; /* of a request: CH_OK where it was answered by a page (200) or led on (303), else a failure as its page says */
    ch_err err;
    uint64_t answer; /* a number for all bytes of the answer and of the files written */
    uint64_t garage; /* a number for what the garage holds then */
    bool left;       /* something half is left in the folder */
    bool ended;      /* a library has ended the program */
} doing_outcome;

/* Fill the folder; false where that is not possible. */
bool doing_prepare(doing_place *place, const char *folder, ch_err *err);
void doing_end(doing_place *place);

/* Whether it is one that changes the garage. */
bool doing_changes(const doing *d);

/* Whether it is one that writes or reads an archive. */
bool doing_packs(const doing *d);

/* Do it once, from the same beginning: the three in their order. `begin` is called before the part that may fail, `end` behind it; doing_look() adds to the outcome what is there then. */
bool doing_start_again(const doing_place *place, doing_outcome *outcome);
void doing_act(const doing_place *place, const doing *d, void (*begin)(void *), void (*end)(void *), void *context,
               doing_outcome *outcome);
void doing_look(const doing_place *place, doing_outcome *outcome);

/* Of requests, in doing_web.c. */
typedef struct doing_answer {
    int status;
    char what[300]; /* of an error page */
    uint64_t bytes;
} doing_answer;
void doing_request(const char *garage, const char *method, const char *address, const char *form, void (*begin)(void *),
                   void (*end)(void *), void *context, doing_answer *answer);

uint64_t doing_sum(uint64_t sum, const void *bytes, size_t length);

#endif

/*
 * How often a device may try the code. Wrong tries make the next one wait: for the address from the third on, 2, 4, 8, ... 300 s; for all
 * addresses together from the twentieth on, 1, 2, 4, ... 600 s, so that many addresses guess no faster. A try made too early is not looked
 * at. At 600 s a try, guessing all day hits a code of six digits with a chance of 1 in 7000.
 *
 * Not safe from several threads by itself: the server calls it under a lock.
 */
#ifndef CROSSHATCH_WEB_PAIRING_H
#define CROSSHATCH_WEB_PAIRING_H

#include <stdbool.h>
#include <stdint.h>

#include "session.h"

enum { PAIRING_ADDRESSES = 64, PAIRING_FREE_TRIES = 3, PAIRING_FREE_TRIES_ALL = 20 };

typedef struct pairing_tries {
    char address[48]; /* "" = free */
    int wrong;
    int64_t next_s; /* not before this second */
} pairing_tries;

typedef struct pairing {
    char code[WEB_CODE_LENGTH + 1];
    pairing_tries each[PAIRING_ADDRESSES];
    pairing_tries all;
} pairing;

typedef enum pairing_answer { PAIRING_RIGHT, PAIRING_WRONG, PAIRING_WAIT } pairing_answer;

void pairing_init(pairing *p, const char code[WEB_CODE_LENGTH + 1]);

/*
 * Try a code (blanks and hyphens in it are skipped; NULL is wrong).
 *
 * address: as text; of IPv6 the first 64 bits count, which is what one household gets.
 * wait_s (out): seconds until the next try is looked at, 0 = at once.
 */
pairing_answer pairing_try(pairing *p, const char *address, const char *code, int64_t now_s, int *wait_s);

#endif

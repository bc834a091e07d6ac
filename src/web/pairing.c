/* Counting tries: pairing.h says the rules. */
#include "pairing.h"

#include <stdio.h>
#include <string.h>

void pairing_init(pairing *p, const char code[WEB_CODE_LENGTH + 1])
{
    *p = (pairing){0};
    memcpy(p->code, code, WEB_CODE_LENGTH);
}

/* 2 s, 4 s, ... for the first, second, ... wrong try beyond those that are free. */
static int delay_s(int beyond, int most_s)
{
    if (beyond <= 0)
        return 0;
    return beyond < 10 && (1 << beyond) < most_s ? 1 << beyond : most_s;
}

/* What counts as one address: of IPv6 the first four groups, written out by the caller's inet_ntop. */
static void address_group(const char *address, char group[48])
{
    snprintf(group, 48, "%s", address);
    int colons = 0;
    for (char *c = group; *c != '\0'; c++) {
        if (*c != ':')
            continue;
        if (c[1] == ':' || ++colons == 4) { /* a double colon stands for the rest being zero */
            c[1] = '\0';
            break;
        }
    }
}

/* The row of this address; the one that may try again earliest makes room for a new one. */
static pairing_tries *row_of(pairing *p, const char *address)
{
    char group[48];
    address_group(address, group);
    pairing_tries *row = &p->each[0];
    for (size_t i = 0; i < PAIRING_ADDRESSES; i++) {
        if (strcmp(p->each[i].address, group) == 0)
            return &p->each[i];
        if (p->each[i].next_s < row->next_s || (p->each[i].address[0] == '\0' && row->address[0] != '\0'))
            row = &p->each[i];
    }
    *row = (pairing_tries){0};
    memcpy(row->address, group, sizeof group);
    return row;
}

static void digits_of(const char *code, char digits[WEB_CODE_LENGTH + 2])
{
    size_t n = 0;
    for (; code != NULL && *code != '\0' && n < WEB_CODE_LENGTH + 1; code++)
        if (*code != ' ' && *code != '-')
            digits[n++] = *code;
    digits[n] = '\0';
}

pairing_answer pairing_try(pairing *p, const char *address, const char *code, int64_t now_s, int *wait_s)
{
    pairing_tries *row = row_of(p, address);
    const int64_t next_s = row->next_s > p->all.next_s ? row->next_s : p->all.next_s;
    *wait_s = 0;
    if (now_s < next_s) {
        *wait_s = (int)(next_s - now_s);
        return PAIRING_WAIT;
    }
    char digits[WEB_CODE_LENGTH + 2];
    digits_of(code, digits);
    if (web_equal(digits, p->code)) {
        *row = (pairing_tries){0};
        p->all = (pairing_tries){0};
        return PAIRING_RIGHT;
    }
    row->wrong++;
    p->all.wrong++;
    row->next_s = now_s + delay_s(row->wrong - PAIRING_FREE_TRIES + 1, 300);
    p->all.next_s = now_s + delay_s(p->all.wrong - PAIRING_FREE_TRIES_ALL, 600);
    *wait_s = (int)((row->next_s > p->all.next_s ? row->next_s : p->all.next_s) - now_s);
    return PAIRING_WRONG;
}

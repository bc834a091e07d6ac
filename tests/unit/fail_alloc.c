/* The linker's --wrap=malloc turns calls of malloc into __wrap_malloc and leaves the real one as __real_malloc. */
#include "fail_alloc.h"

#include <errno.h>
#include <stdint.h>
#include <stdlib.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *memory, size_t size);
char *__real_strdup(const char *text);
char *__real_strndup(const char *text, size_t length);
void __real_free(void *memory);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *memory, size_t size);
char *__wrap_strdup(const char *text);
char *__wrap_strndup(const char *text, size_t length);
void __wrap_free(void *memory);

static bool armed, failed;
static long seen, wanted;
static size_t largest;

/* What was given since fail_alloc_at and not given back: a table of open addresses, and what lies next to a place that was emptied moves up. */
enum { HELD = 1 << 16 };
static uintptr_t held[HELD];
static size_t held_n;

static size_t home_of(uintptr_t memory)
{
    return (size_t)((memory >> 4) * 2654435761U) % HELD;
}

static void *hold(void *memory)
{
    if (!armed || memory == NULL || held_n == HELD / 2)
        return memory;
    size_t at = home_of((uintptr_t)memory);
    while (held[at] != 0)
        at = (at + 1) % HELD;
    held[at] = (uintptr_t)memory;
    held_n++;
    return memory;
}

static void let_go(uintptr_t memory)
{
    size_t at = home_of(memory);
    while (held[at] != memory && held[at] != 0)
        at = (at + 1) % HELD;
    if (held[at] == 0)
        return;
    held_n--;
    held[at] = 0;
    for (size_t next = (at + 1) % HELD; held[next] != 0; next = (next + 1) % HELD) {
        const uintptr_t moved = held[next];
        held[next] = 0;
        size_t to = home_of(moved);
        while (held[to] != 0)
            to = (to + 1) % HELD;
        held[to] = moved;
    }
}

size_t fail_alloc_left(void)
{
    return held_n;
}

void fail_alloc_at(long n)
{
    for (size_t i = 0; i < HELD && held_n > 0; i++) {
        held_n -= held[i] != 0;
        held[i] = 0;
    }
    armed = true;
    failed = false;
    seen = 0;
    largest = 0;
    wanted = n;
}

bool fail_alloc_stop(void)
{
    armed = false;
    return failed;
}

long fail_alloc_seen(void)
{
    return seen;
}

size_t fail_alloc_largest(void)
{
    return largest;
}

long fail_alloc_most(long usual)
{
    const char *named = getenv("CROSSHATCH_FAULTS");
    const long most = named != NULL ? strtol(named, NULL, 10) : 0;
    return most > usual ? most : usual;
}

static bool fails_now(size_t bytes)
{
    if (!armed)
        return false;
    largest = bytes > largest ? bytes : largest;
    if (++seen != wanted)
        return false;
    failed = true;
    errno = ENOMEM;
    return true;
}

void *__wrap_malloc(size_t size)
{
    return fails_now(size) ? NULL : hold(__real_malloc(size));
}

void *__wrap_calloc(size_t n, size_t size)
{
    return fails_now(n * size) ? NULL : hold(__real_calloc(n, size));
}

void *__wrap_realloc(void *memory, size_t size)
{
    if (fails_now(size))
        return NULL;
    const uintptr_t was = (uintptr_t)memory;
    void *const made = __real_realloc(memory, size);
    if (made != NULL)
        let_go(was);
    return hold(made);
}

char *__wrap_strdup(const char *text)
{
    return fails_now(0) ? NULL : hold(__real_strdup(text));
}

char *__wrap_strndup(const char *text, size_t length)
{
    return fails_now(0) ? NULL : hold(__real_strndup(text, length));
}

void __wrap_free(void *memory)
{
    let_go((uintptr_t)memory);
    __real_free(memory);
}

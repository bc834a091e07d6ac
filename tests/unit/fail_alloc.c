/* The linker's --wrap=malloc turns calls of malloc into __wrap_malloc and leaves the real one as __real_malloc. */
#include "fail_alloc.h"

#include <errno.h>
#include <stdlib.h>

void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *memory, size_t size);
char *__real_strdup(const char *text);
char *__real_strndup(const char *text, size_t length);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *memory, size_t size);
char *__wrap_strdup(const char *text);
char *__wrap_strndup(const char *text, size_t length);

static bool armed, failed;
static long seen, wanted;
static size_t largest;

void fail_alloc_at(long n)
{
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
    return fails_now(size) ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return fails_now(n * size) ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *memory, size_t size)
{
    return fails_now(size) ? NULL : __real_realloc(memory, size);
}

char *__wrap_strdup(const char *text)
{
    return fails_now(0) ? NULL : __real_strdup(text);
}

char *__wrap_strndup(const char *text, size_t length)
{
    return fails_now(0) ? NULL : __real_strndup(text, length);
}

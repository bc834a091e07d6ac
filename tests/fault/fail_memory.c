#define _GNU_SOURCE /* dl_iterate_phdr */
#include "fail_memory.h"

#include <errno.h>
#include <execinfo.h>
#include <link.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../unit/fail_alloc.h"

const char *const memory_names[MEMORY_PARTS] = {"our memory", "libraries' memory", "archives' memory"};

#if defined(__SANITIZE_ADDRESS__) || !defined(__GLIBC__)
enum { CAN_INTERPOSE = 0 };
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(memory_sanitizer) || __has_feature(thread_sanitizer)
enum { CAN_INTERPOSE = 0 };
#else
#define INTERPOSE
enum { CAN_INTERPOSE = 1 };
#endif
#else
#define INTERPOSE
enum { CAN_INTERPOSE = 1 };
#endif

static struct {
    memory_of part;
    bool armed, failed;
    long seen, wanted;
    const char *where;
} fault = {.where = ""};

static atomic_long blocks;

/* ---------------------------------------------------------------- whose code it is */

static const struct {
    const char *name;
    memory_of part;
} libraries[] = {{"libjansson", MEMORY_LIBRARIES},    {"libgsl.", MEMORY_LIBRARIES},   {"libsqlite3", MEMORY_LIBRARIES},
                 {"libqrencode", MEMORY_LIBRARIES},   {"libpng", MEMORY_LIBRARIES},    {"libjpeg", MEMORY_LIBRARIES},
                 {"libgnutls.", MEMORY_LIBRARIES},    {"libnettle", MEMORY_LIBRARIES}, {"libhogweed", MEMORY_LIBRARIES},
                 {"libarchive.", MEMORY_OF_ARCHIVES}, {"libz.", MEMORY_OF_ARCHIVES}};
enum { LIBRARIES = sizeof libraries / sizeof libraries[0], RANGES = 64 };

static struct {
    uintptr_t begin, end;
    const char *name;
    memory_of part;
} ranges[RANGES];
static size_t range_count;

static int note_ranges(struct dl_phdr_info *info, size_t size, void *context)
{
    (void)size;
    (void)context;
    const char *slash = strrchr(info->dlpi_name, '/');
    size_t is = 0;
    while (is < LIBRARIES && (slash == NULL || strncmp(slash + 1, libraries[is].name, strlen(libraries[is].name)) != 0))
        is++;
    for (int i = 0; is < LIBRARIES && i < info->dlpi_phnum && range_count < RANGES; i++) {
        if (info->dlpi_phdr[i].p_type != PT_LOAD || (info->dlpi_phdr[i].p_flags & PF_X) == 0)
            continue;
        ranges[range_count].begin = info->dlpi_addr + info->dlpi_phdr[i].p_vaddr;
        ranges[range_count].end = ranges[range_count].begin + info->dlpi_phdr[i].p_memsz;
        ranges[range_count].part = libraries[is].part;
        ranges[range_count++].name = libraries[is].name;
    }
    return 0;
}

/* ---------------------------------------------------------------- arming */

bool fail_memory_can(memory_of part)
{
    return part == MEMORY_OURS || CAN_INTERPOSE;
}

void fail_memory_at(memory_of part, long n)
{
    if (range_count == 0)
        dl_iterate_phdr(note_ranges, NULL);
    fault.part = part;
    fault.failed = false;
    fault.seen = 0;
    fault.wanted = n;
    fault.where = "";
    if (part == MEMORY_OURS)
        fail_alloc_at(n);
    fault.armed = true;
}

bool fail_memory_stop(long *seen)
{
    fault.armed = false;
    const bool ours = fault.part == MEMORY_OURS;
    *seen = ours ? fail_alloc_seen() : fault.seen;
    return ours ? fail_alloc_stop() : fault.failed;
}

long fail_memory_blocks(void)
{
    return blocks;
}

const char *fail_memory_where(void)
{
    return fault.where;
}

static int end_status;

static void end_with_library(int number)
{
    enum { HANDLER = 2, FRAMES = 3 }; /* this function, what called it, where it happened */
    void *frames[FRAMES];
    const int count =
        backtrace(frames, FRAMES); /* NOLINT(bugprone-signal-handler): loaded before, and nothing is left to be saved */
    for (size_t i = 0; count == FRAMES && i < range_count; i++)
        if ((uintptr_t)frames[HANDLER] >= ranges[i].begin && (uintptr_t)frames[HANDLER] < ranges[i].end)
            _exit(end_status);
    _exit(128 + number);
}

void fail_memory_ends_with_library(int status)
{
    void *frames[1];
    end_status = status;
    (void)backtrace(frames, 1); /* loads what it needs now */
    (void)signal(SIGSEGV, end_with_library);
}

/* ---------------------------------------------------------------- in malloc's place */

#ifdef INTERPOSE

static bool fails_now(const void *caller)
{
    if (!fault.armed || fault.part == MEMORY_OURS)
        return false;
    const char *name = NULL;
    for (size_t i = 0; i < range_count && name == NULL; i++)
        if (ranges[i].part == fault.part && (uintptr_t)caller >= ranges[i].begin && (uintptr_t)caller < ranges[i].end)
            name = ranges[i].name;
    if (name == NULL || ++fault.seen != fault.wanted)
        return false;
    fault.failed = true;
    fault.where = name;
    errno = ENOMEM;
    return true;
}

static void *counted(void *memory)
{
    if (memory != NULL)
        blocks++;
    return memory;
}

/* The names under which glibc has its own ("Replacing malloc", The GNU C Library). */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t n, size_t size);
void *__libc_realloc(void *memory, size_t size);
void *__libc_memalign(size_t alignment, size_t size);
void __libc_free(void *memory);

/* The C library's headers name the parameters with names that are reserved for it. NOLINTBEGIN(readability-inconsistent-declaration-parameter-name) */
void *malloc(size_t size)
{
    return fails_now(__builtin_return_address(0)) ? NULL : counted(__libc_malloc(size));
}

void *calloc(size_t n, size_t size)
{
    return fails_now(__builtin_return_address(0)) ? NULL : counted(__libc_calloc(n, size));
}

void *realloc(void *memory, size_t size)
{
    if (fails_now(__builtin_return_address(0)))
        return NULL;
    void *other = __libc_realloc(memory, size);
    if (memory == NULL && other != NULL)
        blocks++;
    else if (memory != NULL && size == 0 && other == NULL)
        blocks--;
    return other;
}

void *memalign(size_t alignment, size_t size);
void *memalign(size_t alignment, size_t size)
{
    return counted(__libc_memalign(alignment, size));
}

void *aligned_alloc(size_t alignment, size_t size)
{
    return counted(__libc_memalign(alignment, size));
}

int posix_memalign(void **memory, size_t alignment, size_t size)
{
    void *made = counted(__libc_memalign(alignment, size));
    if (made == NULL)
        return ENOMEM;
    *memory = made;
    return 0;
}

void free(void *memory)
{
    if (memory != NULL)
        blocks--;
    __libc_free(memory);
}

/* The C library's copies would be called for from within it; they are those of the library that asked. */
static char *copy(const char *text, size_t length, const void *caller)
{
    char *made = fails_now(caller) ? NULL : counted(__libc_malloc(length + 1));
    if (made != NULL) {
        memcpy(made, text, length);
        made[length] = '\0';
    }
    return made;
}

#undef strdup
#undef strndup
char *strdup(const char *text)
{
    return copy(text, strlen(text), __builtin_return_address(0));
}

char *strndup(const char *text, size_t length)
{
    return copy(text, strnlen(text, length), __builtin_return_address(0));
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */

#endif

#include "lose_power.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "disk_layer.h"

enum { FILES = 4096, NAMES = 8192, SECTOR = 512, NAME = 96, FOLDER = 400 };

typedef struct change {
    bool cut; /* to `at` bytes; else a write */
    size_t at, length;
    unsigned char *bytes;
} change;

/* One file, whatever its name. */
typedef struct disk_file {
    unsigned char *sure; /* as of the last flush */
    size_t sure_length;
    change *changes;
    size_t count, room;
} disk_file;

/* What a name leads to: -1 = nothing. */
typedef struct entry {
    char name[NAME];
    int file;
} entry;

/* A name made, led elsewhere or (-1) removed; with `from`, that name is gone at the same moment. */
typedef struct name_change {
    entry to;
    char from[NAME];
} name_change;

typedef struct folder {
    entry entries[64];
    int count;
} folder;

static struct {
    char path[FOLDER];
    bool on, lie;
    void (*call)(void *context);
    void *context;
    disk_file files[FILES];
    int file_count;
    folder seen, sure;
    name_change changes[NAMES]; /* since the folder's last flush */
    int change_count;
    bool failed; /* out of room: no more cuts */
} disk;

/* ---------------------------------------------------------------- names */

/* The name inside the folder, or NULL where the path leads elsewhere. The log's index is no file to the disk: each opening makes it anew. */
static const char *inside(const char *path)
{
    const size_t length = strlen(disk.path);
    if (!disk.on || path == NULL || strncmp(path, disk.path, length) != 0 || path[length] != '/')
        return NULL;
    return path + length + 1;
}

static entry *look_up(folder *f, const char *name)
{
    for (int i = 0; i < f->count; i++)
        if (strcmp(f->entries[i].name, name) == 0)
            return &f->entries[i];
    return NULL;
}

static void put_name(folder *f, const char *name, int file)
{
    entry *e = look_up(f, name);
    for (int i = 0; i < f->count && e == NULL; i++)
        if (f->entries[i].file < 0)
            e = &f->entries[i];
    if (e == NULL && f->count == (int)(sizeof f->entries / sizeof f->entries[0])) {
        disk.failed = true;
        return;
    }
    if (e == NULL)
        e = &f->entries[f->count++];
    snprintf(e->name, sizeof e->name, "%s", name);
    e->file = file;
}

static int file_of(const char *name)
{
    const entry *e = look_up(&disk.seen, name);
    return e != NULL ? e->file : -1;
}

static void change_name(folder *f, const name_change *c)
{
    if (c->from[0] != '\0')
        put_name(f, c->from, -1);
    put_name(f, c->to.name, c->to.file);
}

static void name_changed(const char *name, int file, const char *from)
{
    if (disk.change_count == NAMES) {
        disk.failed = true;
        return;
    }
    name_change *c = &disk.changes[disk.change_count++];
    snprintf(c->to.name, sizeof c->to.name, "%s", name);
    snprintf(c->from, sizeof c->from, "%s", from);
    c->to.file = file;
    change_name(&disk.seen, c);
}

static void folder_flushed(void)
{
    if (disk.lie)
        return;
    disk.sure = disk.seen;
    disk.change_count = 0;
}

/* ---------------------------------------------------------------- bytes */

static int new_file(void)
{
    if (disk.file_count == FILES) {
        disk.failed = true;
        return 0;
    }
    disk.files[disk.file_count] = (disk_file){0};
    return disk.file_count++;
}

static void changed(int file, bool cut, size_t at, const void *bytes, size_t length)
{
    disk_file *f = &disk.files[file];
    if (f->count == f->room) {
        const size_t room = f->room > 0 ? 2 * f->room : 64;
        change *more = realloc(f->changes, room * sizeof *more);
        if (more == NULL) {
            disk.failed = true;
            return;
        }
        f->changes = more;
        f->room = room;
    }
    change *c = &f->changes[f->count];
    *c = (change){.cut = cut, .at = at, .length = length, .bytes = NULL};
    if (length > 0) {
        c->bytes = malloc(length);
        if (c->bytes == NULL) {
            disk.failed = true;
            return;
        }
        memcpy(c->bytes, bytes, length);
    }
    f->count++;
}

static bool grow(unsigned char **bytes, size_t *length, size_t to)
{
    if (to <= *length)
        return true;
    unsigned char *more = realloc(*bytes, to);
    if (more == NULL) {
        disk.failed = true;
        return false;
    }
    memset(more + *length, 0, to - *length);
    *bytes = more;
    *length = to;
    return true;
}

static void file_flushed(int file)
{
    disk_file *f = &disk.files[file];
    if (disk.lie)
        return;
    for (size_t i = 0; i < f->count; i++) {
        const change *c = &f->changes[i];
        if (c->cut)
            f->sure_length = c->at < f->sure_length ? c->at : f->sure_length;
        if (grow(&f->sure, &f->sure_length, c->at + c->length) && c->length > 0)
            memcpy(f->sure + c->at, c->bytes, c->length);
        free(c->bytes);
    }
    f->count = 0;
}

/* ---------------------------------------------------------------- steps of the running program */

static void step(void)
{
    if (disk.call != NULL)
        disk.call(disk.context);
}

static int before_call(disk_call *call)
{
    if (call->kind == DISK_FLUSH && inside(call->name) != NULL)
        step();
    return SQLITE_OK;
}

static void after_call(const disk_call *call)
{
    const char *name = inside(call->name);
    if (name == NULL)
        return;
    const int file = file_of(name);
    switch (call->kind) {
    case DISK_OPEN:
        if (file >= 0 || !call->fresh || (call->flags & SQLITE_OPEN_CREATE) == 0)
            return;
        name_changed(name, new_file(), "");
        break;
    case DISK_WRITE:
        if (file >= 0)
            changed(file, false, (size_t)call->at, call->bytes, (size_t)call->amount);
        break;
    case DISK_TRUNCATE:
        if (file >= 0)
            changed(file, true, (size_t)call->at, NULL, 0);
        break;
    case DISK_FLUSH:
        if (file >= 0)
            file_flushed(file);
        if (call->fresh && (call->flags & (SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL)) != 0)
            folder_flushed();
        return;
    case DISK_DELETE:
        if (file >= 0)
            name_changed(name, -1, "");
        if (call->folder)
            folder_flushed();
        break;
    case DISK_READ:
    case DISK_SIZE:
    case DISK_SHARED: return;
    }
    step();
}

int __real_open(const char *name, int flags, ...);
int __real_open64(const char *name, int flags, ...);
int __real_link(const char *from, const char *to);
int __real_mkstemp(char *name);
int __real_mkstemp64(char *name);
int __real_rename(const char *from, const char *to);
int __real_unlink(const char *name);
int __real_fsync(int descriptor);
int __wrap_open(const char *name, int flags, ...);
int __wrap_open64(const char *name, int flags, ...);
int __wrap_link(const char *from, const char *to);
int __wrap_mkstemp(char *name);
int __wrap_mkstemp64(char *name);
int __wrap_rename(const char *from, const char *to);
int __wrap_unlink(const char *name);
int __wrap_fsync(int descriptor);

static int made(int descriptor, const char *name)
{
    if (descriptor >= 0 && inside(name) != NULL) {
        name_changed(inside(name), new_file(), "");
        step();
    }
    return descriptor;
}

/* open64 and mkstemp64: what they are called where offsets of 64 bits are asked for */
int __wrap_mkstemp(char *name)
{
    return made(__real_mkstemp(name), name);
}

int __wrap_mkstemp64(char *name)
{
    return made(__real_mkstemp64(name), name);
}

/* Only a file that was not there is made by it. */
#define WRAP_OPEN(open)                                                                                                \
    int __wrap_##open(const char *name, int flags, ...)                                                                \
    {                                                                                                                  \
        va_list arguments;                                                                                             \
        va_start(arguments, flags);                                                                                    \
        const mode_t mode = (flags & O_CREAT) != 0 ? va_arg(arguments, mode_t) : 0;                                    \
        va_end(arguments);                                                                                             \
        const bool fresh = (flags & O_CREAT) != 0 && access(name, F_OK) != 0;                                          \
        const int descriptor = __real_##open(name, flags, mode);                                                       \
        return fresh ? made(descriptor, name) : descriptor;                                                            \
    }
WRAP_OPEN(open)
WRAP_OPEN(open64)

int __wrap_link(const char *from, const char *to)
{
    const int code = __real_link(from, to);
    if (code == 0 && inside(from) != NULL && inside(to) != NULL) {
        name_changed(inside(to), file_of(inside(from)), "");
        step();
    }
    return code;
}

int __wrap_rename(const char *from, const char *to)
{
    const int code = __real_rename(from, to);
    if (code == 0 && inside(from) != NULL && inside(to) != NULL) {
        name_changed(inside(to), file_of(inside(from)), inside(from));
        step();
    }
    return code;
}

int __wrap_unlink(const char *name)
{
    const int code = __real_unlink(name);
    if (code == 0 && inside(name) != NULL) {
        name_changed(inside(name), -1, "");
        step();
    }
    return code;
}

int __wrap_fsync(int descriptor)
{
    char link[64], path[FOLDER + NAME + 2];
    snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
    const ssize_t length = disk.on ? readlink(link, path, sizeof path - 1) : -1;
    if (length < 0)
        return __real_fsync(descriptor);
    path[length] = '\0';
    const bool folder_itself = strcmp(path, disk.path) == 0;
    const char *name = inside(path);
    if (folder_itself || name != NULL)
        step();
    if (folder_itself)
        folder_flushed();
    else if (name != NULL && file_of(name) >= 0)
        file_flushed(file_of(name));
    return 0; /* the folder is one in memory */
}

/* ---------------------------------------------------------------- beginning and ending */

static void adopt(const char *name)
{
    char path[FOLDER + NAME + 2];
    snprintf(path, sizeof path, "%s/%s", disk.path, name);
    FILE *file = fopen(path, "rb");
    const int made = new_file();
    disk_file *f = &disk.files[made];
    unsigned char piece[4096];
    for (size_t got = 1; file != NULL && got > 0;) {
        got = fread(piece, 1, sizeof piece, file);
        const size_t at = f->sure_length;
        if (got > 0 && grow(&f->sure, &f->sure_length, at + got))
            memcpy(f->sure + at, piece, got);
    }
    if (file != NULL)
        fclose(file);
    put_name(&disk.sure, name, made);
}

static bool is_index(const char *name)
{
    const size_t length = strlen(name);
    return length > 4 && strcmp(name + length - 4, "-shm") == 0;
}

bool power_watch(const char *path, void (*call)(void *context), void *context)
{
    power_stop();
    disk_layer_begin((disk_hooks){.before = before_call, .after = after_call});
    snprintf(disk.path, sizeof disk.path, "%s", path);
    DIR *d = opendir(path);
    for (struct dirent *e = d != NULL ? readdir(d) : NULL; e != NULL; e = readdir(d))
        if (e->d_name[0] != '.' && !is_index(e->d_name))
            adopt(e->d_name);
    if (d != NULL)
        closedir(d);
    disk.seen = disk.sure;
    disk.call = call;
    disk.context = context;
    disk.on = true;
    return !disk.failed;
}

void power_stop(void)
{
    for (int i = 0; i < disk.file_count; i++) {
        for (size_t k = 0; k < disk.files[i].count; k++)
            free(disk.files[i].changes[k].bytes);
        free(disk.files[i].changes);
        free(disk.files[i].sure);
    }
    memset(&disk, 0, sizeof disk);
}

void power_lie(bool lie)
{
    disk.lie = lie;
}

/* ---------------------------------------------------------------- what the disk may hold */

typedef struct dice {
    uint64_t state;
} dice;

/* SplitMix64: Steele, Lea and Flood, Fast Splittable Pseudorandom Number Generators, OOPSLA 2014. */
static uint64_t roll(dice *d)
{
    d->state += 0x9e3779b97f4a7c15U;
    uint64_t z = d->state;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

static bool happens(dice *d, unsigned percent)
{
    return roll(d) % 100 < percent;
}

/* How likely each piece is to arrive: all, none, or something between, another for each cut and file. */
static unsigned luck(dice *d)
{
    static const unsigned percent[] = {0, 5, 30, 50, 70, 95, 100};
    return percent[roll(d) % (sizeof percent / sizeof percent[0])];
}

static void arrive(const disk_file *f, const change *c, unsigned percent, dice *d, unsigned char **bytes,
                   size_t *length, power_toll *toll)
{
    for (size_t from = c->at; from < c->at + c->length;) {
        const size_t end = from / SECTOR * SECTOR + SECTOR;
        const size_t to = end < c->at + c->length ? end : c->at + c->length;
        size_t upto = to;
        toll->sectors++;
        if (!happens(d, percent)) {
            upto = from;
            if (from >= f->sure_length && happens(d, 10) && grow(bytes, length, to)) {
                for (size_t i = from; i < to; i++)
                    (*bytes)[i] = (unsigned char)roll(d);
                toll->strange++;
            } else {
                toll->lost++;
            }
        } else if (percent < 100 && happens(d, 5)) {
            upto = from + (size_t)(roll(d) % (to - from));
            toll->torn++;
        }
        if (upto > from && grow(bytes, length, upto))
            memcpy(*bytes + from, c->bytes + (from - c->at), upto - from);
        from = to;
    }
}

static bool write_file(const disk_file *f, const char *into, const char *name, dice *d, power_toll *toll)
{
    unsigned char *bytes = NULL;
    size_t length = 0;
    if (!grow(&bytes, &length, f->sure_length))
        return false;
    if (length > 0)
        memcpy(bytes, f->sure, length);
    const unsigned percent = luck(d);
    /* half of the time in order up to some moment, else any of them */
    const size_t upto = happens(d, 50) && f->count > 0 ? (size_t)(roll(d) % (f->count + 1)) : f->count;
    for (size_t i = 0; i < upto; i++) {
        const change *c = &f->changes[i];
        if (!c->cut)
            arrive(f, c, percent, d, &bytes, &length, toll);
        else if (happens(d, percent))
            length = c->at < length ? c->at : length;
    }
    char path[FOLDER + NAME + 2];
    snprintf(path, sizeof path, "%s/%s", into, name);
    FILE *file = fopen(path, "wb");
    bool good = file != NULL && (length == 0 || fwrite(bytes, 1, length, file) == length);
    if (file != NULL && fclose(file) != 0)
        good = false;
    free(bytes);
    return good;
}

bool power_empty(const char *path)
{
    DIR *d = opendir(path);
    if (d == NULL)
        return false;
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d)) {
        char name[FOLDER + 300];
        snprintf(name, sizeof name, "%s/%s", path, e->d_name);
        if (e->d_name[0] != '.')
            (void)__real_unlink(name);
    }
    closedir(d);
    return true;
}

/* The log's index as a crash leaves it: anything. */
static bool write_index(const char *into, const char *name, dice *d)
{
    char path[FOLDER + NAME + 8];
    snprintf(path, sizeof path, "%s/%s-shm", into, name);
    FILE *file = fopen(path, "wb");
    const size_t length = (size_t)(roll(d) % 4) * 16384;
    bool good = file != NULL;
    for (size_t i = 0; i < length && good; i++)
        good = fputc((int)(roll(d) & 0xff), file) != EOF;
    if (file != NULL && fclose(file) != 0)
        good = false;
    return good;
}

bool power_cut(uint64_t seed, const char *into, power_toll *toll)
{
    dice d = {seed};
    if (disk.failed || !power_empty(into))
        return false;
    folder left = disk.sure;
    const unsigned percent = luck(&d);
    for (int i = 0; i < disk.change_count; i++) {
        toll->names++;
        if (happens(&d, percent))
            change_name(&left, &disk.changes[i]);
        else
            toll->names_lost++;
    }
    bool good = true;
    for (int i = 0; i < left.count && good; i++)
        if (left.entries[i].file >= 0)
            good = write_file(&disk.files[left.entries[i].file], into, left.entries[i].name, &d, toll);
    if (good && happens(&d, 50))
        good = write_index(into, "garage.db", &d);
    return good && !disk.failed;
}

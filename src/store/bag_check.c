/*
 * A garage's archive, read: a bag (RFC 8493) in a ZIP file that may come from anyone.
 *
 *  1. A name inside is compared, never used as the name of a file.
 *  2. Sizes are counted while unpacking, so that what a header claims does not matter.
 *  3. Nothing is believed of a file before its digest was that of the list, and nothing of the list before its own was right.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag.h"

void bag_locate(ch_err *err, const char *name, const char *path, long line, long column)
{
    char place[256];
    snprintf(place, sizeof place, "%s%s%s", name, path != NULL ? "/" : "", path != NULL ? path : "");
    ch_err_locate(err, place, line, column);
}

/* ---- the ZIP file ---- */

typedef struct feeder {
    const ch_store_source *source;
    int64_t at;
    ch_err *err;
    ch_status status;
    unsigned char piece[BAG_PIECE];
} feeder;

static la_ssize_t feed(struct archive *zip, void *context, const void **bytes)
{
    feeder *f = context;
    size_t got = 0;
    (void)zip;
    f->status = f->source->read(f->source->context, f->at, f->piece, sizeof f->piece, &got, f->err);
    if (f->status < 0)
        return -1;
    f->at += (int64_t)got;
    *bytes = f->piece;
    return (la_ssize_t)got;
}

static la_int64_t seek(struct archive *zip, void *context, la_int64_t offset, int whence)
{
    feeder *f = context;
    (void)zip;
    const int64_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? f->at : f->source->length;
    if (offset < -base || offset > f->source->length - base)
        return ARCHIVE_FATAL;
    f->at = base + offset;
    return f->at;
}

static ch_status unreadable(struct archive *zip, const feeder *f, const char *path, ch_err *err)
{
    if (f->status < 0)
        return f->status; /* it has said why */
    if (bag_lacks_memory(zip)) {
        ch_fail(err, CH_E_MEMORY, NULL, "no memory to read the archive");
        bag_locate(err, f->source->name, path, 0, 0);
        return CH_E_MEMORY;
    }
    const char *why = archive_error_string(zip);
    ch_fail(err, CH_E_INPUT, "an archive that `crosshatch export` wrote, whole: nothing was taken from this one",
            "the archive is damaged or cut off%s%s", why != NULL ? ": " : "", why != NULL ? why : "");
    bag_locate(err, f->source->name, path, 0, 0);
    return CH_E_INPUT;
}

/* The path without the top folder, where it is one that an archive of ours has; else NULL. */
static const char *plain_path(const char *name)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._/-";
    const size_t top = strlen(BAG_TOP);
    if (name == NULL || strncmp(name, BAG_TOP, top) != 0)
        return NULL;
    const char *path = name + top;
    const size_t length = strlen(path);
    return length > CH_STORE_ARCHIVE_PATH_MAX || strspn(path, allowed) != length || strstr(path, "..") != NULL ||
                   strstr(path, "//") != NULL || path[0] == '/'
               ? NULL
               : path;
}

static ch_status refuse_name(const feeder *f, const char *name, ch_err *err)
{
    char shown[80] = "";
    if (name != NULL)
        ch_text_excerpt(name, strlen(name), shown, sizeof shown);
    ch_fail(err, CH_E_INPUT, "an archive that `crosshatch export` wrote: nothing was taken from this one",
            "a file or folder named \"%s\" has no place in it", shown);
    bag_locate(err, f->source->name, NULL, 0, 0);
    return CH_E_INPUT;
}

static ch_status too_much(const feeder *f, const char *right, const char *what, ch_err *err)
{
    ch_fail(err, CH_E_LIMIT, right, "%s", what);
    bag_locate(err, f->source->name, NULL, 0, 0);
    return CH_E_LIMIT;
}

static ch_status pass_file(struct archive *zip, feeder *f, const char *path, int64_t *total, bag_take *take,
                           void *context, ch_err *err)
{
    const int64_t most = CH_STORE_ARCHIVE_FREE + f->source->length * CH_STORE_ARCHIVE_EXPAND;
    unsigned char piece[BAG_PIECE / 2];
    for (;;) {
        errno = 0;
        const la_ssize_t got = archive_read_data(zip, piece, sizeof piece);
        if (got < 0)
            return unreadable(zip, f, path, err);
        *total += got;
        if (*total > most)
            return too_much(f, "an archive that unpacks to 64 MiB and 200 times its size at most",
                            "the archive unpacks to more than it can hold", err);
        const ch_status rc = take(path, piece, (size_t)got, context, err);
        if (rc < 0 || got == 0)
            return rc;
    }
}

static ch_status walk(struct archive *zip, feeder *f, bag_take *take, void *context, ch_err *err)
{
    struct archive_entry *entry = NULL;
    int64_t files = 0, total = 0;
    for (;;) {
        errno = 0;
        const int code = archive_read_next_header(zip, &entry);
        if (code == ARCHIVE_EOF)
            return CH_OK;
        if (code != ARCHIVE_OK)
            return unreadable(zip, f, NULL, err);
        const char *name = archive_entry_pathname(entry), *path = plain_path(name);
        const bool folder = archive_entry_filetype(entry) == AE_IFDIR;
        if (path == NULL || (archive_entry_filetype(entry) != AE_IFREG && !folder) ||
            archive_entry_symlink(entry) != NULL || archive_entry_hardlink(entry) != NULL)
            return refuse_name(f, name, err);
        if (++files > CH_STORE_ARCHIVE_FILES_MAX)
            return too_much(f, "at most 200000 files", "the archive holds too many files", err);
        char kept[CH_STORE_ARCHIVE_PATH_MAX + 1]; /* the entry may go when its data is read */
        snprintf(kept, sizeof kept, "%s", path);
        const ch_status rc = folder ? CH_OK : pass_file(zip, f, kept, &total, take, context, err);
        if (rc < 0)
            return rc;
    }
}

ch_status bag_walk(const ch_store_source *source, bag_take *take, void *context, ch_err *err)
{
    feeder *f = calloc(1, sizeof *f);
    struct archive *zip = archive_read_new();
    ch_status rc = CH_OK;
    if (f == NULL || zip == NULL) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory to read the archive");
    } else {
        f->source = source;
        f->err = err;
        errno = 0;
        if (archive_read_support_format_zip_seekable(zip) != ARCHIVE_OK ||
            archive_read_set_read_callback(zip, feed) != ARCHIVE_OK ||
            archive_read_set_seek_callback(zip, seek) != ARCHIVE_OK ||
            archive_read_set_callback_data(zip, f) != ARCHIVE_OK || archive_read_open1(zip) != ARCHIVE_OK)
            rc = unreadable(zip, f, NULL, err);
        else
            rc = walk(zip, f, take, context, err);
    }
    archive_read_free(zip);
    free(f);
    return rc;
}

/* ---- the lists inside ---- */

typedef struct checking {
    const ch_store_source *source;
    bag_entry *seen; /* `count`, in the archive's order, with digests of what was unpacked */
    size_t count, capacity;
    gnutls_hash_hd_t hash; /* of the file that is being read; NULL between files */
    ch_text text[4];       /* what the bag says of itself; `texts` in this order */
    int64_t bytes;
} checking;

enum { DECLARATION, INFO, MANIFEST, TAGS, TEXTS };
static const char *const texts[TEXTS] = {"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"};

static ch_status begin_file(checking *c, const char *path, ch_err *err)
{
    if (c->count == c->capacity) {
        const size_t capacity = c->capacity == 0 ? 64 : 2 * c->capacity;
        bag_entry *grown = realloc(c->seen, capacity * sizeof *grown);
        if (grown == NULL)
            return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the list of files");
        c->seen = grown;
        c->capacity = capacity;
    }
    if (gnutls_hash_init(&c->hash, GNUTLS_DIG_SHA256) < 0) {
        c->hash = NULL;
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a digest");
    }
    c->seen[c->count] = (bag_entry){0};
    snprintf(c->seen[c->count++].path, sizeof c->seen->path, "%s", path);
    return CH_OK;
}

static ch_status take_piece(const char *path, const void *bytes, size_t length, void *context, ch_err *err)
{
    checking *c = context;
    ch_status rc = c->hash != NULL ? CH_OK : begin_file(c, path, err);
    if (rc < 0)
        return rc;
    bag_entry *file = &c->seen[c->count - 1];
    if (length == 0) {
        gnutls_hash_deinit(c->hash, file->digest);
        c->hash = NULL;
        return CH_OK;
    }
    file->size += (int64_t)length;
    if (gnutls_hash(c->hash, bytes, length) < 0)
        return ch_fail(err, CH_E_MEMORY, NULL, "no digest can be taken");
    for (int i = 0; i < TEXTS; i++)
        if (strcmp(path, texts[i]) == 0) {
            ch_text_append(&c->text[i], bytes, length);
            rc = ch_text_check(&c->text[i], err);
        }
    if (rc < 0)
        bag_locate(err, c->source->name, path, 0, 0);
    return rc;
}

static int by_path(const void *a, const void *b)
{
    return strcmp(((const bag_entry *)a)->path, ((const bag_entry *)b)->path);
}

bag_entry *bag_find(const bag_list *list, const char *path)
{
    bag_entry key = {0};
    snprintf(key.path, sizeof key.path, "%s", path);
    return list->count == 0 || strlen(path) >= sizeof key.path
               ? NULL
               : bsearch(&key, list->file, list->count, sizeof key, by_path);
}

static ch_status wrong(const checking *c, const char *path, const char *right, const char *what, ch_err *err)
{
    ch_fail(err, CH_E_INPUT, right, "%s", what);
    bag_locate(err, c->source->name, path, 0, 0);
    return CH_E_INPUT;
}

/* Compare one list with what was unpacked: each line "digest  path". Files named get `used`. */
static ch_status compare(const checking *c, bag_list *list, int which, ch_err *err)
{
    long number = 0;
    const char *line = ch_text_string(&c->text[which]), *end = line + c->text[which].length;
    while (line < end) {
        const char *stop = memchr(line, '\n', (size_t)(end - line));
        const size_t length = (size_t)((stop != NULL ? stop : end) - line);
        char path[CH_STORE_ARCHIVE_PATH_MAX + 1], digest[2 * BAG_DIGEST + 1];
        number++;
        if (length < 2 * BAG_DIGEST + 3 || length - 2 * BAG_DIGEST - 2 >= sizeof path || line[2 * BAG_DIGEST] != ' ') {
            ch_fail(err, CH_E_INPUT, "a digest, two blanks, a name", "a line of the list is none");
            bag_locate(err, c->source->name, texts[which], number, 1);
            return CH_E_INPUT;
        }
        memcpy(path, line + 2 * BAG_DIGEST + 2, length - 2 * BAG_DIGEST - 2);
        path[length - 2 * BAG_DIGEST - 2] = '\0';
        bag_entry *file = bag_find(list, path);
        if (file == NULL || file->used)
            return wrong(c, path, "an archive as `crosshatch export` wrote it",
                         file == NULL ? "the list names it, but it is missing" : "the list names it twice", err);
        bag_digest_text(file->digest, digest);
        if (strncmp(digest, line, (size_t)2 * BAG_DIGEST) != 0)
            return wrong(c, path, "an archive as `crosshatch export` wrote it: nothing was taken from this one",
                         "its content is not that of the list (SHA-256)", err);
        file->used = true;
        line += length + 1;
    }
    return CH_OK;
}

static ch_status check_lists(checking *c, bag_list *list, ch_err *err)
{
    static const char key[] = "Garage-Version: ";
    for (int i = 0; i < TEXTS; i++)
        if (bag_find(list, texts[i]) == NULL)
            return wrong(c, NULL, "an archive that `crosshatch export` wrote", "is no archive of a garage", err);
    ch_status rc = compare(c, list, TAGS, err);
    if (rc >= 0)
        rc = compare(c, list, MANIFEST, err);
    for (size_t i = 0; rc >= 0 && i < list->count; i++)
        if (!list->file[i].used && strcmp(list->file[i].path, texts[TAGS]) != 0)
            rc = wrong(c, list->file[i].path, "an archive as `crosshatch export` wrote it", "no list names this file",
                       err);
    if (rc < 0)
        return rc;
    const char *info = strstr(ch_text_string(&c->text[INFO]), key);
    const long version = info != NULL ? strtol(info + sizeof key - 1, NULL, 10) : 0;
    if (version < 1 || version > 10000)
        return wrong(c, texts[INFO], "Garage-Version: and a number", "the version is missing", err);
    if (version > CH_STORE_VERSION) {
        ch_fail(err, CH_E_INPUT, "the program that wrote it, or a newer one",
                "is of version %ld, and this program knows versions up to %d", version, CH_STORE_VERSION);
        bag_locate(err, c->source->name, NULL, 0, 0);
        return CH_E_INPUT;
    }
    list->version = (int)version;
    return CH_OK;
}

ch_status bag_check(const ch_store_source *source, bag_list *list, ch_err *err)
{
    checking c = {.source = source};
    for (int i = 0; i < TEXTS; i++)
        ch_text_init(&c.text[i], i == MANIFEST ? BAG_LIST_MAX : BAG_PIECE);
    ch_status rc = bag_walk(source, take_piece, &c, err);
    if (c.hash != NULL)
        gnutls_hash_deinit(c.hash, NULL);
    bag_list made = {.file = c.seen, .count = c.count};
    if (rc >= 0 && made.count > 0)
        qsort(made.file, made.count, sizeof *made.file, by_path);
    for (size_t i = 0; rc >= 0 && i + 1 < made.count; i++)
        if (strcmp(made.file[i].path, made.file[i + 1].path) == 0)
            rc = wrong(&c, made.file[i].path, "an archive as `crosshatch export` wrote it", "is in the archive twice",
                       err);
    if (rc >= 0)
        rc = check_lists(&c, &made, err);
    for (size_t i = 0; i < made.count; i++) {
        made.file[i].used = false;
        made.bytes += made.file[i].size;
    }
    for (int i = 0; i < TEXTS; i++)
        ch_text_clear(&c.text[i]);
    if (rc < 0)
        free(made.file);
    else
        *list = made;
    return rc;
}

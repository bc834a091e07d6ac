/*
 * A bag (RFC 8493) written as a ZIP file, piece by piece, with the digest of each file taken by the way.
 *
 *  1. The same files give the same bytes: no time, no user, no name of this machine goes in.
 *  2. What is in memory is one piece and the list of digests.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bag.h"

/* libarchive tells it by its own number where it looks; where it passes on what zlib could not do, only the system's number is left of it. */
bool bag_lacks_memory(struct archive *zip)
{
    return archive_errno(zip) == ENOMEM || errno == ENOMEM;
}

static ch_status failed(bag *b, const char *doing, ch_err *err)
{
    if (b->sink_failed)
        return b->sink_status; /* it has said why */
    if (bag_lacks_memory(b->zip))
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to write the archive (%s)", doing);
    const char *why = archive_error_string(b->zip);
    return ch_fail(err, CH_E_IO, NULL, "the archive cannot be written (%s)%s%s", doing, why != NULL ? ": " : "",
                   why != NULL ? why : "");
}

/* To libarchive it never fails: behind a failure it would not take down what it has set up for zlib. Whoever calls it looks at sink_failed. */
static la_ssize_t pass_on(struct archive *zip, void *context, const void *bytes, size_t length)
{
    bag *b = context;
    (void)zip;
    if (length > 0 && !b->sink_failed) {
        b->sink_status = b->sink(bytes, length, b->context, b->sink_err);
        b->sink_failed = b->sink_status < 0;
    }
    return (la_ssize_t)length;
}

ch_status bag_open(bag *b, ch_store_sink *sink, void *context, ch_err *err)
{
    *b = (bag){.sink = sink, .context = context, .sink_err = err};
    ch_text_init(&b->manifest, BAG_LIST_MAX);
    ch_text_init(&b->tags, BAG_PIECE);
    if (sink == NULL)
        return CH_OK;
    b->zip = archive_write_new();
    b->entry = archive_entry_new();
    if (b->zip == NULL || b->entry == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the archive");
    errno = 0;
    if (archive_write_set_format_zip(b->zip) != ARCHIVE_OK ||
        archive_write_set_bytes_per_block(b->zip, 0) != ARCHIVE_OK ||
        archive_write_open2(b->zip, b, NULL, pass_on, NULL, NULL) != ARCHIVE_OK || b->sink_failed)
        return failed(b, "beginning", err);
    return CH_OK;
}

static ch_status begin_entry(bag *b, int64_t size, ch_err *err)
{
    char name[sizeof BAG_TOP + CH_STORE_ARCHIVE_PATH_MAX];
    snprintf(name, sizeof name, BAG_TOP "%s", b->path);
    archive_entry_clear(b->entry);
    archive_entry_set_pathname(b->entry, name);
    archive_entry_set_filetype(b->entry, AE_IFREG);
    archive_entry_set_perm(b->entry, 0644);
    if (size >= 0)
        archive_entry_set_size(b->entry, size);
    errno = 0;
    const int compression =
        size >= 0 ? archive_write_zip_set_compression_store(b->zip) : archive_write_zip_set_compression_deflate(b->zip);
    if (compression != ARCHIVE_OK || archive_write_header(b->zip, b->entry) != ARCHIVE_OK || b->sink_failed)
        return failed(b, b->path, err);
    return CH_OK;
}

ch_status bag_begin(bag *b, const char *path, int64_t size, ch_err *err)
{
    b->sink_err = err;
    snprintf(b->path, sizeof b->path, "%s", path);
    if (gnutls_hash_init(&b->hash, GNUTLS_DIG_SHA256) < 0) {
        b->hash = NULL;
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a digest");
    }
    return b->zip == NULL ? CH_OK : begin_entry(b, size, err);
}

ch_status bag_put(const void *bytes, size_t length, void *context, ch_err *err)
{
    bag *b = context;
    b->sink_err = err;
    if (length == 0)
        return CH_OK;
    if (gnutls_hash(b->hash, bytes, length) < 0)
        return ch_fail(err, CH_E_MEMORY, NULL, "no digest can be taken");
    b->bytes += (int64_t)length;
    errno = 0;
    if (b->zip != NULL && (archive_write_data(b->zip, bytes, length) != (la_ssize_t)length || b->sink_failed))
        return failed(b, b->path, err);
    return CH_OK;
}

void bag_digest_text(const unsigned char digest[BAG_DIGEST], char text[2 * BAG_DIGEST + 1])
{
    for (int i = 0; i < BAG_DIGEST; i++)
        snprintf(text + (ptrdiff_t)2 * i, 3, "%02x", digest[i]);
}

ch_status bag_end(bag *b, ch_err *err)
{
    unsigned char digest[BAG_DIGEST];
    char text[2 * BAG_DIGEST + 1];
    const bool payload = strncmp(b->path, BAG_DATA, strlen(BAG_DATA)) == 0;
    ch_text *list = payload ? &b->manifest : &b->tags;
    b->sink_err = err;
    gnutls_hash_deinit(b->hash, digest);
    b->hash = NULL;
    bag_digest_text(digest, text);
    ch_text_appendf(list, "%s  %s\n", text, b->path);
    b->files += payload;
    errno = 0;
    if (b->zip != NULL && (archive_write_finish_entry(b->zip) != ARCHIVE_OK || b->sink_failed))
        return failed(b, b->path, err);
    return ch_text_check(list, err);
}

ch_status bag_file(bag *b, const char *path, const char *text, size_t length, ch_err *err)
{
    ch_status rc = bag_begin(b, path, -1, err);
    if (rc >= 0)
        rc = bag_put(text, length, b, err);
    return rc < 0 ? rc : bag_end(b, err);
}

ch_status bag_finish(bag *b, int version, ch_err *err)
{
    static const char declaration[] = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n";
    char info[200];
    const int64_t bytes = b->bytes, files = b->files;
    const int length =
        snprintf(info, sizeof info, "Bag-Software-Agent: crosshatch\nGarage-Version: %d\nPayload-Oxum: %lld.%lld\n",
                 version, (long long)bytes, (long long)files);
    ch_status rc = bag_file(b, "bagit.txt", declaration, sizeof declaration - 1, err);
    if (rc >= 0)
        rc = bag_file(b, "bag-info.txt", info, (size_t)length, err);
    if (rc >= 0)
        rc = bag_file(b, "manifest-sha256.txt", ch_text_string(&b->manifest), b->manifest.length, err);
    if (rc >= 0) {
        ch_text tags = b->tags; /* its own line is none of its lines */
        ch_text_init(&b->tags, BAG_PIECE);
        rc = bag_file(b, "tagmanifest-sha256.txt", ch_text_string(&tags), tags.length, err);
        ch_text_clear(&tags);
    }
    b->bytes = bytes;
    b->sink_err = err;
    errno = 0;
    if (rc >= 0 && (archive_write_close(b->zip) != ARCHIVE_OK || b->sink_failed))
        rc = failed(b, "ending", err);
    return rc;
}

void bag_clear(bag *b)
{
    if (b->hash != NULL)
        gnutls_hash_deinit(b->hash, NULL);
    if (b->zip != NULL) {
        b->sink_failed = true;       /* what is still held back is not passed on */
        archive_write_close(b->zip); /* after a failure its end alone would leave memory behind */
        archive_write_free(b->zip);
    }
    archive_entry_free(b->entry);
    ch_text_clear(&b->manifest);
    ch_text_clear(&b->tags);
    *b = (bag){0};
}

/**
 * @file store_archive.h
 * The whole garage as one archive, out and in: for another machine, another program, or a shelf. What holds for every function here stands in
 * store.h; what is in the archive, in docs/garage-file.md.
 *
 * The archive is a bag (RFC 8493, BagIt) inside a ZIP file: every table as CSV with a row of units, every photo as a file, every sheet as YAML,
 * readings and history as CSV for spreadsheets, and the SHA-256 of each file. The same garage gives the same bytes.
 */
#ifndef CROSSHATCH_STORE_ARCHIVE_H
#define CROSSHATCH_STORE_ARCHIVE_H

#include "crosshatch/store.h"

enum {
    CH_STORE_ARCHIVE_FILES_MAX = 200000,     /* files in one archive */
    CH_STORE_ARCHIVE_PATH_MAX = 120,         /* bytes of a name inside it */
    CH_STORE_ARCHIVE_EXPAND = 200,           /* unpacked it may be this many times its size, and ... */
    CH_STORE_ARCHIVE_FREE = 64 * 1024 * 1024 /* ... so many bytes, without being taken for a bomb */
};

/** Takes the next bytes of what is written; a failure ends the writing and is what the call gives back. */
typedef ch_status ch_store_sink(const void *bytes, size_t length, void *context, ch_err *err);

/** Bytes that can be read in any order. */
typedef struct ch_store_source {
    const char *name; /**< for messages */
    int64_t length;   /**< of the whole */
    /** Read at most `size` bytes at `offset`; *got is fewer only at the end. */
    ch_status (*read)(void *context, int64_t offset, void *bytes, size_t size, size_t *got, ch_err *err);
    void *context;
} ch_store_source;

/** What an archive held. */
typedef struct ch_store_archive_told {
    int64_t files; /**< in the archive */
    int64_t bytes; /**< unpacked */
    int64_t sheets, photos;
    int version; /**< of the schema that it was written with */
} ch_store_archive_told;

/**
 * Write all of it, of one moment, while others may be writing to the garage. Memory does not grow with what the files hold, and by some 300
 * bytes a file.
 *
 * @param sink Gets the archive's bytes in their order.
 * @param told (out, may be NULL)
 */
ch_status ch_store_archive_write(ch_store *store, ch_store_sink *sink, void *context, ch_store_archive_told *told,
                                 ch_err *err);

/**
 * Read an archive into an empty garage file, which is made where it is missing. First the whole archive is read, its names, sizes and digests
 * compared; then it is filled into a garage of its own in a temporary file, brought up to date where it is of an older version, and checked as
 * ch_store_verify() does; only then is the garage file opened, and filled in one transaction, of which the digests are compared again.
 *
 * @param path Name of the garage file. NULL = only check the archive.
 * @param told (out, may be NULL)
 *
 * @retval CH_E_INPUT No archive of a garage; damaged or changed (the file inside is named, in a table with its line); of a newer version;
 *                    the garage file is not empty, or another program made it meanwhile. Nothing was written.
 * @retval CH_E_LIMIT More files, or larger ones, than a limit named here. Nothing was written.
 * Whatever fails: a file that was not there is not there then either, and one that was there holds what it held.
 */
ch_status ch_store_archive_read(const ch_store_source *source, const char *path, ch_store_archive_told *told,
                                ch_err *err);

#endif

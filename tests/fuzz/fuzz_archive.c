/* Any bytes as the archive of a garage, only checked: taken, or refused with a reason, and never more memory than one garage for trial. */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store_archive.h"
#include "fuzz.h"

typedef struct bytes {
    const uint8_t *data;
    size_t size;
} bytes;

static ch_status read_at(void *context, int64_t offset, void *into, size_t size, size_t *got, ch_err *err)
{
    const bytes *b = context;
    (void)err;
    if (offset < 0)
        abort();
    const size_t at = (uint64_t)offset < b->size ? (size_t)offset : b->size;
    *got = b->size - at < size ? b->size - at : size;
    memcpy(into, b->data + at, *got);
    return CH_OK;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    bytes all = {data, size};
    const ch_store_source source = {.name = "f", .length = (int64_t)size, .read = read_at, .context = &all};
    ch_store_archive_told told = {0};
    ch_err err = {0};
    const ch_status rc = ch_store_archive_read(&source, NULL, &told, &err);
    if (rc < 0 ? err.what[0] == '\0' || told.files != 0 : told.files < 4)
        abort();
    return 0;
}

/*
 * Any bytes as a photo. One that is taken must come out as a JPEG that is taken again; one that is refused must say why and leave nothing.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/store.h"
#include "fuzz.h"
#include "photo.h"

static void must(int held)
{
    if (!held)
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    /* A copy of exactly this size lets the address sanitizer see a read beyond it. */
    unsigned char *bytes = malloc(size);
    if (bytes == NULL)
        return 0;
    memcpy(bytes, data, size);
    ch_text jpeg, again;
    ch_err err = {0};
    ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
    ch_text_init(&again, CH_STORE_PHOTO_MAX);
    const ch_status status = photo_clean(bytes, size, &jpeg, &err);
    free(bytes);
    if (status < 0) {
        must(err.status == status && err.what[0] != '\0' && jpeg.length == 0);
    } else {
        must(jpeg.length > 100);
        must(photo_clean((const unsigned char *)jpeg.bytes, jpeg.length, &again, NULL) == CH_OK);
    }
    ch_text_clear(&jpeg);
    ch_text_clear(&again);
    return 0;
}

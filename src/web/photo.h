/*
 * A picture as a phone sends it, taken apart and made anew: what goes into the garage file was written by this program, pixel by pixel, so that
 * no place, name, preview or hidden file travels on. Only JPEG and PNG are opened, by their libraries; what else a picture could be, and what
 * only looks like one, is refused before any of it is decoded.
 */
#ifndef CROSSHATCH_WEB_PHOTO_H
#define CROSSHATCH_WEB_PHOTO_H

#include <stddef.h>

#include "crosshatch/text.h"

enum {
    PHOTO_PIXELS_MAXIMUM = 50 * 1000 * 1000, /* in the picture sent, as its head says */
    PHOTO_SIDE_MAXIMUM = 1600                /* pixels of the longer side of what is kept */
};

/*
 * Decode, make small, turn upright as the picture's EXIF data says (and drop that), and write as JPEG without anything but the picture.
 * Transparent parts become white; colours are taken as sRGB.
 *
 * bytes: as sent, `length` of them.
 * jpeg (out): initialised by the caller with the most bytes that it may have; ch_text_clear() it. Empty after failure.
 * retval CH_E_INPUT: no JPEG or PNG, damaged, or cut short. CH_E_LIMIT: too many pixels, or more memory than a picture gets (64 MB).
 *        CH_E_MEMORY. The line says what would be right.
 * Cost: 0.2 s and 15 MB for 12 megapixels; at most 80 MB. Safe from several threads.
 */
ch_status photo_clean(const unsigned char *bytes, size_t length, ch_text *jpeg, ch_err *err);

#endif

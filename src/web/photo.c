/* Which kind of picture, and from one to the other; photo.h says what is promised. */
#include "photo.h"

#include <string.h>

#include "photo_parts.h"

int photo_orientation(const unsigned char *tiff, size_t length)
{
    if (length < 8 || (memcmp(tiff, "II*\0", 4) != 0 && memcmp(tiff, "MM\0*", 4) != 0))
        return 1;
    const int little = tiff[0] == 'I';
    const unsigned char *p = tiff + 4;
    const size_t at = little ? (size_t)p[3] << 24 | (size_t)p[2] << 16 | (size_t)p[1] << 8 | p[0]
                             : (size_t)p[0] << 24 | (size_t)p[1] << 16 | (size_t)p[2] << 8 | p[3];
    if (at < 8 || at > length - 2)
        return 1;
    const size_t entries = little ? (size_t)tiff[at + 1] << 8 | tiff[at] : (size_t)tiff[at] << 8 | tiff[at + 1];
    for (size_t i = 0; i < entries && 12 * (i + 1) <= length - at - 2; i++) {
        const unsigned char *entry = tiff + at + 2 + 12 * i;
        const int tag = little ? entry[1] << 8 | entry[0] : entry[0] << 8 | entry[1];
        const int value = little ? entry[9] << 8 | entry[8] : entry[8] << 8 | entry[9];
        if (tag == 0x0112)
            return value >= 1 && value <= 8 ? value : 1;
    }
    return 1;
}

ch_status photo_size_check(unsigned long width, unsigned long height, ch_err *err)
{
    if (width > PHOTO_FORMAT_SIDE_MAXIMUM || height > PHOTO_FORMAT_SIDE_MAXIMUM ||
        width * height > (unsigned long)PHOTO_PIXELS_MAXIMUM)
        return ch_fail(err, CH_E_LIMIT, "a photo of at most 50 megapixels",
                       "this picture says that it has %lu by %lu pixels", width, height);
    return CH_OK;
}

static ch_status decode(const unsigned char *bytes, size_t length, photo_canvas *canvas, int *orientation, ch_err *err)
{
    if (length >= 3 && memcmp(bytes, "\xff\xd8\xff", 3) == 0)
        return photo_jpeg_decode(bytes, length, canvas, orientation, err);
    if (length >= 8 && memcmp(bytes, "\x89PNG\r\n\x1a\n", 8) == 0)
        return photo_png_decode(bytes, length, canvas, orientation, err);
    if (length >= 12 && memcmp(bytes + 4, "ftyp", 4) == 0)
        return ch_fail(err, CH_E_INPUT, "a JPEG: set the phone's camera to the most compatible format",
                       "this is a picture or film of a kind that is not kept here");
    return ch_fail(err, CH_E_INPUT, "a photo as JPEG or PNG", "this is no photo");
}

ch_status photo_clean(const unsigned char *bytes, size_t length, ch_text *jpeg, ch_err *err)
{
    static const int qualities[] = {82, 65, 45}; /* the first that fits: only noise needs the others */
    photo_canvas canvas = {0};
    int orientation = 1;
    ch_status rc = decode(bytes, length, &canvas, &orientation, err);
    if (rc >= 0)
        rc = photo_canvas_turn(&canvas, orientation, err);
    for (size_t i = 0; rc >= 0 && i < sizeof qualities / sizeof qualities[0]; i++) {
        ch_text_clear(jpeg);
        ch_err own = {0};
        rc = photo_jpeg_encode(&canvas, qualities[i], jpeg, &own);
        if (rc != CH_E_LIMIT || i + 1 == sizeof qualities / sizeof qualities[0]) {
            if (rc < 0 && err != NULL)
                *err = own;
            break;
        }
        rc = CH_OK;
    }
    photo_canvas_clear(&canvas);
    if (rc < 0)
        ch_text_clear(jpeg);
    return rc < 0 ? rc : CH_OK;
}

/* Pictures for tests: made in memory by libjpeg and libpng, and read again. A failure of the libraries ends the program. */
#ifndef CROSSHATCH_TESTS_PHOTO_KIT_H
#define CROSSHATCH_TESTS_PHOTO_KIT_H

#include <stdbool.h>
#include <stddef.h>

/* width * height * 3 bytes in four quadrants: top left, top right, bottom left, bottom right. free() it. */
unsigned char *kit_quadrants(int width, int height, const unsigned char colours[4][3]);

/* free() what comes back. `exif` (may be NULL) is put behind "Exif\0\0" in an APP1 segment. */
unsigned char *kit_jpeg(const unsigned char *rgb, int width, int height, bool progressive, const unsigned char *exif,
                        size_t exif_length, size_t *length);

/* `rows`: height rows of the format named, as libpng takes them. */
unsigned char *kit_png(const unsigned char *rows, int width, int height, int colour_type, int depth, bool interlaced,
                       size_t *length);

/* EXIF data of either byte order with this orientation and a GPS block of a known text. */
enum { KIT_EXIF = 128 };
size_t kit_exif(unsigned char exif[KIT_EXIF], bool little, int orientation);
#define KIT_GPS_TEXT "WHERE I LIVE"

/* Decode a JPEG; free() it. */
unsigned char *kit_read(const char *jpeg, size_t length, int *width, int *height);

#endif

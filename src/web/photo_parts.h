/* Between the files of photo.h. */
#ifndef CROSSHATCH_WEB_PHOTO_PARTS_H
#define CROSSHATCH_WEB_PHOTO_PARTS_H

#include <stdbool.h>
#include <stdint.h>

#include "photo.h"

enum {
    PHOTO_FORMAT_SIDE_MAXIMUM = 65500, /* what a JPEG can have: JPEG_MAX_DIMENSION of libjpeg */
    PHOTO_MEMORY_MAXIMUM = 64 * 1024 * 1024
};

/* Rows of a picture of any size go in, a small picture comes out: each of its pixels is the mean of those that fall into it. */
typedef struct photo_canvas {
    int from_width, from_height; /* of what goes in */
    int width, height;           /* of what comes out, at most PHOTO_SIDE_MAXIMUM */
    unsigned char *rgb;          /* width * height * 3 */
    uint32_t *sum;               /* of the row being made, width * 3 */
    uint32_t *count;             /* how many of a row that goes in fall into each column */
    int row;                     /* the next that goes in */
} photo_canvas;

/* Lay it out; photo_canvas_clear() it, also after failure. CH_E_LIMIT, CH_E_MEMORY. */
ch_status photo_canvas_begin(photo_canvas *canvas, int from_width, int from_height, ch_err *err);

/* The next row, from_width * 3 bytes: red, green, blue. Rows beyond from_height are passed over. */
void photo_canvas_row(photo_canvas *canvas, const unsigned char *rgb);

/* Turn and mirror so that the picture stands upright. `orientation` 1 to 8 as EXIF counts; others change nothing. CH_E_MEMORY. */
ch_status photo_canvas_turn(photo_canvas *canvas, int orientation, ch_err *err);

/* Fine on {0}. */
void photo_canvas_clear(photo_canvas *canvas);

/* Decode into a canvas, which is laid out here. *orientation: from the EXIF data, 1 where there is none. Status as photo_clean. */
ch_status photo_jpeg_decode(const unsigned char *bytes, size_t length, photo_canvas *canvas, int *orientation,
                            ch_err *err);
ch_status photo_png_decode(const unsigned char *bytes, size_t length, photo_canvas *canvas, int *orientation,
                           ch_err *err);

/* Write as JPEG of this quality (1 to 100). CH_E_LIMIT: longer than the text's maximum. CH_E_MEMORY. */
ch_status photo_jpeg_encode(const photo_canvas *canvas, int quality, ch_text *jpeg, ch_err *err);

/*
 * The orientation in EXIF data (a TIFF header and what follows), 1 where none is told.
 * Source: CIPA DC-008, Exif 2.32, sections 4.5 and 4.6 (tag 0x0112). Of all that such data may hold, this one number is read, so that no
 * reader of the rest is needed.
 */
int photo_orientation(const unsigned char *tiff, size_t length);

/* "This picture has more than ...". CH_OK where width and height (each 1 or more) are within the limits. */
ch_status photo_size_check(unsigned long width, unsigned long height, ch_err *err);

#endif

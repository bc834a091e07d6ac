/*
 * Photos from a phone's camera: decoded, turned upright, made small, and encoded anew, so that what is kept is a picture and nothing else: no
 * place, no time, no maker's notes, nothing hidden behind it.
 */
#ifndef CROSSHATCH_WEB_PHOTO_H
#define CROSSHATCH_WEB_PHOTO_H

#include <stddef.h>

#include "crosshatch/status.h"

enum { PHOTO_SIDE_MAX = 1280 }; /* pixels of the longer side of what is kept: a bolt head across a bench can be told */

/*
 * Make a JPEG of what came.
 *
 * bytes: `length` bytes of a JPEG or PNG as they came.
 * jpeg (out): free() it. jpeg_length (out). Untouched on failure.
 * retval CH_E_INPUT: it is no picture of these kinds, or a damaged one. CH_E_LIMIT: more than 50 megapixels. CH_E_MEMORY.
 * Cost: 0.1 to 0.5 s and at most some 200 MB for the largest; one picture at a time.
 */
ch_status photo_take(const char *bytes, size_t length, unsigned char **jpeg, size_t *jpeg_length, ch_err *err);

#endif

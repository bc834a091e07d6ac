/* PNG through libpng, whose errors are jumps: as in photo_jpeg.c. Row by row, but an interlaced one, which comes whole. */
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>

#include "photo_parts.h"

enum {
    INTERLACED_MAXIMUM = 16 * 1000 * 1000, /* pixels: 48 MB while it is read */
    CHUNK_MAXIMUM = 1024 * 1024            /* bytes that a text or profile may unpack to */
};

typedef struct reading {
    png_structp png;
    png_infop info;
    const unsigned char *bytes;
    size_t length, at;
    unsigned char *rows;
    bool no_memory, ended;
} reading;

static void on_error(png_structp png, png_const_charp message)
{
    (void)message;
    png_longjmp(png, 1);
}

static void on_warning(png_structp png, png_const_charp message)
{
    (void)png;
    (void)message;
}

static void on_read(png_structp png, png_bytep to, size_t length)
{
    reading *r = png_get_io_ptr(png);
    if (length > r->length - r->at) {
        r->ended = true;
        png_error(png, "end");
    }
    memcpy(to, r->bytes + r->at, length);
    r->at += length;
}

/* libpng 1.6 makes room for as much as a chunk claims before it sees that the file has ended, and only warns where that is more than
 * png_set_chunk_malloc_max() allows. No chunk is longer than its file, and no row of a picture that is taken is as long as CHUNK_MAXIMUM. */
static void *on_malloc(png_structp png, png_alloc_size_t size)
{
    reading *r = png_get_mem_ptr(png);
    if (size > CHUNK_MAXIMUM && size > r->length)
        return NULL;
    void *memory = malloc(size);
    r->no_memory = r->no_memory || memory == NULL;
    return memory;
}

static void on_free(png_structp png, void *memory)
{
    (void)png;
    free(memory);
}

/* Whatever the picture has, three bytes a pixel come out, on white. */
static void make_rgb(png_structp png, png_infop info)
{
    const png_color_16 white = {.index = 0, .red = 255, .green = 255, .blue = 255, .gray = 255};
    png_set_expand(png);
    png_set_scale_16(png);
    png_set_gray_to_rgb(png);
    if ((png_get_color_type(png, info) & PNG_COLOR_MASK_ALPHA) != 0 || png_get_valid(png, info, PNG_INFO_tRNS) != 0)
        png_set_background(png, &white, PNG_BACKGROUND_GAMMA_SCREEN, 0, 1.0);
}

static ch_status read_picture(reading *r, photo_canvas *canvas, int *orientation, ch_err *err)
{
    png_read_info(r->png, r->info);
    const png_uint_32 width = png_get_image_width(r->png, r->info), height = png_get_image_height(r->png, r->info);
    ch_status rc = photo_size_check(width, height, err);
    if (rc < 0)
        return rc;
    const bool whole = png_get_interlace_type(r->png, r->info) != PNG_INTERLACE_NONE;
    if (whole && (size_t)width * height > INTERLACED_MAXIMUM)
        return ch_fail(err, CH_E_LIMIT, "one that is not interlaced, or a smaller one",
                       "this picture takes too much memory to open");
    png_bytep exif = NULL;
    png_uint_32 exif_length = 0;
    if (png_get_eXIf_1(r->png, r->info, &exif_length, &exif) != 0)
        *orientation = photo_orientation(exif, exif_length);
    make_rgb(r->png, r->info);
    const int passes = png_set_interlace_handling(r->png);
    png_read_update_info(r->png, r->info);
    const size_t stride = (size_t)width * 3;
    if (png_get_rowbytes(r->png, r->info) != stride)
        return ch_fail(err, CH_E_INPUT, "a photo as JPEG or PNG", "this picture cannot be read");
    rc = photo_canvas_begin(canvas, (int)width, (int)height, err);
    r->rows = rc >= 0 ? calloc(whole ? height : 1, stride) : NULL;
    if (rc >= 0 && r->rows == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for this picture");
    for (int pass = 0; rc >= 0 && pass < passes; pass++)
        for (png_uint_32 y = 0; y < height; y++) {
            unsigned char *row = r->rows + (whole ? y * stride : 0);
            png_read_row(r->png, row, NULL);
            if (pass == passes - 1)
                photo_canvas_row(canvas, row);
        }
    return rc;
}

ch_status photo_png_decode(const unsigned char *bytes, size_t length, photo_canvas *canvas, int *orientation,
                           ch_err *err)
{
    reading *r = calloc(1, sizeof *r);
    if (r == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a picture");
    ch_status rc;
    r->bytes = bytes;
    r->length = length;
    r->png = png_create_read_struct_2(PNG_LIBPNG_VER_STRING, NULL, on_error, on_warning, r, on_malloc, on_free);
    r->info = r->png != NULL ? png_create_info_struct(r->png) : NULL;
    if (r->info == NULL) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for a picture");
    } else if (setjmp(png_jmpbuf(r->png)) == 0) {
        png_set_user_limits(r->png, PNG_UINT_31_MAX, PNG_UINT_31_MAX); /* photo_size_check says it in words */
        png_set_chunk_malloc_max(r->png, CHUNK_MAXIMUM);
        png_set_read_fn(r->png, r, on_read);
        rc = read_picture(r, canvas, orientation, err);
    } else if (r->no_memory) {
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for this picture");
    } else if (r->ended) {
        rc = ch_fail(err, CH_E_INPUT, "send it again", "this picture is cut short");
    } else {
        rc = ch_fail(err, CH_E_INPUT, "a photo as JPEG or PNG", "this picture cannot be read");
    }
    png_destroy_read_struct(&r->png, &r->info, NULL);
    free(r->rows);
    free(r);
    return rc;
}

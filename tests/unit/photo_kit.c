/* Pictures for tests: photo_kit.h. */
#include "photo_kit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>

static void *must(void *memory)
{
    if (memory == NULL)
        abort();
    return memory;
}

unsigned char *kit_quadrants(int width, int height, const unsigned char colours[4][3])
{
    unsigned char *rgb = must(malloc((size_t)width * (size_t)height * 3));
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            memcpy(rgb + 3 * ((size_t)y * (size_t)width + (size_t)x), colours[(2 * y >= height) * 2 + (2 * x >= width)],
                   3);
    return rgb;
}

unsigned char *kit_jpeg(const unsigned char *rgb, int width, int height, bool progressive, const unsigned char *exif,
                        size_t exif_length, size_t *length)
{
    struct jpeg_compress_struct info;
    struct jpeg_error_mgr errors;
    unsigned char *bytes = NULL;
    unsigned long size = 0;
    info.err = jpeg_std_error(&errors);
    jpeg_create_compress(&info);
    jpeg_mem_dest(&info, &bytes, &size);
    info.image_width = (JDIMENSION)width;
    info.image_height = (JDIMENSION)height;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, 90, TRUE);
    if (progressive)
        jpeg_simple_progression(&info);
    jpeg_start_compress(&info, TRUE);
    if (exif != NULL) {
        unsigned char segment[6 + KIT_EXIF] = "Exif\0";
        memcpy(segment + 6, exif, exif_length);
        jpeg_write_marker(&info, JPEG_APP0 + 1, segment, (unsigned)(6 + exif_length));
    }
    while (info.next_scanline < info.image_height) {
        unsigned char row[3 * 8192];
        memcpy(row, rgb + (size_t)info.next_scanline * (size_t)width * 3, (size_t)width * 3);
        JSAMPROW rows = row;
        jpeg_write_scanlines(&info, &rows, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    *length = size;
    return bytes;
}

typedef struct growing {
    unsigned char *bytes;
    size_t length, room;
} growing;

static void grow(png_structp png, png_bytep data, size_t length)
{
    growing *to = png_get_io_ptr(png);
    if (to->room - to->length <
        length) { /* doubled: under AddressSanitizer each step copies all that there is to new pages */
        to->room = 2 * to->room + length;
        to->bytes = must(realloc(to->bytes, to->room));
    }
    memcpy(to->bytes + to->length, data, length);
    to->length += length;
}

unsigned char *kit_png(const unsigned char *rows, int width, int height, int colour_type, int depth, bool interlaced,
                       size_t *length)
{
    growing to = {0};
    png_structp png = must(png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL));
    png_infop info = must(png_create_info_struct(png));
    if (setjmp(png_jmpbuf(png)) != 0)
        abort();
    png_set_write_fn(png, &to, grow, NULL);
    png_set_compression_level(png, 1); /* how it is packed is nothing to the tests, and this is soon done */
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, depth, colour_type,
                 interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    if (colour_type == PNG_COLOR_TYPE_PALETTE) {
        const png_color palette[2] = {{200, 30, 30}, {30, 30, 200}};
        png_set_PLTE(png, info, palette, 2);
    }
    png_write_info(png, info);
    const int passes = png_set_interlace_handling(png);
    for (int pass = 0; pass < passes; pass++)
        for (int y = 0; y < height; y++)
            png_write_row(png, rows + (size_t)y * png_get_rowbytes(png, info));
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    *length = to.length;
    return must(realloc(to.bytes, to.length)); /* nothing behind it that could be read unnoticed */
}

static void put(unsigned char *to, bool little, size_t bytes, unsigned value)
{
    for (size_t i = 0; i < bytes; i++)
        to[little ? i : bytes - 1 - i] = (unsigned char)(value >> (8 * i));
}

static void entry(unsigned char *to, bool little, unsigned tag, unsigned type, unsigned count, unsigned value)
{
    put(to, little, 2, tag);
    put(to + 2, little, 2, type);
    put(to + 4, little, 4, count);
    memset(to + 8, 0, 4);
    put(to + 8, little, type == 3 ? 2 : 4, value);
}

size_t kit_exif(unsigned char exif[KIT_EXIF], bool little, int orientation)
{
    memset(exif, 0, KIT_EXIF);
    memcpy(exif, little ? "II*\0" : "MM\0*", 4);
    put(exif + 4, little, 4, 8);
    put(exif + 8, little, 2, 2);
    entry(exif + 10, little, 0x0112, 3, 1, (unsigned)orientation);
    entry(exif + 22, little, 0x8825, 4, 1, 38); /* the GPS block: one text, of the area */
    put(exif + 38, little, 2, 1);
    entry(exif + 40, little, 0x001c, 7, sizeof KIT_GPS_TEXT, 56);
    memcpy(exif + 56, KIT_GPS_TEXT, sizeof KIT_GPS_TEXT);
    return 56 + sizeof KIT_GPS_TEXT;
}

unsigned char *kit_read(const char *jpeg, size_t length, int *width, int *height)
{
    struct jpeg_decompress_struct info;
    struct jpeg_error_mgr errors;
    info.err = jpeg_std_error(&errors);
    jpeg_create_decompress(&info);
    jpeg_mem_src(&info, (const unsigned char *)jpeg, length);
    jpeg_read_header(&info, TRUE);
    info.out_color_space = JCS_RGB;
    jpeg_start_decompress(&info);
    *width = (int)info.output_width;
    *height = (int)info.output_height;
    unsigned char *rgb = must(malloc((size_t)*width * (size_t)*height * 3));
    while (info.output_scanline < info.output_height) {
        JSAMPROW row = rgb + (size_t)info.output_scanline * (size_t)*width * 3;
        jpeg_read_scanlines(&info, &row, 1);
    }
    jpeg_finish_decompress(&info);
    jpeg_destroy_decompress(&info);
    return rgb;
}

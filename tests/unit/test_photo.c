/* Photos: what is kept is the picture alone, upright and small; what is none, or too much, is refused and leaves nothing. */
#include "photo.h"

#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <png.h>
#include <zlib.h>

#include "crosshatch/store.h"
#include "fail_alloc.h"
#include "photo_kit.h"

enum { RED, GREEN, BLUE, GREY };
static const unsigned char COLOURS[4][3] = {{200, 30, 30}, {30, 200, 30}, {30, 30, 200}, {120, 120, 120}};
/* JPEG at quality 90 and then 82, away from edges, comes back this close (measured 3). */
static const int NEAR = 8;

typedef struct picture {
    int width, height;
    unsigned char *rgb;
} picture;

/* Clean and decode; the bytes are freed. */
static picture cleaned(unsigned char *bytes, size_t length)
{
    ch_text jpeg;
    picture p;
    ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
    ch_err err = {0};
    const ch_status rc = photo_clean(bytes, length, &jpeg, &err);
    free(bytes);
    if (rc != CH_OK)
        fail_msg("refused: %s", err.what);
    p.rgb = kit_read(jpeg.bytes, jpeg.length, &p.width, &p.height);
    ch_text_clear(&jpeg);
    return p;
}

static void refused(const unsigned char *bytes, size_t length, ch_status status, const char *word)
{
    ch_text jpeg;
    ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
    ch_err err = {0};
    assert_int_equal(photo_clean(bytes, length, &jpeg, &err), status);
    assert_int_equal(err.status, status);
    assert_non_null(strstr(err.what, word));
    assert_int_equal(jpeg.length, 0);
    ch_text_clear(&jpeg);
}

static const unsigned char *at(const picture *p, int right_eighths, int down_eighths)
{
    return p->rgb + 3 * (size_t)(p->height * down_eighths / 8 * p->width + p->width * right_eighths / 8);
}

static void looks_like(const unsigned char *pixel, const unsigned char colour[3])
{
    for (int c = 0; c < 3; c++)
        assert_in_range(pixel[c] + NEAR, colour[c], colour[c] + 2 * NEAR);
}

static void exif_and_what_is_hidden_in_it_is_gone(void **state)
{
    (void)state;
    for (int little = 0; little < 2; little++) {
        unsigned char exif[KIT_EXIF];
        const size_t exif_length = kit_exif(exif, little != 0, 1);
        unsigned char *rgb = kit_quadrants(64, 48, COLOURS);
        size_t length = 0;
        unsigned char *bytes = kit_jpeg(rgb, 64, 48, false, exif, exif_length, &length);
        unsigned char *longer = malloc(length + 100);
        assert_non_null(longer);
        memcpy(longer, bytes, length);
        free(bytes);
        bytes = longer;
        memcpy(bytes + length, "PK\3\4 a file behind the picture", 31);
        ch_text jpeg;
        ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
        assert_int_equal(photo_clean(bytes, length + 31, &jpeg, NULL), CH_OK);
        for (size_t i = 0; i + 4 <= jpeg.length; i++) {
            assert_memory_not_equal(jpeg.bytes + i, "Exif", 4);
            assert_memory_not_equal(jpeg.bytes + i, "WHER", 4);
            assert_memory_not_equal(jpeg.bytes + i, "PK\3\4", 4);
        }
        ch_text_clear(&jpeg);
        free(bytes);
        free(rgb);
    }
}

/* Exif 2.32, section 4.6.4, tag Orientation: where the stored picture's first row and first column stand. */
static void a_picture_stands_upright_whichever_way_the_phone_was_held(void **state)
{
    (void)state;
    /* By orientation: what is then seen top left, top right, bottom left, bottom right, of the quadrants as stored. */
    static const int seen[9][4] = {{0, 1, 2, 3}, {0, 1, 2, 3}, {1, 0, 3, 2}, {3, 2, 1, 0}, {2, 3, 0, 1},
                                   {0, 2, 1, 3}, {2, 0, 3, 1}, {3, 1, 2, 0}, {1, 3, 0, 2}};
    for (int orientation = 0; orientation <= 8; orientation++) {
        unsigned char exif[KIT_EXIF];
        const size_t exif_length = kit_exif(exif, orientation % 2 == 0, orientation);
        unsigned char *rgb = kit_quadrants(64, 32, COLOURS);
        size_t length = 0;
        unsigned char *bytes = kit_jpeg(rgb, 64, 32, false, exif, exif_length, &length);
        const picture p = cleaned(bytes, length);
        assert_int_equal(p.width, orientation >= 5 ? 32 : 64);
        assert_int_equal(p.height, orientation >= 5 ? 64 : 32);
        for (int q = 0; q < 4; q++)
            looks_like(at(&p, q % 2 == 0 ? 2 : 6, q < 2 ? 2 : 6), COLOURS[seen[orientation][q]]);
        free(p.rgb);
        free(rgb);
    }
}

static void a_large_picture_becomes_small_and_keeps_its_shape(void **state)
{
    (void)state;
    static const int sizes[][4] = {
        {4000, 3000, 1600, 1200}, {1600, 1200, 1600, 1200}, {1601, 10, 1600, 9}, {10, 5000, 3, 1600}, {1, 1, 1, 1}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        unsigned char *rgb = kit_quadrants(sizes[i][0], sizes[i][1], COLOURS);
        size_t length = 0;
        unsigned char *bytes = kit_jpeg(rgb, sizes[i][0], sizes[i][1], i % 2 == 1, NULL, 0, &length);
        const picture p = cleaned(bytes, length);
        assert_int_equal(p.width, sizes[i][2]);
        assert_int_equal(p.height, sizes[i][3]);
        if (p.width > 1000 && p.height > 1000)
            for (int q = 0; q < 4; q++)
                looks_like(at(&p, q % 2 == 0 ? 2 : 6, q < 2 ? 2 : 6), COLOURS[q]);
        free(p.rgb);
        free(rgb);
    }
}

static void every_kind_of_png_comes_out_as_it_looks(void **state)
{
    (void)state;
    enum { SIDE = 40 };
    static const unsigned char white[3] = {255, 255, 255}, half[3] = {227, 142, 142};
    static const struct {
        int type, depth, bytes;
        unsigned char pixel[8];
        const unsigned char *looks;
    } kinds[] = {{PNG_COLOR_TYPE_RGB, 8, 3, {200, 30, 30}, COLOURS[RED]},
                 {PNG_COLOR_TYPE_RGB, 16, 6, {200, 200, 30, 30, 30, 30}, COLOURS[RED]},
                 {PNG_COLOR_TYPE_GRAY, 8, 1, {120}, COLOURS[GREY]},
                 {PNG_COLOR_TYPE_GRAY_ALPHA, 8, 2, {120, 255}, COLOURS[GREY]},
                 {PNG_COLOR_TYPE_PALETTE, 8, 1, {1}, COLOURS[BLUE]},
                 {PNG_COLOR_TYPE_RGB_ALPHA, 8, 4, {200, 30, 30, 0}, white},
                 {PNG_COLOR_TYPE_RGB_ALPHA, 8, 4, {200, 30, 30, 128}, half},
                 {PNG_COLOR_TYPE_RGB_ALPHA, 16, 8, {200, 200, 30, 30, 30, 30, 0, 0}, white},
                 {PNG_COLOR_TYPE_RGB_ALPHA, 16, 8, {200, 200, 30, 30, 30, 30, 255, 255}, COLOURS[RED]}};
    for (size_t i = 0; i < 2 * sizeof kinds / sizeof kinds[0]; i++) {
        const size_t k = i / 2, bytes = (size_t)kinds[k].bytes;
        unsigned char rows[SIDE * SIDE * 8];
        for (size_t n = 0; n < (size_t)SIDE * SIDE; n++)
            memcpy(rows + n * bytes, kinds[k].pixel, bytes);
        size_t length = 0;
        unsigned char *png = kit_png(rows, SIDE, SIDE, kinds[k].type, kinds[k].depth, i % 2 == 1, &length);
        const picture p = cleaned(png, length);
        assert_int_equal(p.width, SIDE);
        looks_like(at(&p, 4, 4), kinds[k].looks);
        free(p.rgb);
    }
}

/* Columns of 0 and 200 in turn, two to a pixel that is kept, are all 100. */
static void a_pixel_that_is_kept_is_the_mean_of_those_that_fall_into_it(void **state)
{
    (void)state;
    enum { WIDTH = 3200, HEIGHT = 16 };
    unsigned char *rows = malloc((size_t)WIDTH * HEIGHT);
    assert_non_null(rows);
    for (size_t i = 0; i < (size_t)WIDTH * HEIGHT; i++)
        rows[i] = i % 2 == 0 ? 0 : 200;
    size_t length = 0;
    unsigned char *png = kit_png(rows, WIDTH, HEIGHT, PNG_COLOR_TYPE_GRAY, 8, false, &length);
    const picture p = cleaned(png, length);
    static const unsigned char mean[3] = {100, 100, 100};
    assert_int_equal(p.width, 1600);
    for (int i = 0; i < 8; i++)
        looks_like(at(&p, i, i), mean);
    free(p.rgb);
    free(rows);
}

static void what_is_no_photo_is_refused(void **state)
{
    (void)state;
    static const char *const files[] = {"",
                                        "x",
                                        "Just text, called photo.jpg",
                                        "<svg xmlns=\"http://www.w3.org/2000/svg\"><script/></svg>",
                                        "GIF89a\1\0\1\0",
                                        "BM 1234567890",
                                        "%PDF-1.7",
                                        "<html><script>alert(1)</script>",
                                        "\xff\xd8",
                                        "\x89PNG"};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        refused((const unsigned char *)files[i], strlen(files[i]), CH_E_INPUT, "photo");
    refused((const unsigned char *)"\0\0\0\x18"
                                   "ftypheic\0\0\0\0",
            16, CH_E_INPUT, "kind");
    refused((const unsigned char *)"\xff\xd8\xff and then text", 17, CH_E_INPUT, "photo");
    refused((const unsigned char *)"\x89PNG\r\n\x1a\n and then text that is long enough", 40, CH_E_INPUT, "picture");
}

static void a_picture_cut_short_is_refused_wherever_it_is_cut(void **state)
{
    (void)state;
    unsigned char *rgb = kit_quadrants(64, 48, COLOURS);
    size_t length = 0, png_length = 0;
    for (int progressive = 0; progressive < 2; progressive++) {
        unsigned char *bytes = kit_jpeg(rgb, 64, 48, progressive != 0, NULL, 0, &length);
        for (size_t cut = 4; cut < length - 2; cut += 5) {
            ch_text jpeg;
            ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
            assert_int_equal(photo_clean(bytes, cut, &jpeg, NULL), CH_E_INPUT);
            assert_int_equal(jpeg.length, 0);
        }
        free(bytes);
    }
    unsigned char *png = kit_png(rgb, 64, 48, PNG_COLOR_TYPE_RGB, 8, false, &png_length);
    for (size_t cut = 8; cut < png_length - 16;
         cut += 3) /* the last chunk, IEND, and the check sum before it add nothing */
        refused(png, cut, CH_E_INPUT, "picture");
    free(png);
    free(rgb);
}

/* A frame header that says more than is taken; nothing of the picture is decoded for this. PNG: tests/web/photos.py. */
static void a_picture_that_says_it_is_huge_is_refused_by_its_head(void **state)
{
    (void)state;
    unsigned char *rgb = kit_quadrants(64, 48, COLOURS);
    size_t length = 0;
    unsigned char *bytes = kit_jpeg(rgb, 64, 48, false, NULL, 0, &length);
    for (size_t i = 0; i + 9 < length; i++)
        if (bytes[i] == 0xff && bytes[i + 1] == 0xc0) {
            memcpy(bytes + i + 5, "\xff\xdc\xff\xdc", 4); /* 65500 each way */
            refused(bytes, length, CH_E_LIMIT, "65500");
            memcpy(bytes + i + 5, "\x1b\x9e\x1b\x9e", 4); /* 7070 each way: just within, and then no such rows come */
            refused(bytes, length, CH_E_INPUT, "cut short");
            memcpy(bytes + i + 5, "\x1b\xa0\x1b\xa0", 4); /* 7072 */
            refused(bytes, length, CH_E_LIMIT, "7072");
            break;
        }
    free(bytes);
    free(rgb);
}

/* Each scan costs the time of a whole picture, however few bytes it has. */
static void a_progressive_picture_of_endless_scans_is_refused(void **state)
{
    (void)state;
    enum { TIMES = 2000 };
    unsigned char *rgb = kit_quadrants(640, 480, COLOURS);
    size_t length = 0, begin = 0, end = 0;
    unsigned char *bytes = kit_jpeg(rgb, 640, 480, true, NULL, 0, &length);
    for (size_t i = 0; i + 1 < length && end == 0; i++)
        if (bytes[i] == 0xff && bytes[i + 1] == 0xda) {
            if (begin == 0)
                begin = i;
        } else if (begin != 0 && i > begin && bytes[i] == 0xff && bytes[i + 1] != 0 && (bytes[i + 1] & 0xf8) != 0xd0) {
            end = i;
        }
    assert_true(end > begin);
    const size_t scan = end - begin;
    unsigned char *many = malloc(length + TIMES * scan);
    assert_non_null(many);
    memcpy(many, bytes, end);
    for (size_t i = 0; i < TIMES; i++)
        memcpy(many + end + i * scan, bytes + begin, scan);
    memcpy(many + end + TIMES * scan, bytes + end, length - end);
    refused(many, length + TIMES * scan, CH_E_INPUT, "cannot be read");
    free(many);
    free(bytes);
    free(rgb);
}

/* Noise hardly becomes smaller; it fits the store all the same. */
static void the_noisiest_picture_fits_the_store(void **state)
{
    (void)state;
    enum { SIDE = 1600 };
    unsigned char *rgb = malloc((size_t)SIDE * SIDE * 3);
    assert_non_null(rgb);
    uint32_t random = 1;
    for (size_t i = 0; i < (size_t)SIDE * SIDE * 3; i++) {
        random = random * 1664525U + 1013904223U; /* Numerical Recipes, section 7.1 */
        rgb[i] = (unsigned char)(random >> 24);
    }
    size_t length = 0;
    unsigned char *png = kit_png(rgb, SIDE, SIDE, PNG_COLOR_TYPE_RGB, 8, false, &length);
    const picture p = cleaned(png, length); /* fails where it does not fit */
    assert_int_equal(p.width, SIDE);
    free(p.rgb);
    free(rgb);
}

/* A chunk claims to be longer than its file, in each kind of chunk that libpng reads whole: no room is made for what cannot be there. */
static void a_chunk_that_claims_to_be_huge_gets_no_memory(void **state)
{
    (void)state;
    static const char *const NAMES[] = {"PLTE", "IDAT", "eXIf", "iCCP", "sPLT", "tEXt", "zTXt", "iTXt", "tRNS", "hIST"};
    static const unsigned char SIGNATURE[8] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    static const unsigned char HEAD[] = {0, 0, 0, 13, 'I', 'H', 'D', 'R', 0, 0, 0, 24, 0, 0, 0, 16, 1, 3, 0, 0, 0};
    for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
        unsigned char bytes[8 + sizeof HEAD + 4 + 8 + 4] = {0};
        memcpy(bytes, SIGNATURE, sizeof SIGNATURE);
        memcpy(bytes + 8, HEAD, sizeof HEAD);
        const uLong check = crc32(crc32(0, NULL, 0), HEAD + 4, sizeof HEAD - 4);
        for (int k = 0; k < 4; k++)
            bytes[8 + sizeof HEAD + (size_t)k] = (unsigned char)(check >> (24 - 8 * k));
        unsigned char *chunk = bytes + 8 + sizeof HEAD + 4;
        chunk[0] = 0x74; /* 1.9 GB */
        memcpy(chunk + 4, NAMES[i], 4);
        ch_text jpeg;
        ch_err err = {0};
        ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
        fail_alloc_at(LONG_MAX);
        const ch_status rc = photo_clean(bytes, sizeof bytes, &jpeg, &err);
        const size_t largest = fail_alloc_largest();
        (void)fail_alloc_stop();
        assert_int_equal(rc, CH_E_INPUT);
        assert_int_equal(jpeg.length, 0);
        assert_true(largest > 0);
        assert_true(largest <= 1024 * 1024); /* what a profile may unpack to; the file has but some fifty bytes */
        ch_text_clear(&jpeg);
    }
}

static void without_memory_nothing_comes_out_and_nothing_is_lost(void **state)
{
    (void)state;
    unsigned char exif[KIT_EXIF];
    const size_t exif_length = kit_exif(exif, true, 6);
    unsigned char *rgb = kit_quadrants(64, 48, COLOURS);
    size_t length[2] = {0};
    unsigned char *bytes[2] = {kit_jpeg(rgb, 64, 48, false, exif, exif_length, &length[0]),
                               kit_png(rgb, 64, 48, PNG_COLOR_TYPE_RGB, 8, true, &length[1])};
    for (int kind = 0; kind < 2; kind++) {
        long n = 1;
        for (;; n++) {
            ch_text jpeg;
            ch_text_init(&jpeg, CH_STORE_PHOTO_MAX);
            fail_alloc_at(n);
            const ch_status rc = photo_clean(bytes[kind], length[kind], &jpeg, NULL);
            const bool failed = fail_alloc_stop();
            const size_t made = jpeg.length;
            ch_text_clear(&jpeg);
            if (!failed) {
                assert_int_equal(rc, CH_OK);
                break;
            }
            assert_int_equal(rc, CH_E_MEMORY);
            assert_int_equal(made, 0);
        }
        assert_true(n > 5);
        free(bytes[kind]);
    }
    free(rgb);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exif_and_what_is_hidden_in_it_is_gone),
        cmocka_unit_test(a_picture_stands_upright_whichever_way_the_phone_was_held),
        cmocka_unit_test(a_large_picture_becomes_small_and_keeps_its_shape),
        cmocka_unit_test(every_kind_of_png_comes_out_as_it_looks),
        cmocka_unit_test(a_pixel_that_is_kept_is_the_mean_of_those_that_fall_into_it),
        cmocka_unit_test(what_is_no_photo_is_refused),
        cmocka_unit_test(a_picture_cut_short_is_refused_wherever_it_is_cut),
        cmocka_unit_test(a_picture_that_says_it_is_huge_is_refused_by_its_head),
        cmocka_unit_test(a_progressive_picture_of_endless_scans_is_refused),
        cmocka_unit_test(the_noisiest_picture_fits_the_store),
        cmocka_unit_test(a_chunk_that_claims_to_be_huge_gets_no_memory),
        cmocka_unit_test(without_memory_nothing_comes_out_and_nothing_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

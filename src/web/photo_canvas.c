/* A large picture made small, row by row, and turned upright. */
#include <stdlib.h>
#include <string.h>

#include "photo_parts.h"

static int shorter(int side, int longest)
{
    if (longest <= PHOTO_SIDE_MAXIMUM)
        return side;
    const int made = (int)((int64_t)side * PHOTO_SIDE_MAXIMUM / longest);
    return made > 0 ? made : 1;
}

/* Where column or row `at` of `from` falls among `to`. */
static int falls(int at, int from, int to)
{
    return (int)((int64_t)at * to / from);
}

ch_status photo_canvas_begin(photo_canvas *canvas, int from_width, int from_height, ch_err *err)
{
    if (from_width < 1 || from_height < 1)
        return ch_fail(err, CH_E_INPUT, "a photo", "this picture has no size");
    const ch_status rc = photo_size_check((unsigned long)from_width, (unsigned long)from_height, err);
    if (rc < 0)
        return rc;
    const int longest = from_width > from_height ? from_width : from_height;
    *canvas = (photo_canvas){.from_width = from_width,
                             .from_height = from_height,
                             .width = shorter(from_width, longest),
                             .height = shorter(from_height, longest)};
    const size_t width = (size_t)canvas->width;
    canvas->rgb = malloc(width * (size_t)canvas->height * 3);
    canvas->sum = calloc(width * 3, sizeof *canvas->sum);
    canvas->count = calloc(width, sizeof *canvas->count);
    if (canvas->rgb == NULL || canvas->sum == NULL || canvas->count == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a picture of %d by %d pixels", canvas->width,
                       canvas->height);
    memset(canvas->rgb, 255, width * (size_t)canvas->height * 3);
    for (int x = 0; x < from_width; x++)
        canvas->count[falls(x, from_width, canvas->width)]++;
    return CH_OK;
}

void photo_canvas_row(photo_canvas *canvas, const unsigned char *rgb)
{
    if (canvas->row >= canvas->from_height)
        return;
    for (int x = 0; x < canvas->from_width; x++) {
        uint32_t *sum = canvas->sum + 3 * falls(x, canvas->from_width, canvas->width);
        for (int c = 0; c < 3; c++)
            sum[c] += rgb[3 * x + c];
    }
    const int to = falls(canvas->row, canvas->from_height, canvas->height);
    canvas->row++;
    if (canvas->row < canvas->from_height && falls(canvas->row, canvas->from_height, canvas->height) == to)
        return;
    /* The first row that falls into `to` is the least that does: at * height >= to * from_height. */
    const int first = (int)(((int64_t)to * canvas->from_height + canvas->height - 1) / canvas->height);
    const uint32_t rows = (uint32_t)(canvas->row - first);
    for (int x = 0; x < canvas->width; x++) {
        const uint32_t all = rows * canvas->count[x];
        for (int c = 0; c < 3; c++)
            canvas->rgb[3 * ((size_t)to * (size_t)canvas->width + (size_t)x) + (size_t)c] =
                (unsigned char)((canvas->sum[3 * x + c] + all / 2) / all);
    }
    memset(canvas->sum, 0, (size_t)canvas->width * 3 * sizeof *canvas->sum);
}

/* Where in the picture as sent the pixel at (x, y) of the upright one stands. Exif 2.32, section 4.6.4, Orientation. */
static size_t source_of(const photo_canvas *canvas, int orientation, int x, int y)
{
    const int right = canvas->width - 1, bottom = canvas->height - 1;
    static const struct {
        bool swapped, from_right, from_bottom;
    } ways[9] = {
        [1] = {false, false, false}, [2] = {false, true, false}, [3] = {false, true, true}, [4] = {false, false, true},
        [5] = {true, false, false},  [6] = {true, false, true},  [7] = {true, true, true},  [8] = {true, true, false}};
    const int across = ways[orientation].swapped ? y : x, down = ways[orientation].swapped ? x : y;
    const int from_x = ways[orientation].from_right ? right - across : across;
    const int from_y = ways[orientation].from_bottom ? bottom - down : down;
    return 3 * ((size_t)from_y * (size_t)canvas->width + (size_t)from_x);
}

ch_status photo_canvas_turn(photo_canvas *canvas, int orientation, ch_err *err)
{
    if (orientation < 2 || orientation > 8)
        return CH_OK;
    const int width = orientation >= 5 ? canvas->height : canvas->width;
    const int height = orientation >= 5 ? canvas->width : canvas->height;
    unsigned char *turned = malloc((size_t)width * (size_t)height * 3);
    if (turned == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory to turn a picture of %d by %d pixels", width, height);
    unsigned char *to = turned;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++, to += 3)
            memcpy(to, canvas->rgb + source_of(canvas, orientation, x, y), 3);
    free(canvas->rgb);
    canvas->rgb = turned;
    canvas->width = width;
    canvas->height = height;
    return CH_OK;
}

void photo_canvas_clear(photo_canvas *canvas)
{
    free(canvas->rgb);
    free(canvas->sum);
    free(canvas->count);
    *canvas = (photo_canvas){0};
}

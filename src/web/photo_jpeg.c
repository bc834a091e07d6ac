/*
 * JPEG through libjpeg, whose errors are jumps: all that is needed after one lives in a struct of the caller's, and nothing else is changed
 * between setjmp and longjmp.
 */
#include <setjmp.h>
#include <stdio.h> /* jpeglib.h needs it */
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h>

#include "photo_parts.h"

enum {
    SCANS_MAXIMUM =
        200, /* of a progressive picture; real ones have some ten, and each costs the time of the whole picture */
    PIECE = 16384,
    MARKER_MAXIMUM = 0xffff
};

typedef struct failure {
    struct jpeg_error_mgr manager; /* first, so that libjpeg's pointer to it leads here */
    jmp_buf back;
    ch_status status;
    bool cut_short;
} failure;

static failure *failure_of(j_common_ptr info)
{
    return (failure *)(void *)info->err;
}

static void on_error(j_common_ptr info)
{
    failure *f = failure_of(info);
    const int code = info->err->msg_code;
    f->status = code == JERR_OUT_OF_MEMORY ? CH_E_MEMORY : code == JERR_NO_BACKING_STORE ? CH_E_LIMIT : CH_E_INPUT;
    longjmp(f->back, 1);
}

/* A picture that ends too early would be filled up with grey. */
static void on_warning(j_common_ptr info, int level)
{
    if (level >= 0 || (info->err->msg_code != JWRN_JPEG_EOF && info->err->msg_code != JWRN_HIT_MARKER))
        return;
    failure_of(info)->cut_short = true;
    on_error(info);
}

static void on_message(j_common_ptr info)
{
    (void)info;
}

static struct jpeg_error_mgr *failure_begin(failure *f)
{
    jpeg_std_error(&f->manager);
    f->manager.error_exit = on_error;
    f->manager.emit_message = on_warning;
    f->manager.output_message = on_message;
    return &f->manager;
}

static ch_status failed(const failure *f, ch_err *err)
{
    if (f->cut_short)
        return ch_fail(err, CH_E_INPUT, "send it again", "this photo is cut short or damaged");
    if (f->status == CH_E_MEMORY)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for this photo");
    if (f->status == CH_E_LIMIT)
        return ch_fail(err, CH_E_LIMIT, "a smaller one", "this photo takes too much memory to open");
    return ch_fail(err, CH_E_INPUT, "a photo as JPEG or PNG", "this photo cannot be read");
}

/* ---------------------------------------------------------------- reading */

typedef struct reading {
    struct jpeg_decompress_struct info;
    failure failure;
    struct jpeg_progress_mgr progress;
    unsigned char *row;
} reading;

static void on_progress(j_common_ptr info)
{
    if (info->is_decompressor && ((j_decompress_ptr)(void *)info)->input_scan_number > SCANS_MAXIMUM)
        ERREXIT(info, JERR_BAD_PROGRESSION);
}

/* As many eighths as leave a side of PHOTO_SIDE_MAXIMUM or more: libjpeg makes smaller pictures in much less time. */
static unsigned eighths(unsigned long longest)
{
    unsigned n = 1;
    while (n < 8 && longest * n / 8 < PHOTO_SIDE_MAXIMUM)
        n++;
    return n;
}

static int orientation_of(const struct jpeg_decompress_struct *info)
{
    for (const struct jpeg_marker_struct *m = info->marker_list; m != NULL; m = m->next)
        if (m->marker == JPEG_APP0 + 1 && m->data_length > 6 && memcmp(m->data, "Exif\0", 6) == 0)
            return photo_orientation(m->data + 6, m->data_length - 6);
    return 1;
}

static ch_status read_rows(reading *r, photo_canvas *canvas, int *orientation, ch_err *err)
{
    struct jpeg_decompress_struct *info = &r->info;
    jpeg_read_header(info, TRUE);
    ch_status rc = photo_size_check(info->image_width, info->image_height, err);
    if (rc < 0)
        return rc;
    *orientation = orientation_of(info);
    info->out_color_space = JCS_RGB;
    info->scale_num = eighths(info->image_width > info->image_height ? info->image_width : info->image_height);
    info->scale_denom = 8;
    jpeg_start_decompress(info);
    rc = photo_canvas_begin(canvas, (int)info->output_width, (int)info->output_height, err);
    r->row = rc >= 0 ? malloc((size_t)info->output_width * 3) : NULL;
    if (rc >= 0 && r->row == NULL)
        rc = ch_fail(err, CH_E_MEMORY, NULL, "no memory for a row of a photo");
    while (rc >= 0 && info->output_scanline < info->output_height) {
        jpeg_read_scanlines(info, &r->row, 1);
        photo_canvas_row(canvas, r->row);
    }
    if (rc >= 0)
        jpeg_finish_decompress(info);
    return rc;
}

ch_status photo_jpeg_decode(const unsigned char *bytes, size_t length, photo_canvas *canvas, int *orientation,
                            ch_err *err)
{
    reading *r = calloc(1, sizeof *r);
    if (r == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
    ch_status rc;
    r->info.err = failure_begin(&r->failure);
    if (setjmp(r->failure.back) == 0) {
        jpeg_create_decompress(&r->info);
        r->info.mem->max_memory_to_use = PHOTO_MEMORY_MAXIMUM;
        r->progress.progress_monitor = on_progress;
        r->info.progress = &r->progress;
        jpeg_mem_src(&r->info, bytes, (unsigned long)length);
        jpeg_save_markers(&r->info, JPEG_APP0 + 1, MARKER_MAXIMUM);
        rc = read_rows(r, canvas, orientation, err);
    } else {
        rc = failed(&r->failure, err);
    }
    jpeg_destroy_decompress(&r->info);
    free(r->row);
    free(r);
    return rc;
}

/* ---------------------------------------------------------------- writing */

typedef struct writing {
    struct jpeg_compress_struct info;
    failure failure;
    struct jpeg_destination_mgr to;
    ch_text *jpeg;
    unsigned char piece[PIECE];
} writing;

static writing *writing_of(j_compress_ptr info)
{
    return (writing *)info->client_data;
}

static void piece_begin(j_compress_ptr info)
{
    writing *w = writing_of(info);
    w->to.next_output_byte = w->piece;
    w->to.free_in_buffer = PIECE;
}

static boolean piece_full(j_compress_ptr info)
{
    writing *w = writing_of(info);
    ch_text_append(w->jpeg, (const char *)w->piece, PIECE);
    piece_begin(info);
    return TRUE;
}

static void piece_last(j_compress_ptr info)
{
    writing *w = writing_of(info);
    ch_text_append(w->jpeg, (const char *)w->piece, PIECE - w->to.free_in_buffer);
}

static void write_rows(writing *w, const photo_canvas *canvas, int quality)
{
    struct jpeg_compress_struct *info = &w->info;
    info->image_width = (JDIMENSION)canvas->width;
    info->image_height = (JDIMENSION)canvas->height;
    info->input_components = 3;
    info->in_color_space = JCS_RGB;
    jpeg_set_defaults(info);
    jpeg_set_quality(info, quality, TRUE);
    jpeg_start_compress(info, TRUE);
    while (info->next_scanline < info->image_height) {
        JSAMPROW row = canvas->rgb + (size_t)info->next_scanline * (size_t)canvas->width * 3;
        jpeg_write_scanlines(info, &row, 1);
    }
    jpeg_finish_compress(info);
}

ch_status photo_jpeg_encode(const photo_canvas *canvas, int quality, ch_text *jpeg, ch_err *err)
{
    writing *w = calloc(1, sizeof *w);
    if (w == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
    ch_status rc;
    w->jpeg = jpeg;
    w->info.err = failure_begin(&w->failure);
    if (setjmp(w->failure.back) == 0) {
        jpeg_create_compress(&w->info);
        w->info.client_data = w;
        w->to = (struct jpeg_destination_mgr){
            .init_destination = piece_begin, .empty_output_buffer = piece_full, .term_destination = piece_last};
        w->info.dest = &w->to;
        write_rows(w, canvas, quality);
        rc = ch_text_check(jpeg, err);
    } else {
        rc = failed(&w->failure, err);
    }
    jpeg_destroy_compress(&w->info);
    free(w);
    return rc;
}

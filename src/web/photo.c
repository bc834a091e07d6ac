/*
 * Photos, see photo.h.
 *  1. The kind is told by the first bytes, not by what the sender claims, and only two decoders are ever asked.
 *  2. The size is looked at before the pixels are decoded.
 *  3. One picture at a time: the memory that pictures take is that of one.
 */
#include "photo.h"

#include <gdk-pixbuf/gdk-pixbuf.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const int64_t PIXELS_MAX = 50000000;
static const char QUALITY[] = "80";

static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

/* Sources: ITU-T T.81, B.1.1.3 (SOI and the first marker); W3C PNG, 5.2. */
static const char *kind_of(const char *bytes, size_t length)
{
    static const char jpeg[] = "\xff\xd8\xff", png[] = "\x89PNG\r\n\x1a\n";
    if (length > sizeof jpeg && memcmp(bytes, jpeg, sizeof jpeg - 1) == 0)
        return "jpeg";
    if (length > sizeof png && memcmp(bytes, png, sizeof png - 1) == 0)
        return "png";
    return NULL;
}

/* Whether a PNG's chunks go on to its last one: the decoder is content with the first rows. Source: W3C PNG, 5.3. */
static bool png_is_whole(const char *bytes, size_t length)
{
    for (size_t at = 8; length - at >= 12;) {
        const unsigned char *b = (const unsigned char *)bytes + at;
        const size_t content = (size_t)b[0] << 24 | (size_t)b[1] << 16 | (size_t)b[2] << 8 | b[3];
        if (memcmp(b + 4, "IEND", 4) == 0)
            return true;
        if (content > length - at - 12)
            return false;
        at += 12 + content;
    }
    return false;
}

/* Called when width and height are known and no pixel is decoded yet: a JPEG is then decoded small at once. */
static void size_known(GdkPixbufLoader *loader, gint width, gint height, gpointer too_large)
{
    const int longer = width > height ? width : height;
    if (width < 1 || height < 1 || (int64_t)width * height > PIXELS_MAX) {
        *(bool *)too_large = true;
        gdk_pixbuf_loader_set_size(loader, 0, 0); /* which the decoders refuse before they make room for pixels */
    } else if (longer > PHOTO_SIDE_MAX) {
        const int64_t w = (int64_t)width * PHOTO_SIDE_MAX / longer, h = (int64_t)height * PHOTO_SIDE_MAX / longer;
        gdk_pixbuf_loader_set_size(loader, w > 0 ? (int)w : 1, h > 0 ? (int)h : 1);
    }
}

/* The loader's bytes in pieces, so that it stops at the first wrong one, or where the size turned out too large. */
static bool feed(GdkPixbufLoader *loader, const char *bytes, size_t length, const bool *too_large)
{
    enum { PIECE = 16 * 1024 };
    bool well = true;
    for (size_t at = 0; well && !*too_large && at < length; at += PIECE)
        well = gdk_pixbuf_loader_write(loader, (const guchar *)bytes + at, length - at < PIECE ? length - at : PIECE,
                                       NULL);
    return gdk_pixbuf_loader_close(loader, NULL) && well;
}

static ch_status encode(GdkPixbuf *picture, unsigned char **jpeg, size_t *jpeg_length, ch_err *err)
{
    gchar *made = NULL;
    gsize size = 0;
    /* Only the pixels are handed over: what else the picture carried ends here. */
    if (!gdk_pixbuf_save_to_buffer(picture, &made, &size, "jpeg", NULL, "quality", QUALITY, NULL))
        return ch_fail(err, CH_E_MEMORY, NULL, "the photo could not be encoded");
    unsigned char *copy = malloc(size);
    if (copy != NULL)
        memcpy(copy, made, size);
    g_free(made);
    if (copy == NULL)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
    *jpeg = copy;
    *jpeg_length = size;
    return CH_OK;
}

static ch_status take(const char *kind, const char *bytes, size_t length, unsigned char **jpeg, size_t *jpeg_length,
                      ch_err *err)
{
    bool too_large = false;
    GdkPixbufLoader *loader = gdk_pixbuf_loader_new_with_type(kind, NULL);
    if (loader == NULL)
        return ch_fail(err, CH_E_INPUT, "a JPEG", "this machine cannot read such a picture");
    g_signal_connect(loader, "size-prepared", G_CALLBACK(size_known), &too_large);
    const bool well = feed(loader, bytes, length, &too_large);
    GdkPixbuf *decoded = gdk_pixbuf_loader_get_pixbuf(loader); /* the loader's */
    ch_status rc = CH_OK;
    if (too_large)
        rc = ch_fail(err, CH_E_LIMIT, "at most 50 megapixels", "the photo is too large");
    else if (!well || decoded == NULL)
        rc = ch_fail(err, CH_E_INPUT, "a JPEG or PNG from a camera", "that is not a picture, or a damaged one");
    if (rc >= 0) {
        GdkPixbuf *upright = gdk_pixbuf_apply_embedded_orientation(decoded);
        rc = upright != NULL ? encode(upright, jpeg, jpeg_length, err)
                             : ch_fail(err, CH_E_MEMORY, NULL, "no memory for a photo");
        if (upright != NULL)
            g_object_unref(upright);
    }
    g_object_unref(loader);
    return rc;
}

ch_status photo_take(const char *bytes, size_t length, unsigned char **jpeg, size_t *jpeg_length, ch_err *err)
{
    const char *kind = kind_of(bytes, length);
    if (kind == NULL || (kind[0] == 'p' && !png_is_whole(bytes, length)))
        return ch_fail(err, CH_E_INPUT, "a JPEG or PNG from a camera", "that is not a picture");
    pthread_mutex_lock(&one_at_a_time);
    const ch_status rc = take(kind, bytes, length, jpeg, jpeg_length, err);
    pthread_mutex_unlock(&one_at_a_time);
    return rc;
}

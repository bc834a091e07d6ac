/* Logs that were sent a while ago, see kept_log.h. */
#define _GNU_SOURCE /* F_DUPFD_CLOEXEC */
#include "kept_log.h"

#include <errno.h>
#include <fcntl.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PIECE = 1024 * 1024, SHA256_BYTES = CH_STORE_DIGEST / 2 };

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static kept_log kept[KEPT_LOGS]; /* a length of 0: free */

ch_status kept_log_read(const kept_log *log, kept_log_take *take, void *context, ch_err *err)
{
    char *piece = malloc(PIECE);
    ch_status rc = piece != NULL ? CH_OK : ch_fail(err, CH_E_MEMORY, NULL, "no memory to read the log");
    for (size_t at = 0; rc >= 0 && at < log->length;) {
        const size_t wanted = log->length - at < PIECE ? log->length - at : PIECE;
        const ssize_t got = pread(log->descriptor, piece, wanted, (off_t)(log->offset + at));
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            rc =
                ch_fail(err, CH_E_IO, NULL, "the log cannot be read back: %s", got < 0 ? strerror(errno) : "it is cut");
        else
            rc = take(context, piece, (size_t)got, err);
        at += got > 0 ? (size_t)got : 0;
    }
    free(piece);
    return rc;
}

static ch_status hash(void *context, const char *bytes, size_t length, ch_err *err)
{
    return gnutls_hash(context, bytes, length) == 0 ? CH_OK : ch_fail(err, CH_E_IO, NULL, "the digest failed");
}

static ch_status digest(kept_log *log, ch_err *err)
{
    static const char digits[] = "0123456789abcdef";
    unsigned char sum[SHA256_BYTES];
    gnutls_hash_hd_t sha;
    if (gnutls_hash_init(&sha, GNUTLS_DIG_SHA256) != 0)
        return ch_fail(err, CH_E_IO, NULL, "the digest failed");
    const ch_status rc = kept_log_read(log, hash, sha, err);
    gnutls_hash_deinit(sha, sum);
    for (size_t i = 0; rc >= 0 && i < SHA256_BYTES; i++) {
        log->sha256[2 * i] = digits[sum[i] >> 4];
        log->sha256[2 * i + 1] = digits[sum[i] & 15];
    }
    return rc;
}

/* A name without the folders that some browsers send along, whole characters only. */
static void take_name(const char *sent, char name[KEPT_LOG_NAME])
{
    const char *slash = strrchr(sent, '/'), *back = strrchr(sent, '\\');
    const char *from = slash != NULL && (back == NULL || slash > back) ? slash + 1 : back != NULL ? back + 1 : sent;
    size_t length = 0;
    for (size_t n = 1; n > 0 && from[length] != '\0'; length += n) {
        n = ch_utf8_length(from + length, strlen(from + length));
        if (length + n >= KEPT_LOG_NAME)
            n = 0;
    }
    memcpy(name, from, length);
    name[length] = '\0';
    if (name[strspn(name, " ")] == '\0')
        memcpy(name, "log", sizeof "log");
}

ch_status kept_log_sent(const web_request *request, const web_field *file, kept_log *log, ch_err *err)
{
    if (file == NULL || file->file_name == NULL || file->length == 0)
        return ch_fail(err, CH_E_INPUT, "a file with the logged run", "no log was chosen, or it is empty");
    if (request->spool < 0)
        return ch_fail(err, CH_E_IO, NULL, "the log did not come through a file");
    *log = (kept_log){.descriptor = request->spool,
                      .offset = (size_t)(file->value - request->body),
                      .length = file->length,
                      .kept_s = request->now_s};
    take_name(file->file_name, log->name);
    memcpy(log->client, request->client, sizeof log->client);
    return digest(log, err);
}

static void let_go(kept_log *one)
{
    if (one->length > 0)
        close(one->descriptor);
    *one = (kept_log){.length = 0};
}

/* With the lock held. A clock that was set back does not make the hour longer. */
static void let_go_of_old(int64_t now_s)
{
    for (size_t i = 0; i < KEPT_LOGS; i++)
        if (kept[i].length > 0 && (kept[i].kept_s + KEPT_LOG_S < now_s || kept[i].kept_s > now_s + KEPT_LOG_S))
            let_go(&kept[i]);
}

void kept_log_tidy(int64_t now_s)
{
    pthread_mutex_lock(&lock);
    let_go_of_old(now_s);
    pthread_mutex_unlock(&lock);
}

void kept_log_keep(const kept_log *log)
{
    kept_log mine = *log;
    mine.descriptor = fcntl(log->descriptor, F_DUPFD_CLOEXEC, 0);
    if (mine.descriptor < 0)
        return;
    pthread_mutex_lock(&lock);
    let_go_of_old(mine.kept_s);
    kept_log *place = &kept[0];
    for (size_t i = 0; i < KEPT_LOGS; i++) {
        const bool same = strcmp(kept[i].sha256, mine.sha256) == 0 && strcmp(kept[i].client, mine.client) == 0;
        if (same || kept[i].kept_s < place->kept_s)
            place = &kept[i];
        if (same)
            break;
    }
    let_go(place);
    *place = mine;
    pthread_mutex_unlock(&lock);
}

bool kept_log_find(const web_request *request, const char *sha256, kept_log *log)
{
    bool found = false;
    pthread_mutex_lock(&lock);
    for (size_t i = 0; i < KEPT_LOGS && sha256 != NULL && !found; i++) {
        found = kept[i].length > 0 && kept[i].kept_s + KEPT_LOG_S >= request->now_s &&
                strcmp(kept[i].sha256, sha256) == 0 && strcmp(kept[i].client, request->client) == 0;
        if (found) {
            *log = kept[i];
            log->descriptor = fcntl(kept[i].descriptor, F_DUPFD_CLOEXEC, 0);
            found = log->descriptor >= 0;
        }
    }
    pthread_mutex_unlock(&lock);
    return found;
}

bool kept_log_there(const web_request *request, const char *sha256)
{
    kept_log log;
    if (!kept_log_find(request, sha256, &log))
        return false;
    close(log.descriptor);
    return true;
}

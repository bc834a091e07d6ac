/*
 * Logs that were sent a while ago, so that columns can be chosen, or the car be described better, without sending them again: at most KEPT_LOGS, each for at
 * most an hour, only for the device that sent it. They are files without a name, gone from the disk when they are let go of or the program ends.
 */
#ifndef CROSSHATCH_WEB_KEPT_LOG_H
#define CROSSHATCH_WEB_KEPT_LOG_H

#include <stdint.h>

#include "crosshatch/store_driveline.h"
#include "route.h"

enum { KEPT_LOGS = 4, KEPT_LOG_S = 3600, KEPT_LOG_NAME = 128 };

/* One log: a stretch of a file. */
typedef struct kept_log {
    int descriptor;
    size_t offset, length;
    char name[KEPT_LOG_NAME];
    char sha256[CH_STORE_DIGEST + 1];
    char client[WEB_CLIENT_LENGTH + 1];
    int64_t kept_s;
} kept_log;

/* The file in this field of the request's form, whose body went through a file. `log->descriptor` is the request's: not to be closed. CH_E_INPUT, CH_E_IO. */
ch_status kept_log_sent(const web_request *request, const web_field *file, kept_log *log, ch_err *err);

/* Keep it for its device; the oldest makes room. That the system has no more descriptors is no failure: then it is not kept. */
void kept_log_keep(const kept_log *log);

/* Let go of those whose hour is over. */
void kept_log_tidy(int64_t now_s);

/* A kept log of this device by its digest; the caller closes log->descriptor. False where there is none. */
bool kept_log_find(const web_request *request, const char *sha256, kept_log *log);

/* Whether there is one. */
bool kept_log_there(const web_request *request, const char *sha256);

/* Its bytes in order, in pieces of a megabyte. */
typedef ch_status kept_log_take(void *context, const char *bytes, size_t length, ch_err *err);
ch_status kept_log_read(const kept_log *log, kept_log_take *take, void *context, ch_err *err);

#endif

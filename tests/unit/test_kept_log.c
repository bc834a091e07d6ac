/* Kept logs: found again by their device within the hour, and off the disk when it is over. */
#define _GNU_SOURCE /* mkostemp */
#include "kept_log.h"

#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

static const int64_t NOON_S = 1800000000;

static int descriptors_open(void)
{
    int open = 0;
    for (int fd = 0; fd < 256; fd++)
        open += fcntl(fd, F_GETFD) >= 0;
    return open;
}

/* Keeps a log of one line, told from others by `mark`, at `now_s`; its file has no name, as the pages' own. */
static kept_log keep(char mark, int64_t now_s)
{
    char name[] = "/tmp/kept_log_XXXXXX";
    kept_log log = {
        .descriptor = mkostemp(name, O_CLOEXEC), .length = 1, .name = "run.csv", .client = "phone", .kept_s = now_s};
    assert_true(log.descriptor >= 0);
    assert_int_equal(unlink(name), 0);
    assert_int_equal(write(log.descriptor, &mark, 1), 1);
    memset(log.sha256, mark, CH_STORE_DIGEST);
    kept_log_keep(&log);
    close(log.descriptor); /* the request's own */
    return log;
}

static bool there(const kept_log *log, const char *client, int64_t now_s)
{
    web_request request = {.now_s = now_s};
    snprintf(request.client, sizeof request.client, "%s", client);
    return kept_log_there(&request, log->sha256);
}

static void a_log_is_let_go_of_when_its_hour_is_over_without_another_one_coming(void **state)
{
    (void)state;
    const int before = descriptors_open();
    const kept_log log = keep('a', NOON_S);
    assert_int_equal(descriptors_open(), before + 1);
    assert_true(there(&log, "phone", NOON_S + KEPT_LOG_S));
    assert_false(there(&log, "tablet", NOON_S));
    kept_log_tidy(NOON_S + KEPT_LOG_S);
    assert_int_equal(descriptors_open(), before + 1);
    kept_log_tidy(NOON_S + KEPT_LOG_S + 1);
    assert_int_equal(descriptors_open(), before);
    assert_false(there(&log, "phone", NOON_S));
}

static void a_clock_set_back_makes_the_hour_no_longer_than_two(void **state)
{
    (void)state;
    const int before = descriptors_open();
    keep('b', NOON_S + 86400);
    kept_log_tidy(NOON_S);
    assert_int_equal(descriptors_open(), before);
}

static void the_oldest_makes_room(void **state)
{
    (void)state;
    kept_log log[KEPT_LOGS + 1];
    const int before = descriptors_open();
    for (int i = 0; i <= KEPT_LOGS; i++)
        log[i] = keep((char)('a' + i), NOON_S + i);
    assert_int_equal(descriptors_open(), before + KEPT_LOGS);
    for (int i = 0; i <= KEPT_LOGS; i++)
        assert_int_equal(there(&log[i], "phone", NOON_S + KEPT_LOGS), i > 0);
    kept_log_tidy(NOON_S + 2 * KEPT_LOG_S);
    assert_int_equal(descriptors_open(), before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_log_is_let_go_of_when_its_hour_is_over_without_another_one_coming),
        cmocka_unit_test(a_clock_set_back_makes_the_hour_no_longer_than_two),
        cmocka_unit_test(the_oldest_makes_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

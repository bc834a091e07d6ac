/*
 * Promises of the log reader about bytes: encodings and broken characters with their line, logs as long as what is kept of them, and a failure that stays one.
 */
#include "drivelog_text.h"
#include "expect.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double RAD_S_PER_RPM = 0.10471975511965977; /* pi/30 */

static size_t utf8_of(uint32_t c, char *bytes)
{
    /* RFC 3629, section 3 */
    static const struct {
        uint32_t end;
        unsigned first;
    } lengths[] = {{0x80, 0}, {0x800, 0xc0}, {0x10000, 0xe0}, {0x110000, 0xf0}};
    size_t n = 1;
    while (c >= lengths[n - 1].end)
        n++;
    for (size_t i = n; i-- > 1; c /= 64)
        bytes[i] = (char)(0x80 + c % 64);
    bytes[0] = (char)(lengths[n - 1].first + c);
    bytes[n] = '\0';
    return n;
}

/* UTF-16 of a text that is ASCII but for one character, written for '@'. */
static size_t utf16_of(const char *ascii, uint32_t character, bool big, unsigned char *out)
{
    size_t n = 0;
    for (const char *c = ascii; *c != '\0'; c++) {
        uint32_t units[2] = {*c == '@' ? character : (uint32_t)*c, 0};
        if (units[0] >= 0x10000) {
            units[1] = 0xdc00 + (units[0] - 0x10000) % 0x400;
            units[0] = 0xd800 + (units[0] - 0x10000) / 0x400;
        }
        for (int k = 0; k < 2 && (k == 0 || units[1] != 0); k++) {
            out[n + big] = (unsigned char)(units[k] % 256);
            out[n + 1 - big] = (unsigned char)(units[k] / 256);
            n += 2;
        }
    }
    return n;
}

static void characters_of_utf16_become_those_of_utf8(void **state)
{
    (void)state;
    static const uint32_t characters[] = {0x21,    0x7e,    0xa1,    0xff,    0x100,    0x7ff,   0x800,   0xfff,
                                          0x1000,  0xd7ff,  0xe000,  0xfffd,  0x10000,  0x10001, 0x103ff, 0x10400,
                                          0x1f600, 0x3ffff, 0x40000, 0xfffff, 0x100000, 0x10ffff};
    static unsigned char bytes[2000];
    for (size_t i = 0; i < sizeof characters / sizeof characters[0]; i++)
        for (int form = 0; form < 4; form++) {
            char name[16];
            const bool big = form % 2 == 1;
            snprintf(name, sizeof name, "x");
            const size_t length = 1 + utf8_of(characters[i], name + 1);
            name[length] = 'y';
            name[length + 1] = '\0';
            bytes[0] = big ? 0xfe : 0xff;
            bytes[1] = big ? 0xff : 0xfe;
            const size_t n =
                2 + utf16_of("x@y,time,rpm,speed\n1,0,2000,30\n1,1,2000,31\n", characters[i], big, bytes + 2);
            read_log log;
            read_log_text(&log, bytes, n, form < 2 ? 0 : 1, NULL);
            assert_int_equal(log.status, CH_OK);
            assert_string_equal(log.names[0], name);
            assert_true(log.report.mark);
            assert_int_equal(log.report.encoding, big ? CH_DRIVELOG_UTF16BE : CH_DRIVELOG_UTF16LE);
            assert_int_equal(log.report.bad_characters.n, 0);
            assert_int_equal(log.n, 2);
            read_log_clear(&log);
            if (i > 1)
                continue;
            /* half a unit, or half a pair, at its end */
            bytes[n] = 'x';
            read_log_text(&log, bytes, n + 1, form < 2 ? 0 : 1, NULL);
            assert_int_equal(log.report.bad_characters.n, 1);
            assert_int_equal(log.n, 2);
            read_log_clear(&log);
            bytes[n + big] = 0x3d;
            bytes[n + 1 - big] = 0xd8;
            read_log_text(&log, bytes, n + 2, form < 2 ? 0 : 1, NULL);
            assert_int_equal(log.report.bad_characters.n, 1);
            read_log_clear(&log);
        }
}

/* With the line where first, though no row has been read then. */
static void broken_characters_are_counted_with_their_line(void **state)
{
    (void)state;
    static const char *const ends[] = {"\n", "\r\n", "\r"};
    static unsigned char bytes[4000];
    for (size_t e = 0; e < 3; e++)
        for (int at = 0; at < 6; at++) {
            start("");
            for (int row = 0; row < 6; row++) {
                if (row == 0)
                    put("time,rpm,speed,note");
                else
                    put("%d,2000,30,x", row);
                put("%s%s", at == row ? "@" : "", ends[e]);
            }
            bytes[0] = 0xff;
            bytes[1] = 0xfe;
            const size_t n = 2 + utf16_of(text, 0xde00, false, bytes + 2); /* the second half of a pair alone */
            read_log log;
            read_log_text(&log, bytes, n, 0, NULL);
            assert_int_equal(log.status, CH_OK);
            assert_int_equal(log.n, 5);
            assert_int_equal(log.report.bad_characters.n, 1);
            assert_int_equal(log.report.bad_characters.line, at + 1);
            read_log_clear(&log);
            read_log_text(&log, bytes, n + 1, 0, NULL); /* and half a unit at the end, behind the last line's end */
            assert_int_equal(log.report.bad_characters.n, 2);
            assert_int_equal(log.report.bad_characters.line, at + 1);
            read_log_clear(&log);
        }
    /* NUL bytes, of which a disk without power leaves rows: their number, without the line's end */
    for (int n = 1; n <= 5; n++)
        for (int form = 0; form < 3; form++) {
            read_log log;
            start("time,rpm,speed\n1,2000,30\n2,2000,31\n");
            for (int i = 0; i < n; i++)
                text[used++] = '\0';
            if (form < 2)
                text[used++] = '\n';
            if (form == 0)
                put("3,2000,32\n");
            read_it(&log, NULL);
            assert_int_equal(log.n, form == 0 ? 3 : 2);
            assert_int_equal(log.report.bad_characters.n, n);
            assert_int_equal(log.report.bad_characters.line, 4);
            assert_int_equal(log.report.comments.n, 1);
            assert_int_equal(log.report.ragged.n + log.report.truncated.n, 0);
            read_log_clear(&log);
        }
}

/* What the first bytes say of the encoding, whatever comes of the rest. */
static void marks_and_zeros_tell_the_encoding(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t n;
        ch_drivelog_encoding encoding;
        bool mark;
    } cases[] = {
        {"\xff\xfe", 2, CH_DRIVELOG_UTF16LE, true},
        {"\xfe\xff", 2, CH_DRIVELOG_UTF16BE, true},
        {"\xff", 1, CH_DRIVELOG_UTF8, false},
        {"\xef\xbb\xbf", 3, CH_DRIVELOG_UTF8, true},
        {"\xef\xbb", 2, CH_DRIVELOG_UTF8, false},
        {"\xef\xbb\xbe", 3, CH_DRIVELOG_UTF8, false},
        {"\xef\xba\xbf", 3, CH_DRIVELOG_UTF8, false},
        {"\xff\xff", 2, CH_DRIVELOG_UTF8, false},
        {"\xfe\xfe", 2, CH_DRIVELOG_UTF8, false},
        {"a\0,\0b\0\n\0", 8, CH_DRIVELOG_UTF16LE, false},
        {"\0a\0,\0b\0\n", 8, CH_DRIVELOG_UTF16BE, false},
        {"a\0,\0b\0\n\0c", 9, CH_DRIVELOG_UTF16LE, false},
        {"a\0,\0b\0", 6, CH_DRIVELOG_UTF8, false},
        {"a\0,\0b\0\n", 7, CH_DRIVELOG_UTF8, false},
        {"\0a\0,\0b\0", 7, CH_DRIVELOG_UTF8, false},
        {"a\0,\0b\0\n\x04", 8, CH_DRIVELOG_UTF16LE, false}, /* one letter of another alphabet */
        {"a\0,\0b\x04\n\x04", 8, CH_DRIVELOG_UTF8, false},
        {"\0a\0,\0b\x04\n", 8, CH_DRIVELOG_UTF16BE, false},
        {"\0a\0,\x04"
         "b\x04\n",
         8, CH_DRIVELOG_UTF8, false},
        {"a\0\0\0b\0\n\0", 8, CH_DRIVELOG_UTF8, false}, /* a zero on the other side */
        {"\0a\0\0\0b\0\n", 8, CH_DRIVELOG_UTF8, false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t piece = 0; piece < 3; piece++) {
            read_log log;
            read_log_text(&log, cases[i].bytes, cases[i].n, piece, NULL);
            if (log.report.encoding != cases[i].encoding || log.report.mark != cases[i].mark)
                fail_msg("case %zu: %d, %d", i, (int)log.report.encoding, log.report.mark);
            read_log_clear(&log);
        }
}

/* A row of 65536 bytes with its end is taken, one of 65537 not; among the first bytes, behind them, and cut anywhere. */
static void a_row_may_be_65536_bytes_long(void **state)
{
    (void)state;
    static const size_t pieces[] = {0, 5000};
    for (int quoted = 0; quoted <= 1; quoted++)
        for (int late = 0; late <= 1; late++)
            for (size_t length = 65535; length <= 65537; length++)
                for (size_t p = 0; p < 2; p++) {
                    size_t lines = 2;
                    read_log log;
                    start("time,rpm,speed,note\n0,2000,30,a\n");
                    for (; late == 1 && used < 262144 + 100; lines++)
                        put("%zu,2000,30,%0*d\n", lines, 1000, 0);
                    const size_t begin = used;
                    put("%zu,2000,30,%s", lines, quoted ? "\"" : "");
                    while (used - begin < length - 1 - (size_t)quoted)
                        text[used++] = 'x';
                    put("%s\n%zu,2000,30,a\n", quoted ? "\"" : "", lines + 1);
                    read_log_text(&log, text, used, pieces[p], NULL);
                    assert_int_equal(log.status, length <= 65536 ? CH_OK : CH_E_LIMIT);
                    if (length <= 65536) {
                        assert_int_equal(log.n, lines + 1);
                    } else {
                        assert_int_equal(log.err.line, lines + 1);
                        assert_string_equal(log.err.what, "a row of more than 65536 bytes");
                        assert_string_equal(log.err.right, "each quote closed, and rows of at most 65536 bytes");
                    }
                    read_log_clear(&log);
                }
}

/* The first 262144 bytes are kept until all is decided: logs that are a byte shorter or longer come out alike. */
static void a_log_may_be_as_long_as_what_is_kept_of_it(void **state)
{
    (void)state;
    static const size_t pieces[] = {0, 100000};
    for (size_t length = 262143; length <= 262145; length++)
        for (size_t p = 0; p < 2; p++) {
            size_t rows = 0;
            read_log log;
            start("time,rpm,speed,note\n");
            while (used < 262000)
                put("%zu,2%03zu,30,%050d\n", rows, rows % 1000, 7), rows++;
            put("%zu,2%03zu,30,", rows, rows % 1000);
            rows++;
            while (used < length - 1)
                text[used++] = 'y';
            put("\n");
            if (p == 1)
                put("%zu,2999,30,z\n", rows);
            rows += p == 1;
            read_log_text(&log, text, used, pieces[p], NULL);
            assert_int_equal(log.status, CH_OK);
            assert_int_equal(log.n, rows);
            for (size_t i = 0; i < rows; i += 37)
                expect_close(log.value[CH_DRIVELOG_ENGINE][i] / RAD_S_PER_RPM, 2000 + (double)(i % 1000), 1e-9);
            read_log_clear(&log);
        }
}

/* What has failed fails again alike, and leaves alone what the caller already knows. */
static void a_failure_is_given_again_as_it_was(void **state)
{
    (void)state;
    static const char bad[] = "time,rpm\n1,2\n";
    ch_drivelog *log = NULL;
    ch_err err = {0}, again = {0}, known = {.status = CH_E_IO, .what = "known"};
    assert_int_equal(ch_drivelog_open(NULL, NULL, NULL, &log, NULL), CH_OK);
    assert_int_equal(ch_drivelog_feed(log, NULL, 0, NULL), CH_OK);
    assert_int_equal(ch_drivelog_feed(log, bad, sizeof bad - 1, NULL), CH_OK);
    assert_int_equal(ch_drivelog_finish(log, &err), CH_E_INPUT);
    assert_int_equal(err.status, CH_E_INPUT);
    assert_string_equal(err.what, "no column is known as road speed");
    assert_int_equal(ch_drivelog_finish(log, &again), CH_E_INPUT);
    assert_memory_equal(&again, &err, sizeof err);
    memset(&again, 0, sizeof again);
    assert_int_equal(ch_drivelog_feed(log, bad, sizeof bad - 1, &again), CH_E_INPUT);
    assert_memory_equal(&again, &err, sizeof err);
    assert_int_equal(ch_drivelog_feed(log, bad, sizeof bad - 1, &known), CH_E_INPUT);
    assert_int_equal(known.status, CH_E_IO);
    assert_string_equal(known.what, "known");
    ch_drivelog_close(log);
    assert_int_equal(ch_drivelog_open(NULL, NULL, NULL, &log, NULL), CH_OK);
    assert_int_equal(ch_drivelog_finish(log, &known), CH_E_INPUT);
    assert_string_equal(known.what, "known");
    assert_int_equal(ch_drivelog_finish(log, NULL), CH_E_INPUT);
    ch_drivelog_close(log);
}

typedef struct patience {
    int batches, calls; /* taken before one is refused; so far */
    ch_status status;
} patience;

static ch_status take_some(const ch_drivelog_rows *rows, void *context, ch_err *err)
{
    patience *const p = context;
    (void)rows;
    return p->calls++ < p->batches ? CH_OK : ch_fail(err, p->status, "so", "batch %d", p->calls);
}

/* Whichever batch it is, and whatever is being done when it is handed out, its refusal ends the reading, and nothing is handed out behind it. */
static void a_batch_that_is_refused_ends_the_reading(void **state)
{
    (void)state;
    start("time (s),rpm,speed,coolant\n");
    /* more than is kept of the beginning; slower coolant; clocks that start again, a log behind the log, quotes */
    for (int i = 0; i < 4000; i++)
        put("%.2f,20%02d,3%d,%s%*s\n", (i % 1900) * 0.05 + 10, i % 100, i % 10, i % 3 == 0 ? "80" : "", 60, "");
    put("speed,rpm,time (s)\n");
    for (int i = 0; i < 1200; i++)
        put("3%d,\"20%02d\",%.2f\n", i % 10, i % 100, i * 0.05);
    assert_true(used > 270000);
    static const size_t pieces[] = {TEXT, 40000};
    static const ch_status statuses[] = {CH_E_RANGE, CH_E_USAGE};
    int all = 0;
    for (int batches = 0; all == 0; batches++) {
        const size_t p = (size_t)batches % 2; /* in pieces or as one, turn by turn */
        ch_drivelog *log = NULL;
        ch_err err = {0};
        patience patient = {batches, 0, statuses[p]};
        ch_status status = ch_drivelog_open(NULL, take_some, &patient, &log, &err);
        for (size_t at = 0; at < used && status >= 0; at += pieces[p])
            status = ch_drivelog_feed(log, text + at, used - at < pieces[p] ? used - at : pieces[p], &err);
        status = status >= 0 ? ch_drivelog_finish(log, &err) : status;
        if (status == CH_OK) {
            assert_int_equal(patient.calls, batches);
            all = batches;
        } else {
            char wanted[40];
            snprintf(wanted, sizeof wanted, "batch %d", batches + 1);
            assert_int_equal(status, statuses[p]);
            assert_int_equal(err.status, statuses[p]);
            assert_string_equal(err.what, wanted);
            assert_int_equal(patient.calls, batches + 1);
            assert_int_equal(ch_drivelog_finish(log, NULL), status);
            assert_int_equal(patient.calls, batches + 1);
        }
        ch_drivelog_close(log);
    }
    assert_true(all > 6);
    /* a log so short that all is handed out at its end, and one cut where another header stands */
    static const char *const logs[] = {"time,rpm,speed\n1,2000,30\n2,2000,31\n",
                                       "time,rpm,speed\n1,2000,30\n2,2000,31\ntime,rpm,speed\n1,2000,30\n2,2000,31\n",
                                       "time,rpm,speed\n100,2000,30\n101,2000,31\n1,2000,30\n2,2000,31\n",
                                       "time,rpm,speed\n1,2000,30\n2,2000,\"31\"\n3,2000,32"};
    for (size_t i = 0; i < sizeof logs / sizeof logs[0]; i++)
        for (int batches = 0; batches < (i == 0 || i == 3 ? 1 : 2); batches++) {
            ch_drivelog *log = NULL;
            patience patient = {batches, 0, CH_E_LIMIT};
            assert_int_equal(ch_drivelog_open(NULL, take_some, &patient, &log, NULL), CH_OK);
            assert_int_equal(ch_drivelog_feed(log, logs[i], strlen(logs[i]), NULL), CH_OK);
            assert_int_equal(ch_drivelog_finish(log, NULL), CH_E_LIMIT);
            assert_int_equal(patient.calls, batches + 1);
            ch_drivelog_close(log);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(characters_of_utf16_become_those_of_utf8),
        cmocka_unit_test(broken_characters_are_counted_with_their_line),
        cmocka_unit_test(marks_and_zeros_tell_the_encoding),
        cmocka_unit_test(a_row_may_be_65536_bytes_long),
        cmocka_unit_test(a_log_may_be_as_long_as_what_is_kept_of_it),
        cmocka_unit_test(a_failure_is_given_again_as_it_was),
        cmocka_unit_test(a_batch_that_is_refused_ends_the_reading),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

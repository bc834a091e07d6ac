/* Promises of base/text.c. */
#include <string.h>
#include <wchar.h>

#include "crosshatch/hash.h"
#include "crosshatch/text.h"
#include "expect.h"
#include "fail_alloc.h"

static void a_text_grows_by_appending(void **state)
{
    (void)state;
    ch_text text;
    ch_text_init(&text, 100000);
    assert_string_equal(ch_text_string(&text), "");
    ch_text_append_string(&text, "bore");
    ch_text_appendf(&text, ": %d %s", 84, "mm");
    ch_text_append(&text, "\nxyz", 1);
    ch_text_append(&text, NULL, 0);
    assert_string_equal(ch_text_string(&text), "bore: 84 mm\n");
    for (int i = 0; i < 5000; i++)
        ch_text_appendf(&text, "%05d", i);
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    assert_int_equal(strlen(ch_text_string(&text)), 12 + 25000);
    assert_string_equal(ch_text_string(&text) + 12 + 24995, "04999");
    ch_text_clear(&text);
    assert_string_equal(ch_text_string(&text), "");
    ch_text_append_string(&text, "again");
    assert_string_equal(ch_text_string(&text), "again");
    ch_text_clear(&text);
    ch_text_clear(&text);
}

static void a_text_stops_at_its_maximum_and_stays_stopped(void **state)
{
    (void)state;
    ch_text text;
    ch_text_init(&text, 8);
    ch_text_append_string(&text, "12345678");
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    ch_text_append_string(&text, "9");
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    assert_string_equal(ch_text_string(&text), "12345678");
    ch_err err = {0};
    assert_int_equal(ch_text_check(&text, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the text would be longer than 8 bytes");
    ch_text_clear(&text);

    ch_text_append_string(&text, "1234");
    ch_text_appendf(&text, "%d", 56789);
    ch_text_append_string(&text, "5"); /* would fit, but the text already lacks a piece */
    ch_text_appendf(&text, "%s", "5");
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    assert_string_equal(ch_text_string(&text), "1234");
    ch_text_clear(&text);

    ch_text_init(&text, 0);
    ch_text_append_string(&text, "");
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    ch_text_append_string(&text, "a");
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    ch_text_clear(&text);

    ch_text_init(&text, SIZE_MAX);
    ch_text_append_string(&text, "a");
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    ch_text_append(&text, "b", SIZE_MAX - 1); /* refused before a byte is read */
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    assert_string_equal(ch_text_string(&text), "a");
    ch_text_clear(&text);
}

static void a_text_that_cannot_be_written_says_so(void **state)
{
    (void)state;
    ch_text text;
    ch_err err = {0};
    ch_text_init(&text, 100);
    ch_text_append_string(&text, "12 ");
    ch_text_appendf(&text, "%ls", L"\u00b0"); /* the C locale has no degree sign: printf fails (C17 7.21.6.1) */
    assert_int_equal(ch_text_check(&text, &err), CH_E_RANGE);
    assert_string_equal(err.what, "a number or name could not be written");
    assert_string_equal(ch_text_string(&text), "12 ");
    ch_text_clear(&text);
}

static void a_text_keeps_what_it_had_when_memory_runs_out(void **state)
{
    (void)state;
    long n = 1;
    for (;; n++) {
        ch_text text;
        ch_err err = {0};
        ch_text_init(&text, 10000);
        fail_alloc_at(n);
        for (int i = 0; i < 100; i++)
            ch_text_appendf(&text, "%05d ", i);
        const bool failed = fail_alloc_stop();
        const ch_status status = ch_text_check(&text, &err);
        const size_t length = strlen(ch_text_string(&text));
        assert_int_equal(length, text.length);
        assert_int_equal(length % 6, 0); /* no half piece */
        assert_int_equal(status, failed ? CH_E_MEMORY : CH_OK);
        assert_int_equal(err.status, status);
        if (!failed)
            assert_int_equal(length, 600);
        ch_text_append_string(&text, "x");
        assert_int_equal(strlen(ch_text_string(&text)), failed ? length : length + 1);
        ch_text_clear(&text);
        if (!failed)
            break;
    }
    assert_in_range(n, 3, 20); /* doubling: 64, 128, 256, 512, 1024 bytes are five allocations */
}

static void excerpts_are_cut_and_harmless(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t size;
        const char *excerpt;
    } cases[] = {
        {"bore", 5, "bore"},
        {"bores", 5, "b..."},
        {"", 5, ""},
        {"ab", 3, "ab"},
        {"abc", 3, ".."},
        {"abc", 1, ""},
        {"a\tb\x7f\x1b[31m", 20, "a?b??[31m"},
        {"\xc2\xb0"
         "C",
         10,
         "\xc2\xb0"
         "C"},
        {"\xc2\x9b"
         "31m",
         10, "?31m"},                     /* U+009B drives terminals as ESC [ does */
        {"\xc3", 10, "?"},                /* cut short */
        {"\xc0\xaf", 10, "??"},           /* overlong "/", RFC 3629 section 10 */
        {"\xed\xa1\x8c", 10, "???"},      /* surrogate, RFC 3629 section 3 */
        {"\xf4\x90\x80\x80", 10, "????"}, /* beyond U+10FFFF */
        {"\xe0\x80\xaf\xf0\x80\x80\x80", 10, "???????"},
        {"\xe6\x97\xa5\xe6\x9c\xac\xf0\x90\x8d\x88", 20, "\xe6\x97\xa5\xe6\x9c\xac\xf0\x90\x8d\x88"},
        {"\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e", 8, "\xe6\x97\xa5..."}, /* never half a character */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char excerpt[64];
        ch_text_excerpt(cases[i].bytes, strlen(cases[i].bytes), excerpt, cases[i].size);
        assert_string_equal(excerpt, cases[i].excerpt);
    }
    char excerpt[8];
    ch_text_excerpt("a\0b", 3, excerpt, sizeof excerpt);
    assert_string_equal(excerpt, "a?b");
    ch_text_excerpt("a", 1, NULL, 0);
}

static const char *const keys[] = {
    "bore",      "stroke",   "rod_length",      "compression_ratio", "cylinders",      "layout", "firing_order",
    "barometer", "altitude", "air_temperature", "engine_hours",      "cranking_speed", "mm",     "cm"};
enum { KEYS = sizeof keys / sizeof keys[0] };

static void a_mistyped_word_finds_its_neighbour(void **state)
{
    (void)state;
    static const struct {
        const char *word, *nearest;
    } cases[] = {
        {"bore", "bore"},
        {"boer", "bore"},     /* a swap */
        {"bores", "bore"},    /* an insertion */
        {"bor", "bore"},      /* a deletion */
        {"bire", "bore"},     /* a substitution */
        {"Stroke", "stroke"}, /* case costs nothing */
        {"rodlength", "rod_length"},
        {"rod", "rod_length"}, /* a beginning */
        {"compresion_ration", "compression_ratio"},
        {"fireing_order", "firing_order"},
        {"baromteer", "barometer"},
        {"mn", "mm"},
        {"tyre", NULL},
        {"zz", NULL},
        {"m", NULL}, /* nothing of it would remain */
        {"", NULL},
        {"turbo_pressure", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *nearest = ch_nearest_word(cases[i].word, strlen(cases[i].word), keys, KEYS);
        if (cases[i].nearest == NULL)
            assert_null(nearest);
        else {
            assert_non_null(nearest);
            assert_string_equal(nearest, cases[i].nearest);
        }
    }
    assert_null(ch_nearest_word("bore", 4, keys, 0));
    assert_string_equal(ch_nearest_word("strokeXX", 6, keys, KEYS), "stroke");
}

static void swaps_with_an_edit_between_them_cost_two(void **state)
{
    (void)state;
    /* "ca" and "abc" are at distance 2 with true Damerau-Levenshtein, 3 where each piece may be edited only once (Lowrance and
       Wagner 1975, the reason of their algorithm S). With seven equal letters behind it, 3 would still be near, so the
       competing word at distance 3 tells the two apart: it comes first and would win a tie. */
    static const char *const words[] = {"xyzdefghij", "abcdefghij"};
    const char *nearest = ch_nearest_word("cadefghij", 9, words, 2);
    assert_non_null(nearest);
    assert_string_equal(nearest, "abcdefghij");
}

static void words_beyond_64_bytes_are_near_nothing(void **state)
{
    (void)state;
    char longest[65], longer[66];
    memset(longest, 'a', 64);
    longest[64] = '\0';
    memset(longer, 'a', 65);
    longer[65] = '\0';
    const char *const words[] = {longer, longest};
    assert_ptr_equal(ch_nearest_word(longest, 64, words, 2), longest);
    assert_null(ch_nearest_word(longer, 65, words, 2));
    char other[65];
    memset(other, 'b', 64);
    other[64] = '\0';
    assert_null(ch_nearest_word(other, 64, words, 2));
}

/* Vectors of FNV-1a, 64 bits, by its authors (RFC 9923), from memory. */
static void bytes_have_the_published_hash(void **state)
{
    (void)state;
    assert_true(ch_hash(CH_HASH_BEGIN, NULL, 0) == UINT64_C(0xcbf29ce484222325));
    assert_true(ch_hash(CH_HASH_BEGIN, "a", 1) == UINT64_C(0xaf63dc4c8601ec8c));
    assert_true(ch_hash(CH_HASH_BEGIN, "foobar", 6) == UINT64_C(0x85944171f73967e8));
    assert_true(ch_hash(ch_hash(CH_HASH_BEGIN, "foo", 3), "bar", 3) == ch_hash(CH_HASH_BEGIN, "foobar", 6));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bytes_have_the_published_hash),
        cmocka_unit_test(a_text_grows_by_appending),
        cmocka_unit_test(a_text_stops_at_its_maximum_and_stays_stopped),
        cmocka_unit_test(a_text_that_cannot_be_written_says_so),
        cmocka_unit_test(a_text_keeps_what_it_had_when_memory_runs_out),
        cmocka_unit_test(excerpts_are_cut_and_harmless),
        cmocka_unit_test(a_mistyped_word_finds_its_neighbour),
        cmocka_unit_test(swaps_with_an_edit_between_them_cost_two),
        cmocka_unit_test(words_beyond_64_bytes_are_near_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

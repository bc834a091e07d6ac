/* Documents: what is put in comes out, escaped and in order, as HTML and as PDF, or the failure is reported. */
#include "crosshatch/document.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../../src/show/pdf_language.h"
#include "fail_alloc.h"

static const ch_date MADE = {.year = 2027, .month = 1, .day = 16};

/* One of everything. */
static void fill(ch_document *document)
{
    static const char *const HEAD[] = {"Cylinder", "Mean"};
    static const bool NUMBERS[] = {false, true};
    static const char *const ROWS[][2] = {{"first", "181"}, {"second <b>", "176"}};
    ch_svg svg;
    ch_svg_open(&svg, "drawing", 200.0, 100.0, "A drawing", "In words");
    ch_svg_words(&svg, CH_SVG_LABEL, CH_SVG_START, 10.0, 50.0, "drawn words");
    (void)ch_svg_close(&svg, NULL);
    ch_document_outcome(document, "Verdict: watch", "It wants watching.");
    ch_document_heading(document, "Heading & more");
    ch_document_paragraph(document, "A sentence.");
    ch_document_item(document, "one");
    ch_document_item(document, "two");
    ch_document_caution(document, CH_SIGNAL_WARNING, "Crank turns.", "Crushed hands.", "Keep clear.");
    ch_document_tick(document, "Wheel nuts", "after the first session");
    ch_document_columns(document, true);
    ch_document_boxes(document, "H <S", "Wheels & hubs", "no play");
    ch_document_caution(document, CH_SIGNAL_DANGER, "It falls.", "Death.", "Stands.");
    ch_document_columns(document, false);
    ch_document_table(document, "Readings", 2, HEAD, NUMBERS);
    ch_document_row(document, ROWS[0]);
    ch_document_row(document, ROWS[1]);
    ch_document_drawing(document, &svg, "What it shows");
    ch_document_new_page(document);
    ch_document_paragraph(document, "The last.");
    ch_svg_clear(&svg);
}

static ch_document *made(const char *title)
{
    ch_document *document = NULL;
    assert_int_equal(ch_document_new(title, "under it", "at the foot", &document, NULL), CH_OK);
    return document;
}

/* Each of these stands behind the one before it. */
static void in_order(const char *text, const char *const words[], size_t count)
{
    const char *at = text;
    for (size_t i = 0; i < count; i++) {
        const char *found = strstr(at, words[i]);
        if (found == NULL)
            fail_msg("\"%s\" is missing or out of order", words[i]);
        else
            at = found + strlen(words[i]);
    }
}

static void html_holds_every_part_in_order_and_escaped(void **state)
{
    (void)state;
    static const char *const WORDS[] = {"<title>A &lt;title&gt;</title>",
                                        "<h1>A &lt;title&gt;</h1>",
                                        "<p>under it</p>",
                                        "Verdict: watch",
                                        "It wants watching.",
                                        "<h2>Heading &amp; more</h2>",
                                        "<p>A sentence.</p>",
                                        "<ul>",
                                        "<li>one</li>",
                                        "<li>two</li>",
                                        "</ul>",
                                        "WARNING",
                                        "Crank turns.",
                                        "Crushed hands. Keep clear.",
                                        "Wheel nuts",
                                        "after the first session",
                                        "<div class=\"columns\">",
                                        "Wheels &amp; hubs",
                                        "no play",
                                        "<span>H</span><i></i><span>&lt;</span><span>S</span>",
                                        "DANGER",
                                        "</div>",
                                        "<caption>Readings</caption>",
                                        "<th scope=\"col\" class=\"number\">Mean</th>",
                                        "<th scope=\"row\">second &lt;b&gt;</th>",
                                        "<td class=\"number\">176</td>",
                                        "</table>",
                                        "<svg ",
                                        "drawn words",
                                        "</svg>",
                                        "<figcaption>What it shows</figcaption>",
                                        "new-page",
                                        "<p>The last.</p>",
                                        "<footer>at the foot</footer>"};
    ch_document *document = made("A <title>");
    fill(document);
    ch_text html;
    ch_text_init(&html, CH_DOCUMENT_BYTES_MAX);
    assert_int_equal(ch_document_html(document, &html, NULL), CH_OK);
    in_order(ch_text_string(&html), WORDS, sizeof WORDS / sizeof WORDS[0]);
    assert_null(strstr(ch_text_string(&html), "<b>"));
    assert_null(strstr(ch_text_string(&html), "<script"));
    assert_null(strstr(ch_text_string(&html), "src="));
    ch_text_clear(&html);
    ch_document_free(document);
}

static void what_cannot_be_printed_is_replaced(void **state)
{
    (void)state;
    ch_document *document = made("t");
    ch_document_paragraph(document, "a\nb\x01"
                                    "c\xff"
                                    "d\xc2\x85"
                                    "e");
    ch_text html;
    ch_text_init(&html, CH_DOCUMENT_BYTES_MAX);
    assert_int_equal(ch_document_html(document, &html, NULL), CH_OK);
    assert_non_null(strstr(ch_text_string(&html), "<p>a b\xef\xbf\xbd"
                                                  "c\xef\xbf\xbd"
                                                  "d\xef\xbf\xbd"
                                                  "e</p>"));
    ch_text_clear(&html);
    ch_document_free(document);
}

static void pdf_of(const ch_document *document, ch_paper paper, ch_text *pdf)
{
    ch_text_init(pdf, CH_DOCUMENT_BYTES_MAX);
    assert_int_equal(ch_document_pdf(document, paper, MADE, pdf, NULL), CH_OK);
    assert_memory_equal(pdf->bytes, "%PDF-", 5);
    assert_memory_equal(pdf->bytes + pdf->length - 6, "%%EOF\n", 6);
}

static void the_same_document_gives_the_same_pdf(void **state)
{
    (void)state;
    ch_text first, second;
    ch_document *document = made("A title");
    fill(document);
    pdf_of(document, CH_PAPER_A4, &first);
    pdf_of(document, CH_PAPER_A4, &second);
    assert_int_equal(first.length, second.length);
    assert_memory_equal(first.bytes, second.bytes, first.length);
    ch_text_clear(&first);
    ch_text_clear(&second);
    ch_document_free(document);
}

/* Pages of a PDF as Cairo writes them: their tree is not compressed. */
static bool holds(const ch_text *pdf, const char *words)
{
    const size_t length = strlen(words);
    for (size_t i = 0; i + length <= pdf->length; i++)
        if (memcmp(pdf->bytes + i, words, length) == 0)
            return true;
    return false;
}

static void long_documents_go_on_to_further_pages(void **state)
{
    (void)state;
    static const char *const HEAD[] = {"Name", "Number"};
    static const bool NUMBERS[] = {false, true};
    static const char *const ROW[] = {"a word and another", "12"};
    ch_document *document = made("A title");
    ch_document_table(document, "", 2, HEAD, NUMBERS);
    for (int i = 0; i < 150; i++)
        ch_document_row(document, ROW);
    ch_text pdf;
    pdf_of(document, CH_PAPER_LETTER, &pdf);
    /* A row is some 14 points high and a letter page has 694 for them: 150 rows and the heads take four pages. */
    assert_true(holds(&pdf, "/Count 4"));
    ch_text_clear(&pdf);
    ch_document_free(document);
}

/* How many it has; it is freed. */
static int pages_of(ch_document *document)
{
    ch_text pdf;
    int pages = 0;
    pdf_of(document, CH_PAPER_A4, &pdf);
    for (int n = 1; n < 20; n++) {
        char words[16];
        snprintf(words, sizeof words, "/Count %d\n", n);
        if (holds(&pdf, words))
            pages = n;
    }
    ch_text_clear(&pdf);
    ch_document_free(document);
    return pages;
}

/* Pages of 150 rows with boxes, in one column or in two. */
static int pages_of_boxes(bool two)
{
    ch_document *document = made("A title");
    if (two)
        ch_document_columns(document, true);
    for (int i = 0; i < 150; i++)
        ch_document_boxes(document, "H A SSSSS", "what is looked at", NULL);
    return pages_of(document);
}

/* `count` items of so many words. */
static int pages_of_items(int count, size_t words)
{
    static char text[4 * 6000 + 1];
    assert_true(words <= 6000);
    for (size_t i = 0; i < words; i++)
        memcpy(text + 4 * i, "six ", 5);
    ch_document *document = made("A title");
    for (int i = 0; i < count; i++)
        ch_document_item(document, text);
    return pages_of(document);
}

static void the_lines_of_an_item_stay_on_one_page_where_it_has_room(void **state)
{
    (void)state;
    /* 1300 such words take a third to a half of a page, as 5 of them on 3 pages show: 2000 are more than half of one, and
     * less than all; torn, 5 of them would fill 4 pages. */
    assert_int_equal(pages_of_items(5, 1300), 3);
    assert_int_equal(pages_of_items(5, 2000), 5);
    /* 6000 have no room on one page, and are all there. */
    assert_in_range(pages_of_items(1, 6000), 2, 4);
}

static void two_columns_are_filled_one_after_the_other_before_the_next_page(void **state)
{
    (void)state;
    /* A row is some 14.5 points high, in columns some 11.7; a page of A4 has 744 for them: 51 a page, and 2 x 63. */
    assert_int_equal(pages_of_boxes(false), 3);
    assert_int_equal(pages_of_boxes(true), 2);
}

static void what_stands_behind_columns_goes_on_below_the_fuller_one(void **state)
{
    (void)state;
    ch_document *document = made("A title");
    ch_text pdf;
    ch_document_columns(document, true);
    for (int i = 0; i < 70; i++)
        ch_document_boxes(document, "H", "what is looked at", NULL);
    ch_document_columns(document, false);
    ch_document_paragraph(document, "behind");
    pdf_of(document, CH_PAPER_A4, &pdf);
    /* The first column is full to the foot: there is no room under it, though the second one has some. */
    assert_true(holds(&pdf, "/Count 2"));
    ch_text_clear(&pdf);
    ch_document_free(document);
}

static void boxes_take_letters_and_not_too_many(void **state)
{
    (void)state;
    static const struct {
        const char *boxes;
        ch_status status;
    } TRIED[] = {{"H A 1 SSSSS", CH_OK},
                 {"HHHHHHHHHHHHHHHHHHHHHHHH", CH_OK},
                 {"HHHHHHHHHHHHHHHHHHHHHHHHH", CH_E_LIMIT},
                 {"\xc3\xa4", CH_E_RANGE},
                 {"H\n", CH_E_RANGE}};
    for (size_t i = 0; i < sizeof TRIED / sizeof TRIED[0]; i++) {
        ch_document *document = made("t");
        ch_document_boxes(document, TRIED[i].boxes, "words", NULL);
        assert_int_equal(ch_document_check(document, NULL), TRIED[i].status);
        ch_document_free(document);
    }
}

static void a_word_wider_than_the_page_is_broken_not_lost(void **state)
{
    (void)state;
    char word[4000];
    memset(word, 'W', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    ch_document *document = made(word);
    ch_document_item(document, word);
    ch_document_caution(document, CH_SIGNAL_DANGER, "It is long.", "", NULL);
    ch_text pdf;
    pdf_of(document, CH_PAPER_A4, &pdf);
    assert_true(pdf.length > 1000);
    ch_text_clear(&pdf);
    ch_document_free(document);
}

static void a_row_needs_its_table(void **state)
{
    (void)state;
    static const char *const CELLS[] = {"a"};
    static const bool NUMBERS[] = {false};
    ch_text html;
    ch_text_init(&html, CH_DOCUMENT_BYTES_MAX);
    ch_document *document = made("t");
    ch_document_row(document, CELLS);
    assert_int_equal(ch_document_html(document, &html, NULL), CH_E_RANGE);
    ch_document_free(document);
    document = made("t");
    ch_document_table(document, "", 1, CELLS, NUMBERS);
    ch_document_row(document, CELLS);
    ch_document_paragraph(document, "between");
    ch_document_row(document, CELLS);
    assert_int_equal(ch_document_check(document, NULL), CH_E_RANGE);
    ch_document_free(document);
    document = made("t");
    ch_document_table(document, "", 0, CELLS, NUMBERS);
    assert_int_equal(ch_document_check(document, NULL), CH_E_RANGE);
    ch_document_free(document);
    assert_int_equal(html.length, 0);
}

static void too_many_parts_are_refused(void **state)
{
    (void)state;
    ch_document *document = made("t");
    for (int i = 0; i < CH_DOCUMENT_PARTS_MAX; i++)
        ch_document_new_page(document);
    assert_int_equal(ch_document_check(document, NULL), CH_OK);
    ch_document_new_page(document);
    assert_int_equal(ch_document_check(document, NULL), CH_E_LIMIT);
    ch_document_free(document);
}

static void a_drawing_that_is_none_is_refused(void **state)
{
    (void)state;
    ch_svg svg = {0};
    ch_text_init(&svg.text, 1000);
    ch_text_append_string(&svg.text, "no drawing");
    ch_document *document = made("t");
    ch_document_drawing(document, &svg, NULL);
    ch_text pdf;
    ch_text_init(&pdf, CH_DOCUMENT_BYTES_MAX);
    assert_int_equal(ch_document_pdf(document, CH_PAPER_A4, MADE, &pdf, NULL), CH_E_RANGE);
    assert_int_equal(ch_document_pdf(document, CH_PAPER_A4, (ch_date){0}, &pdf, NULL), CH_E_RANGE);
    assert_int_equal(pdf.length, 0);
    ch_svg_clear(&svg);
    ch_document_free(document);
}

static void a_file_longer_than_allowed_is_refused(void **state)
{
    (void)state;
    ch_document *document = made("t");
    fill(document);
    ch_text small;
    ch_text_init(&small, 500);
    assert_int_equal(ch_document_html(document, &small, NULL), CH_E_LIMIT);
    ch_text_clear(&small);
    assert_int_equal(ch_document_pdf(document, CH_PAPER_A4, MADE, &small, NULL), CH_E_LIMIT);
    ch_text_clear(&small);
    ch_document_free(document);
}

/* A file as small as one can be with which pdf_language() has to do; `before` bytes stand ahead of it. */
static size_t smallest(ch_text *pdf, size_t before, const char *root)
{
    static const char OBJECT[] = "%PDF-1.4\n1 0 obj\n<< /Type /Catalog >>\nendobj\n";
    ch_text_init(pdf, 4096);
    for (size_t i = 0; i < before; i++)
        ch_text_append(pdf, "", 1);
    ch_text_append_string(pdf, OBJECT);
    ch_text_appendf(pdf,
                    "xref\n0 3\n0000000000 65535 f \n0000000009 00000 n \n0000000009 00000 n \n"
                    "trailer\n<< /Size 3\n   /Root %s 0 R\n   /Info 2 0 R\n>>\nstartxref\n%zu\n%%%%EOF\n",
                    root, sizeof OBJECT - 1);
    return pdf->length;
}

static void the_language_stands_behind_what_a_pdf_has_said(void **state)
{
    (void)state;
    for (size_t before = 0; before <= 7; before += 7) {
        ch_text pdf;
        const size_t length = smallest(&pdf, before, "1");
        pdf_language(&pdf, before);
        const char *behind = ch_text_string(&pdf) + length;
        char place[64];
        snprintf(place, sizeof place, "0 1\n0000000000 65535 f \n1 1\n%010zu 00000 n \n", length - before);
        const char *const WORDS[] = {"1 0 obj\n<< /Type /Catalog ",
                                     "/Lang (en)",
                                     "/DisplayDocTitle true",
                                     ">>\nendobj\nxref\n",
                                     place,
                                     "/Size 3",
                                     "/Root 1 0 R",
                                     "/Info 2 0 R",
                                     "/Prev 45",
                                     "startxref\n",
                                     "%%EOF\n"};
        in_order(behind, WORDS, sizeof WORDS / sizeof WORDS[0]);
        assert_int_equal(strtoul(strstr(behind, "startxref\n") + 10, NULL, 10),
                         (size_t)(strstr(behind, "xref\n") - ch_text_string(&pdf)) - before);
        ch_text_clear(&pdf);
    }
}

static void a_file_of_another_form_keeps_its_bytes(void **state)
{
    (void)state;
    static const char *const FILES[] = {
        "",
        "no PDF",
        "trailer\n",
        "trailer\n<< /Size 3 /Root 1 0 R >>\nstartxref\n9\n",                        /* no /Info */
        "trailer\n<< /Size 3 /Root 1 0 R /Info 2 0 R >>\nstartxref\n99999\n",        /* beyond its end */
        "trailer\n<< /Size 3 /Root 3 0 R /Info 2 0 R >>\nstartxref\n0\n",            /* no such object */
        "xref\n0 3\ntrailer\n<< /Size 3 /Root 1 0 R /Info 2 0 R >>\nstartxref\n0\n", /* an empty table */
        "-xref\n0 3\ntrailer\n<< /Size 3 /Root 1 0 R /Info 2 0 R >>\nstartxref\n1\n",
    };
    for (size_t i = 0; i < sizeof FILES / sizeof FILES[0]; i++) {
        ch_text pdf;
        ch_text_init(&pdf, 4096);
        ch_text_append_string(&pdf, FILES[i]);
        pdf_language(&pdf, 0);
        assert_string_equal(ch_text_string(&pdf), FILES[i]);
        assert_int_equal(pdf.status, CH_OK);
        ch_text_clear(&pdf);
    }
    ch_text pdf;
    const size_t length = smallest(&pdf, 0, "2"); /* its table says that object 2 stands where 1 does */
    pdf_language(&pdf, 0);
    assert_int_equal(pdf.length, length);
    ch_text_clear(&pdf);
    const size_t short_of = smallest(&pdf, 0, "1") + 20;
    pdf.maximum = short_of;
    pdf_language(&pdf, 0);
    assert_int_equal(pdf.status, CH_E_LIMIT);
    ch_text_clear(&pdf);
}

/* Every allocation of ours in turn; those of Cairo and Pango are theirs. */
static void running_out_of_memory_is_reported(void **state)
{
    (void)state;
    bool whole = false;
    for (long nth = 1; !whole && nth < 2000; nth++) {
        ch_document *document = NULL;
        ch_text html;
        ch_text_init(&html, CH_DOCUMENT_BYTES_MAX);
        fail_alloc_at(nth);
        ch_status rc = ch_document_new("t", "u", "f", &document, NULL);
        if (rc >= 0) {
            fill(document);
            rc = ch_document_html(document, &html, NULL);
        }
        whole = !fail_alloc_stop();
        assert_int_equal(rc, whole ? CH_OK : CH_E_MEMORY);
        ch_text_clear(&html);
        ch_document_free(document);
    }
    assert_true(whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(html_holds_every_part_in_order_and_escaped),
        cmocka_unit_test(what_cannot_be_printed_is_replaced),
        cmocka_unit_test(the_same_document_gives_the_same_pdf),
        cmocka_unit_test(long_documents_go_on_to_further_pages),
        cmocka_unit_test(the_lines_of_an_item_stay_on_one_page_where_it_has_room),
        cmocka_unit_test(two_columns_are_filled_one_after_the_other_before_the_next_page),
        cmocka_unit_test(what_stands_behind_columns_goes_on_below_the_fuller_one),
        cmocka_unit_test(boxes_take_letters_and_not_too_many),
        cmocka_unit_test(a_word_wider_than_the_page_is_broken_not_lost),
        cmocka_unit_test(a_row_needs_its_table),
        cmocka_unit_test(too_many_parts_are_refused),
        cmocka_unit_test(a_drawing_that_is_none_is_refused),
        cmocka_unit_test(a_file_longer_than_allowed_is_refused),
        cmocka_unit_test(the_language_stands_behind_what_a_pdf_has_said),
        cmocka_unit_test(a_file_of_another_form_keeps_its_bytes),
        cmocka_unit_test(running_out_of_memory_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}

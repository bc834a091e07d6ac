/* Appends a PDF's language to it. */
#include "pdf_language.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The last place of `words` in the file; NULL where it has none. Streams hold any byte, so that the file is no string. */
static const char *last_of(const char *file, size_t length, const char *words)
{
    const size_t size = strlen(words);
    for (size_t i = length >= size ? length - size + 1 : 0; i > 0; i--)
        if (memcmp(file + i - 1, words, size) == 0)
            return file + i - 1;
    return NULL;
}

/* The number behind a key of the text; 0, which none of those read here is, where there is none. */
static unsigned long number_behind(const char *text, const char *key)
{
    const char *at = text != NULL ? strstr(text, key) : NULL;
    return at != NULL ? strtoul(at + strlen(key), NULL, 10) : 0;
}

/* The object's dictionary by the table of objects at `table`: from behind its "<<" up to its last ">>". False where they are not where they should be. */
static bool dictionary(const char *file, size_t length, size_t table, unsigned long object, const char **begins,
                       const char **ends)
{
    enum { LINE = 20 };
    char name[48];
    const char *lines =
        table < length && strncmp(file + table, "xref\n0 ", 7) == 0 ? strchr(file + table + 7, '\n') : NULL;
    if (lines == NULL || lines + 1 + (object + 1) * LINE > file + length)
        return false;
    const size_t at = strtoul(lines + 1 + object * LINE, NULL, 10);
    snprintf(name, sizeof name, "%lu 0 obj\n<<", object);
    if (at >= length || strncmp(file + at, name, strlen(name)) != 0)
        return false;
    *begins = file + at + strlen(name);
    const char *end = strstr(*begins, "endobj");
    *ends = end != NULL ? last_of(*begins, (size_t)(end - *begins), ">>") : NULL;
    return *ends != NULL;
}

void pdf_language(ch_text *pdf, size_t from)
{
    const char *file = ch_text_string(pdf) + from, *begins = NULL, *ends = NULL;
    const size_t length = pdf->length - from;
    const char *trailer = last_of(file, length, "trailer\n");
    const unsigned long table = number_behind(trailer, "startxref\n"), size = number_behind(trailer, "/Size ");
    const unsigned long root = number_behind(trailer, "/Root "), info = number_behind(trailer, "/Info ");
    if (table == 0 || size == 0 || root == 0 || root >= size || info == 0 ||
        !dictionary(file, length, table, root, &begins, &ends))
        return;
    ch_text catalog;
    ch_text_init(&catalog, length);
    ch_text_append(&catalog, begins, (size_t)(ends - begins));
    const size_t object = length;
    ch_text_appendf(pdf,
                    "%lu 0 obj\n<<%s   /Lang (en)\n   /ViewerPreferences << /DisplayDocTitle true >>\n>>\nendobj\n",
                    root, ch_text_string(&catalog));
    const size_t xref = pdf->length - from;
    ch_text_appendf(pdf,
                    "xref\n0 1\n0000000000 65535 f \n%lu 1\n%010zu 00000 n \ntrailer\n<< /Size %lu\n   /Root %lu 0 R\n"
                    "   /Info %lu 0 R\n   /Prev %lu\n>>\nstartxref\n%zu\n%%%%EOF\n",
                    root, object, size, root, info, table, xref);
    if (catalog.status != CH_OK && pdf->status == CH_OK)
        pdf->status = catalog.status;
    ch_text_clear(&catalog);
}

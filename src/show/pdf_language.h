/* The language of a PDF, which Cairo has no word for. Private to show. */
#ifndef CROSSHATCH_SHOW_PDF_LANGUAGE_H
#define CROSSHATCH_SHOW_PDF_LANGUAGE_H

#include <stddef.h>

#include "crosshatch/text.h"

/* Of a Cairo surface, so that what it writes is of the form that pdf_language() reads: a table of objects in plain text (from 1.5 on it may be packed). */
#define PDF_LANGUAGE_VERSION CAIRO_PDF_VERSION_1_4

/**
 * Say that a PDF is in English, and that a reader's window is to show its title instead of the file's name: an incremental update (ISO 32000-1:2008, 7.5.6) with its
 * catalog as it was and /Lang and /ViewerPreferences (14.9.2, 12.2) besides. A file that is not of the form above is left as it is, as every reader can show it.
 *
 * @param pdf  A whole file, from byte `from` on; appended to. Its status tells where that failed.
 * @param from Where the file begins.
 */
void pdf_language(ch_text *pdf, size_t from);

#endif

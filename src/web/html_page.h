/* The frame that every page has, and the form that carries the token. */
#ifndef CROSSHATCH_WEB_HTML_PAGE_H
#define CROSSHATCH_WEB_HTML_PAGE_H

#include "html.h"
#include "route.h"

/* From the doctype to the opening of <main>, whose heading is the title. */
void html_page_open(html_writer *w, const web_request *request, const char *title);

/* From the end of <main> to the end of the page. */
void html_page_close(html_writer *w);

/* <form method="post" action="..."> with the token; `action` is a path of ours. `files`: it has a field for a file. */
void html_form_open(html_writer *w, const web_request *request, const char *action, bool files);
void html_form_close(html_writer *w);

#endif

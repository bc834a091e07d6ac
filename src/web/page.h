/* The pages, one page_NAME.c each. */
#ifndef CROSSHATCH_WEB_PAGE_H
#define CROSSHATCH_WEB_PAGE_H

#include "route.h"

web_handler page_home_get;

#endif

/* What a judged run looks like on a page. */
#ifndef CROSSHATCH_WEB_DRIVE_VIEW_H
#define CROSSHATCH_WEB_DRIVE_VIEW_H

#include "crosshatch/store_driveline.h"
#include "html.h"
#include "know.h"
#include "route.h"

typedef struct drive_view {
    html_writer *w;
    const web_request *request;
    const web_know *know;
    const ch_store_run *run; /* its driveline weighed, so that the next checks are there */
} drive_view;

/* Verdict, charts with their numbers, capacity. */
void drive_view_result(const drive_view *v);

/* Causes with their chances, what to look at next as a form, and what limits the answer. */
void drive_view_causes(const drive_view *v);
void drive_view_checks(const drive_view *v);
void drive_view_limits(const drive_view *v);

#endif

/* What the pages of a car share: finding it, its head with the links to its other pages, and numbers in forms. */
#ifndef CROSSHATCH_WEB_PIECE_CAR_H
#define CROSSHATCH_WEB_PIECE_CAR_H

#include "piece.h"

/* The car with this id; *car stays NULL where there is none. */
ch_status piece_car_find(web_request *request, int64_t id, const ch_store_car **car, ch_err *err);

/*
 * The car named by the first part of the path. False where there is none: the answer is then written, and the page returns *rc.
 */
bool piece_car(web_request *request, web_response *response, const ch_store_car **car, ch_status *rc, ch_err *err);

/* Links to the pages of a car; `here` is the last part of this one's path, "" for the car itself, NULL for none of them. */
void piece_car_links(html_writer *w, const ch_store_car *car, const char *here);

/* Open a page of a car with its links. */
void piece_car_open(web_request *request, web_response *response, const ch_store_car *car, const char *title,
                    const char *here);

/*
 * A number as it stands in a form's field: at most three decimals; "" where it is not known. It is shown less finely than it is kept, so a
 * field that comes back as it was written keeps what was stored.
 */
enum { PIECE_FIGURE = 80 };
void piece_figure_text(double si, const ch_unit *unit, char text[PIECE_FIGURE]);

/*
 * The number in a field, typed with or without its unit; NaN where there is none. `label` stands in the refusal. `stored`: see above.
 * CH_E_INPUT also for a number below 0.
 */
ch_status piece_figure(const web_request *request, const char *name, const char *label, const ch_unit *unit,
                       double stored, double *si, ch_err *err);

/* A whole number, `missing` where there is none. */
ch_status piece_count(const web_request *request, const char *name, const char *label, int64_t missing, int64_t *count,
                      ch_err *err);

/* A day, year 0 where there is none. */
ch_status piece_day(const web_request *request, const char *name, const char *label, ch_date *day, ch_err *err);

#endif

/* Plain SVG plots for the studies: bars, points and lines on one pair of axes. */
#ifndef CROSSHATCH_STUDY_PLOT_H
#define CROSSHATCH_STUDY_PLOT_H

#include <stddef.h>
#include <stdio.h>

typedef struct study_plot {
    FILE *file;
    double x[2], y[2]; /* ranges of the axes */
} study_plot;

/* Start a plot in folder/name.svg; false, after a line on stderr, where it cannot be written. The folder is made where it is missing. */
int study_plot_open(study_plot *plot, const char *folder, const char *name, const char *title, const char *x_title,
                    const char *y_title, const double x[2], const double y[2]);

/* style: presentation attributes of SVG, as `fill="#46a"`. */
void study_plot_bar(study_plot *plot, double x0, double x1, double y, const char *style);
void study_plot_line(study_plot *plot, const double (*points)[2], size_t n, const char *style);
void study_plot_point(study_plot *plot, double x, double y, double radius, const char *style);
void study_plot_text(study_plot *plot, double x, double y, const char *text);

/* Finish and say where it is. */
void study_plot_close(study_plot *plot, const char *folder, const char *name);

#endif

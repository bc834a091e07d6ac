/* Plain SVG plots. Texts come from the studies themselves and hold no markup. */
#include "study_plot.h"

#include <sys/stat.h>

enum { WIDTH = 640, HEIGHT = 400, LEFT = 70, RIGHT = 20, TOP = 40, BOTTOM = 60, TICKS = 5 };

static double across(const study_plot *plot, double x)
{
    return LEFT + (x - plot->x[0]) / (plot->x[1] - plot->x[0]) * (WIDTH - LEFT - RIGHT);
}

static double down(const study_plot *plot, double y)
{
    return HEIGHT - BOTTOM - (y - plot->y[0]) / (plot->y[1] - plot->y[0]) * (HEIGHT - TOP - BOTTOM);
}

int study_plot_open(study_plot *plot, const char *folder, const char *name, const char *title, const char *x_title,
                    const char *y_title, const double x[2], const double y[2])
{
    char path[1200];
    mkdir(folder, 0777); /* it may be there already; if it cannot be made, opening the file tells */
    snprintf(path, sizeof path, "%.1000s/%.100s.svg", folder, name);
    *plot = (study_plot){.file = fopen(path, "w"), .x = {x[0], x[1]}, .y = {y[0], y[1]}};
    if (plot->file == NULL) {
        perror(path);
        return 0;
    }
    fprintf(
        plot->file,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"%s\" "
        "font-family=\"sans-serif\" font-size=\"13\">\n<title>%s</title>\n<desc>Across: %s. Up: %s. The figures stand "
        "beside it.</desc>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fff\"/>\n"
        "<text x=\"%d\" y=\"24\" font-size=\"15\">%s</text>\n",
        WIDTH, HEIGHT, title, title, x_title, y_title, LEFT, title);
    for (int t = 0; t <= TICKS; t++) {
        const double at_x = x[0] + (x[1] - x[0]) * t / TICKS, at_y = y[0] + (y[1] - y[0]) * t / TICKS;
        fprintf(plot->file, "<text x=\"%.1f\" y=\"%d\" text-anchor=\"middle\">%g</text>\n", across(plot, at_x),
                HEIGHT - BOTTOM + 18, at_x);
        fprintf(plot->file,
                "<text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%.3g</text><path d=\"M%d %.1fH%d\" stroke=\"#ddd\"/>\n",
                LEFT - 6, down(plot, at_y) + 4.0, at_y, LEFT, down(plot, at_y), WIDTH - RIGHT);
    }
    fprintf(
        plot->file,
        "<text x=\"%d\" y=\"%d\" text-anchor=\"middle\">%s</text>\n<text transform=\"translate(18 %d) rotate(-90)\" "
        "text-anchor=\"middle\">%s</text>\n",
        (WIDTH + LEFT - RIGHT) / 2, HEIGHT - 18, x_title, (HEIGHT + TOP - BOTTOM) / 2, y_title);
    return 1;
}

void study_plot_bar(study_plot *plot, double x0, double x1, double y, const char *style)
{
    fprintf(plot->file, "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" %s/>\n", across(plot, x0),
            down(plot, y), across(plot, x1) - across(plot, x0), down(plot, plot->y[0]) - down(plot, y), style);
}

void study_plot_line(study_plot *plot, const double (*points)[2], size_t n, const char *style)
{
    fprintf(plot->file, "<polyline fill=\"none\" %s points=\"", style);
    for (size_t i = 0; i < n; i++)
        fprintf(plot->file, "%s%.1f,%.1f", i > 0 ? " " : "", across(plot, points[i][0]), down(plot, points[i][1]));
    fprintf(plot->file, "\"/>\n");
}

void study_plot_point(study_plot *plot, double x, double y, double radius, const char *style)
{
    fprintf(plot->file, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\" %s/>\n", across(plot, x), down(plot, y), radius,
            style);
}

void study_plot_text(study_plot *plot, double x, double y, const char *text)
{
    fprintf(plot->file, "<text x=\"%.1f\" y=\"%.1f\">%s</text>\n", across(plot, x), down(plot, y), text);
}

void study_plot_close(study_plot *plot, const char *folder, const char *name)
{
    fprintf(plot->file, "</svg>\n");
    if (fclose(plot->file) == 0)
        printf("plot: %s/%s.svg\n", folder, name);
    else
        perror(name);
}

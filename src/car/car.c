/*
 * A car out of a document's tree: every value checked, every refusal with the place of the key or value that caused it. The first refusal ends the
 * reading.
 */
#include "crosshatch/car.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/text.h"
#include "crosshatch/tree.h"
#include "crosshatch/units.h"

#define PI 3.14159265358979323846

enum { SHOWN = 48 };

typedef struct reader {
    const char *name;
    ch_car *car;
    ch_err *err;
    ch_status status;
} reader;

/* A number of the car, its dimension, and the unit of a bare one. */
typedef struct number {
    const char *key, *bare;
    ch_dimension dimension;
    double low, high;
    const char *right;
    size_t offset;
} number;

static const number CAR_NUMBERS[] = {
    {"final_drive", "1", CH_DIM_RATIO, 0.5, 12, "a ratio from 0.5 to 12, as in 4.1", offsetof(ch_car, final_drive_1)},
    {"mass", "kg", CH_DIM_MASS, 100, 20000, "100 kg to 20 t, as in 1050 kg", offsetof(ch_car, mass_kg)},
    {"drag_area", "m2", CH_DIM_AREA, 0.05, 5, "0.05 to 5 m2, as in 0.65 m2", offsetof(ch_car, drag_area_m2)},
};
static const number CLUTCH_NUMBERS[] = {
    {"outer", "mm", CH_DIM_LENGTH, 0.05, 0.6, "the facing's outer diameter, 50 to 600 mm, as in 215 mm",
     offsetof(ch_car, clutch.outer_m)},
    {"inner", "mm", CH_DIM_LENGTH, 0.01, 0.5, "the facing's inner diameter, 10 to 500 mm, as in 145 mm",
     offsetof(ch_car, clutch.inner_m)},
    {"surfaces", "1", CH_DIM_RATIO, 1, 20, "rubbing faces, 2 for one plate", offsetof(ch_car, clutch.surfaces_1)},
    {"clamp_force", "N", CH_DIM_FORCE, 100, 100000, "100 N to 100 kN, as in 5 kN",
     offsetof(ch_car, clutch.clamp_force_n)},
    {"friction", "1", CH_DIM_RATIO, 0.01, 1.5, "a coefficient of friction from 0.01 to 1.5, as in 0.35",
     offsetof(ch_car, clutch.friction_1)},
};
enum {
    CAR_NUMBER_COUNT = sizeof CAR_NUMBERS / sizeof CAR_NUMBERS[0],
    CLUTCH_NUMBER_COUNT = sizeof CLUTCH_NUMBERS / sizeof CLUTCH_NUMBERS[0]
};

static void refuse_at(reader *r, ch_status status, long line, long column, const char *right, const char *what, ...)
    __attribute__((format(printf, 6, 7)));

static void refuse_at(reader *r, ch_status status, long line, long column, const char *right, const char *what, ...)
{
    if (r->status < 0)
        return;
    char text[sizeof r->err->what];
    va_list arguments;
    va_start(arguments, what);
    vsnprintf(text, sizeof text, what, arguments);
    va_end(arguments);
    r->status = ch_fail(r->err, status, right, "%s", text);
    ch_err_locate(r->err, r->name, line, column);
}

#define REFUSE(node, ...) refuse_at(r, CH_E_INPUT, (node)->line, (node)->column, __VA_ARGS__)

static bool is_key(const ch_tree_node *part, const char *key)
{
    return part->key_length == strlen(key) && memcmp(part->key, key, part->key_length) == 0;
}

static void refuse_key(reader *r, const ch_tree_node *part, const char *const *keys, size_t n)
{
    char shown[SHOWN], right[256] = "";
    ch_text_excerpt(part->key, part->key_length, shown, sizeof shown);
    const char *nearest = ch_nearest_word(part->key, part->key_length, keys, n);
    if (nearest != NULL) {
        snprintf(right, sizeof right, "did you mean \"%s\"?", nearest);
    } else {
        size_t used = 0;
        for (size_t i = 0; i < n && used < sizeof right; i++)
            used += (size_t)snprintf(right + used, sizeof right - used, "%s%s", i == 0 ? "one of " : ", ", keys[i]);
    }
    refuse_at(r, CH_E_INPUT, part->key_line, part->key_column, right, "unknown key \"%s\"", shown);
}

static bool need_kind(reader *r, const ch_tree_node *node, const char *key, ch_tree_kind kind, const char *right)
{
    static const char *const is[] = {[CH_TREE_TEXT] = "a text", [CH_TREE_LIST] = "a list", [CH_TREE_MAP] = "a map"};
    if (r->status < 0)
        return false;
    if (node->kind == kind && !ch_tree_is_null(node))
        return true;
    REFUSE(node, right, "%s: %s", key, ch_tree_is_null(node) ? "no value" : is[node->kind]);
    return false;
}

static double read_number(reader *r, const ch_tree_node *node, const number *n)
{
    const double slack = 1e-9; /* "50 mm" times 0.001 may miss 0.05 by a rounding */
    char shown[SHOWN];
    ch_quantity q = ch_quantity_none();
    ch_err reason = {0};
    if (!need_kind(r, node, n->key, CH_TREE_TEXT, n->right))
        return NAN;
    ch_text_excerpt(node->text, node->length, shown, sizeof shown);
    if (ch_quantity_parse(node->text, node->length, n->dimension, ch_unit_find(n->bare, strlen(n->bare)), &q, &reason) <
        0) {
        REFUSE(node, reason.right[0] != '\0' ? reason.right : n->right, "%s: %s", n->key, reason.what);
        return NAN;
    }
    if (!(q.si >= n->low * (1 - slack)) || !(q.si <= n->high * (1 + slack))) {
        REFUSE(node, n->right, "%s: %s is out of range", n->key, shown);
        return NAN;
    }
    return q.si;
}

static bool read_numbers(reader *r, const ch_tree_node *part, const number *numbers, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (is_key(part, numbers[i].key)) {
            const double si = read_number(r, part, &numbers[i]);
            memcpy((char *)r->car + numbers[i].offset, &si, sizeof si);
            return true;
        }
    return false;
}

static void read_tyre(reader *r, const ch_tree_node *node)
{
    static const char right[] = "a size such as 195/50R15";
    char shown[SHOWN];
    if (!need_kind(r, node, "tyre", CH_TREE_TEXT, right))
        return;
    ch_text_excerpt(node->text, node->length, shown, sizeof shown);
    if (ch_tyre_parse(node->text, node->length, &r->car->tyre, NULL) < 0)
        REFUSE(node, right, "tyre: \"%s\" is not a tyre's size", shown);
    else
        ch_text_excerpt(node->text, node->length, r->car->tyre_text, sizeof r->car->tyre_text);
}

static void read_gears(reader *r, const ch_tree_node *node)
{
    static const number gear = {"gears", "1", CH_DIM_RATIO, 0.3, 20, "ratios from 0.3 to 20, as in [3.54, 1.91]", 0};
    if (!need_kind(r, node, "gears", CH_TREE_LIST, "the ratios of all gears, first gear first, as in [3.54, 1.91]"))
        return;
    if (node->count == 0 || node->count > CH_CAR_GEARS_MAX) {
        REFUSE(node, "1 to 10 ratios", "gears: %zu ratios", node->count);
        return;
    }
    for (const ch_tree_node *part = node->first; part != NULL && r->status >= 0; part = part->next) {
        const double ratio = read_number(r, part, &gear);
        if (r->status >= 0 && r->car->gears > 0 && !(ratio < r->car->gear_1[r->car->gears - 1]))
            REFUSE(part, "first gear first, each ratio below the one before", "gears: the ratios do not fall");
        r->car->gear_1[r->car->gears++] = ratio;
    }
}

static void read_clutch(reader *r, const ch_tree_node *node)
{
    const char *keys[CLUTCH_NUMBER_COUNT];
    for (size_t i = 0; i < CLUTCH_NUMBER_COUNT; i++)
        keys[i] = CLUTCH_NUMBERS[i].key;
    if (!need_kind(r, node, "clutch", CH_TREE_MAP, "{outer: 215 mm, inner: 145 mm}"))
        return;
    for (const ch_tree_node *part = node->first; part != NULL && r->status >= 0; part = part->next)
        if (!read_numbers(r, part, CLUTCH_NUMBERS, CLUTCH_NUMBER_COUNT))
            refuse_key(r, part, keys, CLUTCH_NUMBER_COUNT);
    if (r->status >= 0 && r->car->clutch.inner_m >= r->car->clutch.outer_m)
        REFUSE(node, "an inner diameter below the outer", "clutch: the facing's inner diameter is not below its outer");
}

static void read_observed(reader *r, const ch_tree_node *node)
{
    static const char right[] = "names as in [no_free_play, clutch_smell]";
    if (!need_kind(r, node, "observed", CH_TREE_LIST, right))
        return;
    if (node->count > CH_CAR_OBSERVED_MAX) {
        REFUSE(node, "at most 32", "observed: %zu names", node->count);
        return;
    }
    for (const ch_tree_node *part = node->first; part != NULL && r->status >= 0; part = part->next) {
        ch_car_observed *to = &r->car->observed[r->car->observed_n];
        if (!need_kind(r, part, "observed", CH_TREE_TEXT, right))
            return;
        if (part->length == 0 || part->length >= sizeof to->id || strlen(part->text) != part->length) {
            REFUSE(part, right, "observed: not a name");
            return;
        }
        memcpy(to->id, part->text, part->length + 1);
        to->line = part->line;
        to->column = part->column;
        r->car->observed_n++;
    }
}

static void read_title(reader *r, const ch_tree_node *node)
{
    if (need_kind(r, node, "title", CH_TREE_TEXT, "a name"))
        ch_text_excerpt(node->text, node->length, r->car->title, sizeof r->car->title);
}

static void read_car(reader *r, const ch_tree_node *root)
{
    static const struct {
        const char *key;
        void (*read)(reader *, const ch_tree_node *);
    } parts[] = {{"title", read_title},
                 {"tyre", read_tyre},
                 {"gears", read_gears},
                 {"clutch", read_clutch},
                 {"observed", read_observed}};
    enum { PARTS = sizeof parts / sizeof parts[0] };
    const char *keys[PARTS + CAR_NUMBER_COUNT];
    for (size_t i = 0; i < PARTS; i++)
        keys[i] = parts[i].key;
    for (size_t i = 0; i < CAR_NUMBER_COUNT; i++)
        keys[PARTS + i] = CAR_NUMBERS[i].key;
    if (!need_kind(r, root, "the car", CH_TREE_MAP, "keys and values, such as mass: 1050 kg"))
        return;
    for (const ch_tree_node *part = root->first; part != NULL && r->status >= 0; part = part->next) {
        size_t i = 0;
        while (i < PARTS && !is_key(part, parts[i].key))
            i++;
        if (i < PARTS)
            parts[i].read(r, part);
        else if (!read_numbers(r, part, CAR_NUMBERS, CAR_NUMBER_COUNT))
            refuse_key(r, part, keys, PARTS + CAR_NUMBER_COUNT);
    }
}

ch_car ch_car_none(void)
{
    return (ch_car){.tyre = {NAN, NAN, NAN},
                    .final_drive_1 = NAN,
                    .mass_kg = NAN,
                    .drag_area_m2 = NAN,
                    .clutch = {NAN, NAN, NAN, NAN, NAN}};
}

ch_status ch_car_parse(const char *name, const char *text, size_t length, ch_car *car, ch_err *err)
{
    ch_tree *tree = NULL;
    ch_car made = ch_car_none();
    reader r = {.name = name, .car = &made, .err = err, .status = CH_OK};
    r.status = ch_tree_parse(name, text, length, &tree, err);
    if (r.status < 0)
        return r.status;
    read_car(&r, ch_tree_root(tree));
    ch_tree_free(tree);
    if (r.status < 0)
        return r.status;
    *car = made;
    return CH_OK;
}

double ch_car_line_rad_m(const ch_car *car, size_t gear)
{
    if (gear < 1 || gear > car->gears)
        return NAN;
    return 2 * PI * car->gear_1[gear - 1] * car->final_drive_1 / ch_tyre_rolling_circumference(&car->tyre);
}

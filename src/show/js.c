/* JSON values for results. */
#include "js.h"

#include <math.h>

enum { FIGURES = 10 };

void js_put(json_t **object, const char *key, json_t *value)
{
    if (*object == NULL) {
        json_decref(value);
    } else if (json_object_set_new(*object, key, value) != 0) {
        json_decref(*object);
        *object = NULL;
    }
}

void js_add(json_t **array, json_t *value)
{
    if (*array == NULL) {
        json_decref(value);
    } else if (json_array_append_new(*array, value) != 0) {
        json_decref(*array);
        *array = NULL;
    }
}

json_t *js_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *js_kilopascal(double pressure_pa)
{
    return js_number(pressure_pa / 1e3);
}

json_t *js_square_millimetre(double area_m2)
{
    return js_number(area_m2 / 1e-6);
}

json_t *js_numbers(const double *values, size_t count, double unit_si)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        js_add(&array, js_number(values[i] / unit_si));
    return array;
}

json_t *js_assumed(const bool assumed[CH_INPUT_COUNT], bool (*takes_part)(ch_input input))
{
    json_t *array = json_array();
    for (int input = 0; input < CH_INPUT_COUNT; input++)
        if (assumed[input] && takes_part((ch_input)input))
            js_add(&array, json_string(ch_input_name((ch_input)input)));
    return array;
}

static int append(const char *bytes, size_t length, void *text)
{
    ch_text_append(text, bytes, length);
    return 0;
}

ch_status js_finish(json_t *root, ch_text *text, ch_err *err)
{
    const int rc = root == NULL
                       ? -1
                       : json_dump_callback(root, append, text,
                                            JSON_INDENT(2) | JSON_REAL_PRECISION(FIGURES) | JSON_PRESERVE_ORDER);
    json_decref(root);
    if (rc != 0)
        return ch_fail(err, CH_E_MEMORY, NULL, "no memory for the answer");
    ch_text_append_string(text, "\n");
    return ch_text_check(text, err);
}

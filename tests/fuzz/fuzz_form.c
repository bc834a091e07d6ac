/*
 * Any bytes as a form: the first byte says which kind. Odd: the rest is application/x-www-form-urlencoded. Even: the first line is the Content-Type
 * header, what follows it is a multipart body. Every field that comes out must have a name and be text, unless it is a file; a form written again from its
 * fields must read the same. What is refused must say why.
 */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/text.h"
#include "fuzz.h"
#include "multipart.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static void must_be_sound(const web_fields *fields)
{
    must(fields->count <= WEB_FIELDS_MAXIMUM);
    for (size_t i = 0; i < fields->count; i++) {
        const web_field *const f = &fields->list[i];
        must(f->name[0] != '\0' && web_is_text(f->name, strlen(f->name)));
        must(f->value[f->length] == '\0' && (f->file_name == NULL) == (f->file_type == NULL));
        if (f->file_name == NULL)
            must(strlen(f->value) == f->length && web_is_text(f->value, f->length));
        else
            must(web_is_text(f->file_name, strlen(f->file_name)) && web_is_text(f->file_type, strlen(f->file_type)));
        must(web_field_find(fields, f->name) != NULL && web_value(fields, f->name) != NULL);
    }
}

static void write_encoded(ch_text *text, const char *bytes)
{
    for (; *bytes != '\0'; bytes++)
        ch_text_appendf(text, "%%%02X", (unsigned char)*bytes);
}

/* Every byte as %XX: read again it must be the same fields. */
static void must_read_again(const web_fields *fields)
{
    ch_text text;
    ch_text_init(&text, 4 * 1024 * 1024);
    for (size_t i = 0; i < fields->count; i++) {
        ch_text_append_string(&text, i > 0 ? "&" : "");
        write_encoded(&text, fields->list[i].name);
        ch_text_append_string(&text, "=");
        write_encoded(&text, fields->list[i].value);
    }
    if (ch_text_check(&text, NULL) >= 0) {
        web_fields again = {0};
        must(web_urlencoded_parse(ch_text_string(&text), text.length, &again, NULL) == CH_OK);
        must(again.count == fields->count);
        for (size_t i = 0; i < again.count; i++)
            must(strcmp(again.list[i].name, fields->list[i].name) == 0 &&
                 strcmp(again.list[i].value, fields->list[i].value) == 0);
        web_fields_clear(&again);
    }
    ch_text_clear(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    /* Copies of exactly these sizes let the address sanitizer see a read beyond them. */
    char *const bytes = malloc(size);
    if (bytes == NULL)
        return 0;
    memcpy(bytes, data + 1, size - 1);
    bytes[size - 1] = '\0'; /* as the transport leaves a body */
    web_fields fields = {0};
    ch_err err = {0};
    ch_status status;
    char *type = NULL;
    if (data[0] % 2 == 1) {
        status = web_urlencoded_parse(bytes, size - 1, &fields, &err);
    } else {
        const size_t line = strcspn(bytes, "\n");
        type = strndup(bytes, line);
        if (type == NULL)
            abort();
        const size_t begin = line < size - 1 ? line + 1 : size - 1;
        status = web_multipart_parse(type, bytes + begin, size - 1 - begin, &fields, &err);
    }
    must(status == err.status);
    if (status < 0) {
        must((status == CH_E_INPUT || status == CH_E_LIMIT) && err.what[0] != '\0');
    } else {
        must_be_sound(&fields);
        if (data[0] % 2 == 1)
            must_read_again(&fields);
    }
    web_fields_clear(&fields);
    free(type);
    free(bytes);
    return 0;
}

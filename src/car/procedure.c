/*
 * The guided procedures as one: each file is read by itself, then they are put in order and held against each other.
 * 1. The output is touched only after everything has been read and found right.
 * 2. Texts are not copied: the trees of the files are kept, and all `const char *` point into them.
 */
#include "crosshatch/procedure.h"

#include <string.h>

#include "procedure_read.h"

static void gather(knowledge_reader *r, const procedure_entry *entries, size_t n, ch_procedures *to)
{
    ch_procedure *all = knowledge_alloc(r, n, sizeof *all);
    for (size_t i = 0; all != NULL && i < n; i++)
        all[i] = entries[i].made;
    to->procedures = all;
    to->count = n;
}

ch_status ch_procedures_parse(ch_procedures *procedures, const ch_knowledge *knowledge, const ch_knowledge_text texts[],
                              size_t count, ch_err *err)
{
    if (count > CH_PROCEDURES_MAX)
        return ch_fail(err, CH_E_LIMIT, "at most 64", "%zu procedures", count);
    procedure_entry entries[CH_PROCEDURES_MAX] = {0};
    ch_knowledge owner = *knowledge; /* to look cautions up in, and to own what is read here */
    owner.pieces = NULL;
    knowledge_reader r = {.to = &owner, .err = err};
    ch_procedures made = {0};
    for (size_t i = 0; i < count; i++)
        procedure_read_file(&r, &texts[i], &entries[i]);
    procedure_sort(&r, entries, count);
    procedure_read_things(&r, entries, count, &made);
    for (size_t i = 0; i < count; i++)
        procedure_check_cautions(&r, &entries[i]);
    gather(&r, entries, count, &made);
    made.pieces = owner.pieces;
    if (r.status < 0) {
        ch_procedures_clear(&made);
        return r.status;
    }
    *procedures = made;
    return CH_OK;
}

void ch_procedures_clear(ch_procedures *procedures)
{
    ch_knowledge owner = {.pieces = procedures->pieces};
    ch_knowledge_clear(&owner);
    *procedures = (ch_procedures){0};
}

static bool is_named(const char *id, const char *name, size_t length)
{
    return strlen(id) == length && memcmp(id, name, length) == 0;
}

const ch_procedure *ch_procedure_find(const ch_procedures *procedures, const char *id, size_t length)
{
    for (size_t i = 0; i < procedures->count; i++)
        if (is_named(procedures->procedures[i].id, id, length))
            return &procedures->procedures[i];
    return NULL;
}

const ch_procedure_step *ch_procedure_step_find(const ch_procedure *procedure, const char *id, size_t length)
{
    for (size_t i = 0; i < procedure->steps_count; i++)
        if (is_named(procedure->steps[i].id, id, length))
            return &procedure->steps[i];
    return NULL;
}

void ch_procedure_fill(const char *template_text, int cylinder, ch_text *to)
{
    static const char placeholder[] = "{cylinder}";
    const char *from = template_text;
    for (const char *at = strstr(from, placeholder); at != NULL; at = strstr(from, placeholder)) {
        ch_text_append(to, from, (size_t)(at - from));
        ch_text_appendf(to, "%d", cylinder);
        from = at + strlen(placeholder);
    }
    ch_text_append_string(to, from);
}

const char *ch_step_kind_name(ch_step_kind kind)
{
    static const char *const names[] = {
        [CH_STEP_CHECK] = "check",     [CH_STEP_REMOVE] = "remove", [CH_STEP_DISABLE] = "disable",
        [CH_STEP_MEASURE] = "measure", [CH_STEP_REFIT] = "refit",   [CH_STEP_NOTE] = "note",
    };
    return (unsigned)kind <= CH_STEP_NOTE ? names[kind] : NULL;
}

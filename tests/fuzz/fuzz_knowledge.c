/*
 * Any bytes as one of the files of knowledge: the first byte says which (causes, observations, checks, cautions, or one of the guided procedures), the
 * rest is the text; the others are the built-in ones. What is accepted must hold together: every place inside its list, every chance a chance,
 * everything found by its name. What is refused must say why and where, and hold nothing.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/procedure.h"
#include "fuzz.h"

static void must(bool held)
{
    if (!held)
        abort();
}

static bool accepted(ch_status status, const ch_err *err)
{
    must(status == err->status);
    if (status >= 0)
        return true;
    must(status == CH_E_INPUT || status == CH_E_LIMIT);
    must(err->what[0] != '\0' && err->file[0] != '\0');
    return false;
}

static void must_be_within(ch_places places, size_t count)
{
    for (size_t i = 0; i < places.count; i++)
        must(places.at[i] < count);
}

static void use_cause(const ch_knowledge *k, ch_cause cause)
{
    const ch_knowledge_cause *const c = &k->causes[cause];
    must(strcmp(c->id, ch_cause_name(cause)) == 0 && ch_cause_find(c->id, strlen(c->id)) == cause);
    must(cause == CH_CAUSE_SOUND ? isnan(c->prior_1) : c->prior_1 >= 0.0 && c->prior_1 < 1.0);
    double all_1 = c->no_path_chance_1;
    for (int p = 0; p < CH_PATH_COUNT; p++)
        all_1 += c->path_chance_1[p];
    must(fabs(all_1 - 1.0) < 1e-6);
    must_be_within(c->cautions, k->cautions_count);
}

static void use_knowledge(const ch_knowledge *k)
{
    for (int cause = 0; cause < CH_CAUSE_COUNT; cause++)
        use_cause(k, (ch_cause)cause);
    for (size_t i = 0; i < k->observations_count; i++) {
        const ch_knowledge_observation *const o = &k->observations[i];
        must(ch_knowledge_observation_find(k, o->id, strlen(o->id)) == o);
        must(o->group == CH_NO_GROUP || (o->group >= 0 && (size_t)o->group < k->groups_count));
        for (int cause = 0; cause < CH_CAUSE_COUNT; cause++)
            must(o->kind == CH_OBSERVATION_HISTORY ? o->odds_1[cause] > 0.0
                                                   : o->positive_1[cause] > 0.0 && o->positive_1[cause] < 1.0);
    }
    for (size_t i = 0; i < k->checks_count; i++) {
        const ch_knowledge_check *const c = &k->checks[i];
        must(ch_knowledge_check_find(k, c->id, strlen(c->id)) == c && c->setup_s >= 0.0 && c->each_s >= 0.0);
        must_be_within(c->needs, k->tools_count);
        must_be_within(c->yields, k->observations_count);
        must_be_within(c->cautions, k->cautions_count);
    }
    (void)ch_knowledge_observation_nearest(k, "oily_plgu", 9);
}

static void use_procedures(const ch_procedures *p, const ch_knowledge *k)
{
    for (size_t i = 0; i < p->count; i++) {
        must(ch_procedure_find(p, p->procedures[i].id, strlen(p->procedures[i].id)) == &p->procedures[i]);
        must_be_within(p->procedures[i].after, p->count);
        for (size_t n = 0; n < p->procedures[i].steps_count; n++) {
            const ch_procedure_step *const step = &p->procedures[i].steps[n];
            must_be_within(step->cautions, k->cautions_count);
            must(step->takes_off < (long)p->things_count && step->puts_back < (long)p->things_count);
            must(step->crank_least_s <= step->crank_most_s);
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static ch_knowledge builtin; /* read once: the built-in files do not change between inputs */
    size_t procedures_count;
    const ch_knowledge_text *const procedures = ch_procedures_builtin(&procedures_count);
    if (builtin.pieces == NULL)
        must(ch_knowledge_parse(&builtin, ch_knowledge_builtin(), NULL) == CH_OK &&
             procedures_count <= CH_PROCEDURES_MAX);
    if (size == 0)
        return 0;
    /* A copy of exactly this size lets the address sanitizer see a read beyond the text. */
    char *const bytes = malloc(size);
    if (bytes == NULL)
        return 0;
    memcpy(bytes, data + 1, size - 1);
    const ch_knowledge_text text = {"f.yaml", bytes, size - 1};
    const size_t which = data[0] % (CH_KNOWLEDGE_FILES + procedures_count);
    ch_err err = {0};
    if (which < CH_KNOWLEDGE_FILES) {
        ch_knowledge_text texts[CH_KNOWLEDGE_FILES];
        memcpy(texts, ch_knowledge_builtin(), sizeof texts);
        texts[which] = text;
        ch_knowledge knowledge = {0};
        if (accepted(ch_knowledge_parse(&knowledge, texts, &err), &err))
            use_knowledge(&knowledge);
        else
            must(knowledge.pieces == NULL);
        ch_knowledge_clear(&knowledge);
    } else {
        ch_knowledge_text texts[CH_PROCEDURES_MAX];
        memcpy(texts, procedures, procedures_count * sizeof texts[0]);
        texts[which - CH_KNOWLEDGE_FILES] = text;
        ch_procedures read = {0};
        if (accepted(ch_procedures_parse(&read, &builtin, texts, procedures_count, &err), &err))
            use_procedures(&read, &builtin);
        else
            must(read.pieces == NULL);
        ch_procedures_clear(&read);
    }
    free(bytes);
    return 0;
}

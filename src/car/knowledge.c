/*
 * The four knowledge files as one: each is read by its own room, in the order in which they refer to each other.
 * 1. The output is touched only after everything has been read and found right.
 * 2. Texts are not copied: the trees of the four files are kept, and all `const char *` point into them.
 */
#include "crosshatch/knowledge.h"
#include "crosshatch/hash.h"

#include "knowledge_read.h"

static void read_file(knowledge_reader *r, const ch_knowledge_text *text, ch_knowledge_file file)
{
    static const char *const headings[CH_KNOWLEDGE_FILES] = {"causes", "observations", "checks", "cautions"};
    static void (*const read[CH_KNOWLEDGE_FILES])(knowledge_reader *, const ch_tree_node *) = {
        [CH_KNOWLEDGE_CAUSES] = knowledge_read_causes,
        [CH_KNOWLEDGE_OBSERVATIONS] = knowledge_read_observations,
        [CH_KNOWLEDGE_CHECKS] = knowledge_read_checks,
        [CH_KNOWLEDGE_CAUTIONS] = knowledge_read_cautions,
    };
    const ch_tree_node *root = knowledge_open(r, text, headings[file]);
    if (root != NULL)
        read[file](r, root);
}

ch_status ch_knowledge_parse(ch_knowledge *knowledge, const ch_knowledge_text texts[CH_KNOWLEDGE_FILES], ch_err *err)
{
    static const ch_knowledge_file order[CH_KNOWLEDGE_FILES] = {CH_KNOWLEDGE_CAUTIONS, CH_KNOWLEDGE_OBSERVATIONS,
                                                                CH_KNOWLEDGE_CAUSES, CH_KNOWLEDGE_CHECKS};
    ch_knowledge made = {0};
    knowledge_reader r = {.to = &made, .err = err};
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++)
        read_file(&r, &texts[order[i]], order[i]);
    if (r.status < 0) {
        ch_knowledge_clear(&made);
        return r.status;
    }
    *knowledge = made;
    return CH_OK;
}

uint64_t ch_knowledge_mark(const ch_knowledge_text texts[])
{
    uint64_t mark = CH_HASH_BEGIN;
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++)
        mark = ch_hash(mark, texts[i].text, texts[i].length);
    return mark;
}

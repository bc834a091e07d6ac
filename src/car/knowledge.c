/*
 * The four knowledge files as one: each is read by its own room, in the order in which they refer to each other.
 * 1. The output is touched only after everything has been read and found right.
 * 2. Texts are not copied: the trees of the four files are kept, and all `const char *` point into them.
 */
#include "crosshatch/knowledge.h"

#include "knowledge_read.h"

/* `knowledge: causes` and `version: 1` begin every file. */
static void check_heading(knowledge_reader *r, const ch_tree_node *root, ch_knowledge_file file)
{
    static const char *const headings[CH_KNOWLEDGE_FILES] = {"causes", "observations", "checks", "cautions"};
    static const char *const versions[] = {"1"};
    if (root->kind != CH_TREE_MAP) {
        knowledge_fail(r, CH_E_INPUT, root, "keys and values, as docs/knowledge.md has them", "not a knowledge file");
        return;
    }
    knowledge_word(r, root, "knowledge", &headings[file], 1, -1);
    knowledge_word(r, root, "version", versions, 1, -1);
}

static void read_file(knowledge_reader *r, const ch_knowledge_text *text, ch_knowledge_file file)
{
    static void (*const read[CH_KNOWLEDGE_FILES])(knowledge_reader *, const ch_tree_node *) = {
        [CH_KNOWLEDGE_CAUSES] = knowledge_read_causes,
        [CH_KNOWLEDGE_OBSERVATIONS] = knowledge_read_observations,
        [CH_KNOWLEDGE_CHECKS] = knowledge_read_checks,
        [CH_KNOWLEDGE_CAUTIONS] = knowledge_read_cautions,
    };
    if (r->status < 0)
        return;
    r->file = text->name;
    ch_tree *tree = NULL;
    r->status = ch_tree_parse(text->name, text->text, text->length, &tree, r->err);
    if (r->status < 0)
        return;
    knowledge_keep_tree(r, tree);
    if (r->status < 0) {
        ch_tree_free(tree);
        return;
    }
    check_heading(r, ch_tree_root(tree), file);
    if (r->status >= 0)
        read[file](r, ch_tree_root(tree));
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

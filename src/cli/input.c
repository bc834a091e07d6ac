/* What a person named on the command line, read and checked. */
#include "input.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/tree.h"
#include "file.h"

ch_status input_sheet(const char *name, ch_sheet *sheet, ch_err *err)
{
    char *bytes = NULL;
    size_t length = 0;
    ch_status rc = file_read(name, CH_SHEET_BYTES_MAX, &bytes, &length, err);
    if (rc < 0)
        return rc;
    const char *shown = strcmp(name, "-") == 0 ? "standard input" : name;
    rc = ch_sheet_parse(shown, bytes, length, sheet, err);
    if (rc < 0)
        ch_err_locate(err, shown, 0, 0);
    free(bytes);
    return rc;
}

ch_status input_knowledge(const char *folder, ch_knowledge *knowledge, ch_err *err)
{
    if (folder == NULL)
        return ch_knowledge_parse(knowledge, ch_knowledge_builtin(), err);
    ch_knowledge_text texts[CH_KNOWLEDGE_FILES] = {{0}};
    char *bytes[CH_KNOWLEDGE_FILES] = {0};
    char names[CH_KNOWLEDGE_FILES][PATH_MAX];
    ch_status rc = CH_OK;
    for (int i = 0; rc >= 0 && i < CH_KNOWLEDGE_FILES; i++) {
        const int size =
            snprintf(names[i], sizeof names[i], "%s/%s", folder, ch_knowledge_file_name((ch_knowledge_file)i));
        if (size < 0 || (size_t)size >= sizeof names[i]) {
            rc = ch_fail(err, CH_E_USAGE, "a shorter name", "--knowledge: the folder's name is too long");
            break;
        }
        texts[i].name = names[i];
        rc = file_read(names[i], CH_TREE_BYTES_MAX, &bytes[i], &texts[i].length, err);
        texts[i].text = bytes[i];
    }
    if (rc >= 0)
        rc = ch_knowledge_parse(knowledge, texts, err);
    for (int i = 0; i < CH_KNOWLEDGE_FILES; i++)
        free(bytes[i]);
    return rc;
}

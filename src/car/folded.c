/*
 * A folded block of text.
 *
 * libfyaml 0.7.12 loses a line end where an empty line stands ahead of an indented one, and returns a byte that never stood there. So the block
 * is read here once libfyaml has found it. Source: YAML 1.2.2, 8.1 and 8.1.3: a line end between two lines is a space, of several the first is
 * dropped; around lines that are indented further every one is kept. Its header says what becomes of the last: one stays, none (`-`), all (`+`).
 */
#include "folded.h"

#include <string.h>

/* One line without its end. */
typedef struct line {
    const char *text;
    size_t length;
} line;

static bool next_line(const char **from, const char *end, line *out)
{
    if (*from >= end)
        return false;
    const char *stop = *from;
    while (stop < end && *stop != '\n' && *stop != '\r')
        stop++;
    *out = (line){*from, (size_t)(stop - *from)};
    if (stop < end)
        stop += *stop == '\r' && stop + 1 < end && stop[1] == '\n' ? 2 : 1;
    *from = stop;
    return true;
}

static size_t count_spaces(const line *l)
{
    size_t n = 0;
    while (n < l->length && l->text[n] == ' ')
        n++;
    return n;
}

static const char *find_header(const char *from, const char *end)
{
    bool remark = false;
    for (; from < end; from++) {
        if (*from == '\n' || *from == '\r')
            remark = false;
        else if (*from == '#' && (from[-1] == ' ' || from[-1] == '\t' || from[-1] == '\n' || from[-1] == '\r'))
            remark = true;
        else if (*from == '>' && !remark)
            return from;
    }
    return NULL;
}

static size_t put_lines(char *out, size_t used, size_t n)
{
    memset(out + used, '\n', n);
    return used + n;
}

bool folded_read(const char *text, size_t length, size_t offset, char *out, size_t *used)
{
    const char *end = text + length;
    const char *from = offset > 0 ? find_header(text + offset, end) : NULL;
    line header, l;
    if (from == NULL || !next_line(&from, end, &header))
        return false;
    const char chomp = header.length > 1 && (header.text[1] == '-' || header.text[1] == '+') ? header.text[1] : ' ';
    for (size_t i = 1; i < header.length && i < 3; i++)
        if (header.text[i] >= '0' && header.text[i] <= '9')
            return false;

    size_t indent = 0, empty = 0, n = 0;
    bool any = false, further = false;
    while (next_line(&from, end, &l)) {
        const size_t spaces = count_spaces(&l);
        if (spaces == l.length && (!any || spaces <= indent)) {
            empty += from > l.text + l.length; /* blanks without a line end, ahead of a remark, are no line */
            continue;
        }
        if (!any)
            indent = spaces;
        if (spaces < indent || indent == 0)
            break; /* the block's end */
        const bool deeper = l.text[indent] == ' ' || l.text[indent] == '\t';
        const bool kept = any && (deeper || further); /* the end of the line before */
        n = put_lines(out, n, kept ? empty + 1 : empty);
        if (any && !kept && empty == 0)
            out[n++] = ' ';
        memcpy(out + n, l.text + indent, l.length - indent);
        n += l.length - indent;
        any = true;
        further = deeper;
        empty = 0;
    }
    if (chomp == '+')
        n = put_lines(out, n, any ? empty + 1 : empty);
    else if (chomp == ' ' && any)
        n = put_lines(out, n, 1);
    out[n] = '\0';
    *used = n;
    return true;
}

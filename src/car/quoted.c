/*
 * The text inside single or double quotes.
 *
 * libfyaml 0.7.12 finds such a text and checks its escapes, but gets two kinds of it wrong: of several '' in a row it makes one quote too many and
 * cuts the end off, and behind \\ at a line end escaped by a further backslash it returns bytes that never stood there. So what stands
 * between the quotes is read here. Sources: YAML 1.2.2, 5.7 (escapes), 6.5 (line folding), 7.3.1, 7.3.2; RFC 8259, 7 (surrogate pairs).
 */
#include "quoted.h"

#include <stdint.h>
#include <string.h>

typedef struct quoted {
    const char *from, *end;
    char *out;
    size_t used;
    size_t solid; /* blanks of `out` before this are content; those behind it go where a line ends */
} quoted;

size_t quoted_length(const char *text, size_t length, char quote)
{
    size_t at = 0;
    while (at < length) {
        const bool doubled = quote == '\'' && at + 1 < length && text[at + 1] == quote;
        if (text[at] == quote && !doubled)
            return at;
        const bool pair = text[at] == quote || (quote == '"' && text[at] == '\\');
        at += pair ? 2 : 1;
    }
    return length;
}

size_t quoted_room(size_t length)
{
    return 2 * length + 1; /* the escape of U+2028 has two bytes, its UTF-8 three */
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_break(char c)
{
    return c == '\n' || c == '\r';
}

/* Pass over line ends and the blanks around them; how many line ends there were. */
static size_t skip_lines(quoted *q)
{
    size_t lines = 0;
    for (; q->from < q->end && (is_blank(*q->from) || is_break(*q->from)); q->from++)
        lines += *q->from == '\n' || (*q->from == '\r' && !(q->from + 1 < q->end && q->from[1] == '\n'));
    return lines;
}

static void put(quoted *q, char c)
{
    q->out[q->used++] = c;
}

static void put_solid(quoted *q, char c)
{
    put(q, c);
    q->solid = q->used;
}

static void put_lines(quoted *q, size_t lines)
{
    for (size_t i = 0; i < lines; i++)
        put_solid(q, '\n');
}

/* One line end is a space, of more the first is dropped; the blanks around them go. */
static void fold(quoted *q)
{
    while (q->used > q->solid && is_blank(q->out[q->used - 1]))
        q->used--;
    const size_t lines = skip_lines(q);
    if (lines == 1)
        put_solid(q, ' ');
    else
        put_lines(q, lines - 1);
}

static bool put_character(quoted *q, uint32_t c)
{
    if (c > 0x10FFFF || (c >= 0xD800 && c <= 0xDFFF))
        return false;
    if (c < 0x80) {
        put(q, (char)c);
    } else if (c < 0x800) {
        put(q, (char)(0xC0 | c >> 6));
        put(q, (char)(0x80 | (c & 0x3F)));
    } else {
        if (c < 0x10000) {
            put(q, (char)(0xE0 | c >> 12));
        } else {
            put(q, (char)(0xF0 | c >> 18));
            put(q, (char)(0x80 | (c >> 12 & 0x3F)));
        }
        put(q, (char)(0x80 | (c >> 6 & 0x3F)));
        put(q, (char)(0x80 | (c & 0x3F)));
    }
    q->solid = q->used;
    return true;
}

/* `digits` hexadecimal digits, or as many as there are. */
static uint32_t read_hex(quoted *q, int digits)
{
    static const char all[] = "0123456789abcdef";
    uint32_t value = 0;
    for (; digits > 0 && q->from < q->end; digits--, q->from++) {
        const char lower = (char)(*q->from >= 'A' && *q->from <= 'F' ? *q->from - 'A' + 'a' : *q->from);
        const char *digit = memchr(all, lower, sizeof all - 1);
        if (digit == NULL)
            break;
        value = value << 4 | (uint32_t)(digit - all);
    }
    return value;
}

/* Two escapes make one character beyond U+FFFF. */
static bool put_sixteen_bits(quoted *q)
{
    const uint32_t high = read_hex(q, 4);
    if (high < 0xD800 || high > 0xDBFF || q->end - q->from < 2 || q->from[0] != '\\' || q->from[1] != 'u')
        return put_character(q, high);
    q->from += 2;
    const uint32_t low = read_hex(q, 4);
    return low >= 0xDC00 && low <= 0xDFFF && put_character(q, 0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00));
}

/* What a backslash and the character behind it stand for. */
static bool escape(quoted *q)
{
    static const char letters[] = "0abtnvfre \"/\\_NLP\t";
    static const uint16_t characters[] = {0,   7,   8,   9,    10,   11,   12,     13,     27,
                                          ' ', '"', '/', '\\', 0xA0, 0x85, 0x2028, 0x2029, 9};
    q->from++;
    if (q->from == q->end)
        return false;
    const char letter = *q->from;
    if (is_break(letter)) {
        q->solid = q->used; /* blanks ahead of an escaped line end stay */
        put_lines(q, skip_lines(q) - 1);
        return true;
    }
    q->from++;
    if (letter == 'x')
        return put_character(q, read_hex(q, 2));
    if (letter == 'u')
        return put_sixteen_bits(q);
    if (letter == 'U')
        return put_character(q, read_hex(q, 8));
    const char *known = memchr(letters, letter, sizeof letters - 1);
    return known != NULL && put_character(q, characters[known - letters]);
}

bool quoted_read(const char *text, size_t length, char quote, char *out, size_t *used)
{
    quoted q = {.from = text, .end = text + length, .out = out};
    while (q.from < q.end) {
        if (is_break(*q.from)) {
            fold(&q);
        } else if (*q.from == '\\' && quote == '"') {
            if (!escape(&q))
                return false;
        } else {
            put(&q, *q.from);
            q.from += *q.from == '\'' && quote == '\'' ? 2 : 1;
        }
    }
    *used = q.used;
    return true;
}

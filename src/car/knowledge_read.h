/*
 * What the readers of the four knowledge files share. Private to car.
 *
 * A reader keeps its first failure: from then on every function below does nothing and gives the value that was not
 * read (NULL, NaN, 0), so that a file is read in a straight line and asked once, at its end, whether all went well.
 */
#ifndef CROSSHATCH_CAR_KNOWLEDGE_READ_H
#define CROSSHATCH_CAR_KNOWLEDGE_READ_H

#include "crosshatch/knowledge.h"
#include "crosshatch/tree.h"

typedef struct knowledge_reader {
    ch_knowledge *to; /* owns all that is read */
    const char *file; /* name of the text being read */
    ch_err *err;
    ch_status status;
} knowledge_reader;

/* Where a number may lie. NaN lies nowhere. */
typedef struct knowledge_range {
    double low, high;
    bool low_open, high_open; /* the end itself is outside */
    const char *right;        /* in words */
} knowledge_range;

extern const knowledge_range knowledge_chance;       /* 0 to 1 */
extern const knowledge_range knowledge_open_chance;  /* 0 to 1, neither of them */
extern const knowledge_range knowledge_part;         /* more than 0, up to 1 */
extern const knowledge_range knowledge_prior;        /* 0 up to, but less than, 1 */
extern const knowledge_range knowledge_positive;     /* more than 0 */
extern const knowledge_range knowledge_not_negative; /* 0 or more */
extern const knowledge_range knowledge_one_or_more;
extern const knowledge_range knowledge_any;

/* A name, what it means, and where it stands. */
typedef struct knowledge_named {
    const char *name;
    size_t place;
    const ch_tree_node *at;
} knowledge_named;

/* `n` zeroed elements that live until the knowledge is cleared; NULL on failure and for n = 0. */
void *knowledge_alloc(knowledge_reader *r, size_t n, size_t size);

/* Hand a tree over to the knowledge. On failure it stays the caller's. */
void knowledge_keep_tree(knowledge_reader *r, ch_tree *tree);

/*
 * Parse a text, keep its tree, and hold it to begin with `knowledge: HEADING` and `version: 1`. Its root, a map; NULL on failure. What fails from now
 * on is located in this text.
 */
const ch_tree_node *knowledge_open(knowledge_reader *r, const ch_knowledge_text *text, const char *heading);

/* Report a failure at a value. */
void knowledge_fail(knowledge_reader *r, ch_status status, const ch_tree_node *at, const char *right, const char *what,
                    ...) __attribute__((format(printf, 5, 6)));

/* Hold a map to the keys it may have, naming the nearest right one; a part that is not a map is a failure too. */
void knowledge_keys_of(knowledge_reader *r, const ch_tree_node *map, const char *const *keys, size_t n);
#define knowledge_keys(r, map, ...)                                                                                    \
    knowledge_keys_of((r), (map), (const char *const[]){__VA_ARGS__},                                                  \
                      sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))

/* What would be right for a word that is not among `words`: the nearest, or all of a few, or nothing. */
void knowledge_suggest(const char *word, size_t length, const char *const *words, size_t n, char right[256]);

/* The part of a map with this key; a failure where there is none. */
const ch_tree_node *knowledge_need(knowledge_reader *r, const ch_tree_node *map, const char *key);

/* The list or map of this key, a failure where it is missing or something else; `optional`: NULL where it is missing. */
const ch_tree_node *knowledge_list(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional);
const ch_tree_node *knowledge_map(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional);

/* A part that is a text of one line, not empty. */
const char *knowledge_line(knowledge_reader *r, const ch_tree_node *part);

/* The same of this key of a map; `optional`: NULL where it is missing. */
const char *knowledge_text(knowledge_reader *r, const ch_tree_node *map, const char *key, bool optional);

/* A text that must be an id, [a-z][a-z0-9_]*. */
const char *knowledge_id(knowledge_reader *r, const ch_tree_node *node);
void knowledge_check_key_id(knowledge_reader *r, const ch_tree_node *part);

/* Place of a text in `words`; `fallback` where the key is missing, a failure if that is negative. */
int knowledge_word(knowledge_reader *r, const ch_tree_node *map, const char *key, const char *const *words, int n,
                   int fallback);

/* A part that is one number. */
double knowledge_number(knowledge_reader *r, const ch_tree_node *node, const knowledge_range *range);
double knowledge_number_at(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range);
double knowledge_number_or(knowledge_reader *r, const ch_tree_node *map, const char *key, const knowledge_range *range,
                           double fallback);

/* Hold parts, called `what`, to a sum of 1 but for the digits left off. Gives the sum, to divide the parts by; NaN on failure. */
double knowledge_check_sum(knowledge_reader *r, const ch_tree_node *at, const char *what, double sum);

/* A mixture, its medians times `median_unit`. */
void knowledge_mixture(knowledge_reader *r, const ch_tree_node *list, double median_unit, ch_mixture *mixture);

/* A cause by its id, or CH_CAUSE_COUNT with a failure at `at`. */
ch_cause knowledge_cause(knowledge_reader *r, const char *name, size_t length, long line, long column);

/* Sort names and hold them to be different. Reorders `named`. */
void knowledge_sort_names(knowledge_reader *r, knowledge_named *named, size_t n, ch_knowledge_names *names);

/* The names of the entries of a list that has been read: `id`, and `also` where there is one. */
void knowledge_name_entries(knowledge_reader *r, const ch_tree_node *list, ch_knowledge_names *names);

/* Place of a name, or SIZE_MAX where there is none. */
size_t knowledge_name_find(const ch_knowledge_names *names, const char *name, size_t length);

/* Report an id that is not among the names. */
void knowledge_fail_name(knowledge_reader *r, const ch_tree_node *at, const ch_knowledge_names *names,
                         const char *what);

/* A list of names, each once, as the places they stand for; `what` is the kind of thing: "caution". */
void knowledge_places(knowledge_reader *r, const ch_tree_node *map, const char *key, const ch_knowledge_names *names,
                      const char *what, ch_places *places);

/* The same for cautions, the gravest first. */
void knowledge_caution_places(knowledge_reader *r, const ch_tree_node *map, const char *key, ch_places *places);

/* Blocks of a sheet by their names in the list `rows`, as ch_rows bits. */
unsigned knowledge_rows(knowledge_reader *r, const ch_tree_node *map);

/* One room a file. Cautions come first, then observations: the others refer to them. */
void knowledge_read_cautions(knowledge_reader *r, const ch_tree_node *root);
void knowledge_read_observations(knowledge_reader *r, const ch_tree_node *root);
void knowledge_read_causes(knowledge_reader *r, const ch_tree_node *root);
void knowledge_read_checks(knowledge_reader *r, const ch_tree_node *root);

#endif

/* What the columns of a table of readings hold: guessed by their headers' words, which people then correct. */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "crosshatch/reading_table.h"

typedef struct use_row {
    const char *name;
    ch_dimension dimension;
    const char *words; /* other headers that mean it, with blanks around each */
} use_row;

/* By ch_table_use. */
static const use_row uses[CH_TABLE_CYLINDER_N] = {
    [CH_TABLE_UNUSED] = {"", CH_DIM_COUNT_, ""},
    [CH_TABLE_DATE] = {"date", CH_DIM_COUNT_, " day datum tag when "},
    [CH_TABLE_SHEET] = {"sheet", CH_DIM_COUNT_, " test test_no no nr session blatt "},
    [CH_TABLE_TITLE] = {"title", CH_DIM_COUNT_, " name event titel "},
    [CH_TABLE_LIST] = {"list", CH_DIM_COUNT_, " kind type test_type art "},
    [CH_TABLE_CYLINDER] = {"cylinder", CH_DIM_COUNT_, " cyl zylinder zyl cylinder_no "},
    [CH_TABLE_READING] = {"reading", CH_DIM_PRESSURE,
                          " compression pressure gauge dry psi bar kpa kompression druck wert value "},
    [CH_TABLE_FIRST_STROKE] = {"first_stroke", CH_DIM_PRESSURE, " first first_hit first_puff erster_hub "},
    [CH_TABLE_OIL] = {"oil", CH_DIM_VOLUME, " oil_added oel öl "},
    [CH_TABLE_SUPPLY] = {"supply", CH_DIM_PRESSURE, " supply_pressure regulator "},
    [CH_TABLE_LOSS] = {"loss", CH_DIM_RATIO, " leak leakdown leak_down leakage leak_rate verlust druckverlust "},
    [CH_TABLE_ORIFICE] = {"orifice", CH_DIM_LENGTH, " düse "},
    [CH_TABLE_ODOMETER] = {"odometer", CH_DIM_LENGTH, " odo mileage miles km kilometer km_stand "},
    [CH_TABLE_HOURS] = {"engine_hours", CH_DIM_TIME, " hours motor_hours betriebsstunden stunden "},
    [CH_TABLE_NOTE] = {"note", CH_DIM_COUNT_, " notes comment comments remark remarks bemerkung notiz as_found "},
};

ch_dimension ch_table_use_dimension(int use)
{
    return use >= CH_TABLE_CYLINDER_N ? CH_DIM_PRESSURE : uses[use].dimension;
}

void ch_table_use_name(int use, char *name, size_t size)
{
    if (use >= CH_TABLE_CYLINDER_N)
        snprintf(name, size, "cylinder_%d", use - CH_TABLE_CYLINDER_N + 1);
    else
        snprintf(name, size, "%s", uses[use].name);
}

/* A number 1 to 32 and nothing else; 0 where it is none. */
static int cylinder_number(const char *text)
{
    if (text[0] < '1' || text[0] > '9' || strspn(text, "0123456789") != strlen(text) || strlen(text) > 2)
        return 0;
    const int number = atoi(text);
    return number <= CH_CYLINDERS_MAX ? number : 0;
}

int ch_table_use_find(const char *name)
{
    static const char cylinder[] = "cylinder_";
    for (int use = 1; use < CH_TABLE_CYLINDER_N; use++)
        if (strcmp(name, uses[use].name) == 0)
            return use;
    const int number =
        strncmp(name, cylinder, sizeof cylinder - 1) == 0 ? cylinder_number(name + sizeof cylinder - 1) : 0;
    return number > 0 ? CH_TABLE_CYLINDER_N + number - 1 : -1;
}

/* The header in small letters, with _ for what is neither letter nor digit, and the unit in its brackets apart. */
static void split(const char *header, char *word, size_t size, const ch_unit **unit)
{
    const char *open = strpbrk(header, "[(");
    size_t used = 0, end = open != NULL ? (size_t)(open - header) : strlen(header);
    *unit = NULL;
    if (open != NULL) {
        const size_t length = strcspn(open + 1, "])");
        *unit = ch_unit_find(open + 1, length);
    }
    for (size_t i = 0; i < end && used + 1 < size; i++) {
        const unsigned char c = (unsigned char)header[i];
        const bool letter = isalnum(c) || c >= 0x80;
        if (letter)
            word[used++] = (char)(c < 0x80 ? tolower(c) : c);
        else if (used > 0 && word[used - 1] != '_')
            word[used++] = '_';
    }
    while (used > 0 && word[used - 1] == '_')
        used--;
    word[used] = '\0';
}

/* "cyl_3", "zyl3", "c3", "3": the cylinder, or 0. */
static int cylinder_of(const char *word)
{
    static const char *const heads[] = {"cylinder", "cyl", "zylinder", "zyl", "c", "z", "no", ""};
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
        const size_t n = strlen(heads[i]);
        if (strncmp(word, heads[i], n) == 0) {
            const int number = cylinder_number(word + n + (n > 0 && word[n] == '_'));
            if (number > 0)
                return number;
        }
    }
    return 0;
}

static int use_of(const char *word)
{
    char among[80];
    for (int use = 1; use < CH_TABLE_CYLINDER_N; use++) {
        snprintf(among, sizeof among, " %s ", word);
        if (strcmp(word, uses[use].name) == 0 || (word[0] != '\0' && strstr(uses[use].words, among) != NULL))
            return use;
    }
    const int number = cylinder_of(word);
    return number > 0 ? CH_TABLE_CYLINDER_N + number - 1 : CH_TABLE_UNUSED;
}

/* What a column holds by its header; of "reading psi" and "cyl 1 kPa" the last word is the unit. */
static int use_and_unit(const char *header, const ch_unit **unit)
{
    char word[64];
    split(header, word, sizeof word, unit);
    const int use = use_of(word);
    const size_t length = strcspn(header, "[(");
    size_t last = length;
    while (last > 0 && strchr(" _,", header[last - 1]) == NULL)
        last--;
    if (*unit == NULL && length > 0 && header[length - 1] == '%')
        *unit = ch_unit_find("%", 1); /* "leakdown %": the word says the use without it */
    if (use != CH_TABLE_UNUSED || last == 0 || header[length] != '\0' || !isalpha((unsigned char)header[last])) {
        if (*unit == NULL)
            *unit = ch_unit_find(word, strlen(word)); /* a header that is a unit */
        return use;
    }
    const ch_unit *ending = ch_unit_find(header + last, length - last);
    char before[64];
    snprintf(before, sizeof before, "%.*s", (int)last, header);
    split(before, word, sizeof word, unit);
    const int used = use_of(word);
    *unit = ending;
    return ending != NULL && used != CH_TABLE_UNUSED && ending->dimension == ch_table_use_dimension(used) ? used : use;
}

void ch_table_guess(const ch_table *table, ch_table_plan *plan)
{
    *plan = (ch_table_plan){0};
    for (size_t i = 0; i < table->columns; i++) {
        const ch_unit *unit = NULL;
        int use = use_and_unit(table->cell[i].text, &unit);
        for (size_t k = 0; k < i; k++)
            if (use != CH_TABLE_UNUSED && plan->use[k] == use)
                use = CH_TABLE_UNUSED; /* the first of two */
        const char *below = table->cell[table->columns + i].text;
        const ch_unit *own = ch_unit_find(below, strlen(below));
        if (own != NULL && strcmp(below, "1") != 0 && (unit == NULL || strpbrk(table->cell[i].text, "[(") == NULL))
            unit = own; /* a row of units is surer than a word of the header that is not in brackets */
        if (unit == NULL && strcmp(below, "1") == 0)
            unit = ch_unit_find("1", 1);
        plan->use[i] = use;
        plan->unit[i] = unit != NULL && unit->dimension == ch_table_use_dimension(use) ? unit : NULL;
    }
}

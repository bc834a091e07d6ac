/* Options of all commands: one table, read the same way everywhere (`--name value`, `--name=value`, `-o FILE`, `--` ends them). */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli.h"
#include "http.h"

typedef struct option_row {
    cli_option bit;
    const char *name;  /* behind the two dashes */
    char letter;       /* behind one dash; 0 = none */
    const char *value; /* what the value is called; NULL = takes none */
    const char *help;
} option_row;

static const option_row OPTIONS[] = {
    {CLI_JSON, "json", 0, NULL, "print JSON, for programs"},
    {CLI_WORKING, "working", 0, NULL, "show where every number comes from: inputs, method, source"},
    {CLI_UNITS, "units", 0, "UNIT", "show pressures in UNIT: psi, kPa, bar, MPa, kgf/cm2 ..."},
    {CLI_RULE, "rule", 0, "ID", "judge by this rule of balance"},
    {CLI_SEED, "seed", 0, "N", "start the random streams at N (default 1): same seed, same bytes"},
    {CLI_WHY, "why", 0, "CYL", "show what speaks for each cause of this cylinder"},
    {CLI_KNOWLEDGE, "knowledge", 0, "DIR", "read causes, observations, checks and cautions from DIR"},
    {CLI_GARAGE, "garage", 0, "FILE", "use this garage file"},
    {CLI_CAR, "car", 0, "CAR", "of this car: its name, or, for a log, its YAML file"},
    {CLI_HORIZON, "horizon", 0, "WHICH", "weigh costs up to: season, year (default) or three_years"},
    {CLI_DRY_RUN, "dry-run", 0, NULL, "show what would be stored, and store nothing"},
    {CLI_COLUMN, "column", 0, "NAME=COL", "take this column for NAME (time, rpm, reading ...)"},
    {CLI_OBSERVED, "observed", 0, "A,B", "what hand checks showed, not_A where it was not there"},
    {CLI_WRITE, "write", 0, "DIR", "write the demonstration sheets into the folder DIR"},
    {CLI_PORT, "port", 0, "N", "listen on port N (default 8480; 0: any free one)"},
    {CLI_LAN, "lan", 0, NULL, "let other devices in, each with the code shown here"},
    {CLI_TLS, "tls", 0, NULL, "encrypt, with a certificate of this machine's own"},
    {CLI_LOG, "log", 0, NULL, "write a line for each request on the standard error"},
    {CLI_ICS, "ics", 0, NULL, "print the calendar as iCalendar"},
    {CLI_CSV, "csv", 0, NULL, "print the calendar as a table"},
    {CLI_SHOPPING, "shopping", 0, NULL, "print the shopping list as a table"},
    {CLI_TODAY, "today", 0, "DATE", "take this day for today"},
    {CLI_PAPER, "paper", 0, "SIZE", "a4 (the default) or letter"},
    {CLI_COLOUR, "color", 0, NULL, "use colour even where the output is no terminal"},
    {CLI_NO_COLOUR, "no-color", 0, NULL, "use no colour (so does the variable NO_COLOR)"},
    {CLI_OUTPUT, "output", 'o', "FILE", "write the answer into FILE, whole or not at all (-: print it)"},
    {CLI_HELP, "help", 'h', NULL, "print this help"},
};
enum { OPTION_COUNT = sizeof OPTIONS / sizeof OPTIONS[0] };

static ch_status usage(const cli_command *command, ch_err *err, const char *right, const char *what,
                       const char *subject)
{
    char shown[64];
    ch_text_excerpt(subject, strlen(subject), shown, sizeof shown);
    return ch_fail(err, CH_E_USAGE, right, "%s: %s \"%s\"", command->name, what, shown);
}

static ch_status unknown(const cli_command *command, const char *argument, size_t length, ch_err *err)
{
    const char *names[OPTION_COUNT];
    size_t count = 0;
    for (size_t i = 0; i < OPTION_COUNT; i++)
        if (command->options & (unsigned)OPTIONS[i].bit)
            names[count++] = OPTIONS[i].name;
    const size_t dashes = strspn(argument, "-");
    const char *nearest = length > dashes ? ch_nearest_word(argument + dashes, length - dashes, names, count) : NULL;
    char right[96];
    if (nearest != NULL)
        snprintf(right, sizeof right, "did you mean --%s?", nearest);
    else
        snprintf(right, sizeof right, "crosshatch help %s lists the options", command->name);
    return usage(command, err, right, "unknown option", argument);
}

/* A whole number in digits alone. */
static bool whole_number(const char *text, unsigned long long most, unsigned long long *number)
{
    if (*text == '\0' || strspn(text, "0123456789") != strlen(text))
        return false;
    errno = 0;
    *number = strtoull(text, NULL, 10);
    return errno == 0 && *number <= most;
}

static ch_status unknown_rule(const cli_command *command, const char *value, ch_err *err)
{
    char right[200] = "";
    size_t used = 0;
    for (int rule = 0; rule < CH_RULE_COUNT; rule++)
        used += (size_t)snprintf(right + used, sizeof right - used, "%s%s", rule > 0 ? ", " : "",
                                 ch_balance_rule_name((ch_balance_rule)rule));
    return usage(command, err, right, "--rule: no rule", value);
}

static ch_status take_value(const cli_command *command, const option_row *row, const char *value, cli_options *options,
                            ch_err *err)
{
    unsigned long long number = 0;
    switch (row->bit) {
    case CLI_UNITS:
        options->pressure = ch_unit_find(value, strlen(value));
        if (options->pressure == NULL || options->pressure->dimension != CH_DIM_PRESSURE)
            return usage(command, err, ch_dimension_units(CH_DIM_PRESSURE), "--units: not a unit of pressure:", value);
        break;
    case CLI_SEED:
        if (!whole_number(value, UINT64_MAX, &number))
            return usage(command, err, "a whole number, 0 or more", "--seed: not a seed:", value);
        options->seed = number;
        break;
    case CLI_WHY:
        if (!whole_number(value, CH_CYLINDERS_MAX, &number) || number == 0)
            return usage(command, err, "a cylinder's number, 1 to 32", "--why: not a cylinder:", value);
        options->why = (int)number;
        break;
    case CLI_PORT:
        if (!whole_number(value, UINT16_MAX, &number))
            return usage(command, err, "0 to 65535", "--port: not a port:", value);
        options->port = (uint16_t)number;
        break;
    case CLI_RULE:
        options->rule = ch_balance_rule_find(value, strlen(value));
        if (options->rule == CH_RULE_COUNT)
            return unknown_rule(command, value, err);
        break;
    case CLI_PAPER:
        if (strcmp(value, "a4") != 0 && strcmp(value, "letter") != 0)
            return usage(command, err, "a4 or letter", "--paper: no such size:", value);
        options->paper = value[0] == 'l' ? CH_PAPER_LETTER : CH_PAPER_A4;
        break;
    case CLI_TODAY:
        if (ch_date_parse(value, strlen(value), &options->today, NULL) < 0)
            return usage(command, err, "a date as in 2027-01-16", "--today: not a date:", value);
        break;
    case CLI_HORIZON:
        for (int h = 0; h < CH_HORIZONS; h++)
            if (strcmp(value, ch_horizon_name((ch_horizon)h)) == 0) {
                options->horizon = (ch_horizon)h;
                return CH_OK;
            }
        return usage(command, err, "season, year or three_years", "--horizon: no such horizon:", value);
    case CLI_CAR: options->car = value; break;
    case CLI_OUTPUT: options->output = strcmp(value, "-") == 0 ? NULL : value; break;
    case CLI_KNOWLEDGE: options->knowledge = value; break;
    case CLI_OBSERVED: options->observed = value; break;
    case CLI_COLUMN:
        if (options->columns == CLI_COLUMNS_MAX)
            return usage(command, err, "at most 16", "--column: one too many:", value);
        options->column[options->columns++] = value;
        break;
    case CLI_WRITE: options->write = value; break;
    case CLI_GARAGE: options->garage = value; break;
    case CLI_HELP:
    case CLI_JSON:
    case CLI_LAN:
    case CLI_ICS:
    case CLI_CSV:
    case CLI_SHOPPING:
    case CLI_LOG:
    case CLI_TLS:
    case CLI_WORKING:
    case CLI_COLOUR:
    case CLI_NO_COLOUR:
    case CLI_DRY_RUN: break;
    }
    return CH_OK;
}

/* The row of an argument that begins with a dash, or NULL; *value points behind an equals sign, or is NULL. */
static const option_row *find(const cli_command *command, const char *argument, const char **value)
{
    const bool is_long = argument[1] == '-';
    const char *name = argument + (is_long ? 2 : 1);
    const char *equals = is_long ? strchr(name, '=') : NULL;
    const size_t length = equals != NULL ? (size_t)(equals - name) : strlen(name);
    *value = equals != NULL ? equals + 1 : NULL;
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        const option_row *row = &OPTIONS[i];
        if (!(command->options & (unsigned)row->bit))
            continue;
        if (is_long && strlen(row->name) == length && memcmp(row->name, name, length) == 0)
            return row;
        if (!is_long && length == 1 && row->letter != 0 && row->letter == name[0])
            return row;
    }
    return NULL;
}

static bool colour_wanted(const cli_options *options)
{
    if (options->given & CLI_NO_COLOUR)
        return false;
    if (options->given & CLI_COLOUR)
        return true;
    const char *refused = getenv("NO_COLOR"), *terminal = getenv("TERM");
    return (refused == NULL || refused[0] == '\0') && options->output == NULL && isatty(STDOUT_FILENO) == 1 &&
           terminal != NULL && strcmp(terminal, "dumb") != 0;
}

ch_status cli_options_parse(const cli_command *command, int count, char **arguments, cli_options *options, ch_err *err)
{
    cli_options made = {.seed = 1, .port = WEB_PORT, .rule = CH_RULE_75_PERCENT, .horizon = CH_HORIZON_YEAR};
    bool options_over = false;
    for (int i = 0; i < count; i++) {
        const char *argument = arguments[i];
        if (options_over || argument[0] != '-' || argument[1] == '\0') {
            if (!command->takes_file)
                return usage(command, err,
                             command->options & CLI_GARAGE
                                 ? "crosshatch import brings a file into the garage, --garage FILE names another garage"
                                 : "no file",
                             "takes no file, but was given", argument);
            if (made.file != NULL)
                return usage(command, err, command->file_is != NULL ? command->file_is : "one sheet at a time",
                             "a second file", argument);
            made.file = argument;
            continue;
        }
        if (strcmp(argument, "--") == 0) {
            options_over = true;
            continue;
        }
        const char *value = NULL;
        const option_row *row = find(command, argument, &value);
        if (row == NULL)
            return unknown(command, argument, strcspn(argument, "="), err);
        if (row->value == NULL && value != NULL)
            return usage(command, err, "the option alone", "takes no value:", argument);
        if (row->value != NULL && value == NULL && i + 1 < count)
            value = arguments[++i];
        if (row->value != NULL && (value == NULL || value[0] == '\0'))
            return usage(command, err, row->value, "no value behind", argument);
        if (row->value != NULL) {
            const ch_status rc = take_value(command, row, value, &made, err);
            if (rc < 0)
                return rc;
        }
        made.given |= (unsigned)row->bit;
    }
    if (command->makes_file && made.file == NULL && made.output != NULL && !(made.given & CLI_HELP))
        return ch_fail(err, CH_E_USAGE, command->file_is,
                       "%s: -o is for what is printed; what is to be made is named without it", command->name);
    if (command->takes_file && !command->may_lack_file && made.file == NULL && !(made.given & CLI_HELP))
        return ch_fail(err, CH_E_USAGE,
                       command->file_is != NULL ? command->file_is
                                                : "the name of a test sheet, or - for the standard input",
                       command->file_is != NULL ? "%s: no name given" : "%s: no sheet named", command->name);
    made.colour = colour_wanted(&made);
    *options = made;
    return CH_OK;
}

void cli_options_help(unsigned options, ch_text *text)
{
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        const option_row *row = &OPTIONS[i];
        if (!(options & (unsigned)row->bit))
            continue;
        char name[32], letter[8] = "";
        if (row->letter != 0)
            snprintf(letter, sizeof letter, "-%c, ", row->letter);
        snprintf(name, sizeof name, "%s--%s%s%s", letter, row->name, row->value != NULL ? " " : "",
                 row->value != NULL ? row->value : "");
        ch_text_appendf(text, "  %-18s  %s\n", name, row->help);
    }
}

ch_show_style cli_style(const cli_options *options)
{
    return (ch_show_style){.columns = 80,
                           .colour = options->colour,
                           .working = (options->given & CLI_WORKING) != 0,
                           .pressure = options->pressure};
}

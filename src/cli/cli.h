/*
 * What the commands share: options as parsed, and the table of commands. A command composes its whole answer in memory; main writes it
 * when it is whole, so that nothing is ever written in part because of bad input.
 */
#ifndef CROSSHATCH_CLI_H
#define CROSSHATCH_CLI_H

#include <stdbool.h>
#include <stdint.h>

#include "crosshatch/document.h"
#include "crosshatch/season.h"
#include "crosshatch/show.h"
#include "crosshatch/status.h"
#include "crosshatch/text.h"

/* Largest answer: a sheet of 32 cylinders with its working takes some 100 kB. */
enum { CLI_ANSWER_MAXIMUM = 16 * 1024 * 1024 };

/* Options, as bits of a set. */
typedef enum cli_option {
    CLI_HELP = 1 << 0,
    CLI_JSON = 1 << 1,
    CLI_WORKING = 1 << 2,
    CLI_UNITS = 1 << 3,
    CLI_COLOUR = 1 << 4,
    CLI_NO_COLOUR = 1 << 5,
    CLI_OUTPUT = 1 << 6,
    CLI_SEED = 1 << 7,
    CLI_RULE = 1 << 8,
    CLI_WHY = 1 << 9,
    CLI_KNOWLEDGE = 1 << 10,
    CLI_WRITE = 1 << 11,
    CLI_GARAGE = 1 << 12,
    CLI_PORT = 1 << 13,
    CLI_LAN = 1 << 14,
    CLI_LOG = 1 << 15,
    CLI_PAPER = 1 << 16,
    CLI_TODAY = 1 << 17,
    CLI_ICS = 1 << 18,
    CLI_CSV = 1 << 19,
    CLI_SHOPPING = 1 << 20,
    CLI_CAR = 1 << 21,
    CLI_HORIZON = 1 << 22,
    CLI_TLS = 1 << 23,
    CLI_COLUMN = 1 << 24,
    CLI_OBSERVED = 1 << 25,
    CLI_DRY_RUN = 1 << 26
} cli_option;

/* What an answer is written as, as bits of a set. */
typedef enum cli_form {
    CLI_FORM_TEXT = 1 << 0,
    CLI_FORM_PDF = 1 << 1,
    CLI_FORM_HTML = 1 << 2,
    CLI_FORM_SVG = 1 << 3,
    CLI_FORM_CSV = 1 << 4,
    CLI_FORM_ICS = 1 << 5,
    CLI_FORM_JSON = 1 << 6,
    CLI_FORM_NONE = 1 << 7 /* what no verb writes its answer as: archives, garages, sheets, pictures */
} cli_form;

/* What every command takes. */
#define CLI_COMMON (CLI_HELP | CLI_OUTPUT)
#define CLI_TEXTUAL (CLI_JSON | CLI_WORKING | CLI_UNITS | CLI_COLOUR | CLI_NO_COLOUR)

enum { CLI_COLUMNS_MAX = 16 };

typedef struct cli_options {
    unsigned given; /* cli_option bits */
    bool colour;    /* settled: on a terminal and wanted */
    uint64_t seed;
    int why;       /* cylinder; 0 = not asked */
    uint16_t port; /* 0 = any free one */
    const ch_unit *pressure;
    ch_balance_rule rule;
    ch_paper paper;
    ch_date today;
    ch_horizon horizon;                           /* the owner's */
    const char *output;                           /* NULL = the standard output */
    const char *knowledge, *write, *garage, *car; /* as typed; NULL = not given */
    const char *observed;                         /* as typed: names with commas between */
    const char *column[CLI_COLUMNS_MAX];          /* as typed, each NAME=COLUMN */
    size_t columns;
    const char *file; /* the sheet; NULL where the command takes none */
} cli_options;

typedef struct cli_command {
    const char *name;
    const char *summary;  /* one line */
    const char *synopsis; /* behind the name */
    const char *help;     /* what it does, a few lines */
    unsigned options;     /* which it takes */
    bool takes_file;
    bool may_lack_file;  /* the file need not be named */
    bool makes_file;     /* the file is made; -o does not name it */
    const char *file_is; /* what the file is, where it is no test sheet */
    bool car_is_file;    /* --car names a file */
    unsigned
        forms;     /* cli_form bits that the ending behind -o chooses from; 0 = text alone. An option goes before it. */
    bool findings; /* what it found is printed even where it ends in failure */
    ch_status (*run)(const cli_options *options, ch_text *answer, ch_err *err);
} cli_command;

extern const cli_command cli_judge, cli_predict, cli_demo, cli_driveline, cli_import, cli_export, cli_backup,
    cli_verify, cli_serve, cli_report, cli_ready, cli_season, cli_winter;

/*
 * Read the arguments behind the verb.
 *
 * retval CH_E_USAGE: an option that the command does not have (the nearest is named), a value missing or out of place, too many or too few
 * files.
 */
ch_status cli_options_parse(const cli_command *command, int count, char **arguments, cli_options *options, ch_err *err);

/* Append the lines of help for the options that a command takes. */
void cli_options_help(unsigned options, ch_text *text);

/* The style that the options ask for. */
ch_show_style cli_style(const cli_options *options);

#endif

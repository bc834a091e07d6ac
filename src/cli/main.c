/*
 * Entry point: finds the verb, hands over to its cmd_NAME.c, writes the answer, and turns a status into an exit status.
 *
 *  1. Exit status: 0 done, 2 wrong usage, 3 bad input, 4 the machine failed.
 *  2. A failure is one line on the standard error, and nothing on the standard output but a verb's findings.
 */
#include <fcntl.h>
#include <gsl/gsl_errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "cli.h"
#include "file.h"
#include "output.h"

static const cli_command *const COMMANDS[] = {&cli_judge,  &cli_predict, &cli_demo,   &cli_driveline, &cli_import,
                                              &cli_export, &cli_backup,  &cli_verify, &cli_serve,     &cli_report,
                                              &cli_ready,  &cli_season,  &cli_winter};
enum { COMMAND_COUNT = sizeof COMMANDS / sizeof COMMANDS[0] };

static int exit_status(ch_status status)
{
    switch (status) {
    case CH_OK:
    case CH_CHOKED: return 0;
    case CH_E_USAGE: return 2;
    case CH_E_RANGE:
    case CH_E_INPUT:
    case CH_E_LIMIT:
    case CH_E_CONVERGE: return 3;
    case CH_E_MEMORY:
    case CH_E_IO: break;
    }
    return 4;
}

static const cli_command *command_find(const char *name)
{
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        if (strcmp(COMMANDS[i]->name, name) == 0)
            return COMMANDS[i];
    return NULL;
}

static void help_program(ch_text *text)
{
    ch_text_append_string(text, "usage: crosshatch VERB [OPTION]... [FILE]\n\n"
                                "Judges compression and leak-down tests of a piston engine: are these numbers good,\n"
                                "how sure is that, and if not, what is it and what to check next.\n\n");
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        ch_text_appendf(text, "  %-10s  %s\n", COMMANDS[i]->name, COMMANDS[i]->summary);
    ch_text_append_string(text, "  help VERB   how to use a verb\n\n"
                                "crosshatch --version prints the version. Manual pages: crosshatch(1) and one a verb.\n"
                                "It advises; the vehicle's own service manual and the owner decide.\n");
}

static void help_command(const cli_command *command, ch_text *text)
{
    ch_text_appendf(text, "usage: crosshatch %s [OPTION]...%s%s\n\n%s\n", command->name,
                    command->synopsis[0] != '\0' ? " " : "", command->synopsis, command->help);
    cli_options_help(command->options, text);
}

static ch_status unknown_verb(const char *verb, ch_err *err)
{
    const char *names[COMMAND_COUNT + 1];
    for (size_t i = 0; i < COMMAND_COUNT; i++)
        names[i] = COMMANDS[i]->name;
    names[COMMAND_COUNT] = "help";
    const char *nearest = ch_nearest_word(verb, strlen(verb), names, COMMAND_COUNT + 1);
    char shown[64], right[96];
    ch_text_excerpt(verb, strlen(verb), shown, sizeof shown);
    if (nearest != NULL)
        snprintf(right, sizeof right, "did you mean %s?", nearest);
    else
        snprintf(right, sizeof right, "crosshatch --help lists the verbs");
    return ch_fail(err, CH_E_USAGE, right, "unknown %s \"%s\"", verb[0] == '-' ? "option" : "verb", shown);
}

/* `help`, `help VERB` and the options that stand in a verb's place. */
static ch_status without_verb(int count, char **arguments, ch_text *answer, ch_err *err)
{
    if (count == 0)
        return ch_fail(err, CH_E_USAGE, "crosshatch --help lists the verbs", "no verb given");
    const bool help = strcmp(arguments[0], "help") == 0;
    if (help && count > 1) {
        const cli_command *command = command_find(arguments[1]);
        if (command == NULL)
            return unknown_verb(arguments[1], err);
        help_command(command, answer);
    } else if (help || strcmp(arguments[0], "--help") == 0 || strcmp(arguments[0], "-h") == 0) {
        help_program(answer);
    } else if (strcmp(arguments[0], "--version") == 0) {
        ch_text_append_string(answer, "crosshatch " CROSSHATCH_VERSION "\nbuilt with " CROSSHATCH_PARTS "\n");
    } else {
        return unknown_verb(arguments[0], err);
    }
    return ch_text_check(answer, err);
}

static ch_status answer_for(int count, char **arguments, ch_err *err)
{
    ch_text answer;
    ch_text_init(&answer, CLI_ANSWER_MAXIMUM);
    cli_options options = {0};
    const cli_command *command = count > 0 ? command_find(arguments[0]) : NULL;
    ch_status rc = CH_OK;
    if (command == NULL) {
        rc = without_verb(count, arguments, &answer, err);
    } else {
        rc = cli_options_parse(command, count - 1, arguments + 1, &options, err);
        if (rc >= 0 && (options.given & CLI_HELP)) {
            options.output = NULL;
            help_command(command, &answer);
            rc = ch_text_check(&answer, err);
        } else if (rc >= 0) {
            rc = output_check_place(command, &options, err);
            if (rc >= 0)
                rc = output_check_form(command, &options, err);
            if (rc >= 0)
                rc = command->run(&options, &answer, err);
            if (rc >= 0)
                rc = output_check_place(command, &options, err);
        }
    }
    if (rc < 0 && command != NULL && command->findings && answer.length > 0) {
        ch_err later = {0}; /* the finding is the failure to report, unless it could not be written */
        const ch_status written = options.output != NULL
                                      ? file_write(options.output, ch_text_string(&answer), answer.length, &later)
                                      : file_write_output(ch_text_string(&answer), answer.length, &later);
        if (written < 0) {
            rc = written;
            *err = later;
        }
    } else if (rc >= 0 && options.output != NULL)
        rc = file_write(options.output, ch_text_string(&answer), answer.length, err);
    else if (rc >= 0)
        rc = file_write_output(ch_text_string(&answer), answer.length, err);
    ch_text_clear(&answer);
    return rc;
}

/* A descriptor that was closed before we began would be given to the next file opened, and the answer written into that. */
static void occupy_standard_descriptors(void)
{
    for (int descriptor = 0; descriptor <= 2; descriptor++)
        if (fcntl(descriptor, F_GETFD) < 0)
            (void)open("/dev/null", descriptor == STDIN_FILENO ? O_WRONLY : O_RDONLY);
}

int main(int count, char **arguments)
{
    occupy_standard_descriptors();
    /* A reader that has gone then shows as a failed write, which is reported. */
    signal(SIGPIPE, SIG_IGN);
    gsl_set_error_handler_off();
    ch_err err = {0};
    const ch_status rc = answer_for(count > 0 ? count - 1 : 0, arguments + 1, &err);
    if (rc < 0) {
        char line[1024];
        if (err.status == 0)
            ch_fail(&err, rc, NULL, "%s", ch_status_text(rc));
        ch_err_format(&err, line, sizeof line);
        fprintf(stderr, "%s%s\n", err.file[0] == '\0' ? "crosshatch: " : "", line);
    }
    return exit_status(rc);
}

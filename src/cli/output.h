/* What -o may name: an ending that says what is written, and no file that the verb reads or makes. */
#ifndef CROSSHATCH_CLI_OUTPUT_H
#define CROSSHATCH_CLI_OUTPUT_H

#include "cli.h"

/* What a file of this name is by its ending, in small or capital letters: CLI_FORM_TEXT where the ending says nothing, or there is no name. */
cli_form output_form(const char *name);

/* CH_E_USAGE: the name's ending says something that the answer, with these options, is not. */
ch_status output_check_form(const cli_command *command, const cli_options *options, ch_err *err);

/*
 * CH_E_USAGE: an answer written there would destroy what the verb reads or makes: its file, the garage, the car. (What lies in
 * folders that are read or filled, sheets and tables, has endings that are refused.) To be asked before the verb runs, when its files may not be there yet, and again before the answer is written.
 */
ch_status output_check_place(const cli_command *command, const cli_options *options, ch_err *err);

#endif

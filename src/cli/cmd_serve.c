/* crosshatch serve: the pages, until the program is asked to end. */
#include <stdio.h>
#include <unistd.h>

#include "cli.h"
#include "http.h"
#include "pairing_qr.h"

/* What the terminal shows while the pages are served. */
static ch_status announce(const web_config *config, uint16_t port, bool colour, ch_text *text, ch_err *err)
{
    ch_text_appendf(text, "crosshatch is at http://localhost:%d/\n", port);
    if (config->lan) {
        char address[64];
        const bool reachable = pairing_address(address);
        if (reachable) {
            char link[128];
            ch_text_appendf(text, "on a phone:       http://%s:%d/\n\n", address, port);
            snprintf(link, sizeof link, "http://%s:%d/pair?code=%s", address, port, config->code);
            const ch_status rc = pairing_qr(link, colour, text, err);
            if (rc < 0)
                return rc;
        } else {
            ch_text_append_string(text, "This machine is in no network that a phone could reach.\n");
        }
        ch_text_appendf(text, "\nA new device asks for this code: %.3s %s\n", config->code, config->code + 3);
    }
    ch_text_append_string(text, "Ctrl-C ends it.\n");
    return ch_text_check(text, err);
}

static ch_status say(const ch_text *text, ch_err *err)
{
    if (fputs(ch_text_string(text), stdout) < 0 || fflush(stdout) != 0)
        return ch_fail(err, CH_E_IO, NULL, "the address could not be written to the standard output");
    return CH_OK;
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    (void)answer; /* nothing to say at the end */
    web_config config = {
        .port = options->port, .lan = (options->given & CLI_LAN) != 0, .log = (options->given & CLI_LOG) != 0};
    bool kept = false;
    ch_status rc = web_key_load(config.key, &kept, err);
    if (rc >= 0)
        rc = web_code_make(config.code, err);
    web_server *server = NULL;
    uint16_t port = 0;
    if (rc >= 0)
        rc = web_server_start(&config, &server, &port, err);
    if (rc < 0)
        return rc;
    ch_text text;
    ch_text_init(&text, 64 * 1024);
    rc = announce(&config, port, options->colour, &text, err);
    if (rc >= 0)
        rc = say(&text, err);
    ch_text_clear(&text);
    if (rc >= 0 && !kept)
        fputs("crosshatch: no state folder: devices have to be let in again when the program is started again\n",
              stderr);
    if (rc >= 0)
        web_server_wait(server);
    web_server_stop(server);
    return rc;
}

const cli_command cli_serve = {
    .name = "serve",
    .summary = "serve the pages to this machine's browser, or to a phone",
    .synopsis = "",
    .help = "Serves the pages until Ctrl-C: to this machine alone, or with --lan to every device in the\n"
            "network that has entered the code shown here.\n",
    .options = CLI_HELP | CLI_PORT | CLI_LAN | CLI_LOG | CLI_COLOUR | CLI_NO_COLOUR,
    .takes_file = false,
    .run = run,
};

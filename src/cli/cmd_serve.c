/* crosshatch serve: the pages, until the program is asked to end. */
#define _XOPEN_SOURCE 700 /* realpath, which POSIX has in its base since 2008, but glibc shows only so */
#include <limits.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"
#include "confine.h"
#include "garage.h"
#include "http.h"
#include "pairing_qr.h"
#include "threads.h"

/* What the terminal shows while the pages are served. */
static ch_status announce(const web_config *config, uint16_t port, bool colour, ch_text *text, ch_err *err)
{
    const char *scheme = config->tls != NULL ? "https" : "http";
    ch_text_appendf(text, "crosshatch is at %s://localhost:%d/\n", scheme, port);
    if (config->lan) {
        char address[64];
        const bool reachable = pairing_address(address);
        if (reachable) {
            char link[128];
            ch_text_appendf(text, "on a phone:       %s://%s:%d/\n\n", scheme, address, port);
            snprintf(link, sizeof link, "%s://%s:%d/pair?code=%s", scheme, address, port, config->code);
            const ch_status rc = pairing_qr(link, colour, text, err);
            if (rc < 0)
                return rc;
        } else {
            ch_text_append_string(text, "This machine is in no network that a phone could reach.\n");
        }
        ch_text_appendf(text, "\nA new device asks for this code: %.3s %s\n", config->code, config->code + 3);
    }
    if (config->tls != NULL)
        ch_text_appendf(
            text,
            "\nA browser does not know this machine's certificate and says so. To have a phone trust it, open\n"
            "/certificate there, compare the SHA-256 fingerprint, and install it as an authority:\n%s\n"
            "It can vouch for this machine, for names that end in .local and for private addresses alone.\n",
            config->tls->fingerprint);
    ch_text_append_string(text, "Ctrl-C ends it.\n");
    return ch_text_check(text, err);
}

/* Connections to the garage file: a request borrows one, alone. The server never answers more than WEB_THREADS at a time. */
typedef struct connections {
    char path[PATH_MAX];
    pthread_mutex_t lock;
    ch_store *store[WEB_THREADS]; /* NULL until first needed */
    bool lent[WEB_THREADS];
    ch_crew crew;
} connections;

static ch_status lend(void *context, web_request *request, ch_err *err)
{
    connections *all = context;
    size_t i = 0;
    pthread_mutex_lock(&all->lock);
    while (i < WEB_THREADS && all->lent[i])
        i++;
    if (i < WEB_THREADS)
        all->lent[i] = true;
    pthread_mutex_unlock(&all->lock);
    if (i == WEB_THREADS)
        return ch_fail(err, CH_E_LIMIT, NULL, "more requests at a time than the server has threads");
    /* From here on only this thread changes place i. */
    ch_store *store = all->store[i];
    const ch_status rc = store == NULL ? ch_store_open(all->path, CH_STORE_ANOTHER, &store, err) : CH_OK;
    pthread_mutex_lock(&all->lock);
    if (rc >= 0)
        all->store[i] = store;
    else
        all->lent[i] = false;
    pthread_mutex_unlock(&all->lock);
    request->store = store;
    request->crew = &all->crew;
    return rc < 0 ? rc : CH_OK;
}

static void take_back(void *context, web_request *request)
{
    connections *all = context;
    ch_store_pool_clear(&request->pool);
    pthread_mutex_lock(&all->lock);
    for (size_t i = 0; i < WEB_THREADS; i++)
        if (all->store[i] == request->store)
            all->lent[i] = false;
    pthread_mutex_unlock(&all->lock);
    request->store = NULL;
}

/* The first connection looks at the whole file, and makes it where there is none. */
static ch_status connections_open(const cli_options *options, connections *all, ch_err *err)
{
    *all = (connections){.crew = threads_crew()};
    ch_status rc = garage_path(options, true, all->path, sizeof all->path, err);
    if (rc >= 0)
        rc = ch_store_open(all->path, CH_STORE_CREATE, &all->store[0], err);
    if (rc >= 0 && ch_store_read_only(all->store[0]))
        garage_say_read_only(all->path);
    if (rc >= 0)
        pthread_mutex_init(&all->lock, NULL);
    return rc;
}

static void connections_close(connections *all)
{
    for (size_t i = 0; i < WEB_THREADS; i++)
        ch_store_close(all->store[i]);
    pthread_mutex_destroy(&all->lock);
}

static ch_status say(const ch_text *text, ch_err *err)
{
    if (fputs(ch_text_string(text), stdout) < 0 || fflush(stdout) != 0)
        return ch_fail(err, CH_E_IO, NULL, "the address could not be written to the standard output");
    return CH_OK;
}

static ch_status serve(const web_config *config, bool colour, bool kept, ch_err *err)
{
    web_server *server = NULL;
    uint16_t port = 0;
    ch_status rc = web_server_start(config, &server, &port, err);
    if (rc < 0)
        return rc;
    ch_text text;
    ch_text_init(&text, 64 * 1024);
    rc = announce(config, port, colour, &text, err);
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

/* Everything that is to be written elsewhere was: the server needs the garage's folder, and the one where uploads wait without a name (spool.h). */
static void confine(const char *garage)
{
    char real[PATH_MAX];
    const char *temporary = getenv("TMPDIR");
    if (realpath(garage, real) == NULL)
        real[0] = '\0';
    char *slash = strrchr(real, '/');
    if (slash != NULL)
        slash[slash == real ? 1 : 0] = '\0';
    const char *const folders[] = {real, temporary != NULL && temporary[0] != '\0' ? temporary : "/var/tmp"};
    if (slash == NULL || !confine_writing(folders, sizeof folders / sizeof folders[0]))
        fputs("crosshatch: this system cannot keep the server from writing outside the garage's folder\n", stderr);
}

static ch_status run(const cli_options *options, ch_text *answer, ch_err *err)
{
    (void)answer; /* nothing to say at the end */
    connections all;
    web_config config = {.port = options->port,
                         .lan = (options->given & CLI_LAN) != 0,
                         .log = (options->given & CLI_LOG) != 0,
                         .context = &all,
                         .begin = lend,
                         .end = take_back};
    bool kept = false;
    web_tls tls = {0};
    char address[64] = "";
    ch_status rc = web_key_load(config.key, &kept, err);
    if (rc >= 0 && (options->given & CLI_TLS)) {
        if (!config.lan || !pairing_address(address))
            address[0] = '\0';
        rc = web_tls_load(address, garage_now_s(), &tls, err);
        config.tls = &tls;
    }
    if (rc >= 0)
        rc = web_code_make(config.code, err);
    if (rc >= 0)
        rc = connections_open(options, &all, err);
    if (rc >= 0) {
        confine(all.path);
        rc = serve(&config, options->colour, kept, err);
        connections_close(&all);
    }
    web_tls_clear(&tls);
    return rc;
}

const cli_command cli_serve = {
    .name = "serve",
    .summary = "serve the pages to this machine's browser, or to a phone",
    .synopsis = "",
    .help = "Serves the pages until Ctrl-C: to this machine alone, or with --lan to every device in the\n"
            "network that has entered the code shown here. --tls encrypts what goes over it.\n",
    .options = CLI_HELP | CLI_GARAGE | CLI_PORT | CLI_LAN | CLI_TLS | CLI_LOG | CLI_COLOUR | CLI_NO_COLOUR,
    .takes_file = false,
    .run = run,
};

/* SPDX-License-Identifier: MIT */
/* What the commands of tripdog share. */
#ifndef TD_DAEMON_CLIENT_CLI_H
#define TD_DAEMON_CLIENT_CLI_H

#include <jansson.h>

#include "daemon/client/link.h"
#include "daemon/client/options.h"
#include "daemon/client/pen.h"

struct td_cli {
	struct td_options options;
	struct td_pen pen;    /* standard output */
	struct td_link *link; /* open while a command runs */
};

#define TD_X(word, ...) enum td_exit td_cmd_##word(struct td_cli *cli, int count, char **args);
TD_COMMAND_TABLE(TD_X)
#undef TD_X

/* Chooses the socket by the options and connects cli->link. Where nobody answers there it says so in *err. */
enum td_exit td_cli_try(struct td_cli *cli, struct td_error *err);

/* The same, but says on standard error why it cannot. */
enum td_exit td_cli_connect(struct td_cli *cli);

/* The same, and agrees with the daemon on the version of the protocol, for all that is not a mere stop: that means the same in
 * every version, and waits for nothing. */
enum td_exit td_cli_open(struct td_cli *cli);

/* Says hello on the open link, which also gets a new token. */
enum td_exit td_cli_hello(struct td_cli *cli);
json_t *td_cli_hello_params(void);

/* One call with the timeout of the options. DONE: *answer is the result, the caller's. Else everything has
 * been told already and *answer is NULL. `answer` may be NULL. Takes `params` over. */
enum td_exit td_cli_call(struct td_cli *cli, const char *method, json_t *params, json_t **answer);

/* Tells why a call failed and gives the exit code. `answer` is the error object if it was refused; stays
 * the caller's. */
enum td_exit td_cli_failed(struct td_cli *cli, enum td_link_outcome outcome, const json_t *answer,
			   const struct td_error *err);

/* A sentence on standard error, with the program's name in front. */
void td_cli_complain(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* One document on one line of standard output, at once. */
void td_cli_print_json(const json_t *document);

#endif

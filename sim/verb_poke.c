/* SPDX-License-Identifier: MIT */
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>

#include "sim/poke.h"
#include "sim/verbs.h"

static int usage(void)
{
	(void)fprintf(stderr, "tripdog-sim poke: form: poke --control SOCKET COMMAND [WORD ...]; "
			      "the command 'help' lists the commands\n");
	return TD_VERB_USAGE;
}

/* The words with one blank between them; the caller frees it. */
static char *join(int count, char *const *words)
{
	char *line = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&line, &size);

	if (!out)
		return NULL;
	for (int i = 0; i < count; i++)
		(void)fprintf(out, "%s%s", i > 0 ? " " : "", words[i]);
	if (fclose(out) == 0)
		return line;
	free(line);
	return NULL;
}

static int poke(const char *control, const char *command)
{
	struct td_error err = {""};
	json_t *answer = td_poke(control, command, &err);

	if (!answer) {
		(void)fprintf(stderr, "tripdog-sim poke: %s\n", err.text);
		return TD_VERB_FAILED;
	}
	int failed =
		json_dumpf(answer, stdout, JSON_INDENT(2)) < 0 || printf("\n") < 0 || fflush(stdout) != 0;
	json_decref(answer);
	return failed ? TD_VERB_FAILED : TD_VERB_OK;
}

int td_verb_poke(int argc, char **argv)
{
	static const struct option options[] = {{"control", required_argument, NULL, 'c'}, {0}};
	const char *control = NULL;
	int option;

	/* '+': what begins with a dash behind the command belongs to the command. */
	while ((option = getopt_long(argc, argv, "+", options, NULL)) != -1) {
		if (option != 'c')
			return usage();
		control = optarg;
	}
	if (!control || optind == argc)
		return usage();
	char *command = join(argc - optind, argv + optind);
	int status = command ? poke(control, command) : TD_VERB_FAILED;
	free(command);
	return status;
}

/* SPDX-License-Identifier: MIT */
/* tripdog-sim: the bench. One verb a run; see docs/tripdog-sim.1. */
#include <stdio.h>
#include <string.h>

#include "sim/verbs.h"

static const struct verb {
	const char *name;
	const char *form;
	const char *help;
	int (*run)(int argc, char **argv);
} verbs[] = {
	{"board", "--config FILE --plant FILE [--socket SOCKET] [--control SOCKET] [--log FILE]",
	 "a simulated board for one daemon, in real time, until SIGTERM", td_verb_board},
	{"poke", "--control SOCKET COMMAND [WORD ...]", "one command to a running board; try: help",
	 td_verb_poke},
	{"plant", "--explain", "the keys of a plant file", td_verb_plant},
	{"demo", "[--programs DIR] [--out DIR]",
	 "everything that goes wrong with a machine nobody watches, against the real daemon", td_verb_demo},
	{"draw", "TRACE.vcd [--from TIME] [--to TIME] [--changed] [--title TEXT] [-o FILE.svg]",
	 "a trace as a timing diagram (SVG)", td_verb_draw},
	{"replay", "TRACE.vcd ... [--config FILE] [--map FILE] [--out FILE.vcd] [--from-record]",
	 "what the core of this build does with the events of a trace, compared step for step",
	 td_verb_replay},
};

enum { VERBS = sizeof(verbs) / sizeof(verbs[0]) };

static int show_help(FILE *out)
{
	(void)fprintf(out, "tripdog-sim VERB [OPTION ...]: the bench, a simulated machine\n\n");
	for (size_t i = 0; i < VERBS; i++)
		(void)fprintf(out, "  %s %s\n      %s\n", verbs[i].name, verbs[i].form, verbs[i].help);
	(void)fprintf(out, "\n  --help, --version\n\nexit status: 0 done, 1 failed, 2 wrong command line, "
			   "3 a replay differs\n");
	return fflush(out) == 0 ? TD_VERB_OK : TD_VERB_FAILED;
}

int main(int argc, char **argv)
{
	const char *name = argc > 1 ? argv[1] : "";

	if (strcmp(name, "--help") == 0)
		return show_help(stdout);
	if (strcmp(name, "--version") == 0)
		return printf("tripdog-sim %s\n", TD_VERSION) < 0 || fflush(stdout) != 0 ? TD_VERB_FAILED
											 : TD_VERB_OK;
	for (size_t i = 0; i < VERBS; i++)
		if (strcmp(verbs[i].name, name) == 0)
			return verbs[i].run(argc - 1, argv + 1);
	(void)fprintf(stderr, "tripdog-sim: %s%s%s; --help lists the verbs\n",
		      argc > 1 ? "unknown verb '" : "no verb", name, argc > 1 ? "'" : "");
	return TD_VERB_USAGE;
}

/* SPDX-License-Identifier: MIT */
/* The command line of tripdog: tables of commands and options, and the parser that runs on them. */
#ifndef TD_DAEMON_CLIENT_OPTIONS_H
#define TD_DAEMON_CLIENT_OPTIONS_H

#include <stdbool.h>
#include <stdio.h>

#include "core/time.h"
#include "daemon/client/exit.h"
#include "error.h"

/* clang-format off */
/* X(IDENT, "name", "argument" or "" for none, "command it belongs to" or "" for all, "help") */
#define TD_OPTION_TABLE(X) \
	X(KEEPER, "keeper", "", "", \
	  "use the keeper's socket and no other (default: the keeper's where this user may, else the visitors')") \
	X(VISITOR, "visitor", "", "", "use the visitors' socket and no other") \
	X(SOCKET, "socket", "PATH", "", "use this socket") \
	X(CONFIG, "config", "FILE", "", "take both socket paths from this configuration of the daemon") \
	X(TIMEOUT, "timeout", "TIME", "", "wait this long for an answer (default 3s)") \
	X(JSON, "json", "", "", "print what the daemon sends, one JSON document a line") \
	X(NO_COLOUR, "no-colour", "", "", \
	  "no colour or bold, as with NO_COLOR in the environment; only a terminal ever gets any") \
	X(HELP, "help", "", "", "print this and exit") \
	X(VERSION, "version", "", "", "print the version and exit") \
	X(COMPLETION, "completion", "", "", "print what lets bash complete the command line (source it) and exit") \
	X(WATCH, "watch", "", "status", "draw again whenever something changes; q or ^C ends it") \
	X(ONCE, "once", "", "follow", \
	  "end with the connection (exit code 7) instead of connecting again and telling what came meanwhile") \
	X(FOR, "for", "TIME", "hold", "how long to hold, counted from the request on, such as 500ms or 2s") \
	X(NAMES, "names", "", "describe", "one line an axis: its name and those of its ways, for scripts") \
	X(DIR, "dir", "PATH", "retell", "the directory of the traces (default: what the daemon or --config names)") \
	X(STOP, "stop", "", "retell", "tell of the last stop of any kind, not of the last trip") \
	X(OUTPUT, "output", "FILE", "metrics", "write into this file, which is whole at every instant") \
	X(FORM, "form", "NAME", "metrics", "openmetrics, or text (default: text with --output, else openmetrics)")

/* X(name, least arguments, most arguments, required option or NONE, "usage", "help") */
#define TD_COMMAND_TABLE(X) \
	X(status, 0, 0, NONE, "[--watch]", "draw the machine as it is now") \
	X(hold, 2, 2, FOR, "AXIS WAY --for TIME", \
	  "hold one way of an axis for a time; lets go by itself, on any signal, and when it dies; a visitor waits for a turn") \
	X(keys, 0, 0, NONE, "", \
	  "drive by the keyboard of a terminal: a way moves while its key is held down; space stops everything") \
	X(stop, 0, 1, NONE, "[AXIS]", "end motion now, of one axis or of all") \
	X(latch, 0, 0, NONE, "", \
	  "make the latched stop: everything off until a reset, over restarts and power loss") \
	X(reset, 0, 1, NONE, "[AXIS]", \
	  "as keeper: clear the trip of one axis, or the latched stop and all trips; never moves anything") \
	X(cooled, 0, 1, NONE, "[AXIS]", \
	  "as keeper: vouch that a motor (or all) is cold; its winding model and budgets begin anew") \
	X(untwisted, 0, 0, NONE, "", \
	  "as keeper, after a look at the cable: it is straight, count its turns from zero; never moves anything") \
	X(next, 0, 0, NONE, "", "as keeper: end the turn of the visitor who has it; the next in line follows") \
	X(close, 0, 0, NONE, "", "as keeper: close the machine to visitors; their line stays") \
	X(open, 0, 0, NONE, "", "as keeper: open the machine to visitors again") \
	X(follow, 0, 0, NONE, "[--once]", \
	  "print every change as one line, until interrupted; connects again by itself, and tells what came meanwhile") \
	X(retell, 0, 1, NONE, "[FILE] [--stop]", \
	  "tell in sentences, out of the traces, why the machine tripped last: who asked, what moved, what to do") \
	X(describe, 0, 0, NONE, "[--names]", "list axes, ways, switches, methods and cautions") \
	X(metrics, 0, 0, NONE, "[--output FILE] [--form NAME]", \
	  "what was counted and measured, as text for programs that watch machines")
/* clang-format on */

enum td_option {
#define TD_X(ident, ...) TD_OPTION_##ident,
	TD_OPTION_TABLE(TD_X)
#undef TD_X
		TD_OPTIONS,
	TD_OPTION_NONE = TD_OPTIONS
};

struct td_option_info {
	const char *name;
	const char *argument; /* "" = takes none */
	const char *command;  /* "" = belongs to all */
	const char *help;
};

struct td_cli;

struct td_command {
	const char *name;
	int least; /* arguments */
	int most;
	enum td_option required; /* TD_OPTION_NONE = none */
	const char *usage;
	const char *help;
	/* Carries the command out. `args` holds `count` arguments, least ... most. */
	enum td_exit (*run)(struct td_cli *cli, int count, char **args);
};

/* What the command line says. Strings are borrowed from argv. */
struct td_options {
	bool given[TD_OPTIONS];
	const char *value[TD_OPTIONS]; /* argument of the option, NULL where it takes none */
	td_ns timeout_ns;
	td_ns hold_ns;                    /* --for */
	const struct td_command *command; /* NULL: only --help, --version or --completion */
	int count;
	char **args;
};

/* In the order of the tables; NULL past the end. */
const struct td_command *td_command_at(unsigned int index);
const struct td_option_info *td_option_at(unsigned int index);

/* Reads the whole command line and checks it as far as that is possible without a daemon. Reorders argv.
 * Returns 0, or -1 with a sentence that names what is missing or the nearest word. */
int td_options_read(int argc, char **argv, struct td_options *options, struct td_error *err);

#endif

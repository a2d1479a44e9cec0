/* SPDX-License-Identifier: MIT */
#include "daemon/options.h"

#include <getopt.h>
#include <string.h>

#include "daemon/arming.h"
#include "daemon/exit_codes.h"

/* Options without a letter. */
enum { CLEAR = 256, CHECK, SYSFS, EXPLAIN /* and as many more as there are subjects */ };

static const struct option long_options[] = {
	{"config", required_argument, NULL, 'c'},
	{"clear-lines", no_argument, NULL, CLEAR},
	{"check-config", no_argument, NULL, CHECK},
	{"sysfs", required_argument, NULL, SYSFS},
#define TD_X(ident, subject, ...) {"explain-" subject, optional_argument, NULL, EXPLAIN + TD_SUBJECT_##ident},
	TD_SUBJECT_TABLE(TD_X)
#undef TD_X
		{"help", no_argument, NULL, 'h'},
	{"version", no_argument, NULL, 'V'},
	{NULL, 0, NULL, 0},
};

static int explain(enum td_subject subject, const char *form, struct td_options *options,
		   struct td_error *err)
{
	static const char *const names[] = {
#define TD_X(ident, subject, ...) subject,
		TD_SUBJECT_TABLE(TD_X)
#undef TD_X
	};

	if (form && strcmp(form, "mdoc") != 0)
		return td_error_set(err, "--explain-%s=%s: the only form besides plain text is \"mdoc\"",
				    names[subject], form);
	options->mode = TD_MODE_EXPLAIN;
	options->subject = subject;
	options->mdoc = form != NULL;
	return 0;
}

/* What getopt() complains of: a known option is one that was given a value and takes none. Of letters in one
 * word it has not yet passed the word when it meets one that it does not know. */
static int unknown(char **argv, struct td_error *err)
{
	for (const struct option *option = long_options; option->name; option++)
		if (optopt == option->val)
			return td_error_set(err, "--%s takes no value; see --help", option->name);
	if (optopt != 0)
		return td_error_set(err, "there is no option -%c; see --help", optopt);
	return td_error_set(err, "there is no option %s; see --help", argv[optind - 1]);
}

static int take(int option, char **argv, struct td_options *options, struct td_error *err)
{
	if (option >= EXPLAIN && option < EXPLAIN + TD_SUBJECTS)
		return explain((enum td_subject)(option - EXPLAIN), optarg, options, err);
	switch (option) {
	case 'c': options->config = optarg; return 0;
	case CLEAR: options->mode = TD_MODE_CLEAR; return 0;
	case CHECK: options->mode = TD_MODE_CHECK; return 0;
	case SYSFS: options->sysfs = optarg; return 0;
	case 'h': options->mode = TD_MODE_HELP; return 0;
	case 'V': options->mode = TD_MODE_VERSION; return 0;
	case ':': return td_error_set(err, "%s needs a value; see --help", argv[optind - 1]);
	default: return unknown(argv, err);
	}
}

int td_options_parse(int argc, char **argv, struct td_options *options, struct td_error *err)
{
	*options = (struct td_options){.mode = TD_MODE_RUN, .config = TD_DEFAULT_CONFIG};
	opterr = 0;
	optind = 0; /* 1 would leave half a word of a former call behind */
	for (int option; (option = getopt_long(argc, argv, ":c:hV", long_options, NULL)) != -1;)
		if (take(option, argv, options, err) != 0)
			return -1;
	if (optind < argc)
		return td_error_set(err, "\"%s\" is not understood: tripdogd takes options only; see --help",
				    argv[optind]);
	return 0;
}

void td_options_help(FILE *out)
{
	fputs("tripdogd: keeps a machine of motors on bang-bang bridges whole and harmless\n"
	      "\n"
	      "usage: tripdogd [--config FILE]\n"
	      "       tripdogd --clear-lines [--config FILE]\n"
	      "       tripdogd --check-config [--config FILE]\n",
	      out);
#define TD_X(ident, subject, meaning) fputs("       tripdogd --explain-" subject "\n", out);
	TD_SUBJECT_TABLE(TD_X)
#undef TD_X
	fputs("\n"
	      "  -c, --config FILE    the configuration (" TD_DEFAULT_CONFIG ")\n"
	      "      --clear-lines    bring every output low and end: for after a daemon that died\n"
	      "      --check-config   say every fault of the configuration, touch nothing\n",
	      out);
#define TD_X(ident, subject, meaning)                                                                        \
	fputs("      --explain-" subject "\n                       " meaning "\n", out);
	TD_SUBJECT_TABLE(TD_X)
#undef TD_X
	fputs("      --sysfs DIR      look there, not in " TD_SYSFS
	      ", for what lets outputs outlive the daemon,\n"
	      "                       on the bench too: for tests\n"
	      "  -h, --help           this\n"
	      "  -V, --version        the version\n"
	      "\n"
	      "It runs in the foreground and logs to standard error. SIGTERM and SIGINT end it with\n"
	      "every output low.\n"
	      "\n"
	      "exit codes:\n",
	      out);
#define TD_X(ident, code, meaning) fprintf(out, "  %d  %s\n", code, meaning);
	TD_EXIT_TABLE(TD_X)
#undef TD_X
	fputs("\n"
	      "Motion can hurt: keep fingers clear and be able to cut the motor supply. tripdogd is not a\n"
	      "certified safety device and no substitute for a wired emergency stop.\n",
	      out);
}

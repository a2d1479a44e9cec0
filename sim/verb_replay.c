/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "sim/replay/file.h"
#include "sim/replay/foreign.h"
#include "sim/replay/map.h"
#include "sim/verbs.h"

/* A configuration file is a few kB. */
enum { CONFIG_BYTES_MAX = 1024 * 1024 };

struct arguments {
	const char *config;
	const char *map;
	const char *out;
	bool from_record;
	char **traces;
	int count;
};

struct given {
	struct td_replay_order order;
	struct td_config config;
	char *text;
	struct td_replay_map map;
};

static enum td_verb_status complain(enum td_verb_status status, const char *sentence)
{
	(void)fprintf(stderr, "tripdog-sim replay: %s\n", sentence);
	return status;
}

static enum td_verb_status usage(void)
{
	return complain(
		TD_VERB_USAGE,
		"form: replay TRACE.vcd ... [--config FILE] [--map FILE] [--out FILE.vcd] [--from-record]; "
		"- is standard input; --map needs --config; --out takes one trace; a trace that --map "
		"reads has no record");
}

static bool parse(int argc, char **argv, struct arguments *arguments)
{
	static const struct option options[] = {{"config", required_argument, NULL, 'c'},
						{"map", required_argument, NULL, 'm'},
						{"out", required_argument, NULL, 'o'},
						{"from-record", no_argument, NULL, 'r'},
						{0}};
	int option;

	optind = 1;
	while ((option = getopt_long(argc, argv, "o:", options, NULL)) != -1)
		switch (option) {
		case 'c': arguments->config = optarg; break;
		case 'm': arguments->map = optarg; break;
		case 'o': arguments->out = optarg; break;
		case 'r': arguments->from_record = true; break;
		default: return false;
		}
	arguments->traces = argv + optind;
	arguments->count = argc - optind;
	return arguments->count > 0 && (!arguments->out || arguments->count == 1) &&
	       (!arguments->map || (arguments->config && !arguments->from_record));
}

static char *read_whole(const char *path, size_t *length, struct td_error *err)
{
	FILE *in = fopen(path, "re");
	char *text = in ? malloc(CONFIG_BYTES_MAX) : NULL;

	*length = text ? fread(text, 1, CONFIG_BYTES_MAX, in) : 0;
	bool whole = text && !ferror(in) && *length < CONFIG_BYTES_MAX;

	if (whole)
		text[*length] = '\0';
	else
		(void)td_error_set(err, "%s: cannot be read: %s", path,
				   text && !ferror(in) ? "it is too long for a configuration"
						       : strerror(errno));
	if (in)
		(void)fclose(in);
	if (whole)
		return text;
	free(text);
	return NULL;
}

static int show_faults(const struct td_config_faults *faults)
{
	for (size_t i = 0; i < faults->count && i < TD_FAULTS_MAX; i++)
		(void)complain(TD_VERB_FAILED, faults->fault[i].text);
	return -1;
}

/* 0, or -1 after a sentence. */
static int read_config(const char *path, struct given *given)
{
	static struct td_config_faults faults;
	struct td_error err = {""};
	size_t length = 0;

	given->text = read_whole(path, &length, &err);
	if (!given->text) {
		(void)complain(TD_VERB_FAILED, err.text);
		return -1;
	}
	if (!td_config_read_text(given->text, length, path, &given->config, &faults))
		return show_faults(&faults);
	given->order.config = &given->config;
	given->order.config_path = path;
	given->order.config_text = given->text;
	given->order.config_length = length;
	return 0;
}

/* A trace that is written over while it is read would be lost. */
static bool same_file(const char *a, const char *b)
{
	struct stat one;
	struct stat other;

	return stat(a, &one) == 0 && stat(b, &other) == 0 && S_ISREG(one.st_mode) &&
	       one.st_dev == other.st_dev && one.st_ino == other.st_ino;
}

static enum td_verb_status replay(FILE *in, const struct arguments *arguments, const struct given *given)
{
	struct td_error err = {""};

	if (arguments->map)
		return td_replay_foreign(in, &given->order, &given->map, stdout, &err) == 0
			       ? TD_VERB_OK
			       : complain(TD_VERB_FAILED, err.text);
	switch (td_replay_file(in, &given->order, stdout, &err)) {
	case TD_REPLAY_SAME: return TD_VERB_OK;
	case TD_REPLAY_DIFFERENT: return TD_VERB_DIFFERENT;
	case TD_REPLAY_FOREIGN:
		(void)complain(TD_VERB_FAILED, err.text);
		return complain(TD_VERB_FAILED, "to use it as input, give --config FILE and --map FILE");
	case TD_REPLAY_UNUSABLE:
	default: return complain(TD_VERB_FAILED, err.text);
	}
}

static enum td_verb_status replay_one(const char *path, const struct arguments *arguments,
				      struct given *given)
{
	bool standard = strcmp(path, "-") == 0;
	struct td_error err = {""};

	given->order.shown_as = standard ? "standard input" : path;
	given->order.out_path = arguments->out;
	given->order.from_record = arguments->from_record;
	if (arguments->out && !standard && same_file(path, arguments->out)) {
		(void)td_error_set(&err, "%s: would be written over; choose another path", path);
		return complain(TD_VERB_FAILED, err.text);
	}
	FILE *in = standard ? stdin : fopen(path, "re");

	if (!in) {
		(void)td_error_set(&err, "%s: cannot be read: %s", path, strerror(errno));
		return complain(TD_VERB_FAILED, err.text);
	}
	enum td_verb_status status = replay(in, arguments, given);

	if (!standard)
		(void)fclose(in);
	return status;
}

/* What is unusable weighs more than what differs. */
static enum td_verb_status worse(enum td_verb_status a, enum td_verb_status b)
{
	if (a == TD_VERB_FAILED || b == TD_VERB_FAILED)
		return TD_VERB_FAILED;
	return a == TD_VERB_OK ? b : a;
}

static enum td_verb_status replay_all(const struct arguments *arguments, struct given *given)
{
	enum td_verb_status status = TD_VERB_OK;
	struct td_error err = {""};

	if (arguments->config && read_config(arguments->config, given) != 0)
		return TD_VERB_FAILED;
	if (arguments->map && td_replay_map_read(arguments->map, &given->config, &given->map, &err) != 0)
		return complain(TD_VERB_FAILED, err.text);
	for (int i = 0; i < arguments->count; i++)
		status = worse(status, replay_one(arguments->traces[i], arguments, given));
	return fflush(stdout) == 0 ? status : complain(TD_VERB_FAILED, "the account could not be written");
}

int td_verb_replay(int argc, char **argv)
{
	struct arguments arguments = {0};
	struct given *given = NULL;

	if (!parse(argc, argv, &arguments))
		return usage();
	given = calloc(1, sizeof(*given));
	if (!given)
		return complain(TD_VERB_FAILED, "there is no memory left; end other programs");
	enum td_verb_status status = replay_all(&arguments, given);

	free(given->text);
	free(given);
	return status;
}

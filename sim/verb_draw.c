/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/draw_time.h"
#include "sim/draw_trace.h"
#include "sim/verbs.h"

struct arguments {
	const char *trace; /* "-" = standard input */
	const char *out;   /* NULL = standard output */
	struct td_trace_view view;
};

static int complain(enum td_verb_status status, const char *sentence)
{
	(void)fprintf(stderr, "tripdog-sim draw: %s\n", sentence);
	return status;
}

static int usage(void)
{
	return complain(
		TD_VERB_USAGE,
		"form: draw TRACE.vcd [--from TIME] [--to TIME] [--changed] [--title TEXT] [-o FILE.svg]; "
		"a TIME has its unit: 2s, 1.25s, 300ms, 15us, 3min");
}

static bool parse(int argc, char **argv, struct arguments *arguments)
{
	static const struct option options[] = {
		{"from", required_argument, NULL, 'f'},   {"to", required_argument, NULL, 't'},
		{"changed", no_argument, NULL, 'c'},      {"title", required_argument, NULL, 'T'},
		{"output", required_argument, NULL, 'o'}, {0}};
	int option;

	optind = 1;
	while ((option = getopt_long(argc, argv, "o:", options, NULL)) != -1)
		switch (option) {
		case 'f':
			if (!td_draw_parse_time(optarg, &arguments->view.from_ns))
				return false;
			break;
		case 't':
			if (!td_draw_parse_time(optarg, &arguments->view.to_ns))
				return false;
			break;
		case 'c': arguments->view.changed_only = true; break;
		case 'T': arguments->view.title = optarg; break;
		case 'o': arguments->out = optarg; break;
		default: return false;
		}
	if (optind + 1 != argc)
		return false;
	arguments->trace = argv[optind];
	return arguments->view.from_ns < arguments->view.to_ns;
}

static struct td_drawing *draw(const struct arguments *arguments, struct td_error *err)
{
	bool standard = strcmp(arguments->trace, "-") == 0;
	FILE *in = standard ? stdin : fopen(arguments->trace, "re");

	if (!in) {
		td_error_set(err, "%s: cannot be read: %s", arguments->trace, strerror(errno));
		return NULL;
	}
	struct td_drawing *drawing = td_drawing_of_trace(in, standard ? "standard input" : arguments->trace,
							 &arguments->view, err);
	if (!standard)
		(void)fclose(in);
	return drawing;
}

/* A file that could not be written whole is taken away again; a device or pipe stays. */
static void take_away(const char *path)
{
	struct stat about;

	if (lstat(path, &about) == 0 && S_ISREG(about.st_mode))
		(void)unlink(path);
}

static int write_file(struct td_drawing *drawing, const char *path, struct td_error *err)
{
	FILE *out = fopen(path, "we");

	if (!out)
		return td_error_set(err, "%s: cannot be written: %s; choose another path", path,
				    strerror(errno));
	int result = td_drawing_write_svg(drawing, out, err);
	if (fclose(out) != 0 && result == 0)
		result = td_error_set(err, "%s: could not be written: %s", path, strerror(errno));
	if (result)
		take_away(path);
	return result;
}

int td_verb_draw(int argc, char **argv)
{
	struct arguments arguments = {.view = {.to_ns = TD_NEVER}};
	struct td_error err = {""};

	if (!parse(argc, argv, &arguments))
		return usage();
	struct td_drawing *drawing = draw(&arguments, &err);
	if (!drawing)
		return complain(TD_VERB_FAILED, err.text);
	int result = arguments.out ? write_file(drawing, arguments.out, &err)
				   : td_drawing_write_svg(drawing, stdout, &err);
	td_drawing_free(drawing);
	return result ? complain(TD_VERB_FAILED, err.text) : TD_VERB_OK;
}

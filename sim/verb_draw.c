/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/draw_time.h"
#include "sim/draw_trace.h"
#include "sim/draw_trip.h"
#include "sim/verbs.h"

struct arguments {
	const char *trace; /* "-" = standard input */
	const char *out;   /* NULL = standard output */
	struct td_trace_view view;
	bool trip; /* only around the last trip */
	bool window;
};

/* What --trip shows. */
#define BEFORE_NS TD_S(10)
#define AFTER_NS  TD_S(3)

static int complain(enum td_verb_status status, const char *sentence)
{
	(void)fprintf(stderr, "tripdog-sim draw: %s\n", sentence);
	return status;
}

static int usage(void)
{
	return complain(TD_VERB_USAGE, "form: draw TRACE.vcd [--trip | [--from TIME] [--to TIME]] "
				       "[--changed] [--all] [--title TEXT] "
				       "[-o FILE.svg]; "
				       "a TIME has its unit: 2s, 1.25s, 300ms, 15us, 3min");
}

static bool parse(int argc, char **argv, struct arguments *arguments)
{
	static const struct option options[] = {
		{"from", required_argument, NULL, 'f'},   {"to", required_argument, NULL, 't'},
		{"changed", no_argument, NULL, 'c'},      {"title", required_argument, NULL, 'T'},
		{"trip", no_argument, NULL, 'p'},         {"all", no_argument, NULL, 'a'},
		{"output", required_argument, NULL, 'o'}, {0}};
	int option;

	optind = 1;
	while ((option = getopt_long(argc, argv, "o:", options, NULL)) != -1)
		switch (option) {
		case 'f':
			arguments->window = true;
			if (!td_draw_parse_time(optarg, &arguments->view.from_ns))
				return false;
			break;
		case 't':
			arguments->window = true;
			if (!td_draw_parse_time(optarg, &arguments->view.to_ns))
				return false;
			break;
		case 'p': arguments->trip = true; break;
		case 'a': arguments->view.all = true; break;
		case 'c': arguments->view.changed_only = true; break;
		case 'T': arguments->view.title = optarg; break;
		case 'o': arguments->out = optarg; break;
		default: return false;
		}
	if (optind + 1 != argc || (arguments->trip && arguments->window))
		return false;
	arguments->trace = argv[optind];
	return arguments->view.from_ns < arguments->view.to_ns;
}

/* A pipe cannot be read twice: what comes through it is kept in a file without a name. */
static FILE *keep(FILE *in, struct td_error *err)
{
	FILE *kept = tmpfile();
	char bytes[8192];
	size_t count = 0;

	while (kept && (count = fread(bytes, 1, sizeof(bytes), in)) > 0)
		if (fwrite(bytes, 1, count, kept) != count)
			break;
	if (kept && count == 0 && !ferror(in) && fseek(kept, 0, SEEK_SET) == 0)
		return kept;
	td_error_set(err, "standard input: cannot be kept for a second reading: %s; write it to a file first",
		     strerror(errno));
	if (kept)
		(void)fclose(kept);
	return NULL;
}

static FILE *open_trace(const struct arguments *arguments, struct td_error *err)
{
	if (strcmp(arguments->trace, "-") == 0)
		return arguments->trip ? keep(stdin, err) : stdin;
	FILE *in = fopen(arguments->trace, "re");
	if (!in)
		td_error_set(err, "%s: cannot be read: %s", arguments->trace, strerror(errno));
	return in;
}

static int find_trip(struct arguments *arguments, FILE *in, const char *shown_as, struct td_error *err)
{
	td_ns at_ns = 0;

	if (td_draw_last_trip(in, shown_as, &at_ns, err) != 0)
		return -1;
	if (fseek(in, 0, SEEK_SET) != 0)
		return td_error_set(err, "%s: cannot be read twice: %s; copy it to a file first", shown_as,
				    strerror(errno));
	arguments->view.from_ns = td_time_between(BEFORE_NS, at_ns);
	arguments->view.to_ns = td_time_after(at_ns, AFTER_NS);
	return 0;
}

static struct td_drawing *draw(struct arguments *arguments, struct td_error *err)
{
	const char *shown_as = strcmp(arguments->trace, "-") == 0 ? "standard input" : arguments->trace;
	struct td_drawing *drawing = NULL;
	FILE *in = open_trace(arguments, err);

	if (!in)
		return NULL;
	if (!arguments->trip || find_trip(arguments, in, shown_as, err) == 0)
		drawing = td_drawing_of_trace(in, shown_as, &arguments->view, err);
	if (in != stdin)
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

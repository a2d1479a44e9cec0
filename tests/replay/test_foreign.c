/* SPDX-License-Identifier: MIT */
/*
 * Recordings as a logic analyser makes them (tests/replay/foreign/NAME.vcd), run as the input of the example machine: what
 * is told of them is NAME.txt, and of bounce and noise only what a sound contact would have made.
 *
 * Figures of bounce: J. Ganssle, "A Guide to Debouncing", by quotations of it (average 1557 us, longest 6200 us of sixteen
 * switches); an outlier of 157 ms, from memory. Figures of bursts: IEC 61000-4-4, from memory. When the changes come within a
 * bounce is invented.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "sim/replay/foreign.h"
#include "tests/support/replay_case.h"

#define FOLDER  "tests/replay/foreign/"
#define EXAMPLE "docs/examples/glasshouse.conf"

static struct td_config config;
static char *config_text;
static struct td_replay_map map;

static struct row {
	const char *name;
	const char *says; /* the one line that matters */
	int ends;         /* how often the end was reached */
	int chatters;
} rows[] = {
	{"bounce-average", "+3.003557 s  R2   boom raise: end-reached", 1, 0},
	{"bounce-longest", "+3.008200 s  R2   boom raise: end-reached", 1, 0},
	{"bounce-outlier", "boom raise: chatter (", 0, 1},
	{"noise-bursts", "+3.002000 s  R2   boom raise: end-reached", 1, 0},
	{"wire-breaks", "+1.502000 s  R8   boom raise: end-too-early", 0, 0},
	{"held-at-first", "up is held when the trace begins", 0, 0},
	{"both-keys", "boom lower: held-by-other", 1, 0},
};

static char *read_text(const char *path)
{
	char *text = NULL;
	size_t size = 0;
	FILE *in = fopen(path, "r");
	FILE *out = open_memstream(&text, &size);

	if (!in)
		fail_msg("%s cannot be read", path);
	for (int c = fgetc(in); c != EOF; c = fgetc(in))
		fputc(c, out);
	fclose(in);
	fclose(out);
	return text;
}

static char *path_of(const char *name, const char *end)
{
	static char path[2][256];
	static int turn;

	turn = 1 - turn;
	snprintf(path[turn], sizeof(path[turn]), FOLDER "%s%s", name, end);
	return path[turn];
}

static int count(const char *text, const char *word)
{
	int found = 0;

	for (const char *at = strstr(text, word); at; at = strstr(at + 1, word))
		found++;
	return found;
}

/* What is told; `out` NULL: nothing is written. The caller's to free. */
static char *told_of(const char *name, const char *out, const char *shown_as)
{
	const struct td_replay_order order = {
		.shown_as = shown_as,
		.config = &config,
		.config_text = config_text,
		.config_length = strlen(config_text),
		.out_path = out,
	};
	struct td_error err = {""};
	char *text = NULL;
	size_t size = 0;
	FILE *in = fopen(path_of(name, ".vcd"), "r");
	FILE *told = open_memstream(&text, &size);

	assert_non_null(in);
	if (td_replay_foreign(in, &order, &map, told, &err) != 0)
		fail_msg("%s", err.text);
	fclose(in);
	fclose(told);
	return text;
}

static void run(void **state)
{
	const struct row *row = *state;
	char *told = told_of(row->name, NULL, row->name);
	char *golden = read_text(path_of(row->name, ".txt"));

	assert_string_equal(told, golden);
	assert_non_null(strstr(told, row->says));
	assert_int_equal(count(told, ": end-reached ("), row->ends);
	assert_int_equal(count(told, ": chatter ("), row->chatters);
	free(told);
	free(golden);
}

/* What this core did is a trace of ours, and replays as one. */
static void assert_writes_a_trace(const char *name)
{
	char path[] = "/tmp/tripdog-foreign-XXXXXX";
	int fd = mkstemp(path);

	assert_true(fd >= 0);
	close(fd);
	free(told_of(name, path, name));
	char *trace = read_text(path);
	struct replayed replayed = replay_bytes(trace, strlen(trace), NULL, false);

	if (replayed.verdict != TD_REPLAY_SAME || !strstr(replayed.told, "a replay of version"))
		fail_msg("%s%s", replayed.told, replayed.err.text);
	unlink(path);
	free(replayed.told);
	free(trace);
}

static void what_came_of_it_is_a_trace_of_ours(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++)
		assert_writes_a_trace(rows[i].name);
}

/* --- what cannot be used ------------------------------------------------------------------------------ */

static char small_trace[] =
	"$timescale 1 us $end\n$scope module a $end\n$var wire 1 ! key $end\n"
	"$var wire 4 \" word [3:0] $end\n$upscope $end\n$scope module b $end\n"
	"$var wire 1 # key $end\n$upscope $end\n$enddefinitions $end\n#0\n0!\nb0 \"\n0#\n";

static void refuse_map(const char *text, const char *says)
{
	char path[] = "/tmp/tripdog-map-XXXXXX";
	struct td_replay_map other;
	struct td_error err = {""};
	int fd = mkstemp(path);

	assert_true(fd >= 0);
	assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
	close(fd);
	if (td_replay_map_read(path, &config, &other, &err) == 0) {
		const struct td_replay_order order = {.shown_as = "trace", .config = &config};
		FILE *in = fmemopen(small_trace, strlen(small_trace), "r");
		FILE *told = fopen("/dev/null", "w");

		assert_int_equal(td_replay_foreign(in, &order, &other, told, &err), -1);
		fclose(in);
		fclose(told);
	}
	unlink(path);
	if (!strstr(err.text, says))
		fail_msg("\"%s\" and not \"%s\"", err.text, says);
}

static void a_map_that_does_not_fit_is_refused_with_a_sentence(void **state)
{
	(void)state;
	refuse_map("", "no signal is named; write [switches] and [holds]");
	refuse_map("a.key = boom_top\n",
		   ":1: this line stands under []; it belongs under [switches] or [holds]");
	refuse_map("[holds]\na.key = boom\n", ":2: write SIGNAL = AXIS WAY");
	refuse_map("[holds]\na.key = bom raise\n", "no axis 'bom'; did you mean 'boom'?");
	refuse_map("[holds]\na.key = boom rise\n", "no such way: 'rise'; did you mean 'raise'?");
	refuse_map("[switches]\na.key = boom_topp\n", "no switch 'boom_topp'; did you mean 'boom_top'?");
	refuse_map("[switches]\na.key = boom_top upside\n", "SIGNAL = SWITCH inverted");
	refuse_map("[switches]\na.key = boom_top\n\na.key = vent_shut\n",
		   ":4: signal 'a.key' stands twice, first in line 2");
	refuse_map("[switches]\na.key = boom_top\nb.key = boom_top\n",
		   ":3: switch 'boom_top' has a signal already, in line 2");
	refuse_map("[switches\na.key = boom_top\n", ":2: this line stands under []");
	refuse_map("[switches]\na.key = boom_top\nrubbish\n", ":3: no heading and no SIGNAL = NAME");
	refuse_map("[switches]\nkey = boom_top\n", "two signals are named 'key'; name its scopes too");
	refuse_map("[switches]\na.kye = boom_top\n", "there is no signal 'a.kye' (line 2 of the map)");
	refuse_map("[switches]\nword = boom_top\n", "'word' is no signal of one bit");
}

static void a_level_nobody_knows_is_an_active_contact(void **state)
{
	char *told = told_of("held-at-first", NULL, "x");

	(void)state;
	assert_non_null(strstr(told, "+2.500000 s  R10  the machine: latch-input"));
	free(told);
}

int main(void)
{
	enum { ROWS = sizeof(rows) / sizeof(rows[0]), MORE = 3 };
	static struct td_config_faults faults;
	struct td_error err;
	struct CMUnitTest test[ROWS + MORE] = {
		cmocka_unit_test(what_came_of_it_is_a_trace_of_ours),
		cmocka_unit_test(a_map_that_does_not_fit_is_refused_with_a_sentence),
		cmocka_unit_test(a_level_nobody_knows_is_an_active_contact),
	};

	config_text = read_text(EXAMPLE);
	if (!td_config_read(EXAMPLE, &config, &faults) ||
	    td_replay_map_read(FOLDER "bench.map", &config, &map, &err) != 0)
		return 1;
	for (int i = 0; i < ROWS; i++)
		test[MORE + i] = (struct CMUnitTest){rows[i].name, run, NULL, NULL, &rows[i]};
	int failed = _cmocka_run_group_tests("foreign", test, ROWS + MORE, NULL, NULL);

	free(config_text);
	return failed;
}

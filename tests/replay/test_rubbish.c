/* SPDX-License-Identifier: MIT */
/* Traces, maps and recordings with a few bytes changed, left out or repeated: told of in some way, never a crash, a
 * hang or a leak. TD_STEPS says how many of each, TD_SEED repeats a run. */
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
#include "tests/support/dice.h"
#include "tests/support/replay_case.h"

enum { TIMES = 300, CHANGES_MAX = 6, FILE_BYTES_MAX = 256 * 1024 };

static struct dice dice;
static struct td_config config;
static long verdicts[TD_REPLAY_FOREIGN + 1];

static int times(void)
{
	const char *given = getenv("TD_STEPS");

	return given ? (int)strtol(given, NULL, 10) : TIMES;
}

static void change_byte(char *bytes, size_t length)
{
	static const char likely[] = "01xzb#$ \n9!%";

	char other = likely[dice_below(&dice, sizeof(likely) - 1)];

	if (dice_below(&dice, 4) == 0)
		dice_rubbish(&dice, &other, 1);
	bytes[dice_below(&dice, length)] = other;
}

/* A piece of it stands somewhere else, too. */
static void copy_piece(char *bytes, size_t length)
{
	size_t count = (size_t)dice_below(&dice, length < 200 ? length : 200);
	size_t from = (size_t)dice_below(&dice, length - count);
	size_t to = (size_t)dice_below(&dice, length - count);

	memmove(bytes + to, bytes + from, count);
}

/* A value is another one, and everything else is sound. */
static void flip_digit(char *bytes, size_t length)
{
	size_t at = (size_t)dice_below(&dice, length);

	while (at < length && bytes[at] != '\n')
		at++;
	while (at < length && bytes[at] != '0' && bytes[at] != '1')
		at = bytes[at] == '#' ? at + strcspn(bytes + at, "\n") : at + 1;
	if (at < length)
		bytes[at] = bytes[at] == '0' ? '1' : '0';
}

/* Changes some bytes from `first` on; returns how many are left. */
static size_t spoil(char *bytes, size_t length, size_t first)
{
	uint64_t changes = 1 + dice_below(&dice, CHANGES_MAX);

	for (; changes > 0; changes--)
		if (dice_below(&dice, 3) == 0)
			copy_piece(bytes + first, length - first);
		else
			change_byte(bytes + first, length - first);
	return dice_below(&dice, 4) > 0 ? length : first + (size_t)dice_below(&dice, length - first);
}

static char *copy_of(const char *bytes, size_t length)
{
	char *copy = malloc(length + 1);

	memcpy(copy, bytes, length);
	copy[length] = '\0';
	return copy;
}

static void assert_explained(const struct replayed *replayed)
{
	verdicts[replayed->verdict]++;
	if (replayed->verdict == TD_REPLAY_UNUSABLE || replayed->verdict == TD_REPLAY_FOREIGN)
		assert_true(replayed->err.text[0] != '\0');
	if (replayed->verdict == TD_REPLAY_DIFFERENT)
		assert_non_null(strstr(replayed->told, "The first difference is at step"));
}

static void spoiled_traces_are_told_of(void **state)
{
	const char *names[] = {"R4 an end not reached in the learned time with margin is a trip",
			       "R13 one that changes its way while it waits is a reversal too",
			       "R18 at the limit the other side is free ahead, and this side back"};

	(void)state;
	for (int i = 0; i < times(); i++) {
		struct taped taped;

		assert_int_equal(tape_scenario(replay_scenario(names[i % 3]), &taped), 0);
		/* mostly among the values: what is before them has checksums */
		char *values = strstr(taped.trace, "$enddefinitions");
		size_t first = i % 4 == 0 ? 0 : (size_t)(values - taped.trace);
		size_t length = taped.length;

		if (i % 2)
			flip_digit(values, length - (size_t)(values - taped.trace));
		else
			length = spoil(taped.trace, length, first);
		struct replayed replayed = replay_bytes(taped.trace, length, NULL, i % 5 == 0);

		assert_explained(&replayed);
		free(replayed.told);
		taped_free(&taped);
	}
	printf("# counted: %ld spoiled traces the same, %ld different, %ld unusable, %ld foreign\n",
	       verdicts[TD_REPLAY_SAME], verdicts[TD_REPLAY_DIFFERENT], verdicts[TD_REPLAY_UNUSABLE],
	       verdicts[TD_REPLAY_FOREIGN]);
	assert_true(verdicts[TD_REPLAY_DIFFERENT] > 0 && verdicts[TD_REPLAY_UNUSABLE] > 0);
}

static char *read_file(const char *path, size_t *length)
{
	char *bytes = malloc(FILE_BYTES_MAX);
	FILE *in = fopen(path, "r");

	assert_non_null(in);
	*length = fread(bytes, 1, FILE_BYTES_MAX, in);
	fclose(in);
	return bytes;
}

static void run_foreign(char *bytes, size_t length, const struct td_replay_map *map)
{
	const struct td_replay_order order = {.shown_as = "trace", .config = &config};
	struct td_error err = {""};
	FILE *in = fmemopen(bytes, length > 0 ? length : 1, "r");
	FILE *told = fopen("/dev/null", "w");

	if (td_replay_foreign(in, &order, map, told, &err) != 0)
		assert_true(err.text[0] != '\0');
	fclose(in);
	fclose(told);
}

static void spoiled_recordings_and_maps_are_told_of(void **state)
{
	size_t length;
	size_t map_length;
	char *bytes = read_file("tests/replay/foreign/held-at-first.vcd", &length);
	char *map_bytes = read_file("tests/replay/foreign/bench.map", &map_length);
	char path[] = "/tmp/tripdog-rubbish-XXXXXX";
	struct td_error err;
	struct td_replay_map map;
	int fd = mkstemp(path);

	(void)state;
	assert_true(fd >= 0);
	close(fd);
	for (int i = 0; i < times() * 4; i++) {
		char *copy = copy_of(bytes, length);
		char *map_copy = copy_of(map_bytes, map_length);
		FILE *out = fopen(path, "w");
		size_t left = i % 2 ? map_length : spoil(map_copy, map_length, 0);

		assert_int_equal(fwrite(map_copy, 1, left, out), left);
		fclose(out);
		if (td_replay_map_read(path, &config, &map, &err) == 0)
			run_foreign(copy, i % 2 ? spoil(copy, length, 0) : length, &map);
		else
			assert_non_null(strstr(err.text, path));
		free(copy);
		free(map_copy);
	}
	unlink(path);
	free(bytes);
	free(map_bytes);
}

int main(void)
{
	static struct td_config_faults faults;
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(spoiled_traces_are_told_of),
		cmocka_unit_test(spoiled_recordings_and_maps_are_told_of),
	};

	dice = dice_start(20261125);
	if (!td_config_read("docs/examples/glasshouse.conf", &config, &faults))
		return 1;
	return cmocka_run_group_tests_name("rubbish", tests, NULL, NULL);
}

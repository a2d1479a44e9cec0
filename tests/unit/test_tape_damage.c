/* SPDX-License-Identifier: MIT */
/* A tape without its end gives what was there; a damaged one is refused, and says where. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/outside.h"
#include "tests/support/tape_rig.h"
#include "tests/unit/tape_file.h"

/* --- without an end ------------------------------------------------------------------------------------ */

static size_t assert_prefix_of(size_t length)
{
	struct tape_played *played = tape_play(rig.bytes, length, NULL);
	size_t count = played->items.count;
	bool whole = length == rig.length;

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_int_equal(played->heads, 1);
	assert_int_equal(played->summary.cut_off, !whole);
	tape_assert_prefix(&rig.made, &played->items, count);
	tape_played_free(played);
	return count;
}

static void a_tape_cut_off_at_any_byte_gives_what_was_there(void **state)
{
	size_t last = 0;

	(void)state;
	record(15);
	size_t values = place_of("$enddefinitions") + strlen("$enddefinitions $end\n");

	for (size_t length = values; length <= rig.length; length++) {
		size_t count = assert_prefix_of(length);

		assert_true(count >= last);
		last = count;
	}
	assert_int_equal(last, rig.made.count);
	print_message("# measured: cut at each of %zu bytes, %zu items\n", rig.length - values, last);
	tape_rig_close(&rig);
}

static void a_tape_cut_off_before_its_values_is_refused(void **state)
{
	(void)state;
	record(1);
	size_t values = place_of("$enddefinitions") + strlen("$enddefinitions $end");

	for (size_t length = 0; length < values; length += 61) {
		struct tape_played *played = tape_play(rig.bytes, length, NULL);

		assert_int_equal(played->result, TD_TAPE_BAD);
		assert_non_null(strstr(played->err.text, "byte "));
		assert_int_equal(played->heads, 0);
		tape_played_free(played);
	}
	tape_rig_close(&rig);
}

/* The file of a daemon that still records, or was killed: handed over, but not ended. */
static void the_last_step_of_a_tape_without_its_end_is_there(void **state)
{
	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	assert_int_equal(fflush(rig.out), 0);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_true(played->summary.cut_off);
	assert_int_equal(played->items.count, rig.made.count);
	tape_played_free(played);
	tape_rig_close(&rig);
}

/* --- damage --------------------------------------------------------------------------------------------- */

/* Every byte from one place to another, changed, is noticed. */
static void assert_guarded(const char *from, const char *to, size_t stride, const char *says)
{
	size_t begin = place_of(from);
	size_t end = place_of(to);

	assert_true(begin < end);
	for (size_t at = begin; at < end; at += stride) {
		char was = rig.bytes[at];

		rig.bytes[at] = was == '7' ? '8' : '7';
		assert_refused_with(rig.bytes, rig.length, says);
		rig.bytes[at] = was;
	}
}

static void damage_is_refused_and_says_where(void **state)
{
	static const char core[] = "$comment core ";
	static const char kept[] = "$comment record ";

	(void)state;
	record(1);
	assert_guarded("kind run", " $end\n$comment configuration", 1, "head of the recording is damaged");
	assert_guarded("travel_ms = 1000", " = 1000", 1, "configuration");
	assert_guarded(core + 9, " $end\n$comment record ", 41, "core");
	assert_guarded(kept + 9, " $end\n$scope module boom", 41, "record");
	tape_rig_close(&rig);
}

/* Puts other text in the place of some. */
static char *replaced(const char *old, const char *new, size_t *length)
{
	size_t at = place_of(old);

	return spliced(at, new, at + strlen(old), length);
}

static const struct forgery {
	const char *old;
	const char *new;
	const char *says;
} forgeries[] = {
	{"$comment tripdog trace 1", "$comment tripdog trace 2", "has format 2"},
	{"$comment tripdog trace 1", "$comment tripdog trace x", "head"},
	{"$comment configuration", "$comment konfiguration", "should be the configuration"},
	{"$comment core ", "$comment cart ", "should be the core"},
	{"$comment record ", "$comment rekord ", "should be the record"},
	{"travel_ms = 1000", "travel_ms = 1001", "configuration in the recording is damaged"},
	{"travel_ms = 1000", "travel_ms = much", "configuration in the recording is damaged"},
	{"[axis boom]", "[axis%zzboom]", "damaged"},
	{"$scope module boom", "$scope module bloom",
	 "signal bloom.lower of 1 bits where the configuration has boom.lower"},
	{" state [2:0]", " stage [2:0]", "boom.stage"},
	{"$var wire 3 % state [2:0]", "$var wire 4 % state [3:0]", "of 4 bits"},
	{"$scope module clients", "$enddefinitions $end", "signals are declared"},
	{"$enddefinitions", "$scope module x $end $var wire 1 ~~ y $end $upscope $end $enddefinitions",
	 "no signal x.y"},
};

static void what_does_not_belong_is_refused(void **state)
{
	(void)state;
	record(1);
	for (size_t i = 0; i < sizeof(forgeries) / sizeof(forgeries[0]); i++) {
		size_t length;
		char *bytes = replaced(forgeries[i].old, forgeries[i].new, &length);

		assert_refused_with(bytes, length, forgeries[i].says);
		free(bytes);
	}
	tape_rig_close(&rig);
}

static void assert_values_refused(const char *more, const char *says)
{
	size_t length;
	char *bytes = spliced(rig.length, more, rig.length, &length);
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_non_null(strstr(played->err.text, says));
	tape_played_free(played);
	free(bytes);
}

static void values_that_cannot_be_are_refused(void **state)
{
	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	assert_int_equal(fflush(rig.out), 0);
	assert_values_refused("#9999999999\nb111 %\nb1111111100000001 =\n", "state that does not exist");
	assert_values_refused("#9999999999\nx!\n", "always known is unknown");
	assert_values_refused("#1\n", "time runs backwards");
	tape_rig_close(&rig);
	record(3);
	assert_values_refused("#9999999999\n1!\n", "behind its end");
	tape_rig_close(&rig);
}

/* --- the one who writes ------------------------------------------------------------------------------------- */

static void a_full_disk_is_said(void **state)
{
	FILE *full = fopen("/dev/full", "w");
	struct td_error err = {""};

	(void)state;
	assert_non_null(full);
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	rig.first.core = rig.core;
	struct td_tape *tape = td_tape_new(full, &rig.config, rig.config_text, rig.config_length, &rig.head,
					   &rig.first, &err);

	if (tape)
		assert_int_equal(td_tape_finish(tape, TD_S(6), &err), -1);
	assert_non_null(strstr(err.text, "No space left on device"));
	td_tape_free(tape);
	td_tape_free(NULL);
	(void)fclose(full);
	tape_rig_close(&rig);
}

static void nothing_is_taken_behind_the_end(void **state)
{
	struct td_entry step = {.kind = TD_ENTRY_STEP, .number = 1000000, .at_ns = TD_S(10)};
	struct td_error err = {""};

	(void)state;
	record(3);
	assert_int_equal(td_tape_put(rig.tape, &step, &err), -1);
	assert_int_equal(td_tape_check(rig.tape, &rig.first, &err), -1);
	assert_int_equal(td_tape_finish(rig.tape, TD_S(10), &err), -1);
	assert_string_equal(err.text, "the recording was ended already");
	tape_rig_close(&rig);
}

static int stop_at_third(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	(void)file_ns;
	(void)entry;
	return ++*(int *)ctx == 3;
}

static void a_player_that_is_stopped_says_so(void **state)
{
	int seen = 0;
	const struct td_tape_sink sink = {.ctx = &seen, .entry = stop_at_third};
	struct td_tape_summary summary;
	struct td_error err = {""};

	(void)state;
	record(10);
	FILE *in = outside_reader(rig.bytes, rig.length);

	assert_int_equal(td_tape_play(in, "x.vcd", NULL, &sink, &summary, &err), TD_TAPE_STOPPED);
	assert_int_equal(seen, 3);
	assert_string_equal(err.text, "");
	(void)fclose(in);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_tape_cut_off_at_any_byte_gives_what_was_there),
		cmocka_unit_test(a_tape_cut_off_before_its_values_is_refused),
		cmocka_unit_test(the_last_step_of_a_tape_without_its_end_is_there),
		cmocka_unit_test(damage_is_refused_and_says_where),
		cmocka_unit_test(what_does_not_belong_is_refused),
		cmocka_unit_test(values_that_cannot_be_are_refused),
		cmocka_unit_test(a_full_disk_is_said),
		cmocka_unit_test(nothing_is_taken_behind_the_end),
		cmocka_unit_test(a_player_that_is_stopped_says_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

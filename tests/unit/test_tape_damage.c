/* SPDX-License-Identifier: MIT */
/* A tape without its end gives what was there; a damaged one is refused, and says where; another's is told apart. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/crc.h"
#include "core/record.h"
#include "tests/support/outside.h"
#include "tests/support/tape_rig.h"
#include "tests/unit/config_base.h"
#include "trace/tape_parts.h"
#include "trace/vcd_writer.h"

static struct tape_rig rig;
static char text[BASE_TEXT_MAX];

static void record(int steps)
{
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_ready(&rig);
	tape_rig_record(&rig);
	tape_rig_walk(&rig, steps, true);
	tape_rig_finish(&rig);
}

/* Where a piece of text begins in the file; it is there. */
static size_t place_of(const char *piece)
{
	const char *found = memmem(rig.bytes, rig.length, piece, strlen(piece));

	assert_non_null(found);
	return (size_t)(found - rig.bytes);
}

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

static void assert_refused_with(char *bytes, size_t length, const char *says)
{
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_int_equal(played->heads, 0);
	assert_non_null(strstr(played->err.text, "x.vcd: "));
	assert_non_null(strstr(played->err.text, "byte "));
	if (!strstr(played->err.text, says))
		fail_msg("\"%s\" does not say \"%s\"", played->err.text, says);
	tape_played_free(played);
}

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

/* The file up to `to`, `more`, and the file from `again` on, in one piece; the caller's. */
static char *spliced(size_t to, const char *more, size_t again, size_t *length)
{
	char *bytes;
	FILE *out = open_memstream(&bytes, length);

	assert_non_null(out);
	(void)fwrite(rig.bytes, 1, to, out);
	(void)fputs(more, out);
	(void)fwrite(rig.bytes + again, 1, rig.length - again, out);
	assert_int_equal(fclose(out), 0);
	return bytes;
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
	{"travel_ms = 1000", "travel_ms = 1001", "not the one it was made with"},
	{"travel_ms = 1000", "travel_ms = much", "none that this program reads"},
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

/* --- another build, another configuration, another program ------------------------------------------------ */

static void take_bytes(char *bytes, size_t length)
{
	free(rig.bytes);
	rig.bytes = bytes;
	rig.length = length;
}

/* The head says another build, and where the core was stands nothing that anybody could read. */
static void become_of_other_build(void)
{
	char head[TD_TAPE_HEAD_TEXT_MAX];
	struct td_tape_opening opening;
	size_t at = place_of("tripdog trace 1");
	size_t end = place_of(" $end\n$comment configuration");
	size_t length;
	char *bytes;

	memcpy(head, rig.bytes + at, end - at);
	head[end - at] = '\0';
	assert_int_equal(td_tape_head_read(head, &opening, NULL), 0);
	(void)snprintf(opening.build, sizeof(opening.build), "0.2.0/1234/0badcafe");
	td_tape_head_text(head, &opening);
	bytes = spliced(at, head, end, &length);
	take_bytes(bytes, length);
	bytes = spliced(place_of("$comment core ") + strlen("$comment "), "xyz",
			place_of(" $end\n$comment record "), &length);
	take_bytes(bytes, length);
}

static void the_core_of_another_build_is_left_alone(void **state)
{
	static struct td_keep expected;

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_ready(&rig);
	tape_rig_walk(&rig, 500, false);
	tape_rig_record(&rig);
	tape_rig_walk(&rig, 10, false);
	tape_rig_finish(&rig);
	td_record_take(&rig.first.core, &rig.config.rules, true, rig.first.core.now_ns, &expected);

	struct tape_played *before = tape_play(rig.bytes, rig.length, NULL);
	assert_true(before->has_core);
	tape_played_free(before);

	become_of_other_build();
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_false(played->has_core);
	assert_int_equal(played->levels, rig.first.levels);
	assert_int_equal(played->outputs, rig.first.outputs);
	assert_int_equal(played->keep.latched, expected.latched);
	assert_int_equal(played->keep.locked, expected.locked);
	assert_int_equal(played->keep.closed, 1);
	for (int axis = 0; axis < 3; axis++) {
		assert_int_equal(played->keep.axis[axis].starts[0], expected.axis[axis].starts[0]);
		assert_true(played->keep.axis[axis].powered_ns[1] == expected.axis[axis].powered_ns[1]);
		assert_true(played->keep.axis[axis].duty.since_ns == expected.axis[axis].duty.since_ns);
	}
	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	tape_played_free(played);
	tape_rig_close(&rig);
}

/* Other bytes for the core or the record, with a sum that is right. */
static void take_image(const char *label, const char *end, const void *bytes, size_t count)
{
	static char image[TD_TAPE_IMAGE_TEXT_MAX(sizeof(struct td_core))];
	char begin[32];
	size_t length;

	(void)snprintf(begin, sizeof(begin), "$comment %s ", label);
	td_tape_image_text(image, sizeof(image), label, bytes, count);
	char *file = spliced(place_of(begin) + strlen("$comment "), image, place_of(end), &length);

	take_bytes(file, length);
}

static void assert_core_refused(const struct td_core *core, size_t count, const char *says)
{
	record(1);
	take_image("core", " $end\n$comment record ", core, count);
	assert_refused_with(rig.bytes, rig.length, says);
	tape_rig_close(&rig);
}

static void a_core_that_cannot_be_is_refused_though_its_sum_is_right(void **state)
{
	static struct td_core core;

	(void)state;
	record(1);
	core = rig.first.core;
	tape_rig_close(&rig);
	core.axis[0].spent_ns[1] = -1;
	assert_core_refused(&core, sizeof(core), "state that cannot be");
	core.axis[0].spent_ns[1] = 0;
	core.now_ns++;
	assert_core_refused(&core, sizeof(core), "state that cannot be");
	core.now_ns--;
	assert_core_refused(&core, sizeof(core) - 8, "another size");
}

/* core/keep.h: magic number and version stand first, the checksum last. */
static void take_record(bool other_version)
{
	uint8_t bytes[TD_KEEP_SIZE] = {0};

	if (other_version) {
		struct td_keep keep;

		td_keep_init(&keep, 0);
		td_keep_take(&keep, rig.head.machine, 0, bytes);
		bytes[4]++;
		uint32_t sum = td_crc32(bytes, TD_KEEP_SIZE - 4);

		for (int i = 0; i < 4; i++)
			bytes[TD_KEEP_SIZE - 4 + i] = (uint8_t)(sum >> 8 * i);
	}
	bytes[0] = other_version ? bytes[0] : 1;
	take_image("record", " $end\n$scope module boom", bytes, sizeof(bytes));
}

static void a_record_that_is_none_is_refused_though_its_sum_is_right(void **state)
{
	(void)state;
	record(1);
	take_record(false);
	assert_refused_with(rig.bytes, rig.length, "record in the recording is damaged");
	tape_rig_close(&rig);
}

static void a_record_of_another_version_matters_only_without_a_core(void **state)
{
	(void)state;
	record(5);
	take_record(true);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_true(played->has_core);
	tape_played_free(played);
	become_of_other_build();
	assert_refused_with(rig.bytes, rig.length, "made by version 9.8.7");
	tape_rig_close(&rig);
}

static void another_configuration_stands_in_if_its_names_are_the_same(void **state)
{
	static struct reading other;

	(void)state;
	record(30);
	read_edited(&other, 19, "travel_ms = 2500");
	assert_true(other.good);
	struct tape_played *played = tape_play(rig.bytes, rig.length, &other.config);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_true(played->config.hash == other.config.hash);
	assert_true(played->head.config_hash == rig.config.hash);
	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	tape_played_free(played);

	other.config = rig.config;
	(void)snprintf(other.config.axis[1].name, TD_NAME_MAX, "wheels");
	played = tape_play(rig.bytes, rig.length, &other.config);
	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_non_null(strstr(played->err.text, "needs the same names"));
	tape_played_free(played);

	other.config = rig.config;
	other.config.axes--;
	played = tape_play(rig.bytes, rig.length, &other.config);
	assert_int_equal(played->result, TD_TAPE_BAD);
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void assert_foreign(const char *bytes, size_t length)
{
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_FOREIGN);
	assert_non_null(strstr(played->err.text, "no recording of tripdogd"));
	assert_int_equal(played->heads, 0);
	tape_played_free(played);
}

static void a_dump_of_another_program_is_told_apart(void **state)
{
	static const char analyser[] = "$comment seen at the switches $end $timescale 1 us $end\n"
				       "$scope module probe $end $var wire 1 ! D0 $end $upscope $end\n"
				       "$enddefinitions $end\n#0\n0!\n#5\n1!\n";
	const struct td_vcd_head head = {NULL, "tripdog-sim 0.1.0", TD_VCD_SCALE_1NS};
	char *bytes;
	size_t length;

	(void)state;
	assert_foreign(analyser, strlen(analyser));

	/* one of ours that is no tape, as the board writes them */
	FILE *out = open_memstream(&bytes, &length);
	struct td_vcd_writer *writer = td_vcd_writer_new(out, &head, NULL);

	assert_int_equal(td_vcd_writer_enter(writer, "boom", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(writer, "raise", 1, td_vcd_number(0), NULL), 0);
	assert_int_equal(td_vcd_writer_begin(writer, 0, NULL), 0);
	assert_int_equal(td_vcd_writer_finish(writer, 5, NULL), 0);
	td_vcd_writer_free(writer);
	(void)fclose(out);
	assert_foreign(bytes, length);
	free(bytes);
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
		cmocka_unit_test(the_core_of_another_build_is_left_alone),
		cmocka_unit_test(a_core_that_cannot_be_is_refused_though_its_sum_is_right),
		cmocka_unit_test(a_record_that_is_none_is_refused_though_its_sum_is_right),
		cmocka_unit_test(a_record_of_another_version_matters_only_without_a_core),
		cmocka_unit_test(another_configuration_stands_in_if_its_names_are_the_same),
		cmocka_unit_test(a_dump_of_another_program_is_told_apart),
		cmocka_unit_test(a_full_disk_is_said),
		cmocka_unit_test(nothing_is_taken_behind_the_end),
		cmocka_unit_test(a_player_that_is_stopped_says_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* Tapes of another build, for another configuration, of another program; cores and records that only look right. */
#include <inttypes.h>
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
#include "tests/unit/tape_file.h"
#include "trace/tape_parts.h"
#include "trace/vcd_writer.h"

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

/* A key may be new in this version, or its default another: no damage, and the hash in the head tells. */
static void settings_that_come_out_as_others_are_no_damage(void **state)
{
	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	rig.head.config_hash++;
	tape_rig_record(&rig);
	tape_rig_walk(&rig, 10, false);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_true(played->has_core);
	assert_true(played->head.config_hash == rig.config.hash + 1);
	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	tape_played_free(played);
	tape_rig_close(&rig);
}

/* Another configuration, with a sum that is right. */
static void a_configuration_that_is_not_read_any_more_is_refused_with_its_fault(void **state)
{
	static const char other[] = "[machine]\nspeed = much\n";
	char comment[128];
	size_t length;

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	tape_rig_finish(&rig);
	(void)snprintf(comment, sizeof(comment), TD_TAPE_CONFIG_LABEL "%08" PRIx32 "\n%s",
		       td_crc32(other, strlen(other)), other);
	char *file = spliced(place_of("$comment configuration ") + strlen("$comment "), comment,
			     place_of(" $end\n$comment core "), &length);

	take_bytes(file, length);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_non_null(strstr(played->err.text, "none that this program reads (configuration:"));
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_core_of_another_build_is_left_alone),
		cmocka_unit_test(settings_that_come_out_as_others_are_no_damage),
		cmocka_unit_test(a_configuration_that_is_not_read_any_more_is_refused_with_its_fault),
		cmocka_unit_test(a_core_that_cannot_be_is_refused_though_its_sum_is_right),
		cmocka_unit_test(a_record_that_is_none_is_refused_though_its_sum_is_right),
		cmocka_unit_test(a_record_of_another_version_matters_only_without_a_core),
		cmocka_unit_test(another_configuration_stands_in_if_its_names_are_the_same),
		cmocka_unit_test(a_dump_of_another_program_is_told_apart),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

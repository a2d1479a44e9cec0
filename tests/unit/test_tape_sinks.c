/* SPDX-License-Identifier: MIT */
/* Who listens to a tape hears what they ask for; tapes that lack a part, and parts that cannot be. */
#include "core/crc.h"
#include "tests/support/outside.h"
#include "tests/unit/tape_file.h"
#include "trace/tape_parts.h"

/* --- who listens to what -------------------------------------------------------------------------------- */

struct heard {
	size_t calls;
	size_t length;
	char text[BASE_TEXT_MAX];
};

static int hear_configuration(void *ctx, const char *bytes, size_t length)
{
	struct heard *heard = ctx;

	heard->calls++;
	heard->length = length;
	assert_int_equal(bytes[length], '\0');
	memcpy(heard->text, bytes, length + 1);
	return 0;
}

static enum td_tape_result play(const char *bytes, size_t length, const struct td_config *config,
				const struct td_tape_sink *sink, struct td_error *err)
{
	struct td_tape_summary summary;
	FILE *in = outside_reader(bytes, length);
	enum td_tape_result result = td_tape_play(in, "x.vcd", config, sink, &summary, err);

	(void)fclose(in);
	return result;
}

static void the_configuration_is_handed_out_as_it_was_given(void **state)
{
	static struct heard heard;
	const struct td_tape_sink sink = {.ctx = &heard, .configuration = hear_configuration};

	(void)state;
	record(3);
	for (int stands_in = 0; stands_in < 2; stands_in++) {
		heard = (struct heard){0};
		assert_int_equal(play(rig.bytes, rig.length, stands_in ? &rig.config : NULL, &sink, NULL),
				 TD_TAPE_READ);
		assert_int_equal(heard.calls, 1);
		assert_int_equal(heard.length, rig.config_length);
		assert_memory_equal(heard.text, rig.config_text, rig.config_length);
	}
	tape_rig_close(&rig);
}

/* The one that stands in does not make a damaged one good. */
static void a_damaged_configuration_is_refused_even_where_another_stands_in(void **state)
{
	static struct heard heard;
	const struct td_tape_sink sink = {.ctx = &heard, .configuration = hear_configuration};
	struct td_error err = {""};
	size_t length;

	(void)state;
	record(1);
	size_t at = place_of("[axis boom]");
	char *bytes = spliced(at, "%4z", at, &length);

	assert_int_equal(play(bytes, length, &rig.config, &sink, &err), TD_TAPE_BAD);
	assert_non_null(strstr(err.text, "configuration in the recording is damaged"));
	assert_int_equal(heard.calls, 0);
	free(bytes);
	tape_rig_close(&rig);
}

/* Its checksum stands before it: eight digits and a line end. */
static void a_configuration_without_its_checksum_is_refused(void **state)
{
	static const char label[] = "$comment configuration ";
	static const char *const sums[] = {"",         "1234567\n",   "1234567x\n",
					   "12345678", "123456789\n", "00000000\n"};

	(void)state;
	record(1);
	size_t at = place_of(label) + strlen(label);

	for (size_t i = 0; i < sizeof(sums) / sizeof(sums[0]); i++) {
		size_t length;
		char *bytes = spliced(at, sums[i], at + 9, &length);

		assert_refused_with(bytes, length, "configuration in the recording is damaged");
		free(bytes);
	}
	tape_rig_close(&rig);
}

static void a_listener_who_asks_for_nothing_hears_nothing(void **state)
{
	const struct td_tape_sink deaf = {0};
	struct td_tape_summary summary;

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	tape_rig_check(&rig);
	rig.number += 5;
	tape_rig_walk(&rig, 50, true);
	tape_rig_finish(&rig);
	FILE *in = outside_reader(rig.bytes, rig.length);

	assert_int_equal(td_tape_play(in, "x.vcd", NULL, &deaf, &summary, NULL), TD_TAPE_READ);
	assert_true(summary.steps >= 50);
	assert_false(summary.cut_off);
	(void)fclose(in);
	tape_rig_close(&rig);
}

static void a_machine_without_switches_comes_back(void **state)
{
	static const char bare[] = "[axis a]\nways = b c\n[way a b]\ninput = l:0\nhold_limit_ms = 500\n"
				   "[way a c]\ninput = l:1\nhold_limit_ms = 500\n";

	(void)state;
	tape_rig_open_text(&rig, bare, strlen(bare), TD_S(5));
	assert_int_equal(rig.config.switches, 0);
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	tape_rig_walk(&rig, 200, true);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_int_equal(played->items.count, rig.made.count);
	for (size_t i = 0; i < played->items.count; i++)
		if (played->items.item[i].entry.kind == TD_ENTRY_STEP)
			assert_int_equal(played->items.item[i].entry.as.step.levels, 0);
	tape_played_free(played);
	tape_rig_close(&rig);
}

/* --- parts that are missing or cannot be ------------------------------------------------------------------ */

static void a_tape_that_lacks_a_part_is_refused(void **state)
{
	static const char *const from[] = {"$comment configuration", "$comment core ", "$comment record "};
	static const char *const to[] = {"$scope module boom", "$enddefinitions"};

	(void)state;
	record(1);
	for (size_t i = 0; i < 3; i++) {
		for (size_t k = 0; k < 2; k++) {
			size_t length;
			char *bytes = spliced(place_of(from[i]), "", place_of(to[k]), &length);

			assert_refused_with(bytes, length, "configuration, core or record are missing");
			free(bytes);
		}
	}
	tape_rig_close(&rig);
}

static void further_comments_are_passed_over(void **state)
{
	size_t length;

	(void)state;
	record(5);
	size_t at = place_of("$scope module boom");
	char *bytes = spliced(at, "$comment seen by the keeper $end\n", at, &length);
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_int_equal(played->items.count, rig.made.count);
	tape_played_free(played);
	free(bytes);
	tape_rig_close(&rig);
}

static void the_record_of_another_machine_is_refused(void **state)
{
	uint8_t bytes[TD_KEEP_SIZE];
	char image[TD_TAPE_IMAGE_TEXT_MAX(TD_KEEP_SIZE)];
	struct td_keep keep;
	size_t length;

	(void)state;
	record(1);
	td_keep_init(&keep, 0);
	td_keep_take(&keep, rig.head.machine + 1, 0, bytes);
	td_tape_image_text(image, sizeof(image), "record", bytes, sizeof(bytes));
	char *file = spliced(place_of("$comment record ") + strlen("$comment "), image,
			     place_of(" $end\n$scope module boom"), &length);

	assert_refused_with(file, length, "record in the recording is damaged");
	free(file);
	tape_rig_close(&rig);
}

static void signals_of_another_kind_are_refused(void **state)
{
	static const char level[] = "$var wire 1 ! lower $end";
	size_t length;

	(void)state;
	record(1);
	size_t at = place_of(level);
	char *bytes = spliced(at, "$var event 1 ! lower $end", at + strlen(level), &length);

	assert_refused_with(bytes, length, "there is a signal boom.lower of 1 bits");
	free(bytes);
	tape_rig_close(&rig);
}

/* An item of the machine that is always known, unlike a client that came. */
static void an_event_that_is_unknown_is_refused(void **state)
{
	char code[TD_VCD_CODE_MAX];
	char more[64];
	size_t length;

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	assert_int_equal(fflush(rig.out), 0);
	td_vcd_code(td_tape_item(&rig.config, TD_TAPE_KIND), code);
	(void)snprintf(more, sizeof(more), "#9999999999\nbx %s\n", code);
	char *bytes = spliced(rig.length, more, rig.length, &length);
	struct tape_played *played = tape_play(bytes, length, NULL);

	assert_int_equal(played->result, TD_TAPE_BAD);
	assert_non_null(strstr(played->err.text, "always known is unknown"));
	tape_played_free(played);
	free(bytes);
	tape_rig_close(&rig);
}

/* --- heads and texts -------------------------------------------------------------------------------------- */

/* Puts `new` for `old` in a head and makes its sum right again. */
static void alter_head(char head[TD_TAPE_HEAD_TEXT_MAX], const char *old, const char *new)
{
	char rest[TD_TAPE_HEAD_TEXT_MAX];
	char *at = strstr(head, old);

	assert_non_null(at);
	(void)snprintf(rest, sizeof(rest), "%s", at + strlen(old));
	(void)snprintf(at, (size_t)(head + TD_TAPE_HEAD_TEXT_MAX - at), "%s%s", new, rest);
	char *sum = strstr(head, "\nsum ") + 1;

	(void)snprintf(sum, 16, "sum %08x\n", td_crc32(head, (size_t)(sum - head)));
}

static void a_head_whose_numbers_are_none_is_refused_though_its_sum_is_right(void **state)
{
	static const char *const rows[][2] = {
		{"begin_ns 77\n", "begin_ns 9223372036854775807\n"},
		{"begin_ns 77\n", "begin_ns 77x\n"},
		{"begin_ns 77\n", "begin_ns -77\n"},
		{"begin_ns 77\n", "begin_ns 77 \n"},
		{"levels 00000005\n", "levels 100000005\n"},
		{"levels 00000005\n", "level 00000005\n"},
		{"kind run\n", "kind %4z\n"},
	};
	const struct td_tape_opening opening = {.head = {.kind = "run", .begin_ns = 77}, .levels = 5};
	struct td_tape_opening back;
	char head[TD_TAPE_HEAD_TEXT_MAX];

	(void)state;
	td_tape_head_text(head, &opening);
	alter_head(head, "kind run\n", "kind trip\n");
	assert_int_equal(td_tape_head_read(head, &back, NULL), 0);
	assert_string_equal(back.head.kind, "trip");
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		td_tape_head_text(head, &opening);
		alter_head(head, rows[i][0], rows[i][1]);
		if (td_tape_head_read(head, &back, NULL) != -1)
			fail_msg("%s", rows[i][1]);
	}
}

static void texts_too_long_are_cut_and_none_that_is_broken_is_read(void **state)
{
	static const char *const broken[] = {"%", "%4", "%z4", "%4z", "%4", "a%"};
	char out[8];

	(void)state;
	assert_int_equal(td_tape_escape(out, sizeof(out), "aaaaaaaaaaaa", 12, false), 5);
	assert_string_equal(out, "aaaaa");
	for (size_t i = 0; i < sizeof(broken) / sizeof(broken[0]); i++)
		assert_int_equal(td_tape_unescape(out, sizeof(out), broken[i], broken[i] + strlen(broken[i])),
				 -1);
}

/* --- entries of a core that cannot be --------------------------------------------------------------------- */

static void rules_of_more_axes_than_there_are_lead_nowhere_else(void **state)
{
	struct td_result result = {0};
	struct td_event event = {0};
	struct td_entry entry;

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	rig.config.rules.axes = 255;
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		rig.core.axis[axis].state = TD_AXIS_RUN;
		rig.core.axis[axis].way = axis == 3 ? 9 : 1;
	}
	td_entry_of_step(&entry, &rig.core, &rig.config.rules, &event, &result, 0);
	assert_int_equal(entry.as.step.asked, 0xaaaaaa2a); /* all but axis 3, whose way does not exist */
	assert_int_equal(entry.as.step.state[TD_AXES_MAX - 1], TD_AXIS_RUN);
	rig.config.rules.axes = TD_AXES_MAX;
	uint32_t check = td_tape_check_of(&rig.core, &rig.config.rules);

	rig.config.rules.axes = 255;
	assert_int_equal(td_tape_check_of(&rig.core, &rig.config.rules), check);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_configuration_is_handed_out_as_it_was_given),
		cmocka_unit_test(a_damaged_configuration_is_refused_even_where_another_stands_in),
		cmocka_unit_test(a_configuration_without_its_checksum_is_refused),
		cmocka_unit_test(a_listener_who_asks_for_nothing_hears_nothing),
		cmocka_unit_test(a_machine_without_switches_comes_back),
		cmocka_unit_test(a_tape_that_lacks_a_part_is_refused),
		cmocka_unit_test(further_comments_are_passed_over),
		cmocka_unit_test(the_record_of_another_machine_is_refused),
		cmocka_unit_test(signals_of_another_kind_are_refused),
		cmocka_unit_test(an_event_that_is_unknown_is_refused),
		cmocka_unit_test(a_head_whose_numbers_are_none_is_refused_though_its_sum_is_right),
		cmocka_unit_test(texts_too_long_are_cut_and_none_that_is_broken_is_read),
		cmocka_unit_test(rules_of_more_axes_than_there_are_lead_nowhere_else),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

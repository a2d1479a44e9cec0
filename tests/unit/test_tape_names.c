/* SPDX-License-Identifier: MIT */
/* What a configuration can hold does not keep a tape from being written, nor from being read. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "config/key_table.h"
#include "tests/support/tape_rig.h"
#include "tests/unit/config_base.h"
#include "trace/vcd.h"

static struct tape_rig rig;
static char text[BASE_TEXT_MAX];

/* Records a short walk on the configuration in `text` and compares what comes back. */
static void assert_comes_back(size_t length)
{
	tape_rig_open_text(&rig, text, length, TD_S(5));
	tape_rig_record(&rig);
	tape_rig_ready(&rig);
	tape_rig_walk(&rig, 50, false);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	if (played->result != TD_TAPE_READ)
		fail_msg("%s", played->err.text);
	assert_string_equal(played->config.machine, rig.config.machine);
	assert_true(played->config.hash == rig.config.hash);
	tape_assert_prefix(&rig.made, &played->items, rig.made.count);
	assert_int_equal(rig.made.count, played->items.count);
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void a_machine_may_be_called_what_ends_a_comment(void **state)
{
	static const char *const names[] = {
		"name = $end",   "name = 100 % $end of the bench", "name = $enddefinitions $end",
		"name = %25%24", "name = caf\xc3\xa9 50%",
	};

	(void)state;
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++)
		assert_comes_back(base_with((struct edit[]){{2, names[i]}}, 1, text));
}

static void a_configuration_of_the_greatest_length_fits(void **state)
{
	size_t length;

	(void)state;
	length = base_with(NULL, 0, text);
	/* comments of the bytes that take the most room */
	while (length + TD_CONFIG_LINE_MAX + 1 < TD_CONFIG_FILE_MAX) {
		text[length] = '#';
		memset(text + length + 1, '%', TD_CONFIG_LINE_MAX - 1U);
		text[length + TD_CONFIG_LINE_MAX] = '\n';
		length += TD_CONFIG_LINE_MAX + 1;
	}
	assert_true(length > TD_CONFIG_FILE_MAX - 200);
	assert_comes_back(length);
}

static size_t add(size_t used, const char *format, ...) __attribute__((format(printf, 2, 3)));

static size_t add(size_t used, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	int length = vsnprintf(text + used, sizeof(text) - used, format, args);
	va_end(args);
	assert_true(length > 0 && used + (size_t)length < sizeof(text));
	return used + (size_t)length;
}

/* An axis with an end switch for each way, and its switches. */
struct names {
	const char *axis;
	const char *way[TD_WAYS];
	const char *end[TD_WAYS];
};

static size_t add_axis(size_t used, const struct names *names, int line)
{
	used = add(used, "[axis %s]\nways = %s %s\n", names->axis, names->way[0], names->way[1]);
	for (int way = 0; way < TD_WAYS; way++) {
		used = add(used, "[way %s %s]\ninput = cart:%d\ntravel_ms = 1000\nend_switch = %s\n",
			   names->axis, names->way[way], line + way, names->end[way]);
		used = add(used, "[switch %s]\nline = cart:%d\n", names->end[way], 100 + line + way);
	}
	return used;
}

static size_t add_machine(void)
{
	return add(0, "[machine]\nname = x\nbackend = bench\nboard = board.sock\n[keeper]\nsocket = "
		      "k\n[visitor]\nsocket = v\n");
}

static void the_largest_machine_with_the_longest_names_fits(void **state)
{
	size_t used = add_machine();
	char name[5][TD_NAME_MAX];

	(void)state;
	for (int axis = 0; axis < TD_AXES_MAX; axis++) {
		static const char *const kinds[] = {"axis-", "way-a-", "way-b-", "end-a-", "end-b-"};

		for (int i = 0; i < 5; i++) {
			memset(name[i], 'x', TD_NAME_MAX - 1);
			name[i][TD_NAME_MAX - 1] = '\0';
			memcpy(name[i], kinds[i], strlen(kinds[i]));
			name[i][TD_NAME_MAX - 2] = (char)('a' + axis);
		}
		assert_int_equal(strlen(name[4]), TD_NAME_MAX - 1);
		used = add_axis(used, &(struct names){name[0], {name[1], name[2]}, {name[3], name[4]}},
				2 * axis);
	}
	assert_comes_back(used);
}

/* Names of our own signals and scopes, and names that look alike once something stands before them. */
static void names_that_signals_have_too_are_kept_apart(void **state)
{
	size_t used = add_machine();

	(void)state;
	used = add_axis(used, &(struct names){"event", {"kind", "ask_kind"}, {"a", "active_a"}}, 0);
	used = add_axis(used, &(struct names){"clients", {"state", "cause"}, {"b", "c"}}, 2);
	used = add_axis(used, &(struct names){"machine", {"armed", "latched"}, {"machine", "d"}}, 4);
	used = add_axis(used, &(struct names){"switches", {"active_a", "a"}, {"e", "f"}}, 6);
	assert_comes_back(used);
}

static void texts_of_the_head_may_be_any_bytes(void **state)
{
	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	memcpy(rig.head.kind, "a $end\n\x01\x7f%", 11);
	memset(rig.head.version, '$', sizeof(rig.head.version)); /* without its end */
	memset(rig.head.wall, '\n', sizeof(rig.head.wall) - 1);
	tape_rig_record(&rig);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_string_equal(played->head.kind, rig.head.kind);
	assert_int_equal(strlen(played->head.version), sizeof(rig.head.version) - 1);
	assert_string_equal(played->head.wall, rig.head.wall);
	tape_played_free(played);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_machine_may_be_called_what_ends_a_comment),
		cmocka_unit_test(a_configuration_of_the_greatest_length_fits),
		cmocka_unit_test(the_largest_machine_with_the_longest_names_fits),
		cmocka_unit_test(names_that_signals_have_too_are_kept_apart),
		cmocka_unit_test(texts_of_the_head_may_be_any_bytes),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* What makes no difference in a file, and what the hash notices. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config/hash.h"
#include "config_base.h"

static struct reading reading;
static struct reading other;
static char text[BASE_TEXT_MAX];

static void expect_good(const struct reading *which)
{
	print_faults(which);
	assert_int_equal(which->faults.count, 0);
	assert_true(which->good);
}

static void read_base(void)
{
	read_text(&reading, text, base_with(NULL, 0, text));
	expect_good(&reading);
}

/* The line numbers in the places are no setting. */
static void forget_lines(struct td_config *config)
{
	for (size_t axis = 0; axis < TD_AXES_MAX; axis++)
		for (size_t way = 0; way < TD_WAYS; way++)
			config->axis[axis].input[way].file_line = 0;
	for (size_t sw = 0; sw < TD_SWITCHES_MAX; sw++)
		config->sw[sw].place.file_line = 0;
}

/* `reading` (the base) and `other` say the same, hash and all. */
static void expect_same(void)
{
	expect_good(&other);
	forget_lines(&reading.config);
	forget_lines(&other.config);
	assert_memory_equal(&reading.config, &other.config, sizeof(reading.config));
}

/* --- what makes no difference ----------------------------------------------------------------- */

static void byte_order_mark_at_the_start(void **state)
{
	(void)state;
	read_base();
	read_edited(&other, 1, "\357\273\277[machine]");
	expect_same();
}

static void lines_that_end_with_cr_lf(void **state)
{
	static char crlf[2 * BASE_TEXT_MAX];
	size_t length = 0;

	(void)state;
	read_base();
	for (size_t i = 0; text[i]; i++) {
		if (text[i] == '\n')
			crlf[length++] = '\r';
		crlf[length++] = text[i];
	}
	read_text(&other, crlf, length);
	expect_same();
}

static void no_line_end_at_the_end(void **state)
{
	(void)state;
	read_base();
	read_text(&other, text, strlen(text) - 1);
	expect_same();
}

static void blanks_comments_and_indentation(void **state)
{
	(void)state;
	read_base();
	read_edited(
		&other, 21,
		"# of the wheel\n\n  ; and more\n\t ways\t=   left \t right   ; both \n   dead_time_ms:250");
	expect_same();
}

static void comment_behind_a_heading(void **state)
{
	(void)state;
	read_base();
	read_edited(&other, 20, "  [ axis   wheel ]  ; steers");
	expect_same();
}

static void default_written_out(void **state)
{
	(void)state;
	read_base();
	read_edited(&other, 39, "line = cart:11\ncontact = normally-closed\nconfirm_ms = 2");
	expect_same();
}

static void order_of_keys_and_of_unnumbered_sections(void **state)
{
	static const struct edit edits[] = {
		{6, "[visitor]"}, {7, "socket = visitor.sock"}, {8, "[keeper]"}, {9, "socket = keeper.sock"}};

	(void)state;
	read_base();
	read_text(&other, text, base_with(edits, 4, text));
	expect_same();
}

static void way_section_before_its_axis(void **state)
{
	static const struct edit edits[] = {
		{10, "[way lamp-arm out]\nhold_limit_ms = 500\ninput = cart:5\n[axis boom]"},
		{33, ""},
		{34, ""},
		{35, ""}};

	(void)state;
	read_base();
	read_text(&other, text, base_with(edits, 4, text));
	expect_same();
}

/* --- the hash --------------------------------------------------------------------------------- */

/* The published test vectors of FNV-1a, 64 bits (from memory; the algorithm's authors' list). */
static void hash_is_fnv_1a(void **state)
{
	(void)state;
	assert_true(td_hash_bytes(TD_HASH_START, "", 0) == UINT64_C(0xcbf29ce484222325));
	assert_true(td_hash_bytes(TD_HASH_START, "a", 1) == UINT64_C(0xaf63dc4c8601ec8c));
	assert_true(td_hash_bytes(TD_HASH_START, "foobar", 6) == UINT64_C(0x85944171f73967e8));
}

static void hash_notices_every_changed_line(void **state)
{
	/* one changed setting for each line that is a value; none of them is a fault */
	static const struct edit changes[] = {
		{2, "name = cart"},
		{4, "board = b.sock"},
		{7, "socket = k.sock"},
		{7, "socket = keeper.sock\nmode = 0660"},
		{9, "socket = v.sock"},
		{13, "input = cart:9"},
		{15, "travel_ms = 1001"},
		{24, "hold_limit_ms = 501"},
		{24, "hold_limit_ms = 500\nbars = moving boom"},
		{41, "line = cart:12"},
		{41, "line = HALT_CONTACT\npull = down"},
	};
	uint64_t seen[sizeof(changes) / sizeof(changes[0])] = {0};

	(void)state;
	read_base();
	for (size_t i = 0; i < sizeof(changes) / sizeof(changes[0]); i++) {
		read_edited(&other, changes[i].line, changes[i].text);
		expect_good(&other);
		assert_true(other.config.hash != reading.config.hash);
		for (size_t former = 0; former < i; former++)
			assert_true(other.config.hash != seen[former]);
		seen[i] = other.config.hash;
	}
}

static void hash_notices_the_order_of_axes(void **state)
{
	static const struct edit edits[] = {{20, ""},
					    {21, ""},
					    {28, "[axis lamp-arm]"},
					    {29, "ways = in out\n[axis wheel]\nways = left right"}};

	(void)state;
	read_base();
	read_text(&other, text, base_with(edits, 4, text));
	expect_good(&other);
	assert_true(other.config.hash != reading.config.hash);
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test(byte_order_mark_at_the_start),
		cmocka_unit_test(lines_that_end_with_cr_lf),
		cmocka_unit_test(no_line_end_at_the_end),
		cmocka_unit_test(blanks_comments_and_indentation),
		cmocka_unit_test(comment_behind_a_heading),
		cmocka_unit_test(default_written_out),
		cmocka_unit_test(order_of_keys_and_of_unnumbered_sections),
		cmocka_unit_test(way_section_before_its_axis),
		cmocka_unit_test(hash_is_fnv_1a),
		cmocka_unit_test(hash_notices_every_changed_line),
		cmocka_unit_test(hash_notices_the_order_of_axes),
	};

	return cmocka_run_group_tests_name("config_same", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* The bytes of a core in a tape: as text and back; and which of them a core may go on from. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/tape_rig.h"
#include "trace/tape_parts.h"

static struct tape_rig rig;

/* --- bytes as text --------------------------------------------------------------------------------------- */

static void bytes_of_any_length_come_back(void **state)
{
	static const size_t lengths[] = {1, 31, 32, 33, 64, 1000, sizeof(struct td_core)};
	static uint8_t bytes[sizeof(struct td_core)];
	static uint8_t back[sizeof(struct td_core)];
	static char text[TD_TAPE_IMAGE_TEXT_MAX(sizeof(struct td_core))];
	struct dice dice = dice_start(32);

	(void)state;
	for (size_t i = 0; i < sizeof(lengths) / sizeof(lengths[0]); i++) {
		for (int round = 0; round < 20; round++) {
			size_t length = lengths[i];
			size_t count = 0;

			dice_rubbish(&dice, bytes, length);
			/* stretches of zeros of all lengths */
			size_t from = dice_below(&dice, length);

			memset(bytes + from, 0,
			       round == 0 ? length - from : dice_below(&dice, length - from + 1));
			if (round == 1)
				memset(bytes, 0, length);
			td_tape_image_text(text, sizeof(text), "core", bytes, length);
			assert_int_equal(td_tape_image_read(text, "core", back, sizeof(back), &count, NULL),
					 0);
			assert_int_equal(count, length);
			assert_memory_equal(bytes, back, length);
		}
	}
}

/* The sum is that of the CRC-32 that gzip has; 0x190a55ad is that of 32 bytes 0 (zlib's crc32, run by hand). */
static void a_text_is_as_the_format_says(void **state)
{
	char text[TD_TAPE_IMAGE_TEXT_MAX(64)];
	uint8_t bytes[40] = {0};

	(void)state;
	td_tape_image_text(text, sizeof(text), "core", bytes, 32);
	assert_string_equal(text, "core 32 190a55ad");
	bytes[33] = 0xa5;
	td_tape_image_text(text, sizeof(text), "record", bytes, 34);
	assert_non_null(strstr(text, "record 34 "));
	assert_non_null(strstr(text, "\n32 00a5"));
	assert_null(strstr(text, "\n0 "));
}

#define ZEROS "0000000000000000000000000000000000000000000000000000000000000000"

static const char with_blank[] = "core 32 190a55ad\n0 " ZEROS " ";
static const char twice[] = "core 32 190a55ad\n0 " ZEROS "\n0 " ZEROS;

static void text_that_is_none_is_refused(void **state)
{
	static const char *const bad[] = {
		"",
		"core",
		"core ",
		"core x",
		"core 0 00000000",
		"core 33 190a55ad",
		"core 32",
		"core 32 ",
		"core 32 190a55ae",
		"core 32 190a55ad\n",
		"core 32 190a55ad\n0",
		"core 32 190a55ad\n0 ",
		"core 32 190a55ad\n0 00",
		"core 32 190a55ad\n1 00",
		"core 32 190a55ad\n32 00",
		"core 32 190a55ad x",
		"core 18446744073709551616 190a55ad",
		"core -1 190a55ad",
		"cart 32 190a55ad",
		with_blank,
		twice,
	};
	uint8_t bytes[32];

	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_error err = {""};
		size_t count;
		char *copy = strdup(bad[i]);

		if (td_tape_image_read(copy, "core", bytes, sizeof(bytes), &count, &err) != -1)
			fail_msg("\"%s\" was read", bad[i]);
		assert_string_not_equal(err.text, "");
		assert_int_equal(count, 0);
		free(copy);
	}
}

static void any_bytes_can_stand_in_a_comment(void **state)
{
	char bytes[256];
	char back[257];
	char text[3 * 256 + 1];

	(void)state;
	for (int i = 0; i < 256; i++)
		bytes[i] = (char)i;
	for (int lines = 0; lines < 2; lines++) {
		size_t length = td_tape_escape(text, sizeof(text), bytes, sizeof(bytes), lines);

		assert_null(memchr(text, '$', length));
		assert_null(memchr(text, '\0', length));
		assert_int_equal(memchr(text, '\n', length) != NULL, lines);
		assert_int_equal(td_tape_unescape(back, sizeof(back), text, text + length), 256);
		assert_memory_equal(back, bytes, 256);
		assert_int_equal(td_tape_unescape(back, 256, text, text + length), -1);
	}
	assert_int_equal(td_tape_unescape(back, 256, "%", text), -1);
	assert_int_equal(td_tape_unescape(back, 0, text, text), -1);
}

/* --- which states may go on ------------------------------------------------------------------------------ */

static void every_state_that_a_core_comes_to_may_go_on(void **state)
{
	(void)state;
	tape_rig_open(&rig, "docs/examples/glasshouse.conf", 0);
	for (int i = 0; i < 20000; i++) {
		assert_true(td_tape_core_sane(&rig.core));
		tape_rig_walk(&rig, 1, true);
	}
	tape_rig_close(&rig);
}

#define PLACE(member, byte)                                                                                  \
	{                                                                                                    \
#member, offsetof(struct td_core, member) + (byte)                                           \
	}
#define TOP(member) PLACE(member, sizeof(((struct td_core *)0)->member) - 1)

/* Bytes that must not be 0xff, each of another field. The top byte of a time makes it negative (little-endian). */
static const struct place {
	const char *name;
	size_t offset;
} places[] = {
	TOP(now_ns),
	PLACE(armed, 0),
	PLACE(levels_known, 0),
	PLACE(latch, 0),
	PLACE(resets.next, 0),
	PLACE(sw[0].raw, 0),
	PLACE(sw[31].active, 0),
	PLACE(chatter[3].next, 0),
	PLACE(chatter[3].count, 0),
	PLACE(chatter[31].marked, 0),
	PLACE(axis[0].state, 1),
	PLACE(axis[15].trip, 0),
	PLACE(axis[1].last_way, 0),
	PLACE(axis[1].located, 0),
	TOP(axis[2].since_ns),
	TOP(axis[2].cut_ns),
	TOP(axis[2].spent_ns[0]),
	TOP(axis[2].spent_ns[1]),
	PLACE(axis[3].unwritten, 0),
	PLACE(duty[3].powered, 0),
	PLACE(duty[3].hot, 0),
	PLACE(duty[3].budget[2].newest, 0),
	PLACE(supply.axis[4].state, 0),
	PLACE(supply.axis[4].reversal, 0),
	PLACE(wear[5].running, 0),
	TOP(wear[5].powered_ns[1]),
	PLACE(pace[6].from_end, 0),
	PLACE(pace[6].trend[1].learned, 0),
};

static void a_state_that_cannot_be_may_not(void **state)
{
	static struct td_core core;

	(void)state;
	tape_rig_open(&rig, "docs/examples/glasshouse.conf", TD_S(10));
	tape_rig_ready(&rig);
	for (size_t i = 0; i < sizeof(places) / sizeof(places[0]); i++) {
		core = rig.core;
		((uint8_t *)&core)[places[i].offset] = 0xfe;
		if (td_tape_core_sane(&core))
			fail_msg("%s may be 0xfe", places[i].name);
	}
	core = rig.core;
	core.axis[1].way = 0; /* held by nobody */
	assert_false(td_tape_core_sane(&core));
	core = rig.core;
	core.levels_known = false; /* armed all the same */
	assert_false(td_tape_core_sane(&core));
	core = rig.core;
	core.now_ns = TD_NEVER;
	assert_false(td_tape_core_sane(&core));
	tape_rig_close(&rig);
}

/* Whatever bytes pass for a state: a core goes on from them without harm (the sanitizers look). */
static void a_core_goes_on_from_whatever_passes(void **state)
{
	static struct td_core core;
	static struct td_result result;
	int passed = 0;

	(void)state;
	tape_rig_open(&rig, "docs/examples/glasshouse.conf", TD_S(10));
	tape_rig_ready(&rig);
	tape_rig_walk(&rig, 300, false);
	for (int i = 0; i < 20000; i++) {
		core = rig.core;
		for (uint64_t n = dice_below(&rig.dice, 4); n < 4; n++)
			((uint8_t *)&core)[dice_below(&rig.dice, sizeof(core))] =
				(uint8_t)dice_bits(&rig.dice);
		if (!td_tape_core_sane(&core))
			continue;
		passed++;
		for (int k = 0; k < 4; k++) {
			const struct td_event event = {
				.kind = (enum td_event_kind)dice_below(&rig.dice, TD_EVENT_KINDS),
				.at_ns = core.now_ns + dice_span(&rig.dice, 1, TD_S(100)),
				.axis = (uint8_t)dice_below(&rig.dice, 4),
				.way = (uint8_t)dice_below(&rig.dice, 2),
				.role = 1,
				.session = 1,
				.hold = UINT32_MAX,
				.lease_ns = TD_MS(300),
				.levels = (uint32_t)dice_bits(&rig.dice)};

			td_core_step(&core, &rig.config.rules, &event, &result);
		}
		(void)td_tape_check_of(&core, &rig.config.rules);
	}
	assert_true(passed > 1000);
	print_message("# measured: %d of 20000 altered states passed\n", passed);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(bytes_of_any_length_come_back),
		cmocka_unit_test(a_text_is_as_the_format_says),
		cmocka_unit_test(text_that_is_none_is_refused),
		cmocka_unit_test(any_bytes_can_stand_in_a_comment),
		cmocka_unit_test(every_state_that_a_core_comes_to_may_go_on),
		cmocka_unit_test(a_state_that_cannot_be_may_not),
		cmocka_unit_test(a_core_goes_on_from_whatever_passes),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

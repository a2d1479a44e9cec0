/* SPDX-License-Identifier: MIT */
/* The record of what must survive: what goes in comes out, and whatever is damaged reads as the worst. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/crc.h"
#include "core/keep.h"
#include "tests/support/dice.h"

#define MACHINE UINT32_C(0x12345678)

static struct td_keep kept, restored, unknown;
static uint8_t record[TD_KEEP_SIZE];

static struct td_duty_rules duty_rules(void)
{
	return (struct td_duty_rules){.inf_ppm = 3000000,
				      .tau_on_ns = TD_S(600),
				      .tau_off_ns = TD_S(1200),
				      .restart_ppm = 500000,
				      .least_ns = TD_S(1),
				      .allowed_ns = {TD_S(60), TD_S(150), TD_S(7200)}};
}

/* A machine with a past: every field of every axis has a number of its own. Ends resting at the time given. */
static void live(struct td_keep *keep, td_ns now_ns)
{
	const struct td_duty_rules rules = duty_rules();
	const struct td_trend_rules trend_rules = {200000, 100000, 3};

	td_keep_init(keep, 0);
	keep->locked = 0x5;
	keep->twist = (struct td_twist){.net_fturn = -123456789012345,
					.gross_fturn = 987654321098765,
					.unsure_fturn = 1000001,
					.silent_fturn = 2000002,
					.counts = -77,
					.slips = 3,
					.contacts = 2};
	for (int i = 0; i < TD_AXES_MAX; i++) {
		struct td_keep_axis *axis = &keep->axis[i];

		for (int run = 0; run <= i; run++) {
			td_duty_power(&axis->duty, &rules, true, now_ns - TD_S(7 * (i - run) + 6));
			td_duty_power(&axis->duty, &rules, false, now_ns - TD_S(7 * (i - run)) - TD_MS(i));
		}
		for (int way = 0; way < TD_WAYS; way++) {
			axis->powered_ns[way] = TD_S(3600) * (2 * i + way + 1);
			axis->starts[way] = (uint32_t)(1000 * i + way);
			for (int travel = 0; travel < i + way; travel++)
				(void)td_trend_travel(&axis->trend[way], &trend_rules, TD_MS(2000 + 10 * i));
		}
	}
}

static void check_unknown(const struct td_keep *keep, td_ns now_ns)
{
	td_keep_init_unknown(&unknown, now_ns);
	assert_memory_equal(keep, &unknown, sizeof(unknown));
}

static enum td_keep_verdict restore(const uint8_t *bytes, size_t count)
{
	memset(&restored, 0x5a, sizeof(restored));
	return td_keep_restore(&restored, bytes, count, MACHINE, TD_S(20), 0);
}

/* --- the round trip -------------------------------------------------------------------------------- */

static void what_is_kept_comes_back(void **state)
{
	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	assert_int_equal(restored.latched, 0);
	assert_int_equal(restored.locked, 0x5);
	assert_true(restored.twist.net_fturn == kept.twist.net_fturn);
	assert_true(restored.twist.gross_fturn == kept.twist.gross_fturn);
	assert_true(restored.twist.unsure_fturn == kept.twist.unsure_fturn);
	assert_true(restored.twist.silent_fturn == kept.twist.silent_fturn);
	assert_true(restored.twist.counts == kept.twist.counts);
	assert_int_equal(restored.twist.slips, kept.twist.slips);
	assert_true(restored.twist.contacts > 3); /* the sensor is read anew */
	for (int i = 0; i < TD_AXES_MAX; i++) {
		const struct td_keep_axis *before = &kept.axis[i];
		struct td_keep_axis after = restored.axis[i];

		td_duty_shift(&after.duty, TD_S(10000) - TD_S(20));
		assert_memory_equal(&after.duty, &before->duty, sizeof(after.duty));
		for (int way = 0; way < TD_WAYS; way++) {
			assert_true(after.powered_ns[way] == before->powered_ns[way]);
			assert_int_equal(after.starts[way], before->starts[way]);
			assert_memory_equal(&after.trend[way], &before->trend[way], sizeof(struct td_trend));
		}
	}
}

static void a_record_taken_again_is_the_same(void **state)
{
	static uint8_t again[TD_KEEP_SIZE];

	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	td_keep_take(&restored, MACHINE, TD_S(20), again);
	assert_memory_equal(again, record, sizeof(record));
}

static void R10_the_latched_stop_survives(void **state)
{
	(void)state;
	for (uint8_t latched = 0; latched < 3; latched++) {
		td_keep_init(&kept, 0);
		kept.latched = latched;
		td_keep_take(&kept, MACHINE, TD_S(1), record);
		assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
		assert_int_equal(restored.latched, latched != 0);
	}
}

/* Power loss does not make a warm motor cold, nor a spent budget new. */
static void R12_heat_and_budgets_survive_a_restart(void **state)
{
	const struct td_duty_rules rules = duty_rules();
	struct td_duty *duty = &kept.axis[2].duty;

	(void)state;
	td_keep_init(&kept, 0);
	td_duty_power(duty, &rules, true, TD_S(5000));
	td_duty_power(duty, &rules, false, TD_S(5055));
	td_keep_take(&kept, MACHINE, TD_S(5060), record);
	struct td_duty_verdict before = td_duty_may_start(duty, &rules, TD_S(5060));

	assert_int_equal(before.limit, TD_DUTY_FREE);
	td_duty_power(duty, &rules, true, TD_S(5060));
	td_duty_power(duty, &rules, false, TD_S(5155));
	td_keep_take(&kept, MACHINE, TD_S(5155), record);
	before = td_duty_may_start(duty, &rules, TD_S(5155));
	assert_int_equal(before.limit, TD_DUTY_TEN_MINUTES);
	/* the clock begins anew, and how long the power was off is not known */
	assert_int_equal(td_keep_restore(&restored, record, sizeof(record), MACHINE, TD_S(3), 0), TD_KEEP_OK);
	struct td_duty_verdict after = td_duty_may_start(&restored.axis[2].duty, &rules, TD_S(3));

	assert_int_equal(after.limit, TD_DUTY_TEN_MINUTES);
	assert_true(after.at_ns - TD_S(3) == before.at_ns - TD_S(5155));
	assert_true(td_duty_theta(&restored.axis[2].duty, &rules, TD_S(3)) ==
		    td_duty_theta(duty, &rules, TD_S(5155)));
	/* it is known: an hour */
	assert_int_equal(td_keep_restore(&restored, record, sizeof(record), MACHINE, TD_S(3), TD_S(3600)),
			 TD_KEEP_OK);
	assert_int_equal(td_duty_may_start(&restored.axis[2].duty, &rules, TD_S(3)).limit, TD_DUTY_FREE);
	assert_true(td_duty_theta(&restored.axis[2].duty, &rules, TD_S(3)) ==
		    td_duty_theta(duty, &rules, TD_S(5155 + 3600)));
}

static void R12_an_axis_that_is_still_powered_is_kept_as_unknown(void **state)
{
	const struct td_duty_rules rules = duty_rules();

	(void)state;
	td_keep_init(&kept, 0);
	td_duty_power(&kept.axis[1].duty, &rules, true, TD_S(1));
	td_keep_take(&kept, MACHINE, TD_S(2), record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	assert_int_equal(restored.axis[1].duty.hot, 1);
	assert_int_equal(restored.axis[0].duty.hot, 0);
	assert_int_equal(restored.axis[1].duty.powered, 0);
}

/* Rests since the future: the clock that said so was another one. And a clock below 0 is none. */
static void R12_a_rest_that_begins_later_is_kept_as_unknown(void **state)
{
	(void)state;
	td_keep_init(&kept, TD_S(2));
	td_keep_take(&kept, MACHINE, TD_S(2), record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	assert_int_equal(restored.axis[0].duty.hot, 0);
	td_keep_take(&kept, MACHINE, TD_S(2) - 1, record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	assert_int_equal(restored.axis[0].duty.hot, 1);
	assert_true(restored.axis[0].duty.since_ns == TD_S(20));
	td_keep_init(&kept, 0);
	td_keep_take(&kept, MACHINE, -TD_S(1), record);
	assert_int_equal(td_keep_restore(&restored, record, sizeof(record), MACHINE, -TD_S(1), -TD_S(1)),
			 TD_KEEP_OK);
	assert_int_equal(restored.axis[TD_AXES_MAX - 1].duty.hot, 0);
	assert_true(restored.axis[TD_AXES_MAX - 1].duty.since_ns == 0);
}

/* --- damage ---------------------------------------------------------------------------------------- */

/* Every single bit of the record: none may be read as another machine state. A run cut short (TD_STEPS) takes some. */
static void R10_every_flipped_bit_reads_as_the_worst(void **state)
{
	size_t stride = getenv("TD_STEPS") != NULL ? 331 : 1;
	size_t flipped = 0;

	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	for (size_t bit = 0; bit < 8 * sizeof(record); bit += stride, flipped++) {
		record[bit / 8] ^= (uint8_t)(1U << bit % 8);
		restored.latched = 0;
		assert_int_equal(td_keep_restore(&restored, record, sizeof(record), MACHINE, TD_S(20), 0),
				 TD_KEEP_DAMAGED);
		assert_int_equal(restored.latched, 1);
		record[bit / 8] ^= (uint8_t)(1U << bit % 8);
	}
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OK);
	printf("# measured: %zu bits flipped, each of them found\n", flipped);
}

static void R10_every_truncation_reads_as_the_worst(void **state)
{
	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	for (size_t count = 0; count < sizeof(record); count++) {
		uint8_t *cut = malloc(count + (count == 0)); /* its own bytes, so that reading on is found */

		assert_non_null(cut);
		memcpy(cut, record, count);
		restored.latched = 0;
		assert_int_equal(td_keep_restore(&restored, cut, count, MACHINE, TD_S(20), 0),
				 TD_KEEP_DAMAGED);
		assert_int_equal(restored.latched, 1);
		free(cut);
	}
}

static void what_is_unknown_is_the_worst(void **state)
{
	const struct td_duty_rules rules = duty_rules();
	struct td_twist_rules twist = {.limit_uturn = TD_TWIST_LIMIT_MAX_UTURN};

	(void)state;
	twist.rate_ppm_s[0][TD_TWIST_LEFT] = 1;
	twist.rate_ppm_s[0][TD_TWIST_RIGHT] = -1;
	assert_int_equal(restore(record, 3), TD_KEEP_DAMAGED);
	check_unknown(&restored, TD_S(20));
	assert_int_equal(restored.latched, 1);
	assert_int_equal(restored.closed, 0);
	assert_true(restored.locked == UINT32_MAX);
	assert_true(td_twist_blocks(&restored.twist, &twist, 0, TD_TWIST_LEFT));
	assert_true(td_twist_blocks(&restored.twist, &twist, 0, TD_TWIST_RIGHT));
	for (int i = 0; i < TD_AXES_MAX; i++) {
		const struct td_duty *duty = &restored.axis[i].duty;

		assert_int_equal(td_duty_may_start(duty, &rules, TD_S(20)).limit, TD_DUTY_DAY);
		assert_true(td_duty_theta(duty, &rules, TD_S(20)) == TD_DUTY_LIMIT);
	}
}

/* Writes a checksum that fits, as another version or another machine would have. */
static void seal(uint8_t *bytes, size_t count)
{
	uint32_t sum = td_crc32(bytes, count - 4);

	for (size_t i = 0; i < 4; i++)
		bytes[count - 4 + i] = (uint8_t)(sum >> 8 * i);
}

static void another_version_or_machine_reads_as_the_worst(void **state)
{
	static uint8_t other[TD_KEEP_SIZE];

	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	memcpy(other, record, sizeof(other));
	other[4]++;
	seal(other, sizeof(other));
	assert_int_equal(restore(other, sizeof(other)), TD_KEEP_OTHER_VERSION);
	check_unknown(&restored, TD_S(20));
	other[11] = 1; /* a size that is not its own */
	seal(other, sizeof(other));
	assert_int_equal(restore(other, sizeof(other)), TD_KEEP_DAMAGED);
	other[11] = 0;
	other[7] = 1; /* far later than this one */
	seal(other, sizeof(other));
	assert_int_equal(restore(other, sizeof(other)), TD_KEEP_OTHER_VERSION);
	other[7] = 0;
	other[0]++; /* another kind of record */
	seal(other, sizeof(other));
	assert_int_equal(restore(other, sizeof(other)), TD_KEEP_DAMAGED);
	other[0]--;
	/* a shorter record of another version */
	other[8] = 100;
	other[9] = 0;
	seal(other, 100);
	assert_int_equal(restore(other, 100), TD_KEEP_OTHER_VERSION);
	/* nothing but its head and its checksum, and not even that */
	for (uint8_t count = 19; count <= 20; count++) {
		other[8] = count;
		seal(other, count);
		assert_int_equal(restore(other, count), count < 20 ? TD_KEEP_DAMAGED : TD_KEEP_OTHER_VERSION);
	}
	other[8] = 100;
	/* this version never is that short */
	other[4]--;
	seal(other, 100);
	assert_int_equal(restore(other, 100), TD_KEEP_DAMAGED);
	td_keep_take(&kept, MACHINE + 1, TD_S(10000), record);
	assert_int_equal(restore(record, sizeof(record)), TD_KEEP_OTHER_MACHINE);
	check_unknown(&restored, TD_S(20));
}

/* A field out of its range under a checksum that fits: taken for damage, never for a number. */
static void numbers_out_of_range_read_as_the_worst(void **state)
{
	enum { LATCHED_AT = TD_KEEP_HEAD_SIZE, AXIS_AT = TD_KEEP_HEAD_SIZE + TD_KEEP_MACHINE_SIZE };
	static const struct {
		size_t at;
		uint8_t value;
	} rows[] = {
		{LATCHED_AT, 2},
		{LATCHED_AT + 1, 2},                               /* closed */
		{AXIS_AT, 2},                                      /* hot */
		{AXIS_AT + 1, 1},                                  /* rests since a nanosecond from now */
		{AXIS_AT + 1 + 7, 0x10},                           /* rests since the future */
		{AXIS_AT + 9 + 7, 0x10},                           /* heat */
		{AXIS_AT + 17 + 7, 0x7f},                          /* begin of a window */
		{AXIS_AT + 17 + 8, TD_BUDGET_BUCKETS},             /* newest part */
		{AXIS_AT + 17 + 9 + 3, 0xff},                      /* more powered than there was time */
		{AXIS_AT + TD_KEEP_DUTY_SIZE + 7, 0x80},           /* hours below 0 */
		{AXIS_AT + TD_KEEP_DUTY_SIZE + 12 + 7, 0x01},      /* learned time */
		{AXIS_AT + TD_KEEP_DUTY_SIZE + 12 + 32, 0xff},     /* travels learned */
		{AXIS_AT + TD_KEEP_DUTY_SIZE + 12 + 32 + 1, 0xff}, /* slow travels */
		{AXIS_AT + TD_KEEP_DUTY_SIZE + 12 + 32 + 2, 0x02}, /* warned */
		{AXIS_AT + 15 * TD_KEEP_AXIS_SIZE, 0xff},          /* the last axis as well */
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		live(&kept, TD_S(10000));
		td_keep_take(&kept, MACHINE, TD_S(10000), record);
		record[rows[i].at] = rows[i].value;
		seal(record, sizeof(record));
		assert_int_equal(restore(record, sizeof(record)), TD_KEEP_DAMAGED);
		check_unknown(&restored, TD_S(20));
	}
}

static void rubbish_is_never_a_record(void **state)
{
	struct dice dice = dice_start(151);

	(void)state;
	for (int i = 0; i < 2000; i++) {
		size_t count = (size_t)dice_below(&dice, sizeof(record) + 1);

		dice_rubbish(&dice, record, count);
		assert_int_not_equal(restore(record, count), TD_KEEP_OK);
		check_unknown(&restored, TD_S(20));
	}
}

/* Anything in the fields under a good head and a good checksum: what is taken for good is sane. */
static void whatever_is_taken_for_good_is_sane(void **state)
{
	struct dice dice = dice_start(152);
	int good = 0;

	(void)state;
	for (int i = 0; i < 4000; i++) {
		size_t at =
			TD_KEEP_HEAD_SIZE + (size_t)dice_below(&dice, TD_KEEP_SIZE - TD_KEEP_HEAD_SIZE - 4);

		if (i % 10 == 0) {
			live(&kept, TD_S(10000));
			td_keep_take(&kept, MACHINE, TD_S(10000), record);
		}
		record[at] = (uint8_t)dice_bits(&dice);
		seal(record, sizeof(record));
		if (td_keep_restore(&restored, record, sizeof(record), MACHINE, (td_ns)dice_bits(&dice),
				    (td_ns)dice_bits(&dice)) != TD_KEEP_OK)
			continue;
		good++;
		assert_true(restored.latched <= 1);
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			assert_true(td_duty_sane(&restored.axis[axis].duty));
	}
	assert_true(good > 50);
}

static void rubbish_can_be_kept_without_harm(void **state)
{
	struct dice dice = dice_start(153);

	(void)state;
	for (int i = 0; i < 300; i++) {
		dice_rubbish(&dice, &kept, sizeof(kept));
		td_keep_take(&kept, MACHINE, (td_ns)dice_bits(&dice), record);
		(void)restore(record, sizeof(record));
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			assert_true(td_duty_sane(&restored.axis[axis].duty));
	}
}

/* "123456789" gives 0xcbf43926: the check value usually given for the CRC-32 of IEEE 802.3. */
static void the_checksum_is_the_customary_one(void **state)
{
	(void)state;
	assert_int_equal(td_crc32("123456789", 9), 0xcbf43926);
}

/* Byte by byte, so that a machine of another byte order would read the same. */
static void the_record_begins_as_documented(void **state)
{
	static const uint8_t head[] = {'T',
				       'D',
				       'K',
				       'P',
				       TD_KEEP_VERSION,
				       0,
				       0,
				       0,
				       TD_KEEP_SIZE & 0xff,
				       TD_KEEP_SIZE >> 8,
				       0,
				       0,
				       0x78,
				       0x56,
				       0x34,
				       0x12,
				       0,
				       1,
				       0x05,
				       0,
				       0,
				       0};

	(void)state;
	live(&kept, TD_S(10000));
	td_keep_take(&kept, MACHINE, TD_S(10000), record);
	assert_memory_equal(record, head, sizeof(head));
	printf("# measured: a record has %d bytes\n", TD_KEEP_SIZE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_is_kept_comes_back),
		cmocka_unit_test(a_record_taken_again_is_the_same),
		cmocka_unit_test(R10_the_latched_stop_survives),
		cmocka_unit_test(R12_heat_and_budgets_survive_a_restart),
		cmocka_unit_test(R12_an_axis_that_is_still_powered_is_kept_as_unknown),
		cmocka_unit_test(R12_a_rest_that_begins_later_is_kept_as_unknown),
		cmocka_unit_test(R10_every_flipped_bit_reads_as_the_worst),
		cmocka_unit_test(R10_every_truncation_reads_as_the_worst),
		cmocka_unit_test(what_is_unknown_is_the_worst),
		cmocka_unit_test(another_version_or_machine_reads_as_the_worst),
		cmocka_unit_test(numbers_out_of_range_read_as_the_worst),
		cmocka_unit_test(rubbish_is_never_a_record),
		cmocka_unit_test(whatever_is_taken_for_good_is_sane),
		cmocka_unit_test(rubbish_can_be_kept_without_harm),
		cmocka_unit_test(the_checksum_is_the_customary_one),
		cmocka_unit_test(the_record_begins_as_documented),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* One switch: R9 what a level means, R2 when it counts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "core/switch.h"

static const struct td_switch_rules closed = {.confirm_ns = TD_MS(2), .clear_ns = TD_MS(50)};

/* High is open where the pull is up, low is open where it is down. */
static void r9_an_open_normally_closed_contact_is_active(void **state)
{
	static const struct {
		enum td_contact contact;
		enum td_pull pull;
		bool high, active;
	} rows[] = {
		{TD_CONTACT_NC, TD_PULL_UP, true, true},    {TD_CONTACT_NC, TD_PULL_UP, false, false},
		{TD_CONTACT_NC, TD_PULL_DOWN, true, false}, {TD_CONTACT_NC, TD_PULL_DOWN, false, true},
		{TD_CONTACT_NO, TD_PULL_UP, true, false},   {TD_CONTACT_NO, TD_PULL_UP, false, true},
		{TD_CONTACT_NO, TD_PULL_DOWN, true, true},  {TD_CONTACT_NO, TD_PULL_DOWN, false, false},
	};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		const struct td_switch_rules rules = {.contact = rows[i].contact, .pull = rows[i].pull};

		assert_int_equal(td_switch_reads_active(&rules, rows[i].high), rows[i].active);
	}
}

static void the_first_level_counts_as_it_is(void **state)
{
	struct td_switch sw;

	(void)state;
	memset(&sw, 0xff, sizeof(sw));
	td_switch_start(&sw, &closed, true, TD_MS(7));
	assert_true(sw.raw);
	assert_true(sw.active);
	assert_int_equal(sw.since_ns, TD_MS(7));
	assert_int_equal(sw.pulses, 0);
	assert_int_equal(td_switch_deadline(&sw, &closed), TD_NEVER);
}

static struct td_switch clear_since(td_ns since_ns)
{
	return (struct td_switch){.since_ns = since_ns};
}

static void r2_active_counts_after_its_confirm_time(void **state)
{
	struct td_switch sw = clear_since(0);

	(void)state;
	td_switch_level(&sw, &closed, true, TD_MS(10));
	assert_true(sw.raw);
	assert_false(sw.active);
	assert_true(td_switch_maybe_active(&sw));
	assert_int_equal(td_switch_deadline(&sw, &closed), TD_MS(12));
	assert_int_equal(td_switch_settle(&sw, &closed, TD_MS(12) - 1), TD_SWITCH_NO_EDGE);
	assert_int_equal(td_switch_settle(&sw, &closed, TD_MS(12)), TD_SWITCH_BECAME_ACTIVE);
	assert_int_equal(td_switch_settle(&sw, &closed, TD_MS(13)), TD_SWITCH_NO_EDGE);
	assert_int_equal(td_switch_deadline(&sw, &closed), TD_NEVER);
}

static void r2_clear_counts_after_its_clear_time(void **state)
{
	struct td_switch sw = {.raw = true, .active = true};

	(void)state;
	td_switch_level(&sw, &closed, false, TD_MS(10));
	assert_true(td_switch_maybe_active(&sw));
	assert_int_equal(td_switch_deadline(&sw, &closed), TD_MS(60));
	assert_int_equal(td_switch_settle(&sw, &closed, TD_MS(60) - 1), TD_SWITCH_NO_EDGE);
	assert_int_equal(td_switch_settle(&sw, &closed, TD_MS(60)), TD_SWITCH_BECAME_CLEAR);
	assert_false(td_switch_maybe_active(&sw));
	assert_int_equal(sw.pulses, 0);
}

static void a_level_that_did_not_change_restarts_nothing(void **state)
{
	struct td_switch sw = clear_since(0);

	(void)state;
	td_switch_level(&sw, &closed, true, TD_MS(10));
	td_switch_level(&sw, &closed, true, TD_MS(11));
	assert_int_equal(sw.since_ns, TD_MS(10));
	td_switch_level(&sw, &closed, false, TD_MS(11));
	assert_int_equal(sw.since_ns, TD_MS(11));
}

/* Only an active pulse that was never confirmed is one; a clear pulse is a bounce of the release. */
static void r2_short_active_pulses_are_counted_up_to_the_end_of_the_counter(void **state)
{
	struct td_switch sw = clear_since(0);

	(void)state;
	td_switch_level(&sw, &closed, true, TD_MS(10));
	assert_int_equal(sw.pulses, 0);
	td_switch_level(&sw, &closed, false, TD_MS(11));
	assert_int_equal(sw.pulses, 1);
	sw.pulses = UINT32_MAX - 1;
	for (int i = 0; i < 3; i++) {
		td_switch_level(&sw, &closed, true, TD_MS(20));
		td_switch_level(&sw, &closed, false, TD_MS(21));
	}
	assert_int_equal(sw.pulses, UINT32_MAX);
	sw = (struct td_switch){.raw = true, .active = true};
	td_switch_level(&sw, &closed, false, TD_MS(30));
	td_switch_level(&sw, &closed, true, TD_MS(31));
	assert_int_equal(sw.pulses, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r9_an_open_normally_closed_contact_is_active),
		cmocka_unit_test(the_first_level_counts_as_it_is),
		cmocka_unit_test(r2_active_counts_after_its_confirm_time),
		cmocka_unit_test(r2_clear_counts_after_its_clear_time),
		cmocka_unit_test(a_level_that_did_not_change_restarts_nothing),
		cmocka_unit_test(r2_short_active_pulses_are_counted_up_to_the_end_of_the_counter),
	};

	return cmocka_run_group_tests_name("core_switch", tests, NULL, NULL);
}

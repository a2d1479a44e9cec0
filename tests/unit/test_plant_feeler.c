/* SPDX-License-Identifier: MIT */
/* One simulated switch: contact kind, pull and wire; bounce. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/switch.h"
#include "sim/feeler.h"

/* What a line reads by Ohm's law: an open contact leaves it to the pull; a closed one connects it to the
 * other side. The table is written out by hand, so that it can disagree with the code. */
static const struct {
	enum td_contact contact;
	enum td_pull pull;
	enum td_wire wire;
	bool rest_high;
	bool pressed_high;
} lines[] = {
	{TD_CONTACT_NC, TD_PULL_UP, TD_WIRE_SOUND, false, true},
	{TD_CONTACT_NC, TD_PULL_UP, TD_WIRE_BROKEN, true, true},
	{TD_CONTACT_NC, TD_PULL_UP, TD_WIRE_SHORTED, false, false},
	{TD_CONTACT_NC, TD_PULL_DOWN, TD_WIRE_SOUND, true, false},
	{TD_CONTACT_NC, TD_PULL_DOWN, TD_WIRE_BROKEN, false, false},
	{TD_CONTACT_NC, TD_PULL_DOWN, TD_WIRE_SHORTED, false, false},
	{TD_CONTACT_NO, TD_PULL_UP, TD_WIRE_SOUND, true, false},
	{TD_CONTACT_NO, TD_PULL_UP, TD_WIRE_BROKEN, true, true},
	{TD_CONTACT_NO, TD_PULL_UP, TD_WIRE_SHORTED, false, false},
	{TD_CONTACT_NO, TD_PULL_DOWN, TD_WIRE_SOUND, false, true},
	{TD_CONTACT_NO, TD_PULL_DOWN, TD_WIRE_BROKEN, false, false},
	{TD_CONTACT_NO, TD_PULL_DOWN, TD_WIRE_SHORTED, false, false},
};

static void levels_follow_contact_pull_and_wire(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++) {
		struct td_switch_rules kind = {.contact = lines[i].contact, .pull = lines[i].pull};
		struct td_feeler feeler;

		td_feeler_init(&feeler, &kind, 0, 1);
		feeler.wire = lines[i].wire;
		assert_int_equal(td_feeler_high(&feeler), lines[i].rest_high);
		td_feeler_press(&feeler, 1, true, false);
		assert_int_equal(td_feeler_high(&feeler), lines[i].pressed_high);
	}
}

/* R9, seen from the daemon's side: a broken wire of a normally-closed contact is an active switch. */
static void R9_broken_wire_of_a_normally_closed_contact_reads_active(void **state)
{
	(void)state;
	for (int pull = TD_PULL_UP; pull <= TD_PULL_DOWN; pull++) {
		struct td_switch_rules kind = {.contact = TD_CONTACT_NC, .pull = (enum td_pull)pull};
		struct td_feeler feeler;
		bool high;

		td_feeler_init(&feeler, &kind, 0, 1);
		high = td_feeler_high(&feeler);
		assert_int_equal(high, pull == TD_PULL_DOWN);
		feeler.wire = TD_WIRE_BROKEN;
		assert_int_equal(td_feeler_high(&feeler), !high);
	}
}

static const struct td_switch_rules plain = {.contact = TD_CONTACT_NO, .pull = TD_PULL_DOWN};

/* Runs a burst to its end; counts the flips; returns the time of the last one. */
static td_ns run_burst(struct td_feeler *feeler, int *flips)
{
	td_ns last = 0;

	for (*flips = 0; td_feeler_next(feeler) != TD_NEVER; ++*flips) {
		bool before = td_feeler_high(feeler);

		assert_true(td_feeler_next(feeler) >= last);
		last = td_feeler_next(feeler);
		uint8_t flipped = feeler->flipped;
		td_feeler_advance(feeler, last);
		if (feeler->flipped == flipped + 1)
			assert_int_not_equal(td_feeler_high(feeler), before);
		*flips += feeler->flipped - flipped - 1; /* two flips in the same nanosecond */
	}
	return last;
}

static void both_transitions_bounce_and_end_settled(void **state)
{
	(void)state;
	struct td_feeler feeler;
	bool seen[TD_FEELER_FLIPS_MAX + 1] = {false};

	td_feeler_init(&feeler, &plain, TD_US(1500), 7);
	for (int i = 0; i < 400; i++) {
		bool press = i % 2 == 0;
		td_ns at = TD_MS(10) * (i + 1);
		int flips;

		td_feeler_press(&feeler, at, press, false);
		assert_int_equal(td_feeler_high(&feeler), press);
		td_ns last = run_burst(&feeler, &flips);
		assert_in_range(last - at, 1, TD_US(1500));
		assert_in_range(flips, 2, TD_FEELER_FLIPS_MAX);
		assert_int_equal(flips % 2, 0);
		assert_int_equal(td_feeler_high(&feeler), press);
		seen[flips] = true;
	}
	for (int flips = 2; flips <= TD_FEELER_FLIPS_MAX; flips += 2)
		assert_true(seen[flips]);
}

struct filter {
	struct td_switch sw;
	struct td_switch_rules rules;
	int became_active;
	int became_clear;
};

static void feed(struct filter *filter, const struct td_feeler *feeler, td_ns at_ns)
{
	td_switch_level(&filter->sw, &filter->rules, td_feeler_high(feeler), at_ns);
	enum td_switch_edge edge = td_switch_settle(&filter->sw, &filter->rules, at_ns);

	filter->became_active += edge == TD_SWITCH_BECAME_ACTIVE;
	filter->became_clear += edge == TD_SWITCH_BECAME_CLEAR;
}

static void feed_press(struct filter *filter, struct td_feeler *feeler, td_ns at_ns, bool press)
{
	td_feeler_press(feeler, at_ns, press, false);
	feed(filter, feeler, at_ns);
	while (td_feeler_next(feeler) != TD_NEVER) {
		td_ns next = td_feeler_next(feeler);

		td_feeler_advance(feeler, next);
		feed(filter, feeler, next);
	}
	feed(filter, feeler, at_ns + TD_MS(500));
}

/* Bursts as long as the longest of 16 measured switches (6200 us: J. Ganssle, "A Guide to Debouncing", as
 * quoted in public sources) are one event for the filter of the core: active once, clear once. */
static void R2_longest_measured_bounce_is_one_activation_for_the_filter(void **state)
{
	(void)state;
	for (uint64_t seed = 0; seed < 50; seed++) {
		struct filter filter = {.rules = {.contact = TD_CONTACT_NO,
						  .pull = TD_PULL_DOWN,
						  .confirm_ns = TD_MS(20),
						  .clear_ns = TD_MS(50)}};
		struct td_feeler feeler;

		td_feeler_init(&feeler, &filter.rules, TD_US(6200), seed);
		td_switch_start(&filter.sw, &filter.rules, td_feeler_high(&feeler), 0);
		feed_press(&filter, &feeler, TD_S(1), true);
		assert_int_equal(filter.became_active, 1);
		assert_int_equal(filter.became_clear, 0);
		feed_press(&filter, &feeler, TD_S(2), false);
		assert_int_equal(filter.became_active, 1);
		assert_int_equal(filter.became_clear, 1);
	}
}

static void a_change_during_a_burst_begins_a_new_one(void **state)
{
	(void)state;
	struct td_feeler feeler;
	int flips;

	td_feeler_init(&feeler, &plain, TD_MS(5), 3);
	td_feeler_press(&feeler, TD_MS(1), true, false);
	td_feeler_advance(&feeler, td_feeler_next(&feeler));
	td_feeler_press(&feeler, TD_MS(2), false, false);
	assert_false(td_feeler_high(&feeler));
	assert_true(td_feeler_next(&feeler) > TD_MS(2));
	assert_true(run_burst(&feeler, &flips) <= TD_MS(7));
	assert_false(td_feeler_high(&feeler));
}

static void finger_and_cam_press_the_same_contact(void **state)
{
	(void)state;
	struct td_feeler feeler;

	td_feeler_init(&feeler, &plain, TD_US(1500), 3);
	td_feeler_press(&feeler, TD_MS(1), true, false);
	td_feeler_settle(&feeler);
	td_feeler_press(&feeler, TD_MS(10), true, true);
	assert_int_equal(td_feeler_next(&feeler), TD_NEVER); /* no change of the contact, no bounce */
	td_feeler_press(&feeler, TD_MS(20), false, true);
	assert_true(td_feeler_high(&feeler));
	td_feeler_press(&feeler, TD_MS(30), false, false);
	assert_false(td_feeler_high(&feeler));
	assert_int_not_equal(td_feeler_next(&feeler), TD_NEVER);
}

static void a_contact_without_bounce_changes_once(void **state)
{
	(void)state;
	struct td_feeler feeler;

	td_feeler_init(&feeler, &plain, 0, 3);
	td_feeler_press(&feeler, TD_MS(1), true, false);
	assert_true(td_feeler_high(&feeler));
	assert_int_equal(td_feeler_next(&feeler), TD_NEVER);
}

static void streams_differ_and_repeat(void **state)
{
	(void)state;
	struct td_feeler feeler[3];

	for (int i = 0; i < 3; i++) {
		td_feeler_init(&feeler[i], &plain, TD_MS(5), i == 2 ? 0 : (uint64_t)i);
		td_feeler_press(&feeler[i], TD_MS(1), true, false);
	}
	assert_int_equal(td_feeler_next(&feeler[0]), td_feeler_next(&feeler[2]));
	assert_int_not_equal(td_feeler_next(&feeler[0]), td_feeler_next(&feeler[1]));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(levels_follow_contact_pull_and_wire),
		cmocka_unit_test(R9_broken_wire_of_a_normally_closed_contact_reads_active),
		cmocka_unit_test(both_transitions_bounce_and_end_settled),
		cmocka_unit_test(R2_longest_measured_bounce_is_one_activation_for_the_filter),
		cmocka_unit_test(a_change_during_a_burst_begins_a_new_one),
		cmocka_unit_test(finger_and_cam_press_the_same_contact),
		cmocka_unit_test(a_contact_without_bounce_changes_once),
		cmocka_unit_test(streams_differ_and_repeat),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

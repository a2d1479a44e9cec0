/* SPDX-License-Identifier: MIT */
/* Who may hold an axis, as far as the monitor can tell: certain claims, vague ones, and the crowd. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/monitor_case.h"

struct bench {
	struct td_rules rules;
	struct td_monitor monitor;
	struct td_verdict verdict;
};

static struct bench bench;

static struct td_monitor_axis *drive(void)
{
	return &bench.monitor.axis[RULE_DRIVE];
}

static void begin(void)
{
	memset(&bench, 0x5a, sizeof(bench));
	bench.rules = rule_cart();
	td_monitor_init(&bench.monitor, &bench.rules, 0);
	bench.monitor.known = true;
	bench.monitor.armed = true;
	bench.monitor.now_ns = TD_S(1);
}

static enum td_breach step(struct td_event event, uint32_t outputs)
{
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	(void)td_monitor_judge(&bench.monitor, &bench.rules, event.at_ns, outputs, &bench.verdict);
	return bench.verdict.breach;
}

/* A request for the drive, way 1, heard now, for a second. */
static struct td_event request(int at_ms, uint32_t session, uint32_t hold, uint32_t seq)
{
	return (struct td_event){.kind = TD_EVENT_REQUEST,
				 .at_ns = TD_MS(at_ms),
				 .axis = RULE_DRIVE,
				 .way = 1,
				 .session = session,
				 .hold = hold,
				 .seq = seq,
				 .lease_ns = TD_S(1)};
}

static struct td_event time_at(int at_ms)
{
	return (struct td_event){.kind = TD_EVENT_TIME, .at_ns = TD_MS(at_ms)};
}

static void check_claim(const struct td_monitor_claim *claim, uint32_t session, uint32_t number, int until_ms)
{
	assert_true(claim->live);
	assert_int_equal(claim->session, session);
	assert_int_equal(claim->number, number);
	assert_int_equal(claim->way, 1);
	assert_true(claim->until_ns == TD_MS(until_ms));
}

/* --- the start of a hold --------------------------------------------------------------------------- */

static void r7_a_start_takes_a_place_of_its_own(void **state)
{
	(void)state;
	begin();
	step(request(1000, 1, 11, 0), 0);
	step(request(1001, 2, 12, 0), 0);
	check_claim(&drive()->claim[0], 1, 11, 2000);
	check_claim(&drive()->claim[1], 2, 12, 2001);
	assert_false(drive()->claim[0].covers || drive()->claim[0].vague);
	step(request(1100, 1, 13, 0), 0); /* made anew: the same place */
	check_claim(&drive()->claim[0], 1, 13, 2100);
	assert_false(drive()->claim[2].live);
	assert_false(drive()->crowd.live);
}

static void r7_a_place_nothing_live_needs_is_taken_first(void **state)
{
	(void)state;
	begin();
	for (uint32_t session = 1; session <= TD_MONITOR_CLAIMS; session++)
		step(request(1000, session, 1, 0), 0);
	drive()->claim[2].live = false;
	step(request(1100, 9, 7, 0), 0);
	check_claim(&drive()->claim[2], 9, 7, 2100);
	assert_false(drive()->crowd.live);
	step(request(1200, 10, 8, 0), 0);
	assert_true(drive()->crowd.live && drive()->crowd.until_ns == TD_MS(2200));
	assert_int_equal(drive()->crowd.way, TD_NO_WAY);
	step(request(1300, 11, 8, 0), 0);
	assert_true(drive()->crowd.until_ns == TD_MS(2300));
	struct td_event shorter = request(1300, 12, 8, 0);

	shorter.lease_ns = TD_MS(100);
	step(shorter, 0);
	assert_true(drive()->crowd.until_ns == TD_MS(2300));
}

/* The same number again, an older one, or one heard before a reset that may have had nothing to reset. */
static void r7_a_start_nobody_can_place_joins_the_crowd(void **state)
{
	static const struct {
		uint32_t hold;
		int doubt_ms;
		bool crowd;
	} rows[] = {{5, 0, true},     {4, 0, true},    {6, 0, false},
		    {6, 1099, false}, {6, 1100, true}, {6, 1101, true}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		begin();
		step(request(1000, 1, 5, 0), 0);
		drive()->doubt_ns = TD_MS(rows[i].doubt_ms);
		step(request(1100, 1, rows[i].hold, 0), 0);
		assert_int_equal(drive()->crowd.live, rows[i].crowd);
		assert_true(!rows[i].crowd || drive()->crowd.until_ns == TD_MS(2100));
		assert_int_equal(drive()->claim[0].number, rows[i].crowd ? 5 : rows[i].hold);
	}
	begin(); /* hopeless besides: it joins nobody */
	step(request(1000, 1, 5, 0), 0);
	bench.monitor.axis[RULE_DRIVE].tripped = true;
	step(request(1100, 1, 5, 0), 0);
	assert_false(drive()->crowd.live);
	assert_true(drive()->claim[0].live);
}

static void r11_what_makes_a_request_hopeless(void **state)
{
	(void)state;
	for (int what = 0; what < 5; what++) {
		begin();
		bench.monitor.armed = what != 1;
		bench.monitor.latched = what == 2;
		drive()->tripped = what == 3;
		if (what == 4)
			bench.rules.axis[RULE_DRIVE].way[1].end_switch = RULE_TOP;
		bench.monitor.sw[RULE_TOP].raw = true;
		step(request(1000, 1, 5, 0), 0);
		assert_int_equal(drive()->claim[0].live, what == 0);
		assert_int_equal(drive()->claim[0].number, 5);
		if (what == 0)
			continue;
		assert_int_equal(drive()->denied_as, TD_BREACH_HOLD_ENDED);
		assert_int_equal(drive()->denied_way, 1);
		assert_true(drive()->denied_until_ns == TD_MS(2000));
	}
}

/* --- renewals -------------------------------------------------------------------------------------- */

static void r7_a_renewal_moves_the_end_and_the_number(void **state)
{
	(void)state;
	begin();
	step(request(1000, 1, 5, 0), 0);
	step(request(1100, 1, 5, 3), 0);
	check_claim(&drive()->claim[0], 1, 5, 2100);
	assert_int_equal(drive()->claim[0].seq, 3);
	assert_int_equal(drive()->denied_way, TD_NO_WAY);
	step(request(1200, 1, 5, 3), 0); /* again: refused */
	assert_true(drive()->claim[0].until_ns == TD_MS(2100));
	assert_int_equal(drive()->denied_as, TD_BREACH_REQUEST_REFUSED);
	step(request(1300, 1, 6, 4), 0); /* another hold */
	assert_int_equal(drive()->denied_as, TD_BREACH_HOLD_ENDED);
	assert_true(drive()->denied_until_ns == TD_MS(2300));
	struct td_event other_way = request(1400, 1, 5, 4);

	other_way.way = 0;
	step(other_way, 0);
	assert_int_equal(drive()->denied_as, TD_BREACH_REQUEST_REFUSED);
	assert_int_equal(drive()->denied_way, 0);
	assert_int_equal(drive()->claim[0].seq, 3);
}

/* A reset may have overtaken it: from then on renewals only extend, and their numbers prove nothing. */
static void r7_a_renewal_in_doubt_makes_the_claim_vague(void **state)
{
	(void)state;
	begin();
	step(request(1000, 1, 5, 0), 0);
	drive()->doubt_ns = TD_MS(1100);
	step(request(1100, 1, 5, 3), 0);
	assert_true(drive()->claim[0].vague);
	assert_true(drive()->claim[0].until_ns == TD_MS(2100));
	assert_int_equal(drive()->claim[0].seq, 0);
	struct td_event shorter = request(1200, 1, 5, 1);

	shorter.lease_ns = TD_MS(100);
	step(shorter, 0);
	assert_true(drive()->claim[0].until_ns == TD_MS(2100));
	step(request(1300, 1, 5, 1), 0);
	assert_true(drive()->claim[0].until_ns == TD_MS(2300));
	assert_true(drive()->claim[0].vague);
	/* without doubt a shorter one shortens */
	begin();
	step(request(1000, 1, 5, 0), 0);
	drive()->doubt_ns = TD_MS(1199);
	shorter.seq = 1;
	step(shorter, 0);
	assert_false(drive()->claim[0].vague);
	assert_true(drive()->claim[0].until_ns == TD_MS(1300));
}

static void r7_any_renewal_may_be_one_of_the_crowd(void **state)
{
	(void)state;
	begin();
	drive()->crowd = (struct td_monitor_claim){.live = true, .until_ns = TD_MS(1500)};
	step(request(1100, 77, 5, 3), 0);
	assert_true(drive()->crowd.until_ns == TD_MS(2100));
	assert_int_equal(drive()->denied_as, TD_BREACH_HOLD_ENDED);
	drive()->crowd.live = false;
	step(request(1200, 77, 5, 4), 0);
	assert_true(drive()->crowd.until_ns == TD_MS(2100));
}

static void r7_requests_for_nothing_there_is_are_no_requests(void **state)
{
	(void)state;
	for (int what = 0; what < 3; what++) {
		struct td_event event = request(1000, 1, 5, 0);

		begin();
		event.axis = what == 0 ? RULE_AXES : what == 1 ? TD_ALL_AXES : RULE_DRIVE;
		event.way = what == 2 ? TD_WAYS : 1;
		td_monitor_see(&bench.monitor, &bench.rules, &event);
		assert_false(bench.monitor.asked);
		for (int axis = 0; axis < TD_AXES_MAX; axis++)
			assert_int_equal(bench.monitor.axis[axis].denied_way, TD_NO_WAY);
	}
	begin();
	struct td_event event = request(1000, 1, 5, 0);

	event.lease_ns = TD_LEASE_MIN_NS;
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	assert_true(bench.monitor.asked);
	event.kind = TD_EVENT_TIME;
	td_monitor_see(&bench.monitor, &bench.rules, &event);
	assert_false(bench.monitor.asked);
}

/* --- what the outputs tell ------------------------------------------------------------------------- */

/* Power in one way is for those who asked for that way; all others are over. */
static void r7_power_ends_the_claims_it_is_not_for(void **state)
{
	struct td_event back = request(1001, 2, 12, 0);

	(void)state;
	back.way = 0;
	begin();
	step(request(1000, 1, 11, 0), 0);
	step(back, 0);
	step(request(1002, 3, 13, 0), 0);
	assert_int_equal(step(time_at(1500), ON(RULE_DRIVE, 1)), TD_BREACH_NONE);
	assert_true(drive()->claim[0].covers && drive()->claim[2].covers);
	assert_false(drive()->claim[1].live || drive()->claim[1].covers);
	assert_true(drive()->ended_ns == TD_MS(1500));
	assert_int_equal(drive()->last_session, 0); /* either of two */
	/* off: whoever it was for is over */
	step(time_at(1600), 0);
	assert_false(drive()->claim[0].live || drive()->claim[2].live);
	assert_true(drive()->ended_ns == TD_MS(1600));
}

static void r11_a_single_holder_is_remembered(void **state)
{
	(void)state;
	begin();
	step(request(1000, 3, 11, 0), ON(RULE_DRIVE, 1));
	assert_int_equal(drive()->last_session, 3);
	assert_int_equal(drive()->last_number, 11);
	step(time_at(1100), 0);
	/* the same number, or a lower one: used up */
	for (uint32_t hold = 10; hold <= 11; hold++) {
		step(request(1200, 3, hold, 0), 0);
		assert_int_equal(drive()->denied_as, TD_BREACH_HOLD_ENDED);
		assert_true(drive()->denied_until_ns == TD_MS(2200));
		assert_false(drive()->claim[0].live);
	}
	step(request(1300, 3, 12, 0), 0);
	check_claim(&drive()->claim[0], 3, 12, 2300);
	assert_int_equal(drive()->last_session, 3);
	/* once somebody else has asked, nobody knows who held last */
	step(request(1400, 4, 1, 0), 0);
	assert_int_equal(drive()->last_session, 0);
	assert_int_equal(drive()->last_number, 11);
	begin(); /* in a crowd nobody is remembered */
	drive()->crowd = (struct td_monitor_claim){.live = true, .until_ns = TD_MS(5000)};
	step(time_at(1500), ON(RULE_DRIVE, 1));
	assert_true(drive()->crowd.covers);
	assert_int_equal(drive()->last_session, 0);
	step(request(1600, 5, 1, 0), ON(RULE_DRIVE, 1));
	check_claim(&drive()->claim[0], 5, 1, 2600); /* perhaps it is its own hold, so it may be replaced */
	assert_false(drive()->claim[0].covers);
}

/* While it is powered for somebody else a request is refused, and starts nothing later. */
static void r7_while_another_holds_a_request_is_nothing(void **state)
{
	(void)state;
	begin();
	step(request(1000, 3, 11, 0), ON(RULE_DRIVE, 1));
	step(request(1100, 4, 12, 0), ON(RULE_DRIVE, 1));
	assert_false(drive()->claim[1].live);
	assert_int_equal(drive()->last_session, 3);
	/* one's own may be made anew */
	step(request(1200, 3, 12, 0), ON(RULE_DRIVE, 1));
	assert_int_equal(drive()->claim[0].number, 12);
	/* of two who may be the one, each may make it anew */
	begin();
	step(request(1000, 3, 11, 0), 0);
	step(request(1000, 4, 11, 0), 0);
	step(time_at(1500), ON(RULE_DRIVE, 1));
	step(request(1600, 4, 12, 0), ON(RULE_DRIVE, 1));
	assert_int_equal(drive()->claim[1].number, 12);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r7_a_start_takes_a_place_of_its_own),
		cmocka_unit_test(r7_a_place_nothing_live_needs_is_taken_first),
		cmocka_unit_test(r7_a_start_nobody_can_place_joins_the_crowd),
		cmocka_unit_test(r11_what_makes_a_request_hopeless),
		cmocka_unit_test(r7_a_renewal_moves_the_end_and_the_number),
		cmocka_unit_test(r7_a_renewal_in_doubt_makes_the_claim_vague),
		cmocka_unit_test(r7_any_renewal_may_be_one_of_the_crowd),
		cmocka_unit_test(r7_requests_for_nothing_there_is_are_no_requests),
		cmocka_unit_test(r7_power_ends_the_claims_it_is_not_for),
		cmocka_unit_test(r11_a_single_holder_is_remembered),
		cmocka_unit_test(r7_while_another_holds_a_request_is_nothing),
	};

	return cmocka_run_group_tests_name("monitor_claim", tests, NULL, NULL);
}

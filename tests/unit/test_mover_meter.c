/* SPDX-License-Identifier: MIT */
/* What the mover counts and how long it says that stops took. No real time passes. */
#include <sys/mman.h>
#include <sys/socket.h>

#include "core/wear.h"
#include "mover_rig.h"

enum { BACK, AHEAD };

static struct rig rig;
static struct td_meter meter; /* as last taken from the shelf */
static uint32_t taken;

static int set_up(void **state)
{
	struct td_error err;

	(void)state;
	rig_open(&rig);
	rig.meters = td_shelf_make(sizeof(struct td_meter), &err);
	assert_non_null(rig.meters);
	memset(&meter, 0, sizeof(meter));
	taken = 0;
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	rig_close(&rig);
	return 0;
}

static bool look(void)
{
	struct td_note note;

	while (rig_note(&rig, &note))
		;
	return rig.meters && td_shelf_take(rig.meters, &taken, &meter);
}

static uint64_t all_stops(void)
{
	uint64_t count = 0;

	for (unsigned i = 0; i <= TD_METER_BOUNDS; i++)
		count += meter.stops[i];
	return count;
}

/* Runs a script of steps that lie 500 ms apart. */
static bool due(unsigned step)
{
	static td_ns from_ns;

	if (step == 0)
		from_ns = clock_ns;
	return clock_ns - from_ns >= TD_MS(500) * (td_ns)step;
}

/* --- counters ---------------------------------------------------------------------------------------- */

static void drive_and_stop(struct rig *self)
{
	look();
	if (!due(self->step))
		return;
	switch (self->step++) {
	case 0: break;
	case 1: rig_request(self, RULE_DRIVE, AHEAD, 1); break;
	case 2: rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES}); break;
	case 3: rig_request(self, RULE_DRIVE, BACK, 2); break;
	case 4:
		rig_order(self, (struct td_order){.kind = TD_EVENT_RELEASE, .axis = RULE_DRIVE, .hold = 2});
		break;
	case 5: rig_order(self, (struct td_order){.kind = TD_EVENT_LATCH}); break;
	default: rig_signal(self); break;
	}
}

static void starts_runs_and_stops_are_counted(void **state)
{
	(void)state;
	rig.script = drive_and_stop;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	look();
	assert_int_equal(meter.starts[RULE_DRIVE][AHEAD], 1);
	assert_int_equal(meter.starts[RULE_DRIVE][BACK], 1);
	assert_int_equal(meter.starts[RULE_BOOM][0] + meter.starts[RULE_BOOM][1], 0);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		assert_in_range(meter.run_ns[RULE_DRIVE][way], TD_MS(495), TD_MS(505));
		assert_int_equal(meter.run_ns[RULE_DRIVE][way], meter.life_run_ns[RULE_DRIVE][way]);
	}
	assert_int_equal(meter.news[TD_CAUSE_STARTED], 2);
	assert_int_equal(meter.news[TD_CAUSE_STOP_ASKED], 1);
	assert_int_equal(meter.news[TD_CAUSE_LET_GO], 1);
	assert_int_equal(meter.news[TD_CAUSE_LATCH_ASKED], 1);
	assert_int_equal(meter.news[TD_CAUSE_DISARMED], 1); /* what happens at the end is counted too */
	assert_int_equal(all_stops(), 2);
	assert_int_equal(meter.duty[RULE_DRIVE].powered, 0);
}

/* What was before the restart counts for the life of the motor, not for the daemon's. */
static void what_the_last_run_left_is_told_apart(void **state)
{
	static struct td_keep kept;
	const struct td_mover_setup setup = {
		.rules = &rig.rules,
		.lines = &rig.lines,
		.channel = rig.mover_end,
		.pulse_fd = rig.mover_pulse,
		.signal_fd = rig.signal_fd,
		.scribe_fd = -1,
		.meters = rig.meters,
		.kept = &kept,
		.kept_ns = clock_ns,
		.poll_ns = TD_MS(5),
		.may_arm = true,
	};

	(void)state;
	td_keep_init(&kept, clock_ns);
	kept.axis[RULE_DRIVE].powered_ns[AHEAD] = TD_S(3600);
	kept.axis[RULE_DRIVE].starts[AHEAD] = 70;
	rig.script = drive_and_stop;
	assert_int_equal(td_mover_run(&rig.mover, &setup), TD_MOVER_ASKED);
	look();
	assert_int_equal(meter.starts[RULE_DRIVE][AHEAD], 1);
	assert_int_equal(meter.life_starts[RULE_DRIVE][AHEAD], 71);
	assert_in_range(meter.run_ns[RULE_DRIVE][AHEAD], TD_MS(495), TD_MS(505));
	assert_int_equal(meter.life_run_ns[RULE_DRIVE][AHEAD], TD_S(3600) + meter.run_ns[RULE_DRIVE][AHEAD]);
}

static unsigned laid_while_running;
static td_ns run_seen_ns;

static void run_for_long(struct rig *self)
{
	bool new = look();

	/* It never goes back, and what runs is seen to run. */
	assert_true(meter.run_ns[RULE_DRIVE][AHEAD] >= run_seen_ns);
	run_seen_ns = meter.run_ns[RULE_DRIVE][AHEAD];
	laid_while_running += new &&meter.duty[RULE_DRIVE].powered == 1;
	if (self->step++ == 0)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (run_seen_ns >= TD_S(1))
		rig_signal(self);
}

static void while_it_runs_it_is_told_four_times_a_second(void **state)
{
	(void)state;
	run_seen_ns = 0;
	laid_while_running = 0;
	rig.script = run_for_long;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_in_range(laid_while_running, 4, 6);
}

static void trip_and_noise(struct rig *self)
{
	look();
	if (!due(self->step))
		return;
	switch (self->step++) {
	case 0: break;
	case 1: /* two pulses of a microsecond each: no filter lets them through */
		rig_switch(self, RULE_TOP, true);
		rig_switch(self, RULE_TOP, false);
		rig_switch(self, RULE_TOP, true);
		rig_switch(self, RULE_TOP, false);
		break;
	case 2:
		rig_switch(self, RULE_TOP, true);
		rig_switch(self, RULE_BOTTOM, true);
		break;
	default: rig_signal(self); break;
	}
}

static void r8_trips_are_counted_by_axis_and_noise_by_switch(void **state)
{
	(void)state;
	rig.script = trip_and_noise;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	look();
	assert_int_equal(meter.pulses[RULE_TOP], 2);
	assert_int_equal(meter.pulses[RULE_BOTTOM], 0);
	assert_int_equal(meter.trips[RULE_BOOM][TD_CAUSE_BOTH_ENDS], 1);
	assert_int_equal(meter.news[TD_CAUSE_BOTH_ENDS], 1);
	assert_int_equal(meter.trips[RULE_VENT][TD_CAUSE_BOTH_ENDS], 0);
	assert_int_equal(all_stops(), 0); /* nothing was powered */
}

static void nobody_need_want_to_know(void **state)
{
	(void)state;
	rig.meters = NULL;
	rig.script = trip_and_noise;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
}

/* The core's own count begins anew with the first levels; ours goes on. */
static void pulses_that_the_core_forgets_stay_counted(void **state)
{
	static struct td_core core;
	static struct td_metering metering;
	static struct td_result result;

	(void)state;
	td_core_init(&core, &rig.rules, clock_ns);
	td_meter_init(&metering, NULL, &core);
	core.sw[RULE_TOP].pulses = 5;
	td_meter_step(&metering, &core, &result);
	core.sw[RULE_TOP].pulses = 2;
	td_meter_step(&metering, &core, &result);
	assert_int_equal(metering.meter.pulses[RULE_TOP], 7);
}

/* --- how long a stop takes ------------------------------------------------------------------------------ */

static td_ns slow_ns;
static void (*demand)(struct rig *self);

/* Once it drives, what demands the stop comes while the mover is busy for a while. */
static void stop_slowly(struct rig *self)
{
	look();
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step == 1 && self->outputs == rig_bit(RULE_DRIVE, AHEAD)) {
		demand(self);
		self->slow_ns = slow_ns;
		self->step = 2;
	} else if (self->step == 2 && self->outputs == 0) {
		rig_signal(self);
	}
	if (self->step == 0)
		self->step = 1;
}

static void ask_for_a_stop(struct rig *self)
{
	rig_order(self, (struct td_order){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
}

static void press_the_stop_input(struct rig *self)
{
	rig_switch(self, RULE_STOP, true);
}

/* Nothing: the lease of 1.5 s runs out by itself. */
static void do_nothing(struct rig *self)
{
	(void)self;
}

static void one_stop_takes(void (*by)(struct rig *self), td_ns busy_ns, td_ns at_least_ns, td_ns at_most_ns)
{
	tear_down(NULL);
	set_up(NULL);
	demand = by;
	slow_ns = busy_ns;
	rig.script = stop_slowly;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	look();
	assert_int_equal(all_stops(), 1);
	assert_in_range(meter.stops_ns, at_least_ns, at_most_ns);
	for (unsigned i = 0; i <= TD_METER_BOUNDS; i++) {
		td_ns above_ns = i > 0 ? TD_US(td_meter_bound_us(i - 1)) : -1;
		td_ns bound_ns = i < TD_METER_BOUNDS ? TD_US(td_meter_bound_us(i)) : TD_NEVER;

		assert_int_equal(meter.stops[i], meter.stops_ns > above_ns && meter.stops_ns <= bound_ns);
	}
}

static void a_stop_takes_from_what_demands_it_to_the_lines(void **state)
{
	(void)state;
	one_stop_takes(ask_for_a_stop, 0, TD_US(1), TD_US(99));
	one_stop_takes(ask_for_a_stop, TD_MS(7), TD_MS(7), TD_MS(8));
	one_stop_takes(press_the_stop_input, 0, TD_US(1), TD_US(99));
	one_stop_takes(press_the_stop_input, TD_MS(30), TD_MS(30), TD_MS(31));
	one_stop_takes(press_the_stop_input, TD_MS(300), TD_MS(300), TD_MS(301));
}

/* The lease ends a second and a half after the request; half of that the mover sleeps, the rest it oversleeps. */
static void a_stop_that_is_due_takes_from_when_it_was(void **state)
{
	(void)state;
	one_stop_takes(do_nothing, 0, 0, TD_MS(1));
	one_stop_takes(do_nothing, TD_MS(1600), TD_MS(50), TD_MS(1600));
}

/* A release that is read late: the lease had run out long before it was even heard, and that is what counts. */
static void release_when_it_is_over(struct rig *self)
{
	look();
	if (self->step == 0)
		rig_request(self, RULE_DRIVE, AHEAD, 1);
	if (self->step == 1 && self->outputs == rig_bit(RULE_DRIVE, AHEAD)) {
		clock_ns += TD_S(2);
		rig_order(self, (struct td_order){.kind = TD_EVENT_RELEASE, .axis = RULE_DRIVE, .hold = 1});
		self->step = 2;
	} else if (self->step == 2 && self->outputs == 0) {
		rig_signal(self);
	}
	if (self->step == 0)
		self->step = 1;
}

static void what_was_due_earlier_counts_whatever_came_first(void **state)
{
	(void)state;
	rig.script = release_when_it_is_over;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	look();
	assert_int_equal(all_stops(), 1);
	assert_in_range(meter.stops_ns, TD_MS(400), TD_MS(2100));
}

static void a_bound_is_below_what_is_longer(void **state)
{
	static struct td_core core;
	static struct td_metering metering;

	(void)state;
	td_core_init(&core, &rig.rules, clock_ns);
	td_meter_init(&metering, NULL, &core);
	for (unsigned i = 0; i < TD_METER_BOUNDS; i++) {
		assert_true(i == 0 || td_meter_bound_us(i) > td_meter_bound_us(i - 1));
		td_meter_stop(&metering, TD_US(td_meter_bound_us(i)));
		assert_int_equal(metering.meter.stops[i], i == 0 ? 1 : 2);
		td_meter_stop(&metering, TD_US(td_meter_bound_us(i)) + 1);
		assert_int_equal(metering.meter.stops[i + 1], 1);
	}
	assert_int_equal(td_meter_bound_us(TD_METER_BOUNDS - 1), 100000);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(starts_runs_and_stops_are_counted, set_up, tear_down),
		cmocka_unit_test_setup_teardown(what_the_last_run_left_is_told_apart, set_up, tear_down),
		cmocka_unit_test_setup_teardown(while_it_runs_it_is_told_four_times_a_second, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(r8_trips_are_counted_by_axis_and_noise_by_switch, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(nobody_need_want_to_know, set_up, tear_down),
		cmocka_unit_test_setup_teardown(pulses_that_the_core_forgets_stay_counted, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_stop_takes_from_what_demands_it_to_the_lines, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(a_stop_that_is_due_takes_from_when_it_was, set_up, tear_down),
		cmocka_unit_test_setup_teardown(what_was_due_earlier_counts_whatever_came_first, set_up,
						tear_down),
		cmocka_unit_test_setup_teardown(a_bound_is_below_what_is_longer, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

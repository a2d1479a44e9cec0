/* SPDX-License-Identifier: MIT */
/* What the mover tells the service manager, and how it takes a new configuration. */
#include "mover_rig.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/signalfd.h>

#include "tests/support/manager_ear.h"

static struct rig rig;
static struct td_notify notify;
static char told[8192]; /* all that was heard, a message behind the other */

static void hear(void)
{
	const char *heard;

	while ((heard = ear_hear())) {
		size_t used = strlen(told);

		(void)snprintf(told + used, sizeof(told) - used, "%s|", heard);
	}
}

static unsigned count(const char *piece)
{
	unsigned found = 0;

	for (const char *at = told; (at = strstr(at, piece)); at += strlen(piece))
		found++;
	return found;
}

static void open_rig(const char *watchdog_usec)
{
	struct td_error err = {""};

	told[0] = '\0';
	rig_open(&rig);
	ear_open(false);
	if (watchdog_usec)
		setenv("WATCHDOG_USEC", watchdog_usec, 1);
	assert_int_equal(td_notify_open(&notify, &err), 0);
	rig.notify = &notify;
}

static void close_rig(void)
{
	close(notify.fd);
	ear_forget();
	rig_close(&rig);
}

/* --- what is told -------------------------------------------------------------------------------------- */

static void end_at_second_wait(struct rig *self)
{
	if (self->waits == 1) {
		hear();
		assert_string_equal(told, ""); /* no cycle has passed */
	}
	if (self->waits == 2)
		rig_signal(self);
}

static void r16_ready_is_said_after_a_whole_cycle_and_stopping_when_all_is_low(void **state)
{
	(void)state;
	open_rig(NULL);
	rig.script = end_at_second_wait;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	hear();
	assert_string_equal(told, "READY=1\nSTATUS=armed\n|STOPPING=1\nSTATUS=outputs low, ending\n|");
	close_rig();
}

static void r14_why_it_is_not_armed_is_told(void **state)
{
	(void)state;
	open_rig(NULL);
	rig.why_not = "a line pulses\nby itself";
	rig.script = end_at_second_wait;
	assert_int_equal(rig_run(&rig, false), TD_MOVER_ASKED);
	hear();
	assert_int_equal(count("READY=1\nSTATUS=not armed, nothing moves: a line pulses by itself\n"), 1);
	close_rig();
}

static void latch_and_reset(struct rig *self)
{
	hear();
	switch (self->step++) {
	case 2: rig_order(self, (struct td_order){.kind = TD_EVENT_LATCH}); break;
	case 60:
		rig_order(self, (struct td_order){
					.kind = TD_EVENT_RESET, .axis = TD_ALL_AXES, .role = TD_ROLE_KEEPER});
		break;
	case 120: rig_signal(self); break;
	default: break;
	}
}

static void r10_the_latched_stop_is_told_and_its_end(void **state)
{
	(void)state;
	open_rig(NULL);
	rig.script = latch_and_reset;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	hear();
	assert_int_equal(count("STATUS=latched stop, nothing moves until it is reset\n"), 1);
	assert_int_equal(count("STATUS=armed\n"), 2);
	assert_int_equal(count("READY=1"), 1);
	close_rig();
}

/* --- the watchdog ---------------------------------------------------------------------------------------- */

static td_ns begin_ns;
static unsigned waits_at_rest, fed_at_rest;

/* From the fifth second, when all that comes of a start is over, to the fifteenth. */
static void rest(struct rig *self)
{
	hear();
	if (clock_ns < begin_ns + TD_S(5)) {
		waits_at_rest = self->waits;
		fed_at_rest = count("WATCHDOG=1\n");
	}
	if (clock_ns >= begin_ns + TD_S(15))
		rig_signal(self);
}

static void r16_at_rest_it_wakes_for_the_watchdog_alone(void **state)
{
	(void)state;
	begin_ns = clock_ns;
	open_rig("2000000");
	rig.lines.beats = false; /* a heartbeat line wakes it more often */
	rig.script = rest;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	hear();
	assert_in_range(count("WATCHDOG=1\n") - fed_at_rest, 10, 11);
	assert_in_range(rig.waits - waits_at_rest, 10, 12);
	close_rig();
}

/* R7 sees to it that nothing moves; but nobody could ask for anything either. */
static void r16_a_front_that_no_longer_reads_ends_the_run(void **state)
{
	(void)state;
	begin_ns = clock_ns;
	open_rig("2000000");
	rig.deaf_front = true;
	rig.script = rest;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_FRONT_GONE);
	assert_in_range(clock_ns - begin_ns, TD_S(2), TD_S(4));
	close_rig();
}

static void drive_and_deafen_front(struct rig *self)
{
	if (self->waits == 2)
		rig_request(self, RULE_DRIVE, 1, 1);
	if (self->outputs != 0)
		self->deaf_front = true;
}

/* There was nothing against arming, so nothing of the start is the reason. */
static void r14_that_nobody_hears_is_told(void **state)
{
	(void)state;
	open_rig(NULL);
	rig.script = drive_and_deafen_front;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_FRONT_GONE);
	hear();
	assert_int_equal(count("STATUS=not armed, nothing moves: for a moment nobody hears requests\n"), 1);
	close_rig();
}

static void drive_and_deafen_guard(struct rig *self)
{
	if (self->waits == 2)
		rig_request(self, RULE_DRIVE, 1, 1);
	if (self->outputs != 0 && !self->deaf_guard) {
		self->deaf_guard = true;
		begin_ns = clock_ns;
	}
}

static void r16_a_guard_that_no_longer_reads_is_noticed_before_its_socket_is_full(void **state)
{
	(void)state;
	open_rig(NULL);
	rig.script = drive_and_deafen_guard;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_GUARD_GONE);
	assert_int_equal(rig.outputs, 0);
	assert_in_range(clock_ns - begin_ns, TD_MS(50), TD_MS(90));
	close_rig();
}

static unsigned fed_before;

static void lose_lines(struct rig *self)
{
	hear();
	if (self->waits == 3) {
		fed_before = count("WATCHDOG=1\n");
		self->fail_at = self->calls + 1;
		self->fail_on = true;
	}
}

static void r16_a_cycle_that_was_broken_off_feeds_nobody(void **state)
{
	(void)state;
	open_rig("2"); /* it is due in every cycle */
	rig.script = lose_lines;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_LINES_LOST);
	hear();
	assert_int_equal(count("WATCHDOG=1\n"), fed_before);
	assert_true(fed_before >= 1);
	assert_int_equal(count("STOPPING=1\n"), 1);
	close_rig();
}

static void end_after_ten(struct rig *self)
{
	if (self->waits == 10)
		rig_signal(self);
}

static void r16_a_manager_that_does_not_listen_keeps_nobody_waiting(void **state)
{
	struct td_notify_text text = {0};

	(void)state;
	open_rig("2000");
	td_notify_add(&text, "WATCHDOG=1\n");
	while (td_notify_send(&notify, &text))
		;
	rig.script = end_after_ten;
	begin_ns = clock_ns;
	assert_int_equal(rig_run(&rig, true), TD_MOVER_ASKED);
	assert_true(clock_ns - begin_ns >= TD_MS(5)); /* and it does not spin */
	close_rig();
}

/* --- a new configuration --------------------------------------------------------------------------------- */

static uint32_t while_checked; /* outputs at the wait after the signal */
static useconds_t pause_us;    /* real time for the checker, at each wait */

static void move_and_hang_up(struct rig *self)
{
	hear();
	if (self->step == 0 && self->waits == 2) {
		rig_request(self, RULE_DRIVE, 1, 1);
		self->step++;
	} else if (self->step == 1 && self->outputs != 0) {
		assert_int_equal(kill(getpid(), SIGHUP), 0);
		self->step++;
	} else if (self->step == 2) {
		while_checked = self->outputs;
		self->step++;
	} else if (self->step == 3) {
		if (count("READY=1") == 2)
			assert_int_equal(kill(getpid(), SIGTERM), 0);
		usleep(pause_us);
	}
}

/* The rig's descriptor for signals becomes a real one. */
static void take_signals(void)
{
	sigset_t set;
	int fd;

	sigemptyset(&set);
	sigaddset(&set, SIGHUP);
	sigaddset(&set, SIGTERM);
	assert_int_equal(sigprocmask(SIG_BLOCK, &set, NULL), 0);
	fd = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
	assert_true(fd >= 0);
	assert_true(dup2(fd, rig.signal_fd) >= 0);
	close(fd);
}

static enum td_mover_end run_with(char *const *check, useconds_t pause)
{
	open_rig(NULL);
	take_signals();
	pause_us = pause;
	rig.check = check;
	rig.script = move_and_hang_up;
	while_checked = UINT32_MAX;
	enum td_mover_end end = rig_run(&rig, true);

	hear();
	if (rig.step > 2)                           /* the checker was not faster than the next wait */
		assert_int_equal(while_checked, 0); /* motion stopped before anything was checked */
	assert_int_equal(rig.outputs, 0);
	assert_int_equal(count("RELOADING=1\nMONOTONIC_USEC="), 1);
	close_rig();
	return end;
}

static void is_refused_and_goes_on(char *const *check, useconds_t pause)
{
	assert_int_equal(run_with(check, pause), TD_MOVER_ASKED);
	assert_int_equal(while_checked, 0);
	assert_int_equal(
		count("READY=1\nSTATUS=the new configuration was refused (the log says why), the old one "
		      "is in force; armed\n"),
		1);
	assert_int_equal(count("STOPPING=1"), 1);
}

static void r14_a_good_configuration_ends_the_run_for_a_new_one(void **state)
{
	static char program[] = "/bin/true";
	char *const check[] = {program, NULL};

	(void)state;
	assert_int_equal(run_with(check, 2000), TD_MOVER_RELOAD);
	assert_int_equal(count("READY=1"), 1); /* the next run says it again */
	assert_int_equal(count("STOPPING=1"), 0);
}

static void r14_a_bad_configuration_leaves_the_old_one_in_force(void **state)
{
	static char program[] = "/bin/false";
	char *const check[] = {program, NULL};

	(void)state;
	is_refused_and_goes_on(check, 2000);
}

static void r14_a_check_that_takes_too_long_counts_as_refused(void **state)
{
	static char program[] = "/bin/sleep";
	static char span[] = "1000";
	char *const check[] = {program, span, NULL};

	(void)state;
	is_refused_and_goes_on(check, 0);
}

static void r14_a_check_that_cannot_start_counts_as_refused(void **state)
{
	static char program[] = "/no/such/program";
	char *const check[] = {program, NULL};

	(void)state;
	is_refused_and_goes_on(check, 0);
	is_refused_and_goes_on(NULL, 0);
}

static void hang_up_at_rest(struct rig *self)
{
	if (self->step == 0 && self->waits == 2) {
		assert_int_equal(kill(getpid(), SIGHUP), 0);
		self->step = 2;
	} else {
		move_and_hang_up(self);
	}
}

static void r14_that_it_is_not_armed_is_told_after_a_refusal_too(void **state)
{
	static char program[] = "/bin/false";
	char *const check[] = {program, NULL};

	(void)state;
	open_rig(NULL);
	take_signals();
	pause_us = 2000;
	rig.check = check;
	rig.script = hang_up_at_rest;
	assert_int_equal(rig_run(&rig, false), TD_MOVER_ASKED);
	hear();
	assert_int_equal(count("the old one is in force; not armed, nothing moves\n"), 1);
	close_rig();
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r16_ready_is_said_after_a_whole_cycle_and_stopping_when_all_is_low),
		cmocka_unit_test(r14_why_it_is_not_armed_is_told),
		cmocka_unit_test(r10_the_latched_stop_is_told_and_its_end),
		cmocka_unit_test(r16_at_rest_it_wakes_for_the_watchdog_alone),
		cmocka_unit_test(r16_a_front_that_no_longer_reads_ends_the_run),
		cmocka_unit_test(r14_that_nobody_hears_is_told),
		cmocka_unit_test(r16_a_guard_that_no_longer_reads_is_noticed_before_its_socket_is_full),
		cmocka_unit_test(r16_a_cycle_that_was_broken_off_feeds_nobody),
		cmocka_unit_test(r16_a_manager_that_does_not_listen_keeps_nobody_waiting),
		cmocka_unit_test(r14_a_good_configuration_ends_the_run_for_a_new_one),
		cmocka_unit_test(r14_a_bad_configuration_leaves_the_old_one_in_force),
		cmocka_unit_test(r14_a_check_that_takes_too_long_counts_as_refused),
		cmocka_unit_test(r14_a_check_that_cannot_start_counts_as_refused),
		cmocka_unit_test(r14_that_it_is_not_armed_is_told_after_a_refusal_too),
	};

	return cmocka_run_group_tests_name("mover and service manager", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* Chips that go away while their lines are held. Runs inside the test machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "daemon/exit_codes.h"
#include "sim/child.h"
#include "tests/kernel/cart.h"
#include "tests/kernel/glasshouse.h"
#include "tests/support/manager_ear.h"

static void r15_a_chip_that_goes_away_wakes_and_is_gone(void **state)
{
	struct td_lines_edge edge;
	uint32_t word;

	(void)state;
	cart_want_the_usual();
	cart_open_lines();
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0xf), 0);
	td_ns before = cart_now();

	sim_chip_unplug(&stage.cart);
	assert_true(cart_wakes_within(1000));
	assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), TD_LINES_GONE);
	print_message("# measured: %lld us from unplugging to the answer\n",
		      (long long)(cart_now() - before) / 1000);
	assert_int_equal(stage.lines->ops->get(stage.lines, &word), TD_LINES_GONE);
	assert_int_equal(stage.lines->ops->set(stage.lines, 0xf, 0), TD_LINES_GONE);
	assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), TD_LINES_GONE);
	assert_false(sim_level(&stage.mast, 0)); /* the chip that is left was cleared all the same */
	stage.lines->ops->close(stage.lines);
	stage.lines = NULL;
	sim_chip_forget(&stage.cart);
	cart_plug(sim_unplug_prefix());
	cart_open_lines(); /* and it can be had again when it is back */
}

static void r15_a_chip_with_outputs_alone_that_goes_away_is_gone(void **state)
{
	struct td_lines_edge edge;

	(void)state;
	cart_want_output("boom lower", "mast", 0, "");
	cart_want_input("boom_top", stage.cart.label, 4, "", TD_GPIO_PULL_UP);
	cart_open_lines();
	sim_chip_unplug(&stage.mast);
	assert_true(cart_wakes_within(1000));
	assert_int_equal(stage.lines->ops->next_edge(stage.lines, &edge), TD_LINES_GONE);
	assert_int_equal(stage.lines->ops->set(stage.lines, 1, 1), TD_LINES_GONE);
}

/* The daemon alone, under a service manager that the test plays. */
static void start_daemon_that_waits(void)
{
	const char *const argv[] = {stage_program("tripdogd"), "--config", house.stage.config, NULL};
	char log[sizeof(house.stage.dir) + 16];
	struct td_error err;

	(void)snprintf(log, sizeof(log), "%s/daemon.log", house.stage.dir);
	house.stage.daemon = td_child_start(argv, log, &err);
	assert_true(house.stage.daemon > 0);
}

static void r15_a_chip_that_goes_away_ends_the_daemon_and_a_new_one_waits_for_it(void **state)
{
	const char *told;
	char label[32];

	(void)state;
	assert_string_equal(stage_request(house.stage.keeper, "boom", "raise", 1, 0, 1500), "started");
	sim_chip_unplug(&house.chip);
	assert_int_equal(td_child_wait(house.stage.daemon, TD_S(2)), TD_EXIT_LINES);
	td_link_close(house.stage.keeper);
	house.stage.keeper = NULL;
	ear_open(true);
	start_daemon_that_waits();
	told = ear_wait(TD_S(2));
	assert_non_null(told);
	assert_non_null(strstr(told, "STATUS=waiting for a chip: "));
	assert_non_null(strstr(told, "shows no GPIO chip"));
	assert_int_equal(td_child_wait(house.stage.daemon, TD_MS(300)), -1); /* and goes on waiting */
	(void)snprintf(label, sizeof(label), "%s", house.chip.label);
	sim_chip_forget(&house.chip);
	td_ns plugged_ns = cart_now();

	sim_chip_add(&house.chip, label, LINES, NULL);
	assert_true(ear_wait_for("READY=1", NULL, TD_S(5)) >= 0);
	print_message("# measured: %lld ms from plugging in to ready\n",
		      (long long)(cart_now() - plugged_ns) / 1000000);
	assert_int_equal(glasshouse_outputs(), 0);
	ear_forget();
}

static void r15_who_waits_for_a_chip_can_be_asked_to_end(void **state)
{
	(void)state;
	assert_int_equal(stage_end_daemon(&house.stage), TD_EXIT_OK);
	sim_chip_unplug(&house.chip);
	ear_open(true);
	start_daemon_that_waits();
	assert_non_null(ear_wait(TD_S(2)));
	assert_int_equal(td_child_end(house.stage.daemon), TD_EXIT_OK);
	house.stage.daemon = 0;
	ear_forget();
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, cart_set_up_to_unplug, cart_tear_down)
#define TEST_DAEMON(name)                                                                                    \
	cmocka_unit_test_setup_teardown(name, glasshouse_set_up_to_unplug, glasshouse_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r15_a_chip_that_goes_away_wakes_and_is_gone),
		TEST(r15_a_chip_with_outputs_alone_that_goes_away_is_gone),
		TEST_DAEMON(r15_a_chip_that_goes_away_ends_the_daemon_and_a_new_one_waits_for_it),
		TEST_DAEMON(r15_who_waits_for_a_chip_can_be_asked_to_end),
	};

	return cmocka_run_group_tests_name("chips that go away", tests, NULL, NULL);
}

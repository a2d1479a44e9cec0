/* SPDX-License-Identifier: MIT */
/* R14: what keeps a machine from being armed, over a made-up sysfs and a chip seam in memory. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/arming.h"
#include "lines/gpio.h"
#include "tests/support/gpio_fake.h"

#define OLD_PARAMETER "module/pinctrl_bcm2835/parameters/persist_gpio_outputs"
#define NEW_PARAMETER "module/pinctrl_rp1/parameters/persist_gpio_outputs"
#define MODEL         "firmware/devicetree/base/model"

static char sysfs[64];
static struct td_config config;
static struct td_arming arming;
static struct td_lines *lines;

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *where)
{
	(void)info;
	(void)kind;
	(void)where;
	return remove(path);
}

static void close_lines(void)
{
	if (lines)
		lines->ops->close(lines);
	lines = NULL;
}

/* One axis, "boom", ways "lower" and "raise", on the lines 9 and 10 of a Raspberry Pi 4. */
static int set_up(void **state)
{
	(void)state;
	fake_reset();
	(void)snprintf(fake.chip[0].label, TD_GPIO_TEXT_MAX, "pinctrl-bcm2711");
	memset(&config, 0, sizeof(config));
	config.axes = 1;
	(void)snprintf(config.axis[0].name, TD_NAME_MAX, "boom");
	(void)snprintf(config.axis[0].way_name[0], TD_NAME_MAX, "lower");
	(void)snprintf(config.axis[0].way_name[1], TD_NAME_MAX, "raise");
	for (uint32_t way = 0; way < TD_WAYS; way++) {
		struct td_place *place = &config.axis[0].input[way];

		(void)snprintf(place->chip, TD_PLACE_MAX, "pinctrl-bcm2711");
		place->offset = 9 + way;
		place->file_line = 20 + (int)way;
	}
	(void)snprintf(sysfs, sizeof(sysfs), "/tmp/tripdog-sysfs-XXXXXX");
	return mkdtemp(sysfs) ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	close_lines();
	return nftw(sysfs, remove_one, 8, FTW_DEPTH | FTW_PHYS) || fake.open_chips || fake.open_groups;
}

static const char *sysfs_path(const char *name)
{
	static char path[256];

	(void)snprintf(path, sizeof(path), "%s/%s", sysfs, name);
	return path;
}

static void make_directories(const char *name)
{
	char part[256];

	for (const char *slash = strchr(name, '/'); slash; slash = strchr(slash + 1, '/')) {
		(void)snprintf(part, sizeof(part), "%s/%.*s", sysfs, (int)(slash - name), name);
		if (mkdir(part, 0700) != 0 && errno != EEXIST)
			fail_msg("cannot make %s", part);
	}
}

static void says(const char *name, const char *text)
{
	make_directories(name);
	FILE *out = fopen(sysfs_path(name), "w");

	assert_non_null(out);
	(void)fputs(text, out);
	(void)fclose(out);
}

static void check(void)
{
	struct td_lines_gpio_request request;
	struct td_error err = {""};

	if (config.backend == TD_BACKEND_GPIO) {
		td_lines_gpio_wanted(&config, "cart.conf", &request);
		lines = td_lines_gpio_open(&request, &err);
		if (!lines)
			fail_msg("%s", err.text);
	}
	td_arming_check(&config, "cart.conf", lines, sysfs, &arming);
	close_lines();
}

static void expect_in(const struct td_sentences *sentences, unsigned at, const char *part)
{
	assert_true(at < sentences->count);
	if (!strstr(sentences->sentence[at].text, part))
		fail_msg("no '%s' in '%s'", part, sentences->sentence[at].text);
	assert_null(strstr(sentences->sentence[at].text, "...")); /* nothing was cut off */
}

/* --- outputs that outlive their process -------------------------------------------------------------- */

static void r14_a_machine_that_says_nothing_is_armed(void **state)
{
	(void)state;
	check();
	assert_int_equal(arming.why_not.count, 0);
	assert_int_equal(arming.accepted.count, 0);
}

static void r14_outputs_that_go_with_their_process_are_no_reason(void **state)
{
	(void)state;
	says(OLD_PARAMETER, "N\n");
	says(NEW_PARAMETER, "N\n");
	says(MODEL, "Raspberry Pi 5 Model B Rev 1.0");
	check();
	assert_int_equal(arming.why_not.count, 0);
	assert_int_equal(arming.accepted.count, 0);
}

static void r14_outputs_that_outlive_their_process_are_refused_with_the_remedy(void **state)
{
	static const char *const parameters[] = {OLD_PARAMETER, NEW_PARAMETER};
	static const char *const drivers[] = {"pinctrl_bcm2835", "pinctrl_rp1"};

	for (int i = 0; i < 2; i++) {
		char option[64];

		(void)snprintf(option, sizeof(option), "%s.persist_gpio_outputs=n", drivers[i]);
		says(parameters[i], "Y\n");
		says(parameters[1 - i], "N\n");
		check();
		assert_int_equal(arming.why_not.count, 1);
		expect_in(&arming.why_not, 0, parameters[i]);
		expect_in(&arming.why_not, 0, "a motor may run on after a crash");
		expect_in(&arming.why_not, 0, "dtparam=strict_gpiod into config.txt");
		expect_in(&arming.why_not, 0, option);
		expect_in(&arming.why_not, 0, "pull-downs at the bridge inputs");
		assert_int_equal(arming.accepted.count, 0);
	}
	(void)state;
}

static void r14_both_drivers_give_a_reason_each(void **state)
{
	(void)state;
	says(OLD_PARAMETER, "Y\n");
	says(NEW_PARAMETER, "Y\n");
	check();
	assert_int_equal(arming.why_not.count, 2);
}

static void r14_accepted_outliving_outputs_arm_and_are_told(void **state)
{
	(void)state;
	config.outliving_outputs = TD_OUTLIVING_ACCEPT;
	says(OLD_PARAMETER, "Y\n");
	check();
	assert_int_equal(arming.why_not.count, 0);
	assert_int_equal(arming.accepted.count, 1);
	expect_in(&arming.accepted, 0, "a motor may run on after a crash");
	expect_in(&arming.accepted, 0, "accepted by outliving_outputs = accept");
}

static void r14_a_parameter_that_says_something_else_is_a_reason(void **state)
{
	static const char *const texts[] = {"", "\n", "y\n", "1\n", "0\n", "Yes\n", "NN\n", "\377\n"};

	(void)state;
	for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); i++) {
		says(OLD_PARAMETER, texts[i]);
		check();
		assert_int_equal(arming.why_not.count, 1);
		expect_in(&arming.why_not, 0, "cannot be told");
	}
}

static void r14_a_parameter_that_cannot_be_read_is_a_reason(void **state)
{
	(void)state;
	make_directories(OLD_PARAMETER "/"); /* a directory where the file should be */
	check();
	assert_int_equal(arming.why_not.count, 1);
	expect_in(&arming.why_not, 0, "cannot be told");
	expect_in(&arming.why_not, 0, strerror(EISDIR));
}

static void r14_a_raspberry_pi_that_does_not_say_is_a_reason(void **state)
{
	static const char *const models[] = {"Raspberry Pi 4 Model B Rev 1.4",
					     "Raspberry Pi Compute Module 4", "Raspberry Pi"};

	(void)state;
	for (size_t i = 0; i < sizeof(models) / sizeof(models[0]); i++) {
		says(MODEL, models[i]);
		check();
		assert_int_equal(arming.why_not.count, 1);
		expect_in(&arming.why_not, 0, models[i]);
		expect_in(&arming.why_not, 0, "dtparam=strict_gpiod");
	}
	config.outliving_outputs = TD_OUTLIVING_ACCEPT;
	check();
	assert_int_equal(arming.why_not.count, 0);
	assert_int_equal(arming.accepted.count, 1);
}

static void r14_another_computer_is_no_reason(void **state)
{
	static const char *const models[] = {"Glasshouse Computer 3", "Raspberry", "raspberry pi", ""};

	(void)state;
	for (size_t i = 0; i < sizeof(models) / sizeof(models[0]); i++) {
		says(MODEL, models[i]);
		check();
		assert_int_equal(arming.why_not.count, 0);
	}
}

static void r14_a_model_that_cannot_be_read_is_a_reason(void **state)
{
	(void)state;
	make_directories(MODEL "/");
	check();
	assert_int_equal(arming.why_not.count, 1);
	expect_in(&arming.why_not, 0, "cannot be told");
}

/* --- the bench --------------------------------------------------------------------------------------- */

static void r14_on_the_bench_only_what_is_asked_for_is_looked_at(void **state)
{
	(void)state;
	config.backend = TD_BACKEND_BENCH;
	says(OLD_PARAMETER, "Y\n");
	td_arming_check(&config, "cart.conf", NULL, NULL, &arming);
	assert_int_equal(arming.why_not.count, 0);
	td_arming_check(&config, "cart.conf", NULL, sysfs, &arming);
	assert_int_equal(arming.why_not.count, 1);
}

/* --- lines the computer drives by itself ------------------------------------------------------------- */

static void r14_bridge_inputs_on_lines_that_rise_by_themselves_are_refused(void **state)
{
	unsigned refused = 0;

	(void)state;
	for (uint32_t offset = 0; offset <= 27; offset++) {
		bool pulled = offset <= 8;
		bool console = offset == 14 || offset == 15;

		config.axis[0].input[0].offset = 31;
		config.axis[0].input[1].offset = offset;
		check();
		assert_int_equal(arming.why_not.count, pulled || console);
		assert_int_equal(arming.accepted.count, 0);
		if (!pulled && !console)
			continue;
		refused++;
		expect_in(&arming.why_not, 0, "cart.conf:21: boom raise is on line ");
		expect_in(&arming.why_not, 0, pulled ? "pulled up from power-on" : "serial console");
		expect_in(&arming.why_not, 0, "9 to 13 or 16 to 27");
		expect_in(&arming.why_not, 0, "accept_risky_line = yes");
	}
	assert_int_equal(refused, 11);
}

static void r14_the_three_kinds_of_raspberry_chips_are_known(void **state)
{
	static const struct {
		const char *label;
		unsigned reasons;
	} chips[] = {{"pinctrl-bcm2835", 1},  {"pinctrl-bcm2711", 1}, {"pinctrl-rp1", 1}, {"cart", 0},
		     {"pinctrl-bcm2711x", 0}, {"pinctrl-bcm", 0}};

	(void)state;
	for (size_t i = 0; i < sizeof(chips) / sizeof(chips[0]); i++) {
		(void)snprintf(fake.chip[0].label, TD_GPIO_TEXT_MAX, "%s", chips[i].label);
		for (int way = 0; way < TD_WAYS; way++)
			(void)snprintf(config.axis[0].input[way].chip, TD_PLACE_MAX, "%s", chips[i].label);
		config.axis[0].input[1].offset = 5;
		check();
		assert_int_equal(arming.why_not.count, chips[i].reasons);
	}
}

static void r14_a_line_given_by_name_counts_with_its_number(void **state)
{
	(void)state;
	fake_name(0, 5, "BOOM_RAISE");
	memset(config.axis[0].input[1].chip, 0, TD_PLACE_MAX);
	(void)snprintf(config.axis[0].input[1].name, TD_PLACE_MAX, "BOOM_RAISE");
	check();
	assert_int_equal(arming.why_not.count, 1);
	expect_in(&arming.why_not, 0, "boom raise is on line 5 of \"pinctrl-bcm2711\"");
}

static void r14_a_risky_line_is_accepted_by_name_and_told(void **state)
{
	(void)state;
	config.axis[0].input[0].offset = 14;
	config.axis[0].input[1].offset = 5;
	config.axis[0].accept_risky_line[1] = true;
	check();
	assert_int_equal(arming.why_not.count, 1);
	expect_in(&arming.why_not, 0, "boom lower is on line 14");
	assert_int_equal(arming.accepted.count, 1);
	expect_in(&arming.accepted, 0, "boom raise is on line 5");
	expect_in(&arming.accepted, 0, "accepted by accept_risky_line = yes");
}

static void r14_accepting_one_risk_accepts_no_other(void **state)
{
	(void)state;
	config.outliving_outputs = TD_OUTLIVING_ACCEPT;
	config.axis[0].input[1].offset = 5;
	says(OLD_PARAMETER, "Y\n");
	check();
	assert_int_equal(arming.why_not.count, 1);
	assert_int_equal(arming.accepted.count, 1);
	config.outliving_outputs = TD_OUTLIVING_REFUSE;
	config.axis[0].accept_risky_line[1] = true;
	check();
	assert_int_equal(arming.why_not.count, 1);
	expect_in(&arming.why_not, 0, "a motor may run on after a crash");
}

static void r14_a_heartbeat_on_a_line_that_pulses_by_itself_is_refused(void **state)
{
	(void)state;
	config.has_heartbeat = true;
	(void)snprintf(config.heartbeat.chip, TD_PLACE_MAX, "pinctrl-bcm2711");
	config.heartbeat.file_line = 7;
	for (uint32_t offset = 0; offset <= 27; offset++) {
		bool pulses = offset <= 1 || offset == 14 || offset == 15;

		if (offset == 9 || offset == 10) /* the boom's */
			continue;
		config.heartbeat.offset = offset;
		check();
		assert_int_equal(arming.why_not.count, pulses);
		if (pulses)
			expect_in(&arming.why_not, 0, "cart.conf:7: the heartbeat is on line ");
	}
}

/* The most reasons there can be fit. */
static void r14_every_reason_is_told(void **state)
{
	(void)state;
	says(OLD_PARAMETER, "Y\n");
	says(NEW_PARAMETER, "Y\n");
	for (unsigned axis = 0; axis < 4; axis++) {
		config.axis[axis] = config.axis[0];
		config.axis[axis].input[0].offset = 2 * axis;
		config.axis[axis].input[1].offset = 2 * axis + 1;
	}
	config.axes = 4;
	check();
	assert_int_equal(arming.why_not.count, 2 + 8);
	assert_true(TD_ARMING_MAX >= TD_AXES_MAX * TD_WAYS + 3);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(r14_a_machine_that_says_nothing_is_armed),
		TEST(r14_outputs_that_go_with_their_process_are_no_reason),
		TEST(r14_outputs_that_outlive_their_process_are_refused_with_the_remedy),
		TEST(r14_both_drivers_give_a_reason_each),
		TEST(r14_accepted_outliving_outputs_arm_and_are_told),
		TEST(r14_a_parameter_that_says_something_else_is_a_reason),
		TEST(r14_a_parameter_that_cannot_be_read_is_a_reason),
		TEST(r14_a_raspberry_pi_that_does_not_say_is_a_reason),
		TEST(r14_another_computer_is_no_reason),
		TEST(r14_a_model_that_cannot_be_read_is_a_reason),
		TEST(r14_on_the_bench_only_what_is_asked_for_is_looked_at),
		TEST(r14_bridge_inputs_on_lines_that_rise_by_themselves_are_refused),
		TEST(r14_the_three_kinds_of_raspberry_chips_are_known),
		TEST(r14_a_line_given_by_name_counts_with_its_number),
		TEST(r14_a_risky_line_is_accepted_by_name_and_told),
		TEST(r14_accepting_one_risk_accepts_no_other),
		TEST(r14_a_heartbeat_on_a_line_that_pulses_by_itself_is_refused),
		TEST(r14_every_reason_is_told),
	};

	return cmocka_run_group_tests_name("arming", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* Reading a plant file: what it gives, and what it says when something is wrong. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "config/key_table.h"
#include "sim/plant_config.h"
#include "sim/plant_keys.h"
#include "tests/support/cart.h"

static const char good[] =
	"[plant]\nbounce_us = 900\nseed = 7\n"
	"[motor drive]\nends = free\ntravel_ms = 4000\n"
	"[motor boom]\ntravel_ms = 1500 2000\nspeed_up_ms = 41\ncoast_ms = 26\nbrake_ms = 11\n"
	"switch_percent = 5\nteeth_per_s = 61\njam_teeth_per_s = 0\nstart_percent = 30\n";

static bool read_text(const char *text, size_t length, struct td_plant_model *model,
		      struct td_config_faults *faults)
{
	struct td_config config = cart_config();

	return td_plant_config_read_text(text, length, "x.plant", &config, model, faults);
}

static void a_good_file_gives_every_value(void **state)
{
	(void)state;
	struct td_plant_model model;
	struct td_config_faults faults;

	assert_true(read_text(good, strlen(good), &model, &faults));
	const struct td_plant_motor *boom = &model.motor[CART_BOOM];
	assert_int_equal(model.motors, CART_AXES);
	assert_int_equal(model.switches, CART_SWITCHES);
	assert_int_equal(model.bounce_ns, TD_US(900));
	assert_int_equal(model.seed, 7);
	assert_false(model.motor[CART_DRIVE].ends);
	assert_int_equal(model.motor[CART_DRIVE].travel_ns[0], TD_S(4));
	assert_int_equal(model.motor[CART_DRIVE].travel_ns[1], TD_S(4));
	assert_true(boom->ends);
	assert_int_equal(boom->travel_ns[0], TD_MS(1500));
	assert_int_equal(boom->travel_ns[1], TD_MS(2000));
	assert_int_equal(boom->speed_up_ns, TD_MS(41));
	assert_int_equal(boom->coast_ns, TD_MS(26));
	assert_int_equal(boom->brake_ns, TD_MS(11));
	assert_true(boom->switch_share == 0.05);
	assert_true(boom->teeth_per_s == 61);
	assert_true(boom->jam_teeth_per_s == 0);
	assert_true(boom->start == 0.3);
	assert_int_equal(boom->end_switch[0], CART_BOTTOM);
	assert_int_equal(boom->end_switch[1], CART_TOP);
}

static void contacts_and_pulls_come_from_the_configuration(void **state)
{
	(void)state;
	struct td_config config = cart_config();
	struct td_plant_model model;
	struct td_config_faults faults;

	config.rules.sw[CART_TOP].contact = TD_CONTACT_NO;
	config.rules.sw[CART_STOP].pull = TD_PULL_DOWN;
	assert_true(td_plant_config_read_text(good, strlen(good), "x", &config, &model, &faults));
	assert_int_equal(model.sw[CART_TOP].contact, TD_CONTACT_NO);
	assert_int_equal(model.sw[CART_BOTTOM].contact, TD_CONTACT_NC);
	assert_int_equal(model.sw[CART_STOP].pull, TD_PULL_DOWN);
}

static void what_a_file_leaves_out_has_the_default_of_the_table(void **state)
{
	(void)state;
	static const char text[] = "[motor boom]\ntravel_ms = 900\n[motor drive]\ntravel_ms = 10\n";
	struct td_plant_model model;
	struct td_config_faults faults;
	int64_t number[TD_WAYS];

	assert_true(read_text(text, strlen(text), &model, &faults));
	assert_true(td_plant_key_value(TD_PLANT_KEY_COAST, td_plant_key_info(TD_PLANT_KEY_COAST)->fallback,
				       number));
	assert_int_equal(model.motor[CART_BOOM].coast_ns, TD_MS(number[0]));
	assert_true(model.motor[CART_BOOM].ends);
	assert_true(td_plant_key_value(TD_PLANT_KEY_BOUNCE, td_plant_key_info(TD_PLANT_KEY_BOUNCE)->fallback,
				       number));
	assert_int_equal(model.bounce_ns, TD_US(number[0]));
}

static void mark_carriage_returns_indents_and_comments_are_accepted(void **state)
{
	(void)state;
	static const char text[] =
		"\xef\xbb\xbf# a comment\r\n  [motor boom]\r\n\ttravel_ms = 900 ; comment\r\n\r\n"
		"[motor drive]\r\ntravel_ms=10\r\n; end";
	struct td_plant_model model;
	struct td_config_faults faults;

	assert_true(read_text(text, strlen(text), &model, &faults));
	assert_int_equal(model.motor[CART_BOOM].travel_ns[1], TD_MS(900));
}

#define DRIVE "[motor drive]\ntravel_ms = 4000\nends = free\n" /* lines 1 to 3 */
#define BOTH  DRIVE "[motor boom]\ntravel_ms = 1500\n"         /* lines 1 to 5 */

static const struct bad {
	const char *text;
	const char *says[3]; /* one for each fault, in this order */
} bad[] = {
	{"", {"x.plant: axis 'drive' of the configuration has no motor", "axis 'boom' of the configuration"}},
	{DRIVE, {"x.plant: axis 'boom' of the configuration has no motor; add [motor boom]"}},
	{DRIVE "[motor boom]\n", {"x.plant:4: [motor boom] lacks the key 'travel_ms'; add it"}},
	{BOTH "[motor bomm]\n", {"x.plant:6: the configuration has no axis 'bomm'; did you mean 'boom'?"}},
	{BOTH "[motor elephant]\n", {"x.plant:6: the configuration has no axis 'elephant'; rename"}},
	{BOTH "[motor boom]\n", {"x.plant:6: the section stands twice, first in line 4"}},
	{BOTH "[engine boom]\n", {"x.plant:6: unknown section; allowed: [plant] and [motor AXIS]"}},
	{BOTH "[motor boom drive]\n", {"x.plant:6: unknown section"}},
	{BOTH "[plant boom]\n", {"x.plant:6: unknown section"}},
	{BOTH "[]\n", {"x.plant:6: unknown section"}},
	{BOTH "[plant\n", {"x.plant:6: not a heading"}},
	{BOTH "[plant] seed = 1\n", {"x.plant:6: not a heading"}},
	{BOTH "[ghost]\nseed = x\nwhat = 1\n", {"x.plant:6: unknown section"}},
	{"seed = 1\n" BOTH, {"x.plant:1: key 'seed' stands before the first section"}},
	{BOTH "travel_ms = 1600\n",
	 {"x.plant:6: key 'travel_ms' stands twice in this section, first in line 5"}},
	{BOTH "coast_sm = 5\n",
	 {"x.plant:6: unknown key 'coast_sm' in [motor AXIS]; did you mean 'coast_ms'?"}},
	{BOTH "weight = 5\n", {"x.plant:6: unknown key 'weight' in [motor AXIS]; remove it"}},
	{BOTH "seed = 5\n", {"x.plant:6: unknown key 'seed' in [motor AXIS]"}},
	{BOTH "= 5\n", {"x.plant:6: unknown key ''"}},
	{BOTH "coast_ms\n", {"x.plant:6: neither a heading nor a key"}},
	{BOTH "coast_ms =\n", {"x.plant:6: '' is no value for coast_ms; allowed: 0 to 10000 ms"}},
	{BOTH "coast_ms = -1\n", {"x.plant:6: '-1' is no value"}},
	{BOTH "coast_ms = 1.5\n", {"x.plant:6: '1.5' is no value"}},
	{BOTH "coast_ms = 05\n", {"x.plant:6: '05' is no value"}},
	{BOTH "coast_ms = 5 6\n", {"x.plant:6: '5 6' is no value"}},
	{BOTH "coast_ms = 5ms\n", {"x.plant:6: '5ms' is no value"}},
	{BOTH "coast_ms = 99999999999999999999999\n", {"x.plant:6: '99999999999999999999999' is no value"}},
	{BOTH "ends = soft\n", {"x.plant:6: 'soft' is no value for ends; allowed: free or hard"}},
	{BOTH "ends = free\n", {"x.plant:6: axis 'boom' has end switches"}},
	{DRIVE "[motor boom]\ntravel_ms = 1 2\n",
	 {"x.plant:5: '1 2' is no value for travel_ms; allowed: one or two"}},
	{DRIVE "[motor boom]\ntravel_ms = 10 20 30\n", {"x.plant:5: '10 20 30' is no value"}},
	{BOTH "\x01\n", {"x.plant:6: "}},
	{BOTH "\xff\xfe\n", {"x.plant:6: "}},
	{BOTH "a = b\nstart_percent = 101\n[plant]\nbounce_us = x\n",
	 {"x.plant:6: unknown key 'a'", "x.plant:7: '101' is no value", "x.plant:9: 'x' is no value"}},
};

static void every_fault_is_named_with_its_line(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
		struct td_plant_model model;
		struct td_config_faults faults;
		size_t count = 0;

		assert_false(read_text(bad[i].text, strlen(bad[i].text), &model, &faults));
		for (; count < 3 && bad[i].says[count]; count++)
			if (!strstr(faults.fault[count].text, bad[i].says[count]))
				fail_msg("row %zu: \"%s\", wanted \"%s\"", i, faults.fault[count].text,
					 bad[i].says[count]);
		if (faults.count != count)
			fail_msg("row %zu: %zu faults; the next is \"%s\"", i, faults.count,
				 faults.fault[count].text);
		assert_int_equal(model.motors, 0);
	}
}

/* One line for `key` with `value`; true if the file is accepted with it. */
static bool accepts(enum td_plant_key key, int64_t value)
{
	const struct td_plant_key_info *info = td_plant_key_info(key);
	struct td_plant_model model;
	struct td_config_faults faults;
	char text[512];

	if (info->section == TD_PLANT_SECTION_PLANT)
		(void)snprintf(text, sizeof(text), BOTH "[plant]\n%s = %lld\n", info->name, (long long)value);
	else if (key == TD_PLANT_KEY_TRAVEL)
		(void)snprintf(text, sizeof(text), DRIVE "[motor boom]\n%s = %lld\n", info->name,
			       (long long)value);
	else
		(void)snprintf(text, sizeof(text), BOTH "%s = %lld\n", info->name, (long long)value);
	return read_text(text, strlen(text), &model, &faults);
}

static void the_range_of_every_number_holds_at_both_ends(void **state)
{
	(void)state;
	int checked = 0;

	for (unsigned int i = 0; i < TD_PLANT_KEYS; i++) {
		enum td_plant_key key = (enum td_plant_key)i;
		const struct td_plant_key_info *info = td_plant_key_info(key);

		if (info->form == TD_PLANT_ENDS)
			continue;
		assert_true(accepts(key, info->min));
		assert_true(accepts(key, info->max));
		assert_false(accepts(key, info->min - 1));
		assert_false(accepts(key, info->max + 1));
		checked++;
	}
	assert_int_equal(checked, TD_PLANT_KEYS - 1);
}

static void every_default_is_a_good_value(void **state)
{
	(void)state;
	for (unsigned int key = 0; key < TD_PLANT_KEYS; key++) {
		const char *fallback = td_plant_key_info((enum td_plant_key)key)->fallback;
		int64_t number[TD_WAYS];

		assert_true(!fallback || td_plant_key_value((enum td_plant_key)key, fallback, number));
	}
}

static void a_file_that_is_too_large_is_refused(void **state)
{
	(void)state;
	char *text = malloc(TD_CONFIG_FILE_MAX + 1);
	struct td_plant_model model;
	struct td_config_faults faults;

	assert_non_null(text);
	memset(text, '\n', TD_CONFIG_FILE_MAX + 1);
	assert_false(read_text(text, TD_CONFIG_FILE_MAX + 1, &model, &faults));
	assert_non_null(strstr(faults.fault[0].text, "x.plant: the file is too large"));
	free(text);
}

static void a_file_that_is_not_there_is_a_fault(void **state)
{
	(void)state;
	struct td_config config = cart_config();
	struct td_plant_model model;
	struct td_config_faults faults;

	assert_false(td_plant_config_read("no/such.plant", &config, &model, &faults));
	assert_int_equal(faults.count, 1);
	assert_non_null(strstr(faults.fault[0].text, "no/such.plant: cannot be read: No such file"));
	assert_false(td_plant_config_read("docs", &config, &model, &faults));
	assert_int_equal(faults.count, 1);
}

static void any_prefix_and_any_odd_byte_is_survived(void **state)
{
	(void)state;
	static const char odd[] = {'\0', '\xff', '[', ']', '=', '\n', ' ', '\xc3'};
	struct td_plant_model model;
	struct td_config_faults faults;
	char text[sizeof(good)];

	for (size_t length = 0; length < strlen(good); length++)
		(void)read_text(good, length, &model, &faults);
	for (size_t at = 0; at < strlen(good); at++)
		for (size_t i = 0; i < sizeof(odd); i++) {
			memcpy(text, good, sizeof(good));
			text[at] = odd[i];
			bool accepted = read_text(text, strlen(good), &model, &faults);
			assert_int_equal(accepted, faults.count == 0);
			assert_int_equal(model.motors, accepted ? CART_AXES : 0);
		}
}

static void the_example_files_fit_each_other(void **state)
{
	(void)state;
	static struct td_config config;
	struct td_plant_model model;
	struct td_config_faults faults;

	if (!td_config_read("docs/examples/glasshouse.conf", &config, &faults))
		fail_msg("%s", faults.fault[0].text);
	if (!td_plant_config_read("docs/examples/glasshouse.plant", &config, &model, &faults))
		fail_msg("%s", faults.fault[0].text);
	assert_int_equal(model.motors, config.axes);
	uint8_t boom = td_config_axis(&config, "boom");
	assert_int_equal(model.motor[boom].end_switch[0], td_config_switch(&config, "boom_bottom"));
	/* What the configuration calls the learned travel is a little more than full speed needs. */
	for (uint8_t way = 0; way < TD_WAYS; way++)
		assert_in_range(config.rules.axis[boom].way[way].reach_ns, model.motor[boom].travel_ns[way],
				model.motor[boom].travel_ns[way] * 5 / 4);
}

static void every_key_is_explained(void **state)
{
	(void)state;
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	assert_non_null(out);
	td_plant_keys_explain(out);
	assert_int_equal(fclose(out), 0);
	for (unsigned int key = 0; key < TD_PLANT_KEYS; key++) {
		assert_non_null(strstr(text, td_plant_key_info((enum td_plant_key)key)->name));
		assert_non_null(strstr(text, td_plant_key_info((enum td_plant_key)key)->help));
	}
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_good_file_gives_every_value),
		cmocka_unit_test(contacts_and_pulls_come_from_the_configuration),
		cmocka_unit_test(what_a_file_leaves_out_has_the_default_of_the_table),
		cmocka_unit_test(mark_carriage_returns_indents_and_comments_are_accepted),
		cmocka_unit_test(every_fault_is_named_with_its_line),
		cmocka_unit_test(the_range_of_every_number_holds_at_both_ends),
		cmocka_unit_test(every_default_is_a_good_value),
		cmocka_unit_test(a_file_that_is_too_large_is_refused),
		cmocka_unit_test(a_file_that_is_not_there_is_a_fault),
		cmocka_unit_test(any_prefix_and_any_odd_byte_is_survived),
		cmocka_unit_test(the_example_files_fit_each_other),
		cmocka_unit_test(every_key_is_explained),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

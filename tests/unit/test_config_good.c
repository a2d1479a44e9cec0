/* SPDX-License-Identifier: MIT */
/* Good files: what comes out. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config_base.h"

static struct reading reading;
static char text[BASE_TEXT_MAX];

static void expect_good(const struct reading *which)
{
	print_faults(which);
	assert_int_equal(which->faults.count, 0);
	assert_true(which->good);
}

static void read_base(void)
{
	read_text(&reading, text, base_with(NULL, 0, text));
	expect_good(&reading);
}

static void base_names_and_places(void **state)
{
	(void)state;
	read_base();
	const struct td_config *config = &reading.config;

	assert_string_equal(config->machine, "test cart");
	assert_int_equal(config->backend, TD_BACKEND_BENCH);
	assert_string_equal(config->board, "board.sock");
	assert_string_equal(config->keeper.path, "keeper.sock");
	assert_string_equal(config->visitor.path, "visitor.sock");
	assert_int_equal(config->axes, 3);
	assert_int_equal(config->switches, 3);
	assert_string_equal(config->axis[1].name, "wheel");
	assert_string_equal(config->axis[1].way_name[1], "right");
	assert_string_equal(config->axis[1].input[1].chip, "cart");
	assert_int_equal(config->axis[1].input[1].offset, 3);
	assert_string_equal(config->axis[1].input[1].name, "");
	assert_int_equal(config->axis[1].input[1].file_line, 26);
	assert_string_equal(config->sw[2].name, "halt");
	assert_string_equal(config->sw[2].place.chip, "");
	assert_string_equal(config->sw[2].place.name, "HALT_CONTACT");
	assert_int_equal(config->sw[2].place.file_line, 41);
}

static void defaults(void **state)
{
	(void)state;
	read_base();
	const struct td_config *config = &reading.config;
	const struct td_axis_rules *boom = &config->rules.axis[0];

	assert_string_equal(config->state_dir, "/var/lib/tripdog");
	assert_int_equal(config->keeper.mode, 0600);
	assert_int_equal(config->visitor.mode, 0660);
	assert_int_equal(config->visitors_max, 64);
	assert_int_equal(config->visitors_per_user, 16);
	assert_string_equal(config->gateway, "");
	assert_int_equal(config->outliving_outputs, TD_OUTLIVING_REFUSE);
	assert_false(config->has_heartbeat);
	assert_false(config->axis[0].accept_risky_line[0]);
	assert_int_equal(config->lease_ns, TD_MS(300));
	assert_int_equal(config->poll_ns, TD_MS(5));
	assert_int_equal(boom->dead_ns, TD_MS(250));
	assert_int_equal(boom->rest_ns, TD_MS(250));
	assert_int_equal(boom->restored_ns, 0);
	assert_int_equal(boom->way[0].leave_ns, TD_MS(500));
	assert_int_equal(config->rules.sw[0].contact, TD_CONTACT_NC);
	assert_int_equal(config->rules.sw[0].pull, TD_PULL_UP);
	assert_int_equal(config->rules.sw[0].confirm_ns, TD_MS(2));
	assert_int_equal(config->rules.sw[0].clear_ns, TD_MS(50));
	assert_int_equal(config->rules.sw[0].chatter.changes, 6);
	assert_int_equal(config->rules.sw[0].chatter.window_ns, TD_S(1));
}

static void r8_chatter_is_watched_as_the_switch_says(void **state)
{
	(void)state;
	read_edited(&reading, 39, "line = cart:11\nchatter_changes = 20\nchatter_window_ms = 10000");
	expect_good(&reading);
	assert_int_equal(reading.config.rules.sw[1].chatter.changes, 20);
	assert_int_equal(reading.config.rules.sw[1].chatter.window_ns, TD_S(10));
	assert_int_equal(reading.config.rules.sw[0].chatter.changes, 6);
	read_edited(&reading, 39, "line = cart:11\nchatter_changes = 0\nchatter_window_ms = 10000");
	expect_good(&reading);
	assert_int_equal(reading.config.rules.sw[1].chatter.changes, 0);
	assert_int_equal(reading.config.rules.sw[1].chatter.window_ns, 0);
}

static void m14_slower_travels_are_warned_of_as_the_way_says(void **state)
{
	static const struct {
		const char *text;
		uint32_t slower_ppm;
		uint32_t steady_ppm;
		uint8_t needed;
	} rows[] = {{"travel_ms = 1000", 200000, 100000, 3},
		    {"travel_ms = 1000\nslower_warn_percent = 1", 10000, 5000, 3},
		    {"travel_ms = 1000\nslower_warn_percent = 1000", 10000000, 5000000, 3},
		    {"travel_ms = 1000\nslower_warn_percent = 0", 0, 0, 0}};

	(void)state;
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		const struct td_trend_rules *trend = &reading.config.rules.axis[0].way[0].trend;

		read_edited(&reading, 15, rows[i].text);
		expect_good(&reading);
		assert_int_equal(trend->slower_ppm, rows[i].slower_ppm);
		assert_int_equal(trend->steady_ppm, rows[i].steady_ppm);
		assert_int_equal(trend->needed, rows[i].needed);
		assert_int_equal(reading.config.rules.axis[1].way[0].trend.needed, 0);
	}
}

/* S3 25 % in 600 s, both time constants 1800 s: the periodic peak is 0.28206 of theta_inf (closed form), so
 * theta_inf is 3.5453 times the limit. */
static void duty_and_supply(void **state)
{
	static const struct edit edits[EDITS_MAX] = {
		{2, "supply_ma = 3000\nstart_gap_ms = 400"},
		{21, "ways = left right\nstart_ma = 2000\nrun_ma = 700\nstart_window_ms = 250\n"
		     "duty = intermittent\nduty_percent = 25\nheating_s = 1800\ncooling_s = 1800\n"
		     "restart_percent = 60\nminute_s = 30"},
	};
	static char file[BASE_TEXT_MAX];

	(void)state;
	read_text(&reading, file, base_with(edits, EDITS_MAX, file));
	print_faults(&reading);
	assert_int_equal(reading.faults.count, 0);
	const struct td_rules *rules = &reading.config.rules;

	assert_in_range(rules->axis[1].duty.inf_ppm, 3545200, 3545400);
	assert_int_equal(rules->axis[1].duty.restart_ppm, 600000);
	assert_int_equal(rules->axis[1].duty.allowed_ns[TD_BUDGET_MINUTE], TD_S(30));
	assert_int_equal(rules->axis[1].duty.allowed_ns[TD_BUDGET_DAY], TD_S(86400));
	assert_int_equal(rules->axis[0].duty.inf_ppm, 1000000);
	assert_int_equal(rules->supply.budget_ma, 3000);
	assert_int_equal(rules->supply.gap_ns, TD_MS(400));
	assert_int_equal(rules->supply.axis[1].start_ma, 2000);
	assert_int_equal(rules->supply.axis[1].run_ma, 700);
	assert_int_equal(rules->supply.axis[1].start_ns, TD_MS(250));
}

/* A circle in 9 s and one in 12 s: 111111 and 83333 millionths of a turn a second. */
static void the_cable_of_an_estimate(void **state)
{
	static const char twist[] = "[twist]\nsource = estimate\nlimit_degrees = 900\nahead = wheel right\n"
				    "left = lamp-arm out\nsteering = springs\ncircle_left_ms = 9000\n"
				    "circle_right_ms = 12000\ndoubt_percent = 7\n[keeper]";

	(void)state;
	read_edited(&reading, 6, twist);
	print_faults(&reading);
	assert_int_equal(reading.faults.count, 0);
	const struct td_cable_rules *cable = &reading.config.rules.cable;

	assert_int_equal(cable->twist.source, TD_TWIST_ESTIMATE);
	assert_int_equal(cable->twist.limit_uturn, 2500000);
	assert_int_equal(cable->twist.doubt_ppm, 70000);
	assert_int_equal(cable->drive, 1);
	assert_int_equal(cable->steering, 2);
	assert_int_equal(cable->left, 1);
	assert_int_equal(cable->springs, 1);
	assert_int_equal(cable->twist.rate_ppm_s[1][TD_TWIST_LEFT], 111111);
	assert_int_equal(cable->twist.rate_ppm_s[1][TD_TWIST_RIGHT], -83333);
	assert_int_equal(cable->twist.rate_ppm_s[0][TD_TWIST_LEFT], -111111);
	assert_int_equal(cable->twist.rate_ppm_s[0][TD_TWIST_RIGHT], 83333);
	assert_int_equal(cable->twist.rate_ppm_s[1][TD_TWIST_STRAIGHT], 0);
}

static void the_cable_of_a_sensor(void **state)
{
	static const struct edit edits[EDITS_MAX] = {
		{6, "[twist]\nsource = sensor\nlimit_degrees = 360\nahead = lamp-arm in\nleft = wheel left\n"
		    "circle_left_ms = 9000\ncircle_right_ms = 9000\ncontacts = two  one\n"
		    "steps_per_turn = 24\n[keeper]"},
		{40, "[switch one]\nline = cart:9\n[switch two]\nline = cart:8\n[switch halt]"},
	};
	static char file[BASE_TEXT_MAX];

	(void)state;
	read_text(&reading, file, base_with(edits, EDITS_MAX, file));
	print_faults(&reading);
	assert_int_equal(reading.faults.count, 0);
	const struct td_cable_rules *cable = &reading.config.rules.cable;

	assert_int_equal(cable->twist.source, TD_TWIST_SENSOR);
	assert_int_equal(cable->twist.steps_per_turn, 24);
	assert_int_equal(cable->contact[0], 3);
	assert_int_equal(cable->contact[1], 2);
	for (int i = 0; i < 2; i++) /* they change as often as the machine turns */
		assert_int_equal(reading.config.rules.sw[cable->contact[i]].chatter.changes, 0);
	assert_int_equal(cable->drive, 2);
	assert_int_equal(cable->left, 0);
	assert_int_equal(cable->springs, 0);
	assert_int_equal(cable->twist.rate_ppm_s[0][TD_TWIST_LEFT], 111111);
}

static void without_a_cable_nothing_is_counted(void **state)
{
	const struct td_cable_rules none = td_rules_any_cable();

	(void)state;
	read_base();
	assert_memory_equal(&reading.config.rules.cable, &none, sizeof(none));
}

static void limits_of_a_way_with_an_end_switch(void **state)
{
	(void)state;
	read_base();
	const struct td_way_rules *raise = &reading.config.rules.axis[0].way[1];

	assert_int_equal(raise->end_switch, 1);
	assert_int_equal(raise->reach_ns, TD_MS(2000));
	assert_int_equal(raise->limit_ns, TD_MS(2600)); /* 130 % */
	assert_int_equal(raise->early_ns, TD_MS(1000)); /* 50 % */
}

static void limits_of_a_way_without_one(void **state)
{
	(void)state;
	read_base();
	const struct td_way_rules *left = &reading.config.rules.axis[1].way[0];

	assert_int_equal(left->end_switch, TD_NO_SWITCH);
	assert_int_equal(left->reach_ns, TD_MS(500));
	assert_int_equal(left->limit_ns, TD_MS(500));
	assert_int_equal(left->early_ns, 0);
	assert_int_equal(left->leave_ns, TD_MS(500));
}

static void percentages_are_exact(void **state)
{
	(void)state;
	read_edited(&reading, 15, "travel_ms = 1001\nmargin_percent = 133\nearly_percent = 95");
	expect_good(&reading);
	assert_int_equal(reading.config.rules.axis[0].way[0].limit_ns, TD_US(1331330));
	assert_int_equal(reading.config.rules.axis[0].way[0].early_ns, TD_US(950950));
}

static void bars_name_axes_and_ends(void **state)
{
	(void)state;
	read_edited(&reading, 24,
		    "hold_limit_ms = 500\nbars = moving lamp-arm,at-end boom raise ,  off-end  boom\tlower");
	expect_good(&reading);
	const struct td_way_rules *left = &reading.config.rules.axis[1].way[0];

	assert_int_equal(left->bars, 3);
	assert_int_equal(left->bar[0].kind, TD_BAR_MOVING);
	assert_int_equal(left->bar[0].axis, 2);
	assert_int_equal(left->bar[1].kind, TD_BAR_AT_END);
	assert_int_equal(left->bar[1].axis, 0);
	assert_int_equal(left->bar[1].way, 1);
	assert_int_equal(left->bar[2].kind, TD_BAR_OFF_END);
	assert_int_equal(left->bar[2].way, 0);
}

static void r14_risks_are_accepted_by_name(void **state)
{
	static const struct edit edits[] = {{3, "backend = gpio"},
					    {4, "outliving_outputs = accept"},
					    {17, "input = cart:1\naccept_risky_line = yes"}};

	(void)state;
	read_text(&reading, text, base_with(edits, 3, text));
	expect_good(&reading);
	assert_int_equal(reading.config.outliving_outputs, TD_OUTLIVING_ACCEPT);
	assert_false(reading.config.axis[0].accept_risky_line[0]);
	assert_true(reading.config.axis[0].accept_risky_line[1]);
	assert_false(reading.config.axis[1].accept_risky_line[1]);
}

static void r16_the_heartbeat_has_a_place(void **state)
{
	static const struct edit edits[] = {{3, "backend = gpio"}, {4, "heartbeat = cart:21"}};

	(void)state;
	read_text(&reading, text, base_with(edits, 2, text));
	expect_good(&reading);
	assert_true(reading.config.has_heartbeat);
	assert_string_equal(reading.config.heartbeat.chip, "cart");
	assert_int_equal(reading.config.heartbeat.offset, 21);
	assert_int_equal(reading.config.heartbeat.file_line, 4);
}

static void traces_have_room_and_a_daily_budget(void **state)
{
	static const struct edit edits[] = {
		{5, "emergency_stop = halt\n[trace]\nsize_kb = 0\ndaily_kb = 100"}};

	(void)state;
	read_base();
	assert_int_equal(reading.config.trace_size_max, 32 * 1024 * 1024);
	assert_int_equal(reading.config.trace_daily_max, 5 * 1024 * 1024);
	read_text(&reading, text, base_with(edits, 1, text));
	expect_good(&reading);
	assert_int_equal(reading.config.trace_size_max, 0);
	assert_int_equal(reading.config.trace_daily_max, 100 * 1024);
}

static void stop_switch_by_index(void **state)
{
	(void)state;
	read_base();
	assert_int_equal(reading.config.rules.stop_switch, 2);
}

static void no_stop_switch_is_none(void **state)
{
	static const struct edit edits[] = {{5, ""}, {40, ""}, {41, ""}};

	(void)state;
	read_text(&reading, text, base_with(edits, 3, text));
	expect_good(&reading);
	assert_int_equal(reading.config.rules.stop_switch, TD_NO_SWITCH);
}

static void smallest_file(void **state)
{
	static const char smallest[] = "[axis a]\nways = b c\n[way a b]\ninput = l:0\nhold_limit_ms = 10\n"
				       "[way a c]\ninput = l:1\nhold_limit_ms = 10";

	(void)state;
	read_text(&reading, smallest, sizeof(smallest) - 1);
	expect_good(&reading);
	assert_int_equal(reading.config.axes, 1);
	assert_int_equal(reading.config.switches, 0);
	assert_int_equal(reading.config.backend, TD_BACKEND_GPIO);
	assert_string_equal(reading.config.machine, "unnamed machine");
	assert_string_equal(reading.config.keeper.path, "/run/tripdog/keeper.sock");
}

static void example_file(void **state)
{
	(void)state;
	reading.good = td_config_read("docs/examples/glasshouse.conf", &reading.config, &reading.faults);
	expect_good(&reading);
	const struct td_config *config = &reading.config;
	uint8_t boom = td_config_axis(config, "boom");
	uint8_t vent = td_config_axis(config, "vent");

	assert_int_equal(config->axes, 4);
	assert_int_equal(config->switches, 5);
	assert_int_equal(config->rules.axis[0].restored_ns, TD_S(2));
	assert_int_equal(config->rules.axis[boom].way[0].limit_ns, TD_MS(2080));
	assert_int_equal(config->rules.axis[vent].way[0].bar[0].axis, boom);
	assert_int_equal(config->rules.sw[td_config_switch(config, "vent_open")].contact, TD_CONTACT_NO);
	assert_int_equal(config->rules.stop_switch, td_config_switch(config, "stop_contact"));
}

/* The literal example of the man page's frame, between .Bd and .Ed. */
static void example_of_the_man_page(void **state)
{
	FILE *frame = fopen("docs/tripdog.conf.5.in", "r");
	char line[256];
	bool inside = false;
	size_t length = 0;

	(void)state;
	assert_non_null(frame);
	while (fgets(line, sizeof(line), frame)) {
		if (strncmp(line, ".Bd", 3) == 0)
			inside = true;
		else if (strncmp(line, ".Ed", 3) == 0)
			inside = false;
		else if (inside)
			length += (size_t)snprintf(text + length, sizeof(text) - length, "%s", line);
	}
	fclose(frame);
	read_text(&reading, text, length);
	expect_good(&reading);
	assert_int_equal(reading.config.axes, 1);
	assert_int_equal(reading.config.switches, 3);
}

static void look_up_by_name(void **state)
{
	(void)state;
	read_base();
	assert_int_equal(td_config_axis(&reading.config, "lamp-arm"), 2);
	assert_int_equal(td_config_axis(&reading.config, "lamp"), TD_NO_AXIS);
	assert_int_equal(td_config_axis(&reading.config, ""), TD_NO_AXIS);
	assert_int_equal(td_config_way(&reading.config, 1, "right"), 1);
	assert_int_equal(td_config_way(&reading.config, 0, "right"), TD_NO_WAY);
	assert_int_equal(td_config_way(&reading.config, 3, ""), TD_NO_WAY);
	assert_int_equal(td_config_way(&reading.config, TD_NO_AXIS, "right"), TD_NO_WAY);
	assert_int_equal(td_config_switch(&reading.config, "top"), 1);
	assert_int_equal(td_config_switch(&reading.config, "left"), TD_NO_SWITCH);
}

static void longest_names_arrive_whole(void **state)
{
#define NAME_31  "a234567890123456789012345678901"
#define OTHER_31 "b234567890123456789012345678901"
	static const char file[] =
		"[axis " NAME_31 "]\nways = " NAME_31 " " OTHER_31 "\n"
		"[way " NAME_31 " " NAME_31 "]\ninput = " NAME_31 ":65535\nhold_limit_ms = 10\n"
		"[way " NAME_31 " " OTHER_31 "]\ninput = " NAME_31 "\nhold_limit_ms = 10\n";

	(void)state;
	read_text(&reading, file, sizeof(file) - 1);
	expect_good(&reading);
	assert_string_equal(reading.config.axis[0].name, NAME_31);
	assert_string_equal(reading.config.axis[0].way_name[1], OTHER_31);
	assert_string_equal(reading.config.axis[0].input[0].chip, NAME_31);
	assert_int_equal(reading.config.axis[0].input[0].offset, 65535);
	assert_string_equal(reading.config.axis[0].input[1].name, NAME_31);
}

static void longest_line_arrives_whole(void **state)
{
	char line[191];

	(void)state;
	snprintf(line, sizeof(line), "state_dir =%*s/last", 190 - 11 - 5, "");
	assert_int_equal(strlen(line), 190);
	read_edited(&reading, 2, line);
	expect_good(&reading);
	assert_string_equal(reading.config.state_dir, "/last");
}

static void labels_may_have_colons(void **state)
{
	(void)state;
	read_edited(&reading, 13, "input = GPIO:00:7");
	expect_good(&reading);
	assert_string_equal(reading.config.axis[0].input[0].chip, "GPIO:00");
	assert_int_equal(reading.config.axis[0].input[0].offset, 7);
}

static void names_for_people_may_be_any_text(void **state)
{
	(void)state;
	read_edited(&reading, 2, "name = Gew\303\244chshaus = #1;a \360\237\214\261");
	expect_good(&reading);
	assert_string_equal(reading.config.machine, "Gew\303\244chshaus = #1;a \360\237\214\261");
}

static void most_axes_and_switches(void **state)
{
	size_t length = 0;

	(void)state;
	for (int i = 0; i < TD_AXES_MAX; i++)
		length += (size_t)snprintf(
			text + length, sizeof(text) - length,
			"[axis a%d]\nways = b c\n[way a%d b]\ninput = x:%d\nend_switch = b%d\n"
			"travel_ms = 10\n[way a%d c]\ninput = y:%d\nend_switch = c%d\n"
			"travel_ms = 10\n[switch b%d]\nline = z:%d\n[switch c%d]\nline = w:%d\n",
			i, i, i, i, i, i, i, i, i, i, i);
	read_text(&reading, text, length);
	expect_good(&reading);
	assert_int_equal(reading.config.axes, TD_AXES_MAX);
	assert_int_equal(reading.config.switches, TD_SWITCHES_MAX);
	assert_int_equal(reading.config.rules.axis[15].way[1].end_switch, 31);
}

int main(void)
{
	static const struct CMUnitTest tests[] = {
		cmocka_unit_test(base_names_and_places),
		cmocka_unit_test(defaults),
		cmocka_unit_test(duty_and_supply),
		cmocka_unit_test(r8_chatter_is_watched_as_the_switch_says),
		cmocka_unit_test(m14_slower_travels_are_warned_of_as_the_way_says),
		cmocka_unit_test(the_cable_of_an_estimate),
		cmocka_unit_test(the_cable_of_a_sensor),
		cmocka_unit_test(without_a_cable_nothing_is_counted),
		cmocka_unit_test(limits_of_a_way_with_an_end_switch),
		cmocka_unit_test(limits_of_a_way_without_one),
		cmocka_unit_test(percentages_are_exact),
		cmocka_unit_test(bars_name_axes_and_ends),
		cmocka_unit_test(r14_risks_are_accepted_by_name),
		cmocka_unit_test(r16_the_heartbeat_has_a_place),
		cmocka_unit_test(traces_have_room_and_a_daily_budget),
		cmocka_unit_test(stop_switch_by_index),
		cmocka_unit_test(no_stop_switch_is_none),
		cmocka_unit_test(smallest_file),
		cmocka_unit_test(example_file),
		cmocka_unit_test(example_of_the_man_page),
		cmocka_unit_test(look_up_by_name),
		cmocka_unit_test(longest_names_arrive_whole),
		cmocka_unit_test(longest_line_arrives_whole),
		cmocka_unit_test(labels_may_have_colons),
		cmocka_unit_test(names_for_people_may_be_any_text),
		cmocka_unit_test(most_axes_and_switches),
	};

	return cmocka_run_group_tests_name("config_good", tests, NULL, NULL);
}

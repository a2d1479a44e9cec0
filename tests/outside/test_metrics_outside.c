/* SPDX-License-Identifier: MIT */
/*
 * The metrics in the hands of readers that nobody here wrote: promtool of Debian's package prometheus (2.42 in Debian 12), once as
 * a reader of the older form that also finds fault with names, and once with its parser of OpenMetrics; and the strict parser of
 * python3-prometheus-client (0.16), whose samples are compared with ours, one by one.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/metrics/metrics.h"
#include "tests/support/openmetrics.h"
#include "tests/support/outside.h"

static struct td_config config;
static struct td_mirror mirror;
static struct td_meter meter;
static struct td_front_counts front;
static struct td_tally tally;
static char text[TD_METRICS_TEXT_MAX];
static char reader_py[4096];

/* Numbers that are all different, so that none can stand in for another. */
static void count_a_lot(void)
{
	uint64_t next = 1;

	for (unsigned i = 0; i < TD_METER_CAUSES; i++) {
		meter.news[i] = next++;
		front.refused[i] = next++;
	}
	for (unsigned i = 0; i <= TD_METER_BOUNDS; i++)
		meter.stops[i] = next++;
	meter.stops_ns = TD_S(7) + TD_US(123);
	for (unsigned i = 0; i < TD_SWITCHES_MAX; i++)
		meter.pulses[i] = next++;
	for (unsigned axis = 0; axis < TD_AXES_MAX; axis++) {
		for (unsigned i = 0; i < TD_METER_CAUSES; i++)
			meter.trips[axis][i] = (uint32_t)next++;
		for (unsigned way = 0; way < TD_WAYS; way++) {
			meter.starts[axis][way] = (uint32_t)next++;
			meter.life_starts[axis][way] = (uint32_t)next++;
			meter.run_ns[axis][way] = TD_MS(next++);
			meter.life_run_ns[axis][way] = TD_MS(next++);
		}
		td_duty_power(&meter.duty[axis], &config.rules.axis[axis].duty, true, TD_S(10 + axis));
	}
	tally.lost = next++;
	tally.unwritten = next++;
	tally.bytes_today = (int64_t)next++;
}

static void make_machine(uint8_t axes, uint8_t switches)
{
	memset(&meter, 0, sizeof(meter));
	memset(&front, 0, sizeof(front));
	config.axes = axes;
	config.switches = switches;
	for (uint8_t axis = 0; axis < axes; axis++) {
		(void)snprintf(config.axis[axis].name, TD_NAME_MAX, "axis-%u", axis);
		(void)snprintf(config.axis[axis].way_name[0], TD_NAME_MAX, "out_%u", axis);
		(void)snprintf(config.axis[axis].way_name[1], TD_NAME_MAX, "in_%u", axis);
		config.rules.axis[axis].duty = td_rules_any_duty();
		td_duty_init(&meter.duty[axis], 0);
	}
	for (uint8_t sw = 0; sw < switches; sw++)
		(void)snprintf(config.sw[sw].name, TD_NAME_MAX, "switch_%u", sw);
}

/* The text, also in the file "metrics" of the directory. */
static void put(enum td_metric_form form)
{
	const struct td_metric_facts facts = {
		.config = &config,
		.mirror = &mirror,
		.meter = &meter,
		.front = &front,
		.tally = &tally,
		.role = TD_ROLE_KEEPER,
		.connections = {3, 17},
		.now_ns = TD_S(100),
		.began_wall_ns = TD_S(1790000000),
	};
	size_t length = td_metrics_write(&facts, form, text, sizeof(text));

	assert_true(length > 0);
	outside_write("metrics", text, length);
}

/* A line of the shell in the directory; $0 is promtool. */
static int shell(const char *line)
{
	const char *promtool = getenv("TD_PROMTOOL");

	if (!promtool || access(promtool, X_OK) != 0)
		fail_msg("TD_PROMTOOL names no promtool: make outside fetches it");
	return outside_run((const char *const[]){"sh", "-c", line, promtool, NULL});
}

/* It refused, and for this reason. */
static void must_have_refused(int code, const char *words)
{
	char *said = outside_bytes("said", NULL);

	if (code == 0 || !strstr(said, words))
		fail_msg("exit %d, it said: %s", code, said);
	free(said);
}

static void said_must_be(const char *words)
{
	char *said = outside_bytes("said", NULL);

	if (strcmp(said, words) != 0)
		fail_msg("it said: %s", said);
	free(said);
}

/* --- promtool ---------------------------------------------------------------------------------------------- */

/* It reads the older form from standard input and says what is wrong with names, types and help. */
static void promtool_accepts(void)
{
	put(TD_METRIC_FORM_TEXT);
	assert_int_equal(shell("exec \"$0\" check metrics <metrics"), 0);
	said_must_be("");
}

/* Its parser of OpenMetrics belongs to a command that wants time stamps, and says how many samples it has taken. */
static void promtool_takes_every_sample(void)
{
	char *said;

	put(TD_METRIC_FORM_OPENMETRICS);
	assert_null(openmetrics_fault(text));
	assert_int_equal(shell("sed '/^#/!s/$/ 1790000000/' metrics >stamped && "
			       "\"$0\" tsdb create-blocks-from openmetrics --quiet stamped blocks && "
			       "\"$0\" tsdb list blocks >listed; code=$?; rm -rf blocks; "
			       "awk 'NR == 2 { print $5 }' listed; exit $code"),
			 0);
	said = outside_bytes("said", NULL);
	if (strtoul(said, NULL, 10) != openmetrics_samples())
		fail_msg("%zu samples are %s to it", openmetrics_samples(), said);
	free(said);
}

/* --- the strict parser ------------------------------------------------------------------------------------- */

/* Debian's python, for Debian's package. */
static int read_strictly(void)
{
	return outside_run((const char *const[]){"/usr/bin/python3", reader_py, "metrics", NULL});
}

static void the_strict_parser_finds_the_same(void)
{
	size_t samples = 0;
	char *at = NULL;

	put(TD_METRIC_FORM_OPENMETRICS);
	assert_null(openmetrics_fault(text));
	int code = read_strictly();
	char *said = outside_bytes("said", NULL);

	if (code != 0)
		fail_msg("%s", said);
	for (char *line = strtok_r(said, "\n", &at); line; line = strtok_r(NULL, "\n", &at)) {
		char *number = strrchr(line, ' ');

		assert_non_null(number);
		*number++ = '\0';
		if (strtod(number, NULL) != openmetrics_value(text, line))
			fail_msg("%s is %s to it, %g to us", line, number, openmetrics_value(text, line));
		samples++;
	}
	assert_int_equal(samples, openmetrics_samples());
	free(said);
}

/* --- what they are given ----------------------------------------------------------------------------------- */

static void every_reader_takes_it(void)
{
	promtool_accepts();
	promtool_takes_every_sample();
	the_strict_parser_finds_the_same();
	print_message("# counted: %zu samples of %zu metrics, read by three\n", openmetrics_samples(),
		      openmetrics_metrics());
}

static void a_machine_at_rest(void **state)
{
	(void)state;
	make_machine(4, 5);
	every_reader_takes_it();
}

static void a_machine_after_a_long_day(void **state)
{
	(void)state;
	make_machine(4, 5);
	count_a_lot();
	every_reader_takes_it();
}

static void the_smallest_and_the_largest_machine(void **state)
{
	(void)state;
	make_machine(1, 0);
	every_reader_takes_it();
	make_machine(TD_AXES_MAX, TD_SWITCHES_MAX);
	count_a_lot();
	every_reader_takes_it();
}

/* The readers are no rubber stamps. */
static void the_readers_notice_faults(void **state)
{
	static const char no_total[] = "# HELP a_b a\n# TYPE a_b counter\na_b 1\n";
	static const char no_end[] = "# TYPE a gauge\na 1\n";
	static const char no_suffix[] = "# TYPE a counter\na 1\n# EOF\n";

	(void)state;
	outside_write("metrics", no_total, strlen(no_total));
	must_have_refused(shell("exec \"$0\" check metrics <metrics"),
			  "counter metrics should have \"_total\" suffix");
	outside_write("metrics", no_end, strlen(no_end));
	must_have_refused(read_strictly(), "ValueError: Missing # EOF at end");
	must_have_refused(shell("sed '/^#/!s/$/ 1790000000/' metrics >stamped; "
				"\"$0\" tsdb create-blocks-from openmetrics stamped blocks; code=$?; "
				"rm -rf blocks; exit $code"),
			  "data does not end with # EOF");
	outside_write("metrics", no_suffix, strlen(no_suffix));
	must_have_refused(read_strictly(), "ValueError");
}

/* The reason why there are two forms. */
static void the_older_reader_does_not_take_the_newer_form(void **state)
{
	(void)state;
	make_machine(4, 5);
	put(TD_METRIC_FORM_OPENMETRICS);
	must_have_refused(shell("exec \"$0\" check metrics <metrics"), "unknown metric type \"info\"");
}

static int make(void **state)
{
	if (!getcwd(reader_py, sizeof(reader_py) - 64))
		return -1;
	(void)snprintf(reader_py + strlen(reader_py), 64, "/tests/outside/openmetrics.py");
	return outside_make(state);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_machine_at_rest),
		cmocka_unit_test(a_machine_after_a_long_day),
		cmocka_unit_test(the_smallest_and_the_largest_machine),
		cmocka_unit_test(the_readers_notice_faults),
		cmocka_unit_test(the_older_reader_does_not_take_the_newer_form),
	};

	return cmocka_run_group_tests(tests, make, outside_remove);
}

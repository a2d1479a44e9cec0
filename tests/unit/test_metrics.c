/* SPDX-License-Identifier: MIT */
/* The metrics as text: every number in its place, in both forms, as long as it can get. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "daemon/metrics/metrics.h"
#include "daemon/front/session.h"
#include "tests/support/openmetrics.h"

static struct td_config config;
static struct td_mirror mirror;
static struct td_meter meter;
static struct td_front_counts front;
static struct td_tally tally;
static struct td_metric_facts facts;
static char text[TD_METRICS_TEXT_MAX];

static void name_axis(uint8_t axis, const char *name, const char *way0, const char *way1)
{
	(void)snprintf(config.axis[axis].name, TD_NAME_MAX, "%s", name);
	(void)snprintf(config.axis[axis].way_name[0], TD_NAME_MAX, "%s", way0);
	(void)snprintf(config.axis[axis].way_name[1], TD_NAME_MAX, "%s", way1);
	config.rules.axis[axis].duty = td_rules_any_duty();
}

static int set_up(void **state)
{
	(void)state;
	memset(&config, 0, sizeof(config));
	memset(&mirror, 0, sizeof(mirror));
	memset(&meter, 0, sizeof(meter));
	memset(&front, 0, sizeof(front));
	memset(&tally, 0, sizeof(tally));
	config.axes = 2;
	config.switches = 2;
	name_axis(0, "boom", "lower", "raise");
	name_axis(1, "drive", "backward", "forward");
	(void)snprintf(config.sw[0].name, TD_NAME_MAX, "boom_bottom");
	(void)snprintf(config.sw[1].name, TD_NAME_MAX, "boom_top");
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		td_duty_init(&meter.duty[axis], TD_S(1000));
		mirror.axis[axis].state = TD_AXIS_STILL;
	}
	facts = (struct td_metric_facts){
		.config = &config,
		.mirror = &mirror,
		.meter = &meter,
		.front = &front,
		.tally = &tally,
		.role = TD_ROLE_KEEPER,
		.began_ns = TD_S(1000),
		.now_ns = TD_S(1090) + TD_MS(250),
		.began_wall_ns = TD_S(1790000000),
	};
	return 0;
}

static const char *write_in(enum td_metric_form form)
{
	size_t length = td_metrics_write(&facts, form, text, sizeof(text));

	assert_true(length > 0);
	assert_int_equal(strlen(text), length);
	return text;
}

/* The text in OpenMetrics, without fault. */
static const char *written(void)
{
	const char *fault = openmetrics_fault(write_in(TD_METRIC_FORM_OPENMETRICS));

	if (fault)
		fail_msg("%s", fault);
	return text;
}

static void must_be(const char *sample, double value)
{
	double is = openmetrics_value(text, sample);

	if (is < value - 1e-9 || is > value + 1e-9)
		fail_msg("%s is %.9g, not %.9g", sample, is, value);
}

/* --- the table --------------------------------------------------------------------------------------------- */

static bool ends_in(const char *name, const char *end)
{
	size_t length = strlen(name);

	return length > strlen(end) && strcmp(name + length - strlen(end), end) == 0;
}

static void every_name_is_as_the_forms_want_it(void **state)
{
	static const char *const taken[] = {"_total",   "_info",  "_count",   "_sum",      "_bucket",
					    "_created", "_gauge", "_counter", "_histogram"};
	const struct td_metric_info *info = NULL;

	(void)state;
	for (unsigned int i = 0; (info = td_metric_at(i)) != NULL; i++) {
		assert_int_equal(strncmp(info->name, "tripdog_", 8), 0);
		assert_int_equal(strspn(info->name, "abcdefghijklmnopqrstuvwxyz_"), strlen(info->name));
		for (size_t k = 0; k < sizeof(taken) / sizeof(taken[0]); k++)
			assert_false(ends_in(info->name, taken[k]));
		assert_true(info->unit[0] == '\0' || ends_in(info->name, info->unit));
		assert_null(strpbrk(info->help, "\"\\\n")); /* nothing to escape */
		assert_false(ends_in(info->help, "."));
	}
	assert_int_equal(TD_METRICS, 26);
	assert_null(td_metric_form_at(TD_METRIC_FORMS));
}

/* The labels that the table names, and no others. */
static void every_sample_has_its_labels(void **state)
{
	char *line = NULL;
	const struct td_metric_info *info = td_metric_at(0);
	unsigned int next = 0;
	unsigned samples = 0;

	(void)state;
	written();
	for (line = strtok(text, "\n"); line; line = strtok(NULL, "\n")) {
		if (strncmp(line, "# HELP ", 7) == 0)
			info = td_metric_at(next++);
		if (line[0] == '#')
			continue;
		assert_non_null(info);
		char names[64] = "";
		size_t used = 0;

		for (const char *at = strpbrk(line, "{"); at && *at != '}';
		     at = strpbrk(strchr(at, '"') + 1, "\"") + 1)
			used += (size_t)snprintf(names + used, sizeof(names) - used, "%s%.*s",
						 used ? "," : "", (int)strcspn(at + 1, "="), at + 1);
		if (info->type == TD_METRIC_HISTOGRAM)
			assert_true(strcmp(names, "") == 0 || strcmp(names, "le") == 0);
		else
			assert_string_equal(names, info->labels);
		samples++;
	}
	assert_int_equal(next, TD_METRICS);
	assert_true(samples > 100);
}

static void the_document_has_every_metric(void **state)
{
	static char page[65536];
	const struct td_metric_info *info = NULL;
	FILE *file = fopen("docs/metrics.md", "r");
	char row[512];
	unsigned rows = 0;

	(void)state;
	assert_non_null(file);
	page[fread(page, 1, sizeof(page) - 1, file)] = '\0';
	(void)fclose(file);
	for (unsigned int i = 0; (info = td_metric_at(i)) != NULL; i++) {
		const char *comma = strchr(info->labels, ',');

		(void)snprintf(row, sizeof(row), "\n| `%s` | %s | %.*s%s%s | %s%s |\n", info->name,
			       td_metric_type_name(info->type), (int)strcspn(info->labels, ","), info->labels,
			       comma ? ", " : "", comma ? comma + 1 : "", info->help,
			       info->role == TD_ROLE_KEEPER ? " (keeper)" : "");
		if (!strstr(page, row))
			fail_msg("docs/metrics.md does not say \"%s\"", row);
	}
	for (const char *at = page; (at = strstr(at, "\n| `")); at++)
		rows++;
	assert_int_equal(rows, TD_METRICS);
}

/* --- the numbers ------------------------------------------------------------------------------------------- */

static void at_rest_everything_is_there_and_nothing_has_happened(void **state)
{
	const struct td_cause_info *info = NULL;
	char sample[128];

	(void)state;
	written();
	assert_int_equal(openmetrics_metrics(), TD_METRICS);
	must_be("tripdog_build_info{version=\"" TD_VERSION "\"}", 1);
	must_be("tripdog_start_time_seconds", 1790000000);
	must_be("tripdog_up_seconds", 90.25);
	must_be("tripdog_armed", 0);
	must_be("tripdog_latched", 0);
	must_be("tripdog_config_refused", 0);
	must_be("tripdog_tripped{axis=\"boom\"}", 0);
	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++) {
		(void)snprintf(sample, sizeof(sample), "tripdog_trips_total{axis=\"drive\",cause=\"%s\"}",
			       info->name);
		assert_int_equal(openmetrics_has(text, sample), info->kind == TD_KIND_TRIP);
		(void)snprintf(sample, sizeof(sample), "tripdog_stops_total{cause=\"%s\"}", info->name);
		assert_int_equal(openmetrics_has(text, sample), info->kind == TD_KIND_STOP);
		(void)snprintf(sample, sizeof(sample), "tripdog_refusals_total{cause=\"%s\"}", info->name);
		assert_int_equal(openmetrics_has(text, sample), info->kind == TD_KIND_REFUSAL);
	}
	must_be("tripdog_stop_latency_seconds_count", 0);
	must_be("tripdog_heat_ratio{axis=\"boom\"}", 0);
	must_be("tripdog_visitors_in_line", 0);
}

static void what_the_mover_counted_is_told(void **state)
{
	(void)state;
	meter.trips[0][TD_CAUSE_TRAVEL_LIMIT] = 3;
	meter.trips[1][TD_CAUSE_LINES_LOST] = 1;
	meter.news[TD_CAUSE_END_REACHED] = UINT64_C(1) << 40;
	meter.news[TD_CAUSE_LATCH_INPUT] = 2;
	meter.news[TD_CAUSE_TRAVEL_LIMIT] = 77; /* told by axis, not here */
	meter.run_ns[0][1] = TD_MS(12345) + 999999;
	meter.starts[0][0] = 8;
	meter.life_run_ns[1][0] = TD_S(7200);
	meter.life_starts[1][1] = 900;
	meter.pulses[1] = 41;
	written();
	must_be("tripdog_trips_total{axis=\"boom\",cause=\"travel-limit\"}", 3);
	must_be("tripdog_trips_total{axis=\"drive\",cause=\"travel-limit\"}", 0);
	must_be("tripdog_trips_total{axis=\"drive\",cause=\"lines-lost\"}", 1);
	must_be("tripdog_stops_total{cause=\"end-reached\"}", 1099511627776);
	must_be("tripdog_latched_stops_total{cause=\"latch-input\"}", 2);
	must_be("tripdog_latched_stops_total{cause=\"latch-asked\"}", 0);
	must_be("tripdog_latched_stops_total{cause=\"latch-kept\"}", 0);
	must_be("tripdog_run_seconds_total{axis=\"boom\",way=\"raise\"}", 12.345);
	must_be("tripdog_starts_total{axis=\"boom\",way=\"lower\"}", 8);
	must_be("tripdog_life_run_seconds{axis=\"drive\",way=\"backward\"}", 7200);
	must_be("tripdog_life_starts{axis=\"drive\",way=\"forward\"}", 900);
	must_be("tripdog_noise_pulses_total{switch=\"boom_bottom\"}", 0);
	must_be("tripdog_noise_pulses_total{switch=\"boom_top\"}", 41);
}

static void the_histogram_adds_up(void **state)
{
	(void)state;
	for (unsigned i = 0; i <= TD_METER_BOUNDS; i++)
		meter.stops[i] = i + 1;
	meter.stops_ns = TD_S(2) + 5;
	written();
	must_be("tripdog_stop_latency_seconds_bucket{le=\"0.0001\"}", 1);
	must_be("tripdog_stop_latency_seconds_bucket{le=\"0.00025\"}", 3);
	must_be("tripdog_stop_latency_seconds_bucket{le=\"0.001\"}", 10);
	must_be("tripdog_stop_latency_seconds_bucket{le=\"0.1\"}", 55);
	must_be("tripdog_stop_latency_seconds_bucket{le=\"+Inf\"}", 66);
	must_be("tripdog_stop_latency_seconds_count", 66);
	must_be("tripdog_stop_latency_seconds_sum", 2.000000005);
}

static void what_the_machine_is_like_is_told(void **state)
{
	(void)state;
	mirror.machine.armed = 1;
	mirror.machine.latch = TD_LATCH_INPUT;
	mirror.machine.config_refused = 1;
	mirror.axis[1].state = TD_AXIS_TRIPPED;
	written();
	must_be("tripdog_armed", 1);
	must_be("tripdog_latched", 1);
	must_be("tripdog_config_refused", 1);
	must_be("tripdog_tripped{axis=\"boom\"}", 0);
	must_be("tripdog_tripped{axis=\"drive\"}", 1);
}

/* Half a minute powered, of the 40 s in a minute that are allowed; the model says how warm it is, also after a rest. */
static void r12_heat_and_duty_are_shares_of_what_is_allowed(void **state)
{
	struct td_duty_rules *rules = &config.rules.axis[0].duty;

	(void)state;
	rules->allowed_ns[TD_BUDGET_MINUTE] = TD_S(40);
	rules->inf_ppm = 2000000;
	rules->tau_on_ns = rules->tau_off_ns = TD_S(100);
	td_duty_init(&meter.duty[0], TD_S(1000));
	td_duty_power(&meter.duty[0], rules, true, TD_S(1060));
	facts.now_ns = TD_S(1090);
	written();
	must_be("tripdog_duty_ratio{axis=\"boom\",span=\"minute\"}", 0.75);
	must_be("tripdog_duty_ratio{axis=\"boom\",span=\"ten-minutes\"}", 0.05);
	must_be("tripdog_duty_ratio{axis=\"drive\",span=\"day\"}", 0);
	/* 2 (1 - exp(-0.3)) = 0.518364, the model rounds up */
	assert_in_range((long)(openmetrics_value(text, "tripdog_heat_ratio{axis=\"boom\"}") * 1e6), 518363,
			518366);
	td_duty_power(&meter.duty[0], rules, false, TD_S(1090));
	facts.now_ns = TD_S(1190);
	written();
	/* exp(-1) of it is left: 0.190695 */
	assert_in_range((long)(openmetrics_value(text, "tripdog_heat_ratio{axis=\"boom\"}") * 1e6), 190694,
			190697);
	must_be("tripdog_duty_ratio{axis=\"boom\",span=\"minute\"}", 0);
}

static void what_front_and_scribe_counted_is_told(void **state)
{
	(void)state;
	front.refused[TD_CAUSE_NOT_ARMED] = 4;
	front.refused[TD_CAUSE_CLIENT_GONE] = 1; /* a stop, as a reason to refuse */
	front.let_in[TD_ROLE_KEEPER] = 5;
	front.let_in[TD_ROLE_VISITOR] = 60;
	front.turned_away[TD_ROLE_VISITOR] = 2;
	facts.connections[TD_ROLE_KEEPER] = 1;
	facts.connections[TD_ROLE_VISITOR] = 7;
	facts.in_line = 6;
	tally.lost = 11;
	tally.unwritten = 12;
	tally.bytes_today = 13;
	written();
	must_be("tripdog_refusals_total{cause=\"not-armed\"}", 4);
	must_be("tripdog_refusals_total{cause=\"client-gone\"}", 1);
	must_be("tripdog_connections{role=\"keeper\"}", 1);
	must_be("tripdog_connections{role=\"visitor\"}", 7);
	must_be("tripdog_connections_made_total{role=\"keeper\"}", 5);
	must_be("tripdog_connections_made_total{role=\"visitor\"}", 60);
	must_be("tripdog_connections_turned_away_total{role=\"keeper\"}", 0);
	must_be("tripdog_connections_turned_away_total{role=\"visitor\"}", 2);
	must_be("tripdog_visitors_in_line", 6);
	must_be("tripdog_trace_entries_lost_total", 11);
	must_be("tripdog_trace_entries_unwritten_total", 12);
	must_be("tripdog_traced_today_bytes", 13);
}

static void how_the_traces_are_doing_is_for_the_keeper_alone(void **state)
{
	(void)state;
	facts.role = TD_ROLE_VISITOR;
	written();
	assert_int_equal(openmetrics_metrics(), TD_METRICS - 3);
	assert_null(strstr(text, "trace"));
	assert_non_null(strstr(text, "tripdog_visitors_in_line"));
}

static void without_traces_nothing_is_told_of_them(void **state)
{
	(void)state;
	facts.tally = NULL;
	written();
	assert_false(openmetrics_has(text, "tripdog_trace_entries_lost_total"));
}

/* --- forms --------------------------------------------------------------------------------------------------- */

/* The head of a metric as the older form wants it: named as its samples are, and without what is new. */
static void must_be_the_older_head(const char *ours, const char *theirs)
{
	char name[128] = "";
	char rest[256] = "";

	assert_int_equal(sscanf(theirs + 7, "%127s %255[^\n]", name, rest), 2);
	assert_int_equal(strncmp(ours, theirs, 7), 0);
	if (strncmp(theirs, "# TYPE", 6) != 0) {
		assert_true(ends_in(ours, rest));
		return;
	}
	assert_int_equal(ends_in(name, "_total"), strcmp(rest, "counter") == 0);
	if (ends_in(name, "_info"))
		assert_string_equal(rest, "gauge");
	else
		assert_true(ends_in(ours, rest));
}

static bool is_new(const char *line)
{
	return strncmp(line, "# UNIT", 6) == 0 || strcmp(line, "# EOF") == 0;
}

static void the_older_form_has_the_same_samples(void **state)
{
	char *newer = strdup(written());
	char *older = strdup(write_in(TD_METRIC_FORM_TEXT));
	char *newer_at = NULL;
	char *older_at = NULL;
	const char *theirs = strtok_r(older, "\n", &older_at);

	(void)state;
	for (char *ours = strtok_r(newer, "\n", &newer_at); ours; ours = strtok_r(NULL, "\n", &newer_at)) {
		if (is_new(ours))
			continue;
		assert_non_null(theirs);
		if (ours[0] == '#')
			must_be_the_older_head(ours, theirs);
		else
			assert_string_equal(ours, theirs);
		theirs = strtok_r(NULL, "\n", &older_at);
	}
	assert_null(theirs);
	free(newer);
	free(older);
}

static void what_is_too_long_is_nothing(void **state)
{
	size_t length = strlen(written());

	(void)state;
	assert_int_equal(td_metrics_write(&facts, TD_METRIC_FORM_OPENMETRICS, text, length + 1), length);
	for (size_t size = 1; size <= length; size++)
		assert_int_equal(td_metrics_write(&facts, TD_METRIC_FORM_OPENMETRICS, text, size), 0);
}

static void fill_names(void)
{
	config.axes = TD_AXES_MAX;
	config.switches = TD_SWITCHES_MAX;
	for (int i = 0; i < TD_SWITCHES_MAX; i++)
		(void)snprintf(config.sw[i].name, TD_NAME_MAX, "switch_%024d", i);
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++) {
		name_axis(axis, "", "way_a_5678901234567890123456789", "way_b_5678901234567890123456789");
		(void)snprintf(config.axis[axis].name, TD_NAME_MAX, "axis_%026d", axis);
	}
}

/* The longest names, as many as there can be, and numbers that no machine lives to see. */
static void the_longest_text_fits_and_so_does_its_answer(void **state)
{
	const uint64_t many = UINT64_C(99999999999);
	char sample[128];

	(void)state;
	fill_names();
	for (unsigned i = 0; i < TD_METER_CAUSES; i++)
		meter.news[i] = front.refused[i] = many;
	for (unsigned i = 0; i <= TD_METER_BOUNDS; i++)
		meter.stops[i] = many;
	for (unsigned i = 0; i < TD_SWITCHES_MAX; i++)
		meter.pulses[i] = many;
	for (unsigned axis = 0; axis < TD_AXES_MAX; axis++) {
		for (unsigned i = 0; i < TD_METER_CAUSES; i++)
			meter.trips[axis][i] = UINT32_MAX;
		for (unsigned way = 0; way < TD_WAYS; way++) {
			meter.starts[axis][way] = meter.life_starts[axis][way] = UINT32_MAX;
			meter.run_ns[axis][way] = meter.life_run_ns[axis][way] = TD_S(999999999) - 1;
		}
		td_duty_init_unknown(&meter.duty[axis], facts.now_ns);
	}
	written();
	json_t *string = json_string(text);
	size_t as_json = json_dumpb(string, NULL, 0, JSON_ENCODE_ANY);

	print_message("# measured: the longest text has %zu bytes of %d, as JSON %zu of %d\n", strlen(text),
		      TD_METRICS_TEXT_MAX, as_json, TD_BACKLOG_MAX);
	json_decref(string);
	assert_true(as_json + 1024 < TD_BACKLOG_MAX);
	(void)snprintf(sample, sizeof(sample), "tripdog_tripped{axis=\"axis_%026d\"}", TD_AXES_MAX - 1);
	assert_true(openmetrics_has(text, sample));
}

/* Names of a configuration have nothing to escape; the page does it all the same. */
static void what_is_quoted_is_escaped(void **state)
{
	(void)state;
	(void)snprintf(config.axis[0].name, TD_NAME_MAX, "a\"b\\c\nd");
	written();
	assert_true(openmetrics_has(text, "tripdog_tripped{axis=\"a\\\"b\\\\c\\nd\"}"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup(every_name_is_as_the_forms_want_it, set_up),
		cmocka_unit_test_setup(every_sample_has_its_labels, set_up),
		cmocka_unit_test(the_document_has_every_metric),
		cmocka_unit_test_setup(at_rest_everything_is_there_and_nothing_has_happened, set_up),
		cmocka_unit_test_setup(what_the_mover_counted_is_told, set_up),
		cmocka_unit_test_setup(the_histogram_adds_up, set_up),
		cmocka_unit_test_setup(what_the_machine_is_like_is_told, set_up),
		cmocka_unit_test_setup(r12_heat_and_duty_are_shares_of_what_is_allowed, set_up),
		cmocka_unit_test_setup(what_front_and_scribe_counted_is_told, set_up),
		cmocka_unit_test_setup(how_the_traces_are_doing_is_for_the_keeper_alone, set_up),
		cmocka_unit_test_setup(without_traces_nothing_is_told_of_them, set_up),
		cmocka_unit_test_setup(the_older_form_has_the_same_samples, set_up),
		cmocka_unit_test_setup(what_is_too_long_is_nothing, set_up),
		cmocka_unit_test_setup(the_longest_text_fits_and_so_does_its_answer, set_up),
		cmocka_unit_test_setup(what_is_quoted_is_escaped, set_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

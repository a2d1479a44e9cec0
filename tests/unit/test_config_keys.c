/* SPDX-License-Identifier: MIT */
/*
 * Every key of the table: its least and its most are accepted, one less and one more refused, and the
 * two reach the configuration and the hash.
 */
#include <inttypes.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config/keys.h"
#include "config_base.h"

static struct reading least;
static struct reading most;
static struct reading refused;

enum { VALUE_MAX = 256, END_OF_MACHINE = 5 };

static void repeat(const char *word, const char *between, int64_t times, char out[VALUE_MAX])
{
	size_t length = 0;

	out[0] = '\0';
	for (int64_t i = 0; i < times; i++)
		length += (size_t)snprintf(out + length, VALUE_MAX - length, "%s%s", i > 0 ? between : "",
					   word);
}

static void nth_choice(const char *choices, int64_t n, char out[VALUE_MAX])
{
	while (n-- > 0) {
		const char *bar = strchr(choices, '|');

		choices = bar ? bar + 1 : "none-of-them";
	}
	snprintf(out, VALUE_MAX, "%.*s", (int)strcspn(choices, "|"), choices);
}

static void first_words(const char *const *words, const char *between, int64_t count, char out[VALUE_MAX])
{
	size_t length = 0;

	out[0] = '\0';
	for (int64_t i = 0; i < count && words[i]; i++)
		length += (size_t)snprintf(out + length, VALUE_MAX - length, "%s%s", i > 0 ? between : "",
					   words[i]);
}

/* A value that measures `amount` in what the table counts for the type. */
static void value_of(const struct td_key_info *info, int64_t amount, char out[VALUE_MAX])
{
	static const char *const ways[] = {"left", "right", "up", NULL};
	static const char *const pair[] = {"wheel", "left", "up", NULL};
	static const char *const bars[] = {"moving boom",       "moving lamp-arm", "at-end boom lower",
					   "at-end boom raise", "moving other",    NULL};

	out[0] = '\0';
	switch (info->type) {
	case TD_TYPE_TEXT:
	case TD_TYPE_PATH:
	case TD_TYPE_NAME:
	case TD_TYPE_GROUP: repeat("n", "", amount, out); break;
	case TD_TYPE_PLACE: snprintf(out, VALUE_MAX, "other:%" PRId64, amount); break;
	case TD_TYPE_NUMBER: snprintf(out, VALUE_MAX, "%" PRId64, amount); break;
	case TD_TYPE_MODE: snprintf(out, VALUE_MAX, "%04" PRIo64, (uint64_t)amount); break;
	case TD_TYPE_CHOICE: nth_choice(info->unit, amount < 0 ? 9 : amount, out); break;
	case TD_TYPE_WAYS: first_words(ways, " ", amount, out); break;
	case TD_TYPE_PAIR: first_words(pair, " ", amount, out); break;
	case TD_TYPE_BARS: first_words(bars, ", ", amount, out); break;
	case TD_TYPE_QUIET: repeat("22:00-06:30", ",", amount, out); break;
	case TD_TYPES: break;
	}
}

/* The heading a key goes under: the wheel has no end switches, the boom has two. */
static int heading_for(enum td_key key)
{
	switch (td_key_info(key)->section) {
	case TD_SECTION_MACHINE: return 1;
	case TD_SECTION_KEEPER: return 6;
	case TD_SECTION_VISITOR: return 8;
	case TD_SECTION_AXIS: return 20;
	case TD_SECTION_WAY:
		return key == TD_KEY_WAY_INPUT || key == TD_KEY_WAY_HOLD_LIMIT_MS || key == TD_KEY_WAY_BARS
			       ? 22
			       : 12;
	case TD_SECTION_SWITCH: return 36;
	case TD_SECTION_TURNS:
	case TD_SECTION_TRACE:
	case TD_SECTION_TWIST: return END_OF_MACHINE;
	case TD_SECTION_KINDS: break;
	}
	return 1;
}

/* The base does not have the section: it gets a heading of its own. */
static bool has_own_heading(enum td_section_kind section)
{
	return section == TD_SECTION_TURNS || section == TD_SECTION_TWIST || section == TD_SECTION_TRACE;
}

/* The line where the base gives this key below `heading`, or 0. */
static int line_of(int heading, const char *key)
{
	for (size_t i = (size_t)heading; i < BASE_LINES && base_lines[i][0] != '['; i++)
		if (strncmp(base_lines[i], key, strlen(key)) == 0 && base_lines[i][strlen(key)] == ' ')
			return (int)i + 1;
	return 0;
}

/* All of [twist] but `key`, with the source that the key needs. The two contacts go by the names of the pair. */
static const char *twist_companions(enum td_key key, int64_t amount)
{
	static const struct {
		enum td_key key;
		const char *line;
	} lines[] = {{TD_KEY_TWIST_LIMIT_DEGREES, "\nlimit_degrees = 720"},
		     {TD_KEY_TWIST_CIRCLE_LEFT_MS, "\ncircle_left_ms = 600000"},
		     {TD_KEY_TWIST_CIRCLE_RIGHT_MS, "\ncircle_right_ms = 600000"}};
	static char text[2 * VALUE_MAX];
	bool is_source = key == TD_KEY_TWIST_SOURCE;
	bool sensor = td_key_info(key)->need == TD_NEED_SENSOR || (is_source && amount == TD_TWIST_SENSOR);
	size_t used = 0;

	text[0] = '\0';
	if (is_source && amount == TD_TWIST_UNLIMITED)
		return text;
	if (!is_source)
		used += (size_t)snprintf(text, sizeof(text), "\nsource = %s", sensor ? "sensor" : "estimate");
	for (size_t i = 0; i < sizeof(lines) / sizeof(lines[0]); i++)
		if (lines[i].key != key)
			used += (size_t)snprintf(text + used, sizeof(text) - used, "%s", lines[i].line);
	if (key != TD_KEY_TWIST_AHEAD)
		used += (size_t)snprintf(text + used, sizeof(text) - used, "\nahead = %s",
					 key == TD_KEY_TWIST_LEFT ? "lamp-arm out" : "wheel right");
	if (key != TD_KEY_TWIST_LEFT)
		used += (size_t)snprintf(text + used, sizeof(text) - used, "\nleft = lamp-arm in");
	if (sensor && key != TD_KEY_TWIST_CONTACTS)
		used += (size_t)snprintf(text + used, sizeof(text) - used, "\ncontacts = wheel left");
	if (sensor && key != TD_KEY_TWIST_STEPS_PER_TURN)
		used += (size_t)snprintf(text + used, sizeof(text) - used, "\nsteps_per_turn = 8");
	if (sensor)
		snprintf(text + used, sizeof(text) - used,
			 "\n[switch wheel]\nline = cart:12\nclear_ms = 1\nconfirm_ms = 0"
			 "\n[switch left]\nline = cart:13\nclear_ms = 1\nconfirm_ms = 0");
	return text;
}

/* What must stand beside a key for it to have any effect; it follows below. */
static const char *companions(enum td_key key, int64_t amount)
{
	enum td_need need = td_key_info(key)->need;

	if (td_key_info(key)->section == TD_SECTION_TWIST)
		return twist_companions(key, amount);
	if (key == TD_KEY_AXIS_RUN_MA)
		return "\nstart_ma = 1000000";
	if (key == TD_KEY_AXIS_DUTY && amount == TD_DUTY_S2)
		return "\nduty_time_s = 600";
	if (key == TD_KEY_AXIS_DUTY && amount == TD_DUTY_S3)
		return "\nduty_percent = 25";
	if (need == TD_NEED_SHORT_TIME)
		return "\nduty = short-time";
	if (need == TD_NEED_INTERMITTENT)
		return "\nduty = intermittent";
	if (need == TD_NEED_INTERMITTENT_MAY || need == TD_NEED_RATED)
		return "\nduty = intermittent\nduty_percent = 25";
	return "";
}

/* Reads the base with the key set so; returns the line it stands in. */
static int read_with(struct reading *reading, enum td_key key, int64_t amount)
{
	static char file[BASE_TEXT_MAX];
	const struct td_key_info *info = td_key_info(key);
	char value[VALUE_MAX];
	char own[VALUE_MAX] = "";
	char setting[6 * VALUE_MAX];
	struct edit edits[EDITS_MAX] = {{0, NULL}};
	int line = line_of(heading_for(key), info->name);

	value_of(info, amount, value);
	if (line) {
		snprintf(setting, sizeof(setting), "%s = %s", info->name, value);
		edits[0].line = line;
	} else {
		line = heading_for(key) + 1;
		if (has_own_heading(info->section))
			snprintf(own, sizeof(own), "\n[%s]", td_section_info(info->section)->word);
		snprintf(setting, sizeof(setting), "%s%s\n%s = %s%s", base_lines[line - 2], own, info->name,
			 value, companions(key, amount));
		edits[0].line = line - 1;
		if (own[0] != '\0')
			line++;
	}
	edits[0].text = setting;
	if (info->type == TD_TYPE_NAME) { /* the switch it names goes by that name */
		static char heading[2 * VALUE_MAX];

		snprintf(heading, sizeof(heading), "[switch %s]", value);
		edits[1] = (struct edit){key == TD_KEY_MACHINE_EMERGENCY_STOP ? 40 : 36, heading};
	}
	if (key == TD_KEY_MACHINE_BACKEND && amount == TD_BACKEND_GPIO)
		edits[1] = (struct edit){4, ""};
	if (info->need == TD_NEED_GPIO) {
		edits[1] = (struct edit){3, "backend = gpio"};
		edits[2] = (struct edit){4, ""};
	}
	read_text(reading, file, base_with(edits, EDITS_MAX, file));
	return line;
}

static void accepted(struct reading *reading, enum td_key key, int64_t amount)
{
	read_with(reading, key, amount);
	print_faults(reading);
	assert_int_equal(reading->faults.count, 0);
	assert_true(reading->good);
}

static void is_refused(enum td_key key, int64_t amount)
{
	char start[VALUE_MAX];
	int line = read_with(&refused, key, amount);

	snprintf(start, sizeof(start), "x.conf:%d: %s = ", line, td_key_info(key)->name);
	if (!has_fault(&refused, start)) {
		print_faults(&refused);
		fail_msg("no fault of %s at %" PRId64, start, amount);
	}
	assert_false(refused.good);
}

static void range_of_key(void **state)
{
	enum td_key key = *(const enum td_key *)*state;
	const struct td_key_info *info = td_key_info(key);

	accepted(&least, key, info->min);
	accepted(&most, key, info->max);
	is_refused(key, info->min - 1);
	is_refused(key, info->max + 1);
	if (info->min == info->max)
		return;
	assert_true(least.config.hash != most.config.hash);
	least.config.hash = most.config.hash;
	assert_memory_not_equal(&least.config, &most.config, sizeof(least.config));
}

static void every_default_is_in_its_own_range(void **state)
{
	static const char smallest[] =
		"[axis a]\nways = b c\n[way a b]\ninput = l:0\nhold_limit_ms = 10\n"
		"[way a c]\ninput = l:1\nend_switch = s\ntravel_ms = 10\n[switch s]\nline = l:2\n";

	(void)state;
	/* the reader checks defaults by the same table and asserts that they pass */
	read_text(&least, smallest, sizeof(smallest) - 1);
	assert_int_equal(least.faults.count, 0);
}

static void every_key_has_a_help_of_whole_sentences(void **state)
{
	(void)state;
	for (unsigned int key = 0; key < TD_KEYS; key++) {
		const char *help = td_key_info((enum td_key)key)->help;

		assert_true(help[0] >= 'A' && help[0] <= 'Z');
		assert_int_equal(help[strlen(help) - 1], '.');
		assert_null(strchr(help, '\\')); /* which mdoc would take for an escape */
	}
}

int main(void)
{
	static struct CMUnitTest tests[TD_KEYS + 2];
	static char names[TD_KEYS][VALUE_MAX];
	static enum td_key keys[TD_KEYS];

	for (unsigned int key = 0; key < TD_KEYS; key++) {
		const struct td_key_info *info = td_key_info((enum td_key)key);

		keys[key] = (enum td_key)key;
		snprintf(names[key], VALUE_MAX, "[%s] %s: least and most pass, one less and one more do not",
			 td_section_info(info->section)->word, info->name);
		tests[key] = (struct CMUnitTest){names[key], range_of_key, NULL, NULL, &keys[key]};
	}
	tests[TD_KEYS] = (struct CMUnitTest)cmocka_unit_test(every_default_is_in_its_own_range);
	tests[TD_KEYS + 1] = (struct CMUnitTest)cmocka_unit_test(every_key_has_a_help_of_whole_sentences);
	return cmocka_run_group_tests_name("config_keys", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/*
 * Every scenario of the rule book, recorded as a daemon would, against this core: no difference, and the causes of
 * each trace are those in causes.txt, so that whoever changes a rule sees what else it changes.
 * TD_CAUSES=FILE writes that list anew.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "core/crc.h"
#include "sim/replay/tell.h"
#include "tests/support/replay_case.h"
#include "trace/tape.h"

/* Of a scenario with more causes the rest is a checksum. */
enum { CAUSES_MAX = 60 };

#define GOLDEN "tests/replay/causes.txt"

static const char left_out[] = "left out: no configuration file says its rules, or they change in mid run\n";

/* Resets that no record holds were made before all was at rest; the later ones are answered by how many there were. */
static const char resets_before[] =
	"R11 visitors' resets are counted over an hour, whichever axis, and the keeper's are not";

static char *golden; /* all of it */
static FILE *written;
static long counted, all_steps, all_bytes;

/* --- the causes of a trace ------------------------------------------------------------------------- */

struct list {
	FILE *out;
	FILE *rest;
	int causes;
	struct td_config config;
};

static int on_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		   const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		   uint32_t outputs)
{
	struct list *list = ctx;

	(void)head;
	(void)snapshot;
	(void)keep;
	(void)levels;
	(void)outputs;
	list->config = *config;
	return 0;
}

static int on_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	struct list *list = ctx;
	char time[TD_REPLAY_TIME_MAX];

	(void)file_ns;
	if (entry->kind != TD_ENTRY_NEWS)
		return 0;
	const struct td_news *news = &entry->as.news;

	fprintf(list->causes++ < CAUSES_MAX ? list->out : list->rest, "%s %s %s\n",
		td_replay_time(entry->at_ns, time), td_cause_info(news->cause)->name,
		news->axis < list->config.axes ? list->config.axis[news->axis].name : "-");
	return 0;
}

static char *causes_of(const struct taped *taped)
{
	static struct list list;
	const struct td_tape_sink sink = {.ctx = &list, .head = on_head, .entry = on_entry};
	struct td_tape_summary summary;
	struct td_error err;
	char *text = NULL;
	char *rest = NULL;
	size_t size = 0;
	size_t rest_size = 0;
	FILE *in = fmemopen(taped->trace, taped->length, "r");

	list = (struct list){.out = open_memstream(&text, &size), .rest = open_memstream(&rest, &rest_size)};
	enum td_tape_result result = td_tape_play(in, "trace", NULL, &sink, &summary, &err);

	fclose(in);
	fclose(list.rest);
	if (list.causes > CAUSES_MAX)
		fprintf(list.out, "and %d more, %08x\n", list.causes - CAUSES_MAX,
			(unsigned int)td_crc32((const uint8_t *)rest, rest_size));
	fclose(list.out);
	free(rest);
	if (result != TD_TAPE_READ)
		fail_msg("%s", err.text);
	return text;
}

/* What causes.txt says of a scenario: from its headline to the next. */
static void assert_golden(const char *name, const char *causes)
{
	char headline[300];
	const char *found;

	snprintf(headline, sizeof(headline), "== %s\n", name);
	if (written) {
		fprintf(written, "%s%s\n", headline, causes);
		return;
	}
	found = strstr(golden, headline);
	if (!found) {
		fail_msg("%s does not know \"%s\"", GOLDEN, name);
		return;
	}
	found += strlen(headline);
	const char *end = strstr(found, "\n\n");
	size_t length = end ? (size_t)(end - found) + 1 : strlen(found);

	if (length != strlen(causes) || memcmp(found, causes, length) != 0)
		fail_msg("causes were\n%.*sand are\n%s", (int)length, found, causes);
}

/* --- every rule ------------------------------------------------------------------------------------------ */

static uint32_t rules_taped; /* bit n: rule n has a trace, by the name of its scenario */

/* "R1 R3 ..." at the beginning of a name. */
static void count_rules(const char *name)
{
	while (*name == 'R') {
		char *end;
		unsigned long rule = strtoul(name + 1, &end, 10);

		if (end == name + 1 || rule > 31)
			return;
		rules_taped |= UINT32_C(1) << rule;
		name = end + strspn(end, " ");
	}
}

/* The guard has no events of its own: what it leaves is a trace that ends with a motor powered. */
static void r16_a_run_that_was_killed_in_mid_motion_replays_as_far_as_it_goes(void **state)
{
	struct taped taped;

	(void)state;
	assert_int_equal(
		tape_scenario(replay_scenario("R3 the dead time lies between opposite ways"), &taped), 0);
	char *killed = strstr(taped.trace, "\n#1300000000\n");

	assert_non_null(killed);
	struct replayed replayed = replay_bytes(taped.trace, (size_t)(killed - taped.trace) + 1, NULL, false);

	assert_int_equal(replayed.verdict, TD_REPLAY_SAME);
	assert_non_null(strstr(replayed.told, "The end of the trace is missing"));
	rules_taped |= UINT32_C(1) << 16;
	free(replayed.told);
	taped_free(&taped);
}

/* R19, lamps and servos, is not built yet. Runs last. */
static void r1_to_r18_every_rule_has_a_trace(void **state)
{
	enum { FIRST = 1, LAST = 18 };

	(void)state;
	for (int rule = FIRST; rule <= LAST; rule++)
		if ((rules_taped >> rule & 1) == 0)
			fail_msg("R%d has no trace", rule);
}

/* --- one scenario ------------------------------------------------------------------------------------ */

static void assert_same(const struct taped *taped, const char *name)
{
	struct replayed replayed = replay_bytes(taped->trace, taped->length, NULL, false);
	if (replayed.verdict != TD_REPLAY_SAME || !strstr(replayed.told, ": no difference\n"))
		fail_msg("%s: %s%s", name, replayed.told, replayed.err.text);
	long steps = strtol(strchr(replayed.told, '\n') + 1, NULL, 10);

	assert_true(steps > 0);
	all_steps += steps;
	free(replayed.told);
}

/* Whatever can be compared of it is the same. */
static void assert_not_different_from_record(const struct taped *taped, const char *name)
{
	struct replayed replayed = replay_bytes(taped->trace, taped->length, NULL, true);

	if (replayed.verdict == TD_REPLAY_DIFFERENT && strcmp(name, resets_before) != 0)
		fail_msg("%s: %s", name, replayed.told);
	assert_non_null(strstr(replayed.told, "Begun from the portable record"));
	if (replayed.verdict == TD_REPLAY_DIFFERENT)
		assert_non_null(strstr(replayed.told, "or what the record does not hold"));
	free(replayed.told);
}

static void run(void **state)
{
	const struct scenario *scenario = *state;
	struct taped taped;

	if (tape_scenario(scenario, &taped) != 0) {
		assert_golden(scenario->name, left_out);
		return;
	}
	counted++;
	count_rules(scenario->name);
	all_bytes += (long)taped.length;
	assert_same(&taped, scenario->name);
	assert_not_different_from_record(&taped, scenario->name);
	char *causes = causes_of(&taped);

	assert_golden(scenario->name, causes);
	free(causes);
	taped_free(&taped);
}

static char *read_golden(void)
{
	FILE *in = fopen(GOLDEN, "r");
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	for (int c = in ? fgetc(in) : EOF; c != EOF; c = fgetc(in))
		fputc(c, out);
	if (in)
		fclose(in);
	fclose(out);
	return text;
}

int main(void)
{
	size_t count = 0;
	struct scenario *scenario = scenario_load("tests/unit/rules", &count);
	struct CMUnitTest *test = calloc(count + 2, sizeof(*test));
	const char *path = getenv("TD_CAUSES");

	golden = read_golden();
	written = path ? fopen(path, "w") : NULL;
	for (size_t i = 0; i < count; i++)
		test[i] = (struct CMUnitTest){scenario[i].name, run, NULL, NULL, &scenario[i]};
	test[count] = (struct CMUnitTest)cmocka_unit_test(
		r16_a_run_that_was_killed_in_mid_motion_replays_as_far_as_it_goes);
	test[count + 1] = (struct CMUnitTest)cmocka_unit_test(r1_to_r18_every_rule_has_a_trace);
	int failed = _cmocka_run_group_tests("traces", test, count + 2, NULL, NULL);

	printf("# measured: %ld traces of %zu scenarios, %ld steps, %ld kB\n", counted, count, all_steps,
	       all_bytes / 1000);
	if (written)
		fclose(written);
	for (size_t i = 0; i < count; i++) {
		free(scenario[i].file);
		free(scenario[i].name);
		free(scenario[i].text);
	}
	free(scenario);
	free(test);
	free(golden);
	return count == 0 ? 1 : failed;
}

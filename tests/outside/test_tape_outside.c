/* SPDX-License-Identifier: MIT */
/*
 * Traces of every scenario of the rule book in the hands of readers that nobody here wrote: vcd2fst and fst2vcd of the
 * waveform viewer package gtkwave, and the VCD input of sigrok-cli (0.7.2 with libsigrok 0.5.2, Debian 12).
 * Their exit codes say little, so what comes out is read again and compared, signal by signal and change by change.
 *
 * That libsigrok reads signals of one bit only (it stops at the first vector value) and makes a sample of every time
 * step. So it gets the signals of one bit alone, in steps of a millisecond or more; of several changes in one step it shows the last,
 * and nothing of the last step.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/cause.h"
#include "tests/support/outside.h"
#include "tests/support/story.h"
#include "tests/support/tape_rig.h"
#include "tests/support/taper.h"
#include "trace/vcd_reader.h"
#include "trace/vcd_writer.h"

/* Of a trace for sigrok-cli, which makes a sample of each. */
enum { STEPS_MAX = 50000 };

static long traces, signals, changes;

static long count(const char *text, char c)
{
	long found = 0;

	for (; *text; text++)
		found += *text == c;
	return found;
}

/* --- through a viewer's file format ---------------------------------------------------------------------- */

static void assert_viewer_gives_the_same(const char *trace, size_t length)
{
	size_t theirs_length;

	outside_write("in.vcd", trace, length);
	(void)outside_run((const char *const[]){"vcd2fst", "in.vcd", "packed", NULL});
	(void)outside_run((const char *const[]){"fst2vcd", "packed", "-o", "out.vcd", NULL});
	char *theirs = outside_bytes("out.vcd", &theirs_length);
	char *our_waves = story_waves(trace, length);
	char *their_waves = story_waves(theirs, theirs_length);

	assert_null(strstr(our_waves, "bad "));
	assert_string_not_equal(trace, theirs);
	assert_string_equal(our_waves, their_waves);
	traces++;
	signals += count(our_waves, ':');
	changes += count(our_waves, '=');
	free(theirs);
	free(our_waves);
	free(their_waves);
}

/* --- what a trace tells ----------------------------------------------------------------------------------- */

static bool seen_rule[32];

static int note_rule(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	(void)ctx;
	(void)file_ns;
	const char *rule = entry->kind == TD_ENTRY_NEWS ? td_cause_info(entry->as.news.cause)->rule : "";

	if (rule[0] == 'R')
		seen_rule[strtoul(rule + 1, NULL, 10) % 32] = true;
	return 0;
}

static void note_rules(const struct taped *taped)
{
	const struct td_tape_sink sink = {.entry = note_rule};
	struct td_tape_summary summary;
	struct td_error err = {""};
	FILE *in = outside_reader(taped->trace, taped->length);

	if (td_tape_play(in, "trace", NULL, &sink, &summary, &err) != TD_TAPE_READ)
		fail_msg("%s", err.text);
	(void)fclose(in);
}

/* Every rule that has a cause: R1 and R9 have none (they are about outputs that never come, and about how levels are
 * read), R16 is the guard's. */
static void assert_every_rule_was_there(void)
{
	for (unsigned int i = 0; td_cause_at(i); i++) {
		const char *rule = td_cause_at(i)->rule;

		if (rule[0] == 'R' && !seen_rule[strtoul(rule + 1, NULL, 10) % 32])
			fail_msg("no trace has a cause of %s", rule);
	}
}

/* Does something with the trace of every scenario that can be recorded. */
static void with_every_trace(void (*what)(const char *trace, size_t length))
{
	static size_t total;
	static struct scenario *scenario;

	if (!scenario)
		scenario = scenario_load("tests/unit/rules", &total);
	assert_non_null(scenario);
	traces = signals = changes = 0;
	for (size_t i = 0; i < total; i++) {
		struct taped taped;

		if (tape_scenario(&scenario[i], &taped) != 0)
			continue;
		note_rules(&taped);
		what(taped.trace, taped.length);
		taped_free(&taped);
	}
	assert_every_rule_was_there();
}

static void every_rule_survives_a_viewers_hands(void **state)
{
	(void)state;
	with_every_trace(assert_viewer_gives_the_same);
	print_message("# measured: %ld traces, %ld signals and %ld changes equal\n", traces, signals,
		      changes);
}

/* --- signals of one bit, one after another ------------------------------------------------------------------ */

struct wave {
	char name[TD_VCD_NAME_MAX];
	bool narrow; /* one bit */
	bool last;
	td_ns at_ns; /* of the last change */
	FILE *text;  /* " TIME=VALUE" for each that differs from the one before */
	char *told;
	size_t told_size;
	bool told_value;
	bool has_told;
};

struct waves {
	td_ns step_ns;
	unsigned int count;
	struct wave wave[TD_VCD_SIGNALS_MAX];
};

static int take_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct waves *waves = ctx;
	struct wave *wave = &waves->wave[waves->count++];

	(void)snprintf(wave->name, sizeof(wave->name), "%s", signal->name);
	wave->narrow = signal->width == 1;
	wave->at_ns = -1;
	wave->text = open_memstream(&wave->told, &wave->told_size);
	return 0;
}

/* The value that a step ended with. */
static void tell(struct wave *wave)
{
	if (wave->at_ns >= 0 && (!wave->has_told || wave->told_value != wave->last))
		(void)fprintf(wave->text, " %lld=%d", (long long)wave->at_ns, wave->last);
	wave->told_value = wave->last;
	wave->has_told = wave->at_ns >= 0;
}

static int take_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct waves *waves = ctx;
	struct wave *wave = &waves->wave[signal];

	if (wave->at_ns != at_ns / waves->step_ns)
		tell(wave);
	wave->at_ns = at_ns / waves->step_ns;
	wave->last = (value.bits & 1) != 0;
	return 0;
}

/* Reads a dump into waves of steps of `step_ns`; the caller closes them. */
static struct waves *read_waves(const char *bytes, size_t length, td_ns step_ns)
{
	struct waves *waves = calloc(1, sizeof(*waves));
	const struct td_vcd_sink sink = {.ctx = waves, .signal = take_signal, .change = take_change};
	struct td_vcd_summary summary;
	struct td_error err = {""};
	FILE *in = outside_reader(bytes, length);

	assert_non_null(waves);
	waves->step_ns = step_ns;
	if (td_vcd_read(in, "waves", &sink, &summary, &err) != TD_VCD_READ)
		fail_msg("%s", err.text);
	(void)fclose(in);
	for (unsigned int i = 0; i < waves->count; i++) {
		tell(&waves->wave[i]);
		(void)fclose(waves->wave[i].text);
	}
	return waves;
}

static void free_waves(struct waves *waves)
{
	for (unsigned int i = 0; i < waves->count; i++)
		free(waves->wave[i].told);
	free(waves);
}

/* --- through an analyser's reader ------------------------------------------------------------------------------ */

struct narrowing {
	td_ns step_ns;
	struct td_vcd_writer *writer;
	int index[TD_VCD_SIGNALS_MAX]; /* in the narrow file; -1: left out */
};

static int narrow_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct narrowing *narrowing = ctx;

	narrowing->index[signal->index] =
		signal->width > 1
			? -1
			: td_vcd_writer_signal(narrowing->writer, signal->name, 1, td_vcd_number(0), NULL);
	return 0;
}

static int narrow_begin(void *ctx)
{
	return td_vcd_writer_begin(((struct narrowing *)ctx)->writer, 0, NULL);
}

static int narrow_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct narrowing *narrowing = ctx;

	if (narrowing->index[signal] < 0)
		return 0;
	return td_vcd_writer_set(narrowing->writer, narrowing->index[signal], at_ns / narrowing->step_ns,
				 value, NULL);
}

/* The signals of one bit of a dump, and two steps more at its end, into the file "narrow.vcd". */
static void write_narrow(const char *bytes, size_t length, td_ns step_ns)
{
	const struct td_vcd_head head = {.version = "narrow"};
	static struct narrowing narrowing;
	const struct td_vcd_sink sink = {
		.ctx = &narrowing, .signal = narrow_signal, .begin = narrow_begin, .change = narrow_change};
	struct td_vcd_summary summary;
	FILE *out = fopen(outside_path("narrow.vcd"), "w");
	FILE *in = outside_reader(bytes, length);

	narrowing.step_ns = step_ns;
	narrowing.writer = td_vcd_writer_new(out, &head, NULL);
	assert_int_equal(td_vcd_writer_enter(narrowing.writer, "narrow", NULL), 0);
	assert_int_equal(td_vcd_read(in, "trace", &sink, &summary, NULL), TD_VCD_READ);
	assert_int_equal(td_vcd_writer_finish(narrowing.writer, summary.last_ns / step_ns + 2, NULL), 0);
	td_vcd_writer_free(narrowing.writer);
	(void)fclose(in);
	(void)fclose(out);
}

static void assert_same_waves(const struct waves *ours, const struct waves *theirs)
{
	unsigned int their = 0;

	for (unsigned int i = 0; i < ours->count; i++) {
		if (!ours->wave[i].narrow)
			continue;
		assert_true(their < theirs->count);
		assert_string_equal(ours->wave[i].name, theirs->wave[their].name);
		assert_string_equal(ours->wave[i].told, theirs->wave[their].told);
		changes += count(ours->wave[i].told, '=');
		their++;
	}
	assert_int_equal(their, theirs->count);
	signals += their;
	traces++;
}

static void assert_analyser_gives_the_same(const char *trace, size_t length, td_ns step_ns)
{
	size_t theirs_length;

	write_narrow(trace, length, step_ns);
	(void)outside_run((const char *const[]){"sigrok-cli", "-I", "vcd", "-i", "narrow.vcd", "-O", "vcd",
						"-o", "out.vcd", NULL});
	char *bytes = outside_bytes("out.vcd", &theirs_length);
	/* a line for people stands before the file proper */
	const char *file = strchr(bytes, '$');

	assert_non_null(file);
	struct waves *ours = read_waves(trace, length, step_ns);
	struct waves *theirs = read_waves(file, theirs_length - (size_t)(file - bytes), 1);

	assert_same_waves(ours, theirs);
	free_waves(ours);
	free_waves(theirs);
	free(bytes);
}

static td_ns last_of(const char *trace, size_t length)
{
	const struct td_vcd_sink nobody = {0};
	struct td_vcd_summary summary;
	FILE *in = outside_reader(trace, length);

	assert_int_equal(td_vcd_read(in, "trace", &nobody, &summary, NULL), TD_VCD_READ);
	(void)fclose(in);
	return summary.last_ns;
}

static void in_coarse_steps(const char *trace, size_t length)
{
	td_ns step_ns = TD_MS(1);

	while (last_of(trace, length) / step_ns > STEPS_MAX)
		step_ns *= 10;
	assert_analyser_gives_the_same(trace, length, step_ns);
}

static void every_rule_survives_an_analysers_hands(void **state)
{
	(void)state;
	with_every_trace(in_coarse_steps);
	print_message("# measured: %ld traces, %ld signals of one bit and %ld changes equal\n", traces,
		      signals, changes);
}

/* Steps 1 ns apart, to the nanosecond. */
static void steps_of_one_moment_stay_apart_in_an_analysers_hands(void **state)
{
	static struct tape_rig rig;

	(void)state;
	traces = signals = changes = 0;
	tape_rig_open(&rig, "docs/examples/glasshouse.conf", TD_S(10));
	tape_rig_record(&rig);
	for (uint32_t i = 0; i < 300; i++)
		tape_rig_step(&rig,
			      &(struct td_event){.kind = TD_EVENT_LEVELS, .at_ns = TD_S(10), .levels = i});
	tape_rig_finish(&rig);
	assert_analyser_gives_the_same(rig.bytes, rig.length, 1);
	assert_true(changes > 300);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_rule_survives_a_viewers_hands),
		cmocka_unit_test(every_rule_survives_an_analysers_hands),
		cmocka_unit_test(steps_of_one_moment_stay_apart_in_an_analysers_hands),
	};

	return cmocka_run_group_tests(tests, outside_make, outside_remove);
}

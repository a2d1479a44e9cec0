/* SPDX-License-Identifier: MIT */
/*
 * What the real daemon leaves behind of what happened: files that another core, given the same events, agrees with at every
 * step; and that neither a disk that stalls nor one that is full, nor a scribe that hangs, keeps a stop waiting. The
 * daemon with faults on demand (daemon/test_faults.h) makes the disk ill.
 */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <dirent.h>
#include <sys/stat.h>

#include "daemon/clock.h"
#include "daemon/exit_codes.h"
#include "tests/support/stage.h"
#include "trace/tape.h"

enum { FORWARD = 1, FILES_MAX = 64, STOPS = 12, SOON_MS = 100 };

static struct stage stage;
static int hold;

static int set_up(void **state)
{
	(void)state;
	hold = 0;
	stage_open(&stage);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	stage_close(&stage);
	return 0;
}

/* --- the files -------------------------------------------------------------------------------------------- */

struct file {
	char name[256];
	uint64_t first, next; /* numbers of its first entry and of what would follow its last */
	unsigned steps, differences, lost, came, refused;
	bool cause[256];
	uint32_t outputs; /* after the last step */
	struct td_tape_summary summary;
	struct td_config config;
	struct td_core core;
	struct td_result result;
};

static struct file files[FILES_MAX];
static unsigned file_count;

static int take_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		     const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		     uint32_t outputs)
{
	struct file *file = ctx;

	(void)keep;
	(void)levels;
	(void)outputs;
	assert_non_null(snapshot); /* the same build */
	file->config = *config;
	file->core = snapshot->core;
	file->first = file->next = head->first_number;
	return 0;
}

/* The same events to a core of our own. */
static void take_step(struct file *file, const struct td_entry *entry)
{
	const struct td_entry_step *step = &entry->as.step;
	const struct td_rules *rules = &file->config.rules;
	struct td_entry own;

	td_core_step(&file->core, rules, &step->event, &file->result);
	td_entry_of_step(&own, &file->core, rules, &step->event, &file->result, step->levels);
	file->differences += own.at_ns != entry->at_ns || own.as.step.outputs != step->outputs ||
			     own.as.step.answer != step->answer || own.as.step.asked != step->asked ||
			     own.as.step.latch != step->latch || own.as.step.news != step->news ||
			     memcmp(own.as.step.state, step->state, sizeof(step->state)) != 0;
	file->outputs = step->outputs;
	file->steps++;
}

static int take_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	struct file *file = ctx;

	(void)file_ns;
	if (entry->kind == TD_ENTRY_STEP)
		take_step(file, entry);
	if (entry->kind == TD_ENTRY_NEWS)
		file->cause[(unsigned)entry->as.news.cause % 256] = true;
	file->came += entry->kind == TD_ENTRY_SESSION && entry->as.session.came != 0;
	file->refused += entry->kind == TD_ENTRY_REFUSED;
	if (entry->kind == TD_ENTRY_STEP || entry->kind == TD_ENTRY_NEWS)
		file->next++;
	return 0;
}

static int take_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	struct file *file = ctx;

	(void)file_ns;
	file->lost += lost;
	file->next += lost;
	return 0;
}

static void play(struct file *file, const char *path)
{
	const struct td_tape_sink sink = {
		.ctx = file, .head = take_head, .entry = take_entry, .lost = take_lost};
	struct td_error err = {""};
	FILE *in = fopen(path, "r");

	assert_non_null(in);
	if (td_tape_play(in, path, NULL, &sink, &file->summary, &err) != TD_TAPE_READ)
		fail_msg("%s", err.text);
	(void)fclose(in);
}

static int by_name(const void *a, const void *b)
{
	return strcmp(((const struct file *)a)->name, ((const struct file *)b)->name);
}

/* All that begin with this, in their order. */
static void play_all(const char *prefix)
{
	DIR *dir = opendir(stage_file(&stage, "state/traces"));
	struct dirent *entry;
	char path[512];

	assert_non_null(dir);
	memset(files, 0, sizeof(files));
	file_count = 0;
	while ((entry = readdir(dir)) && file_count < FILES_MAX)
		if (strncmp(entry->d_name, prefix, strlen(prefix)) == 0)
			(void)snprintf(files[file_count++].name, sizeof(files[0].name), "%s", entry->d_name);
	(void)closedir(dir);
	qsort(files, file_count, sizeof(files[0]), by_name);
	for (unsigned i = 0; i < file_count; i++) {
		(void)snprintf(path, sizeof(path), "%s/%s", stage_file(&stage, "state/traces"),
			       files[i].name);
		play(&files[i], path);
	}
}

/* --- what was driven is there ----------------------------------------------------------------------------- */

static void drive_some(const char *boom_way)
{
	assert_string_equal(stage_hold(stage.keeper, "boom", boom_way, ++hold, TD_S(5)), "end-reached");
	assert_string_equal(stage_hold(stage.keeper, "drive", "forward", ++hold, TD_MS(300)), "still-held");
	json_decref(stage_call(stage.keeper, "latch", NULL));
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", ++hold, 0, 300), "latched");
	json_decref(stage_call(stage.keeper, "reset", NULL));
	struct td_link *visitor = stage_link(&stage, "visitor.sock");

	json_decref(stage_call(visitor, "cooled", NULL)); /* refused: the keeper's alone */
	td_link_close(visitor);
}

static void a_session_leaves_a_trace_that_another_core_agrees_with(void **state)
{
	(void)state;
	drive_some("raise");
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	play_all("run-");
	assert_int_equal(file_count, 1);
	const struct file *file = &files[0];

	printf("# measured: %u steps on %lld bytes replayed, %u differences\n", file->steps,
	       (long long)file->summary.bytes, file->differences);
	assert_int_equal(file->first, 0);
	assert_true(file->steps > 50);
	assert_int_equal(file->differences, 0);
	assert_int_equal(file->lost, 0);
	assert_false(file->summary.cut_off);
	assert_true(file->cause[TD_CAUSE_ARMED] && file->cause[TD_CAUSE_STARTED] &&
		    file->cause[TD_CAUSE_END_REACHED] && file->cause[TD_CAUSE_LATCH_ASKED] &&
		    file->cause[TD_CAUSE_RESET_DONE] && file->cause[TD_CAUSE_DISARMED]);
	assert_true(file->came >= 2);
	assert_int_equal(file->refused, 1);
	assert_int_equal(file->outputs, 0);
}

static void r4_a_trip_leaves_a_file_of_its_own(void **state)
{
	(void)state;
	json_decref(stage_poke(&stage, "jam boom"));
	assert_string_equal(stage_hold(stage.keeper, "boom", "raise", ++hold, TD_S(10)), "travel-limit");
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	play_all("trip-");
	assert_int_equal(file_count, 1);
	printf("# measured: %s: %u steps, %u differences\n", files[0].name, files[0].steps,
	       files[0].differences);
	assert_non_null(strstr(files[0].name, "-boom-travel-limit.vcd"));
	assert_true(files[0].cause[TD_CAUSE_STARTED] && files[0].cause[TD_CAUSE_TRAVEL_LIMIT]);
	assert_int_equal(files[0].differences, 0);
}

/* Sessions and users are in them. */
static void the_files_are_not_for_everybody(void **state)
{
	struct stat about;

	(void)state;
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	assert_int_equal(stat(stage_file(&stage, "state/traces"), &about), 0);
	assert_int_equal(about.st_mode & 0007, 0);
}

/* --- ill disks -------------------------------------------------------------------------------------------- */

/* Starts the daemon with faults on demand, and these in its environment. */
static void start_ill(const char *stall_ms, const char *full)
{
	static char build[STAGE_PATH_MAX];
	const char *whole = getenv("TD_BUILD");
	char fault[STAGE_PATH_MAX + 8];

	(void)snprintf(build, sizeof(build), "%s", whole ? whole : "build/plain");
	(void)snprintf(fault, sizeof(fault), "%s/fault", build);
	if (stage.daemon > 0)
		stage_end_daemon(&stage);
	setenv("TD_BUILD", fault, 1);
	setenv("TD_TEST_DISK_STALL", stall_ms, 1);
	setenv("TD_TEST_DISK_FULL", full, 1);
	stage_start_daemon(&stage);
	setenv("TD_BUILD", build, 1);
	unsetenv("TD_TEST_DISK_STALL");
	unsetenv("TD_TEST_DISK_FULL");
	hold = 0;
}

static int by_size(const void *a, const void *b)
{
	double difference = *(const double *)a - *(const double *)b;

	return (difference > 0) - (difference < 0);
}

struct latency {
	double median_ms, most_ms;
};

/* From before the call until the line is low on the board; the drive is powered each time. */
static struct latency stop_often(void)
{
	double span_ms[STOPS];

	for (int i = 0; i < STOPS; i++) {
		assert_string_equal(stage_request(stage.keeper, "drive", "forward", ++hold, 0, 1500),
				    "started");
		stage_sleep(TD_MS(150));
		td_ns asked_ns = td_clock_now();

		json_decref(stage_call(stage.keeper, "stop", NULL));
		assert_true(stage_wait_output(&stage, "drive", FORWARD, false, TD_S(3)));
		span_ms[i] = (double)(stage_fall_ns(&stage, "drive", FORWARD) - asked_ns) / 1e6;
		stage_sleep(TD_MS(450)); /* its rest */
	}
	qsort(span_ms, STOPS, sizeof(span_ms[0]), by_size);
	return (struct latency){span_ms[STOPS / 2], span_ms[STOPS - 1]};
}

static json_int_t traces_of_status(const char *member)
{
	json_t *status = stage_call(stage.keeper, "status", NULL);
	json_int_t value = json_integer_value(json_object_get(json_object_get(status, "traces"), member));

	json_decref(status);
	return value;
}

static unsigned times_logged(const char *words)
{
	char line[1024];
	unsigned times = 0;
	FILE *in = fopen(stage_file(&stage, "daemon.log"), "r");

	assert_non_null(in);
	while (fgets(line, sizeof(line), in))
		times += strstr(line, words) != NULL;
	(void)fclose(in);
	return times;
}

static void r7_a_stop_does_not_wait_for_a_disk_that_stalls(void **state)
{
	(void)state;
	start_ill("0", "0");
	struct latency sound = stop_often();

	start_ill("2000", "0");
	struct latency stalled = stop_often();

	printf("# measured: stop asked -> output low, median of %d: %.2f ms; each write stalled by 2 s: %.2f "
	       "ms, "
	       "ratio %.2f; slowest %.2f and %.2f ms\n",
	       STOPS, sound.median_ms, stalled.median_ms, stalled.median_ms / sound.median_ms, sound.most_ms,
	       stalled.most_ms);
	assert_true(stalled.median_ms < SOON_MS);
	assert_true(stalled.most_ms < 1000); /* half of one stall */
}

static void r7_a_stop_does_not_mind_a_disk_that_is_full(void **state)
{
	(void)state;
	start_ill("0", "1");
	struct latency full = stop_often();

	printf("# measured: stop asked -> output low with a full disk, median of %d: %.2f ms; %lld entries "
	       "unwritten\n",
	       STOPS, full.median_ms, (long long)traces_of_status("unwritten"));
	assert_true(full.median_ms < SOON_MS);
	assert_true(traces_of_status("unwritten") > 0);
	assert_int_equal(traces_of_status("lost"), 0); /* on their way nothing was */
	assert_true(times_logged("No space left on device") >= 1);
	assert_true(times_logged("No space left on device") <= 4); /* told, not repeated for ever */
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	assert_int_equal(times_logged("cause=stop-asked"), STOPS);
}

/* More than the ring holds while nobody takes anything out. What is lost is counted, told in the log and a gap in the
 * files; what follows is whole again. */
static void a_scribe_that_hangs_loses_entries_and_says_how_many(void **state)
{
	pid_t scribe = stage_scribe(&stage);
	uint64_t gap = 0;

	(void)state;
	drive_some("raise");
	stage_sleep(TD_MS(1500));
	kill(scribe, SIGSTOP);
	for (int i = 0; i < 9500; i++)
		json_decref(stage_call(stage.keeper, "stop", NULL));
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", ++hold, 0, 300), "started");
	kill(scribe, SIGCONT);
	for (int i = 0; i < 50 && traces_of_status("lost") == 0; i++) {
		stage_sleep(TD_MS(100));
		json_decref(stage_call(stage.keeper, "stop", NULL));
	}
	uint64_t lost = (uint64_t)traces_of_status("lost");

	drive_some("lower");
	assert_int_equal(stage_end_daemon(&stage), TD_EXIT_OK);
	play_all("run-");
	for (unsigned i = 0; i < file_count; i++) {
		if (i > 0)
			gap += files[i].first - files[i - 1].next;
		gap += files[i].lost;
		assert_int_equal(files[i].differences, 0);
	}
	printf("# measured: %llu entries lost by status, %llu by the files\n", (unsigned long long)lost,
	       (unsigned long long)gap);
	assert_true(lost > 1000);
	assert_int_equal(gap, lost);
	assert_int_equal(times_logged("<4>lost entries="), 1);
	assert_int_equal(files[file_count - 1].outputs, 0);
	assert_true(files[file_count - 1].cause[TD_CAUSE_DISARMED]);
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(a_session_leaves_a_trace_that_another_core_agrees_with),
		SCENE(r4_a_trip_leaves_a_file_of_its_own),
		SCENE(the_files_are_not_for_everybody),
		SCENE(r7_a_stop_does_not_wait_for_a_disk_that_stalls),
		SCENE(r7_a_stop_does_not_mind_a_disk_that_is_full),
		SCENE(a_scribe_that_hangs_loses_entries_and_says_how_many),
	};

	return cmocka_run_group_tests_name("traces", tests, NULL, NULL);
}

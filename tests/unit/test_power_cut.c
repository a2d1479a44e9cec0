/* SPDX-License-Identifier: MIT */
/*
 * R10, and what else is kept: a power cut at every moment of a session that does everything that is ever written to the
 * disk: the latched stop made and reset, the record kept, run files begun, changed and removed, trips. What the next
 * start finds then.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/scribe/archive_files.h"
#include "daemon/scribe/record_file.h"
#include "daemon/state.h"
#include "tests/support/power.h"
#include "tests/support/recorder.h"

enum { MACHINE = 77, MARKS_MAX = 400, PLAYED = 1 << 17, RANDOM = 200 };

#define INNER    "traces"
#define BEGIN_NS TD_S(100)

/* What was promised: from the call with that number on it is certain. */
struct mark {
	unsigned int begun; /* it may be there from here on */
	unsigned int after; /* it must be from here on */
	int64_t value;
};

struct marks {
	unsigned int count;
	struct mark mark[MARKS_MAX];
};

static char root[64];
static char outer[80], made[80], inner[96];
static struct power_log plog;
static struct recorder rec;
static struct marks latch, record, trips, run;

/* --- the session ---------------------------------------------------------------------------------- */

static void promise(struct marks *marks, unsigned int begun, int64_t value)
{
	assert_true(marks->count < MARKS_MAX);
	marks->mark[marks->count++] = (struct mark){begun, plog.calls, value};
}

static void save_latch(bool latched)
{
	unsigned int begun = plog.calls;
	struct td_error err;

	assert_int_equal(td_state_save(outer, &(struct td_state){latched}, &err), 0);
	promise(&latch, begun, latched);
}

static void save_record(void)
{
	static struct td_shelf_record bytes;
	static struct td_keep keep;
	unsigned int begun = plog.calls;
	struct td_error err;

	td_keep_init(&keep, 0);
	keep.axis[0].starts[0] = record.count + 1;
	td_keep_take(&keep, MACHINE, rec.now_ns, bytes.bytes);
	bytes.taken_ns = rec.now_ns;
	assert_int_equal(td_record_save(outer, &bytes, &err), 0);
	promise(&record, begun, (int64_t)record.count + 1);
}

/* Time passes second by second, so that what is certain after each is known. */
static void pass(void (*how)(struct recorder *recorder, td_ns span_ns), int seconds)
{
	for (int i = 0; i < seconds; i++) {
		unsigned int begun = plog.calls;

		how(&rec, TD_S(1));
		td_archive_tend(rec.archive, rec.now_ns);
		td_ns sure_ns = rec.now_ns - TD_ARCHIVE_SYNC_NS - TD_S(1);

		promise(&run, begun, sure_ns >= BEGIN_NS ? sure_ns : -1);
		if (td_archive_tally(rec.archive).trips > trips.count)
			promise(&trips, begun, (int64_t)trips.count + 1);
	}
}

static void session(void)
{
	struct td_error err;

	recorder_start(&rec, BEGIN_NS);
	struct td_archive_setup setup = recorder_setup(&rec, inner);

	setup.size_max = INT64_C(64) * 1024;
	rec.archive = td_archive_open(&setup, &plog.disk.disk, rec.now_ns, &err);
	assert_non_null(rec.archive);
	pass(recorder_rest, 3);
	recorder_trip(&rec);
	pass(recorder_rest, 8); /* nothing else has been written yet that would make the directory certain */
	save_record();
	save_latch(true);
	pass(recorder_drive, 12);
	save_record();
	save_latch(false);
	pass(recorder_drive, 18);
	save_record();
	save_latch(true);
	pass(recorder_drive, 18);
	recorder_trip(&rec);
	save_record();
	rec.lose = 3;
	pass(recorder_drive, 12);
	save_latch(false);
	pass(recorder_rest, 40);
	td_archive_close(rec.archive, rec.now_ns);
}

/* --- what the next start finds -------------------------------------------------------------------- */

static struct {
	unsigned int after;
	const char *what;
	char more[600];
} found;

static bool wrong(const struct power_state *state, const char *what, const char *more)
{
	found.after = state->after;
	found.what = what;
	(void)snprintf(found.more, sizeof(found.more), "%s", more);
	return false;
}

/* The newest promise that holds; `nothing` before the first. */
static int64_t held(const struct marks *marks, unsigned int after, int64_t nothing)
{
	for (unsigned int i = 0; i < marks->count && marks->mark[i].after <= after; i++)
		nothing = marks->mark[i].value;
	return nothing;
}

/* It is as promised, or as the promise that is being made will say. */
static bool is_held(const struct marks *marks, unsigned int after, int64_t nothing, int64_t value)
{
	if (value == held(marks, after, nothing))
		return true;
	for (unsigned int i = 0; i < marks->count; i++)
		if (marks->mark[i].begun < after && marks->mark[i].after > after &&
		    marks->mark[i].value == value)
			return true;
	return false;
}

static bool latch_is_held(const struct power_state *state)
{
	struct td_state got;
	struct td_error err = {""};

	if (td_state_load(state->dir, &got, &err) != 0)
		return wrong(state, "the latched stop cannot be read", err.text);
	return is_held(&latch, state->after, 0, got.latched) ||
	       wrong(state, "the latched stop is not what was promised", got.latched ? "on" : "off");
}

static bool record_is_held(const struct power_state *state)
{
	static struct td_keep keep;
	td_ns taken_ns;
	struct td_error err = {""};

	if (td_record_load(state->dir, MACHINE, TD_S(1000), &keep, &taken_ns, &err) != 0)
		return wrong(state, "the record cannot be read", err.text);
	return is_held(&record, state->after, 0, keep.axis[0].starts[0]) ||
	       wrong(state, "the record is neither the old nor the new one", "");
}

/* --- its traces */

struct played {
	uint64_t content;
	struct recorder_file file;
};

static struct {
	struct played *slot;
	unsigned int count;
	unsigned int cut_off;
} played;

/* Each content once. */
static const struct recorder_file *play(const struct power_state *state, const struct power_name *name)
{
	char path[600];
	unsigned int at = (unsigned int)(name->content % PLAYED);

	while (played.slot[at].content != 0 && played.slot[at].content != name->content)
		at = (at + 1) % PLAYED;
	if (played.slot[at].content == 0) {
		(void)snprintf(path, sizeof(path), "%s/" INNER "/%s", state->dir, name->name);
		played.slot[at] = (struct played){name->content, recorder_play(path)};
		played.count++;
		played.cut_off += played.slot[at].file.summary.cut_off;
		assert_true(played.count < PLAYED / 2);
	}
	return &played.slot[at].file;
}

static bool is_new(const char *name)
{
	size_t length = strlen(name);

	return length > 4 && strcmp(name + length - 4, TD_FILES_NEW) == 0;
}

static bool opens(const struct power_state *state)
{
	static struct test_disk disk;
	char path[600];
	struct td_error err;

	(void)snprintf(path, sizeof(path), "%s/" INNER, state->dir);
	struct td_archive_setup setup = recorder_setup(&rec, path);

	test_disk_init(&disk);
	struct td_archive *archive = td_archive_open(&setup, &disk.disk, TD_S(1000), &err);

	if (!archive)
		return wrong(state, "the archive cannot be opened", err.text);
	td_archive_close(archive, TD_S(1001));
	DIR *list = opendir(path);

	if (!list)
		return wrong(state, "there is no directory of traces", path);
	bool left = false;

	for (struct dirent *next = readdir(list); next; next = readdir(list))
		left = left || is_new(next->d_name);
	closedir(list);
	return !left || wrong(state, "half-made files are left", "");
}

static bool traces_are_held(const struct power_state *state)
{
	td_ns run_ns = -1;
	int64_t newest_trip = 0;

	for (unsigned int i = 0; i < state->names; i++) {
		const struct power_name *name = &state->name[i];

		if (name->dir == 0 || is_new(name->name))
			continue;
		const struct recorder_file *file = play(state, name);

		if (file->result != TD_TAPE_READ)
			return wrong(state, name->name, file->err.text);
		if (file->different > 0)
			return wrong(state, name->name, "is not what the core does");
		if (strncmp(name->name, "trip-", 5) != 0) {
			run_ns = file->last_ns > run_ns ? file->last_ns : run_ns;
			continue;
		}
		if (file->summary.cut_off || file->trips == 0)
			return wrong(state, name->name, "is a trip's file that is not whole");
		int64_t number = strtoll(name->name + strlen("trip-"), NULL, 10);

		newest_trip = number > newest_trip ? number : newest_trip;
	}
	if (newest_trip < held(&trips, state->after, 0))
		return wrong(state, "a trip's file is missing", "");
	return run_ns >= held(&run, state->after, -1) || wrong(state, "a run file lacks what was synced", "");
}

static bool look(void *ctx, const struct power_state *state)
{
	(void)ctx;
	bool fine = latch_is_held(state) && record_is_held(state) && traces_are_held(state) && opens(state);

	return fine;
}

/* --- the tests ------------------------------------------------------------------------------------ */

static void remove_all(const char *dir)
{
	DIR *list = opendir(dir);
	char path[600];

	if (!list)
		return;
	for (struct dirent *next = readdir(list); next; next = readdir(list)) {
		(void)snprintf(path, sizeof(path), "%s/%s", dir, next->d_name);
		(void)unlink(path);
	}
	closedir(list);
	(void)rmdir(dir);
}

/* A session from the beginning. */
static void record_session(unsigned int lies)
{
	remove_all(inner);
	remove_all(outer);
	assert_int_equal(mkdir(outer, 0700), 0);
	latch.count = record.count = trips.count = run.count = 0;
	memset(&found, 0, sizeof(found));
	memset(played.slot, 0, PLAYED * sizeof(*played.slot));
	played.count = played.cut_off = 0;
	power_begin(&plog, outer, INNER);
	plog.lies = lies;
	td_disk_use(&plog.disk.disk);
	session();
	td_disk_use(NULL);
}

static unsigned int count_calls(enum power_kind kind, const char *prefix)
{
	unsigned int count = 0;

	for (unsigned int i = 0; i < plog.calls; i++)
		count += plog.call[i].kind == kind && strncmp(plog.call[i].name, prefix, strlen(prefix)) == 0;
	return count;
}

static void whenever_the_power_goes_the_next_start_finds_what_was_promised(void **state)
{
	struct dice dice = dice_start(20261125);

	(void)state;
	record_session(0);
	assert_true(count_calls(POWER_RENAME, "run-") >= 4);
	assert_true(count_calls(POWER_REMOVE, "run-") >= 2);
	assert_int_equal(count_calls(POWER_RENAME, "trip-"), 2);
	assert_int_equal(count_calls(POWER_RENAME, TD_STATE_FILE), 4);
	struct power_count count = power_cut(&plog, made, &dice, RANDOM, look, NULL);

	printf("# measured: %u calls, %llu states after a power cut, %llu of them distinct; %u traces "
	       "played, %u of "
	       "them cut off\n",
	       plog.calls, (unsigned long long)count.states, (unsigned long long)count.distinct, played.count,
	       played.cut_off);
	if (found.what)
		fail_msg("after %u of %u calls: %s: %s", found.after, plog.calls, found.what, found.more);
	assert_true(played.cut_off > 0);
	power_end(&plog);
}

/* The search above can find something. */
static void on_a_disk_that_lies_the_promises_are_seen_to_be_broken(void **state)
{
	struct dice dice = dice_start(20261125);

	(void)state;
	for (unsigned int lie = POWER_LIES_FILES; lie <= POWER_LIES_INNER; lie *= 2) {
		record_session(lie);
		(void)power_cut(&plog, made, &dice, RANDOM, look, NULL);
		assert_non_null(found.what);
		printf("# measured: lie %u found after %u of %u calls: %s\n", lie, found.after, plog.calls,
		       found.what);
		power_end(&plog);
	}
}

static int set_up(void **state)
{
	(void)state;
	/* In memory where there is such a place: thousands of small files. */
	(void)snprintf(root, sizeof(root), "%s/tripdog-power-XXXXXX",
		       access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
	if (!mkdtemp(root))
		return -1;
	(void)snprintf(outer, sizeof(outer), "%s/state", root);
	(void)snprintf(inner, sizeof(inner), "%s/" INNER, outer);
	(void)snprintf(made, sizeof(made), "%s/made", root);
	played.slot = calloc(PLAYED, sizeof(*played.slot));
	return played.slot ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	free(played.slot);
	remove_all(inner);
	remove_all(outer);
	return rmdir(root);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(whenever_the_power_goes_the_next_start_finds_what_was_promised),
		cmocka_unit_test(on_a_disk_that_lies_the_promises_are_seen_to_be_broken),
	};

	return cmocka_run_group_tests(tests, set_up, tear_down);
}

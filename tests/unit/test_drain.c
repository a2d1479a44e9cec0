/* SPDX-License-Identifier: MIT */
/*
 * From the shared memory to log and archive: the order of the entries, and where snapshots go. The archive is the test's:
 * it notes what it is given.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "daemon/scribe/drain.h"
#include "tests/support/front_rig.h"

struct td_archive {
	char given[4096]; /* "s3 " a snapshot of that number, "3 " the entry, "c1 " one of a client */
	unsigned tended;
};

static struct td_archive kept;
static struct rig rig;
static struct td_drain drain;

static void note(const char *what, uint64_t number)
{
	size_t length = strlen(kept.given);

	(void)snprintf(kept.given + length, sizeof(kept.given) - length, "%s%llu ", what,
		       (unsigned long long)number);
}

void td_archive_snapshot(struct td_archive *archive, const struct td_snapshot *snapshot)
{
	(void)archive;
	note("s", snapshot->number);
}

void td_archive_entry(struct td_archive *archive, const struct td_entry *entry)
{
	(void)archive;
	note(entry->kind == TD_ENTRY_SESSION ? "c" : "", entry->number);
}

void td_archive_tend(struct td_archive *archive, td_ns now_ns)
{
	(void)now_ns;
	archive->tended++;
}

struct td_archive_tally td_archive_tally(const struct td_archive *archive)
{
	return (struct td_archive_tally){.unwritten = 3, .trips = 2, .bytes_today = archive->tended};
}

static int set_up(void **state)
{
	(void)state;
	memset(&kept, 0, sizeof(kept));
	rig_prepare(&rig);
	td_drain_init(&drain, &rig.shared, &kept);
	td_diary_init(&drain.diary, &rig.config, &rig.arming, open("/dev/null", O_WRONLY | O_CLOEXEC));
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	close(drain.diary.machine.fd);
	return rmdir(rig.dir);
}

static void put(struct td_queue *queue, enum td_entry_kind kind, uint64_t number, td_ns at_ns)
{
	const struct td_entry entry = {.kind = kind, .number = number, .at_ns = at_ns};

	assert_true(td_queue_put(queue, &entry));
}

static void put_step(uint64_t number)
{
	put(rig.shared.steps, TD_ENTRY_STEP, number, TD_S(1) + (td_ns)number);
}

static void lay(uint64_t number)
{
	struct td_snapshot *place = td_shelf_place(rig.shared.snapshots);

	place->number = number;
	td_shelf_lay(rig.shared.snapshots);
}

static void a_snapshot_goes_right_before_its_entry(void **state)
{
	(void)state;
	lay(0);
	put_step(0);
	put_step(1);
	assert_true(td_drain_some(&drain));
	put_step(2);
	lay(3); /* its entry is not there yet */
	assert_true(td_drain_some(&drain));
	assert_false(td_drain_some(&drain));
	put_step(3);
	lay(5);
	put_step(4);
	put_step(5);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "s0 0 1 2 s3 3 4 s5 5 ");
}

/* The mover dropped what belonged to the one that waits; the next one is of after the loss. */
static void a_snapshot_whose_entry_was_lost_gives_way_to_the_next(void **state)
{
	(void)state;
	lay(0);
	put_step(0);
	assert_true(td_drain_some(&drain));
	lay(2);
	put_step(1);
	assert_true(td_drain_some(&drain)); /* takes it, and it waits */
	lay(9);
	put_step(9);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "s0 0 1 s9 9 ");
	assert_int_equal(rig.shared.tally->lost, 7);
}

/* The one in between was overwritten before anybody looked. */
static void only_the_newest_of_several_can_be_had(void **state)
{
	(void)state;
	lay(0);
	lay(1);
	lay(2);
	for (uint64_t i = 0; i < 4; i++)
		put_step(i);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "0 1 s2 2 3 ");
}

static void mover_and_front_are_merged_by_their_times(void **state)
{
	(void)state;
	put(rig.shared.steps, TD_ENTRY_STEP, 0, 10);
	put(rig.shared.steps, TD_ENTRY_NEWS, 1, 10);
	put(rig.shared.clients, TD_ENTRY_SESSION, 0, 7); /* put late */
	put(rig.shared.clients, TD_ENTRY_SESSION, 1, 15);
	put(rig.shared.steps, TD_ENTRY_STEP, 2, 20);
	put(rig.shared.clients, TD_ENTRY_SESSION, 2, 30);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "0 1 c0 c1 2 c2 ");
}

/* The sockets are there before the core is. */
static void a_client_that_was_there_first_comes_after_the_first_step(void **state)
{
	(void)state;
	put(rig.shared.clients, TD_ENTRY_SESSION, 0, 5);
	assert_false(td_drain_some(&drain));
	lay(0);
	put(rig.shared.steps, TD_ENTRY_STEP, 0, 10);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "s0 0 c0 ");
}

/* However much there is, the archive has its turn. */
static void a_round_is_bounded(void **state)
{
	(void)state;
	for (uint64_t i = 0; i < 2 * TD_DRAIN_MAX + 1; i++)
		put_step(i);
	for (unsigned round = 1; round <= 3; round++) {
		assert_true(td_drain_some(&drain));
		assert_int_equal(kept.tended, round);
	}
	assert_false(td_drain_some(&drain));
	assert_int_equal(kept.tended, 4); /* at rest, too */
}

static void status_learns_how_the_traces_do(void **state)
{
	(void)state;
	put_step(7);
	assert_true(td_drain_some(&drain));
	assert_int_equal(rig.shared.tally->lost, 7);
	assert_int_equal(rig.shared.tally->unwritten, 3);
	assert_int_equal(rig.shared.tally->trips, 2);
	assert_int_equal(rig.shared.tally->bytes_today, 1);
}

static void without_an_archive_the_log_goes_on(void **state)
{
	(void)state;
	drain.archive = NULL;
	put_step(1);
	assert_true(td_drain_some(&drain));
	assert_string_equal(kept.given, "");
	assert_int_equal(rig.shared.tally->lost, 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_snapshot_goes_right_before_its_entry),
		TEST(a_snapshot_whose_entry_was_lost_gives_way_to_the_next),
		TEST(only_the_newest_of_several_can_be_had),
		TEST(mover_and_front_are_merged_by_their_times),
		TEST(a_client_that_was_there_first_comes_after_the_first_step),
		TEST(a_round_is_bounded),
		TEST(status_learns_how_the_traces_do),
		TEST(without_an_archive_the_log_goes_on),
	};

	return cmocka_run_group_tests_name("drain", tests, NULL, NULL);
}

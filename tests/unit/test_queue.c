/* SPDX-License-Identifier: MIT */
/* The ring that carries entries to the scribe: order, wrap, full, and two processes at once. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/scribe/queue.h"
#include "daemon/scribe/shelf.h"

enum { SIZE = 8, MANY = 200000, SNAPSHOTS = 10000 };

static struct td_queue *queue;
static struct td_error err;

static int set_up(void **state)
{
	(void)state;
	queue = td_queue_make(SIZE, &err);
	return queue ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	return munmap(queue, sizeof(*queue) + queue->size * sizeof(struct td_entry));
}

/* Every byte of it tells its number. */
static struct td_entry entry_of(uint64_t number)
{
	struct td_entry entry;

	memset(&entry, (int)(number % 251), sizeof(entry));
	entry.number = number;
	return entry;
}

static bool put(uint64_t number)
{
	const struct td_entry entry = entry_of(number);

	return td_queue_put(queue, &entry);
}

/* Both written by entry_of(): as bytes, paddings too. */
static bool same_bytes(const struct td_entry *entry, const struct td_entry *wanted)
{
	return memcmp((const uint8_t *)entry, (const uint8_t *)wanted, sizeof(*wanted)) == 0;
}

/* True if the oldest is whole and has this number; drops it. */
static bool took(uint64_t number)
{
	const struct td_entry wanted = entry_of(number);
	const struct td_entry *first = td_queue_first(queue);
	bool same = first && same_bytes(first, &wanted);

	td_queue_drop(queue);
	return same;
}

static void entries_come_out_in_their_order(void **state)
{
	(void)state;
	assert_null(td_queue_first(queue));
	for (uint64_t i = 0; i < 3; i++)
		assert_true(put(i));
	for (uint64_t i = 0; i < 3; i++)
		assert_true(took(i));
	assert_null(td_queue_first(queue));
}

static void it_goes_round_and_round(void **state)
{
	(void)state;
	for (uint64_t i = 0; i < 5; i++)
		assert_true(put(i));
	for (uint64_t i = 0; i < (uint64_t)10 * SIZE; i++) {
		assert_true(put(i + 5));
		assert_true(took(i));
		assert_int_equal(td_queue_room(queue), SIZE - 5);
	}
}

static void what_does_not_fit_is_refused_and_nothing_is_overwritten(void **state)
{
	(void)state;
	for (uint64_t i = 0; i < SIZE; i++) {
		assert_int_equal(td_queue_room(queue), SIZE - i);
		assert_true(put(i));
	}
	assert_int_equal(td_queue_room(queue), 0);
	assert_false(put(100));
	assert_true(took(0));
	assert_true(put(SIZE));
	assert_false(put(101));
	for (uint64_t i = 1; i <= SIZE; i++)
		assert_true(took(i));
	assert_null(td_queue_first(queue));
}

static void the_first_stays_until_it_is_dropped(void **state)
{
	(void)state;
	assert_true(put(7));
	assert_ptr_equal(td_queue_first(queue), td_queue_first(queue));
	assert_true(took(7));
}

static void sizes_that_cannot_be_had_are_an_error_with_a_sentence(void **state)
{
	(void)state;
	assert_null(td_queue_make(UINT64_C(1) << 45, &err));
	assert_non_null(strstr(err.text, "memory"));
}

/* Puts until `last`, and drops what does not fit, as the mover does; the last one is put at any rate. */
static void write_all(uint64_t last)
{
	for (uint64_t i = 0; i < last; i++) {
		(void)put(i);
		if (i % 16 == 0)
			sched_yield();
	}
	while (!put(last))
		sched_yield();
}

/* A writer that never waits and a reader in another process: what arrives is whole, in order, each once. */
static void between_two_processes_nothing_is_torn_nor_swapped(void **state)
{
	uint64_t next = 0;
	uint64_t got = 0;
	uint64_t bad = 0;
	int status = 0;

	(void)state;
	(void)fflush(NULL);
	pid_t writer = fork();

	assert_true(writer >= 0);
	if (writer == 0) {
		write_all(MANY);
		_exit(0);
	}
	while (next <= MANY) {
		const struct td_entry *first = td_queue_first(queue);

		if (!first) {
			sched_yield();
			continue;
		}
		const struct td_entry wanted = entry_of(first->number);

		bad += first->number < next || !same_bytes(first, &wanted);
		next = first->number + 1;
		got++;
		td_queue_drop(queue);
	}
	assert_int_equal(waitpid(writer, &status, 0), writer);
	assert_int_equal(status, 0);
	print_message("# measured: of %d entries put without waiting %llu fitted into a ring of %d\n",
		      MANY + 1, (unsigned long long)got, SIZE);
	assert_int_equal(bad, 0);
	assert_true(got > SIZE);
}

/* --- the shelf with something as large as a snapshot -------------------------------------------------- */

static struct td_snapshot taken_one;

static void lay_all(struct td_shelf *shelf)
{
	for (uint32_t i = 1; i <= SNAPSHOTS; i++) {
		struct td_snapshot *place = td_shelf_place(shelf);

		memset(place, (int)(i % 251), sizeof(*place));
		place->number = i;
		td_shelf_lay(shelf);
		sched_yield();
	}
}

static bool is_whole(const struct td_snapshot *snapshot)
{
	const uint8_t *bytes = (const uint8_t *)snapshot;
	bool whole = true;

	for (size_t i = sizeof(snapshot->number); i < sizeof(*snapshot); i++)
		whole = whole && bytes[i] == snapshot->number % 251;
	return whole;
}

static void a_snapshot_that_is_taken_is_whole(void **state)
{
	struct td_shelf *shelf = td_shelf_make(sizeof(struct td_snapshot), &err);
	uint32_t taken = 0;
	uint64_t got = 0;
	int status = 0;

	(void)state;
	assert_non_null(shelf);
	(void)fflush(NULL);
	pid_t writer = fork();

	assert_true(writer >= 0);
	if (writer == 0) {
		lay_all(shelf);
		_exit(0);
	}
	while (taken < SNAPSHOTS) {
		uint32_t before = taken;

		if (!td_shelf_take(shelf, &taken, &taken_one))
			continue;
		got++;
		assert_true(taken > before);
		assert_int_equal(taken_one.number, taken);
		assert_true(is_whole(&taken_one));
	}
	assert_int_equal(waitpid(writer, &status, 0), writer);
	print_message("# measured: of %d snapshots laid without waiting %llu were taken, each whole\n",
		      SNAPSHOTS, (unsigned long long)got);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(entries_come_out_in_their_order),
		TEST(it_goes_round_and_round),
		TEST(what_does_not_fit_is_refused_and_nothing_is_overwritten),
		TEST(the_first_stays_until_it_is_dropped),
		TEST(sizes_that_cannot_be_had_are_an_error_with_a_sentence),
		TEST(between_two_processes_nothing_is_torn_nor_swapped),
		TEST(a_snapshot_that_is_taken_is_whole),
	};

	return cmocka_run_group_tests_name("queue", tests, NULL, NULL);
}

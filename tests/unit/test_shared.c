/* SPDX-License-Identifier: MIT */
/* What the front may do with the memory it shares: a front in the hands of a stranger reaches neither mover nor scribe by it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/mover/meter.h"
#include "daemon/scribe/shared.h"

static struct td_shared shared;

/* One deed of a front each: touches one byte of what it shares. */
static void write_meters(void)
{
	shared.meters->size++;
}

static void write_tally(void)
{
	atomic_store(&shared.tally->lost, 1);
}

static void write_steps(void)
{
	shared.steps->size++;
}

static void write_records(void)
{
	shared.records->size++;
}

static void write_snapshots(void)
{
	shared.snapshots->size++;
}

static void write_client(void)
{
	const struct td_entry entry = {.kind = TD_ENTRY_SESSION};

	if (!td_queue_put(shared.clients, &entry))
		_exit(1);
}

static void read_meters_and_tally(void)
{
	static struct td_meter meter;
	uint32_t taken = 0;

	if (!td_shelf_take(shared.meters, &taken, &meter) || meter.stops_ns != 42 ||
	    atomic_load(&shared.tally->lost) != 7)
		_exit(1);
}

/* The status of a front that did it. */
static int done_by_a_front(void (*deed)(void))
{
	int status = 0;
	pid_t pid = fork();

	if (pid == 0) {
		(void)signal(SIGSEGV, SIG_DFL);
		if (!td_shared_bar_front(&shared))
			_exit(2);
		deed();
		_exit(0);
	}
	assert_int_equal(waitpid(pid, &status, 0), pid);
	return status;
}

static int make(void **state)
{
	struct td_error err;
	struct td_meter *meter;

	(void)state;
	if (td_shared_make(&shared, &err) != 0)
		return -1;
	meter = td_shelf_place(shared.meters);
	meter->stops_ns = 42;
	td_shelf_lay(shared.meters);
	atomic_store(&shared.tally->lost, 7);
	return 0;
}

static void it_reads_what_was_counted_and_tells_of_clients(void **state)
{
	(void)state;
	assert_int_equal(done_by_a_front(read_meters_and_tally), 0);
	assert_int_equal(done_by_a_front(write_client), 0);
	assert_non_null(td_queue_first(shared.clients));
}

/* Not an exit of its own: the kernel (or a sanitizer in its place) ended it, and nothing has changed. */
static void whatever_else_it_touches_ends_it(void **state)
{
	static void (*const deeds[])(void) = {write_meters, write_tally, write_steps, write_records,
					      write_snapshots};

	(void)state;
	for (size_t i = 0; i < sizeof(deeds) / sizeof(deeds[0]); i++) {
		int status = done_by_a_front(deeds[i]);

		assert_true(WIFSIGNALED(status) || WEXITSTATUS(status) > 2);
	}
	assert_int_equal(shared.meters->size, sizeof(struct td_meter));
	assert_int_equal(atomic_load(&shared.tally->lost), 7);
	assert_int_equal(shared.steps->size, TD_QUEUE_STEPS);
	assert_int_equal(shared.records->size, sizeof(struct td_shelf_record));
	assert_int_equal(shared.snapshots->size, sizeof(struct td_snapshot));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_reads_what_was_counted_and_tells_of_clients),
		cmocka_unit_test(whatever_else_it_touches_ends_it),
	};

	return cmocka_run_group_tests(tests, make, NULL);
}

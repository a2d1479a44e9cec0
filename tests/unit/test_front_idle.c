/* SPDX-License-Identifier: MIT */
/*
 * Clients that stall: half a line that is never finished, a socket that is never read. No test waits for the time that
 * this takes: the clock of the front goes ahead by what the test says.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#include "daemon/front/history.h"
#include "daemon/front/session.h"
#include "tests/support/front_rig.h"

static struct rig rig;
static volatile td_ns *ahead_ns; /* shared with the front */

/* In place of the C library's, for this program, the front it forks, and the event loop of that. */
/* NOLINTNEXTLINE(readability-inconsistent-declaration-parameter-name): the names are the library's own */
int clock_gettime(clockid_t clock, struct timespec *now)
{
	int result = (int)syscall(SYS_clock_gettime, clock, now);

	if (result == 0 && clock == CLOCK_MONOTONIC && ahead_ns) {
		td_ns moved_ns = TD_S(now->tv_sec) + now->tv_nsec + *ahead_ns;

		now->tv_sec = moved_ns / TD_S(1);
		now->tv_nsec = moved_ns % TD_S(1);
	}
	return result;
}

static int set_up(void **state)
{
	(void)state;
	ahead_ns = mmap(NULL, sizeof(*ahead_ns), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	assert_ptr_not_equal(ahead_ns, MAP_FAILED);
	rig_start_ready(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	assert_int_equal(rig_end(&rig), 0);
	return 0;
}

static void pass(int seconds)
{
	*ahead_ns += TD_S(seconds);
}

/* The front has looked at all its clients since the last pass(). */
static void await_tick(void)
{
	struct timespec span = {.tv_nsec = 300000000}; /* its ticks are nearer than that */

	nanosleep(&span, NULL);
}

static void send_bytes(const struct rig_client *client, const char *text)
{
	assert_int_equal(send(client->fd, text, strlen(text), MSG_NOSIGNAL), strlen(text));
}

static void expect_logged(const char *words)
{
	char *log = rig_log(&rig);

	if (!strstr(log, words))
		fail_msg("the log does not say \"%s\": %s", words, log);
	free(log);
}

/* --- half lines ---------------------------------------------------------------------------------------- */

static void a_line_that_is_never_finished_ends_the_connection(void **state)
{
	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *idle = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_sync(idle);
	send_bytes(client, "{\"jsonrpc\":\"2.0\",");
	rig_sync(idle);
	pass(TD_LINE_DUE_S + 1);
	send_bytes(client, "\"meth"); /* a trickle does not make it younger */
	json_t *answer = rig_receive(client);

	assert_int_equal(rig_code(answer), -32700);
	assert_non_null(strstr(rig_sentence(answer), "not finished within 10 s"));
	json_decref(answer);
	assert_true(rig_closed(client));
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	expect_logged("begun and not finished");
	rig_sync(idle); /* one that says nothing may stay */
	rig_close(client);
	rig_close(idle);
}

static void a_line_in_two_pieces_in_time_is_taken_and_the_next_has_its_own_time(void **state)
{
	(void)state;
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	send_bytes(client, "{");
	for (int i = 0; i < 3; i++) {
		await_tick();
		pass(TD_LINE_DUE_S - 2);
		await_tick();
		send_bytes(client, "\"jsonrpc\":\"2.0\",\"method\":\"describe\",\"id\":5}\n{");
		json_t *answer = rig_receive(client);

		assert_int_equal(rig_id(answer), 5);
		json_decref(answer);
	}
	rig_close(client);
}

/* --- sockets that are not read --------------------------------------------------------------------------- */

/* More than its socket takes, and less than what a follower is dropped for. */
static struct rig_client *full_follower(int trips)
{
	struct td_note trip = rig_news_note(TD_CAUSE_TRAVEL_LIMIT, RIG_BOOM, RIG_RAISE, 0, 0);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	json_decref(rig_call(client, "follow", "", 1));
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	for (int i = 0; i < trips; i++)
		rig_note(&rig, &trip);
	rig_sync(other);
	rig_close(other);
	await_tick(); /* each follower is told in its turn */
	return client;
}

static void await_end_of_session(uint32_t session)
{
	struct td_entry told;

	do
		told = rig_told(&rig);

	while (told.kind != TD_ENTRY_SESSION || told.as.session.came || told.as.session.session != session);
}

static void who_reads_nothing_for_long_is_dropped(void **state)
{
	(void)state;
	struct rig_client *client = full_follower(TD_HISTORY_KEPT);

	pass(TD_STALLED_S - 2);
	await_tick();
	char *log = rig_log(&rig);
	assert_null(strstr(log, "dropped"));
	free(log);
	pass(3);
	await_end_of_session(1);
	expect_logged("has not read for too long");
	rig_close(client);
}

static void who_reads_now_and_then_is_not(void **state)
{
	char some[32768];
	size_t bytes = 0;

	(void)state;
	struct rig_client *client = full_follower(TD_HISTORY_KEPT);

	for (int i = 0; i < 4; i++) {
		pass(TD_STALLED_S - 2);
		await_tick();
		ssize_t got = recv(client->fd, some, sizeof(some), 0);

		assert_true(got > 0);
		bytes += (size_t)got;
		await_tick();
	}
	assert_true(bytes > sizeof(some));
	char *log = rig_log(&rig);
	assert_null(strstr(log, "dropped"));
	free(log);
	rig_close(client);
}

/* The word of why it is dropped waits for it, but not for ever. */
static void who_does_not_read_why_it_is_dropped_goes_all_the_same(void **state)
{
	(void)state;
	struct rig_client *client = full_follower(2 * TD_HISTORY_KEPT);

	expect_logged("so slowly");
	pass(TD_PARTING_S + 1);
	await_end_of_session(1);
	while (client->used < sizeof(client->bytes)) {
		ssize_t got = recv(client->fd, client->bytes + client->used,
				   sizeof(client->bytes) - client->used, 0);

		if (got <= 0)
			break;
		client->used += (size_t)got;
	}
	assert_true(client->used > 0 && client->used < sizeof(client->bytes));
	assert_null(memmem(client->bytes, client->used, "dropped", strlen("dropped")));
	rig_close(client);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		TEST(a_line_that_is_never_finished_ends_the_connection),
		TEST(a_line_in_two_pieces_in_time_is_taken_and_the_next_has_its_own_time),
		TEST(who_reads_nothing_for_long_is_dropped),
		TEST(who_reads_now_and_then_is_not),
		TEST(who_does_not_read_why_it_is_dropped_goes_all_the_same),
	};

	return cmocka_run_group_tests_name("front_idle", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* The local socket is hostile: garbage, floods, clients that do not read, too many of them. A keeper's stop
 * gets through. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "tests/support/front_rig.h"
#include "wire/limits.h"

static td_ns now_ns(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

/* --- garbage -------------------------------------------------------------------------------------------- */

static const struct {
	const char *line;
	int code;
} garbage[] = {
	{"", -32700},
	{"hello", -32700},
	{"{\"jsonrpc\":\"2.0\",\"method\":\"status\",\"id\":1", -32700},
	{"\xff\xfe", -32700},
	{"[]", -32600},
	{"7", -32600},
	{"{}", -32600},
	{"{\"jsonrpc\":\"1.0\",\"method\":\"status\",\"id\":1}", -32600},
	{"{\"jsonrpc\":\"2.0\",\"method\":\"status\",\"id\":1,\"id\":2}", -32700},
	{"[[[[[[[[[", -32700},
};

static void test_garbage_is_answered_and_tolerated_up_to_the_twentieth_line(void **state)
{
	struct rig rig;
	enum { KINDS = sizeof(garbage) / sizeof(garbage[0]) };

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	for (int i = 0; i < 19; i++) {
		rig_send(visitor, garbage[i % KINDS].line);
		json_t *answer = rig_receive(visitor);

		assert_int_equal(rig_code(answer), garbage[i % KINDS].code);
		assert_true(json_is_null(json_object_get(answer, "id")) || rig_id(answer) == 1);
		assert_true(strlen(rig_sentence(answer)) > 10);
		json_decref(answer);
	}
	rig_sync(visitor); /* still served */
	rig_send(visitor, "the twentieth");
	assert_true(rig_closed(visitor));
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_line_that_is_too_long_gets_one_error_and_ends_the_connection(void **state)
{
	struct rig rig;
	static char line[3 * TD_LINE_MAX];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	memset(line, ' ', TD_LINE_MAX);
	line[0] = '{';
	rig_send(visitor, line); /* as long as may be: no JSON, but read */
	json_t *answer = rig_receive(visitor);
	assert_int_equal(rig_code(answer), -32700);
	json_decref(answer);
	memset(line, 'x', sizeof(line) - 1);
	rig_send(visitor, line);
	answer = rig_receive(visitor);
	assert_int_equal(rig_code(answer), -32700);
	assert_non_null(strstr(rig_sentence(answer), "longer than 4096 bytes"));
	json_decref(answer);
	assert_true(rig_closed(visitor));
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_call_cut_at_any_byte_into_two_writes_is_the_same_call(void **state)
{
	static const char call[] = "{\"jsonrpc\":\"2.0\",\"id\":\"\xc3\xa4\",\"method\":\"describe\"}\r\n";
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);

	for (size_t cut = 1; cut < sizeof(call) - 1; cut++) {
		struct rig_client *other = rig_connect(&rig, TD_ROLE_VISITOR);

		assert_int_equal(send(keeper->fd, call, cut, 0), cut);
		rig_sync(other); /* the front has had time for the first piece */
		assert_int_equal(send(keeper->fd, call + cut, sizeof(call) - 1 - cut, 0),
				 sizeof(call) - 1 - cut);
		json_t *answer = rig_receive(keeper);
		assert_string_equal(json_string_value(json_object_get(answer, "id")), "\xc3\xa4");
		assert_non_null(json_object_get(answer, "result"));
		json_decref(answer);
		rig_close(other);
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	}
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- floods --------------------------------------------------------------------------------------------- */

enum { FLOODERS = 16, STOPS = 50 };

/* A process that writes as fast as it may over all its connections and never reads, until it is stopped. */
static pid_t start_flood(const struct rig *rig, const char *text)
{
	pid_t pid = fork();
	struct rig_client *client[FLOODERS];
	size_t length = strlen(text);

	assert_true(pid >= 0);
	if (pid > 0)
		return pid;
	for (int i = 0; i < FLOODERS; i++)
		client[i] = rig_connect(rig, TD_ROLE_VISITOR);
	for (unsigned int i = 0;; i = (i + 1) % FLOODERS) {
		if (send(client[i]->fd, text, length, MSG_NOSIGNAL | MSG_DONTWAIT) >= 0)
			continue;
		struct pollfd hung = {.fd = client[i]->fd};

		if (poll(&hung, 1, 0) == 1 && (hung.revents & POLLHUP) != 0) {
			rig_close(client[i]);
			client[i] = rig_connect(rig, TD_ROLE_VISITOR);
		}
	}
}

static void stop_flood(pid_t pid)
{
	kill(pid, SIGKILL);
	while (waitpid(pid, NULL, 0) < 0)
		;
}

static td_ns cpu_ns(pid_t pid)
{
	clockid_t clock;
	struct timespec used;

	assert_int_equal(clock_getcpuclockid(pid, &clock), 0);
	clock_gettime(clock, &used);
	return TD_S(used.tv_sec) + used.tv_nsec;
}

/* `work_ns` is at least what the front did before it turned to the stop, on however busy a machine: no more than
 * the time until it had read it, and no more than the processor time it used until the mover had it. */
struct delay {
	td_ns real_ns; /* until the mover had it */
	td_ns work_ns;
};

static void keep_worst(struct delay *worst, const struct delay *one)
{
	if (one->real_ns > worst->real_ns)
		worst->real_ns = one->real_ns;
	if (one->work_ns > worst->work_ns)
		worst->work_ns = one->work_ns;
}

/* One stop from the keeper to the mover. */
static struct delay time_stop(const struct rig *rig, struct rig_client *keeper)
{
	struct td_order order = {.kind = TD_EVENT_GONE};
	td_ns before_ns = now_ns();
	td_ns before_cpu_ns = cpu_ns(rig->pid);

	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"stop\"}");
	while (order.kind != TD_EVENT_STOP || order.tag == 0) /* a flood's own stops want no answer */
		order = rig_order(rig->urgent);
	struct delay delay = {.real_ns = now_ns() - before_ns, .work_ns = cpu_ns(rig->pid) - before_cpu_ns};
	if (order.heard_ns - before_ns < delay.work_ns)
		delay.work_ns = order.heard_ns - before_ns;
	rig_answer(rig, order.tag, TD_CAUSE_STOPPED);
	return delay;
}

/* The slowest of many stops, with `text` flooding the visitors' socket. */
static struct delay slowest_stop(const char *text)
{
	struct rig rig;
	struct delay worst = {.real_ns = 0};

	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	rig_sync(keeper);
	pid_t flood = start_flood(&rig, text);

	for (int i = 0; i < STOPS; i++) {
		poll(NULL, 0, 10);
		struct delay one = time_stop(&rig, keeper);

		keep_worst(&worst, &one);
	}
	stop_flood(flood);
	print_message("# measured: slowest of %d stops under a flood: %.2f ms of work, %.2f ms in all\n",
		      STOPS, (double)worst.work_ns / 1e6, (double)worst.real_ns / 1e6);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
	return worst;
}

static void test_R7_garbage_from_sixteen_visitors_does_not_delay_the_keepers_stop(void **state)
{
	struct delay worst = slowest_stop("garbage {{{ \xff\n");

	(void)state;
	assert_true(worst.work_ns < TD_MS(10));
}

static void test_R7_a_flood_of_good_calls_does_not_delay_the_keepers_stop(void **state)
{
	struct delay worst = slowest_stop("{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}\n");

	(void)state;
	assert_true(worst.work_ns < TD_MS(10));
}

/* They are looked for ahead of everything else, but not without bound. */
static void test_R7_a_flood_of_stops_and_of_what_looks_like_them_does_not_delay_the_keepers(void **state)
{
	struct delay worst = slowest_stop("{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}\n"
					  "{\"jsonrpc\":\"2.0\",\"method\":\"st\\u006f\"}\n");

	(void)state;
	assert_true(worst.work_ns < TD_MS(10));
}

static void send_many(struct rig_client *client, int count)
{
	char line[80];

	for (int i = 0; i < count; i++) {
		(void)snprintf(line, sizeof(line), "{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"nonsense\"}",
			       i);
		rig_send(client, line);
	}
}

static void test_a_fast_visitor_is_slowed_down_and_loses_nothing(void **state)
{
	enum { CALLS = 250 };
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	td_ns before_ns = now_ns();

	send_many(visitor, CALLS);
	for (int i = 0; i < CALLS; i++) {
		json_t *answer = rig_receive(visitor);

		assert_int_equal(rig_id(answer), i);
		json_decref(answer);
	}
	/* 50 at once, the other 200 at 200/s */
	td_ns took_ns = now_ns() - before_ns;
	assert_true(took_ns > TD_MS(950));
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_keeper_is_not_slowed_down(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	td_ns before_ns = now_ns();

	send_many(keeper, 250);
	for (int i = 0; i < 250; i++)
		json_decref(rig_receive(keeper));
	assert_true(now_ns() - before_ns < TD_MS(900));
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

/* R7: a visitor that went away while it was being slowed down holds nothing any more, and what it had sent
 * cannot start anything. */
static void test_R7_a_slowed_visitor_that_goes_away_is_gone_at_once(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)rig_token(visitor); /* else the request waits for its own, behind the lines */
	assert_int_equal(kill(rig.pid, SIGSTOP), 0); /* it finds all the lines and their end at once */
	send_many(visitor, 150);
	rig_send(visitor, "{\"jsonrpc\":\"2.0\",\"id\":1000,\"method\":\"request\",\"params\":"
			  "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}}");
	assert_int_equal(shutdown(visitor->fd, SHUT_WR), 0);
	td_ns before_ns = now_ns();
	assert_int_equal(kill(rig.pid, SIGCONT), 0);
	struct td_order gone = rig_order(rig.urgent);
	assert_int_equal(gone.kind, TD_EVENT_GONE);
	assert_true(now_ns() - before_ns < TD_MS(250)); /* the lines before it take 500 ms */
	for (int i = 0; i < 150; i++)
		json_decref(rig_receive(visitor));
	json_t *answer = rig_receive(visitor);
	assert_int_equal(rig_id(answer), 1000);
	assert_string_equal(rig_outcome(answer), "client-gone");
	json_decref(answer);
	assert_true(rig_closed(visitor));
	assert_true(rig_no_order(&rig));
	assert_int_equal(rig_told(&rig).as.session.came, 1);
	assert_int_equal(rig_told(&rig).as.session.cause, TD_CAUSE_CLIENT_GONE);
	assert_int_equal(rig_told(&rig).kind, TD_ENTRY_SESSION);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- clients that do not read --------------------------------------------------------------------------- */

static void test_a_client_that_does_not_read_its_answers_is_dropped_and_others_are_not(void **state)
{
	struct rig rig;
	struct pollfd gone = {.events = POLLIN};
	int sent = 0;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *slow = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *good_keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *good = rig_connect(&rig, TD_ROLE_VISITOR);

	gone.fd = rig.urgent;
	for (; sent < 20000 && poll(&gone, 1, 0) == 0; sent++) {
		/* One at a time is read, so that none waits in the socket when it is dropped. */
		rig_send(slow, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"status\"}");
		rig_sync(good_keeper);
	}
	struct td_order order = rig_order(rig.urgent);
	assert_int_equal(order.kind, TD_EVENT_GONE);
	assert_int_equal(order.session, 1);
	print_message("# measured: a client that never reads is dropped after about %d answers\n", sent);
	rig_sync(good);
	char *log = rig_log(&rig);
	assert_non_null(strstr(log, "does not read"));
	free(log);
	rig_close(slow);
	rig_close(good_keeper);
	rig_close(good);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- too many ------------------------------------------------------------------------------------------- */

static void test_the_sixty_fifth_connection_of_a_role_is_told_busy(void **state)
{
	struct rig rig;
	struct rig_client *visitor[65];

	(void)state;
	rig_start_ready(&rig);
	for (int i = 0; i < 64; i++) {
		visitor[i] = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor[i]);
	}
	visitor[64] = rig_connect(&rig, TD_ROLE_VISITOR);
	json_t *answer = rig_receive(visitor[64]);
	assert_int_equal(rig_code(answer), -32003);
	assert_non_null(strstr(rig_sentence(answer), "64 connections"));
	json_decref(answer);
	assert_true(rig_closed(visitor[64]));
	rig_close(visitor[64]);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER); /* has its own places */
	rig_sync(keeper);
	rig_close(visitor[0]);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	rig_sync(keeper);
	visitor[0] = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor[0]);
	rig_close(keeper);
	for (int i = 0; i < 64; i++)
		rig_close(visitor[i]);
	assert_int_equal(rig_end(&rig), 0);
}

/* The lowest number that is free in the process: with it as limit, nothing more can be opened. */
static rlim_t lowest_free_descriptor(pid_t pid)
{
	char path[64];
	rlim_t number = 0;

	do
		(void)snprintf(path, sizeof(path), "/proc/%d/fd/%d", (int)pid, (int)number++);
	while (faccessat(AT_FDCWD, path, F_OK, AT_SYMLINK_NOFOLLOW) == 0);
	return number - 1;
}

static void test_without_descriptors_a_client_is_turned_away_and_the_rest_is_served(void **state)
{
	struct rig rig;
	struct rlimit before;
	struct rlimit none;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	rig_sync(keeper);
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, NULL, &before), 0);
	none = before;
	none.rlim_cur = lowest_free_descriptor(rig.pid);
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, &none, NULL), 0);
	for (int i = 0; i < 3; i++) {
		struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
		json_t *answer = rig_receive(visitor);

		assert_int_equal(rig_code(answer), -32003);
		json_decref(answer);
		assert_true(rig_closed(visitor));
		rig_close(visitor);
		rig_sync(keeper);
	}
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, &before, NULL), 0);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor);
	rig_close(visitor);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_garbage_is_answered_and_tolerated_up_to_the_twentieth_line),
		cmocka_unit_test(test_a_line_that_is_too_long_gets_one_error_and_ends_the_connection),
		cmocka_unit_test(test_a_call_cut_at_any_byte_into_two_writes_is_the_same_call),
		cmocka_unit_test(test_R7_garbage_from_sixteen_visitors_does_not_delay_the_keepers_stop),
		cmocka_unit_test(test_R7_a_flood_of_good_calls_does_not_delay_the_keepers_stop),
		cmocka_unit_test(
			test_R7_a_flood_of_stops_and_of_what_looks_like_them_does_not_delay_the_keepers),
		cmocka_unit_test(test_a_fast_visitor_is_slowed_down_and_loses_nothing),
		cmocka_unit_test(test_a_keeper_is_not_slowed_down),
		cmocka_unit_test(test_R7_a_slowed_visitor_that_goes_away_is_gone_at_once),
		cmocka_unit_test(test_a_client_that_does_not_read_its_answers_is_dropped_and_others_are_not),
		cmocka_unit_test(test_the_sixty_fifth_connection_of_a_role_is_told_busy),
		cmocka_unit_test(test_without_descriptors_a_client_is_turned_away_and_the_rest_is_served),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

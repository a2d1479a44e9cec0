/* SPDX-License-Identifier: MIT */
/*
 * No user of the system takes what is there for all: places, the front's time, its descriptors. Which user is at the other end
 * the rig says in place of the kernel, but for one test that asks the kernel.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "daemon/front/users.h"
#include "tests/support/front_rig.h"

enum { SHARE = 4, ANNA = 1001, BERT = 1002, GATEWAY = 990, CROWD = 40 };

static struct rig rig;

static void start(void)
{
	struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
				  rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	rig_start(&rig, false);
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(&rig, &notes[i]);
}

static int set_up(void **state)
{
	(void)state;
	rig_prepare(&rig);
	rig.config.visitors_per_user = SHARE;
	(void)snprintf(rig.config.gateway, sizeof(rig.config.gateway), "%d", GATEWAY);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	assert_int_equal(rig_end(&rig), 0);
	return 0;
}

static struct rig_client *come(enum td_role role)
{
	struct rig_client *client = rig_connect(&rig, role);

	rig_sync(client);
	return client;
}

static void close_all(struct rig_client **client, int count)
{
	for (int i = 0; i < count; i++)
		rig_close(client[i]);
}

static void expect_turned_away(enum td_role role, const char *words)
{
	struct rig_client *client = rig_connect(&rig, role);
	json_t *answer = rig_receive(client);

	assert_int_equal(rig_code(answer), -32003);
	assert_non_null(strstr(rig_sentence(answer), words));
	json_decref(answer);
	assert_true(rig_closed(client));
	rig_close(client);
}

static void expect_logged(const char *words)
{
	char *log = rig_log(&rig);

	if (!strstr(log, words))
		fail_msg("the log does not say \"%s\": %s", words, log);
	free(log);
}

/* --- places -------------------------------------------------------------------------------------------- */

static void one_user_has_its_share_and_others_come_in(void **state)
{
	struct rig_client *annas[SHARE];

	(void)state;
	start();
	rig_as(&rig, ANNA);
	for (int i = 0; i < SHARE; i++)
		annas[i] = come(TD_ROLE_VISITOR);
	expect_turned_away(TD_ROLE_VISITOR, "4 connections already, which is its share");
	expect_logged("user 1001 has its share");
	rig_as(&rig, BERT);
	struct rig_client *bert = come(TD_ROLE_VISITOR);
	rig_close(annas[0]);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	rig_sync(bert);
	rig_as(&rig, ANNA);
	annas[0] = come(TD_ROLE_VISITOR);
	expect_turned_away(TD_ROLE_VISITOR, "its share");
	close_all(annas, SHARE);
	rig_close(bert);
}

static void the_gateway_has_as_many_as_there_are(void **state)
{
	struct rig_client *visitors[CROWD];

	(void)state;
	rig.config.visitors_max = CROWD;
	start();
	rig_as(&rig, GATEWAY);
	for (int i = 0; i < CROWD; i++)
		visitors[i] = come(TD_ROLE_VISITOR);
	expect_turned_away(TD_ROLE_VISITOR, "40 connections already");
	rig_as(&rig, ANNA);
	struct rig_client *keeper = come(TD_ROLE_KEEPER); /* has places of its own */
	rig_close(keeper);
	close_all(visitors, CROWD);
}

static void a_gateway_that_is_no_user_is_warned_of_and_limits_hold(void **state)
{
	struct rig_client *visitors[SHARE];

	(void)state;
	(void)snprintf(rig.config.gateway, sizeof(rig.config.gateway), "no-such-user");
	start();
	rig_as(&rig, GATEWAY);
	for (int i = 0; i < SHARE; i++)
		visitors[i] = come(TD_ROLE_VISITOR);
	expect_logged("there is no user \"no-such-user\"");
	expect_turned_away(TD_ROLE_VISITOR, "its share");
	close_all(visitors, SHARE);
}

static void a_program_that_leaks_keepers_connections_leaves_room_for_another_keeper(void **state)
{
	enum { KEEPERS_SHARE = 48 };
	struct rig_client *leaked[KEEPERS_SHARE];

	(void)state;
	start();
	rig_as(&rig, ANNA);
	for (int i = 0; i < KEEPERS_SHARE; i++)
		leaked[i] = come(TD_ROLE_KEEPER);
	expect_turned_away(TD_ROLE_KEEPER, "its share");
	rig_as(&rig, 0);
	struct rig_client *root = come(TD_ROLE_KEEPER);
	rig_close(root);
	close_all(leaked, KEEPERS_SHARE);
}

/* The only test that needs two real users: the one it runs as, and one it becomes. */
static void the_kernel_says_who_it_is(void **state)
{
	enum { SOMEBODY = 65534 };
	int status = 0;

	(void)state;
	if (geteuid() != 0)
		fail_msg("this test becomes another user: run it as root");
	rig.config.visitor.mode = 0666;
	rig.config.visitors_per_user = 1;
	assert_int_equal(chmod(rig.dir, 0755), 0);
	start();
	struct rig_client *own = come(TD_ROLE_VISITOR);

	expect_turned_away(TD_ROLE_VISITOR, "its share");
	pid_t pid = fork();
	assert_true(pid >= 0);
	if (pid == 0) {
		if (setresgid(SOMEBODY, SOMEBODY, SOMEBODY) != 0 ||
		    setresuid(SOMEBODY, SOMEBODY, SOMEBODY) != 0)
			_exit(1);
		struct rig_client *other = rig_connect(&rig, TD_ROLE_VISITOR);
		json_t *answer = rig_call(other, "describe", "", 1);

		_exit(json_object_get(answer, "result") ? 0 : 2);
	}
	assert_int_equal(waitpid(pid, &status, 0), pid);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
	rig_close(own);
}

/* --- pace ---------------------------------------------------------------------------------------------- */

/* Connects and calls; true where it was turned away instead of answered. */
static bool is_too_fast(void)
{
	static const char call[] = "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"describe\"}\n";
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	/* Where it was turned away nobody reads the call. */
	(void)send(client->fd, call, sizeof(call) - 1, MSG_NOSIGNAL);
	json_t *answer = rig_receive(client);
	bool turned_away = rig_code(answer) == -32003;

	if (turned_away)
		assert_non_null(strstr(rig_sentence(answer), "connects more than"));
	json_decref(answer);
	rig_close(client);
	if (!turned_away)
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	return turned_away;
}

static void who_connects_again_and_again_is_turned_away_and_others_are_not(void **state)
{
	(void)state;
	start();
	rig_as(&rig, ANNA);
	struct rig_client *kept = come(TD_ROLE_VISITOR);
	bool turned_away = false;

	for (int i = 0; i < 3 * TD_USER_COMES_AT_ONCE && !turned_away; i++)
		turned_away = is_too_fast();
	assert_true(turned_away);
	rig_sync(kept);
	rig_as(&rig, BERT);
	struct rig_client *bert = come(TD_ROLE_VISITOR);
	rig_close(bert);
	rig_close(kept);
}

static void send_calls(struct rig_client *client, int count)
{
	for (int i = 0; i < count; i++)
		rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":7,\"method\":\"nonsense\"}");
}

static td_ns now_ns(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_MONOTONIC, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

/* Eight connections may each send 200 a second; their user may send 800. */
static void the_lines_of_all_connections_of_a_user_are_paced_together(void **state)
{
	enum { CLIENTS = 8, EACH = 150 };
	struct rig_client *client[CLIENTS];

	(void)state;
	rig.config.visitors_per_user = CLIENTS;
	start();
	rig_as(&rig, ANNA);
	for (int i = 0; i < CLIENTS; i++)
		client[i] = come(TD_ROLE_VISITOR);
	td_ns before_ns = now_ns();

	for (int i = 0; i < CLIENTS; i++)
		send_calls(client[i], EACH);
	for (int i = 0; i < CLIENTS * EACH; i++)
		json_decref(rig_receive(client[i % CLIENTS]));
	/* 1200 lines: 200 and ten for each connection at once, the rest at 800/s and ten for each connection. Every connection
	 * alone would take half a second. */
	td_ns took_ns = now_ns() - before_ns;
	print_message("# measured: %d lines over %d connections of one user took %.2f s\n", CLIENTS * EACH,
		      CLIENTS, (double)took_ns / 1e9);
	assert_true(took_ns > TD_MS(900));
	close_all(client, CLIENTS);
}

/* R7: a stop over a connection that says little does not wait for what its user floods the others with. */
static void R7_a_stop_over_a_calm_connection_does_not_wait_for_its_users_flood(void **state)
{
	enum { FLOODERS = 8 };
	struct rig_client *flooder[FLOODERS];
	struct td_order order = {.kind = TD_EVENT_GONE};

	(void)state;
	rig.config.visitors_per_user = FLOODERS + 1;
	start();
	rig_as(&rig, ANNA);
	struct rig_client *calm = come(TD_ROLE_VISITOR);
	for (int i = 0; i < FLOODERS; i++)
		flooder[i] = come(TD_ROLE_VISITOR);
	for (int i = 0; i < FLOODERS; i++)
		send_calls(flooder[i], 300);
	poll(NULL, 0, 300); /* what they may at once is used up */
	td_ns before_ns = now_ns();

	rig_send(calm, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"stop\"}");
	while (order.kind != TD_EVENT_STOP)
		order = rig_order(rig.urgent);
	print_message("# measured: the stop was read after %.2f ms\n",
		      (double)(order.heard_ns - before_ns) / 1e6);
	assert_true(order.heard_ns - before_ns < TD_MS(100));
	rig_close(calm);
	close_all(flooder, FLOODERS);
}

/* --- descriptors --------------------------------------------------------------------------------------- */

static td_ns cpu_ns(void)
{
	clockid_t clock;
	struct timespec used;

	assert_int_equal(clock_getcpuclockid(rig.pid, &clock), 0);
	assert_int_equal(clock_gettime(clock, &used), 0);
	return TD_S(used.tv_sec) + used.tv_nsec;
}

/* Not even the spare descriptor can be had: whoever knocks waits, and nothing spins. */
static void without_even_a_spare_descriptor_the_front_sleeps_and_recovers(void **state)
{
	struct rlimit before;
	struct rlimit none;

	(void)state;
	start();
	rig_as(&rig, ANNA);
	struct rig_client *keeper = come(TD_ROLE_KEEPER);
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, NULL, &before), 0);
	none = before;
	none.rlim_cur = 3;
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, &none, NULL), 0);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	td_ns before_ns = cpu_ns();

	poll(NULL, 0, 500);
	td_ns used_ns = cpu_ns() - before_ns;
	print_message("# measured: %.2f ms of processor time in half a second without descriptors\n",
		      (double)used_ns / 1e6);
	assert_true(used_ns < TD_MS(50));
	rig_sync(keeper); /* is served meanwhile */
	assert_int_equal(prlimit(rig.pid, RLIMIT_NOFILE, &before, NULL), 0);
	rig_sync(visitor);
	rig_close(visitor);
	rig_close(keeper);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		TEST(one_user_has_its_share_and_others_come_in),
		TEST(the_gateway_has_as_many_as_there_are),
		TEST(a_gateway_that_is_no_user_is_warned_of_and_limits_hold),
		TEST(a_program_that_leaks_keepers_connections_leaves_room_for_another_keeper),
		TEST(the_kernel_says_who_it_is),
		TEST(who_connects_again_and_again_is_turned_away_and_others_are_not),
		TEST(the_lines_of_all_connections_of_a_user_are_paced_together),
		TEST(R7_a_stop_over_a_calm_connection_does_not_wait_for_its_users_flood),
		TEST(without_even_a_spare_descriptor_the_front_sleeps_and_recovers),
	};

	return cmocka_run_group_tests_name("front_users", tests, NULL, NULL);
}

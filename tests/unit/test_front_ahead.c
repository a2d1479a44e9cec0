/* SPDX-License-Identifier: MIT */
/*
 * R7: a stop overtakes everything that waits, also what its own connection and others sent before it and nobody has dealt with yet.
 * The front is stopped while the lines are sent, so that it finds them all at once; in which order it gave its orders is seen by
 * their tags, which rise.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>

#include "daemon/clock.h"
#include "tests/support/front_rig.h"

enum { QUEUED = 60, OTHERS = 12 };

static const char stop_all[] = "{\"jsonrpc\":\"2.0\",\"id\":900,\"method\":\"stop\"}";

static struct rig rig;

static int set_up(void **state)
{
	(void)state;
	rig_start_ready(&rig);
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	return rig_end(&rig);
}

static void pause_front(void)
{
	int status = 0;

	assert_int_equal(kill(rig.pid, SIGSTOP), 0);
	assert_int_equal(waitpid(rig.pid, &status, WUNTRACED), rig.pid);
}

static void resume_front(void)
{
	assert_int_equal(kill(rig.pid, SIGCONT), 0);
}

static void send_request(struct rig_client *client, const char *axis, const char *way, unsigned int hold)
{
	char line[200];

	(void)snprintf(line, sizeof(line),
		       "{\"jsonrpc\":\"2.0\",\"id\":%u,\"method\":\"request\",\"params\":{\"axis\":\"%s\","
		       "\"way\":\"%s\",\"hold\":%u,\"seq\":0,\"token\":\"@\"}}",
		       hold, axis, way, hold);
	rig_send(client, line);
}

static void send_others(struct rig_client *client, int count)
{
	for (int i = 0; i < count; i++)
		rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"nonsense\"}");
}

/* A request and all the lines behind it, then the stop: the stop comes first, and the request counts as older than it. */
static void passes_its_own(enum td_role role)
{
	struct rig_client *client = rig_connect(&rig, role);

	(void)rig_token(client);
	pause_front();
	send_others(client, QUEUED);
	send_request(client, "boom", "raise", 1);
	rig_send(client, stop_all);
	td_ns before_ns = td_clock_now();

	resume_front();
	struct td_order stop = rig_order(rig.urgent);

	assert_int_equal(stop.kind, TD_EVENT_STOP);
	assert_int_equal(stop.tag, 1);
	if (role == TD_ROLE_VISITOR) /* 60 lines before it take 50 ms and more by the rate */
		print_message("# measured: a stop behind %d lines is with the mover after %.1f ms\n",
			      QUEUED + 1, (double)(td_clock_now() - before_ns) / 1e6);
	rig_answer(&rig, stop.tag, TD_CAUSE_STOPPED);
	struct td_order request = rig_order(rig.orders);

	assert_int_equal(request.tag, 2);
	assert_true(request.heard_ns <= stop.heard_ns); /* so the core refuses it */
	rig_answer(&rig, request.tag, TD_CAUSE_OVERTAKEN);
	rig_sync(client); /* and what comes afterwards is served as ever */
	rig_close(client);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
}

static void R7_a_stop_passes_what_its_own_connection_sent_before(void **state)
{
	(void)state;
	passes_its_own(TD_ROLE_KEEPER);
}

static void R7_a_stop_passes_what_a_visitor_sent_faster_than_it_may(void **state)
{
	(void)state;
	passes_its_own(TD_ROLE_VISITOR);
}

/* Those are read first, and are many; each has requests. */
static void R7_a_stop_passes_what_others_sent_before(void **state)
{
	struct rig_client *other[OTHERS];
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	(void)state;
	for (int i = 0; i < OTHERS; i++) {
		other[i] = rig_connect(&rig, i % 2 ? TD_ROLE_KEEPER : TD_ROLE_VISITOR);
		(void)rig_token(other[i]);
	}
	pause_front();
	for (unsigned int i = 0; i < OTHERS; i++) {
		send_request(other[i], "drive", "forward", 1);
		send_others(other[i], 49);
	}
	rig_send(client, stop_all);
	resume_front();
	struct td_order stop = rig_order(rig.urgent);

	assert_int_equal(stop.kind, TD_EVENT_STOP);
	assert_int_equal(stop.tag, 1);
	for (unsigned int i = 0; i < OTHERS; i++)
		rig_answer(&rig, rig_order(rig.orders).tag, TD_CAUSE_HELD_BY_OTHER);
	for (int i = 0; i < OTHERS; i++)
		rig_close(other[i]);
	rig_close(client);
}

/* What the stop does not concern loses nothing by it; what came after it is later than it. */
static void R7_each_request_is_older_than_the_stops_behind_it_and_younger_than_those_before(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	td_ns heard_ns[3];
	td_ns stop_ns[2];

	(void)state;
	(void)rig_token(client);
	pause_front();
	send_request(client, "boom", "raise", 1);
	rig_send(client,
		 "{\"jsonrpc\":\"2.0\",\"id\":901,\"method\":\"stop\",\"params\":{\"axis\":\"boom\"}}");
	send_request(client, "boom", "lower", 2);
	rig_send(
		client,
		"{\"jsonrpc\":\"2.0\",\"id\":902,\"method\":\"st\\u006fp\",\"params\":{\"axis\":\"drive\"}}");
	send_request(client, "drive", "forward", 3);
	resume_front();
	for (unsigned int i = 0; i < 2; i++) {
		struct td_order stop = rig_order(rig.urgent);

		assert_int_equal(stop.axis, i == 0 ? RIG_BOOM : RIG_DRIVE);
		stop_ns[i] = stop.heard_ns;
	}
	for (unsigned int i = 0; i < 3; i++) {
		struct td_order request = rig_order(rig.orders);

		assert_int_equal(request.hold, i + 1);
		heard_ns[i] = request.heard_ns;
	}
	assert_true(heard_ns[0] <= stop_ns[0] && stop_ns[0] < heard_ns[1]);
	assert_true(heard_ns[1] <= stop_ns[1] && stop_ns[1] < heard_ns[2]);
	rig_close(client);
}

/* R10: a reset that a latch has passed is older than it, which the mover looks at. */
static void R10_a_reset_that_a_latch_passes_is_older_than_it(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	(void)state;
	rig_sync(client);
	pause_front();
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"reset\"}");
	rig_send(client, "[{\"jsonrpc\":\"2.0\",\"method\":\"latch\"}]");
	resume_front();
	struct td_order latch = rig_order(rig.urgent);
	struct td_order reset = rig_order(rig.orders);

	assert_int_equal(latch.kind, TD_EVENT_LATCH);
	assert_int_equal(reset.kind, TD_EVENT_RESET);
	assert_true(reset.heard_ns <= latch.heard_ns);
	rig_close(client);
}

/* A visitor's stops do not go round its rate for ever: some are carried out ahead, the rest in their turn, and none is lost. */
static void R7_a_flood_of_stops_is_bounded_and_every_one_is_answered(void **state)
{
	enum { STOPS = 160 };
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	int stopped = 0;

	(void)state;
	rig_sync(client);
	pause_front();
	for (int i = 0; i < STOPS; i++)
		rig_send(client, stop_all);
	td_ns before_ns = td_clock_now();

	resume_front();
	while (stopped < STOPS) {
		struct pollfd ready[2] = {{.fd = rig.urgent, .events = POLLIN},
					  {.fd = client->fd, .events = POLLIN}};

		assert_true(client->used > 0 || poll(ready, 2, 5000) > 0);
		if (ready[0].revents != 0) {
			struct td_order stop = rig_order(rig.urgent);

			assert_int_equal(stop.kind, TD_EVENT_STOP);
			rig_answer(&rig, stop.tag, TD_CAUSE_STOPPED);
		}
		if (client->used > 0 || ready[1].revents != 0) {
			json_t *answer = rig_receive(client);

			assert_string_equal(rig_outcome(answer), "stopped");
			json_decref(answer);
			stopped++;
		}
	}
	assert_int_equal(stopped, STOPS);
	assert_true(td_clock_now() - before_ns > TD_MS(200)); /* 50 ahead, 50 at once, 60 at 200 a second */
	rig_close(client);
}

/* What a client sent and then closed without waiting starts nothing. */
static void R7_what_was_sent_before_the_end_of_the_connection_starts_nothing(void **state)
{
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	(void)state;
	(void)rig_token(client);
	pause_front();
	send_request(client, "boom", "raise", 1);
	assert_int_equal(shutdown(client->fd, SHUT_WR), 0);
	resume_front();
	json_t *answer = rig_receive(client);

	assert_string_equal(rig_outcome(answer), "client-gone");
	json_decref(answer);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	assert_true(rig_no_order(&rig));
	rig_close(client);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(R7_a_stop_passes_what_its_own_connection_sent_before),
		TEST(R7_a_stop_passes_what_a_visitor_sent_faster_than_it_may),
		TEST(R7_a_stop_passes_what_others_sent_before),
		TEST(R7_each_request_is_older_than_the_stops_behind_it_and_younger_than_those_before),
		TEST(R10_a_reset_that_a_latch_passes_is_older_than_it),
		TEST(R7_a_flood_of_stops_is_bounded_and_every_one_is_answered),
		TEST(R7_what_was_sent_before_the_end_of_the_connection_starts_nothing),
	};

	return cmocka_run_group_tests_name("front_ahead", tests, NULL, NULL);
}

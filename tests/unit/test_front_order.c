/* SPDX-License-Identifier: MIT */
/*
 * R7, stop overtakes everything: what happens to orders that wait because the mover does not read, to those
 * that are on their way when their client lets go or goes away, and in which order the rest arrives.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#include "daemon/front/outbox.h"
#include "tests/support/front_rig.h"

static void ask(struct rig_client *client, const char *axis, unsigned int hold, unsigned int seq, int id)
{
	char line[200];

	(void)snprintf(
		line, sizeof(line),
		"{\"jsonrpc\":\"2.0\",\"id\":%d,\"method\":\"request\",\"params\":{\"axis\":\"%s\",\"way\":"
		"\"%s\","
		"\"hold\":%u,\"seq\":%u,\"token\":\"@\"}}",
		id, axis, strcmp(axis, "boom") == 0 ? "raise" : "forward", hold, seq);
	rig_send(client, line);
}

/* Fills the orders pair with requests that the mover leaves unread; returns how many went in. Further ones
 * wait in the front. Their ids are 1000 and up. */
static unsigned int fill_orders(struct rig_client *client)
{
	unsigned int sent = 0;

	for (; sent < 28; sent++)
		ask(client, "drive", 1000 + sent, 0, (int)(1000 + sent));
	rig_sync(client);
	return sent;
}

static bool answer_of(struct rig_client *client, int id, const char *outcome)
{
	for (;;) {
		json_t *answer = rig_receive(client);
		bool found = rig_id(answer) == id;
		bool right = found && strcmp(rig_outcome(answer), outcome) == 0;

		if (found && !right)
			print_message("# %s instead of %s\n", rig_outcome(answer), outcome);
		json_decref(answer);
		if (found)
			return right;
	}
}

/* Reads what was sent and what waited, up to a last order that the keeper adds. */
static size_t read_all_orders(struct rig *rig, struct rig_client *keeper, struct td_order *orders,
			      size_t room)
{
	size_t count = 0;

	rig_send(keeper, "{\"jsonrpc\":\"2.0\",\"id\":5000,\"method\":\"reset\"}");
	for (; count < room; count++) {
		orders[count] = rig_order(rig->orders);
		if (orders[count].kind == TD_EVENT_RESET)
			break;
	}
	assert_true(count < room);
	return count;
}

static void test_R7_renewals_that_wait_give_way_to_the_newest_and_are_answered_with_it(void **state)
{
	struct rig rig;
	struct td_order orders[64];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);
	unsigned int before = fill_orders(other);

	for (unsigned int seq = 0; seq < 6; seq++)
		ask(client, "boom", 3, seq, (int)seq + 1);
	rig_sync(client);
	size_t count = read_all_orders(&rig, other, orders, 64);

	assert_int_equal(count, before + 2);
	assert_int_equal(orders[before].seq, 0);
	assert_int_equal(orders[before + 1].seq, 5);
	assert_true(orders[before + 1].heard_ns > orders[before].heard_ns);
	rig_answer(&rig, orders[before + 1].tag, TD_CAUSE_RENEWED);
	for (int id = 2; id <= 6; id++)
		assert_true(answer_of(client, id, "renewed"));
	rig_answer(&rig, orders[before].tag, TD_CAUSE_STARTED);
	assert_true(answer_of(client, 1, "started"));
	rig_close(client);
	rig_close(other);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_a_stop_passes_requests_that_wait_and_makes_them_void(void **state)
{
	struct rig rig;
	struct td_order orders[64];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_VISITOR);

	ask(client, "boom", 1, 0, 1);
	fill_orders(client);
	ask(other, "boom", 3, 0, 7);
	ask(other, "drive", 4, 0, 8);
	rig_sync(other);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":9,\"method\":\"stop\",\"params\":{\"axis\":\"boom\"}}");
	struct td_order stop = rig_order(rig.urgent); /* while nothing of the rest was read */

	assert_int_equal(stop.kind, TD_EVENT_STOP);
	assert_true(answer_of(other, 7, "overtaken"));
	size_t count = read_all_orders(&rig, client, orders, 64);
	for (size_t i = 1; i < count; i++)
		assert_int_equal(orders[i].axis, RIG_DRIVE);
	assert_int_equal(orders[count - 1].session, 2);  /* the one of the other axis was kept */
	assert_true(orders[0].heard_ns < stop.heard_ns); /* and the one on its way is older than the stop */
	rig_close(client);
	rig_close(other);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R10_a_latch_makes_every_request_that_waits_void(void **state)
{
	struct rig rig;
	struct td_order orders[64];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_VISITOR);

	fill_orders(client);
	ask(other, "boom", 3, 0, 7);
	ask(other, "drive", 4, 0, 8);
	rig_sync(other);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":9,\"method\":\"reset\"}");
	rig_sync(client);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"method\":\"latch\"}");
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_LATCH);
	assert_true(answer_of(client, 9, "overtaken")); /* or it would clear what came after it */
	assert_true(answer_of(other, 7, "overtaken"));
	assert_true(answer_of(other, 8, "overtaken"));
	size_t count = read_all_orders(&rig, client, orders, 64);
	assert_true(count > 0 && count < 28); /* only those that had been on their way */
	rig_close(client);
	rig_close(other);
	assert_int_equal(rig_end(&rig), 0);
}

/* A request that follows a stop in the same bytes was heard after it, or the stop would overtake it. */
static void test_R7_a_request_after_a_stop_in_the_same_read_is_the_later_one(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"stop\"}\n"
			 "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"request\",\"params\":"
			 "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":3,\"seq\":0,\"token\":\"@\"}}");
	struct td_order stop = rig_order(rig.urgent);
	struct td_order request = rig_order(rig.orders);

	assert_true(request.heard_ns > stop.heard_ns);
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_stops_that_wait_are_kept_in_order_and_none_is_lost(void **state)
{
	struct rig rig;
	struct td_order order;
	unsigned int holds = 0;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	for (unsigned int hold = 1; hold <= 30; hold++) {
		char line[160];

		(void)snprintf(
			line, sizeof(line),
			"{\"jsonrpc\":\"2.0\",\"method\":\"release\",\"params\":{\"axis\":\"boom\",\"hold\":"
			"%u}}",
			hold);
		rig_send(client, line);
	}
	rig_sync(client); /* or the stops would pass them */
	for (int i = 0; i < 5; i++)
		rig_send(client, "{\"jsonrpc\":\"2.0\",\"method\":\"stop\"}");
	rig_sync(client);
	for (order = rig_order(rig.urgent); order.kind == TD_EVENT_RELEASE; order = rig_order(rig.urgent))
		assert_int_equal(order.hold, ++holds);
	assert_int_equal(holds, 30);
	assert_int_equal(order.kind, TD_EVENT_STOP); /* those that waited were put together */
	rig_sync(client);
	assert_true(rig_no_order(&rig));
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- letting go and going away -------------------------------------------------------------------------- */

/* The urgent pair could carry the release past the request it belongs to: it follows the request as well. */
static void test_R7_a_release_with_its_request_still_on_the_way_is_said_twice(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	ask(client, "boom", 3, 0, 1);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"release\",\"params\":{\"axis\":\"boom\","
			 "\"hold\":3}}");
	struct td_order first = rig_order(rig.urgent);
	struct td_order request = rig_order(rig.orders);
	struct td_order second = rig_order(rig.orders);

	assert_int_equal(request.kind, TD_EVENT_REQUEST);
	assert_int_equal(first.kind, TD_EVENT_RELEASE);
	assert_int_equal(second.kind, TD_EVENT_RELEASE);
	assert_int_equal(second.hold, 3);
	rig_answer(&rig, first.tag, TD_CAUSE_NOT_HELD);
	rig_answer(&rig, request.tag, TD_CAUSE_STARTED);
	rig_answer(&rig, second.tag, TD_CAUSE_LET_GO);
	assert_true(answer_of(client, 1, "started"));
	assert_true(answer_of(client, 2, "let-go"));
	/* With everything answered, once is enough. */
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":3,\"method\":\"release\",\"params\":{\"axis\":\"boom\","
			 "\"hold\":3}}");
	first = rig_order(rig.urgent);
	rig_answer(&rig, first.tag, TD_CAUSE_NOT_HELD);
	assert_true(answer_of(client, 3, "not-held"));
	assert_true(rig_no_order(&rig));
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_a_release_makes_a_request_that_waits_void(void **state)
{
	struct rig rig;
	struct td_order orders[64];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	fill_orders(other);
	ask(client, "boom", 3, 0, 1);
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"release\",\"params\":{\"axis\":\"boom\","
			 "\"hold\":3}}");
	assert_true(answer_of(client, 1, "overtaken"));
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_RELEASE);
	size_t count = read_all_orders(&rig, other, orders, 64);
	for (size_t i = 0; i < count; i++)
		assert_int_equal(orders[i].axis, RIG_DRIVE);
	rig_close(client);
	rig_close(other);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_a_client_that_goes_away_is_reported_at_once(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	rig_sync(client);
	rig_close(client);
	struct td_order gone = rig_order(rig.urgent);

	assert_int_equal(gone.kind, TD_EVENT_GONE);
	assert_int_equal(gone.session, 1);
	assert_true(gone.tag == 0);
	client = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(client);
	assert_true(rig_no_order(&rig)); /* said once */
	rig_close(client);
	assert_int_equal(rig_order(rig.urgent).session, 2); /* numbers are never used again */
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_going_away_also_follows_a_request_that_is_on_its_way(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	ask(client, "boom", 3, 0, 1);
	rig_sync(client);
	rig_close(client);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	struct td_order request = rig_order(rig.orders);

	assert_int_equal(request.kind, TD_EVENT_REQUEST);
	assert_int_equal(rig_order(rig.orders).kind, TD_EVENT_GONE);
	rig_answer(&rig, request.tag, TD_CAUSE_STARTED); /* for nobody */
	client = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(client);
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_R7_going_away_makes_requests_that_wait_void(void **state)
{
	struct rig rig;
	struct td_order orders[64];

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	fill_orders(other);
	ask(client, "boom", 3, 0, 1);
	rig_sync(client);
	rig_close(client);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	size_t count = read_all_orders(&rig, other, orders, 64);
	assert_int_equal(count, 28);
	for (size_t i = 0; i < count; i++)
		assert_int_equal(orders[i].axis, RIG_DRIVE);
	rig_close(other);
	assert_int_equal(rig_end(&rig), 0);
}

/* A client that only says it has no more to say still hears its answers; but what it held ends. */
static void test_R7_a_half_closed_connection_gets_its_answers_and_loses_its_holds(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_VISITOR);

	ask(client, "boom", 3, 0, 1);
	rig_sync(client); /* or it would start nothing */
	assert_int_equal(shutdown(client->fd, SHUT_WR), 0);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	struct td_order request = rig_order(rig.orders);
	assert_int_equal(rig_order(rig.orders).kind, TD_EVENT_GONE);
	rig_answer(&rig, request.tag, TD_CAUSE_STARTED);
	assert_true(answer_of(client, 1, "started"));
	assert_true(rig_closed(client));
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

/* The stop answers a request of the very batch it stands in. */
static void test_R7_a_stop_makes_a_waiting_request_of_its_own_batch_void(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	fill_orders(client);
	rig_send(client, "[{\"jsonrpc\":\"2.0\",\"id\":1,\"method\":\"request\",\"params\":"
			 "{\"axis\":\"boom\",\"way\":\"raise\",\"hold\":9003,\"seq\":0,\"token\":\"@\"}},"
			 "{\"jsonrpc\":\"2.0\",\"method\":\"stop\",\"params\":{\"axis\":\"boom\"}},"
			 "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"nonsense\"}]");
	json_t *answer = rig_receive(client);
	assert_int_equal(json_array_size(answer), 2);
	assert_string_equal(rig_outcome(json_array_get(answer, 0)), "overtaken");
	assert_string_equal(rig_outcome(json_array_get(answer, 1)), "Method not found");
	json_decref(answer);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_STOP);
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- limits --------------------------------------------------------------------------------------------- */

static void test_R7_too_many_unanswered_calls_are_told_busy_but_a_stop_goes_through(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *client = rig_connect(&rig, TD_ROLE_KEEPER);

	for (int i = 0; i < 32; i++)
		ask(client, "drive", 100 + (unsigned int)i, 0, 100 + i);
	ask(client, "boom", 9003, 0, 1);
	assert_true(answer_of(client, 1, "busy"));
	rig_send(client, "{\"jsonrpc\":\"2.0\",\"id\":2,\"method\":\"stop\"}");
	struct td_order stop = rig_order(rig.urgent);
	assert_int_equal(stop.kind, TD_EVENT_STOP);
	rig_answer(&rig, stop.tag, TD_CAUSE_STOPPED);
	assert_true(answer_of(client, 2, "stopped"));
	/* The stop made those that waited void; each answer makes room again. */
	ask(client, "boom", 9004, 0, 3);
	rig_sync(client);
	struct td_order last;
	do
		last = rig_order(rig.orders);
	while (last.hold != 9004);
	rig_close(client);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- the outbox alone ----------------------------------------------------------------------------------- */

static struct td_order request_of(uint32_t session, uint32_t hold, uint32_t seq, uint64_t tag)
{
	return (struct td_order){
		.kind = TD_EVENT_REQUEST, .session = session, .hold = hold, .seq = seq, .tag = tag};
}

static const struct {
	const char *name;
	uint32_t session, hold, seq;
	bool replaces;
} renewals[] = {
	{"newer renewal of the same hold", 1, 5, 3, true},
	{"same renewal again", 1, 5, 2, false},
	{"older renewal", 1, 5, 1, false},
	{"a new hold", 1, 6, 0, false},
	{"renewal of another hold", 1, 6, 3, false},
	{"renewal of another session", 2, 5, 3, false},
	{"start of the same hold", 1, 5, 0, false},
};

static void test_R7_only_a_newer_renewal_of_the_same_hold_takes_the_place_of_one(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(renewals) / sizeof(renewals[0]); i++) {
		struct td_outbox box;
		struct td_outbox_entry *waiting = calloc(1, sizeof(*waiting));
		struct td_order newer =
			request_of(renewals[i].session, renewals[i].hold, renewals[i].seq, 22);

		assert_non_null(waiting);
		print_message("# %s\n", renewals[i].name);
		td_outbox_start(&box, -1, NULL);
		waiting->order = request_of(1, 5, 2, 11);
		STAILQ_INSERT_TAIL(&box.waiting, waiting, link);
		assert_int_equal(td_outbox_replace(&box, &newer), renewals[i].replaces);
		assert_int_equal(newer.tag, renewals[i].replaces ? 11 : 22);
		assert_int_equal(STAILQ_FIRST(&box.waiting)->order.seq,
				 renewals[i].replaces ? renewals[i].seq : 2);
		td_outbox_end(&box);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_R7_renewals_that_wait_give_way_to_the_newest_and_are_answered_with_it),
		cmocka_unit_test(test_R7_a_stop_passes_requests_that_wait_and_makes_them_void),
		cmocka_unit_test(test_R10_a_latch_makes_every_request_that_waits_void),
		cmocka_unit_test(test_R7_a_request_after_a_stop_in_the_same_read_is_the_later_one),
		cmocka_unit_test(test_R7_stops_that_wait_are_kept_in_order_and_none_is_lost),
		cmocka_unit_test(test_R7_a_release_with_its_request_still_on_the_way_is_said_twice),
		cmocka_unit_test(test_R7_a_release_makes_a_request_that_waits_void),
		cmocka_unit_test(test_R7_a_client_that_goes_away_is_reported_at_once),
		cmocka_unit_test(test_R7_going_away_also_follows_a_request_that_is_on_its_way),
		cmocka_unit_test(test_R7_going_away_makes_requests_that_wait_void),
		cmocka_unit_test(test_R7_a_half_closed_connection_gets_its_answers_and_loses_its_holds),
		cmocka_unit_test(test_R7_a_stop_makes_a_waiting_request_of_its_own_batch_void),
		cmocka_unit_test(test_R7_too_many_unanswered_calls_are_told_busy_but_a_stop_goes_through),
		cmocka_unit_test(test_R7_only_a_newer_renewal_of_the_same_hold_takes_the_place_of_one),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

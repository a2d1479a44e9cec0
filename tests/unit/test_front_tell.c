/* SPDX-License-Identifier: MIT */
/* What the front tells the scribe, what it says in the log, and what it shows of the traces. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "tests/support/front_rig.h"
#include "wire/limits.h"

static void must_tell(const struct rig *rig, uint64_t number, uint32_t session, enum td_role role, bool came)
{
	struct td_entry entry = rig_told(rig);

	assert_int_equal(entry.kind, TD_ENTRY_SESSION);
	assert_int_equal(entry.number, number);
	assert_true(entry.at_ns > 0 && entry.at_ns <= td_clock_now());
	assert_int_equal(entry.as.session.session, session);
	assert_int_equal(entry.as.session.role, role);
	assert_int_equal(entry.as.session.uid, getuid());
	assert_int_equal(entry.as.session.came, came);
}

static void test_the_scribe_is_told_who_came_and_went(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor);
	must_tell(&rig, 0, 1, TD_ROLE_VISITOR, true);
	rig_close(visitor);
	assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	must_tell(&rig, 1, 1, TD_ROLE_VISITOR, false);
	struct rig_client *keeper = rig_connect(&rig, TD_ROLE_KEEPER);
	rig_sync(keeper);
	must_tell(&rig, 2, 2, TD_ROLE_KEEPER, true);
	rig_close(keeper);
	assert_int_equal(rig_end(&rig), 0);
}

static void must_be_refused(const struct rig *rig, enum td_cause cause)
{
	struct td_entry entry = rig_told(rig);

	assert_int_equal(entry.kind, TD_ENTRY_REFUSED);
	assert_int_equal(entry.as.session.cause, cause);
	assert_int_equal(entry.as.session.session, 1);
	assert_int_equal(entry.as.session.role, TD_ROLE_VISITOR);
}

/* What the mover never hears of. A hold whose number was used starts nothing; some things are the keeper's alone. */
static void test_the_scribe_is_told_what_was_refused_at_the_door(void **state)
{
	static const char hold[] =
		"{\"axis\": \"drive\", \"way\": \"forward\", \"hold\": 5, \"seq\": 0,\"token\":\"@\"}";
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_decref(rig_call(visitor, "cooled", "{\"axis\": \"drive\"}", 1));
	rig_send(visitor, "{\"jsonrpc\": \"2.0\", \"method\": \"request\", \"params\": "
			  "{\"axis\": \"drive\", \"way\": \"forward\", \"hold\": 5, \"seq\": "
			  "0,\"token\":\"@\"}, \"id\": 2}");
	assert_int_equal(rig_order(rig.orders).kind, TD_EVENT_REQUEST);
	json_decref(rig_call(visitor, "request", hold, 3));
	must_tell(&rig, 0, 1, TD_ROLE_VISITOR, true);
	must_be_refused(&rig, TD_CAUSE_NOT_ALLOWED);
	must_be_refused(&rig, TD_CAUSE_HOLD_ENDED);
	for (int i = 0; i < 200; i++)
		json_decref(rig_call(visitor, "cooled", "{\"axis\": \"drive\"}", 4));
	uint64_t told = rig.shared.clients->put;

	print_message("# measured: of 200 refused calls in a row %llu are told\n",
		      (unsigned long long)told - 3);
	assert_true(told >= 40 && told < 150);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static size_t lines_of(const struct rig *rig)
{
	char *log = rig_log(rig);
	size_t lines = 0;

	for (const char *at = log; (at = strchr(at, '\n')); at++)
		lines++;
	free(log);
	return lines;
}

static void must_log(const struct rig *rig, const char *words)
{
	char *log = rig_log(rig);

	if (!strstr(log, words))
		fail_msg("the log does not say \"%s\":\n%s", words, log);
	free(log);
}

/* Nobody takes anything out: what does not fit is dropped, and the numbers go on. */
static void test_knocking_fills_neither_the_log_nor_the_way_to_the_scribe(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	for (int i = 0; i < 200; i++) {
		struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

		rig_sync(visitor);
		rig_close(visitor);
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	}
	assert_int_equal(lines_of(&rig), 0);
	for (uint64_t i = 0; i < TD_QUEUE_CLIENTS; i++)
		assert_int_equal(rig_told(&rig).number, i);
	struct rig_client *last = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(last);
	const struct td_entry *waits = td_queue_first(rig.shared.clients);
	if (waits && waits->number == 399) /* the one before went when there was room again */
		must_tell(&rig, 399, 200, TD_ROLE_VISITOR, false);
	must_tell(&rig, 400, 201, TD_ROLE_VISITOR, true);
	rig_close(last);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_the_log_names_those_who_broke_a_limit_but_cannot_be_filled(void **state)
{
	struct rig rig;
	struct td_note lost = rig_machine_note(true, 0);
	static char line[TD_LINE_MAX + 2];

	(void)state;
	memset(line, 'x', sizeof(line) - 1);
	rig_start_ready(&rig);
	lost.as.machine.lost = 1;
	rig_note(&rig, &lost);
	for (int i = 0; i < 200; i++) {
		struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);

		rig_send(visitor, line);
		assert_true(rig_closed(visitor));
		rig_close(visitor);
		assert_int_equal(rig_order(rig.urgent).kind, TD_EVENT_GONE);
	}
	must_log(&rig, "<4>news were lost");
	must_log(&rig, "<5>session 1 was dropped: a line was too long\n");
	size_t lines = lines_of(&rig);

	print_message("# measured: %zu lines in the log of 200 clients that break a limit\n", lines);
	assert_true(lines >= 100 && lines < 160);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- what it shows ----------------------------------------------------------------------------------------- */

static void test_the_keeper_is_shown_where_the_traces_are_and_how_they_do(void **state)
{
	struct rig rig;
	char wanted[128];

	(void)state;
	rig_start_ready(&rig);
	atomic_store(&rig.shared.tally->lost, 12);
	atomic_store(&rig.shared.tally->unwritten, 34);
	atomic_store(&rig.shared.tally->trips, 2);
	atomic_store(&rig.shared.tally->bytes_today, 56789);
	(void)snprintf(wanted, sizeof(wanted), "%s/traces", rig.dir);
	for (int role = TD_ROLE_VISITOR; role <= TD_ROLE_KEEPER; role++) {
		struct rig_client *client = rig_connect(&rig, (enum td_role)role);
		json_t *description = rig_call(client, "describe", "", 1);
		json_t *status = rig_call(client, "status", "", 2);
		const json_t *where = json_object_get(json_object_get(description, "result"), "traces");
		const json_t *how = json_object_get(json_object_get(status, "result"), "traces");

		if (role == TD_ROLE_KEEPER) {
			assert_string_equal(json_string_value(where), wanted);
			assert_int_equal(json_integer_value(json_object_get(how, "lost")), 12);
			assert_int_equal(json_integer_value(json_object_get(how, "unwritten")), 34);
			assert_int_equal(json_integer_value(json_object_get(how, "trips")), 2);
			assert_int_equal(json_integer_value(json_object_get(how, "bytes_today")), 56789);
		} else {
			assert_null(where);
			assert_null(how);
		}
		json_decref(description);
		json_decref(status);
		rig_close(client);
	}
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_the_scribe_is_told_who_came_and_went),
		cmocka_unit_test(test_the_scribe_is_told_what_was_refused_at_the_door),
		cmocka_unit_test(test_knocking_fills_neither_the_log_nor_the_way_to_the_scribe),
		cmocka_unit_test(test_the_log_names_those_who_broke_a_limit_but_cannot_be_filled),
		cmocka_unit_test(test_the_keeper_is_shown_where_the_traces_are_and_how_they_do),
	};

	return cmocka_run_group_tests_name("front_tell", tests, NULL, NULL);
}

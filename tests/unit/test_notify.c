/* SPDX-License-Identifier: MIT */
/* What the service manager hears: the protocol is the one that sd_notify(3) and sd_watchdog_enabled(3) document. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/notify.h"
#include "tests/support/manager_ear.h"

static int clean(void **state)
{
	(void)state;
	ear_forget();
	return 0;
}

static struct td_notify opened(void)
{
	struct td_notify notify;
	struct td_error err = {""};

	assert_int_equal(td_notify_open(&notify, &err), 0);
	assert_string_equal(err.text, "");
	return notify;
}

static void without_a_socket_nobody_wants_to_know(void **state)
{
	struct td_notify notify = opened();

	(void)state;
	assert_int_equal(notify.fd, -1);
	assert_true(notify.feed_every_ns == TD_NEVER);
	td_notify_status(&notify, "all", " is well");
	setenv("NOTIFY_SOCKET", "", 1);
	assert_int_equal(opened().fd, -1);
}

static void send_and_hear(void)
{
	struct td_notify notify = opened();
	struct td_notify_text text = {0};

	td_notify_add(&text, "READY=1\n");
	td_notify_add(&text, "MONOTONIC_USEC=");
	td_notify_add_number(&text, UINT64_MAX);
	assert_true(td_notify_send(&notify, &text));
	assert_string_equal(ear_hear(), "READY=1\nMONOTONIC_USEC=18446744073709551615");
	td_notify_status(&notify, "one\nline", ": always");
	assert_string_equal(ear_hear(), "STATUS=one line: always\n");
	assert_null(ear_hear());
	close(notify.fd);
}

static void a_path_is_heard(void **state)
{
	(void)state;
	ear_open(false);
	send_and_hear();
}

static void a_name_that_is_in_no_file_system_is_heard(void **state)
{
	(void)state;
	ear_open(true);
	send_and_hear();
}

static void other_addresses_are_refused_with_a_sentence(void **state)
{
	static const char *const wrong[] = {"/", "@", "vsock:2:1234", "run/notify"};
	char far[120];
	struct td_notify notify;
	struct td_error err;

	(void)state;
	for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); i++) {
		setenv("NOTIFY_SOCKET", wrong[i], 1);
		assert_int_equal(td_notify_open(&notify, &err), -1);
		assert_non_null(strstr(err.text, wrong[i]));
		assert_int_equal(notify.fd, -1);
	}
	memset(far, 'x', sizeof(far));
	far[0] = '/';
	far[sizeof(far) - 1] = '\0';
	setenv("NOTIFY_SOCKET", far, 1);
	assert_int_equal(td_notify_open(&notify, &err), -1);
}

static void the_watchdog_is_fed_twice_in_its_time(void **state)
{
	static const struct {
		const char *usec;
		td_ns every_ns;
	} rows[] = {{"2000000", TD_S(1)},
		    {"1", 500},
		    {"0", TD_NEVER},
		    {"", TD_NEVER},
		    {"2s", TD_NEVER},
		    {"-1", TD_NEVER},
		    {"18446744073709551616", TD_NEVER},
		    {"86400000001", TD_NEVER},
		    {"86400000000", TD_S(43200)}};
	char own[16];

	(void)state;
	ear_open(false);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		setenv("WATCHDOG_USEC", rows[i].usec, 1);
		struct td_notify notify = opened();

		assert_true(notify.feed_every_ns == rows[i].every_ns);
		close(notify.fd);
	}
	(void)snprintf(own, sizeof(own), "%d", (int)getpid());
	setenv("WATCHDOG_PID", own, 1);
	assert_true(opened().feed_every_ns == TD_S(43200));
	setenv("WATCHDOG_PID", "1", 1); /* somebody else's */
	assert_true(opened().feed_every_ns == TD_NEVER);
}

static void a_long_status_is_cut_off(void **state)
{
	static char piece[3000];
	struct td_notify notify;

	(void)state;
	memset(piece, 'y', sizeof(piece) - 1);
	ear_open(false);
	notify = opened();
	td_notify_status(&notify, piece, piece);
	assert_int_equal(strlen(ear_hear()), sizeof(((struct td_notify_text *)0)->bytes));
	close(notify.fd);
}

static void what_does_not_go_out_is_told(void **state)
{
	struct td_notify_text text = {0};
	struct td_notify notify;
	int sent = 0;

	(void)state;
	ear_open(false);
	notify = opened();
	td_notify_add(&text, "WATCHDOG=1\n");
	while (sent < 100000 && td_notify_send(&notify, &text))
		sent++;
	assert_in_range(sent, 1, 99999); /* the queue is full, and nothing blocked */
	ear_forget();
	assert_false(td_notify_send(&notify, &text)); /* nobody is there */
	close(notify.fd);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, clean, clean)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(without_a_socket_nobody_wants_to_know),
		TEST(a_path_is_heard),
		TEST(a_name_that_is_in_no_file_system_is_heard),
		TEST(other_addresses_are_refused_with_a_sentence),
		TEST(the_watchdog_is_fed_twice_in_its_time),
		TEST(a_long_status_is_cut_off),
		TEST(what_does_not_go_out_is_told),
	};

	return cmocka_run_group_tests_name("notify", tests, NULL, NULL);
}

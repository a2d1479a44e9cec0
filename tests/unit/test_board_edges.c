/* SPDX-License-Identifier: MIT */
/* What the board tells a daemon, how it treats callers and paths, what a watcher sees. The clock is the test's. */
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "tests/support/cart.h"
#include "tests/support/raw_board.h"

static const struct td_watcher nobody;
static const uint32_t ALL_OUT = 0xf;
static const uint32_t ALL_IN = 0x7;

static struct td_plant_report boom_of(const struct raw_board *raw)
{
	struct td_plant_report report;

	td_plant_report(&raw->board->plant, CART_BOOM, &report);
	return report;
}

/* --- edges ------------------------------------------------------------------------------------------ */

static void every_edge_is_told_at_its_time_and_stands_in_the_page(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_page *page;
	struct td_board_message message;
	uint32_t seq = 1;
	uint32_t high = 0;
	td_ns last_ns = 0;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, &page);
	td_ns start_ns = raw_now();
	raw_set(fd, start_ns, CART_RAISE, CART_RAISE);
	raw_turn(&raw, 0);
	raw_run(&raw, TD_MS(1000));
	while (raw_receive(fd, &message, NULL) == TD_BOARD_EDGE) {
		assert_int_equal(message.as.edge.seq, seq++);
		assert_int_equal(message.as.edge.sw, CART_TOP);
		assert_int_not_equal(message.as.edge.high, high);
		assert_true(message.at_ns >= last_ns);
		if (seq == 2) /* 45 % of the travel at 0.5 a second, one time constant behind */
			assert_in_range(message.at_ns - start_ns, TD_MS(939), TD_MS(941));
		high = message.as.edge.high;
		last_ns = message.at_ns;
	}
	assert_in_range(seq, 1 + 3, 2 + TD_FEELER_FLIPS_MAX);
	assert_int_equal(high, 1);
	assert_int_equal(atomic_load(&page->levels), 1 << CART_TOP);
	assert_int_equal(raw.board->port.edges_dropped, 0);
	(void)close(fd);
	raw_board_close(&raw);
}

static void an_edge_before_the_daemons_cut_comes_before_it(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	td_ns start_ns = raw_now();
	raw_set(fd, start_ns, CART_RAISE, CART_RAISE);
	raw_turn(&raw, 0);
	raw_set(fd, start_ns + TD_MS(941), CART_RAISE, 0);
	raw_turn(&raw, TD_MS(990)); /* one turn for both: the board was not scheduled for 990 ms */
	assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_EDGE);
	assert_true(message.at_ns < raw.board->plant.fall_ns[CART_BOOM * TD_WAYS + 1]);
	assert_int_equal(raw.board->plant.fall_ns[CART_BOOM * TD_WAYS + 1], start_ns + TD_MS(941));
	assert_int_equal(boom_of(&raw).skipped_teeth, 0);
	(void)close(fd);
	raw_board_close(&raw);
}

static void edges_of_lines_nobody_requested_are_not_told(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_page *page;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, 1 << CART_STOP, &page);
	td_plant_push(&raw.board->plant, CART_BOOM, 1);
	td_watch_look(&raw.board->watch);
	raw_run(&raw, TD_MS(10));
	assert_int_equal(raw_receive(fd, &message, NULL), 0);
	assert_int_equal(atomic_load(&page->levels), 1 << CART_TOP);
	td_plant_press(&raw.board->plant, CART_STOP, true);
	td_watch_look(&raw.board->watch);
	assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_EDGE);
	assert_int_equal(message.as.edge.seq, 1); /* only what is told counts */
	(void)close(fd);
	raw_board_close(&raw);
}

static void a_daemon_that_does_not_listen_loses_edges_and_can_tell(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_page *page;
	struct td_board_message message;
	uint32_t expected = 1;
	uint32_t gaps = 0;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, &page);
	for (int i = 0; raw.board->port.edges_dropped < 10; i++) {
		assert_true(i < 100000);
		td_plant_wire(&raw.board->plant, CART_STOP, i % 2 ? TD_WIRE_SOUND : TD_WIRE_BROKEN);
		td_watch_look(&raw.board->watch);
	}
	while (raw_receive(fd, &message, NULL) == TD_BOARD_EDGE)
		assert_int_equal(message.as.edge.seq, expected++);
	td_plant_wire(&raw.board->plant, CART_STOP, TD_WIRE_BROKEN);
	td_plant_wire(&raw.board->plant, CART_BOTTOM, TD_WIRE_BROKEN);
	td_watch_look(&raw.board->watch);
	while (raw_receive(fd, &message, NULL) == TD_BOARD_EDGE) {
		gaps += message.as.edge.seq - expected;
		expected = message.as.edge.seq + 1;
	}
	assert_int_equal(gaps, raw.board->port.edges_dropped);
	assert_int_equal(atomic_load(&page->levels), td_plant_levels(&raw.board->plant));
	(void)close(fd);
	raw_board_close(&raw);
}

static void a_new_daemon_counts_its_edges_from_one(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	for (int i = 0; i < 2; i++) {
		int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);

		td_plant_wire(&raw.board->plant, CART_STOP, i ? TD_WIRE_SOUND : TD_WIRE_BROKEN);
		td_watch_look(&raw.board->watch);
		assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_EDGE);
		assert_int_equal(message.as.edge.seq, 1);
		(void)close(fd);
		raw_turn(&raw, 0);
	}
	raw_board_close(&raw);
}

/* --- callers ---------------------------------------------------------------------------------------- */

static void a_silent_caller_is_hung_up_on_after_a_second(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int fd = raw_connect(&raw);
	raw_turn(&raw, 0);
	raw_turn(&raw, TD_MS(999));
	assert_int_equal(raw_receive(fd, &message, NULL), 0);
	raw_turn(&raw, TD_MS(1));
	assert_int_equal(raw_receive(fd, &message, NULL), -1);
	(void)close(fd);
	raw_board_close(&raw);
}

static void silent_callers_do_not_keep_the_daemon_out(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;
	int silent[TD_BOARD_CALLERS + 2];

	raw_board_open(&raw, nobody);
	for (int i = 0; i < TD_BOARD_CALLERS + 2; i++) {
		silent[i] = raw_connect(&raw);
		raw_turn(&raw, 0);
	}
	assert_int_equal(raw_receive(silent[TD_BOARD_CALLERS], &message, NULL), TD_BOARD_REFUSED);
	assert_string_equal(message.as.reason, "too many callers at once");
	raw_turn(&raw, TD_S(1));
	(void)close(raw_daemon(&raw, ALL_OUT, ALL_IN, NULL));
	for (int i = 0; i < TD_BOARD_CALLERS + 2; i++)
		(void)close(silent[i]);
	raw_board_close(&raw);
}

static void short_and_long_messages_are_hung_up_on(void **state)
{
	(void)state;
	static const size_t sizes[] = {1, sizeof(struct td_board_message) - 1,
				       sizeof(struct td_board_message) + 1};
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	for (size_t i = 0; i < sizeof(sizes) / sizeof(sizes[0]); i++) {
		char bytes[sizeof(struct td_board_message) + 1] = {0};
		uint32_t magic = TD_BOARD_MAGIC;
		struct td_board_message message;
		int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);

		raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
		memcpy(bytes, &magic, sizeof(magic));
		assert_int_equal(send(fd, bytes, sizes[i], MSG_NOSIGNAL), sizes[i]);
		raw_turn(&raw, 0);
		assert_int_equal(raw_receive(fd, &message, NULL), -1);
		assert_int_equal(raw.board->plant.outputs, 0);
		(void)close(fd);
	}
	raw_board_close(&raw);
}

static void any_bytes_from_a_peer_are_survived(void **state)
{
	(void)state;
	struct raw_board raw;
	uint64_t random = 5;

	raw_board_open(&raw, nobody);
	for (int i = 0; i < 3000; i++) {
		struct td_board_message message;
		unsigned char *bytes = (unsigned char *)&message;
		int fd = i % 2 ? raw_daemon(&raw, ALL_OUT, ALL_IN, NULL) : raw_connect(&raw);

		for (size_t at = 0; at < sizeof(message); at++) {
			random = random * 6364136223846793005U + 1442695040888963407U;
			bytes[at] = (unsigned char)(random >> 56);
		}
		if (i % 3)
			message.magic = TD_BOARD_MAGIC;
		if (i % 5)
			message.kind %= 7;
		(void)send(fd, &message, sizeof(message), MSG_NOSIGNAL);
		raw_turn(&raw, TD_US(10));
		assert_int_equal(raw.board->plant.now_ns, raw_now());
		(void)close(fd);
		raw_turn(&raw, 0);
		assert_int_equal(raw.board->plant.outputs, 0);
	}
	raw_board_close(&raw);
}

/* --- paths ------------------------------------------------------------------------------------------ */

static struct td_board *try_open(const struct raw_board *raw, const char *path, struct td_error *err)
{
	struct td_board_setup setup = {
		.socket = path, .config = &raw->config, .model = &raw->model, .clock = raw_now};

	return td_board_open(&setup, err);
}

static void a_path_in_use_is_not_taken_over(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_error err = {""};

	raw_board_open(&raw, nobody);
	assert_null(try_open(&raw, raw.socket, &err));
	assert_non_null(strstr(err.text, "is taken; stop what uses it or choose another path"));
	raw_turn(&raw, 0);
	(void)close(raw_daemon(&raw, ALL_OUT, ALL_IN, NULL)); /* the first one still listens */
	raw_board_close(&raw);
}

static void a_socket_left_over_is_replaced(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_error err = {""};
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_SEQPACKET, 0);

	raw_board_open(&raw, nobody);
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s/stale", raw.directory);
	assert_int_equal(bind(fd, (struct sockaddr *)&address, sizeof(address)), 0);
	(void)close(fd);
	struct td_board *second = try_open(&raw, address.sun_path, &err);
	assert_non_null(second);
	td_board_close(second);
	assert_int_equal(access(address.sun_path, F_OK), -1);
	raw_board_close(&raw);
}

static void a_path_that_cannot_be_is_a_sentence(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_error err = {""};
	char longest[200];

	raw_board_open(&raw, nobody);
	memset(longest, 'x', sizeof(longest) - 1);
	longest[sizeof(longest) - 1] = '\0';
	assert_null(try_open(&raw, longest, &err));
	assert_non_null(strstr(err.text, "too long for a socket"));
	assert_null(try_open(&raw, "/no/such/directory/board", &err));
	assert_non_null(strstr(err.text, "cannot listen: No such file or directory"));
	raw_board_close(&raw);
}

/* A plain file at the path is somebody's data. */
static void a_file_that_is_no_socket_is_left_alone(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_error err = {""};
	char path[128];

	raw_board_open(&raw, nobody);
	(void)snprintf(path, sizeof(path), "%s/data", raw.directory);
	FILE *file = fopen(path, "w");
	assert_non_null(file);
	(void)fclose(file);
	assert_null(try_open(&raw, path, &err));
	assert_int_equal(access(path, F_OK), 0);
	(void)unlink(path);
	raw_board_close(&raw);
}

/* --- the watcher ------------------------------------------------------------------------------------ */

struct seen {
	int outputs;
	int levels;
	int positions;
	int teeth;
};

static void count_change(void *ctx, const struct td_change *change)
{
	struct seen *seen = ctx;

	seen->outputs += change->kind == TD_CHANGE_OUTPUT;
	seen->levels += change->kind == TD_CHANGE_LEVEL;
	seen->positions += change->kind == TD_CHANGE_POSITION;
	seen->teeth += change->kind == TD_CHANGE_TEETH;
}

static void a_watcher_sees_outputs_levels_positions_and_teeth(void **state)
{
	(void)state;
	struct raw_board raw;
	struct seen seen = {0};

	raw_board_open(&raw, (struct td_watcher){count_change, &seen});
	assert_int_equal(seen.outputs, CART_AXES * TD_WAYS); /* the values at the start */
	assert_int_equal(seen.levels, CART_SWITCHES);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
	raw_run(&raw, TD_S(2));
	(void)close(fd);
	raw_turn(&raw, 0);
	assert_int_equal(seen.outputs, CART_AXES * TD_WAYS + 2);
	assert_true(seen.levels > CART_SWITCHES);
	assert_in_range(seen.positions, 90, 130); /* a second of motion, one sample in 10 ms */
	assert_in_range(seen.teeth, 50, 65);
	raw_board_close(&raw);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_edge_is_told_at_its_time_and_stands_in_the_page),
		cmocka_unit_test(an_edge_before_the_daemons_cut_comes_before_it),
		cmocka_unit_test(edges_of_lines_nobody_requested_are_not_told),
		cmocka_unit_test(a_daemon_that_does_not_listen_loses_edges_and_can_tell),
		cmocka_unit_test(a_new_daemon_counts_its_edges_from_one),
		cmocka_unit_test(a_silent_caller_is_hung_up_on_after_a_second),
		cmocka_unit_test(silent_callers_do_not_keep_the_daemon_out),
		cmocka_unit_test(short_and_long_messages_are_hung_up_on),
		cmocka_unit_test(any_bytes_from_a_peer_are_survived),
		cmocka_unit_test(a_path_in_use_is_not_taken_over),
		cmocka_unit_test(a_socket_left_over_is_replaced),
		cmocka_unit_test(a_path_that_cannot_be_is_a_sentence),
		cmocka_unit_test(a_file_that_is_no_socket_is_left_alone),
		cmocka_unit_test(a_watcher_sees_outputs_levels_positions_and_teeth),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

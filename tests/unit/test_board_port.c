/* SPDX-License-Identifier: MIT */
/* The daemon's side of the board: who may hold it, what may be set, what is told. The clock is the test's. */
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/mman.h>
#include <sys/socket.h>
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

static void a_daemon_is_welcomed_with_the_page(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_page *page;

	raw_board_open(&raw, nobody);
	td_plant_wire(&raw.board->plant, CART_STOP, TD_WIRE_BROKEN);
	td_watch_look(&raw.board->watch);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, &page);
	assert_int_equal(page->magic, TD_BOARD_MAGIC);
	assert_int_equal(page->version, TD_BOARD_VERSION);
	assert_int_equal(atomic_load(&page->levels), 1 << CART_STOP);
	assert_int_equal(raw.board->plant.outputs, 0);
	(void)close(fd);
	raw_board_close(&raw);
}

static void the_page_can_be_neither_written_nor_shrunk(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;
	int page_fd = -1;

	raw_board_open(&raw, nobody);
	int fd = raw_connect(&raw);
	raw_turn(&raw, 0);
	raw_hello(&raw, fd, ALL_OUT, ALL_IN);
	assert_int_equal(raw_receive(fd, &message, &page_fd), TD_BOARD_WELCOME);
	assert_ptr_equal(
		mmap(NULL, sizeof(struct td_board_page), PROT_READ | PROT_WRITE, MAP_SHARED, page_fd, 0),
		MAP_FAILED);
	assert_int_equal(ftruncate(page_fd, 0), -1);
	assert_int_equal(write(page_fd, "x", 1), -1);
	assert_true(fcntl(page_fd, F_GET_SEALS) & F_SEAL_SHRINK);
	(void)close(page_fd);
	(void)close(fd);
	raw_board_close(&raw);
}

static const struct refusal {
	struct td_board_message first;
	const char *reason; /* NULL: hung up on without a word */
} refusals[] = {
	{{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_SET}, "HELLO comes first"},
	{{.magic = TD_BOARD_MAGIC, .kind = 99}, "HELLO comes first"},
	{{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_HELLO, .as.hello = {TD_BOARD_VERSION + 1, 0, 0}},
	 "another version of the board protocol"},
	{{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_HELLO, .as.hello = {TD_BOARD_VERSION, 0x10, 0}},
	 "the board has fewer outputs"},
	{{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_HELLO, .as.hello = {TD_BOARD_VERSION, 0xf, 0x8}},
	 "the board has fewer switch lines"},
	{{.magic = 1, .kind = TD_BOARD_HELLO, .as.hello = {TD_BOARD_VERSION, 0xf, 0x7}}, NULL},
};

static void what_is_no_proper_hello_is_refused_with_a_reason(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	for (size_t i = 0; i < sizeof(refusals) / sizeof(refusals[0]); i++) {
		struct td_board_message message;
		int fd = raw_connect(&raw);

		raw_send(fd, refusals[i].first);
		raw_turn(&raw, 0);
		if (refusals[i].reason) {
			assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_REFUSED);
			assert_string_equal(message.as.reason, refusals[i].reason);
		}
		assert_int_equal(raw_receive(fd, &message, NULL), -1);
		(void)close(fd);
	}
	assert_int_equal(raw.board->port.daemon_fd, -1);
	raw_board_close(&raw);
}

static void only_one_daemon_holds_the_board(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int first = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	int second = raw_connect(&raw);
	raw_turn(&raw, 0);
	raw_hello(&raw, second, ALL_OUT, ALL_IN);
	assert_int_equal(raw_receive(second, &message, NULL), TD_BOARD_REFUSED);
	assert_string_equal(message.as.reason, "another daemon holds this board");
	raw_set(first, raw_now(), CART_RAISE, CART_RAISE); /* the first one notices nothing */
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	(void)close(second);
	(void)close(first);
	raw_turn(&raw, 0);
	(void)close(raw_daemon(&raw, ALL_OUT, ALL_IN, NULL)); /* now it is free again */
	raw_board_close(&raw);
}

static void R16_outputs_fall_when_the_last_descriptor_closes(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	int shared = dup(fd); /* as a forked guard has it */
	raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
	raw_turn(&raw, TD_MS(1));
	(void)close(fd);
	raw_turn(&raw, TD_MS(1));
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	(void)close(shared);
	raw_turn(&raw, TD_MS(1));
	assert_int_equal(raw.board->plant.outputs, 0);
	assert_int_equal(raw.board->plant.fall_ns[CART_BOOM * TD_WAYS + 1], raw_now());
	raw_board_close(&raw);
}

static void what_was_set_before_the_end_still_counts_and_then_falls(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
	(void)close(fd);
	raw_turn(&raw, TD_MS(5));
	assert_int_equal(raw.board->plant.outputs, 0);
	assert_int_equal(boom_of(&raw).starts, 1);
	assert_int_equal(boom_of(&raw).powered_ns, TD_MS(5));
	raw_board_close(&raw);
}

static void setting_a_line_that_was_not_requested_ends_everything(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, CART_RAISE, ALL_IN, NULL);
	raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
	raw_turn(&raw, 0);
	raw_set(fd, raw_now(), CART_RAISE | CART_LOWER, CART_RAISE);
	raw_turn(&raw, 0);
	assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_REFUSED);
	assert_string_equal(message.as.reason, "SET of a line that was not requested");
	assert_int_equal(raw.board->plant.outputs, 0);
	assert_int_equal(raw.board->port.daemon_fd, -1);
	(void)close(fd);
	raw_board_close(&raw);
}

static void another_message_than_set_ends_everything(void **state)
{
	(void)state;
	static const uint32_t kinds[] = {TD_BOARD_HELLO, TD_BOARD_WELCOME, TD_BOARD_EDGE, 0, UINT32_MAX};
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); i++) {
		struct td_board_message message;
		int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);

		raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
		raw_send(fd, (struct td_board_message){.magic = TD_BOARD_MAGIC, .kind = kinds[i]});
		raw_turn(&raw, 0);
		assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_REFUSED);
		assert_int_equal(raw.board->plant.outputs, 0);
		(void)close(fd);
	}
	raw_board_close(&raw);
}

static void levels_outside_the_mask_are_left_alone(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	raw_set(fd, raw_now(), CART_RAISE, ALL_OUT);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	raw_set(fd, raw_now(), CART_FORWARD, CART_FORWARD);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE | CART_FORWARD);
	(void)close(fd);
	raw_board_close(&raw);
}

static const struct stamp {
	const char *name;
	td_ns stamp_ms; /* after the connection, when the plant stands at 0 */
	td_ns heard_ms;
	td_ns applied_ms;
} stamps[] = {
	{"a moment ago", 40, 42, 40},
	{"right now", 42, 42, 42},
	{"from the future", 99999, 42, 42},
	{"before the plant's own time", -30, 42, 0},
};

static void a_set_counts_from_its_time_stamp(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(stamps) / sizeof(stamps[0]); i++) {
		struct raw_board raw;

		raw_board_open(&raw, nobody);
		int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
		td_ns start_ns = raw_now();
		raw_set(fd, start_ns + TD_MS(stamps[i].stamp_ms), CART_RAISE, CART_RAISE);
		raw_turn(&raw, TD_MS(stamps[i].heard_ms));
		if (raw.board->plant.rise_ns[CART_BOOM * TD_WAYS + 1] !=
		    start_ns + TD_MS(stamps[i].applied_ms))
			fail_msg("%s: applied at %lld", stamps[i].name,
				 (long long)(raw.board->plant.rise_ns[CART_BOOM * TD_WAYS + 1] - start_ns));
		(void)close(fd);
		raw_board_close(&raw);
	}
}

static void several_sets_count_in_their_order(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	td_ns start_ns = raw_now();
	raw_set(fd, start_ns + TD_MS(10), CART_RAISE, CART_RAISE);
	raw_set(fd, start_ns + TD_MS(30), CART_RAISE, 0);
	raw_set(fd, start_ns + TD_MS(50), CART_LOWER, CART_LOWER);
	raw_turn(&raw, TD_MS(60));
	assert_int_equal(boom_of(&raw).powered_ns, TD_MS(20 + 10));
	assert_int_equal(boom_of(&raw).starts, 2);
	assert_int_equal(boom_of(&raw).both_high, 0);
	(void)close(fd);
	raw_board_close(&raw);
}

static void a_flood_of_sets_does_not_stop_the_clock(void **state)
{
	(void)state;
	struct raw_board raw;
	int sent = 0;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, ALL_OUT, ALL_IN, NULL);
	for (int round = 0; round < 20; round++) {
		struct td_board_message message = {.magic = TD_BOARD_MAGIC,
						   .kind = TD_BOARD_SET,
						   .at_ns = raw_now(),
						   .as.set = {ALL_OUT, round % 2 ? CART_RAISE : 0}};

		while (send(fd, &message, sizeof(message), MSG_DONTWAIT) == sizeof(message))
			sent++;
		raw_turn(&raw, TD_MS(1));
		assert_int_equal(raw.board->plant.now_ns, raw_now());
	}
	assert_true(sent > 256);
	(void)close(fd);
	raw_board_close(&raw);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_daemon_is_welcomed_with_the_page),
		cmocka_unit_test(the_page_can_be_neither_written_nor_shrunk),
		cmocka_unit_test(what_is_no_proper_hello_is_refused_with_a_reason),
		cmocka_unit_test(only_one_daemon_holds_the_board),
		cmocka_unit_test(R16_outputs_fall_when_the_last_descriptor_closes),
		cmocka_unit_test(what_was_set_before_the_end_still_counts_and_then_falls),
		cmocka_unit_test(setting_a_line_that_was_not_requested_ends_everything),
		cmocka_unit_test(another_message_than_set_ends_everything),
		cmocka_unit_test(levels_outside_the_mask_are_left_alone),
		cmocka_unit_test(a_set_counts_from_its_time_stamp),
		cmocka_unit_test(several_sets_count_in_their_order),
		cmocka_unit_test(a_flood_of_sets_does_not_stop_the_clock),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

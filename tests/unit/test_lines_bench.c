/* SPDX-License-Identifier: MIT */
/* The bench backend against the real board on a clock of the test, and against boards that misbehave. */
#include <fcntl.h>
#include <poll.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "lines/lines.h"
#include "tests/support/cart.h"
#include "tests/support/raw_board.h"

static const uint32_t ALL_OUT = 0xf;
static const uint32_t ALL_IN = 0x7;

/* --- opening blocks for the board's answer, so it is done in a second thread --------------------------- */

struct opening {
	const char *path;
	uint32_t outputs;
	uint32_t inputs;
	struct td_lines *lines;
	struct td_error err;
	atomic_bool done;
};

static void *open_lines(void *arg)
{
	struct opening *opening = arg;

	opening->lines = td_lines_bench_open(opening->path, opening->outputs, opening->inputs, &opening->err);
	atomic_store(&opening->done, true);
	return NULL;
}

static void open_on(struct raw_board *raw, struct opening *opening)
{
	pthread_t thread;

	assert_int_equal(pthread_create(&thread, NULL, open_lines, opening), 0);
	while (!atomic_load(&opening->done))
		(void)td_board_turn(raw->board, TD_MS(5), -1);
	assert_int_equal(pthread_join(thread, NULL), 0);
}

static struct td_lines *lines_on(struct raw_board *raw, uint32_t outputs, uint32_t inputs)
{
	struct opening opening = {.path = raw->socket, .outputs = outputs, .inputs = inputs};

	open_on(raw, &opening);
	if (!opening.lines)
		fail_msg("%s", opening.err.text);
	return opening.lines;
}

static bool readable(struct td_lines *lines)
{
	int fds[TD_LINES_FDS_MAX];

	assert_int_equal(lines->ops->fds(lines, fds), 1);
	struct pollfd end = {.fd = fds[0], .events = POLLIN};
	return poll(&end, 1, 0) == 1;
}

/* --- with the real board ------------------------------------------------------------------------------ */

static void opens_with_outputs_low_and_levels_readable(void **state)
{
	(void)state;
	struct raw_board raw;
	uint32_t levels = 99;

	raw_board_open(&raw, (struct td_watcher){0});
	td_plant_wire(&raw.board->plant, CART_STOP, TD_WIRE_BROKEN);
	td_watch_look(&raw.board->watch);
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	assert_int_equal(lines->outputs, ALL_OUT);
	assert_int_equal(lines->inputs, ALL_IN);
	assert_int_equal(raw.board->plant.outputs, 0);
	assert_int_equal(lines->ops->get(lines, &levels), 0);
	assert_int_equal(levels, 1 << CART_STOP);
	assert_false(readable(lines));
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void get_gives_only_the_requested_lines(void **state)
{
	(void)state;
	struct raw_board raw;
	uint32_t levels;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, 1 << CART_TOP);
	td_plant_wire(&raw.board->plant, CART_STOP, TD_WIRE_BROKEN);
	td_plant_wire(&raw.board->plant, CART_TOP, TD_WIRE_BROKEN);
	td_watch_look(&raw.board->watch);
	assert_int_equal(lines->ops->get(lines, &levels), 0);
	assert_int_equal(levels, 1 << CART_TOP);
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void what_is_set_moves_the_plant_and_its_edges_come_back(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_lines_edge edge;
	uint32_t levels;
	int edges = 0;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	assert_int_equal(lines->ops->set(lines, ALL_OUT, CART_RAISE), 0);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	assert_int_equal(lines->ops->next_edge(lines, &edge), 0);
	raw_run(&raw, TD_MS(1000));
	assert_true(readable(lines));
	while (lines->ops->next_edge(lines, &edge) == 1) {
		assert_int_equal(edge.sw, CART_TOP);
		assert_int_equal(edge.high, edges % 2 == 0);
		assert_int_equal(edge.lost, 0);
		edges++;
	}
	assert_true(edges >= 3);
	assert_int_equal(lines->ops->get(lines, &levels), 0);
	assert_int_equal(levels, 1 << CART_TOP);
	assert_int_equal(lines->ops->set(lines, CART_RAISE, 0), 0);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, 0);
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void R1_a_reversal_in_one_call_never_has_both_inputs_high(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_plant_report report;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	for (int i = 0; i < 50; i++) {
		assert_int_equal(lines->ops->set(lines, ALL_OUT, i % 2 ? CART_RAISE : CART_LOWER), 0);
		raw_turn(&raw, TD_MS(1));
	}
	td_plant_report(&raw.board->plant, CART_BOOM, &report);
	assert_int_equal(report.both_high, 0);
	assert_int_equal(report.starts, 50);
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void close_lowers_the_outputs(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	assert_int_equal(lines->ops->set(lines, ALL_OUT, CART_RAISE), 0);
	raw_turn(&raw, 0);
	lines->ops->close(lines);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, 0);
	raw_board_close(&raw);
}

static void R16_a_child_that_abandons_leaves_them_and_one_that_shares_holds_them(void **state)
{
	(void)state;
	struct raw_board raw;
	int gate[2];
	char byte;

	raw_board_open(&raw, (struct td_watcher){0});
	assert_int_equal(pipe(gate), 0);
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	assert_int_equal(lines->ops->set(lines, ALL_OUT, CART_RAISE), 0);
	raw_turn(&raw, 0);
	pid_t abandoning = fork();
	if (abandoning == 0) {
		lines->ops->abandon(lines);
		_exit(0);
	}
	assert_int_equal(waitpid(abandoning, NULL, 0), abandoning);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	pid_t sharing = fork();
	if (sharing == 0) {
		(void)close(gate[1]);
		if (read(gate[0], &byte, 1) != 0) /* until the parent's end closes */
			_exit(2);
		_exit(lines->ops->set(lines, ALL_OUT, 0) == 0 ? 0 : 1);
	}
	lines->ops->abandon(lines); /* the mover dies; its guard still has the lines */
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, CART_RAISE);
	(void)close(gate[0]);
	(void)close(gate[1]);
	int status = -1;
	assert_int_equal(waitpid(sharing, &status, 0), sharing);
	assert_int_equal(status, 0);
	raw_turn(&raw, 0);
	assert_int_equal(raw.board->plant.outputs, 0);
	assert_int_equal(raw.board->port.daemon_fd, -1);
	raw_board_close(&raw);
}

static void a_mask_beyond_the_request_is_our_own_bug(void **state)
{
	(void)state;
	struct raw_board raw;
	int status = 0;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, CART_RAISE, ALL_IN);
	pid_t child = fork();
	if (child == 0) {
		(void)signal(SIGABRT, SIG_DFL);
		if (!freopen("/dev/null", "w", stderr))
			_exit(1);
		(void)lines->ops->set(lines, CART_RAISE | CART_LOWER, 0);
		_exit(0);
	}
	assert_int_equal(waitpid(child, &status, 0), child);
	assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT);
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void a_second_daemon_is_told_why(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	struct opening second = {.path = raw.socket, .outputs = ALL_OUT, .inputs = ALL_IN};
	open_on(&raw, &second);
	assert_null(second.lines);
	assert_non_null(strstr(second.err.text, "refused: another daemon holds this board"));
	struct opening greedy = {.path = raw.socket, .outputs = UINT32_MAX, .inputs = ALL_IN};
	open_on(&raw, &greedy);
	assert_non_null(strstr(greedy.err.text, "refused: the board has fewer outputs"));
	lines->ops->close(lines);
	raw_board_close(&raw);
}

static void R15_a_board_that_ends_is_gone_for_every_call(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_lines_edge edge;
	uint32_t levels;

	raw_board_open(&raw, (struct td_watcher){0});
	struct td_lines *lines = lines_on(&raw, ALL_OUT, ALL_IN);
	td_plant_wire(&raw.board->plant, CART_TOP, TD_WIRE_BROKEN);
	td_watch_look(&raw.board->watch);
	raw_board_close(&raw);
	assert_true(readable(lines));
	assert_int_equal(lines->ops->next_edge(lines, &edge), 1); /* it was told before the end */
	assert_int_equal(lines->ops->next_edge(lines, &edge), TD_LINES_GONE);
	assert_int_equal(lines->ops->get(lines, &levels), TD_LINES_GONE);
	assert_int_equal(lines->ops->set(lines, ALL_OUT, 0), TD_LINES_GONE);
	lines->ops->close(lines);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(opens_with_outputs_low_and_levels_readable),
		cmocka_unit_test(get_gives_only_the_requested_lines),
		cmocka_unit_test(what_is_set_moves_the_plant_and_its_edges_come_back),
		cmocka_unit_test(R1_a_reversal_in_one_call_never_has_both_inputs_high),
		cmocka_unit_test(close_lowers_the_outputs),
		cmocka_unit_test(R16_a_child_that_abandons_leaves_them_and_one_that_shares_holds_them),
		cmocka_unit_test(a_mask_beyond_the_request_is_our_own_bug),
		cmocka_unit_test(a_second_daemon_is_told_why),
		cmocka_unit_test(R15_a_board_that_ends_is_gone_for_every_call),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

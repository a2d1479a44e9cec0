/* SPDX-License-Identifier: MIT */
/* The board's log: what the reader of traces finds in it is what the watch told. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "sim/board_log.h"
#include "tests/support/cart.h"
#include "trace/vcd_reader.h"

enum { SIGNALS = CART_AXES * 4 + CART_SWITCHES, CHANGES = 4096 };

struct found {
	char name[SIGNALS][64];
	unsigned int signals;
	uint64_t last[SIGNALS];
	int64_t changes;
	int comments;
	bool marked_at_the_right_time;
};

static int find_signal(void *ctx, const struct td_vcd_signal *signal)
{
	struct found *found = ctx;

	assert_true(found->signals < SIGNALS);
	(void)snprintf(found->name[found->signals++], sizeof(found->name[0]), "%s.%s", signal->scope,
		       signal->name);
	return 0;
}

static int find_change(void *ctx, td_ns at_ns, unsigned int signal, struct td_vcd_value value)
{
	struct found *found = ctx;

	(void)at_ns;
	found->last[signal] = value.bits;
	found->changes++;
	return 0;
}

static int find_text(void *ctx, td_ns at_ns, enum td_vcd_text kind, const char *text)
{
	struct found *found = ctx;

	if (kind != TD_VCD_COMMENT)
		return 0;
	found->comments++;
	if (strstr(text, "half way"))
		found->marked_at_the_right_time = at_ns == TD_MS(700);
	return 0;
}

static struct found read_log(const char *path, struct td_vcd_summary *summary)
{
	struct found found = {.signals = 0};
	struct td_vcd_sink sink = {
		.ctx = &found, .text = find_text, .signal = find_signal, .change = find_change};
	struct td_error err = {""};
	FILE *in = fopen(path, "r");

	assert_non_null(in);
	if (td_vcd_read(in, path, &sink, summary, &err) != TD_VCD_READ)
		fail_msg("%s", err.text);
	(void)fclose(in);
	return found;
}

static uint64_t value_of(const struct found *found, const char *name)
{
	for (unsigned int i = 0; i < found->signals; i++)
		if (strcmp(found->name[i], name) == 0)
			return found->last[i];
	fail_msg("the log has no signal %s", name);
	return 0;
}

struct temporary {
	char directory[32];
	char path[64];
};

static struct temporary make_temporary(void)
{
	struct temporary temporary = {.directory = "/tmp/log-XXXXXX"};

	assert_non_null(mkdtemp(temporary.directory));
	(void)snprintf(temporary.path, sizeof(temporary.path), "%s/board.vcd", temporary.directory);
	return temporary;
}

static void remove_temporary(const struct temporary *temporary)
{
	(void)unlink(temporary->path);
	(void)rmdir(temporary->directory);
}

/* Raises the boom into its stop and takes it down half way; starts at 5 s. */
static void play(struct td_board_log *log, struct td_plant *plant)
{
	struct td_plant_model model = cart_model();
	struct td_watch watch;

	td_plant_init(plant, &model, TD_S(5));
	td_watch_start(&watch, plant, TD_MS(10), td_board_log_watcher(log));
	td_watch_outputs(&watch, TD_S(5) + TD_MS(200), CART_RAISE);
	td_watch_run(&watch, TD_S(5) + TD_MS(700));
	td_watch_mark(&watch, "half way");
	td_watch_outputs(&watch, TD_S(5) + TD_MS(2000), CART_LOWER | CART_FORWARD);
	td_watch_outputs(&watch, TD_S(5) + TD_MS(2600), CART_FORWARD);
	td_watch_run(&watch, TD_S(5) + TD_MS(3000));
}

static void the_log_reads_back_as_it_was_told(void **state)
{
	(void)state;
	struct temporary temporary = make_temporary();
	struct td_config config = cart_config();
	struct td_plant_model model = cart_model();
	struct td_error err = {""};
	struct td_board_log *log = td_board_log_open(temporary.path, &config, &model, &err);
	struct td_plant plant;
	struct td_plant_report boom;
	struct td_vcd_summary summary;

	assert_non_null(log);
	play(log, &plant);
	assert_int_equal(td_board_log_flush(log, TD_S(5) + TD_MS(3000), &err), 0);
	assert_int_equal(td_board_log_close(log, &err), 0);
	struct found found = read_log(temporary.path, &summary);
	td_plant_report(&plant, CART_BOOM, &boom);
	assert_false(summary.cut_off);
	assert_int_equal(summary.last_ns, TD_MS(3000));
	assert_int_equal(found.signals, SIGNALS);
	assert_int_equal(value_of(&found, "boom.raise"), 0);
	assert_int_equal(value_of(&found, "boom.lower"), 0);
	assert_int_equal(value_of(&found, "drive.forward"), 1);
	assert_int_equal(value_of(&found, "boom.skipped_teeth"), boom.skipped_teeth);
	assert_in_range(value_of(&found, "boom.position_ppm"), (uint64_t)(boom.position * 1e6) - 1,
			(uint64_t)(boom.position * 1e6) + 1);
	assert_int_equal(value_of(&found, "switches.boom_top"), 0);
	assert_true(found.changes > 300);
	assert_true(found.marked_at_the_right_time);
	remove_temporary(&temporary);
}

static void a_log_can_be_flushed_and_goes_on(void **state)
{
	(void)state;
	struct temporary temporary = make_temporary();
	struct td_config config = cart_config();
	struct td_plant_model model = cart_model();
	struct td_error err = {""};
	struct td_board_log *log = td_board_log_open(temporary.path, &config, &model, &err);
	struct td_watcher watcher = td_board_log_watcher(log);
	struct td_vcd_summary summary;
	struct td_change change = {.at_ns = TD_S(1), .kind = TD_CHANGE_OUTPUT, .index = 3, .value = 1};

	watcher.change(watcher.ctx, &change);
	assert_int_equal(td_board_log_flush(log, TD_S(2), &err), 0);
	struct found found = read_log(temporary.path, &summary);
	assert_int_equal(value_of(&found, "boom.raise"), 1);
	assert_int_equal(summary.last_ns, TD_S(1));
	change =
		(struct td_change){.at_ns = TD_S(4), .kind = TD_CHANGE_LEVEL, .index = CART_STOP, .value = 1};
	watcher.change(watcher.ctx, &change);
	assert_int_equal(td_board_log_close(log, &err), 0);
	found = read_log(temporary.path, &summary);
	assert_int_equal(value_of(&found, "switches.stop_contact"), 1);
	remove_temporary(&temporary);
}

static void a_log_without_a_change_is_closed_cleanly(void **state)
{
	(void)state;
	struct temporary temporary = make_temporary();
	struct td_config config = cart_config();
	struct td_plant_model model = cart_model();
	struct td_error err = {""};
	struct td_board_log *log = td_board_log_open(temporary.path, &config, &model, &err);

	assert_int_equal(td_board_log_close(log, &err), 0);
	assert_int_equal(td_board_log_close(NULL, &err), 0);
	remove_temporary(&temporary);
}

static void a_log_that_cannot_be_written_says_so(void **state)
{
	(void)state;
	struct td_config config = cart_config();
	struct td_plant_model model = cart_model();
	struct td_error err = {""};
	struct td_plant plant;

	assert_null(td_board_log_open("/no/such/directory/x.vcd", &config, &model, &err));
	assert_non_null(strstr(err.text, "cannot be written: No such file or directory"));
	struct td_board_log *log = td_board_log_open("/dev/full", &config, &model, &err);
	assert_non_null(log); /* the writer's buffer has not met the device yet */
	play(log, &plant);
	assert_int_equal(td_board_log_flush(log, TD_S(9), &err), -1);
	assert_non_null(strstr(err.text, "No space left"));
	assert_int_equal(td_board_log_close(log, &err), -1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_log_reads_back_as_it_was_told),
		cmocka_unit_test(a_log_can_be_flushed_and_goes_on),
		cmocka_unit_test(a_log_without_a_change_is_closed_cleanly),
		cmocka_unit_test(a_log_that_cannot_be_written_says_so),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

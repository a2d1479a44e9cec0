/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as commands of the bench board, a line each. "+N" lets N ms pass, "=N" makes N the outputs, though
 * never both of an axis; every other line is a command and is answered.
 */
#include <math.h>
#include <string.h>

#include "tests/fuzz/fuzz.h"
#include "tests/support/raw_board.h"

enum { LINE_MAX = TD_BOARD_LINE_MAX - 1, LINES_MAX = 200 };

static struct raw_board raw;
static struct td_plant plant_at_start;
static struct td_watch watch_at_start;

static void close_board(void)
{
	raw_board_close(&raw);
}

/* Opened once, for sockets are slow; every input begins with the plant as it was then. */
static void begin(void)
{
	static const struct td_watcher nobody;

	if (!raw.board) {
		raw_board_open(&raw, nobody);
		plant_at_start = raw.board->plant;
		watch_at_start = raw.board->watch;
		must(atexit(close_board) == 0, "the board is closed in the end");
	}
	raw.board->plant = plant_at_start;
	raw.board->watch = watch_at_start;
}

static void check_answer(json_t *answer)
{
	const json_t *ok = json_object_get(answer, "ok");

	must(json_is_object(answer), "every line is answered");
	must(json_is_boolean(ok), "an answer says whether it went well");
	must(json_is_true(ok) || json_string_length(json_object_get(answer, "error")) > 0,
	     "a refusal has a sentence");
	json_decref(answer);
}

static void check_plant(const struct td_plant *plant)
{
	struct td_plant_report report;

	for (uint8_t axis = 0; axis < plant->model.motors; axis++) {
		td_plant_report(plant, axis, &report);
		must(isfinite(report.position) && isfinite(report.speed), "a place and a speed are numbers");
		must(!plant->model.motor[axis].ends || (report.position >= 0 && report.position <= 1),
		     "an axis with ends stays between them");
		must(report.skipped_teeth >= 0 && report.pushing_ns >= 0, "sums grow");
	}
}

static uint32_t without_conflict(uint32_t word)
{
	uint32_t both = word & word >> 1 & UINT32_C(0x55555555);

	return word & ~(both * 3);
}

static void take_line(const char *line)
{
	struct td_board *board = raw.board;
	td_ns now_ns = board->plant.now_ns;
	unsigned long number = strtoul(line[0] ? line + 1 : line, NULL, 10);

	if (line[0] == '+')
		td_watch_run(&board->watch, now_ns + TD_MS(number % 5000));
	else if (line[0] == '=')
		td_watch_outputs(&board->watch, now_ns, without_conflict((uint32_t)number));
	else
		check_answer(td_board_command(board, line));
	check_plant(&board->plant);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	const char *rest = (const char *)bytes;
	char line[LINE_MAX + 1];

	begin();
	for (int lines = 0; count > 0 && lines < LINES_MAX; lines++) {
		const char *end = memchr(rest, '\n', count);
		size_t whole = end ? (size_t)(end - rest) : count;
		size_t length = whole < LINE_MAX ? whole : LINE_MAX;

		memcpy(line, rest, length);
		line[length] = '\0';
		take_line(line);
		rest += whole + (end != NULL);
		count -= whole + (end != NULL);
	}
	return 0;
}

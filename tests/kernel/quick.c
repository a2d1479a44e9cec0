/* SPDX-License-Identifier: MIT */
#include "tests/kernel/quick.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/clock.h"
#include "sim/child.h"

struct wire {
	const char *way; /* NULL: a switch */
	const char *name;
	enum glasshouse_line line;
	bool vents; /* on the vent's chip */
	const char *end_switch;
};

static const struct wire wires[] = {
	{"boom lower", NULL, BOOM_LOWER, false, "boom_bottom"},
	{"boom raise", NULL, BOOM_RAISE, false, "boom_top"},
	{"vent close", NULL, VENT_CLOSE, true, "vent_shut"},
	{"vent open", NULL, VENT_OPEN, true, "vent_open"},
	{NULL, "boom_bottom", BOOM_BOTTOM, false, NULL},
	{NULL, "boom_top", BOOM_TOP, false, NULL},
	{NULL, "vent_shut", VENT_SHUT, true, NULL},
	{NULL, "vent_open", VENT_IS_OPEN, true, NULL},
};

static void describe(FILE *out, const struct wire *wire, const char *chip, int confirm_ms)
{
	if (wire->way)
		(void)fprintf(
			out,
			"[way %s]\ninput = %s:%d\nend_switch = %s\ntravel_ms = 1000\nearly_percent = 0\n"
			"leave_ms = 500\n",
			wire->way, chip, (int)wire->line, wire->end_switch);
	else
		/* A thousand edges as fast as they come are what R8 would take for chatter. */
		(void)fprintf(out,
			      "[switch %s]\nline = %s:%d\ncontact = %s\nconfirm_ms = %d\nclear_ms = 1\n"
			      "chatter_changes = 0\n",
			      wire->name, chip, (int)wire->line,
			      wire->line == VENT_IS_OPEN ? "normally-open" : "normally-closed", confirm_ms);
}

void quick_configure(const char *vent_chip, int confirm_ms)
{
	const char *dir = house.stage.dir;
	FILE *out = fopen(house.stage.config, "we");

	assert_non_null(out);
	(void)fprintf(out,
		      "[machine]\nbackend = gpio\nstate_dir = %s/state\n[keeper]\nsocket = %s/keeper.sock\n"
		      "[visitor]\nsocket = %s/visitor.sock\n"
		      "[axis boom]\nways = lower raise\ndead_time_ms = 5\nrest_ms = 5\n"
		      "[axis vent]\nways = close open\ndead_time_ms = 5\nrest_ms = 5\n",
		      dir, dir, dir);
	for (size_t i = 0; i < sizeof(wires) / sizeof(wires[0]); i++)
		describe(out, &wires[i], wires[i].vents ? vent_chip : house.chip.label, confirm_ms);
	assert_int_equal(fclose(out), 0);
}

void quick_use_faults(bool faults)
{
	assert_int_equal(setenv("TD_BUILD", faults ? "/fault" : "/bin", 1), 0);
}

static void start_if_none_runs(void)
{
	const char *const argv[] = {stage_program("tripdogd"), "--config", house.stage.config, NULL};
	struct td_error err;

	if (house.stage.daemon > 0 && td_child_wait(house.stage.daemon, 0) < 0)
		return;
	house.stage.daemon = td_child_start(argv, stage_file(&house.stage, "daemon.log"), &err);
	assert_true(house.stage.daemon > 0);
}

/* A daemon that will not have its lines has its sockets by then: a call to it ends unanswered. */
static bool is_armed(void)
{
	struct td_error err;
	json_t *status = NULL;
	enum td_link_outcome outcome =
		td_link_call(house.stage.keeper, "status", NULL, TD_S(2), &status, &err);
	bool armed = json_is_true(json_object_get(status, "armed"));

	json_decref(status);
	if (outcome == TD_LINK_OK || outcome == TD_LINK_REFUSED)
		return armed;
	td_link_close(house.stage.keeper);
	house.stage.keeper = NULL;
	return false;
}

bool quick_try(void)
{
	struct td_error err;

	start_if_none_runs();
	if (!house.stage.keeper)
		house.stage.keeper = td_link_open(stage_file(&house.stage, "keeper.sock"), &err);
	return house.stage.keeper && is_armed();
}

void quick_start(void)
{
	td_ns until_ns = td_clock_now() + TD_S(5);

	while (!quick_try()) {
		assert_true(td_clock_now() < until_ns);
		stage_sleep(TD_MS(2));
	}
}

void quick_hold(const char *axis, const char *way, enum glasshouse_line line, int lease_ms)
{
	static int hold;
	const char *answer = stage_request(house.stage.keeper, axis, way, ++hold, 0, lease_ms);

	if (strcmp(answer, "started") != 0 && strcmp(answer, "queued") != 0)
		fail_msg("%s %s: %s", axis, way, answer);
	assert_true(glasshouse_await(line, true));
}

int quick_ended(void)
{
	int code = td_child_wait(house.stage.daemon, TD_S(3));

	assert_true(code >= 0);
	house.stage.daemon = 0;
	td_link_close(house.stage.keeper);
	house.stage.keeper = NULL;
	stage_sleep(TD_MS(20));
	return code;
}

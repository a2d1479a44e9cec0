/* SPDX-License-Identifier: MIT */
/* R14: a daemon that may not arm runs, answers and says why; nothing moves. A made-up sysfs says the bad news. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "daemon/scribe/record_file.h"
#include "sim/child.h"
#include "tests/support/stage.h"

enum { RAISE = 1, TRIES = 400 };

static int set_up(void **state)
{
	static struct stage stage;

	stage_open(&stage);
	(void)stage_end_daemon(&stage);
	*state = &stage;
	return 0;
}

static int tear_down(void **state)
{
	stage_close(*state);
	return 0;
}

/* The kernel of this machine lets outputs outlive their process. */
static void make_sysfs(const struct stage *stage)
{
	static const char *const parts[] = {"sys", "sys/module", "sys/module/pinctrl_bcm2835",
					    "sys/module/pinctrl_bcm2835/parameters"};

	for (size_t i = 0; i < sizeof(parts) / sizeof(parts[0]); i++)
		assert_int_equal(mkdir(stage_file(stage, parts[i]), 0700), 0);
	FILE *out =
		fopen(stage_file(stage, "sys/module/pinctrl_bcm2835/parameters/persist_gpio_outputs"), "w");

	assert_non_null(out);
	(void)fputs("Y\n", out);
	(void)fclose(out);
}

static bool answers(struct stage *stage)
{
	json_t *answer = stage_call(stage->keeper, "status", NULL);
	bool ready = json_is_array(json_object_get(answer, "axes"));

	json_decref(answer);
	return ready;
}

static void start_daemon(struct stage *stage)
{
	char program[STAGE_PATH_MAX];
	char sysfs[STAGE_PATH_MAX * 2];
	struct td_error err;

	(void)snprintf(program, sizeof(program), "%s", stage_program("tripdogd"));
	(void)snprintf(sysfs, sizeof(sysfs), "%s", stage_file(stage, "sys"));
	const char *const argv[] = {program, "--config", stage->config, "--sysfs", sysfs, NULL};

	stage->daemon = td_child_start(argv, stage_file(stage, "unarmed.log"), &err);
	assert_true(stage->daemon > 0);
	for (int i = 0; i < TRIES; i++, stage_sleep(TD_MS(10))) {
		if (!stage->keeper)
			stage->keeper = td_link_open(stage_file(stage, "keeper.sock"), &err);
		if (stage->keeper && answers(stage))
			return;
	}
	fail_msg("the daemon did not come up");
}

static void accept_it(const struct stage *stage)
{
	char line[512];
	FILE *in = fopen(stage->config, "r");
	FILE *copy = fopen(stage_file(stage, "accept.conf"), "w");

	assert_non_null(in);
	assert_non_null(copy);
	while (fgets(line, sizeof(line), in)) {
		(void)fputs(line, copy);
		if (strcmp(line, "[machine]\n") == 0)
			(void)fputs("outliving_outputs = accept\n", copy);
	}
	(void)fclose(in);
	(void)fclose(copy);
	assert_int_equal(rename(stage_file(stage, "accept.conf"), stage->config), 0);
}

/* The one sentence of a list in status; "" if there is none. Static buffer. */
static const char *only(struct stage *stage, const char *member, bool *armed)
{
	static char text[1024];
	json_t *status = stage_call(stage->keeper, "status", NULL);
	const json_t *list = json_object_get(status, member);

	assert_true(json_is_array(list));
	assert_true(json_array_size(list) <= 1);
	const char *sentence = json_string_value(json_array_get(list, 0));

	(void)snprintf(text, sizeof(text), "%s", sentence ? sentence : "");
	*armed = json_is_true(json_object_get(status, "armed"));
	json_decref(status);
	return text;
}

/* How many lines of a file have the text. */
static unsigned lines_with(const char *path, const char *text)
{
	char line[2048];
	unsigned count = 0;
	FILE *in = fopen(path, "r");

	assert_non_null(in);
	while (fgets(line, sizeof(line), in))
		count += strstr(line, text) != NULL;
	(void)fclose(in);
	return count;
}

static void r14_where_outputs_outlive_it_the_daemon_says_so_and_moves_nothing(void **state)
{
	struct stage *stage = *state;
	bool armed;

	make_sysfs(stage);
	start_daemon(stage);
	const char *why = only(stage, "why_not", &armed);

	assert_false(armed);
	assert_non_null(strstr(why, "a motor may run on after a crash"));
	assert_non_null(strstr(why, "dtparam=strict_gpiod"));
	assert_string_equal(only(stage, "accepted", &armed), "");
	stage_sleep(TD_MS(500)); /* longer than any rest after the start */
	assert_string_equal(stage_request(stage->keeper, "boom", "raise", 1, 0, 1500), "not-armed");
	assert_string_equal(stage_hold(stage->keeper, "drive", "forward", 2, TD_MS(300)), "not-armed");
	assert_false(stage_any_high(stage));
	assert_int_equal(stage_rise_ns(stage, "boom", RAISE), -1);
	json_decref(stage_call(stage->keeper, "stop", NULL)); /* it still answers */
	assert_int_equal(stage_end_daemon(stage), 0);         /* then the scribe has written all it knows */
	assert_int_equal(lines_with(stage_file(stage, "unarmed.log"), "<3>tripdogd: NOT ARMED: "), 1);
	assert_int_equal(lines_with(stage_file(stage, "unarmed.log"), "cause=not-armed"), 2);
}

/* The client's page, as a person sees it. */
static void r14_the_client_shows_why(void **state)
{
	struct stage *stage = *state;
	char program[STAGE_PATH_MAX];
	struct td_error err;

	make_sysfs(stage);
	start_daemon(stage);
	(void)snprintf(program, sizeof(program), "%s", stage_program("tripdog"));
	const char *const argv[] = {program, "--socket", stage_file(stage, "keeper.sock"), "status", NULL};
	pid_t client = td_child_start(argv, stage_file(stage, "page.log"), &err);

	assert_true(client > 0);
	assert_int_equal(td_child_wait(client, TD_S(5)), 0);
	assert_int_equal(lines_with(stage_file(stage, "page.log"), "NOT ARMED"), 1);
	assert_int_equal(lines_with(stage_file(stage, "page.log"), " ! not armed: outputs outlive"), 1);
	assert_int_equal(lines_with(stage_file(stage, "page.log"), "strict_gpiod"), 1);
	assert_int_equal(stage_end_daemon(stage), 0);
}

static void r14_accepted_it_arms_warns_once_and_shows_it(void **state)
{
	struct stage *stage = *state;
	bool armed;

	make_sysfs(stage);
	accept_it(stage);
	start_daemon(stage);
	const char *accepted = only(stage, "accepted", &armed);

	assert_true(armed);
	assert_non_null(strstr(accepted, "accepted by outliving_outputs = accept"));
	assert_string_equal(only(stage, "why_not", &armed), "");
	stage_sleep(TD_MS(500));
	assert_string_equal(stage_request(stage->keeper, "boom", "raise", 1, 0, 300), "started");
	assert_int_equal(lines_with(stage_file(stage, "unarmed.log"), "<4>tripdogd: risk accepted: "), 1);
	assert_int_equal(stage_end_daemon(stage), 0);
}

/* Nothing can be renamed over a directory. */
static void r10_where_nothing_can_be_kept_nothing_moves(void **state)
{
	struct stage *stage = *state;
	char record[STAGE_PATH_MAX];
	bool armed;

	(void)snprintf(record, sizeof(record), "%s", stage_file(stage, "state/" TD_RECORD_FILE));
	assert_int_equal(unlink(record), 0);
	assert_int_equal(mkdir(record, 0700), 0);
	start_daemon(stage);
	const char *why = only(stage, "why_not", &armed);

	assert_false(armed);
	assert_non_null(strstr(why, record));
	assert_non_null(strstr(why, "would be forgotten by a restart; let the daemon write there"));
	json_decref(stage_call(stage->keeper, "reset", NULL));
	assert_string_equal(stage_request(stage->keeper, "boom", "raise", 1, 0, 1500), "not-armed");
	assert_false(stage_any_high(stage));
	assert_int_equal(stage_end_daemon(stage), 0);
	assert_int_equal(rmdir(record), 0);
	start_daemon(stage);
	assert_string_equal(only(stage, "why_not", &armed), "");
	assert_true(armed);
	assert_int_equal(stage_end_daemon(stage), 0);
}

#define SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		SCENE(r14_where_outputs_outlive_it_the_daemon_says_so_and_moves_nothing),
		SCENE(r14_the_client_shows_why),
		SCENE(r10_where_nothing_can_be_kept_nothing_moves),
		SCENE(r14_accepted_it_arms_warns_once_and_shows_it),
	};

	return cmocka_run_group_tests_name("arming", tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
#include "sim/demo/stage.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/state.h"
#include "sim/child.h"

#define TURN_NS   TD_MS(5)
#define START_NS  TD_S(5)
#define ANSWER_NS TD_MS(20)  /* short: the daemon may be waiting for the board, which is ours to turn */
#define SETTLE_NS TD_MS(500) /* longer than any dead time or rest of the example */

static const char *path_in(const char *dir, const char *name)
{
	static char path[4][TD_DEMO_PATH_MAX];
	static size_t turn;

	turn = (turn + 1) % 4;
	snprintf(path[turn], sizeof(path[turn]), "%s/%s", dir, name);
	return path[turn];
}

static int open_board(struct td_stage *stage, struct td_error *err)
{
	const struct td_board_setup setup = {
		.socket = stage->config.board,
		.config = &stage->config,
		.model = &stage->model,
		.watcher = {td_record_change, &stage->record},
	};

	stage->board = td_board_open(&setup, err);
	return stage->board ? 0 : -1;
}

static bool is_armed(struct td_link *link)
{
	json_t *status = NULL;
	bool armed = td_link_call(link, "status", NULL, ANSWER_NS, &status, NULL) == TD_LINK_OK &&
		     json_is_true(json_object_get(status, "armed"));

	json_decref(status);
	return armed;
}

static int start_daemon(struct td_stage *stage, struct td_error *err)
{
	const char *const argv[] = {path_in(stage->programs, "tripdogd"), "--config", stage->config_path,
				    NULL};
	td_ns until_ns = td_clock_now() + START_NS;

	stage->daemon = td_child_start(argv, path_in(stage->out, "tripdogd.log"), err);
	while (stage->daemon > 0 && td_clock_now() < until_ns) {
		td_board_turn(stage->board, TURN_NS, -1);
		if (!stage->follower)
			stage->follower = td_link_open(stage->config.keeper.path, err);
		if (stage->follower && is_armed(stage->follower))
			return td_link_call(stage->follower, "follow", NULL, TD_S(2), NULL, err) == TD_LINK_OK
				       ? 0
				       : -1;
	}
	return td_error_set(err, "tripdogd did not come up; see %s", path_in(stage->out, "tripdogd.log"));
}

static void end_daemon(struct td_stage *stage)
{
	td_link_close(stage->follower);
	stage->follower = NULL;
	td_child_end(stage->daemon);
	stage->daemon = 0;
}

int td_stage_begin(struct td_stage *stage, struct td_error *err)
{
	const struct td_state off = {.latched = false};

	td_record_begin(&stage->record, &stage->config);
	stage->told = 0;
	stage->clients = 0;
	/* Each scene begins with a machine that is not latched. */
	if (mkdir(stage->config.state_dir, 0700) != 0 && errno != EEXIST)
		return td_error_set(err, "cannot make %s: %s", stage->config.state_dir, strerror(errno));
	if (td_state_save(stage->config.state_dir, &off, err) != 0)
		return -1;
	if (open_board(stage, err) != 0 || start_daemon(stage, err) != 0) {
		td_stage_end(stage);
		return -1;
	}
	td_stage_run(stage, td_clock_now() + SETTLE_NS, NULL);
	stage->zero_ns = td_clock_now();
	return 0;
}

void td_stage_end(struct td_stage *stage)
{
	for (size_t i = 0; i < stage->clients; i++) {
		kill(stage->client[i], SIGKILL);
		td_child_wait(stage->client[i], TD_S(1));
	}
	stage->clients = 0;
	end_daemon(stage);
	td_board_close(stage->board);
	stage->board = NULL;
}

static bool take_news(struct td_stage *stage, td_stage_tell tell)
{
	json_t *notification = NULL;
	enum td_link_outcome outcome;

	while ((outcome = td_link_next_news(stage->follower, 0, &notification, NULL)) == TD_LINK_OK) {
		const struct td_record_news *news = td_record_notification(&stage->record, notification);

		if (news && tell)
			tell(stage, news);
		json_decref(notification);
	}
	return outcome == TD_LINK_TIMEOUT;
}

bool td_stage_run(struct td_stage *stage, td_ns until_ns, td_stage_tell tell)
{
	for (td_ns now_ns = td_clock_now(); now_ns < until_ns; now_ns = td_clock_now()) {
		td_board_turn(stage->board, td_time_earlier(TURN_NS, until_ns - now_ns), -1);
		if (!take_news(stage, tell))
			return false;
	}
	return true;
}

static int hold(struct td_stage *stage, const struct td_act *act, struct td_error *err)
{
	char time[32];

	if (stage->clients == TD_CLIENTS_MAX)
		return td_error_set(err, "too many clients in one scene");
	snprintf(time, sizeof(time), "%dms", act->for_ms);
	const char *const argv[] = {path_in(stage->programs, "tripdog"),
				    "--socket",
				    stage->config.visitor.path,
				    "hold",
				    act->axis,
				    act->way,
				    "--for",
				    time,
				    NULL};
	pid_t pid = td_child_start(argv, path_in(stage->out, "tripdog.log"), err);

	if (pid < 0)
		return -1;
	stage->client[stage->clients++] = pid;
	return 0;
}

static void signal_client(const struct td_stage *stage, int number)
{
	if (stage->clients > 0)
		kill(stage->client[stage->clients - 1], number);
}

static int call(struct td_stage *stage, const char *method, struct td_error *err)
{
	return td_link_call(stage->follower, method, NULL, TD_S(2), NULL, err) == TD_LINK_OK ? 0 : -1;
}

static int latch_as_visitor(struct td_stage *stage, struct td_error *err)
{
	struct td_link *visitor = td_link_open(stage->config.visitor.path, err);
	int result = -1;

	if (visitor && td_link_call(visitor, "latch", NULL, TD_S(2), NULL, err) == TD_LINK_OK)
		result = 0;
	td_link_close(visitor);
	return result;
}

static int poke(struct td_stage *stage, const char *command, struct td_error *err)
{
	json_t *answer = td_board_command(stage->board, command);
	bool good = json_is_true(json_object_get(answer, "ok"));

	json_decref(answer);
	return good ? 0 : td_error_set(err, "the board does not understand \"%s\"", command);
}

static int restart(struct td_stage *stage, td_stage_tell tell, struct td_error *err)
{
	take_news(stage, tell);
	end_daemon(stage);
	td_board_turn(stage->board, TURN_NS, -1);
	return start_daemon(stage, err);
}

int td_stage_act(struct td_stage *stage, const struct td_act *act, td_stage_tell tell, struct td_error *err)
{
	switch (act->kind) {
	case TD_ACT_HOLD: return hold(stage, act, err);
	case TD_ACT_KILL: signal_client(stage, SIGKILL); return 0;
	case TD_ACT_FREEZE: signal_client(stage, SIGSTOP); return 0;
	case TD_ACT_POKE: return poke(stage, act->poke, err);
	case TD_ACT_LATCH: return latch_as_visitor(stage, err);
	case TD_ACT_RESET: return call(stage, "reset", err);
	case TD_ACT_RESTART: return restart(stage, tell, err);
	case TD_ACT_NONE:
	default: return td_error_set(err, "an act of no kind");
	}
}

static int64_t number(const json_t *axis, const char *key)
{
	return json_integer_value(json_object_get(axis, key));
}

struct td_toll td_stage_toll(struct td_stage *stage)
{
	json_t *report = td_board_command(stage->board, "report");
	struct td_toll toll = {0, 0, 0};
	size_t index;
	json_t *axis;

	json_array_foreach(json_object_get(report, "axes"), index, axis)
	{
		toll.skipped_teeth += number(axis, "skipped_teeth");
		toll.both_high += (uint64_t)number(axis, "both_high");
		toll.pushing_ns += number(axis, "pushing_ns");
	}
	json_decref(report);
	return toll;
}

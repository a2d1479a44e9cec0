/* SPDX-License-Identifier: MIT */
/*
 * A scene on the stage: a fresh plant on a board in this process, the real tripdogd on it, real clients. One
 * thread: whoever waits turns the board meanwhile.
 */
#ifndef TD_SIM_DEMO_STAGE_H
#define TD_SIM_DEMO_STAGE_H

#include <stdbool.h>
#include <sys/types.h>

#include "config/config.h"
#include "daemon/client/link.h"
#include "sim/board.h"
#include "sim/demo/record.h"
#include "sim/demo/scene.h"
#include "sim/demo/toll.h"

enum { TD_CLIENTS_MAX = 8, TD_DEMO_PATH_MAX = 256 };

struct td_stage {
	const char *programs; /* directory of tripdogd and tripdog */
	const char *out;      /* directory for everything written */
	const char *config_path;
	struct td_config config;
	struct td_plant_model model;
	/* of the running scene */
	struct td_board *board;
	pid_t daemon;
	struct td_link *follower; /* as keeper, follows */
	pid_t client[TD_CLIENTS_MAX];
	size_t clients;
	struct td_record record;
	td_ns zero_ns;
	size_t told; /* news already printed */
};

/* Called for each piece of news as it comes in. */
typedef void (*td_stage_tell)(const struct td_stage *stage, const struct td_record_news *news);

/* Board, daemon, follower; armed and every axis at rest when it returns. 0, or -1 with a sentence and everything
 * ended. */
int td_stage_begin(struct td_stage *stage, struct td_error *err);

/* Ends everything of the scene but the record. */
void td_stage_end(struct td_stage *stage);

/* Turns the board and takes news until `until_ns`. False if the daemon's news ended unexpectedly. */
bool td_stage_run(struct td_stage *stage, td_ns until_ns, td_stage_tell tell);

/* Carries out one act. 0, or -1 with a sentence. */
int td_stage_act(struct td_stage *stage, const struct td_act *act, td_stage_tell tell, struct td_error *err);

/* What the scene has cost so far, asked of the board. */
struct td_toll td_stage_toll(struct td_stage *stage);

#endif

/* SPDX-License-Identifier: MIT */
#include "tests/support/load.h"

#include <string.h>
#include <unistd.h>

#include "tests/support/echo.h"

enum { HEALTHY = 8 /* places for those who are no load */, ASKS_PER_S = 20 };

void load_open(struct load *load, unsigned int clients)
{
	memset(load, 0, sizeof(*load));
	stage_open_for(&load->stage, clients + HEALTHY);
	rounds_open(&load->rounds, &load->stage);
}

void load_close(struct load *load)
{
	rounds_close(&load->rounds);
	stage_close(&load->stage);
}

/* The healthy one is there first. */
static void begin(const char *path, const struct load_phase *phase, td_ns for_ns, struct flood flood[2])
{
	const struct flood_plan healthy = {path, FLOOD_ASKS, 1, ASKS_PER_S, for_ns};
	const struct flood_plan crowd = {path, phase->kind, phase->clients, phase->per_second, for_ns};

	flood[0] = flood_start(&healthy);
	flood[1] = (struct flood){.pid = -1};
	if (phase->kind != FLOOD_NONE) {
		flood[1] = flood_start(&crowd);
		flood_go(&flood[1]);
	}
	flood_go(&flood[0]);
}

static void end(struct flood flood[2], pid_t server, struct load_side *side)
{
	side->after = usage_of(server);
	side->healthy = flood_end(&flood[0]);
	if (flood[1].pid > 0)
		side->crowd = flood_end(&flood[1]);
}

struct load_side load_run(struct load *load, const struct load_phase *phase, td_ns for_ns)
{
	pid_t front = stage_front(&load->stage);
	struct load_side side;
	struct flood flood[2];

	memset(&side, 0, sizeof(side));
	rounds_forget(&load->rounds);
	usage_forget_peak(front);
	begin(stage_file(&load->stage, "visitor.sock"), phase, for_ns, flood);
	side.before = usage_of(front);
	load->mover_wakeups = -usage_of(load->stage.daemon).wakeups;
	rounds_run(&load->rounds, for_ns);
	load->mover_wakeups += usage_of(load->stage.daemon).wakeups;
	end(flood, front, &side);
	return side;
}

struct load_side load_run_echo(const char *path, const struct load_phase *phase, td_ns for_ns)
{
	pid_t echo = echo_start(path);
	struct load_side side;
	struct flood flood[2];

	memset(&side, 0, sizeof(side));
	begin(path, phase, for_ns, flood);
	side.before = usage_of(echo);
	stage_sleep(for_ns);
	end(flood, echo, &side);
	echo_end(echo);
	(void)unlink(path);
	return side;
}

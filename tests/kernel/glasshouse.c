/* SPDX-License-Identifier: MIT */
#include "tests/kernel/glasshouse.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "sim/child.h"

struct glasshouse house;

static const char example[] = "/glasshouse.conf";

struct swap {
	const char *from;
	const char *to;
};

/* The first of the texts that stands in the line gives way to ours. */
static void copy_line(FILE *out, const char *line)
{
	char place[40];
	const struct swap swaps[] = {
		{"backend = bench", "backend = gpio"},
		{"build/demo", house.stage.dir},
		{"cart:", place},
	};

	(void)snprintf(place, sizeof(place), "%s:", house.chip.label);
	for (size_t i = 0; i < sizeof(swaps) / sizeof(swaps[0]); i++) {
		const char *found = strstr(line, swaps[i].from);

		if (!found)
			continue;
		(void)fprintf(out, "%.*s%s%s", (int)(found - line), line, swaps[i].to,
			      found + strlen(swaps[i].from));
		return;
	}
	(void)fputs(line, out);
}

static bool dropped(const char *line, const char *const *drop)
{
	for (; drop && *drop; drop++)
		if (strncmp(line, *drop, strlen(*drop)) == 0)
			return true;
	return strncmp(line, "board =", strlen("board =")) == 0;
}

void glasshouse_configure(const char *const *drop)
{
	char line[512];
	FILE *in = fopen(example, "re");
	FILE *out = fopen(house.stage.config, "we");

	if (!in || !out) {
		printf("Bail out! %s cannot be copied to %s\n", example, house.stage.config);
		_exit(1);
	}
	while (fgets(line, sizeof(line), in))
		if (!dropped(line, drop))
			copy_line(out, line);
	(void)fclose(in);
	(void)fclose(out);
}

/* All contacts are normally-closed to ground but that of the open vent. */
void glasshouse_press(enum glasshouse_line line, bool pressed)
{
	sim_pull(&house.chip, line, line == VENT_IS_OPEN ? !pressed : pressed);
}

static int set_up_alone(const char *prefix)
{
	char label[32];

	memset(&house, 0, sizeof(house));
	house.stage.control_fd = -1;
	(void)snprintf(house.stage.dir, sizeof(house.stage.dir), "/tmp/house-XXXXXX");
	if (!mkdtemp(house.stage.dir))
		return -1;
	(void)snprintf(house.stage.config, sizeof(house.stage.config), "%s",
		       stage_file(&house.stage, "cart.conf"));
	if (mkdir(stage_file(&house.stage, "state"), 0700) < 0)
		return -1;
	(void)snprintf(label, sizeof(label), "%swired-cart", prefix);
	sim_chip_add(&house.chip, label, LINES, NULL);
	for (enum glasshouse_line line = BOOM_BOTTOM; line <= STOP_CONTACT; line++)
		glasshouse_press(line, false);
	glasshouse_configure(NULL);
	return 0;
}

static int set_up(const char *prefix)
{
	int result = set_up_alone(prefix);

	if (result == 0)
		stage_start_daemon(&house.stage);
	return result;
}

int glasshouse_set_up_alone(void **state)
{
	(void)state;
	return set_up_alone("");
}

int glasshouse_set_up(void **state)
{
	(void)state;
	return set_up("");
}

int glasshouse_set_up_to_unplug(void **state)
{
	(void)state;
	return set_up(sim_unplug_prefix());
}

int glasshouse_tear_down(void **state)
{
	(void)state;
	if (house.stage.daemon > 0)
		(void)stage_end_daemon(&house.stage);
	td_link_close(house.stage.keeper);
	sim_chip_unplug(&house.chip);
	sim_chip_forget(&house.chip);
	return 0;
}

uint32_t glasshouse_outputs(void)
{
	uint32_t levels = 0;

	for (unsigned line = 0; line < OUTPUTS; line++)
		levels |= (uint32_t)sim_level(&house.chip, line) << line;
	return levels;
}

bool glasshouse_await(enum glasshouse_line line, bool high)
{
	td_ns until_ns = td_clock_now() + TD_S(1);

	while (sim_level(&house.chip, line) != high) {
		if (td_clock_now() > until_ns)
			return false;
		stage_sleep(TD_MS(1));
	}
	return true;
}

bool glasshouse_said(const char *path, const char *needle)
{
	char line[1024];
	FILE *in = fopen(path, "re");
	bool found = false;

	while (in && fgets(line, sizeof(line), in)) {
		printf("# daemon: %s", line);
		found = found || strstr(line, needle);
	}
	if (in)
		(void)fclose(in);
	return found;
}

int glasshouse_run(const char *option, const char *needle, bool *said)
{
	static unsigned runs;
	const char *const argv[] = {stage_program("tripdogd"), "--config", house.stage.config, option, NULL};
	char log[sizeof(house.stage.dir) + 32];
	struct td_error err;

	(void)snprintf(log, sizeof(log), "%s/run%u.log", house.stage.dir, runs++);
	pid_t pid = td_child_start(argv, log, &err);
	int code = pid < 0 ? -1 : td_child_wait(pid, TD_S(3));

	if (code < 0 && pid > 0)
		(void)td_child_end(pid);
	*said = glasshouse_said(log, needle);
	return code;
}

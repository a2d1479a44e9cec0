/* SPDX-License-Identifier: MIT */
#include "tests/support/stage.h"

#include <ftw.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "sim/child.h"

/* After a start every axis counts as just cut: longer than any dead time or rest of the example. */
#define SETTLE_NS TD_MS(500)

enum { START_TRIES = 400, LINE_MAX_BYTES = 65536 };

void stage_sleep(td_ns span_ns)
{
	struct timespec span = td_clock_span(span_ns);

	nanosleep(&span, NULL);
}

const char *stage_program(const char *name)
{
	static char path[STAGE_PATH_MAX];
	const char *build = getenv("TD_BUILD");

	snprintf(path, sizeof(path), "%s/%s", build ? build : "build/plain", name);
	return path;
}

const char *stage_file(const struct stage *stage, const char *name)
{
	static char path[2][STAGE_PATH_MAX * 2];
	static int turn;

	turn = 1 - turn;
	snprintf(path[turn], sizeof(path[turn]), "%s/%s", stage->dir, name);
	return path[turn];
}

/* A copy of an example with its directory replaced by ours, and with places for so many visitors, who all come through us. */
static void copy_example(const struct stage *stage, const char *from, const char *to, unsigned int visitors)
{
	static const char old[] = "build/demo";
	char line[512];
	FILE *in = fopen(from, "r");
	FILE *out = fopen(to, "w");

	if (!in || !out)
		fail_msg("cannot copy %s to %s", from, to);
	while (fgets(line, sizeof(line), in)) {
		char *found = strstr(line, old);

		if (found)
			fprintf(out, "%.*s%s%s", (int)(found - line), line, stage->dir, found + strlen(old));
		else
			fputs(line, out);
		if (visitors > 0 && strcmp(line, "[visitor]\n") == 0)
			fprintf(out, "connections = %u\ngateway = %u\n", visitors, (unsigned int)getuid());
	}
	fclose(in);
	fclose(out);
}

static void print_log(const struct stage *stage, const char *name)
{
	char line[512];
	FILE *in = fopen(stage_file(stage, name), "r");

	while (in && fgets(line, sizeof(line), in))
		printf("# %s: %s", name, line);
	if (in)
		fclose(in);
}

static int connect_to(const char *path)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	if (strlen(path) >= sizeof(address.sun_path))
		fail_msg("%s: too long for a socket", path);
	memcpy(address.sun_path, path, strlen(path));
	if (connect(fd, (struct sockaddr *)&address, sizeof(address)) == 0)
		return fd;
	close(fd);
	return -1;
}

static void start_board(struct stage *stage)
{
	char program[STAGE_PATH_MAX];
	char board[STAGE_PATH_MAX * 2];
	char control[STAGE_PATH_MAX * 2];
	struct td_error err;

	snprintf(program, sizeof(program), "%s", stage_program("tripdog-sim"));
	snprintf(board, sizeof(board), "%s/board.sock", stage->dir);
	snprintf(control, sizeof(control), "%s/control.sock", stage->dir);
	const char *const argv[] = {program,    "board", "--config",  stage->config, "--plant", stage->plant,
				    "--socket", board,   "--control", control,       NULL};

	stage->board = td_child_start(argv, stage_file(stage, "board.log"), &err);
	if (stage->board < 0)
		fail_msg("%s", err.text);
	for (int i = 0; i < START_TRIES && stage->control_fd < 0; i++) {
		stage->control_fd = connect_to(control);
		if (stage->control_fd < 0)
			stage_sleep(TD_MS(10));
	}
	if (stage->control_fd < 0) {
		print_log(stage, "board.log");
		fail_msg("the board did not come up");
	}
}

static bool is_armed(struct stage *stage)
{
	json_t *status = stage_call(stage->keeper, "status", NULL);
	bool armed = json_is_true(json_object_get(status, "armed"));

	json_decref(status);
	return armed;
}

void stage_start_daemon(struct stage *stage)
{
	char program[STAGE_PATH_MAX];
	struct td_error err;

	snprintf(program, sizeof(program), "%s", stage_program("tripdogd"));
	const char *const argv[] = {program, "--config", stage->config, NULL};

	stage->daemon = td_child_start(argv, stage_file(stage, "daemon.log"), &err);
	if (stage->daemon < 0)
		fail_msg("%s", err.text);
	for (int i = 0; i < START_TRIES; i++, stage_sleep(TD_MS(10))) {
		if (!stage->keeper)
			stage->keeper = td_link_open(stage_file(stage, "keeper.sock"), &err);
		if (stage->keeper && is_armed(stage)) {
			stage_sleep(SETTLE_NS);
			return;
		}
	}
	print_log(stage, "daemon.log");
	fail_msg("the daemon did not come up");
}

int stage_end_daemon(struct stage *stage)
{
	int code = td_child_end(stage->daemon);

	td_link_close(stage->keeper);
	stage->keeper = NULL;
	stage->daemon = 0;
	return code;
}

void stage_open(struct stage *stage)
{
	stage_open_for(stage, 0);
}

void stage_open_for(struct stage *stage, unsigned int visitors)
{
	memset(stage, 0, sizeof(*stage));
	stage->control_fd = -1;
	snprintf(stage->dir, sizeof(stage->dir), "/tmp/tripdog-test-XXXXXX");
	if (!mkdtemp(stage->dir))
		fail_msg("cannot make a directory for the test");
	snprintf(stage->config, sizeof(stage->config), "%s", stage_file(stage, "cart.conf"));
	snprintf(stage->plant, sizeof(stage->plant), "%s", stage_file(stage, "cart.plant"));
	copy_example(stage, "docs/examples/glasshouse.conf", stage->config, visitors);
	copy_example(stage, "docs/examples/glasshouse.plant", stage->plant, 0);
	mkdir(stage_file(stage, "state"), 0700);
	start_board(stage);
	stage_start_daemon(stage);
}

static int remove_one(const char *path, const struct stat *info, int kind, struct FTW *where)
{
	(void)info;
	(void)kind;
	(void)where;
	return remove(path);
}

static void remove_all(const struct stage *stage)
{
	if (nftw(stage->dir, remove_one, 8, FTW_DEPTH | FTW_PHYS) != 0)
		printf("# cannot remove %s\n", stage->dir);
}

void stage_close(struct stage *stage)
{
	if (stage->daemon > 0)
		stage_end_daemon(stage);
	td_link_close(stage->keeper);
	close(stage->control_fd);
	td_child_end(stage->board);
	remove_all(stage);
}

/* --- the board -------------------------------------------------------------------------------------- */

static void read_line(int fd, char *line, size_t size)
{
	size_t length = 0;

	while (length + 1 < size) {
		ssize_t got = read(fd, line + length, 1);

		if (got <= 0)
			fail_msg("the board is gone");
		if (line[length] == '\n')
			break;
		length++;
	}
	line[length] = '\0';
}

json_t *stage_poke(struct stage *stage, const char *format, ...)
{
	static char line[LINE_MAX_BYTES];
	va_list args;

	va_start(args, format);
	int length = vsnprintf(line, sizeof(line) - 1, format, args);
	va_end(args);
	line[length++] = '\n';
	if (write(stage->control_fd, line, (size_t)length) != length)
		fail_msg("the board does not listen");
	read_line(stage->control_fd, line, sizeof(line));
	json_t *answer = json_loads(line, 0, NULL);

	if (!json_is_true(json_object_get(answer, "ok")))
		fail_msg("the board answers: %s", line);
	return answer;
}

/* The named member of an array of objects; borrowed. */
static json_t *named(json_t *list, const char *name)
{
	size_t index;
	json_t *item;

	json_array_foreach(list, index, item) if (strcmp(json_string_value(json_object_get(item, "name")),
							 name) == 0) return item;
	fail_msg("there is no \"%s\"", name);
	return NULL;
}

static json_t *output(json_t *report, const char *axis, int way)
{
	return json_array_get(json_object_get(named(json_object_get(report, "axes"), axis), "outputs"),
			      (size_t)way);
}

static td_ns output_time(struct stage *stage, const char *axis, int way, const char *key)
{
	json_t *report = stage_poke(stage, "report");
	json_t *at = json_object_get(output(report, axis, way), key);
	td_ns at_ns = json_is_integer(at) ? json_integer_value(at) : -1;

	json_decref(report);
	return at_ns;
}

td_ns stage_fall_ns(struct stage *stage, const char *axis, int way)
{
	return output_time(stage, axis, way, "fall_ns");
}

td_ns stage_rise_ns(struct stage *stage, const char *axis, int way)
{
	return output_time(stage, axis, way, "rise_ns");
}

bool stage_high(struct stage *stage, const char *axis, int way)
{
	json_t *report = stage_poke(stage, "report");
	bool high = json_is_true(json_object_get(output(report, axis, way), "high"));

	json_decref(report);
	return high;
}

bool stage_any_high(struct stage *stage)
{
	json_t *report = stage_poke(stage, "report");
	bool any = false;
	size_t index;
	json_t *axis;

	json_array_foreach(json_object_get(report, "axes"), index, axis) any |=
		strcmp(json_string_value(json_object_get(axis, "powered")), "none") != 0;
	json_decref(report);
	return any;
}

double stage_position(struct stage *stage, const char *axis)
{
	json_t *report = stage_poke(stage, "report");
	double position =
		json_number_value(json_object_get(named(json_object_get(report, "axes"), axis), "position"));

	json_decref(report);
	return position;
}

long long stage_total(struct stage *stage, const char *key)
{
	json_t *report = stage_poke(stage, "report");
	long long total = 0;
	size_t index;
	json_t *axis;

	json_array_foreach(json_object_get(report, "axes"), index, axis) total +=
		json_integer_value(json_object_get(axis, key));
	json_decref(report);
	return total;
}

bool stage_wait_output(struct stage *stage, const char *axis, int way, bool high, td_ns timeout_ns)
{
	td_ns until_ns = td_clock_now() + timeout_ns;

	while (stage_high(stage, axis, way) != high) {
		if (td_clock_now() > until_ns)
			return false;
		stage_sleep(TD_MS(2));
	}
	return true;
}

/* --- the daemon ------------------------------------------------------------------------------------- */

struct td_link *stage_link(struct stage *stage, const char *name)
{
	struct td_error err;
	struct td_link *link = td_link_open(stage_file(stage, name), &err);

	if (!link)
		fail_msg("%s", err.text);
	return link;
}

json_t *stage_call(struct td_link *link, const char *method, json_t *params)
{
	struct td_error err;
	json_t *answer = NULL;
	enum td_link_outcome outcome = td_link_call(link, method, params, TD_S(5), &answer, &err);

	if (outcome != TD_LINK_OK && outcome != TD_LINK_REFUSED)
		fail_msg("%s: %s", method, err.text);
	return answer;
}

const char *stage_axis(struct td_link *link, const char *axis, const char *member)
{
	static char text[128];
	char path[64];
	json_t *status = stage_call(link, "status", NULL);
	json_t *value = named(json_object_get(status, "axes"), axis);
	char *rest = path;

	snprintf(path, sizeof(path), "%s", member);
	for (char *key = strsep(&rest, "."); key; key = strsep(&rest, "."))
		value = json_object_get(value, key);
	text[0] = '\0';
	if (json_is_string(value))
		snprintf(text, sizeof(text), "%s", json_string_value(value));
	else if (json_is_integer(value))
		snprintf(text, sizeof(text), "%lld", (long long)json_integer_value(value));
	json_decref(status);
	return text[0] ? text : NULL;
}

pid_t stage_client(struct stage *stage, const char *socket, const char *axis, const char *way,
		   const char *time)
{
	char program[STAGE_PATH_MAX];
	struct td_error err;

	snprintf(program, sizeof(program), "%s", stage_program("tripdog"));
	const char *const argv[] = {
		program, "--socket", stage_file(stage, socket), "hold", axis, way, "--for", time, NULL};
	pid_t pid = td_child_start(argv, stage_file(stage, "client.log"), &err);

	if (pid < 0)
		fail_msg("%s", err.text);
	return pid;
}

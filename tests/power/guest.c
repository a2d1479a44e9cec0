/* SPDX-License-Identifier: MIT */
/*
 * What runs inside the test machine whose power is cut: says what the last power cut left of what is kept, starts the
 * daemon on it, and then does at random whatever writes to the disk, until the power goes. Each line on the serial port
 * is on its way out before the next thing is done; tests/power/promises.py says what follows from them.
 */
#include <dirent.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "daemon/scribe/record_file.h"
#include "daemon/state.h"
#include "sim/child.h"
#include "sim/replay/file.h"
#include "tests/kernel/glasshouse.h"
#include "tests/support/dice.h"

enum { DRIVE, STEERING, BOOM, VENT, AXES };
/* A record with other locks is written at once: a second after its news, when the scribe looks, on a slow disk. */
enum { LOCK_SURE_S = 5 };

enum { TICK_NS = 2000000, RENEW_MS = 100, NEWEST_TRIPS = 3, DOUBT_MAX = 600 };

#define KEPT   "/disk/state"
#define TRACES KEPT "/traces"

static const char *const axis_name[AXES] = {"drive", "steering", "boom", "vent"};
static const char *const way_name[AXES][2] = {
	{"backward", "forward"}, {"left", "right"}, {"lower", "raise"}, {"close", "open"}};

static struct dice dice;
static unsigned hold_number;

/* Since this start of the machine, at least: as seen on the lines. */
static td_ns powered_ns[AXES];
static unsigned starts[AXES];

/* --- what is said --------------------------------------------------------------------------------------- */

static void say(const char *format, ...) __attribute__((format(printf, 1, 2)));

static void say(const char *format, ...)
{
	va_list args;

	printf("at=%" PRId64 " ", td_clock_now() / TD_MS(1));
	va_start(args, format);
	(void)vprintf(format, args);
	va_end(args);
	putchar('\n');
	(void)fflush(stdout);
	(void)tcdrain(STDOUT_FILENO);
}

static void say_truth(void)
{
	say("truth powered_ms=%" PRId64 ",%" PRId64 ",%" PRId64 ",%" PRId64 " starts=%u,%u,%u,%u",
	    powered_ns[0] / TD_MS(1), powered_ns[1] / TD_MS(1), powered_ns[2] / TD_MS(1),
	    powered_ns[3] / TD_MS(1), starts[0], starts[1], starts[2], starts[3]);
}

/* --- what the last power cut left ------------------------------------------------------------------------ */

static const struct td_config *configuration(void)
{
	static struct td_config config;
	static struct td_config_faults faults;

	if (!td_config_read(house.stage.config, &config, &faults)) {
		say("bad configuration: %s", faults.fault[0].text);
		_exit(1);
	}
	return &config;
}

static int64_t of_axis_ms(const struct td_keep_axis *axis)
{
	return (axis->powered_ns[0] + axis->powered_ns[1]) / TD_MS(1);
}

static void say_what_is_kept(void)
{
	static struct td_keep keep;
	struct td_state state;
	struct td_error err = {""};
	td_ns taken_ns;

	if (td_state_load(KEPT, &state, &err) != 0)
		say("bad state: %s", err.text);
	if (td_record_load(KEPT, td_record_machine(configuration()), td_clock_now(), &keep, &taken_ns,
			   &err) != 0)
		say("bad record: %s", err.text);
	const struct td_keep_axis *a = keep.axis;

	say("found latch=%d latched=%u closed=%u locked=%" PRIu32 " powered_ms=%" PRId64 ",%" PRId64
	    ",%" PRId64 ",%" PRId64 " starts=%u,%u,%u,%u",
	    state.latched, keep.latched, keep.closed, keep.locked, of_axis_ms(&a[0]), of_axis_ms(&a[1]),
	    of_axis_ms(&a[2]), of_axis_ms(&a[3]), a[0].starts[0] + a[0].starts[1],
	    a[1].starts[0] + a[1].starts[1], a[2].starts[0] + a[2].starts[1],
	    a[3].starts[0] + a[3].starts[1]);
}

static void replay(const char *name)
{
	const struct td_replay_order order = {.shown_as = name};
	char path[sizeof(TRACES) + 300];
	struct td_error err = {""};

	(void)snprintf(path, sizeof(path), TRACES "/%s", name);
	FILE *in = fopen(path, "re");
	FILE *out = fopen("/dev/null", "we");
	int verdict = in && out ? (int)td_replay_file(in, &order, out, &err) : -1;

	say("trace name=%s verdict=%d %s", name, verdict, err.text);
	if (in)
		(void)fclose(in);
	if (out)
		(void)fclose(out);
}

static bool ends_with(const char *name, const char *end)
{
	size_t length = strlen(name);

	return length > strlen(end) && strcmp(name + length - strlen(end), end) == 0;
}

static unsigned number_of(const char *name)
{
	const char *digits = strchr(name, '-');

	return digits ? (unsigned)strtoul(digits + 1, NULL, 10) : 0;
}

/* Calls `with` for each file of a directory whose name begins and ends so. */
static void each_file(const char *dir, const char *begin, const char *end, void (*with)(const char *name))
{
	DIR *list = opendir(dir);

	for (struct dirent *next = list ? readdir(list) : NULL; next; next = readdir(list))
		if (strncmp(next->d_name, begin, strlen(begin)) == 0 && ends_with(next->d_name, end))
			with(next->d_name);
	if (list)
		(void)closedir(list);
}

/* Of each_file(). */
static unsigned count;
static unsigned highest;

static void look_at(const char *name)
{
	count++;
	if (number_of(name) > highest)
		highest = number_of(name);
}

static void replay_newest(const char *name)
{
	if (number_of(name) + NEWEST_TRIPS > highest)
		replay(name);
}

static unsigned count_files(const char *dir, const char *end)
{
	count = 0;
	each_file(dir, "", end, look_at);
	return count;
}

static unsigned highest_trip(void)
{
	highest = 0;
	each_file(TRACES, "trip-", ".vcd", look_at);
	return highest;
}

static void say_what_traces_are_left(void)
{
	unsigned trips = highest_trip();

	each_file(TRACES, "trip-", ".vcd", replay_newest);
	each_file(TRACES, "run-", ".vcd", replay);
	say("trips=%u", trips);
}

/* What was half made when the power went is gone once the daemon runs; of the two small files one each may stay, for the
 * next one takes its place. */
static void say_what_is_half_made(void)
{
	for (int tries = 0; count_files(TRACES, ".new") > 0 && tries < 20; tries++)
		stage_sleep(TD_MS(100));
	say("half-made traces=%u beside=%u", count_files(TRACES, ".new"), count_files(KEPT, ".new"));
}

/* --- what the daemon says --------------------------------------------------------------------------------- */

static struct td_link *keeper(void)
{
	return house.stage.keeper;
}

static unsigned locked_bits(const json_t *axes)
{
	unsigned bits = 0;

	for (size_t axis = 0; axis < AXES; axis++)
		for (size_t way = 0; way < 2; way++)
			bits |= (unsigned)json_is_true(json_array_get(
					json_object_get(json_array_get(axes, axis), "locked"), way))
				<< (axis * 2 + way);
	return bits;
}

static json_int_t doubt; /* as last told */

/* The front answers after it has kept what it heard, so the latch that a status tells is on the disk. */
static unsigned say_status(const char *word)
{
	json_t *status = stage_call(keeper(), "status", NULL);
	json_t *twist = json_object_get(status, "twist");
	unsigned locked = locked_bits(json_object_get(status, "axes"));
	json_int_t trips = json_integer_value(json_object_get(json_object_get(status, "traces"), "trips"));

	doubt = json_integer_value(json_object_get(twist, "doubt_degrees"));
	say("%s latch=%d locked=%u net=%" JSON_INTEGER_FORMAT " doubt=%" JSON_INTEGER_FORMAT
	    " trips=%" JSON_INTEGER_FORMAT,
	    word, json_array_size(json_object_get(status, "latch")) > 0, locked,
	    json_integer_value(json_object_get(twist, "net_degrees")), doubt, trips);
	json_decref(status);
	return locked;
}

static void call(const char *method, const char *axis, const char *done)
{
	json_t *answer = stage_call(keeper(), method, axis ? json_pack("{s:s}", "axis", axis) : NULL);
	json_t *text = json_object_get(answer, "result");

	if (json_is_string(text) && strcmp(json_string_value(text), done) == 0)
		say("acked %s %s", method, axis ? axis : "all");
	json_decref(answer);
}

/* --- what is done ------------------------------------------------------------------------------------------ */

/* Renewed until the time is over or the core ends it. */
static void hold(unsigned axis, unsigned way, td_ns span_ns)
{
	td_ns until_ns = td_clock_now() + span_ns;
	td_ns told_ns = td_clock_now();
	td_ns last_ns = 0;
	unsigned number = ++hold_number;

	for (int seq = 0; td_clock_now() < until_ns; seq++) {
		const char *answer =
			stage_request(keeper(), axis_name[axis], way_name[axis][way], (int)number, seq, 400);
		bool taken = strcmp(answer, "started") == 0 || strcmp(answer, "queued") == 0 ||
			     strcmp(answer, "renewed") == 0;
		td_ns now_ns = td_clock_now();

		if (!taken || !sim_level(&house.chip, axis * 2 + way)) {
			last_ns = 0;
		} else {
			starts[axis] += last_ns == 0;
			powered_ns[axis] += last_ns == 0 ? 0 : now_ns - last_ns;
			last_ns = now_ns;
		}
		if (!taken)
			break;
		if (now_ns - told_ns > TD_MS(500)) {
			told_ns = now_ns;
			say_truth();
		}
		stage_sleep(TD_MS(RENEW_MS));
	}
	json_decref(stage_call(keeper(), "release",
			       json_pack("{s:s, s:i}", "axis", axis_name[axis], "hold", (int)number)));
	say_truth();
	(void)say_status("status");
}

static void move_a_little(void)
{
	unsigned axis = (unsigned)dice_below(&dice, AXES);

	hold(axis, (unsigned)dice_below(&dice, 2), dice_span(&dice, TD_MS(150), TD_MS(1300)));
}

static void drive(void)
{
	hold(DRIVE, (unsigned)dice_below(&dice, 2), dice_span(&dice, TD_S(1), TD_S(22)));
}

/* Nothing stops the boom at the top: the travel limit does, and the second time locks the way. */
static void jam(void)
{
	for (int again = 0; again < 2; again++) {
		hold(BOOM, 1, TD_S(4));
		say("try reset boom");
		if (again == 0)
			call("reset", "boom", "reset-done");
		stage_sleep(TD_MS(400));
	}
	if (say_status("status") != 0 && dice_below(&dice, 2) == 0) {
		stage_sleep(TD_S(LOCK_SURE_S));
		(void)say_status("sure");
	}
}

static void latch(void)
{
	say("try latch");
	call("latch", NULL, "latch-asked");
	if (dice_below(&dice, 2) == 0)
		stage_sleep(dice_span(&dice, 0, TD_S(3)));
	(void)say_status("status");
}

static void stop_contact(void)
{
	say("try latch");
	glasshouse_press(STOP_CONTACT, true);
	stage_sleep(TD_MS(100));
	(void)say_status("status");
	glasshouse_press(STOP_CONTACT, false);
	stage_sleep(TD_MS(100));
}

static void reset(void)
{
	say("try reset all");
	call("reset", NULL, "reset-done");
	(void)say_status("status");
}

static void wait_a_while(void)
{
	stage_sleep(dice_span(&dice, TD_MS(100), TD_S(12)));
	(void)say_status("status");
}

static void start(void)
{
	unsigned trips = highest_trip();

	stage_start_daemon(&house.stage);
	say("ready trips=%u", trips);
	(void)say_status("began");
	say_what_is_half_made();
	/* Each cut charges every motor and the cable: somebody must vouch for them, or soon nothing would move. */
	call("cooled", NULL, "cooled");
	if (doubt < DOUBT_MAX)
		return;
	say("try untwisted");
	call("untwisted", NULL, "untwisted");
}

static void start_again(void)
{
	int code = stage_end_daemon(&house.stage);

	say("closed code=%d trips=%u", code, highest_trip());
	start();
}

static void do_anything(void)
{
	static void (*const things[])(void) = {move_a_little, move_a_little, drive,        drive, jam,
					       latch,         latch,         stop_contact, reset, reset,
					       reset,         wait_a_while,  start_again};

	things[dice_below(&dice, sizeof(things) / sizeof(things[0]))]();
}

/* --- the two runs ------------------------------------------------------------------------------------------ */

/* In this machine idle time is passed over, while a disk takes its time: a clock that ticks keeps what a disk takes to
 * what a slow one would. */
static pid_t tick(void)
{
	pid_t pid = fork();

	if (pid == 0)
		for (;;)
			stage_sleep(TICK_NS);
	return pid;
}

static void until_the_power_goes(void)
{
	(void)tick();
	say_what_is_kept();
	say_what_traces_are_left();
	start();
	for (;;)
		do_anything();
}

/* What a day writes: an hour at rest, then ten minutes in which something is always asked for. */
static void measure(void)
{
	start();
	stage_sleep(TD_S(60));
	say("mark rest");
	stage_sleep(TD_S(3600));
	say("mark rest-end");
	(void)tick();
	stage_sleep(TD_S(11));
	say("mark busy");
	td_ns until_ns = td_clock_now() + TD_S(600);

	while (td_clock_now() < until_ns) {
		move_a_little();
		stage_sleep(TD_MS(500));
	}
	say("mark busy-end");
}

static void lay_out(const char *more)
{
	if (glasshouse_set_up_alone(NULL) != 0)
		exit(1);
	FILE *config = fopen(house.stage.config, "ae");

	(void)mkdir(KEPT, 0700);
	if (!config || fputs(more, config) < 0 || fclose(config) != 0 ||
	    rmdir(stage_file(&house.stage, "state")) != 0 ||
	    symlink(KEPT, stage_file(&house.stage, "state")) != 0)
		exit(1);
}

int main(void)
{
	char line[2048] = "";
	FILE *in = fopen("/proc/cmdline", "re");

	if (!in || !fgets(line, sizeof(line), in))
		return 1;
	(void)fclose(in);
	const char *seed = strstr(line, "td.seed=");

	if (!seed) {
		lay_out("");
		measure();
		return 0;
	}
	dice = dice_start(strtoull(seed + strlen("td.seed="), NULL, 10));
	lay_out("\n[trace]\nsize_kb = 256\ndaily_kb = 1000000\n");
	until_the_power_goes();
}

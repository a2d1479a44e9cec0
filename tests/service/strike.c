/* SPDX-License-Identifier: MIT */
/*
 * Strikes every process of the running service down while a motor runs, and looks at the board: when the outputs were
 * low, when the service was back, and that nothing moves again by itself. Runs inside the container.
 */
#include <dirent.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/clock.h"
#include "tests/support/stage.h"

/* R16, and what the unit promises. */
#define LOW_NS  TD_MS(100)
#define BACK_NS TD_S(5)

enum { LEASE_MS = 1500 };

static struct stage stage;

/* "N (tripdogd) S 1 ...": proc(5). */
static bool is_main(const char *pid)
{
	char path[64];
	char text[64] = "";
	FILE *in;

	(void)snprintf(path, sizeof(path), "/proc/%.20s/stat", pid);
	in = fopen(path, "re");
	if (!in)
		return false;
	const char *line = fgets(text, sizeof(text), in);
	const char *name = line ? strstr(line, " (tripdogd) ") : NULL;

	(void)fclose(in);
	return name && strncmp(name + strlen(" (tripdogd) S"), " 1 ", 3) == 0;
}

/* The program of that name that the service manager itself has started; 0: there is none. */
static pid_t main_pid(void)
{
	DIR *proc = opendir("/proc");
	struct dirent *entry;
	pid_t pid = 0;

	while (proc && pid == 0 && (entry = readdir(proc)))
		if (entry->d_name[0] >= '1' && entry->d_name[0] <= '9' && is_main(entry->d_name))
			pid = (pid_t)strtol(entry->d_name, NULL, 10);
	if (proc)
		(void)closedir(proc);
	return pid;
}

static int connect_control(void)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX, .sun_path = "/run/bench/control.sock"};
	int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	return connect(fd, (const struct sockaddr *)&address, sizeof(address)) == 0 ? fd : -1;
}

static bool is_armed(void)
{
	struct td_error err;
	struct td_link *link = td_link_open("/run/tripdog/keeper.sock", &err);
	json_t *status = NULL;
	bool armed = link && td_link_call(link, "status", NULL, TD_S(1), &status, &err) == TD_LINK_OK &&
		     json_is_true(json_object_get(status, "armed"));

	json_decref(status);
	td_link_close(link);
	return armed;
}

/* Another main process than `old`, armed; how long it took from `from_ns`, -1 if it is not back in time. */
static td_ns wait_back(pid_t old, td_ns from_ns, td_ns within_ns)
{
	while (td_clock_now() - from_ns < within_ns) {
		pid_t now = main_pid();

		if (now > 0 && now != old && is_armed() && main_pid() == now) {
			stage.daemon = now;
			return td_clock_now() - from_ns;
		}
		stage_sleep(TD_MS(20));
	}
	return -1;
}

static int set_up(void **state)
{
	(void)state;
	snprintf(stage.dir, sizeof(stage.dir), "/run/tripdog");
	stage.control_fd = connect_control();
	return stage.control_fd >= 0 && wait_back(0, td_clock_now(), 2 * BACK_NS) >= 0 ? 0 : -1;
}

/* All pauses since the start are over, and the drive runs. */
static void drive(int lease_ms)
{
	struct td_error err;

	stage_sleep(TD_MS(500));
	td_link_close(stage.keeper);
	stage.keeper = td_link_open("/run/tripdog/keeper.sock", &err);
	assert_non_null(stage.keeper);
	assert_string_equal(stage_request(stage.keeper, "drive", "forward", 1, 0, lease_ms), "started");
	assert_true(stage_wait_output(&stage, "drive", 1, true, TD_S(1)));
}

static td_ns strike(pid_t pid, int signal_number)
{
	td_ns at_ns = td_clock_now();

	assert_true(pid > 0);
	assert_int_equal(kill(pid, signal_number), 0);
	return at_ns;
}

static void goes_down_and_comes_back(const char *who, pid_t pid, int signal_number)
{
	pid_t old = stage.daemon;
	td_ns at_ns = strike(pid, signal_number);

	assert_true(stage_wait_output(&stage, "drive", 1, false, TD_S(2)));
	td_ns low_ns = stage_fall_ns(&stage, "drive", 1) - at_ns;
	td_ns back_ns = wait_back(old, at_ns, 3 * BACK_NS);

	print_message("# measured: %-6s %-12s outputs low after %6.1f ms, back after %5lld ms\n", who,
		      strsignal(signal_number), (double)low_ns / 1e6, (long long)back_ns / 1000000);
	assert_in_range(low_ns, 0, LOW_NS);
	assert_in_range(back_ns, 0, BACK_NS);
	stage_sleep(TD_MS(300));
	assert_false(stage_any_high(&stage)); /* nothing goes on by itself */
}

#define DOWN(who, pid, name, number)                                                                         \
	static void r16_##who##_##name(void **state)                                                         \
	{                                                                                                    \
		(void)state;                                                                                 \
		drive(LEASE_MS);                                                                             \
		goes_down_and_comes_back(#who, pid, number);                                                 \
	}

DOWN(mover, stage.daemon, killed, SIGKILL)
DOWN(mover, stage.daemon, stopped, SIGSTOP)
DOWN(mover, stage.daemon, aborted, SIGABRT)
DOWN(guard, stage_guard(&stage), killed, SIGKILL)
DOWN(guard, stage_guard(&stage), stopped, SIGSTOP)
DOWN(guard, stage_guard(&stage), aborted, SIGABRT)
DOWN(front, stage_front(&stage), killed, SIGKILL)
DOWN(front, stage_front(&stage), stopped, SIGSTOP)
DOWN(front, stage_front(&stage), aborted, SIGABRT)
DOWN(scribe, stage_scribe(&stage), killed, SIGKILL)
DOWN(scribe, stage_scribe(&stage), aborted, SIGABRT)

/* Nothing waits for the disk, so nothing waits for the scribe. */
static void r16_scribe_stopped(void **state)
{
	pid_t scribe;

	(void)state;
	drive(LEASE_MS);
	scribe = stage_scribe(&stage);
	(void)strike(scribe, SIGSTOP);
	stage_sleep(TD_MS(300));
	assert_true(stage_high(&stage, "drive", 1));
	json_decref(stage_call(stage.keeper, "stop", NULL));
	assert_true(stage_wait_output(&stage, "drive", 1, false, TD_S(1)));
	assert_int_equal(kill(scribe, SIGCONT), 0);
	assert_int_equal(main_pid(), stage.daemon);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r16_mover_killed),   cmocka_unit_test(r16_mover_stopped),
		cmocka_unit_test(r16_mover_aborted),  cmocka_unit_test(r16_guard_killed),
		cmocka_unit_test(r16_guard_stopped),  cmocka_unit_test(r16_guard_aborted),
		cmocka_unit_test(r16_front_killed),   cmocka_unit_test(r16_front_stopped),
		cmocka_unit_test(r16_front_aborted),  cmocka_unit_test(r16_scribe_killed),
		cmocka_unit_test(r16_scribe_stopped), cmocka_unit_test(r16_scribe_aborted),
	};

	return cmocka_run_group_tests_name("struck down", tests, set_up, NULL);
}

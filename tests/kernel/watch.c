/* SPDX-License-Identifier: MIT */
#include "tests/kernel/watch.h"

#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { LINES_MAX = 32 };

/* In memory that both processes have. */
struct watch {
	pid_t pid;
	atomic_ulong looks;
	atomic_ulong highs;
};

static void open_all(const struct sim_chip *chip, unsigned lines, int fd[LINES_MAX])
{
	char path[SIM_PATH_MAX + 32];

	for (unsigned line = 0; line < lines; line++) {
		(void)snprintf(path, sizeof(path), "%s/sim_gpio%u/value", chip->pins, line);
		fd[line] = open(path, O_RDONLY | O_CLOEXEC);
		if (fd[line] < 0)
			_exit(1);
	}
}

static bool any_high(const int fd[LINES_MAX], unsigned lines)
{
	bool any = false;

	for (unsigned line = 0; line < lines; line++) {
		char level = '?';

		if (pread(fd[line], &level, 1, 0) != 1)
			_exit(2);
		any = any || level != '0';
	}
	return any;
}

static _Noreturn void look_for_ever(struct watch *watch, const struct sim_chip *chip, unsigned lines)
{
	const struct timespec pause = {.tv_nsec = 2000000};
	int fd[LINES_MAX];

	prctl(PR_SET_PDEATHSIG, SIGKILL);
	open_all(chip, lines, fd);
	for (;;) {
		if (any_high(fd, lines))
			atomic_fetch_add(&watch->highs, 1);
		atomic_fetch_add(&watch->looks, 1);
		nanosleep(&pause, NULL);
	}
}

struct watch *watch_start(const struct sim_chip *chip, unsigned lines)
{
	struct watch *watch =
		mmap(NULL, sizeof(*watch), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

	if (watch == MAP_FAILED || lines > LINES_MAX)
		abort();
	(void)fflush(stdout);
	pid_t pid = fork();

	if (pid == 0)
		look_for_ever(watch, chip, lines);
	if (pid < 0)
		abort();
	watch->pid = pid;
	return watch;
}

unsigned long watch_looks(const struct watch *watch)
{
	return atomic_load(&watch->looks);
}

unsigned long watch_highs(const struct watch *watch)
{
	return atomic_load(&watch->highs);
}

void watch_end(struct watch *watch)
{
	kill(watch->pid, SIGKILL);
	(void)waitpid(watch->pid, NULL, 0);
	munmap(watch, sizeof(*watch));
}

/* SPDX-License-Identifier: MIT */
/* Compiled for the variant "fault" alone; see the Makefile. */
#ifndef TD_TEST_FAULTS
#define TD_TEST_FAULTS
#endif
#include "daemon/test_faults.h"

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static struct td_lines *hearing; /* what the deaf lines stand for */
static uint32_t spoilt;          /* outputs that the core's word is given besides */

static void spin(int signal_number)
{
	(void)signal_number;
	for (;;)
		;
}

static int set(struct td_lines *lines, uint32_t mask, uint32_t levels)
{
	(void)lines;
	return hearing->ops->set(hearing, mask, levels);
}

static int get(struct td_lines *lines, uint32_t *levels)
{
	(void)lines;
	return hearing->ops->get(hearing, levels);
}

static int next_edge(struct td_lines *lines, struct td_lines_edge *edge)
{
	(void)lines;
	(void)edge;
	return 0;
}

static int fds(struct td_lines *lines, int fds[TD_LINES_FDS_MAX])
{
	(void)lines;
	fds[0] = -1;
	return 0;
}

static int beat(struct td_lines *lines, int high)
{
	(void)lines;
	return hearing->ops->beat(hearing, high);
}

static void abandon(struct td_lines *lines)
{
	(void)lines;
	hearing->ops->abandon(hearing);
}

static void close_lines(struct td_lines *lines)
{
	(void)lines;
	hearing->ops->close(hearing);
}

static const struct td_lines_ops deaf_ops = {
	.set = set,
	.get = get,
	.next_edge = next_edge,
	.fds = fds,
	.beat = beat,
	.abandon = abandon,
	.close = close_lines,
};

static struct td_lines *deafen(struct td_lines *lines)
{
	static struct td_lines deaf;

	hearing = lines;
	deaf = *lines;
	deaf.ops = &deaf_ops;
	fprintf(stderr, "<4>tripdogd: TD_TEST_DEAF: no edge is heard\n");
	return &deaf;
}

uint32_t td_test_fault_word(uint32_t outputs)
{
	return outputs != 0 ? outputs | spoilt : 0;
}

struct td_lines *td_test_faults(struct td_lines *lines)
{
	const char *wanted = getenv("TD_TEST_DEAF");
	const char *word = getenv("TD_TEST_WORD");

	signal(SIGUSR1, spin);
	spoilt = word ? (uint32_t)strtoul(word, NULL, 0) : 0;
	return wanted && strcmp(wanted, "1") == 0 ? deafen(lines) : lines;
}

/* --- an ill disk ----------------------------------------------------------------------------------------- */

static const struct td_disk *sound; /* what the ill one stands for */
static long stall_ms;
static bool full;

static void stall(void)
{
	const struct timespec span = {.tv_sec = stall_ms / 1000, .tv_nsec = stall_ms % 1000 * 1000000};

	nanosleep(&span, NULL);
}

static ssize_t ill_write(void *ctx, int fd, const void *bytes, size_t count)
{
	stall();
	if (!full)
		return sound->write(ctx, fd, bytes, count);
	errno = ENOSPC;
	return -1;
}

static int ill_fsync(void *ctx, int fd)
{
	stall();
	return sound->fsync(ctx, fd);
}

const struct td_disk *td_test_fault_disk(const struct td_disk *disk)
{
	static struct td_disk ill;
	const char *milliseconds = getenv("TD_TEST_DISK_STALL");
	const char *none_left = getenv("TD_TEST_DISK_FULL");

	sound = disk;
	stall_ms = milliseconds ? strtol(milliseconds, NULL, 10) : 0;
	full = none_left && strcmp(none_left, "1") == 0;
	ill = *disk;
	ill.write = ill_write;
	ill.fsync = ill_fsync;
	return &ill;
}

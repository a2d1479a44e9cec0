/* SPDX-License-Identifier: MIT */
/* A process that follows, reads at once what it is told, and counts. */
#ifndef TD_TESTS_FOLLOWER_H
#define TD_TESTS_FOLLOWER_H

#include <stdbool.h>
#include <sys/types.h>

struct follower_heard {
	unsigned int trips;
	unsigned int news;
	unsigned int missed; /* numbers of news that were passed over */
	bool dropped;        /* the connection is gone */
};

struct follower {
	pid_t pid;
	void *page;                            /* shared with the process */
	volatile struct follower_heard *heard; /* the process goes on counting there */
};

/* It follows when this returns. */
void follower_start(struct follower *follower, const char *path);

void follower_end(struct follower *follower);

#endif

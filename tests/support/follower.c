/* SPDX-License-Identifier: MIT */
#include "tests/support/follower.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "daemon/client/link.h"

static void take(volatile struct follower_heard *heard, json_t *message, json_int_t *newest)
{
	const char *method = json_string_value(json_object_get(message, "method"));
	json_t *news = json_object_get(message, "params");
	const char *kind = json_string_value(json_object_get(news, "kind"));
	json_int_t number = json_integer_value(json_object_get(news, "n"));

	if (!method || strcmp(method, "news") != 0)
		return;
	if (*newest != 0 && number != *newest + 1)
		heard->missed++;
	*newest = number;
	heard->news++;
	if (kind && strcmp(kind, "trip") == 0)
		heard->trips++;
}

static void be_follower(struct td_link *link, volatile struct follower_heard *heard)
{
	struct td_error err = {.text = ""};
	enum td_link_outcome outcome = TD_LINK_OK;
	json_int_t newest = 0;
	json_t *message = NULL;

	(void)prctl(PR_SET_PDEATHSIG, SIGKILL);
	while (outcome == TD_LINK_OK || outcome == TD_LINK_TIMEOUT) {
		outcome = td_link_next_news(link, TD_S(1), &message, &err);
		if (outcome == TD_LINK_OK)
			take(heard, message, &newest);
		json_decref(message);
	}
	(void)fprintf(stderr, "# the follower: %s\n", err.text);
	heard->dropped = true;
}

void follower_start(struct follower *follower, const char *path)
{
	struct td_error err = {.text = ""};
	struct td_link *link = td_link_open(path, &err);

	follower->page = mmap(NULL, sizeof(*follower->heard), PROT_READ | PROT_WRITE,
			      MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	follower->heard = follower->page;
	if (follower->page == MAP_FAILED || !link ||
	    td_link_call(link, "follow", NULL, TD_S(5), NULL, &err) != TD_LINK_OK)
		fail_msg("no follower: %s", err.text);
	(void)fflush(NULL);
	follower->pid = fork();
	if (follower->pid == 0) {
		be_follower(link, follower->heard);
		_exit(0);
	}
	td_link_close(link);
}

void follower_end(struct follower *follower)
{
	(void)kill(follower->pid, SIGKILL);
	(void)waitpid(follower->pid, NULL, 0);
	(void)munmap(follower->page, sizeof(*follower->heard));
	follower->heard = NULL;
}

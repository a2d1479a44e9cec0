/* SPDX-License-Identifier: MIT */
#include "tests/support/flood.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "daemon/clock.h"
#include "tests/support/flood_client.h"
#include "tests/support/series.h"

enum {
	EVENTS = 64,
	GREET_TRIES = 2000,
	RENEWALS = 10, /* of a hold that is asked for */
};

struct crowd {
	const struct flood_plan *plan;
	struct sockaddr_un address;
	struct flood_client *client;
	int epoll_fd;
	struct series answer_ms;
	struct flood_result result;
};

/* Not one of them is a message that may be obeyed. */
static const char *const garbage[] = {
	"\n",
	"{\n",
	"[1,2,3]\n",
	"{\"jsonrpc\":\"2.0\"}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"request\",\"params\":{\"axis\":\"drive\"},\"id\":1}\n",
	"{\"jsonrpc\":\"1.0\",\"method\":\"stop\",\"id\":1}\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"fly\",\"id\":7}\n",
	"\xff\xfe\xfd garbage\n",
	"[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[\n",
	"{\"jsonrpc\":\"2.0\",\"method\":\"reset\",\"id\":2}\n",
};

/* --- what a client does in its turn; true if it could --------------------------------------------------- */

static bool ask(struct flood_client *client, size_t index)
{
	(void)index;
	return flood_client_call(client, "status", "");
}

static bool request(struct flood_client *client)
{
	char params[256];
	uint32_t number = client->calls;
	const char *token = client->token;

	(void)snprintf(params, sizeof(params),
		       "{\"axis\":\"vent\",\"way\":\"%s\",\"hold\":%u,\"seq\":%u%s%s%s}",
		       number / RENEWALS % 2 ? "open" : "close", number / RENEWALS + 1, number % RENEWALS,
		       token[0] ? ",\"token\":\"" : "", token, token[0] ? "\"" : "");
	return flood_client_call(client, "request", params);
}

static bool call(struct flood_client *client, size_t index)
{
	char params[64];
	uint32_t number = client->calls;

	if (number % 5 == 4)
		return ask(client, index);
	if (number % 5 != 3)
		return request(client);
	(void)snprintf(params, sizeof(params), "{\"axis\":\"vent\",\"hold\":%u}", number / RENEWALS + 1);
	return flood_client_call(client, "release", params);
}

static bool throw(struct flood_client * client, size_t index)
{
	const char *line = garbage[client->calls % (sizeof(garbage) / sizeof(garbage[0]))];

	(void)index;
	client->calls++;
	return flood_client_send(client, line, strlen(line));
}

static bool dribble(struct flood_client *client, size_t index)
{
	static const char half[] = "{\"jsonrpc\":\"2.0\",\"method\":\"status\",\"id\":\"xxxxxxxxxxxxxxxxxxxx";
	const uint32_t last = sizeof(half) - 2;

	if (index % 2 == 0 && client->calls >= last) {
		flood_client_leave(client);
		return true;
	}
	return flood_client_send(client, &half[client->calls < last ? client->calls++ : last], 1);
}

static bool demand(struct flood_client *client, size_t index)
{
	(void)index;
	return flood_client_call(client, client->calls == 0 ? "follow" : "status", "");
}

static bool visit(struct flood_client *client, size_t index)
{
	if (client->calls == 0)
		return ask(client, index);
	flood_client_leave(client);
	return true;
}

static const struct {
	bool (*act)(struct flood_client *client, size_t index);
	const char *greeting; /* NULL: it comes as it can */
	bool hears;
} kinds[] = {
	[FLOOD_ASKS] = {ask, "status", true},   [FLOOD_FOLLOWS] = {ask, "follow", true},
	[FLOOD_CALLS] = {call, "status", true}, [FLOOD_GARBAGE] = {throw, NULL, true},
	[FLOOD_HALVES] = {dribble, NULL, true}, [FLOOD_DEAF] = {demand, NULL, false},
	[FLOOD_VISITS] = {visit, NULL, false},
};

/* --- all of them --------------------------------------------------------------------------------------- */

static bool connected(struct crowd *crowd, size_t index)
{
	struct flood_client *client = &crowd->client[index];
	struct epoll_event event = {.events = EPOLLIN, .data.u64 = index};

	if (client->fd >= 0)
		return true;
	if (!flood_client_connect(client, &crowd->address))
		return false;
	crowd->result.connections++;
	if (kinds[crowd->plan->kind].hears)
		(void)epoll_ctl(crowd->epoll_fd, EPOLL_CTL_ADD, client->fd, &event);
	return true;
}

static bool greet_one(struct crowd *crowd, size_t index)
{
	const struct timespec pause = {.tv_nsec = 5000000};

	for (int i = 0; i < GREET_TRIES && !connected(crowd, index); i++)
		nanosleep(&pause, NULL);
	return flood_client_greet(&crowd->client[index], kinds[crowd->plan->kind].greeting);
}

static bool greet(struct crowd *crowd)
{
	bool all = true;

	for (size_t i = 0; kinds[crowd->plan->kind].greeting && i < crowd->plan->clients; i++)
		all = all && greet_one(crowd, i);
	return all;
}

/* As many turns as are owed by now; what the other end does not take is owed on. */
static void act(struct crowd *crowd, td_ns passed_ns)
{
	const struct flood_plan *plan = crowd->plan;
	uint64_t owed = (uint64_t)((double)passed_ns / 1e9 * plan->per_second);

	for (unsigned int tries = 0; crowd->result.turns < owed && tries < plan->per_second / 50 + 1;
	     tries++) {
		size_t index = (crowd->result.turns + tries) % plan->clients;

		if (connected(crowd, index) && kinds[plan->kind].act(&crowd->client[index], index))
			crowd->result.turns++;
	}
}

/* Waits a millisecond at most. */
static void hear(struct crowd *crowd)
{
	struct epoll_event event[EVENTS];
	double ms[FLOOD_CALLS_LIVE];
	int ready = epoll_wait(crowd->epoll_fd, event, EVENTS, 1);

	for (int i = 0; i < ready; i++) {
		struct flood_heard heard = {.answer_ms = ms};

		flood_client_hear(&crowd->client[event[i].data.u64], &heard);
		crowd->result.lines += heard.lines;
		crowd->result.answers += heard.answers;
		for (unsigned int k = 0; k < heard.answers; k++)
			series_add(&crowd->answer_ms, ms[k]);
	}
}

static void rage(struct crowd *crowd)
{
	static const double share[3] = {0.5, 0.99, 1};
	td_ns begin_ns = td_clock_now();

	for (td_ns now_ns = begin_ns; now_ns - begin_ns < crowd->plan->for_ns; now_ns = td_clock_now()) {
		act(crowd, now_ns - begin_ns);
		hear(crowd);
	}
	crowd->result.seconds = (double)(td_clock_now() - begin_ns) / 1e9;
	for (int i = 0; i < 3; i++)
		crowd->result.answer_ms[i] = series_share(&crowd->answer_ms, share[i]);
}

/* The process: says that it is ready by a byte, waits for one, and says what came of it when it is over. */
static int be_crowd(const struct flood_plan *plan, int go_fd, int fd)
{
	struct crowd crowd = {.plan = plan, .address = {.sun_family = AF_UNIX}};
	char go = 0;

	(void)snprintf(crowd.address.sun_path, sizeof(crowd.address.sun_path), "%s", plan->path);
	crowd.client = calloc(plan->clients, sizeof(*crowd.client));
	crowd.epoll_fd = epoll_create1(EPOLL_CLOEXEC);
	for (size_t i = 0; crowd.client && i < plan->clients; i++)
		crowd.client[i].fd = -1;
	bool ready = crowd.client && greet(&crowd) && write(fd, "+", 1) == 1 && read(go_fd, &go, 1) == 1;

	if (ready)
		rage(&crowd);
	free(crowd.client);
	return ready && write(fd, &crowd.result, sizeof(crowd.result)) == (ssize_t)sizeof(crowd.result) ? 0
													: 1;
}

struct flood flood_start(const struct flood_plan *plan)
{
	struct flood flood;
	char ready = 0;
	int go[2];
	int fd[2];

	if (plan->clients > FLOOD_CLIENTS_MAX || pipe(fd) != 0 || pipe(go) != 0)
		abort();
	fflush(NULL);
	flood.pid = fork();
	flood.go_fd = go[1];
	flood.result_fd = fd[0];
	if (flood.pid == 0) {
		close(go[1]);
		_exit(be_crowd(plan, go[0], fd[1]));
	}
	close(go[0]);
	close(fd[1]);
	if (read(flood.result_fd, &ready, 1) != 1)
		fprintf(stderr, "# the flood did not come up\n");
	return flood;
}

void flood_go(const struct flood *flood)
{
	if (write(flood->go_fd, "+", 1) != 1)
		fprintf(stderr, "# the flood is gone\n");
}

struct flood_result flood_end(struct flood *flood)
{
	struct flood_result result;

	memset(&result, 0, sizeof(result));
	if (read(flood->result_fd, &result, sizeof(result)) != (ssize_t)sizeof(result))
		memset(&result, 0, sizeof(result));
	close(flood->go_fd);
	close(flood->result_fd);
	waitpid(flood->pid, NULL, 0);
	return result;
}

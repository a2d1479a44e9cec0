/* SPDX-License-Identifier: MIT */
#include "tests/support/echo.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <event2/buffer.h>
#include <event2/bufferevent.h>
#include <event2/event.h>
#include <event2/listener.h>

/* The daemon's own (daemon/front/listen.c). */
enum { BACKLOG = 64 };

static void on_read(struct bufferevent *client, void *context)
{
	struct evbuffer *in = bufferevent_get_input(client);
	size_t length = 0;

	(void)context;
	for (char *line = evbuffer_readln(in, &length, EVBUFFER_EOL_LF); line;
	     line = evbuffer_readln(in, &length, EVBUFFER_EOL_LF)) {
		line[length] = '\n'; /* in place of the terminator */
		bufferevent_write(client, line, length + 1);
		free(line);
	}
}

static void on_end(struct bufferevent *client, short what, void *context)
{
	(void)what;
	(void)context;
	bufferevent_free(client);
}

static void on_accept(struct evconnlistener *listener, evutil_socket_t fd, struct sockaddr *from, int size,
		      void *context)
{
	struct bufferevent *client =
		bufferevent_socket_new(evconnlistener_get_base(listener), fd, BEV_OPT_CLOSE_ON_FREE);

	(void)from;
	(void)size;
	(void)context;
	if (!client)
		abort();
	bufferevent_setcb(client, on_read, NULL, on_end, NULL);
	bufferevent_enable(client, EV_READ | EV_WRITE);
}

static int be_echo(const struct sockaddr_un *address, int ready_fd)
{
	struct event_base *base = event_base_new();
	struct evconnlistener *listener =
		evconnlistener_new_bind(base, on_accept, NULL, LEV_OPT_CLOSE_ON_FREE | LEV_OPT_CLOSE_ON_EXEC,
					BACKLOG, (const struct sockaddr *)address, (int)sizeof(*address));

	(void)prctl(PR_SET_PDEATHSIG, SIGKILL);
	(void)signal(SIGPIPE, SIG_IGN);
	if (!listener || write(ready_fd, "+", 1) != 1)
		return 1;
	return event_base_dispatch(base);
}

pid_t echo_start(const char *path)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	char ready = 0;
	int fd[2];

	if (pipe(fd) != 0)
		abort();
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", path);
	(void)fflush(NULL);
	pid_t pid = fork();
	if (pid == 0)
		_exit(be_echo(&address, fd[1]));
	(void)close(fd[1]);
	if (read(fd[0], &ready, 1) != 1)
		(void)fprintf(stderr, "# the echo did not come up\n");
	(void)close(fd[0]);
	return pid;
}

void echo_end(pid_t pid)
{
	(void)kill(pid, SIGKILL);
	(void)waitpid(pid, NULL, 0);
}

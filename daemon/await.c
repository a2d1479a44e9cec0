/* SPDX-License-Identifier: MIT */
#include "daemon/await.h"

#include <errno.h>
#include <poll.h>
#include <stddef.h>
#include <string.h>
#include <sys/inotify.h>
#include <unistd.h>

/* True if one of them is about a device of ours, or if there were more than the kernel keeps. */
static bool take_events(int fd, const char *named)
{
	_Alignas(struct inotify_event) char buffer[4096];
	bool any = false;
	ssize_t got;

	while ((got = read(fd, buffer, sizeof(buffer))) > 0) {
		for (ssize_t at = 0; at < got;) {
			struct inotify_event event;

			memcpy(&event, buffer + at, sizeof(event));
			const char *name = event.len > 0 ? buffer + at + sizeof(event) : "";

			any |= (event.mask & (IN_Q_OVERFLOW | IN_IGNORED)) != 0 ||
			       strncmp(name, named, strlen(named)) == 0;
			at += (ssize_t)(sizeof(event) + event.len);
		}
	}
	return any;
}

static enum td_await wait_for_event(const struct td_await_setup *setup, int fd, struct td_error *err)
{
	struct pollfd poll_fd[] = {{.fd = setup->signal_fd, .events = POLLIN}, {.fd = fd, .events = POLLIN}};

	do {
		if (poll(poll_fd, 2, -1) < 0 && errno != EINTR) {
			(void)td_error_set(err, "cannot wait for devices: %s", strerror(errno));
			return TD_AWAIT_BROKEN;
		}
		if (poll_fd[0].revents != 0)
			return TD_AWAIT_SIGNAL;
	} while (!take_events(fd, setup->named));
	return TD_AWAIT_THERE;
}

static enum td_await look_and_wait(const struct td_await_setup *setup, int fd, struct td_error *err)
{
	struct td_error missing = {""};
	struct td_error said = {""};

	while (setup->absent(setup->context, &missing)) {
		if (strcmp(missing.text, said.text) != 0)
			setup->say(setup->context, missing.text);
		said = missing;
		enum td_await result = wait_for_event(setup, fd, err);

		if (result != TD_AWAIT_THERE)
			return result;
	}
	return TD_AWAIT_THERE;
}

enum td_await td_await(const struct td_await_setup *setup, struct td_error *err)
{
	int fd = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
	int watch = fd < 0 ? -1
			   : inotify_add_watch(fd, setup->dir,
					       IN_CREATE | IN_MOVED_TO | IN_ATTRIB | IN_DELETE | IN_ONLYDIR);
	enum td_await result = TD_AWAIT_BROKEN;

	if (watch < 0)
		(void)td_error_set(err, "cannot watch %s for devices: %s", setup->dir, strerror(errno));
	else
		result = look_and_wait(setup, fd, err);
	if (fd >= 0)
		close(fd);
	return result;
}

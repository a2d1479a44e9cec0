/* SPDX-License-Identifier: MIT */
#include "tests/support/raw_board.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "tests/support/cart.h"

static td_ns now_ns;

static void must(bool good, const char *what)
{
	if (good)
		return;
	(void)fprintf(stderr, "raw board: %s: %s\n", what, strerror(errno));
	abort();
}

td_ns raw_now(void)
{
	return now_ns;
}

void raw_board_open(struct raw_board *raw, struct td_watcher watcher)
{
	struct td_error err = {""};

	memset(raw, 0, sizeof(*raw));
	now_ns = TD_S(1);
	(void)snprintf(raw->directory, sizeof(raw->directory), "/tmp/bench-XXXXXX");
	must(mkdtemp(raw->directory) != NULL, "mkdtemp");
	(void)snprintf(raw->socket, sizeof(raw->socket), "%s/board", raw->directory);
	(void)snprintf(raw->control, sizeof(raw->control), "%s/control", raw->directory);
	raw->config = cart_config();
	raw->model = cart_model();
	struct td_board_setup setup = {.socket = raw->socket,
				       .control = raw->control,
				       .config = &raw->config,
				       .model = &raw->model,
				       .watcher = watcher,
				       .clock = raw_now};
	raw->board = td_board_open(&setup, &err);
	must(raw->board != NULL, err.text);
}

void raw_board_close(struct raw_board *raw)
{
	td_board_close(raw->board);
	must(rmdir(raw->directory) == 0, "the board left something behind");
}

void raw_turn(struct raw_board *raw, td_ns passed_ns)
{
	now_ns += passed_ns;
	(void)td_board_turn(raw->board, 0, -1);
}

void raw_run(struct raw_board *raw, td_ns passed_ns)
{
	td_ns end_ns = now_ns + passed_ns;

	for (td_ns next = td_watch_next(&raw->board->watch); next < end_ns;
	     next = td_watch_next(&raw->board->watch))
		raw_turn(raw, next - now_ns);
	raw_turn(raw, end_ns - now_ns);
}

int raw_connect(const struct raw_board *raw)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0);

	memcpy(address.sun_path, raw->socket, strlen(raw->socket) + 1);
	must(fd >= 0 && connect(fd, (const struct sockaddr *)&address, sizeof(address)) == 0, "connect");
	return fd;
}

void raw_send(int fd, struct td_board_message message)
{
	must(send(fd, &message, sizeof(message), MSG_NOSIGNAL | MSG_DONTWAIT) == sizeof(message), "send");
}

void raw_set(int fd, td_ns at_ns, uint32_t mask, uint32_t levels)
{
	raw_send(fd, (struct td_board_message){.magic = TD_BOARD_MAGIC,
					       .kind = TD_BOARD_SET,
					       .at_ns = at_ns,
					       .as.set = {mask, levels}});
}

void raw_hello(struct raw_board *raw, int fd, uint32_t outputs, uint32_t inputs)
{
	raw_send(fd, (struct td_board_message){.magic = TD_BOARD_MAGIC,
					       .kind = TD_BOARD_HELLO,
					       .as.hello = {TD_BOARD_VERSION, outputs, inputs}});
	raw_turn(raw, 0);
}

int raw_receive(int fd, struct td_board_message *message, int *page_fd)
{
	union {
		struct cmsghdr head;
		char room[CMSG_SPACE(sizeof(int))];
	} control;
	struct iovec part = {.iov_base = message, .iov_len = sizeof(*message)};
	struct msghdr whole = {.msg_iov = &part,
			       .msg_iovlen = 1,
			       .msg_control = page_fd ? &control : NULL,
			       .msg_controllen = page_fd ? sizeof(control) : 0};
	ssize_t got = recvmsg(fd, &whole, MSG_DONTWAIT);

	if (got < 0)
		return errno == EAGAIN ? 0 : -1;
	if (got != sizeof(*message) || message->magic != TD_BOARD_MAGIC)
		return -1;
	if (page_fd) {
		*page_fd = -1;
		if (CMSG_FIRSTHDR(&whole))
			memcpy(page_fd, CMSG_DATA(CMSG_FIRSTHDR(&whole)), sizeof(int));
	}
	return (int)message->kind;
}

int raw_daemon(struct raw_board *raw, uint32_t outputs, uint32_t inputs, struct td_board_page **page)
{
	struct td_board_message message;
	int fd = raw_connect(raw);
	int page_fd = -1;

	raw_turn(raw, 0);
	raw_hello(raw, fd, outputs, inputs);
	must(raw_receive(fd, &message, &page_fd) == TD_BOARD_WELCOME && page_fd >= 0, "no WELCOME");
	if (page) {
		void *mapped = mmap(NULL, sizeof(**page), PROT_READ, MAP_SHARED, page_fd, 0);

		must(mapped != MAP_FAILED, "mmap");
		*page = mapped;
	}
	(void)close(page_fd);
	return fd;
}

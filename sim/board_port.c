/* SPDX-License-Identifier: MIT */
/* The daemon's side of the board: who holds it, what it sets, what it is told. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <unistd.h>

#include "sim/board_parts.h"

/* Messages taken in one turn: a daemon that floods the socket must not stop the clock. */
enum { MESSAGES_A_TURN = 256 };

/* Without a file descriptor for the page (passed_fd < 0) a plain message. False if it did not go out. */
static bool send_message(int fd, struct td_board_message *message, int passed_fd)
{
	union {
		struct cmsghdr head;
		char room[CMSG_SPACE(sizeof(int))];
	} control;
	struct iovec part = {.iov_base = message, .iov_len = sizeof(*message)};
	struct msghdr whole = {.msg_iov = &part, .msg_iovlen = 1};

	message->magic = TD_BOARD_MAGIC;
	if (passed_fd >= 0) {
		memset(&control, 0, sizeof(control));
		whole.msg_control = &control;
		whole.msg_controllen = sizeof(control);
		control.head.cmsg_level = SOL_SOCKET;
		control.head.cmsg_type = SCM_RIGHTS;
		control.head.cmsg_len = CMSG_LEN(sizeof(int));
		memcpy(CMSG_DATA(&control.head), &passed_fd, sizeof(int));
	}
	return sendmsg(fd, &whole, MSG_DONTWAIT | MSG_NOSIGNAL) == (ssize_t)sizeof(*message);
}

/* One message: 1 = taken, 0 = none there, -1 = the peer has gone or sends something else. */
static int receive(int fd, struct td_board_message *message)
{
	ssize_t got = recv(fd, message, sizeof(*message), MSG_DONTWAIT | MSG_TRUNC);

	if (got < 0)
		return errno == EAGAIN || errno == EINTR ? 0 : -1;
	return got == (ssize_t)sizeof(*message) && message->magic == TD_BOARD_MAGIC ? 1 : -1;
}

static void refuse(struct td_board_port *port, int *fd, const char *reason)
{
	struct td_board_message message = {.kind = TD_BOARD_REFUSED};

	(void)snprintf(message.as.reason, sizeof(message.as.reason), "%s", reason);
	(void)send_message(*fd, &message, -1);
	td_board_drop(fd);
	port->refusals++;
}

/* --- the daemon that holds the board ------------------------------------------------------------------ */

static void let_go(struct td_board *board, td_ns now_ns)
{
	td_board_drop(&board->port.daemon_fd);
	board->port.taken_ns = -1;
	board->port.outputs = 0;
	board->port.inputs = 0;
	td_watch_outputs(&board->watch, now_ns, 0);
}

/* A time stamp counts, but never one from the future; one from the past the plant cannot return to counts
 * as its present. */
static void apply(struct td_board *board, const struct td_board_message *message, td_ns now_ns)
{
	uint32_t mask = message->as.set.mask;
	uint32_t word = (board->plant.outputs & ~mask) | (message->as.set.levels & mask);
	td_ns at_ns = td_time_earlier(message->at_ns, now_ns);

	td_watch_outputs(&board->watch, at_ns > board->plant.now_ns ? at_ns : board->plant.now_ns, word);
}

static void serve_daemon(struct td_board *board, td_ns now_ns)
{
	struct td_board_port *port = &board->port;
	struct td_board_message message;

	for (int i = 0; i < MESSAGES_A_TURN && port->daemon_fd >= 0; i++) {
		int got = receive(port->daemon_fd, &message);

		if (got == 0)
			return;
		if (got < 0) {
			let_go(board, now_ns);
		} else if (message.kind != TD_BOARD_SET) {
			refuse(port, &port->daemon_fd, "only SET is understood now");
			let_go(board, now_ns);
		} else if (message.as.set.mask & ~port->outputs) {
			refuse(port, &port->daemon_fd, "SET of a line that was not requested");
			let_go(board, now_ns);
		} else {
			apply(board, &message, now_ns);
		}
	}
}

void td_board_port_level(struct td_board_port *port, td_ns at_ns, uint8_t sw, bool high)
{
	uint32_t bit = UINT32_C(1) << sw;
	struct td_board_message message = {
		.kind = TD_BOARD_EDGE, .at_ns = at_ns, .as.edge = {.sw = sw, .high = high}};

	if (high)
		atomic_fetch_or(&port->page->levels, bit);
	else
		atomic_fetch_and(&port->page->levels, ~bit);
	if (port->daemon_fd < 0 || !(port->inputs & bit))
		return;
	message.as.edge.seq = port->seq++;
	if (!send_message(port->daemon_fd, &message, -1))
		port->edges_dropped++;
}

/* --- callers ------------------------------------------------------------------------------------------ */

/* Why a HELLO cannot be welcomed; NULL if it can. */
static const char *objection(const struct td_board *board, const struct td_board_message *message)
{
	if (message->kind != TD_BOARD_HELLO)
		return "HELLO comes first";
	if (message->as.hello.version != TD_BOARD_VERSION)
		return "another version of the board protocol";
	if (message->as.hello.outputs & ~td_plant_lines(board->plant.model.motors))
		return "the board has fewer outputs";
	if (message->as.hello.inputs & ~td_plant_switch_lines(board->plant.model.switches))
		return "the board has fewer switch lines";
	if (board->port.daemon_fd >= 0)
		return "another daemon holds this board";
	return NULL;
}

static void welcome(struct td_board_port *port, struct td_board_caller *caller,
		    const struct td_board_message *hello, td_ns now_ns)
{
	struct td_board_message answer = {.kind = TD_BOARD_WELCOME};

	if (!send_message(caller->fd, &answer, port->page_fd)) {
		td_board_drop(&caller->fd);
		return;
	}
	port->daemon_fd = caller->fd;
	port->taken_ns = now_ns;
	port->outputs = hello->as.hello.outputs;
	port->inputs = hello->as.hello.inputs;
	port->seq = 1;
	caller->fd = -1;
}

static void serve_caller(struct td_board *board, struct td_board_caller *caller, td_ns now_ns)
{
	struct td_board_message message;
	int got = receive(caller->fd, &message);

	if (got < 0 || (got == 0 && td_time_between(caller->since_ns, now_ns) >= TD_BOARD_HELLO_WITHIN_NS)) {
		td_board_drop(&caller->fd);
		return;
	}
	if (got == 0)
		return;
	const char *reason = objection(board, &message);
	if (reason)
		refuse(&board->port, &caller->fd, reason);
	else
		welcome(&board->port, caller, &message, now_ns);
}

static void take_callers(struct td_board_port *port, td_ns now_ns)
{
	for (int fd = td_board_accept(port->listen_fd); fd >= 0; fd = td_board_accept(port->listen_fd)) {
		struct td_board_caller *place = port->caller;

		while (place < port->caller + TD_BOARD_CALLERS && place->fd >= 0)
			place++;
		if (place < port->caller + TD_BOARD_CALLERS)
			*place = (struct td_board_caller){.fd = fd, .since_ns = now_ns};
		else
			refuse(port, &fd, "too many callers at once");
	}
}

/* --- as a whole --------------------------------------------------------------------------------------- */

void td_board_port_serve(struct td_board *board, td_ns now_ns)
{
	struct td_board_port *port = &board->port;

	serve_daemon(board, now_ns);
	take_callers(port, now_ns);
	for (int i = 0; i < TD_BOARD_CALLERS; i++)
		if (port->caller[i].fd >= 0)
			serve_caller(board, &port->caller[i], now_ns);
}

void td_board_port_polls(const struct td_board_port *port, struct td_board_polls *polls)
{
	td_board_polls_add(polls, port->listen_fd);
	td_board_polls_add(polls, port->daemon_fd);
	for (int i = 0; i < TD_BOARD_CALLERS; i++)
		td_board_polls_add(polls, port->caller[i].fd);
}

td_ns td_board_port_deadline(const struct td_board_port *port)
{
	td_ns deadline = TD_NEVER;

	for (int i = 0; i < TD_BOARD_CALLERS; i++)
		if (port->caller[i].fd >= 0)
			deadline = td_time_earlier(
				deadline, td_time_after(port->caller[i].since_ns, TD_BOARD_HELLO_WITHIN_NS));
	return deadline;
}

/* The page: ours to write, sealed so that it can be neither shrunk nor written through the descriptor
 * that is handed out. */
static int make_page(struct td_board_port *port, struct td_error *err)
{
	int fd = memfd_create("bench-levels", MFD_CLOEXEC | MFD_ALLOW_SEALING);
	char path[64];
	void *page = MAP_FAILED;

	if (fd >= 0 && ftruncate(fd, sizeof(*port->page)) == 0)
		page = mmap(NULL, sizeof(*port->page), PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
	if (page == MAP_FAILED || fcntl(fd, F_ADD_SEALS, F_SEAL_SHRINK | F_SEAL_GROW) < 0) {
		td_board_drop(&fd);
		return td_error_set(err, "no memory for the page of levels: %s", strerror(errno));
	}
	port->page = page;
	port->page->magic = TD_BOARD_MAGIC;
	port->page->version = TD_BOARD_VERSION;
	(void)snprintf(path, sizeof(path), "/proc/self/fd/%d", fd);
	port->page_fd = open(path, O_RDONLY | O_CLOEXEC);
	td_board_drop(&fd);
	if (port->page_fd < 0)
		return td_error_set(err,
				    "the page of levels cannot be opened for reading: %s; is /proc mounted?",
				    strerror(errno));
	return 0;
}

int td_board_port_open(struct td_board *board, struct td_error *err)
{
	struct td_board_port *port = &board->port;

	port->page_fd = port->daemon_fd = port->listen_fd = -1;
	port->taken_ns = -1;
	for (int i = 0; i < TD_BOARD_CALLERS; i++)
		port->caller[i].fd = -1;
	if (make_page(port, err) < 0)
		return -1;
	port->listen_fd = td_board_listen(board->setup.socket, SOCK_SEQPACKET, err);
	return port->listen_fd < 0 ? -1 : 0;
}

void td_board_port_close(struct td_board *board)
{
	struct td_board_port *port = &board->port;

	if (port->listen_fd >= 0)
		(void)unlink(board->setup.socket);
	td_board_drop(&port->listen_fd);
	td_board_drop(&port->daemon_fd);
	td_board_drop(&port->page_fd);
	for (int i = 0; i < TD_BOARD_CALLERS; i++)
		td_board_drop(&port->caller[i].fd);
	if (port->page)
		(void)munmap(port->page, sizeof(*port->page));
	port->page = NULL;
}

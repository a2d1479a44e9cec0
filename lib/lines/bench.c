/* SPDX-License-Identifier: MIT */
/* The bench backend: the daemon's end of lib/lines/board.h. */
#include <assert.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <time.h>
#include <unistd.h>

#include "lines/board.h"
#include "lines/lines.h"

struct bench {
	struct td_lines lines; /* first: the ops get a pointer to it */
	int fd;
	struct td_board_page *page; /* read-only; NULL until WELCOME */
	uint32_t next_seq;
};

enum { WELCOME_WITHIN_MS = 1000 };

static struct bench *bench_of(struct td_lines *lines)
{
	return (struct bench *)(void *)lines;
}

static td_ns monotonic_ns(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_MONOTONIC, &now); /* cannot fail with this clock */
	return TD_S(now.tv_sec) + now.tv_nsec;
}

static int error_of(int number)
{
	switch (number) {
	case EAGAIN:
	case ENOBUFS: return TD_LINES_STUCK;
	case EPIPE:
	case ECONNRESET:
	case ENOTCONN: return TD_LINES_GONE;
	default: return TD_LINES_FAILED;
	}
}

static int send_message(int fd, struct td_board_message *message)
{
	ssize_t sent;

	message->magic = TD_BOARD_MAGIC;
	message->at_ns = monotonic_ns();
	do
		sent = send(fd, message, sizeof(*message), MSG_DONTWAIT | MSG_NOSIGNAL);
	while (sent < 0 && errno == EINTR);
	if (sent < 0)
		return error_of(errno);
	return sent == sizeof(*message) ? 0 : TD_LINES_FAILED;
}

/* --- ops --------------------------------------------------------------------------------------------- */

static int send_set(struct bench *bench, uint32_t mask, uint32_t levels)
{
	struct td_board_message message = {.kind = TD_BOARD_SET, .as.set = {.mask = mask, .levels = levels}};

	return mask ? send_message(bench->fd, &message) : 0;
}

static int bench_set(struct td_lines *lines, uint32_t mask, uint32_t levels)
{
	struct bench *bench = bench_of(lines);

	assert((mask & ~lines->outputs) == 0);
	mask &= lines->outputs;
	int error = send_set(bench, mask & ~levels, 0);
	return error ? error : send_set(bench, mask & levels, levels);
}

/* The page outlives the board; only the socket tells that nobody writes it any more. */
static int board_alive(const struct bench *bench)
{
	struct pollfd end = {.fd = bench->fd};

	if (poll(&end, 1, 0) < 0 && errno != EINTR)
		return TD_LINES_FAILED;
	return (end.revents & (POLLHUP | POLLERR | POLLNVAL)) ? TD_LINES_GONE : 0;
}

static int bench_get(struct td_lines *lines, uint32_t *levels)
{
	struct bench *bench = bench_of(lines);
	int error = board_alive(bench);

	if (error == 0)
		*levels = atomic_load(&bench->page->levels) & lines->inputs;
	return error;
}

static int take_edge(struct bench *bench, const struct td_board_message *message, struct td_lines_edge *edge)
{
	if (message->magic != TD_BOARD_MAGIC || message->kind != TD_BOARD_EDGE || message->as.edge.sw >= 32 ||
	    !(bench->lines.inputs >> message->as.edge.sw & 1U))
		return TD_LINES_FAILED;
	*edge = (struct td_lines_edge){
		.at_ns = message->at_ns,
		.sw = (uint8_t)message->as.edge.sw,
		.high = message->as.edge.high != 0,
		.lost = message->as.edge.seq != bench->next_seq,
	};
	bench->next_seq = message->as.edge.seq + 1;
	return 1;
}

static int bench_next_edge(struct td_lines *lines, struct td_lines_edge *edge)
{
	struct bench *bench = bench_of(lines);
	struct td_board_message message;
	ssize_t got;

	do
		got = recv(bench->fd, &message, sizeof(message), MSG_DONTWAIT | MSG_TRUNC);
	while (got < 0 && errno == EINTR);
	if (got < 0)
		return errno == EAGAIN ? 0 : error_of(errno);
	if (got == 0)
		return TD_LINES_GONE;
	return got == sizeof(message) ? take_edge(bench, &message, edge) : TD_LINES_FAILED;
}

static int bench_fds(struct td_lines *lines, int fds[TD_LINES_FDS_MAX])
{
	fds[0] = bench_of(lines)->fd;
	return 1;
}

static void bench_abandon(struct td_lines *lines)
{
	struct bench *bench = bench_of(lines);

	(void)close(bench->fd);
	if (bench->page)
		(void)munmap(bench->page, sizeof(*bench->page));
	free(bench);
}

static void bench_close(struct td_lines *lines)
{
	/* If it does not arrive, the end of the connection makes the board do the same. */
	(void)lines->ops->set(lines, lines->outputs, 0);
	lines->ops->abandon(lines);
}

static const struct td_lines_ops bench_ops = {
	.set = bench_set,
	.get = bench_get,
	.next_edge = bench_next_edge,
	.fds = bench_fds,
	.abandon = bench_abandon,
	.close = bench_close,
};

/* --- opening ----------------------------------------------------------------------------------------- */

static int connect_to(const char *path, struct td_error *err)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd;

	if (strlen(path) >= sizeof(address.sun_path))
		return td_error_set(err,
				    "board %s: the path is too long for a socket; choose one below %zu bytes",
				    path, sizeof(address.sun_path));
	memcpy(address.sun_path, path, strlen(path) + 1);
	fd = socket(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (fd < 0)
		return td_error_set(err, "board %s: no socket: %s", path, strerror(errno));
	if (connect(fd, (const struct sockaddr *)&address, sizeof(address)) == 0)
		return fd;
	(void)td_error_set(err,
			   "board %s: %s; start one there (tripdog-sim board --socket) or correct the path",
			   path, strerror(errno));
	(void)close(fd);
	return -1;
}

/* A message and the descriptor that may come with it. -1 with errno; else the number of bytes. */
static ssize_t receive(int fd, struct td_board_message *message, int *passed_fd)
{
	union {
		struct cmsghdr head;
		char room[CMSG_SPACE(sizeof(int))];
	} control;
	struct iovec part = {.iov_base = message, .iov_len = sizeof(*message)};
	struct msghdr whole = {.msg_iov = &part,
			       .msg_iovlen = 1,
			       .msg_control = &control,
			       .msg_controllen = sizeof(control)};
	ssize_t got = recvmsg(fd, &whole, MSG_DONTWAIT | MSG_CMSG_CLOEXEC);
	struct cmsghdr *head = got > 0 ? CMSG_FIRSTHDR(&whole) : NULL;

	*passed_fd = -1;
	if (head && head->cmsg_level == SOL_SOCKET && head->cmsg_type == SCM_RIGHTS &&
	    head->cmsg_len == CMSG_LEN(sizeof(int)))
		memcpy(passed_fd, CMSG_DATA(head), sizeof(int));
	return got;
}

/* Waits for the answer to HELLO. */
static int await(int fd, const char *path, struct td_board_message *message, int *passed_fd,
		 struct td_error *err)
{
	td_ns deadline_ns = td_time_after(monotonic_ns(), TD_MS(WELCOME_WITHIN_MS));
	ssize_t got = -1;

	errno = EAGAIN;
	while (got < 0 && (errno == EAGAIN || errno == EINTR)) {
		struct pollfd end = {.fd = fd, .events = POLLIN};
		td_ns left_ns = td_time_between(monotonic_ns(), deadline_ns);

		if (left_ns == 0)
			return td_error_set(err, "board %s: no answer within %d ms; is it a bench board?",
					    path, (int)WELCOME_WITHIN_MS);
		(void)poll(&end, 1, (int)(left_ns / TD_MS(1)) + 1);
		got = receive(fd, message, passed_fd);
	}
	if (got < 0)
		return td_error_set(err, "board %s: %s", path, strerror(errno));
	if (got == 0)
		return td_error_set(err, "board %s: hung up on us; is it a bench board?", path);
	if (got != sizeof(*message) || message->magic != TD_BOARD_MAGIC)
		return td_error_set(err,
				    "board %s: does not speak this version's language; start the board of "
				    "the same build",
				    path);
	return 0;
}

/* A board must not be able to take the page away under our feet. */
static bool page_is_solid(int fd)
{
	struct stat status;
	int seals = fcntl(fd, F_GET_SEALS);

	return seals >= 0 && (seals & F_SEAL_SHRINK) && fstat(fd, &status) == 0 &&
	       status.st_size >= (off_t)sizeof(struct td_board_page);
}

static int map_page(struct bench *bench, int page_fd, const char *path, struct td_error *err)
{
	void *page;

	if (!page_is_solid(page_fd))
		return td_error_set(err,
				    "board %s: came without a proper page of levels; start the board of the "
				    "same build",
				    path);
	page = mmap(NULL, sizeof(struct td_board_page), PROT_READ, MAP_SHARED, page_fd, 0);
	if (page == MAP_FAILED)
		return td_error_set(err, "board %s: its page of levels cannot be mapped: %s", path,
				    strerror(errno));
	bench->page = page;
	if (bench->page->magic != TD_BOARD_MAGIC || bench->page->version != TD_BOARD_VERSION)
		return td_error_set(err,
				    "board %s: its page of levels is of another version; start the board of "
				    "the same build",
				    path);
	return 0;
}

/* HELLO and WELCOME. */
static int greet(struct bench *bench, const char *path, struct td_error *err)
{
	struct td_board_message message = {
		.kind = TD_BOARD_HELLO,
		.as.hello = {TD_BOARD_VERSION, bench->lines.outputs, bench->lines.inputs}};
	int page_fd = -1;
	int result;

	/* A board that refuses may have hung up already; its reason is still there to be read. */
	(void)send_message(bench->fd, &message);
	if (await(bench->fd, path, &message, &page_fd, err) < 0)
		result = -1;
	else if (message.kind == TD_BOARD_REFUSED)
		result = td_error_set(err, "board %s: refused: %.*s", path, (int)sizeof(message.as.reason),
				      message.as.reason);
	else if (message.kind != TD_BOARD_WELCOME)
		result = td_error_set(
			err, "board %s: gave no proper answer; start the board of the same build", path);
	else
		result = map_page(bench, page_fd, path, err);
	if (page_fd >= 0)
		(void)close(page_fd);
	return result;
}

struct td_lines *td_lines_bench_open(const char *path, uint32_t outputs, uint32_t inputs,
				     struct td_error *err)
{
	struct bench *bench = calloc(1, sizeof(*bench));

	if (!bench) {
		(void)td_error_set(err, "board %s: no memory", path);
		return NULL;
	}
	bench->lines = (struct td_lines){.ops = &bench_ops, .outputs = outputs, .inputs = inputs};
	bench->next_seq = 1;
	bench->fd = connect_to(path, err);
	if (bench->fd >= 0 && greet(bench, path, err) == 0)
		return &bench->lines;
	if (bench->fd >= 0)
		bench_abandon(&bench->lines);
	else
		free(bench);
	return NULL;
}

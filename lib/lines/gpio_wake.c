/* SPDX-License-Identifier: MIT */
/*
 * Everything that may wake the mover stands behind one epoll descriptor: edges, the clock of the chips
 * that report none, and the disappearance of a chip. Kernels before 6.6 do not wake a waiting reader
 * when a chip goes away, but its node in /dev vanishes on all of them.
 */
#include <errno.h>
#include <sys/epoll.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include "lines/gpio_board.h"

enum source { SOURCE_EDGES = 1, SOURCE_TIMER, SOURCE_WATCH, SOURCE_MORE };
enum { EVENTS_AT_ONCE = 16 };

int td_gpio_lines_error(int error)
{
	switch (-error) {
	case ENODEV:
	case ENXIO:
	case EBADF: return TD_LINES_GONE;
	case EAGAIN: return TD_LINES_STUCK;
	default: return TD_LINES_FAILED;
	}
}

/* --- set up --------------------------------------------------------------------------------------- */

static int add(struct td_gpio_board *board, int fd, enum source source, unsigned group, unsigned which)
{
	struct epoll_event event = {
		.events = EPOLLIN,
		.data.u64 = (uint64_t)source << 32 | (uint64_t)group << 16 | which,
	};

	return epoll_ctl(board->wake, EPOLL_CTL_ADD, fd, &event) < 0 ? -errno : 0;
}

static int add_edges(struct td_gpio_board *board)
{
	int result = 0;

	for (unsigned i = 0; i < board->input_groups; i++) {
		const struct td_gpio_group *group = board->input[i].group;

		for (unsigned which = 0; result == 0 && which < td_gpio_edge_fds(group); which++)
			result = add(board, td_gpio_edge_fd(group, which), SOURCE_EDGES, i, which);
	}
	return result;
}

static bool any_polled(const struct td_gpio_board *board)
{
	for (unsigned i = 0; i < board->input_groups; i++)
		if (board->input[i].polled)
			return true;
	return false;
}

static int add_timer(struct td_gpio_board *board, td_ns poll_ns)
{
	td_ns every = poll_ns > 0 ? poll_ns : TD_MS(5);
	struct itimerspec spec;

	spec.it_interval = (struct timespec){.tv_sec = every / TD_S(1), .tv_nsec = every % TD_S(1)};
	spec.it_value = spec.it_interval;
	board->timer = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
	if (board->timer < 0 || timerfd_settime(board->timer, 0, &spec, NULL) < 0)
		return -errno;
	return add(board, board->timer, SOURCE_TIMER, 0, 0);
}

static int add_watch(struct td_gpio_board *board)
{
	board->watch = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
	if (board->watch < 0 || inotify_add_watch(board->watch, "/dev", IN_DELETE) < 0)
		return -errno;
	return add(board, board->watch, SOURCE_WATCH, 0, 0);
}

static int add_more(struct td_gpio_board *board)
{
	board->more = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
	return board->more < 0 ? -errno : add(board, board->more, SOURCE_MORE, 0, 0);
}

int td_gpio_wake_open(struct td_gpio_board *board, td_ns poll_ns)
{
	int result;

	board->wake = epoll_create1(EPOLL_CLOEXEC);
	if (board->wake < 0)
		return -errno;
	result = add_edges(board);
	if (result == 0 && any_polled(board))
		result = add_timer(board, poll_ns);
	if (result == 0)
		result = add_watch(board);
	if (result == 0)
		result = add_more(board);
	return result;
}

static void close_fd(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

void td_gpio_wake_close(struct td_gpio_board *board)
{
	close_fd(&board->wake);
	close_fd(&board->timer);
	close_fd(&board->watch);
	close_fd(&board->more);
}

/* --- drain ---------------------------------------------------------------------------------------- */

/* Edges of different lines come from different queues of the kernel: keep them in order of time. */
static void enqueue(struct td_gpio_board *board, struct td_lines_edge edge)
{
	unsigned at = board->tail++;

	for (; at > board->head && board->queue[at - 1].at_ns > edge.at_ns; at--)
		board->queue[at] = board->queue[at - 1];
	board->queue[at] = edge;
}

static bool has_room(struct td_gpio_board *board)
{
	if (board->head == board->tail)
		board->head = board->tail = 0;
	return board->tail + TD_GPIO_BURST <= TD_GPIO_QUEUE;
}

static int drain_edges(struct td_gpio_board *board, unsigned number, unsigned which)
{
	struct td_gpio_held *held = &board->input[number];
	struct td_gpio_edge edges[TD_GPIO_BURST];
	int count;

	if (!has_room(board))
		return 0;
	count = td_gpio_take_edges(held->group, which, edges);
	for (int i = 0; i < count; i++)
		enqueue(board, (struct td_lines_edge){
				       .at_ns = edges[i].at_ns,
				       .sw = held->bit[edges[i].index],
				       .high = edges[i].high,
				       .lost = edges[i].lost,
			       });
	return count < 0 ? count : 0;
}

static td_ns now(void)
{
	struct timespec at;

	clock_gettime(CLOCK_MONOTONIC, &at);
	return TD_S(at.tv_sec) + at.tv_nsec;
}

/* Makes edges of the differences between two readings. */
static int poll_group(struct td_gpio_board *board, struct td_gpio_held *held)
{
	uint32_t levels;
	int result = td_gpio_read(held->group, &levels);

	if (result < 0)
		return result;
	for (unsigned i = 0; i < held->count; i++) {
		if (!((levels ^ held->known) >> i & 1))
			continue;
		enqueue(board,
			(struct td_lines_edge){.at_ns = now(), .sw = held->bit[i], .high = levels >> i & 1});
	}
	held->known = levels;
	return 0;
}

static int drain_timer(struct td_gpio_board *board)
{
	uint64_t expirations;
	int result = 0;

	if (read(board->timer, &expirations, sizeof(expirations)) < 0 && errno != EAGAIN)
		return -errno;
	for (unsigned i = 0; result == 0 && i < board->input_groups; i++)
		if (board->input[i].polled && has_room(board))
			result = poll_group(board, &board->input[i]);
	return result;
}

static int still_there(const struct td_gpio_held *held, unsigned count)
{
	uint32_t levels;
	int result = 0;

	for (unsigned i = 0; result == 0 && i < count; i++)
		result = td_gpio_read(held[i].group, &levels);
	return result;
}

/* Something was removed from /dev; reading the lines tells whether it was one of our chips. */
static int drain_watch(struct td_gpio_board *board)
{
	_Alignas(struct inotify_event) char events[4096];

	while (read(board->watch, events, sizeof(events)) > 0)
		;
	int result = still_there(board->output, board->output_groups);

	return result < 0 ? result : still_there(board->input, board->input_groups);
}

static int drain(struct td_gpio_board *board, const struct epoll_event *event)
{
	enum source source = (enum source)(event->data.u64 >> 32);

	if (event->events & (EPOLLHUP | EPOLLERR))
		return -ENODEV;
	switch (source) {
	case SOURCE_EDGES:
		return drain_edges(board, event->data.u64 >> 16 & 0xffff, event->data.u64 & 0xffff);
	case SOURCE_TIMER: return drain_timer(board);
	case SOURCE_WATCH: return drain_watch(board);
	case SOURCE_MORE: return 0;
	}
	return -EPROTO;
}

int td_gpio_wake_drain(struct td_gpio_board *board)
{
	struct epoll_event events[EVENTS_AT_ONCE];
	int count = epoll_wait(board->wake, events, EVENTS_AT_ONCE, 0);
	int result = 0;

	if (count < 0)
		return errno == EINTR ? 0 : TD_LINES_FAILED;
	for (int i = 0; result == 0 && i < count; i++)
		result = drain(board, &events[i]);
	if (result == 0)
		return 0;
	result = td_gpio_lines_error(result);
	board->gone = board->gone || result == TD_LINES_GONE;
	return result;
}

void td_gpio_wake_more(struct td_gpio_board *board)
{
	bool left = board->head != board->tail;
	eventfd_t ignored;

	if (left == board->left)
		return;
	board->left = left;
	if (left)
		(void)eventfd_write(board->more, 1);
	else
		(void)eventfd_read(board->more, &ignored);
}

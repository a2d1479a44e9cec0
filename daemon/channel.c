/* SPDX-License-Identifier: MIT */
#include "daemon/channel.h"

#include <errno.h>
#include <linux/sockios.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <unistd.h>

/* Room for a burst of notes; the kernel may give less, then notes are dropped and sent anew. */
enum { BUFFER_BYTES = 1 << 20 };

static int make_pair(int *mover_fd, int *front_fd)
{
	int fd[2];
	int bytes = BUFFER_BYTES;

	if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, fd) != 0)
		return -1;
	for (int i = 0; i < 2; i++)
		(void)setsockopt(fd[i], SOL_SOCKET, SO_SNDBUF, &bytes, sizeof(bytes));
	*mover_fd = fd[0];
	*front_fd = fd[1];
	return 0;
}

int td_channel_make(struct td_channel *mover, struct td_channel *front, struct td_error *err)
{
	*mover = *front = (struct td_channel){-1, -1};
	if (make_pair(&mover->orders_fd, &front->orders_fd) == 0 &&
	    make_pair(&mover->urgent_fd, &front->urgent_fd) == 0)
		return 0;
	int why = errno;

	td_channel_close(mover);
	td_channel_close(front);
	return td_error_set(err, "cannot make the socket pair to the front process: %s", strerror(why));
}

static void close_one(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

void td_channel_close(struct td_channel *channel)
{
	close_one(&channel->orders_fd);
	close_one(&channel->urgent_fd);
}

enum td_channel_result td_channel_take_order(int fd, struct td_order *order)
{
	ssize_t size = recv(fd, order, sizeof(*order), MSG_DONTWAIT | MSG_TRUNC);

	if (size < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR))
		return TD_CHANNEL_EMPTY;
	if (size != (ssize_t)sizeof(*order) || order->magic != TD_MSG_MAGIC)
		return TD_CHANNEL_GONE;
	return TD_CHANNEL_DONE;
}

bool td_channel_unread(int fd)
{
	int bytes = 0;

	return ioctl(fd, SIOCOUTQ, &bytes) != 0 || bytes > 0;
}

enum td_channel_result td_channel_send_note(int fd, const struct td_note *note)
{
	ssize_t size = send(fd, note, sizeof(*note), MSG_DONTWAIT | MSG_NOSIGNAL);

	if (size == (ssize_t)sizeof(*note))
		return TD_CHANNEL_DONE;
	if (size < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR || errno == ENOBUFS))
		return TD_CHANNEL_EMPTY;
	return TD_CHANNEL_GONE;
}

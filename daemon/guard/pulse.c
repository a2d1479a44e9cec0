/* SPDX-License-Identifier: MIT */
#include "daemon/guard/pulse.h"

#include <errno.h>
#include <string.h>
#include <sys/socket.h>

/* About twenty messages: a hundred milliseconds of them at the default poll of 5 ms. The kernel doubles the
 * number and charges each message some hundreds of bytes. */
enum { BUFFER_BYTES = 8192 };

int td_pulse_make(int *mover_fd, int *guard_fd, struct td_error *err)
{
	int fd[2];
	int bytes = BUFFER_BYTES;

	if (socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_NONBLOCK | SOCK_CLOEXEC, 0, fd) != 0)
		return td_error_set(err, "cannot make the socket pair to the guard process: %s",
				    strerror(errno));
	(void)setsockopt(fd[0], SOL_SOCKET, SO_SNDBUF, &bytes, sizeof(bytes));
	*mover_fd = fd[0];
	*guard_fd = fd[1];
	return 0;
}

bool td_pulse_send(int fd, uint32_t outputs)
{
	const struct td_pulse pulse = {TD_PULSE_MAGIC, outputs};

	return send(fd, &pulse, sizeof(pulse), MSG_DONTWAIT | MSG_NOSIGNAL) == (ssize_t)sizeof(pulse);
}

enum td_pulse_result td_pulse_take(int fd, uint32_t *outputs)
{
	struct td_pulse pulse;
	ssize_t size = recv(fd, &pulse, sizeof(pulse), MSG_DONTWAIT | MSG_TRUNC);

	if (size < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR))
		return TD_PULSE_NONE;
	if (size != (ssize_t)sizeof(pulse) || pulse.magic != TD_PULSE_MAGIC)
		return TD_PULSE_GONE;
	*outputs = pulse.outputs;
	return TD_PULSE_GOT;
}

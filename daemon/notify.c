/* SPDX-License-Identifier: MIT */
#include "daemon/notify.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* --- the message ------------------------------------------------------------------------------------- */

static void add_bytes(struct td_notify_text *text, const char *bytes, size_t length)
{
	size_t room = sizeof(text->bytes) - text->length;

	if (length > room)
		length = room;
	memcpy(text->bytes + text->length, bytes, length);
	text->length += length;
}

void td_notify_add(struct td_notify_text *text, const char *piece)
{
	add_bytes(text, piece, strlen(piece));
}

void td_notify_add_number(struct td_notify_text *text, uint64_t number)
{
	char digits[20]; /* of 2^64 - 1 */
	size_t at = sizeof(digits);

	do {
		digits[--at] = (char)('0' + number % 10);
		number /= 10;
	} while (number > 0);
	add_bytes(text, digits + at, sizeof(digits) - at);
}

/* A line's end in a sentence would begin another assignment. */
static void add_on_one_line(struct td_notify_text *text, const char *piece)
{
	size_t from = text->length;

	td_notify_add(text, piece);
	for (size_t i = from; i < text->length; i++)
		if (text->bytes[i] == '\n')
			text->bytes[i] = ' ';
}

void td_notify_add_status(struct td_notify_text *text, const char *piece, const char *more)
{
	td_notify_add(text, "STATUS=");
	add_on_one_line(text, piece);
	add_on_one_line(text, more);
	td_notify_add(text, "\n");
}

/* --- the socket -------------------------------------------------------------------------------------- */

/* A path, or behind an @ a name that is in no file system. */
static bool take_address(struct td_notify *notify, const char *name)
{
	size_t length = strlen(name);

	if ((name[0] != '/' && name[0] != '@') || length < 2 || length >= sizeof(notify->to.sun_path))
		return false;
	notify->to.sun_family = AF_UNIX;
	memcpy(notify->to.sun_path, name, length + 1);
	notify->to_size = (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
	if (name[0] == '@')
		notify->to.sun_path[0] = '\0';
	else
		notify->to_size++; /* the terminator */
	return true;
}

static bool number_of(const char *name, uint64_t *number)
{
	const char *text = getenv(name);
	char *end = NULL;

	if (!text || !*text || text[strspn(text, "0123456789")] != '\0')
		return false;
	errno = 0;
	*number = strtoull(text, &end, 10);
	return errno == 0;
}

/* Half of what it bears, as sd_watchdog_enabled(3) advises. */
static td_ns feed_every(void)
{
	uint64_t pid = 0;
	uint64_t usec = 0;

	if (number_of("WATCHDOG_PID", &pid) && pid != (uint64_t)getpid())
		return TD_NEVER;
	if (!number_of("WATCHDOG_USEC", &usec) || usec == 0 || usec > (uint64_t)TD_S(86400) / 1000)
		return TD_NEVER;
	return (td_ns)usec * 1000 / 2;
}

int td_notify_open(struct td_notify *notify, struct td_error *err)
{
	const char *name = getenv("NOTIFY_SOCKET");

	*notify = (struct td_notify){.fd = -1, .feed_every_ns = TD_NEVER};
	if (!name || !*name)
		return 0;
	if (!take_address(notify, name))
		return td_error_set(
			err,
			"NOTIFY_SOCKET is \"%.80s\", which is neither a path nor an @ with a name; the "
			"service manager hears nothing",
			name);
	notify->fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (notify->fd < 0)
		return td_error_set(err, "no socket for the service manager: %s", strerror(errno));
	notify->feed_every_ns = feed_every();
	return 0;
}

bool td_notify_send(const struct td_notify *notify, const struct td_notify_text *text)
{
	ssize_t sent;

	if (notify->fd < 0)
		return true;
	do {
		sent = sendto(notify->fd, text->bytes, text->length, MSG_DONTWAIT | MSG_NOSIGNAL,
			      (const struct sockaddr *)&notify->to, notify->to_size);
	} while (sent < 0 && errno == EINTR);
	return sent == (ssize_t)text->length;
}

void td_notify_status(const struct td_notify *notify, const char *piece, const char *more)
{
	struct td_notify_text text = {0};

	td_notify_add_status(&text, piece, more);
	(void)td_notify_send(notify, &text);
}

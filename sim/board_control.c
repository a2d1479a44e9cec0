/* SPDX-License-Identifier: MIT */
/* The command socket: lines in, one line of JSON out for each. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "sim/board_parts.h"

int td_board_control_open(struct td_board *board, struct td_error *err)
{
	struct td_board_control *control = &board->control;

	control->listen_fd = -1;
	for (int i = 0; i < TD_BOARD_CONTROLS; i++)
		control->client[i].fd = -1;
	if (!board->setup.control)
		return 0;
	control->listen_fd = td_board_listen(board->setup.control, SOCK_STREAM, err);
	return control->listen_fd < 0 ? -1 : 0;
}

void td_board_control_polls(const struct td_board_control *control, struct td_board_polls *polls)
{
	td_board_polls_add(polls, control->listen_fd);
	for (int i = 0; i < TD_BOARD_CONTROLS; i++)
		td_board_polls_add(polls, control->client[i].fd);
}

/* An answer is far smaller than a socket's buffer; a client that does not take its answers is dropped. */
static void answer(struct td_board_client *client, json_t *reply)
{
	char *text = json_dumps(reply, JSON_COMPACT);
	struct iovec parts[] = {{.iov_base = text, .iov_len = text ? strlen(text) : 0},
				{.iov_base = (char[]){'\n'}, .iov_len = 1}};
	struct msghdr whole = {.msg_iov = parts, .msg_iovlen = 2};

	if (!text || sendmsg(client->fd, &whole, MSG_DONTWAIT | MSG_NOSIGNAL) !=
			     (ssize_t)(parts[0].iov_len + parts[1].iov_len))
		td_board_drop(&client->fd);
	free(text);
	json_decref(reply);
}

/* Carries out every whole line that has come in. */
static void take_lines(struct td_board *board, struct td_board_client *client)
{
	char *end;

	while (client->fd >= 0 && (end = memchr(client->line, '\n', client->length))) {
		size_t used = (size_t)(end - client->line) + 1;

		*end = '\0';
		if (end > client->line && end[-1] == '\r')
			end[-1] = '\0';
		answer(client, td_board_command(board, client->line));
		client->length -= used;
		memmove(client->line, client->line + used, client->length);
	}
}

static void serve_client(struct td_board *board, struct td_board_client *client)
{
	ssize_t got = recv(client->fd, client->line + client->length, sizeof(client->line) - client->length,
			   MSG_DONTWAIT);

	if (got < 0 && (errno == EAGAIN || errno == EINTR))
		return;
	if (got <= 0) {
		td_board_drop(&client->fd);
		return;
	}
	client->length += (size_t)got;
	take_lines(board, client);
	if (client->fd >= 0 && client->length == sizeof(client->line)) {
		answer(client, json_pack("{s:b, s:s}", "ok", 0, "error", "the line is too long"));
		td_board_drop(&client->fd);
	}
}

static void take_clients(struct td_board_control *control)
{
	for (int fd = td_board_accept(control->listen_fd); fd >= 0;
	     fd = td_board_accept(control->listen_fd)) {
		struct td_board_client *place = control->client;

		while (place < control->client + TD_BOARD_CONTROLS && place->fd >= 0)
			place++;
		if (place < control->client + TD_BOARD_CONTROLS)
			*place = (struct td_board_client){.fd = fd};
		else
			td_board_drop(&fd);
	}
}

void td_board_control_serve(struct td_board *board)
{
	struct td_board_control *control = &board->control;

	if (control->listen_fd < 0)
		return;
	take_clients(control);
	for (int i = 0; i < TD_BOARD_CONTROLS; i++)
		if (control->client[i].fd >= 0)
			serve_client(board, &control->client[i]);
}

void td_board_control_close(struct td_board *board)
{
	struct td_board_control *control = &board->control;

	if (control->listen_fd < 0)
		return;
	(void)unlink(board->setup.control);
	td_board_drop(&control->listen_fd);
	for (int i = 0; i < TD_BOARD_CONTROLS; i++)
		td_board_drop(&control->client[i].fd);
}

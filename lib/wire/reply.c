/* SPDX-License-Identifier: MIT */
#include "wire/reply.h"

#include <stdlib.h>
#include <string.h>

void td_reply_start(struct td_reply *reply, bool batch)
{
	reply->batch = batch;
	reply->waiting = 0;
	reply->answers = json_array();
}

void td_reply_promise(struct td_reply *reply)
{
	reply->waiting++;
}

static void add(struct td_reply *reply, json_t *id, const char *kind, json_t *body)
{
	json_t *answer = json_pack("{s:s, s:o}", "jsonrpc", "2.0", kind, body);

	json_object_set_new(answer, "id", id ? json_incref(id) : json_null());
	json_array_append_new(reply->answers, answer);
}

void td_reply_result(struct td_reply *reply, json_t *id, json_t *result)
{
	add(reply, id, "result", result);
}

void td_reply_error(struct td_reply *reply, json_t *id, json_t *error)
{
	add(reply, id, "error", error);
}

bool td_reply_keep(struct td_reply *reply)
{
	reply->waiting--;
	return reply->waiting == 0;
}

/* One line: compact output has no newline in it, control characters are escaped. */
static char *line_of(const json_t *value, size_t *length)
{
	size_t size = json_dumpb(value, NULL, 0, JSON_COMPACT);
	char *text = malloc(size + 1);

	if (!text)
		abort();
	json_dumpb(value, text, size, JSON_COMPACT);
	text[size] = '\n';
	*length = size + 1;
	return text;
}

char *td_reply_text(const struct td_reply *reply, size_t *length)
{
	*length = 0;
	if (json_array_size(reply->answers) == 0)
		return NULL;
	return line_of(reply->batch ? reply->answers : json_array_get(reply->answers, 0), length);
}

void td_reply_free(struct td_reply *reply)
{
	json_decref(reply->answers);
	memset(reply, 0, sizeof(*reply));
}

char *td_notification_text(const char *method, json_t *params, size_t *length)
{
	json_t *message = json_pack("{s:s, s:s, s:o}", "jsonrpc", "2.0", "method", method, "params", params);
	char *text = line_of(message, length);

	json_decref(message);
	return text;
}

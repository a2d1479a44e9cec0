/* SPDX-License-Identifier: MIT */
/*
 * Any bytes from the socket: the first one says in what pieces the rest arrives. Lines come out the same however
 * they were cut; every line becomes calls or a fault that can be answered.
 */
#include <string.h>

#include "tests/fuzz/fuzz.h"
#include "wire/line_buffer.h"
#include "wire/message.h"
#include "wire/method.h"
#include "wire/reply.h"

static void check_fault(const struct td_fault *fault)
{
	must(fault->code != TD_CODE_NONE && fault->sentence.text[0] != '\0', "a fault says what is wrong");
	json_t *object = td_fault_object(fault);

	must(object != NULL, "a fault can be answered");
	json_decref(object);
}

static void check_token(const char *token)
{
	const struct td_token now = {.run_ns = 1, .at_ns = TD_S(1)};
	enum td_cause cause = td_token_judge(token, &now);

	must(strlen(token) == TD_TOKEN_CHARS, "a token has its length");
	must(cause == TD_CAUSE_NONE || cause == TD_CAUSE_LATE || cause == TD_CAUSE_FOREIGN_TOKEN,
	     "a token counts, is late or is none");
}

static void check_args(const struct td_method *method, const struct td_args *args)
{
	const int64_t number[] = {args->hold, args->seq, args->lease_ms, args->protocol,
				  args->protocol_least};

	must(method->id < TD_METHODS, "a method is of the table");
	for (size_t i = 0; i < sizeof(number) / sizeof(number[0]); i++)
		must(number[i] >= -1 && number[i] <= UINT32_MAX, "a number fits where it goes");
	must(!args->axis || strlen(args->axis) < TD_NAME_MAX, "an axis is a name");
	if (args->token)
		check_token(args->token);
	must(!args->way || strlen(args->way) < TD_NAME_MAX, "a way is a name");
}

static void take_call(const struct td_message *message, size_t index, struct td_reply *reply)
{
	struct td_call call = {NULL};
	struct td_fault fault = {TD_CODE_NONE};
	struct td_args args;
	const struct td_method *method = NULL;
	bool good = td_message_call(message, index, &call, &fault);

	if (good)
		method = td_method_find(call.method, &fault);
	if (method && td_args_read(method, call.params, &args, &fault)) {
		check_args(method, &args);
		if (call.id)
			td_reply_result(reply, call.id, json_true());
	} else {
		check_fault(&fault);
		if (call.id || !good)
			td_reply_error(reply, call.id, td_fault_object(&fault));
	}
}

static void check_text(const struct td_reply *reply)
{
	size_t length = 0;
	char *text = td_reply_text(reply, &length);

	must(!text || (length > 1 && text[length - 1] == '\n' && !memchr(text, '\n', length - 1)),
	     "an answer is one line");
	free(text);
}

static void take_line(const char *line, size_t length)
{
	struct td_message message = {NULL};
	struct td_fault fault = {TD_CODE_NONE};
	struct td_reply reply;

	if (!td_message_read(line, length, &message, &fault)) {
		must(message.root == NULL, "there is nothing to free");
		check_fault(&fault);
		return;
	}
	must(message.count >= 1 && message.count <= TD_BATCH_MAX, "a batch is of bounded length");
	td_reply_start(&reply, message.batch);
	for (size_t i = 0; i < message.count; i++)
		take_call(&message, i, &reply);
	check_text(&reply);
	td_reply_free(&reply);
	td_message_free(&message);
}

/* What the bytes must be cut into, told the plain way: the next line, or NULL. */
static const char *plain_line(const char **rest, size_t *left, size_t *length)
{
	const char *line = *rest;
	const char *end = memchr(line, '\n', *left);

	if (!end)
		return NULL;
	*length = (size_t)(end - line);
	*left -= *length + 1;
	*rest = end + 1;
	if (*length > 0 && line[*length - 1] == '\r')
		--*length;
	return line;
}

/* To look changes nothing of what comes out. */
static void look(struct td_line_buffer *buffer)
{
	const char *line = NULL;
	size_t length = 0;

	while (td_line_look(buffer, &line, &length))
		must(line >= buffer->bytes && line + length <= buffer->bytes + buffer->to,
		     "a line is in the buffer");
}

/* Lines that are ready; false when the connection has to end. */
static bool drain(struct td_line_buffer *buffer, const char **rest, size_t *left)
{
	const char *line = NULL;
	size_t length = 0;
	size_t expected = 0;
	enum td_line_result result;

	while ((result = td_line_next(buffer, &line, &length)) == TD_LINE_READY) {
		const char *plain = plain_line(rest, left, &expected);

		must(plain && length == expected && memcmp(plain, line, length) == 0,
		     "a line is what stands between two newlines");
		take_line(line, length);
	}
	must(result != TD_LINE_TOO_LONG || *left > TD_LINE_MAX, "only a long line is too long");
	return result == TD_LINE_NONE;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct td_line_buffer buffer;
	size_t piece = count > 0 ? 1U + bytes[0] : 1;
	const char *rest = (const char *)bytes + (count > 0);
	size_t left = count - (count > 0);
	const char *next = rest;
	size_t unsent = left;

	memset(&buffer, 0, sizeof(buffer));
	while (unsent > 0) {
		size_t room = 0;
		char *space = td_line_space(&buffer, &room);

		must(room > 0, "there is room for the next bytes");
		size_t some = unsent < piece ? unsent : piece;

		some = some < room ? some : room;
		memcpy(space, next, some);
		td_line_filled(&buffer, some);
		next += some;
		unsent -= some;
		look(&buffer);
		if (!drain(&buffer, &rest, &left))
			return 0;
	}
	return 0;
}

/* SPDX-License-Identifier: MIT */
#include "wire/message.h"

#include <stdint.h>
#include <string.h>

#include "config/nearest.h"
#include "wire/limits.h"

static const char see_form[] =
	"send {\"jsonrpc\": \"2.0\", \"method\": NAME, \"params\": {...}, \"id\": ID} on one line";

/* Before the parser runs: its own limit is far deeper than anything we ask for. */
static bool too_deep(const char *line, size_t length)
{
	int depth = 0;
	bool quoted = false;

	for (size_t i = 0; i < length; i++) {
		if (quoted && line[i] == '\\')
			i++;
		else if (line[i] == '"')
			quoted = !quoted;
		else if (!quoted && (line[i] == '[' || line[i] == '{'))
			depth++;
		else if (!quoted && (line[i] == ']' || line[i] == '}'))
			depth--;
		if (depth > TD_DEPTH_MAX)
			return true;
	}
	return false;
}

static json_t *parse(const char *line, size_t length, struct td_fault *fault)
{
	json_error_t why;
	json_t *root = NULL;

	if (length > TD_LINE_MAX)
		td_fault_set(fault, TD_CODE_PARSE, "send shorter lines", "the line is longer than %d bytes",
			     TD_LINE_MAX);
	else if (memchr(line, '\0', length)) /* after the text, jansson takes it for the end */
		td_fault_set(fault, TD_CODE_PARSE, see_form, "the line has a NUL byte in it");
	else if (too_deep(line, length))
		td_fault_set(fault, TD_CODE_PARSE, see_form, "the line nests deeper than %d levels",
			     TD_DEPTH_MAX);
	else {
		root = json_loadb(line, length, JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &why);
		if (!root)
			td_fault_set(fault, TD_CODE_PARSE, see_form,
				     "the line is not one JSON text in UTF-8: %s, at byte %d", why.text,
				     why.position);
	}
	return root;
}

static bool batch_fits(const json_t *root, struct td_fault *fault)
{
	size_t count = json_array_size(root);

	if (count == 0)
		return td_fault_set(fault, TD_CODE_INVALID, see_form, "the batch is empty");
	if (count > TD_BATCH_MAX)
		return td_fault_set(fault, TD_CODE_INVALID, "send several lines",
				    "the batch holds %zu calls, more than %d", count, TD_BATCH_MAX);
	return true;
}

bool td_message_read(const char *line, size_t length, struct td_message *message, struct td_fault *fault)
{
	memset(message, 0, sizeof(*message));
	json_t *root = parse(line, length, fault);

	if (!root)
		return false;
	if (json_is_array(root) && !batch_fits(root, fault)) {
		json_decref(root);
		return false;
	}
	message->root = root;
	message->batch = json_is_array(root);
	message->count = message->batch ? json_array_size(root) : 1;
	return true;
}

void td_message_free(struct td_message *message)
{
	json_decref(message->root);
	memset(message, 0, sizeof(*message));
}

static bool id_fits(const json_t *id)
{
	if (json_is_integer(id))
		return json_integer_value(id) >= -TD_WHOLE_MAX && json_integer_value(id) <= TD_WHOLE_MAX;
	return json_is_string(id) || json_is_null(id);
}

/* Misspelt members must not pass: a "parms" would turn "stop this axis" into something else. */
static bool members_known(json_t *object, struct td_fault *fault)
{
	static const char *const known[] = {"jsonrpc", "method", "params", "id"};
	enum { KNOWN = sizeof(known) / sizeof(known[0]) };
	const char *name;
	json_t *value;

	json_object_foreach(object, name, value)
	{
		struct td_nearest near = td_nearest_to(name);

		for (unsigned int i = 0; i < KNOWN; i++)
			td_nearest_offer(&near, known[i]);
		if (near.best && near.distance == 0)
			continue;
		return td_fault_set(fault, TD_CODE_INVALID, see_form, "a call has no member \"%.40s\"%s%s%s",
				    name, near.best ? "; did you mean \"" : "", near.best ? near.best : "",
				    near.best ? "\"?" : "");
	}
	return true;
}

static bool version_fits(json_t *object, struct td_fault *fault)
{
	const char *version = json_string_value(json_object_get(object, "jsonrpc"));

	if (!version || strcmp(version, "2.0") != 0)
		return td_fault_set(fault, TD_CODE_INVALID, see_form,
				    "the member \"jsonrpc\" must be the string \"2.0\"");
	return true;
}

static bool parts_fit(json_t *object, struct td_call *call, struct td_fault *fault)
{
	call->method = json_string_value(json_object_get(object, "method"));
	call->params = json_object_get(object, "params");
	if (!call->method)
		return td_fault_set(fault, TD_CODE_INVALID, see_form,
				    "the member \"method\" must be a string");
	if (call->params && !json_is_object(call->params) && !json_is_array(call->params))
		return td_fault_set(fault, TD_CODE_INVALID, see_form,
				    "the member \"params\" must be an object");
	return true;
}

bool td_message_call(const struct td_message *message, size_t index, struct td_call *call,
		     struct td_fault *fault)
{
	json_t *object = message->batch ? json_array_get(message->root, index) : message->root;
	json_t *id = json_object_get(object, "id");

	memset(call, 0, sizeof(*call));
	if (!json_is_object(object))
		return td_fault_set(fault, TD_CODE_INVALID, see_form, "a call must be a JSON object");
	if (id && !id_fits(id))
		return td_fault_set(
			fault, TD_CODE_INVALID, see_form,
			"the member \"id\" must be a string, a whole number of at most 53 bits, or null");
	call->id = id;
	return version_fits(object, fault) && members_known(object, fault) && parts_fit(object, call, fault);
}

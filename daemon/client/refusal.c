/* SPDX-License-Identifier: MIT */
#include "daemon/client/refusal.h"

#include <string.h>

enum td_cause td_cause_named(const char *name)
{
	const struct td_cause_info *info = NULL;

	for (unsigned int i = 0; name && (info = td_cause_at(i)) != NULL; i++)
		if (strcmp(info->name, name) == 0)
			return info->cause;
	return TD_CAUSE_NONE;
}

/* More than a day is no wait that anybody is told. */
static td_ns wait_of(const json_t *data)
{
	json_int_t wait_ms = json_integer_value(json_object_get(data, "wait_ms"));

	return wait_ms > 0 && wait_ms <= 86400000 ? TD_MS(wait_ms) : 0;
}

static const char *text_of(const json_t *object, const char *key, const char *otherwise)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : otherwise;
}

struct td_refusal td_refusal_read(const json_t *error)
{
	const json_t *data = json_object_get(error, "data");

	return (struct td_refusal){
		.code = json_integer_value(json_object_get(error, "code")),
		.cause = td_cause_named(json_string_value(json_object_get(data, "cause"))),
		.rule = text_of(data, "rule", ""),
		.sentence = text_of(data, "sentence", text_of(error, "message", "refused without a reason")),
		.remedy = text_of(data, "remedy", ""),
		.wait_ns = wait_of(data),
	};
}

/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <string.h>

#include "core/cause.h"
#include "tests/support/rig_news.h"

void rig_happen(const struct rig *rig, enum td_cause cause, int times)
{
	struct td_note note = rig_news_note(cause, RIG_BOOM, RIG_RAISE, 0, 0);

	for (int i = 0; i < times; i++)
		rig_note(rig, &note);
}

json_t *rig_params(const json_t *line)
{
	return json_object_get(line, "params");
}

bool rig_is(const json_t *line, const char *method)
{
	const char *name = json_string_value(json_object_get(line, "method"));

	return name && strcmp(name, method) == 0;
}

int64_t rig_number(const json_t *object, const char *key)
{
	return json_integer_value(json_object_get(object, key));
}

json_t *rig_follow(struct rig_client *client, const char *params)
{
	json_t *answer = rig_call(client, "follow", params, 1);
	json_t *events = json_incref(json_object_get(json_object_get(answer, "result"), "events"));

	assert_non_null(events);
	json_decref(answer);
	return events;
}

void rig_expect_news(struct rig_client *client, int64_t n, enum td_cause cause, int64_t missed)
{
	json_t *line = rig_receive(client);

	while (!rig_is(line, "news")) {
		json_decref(line);
		line = rig_receive(client);
	}
	assert_int_equal(rig_number(rig_params(line), "n"), n);
	assert_int_equal(rig_number(rig_params(line), "missed"), missed);
	assert_int_equal(json_object_get(rig_params(line), "missed") != NULL, missed != 0);
	assert_string_equal(json_string_value(json_object_get(rig_params(line), "cause")),
			    td_cause_info(cause)->name);
	json_decref(line);
}

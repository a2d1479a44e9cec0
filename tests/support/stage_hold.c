/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "daemon/clock.h"
#include "tests/support/stage.h"
#include "wire/limits.h"

static const char *outcome_of(json_t *answer)
{
	static char word[64];
	json_t *text = json_object_get(answer, "result");

	if (!text)
		text = json_object_get(json_object_get(answer, "data"), "cause");
	snprintf(word, sizeof(word), "%s", text ? json_string_value(text) : "?");
	json_decref(answer);
	return word;
}

const char *stage_request(struct td_link *link, const char *axis, const char *way, int hold, int seq,
			  int lease_ms)
{
	json_decref(stage_call(link, "hello", json_pack("{s:i}", "protocol", (int)TD_PROTOCOL)));
	return outcome_of(
		stage_call(link, "request",
			   json_pack("{s:s, s:s, s:i, s:i, s:i, s:s}", "axis", axis, "way", way, "hold", hold,
				     "seq", seq, "lease_ms", lease_ms, "token", td_link_token(link))));
}

/* A stop or trip of this axis among the news that are waiting; NULL if there is none. */
static const char *ended(struct td_link *link, const char *axis)
{
	static char cause[64];
	json_t *news = NULL;

	while (td_link_next_news(link, 0, &news, NULL) == TD_LINK_OK) {
		json_t *params = json_object_get(news, "params");
		const char *kind = json_string_value(json_object_get(params, "kind"));
		const char *name = json_string_value(json_object_get(params, "axis"));
		bool end = kind && name && strcmp(name, axis) == 0 &&
			   (strcmp(kind, "stop") == 0 || strcmp(kind, "trip") == 0);

		if (end)
			snprintf(cause, sizeof(cause), "%s",
				 json_string_value(json_object_get(params, "cause")));
		json_decref(news);
		if (end)
			return cause;
	}
	return NULL;
}

const char *stage_hold(struct td_link *link, const char *axis, const char *way, int hold, td_ns for_ns)
{
	static char refused[64];
	td_ns until_ns = td_clock_now() + for_ns;

	json_decref(stage_call(link, "follow", NULL));
	(void)ended(link, axis); /* what is waiting is of former holds */
	for (int seq = 0; td_clock_now() < until_ns; seq++) {
		snprintf(refused, sizeof(refused), "%s", stage_request(link, axis, way, hold, seq, 300));
		bool held = strcmp(refused, "started") == 0 || strcmp(refused, "queued") == 0 ||
			    strcmp(refused, "renewed") == 0;
		const char *cause = ended(link, axis);

		if (cause)
			return cause;
		if (!held && seq == 0)
			return refused;
		stage_sleep(TD_MS(50));
	}
	json_decref(stage_call(link, "release", json_pack("{s:s, s:i}", "axis", axis, "hold", hold)));
	return "still-held";
}

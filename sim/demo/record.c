/* SPDX-License-Identifier: MIT */
#include "sim/demo/record.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void td_record_begin(struct td_record *record, const struct td_config *config)
{
	*record = (struct td_record){.config = config};
}

void td_record_free(struct td_record *record)
{
	free(record->change);
	free(record->news);
	free(record->state);
	*record = (struct td_record){.config = record->config};
}

/* Room for one more item: doubles at powers of two. Without memory a demonstration cannot go on. */
static void *grown(void *items, size_t count, size_t size)
{
	if ((count & (count - 1)) != 0)
		return items;
	void *more = realloc(items, (count == 0 ? 1 : count * 2) * size);

	if (!more) {
		fputs("tripdog-sim: no memory\n", stderr);
		exit(1);
	}
	return more;
}

void td_record_change(void *ctx, const struct td_change *change)
{
	struct td_record *record = ctx;

	record->change = grown(record->change, record->changes, sizeof(*record->change));
	record->change[record->changes] = *change;
	record->change[record->changes++].text = NULL;
}

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "";
}

static enum td_cause cause_named(const char *name)
{
	const struct td_cause_info *info;

	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++)
		if (strcmp(info->name, name) == 0)
			return info->cause;
	return TD_CAUSE_NONE;
}

static const struct td_record_news *keep_news(struct td_record *record, const json_t *params)
{
	uint8_t axis = td_config_axis(record->config, text_of(params, "axis"));

	record->news = grown(record->news, record->newses, sizeof(*record->news));
	struct td_record_news *news = &record->news[record->newses++];

	*news = (struct td_record_news){
		.at_ns = json_integer_value(json_object_get(params, "at_ns")),
		.cause = cause_named(text_of(params, "cause")),
		.axis = axis,
		.way = axis == TD_NO_AXIS ? TD_NO_WAY
					  : td_config_way(record->config, axis, text_of(params, "way")),
		.sw = td_config_switch(record->config, text_of(params, "switch")),
	};
	return news;
}

static void keep_state(struct td_record *record, const json_t *params)
{
	record->state = grown(record->state, record->states, sizeof(*record->state));
	struct td_record_state *state = &record->state[record->states++];

	state->at_ns = json_integer_value(json_object_get(params, "at_ns"));
	state->axis = td_config_axis(record->config, text_of(params, "name"));
	snprintf(state->state, sizeof(state->state), "%s", text_of(params, "state"));
}

const struct td_record_news *td_record_notification(struct td_record *record, json_t *notification)
{
	const char *method = text_of(notification, "method");
	const json_t *params = json_object_get(notification, "params");

	if (strcmp(method, "news") == 0)
		return keep_news(record, params);
	if (strcmp(method, "axis") == 0)
		keep_state(record, params);
	return NULL;
}

bool td_record_has(const struct td_record *record, enum td_cause cause)
{
	for (size_t i = 0; i < record->newses; i++)
		if (record->news[i].cause == cause)
			return true;
	return false;
}

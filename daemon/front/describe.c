/* SPDX-License-Identifier: MIT */
#include "daemon/cautions.h"
#include "daemon/front/mirror.h"
#include "daemon/front/session.h"
#include "wire/limits.h"
#include "wire/method.h"

static json_t *way_object(const struct td_config *config, uint8_t axis, uint8_t way)
{
	uint8_t sw = config->rules.axis[axis].way[way].end_switch;

	return json_pack("{s:s, s:o}", "name", config->axis[axis].way_name[way], "end_switch",
			 sw < config->switches ? json_string(config->sw[sw].name) : json_null());
}

static json_t *axis_list(const struct td_config *config)
{
	json_t *list = json_array();

	for (uint8_t axis = 0; axis < config->axes; axis++)
		json_array_append_new(list, json_pack("{s:s, s:[o, o], s:b}", "name", config->axis[axis].name,
						      "ways", way_object(config, axis, 0),
						      way_object(config, axis, 1), "loud",
						      config->axis[axis].loud));
	return list;
}

static json_t *switch_list(const struct td_config *config)
{
	json_t *list = json_array();

	for (uint8_t i = 0; i < config->switches; i++)
		json_array_append_new(list, json_pack("{s:s, s:s}", "name", config->sw[i].name, "contact",
						      config->rules.sw[i].contact == TD_CONTACT_NO
							      ? "normally-open"
							      : "normally-closed"));
	return list;
}

static json_t *way_of(const struct td_config *config, uint8_t axis, uint8_t way)
{
	return json_pack("{s:s, s:s}", "axis", config->axis[axis].name, "way",
			 config->axis[axis].way_name[way]);
}

/* null where no turns are counted. Which way is ahead follows from where left turns count as such. */
static json_t *twist_object(const struct td_config *config)
{
	const struct td_cable_rules *cable = &config->rules.cable;
	uint8_t ahead = cable->twist.rate_ppm_s[1][TD_TWIST_LEFT] > 0 ? 1 : 0;

	if (cable->twist.source == TD_TWIST_UNLIMITED)
		return json_null();
	return json_pack("{s:s, s:I, s:o, s:o}", "source",
			 cable->twist.source == TD_TWIST_SENSOR ? "sensor" : "estimate", "limit_degrees",
			 td_degrees(cable->twist.limit_uturn), "ahead", way_of(config, cable->drive, ahead),
			 "left", way_of(config, cable->steering, cable->left));
}

static json_t *caution_list(void)
{
	static const char *const cautions[] = {
#define TD_X(words) words,
		TD_CAUTION_TABLE(TD_X)
#undef TD_X
	};
	json_t *list = json_array();

	for (size_t i = 0; i < sizeof(cautions) / sizeof(cautions[0]); i++)
		json_array_append_new(list, json_string(cautions[i]));
	return list;
}

static json_t *lease_object(const struct td_config *config)
{
	return json_pack("{s:I, s:I, s:I}", "default_ms", (json_int_t)(config->lease_ns / TD_MS(1)), "min_ms",
			 (json_int_t)(TD_LEASE_MIN_NS / TD_MS(1)), "max_ms",
			 (json_int_t)(TD_LEASE_MAX_NS / TD_MS(1)));
}

/* A keeper's lines are not counted: null. */
static json_t *lines_limit(const struct td_described *to, int limit)
{
	return to->role == TD_ROLE_KEEPER ? json_null() : json_integer(limit);
}

static json_t *limits_object(const struct td_config *config, const struct td_described *to)
{
	return json_pack("{s:i, s:i, s:i, s:i, s:i, s:i, s:i, s:o, s:o, s:i}", "line_bytes", (int)TD_LINE_MAX,
			 "depth", (int)TD_DEPTH_MAX, "batch", (int)TD_BATCH_MAX, "connections",
			 (int)to->connections, "unanswered", (int)TD_UNANSWERED_MAX, "behind_bytes",
			 (int)TD_BACKLOG_MAX, "token_ms", (int)(TD_TOKEN_AGE_MAX_NS / TD_MS(1)),
			 "lines_per_s", lines_limit(to, TD_VISITOR_LINES_PER_S), "lines_at_once",
			 lines_limit(to, TD_VISITOR_BURST), "visitor_resets_per_hour",
			 config->rules.visitor_resets);
}

json_t *td_hello(const struct td_config *config, const struct td_described *to)
{
	return json_pack("{s:i, s:s, s:s, s:s, s:o, s:o}", "protocol", (int)TD_PROTOCOL, "version",
			 TD_VERSION, "machine", config->machine, "role", td_role_name(to->role), "lease",
			 lease_object(config), "limits", limits_object(config, to));
}

json_t *td_describe(const struct td_config *config, const struct td_described *to)
{
	json_t *description = td_hello(config, to);

	json_object_set_new(description, "axes", axis_list(config));
	json_object_set_new(description, "switches", switch_list(config));
	json_object_set_new(description, "twist", twist_object(config));
	json_object_set_new(description, "methods", td_methods_object());
	json_object_set_new(description, "cautions", caution_list());
	if (to->role == TD_ROLE_KEEPER)
		json_object_set_new(description, "traces",
				    json_sprintf("%s/" TD_TRACES_DIR, config->state_dir));
	return description;
}

json_t *td_tally_object(const struct td_tally *tally)
{
	return json_pack("{s:I, s:I, s:I, s:I}", "lost", (json_int_t)atomic_load(&tally->lost), "unwritten",
			 (json_int_t)atomic_load(&tally->unwritten), "trips",
			 (json_int_t)atomic_load(&tally->trips), "bytes_today",
			 (json_int_t)atomic_load(&tally->bytes_today));
}

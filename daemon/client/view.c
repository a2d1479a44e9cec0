/* SPDX-License-Identifier: MIT */
#include "daemon/client/view.h"

#include <string.h>

#include "core/cause.h"
#include "daemon/client/refusal.h"

static const char *text_or(const json_t *object, const char *key, const char *otherwise)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : otherwise;
}

/* --- reasons ---------------------------------------------------------------------------------------- */

struct td_view_reason td_view_reason_read(const json_t *reason)
{
	const char *name = json_is_string(reason) ? json_string_value(reason) : text_or(reason, "cause", "");
	const struct td_cause_info *info = td_cause_info(td_cause_named(name));
	/* A name this program does not know is shown as it is. */
	bool known = info->cause != TD_CAUSE_NONE;

	return (struct td_view_reason){
		.cause = name,
		.rule = text_or(reason, "rule", known ? info->rule : ""),
		.sentence = text_or(reason, "sentence", known ? info->sentence : name),
		.remedy = text_or(reason, "remedy", known ? info->remedy : ""),
	};
}

/* --- axes ------------------------------------------------------------------------------------------- */

static int read_way(const json_t *axis, struct td_view_axis *view)
{
	const json_t *way = json_object_get(axis, "way");

	view->way = TD_NO_WAY;
	if (!way || json_is_null(way))
		return 0;
	for (int i = 0; i < TD_WAYS; i++)
		if (json_is_string(way) && strcmp(json_string_value(way), view->way_name[i]) == 0)
			view->way = (uint8_t)i;
	return view->way == TD_NO_WAY ? -1 : 0;
}

static int read_position(const json_t *axis, struct td_view_axis *view)
{
	const json_t *position = json_object_get(axis, "position_ppm");
	json_int_t ppm = json_integer_value(position);

	view->position_ppm = -1;
	if (!position || json_is_null(position))
		return 0;
	if (!json_is_integer(position) || ppm < 0 || ppm > 1000000)
		return -1;
	view->position_ppm = (int32_t)ppm;
	return 0;
}

/* Not there: an older daemon, which locks no way. */
static int read_locks(json_t *axis, struct td_view_axis *view)
{
	int locked[TD_WAYS] = {0};

	if (json_unpack(axis, "{s?[b,b]}", "locked", &locked[0], &locked[1]) != 0)
		return -1;
	for (int i = 0; i < TD_WAYS; i++)
		view->locked[i] = locked[i] != 0;
	return 0;
}

/* Both members may be missing; a share that is no number is as good as none. */
static void read_trend(const json_t *axis, struct td_view_axis *view)
{
	for (size_t i = 0; i < TD_WAYS; i++) {
		const json_t *share = json_array_get(json_object_get(axis, "slower_ppm"), i);
		json_int_t ppm = json_integer_value(share);

		view->slower[i] = json_is_true(json_array_get(json_object_get(axis, "slower"), i));
		view->slower_ppm[i] = TD_NO_TREND;
		if (json_is_integer(share) && ppm > INT32_MIN && ppm <= INT32_MAX)
			view->slower_ppm[i] = (int32_t)ppm;
	}
}

static int read_axis(json_t *axis, struct td_view_axis *view)
{
	json_int_t lease = 0;
	json_int_t wait = 0;
	int moving = 0;
	int at_end[TD_WAYS] = {0};

	if (json_unpack(axis, "{s:s, s:[s,s], s:s, s:b, s:[b,b], s?I, s?I}", "name", &view->name, "ways",
			&view->way_name[0], &view->way_name[1], "state", &view->state, "moving", &moving,
			"at_end", &at_end[0], &at_end[1], "lease_left_ms", &lease, "wait_left_ms",
			&wait) != 0)
		return -1;
	view->moving = moving != 0;
	for (int i = 0; i < TD_WAYS; i++) {
		view->at_end[i] = at_end[i] != 0;
		view->fitted[i] = true;
	}
	view->lease_left_ms = lease;
	view->wait_left_ms = wait;
	view->trip = td_view_reason_read(json_object_get(axis, "trip"));
	view->visitor_resets =
		strcmp(text_or(json_object_get(axis, "trip"), "reset_by", "keeper"), "visitor") == 0;
	read_trend(axis, view);
	if (read_locks(axis, view) != 0 || read_position(axis, view) != 0)
		return -1;
	return read_way(axis, view);
}

static int read_axes(const json_t *axes, struct td_view *view)
{
	view->axes = json_array_size(axes);
	if (!json_is_array(axes) || view->axes > TD_AXES_MAX)
		return -1;
	for (size_t i = 0; i < view->axes; i++)
		if (read_axis(json_array_get(axes, i), &view->axis[i]) != 0)
			return -1;
	return 0;
}

/* --- the rest of the machine ------------------------------------------------------------------------ */

static int read_switches(const json_t *switches, struct td_view *view)
{
	view->switches = json_array_size(switches);
	if (!json_is_array(switches) || view->switches > TD_SWITCHES_MAX)
		return -1;
	for (size_t i = 0; i < view->switches; i++) {
		int active = 0;
		int chatters = 0;

		if (json_unpack(json_array_get(switches, i), "{s:s, s:b, s?b}", "name", &view->sw[i].name,
				"active", &active, "chatters", &chatters) != 0)
			return -1;
		view->sw[i].chatters = chatters != 0;
		view->sw[i].active = active != 0;
	}
	return 0;
}

/* Not there, or null: nothing is counted. */
static int read_twist(json_t *twist, struct td_view_twist *view)
{
	json_int_t net = 0;
	json_int_t doubt = 0;
	json_int_t limit = 0;
	const json_t *blocked = json_object_get(twist, "blocked");

	if (!twist || json_is_null(twist))
		return 0;
	view->blocks = json_array_size(blocked);
	if (json_unpack(twist, "{s:I, s:I, s:I}", "net_degrees", &net, "doubt_degrees", &doubt,
			"limit_degrees", &limit) != 0 ||
	    limit < 0 || view->blocks > TD_WAYS)
		return -1;
	for (size_t i = 0; i < view->blocks; i++) {
		view->blocked[i] = json_string_value(json_array_get(blocked, i));
		if (!view->blocked[i])
			return -1;
	}
	view->counted = true;
	view->net_degrees = net;
	view->doubt_degrees = doubt;
	view->limit_degrees = limit;
	return 0;
}

/* Not there: none. */
static int read_sentences(const json_t *list, struct td_view_sentences *sentences)
{
	size_t i = 0;
	const json_t *entry = NULL;

	if (list && !json_is_array(list))
		return -1;
	json_array_foreach(list, i, entry)
	{
		if (!json_is_string(entry))
			return -1;
		if (sentences->count < TD_ARMING_MAX)
			sentences->text[sentences->count++] = json_string_value(entry);
	}
	return 0;
}

static int read_latch(const json_t *latch, struct td_view *view)
{
	view->latches = json_array_size(latch);
	if (!json_is_array(latch) || view->latches > TD_VIEW_LATCHES_MAX)
		return -1;
	for (size_t i = 0; i < view->latches; i++)
		view->latch[i] = td_view_reason_read(json_array_get(latch, i));
	return 0;
}

static const json_t *named(const json_t *array, const char *name)
{
	size_t i = 0;
	const json_t *entry = NULL;

	json_array_foreach(array, i, entry)
	{
		if (strcmp(text_or(entry, "name", ""), name) == 0)
			return entry;
	}
	return NULL;
}

/* describe lists each axis with its ways: {"name": "boom", "ways": [{"name": "lower", "end_switch": "boom_bottom"}, ...]} */
static void add_description(const json_t *describe, struct td_view *view)
{
	view->machine = text_or(describe, "machine", view->machine);
	for (size_t i = 0; i < view->axes; i++) {
		const json_t *ways =
			json_object_get(named(json_object_get(describe, "axes"), view->axis[i].name), "ways");

		for (size_t way = 0; way < json_array_size(ways) && way < TD_WAYS; way++)
			view->axis[i].fitted[way] =
				!json_is_null(json_object_get(json_array_get(ways, way), "end_switch"));
	}
}

int td_view_read(const json_t *status, const json_t *describe, struct td_view *view, struct td_error *err)
{
	const json_t *armed = json_object_get(status, "armed");

	*view = (struct td_view){.machine = text_or(status, "machine", ""), .armed = json_is_true(armed)};
	view->turn = td_turn_view_read(json_object_get(status, "turn"));
	view->config_refused = json_is_true(json_object_get(status, "config_refused"));
	view->quiet = json_is_true(json_object_get(status, "quiet"));
	if (!json_is_boolean(armed) ||
	    read_sentences(json_object_get(status, "why_not"), &view->why_not) != 0 ||
	    read_sentences(json_object_get(status, "accepted"), &view->accepted) != 0 ||
	    read_latch(json_object_get(status, "latch"), view) != 0 ||
	    read_axes(json_object_get(status, "axes"), view) != 0 ||
	    read_twist(json_object_get(status, "twist"), &view->twist) != 0 ||
	    read_switches(json_object_get(status, "switches"), view) != 0)
		return td_error_set(err, "the daemon's status is not what this version of the protocol says; "
					 "use a client and a daemon of the same version");
	add_description(describe, view);
	return 0;
}

bool td_view_moving(const struct td_view *view)
{
	for (size_t i = 0; i < view->axes; i++)
		if (view->axis[i].moving || view->axis[i].wait_left_ms > 0 || view->axis[i].lease_left_ms > 0)
			return true;
	return false;
}

/* SPDX-License-Identifier: MIT */
#include "core/cause.h"
#include "daemon/front/mirror.h"
#include "wire/fault.h"
#include "wire/method.h"

static const char *const state_names[TD_AXIS_STATES] = {
	[TD_AXIS_TRIPPED] = "tripped", [TD_AXIS_STILL] = "still", [TD_AXIS_COAST] = "coast",
	[TD_AXIS_WAIT] = "wait",       [TD_AXIS_RUN] = "run",
};

const char *td_axis_state_name(unsigned int state)
{
	return state < TD_AXIS_STATES ? state_names[state] : state_names[TD_AXIS_TRIPPED];
}

static json_t *flag(bool value)
{
	return json_boolean(value);
}

static const char *way_name(const struct td_config *config, uint8_t axis, uint8_t way)
{
	return axis < config->axes && way < TD_WAYS ? config->axis[axis].way_name[way] : NULL;
}

/* null for NULL. */
static json_t *name_or_null(const char *name)
{
	return name ? json_string(name) : json_null();
}

/* Whole milliseconds still left of a span noted at `from_ns`, rounded up: 0 means none. */
static json_t *left_ms(td_ns span_ns, td_ns from_ns, td_ns now_ns)
{
	td_ns left_ns = td_time_between(td_time_between(from_ns, now_ns), span_ns);

	return json_integer((left_ns + TD_MS(1) - 1) / TD_MS(1));
}

static json_t *latch_reasons(uint8_t latch)
{
	static const struct {
		uint8_t bit;
		enum td_cause cause;
	} reasons[] = {
		{TD_LATCH_ASKED, TD_CAUSE_LATCH_ASKED},
		{TD_LATCH_INPUT, TD_CAUSE_LATCH_INPUT},
		{TD_LATCH_KEPT, TD_CAUSE_LATCH_KEPT},
	};
	json_t *list = json_array();

	for (size_t i = 0; i < sizeof(reasons) / sizeof(reasons[0]); i++) {
		if ((latch & reasons[i].bit) != 0)
			json_array_append_new(list, td_cause_object(reasons[i].cause));
	}
	return list;
}

static json_t *switch_list(const struct td_mirror *mirror)
{
	json_t *list = json_array();

	for (uint8_t i = 0; i < mirror->config->switches; i++) {
		uint32_t bit = UINT32_C(1) << i;

		json_array_append_new(list,
				      json_pack("{s:s, s:b, s:s, s:b}", "name", mirror->config->sw[i].name,
						"active", (mirror->machine.active & bit) != 0, "level",
						(mirror->machine.levels & bit) != 0 ? "high" : "low",
						"chatters", (mirror->machine.chatters & bit) != 0));
	}
	return list;
}

/* The inputs that are high, in words. */
static json_t *output_list(const struct td_config *config, uint32_t outputs)
{
	json_t *list = json_array();

	for (int axis = 0; axis < config->axes; axis++) {
		for (int way = 0; way < TD_WAYS; way++) {
			if ((outputs & (UINT32_C(1) << (axis * TD_WAYS + way))) != 0)
				json_array_append_new(list,
						      json_pack("{s:s, s:s}", "axis", config->axis[axis].name,
								"way", config->axis[axis].way_name[way]));
		}
	}
	return list;
}

static json_t *point_or_null(td_ns at_ns)
{
	return at_ns == TD_NEVER ? json_null() : json_integer(at_ns);
}

/* The ways of the drive that would add twist beyond the limit. */
static json_t *blocked_list(const struct td_config *config, uint8_t blocked)
{
	json_t *list = json_array();

	for (uint8_t way = 0; way < TD_WAYS; way++)
		if ((blocked >> way & 1) != 0)
			json_array_append_new(list,
					      name_or_null(way_name(config, config->rules.cable.drive, way)));
	return list;
}

/* null where no turns are counted. */
static json_t *twist_object(const struct td_mirror *mirror)
{
	const struct td_note_machine *machine = &mirror->machine;

	if (machine->twist_counted == 0)
		return json_null();
	return json_pack("{s:I, s:I, s:I, s:o}", "net_degrees", td_degrees(machine->twist_net_uturn),
			 "doubt_degrees", td_degrees(machine->twist_doubt_uturn), "limit_degrees",
			 td_degrees(mirror->config->rules.cable.twist.limit_uturn), "blocked",
			 blocked_list(mirror->config, machine->twist_blocked));
}

json_t *td_mirror_machine(const struct td_mirror *mirror)
{
	const struct td_note_machine *machine = &mirror->machine;

	return json_pack("{s:s, s:I, s:o, s:o, s:o, s:o, s:I, s:o, s:o, s:o}", "machine",
			 mirror->config->machine, "at_ns", (json_int_t)mirror->machine_ns, "armed",
			 flag(machine->armed != 0), "latch", latch_reasons(machine->latch), "outputs",
			 output_list(mirror->config, machine->outputs), "switches", switch_list(mirror),
			 "stop_latency_us", (json_int_t)machine->stop_latency_us, "visitor_reset_ns",
			 point_or_null(machine->resets_free_ns), "twist", twist_object(mirror),
			 "config_refused", flag(machine->config_refused != 0));
}

static json_t *holder(uint32_t holder_session, uint32_t session)
{
	if (holder_session == 0)
		return json_null();
	return json_string(holder_session == session ? "you" : "other");
}

/* R11: the cause of the trip, and who may reset it. */
static json_t *trip(const struct td_config *config, enum td_cause cause)
{
	bool visitor = config->rules.visitor_resets > 0 && td_cause_visitor_resets(cause);
	json_t *object = td_cause_object(cause);

	json_object_set_new(object, "reset_by",
			    json_string(td_role_name(visitor ? TD_ROLE_VISITOR : TD_ROLE_KEEPER)));
	return object;
}

static json_t *position(int32_t ppm)
{
	return ppm < 0 ? json_null() : json_integer(ppm);
}

static json_t *slower(int32_t ppm)
{
	return ppm == TD_NO_TREND ? json_null() : json_integer(ppm);
}

json_t *td_mirror_axis(const struct td_mirror *mirror, uint8_t axis, td_ns now_ns, uint32_t session)
{
	const struct td_config_axis *names = &mirror->config->axis[axis];
	const struct td_note_axis *note = &mirror->axis[axis];
	td_ns at_ns = mirror->axis_ns[axis];
	bool yours = note->session != 0 && note->session == session;
	bool tripped = note->state == TD_AXIS_TRIPPED && note->trip != TD_CAUSE_NONE;
	json_t *object = json_pack(
		"{s:s, s:[s, s], s:s, s:o, s:o, s:[o, o]}", "name", names->name, "ways", names->way_name[0],
		names->way_name[1], "state", td_axis_state_name(note->state), "way",
		name_or_null(way_name(mirror->config, axis, note->way)), "moving", flag(note->moving != 0),
		"at_end", flag(note->at_end[0] != 0), flag(note->at_end[1] != 0));

	json_object_set_new(object, "locked",
			    json_pack("[b, b]", (note->locked & 1) != 0, (note->locked & 2) != 0));
	json_object_set_new(object, "position_ppm", position(note->position_ppm));
	json_object_set_new(object, "lease_left_ms", left_ms(note->lease_left_ns, at_ns, now_ns));
	json_object_set_new(object, "wait_left_ms", left_ms(note->wait_left_ns, at_ns, now_ns));
	json_object_set_new(object, "trip", tripped ? trip(mirror->config, note->trip) : json_null());
	json_object_set_new(object, "holder", holder(note->session, session));
	json_object_set_new(object, "hold", yours ? json_integer(note->hold) : json_null());
	json_object_set_new(object, "slower",
			    json_pack("[b, b]", (note->slower & 1) != 0, (note->slower & 2) != 0));
	json_object_set_new(object, "slower_ppm",
			    json_pack("[o, o]", slower(note->slower_ppm[0]), slower(note->slower_ppm[1])));
	json_object_set_new(object, "at_ns", json_integer(at_ns));
	return object;
}

static json_t *sentence_list(const struct td_sentences *sentences)
{
	json_t *list = json_array();

	for (unsigned i = 0; i < sentences->count; i++)
		json_array_append_new(list, json_string(sentences->sentence[i].text));
	return list;
}

json_t *td_mirror_status(const struct td_mirror *mirror, td_ns now_ns, uint32_t session)
{
	json_t *status = td_mirror_machine(mirror);
	json_t *axes = json_array();

	for (uint8_t axis = 0; axis < mirror->config->axes; axis++)
		json_array_append_new(axes, td_mirror_axis(mirror, axis, now_ns, session));
	json_object_set_new(status, "axes", axes);
	json_object_set_new(status, "why_not", sentence_list(&mirror->arming->why_not));
	json_object_set_new(status, "accepted", sentence_list(&mirror->arming->accepted));
	json_object_set_new(status, "now_ns", json_integer(now_ns));
	return status;
}

const char *td_cause_kind_name(enum td_cause_kind kind)
{
	static const char *const names[] = {
		[TD_KIND_NONE] = "none", [TD_KIND_MOVE] = "move",       [TD_KIND_STOP] = "stop",
		[TD_KIND_TRIP] = "trip", [TD_KIND_REFUSAL] = "refusal", [TD_KIND_MACHINE] = "machine",
		[TD_KIND_NOTE] = "note",
	};

	return names[kind];
}

json_t *td_mirror_news(const struct td_mirror *mirror, const struct td_happening *happening, bool yours)
{
	const struct td_config *config = mirror->config;
	const struct td_note_news *news = &happening->news;
	json_t *object = td_cause_object(news->cause);

	json_object_set_new(object, "n", json_integer(happening->n));
	json_object_set_new(object, "at_ns", json_integer(happening->at_ns));
	json_object_set_new(object, "kind", json_string(td_cause_kind_name(td_cause_kind(news->cause))));
	json_object_set_new(object, "outputs", output_list(config, news->outputs));
	if (news->axis < config->axes)
		json_object_set_new(object, "axis", json_string(config->axis[news->axis].name));
	if (way_name(config, news->axis, news->way))
		json_object_set_new(object, "way", json_string(way_name(config, news->axis, news->way)));
	if (news->sw < config->switches)
		json_object_set_new(object, "switch", json_string(config->sw[news->sw].name));
	if (news->role != TD_NO_ROLE)
		json_object_set_new(object, "by", json_string(td_role_name((enum td_role)news->role)));
	else if (news->session != 0)
		json_object_set_new(object, "holder", json_string(yours ? "you" : "other"));
	if (yours && news->role == TD_NO_ROLE && news->hold != 0)
		json_object_set_new(object, "hold", json_integer(news->hold));
	return object;
}

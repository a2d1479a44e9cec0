/* SPDX-License-Identifier: MIT */
#include "config/build.h"

#include <assert.h>
#include <string.h>

#include "config/bar_list.h"
#include "config/cable.h"
#include "config/hash.h"
#include "config/load.h"
#include "config/place.h"
#include "config/quiet.h"

static int64_t number(const struct td_draft_section *section, enum td_key key)
{
	return section->value[key].number;
}

static td_ns ms(const struct td_draft_section *section, enum td_key key)
{
	return TD_MS(number(section, key));
}

/* Copies a text whose length was checked; "" where there is none. */
static void copy(char *out, size_t size, const struct td_draft_section *section, enum td_key key)
{
	const char *text = section->value[key].text ? section->value[key].text : "";
	size_t length = strlen(text);

	assert(length < size);
	memcpy(out, text, length + 1);
}

static uint8_t axis_index(struct td_draft *draft, const char *name)
{
	return (uint8_t)td_draft_index(draft, td_draft_find(draft, TD_SECTION_AXIS, name, ""));
}

/* Of the switch that a key names; TD_NO_SWITCH where it names none. */
static uint8_t switch_index(struct td_draft *draft, const struct td_draft_section *section, enum td_key key)
{
	const char *name = section->value[key].text;

	return name ? (uint8_t)td_draft_index(draft, td_draft_find(draft, TD_SECTION_SWITCH, name, ""))
		    : TD_NO_SWITCH;
}

static void build_place(const struct td_draft_section *section, enum td_key key, struct td_place *place)
{
	td_place_parse(section->value[key].text, place);
	place->file_line = section->value[key].line;
}

static void build_socket(const struct td_draft_section *section, enum td_key path, enum td_key mode,
			 enum td_key group, struct td_config_socket *socket)
{
	copy(socket->path, sizeof(socket->path), section, path);
	copy(socket->group, sizeof(socket->group), section, group);
	socket->mode = (uint32_t)number(section, mode);
}

static void build_visitors(const struct td_draft_section *section, struct td_config *config)
{
	build_socket(section, TD_KEY_VISITOR_SOCKET, TD_KEY_VISITOR_MODE, TD_KEY_VISITOR_GROUP,
		     &config->visitor);
	config->visitors_max = (unsigned int)number(section, TD_KEY_VISITOR_CONNECTIONS);
	config->visitors_per_user = (unsigned int)number(section, TD_KEY_VISITOR_PER_USER);
	copy(config->gateway, sizeof(config->gateway), section, TD_KEY_VISITOR_GATEWAY);
}

static void build_machine(struct td_draft *draft, struct td_config *config)
{
	const struct td_draft_section *machine = td_draft_next(draft, TD_SECTION_MACHINE, NULL);

	copy(config->machine, sizeof(config->machine), machine, TD_KEY_MACHINE_NAME);
	copy(config->board, sizeof(config->board), machine, TD_KEY_MACHINE_BOARD);
	copy(config->state_dir, sizeof(config->state_dir), machine, TD_KEY_MACHINE_STATE_DIR);
	config->backend = (enum td_backend)number(machine, TD_KEY_MACHINE_BACKEND);
	config->outliving_outputs = (enum td_outliving)number(machine, TD_KEY_MACHINE_OUTLIVING_OUTPUTS);
	config->has_heartbeat = machine->value[TD_KEY_MACHINE_HEARTBEAT].text != NULL;
	if (config->has_heartbeat)
		build_place(machine, TD_KEY_MACHINE_HEARTBEAT, &config->heartbeat);
	config->lease_ns = ms(machine, TD_KEY_MACHINE_LEASE_MS);
	config->poll_ns = ms(machine, TD_KEY_MACHINE_POLL_MS);
	config->rules.supply.budget_ma = (uint32_t)number(machine, TD_KEY_MACHINE_SUPPLY_MA);
	config->rules.supply.gap_ns = ms(machine, TD_KEY_MACHINE_START_GAP_MS);
	config->rules.visitor_resets = (uint8_t)number(machine, TD_KEY_MACHINE_VISITOR_RESETS_PER_HOUR);
	if (machine->value[TD_KEY_MACHINE_QUIET_HOURS].text)
		td_quiet_parse(machine->value[TD_KEY_MACHINE_QUIET_HOURS].text, &config->quiet);
	config->rules.stop_switch = switch_index(draft, machine, TD_KEY_MACHINE_EMERGENCY_STOP);
	build_socket(td_draft_next(draft, TD_SECTION_KEEPER, NULL), TD_KEY_KEEPER_SOCKET, TD_KEY_KEEPER_MODE,
		     TD_KEY_KEEPER_GROUP, &config->keeper);
	build_visitors(td_draft_next(draft, TD_SECTION_VISITOR, NULL), config);
}

static void build_turns(struct td_draft *draft, struct td_turn_rules *turns)
{
	const struct td_draft_section *section = td_draft_next(draft, TD_SECTION_TURNS, NULL);

	turns->length_ns = TD_S(number(section, TD_KEY_TURNS_LENGTH_S));
	turns->idle_ns = TD_S(number(section, TD_KEY_TURNS_IDLE_S));
	turns->pause_ns = TD_S(number(section, TD_KEY_TURNS_PAUSE_S));
	turns->per_user = (unsigned int)number(section, TD_KEY_TURNS_PER_USER);
}

static void build_trace(const struct td_draft_section *trace, struct td_config *config)
{
	config->trace_size_max = number(trace, TD_KEY_TRACE_SIZE_KB) * 1024;
	config->trace_daily_max = number(trace, TD_KEY_TRACE_DAILY_KB) * 1024;
}

static void build_bars(struct td_draft *draft, const struct td_draft_section *section,
		       struct td_way_rules *way)
{
	struct td_bar_list list = {0};

	if (section->value[TD_KEY_WAY_BARS].text)
		td_bar_list_parse(section->value[TD_KEY_WAY_BARS].text, &list);
	for (size_t i = 0; i < list.count; i++) {
		const struct td_draft_section *end =
			td_draft_find(draft, TD_SECTION_WAY, list.item[i].axis, list.item[i].way);

		way->bar[i].kind = list.item[i].kind;
		way->bar[i].axis = axis_index(draft, list.item[i].axis);
		way->bar[i].way = end ? td_draft_way_index(draft, end) : 0;
	}
	way->bars = (uint8_t)list.count;
}

/* M14: warned of after so many slow travels in a row, and until the way is back within half of the share. */
static void set_trend(struct td_trend_rules *trend, int64_t percent)
{
	enum { NEEDED = 3, PPM_OF_PERCENT = 10000 };
	uint32_t slower_ppm = (uint32_t)percent * PPM_OF_PERCENT;

	/* Field by field: the bytes between them stay what they are, so two readings can be compared. */
	trend->slower_ppm = slower_ppm;
	trend->steady_ppm = slower_ppm / 2;
	trend->needed = percent > 0 ? NEEDED : 0;
}

static void build_way(struct td_draft *draft, const struct td_draft_section *section,
		      struct td_way_rules *way)
{
	way->end_switch = switch_index(draft, section, TD_KEY_WAY_END_SWITCH);
	way->leave_ns = ms(section, TD_KEY_WAY_LEAVE_MS);
	if (way->end_switch == TD_NO_SWITCH) {
		way->reach_ns = ms(section, TD_KEY_WAY_HOLD_LIMIT_MS);
		way->limit_ns = way->reach_ns;
	} else {
		way->reach_ns = ms(section, TD_KEY_WAY_TRAVEL_MS);
		way->limit_ns = way->reach_ns / 100 * number(section, TD_KEY_WAY_MARGIN_PERCENT);
		way->early_ns = way->reach_ns / 100 * number(section, TD_KEY_WAY_EARLY_PERCENT);
		set_trend(&way->trend, number(section, TD_KEY_WAY_SLOWER_WARN_PERCENT));
	}
	build_bars(draft, section, way);
}

static void build_axis(struct td_draft *draft, const struct td_draft_section *section,
		       struct td_config_axis *axis, struct td_axis_rules *rules)
{
	memcpy(axis->name, section->word[0], sizeof(axis->name));
	td_draft_ways(section, axis->way_name);
	axis->loud = number(section, TD_KEY_AXIS_LOUD) != 0;
	rules->dead_ns = ms(section, TD_KEY_AXIS_DEAD_TIME_MS);
	rules->rest_ns = ms(section, TD_KEY_AXIS_REST_MS);
	rules->restored_ns = ms(section, TD_KEY_AXIS_RESTORED_MS);
	rules->duty = td_load_duty(section);
	for (size_t way = 0; way < TD_WAYS; way++) {
		const struct td_draft_section *way_section =
			td_draft_find(draft, TD_SECTION_WAY, axis->name, axis->way_name[way]);

		build_place(way_section, TD_KEY_WAY_INPUT, &axis->input[way]);
		axis->accept_risky_line[way] = number(way_section, TD_KEY_WAY_ACCEPT_RISKY_LINE) != 0;
		build_way(draft, way_section, &rules->way[way]);
	}
}

static void build_switch(const struct td_draft_section *section, struct td_config_switch *sw,
			 struct td_switch_rules *rules)
{
	memcpy(sw->name, section->word[0], sizeof(sw->name));
	build_place(section, TD_KEY_SWITCH_LINE, &sw->place);
	rules->contact = (enum td_contact)number(section, TD_KEY_SWITCH_CONTACT);
	rules->pull = (enum td_pull)number(section, TD_KEY_SWITCH_PULL);
	rules->confirm_ns = ms(section, TD_KEY_SWITCH_CONFIRM_MS);
	rules->clear_ns = ms(section, TD_KEY_SWITCH_CLEAR_MS);
	rules->chatter.changes = (uint8_t)number(section, TD_KEY_SWITCH_CHATTER_CHANGES);
	if (rules->chatter.changes > 0)
		rules->chatter.window_ns = ms(section, TD_KEY_SWITCH_CHATTER_WINDOW_MS);
}

/* The contacts of a swivel change as often as the machine turns. */
static void expect_turns(struct td_rules *rules)
{
	for (int i = 0; i < 2; i++)
		rules->sw[rules->cable.contact[i]].chatter = (struct td_chatter_rules){0};
}

void td_build_config(struct td_draft *draft, struct td_config *config)
{
	const struct td_draft_section *section = NULL;

	build_machine(draft, config);
	build_turns(draft, &config->turns);
	build_trace(td_draft_next(draft, TD_SECTION_TRACE, NULL), config);
	while ((section = td_draft_next(draft, TD_SECTION_AXIS, section))) {
		build_axis(draft, section, &config->axis[config->axes], &config->rules.axis[config->axes]);
		config->rules.supply.axis[config->axes] = td_load_weight(section);
		config->axes++;
	}
	while ((section = td_draft_next(draft, TD_SECTION_SWITCH, section))) {
		build_switch(section, &config->sw[config->switches], &config->rules.sw[config->switches]);
		config->switches++;
	}
	config->rules.axes = config->axes;
	config->rules.supply.axes = config->axes;
	config->rules.switches = config->switches;
	config->rules.cable = td_cable_build(draft);
	if (config->rules.cable.twist.source == TD_TWIST_SENSOR)
		expect_turns(&config->rules);
	config->hash = td_hash_draft(draft);
}

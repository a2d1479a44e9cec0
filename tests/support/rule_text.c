/* SPDX-License-Identifier: MIT */
#include "tests/support/rule_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/rule_cart.h"

static long long ms(td_ns span_ns)
{
	return span_ns / TD_MS(1);
}

static long long seconds(td_ns span_ns)
{
	return span_ns / TD_S(1);
}

static void write_machine(FILE *out, const struct td_rules *rules)
{
	fprintf(out, "[machine]\nname = test cart\nbackend = bench\nboard = board.sock\nstate_dir = state\n");
	if (rules->stop_switch != TD_NO_SWITCH)
		fprintf(out, "emergency_stop = %s\n", rule_names.sw[rules->stop_switch]);
	fprintf(out, "supply_ma = %u\nstart_gap_ms = %lld\nvisitor_resets_per_hour = %u\n\n",
		rules->supply.budget_ma, ms(rules->supply.gap_ns), rules->visitor_resets);
}

static void write_cable(FILE *out, const struct td_cable_rules *cable)
{
	const struct td_twist_rules *twist = &cable->twist;

	if (twist->source == TD_TWIST_UNLIMITED)
		return;
	fprintf(out, "[twist]\nsource = %s\nlimit_degrees = %lld\n",
		twist->source == TD_TWIST_SENSOR ? "sensor" : "estimate",
		(twist->limit_uturn * 360LL + 500000) / 1000000);
	fprintf(out, "ahead = drive ahead\nleft = wheel left\nsteering = %s\n",
		cable->springs ? "springs" : "stays");
	for (int side = TD_TWIST_LEFT; side <= TD_TWIST_RIGHT; side++)
		fprintf(out, "circle_%s_ms = %lld\n", side == TD_TWIST_LEFT ? "left" : "right",
			1000000000LL / llabs(twist->rate_ppm_s[1][side]));
	if (twist->source == TD_TWIST_SENSOR)
		fprintf(out, "contacts = %s %s\nsteps_per_turn = %d\n\n", rule_names.sw[cable->contact[0]],
			rule_names.sw[cable->contact[1]], twist->steps_per_turn);
	else
		fprintf(out, "doubt_percent = %u\n\n", twist->doubt_ppm / 10000);
}

static void write_bars(FILE *out, const struct td_way_rules *way)
{
	static const char *const kinds[] = {"moving", "at-end", "off-end"};

	if (way->bars > 0)
		fprintf(out, "bars = ");
	for (uint8_t i = 0; i < way->bars; i++) {
		const struct td_bar *bar = &way->bar[i];

		fprintf(out, "%s%s %s", i > 0 ? ", " : "", kinds[bar->kind], rule_names.axis[bar->axis]);
		if (bar->kind != TD_BAR_MOVING)
			fprintf(out, " %s", rule_names.way[bar->axis][bar->way]);
	}
	if (way->bars > 0)
		fprintf(out, "\n");
}

static void write_way(FILE *out, const struct td_rules *rules, uint8_t axis, uint8_t way)
{
	const struct td_way_rules *own = &rules->axis[axis].way[way];

	fprintf(out, "[way %s %s]\ninput = cart:%d\n", rule_names.axis[axis], rule_names.way[axis][way],
		axis * TD_WAYS + way);
	if (rules->axis[axis].way[1 - way].end_switch != TD_NO_SWITCH)
		fprintf(out, "leave_ms = %lld\n", ms(own->leave_ns));
	if (own->end_switch == TD_NO_SWITCH) {
		fprintf(out, "hold_limit_ms = %lld\n", ms(own->limit_ns));
	} else {
		fprintf(out,
			"end_switch = %s\ntravel_ms = %lld\nmargin_percent = %lld\nearly_percent = %lld\n",
			rule_names.sw[own->end_switch], ms(own->reach_ns),
			(long long)(own->limit_ns * 100 / own->reach_ns),
			(long long)(own->early_ns * 100 / own->reach_ns));
		fprintf(out, "slower_warn_percent = %u\n", own->trend.slower_ppm / 10000);
	}
	write_bars(out, own);
	fprintf(out, "\n");
}

static void write_axis(FILE *out, const struct td_rules *rules, uint8_t axis)
{
	const struct td_axis_rules *own = &rules->axis[axis];
	const struct td_supply_axis_rules *weight = &rules->supply.axis[axis];

	fprintf(out, "[axis %s]\nways = %s %s\ndead_time_ms = %lld\nrest_ms = %lld\nrestored_ms = %lld\n",
		rule_names.axis[axis], rule_names.way[axis][0], rule_names.way[axis][1], ms(own->dead_ns),
		ms(own->rest_ns), ms(own->restored_ns));
	fprintf(out, "start_ma = %u\nrun_ma = %u\nstart_window_ms = %lld\n", weight->start_ma, weight->run_ma,
		ms(weight->start_ns));
	fprintf(out, "minute_s = %lld\nten_minutes_s = %lld\nday_s = %lld\n\n",
		seconds(own->duty.allowed_ns[TD_BUDGET_MINUTE]),
		seconds(own->duty.allowed_ns[TD_BUDGET_TEN_MINUTES]),
		seconds(own->duty.allowed_ns[TD_BUDGET_DAY]));
	for (uint8_t way = 0; way < TD_WAYS; way++)
		write_way(out, rules, axis, way);
}

static void write_switch(FILE *out, const struct td_rules *rules, uint8_t sw)
{
	const struct td_switch_rules *own = &rules->sw[sw];

	fprintf(out,
		"[switch %s]\nline = cart:%d\ncontact = %s\npull = %s\nconfirm_ms = %lld\nclear_ms = %lld\n",
		rule_names.sw[sw], TD_AXES_MAX * TD_WAYS + sw,
		own->contact == TD_CONTACT_NC ? "normally-closed" : "normally-open",
		own->pull == TD_PULL_UP ? "up" : "down", ms(own->confirm_ns), ms(own->clear_ns));
	fprintf(out, "chatter_changes = %u\n", own->chatter.changes);
	if (own->chatter.changes > 0)
		fprintf(out, "chatter_window_ms = %lld\n", ms(own->chatter.window_ns));
	fprintf(out, "\n");
}

char *rule_text(const struct td_rules *rules)
{
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);

	write_machine(out, rules);
	write_cable(out, &rules->cable);
	for (uint8_t axis = 0; axis < rules->axes; axis++)
		write_axis(out, rules, axis);
	for (uint8_t sw = 0; sw < rules->switches; sw++)
		write_switch(out, rules, sw);
	fclose(out);
	return text;
}

/* What a condition does not look at is nothing. */
static struct td_rules plain(const struct td_rules *rules)
{
	struct td_rules copy = *rules;

	for (uint8_t axis = 0; axis < copy.axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			for (uint8_t i = 0; i < copy.axis[axis].way[way].bars; i++)
				if (copy.axis[axis].way[way].bar[i].kind == TD_BAR_MOVING)
					copy.axis[axis].way[way].bar[i].way = 0;
	return copy;
}

static bool same_bytes(const void *a, const void *b, size_t count)
{
	return memcmp(a, b, count) == 0;
}

bool rule_text_same(const struct td_rules *a, const struct td_rules *b)
{
	return same_bytes(a, b, sizeof(*a));
}

bool rule_text_config(const char *text, const struct td_rules *rules, struct td_config *config)
{
	static struct td_config_faults faults;
	struct td_rules wanted = plain(rules);
	struct td_rules got;

	if (!td_config_read_text(text, strlen(text), "rules", config, &faults))
		return false;
	got = plain(&config->rules);
	return rule_text_same(&wanted, &got);
}

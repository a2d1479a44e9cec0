/* SPDX-License-Identifier: MIT */
#include "core/travel.h"
#include "tests/proof/claims.h"
#include "tests/proof/look.h"

static bool became_active(const struct proof_turn *turn, uint8_t sw)
{
	return seen_active(turn->after, sw) && !seen_active(turn->before, sw);
}

/* Cut so lately that it may still roll this way. */
static bool may_roll(const struct proof_turn *turn, uint8_t way)
{
	bool lately = now(turn) - was(turn)->cut_ns < rules_of(turn)->rest_ns;

	return lately && was(turn)->last_way != 1 - way;
}

static void claim_own_end(const struct proof_turn *turn, uint8_t way)
{
	const struct td_way_rules *rules = &rules_of(turn)->way[way];
	td_ns spent_ns = td_travel_spent(was(turn), rules_of(turn), way, now(turn));

	if (!on_before(turn, way) || !became_active(turn, rules->end_switch))
		return;
	CLAIM(!any_on_after(turn), "R8: an end stops");
	if (was(turn)->located && spent_ns < rules->early_ns && nothing_asked(turn))
		CLAIM(is(turn)->state == TD_AXIS_TRIPPED, "R8: an end too early trips");
}

static void claim_wrong_end(const struct proof_turn *turn, uint8_t way)
{
	const struct td_way_rules *rules = &rules_of(turn)->way[way];
	uint8_t behind = (uint8_t)(1 - way);
	td_ns spent_ns = td_travel_spent(was(turn), rules_of(turn), way, now(turn));
	bool leaving = was(turn)->located && spent_ns < rules->leave_ns;

	if (!on_before(turn, way) || !became_active(turn, rules_of(turn)->way[behind].end_switch) ||
	    may_roll(turn, behind) || leaving)
		return;
	CLAIM(!any_on_after(turn), "R8: the wrong end stops");
	if (nothing_asked(turn))
		CLAIM(is(turn)->state == TD_AXIS_TRIPPED, "R8: the wrong end trips");
}

void claim_r8_plausible(const struct proof_turn *turn)
{
	const struct td_way_rules *way = rules_of(turn)->way;

	if (seen_active(turn->after, way[0].end_switch) && seen_active(turn->after, way[1].end_switch))
		CLAIM(is(turn)->state == TD_AXIS_TRIPPED, "R8: both ends at once trip");
	for (uint8_t i = 0; i < TD_WAYS; i++) {
		claim_own_end(turn, i);
		claim_wrong_end(turn, i);
	}
}

/* The contact as the electrician sees it: closed, the line is away from its pull. */
static bool contact_active(const struct td_switch_rules *rules, bool high)
{
	bool closed = rules->pull == TD_PULL_UP ? !high : high;

	return rules->contact == TD_CONTACT_NO ? closed : !closed;
}

static void claim_level(const struct proof_turn *turn, uint8_t sw)
{
	const struct td_switch *before = &turn->before->sw[sw];
	const struct td_switch *after = &turn->after->sw[sw];
	bool high = (turn->event->levels >> sw & 1) != 0;

	if (!event_is(turn, TD_EVENT_LEVELS)) {
		CLAIM(after->raw == before->raw && after->since_ns == before->since_ns,
		      "R9: a level changes by being read only");
		return;
	}
	CLAIM(after->raw == contact_active(&turn->rules->sw[sw], high),
	      "R9: an open normally-closed contact is active");
	if (!turn->before->levels_known)
		CLAIM(after->active == after->raw, "R9: the first level is taken as it is");
	else if (after->raw == before->raw)
		CLAIM(after->since_ns == before->since_ns, "R2: a steady level keeps its time");
	else
		CLAIM(after->since_ns == now(turn), "R2: a new level counts from now");
}

static void claim_filter(const struct proof_turn *turn, uint8_t sw)
{
	const struct td_switch_rules *rules = &turn->rules->sw[sw];
	const struct td_switch *before = &turn->before->sw[sw];
	const struct td_switch *after = &turn->after->sw[sw];
	td_ns steady_ns = now(turn) - after->since_ns;

	if (!turn->before->levels_known)
		return;
	CLAIM(!after->raw || after->active || steady_ns < rules->confirm_ns,
	      "R2: active for the confirm time counts");
	CLAIM(after->raw || !after->active || steady_ns < rules->clear_ns,
	      "R2: clear for the clear time counts");
	CLAIM(!(before->active && !after->active) || rules->clear_ns == 0 ||
		      (!before->raw && now(turn) - before->since_ns >= rules->clear_ns),
	      "R2: no sooner does an end become clear");
}

void claim_r9_contacts(const struct proof_turn *turn)
{
	for (uint8_t sw = 0; sw < turn->rules->switches && sw < TD_SWITCHES_MAX; sw++) {
		claim_level(turn, sw);
		claim_filter(turn, sw);
	}
}

static bool still(const struct proof_turn *turn, uint8_t axis)
{
	const struct td_axis *other = &turn->after->axis[axis];

	return (turn->result->outputs >> (axis * TD_WAYS) & 3) == 0 &&
	       now(turn) - other->cut_ns >= turn->rules->axis[axis].rest_ns;
}

static bool bar_kept(const struct proof_turn *turn, const struct td_bar *bar)
{
	if (bar->kind == TD_BAR_MOVING)
		return still(turn, bar->axis);

	uint8_t end = turn->rules->axis[bar->axis].way[bar->way].end_switch;

	if (bar->kind == TD_BAR_AT_END)
		return !seen_active(turn->after, end) && !seen_raw(turn->after, end);
	return seen_active(turn->after, end);
}

void claim_r17_bars(const struct proof_turn *turn)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		const struct td_way_rules *rules = &rules_of(turn)->way[way];

		for (uint8_t i = 0; on_after(turn, way) && i < rules->bars && i < TD_BARS_MAX; i++)
			CLAIM(bar_kept(turn, &rules->bar[i]), "R17: a powered way keeps its conditions");
	}
}

void claim_bookkeeping(const struct proof_turn *turn)
{
	CLAIM(turn->after->now_ns >= turn->before->now_ns, "time does not run back");
	CLAIM(turn->result->deadline_ns > now(turn), "the next deadline lies ahead");
	CLAIM(turn->result->news_lost == 0, "no news is lost");
}

void claim_all(const struct proof_turn *turn)
{
	claim_r1_one_input(turn);
	claim_r2_ends(turn);
	claim_r3_pauses(turn);
	claim_r4_r5_r6_limits(turn);
	claim_r7_lease(turn);
	claim_r7_stop(turn);
	claim_r8_plausible(turn);
	claim_r9_contacts(turn);
	claim_r10_latch(turn);
	claim_r11_trip(turn);
	claim_r14_armed(turn);
	claim_r15_lines(turn);
	claim_r17_bars(turn);
	claim_bookkeeping(turn);
}

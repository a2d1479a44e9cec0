/* SPDX-License-Identifier: MIT */
#include "core/travel.h"
#include "tests/proof/claims.h"
#include "tests/proof/look.h"

void claim_r1_one_input(const struct proof_turn *turn)
{
	uint64_t word = turn->result->outputs;

	CLAIM(!(on_after(turn, 0) && on_after(turn, 1)), "R1: never both inputs of a bridge");
	CLAIM(word >> (turn->rules->axes * TD_WAYS) == 0, "R1: no output beyond the axes there are");
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		CLAIM(!(on_before(turn, way) && on_after(turn, (uint8_t)(1 - way))),
		      "R1: one step never goes from one input to the other");
		CLAIM(on_after(turn, way) == (is(turn)->state == TD_AXIS_RUN && is(turn)->way == way),
		      "R1: the outputs are those of the state");
	}
}

void claim_r2_ends(const struct proof_turn *turn)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t end = rules_of(turn)->way[way].end_switch;

		if (!on_after(turn, way) || end >= TD_SWITCHES_MAX)
			continue;
		const struct td_switch *sw = &turn->after->sw[end];

		CLAIM(!sw->active, "R2: no power toward an active end");
		CLAIM(!(sw->raw && now(turn) - sw->since_ns >= turn->rules->sw[end].confirm_ns),
		      "R2: no power toward an end that has been active for the confirm time");
		CLAIM(!rises(turn, way) || !sw->raw, "R2: no start toward an end that may be active");
	}
}

/* The cut that the pauses count from is the last one there was. */
static void claim_cut_recorded(const struct proof_turn *turn)
{
	bool fell = false;

	for (uint8_t way = 0; way < TD_WAYS; way++)
		if (on_before(turn, way) && !on_after(turn, way)) {
			fell = true;
			CLAIM(is(turn)->cut_ns == now(turn) && is(turn)->last_way == way,
			      "R3: a cut is recorded with its time and way");
		}
	CLAIM(fell || (is(turn)->cut_ns == was(turn)->cut_ns && is(turn)->last_way == was(turn)->last_way),
	      "R3: without a cut the record stays");
}

void claim_r3_pauses(const struct proof_turn *turn)
{
	td_ns off_ns = now(turn) - was(turn)->cut_ns;

	claim_cut_recorded(turn);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (!rises(turn, way))
			continue;
		CLAIM(was(turn)->last_way == way || off_ns >= rules_of(turn)->dead_ns,
		      "R3: dead time since the other way, or since an unknown one");
		CLAIM(was(turn)->last_way == 1 - way || off_ns >= rules_of(turn)->rest_ns,
		      "R3: rest since the same way, or since an unknown one");
		CLAIM(is(turn)->since_ns == now(turn), "R3: a start is recorded");
	}
	CLAIM(any_rises(turn) || is(turn)->since_ns == was(turn)->since_ns, "R3: the start stays on record");
}

/* Something in this step said where the axis is, or that nobody knows. */
static bool place_set(const struct proof_turn *turn)
{
	const struct td_axis_rules *rules = rules_of(turn);

	if (is(turn)->state == TD_AXIS_TRIPPED || was(turn)->state == TD_AXIS_TRIPPED)
		return true;
	if (rules->restored_ns > 0 && was(turn)->state != TD_AXIS_RUN &&
	    now(turn) - was(turn)->cut_ns >= rules->restored_ns)
		return true;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		if (seen_active(turn->after, rules->way[way].end_switch))
			return true;
		if (on_before(turn, way) && rules->way[way].end_switch == TD_NO_SWITCH &&
		    td_travel_spent(was(turn), rules, way, now(turn)) >= rules->way[way].limit_ns)
			return true;
	}
	return false;
}

void claim_r4_r5_r6_limits(const struct proof_turn *turn)
{
	const struct td_axis_rules *rules = rules_of(turn);

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		td_ns spent_ns = td_travel_spent(is(turn), rules, way, now(turn));

		CLAIM(place_set(turn) || spent_ns >= td_travel_spent(was(turn), rules, way, now(turn)),
		      "R4: time spent is given back by nothing but an end, a trip or a long rest");
		if (!on_after(turn, way))
			continue;
		CLAIM(spent_ns < rules->way[way].limit_ns, "R4, R6: powered time within the limit");
		CLAIM(now(turn) - is(turn)->since_ns < rules->way[way].limit_ns, "R4, R6: in one go, too");
		CLAIM(!seen_active(turn->after, rules->way[1 - way].end_switch) ||
			      spent_ns < rules->way[way].leave_ns,
		      "R5: away from an active end only for the leave time");
	}
}

/* SPDX-License-Identifier: MIT */
/*
 * R18 with the real lib/core/cable.c, two axes, any rules, any safe state: what lib/core/twist.c says of a way and a
 * side is asked of the side the steering leans to, is heeded, and stops nothing else; doubt is counted as doubt; only
 * the keeper straightens. prove_twist.c looks at what it says. PROOF_PART picks the stage; PROOF_OVER and PROOF_SPRINGS, for
 * a smaller formula, whether the way of the drive is beyond the limit and whether springs straighten the steering.
 */
#include "tests/proof/load.h"
#include "tests/proof/stage.h"

enum { PPM = 1000000 };

enum { part_watch, part_blocks, part_untwist, part_count };

static bool blocks[TD_WAYS][TD_TWIST_SIDES]; /* any answers, the same ones each time */
static int32_t position_ppm;                 /* of the steering, any */
static unsigned int straightened;
static unsigned int advances;
static unsigned int knowing; /* those that name a side */
static td_ns advanced_ns;

bool td_twist_blocks(const struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		     enum td_twist_side side)
{
	(void)twist;
	(void)rules;
	return way >= TD_WAYS || blocks[way][side];
}

void td_twist_straighten(struct td_twist *twist)
{
	(void)twist;
	straightened++;
}

void td_twist_advance(struct td_twist *twist, const struct td_twist_rules *rules, uint8_t way,
		      enum td_twist_side side, td_ns span_ns)
{
	(void)twist;
	(void)rules;
	CLAIM(way < TD_WAYS, "R18: driving has a way");
	advances++;
	knowing += side != TD_TWIST_UNKNOWN;
	advanced_ns += span_ns;
}

int32_t td_travel_position_ppm(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	(void)axis;
	(void)rules;
	(void)now_ns;
	return position_ppm;
}

/* What the rules are asked for beside, and what hears of power: any answers. */
bool td_twist_rules_ok(const struct td_twist_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_chatter_rules_ok(const struct td_chatter_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

bool td_trend_rules_ok(const struct td_trend_rules *rules)
{
	(void)rules;
	return nondet_bool();
}

void td_twist_contacts(struct td_twist *twist, uint8_t levels)
{
	(void)levels;
	twist->slips = nondet_word();
}

void td_wear_power(struct td_wear *wear, uint8_t way, td_ns now_ns)
{
	(void)wear;
	(void)way;
	(void)now_ns;
}

static const struct td_cable_rules *cable(void)
{
	return &stage.rules.cable;
}

static bool counted(void)
{
	return cable()->twist.source != TD_TWIST_UNLIMITED;
}

/* Where the steering leans, read once more: by its spring, or by its place. */
static enum td_twist_side side_now(void)
{
	const struct td_axis *self = &stage.old.axis[1];
	td_ns rest_ns = stage.rules.axis[1].rest_ns;
	bool swung = self->state == TD_AXIS_RUN && self->since_ns < stage.core.now_ns;
	int lean = 0;

	if (cable()->springs == 0) {
		if (position_ppm < 0)
			return TD_TWIST_UNKNOWN;
		lean = (position_ppm > PPM / 2) - (position_ppm < PPM / 2);
	} else {
		if (!passed(swung ? self->since_ns : self->cut_ns, stage.core.now_ns, rest_ns))
			return TD_TWIST_UNKNOWN;
		if (swung)
			lean = self->way == 1 ? 1 : -1;
	}
	if (lean == 0)
		return TD_TWIST_STRAIGHT;
	return (lean > 0) == (cable()->left == 1) ? TD_TWIST_LEFT : TD_TWIST_RIGHT;
}

static void prove_watch(void)
{
	const struct td_axis *was = &stage.old.axis[0];
	const struct td_axis *is = &stage.core.axis[0];
	bool over = counted() && was->state == TD_AXIS_RUN && blocks[was->way == 1][side_now()];

#ifdef PROOF_OVER
	ASSUME(over == PROOF_OVER);
#endif
	td_cable_watch(&stage.step);
	twist_gives(&stage.step, &stage.old);
	CLAIM(!over || is->state == TD_AXIS_COAST, "R18: a way that adds twist beyond the limit is cut");
	CLAIM(over || same_axis(was, is), "R18: the other way is not, nor one within the limit");
}

static void prove_blocks(void)
{
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		CLAIM(td_cable_blocks(&stage.core, &stage.rules, 0, way) == (counted() && blocks[way][side_now()]),
		      "R18: a way of the drive is blocked by the twist that it adds, and only by that");
		CLAIM(!td_cable_blocks(&stage.core, &stage.rules, 1, way), "R18: no other axis is blocked");
	}
}

static void prove_untwist(void)
{
	const struct td_axis *was = &stage.old.axis[0];
	enum td_cause answer = td_cable_untwisted(&stage.step);
	bool done = answer == TD_CAUSE_UNTWISTED;

	CLAIM(done == (straightened == 1), "R18: what is answered is done");
	CLAIM(!done || stage.event.role == TD_ROLE_KEEPER, "R18: only the keeper says that the cable is straight");
	CLAIM(!done || (!held(was) && passed(was->cut_ns, stage.core.now_ns, stage.rules.axis[0].rest_ns)),
	      "R18: nor while the machine drives or rolls");
	CLAIM(!done || counted(), "R18: nor where nothing is counted");
	count_gives(&stage.step, &stage.old);
}

static void prove_count(void)
{
	td_ns span_ns = stage.core.now_ns - stage.core.twist_ns;
	bool drives = counted() && stage.old.axis[0].state == TD_AXIS_RUN;
	bool unknown = side_now() == TD_TWIST_UNKNOWN;

	ASSUME(stage.core.twist_ns >= 0 && span_ns >= 0);
	td_cable_drive(&stage.step);
	CLAIM(drives ? advanced_ns == span_ns : advances == 0, "R18: all of a drive is counted, and nothing else");
	CLAIM(!drives || !unknown || (advances == 1 && knowing == 0), "R18: what is not known counts as doubt");
	CLAIM(stage.core.twist_ns == stage.core.now_ns, "R18: nothing is counted twice");
	td_cable_feel(&stage.step);
	count_gives(&stage.step, &stage.old);
	CLAIM(straightened == 0, "R18: counting never straightens");
}

/* Of the steering less is assumed than that it is safe. */
static bool times_past(const struct td_axis *self)
{
	return (self->state != TD_AXIS_RUN || self->way < TD_WAYS) && self->since_ns >= 0 && self->cut_ns >= 0 &&
	       self->since_ns <= stage.core.now_ns && self->cut_ns <= stage.core.now_ns;
}

int main(void)
{
	proof_stage_any();
	position_ppm = (int32_t)nondet_word();
	for (uint8_t way = 0; way < TD_WAYS; way++)
		for (uint8_t side = 0; side < TD_TWIST_SIDES; side++)
			blocks[way][side] = nondet_bool();
	ASSUME(position_ppm >= -1 && position_ppm <= PPM);
	stage.rules.cable.drive = 0;
	stage.rules.cable.steering = 1;
#ifdef PROOF_SPRINGS
	stage.rules.cable.springs = PROOF_SPRINGS;
#endif
	ASSUME(stage.rules.cable.left < TD_WAYS && stage.rules.cable.springs <= 1);
	ASSUME(stage.rules.cable.contact[0] < TD_SWITCHES_MAX && stage.rules.cable.contact[1] < TD_SWITCHES_MAX);
	ASSUME(proof_bools(&stage.core) && proof_machine(&stage.core) && proof_safe(&stage.core, &stage.rules, 0));
	ASSUME(times_past(&stage.core.axis[1]));
	switch (PROOF_PART) {
	case part_watch: prove_watch(); break;
	case part_blocks: prove_blocks(); break;
	case part_untwist: prove_untwist(); break;
	case part_count:
	default: prove_count(); break;
	}
	return 0;
}

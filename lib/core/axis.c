/* SPDX-License-Identifier: MIT */
#include "core/axis.h"

#include "core/travel.h"

struct transition {
	enum td_axis_action action;
	enum td_axis_state next;
};

/* Row: state, event, action, next state. One for every combination: a row given twice does not compile, and
 * then the count tells whether one is missing. */
/* clang-format off */
#define TRANSITIONS(X) \
	X(TRIPPED, ASK,       NOTHING, TRIPPED) \
	X(TRIPPED, GO,        FAIL,    TRIPPED) \
	X(TRIPPED, REST_OVER, NOTHING, TRIPPED) \
	X(TRIPPED, CUT,       NOTHING, TRIPPED) \
	X(TRIPPED, TRIP,      NOTHING, TRIPPED) /* the first cause stays */ \
	X(TRIPPED, RESET,     CLEAR,   COAST)   /* the rest time may not be over */ \
	X(STILL,   ASK,       QUEUE,   WAIT) \
	X(STILL,   GO,        FAIL,    TRIPPED) \
	X(STILL,   REST_OVER, NOTHING, STILL) \
	X(STILL,   CUT,       NOTHING, STILL) \
	X(STILL,   TRIP,      TRIP,    TRIPPED) \
	X(STILL,   RESET,     NOTHING, STILL) \
	X(COAST,   ASK,       QUEUE,   WAIT) \
	X(COAST,   GO,        FAIL,    TRIPPED) \
	X(COAST,   REST_OVER, NOTHING, STILL) \
	X(COAST,   CUT,       NOTHING, COAST) \
	X(COAST,   TRIP,      TRIP,    TRIPPED) \
	X(COAST,   RESET,     NOTHING, COAST) \
	X(WAIT,    ASK,       QUEUE,   WAIT) \
	X(WAIT,    GO,        POWER,   RUN) \
	X(WAIT,    REST_OVER, NOTHING, WAIT) \
	X(WAIT,    CUT,       DROP,    COAST) \
	X(WAIT,    TRIP,      TRIP,    TRIPPED) \
	X(WAIT,    RESET,     NOTHING, WAIT) \
	X(RUN,     ASK,       TURN,    WAIT) \
	X(RUN,     GO,        FAIL,    TRIPPED) \
	X(RUN,     REST_OVER, NOTHING, RUN) \
	X(RUN,     CUT,       CUT,     COAST) \
	X(RUN,     TRIP,      TRIP,    TRIPPED) \
	X(RUN,     RESET,     NOTHING, RUN)
/* clang-format on */

static const struct transition table[TD_AXIS_STATES][TD_AXIS_EVENTS] = {
#define TD_X(state, event, action, next)                                                                     \
	[TD_AXIS_##state][TD_AXIS_##event] = {TD_DO_##action, TD_AXIS_##next},
	TRANSITIONS(TD_X)
#undef TD_X
};

enum {
#define TD_X(state, event, action, next) ROW_##state##_##event,
	TRANSITIONS(TD_X)
#undef TD_X
		ROWS
};
_Static_assert(ROWS == TD_AXIS_STATES * TD_AXIS_EVENTS, "every state answers every event");

static const struct transition off = {TD_DO_FAIL, TD_AXIS_TRIPPED};

static struct transition look_up(const struct td_axis *axis, const struct td_axis_input *input)
{
	unsigned int state = (unsigned int)axis->state;
	unsigned int event = (unsigned int)input->event;

	if (state >= TD_AXIS_STATES || event >= TD_AXIS_EVENTS)
		return off;
	if (axis->state == TD_AXIS_RUN && axis->way >= TD_WAYS)
		return off;
	if (input->event == TD_AXIS_ASK && input->way >= TD_WAYS)
		return off;
	return table[state][event];
}

static void cut(struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	if (axis->state != TD_AXIS_RUN)
		return;
	td_travel_commit(axis, rules, now_ns);
	axis->last_way = axis->way;
	axis->cut_ns = now_ns;
	if (axis->way < TD_WAYS)
		axis->way_cut_ns[axis->way] = now_ns;
	axis->unwritten = true;
}

static void take(struct td_axis *axis, const struct td_axis_input *input)
{
	axis->way = input->way;
	axis->hold = input->hold;
}

static void latch(struct td_axis *axis, enum td_cause cause)
{
	if (axis->trip == TD_CAUSE_NONE)
		axis->trip = cause == TD_CAUSE_NONE ? TD_CAUSE_INTERNAL : cause;
	axis->hold.lease_end_ns = 0;
}

static void perform(struct td_axis *axis, const struct td_axis_rules *rules,
		    const struct td_axis_input *input, enum td_axis_action action)
{
	switch (action) {
	case TD_DO_NOTHING: break;
	case TD_DO_TURN:
		cut(axis, rules, input->now_ns);
		take(axis, input);
		break;
	case TD_DO_QUEUE: take(axis, input); break;
	case TD_DO_POWER: axis->since_ns = input->now_ns; break;
	case TD_DO_CUT:
	case TD_DO_DROP:
		cut(axis, rules, input->now_ns);
		axis->hold.lease_end_ns = 0;
		break;
	case TD_DO_TRIP:
		cut(axis, rules, input->now_ns);
		latch(axis, input->cause);
		break;
	case TD_DO_CLEAR: axis->trip = TD_CAUSE_NONE; break;
	case TD_DO_FAIL:
	case TD_AXIS_ACTIONS:
	default:
		cut(axis, rules, input->now_ns);
		latch(axis, TD_CAUSE_INTERNAL);
		break;
	}
}

void td_axis_init(struct td_axis *axis, td_ns now_ns)
{
	*axis = (struct td_axis){
		.state = TD_AXIS_COAST,
		.trip = TD_CAUSE_NONE,
		.way = TD_NO_WAY,
		.last_way = TD_NO_WAY,
		.cut_ns = now_ns,
		.way_cut_ns = {now_ns, now_ns},
	};
}

enum td_axis_action td_axis_apply(struct td_axis *axis, const struct td_axis_rules *rules,
				  const struct td_axis_input *input)
{
	struct transition step = look_up(axis, input);

	perform(axis, rules, input, step.action);
	axis->state = step.next;
	if (axis->state != TD_AXIS_RUN && axis->state != TD_AXIS_WAIT)
		axis->way = TD_NO_WAY;
	return step.action;
}

void td_axis_written(struct td_axis *axis, td_ns now_ns)
{
	if (axis->unwritten && now_ns > axis->cut_ns) {
		axis->cut_ns = now_ns;
		if (axis->last_way < TD_WAYS)
			axis->way_cut_ns[axis->last_way] = now_ns;
	}
	axis->unwritten = false;
}

uint32_t td_axis_outputs(const struct td_axis *axis)
{
	if (axis->state != TD_AXIS_RUN || axis->way >= TD_WAYS)
		return 0;
	return UINT32_C(1) << axis->way;
}

bool td_axis_moving(const struct td_axis *axis, const struct td_axis_rules *rules, td_ns now_ns)
{
	return axis->state == TD_AXIS_RUN || now_ns < td_time_after(axis->cut_ns, rules->rest_ns);
}

td_ns td_axis_earliest(const struct td_axis *axis, const struct td_axis_rules *rules, uint8_t way)
{
	td_ns pause_ns = rules->dead_ns > rules->rest_ns ? rules->dead_ns : rules->rest_ns;

	if (axis->last_way < TD_WAYS)
		pause_ns = axis->last_way == way ? rules->rest_ns : rules->dead_ns;
	td_ns earliest_ns = td_time_after(axis->cut_ns, pause_ns);

	if (way >= TD_WAYS)
		return earliest_ns;
	/* The other way may have run since; that does not shorten the rest of this one. */
	td_ns rested_ns = td_time_after(axis->way_cut_ns[way], rules->rest_ns);

	return rested_ns > earliest_ns ? rested_ns : earliest_ns;
}

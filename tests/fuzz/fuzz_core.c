/* SPDX-License-Identifier: MIT */
/*
 * Any bytes as a rule set within the contract and a sequence of events; the monitor judges every step.
 *
 * The first line of the input chooses the rules, a byte each; the others are orders, a letter and its bytes. Bytes
 * that mean nothing where they stand are passed over, so an input can be laid out in lines.
 *
 *   t D      time passes, every deadline kept; T D: no deadline kept (the caller's breach)
 *   l S      switch S changes               q A W D S   session S asks for way W of axis A with lease D
 *   h A W D S H  the same, heard H ago      n A K       renews what axis A holds, K numbers on
 *   x A      releases it                    g S         session S is gone
 *   s A H    stop, heard H ago              k, K        latched stop, the same kept over a restart
 *   r A R    reset by role R                b A W       way W of axis A was locked before the restart
 *   a, d     arm, disarm                   c A R     role R says that axis A is cold
 *   L        lines lost                     v           all lines are read again
 *   w        what was cut is low on the lines
 *   u R      untwisted, says role R
 *   z ...    the next bytes are the event, whatever they are
 */
#include <string.h>

#include "core/core.h"
#include "core/monitor_parts.h"
#include "tests/fuzz/fuzz.h"

/* Deadlines can be a millisecond apart for hours: after so many steps none is kept any more. */
enum { AXES = 3, SWITCHES = 5, EVENTS_MAX = 2000, STEPS_MAX = 100000 };

struct source {
	const uint8_t *next;
	size_t left;
};

struct walk {
	struct source source;
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	struct td_monitor monitor;
	uint32_t levels;
	uint32_t holds;
	int steps;
};

static uint8_t byte(struct source *source)
{
	if (source->left == 0)
		return '0';
	source->left--;
	return *source->next++;
}

/* The digit 0 is 0, so that people can write inputs. */
static uint8_t below(struct source *source, uint8_t bound)
{
	return (uint8_t)((uint8_t)(byte(source) - '0') % bound);
}

static td_ns pick_ns(struct source *source, const td_ns *table, uint8_t count)
{
	return table[below(source, count)];
}

#define PICK(source, ...)                                                                                    \
	pick_ns(source, (const td_ns[]){__VA_ARGS__}, sizeof((const td_ns[]){__VA_ARGS__}) / sizeof(td_ns))

/* --- the rules ---------------------------------------------------------------------------------------- */

static void choose_switch(struct source *line, struct td_switch_rules *sw)
{
	sw->contact = (enum td_contact)below(line, 2);
	sw->pull = (enum td_pull)below(line, 2);
	sw->confirm_ns = PICK(line, TD_MS(2), 0, TD_MS(20), 1);
	sw->clear_ns = PICK(line, TD_MS(50), TD_CLEAR_MIN_NS, TD_MS(1000), TD_MS(5));
}

static void choose_way(struct source *line, struct td_way_rules *way, uint8_t axis, bool has_end)
{
	way->reach_ns = PICK(line, TD_MS(1000), TD_MS(10), TD_S(600), TD_MS(333) + 1, TD_S(5));
	way->limit_ns = way->reach_ns * PICK(line, 13, 10, 100, 20) / 10;
	way->early_ns = has_end ? way->reach_ns * PICK(line, 5, 0, 9, 1) / 10 : 0;
	way->leave_ns = PICK(line, TD_MS(300), TD_MS(10), TD_S(60));
	way->bars = below(line, 3);
	for (uint8_t i = 0; i < way->bars; i++)
		way->bar[i] = (struct td_bar){(enum td_bar_kind)below(line, 3),
					      (uint8_t)((axis + 1 + below(line, AXES - 1)) % AXES),
					      below(line, TD_WAYS)};
}

/* Switches 0 to 3 are the ends of axes 0 and 1 where these have any; the last one is the stop input. */
static void choose_axis(struct source *line, struct td_rules *rules, uint8_t axis)
{
	struct td_axis_rules *self = &rules->axis[axis];
	uint8_t ends = axis < 2 ? (uint8_t)(3 - below(line, 4)) : 0;

	self->dead_ns = PICK(line, TD_MS(250), TD_MS(5), TD_S(10), TD_MS(100));
	self->rest_ns = PICK(line, TD_MS(200), TD_MS(5), TD_S(60), TD_MS(400));
	self->restored_ns = ends == 0 ? PICK(line, 0, TD_S(2), TD_MS(1)) : 0;
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		bool has_end = (ends >> way & 1) != 0;

		self->way[way].end_switch = has_end ? (uint8_t)(axis * TD_WAYS + way) : TD_NO_SWITCH;
		choose_way(line, &self->way[way], axis, has_end);
	}
}

static void choose_warning(struct source *line, struct td_way_rules *way)
{
	uint32_t slower_ppm = (uint32_t)PICK(line, 0, 200000, 10000, TD_TREND_SLOWER_MAX_PPM);

	if (slower_ppm > 0 && way->end_switch != TD_NO_SWITCH)
		way->trend = (struct td_trend_rules){slower_ppm, slower_ppm / 2, (uint8_t)PICK(line, 3, 1)};
}

/* What watches without being asked; near the end of the line, so that a shorter one leaves it all out. */
static void choose_watches(struct source *line, struct td_rules *rules)
{
	for (uint8_t sw = 0; sw < SWITCHES; sw++) {
		struct td_chatter_rules *chatter = &rules->sw[sw].chatter;

		chatter->changes = (uint8_t)PICK(line, 0, TD_CHATTER_CHANGES_MIN, 6, TD_CHATTER_CHANGES_MAX);
		if (chatter->changes > 0)
			chatter->window_ns =
				PICK(line, TD_S(1), TD_CHATTER_WINDOW_MIN_NS, TD_CHATTER_WINDOW_MAX_NS);
	}
	for (uint8_t axis = 0; axis < AXES; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			choose_warning(line, &rules->axis[axis].way[way]);
}

/* Axis 2 drives, axis 0 steers. A sensor takes the switches of axis 0, which then may have no ends. */
static void choose_cable(struct source *line, struct td_cable_rules *cable)
{
	uint8_t source = below(line, 3);

	*cable = td_rules_any_cable();
	if (source == 0)
		return;
	cable->twist.source = source == 1 ? TD_TWIST_ESTIMATE : TD_TWIST_SENSOR;
	cable->drive = 2;
	cable->steering = 0;
	cable->left = below(line, TD_WAYS);
	cable->springs = below(line, 2);
	cable->twist.limit_uturn = (int32_t)PICK(line, 100000, 1, 1000000, TD_TWIST_LIMIT_MAX_UTURN);
	cable->twist.doubt_ppm = (uint32_t)PICK(line, 100000, 0, 1000000);
	cable->twist.steps_per_turn = (int32_t)PICK(line, 24, 1, TD_TWIST_STEPS_MAX);
	for (uint8_t way = 0; way < TD_WAYS; way++) {
		cable->contact[way] = way;
		for (int side = TD_TWIST_STRAIGHT; side < TD_TWIST_SIDES; side++)
			cable->twist.rate_ppm_s[way][side] = (int32_t)PICK(
				line, 0, 100000, -100000, TD_TWIST_RATE_MAX_PPM_S, -TD_TWIST_RATE_MAX_PPM_S);
	}
}

/* R12: what stands first limits nothing. */
static void choose_duty(struct source *line, struct td_duty_rules *duty)
{
	duty->inf_ppm = (uint32_t)PICK(line, 1000000, 1100000, 2000000, 20000000, 500000);
	duty->tau_on_ns = PICK(line, TD_S(600), TD_S(1), TD_S(20), TD_S(86400));
	duty->tau_off_ns = PICK(line, TD_S(600), TD_S(1), TD_S(20), TD_S(86400));
	duty->restart_ppm = (uint32_t)PICK(line, 1000000, 500000, 990000, 1);
	duty->least_ns = PICK(line, TD_MS(10), TD_MS(50), TD_MS(100));
	for (int span = 0; span < TD_BUDGET_SPANS; span++) {
		td_ns whole_ns = td_budget_span_ns((enum td_budget_span)span);

		duty->allowed_ns[span] = PICK(line, whole_ns, TD_MS(500), TD_S(3), whole_ns - 1);
	}
}

/* R13 */
static void choose_supply(struct source *line, struct td_supply_rules *supply)
{
	*supply = td_rules_any_supply(AXES);
	supply->budget_ma = (uint32_t)PICK(line, 3000, 2000, TD_SUPPLY_WEIGHT_MAX_MA);
	supply->gap_ns = PICK(line, 0, TD_MS(100), TD_MS(500), 1);
	for (uint8_t axis = 0; axis < AXES; axis++)
		supply->axis[axis] = (struct td_supply_axis_rules){
			.start_ma = (uint32_t)PICK(line, 0, 1000, 1500, 2000),
			.run_ma = (uint32_t)PICK(line, 0, 1, 800, 1000),
			.start_ns = PICK(line, TD_MS(300), 0, TD_S(2), TD_MS(100)),
		};
}

static bool choose_rules(struct source *line, struct td_rules *rules)
{
	memset(rules, 0, sizeof(*rules));
	rules->axes = AXES;
	rules->switches = SWITCHES;
	rules->stop_switch = below(line, 4) == 3 ? TD_NO_SWITCH : SWITCHES - 1;
	for (uint8_t sw = 0; sw < SWITCHES; sw++)
		choose_switch(line, &rules->sw[sw]);
	for (uint8_t axis = 0; axis < AXES; axis++)
		choose_axis(line, rules, axis);
	rules->visitor_resets = (uint8_t)PICK(line, 3, 0, TD_VISITOR_RESETS_MAX, 1);
	choose_watches(line, rules);
	choose_cable(line, &rules->cable);
	for (uint8_t axis = 0; axis < AXES; axis++)
		choose_duty(line, &rules->axis[axis].duty);
	choose_supply(line, &rules->supply);
	/* A condition may name an end that has no switch, a duty be too hot, a running weight beyond the starting one. */
	return td_rules_check(rules).fault == TD_RULES_OK;
}

static struct source first_line(struct source *source)
{
	const uint8_t *end = source->left > 0 ? memchr(source->next, '\n', source->left) : NULL;
	struct source line = {source->next, end ? (size_t)(end - source->next) : source->left};

	source->next += line.left;
	source->left -= line.left;
	return line;
}

/* --- the events --------------------------------------------------------------------------------------- */

static td_ns span(struct source *source)
{
	return PICK(source, TD_MS(100), 1, TD_US(100), TD_MS(1), TD_MS(2), TD_MS(5), TD_MS(20), TD_MS(50),
		    TD_MS(199), TD_MS(250), TD_MS(300), TD_MS(500), TD_S(1), TD_S(2), TD_S(7), TD_S(70));
}

static void judge(struct walk *walk)
{
	struct td_verdict verdict;

	if (!td_monitor_judge(&walk->monitor, &walk->rules, walk->core.now_ns, walk->result.outputs,
			      &verdict)) {
		(void)fprintf(stderr, "fuzz: R%u axis %u way %u at %lld ns, %lld of %lld ns\n", verdict.rule,
			      verdict.axis, verdict.way, (long long)verdict.at_ns,
			      (long long)verdict.measured_ns, (long long)verdict.bound_ns);
		must(false, td_breach_info(verdict.breach)->sentence);
	}
}

/* What the monitor holds for certain is so, powered or not. */
static void judge_certainties(const struct walk *walk)
{
	const struct td_twist_view view = td_core_view_twist(&walk->core, &walk->rules);

	for (uint8_t axis = 0; axis < AXES; axis++)
		must(!walk->monitor.axis[axis].tripped || walk->core.axis[axis].state == TD_AXIS_TRIPPED,
		     "an axis that is known to have tripped has");
	for (uint8_t way = 0; way < TD_WAYS; way++)
		must(!td_monitor_twists(&walk->monitor, &walk->rules, walk->rules.cable.drive, way) ||
			     (view.blocked >> way & 1) != 0,
		     "a way that is known to add too much twist does");
}

/* R18 */
static void judge_twist(const struct walk *walk)
{
	const struct td_twist_view view = td_core_view_twist(&walk->core, &walk->rules);
	uint8_t drive = walk->rules.cable.drive;

	must(!view.counted || (walk->result.outputs >> drive * TD_WAYS & view.blocked) == 0,
	     "what would add twist beyond the limit is not powered");
}

static void step(struct walk *walk, struct td_event event)
{
	td_ns before_ns = walk->core.now_ns;

	walk->steps++;
	td_core_step(&walk->core, &walk->rules, &event, &walk->result);
	td_monitor_see(&walk->monitor, &walk->rules, &event);
	judge(walk);
	judge_twist(walk);
	judge_certainties(walk);
	must(walk->core.now_ns >= before_ns, "time never runs backwards");
	must(walk->result.news_lost == 0, "no news is lost");
	must(walk->result.deadline_ns > walk->core.now_ns, "the next deadline is ahead");
	for (uint8_t axis = 0; axis < AXES; axis++)
		must(walk->core.axis[axis].trip != TD_CAUSE_INTERNAL, "no state is impossible");
}

static void now(struct walk *walk, struct td_event event)
{
	event.at_ns = walk->core.now_ns;
	step(walk, event);
}

static void time_passes(struct walk *walk, bool deadlines_kept)
{
	td_ns to_ns = td_time_after(walk->core.now_ns, span(&walk->source));

	if (to_ns == TD_NEVER)
		return;
	while (deadlines_kept && walk->steps < STEPS_MAX && walk->result.deadline_ns < to_ns)
		step(walk, (struct td_event){.at_ns = walk->result.deadline_ns});
	step(walk, (struct td_event){.at_ns = to_ns});
}

static void read_levels(struct walk *walk)
{
	now(walk, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = walk->levels});
}

static td_ns ago(struct walk *walk)
{
	return walk->core.now_ns - span(&walk->source);
}

static void ask(struct walk *walk, bool late)
{
	struct source *source = &walk->source;
	struct td_event event = {.kind = TD_EVENT_REQUEST,
				 .axis = below(source, AXES),
				 .way = below(source, TD_WAYS),
				 .hold = ++walk->holds};

	event.lease_ns = PICK(source, TD_MS(300), TD_LEASE_MIN_NS, TD_LEASE_MAX_NS, TD_LEASE_MAX_NS + 1);
	event.session = 1U + below(source, 3);
	if (late)
		event.heard_ns = ago(walk);
	now(walk, event);
}

static void renew(struct walk *walk)
{
	uint8_t axis = below(&walk->source, AXES);
	const struct td_axis *self = &walk->core.axis[axis];

	now(walk, (struct td_event){.kind = TD_EVENT_REQUEST,
				    .axis = axis,
				    .way = self->way,
				    .session = self->hold.session,
				    .hold = self->hold.number,
				    .seq = self->hold.seq + below(&walk->source, 3),
				    .lease_ns = TD_MS(300)});
}

static void let_go(struct walk *walk)
{
	uint8_t axis = below(&walk->source, AXES);
	const struct td_hold *hold = &walk->core.axis[axis].hold;

	now(walk,
	    (struct td_event){
		    .kind = TD_EVENT_RELEASE, .axis = axis, .session = hold->session, .hold = hold->number});
}

static uint8_t some_axis(struct source *source)
{
	uint8_t axis = below(source, AXES + 2);

	return axis == AXES ? (uint8_t)TD_ALL_AXES : axis;
}

static void raw_event(struct walk *walk)
{
	struct td_event event = {.kind = TD_EVENT_TIME};
	unsigned char *to = (unsigned char *)&event;

	for (size_t i = 0; i < sizeof(event); i++)
		to[i] = byte(&walk->source);
	if (event.kind == TD_EVENT_BREACH) /* that is no state to be in */
		event.kind = TD_EVENT_TIME;
	step(walk, event);
	if (event.kind == TD_EVENT_LEVELS)
		walk->levels = event.levels;
}

static void order(struct walk *walk, uint8_t letter)
{
	struct source *source = &walk->source;
	struct td_event event = {.kind = TD_EVENT_TIME};

	switch (letter) {
	case 'g':
		event.kind = below(source, 2) ? TD_EVENT_TURN_OVER : TD_EVENT_GONE;
		event.session = 1U + below(source, 3);
		break;
	case 's':
		event.kind = TD_EVENT_STOP;
		event.axis = some_axis(source);
		event.heard_ns = ago(walk);
		break;
	case 'r':
	case 'c':
		event.kind = letter == 'r' ? TD_EVENT_RESET : TD_EVENT_COOLED;
		event.axis = some_axis(source);
		event.role = below(source, 3) == 2 ? TD_ROLE_VISITOR : TD_ROLE_KEEPER;
		break;
	case 'b':
		event.kind = TD_EVENT_LOCK_KEPT;
		event.axis = some_axis(source);
		event.way = below(source, TD_WAYS + 1);
		break;
	case 'k': event.kind = TD_EVENT_LATCH; break;
	case 'K': event.kind = TD_EVENT_LATCH_KEPT; break;
	case 'a': event.kind = TD_EVENT_ARM; break;
	case 'd': event.kind = TD_EVENT_DISARM; break;
	case 'L': event.kind = TD_EVENT_LINES_LOST; break;
	case 'w': event.kind = TD_EVENT_WRITTEN; break;
	case 'u':
		event.kind = TD_EVENT_UNTWISTED;
		event.role = below(source, 3) == 2 ? TD_ROLE_VISITOR : TD_ROLE_KEEPER;
		break;
	default: return;
	}
	now(walk, event);
}

static void next_event(struct walk *walk)
{
	uint8_t letter = byte(&walk->source);

	switch (letter) {
	case 't':
	case 'T': time_passes(walk, letter == 't'); break;
	case 'l': walk->levels ^= UINT32_C(1) << below(&walk->source, SWITCHES); /* fall through */
	case 'v': read_levels(walk); break;
	case 'q':
	case 'h': ask(walk, letter == 'h'); break;
	case 'n': renew(walk); break;
	case 'x': let_go(walk); break;
	case 'z': raw_event(walk); break;
	default: order(walk, letter); break;
	}
}

static uint32_t all_clear(const struct td_rules *rules)
{
	uint32_t word = 0;

	for (uint8_t sw = 0; sw < rules->switches; sw++)
		if (!td_switch_reads_active(&rules->sw[sw], true))
			word |= UINT32_C(1) << sw;
	return word;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct walk walk;

	memset(&walk, 0, sizeof(walk));
	walk.source = (struct source){bytes, count};
	struct source line = first_line(&walk.source);

	if (!choose_rules(&line, &walk.rules))
		return -1;
	walk.levels = all_clear(&walk.rules);
	walk.result.deadline_ns = TD_NEVER;
	td_core_init(&walk.core, &walk.rules, TD_S(1));
	td_monitor_init(&walk.monitor, &walk.rules, TD_S(1));
	for (int i = 0; i < EVENTS_MAX && walk.source.left > 0; i++)
		next_event(&walk);
	return 0;
}

/* SPDX-License-Identifier: MIT */
/* Why it stopped: for each cause, what was measured against what the configuration allows. */
#include <inttypes.h>

#include "daemon/retell/words.h"

static void why(struct td_telling *self, const char *text)
{
	td_tell(self, TD_TALE_WHY, "%s", text);
}

static const char *axis_word(const struct td_telling *self)
{
	return td_axis_word(self, self->account->axis);
}

static const char *way_word(const struct td_telling *self)
{
	return td_way_word(self, self->account->axis, self->account->way);
}

static uint8_t other_way(const struct td_telling *self)
{
	return self->account->way < TD_WAYS ? (uint8_t)(1 - self->account->way) : (uint8_t)TD_NO_WAY;
}

static td_ns run_ns(const struct td_telling *self)
{
	const struct td_account *account = self->account;

	if (account->axis >= TD_AXES_MAX)
		return 0;
	const struct td_account_axis *axis = &account->before.axis[account->axis];
	return td_time_between(axis->since_ns, axis->state == TD_AXIS_RUN || axis->cut_ns < 0 ? account->at_ns
											      : axis->cut_ns);
}

/* "raise had been powered for 2.60 s since the boom left its other end". */
static void tell_spent(struct td_telling *self)
{
	const struct td_account_measure *measure = &self->account->measure;
	char span[TD_SPAN_MAX];

	if (!measure->known)
		td_tell_more(self,
			     "%s had been powered for %s without a break, and before that for a time that "
			     "this trace does not tell",
			     way_word(self), td_span(run_ns(self), span));
	else if (measure->located)
		td_tell_more(self, "%s had been powered for %s in all since the %s left its other end",
			     way_word(self), td_span(measure->spent_ns, span), axis_word(self));
	else
		td_tell_more(
			self,
			"%s had been powered for %s in all from a place that nobody knew (no end was seen "
			"since the start or the last trip)",
			way_word(self), td_span(measure->spent_ns, span));
}

/* --- trips ------------------------------------------------------------------------------------------ */

static void travel_limit(struct td_telling *self)
{
	const struct td_way_rules *rules = td_way_of_account(self);
	char allowed[TD_SPAN_MAX];
	char learned[TD_SPAN_MAX];

	if (!rules || rules->reach_ns <= 0)
		return;
	td_tell(self, TD_TALE_WHY, "%s did not become active: ", td_switch_word(self, rules->end_switch));
	tell_spent(self);
	td_tell_more(self, "; %s are allowed, %" PRId64 " %% of the travel time of %s",
		     td_span(rules->limit_ns, allowed),
		     (rules->limit_ns * 100 + rules->reach_ns / 2) / rules->reach_ns,
		     td_span(rules->reach_ns, learned));
}

static void leave_limit(struct td_telling *self)
{
	const struct td_way_rules *rules = td_way_of_account(self);
	char allowed[TD_SPAN_MAX];

	if (!rules)
		return;
	td_tell(self, TD_TALE_WHY,
		"%s was still active: ", td_switch_word(self, td_end_of_account(self, other_way(self))));
	tell_spent(self);
	td_tell_more(self, "; it must be clear after %s", td_span(rules->leave_ns, allowed));
}

static void both_ends(struct td_telling *self)
{
	const struct td_account *account = self->account;

	td_tell(self, TD_TALE_WHY, "%s and %s were active at once; the %s cannot be at both its ends",
		td_switch_word(self, td_end_of_account(self, 0)),
		td_switch_word(self, td_end_of_account(self, 1)), axis_word(self));
	if (account->axis < TD_AXES_MAX && account->before.axis[account->axis].state != TD_AXIS_RUN)
		td_tell_more(self, "; nothing was powered at that moment");
}

static void end_too_early(struct td_telling *self)
{
	const struct td_way_rules *rules = td_way_of_account(self);
	char least[TD_SPAN_MAX];

	if (!rules)
		return;
	td_tell(self, TD_TALE_WHY, "%s became active too early: ", td_switch_word(self, rules->end_switch));
	tell_spent(self);
	td_tell_more(self, "; in less than %s the end cannot be reached", td_span(rules->early_ns, least));
}

static void wrong_end(struct td_telling *self)
{
	td_tell(self, TD_TALE_WHY, "%s, the end switch of %s, became active while %s was powered",
		td_switch_word(self, td_end_of_account(self, other_way(self))),
		td_way_word(self, self->account->axis, other_way(self)), way_word(self));
}

static void lines_lost(struct td_telling *self)
{
	why(self,
	    "the lines could not be read or written any more; everything went off, and what is said of the "
	    "switches here is what was read last");
}

static void internal(struct td_telling *self)
{
	if (self->account->event.kind == TD_EVENT_BREACH)
		why(self, "the second judge kept a word of outputs from being written, because it would have "
			  "broken "
			  "a rule; the log of the daemon names the rule");
	else
		why(self, "the core came to a state that cannot be, and turned everything off");
}

/* The end switches of the axis that chatter; where nobody knows, both are named. */
static void chatter(struct td_telling *self)
{
	const struct td_account_measure *measure = &self->account->measure;
	bool told = false;

	for (uint8_t way = 0; way < TD_WAYS; way++) {
		uint8_t sw = td_end_of_account(self, way);
		char window[TD_SPAN_MAX];

		if (sw >= TD_SWITCHES_MAX || (measure->known && (measure->chatters >> sw & 1) == 0))
			continue;
		const struct td_chatter_rules *rules = &self->config->rules.sw[sw].chatter;
		td_tell(self, TD_TALE_WHY,
			"%s%s changed more than %u times within %s; changes within 20 ms count once",
			told ? "or " : "", td_switch_word(self, sw), rules->changes,
			td_span(rules->window_ns, window));
		told = !measure->known;
	}
}

/* --- stops ------------------------------------------------------------------------------------------ */

static const struct td_account_hold *hold_of(const struct td_telling *self)
{
	static const struct td_account_hold nobody = {.by.role = TD_NO_ROLE};

	return self->account->axis < TD_AXES_MAX ? &self->account->before.axis[self->account->axis].hold
						 : &nobody;
}

static void let_go(struct td_telling *self)
{
	char who[TD_WHO_MAX];

	td_tell(self, TD_TALE_WHY, "%s let go", td_who(&hold_of(self)->by, who));
}

static void lease_out(struct td_telling *self)
{
	const struct td_account_hold *hold = hold_of(self);
	char since[TD_SPAN_MAX];
	char lease[TD_SPAN_MAX];

	if (hold->lease_ns == 0)
		why(self, "it was not renewed in time");
	else
		td_tell(self, TD_TALE_WHY, "the last %s was heard %s before, and it was good for %s",
			hold->renewals > 0 ? "renewal" : "request",
			td_span(td_time_between(hold->heard_ns, self->account->at_ns), since),
			td_span(hold->lease_ns, lease));
}

static void client_gone(struct td_telling *self)
{
	char who[TD_WHO_MAX];

	td_tell(self, TD_TALE_WHY, "the connection of %s ended while it held the way",
		td_who(&hold_of(self)->by, who));
}

static void turn_over(struct td_telling *self)
{
	char who[TD_WHO_MAX];

	td_tell(self, TD_TALE_WHY, "the turn of %s ended while it held the way",
		td_who(&hold_of(self)->by, who));
}

static void stop_asked(struct td_telling *self)
{
	const struct td_event *event = &self->account->event;
	char who[TD_WHO_MAX];

	td_tell(self, TD_TALE_WHY, "%s asked for a stop of %s", td_who(&self->account->by, who),
		event->axis < self->config->axes ? td_axis_word(self, event->axis) : "everything");
}

static void end_reached(struct td_telling *self)
{
	td_tell(self, TD_TALE_WHY,
		"%s was active: ", td_switch_word(self, td_end_of_account(self, self->account->way)));
	tell_spent(self);
}

static void hold_limit(struct td_telling *self)
{
	const struct td_way_rules *rules = td_way_of_account(self);
	char allowed[TD_SPAN_MAX];

	if (!rules)
		return;
	td_tell(self, TD_TALE_WHY, "%s has no end switch, so time is the limit: %s is its whole stroke",
		way_word(self), td_span(rules->limit_ns, allowed));
}

static bool moves(const struct td_account *account, uint8_t axis)
{
	return axis < TD_AXES_MAX && (account->before.axis[axis].state == TD_AXIS_RUN ||
				      account->before.axis[axis].state == TD_AXIS_COAST);
}

static bool end_active(const struct td_telling *self, const struct td_bar *bar)
{
	uint8_t sw = bar->axis < self->config->axes && bar->way < TD_WAYS
			     ? self->config->rules.axis[bar->axis].way[bar->way].end_switch
			     : (uint8_t)TD_NO_SWITCH;

	return sw < TD_SWITCHES_MAX && self->account->before.sw[sw].active;
}

static void tell_bar(struct td_telling *self, const struct td_bar *bar)
{
	const char *axis = td_axis_word(self, bar->axis);
	const char *end = td_way_word(self, bar->axis, bar->way);

	if (bar->kind == TD_BAR_MOVING)
		td_tell(self, TD_TALE_WHY, "%s is barred while the %s moves, and it %s", way_word(self), axis,
			moves(self->account, bar->axis) ? "moved" : "was about to");
	else if (bar->kind == TD_BAR_AT_END)
		td_tell(self, TD_TALE_WHY, "%s is barred while the %s is at its end \"%s\", and it %s",
			way_word(self), axis, end,
			end_active(self, bar) ? "was" : "was not known to be elsewhere");
	else
		td_tell(self, TD_TALE_WHY, "%s is barred unless the %s is at its end \"%s\", and it %s",
			way_word(self), axis, end,
			end_active(self, bar) ? "was not trusted to be" : "was not");
}

static bool is_violated(const struct td_telling *self, const struct td_bar *bar)
{
	if (bar->kind == TD_BAR_MOVING)
		return moves(self->account, bar->axis);
	return end_active(self, bar) == (bar->kind == TD_BAR_AT_END);
}

static void barred(struct td_telling *self)
{
	const struct td_way_rules *rules = td_way_of_account(self);
	bool told = false;

	if (!rules)
		return;
	for (uint8_t i = 0; i < rules->bars && i < TD_BARS_MAX; i++) {
		if (!is_violated(self, &rules->bar[i]))
			continue;
		tell_bar(self, &rules->bar[i]);
		told = true;
	}
	for (uint8_t i = 0; !told && i < rules->bars && i < TD_BARS_MAX; i++)
		tell_bar(self, &rules->bar[i]);
}

static void disarmed(struct td_telling *self)
{
	why(self,
	    "the machine was disarmed: a condition of motion was no longer met, or nobody heard requests any "
	    "more");
}

static void tell_budget(struct td_telling *self, int span, const char *words)
{
	const struct td_account *account = self->account;
	td_ns allowed_ns = self->config->rules.axis[account->axis].duty.allowed_ns[span];
	char spent[TD_SPAN_MAX];
	char allowed[TD_SPAN_MAX];

	td_tell(self, TD_TALE_WHY, "the motor had been powered for %s of the last %s; %s are allowed",
		td_span(account->measure.powered_ns[span], spent), words, td_span(allowed_ns, allowed));
}

static void duty_cut(struct td_telling *self)
{
	const struct td_account_measure *measure = &self->account->measure;
	char run[TD_SPAN_MAX];

	switch (measure->known ? measure->limit : TD_DUTY_FREE) {
	case TD_DUTY_HEAT:
		td_tell(self, TD_TALE_WHY,
			"by the model of its winding the motor was at %" PRIu32
			" %% of the rise in temperature that its "
			"rating allows",
			(measure->theta_ppm + 5000) / 10000);
		break;
	case TD_DUTY_MINUTE: tell_budget(self, TD_BUDGET_MINUTE, "minute"); break;
	case TD_DUTY_TEN_MINUTES: tell_budget(self, TD_BUDGET_TEN_MINUTES, "ten minutes"); break;
	case TD_DUTY_DAY: tell_budget(self, TD_BUDGET_DAY, "24 hours"); break;
	case TD_DUTY_FREE:
		td_tell(self, TD_TALE_WHY,
			"its duty was used up; it had last been powered for %s, and this trace does not tell "
			"how warm "
			"the motor was before",
			td_span(run_ns(self), run));
		break;
	}
}

static double degrees(int64_t uturn)
{
	return (double)uturn * 360e-6;
}

static void twist_cut(struct td_telling *self)
{
	const struct td_twist_view *twist = &self->account->measure.twist;
	double limit = degrees(self->config->rules.cable.twist.limit_uturn);

	if (!self->account->measure.known)
		td_tell(self, TD_TALE_WHY, "the cable was at its limit of %.0f degrees", limit);
	else
		td_tell(self, TD_TALE_WHY,
			"the cable was twisted by %.0f degrees to the %s, give or take %.0f; %.0f to either "
			"side are "
			"allowed",
			degrees(twist->net_uturn < 0 ? -twist->net_uturn : twist->net_uturn),
			twist->net_uturn < 0 ? "right" : "left", degrees(twist->doubt_uturn), limit);
}

/* --- the latched stop ------------------------------------------------------------------------------- */

static void latch_asked(struct td_telling *self)
{
	char who[TD_WHO_MAX];

	td_tell(self, TD_TALE_WHY, "%s made the latched stop", td_who(&self->account->by, who));
}

static void latch_input(struct td_telling *self)
{
	uint8_t sw = self->config->rules.stop_switch;
	bool active = sw < TD_SWITCHES_MAX && self->account->before.sw[sw].active;

	td_tell(self, TD_TALE_WHY, "%s, the emergency-stop input, %s", td_switch_word(self, sw),
		active ? "was active: the wired emergency stop was used, or its wire is broken"
		       : "changed more often than a sound contact can");
}

static void latch_kept(struct td_telling *self)
{
	why(self, "the latched stop was on when the daemon ended, and so it was on when it started again");
}

static void latched(struct td_telling *self)
{
	why(self, "the latched stop was on");
}

/* Another trip that was still there when this one came. */
static void tell_earlier(struct td_telling *self)
{
	const struct td_account_earlier *earlier = &self->account->earlier;
	char span[TD_SPAN_MAX];

	if (earlier->cause != TD_CAUSE_NONE)
		td_tell(self, TD_TALE_WHY, "%s before it, the %s had tripped and was not reset: %s (%s)",
			td_span(earlier->before_ns, span), td_axis_word(self, earlier->axis),
			td_cause_info(earlier->cause)->sentence, td_cause_info(earlier->cause)->name);
}

/* X(CAUSE, function): every cause that stops, and nothing else; a test compares it with the list of causes. */
#define TD_WHY_TABLE(X)                                                                                      \
	X(TRAVEL_LIMIT, travel_limit)                                                                        \
	X(LEAVE_LIMIT, leave_limit)                                                                          \
	X(BOTH_ENDS, both_ends)                                                                              \
	X(END_TOO_EARLY, end_too_early)                                                                      \
	X(WRONG_END, wrong_end)                                                                              \
	X(LINES_LOST, lines_lost)                                                                            \
	X(INTERNAL, internal)                                                                                \
	X(CHATTER, chatter)                                                                                  \
	X(LET_GO, let_go)                                                                                    \
	X(LEASE_OUT, lease_out)                                                                              \
	X(CLIENT_GONE, client_gone)                                                                          \
	X(TURN_OVER, turn_over)                                                                              \
	X(STOP_ASKED, stop_asked)                                                                            \
	X(END_REACHED, end_reached)                                                                          \
	X(HOLD_LIMIT, hold_limit)                                                                            \
	X(BARRED, barred)                                                                                    \
	X(LATCH_CUT, latched)                                                                                \
	X(DISARMED_CUT, disarmed)                                                                            \
	X(DUTY_CUT, duty_cut)                                                                                \
	X(TWIST_CUT, twist_cut)                                                                              \
	X(LATCH_ASKED, latch_asked)                                                                          \
	X(LATCH_INPUT, latch_input)                                                                          \
	X(LATCH_KEPT, latch_kept)                                                                            \
	X(DISARMED, disarmed)

void td_tell_why(struct td_telling *self)
{
	static const struct {
		enum td_cause cause;
		void (*tell)(struct td_telling *self);
	} table[] = {
#define TD_X(ident, function) {TD_CAUSE_##ident, function},
		TD_WHY_TABLE(TD_X)
#undef TD_X
	};
	size_t lines = self->tale->lines;

	for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); i++)
		if (table[i].cause == self->account->cause)
			table[i].tell(self);
	if (self->tale->lines == lines)
		why(self, td_cause_info(self->account->cause)->sentence);
	tell_earlier(self);
}

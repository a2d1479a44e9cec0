/* SPDX-License-Identifier: MIT */
#include "trace/account.h"

#include <string.h>

#include "core/travel.h"
#include "trace/account_parts.h"

/* --- beginning -------------------------------------------------------------------------------------- */

void td_account_begin(struct td_accountant *self, enum td_account_want want)
{
	memset(self, 0, sizeof(*self));
	self->want = want;
	self->step_number = UINT64_MAX;
	self->told_number = UINT64_MAX;
	self->told_ns = -1;
}

void td_account_head(struct td_accountant *self, const struct td_config *config, const struct td_core *core,
		     uint32_t levels, td_ns begin_ns, int64_t wall_ns, uint64_t first_number)
{
	self->config = *config;
	self->begin_ns = begin_ns;
	self->wall_begin_ns = wall_ns;
	self->beside = core != NULL;
	if (core)
		self->core = *core;
	td_account_view_begin(&self->now, config, core, levels, begin_ns);
	td_account_join(self, first_number);
	self->numbered = true;
	self->next_number = first_number;
	self->step_number = UINT64_MAX;
	self->told_number = UINT64_MAX;
}

void td_account_keep(struct td_accountant *self)
{
	self->kept = true;
}

void td_account_lost(struct td_accountant *self)
{
	self->beside = false;
}

/* --- a step ----------------------------------------------------------------------------------------- */

/* The core beside takes the same event; one that comes to something else is no help any more. */
static void step_beside(struct td_accountant *self, const struct td_entry_step *step)
{
	struct td_result result;

	if (!self->beside)
		return;
	if (step->news > 0)
		self->earlier = self->core;
	td_core_step(&self->core, &self->config.rules, &step->event, &result);
	self->beside = result.outputs == step->outputs && result.news_count == step->news &&
		       result.answer == (enum td_cause)step->answer && self->core.latch == step->latch;
}

static void take_step(struct td_accountant *self, const struct td_entry *entry)
{
	memcpy(self->axis_before, self->now.axis, sizeof(self->axis_before));
	self->latch_before = self->now.latch;
	self->event = entry->as.step.event;
	self->step_number = entry->number;
	step_beside(self, &entry->as.step);
	td_account_view_step(&self->now, &self->config, entry);
	td_ns after_ns = td_account_after(self, entry->at_ns);

	if (!self->account.found || after_ns < self->account.lasts_ns)
		return;
	self->account.lasts_ns = after_ns;
	self->lasts_end = entry->number + 1 + entry->as.step.news;
}

/* --- clients ---------------------------------------------------------------------------------------- */

static void take_session(struct td_accountant *self, const struct td_entry_session *session)
{
	if (session->came)
		self->session[self->sessions++ % TD_ACCOUNT_SESSIONS_MAX] =
			(struct td_account_who){.session = session->session,
						.role = session->role,
						.has_uid = true,
						.uid = session->uid};
}

/* --- the stop --------------------------------------------------------------------------------------- */

static bool is_stop(enum td_cause cause)
{
	switch (td_cause_kind(cause)) {
	case TD_KIND_TRIP: return true;
	case TD_KIND_STOP: return cause != TD_CAUSE_REPLACED;
	case TD_KIND_MACHINE:
		return cause == TD_CAUSE_LATCH_ASKED || cause == TD_CAUSE_LATCH_INPUT ||
		       cause == TD_CAUSE_LATCH_KEPT || cause == TD_CAUSE_DISARMED;
	case TD_KIND_NONE:
	case TD_KIND_MOVE:
	case TD_KIND_REFUSAL:
	case TD_KIND_NOTE: break;
	}
	return false;
}

static bool is_wanted(const struct td_accountant *self, enum td_cause cause)
{
	return self->want == TD_ACCOUNT_TRIP ? td_cause_kind(cause) == TD_KIND_TRIP : is_stop(cause);
}

static uint8_t way_of(const struct td_account_axis *axis)
{
	return axis->state == TD_AXIS_WAIT ? axis->hold.way : axis->way;
}

static void measure_axis(struct td_account_measure *measure, const struct td_accountant *self, uint8_t axis,
			 uint8_t way, td_ns at_ns)
{
	const struct td_axis_rules *rules = &self->config.rules.axis[axis];
	const struct td_duty *duty = &self->earlier.duty[axis];

	measure->located = self->earlier.axis[axis].located;
	measure->spent_ns = td_travel_spent(&self->earlier.axis[axis], rules, way, at_ns);
	measure->limit = td_duty_cut(duty, &rules->duty).limit;
	measure->theta_ppm = td_duty_theta_ppm(duty, &rules->duty, at_ns);
	for (int span = 0; span < TD_BUDGET_SPANS; span++)
		measure->powered_ns[span] = td_duty_spent_ns(duty, (enum td_budget_span)span, at_ns);
}

static struct td_account_measure measure(const struct td_accountant *self, uint8_t axis, uint8_t way,
					 td_ns at_ns)
{
	struct td_account_measure measure = {.known = self->beside};

	if (!self->beside)
		return measure;
	measure.chatters = td_core_chatters(&self->core, &self->config.rules);
	measure.twist = td_core_view_twist(&self->core, &self->config.rules);
	if (axis != TD_NO_AXIS)
		measure_axis(&measure, self, axis, way, at_ns);
	return measure;
}

/* A trip that was not reset yet, and that may have to do with the one to come. */
static struct td_account_earlier earlier_trip(const struct td_accountant *self, td_ns at_ns)
{
	const struct td_account *old = &self->account;

	if (!old->found || old->reset || old->restarted || td_cause_kind(old->cause) != TD_KIND_TRIP ||
	    self->told_number == self->step_number)
		return (struct td_account_earlier){TD_CAUSE_NONE, TD_NO_AXIS, 0};
	return (struct td_account_earlier){old->cause, old->axis, td_account_after(self, at_ns)};
}

static void begin_account(struct td_accountant *self, enum td_cause cause, uint8_t axis, td_ns at_ns)
{
	struct td_account *account = &self->account;

	const struct td_account_earlier earlier = earlier_trip(self, at_ns);

	memset(account, 0, sizeof(*account));
	account->found = true;
	account->earlier = earlier;
	account->cause = cause;
	account->axis = axis < self->config.axes ? axis : (uint8_t)TD_NO_AXIS;
	account->way = TD_NO_WAY;
	account->at_ns = at_ns;
	account->into_ns = td_time_between(self->begin_ns, at_ns);
	account->wall_ns = self->wall_begin_ns > 0 ? td_time_after(self->wall_begin_ns, account->into_ns) : 0;
	account->event = self->event;
	account->by = td_account_who_is(self, self->event.session, TD_NO_ROLE);
	account->before = self->now;
	memcpy(account->before.axis, self->axis_before, sizeof(self->axis_before));
	account->before.latch = self->latch_before;
	for (uint8_t i = 0; i < TD_AXES_MAX; i++)
		account->before.axis[i].hold.by = td_account_who_is(
			self, account->before.axis[i].hold.by.session, account->before.axis[i].hold.by.role);
	if (account->axis != TD_NO_AXIS)
		account->way = way_of(&account->before.axis[account->axis]);
	account->measure = measure(self, account->axis, account->way, at_ns);
	self->told_number = self->step_number;
	self->told_ns = -1;
	self->lasts_end = self->next_number;
}

static bool was_powered(const struct td_accountant *self, uint8_t axis)
{
	return axis < TD_AXES_MAX && self->axis_before[axis].state == TD_AXIS_RUN;
}

/* Of one step, a trip goes before a mere stop, and of several trips one that was powered before one that was not. */
static bool is_graver(const struct td_accountant *self, enum td_cause cause, uint8_t axis)
{
	const struct td_account *told = &self->account;
	bool trip = td_cause_kind(cause) == TD_KIND_TRIP;

	if (td_cause_kind(told->cause) != TD_KIND_TRIP)
		return trip;
	return trip && was_powered(self, axis) && !was_powered(self, told->axis);
}

/* The first of a step is the account's, unless a graver one follows; the others are taken along. */
static void take_stop(struct td_accountant *self, enum td_cause cause, uint8_t axis, td_ns at_ns)
{
	struct td_account *account = &self->account;
	bool same_step = account->found && self->told_number == self->step_number;
	uint32_t others = same_step ? account->others : 0;

	if (same_step && !is_graver(self, cause, axis)) {
		if (axis < TD_AXES_MAX && axis != account->axis)
			account->others |= UINT32_C(1) << axis;
		return;
	}
	if (same_step && account->axis < TD_AXES_MAX && account->axis != axis)
		others |= UINT32_C(1) << account->axis;
	begin_account(self, cause, axis, at_ns);
	account->others = others;
}

/* --- entries ---------------------------------------------------------------------------------------- */

/* By the trace before, which this one overlaps. */
static bool was_told(const struct td_accountant *self, const struct td_entry *entry)
{
	td_ns after_ns = td_account_after(self, entry->at_ns);

	return after_ns < self->told_ns || (after_ns == self->told_ns && entry->number < self->told_end);
}

static void take_news(struct td_accountant *self, const struct td_entry *entry)
{
	enum td_cause cause = entry->as.news.cause;
	uint8_t axis = entry->as.news.axis;

	if (self->account.found && was_told(self, entry))
		return;
	if (is_wanted(self, cause) && !self->kept)
		take_stop(self, cause, axis, entry->at_ns);
	else
		td_account_later(self, cause, axis, entry->at_ns);
}

/* Entries of the core are numbered without gaps. */
static void check_number(struct td_accountant *self, uint64_t number)
{
	if (number != self->next_number)
		td_account_lost(self);
	self->next_number = number + 1;
}

void td_account_entry(struct td_accountant *self, const struct td_entry *entry)
{
	switch (entry->kind) {
	case TD_ENTRY_STEP:
		check_number(self, entry->number);
		take_step(self, entry);
		break;
	case TD_ENTRY_NEWS:
		check_number(self, entry->number);
		take_news(self, entry);
		break;
	case TD_ENTRY_SESSION: take_session(self, &entry->as.session); break;
	default: break;
	}
}

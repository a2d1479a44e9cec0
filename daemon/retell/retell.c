/* SPDX-License-Identifier: MIT */
#include "daemon/retell/retell.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "daemon/retell/words.h"

const char *td_tale_label(enum td_tale_part part)
{
	static const char *const label[] = {
#define TD_X(ident, label) label,
		TD_TALE_TABLE(TD_X)
#undef TD_X
	};

	return label[part];
}

static const struct td_account_axis *axis_of(const struct td_telling *self)
{
	return self->account->axis < TD_AXES_MAX ? &self->account->before.axis[self->account->axis] : NULL;
}

static bool is_trip(const struct td_telling *self)
{
	return td_cause_kind(self->account->cause) == TD_KIND_TRIP;
}

/* --- headline --------------------------------------------------------------------------------------- */

static void list_others(const struct td_telling *self, char *text, size_t size)
{
	size_t used = 0;

	text[0] = '\0';
	for (uint8_t axis = 0; axis < self->config->axes && used < size; axis++)
		if ((self->account->others >> axis & 1) != 0)
			used += (size_t)snprintf(text + used, size - used, "%s%s", used > 0 ? ", " : "",
						 td_axis_word(self, axis));
}

static void tell_headline(struct td_telling *self)
{
	const struct td_account_axis *axis = axis_of(self);
	const char *what = is_trip(self) ? "tripped" : "stopped";
	char others[TD_TALE_TEXT_MAX / 2];
	char doing[96] = "";

	list_others(self, others, sizeof(others));
	if (axis && axis->state == TD_AXIS_RUN)
		(void)snprintf(doing, sizeof(doing), " while %s was powered",
			       td_way_word(self, self->account->axis, self->account->way));
	else if (axis && axis->state == TD_AXIS_WAIT)
		(void)snprintf(doing, sizeof(doing), " while %s waited for its start",
			       td_way_word(self, self->account->axis, self->account->way));
	else if (axis && axis->state == TD_AXIS_COAST)
		(void)snprintf(doing, sizeof(doing), " while it coasted");
	else if (axis)
		(void)snprintf(doing, sizeof(doing), " while it stood still");
	(void)snprintf(self->tale->headline, sizeof(self->tale->headline), "The %s %s%s: %s%s%s%s.",
		       td_axis_word(self, self->account->axis), what, doing,
		       td_cause_info(self->account->cause)->sentence, others[0] ? " (and with it: " : "",
		       others, others[0] ? ")" : "");
}

/* --- when ------------------------------------------------------------------------------------------- */

static void tell_when(struct td_telling *self)
{
	int64_t wall_ns = self->account->wall_ns;
	time_t seconds = (time_t)(wall_ns / TD_S(1));
	struct tm local = {0};
	char day[64];
	char zone[16];
	char ago[TD_SPAN_MAX];

	if (wall_ns <= 0) {
		td_tell(self, TD_TALE_WHEN, "the trace does not say; %s after its beginning",
			td_span(self->account->into_ns, ago));
		return;
	}
	(void)localtime_r(&seconds, &local);
	(void)strftime(day, sizeof(day), "%A %Y-%m-%d %H:%M:%S", &local);
	(void)strftime(zone, sizeof(zone), "%z", &local);
	td_tell(self, TD_TALE_WHEN, "%s.%03d %s", day, (int)(wall_ns % TD_S(1) / TD_MS(1)), zone);
	if (self->now_ns > wall_ns)
		td_tell_more(self, ", %s ago", td_span(self->now_ns - wall_ns, ago));
	else if (self->now_ns > 0)
		td_tell_more(self, ", which lies in the future: is the clock right?");
}

/* --- what was asked for ------------------------------------------------------------------------------ */

static void tell_hold(struct td_telling *self, const struct td_account_hold *hold)
{
	td_ns at_ns = self->account->at_ns;
	char who[TD_WHO_MAX];
	char held[TD_SPAN_MAX];
	char heard[TD_SPAN_MAX];

	td_tell(self, TD_TALE_ASKED, "%s %s: held by %s for %s%s", td_axis_word(self, self->account->axis),
		td_way_word(self, self->account->axis, hold->way), td_who(&hold->by, who),
		hold->begun_before ? "more than " : "",
		td_span(td_time_between(hold->begun_ns, at_ns), held));
	if (hold->renewals > 0)
		td_tell_more(self, ", renewed %" PRIu32 " time%s, last heard %s before", hold->renewals,
			     hold->renewals == 1 ? "" : "s",
			     td_span(td_time_between(hold->heard_ns, at_ns), heard));
	else if (!hold->begun_before)
		td_tell_more(self, ", not renewed yet");
}

/* Of an axis that nobody held any more. */
static void tell_last_hold(struct td_telling *self, const struct td_account_axis *axis)
{
	char who[TD_WHO_MAX];
	char span[TD_SPAN_MAX];

	td_tell(self, TD_TALE_ASKED, "nobody held the %s", td_axis_word(self, self->account->axis));
	if (axis->hold.by.session != 0 && !axis->hold.begun_before)
		td_tell_more(self, "; the last to ask was %s, for %s, %s before", td_who(&axis->hold.by, who),
			     td_way_word(self, self->account->axis, axis->hold.way),
			     td_span(td_time_between(axis->hold.begun_ns, self->account->at_ns), span));
}

static void tell_asked(struct td_telling *self)
{
	bool any = false;

	for (uint8_t i = 0; i < self->config->axes && i < TD_AXES_MAX; i++) {
		const struct td_account_axis *axis = &self->account->before.axis[i];
		char who[TD_WHO_MAX];

		if (i == self->account->axis || (axis->state != TD_AXIS_RUN && axis->state != TD_AXIS_WAIT))
			continue;
		any = true;
		td_tell(self, TD_TALE_ASKED, "%s %s %s held by %s", td_axis_word(self, i),
			td_way_word(self, i, axis->hold.way),
			self->account->axis == TD_NO_AXIS ? "was" : "was also", td_who(&axis->hold.by, who));
	}
	if (!any && self->account->axis == TD_NO_AXIS)
		td_tell(self, TD_TALE_ASKED, "nobody held anything");
}

static void tell_asked_all(struct td_telling *self)
{
	const struct td_account_axis *axis = axis_of(self);

	if (axis && (axis->state == TD_AXIS_RUN || axis->state == TD_AXIS_WAIT))
		tell_hold(self, &axis->hold);
	else if (axis)
		tell_last_hold(self, axis);
	tell_asked(self);
}

/* --- what moved ------------------------------------------------------------------------------------- */

static void tell_axis_motion(struct td_telling *self, uint8_t index)
{
	const struct td_account_axis *axis = &self->account->before.axis[index];
	td_ns at_ns = self->account->at_ns;
	const char *name = td_axis_word(self, index);
	const char *way = td_way_word(self, index, axis->way);
	char span[TD_SPAN_MAX];
	char before[TD_SPAN_MAX];

	if (axis->state == TD_AXIS_RUN)
		td_tell(self, TD_TALE_MOTION, "%s %s had been powered for %s when it was cut", name, way,
			td_span(td_time_between(axis->since_ns, at_ns), span));
	else if (axis->cut_ns >= 0 && axis->way < TD_WAYS)
		td_tell(self, TD_TALE_MOTION, "%s was off; %s had been powered for %s, until %s before", name,
			way, td_span(td_time_between(axis->since_ns, axis->cut_ns), span),
			td_span(td_time_between(axis->cut_ns, at_ns), before));
	else
		td_tell(self, TD_TALE_MOTION, "%s was off, and had not been powered in this trace", name);
}

static void tell_motion(struct td_telling *self)
{
	const struct td_account *account = self->account;
	bool any = false;

	if (account->axis < TD_AXES_MAX)
		tell_axis_motion(self, account->axis);
	for (uint8_t i = 0; i < self->config->axes && i < TD_AXES_MAX; i++) {
		if (i == account->axis || account->before.axis[i].state != TD_AXIS_RUN)
			continue;
		char span[TD_SPAN_MAX];
		td_ns for_ns = td_time_between(account->before.axis[i].since_ns, account->at_ns);

		any = true;
		td_tell(self, TD_TALE_MOTION, "%s %s had been powered for %s%s", td_axis_word(self, i),
			td_way_word(self, i, account->before.axis[i].way), td_span(for_ns, span),
			(account->others >> i & 1) != 0 ? " and was cut as well" : "");
	}
	if (!any && account->axis == TD_NO_AXIS)
		td_tell(self, TD_TALE_MOTION, "nothing was powered");
}

/* --- switches --------------------------------------------------------------------------------------- */

static const char *count_word(uint32_t pulses, char out[TD_SPAN_MAX])
{
	(void)snprintf(out, TD_SPAN_MAX, "%" PRIu32 " pulses", pulses);
	return out;
}

static void tell_changed_switch(struct td_telling *self, uint8_t index)
{
	const struct td_account_switch *sw = &self->account->before.sw[index];
	td_ns since_ns = td_time_between(sw->changed_ns, self->account->at_ns);
	uint32_t pulses = sw->flips > sw->changes ? (sw->flips - sw->changes) / 2 : 0;
	char span[TD_SPAN_MAX];
	char count[TD_SPAN_MAX];

	td_tell(self, TD_TALE_SWITCHES, "%s was %s", td_switch_word(self, index),
		sw->active ? "active" : "clear");
	if (sw->changes > 0 && since_ns < TD_US(500))
		td_tell_more(self, ", since this very moment");
	else if (sw->changes > 0)
		td_tell_more(self, ", since %s before", td_span(since_ns, span));
	if (pulses > 0)
		td_tell_more(self, "; %s too short to count, the last %s before",
			     pulses == 1 ? "one pulse" : count_word(pulses, count),
			     td_span(td_time_between(sw->flipped_ns, self->account->at_ns), span));
}

static bool is_silent(const struct td_telling *self, uint8_t sw)
{
	return self->account->before.sw[sw].changes == 0 && self->account->before.sw[sw].flips < 2;
}

/* Those that never changed, in one line for each of the two states. */
static void tell_silent_switches(struct td_telling *self, bool active)
{
	bool any = false;
	char span[TD_SPAN_MAX];

	for (uint8_t i = 0; i < self->config->switches && i < TD_SWITCHES_MAX; i++) {
		if (!is_silent(self, i) || self->account->before.sw[i].active != active)
			continue;
		if (any)
			td_tell_more(self, ", %s", td_switch_word(self, i));
		else
			td_tell(self, TD_TALE_SWITCHES, "%s all through the %s recorded before: %s",
				active ? "active" : "clear", td_span(self->account->into_ns, span),
				td_switch_word(self, i));
		any = true;
	}
}

static void tell_switches(struct td_telling *self)
{
	for (uint8_t i = 0; i < self->config->switches && i < TD_SWITCHES_MAX; i++)
		if (!is_silent(self, i))
			tell_changed_switch(self, i);
	tell_silent_switches(self, true);
	tell_silent_switches(self, false);
}

/* --- rule and remedy -------------------------------------------------------------------------------- */

static void tell_rule(struct td_telling *self)
{
	const struct td_cause_info *info = td_cause_info(self->account->cause);

	td_tell(self, TD_TALE_RULE, "%s%s%s (%s)", info->rule, info->rule[0] ? ": " : "", info->sentence,
		info->name);
}

static void tell_who_resets(struct td_telling *self)
{
	enum td_cause cause = self->account->cause;
	unsigned int an_hour = self->config->rules.visitor_resets;
	const char *axis = td_axis_word(self, self->account->axis);

	if (!is_trip(self))
		return;
	if (td_cause_visitor_resets(cause) && an_hour > 0)
		td_tell(self, TD_TALE_REMEDY,
			"tripdog reset %s: the keeper may, and visitors %u time%s an hour", axis, an_hour,
			an_hour == 1 ? "" : "s");
	else
		td_tell(self, TD_TALE_REMEDY, "tripdog --keeper reset%s%s: only the keeper may",
			self->account->others ? "" : " ", self->account->others ? "" : axis);
}

static void tell_remedy(struct td_telling *self)
{
	td_tell(self, TD_TALE_REMEDY, "%s", td_cause_info(self->account->cause)->remedy);
	tell_who_resets(self);
}

static void tell_trace(struct td_telling *self)
{
	char span[TD_SPAN_MAX];

	td_tell(self, TD_TALE_TRACE, "%s, %s after its beginning", self->shown_as,
		td_span(self->account->into_ns, span));
}

void td_tale_tell(struct td_tale *tale, const struct td_account *account, const struct td_config *config,
		  int64_t now_ns, const char *shown_as)
{
	struct td_telling self = {tale, account, config, now_ns, shown_as};

	memset(tale, 0, sizeof(*tale));
	tale->grave = is_trip(&self) || account->cause == TD_CAUSE_LATCH_ASKED ||
		      account->cause == TD_CAUSE_LATCH_INPUT || account->cause == TD_CAUSE_LATCH_KEPT;
	tell_headline(&self);
	tell_when(&self);
	tell_asked_all(&self);
	tell_motion(&self);
	td_tell_why(&self);
	tell_rule(&self);
	tell_switches(&self);
	tell_remedy(&self);
	td_tell_after(&self);
	tell_trace(&self);
}

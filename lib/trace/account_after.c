/* SPDX-License-Identifier: MIT */
/* What came after the stop, and how one trace follows another. */
#include <string.h>

#include "trace/account_parts.h"

static void note(struct td_accountant *self, struct td_account_note what)
{
	struct td_account *account = &self->account;
	struct td_account_note *last = account->notes > 0 ? &account->note[account->notes - 1] : NULL;

	what.times = 1;
	if (last && !what.restart && !last->restart && last->cause == what.cause && last->axis == what.axis &&
	    last->by.session == what.by.session && last->by.role == what.by.role) {
		last->times++;
		return;
	}
	if (account->notes == TD_ACCOUNT_NOTES_MAX) {
		account->notes_left_out++;
		return;
	}
	account->note[account->notes++] = what;
}

/* A trace does not know its first moment better than this by the wall clock. */
#define WALL_DOUBT_S 3

/* By how much the wall clock is before the core's, which begins anew with the computer; in seconds, so that no difference
 * of two can run over. */
static int64_t offset_s(int64_t wall_ns, td_ns at_ns)
{
	return wall_ns / TD_S(1) - at_ns / TD_S(1);
}

/* The trace being read is of the time since the computer was started that the stop is of, so both have one clock. */
static bool has_same_clock(const struct td_accountant *self)
{
	int64_t here_s = offset_s(self->wall_begin_ns, self->begin_ns);
	int64_t there_s = offset_s(self->account.wall_ns, self->account.at_ns);

	if (self->wall_begin_ns <= 0 || self->account.wall_ns <= 0)
		return true;
	return here_s - there_s <= WALL_DOUBT_S && there_s - here_s <= WALL_DOUBT_S;
}

td_ns td_account_after(const struct td_accountant *self, td_ns at_ns)
{
	if (has_same_clock(self))
		return td_time_between(self->account.at_ns, at_ns);
	return td_time_between(self->account.wall_ns,
			       td_time_after(self->wall_begin_ns, td_time_between(self->begin_ns, at_ns)));
}

/* A trace that follows another one may go on with it, overlap it or lie before it, or be of a daemon that was started anew:
 * then numbers begin again behind what was told. */
void td_account_join(struct td_accountant *self, uint64_t first_number)
{
	bool anew = self->numbered && first_number < self->next_number;

	self->told_ns = -1;
	if (!self->account.found)
		return;
	self->told_ns = self->account.lasts_ns;
	self->told_end = self->lasts_end;
	if (!anew || td_account_after(self, self->begin_ns) <= self->told_ns)
		return;
	memset(self->session, 0, sizeof(self->session)); /* sessions are numbered anew */
	self->account.restarted = true;
	note(self,
	     (struct td_account_note){.restart = true, .after_ns = td_account_after(self, self->begin_ns)});
}

struct td_account_who td_account_who_is(const struct td_accountant *self, uint32_t session, uint8_t role)
{
	for (size_t i = 0; session != 0 && i < TD_ACCOUNT_SESSIONS_MAX; i++)
		if (self->session[i].session == session)
			return self->session[i];
	return (struct td_account_who){.session = session, .role = role};
}

/* --- afterwards ------------------------------------------------------------------------------------- */

static bool ends_it(const struct td_account *account, enum td_cause cause, uint8_t axis)
{
	return cause == TD_CAUSE_RESET_DONE && (account->axis == TD_NO_AXIS || axis == account->axis);
}

/* What an owner wants to know of what came later; everyday motion is not among it. */
static bool is_noteworthy(const struct td_account *account, enum td_cause cause, uint8_t axis)
{
	if (account->resumed && td_cause_kind(cause) != TD_KIND_TRIP)
		return false; /* everyday life again */
	switch (td_cause_kind(cause)) {
	case TD_KIND_TRIP: return true;
	case TD_KIND_REFUSAL: return !account->reset && (axis == account->axis || cause == TD_CAUSE_LATCHED);
	case TD_KIND_MACHINE: return cause != TD_CAUSE_STOPPED && cause != TD_CAUSE_NOTHING_TO_RESET;
	case TD_KIND_MOVE: return cause == TD_CAUSE_STARTED && axis == account->axis;
	case TD_KIND_NONE:
	case TD_KIND_STOP:
	case TD_KIND_NOTE: break;
	}
	return false;
}

void td_account_later(struct td_accountant *self, enum td_cause cause, uint8_t axis, td_ns at_ns)
{
	struct td_account *account = &self->account;
	bool deed = self->event.kind == TD_EVENT_RESET || self->event.kind == TD_EVENT_REQUEST ||
		    self->event.kind == TD_EVENT_COOLED || self->event.kind == TD_EVENT_UNTWISTED;
	bool asked = deed || self->event.kind == TD_EVENT_LATCH;
	uint8_t role = deed ? self->event.role : (uint8_t)TD_NO_ROLE;

	if (!account->found || !is_noteworthy(account, cause, axis))
		return;
	note(self, (struct td_account_note){.cause = cause,
					    .axis = axis,
					    .by = asked ? td_account_who_is(self, self->event.session, role)
							: (struct td_account_who){.role = TD_NO_ROLE},
					    .after_ns = td_account_after(self, at_ns)});
	account->reset = account->reset || ends_it(account, cause, axis);
	account->resumed = account->resumed || cause == TD_CAUSE_STARTED;
}

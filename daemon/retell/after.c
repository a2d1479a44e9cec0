/* SPDX-License-Identifier: MIT */
/* What came after a stop. */
#include <inttypes.h>

#include "daemon/retell/words.h"

/* "reset by the keeper (session 9)": what happened, in the words of the list of causes. */
static void tell_what(struct td_telling *self, const struct td_account_note *note)
{
	const char *axis = td_axis_word(self, note->axis);
	char who[TD_WHO_MAX];

	(void)td_who(&note->by, who);
	if (note->cause == TD_CAUSE_RESET_DONE)
		td_tell_more(self, "%s reset %s%s; nothing moved", who,
			     note->axis == TD_NO_AXIS ? "the " : "",
			     note->axis == TD_NO_AXIS ? "latched stop" : axis);
	else if (note->cause == TD_CAUSE_STARTED)
		td_tell_more(self, "%s was started again%s%s", axis, note->by.session ? " by " : "",
			     note->by.session ? who : "");
	else if (td_cause_kind(note->cause) == TD_KIND_REFUSAL && note->by.session)
		td_tell_more(self, "%s asked for %s and was refused: %s", who, axis,
			     td_cause_info(note->cause)->sentence);
	else
		td_tell_more(self, "%s%s%s%s%s", note->axis == TD_NO_AXIS ? "" : axis,
			     note->axis == TD_NO_AXIS ? "" : ": ", td_cause_info(note->cause)->sentence,
			     note->by.session ? ", by " : "", note->by.session ? who : "");
	if (note->times > 1)
		td_tell_more(self, " (%" PRIu32 " times)", note->times);
}

static void tell_note(struct td_telling *self, const struct td_account_note *note)
{
	char span[TD_SPAN_MAX];

	if (note->after_ns < TD_US(500))
		td_tell(self, TD_TALE_AFTER, "in the same moment: ");
	else
		td_tell(self, TD_TALE_AFTER, "%s later: ", td_span(note->after_ns, span));
	if (note->restart)
		td_tell_more(self, "the daemon was started anew%s",
			     td_cause_kind(self->account->cause) == TD_KIND_TRIP
				     ? ", and a trip does not outlive that"
				     : "");
	else
		tell_what(self, note);
}

static bool is_latching(enum td_cause cause)
{
	return td_cause_kind(cause) == TD_KIND_TRIP || cause == TD_CAUSE_LATCH_ASKED ||
	       cause == TD_CAUSE_LATCH_INPUT || cause == TD_CAUSE_LATCH_KEPT || cause == TD_CAUSE_LATCH_CUT;
}

static bool is_over(const struct td_account *account)
{
	return account->reset || (account->restarted && td_cause_kind(account->cause) == TD_KIND_TRIP);
}

void td_tell_after(struct td_telling *self)
{
	const struct td_account *account = self->account;
	char span[TD_SPAN_MAX];

	for (size_t i = 0; i < account->notes; i++)
		tell_note(self, &account->note[i]);
	if (account->notes_left_out > 0)
		td_tell(self, TD_TALE_AFTER, "and %" PRIu32 " more", account->notes_left_out);
	if (is_latching(account->cause) && !is_over(account))
		td_tell(self, TD_TALE_AFTER, "no reset is recorded");
	else if (account->notes == 0)
		td_tell(self, TD_TALE_AFTER, "nothing of note is recorded");
	else
		return;
	if (account->lasts_ns < TD_MS(1))
		td_tell_more(self, "; the recording ends here");
	else
		td_tell_more(self, "; the recording ends %s later", td_span(account->lasts_ns, span));
}

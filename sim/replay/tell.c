/* SPDX-License-Identifier: MIT */
#include "sim/replay/tell.h"

#include <inttypes.h>

#include "sim/replay/settings.h"
#include "sim/replay/words.h"

const char *td_replay_time(td_ns file_ns, char text[TD_REPLAY_TIME_MAX])
{
	int64_t us = (file_ns < 0 ? -file_ns : file_ns) / 1000;

	(void)snprintf(text, TD_REPLAY_TIME_MAX, "%c%" PRId64 ".%06" PRId64 " s", file_ns < 0 ? '-' : '+',
		       us / 1000000, us % 1000000);
	return text;
}

/* --- the first difference ---------------------------------------------------------------------------- */

static void tell_moment(FILE *out, const struct td_config *config, const struct td_replay_moment *moment)
{
	struct td_replay_words words = {0};
	char time[TD_REPLAY_TIME_MAX];

	(void)fprintf(out, "    %14s  ", td_replay_time(moment->step.file_ns, time));
	if (moment->kind == TD_ENTRY_STEP) {
		td_replay_add_event(&words, config, &moment->step);
		if (moment->more > 0)
			td_replay_add(&words, ", the last of %u in a row", moment->more + 1);
		td_replay_add(&words, ": ");
		td_replay_add_outcome(&words, config, &moment->step);
	} else {
		td_replay_add_client(&words, moment);
	}
	(void)fprintf(out, "%s\n", words.text);
}

static void add_states(struct td_replay_words *words, const struct td_config *config,
		       const struct td_entry_step *step, const struct td_entry_step *other)
{
	for (uint8_t axis = 0; axis < config->axes; axis++)
		if (step->state[axis] != other->state[axis])
			td_replay_add(words, "; %s: %s", config->axis[axis].name,
				      td_replay_state_name(step->state[axis]));
}

static void add_switches(struct td_replay_words *words, const struct td_config *config, uint32_t active,
			 uint32_t other)
{
	for (uint8_t sw = 0; sw < config->switches; sw++)
		if (((active ^ other) >> sw & 1) != 0)
			td_replay_add(words, "; %s: %s", config->sw[sw].name,
				      (active >> sw & 1) != 0 ? "active" : "clear");
}

/* What came of the step, and of everything that differs how it is on this side. */
static void tell_side(FILE *out, const struct td_config *config, const char *who, uint32_t parts,
		      const struct td_replay_step *step, const struct td_replay_step *other)
{
	struct td_replay_words words = {0};

	td_replay_add_outcome(&words, config, step);
	if ((parts >> TD_REPLAY_PART_OUTPUTS & 1) != 0 && step->step.outputs == step->outputs_before) {
		td_replay_add(&words, "; outputs still ");
		td_replay_add_ways(&words, config, step->step.outputs);
	}
	add_states(&words, config, &step->step, &other->step);
	add_switches(&words, config, step->step.active, other->step.active);
	if (step->step.armed != other->step.armed)
		td_replay_add(&words, "; %s", step->step.armed ? "armed" : "not armed");
	if (step->step.latch != other->step.latch)
		td_replay_add(&words, "; latched stop %s%s%s%s", step->step.latch == 0 ? "off" : "on",
			      (step->step.latch & TD_LATCH_ASKED) != 0 ? ", asked for" : "",
			      (step->step.latch & TD_LATCH_INPUT) != 0 ? ", by the input" : "",
			      (step->step.latch & TD_LATCH_KEPT) != 0 ? ", kept" : "");
	(void)fprintf(out, "    %-12s %s\n", who, words.text);
}

static void tell_own(FILE *out, const struct td_config *config, const struct td_replay_difference *first)
{
	struct td_replay_words words = {0};
	char mine[TD_REPLAY_TIME_MAX];
	char next[TD_REPLAY_TIME_MAX];

	td_replay_add_outcome(&words, config, &first->own);
	(void)fprintf(out, "  At %s, when a time of this core was over:\n",
		      td_replay_time(first->own.file_ns, mine));
	(void)fprintf(out, "    %-12s %s\n", "this core:", words.text);
	(void)fprintf(out, "    %-12s nothing; its next step is at %s\n",
		      "the trace:", td_replay_time(first->trace.file_ns, next));
}

static void tell_step(FILE *out, const struct td_config *config, const struct td_replay_difference *first)
{
	struct td_replay_words words = {0};
	char time[TD_REPLAY_TIME_MAX];

	td_replay_add_event(&words, config, &first->trace);
	(void)fprintf(out, "  At %s, %s:\n", td_replay_time(first->trace.file_ns, time), words.text);
	tell_side(out, config, "the trace:", first->parts, &first->trace, &first->mine);
	tell_side(out, config, "this core:", first->parts, &first->mine, &first->trace);
}

static void tell_first(FILE *out, const struct td_replay *replay)
{
	const struct td_replay_difference *first = &replay->first;
	char time[TD_REPLAY_TIME_MAX];

	(void)fprintf(out, "  The first difference is at step %" PRId64 ". Before it:\n", first->step);
	if (first->before == 0)
		(void)fprintf(out, "    nothing\n");
	for (uint8_t i = 0; i < first->before; i++)
		tell_moment(out, replay->config, &first->moment[i]);
	if ((first->parts >> TD_REPLAY_PART_CHECK & 1) != 0)
		(void)fprintf(out, "  At %s a mark of the trace tells of another core than this one is.\n",
			      td_replay_time(first->trace.file_ns, time));
	else if (first->acted)
		tell_own(out, replay->config, first);
	else
		tell_step(out, replay->config, first);
	(void)fprintf(out, "  Why:\n");
	td_replay_tell_why(out, first);
	if (replay->from_record)
		(void)fprintf(
			out,
			"    or what the record does not hold: a position, a used time, a visitor's reset\n");
}

/* --- the whole ------------------------------------------------------------------------------------- */

static void tell_beginning(FILE *out, const struct td_replay_account *account)
{
	const struct td_replay_tally *tally = &account->replay->tally;
	char time[TD_REPLAY_TIME_MAX];

	if (account->config_path)
		(void)fprintf(
			out, "  Run by %s, %s.\n", account->config_path,
			account->other_settings
				? "whose settings are others than the trace's; its marks are not compared"
				: "which has the same settings");
	if (account->other_settings && account->config_text && account->trace_text)
		td_settings_tell(out, account->config_text, account->trace_text);
	if (!account->replay->from_record)
		return;
	(void)fprintf(out,
		      "  Begun from the portable record%s: positions, used times and visitors' resets do not "
		      "stand in it, and marks are not compared.\n",
		      account->other_build ? ", for the bytes of the core are another build's" : "");
	if (tally->synced)
		(void)fprintf(out, "  Compared from %s on, when all was off, still and not asked for.\n",
			      td_replay_time(tally->sync_file_ns, time));
	else
		(void)fprintf(out,
			      "  Nothing could be compared: at no moment was all off, still and not asked "
			      "for.\n");
}

static void tell_end(FILE *out, const struct td_replay_account *account)
{
	const struct td_replay_tally *tally = &account->replay->tally;
	char time[TD_REPLAY_TIME_MAX];

	if (tally->lost > 0)
		(void)fprintf(out,
			      "  %" PRId64 " entries are missing, the first at %s: compared up to there.\n",
			      tally->lost, td_replay_time(tally->lost_file_ns, time));
	if (account->summary.cut_off)
		(void)fprintf(out, "  The end of the trace is missing: compared as far as it goes.\n");
}

static void tell_counts(FILE *out, const struct td_replay_account *account)
{
	const struct td_replay_tally *tally = &account->replay->tally;

	(void)fprintf(out,
		      "  %" PRId64 " steps, %" PRId64 " changes; compared %" PRId64 " steps, %" PRId64
		      " pieces of news, %" PRId64 " marks: ",
		      tally->steps, account->summary.changes, tally->compared, tally->news, tally->checks);
	if (tally->compared == 0)
		(void)fprintf(out, "nothing to compare\n");
	else if (tally->differ == 0)
		(void)fprintf(out, "no difference\n");
	else
		(void)fprintf(out, "%" PRId64 " differ%s\n", tally->differ, tally->differ == 1 ? "s" : "");
}

void td_replay_tell(FILE *out, const struct td_replay_account *account)
{
	const struct td_tape_head *head = &account->head;

	(void)fprintf(out, "%s: a %s of version %s, begun %s\n", account->shown_as, head->kind, head->version,
		      head->wall[0] ? head->wall : "at an unknown time");
	tell_beginning(out, account);
	tell_end(out, account);
	tell_counts(out, account);
	if (account->replay->first.parts)
		tell_first(out, account->replay);
}

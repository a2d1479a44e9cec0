/* SPDX-License-Identifier: MIT */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/front_inside.h"
#include "wire/method.h"

/* --- to the followers -------------------------------------------------------------------------------- */

/* The params of one notification, as its reader should see them. */
typedef json_t *(*params_of)(struct td_front *front, const struct td_note *note,
			     const struct td_session *reader);

static json_t *news_params(struct td_front *front, const struct td_note *note,
			   const struct td_session *reader)
{
	return td_mirror_news(&front->mirror, note, front->news, reader != NULL);
}

static json_t *machine_params(struct td_front *front, const struct td_note *note,
			      const struct td_session *reader)
{
	(void)note;
	(void)reader;
	return td_mirror_machine(&front->mirror);
}

static json_t *axis_params(struct td_front *front, const struct td_note *note,
			   const struct td_session *reader)
{
	return td_mirror_axis(&front->mirror, note->as.axis.axis, td_clock_now(), reader ? reader->id : 0);
}

struct announcement {
	const char *method;
	params_of params;
	uint32_t holder; /* the session that sees it as its own; 0 = none */
};

/* One text does for everybody but the holder. */
static void announce_to(struct td_front *front, struct td_sessions *sessions, const struct td_note *note,
			const struct announcement *what, char **common, size_t *common_length)
{
	for (struct td_session *session = TAILQ_FIRST(sessions); session;
	     session = TAILQ_NEXT(session, link)) {
		if (!session->following || session->doomed)
			continue;
		if (what->holder != 0 && session->id == what->holder) {
			size_t length = 0;
			char *own = td_notification_text(what->method, what->params(front, note, session),
							 &length);

			td_session_send(session, own, length);
			free(own);
			continue;
		}
		if (!*common)
			*common = td_notification_text(what->method, what->params(front, note, NULL),
						       common_length);
		td_session_send(session, *common, *common_length);
	}
}

static void announce(struct td_front *front, const struct td_note *note, const struct announcement *what)
{
	char *common = NULL;
	size_t length = 0;

	announce_to(front, &front->door[TD_ROLE_KEEPER].sessions, note, what, &common, &length);
	announce_to(front, &front->door[TD_ROLE_VISITOR].sessions, note, what, &common, &length);
	free(common);
}

/* --- the kinds ----------------------------------------------------------------------------------------- */

static void take_news(struct td_front *front, const struct td_note *note)
{
	const struct announcement what = {"news", news_params, note->as.news.session};

	front->news++;
	announce(front, note, &what);
}

static void take_breach(struct td_front *front, const struct td_note *note)
{
	const struct td_config *config = front->config;
	const struct td_note_breach *breach = &note->as.breach;
	const struct td_breach_info *info = td_breach_info((enum td_breach)breach->breach);
	bool axis = breach->axis < config->axes;

	td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR,
		       "breach rule=R%u axis=%s way=%s measured_us=%" PRId64 " bound_us=%" PRId64
		       " outputs=0x%x: not written, everything is off and tripped: %s",
		       info->rule, axis ? config->axis[breach->axis].name : "-",
		       axis && breach->way < TD_WAYS ? config->axis[breach->axis].way_name[breach->way] : "-",
		       breach->measured_ns / 1000, breach->bound_ns / 1000, breach->outputs, info->sentence);
}

static void take_axis(struct td_front *front, const struct td_note *note)
{
	const struct announcement what = {"axis", axis_params, note->as.axis.session};

	if (td_mirror_take(&front->mirror, note))
		announce(front, note, &what);
}

static void take_machine(struct td_front *front, const struct td_note *note)
{
	const struct announcement what = {"machine", machine_params, 0};

	td_mirror_take(&front->mirror, note);
	if (note->as.machine.lost != 0)
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_WARNING,
			       "news were lost between the processes; the state is whole again");
	td_front_latch_seen(front, note->as.machine.latch != 0);
	announce(front, note, &what);
}

void td_front_note(struct td_front *front, const struct td_note *note)
{
	switch (note->kind) {
	case TD_NOTE_ANSWER:
		td_front_answer(front, note->as.answer.tag, (enum td_cause)note->as.answer.cause);
		break;
	case TD_NOTE_NEWS: take_news(front, note); break;
	case TD_NOTE_AXIS: take_axis(front, note); break;
	case TD_NOTE_MACHINE: take_machine(front, note); break;
	case TD_NOTE_BREACH: take_breach(front, note); break;
	default:
		td_journal_say(&front->about_machine, td_clock_now(), TD_PRIORITY_ERROR,
			       "a note of unknown kind %u came from the mover", note->kind);
		break;
	}
}

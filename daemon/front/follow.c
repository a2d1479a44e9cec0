/* SPDX-License-Identifier: MIT */
/*
 * What followers are told. Nothing is queued for any of them: what happened is read from the one history, from the number
 * that the follower was told of last, and of the state it is only noted what has changed since. So one that reads slowly
 * costs no more than one that does not, and gets the newest state instead of all that were between.
 *
 * Nobody is told at once: each follower has its turn like anybody who calls, so that a stop does not wait until hundreds of them have
 * been told of the start before it. What is told once is told in the same words to all.
 *
 * The bytes of a line that its socket did not take are the only ones that wait; the next line is made when they are gone.
 */
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

#include "daemon/front/inside.h"
#include "wire/notice.h"

enum {
	LINES_AT_ONCE = 8, /* of one follower, before others have their turn */
	NEWS_BETWEEN =
		16, /* at most, while a new state is owed: who lags behind in news still sees where things stand */
	NEWS_BEHIND =
		32, /* then one is told at once: the mover's notes come first, and may come without end */
	INSTANCE_BYTES = 8,
};

/* One notification. */
struct item {
	enum td_notice part;
	uint8_t axis;                         /* AXIS */
	const struct td_happening *happening; /* NEWS */
	int64_t missed;                       /* NEWS: so many before it are no longer kept */
	uint32_t holder;                      /* the session that sees it as its own; 0 = none */
};

/* --- the text of one item ------------------------------------------------------------------------------ */

static json_t *news_params(const struct td_front *front, const struct item *item, bool own)
{
	json_t *params = td_mirror_news(&front->mirror, item->happening, own);

	if (item->missed > 0)
		json_object_set_new(params, "missed", json_integer(item->missed));
	return params;
}

static json_t *params_for(const struct td_session *reader, const struct item *item, bool own)
{
	const struct td_front *front = reader->front;

	switch (item->part) {
	case TD_NOTICE_NEWS: return news_params(front, item, own);
	case TD_NOTICE_AXIS:
		return td_mirror_axis(&front->mirror, item->axis, td_clock_now(), own ? reader->id : 0);
	case TD_NOTICE_MACHINE: return td_mirror_machine(&front->mirror);
	case TD_NOTICE_TURN:
	case TD_NOTICES:
	default: return td_front_turn_object(reader);
	}
}

static char *text_for(const struct td_session *reader, const struct item *item, bool own, size_t *length)
{
	return td_notification_text(td_notice_at(item->part)->name, params_for(reader, item, own), length);
}

static void forget(struct td_text *text)
{
	free(text->bytes);
	*text = (struct td_text){.bytes = NULL};
}

/* Where the text is kept that does for everybody but its holder; NULL: there is none. */
static struct td_text *kept_text(struct td_front *front, const struct item *item)
{
	struct td_texts *texts = &front->texts;

	if (item->part == TD_NOTICE_AXIS)
		return &texts->axis[item->axis];
	if (item->part == TD_NOTICE_MACHINE)
		return &texts->machine;
	if (item->part == TD_NOTICE_TURN || item->missed > 0)
		return NULL;
	size_t place = (size_t)item->happening->n % TD_TEXTS_NEWS;

	if (texts->news_number[place] != item->happening->n)
		forget(&texts->news[place]);
	texts->news_number[place] = item->happening->n;
	return &texts->news[place];
}

static void tell(struct td_session *session, const struct item *item)
{
	bool own = item->holder != 0 && item->holder == session->id;
	struct td_text *kept = own ? NULL : kept_text(session->front, item);
	struct td_text made = {.bytes = NULL};
	struct td_text *text = kept ? kept : &made;

	if (!text->bytes)
		text->bytes = text_for(session, item, own, &text->length);
	td_session_send(session, text->bytes, text->length);
	forget(&made);
}

/* --- what comes next ----------------------------------------------------------------------------------- */

static bool owes_state(const struct td_follower *follower)
{
	return follower->axes != 0 || follower->machine || follower->turn;
}

static void tell_news(struct td_session *session, const struct td_happening *happening)
{
	struct td_follower *follower = &session->follower;
	const struct item item = {
		.part = TD_NOTICE_NEWS,
		.happening = happening,
		.missed = happening->n - follower->told - 1,
		.holder = happening->news.session,
	};

	follower->told = happening->n;
	follower->news_since_state++;
	tell(session, &item);
}

static void tell_axis(struct td_session *session)
{
	struct td_follower *follower = &session->follower;
	struct item item = {.part = TD_NOTICE_AXIS};

	while ((follower->axes >> item.axis & 1) == 0)
		item.axis++;
	follower->axes &= ~(UINT32_C(1) << item.axis);
	item.holder = session->front->mirror.axis[item.axis].session;
	tell(session, &item);
}

static void tell_state(struct td_session *session)
{
	struct td_follower *follower = &session->follower;
	struct item item = {.part = TD_NOTICE_MACHINE};

	follower->news_since_state = 0;
	if (follower->machine) {
		follower->machine = false;
		tell(session, &item);
	} else if (follower->axes != 0) {
		tell_axis(session);
	} else {
		follower->turn = false;
		item.part = TD_NOTICE_TURN;
		tell(session, &item);
	}
}

/* Something that every follower is told of is not kept any more, and this one was not told. */
static bool is_lost(const struct td_session *session)
{
	int64_t lost = td_history_lost(session->front->history);

	return lost > session->follower.told && lost > session->follower.excused;
}

/* False: there is nothing to tell. */
static bool tell_next(struct td_session *session)
{
	struct td_follower *follower = &session->follower;
	const struct td_happening *next = td_history_after(session->front->history, follower->told);

	if (next && !(owes_state(follower) && follower->news_since_state >= NEWS_BETWEEN))
		tell_news(session, next);
	else if (owes_state(follower))
		tell_state(session);
	else
		return false;
	return true;
}

static bool takes_more(const struct td_session *session)
{
	return session->follower.on && session->follower.starting == 0 && td_session_reads(session);
}

void td_front_follow_on(struct td_session *session)
{
	if (session->follower.on && is_lost(session))
		td_session_part(session, "the client reads so slowly that a stop or a trip would be lost",
				"connect again and follow from the number you were told last");
	for (int lines = 0; takes_more(session); lines++) {
		if (lines == LINES_AT_ONCE) {
			td_session_call_soon(session);
			return;
		}
		if (!tell_next(session))
			return;
	}
}

bool td_front_follow_owes(const struct td_session *session)
{
	return session->follower.on && session->follower.told < session->front->history->last;
}

/* --- to everybody -------------------------------------------------------------------------------------- */

static void owe_all(struct td_front *front, enum td_role role, const struct td_change *what)
{
	for (struct td_session *session = TAILQ_FIRST(&front->door[role].sessions); session;
	     session = TAILQ_NEXT(session, link)) {
		if (!session->follower.on)
			continue;
		session->follower.axes |= what->axes;
		session->follower.machine |= what->machine;
		session->follower.turn |= what->turn;
		if (front->history->last - session->follower.told >= NEWS_BEHIND)
			td_front_follow_on(session);
		else if (takes_more(session))
			td_session_call_soon(session);
	}
}

void td_front_follow_tell(struct td_front *front, struct td_change what)
{
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		if ((what.axes >> axis & 1) != 0)
			forget(&front->texts.axis[axis]);
	if (what.machine)
		forget(&front->texts.machine);
	owe_all(front, TD_ROLE_KEEPER, &what);
	owe_all(front, TD_ROLE_VISITOR, &what);
}

void td_front_follow_news(struct td_front *front, td_ns at_ns, const struct td_note_news *news)
{
	(void)td_history_add(front->history, at_ns, news);
	td_front_follow_tell(front, (struct td_change){.axes = 0});
}

void td_front_follow_end(struct td_front *front)
{
	for (size_t i = 0; i < TD_AXES_MAX; i++)
		forget(&front->texts.axis[i]);
	for (size_t i = 0; i < TD_TEXTS_NEWS; i++)
		forget(&front->texts.news[i]);
	forget(&front->texts.machine);
}

/* --- the call ------------------------------------------------------------------------------------------ */

/* Two lives of the daemon never have the same, so that a number from a former one is noticed. */
void td_front_follow_start(struct td_front *front)
{
	uint8_t bytes[INSTANCE_BYTES];
	td_ns now_ns = td_clock_now();

	/* Early at boot there may be no randomness yet; then the time of the start has to do. */
	if (getrandom(bytes, sizeof(bytes), GRND_NONBLOCK) != (ssize_t)sizeof(bytes))
		memcpy(bytes, &now_ns, sizeof(bytes));
	for (size_t i = 0; i < sizeof(bytes); i++)
		(void)snprintf(front->instance + 2 * i, 3, "%02x", bytes[i]);
}

json_t *td_front_follow_object(const struct td_front *front)
{
	return json_pack("{s:s, s:I}", "instance", front->instance, "last", (json_int_t)front->history->last);
}

static void add_missed(json_t *object, const struct td_history_missed *missed)
{
	json_t *of = json_array();

	for (int kind = 0; kind < TD_HISTORY_KINDS; kind++)
		if (missed->of[kind])
			json_array_append_new(of, json_string(td_cause_kind_name((enum td_cause_kind)kind)));
	json_object_set_new(object, "missed", json_integer(missed->count));
	json_object_set_new(object, "missed_of", of);
}

json_t *td_front_follow_begin(struct td_session *session, struct td_exchange *exchange,
			      const struct td_args *args)
{
	const struct td_front *front = session->front;
	struct td_follower *follower = &session->follower;
	int64_t last = front->history->last;
	bool known = args->since <= last && (!args->instance || strcmp(args->instance, front->instance) == 0);
	int64_t from = known ? args->since : 0;
	json_t *object = td_front_follow_object(front);

	if (args->since < 0)
		from = follower->on ? follower->told : last;
	const struct td_history_missed missed = td_history_missed(front->history, from);

	if (args->since < 0 || known) {
		add_missed(object, &missed);
	} else {
		json_object_set_new(object, "missed", json_null());
		json_object_set_new(object, "missed_of", json_null());
	}
	exchange->follows++;
	*follower = (struct td_follower){
		.on = true,
		.starting = follower->starting + 1,
		.told = from,
		.excused = td_history_lost(front->history),
	};
	return object;
}

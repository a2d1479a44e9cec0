/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/diary.h"

#include <inttypes.h>
#include <stdio.h>
#include <time.h>

#include "daemon/clock.h"
#include "daemon/front/mirror.h"
#include "wire/method.h"

enum { MACHINE_LINES = 600, CLIENT_LINES = 120, WALL_MAX = 32 };

enum { OF_MOVER, OF_FRONT };

struct td_diary_clock td_diary_clock_now(void)
{
	struct timespec wall;

	clock_gettime(CLOCK_REALTIME, &wall);
	return (struct td_diary_clock){td_clock_now(), TD_S(wall.tv_sec) + wall.tv_nsec};
}

void td_diary_init(struct td_diary *diary, const struct td_config *config, const struct td_arming *arming,
		   int fd)
{
	*diary = (struct td_diary){
		.config = config,
		.arming = arming,
		.machine = td_journal_of(fd, MACHINE_LINES),
		.clients = td_journal_of(fd, CLIENT_LINES),
		.refusals = td_journal_of(fd, CLIENT_LINES),
	};
}

/* --- words --------------------------------------------------------------------------------------------- */

/* RFC 3339, UTC, of a moment on the monotonic clock that is over. */
static void wall_clock(const struct td_diary *diary, td_ns at_ns, char text[WALL_MAX])
{
	td_ns wall_ns = td_time_between(td_time_between(at_ns, diary->clock.now_ns), diary->clock.wall_ns);
	time_t seconds = (time_t)(wall_ns / TD_S(1));
	struct tm parts;

	gmtime_r(&seconds, &parts);
	size_t length = strftime(text, WALL_MAX, "%Y-%m-%dT%H:%M:%S", &parts);

	(void)snprintf(text + length, WALL_MAX - length, ".%03dZ", (int)(wall_ns % TD_S(1) / TD_MS(1)));
}

static const char *axis_name(const struct td_diary *diary, uint8_t axis)
{
	return axis < diary->config->axes ? diary->config->axis[axis].name : "-";
}

static const char *way_name(const struct td_diary *diary, uint8_t axis, uint8_t way)
{
	return axis < diary->config->axes && way < TD_WAYS ? diary->config->axis[axis].way_name[way] : "-";
}

static const char *switch_name(const struct td_diary *diary, uint8_t sw)
{
	return sw < diary->config->switches ? diary->config->sw[sw].name : "-";
}

static const char *role_name(uint8_t role)
{
	return role != TD_NO_ROLE ? td_role_name((enum td_role)role) : "-";
}

/* What a refusal for want of arming is about; "" where the sentence of the cause says it all. */
static const char *detail(const struct td_diary *diary, enum td_cause cause)
{
	const struct td_sentences *why_not = &diary->arming->why_not;

	return cause == TD_CAUSE_NOT_ARMED && why_not->count > 0 ? why_not->sentence[0].text : "";
}

/* --- lines --------------------------------------------------------------------------------------------- */

static enum td_priority priority_of(enum td_cause_kind kind)
{
	if (kind == TD_KIND_TRIP)
		return TD_PRIORITY_WARNING;
	return kind == TD_KIND_MACHINE ? TD_PRIORITY_NOTICE : TD_PRIORITY_INFO;
}

static void say_news(struct td_diary *diary, const struct td_entry *entry)
{
	const struct td_news *news = &entry->as.news;
	const struct td_cause_info *info = td_cause_info(news->cause);
	const char *more = detail(diary, info->cause);
	bool refusal = info->kind == TD_KIND_REFUSAL;
	char wall[WALL_MAX];

	wall_clock(diary, entry->at_ns, wall);
	td_journal_say(refusal ? &diary->refusals : &diary->machine, diary->clock.now_ns,
		       priority_of(info->kind),
		       "news kind=%s cause=%s id=%d rule=%s axis=%s way=%s switch=%s session=%" PRIu32
		       " by=%s from=%" PRIu32 " at_ns=%" PRId64 " wall=%s: %s%s%s",
		       td_cause_kind_name(info->kind), info->name, (int)info->cause,
		       info->rule[0] ? info->rule : "-", axis_name(diary, news->axis),
		       way_name(diary, news->axis, news->way), switch_name(diary, news->sw), news->session,
		       role_name(news->role), diary->from, entry->at_ns, wall, info->sentence,
		       more[0] ? ": " : "", more);
}

/* The session that gave this order; 0 where it is none. */
static uint32_t giver(const struct td_event *event)
{
	switch (event->kind) {
	case TD_EVENT_REQUEST:
	case TD_EVENT_RELEASE:
	case TD_EVENT_GONE:
	case TD_EVENT_TURN_OVER:
	case TD_EVENT_STOP:
	case TD_EVENT_LATCH:
	case TD_EVENT_RESET:
	case TD_EVENT_COOLED:
	case TD_EVENT_UNTWISTED: return event->session;
	case TD_EVENT_TIME:
	case TD_EVENT_LEVELS:
	case TD_EVENT_LATCH_KEPT:
	case TD_EVENT_ARM:
	case TD_EVENT_DISARM:
	case TD_EVENT_LINES_LOST:
	case TD_EVENT_WRITTEN:
	case TD_EVENT_BREACH:
	case TD_EVENT_LOCK_KEPT:
	case TD_EVENT_KINDS:
	default: return 0;
	}
}

/* What was asked for and is no news where it is refused. */
static const char *order_name(enum td_event_kind kind)
{
	if (kind == TD_EVENT_RESET)
		return "reset";
	if (kind == TD_EVENT_COOLED)
		return "cooled";
	return kind == TD_EVENT_UNTWISTED ? "untwisted" : NULL;
}

static void say_step(struct td_diary *diary, const struct td_entry *entry)
{
	const struct td_event *event = &entry->as.step.event;
	const struct td_cause_info *info = td_cause_info((enum td_cause)entry->as.step.answer);
	const char *order = order_name(event->kind);
	char wall[WALL_MAX];

	diary->from = giver(event);
	if (!order || info->kind != TD_KIND_REFUSAL)
		return;
	wall_clock(diary, entry->at_ns, wall);
	td_journal_say(&diary->refusals, diary->clock.now_ns, TD_PRIORITY_INFO,
		       "refused order=%s cause=%s id=%d rule=%s axis=%s session=%" PRIu32
		       " by=%s at_ns=%" PRId64 " wall=%s: %s",
		       order, info->name, (int)info->cause, info->rule[0] ? info->rule : "-",
		       axis_name(diary, event->axis), event->session, role_name(event->role), entry->at_ns,
		       wall, info->sentence);
}

static void say_session(struct td_diary *diary, const struct td_entry *entry)
{
	const struct td_entry_session *session = &entry->as.session;
	char wall[WALL_MAX];

	wall_clock(diary, entry->at_ns, wall);
	td_journal_say(&diary->clients, diary->clock.now_ns, TD_PRIORITY_INFO,
		       "session %s session=%" PRIu32 " by=%s uid=%" PRIu32 " at_ns=%" PRId64 " wall=%s",
		       session->came ? "came" : "went", session->session, role_name(session->role),
		       session->uid, entry->at_ns, wall);
}

static void say_refused(struct td_diary *diary, const struct td_entry *entry)
{
	const struct td_entry_session *session = &entry->as.session;
	const struct td_cause_info *info = td_cause_info((enum td_cause)session->cause);
	char wall[WALL_MAX];

	wall_clock(diary, entry->at_ns, wall);
	td_journal_say(&diary->refusals, diary->clock.now_ns, TD_PRIORITY_INFO,
		       "refused order=- cause=%s id=%d rule=%s axis=- session=%" PRIu32
		       " by=%s at_ns=%" PRId64 " wall=%s: %s",
		       info->name, (int)info->cause, info->rule[0] ? info->rule : "-", session->session,
		       role_name(session->role), entry->at_ns, wall, info->sentence);
}

static uint64_t say_lost(struct td_diary *diary, const struct td_entry *entry, uint64_t *next)
{
	uint64_t lost = entry->number > *next ? entry->number - *next : 0;
	char wall[WALL_MAX];

	*next = entry->number + 1;
	if (lost == 0)
		return 0;
	wall_clock(diary, entry->at_ns, wall);
	td_journal_say(&diary->machine, diary->clock.now_ns, TD_PRIORITY_WARNING,
		       "lost entries=%" PRIu64 " before at_ns=%" PRId64
		       " wall=%s: more happened than the disk could take; it is missing in log and trace",
		       lost, entry->at_ns, wall);
	return lost;
}

uint64_t td_diary_entry(struct td_diary *diary, const struct td_entry *entry, struct td_diary_clock clock)
{
	bool client = entry->kind == TD_ENTRY_SESSION || entry->kind == TD_ENTRY_REFUSED;

	diary->clock = clock;
	uint64_t lost = say_lost(diary, entry, &diary->next[client ? OF_FRONT : OF_MOVER]);

	switch ((enum td_entry_kind)entry->kind) {
	case TD_ENTRY_STEP: say_step(diary, entry); break;
	case TD_ENTRY_NEWS: say_news(diary, entry); break;
	case TD_ENTRY_SESSION: say_session(diary, entry); break;
	case TD_ENTRY_REFUSED: say_refused(diary, entry); break;
	case TD_ENTRY_NONE:
	default: break;
	}
	return lost;
}

/* SPDX-License-Identifier: MIT */
#include "daemon/mover/manager.h"

/* Who latches and resets as fast as they can must not keep the manager busy. */
#define TELL_EVERY_NS TD_MS(100)
#define RETRY_NS      TD_MS(20)

static const char *const status_text[] = {
#define TD_X(ident, text) [TD_STATUS_##ident] = (text),
	TD_STATUS_TABLE(TD_X)
#undef TD_X
};

void td_mover_manager_init(struct td_mover_manager *manager, const struct td_notify *notify,
			   const char *why_not)
{
	*manager = (struct td_mover_manager){
		.notify = notify,
		.why_not = why_not && why_not[0] ? why_not : "for a moment nobody hears requests"};
}

static bool nobody(const struct td_mover_manager *manager)
{
	return !manager->notify || manager->notify->fd < 0;
}

static bool owed(const struct td_mover_manager *manager)
{
	return !manager->ready || manager->changed;
}

static td_ns tell_due(const struct td_mover_manager *manager)
{
	return manager->ready ? td_time_after(manager->told_ns, TELL_EVERY_NS) : 0;
}

static td_ns feed_due(const struct td_mover_manager *manager)
{
	return td_time_after(manager->fed_ns, manager->notify->feed_every_ns);
}

td_ns td_mover_manager_due(const struct td_mover_manager *manager)
{
	if (nobody(manager))
		return TD_NEVER;
	td_ns due_ns = feed_due(manager);

	if (owed(manager))
		due_ns = td_time_earlier(due_ns, tell_due(manager));
	return due_ns > manager->again_ns ? due_ns : manager->again_ns;
}

static bool any_tripped(const struct td_core *core, const struct td_rules *rules)
{
	for (uint8_t axis = 0; axis < rules->axes; axis++)
		if (core->axis[axis].state == TD_AXIS_TRIPPED)
			return true;
	return false;
}

static enum td_status status_of(const struct td_core *core, const struct td_rules *rules)
{
	if (!core->armed)
		return TD_STATUS_NOT_ARMED;
	if (core->latch != 0)
		return TD_STATUS_LATCHED;
	return any_tripped(core, rules) ? TD_STATUS_TRIPPED : TD_STATUS_ARMED;
}

static void add_state(const struct td_mover_manager *manager, struct td_notify_text *text)
{
	const char *status = status_text[manager->status];

	if (!manager->ready)
		td_notify_add(text, "READY=1\n");
	if (manager->refused)
		td_notify_add_status(text, TD_CONFIG_REFUSED_TEXT "; ", status);
	else if (manager->status == TD_STATUS_NOT_ARMED)
		td_notify_add_status(text, TD_NOT_ARMED_TEXT ": ", manager->why_not);
	else
		td_notify_add_status(text, status, "");
}

static bool say(struct td_mover_manager *manager, bool tell, bool feed, td_ns now_ns)
{
	struct td_notify_text text = {0};

	if (tell)
		add_state(manager, &text);
	if (feed)
		td_notify_add(&text, "WATCHDOG=1\n");
	bool said = td_notify_send(manager->notify, &text);

	if (!said)
		manager->again_ns = td_time_after(now_ns, RETRY_NS);
	if (said && feed)
		manager->fed_ns = now_ns;
	if (said && tell) {
		manager->ready = true;
		manager->changed = false;
		manager->told_ns = now_ns;
	}
	return said;
}

bool td_mover_manager_tend(struct td_mover_manager *manager, const struct td_core *core,
			   const struct td_rules *rules, td_ns now_ns)
{
	if (nobody(manager))
		return false;
	enum td_status status = status_of(core, rules);

	manager->changed |= status != manager->status;
	manager->status = status;
	if (now_ns < manager->again_ns)
		return false;
	bool tell = owed(manager) && now_ns >= tell_due(manager);
	bool feed = now_ns >= feed_due(manager);

	return (tell || feed) && say(manager, tell, feed, now_ns) && feed;
}

void td_mover_manager_reloading(struct td_mover_manager *manager, td_ns now_ns)
{
	struct td_notify_text text = {0};

	if (nobody(manager))
		return;
	td_notify_add(&text, "RELOADING=1\nMONOTONIC_USEC=");
	td_notify_add_number(&text, (uint64_t)now_ns / 1000);
	td_notify_add(&text, "\n");
	td_notify_add_status(&text, "checks the new configuration", "");
	(void)td_notify_send(manager->notify, &text);
}

void td_mover_manager_kept(struct td_mover_manager *manager)
{
	manager->refused = true;
	manager->ready = false;
}

void td_mover_manager_stopping(const struct td_mover_manager *manager)
{
	struct td_notify_text text = {0};

	if (nobody(manager))
		return;
	td_notify_add(&text, "STOPPING=1\n");
	td_notify_add_status(&text, "outputs low, ending", "");
	(void)td_notify_send(manager->notify, &text);
}

/* SPDX-License-Identifier: MIT */
/* What was counted, told on request: the mover's numbers from their shelf, the scribe's tally, and the front's own. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "daemon/front/inside.h"
#include "daemon/heap.h"

/* The mover may be laying just then; it is done before we have looked twice. */
enum { TRIES = 3 };

static td_ns wall_now(void)
{
	struct timespec now;

	clock_gettime(CLOCK_REALTIME, &now);
	return TD_S(now.tv_sec) + now.tv_nsec;
}

/* When the front began, by what the system's clock says now. */
static td_ns wall_at_start(const struct td_front *front, td_ns now_ns)
{
	return wall_now() - (now_ns - front->began_ns);
}

void td_front_metrics_start(struct td_front *front, const struct td_shared *shared)
{
	front->watched.meters = shared ? shared->meters : NULL;
	front->watched.began_wall_ns = wall_at_start(front, td_clock_now());
}

void td_front_metrics_refused(struct td_front *front, enum td_cause cause)
{
	front->watched.counts.refused[cause]++;
}

/* A computer without a clock of its own is set right some time after the start: then the start was another time than was
 * believed. What is less than a second is the clock being slowed or hurried, and tells nothing. */
static void look_at_clock(struct td_front *front, td_ns now_ns)
{
	struct td_watched *watched = &front->watched;
	td_ns began_ns = wall_at_start(front, now_ns);

	if (began_ns - watched->began_wall_ns > TD_S(1) || watched->began_wall_ns - began_ns > TD_S(1))
		watched->began_wall_ns = began_ns;
}

static void take_meter(struct td_watched *watched)
{
	static struct td_meter copy;

	for (int i = 0; watched->meters && i < TRIES; i++) {
		if (!td_shelf_take(watched->meters, &watched->taken, &copy))
			continue;
		watched->meter = copy;
		return;
	}
}

static bool find_form(const char *name, enum td_metric_form *form, struct td_fault *fault)
{
	struct td_nearest near = td_nearest_to(name ? name : "");
	const struct td_metric_form_info *info = NULL;

	*form = TD_METRIC_FORM_OPENMETRICS;
	for (unsigned int i = 0; name && (info = td_metric_form_at(i)) != NULL; i++) {
		td_nearest_offer(&near, info->name);
		*form = (enum td_metric_form)i;
		if (strcmp(name, info->name) == 0)
			return true;
	}
	return !name || td_front_unknown(fault, "call describe for the forms there are", "form", name, &near);
}

static struct td_metric_facts facts_of(const struct td_session *session, td_ns now_ns)
{
	const struct td_front *front = session->front;

	return (struct td_metric_facts){
		.config = front->config,
		.mirror = &front->mirror,
		.meter = &front->watched.meter,
		.front = &front->watched.counts,
		.tally = front->tally,
		.connections = {[TD_ROLE_KEEPER] = front->door[TD_ROLE_KEEPER].count,
				[TD_ROLE_VISITOR] = front->door[TD_ROLE_VISITOR].count},
		.in_line = (unsigned int)front->turns.places,
		.role = session->role,
		.now_ns = now_ns,
		.began_ns = front->began_ns,
		.began_wall_ns = front->watched.began_wall_ns,
	};
}

static json_t *object_of(const struct td_metric_facts *facts, enum td_metric_form form)
{
	const struct td_metric_form_info *info = td_metric_form_at(form);
	char *text = td_heap_take(TD_METRICS_TEXT_MAX);
	json_t *object = NULL;

	if (td_metrics_write(facts, form, text, TD_METRICS_TEXT_MAX) > 0)
		object = json_pack("{s:s, s:s, s:s}", "form", info->name, "media_type", info->media_type,
				   "text", text);
	free(text);
	return object;
}

json_t *td_front_metrics(const struct td_session *session, const char *form, struct td_fault *fault)
{
	struct td_front *front = session->front;
	struct td_watched *watched = &front->watched;
	td_ns now_ns = td_clock_now();
	enum td_metric_form which;

	if (!find_form(form, &which, fault))
		return NULL;
	take_meter(watched);
	if (watched->taken == 0 || !td_mirror_complete(&front->mirror)) {
		td_front_not_ready(fault);
		return NULL;
	}
	look_at_clock(front, now_ns);
	const struct td_metric_facts facts = facts_of(session, now_ns);
	json_t *object = object_of(&facts, which);

	if (!object)
		td_fault_set(fault, TD_CODE_INTERNAL, "report this", "the metrics are too long to be told");
	return object;
}

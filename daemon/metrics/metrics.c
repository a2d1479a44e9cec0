/* SPDX-License-Identifier: MIT */
#include "daemon/metrics/metrics.h"

#include "wire/method.h"

/* Whole milliseconds are exact enough for what lasts from seconds to years. */
enum { MS_DECIMALS = 3, US_DECIMALS = 6, NS_DECIMALS = 9, PPM_DECIMALS = 6 };

typedef struct td_page_label label_set[TD_PAGE_LABELS_MAX];

static struct td_page_value whole(uint64_t number)
{
	return (struct td_page_value){.number = number};
}

static struct td_page_value seconds(td_ns span_ns)
{
	uint64_t span_ms = span_ns > 0 ? (uint64_t)(span_ns / TD_MS(1)) : 0;

	return (struct td_page_value){span_ms, MS_DECIMALS};
}

/* --- by kind of label ---------------------------------------------------------------------------------- */

static void put_plain(struct td_page *page, enum td_metric metric, struct td_page_value value)
{
	const label_set none = {{NULL, NULL}};

	td_page_sample(page, metric, none, value);
}

static void put_by_cause(struct td_page *page, enum td_metric metric, enum td_cause cause, uint64_t count)
{
	const label_set labels = {{"cause", td_cause_info(cause)->name}};

	td_page_sample(page, metric, labels, whole(count));
}

/* Of each cause of a kind, whether it has happened or not: what is missing until it first happens is hard to watch for. */
static void put_kind(struct td_page *page, enum td_metric metric, enum td_cause_kind kind,
		     const uint64_t counts[TD_METER_CAUSES])
{
	const struct td_cause_info *info = NULL;

	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++)
		if (info->kind == kind)
			put_by_cause(page, metric, info->cause, counts[info->cause]);
}

static void put_axis(struct td_page *page, enum td_metric metric, const struct td_metric_facts *facts,
		     uint8_t axis, struct td_page_value value)
{
	const label_set labels = {{"axis", facts->config->axis[axis].name}};

	td_page_sample(page, metric, labels, value);
}

static void put_way(struct td_page *page, enum td_metric metric, const struct td_metric_facts *facts,
		    uint8_t axis, uint8_t way, struct td_page_value value)
{
	const struct td_config_axis *names = &facts->config->axis[axis];
	const label_set labels = {{"axis", names->name}, {"way", names->way_name[way]}};

	td_page_sample(page, metric, labels, value);
}

static void put_times(struct td_page *page, enum td_metric metric, const struct td_metric_facts *facts,
		      const td_ns (*times)[TD_WAYS])
{
	for (uint8_t axis = 0; axis < facts->config->axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			put_way(page, metric, facts, axis, way, seconds(times[axis][way]));
}

static void put_counts(struct td_page *page, enum td_metric metric, const struct td_metric_facts *facts,
		       const uint32_t (*counts)[TD_WAYS])
{
	for (uint8_t axis = 0; axis < facts->config->axes; axis++)
		for (uint8_t way = 0; way < TD_WAYS; way++)
			put_way(page, metric, facts, axis, way, whole(counts[axis][way]));
}

static void put_by_role(struct td_page *page, enum td_metric metric, uint64_t keepers, uint64_t visitors)
{
	const label_set keeper = {{"role", td_role_name(TD_ROLE_KEEPER)}};
	const label_set visitor = {{"role", td_role_name(TD_ROLE_VISITOR)}};

	td_page_sample(page, metric, keeper, whole(keepers));
	td_page_sample(page, metric, visitor, whole(visitors));
}

/* --- the daemon ---------------------------------------------------------------------------------------- */

static void write_build(struct td_page *page, const struct td_metric_facts *facts)
{
	const label_set labels = {{"version", TD_VERSION}};

	(void)facts;
	td_page_sample(page, TD_METRIC_build, labels, whole(1));
}

static void write_start(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_start, seconds(facts->began_wall_ns));
}

static void write_up(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_up, seconds(td_time_between(facts->began_ns, facts->now_ns)));
}

/* --- the machine --------------------------------------------------------------------------------------- */

static void write_armed(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_armed, whole(facts->mirror->machine.armed != 0));
}

static void write_latched(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_latched, whole(facts->mirror->machine.latch != 0));
}

static void write_config_refused(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_config_refused, whole(facts->mirror->machine.config_refused != 0));
}

static void write_tripped(struct td_page *page, const struct td_metric_facts *facts)
{
	for (uint8_t axis = 0; axis < facts->config->axes; axis++)
		put_axis(page, TD_METRIC_tripped, facts, axis,
			 whole(facts->mirror->axis[axis].state == TD_AXIS_TRIPPED));
}

static void write_trips_of(struct td_page *page, const struct td_metric_facts *facts, uint8_t axis)
{
	const struct td_cause_info *info = NULL;

	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++) {
		const label_set labels = {{"axis", facts->config->axis[axis].name}, {"cause", info->name}};

		if (info->kind == TD_KIND_TRIP)
			td_page_sample(page, TD_METRIC_trips, labels,
				       whole(facts->meter->trips[axis][info->cause]));
	}
}

static void write_trips(struct td_page *page, const struct td_metric_facts *facts)
{
	for (uint8_t axis = 0; axis < facts->config->axes; axis++)
		write_trips_of(page, facts, axis);
}

static void write_stops(struct td_page *page, const struct td_metric_facts *facts)
{
	put_kind(page, TD_METRIC_stops, TD_KIND_STOP, facts->meter->news);
}

static void write_latched_stops(struct td_page *page, const struct td_metric_facts *facts)
{
	static const enum td_cause causes[] = {TD_CAUSE_LATCH_ASKED, TD_CAUSE_LATCH_INPUT,
					       TD_CAUSE_LATCH_KEPT};

	for (size_t i = 0; i < sizeof(causes) / sizeof(causes[0]); i++)
		put_by_cause(page, TD_METRIC_latched_stops, causes[i], facts->meter->news[causes[i]]);
}

static void write_stop_latency(struct td_page *page, const struct td_metric_facts *facts)
{
	struct td_page_value bounds[TD_METER_BOUNDS];

	for (unsigned i = 0; i < TD_METER_BOUNDS; i++)
		bounds[i] = (struct td_page_value){td_meter_bound_us(i), US_DECIMALS};
	td_page_histogram(page, TD_METRIC_stop_latency, bounds, TD_METER_BOUNDS, facts->meter->stops,
			  (struct td_page_value){(uint64_t)facts->meter->stops_ns, NS_DECIMALS});
}

/* --- motors and switches --------------------------------------------------------------------------------- */

static void write_run(struct td_page *page, const struct td_metric_facts *facts)
{
	put_times(page, TD_METRIC_run, facts, facts->meter->run_ns);
}

static void write_starts(struct td_page *page, const struct td_metric_facts *facts)
{
	put_counts(page, TD_METRIC_starts, facts, facts->meter->starts);
}

static void write_life_run(struct td_page *page, const struct td_metric_facts *facts)
{
	put_times(page, TD_METRIC_life_run, facts, facts->meter->life_run_ns);
}

static void write_life_starts(struct td_page *page, const struct td_metric_facts *facts)
{
	put_counts(page, TD_METRIC_life_starts, facts, facts->meter->life_starts);
}

/* What rests cools down though nobody tells: the model says how far. */
static void write_heat(struct td_page *page, const struct td_metric_facts *facts)
{
	for (uint8_t axis = 0; axis < facts->config->axes; axis++) {
		uint32_t ppm = td_duty_theta_ppm(&facts->meter->duty[axis],
						 &facts->config->rules.axis[axis].duty, facts->now_ns);

		put_axis(page, TD_METRIC_heat, facts, axis, (struct td_page_value){ppm, PPM_DECIMALS});
	}
}

static uint64_t share_ppm(td_ns spent_ns, td_ns allowed_ns)
{
	uint64_t allowed_us = allowed_ns > 0 ? (uint64_t)(allowed_ns / TD_US(1)) : 0;

	return allowed_us > 0 ? (uint64_t)(spent_ns / TD_US(1)) * 1000000 / allowed_us : 0;
}

static void write_duty(struct td_page *page, const struct td_metric_facts *facts)
{
	static const char *const span_names[TD_BUDGET_SPANS] = {
#define TD_X(ident, name, span_s) name,
		TD_BUDGET_TABLE(TD_X)
#undef TD_X
	};

	for (uint8_t axis = 0; axis < facts->config->axes; axis++) {
		for (unsigned span = 0; span < TD_BUDGET_SPANS; span++) {
			const label_set labels = {{"axis", facts->config->axis[axis].name},
						  {"span", span_names[span]}};
			td_ns spent_ns = td_duty_spent_ns(&facts->meter->duty[axis],
							  (enum td_budget_span)span, facts->now_ns);
			td_ns allowed_ns = facts->config->rules.axis[axis].duty.allowed_ns[span];

			td_page_sample(page, TD_METRIC_duty, labels,
				       (struct td_page_value){share_ppm(spent_ns, allowed_ns), PPM_DECIMALS});
		}
	}
}

static void write_noise(struct td_page *page, const struct td_metric_facts *facts)
{
	for (uint8_t sw = 0; sw < facts->config->switches; sw++) {
		const label_set labels = {{"switch", facts->config->sw[sw].name}};

		td_page_sample(page, TD_METRIC_noise, labels, whole(facts->meter->pulses[sw]));
	}
}

/* --- clients --------------------------------------------------------------------------------------------- */

/* What is refused is mostly a refusal; a stop or a fault inside may be the reason, too. */
static void write_refusals(struct td_page *page, const struct td_metric_facts *facts)
{
	const uint64_t *counts = facts->front->refused;
	const struct td_cause_info *info = NULL;

	for (unsigned int i = 0; (info = td_cause_at(i)) != NULL; i++)
		if (info->kind == TD_KIND_REFUSAL || counts[info->cause] > 0)
			put_by_cause(page, TD_METRIC_refusals, info->cause, counts[info->cause]);
}

static void write_connections(struct td_page *page, const struct td_metric_facts *facts)
{
	put_by_role(page, TD_METRIC_connections, facts->connections[TD_ROLE_KEEPER],
		    facts->connections[TD_ROLE_VISITOR]);
}

static void write_connections_made(struct td_page *page, const struct td_metric_facts *facts)
{
	put_by_role(page, TD_METRIC_connections_made, facts->front->let_in[TD_ROLE_KEEPER],
		    facts->front->let_in[TD_ROLE_VISITOR]);
}

static void write_turned_away(struct td_page *page, const struct td_metric_facts *facts)
{
	put_by_role(page, TD_METRIC_turned_away, facts->front->turned_away[TD_ROLE_KEEPER],
		    facts->front->turned_away[TD_ROLE_VISITOR]);
}

static void write_in_line(struct td_page *page, const struct td_metric_facts *facts)
{
	put_plain(page, TD_METRIC_in_line, whole(facts->in_line));
}

/* --- traces ---------------------------------------------------------------------------------------------- */

static void write_entries_lost(struct td_page *page, const struct td_metric_facts *facts)
{
	if (facts->tally)
		put_plain(page, TD_METRIC_entries_lost, whole(facts->tally->lost));
}

static void write_entries_unwritten(struct td_page *page, const struct td_metric_facts *facts)
{
	if (facts->tally)
		put_plain(page, TD_METRIC_entries_unwritten, whole(facts->tally->unwritten));
}

static void write_traced_today(struct td_page *page, const struct td_metric_facts *facts)
{
	int64_t bytes = facts->tally ? facts->tally->bytes_today : 0;

	if (facts->tally)
		put_plain(page, TD_METRIC_traced_today, whole(bytes > 0 ? (uint64_t)bytes : 0));
}

/* --- all of them ----------------------------------------------------------------------------------------- */

static void (*const writers[TD_METRICS])(struct td_page *page, const struct td_metric_facts *facts) = {
#define TD_X(word, ...) write_##word,
	TD_METRIC_TABLE(TD_X)
#undef TD_X
};

size_t td_metrics_write(const struct td_metric_facts *facts, enum td_metric_form form, char *text,
			size_t size)
{
	const struct td_metric_info *info = NULL;
	struct td_page page;

	td_page_begin(&page, form, text, size);
	for (unsigned int i = 0; (info = td_metric_at(i)) != NULL; i++) {
		if (info->role > facts->role)
			continue;
		td_page_metric(&page, (enum td_metric)i);
		writers[i](&page, facts);
	}
	return td_page_end(&page) ? page.used : 0;
}

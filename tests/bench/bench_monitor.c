/* SPDX-License-Identifier: MIT */
/*
 * What a step costs: the core alone, and with the monitor behind it. Every axis is held, renewed and stepped at each
 * deadline; the rules are the test cart's, and the cart's wheel sixteen times.
 */
#include <stdio.h>
#include <time.h>

#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { STEPS = 1000000 };

struct drive {
	struct td_rules rules;
	struct td_core core;
	struct td_monitor monitor;
	struct td_result result;
	td_ns now_ns;
	uint32_t hold;
	bool watched;
	uint64_t breaches;
};

static double now_s(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now); /* others may be busy */
	return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void step(struct drive *drive, struct td_event event)
{
	struct td_verdict verdict;

	event.at_ns = drive->now_ns;
	td_core_step(&drive->core, &drive->rules, &event, &drive->result);
	if (!drive->watched)
		return;
	td_monitor_see(&drive->monitor, &drive->rules, &event);
	drive->breaches += !td_monitor_judge(&drive->monitor, &drive->rules, drive->core.now_ns,
					     drive->result.outputs, &verdict);
}

static void renew(struct drive *drive, uint8_t axis)
{
	const struct td_axis *self = &drive->core.axis[axis];
	bool held = self->way < TD_WAYS;

	step(drive, (struct td_event){.kind = TD_EVENT_REQUEST,
				      .axis = axis,
				      .way = held ? self->way : (uint8_t)(drive->hold & 1),
				      .session = 1,
				      .hold = held ? self->hold.number : ++drive->hold,
				      .seq = held ? self->hold.seq + 1 : 0,
				      .lease_ns = TD_MS(300)});
}

static double ns_a_step(struct drive *drive, struct td_rules rules, bool watched)
{
	*drive = (struct drive){.rules = rules, .watched = watched};
	td_core_init(&drive->core, &drive->rules, 0);
	td_monitor_init(&drive->monitor, &drive->rules, 0);
	step(drive, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = UINT32_C(1) << RULE_OPEN});
	step(drive, (struct td_event){.kind = TD_EVENT_ARM});
	double start_s = now_s();

	for (uint32_t i = 0; i < STEPS; i++) {
		drive->now_ns += TD_MS(5);
		renew(drive, (uint8_t)(i % rules.axes));
	}
	return (now_s() - start_s) * 1e9 / STEPS;
}

static void measure(const char *name, struct td_rules rules)
{
	static struct drive drive;
	double bare_ns = ns_a_step(&drive, rules, false);
	double watched_ns = ns_a_step(&drive, rules, true);

	printf("# measured: %s: core %.0f ns a step, monitor %.0f ns more, %llu breaches\n", name, bare_ns,
	       watched_ns - bare_ns, (unsigned long long)drive.breaches);
}

int main(void)
{
	struct td_rules cart = rule_cart();
	struct td_rules wheels = rule_cart();

	wheels.axes = TD_AXES_MAX;
	wheels.supply = td_rules_any_supply(TD_AXES_MAX);
	wheels.cable = td_rules_any_cable();
	for (uint8_t axis = 0; axis < TD_AXES_MAX; axis++)
		wheels.axis[axis] = cart.axis[RULE_WHEEL];
	measure("4 axes", cart);
	measure("16 axes", wheels);
	printf("# measured: %zu bytes of monitor, %zu bytes of core\n", sizeof(struct td_monitor),
	       sizeof(struct td_core));
	return 0;
}

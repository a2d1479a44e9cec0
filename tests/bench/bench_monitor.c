/* SPDX-License-Identifier: MIT */
/*
 * What a step costs: the core, and the monitor behind it. Every axis is held, renewed and turned round where it
 * ends; the rules are the test cart's, and the cart's wheel sixteen times, each of them without and with a duty and
 * a supply that want their sums made. Processor time, so that other programs do not count.
 */
#include <stdio.h>
#include <time.h>

#include "core/monitor.h"
#include "tests/support/rule_cart.h"

enum { STEPS = 100000, ROUNDS = 10 };

struct seen {
	struct td_event event;
	td_ns now_ns;
	uint32_t outputs;
};

struct drive {
	struct td_rules rules;
	struct td_core core;
	struct td_monitor monitor;
	struct td_result result;
	td_ns now_ns;
	uint32_t hold;
	size_t powered; /* axes, summed over all steps */
	uint64_t breaches;
	struct seen seen[STEPS];
	size_t steps;
};

static double now_s(void)
{
	struct timespec now;

	(void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
	return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static void step(struct drive *drive, struct td_event event)
{
	event.at_ns = drive->now_ns;
	td_core_step(&drive->core, &drive->rules, &event, &drive->result);
	drive->powered += (size_t)__builtin_popcount(drive->result.outputs);
	drive->seen[drive->steps++] = (struct seen){event, drive->core.now_ns, drive->result.outputs};
}

static void renew(struct drive *drive, uint8_t axis)
{
	const struct td_axis *self = &drive->core.axis[axis];
	bool held = self->way < TD_WAYS;

	step(drive, (struct td_event){.kind = TD_EVENT_REQUEST,
				      .axis = axis,
				      .way = held ? self->way : self->last_way == 0,
				      .session = 1,
				      .hold = held ? self->hold.number : ++drive->hold,
				      .seq = held ? self->hold.seq + 1 : 0,
				      .lease_ns = TD_MS(300)});
}

static double core_ns(struct drive *drive)
{
	td_core_init(&drive->core, &drive->rules, 0);
	drive->now_ns = 0;
	drive->powered = drive->steps = 0;
	double start_s = now_s();

	step(drive, (struct td_event){.kind = TD_EVENT_LEVELS, .levels = UINT32_C(1) << RULE_OPEN});
	step(drive, (struct td_event){.kind = TD_EVENT_ARM});
	while (drive->steps < STEPS) {
		drive->now_ns += TD_MS(5);
		renew(drive, (uint8_t)(drive->steps % drive->rules.axes));
	}
	return (now_s() - start_s) * 1e9 / STEPS;
}

static double monitor_ns(struct drive *drive)
{
	struct td_verdict verdict;

	td_monitor_init(&drive->monitor, &drive->rules, 0);
	double start_s = now_s();

	for (size_t i = 0; i < STEPS; i++) {
		const struct seen *seen = &drive->seen[i];

		td_monitor_see(&drive->monitor, &drive->rules, &seen->event);
		drive->breaches += !td_monitor_judge(&drive->monitor, &drive->rules, seen->now_ns,
						     seen->outputs, &verdict);
	}
	return (now_s() - start_s) * 1e9 / STEPS;
}

static void measure(const char *name, struct td_rules rules)
{
	static struct drive drive;
	double core = 0;
	double monitor = 0;

	drive = (struct drive){.rules = rules};
	for (int round = 0; round < ROUNDS; round++) {
		core += core_ns(&drive) / ROUNDS;
		monitor += monitor_ns(&drive) / ROUNDS;
	}
	printf("# measured: %s, %.1f of them powered: core %.0f ns a step, monitor %.0f ns, %llu breaches\n",
	       name, (double)drive.powered / STEPS, core, monitor, (unsigned long long)drive.breaches);
}

/* Nothing is ever cut or kept waiting for it, so that the same is driven: only its sums are made. */
static struct td_rules loaded(struct td_rules rules)
{
	for (uint8_t axis = 0; axis < rules.axes; axis++) {
		struct td_duty_rules *duty = &rules.axis[axis].duty;

		duty->inf_ppm = 1000001;
		duty->tau_on_ns = duty->tau_off_ns = TD_S(86400);
		for (int span = 0; span < TD_BUDGET_SPANS; span++)
			duty->allowed_ns[span] -= 1;
		rules.supply.axis[axis] = (struct td_supply_axis_rules){1000, 500, TD_MS(300)};
	}
	return rules;
}

/* Turns are counted, and never too many. */
static struct td_rules on_a_cable(struct td_rules rules)
{
	rules.cable = (struct td_cable_rules){
		.twist = {.source = TD_TWIST_ESTIMATE,
			  .limit_uturn = TD_TWIST_LIMIT_MAX_UTURN,
			  .doubt_ppm = 10000},
		.drive = RULE_DRIVE,
		.steering = RULE_WHEEL,
	};
	for (int way = 0; way < TD_WAYS; way++)
		for (int side = TD_TWIST_LEFT; side < TD_TWIST_SIDES; side++)
			rules.cable.twist.rate_ppm_s[way][side] =
				way == (side == TD_TWIST_LEFT) ? 100000 : -100000;
	return rules;
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
	measure("4 axes with duty and supply", loaded(cart));
	measure("4 axes on a cable", on_a_cable(cart));
	measure("16 axes", wheels);
	measure("16 axes with duty and supply", loaded(wheels));
	printf("# measured: %zu bytes of monitor, %zu bytes of core\n", sizeof(struct td_monitor),
	       sizeof(struct td_core));
	return 0;
}

/* SPDX-License-Identifier: MIT */
#include "sim/demo/tell.h"

#include <stdio.h>
#include <string.h>

#include "daemon/clock.h"

static double seconds(td_ns span_ns)
{
	return (double)span_ns / 1e9;
}

void td_tell_opening(void)
{
	puts("A glasshouse cart on the bench: drive, steering, a camera boom and a roof vent. The daemon,\n"
	     "the clients and the sockets are the real ones; the mechanics behind the bridge inputs are\n"
	     "simulated, and every number of them is invented.\n");
	fflush(stdout);
}

void td_tell_scene(size_t number, const struct td_scene *scene)
{
	printf("%zu. %s (%s)\n", number, scene->title, scene->rules);
	fflush(stdout);
}

void td_tell_act(const struct td_stage *stage, const struct td_act *act)
{
	printf("   %6.3f s    %s\n", seconds(td_clock_now() - stage->zero_ns), act->says);
	fflush(stdout);
}

/* Every other news is either shown by its consequence or of no interest to a spectator. */
static bool of_interest(enum td_cause cause)
{
	return cause != TD_CAUSE_LEVELS_SEEN && cause != TD_CAUSE_QUEUED;
}

void td_tell_news(const struct td_stage *stage, const struct td_record_news *news)
{
	const struct td_config *config = &stage->config;
	const struct td_cause_info *info = td_cause_info(news->cause);
	bool axis = news->axis < config->axes;
	char who[2 * TD_NAME_MAX + 2];

	if (!of_interest(news->cause))
		return;
	snprintf(who, sizeof(who), "%s%s%s", axis ? config->axis[news->axis].name : "machine",
		 axis && news->way < TD_WAYS ? " " : "",
		 axis && news->way < TD_WAYS ? config->axis[news->axis].way_name[news->way] : "");
	printf("   %6.3f s  > %s: %s%s%s%s\n", seconds(news->at_ns - stage->zero_ns), who, info->sentence,
	       info->rule[0] ? " (" : "", info->rule, info->rule[0] ? ")" : "");
	fflush(stdout);
}

void td_tell_outcome(const struct td_outcome *outcome, const char *picture)
{
	printf("   skipped teeth: %lld with tripdog, %lld without; picture: %s%s\n\n",
	       (long long)outcome->with.skipped_teeth, (long long)outcome->without.skipped_teeth, picture,
	       outcome->as_expected ? "" : "\n   NOT as expected");
	fflush(stdout);
}

static void rule_line(void)
{
	puts("---------------------------------------------+-------------------------+-----------------------"
	     "-");
}

static void row(const char *what, const char *rules, const struct td_toll *with,
		const struct td_toll *without)
{
	printf("%-35.35s %-8.8s | %5lld %8llu %6.2f s | %5lld %8llu %6.2f s\n", what, rules,
	       (long long)with->skipped_teeth, (unsigned long long)with->both_high, seconds(with->pushing_ns),
	       (long long)without->skipped_teeth, (unsigned long long)without->both_high,
	       seconds(without->pushing_ns));
}

static void add(struct td_toll *sum, const struct td_toll *toll)
{
	sum->skipped_teeth += toll->skipped_teeth;
	sum->both_high += toll->both_high;
	sum->pushing_ns += toll->pushing_ns;
}

void td_tell_table(const struct td_outcome *outcomes, size_t count)
{
	struct td_toll with = {0, 0, 0};
	struct td_toll without = {0, 0, 0};

	printf("%-44s | %-23s | %s\n", "", "with tripdog", "straight to the bridge");
	printf("%-35s %-8s | %5s %8s %8s | %5s %8s %8s\n", "what happened", "rule", "teeth", "both in",
	       "stalled", "teeth", "both in", "stalled");
	rule_line();
	for (size_t i = 0; i < count; i++) {
		row(outcomes[i].scene->title, outcomes[i].scene->rules, &outcomes[i].with,
		    &outcomes[i].without);
		add(&with, &outcomes[i].with);
		add(&without, &outcomes[i].without);
	}
	rule_line();
	row("all together", "", &with, &without);
	puts("\nteeth: gear teeth skipped. both in: times both inputs of a bridge were high.\n"
	     "stalled: time a motor was powered against a stop or a jam. What only time can tell (a stop\n"
	     "without switch, a jam) costs some stalling with tripdog too: it ends with the learned time.\n"
	     "\nMotion can hurt: this is no certified safety device and no substitute for a wired emergency\n"
	     "stop that cuts motor power.");
	fflush(stdout);
}

/* SPDX-License-Identifier: MIT */
/*
 * What the front bears: the real daemon on the bench board under seven kinds of load, each beside healthy clients that start and
 * stop things, follow, and ask; and a bare echo of lines (tests/support/echo.h) under the same load in the same run, as the
 * yardstick for the machine it runs on. `bench_front BUILD [--seconds N] [--clients N] [--rate N] [--phase N]`: so long a phase, so many
 * clients, so many messages a second where they are many, and only this phase beside the first; 60, 500, 10000 and all
 * unless it is said.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/load.h"

enum { PHASES = 8 };

struct row {
	struct load_phase phase;
	struct load_side ours;
	struct load_side echo;
	struct rounds rounds;
	long mover_wakeups;
};

static unsigned int seconds = 60;
static unsigned int clients = 500;
static unsigned int rate = 10000;
static unsigned int only; /* 0: all of them */
static struct load load;
static struct row row[PHASES];

static void plan(void)
{
	const struct load_phase phase[PHASES] = {
		{"nobody else", FLOOD_NONE, 0, 0},
		{"connections", FLOOD_ASKS, clients, clients},
		{"followers", FLOOD_FOLLOWS, clients, clients},
		{"valid calls", FLOOD_CALLS, clients, rate},
		{"garbage", FLOOD_GARBAGE, clients, rate},
		{"half messages", FLOOD_HALVES, clients, rate},
		{"never reading", FLOOD_DEAF, clients, rate},
		{"come and go", FLOOD_VISITS, clients, rate},
	};

	for (int i = 0; i < PHASES; i++)
		row[i].phase = phase[i];
}

static void run(struct row *what)
{
	static const char pace[] = "# %s: daemon %s\n";

	what->echo = load_run_echo(stage_file(&load.stage, "echo.sock"), &what->phase, TD_S(seconds));
	what->ours = load_run(&load, &what->phase, TD_S(seconds));
	what->mover_wakeups = load.mover_wakeups;
	what->rounds = load.rounds;
	memset(load.rounds.stop_ms, 0, sizeof(load.rounds.stop_ms)); /* they are the row's now */
	(void)fprintf(stderr, pace, what->phase.name, "done");
}

/* --- the tables ------------------------------------------------------------------------------------------ */

static double per_s(uint64_t count, const struct flood_result *result)
{
	return result->seconds > 0 ? (double)count / result->seconds : 0;
}

static void print_service(void)
{
	printf("# %-14s %8s %8s | %8s %8s | %7s %7s %7s | %7s %7s %7s | %7s %7s\n", "asked", "sent/s", "echo",
	       "served/s", "echo", "p50 ms", "p99", "max", "echo p50", "p99", "max", "load p50", "p99");
	for (int i = 0; i < PHASES; i++) {
		if (row[i].ours.healthy.turns == 0)
			continue;
		const struct load_side *ours = &row[i].ours;
		const struct load_side *echo = &row[i].echo;

		printf("# %-14s %8.0f %8.0f | %8.0f %8.0f | %7.2f %7.2f %7.2f | %8.2f %7.2f %7.2f | %8.2f "
		       "%7.2f\n",
		       row[i].phase.name, per_s(ours->crowd.turns, &ours->crowd),
		       per_s(echo->crowd.turns, &echo->crowd),
		       per_s(ours->crowd.lines, &ours->crowd) + per_s(ours->healthy.lines, &ours->healthy),
		       per_s(echo->crowd.lines, &echo->crowd) + per_s(echo->healthy.lines, &echo->healthy),
		       ours->healthy.answer_ms[0], ours->healthy.answer_ms[1], ours->healthy.answer_ms[2],
		       echo->healthy.answer_ms[0], echo->healthy.answer_ms[1], echo->healthy.answer_ms[2],
		       ours->crowd.answer_ms[0], ours->crowd.answer_ms[1]);
	}
}

static void print_stop(struct series *stop, struct series *alone)
{
	double p50 = series_share(stop, 0.5);
	double p99 = series_share(stop, 0.99);

	printf(" | %5zu %7.2f %7.2f %7.2f %5.2f %5.2f", stop->count, p50, p99, series_share(stop, 1),
	       p50 / series_share(alone, 0.5), p99 / series_share(alone, 0.99));
}

static void print_stops(void)
{
	printf("# %-14s | %5s %7s %7s %7s %5s %5s | %5s %7s %7s %7s %5s %5s | %s\n", "stop -> low", "keep.",
	       "p50 ms", "p99", "max", "x50", "x99", "visi.", "p50 ms", "p99", "max", "x50", "x99",
	       "trips heard of made, news missed");
	for (int i = 0; i < PHASES; i++) {
		if (row[i].ours.healthy.turns == 0)
			continue;
		struct rounds *rounds = &row[i].rounds;

		printf("# %-14s", row[i].phase.name);
		for (int role = TD_ROLE_KEEPER; role >= TD_ROLE_VISITOR; role--)
			print_stop(&rounds->stop_ms[role], &row[0].rounds.stop_ms[role]);
		printf(" | %u of %u, %u%s\n", rounds->heard.trips, rounds->trips_made, rounds->heard.missed,
		       rounds->heard.dropped ? ", dropped" : "");
	}
}

static double cpu_percent(const struct load_side *side)
{
	double span_s = (double)(side->after.at_ns - side->before.at_ns) / 1e9;

	return span_s > 0 ? 100 * (side->after.cpu_s - side->before.cpu_s) / span_s : 0;
}

static void print_costs(void)
{
	printf("# %-14s | %6s %6s | %9s %9s %9s | %9s %9s | %7s | %s\n", "cost", "cpu %", "echo", "peak kB",
	       "echo", "", "pss kB", "before", "conn.s", "mover wakeups/s");
	for (int i = 0; i < PHASES; i++) {
		if (row[i].ours.healthy.turns == 0)
			continue;
		const struct load_side *ours = &row[i].ours;
		const struct load_side *echo = &row[i].echo;
		double span_s = (double)(ours->after.at_ns - ours->before.at_ns) / 1e9;

		printf("# %-14s | %6.1f %6.1f | %9ld %9ld %9s | %9ld %9ld | %7llu | %.0f\n",
		       row[i].phase.name, cpu_percent(ours), cpu_percent(echo), ours->after.peak_kb,
		       echo->after.peak_kb, "", ours->after.pss_kb, ours->before.pss_kb,
		       (unsigned long long)ours->crowd.connections, (double)row[i].mover_wakeups / span_s);
	}
}

static void measure(void **state)
{
	(void)state;
	plan();
	load_open(&load, clients);
	for (unsigned int i = 0; i < PHASES; i++)
		if (only == 0 || i == 0 || i == only)
			run(&row[i]);
	load_close(&load);
	print_service();
	print_stops();
	print_costs();
}

static bool take_option(const char *name, const char *value)
{
	const struct {
		const char *name;
		unsigned int *value;
		unsigned int most;
	} options[] = {{"--seconds", &seconds, 3600},
		       {"--clients", &clients, FLOOD_CLIENTS_MAX},
		       {"--rate", &rate, 1000000},
		       {"--phase", &only, PHASES - 1}};

	for (size_t i = 0; i < sizeof(options) / sizeof(options[0]); i++) {
		if (strcmp(name, options[i].name) != 0)
			continue;
		*options[i].value = (unsigned int)strtoul(value, NULL, 10);
		return *options[i].value > 0 && *options[i].value <= options[i].most;
	}
	return false;
}

int main(int argc, char **argv)
{
	const struct CMUnitTest tests[] = {cmocka_unit_test(measure)};

	if (argc > 1)
		setenv("TD_BUILD", argv[1], 1);
	for (int i = 2; i < argc; i += 2)
		if (i + 1 == argc || !take_option(argv[i], argv[i + 1])) {
			(void)fprintf(
				stderr,
				"bench_front BUILD [--seconds N] [--clients N] [--rate N] [--phase N]\n");
			return 2;
		}
	return cmocka_run_group_tests_name("front", tests, NULL, NULL);
}

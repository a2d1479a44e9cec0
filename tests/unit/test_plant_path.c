/* SPDX-License-Identifier: MIT */
/* The closed form of one axis' motion against published figures and an independent integration. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sim/path.h"

static void near(double got, double wanted, double within)
{
	if (!(fabs(got - wanted) <= within))
		fail_msg("%.9g, wanted %.9g within %g", got, wanted, within);
}

/* Share of the final value of a first-order lag after a number of time constants: 1 - e^-n, as printed in
 * any table of e^-x; the five digits here were computed from the formula. */
static const struct {
	double taus;
	double reached;
} table[] = {
	{0.5, 0.39347}, {1, 0.63212}, {2, 0.86466}, {3, 0.95021}, {4, 0.98168}, {5, 0.99326},
};

static void speed_reaches_the_tabulated_shares(void **state)
{
	(void)state;
	struct td_path path = {.final_speed = 1, .tau_s = 0.04};

	for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); i++)
		near(td_path_speed(&path, (td_ns)(table[i].taus * 40e6)), table[i].reached, 5e-6);
}

static void coasting_keeps_the_tabulated_remainder(void **state)
{
	(void)state;
	struct td_path path = {.speed = 1, .tau_s = 0.025};

	for (size_t i = 0; i < sizeof(table) / sizeof(table[0]); i++)
		near(td_path_speed(&path, (td_ns)(table[i].taus * 25e6)), 1 - table[i].reached, 5e-6);
}

/* Worked example of the same law in a textbook on electrical machines (E. F. Fuchs, M. A. S. Masoum, read
 * at holooly.com): time constant 3 h, from 40 to 120 degrees; 114 degrees after 7.77 h, which is 2.59 time
 * constants. */
static void lag_agrees_with_a_textbook_example(void **state)
{
	(void)state;
	struct td_path path = {.speed = 40, .final_speed = 120, .tau_s = 3 * 3600.0};

	near(td_path_speed(&path, (td_ns)(7.77 * 3600e9)), 114.0, 0.005);
}

/* The same equation of motion, integrated by the classical Runge-Kutta method. */
static double integrate(const struct td_path *path, double seconds, int steps)
{
	double h = seconds / steps;
	double x = path->position;
	double v = path->speed;

	for (int i = 0; i < steps; i++) {
		double a1 = (path->final_speed - v) / path->tau_s;
		double a2 = (path->final_speed - (v + a1 * h / 2)) / path->tau_s;
		double a3 = (path->final_speed - (v + a2 * h / 2)) / path->tau_s;
		double a4 = (path->final_speed - (v + a3 * h)) / path->tau_s;

		x += h * v + h * h / 6 * (a1 + a2 + a3);
		v += h / 6 * (a1 + 2 * a2 + 2 * a3 + a4);
	}
	return x;
}

static void position_is_the_integral_of_the_speed(void **state)
{
	(void)state;
	static const struct td_path paths[] = {
		{.position = 0.5, .speed = 0, .final_speed = 0.5, .tau_s = 0.04},
		{.position = 0.5, .speed = 0.5, .final_speed = -0.7, .tau_s = 0.04},
		{.position = 0.1, .speed = -0.3, .final_speed = 0, .tau_s = 0.5},
	};

	for (size_t i = 0; i < sizeof(paths) / sizeof(paths[0]); i++)
		for (int ms = 1; ms <= 1000; ms *= 10)
			near(td_path_position(&paths[i], TD_MS(ms)), integrate(&paths[i], ms * 1e-3, 20000),
			     1e-9);
}

/* Follows from the law: a coasting axis runs on for speed x time constant. */
static void coasting_distance_is_speed_times_time_constant(void **state)
{
	(void)state;
	struct td_path path = {.position = 0.2, .speed = 0.5, .tau_s = 0.025};

	near(td_path_position(&path, TD_S(10)), 0.2 + 0.5 * 0.025, 1e-12);
	near(td_path_speed(&path, TD_S(10)), 0, 1e-12);
}

static void no_time_constant_means_full_speed_at_once(void **state)
{
	(void)state;
	struct td_path path = {.position = 0.25, .speed = -1, .final_speed = 0.5, .tau_s = 0};

	near(td_path_position(&path, TD_S(1)), 0.75, 1e-12);
	near(td_path_speed(&path, 0), 0.5, 0);
}

static const struct crossing {
	const char *name;
	struct td_path path;
	struct td_path_edge edge;
	bool beyond;
	bool never;
} crossings[] = {
	{"up to a stop", {.position = 0.5, .final_speed = 0.5, .tau_s = 0.04}, {1, +1}, true, false},
	{"down to a stop", {.position = 0.5, .final_speed = -0.5, .tau_s = 0.04}, {0, -1}, true, false},
	{"the wrong way", {.position = 0.5, .final_speed = -0.5, .tau_s = 0.04}, {1, +1}, true, true},
	{"off a cam", {.position = 1, .final_speed = -0.5, .tau_s = 0.04}, {0.95, +1}, false, false},
	{"off a stop it stands on", {.position = 1, .final_speed = -0.5, .tau_s = 0.04}, {1, +1}, true, true},
	{"coasting short of it", {.position = 0.5, .speed = 1, .tau_s = 0.04}, {0.55, +1}, true, true},
	{"coasting past it", {.position = 0.5, .speed = 1, .tau_s = 0.06}, {0.55, +1}, true, false},
	{"over and back: over",
	 {.position = 0.9, .speed = 2, .final_speed = -1, .tau_s = 0.1},
	 {0.95, +1},
	 true,
	 false},
	{"over and back: back",
	 {.position = 0.9, .speed = 2, .final_speed = -1, .tau_s = 0.1},
	 {0.8, -1},
	 true,
	 false},
	{"turning short of it",
	 {.position = 0.9, .speed = 1, .final_speed = -1, .tau_s = 0.01},
	 {0.95, +1},
	 true,
	 true},
	{"without time constant", {.position = 0.5, .final_speed = 0.5}, {1, +1}, true, false},
	{"standing on it", {.position = 0.95}, {0.95, +1}, false, true},
	{"slow for ten minutes",
	 {.position = 0, .final_speed = 1.0 / 600, .tau_s = 10},
	 {1, +1},
	 true,
	 false},
};

static void first_crossing_is_found_to_the_nanosecond(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(crossings) / sizeof(crossings[0]); i++) {
		const struct crossing *c = &crossings[i];
		td_ns at = td_path_first(&c->path, 0, &c->edge, c->beyond);

		if ((at == TD_NEVER) != c->never)
			fail_msg("%s: found %lld", c->name, (long long)at);
		if (c->never)
			continue;
		if (td_path_beyond(&c->edge, td_path_position(&c->path, at)) != c->beyond)
			fail_msg("%s: not across at %lld", c->name, (long long)at);
		if (td_path_beyond(&c->edge, td_path_position(&c->path, at - 1)) == c->beyond)
			fail_msg("%s: across before %lld already", c->name, (long long)at);
	}
}

static void a_crossing_lies_after_the_time_asked_from(void **state)
{
	(void)state;
	struct td_path path = {.position = 0.5, .final_speed = 0.5, .tau_s = 0};
	struct td_path_edge edge = {1, +1};
	td_ns at = td_path_first(&path, 0, &edge, true);

	assert_in_range(at, TD_MS(1000), TD_MS(1000) + 1);
	assert_int_equal(td_path_first(&path, at - 1, &edge, true), at);
	assert_true(td_path_first(&path, at, &edge, true) > at);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(speed_reaches_the_tabulated_shares),
		cmocka_unit_test(coasting_keeps_the_tabulated_remainder),
		cmocka_unit_test(lag_agrees_with_a_textbook_example),
		cmocka_unit_test(position_is_the_integral_of_the_speed),
		cmocka_unit_test(coasting_distance_is_speed_times_time_constant),
		cmocka_unit_test(no_time_constant_means_full_speed_at_once),
		cmocka_unit_test(first_crossing_is_found_to_the_nanosecond),
		cmocka_unit_test(a_crossing_lies_after_the_time_asked_from),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

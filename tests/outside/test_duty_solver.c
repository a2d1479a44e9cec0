/* SPDX-License-Identifier: MIT */
/*
 * R12 against a solver of differential equations that nobody here wrote: GNU Scientific Library, gsl_odeiv2,
 * Runge-Kutta Prince-Dormand 8/9.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>

#include <cmocka.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "core/duty.h"
#include "tests/support/dice.h"

struct linear {
	double target, tau_s;
};

static int slope(double t, const double theta[], double change[], void *params)
{
	const struct linear *linear = params;

	(void)t;
	change[0] = (linear->target - theta[0]) / linear->tau_s;
	return GSL_SUCCESS;
}

/* A random sequence of runs and rests, long and short, solved by others. */
static void R12_a_differential_equation_solver_comes_to_the_same(void **state)
{
	enum { SEGMENTS = 2000 };
	struct dice dice = dice_start(2024);
	struct td_duty_rules rules = {.inf_ppm = 2500000,
				      .tau_on_ns = TD_S(700),
				      .tau_off_ns = TD_S(1900),
				      .restart_ppm = 1000000,
				      .allowed_ns = {TD_S(60), TD_S(600), TD_S(86400)}};
	struct linear linear = {0, 1};
	gsl_odeiv2_system system = {slope, NULL, 1, &linear};
	gsl_odeiv2_driver *driver =
		gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-13, 1e-13);
	double theta = 0;
	double worst = 0;
	struct td_duty duty;
	td_ns now_ns = 0;

	(void)state;
	td_duty_init(&duty, 0);
	for (int i = 0; i < SEGMENTS; i++) {
		bool powered = i % 2 == 0;
		td_ns span_ns = dice_span(&dice, TD_MS(5), TD_S(3000));
		double t = 0;

		td_duty_power(&duty, &rules, powered, now_ns);
		linear = powered ? (struct linear){2.5, 700} : (struct linear){0, 1900};
		gsl_odeiv2_driver_reset(driver);
		assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, (double)span_ns / 1e9, &theta),
				 GSL_SUCCESS);
		now_ns += span_ns;
		double off = (double)td_duty_theta(&duty, &rules, now_ns) / (double)TD_DUTY_LIMIT - theta;

		worst = fabs(off) > worst ? fabs(off) : worst;
		assert_true(off >= -1e-10); /* the solver's own error */
		assert_true(off <= 1e-10 + (i + 1) * 0x1p-39);
	}
	gsl_odeiv2_driver_free(driver);
	printf("# measured: after %d runs and rests within %.2g of the solver\n", SEGMENTS, worst);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(R12_a_differential_equation_solver_comes_to_the_same),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

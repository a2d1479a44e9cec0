/* SPDX-License-Identifier: MIT */
/* That the tests' reader of metrics takes what is right and notices what is not. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "tests/support/openmetrics.h"

#define H         "# TYPE h histogram\n"
#define H_INF     "h_bucket{le=\"+Inf\"} 1\n"
#define H_REST    "h_count 1\nh_sum 0\n# EOF\n"
#define GOOD_HEAD "# TYPE a_seconds gauge\n# UNIT a_seconds seconds\n# HELP a_seconds text\n"

static void the_reader_takes_what_is_right(void **state)
{
	static const char *const good[] = {
		"# EOF\n",
		GOOD_HEAD "a_seconds 1\n# EOF\n",
		GOOD_HEAD "a_seconds{x=\"\\\\ \\\" \\n\",y=\"\"} 0.5\na_seconds{x=\"\"} 3\n# EOF\n",
		"# TYPE c counter\nc_total 3\n# TYPE i info\ni_info{v=\"1\"} 1\n# EOF\n",
		"# TYPE h histogram\nh_bucket{le=\"0.1\"} 1\nh_bucket{le=\"+Inf\"} 1\nh_count 1\nh_sum 0\n# "
		"EOF\n",
	};

	(void)state;
	for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++)
		if (openmetrics_fault(good[i]))
			fail_msg("%s", openmetrics_fault(good[i]));
}

static void must_be_refused(const char *const bad[], size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (!openmetrics_fault(bad[i]))
			fail_msg("no fault was found in: %s", bad[i]);
	print_message("# counted: %zu faulty texts are refused\n", count);
}

static void the_reader_notices_histograms_that_do_not_add_up(void **state)
{
	static const char *const bad[] = {
		H "h_bucket{le=\"0.1\"} 1\nh_count 1\nh_sum 0\n# EOF\n",
		H H_INF "h_count 2\nh_sum 0\n# EOF\n",
		H H_INF "h_count 1\n# EOF\n",
		H "h_bucket 1\nh_count 1\nh_sum 0\n# EOF\n",
		H "h_bucket{le=\"0.1\"} 2\n" H_INF H_REST,
		H "h_bucket{le=\"2\"} 0\nh_bucket{le=\"1\"} 1\n" H_INF H_REST,
		H H_INF "h_count{le=\"1\"} 1\nh_sum 0\n# EOF\n",
	};

	(void)state;
	must_be_refused(bad, sizeof(bad) / sizeof(bad[0]));
}

static void the_reader_notices_what_is_wrong(void **state)
{
	static const char *const bad[] = {
		"",
		"# EOF",
		"# EOF\n\n",
		"# EOF\n# EOF\n",
		"\n# EOF\n",
		"# a comment\n# EOF\n",
		"a 1\n# EOF\n",
		"# HELP a text\na 1\n# EOF\n",
		"# HELP a text\n# EOF\n",
		"# TYPE a summary\na 1\n# EOF\n",
		"# TYPE a gauge\n# TYPE a gauge\na 1\n# EOF\n",
		"# TYPE a gauge\na 1\n# HELP a late\n# EOF\n",
		"# TYPE a gauge\na 1\n# TYPE b gauge\nb 1\na{x=\"1\"} 2\n# EOF\n",
		"# TYPE a gauge\na 1\n# TYPE b gauge\nb 1\n# TYPE a gauge\n# EOF\n",
		"# TYPE a gauge\na 1\na 1\n# EOF\n",
		"# TYPE a gauge\na{x=\"1\",x=\"2\"} 1\n# EOF\n",
		"# TYPE a gauge\na{x=1} 1\n# EOF\n",
		"# TYPE a gauge\na{x=\"1\",} 1\n# EOF\n",
		"# TYPE a gauge\na{} 1\n# EOF\n",
		"# TYPE a gauge\na{__x=\"1\"} 1\n# EOF\n",
		"# TYPE a gauge\na{x=\"\\t\"} 1\n# EOF\n",
		"# TYPE a gauge\na  1\n# EOF\n",
		"# TYPE a gauge\na 1 \n# EOF\n",
		"# TYPE a gauge\na one\n# EOF\n",
		"# TYPE a gauge\na 1.\n# EOF\n",
		"# TYPE a gauge\na\n# EOF\n",
		"# TYPE a gauge\n# UNIT a seconds\na 1\n# EOF\n",
		"# TYPE a gauge\n# HELP a say \"so\"\na 1\n# EOF\n",
		"# TYPE 1a gauge\n1a 1\n# EOF\n",
		"# TYPE c counter\nc 1\n# EOF\n",
		"# TYPE c counter\nc_total 1\n# TYPE c_total gauge\nc_total 1\n# EOF\n",
		"# TYPE i info\ni_info 2\n# EOF\n",
		"# TYPE i_seconds info\n# UNIT i_seconds seconds\n# EOF\n",
	};

	(void)state;
	must_be_refused(bad, sizeof(bad) / sizeof(bad[0]));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_reader_takes_what_is_right),
		cmocka_unit_test(the_reader_notices_what_is_wrong),
		cmocka_unit_test(the_reader_notices_histograms_that_do_not_add_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

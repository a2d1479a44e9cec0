/* SPDX-License-Identifier: MIT */
/*
 * Our traces in the hands of a reader and a writer that nobody here wrote: vcd2fst and fst2vcd of the
 * waveform viewer package gtkwave. A trace goes through both; what comes out must hold the same signals
 * with the same values at the same times. Their exit codes say nothing (they are 0 for broken files
 * too), so the contents are compared.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/support/outside.h"
#include "tests/support/story.h"
#include "trace/vcd_writer.h"

static struct td_vcd_writer *begin_cart(FILE *out, enum td_vcd_scale scale)
{
	const struct td_vcd_head head = {"2026-11-25", "tripdog test", scale};
	struct td_vcd_writer *w = td_vcd_writer_new(out, &head, NULL);

	assert_non_null(w);
	assert_int_equal(td_vcd_writer_enter(w, "glasshouse", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "armed", 1, td_vcd_unknown(), NULL), 0);
	assert_int_equal(td_vcd_writer_enter(w, "boom", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "out_raise", 1, td_vcd_number(0), NULL), 1);
	assert_int_equal(td_vcd_writer_signal(w, "state", 3, td_vcd_number(1), NULL), 2);
	assert_int_equal(td_vcd_writer_signal(w, "cause", 16, td_vcd_number(0), NULL), 3);
	assert_int_equal(td_vcd_writer_signal(w, "wide", 64, td_vcd_unknown(), NULL), 4);
	assert_int_equal(td_vcd_writer_leave(w, NULL), 0);
	assert_int_equal(td_vcd_writer_enter(w, "switches", NULL), 0);
	assert_int_equal(td_vcd_writer_signal(w, "boom-top_1", 1, td_vcd_number(1), NULL), 5);
	assert_int_equal(td_vcd_writer_begin(w, TD_S(1000), NULL), 0);
	return w;
}

/* The same pseudo-random numbers in every run. */
static uint64_t next_random(uint64_t *seed)
{
	*seed ^= *seed << 13;
	*seed ^= *seed >> 7;
	*seed ^= *seed << 17;
	return *seed;
}

/* Changes of every signal, one signal at most once in a step: a viewer shows the last value only. */
static void write_changes(struct td_vcd_writer *w, td_ns step_ns)
{
	uint64_t seed = UINT64_C(0x1234567);
	td_ns at_ns = TD_S(1000);

	for (int i = 0; i < 3000; i++) {
		struct td_vcd_value value = {next_random(&seed), 0};

		at_ns += step_ns * (td_ns)(1 + next_random(&seed) % 5000);
		if (next_random(&seed) % 8 == 0)
			value.odd = next_random(&seed);
		assert_int_equal(td_vcd_writer_set(w, i % 6, at_ns, value, NULL), 0);
	}
	assert_int_equal(td_vcd_writer_finish(w, at_ns + step_ns, NULL), 0);
}

static void assert_comes_back(enum td_vcd_scale scale, td_ns step_ns)
{
	FILE *file = fopen(outside_path("in.vcd"), "wb");
	struct td_vcd_writer *w = begin_cart(file, scale);
	size_t ours_length;
	size_t theirs_length;

	write_changes(w, step_ns);
	td_vcd_writer_free(w);
	(void)fclose(file);
	(void)outside_run((const char *const[]){"vcd2fst", "in.vcd", "packed", NULL});
	(void)outside_run((const char *const[]){"fst2vcd", "packed", "-o", "out.vcd", NULL});

	char *ours = outside_bytes("in.vcd", &ours_length);
	char *theirs = outside_bytes("out.vcd", &theirs_length);
	assert_string_not_equal(ours, theirs);
	char *our_waves = story_waves(ours, ours_length);
	char *their_waves = story_waves(theirs, theirs_length);
	assert_null(strstr(our_waves, "bad "));
	assert_non_null(strstr(our_waves, "glasshouse.boom.state 3: 0=001 "));
	assert_string_equal(our_waves, their_waves);
	print_message("# measured: %zu bytes of waves equal after another program's reader and writer\n",
		      strlen(our_waves));
	free(ours);
	free(theirs);
	free(our_waves);
	free(their_waves);
}

static void nanoseconds_survive_another_programs_hands(void **state)
{
	(void)state;
	assert_comes_back(TD_VCD_SCALE_1NS, 1);
}

static void microseconds_survive_another_programs_hands(void **state)
{
	(void)state;
	assert_comes_back(TD_VCD_SCALE_1US, TD_US(1));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nanoseconds_survive_another_programs_hands),
		cmocka_unit_test(microseconds_survive_another_programs_hands),
	};

	return cmocka_run_group_tests(tests, outside_make, outside_remove);
}

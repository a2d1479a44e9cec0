/* SPDX-License-Identifier: MIT */
/* What bash offers after sourcing what tripdog --completion prints, with a daemon made of a shell function. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "daemon/client/completion.h"
#include "daemon/client/options.h"

static char script[64] = "/tmp/tripdog-completion-XXXXXX";

static int write_script(void **state)
{
	int fd = mkstemp(script);
	FILE *out = fd < 0 ? NULL : fdopen(fd, "w");

	(void)state;
	if (!out)
		return -1;
	/* The arguments it is asked with come last, so that a test sees them. */
	(void)fputs("tripdog() { [ \"${*: -2}\" = 'describe --names' ] || return 1; "
		    "echo boom lower raise; echo drive backward forward; "
		    "case \"$*\" in *--socket*) echo other in out;; esac; }\n",
		    out);
	td_cli_completion(out);
	return fclose(out);
}

static int remove_script(void **state)
{
	(void)state;
	return unlink(script);
}

/* The words offered for the last word of `line`, separated by blanks. */
static void offers(const char *line, char out[512])
{
	char command[1024];
	size_t used = 0;

	(void)snprintf(command, sizeof(command),
		       "bash -c '. %s; COMP_WORDS=(%s); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _tripdog; "
		       "echo \"${COMPREPLY[@]}\"'",
		       script, line);
	FILE *in = popen(command, "r"); /* NOLINT(cert-env33-c): a shell is what is tested */

	assert_non_null(in);
	used = fread(out, 1, 511, in);
	assert_int_equal(pclose(in), 0);
	out[used] = '\0';
	out[strcspn(out, "\n")] = '\0';
}

static void expect(const char *line, const char *words)
{
	char got[512];

	offers(line, got);
	if (strcmp(got, words) != 0)
		fail_msg("after \"%s\": \"%s\", expected \"%s\"", line, got, words);
}

static void every_command_is_offered(void **state)
{
	char wanted[512] = "";
	const struct td_command *command = NULL;
	size_t used = 0;

	(void)state;
	for (unsigned int i = 0; (command = td_command_at(i)) != NULL; i++)
		used += (size_t)snprintf(wanted + used, sizeof(wanted) - used, "%s%s", i > 0 ? " " : "",
					 command->name);
	expect("tripdog \"\"", wanted);
	expect("tripdog ho", "hold");
	expect("tripdog --keeper ho", "hold");
	expect("tripdog --timeout 2s ho", "hold");
	expect("tripdog xyz", "");
}

static void options_follow_the_command(void **state)
{
	(void)state;
	expect("tripdog --ti", "--timeout");
	expect("tripdog --fo", "");
	expect("tripdog hold --fo", "--for");
	expect("tripdog status --wa", "--watch");
	expect("tripdog stop --wa", "");
	expect("tripdog hold boom raise --for \"\"", "");
}

static void names_come_from_the_daemon(void **state)
{
	(void)state;
	expect("tripdog hold \"\"", "boom drive");
	expect("tripdog hold boom \"\"", "lower raise");
	expect("tripdog hold --for 2s drive f", "forward");
	expect("tripdog reset b", "boom");
	expect("tripdog stop boom \"\"", "");
	expect("tripdog latch \"\"", "");
	expect("tripdog --socket /x hold o", "other");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_command_is_offered),
		cmocka_unit_test(options_follow_the_command),
		cmocka_unit_test(names_come_from_the_daemon),
	};

	return cmocka_run_group_tests(tests, write_script, remove_script);
}

/* SPDX-License-Identifier: MIT */
/* How the front begins and ends: its sockets, and what it tells followers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <grp.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "tests/support/front_rig.h"

/* --- sockets -------------------------------------------------------------------------------------------- */

static unsigned int mode_of(const char *path)
{
	struct stat what;

	assert_int_equal(stat(path, &what), 0);
	assert_true(S_ISSOCK(what.st_mode));
	return what.st_mode & 0777;
}

static void test_the_sockets_have_exactly_the_configured_modes_whatever_the_mask(void **state)
{
	static const mode_t masks[] = {0, 022, 077, 0777};

	(void)state;
	for (size_t i = 0; i < sizeof(masks) / sizeof(masks[0]); i++) {
		struct rig rig;
		struct td_front_start start;
		struct td_error err;

		rig_prepare(&rig);
		mode_t before = umask(masks[i]);
		assert_int_equal(td_front_listen(&rig.config, &start, &err), 0);
		assert_int_equal(umask(before), masks[i]); /* put back */
		assert_int_equal(mode_of(rig.config.keeper.path), 0600);
		assert_int_equal(mode_of(rig.config.visitor.path), 0660);
		assert_true((fcntl(start.listener[0], F_GETFD) & FD_CLOEXEC) != 0);
		assert_true((fcntl(start.listener[1], F_GETFL) & O_NONBLOCK) != 0);
		td_front_leave(&start);
		assert_int_equal(start.listener[0], -1);
		assert_int_equal(start.lock[1], -1);
		rig.log = -1;
		rig_remove(&rig);
	}
}

static void test_a_socket_goes_to_its_group_and_an_unknown_group_is_no_socket(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;
	struct stat what;
	const struct group *own = getgrgid(getegid());

	(void)state;
	assert_non_null(own);
	rig_prepare(&rig);
	(void)snprintf(rig.config.keeper.group, sizeof(rig.config.keeper.group), "%s", own->gr_name);
	assert_int_equal(td_front_check_group(&rig.config.keeper, &err), 0);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), 0);
	assert_int_equal(stat(rig.config.keeper.path, &what), 0);
	assert_int_equal(what.st_gid, getegid());
	assert_int_equal(mode_of(rig.config.keeper.path), 0600);
	td_front_leave(&start);
	(void)snprintf(rig.config.visitor.group, sizeof(rig.config.visitor.group), "no-such-group-here");
	assert_int_equal(td_front_check_group(&rig.config.visitor, &err), -1);
	assert_non_null(strstr(err.text, "there is no group \"no-such-group-here\" on this system"));
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "and be in the group no-such-group-here"));
	rig.log = -1;
	rig_remove(&rig);
}

static void test_a_socket_left_by_a_run_that_died_is_replaced(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;

	(void)state;
	rig_prepare(&rig);
	for (int i = 0; i < 3; i++) {
		assert_int_equal(td_front_listen(&rig.config, &start, &err), 0);
		td_front_leave(&start); /* the files stay */
	}
	rig.log = -1;
	rig_remove(&rig);
}

static void test_a_daemon_that_runs_keeps_its_sockets(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;

	(void)state;
	rig_start_ready(&rig);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "another daemon holds this socket"));
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor);
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

static void test_a_socket_somebody_else_answers_on_is_left_alone(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int other = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);

	(void)state;
	rig_prepare(&rig);
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", rig.config.visitor.path);
	assert_int_equal(bind(other, (const struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(other, 1), 0);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "somebody answers on this socket"));
	assert_non_null(strstr(err.text, rig.config.visitor.path));
	assert_int_equal(access(rig.config.visitor.path, F_OK), 0);
	close(other);
	rig.log = -1;
	rig_remove(&rig);
}

/* Somebody who is only too busy to take one more connection is somebody. */
static void test_a_socket_with_a_full_queue_is_left_alone(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int other = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
	int callers[4];
	int queued = 0;

	(void)state;
	rig_prepare(&rig);
	(void)snprintf(address.sun_path, sizeof(address.sun_path), "%s", rig.config.visitor.path);
	assert_int_equal(bind(other, (const struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(other, 1), 0);
	for (int i = 0; i < 4; i++) {
		callers[i] = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
		queued += connect(callers[i], (const struct sockaddr *)&address, sizeof(address)) == 0;
	}
	assert_true(queued < 4);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "somebody answers on this socket"));
	for (int i = 0; i < 4; i++)
		close(callers[i]);
	close(other);
	rig.log = -1;
	rig_remove(&rig);
}

static void test_a_file_that_is_no_socket_is_left_alone(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;

	(void)state;
	rig_prepare(&rig);
	FILE *file = fopen(rig.config.keeper.path, "w");
	assert_non_null(file);
	(void)fputs("precious", file);
	(void)fclose(file);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "no socket"));
	assert_int_equal(start.lock[TD_ROLE_KEEPER], -1);
	struct stat what;
	assert_int_equal(stat(rig.config.keeper.path, &what), 0);
	assert_int_equal(what.st_size, 8);
	rig.log = -1;
	rig_remove(&rig);
}

static void test_a_missing_directory_is_told(void **state)
{
	struct rig rig;
	struct td_front_start start;
	struct td_error err;

	(void)state;
	rig_prepare(&rig);
	(void)snprintf(rig.config.keeper.path, sizeof(rig.config.keeper.path), "%s/none/keeper.sock",
		       rig.dir);
	assert_int_equal(td_front_listen(&rig.config, &start, &err), -1);
	assert_non_null(strstr(err.text, "its directory must exist"));
	rig.log = -1;
	rig_remove(&rig);
}

/* --- ends ----------------------------------------------------------------------------------------------- */

static void expect_end(struct rig *rig, int code)
{
	assert_int_equal(rig_exit_code(rig), code);
	assert_int_not_equal(access(rig->config.keeper.path, F_OK), 0);
	assert_int_not_equal(access(rig->config.visitor.path, F_OK), 0);
	close(rig->orders);
	close(rig->urgent);
	rig_remove(rig);
}

static void test_R16_the_front_ends_when_the_mover_closes_either_pair(void **state)
{
	(void)state;
	for (int i = 0; i < 2; i++) {
		struct rig rig;

		rig_start_ready(&rig);
		struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
		rig_sync(visitor);
		assert_int_equal(shutdown(i == 0 ? rig.orders : rig.urgent, SHUT_RDWR), 0);
		assert_true(rig_closed(visitor));
		rig_close(visitor);
		expect_end(&rig, 0);
	}
}

static void test_the_front_ends_on_SIGTERM_and_minds_no_other_signal(void **state)
{
	struct rig rig;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(visitor);
	kill(rig.pid, SIGINT);
	kill(rig.pid, SIGHUP);
	kill(rig.pid, SIGPIPE);
	rig_sync(visitor);
	kill(rig.pid, SIGTERM);
	assert_true(rig_closed(visitor));
	rig_close(visitor);
	expect_end(&rig, 0);
}

static void test_a_mover_that_talks_nonsense_ends_the_front_with_an_error(void **state)
{
	struct rig rig;
	struct td_note note = rig_machine_note(true, 0);

	(void)state;
	rig_start_ready(&rig);
	note.magic ^= 1;
	rig_note(&rig, &note);
	expect_end(&rig, 1);
}

static void test_notes_of_axes_and_kinds_that_do_not_exist_do_no_harm(void **state)
{
	struct rig rig;
	struct td_note note;

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *visitor = rig_connect(&rig, TD_ROLE_VISITOR);
	json_decref(rig_call(visitor, "follow", "", 1));
	note = rig_axis_note(200, (enum td_axis_state)200);
	rig_note(&rig, &note);
	note = rig_axis_note(RIG_BOOM, (enum td_axis_state)200);
	note.as.axis.trip = 250;
	note.as.axis.way = 77;
	rig_note(&rig, &note);
	note = rig_news_note((enum td_cause)251, 99, 99, 5, 5);
	note.as.news.outputs = UINT32_MAX;
	rig_note(&rig, &note);
	note.kind = 99;
	rig_note(&rig, &note);
	rig_answer(&rig, UINT64_MAX, (enum td_cause)252);
	json_decref(rig_call(visitor, "status", "", 2));
	rig_close(visitor);
	assert_int_equal(rig_end(&rig), 0);
}

/* --- followers
 * -------------------------------------------------------------------------------------------- */

static const json_t *param(const json_t *line, const char *method, const char *name)
{
	assert_string_equal(json_string_value(json_object_get(line, "method")), method);
	assert_null(json_object_get(line, "id"));
	return json_object_get(json_object_get(line, "params"), name);
}

static void test_followers_hear_of_everything_and_know_what_is_theirs(void **state)
{
	struct rig rig;
	struct td_note news = rig_news_note(TD_CAUSE_END_REACHED, RIG_BOOM, RIG_RAISE, 1, 7);
	struct td_note axis = rig_axis_note(RIG_BOOM, TD_AXIS_COAST);
	struct td_note machine = rig_machine_note(false, 0);

	(void)state;
	rig_start_ready(&rig);
	struct rig_client *holder = rig_connect(&rig, TD_ROLE_VISITOR);
	json_decref(rig_call(holder, "follow", "", 1));
	struct rig_client *other = rig_connect(&rig, TD_ROLE_KEEPER);
	json_decref(rig_call(other, "follow", "", 1));
	struct rig_client *silent = rig_connect(&rig, TD_ROLE_VISITOR);
	rig_sync(silent);

	news.as.news.sw = 1;
	news.as.news.outputs = 1U << 3;
	rig_note(&rig, &news);
	rig_note(&rig, &news);
	rig_note(&rig, &machine);
	rig_note(&rig, &axis);
	for (int i = 0; i < 2; i++) {
		struct rig_client *client = i == 0 ? holder : other;

		for (int n = 1; n <= 2; n++) {
			json_t *line = rig_receive(client);

			assert_int_equal(json_integer_value(param(line, "news", "n")), n);
			assert_string_equal(json_string_value(param(line, "news", "cause")), "end-reached");
			assert_string_equal(json_string_value(param(line, "news", "kind")), "stop");
			assert_string_equal(json_string_value(param(line, "news", "rule")), "R2");
			assert_string_equal(json_string_value(param(line, "news", "axis")), "boom");
			assert_string_equal(json_string_value(param(line, "news", "way")), "raise");
			assert_string_equal(json_string_value(param(line, "news", "switch")), "boom_top");
			assert_true(json_integer_value(param(line, "news", "at_ns")) == TD_S(2));
			assert_int_equal(json_array_size(param(line, "news", "outputs")), 1);
			assert_string_equal(json_string_value(param(line, "news", "holder")),
					    i == 0 ? "you" : "other");
			assert_int_equal(json_integer_value(param(line, "news", "hold")), i == 0 ? 7 : 0);
			json_decref(line);
		}
		json_t *line = rig_receive(client);
		assert_true(json_is_false(param(line, "machine", "armed")));
		json_decref(line);
		line = rig_receive(client);
		assert_string_equal(json_string_value(param(line, "axis", "state")), "coast");
		json_decref(line);
	}
	json_t *line = rig_call(silent, "describe", "", 3);
	assert_int_equal(rig_id(line), 3);
	json_decref(line);
	assert_int_equal(silent->used, 0);
	rig_close(holder);
	rig_close(other);
	rig_close(silent);
	assert_int_equal(rig_end(&rig), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(test_the_sockets_have_exactly_the_configured_modes_whatever_the_mask),
		cmocka_unit_test(test_a_socket_goes_to_its_group_and_an_unknown_group_is_no_socket),
		cmocka_unit_test(test_a_socket_left_by_a_run_that_died_is_replaced),
		cmocka_unit_test(test_a_daemon_that_runs_keeps_its_sockets),
		cmocka_unit_test(test_a_socket_somebody_else_answers_on_is_left_alone),
		cmocka_unit_test(test_a_socket_with_a_full_queue_is_left_alone),
		cmocka_unit_test(test_a_file_that_is_no_socket_is_left_alone),
		cmocka_unit_test(test_a_missing_directory_is_told),
		cmocka_unit_test(test_R16_the_front_ends_when_the_mover_closes_either_pair),
		cmocka_unit_test(test_the_front_ends_on_SIGTERM_and_minds_no_other_signal),
		cmocka_unit_test(test_a_mover_that_talks_nonsense_ends_the_front_with_an_error),
		cmocka_unit_test(test_notes_of_axes_and_kinds_that_do_not_exist_do_no_harm),
		cmocka_unit_test(test_followers_hear_of_everything_and_know_what_is_theirs),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

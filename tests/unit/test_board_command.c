/* SPDX-License-Identifier: MIT */
/* The commands of the board and the socket they come through. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "sim/poke.h"
#include "tests/support/cart.h"
#include "tests/support/raw_board.h"

static const struct td_watcher nobody;

/* Carries out a line that must be good. */
static void command(struct raw_board *raw, const char *line)
{
	json_t *answer = td_board_command(raw->board, line);

	if (!json_is_true(json_object_get(answer, "ok")))
		fail_msg("%s: %s", line, json_string_value(json_object_get(answer, "error")));
	json_decref(answer);
}

static const struct row {
	const char *line;
	const char *error; /* NULL: done */
} rows[] = {
	{"report", NULL},
	{"  report\t", NULL},
	{"help", NULL},
	{"break boom_top", NULL},
	{"short boom_top", NULL},
	{"mend boom_top", NULL},
	{"press stop_contact", NULL},
	{"unpress stop_contact", NULL},
	{"jam boom", NULL},
	{"free boom", NULL},
	{"push boom 0", NULL},
	{"push boom 100", NULL},
	{"push boom 33.5", NULL},
	{"push drive -250", NULL},
	{"mark the vent is next", NULL},
	{"", "an empty line"},
	{" \t ", "an empty line"},
	{"raport", "did you mean report?"},
	{"explode", "'help' lists them all"},
	{"report now", "the form of this command is: report"},
	{"break", "the form of this command is: break SWITCH"},
	{"break boom_top boom_bottom", "the form of this command is: break SWITCH"},
	{"break boom", "no switch of that name"},
	{"jam boom_top", "no axis of that name"},
	{"push boom", "the form of this command is: push AXIS PERCENT"},
	{"push boom 1 2", "the form of this command is: push AXIS PERCENT"},
	{"push boom -1", "0 to 100 percent"},
	{"push boom 101", "0 to 100 percent"},
	{"push boom up", "not a number"},
	{"push boom 5x", "not a number"},
	{"push boom nan", "not a number"},
	{"push drive inf", "not a number"},
	{"push drive 1e300", "-1000000 to 1000000"},
	{"mark", "the form of this command is: mark TEXT"},
	{"log", "no log is written"},
};

static void every_command_answers(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
		json_t *answer = td_board_command(raw.board, rows[i].line);
		const char *error = json_string_value(json_object_get(answer, "error"));

		if (json_is_true(json_object_get(answer, "ok")) != (rows[i].error == NULL))
			fail_msg("%s: %s", rows[i].line, error ? error : "accepted");
		if (rows[i].error && !strstr(error, rows[i].error))
			fail_msg("%s: \"%s\", wanted \"%s\"", rows[i].line, error, rows[i].error);
		json_decref(answer);
	}
	raw_board_close(&raw);
}

static void help_names_every_command_that_works(void **state)
{
	(void)state;
	struct raw_board raw;
	json_t *entry;
	size_t i;
	size_t tried = 0;

	raw_board_open(&raw, nobody);
	json_t *answer = td_board_command(raw.board, "help");
	json_array_foreach(json_object_get(answer, "commands"), i, entry)
	{
		const char *form = json_string_value(json_object_get(entry, "command"));
		char word[32];

		assert_true(strlen(json_string_value(json_object_get(entry, "does"))) > 5);
		assert_int_equal(sscanf(form, "%31s", word), 1);
		for (size_t row = 0; row < sizeof(rows) / sizeof(rows[0]); row++)
			if (!rows[row].error && strncmp(rows[row].line, word, strlen(word)) == 0) {
				tried++;
				break;
			}
	}
	assert_int_equal(tried + 1, json_array_size(json_object_get(answer, "commands"))); /* all but `log` */
	json_decref(answer);
	raw_board_close(&raw);
}

static void commands_do_what_they_say(void **state)
{
	(void)state;
	struct raw_board raw;
	const struct td_plant *plant;

	raw_board_open(&raw, nobody);
	plant = &raw.board->plant;
	command(&raw, "break boom_top");
	assert_int_equal(td_plant_levels(plant), 1 << CART_TOP);
	command(&raw, "mend boom_top");
	assert_int_equal(td_plant_levels(plant), 0);
	command(&raw, "press stop_contact");
	command(&raw, "push boom 100");
	raw_run(&raw, TD_MS(10));
	assert_int_equal(td_plant_levels(plant), 1 << CART_TOP | 1 << CART_STOP);
	command(&raw, "short boom_top");
	command(&raw, "unpress stop_contact");
	raw_run(&raw, TD_MS(10));
	assert_int_equal(td_plant_levels(plant), 0);
	command(&raw, "jam boom");
	assert_true(plant->axis[CART_BOOM].jammed);
	command(&raw, "free boom");
	assert_false(plant->axis[CART_BOOM].jammed);
	raw_board_close(&raw);
}

static void a_command_reaches_the_daemon_at_once(void **state)
{
	(void)state;
	struct raw_board raw;
	struct td_board_message message;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, 0xf, 0x7, NULL);
	command(&raw, "break stop_contact");
	assert_int_equal(raw_receive(fd, &message, NULL), TD_BOARD_EDGE);
	assert_int_equal(message.as.edge.sw, CART_STOP);
	assert_int_equal(message.as.edge.high, 1);
	assert_int_equal(message.at_ns, raw_now());
	(void)close(fd);
	raw_board_close(&raw);
}

/* --- report ------------------------------------------------------------------------------------------ */

static json_t *named(json_t *list, const char *name)
{
	json_t *entry;
	size_t i;

	json_array_foreach(list, i, entry) if (strcmp(json_string_value(json_object_get(entry, "name")),
						      name) == 0) return entry;
	fail_msg("the report has no %s", name);
	return NULL;
}

static json_int_t integer(json_t *object, const char *key)
{
	json_t *value = json_object_get(object, key);

	if (!json_is_integer(value))
		fail_msg("%s is no integer", key);
	return json_integer_value(value);
}

static void a_report_tells_what_the_outputs_have_done(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = raw_daemon(&raw, 0xf, 0x7, NULL);
	td_ns start_ns = raw_now();
	raw_set(fd, start_ns + TD_MS(10), CART_RAISE, CART_RAISE);
	raw_set(fd, start_ns + TD_MS(50), CART_LOWER, CART_LOWER);
	raw_set(fd, start_ns + TD_MS(57), CART_LOWER, 0);
	raw_set(fd, start_ns + TD_MS(80), CART_FORWARD, CART_FORWARD);
	raw_turn(&raw, TD_MS(100));
	json_t *report = td_board_command(raw.board, "report");
	json_t *boom = named(json_object_get(report, "axes"), "boom");
	json_t *lower = json_array_get(json_object_get(boom, "outputs"), 0);
	json_t *raise = json_array_get(json_object_get(boom, "outputs"), 1);
	assert_int_equal(integer(report, "now_ns"), start_ns + TD_MS(100));
	assert_true(json_is_true(json_object_get(report, "held")));
	assert_true(integer(report, "taken_ns") > 0 && integer(report, "taken_ns") <= start_ns);
	assert_int_equal(integer(report, "starts"), 3); /* raise, raise after both, forward */
	assert_string_equal(json_string_value(json_object_get(boom, "powered")), "raise");
	assert_string_equal(json_string_value(json_object_get(lower, "way")), "lower");
	assert_int_equal(integer(lower, "rise_ns"), start_ns + TD_MS(50));
	assert_int_equal(integer(lower, "fall_ns"), start_ns + TD_MS(57));
	assert_true(json_is_true(json_object_get(raise, "high")));
	assert_int_equal(integer(raise, "rise_ns"), start_ns + TD_MS(10));
	assert_true(json_is_null(json_object_get(raise, "fall_ns")));
	assert_int_equal(integer(boom, "both_high"), 1);
	assert_int_equal(integer(boom, "both_high_ns"), TD_MS(7));
	assert_int_equal(integer(boom, "powered_ns"), TD_MS(83));
	assert_true(json_real_value(json_object_get(boom, "position")) > 0.5);
	json_decref(report);
	(void)close(fd);
	raw_turn(&raw, TD_MS(110));
	report = td_board_command(raw.board, "report");
	assert_true(json_is_false(json_object_get(report, "held")));
	assert_true(json_is_null(json_object_get(report, "taken_ns")));
	json_decref(report);
	raw_board_close(&raw);
}

static void a_report_tells_teeth_switches_and_wires(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	command(&raw, "push boom 100");
	command(&raw, "break boom_bottom");
	command(&raw, "press stop_contact");
	int fd = raw_daemon(&raw, 0xf, 0x7, NULL);
	raw_set(fd, raw_now(), CART_RAISE, CART_RAISE);
	raw_turn(&raw, TD_MS(501));
	json_t *report = td_board_command(raw.board, "report");
	json_t *boom = named(json_object_get(report, "axes"), "boom");
	json_t *top = named(json_object_get(report, "switches"), "boom_top");
	json_t *bottom = named(json_object_get(report, "switches"), "boom_bottom");
	json_t *stop = named(json_object_get(report, "switches"), "stop_contact");
	assert_int_equal(integer(boom, "skipped_teeth"), 30);
	assert_int_equal(integer(boom, "pushing_ns"), TD_MS(501));
	assert_true(json_is_true(json_object_get(boom, "pushing")));
	assert_true(json_is_true(json_object_get(top, "cam")));
	assert_true(json_is_true(json_object_get(top, "high")));
	assert_string_equal(json_string_value(json_object_get(bottom, "wire")), "broken");
	assert_string_equal(json_string_value(json_object_get(top, "wire")), "sound");
	assert_true(json_is_true(json_object_get(stop, "finger")));
	json_decref(report);
	(void)close(fd);
	raw_board_close(&raw);
}

struct marks {
	char text[8][64];
	int count;
};

static void keep_marks(void *ctx, const struct td_change *change)
{
	struct marks *marks = ctx;

	if (change->kind == TD_CHANGE_MARK && marks->count < 8)
		(void)snprintf(marks->text[marks->count++], sizeof(marks->text[0]), "%s", change->text);
}

static void what_is_done_to_the_machine_is_marked(void **state)
{
	(void)state;
	struct raw_board raw;
	struct marks marks = {.count = 0};

	raw_board_open(&raw, (struct td_watcher){keep_marks, &marks});
	command(&raw, "break boom_top");
	command(&raw, "report");
	command(&raw, "mark   the visitor's line is cut");
	json_decref(td_board_command(raw.board, "push boom 500"));
	assert_int_equal(marks.count, 2);
	assert_string_equal(marks.text[0], "break boom_top");
	assert_string_equal(marks.text[1], "the visitor's line is cut");
	raw_board_close(&raw);
}

/* --- the socket -------------------------------------------------------------------------------------- */

static int client(const struct raw_board *raw)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};
	int fd = socket(AF_UNIX, SOCK_STREAM, 0);

	memcpy(address.sun_path, raw->control, strlen(raw->control) + 1);
	assert_int_equal(connect(fd, (const struct sockaddr *)&address, sizeof(address)), 0);
	return fd;
}

static void say(struct raw_board *raw, int fd, const char *text)
{
	assert_int_equal(send(fd, text, strlen(text), MSG_NOSIGNAL), strlen(text));
	raw_turn(raw, 0);
}

/* What has come, at most 4095 bytes; NULL if the board hung up. */
static const char *hear(int fd)
{
	static char text[4096];
	ssize_t got = recv(fd, text, sizeof(text) - 1, MSG_DONTWAIT);

	text[got > 0 ? got : 0] = '\0';
	return got == 0 ? NULL : text;
}

static void lines_may_come_in_pieces_or_together(void **state)
{
	(void)state;
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	int fd = client(&raw);
	say(&raw, fd, "brea");
	assert_string_equal(hear(fd), "");
	say(&raw, fd, "k boom_top\nmend boom_top\r\nja");
	assert_string_equal(hear(fd), "{\"ok\":true}\n{\"ok\":true}\n");
	say(&raw, fd, "m boom\n\n");
	const char *text = hear(fd);
	assert_int_equal(strncmp(text, "{\"ok\":true}\n{\"ok\":false,", 23), 0);
	(void)close(fd);
	raw_board_close(&raw);
}

static void a_line_too_long_is_answered_and_hung_up_on(void **state)
{
	(void)state;
	struct raw_board raw;
	char line[TD_BOARD_LINE_MAX + 1];

	raw_board_open(&raw, nobody);
	int fd = client(&raw);
	memset(line, 'x', TD_BOARD_LINE_MAX);
	line[TD_BOARD_LINE_MAX] = '\0';
	say(&raw, fd, line);
	assert_non_null(strstr(hear(fd), "the line is too long"));
	assert_null(hear(fd));
	(void)close(fd);
	raw_board_close(&raw);
}

static void a_client_that_leaves_makes_room(void **state)
{
	(void)state;
	struct raw_board raw;
	int fds[TD_BOARD_CONTROLS + 1];

	raw_board_open(&raw, nobody);
	for (int i = 0; i <= TD_BOARD_CONTROLS; i++) {
		fds[i] = client(&raw);
		raw_turn(&raw, 0);
	}
	assert_null(hear(fds[TD_BOARD_CONTROLS])); /* one too many */
	(void)close(fds[0]);
	raw_turn(&raw, 0);
	fds[0] = client(&raw);
	say(&raw, fds[0], "jam boom\n");
	assert_string_equal(hear(fds[0]), "{\"ok\":true}\n");
	for (int i = 0; i <= TD_BOARD_CONTROLS; i++)
		(void)close(fds[i]);
	raw_board_close(&raw);
}

static void a_client_that_takes_no_answers_is_hung_up_on(void **state)
{
	(void)state;
	struct raw_board raw;
	int i = 0;

	raw_board_open(&raw, nobody);
	int fd = client(&raw);
	raw_turn(&raw, 0);
	while (send(fd, "report\nreport\n", 14, MSG_NOSIGNAL) == 14) {
		raw_turn(&raw, 0);
		assert_true(i++ < 10000);
	}
	(void)close(fd);
	raw_turn(&raw, 0);
	command(&raw, "report"); /* the board has other things to do */
	raw_board_close(&raw);
}

/* --- the other end ----------------------------------------------------------------------------------- */

struct asking {
	const char *control;
	const char *command;
	json_t *answer;
	struct td_error err;
	atomic_bool done;
};

static void *ask(void *arg)
{
	struct asking *asking = arg;

	asking->answer = td_poke(asking->control, asking->command, &asking->err);
	atomic_store(&asking->done, true);
	return NULL;
}

static void poke_gets_the_answer_or_the_sentence(void **state)
{
	(void)state;
	static const struct row pokes[] = {
		{"report", NULL}, {"jam boom", NULL}, {"jam bomm", "no axis of that name"}};
	struct raw_board raw;

	raw_board_open(&raw, nobody);
	for (size_t i = 0; i < sizeof(pokes) / sizeof(pokes[0]); i++) {
		struct asking asking = {.control = raw.control, .command = pokes[i].line};
		pthread_t thread;

		assert_int_equal(pthread_create(&thread, NULL, ask, &asking), 0);
		while (!atomic_load(&asking.done))
			(void)td_board_turn(raw.board, TD_MS(10), -1);
		assert_int_equal(pthread_join(thread, NULL), 0);
		assert_int_equal(asking.answer != NULL, pokes[i].error == NULL);
		if (pokes[i].error)
			assert_non_null(strstr(asking.err.text, pokes[i].error));
		json_decref(asking.answer);
	}
	raw_board_close(&raw);
}

static void poke_without_a_board_is_a_sentence(void **state)
{
	(void)state;
	struct td_error err = {""};

	assert_null(td_poke("/no/such/socket", "report", &err));
	assert_non_null(strstr(err.text, "/no/such/socket: no board answers there: No such file"));
	assert_null(td_poke("/no/such/socket", "report\njam boom", &err));
	assert_non_null(strstr(err.text, "one line"));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(every_command_answers),
		cmocka_unit_test(help_names_every_command_that_works),
		cmocka_unit_test(commands_do_what_they_say),
		cmocka_unit_test(a_command_reaches_the_daemon_at_once),
		cmocka_unit_test(a_report_tells_what_the_outputs_have_done),
		cmocka_unit_test(a_report_tells_teeth_switches_and_wires),
		cmocka_unit_test(what_is_done_to_the_machine_is_marked),
		cmocka_unit_test(lines_may_come_in_pieces_or_together),
		cmocka_unit_test(a_line_too_long_is_answered_and_hung_up_on),
		cmocka_unit_test(a_client_that_leaves_makes_room),
		cmocka_unit_test(a_client_that_takes_no_answers_is_hung_up_on),
		cmocka_unit_test(poke_gets_the_answer_or_the_sentence),
		cmocka_unit_test(poke_without_a_board_is_a_sentence),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/* Waiting for a device: another process makes files in a folder, as the kernel makes devices. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/await.h"

static char dir[] = "/tmp/tripdog-await-XXXXXX";
static unsigned looks;
static unsigned said;
static unsigned wanted; /* looks at which nothing is missing any more; 0 = never */
static void (*at_look)(unsigned look);

static bool absent(void *context, struct td_error *err)
{
	(void)context;
	looks++;
	(void)td_error_set(err, "look %u", looks > 3 ? 3 : looks);
	if (at_look)
		at_look(looks);
	return wanted == 0 || looks < wanted;
}

static void say(void *context, const char *sentence)
{
	(void)context;
	assert_int_equal(strncmp(sentence, "look ", 5), 0);
	said++;
}

static void put(const char *name)
{
	char path[64];

	(void)snprintf(path, sizeof(path), "%s/%s", dir, name);
	int fd = open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);

	assert_true(fd >= 0);
	close(fd);
	(void)chmod(path, 0660);
}

static enum td_await wait_in(const char *where, int signal_fd, struct td_error *err)
{
	const struct td_await_setup setup = {
		.dir = where, .named = "chip", .signal_fd = signal_fd, .absent = absent, .say = say};

	looks = said = 0;
	return td_await(&setup, err);
}

static int signal_descriptor(unsigned value)
{
	int fd = eventfd(value, EFD_NONBLOCK | EFD_CLOEXEC);

	assert_true(fd >= 0);
	return fd;
}

static void what_is_there_is_not_waited_for(void **state)
{
	struct td_error err;
	int fd = signal_descriptor(1);

	(void)state;
	wanted = 1;
	at_look = NULL;
	assert_int_equal(wait_in(dir, fd, &err), TD_AWAIT_THERE);
	assert_int_equal(looks, 1);
	assert_int_equal(said, 0);
	close(fd);
}

static void put_at_look(unsigned look)
{
	/* between looking and waiting: it must not be missed */
	if (look == 1)
		put("other");
	put(look == 1 ? "chip0" : "chip1");
}

static void a_device_of_the_name_wakes_and_another_does_not(void **state)
{
	struct td_error err;
	int fd = signal_descriptor(0);

	(void)state;
	wanted = 6;
	at_look = put_at_look;
	assert_int_equal(wait_in(dir, fd, &err), TD_AWAIT_THERE);
	assert_int_equal(looks, 6);
	assert_int_equal(said, 3); /* a sentence that was said is not said again */
	close(fd);
}

static void a_signal_ends_the_wait(void **state)
{
	struct td_error err;
	int fd = signal_descriptor(1);

	(void)state;
	wanted = 0;
	at_look = NULL;
	assert_int_equal(wait_in(dir, fd, &err), TD_AWAIT_SIGNAL);
	assert_int_equal(looks, 1);
	close(fd);
}

static void other_names_alone_do_not_wake(void **state)
{
	struct td_error err;
	int fd = signal_descriptor(0);

	(void)state;
	wanted = 0;
	at_look = NULL;
	pid_t child = fork();

	if (child == 0) {
		for (unsigned i = 0; i < 20; i++) {
			put("tty");
			usleep(2000);
		}
		eventfd_write(fd, 1);
		_exit(0);
	}
	assert_true(child > 0);
	assert_int_equal(wait_in(dir, fd, &err), TD_AWAIT_SIGNAL);
	assert_int_equal(looks, 1);
	assert_int_equal(waitpid(child, NULL, 0), child);
	close(fd);
}

static void a_folder_that_is_not_there_is_said(void **state)
{
	struct td_error err;
	int fd = signal_descriptor(0);

	(void)state;
	assert_int_equal(wait_in("/no-such-folder", fd, &err), TD_AWAIT_BROKEN);
	assert_non_null(strstr(err.text, "cannot watch /no-such-folder for devices: No such file"));
	close(fd);
}

static int make_dir(void **state)
{
	(void)state;
	return mkdtemp(dir) ? 0 : -1;
}

static int remove_dir(void **state)
{
	static const char *const names[] = {"other", "chip0", "chip1", "tty"};
	char path[64];

	(void)state;
	for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); i++) {
		(void)snprintf(path, sizeof(path), "%s/%s", dir, names[i]);
		(void)unlink(path);
	}
	return rmdir(dir);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_is_there_is_not_waited_for),
		cmocka_unit_test(a_device_of_the_name_wakes_and_another_does_not),
		cmocka_unit_test(a_signal_ends_the_wait),
		cmocka_unit_test(other_names_alone_do_not_wake),
		cmocka_unit_test(a_folder_that_is_not_there_is_said),
	};

	return cmocka_run_group_tests_name("await", tests, make_dir, remove_dir);
}

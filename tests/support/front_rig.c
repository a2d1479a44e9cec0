/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/support/front_rig.h"

enum { SLACK_MS = 5000 };

static void name_axis(struct td_config *config, uint8_t axis, const char *name, const char *way0,
		      const char *way1)
{
	(void)snprintf(config->axis[axis].name, TD_NAME_MAX, "%s", name);
	(void)snprintf(config->axis[axis].way_name[0], TD_NAME_MAX, "%s", way0);
	(void)snprintf(config->axis[axis].way_name[1], TD_NAME_MAX, "%s", way1);
	config->rules.axis[axis].way[0].end_switch = TD_NO_SWITCH;
	config->rules.axis[axis].way[1].end_switch = TD_NO_SWITCH;
}

void rig_prepare(struct rig *rig)
{
	struct td_config *config = &rig->config;
	struct td_error err;

	memset(rig, 0, sizeof(*rig));
	(void)snprintf(rig->dir, sizeof(rig->dir), "/tmp/tripdog-front-XXXXXX");
	assert_non_null(mkdtemp(rig->dir));
	(void)snprintf(config->machine, sizeof(config->machine), "glasshouse cart");
	(void)snprintf(config->state_dir, sizeof(config->state_dir), "%s", rig->dir);
	(void)snprintf(config->keeper.path, sizeof(config->keeper.path), "%s/keeper.sock", rig->dir);
	(void)snprintf(config->visitor.path, sizeof(config->visitor.path), "%s/visitor.sock", rig->dir);
	config->keeper.mode = 0600;
	config->visitor.mode = 0660;
	config->visitors_max = 64;
	config->lease_ns = TD_MS(300);
	config->axes = 2;
	config->switches = 2;
	name_axis(config, RIG_BOOM, "boom", "lower", "raise");
	name_axis(config, RIG_DRIVE, "drive", "backward", "forward");
	(void)snprintf(config->sw[0].name, TD_NAME_MAX, "boom_bottom");
	(void)snprintf(config->sw[1].name, TD_NAME_MAX, "boom_top");
	config->rules.axis[RIG_BOOM].way[RIG_LOWER].end_switch = 0;
	config->rules.axis[RIG_BOOM].way[RIG_RAISE].end_switch = 1;
	config->rules.sw[1].contact = TD_CONTACT_NO;
	config->rules.cable = td_rules_any_cable();
	if (td_shared_make(&rig->shared, &err) != 0)
		fail_msg("%s", err.text);
	rig->uid = mmap(NULL, sizeof(*rig->uid), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	assert_ptr_not_equal(rig->uid, MAP_FAILED);
	rig_as(rig, (uid_t)-1);
}

void rig_as(const struct rig *rig, uid_t uid)
{
	*rig->uid = uid;
}

/* In the front. */
static const struct rig *of_front;

static int peer(int fd, struct ucred *who)
{
	socklen_t size = sizeof(*who);
	int result = getsockopt(fd, SOL_SOCKET, SO_PEERCRED, who, &size);

	if (result == 0 && *of_front->uid != (uid_t)-1)
		who->uid = *of_front->uid;
	return result;
}

/* Small buffers, so that a few unread orders fill them. */
static void small_pair(int pair[2])
{
	const int least = 1;

	assert_int_equal(socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_CLOEXEC, 0, pair), 0);
	assert_int_equal(setsockopt(pair[1], SOL_SOCKET, SO_SNDBUF, &least, sizeof(least)), 0);
}

/* As the daemon does before it forks. */
static void block_signals(void)
{
	sigset_t all;

	sigfillset(&all);
	sigprocmask(SIG_SETMASK, &all, NULL);
}

void rig_start(struct rig *rig, bool latched)
{
	struct td_front_start start = {
		.latched = latched, .arming = rig->arming, .shared = &rig->shared, .peer = peer};
	struct td_error err = {.text = ""};
	int orders[2];
	int urgent[2];

	if (td_front_listen(&rig->config, &start, &err) != 0)
		fail_msg("%s", err.text);
	small_pair(orders);
	small_pair(urgent);
	rig->log = memfd_create("log", MFD_CLOEXEC);
	assert_true(rig->log >= 0);
	(void)fflush(NULL);
	rig->pid = fork();
	assert_true(rig->pid >= 0);
	if (rig->pid == 0) {
		block_signals();
		of_front = rig;
		dup2(rig->log, STDERR_FILENO);
		close(orders[0]);
		close(urgent[0]);
		exit(td_front_run(&rig->config, orders[1], urgent[1], &start));
	}
	td_front_leave(&start);
	close(orders[1]);
	close(urgent[1]);
	rig->orders = orders[0];
	rig->urgent = urgent[0];
}

void rig_start_ready(struct rig *rig)
{
	struct td_note notes[] = {rig_machine_note(true, 0), rig_axis_note(RIG_BOOM, TD_AXIS_STILL),
				  rig_axis_note(RIG_DRIVE, TD_AXIS_STILL)};

	rig_prepare(rig);
	rig_start(rig, false);
	for (size_t i = 0; i < sizeof(notes) / sizeof(notes[0]); i++)
		rig_note(rig, &notes[i]);
}

int rig_exit_code(struct rig *rig)
{
	int status = 0;

	for (int i = 0; i < SLACK_MS / 10; i++) {
		if (waitpid(rig->pid, &status, WNOHANG) == rig->pid) {
			rig->pid = 0;
			if (!WIFEXITED(status) || WEXITSTATUS(status) > 1) {
				char *log = rig_log(rig);

				print_message("# %s\n", log);
				free(log);
			}
			return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
		}
		poll(NULL, 0, 10);
	}
	fail_msg("the front did not end");
	return -1;
}

void rig_remove(struct rig *rig)
{
	static const char *const files[] = {"keeper.sock",        "visitor.sock",
					    "keeper.sock.lock",   "visitor.sock.lock",
					    "latched-stop.state", "latched-stop.state.new"};
	char path[128];

	for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); i++) {
		(void)snprintf(path, sizeof(path), "%s/%s", rig->dir, files[i]);
		unlink(path);
	}
	assert_int_equal(rmdir(rig->dir), 0);
	close(rig->log);
}

int rig_end(struct rig *rig)
{
	close(rig->orders);
	close(rig->urgent);
	int code = rig_exit_code(rig);

	rig_remove(rig);
	return code;
}

char *rig_log(const struct rig *rig)
{
	off_t size = lseek(rig->log, 0, SEEK_END);
	char *text = calloc(1, (size_t)size + 1);

	assert_non_null(text);
	assert_int_equal(pread(rig->log, text, (size_t)size, 0), size);
	return text;
}

/* --- the mover's side -------------------------------------------------------------------------------- */

static void wait_for(int fd, const char *what)
{
	struct pollfd ready = {.fd = fd, .events = POLLIN};

	if (poll(&ready, 1, SLACK_MS) != 1)
		fail_msg("nothing came: %s", what);
}

struct td_order rig_order(int fd)
{
	struct td_order order;

	wait_for(fd, "an order");
	assert_int_equal(recv(fd, &order, sizeof(order), 0), sizeof(order));
	assert_int_equal(order.magic, TD_MSG_MAGIC);
	return order;
}

bool rig_no_order(const struct rig *rig)
{
	struct pollfd ready[2] = {{.fd = rig->orders, .events = POLLIN},
				  {.fd = rig->urgent, .events = POLLIN}};

	return poll(ready, 2, 0) == 0;
}

void rig_note(const struct rig *rig, const struct td_note *note)
{
	assert_int_equal(send(rig->orders, note, sizeof(*note), 0), sizeof(*note));
}

void rig_answer(const struct rig *rig, uint64_t tag, enum td_cause cause)
{
	struct td_note note = {.magic = TD_MSG_MAGIC, .kind = TD_NOTE_ANSWER, .at_ns = 1};

	note.as.answer.tag = tag;
	note.as.answer.cause = (uint8_t)cause;
	rig_note(rig, &note);
}

struct td_entry rig_told(const struct rig *rig)
{
	struct td_entry entry;

	for (int i = 0; i < SLACK_MS && !td_queue_first(rig->shared.clients); i++)
		poll(NULL, 0, 1);
	if (!td_queue_first(rig->shared.clients))
		fail_msg("no entry came for the scribe");
	entry = *td_queue_first(rig->shared.clients);
	td_queue_drop(rig->shared.clients);
	return entry;
}

struct td_note rig_machine_note(bool armed, uint8_t latch)
{
	struct td_note note = {.magic = TD_MSG_MAGIC, .kind = TD_NOTE_MACHINE, .at_ns = TD_S(1)};

	note.as.machine.armed = armed;
	note.as.machine.latch = latch;
	note.as.machine.axes = 2;
	return note;
}

struct td_note rig_axis_note(uint8_t axis, enum td_axis_state state)
{
	struct td_note note = {.magic = TD_MSG_MAGIC, .kind = TD_NOTE_AXIS, .at_ns = TD_S(1)};

	note.as.axis.axis = axis;
	note.as.axis.state = (uint8_t)state;
	note.as.axis.way = TD_NO_WAY;
	note.as.axis.position_ppm = -1;
	return note;
}

struct td_note rig_news_note(enum td_cause cause, uint8_t axis, uint8_t way, uint32_t session, uint32_t hold)
{
	struct td_note note = {.magic = TD_MSG_MAGIC, .kind = TD_NOTE_NEWS, .at_ns = TD_S(2)};

	note.as.news.cause = (uint8_t)cause;
	note.as.news.axis = axis;
	note.as.news.way = way;
	note.as.news.sw = TD_NO_SWITCH;
	note.as.news.role = TD_NO_ROLE;
	note.as.news.session = session;
	note.as.news.hold = hold;
	return note;
}

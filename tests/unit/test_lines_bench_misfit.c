/* SPDX-License-Identifier: MIT */
/* The bench backend against boards made by hand, most of which misbehave. */
#include <fcntl.h>
#include <pthread.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "lines/lines.h"
#include "tests/support/cart.h"
#include "tests/support/raw_board.h"

static const uint32_t ALL_OUT = 0xf;
static const uint32_t ALL_IN = 0x7;

/* --- with a board made by hand ------------------------------------------------------------------------- */

enum page { PAGE_GOOD = 0, PAGE_NONE, PAGE_UNSEALED, PAGE_SHORT, PAGE_OLD, PAGE_EMPTY };

struct fake {
	char directory[32];
	char path[64];
	int listen_fd;
	int fd; /* accepted; -1 = not yet */
	struct td_board_message answer;
	size_t answer_size; /* 0 = hang up instead */
	enum page page;
	bool silent;
	struct td_board_message hello; /* what came */
};

static void fake_open(struct fake *fake)
{
	struct sockaddr_un address = {.sun_family = AF_UNIX};

	memset(fake, 0, sizeof(*fake));
	(void)snprintf(fake->directory, sizeof(fake->directory), "/tmp/fake-XXXXXX");
	assert_non_null(mkdtemp(fake->directory));
	(void)snprintf(fake->path, sizeof(fake->path), "%s/board", fake->directory);
	memcpy(address.sun_path, fake->path, strlen(fake->path) + 1);
	fake->fd = -1;
	fake->listen_fd = socket(AF_UNIX, SOCK_SEQPACKET, 0);
	assert_int_equal(bind(fake->listen_fd, (struct sockaddr *)&address, sizeof(address)), 0);
	assert_int_equal(listen(fake->listen_fd, 1), 0);
	fake->answer = (struct td_board_message){.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME};
	fake->answer_size = sizeof(fake->answer);
}

static void fake_close(struct fake *fake)
{
	if (fake->fd >= 0)
		(void)close(fake->fd);
	(void)close(fake->listen_fd);
	(void)unlink(fake->path);
	(void)rmdir(fake->directory);
}

static int make_page(enum page kind)
{
	struct td_board_page page = {.magic = TD_BOARD_MAGIC, .version = TD_BOARD_VERSION};
	int fd = memfd_create("fake", MFD_ALLOW_SEALING);

	if (kind == PAGE_OLD)
		page.version--;
	if (kind == PAGE_EMPTY)
		page.magic = 0;
	if (write(fd, &page, kind == PAGE_SHORT ? 4 : sizeof(page)) < 0 ||
	    (kind != PAGE_UNSEALED && fcntl(fd, F_ADD_SEALS, F_SEAL_SHRINK) < 0))
		abort();
	return fd;
}

static void answer_hello(struct fake *fake)
{
	union {
		struct cmsghdr head;
		char room[CMSG_SPACE(sizeof(int))];
	} control = {.room = {0}};
	struct iovec part = {.iov_base = &fake->answer, .iov_len = fake->answer_size};
	struct msghdr whole = {.msg_iov = &part, .msg_iovlen = 1};
	int page_fd = -1;

	if (fake->page != PAGE_NONE) {
		page_fd = make_page(fake->page);
		whole.msg_control = &control;
		whole.msg_controllen = sizeof(control);
		control.head = (struct cmsghdr){
			.cmsg_level = SOL_SOCKET, .cmsg_type = SCM_RIGHTS, .cmsg_len = CMSG_LEN(sizeof(int))};
		memcpy(CMSG_DATA(&control.head), &page_fd, sizeof(int));
	}
	if (sendmsg(fake->fd, &whole, MSG_NOSIGNAL) < 0)
		abort();
	if (page_fd >= 0)
		(void)close(page_fd);
}

static void *greet(void *arg)
{
	struct fake *fake = arg;

	fake->fd = accept(fake->listen_fd, NULL, NULL);
	if (fake->silent)
		return NULL;
	if (recv(fake->fd, &fake->hello, sizeof(fake->hello), 0) != sizeof(fake->hello))
		abort();
	if (fake->answer_size > 0) {
		answer_hello(fake);
	} else {
		(void)close(fake->fd);
		fake->fd = -1;
	}
	return NULL;
}

static struct td_lines *lines_on_fake(struct fake *fake, struct td_error *err)
{
	pthread_t thread;

	assert_int_equal(pthread_create(&thread, NULL, greet, fake), 0);
	struct td_lines *lines = td_lines_bench_open(fake->path, ALL_OUT, ALL_IN, err);
	assert_int_equal(pthread_join(thread, NULL), 0);
	return lines;
}

static const struct misfit {
	const char *name;
	struct td_board_message answer;
	size_t size;
	enum page page;
	const char *says;
} misfits[] = {
	{"hangs up", {0}, 0, PAGE_GOOD, "hung up on us"},
	{"short answer",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 8,
	 PAGE_GOOD,
	 "this version's language"},
	{"other magic",
	 {.magic = 7, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_GOOD,
	 "this version's language"},
	{"other kind",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_EDGE},
	 sizeof(struct td_board_message),
	 PAGE_GOOD,
	 "no proper answer"},
	{"no page",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_NONE,
	 "without a proper page"},
	{"page that could shrink",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_UNSEALED,
	 "without a proper page"},
	{"short page",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_SHORT,
	 "without a proper page"},
	{"old page",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_OLD,
	 "of another version"},
	{"empty page",
	 {.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	 sizeof(struct td_board_message),
	 PAGE_EMPTY,
	 "of another version"},
	{"reason without an end",
	 {.magic = TD_BOARD_MAGIC,
	  .kind = TD_BOARD_REFUSED,
	  .as.reason = {'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x',
			'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x',
			'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x', 'x'}},
	 sizeof(struct td_board_message),
	 PAGE_GOOD,
	 "refused: xxxx"},
};

static void a_board_that_is_none_is_told_from_one(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof(misfits) / sizeof(misfits[0]); i++) {
		struct fake fake;
		struct td_error err = {""};

		fake_open(&fake);
		fake.answer = misfits[i].answer;
		fake.answer_size = misfits[i].size;
		fake.page = misfits[i].page;
		if (lines_on_fake(&fake, &err))
			fail_msg("%s: opened", misfits[i].name);
		if (!strstr(err.text, misfits[i].says) || !strstr(err.text, fake.path))
			fail_msg("%s: \"%s\", wanted \"%s\"", misfits[i].name, err.text, misfits[i].says);
		fake_close(&fake);
	}
}

static void a_board_that_is_silent_is_given_up_after_a_second(void **state)
{
	(void)state;
	struct fake fake;
	struct td_error err = {""};

	fake_open(&fake);
	fake.silent = true;
	assert_null(lines_on_fake(&fake, &err));
	assert_non_null(strstr(err.text, "no answer within 1000 ms"));
	fake_close(&fake);
}

static void without_a_board_the_sentence_says_what_to_do(void **state)
{
	(void)state;
	struct td_error err = {""};
	char longest[200];

	assert_null(td_lines_bench_open("/no/such/board", ALL_OUT, ALL_IN, &err));
	assert_non_null(strstr(err.text, "board /no/such/board: No such file or directory; start one there"));
	memset(longest, 'x', sizeof(longest) - 1);
	longest[sizeof(longest) - 1] = '\0';
	assert_null(td_lines_bench_open(longest, ALL_OUT, ALL_IN, &err));
	assert_non_null(strstr(err.text, "too long for a socket"));
}

static const struct write_case {
	uint32_t mask;
	uint32_t levels;
	int messages;
	struct {
		uint32_t mask, levels;
	} sent[2];
} writes[] = {
	{0xf, 0x0, 1, {{0xf, 0x0}}},
	{0xf, 0xf, 1, {{0xf, 0xf}}},
	{0xf, 0x8, 2, {{0x7, 0x0}, {0x8, 0x8}}},
	{0xc, 0x4, 2, {{0x8, 0x0}, {0x4, 0x4}}},
	{0x8, 0x7, 1, {{0x8, 0x0}}},
	{0x0, 0xf, 0, {{0, 0}}},
};

static void R1_a_write_that_clears_and_sets_is_two_messages_the_clear_first(void **state)
{
	(void)state;
	struct fake fake;
	struct td_error err = {""};

	fake_open(&fake);
	struct td_lines *lines = lines_on_fake(&fake, &err);
	assert_non_null(lines);
	assert_int_equal(fake.hello.kind, TD_BOARD_HELLO);
	assert_int_equal(fake.hello.as.hello.version, TD_BOARD_VERSION);
	assert_int_equal(fake.hello.as.hello.outputs, ALL_OUT);
	assert_int_equal(fake.hello.as.hello.inputs, ALL_IN);
	for (size_t i = 0; i < sizeof(writes) / sizeof(writes[0]); i++) {
		struct td_board_message message;

		assert_int_equal(lines->ops->set(lines, writes[i].mask, writes[i].levels), 0);
		for (int sent = 0; sent < writes[i].messages; sent++) {
			assert_int_equal(raw_receive(fake.fd, &message, NULL), TD_BOARD_SET);
			assert_int_equal(message.as.set.mask, writes[i].sent[sent].mask);
			assert_int_equal(message.as.set.levels & message.as.set.mask,
					 writes[i].sent[sent].levels);
			assert_true(message.at_ns > 0);
		}
		assert_int_equal(raw_receive(fake.fd, &message, NULL), 0);
	}
	lines->ops->close(lines);
	fake_close(&fake);
}

static void send_edge(const struct fake *fake, uint32_t seq, uint32_t sw)
{
	struct td_board_message message = {
		.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_EDGE, .at_ns = seq, .as.edge = {seq, sw, 7}};

	assert_int_equal(send(fake->fd, &message, sizeof(message), 0), sizeof(message));
}

/* The kernel's line events number their edges in the same way; 1, 2, 5 is the gap its documentation's readers
 * are told to look for (Linux, include/uapi/linux/gpio.h, seqno). */
static void R15_a_gap_in_the_numbers_is_a_lost_edge(void **state)
{
	(void)state;
	static const struct {
		uint32_t seq;
		uint8_t lost;
	} told[] = {{1, 0}, {2, 0}, {5, 1}, {6, 0}, {6, 1}, {UINT32_MAX, 1}, {0, 0}};
	struct fake fake;
	struct td_error err = {""};
	struct td_lines_edge edge;

	fake_open(&fake);
	struct td_lines *lines = lines_on_fake(&fake, &err);
	assert_non_null(lines);
	for (size_t i = 0; i < sizeof(told) / sizeof(told[0]); i++) {
		send_edge(&fake, told[i].seq, CART_TOP);
		assert_int_equal(lines->ops->next_edge(lines, &edge), 1);
		assert_int_equal(edge.lost, told[i].lost);
		assert_int_equal(edge.sw, CART_TOP);
		assert_int_equal(edge.high, 1);
		assert_int_equal(edge.at_ns, told[i].seq);
	}
	assert_int_equal(lines->ops->next_edge(lines, &edge), 0);
	lines->ops->close(lines);
	fake_close(&fake);
}

static void R15_the_first_edge_may_be_lost_too(void **state)
{
	(void)state;
	struct fake fake;
	struct td_error err = {""};
	struct td_lines_edge edge;

	fake_open(&fake);
	struct td_lines *lines = lines_on_fake(&fake, &err);
	assert_non_null(lines);
	send_edge(&fake, 2, CART_TOP);
	assert_int_equal(lines->ops->next_edge(lines, &edge), 1);
	assert_int_equal(edge.lost, 1);
	lines->ops->close(lines);
	fake_close(&fake);
}

static const struct td_board_message nonsense[] = {
	{.magic = 1, .kind = TD_BOARD_EDGE, .as.edge = {1, CART_TOP, 1}},
	{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_WELCOME},
	{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_REFUSED, .as.reason = "no"},
	{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_EDGE, .as.edge = {1, 3, 1}},
	{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_EDGE, .as.edge = {1, 32, 1}},
	{.magic = TD_BOARD_MAGIC, .kind = TD_BOARD_EDGE, .as.edge = {1, UINT32_MAX, 1}},
};

static void R15_an_edge_that_makes_no_sense_is_a_failure(void **state)
{
	(void)state;
	struct fake fake;
	struct td_error err = {""};
	struct td_lines_edge edge;

	fake_open(&fake);
	struct td_lines *lines = lines_on_fake(&fake, &err);
	assert_non_null(lines);
	for (size_t i = 0; i < sizeof(nonsense) / sizeof(nonsense[0]); i++) {
		assert_true(send(fake.fd, &nonsense[i], sizeof(nonsense[i]), 0) > 0);
		assert_int_equal(lines->ops->next_edge(lines, &edge), TD_LINES_FAILED);
	}
	assert_int_equal(send(fake.fd, "short", 5, 0), 5);
	assert_int_equal(lines->ops->next_edge(lines, &edge), TD_LINES_FAILED);
	lines->ops->close(lines);
	fake_close(&fake);
}

static void R15_a_board_that_takes_nothing_never_blocks_us(void **state)
{
	(void)state;
	struct fake fake;
	struct td_error err = {""};
	int result = 0;

	fake_open(&fake);
	struct td_lines *lines = lines_on_fake(&fake, &err);
	assert_non_null(lines);
	for (int i = 0; result == 0; i++) {
		assert_true(i < 100000);
		result = lines->ops->set(lines, ALL_OUT, CART_RAISE);
	}
	assert_int_equal(result, TD_LINES_STUCK);
	lines->ops->close(lines); /* nor does this */
	fake_close(&fake);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_board_that_is_none_is_told_from_one),
		cmocka_unit_test(a_board_that_is_silent_is_given_up_after_a_second),
		cmocka_unit_test(without_a_board_the_sentence_says_what_to_do),
		cmocka_unit_test(R1_a_write_that_clears_and_sets_is_two_messages_the_clear_first),
		cmocka_unit_test(R15_a_gap_in_the_numbers_is_a_lost_edge),
		cmocka_unit_test(R15_the_first_edge_may_be_lost_too),
		cmocka_unit_test(R15_an_edge_that_makes_no_sense_is_a_failure),
		cmocka_unit_test(R15_a_board_that_takes_nothing_never_blocks_us),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

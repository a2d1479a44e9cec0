/* SPDX-License-Identifier: MIT */
/* What one user of the system may take of the visitors' places and of the time spent on them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "daemon/front/users.h"
#include "tests/support/dice.h"

enum { PLACES = 12, SHARE = 4 };

static struct td_users users;
static const td_ns start_ns = TD_S(1000);

static int set_up(void **state)
{
	(void)state;
	td_users_start(&users, PLACES);
	users.per_user = SHARE;
	users.paced = true;
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	td_users_end(&users);
	return 0;
}

static struct td_user *come(uid_t uid, td_ns now_ns)
{
	struct td_user *user = NULL;

	assert_int_equal(td_users_come(&users, uid, now_ns, &user), TD_USER_COMES);
	return user;
}

static enum td_user_verdict try(uid_t uid, td_ns now_ns)
{
	struct td_user *user = NULL;
	enum td_user_verdict verdict = td_users_come(&users, uid, now_ns, &user);

	assert_int_equal(user != NULL, verdict == TD_USER_COMES);
	return verdict;
}

static void a_user_has_its_share_and_leaves_the_others_theirs(void **state)
{
	struct td_user *first = NULL;

	(void)state;
	for (int i = 0; i < SHARE; i++)
		first = come(1000, start_ns);
	assert_int_equal(try(1000, start_ns), TD_USER_HAS_ALL);
	assert_int_equal(try(1001, start_ns), TD_USER_COMES);
	td_user_went(first);
	assert_int_equal(try(1000, start_ns), TD_USER_COMES);
	assert_int_equal(try(1000, start_ns), TD_USER_HAS_ALL);
}

static void the_gateway_speaks_for_many_and_is_not_limited(void **state)
{
	struct td_user *gateway = NULL;

	(void)state;
	users.has_gateway = true;
	users.gateway = 990;
	for (int i = 0; i < 200; i++)
		gateway = come(990, start_ns);
	for (int i = 0; i < 10000; i++) {
		assert_true(td_user_wait(gateway, start_ns) == 0);
		td_user_line(gateway, start_ns);
	}
	for (int i = 0; i < SHARE; i++)
		come(0, start_ns);
	assert_int_equal(try(0, start_ns), TD_USER_HAS_ALL); /* root is a user like others */
}

static void without_a_share_nobody_is_limited(void **state)
{
	struct td_user *user = NULL;

	(void)state;
	users.per_user = 0;
	for (int i = 0; i < 200; i++)
		user = come(1000, start_ns);
	for (int i = 0; i < 10000; i++)
		td_user_line(user, start_ns);
	assert_true(td_user_wait(user, start_ns) == 0);
}

static void who_goes_and_comes_again_is_no_stranger(void **state)
{
	(void)state;
	for (int i = 0; i < TD_USER_COMES_AT_ONCE; i++)
		td_user_went(come(1000, start_ns));
	assert_int_equal(try(1000, start_ns), TD_USER_TOO_FAST);
	assert_int_equal(try(1001, start_ns), TD_USER_COMES);
	assert_int_equal(try(1000, start_ns + TD_S(1) / TD_USER_COMES_PER_S - 1), TD_USER_TOO_FAST);
	assert_int_equal(try(1000, start_ns + TD_S(1) / TD_USER_COMES_PER_S), TD_USER_COMES);
}

static void a_door_without_pace_counts_connections_alone(void **state)
{
	(void)state;
	users.paced = false;
	for (int i = 0; i < 10 * TD_USER_COMES_AT_ONCE; i++)
		td_user_went(come(1000, start_ns));
	for (int i = 0; i < SHARE; i++)
		come(1000, start_ns);
	assert_int_equal(try(1000, start_ns), TD_USER_HAS_ALL);
}

static void the_lines_of_all_connections_of_a_user_count_together(void **state)
{
	(void)state;
	struct td_user *one = come(1000, start_ns);
	struct td_user *other = come(1001, start_ns);

	assert_ptr_equal(come(1000, start_ns), one);
	for (int i = 0; i < TD_USER_LINES_AT_ONCE; i++) {
		assert_true(td_user_wait(one, start_ns) == 0);
		td_user_line(one, start_ns);
	}
	assert_true(td_user_wait(one, start_ns) == TD_S(1) / TD_USER_LINES_PER_S);
	assert_true(td_user_wait(other, start_ns) == 0);
}

/* Any number of users come and go: who is connected is counted right, and places never run out. */
static void however_many_users_come_and_go_each_is_counted_right(void **state)
{
	enum { USERS = 200, STEPS = 100000 };
	struct dice dice = dice_start(20261128);
	struct td_user *connected[PLACES];
	unsigned int per_user[USERS] = {0};
	size_t count = 0;
	td_ns now_ns = start_ns;

	(void)state;
	for (int i = 0; i < STEPS; i++) {
		uid_t uid = (uid_t)dice_below(&dice, USERS);

		now_ns += TD_MS(dice_below(&dice, 20));
		if (count > 0 && (count == PLACES || dice_below(&dice, 2) == 0)) {
			size_t gone = dice_below(&dice, count);

			per_user[connected[gone]->uid]--;
			td_user_went(connected[gone]);
			connected[gone] = connected[--count];
			continue;
		}
		enum td_user_verdict verdict = td_users_come(&users, uid, now_ns, &connected[count]);

		assert_int_equal(verdict == TD_USER_HAS_ALL, per_user[uid] == SHARE);
		if (verdict != TD_USER_COMES)
			continue;
		per_user[uid]++;
		assert_int_equal(connected[count]->uid, uid);
		assert_int_equal(connected[count]->count, per_user[uid]);
		count++;
	}
	assert_int_equal(users.used, users.size);
}

static void users_are_named_or_numbered(void **state)
{
	static const char *const nobody[] = {"", "no-such-user-here", "12x", "4294967295",
					     "99999999999999999999"};
	uid_t uid = 7;

	(void)state;
	assert_true(td_user_named("root", &uid));
	assert_int_equal(uid, 0);
	assert_true(td_user_named("990", &uid));
	assert_int_equal(uid, 990);
	for (size_t i = 0; i < sizeof(nobody) / sizeof(nobody[0]); i++)
		assert_false(td_user_named(nobody[i], &uid));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
		TEST(a_user_has_its_share_and_leaves_the_others_theirs),
		TEST(the_gateway_speaks_for_many_and_is_not_limited),
		TEST(without_a_share_nobody_is_limited),
		TEST(who_goes_and_comes_again_is_no_stranger),
		TEST(a_door_without_pace_counts_connections_alone),
		TEST(the_lines_of_all_connections_of_a_user_count_together),
		TEST(however_many_users_come_and_go_each_is_counted_right),
		TEST(users_are_named_or_numbered),
	};

	return cmocka_run_group_tests_name("users", tests, NULL, NULL);
}

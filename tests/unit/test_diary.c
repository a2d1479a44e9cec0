/* SPDX-License-Identifier: MIT */
/* What the scribe says in the log of the entries that pass: which, in which words, and how many. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "daemon/scribe/diary.h"
#include "tests/support/front_rig.h"

/* 2026-11-25T06:08:09.250Z, and the machine has run for a thousand seconds. */
static const struct td_diary_clock clock_now = {TD_S(1000), TD_S(1795586889) + TD_MS(250)};

static struct rig rig;
static struct td_diary diary;
static uint64_t number;
static int log_fd;

static int set_up(void **state)
{
	(void)state;
	rig_prepare(&rig);
	number = 0;
	log_fd = memfd_create("log", MFD_CLOEXEC);
	td_diary_init(&diary, &rig.config, &rig.arming, log_fd);
	return log_fd < 0;
}

static int tear_down(void **state)
{
	(void)state;
	close(log_fd);
	return rmdir(rig.dir);
}

/* All that was said since the last time; static. */
static const char *said(void)
{
	static char text[512 * 1024];
	ssize_t got = pread(log_fd, text, sizeof(text) - 1, 0);

	assert_true(got >= 0);
	text[got] = '\0';
	assert_int_equal(ftruncate(log_fd, 0), 0);
	assert_int_equal(lseek(log_fd, 0, SEEK_SET), 0);
	return text;
}

static uint64_t tell(struct td_entry entry)
{
	entry.number = number++;
	entry.at_ns = clock_now.now_ns - TD_S(1);
	return td_diary_entry(&diary, &entry, clock_now);
}

static void news(struct td_news what)
{
	tell((struct td_entry){.kind = TD_ENTRY_NEWS, .as.news = what});
}

static void step(struct td_event event, enum td_cause answer)
{
	tell((struct td_entry){.kind = TD_ENTRY_STEP,
			       .as.step = {.event = event, .answer = (uint8_t)answer}});
}

#define WHEN "at_ns=999000000000 wall=2026-11-25T06:08:08.250Z"

static void news_name_cause_rule_axis_way_session_and_both_clocks(void **state)
{
	(void)state;
	step((struct td_event){.kind = TD_EVENT_TIME}, TD_CAUSE_NONE);
	assert_string_equal(said(), "");
	news((struct td_news){TD_CAUSE_TRAVEL_LIMIT, RIG_BOOM, RIG_RAISE, TD_NO_SWITCH, TD_NO_ROLE, 4, 7});
	assert_string_equal(said(),
			    "<4>news kind=trip cause=travel-limit id=60 rule=R4 axis=boom way=raise switch=- "
			    "session=4 by=- from=0 " WHEN ": the end was not reached in the learned time\n");
	news((struct td_news){TD_CAUSE_LEVELS_SEEN, TD_NO_AXIS, TD_NO_WAY, 1, TD_NO_ROLE, 0, 0});
	assert_string_equal(said(),
			    "<6>news kind=note cause=levels-seen id=101 rule=R2 axis=- way=- switch=boom_top "
			    "session=0 by=- from=0 " WHEN ": a switch changed\n");
}

static void news_of_an_order_name_the_session_that_gave_it(void **state)
{
	(void)state;
	step((struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES, .session = 9}, TD_CAUSE_STOPPED);
	news((struct td_news){TD_CAUSE_STOP_ASKED, RIG_DRIVE, 1, TD_NO_SWITCH, TD_NO_ROLE, 4, 7});
	assert_non_null(strstr(said(),
			       "cause=stop-asked id=14 rule=R7 axis=drive way=forward switch=- session=4 "
			       "by=- from=9 "));
	step((struct td_event){.kind = TD_EVENT_LEVELS, .session = 9}, TD_CAUSE_NONE);
	news((struct td_news){TD_CAUSE_END_REACHED, RIG_BOOM, 1, 1, TD_NO_ROLE, 4, 7});
	assert_non_null(strstr(said(), "session=4 by=- from=0 "));
}

static void r11_a_reset_names_who_made_it_and_in_which_role(void **state)
{
	(void)state;
	step((struct td_event){.kind = TD_EVENT_RESET, .axis = RIG_BOOM, .session = 1}, TD_CAUSE_RESET_DONE);
	assert_string_equal(said(), "");
	news((struct td_news){TD_CAUSE_RESET_DONE, RIG_BOOM, TD_NO_WAY, TD_NO_SWITCH, TD_ROLE_VISITOR, 1, 0});
	assert_non_null(strstr(said(), "<5>news kind=machine cause=reset-done id=85 rule=R11 axis=boom way=- "
				       "switch=- session=1 by=visitor from=1 "));
}

static void r11_a_reset_that_is_refused_is_told_though_it_is_no_news(void **state)
{
	(void)state;
	step((struct td_event){.kind = TD_EVENT_RESET, .axis = RIG_BOOM, .session = 3}, TD_CAUSE_NOT_ALLOWED);
	assert_string_equal(said(),
			    "<6>refused order=reset cause=not-allowed id=41 rule=R11 axis=boom session=3 "
			    "by=visitor " WHEN ": this role may not do that\n");
	step((struct td_event){.kind = TD_EVENT_REQUEST, .axis = RIG_BOOM, .seq = 4}, TD_CAUSE_HOLD_ENDED);
	assert_string_equal(said(), ""); /* a renewal that comes too late: the end of its hold was told */
}

static void r14_a_refusal_for_want_of_arming_names_the_first_reason(void **state)
{
	(void)state;
	rig.arming.why_not.count = 1;
	(void)snprintf(rig.arming.why_not.sentence[0].text, TD_ERROR_MAX,
		       "the greenhouse door is open; shut it");
	news((struct td_news){TD_CAUSE_NOT_ARMED, RIG_BOOM, RIG_RAISE, TD_NO_SWITCH, TD_NO_ROLE, 0, 0});
	assert_non_null(strstr(said(), ": the machine is not armed: the greenhouse door is open; shut it\n"));
	news((struct td_news){TD_CAUSE_LATCHED, RIG_BOOM, RIG_RAISE, TD_NO_SWITCH, TD_NO_ROLE, 0, 0});
	assert_null(strstr(said(), "greenhouse"));
}

static void clients_that_come_go_and_are_turned_away_are_told(void **state)
{
	struct td_entry entry = {
		.kind = TD_ENTRY_SESSION,
		.as.session = {.session = 5, .uid = 1000, .role = TD_ROLE_KEEPER, .came = 1}};

	(void)state;
	tell(entry);
	assert_string_equal(said(), "<6>session came session=5 by=keeper uid=1000 " WHEN "\n");
	entry.as.session.came = 0;
	tell(entry);
	assert_string_equal(said(), "<6>session went session=5 by=keeper uid=1000 " WHEN "\n");
	entry.kind = TD_ENTRY_REFUSED;
	entry.as.session.cause = TD_CAUSE_OVERTAKEN;
	tell(entry);
	assert_string_equal(
		said(), "<6>refused order=- cause=overtaken id=38 rule=R7 axis=- session=5 by=keeper " WHEN
			": a stop came after this request was made\n");
}

static void what_is_lost_is_counted_and_told(void **state)
{
	(void)state;
	step((struct td_event){.kind = TD_EVENT_TIME}, TD_CAUSE_NONE);
	number += 41;
	assert_int_equal(tell((struct td_entry){.kind = TD_ENTRY_STEP}), 41);
	assert_string_equal(said(),
			    "<4>lost entries=41 before " WHEN
			    ": more happened than the disk could take; it is missing in log and trace\n");
	assert_int_equal(tell((struct td_entry){.kind = TD_ENTRY_STEP}), 0);
	/* the front counts for itself */
	number = 0;
	assert_int_equal(tell((struct td_entry){.kind = TD_ENTRY_SESSION}), 0);
}

static unsigned count_of(const char *text, const char *words)
{
	unsigned count = 0;

	for (const char *at = text; (at = strstr(at, words)); at++)
		count++;
	return count;
}

/* Who asks without end, or comes and goes, hides nothing that concerns the machine. */
static void a_flood_of_refusals_or_clients_hides_no_trip(void **state)
{
	(void)state;
	for (int i = 0; i < 1000; i++) {
		news((struct td_news){TD_CAUSE_LATCHED, RIG_BOOM, 0, TD_NO_SWITCH, TD_NO_ROLE, 0, 0});
		tell((struct td_entry){.kind = TD_ENTRY_SESSION});
		number = 0;
	}
	news((struct td_news){TD_CAUSE_BOTH_ENDS, RIG_BOOM, 0, TD_NO_SWITCH, TD_NO_ROLE, 0, 0});
	const char *text = said();

	assert_int_equal(count_of(text, "cause=latched"), 120);
	assert_int_equal(count_of(text, "session went"), 120);
	assert_int_equal(count_of(text, "cause=both-ends"), 1);
}

static void any_bytes_are_told_without_harm(void **state)
{
	static uint8_t bytes[sizeof(struct td_entry)];
	struct td_entry entry;

	(void)state;
	for (int value = 0; value < 256; value++)
		for (uint32_t kind = 0; kind < 8; kind++) {
			memset(bytes, value, sizeof(bytes));
			memcpy(&entry, bytes, sizeof(entry));
			entry.kind = kind;
			td_diary_entry(&diary, &entry, clock_now);
		}
	assert_true(count_of(said(), "\n") > 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(news_name_cause_rule_axis_way_session_and_both_clocks),
		TEST(news_of_an_order_name_the_session_that_gave_it),
		TEST(r11_a_reset_names_who_made_it_and_in_which_role),
		TEST(r11_a_reset_that_is_refused_is_told_though_it_is_no_news),
		TEST(r14_a_refusal_for_want_of_arming_names_the_first_reason),
		TEST(clients_that_come_go_and_are_turned_away_are_told),
		TEST(what_is_lost_is_counted_and_told),
		TEST(a_flood_of_refusals_or_clients_hides_no_trip),
		TEST(any_bytes_are_told_without_harm),
	};

	return cmocka_run_group_tests_name("diary", tests, NULL, NULL);
}

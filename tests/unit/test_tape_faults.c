/* SPDX-License-Identifier: MIT */
/* Tapes on a disk that is full from the n-th write on, for every n; and at the end of the clock. */
#include "core/cause.h"
#include "tests/support/small_disk.h"
#include "tests/unit/tape_file.h"

enum { ENTRIES_MAX = 64 };

static struct td_entry entries[ENTRIES_MAX];
static size_t count;

static void add_step(struct td_event event)
{
	td_core_step(&rig.core, &rig.config.rules, &event, &rig.result);
	if (event.kind == TD_EVENT_LEVELS)
		rig.levels = event.levels;
	assert_true(count + 1 + rig.result.news_count <= ENTRIES_MAX);
	td_entry_of_step(&entries[count], &rig.core, &rig.config.rules, &event, &rig.result, rig.levels);
	entries[count++].number = rig.number++;
	for (uint16_t i = 0; i < rig.result.news_count; i++) {
		td_entry_of_news(&entries[count], &rig.core, &rig.result, i);
		entries[count++].number = rig.number++;
	}
}

static void add_client(enum td_entry_kind kind, uint32_t session, uint8_t role, enum td_cause cause)
{
	entries[count++] = (struct td_entry){.kind = kind,
					     .at_ns = rig.core.now_ns,
					     .as.session = {.session = session,
							    .uid = 1000 + session,
							    .role = role,
							    .came = cause == TD_CAUSE_NONE,
							    .cause = (uint8_t)cause}};
}

/* A little of everything that a tape can hold. */
static void make_entries(void)
{
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	rig.first.core = rig.core;
	rig.first.number = rig.number;
	count = 0;
	add_step((struct td_event){.kind = TD_EVENT_LEVELS, .at_ns = TD_S(5), .levels = 7});
	add_step((struct td_event){.kind = TD_EVENT_ARM, .at_ns = TD_S(5) + 1});
	add_client(TD_ENTRY_SESSION, 7, TD_ROLE_KEEPER, TD_CAUSE_NONE);
	add_client(TD_ENTRY_REFUSED, 7, TD_ROLE_VISITOR, TD_CAUSE_NOT_ALLOWED);
	rig.number += 3; /* lost */
	add_step((struct td_event){.kind = TD_EVENT_REQUEST,
				   .at_ns = TD_S(9),
				   .axis = 1,
				   .way = 1,
				   .role = TD_ROLE_KEEPER,
				   .session = 7,
				   .hold = 1,
				   .lease_ns = TD_MS(300)});
	rig.number += 3; /* as many again */
	add_step((struct td_event){.kind = TD_EVENT_LATCH, .at_ns = TD_S(9) + TD_MS(20), .session = 7});
	add_step((struct td_event){.kind = TD_EVENT_STOP, .at_ns = TD_S(9) + TD_MS(21)});
}

static struct td_tape *new_tape(FILE *out, struct td_error *err)
{
	return td_tape_new(out, &rig.config, rig.config_text, rig.config_length, &rig.head, &rig.first, err);
}

static int check_twice(struct td_tape *tape, struct td_error *err)
{
	static struct td_snapshot snapshot;

	snapshot.core = rig.core;
	snapshot.number = rig.number;
	for (int time = 0; time < 2; time++)
		if (td_tape_check(tape, &snapshot, err))
			return -1;
	return 0;
}

static int put_all(struct td_tape *tape, size_t *put, struct td_error *err)
{
	for (*put = 0; *put < count; ++*put)
		if (td_tape_put(tape, &entries[*put], err))
			return -1;
	return check_twice(tape, err) || td_tape_finish(tape, TD_S(10), err) ? -1 : 0;
}

static void assert_stays_broken(struct td_tape *tape)
{
	struct td_entry client = {.kind = TD_ENTRY_SESSION, .at_ns = TD_S(30), .as.session = {.uid = 77}};
	struct td_error err = {""};

	assert_int_equal(td_tape_put(tape, &client, &err), -1);
	assert_string_equal(err.text, SMALL_DISK_SAYS);
	assert_int_equal(check_twice(tape, &err), -1);
	assert_int_equal(td_tape_finish(tape, TD_S(31), &err), -1);
	assert_string_equal(err.text, SMALL_DISK_SAYS);
}

/* What the full disk holds plays up to where it was full; what was put whole is there. */
static void assert_readable(struct small_disk *disk, size_t put)
{
	small_disk_look(disk);
	struct tape_played *played = tape_play(disk->bytes, disk->length, NULL);
	size_t seen = 0;

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_true(played->summary.cut_off);
	for (size_t i = 0; i < played->items.count; i++) {
		const struct tape_item *item = &played->items.item[i];

		if (item->what == TAPE_ENTRY) {
			assert_true(seen < count);
			assert_int_equal(item->entry.kind, entries[seen].kind);
			assert_int_equal(item->entry.number, entries[seen].number);
			seen++;
		}
	}
	assert_in_range(seen, put, put + 1);
	tape_played_free(played);
}

/* True where the disk had room for everything. */
static bool fits(long writes)
{
	struct small_disk disk;
	struct td_error err = {""};
	size_t put = 0;

	small_disk_open(&disk, writes);
	struct td_tape *tape = new_tape(disk.file, &err);
	bool good = tape && put_all(tape, &put, &err) == 0;

	if (!good)
		assert_string_equal(err.text, SMALL_DISK_SAYS);
	if (tape && !good) {
		assert_stays_broken(tape);
		assert_readable(&disk, put);
	}
	td_tape_free(tape);
	small_disk_close(&disk);
	return good;
}

static void a_disk_may_be_full_at_any_write(void **state)
{
	long writes = 0;

	(void)state;
	make_entries();
	while (!fits(writes))
		writes++;
	assert_true(writes > 100);
	print_message("# measured: full at each of %ld writes\n", writes);
	tape_rig_close(&rig);
}

/* --- the end of the clock ------------------------------------------------------------------------------ */

static const char end_of_clock[] = "the clock has come to the end of what a recording can hold";

/* A tape that begins so many nanoseconds before nothing can be told any more. */
static struct td_tape *tape_before_the_end(struct small_disk *disk, td_ns before_ns)
{
	make_entries();
	rig.first.core.now_ns = TD_NEVER - 2 - before_ns;
	small_disk_open(disk, 100000);
	struct td_tape *tape = new_tape(disk->file, NULL);

	assert_non_null(tape);
	return tape;
}

static void done(struct small_disk *disk, struct td_tape *tape)
{
	td_tape_free(tape);
	small_disk_close(disk);
	tape_rig_close(&rig);
}

static void at_the_end_of_the_clock_nothing_is_taken_any_more(void **state)
{
	const struct td_entry kinds[] = {
		{.kind = TD_ENTRY_STEP, .number = 100, .at_ns = TD_NEVER},
		{.kind = TD_ENTRY_NEWS, .number = 100, .at_ns = TD_NEVER},
		{.kind = TD_ENTRY_NEWS, .number = 103, .at_ns = TD_NEVER},
		{.kind = TD_ENTRY_SESSION, .at_ns = TD_NEVER},
		{.kind = TD_ENTRY_REFUSED, .at_ns = TD_NEVER},
	};
	struct small_disk disk;
	struct td_tape *tape = tape_before_the_end(&disk, 0);

	(void)state;
	for (size_t i = 0; i < sizeof(kinds) / sizeof(kinds[0]); i++) {
		struct td_error err = {""};

		assert_int_equal(td_tape_put(tape, &kinds[i], &err), -1);
		assert_string_equal(err.text, end_of_clock);
	}
	struct td_error err = {""};

	assert_int_equal(check_twice(tape, &err), -1);
	assert_string_equal(err.text, end_of_clock);
	assert_int_equal(td_tape_finish(tape, TD_NEVER, &err), -1);
	assert_string_equal(err.text, end_of_clock);
	done(&disk, tape);
}

/* The same number twice takes a moment of its own between, and there is none left. */
static void a_gap_at_the_end_of_the_clock_is_refused(void **state)
{
	const struct td_entry first = {.kind = TD_ENTRY_STEP, .number = 101};
	const struct td_entry second = {.kind = TD_ENTRY_STEP, .number = 103};
	struct small_disk disk;
	struct td_tape *tape = tape_before_the_end(&disk, 2);
	struct td_error err = {""};

	(void)state;
	assert_int_equal(td_tape_put(tape, &first, NULL), 0);
	assert_int_equal(td_tape_put(tape, &second, &err), -1);
	assert_string_equal(err.text, end_of_clock);
	done(&disk, tape);
}

/* --- what stands in a tape or does not ----------------------------------------------------------------- */

static void a_gap_longer_than_can_be_told_is_told_as_the_longest(void **state)
{
	struct td_entry far_off = {.kind = TD_ENTRY_STEP, .number = UINT64_C(1) << 40, .at_ns = TD_S(6)};

	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	tape_rig_record(&rig);
	assert_int_equal(td_tape_put(rig.tape, &far_off, NULL), 0);
	tape_rig_finish(&rig);
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_int_equal(played->items.item[0].what, TAPE_LOST);
	assert_int_equal(played->items.item[0].number, UINT32_MAX);
	tape_played_free(played);
	tape_rig_close(&rig);
}

static void a_tape_of_an_unknown_hour_has_no_date(void **state)
{
	(void)state;
	tape_rig_open_text(&rig, text, base_with(NULL, 0, text), TD_S(5));
	rig.head.wall[0] = '\0';
	tape_rig_record(&rig);
	tape_rig_finish(&rig);
	assert_null(memmem(rig.bytes, rig.length, "$date", 5));
	struct tape_played *played = tape_play(rig.bytes, rig.length, NULL);

	assert_int_equal(played->result, TD_TAPE_READ);
	assert_string_equal(played->head.wall, "");
	tape_played_free(played);
	tape_rig_close(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_disk_may_be_full_at_any_write),
		cmocka_unit_test(at_the_end_of_the_clock_nothing_is_taken_any_more),
		cmocka_unit_test(a_gap_at_the_end_of_the_clock_is_refused),
		cmocka_unit_test(a_gap_longer_than_can_be_told_is_told_as_the_longest),
		cmocka_unit_test(a_tape_of_an_unknown_hour_has_no_date),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
/*
 * R12, R18: mover and scribe together, in simulated time: whenever the power goes, what was powered since the record on the
 * disk was taken is within what an end without notice is charged.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "core/record.h"
#include "daemon/mover/records.h"
#include "daemon/scribe/haste.h"
#include "tests/support/dice.h"
#include "tests/support/rule_cart.h"

#define STEP_NS TD_MS(50)
/* The scribe looks once a second while nothing happens, and a disk may take its time. */
#define LOOK_NS TD_S(1)
#define DISK_NS TD_MS(900)

enum { HOURS = 6, MACHINE = 7 };

struct scene {
	struct td_rules rules;
	struct td_core core;
	struct td_result result;
	struct td_mover_records records;
	struct td_haste haste;
	uint32_t taken;
	bool waits;
	struct td_shelf_record next;
	struct td_shelf_record disk;
	td_ns on_disk_ns; /* when `next` will be there; TD_NEVER */
	td_ns look_ns;
	td_ns end_ns; /* of this motion or rest */
	bool drives;
	uint32_t hold, seq;
	td_ns asked_ns;
	/* what came of it */
	unsigned writes;
	td_ns worst_ns, worst_stood_ns;
};

static void step(struct scene *scene, td_ns at_ns, struct td_event event)
{
	event.at_ns = at_ns;
	td_core_step(&scene->core, &scene->rules, &event, &scene->result);
	td_mover_records_note(&scene->records, &scene->result);
}

static void begin(struct scene *scene)
{
	struct td_event levels = {.kind = TD_EVENT_LEVELS};
	struct td_error err;

	memset(scene, 0, sizeof(*scene));
	scene->rules = rule_cart();
	scene->rules.axis[RULE_DRIVE].way[1].limit_ns = TD_S(100);
	scene->rules.axis[RULE_DRIVE].way[1].reach_ns = TD_S(100);
	scene->rules.cable.drive = RULE_DRIVE;
	scene->rules.cable.steering = RULE_WHEEL;
	td_core_init(&scene->core, &scene->rules, 0);
	td_mover_records_init(&scene->records, td_shelf_make(sizeof(struct td_shelf_record), &err), MACHINE,
			      0);
	assert_non_null(scene->records.shelf);
	scene->haste = td_haste_begin();
	scene->on_disk_ns = TD_NEVER;
	for (uint8_t sw = 0; sw < RULE_SWITCHES; sw++)
		if (rule_level(&scene->rules, sw, false))
			levels.levels |= UINT32_C(1) << sw;
	step(scene, 0, levels);
	step(scene, 0, (struct td_event){.kind = TD_EVENT_ARM});
}

static void request(struct scene *scene, td_ns at_ns)
{
	step(scene, at_ns,
	     (struct td_event){.kind = TD_EVENT_REQUEST,
			       .axis = RULE_DRIVE,
			       .way = 1,
			       .session = 1,
			       .hold = scene->hold,
			       .seq = scene->seq++,
			       .lease_ns = TD_MS(1500)});
	scene->asked_ns = at_ns;
}

/* Rest and motion in turn, both mostly short; now and then a long one. */
static void play(struct scene *scene, struct dice *dice, td_ns now_ns)
{
	if (now_ns >= scene->end_ns) {
		td_ns most_ns = dice_below(dice, 4) == 0 ? TD_S(40) : TD_S(3);

		scene->end_ns = now_ns + dice_span(dice, TD_MS(200), most_ns);
		scene->drives = !scene->drives;
		if (!scene->drives)
			step(scene, now_ns, (struct td_event){.kind = TD_EVENT_STOP, .axis = TD_ALL_AXES});
		scene->hold++;
		scene->seq = 0;
		scene->asked_ns = now_ns - TD_S(1);
	}
	if (scene->drives && now_ns - scene->asked_ns >= TD_S(1))
		request(scene, now_ns);
	else
		step(scene, now_ns, (struct td_event){.kind = TD_EVENT_TIME});
	td_mover_records_tend(&scene->records, &scene->core, &scene->rules, scene->result.outputs, now_ns);
}

/* As daemon/scribe/scribe.c does it, on a disk that is slow. */
static void look(struct scene *scene, td_ns now_ns)
{
	if (now_ns >= scene->on_disk_ns) {
		scene->disk = scene->next;
		scene->on_disk_ns = TD_NEVER;
		scene->waits = false;
		td_haste_done(&scene->haste, &scene->disk);
		scene->look_ns = now_ns;
	}
	if (now_ns < scene->look_ns || scene->on_disk_ns != TD_NEVER)
		return;
	scene->look_ns = now_ns + LOOK_NS;
	scene->waits = td_shelf_take(scene->records.shelf, &scene->taken, &scene->next) || scene->waits;
	if (!scene->waits || !td_haste_due(&scene->haste, &scene->next, now_ns))
		return;
	td_haste_try(&scene->haste, now_ns);
	scene->on_disk_ns = now_ns + DISK_NS;
	scene->writes++;
}

static td_ns powered(const uint8_t *bytes)
{
	static struct td_keep keep;

	assert_int_equal(td_keep_restore(&keep, bytes, TD_KEEP_SIZE, MACHINE, 0, 0), TD_KEEP_OK);
	return keep.axis[RULE_DRIVE].powered_ns[1];
}

static void r12_r18_what_was_powered_since_the_record_is_within_the_charge(void **state)
{
	static struct scene scene;
	struct dice dice = dice_start(20261128);
	td_ns known_ns = 0;
	td_ns taken_ns = -1;

	(void)state;
	begin(&scene);
	for (td_ns now_ns = 0; now_ns < TD_S(3600) * HOURS; now_ns += STEP_NS) {
		play(&scene, &dice, now_ns);
		look(&scene, now_ns);
		if (scene.disk.taken_ns == 0)
			continue;
		if (scene.disk.taken_ns != taken_ns)
			known_ns = powered(scene.disk.bytes);
		taken_ns = scene.disk.taken_ns;
		td_ns unseen_ns = td_wear_powered_ns(&scene.core.wear[RULE_DRIVE], 1, now_ns) - known_ns;
		td_ns *worst_ns = scene.disk.drove ? &scene.worst_ns : &scene.worst_stood_ns;

		*worst_ns = unseen_ns > *worst_ns ? unseen_ns : *worst_ns;
	}
	printf("# measured: at most %lld ms of the drive unseen, %lld ms after a record in which it stood; "
	       "%u "
	       "writes in %d h\n",
	       (long long)(scene.worst_ns / TD_MS(1)), (long long)(scene.worst_stood_ns / TD_MS(1)),
	       scene.writes, HOURS);
	assert_true(scene.core.wear[RULE_DRIVE].starts[1] > 300);
	assert_true(scene.worst_ns > TD_S(8) && scene.worst_ns <= TD_RECORD_CHARGE_NS);
	assert_true(scene.worst_stood_ns > 0 && scene.worst_stood_ns <= TD_RECORD_LAG_NS);
	/* Once in ten seconds, and once more after each rest of that length. */
	assert_true(scene.writes <= 3600 / 10 * HOURS * 3 / 2);
}

static void a_record_whose_writing_fails_is_tried_again_no_sooner_than_others(void **state)
{
	const struct td_shelf_record stood = {.drove = false};
	const struct td_shelf_record drove = {.drove = true};
	struct td_haste haste = td_haste_begin();

	(void)state;
	assert_true(td_haste_due(&haste, &stood, 0));
	td_haste_try(&haste, TD_S(1));
	td_haste_done(&haste, &stood);
	assert_false(td_haste_due(&haste, &stood, TD_S(11) - 1));
	assert_true(td_haste_due(&haste, &drove, TD_S(2)));
	td_haste_try(&haste, TD_S(2));
	assert_false(td_haste_due(&haste, &drove, TD_S(12) - 1));
	assert_true(td_haste_due(&haste, &drove, TD_S(12)));
	td_haste_try(&haste, TD_S(12));
	td_haste_done(&haste, &drove);
	assert_false(td_haste_due(&haste, &drove, TD_S(13)));
}

/* What is on the disk latched or locked otherwise is not left there for ten seconds, nor written twice. */
static void r10_r11_another_latch_or_lock_is_written_at_once(void **state)
{
	static const struct td_shelf_record is[] = {
		{.latched = true},
		{.latched = false},
		{.locked = UINT32_C(1) << 5},
		{.locked = UINT32_C(1) << 4},
		{.locked = 0},
	};
	struct td_haste haste = td_haste_begin();

	(void)state;
	for (unsigned i = 0; i < sizeof(is) / sizeof(is[0]); i++) {
		assert_true(td_haste_due(&haste, &is[i], TD_S(i)));
		td_haste_try(&haste, TD_S(i));
		td_haste_done(&haste, &is[i]);
		assert_false(td_haste_due(&haste, &is[i], TD_S(i) + 1));
	}
	td_haste_try(&haste, TD_S(9));
	assert_false(td_haste_due(&haste, &is[0], TD_S(10)));
}

/* The mover says beside the bytes what they hold. */
static void r10_r11_what_is_latched_and_locked_stands_beside_the_record(void **state)
{
	static struct scene scene;
	static struct td_shelf_record laid;
	static struct td_keep keep;
	struct td_event lock = {.kind = TD_EVENT_LOCK_KEPT, .axis = RULE_DRIVE, .way = 1};

	(void)state;
	begin(&scene);
	step(&scene, TD_MS(50), (struct td_event){.kind = TD_EVENT_LATCH_KEPT});
	step(&scene, TD_MS(50), lock);
	td_mover_records_close(&scene.records, &scene.core, &scene.rules, TD_MS(50));
	assert_true(td_shelf_take(scene.records.shelf, &scene.taken, &laid));
	assert_int_equal(td_keep_restore(&keep, laid.bytes, TD_KEEP_SIZE, MACHINE, 0, 0), TD_KEEP_OK);
	assert_true(laid.latched);
	assert_int_equal(keep.latched, 1);
	assert_int_equal(laid.locked, UINT32_C(1) << (RULE_DRIVE * 2 + 1));
	assert_int_equal(keep.locked, laid.locked);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(r12_r18_what_was_powered_since_the_record_is_within_the_charge),
		cmocka_unit_test(a_record_whose_writing_fails_is_tried_again_no_sooner_than_others),
		cmocka_unit_test(r10_r11_another_latch_or_lock_is_written_at_once),
		cmocka_unit_test(r10_r11_what_is_latched_and_locked_stands_beside_the_record),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}

/* SPDX-License-Identifier: MIT */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/tape_rig.h"

static int on_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		   const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		   uint32_t outputs)
{
	struct tape_played *played = ctx;

	played->heads++;
	played->head = *head;
	played->config = *config;
	played->has_core = snapshot != NULL;
	if (snapshot)
		memcpy(&played->snapshot, snapshot, sizeof(*snapshot));
	played->keep = *keep;
	played->levels = levels;
	played->outputs = outputs;
	return 0;
}

static int add(struct tape_played *played, td_ns file_ns, enum tape_what what, uint32_t number,
	       const struct td_entry *entry)
{
	struct tape_item item = {.what = what, .file_ns = file_ns, .number = number};

	if (entry)
		item.entry = *entry;
	tape_items_add(&played->items, &item);
	return 0;
}

static int on_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	return add(ctx, file_ns, TAPE_ENTRY, 0, entry);
}

static int on_check(void *ctx, td_ns file_ns, uint32_t check)
{
	return add(ctx, file_ns, TAPE_CHECK, check, NULL);
}

static int on_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	return add(ctx, file_ns, TAPE_LOST, lost, NULL);
}

struct tape_played *tape_play(const char *bytes, size_t length, const struct td_config *config)
{
	struct tape_played *played = calloc(1, sizeof(*played));
	char *copy = malloc(length + 1);
	const struct td_tape_sink sink = {
		.ctx = played, .head = on_head, .entry = on_entry, .check = on_check, .lost = on_lost};

	assert_non_null(played);
	assert_non_null(copy);
	/* so that a sanitizer sees a read past the end */
	memcpy(copy, bytes, length);
	FILE *in = length > 0 ? fmemopen(copy, length, "r") : fopen("/dev/null", "r");

	assert_non_null(in);
	played->result = td_tape_play(in, "x.vcd", config, &sink, &played->summary, &played->err);
	(void)fclose(in);
	free(copy);
	return played;
}

void tape_played_free(struct tape_played *played)
{
	tape_items_free(&played->items);
	free(played);
}

/* --- comparing ---------------------------------------------------------------------------------------- */

static void assert_same_event(const struct td_event *made, const struct td_event *played)
{
	unsigned int kind = (unsigned int)made->kind;

	assert_int_equal(kind < UINT8_MAX ? kind : UINT8_MAX, (unsigned int)played->kind);
	assert_true(made->at_ns == played->at_ns);
	assert_int_equal(made->levels, played->levels);
	assert_int_equal(made->axis, played->axis);
	assert_int_equal(made->way, played->way);
	assert_int_equal(made->role, played->role);
	assert_int_equal(made->session, played->session);
	assert_int_equal(made->hold, played->hold);
	assert_int_equal(made->seq, played->seq);
	assert_true(made->lease_ns == played->lease_ns);
	assert_true(made->heard_ns == played->heard_ns);
}

static void assert_same_step(const struct td_entry_step *made, const struct td_entry_step *played)
{
	assert_same_event(&made->event, &played->event);
	assert_int_equal(made->outputs, played->outputs);
	assert_int_equal(made->asked, played->asked);
	assert_int_equal(made->active, played->active);
	assert_memory_equal(made->state, played->state, sizeof(made->state));
	assert_int_equal(made->answer, played->answer);
	assert_int_equal(made->armed, played->armed);
	assert_int_equal(made->latch, played->latch);
	assert_int_equal(made->news, played->news);
}

static void assert_same_entry(const struct td_entry *made, const struct td_entry *played)
{
	assert_int_equal(made->kind, played->kind);
	assert_int_equal(made->number, played->number);
	if (made->kind == TD_ENTRY_STEP || made->kind == TD_ENTRY_NEWS)
		assert_true(made->at_ns == played->at_ns);
	if (made->kind == TD_ENTRY_STEP) {
		assert_same_step(&made->as.step, &played->as.step);
	} else if (made->kind == TD_ENTRY_NEWS) {
		assert_int_equal(made->as.news.cause, played->as.news.cause);
		/* what all axes are told is the machine's */
		assert_int_equal(made->as.news.axis == TD_ALL_AXES ? TD_NO_AXIS : made->as.news.axis,
				 played->as.news.axis);
	} else {
		assert_true(played->at_ns >= made->at_ns);
		assert_int_equal(made->as.session.session, played->as.session.session);
		assert_int_equal(made->as.session.uid, played->as.session.uid);
		assert_int_equal(made->as.session.role, played->as.session.role);
		assert_int_equal(made->as.session.came, played->as.session.came);
		assert_int_equal(made->as.session.cause, played->as.session.cause);
	}
}

void tape_assert_same(const struct tape_item *made, const struct tape_item *played)
{
	assert_int_equal(made->what, played->what);
	assert_int_equal(made->number, played->number);
	if (made->what == TAPE_ENTRY)
		assert_same_entry(&made->entry, &played->entry);
}

void tape_assert_prefix(const struct tape_items *made, const struct tape_items *played, size_t count)
{
	assert_true(count <= made->count && count <= played->count);
	for (size_t i = 0; i < count; i++)
		tape_assert_same(&made->item[i], &played->item[i]);
}

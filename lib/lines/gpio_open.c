/* SPDX-License-Identifier: MIT */
/* Takes the lines of a configuration: finds them, then requests them chip by chip, outputs first. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lines/gpio_board.h"

/* All lines wanted, outputs, then inputs, then the heartbeat, and where they are. */
struct plan {
	const struct td_lines_gpio_request *request;
	unsigned inputs_from;
	unsigned heart_from;
	unsigned count;
	struct td_gpio_spot spot[TD_GPIO_OUTPUTS_MAX + TD_SWITCHES_MAX + 1];
};

static const struct td_gpio_wanted *wanted_of(const struct plan *plan, unsigned i)
{
	if (i < plan->inputs_from)
		return &plan->request->output[i];
	return i < plan->heart_from ? &plan->request->input[i - plan->inputs_from]
				    : &plan->request->heartbeat;
}

/* The lines of one direction on one chip. */
struct share {
	unsigned chip;
	unsigned count;
	uint8_t bit[TD_GPIO_GROUP_MAX];
	uint32_t offset[TD_GPIO_GROUP_MAX];
	enum td_gpio_bias bias[TD_GPIO_GROUP_MAX];
	struct td_gpio_wanted wanted[TD_GPIO_GROUP_MAX];
	struct td_gpio_spot spot[TD_GPIO_GROUP_MAX];
};

void td_lines_gpio_wanted(const struct td_config *config, const char *file,
			  struct td_lines_gpio_request *request)
{
	memset(request, 0, sizeof(*request));
	request->file = file;
	request->poll_ns = config->poll_ns;
	request->outputs = (uint8_t)(config->axes * TD_WAYS);
	request->inputs = config->switches;
	for (unsigned i = 0; i < request->outputs; i++) {
		const struct td_config_axis *axis = &config->axis[i / TD_WAYS];
		struct td_gpio_wanted *wanted = &request->output[i];

		wanted->place = axis->input[i % TD_WAYS];
		(void)snprintf(wanted->use, sizeof(wanted->use), "%s %s", axis->name,
			       axis->way_name[i % TD_WAYS]);
	}
	for (unsigned i = 0; i < request->inputs; i++) {
		struct td_gpio_wanted *wanted = &request->input[i];

		wanted->place = config->sw[i].place;
		wanted->bias = config->rules.sw[i].pull == TD_PULL_DOWN ? TD_GPIO_PULL_DOWN : TD_GPIO_PULL_UP;
		(void)snprintf(wanted->use, sizeof(wanted->use), "%s", config->sw[i].name);
	}
	request->beats = config->has_heartbeat;
	request->heartbeat.place = config->heartbeat;
	(void)snprintf(request->heartbeat.use, sizeof(request->heartbeat.use), "heartbeat");
}

/* --- find ----------------------------------------------------------------------------------------- */

static int refuse_twice(const struct plan *plan, const struct td_gpio_chips *chips, unsigned a, unsigned b,
			struct td_error *err)
{
	return td_error_set(
		err, "%s%s%s and %s are the same line, %" PRIu32 " of \"%s\" (%s); give each its own",
		plan->request->file ? plan->request->file : "", plan->request->file ? ": " : "",
		wanted_of(plan, a)->use, wanted_of(plan, b)->use, plan->spot[a].offset,
		td_gpio_chip_label(chips->at[plan->spot[a].chip].chip), chips->at[plan->spot[a].chip].path);
}

static int check_twice(const struct plan *plan, const struct td_gpio_chips *chips, struct td_error *err)
{
	for (unsigned a = 0; a < plan->count; a++)
		for (unsigned b = a + 1; b < plan->count; b++)
			if (plan->spot[a].chip == plan->spot[b].chip &&
			    plan->spot[a].offset == plan->spot[b].offset)
				return refuse_twice(plan, chips, a, b, err);
	return 0;
}

static void begin_plan(struct plan *plan, const struct td_lines_gpio_request *request)
{
	plan->request = request;
	plan->inputs_from = request->outputs;
	plan->heart_from = plan->inputs_from + request->inputs;
	plan->count = plan->heart_from + request->beats;
}

bool td_lines_gpio_absent(const struct td_lines_gpio_request *request, struct td_error *err)
{
	struct plan plan = {0};
	struct td_gpio_chips chips;
	bool absent = false;

	begin_plan(&plan, request);
	td_gpio_chips_open(&chips);
	for (unsigned i = 0; i < plan.count && !absent; i++)
		absent = td_gpio_find(&chips, request->file, wanted_of(&plan, i), &plan.spot[i], err) ==
			 TD_GPIO_ABSENT;
	td_gpio_chips_close(&chips);
	return absent;
}

static int find_all(struct plan *plan, const struct td_lines_gpio_request *request,
		    const struct td_gpio_chips *chips, struct td_error *err)
{
	begin_plan(plan, request);
	for (unsigned i = 0; i < plan->count; i++) {
		if (td_gpio_find(chips, request->file, wanted_of(plan, i), &plan->spot[i], err) < 0)
			return -1;
	}
	return check_twice(plan, chips, err);
}

/* --- take ----------------------------------------------------------------------------------------- */

/* `first` ... `end` - 1 of the plan, those on `chip`. */
static void share_out(const struct plan *plan, unsigned chip, unsigned first, unsigned end,
		      struct share *share)
{
	share->chip = chip;
	share->count = 0;
	for (unsigned i = first; i < end; i++) {
		unsigned n = share->count;

		if (plan->spot[i].chip != chip)
			continue;
		share->bit[n] = (uint8_t)(i - first);
		share->offset[n] = plan->spot[i].offset;
		share->bias[n] = wanted_of(plan, i)->bias;
		share->wanted[n] = *wanted_of(plan, i);
		share->spot[n] = plan->spot[i];
		share->count++;
	}
}

static void hold(struct td_gpio_held *held, const struct share *share)
{
	held->chip = share->chip;
	held->count = share->count;
	memcpy(held->bit, share->bit, sizeof(held->bit));
	memcpy(held->offset, share->offset, sizeof(held->offset));
}

static int take_low(struct td_gpio_board *board, const struct share *share, struct td_gpio_held *held,
		    unsigned *groups)
{
	int result = td_gpio_take_outputs(board->chips.at[share->chip].chip, share->offset, share->count,
					  &held->group);

	if (result < 0)
		return result;
	hold(held, share);
	(*groups)++;
	return 0;
}

static int take_outputs(struct td_gpio_board *board, const struct share *share)
{
	return take_low(board, share, &board->output[board->output_groups], &board->output_groups);
}

/* A group of its own: a beat touches no other line. */
static int take_heart(struct td_gpio_board *board, const struct share *share)
{
	return take_low(board, share, &board->heart, &board->heart_groups);
}

static void say_polled(const struct td_gpio_chip_at *at, int error)
{
	(void)fprintf(stderr,
		      "%s (\"%s\") reports no edges (%s): its switches are read at intervals instead\n",
		      at->path, td_gpio_chip_label(at->chip), strerror(-error));
}

/* The kernel answers the same error for "no interrupt here" as for worse things, so a second request
 * without edges decides. */
static int take_inputs(struct td_gpio_board *board, const struct share *share)
{
	struct td_gpio_held *held = &board->input[board->input_groups];
	struct td_gpio_chip *at = board->chips.at[share->chip].chip;
	int with_edges =
		td_gpio_take_inputs(at, share->offset, share->bias, share->count, true, &held->group);
	int result = with_edges;

	if (with_edges < 0)
		result = td_gpio_take_inputs(at, share->offset, share->bias, share->count, false,
					     &held->group);
	if (result < 0)
		return result;
	hold(held, share);
	held->polled = with_edges < 0;
	board->input_groups++;
	if (!held->polled)
		return 0;
	say_polled(&board->chips.at[share->chip], with_edges);
	return td_gpio_read(held->group, &held->known);
}

typedef int taking(struct td_gpio_board *board, const struct share *share);

/* Takes `first` ... `end` - 1 of the plan, chip by chip. */
static int take_each(struct td_gpio_board *board, const struct plan *plan, unsigned first, unsigned end,
		     taking *take, struct td_error *err)
{
	for (unsigned chip = 0; chip < board->chips.count; chip++) {
		struct share share;

		share_out(plan, chip, first, end, &share);
		int result = share.count > 0 ? take(board, &share) : 0;

		if (result != 0)
			return td_gpio_blame(&board->chips, plan->request->file, share.wanted, share.spot,
					     share.count, result, err);
	}
	return 0;
}

static int take_all(struct td_gpio_board *board, const struct plan *plan, struct td_error *err)
{
	if (take_each(board, plan, 0, plan->inputs_from, take_outputs, err) < 0 ||
	    take_each(board, plan, plan->inputs_from, plan->heart_from, take_inputs, err) < 0)
		return -1;
	return take_each(board, plan, plan->heart_from, plan->count, take_heart, err);
}

/* --- open ----------------------------------------------------------------------------------------- */

static uint32_t mask_of(unsigned count)
{
	return count >= 32 ? UINT32_MAX : (UINT32_C(1) << count) - 1;
}

static int open_board(struct td_gpio_board *board, const struct td_lines_gpio_request *request,
		      struct td_error *err)
{
	struct plan plan = {0};
	int result;

	td_gpio_chips_open(&board->chips);
	if (find_all(&plan, request, &board->chips, err) < 0 || take_all(board, &plan, err) < 0)
		return -1;
	board->base.outputs = mask_of(request->outputs);
	board->base.inputs = mask_of(request->inputs);
	board->base.beats = plan.heart_from < plan.count;
	result = td_gpio_wake_open(board, request->poll_ns);
	if (result < 0)
		return td_error_set(err,
				    "the GPIO lines cannot be waited for: %s; raise the limit of descriptors "
				    "or of inotify watches of this user",
				    strerror(-result));
	return 0;
}

struct td_lines *td_lines_gpio_open(const struct td_lines_gpio_request *request, struct td_error *err)
{
	struct td_gpio_board *board = calloc(1, sizeof(*board));

	if (!board) {
		td_error_set(err, "no memory for the GPIO lines");
		return NULL;
	}
	board->base.ops = &td_gpio_ops;
	board->wake = board->timer = board->watch = board->more = -1;
	if (open_board(board, request, err) == 0)
		return &board->base;
	board->base.ops->close(&board->base);
	return NULL;
}

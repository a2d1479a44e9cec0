/* SPDX-License-Identifier: MIT */
/* Takes the lines of a configuration: finds them, then requests them chip by chip, outputs first. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lines/gpio_board.h"

/* All lines wanted, outputs then inputs, and where they are. */
struct plan {
	const struct td_lines_gpio_request *request;
	unsigned count;
	struct td_gpio_spot spot[TD_GPIO_OUTPUTS_MAX + TD_SWITCHES_MAX];
};

static const struct td_gpio_wanted *wanted_of(const struct plan *plan, unsigned i)
{
	unsigned outputs = plan->request->outputs;

	return i < outputs ? &plan->request->output[i] : &plan->request->input[i - outputs];
}

/* The lines of one direction on one chip. */
struct share {
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

static int find_all(struct plan *plan, const struct td_lines_gpio_request *request,
		    const struct td_gpio_chips *chips, struct td_error *err)
{
	plan->request = request;
	plan->count = (unsigned)(request->outputs + request->inputs);
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
	held->count = share->count;
	memcpy(held->bit, share->bit, sizeof(held->bit));
}

static int take_outputs(struct td_gpio_board *board, unsigned chip, const struct share *share)
{
	struct td_gpio_held *held = &board->output[board->output_groups];
	int result =
		td_gpio_take_outputs(board->chips.at[chip].chip, share->offset, share->count, &held->group);

	if (result < 0)
		return result;
	hold(held, share);
	board->output_groups++;
	return 0;
}

static void say_polled(const struct td_gpio_board *board, unsigned chip, int error)
{
	(void)fprintf(
		stderr, "%s (\"%s\") reports no edges (%s): its switches are read at intervals instead\n",
		board->chips.at[chip].path, td_gpio_chip_label(board->chips.at[chip].chip), strerror(-error));
}

/* The kernel answers the same error for "no interrupt here" as for worse things, so a second request
 * without edges decides. */
static int take_inputs(struct td_gpio_board *board, unsigned chip, const struct share *share)
{
	struct td_gpio_held *held = &board->input[board->input_groups];
	struct td_gpio_chip *at = board->chips.at[chip].chip;
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
	say_polled(board, chip, with_edges);
	return td_gpio_read(held->group, &held->known);
}

static int take_share(struct td_gpio_board *board, const struct plan *plan, unsigned chip, bool outputs,
		      struct td_error *err)
{
	unsigned middle = plan->request->outputs;
	struct share share;
	int result = 0;

	share_out(plan, chip, outputs ? 0 : middle, outputs ? middle : plan->count, &share);
	if (share.count == 0)
		return 0;
	result = outputs ? take_outputs(board, chip, &share) : take_inputs(board, chip, &share);
	if (result == 0)
		return 0;
	return td_gpio_blame(&board->chips, plan->request->file, share.wanted, share.spot, share.count,
			     result, err);
}

static int take_all(struct td_gpio_board *board, const struct plan *plan, struct td_error *err)
{
	for (unsigned chip = 0; chip < board->chips.count; chip++)
		if (take_share(board, plan, chip, true, err) < 0)
			return -1;
	for (unsigned chip = 0; chip < board->chips.count; chip++)
		if (take_share(board, plan, chip, false, err) < 0)
			return -1;
	return 0;
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

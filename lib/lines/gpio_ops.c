/* SPDX-License-Identifier: MIT */
/* The seam's calls on held lines. */
#include <stdlib.h>

#include "lines/gpio_board.h"

static struct td_gpio_board *board_of(struct td_lines *lines)
{
	return (struct td_gpio_board *)lines;
}

/* From the seam's word to the bits of a group. */
static uint32_t to_group(const struct td_gpio_held *held, uint32_t word)
{
	uint32_t bits = 0;

	for (unsigned i = 0; i < held->count; i++)
		bits |= (word >> held->bit[i] & 1) << i;
	return bits;
}

static uint32_t from_group(const struct td_gpio_held *held, uint32_t bits)
{
	uint32_t word = 0;

	for (unsigned i = 0; i < held->count; i++)
		word |= (bits >> i & 1) << held->bit[i];
	return word;
}

/* Writes the same level to the lines of `mask`, on every chip even if one fails: the first error. */
static int write_all(struct td_gpio_board *board, uint32_t mask, uint32_t levels)
{
	int first = 0;

	for (unsigned i = 0; i < board->output_groups; i++) {
		struct td_gpio_held *held = &board->output[i];
		uint32_t bits = to_group(held, mask);
		int result = bits ? td_gpio_write(held->group, bits, to_group(held, levels)) : 0;

		if (result < 0 && first == 0)
			first = td_gpio_lines_error(result);
	}
	return first;
}

/* Nothing goes high after a write that should have made something low has failed. */
static int set(struct td_lines *lines, uint32_t mask, uint32_t levels)
{
	struct td_gpio_board *board = board_of(lines);
	uint32_t ours = mask & lines->outputs;
	int result = write_all(board, ours & ~levels, 0);

	if (result == 0)
		result = write_all(board, ours & levels, levels);
	return result;
}

static int get(struct td_lines *lines, uint32_t *levels)
{
	struct td_gpio_board *board = board_of(lines);
	uint32_t word = 0;

	for (unsigned i = 0; i < board->input_groups; i++) {
		uint32_t bits;
		int result = td_gpio_read(board->input[i].group, &bits);

		if (result < 0)
			return td_gpio_lines_error(result);
		word |= from_group(&board->input[i], bits);
	}
	*levels = word;
	return 0;
}

static int next_edge(struct td_lines *lines, struct td_lines_edge *edge)
{
	struct td_gpio_board *board = board_of(lines);

	if (board->gone)
		return TD_LINES_GONE;
	if (board->head == board->tail) {
		int result = td_gpio_wake_drain(board);

		if (result < 0)
			return result;
	}
	if (board->head == board->tail)
		return 0;
	*edge = board->queue[board->head++];
	td_gpio_wake_more(board);
	return 1;
}

static int fds(struct td_lines *lines, int fds[TD_LINES_FDS_MAX])
{
	fds[0] = board_of(lines)->wake;
	return 1;
}

static int beat(struct td_lines *lines, int high)
{
	int result = td_gpio_write(board_of(lines)->heart.group, 1, high ? 1 : 0);

	return result < 0 ? td_gpio_lines_error(result) : 0;
}

static void release(struct td_gpio_held *held, unsigned *count)
{
	while (*count > 0)
		td_gpio_release(held[--*count].group);
}

static void abandon(struct td_lines *lines)
{
	struct td_gpio_board *board = board_of(lines);

	td_gpio_wake_close(board);
	release(board->input, &board->input_groups);
	release(board->output, &board->output_groups);
	release(&board->heart, &board->heart_groups);
	td_gpio_chips_close(&board->chips);
	free(board);
}

static void close_lines(struct td_lines *lines)
{
	(void)td_lines_all_low(lines);
	abandon(lines);
}

const struct td_lines_ops td_gpio_ops = {
	.set = set,
	.get = get,
	.next_edge = next_edge,
	.fds = fds,
	.beat = beat,
	.abandon = abandon,
	.close = close_lines,
};

static bool holds(const struct td_gpio_held *held, unsigned bit, unsigned *index)
{
	for (*index = 0; *index < held->count; (*index)++)
		if (held->bit[*index] == bit)
			return true;
	return false;
}

static struct td_gpio_where where(const struct td_gpio_board *board, const struct td_gpio_held *held,
				  unsigned index)
{
	return (struct td_gpio_where){td_gpio_chip_label(board->chips.at[held->chip].chip),
				      held->offset[index]};
}

struct td_gpio_where td_lines_gpio_where(const struct td_lines *lines, unsigned output)
{
	const struct td_gpio_board *board = (const struct td_gpio_board *)lines;
	unsigned index;

	if (output == TD_GPIO_HEARTBEAT && board->heart_groups > 0)
		return where(board, &board->heart, 0);
	for (unsigned i = 0; i < board->output_groups; i++)
		if (holds(&board->output[i], output, &index))
			return where(board, &board->output[i], index);
	return (struct td_gpio_where){NULL, 0};
}

static bool answers(const struct td_gpio_held *held)
{
	uint32_t levels;

	return td_gpio_read(held->group, &levels) >= 0;
}

const char *td_lines_gpio_lost(const struct td_lines *lines)
{
	const struct td_gpio_board *board = (const struct td_gpio_board *)lines;
	const struct td_gpio_held *lost = NULL;

	for (unsigned i = 0; i < board->output_groups && !lost; i++)
		lost = answers(&board->output[i]) ? NULL : &board->output[i];
	for (unsigned i = 0; i < board->input_groups && !lost; i++)
		lost = answers(&board->input[i]) ? NULL : &board->input[i];
	if (!lost && board->heart_groups > 0 && !answers(&board->heart))
		lost = &board->heart;
	return lost ? td_gpio_chip_label(board->chips.at[lost->chip].chip) : NULL;
}

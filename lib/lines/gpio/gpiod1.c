/* SPDX-License-Identifier: MIT */
/*
 * The chip seam on libgpiod 1.6, which speaks the kernel's first line interface: a write always covers
 * all lines of a request, so the levels written last are kept here; every input with edges has its own
 * descriptor and a queue of 16 edges that drops newer ones without a mark.
 */
#include "lines/gpio_chip.h"

#include <errno.h>
#include <fcntl.h>
#include <gpiod.h>
#include <stdio.h>
#include <stdlib.h>

enum { KERNEL_QUEUE = 16 };

struct td_gpio_chip {
	struct gpiod_chip *chip;
};

struct td_gpio_group {
	struct gpiod_line *line[TD_GPIO_GROUP_MAX];
	unsigned count; /* lines that are requested */
	bool output;
	bool edges;
	uint32_t written; /* outputs: what stands there */
	uint32_t seen;    /* inputs: bit set = an edge of the line was seen */
	uint32_t last;    /* inputs: and it was a rising one */
};

static int failure(void)
{
	return errno > 0 ? -errno : -EIO;
}

int td_gpio_chip_open(const char *path, struct td_gpio_chip **chip)
{
	struct td_gpio_chip *new = calloc(1, sizeof(*new));

	if (!new)
		return -ENOMEM;
	new->chip = gpiod_chip_open(path);
	if (!new->chip) {
		int result = failure();

		free(new);
		return result;
	}
	*chip = new;
	return 0;
}

void td_gpio_chip_close(struct td_gpio_chip *chip)
{
	if (!chip)
		return;
	gpiod_chip_close(chip->chip);
	free(chip);
}

const char *td_gpio_chip_label(const struct td_gpio_chip *chip)
{
	return gpiod_chip_label(chip->chip);
}

uint32_t td_gpio_chip_lines(const struct td_gpio_chip *chip)
{
	return gpiod_chip_num_lines(chip->chip);
}

int td_gpio_chip_line(struct td_gpio_chip *chip, uint32_t offset, struct td_gpio_line_info *info)
{
	struct gpiod_line *line = gpiod_chip_get_line(chip->chip, offset);

	/* The library keeps what it read first; who holds a line may have changed since. */
	if (!line || gpiod_line_update(line) < 0)
		return failure();
	const char *name = gpiod_line_name(line);
	const char *consumer = gpiod_line_consumer(line);

	(void)snprintf(info->name, sizeof(info->name), "%s", name ? name : "");
	(void)snprintf(info->consumer, sizeof(info->consumer), "%s", consumer ? consumer : "");
	info->used = gpiod_line_is_used(line);
	return 0;
}

/* --- requests ------------------------------------------------------------------------------------- */

static struct td_gpio_group *new_group(struct td_gpio_chip *chip, const uint32_t *offsets, unsigned count)
{
	struct td_gpio_group *group = count <= TD_GPIO_GROUP_MAX ? calloc(1, sizeof(*group)) : NULL;

	for (unsigned i = 0; group && i < count; i++) {
		group->line[i] = gpiod_chip_get_line(chip->chip, offsets[i]);
		if (!group->line[i]) {
			free(group);
			return NULL;
		}
	}
	return group;
}

static void bulk_of(const struct td_gpio_group *group, unsigned count, struct gpiod_line_bulk *bulk)
{
	gpiod_line_bulk_init(bulk);
	for (unsigned i = 0; i < count; i++)
		gpiod_line_bulk_add(bulk, group->line[i]);
}

int td_gpio_take_outputs(struct td_gpio_chip *chip, const uint32_t *offsets, unsigned count,
			 struct td_gpio_group **group)
{
	static const int low[TD_GPIO_GROUP_MAX];
	struct td_gpio_group *new = new_group(chip, offsets, count);
	struct gpiod_line_bulk bulk;

	if (!new)
		return failure();
	bulk_of(new, count, &bulk);
	if (gpiod_line_request_bulk_output(&bulk, TD_GPIO_CONSUMER, low) < 0) {
		int result = failure();

		td_gpio_release(new);
		return result;
	}
	new->count = count;
	new->output = true;
	*group = new;
	return 0;
}

static int flags_of(enum td_gpio_bias bias)
{
	switch (bias) {
	case TD_GPIO_PULL_UP: return GPIOD_LINE_REQUEST_FLAG_BIAS_PULL_UP;
	case TD_GPIO_PULL_DOWN: return GPIOD_LINE_REQUEST_FLAG_BIAS_PULL_DOWN;
	case TD_GPIO_AS_IS: break;
	}
	return 0;
}

static int take_input(struct gpiod_line *line, enum td_gpio_bias bias, bool edges)
{
	struct gpiod_line_request_config config = {
		.consumer = TD_GPIO_CONSUMER,
		.request_type =
			edges ? GPIOD_LINE_REQUEST_EVENT_BOTH_EDGES : GPIOD_LINE_REQUEST_DIRECTION_INPUT,
		.flags = flags_of(bias),
	};

	if (gpiod_line_request(line, &config, 0) < 0)
		return failure();
	if (!edges)
		return 0;
	int fd = gpiod_line_event_get_fd(line);
	int flags = fcntl(fd, F_GETFL);

	if (flags >= 0 && fcntl(fd, F_SETFL, flags | O_NONBLOCK) == 0)
		return 0;
	int result = failure();

	gpiod_line_release(line);
	return result;
}

int td_gpio_take_inputs(struct td_gpio_chip *chip, const uint32_t *offsets, const enum td_gpio_bias *biases,
			unsigned count, bool edges, struct td_gpio_group **group)
{
	struct td_gpio_group *new = new_group(chip, offsets, count);
	int result = 0;

	if (!new)
		return failure();
	while (result == 0 && new->count < count) {
		result = take_input(new->line[new->count], biases[new->count], edges);
		if (result == 0)
			new->count++;
	}
	if (result < 0) {
		td_gpio_release(new);
		return result;
	}
	new->edges = edges;
	*group = new;
	return 0;
}

void td_gpio_release(struct td_gpio_group *group)
{
	if (!group)
		return;
	for (unsigned i = 0; i < group->count; i++)
		gpiod_line_release(group->line[i]);
	free(group);
}

/* --- levels and edges ----------------------------------------------------------------------------- */

int td_gpio_write(struct td_gpio_group *group, uint32_t mask, uint32_t levels)
{
	uint32_t next = (group->written & ~mask) | (levels & mask);
	int values[TD_GPIO_GROUP_MAX];
	struct gpiod_line_bulk bulk;

	bulk_of(group, group->count, &bulk);
	for (unsigned i = 0; i < group->count; i++)
		values[i] = (int)(next >> i & 1);
	if (gpiod_line_set_value_bulk(&bulk, values) < 0)
		return failure();
	group->written = next;
	return 0;
}

/* The outputs of a group are one request, and only a read of all of them tells them apart. */
static int read_outputs(struct td_gpio_group *group, int *values)
{
	struct gpiod_line_bulk bulk;

	bulk_of(group, group->count, &bulk);
	return gpiod_line_get_value_bulk(&bulk, values);
}

/* Each input is a request of its own. */
static int read_inputs(struct td_gpio_group *group, int *values)
{
	for (unsigned i = 0; i < group->count; i++) {
		values[i] = gpiod_line_get_value(group->line[i]);
		if (values[i] < 0)
			return -1;
	}
	return 0;
}

int td_gpio_read(struct td_gpio_group *group, uint32_t *levels)
{
	int values[TD_GPIO_GROUP_MAX];

	if ((group->output ? read_outputs(group, values) : read_inputs(group, values)) < 0)
		return failure();
	*levels = 0;
	for (unsigned i = 0; i < group->count; i++)
		*levels |= values[i] ? UINT32_C(1) << i : 0;
	return 0;
}

unsigned td_gpio_edge_fds(const struct td_gpio_group *group)
{
	return group->edges ? group->count : 0;
}

int td_gpio_edge_fd(const struct td_gpio_group *group, unsigned which)
{
	return gpiod_line_event_get_fd(group->line[which]);
}

/* Two edges the same way: one between them is missing. */
static bool same_way_again(struct td_gpio_group *group, unsigned index, bool high)
{
	uint32_t bit = UINT32_C(1) << index;
	bool again = (group->seen & bit) && high == ((group->last & bit) != 0);

	group->seen |= bit;
	group->last = high ? group->last | bit : group->last & ~bit;
	return again;
}

int td_gpio_take_edges(struct td_gpio_group *group, unsigned which, struct td_gpio_edge *edges)
{
	struct gpiod_line_event events[KERNEL_QUEUE];
	int count = gpiod_line_event_read_fd_multiple(td_gpio_edge_fd(group, which), events, KERNEL_QUEUE);

	if (count < 0)
		return errno == EAGAIN || errno == EINTR ? 0 : failure();
	for (int i = 0; i < count; i++) {
		bool high = events[i].event_type == GPIOD_LINE_EVENT_RISING_EDGE;

		edges[i] = (struct td_gpio_edge){
			.at_ns = TD_S(events[i].ts.tv_sec) + events[i].ts.tv_nsec,
			.index = (uint8_t)which,
			.high = high,
			.lost = same_way_again(group, which, high),
		};
	}
	if (count == KERNEL_QUEUE)
		edges[count - 1].lost = true;
	return count;
}

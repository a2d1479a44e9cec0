/* SPDX-License-Identifier: MIT */
/* The chip seam on libgpiod 2: one descriptor a group, edges numbered by the kernel. */
#include "lines/gpio_chip.h"

#include <errno.h>
#include <fcntl.h>
#include <gpiod.h>
#include <stdio.h>
#include <stdlib.h>

enum { KERNEL_BUFFER = 1024 }; /* edges; the kernel's own upper bound for a request */

struct td_gpio_chip {
	struct gpiod_chip *chip;
	struct gpiod_chip_info *info;
};

struct td_gpio_group {
	struct gpiod_line_request *request;
	struct gpiod_edge_event_buffer *buffer;
	unsigned count;
	unsigned edge_fds;
	unsigned offsets[TD_GPIO_GROUP_MAX];
	uint32_t last_seqno[TD_GPIO_GROUP_MAX];
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
	if (new->chip)
		new->info = gpiod_chip_get_info(new->chip);
	if (!new->info) {
		int result = failure();

		td_gpio_chip_close(new);
		return result;
	}
	*chip = new;
	return 0;
}

void td_gpio_chip_close(struct td_gpio_chip *chip)
{
	if (!chip)
		return;
	if (chip->info)
		gpiod_chip_info_free(chip->info);
	if (chip->chip)
		gpiod_chip_close(chip->chip);
	free(chip);
}

const char *td_gpio_chip_label(const struct td_gpio_chip *chip)
{
	return gpiod_chip_info_get_label(chip->info);
}

uint32_t td_gpio_chip_lines(const struct td_gpio_chip *chip)
{
	return (uint32_t)gpiod_chip_info_get_num_lines(chip->info);
}

int td_gpio_chip_line(struct td_gpio_chip *chip, uint32_t offset, struct td_gpio_line_info *info)
{
	struct gpiod_line_info *line = gpiod_chip_get_line_info(chip->chip, offset);

	if (!line)
		return failure();
	const char *name = gpiod_line_info_get_name(line);
	const char *consumer = gpiod_line_info_get_consumer(line);

	(void)snprintf(info->name, sizeof(info->name), "%s", name ? name : "");
	(void)snprintf(info->consumer, sizeof(info->consumer), "%s", consumer ? consumer : "");
	info->used = gpiod_line_info_is_used(line);
	gpiod_line_info_free(line);
	return 0;
}

/* --- requests ------------------------------------------------------------------------------------- */

static struct td_gpio_group *new_group(const uint32_t *offsets, unsigned count)
{
	struct td_gpio_group *group = count <= TD_GPIO_GROUP_MAX ? calloc(1, sizeof(*group)) : NULL;

	if (!group)
		return NULL;
	group->count = count;
	for (unsigned i = 0; i < count; i++)
		group->offsets[i] = offsets[i];
	return group;
}

static enum gpiod_line_bias bias_of(enum td_gpio_bias bias)
{
	switch (bias) {
	case TD_GPIO_PULL_UP: return GPIOD_LINE_BIAS_PULL_UP;
	case TD_GPIO_PULL_DOWN: return GPIOD_LINE_BIAS_PULL_DOWN;
	case TD_GPIO_AS_IS: break;
	}
	return GPIOD_LINE_BIAS_AS_IS;
}

static int describe_output(struct gpiod_line_settings *settings)
{
	if (gpiod_line_settings_set_direction(settings, GPIOD_LINE_DIRECTION_OUTPUT) < 0)
		return -1;
	return gpiod_line_settings_set_output_value(settings, GPIOD_LINE_VALUE_INACTIVE);
}

static int describe_input(struct gpiod_line_settings *settings, enum td_gpio_bias bias, bool edges)
{
	if (gpiod_line_settings_set_direction(settings, GPIOD_LINE_DIRECTION_INPUT) < 0)
		return -1;
	if (gpiod_line_settings_set_bias(settings, bias_of(bias)) < 0)
		return -1;
	if (!edges)
		return 0;
	if (gpiod_line_settings_set_event_clock(settings, GPIOD_LINE_CLOCK_MONOTONIC) < 0)
		return -1;
	return gpiod_line_settings_set_edge_detection(settings, GPIOD_LINE_EDGE_BOTH);
}

/* `biases` NULL: outputs. */
static int describe(struct gpiod_line_config *config, struct gpiod_line_settings *settings,
		    const struct td_gpio_group *group, const enum td_gpio_bias *biases, bool edges)
{
	for (unsigned i = 0; i < group->count; i++) {
		int result = biases ? describe_input(settings, biases[i], edges) : describe_output(settings);

		if (result == 0)
			result = gpiod_line_config_add_line_settings(config, &group->offsets[i], 1, settings);
		if (result < 0)
			return -1;
	}
	return 0;
}

static struct gpiod_line_request *ask(struct td_gpio_chip *chip, const struct td_gpio_group *group,
				      const enum td_gpio_bias *biases, bool edges)
{
	struct gpiod_request_config *how = gpiod_request_config_new();
	struct gpiod_line_config *config = gpiod_line_config_new();
	struct gpiod_line_settings *settings = gpiod_line_settings_new();
	struct gpiod_line_request *request = NULL;

	if (how && config && settings && describe(config, settings, group, biases, edges) == 0) {
		gpiod_request_config_set_consumer(how, TD_GPIO_CONSUMER);
		gpiod_request_config_set_event_buffer_size(how, edges ? KERNEL_BUFFER : 0);
		request = gpiod_chip_request_lines(chip->chip, how, config);
	}
	int saved = errno;

	gpiod_line_settings_free(settings);
	gpiod_line_config_free(config);
	gpiod_request_config_free(how);
	errno = saved;
	return request;
}

static int listen_for_edges(struct td_gpio_group *group)
{
	int fd = gpiod_line_request_get_fd(group->request);
	int flags = fcntl(fd, F_GETFL);

	group->buffer = gpiod_edge_event_buffer_new(TD_GPIO_BURST);
	if (!group->buffer || flags < 0 || fcntl(fd, F_SETFL, flags | O_NONBLOCK) < 0)
		return -1;
	group->edge_fds = 1;
	return 0;
}

static int take(struct td_gpio_chip *chip, struct td_gpio_group *new, const enum td_gpio_bias *biases,
		bool edges, struct td_gpio_group **group)
{
	if (!new)
		return -ENOMEM;
	new->request = ask(chip, new, biases, edges);
	if (!new->request || (edges && listen_for_edges(new) < 0)) {
		int result = failure();

		td_gpio_release(new);
		return result;
	}
	*group = new;
	return 0;
}

int td_gpio_take_outputs(struct td_gpio_chip *chip, const uint32_t *offsets, unsigned count,
			 struct td_gpio_group **group)
{
	return take(chip, new_group(offsets, count), NULL, false, group);
}

int td_gpio_take_inputs(struct td_gpio_chip *chip, const uint32_t *offsets, const enum td_gpio_bias *biases,
			unsigned count, bool edges, struct td_gpio_group **group)
{
	return take(chip, new_group(offsets, count), biases, edges, group);
}

void td_gpio_release(struct td_gpio_group *group)
{
	if (!group)
		return;
	if (group->buffer)
		gpiod_edge_event_buffer_free(group->buffer);
	if (group->request)
		gpiod_line_request_release(group->request);
	free(group);
}

/* --- levels and edges ----------------------------------------------------------------------------- */

int td_gpio_write(struct td_gpio_group *group, uint32_t mask, uint32_t levels)
{
	unsigned offsets[TD_GPIO_GROUP_MAX];
	enum gpiod_line_value values[TD_GPIO_GROUP_MAX];
	size_t count = 0;

	for (unsigned i = 0; i < group->count; i++) {
		if (!(mask >> i & 1))
			continue;
		offsets[count] = group->offsets[i];
		values[count++] = levels >> i & 1 ? GPIOD_LINE_VALUE_ACTIVE : GPIOD_LINE_VALUE_INACTIVE;
	}
	if (count == 0)
		return 0;
	return gpiod_line_request_set_values_subset(group->request, count, offsets, values) < 0 ? failure()
												: 0;
}

int td_gpio_read(struct td_gpio_group *group, uint32_t *levels)
{
	enum gpiod_line_value values[TD_GPIO_GROUP_MAX];

	if (gpiod_line_request_get_values(group->request, values) < 0)
		return failure();
	*levels = 0;
	for (unsigned i = 0; i < group->count; i++)
		*levels |= values[i] == GPIOD_LINE_VALUE_ACTIVE ? UINT32_C(1) << i : 0;
	return 0;
}

unsigned td_gpio_edge_fds(const struct td_gpio_group *group)
{
	return group->edge_fds;
}

int td_gpio_edge_fd(const struct td_gpio_group *group, unsigned which)
{
	(void)which;
	return gpiod_line_request_get_fd(group->request);
}

static unsigned index_of(const struct td_gpio_group *group, unsigned offset)
{
	unsigned i = 0;

	while (i < group->count && group->offsets[i] != offset)
		i++;
	return i;
}

/* A line's edges are numbered from 1; the number wraps at 32 bits in the kernel. */
static bool gap(struct td_gpio_group *group, unsigned index, unsigned long seqno)
{
	bool lost = (uint32_t)seqno != group->last_seqno[index] + 1;

	group->last_seqno[index] = (uint32_t)seqno;
	return lost;
}

int td_gpio_take_edges(struct td_gpio_group *group, unsigned which, struct td_gpio_edge *edges)
{
	int count = gpiod_line_request_read_edge_events(group->request, group->buffer, TD_GPIO_BURST);
	int taken = 0;

	(void)which;
	if (count < 0)
		return errno == EAGAIN || errno == EINTR ? 0 : failure();
	for (int i = 0; i < count; i++) {
		struct gpiod_edge_event *event =
			gpiod_edge_event_buffer_get_event(group->buffer, (unsigned long)i);
		unsigned index = index_of(group, gpiod_edge_event_get_line_offset(event));

		if (index == group->count)
			return -EPROTO;
		edges[taken++] = (struct td_gpio_edge){
			.at_ns = (td_ns)gpiod_edge_event_get_timestamp_ns(event),
			.index = (uint8_t)index,
			.high = gpiod_edge_event_get_event_type(event) == GPIOD_EDGE_EVENT_RISING_EDGE,
			.lost = gap(group, index, gpiod_edge_event_get_line_seqno(event)),
		};
	}
	return taken;
}

/* SPDX-License-Identifier: MIT */
#include "tests/support/gpio_fake.h"

#include <assert.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

enum { EDGES_MAX = 128 };

struct td_gpio_chip {
	unsigned number;
};

struct td_gpio_group {
	unsigned chip;
	unsigned count;
	uint32_t offset[TD_GPIO_GROUP_MAX];
	int fd; /* readable while edges wait; -1 = without edges */
	unsigned edges;
	struct td_gpio_edge edge[EDGES_MAX];
};

struct fake_gpio fake;
static struct td_gpio_group *groups[FAKE_CHIPS_MAX * 2];

void fake_reset(void)
{
	assert(fake.open_chips == 0 && fake.open_groups == 0);
	memset(&fake, 0, sizeof(fake));
	fake.chips = 2;
	(void)snprintf(fake.chip[0].label, TD_GPIO_TEXT_MAX, "cart");
	fake.chip[0].lines = 32;
	fake_name(0, 4, "boom-top");
	(void)snprintf(fake.chip[1].label, TD_GPIO_TEXT_MAX, "mast");
	fake.chip[1].lines = 8;
}

void fake_name(unsigned chip, unsigned offset, const char *name)
{
	(void)snprintf(fake.chip[chip].line[offset].name, TD_GPIO_TEXT_MAX, "%s", name);
}

void fake_hold(unsigned chip, unsigned offset, const char *who)
{
	(void)snprintf(fake.chip[chip].line[offset].holder, TD_GPIO_TEXT_MAX, "%s", who);
}

/* Every call that can fail passes here. */
static int fault(enum fake_call call, unsigned chip)
{
	fake.calls++;
	if (fake.fail_at && (fake.calls == fake.fail_at || (fake.fail_on && fake.calls > fake.fail_at))) {
		fake.failed++;
		fake.failed_in = call;
		return fake.fail_with;
	}
	return fake.chip[chip].gone ? -ENODEV : 0;
}

/* --- chips ---------------------------------------------------------------------------------------- */

size_t td_gpio_chip_paths(char paths[TD_GPIO_CHIPS_MAX][TD_GPIO_PATH_MAX])
{
	for (unsigned i = 0; i < fake.chips; i++)
		(void)snprintf(paths[i], TD_GPIO_PATH_MAX, "/dev/gpiochip%u", i);
	return fake.chips;
}

int td_gpio_chip_open(const char *path, struct td_gpio_chip **chip)
{
	unsigned number = (unsigned)strtoul(path + strlen("/dev/gpiochip"), NULL, 10);
	int result = fault(FAKE_OPEN, number);

	assert(number < fake.chips);
	if (result == 0)
		result = fake.chip[number].refuses;
	if (result < 0)
		return result;
	*chip = calloc(1, sizeof(**chip));
	assert(*chip);
	(*chip)->number = number;
	fake.open_chips++;
	return 0;
}

void td_gpio_chip_close(struct td_gpio_chip *chip)
{
	if (!chip)
		return;
	for (unsigned i = 0; i < FAKE_CHIPS_MAX * 2; i++)
		assert(!groups[i] || groups[i]->chip != chip->number);
	fake.open_chips--;
	free(chip);
}

const char *td_gpio_chip_label(const struct td_gpio_chip *chip)
{
	return fake.chip[chip->number].label;
}

uint32_t td_gpio_chip_lines(const struct td_gpio_chip *chip)
{
	return fake.chip[chip->number].lines;
}

int td_gpio_chip_line(struct td_gpio_chip *chip, uint32_t offset, struct td_gpio_line_info *info)
{
	const struct fake_line *line = &fake.chip[chip->number].line[offset];
	int result = fault(FAKE_LINE, chip->number);

	assert(offset < fake.chip[chip->number].lines);
	if (result < 0)
		return result;
	memcpy(info->name, line->name, sizeof(info->name));
	memcpy(info->consumer, line->holder, sizeof(info->consumer));
	info->used = line->holder[0] != '\0';
	return 0;
}

/* --- groups --------------------------------------------------------------------------------------- */

static int check_free(const struct fake_chip *chip, const uint32_t *offsets, unsigned count)
{
	assert(count > 0 && count <= TD_GPIO_GROUP_MAX);
	for (unsigned i = 0; i < count; i++) {
		assert(offsets[i] < chip->lines);
		if (chip->line[offsets[i]].holder[0])
			return -EBUSY;
	}
	return 0;
}

static struct td_gpio_group *take(unsigned chip, const uint32_t *offsets, unsigned count)
{
	struct td_gpio_group *group = calloc(1, sizeof(*group));
	unsigned slot = 0;

	assert(group);
	group->chip = chip;
	group->count = count;
	group->fd = -1;
	for (unsigned i = 0; i < count; i++) {
		group->offset[i] = offsets[i];
		fake_hold(chip, offsets[i], TD_GPIO_CONSUMER);
	}
	while (groups[slot])
		slot++;
	groups[slot] = group;
	fake.open_groups++;
	return group;
}

int td_gpio_take_outputs(struct td_gpio_chip *chip, const uint32_t *offsets, unsigned count,
			 struct td_gpio_group **group)
{
	int result = fault(FAKE_OUTPUTS, chip->number);

	if (result == 0)
		result = check_free(&fake.chip[chip->number], offsets, count);
	if (result < 0)
		return result;
	*group = take(chip->number, offsets, count);
	for (unsigned i = 0; i < count; i++) {
		fake.chip[chip->number].line[offsets[i]].level = false;
		fake.chip[chip->number].line[offsets[i]].was_output = true;
	}
	return 0;
}

int td_gpio_take_inputs(struct td_gpio_chip *chip, const uint32_t *offsets, const enum td_gpio_bias *biases,
			unsigned count, bool edges, struct td_gpio_group **group)
{
	struct fake_chip *at = &fake.chip[chip->number];
	int result = fault(FAKE_INPUTS, chip->number);

	if (result == 0)
		result = check_free(at, offsets, count);
	if (result == 0 && edges && at->deaf)
		result = -ENODEV;
	if (result < 0)
		return result;
	*group = take(chip->number, offsets, count);
	for (unsigned i = 0; i < count; i++) {
		at->line[offsets[i]].bias = biases[i];
		if (biases[i] != TD_GPIO_AS_IS)
			at->line[offsets[i]].level = biases[i] == TD_GPIO_PULL_UP;
	}
	if (edges)
		(*group)->fd = eventfd(0, EFD_NONBLOCK);
	return 0;
}

void td_gpio_release(struct td_gpio_group *group)
{
	if (!group)
		return;
	for (unsigned i = 0; i < group->count; i++)
		fake.chip[group->chip].line[group->offset[i]].holder[0] = '\0';
	for (unsigned i = 0; i < FAKE_CHIPS_MAX * 2; i++)
		if (groups[i] == group)
			groups[i] = NULL;
	if (group->fd >= 0)
		close(group->fd);
	fake.open_groups--;
	free(group);
}

int td_gpio_write(struct td_gpio_group *group, uint32_t mask, uint32_t levels)
{
	int result = fault(FAKE_WRITE, group->chip);

	assert(mask && group->fd < 0);
	if (result < 0)
		return result;
	assert(fake.writes < FAKE_WRITES_MAX);
	fake.write[fake.writes++] = (struct fake_write){group->chip, mask, levels};
	for (unsigned i = 0; i < group->count; i++)
		if (mask >> i & 1)
			fake.chip[group->chip].line[group->offset[i]].level = levels >> i & 1;
	return 0;
}

int td_gpio_read(struct td_gpio_group *group, uint32_t *levels)
{
	int result = fault(FAKE_READ, group->chip);

	if (result < 0)
		return result;
	*levels = 0;
	for (unsigned i = 0; i < group->count; i++)
		*levels |= (uint32_t)fake.chip[group->chip].line[group->offset[i]].level << i;
	return 0;
}

unsigned td_gpio_edge_fds(const struct td_gpio_group *group)
{
	return group->fd >= 0;
}

int td_gpio_edge_fd(const struct td_gpio_group *group, unsigned which)
{
	assert(which == 0);
	return group->fd;
}

int td_gpio_take_edges(struct td_gpio_group *group, unsigned which, struct td_gpio_edge *edges)
{
	unsigned taken = group->edges < TD_GPIO_BURST ? group->edges : TD_GPIO_BURST;
	int result = fault(FAKE_EDGES, group->chip);
	eventfd_t ignored;

	assert(which == 0 && group->fd >= 0);
	if (result < 0)
		return result;
	memcpy(edges, group->edge, taken * sizeof(*edges));
	group->edges -= taken;
	memmove(group->edge, group->edge + taken, group->edges * sizeof(*edges));
	if (group->edges == 0)
		(void)eventfd_read(group->fd, &ignored);
	return (int)taken;
}

void fake_edge(unsigned chip, unsigned offset, bool high, td_ns at_ns, bool lost)
{
	fake.chip[chip].line[offset].level = high;
	for (unsigned i = 0; i < FAKE_CHIPS_MAX * 2; i++) {
		struct td_gpio_group *group = groups[i];

		if (!group || group->chip != chip || group->fd < 0)
			continue;
		for (unsigned n = 0; n < group->count; n++) {
			if (group->offset[n] != offset)
				continue;
			assert(group->edges < EDGES_MAX);
			group->edge[group->edges++] = (struct td_gpio_edge){
				.at_ns = at_ns, .index = (uint8_t)n, .high = high, .lost = lost};
			(void)eventfd_write(group->fd, 1);
		}
	}
}

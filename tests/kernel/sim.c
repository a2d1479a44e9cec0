/* SPDX-License-Identifier: MIT */
#include "tests/kernel/sim.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/gpio.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/utsname.h>
#include <unistd.h>

static const char root[] = "/sys/kernel/config/gpio-sim";

static _Noreturn void give_up(const char *what, const char *path)
{
	(void)printf("Bail out! %s %s: %s\n", what, path, strerror(errno));
	(void)fflush(stdout);
	_exit(1);
}

void sim_write(const char *path, const char *text)
{
	int fd = open(path, O_WRONLY | O_CLOEXEC | O_TRUNC);

	if (fd < 0 || write(fd, text, strlen(text)) != (ssize_t)strlen(text))
		give_up("writing", path);
	close(fd);
}

void sim_read(const char *path, char *text, unsigned size)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	ssize_t length = fd < 0 ? -1 : read(fd, text, size - 1);

	if (length < 0)
		give_up("reading", path);
	close(fd);
	text[length] = '\0';
	text[strcspn(text, "\n")] = '\0';
}

static void path_of(char path[SIM_PATH_MAX], const char *format, ...) __attribute__((format(printf, 2, 3)));

static void path_of(char path[SIM_PATH_MAX], const char *format, ...)
{
	va_list args;

	va_start(args, format);
	int length = vsnprintf(path, SIM_PATH_MAX, format, args);
	va_end(args);
	if (length < 0 || length >= SIM_PATH_MAX)
		give_up("too long", format);
}

static void make(const char *path)
{
	if (mkdir(path, 0755) < 0 && errno != EEXIST)
		give_up("making", path);
}

static void configure(const struct sim_chip *chip, const char *label, const struct sim_name *names)
{
	char path[SIM_PATH_MAX];
	char number[16];

	make(chip->config);
	path_of(path, "%.80s/bank0", chip->config);
	make(path);
	path_of(path, "%.80s/bank0/num_lines", chip->config);
	(void)snprintf(number, sizeof(number), "%u", chip->lines);
	sim_write(path, number);
	path_of(path, "%.80s/bank0/label", chip->config);
	sim_write(path, label);
	for (; names && names->name; names++) {
		path_of(path, "%.80s/bank0/line%u", chip->config, names->offset);
		make(path);
		path_of(path, "%.80s/bank0/line%u/name", chip->config, names->offset);
		sim_write(path, names->name);
	}
}

/* The kernel's own number of the chip's first line: gpiochipN of the older sysfs interface shares the
 * parent device with ours. */
static unsigned find_base(const char *device)
{
	char path[SIM_PATH_MAX];
	char text[32];
	char link[SIM_PATH_MAX];

	for (unsigned base = 0; base < 2048; base++) {
		(void)snprintf(path, sizeof(path), "/sys/class/gpio/gpiochip%u/device", base);
		ssize_t length = readlink(path, link, sizeof(link) - 1);

		if (length <= 0)
			continue;
		link[length] = '\0';
		const char *last = strrchr(link, '/');

		if (strcmp(last ? last + 1 : link, device) != 0)
			continue;
		(void)snprintf(path, sizeof(path), "/sys/class/gpio/gpiochip%u/base", base);
		sim_read(path, text, sizeof(text));
		return (unsigned)strtoul(text, NULL, 10);
	}
	give_up("no number for", device);
}

void sim_chip_add(struct sim_chip *chip, const char *label, unsigned lines, const struct sim_name *names)
{
	static unsigned made;
	char path[SIM_PATH_MAX];
	char device[32];

	memset(chip, 0, sizeof(*chip));
	chip->lines = lines;
	(void)snprintf(chip->label, sizeof(chip->label), "%s", label);
	(void)snprintf(chip->folder, sizeof(chip->folder), "chip%u", made++);
	path_of(chip->config, "%s/%s", root, chip->folder);
	configure(chip, label, names);
	path_of(path, "%.80s/live", chip->config);
	sim_write(path, "1");
	chip->live = true;
	path_of(path, "%.80s/dev_name", chip->config);
	sim_read(path, device, sizeof(device));
	path_of(path, "%.80s/bank0/chip_name", chip->config);
	sim_read(path, chip->node, sizeof(chip->node));
	path_of(chip->pins, "/sys/devices/platform/%s/%s", device, chip->node);
	chip->base = find_base(device);
}

void sim_chip_unplug(struct sim_chip *chip)
{
	char path[SIM_PATH_MAX];

	if (!chip->live)
		return;
	path_of(path, "%.80s/live", chip->config);
	sim_write(path, "0");
	chip->live = false;
}

void sim_chip_forget(struct sim_chip *chip)
{
	char path[SIM_PATH_MAX];

	for (unsigned offset = 0; offset < chip->lines; offset++) {
		path_of(path, "%.80s/bank0/line%u", chip->config, offset);
		rmdir(path);
	}
	path_of(path, "%.80s/bank0", chip->config);
	rmdir(path);
	if (rmdir(chip->config) < 0)
		give_up("removing", chip->config);
}

const char *sim_unplug_prefix(void)
{
	struct utsname kernel;
	char *after = NULL;

	if (uname(&kernel) < 0)
		give_up("asking for", "the kernel's release");
	unsigned long major = strtoul(kernel.release, &after, 10);
	unsigned long minor = *after == '.' ? strtoul(after + 1, NULL, 10) : 0;

	return major > 6 || (major == 6 && minor >= 6) ? "" : "deaf-";
}

void sim_pull(const struct sim_chip *chip, unsigned offset, bool up)
{
	char path[SIM_PATH_MAX];

	path_of(path, "%.80s/sim_gpio%u/pull", chip->pins, offset);
	sim_write(path, up ? "pull-up" : "pull-down");
}

bool sim_level(const struct sim_chip *chip, unsigned offset)
{
	char path[SIM_PATH_MAX];
	char text[8];

	path_of(path, "%.80s/sim_gpio%u/value", chip->pins, offset);
	sim_read(path, text, sizeof(text));
	return text[0] == '1';
}

int sim_hold(const struct sim_chip *chip, unsigned offset, const char *consumer)
{
	struct gpio_v2_line_request request = {.num_lines = 1, .config.flags = GPIO_V2_LINE_FLAG_INPUT};
	char path[SIM_PATH_MAX];

	request.offsets[0] = offset;
	(void)snprintf(request.consumer, sizeof(request.consumer), "%s", consumer);
	path_of(path, "/dev/%s", chip->node);
	int fd = open(path, O_RDWR | O_CLOEXEC);

	if (fd < 0 || ioctl(fd, GPIO_V2_GET_LINE_IOCTL, &request) < 0)
		give_up("holding a line of", path);
	close(fd);
	return request.fd;
}

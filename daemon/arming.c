/* SPDX-License-Identifier: MIT */
#include "daemon/arming.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "lines/gpio.h"

enum { PATH_BYTES = 512, TEXT_BYTES = 64 };

static void add(struct td_sentences *sentences, const struct td_error *err)
{
	if (sentences->count < TD_ARMING_MAX)
		sentences->sentence[sentences->count++] = *err;
}

/* --- outputs that outlive their process -------------------------------------------------------------- */

#define REMEDY                                                                                               \
	"put dtparam=strict_gpiod into config.txt (or %s.persist_gpio_outputs=n on the kernel's command "    \
	"line), start the computer anew, and fit pull-downs at the bridge inputs"

static const char *const drivers[] = {"pinctrl_bcm2835", "pinctrl_rp1"};

enum { DRIVERS = sizeof(drivers) / sizeof(drivers[0]) };

/* The first line of a file of the kernel: 0, or a negative errno. */
static int read_text(const char *path, char text[TEXT_BYTES])
{
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
	ssize_t got = fd < 0 ? -1 : read(fd, text, TEXT_BYTES - 1);
	int result = got < 0 ? -errno : 0;

	if (fd >= 0)
		close(fd);
	text[got > 0 ? got : 0] = '\0';
	text[strcspn(text, "\n")] = '\0';
	return result;
}

/* A fact about outliving outputs: a reason, or accepted as a whole. */
static void outliving(const struct td_config *config, struct td_arming *arming, const char *driver,
		      const char *format, ...) __attribute__((format(printf, 4, 5)));

static void outliving(const struct td_config *config, struct td_arming *arming, const char *driver,
		      const char *format, ...)
{
	struct td_error err;
	char fact[TD_ERROR_MAX];
	va_list args;

	va_start(args, format);
	(void)vsnprintf(fact, sizeof(fact), format, args);
	va_end(args);
	if (config->outliving_outputs == TD_OUTLIVING_ACCEPT) {
		(void)td_error_set(&err, "%s; accepted by outliving_outputs = accept", fact);
		add(&arming->accepted, &err);
	} else {
		(void)td_error_set(&err, "%s; " REMEDY, fact, driver);
		add(&arming->why_not, &err);
	}
}

/* True if the driver is there, and has been judged. */
static bool judge_driver(const struct td_config *config, const char *sysfs, const char *driver,
			 struct td_arming *arming)
{
	char path[PATH_BYTES];
	char text[TEXT_BYTES];

	(void)snprintf(path, sizeof(path), "%s/module/%s/parameters/persist_gpio_outputs", sysfs, driver);
	int result = read_text(path, text);

	if (result == -ENOENT || result == -ENOTDIR)
		return false;
	if (result < 0)
		outliving(config, arming, driver,
			  "whether outputs outlive this process cannot be told: %s: %s", path,
			  strerror(-result));
	else if (strcmp(text, "Y") == 0)
		outliving(config, arming, driver,
			  "outputs outlive this process (%s is Y), so a motor may run on after a crash",
			  path);
	else if (strcmp(text, "N") != 0)
		outliving(config, arming, driver,
			  "whether outputs outlive this process cannot be told: %s is \"%.16s\"", path, text);
	return true;
}

/* Of a machine without either driver: a Raspberry Pi whose kernel does not say what it does? */
static void judge_model(const struct td_config *config, const char *sysfs, struct td_arming *arming)
{
	char path[PATH_BYTES];
	char text[TEXT_BYTES];

	(void)snprintf(path, sizeof(path), "%s/firmware/devicetree/base/model", sysfs);
	int result = read_text(path, text);

	if (result == -ENOENT || result == -ENOTDIR)
		return;
	if (result < 0)
		outliving(config, arming, drivers[0],
			  "whether outputs outlive this process cannot be told: %s: %s", path,
			  strerror(-result));
	else if (strncmp(text, "Raspberry Pi", strlen("Raspberry Pi")) == 0)
		outliving(config, arming, drivers[0],
			  "whether outputs outlive this process cannot be told: this kernel of a %s has no "
			  "persist_gpio_outputs to ask (a newer one has)",
			  text);
}

static void check_outliving(const struct td_config *config, const char *sysfs, struct td_arming *arming)
{
	bool judged = false;

	for (size_t i = 0; i < DRIVERS; i++)
		judged |= judge_driver(config, sysfs, drivers[i], arming);
	if (!judged)
		judge_model(config, sysfs, arming);
}

/* --- lines the computer drives by itself ------------------------------------------------------------- */

#define GOOD_LINES "9 to 13 or 16 to 27"

static bool is_raspberry_chip(const char *label)
{
	static const char *const labels[] = {"pinctrl-bcm2835", "pinctrl-bcm2711", "pinctrl-rp1"};

	for (size_t i = 0; i < sizeof(labels) / sizeof(labels[0]); i++)
		if (label && strcmp(label, labels[i]) == 0)
			return true;
	return false;
}

/* Why a motor on this line may run before any program does; NULL: it may not. */
static const char *risk_of_input(uint32_t offset)
{
	if (offset <= 8)
		return "it is pulled up from power-on until a program takes it, and the motor may run";
	if (offset == 14 || offset == 15)
		return "it belongs to the serial console, which pulses while the computer starts";
	return NULL;
}

/* A steady level does nothing to a dead-man circuit; pulses would switch the motor power on. */
static bool pulses_at_start(uint32_t offset)
{
	return offset <= 1 || offset == 14 || offset == 15;
}

static void check_input(const struct td_config *config, const char *file, struct td_gpio_where where,
			unsigned output, struct td_arming *arming)
{
	const struct td_config_axis *axis = &config->axis[output / TD_WAYS];
	unsigned way = output % TD_WAYS;
	const char *risk = is_raspberry_chip(where.chip) ? risk_of_input(where.offset) : NULL;
	bool accepted = axis->accept_risky_line[way];
	struct td_error err;

	if (!risk)
		return;
	(void)td_error_set(
		&err, "%s:%d: %s %s is on line %u of \"%s\": %s; %s", file, axis->input[way].file_line,
		axis->name, axis->way_name[way], where.offset, where.chip, risk,
		accepted ? "accepted by accept_risky_line = yes"
			 : "move it to one of " GOOD_LINES ", or set accept_risky_line = yes in its section");
	add(accepted ? &arming->accepted : &arming->why_not, &err);
}

static void check_heartbeat(const struct td_config *config, const char *file, struct td_gpio_where where,
			    struct td_arming *arming)
{
	struct td_error err;

	if (!is_raspberry_chip(where.chip) || !pulses_at_start(where.offset))
		return;
	(void)td_error_set(&err,
			   "%s:%d: the heartbeat is on line %u of \"%s\", which pulses while the computer "
			   "starts and may switch the motor power on; move it to one of " GOOD_LINES,
			   file, config->heartbeat.file_line, where.offset, where.chip);
	add(&arming->why_not, &err);
}

static void check_lines(const struct td_config *config, const char *file, const struct td_lines *lines,
			struct td_arming *arming)
{
	for (unsigned output = 0; output < (unsigned)config->axes * TD_WAYS; output++)
		check_input(config, file, td_lines_gpio_where(lines, output), output, arming);
	if (config->has_heartbeat)
		check_heartbeat(config, file, td_lines_gpio_where(lines, TD_GPIO_HEARTBEAT), arming);
}

void td_arming_check(const struct td_config *config, const char *file, const struct td_lines *lines,
		     const char *sysfs, struct td_arming *arming)
{
	arming->why_not.count = arming->accepted.count = 0;
	if (config->backend == TD_BACKEND_GPIO) {
		check_outliving(config, sysfs ? sysfs : TD_SYSFS, arming);
		check_lines(config, file, lines, arming);
	} else if (sysfs) {
		check_outliving(config, sysfs, arming);
	}
}

void td_arming_forbid(struct td_arming *arming, const struct td_error *why)
{
	add(&arming->why_not, why);
}

/* SPDX-License-Identifier: MIT */
#include "config/config.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "config/build.h"
#include "config/check.h"
#include "config/report.h"
#include "config/scan.h"

/* The checks above say all this in better words; what comes here is a gap between them and the core. */
static void check_rules(const struct td_config *config, struct td_report *report)
{
	struct td_rules_verdict verdict = td_rules_check(&config->rules);

	if (verdict.fault != TD_RULES_OK)
		td_report_add(report, 0,
			      "a fault of tripdog, not of this file: the interlock refuses the rules made "
			      "from it (fault %d, "
			      "axis %d, way %d, switch %d); please report it together with the file",
			      (int)verdict.fault, verdict.axis, verdict.way, verdict.sw);
}

static void read_draft(const char *text, size_t length, struct td_draft *draft, struct td_config *config,
		       struct td_report *report)
{
	td_scan(text, length, draft, report);
	td_check_draft(draft, report);
	if (report->faults->count == 0) {
		td_build_config(draft, config);
		check_rules(config, report);
	}
}

bool td_config_read_text(const char *text, size_t length, const char *shown_as, struct td_config *config,
			 struct td_config_faults *faults)
{
	struct td_draft *draft = calloc(1, sizeof(*draft));
	struct td_report report;

	memset(config, 0, sizeof(*config));
	td_report_start(&report, shown_as, faults);
	if (length > TD_CONFIG_FILE_MAX)
		td_report_add(&report, 0,
			      "the file is too long; allowed: at most %d bytes; is it the right file?",
			      TD_CONFIG_FILE_MAX);
	else if (!draft)
		td_report_add(&report, 0, "no memory to read it; free some and try again");
	else
		read_draft(text, length, draft, config, &report);
	free(draft);
	if (faults->count > 0)
		memset(config, 0, sizeof(*config));
	return faults->count == 0;
}

/* Reads until the end or until the buffer is full; -1 with errno on an error. */
static ssize_t read_all(int fd, char *buffer, size_t size)
{
	size_t length = 0;

	while (length < size) {
		ssize_t n = read(fd, buffer + length, size - length);

		if (n == 0)
			break;
		if (n < 0 && errno != EINTR)
			return -1;
		length += n > 0 ? (size_t)n : 0;
	}
	return (ssize_t)length;
}

static int open_file(const char *path, struct td_report *report)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
	struct stat about;

	if (fd < 0 && errno == ENOENT) {
		td_report_add(report, 0,
			      "there is no configuration yet, so nothing is driven; tripdog.conf(5) says how "
			      "to write one, "
			      "and the example glasshouse.conf is one to begin with");
		return -1;
	}
	if (fd < 0) {
		td_report_add(report, 0,
			      "cannot open the configuration file: %s; check its path and permissions",
			      strerror(errno));
		return -1;
	}
	if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) {
		td_report_add(report, 0, "this is not a regular file; name the configuration file itself");
		close(fd);
		return -1;
	}
	return fd;
}

bool td_config_read_kept(const char *path, struct td_config *config, struct td_config_faults *faults,
			 struct td_config_text *kept)
{
	enum { ONE_TOO_MANY = TD_CONFIG_FILE_MAX + 1 };
	struct td_report report;
	char *text = malloc(ONE_TOO_MANY);
	ssize_t length = -1;
	int fd;

	memset(config, 0, sizeof(*config));
	td_report_start(&report, path, faults);
	fd = open_file(path, &report);
	if (fd >= 0 && text)
		length = read_all(fd, text, ONE_TOO_MANY);
	if (fd >= 0 && length < 0)
		td_report_add(&report, 0, "cannot read the configuration file: %s; check the file system",
			      text ? strerror(errno) : "no memory");
	if (fd >= 0)
		close(fd);
	if (length >= 0)
		td_config_read_text(text, (size_t)length, path, config, faults);
	if (length < 0)
		free(text);
	*kept = length < 0 ? (struct td_config_text){NULL, 0} : (struct td_config_text){text, (size_t)length};
	return faults->count == 0;
}

bool td_config_read(const char *path, struct td_config *config, struct td_config_faults *faults)
{
	struct td_config_text text;
	bool good = td_config_read_kept(path, config, faults, &text);

	free(text.bytes);
	return good;
}

/* SPDX-License-Identifier: MIT */
#include "daemon/scribe/record_file.h"

#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "core/crc.h"
#include "daemon/safe_file.h"

enum { BOOT_SIZE = 40 };

/* Behind the record. Read by the program that wrote it, on the same machine: the bytes as they are. */
struct trailer {
	char boot[BOOT_SIZE];
	td_ns taken_ns;
	uint32_t sum;
	uint32_t pad;
};

enum { FILE_SIZE = TD_KEEP_SIZE + sizeof(struct trailer) };

static void add_name(uint8_t *bytes, size_t *count, const char *name)
{
	size_t length = strlen(name) + 1;

	memcpy(bytes + *count, name, length);
	*count += length;
}

uint32_t td_record_machine(const struct td_config *config)
{
	uint8_t names[sizeof(td_name) * TD_AXES_MAX * (1 + TD_WAYS)];
	size_t count = 0;

	for (uint8_t axis = 0; axis < config->axes; axis++) {
		add_name(names, &count, config->axis[axis].name);
		for (int way = 0; way < TD_WAYS; way++)
			add_name(names, &count, config->axis[axis].way_name[way]);
	}
	return td_crc32(names, count);
}

/* "" where the kernel does not say. */
static void this_boot(char boot[BOOT_SIZE])
{
	int fd = open("/proc/sys/kernel/random/boot_id", O_RDONLY | O_CLOEXEC);

	memset(boot, 0, BOOT_SIZE);
	if (fd < 0)
		return;
	if (read(fd, boot, BOOT_SIZE - 1) < BOOT_SIZE - 4)
		memset(boot, 0, BOOT_SIZE);
	close(fd);
}

static uint32_t sum_of(const struct trailer *trailer)
{
	return td_crc32(trailer, offsetof(struct trailer, sum));
}

/* How long ago it was taken, as far as that is certain. */
static td_ns age(const uint8_t *bytes, td_ns now_ns)
{
	struct trailer trailer;
	char boot[BOOT_SIZE];

	memcpy(&trailer, bytes, sizeof(trailer));
	this_boot(boot);
	if (trailer.sum != sum_of(&trailer) || boot[0] == '\0' || memcmp(boot, trailer.boot, BOOT_SIZE) != 0)
		return 0;
	return trailer.taken_ns < 0 ? 0 : td_time_between(trailer.taken_ns, now_ns);
}

static int worst(struct td_error *err, const char *what)
{
	return td_error_set(
		err,
		"%s; every motor counts as hot and its budgets as spent, and the latched stop is on; "
		"reset as keeper, and tell which motors are cold (tripdog cooled)",
		what);
}

static int unusable(const char *dir, enum td_keep_verdict verdict, struct td_error *err)
{
	static const char *const what[] = {
		[TD_KEEP_DAMAGED] = "damaged",
		[TD_KEEP_OK] = "",
		[TD_KEEP_OTHER_VERSION] = "written by another version",
		[TD_KEEP_OTHER_MACHINE] = "of a machine with other axes or ways",
	};
	struct td_error text;

	(void)td_error_set(&text, "%s/" TD_RECORD_FILE ": %s", dir, what[verdict]);
	return worst(err, text.text);
}

int td_record_load(const char *dir, uint32_t machine, td_ns now_ns, struct td_keep *keep, td_ns *taken_ns,
		   struct td_error *err)
{
	static uint8_t bytes[FILE_SIZE + 1];
	struct td_error why;
	ssize_t count = td_safe_file_read(dir, TD_RECORD_FILE, bytes, sizeof(bytes), &why);

	*taken_ns = now_ns;
	if (count == TD_SAFE_FILE_NONE) {
		td_keep_init(keep, now_ns);
		return 0;
	}
	if (count == TD_SAFE_FILE_BAD) {
		td_keep_init_unknown(keep, now_ns);
		return worst(err, why.text);
	}
	td_ns off_ns = count == FILE_SIZE ? age(bytes + TD_KEEP_SIZE, now_ns) : 0;
	size_t record = count == FILE_SIZE ? (size_t)TD_KEEP_SIZE : (size_t)count;
	enum td_keep_verdict verdict = td_keep_restore(keep, bytes, record, machine, now_ns, off_ns);

	*taken_ns = now_ns - off_ns;
	return verdict == TD_KEEP_OK ? 0 : unusable(dir, verdict, err);
}

int td_record_save(const char *dir, const struct td_shelf_record *record, struct td_error *err)
{
	static uint8_t bytes[FILE_SIZE];
	struct trailer trailer;

	memset(&trailer, 0, sizeof(trailer));
	this_boot(trailer.boot);
	trailer.taken_ns = record->taken_ns;
	trailer.sum = sum_of(&trailer);
	memcpy(bytes, record->bytes, TD_KEEP_SIZE);
	memcpy(bytes + TD_KEEP_SIZE, &trailer, sizeof(trailer));
	return td_safe_file_write(dir, TD_RECORD_FILE, bytes, sizeof(bytes), err);
}

/* SPDX-License-Identifier: MIT */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "daemon/scribe/archive_parts.h"
#include "daemon/scribe/record_file.h"

enum { DIR_MODE = 0750, NS_A_SECOND = 1000000000 };

/* The directory's own name must outlive a power cut, too, whoever made it. */
static int sync_parent(const struct td_archive *archive)
{
	char path[PATH_MAX];

	(void)snprintf(path, sizeof(path), "%s", archive->setup.dir);
	char *slash = strrchr(path, '/');

	if (slash == path)
		slash[1] = '\0';
	else if (slash)
		*slash = '\0';
	return td_disk_sync_dir(archive->disk, slash ? path : ".");
}

static int make(struct td_archive *archive)
{
	const struct td_disk *disk = archive->disk;

	if (disk->mkdir(disk->ctx, archive->setup.dir, DIR_MODE) != 0 && errno != EEXIST)
		return -1;
	return sync_parent(archive);
}

static int take_over(struct td_archive *archive)
{
	struct td_files_view view[TD_FILES_KINDS];

	if (make(archive) != 0 || td_files_clean(archive->disk, archive->setup.dir) != 0 ||
	    td_files_look(archive->setup.dir, archive->budget.day, view) != 0)
		return -1;
	if (!archive->home.counted)
		td_archive_budget_count(archive, view);
	archive->home.counted = true;
	return 0;
}

bool td_archive_home_ready(struct td_archive *archive)
{
	struct td_archive_home *home = &archive->home;

	if (home->ready)
		return true;
	if (!td_trouble_lets(&home->trouble, archive->now_ns))
		return false;
	if (take_over(archive) != 0) {
		(void)td_trouble_met(&home->trouble, archive->now_ns, archive->setup.dir, NULL);
		return false;
	}
	td_trouble_over(&home->trouble, archive->setup.dir);
	home->ready = true;
	return true;
}

int td_archive_home_sync(struct td_archive *archive)
{
	struct td_archive_home *home = &archive->home;

	home->unsynced = true;
	if (!td_trouble_lets(&home->trouble, archive->now_ns))
		return -1;
	if (td_disk_sync_dir(archive->disk, archive->setup.dir) != 0)
		return td_trouble_met(&home->trouble, archive->now_ns, archive->setup.dir, NULL);
	td_trouble_over(&home->trouble, archive->setup.dir);
	home->unsynced = false;
	return 0;
}

/* RFC 3339. What lies `ago_ns` back. */
static void wall_text(const struct td_archive *archive, td_ns ago_ns, char text[TD_TAPE_WALL_MAX])
{
	time_t at_s = (time_t)(td_archive_wall_s(archive) - ago_ns / NS_A_SECOND);
	struct tm utc;

	if (!gmtime_r(&at_s, &utc) || strftime(text, TD_TAPE_WALL_MAX, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0)
		text[0] = '\0';
}

struct td_tape_head td_archive_head(const struct td_archive *archive, const char *kind, td_ns at_ns)
{
	struct td_tape_head head = {
		.config_hash = archive->setup.config->hash,
		.machine = td_record_machine(archive->setup.config),
	};

	(void)snprintf(head.kind, sizeof(head.kind), "%s", kind);
	(void)snprintf(head.version, sizeof(head.version), "%s", TD_VERSION);
	wall_text(archive, td_time_between(at_ns, archive->now_ns), head.wall);
	return head;
}

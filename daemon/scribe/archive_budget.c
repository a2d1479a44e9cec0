/* SPDX-License-Identifier: MIT */
/*
 * What may be written in a day of UTC. No file of its own keeps the account over a restart: at the start the sizes of
 * the files that were last written today are added up. So a file that began yesterday counts whole, and what was written
 * today and has made room since does not; with room for more than a day (size_max above daily_max) that is nothing.
 */
#include <inttypes.h>
#include <stdio.h>
#include <time.h>

#include "daemon/scribe/archive_parts.h"

enum { SECONDS_A_DAY = 86400 };

int64_t td_archive_wall_s(const struct td_archive *archive)
{
	return archive->setup.wall_s ? archive->setup.wall_s() : (int64_t)time(NULL);
}

/* Any other day is a new one: a clock that was wrong and is put right must not stop the traces for years. */
void td_archive_budget_tend(struct td_archive *archive)
{
	int64_t day = td_archive_wall_s(archive) / SECONDS_A_DAY;

	if (day != archive->budget.day)
		archive->budget = (struct td_archive_budget){.day = day};
}

void td_archive_budget_count(struct td_archive *archive, const struct td_files_view view[TD_FILES_KINDS])
{
	for (int kind = 0; kind < TD_FILES_KINDS; kind++)
		archive->budget.spent[kind] += view[kind].bytes_today;
}

int64_t td_archive_budget_left(const struct td_archive *archive, enum td_files_kind kind)
{
	const int64_t *spent = archive->budget.spent;
	int64_t most = archive->setup.daily_max;
	int64_t left = most - spent[TD_FILES_RUN] - spent[TD_FILES_TRIP];
	int64_t of_run = most - most / 4 - spent[TD_FILES_RUN];

	if (kind == TD_FILES_RUN && of_run < left)
		left = of_run;
	return left > 0 ? left : 0;
}

void td_archive_budget_spent(struct td_archive *archive, enum td_files_kind kind)
{
	static const char *const what[TD_FILES_KINDS] = {
		[TD_FILES_RUN] = "only trips are recorded until midnight UTC",
		[TD_FILES_TRIP] = "a trip is not recorded",
	};

	if (!archive->budget.told[kind])
		fprintf(stderr,
			"<4>tripdogd: %s: what may be written in a day (%" PRId64
			" bytes) is spent; %s; daily_kb in [trace] sets it\n",
			archive->setup.dir, archive->setup.daily_max, what[kind]);
	archive->budget.told[kind] = true;
}

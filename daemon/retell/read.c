/* SPDX-License-Identifier: MIT */
#include "daemon/retell/read.h"

#include <string.h>

#include "daemon/retell/files.h"
#include "trace/wall.h"

/* --- one file --------------------------------------------------------------------------------------- */

static int on_head(void *ctx, const struct td_tape_head *head, const struct td_config *config,
		   const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
		   uint32_t outputs)
{
	struct td_retell *self = ctx;

	(void)keep;
	(void)outputs;
	(void)snprintf(self->read_version, sizeof(self->read_version), "%s", head->version);
	td_account_head(&self->accountant, config, snapshot ? &snapshot->core : NULL, levels, head->begin_ns,
			td_wall_parse(head->wall), head->first_number);
	return 0;
}

static int on_entry(void *ctx, td_ns file_ns, const struct td_entry *entry)
{
	struct td_retell *self = ctx;

	(void)file_ns;
	td_account_entry(&self->accountant, entry);
	return 0;
}

static int on_lost(void *ctx, td_ns file_ns, uint32_t lost)
{
	struct td_retell *self = ctx;

	(void)file_ns;
	(void)lost;
	td_account_lost(&self->accountant);
	return 0;
}

/* Plays a file into the account that there is so far. */
static enum td_retell_result play(struct td_retell *self, const char *path, struct td_tape_summary *summary,
				  struct td_error *err)
{
	const struct td_tape_sink sink = {.ctx = self, .head = on_head, .entry = on_entry, .lost = on_lost};
	bool standard = strcmp(path, "-") == 0;
	FILE *in = standard ? stdin : fopen(path, "re");

	*summary = (struct td_tape_summary){0};
	if (!in) {
		(void)td_retell_cannot_read(path, err);
		return TD_RETELL_UNREADABLE;
	}
	enum td_tape_result result =
		td_tape_play(in, standard ? "standard input" : path, NULL, &sink, summary, err);
	if (!standard)
		(void)fclose(in);
	if (result == TD_TAPE_BAD)
		return TD_RETELL_DAMAGED;
	return result == TD_TAPE_FOREIGN ? TD_RETELL_UNREADABLE : TD_RETELL_FOUND;
}

/* The account is of this trace. */
static void settle(struct td_retell *self, const char *path, bool cut_off)
{
	(void)snprintf(self->path, sizeof(self->path), "%s", path);
	(void)snprintf(self->version, sizeof(self->version), "%s", self->read_version);
	self->config = self->accountant.config;
	self->cut_off = cut_off;
}

static const char *wanted_word(enum td_account_want want)
{
	return want == TD_ACCOUNT_TRIP ? "trip" : "stop";
}

static enum td_retell_result tell_file(struct td_retell *self, enum td_account_want want, const char *path,
				       struct td_error *err)
{
	struct td_tape_summary summary;

	td_account_begin(&self->accountant, want);
	self->later.text[0] = '\0';
	enum td_retell_result result = play(self, path, &summary, err);
	settle(self, strcmp(path, "-") == 0 ? "standard input" : path, summary.cut_off);
	if (result == TD_RETELL_FOUND && !self->accountant.account.found) {
		(void)td_error_set(err, "%s: no %s is recorded in it", self->path, wanted_word(want));
		return TD_RETELL_NOTHING;
	}
	return result;
}

/* --- a directory ------------------------------------------------------------------------------------- */

static void path_of(char path[TD_RETELL_PATH_MAX], const char *dir, const char *name)
{
	(void)snprintf(path, TD_RETELL_PATH_MAX, "%s/%s", dir, name);
}

static int on_head_only(void *ctx, const struct td_tape_head *head, const struct td_config *config,
			const struct td_snapshot *snapshot, const struct td_keep *keep, uint32_t levels,
			uint32_t outputs)
{
	int64_t *wall_ns = ctx;

	(void)config;
	(void)snapshot;
	(void)keep;
	(void)levels;
	(void)outputs;
	*wall_ns = td_wall_parse(head->wall);
	return 1;
}

/* When a trace begins; 0 where that cannot be known. */
static int64_t begins_at(const char *dir, const char *name)
{
	int64_t wall_ns = 0;
	const struct td_tape_sink sink = {.ctx = &wall_ns, .head = on_head_only};
	struct td_tape_summary summary;
	struct td_error err;
	char path[TD_RETELL_PATH_MAX];

	path_of(path, dir, name);
	FILE *in = fopen(path, "re");
	if (!in)
		return 0;
	(void)td_tape_play(in, path, NULL, &sink, &summary, &err);
	(void)fclose(in);
	return wall_ns;
}

/* A trace may know the wall clock to the second only; one file too many does no harm. */
#define WALL_DOUBT_NS TD_S(3)

/* The first of the run files that goes beyond the moment of the account. */
static size_t first_after(const struct td_retell *self, const char *dir, const struct td_retell_files *runs)
{
	size_t first = runs->count;

	while (first > 0) {
		first--;
		int64_t wall_ns = begins_at(dir, runs->name[first]);

		if (wall_ns > 0 && wall_ns + WALL_DOUBT_NS <= self->accountant.account.wall_ns)
			break;
	}
	return first;
}

/* What the run files from `first` on tell. A later stop takes the place of the account, unless that is to be kept; then it is
 * enough to know how it was reset. */
static void go_on(struct td_retell *self, const char *dir, const struct td_retell_files *runs, size_t first)
{
	struct td_tape_summary summary;
	char path[TD_RETELL_PATH_MAX];

	for (size_t i = first; i < runs->count && !(self->accountant.kept && self->accountant.account.reset);
	     i++) {
		int64_t told_ns = self->accountant.account.wall_ns;

		path_of(path, dir, runs->name[i]);
		(void)play(self, path, &summary, &self->later);
		if (self->accountant.account.wall_ns != told_ns)
			settle(self, path, summary.cut_off);
	}
}

/* Of the newest trip that has a file of its own. */
static enum td_retell_result find_trip(struct td_retell *self, const char *dir, struct td_error *err)
{
	struct td_retell_files trips;
	char path[TD_RETELL_PATH_MAX];
	enum td_retell_result result = TD_RETELL_UNREADABLE;

	if (td_retell_files_list(&trips, dir, "trip", err) == 0)
		result = TD_RETELL_NOTHING;
	if (trips.count > 0) {
		path_of(path, dir, trips.name[trips.count - 1]);
		result = tell_file(self, TD_ACCOUNT_TRIP, path, err);
	}
	td_retell_files_free(&trips);
	return result;
}

/* What came after the account. A directory without run files knows nothing more, which is no fault. */
static void tell_later(struct td_retell *self, const char *dir)
{
	struct td_retell_files runs;

	if (td_retell_files_list(&runs, dir, "run", &self->later) == 0)
		go_on(self, dir, &runs, first_after(self, dir, &runs));
	td_retell_files_free(&runs);
}

/* Back from the newest run file to the one with the stop, then on from there. One that is damaged is passed over. */
static enum td_retell_result tell_runs(struct td_retell *self, enum td_account_want want, const char *dir,
				       struct td_error *err)
{
	struct td_retell_files runs;
	char path[TD_RETELL_PATH_MAX];
	struct td_error damage = {""};
	enum td_retell_result result = TD_RETELL_UNREADABLE;
	size_t i;

	if (td_retell_files_list(&runs, dir, "run", err) == 0)
		result = TD_RETELL_NOTHING;
	for (i = runs.count; i > 0 && result == TD_RETELL_NOTHING; i--) {
		path_of(path, dir, runs.name[i - 1]);
		result = tell_file(self, want, path, err);
		if (result == TD_RETELL_DAMAGED && !self->accountant.account.found) {
			damage = *err;
			result = TD_RETELL_NOTHING;
		}
	}
	self->later = damage;
	if (result == TD_RETELL_FOUND)
		go_on(self, dir, &runs, i + 1);
	if (result == TD_RETELL_NOTHING)
		(void)td_error_set(err, "%s: no %s is recorded there%s%s", dir, wanted_word(want),
				   want == TD_ACCOUNT_TRIP ? "; --stop tells of the last stop of any kind"
							   : "",
				   damage.text[0] ? ", but not all of it can be read" : "");
	td_retell_files_free(&runs);
	return result;
}

enum td_retell_result td_retell_dir(struct td_retell *self, enum td_account_want want, const char *dir,
				    struct td_error *err)
{
	enum td_retell_result result = TD_RETELL_NOTHING;

	if (want == TD_ACCOUNT_TRIP)
		result = find_trip(self, dir, err);
	if (result == TD_RETELL_FOUND)
		tell_later(
			self,
			dir); /* a trip of the last seconds has no file of its own yet, and is found there */
	return result == TD_RETELL_NOTHING ? tell_runs(self, want, dir, err) : result;
}

enum td_retell_result td_retell_file(struct td_retell *self, enum td_account_want want, const char *path,
				     struct td_error *err)
{
	enum td_retell_result result = tell_file(self, want, path, err);
	char dir[TD_RETELL_PATH_MAX];
	char *slash;

	(void)snprintf(dir, sizeof(dir), "%s", path);
	slash = strrchr(dir, '/');
	if (result != TD_RETELL_FOUND || strcmp(path, "-") == 0)
		return result;
	if (slash)
		*slash = '\0';
	td_account_keep(&self->accountant);
	tell_later(self, slash ? dir : ".");
	return result;
}

/* SPDX-License-Identifier: MIT */
#include "daemon/retell/words.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void td_tell(struct td_telling *self, enum td_tale_part part, const char *format, ...)
{
	struct td_tale *tale = self->tale;
	va_list args;

	if (tale->lines == TD_TALE_LINES_MAX)
		return;
	struct td_tale_line *line = &tale->line[tale->lines++];
	line->part = part;
	va_start(args, format);
	(void)vsnprintf(line->text, sizeof(line->text), format, args);
	va_end(args);
}

void td_tell_more(struct td_telling *self, const char *format, ...)
{
	va_list args;

	if (self->tale->lines == 0)
		return;
	char *text = self->tale->line[self->tale->lines - 1].text;
	size_t used = strlen(text);
	va_start(args, format);
	(void)vsnprintf(text + used, TD_TALE_TEXT_MAX - used, format, args);
	va_end(args);
}

const char *td_span(td_ns span_ns, char out[TD_SPAN_MAX])
{
	static const struct {
		td_ns from_ns;
		td_ns big_ns;
		const char *big;
		const char *small;
		td_ns small_ns;
	} units[] = {
		{TD_S(2 * 86400), TD_S(86400), "days", "h", TD_S(3600)},
		{TD_S(3600), TD_S(3600), "h", "min", TD_S(60)},
		{TD_S(60), TD_S(60), "min", "s", TD_S(1)},
	};
	td_ns span = span_ns < 0 ? 0 : span_ns;

	for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++) {
		td_ns rounded =
			span / units[i].small_ns + (span % units[i].small_ns >= units[i].small_ns / 2);
		td_ns ratio = units[i].big_ns / units[i].small_ns;

		if (span < units[i].from_ns)
			continue;
		(void)snprintf(out, TD_SPAN_MAX, "%" PRId64 " %s %" PRId64 " %s", rounded / ratio,
			       units[i].big, rounded % ratio, units[i].small);
		return out;
	}
	if (span < TD_MS(1000) - TD_US(500))
		(void)snprintf(out, TD_SPAN_MAX, "%" PRId64 " ms", (span + TD_US(500)) / TD_MS(1));
	else
		(void)snprintf(out, TD_SPAN_MAX, "%" PRId64 ".%02" PRId64 " s", (span + TD_MS(5)) / TD_S(1),
			       (span + TD_MS(5)) / TD_MS(10) % 100);
	return out;
}

const char *td_who(const struct td_account_who *who, char out[TD_WHO_MAX])
{
	const char *word = "somebody";
	char uid[32] = "";

	if (who->role == TD_ROLE_KEEPER)
		word = "the keeper";
	else if (who->role == TD_ROLE_VISITOR)
		word = "a visitor";
	if (who->has_uid)
		(void)snprintf(uid, sizeof(uid), ", user id %" PRIu32, who->uid);
	(void)snprintf(out, TD_WHO_MAX, "%s (session %" PRIu32 "%s)", word, who->session, uid);
	return out;
}

const char *td_axis_word(const struct td_telling *self, uint8_t axis)
{
	if (axis == TD_NO_AXIS)
		return "machine";
	return axis < self->config->axes ? self->config->axis[axis].name : "?";
}

const char *td_way_word(const struct td_telling *self, uint8_t axis, uint8_t way)
{
	if (axis >= self->config->axes || way >= TD_WAYS)
		return "?";
	return self->config->axis[axis].way_name[way];
}

const char *td_switch_word(const struct td_telling *self, uint8_t sw)
{
	return sw < self->config->switches ? self->config->sw[sw].name : "?";
}

const struct td_way_rules *td_way_of_account(const struct td_telling *self)
{
	const struct td_account *account = self->account;

	if (account->axis >= self->config->axes || account->way >= TD_WAYS)
		return NULL;
	return &self->config->rules.axis[account->axis].way[account->way];
}

uint8_t td_end_of_account(const struct td_telling *self, uint8_t way)
{
	if (self->account->axis >= self->config->axes || way >= TD_WAYS)
		return TD_NO_SWITCH;
	return self->config->rules.axis[self->account->axis].way[way].end_switch;
}

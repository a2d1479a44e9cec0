/* SPDX-License-Identifier: MIT */
#include "daemon/client/news.h"

#include <inttypes.h>
#include <string.h>
#include <time.h>

#include "daemon/client/refusal.h"
#include "daemon/client/time.h"

static const char *text_of(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? text : "";
}

bool td_news_read(const json_t *notification, struct td_news_line *news)
{
	const json_t *params = json_object_get(notification, "params");

	*news = (struct td_news_line){
		.at_ns = json_integer_value(json_object_get(params, "at_ns")),
		.cause = td_cause_named(text_of(params, "cause")),
		.cause_name = text_of(params, "cause"),
		.rule = text_of(params, "rule"),
		.sentence = text_of(params, "sentence"),
		.remedy = text_of(params, "remedy"),
		.axis = text_of(params, "axis"),
		.way = text_of(params, "way"),
		.sw = text_of(params, "switch"),
		.holder = text_of(params, "holder"),
		.by = text_of(params, "by"),
	};
	return strcmp(text_of(notification, "method"), "news") == 0;
}

/* hh:mm:ss.mmm; a time stamp that makes no sense is shown as the present. */
static void write_time_of_day(struct td_pen *pen, td_ns at_ns, td_ns now_ns, td_ns wall_ns)
{
	td_ns ago_ns = at_ns > 0 ? td_time_between(at_ns, now_ns) : 0;
	td_ns then_ns = td_time_between(ago_ns, wall_ns);
	time_t seconds = (time_t)(then_ns / TD_S(1));
	struct tm local = {0};
	char text[32];
	char fraction[16];

	(void)localtime_r(&seconds, &local);
	(void)strftime(text, sizeof(text), "%H:%M:%S", &local);
	(void)snprintf(fraction, sizeof(fraction), ".%03d", (int)(then_ns % TD_S(1) / TD_MS(1)));
	td_pen_text(pen, text);
	td_pen_text(pen, fraction);
}

static void write_subject(struct td_pen *pen, const struct td_news_line *news)
{
	const char *const part[] = {news->axis, news->way, news->sw};
	bool any = false;

	for (size_t i = 0; i < sizeof(part) / sizeof(part[0]); i++) {
		if (part[i][0] == '\0')
			continue;
		td_pen_text(pen, any ? " " : "");
		td_pen_text(pen, part[i]);
		any = true;
	}
	td_pen_text(pen, any ? ": " : "machine: ");
}

void td_news_write(struct td_pen *pen, const struct td_news_line *news, td_ns now_ns, td_ns wall_ns)
{
	enum td_cause_kind kind = td_cause_kind(news->cause);

	write_time_of_day(pen, news->at_ns, now_ns, wall_ns);
	td_pen_text(pen, "  ");
	td_pen_ink(pen, kind == TD_KIND_TRIP ? TD_INK_ALARM : TD_INK_PLAIN);
	write_subject(pen, news);
	td_pen_text(pen, news->cause_name);
	if (news->by[0] != '\0') {
		td_pen_text(pen, " by the ");
		td_pen_text(pen, news->by);
	}
	td_pen_text(pen, ", ");
	td_pen_text(pen, news->sentence);
	if (news->rule[0] != '\0') {
		td_pen_text(pen, " (");
		td_pen_text(pen, news->rule);
		td_pen_text(pen, ")");
	}
	td_pen_newline(pen);
}

void td_news_print(struct td_pen *pen, const struct td_news_line *news)
{
	struct timespec wall = {0};

	(void)clock_gettime(CLOCK_REALTIME, &wall);
	td_news_write(pen, news, td_cli_now(), TD_S(wall.tv_sec) + wall.tv_nsec);
	(void)fflush(pen->out);
}

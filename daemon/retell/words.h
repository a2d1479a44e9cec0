/* SPDX-License-Identifier: MIT */
/* Inside of retell*.c: words for spans, people, axes and switches. */
#ifndef TD_DAEMON_RETELL_WORDS_H
#define TD_DAEMON_RETELL_WORDS_H

#include "daemon/retell/retell.h"

enum { TD_SPAN_MAX = 48, TD_WHO_MAX = 96 };

/* One account being told. */
struct td_telling {
	struct td_tale *tale;
	const struct td_account *account;
	const struct td_config *config;
	int64_t now_ns;
	const char *shown_as;
};

/* A new line of this part, printf-like; cut where it is too long, left out where there is no room. */
void td_tell(struct td_telling *self, enum td_tale_part part, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

/* More text at the end of the last line. */
void td_tell_more(struct td_telling *self, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* "310 ms", "2.60 s", "3 min 20 s", "4 h 10 min", "2 days 3 h"; rounded to the nearest. */
const char *td_span(td_ns span_ns, char out[TD_SPAN_MAX]);

/* "a visitor (session 7, user id 1000)" */
const char *td_who(const struct td_account_who *who, char out[TD_WHO_MAX]);

/* Names of the configuration; "?" for what it does not have, "machine" for TD_NO_AXIS. */
const char *td_axis_word(const struct td_telling *self, uint8_t axis);
const char *td_way_word(const struct td_telling *self, uint8_t axis, uint8_t way);
const char *td_switch_word(const struct td_telling *self, uint8_t sw);

/* The rules of the way the account is of; NULL where it has none. */
const struct td_way_rules *td_way_of_account(const struct td_telling *self);

/* The end switch of a way of the account's axis, or TD_NO_SWITCH. */
uint8_t td_end_of_account(const struct td_telling *self, uint8_t way);

/* --- retell_why.c, retell_after.c --- */
void td_tell_why(struct td_telling *self);
void td_tell_after(struct td_telling *self);

#endif

/* SPDX-License-Identifier: MIT */
/*
 * R7: how old a request is, where nobody can see how long it was on its way. The daemon gives tokens that say when; a request
 * brings the newest one back, and so proves that whoever sent it had heard from the daemon a moment ago. Only the daemon's own
 * monotonic clock counts, no clock of a client and no time of day.
 *
 * A token holds for one connection of one run of the daemon, and for one turn. It is no secret and not signed: a client
 * could make up one that is younger than it should be, but gains no more by it than by being in time; what it cannot do is
 * reach into the future, or into another connection or turn.
 */
#ifndef TD_WIRE_TOKEN_H
#define TD_WIRE_TOKEN_H

#include <stdbool.h>
#include <stdint.h>

#include "core/cause.h"
#include "core/time.h"

enum { TD_TOKEN_CHARS = 48 };

struct td_token {
	td_ns run_ns;    /* when this run of the daemon began: tells it from the former one */
	uint32_t client; /* the connection */
	uint32_t turn;   /* turns that the connection has had and lost */
	td_ns at_ns;     /* when it was given */
};

/* TD_TOKEN_CHARS characters and a terminator. Times are not below 0. */
void td_token_write(const struct td_token *token, char text[TD_TOKEN_CHARS + 1]);

/* False where the text is no token; *token then says nothing. */
bool td_token_read(const char *text, struct td_token *token);

/* What a request with this token comes to, where `now` is the token that the connection would be given now: NONE (young enough),
 * LATE, or FOREIGN_TOKEN, which is also what no token at all comes to, or one from the future. */
enum td_cause td_token_judge(const char *text, const struct td_token *now);

#endif

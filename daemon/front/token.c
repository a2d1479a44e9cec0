/* SPDX-License-Identifier: MIT */
/*
 * R7: tokens (wire/token.h) as this front gives and takes them. Bound to the run of the daemon by the time it began, to the
 * connection by its number, to the turn by how many turns the connection has lost.
 */
#include "daemon/front/inside.h"

static struct td_token token_now(const struct td_session *session)
{
	return (struct td_token){
		.run_ns = session->front->began_ns,
		.client = session->id,
		.turn = session->turns_lost,
		.at_ns = td_clock_now(),
	};
}

json_t *td_front_token(const struct td_session *session)
{
	char text[TD_TOKEN_CHARS + 1];
	struct td_token token = token_now(session);

	td_token_write(&token, text);
	return json_string(text);
}

enum td_cause td_front_token_judge(const struct td_session *session, const char *text)
{
	struct td_token now = token_now(session);

	return td_token_judge(text, &now);
}

void td_front_token_turn_lost(struct td_front *front, uint32_t id)
{
	struct td_session *session = TAILQ_FIRST(&front->door[TD_ROLE_VISITOR].sessions);

	for (; session; session = TAILQ_NEXT(session, link))
		session->turns_lost += session->id == id;
}
